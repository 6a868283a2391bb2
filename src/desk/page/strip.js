// The strip as it lies on the bench: tiles of dots near what is in view, at a size at which no dot is ever blurred.

import { Rows } from "/rows.js";

/** Dot rows of one tile at whole magnifications. */
const TILE = 240;
/** Screen rows of one tile where several dots share a pixel, or dots take unequal whole pixels. */
const SCREEN_TILE = 256;
const FLASH_MS = 1400;
/** CSS pixels of a millimetre, by definition of the inch. */
const CSS_MM = 96 / 25.4;

const by = (id) => document.getElementById(id);

export class Strip {
  rows = new Rows();
  choice = "fit";
  /** Screen pixels a dot. */
  ratio = 1;
  #tiles = new Map();
  #bench = by("bench");
  #strip = by("strip");
  #holder = by("tiles");
  #queued = false;
  #paper;
  /** CSS pixels from the top of what can be scrolled to the strip: while one scrolls nothing is measured. */
  #above = 0;

  constructor() {
    this.#bench.addEventListener("scroll", () => this.#soon(), { passive: true });
    new ResizeObserver(() => this.size()).observe(this.#bench);
    this.#watchPixels();
  }

  /** The browser's zoom changes how many screen pixels a CSS pixel has. */
  #watchPixels() {
    matchMedia(`(resolution: ${devicePixelRatio}dppx)`).addEventListener("change", () => { this.#watchPixels(); this.size(); }, { once: true });
  }

  get empty() {
    return this.rows.dots === 0;
  }

  /** CSS pixels a dot. */
  get dot() {
    return this.ratio / devicePixelRatio;
  }

  get perMm() {
    return this.rows.perMetre / 1000;
  }

  /** Puts a parcel on the bench; what is in view stays where it is. False when a slip was missing. */
  take(parcel) {
    const anchor = this.empty ? undefined : this.topRow();
    const change = this.rows.take(parcel);
    if (change === undefined) return false;
    const resized = change.before.height !== this.rows.height || change.whole;
    if (resized) this.#measure(change.whole);
    if (anchor !== undefined && !change.whole && resized) this.#scrollTo(change.moved(anchor.row), anchor.offset);
    this.#redraw(change.before);
    if (change.before.dots !== 0) this.#flash(change.spans);
    dispatchEvent(new CustomEvent("strip-drawn", { detail: change }));
    return true;
  }

  /** The row at the upper edge of what is in view, and how far above it the edge stands. */
  topRow() {
    const past = this.#past;
    const row = Math.max(0, Math.min(this.rows.height, Math.floor(past / this.dot)));
    return { row, offset: past - row * this.dot };
  }

  /** CSS pixels of the strip above the upper edge of what is in view. */
  get #past() {
    return this.#bench.scrollTop - this.#above;
  }

  /** First and last row in view. */
  view() {
    const first = this.#past / this.dot;
    return [first, first + this.#bench.clientHeight / this.dot];
  }

  #scrollTo(row, offset) {
    this.#bench.scrollTop = this.#above + row * this.dot + offset;
  }

  /** Lays a row where `topRow` found it. */
  bring(row, offset) {
    this.#scrollTo(row, offset);
    this.draw();
  }

  /** Brings a row to the upper third of the bench. */
  show(row) {
    const still = matchMedia("(prefers-reduced-motion: reduce)").matches;
    const by = row * this.dot - this.#past - this.#bench.clientHeight / 3;
    this.#bench.scrollBy({ top: by, behavior: still || Math.abs(by) > 6000 ? "instant" : "smooth" });
  }

  sees(row) {
    const [first, last] = this.view();
    return row >= first && row <= last;
  }

  /** Chooses the loupe; what is in the middle of the bench stays there. */
  magnify(choice) {
    const [first, last] = this.empty ? [0, 0] : this.view();
    const before = this.dot;
    const across = (this.#bench.getBoundingClientRect().left + this.#bench.clientWidth / 2 - this.#strip.getBoundingClientRect().left) / before;
    this.choice = choice;
    if (this.empty) return;
    this.#measure(true);
    this.#bench.scrollTop = this.#above + ((first + last) / 2) * this.dot - this.#bench.clientHeight / 2;
    // Sideways too.
    this.#bench.scrollLeft += this.#strip.getBoundingClientRect().left + across * this.dot - this.#bench.getBoundingClientRect().left - this.#bench.clientWidth / 2;
    this.draw();
  }

  size() {
    if (this.empty) return;
    const before = this.ratio;
    const anchor = this.topRow();
    this.#measure(false);
    if (before !== this.ratio) this.#scrollTo(anchor.row, anchor.offset);
    this.draw();
  }

  /** How wide the paper is of which the dots take the middle, in millimetres. */
  papered(width) {
    if (width === this.#paper) return;
    this.#paper = width;
    this.size();
  }

  /** Shows the paper beside the dots, or the dots alone. */
  look(paper) {
    document.body.classList.toggle("as-paper", paper);
    this.size();
  }

  /** Dots that would fit on the bare paper at each side. */
  get #side() {
    if (!document.body.classList.contains("as-paper") || this.#paper === undefined) return 0;
    return Math.max(0, (this.#paper * this.perMm - this.rows.dots) / 2);
  }

  #aside() {
    by("mat").style.setProperty("--side", `${Math.round(this.#side * this.ratio) / devicePixelRatio}px`);
  }

  #wanted() {
    const pixels = devicePixelRatio;
    if (this.choice === "true") return (CSS_MM * pixels) / this.perMm;
    if (this.choice !== "fit") return Number(this.choice);
    const beside = by("rule").offsetWidth + by("margin").offsetWidth;
    const room = (this.#bench.clientWidth - beside - (this.#bench.clientWidth < 600 ? 30 : 110)) * pixels;
    const fits = room / (this.rows.dots + 2 * this.#side);
    return fits >= 1 ? Math.min(Math.floor(fits), Math.max(1, Math.ceil(pixels))) : Math.max(fits, 0.1);
  }

  #measure(anew) {
    const ratio = this.#wanted();
    if (anew || ratio !== this.ratio) {
      this.#tiles.forEach((tile) => tile.canvas.remove());
      this.#tiles.clear();
    }
    this.ratio = ratio;
    const mat = by("mat").style;
    mat.setProperty("--dot", `${this.dot}px`);
    mat.setProperty("--mm", `${this.dot * this.perMm}px`);
    mat.setProperty("--dots", this.rows.dots);
    mat.setProperty("--rows", this.rows.height);
    this.#aside();
    this.#align();
    dispatchEvent(new Event("strip-measured"));
  }

  /** Centring leaves fractions of a screen pixel: the strip is nudged to a whole one. */
  #align() {
    const { style } = by("paper");
    style.left = style.top = "0px";
    const { left, top } = this.#strip.getBoundingClientRect();
    const nudge = (at) => (Math.round(at * devicePixelRatio) - at * devicePixelRatio) / devicePixelRatio;
    style.left = `${nudge(left + this.#bench.scrollLeft)}px`;
    style.top = `${nudge(top + this.#bench.scrollTop)}px`;
    this.#above = this.#strip.getBoundingClientRect().top - this.#bench.getBoundingClientRect().top + this.#bench.scrollTop;
  }

  #soon() {
    if (this.#queued) return;
    this.#queued = true;
    requestAnimationFrame(() => {
      this.#queued = false;
      this.draw();
      dispatchEvent(new Event("strip-scrolled"));
    });
  }

  /** Whole magnifications keep one canvas pixel a dot and let the browser repeat it; else every pixel is worked out here. */
  get #whole() {
    return Number.isInteger(this.ratio);
  }

  /** Dot rows from..to of a tile, and its place in CSS pixels. */
  #tile(index) {
    if (this.#whole) {
      const [from, to] = [index * TILE, Math.min((index + 1) * TILE, this.rows.height)];
      return { from, to, width: this.rows.dots, height: to - from, top: from * this.dot, scale: this.dot };
    }
    const screen = Math.ceil(this.rows.height * this.ratio);
    const [first, last] = [index * SCREEN_TILE, Math.min((index + 1) * SCREEN_TILE, screen)];
    const scale = 1 / devicePixelRatio;
    const edge = (pixel) => Math.min(this.rows.height, this.#edge(pixel));
    return { from: edge(first), to: Math.max(edge(last), edge(first) + 1), first, width: Math.ceil(this.rows.dots * this.ratio), height: last - first, top: first * scale, scale };
  }

  /** The first dot of a screen pixel: a dot is never shared between pixels, nor a pixel between halves of dots. */
  #edge(pixel) {
    return this.ratio < 1 ? Math.round(pixel / this.ratio) : Math.floor((pixel + 0.5) / this.ratio);
  }

  #range() {
    const [first, last] = this.view();
    const span = this.#whole ? TILE : SCREEN_TILE / this.ratio;
    const count = Math.ceil(this.rows.height / span - 1e-9);
    const spare = (last - first) / 2;
    return [Math.max(0, Math.floor((first - spare) / span)), Math.min(count - 1, Math.floor((last + spare) / span))];
  }

  /** Sees to it that tiles lie wherever one can look, and nowhere else. */
  draw() {
    if (this.empty) return;
    const [first, last] = this.#range();
    for (const [index, tile] of this.#tiles) {
      if (index >= first && index <= last) continue;
      tile.canvas.remove();
      this.#tiles.delete(index);
    }
    for (let index = first; index <= last; index += 1) if (!this.#tiles.has(index)) this.#paint(index);
  }

  #redraw(before) {
    for (const [index, tile] of this.#tiles) {
      const now = this.#tile(index);
      if (now.height <= 0 || now.from >= this.rows.height) {
        tile.canvas.remove();
        this.#tiles.delete(index);
      } else if (tile.height !== now.height || this.#differs(before, now)) {
        this.#paint(index);
      }
    }
    this.draw();
  }

  #differs(before, { from, to }) {
    const { stride, bits } = this.rows;
    if (to > before.height) return true;
    for (let at = from * stride; at < to * stride; at += 1) if (bits[at] !== before.bits[at]) return true;
    return false;
  }

  #paint(index) {
    const now = this.#tile(index);
    let tile = this.#tiles.get(index);
    if (tile === undefined) {
      tile = { canvas: document.createElement("canvas"), height: 0 };
      this.#tiles.set(index, tile);
      this.#holder.append(tile.canvas);
    }
    const { canvas } = tile;
    if (canvas.width !== now.width || tile.height !== now.height) {
      [canvas.width, canvas.height, tile.height] = [now.width, now.height, now.height];
      canvas.style.width = `${now.width * now.scale}px`;
      canvas.style.height = `${now.height * now.scale}px`;
      canvas.style.top = `${now.top}px`;
    }
    const context = canvas.getContext("2d");
    const image = context.createImageData(now.width, now.height);
    const pixels = new Uint32Array(image.data.buffer);
    if (this.#whole) plain(this.rows, now, pixels);
    else this.#resampled(now, pixels);
    context.putImageData(image, 0, 0);
  }

  #resampled(now, pixels) {
    const { rows } = this;
    const columns = Array.from({ length: now.width + 1 }, (_, x) => Math.min(rows.dots, this.#edge(x)));
    for (let y = 0; y < now.height; y += 1) {
      const top = Math.min(rows.height - 1, this.#edge(now.first + y));
      const bottom = Math.max(top + 1, Math.min(rows.height, this.#edge(now.first + y + 1)));
      for (let x = 0; x < now.width; x += 1) {
        const left = Math.min(columns[x], rows.dots - 1);
        const right = Math.max(left + 1, columns[x + 1]);
        let black = 0;
        for (let row = top; row < bottom; row += 1) {
          for (let dot = left; dot < right; dot += 1) black += (rows.bits[row * rows.stride + (dot >> 3)] >> (7 - (dot & 7))) & 1;
        }
        if (black > 0) pixels[y * now.width + x] = (Math.round((255 * black) / ((right - left) * (bottom - top))) << 24) >>> 0;
      }
    }
  }

  #flash(spans) {
    const holder = by("flashes");
    for (const { top, rows } of spans.slice(0, 40)) {
      const flash = document.createElement("div");
      flash.className = "flash";
      flash.style.setProperty("--y", top);
      flash.style.setProperty("--rows-here", Math.max(rows, 2));
      holder.append(flash);
      setTimeout(() => flash.remove(), FLASH_MS);
    }
  }

  /** Rows of the strip as a canvas of one pixel a dot, for other paper. */
  copy(from, to) {
    const canvas = document.createElement("canvas");
    [canvas.width, canvas.height] = [this.rows.dots, to - from];
    const context = canvas.getContext("2d");
    const image = context.createImageData(canvas.width, canvas.height);
    plain(this.rows, { from, to, width: canvas.width }, new Uint32Array(image.data.buffer));
    context.putImageData(image, 0, 0);
    return canvas;
  }
}

/** One pixel a dot: black where the bit is set, the paper showing through elsewhere. */
function plain(rows, { from, to, width }, pixels) {
  for (let row = from; row < to; row += 1) {
    const [line, start] = [(row - from) * width, row * rows.stride];
    for (let at = 0; at < rows.stride; at += 1) {
      const byte = rows.bits[start + at];
      if (byte === 0) continue;
      for (let bit = 0; bit < 8; bit += 1) if (byte & (0x80 >> bit)) pixels[line + at * 8 + bit] = 0xff000000;
    }
  }
}
