// The page: takes what the stream brings to those whose business it is.

import { Boxes } from "/boxes.js";
import { Docket } from "/docket.js";
import { Drop } from "/drop.js";
import { Gather } from "/gather.js";
import { keys } from "/keys.js";
import { Live, inWords, wish } from "/live.js";
import { Marks } from "/marks.js";
import { Mend } from "/mend.js";
import { copy } from "/paste.js";
import { Press } from "/press.js";
import { prepareSheets } from "/sheet.js";
import { Strip } from "/strip.js";

const by = (id) => document.getElementById(id);
/** Between two things said of changes, so that nobody is talked over while typing. */
const BREATH_MS = 1500;

function remembered(name) {
  try {
    return localStorage.getItem(`desk ${name}`);
  } catch {
    return null;
  }
}

function remember(name, value) {
  try {
    localStorage.setItem(`desk ${name}`, value);
  } catch {
    // Not kept, then: it is only a convenience.
  }
}

/** Says something to who listens; `seen` shows it too. */
let unsay;
function say(words, seen = false) {
  by("news").textContent = words;
  if (!seen) return;
  by("away").textContent = words;
  by("away").hidden = false;
  clearTimeout(unsay);
  unsay = setTimeout(() => { by("away").hidden = away === false; if (away) by("away").textContent = AWAY; }, 5000);
}

const AWAY = "The desk does not answer. Trying again…";
let away = false;

const strip = new Strip();
const boxes = new Boxes(strip, say);
const view = { unit: undefined, printer: undefined };
boxes.view = view;
const mend = new Mend(() => view);
const marks = new Marks(strip, boxes, mend, say);
const drop = new Drop(strip, boxes, mend, say);
/** The next strip is of another choice: nobody edited it. */
let chosenAnew = false;
function choose(chosen) {
  chosenAnew = true;
  Object.assign(view, chosen);
  const query = new URLSearchParams(Object.entries(view).filter(([, value]) => value));
  history.replaceState(null, "", `?${query}`);
  strip.rows.forget();
  live.look(view);
}
const docket = new Docket(strip, choose);
const press = new Press(docket, say);
const gather = new Gather(docket, say);
prepareSheets(strip, docket);

let trouble = null;
let spoke = 0;
let later;

function sayChange(change) {
  clearTimeout(later);
  later = setTimeout(() => {
    spoke = performance.now();
    const at = change.spans[0];
    const where = at ? ` Changed at ${Math.round(at.top / strip.perMm)} millimetres.` : "";
    say(`The strip is set anew.${where}`);
  }, Math.max(200, BREATH_MS - (performance.now() - spoke)));
}

/** What changed out of view: the way there, or the going. */
let gone;
/** Follows the scrolling: which way it is, and whether it is in view by now. */
let pointing = () => {};
addEventListener("strip-scrolled", () => by("elsewhere").hidden || pointing());
function whereTo(change) {
  const at = change.spans[0];
  if (chosenAnew) {
    chosenAnew = false;
    return void (by("elsewhere").hidden = true);
  }
  if (at === undefined || change.before.dots === 0) return;
  const end = at.top + at.rows;
  const [first, last] = strip.view();
  if (end >= first && at.top <= last) return void (by("elsewhere").hidden = true);
  if (by("follow").checked) return strip.show(at.top);
  const button = by("elsewhere");
  const point = () => {
    const [top, bottom] = strip.view();
    if (end >= top && at.top <= bottom) button.hidden = true;
    button.textContent = `${at.top < top ? "▴" : "▾"} changed at ${Math.round(at.top / strip.perMm)} mm`;
  };
  button.hidden = false;
  point();
  pointing = point;
  button.onclick = () => { strip.show(at.top); button.hidden = true; };
  clearTimeout(gone);
  gone = setTimeout(() => { button.hidden = true; }, 8000);
}

/** A button that begins with a manual. */
function beginning({ what, title }) {
  const button = document.createElement("button");
  [button.type, button.textContent] = ["button", title];
  button.addEventListener("click", () => wish("/begin", { what }).catch((refused) => say(inWords(refused), true)));
  return button;
}

function showTrouble(told) {
  trouble = told;
  document.body.classList.toggle("troubled", told !== null);
  const begins = (told?.begin ?? []).length > 0;
  document.body.classList.toggle("begins", begins);
  by("stale").hidden = told === null || strip.empty;
  by("print").disabled = told !== null;
  by("trouble").hidden = told === null;
  if (told === null) return;
  by("trouble").querySelector(".trouble-head").textContent = begins ? "Begin" : strip.empty ? "Not set." : "Not set: the strip below is the last that could be.";
  if (strip.empty) {
    by("takes").textContent = begins ? "Nothing lies on it yet." : "Nothing could be set yet.";
    if (told.file) by("title").textContent = told.file;
  }
  by("trouble-first").hidden = !(strip.empty && (view.unit || view.printer));
  by("trouble-message").textContent = told.message;
  by("trouble-hint").textContent = told.hint ?? "";
  by("trouble-hint").hidden = !told.hint;
  const caret = told.excerpt && told.column ? `\n${told.excerpt.slice(0, told.column - 1).replace(/[^\t]/g, " ")}^` : "";
  by("trouble-excerpt").textContent = `${told.excerpt ?? ""}${caret}`;
  by("trouble-excerpt").hidden = !told.excerpt;
  by("trouble-place").textContent = [told.file, told.line, told.column].filter(Boolean).join(":");
  by("trouble-begin").replaceChildren(...(told.begin ?? []).map(beginning));
  by("trouble-open").hidden = !(told.file && boxes.editor);
  by("trouble-copy").hidden = !told.file;
}
by("trouble-copy").addEventListener("click", () => {
  const place = by("trouble-place").textContent;
  copy(place, say, `${place} is copied.`, `The place is ${place}.`);
});
by("trouble-fold").addEventListener("click", () => {
  const folded = by("trouble").classList.toggle("folded");
  by("trouble-fold").setAttribute("aria-expanded", String(!folded));
  by("trouble-fold").textContent = folded ? "Unfold" : "Fold away";
});
by("trouble-first").addEventListener("click", () => choose({ unit: undefined, printer: undefined }));
by("trouble-open").addEventListener("click", () => boxes.open({ file: trouble.file, line: trouble.line ?? 1 }));

/** The strip that is shown has frames for pictures: the whole one that follows changes nothing that the writer did. */
let unfinished = false;

/** The place survives a reload: the row at the upper edge, for this tab. */
const PLACE = "desk place";
let placed = false;
addEventListener("pagehide", () => {
  if (!placed) return;
  try {
    sessionStorage.setItem(PLACE, JSON.stringify(strip.topRow()));
  } catch {
    // Not kept, then.
  }
});
function backToPlace() {
  if (placed || unfinished) return;
  placed = true;
  try {
    const { row, offset } = JSON.parse(sessionStorage.getItem(PLACE) ?? "{}");
    if (row > 0 && row < strip.rows.height) strip.bring(row, offset);
  } catch {
    // Nowhere, then.
  }
}

addEventListener("strip-drawn", ({ detail }) => {
  if (unfinished) return;
  if (detail.before.dots !== 0) sayChange(detail);
  whereTo(detail);
});

const live = new Live({
  connected(here) {
    away = !here;
    by("away").textContent = AWAY;
    by("away").hidden = here;
    if (here) strip.rows.forget();
  },
  hello(hello) {
    boxes.editor = hello.editor;
    gather.writes = drop.writes = hello.writes;
    by("slip-put").hidden = !hello.writes;
  },
  strip: (parcel) => strip.take(parcel),
  facts: (facts) => {
    docket.put(facts);
    unfinished = facts.unfinished;
    backToPlace();
    by("coming").hidden = !unfinished;
    press.refresh();
  },
  findings: (findings) => {
    marks.put(findings);
    gather.put(findings);
  },
  boxes: (list) => boxes.put(list),
  trouble: showTrouble,
  press: (news) => press.put(news),
});

// --- what can be chosen ------------------------------------------------------------------------------------------------

function note() {
  const { ratio } = strip;
  const words = ratio < 1 ? "Several dots share a screen pixel; none is cut."
    : ratio === 1 ? "One dot is one screen pixel."
      : Number.isInteger(ratio) ? `One dot is ${ratio} × ${ratio} screen pixels.` : "A dot is one or two screen pixels, never a part.";
  by("loupe-note").textContent = strip.empty ? "" : words;
}
addEventListener("strip-measured", note);

function loupe(choice) {
  const input = by("loupe").querySelector(`[value="${choice}"]`);
  if (input === null) return;
  input.checked = true;
  remember("loupe", choice);
  strip.magnify(choice);
}

function paper(on) {
  by("as-paper").checked = on;
  strip.look(on);
  remember("look", on ? "paper" : "dots");
}

by("loupe").addEventListener("change", (event) => loupe(event.target.value));
by("as-paper").addEventListener("change", () => paper(by("as-paper").checked));
by("follow").addEventListener("change", () => remember("follow", by("follow").checked ? "yes" : "no"));

keys({
  loupe,
  paper: () => paper(!by("as-paper").checked),
  follow: () => { by("follow").click(); say(by("follow").checked ? "Goes where you edit." : "Stays where it is.", true); },
  panel: (by_) => docket.stepPanel(by_),
  mark: (by_) => marks.step(by_),
  unit: (by_) => docket.step(by_),
  open: () => (by("slip").hidden ? say("No line is chosen.", true) : by("slip-open").click()),
  print: () => press.open(),
  remember,
  remembered,
});

by("follow").checked = remembered("follow") === "yes";
paper(remembered("look") !== "dots");
loupe(remembered("loupe") ?? "fit");
for (const [name, value] of new URLSearchParams(location.search)) if (name in view) view[name] = value;
live.look(view);
