// Pictures at web addresses: the hosts are named, then a person says yes, and they are brought in.

import { wish } from "/live.js";

const by = (id) => document.getElementById(id);
const count = (pictures) => (pictures === 1 ? "1 picture" : `${pictures} pictures`);

export class Gather {
  #docket;
  #say;
  #ticket;
  /** Whether the desk writes anything. */
  writes = true;

  constructor(docket, say) {
    [this.#docket, this.#say] = [docket, say];
    by("gather").addEventListener("click", () => this.#ask());
    by("gather-no").addEventListener("click", () => by("gathering").close());
    by("gather-yes").addEventListener("click", () => this.#yes());
  }

  put(findings) {
    by("gather-part").hidden = !this.writes || !findings.some((finding) => finding.rule === "picture-not-gathered");
  }

  #view() {
    const { unit, printer } = this.#docket.facts?.choices ?? {};
    return { unit: unit ?? null, printer: printer ?? null };
  }

  async #ask() {
    this.#ready("Looking…", undefined);
    by("gather-hosts").replaceChildren();
    by("gathering").showModal();
    try {
      const { pictures, hosts, ticket } = await wish("/gather/plan", { view: this.#view() });
      if (pictures === 0) return this.#ready("Every picture is here already.", undefined);
      this.#ready(`${count(pictures)} will be asked for, from:`, ticket);
      by("gather-hosts").replaceChildren(...hosts.map(({ host, pictures: of }) => {
        const item = document.createElement("li");
        item.textContent = `${host} (${of})`;
        return item;
      }));
      by("gather-yes").focus();
    } catch (trouble) {
      this.#refuse(trouble);
    }
  }

  async #yes() {
    const ticket = this.#ticket;
    this.#ready("Asking…", undefined);
    try {
      const { words } = await wish("/gather/start", { view: this.#view(), ticket });
      by("gathering").close();
      this.#say(words, true);
    } catch (trouble) {
      this.#refuse(trouble);
    }
  }

  #refuse(trouble) {
    by("gather-hosts").replaceChildren();
    this.#ready([trouble.message, trouble.hint].filter(Boolean).join("\n"), undefined);
  }

  #ready(words, ticket) {
    this.#ticket = ticket;
    by("gather-words").textContent = words;
    by("gather-yes").disabled = ticket === undefined;
  }
}
