// Lasting copies in a real browser: axe is silent, nothing is asked for, nothing stands out sideways, a legend shows its mark.
// Usage: node copy.mjs FILE...

import fs from "node:fs";
import { createRequire } from "node:module";
import { pathToFileURL } from "node:url";
import { launch, until } from "./browser.mjs";

const axe = fs.readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const LOOKS = {
  phone: { viewport: { width: 360, height: 740 } },
  desktop: { viewport: { width: 1280, height: 900 } },
  dark: { viewport: { width: 800, height: 900 }, colorScheme: "dark" },
};
const browser = await launch();
const wrong = [];
let marks = 0;

for (const file of process.argv.slice(2)) {
  for (const [look, options] of Object.entries(LOOKS)) {
    const say = (what) => wrong.push(`${file}, ${look}: ${what}`);
    // Bypassed for axe alone, which is a script: what the page itself does is judged under its own policy first.
    const strict = await browser.newContext(options);
    const page = await strict.newPage();
    page.on("console", (message) => say(message.text()));
    page.on("request", (request) => request.url().startsWith("data:") || request.isNavigationRequest() || say(`asks for ${request.url()}`));
    await page.goto(pathToFileURL(file).href);
    const [wide, room] = await page.evaluate(() => [document.documentElement.scrollWidth, innerWidth]);
    if (wide > room) say(`${wide} pixels wide where there are ${room}`);
    const colour = (mark) => mark.evaluate((ball) => getComputedStyle(ball).fill);
    const legend = page.locator(".legend a").first();
    if (await legend.count()) {
      const ball = page.locator(".marks .ball circle").first();
      const before = await colour(ball);
      await legend.hover();
      await until("the mark is shown", async () => (await colour(ball)) !== before).catch(() => say("pointing at a legend shows no mark"));
      marks += 1;
    }
    await strict.close();
    const open = await browser.newContext({ ...options, bypassCSP: true });
    const looked = await open.newPage();
    await looked.goto(pathToFileURL(file).href);
    await looked.evaluate(axe);
    const { violations, passes } = await looked.evaluate(() => globalThis.axe.run(document, { resultTypes: ["violations"] }));
    if (passes.length < 10) say("axe looked at little");
    for (const { id, nodes } of violations) say(`axe: ${id}: ${nodes.map((node) => node.target.join(" ")).slice(0, 3).join("; ")}`);
    await open.close();
  }
}
await browser.close();
if (marks === 0) wrong.push("no copy with a legend was looked at");
wrong.forEach((line) => console.error(line));
process.exit(wrong.length ? 1 : 0);
