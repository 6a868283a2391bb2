//! Keys, headings, links, pictures of the folder, quotation marks, and what the header allows.

use super::{Given, changed, checked, fire_all, fires, fires_given, silent, silent_given, told};
use crate::bitmap::Bitmap;
use crate::lengths::Resolution;
use crate::strip::png;

type Edits = &'static [(&'static str, &'static str)];

const FIRES: &[(&str, Edits)] = &[
    ("unknown-key", &[("revision     =", "colour = \"red\"\nrevision     =")]),
    ("html-dropped", &[("What the eye says", "<blink>What</blink> the eye says")]),
    ("control-character", &[("What the eye says", "What the\u{c}eye says")]),
    ("link-to-nowhere", &[("What the eye says", "[Parts](#no-such-heading) and what the eye says")]),
    ("link-to-file", &[("What the eye says", "[Parts](parts.csv) and what the eye says")]),
    ("badges-left-out", &[("What the eye says", "[![tests](https://a.example/b.svg)](https://a.example)\n\nWhat the eye says")]),
    ("second-title", &[("## Radio", "# Radio")]),
    ("heading-skipped", &[("## Radio", "#### Radio")]),
    ("link-without-text", &[("[the maker’s page]", "[]")]),
    ("footnote-unused", &[("copy.[^eye]", "copy.")]),
    ("picture-not-gathered", &[("What the eye says", "![Heron asleep](https://example.com/heron.png)\n\nWhat the eye says")]),
    ("double-space", &[("bows. If", "bows.  If")]),
    ("straight-quotes", &[("the maker’s", "the maker's")]),
    ("allow-unknown-rule", &[("[box]", "[preflight]\nallow = [{ rule = \"no-such-rule\", reason = \"none\" }]\n\n[box]")]),
    ("extra-cell", &[("What the eye says", "| Light | Says |\n|---|---|\n| red | hot | call us |\n\nWhat the eye says")]),
    ("allow-without-reason", &[("[box]", "[preflight]\nallow = [\"long-procedure\"]\n\n[box]")]),
];

const SILENT: &[Edits] = &[
    &[("## Radio", "### Radio")],
    &[("## Radio", "### Radio\n\n#### Bands\n\nTwo.\n\n## Radio")],
    // Inches are no quotation marks; a key's label is what stands on the product.
    &[("with a screwdriver", "with a 1/8\" screwdriver")],
    &[("`MODE`", "`MODE's`")],
    &[("What the eye says", "<kbd>MODE</kbd> sleeps. What the eye says")],
    &[("[box]", "[preflight]\nallow = [{ rule = \"long-procedure\", reason = \"Tried on ten readers.\" }]\n\n[box]")],
];

/// A dark square on white, 8 by 8.
pub fn dark_square() -> Vec<u8> {
    let mut bitmap = Bitmap::new(8, 8);
    bitmap.fill(2, 2, 4, 4, true);
    png::write(&bitmap, Resolution::EIGHT)
}

/// Runs every case; the names of the rules that fired.
pub fn all() -> Vec<&'static str> {
    let mut fired = fire_all(FIRES);
    // Nothing fits so deep: what else is found there is the layout's to say.
    let list: String = (1..40).map(|depth| format!("{}- a\n", "  ".repeat(depth))).collect();
    let report = checked(&changed(&[("- [ ] 1 Heron\n", &format!("- [ ] 1 Heron\n{list}"))]), &Given::default());
    assert!(report.findings.iter().any(|finding| finding.rule == "nested-too-deep"), "{:#?}", told(&report));
    fired.push("nested-too-deep");
    let report = checked("<!doctype html><nav>Home</nav><h1>Heron</h1>", &Given::default());
    assert!(report.findings.iter().any(|finding| finding.rule == "page-furniture"), "{:#?}", told(&report));
    fired.push("page-furniture");
    let picture = dark_square();
    let given = Given { files: vec![("asleep.png", &picture), ("spare.png", &picture)], ..Given::default() };
    let shown = ("What the eye says", "![Heron asleep](asleep.png)\n\nWhat the eye says");
    let finding = fires_given("picture-unused", &[shown], &given);
    assert!(finding.message.contains("spare.png") && finding.panel.is_none());
    fired.push("picture-unused");
    let given = Given { files: vec![("Asleep.PNG", &picture)], ..Given::default() };
    let shown = ("What the eye says", "![Heron asleep](asleep.png)\n\nWhat the eye says");
    assert!(fires_given("picture-name-case", &[shown], &given).hint.contains("as the file is called"));
    fired.push("picture-name-case");
    fired
}

#[test]
fn near_misses_are_silent() {
    for edits in SILENT {
        silent(edits);
    }
    let picture = dark_square();
    let given = Given { files: vec![("spare.png", &picture)], ..Given::default() };
    silent_given(&[("# Heron\n", "# Heron\n\n![A dark square](./spare.png)\n")], &given);
}

#[test]
fn advice_is_told_once_at_its_first_place() {
    let finding = fires("straight-quotes", &[("the maker’s", "the maker's"), ("What the eye", "What the \"eye\"")]);
    assert!(finding.message.starts_with("3 straight"), "{}", finding.message);
    assert_eq!((finding.place.line, finding.place.column), (56, 10));
    assert_eq!(finding.hint, "write \u{201c} and \u{201d}, and \u{2019} for the apostrophe");
    let finding = fires("double-space", &[("bows. If", "bows.  If")]);
    assert_eq!((finding.place.line, finding.place.column), (54, 26));
}

#[test]
fn allowed_findings_are_left_out_and_counted() {
    let allow = "[preflight]\nallow = [{ rule = \"heading-skipped\", reason = \"House style.\" }]\n\n[box]";
    let report = checked(&changed(&[("## Radio", "#### Radio"), ("[box]", allow)]), &Given::default());
    assert_eq!((told(&report).len(), report.allowed), (0, 1));
    assert!(report.closing().contains("1 finding allowed by the header"), "{}", report.closing());
}

#[test]
fn what_is_said_of_allow_cannot_be_allowed_away() {
    let allow = "[preflight]\nallow = [\"allow-without-reason\"]\n\n[box]";
    let report = checked(&changed(&[("[box]", allow)]), &Given::default());
    assert_eq!(report.findings.iter().map(|finding| finding.rule).collect::<Vec<_>>(), ["allow-without-reason"]);
}

#[test]
fn a_misspelt_rule_gets_the_nearest() {
    let finding =
        fires("allow-unknown-rule", &[("[box]", "[preflight]\nallow = [{ rule = \"missing-alts\", reason = \"…\" }]\n\n[box]")]);
    assert_eq!(finding.hint, "did you mean \"missing-alt\"?");
    assert_eq!((finding.place.line, finding.place.column), (27, 10));
}
