// Callouts on the light table: a handle on the picture for each, and a line with its words beside it.

import { inPercent, movable } from "/handles.js";
import { stand } from "/stage.js";

const by = (id) => document.getElementById(id);
const MIDDLE = [50, 50];

export class Callouts {
  #list = [];
  #changes;
  #stage;
  #say;
  /** One that has its place and no words yet: it is not written before it has. */
  #fresh;
  #shut = true;

  constructor(stage, say) {
    [this.#stage, this.#say] = [stage, say];
    by("callout-put").addEventListener("click", () => this.put(MIDDLE, true));
  }

  /** What the desk says of them. `shut` while nothing can be written. */
  show(changes, callouts, shut) {
    [this.#changes, this.#list, this.#shut] = [changes, callouts, shut];
    this.#draw();
  }

  clear() {
    this.#fresh = undefined;
    by("callout-list").replaceChildren();
    this.#handles().forEach((handle) => handle.remove());
  }

  #handles() {
    return [...by("stage").querySelectorAll(".spot")];
  }

  /** Begins a callout there; `byKeys` when arrow keys will move it. */
  put(at, byKeys = false) {
    if (this.#shut) return;
    this.#fresh = { ...this.#fresh, at };
    this.#draw();
    const handle = this.#handles().find((one) => one.classList.contains("fresh"));
    if (byKeys) {
      handle.focus();
      this.#say("A callout in the middle. Arrow keys move it, Enter goes to its words.");
    } else {
      by("callout-list").querySelector(".fresh input").focus({ preventScroll: !matchMedia("(max-width: 60rem)").matches });
    }
  }

  async #write(label) {
    const { at } = this.#fresh;
    this.#fresh = undefined;
    // It stands there as if it were written, until the desk says so.
    this.#list = [...this.#list, { at, label }];
    this.#draw();
    return this.#changes.write({ what: "callout-put", at, label });
  }

  #drop(index) {
    this.#say(`Callout ${this.#number(index)} is taken away.`);
    this.#list = this.#list.filter((_, at) => at !== index);
    const next = Math.min(index, this.#list.length - 1);
    this.#changes.write({ what: "callout-drop", index });
    this.#draw();
    (this.#handles().find((handle) => handle.index === next) ?? by("callout-put")).focus();
  }

  /** Lines as the legend has them, one without words last; while one is typed into, as they stand. */
  #order(all) {
    const [list, indices] = [by("callout-list"), all.map((_, index) => index)];
    if (list.contains(document.activeElement)) {
      const stood = [...list.children].map(({ index }) => index).filter((index) => index < all.length);
      return [...stood, ...indices.filter((index) => !stood.includes(index))];
    }
    const last = (index) => (all[index] === this.#fresh ? Infinity : this.#number(index));
    return indices.sort((one, other) => last(one) - last(other));
  }

  #rowOf(index) {
    return [...by("callout-list").children].find((row) => row.index === index);
  }

  #number(index) {
    return this.#list[index]?.number ?? index + 1;
  }

  #draw() {
    const all = [...this.#list, ...(this.#fresh ? [this.#fresh] : [])];
    const [list, handles] = [by("callout-list"), this.#handles()];
    const placed = all.filter(({ at }) => at).length;
    while (handles.length > placed) handles.pop().remove();
    while (list.children.length > all.length) list.lastElementChild.remove();
    // A handle stays that of its callout, whatever number that gets: the focus is on it.
    let spot = 0;
    all.forEach((callout, index) => {
      if (!callout.at) return;
      const handle = handles[spot] ?? this.#handle();
      spot += 1;
      handle.index = index;
      handle.classList.toggle("fresh", callout === this.#fresh);
      handle.dataset.number = callout === this.#fresh ? "" : this.#number(index);
      handle.setAttribute("aria-disabled", String(this.#shut));
      if (!handle.classList.contains("moving")) this.#stand(handle, callout.at);
    });
    this.#order(all).forEach((index, at) => {
      const row = list.children[at] ?? this.#row(list);
      row.index = index;
      this.#fill(row, index, all[index]);
    });
    by("callouts-count").textContent = this.#list.length > 0 ? `(${this.#list.length})` : "";
    by("callouts-none").hidden = all.length > 0;
  }

  #stand(handle, at) {
    stand(handle, at);
    const callout = this.#list[handle.index];
    handle.setAttribute("aria-label", `${callout ? `Callout ${this.#number(handle.index)}, ${callout.label || "without words"}` : "New callout"}: ${inPercent(at)}`);
  }

  #handle() {
    const handle = document.createElement("button");
    handle.type = "button";
    handle.className = "spot";
    handle.setAttribute("aria-describedby", "spot-help");
    const callout = () => this.#list[handle.index] ?? this.#fresh;
    movable(handle, {
      percent: this.#stage.percent,
      at: () => callout().at,
      show: (at) => {
        this.#stand(handle, at);
        if (callout() !== this.#fresh) this.#changes.try({ what: "callout-move", index: handle.index, at });
      },
      done: (at) => {
        const moved = callout();
        moved.at = at;
        this.#stand(handle, at);
        this.#say(inPercent(at));
        if (moved !== this.#fresh) this.#changes.write({ what: "callout-move", index: handle.index, at });
      },
      off: () => {
        this.#stand(handle, callout().at);
        this.#changes.untry();
      },
    });
    handle.addEventListener("keydown", (event) => {
      const fresh = callout() === this.#fresh;
      if ((event.key === "Delete" || event.key === "Backspace" || (event.key === "Escape" && fresh)) && !this.#shut) {
        event.preventDefault();
        event.stopPropagation();
        if (fresh) this.#forget(true);
        else this.#drop(handle.index);
      }
    });
    handle.addEventListener("click", ({ detail }) => {
      // By Enter; a pointer has nothing to type.
      if (detail === 0) this.#rowOf(handle.index).querySelector("input").focus();
      else handle.focus();
    });
    const row = (on) => this.#rowOf(handle.index)?.classList.toggle("here", on);
    handle.addEventListener("focus", () => row(true));
    handle.addEventListener("blur", () => row(false));
    by("stage").append(handle);
    return handle;
  }

  #row(list) {
    const [row, number, field, drop] = ["li", "span", "input", "button"].map((tag) => document.createElement(tag));
    number.className = "ball";
    number.setAttribute("aria-hidden", "true");
    field.type = "text";
    field.autocomplete = "off";
    drop.type = "button";
    drop.className = "drop";
    drop.textContent = "×";
    const index = () => row.index;
    const isFresh = () => row.classList.contains("fresh");
    field.addEventListener("keydown", (event) => {
      if (event.key === "Enter") {
        event.preventDefault();
        if (isFresh() && !field.value.trim()) return;
        // The next one, or on with this one's place.
        if (isFresh()) by("callout-put").focus();
        else this.#handles().find((handle) => handle.index === index())?.focus();
      }
      if (event.key === "Escape") {
        event.preventDefault();
        event.stopPropagation();
        if (isFresh()) return this.#forget(true);
        field.value = this.#list[index()].label;
        field.blur();
      }
    });
    field.addEventListener("input", () => {
      if (isFresh()) this.#fresh.words = field.value;
    });
    field.addEventListener("blur", () => {
      const words = field.value.trim();
      if (isFresh()) {
        if (this.#fresh && words) this.#write(words);
        return;
      }
      const callout = this.#list[index()];
      if (callout === undefined || words === callout.label) return;
      if (!words) return void (field.value = callout.label);
      callout.label = words;
      this.#changes.write({ what: "callout-rename", index: index(), label: words });
    });
    drop.addEventListener("click", () => (isFresh() ? this.#forget(true) : this.#drop(index())));
    const light = (on) => this.#handles().find((handle) => handle.index === index())?.classList.toggle("here", on);
    row.addEventListener("focusin", () => light(true));
    row.addEventListener("focusout", () => light(false));
    row.append(number, field, drop);
    list.append(row);
    return row;
  }

  #fill(row, index, callout) {
    const [number, field, drop] = row.children;
    const fresh = callout === this.#fresh;
    row.classList.toggle("fresh", fresh);
    const name = fresh ? "the new callout" : `callout ${this.#number(index)}`;
    number.textContent = fresh ? "" : this.#number(index);
    field.setAttribute("aria-label", `Words of ${name}`);
    field.placeholder = fresh ? "What is it? Then Enter" : "";
    field.readOnly = this.#shut;
    // What is being typed stays.
    if (fresh || document.activeElement !== field) field.value = (fresh ? callout.words : callout.label) ?? "";
    drop.setAttribute("aria-label", `Take ${name} away`);
    drop.hidden = this.#shut;
  }

  /** The one that was begun is given up. */
  #forget(back) {
    this.#fresh = undefined;
    this.#draw();
    if (back) by("callout-put").focus();
    this.#say("Given up.");
  }
}
