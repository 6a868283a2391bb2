// One picture in four screens, small, in the slip beneath it; one click shows the lines that choose a screen.

import { wish } from "/live.js";

const by = (id) => document.getElementById(id);

export class Samples {
  #say;
  #key;

  constructor(say) {
    this.#say = say;
    by("samples-copy").addEventListener("click", () => this.#copy());
  }

  /** The slip is about this box now. */
  about(box) {
    const key = `${box.kind} ${box.file} ${box.line}`;
    by("slip-screens").hidden = !["picture", "figure"].includes(box.kind);
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
      this.#say([trouble.message, trouble.hint].filter(Boolean).join(" "), true);
    }
  }

  #sample({ name, words, width, height, rows }) {
    const [item, button, canvas] = ["li", "button", "canvas"].map((tag) => document.createElement(tag));
    Object.assign(canvas, { width, height });
    const bytes = Uint8Array.from(atob(rows), (letter) => letter.charCodeAt(0));
    const [context, stride] = [canvas.getContext("2d"), Math.ceil(width / 8)];
    const image = context.createImageData(width, height);
    for (let at = 0; at < width * height; at += 1) {
      const [x, y] = [at % width, Math.floor(at / width)];
      image.data.fill(bytes[y * stride + (x >> 3)] & (128 >> (x & 7)) ? 0 : 255, at * 4, at * 4 + 3);
      image.data[at * 4 + 3] = 255;
    }
    context.putImageData(image, 0, 0);
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

  async #copy() {
    try {
      await navigator.clipboard.writeText(by("samples-words").firstElementChild.textContent);
      this.#say("The lines are copied.", true);
    } catch {
      this.#say("The browser lets nothing be copied. Select the lines.", true);
    }
  }
}
