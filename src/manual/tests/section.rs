//! `section()`: a part of another file, as if it stood here.

use super::super::{Folder, Run, Source, Template, parse};
use super::{sketch, told};

const GUIDE: &str = "---\ntitle: Heron\n---\n# Heron\n\nAbout.\n\nSetup\n-----\n\nPour. ![Pot](img/pot.png) Then see [the page][p].[^n]\n\n\
    ### Flashing the `firmware` {#flash}\n\nFlash it.\n\n#### Deep\n\n```\n# no heading\n```\n\n### Last\n\n{{ braces }} {% stay %} here.\n\n\
    ## Other\n\nOther words.\n\n[p]: https://a.example/p\n[q]: https://a.example/q\n[^n]: A note.\n";

fn source(manual: &str) -> Result<Source, String> {
    let manual = format!("+++\ntitle = \"x\"\n+++\n{manual}");
    let files = [("manual.md", manual.as_bytes()), ("docs/README.md", GUIDE.as_bytes())];
    let template = Template::load(&Folder::of_files(files), "manual.md").map_err(|error| told(&error))?;
    template.fill(None, &Run::default()).map_err(|error| format!("{} | {}", told(&error), error.hint().unwrap_or_default()))
}

fn read(manual: &str) -> String {
    let source = source(manual).unwrap_or_else(|error| panic!("{error}"));
    let document = parse(&source).unwrap_or_else(|error| panic!("{}", told(&error)));
    sketch(&document.blocks)
}

#[test]
fn a_section_stands_with_its_heading_as_high_as_the_last_one() {
    let whole = read("## First\n\nWords.\n\n{{ section(\"docs/README.md\", \"Setup\") }}\n\nAfter.\n");
    assert!(whole.starts_with("h2(First) p(Words.) h2(Setup) "), "{whole}");
    assert!(whole.contains("h3(Flashing the <firmware>) p(Flash it.) h4(Deep) code(\"# no heading\") h3(Last)"), "{whole}");
    assert!(whole.contains("{{ braces }}  here.") && !whole.contains("Other words"), "{whole}");
    assert!(whole.contains("p(After.) notes[1 https://a.example/p | 2 p(A note.)]"), "{whole}");
    let lower = read("## First\n\n### Second\n\nWords.\n\n{{ section('docs/README.md', 'setup') }}\n");
    assert!(lower.contains("h3(Setup)") && lower.contains("h4(Last)") && lower.contains("h5(Deep)"), "{lower}");
    assert!(read("{{ section('docs/README.md', 'Last') }}").starts_with("h2(Last) p("));
}

#[test]
fn under_a_heading_of_the_manual_a_section_comes_without_its_own() {
    let under = read("### Getting it going\n\n{{ section('docs/README.md', 'Setup') }}\n");
    assert!(under.starts_with("h3(Getting it going) p(Pour."), "{under}");
    assert!(under.contains("h4(Last)") && !under.contains("Setup"), "{under}");
    assert!(read("# T\n\n{{ section('docs/README.md', 'Heron') }}\n").starts_with("title(T) p(About.) h2(Setup)"));
}

#[test]
fn a_heading_may_be_a_tag() {
    let guide = "<h1 align=\"center\">Heron</h1>\n\nAbout.\n\n<div align=center>\n<h2 id=\"s\">Set <b>it</b> <code>up</code></h2>\nPour.\n</div>\n\n\
        <H3>Flashing</H3>\n\nFlash it.\n\n### Last\n\nWords.\n\n<ul><li><h2>No heading</h2></ul>\n\n<h2>Other</h2>\nOther words.\n";
    let read = |call: &str| {
        let manual = format!("+++\ntitle = \"x\"\n+++\n{call}\n");
        let folder = Folder::of_files([("manual.md", manual.as_bytes()), ("g.md", guide.as_bytes())]);
        let template = Template::load(&folder, "manual.md").unwrap_or_else(|error| panic!("{}", told(&error)));
        let source = template.fill(None, &Run::default()).unwrap_or_else(|error| panic!("{call}: {}", told(&error)));
        sketch(&parse(&source).unwrap_or_else(|error| panic!("{}", told(&error))).blocks)
    };
    let whole = read("## First\n\n### Second\n\nA.\n\n{{ section('g.md', 'Set it up') }}\n\nAfter.");
    assert_eq!(
        whole,
        "h2(First) h3(Second) p(A.) h3(Set *it* <up>) p(Pour.) h4(Flashing) p(Flash it.) h4(Last) p(Words.) bullets[h2(No heading)] p(After.)"
    );
    assert_eq!(read("<h2>Mine</h2>\n\n{{ section('g.md', 'Flashing') }}\n"), "h2(Mine) p(Flash it.)");
    assert_eq!(read("{{ section('g.md', 'Set it up', without=['Flashing', 'Last']) }}"), "h2(Set *it* <up>) p(Pour.)");
}

#[test]
fn a_section_counts_from_the_file_that_says_it() {
    let files: [(&str, &[u8]); 4] = [
        ("manual.md", b"+++\ntitle = \"x\"\n+++\n{% include 'docs/en/all.md' %}\n"),
        ("docs/en/all.md", b"{{ section('../parts.md', 'Parts') }}\n\n{{ section('top.md', 'Top') }}\n"),
        ("docs/parts.md", b"# Parts\n\n![a](a.png)\n"),
        ("top.md", b"# Top\n\nFrom above.\n"),
    ];
    let template = Template::load(&Folder::of_files(files), "manual.md").unwrap_or_else(|error| panic!("{}", told(&error)));
    let source = template.fill(None, &Run::default()).unwrap_or_else(|error| panic!("{}", told(&error)));
    let blocks = parse(&source).unwrap_or_else(|error| panic!("{}", told(&error))).blocks;
    assert_eq!(sketch(&blocks), "h2(Parts) figure(docs/a.png \"a\" ) h2(Top) p(From above.)");
}

#[test]
fn parts_are_left_out() {
    let less = read("{{ section('docs/README.md', 'Setup', without=['Flashing the firmware']) }}");
    assert!(!less.contains("Flash") && !less.contains("Deep") && less.contains("h3(Last)"), "{less}");
    let none = read("{{ section('docs/README.md', 'Setup', without=['Flashing the firmware', 'Last']) }}");
    assert!(none.ends_with("notes[1 https://a.example/p | 2 p(A note.)]") && !none.contains("Last"), "{none}");
}

#[test]
fn what_is_found_in_a_section_points_into_its_file() {
    let source = source("A.\n\n{{ section('docs/README.md', 'Setup') }}\n").unwrap();
    for (words, place) in [("Pour.", "docs/README.md:11:1"), ("Flash it", "docs/README.md:15:1"), ("Last", "docs/README.md:23:5")]
    {
        let at = source.text.find(words).unwrap() as u32;
        assert_eq!(source.locate(at).to_string(), place, "{words}");
    }
}

#[test]
fn what_is_not_there_is_said_at_the_call() {
    let failed = |manual: &str| source(manual).map(|source| source.text).unwrap_err();
    let near = failed("A.\n\n{{ section('docs/README.md', 'Setpu') }}\n");
    assert!(
        near.starts_with("manual.md:6:")
            && near.contains("docs/README.md has no heading \"Setpu\" here | did you mean \"Setup\"?"),
        "{near}"
    );
    let without = failed("{{ section('docs/README.md', 'Setup', without=['Other']) }}");
    assert!(without.contains("has no heading \"Other\"") && without.contains("\"Last\""), "{without}");
    let file = failed("{{ section('none.md', 'Setup') }}");
    assert!(file.contains("\"none.md\" cannot be read: there is no such file"), "{file}");
    for unnamed in ["{{ section(unit.file, 'a') }}", "{{ section('a' ~ unit.file, 'a') }}", "{% set x = section(unit.a, 'b') %}"]
    {
        assert!(failed(unnamed).contains("by its name in quotes"), "{unnamed}");
    }
    let endless = failed("{% for n in range(600) %}{{ section('docs/README.md', 'Last') }}{% endfor %}");
    assert!(endless.contains("more than 500 sections"), "{endless}");
    assert!(failed("{{ section('docs/README.md') }}").starts_with("manual.md:4:"));
}
