// One picture in four screens, small, in the slip beneath it; one click shows the lines that choose a screen.

import { put } from "/dots.js";
import { inWords, wish } from "/live.js";
import { copy } from "/paste.js";

const by = (id) => document.getElementById(id);

export class Samples {
  #say;
  #key;

  constructor(say) {
    this.#say = say;
    by("samples-copy").addEventListener("click", () => {
      copy(by("samples-words").firstElementChild.textContent, say, "The lines are copied.", "Select the lines.");
    });
  }

  /** The slip is about this box now. */
  about(box, model) {
    const key = `${box.kind} ${box.file} ${box.line}`;
    by("slip-screens").hidden = model || !["picture", "figure"].includes(box.kind);
    if (key !== this.#key) this.#close();
    this.#key = key;
  }

  #close() {
    by("samples").hidden = true;
    by("slip-screens").setAttribute("aria-expanded", "false");
  }

  async toggle(view, { file, line }) {
    if (!by("samples").hidden) return this.#close();
    const key = this.#key;
    try {
      const samples = await wish("/samples", { view, file, line });
      if (key !== this.#key) return;
      by("samples-list").replaceChildren(...samples.map((sample) => this.#sample(sample)));
      by("samples-note").textContent = samples.map(({ note }) => note).find(Boolean) ?? "";
      by("samples-words").hidden = true;
      by("samples").hidden = false;
      by("slip-screens").setAttribute("aria-expanded", "true");
    } catch (trouble) {
      this.#say(inWords(trouble), true);
    }
  }

  #sample({ name, words, width, height, rows }) {
    const [item, button, canvas] = ["li", "button", "canvas"].map((tag) => document.createElement(tag));
    put(canvas, { width, height, rows });
    button.type = "button";
    button.setAttribute("aria-pressed", "false");
    button.append(canvas, name);
    button.addEventListener("click", () => {
      for (const other of by("samples-list").querySelectorAll("button")) other.setAttribute("aria-pressed", String(other === button));
      by("samples-words").hidden = false;
      by("samples-words").firstElementChild.textContent = words;
      this.#say(`The lines for ${name} are shown.`);
    });
    item.append(button);
    return item;
  }
}
