// The picture on the light table, as large as there is room, and places on it in per cent of its width and height.

import { rounded } from "/handles.js";

const by = (id) => document.getElementById(id);

export class Stage {
  #ratio = 1;
  #address;

  /** `pressed(at)` hears of a click on the picture, `drawn(from, to, whole)` of a drag across it: `whole` at its end, null when it was given up. */
  constructor({ pressed, drawn }) {
    new ResizeObserver(() => this.#fit()).observe(by("stage-room"));
    const stage = by("stage");
    let from;
    const ours = ({ target }) => target === stage || target.id === "stage-picture";
    stage.addEventListener("pointerdown", (event) => {
      if (event.button !== 0 || !ours(event)) return;
      from = { x: event.clientX, y: event.clientY, at: this.place(event), far: false };
      if (stage.dataset.mode === "crop") stage.setPointerCapture(event.pointerId);
    });
    stage.addEventListener("pointermove", (event) => {
      if (from === undefined) return;
      from.far ||= Math.hypot(event.clientX - from.x, event.clientY - from.y) > 4;
      if (from.far) drawn(from.at, this.place(event), false);
    });
    stage.addEventListener("pointerup", (event) => {
      const began = from;
      from = undefined;
      if (began === undefined) return;
      if (began.far) drawn(began.at, this.place(event), true);
      else pressed(began.at);
    });
    stage.addEventListener("pointercancel", () => {
      if (from?.far) drawn(from.at, from.at, null);
      from = undefined;
    });
  }

  /** Shows a picture of these pixels, or an empty stage of that shape. */
  put(address, width, height, alt) {
    this.#ratio = width > 0 && height > 0 ? width / height : 4 / 3;
    const picture = by("stage-picture");
    picture.alt = alt;
    picture.hidden = !address;
    if (address && address !== this.#address) picture.src = address;
    this.#address = address;
    this.#fit();
  }

  /** Forgets the picture, so that the next block does not begin with it. */
  clear() {
    by("stage-picture").hidden = true;
    by("stage-picture").removeAttribute("src");
    this.#address = undefined;
  }

  #fit() {
    const [room, stage] = [by("stage-room"), by("stage")];
    const wide = Math.floor(Math.min(room.clientWidth, room.clientHeight * this.#ratio));
    stage.style.setProperty("--wide", `${wide}px`);
    stage.style.setProperty("--high", `${Math.round(wide / this.#ratio)}px`);
  }

  /** Where a pointer is, per cent. */
  place(event) {
    const { left, top, width, height } = by("stage").getBoundingClientRect();
    return [(event.clientX - left) / width, (event.clientY - top) / height].map((share) => rounded(Math.max(0, Math.min(100, share * 100))));
  }

  /** CSS pixels across and down, in per cent. */
  percent = ([x, y]) => [(100 * x) / by("stage").clientWidth, (100 * y) / by("stage").clientHeight];
}

/** Puts something where it stands, per cent. */
export function stand(element, [x, y]) {
  element.style.setProperty("--x", x);
  element.style.setProperty("--y", y);
}
