// The block in dots as they will fall, cut out of the strip, and a handle for its width with the millimetres beside it.

const by = (id) => document.getElementById(id);
/** White kept around the block, rows. */
const AROUND = 12;
const REST_MS = 700;
const LEAST_MM = 5;

export class Fall {
  #strip;
  #boxes;
  #changes;
  #mm;
  #column;
  #shut = true;
  /** As wide as it came out, millimetres. */
  #drawn = 0;
  /** Being asked for, not yet written. */
  #wanted;
  #rest;
  #lines;

  constructor(strip, boxes) {
    [this.#strip, this.#boxes] = [strip, boxes];
    const handle = by("width-handle");
    let from;
    handle.addEventListener("pointerdown", (event) => {
      if (event.button !== 0 || this.#shut) return;
      handle.setPointerCapture(event.pointerId);
      from = { x: event.clientX, mm: this.#now };
    });
    handle.addEventListener("pointermove", (event) => {
      if (from === undefined) return;
      // It stands in the middle of the column: both edges move.
      const mm = (2 * (event.clientX - from.x)) / this.#pixels;
      if (this.#wanted !== undefined || Math.abs(event.clientX - from.x) > 3) this.#want(Math.round(from.mm + mm));
    });
    handle.addEventListener("pointerup", () => {
      from = undefined;
      this.#done();
    });
    handle.addEventListener("pointercancel", () => {
      from = undefined;
      this.#off();
    });
    handle.addEventListener("keydown", (event) => {
      if (event.key === "Escape" && this.#wanted !== undefined) {
        event.preventDefault();
        event.stopPropagation();
        from = undefined;
        return this.#off();
      }
      const step = event.shiftKey ? 5 : 1;
      const now = Math.round(this.#now);
      const to = { ArrowRight: now + step, ArrowUp: now + step, ArrowLeft: now - step, ArrowDown: now - step, Home: LEAST_MM, End: Math.floor(this.#column) }[event.key];
      if (to === undefined || this.#shut || event.ctrlKey || event.metaKey || event.altKey) return;
      event.preventDefault();
      this.#want(to);
      clearTimeout(this.#rest);
      this.#rest = setTimeout(() => this.#done(), REST_MS);
    });
    handle.addEventListener("blur", () => this.#done());
    by("width-own").addEventListener("click", () => this.#changes.write({ what: "width", mm: null }));
  }

  /** Millimetres: asked for, else written, else as it came out. */
  get #now() {
    return this.#wanted ?? this.#mm ?? this.#drawn;
  }

  /** CSS pixels of a millimetre in this view. */
  get #pixels() {
    const canvas = by("fall-dots").firstElementChild;
    return canvas ? (canvas.clientWidth / this.#strip.rows.dots) * this.#strip.perMm : 1;
  }

  #want(mm) {
    this.#wanted = Math.max(LEAST_MM, Math.min(Math.floor(this.#column), mm));
    this.#stand();
    this.#changes.try({ what: "width", mm: this.#wanted });
  }

  #done() {
    clearTimeout(this.#rest);
    const mm = this.#wanted;
    this.#wanted = undefined;
    if (mm === undefined) return;
    this.#mm = mm;
    this.#stand();
    this.#changes.write({ what: "width", mm });
  }

  #off() {
    clearTimeout(this.#rest);
    this.#wanted = undefined;
    this.#stand();
    this.#changes.untry();
  }

  /** `lines`: first and last of what is shown, in its file. */
  show(changes, { mm, column_mm: column, kind }, lines, shut) {
    [this.#changes, this.#lines, this.#shut] = [changes, lines, shut];
    [this.#mm, this.#column] = [mm ?? undefined, column];
    by("width-part").hidden = kind === "comic" || shut;
    by("width-own").hidden = this.#mm === undefined;
    this.draw();
  }

  /** Cuts the block out of the strip as it lies there now. */
  draw() {
    if (this.#lines === undefined || this.#strip.empty) return;
    const ours = this.#boxes.within(this.#lines);
    by("fall-none").hidden = ours.length > 0;
    by("fall").hidden = ours.length === 0;
    if (ours.length === 0) return;
    const rows = this.#strip.rows.height;
    const top = Math.max(0, Math.min(...ours.map(({ y }) => y)) - AROUND);
    const bottom = Math.min(rows, Math.max(...ours.map(({ y, height }) => y + height)) + AROUND);
    const canvas = this.#strip.copy(top, Math.max(bottom, top + 1));
    by("fall-dots").replaceChildren(canvas);
    by("fall-dots").style.setProperty("--dots", canvas.width);
    by("fall-dots").style.setProperty("--ratio", canvas.width / canvas.height);
    const picture = ours.find(({ kind }) => kind === "picture") ?? ours[0];
    this.#drawn = picture.width / this.#strip.perMm;
    const at = (dots, of) => `${(100 * dots) / of}%`;
    const { style } = by("width-handle");
    style.setProperty("--left", at(picture.x + picture.width, canvas.width));
    style.setProperty("--top", at(picture.y - top, canvas.height));
    style.setProperty("--tall", at(picture.height, canvas.height));
    this.#stand();
  }

  #stand() {
    const handle = by("width-handle");
    const mm = Math.round(10 * this.#now) / 10;
    handle.hidden = by("width-part").hidden;
    const words = `${mm} mm wide of ${Math.floor(this.#column ?? 0)}`;
    for (const [name, value] of Object.entries({ valuenow: mm, valuemin: LEAST_MM, valuemax: Math.floor(this.#column ?? 0), valuetext: words })) handle.setAttribute(`aria-${name}`, value);
    by("width-said").textContent = words;
  }

  clear() {
    [this.#lines, this.#wanted] = [undefined, undefined];
    by("fall-dots").replaceChildren();
  }
}
