//! What a writer means by a fence that is not quite one: messages that lead back to the line to mend.

use super::told;

fn stopped(text: &str) -> (String, String) {
    let source = super::super::read_text("manual.md", text).unwrap();
    let error = super::super::parse(&source).unwrap_err();
    (told(&error), error.hint().unwrap_or_default())
}

#[test]
fn what_is_written_by_another_habit_than_tomls_is_told_how_toml_writes_it() {
    let (message, hint) = stopped("```figure\npicture = \u{201C}a.png\u{201D}\n```\n");
    assert!(message.starts_with("manual.md:2:11"), "{message}");
    assert_eq!(hint, "TOML knows straight quotes only: picture = \"a.png\"");
    let (_, hint) = stopped("```figure\npicture: a.png\n```\n");
    assert_eq!(hint, "a key of TOML is written with an equals sign: picture = \"a.png\"");
    let (_, hint) = stopped("+++\ntitle: Heron\n+++\n# Heron\n");
    assert_eq!(hint, "a key of TOML is written with an equals sign: title = \"Heron\"");
    let (_, hint) = stopped("```comic\ncolumns: 2\n```\n");
    assert_eq!(hint, "a key of TOML is written with an equals sign: columns = 2");
}

#[test]
fn a_block_that_is_never_closed_is_told_where_it_begins() {
    let (message, hint) = stopped("# A\n\n```figure\npicture = \"a.png\"\nalt = \"x\"\n\nText goes on, and on.\n");
    assert_eq!(message, "manual.md:3:1 the block `figure` that begins here is never closed");
    assert_eq!(hint, "put a line of ``` after its last key");
    let (message, _) = stopped("- A\n\n  ```figure\n  picture: a.png\n  ```\n\nText.\n");
    assert!(message.starts_with("manual.md:4:12 this is not TOML"), "{message}");
}

#[test]
fn one_block_that_cannot_be_read_hides_no_other() {
    let (message, _) =
        stopped("```figure\npicture = 3\n```\n\n```comic\n[[panel]]\ncaption = 5\n```\n\n```barcode\nkind = \"xx\"\n```\n");
    let lines: Vec<&str> = message.lines().collect();
    assert_eq!(lines.len(), 3, "{message}");
    for (line, place) in lines.iter().zip(["manual.md:2:", "manual.md:7:", "manual.md:10:"]) {
        assert!(line.starts_with(place), "{message}");
    }
}
