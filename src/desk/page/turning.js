// The model of a figure, in the slip beneath it: turned with the pointer, with arrow keys or with two sliders; the line that says so in
// the manual stands below it. Nothing is written into the manual.

import { put } from "/dots.js";
import { inWords, wish } from "/live.js";
import { copy } from "/paste.js";

const by = (id) => document.getElementById(id);
/** Degrees a pixel of the pointer, and a press of an arrow key. */
const DRAG = 0.5;
const STEP = 5;

const wrapped = (turn) => ((((turn + 180) % 360) + 360) % 360) - 180;
const said = (degrees) => `${Math.round(degrees * 10) / 10}°`;

export class Turning {
  #say;
  #key;
  #view;
  #box;
  /** Turn and tilt that are shown, or asked for. */
  #at = [0, 0];
  #own = [0, 0];
  #asking = false;
  #wanted;
  #talk;

  constructor(say) {
    this.#say = say;
    by("turning-copy").addEventListener("click", () => {
      copy(by("turning-words").firstElementChild.textContent, say, "The line is copied.", "Select the line.");
    });
    by("turning-turn").addEventListener("input", () => this.#turn([Number(by("turning-turn").value), this.#at[1]]));
    by("turning-tilt").addEventListener("input", () => this.#turn([this.#at[0], Number(by("turning-tilt").value)]));
    const model = by("turning-model");
    model.addEventListener("keydown", (event) => this.#arrow(event));
    let from;
    model.addEventListener("pointerdown", (event) => {
      model.setPointerCapture(event.pointerId);
      from = { x: event.clientX, y: event.clientY, at: this.#at };
    });
    model.addEventListener("pointermove", (event) => {
      if (from === undefined) return;
      // The near side goes where the pointer goes: the viewer walks the other way.
      const [right, down] = [event.clientX - from.x, event.clientY - from.y];
      this.#turn([Math.round(from.at[0] - right * DRAG), Math.round(from.at[1] + down * DRAG)]);
    });
    for (const end of ["pointerup", "pointercancel"]) model.addEventListener(end, () => { from = undefined; });
  }

  /** The slip is about this box now, and whether it is drawn from a model. */
  about(box, model) {
    const key = `${box.kind} ${box.file} ${box.line}`;
    by("slip-turn").hidden = !model;
    if (key !== this.#key || !model) this.#close();
    this.#key = key;
  }

  #close() {
    by("turning").hidden = true;
    by("slip-turn").setAttribute("aria-expanded", "false");
  }

  async toggle(view, { file, line }) {
    if (!by("turning").hidden) return this.#close();
    [this.#view, this.#box] = [view, { file, line }];
    if ((await this.#ask(null)) === undefined) return;
    this.#own = this.#at;
    by("turning").hidden = false;
    by("slip-turn").setAttribute("aria-expanded", "true");
    by("turning-model").focus({ preventScroll: true });
  }

  #arrow(event) {
    const step = event.shiftKey ? 1 : STEP;
    const [turn, tilt] = this.#at.map(Math.round);
    const to = { ArrowRight: [turn + step, tilt], ArrowLeft: [turn - step, tilt], ArrowUp: [turn, tilt + step], ArrowDown: [turn, tilt - step], Home: this.#own }[event.key];
    if (to === undefined || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    this.#turn(to);
    clearTimeout(this.#talk);
    this.#talk = setTimeout(() => this.#say(`turn ${said(this.#at[0])}, tilt ${said(this.#at[1])}`), 400);
  }

  /** Asks for a view; while one is on its way only the last wish is kept. */
  #turn([turn, tilt]) {
    this.#at = [wrapped(turn), Math.max(-90, Math.min(90, tilt))];
    this.#numbers();
    this.#wanted = this.#at;
    if (!this.#asking) this.#next();
  }

  async #next() {
    this.#asking = true;
    while (this.#wanted !== undefined) {
      const at = this.#wanted;
      this.#wanted = undefined;
      if ((await this.#ask(at)) === undefined) break;
    }
    this.#asking = false;
  }

  #numbers() {
    for (const [n, name] of ["turn", "tilt"].entries()) {
      by(`turning-${name}`).value = this.#at[n];
      by(`turning-${name}-said`).textContent = said(this.#at[n]);
    }
  }

  async #ask(at) {
    const key = this.#key;
    try {
      const turned = await wish("/turned", { view: this.#view, ...this.#box, at });
      if (key !== this.#key) return undefined;
      put(by("turning-model"), turned);
      if (this.#wanted === undefined) {
        this.#at = [turned.turn, turned.tilt];
        this.#numbers();
      }
      by("turning-words").firstElementChild.textContent = turned.words;
      return turned;
    } catch (trouble) {
      this.#say(inWords(trouble), true);
      return undefined;
    }
  }
}
