// Printing from the page: what would be printed is named, then a person says yes to exactly that.

import { time } from "/docket.js";
import { inWords, sentence, wish } from "/live.js";

const by = (id) => document.getElementById(id);
const strips = (count) => (count === 1 ? "1 strip" : `${count} strips`);

/** What to do about strips that were printed before. */
const WAYS = {
  "go-on": { name: "Go on", meant: "What is printed stays as it is; the rest is printed with the manual as it is now." },
  "new-run": { name: "New run", meant: "Every strip is printed again with the manual as it is now." },
};

export class Press {
  #docket;
  #ticket;
  #asked = 0;
  #say;
  #state = "idle";
  #way = "continue";

  constructor(docket, say) {
    [this.#docket, this.#say] = [docket, say];
    by("print").addEventListener("click", () => this.open());
    by("press-no").addEventListener("click", () => by("press").close());
    by("press-yes").addEventListener("click", () => this.#yes());
    by("press-wish").addEventListener("input", () => this.#anew("continue"));
    by("run-stop").addEventListener("click", () => this.#stop());
    by("run-again").addEventListener("click", () => this.open());
    by("run-close").addEventListener("click", () => {
      by("run").hidden = true;
      by("print").focus();
    });
  }

  open() {
    const { facts } = this.#docket;
    if (by("press").open) return;
    if (facts === undefined || by("print").disabled) return this.#say("Nothing can be printed until the manual can be set.", true);
    const { unit, units } = facts.choices;
    by("press-this").textContent = unit ? `this strip: ${unit}` : "this strip";
    by("press-all-label").hidden = units.length < 2;
    by("press-all").textContent = `all ${units.length} units`;
    if (units.length < 2) by("press").querySelector('[value="this"]').checked = true;
    by("press").showModal();
    this.#anew("continue");
  }

  /** The manual was set anew: what was planned may not hold any more. */
  refresh() {
    if (by("press").open) this.#plan();
  }

  #anew(way) {
    this.#way = way;
    this.#plan();
  }

  async #plan() {
    const asked = (this.#asked += 1);
    const { unit, printer } = this.#docket.facts.choices;
    this.#ready(undefined);
    const copies = Number(by("press-copies").value);
    if (!Number.isInteger(copies) || copies < 1 || copies > 999) return this.#refuse({ message: "Copies are whole numbers from 1 to 999." });
    try {
      const plan = await wish("/print/plan", {
        view: { unit, printer },
        units: by("press").querySelector('[name="which"]:checked').value,
        copies,
        way: this.#way,
      });
      if (asked === this.#asked) this.#show(plan);
    } catch (trouble) {
      if (asked === this.#asked) this.#refuse(trouble);
    }
  }

  #ready(plan) {
    this.#ticket = plan?.ticket;
    by("press-yes").disabled = plan === undefined || plan.strips === 0;
    by("press-yes").textContent = plan === undefined ? "Print" : `Print ${strips(plan.strips)}`;
  }

  #show(plan) {
    const count = document.createElement("p");
    count.className = "count";
    const rest = plan.strips === 0 ? "Nothing is left to print." : `${strips(plan.strips)}, ${plan.metres.toFixed(1)} m of paper, about ${time(plan.seconds)}, to ${plan.to}.`;
    count.textContent = rest;
    const names = document.createElement("ul");
    names.tabIndex = 0;
    names.setAttribute("aria-label", "Units that will be printed");
    names.append(...plan.units.map((unit) => {
      const item = document.createElement("li");
      item.textContent = unit;
      return item;
    }));
    const parts = [count];
    if (plan.units.length > 0) parts.push(names);
    if (plan.printed > 0) parts.push(this.#note(`${strips(plan.printed)} of this run ${plan.printed === 1 ? "is" : "are"} printed already and left out.`));
    if (plan.gone) parts.push(this.#note(sentence(plan.gone)));
    if (this.#way !== "continue") parts.push(this.#note(WAYS[this.#way].meant));
    if (plan.again.length > 0) {
      const these = plan.again.length === 1 ? "this one" : `these ${plan.again.length}`;
      parts.push(this.#offers([[`Print ${these} again`, "What is printed is called missing in the ledger, and comes once more.", () => this.#settle(plan.again, false)]]));
    }
    if (plan.warning) parts.push(this.#note(plan.warning, "warned"));
    by("press-plan").replaceChildren(...parts);
    this.#ready(plan);
  }

  #note(words, name = "note") {
    const note = document.createElement("p");
    note.className = name;
    note.textContent = words;
    return note;
  }

  #refuse(trouble) {
    const parts = [trouble.message, trouble.hint].filter(Boolean).map((words, index) => this.#note(sentence(words), index === 0 ? "warned" : "note"));
    if (trouble.ways?.length > 0) parts.push(this.#offers(trouble.ways.map((way) => [WAYS[way].name, WAYS[way].meant, () => this.#anew(way)])));
    if (trouble.unsettled?.length > 0) parts.push(this.#unsettled(trouble.unsettled));
    by("press-plan").replaceChildren(...parts);
    this.#ready(undefined);
  }

  /** Buttons, each with its consequence in words. */
  #offers(all) {
    const list = document.createElement("div");
    list.className = "offers";
    list.append(...all.map(([name, meant, act]) => {
      const offer = document.createElement("p");
      const button = document.createElement("button");
      [button.type, button.textContent] = ["button", name];
      button.addEventListener("click", act);
      const words = document.createElement("span");
      words.textContent = meant;
      offer.append(button, words);
      return offer;
    }));
    return list;
  }

  /** Strips of unknown fate, to be ticked where they lie on the table. */
  #unsettled(strips) {
    const field = document.createElement("fieldset");
    field.className = "unsettled";
    const legend = document.createElement("legend");
    legend.textContent = "Tick those that lie on the table, whole";
    const boxes = strips.map((strip) => {
      const label = document.createElement("label");
      const box = document.createElement("input");
      box.type = "checkbox";
      const name = document.createElement("span");
      name.textContent = strip.copy === 1 ? strip.unit : `${strip.unit}/${strip.copy}`;
      label.append(box, " ", name);
      return [label, box, strip];
    });
    const act = async () => {
      const [there, missing] = [true, false].map((ticked) => boxes.filter(([, box]) => box.checked === ticked).map(([, , strip]) => strip));
      if (there.length > 0 && !(await this.#settle(there, true, false))) return;
      if (missing.length > 0 && !(await this.#settle(missing, false, false))) return;
      this.#anew("continue");
    };
    field.append(legend, ...boxes.map(([label]) => label), this.#offers([["Enter this", "Ticked ones are called printed; the others are printed again.", act]]));
    return field;
  }

  async #settle(strips, printed, then = true) {
    try {
      await wish("/print/settle", { strips: strips.map(({ run, unit, copy }) => ({ run, unit, copy })), printed });
      if (then) this.#anew("continue");
      return true;
    } catch (trouble) {
      this.#refuse(trouble);
      return false;
    }
  }

  async #yes() {
    const ticket = this.#ticket;
    this.#ready(undefined);
    try {
      await wish("/print/start", { ticket });
      by("press").close();
    } catch (trouble) {
      this.#refuse(trouble);
    }
  }

  async #stop() {
    by("run-stop").disabled = true;
    try {
      await wish("/print/stop", {});
      // The end may be told before this answer is.
      if (this.#state === "running") by("run-words").textContent = "The run ends after this strip.";
    } catch (trouble) {
      this.#say(trouble.message, true);
    }
  }

  /** How the run goes. */
  put(news) {
    const [bar, words, stop] = [by("run-bar"), by("run-words"), by("run-stop")];
    by("run").hidden = news.state === "idle";
    if (news.state === "running" && this.#state !== "running") stop.disabled = false;
    this.#state = news.state;
    bar.hidden = stop.hidden = news.state !== "running";
    by("run-again").hidden = by("run-close").hidden = news.state === "running";
    by("run").dataset.state = news.state;
    by("run-heading").textContent = { running: "At the printer", done: "The run is over", failed: "The run stopped: look at this" }[news.state] ?? "";
    const title = document.title.replace(/^(\d+\/\d+ · |! )/, "");
    const before = { running: () => `${news.step.done}/${news.step.of} · `, failed: () => "! " };
    document.title = `${before[news.state]?.() ?? ""}${title}`;
    if (news.state === "running") {
      const { done, of, unit, state, note } = news.step;
      [bar.max, bar.value] = [Math.max(1, of), done];
      words.textContent = [`${done} of ${of}.`, unit && `${unit}: ${state}.`, note].filter(Boolean).join(" ");
    } else if (news.state === "done") {
      words.textContent = news.words;
    } else if (news.state === "failed") {
      words.textContent = inWords(news.trouble);
    }
  }
}
