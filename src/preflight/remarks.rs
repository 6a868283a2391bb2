//! Rules whose places are noticed by the rooms below, while they read, set and screen. The words for the writer stand here.

use crate::manual::source::Level;

use super::rule::{Check, Rule};

const fn remarked(name: &'static str, level: Level, what: &'static str, why: &'static str, mend: &'static str) -> Rule {
    Rule { name, level, what, why, mend, source: "common practice, no source", check: Check::Remarked }
}

pub const UNKNOWN_KEY: Rule = remarked(
    "unknown-key",
    Level::Warning,
    "a key in the header or in a block that the program does not know",
    "a misspelt key does nothing, and nobody notices",
    "take the nearest known key, or delete it",
);

pub const MISSING_ALT: Rule = Rule {
    source: "WCAG 2.2, 1.1.1 (known)",
    ..remarked(
        "missing-alt",
        Level::Error,
        "a picture without words that say what it shows",
        "they stand in for the picture for readers who cannot see it, in any Markdown viewer and in the layout map",
        "write them: `![Front of Heron with its beak raised](front.jpg)`, or `alt = \"…\"` in the block",
    )
};

pub const UNKNOWN_LANGUAGE: Rule = remarked(
    "unknown-language",
    Level::Warning,
    "a `language` that the program has no fixed words and no hyphenation for",
    "\"Step\" and \"Fig.\" are printed in English, and no word is hyphenated",
    "take the nearest language that is known, or write signal words and captions out",
);

pub const SECOND_TITLE: Rule = remarked(
    "second-title",
    Level::Warning,
    "a second `#`",
    "a strip has one title; the second is set as a section",
    "write `##` for a section",
);

pub const NESTED_TOO_DEEP: Rule = remarked(
    "nested-too-deep",
    Level::Warning,
    "lists and quotes so deep in one another that they are set flatter than written",
    "every level takes width from the column, and nobody reads the last one",
    "make the inner lists sections of their own",
);

pub const MISPLACED_FOLD: Rule = remarked(
    "misplaced-fold",
    Level::Error,
    "a `fold` or `cut` inside a list or a quote",
    "a strip can only be folded or cut between blocks; this one is left out",
    "end the list first: begin the fence at the left margin",
);

pub const EXTRA_CELL: Rule = remarked(
    "extra-cell",
    Level::Warning,
    "a table row with more cells than the table has columns",
    "it is set here, and lost in any other program",
    "give the head a cell more, or write a bar that is no border as `\\|`",
);

pub const FOOTNOTE_UNUSED: Rule = remarked(
    "footnote-unused",
    Level::Warning,
    "a footnote that nothing calls",
    "it is set at the end, and nobody knows what it belongs to",
    "call it where it belongs: `[^name]`, or delete it",
);

pub const BALLOON_OFF_PANEL: Rule = remarked(
    "balloon-off-panel",
    Level::Error,
    "a balloon or its tail that lies beside its panel",
    "it is moved inside, and may hide what it speaks of",
    "`at` and `tail` are measured in % of the panel, from its top left corner",
);

pub const HTML_DROPPED: Rule = remarked(
    "html-dropped",
    Level::Warning,
    "a tag of HTML that means nothing on paper",
    "the tag is dropped and its text is kept: what you meant by it is not printed",
    "take it out; if it is a word of your own, write it between backticks",
);

pub const PAGE_FURNITURE: Rule = remarked(
    "page-furniture",
    Level::Advice,
    "parts of a web page that lead about its site: navigation, search, what stands at the head and foot of every page",
    "they are left out, as a strip has no other pages",
    "take what belongs to the guide out of `<nav>`, or have your pages made without them",
);

pub const CONTROL_CHARACTER: Rule = remarked(
    "control-character",
    Level::Warning,
    "a control character in the text: a form feed, an escape, what a wrong conversion left of a quotation mark",
    "no printer shows it; it is read as a space, which may part a word or stand for a letter that is lost",
    "delete it, or write the character that was meant",
);

pub const LINK_TO_NOWHERE: Rule = remarked(
    "link-to-nowhere",
    Level::Warning,
    "a link to a heading that the manual does not have",
    "its text is printed, and the reader looks in vain for what it promises",
    "correct the name after the `#`, or take the link out",
);

pub const LINK_TO_FILE: Rule = remarked(
    "link-to-file",
    Level::Advice,
    "a link to a file beside the manual",
    "the reader of a strip does not have that file; the link's text is printed without it",
    "say in words what is needed, or give its address on the web",
);

pub const BADGES_LEFT_OUT: Rule = remarked(
    "badges-left-out",
    Level::Advice,
    "a paragraph of badges: linked small pictures at web addresses",
    "they tell about a page, not about the product, and are not printed",
    "nothing, or delete them; a picture you want stands in a paragraph of its own",
);

pub const FRONT_MATTER: Rule = remarked(
    "front-matter",
    Level::Warning,
    "a header between lines of `---` that is no YAML, or that is ours and belongs between lines of `+++`",
    "it is passed over: its title, language and revision are not on the strip",
    "put a line of `+++` before and after a header of ours; mend the YAML of another tool's",
);

pub const INCLUDED_HEADER: Rule = remarked(
    "included-header",
    Level::Warning,
    "an included file whose header says something otherwise than the manual's",
    "only its `language` holds, for what it brings; its fold, its style, its product are not those of the strip",
    "write it into the manual's own header, or delete it from the included one's",
);

pub const FACE_UNUSED: Rule = remarked(
    "face-unused",
    Level::Advice,
    "a face named under `[faces]` that nothing on the strip is set in",
    "it changes nothing, whatever was hoped of it",
    "name it `title`, `sans`, `mono` or `lettering` to put it in the stead of a shipped one, or delete the line",
);

pub const HEADING_SMALLER: Rule = remarked(
    "heading-smaller",
    Level::Advice,
    "a title or heading set smaller than the style asks, because a word is wider than the column",
    "sizes say what belongs to what; a title that is no larger than its sections is overlooked",
    "take a shorter word, or set the size in the style to what fits",
);

pub const BALLOON_EMPTY: Rule = remarked(
    "balloon-empty",
    Level::Warning,
    "a balloon that says nothing, as when a unit has no value for its field",
    "an empty balloon is a riddle; it is left out",
    "write what is said, or delete the balloon",
);

pub const BALLOON_MOVED: Rule = remarked(
    "balloon-moved",
    Level::Advice,
    "a balloon that had to stand far from where it was put",
    "it would hide something drawn, another balloon or its tail; what it says may lose its place in the story",
    "give it another `at`, fewer words, or a panel that spans both columns",
);

pub const BALLOON_OVER_DRAWING: Rule = remarked(
    "balloon-over-drawing",
    Level::Advice,
    "a balloon on or within half a millimetre of something drawn, or a tail across it, where no place near is free",
    "outlines that touch read as one thing, and what a balloon hides is not seen",
    "give it another `at`, fewer words, or leave room for it in the drawing",
);

pub const BALLOONS_CROWDED: Rule = remarked(
    "balloons-crowded",
    Level::Warning,
    "more balloons than a panel has room for: tails run under balloons",
    "the reader cannot tell who says what",
    "take a balloon out, or let the panel span both columns",
);

pub const CALLOUT_OFF_PICTURE: Rule = remarked(
    "callout-off-picture",
    Level::Error,
    "a callout that points beside the picture or at what `crop` leaves out",
    "its number would stand on nothing",
    "`at` is measured on the whole picture, in % of its width and height",
);

pub const SHARE_FOR_PERCENT: Rule = remarked(
    "share-for-percent",
    Level::Warning,
    "a place or a crop in shares of 1 where percent are meant: `at = [0.87, 0.60]`",
    "less than one percent is a speck of the top left corner",
    "write percent: `at = [87, 60]`",
);

pub const OWN_DOTS_TOO_WIDE: Rule = remarked(
    "own-dots-too-wide",
    Level::Warning,
    "a picture with `screen = \"none\"` that has more pixels across than its room has dots",
    "a dot for a pixel cannot be printed there; the picture is scaled and screened like any other",
    "make the picture narrower, or leave `screen` out",
);

pub const CALLOUTS_CROWDED: Rule = remarked(
    "callouts-crowded",
    Level::Warning,
    "so many callouts that leaders meet",
    "the reader cannot tell which number belongs to what",
    "make the picture wider, or show it in two figures",
);

pub const BALLOONS_OUT_OF_ORDER: Rule = remarked(
    "balloons-out-of-order",
    Level::Warning,
    "a balloon that will be read before one that is written before it",
    "the answer comes before the question",
    "move the balloons, or change their order",
);

pub const MISSING_GLYPH: Rule = remarked(
    "missing-glyph",
    Level::Error,
    "a character that no face has",
    "an empty box is printed in its place",
    "write it in another way, or name a face that has it under `[faces]`",
);

pub const SYSTEM_FACE: Rule = remarked(
    "system-face",
    Level::Warning,
    "a writing that is set in a face found on this machine",
    "its licence may forbid it, and another machine may print other dots or none",
    "check the licence, copy the file beside the manual, and name it: `[faces] ja = \"face.otf\"`",
);

pub const BROKEN_WORD: Rule = remarked(
    "broken-word",
    Level::Warning,
    "a word that had to be broken where no hyphenation point stands",
    "a wrong break is read wrong, and in an address it is typed wrong",
    "shorten it, or put a soft hyphen (U+00AD) where it may be broken",
);

pub const PANEL_TOO_SMALL: Rule = remarked(
    "panel-too-small",
    Level::Error,
    "a piece that is higher than a panel and is folded",
    "thermal paper cracks along the fold",
    "make it shorter, or the `fold` in the header larger",
);

pub const PICTURE_UNUSABLE: Rule = remarked(
    "picture-unusable",
    Level::Error,
    "a picture that cannot be read, or is none",
    "it is not printed, and a step without its picture may not be understood",
    "give the path from the file that says it; PNG, JPEG, WebP, GIF and SVG can be set",
);

pub const PICTURE_NOT_GATHERED: Rule = remarked(
    "picture-not-gathered",
    Level::Error,
    "a picture at a web address that was not brought in",
    "nothing is fetched while a strip is made: it must come out the same with the network down, and ten years on",
    "`stripling gather MANUAL`, then commit `gathered.toml` and its folder",
);

pub const PICTURE_NAME_CASE: Rule = remarked(
    "picture-name-case",
    Level::Warning,
    "a picture whose file is written with other capitals than its address",
    "it is found here and shown, and on another machine or a web server it is not",
    "write the address as the file is called",
);

pub const PICTURE_COLOURS: Rule = remarked(
    "picture-colours",
    Level::Warning,
    "a picture of which something is ignored or replaced: inks (CMYK), white on a clear ground, an outside reference, a face",
    "what comes out may not be what you see on the screen",
    "export it as an ordinary RGB or grey picture, a drawing with everything embedded and its letters as outlines",
);

pub const MODEL_UNUSABLE: Rule = remarked(
    "model-unusable",
    Level::Error,
    "a model that cannot be read, or a part that it does not have",
    "the figure is not printed, and a step without its picture may not be understood",
    "give the path from the manual's folder; STL, OBJ, 3MF and glTF are read; names are those of files and of objects in them",
);

pub const MODEL_MENDED: Rule = remarked(
    "model-mended",
    Level::Advice,
    "a model whose triangles are not joined as those of a solid body, or whose file says something else than it holds",
    "where surfaces do not meet, a line may be missing or too many",
    "look at the drawing; repair the mesh in the program that made it",
);

pub const PART_HIDDEN: Rule = remarked(
    "part-hidden",
    Level::Warning,
    "a part in a parts list that is nowhere seen in its figure",
    "its number would point at another part",
    "turn the view, take the thing apart with `explode`, or `hide` what is before it",
);

pub const PICTURE_BLANK: Rule = remarked(
    "picture-blank",
    Level::Warning,
    "a picture nothing of which is darker than paper",
    "it prints as an empty place: a drawing in white for dark screens, or a file that went wrong",
    "take the version that is drawn in black",
);

pub const BACKGROUND_KEPT: Rule = remarked(
    "background-kept",
    Level::Warning,
    "`background = \"white\"` on a picture in which the thing cannot be told safely from what surrounds it",
    "half a thing cut out misleads more than its surroundings do",
    "photograph it on plain paper that differs from it, with room around it, or crop closer",
);

pub const SIGNAL_WORD_UNKNOWN: Rule = remarked(
    "signal-word-unknown",
    Level::Warning,
    "a quote whose first word looks like a signal word, and is none in the manual's language: one of another language, one after a mark of an alert, or one cried out in capitals",
    "it is set as an aside, without alert symbol and panel: the reader takes a warning for a remark",
    "take one of the words that the finding names, or an alert: `> [!WARNING]`",
);

pub const UNKNOWN_SIGN: Rule = remarked(
    "unknown-sign",
    Level::Error,
    "a `sign:` that the program does not draw",
    "the safety message would stand without its sign",
    "take one of the signs that the finding names",
);

pub const UNKNOWN_SIGNAL: Rule = remarked(
    "unknown-signal",
    Level::Error,
    "a `light:`, `key:` or `display:` that says something no lamp, finger or display does",
    "the reader would not learn what the product says or what to do",
    "take a colour, pattern or gesture that the finding names",
);

pub const CODE_UNUSABLE: Rule = remarked(
    "code-unusable",
    Level::Error,
    "a QR symbol or barcode that cannot be made: too long, or data its kind cannot hold",
    "nothing is printed in its place",
    "encode less, or use another kind of code",
);
