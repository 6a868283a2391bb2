//! Front matter of other tools, and what else their guides hold.

use super::*;

#[test]
fn front_matter_fills_what_fits_and_is_never_printed() {
    let text = "---\ntitle: \"A: b\"\ndescription: >\n  two\n  lines\nlang: de-AT\nversion: 1.2\ndate: 2024-03-05 10:00:00 +0100\nlist: [a, {title: no}]\n---\n\nText\n";
    let read = document(text);
    assert_eq!(sketch(&read.blocks), "p(Text)");
    let header = &read.header;
    assert_eq!((header.title.as_deref(), header.subtitle.as_deref()), (Some("A: b"), Some("two lines")));
    assert_eq!((header.revision.as_deref(), header.issued.as_deref()), (Some("1.2"), Some("2024-03-05")));
    assert_eq!((header.language.as_deref(), header.tongue), (Some("de-AT"), crate::language::Language::German));
    let source = read_text("m.md", text).unwrap();
    assert_eq!(source.locate(header.spans["revision"].start).to_string(), "m.md:7:1");
    assert!(read.remarks.is_empty(), "{:?}", read.remarks);
    assert_eq!(sketch(&document("---\r\ntitle: x\r\n---\r\nText").blocks), "p(Text)");
    // A rule at the top is a rule.
    assert_eq!(sketch(&document("---\n\nText\n\n---\n").blocks), "rule p(Text) rule");
}

#[test]
fn front_matter_that_is_none_gets_a_word() {
    assert_eq!(remarks("---\ntitle = \"Heron\"\nrevision = \"C\"\n---\n\nText"), ["2:1 front-matter"]);
    assert_eq!(remarks("---\na: [1\nb: }\n---\n\nText"), ["2:1 front-matter"]);
    assert_eq!(remarks("---\nname = \"x\"\n---\n\nText"), [""; 0]);
}

#[test]
fn aliases_are_never_expanded() {
    let mut text = String::from("---\na: &a [x, x, x, x, x, x, x, x, x]\n");
    for (one, two) in ('a'..='y').zip('b'..='z') {
        text += &format!("{two}: &{two} [*{one}, *{one}, *{one}, *{one}, *{one}, *{one}, *{one}, *{one}, *{one}]\n");
    }
    text += "title: *z\nlang: de\n---\n\nText\n";
    let read = document(&text);
    assert_eq!((read.header.title, read.header.language.as_deref()), (None, Some("de")));
    let deep = format!("---\na: {}\n---\n\nText\n", "[".repeat(100_000));
    assert_eq!(sketch(&document(&deep).blocks), "p(Text)");
}

#[test]
fn alerts_are_safety_messages_or_asides() {
    for (text, drawn) in [
        ("> [!WARNING]\n> Hot.", "safety(Warning \"WARNING\")[p(Hot.)]"),
        ("> [!caution]\n> Hot.", "safety(Caution \"CAUTION\")[p(Hot.)]"),
        ("> [!DANGER]\n> Hot.", "safety(Danger \"DANGER\")[p(Hot.)]"),
        ("> [!Note]\n> Hot.", "aside[p(*Note*//Hot.)]"),
        ("> [!TIP]\n> - a", "aside[p(*Tip*) bullets[p(a)]]"),
        ("> WARNING: Hot.", "safety(Warning \"WARNING\")[p(Hot.)]"),
        ("> Beware: Hot.", "aside[p(Beware: Hot.)]"),
        (":::warning Mind\nHot.\n:::\nb", "safety(Warning \"WARNING\")[p(*Mind*) p(Hot.)] p(b)"),
        ("!!! danger \"Mains\"\n    a\n\n    b\nc", "safety(Danger \"DANGER\")[p(*Mains*) p(a) p(b)] p(c)"),
        ("::: info\na\n:::", "aside[p(a)]"),
    ] {
        assert_eq!(sketch(&document(text).blocks), drawn, "{text}");
    }
    let german = document("---\nlang: de\n---\n> [!WARNING]\n> Heiß.\n\n> [!TIP]\n> Gut.");
    assert_eq!(sketch(&german.blocks), "safety(Warning \"WARNUNG\")[p(Heiß.)] aside[p(*Tipp*//Gut.)]");
}

#[test]
fn what_stands_in_a_box_keeps_its_place() {
    assert_eq!(remarks("a\n\n!!! note \"X\"\n    b ![](c.png)\n"), ["4:7 missing-alt"]);
    assert_eq!(remarks("{: .a }\nb ![](c.png)\n\n::: tip\n![](d.png)\n:::\n"), ["2:3 missing-alt", "5:1 missing-alt"]);
}
