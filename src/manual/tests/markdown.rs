//! FORMAT.md, "Plain Markdown, read as a manual", row by row.

use super::super::document::{BalloonKind, Ground, Kind, Screen, Symbology, Width};
use super::{document, failure, remarks, sketch, told};
use crate::geometry::{Point, Rect};
use crate::lengths::Mm;

fn read(text: &str) -> String {
    sketch(&document(text).blocks)
}

#[test]
fn the_first_heading_of_the_first_level_is_the_title() {
    assert_eq!(read("# Heron\n\n## Wake\n\n### Keys\n\nText"), "title(Heron) h2(Wake) h3(Keys) p(Text)");
    assert_eq!(read("# One\n\n# Two"), "title(One) h2(Two)");
    assert_eq!(remarks("# One\n\n# Two"), ["3:1 second-title"]);
    assert_eq!(read("> # Quoted\n\n# Heron"), "aside[h2(Quoted)] title(Heron)");
}

#[test]
fn an_ordered_list_is_a_procedure_with_numbers_resolved() {
    assert_eq!(read("3. Fill\n4. Press\n"), "steps[3: p(Fill) | 4: p(Press)]");
    let text = "1. Lift\n\n   ![Lid](lid.png \"The lid\")\n\n   - slowly\n2. Press\n";
    assert_eq!(read(text), "steps[1: p(Lift) figure(lid.png \"Lid\" 1 The lid) bullets[p(slowly)] | 2: p(Press)]");
}

#[test]
fn lists_have_bullets_or_boxes() {
    assert_eq!(read("- a\n- b"), "bullets[p(a) | p(b)]");
    assert_eq!(read("- [ ] Heron\n- [x] Cable\n- card"), "bullets[[ ] p(Heron) | [x] p(Cable) | p(card)]");
    assert_eq!(read("1. [ ] Fill"), "steps[1: p(\u{2610}\u{a0}Fill)]");
    assert_eq!(read("- a\n\n  b\n- "), "bullets[p(a) p(b) | ]");
}

#[test]
fn a_quote_that_opens_with_a_bold_signal_word_is_a_safety_message() {
    assert_eq!(read("> **WARNING** Hot water."), "safety(Warning \"WARNING\")[p(Hot water.)]");
    assert_eq!(read("> **Caution:** Hot.\n> Wait."), "safety(Caution \"Caution\")[p(Hot./Wait.)]");
    assert_eq!(read("> **Notice** – Wipe it."), "safety(Notice \"Notice\")[p(Wipe it.)]");
    assert_eq!(read("> **DANGER: Mains!** Stay away."), "safety(Danger \"DANGER\")[p(*Mains!* Stay away.)]");
    assert_eq!(read("> **WARNING**\n>\n> Hot *water*."), "safety(Warning \"WARNING\")[p(Hot _water_.)]");
    assert_eq!(read("> **WARNING**"), "safety(Warning \"WARNING\")[]");
    assert_eq!(read("> **Tip** Rinse it."), "aside[p(*Tip* Rinse it.)]");
    assert_eq!(read("> **Warning-light** blinks."), "aside[p(*Warning-light* blinks.)]");
    assert_eq!(read("> **Warning - `HOT`** Wait."), "safety(Warning \"Warning\")[p(*<HOT>* Wait.)]");
    assert_eq!(read("> WARNING without bold type"), "aside[p(WARNING without bold type)]");
    assert_eq!(read("**WARNING** outside a quote"), "p(*WARNING* outside a quote)");
}

#[test]
fn signal_words_are_those_of_the_documents_language() {
    let header = |tag: &str| format!("+++\nlanguage = \"{tag}\"\n+++\n");
    assert_eq!(read(&(header("de") + "> **Vorsicht** Heiß.")), "safety(Caution \"Vorsicht\")[p(Heiß.)]");
    assert_eq!(read(&(header("nl") + "> **LET OP** Nat.")), "safety(Notice \"LET OP\")[p(Nat.)]");
    assert_eq!(read(&(header("pt") + "> **AVISO** Quente.")), "safety(Warning \"AVISO\")[p(Quente.)]");
    assert_eq!(read(&(header("es") + "> **AVISO** Seco.")), "safety(Notice \"AVISO\")[p(Seco.)]");
    assert_eq!(read(&(header("ja") + "> **警告** 熱い。")), "safety(Warning \"警告\")[p(熱い。)]");
    assert_eq!(read("> **AVISO** Seco."), "aside[p(*AVISO* Seco.)]");
}

/// The marks of a country or a writer around the word do not cost the message its box.
#[test]
fn signal_words_are_found_between_their_marks() {
    let header = |tag: &str| format!("+++\nlanguage = \"{tag}\"\n+++\n");
    assert_eq!(read(&(header("es") + "> **¡PELIGRO!** Corriente.")), "safety(Danger \"PELIGRO\")[p(Corriente.)]");
    assert_eq!(read(&(header("es") + "> **¡PELIGRO! Corriente.**")), "safety(Danger \"PELIGRO\")[p(*Corriente.*)]");
    assert_eq!(read(&(header("es") + "> ¡PELIGRO! Corriente.")), "safety(Danger \"PELIGRO\")[p(Corriente.)]");
    assert_eq!(read(&(header("ja") + "> **【警告】** 熱い。")), "safety(Warning \"警告\")[p(熱い。)]");
    assert_eq!(read(&(header("ja") + "> 【警告】熱い。")), "safety(Warning \"警告\")[p(熱い。)]");
    assert_eq!(read(&(header("ar") + "> **تحذير،** ساخن.")), "safety(Warning \"تحذير\")[p(ساخن.)]");
    assert_eq!(read("> ⚠️ **WARNING** Hot."), "safety(Warning \"WARNING\")[p(Hot.)]");
    assert_eq!(read("> ⚠ WARNING: Hot."), "safety(Warning \"WARNING\")[p(Hot.)]");
    assert_eq!(read("> **⚠️ WARNING:** Hot."), "safety(Warning \"WARNING\")[p(Hot.)]");
    // The mark is not printed twice, and never with NOTICE.
    assert_eq!(read("> ⚠️ **NOTICE** Dry."), "safety(Notice \"NOTICE\")[p(Dry.)]");
    assert_eq!(read(&(header("pt-BR") + "> **AVISO** Seco.")), "safety(Notice \"AVISO\")[p(Seco.)]");
}

/// What looks like a signal word and is none in this language is an aside without a symbol: that is told.
#[test]
fn a_word_that_only_looks_like_a_signal_word_is_told() {
    let told = |tag: &str, text: &str| {
        let found = remarks(&format!("+++\nlanguage = \"{tag}\"\n+++\n{text}"));
        found.iter().any(|remark| remark.ends_with("signal-word-unknown"))
    };
    for (tag, text) in [
        ("en", "> **ACHTUNG** Hot."),
        ("en", "> **Achtung!** Hot."),
        ("it", "> **PRUDENCE** Caldo."),
        ("cs", "> **PRZESTROGA** Horké."),
        ("es", "> **ATENCIÓN** Caliente."),
        ("es", "> **¡ATENCIÓN!** Caliente."),
        ("es", "> ATENCIÓN: caliente."),
        ("en", "> **警告** Hot."),
        ("en", "> ⚠️ **Burns** Hot."),
        ("de", "> **UWAGA:** Heiß."),
        ("en", "> **BE CAREFUL!** Hot."),
    ] {
        assert!(told(tag, text), "{tag}: {text}");
    }
    for (tag, text) in [
        ("en", "> **WARNING** Hot."),
        ("en", "> **NOTE:** Rinse it."),
        ("de", "> **WICHTIG:** Erst lesen."),
        ("en", "> **INFO:** Rinse it."),
        ("en", "> **USB** is the cable."),
        ("en", "> **Fare** well, bird."),
        ("en", "> **Tip** Rinse it."),
        ("en", "> **Not** for babies."),
        ("en", "> Plain words, said by WHO: nobody."),
        ("nl", "> **AANWIJZING** Nat."),
    ] {
        assert!(!told(tag, text), "{tag}: {text}");
    }
}

#[test]
fn a_sign_leaves_the_text_of_its_message() {
    let said = "safety(Warning \"WARNING\" sign=hot-liquid)[p(Hot water.)]";
    assert_eq!(read("> ![hot liquid](sign:hot-liquid) **WARNING** Hot water."), said);
    assert_eq!(read("> ![hot liquid](sign:hot-liquid)\n> **WARNING** Hot water."), said);
    assert_eq!(read("> ![hot liquid](sign:hot-liquid)\n>\n> **WARNING** Hot water."), said);
    assert_eq!(read("> **WARNING** ![hot liquid](sign:hot-liquid) Hot water."), said);
    assert_eq!(read("> **WARNING** Hot ![hot liquid](sign:hot-liquid) water."), said);
    assert_eq!(read("> **WARNING**\n>\n> ![hot liquid](sign:hot-liquid)\n>\n> Hot water."), said);
    let two = "> **WARNING** ![a](sign:pinch) ![b](sign:sharp) Mind it.";
    assert_eq!(read(two), "safety(Warning \"WARNING\" sign=pinch)[p(!sign:sharp \"b\"! Mind it.)]");
}

#[test]
fn a_picture_alone_is_a_figure_and_any_other_stands_in_the_line() {
    assert_eq!(read("![Front](front.jpg \"Know your Heron\")"), "figure(front.jpg \"Front\" 1 Know your Heron)");
    assert_eq!(read("![Front](front.jpg)"), "figure(front.jpg \"Front\" )");
    assert_eq!(read("![a](a.png \"A\")\n![b](b.png \"B\")"), "row[figure(a.png \"a\" 1 A) figure(b.png \"b\" 2 B)]");
    assert_eq!(read("![a](a.png) ![b](b.png)"), "row[figure(a.png \"a\" ) figure(b.png \"b\" )]");
    assert_eq!(
        read("1. Do this:\n   ![a](a.png)\n   ![b](b.png)\n   then that.\n"),
        "steps[1: p(Do this:) row[figure(a.png \"a\" ) figure(b.png \"b\" )] p(then that.)]"
    );
    // A link around a picture is dropped; a sign stays in its sentence wherever the writer's line ended.
    assert_eq!(read("[![a](a.png)](https://example.com/a)"), "figure(a.png \"a\" )");
    assert_eq!(read("Mind\n![b](sign:pinch)\nit."), "p(Mind/!sign:pinch \"b\"!/it.)");
    assert_eq!(read("# ![Heron](logo.png)"), "figure(logo.png \"Heron\" )");
    assert_eq!(read("Press ![the key](key.svg) now"), "p(Press !key.svg \"the key\"! now)");
    assert_eq!(read("![a](<my pic.png>)\n\n![b](my%20pic.png)"), "figure(my pic.png \"a\" ) figure(my pic.png \"b\" )");
}

#[test]
fn a_picture_without_words_is_a_finding_unless_it_is_a_sign() {
    assert_eq!(remarks("![](front.jpg)\n\nA ![ ](b.png) c\n\n![](sign:pinch)"), ["1:1 missing-alt", "3:3 missing-alt"]);
    assert_eq!(remarks("```figure\npicture = \"a.png\"\n```"), ["2:11 missing-alt"]);
}

#[test]
fn code_and_kbd_are_keys() {
    assert_eq!(read("Hold `MODE` and <kbd>+</kbd>."), "p(Hold <MODE> and <+>.)");
    assert_eq!(read("<kbd>**A** b</kbd>"), "p(<A b>)");
    assert_eq!(read("*x <kbd>a* b"), "p(_x <a>_ b)");
}

#[test]
fn fenced_and_indented_code_is_code() {
    assert_eq!(read("```\na\n\n  b\n```\n\n    c\n"), "code(\"a\\n\\n  b\") code(\"c\")");
    assert_eq!(read("```toml\na = 1\n```"), "code(\"a = 1\")");
}

#[test]
fn tables_keep_their_cells() {
    assert_eq!(read("| Light | Sound |\n|:--|--:|\n| red | `BEEP` |\n| | *x* |"), "table[Light, Sound / red, <BEEP> / , _x_]");
}

#[test]
fn definition_lists_keep_terms_and_meanings() {
    assert_eq!(
        read("Red light\n: Water is low.\n: Fill it.\n\nGreen light\n: Ready.\n"),
        "definitions[Red light = p(Water is low.) or p(Fill it.) | Green light = p(Ready.)]"
    );
}

#[test]
fn links_are_noted_at_the_end_of_their_section() {
    let text = "# T\n\n[Help](https://a.example) and [more](https://b.example) and [help](https://a.example).\n\n\
                ## Next\n\n[Help](https://a.example)\n\n### Sub\n\n<https://c.example> [d.example](https://d.example/) [there](#next)\n";
    assert_eq!(
        read(text),
        "title(T) p({Help^1} and {more^2} and {help^1}.) notes[1 https://a.example | 2 https://b.example] \
         h2(Next) p({Help^3}) h3(Sub) p({https://c.example} {d.example} {there}) notes[3 https://a.example]"
    );
    assert_eq!(read("[Write](mailto:a@b.example) [call](tel:+123)"), "p({Write^1} {call^2}) notes[1 a@b.example | 2 +123]");
    assert_eq!(
        read("[a](https://a.example)\n\n```cut\n```\n\nb"),
        "p({a^1}) notes[1 https://a.example] cut p(b)",
        "what is cut off takes its notes with it"
    );
}

#[test]
fn footnotes_and_links_share_their_numbers() {
    let text = "A[^x] and [b](https://b.example) and again[^x].\n\n[^x]: See [c](https://c.example) and[^y].\n\n[^y]: Last.\n";
    assert_eq!(
        read(text),
        "p(A^1 and {b^2} and again^1.) notes[1 p(See {c^3} and^4.) | 2 https://b.example | 3 https://c.example | 4 p(Last.)]"
    );
    assert_eq!(read("No[^such] note"), "p(No[^such] note)");
    assert_eq!(read("a [b][c] d"), "p(a [b][c] d)");
    assert_eq!(read("Text.\n\n[^lost]: Said all the same.\n"), "p(Text.) notes[1 p(Said all the same.)]");
    assert_eq!(remarks("Text.\n\n[^lost]: Said all the same.\n"), ["3:1 footnote-unused"]);
}

#[test]
fn a_tag_that_means_nothing_is_dropped_and_its_text_is_kept() {
    assert_eq!(read("a<br>b<!-- c --> <u>d</u>"), "p(a//b _d_)");
    assert_eq!(remarks("a<br>b<!-- c --> <nobr>d</nobr>"), ["1:18 html-dropped"]);
    assert_eq!(read("a\n\n- <u></u>\n- b"), "p(a) bullets[ | p(b)]");
    assert_eq!(read("<div>\nOne *two*\n</div>\n\nThree"), "p(One *two*) p(Three)");
    assert_eq!(read("<!-- only\n\na comment -->\n\nText"), "p(Text)");
    assert_eq!(remarks("<!-- only\n\na comment -->\n\nText"), [""; 0]);
}

#[test]
fn rules_breaks_strikes_and_escapes() {
    assert_eq!(read("a  \nb\\\nc\nd\n\n---\n\n~~e~~ \\*f\\* &amp; 1 -- 2 \"q\""), "p(a//b//c/d) rule p(~e~ *f* & 1 -- 2 \"q\")");
}

#[test]
fn a_figure_block_says_everything_about_its_picture() {
    let text = "```figure\npicture = \"front.jpg\"\nalt = \"Front\"\ncaption = \"Know *it*\"\nwidth = \"60 mm\"\ncrop = [10, 0, 80, 99.5]\n\
                screen = \"halftone\"\ncallouts = [\n  { at = [23, 40.5], label = \"Mode\" },\n]\n```\n";
    let document = document(text);
    assert_eq!(sketch(&document.blocks), "figure(front.jpg \"Front\" 1 Know *it*)");
    let Kind::Figure(figure) = &document.blocks[0].kind else { panic!() };
    assert_eq!(figure.width, Some(Width::Length(Mm::new(60.0))));
    assert_eq!(figure.crop, Some(Rect::new(100, 0, 800, 995)));
    assert_eq!(figure.screen, Some(Screen::Halftone));
    assert_eq!((figure.callouts[0].at, figure.callouts[0].label.as_str()), (Point::new(230, 405), "Mode"));
    assert!(document.remarks.is_empty());
}

#[test]
fn a_comic_block_has_panels_and_balloons() {
    let text = "```comic\ncolumns = 2\n[[panel]]\npicture = \"wake.svg\"\nalt = \"Eye\"\nspan = 2\ncaption = \"MORNING.\"\n[[panel.balloon]]\n\
                text = \"Tea?\"\nat = [70, 18]\ntail = [45, 45]\nkind = \"shout\"\n[[panel]]\nground = \"rays\"\n```\n";
    let document = document(text);
    let Kind::Comic(comic) = &document.blocks[0].kind else { panic!() };
    assert_eq!((comic.columns, comic.panels.len(), comic.panels[0].columns), (2, 2, 2));
    let balloon = &comic.panels[0].balloons[0];
    assert_eq!((balloon.at, balloon.tail, balloon.kind), (Point::new(700, 180), Some(Point::new(450, 450)), BalloonKind::Shout));
    assert_eq!((comic.panels[1].ground, &comic.panels[1].picture), (Ground::Rays, &None));
    assert!(document.remarks.is_empty());
    assert_eq!(document.text(), "MORNING.\nTea?\n");
}

#[test]
fn codes_folds_and_cuts() {
    let text = "```qr\nhttps://example.com/heron\n```\n\n```barcode\nkind = \"ean13\"\ndata = \"4006381333931\"\n```\n\n```fold\n```\n\n```cut\n```\n";
    assert_eq!(read(text), "qr(\"https://example.com/heron\") barcode(Ean13 \"4006381333931\") fold cut");
    let Kind::Barcode { symbology, .. } = document("```barcode\ndata = \"A1\"\n```").blocks[0].kind.clone() else { panic!() };
    assert_eq!(symbology, Symbology::Code128);
    assert_eq!(read("- a\n  ```fold\n  ```\n- b"), "bullets[p(a) | p(b)]");
    assert_eq!(remarks("- a\n  ```fold\n  ```\n- b"), ["2:3 misplaced-fold"]);
}

#[test]
fn a_box_to_write_in_has_a_height_and_a_label() {
    let text = "```write-in\nheight = \"12 mm\"\nlabel = \"Tested by\"\n```\n\n- ```write-in\n  label = \"Date\"\n  ```\n";
    assert_eq!(read(text), "write-in(12 mm \"Tested by\") bullets[write-in(15 mm \"Date\")]");
    assert_eq!(document(text).text(), "Tested by\nDate\n");
    assert_eq!(remarks("```write-in\nlabel = \"Date\"\nwidth = \"60 mm\"\n```"), ["3:1 unknown-key"]);
}

#[test]
fn fences_complain_at_the_very_place() {
    for (text, complaint) in [
        ("```figure\npicture = \"a\"\nalt = 5\n```", "manual.md:3:7 `alt` wants text in quotes, this is a number"),
        ("```figure\nalt = \"a\"\n```", "manual.md:1:1 a figure needs `picture`"),
        ("```figure\npicture = \"a\nalt = 5\n```", "manual.md:2:13 this is not TOML"),
        ("> - x\n>   ```figure\n>   picture = \"a\"\n>   width = \"60\"\n>   ```", "manual.md:4:13 `width` cannot be \"60\""),
        ("```figure\npicture = \"a\"\ncrop = [50, 0, 60, 100]\n```", "manual.md:3:8 `crop` leaves the picture"),
        ("```figure\npicture = \"a\"\ncrop = [50, 0, 60]\n```", "manual.md:3:8 `crop` wants a list of 4 numbers, this has 3"),
        ("```figure\npicture = \"a\"\nscreen = \"foto\"\n```", "manual.md:3:10 `screen` cannot be \"foto\""),
        ("```figure\npicture = \"a\"\ncallouts = [{ label = \"x\" }]\n```", "manual.md:3:13 a callout needs `at`"),
        ("```comic\ncolumns = 3\n```", "manual.md:2:11 `columns` is 1 or 2"),
        ("```comic\n[[panel]]\nspan = 2\n```", "manual.md:3:8 `span` can only be 1 here"),
        ("\n```comic\n```", "manual.md:2:1 a comic needs a panel"),
        ("```comic\n[[panel]]\n[[panel.balloon]]\nat = [1, 2]\n```", "manual.md:3:1 a balloon needs `text`"),
        ("```qr\n\n```", "manual.md:1:1 this qr block is empty"),
        ("```barcode\nkind = \"code12\"\ndata = \"1\"\n```", "manual.md:2:8 `kind` cannot be \"code12\""),
        ("```barcode\ndata = \"\"\n```", "manual.md:2:8 `data` of this barcode is empty"),
        ("```figure\r\npicture = \"a\"\r\nalt = 5\r\n```", "manual.md:3:7 `alt` wants text"),
        ("```write-in\n```", "manual.md:1:1 a write-in needs `label`"),
        ("```write-in\nlabel = \" \"\n```", "manual.md:2:9 `label` of this write-in is empty"),
        ("```write-in\nheight = \"1 in 2\"\nlabel = \"a\"\n```", "manual.md:2:10 `height` wants a length with its unit"),
        ("```write-in\nlabel = \"a\"\nheight = \"21 cm\"\n```", "manual.md:3:10 `height` of a write-in is at most 200 mm"),
        ("```fold\nhere\n```", "manual.md:1:1 a fold block holds nothing"),
        ("```figure\npicture = \"a\"\nwidth = \"0 mm\"\n```", "manual.md:3:9 `width` cannot be \"0 mm\""),
        (
            "```figure\npicture = \"a\"\ncrop = [nan, 0, 1, 1]\n```",
            "manual.md:3:9 `crop` wants a list of 4 numbers, this is a number",
        ),
    ] {
        let found = told(&failure(text));
        assert!(found.starts_with(complaint), "{found} is not {complaint}");
    }
}

#[test]
fn fences_notice_keys_and_points_that_lead_nowhere() {
    let text = "```figure\npicture = \"a\"\nalt = \"a\"\ncapton = \"b\"\ncallouts = [\n  { at = [50, 101], label = \"x\", lable = \"y\" },\n]\n```";
    assert_eq!(remarks(text), ["4:1 unknown-key", "6:3 callout-off-picture", "6:34 unknown-key"]);
    let hints: Vec<Option<String>> = document(text).remarks.into_iter().map(|remark| remark.hint).collect();
    assert_eq!(hints[0].as_deref(), Some("did you mean `caption`?"));
    let text = "```comic\n[[panel]]\ntext = \"x\"\n[[panel.balloon]]\ntext = \"x\"\nat = [-1, 0]\n```";
    assert_eq!(remarks(text), ["3:1 unknown-key", "6:6 balloon-off-panel"]);
    assert_eq!(document(text).remarks[0].hint.as_deref(), Some("`text` belongs to a balloon: [[panel.balloon]]"));
}

#[test]
fn text_and_words_hold_all_that_is_said() {
    let text = "# T\n\n> **WARNING** w\n\n1. one `K`\n   - two\n\n| a | b |\n|--|--|\n| c | d |\n\nX\n: Y\n\n[l](https://l.example)[^f]\n\n[^f]: foot\n\n```\ncode\n```\n\n\
                ```figure\npicture = \"p\"\nalt = \"unsaid\"\ncaption = \"cap\"\ncallouts = [{ at = [1, 1], label = \"call\" }]\n```\n";
    assert_eq!(document(text).words().join(" "), "T WARNING w one K two a b c d X Y l code cap call https://l.example foot");
}

#[test]
fn wide_spaces_at_the_end_of_a_line_are_none() {
    assert_eq!(sketch(&document("\u{3000}あ。\u{3000}\u{3000}\nい").blocks), sketch(&document("\u{3000}あ。\nい").blocks));
}
