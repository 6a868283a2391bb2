//! The TOML between two lines of `+++`: whatever it holds, it is read or refused with a place inside of the file.
#![no_main]

use libfuzzer_sys::{Corpus, fuzz_target};
use stripling::manual;

fuzz_target!(|bytes: &[u8]| -> Corpus {
    let Ok(toml) = std::str::from_utf8(bytes) else { return Corpus::Reject };
    let text = format!("+++\n{toml}\n+++\n\n# Heron\n\nWords.\n");
    let lines = text.matches('\n').count() as u32 + 1;
    let read = manual::read_text("a.md", &text).and_then(|source| Ok((manual::parse(&source)?, source)));
    match read {
        Ok((document, source)) => {
            for span in document.header.spans.values().chain(document.remarks.iter().map(|remark| &remark.span)) {
                assert!(span.start <= span.end && span.end as usize <= source.text.len(), "{span:?} lies outside of the text");
                assert!(source.locate(span.start).line <= lines);
            }
            // A key says the same however often it is read.
            assert_eq!(manual::parse(&source).expect("it was read before").header, document.header);
        }
        Err(error) => {
            let place = error.place().expect("what is wrong in a header is somewhere");
            assert!((1..=lines).contains(&place.line) && place.column >= 1, "{error} at {place}");
            assert!(!error.to_string().is_empty());
        }
    }
    Corpus::Keep
});
