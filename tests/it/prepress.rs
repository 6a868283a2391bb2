//! The way from files to strips at its door: what a stranger who depends on the crate calls.

use std::fs;
use std::path::Path;

use proptest::prelude::*;
use stripling::prepress::{Choices, Error, Prepress};

const MANUAL: &str = "+++\ntitle = \"Heron\"\nlanguage = \"en\"\npaper = \"58 mm\"\n+++\n\n# Heron\n\nSerial {{ unit.serial }}.\n\n1. Fill.\n2. Dip `ON`.\n\n> **WARNING:** hot.\n";
const UNITS: &str = "serial,plug\nH-1,UK\nH-2,EU\n";
const STYLE: &str = "base = \"comic\"\n[type]\nbody = 9.0\n";
const PRINTER: &str = "name = \"own\"
base = \"58mm\"
dots = 400
";

fn laid(folder: &Path, parts: [&[u8]; 4]) -> (std::path::PathBuf, Choices) {
    let write = |name: &str, part: &[u8]| {
        let path = folder.join(name);
        fs::write(&path, part).expect("written");
        path
    };
    let [manual, units, style, printer] = parts;
    let manual = write("manual.md", manual);
    let choices = Choices {
        units: Some(write("units.csv", units)),
        style: Some(write("style.toml", style).display().to_string()),
        printer: Some(write("printer.toml", printer).display().to_string()),
        project: None,
        unsaved: None,
    };
    (manual, choices)
}

/// What comes of four files: strips, or one error that says something.
fn tried(parts: [&[u8]; 4]) -> Result<usize, Error> {
    let folder = tempfile::tempdir().expect("a folder");
    let (manual, choices) = laid(folder.path(), parts);
    let press = Prepress::open(&manual, &choices)?;
    let mut strips = 0;
    for (unit, number) in press.chosen(None)?.into_iter().take(2) {
        let made = press.draft(unit, number)?;
        assert_eq!(made.strip.bitmap.width(), press.profile.dots);
        strips += 1;
    }
    Ok(strips)
}

#[test]
fn good_files_give_a_strip_for_every_unit() {
    let folder = tempfile::tempdir().expect("a folder");
    let good = [MANUAL, UNITS, STYLE, PRINTER].map(str::as_bytes);
    let (manual, choices) = laid(folder.path(), good);
    let press = Prepress::open(&manual, &choices).expect("good files");
    let chosen = press.chosen(None).expect("two units");
    assert_eq!(chosen.len(), 2);
    let strips: Vec<_> =
        chosen.into_iter().map(|(unit, number)| press.strip(unit, number).expect("a strip").strip.bitmap).collect();
    assert_eq!(strips[0].width(), 400);
    assert_ne!(strips[0], strips[1], "the serial number is on it");
}

#[test]
fn what_cannot_be_used_is_said_with_its_place() {
    let file = |error: Error| {
        let trouble = error.trouble().clone();
        (trouble.place.map(|place| (place.file, place.line)), trouble.message)
    };
    let folder = tempfile::tempdir().expect("a folder");
    let (manual, choices) = laid(folder.path(), [MANUAL, UNITS, STYLE, PRINTER].map(str::as_bytes));
    let open = |choices: Choices| Prepress::open(&manual, &choices).err().expect("refused");
    let (place, message) = file(open(Choices { style: Some("gothic".into()), ..choices.clone() }));
    assert_eq!((place, message.contains("gothic")), (None, true));
    assert!(matches!(open(Choices { printer: Some("90mm".into()), ..choices.clone() }), Error::Usage(_)));
    fs::write(&manual, "+++\ntitle = \n+++\n\n# Heron\n").expect("written");
    let (place, message) = file(open(choices));
    let (name, line) = place.unwrap_or_else(|| panic!("no place: {message}"));
    assert!(name == "manual.md" && line == 2, "{name}:{line}: {message}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    /// One of the four files is cut, doubled or has bytes at random in it: strips come, or an error in words.
    #[test]
    fn whatever_the_files_hold_there_are_strips_or_words(
        which in 0usize..4, from in 0usize..400, length in 0usize..60, bytes in proptest::collection::vec(any::<u8>(), 0..12),
    ) {
        let mut parts = [MANUAL, UNITS, STYLE, PRINTER].map(|part| part.as_bytes().to_vec());
        let part = &mut parts[which];
        let from = from.min(part.len());
        let to = (from + length).min(part.len());
        part.splice(from..to, bytes);
        match tried([&parts[0], &parts[1], &parts[2], &parts[3]]) {
            Ok(_) => {}
            Err(error) => {
                let trouble = error.trouble();
                prop_assert!(!trouble.message.trim().is_empty());
                prop_assert!(trouble.place.as_ref().is_none_or(|place| place.line >= 1 && place.column >= 1), "{trouble:?}");
            }
        }
    }
}
