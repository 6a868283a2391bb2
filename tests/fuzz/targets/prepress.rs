//! The way from files to strips at its door: a manual, a table of units, a style and a printer's file, parted by bytes 0. Whatever they
//! hold, there is a strip for each unit, or one error in words with a place inside a file that was given.
#![no_main]

use std::path::PathBuf;

use libfuzzer_sys::{Corpus, fuzz_target};
use stripling::prepress::{Choices, Prepress};

fuzz_target!(|bytes: &[u8]| -> Corpus {
    let mut parts = bytes.splitn(4, |&byte| byte == 0);
    let Ok(folder) = tempfile::tempdir() else { return Corpus::Reject };
    let mut written = |name: &str| -> Option<PathBuf> {
        let path = folder.path().join(name);
        let part = parts.next().filter(|part| !part.is_empty())?;
        std::fs::write(&path, part).ok().map(|()| path)
    };
    let Some(manual) = written("manual.md") else { return Corpus::Reject };
    let named = |path: PathBuf| path.display().to_string();
    let choices = Choices {
        units: written("units.csv"),
        style: written("style.toml").map(named),
        printer: written("printer.toml").map(named),
        project: None,
        unsaved: None,
    };
    let press = match Prepress::open(&manual, &choices) {
        Ok(press) => press,
        Err(error) => {
            let trouble = error.trouble();
            assert!(!trouble.message.is_empty());
            assert!(trouble.place.as_ref().is_none_or(|place| place.line >= 1 && place.column >= 1), "{trouble:?}");
            return Corpus::Keep;
        }
    };
    let chosen = press.chosen(None).expect("all units are there");
    for (unit, number) in chosen.into_iter().take(3) {
        match press.draft(unit, number) {
            Ok(made) => assert_eq!(made.strip.bitmap.width(), press.profile.dots),
            Err(error) => assert!(!error.trouble().message.is_empty()),
        }
    }
    Corpus::Keep
});
