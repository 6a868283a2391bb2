// Findings whose remedy is mechanical: what would be written is shown as it will stand, then a person says yes.

import { inWords, wish } from "/live.js";

const by = (id) => document.getElementById(id);
/** The desk is asked for remedies when the manual has rested for so long. */
const REST_MS = 700;
/** After so long without a key what is typed is shown as it would stand. */
const TYPED_MS = 250;

const told = ({ rule, file, line, column, hint }) => ({ rule, file, line: line ?? 1, column: column ?? 1, hint: hint ?? "" });

export class Mend {
  #view;
  #rest;
  #asking = 0;
  /** Titles of remedies, by the finding that they are of. */
  #known = new Map();
  #remedy;
  #shown = 0;
  #opener;
  #typed;

  /** `view()` tells the strip in view. */
  constructor(view) {
    this.#view = view;
    by("mend-no").addEventListener("click", () => by("mending").close());
    by("mend-yes").addEventListener("click", () => this.#write());
    by("mend-field").addEventListener("input", () => {
      clearTimeout(this.#typed);
      by("mend-yes").disabled = true;
      this.#typed = setTimeout(() => this.#show(), TYPED_MS);
    });
    by("mend-form").addEventListener("submit", (event) => {
      event.preventDefault();
      if (!by("mend-yes").disabled) this.#write();
    });
    by("mending").addEventListener("close", () => this.#opener?.isConnected && this.#opener.focus());
  }

  /** Tells, later and one after the other, which findings have remedies: `put(index, titles)`. */
  look(findings, put) {
    clearTimeout(this.#rest);
    const asking = (this.#asking += 1);
    const keys = findings.map((finding) => JSON.stringify([told(finding), finding.message]));
    this.#known = new Map(keys.filter((key) => this.#known.has(key)).map((key) => [key, this.#known.get(key)]));
    keys.forEach((key, index) => this.#known.has(key) && put(index, this.#known.get(key)));
    this.#rest = setTimeout(async () => {
      for (const [index, key] of keys.entries()) {
        if (this.#known.has(key)) continue;
        const titles = await this.#remedies(findings[index]).then((all) => all.map(({ title }) => title), () => []);
        if (asking !== this.#asking) return;
        this.#known.set(key, titles);
        put(index, titles);
      }
    }, REST_MS);
  }

  #remedies(finding) {
    return wish("/edit/mend", { view: this.#view(), finding: told(finding) });
  }

  /** Opens the card with the remedy of this place in the list. Resolves to false where there is none by now. */
  async open(finding, which, opener) {
    const all = await this.#remedies(finding).catch(() => []);
    if (all[which] === undefined || document.querySelector("dialog[open]")) return false;
    this.#remedy = all[which];
    this.#opener = opener;
    const { title, field } = this.#remedy;
    by("mend-heading").textContent = title;
    by("mend-asked").hidden = field === null;
    by("mend-label").textContent = field?.label ?? "";
    by("mend-field").placeholder = field?.example ?? "";
    by("mend-field").value = "";
    by("mend-refused").textContent = "";
    by("mend-difference").replaceChildren();
    by("mend-yes").disabled = true;
    by("mending").showModal();
    (field ? by("mend-field") : by("mend-no")).focus();
    this.#show();
    return true;
  }

  /** The change with what was typed; nothing while nothing is. */
  #change() {
    const { change, field } = this.#remedy;
    if (!field) return change;
    const typed = by("mend-field").value.trim();
    if (!typed) return undefined;
    return { ...change, [field.name]: field.name === "mm" ? Number(typed.replace(",", ".")) : typed };
  }

  async #ask(show) {
    const { file, line, revision } = this.#remedy;
    const change = this.#change();
    return change && wish("/edit/change", { file, line, revision, change, show });
  }

  async #show() {
    const shown = (this.#shown += 1);
    by("mend-yes").disabled = true;
    try {
      const difference = await this.#ask(true);
      if (shown !== this.#shown) return;
      by("mend-refused").textContent = "";
      by("mend-yes").disabled = difference === undefined;
      by("mend-difference").replaceChildren(...(difference ? lines(difference) : []));
    } catch (trouble) {
      if (shown === this.#shown) by("mend-refused").textContent = inWords(trouble);
    }
  }

  async #write() {
    by("mend-yes").disabled = true;
    try {
      await this.#ask(false);
      by("mending").close();
    } catch (trouble) {
      by("mend-refused").textContent = inWords(trouble);
    }
  }
}

/** A difference as lines that went, came and stayed. */
function lines({ above, was, is, below }) {
  const all = (tag, sign, texts) => texts.map((text) => {
    const line = document.createElement(tag);
    line.textContent = `${sign} ${text}\n`;
    return line;
  });
  return [...all("span", " ", above), ...all("del", "−", was), ...all("ins", "+", is), ...all("span", " ", below)];
}
