// One picture in four screens, small, on the light table: one click writes the choice; where nothing can be written, its lines are shown.

import { put } from "/dots.js";
import { inWords, wish } from "/live.js";
import { copy } from "/paste.js";

const by = (id) => document.getElementById(id);

export class Samples {
  #changes;
  #say;
  #seen;
  #asked = 0;
  /** What the samples that are shown were made of. */
  #shown;

  constructor(say) {
    this.#say = say;
    by("samples-own").addEventListener("click", () => this.#choose({ screen: null, background: null }));
    by("samples-copy").addEventListener("click", () => {
      copy(by("samples-words").firstElementChild.textContent, say, "The lines are copied.", "Select the lines.");
    });
  }

  show(changes, view, seen) {
    [this.#changes, this.#seen] = [changes, seen];
    const key = JSON.stringify([seen.picture, seen.crop]);
    this.#mark();
    if (key === this.#shown) return;
    this.#shown = key;
    this.#ask(view);
  }

  clear() {
    this.#shown = undefined;
    this.#asked += 1;
    by("samples-list").replaceChildren();
    by("samples-note").textContent = "";
    by("samples-words").hidden = true;
  }

  async #ask(view) {
    const asked = (this.#asked += 1);
    by("samples-list").setAttribute("aria-busy", "true");
    try {
      const samples = await wish("/samples", { view, ...this.#changes.place });
      if (asked !== this.#asked) return;
      by("samples-list").replaceChildren(...samples.map((sample) => this.#sample(sample)));
      by("samples-note").textContent = samples.map(({ note }) => note).find(Boolean) ?? "";
      this.#mark();
    } catch (trouble) {
      if (asked === this.#asked) by("samples-note").textContent = inWords(trouble);
    }
    by("samples-list").removeAttribute("aria-busy");
  }

  #choose(choice) {
    Object.assign(this.#seen, choice);
    this.#mark();
    this.#changes.write({ what: "screen", ...choice });
  }

  #mark() {
    const { screen, background, writable } = this.#seen;
    for (const button of by("samples-list").querySelectorAll("button")) {
      const chosen = button.dataset.screen === screen && button.dataset.background === (background ?? "keep");
      button.setAttribute("aria-pressed", String(chosen));
    }
    by("samples-own").hidden = writable !== true;
    by("samples-own").setAttribute("aria-pressed", String(!screen && !background));
  }

  #sample({ name, screen, background, words, width, height, rows }) {
    const [item, button, canvas] = ["li", "button", "canvas"].map((tag) => document.createElement(tag));
    put(canvas, { width, height, rows });
    button.type = "button";
    Object.assign(button.dataset, { screen, background });
    button.append(canvas, name);
    button.addEventListener("click", () => {
      if (this.#seen.writable === true) return this.#choose({ screen, background: background === "keep" ? null : background });
      by("samples-words").hidden = false;
      by("samples-words").firstElementChild.textContent = words;
      this.#say(`The lines for ${name} are shown.`);
    });
    item.append(button);
    return item;
  }
}
