// The packing page: what is typed goes to the bench, what the bench says is shown large and sounded.

const by = (id) => document.getElementById(id);
const key = document.querySelector('meta[name="desk-key"]').content;

const WORDS = { good: "Good", plain: "Next", ask: "Look", wrong: "Stop" };
/** One shape each, so that no colour has to be told: a tick, an arrow, a question mark, a cross. */
const SHAPES = {
  good: "M4 13l5 6L20 5",
  plain: "M4 12h15M13 5l7 7-7 7",
  ask: "M8 8a4 4 0 1 1 6 4c-1.6 1-2 2-2 3.5M12 20v.1",
  wrong: "M5 5l14 14M19 5L5 19",
};
/** Pitches in Hz, one after another: upwards is good, low and thrice is stop. */
const SOUNDS = { good: [660, 990], plain: [], ask: [520, 520], wrong: [180, 180, 180] };

let audio;
let said;

function sound(tone) {
  if (audio?.state !== "running") return;
  let at = audio.currentTime;
  for (const pitch of SOUNDS[tone]) {
    const voice = new OscillatorNode(audio, { frequency: pitch, type: tone === "wrong" ? "square" : "sine" });
    const loud = new GainNode(audio, { gain: 0.25 });
    voice.connect(loud).connect(audio.destination);
    voice.start(at);
    voice.stop(at + 0.12);
    at += 0.18;
  }
}

/** Browsers sound only after something was pressed on the page: a key of the scanner is enough. */
async function wake() {
  if (audio === undefined) audio = new AudioContext();
  if (audio.state !== "running") await audio.resume();
  hearing();
}

function hearing() {
  const on = audio?.state === "running";
  by("sound").setAttribute("aria-pressed", String(on));
  by("sound").textContent = on ? "Sound is on" : "Sound is off";
}

function show(tone, headline, unit, detail) {
  document.body.dataset.tone = tone;
  by("word").textContent = WORDS[tone];
  by("shape").setAttribute("d", SHAPES[tone]);
  by("headline").textContent = headline;
  by("unit").textContent = unit;
  by("detail").textContent = detail;
}

const item = (name, ...parts) => {
  const element = document.createElement(name);
  element.append(...parts);
  return element;
};

const named = (className, text) => {
  const element = item("span", text);
  element.className = className;
  return element;
};

const time = (minutes) => (minutes < 90 ? `${minutes} min` : `${Math.floor(minutes / 60)} h ${minutes % 60} min`);

function screen(seen) {
  if (seen === null) return;
  by("title").textContent = seen.title || "Packing";
  by("bench").textContent = seen.bench;
  by("count").textContent = `${seen.counts.boxed} of ${seen.counts.all} in their boxes`;
  by("printers").replaceChildren(
    ...seen.printers.map((printer, index) => {
      const row = item("li", named("state", `${index + 1} ${printer.state}`), printer.words ? `: ${printer.words} ` : " ", named("name", printer.name));
      row.dataset.state = printer.state;
      return row;
    }),
  );
  const units = [
    ["In hand", seen.in_hand ?? "none"],
    ["Next", seen.next ?? "none"],
    ["Waiting", seen.waiting.join(", ")],
    ["Open", seen.open.join(", ")],
    ["Look at", seen.look.join(", ")],
  ].filter(([, words]) => words);
  by("units").replaceChildren(...units.flatMap(([what, words]) => [item("dt", what), item("dd", words)]));
  const pace = [
    seen.per_hour && `${seen.per_hour} an hour`,
    seen.minutes_left && `done in ${time(seen.minutes_left)}`,
    seen.rolls_left && `${(seen.rolls_left / 10).toFixed(1)} rolls to go`,
    seen.benches > 1 && `${seen.benches} benches`,
    seen.ledger && `ledger: ${seen.ledger}`,
    seen.ended && "this shift has ended: reload the page to begin another",
  ].filter(Boolean);
  by("pace").replaceChildren(...pace.map((words) => item("li", words)));
  if (seen.said === said) return;
  said = seen.said;
  const tone = seen.say.tone;
  show(tone, seen.say.headline, seen.say.unit, seen.say.detail);
  sound(tone);
}

async function wish(path, body) {
  const headers = { "content-type": "application/json", "x-desk-key": key };
  let answer;
  try {
    answer = await fetch(path, { method: "POST", headers, body: JSON.stringify(body) });
  } catch {
    throw { message: "The desk does not answer. Is it still running in its terminal? Nothing was marked." };
  }
  const text = await answer.text();
  const told = answer.ok ? JSON.parse(text) : { refused: { message: text.trim() } };
  if (told.refused) throw told.refused;
}

function refused({ message, hint }) {
  said = undefined;
  show("wrong", "NO BENCH", "", [message, hint].filter(Boolean).join(" "));
  sound("wrong");
}

// Lines go one after another, however fast they are typed.
let last = Promise.resolve();
by("scanner").addEventListener("submit", (event) => {
  event.preventDefault();
  const line = by("line").value;
  by("line").value = "";
  last = last.then(() => wish("/pack/scan", { line })).catch(refused);
});

// Whatever was clicked, the scanner types into the field.
document.addEventListener("keydown", (event) => {
  wake();
  if (event.ctrlKey || event.metaKey || event.altKey || event.key === "Tab") return;
  if (document.activeElement === by("sound") && [" ", "Enter"].includes(event.key)) return;
  by("line").focus();
});
by("sound").addEventListener("click", async () => {
  if (audio?.state === "running") {
    await audio.suspend();
    hearing();
  } else {
    await wake();
    sound("good");
  }
  by("line").focus();
});

show("plain", "ONE MOMENT", "", "the strips are being looked at");
wish("/pack/begin", {}).then(() => {
  const source = new EventSource("/pack/live");
  source.addEventListener("screen", (event) => screen(JSON.parse(event.data)));
  source.addEventListener("open", () => delete document.body.dataset.away);
  source.addEventListener("error", () => {
    document.body.dataset.away = "yes";
    refused({ message: "The desk does not answer. Is it still running in its terminal? Nothing is marked until it does." });
  });
}, refused);
