//! A guide with HTML in it: whatever tags stand in it, it is read, each place in it lies inside of the text, and no word is made up.
#![no_main]

use libfuzzer_sys::{Corpus, fuzz_target};
use stripling::manual;

/// What a tag may add to the words: the line that names a film, marks between cells.
const SAID_OF_A_TAG: usize = 16;

fuzz_target!(|bytes: &[u8]| -> Corpus {
    let Ok(text) = std::str::from_utf8(bytes) else { return Corpus::Reject };
    if text.starts_with("+++") || text.contains("```") {
        return Corpus::Reject;
    }
    let source = match manual::read_text("guide.md", text) {
        Ok(source) => source,
        Err(_) => return Corpus::Reject,
    };
    let document = manual::parse(&source).expect("HTML is never refused");
    let inside = |start: u32, end: u32| start <= end && end as usize <= source.text.len();
    document.walk(&mut |span, _| assert!(inside(span.start, span.end), "a block at {span:?} of {}", source.text.len()));
    document.walk_inlines(&mut |span, _| assert!(inside(span.start, span.end), "words at {span:?} of {}", source.text.len()));
    for remark in &document.remarks {
        assert!(inside(remark.span.start, remark.span.end), "{remark:?}");
        source.locate(remark.span.start);
    }
    let said = document.text().len();
    assert!(said <= source.text.len() * SAID_OF_A_TAG + 64, "{said} bytes are said of {}", source.text.len());
    // Read again, it is the same.
    assert_eq!(manual::parse(&source).expect("it was read before").blocks, document.blocks);
    Corpus::Keep
});
