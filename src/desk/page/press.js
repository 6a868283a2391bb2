// Printing from the page: what would be printed is named, then a person says yes to exactly that.

import { time } from "/docket.js";
import { wish } from "/live.js";

const by = (id) => document.getElementById(id);
const strips = (count) => (count === 1 ? "1 strip" : `${count} strips`);

export class Press {
  #docket;
  #ticket;
  #asked = 0;
  #say;
  #state = "idle";

  constructor(docket, say) {
    [this.#docket, this.#say] = [docket, say];
    by("print").addEventListener("click", () => this.open());
    by("press-no").addEventListener("click", () => by("press").close());
    by("press-yes").addEventListener("click", () => this.#yes());
    by("press-wish").addEventListener("input", () => this.#plan());
    by("run-stop").addEventListener("click", () => this.#stop());
  }

  open() {
    const { facts } = this.#docket;
    if (facts === undefined || by("press").open) return;
    const { unit, units } = facts.choices;
    by("press-this").textContent = unit ? `this strip: ${unit}` : "this strip";
    by("press-all-label").hidden = units.length < 2;
    by("press-all").textContent = `all ${units.length} units`;
    if (units.length < 2) by("press").querySelector('[value="this"]').checked = true;
    by("press").showModal();
    this.#plan();
  }

  async #plan() {
    const asked = (this.#asked += 1);
    const { unit, printer } = this.#docket.facts.choices;
    this.#ready(undefined);
    try {
      const plan = await wish("/print/plan", {
        view: { unit, printer },
        units: by("press").querySelector('[name="which"]:checked').value,
        copies: Math.trunc(Number(by("press-copies").value)) || 0,
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
    by("press-plan").replaceChildren(...[trouble.message, trouble.hint].filter(Boolean).map((words, index) => this.#note(words, index === 0 ? "warned" : "note")));
    this.#ready(undefined);
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
    if (news.state === "running") {
      const { done, of, unit, state, note } = news.step;
      [bar.max, bar.value] = [Math.max(1, of), done];
      words.textContent = [`${done} of ${of}.`, unit && `${unit}: ${state}.`, note].filter(Boolean).join(" ");
    } else if (news.state === "done") {
      words.textContent = news.words;
    } else if (news.state === "failed") {
      words.textContent = [news.trouble.message, news.trouble.hint].filter(Boolean).join(" ");
    }
  }
}
