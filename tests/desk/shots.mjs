// Pictures of the page, to be looked at. Usage: node shots.mjs URL FOLDER OUT

import fs from "node:fs";
import path from "node:path";
import { given, launch, open, says } from "./browser.mjs";

const { url, manual } = given();
const out = process.argv[4] ?? ".";
fs.mkdirSync(out, { recursive: true });
const browser = await launch();
const phone = { viewport: { width: 360, height: 740 }, deviceScaleFactor: 2 };

async function shot(name, options, prepare) {
  const page = await open(browser, url, options);
  await prepare?.(page);
  await page.waitForTimeout(500);
  await page.screenshot({ path: path.join(out, `${name}.png`) });
  await page.context().close();
}

const choose = async (page, words) => {
  const box = page.locator(`#boxes button[aria-label^="${words}"]`).first();
  await box.evaluate((one) => one.scrollIntoView({ block: "center" }));
  await box.evaluate((one) => one.click());
};
const breakIt = async (page) => {
  manual.write(manual.with("{{ unit.plug }}", "{{ unit.plug"));
  await page.waitForSelector("#trouble:not([hidden])");
};

await shot("wide", {}, (page) => choose(page, "This guide"));
await shot("dots", {}, async (page) => {
  await page.uncheck("#as-paper");
  await page.check('#loupe [value="2"]');
});
await shot("life-size", {}, (page) => page.check('#loupe [value="true"]'));
const large = async (page, words) => {
  await choose(page, words);
  await page.click("#slip-large");
  await page.waitForSelector('#table:not([data-kind=""])');
};
await shot("table", {}, (page) => large(page, "Heron from the side"));
await shot("table-dark", { colorScheme: "dark" }, (page) => large(page, "Heron from the side"));
await shot("table-phone", phone, (page) => large(page, "Heron from the side"));
await shot("dark", { colorScheme: "dark" }, (page) => page.locator("#marks .go").first().click());
await shot("phone", phone, (page) => choose(page, "This guide"));
await shot("phone-docket", { ...phone, colorScheme: "dark" }, (page) => page.click("#unfold"));
await shot("error", {}, breakIt);
manual.restore();
await shot("phone-error", phone, breakIt);
manual.restore();
await shot("print", {}, async (page) => {
  await page.click("#print");
  await page.evaluate(() => document.querySelector('#press [value="all"]').click());
});
await shot("flash", {}, async (page) => {
  manual.write(manual.with("2 descaling sachets", "3 descaling sachets"));
  await says(page, "3 descaling");
  await page.evaluate(() => { document.getElementById("bench").scrollTop = 800; });
  manual.restore();
  await page.waitForSelector(".flash", { state: "attached" });
});
await browser.close();
