// The docket: what is on the bench, in a sentence with its choices inside; the fan of panels; the rule.

const by = (id) => document.getElementById(id);
const SVG = "http://www.w3.org/2000/svg";
/** Sides of the fan that a pointer can still tell apart. */
const MOST_SIDES = 24;

const length = (mm) => (mm < 1000 ? `${Math.round(mm)} mm` : `${(mm / 1000).toFixed(2)} m`);
export const time = (seconds) => (seconds < 90 ? `${Math.max(1, Math.round(seconds))} s` : `${Math.round(seconds / 60)} min`);

/** Makes a list of options what it should be, touching nothing when it is already. */
function options(select, all, chosen) {
  const text = JSON.stringify(all);
  if (select.dataset.all !== text) {
    select.dataset.all = text;
    select.replaceChildren(...all.map(({ key, label }) => new Option(label, key)));
  }
  select.value = chosen;
}

export class Docket {
  facts;
  #strip;
  #look;
  /** The panel that is marked as the one in view. */
  #marked = -1;

  /** `look(view)` is asked for when a choice is made. */
  constructor(strip, look) {
    [this.#strip, this.#look] = [strip, look];
    for (const id of ["unit", "printer"]) by(id).addEventListener("change", () => this.#chosen());
    by("unit-before").addEventListener("click", () => this.step(-1));
    by("unit-after").addEventListener("click", () => this.step(1));
    by("unfold").addEventListener("click", () => this.unfold(!by("docket").classList.contains("open")));
    addEventListener("docket-wanted", () => this.unfold(true));
    addEventListener("docket-done", () => this.unfold(false));
    by("fan").addEventListener("keydown", (event) => {
      const at = [...by("fan").children].indexOf(event.target.closest("li"));
      const to = { ArrowRight: at + 1, ArrowDown: at + 1, ArrowLeft: at - 1, ArrowUp: at - 1, Home: 0, End: by("fan").children.length - 1 }[event.key];
      if (to === undefined) return;
      event.preventDefault();
      by("fan").children[to]?.firstElementChild.focus();
    });
    by("fan-slide").addEventListener("input", () => this.panel(by("fan-slide").valueAsNumber - 1, false));
    addEventListener("strip-scrolled", () => this.#current());
    addEventListener("strip-measured", () => this.#rule());
  }

  unfold(open) {
    by("docket").classList.toggle("open", open);
    by("unfold").setAttribute("aria-expanded", String(open));
    by("unfold").textContent = open ? "Fold away" : "Docket";
  }

  #chosen() {
    this.#look({ unit: by("unit").value, printer: by("printer").value });
  }

  step(by_) {
    const select = by("unit");
    const to = select.selectedIndex + by_;
    if (to < 0 || to >= select.options.length) return;
    select.selectedIndex = to;
    this.#chosen();
  }

  put(facts) {
    this.facts = facts;
    const { title, choices, estimate, panels, cuts } = facts;
    by("title").textContent = title.title || title.file;
    by("nothing-file").textContent = title.file;
    by("number").textContent = [title.document, title.revision && `rev. ${title.revision}`, title.file].filter(Boolean).join("  ·  ");
    // What a run has put before it stays.
    document.title = `${/^(\d+\/\d+ · |! )?/.exec(document.title)[0]}${title.title || title.file} on the desk`;
    const units = choices.units ?? [];
    by("unit-part").hidden = units.length === 0;
    options(by("unit"), units, choices.unit ?? "");
    by("unit-before").disabled = by("unit").selectedIndex <= 0;
    by("unit-after").disabled = by("unit").selectedIndex >= units.length - 1;
    by("printer-part").hidden = false;
    by("on-word").textContent = units.length > 0 ? "on" : "On";
    options(by("printer"), choices.printers.map((name) => ({ key: name, label: name })), choices.printer);
    const [paper, seconds] = [document.createElement("strong"), document.createElement("strong")];
    paper.textContent = length(estimate.length_mm);
    seconds.textContent = time(estimate.seconds);
    by("takes").replaceChildren("it takes ", paper, ` of ${choices.paper_mm} mm paper and `, seconds, ".");
    by("brief").textContent = `${length(estimate.length_mm)} · ${time(estimate.seconds)}`;
    this.#strip.papered(choices.paper_mm);
    this.#fan(panels);
    this.#folds(panels, cuts);
    this.#rule();
  }

  #fan(panels) {
    by("fan-part").hidden = panels.length < 2;
    by("fan-count").textContent = `${panels.length} panels`;
    // So many that each were too small to be hit: one slide leads to all.
    const many = panels.length > MOST_SIDES;
    const [fan, slide] = [by("fan"), by("fan-slide")];
    fan.hidden = many;
    slide.hidden = !many;
    slide.max = panels.length;
    this.#marked = -1;
    if (many) {
      fan.replaceChildren();
      return this.#current();
    }
    if (fan.children.length !== panels.length) {
      fan.replaceChildren(...panels.map((_, index) => {
        const [item, button, picture, line] = [document.createElement("li"), document.createElement("button"), document.createElementNS(SVG, "svg"), document.createElementNS(SVG, "line")];
        picture.setAttribute("viewBox", "0 0 10 10");
        picture.setAttribute("preserveAspectRatio", "none");
        const [from, to] = index % 2 === 0 ? [9, 1] : [1, 9];
        for (const [name, value] of Object.entries({ x1: 0, y1: from, x2: 10, y2: to })) line.setAttribute(name, value);
        picture.append(line);
        button.type = "button";
        button.setAttribute("aria-label", `Panel ${index + 1} of ${panels.length}`);
        button.append(picture);
        button.addEventListener("click", () => this.panel(index));
        item.append(button);
        return item;
      }));
    }
    this.#current();
  }

  /** The panel at the upper third of the bench. */
  #here() {
    if (this.facts === undefined) return -1;
    const [first, last] = this.#strip.view();
    const row = first + (last - first) / 3;
    const at = this.facts.panels.findLastIndex(([top]) => top <= row + 1);
    return Math.max(0, at);
  }

  #current() {
    const here = Math.max(0, this.#here());
    if (here === this.#marked) return;
    this.#marked = here;
    by("fan-slide").value = here + 1;
    by("fan-slide").setAttribute("aria-valuetext", `Panel ${here + 1} of ${by("fan-slide").max}`);
    [...by("fan").children].forEach((item, index) => {
      item.firstElementChild.setAttribute("aria-current", String(index === here));
      // One stop for all of them; arrows lead from one to the next.
      item.firstElementChild.tabIndex = index === here ? 0 : -1;
    });
  }

  /** Brings a panel into view; `done` when that was all that the docket was wanted for. */
  panel(index, done = true) {
    const panel = this.facts?.panels[index];
    if (panel !== undefined) this.#strip.show(panel[0]);
    if (done) dispatchEvent(new Event("docket-done"));
  }

  stepPanel(by_) {
    if (this.facts !== undefined) this.panel(Math.max(0, Math.min(this.facts.panels.length - 1, this.#here() + by_)));
  }

  #folds(panels, cuts) {
    const at = (name, y, rows) => {
      const line = document.createElement("div");
      line.className = name;
      line.style.setProperty("--y", y);
      if (rows !== undefined) line.style.setProperty("--rows-here", rows);
      return line;
    };
    const cut = new Set(cuts);
    const folded = panels.length > 1;
    by("folds").replaceChildren(
      ...(folded ? panels.map(([top, bottom], index) => at(index % 2 === 0 ? "lean away" : "lean", top, bottom - top)) : []),
      ...panels.slice(1).filter(([top]) => !cut.has(top)).map(([top]) => at("fold", top)),
      ...cuts.map((row) => at("cut", row)),
    );
  }

  /** A steel rule in millimetres, as long as the strip. */
  #rule() {
    const [rule, strip] = [by("rule"), this.#strip];
    if (strip.empty) return;
    const mm = strip.rows.height / strip.perMm;
    rule.classList.toggle("coarse", strip.dot * strip.perMm < 3.2);
    const count = Math.ceil(mm / 10);
    if (rule.children.length !== count) {
      rule.replaceChildren(...Array.from({ length: count }, (_, index) => {
        const [part, number] = [document.createElement("div"), document.createElement("span")];
        part.style.setProperty("--at", index);
        part.style.setProperty("--part", 1);
        number.textContent = index === 0 ? "" : index * 10;
        number.classList.toggle("long", index >= 100);
        part.append(number);
        return part;
      }));
    }
    rule.lastElementChild?.style.setProperty("--part", mm / 10 - (count - 1));
  }
}
