//! Answers of a person to `makeready`: any text is read or refused in one line with its place; what is read becomes a printer's file that is
//! read again, and answers written again are the same.
#![no_main]

use libfuzzer_sys::fuzz_target;
use stripling::makeready::answers::Answers;
use stripling::makeready::asking::Heard;
use stripling::makeready::outcome::conclude;
use stripling::printer::Profile;

fuzz_target!(|text: &str| match Answers::read(text, "a.toml") {
    Ok((answers, _)) => {
        let written = Answers::default().written_over_by(&answers);
        let (again, notices) = Answers::read(&written, "a.toml").expect("its own words");
        assert!(notices.is_empty());
        assert_eq!(Answers::default().written_over_by(&again), written);
        if let Ok(outcome) = conclude(&answers, &Heard::default(), "bench.toml", Some(500.0)) {
            let (profile, notices) = Profile::read_toml(&outcome.text, "bench.toml").expect("a file that works");
            assert!(profile == outcome.profile && notices.is_empty());
        }
    }
    Err(error) => assert!(error.place().is_some() && !error.to_string().is_empty()),
});
