// The rows of the strip as this page holds them: packed bits, put together from slips that are known by name.

/** @typedef {{name: string, top: number, rows: number, bytes: Uint8Array}} Slip */

export class Rows {
  dots = 0;
  height = 0;
  stride = 0;
  perMetre = 8000;
  bits = new Uint8Array(0);
  /** @type {Slip[]} */
  slips = [];

  /** Forgets what it holds: the next parcel of a new stream brings everything. */
  forget() {
    this.held = new Map();
  }

  held = new Map();

  /**
   * Takes a parcel. Returns the bits as they were, the spans that are new, and where an old row now stands; nothing when a slip
   * is missing that the other side thought was here.
   */
  take(parcel) {
    const fresh = new Set();
    for (const [name, text] of parcel.fresh) {
      this.held.set(name, Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0)));
      fresh.add(name);
    }
    const before = { dots: this.dots, height: this.height, bits: this.bits, slips: this.slips };
    const stride = (parcel.dots + 7) >> 3;
    const bits = new Uint8Array(stride * parcel.rows);
    const slips = [];
    const held = new Map();
    let top = 0;
    for (const [name, rows] of parcel.slips) {
      const bytes = this.held.get(name);
      if (bytes === undefined || bytes.length !== rows * stride) return undefined;
      bits.set(bytes, top * stride);
      slips.push({ name, top, rows, bytes });
      held.set(name, bytes);
      top += rows;
    }
    Object.assign(this, { dots: parcel.dots, height: parcel.rows, stride, perMetre: parcel.dots_per_metre, bits, slips, held });
    const same = before.dots === parcel.dots;
    return { before, spans: same ? this.#inked(spans(before.slips, slips)) : [], moved: mover(before.slips, slips), whole: !same };
  }

  /** Without the blank rows at the ends; where nothing but blank rows is new, their first. */
  #inked(spans) {
    return spans.map(({ top, rows }) => {
      let [first, last] = [top, top + rows - 1];
      while (first < last && this.blank(first)) first += 1;
      while (last > first && this.blank(last)) last -= 1;
      return first < last || rows < 2 ? { top: first, rows: last - first + 1 } : { top, rows: 0 };
    });
  }

  blank(row) {
    const end = (row + 1) * this.stride;
    for (let at = row * this.stride; at < end; at += 1) if (this.bits[at] !== 0) return false;
    return true;
  }
}

function ends(before, after) {
  const most = Math.min(before.length, after.length);
  let head = 0;
  while (head < most && before[head].name === after[head].name) head += 1;
  let tail = 0;
  while (tail < most - head && before[before.length - 1 - tail].name === after[after.length - 1 - tail].name) tail += 1;
  return { head, tail };
}

/** What is new, as {top, rows}, narrowed to the rows that differ; a place where only something went has no rows. */
function spans(before, after) {
  const { head, tail } = ends(before, after);
  const old = before.slice(head, before.length - tail);
  const now = after.slice(head, after.length - tail);
  const known = new Set(old.map((slip) => slip.name));
  const found = [];
  for (const slip of now) {
    if (known.has(slip.name)) continue;
    const last = found.at(-1);
    if (last && last.top + last.rows === slip.top) last.rows += slip.rows;
    else found.push({ top: slip.top, rows: slip.rows });
  }
  if (found.length === 0 && old.length > 0) found.push({ top: now[0]?.top ?? heightOf(after, head), rows: 0 });
  return old.length === now.length && sum(old) === sum(now) ? found.map((span) => narrowed(span, old, now)) : found;
}

const sum = (slips) => slips.reduce((rows, slip) => rows + slip.rows, 0);
const heightOf = (slips, count) => (count > 0 ? slips[count - 1].top + slips[count - 1].rows : 0);

/** Where slips lie as before, only the rows inside that differ. */
function narrowed(span, old, now) {
  let [first, last] = [Infinity, -1];
  now.forEach((slip, index) => {
    const was = old[index];
    if (was.rows !== slip.rows || slip.top < span.top || slip.top >= span.top + span.rows) return;
    const stride = slip.bytes.length / slip.rows;
    for (let at = 0; at < slip.bytes.length; at += 1) {
      if (slip.bytes[at] === was.bytes[at]) continue;
      const row = slip.top + Math.floor(at / stride);
      first = Math.min(first, row);
      last = Math.max(last, row);
    }
  });
  const sized = now.every((slip, index) => old[index].rows === slip.rows);
  return sized && last >= 0 ? { top: first, rows: last - first + 1 } : span;
}

/** Leads a row of the strip as it was to the row where the same thing stands now. */
function mover(before, after) {
  const { head, tail } = ends(before, after);
  const grown = heightOf(after, after.length) - heightOf(before, before.length);
  const now = new Map(after.slice(head, after.length - tail).map((slip) => [slip.name, slip.top]));
  return (row) => {
    const at = before.findLastIndex((slip) => slip.top <= row);
    if (at < head) return row;
    if (at >= before.length - tail) return row + grown;
    for (let index = at; index >= head; index -= 1) {
      const top = now.get(before[index].name);
      if (top !== undefined) return top + Math.min(row - before[index].top, before[index].rows);
    }
    return Math.min(row, heightOf(after, after.length - tail));
  };
}
