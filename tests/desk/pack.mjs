// Plays a packing shift in the page: each step types a line as a scanner does, and waits until the page says what it must.
//
// usage: node pack.mjs ADDRESS STEPS.json SHOTS

import fs from "node:fs";
import { createRequire } from "node:module";
import path from "node:path";
import { assert, launch, until } from "./browser.mjs";

const [address, stepsFile, shots] = process.argv.slice(2);
const axe = fs.readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
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

/** Light, dark and with forced colours: axe is silent; the shape is seen in them all; capitals are read from two metres, which is 20 minutes of arc or 12 mm,
 * 44 pixels (ISO 9241-303, from memory). */
async function looked(name) {
  await page.evaluate(axe);
  for (const media of [{ colorScheme: "light" }, { colorScheme: "dark" }, { colorScheme: "dark", forcedColors: "active" }]) {
    await page.emulateMedia({ forcedColors: "none", ...media });
    const how = media.forcedColors ? "forced" : media.colorScheme;
    // Forced colours are the person's own, and axe sees the page's.
    const asked = { resultTypes: ["violations"], rules: { "color-contrast": { enabled: how !== "forced" } } };
    const { violations } = await page.evaluate((asked) => globalThis.axe.run(document, asked), asked);
    assert(violations.length === 0, violations.map(({ id, nodes }) => `${name}, ${how}: ${id}: ${nodes[0].html} ${nodes[0].failureSummary}`).join("; "));
    const high = await page.evaluate(() => ["headline", "unit"].map((id) => parseFloat(getComputedStyle(document.getElementById(id)).fontSize) * 0.7));
    assert(high.every((pixels) => pixels >= 44), `capitals are ${high} pixels high`);
    const mark = await page.locator("#mark").boundingBox();
    assert(mark.width >= 100 && mark.x + mark.width <= 1280, `the shape is ${JSON.stringify(mark)}`);
    await page.screenshot({ path: path.join(shots, `${name}-${how}.png`) });
  }
  await page.emulateMedia({ colorScheme: "light", forcedColors: "none" });
}

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
  if (mistake === "the strip of another unit") await looked("wrong");
  if (headline === "SCAN STRIP" && unit.endsWith("24")) await looked("next");
  if (headline === "IN THE BOX" && unit.endsWith("24")) await looked("good");
}
assert((await boxed()) === "40", "all are boxed");
const stopped = await page.evaluate(() => [...document.querySelectorAll("#printers li")].map((row) => row.textContent).join("; "));
assert(/1 stopped.*roll/.test(stopped), `printer 1 is out of paper: ${stopped}`);
const voices = await page.evaluate(() => globalThis.voices);
assert(voices >= 40 * 2, `${voices} sounds`);
await looked("done");
await page.setViewportSize({ width: 390, height: 844 });
await page.screenshot({ path: path.join(shots, "narrow.png") });
const wide = await page.evaluate(() => document.documentElement.scrollWidth);
assert(wide <= 390, `${wide} pixels wide on a telephone`);
assert(errors.length === 0, errors.join("\n"));
console.log(`40 units in the browser, ${account.length} mistakes, ${voices} sounds; ${stopped}\n${account.join("\n")}`);
await browser.close();
