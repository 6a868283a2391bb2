// A4 as a fallback: before the browser prints, the strip is cut into columns at life size, between lines where it can be.

const by = (id) => document.getElementById(id);
/** Room of a column on A4 within its margins, millimetres. */
const TALL = 256;
const WIDE = 186;
const GAP = 8;

/** Rows at which columns begin and end: at a fold if one is near the end, else in white, else where the paper ends. */
export function columns(rows, most, folds) {
  const cuts = [];
  let top = 0;
  while (top < rows.height) {
    let bottom = Math.min(top + most, rows.height);
    if (bottom < rows.height) {
      const fold = folds.findLast((row) => row <= bottom && row > top + most * 0.6);
      let white = bottom;
      while (white > top + most * 0.7 && !rows.blank(white)) white -= 1;
      bottom = fold ?? (rows.blank(white) ? white : bottom);
    }
    cuts.push([top, bottom]);
    top = bottom;
  }
  return cuts;
}

export function prepareSheets(strip, docket) {
  const element = (tag, name, text) => {
    const made = document.createElement(tag);
    if (name) made.className = name;
    if (text) made.textContent = text;
    return made;
  };
  addEventListener("beforeprint", () => {
    const { rows, perMm } = strip;
    const { facts } = docket;
    if (strip.empty || facts === undefined) return;
    const wide = rows.dots / perMm;
    const abreast = Math.max(1, Math.floor((WIDE + GAP) / (wide + GAP)));
    const all = columns(rows, Math.floor(TALL * perMm), facts.panels.map(([top]) => top));
    const sheets = [];
    for (let at = 0; at < all.length; at += abreast) {
      const sheet = element("section", "sheet");
      const head = element("p", "sheet-head");
      const { title, document: number, revision } = facts.title;
      head.append(
        element("span", "", [title, number, revision && `rev. ${revision}`, facts.choices.unit].filter(Boolean).join(" · ")),
        element("span", "", `sheet ${sheets.length + 1} of ${Math.ceil(all.length / abreast)}`),
      );
      const row = element("div", "columns");
      all.slice(at, at + abreast).forEach(([from, to], index) => {
        const column = element("div", "column");
        const canvas = strip.copy(from, to);
        canvas.style.setProperty("--width", `${wide}mm`);
        canvas.style.setProperty("--height", `${(to - from) / perMm}mm`);
        const next = at + index + 1;
        column.append(canvas, element("p", "", next < all.length ? `${next}, joins ${next + 1}` : `${next}, the end`));
        row.append(column);
      });
      sheet.append(head, row);
      sheets.push(sheet);
    }
    by("sheets").replaceChildren(...sheets);
  });
  addEventListener("afterprint", () => by("sheets").replaceChildren());
}
