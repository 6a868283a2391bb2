//! A drawing as a picture: refused in words, or as many dots as were asked for, the same ones every time.
#![no_main]

use std::time::{Duration, Instant};

use libfuzzer_sys::{Corpus, fuzz_target};
use stripling::lengths::{Dots, Paper, Resolution};
use stripling::manual::Folder;
use stripling::manual::document::Treatment;
use stripling::pictures::{PictureSet, Request, load};
use stripling::type_setting::FONT_FILES;

fuzz_target!(|bytes: &[u8]| -> Corpus {
    if !load::is_drawing(bytes) {
        return Corpus::Reject;
    }
    let begun = Instant::now();
    let request = Request {
        crop: None,
        width: Dots(96),
        height: Dots(64),
        treatment: Treatment::default(),
        screen: None,
        paper: Paper { width: Dots(576), resolution: Resolution::EIGHT, dot_gain: 120.into() },
    };
    let screened = || {
        let pictures = PictureSet::open(Folder::of_files([("a.svg", bytes)]), FONT_FILES);
        let info = pictures.look("a.svg");
        if let Ok(info) = &info {
            assert!(info.vector && info.width > 0 && info.height > 0);
        }
        pictures.screen("a.svg", &request)
    };
    match screened() {
        Ok(once) => {
            assert_eq!((once.bitmap.width(), once.bitmap.height()), (96, 64));
            assert!(once.black <= 1000 && once.clogged <= 1000 && once.washed_out <= 1000);
            let again = screened().expect("it was taken before");
            assert_eq!(once.bitmap, again.bitmap, "the same drawing gives other dots");
        }
        Err(error) => {
            let told = error.to_string();
            assert!(told.contains("a.svg") && !told.contains(char::is_control), "{told:?}");
        }
    }
    assert!(begun.elapsed() < Duration::from_secs(6), "a drawing of {} bytes took {:?}", bytes.len(), begun.elapsed());
    Corpus::Keep
});
