// Keys of the bench. They rest while something is being typed or a card lies on top, and can be switched off.

const by = (id) => document.getElementById(id);

export function keys(doing) {
  const all = [
    ["w", "the whole width of the strip", () => doing.loupe("fit")],
    ["0", "life size", () => doing.loupe("true")],
    ["1", "1, 2, 3 or 4 pixels a dot", () => doing.loupe("1"), "1 … 4"],
    ["2", "", () => doing.loupe("2")],
    ["3", "", () => doing.loupe("3")],
    ["4", "", () => doing.loupe("4")],
    ["p", "paper or bare dots", () => doing.paper()],
    ["f", "go where I edit, or stay", () => doing.follow()],
    ["[", "the panel before", () => doing.panel(-1)],
    ["]", "the next panel", () => doing.panel(1)],
    ["m", "the next mark", () => doing.mark(1)],
    ["M", "the mark before", () => doing.mark(-1)],
    ["u", "the next unit", () => doing.unit(1)],
    ["U", "the unit before", () => doing.unit(-1)],
    ["o", "open the chosen line in the editor", () => doing.open()],
    ["P", "print strips", () => doing.print()],
    ["?", "this card", () => card()],
  ];
  const always = [
    ["↑ ↓", "on the strip: from box to box"],
    ["Enter", "on a box: its file and line; once more on a picture: open it large"],
    ["← → ↑ ↓", "on what lies large: move it by one per cent, with Shift by five; a model by five degrees, with Shift by one"],
    ["Ctrl Z", "on what lies large: take the last change back; with Shift bring it again"],
    ["Esc", "put the slip away"],
  ];
  const row = (key, words) => {
    const [term, meaning, cap] = [document.createElement("dt"), document.createElement("dd"), document.createElement("kbd")];
    cap.textContent = key;
    term.append(cap);
    meaning.textContent = words;
    return [term, meaning];
  };
  by("keys-list").append(...all.filter(([, words]) => words).flatMap(([key, words, , shown]) => row(shown ?? key, words)), ...always.flatMap(([key, words]) => row(key, words)));
  const card = () => {
    by("keys-card").showModal();
    // Not on the switch: Space would turn the keys off.
    by("keys-close").focus();
  };
  by("keys").addEventListener("click", card);
  by("keys-close").addEventListener("click", () => by("keys-card").close());
  by("keys-on").checked = doing.remembered("keys") !== "off";
  by("keys-on").addEventListener("change", () => doing.remember("keys", by("keys-on").checked ? "on" : "off"));
  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey || event.isComposing || !by("keys-on").checked) return;
    if (document.querySelector("dialog[open]") || event.target.closest?.("select, textarea, input:not([type=checkbox], [type=radio])")) return;
    const found = all.find(([key]) => key === event.key);
    if (found === undefined) return;
    event.preventDefault();
    found[2]();
  });
}
