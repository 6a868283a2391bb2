// Balloons of a comic's panel on the light table: each stands on the picture with its words, its tail a small handle at its end.

import { inPercent, movable } from "/handles.js";
import { stand } from "/stage.js";

const by = (id) => document.getElementById(id);
const SVG = "http://www.w3.org/2000/svg";
const KINDS = ["speech", "thought", "shout", "whisper", "sound"];

export class Balloons {
  #changes;
  #stage;
  #say;
  #shut = true;
  /** Those of the panel that is shown, with their places in the whole comic. */
  #list = [];

  constructor(stage, say) {
    [this.#stage, this.#say] = [stage, say];
  }

  show(changes, { balloons }, panel, shut) {
    [this.#changes, this.#shut] = [changes, shut];
    this.#list = (balloons ?? []).map((balloon, index) => ({ ...balloon, index })).filter((balloon) => balloon.panel === panel);
    this.#draw();
  }

  clear() {
    this.#list = [];
    this.#draw();
  }

  #draw() {
    const [list, lines] = [by("balloon-list"), by("stage-lines")];
    const [bodies, tails] = [[...by("stage").querySelectorAll(".balloon")], [...by("stage").querySelectorAll(".tail")]];
    for (const extra of [...bodies.slice(this.#list.length), ...tails.slice(this.#list.length), ...[...lines.children].slice(this.#list.length), ...[...list.children].slice(this.#list.length)]) extra.remove();
    this.#list.forEach((balloon, at) => {
      const tail = tails[at] ?? this.#tail(at);
      const body = bodies[at] ?? this.#body(at);
      if (lines.children[at] === undefined) lines.append(document.createElementNS(SVG, "line"));
      this.#fill(list.children[at] ?? this.#row(at), balloon);
      body.dataset.kind = balloon.kind;
      body.firstElementChild.textContent = balloon.text;
      tail.hidden = !balloon.to;
      for (const handle of [body, tail]) handle.setAttribute("aria-disabled", String(this.#shut));
      if (!body.classList.contains("moving") && !tail.classList.contains("moving")) this.#place(at, balloon.at, balloon.to);
    });
  }

  #place(at, place, to) {
    const [body, tail, line] = [by("stage").querySelectorAll(".balloon")[at], by("stage").querySelectorAll(".tail")[at], by("stage-lines").children[at]];
    const { text } = this.#list[at];
    stand(body, place);
    body.setAttribute("aria-label", `Balloon, ${text}: ${inPercent(place)}`);
    line.classList.toggle("none", !to);
    if (!to) return;
    stand(tail, to);
    tail.setAttribute("aria-label", `Tail of ${text}: ${inPercent(to)}`);
    Object.entries({ x1: place[0], y1: place[1], x2: to[0], y2: to[1] }).forEach(([name, value]) => line.setAttribute(name, `${value}%`));
  }

  #body(at) {
    const body = this.#handle("balloon", at, "at", "balloon-move");
    body.append(document.createElement("span"));
    body.addEventListener("click", ({ detail }) => {
      if (detail === 0) by("balloon-list").children[at].querySelector("textarea").focus();
      else body.focus();
    });
    return body;
  }

  #tail(at) {
    return this.#handle("tail", at, "to", "balloon-tail");
  }

  #handle(name, at, key, what) {
    const handle = document.createElement("button");
    handle.type = "button";
    handle.className = name;
    handle.setAttribute("aria-describedby", "balloon-help");
    const balloon = () => this.#list[at];
    const there = (place) => this.#place(at, key === "at" ? place : balloon().at, key === "to" ? place : balloon().to);
    const change = (place) => ({ what, index: balloon().index, [key]: place });
    movable(handle, {
      percent: this.#stage.percent,
      at: () => balloon()[key],
      show: (place) => {
        there(place);
        this.#changes.try(change(place));
      },
      done: (place) => {
        balloon()[key] = place;
        there(place);
        this.#say(inPercent(place));
        this.#changes.write(change(place));
      },
      off: () => {
        there(balloon()[key]);
        this.#changes.untry();
      },
    });
    by("stage").append(handle);
    return handle;
  }

  #row(at) {
    const [row, field, label, kind] = ["li", "textarea", "label", "select"].map((tag) => document.createElement(tag));
    field.rows = 2;
    label.append("kind ", kind);
    kind.append(...KINDS.map((name) => new Option(name, name)));
    const balloon = () => this.#list[at];
    field.addEventListener("keydown", (event) => {
      if (event.key === "Enter" && !event.shiftKey) {
        event.preventDefault();
        by("stage").querySelectorAll(".balloon")[at].focus();
      }
      if (event.key === "Escape") {
        event.preventDefault();
        event.stopPropagation();
        field.value = balloon().text;
        field.blur();
      }
    });
    field.addEventListener("blur", () => {
      const text = field.value.trim();
      if (balloon() === undefined || text === balloon().text) return;
      if (!text) return void (field.value = balloon().text);
      balloon().text = text;
      this.#changes.write({ what: "balloon-text", index: balloon().index, text });
    });
    kind.addEventListener("change", () => {
      balloon().kind = kind.value;
      this.#changes.write({ what: "balloon-kind", index: balloon().index, kind: kind.value });
    });
    const light = (on) => by("stage").querySelectorAll(".balloon")[at]?.classList.toggle("here", on);
    row.addEventListener("focusin", () => light(true));
    row.addEventListener("focusout", () => light(false));
    row.append(field, label);
    by("balloon-list").append(row);
    return row;
  }

  #fill(row, balloon) {
    const [field, kind] = [row.querySelector("textarea"), row.querySelector("select")];
    if (document.activeElement !== field) field.value = balloon.text;
    field.readOnly = kind.disabled = this.#shut;
    field.setAttribute("aria-label", `Words of balloon ${this.#list.indexOf(balloon) + 1}`);
    if (document.activeElement !== kind) kind.value = balloon.kind;
  }
}
