// Findings: a list on the docket, and a pin with the same number beside the strip.

const by = (id) => document.getElementById(id);
/** Least distance of two pins, CSS pixels. */
const APART = 30;
const GRAVITY = ["error", "warning", "advice"];

/** By gravity, then a rule's together, in the order in which the rule is first met. */
function ordered(findings) {
  const met = [...new Set(findings.map(({ rule }) => rule))];
  return [...findings].sort((one, other) => GRAVITY.indexOf(one.level) - GRAVITY.indexOf(other.level) || met.indexOf(one.rule) - met.indexOf(other.rule));
}

export class Marks {
  #list = [];
  #strip;
  #boxes;
  #say;
  #mend;
  #at = -1;
  #shown = "";

  constructor(strip, boxes, mend, say) {
    [this.#strip, this.#boxes, this.#mend, this.#say] = [strip, boxes, mend, say];
    addEventListener("strip-measured", () => this.#pins());
  }

  put(told) {
    const findings = ordered(told);
    this.#list = findings;
    this.#at = -1;
    const text = JSON.stringify(findings);
    by("marks-count").textContent = findings.length > 0 ? `(${findings.length})` : "";
    by("marks-none").hidden = findings.length > 0;
    if (text !== this.#shown) {
      by("marks").replaceChildren(...findings.map((finding, index) => this.#item(finding, index)));
      this.#shown = text;
    }
    this.#mend.look(findings, (index, titles) => this.#offer(index, titles));
    this.#pins();
  }

  #item(finding, index) {
    const item = document.createElement("li");
    const number = document.createElement("span");
    number.className = `pin ${finding.level}`;
    number.textContent = index + 1;
    number.setAttribute("aria-hidden", "true");
    const go = document.createElement("button");
    go.type = "button";
    go.className = "go";
    const level = document.createElement("b");
    level.className = finding.level;
    level.textContent = `${finding.level[0].toUpperCase()}${finding.level.slice(1)}. `;
    go.append(level, finding.message);
    go.addEventListener("click", () => this.go(index));
    item.append(number, go);
    if (finding.hint) {
      const hint = document.createElement("p");
      hint.className = "note hint";
      hint.textContent = finding.hint;
      item.append(hint);
    }
    const places = document.createElement("p");
    places.className = "places";
    const place = document.createElement("span");
    place.className = "place";
    place.textContent = [finding.file, finding.line, finding.column].filter(Boolean).join(":");
    places.append(place);
    if (typeof finding.y_mm !== "number" && !finding.line) places.append(" not at one place of the strip");
    if (this.#boxes.editor) {
      const open = document.createElement("button");
      open.type = "button";
      open.textContent = "Open there";
      open.setAttribute("aria-label", `Open there: ${place.textContent}`);
      open.addEventListener("click", () => this.#boxes.open(finding));
      places.append(open);
    }
    item.append(places);
    return item;
  }

  /** What mends a finding, as buttons beneath it. */
  #offer(index, titles) {
    const item = by("marks").children[index];
    item?.querySelector(".mends")?.remove();
    if (item === undefined || titles.length === 0) return;
    const mends = document.createElement("p");
    mends.className = "places mends";
    mends.append(...titles.map((title, which) => {
      const button = document.createElement("button");
      [button.type, button.textContent] = ["button", `${title}…`];
      button.addEventListener("click", async () => {
        if (!(await this.#mend.open(this.#list[index], which, button))) this.#say("This is no longer to be mended so.", true);
      });
      return button;
    }));
    item.append(mends);
  }

  /** Row of a finding on the strip: its own, else that of its line. */
  #row(finding) {
    if (typeof finding.y_mm === "number") return finding.y_mm * this.#strip.perMm;
    return this.#boxes.ofLine(finding.file, finding.line)?.y;
  }

  #pins() {
    const tops = [];
    const pins = this.#list
      .map((finding, index) => ({ finding, index, row: this.#row(finding) }))
      .filter(({ row }) => row !== undefined)
      .sort((a, b) => a.row - b.row)
      .map(({ finding, index, row }) => {
        const pin = document.createElement("button");
        pin.type = "button";
        pin.className = `pin ${finding.level}`;
        pin.textContent = index + 1;
        pin.setAttribute("aria-label", `Mark ${index + 1}, ${finding.level}: ${finding.message}`);
        tops.push(row * this.#strip.dot);
        pin.addEventListener("click", () => this.#read(index));
        return pin;
      });
    // Down from the first, then up from the foot, so that none dangles below the paper where there is room above.
    let free = 0;
    const laid = tops.map((top) => {
      const at = Math.max(free, top);
      free = at + APART;
      return at;
    });
    let foot = Math.max(this.#strip.rows.height * this.#strip.dot - APART / 2, APART * (laid.length - 1));
    for (let index = laid.length - 1; index >= 0; index -= 1) {
      laid[index] = Math.min(laid[index], foot);
      foot = laid[index] - APART;
    }
    pins.forEach((pin, index) => pin.style.setProperty("--pin", laid[index]));
    by("margin").replaceChildren(...pins);
  }

  /** From the list to the place. */
  go(index) {
    const finding = this.#list[index];
    const row = this.#row(finding);
    this.#here(index);
    if (row === undefined) return this.#say("This mark has no place on the strip.", true);
    dispatchEvent(new Event("docket-done"));
    this.#strip.show(row);
    const box = this.#boxes.ofLine(finding.file, finding.line) ?? this.#boxes.atRow(row);
    const line = document.createElement("div");
    line.className = "here-line";
    line.style.setProperty("--y", box ? box.y : row);
    line.style.setProperty("--rows-here", box ? box.height : 8);
    by("strip").querySelectorAll(".here-line").forEach((old) => old.remove());
    by("strip").append(line);
    setTimeout(() => line.remove(), 6000);
    // The focus goes along, so that Enter names the line.
    if (box) this.#boxes.focus(box);
    this.#say(`At ${Math.round(row / this.#strip.perMm)} millimetres.`);
  }

  /** From the pin to the list. */
  #read(index) {
    dispatchEvent(new Event("docket-wanted"));
    this.#here(index);
    by("marks").children[index]?.querySelector(".go").focus();
  }

  #here(index) {
    this.#at = index;
    [...by("marks").children].forEach((item, at) => item.classList.toggle("here", at === index));
  }

  /** The next mark, or the one before. */
  step(by) {
    if (this.#list.length === 0) return this.#say("Nothing is marked.", true);
    this.go((this.#at + by + this.#list.length) % this.#list.length);
  }
}
