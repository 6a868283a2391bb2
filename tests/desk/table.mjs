// The light table of the desk in a real browser: what is done there stands in the manual. Usage: node table.mjs URL FOLDER [NAME…]
//
// DESK_READ_ONLY: the desk was opened with --read-only, and that is what is looked at.
// DESK_SHOTS: a folder for pictures of it, to be looked at.

import path from "node:path";
import { PHONE, assert, clean, given, labels, launch, open, says, suite, until } from "./browser.mjs";

const { url, manual } = given();
const browser = await launch();
const { test: add, run } = suite(browser, manual);
const showing = Boolean(process.env.DESK_READ_ONLY);
const test = (name, check) => showing || add(name, check);

const PHOTOGRAPH = "Heron stands on its base";
const DRAWING = "Heron on its base, a cable in a coil";
const PANEL = "Close up: Heron";
const MODEL = "Above the base, pulled apart upwards";

/** Lines that went and lines that came. Holds where a change is one stretch. */
function difference(before, after) {
  const [old, now] = [before.split("\n"), after.split("\n")];
  let head = 0;
  while (head < Math.min(old.length, now.length) && old[head] === now[head]) head += 1;
  let tail = 0;
  while (tail < Math.min(old.length, now.length) - head && old.at(-1 - tail) === now.at(-1 - tail)) tail += 1;
  return { went: old.slice(head, old.length - tail), came: now.slice(head, now.length - tail) };
}

const written = (words, look) => until(words, () => look(difference(manual.good, manual.text)));

/** Lays what a box shows on the light table, as a person does: a click, and another. The smallest box of these words. */
async function large(page, words) {
  await until(`a box with ${words}`, async () => (await labels(page)).some((label) => label.includes(words)));
  const at = await page.$$eval("#boxes button", (all, words) => {
    const fits = all.map((one, index) => ({ index, label: one.getAttribute("aria-label"), size: one.offsetWidth * one.offsetHeight }));
    return fits.filter(({ label }) => label.includes(words)).sort((one, other) => one.size - other.size)[0].index;
  }, words);
  const box = page.locator("#boxes button").nth(at);
  await box.evaluate((one) => one.scrollIntoView({ block: "center" }));
  await box.evaluate((one) => { one.click(); one.click(); });
  await page.waitForSelector('#table[open]:not([data-kind=""])');
  await until("the picture has come", () => page.$eval("#stage-picture", (one) => one.hidden || (one.complete && one.naturalWidth > 0)));
}

/** Where a place of the picture is on the screen. */
async function on(page, [x, y]) {
  const box = await page.locator("#stage").boundingBox();
  return [box.x + (box.width * x) / 100, box.y + (box.height * y) / 100];
}

async function drag(page, from, to) {
  await page.mouse.move(...from);
  await page.mouse.down();
  await page.mouse.move(...to, { steps: 8 });
}

const middle = async (page, selector) => {
  const box = await page.locator(selector).first().boundingBox();
  return [box.x + box.width / 2, box.y + box.height / 2];
};

/** The changes that this page has asked to be written. */
function counted(page) {
  page.changes = [];
  page.on("request", (request) => {
    if (request.url().endsWith("/edit/change")) page.changes.push(JSON.parse(request.postData()).change);
  });
  return page;
}

/** So many were, and no more: the browser may tell of a request after its answer has done its work. */
async function asked(page, count) {
  await until(`${count} changes`, () => page.changes.length >= count);
  assert(page.changes.length === count, `${page.changes.length} changes were written, not ${count}: ${JSON.stringify(page.changes)}`);
}

const shot = async (page, name) => {
  if (process.env.DESK_SHOTS) await page.screenshot({ path: path.join(process.env.DESK_SHOTS, `${name}.png`) });
};

test("ten callouts on a photograph from nothing, and the manual differs in its callouts only", async () => {
  const page = counted(await open(browser, url));
  const began = Date.now();
  await large(page, PHOTOGRAPH);
  const all = [[45, 12], [60, 18], [72, 22], [73, 48], [40, 40], [30, 55], [62, 64], [64, 84], [23, 94], [44, 94]];
  for (const [index, at] of all.entries()) {
    await page.mouse.click(...(await on(page, at)));
    await page.keyboard.type(`Part ${index + 1}`);
    await page.keyboard.press("Enter");
    await until(`callout ${index + 1}`, () => manual.text.includes(`"Part ${index + 1}"`));
  }
  console.log(`   ten callouts in ${((Date.now() - began) / 1000).toFixed(1)} s`);
  const { went, came } = difference(manual.good, manual.text);
  assert(went.length === 0, `lines went: ${went.join("\n")}`);
  const strange = came.filter((line) => !/^(callouts = \[|\s*\{ at = \[[\d., ]+\], label = "Part \d+" \},?|\])$/.test(line));
  assert(strange.length === 0, `lines that are no callouts: ${strange.join("\n")}`);
  const places = [...manual.text.matchAll(/at = \[([\d.]+), ([\d.]+)\], label = "Part/g)].map(([, x, y]) => [Number(x), Number(y)]);
  const off = places.filter(([x, y], index) => Math.abs(x - all[index][0]) > 0.6 || Math.abs(y - all[index][1]) > 0.6);
  assert(places.length === 10 && off.length === 0, `not where they were put: ${JSON.stringify(places)}`);
  await asked(page, 10);
  await until("ten lines", async () => (await page.$$("#callout-list li")).length === 10);
  await shot(page, "ten-callouts");
  return page;
});

test("a Markdown picture that gets a callout becomes a figure in its place", async () => {
  const page = await open(browser, url);
  await large(page, DRAWING);
  await page.mouse.click(...(await on(page, [70, 20])));
  await page.keyboard.type("Charger");
  await page.keyboard.press("Enter");
  const { went, came } = await written("the figure", (change) => change.came.length > 1 && change);
  assert(went.length === 1 && went[0].startsWith("!["), `more went than the picture: ${went.join("\n")}`);
  const text = came.join("\n");
  assert(came[0] === "```figure" && came.at(-1) === "```" && text.includes('picture = "contents.svg"') && text.includes('label = "Charger"'), text);
  return page;
});

test("callouts are dragged, named anew and taken away; what is done is undone and done again", async () => {
  const page = counted(await open(browser, url));
  await large(page, "Heron from the side");
  const was = manual.text;
  const from = await on(page, [37.5, 11]);
  await drag(page, from, [from[0] + 60, from[1] + 30]);
  assert(manual.text === was, "it was written before it was let go");
  await page.mouse.up();
  await until("one change", () => manual.text !== was);
  const moved = difference(was, manual.text);
  assert(moved.went.length === 1 && moved.came.length === 1 && moved.came[0].includes('label = "Eye light"'), JSON.stringify(moved));
  await asked(page, 1);
  const after = manual.text;
  await page.click("#table-undo");
  await until("it is undone", () => manual.text === was);
  await page.click("#table-redo");
  await until("it is done again", () => manual.text === after);
  const field = page.locator('#callout-list input').nth(1);
  await field.fill("Peg, which holds the string");
  await field.press("Enter");
  await until("the new name", () => manual.text.includes('label = "Peg, which holds the string"'));
  await page.locator("#callout-list .drop").nth(3).click();
  await until("one fewer", () => !manual.text.includes('label = "Keys"'));
  await page.keyboard.press("Control+z");
  await until("it is back", () => manual.text.includes('label = "Keys"'));
  return page;
});

test("a balloon is dragged: the strip follows, and the file holds one change", async () => {
  const page = counted(await open(browser, url));
  await large(page, PANEL);
  const was = manual.text;
  const balloon = page.locator('.balloon:has-text("Tea?")');
  const box = await balloon.boundingBox();
  await page.evaluate(() => {
    globalThis.drawn = [];
    addEventListener("pointermove", () => { globalThis.last = performance.now(); }, true);
    addEventListener("strip-drawn", () => globalThis.drawn.push(performance.now()));
  });
  const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
  await drag(page, [x, y], [x - 90, y + 40]);
  // Held still: what lies on the strip is what is under the pointer, and nothing is written.
  await until("the strip follows", () => page.evaluate(() => globalThis.drawn.some((at) => at > globalThis.last)));
  const waited = await page.evaluate(() => globalThis.drawn.find((at) => at > globalThis.last) - globalThis.last);
  console.log(`   the strip followed ${waited.toFixed(0)} ms after the last move`);
  assert(manual.text === was && page.changes.length === 0, "it was written before it was let go");
  await page.mouse.up();
  const { went, came } = await written("the balloon's place", (change) => change.came.length > 0 && change);
  assert(went.length === 1 && came.length === 1 && came[0].startsWith("at   = ["), JSON.stringify({ went, came }));
  await asked(page, 1);
  await page.locator(".tail:visible").first().focus();
  await page.keyboard.press("Shift+ArrowRight");
  await page.keyboard.press("ArrowDown");
  await page.keyboard.press("Tab");
  await until("the tail", () => /tail = \[50(\.0)?, 43(\.0)?\]/.test(manual.text));
  await asked(page, 2);
  return page;
});

test("a balloon says something else, in another way", async () => {
  const page = await open(browser, url);
  await large(page, PANEL);
  const at = await page.$$eval("#balloon-list textarea", (all) => all.findIndex((one) => one.value === "Tea?"));
  const row = page.locator("#balloon-list li").nth(at);
  await row.locator("textarea").fill("Coffee?");
  await page.keyboard.press("Enter");
  await row.locator("select").selectOption("shout");
  await until("words and kind", () => /text = "Coffee\?"\nat   = \[68, 13\]\ntail = \[45, 42\]\nkind = "shout"/.test(manual.text));
  await says(page, "Coffee?");
  return page;
});

test("the crop is drawn across the picture, taken by a corner, and left", async () => {
  const page = await open(browser, url);
  await large(page, PHOTOGRAPH);
  await page.click("#crop-mode");
  await drag(page, await on(page, [10, 5]), await on(page, [90, 60]));
  await page.mouse.up();
  await until("the crop", () => /crop\s*= \[10(\.0)?, 5(\.0)?, 80(\.0)?, 55(\.0)?\]/.test(manual.text));
  await shot(page, "crop");
  await page.focus('[data-corner="right bottom"]');
  await page.keyboard.press("Shift+ArrowDown");
  await page.keyboard.press("Tab");
  await until("five more", () => /crop\s*= \[10(\.0)?, 5(\.0)?, 80(\.0)?, 60(\.0)?\]/.test(manual.text));
  await page.click("#crop-whole");
  await until("no crop", () => !/crop\s*=/.test(manual.text) && manual.text === manual.good);
  return page;
});

test("a picture shows itself in four screens, and a click writes one", async () => {
  const page = await open(browser, url);
  await large(page, PHOTOGRAPH);
  await page.waitForSelector("#samples-list canvas", { timeout: 120_000 });
  const shares = await page.$$eval("#samples-list canvas", (all) => all.map((one) => {
    const { data } = one.getContext("2d").getImageData(0, 0, one.width, one.height);
    return data.filter((value, at) => at % 4 === 0 && value === 0).length / (one.width * one.height);
  }));
  assert(shares.length === 4 && shares.every((share) => share > 0.01 && share < 0.9), `the small proofs are ${shares} black`);
  await page.click('#samples-list button:has-text("drawing on white")');
  const { went, came } = await written("two keys", (change) => change.came.length === 2 && change);
  assert(went.length === 0 && /^screen\s*= "drawing"$/.test(came[0]) && /^background\s*= "white"$/.test(came[1]), came.join("\n"));
  await until("it is marked", () => page.isVisible('#samples-list button[aria-pressed="true"]:has-text("drawing on white")'));
  await page.click("#samples-own");
  await until("neither key", () => !manual.changed);
  return page;
});

test("the width is set by its handle, with the millimetres beside it", async () => {
  const page = counted(await open(browser, url));
  await large(page, PHOTOGRAPH);
  const [x, y] = await middle(page, "#width-handle");
  await drag(page, [x, y], [x - 40, y]);
  const said = await page.textContent("#width-said");
  await page.mouse.up();
  const { went, came } = await written("the width", (change) => change.came.length === 1 && change);
  assert(/^width\s+= "72 mm"$/.test(went[0]) && new RegExp(`^width\\s+= "${said.split(" ")[0]} mm"$`).test(came[0]), `${said}: ${came[0]}`);
  await page.focus("#width-handle");
  const before = Number(await page.getAttribute("#width-handle", "aria-valuenow"));
  await page.keyboard.press("ArrowLeft");
  await page.keyboard.press("Shift+ArrowLeft");
  await page.keyboard.press("Tab");
  await until("six fewer", () => manual.text.includes(`"${before - 6} mm"`));
  await asked(page, 2);
  return page;
});

test("a model is turned with the pointer, with arrow keys and with sliders, and where it is let go is written", async () => {
  const page = counted(await open(browser, url));
  await large(page, MODEL);
  const now = () => page.$eval("#turning-turn-said", (one) => `${one.textContent} ${document.getElementById("turning-tilt-said").textContent}`);
  const stands = (words) => until(words, async () => (await now()) === words);
  const shown = () => page.$eval("#turning-model", (one) => {
    const { data } = one.getContext("2d").getImageData(0, 0, one.width, one.height);
    let [sum, black] = [0, 0];
    for (let n = 0; n < data.length; n += 4) if (data[n] === 0) { black += 1; sum = (sum * 31 + n) % 1000003; }
    return { sum, share: black / (one.width * one.height) };
  });
  await stands("45° 35.3°");
  const first = await shown();
  assert(first.share > 0.01 && first.share < 0.5, `the model is ${first.share} black`);
  await page.focus("#turning-model");
  await page.keyboard.press("ArrowRight");
  await page.keyboard.press("Shift+ArrowDown");
  await stands("50° 34°");
  await until("other dots", async () => (await shown()).sum !== first.sum);
  await page.keyboard.press("Tab");
  await until("the view", () => /view\s*= \{ turn = 50(\.0)?, tilt = 34(\.0)? \}/.test(manual.text));
  await asked(page, 1);
  const [x, y] = await middle(page, "#turning-model");
  await drag(page, [x, y], [x - 40, y + 20]);
  await page.mouse.up();
  await until("the view that was dragged to", () => /view\s*= \{ turn = 70(\.0)?, tilt = 44(\.0)? \}/.test(manual.text));
  await shot(page, "model");
  await page.click("#table-undo");
  await page.click("#table-undo");
  await until("as it was", () => !manual.changed);
  await stands("45° 35.3°");
  return page;
});

test("an editor's save in the middle of a drag: both changes are there", async () => {
  const page = await open(browser, url);
  await large(page, "Heron from the side");
  const from = await on(page, [37.5, 11]);
  await drag(page, from, [from[0] + 60, from[1] + 30]);
  manual.write(manual.with("2 descaling sachets", "3 descaling sachets"));
  await says(page, "3 descaling sachets");
  await page.mouse.up();
  await until("both", () => manual.text.includes("3 descaling sachets") && !manual.text.includes('at = [37.5, 11.0], label = "Eye light"'));
  const rest = (text) => text.replace(/\{ at = \[[^\]]*\], label = "Eye light" \}/, "");
  assert(rest(manual.text) === rest(manual.with("2 descaling sachets", "3 descaling sachets")), "more was changed than the two");
  return page;
});

test("where the block itself was changed meanwhile, the drag is refused in words, with lines to paste, and nothing is lost", async () => {
  const page = await open(browser, url);
  await large(page, "Heron from the side");
  const from = await on(page, [37.5, 11]);
  const theirs = manual.with('label = "Eye light"', 'label = "Lamp of the eye"');
  await drag(page, from, [from[0] + 60, from[1] + 30]);
  manual.write(theirs);
  await page.mouse.up();
  await page.waitForSelector("#refused:not([hidden])");
  assert(manual.text === theirs, "the file was touched");
  assert((await page.textContent("#refused-words")).length > 20, "it says nothing");
  assert((await page.textContent("#refused-lines")).includes("at = ["), `no lines to paste: ${await page.textContent("#refused-lines")}`);
  assert(await page.isVisible("#refused-copy"), "the lines cannot be copied");
  await shot(page, "refused");
  await clean(page, "refused");
  return page;
});

test("a second page sees the change at once", async () => {
  const page = await open(browser, url);
  const other = await open(browser, url);
  await large(page, PANEL);
  const at = await page.$$eval("#balloon-list textarea", (all) => all.findIndex((one) => one.value === "Tea?"));
  await page.locator("#balloon-list textarea").nth(at).fill("Is it tea?");
  await page.keyboard.press("Enter");
  await says(other, "Is it tea?");
  return other;
});

test("a mark is mended: what is lacking is asked for, the change is shown, then written", async () => {
  const page = await open(browser, url);
  const alt = "Two fingers squeeze the peg at the tip of the beak, and the string hangs in it";
  manual.write(manual.with(`![${alt}](peg.svg)`, "![](peg.svg)"));
  await page.click('.mends button:has-text("Say what it shows")');
  assert(await page.isDisabled("#mend-yes"), "it can be written before it is said");
  await page.fill("#mend-field", alt);
  await until("the change is shown", async () => (await page.textContent("#mend-difference")).includes(`![${alt}](peg.svg)`));
  assert((await page.$$("#mend-difference del")).length === 1 && (await page.$$("#mend-difference ins")).length === 1, "more than one line differs");
  await clean(page, "mend");
  await shot(page, "mend");
  await page.click("#mend-yes");
  await until("it is written", () => !manual.changed);
  await until("the mark is gone", async () => (await page.$$('.mends button:has-text("Say what it shows")')).length === 0);
  return page;
});

test("a picture is chosen at a box and another dropped on the strip: they go into pictures/ and stand behind it", async () => {
  const page = await open(browser, url);
  const dot = Buffer.from("iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAAAAAA6fptVAAAACklEQVR4nGNgAAAAAgABSK+kcQAAAABJRU5ErkJggg==", "base64");
  const at = (await labels(page)).findIndex((label) => label.startsWith("Heron is a small mechanical bird"));
  await page.locator("#boxes button").nth(at).evaluate((one) => one.click());
  const [chooser] = await Promise.all([page.waitForEvent("filechooser"), page.click("#slip-put")]);
  await chooser.setFiles({ name: "My Dot.PNG", mimeType: "image/png", buffer: dot });
  await until("the picture stands there", () => /slipper[^]*\n\n!\[\]\(pictures\/[a-z0-9.-]+\)\n/.test(manual.text));
  await page.waitForSelector("#mending[open]");
  await page.fill("#mend-field", "A dot");
  await until("it can be written", () => page.isEnabled("#mend-yes"));
  await page.keyboard.press("Enter");
  await until("it says what it shows", () => /!\[A dot\]\(pictures\//.test(manual.text));
  const before = manual.text;
  await page.locator("#boxes button").nth(at).evaluate((one, data) => {
    const brought = new DataTransfer();
    brought.items.add(new File([Uint8Array.from(atob(data), (letter) => letter.charCodeAt(0))], "other.png", { type: "image/png" }));
    const { left, top, height } = one.getBoundingClientRect();
    const how = { dataTransfer: brought, bubbles: true, cancelable: true, clientX: left + 5, clientY: top + height / 2 };
    one.dispatchEvent(new DragEvent("dragover", how));
    if (document.getElementById("drop-line").hidden) throw new Error("no line says where it would go");
    one.dispatchEvent(new DragEvent("drop", how));
  }, dot.toString("base64"));
  await until("the other one stands there", () => manual.text !== before && manual.text.includes("](pictures/other"));
  return page;
});

test("all of it by keyboard", async () => {
  const page = await open(browser, url);
  const active = () => page.evaluate(() => document.activeElement.getAttribute("aria-label") ?? document.activeElement.textContent);
  await page.keyboard.press("Tab");
  await page.keyboard.press("Enter");
  for (let stops = 0; !(await page.evaluate(() => document.activeElement.closest("#boxes") !== null)); stops += 1) {
    assert(stops < 30, "the boxes cannot be reached");
    await page.keyboard.press("Tab");
  }
  for (let steps = 0; !(await active()).startsWith(PHOTOGRAPH); steps += 1) {
    assert(steps < 30, "the photograph cannot be reached");
    await page.keyboard.press("ArrowDown");
  }
  await page.keyboard.press("Enter");
  await page.keyboard.press("Enter");
  await page.waitForSelector('#table[open]:not([data-kind=""])');
  const to = async (words) => {
    for (let stops = 0; !(await active()).includes(words); stops += 1) {
      assert(stops < 40, `${words} cannot be reached`);
      await page.keyboard.press("Tab");
      const ring = await page.evaluate(() => {
        const style = getComputedStyle(document.activeElement);
        return document.activeElement === document.body || style.outlineStyle !== "none";
      });
      assert(ring, `no ring around ${await active()}`);
    }
  };
  await to("Put a callout");
  await page.keyboard.press("Enter");
  assert((await active()).startsWith("New callout: 50 %"), `the focus is on ${await active()}`);
  await page.keyboard.press("ArrowRight");
  await page.keyboard.press("Shift+ArrowUp");
  assert((await active()).includes("51 % from the left, 45 % from the top"), `it stands at ${await active()}`);
  await page.keyboard.press("Enter");
  await page.keyboard.type("Neck");
  await page.keyboard.press("Enter");
  await until("the callout", () => /\{ at = \[51(\.0)?, 45(\.0)?\], label = "Neck" \}/.test(manual.text));
  assert((await active()) === "Put a callout", `the focus is on ${await active()}`);
  await to("Callout 1, Neck");
  await page.keyboard.press("Shift+ArrowLeft");
  await page.keyboard.press("ArrowLeft");
  await until("it is moved", () => /at = \[45(\.0)?, 45(\.0)?\]/.test(manual.text));
  await page.keyboard.press("Delete");
  await until("it is gone", () => !manual.text.includes("Neck"));
  await page.keyboard.press("Control+z");
  await until("it is back", () => manual.text.includes("Neck"));
  await page.keyboard.press("Control+Shift+z");
  await until("it is gone again", () => !manual.text.includes("Neck"));
  await page.keyboard.press("Escape");
  await page.waitForSelector("#table:not([open])", { state: "attached" });
  assert((await active()).startsWith(PHOTOGRAPH), `the focus went to ${await active()}`);
  return page;
});

test("axe finds no violation: light, dark, phone; photograph, crop, comic, model", async () => {
  for (const [where, options] of Object.entries({ light: {}, dark: { colorScheme: "dark" }, phone: PHONE, "dark phone": { ...PHONE, colorScheme: "dark" } })) {
    const page = await open(browser, url, options);
    const looks = {
      [PHOTOGRAPH]: async () => {
        await page.waitForSelector("#samples-list canvas", { timeout: 120_000 });
        await page.click("#callout-put");
        await clean(page, `${where}, a callout begun`);
        await page.keyboard.press("Escape");
        await page.click("#crop-mode");
        await clean(page, `${where}, crop`);
      },
      "Heron from the side": () => {},
      [PANEL]: () => {},
      [MODEL]: () => {},
    };
    for (const [words, look] of Object.entries(looks)) {
      await large(page, words);
      await clean(page, `${where}, ${words}`);
      await shot(page, `${where} ${words}`.replaceAll(" ", "-").toLowerCase());
      await look();
      await page.click("#table-close");
    }
    assert(page.faults.length === 0, page.faults.join("; "));
    await page.context().close();
  }
});

test("360 pixels are enough, and a finger has room", async () => {
  for (const width of [360, 390]) {
    const page = await open(browser, url, { ...PHONE, viewport: { width, height: 740 } });
    for (const words of ["Heron from the side", PANEL, MODEL]) {
      await large(page, words);
      const over = await page.$eval("#table-body", (one) => one.scrollWidth - one.clientWidth);
      assert(over <= 0, `${over} pixels stand out at ${width}: ${words}`);
      const small = await page.$$eval("#table :is(button, input, select, textarea)", (all) => all.filter((one) => one.checkVisibility({ visibilityProperty: true }) && (one.offsetHeight < 44 || (one.offsetWidth < 44 && one.tagName === "BUTTON"))).map((one) => `${one.id || one.className} ${one.offsetWidth} x ${one.offsetHeight}`));
      assert(small.length === 0, `too small for a finger at ${width}: ${small.join(", ")}`);
      await page.click("#table-close");
    }
    await page.context().close();
  }
});

if (showing) {
  add("a desk that only shows has nothing that writes, and says why", async () => {
    const page = await open(browser, url);
    for (const words of [PHOTOGRAPH, PANEL, MODEL]) {
      await large(page, words);
      assert((await page.textContent("#shut-words")).includes("--read-only"), `it says ${await page.textContent("#shut-words")}`);
      const writes = await page.$$eval("#table .writes, #table .drop, #width-handle, #width-part, #samples-own", (all) => all.filter((one) => one.checkVisibility({ visibilityProperty: true })).map((one) => one.id || one.className));
      assert(writes.length === 0, `these write: ${writes.join(", ")}`);
      const fields = await page.$$eval("#table :is(input[type=text], textarea)", (all) => all.filter((one) => !one.readOnly).length);
      assert(fields === 0, `${fields} fields can be typed into`);
      await clean(page, words);
      if (words === PHOTOGRAPH) {
        await page.mouse.click(...(await on(page, [50, 50])));
        assert((await page.$$("#callout-list li")).length === 0, "a callout is begun");
        await page.waitForSelector("#samples-list canvas", { timeout: 120_000 });
        await page.click('#samples-list button:has-text("drawing on white")');
        const lines = await page.textContent("#samples-words pre");
        assert(lines === 'screen = "drawing"\nbackground = "white"\n', `the lines are ${JSON.stringify(lines)}`);
      }
      if (words === PANEL) {
        const from = await middle(page, ".balloon");
        await drag(page, from, [from[0] + 80, from[1] + 40]);
        await page.mouse.up();
      }
      if (words === MODEL) {
        await page.focus("#turning-model");
        await page.keyboard.press("ArrowRight");
        await until("the line to paste", async () => (await page.textContent("#turning-words pre")) === "view = { turn = 50, tilt = 35 }");
      }
      await page.click("#table-close");
    }
    assert(!manual.changed, "the manual was written");
    return page;
  });
}

await run();
