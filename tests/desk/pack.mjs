// Plays a packing shift in the page: each step types a line as a scanner does, and waits until the page says what it must.
//
// usage: node pack.mjs ADDRESS STEPS.json SHOTS

import fs from "node:fs";
import path from "node:path";
import { assert, launch, until } from "./browser.mjs";

const [address, stepsFile, shots] = process.argv.slice(2);
const steps = JSON.parse(fs.readFileSync(stepsFile, "utf8"));
const browser = await launch();
const page = await (await browser.newContext({ viewport: { width: 1280, height: 800 } })).newPage();
const errors = [];
page.on("pageerror", (error) => errors.push(String(error)));
page.on("console", (message) => message.type() === "error" && errors.push(message.text()));
await page.addInitScript(() => {
  globalThis.voices = 0;
  const start = OscillatorNode.prototype.start;
  OscillatorNode.prototype.start = function (...at) {
    globalThis.voices += 1;
    return start.apply(this, at);
  };
});

await page.goto(address);
await page.goto(new URL("/pack", address).href);
const said = () => page.evaluate(() => [document.body.dataset.tone, document.getElementById("headline").textContent, document.getElementById("unit").textContent, document.getElementById("detail").textContent]);
await until("the bench is ready", async () => (await said())[1] === "SCAN A UNIT");

const boxed = async () => (await page.textContent("#count")).split(" ")[0];
const tones = { "IN THE BOX": "good", "ALL DONE": "good", "SCAN STRIP": "plain" };
const account = [];
for (const { line, headline, unit, mistake } of steps) {
  const before = await boxed();
  // A scanner types fast and knows no field: wherever the focus is.
  await page.keyboard.insertText(line.replace(/[\u0002\u0003]/g, ""));
  await page.keyboard.press("Enter");
  if (headline === null) {
    await page.waitForTimeout(60);
  } else {
    await until(`${headline} ${unit} after ${line}, not ${await said()}`, async () => {
      const seen = await said();
      return seen[1] === headline && seen[2] === unit;
    });
    const [tone] = await said();
    assert(tone === (tones[headline] ?? "wrong"), `${headline} is shown as ${tone}`);
    assert((await page.textContent("#word")) === { good: "Good", plain: "Next", wrong: "Stop" }[tone], `${tone} has its word`);
  }
  if (mistake) {
    assert(before === (await boxed()), `${mistake} has marked something`);
    account.push(`${mistake}: ${headline ?? "nothing"}`);
  }
  if (mistake === "the strip of another unit") await page.screenshot({ path: path.join(shots, "wrong.png") });
  if (headline === "SCAN STRIP" && unit.endsWith("24")) await page.screenshot({ path: path.join(shots, "ask.png") });
  if (headline === "IN THE BOX" && unit.endsWith("24")) await page.screenshot({ path: path.join(shots, "good.png") });
}
assert((await boxed()) === "40", "all are boxed");
const stopped = await page.evaluate(() => [...document.querySelectorAll("#printers li")].map((row) => row.textContent).join("; "));
assert(/1 stopped.*roll/.test(stopped), `printer 1 is out of paper: ${stopped}`);
const voices = await page.evaluate(() => globalThis.voices);
assert(voices >= 40 * 2, `${voices} sounds`);
await page.emulateMedia({ colorScheme: "dark" });
await page.screenshot({ path: path.join(shots, "done-dark.png") });
await page.setViewportSize({ width: 390, height: 844 });
await page.screenshot({ path: path.join(shots, "narrow.png") });
const wide = await page.evaluate(() => document.documentElement.scrollWidth);
assert(wide <= 390, `${wide} pixels wide on a telephone`);
assert(errors.length === 0, errors.join("\n"));
console.log(`40 units in the browser, ${account.length} mistakes, ${voices} sounds; ${stopped}\n${account.join("\n")}`);
await browser.close();
