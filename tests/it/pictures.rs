//! Pictures from files: every kind that is read, upright, on white, in light; every kind of bad file refused in plain words.

use std::fs;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use stripling::lengths::{Dots, Paper, Resolution};
use stripling::manual::document::{Pen, Screen, Treatment};
use stripling::manual::folder::Folder;
use stripling::pictures::load::{self, Need, Reduced, Remark};
use stripling::pictures::tone::{Light, to_linear};
use stripling::pictures::{Error, PictureSet, Request, Screened};

use crate::manuals;

/// Made by tests/data/pictures/make.py: four fields, 24 x 16 pixels.
fn data() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/pictures")
}

/// Every pixel.
fn decode(bytes: &[u8], name: &str) -> Result<Reduced, Error> {
    load::decode(bytes, name, &load::head(bytes, name)?, &Need::ALL)
}

fn loaded(name: &str) -> (Light, Vec<Remark>) {
    let bytes = fs::read(data().join(name)).expect(name);
    let loaded = decode(&bytes, name).unwrap_or_else(|error| panic!("{name}: {error}"));
    (loaded.light, loaded.remarks)
}

/// sRGB values of the middles of the four fields, found back from linear light.
fn fields(light: &Light) -> [i32; 4] {
    assert_eq!((light.width, light.height), (24, 16));
    let srgb = |x: usize, y: usize| {
        let value = i64::from(light.light[y * 24 + x]);
        (0..256).min_by_key(|&step| (i64::from(to_linear(f64::from(step) / 255.0)) - value).abs()).unwrap_or(0)
    };
    [srgb(6, 4), srgb(18, 4), srgb(6, 12), srgb(18, 12)]
}

fn near(name: &str, wanted: [i32; 4], off: i32) {
    let seen = fields(&loaded(name).0);
    assert!(seen.iter().zip(wanted).all(|(seen, wanted)| (seen - wanted).abs() <= off), "{name}: {seen:?}, not {wanted:?}");
}

/// A set of pictures on a folder of its own, and the folder.
fn pictures(files: &[(&str, &[u8])]) -> (tempfile::TempDir, PictureSet) {
    let folder = tempfile::tempdir().unwrap();
    for (name, bytes) in files {
        fs::write(folder.path().join(name), bytes).unwrap();
    }
    let pictures = PictureSet::open(Folder::open(folder.path()).unwrap(), &[]);
    (folder, pictures)
}

fn request(width: i32, height: i32, screen: Option<Screen>) -> Request {
    let paper = Paper { width: Dots(576), resolution: Resolution::EIGHT, dot_gain: 120.into() };
    Request { crop: None, width: Dots(width), height: Dots(height), screen, treatment: Treatment::default(), paper }
}

fn drawing(inside: &str) -> String {
    format!(
        "<svg xmlns='http://www.w3.org/2000/svg' xmlns:xlink='http://www.w3.org/1999/xlink' width='100' height='80'>{inside}</svg>"
    )
}

fn look(svg: &str) -> Result<Screened, Error> {
    let (_folder, pictures) = pictures(&[("a.svg", svg.as_bytes())]);
    pictures.screen("a.svg", &request(100, 80, None)).map(|screened| (*screened).clone())
}

#[test]
fn all_eight_orientations_come_out_upright() {
    for orientation in 1..=8 {
        near(&format!("turned-{orientation}.jpg"), [0, 85, 170, 255], 6);
    }
    near("turned-6.png", [0, 85, 170, 255], 0);
    near("turned-6.webp", [0, 85, 170, 255], 0);
}

#[test]
fn colours_become_grey_by_the_luma_of_their_light() {
    // ITU-R BT.709 on linear light: 0.2126, 0.7152, 0.0722; in sRGB that is 127, 220, 76 (IEC 61966-2-1).
    let wanted = [127, 220, 76, 255];
    for name in ["colour.png", "colour.webp", "palette.png", "two-frames.gif"] {
        near(name, wanted, 1);
    }
    for name in ["colour.jpg", "progressive.jpg", "colour-lossy.webp"] {
        near(name, wanted, 8);
    }
}

#[test]
fn depths_and_palettes_are_read() {
    near("grey-16.png", [0, 85, 170, 255], 0);
    near("one-bit.png", [0, 255, 255, 0], 0);
}

#[test]
fn what_is_clear_is_white_paper_and_half_clear_is_half_the_light() {
    // Half black ink on white leaves half the light: 0.498 of it is 187 in sRGB (IEC 61966-2-1), not 127.
    for name in ["alpha.png", "alpha.webp", "grey-alpha.png"] {
        near(name, [255, 187, 0, 255], 1);
    }
    near("holes.png", [255, 85, 170, 255], 0);
}

#[test]
fn inks_are_read_the_right_way_round_and_remarked_on() {
    for (name, wanted) in [("inks.jpg", [0, 85, 170, 255]), ("inks-ycck.jpg", [127, 220, 76, 255])] {
        near(name, wanted, 12);
        assert_eq!(loaded(name).1, [Remark::Cmyk], "{name}");
    }
}

#[test]
fn a_profile_is_followed_without_a_word() {
    // Red, green and blue of Display P3 (SMPTE EG 432-1) and Adobe RGB (1998) give 0.2290, 0.6917, 0.0793 and 0.2973, 0.6274, 0.0753 of the
    // light (computed from their primaries at D65); in sRGB that is this. The profiles hold no curves, so sRGB's is taken.
    for (name, wanted) in [("near-profile.png", [132, 217, 80, 255]), ("far-profile.png", [148, 207, 78, 255])] {
        near(name, wanted, 1);
        assert_eq!(loaded(name).1, [], "{name}");
    }
}

#[test]
fn a_picture_cut_short_anywhere_is_refused_or_whole_but_never_a_panic() {
    for name in [
        "colour.png",
        "colour.jpg",
        "progressive.jpg",
        "colour.webp",
        "colour-lossy.webp",
        "two-frames.gif",
        "inks.jpg",
        "turned-6.png",
    ] {
        let bytes = fs::read(data().join(name)).unwrap();
        for length in 0..bytes.len() {
            let cut = decode(&bytes[..length], name);
            assert!(cut.is_err() || length * 2 > bytes.len(), "{name} cut to {length} of {} is taken", bytes.len());
        }
        let half = decode(&bytes[..bytes.len() * 2 / 3], name);
        assert!(matches!(half, Err(Error::Broken { .. })) || name == "two-frames.gif", "{name} at two thirds");
    }
}

#[test]
fn a_picture_with_any_byte_changed_never_panics() {
    for name in [
        "colour.png",
        "colour.jpg",
        "progressive.jpg",
        "colour.webp",
        "colour-lossy.webp",
        "two-frames.gif",
        "inks.jpg",
        "turned-6.webp",
    ] {
        let bytes = fs::read(data().join(name)).unwrap();
        for at in 0..bytes.len() {
            for flip in [0x01, 0x80, 0xFF] {
                let mut changed = bytes.clone();
                changed[at] ^= flip;
                let _either_way = decode(&changed, name);
            }
        }
    }
}

#[test]
fn bombs_are_refused_at_once() {
    let begun = Instant::now();
    for name in ["bomb-wide.png", "bomb-deep.png", "bomb.gif", "bomb.jpg"] {
        let bytes = fs::read(data().join(name)).unwrap();
        let error = decode(&bytes, name).unwrap_err();
        // The deep one is read row by row, takes no memory, and ends before its picture does.
        let refused =
            if name == "bomb-deep.png" { matches!(error, Error::Broken { .. }) } else { matches!(error, Error::TooLarge { .. }) };
        assert!(refused, "{name}: {error}");
        assert!(error.hint().is_some());
    }
    assert!(begun.elapsed() < Duration::from_secs(60));
}

#[test]
fn what_is_no_picture_says_so() {
    let (_folder, pictures) = pictures(&[("a.png", b"hello"), ("page.svg", b"<p><svg/></p>")]);
    for name in ["a.png", "page.svg"] {
        let error = pictures.look(name).unwrap_err();
        assert_eq!(error, Error::UnknownKind { address: name.into(), other: None });
    }
    for name in ["missing.png", "../secret.png", "/etc/passwd"] {
        assert!(matches!(pictures.look(name).unwrap_err(), Error::Unreadable { .. }), "{name}");
    }
}

/// First bytes by ISO/IEC 14496-12 and 23008-12 (`ftyp` and its brands), TIFF 6.0, ISO 32000-1, ISO/IEC 18181-2, 15444-1; BMP, PSD, WebM and large file
/// pointers from memory.
#[test]
fn kinds_that_telephones_and_desks_make_are_refused_by_their_names_with_a_way_out() {
    for (bytes, name, hint) in [
        (&b"\0\0\0\x24ftypheic\0\0\0\0mif1heic"[..], "a HEIC picture", "most compatible"),
        (b"\0\0\0\x1cftypmif1\0\0\0\0mif1heix", "a HEIC picture", "JPEG"),
        (b"\0\0\0\x1cftypmif1\0\0\0\0mif1miaf", "a HEIF picture", "JPEG"),
        (b"\0\0\0\x1cftypavif\0\0\0\0mif1avif", "an AVIF picture", "JPEG or PNG"),
        (b"\0\0\0\x18ftypmp42\0\0\0\0mp42isom", "a video", "-frames:v 1"),
        (b"\0\0\0\x14ftypqt  \0\0\0\0", "a video", "-frames:v 1"),
        (b"II*\0\x08\0\0\0", "a TIFF or a camera's raw picture", "JPEG"),
        (b"MM\0*\0\0\0\x08", "a TIFF or a camera's raw picture", "JPEG"),
        (b"\0\0\0\x0cJXL \r\n\x87\n", "a JPEG XL picture", "JPEG"),
        (b"%PDF-1.7\n", "a PDF", "SVG or PNG"),
        (b"BM\x36\0\0\0", "a BMP picture", "PNG"),
        (b"version https://git-lfs.github.com/spec/v1\noid sha256:0\n", "a pointer to a large file", "git lfs pull"),
        (b"\n<!DOCTYPE html><html>404</html>", "a web page", "picture itself"),
        (b"", "an empty file", "no bytes"),
    ] {
        let (_folder, pictures) = pictures(&[("photo.jpg", bytes)]);
        let error = pictures.look("photo.jpg").unwrap_err();
        assert_eq!(error.to_string(), format!("`photo.jpg` is {name}, which is not read"));
        assert!(error.hint().is_some_and(|words| words.contains(hint)), "{name}: {:?}", error.hint());
    }
}

#[test]
fn the_content_tells_the_kind_whatever_the_name() {
    let png = fs::read(data().join("colour.png")).unwrap();
    let svg =
        "\u{FEFF}<?xml version='1.0'?>\n<!-- a <svg> drawing -->\n<!DOCTYPE svg [<!ENTITY a 'b'>]>\n".to_string() + &drawing("");
    let (_folder, pictures) = pictures(&[("a.jpg", &png), ("b.png", svg.as_bytes())]);
    assert!(!pictures.look("a.jpg").unwrap().vector);
    let info = pictures.look("b.png").unwrap();
    assert!(info.vector);
    assert_eq!((info.width, info.height), (1000, 800), "the proportions");
}

#[test]
fn a_changed_file_is_read_again_and_an_unchanged_one_is_not() {
    let (folder, pictures) = pictures(&[("a.svg", drawing("").as_bytes())]);
    let first = pictures.look("a.svg").unwrap();
    assert_eq!(first, pictures.look("a.svg").unwrap());
    assert!(std::sync::Arc::ptr_eq(&first, &pictures.look("a.svg").unwrap()));
    fs::write(folder.path().join("a.svg"), drawing("<rect width='9' height='9'/>")).unwrap();
    assert_ne!(first.id, pictures.look("a.svg").unwrap().id);
}

#[test]
fn the_same_request_gives_the_same_dots_on_any_number_of_threads() {
    let (_folder, pictures) = pictures(&[("a.png", &fs::read(data().join("colour.png")).unwrap())]);
    let ask = request(200, 133, Some(Screen::Photo));
    let one = rayon::ThreadPoolBuilder::new().num_threads(1).build().unwrap().install(|| pictures.screen("a.png", &ask).unwrap());
    let (_other_folder, other) = self::pictures(&[("a.png", &fs::read(data().join("colour.png")).unwrap())]);
    let four = rayon::ThreadPoolBuilder::new().num_threads(4).build().unwrap().install(|| other.screen("a.png", &ask).unwrap());
    assert_eq!(one, four);
    assert!(std::sync::Arc::ptr_eq(&one, &pictures.screen("a.png", &ask).unwrap()));
}

#[test]
fn a_crop_shows_its_part_and_an_empty_one_is_refused() {
    let (_folder, pictures) = pictures(&[("a.png", &fs::read(data().join("one-bit.png")).unwrap())]);
    let cut =
        |crop: [i32; 4]| pictures.screen("a.png", &Request { crop: Some(crop.into()), ..request(40, 40, Some(Screen::Ink)) });
    assert_eq!(cut([0, 0, 500, 500]).unwrap().black, 1000);
    assert_eq!(cut([500, 0, 500, 500]).unwrap().black, 0);
    assert_eq!(cut([500, 0, 9000, 500]).unwrap().black, 0, "what lies outside is left off");
    for crop in [[0, 0, 0, 1000], [1000, 0, 100, 1000], [0, 0, -5, 1000], [i32::MAX, 0, i32::MAX, 1000]] {
        assert_eq!(cut(crop).unwrap_err(), Error::Crop { address: "a.png".into() });
    }
    for (width, height) in [(0, 10), (10, -1), (100_000, 100_000)] {
        assert!(matches!(pictures.screen("a.png", &request(width, height, None)).unwrap_err(), Error::Room { .. }));
    }
}

#[test]
fn without_a_screen_a_pixel_is_a_dot() {
    let (_folder, pictures) = pictures(&[("a.png", &fs::read(data().join("one-bit.png")).unwrap())]);
    let screened = pictures.screen("a.png", &request(480, 320, Some(Screen::None))).unwrap();
    assert_eq!((screened.bitmap.width(), screened.bitmap.height(), screened.enlarged), (24, 16, false));
    for (x, y, black) in [(0, 0, true), (11, 7, true), (12, 7, false), (11, 8, false), (12, 8, true), (23, 15, true)] {
        assert_eq!(screened.bitmap.get(x, y), black);
    }
    assert!(pictures.screen("a.png", &request(480, 320, Some(Screen::Photo))).unwrap().enlarged);
}

#[test]
fn a_drawing_reads_no_other_file_and_asks_no_network() {
    let (folder, pictures) = pictures(&[("secret.png", &fs::read(data().join("one-bit.png")).unwrap())]);
    let path = folder.path().join("secret.png");
    for href in ["secret.png", path.to_str().unwrap(), &format!("file://{}", path.display()), "https://example.com/a.png"] {
        let svg = drawing(&format!("<image xlink:href='{href}' width='100' height='80'/>"));
        fs::write(folder.path().join("a.svg"), svg).unwrap();
        let screened = pictures.screen("a.svg", &request(100, 80, Some(Screen::Ink))).unwrap();
        assert_eq!(screened.black, 0, "{href}");
        assert_eq!(screened.remarks, [Remark::OutsideReference], "{href}");
    }
    let entity = "<!DOCTYPE svg [<!ENTITY x SYSTEM 'file:///etc/passwd'>]>".to_string() + &drawing("<text>&x;</text>");
    assert!(look(&entity).is_err() || look(&entity).unwrap().black == 0);
    let embedded = drawing(
        "<image xlink:href='data:image/png;base64,iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAAAAAA6fptVAAAACklEQVR4nGNgAAAAAgABSK+kcQAAAABJRU5ErkJggg==' width='100' height='80'/>",
    );
    // A square picture in a frame of 100 x 80 keeps its shape: 80 x 80 of it are black.
    let screened = look(&embedded).unwrap();
    assert_eq!((screened.black, screened.used, screened.remarks.len()), (800, Screen::Photo, 0));
}

#[test]
fn drawings_that_would_explode_are_refused_in_time() {
    let laughs = {
        let mut entities = String::from("<!ENTITY a0 'ha'>");
        for level in 1..20 {
            entities += &format!("<!ENTITY a{level} '{}'>", format!("&a{};", level - 1).repeat(10));
        }
        format!("<!DOCTYPE svg [{entities}]>{}", drawing("<text>&a19;</text>"))
    };
    let uses = {
        let mut inside = String::from("<defs><rect id='u0' width='1' height='1'/>");
        for level in 1..20 {
            inside += &format!("<g id='u{level}'>{}</g>", format!("<use xlink:href='#u{}'/>", level - 1).repeat(10));
        }
        drawing(&(inside + "</defs><use xlink:href='#u19'/>"))
    };
    let patterns = {
        let mut inside = String::from("<defs>");
        for level in 1..9 {
            let fill = format!("<rect width='9' height='9' fill='url(#p{})'/>", level - 1).repeat(10);
            inside += &format!("<pattern id='p{level}' width='9' height='9' patternUnits='userSpaceOnUse'>{fill}</pattern>");
        }
        drawing(&(inside + "</defs><rect width='99' height='99' fill='url(#p8)'/>"))
    };
    let deep = drawing(&("<g>".repeat(100_000) + &"</g>".repeat(100_000)));
    let circle = drawing("<g id='a'><use xlink:href='#a'/></g>");
    let many = drawing(&"<path d='M0 0'/>".repeat(150_000));
    let effects = drawing(&format!("<filter id='f'>{}</filter>", "<feGaussianBlur stdDeviation='900'/>".repeat(1000)));
    let huge = "<svg xmlns='http://www.w3.org/2000/svg' width='1e30' height='5'/>".to_string();
    let bad = [
        ("entities", laughs),
        ("uses", uses),
        ("patterns", patterns),
        ("deep", deep),
        ("circle", circle),
        ("many", many),
        ("effects", effects),
        ("huge", huge),
    ];
    for (name, svg) in bad {
        let begun = Instant::now();
        let error = look(&svg).expect_err(name);
        assert!(matches!(error, Error::Drawing { .. } | Error::UnknownKind { .. }), "{name}: {error}");
        assert!(begun.elapsed() < Duration::from_secs(60), "{name} took {:?}", begun.elapsed());
    }
}

#[test]
fn broken_drawings_say_where() {
    let error = look("<svg xmlns='http://www.w3.org/2000/svg'>\n<rect></svg>").unwrap_err();
    assert!(error.to_string().contains("2:"), "{error}");
    let (_folder, pictures) = pictures(&[("a.svg", b"<svg \xFF\xFE/>")]);
    assert!(pictures.look("a.svg").unwrap_err().to_string().contains("not UTF-8 at byte 5"));
}

#[test]
fn a_line_drawing_gets_line_greys_get_spots_and_pixels_get_photo() {
    let used = |inside: &str| look(&drawing(inside)).unwrap().used;
    assert_eq!(used("<path d='M5 5H90V70Z' fill='none' stroke='#000' stroke-width='2'/>"), Screen::Line);
    assert_eq!(used("<rect width='60' height='60' fill='#999'/>"), Screen::Halftone);
    assert_eq!(
        used(
            "<linearGradient id='g'><stop stop-color='#000'/><stop offset='1' stop-color='#fff'/></linearGradient><rect width='60' height='60' fill='url(#g)'/>"
        ),
        Screen::Halftone
    );
}

#[test]
fn a_hair_line_of_a_drawing_stays_whole() {
    // 0.3 dots wide, upright, level and on the slant: each row or column it passes holds a dot of it.
    let screened =
        look(&drawing("<path d='M50.4 4V76M4 40.2H96M6 6 94 70' fill='none' stroke='#000' stroke-width='.3'/>")).unwrap();
    assert_eq!(screened.used, Screen::Line);
    let dots = &screened.bitmap;
    for y in 5..75 {
        assert!((48..53).any(|x| dots.get(x, y)), "the upright is broken at row {y}");
    }
    for x in 5..95 {
        assert!((38..43).any(|y| dots.get(x, y)), "the level is broken at column {x}");
        let middle = 6 + (x - 6) * 64 / 88;
        assert!(!(8..=92).contains(&x) || (middle - 2..=middle + 2).any(|y| dots.get(x, y)), "the slant is broken at column {x}");
    }
}

/// The faces that type is set in, handed in as a program does.
const FACES: &[&[u8]] = &[
    include_bytes!("../../fonts/sans-regular.ttf"),
    include_bytes!("../../fonts/mono-regular.ttf"),
    include_bytes!("../../fonts/lettering-bold.otf"),
];

#[test]
fn text_in_a_drawing_is_set_in_our_faces_by_generic_name() {
    let folder = tempfile::tempdir().unwrap();
    let pictures = PictureSet::open(Folder::open(folder.path()).unwrap(), FACES);
    let set = |family: &str| {
        let name = format!("{}.svg", family.len());
        let text = format!("<text x='5' y='45' font-size='24' font-family='{family}'>iiiWWg</text>");
        fs::write(folder.path().join(&name), drawing(&text)).unwrap();
        pictures.screen(&name, &request(200, 160, None)).unwrap()
    };
    let (sans, mono, lettering, other) = (set("sans-serif"), set("monospace"), set("cursive"), set("Nobody Knows This One"));
    for one in [&sans, &mono, &lettering] {
        assert!(one.black > 10 && one.remarks.is_empty(), "{} {:?}", one.black, one.remarks);
    }
    assert!(sans.bitmap != mono.bitmap && mono.bitmap != lettering.bitmap && sans.bitmap != lettering.bitmap);
    assert_eq!((&other.bitmap, other.remarks.as_slice()), (&sans.bitmap, [Remark::OtherFace].as_slice()));
}

#[test]
fn a_sketch_has_empty_frames_where_large_pictures_will_be_and_leaves_no_trace() {
    // 42 million pixels of four tones: their file is small.
    let large = image::GrayImage::from_fn(7_000, 6_000, |x, y| image::Luma([(x / 1_750 * 60 + y / 3_000 * 20) as u8]));
    let mut png = Vec::new();
    large.write_to(&mut std::io::Cursor::new(&mut png), image::ImageFormat::Png).expect("a PNG");
    let written = manuals::Written::new("# Heron\n\n![The pond](pond.png)\n\nWords below it.\n").with("pond.png", &png);
    let press = manuals::press(&written.manual, Some("80mm"), None);
    let sketch = press.sketch(None, 1).expect("read").expect("so many pixels take their time");
    let whole = manuals::drafted(&press);
    let fresh = manuals::drafted(&manuals::press(&written.manual, Some("80mm"), None));
    assert!(whole.strip == fresh.strip, "the sketch left something in the stores");
    assert_eq!(sketch.strip.bitmap.height(), whole.strip.bitmap.height());
    let boxes = |made: &stripling::prepress::Made| manuals::map(made).boxes.len();
    assert_eq!(boxes(&sketch), boxes(&whole));
    let black = |made: &stripling::prepress::Made| made.strip.bitmap.black();
    assert!(black(&sketch) * 3 < black(&whole), "{} of {}", black(&sketch), black(&whole));
    let small = manuals::Written::new("# Heron\n\nWords.\n");
    assert!(manuals::press(&small.manual, Some("80mm"), None).sketch(None, 1).expect("read").is_none());
}

/// Found by timing the desk: preflight asks without the style's pen, and decoded every photograph a second time.
#[test]
fn a_pen_is_no_matter_where_nothing_is_drawn_with_it() {
    let bytes = fs::read(data().join("colour.png")).expect("a picture");
    let (_folder, pictures) = pictures(&[("a.png", &bytes)]);
    let with = |screen, line| {
        let treatment = Treatment { pen: Pen { line, ..Pen::default() }, ..Treatment::default() };
        pictures.screen("a.png", &Request { treatment, ..request(48, 32, screen) }).expect("screened")
    };
    for screen in [None, Some(Screen::Photo), Some(Screen::Line)] {
        assert!(std::sync::Arc::ptr_eq(&with(screen, None), &with(screen, Some(40))), "{screen:?} was made twice");
    }
    assert!(!std::sync::Arc::ptr_eq(&with(Some(Screen::Drawing), Some(20)), &with(Some(Screen::Drawing), Some(60))));
}
