// The light table: one picture, panel or model of the manual, large and in colour, beside its dots. What is done to it there is written
// into the manual at once, a gesture at a time.

import { Balloons } from "/balloons.js";
import { Callouts } from "/callouts.js";
import { Changes } from "/changes.js";
import { Cropping } from "/cropping.js";
import { Fall } from "/fall.js";
import { settle } from "/handles.js";
import { inWords } from "/live.js";
import { copy } from "/paste.js";
import { Samples } from "/samples.js";
import { Stage } from "/stage.js";
import { Turning } from "/turning.js";

const by = (id) => document.getElementById(id);
/** Kinds of boxes that can lie on it. */
const KINDS = ["picture", "figure", "comic", "panel", "balloon", "callout", "frame"];

/** Callouts with the numbers that they have on the strip, as far as their boxes tell: each stands on its own line, in the order of the list. */
function numbered(callouts, boxes) {
  const balls = boxes.filter(({ kind }) => kind === "callout").sort((one, other) => one.line - other.line);
  const told = balls.length === callouts.length && balls.every(({ line }, index) => index === 0 || line > balls[index - 1].line);
  return callouts.map((callout, index) => ({ ...callout, number: told ? Number(balls[index].text) : index + 1 }));
}

export class Table {
  #boxes;
  #changes;
  #box;
  #panel = 0;
  #stage;
  #callouts;
  #balloons;
  #cropping;
  #fall;
  #samples;
  #turning;

  constructor(strip, boxes) {
    this.#boxes = boxes;
    const say = (words) => { by("table-news").textContent = words; };
    this.#stage = new Stage({
      pressed: (at) => this.#pressed(at),
      drawn: (from, to, whole) => this.#crops && this.#cropping.draw(from, to, whole),
    });
    this.#callouts = new Callouts(this.#stage, say);
    this.#balloons = new Balloons(this.#stage, say);
    this.#cropping = new Cropping(this.#stage, say, () => this.#help());
    this.#fall = new Fall(strip, boxes);
    this.#samples = new Samples(say);
    this.#turning = new Turning(say);
    by("table-close").addEventListener("click", () => by("table").close());
    by("table").addEventListener("close", () => this.#closed());
    by("table").addEventListener("keydown", (event) => this.#key(event));
    by("table-undo").addEventListener("click", () => this.#again("undo"));
    by("table-redo").addEventListener("click", () => this.#again("redo"));
    by("refused-away").addEventListener("click", () => this.#refused(null));
    by("refused-copy").addEventListener("click", () => copy(by("refused-lines").textContent, say, "The lines are copied.", "Select the lines."));
    by("shut-copy").addEventListener("click", () => copy(by("shut-lines").textContent, say, "The lines are copied.", "Select the lines."));
    by("panel-before").addEventListener("click", () => this.#toPanel(this.#panel - 1));
    by("panel-after").addEventListener("click", () => this.#toPanel(this.#panel + 1));
    addEventListener("strip-drawn", () => by("table").open && this.#fall.draw());
  }

  /** Whether this box can lie on it. */
  takes(box) {
    return KINDS.includes(box.kind);
  }

  open(box) {
    if (by("table").open) return;
    this.#box = box;
    const told = {
      looked: (seen) => this.#looked(seen),
      written: () => { this.#refused(null); by("table-news").textContent = "Written."; },
      refused: (trouble) => this.#refused(trouble),
      gone: (trouble) => this.#gone(trouble),
    };
    this.#changes = new Changes(this.#boxes.view, box, told);
    this.#panel = undefined;
    this.#refused(null);
    by("table-title").textContent = box.text.trim() || box.kind;
    by("table-place").textContent = `${box.file}:${box.line}`;
    by("table").dataset.kind = "";
    by("table").showModal();
    by("table-title").focus();
    this.#changes.look();
  }

  /** The strip was set anew: the block may be another, or elsewhere. */
  refresh() {
    if (!by("table").open) return;
    const { file, line } = this.#changes.place;
    const alike = this.#boxes.list.filter((box) => box.file === file && box.kind === this.#box.kind && box.text === this.#box.text);
    const near = alike.sort((one, other) => Math.abs(one.line - line) - Math.abs(other.line - line))[0];
    this.#fall.draw();
    // What is being moved is not in the manual yet.
    if (!this.#changes.tried) this.#changes.look(near?.line);
  }

  /** Whether the frame is worked on, and not what it shows. */
  get #crops() {
    return by("stage").dataset.mode === "crop";
  }

  #pressed(at) {
    if (!this.#crops && ["picture", "figure"].includes(this.#changes.seen?.kind)) this.#callouts.put(at);
  }

  get #shut() {
    return this.#changes.seen.writable !== true;
  }

  #looked(seen) {
    const { kind, panels, callouts } = seen;
    this.#panel ??= seen.panel ?? 0;
    this.#panel = Math.min(this.#panel, Math.max(0, (panels?.length ?? 1) - 1));
    by("table").dataset.kind = kind;
    by("table").dataset.shut = String(this.#shut);
    this.#closedTo(this.#shut ? seen.writable : "", seen.paste);
    const block = seen.block;
    by("table-place").textContent = `${block.file}:${this.#changes.place.line}`;
    by("table-undo").disabled = this.#shut || !seen.undo;
    by("table-redo").disabled = this.#shut || !seen.redo;
    const panel = panels?.[this.#panel];
    const until = panels?.[this.#panel + 1]?.line;
    const lines = panel ? { file: block.file, first: panel.line, last: until ? until - 1 : block.last } : { file: block.file, first: block.first, last: block.last };
    const ours = this.#boxes.within(lines);
    // Known again by its picture, whatever box it was opened at.
    this.#box = ours.find(({ kind: drawn }) => drawn === "picture") ?? this.#box;
    by("table-title").textContent = this.#box.text.trim() || this.#box.kind;
    const shown = panel ?? seen;
    if (kind !== "model") this.#stage.put(shown.picture, shown.width, shown.height, by("table-title").textContent);
    by("panel-said").textContent = panel ? `Panel ${this.#panel + 1} of ${panels.length}` : "";
    by("panel-before").disabled = this.#panel <= 0;
    by("panel-after").disabled = this.#panel >= (panels?.length ?? 1) - 1;
    if (kind === "comic") this.#balloons.show(this.#changes, seen, this.#panel, this.#shut);
    else this.#callouts.show(this.#changes, numbered(callouts ?? [], ours), this.#shut);
    if (["picture", "figure"].includes(kind)) {
      this.#cropping.show(this.#changes, seen, this.#shut);
      this.#samples.show(this.#changes, this.#boxes.view, seen);
    }
    if (kind === "model") this.#turning.show(this.#changes, this.#boxes.view, seen);
    this.#fall.show(this.#changes, seen, lines, this.#shut);
    this.#help();
  }

  #toPanel(panel) {
    settle();
    this.#panel = panel;
    this.#balloons.clear();
    this.#looked(this.#changes.seen);
    by("table-news").textContent = by("panel-said").textContent;
  }

  /** What can be done here, in a line below the picture. */
  #help() {
    const kind = by("table").dataset.kind;
    const words = this.#changes?.seen === undefined || this.#shut ? ""
      : this.#crops ? "Draw across the picture, or take the frame by a corner."
        : { picture: "Click on the picture to put a callout; drag one to move it.", figure: "Click on the picture to put a callout; drag one to move it.", comic: "Drag a balloon, or the end of its tail." }[kind] ?? "";
    by("stage-help").textContent = words;
  }

  #again(which) {
    settle();
    this.#changes[which]();
  }

  #key(event) {
    if (!(event.ctrlKey || event.metaKey) || event.altKey || this.#changes.seen === undefined || this.#shut) return;
    const key = event.key.toLowerCase();
    const which = key === "y" || (key === "z" && event.shiftKey) ? "redo" : key === "z" ? "undo" : undefined;
    // A field that is being typed into has an undo of its own.
    const field = event.target.closest?.("input[type=text], textarea");
    if (which === undefined || (field && !field.readOnly)) return;
    event.preventDefault();
    this.#again(which);
  }

  #refused(trouble) {
    by("refused").hidden = trouble === null;
    if (trouble === null) return;
    by("refused-words").textContent = inWords(trouble);
    by("refused-paste").hidden = !trouble.paste;
    by("refused-lines").textContent = trouble.paste ?? "";
  }

  /** Why nothing can be written here, and the lines that would let it. */
  #closedTo(words, lines) {
    by("table-shut").hidden = !words;
    by("shut-words").textContent = words;
    by("shut-paste").hidden = !lines;
    by("shut-lines").textContent = lines ?? "";
  }

  #gone(trouble) {
    if (this.#changes.seen === undefined) this.#closedTo(inWords(trouble), trouble.paste);
    else this.#refused(trouble);
  }

  #closed() {
    settle();
    this.#changes.untry();
    for (const part of [this.#callouts, this.#balloons, this.#cropping, this.#fall, this.#samples, this.#turning, this.#stage]) part.clear();
    this.#closedTo("");
    this.#boxes.focus(this.#boxes.ofLine(this.#changes.place.file, this.#changes.place.line) ?? this.#box);
  }
}
