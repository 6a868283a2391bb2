// From the save of the manual to changed pixels on the page. Usage: node latency.mjs URL FOLDER [SAVES]
//
// The clock starts before the file is written and stops in the frame after the new dots are on their canvases.

import { assert, given, launch, open } from "./browser.mjs";

const { url, manual } = given();
const saves = Number(process.argv[4] ?? 100);
const browser = await launch();
const page = await open(browser, url);
const now = () => performance.timeOrigin + performance.now();

await page.evaluate(() => {
  document.getElementById("bench").scrollTop = 600;
  const pixels = () => {
    let sum = 0;
    for (const canvas of document.querySelectorAll("#tiles canvas")) {
      const { data } = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
      for (let at = 3; at < data.length; at += 4) sum = (sum * 31 + data[at]) % 4294967291;
    }
    return sum;
  };
  globalThis.seen = pixels();
  addEventListener("strip-drawn", () => {
    const drawn = performance.timeOrigin + performance.now();
    requestAnimationFrame(() => {
      const framed = performance.timeOrigin + performance.now();
      const sum = pixels();
      globalThis.drawn = { drawn, framed, changed: sum !== globalThis.seen };
      globalThis.seen = sum;
    });
  });
});

const report = (name, all) => {
  const sorted = [...all].sort((a, b) => a - b);
  const at = (share) => sorted[Math.min(sorted.length - 1, Math.floor(sorted.length * share))].toFixed(1);
  console.log(`${name}: median ${at(0.5)} ms, p95 ${at(0.95)} ms, least ${sorted[0].toFixed(1)} ms, most ${sorted.at(-1).toFixed(1)} ms (${all.length} saves)`);
};

/** A letter of a word in view, and a line more or less in view, which moves all that stands below. */
const edits = {
  "a word changes": (number) => manual.with("2 descaling sachets", `${2 + (number % 7)} descaling sachets`),
  "a line comes or goes": (number) => manual.with("- [ ] This guide", number % 2 === 0 ? "- [ ] This guide" : "- [ ] One thing more\n- [ ] This guide"),
};
for (const [name, edit] of Object.entries(edits)) {
  const [drawn, framed] = [[], []];
  for (let number = 1; number <= saves; number += 1) {
    await page.waitForTimeout(60 + (number % 5) * 11);
    await page.evaluate(() => { globalThis.drawn = undefined; });
    const text = edit(number);
    const began = now();
    manual.write(text);
    const handle = await page.waitForFunction(() => globalThis.drawn, undefined, { polling: 10, timeout: 5000 });
    const told = await handle.jsonValue();
    assert(told.changed, `save ${number}: no pixel changed`);
    drawn.push(told.drawn - began);
    framed.push(told.framed - began);
  }
  report(`${name}, dots on the canvas`, drawn);
  report(`${name}, frame on the screen`, framed);
}
manual.restore();
await browser.close();
