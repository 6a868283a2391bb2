// Every box on the strip is a button that names the line it came from. One is in the tab order; arrows lead from one to the next.

import { inWords, wish } from "/live.js";
import { copy } from "/paste.js";
import { Table } from "/table.js";

const by = (id) => document.getElementById(id);
/** Between a box and its slip, CSS pixels. */
const GAP = 8;

export class Boxes {
  list = [];
  #strip;
  #holder = by("boxes");
  #current = 0;
  #chosen;
  /** Whether the desk can open an editor. */
  editor = false;
  #say;
  #table;
  /** The strip that is shown, as the desk is asked for it. */
  view = {};

  constructor(strip, say) {
    this.#strip = strip;
    this.#say = say;
    this.#table = new Table(strip, this);
    this.#holder.addEventListener("click", (event) => {
      const index = this.#indexOf(event.target);
      if (index === undefined) return;
      // Once more on what is chosen: it is opened large.
      if (this.list[index] === this.#chosen) this.#large();
      else this.choose(index);
    });
    this.#holder.addEventListener("focusin", (event) => {
      const index = this.#indexOf(event.target);
      if (index !== undefined) this.#rove(index);
    });
    this.#holder.addEventListener("keydown", (event) => this.#key(event));
    by("slip-open").addEventListener("click", () => this.#chosen && this.open(this.#chosen));
    by("slip-copy").addEventListener("click", () => {
      const place = by("slip-place").textContent;
      copy(place, say, `${place} is copied.`, `The place is ${place}.`);
    });
    by("slip-large").addEventListener("click", () => this.#large());
    addEventListener("strip-measured", () => this.#chosen && this.#slip());
    document.addEventListener("keydown", (event) => {
      if (event.key !== "Escape" || !this.#chosen || document.querySelector("dialog[open]")) return;
      // The focus goes back to the box that the slip was about, or it would fall to the body.
      if (by("slip").contains(document.activeElement) || document.activeElement === document.body) this.focus(this.#chosen);
      this.leave();
    });
    by("bench").addEventListener("click", (event) => {
      if (!event.target.closest("#slip, #boxes button, #margin, #elsewhere, #trouble")) this.leave();
    });
  }

  /** The box that the slip is about. */
  get chosen() {
    return this.#chosen;
  }

  #indexOf(target) {
    const item = target.closest("li");
    return item === null ? undefined : [...this.#holder.children].indexOf(item);
  }

  put(list) {
    const chosen = this.#chosen;
    this.list = list;
    while (this.#holder.children.length > list.length) this.#holder.lastElementChild.remove();
    while (this.#holder.children.length < list.length) {
      const [item, button] = [document.createElement("li"), document.createElement("button")];
      button.type = "button";
      button.tabIndex = -1;
      item.append(button);
      this.#holder.append(item);
    }
    list.forEach((box, index) => {
      const button = this.#button(index);
      const { style } = button;
      const key = `${box.x} ${box.y} ${box.width} ${box.height}`;
      if (button.dataset.at !== key) {
        button.dataset.at = key;
        style.setProperty("--x", box.x);
        style.setProperty("--y", box.y);
        style.setProperty("--w", Math.max(box.width, 8));
        style.setProperty("--h", Math.max(box.height, 8));
        // Of boxes in one another the smaller lies on top.
        style.zIndex = 40 - Math.round(Math.log2(1 + box.width * box.height));
      }
      const label = `${box.text.trim() || box.kind}, ${box.file} line ${box.line}`;
      if (button.getAttribute("aria-label") !== label) button.setAttribute("aria-label", label);
    });
    by("nothing").hidden = list.length > 0;
    this.#rove(Math.min(this.#current, Math.max(0, list.length - 1)));
    if (chosen) {
      const again = list.findIndex((box) => box.file === chosen.file && box.kind === chosen.kind && box.text === chosen.text);
      if (again >= 0) this.choose(again, false);
      else this.leave();
    }
    this.#table.refresh();
  }

  /** What is chosen lies on the light table, if it can. */
  #large() {
    if (this.#chosen && this.#table.takes(this.#chosen)) this.#table.open(this.#chosen);
  }

  #button(index) {
    return this.#holder.children[index]?.firstElementChild;
  }

  #rove(index) {
    const before = this.#button(this.#current);
    if (before) before.tabIndex = -1;
    this.#current = index;
    const now = this.#button(index);
    if (now) now.tabIndex = 0;
  }

  #key(event) {
    const last = this.list.length - 1;
    const to = { ArrowDown: this.#current + 1, ArrowRight: this.#current + 1, ArrowUp: this.#current - 1, ArrowLeft: this.#current - 1, Home: 0, End: last }[event.key];
    if (to === undefined) return;
    event.preventDefault();
    const index = Math.max(0, Math.min(last, to));
    this.#button(index)?.focus({ preventScroll: true });
    if (!this.#strip.sees(this.list[index].y)) this.#strip.show(this.list[index].y);
  }

  /** Lays the focus on a box and moves nothing. */
  focus(box) {
    this.#button(this.list.indexOf(box))?.focus({ preventScroll: true });
  }

  /** Names the place of a box, in a slip beneath it. */
  choose(index, aloud = true) {
    this.#mark(false);
    this.#rove(index);
    this.#chosen = this.list[index];
    this.#mark(true);
    this.#slip();
    if (aloud) this.#say(`${this.#chosen.file}, line ${this.#chosen.line}`);
  }

  leave() {
    this.#mark(false);
    this.#chosen = undefined;
    by("slip").hidden = true;
  }

  #mark(on) {
    const button = this.#button(this.#current);
    if (on) button?.setAttribute("aria-current", "true");
    else this.#holder.querySelector('[aria-current="true"]')?.removeAttribute("aria-current");
  }

  #slip() {
    const [box, slip] = [this.#chosen, by("slip")];
    by("slip-large").hidden = !this.#table.takes(box);
    by("slip-words").textContent = box.text.trim() || box.kind;
    by("slip-place").textContent = `${box.file}:${box.line}`;
    by("slip-open").hidden = !this.editor;
    slip.hidden = false;
    slip.style.setProperty("--slip-top", `${this.#beside(box, slip.offsetHeight)}px`);
    const room = by("strip").clientWidth - slip.offsetWidth;
    slip.style.setProperty("--slip-left", `${Math.max(Math.min(0, room), Math.min(box.x * this.#strip.dot, room))}px`);
  }

  /** Below a box in view; above it where below is out of view, and over it where neither has room. */
  #beside(box, height) {
    const { dot } = this.#strip;
    const [first, last] = this.#strip.view().map((row) => row * dot);
    const [below, above] = [(box.y + box.height) * dot + GAP, box.y * dot - GAP - height];
    const inView = box.y * dot < last && (box.y + box.height) * dot > first;
    if (!inView || below + height <= last) return below;
    return above >= first ? above : last - height - GAP;
  }

  async open({ file, line }) {
    try {
      await wish("/open", { file, line });
      this.#say(`${file}, line ${line} is opening.`);
    } catch (trouble) {
      this.#say(inWords(trouble), true);
    }
  }

  /** Those that lines of a file made. */
  within({ file, first, last }) {
    return this.list.filter((box) => box.file === file && box.line >= first && box.line <= last);
  }

  /** The box that a line made: the nearest that begins at or before it. */
  ofLine(file, line) {
    let best;
    for (const box of this.list) {
      if (box.file === file && box.line <= line && (best === undefined || box.line > best.line)) best = box;
    }
    return best;
  }

  /** The smallest box at a row. */
  atRow(row) {
    const over = this.list.filter((box) => box.y <= row && box.y + box.height > row);
    return over.sort((a, b) => a.width * a.height - b.width * b.height)[0];
  }
}
