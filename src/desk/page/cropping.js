// The part of a picture that is shown: a frame on the light table, drawn across it, moved, or taken by a corner.

import { inPercent, movable, rounded } from "/handles.js";
import { stand } from "/stage.js";

const by = (id) => document.getElementById(id);
const WHOLE = [0, 0, 100, 100];
/** Per cent: less would show nothing that can be told. */
const LEAST = 5;
const CORNERS = [["left", "top"], ["right", "top"], ["left", "bottom"], ["right", "bottom"]];

export class Cropping {
  #changes;
  #crop = WHOLE;
  #frame = by("crop");
  #say;
  #shut = true;

  /** `turned(on)` hears when the frame can be worked on. */
  constructor(stage, say, turned) {
    this.#say = say;
    by("crop-mode").addEventListener("click", () => this.#mode(stage, by("stage").dataset.mode !== "crop", turned));
    by("crop-whole").addEventListener("click", () => this.#done(WHOLE));
    this.#frame.setAttribute("aria-describedby", "crop-help");
    by("shade").classList.add("whole");
    const { percent } = stage;
    movable(this.#frame, {
      percent,
      at: () => this.#crop.slice(0, 2),
      hold: ([x, y]) => [Math.max(0, Math.min(100 - this.#crop[2], x)), Math.max(0, Math.min(100 - this.#crop[3], y))],
      show: ([x, y]) => this.#show([x, y, ...this.#crop.slice(2)]),
      done: ([x, y]) => this.#done([x, y, ...this.#crop.slice(2)]),
      off: () => this.#off(),
    });
    for (const [across, down] of CORNERS) {
      const corner = document.createElement("button");
      corner.type = "button";
      corner.className = "corner";
      corner.dataset.corner = `${across} ${down}`;
      corner.setAttribute("aria-describedby", "crop-help");
      const turn = (at) => this.#cornered(across, down, at);
      movable(corner, {
        percent,
        at: () => this.#corner(this.#crop, across, down),
        hold: (at) => this.#corner(turn(at), across, down),
        show: (at) => this.#show(turn(at)),
        done: (at) => this.#done(turn(at)),
        off: () => this.#off(),
      });
      by("stage").append(corner);
    }
  }

  #mode(stage, on, turned) {
    by("stage").dataset.mode = on ? "crop" : "";
    by("crop-mode").setAttribute("aria-pressed", String(on));
    turned(on);
    if (on) this.#frame.focus();
  }

  show(changes, { crop }, shut) {
    [this.#changes, this.#shut] = [changes, shut];
    this.#crop = crop ?? WHOLE;
    const handles = [this.#frame, ...by("stage").querySelectorAll(".corner")];
    for (const handle of handles) handle.setAttribute("aria-disabled", String(shut));
    if (handles.every((handle) => !handle.classList.contains("moving"))) this.#stand(this.#crop);
    by("crop-whole").hidden = shut || !crop;
  }

  clear() {
    this.#stand(WHOLE);
    by("stage").dataset.mode = "";
    by("crop-mode").setAttribute("aria-pressed", "false");
  }

  #corner([x, y, width, height], across, down) {
    return [across === "left" ? x : x + width, down === "top" ? y : y + height];
  }

  /** The frame with one corner there. */
  #cornered(across, down, at) {
    const [x, y, width, height] = this.#crop;
    const side = (low, size, to, first) => (first
      ? [Math.max(0, Math.min(to, low + size - LEAST)), low + size]
      : [low, Math.min(100, Math.max(to, low + LEAST))]);
    const [[left, right], [top, bottom]] = [side(x, width, at[0], across === "left"), side(y, height, at[1], down === "top")];
    return [left, top, right - left, bottom - top];
  }

  /** Drawn across the picture. */
  draw(from, to, whole) {
    if (this.#shut) return;
    const [x, y] = [0, 1].map((axis) => Math.min(from[axis], to[axis]));
    const [width, height] = [0, 1].map((axis) => rounded(Math.abs(from[axis] - to[axis])));
    if (whole === null || (whole && (width < LEAST || height < LEAST))) return this.#off();
    const crop = [x, y, width, height];
    if (whole) this.#done(crop);
    else this.#stand(crop);
  }

  #show(crop) {
    this.#stand(crop);
    this.#changes.try({ what: "crop", crop: this.#written(crop) });
  }

  #written(crop) {
    return crop.every((side, at) => side === WHOLE[at]) ? null : crop;
  }

  #done(crop) {
    this.#crop = crop;
    this.#stand(crop);
    this.#say(`${crop[2]} by ${crop[3]} %, ${inPercent(crop)}`);
    this.#changes.write({ what: "crop", crop: this.#written(crop) });
  }

  #off() {
    this.#stand(this.#crop);
    this.#changes.untry();
  }

  #stand([x, y, width, height]) {
    for (const element of [this.#frame, by("shade")]) {
      stand(element, [x, y]);
      element.style.setProperty("--w", width);
      element.style.setProperty("--h", height);
      element.classList.toggle("whole", width === 100 && height === 100);
    }
    this.#frame.setAttribute("aria-label", `The part that is shown: ${width} by ${height} %, ${inPercent([x, y])}`);
    for (const corner of by("stage").querySelectorAll(".corner")) {
      const [across, down] = corner.dataset.corner.split(" ");
      const at = this.#corner([x, y, width, height], across, down);
      stand(corner, at);
      corner.setAttribute("aria-label", `Corner ${down} ${across}: ${inPercent(at)}`);
    }
  }
}
