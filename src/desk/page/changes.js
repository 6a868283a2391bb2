// What is done to one block of the manual: asked for, tried and written, one after the other. What the manual says is known by the desk
// alone; here stands only what it answered last.

import { wish } from "/live.js";

/** So long the strip is waited for after a change elsewhere. */
const ELSEWHERE_MS = 400;

export class Changes {
  /** What the desk last said of the block. */
  seen;
  #view;
  #place;
  #told;
  #asked = 0;
  #queue = Promise.resolve();
  #waiting = 0;
  /** Where the block stands by what the strip said while something was written. */
  #moved;
  #wanted;
  #trying;
  /** Something was tried that is not written. */
  #tried = false;

  /** `told.looked(seen)` hears of every answer, `told.refused(trouble)` of every refusal, `told.gone(trouble)` that nothing stands there. */
  constructor(view, { file, line }, told) {
    [this.#view, this.#place, this.#told] = [view, { file, line }, told];
  }

  /** Whether the strip shows what is not written. */
  get tried() {
    return this.#tried;
  }

  get place() {
    return this.#place;
  }

  /** Asks what stands on this line, to which the block may have moved. Until the answer is there, a gesture is one on what was seen before. */
  async look(line = this.#place.line) {
    // What is being written is asked for again when it is.
    if (this.#waiting > 0) return void (this.#moved = line);
    const asked = (this.#asked += 1);
    try {
      const seen = await wish("/edit/look", { view: this.#view, file: this.#place.file, line });
      if (asked !== this.#asked || this.#waiting > 0) return;
      this.seen = seen;
      this.#place.line = line;
      this.#told.looked(seen);
    } catch (trouble) {
      if (asked === this.#asked && this.#waiting === 0) this.#told.gone(trouble);
    }
  }

  /** Writes one change. Resolves to whether it was. */
  write(change) {
    return this.#then(() => wish("/edit/change", { view: this.#view, ...this.#place, revision: this.seen.revision, change }), true);
  }

  undo() {
    return this.#then(() => wish("/edit/undo", { file: this.#place.file }));
  }

  redo() {
    return this.#then(() => wish("/edit/redo", { file: this.#place.file }));
  }

  /** `mine`: it is a change of this very block. */
  #then(ask, mine = false) {
    this.#wanted = undefined;
    this.#tried = false;
    this.#waiting += 1;
    const done = this.#queue.then(async () => {
      let trouble;
      // What is tried must not come after what is written.
      await this.#trying;
      try {
        const { revision, line } = await ask();
        this.seen.revision = revision;
        this.#told.written();
        // What was taken back may have been another block: then the strip will say where this one stands.
        if (line === this.seen.block.first || mine) this.#place.line = line;
        else await new Promise((done) => setTimeout(done, ELSEWHERE_MS));
      } catch (refusal) {
        trouble = refusal;
      }
      this.#waiting -= 1;
      if (trouble) this.#told.refused(trouble);
      if (this.#waiting === 0) await this.look(this.#moved);
      this.#moved = undefined;
      return trouble === undefined;
    });
    this.#queue = done;
    return done;
  }

  /** Shows a change on the strip without writing it; while one is on its way only the last wish is kept. */
  try(change) {
    this.#wanted = { change };
    this.#tried = true;
    this.#trying ??= this.#next();
  }

  /** Takes back what was tried. */
  untry() {
    if (!this.#tried) return;
    this.try(null);
    this.#tried = false;
  }

  async #next() {
    while (this.#wanted !== undefined) {
      const { change } = this.#wanted;
      this.#wanted = undefined;
      try {
        await wish("/edit/try", { view: this.#view, ...this.#place, revision: this.seen.revision, change });
      } catch {
        // Why it cannot be is said when it is to be written.
      }
    }
    this.#trying = undefined;
  }
}

