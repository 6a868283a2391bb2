// A picture file, dropped on the strip or chosen at a box: it goes into the project and is set behind what stands there.

import { inWords, wish } from "/live.js";

const by = (id) => document.getElementById(id);
/** Bytes that the desk takes. */
const LARGEST = 24 << 20;

export class Drop {
  /** Whether the desk writes anything. */
  writes = true;
  #strip;
  #boxes;
  #mend;
  #say;
  #at;

  constructor(strip, boxes, mend, say) {
    [this.#strip, this.#boxes, this.#mend, this.#say] = [strip, boxes, mend, say];
    const bench = by("bench");
    const brings = (event) => this.writes && event.dataTransfer?.types.includes("Files");
    bench.addEventListener("dragover", (event) => {
      if (!brings(event)) return;
      event.preventDefault();
      event.dataTransfer.dropEffect = "copy";
      this.#point(this.#boxAt(event));
    });
    bench.addEventListener("dragleave", (event) => bench.contains(event.relatedTarget) || this.#point(undefined));
    bench.addEventListener("drop", (event) => {
      if (!brings(event)) return;
      event.preventDefault();
      const box = this.#boxAt(event);
      this.#point(undefined);
      if (box) this.#take(event.dataTransfer.files, box);
    });
    by("slip-put").addEventListener("click", () => {
      this.#at = this.#boxes.chosen;
      by("drop-file").click();
    });
    by("drop-file").addEventListener("change", () => {
      this.#take(by("drop-file").files, this.#at);
      by("drop-file").value = "";
    });
  }

  #boxAt({ clientY }) {
    const row = (clientY - by("strip").getBoundingClientRect().top) / this.#strip.dot;
    const above = this.#boxes.list.filter((box) => box.y <= row);
    return this.#boxes.atRow(row) ?? above.at(-1) ?? this.#boxes.list[0];
  }

  /** Where it would be set: a line behind that box. */
  #point(box) {
    by("drop-line").hidden = box === undefined;
    if (box) by("drop-line").style.setProperty("--y", box.y + box.height);
  }

  async #take(files, { file, line }) {
    const [picture, ...more] = files;
    if (picture === undefined) return;
    if (more.length > 0) return this.#say("One picture at a time.", true);
    if (picture.size > LARGEST) return this.#say(`${picture.name} is larger than ${LARGEST >> 20} MiB.`, true);
    const view = this.#boxes.view;
    try {
      const bytes = new Uint8Array(await picture.arrayBuffer());
      const { revision } = await wish("/edit/revision", { view, file });
      const set = await wish("/edit/drop", { file, line, revision, name: picture.name, data: base64(bytes) });
      this.#say(`${picture.name} is set at line ${set.last}.`, true);
      await this.#mend.open({ rule: "missing-alt", file, line: set.last, column: 1, hint: "" }, 0, by("bench"));
    } catch (trouble) {
      this.#say(inWords(trouble), true);
    }
  }
}

function base64(bytes) {
  let text = "";
  for (let at = 0; at < bytes.length; at += 0x8000) text += String.fromCharCode(...bytes.subarray(at, at + 0x8000));
  return btoa(text);
}
