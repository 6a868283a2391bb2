// Things on the light table that are moved: with the pointer, or with arrow keys. What is done without letting go is one gesture.

/** Per cent of the picture that an arrow key moves, alone and with Shift. */
const STEP = 1;
const FAR = 5;
/** After so long without a key, what keys have moved is where it shall be. */
const REST_MS = 700;
/** CSS pixels that a finger may tremble. */
const SLACK = 3;

/** Ends what keys are moving. */
let settling = () => {};
export const settle = () => settling();

/** To half a per cent: finer than a finger, coarser than noise. */
export const rounded = (percent) => Math.round(percent * 2) / 2;
const within = (percent) => Math.max(0, Math.min(100, percent));

export const inPercent = ([x, y]) => `${x} % from the left, ${y} % from the top`;

const ARROWS = { ArrowRight: [1, 0], ArrowLeft: [-1, 0], ArrowDown: [0, 1], ArrowUp: [0, -1] };

/** Steps that a key asks for, in per cent of width and height; nothing for another key. */
export function steps(event) {
  const arrow = ARROWS[event.key];
  if (arrow === undefined || event.ctrlKey || event.metaKey || event.altKey) return undefined;
  return arrow.map((part) => part * (event.shiftKey ? FAR : STEP));
}

/**
 * Lets `handle` be moved. `at()` says where it stands, per cent; `show(at)` hears of every move, `done(at)` of the end of a gesture,
 * `off()` that it was given up. `percent(pixels)` tells CSS pixels across and down in per cent. `hold(at)` keeps a place within bounds.
 */
export function movable(handle, { at, show, done, off, percent, hold = (place) => place.map(within) }) {
  let [from, moved, held, rest] = [undefined, undefined, undefined, undefined];
  const end = () => {
    clearTimeout(rest);
    if (settling === end) settling = () => {};
    if (from === undefined) handle.classList.remove("moving");
    const to = held;
    held = undefined;
    if (to !== undefined) done(to);
  };
  const leave = () => {
    from = moved = undefined;
    handle.classList.remove("moving");
  };
  handle.addEventListener("pointerdown", (event) => {
    if (event.button !== 0 || handle.getAttribute("aria-disabled") === "true") return;
    settle();
    event.stopPropagation();
    handle.setPointerCapture(event.pointerId);
    from = { x: event.clientX, y: event.clientY, at: at() };
  });
  handle.addEventListener("pointermove", (event) => {
    if (from === undefined) return;
    const pixels = [event.clientX - from.x, event.clientY - from.y];
    if (moved === undefined && Math.hypot(...pixels) < SLACK) return;
    handle.classList.add("moving");
    const by = percent(pixels);
    moved = hold(from.at.map((side, axis) => rounded(side + by[axis])));
    show(moved);
  });
  handle.addEventListener("pointerup", () => {
    const to = moved;
    leave();
    if (to !== undefined) done(to);
  });
  handle.addEventListener("pointercancel", () => {
    const was = moved;
    leave();
    if (was !== undefined) off();
  });
  handle.addEventListener("keydown", (event) => {
    if (event.key === "Escape" && (moved !== undefined || held !== undefined)) {
      event.preventDefault();
      event.stopPropagation();
      clearTimeout(rest);
      held = undefined;
      leave();
      return off();
    }
    const by = steps(event);
    if (by === undefined || handle.getAttribute("aria-disabled") === "true") return;
    event.preventDefault();
    if (settling !== end) settle();
    settling = end;
    handle.classList.add("moving");
    held = hold((held ?? at()).map((side, axis) => rounded(side + by[axis])));
    show(held);
    clearTimeout(rest);
    rest = setTimeout(end, REST_MS);
  });
  handle.addEventListener("blur", end);
}
