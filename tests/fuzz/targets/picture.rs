//! PNG, JPEG, WebP and GIF files: refused in words, or as many dots as were asked for.
#![no_main]

use libfuzzer_sys::fuzz_target;
use stripling::lengths::{Dots, Paper, Resolution};
use stripling::manual::Folder;
use stripling::manual::document::{Screen, Treatment};
use stripling::pictures::{PictureSet, Request};

fuzz_target!(|bytes: &[u8]| {
    let pictures = PictureSet::open(Folder::of_files([("a.png", bytes)]), &[]);
    let paper = Paper { width: Dots(576), resolution: Resolution::EIGHT, dot_gain: 120.into() };
    let screen = [None, Some(Screen::Photo), Some(Screen::Line), Some(Screen::None)][bytes.len() % 4];
    let request = Request { crop: None, width: Dots(80), height: Dots(48), screen, treatment: Treatment::default(), paper };
    match pictures.look("a.png") {
        Ok(info) => {
            assert!(info.width > 0 && info.height > 0 && u64::from(info.width) * u64::from(info.height) <= 300_000_000);
            match pictures.screen("a.png", &request) {
                Ok(screened) if screen == Some(Screen::None) => assert_eq!(screened.bitmap.width(), info.width),
                Ok(screened) => assert_eq!((screened.bitmap.width(), screened.bitmap.height()), (80, 48)),
                // As many dots as pixels may be too many.
                Err(error) => assert!(screen == Some(Screen::None), "a picture that was taken is refused: {error}"),
            }
        }
        Err(error) => {
            let told = error.to_string();
            assert!(told.contains("a.png") && !told.contains(char::is_control), "{told:?}");
            assert!(pictures.screen("a.png", &request).is_err());
        }
    }
});
