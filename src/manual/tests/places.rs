//! Every span leads back to the line that made it.

use super::super::source::{Source, Span};
use super::super::{Folder, Run, Template, parse, read_text};
use super::{document, sketch};

/// Every block and inline of a document: what kind it is and where the writer's file says it stands.
fn places(source: &Source) -> Vec<String> {
    let document = parse(source).unwrap();
    let mut places = Vec::new();
    document.walk(&mut |span: Span, block| {
        let kind = format!("{:?}", block.kind);
        let kind = kind.split(['(', ' ', '{']).next().unwrap_or_default().to_owned();
        let place = source.locate(span.start);
        places.push(format!("{kind} {place}"));
    });
    places
}

#[test]
fn blocks_at_every_depth_know_their_line() {
    let text = "# T\n\n- a\n  - b\n\n    > c\n\n1. d\n\n   e\n";
    assert_eq!(
        places(&read_text("m.md", text).unwrap()),
        [
            "Title m.md:1:1",
            "Bullets m.md:3:1",
            "Paragraph m.md:3:3",
            "Bullets m.md:4:3",
            "Paragraph m.md:4:5",
            "Aside m.md:6:5",
            "Paragraph m.md:6:7",
            "Procedure m.md:8:1",
            "Paragraph m.md:8:4",
            "Paragraph m.md:10:4",
        ]
    );
}

#[test]
fn inlines_know_their_column() {
    let source = read_text("m.md", "Ünï **wörd** and `KEY`\n\nNext *one*").unwrap();
    let document = parse(&source).unwrap();
    let mut places = Vec::new();
    document.walk_inlines(&mut |span, _| {
        let place = source.locate(span.start);
        places.push((place.line, place.column, source.text[span.start as usize..span.end as usize].to_owned()));
    });
    let found: Vec<(u32, u32, &str)> = places.iter().map(|(line, column, text)| (*line, *column, text.as_str())).collect();
    assert_eq!(
        found,
        [
            (1, 1, "Ünï "),
            (1, 5, "**wörd**"),
            (1, 7, "wörd"),
            (1, 13, " and "),
            (1, 18, "`KEY`"),
            (3, 1, "Next "),
            (3, 6, "*one*"),
            (3, 7, "one"),
        ]
    );
}

#[test]
fn a_block_that_only_moved_is_equal_but_for_where_it_stands() {
    let block = "1. Lift *it*\n   - [x](https://x.example)\n";
    let (here, there) = (document(&format!("{block}\nend")), document(&format!("Something above.\n\n{block}\nend")));
    assert_eq!(here.blocks[0].kind, there.blocks[1].kind);
    assert_ne!(here.blocks[0].span, there.blocks[1].span);
}

#[test]
fn fields_and_includes_lead_back_to_their_own_files() {
    let files: [(&str, &[u8]); 3] = [
        ("m.md", b"+++\ntitle = \"T{{ run.number }}\"\n+++\n{% if true %}\nOne {{ run.number }} two\n{% endif %}\n\n{% include \"inc/a.md\" %}\n\nEnd\n"),
        ("inc/a.md", b"+++\ntitle = \"left out\"\n+++\n\nFrom a\n\n{# note #}\n- {{ run.date }} **b**\n\n{% include \"b.md\" %}\n"),
        ("b.md", b"From b"),
    ];
    let folder = Folder::of_files(files);
    let run = Run { date: "2026-11-20".into(), number: 7 };
    let source = Template::load(&folder, "m.md").unwrap().fill(None, &run).unwrap();
    assert_eq!(
        places(&source),
        [
            "Paragraph m.md:5:1",
            "Paragraph inc/a.md:5:1",
            "Bullets inc/a.md:8:1",
            "Paragraph inc/a.md:8:6",
            "Paragraph b.md:1:1",
            "Paragraph m.md:10:1",
        ]
    );
    let document = parse(&source).unwrap();
    assert_eq!(document.text(), "One 7 two\nFrom a\n2026-11-20 b\nFrom b\nEnd\n");
    assert_eq!(document.header.title.as_deref(), Some("T7"));
    assert_eq!(source.locate(document.header.spans["title"].start).to_string(), "m.md:2:1");
    let mut bold = String::new();
    document.walk_inlines(&mut |span, inline| {
        if inline.inner().is_some() {
            bold = source.locate(span.start).to_string();
        }
    });
    assert_eq!(bold, "inc/a.md:8:18");
    assert_eq!(source.file_text("b.md"), Some("From b"));
}

#[test]
fn a_spot_gives_the_bytes_to_underline() {
    let source = read_text("m.md", "Ä\n{{ run.number }} ![](p.png) x\n").unwrap();
    let document = parse(&source).unwrap();
    let spot = source.spot(document.remarks[0].span);
    assert_eq!(
        (spot.place.to_string().as_str(), &spot.file.text()[spot.offset..spot.offset + spot.length]),
        ("m.md:2:18", "![](p.png)")
    );
}

#[test]
fn a_manual_without_fields_and_the_same_with_an_empty_comment_are_one_document() {
    let text = "+++\n+++\n# T\n\n1. a\n\n   ```figure\n   picture = \"p\"\n   alt = \"q\"\n   ```\n\n[l](https://x.example)\n";
    let (plain, filled) = (read_text("m.md", text).unwrap(), read_text("m.md", &format!("{text}{{# #}}\n")).unwrap());
    assert_eq!(plain.text, filled.text);
    let (plain, filled) = (parse(&plain).unwrap(), parse(&filled).unwrap());
    assert_eq!((plain.header, plain.blocks, plain.remarks), (filled.header, filled.blocks, filled.remarks));
}

#[test]
fn what_is_included_in_a_step_or_a_quote_stays_in_it() {
    let files: [(&str, &[u8]); 4] = [
        ("m.md", b"+++\ntitle = \"T\"\n+++\n1. Lift.\n\n   {% include \"a.md\" %}\n2. {% include \"b.md\" %}\n\n> {% include \"c.md\" %}\n\nEnd\n"),
        ("a.md", b"One.\n\nTwo {{ run.number }}.\n\n- x\n  {% include \"c.md\" %}\n\nThree.\n"),
        ("b.md", b"Four.\n\n```\n  five\n```\n"),
        ("c.md", b"Six.\n\n**Seven.**\n"),
    ];
    let source = Template::load(&Folder::of_files(files), "m.md").unwrap().fill(None, &Run::default()).unwrap();
    let document = parse(&source).unwrap();
    assert_eq!(
        sketch(&document.blocks),
        "steps[1: p(Lift.) p(One.) p(Two 1.) bullets[p(x/Six.) p(*Seven.*)] p(Three.) | 2: p(Four.) code(\"  five\")] aside[p(Six.) p(*Seven.*)] p(End)"
    );
}
