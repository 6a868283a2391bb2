//! The lasting copy of any manual as PDF: the same file twice, whole from its head to its end, or one line of words.
#![no_main]

use libfuzzer_sys::{Corpus, fuzz_target};
use stripling::copy::{self, pdf};
use stripling::manual::{self, Folder, Template};
use stripling::pictures::PictureSet;
use stripling::type_setting::{self, Faces};

const DRAWING: &[u8] = br##"<svg xmlns="http://www.w3.org/2000/svg" width="40" height="30"><path d="M2 2C9 9 20 0 30 20" stroke="#000" fill="none"/></svg>"##;

fuzz_target!(|bytes: &[u8]| -> Corpus {
    let Ok(text) = std::str::from_utf8(bytes) else { return Corpus::Reject };
    let folder = Folder::of_files([("a.md", text.as_bytes()), ("a.svg", DRAWING), ("a.png", b"\x89PNG broken".as_slice())]);
    let Ok(template) = Template::load(&folder, "a.md") else { return Corpus::Reject };
    let Ok(source) = template.fill_for_all(None, copy::words_for_units) else { return Corpus::Reject };
    let Ok(document) = manual::parse(&source) else { return Corpus::Reject };
    let make = || {
        let pictures = PictureSet::open(folder.clone(), type_setting::FONT_FILES);
        let faces = pdf::as_designed(Faces::new(pdf::FINE));
        pdf::pdf(&document, &pictures, faces, "a", pdf::Sheet::of(document.header.language.as_deref()))
    };
    match (make(), make()) {
        (Ok(made), Ok(again)) => {
            assert!(made.bytes.starts_with(b"%PDF-1.7") && made.bytes.trim_ascii_end().ends_with(b"%%EOF"));
            assert_eq!(made.bytes, again.bytes);
            for remark in &made.remarks {
                source.locate(remark.span.start);
            }
        }
        (Err(why), Err(again)) => {
            assert!(!why.trim().is_empty() && !why.contains('\n'), "{why:?}");
            assert_eq!(why, again);
        }
        _ => panic!("made once, and once not"),
    }
    Corpus::Keep
});
