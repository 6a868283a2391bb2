// The page of the desk in a real browser. Usage: node page.mjs URL FOLDER [NAME…]
//
// DESK_OPENED: the file in which the desk's editor command leaves FILE:LINE; without it opening is not tried.
// DESK_PROOF: the proof of the manual as PNG, compared dot for dot; without it the dots are only looked for.
// DESK_PRINTS: the desk may print all units; without it the plan is looked at and left.

import fs from "node:fs";
import path from "node:path";
import { PHONE, assert, clean, given, labels, lacks, launch, open, says, suite, until } from "./browser.mjs";

const { url, manual } = given();
const browser = await launch();
const broken = () => manual.with("{{ unit.plug }}", "{{ unit.plug");
const { test, run } = suite(browser, manual);

const bench = (page, get) => page.$eval("#bench", get);
const scrolled = (page) => bench(page, (one) => one.scrollTop);

/** All rows of the strip as the tiles show them at one pixel a dot: "0" and "1" row by row, read while scrolling through. */
async function dots(page) {
  await page.check('#loupe [value="1"]');
  return page.evaluate(async () => {
    const strip = document.getElementById("strip");
    const style = getComputedStyle(document.getElementById("mat"));
    const [width, height] = ["--dots", "--rows"].map((name) => Number(style.getPropertyValue(name)));
    const rows = new Map();
    const bench = document.getElementById("bench");
    for (let top = 0; rows.size < height; top += bench.clientHeight / 2) {
      if (top > height + 2000) break;
      bench.scrollTop = top;
      await new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));
      for (const canvas of document.querySelectorAll("#tiles canvas")) {
        const first = Math.round(parseFloat(canvas.style.top) * devicePixelRatio);
        if (rows.has(first)) continue;
        const { data } = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
        for (let y = 0; y < canvas.height; y += 1) {
          const row = new Uint8Array(width);
          for (let x = 0; x < width; x += 1) row[x] = data[(y * canvas.width + x) * 4 + 3] > 127 ? 49 : 48;
          rows.set(first + y, new TextDecoder().decode(row));
        }
      }
    }
    bench.scrollTop = 0;
    return { width, height, rows: [...rows].sort((a, b) => a[0] - b[0]).map(([, row]) => row), wide: strip.clientWidth };
  });
}

/** Watches for the first flash that comes once this has resolved, which may be gone before it could be looked for; what it gives tells its animation. */
const flashed = async (page) => {
  await page.evaluate(() => {
    window.flashSeen = new Promise((done) => {
      new MutationObserver((_, watcher) => {
        const flash = document.querySelector(".flash");
        if (!flash) return;
        watcher.disconnect();
        done(getComputedStyle(flash).animationName);
      }).observe(document.getElementById("flashes"), { childList: true });
      setTimeout(() => done(""), 40000);
    });
  });
  return () => page.evaluate(() => window.flashSeen);
};

/** Until what was scrolled to or enlarged is drawn: two frames, as one may have begun before. */
const drawn = (page) => page.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => done()))));

test("loads, and shows the proof dot for dot", async () => {
  const page = await open(browser, url);
  assert((await page.textContent("h1")).includes("Heron"), "the docket is not headed with the product");
  const shown = await dots(page);
  assert(shown.rows.length === shown.height, `${shown.rows.length} of ${shown.height} rows are shown`);
  assert(shown.rows.some((row) => row.includes("1")), "no dot is black");
  if (process.env.DESK_PROOF) {
    const proof = await page.evaluate(async (text) => {
      const picture = await createImageBitmap(new Blob([Uint8Array.from(atob(text), (one) => one.charCodeAt(0))]));
      const canvas = new OffscreenCanvas(picture.width, picture.height).getContext("2d");
      canvas.drawImage(picture, 0, 0);
      const { data } = canvas.getImageData(0, 0, picture.width, picture.height);
      return Array.from({ length: picture.height }, (_, y) => Array.from({ length: picture.width }, (_, x) => (data[(y * picture.width + x) * 4] < 128 ? "1" : "0")).join(""));
    }, fs.readFileSync(process.env.DESK_PROOF).toString("base64"));
    assert(proof.length === shown.height && proof[0].length === shown.width, `the proof is ${proof[0].length} x ${proof.length}`);
    const wrong = proof.findIndex((row, y) => row !== shown.rows[y]);
    assert(wrong < 0, `row ${wrong} differs from the proof`);
  }
  return page;
});

test("asks nobody but the desk", async () => {
  const page = await open(browser, url);
  await page.click("#keys");
  await page.click("#keys-close");
  const foreign = page.asked.filter((asked) => !asked.startsWith(url));
  assert(foreign.length === 0, `asked ${foreign.join(", ")}`);
  return page;
});

test("an edit changes the strip in place, keeps the place and flashes what changed", async () => {
  const page = await open(browser, url);
  await bench(page, (one) => { one.scrollTop = 1500; });
  await drawn(page);
  // What stands at the upper edge before must stand there after, though a paragraph above has grown.
  const at = () => page.evaluate(() => {
    const edge = document.getElementById("bench").getBoundingClientRect().top;
    const boxes = [...document.querySelectorAll("#boxes button")].map((one) => ({ name: one.getAttribute("aria-label").replace(/,[^,]*$/, ""), top: one.getBoundingClientRect().top - edge }));
    return boxes.filter((one) => one.top >= 0 && one.top < 700);
  });
  const before = await at();
  const seen = await flashed(page);
  manual.write(manual.with("\n## Know your", "\nA line that was not here.\n\nAnd another.\n\n## Know your"));
  await says(page, "A line that was not here.");
  assert(await seen(), "nothing flashed");
  const after = await at();
  const same = before.filter((one) => after.some((other) => other.name === one.name && Math.abs(other.top - one.top) <= 1));
  assert(same.length > 0 && same.length >= before.length / 2, `of ${before.length} boxes in view ${same.length} kept their place`);
  await until("the flash is gone", async () => (await page.$$(".flash")).length === 0);
  manual.restore();
  await lacks(page, "A line that was not here.");
  return page;
});

test("an editor that renames over the manual is noticed, again and again", async () => {
  const page = await open(browser, url);
  for (const number of [1, 2, 3]) {
    manual.rename(manual.with("# Heron\n", `# Heron\n\nRenamed ${number}.\n`));
    await says(page, `Renamed ${number}.`);
  }
  manual.restore();
  await lacks(page, "Renamed");
  return page;
});

test("a picture that is swapped is seen at once", async () => {
  const page = await open(browser, url);
  const [shown, other] = ["contents.svg", "kettle.svg"].map((name) => path.join(manual.folder, name));
  const good = fs.readFileSync(shown);
  const before = await dots(page);
  const seen = await flashed(page);
  fs.writeFileSync(shown, fs.readFileSync(other));
  assert(await seen(), "nothing flashed");
  await until("other dots", async () => (await dots(page)).rows.join() !== before.rows.join());
  fs.writeFileSync(shown, good);
  await until("the old dots", async () => (await dots(page)).rows.join() === before.rows.join());
  return page;
});

test("a broken manual keeps the last good strip with the error over it", async () => {
  const page = await open(browser, url);
  const before = await labels(page);
  await bench(page, (one) => { one.scrollTop = 700; });
  manual.write(broken());
  await page.waitForSelector("#trouble:not([hidden])");
  const place = await page.textContent("#trouble-place");
  assert(/^heron\.md:\d+/.test(place), `the place is ${place}`);
  assert((await page.textContent("#trouble-message")).length > 10, "no message");
  assert((await labels(page)).join() === before.join(), "the last good strip is gone");
  assert((await page.$$("#tiles canvas")).length > 0, "no dots are left");
  assert(Math.abs((await scrolled(page)) - 700) <= 1, "the place was lost");
  manual.restore();
  await page.waitForSelector("#trouble[hidden]", { state: "attached" });
  return page;
});

test("a broken manual makes the docket say so, and nothing can be printed from it", async () => {
  const page = await open(browser, url);
  assert(await page.isHidden("#stale"), "a good strip is called stale");
  manual.write(broken());
  await page.waitForSelector("#trouble:not([hidden])");
  assert(await page.isVisible("#stale"), "the docket speaks as if nothing were wrong");
  assert(await page.isDisabled("#print"), "the old strip can be printed");
  assert(/\n *\^$/.test(await page.textContent("#trouble-excerpt")), "no caret stands under the place");
  await page.click("#trouble-fold");
  assert(await page.isHidden("#trouble-excerpt"), "the card does not fold");
  await page.click("#trouble-fold");
  assert(await page.isVisible("#trouble-copy"), "the place cannot be copied");
  manual.restore();
  await page.waitForSelector("#trouble[hidden]", { state: "attached" });
  assert((await page.isHidden("#stale")) && (await page.isEnabled("#print")), "mended, it is still called broken");
  return page;
});

test("a reload keeps the place", async () => {
  const page = await open(browser, url);
  await bench(page, (one) => { one.scrollTop = 1200; });
  await drawn(page);
  await page.reload();
  await until("the place is found again", async () => Math.abs((await scrolled(page)) - 1200) <= 2);
  return page;
});

test("a unit that is not there is said, and a button leads to one that is", async () => {
  const page = await open(browser, url);
  await page.goto(new URL("/?unit=NONE", url).href);
  await page.click("#trouble-first");
  await says(page, "UK plug");
  return page;
});

test("in forced colours the paper is white, the dots black, buttons have edges", async () => {
  const page = await open(browser, url, { forcedColors: "active", colorScheme: "dark" });
  const seen = await page.evaluate(() => [getComputedStyle(document.getElementById("paper")).backgroundColor, getComputedStyle(document.getElementById("paper")).forcedColorAdjust, getComputedStyle(document.getElementById("keys")).borderTopWidth]);
  assert(seen.join() === "rgb(255, 255, 255),none,1px", `paper and buttons are ${seen}`);
  if (process.env.DESK_SHOTS) await page.screenshot({ path: path.join(process.env.DESK_SHOTS, "forced.png") });
  return page;
});

test("marks stand by gravity, the card of keys does not lie in wait, a choice is no change", async () => {
  const page = await open(browser, url);
  const levels = await page.$$eval("#marks .go b", (all) => all.map((one) => one.className));
  const gravity = ["error", "warning", "advice"];
  assert(levels.length > (process.env.DESK_PROOF ? 1 : 0) && levels.join() === [...levels].sort((a, b) => gravity.indexOf(a) - gravity.indexOf(b)).join(), `marks stand ${levels}`);
  await page.keyboard.press("?");
  await page.keyboard.press("Space");
  assert(await page.isChecked("#keys-on"), "Space turns the keys off");
  assert(await page.isHidden("#keys-card"), "Space does not close the card");
  await page.keyboard.press("m");
  assert(await page.evaluate(() => document.activeElement.closest("#boxes") !== null), "m moves no focus");
  await page.keyboard.press("Enter");
  await page.focus("#slip-copy");
  await page.keyboard.press("Escape");
  assert(await page.evaluate(() => document.activeElement.closest("#boxes") !== null), "Escape drops the focus");
  await bench(page, (one) => { one.scrollTop = one.scrollHeight / 2; });
  await drawn(page);
  await page.keyboard.press("u");
  await says(page, "EU plug");
  assert(await page.isHidden("#elsewhere"), "another unit is called a change");
  assert((await page.$$('#fan button[tabindex="0"]')).length <= 1, "every panel is a stop");
  return page;
});

test("another unit is another strip, and stays chosen over a reload", async () => {
  const page = await open(browser, url);
  await says(page, "UK plug");
  const second = await page.$eval("#unit", (one) => one.options[1].value);
  await page.selectOption("#unit", second);
  await says(page, "EU plug");
  await page.reload();
  await says(page, "EU plug");
  await page.click("#unit-before");
  await says(page, "UK plug");
  return page;
});

test("another printer is another width", async () => {
  const page = await open(browser, url);
  await page.selectOption("#printer", "58mm");
  await until("384 dots", async () => (await page.$eval("#mat", (one) => one.style.getPropertyValue("--dots"))) === "384");
  await page.selectOption("#printer", "80mm");
  await until("576 dots", async () => (await page.$eval("#mat", (one) => one.style.getPropertyValue("--dots"))) === "576");
  return page;
});

test("a click on the strip names file and line, and opens it", async () => {
  const page = await open(browser, url);
  const lines = manual.good.split("\n");
  for (const words of ["In the box", "This guide"]) {
    const target = page.locator("#boxes button").filter({ has: page.locator("xpath=self::*") }).and(page.locator(`[aria-label^="${words}"]`)).first();
    await target.scrollIntoViewIfNeeded();
    const box = await target.boundingBox();
    await page.mouse.click(box.x + box.width / 2, box.y + box.height / 2);
    const place = await page.textContent("#slip-place");
    const [file, line] = place.split(":");
    assert(file === "heron.md" && lines[line - 1].includes(words), `${words} is at ${place}, where stands ${lines[line - 1]}`);
    if (process.env.DESK_OPENED) {
      await page.click("#slip-open");
      const wanted = `${path.join(manual.folder, file)}:${line}`;
      await until(`the editor gets ${wanted}`, () => fs.existsSync(process.env.DESK_OPENED) && fs.readFileSync(process.env.DESK_OPENED, "utf8") === wanted);
    }
  }
  await page.keyboard.press("Escape");
  assert(await page.isHidden("#slip"), "Escape does not put the slip away");
  return page;
});

test("scrolling measures nothing and writes nothing", async () => {
  const page = await open(browser, url);
  await page.evaluate(() => {
    globalThis.counted = 0;
    for (const [owner, name] of [[Element.prototype, "getBoundingClientRect"], [Storage.prototype, "setItem"]]) {
      const own = owner[name];
      owner[name] = function (...all) {
        globalThis.counted += 1;
        return own.apply(this, all);
      };
    }
  });
  for (let step = 1; step <= 20; step += 1) {
    await bench(page, (one) => { one.scrollTop += 300; });
    await drawn(page);
  }
  assert((await scrolled(page)) > 3000, "nothing was scrolled");
  assert((await page.evaluate(() => globalThis.counted)) === 0, `${await page.evaluate(() => globalThis.counted)} measures or writes`);
  return page;
});

test("a slip near the foot opens in view", async () => {
  const page = await open(browser, url);
  for (const at of [12, 20, 31, 44]) {
    const box = page.locator("#boxes button").nth(at);
    // The foot of the box at the foot of the bench.
    await box.evaluate((one) => { document.getElementById("bench").scrollTop += one.getBoundingClientRect().bottom - document.getElementById("bench").getBoundingClientRect().bottom + 4; });
    await drawn(page);
    await box.evaluate((one) => one.click());
    const [slip, room] = await page.evaluate(() => ["slip", "bench"].map((id) => document.getElementById(id).getBoundingClientRect().toJSON()));
    assert(slip.top >= room.top && slip.bottom <= room.bottom + 1, `box ${at}: the slip stands at ${slip.top} to ${slip.bottom} of ${room.top} to ${room.bottom}`);
  }
  return page;
});

test("a manual without a word says what to do", async () => {
  const page = await open(browser, url);
  manual.write("");
  await page.waitForSelector("#nothing:not([hidden])");
  assert((await page.textContent("#nothing")).includes("heron.md"), "it does not say where to write");
  await clean(page, "nothing written");
  manual.restore();
  await page.waitForSelector("#nothing[hidden]", { state: "attached" });
  return page;
});

test("many panels are one slide, and each is reached by keys", async () => {
  const page = await open(browser, url);
  manual.write(`${manual.good}${Array.from({ length: 30 }, (_, number) => `\n\`\`\`fold\n\`\`\`\n\nLeaf ${number}.\n`).join("")}`);
  await page.waitForSelector("#fan-slide:not([hidden])");
  assert(await page.isHidden("#fan"), "the comb is there too");
  await page.focus("#fan-slide");
  const before = await scrolled(page);
  await page.keyboard.press("End");
  await until("the last panel", async () => (await scrolled(page)) > before + 2000);
  await until("it is named", async () => /^Panel (\d+) of \1$/.test(await page.getAttribute("#fan-slide", "aria-valuetext")));
  await clean(page, "many panels");
  manual.restore();
  await page.waitForSelector("#fan-slide[hidden]", { state: "attached" });
  return page;
});

test("a mark leads to its place, its pin to the mark", async () => {
  const page = await open(browser, url);
  const marks = page.locator("#marks .go");
  const count = await marks.count();
  assert(count > 0, "nothing is marked: the test needs a manual with findings");
  await marks.nth(count - 1).click();
  await page.waitForSelector(".here-line");
  // The line goes away after a while: on a slow machine before it was seen in view.
  await until("the place is in view", async () => {
    if ((await page.$(".here-line")) === null) await marks.nth(count - 1).click();
    return page.evaluate(() => {
    const [line, bench] = [document.querySelector(".here-line"), document.getElementById("bench")].map((one) => one?.getBoundingClientRect());
    return line !== undefined && line.top >= bench.top - 1 && line.top < bench.bottom;
  });
  });
  const pin = page.locator("#margin .pin").last();
  const number = await pin.textContent();
  await pin.click();
  const focused = await page.evaluate(() => document.activeElement.closest("li")?.querySelector(".pin")?.textContent);
  assert(focused === number, `pin ${number} leads to mark ${focused}`);
  return page;
});

test("all of it by keyboard", async () => {
  const page = await open(browser, url);
  const active = () => page.evaluate(() => document.activeElement.getAttribute("aria-label") ?? document.activeElement.id);
  await page.keyboard.press("Tab");
  assert((await page.evaluate(() => document.activeElement.className)) === "skip", "the first stop does not lead to the strip");
  await page.keyboard.press("Enter");
  let stops = 0;
  while (!(await page.evaluate(() => document.activeElement.closest("#boxes") !== null))) {
    assert((stops += 1) < 30, "the boxes cannot be reached");
    await page.keyboard.press("Tab");
  }
  const first = await active();
  await page.keyboard.press("ArrowDown");
  assert((await active()) !== first, "the arrow leads nowhere");
  await page.keyboard.press("Enter");
  assert(await page.isVisible("#slip"), "Enter names no place");
  await page.keyboard.press("End");
  const last = await active();
  assert(last === (await labels(page)).at(-1), `End leads to ${last}`);
  await page.keyboard.press("Escape");
  await page.keyboard.press("3");
  assert(await page.isChecked('#loupe [value="3"]'), "3 is not the loupe");
  await page.keyboard.press("w");
  await page.keyboard.press("p");
  assert(!(await page.isChecked("#as-paper")), "p does not show bare dots");
  await page.keyboard.press("p");
  await bench(page, (one) => { one.scrollTop = 0; });
  await page.keyboard.press("]");
  await until("the second panel", async () => (await scrolled(page)) > 300);
  await page.keyboard.press("u");
  await says(page, "EU plug");
  await page.keyboard.press("U");
  await says(page, "UK plug");
  await page.keyboard.press("?");
  assert(await page.isVisible("#keys-card"), "? shows no card");
  await page.uncheck("#keys-on");
  await page.keyboard.press("Escape");
  await page.keyboard.press("4");
  assert(!(await page.isChecked('#loupe [value="4"]')), "keys that are switched off work");
  return page;
});

/** What the screen shows of 120 rows of 160 dots around the title: black dots, and pixels that are neither dot nor paper. */
async function pixels(page, loupe) {
  const part = await page.evaluate(() => {
    const [strip, bench] = ["strip", "bench"].map((id) => document.getElementById(id).getBoundingClientRect());
    const pixels = devicePixelRatio;
    const beside = document.getElementById("rule").getBoundingClientRect().right;
    const [left, top] = [Math.round(Math.max(strip.left, bench.left, beside) * pixels), Math.round(Math.max(strip.top, bench.top) * pixels)];
    return { left, top, offset: [Math.round(strip.left * pixels), Math.round(strip.top * pixels)] };
  });
  const picture = (await page.screenshot()).toString("base64");
  return page.evaluate(async ({ picture, part, loupe }) => {
    const bitmap = await createImageBitmap(new Blob([Uint8Array.from(atob(picture), (one) => one.charCodeAt(0))]));
    const canvas = new OffscreenCanvas(bitmap.width, bitmap.height).getContext("2d");
    canvas.drawImage(bitmap, 0, 0);
    const { data, width } = canvas.getImageData(0, 0, bitmap.width, bitmap.height);
    const value = (x, y) => data[(y * width + x) * 4];
    // From the first whole dot in view, 120 rows of 160 dots around the title.
    const align = (edge, offset) => offset + Math.ceil((edge - offset) / loupe) * loupe;
    const count = (left, top) => {
      let [wrong, black] = [0, 0];
      for (let row = 0; row < 120; row += 1) {
        for (let dot = 0; dot < 160; dot += 1) {
          const first = value(left + dot * loupe, top + row * loupe);
          if (first === 0) black += 1;
          if (first !== 0 && first !== 255) wrong += 1;
          for (let y = 0; y < loupe; y += 1) for (let x = 0; x < loupe; x += 1) if (value(left + dot * loupe + x, top + row * loupe + y) !== first) wrong += 1;
        }
      }
      return { wrong, black };
    };
    // The browser may round the strip's own place a pixel further; the dots have to be whole all the same.
    const [left, top] = [align(part.left, part.offset[0]) + 2 * loupe, align(part.top, part.offset[1]) + 2 * loupe];
    const steps = [-1, 0, 1].flatMap((x) => [-1, 0, 1].map((y) => count(left + x, top + y)));
    const { wrong, black } = steps.sort((one, other) => one.wrong - other.wrong)[0];
    return { wrong, black };
  }, { picture, part, loupe });
}

test("no dot is blurred at any loupe, and life size is life size", async () => {
  for (const deviceScaleFactor of [1, 1.5, 2]) {
    const page = await open(browser, url, { deviceScaleFactor });
    await page.uncheck("#as-paper");
    for (const loupe of [1, 2, 3, 4]) {
      await page.check(`#loupe [value="${loupe}"]`);
      await bench(page, (one) => one.scrollTo(0, 0));
      await drawn(page);
      // On a busy machine the tiles may come some frames later.
      let seen;
      await until("whole dots", async () => (seen = await pixels(page, loupe)).black > 20 && seen.wrong === 0).catch((error) => {
        throw new Error(`${error.message}: ${seen.black} black dots, ${seen.wrong} pixels neither dot nor paper, loupe ${loupe}, ${deviceScaleFactor} pixels`);
      });
    }
    await page.check('#loupe [value="true"]');
    const wide = await page.$eval("#strip", (one) => one.getBoundingClientRect().width);
    const wanted = (72 / 25.4) * 96;
    assert(Math.abs(wide - wanted) < 1, `72 mm are ${wide} CSS pixels, not ${wanted}`);
    await page.context().close();
  }
});

test("200 edits in a row leave memory flat", async () => {
  const page = await open(browser, url);
  const session = await page.context().newCDPSession(page);
  await session.send("Performance.enable");
  await bench(page, (one) => { one.scrollTop = 600; });
  const measure = async () => {
    await page.waitForTimeout(1800);
    await session.send("HeapProfiler.collectGarbage");
    const { metrics } = await session.send("Performance.getMetrics");
    const get = (name) => metrics.find((metric) => metric.name === name).value;
    return { heap: get("JSHeapUsedSize"), nodes: get("Nodes"), listeners: get("JSEventListeners") };
  };
  const edit = async (number) => {
    manual.write(manual.with("2 descaling sachets", `2 descaling sachets ${number}${number % 3 === 0 ? "\n- [ ] one thing more" : ""}`));
    await says(page, `sachets ${number}`);
  };
  for (let number = 0; number < 30; number += 1) await edit(number);
  const before = await measure();
  for (let number = 30; number < 230; number += 1) await edit(number);
  // What the collector has not come round to yet is no leak: what counts is where it settles.
  let after;
  const settled = () => after.heap - before.heap < 1_000_000 && after.nodes - before.nodes < 100 && after.listeners - before.listeners < 50;
  await until("memory settles", async () => (after = await measure(), settled())).catch(() => {});
  console.log(`   heap ${(before.heap / 1e6).toFixed(2)} MB, after 200 edits ${(after.heap / 1e6).toFixed(2)} MB; nodes ${before.nodes}, ${after.nodes}; listeners ${before.listeners}, ${after.listeners}`);
  assert(after.heap - before.heap < 1_000_000, "the heap has grown by more than 1 MB");
  assert(after.nodes - before.nodes < 100, "nodes pile up");
  assert(after.listeners - before.listeners < 50, "listeners pile up");
  manual.restore();
  await lacks(page, "sachets 229");
  return page;
});

test("axe finds no violation: light, dark, phone, error, cards", async () => {
  for (const [where, options] of Object.entries({ light: {}, dark: { colorScheme: "dark" }, phone: PHONE, "dark phone": { ...PHONE, colorScheme: "dark" } })) {
    const page = await open(browser, url, options);
    await clean(page, where);
    await page.locator("#boxes button").first().evaluate((one) => one.click());
    await clean(page, `${where}, a line chosen`);
    if (options.viewport) {
      await page.click("#unfold");
      await clean(page, `${where}, docket open`);
    }
    await page.evaluate(() => document.getElementById("print").click());
    await page.waitForSelector("#press-plan .count, #press-plan .warned");
    await clean(page, `${where}, print card`);
    await page.click("#press-no");
    await page.evaluate(() => document.getElementById("keys").click());
    await clean(page, `${where}, keys`);
    await page.click("#keys-close");
    if (options.viewport) await page.click("#unfold");
    manual.write(broken());
    await page.waitForSelector("#trouble:not([hidden])");
    await clean(page, `${where}, error`);
    manual.restore();
    await page.waitForSelector("#trouble[hidden]", { state: "attached" });
    await page.context().close();
  }
});

test("360 pixels are enough", async () => {
  for (const deviceScaleFactor of [1, 2, 3]) {
    const page = await open(browser, url, { ...PHONE, deviceScaleFactor });
    const over = await page.evaluate(() => [document.documentElement, document.getElementById("bench")].map((one) => one.scrollWidth - one.clientWidth));
    assert(over.every((pixels) => pixels <= 0), `${over} pixels stand out at ${deviceScaleFactor} pixels`);
    await page.click("#unfold");
    const tight = await page.$eval("#docket-body", (one) => one.scrollWidth - one.clientWidth);
    assert(tight <= 0, `the docket is ${tight} pixels too wide`);
    await page.context().close();
  }
});

test("whoever wants no motion gets none", async () => {
  const page = await open(browser, url, { reducedMotion: "reduce" });
  const seen = await flashed(page);
  manual.write(manual.with("2 descaling sachets", "3 descaling sachets"));
  assert((await seen()) === "none", `the flash is animated: ${await seen()}`);
  manual.restore();
  await says(page, "2 descaling sachets");
  return page;
});

test("what changed out of view is told, and led to", async () => {
  const page = await open(browser, url);
  await bench(page, (one) => { one.scrollTop = one.scrollHeight / 2; });
  const before = await scrolled(page);
  manual.write(manual.with("2 descaling sachets", "4 descaling sachets"));
  await page.waitForSelector("#elsewhere:not([hidden])");
  assert(Math.abs((await scrolled(page)) - before) <= 2, "the place was lost");
  await page.click("#elsewhere");
  await until("it leads there", async () => (await scrolled(page)) < before - 300);
  await page.check("#follow");
  manual.write(manual.with("# Heron\n", "# Heron\n\nHere at the top.\n"));
  await until("it goes where the edit is", async () => (await scrolled(page)) < 400);
  manual.restore();
  await lacks(page, "Here at the top.");
  return page;
});

test("the print card names strips and units before anything is printed", async () => {
  const page = await open(browser, url);
  await page.click("#print");
  await until("a plan", async () => /^Print \d+ strip/.test(await page.textContent("#press-yes")));
  await page.check('#press [value="all"]');
  const units = await page.$eval("#unit", (one) => [...one.options].map((option) => option.value));
  await page.fill("#press-copies", "2");
  await until("a plan for all", async () => (await page.textContent("#press-yes")) === `Print ${2 * units.length} strips`);
  const named = await page.$$eval("#press-plan li", (all) => all.map((one) => one.textContent));
  assert(named.join() === units.join(), `named are ${named}`);
  await page.fill("#press-copies", "0");
  await until("a refusal", async () => (await page.textContent("#press-plan")).includes("from 1 to 999"));
  assert(await page.isDisabled("#press-yes"), "nothing can be said yes to");
  if (process.env.DESK_PRINTS) {
    // So many that it is on for as long as one looks.
    await page.fill("#press-copies", "90");
    await until("a plan", async () => (await page.textContent("#press-yes")) === `Print ${90 * units.length} strips`);
    await page.click("#press-yes");
    await until("the run is on", async () => /^\d+ of \d+/.test(await page.textContent("#run-words")));
    await page.click("#run-stop");
    await until("it stops", async () => (await page.textContent("#run-words")).startsWith("Stopped"));
  } else {
    await page.click("#press-no");
  }
  return page;
});

test("A4 gets the strip in columns", async () => {
  const page = await open(browser, url);
  const pdf = (await page.pdf({ preferCSSPageSize: true })).toString("latin1");
  const pages = pdf.match(/\/Type\s*\/Page[^s]/g).length;
  const rows = Number(await page.$eval("#mat", (one) => one.style.getPropertyValue("--rows")));
  const least = Math.ceil(rows / (256 * 8 * 2));
  assert(pages >= least && pages <= least * 2, `${pages} sheets for ${rows} rows`);
  assert((await page.$$("#sheets section")).length === 0, "the sheets are left lying about");
  return page;
});

test("the lasting copy is saved under the manual's name, in each form that there is", async () => {
  const page = await open(browser, url);
  const links = page.locator('a[download][href^="/copy."]');
  const endings = [];
  for (const link of await links.all()) {
    const [saved] = await Promise.all([page.waitForEvent("download"), link.click()]);
    assert(saved.suggestedFilename().startsWith("hérisson."), `it is saved as ${saved.suggestedFilename()}`);
    assert(fs.statSync(await saved.path()).size > 0, "nothing is saved");
    endings.push(saved.suggestedFilename().split(".").at(-1));
  }
  assert(endings[0] === "html" && endings.length <= 2, `it is offered as ${endings}`);
  return page;
});

await run();
