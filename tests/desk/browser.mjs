// What the scripts share: a browser, a manual that can be edited, waiting with an end.

import { execFileSync } from "node:child_process";
import fs from "node:fs";
import { createRequire } from "node:module";
import path from "node:path";
import { chromium } from "playwright-core";

const FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync", "--force-color-profile=srgb", "--hide-scrollbars"];

const axe = fs.readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

export const PHONE = { viewport: { width: 360, height: 740 }, deviceScaleFactor: 2, hasTouch: true };

function browserPath() {
  for (const name of ["chromium", "chromium-browser", "google-chrome"]) {
    try {
      return execFileSync("which", [name], { encoding: "utf8" }).trim();
    } catch {
      continue;
    }
  }
  throw new Error("no chromium: apt-get install chromium");
}

export const launch = () => chromium.launch({ executablePath: browserPath(), args: FLAGS });

/** The address as the desk told it lets one browser in; what it got there. */
let address;
let cookies;

/** The address of the desk and the folder of its manual, from the command line. */
export function given() {
  const folder = process.argv[3];
  address = process.argv[2];
  const url = address && new URL("/", address).href;
  if (!url || !folder) {
    console.error("usage: node SCRIPT URL FOLDER     (FOLDER holds heron.md and may be written into)");
    process.exit(2);
  }
  return { url, manual: new Manual(folder) };
}

/** Heron, as it was when the script began. */
export class Manual {
  constructor(folder) {
    this.folder = folder;
    this.path = path.join(folder, "heron.md");
    this.good = fs.readFileSync(this.path, "utf8");
  }

  get text() {
    return fs.readFileSync(this.path, "utf8");
  }

  get changed() {
    return this.text !== this.good;
  }

  write(text) {
    fs.writeFileSync(this.path, text);
  }

  /** As an editor does that never writes into the file itself. */
  rename(text) {
    const beside = path.join(this.folder, ".heron.md.new");
    fs.writeFileSync(beside, text);
    fs.renameSync(beside, this.path);
  }

  /** With one thing replaced that must be there. */
  with(from, to) {
    if (!this.good.includes(from)) throw new Error(`the manual has no ${JSON.stringify(from)}`);
    return this.good.replace(from, to);
  }

  restore() {
    this.write(this.good);
  }
}

export function assert(truth, words) {
  if (!truth) throw new Error(words);
}

export async function until(words, look, most = 20000) {
  const began = Date.now();
  for (;;) {
    const seen = await look();
    if (seen) return seen;
    if (Date.now() - began > most) throw new Error(`waited ${most} ms in vain: ${words}`);
    await new Promise((resolve) => setTimeout(resolve, 20));
  }
}

/** Labels of the boxes, in order. */
export const labels = (page) => page.$$eval("#boxes button", (all) => all.map((one) => one.getAttribute("aria-label")));

export const says = (page, words) => until(`a box with ${JSON.stringify(words)}`, async () => (await labels(page)).some((label) => label.includes(words)));

export const lacks = (page, words) => until(`no box with ${JSON.stringify(words)}`, async () => (await labels(page)).every((label) => !label.includes(words)));

/** A page on which a strip lies. */
export async function open(browser, url, options = {}) {
  const context = await browser.newContext({ viewport: { width: 1440, height: 900 }, ...options });
  const page = await context.newPage();
  page.faults = [];
  page.asked = [];
  page.on("pageerror", (error) => page.faults.push(String(error)));
  page.on("console", (message) => {
    if (message.type() === "error" || message.type() === "warning") page.faults.push(message.text());
  });
  page.on("request", (request) => page.asked.push(request.url()));
  if (cookies) await context.addCookies(cookies);
  await page.goto(cookies ? url : address);
  cookies ??= await context.cookies();
  await page.waitForSelector("#tiles canvas");
  await until("boxes", async () => (await labels(page)).length > 0);
  return page;
}

/** Whether axe finds nothing on the page as it is. */
export async function clean(page, where) {
  // Half faded, colours have other contrasts.
  await page.evaluate(() => Promise.all(document.getAnimations().filter((one) => one instanceof CSSTransition).map((one) => one.finished.catch(() => {}))));
  await page.evaluate(axe);
  const { violations, passes } = await page.evaluate(() => globalThis.axe.run(document, { resultTypes: ["violations"] }));
  assert(passes.length > 10, `axe looked at little: ${where}`);
  const told = violations.map((one) => `${one.id} (${one.nodes.map((node) => node.target).slice(0, 3).join(" | ")}) ${one.help}`);
  assert(told.length === 0, `${where}: ${told.join("; ")}`);
}

/** Checks by name, run one after the other; those whose names the command line has a part of, else all. Ends the process. */
export function suite(browser, manual) {
  const [tests, only] = [[], process.argv.slice(4)];
  const test = (name, check) => tests.push({ name, check });
  const run = async () => {
    const failed = [];
    for (const { name, check } of tests.filter(({ name }) => only.length === 0 || only.some((part) => name.includes(part)))) {
      const began = Date.now();
      try {
        const page = await check();
        assert((page?.faults ?? []).length === 0, `the page complains: ${page?.faults.join("; ")}`);
        console.log(`ok ${name} (${Date.now() - began} ms)`);
      } catch (error) {
        failed.push(`${name}: ${error.message}`);
        console.log(`FAILED ${name}\n   ${error.message}`);
      }
      await Promise.all(browser.contexts().map((context) => context.close()));
      if (manual.changed) manual.restore();
    }
    await browser.close();
    // Once more at the end, where whoever has only the end of a log finds it.
    console.log(failed.length === 0 ? "all checks of the page passed" : `${failed.length} checks failed\n${failed.join("\n")}`);
    process.exit(failed.length === 0 ? 0 : 1);
  };
  return { test, run };
}
