//! Bad input: one clear message at its place, never a panic, never slow.

use std::time::{Duration, Instant};

use super::super::error::FolderError;
use super::super::markdown::DEEPEST;
use super::super::{Error, Folder, parse, read_text};
use super::{document, failure, remarks, told};

#[test]
fn text_that_is_none_is_refused_at_its_place() {
    let read = |bytes: &[u8]| {
        let folder = Folder::of_files([("m.md", bytes)]);
        super::super::read(&folder, "m.md", None, &super::super::Run::default()).unwrap_err()
    };
    assert_eq!(told(&read(b"# T\n\nab\xC3\x28")), "m.md:3:3 this is not UTF-8 text: byte 0xC3");
    let utf16 = read(b"\xFF\xFE#\0 \0");
    assert!(utf16.hint().unwrap().contains("UTF-16"), "{utf16:?}");
    assert_eq!(told(&read(b"a\n\0")), "m.md:2:1 the character U+0000 cannot stand in a manual");
    assert_eq!(told(&read("x \u{FDD0}".as_bytes())), "m.md:1:3 the character U+FDD0 cannot stand in a manual");
    assert_eq!(told(&read("x\u{10FFFF}".as_bytes())), "m.md:1:2 the character U+10FFFF cannot stand in a manual");
}

#[test]
fn a_control_character_is_read_as_a_space_and_said() {
    assert_eq!(document("a\u{c}b\n").text(), "a b\n");
    assert_eq!(remarks("# T\n\nä \u{1b}[1m\n"), ["3:3 control-character"]);
    let quoted = document("x \u{93}quoted\u{94}");
    let [said] = quoted.remarks.as_slice() else { panic!("{:?}", quoted.remarks) };
    assert_eq!(said.message, "U+0093 is a control character and is read as a space, the first of 2 such in this file");
    assert!(said.hint.as_ref().unwrap().contains("Windows-1252"));
    assert!(!quoted.text().contains(|letter: char| letter.is_control() && letter != '\n'));
    assert_eq!(remarks("+++\ntitle = \"a\u{b}b\"\n+++\n"), ["2:11 control-character"]);
}

#[test]
fn a_byte_order_mark_is_no_text() {
    assert_eq!(document("\u{FEFF}# T\n").text(), "T\n");
    assert_eq!(document("\u{FEFF}+++\ntitle = \"x\"\n+++\n").header.title.as_deref(), Some("x"));
}

#[test]
fn a_manual_that_is_too_long_is_refused() {
    let long = "x".repeat((8 << 20) + 1);
    let error = read_text("m.md", &long).unwrap_err();
    assert!(matches!(error, Error::Unreadable { reason: FolderError::TooLarge { .. }, .. }), "{error}");
}

#[test]
fn what_nests_too_deeply_is_set_flat_and_keeps_its_words() {
    let begun = Instant::now();
    let list: String = (0..300).map(|n| format!("{}- w{n}\n", "  ".repeat(n))).collect();
    let quote = format!("{} w\n", ">".repeat(300));
    let mixed: String = (0..300).map(|n| format!("{}1. > w{n}\n", "   > ".repeat(n))).collect();
    for text in [&list, &quote, &mixed] {
        let document = document(text);
        assert!(document.words().len() >= text.matches('w').count(), "{}", document.text());
        let mut deepest = 0;
        depth(&document.blocks, 1, &mut deepest);
        assert!(deepest <= DEEPEST + 1, "{deepest}");
        let nested = document.remarks.iter().filter(|remark| remark.rule == "nested-too-deep").count();
        assert_eq!(nested, 1);
    }
    assert!(begun.elapsed() < Duration::from_secs(120), "{:?}", begun.elapsed());
}

fn depth(blocks: &[super::Block], here: usize, deepest: &mut usize) {
    *deepest = here.max(*deepest);
    for block in blocks {
        let mut inner = Vec::new();
        block.children(&mut |child| inner.push(child.clone()));
        if !inner.is_empty() {
            depth(&inner, here + 1, deepest);
        }
    }
}

#[test]
fn piles_of_marks_neither_hang_nor_overflow() {
    let begun = Instant::now();
    for (pile, count) in [
        ("*a ", 5_000),
        ("**a", 5_000),
        ("[", 50_000),
        ("![", 50_000),
        ("<", 50_000),
        ("<kbd>", 5_000),
        ("`", 50_001),
        ("> ", 20_000),
        ("- ", 20_000),
        ("~~a", 5_000),
        ("[a](", 10_000),
        ("[^a]", 10_000),
        ("|a", 20_000),
        ("&#x", 20_000),
        ("\\", 50_000),
        ("<!--", 20_000),
        ("_a*", 10_000),
        ("[a][", 10_000),
        ("1. ", 20_000),
        ("<?", 20_000),
        ("<![CDATA[", 10_000),
        ("![a](", 20_000),
    ] {
        let document = document(&format!("x {}\n\n{}", pile.repeat(count), pile.repeat(count)));
        assert!(!document.blocks.is_empty(), "{pile}");
    }
    // Minutes when anything looks on to the end from every mark.
    assert!(begun.elapsed() < Duration::from_secs(120), "{:?}", begun.elapsed());
}

#[test]
fn a_long_word_a_wide_table_and_an_empty_one_are_read() {
    let word = "a".repeat(20_000);
    assert_eq!(document(&word).words(), [word.as_str()]);
    let row = |cell: &str| format!("|{}\n", format!("{cell}|").repeat(40));
    assert_eq!(document(&(row("h") + &row("-") + &row("c"))).words().len(), 80);
    assert_eq!(document("|a|\n|-|\n").text(), "a\n");
}

#[test]
fn marks_deeper_than_are_kept_lose_only_themselves() {
    let text = format!("{}deep{}", "*a ".repeat(40), "*".repeat(40));
    assert_eq!(document(&text).words().iter().filter(|word| word.contains('a')).count(), 40);
}

#[test]
fn names_that_lead_out_of_the_folder_are_refused() {
    let base = tempfile::tempdir().unwrap();
    let inside = base.path().join("manual");
    std::fs::create_dir_all(inside.join("sub")).unwrap();
    std::fs::write(base.path().join("secret"), "s").unwrap();
    std::fs::write(inside.join("a.md"), "a").unwrap();
    std::fs::write(inside.join("sub/b.md"), "b").unwrap();
    std::os::unix::fs::symlink("../secret", inside.join("out")).unwrap();
    std::os::unix::fs::symlink("sub/b.md", inside.join("in")).unwrap();
    std::os::unix::fs::symlink("..", inside.join("up")).unwrap();
    let socket = std::os::unix::net::UnixListener::bind(inside.join("socket")).unwrap();

    let folder = Folder::open(&inside).unwrap();
    assert_eq!(folder.read("a.md", 10).unwrap(), b"a");
    assert_eq!(folder.read("./sub//b.md", 10).unwrap(), b"b");
    assert_eq!(folder.read("in", 10).unwrap(), b"b");
    assert_eq!(folder.stamp("a.md").unwrap().length, 1);
    for (name, reason) in [
        ("../secret", FolderError::Climbs),
        ("sub/../../secret", FolderError::Climbs),
        ("sub/../../a.md", FolderError::Climbs),
        ("/etc/passwd", FolderError::NotFound),
        ("https://example.com/a.png", FolderError::NotGathered),
        ("out", FolderError::LeadsOut),
        ("up/secret", FolderError::LeadsOut),
        ("sub", FolderError::NotAFile("a folder")),
        (".", FolderError::NotAFile("a folder")),
        ("socket", FolderError::NotAFile("a device, a pipe or a socket")),
        ("none.md", FolderError::NotFound),
        ("a.md/x", FolderError::NotFound),
        ("a\0b", FolderError::NotFound),
        ("", FolderError::NoName),
    ] {
        assert_eq!(folder.read(name, 10), Err(reason.clone()), "{name}");
        assert_eq!(folder.stamp(name), Err(reason), "{name}");
    }
    assert_eq!(folder.read("a.md", 0), Err(FolderError::TooLarge { length: 1, limit: 0 }));
    drop(socket);
    assert!(matches!(Folder::open(&inside.join("a.md")), Err(Error::Folder { .. })));
    assert_eq!(Folder::of(&inside.join("a.md")).unwrap().1, "a.md");
}

#[test]
fn a_file_that_never_ends_is_no_manual() {
    let link = tempfile::tempdir().unwrap();
    std::os::unix::fs::symlink("/dev/zero", link.path().join("zero.md")).unwrap();
    let folder = Folder::open(link.path()).unwrap();
    assert_eq!(folder.read("zero.md", 10), Err(FolderError::LeadsOut));
    assert!(matches!(Folder::open(std::path::Path::new("/dev")).unwrap().read("zero", 10), Err(FolderError::NotAFile(_))));
}

#[test]
fn errors_name_a_hint_where_there_is_one() {
    assert!(failure("+++\n").hint().is_some());
    assert_eq!(remarks("plain"), [""; 0]);
}

#[test]
fn any_bytes_are_read_or_refused() {
    // A cheap linear generator: the same texts in every run. The parts of a template stand last: most texts have none of them.
    const ALPHABET: &[&str] = &[
        "#",
        " ",
        " ",
        "\n",
        "\n",
        "\n\n",
        "*",
        "**",
        "_",
        "`",
        "\n```\n",
        "\n```figure\n",
        "\n```qr\n",
        "\"",
        "=",
        "[",
        "]",
        "](",
        ")",
        "!",
        "<",
        ">",
        "<kbd>",
        "</kbd>",
        "<div>",
        "|",
        "|\n|-|-|\n",
        "- ",
        "\n- ",
        "\n: ",
        "a",
        "b",
        "é",
        "1. ",
        "\n> ",
        "**WARNING**",
        "&amp;",
        "~~",
        "[^n]",
        "\n[^n]: ",
        "\\",
        "picture = \"a\"\n",
        "at",
        ",",
        "\t",
        "    ",
        "\n    ",
        "{",
        "}",
        "\r\n",
        "---\n",
        "sign:",
        "\n+++\n",
        "<!--",
        "{{",
        "}}",
        "{%",
        "%}",
        "{{ run.number }}",
        "{% if true %}",
        "{% endif %}",
        "{# x #}",
        "{% raw %}",
    ];
    const TEMPLATE: usize = 9;
    let mut state = 0x2545_F491u64;
    let mut parsed = 0;
    for n in 0..2_000 {
        let letters = &ALPHABET[..ALPHABET.len() - if n % 4 == 0 { 0 } else { TEMPLATE }];
        let mut text = String::new();
        for _ in 0..if n % 4 == 0 { 12 } else { 80 } {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            text.push_str(letters[(state >> 33) as usize % letters.len()]);
        }
        if let Ok(source) = read_text("m.md", &text)
            && let Ok(document) = parse(&source)
        {
            parsed += 1;
            let check = |span: crate::manual::source::Span| {
                assert!(span.start <= span.end && span.end as usize <= source.text.len(), "{text:?}");
                assert!(source.text.is_char_boundary(span.start as usize), "{text:?}");
            };
            document.walk(&mut |span, _| check(span));
            document.walk_inlines(&mut |span, _| check(span));
        }
    }
    assert!(parsed > 500, "only {parsed} of the texts could be read");
}
