//! The lasting copy of any manual: a browser's parser finds no element and no attribute that is not known, nothing that is asked for, no
//! link but to the web, to people and to headings; and it is the same page twice.
#![no_main]

use libfuzzer_sys::{Corpus, fuzz_target};
use stripling::copy;
use stripling::manual::{self, Folder, Template};
use stripling::pictures::PictureSet;
use stripling::type_setting;

#[path = "../../it/copied.rs"]
mod copied;

const DRAWING: &[u8] = br##"<svg xmlns="http://www.w3.org/2000/svg" width="40" height="30"><path d="M2 2C9 9 20 0 30 20" stroke="#000" fill="none"/></svg>"##;

fuzz_target!(|bytes: &[u8]| -> Corpus {
    let Ok(text) = std::str::from_utf8(bytes) else { return Corpus::Reject };
    let folder = Folder::of_files([("a.md", text.as_bytes()), ("a.svg", DRAWING), ("a.png", b"\x89PNG broken".as_slice())]);
    let Ok(template) = Template::load(&folder, "a.md") else { return Corpus::Reject };
    let Ok(source) = template.fill_for_all(None, copy::words_for_units) else { return Corpus::Reject };
    let Ok(document) = manual::parse(&source) else { return Corpus::Reject };
    let make = || copy::html(&document, &PictureSet::open(folder.clone(), type_setting::FONT_FILES), "a");
    let made = make();
    let page = copied::read(&made.html);
    assert!(page.wrong.is_empty(), "{:?}", page.wrong);
    for remark in &made.remarks {
        source.locate(remark.span.start);
    }
    assert_eq!(make().html, made.html);
    Corpus::Keep
});
