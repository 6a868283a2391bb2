// The model of a figure on the light table: turned with the pointer, with arrow keys or with two sliders. Where it is let go is written
// into the manual; where nothing can be written, the line that says so is shown.

import { put } from "/dots.js";
import { inWords, wish } from "/live.js";
import { copy } from "/paste.js";

const by = (id) => document.getElementById(id);
/** Degrees a pixel of the pointer, and a press of an arrow key. */
const DRAG = 0.5;
const STEP = 5;
/** After so long without a key or a move of a slider the model is where it shall be. */
const REST_MS = 700;

const wrapped = (turn) => ((((turn + 180) % 360) + 360) % 360) - 180;
const said = (degrees) => `${Math.round(degrees * 10) / 10}°`;

export class Turning {
  #say;
  #changes;
  #view;
  #shut = true;
  /** Turn and tilt that are shown, or asked for. */
  #at = [0, 0];
  /** What the manual says. */
  #own;
  #asking = false;
  #wanted;
  #rest;

  constructor(say) {
    this.#say = say;
    by("turning-copy").addEventListener("click", () => {
      copy(by("turning-words").firstElementChild.textContent, say, "The line is copied.", "Select the line.");
    });
    by("turning-turn").addEventListener("input", () => this.#turn([Number(by("turning-turn").value), this.#at[1]]));
    by("turning-tilt").addEventListener("input", () => this.#turn([this.#at[0], Number(by("turning-tilt").value)]));
    for (const name of ["turn", "tilt"]) by(`turning-${name}`).addEventListener("change", () => this.#soon());
    const model = by("turning-model");
    model.addEventListener("keydown", (event) => this.#arrow(event));
    model.addEventListener("blur", () => this.#done());
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
    for (const end of ["pointerup", "pointercancel"]) {
      model.addEventListener(end, () => {
        from = undefined;
        this.#done();
      });
    }
  }

  show(changes, view, seen) {
    const same = changes === this.#changes && this.#own !== undefined;
    [this.#changes, this.#view, this.#shut] = [changes, view, seen.writable !== true];
    by("turning-words").hidden = !this.#shut;
    // What is being turned stays as it is.
    if (!same || this.#own.join() === this.#at.join()) this.#home();
  }

  async #home() {
    const turned = await this.#ask(null);
    if (turned) this.#own = this.#at;
  }

  clear() {
    clearTimeout(this.#rest);
    this.#own = this.#wanted = undefined;
  }

  #arrow(event) {
    const step = event.shiftKey ? 1 : STEP;
    const [turn, tilt] = this.#at.map(Math.round);
    const to = { ArrowRight: [turn + step, tilt], ArrowLeft: [turn - step, tilt], ArrowUp: [turn, tilt + step], ArrowDown: [turn, tilt - step], Home: this.#own }[event.key];
    if (to === undefined || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    this.#turn(to);
    this.#soon();
  }

  /** What keys have turned is written when they rest. */
  #soon() {
    clearTimeout(this.#rest);
    this.#rest = setTimeout(() => this.#done(), REST_MS);
  }

  #done() {
    clearTimeout(this.#rest);
    if (this.#own === undefined || this.#at.join() === this.#own.join()) return;
    const [turn, tilt] = this.#at;
    this.#say(`turn ${said(turn)}, tilt ${said(tilt)}`);
    if (this.#shut) return;
    this.#own = this.#at;
    this.#changes.write({ what: "turn", turn, tilt });
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
    const changes = this.#changes;
    try {
      const turned = await wish("/turned", { view: this.#view, ...changes.place, at });
      if (changes !== this.#changes) return undefined;
      put(by("turning-model"), turned);
      if (this.#wanted === undefined) {
        this.#at = [turned.turn, turned.tilt];
        this.#numbers();
      }
      by("turning-words").firstElementChild.textContent = turned.words;
      return turned;
    } catch (trouble) {
      this.#say(inWords(trouble));
      return undefined;
    }
  }
}
