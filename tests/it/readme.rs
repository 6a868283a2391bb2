//! The picture of the README: the first panels of Heron's guide as they would lie on a table.

use std::fs;
use std::io::Cursor;
use std::path::Path;

use crate::{golden, manuals};
use stripling::lengths::Dots;
use stripling::manual::document::{Screen, Treatment};
use stripling::manual::folder::Folder;
use stripling::pictures::{PictureSet, Request};
use stripling::printer::Profile;
use stripling::strip::paper;

/// Rows of the picture.
const ROWS: u32 = 1560;

/// The first rows of a picture with a palette.
struct Shown {
    width: u32,
    /// A byte a pixel.
    pixels: Vec<u8>,
    palette: Vec<u8>,
    alphas: Vec<u8>,
}

impl Shown {
    fn read(bytes: &[u8]) -> Shown {
        let mut decoder = png::Decoder::new(Cursor::new(bytes));
        decoder.set_transformations(png::Transformations::IDENTITY);
        let mut reader = decoder.read_info().expect("a PNG");
        let width = reader.info().width;
        let mut pixels = Vec::new();
        for _ in 0..ROWS {
            pixels.extend_from_slice(reader.next_row().expect("sound").expect("enough rows").data());
        }
        let table = |table: &Option<std::borrow::Cow<[u8]>>| table.as_ref().expect("a palette").to_vec();
        Shown { width, pixels, palette: table(&reader.info().palette), alphas: table(&reader.info().trns) }
    }

    fn write(&self) -> Vec<u8> {
        let mut bytes = Vec::new();
        let mut encoder = png::Encoder::new(&mut bytes, self.width, ROWS);
        encoder.set_color(png::ColorType::Indexed);
        encoder.set_palette(self.palette.clone());
        encoder.set_trns(self.alphas.clone());
        encoder.set_compression(png::Compression::High);
        encoder.set_filter(png::Filter::NoFilter);
        let mut writer = encoder.write_header().expect("a header");
        writer.write_image_data(&self.pixels).expect("rows");
        writer.finish().expect("an end");
        bytes
    }
}

#[test]
fn the_picture_of_the_readme_is_what_the_program_makes() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let press = manuals::press(&root.join("manuals/heron/heron.md"), None, None);
    let made = manuals::drafted(&press);
    let width = press.profile.resolution.dots(press.profile.paper_width);
    let shown = Shown::read(&paper::write(&made.strip, width).expect("short enough"));
    let kept = root.join("tests/golden/readme/heron.png");
    if std::env::var_os("STRIPLING_ACCEPT_GOLDEN").is_some_and(|value| value == "1") {
        fs::write(&kept, shown.write()).expect("written");
    }
    let golden = Shown::read(&fs::read(&kept).expect("a picture"));
    let alike = golden.pixels == shown.pixels && golden.palette == shown.palette;
    let fresh = root.join("target/golden/readme-heron.png");
    if !alike {
        fs::create_dir_all(fresh.parent().expect("a folder")).expect("made");
        fs::write(&fresh, shown.write()).expect("written");
    }
    assert!(alike, "it is otherwise than {}: look at it, then accept it with STRIPLING_ACCEPT_GOLDEN=1", fresh.display());
}

/// Heron's photograph in the screens that the README shows side by side.
#[test]
fn the_photograph_of_the_readme_in_its_screens() {
    let folder = Folder::open(&Path::new(env!("CARGO_MANIFEST_DIR")).join("manuals/heron")).expect("the manual's folder");
    let pictures = PictureSet::open(folder, &[]);
    let paper = Profile::named("80mm").expect("a printer").paper();
    for (name, screen) in [
        ("photo", Screen::Photo),
        ("halftone", Screen::Halftone),
        ("drawing", Screen::Drawing),
        ("line", Screen::Line),
        ("ink", Screen::Ink),
    ] {
        let (width, height, treatment) = (Dots(384), Dots(359), Treatment::default());
        let request = Request { crop: None, width, height, screen: Some(screen), treatment, paper };
        let screened = pictures.screen("heron.png", &request).expect("dots");
        golden::compare(&format!("readme/screen-{name}"), &screened.bitmap);
    }
}
