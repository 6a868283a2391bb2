//! Codes against outside values, and read back by libraries that are not ours.

use rxing::common::HybridBinarizer;
use rxing::{BarcodeFormat, BinaryBitmap, DecodeHints, Luma8LuminanceSource, MultiFormatReader, Reader};

use super::*;
use crate::pictures::error::Error;

fn room(width: i32) -> CodeRoom {
    CodeRoom::new(Dots(width), Resolution::EIGHT)
}

/// Room for modules of exactly that many dots.
fn forced(module: i32) -> CodeRoom {
    CodeRoom { module: Some(Dots(module)), ..room(5000) }
}

/// As the paper shows it: each dot 8 x 8 samples, black grown by one sample on every side. On a board of single dots that
/// turns half ink into 78 %, more than twice the 12 % of CHECKS.md, so codes that pass have room to spare.
fn printed(bitmap: &Bitmap, gained: bool) -> (Vec<u8>, u32, u32) {
    let (width, height) = (bitmap.width() * 8, bitmap.height() * 8);
    let black = |x: i64, y: i64| bitmap.get(x.div_euclid(8) as i32, y.div_euclid(8) as i32);
    let reach = i64::from(gained);
    let grown = |x: u32, y: u32| {
        let (x, y) = (i64::from(x), i64::from(y));
        [-reach, reach].iter().any(|dy| [-reach, reach].iter().any(|dx| black(x + dx, y + dy)))
    };
    let luma =
        (0..height).flat_map(|y| (0..width).map(move |x| (x, y))).map(|(x, y)| if grown(x, y) { 0 } else { 255 }).collect();
    (luma, width, height)
}

fn read_qr(bitmap: &Bitmap, gained: bool) -> String {
    let (luma, width, height) = printed(bitmap, gained);
    let mut picture =
        rqrr::PreparedImage::prepare_from_greyscale(width as usize, height as usize, |x, y| luma[y * width as usize + x]);
    let grids = picture.detect_grids();
    assert_eq!(grids.len(), 1, "one code is seen");
    grids[0].decode().expect("the code is read").1
}

fn read_bars(bitmap: &Bitmap, gained: bool, format: BarcodeFormat) -> String {
    let (luma, width, height) = printed(bitmap, gained);
    let source = Luma8LuminanceSource::new(luma, width, height).expect("a grey picture");
    let mut picture = BinaryBitmap::new(HybridBinarizer::new(source));
    let mut hints = DecodeHints { TryHarder: Some(true), ..DecodeHints::default() };
    hints.PossibleFormats = Some([format].into());
    MultiFormatReader::default().decode_with_hints(&mut picture, &hints).expect("the bars are read").getText().to_string()
}

#[test]
fn a_qr_code_is_read_back_at_every_module_size_also_after_dot_gain() {
    for module in 2..=5 {
        for gained in [false, true] {
            let code = qr("https://example.com/heron?s=HRN-0012345", &forced(module)).unwrap();
            assert_eq!(code.module, Dots(module));
            assert_eq!(
                read_qr(&code.bitmap, gained),
                "https://example.com/heron?s=HRN-0012345",
                "{module} dots, gained {gained}"
            );
        }
    }
}

#[test]
fn bars_are_read_back_at_every_module_size_also_after_dot_gain() {
    for module in 2..=5 {
        for gained in [false, true] {
            let code = code128("HRN-0012345", &forced(module)).unwrap();
            assert_eq!(read_bars(&code.bitmap, gained, BarcodeFormat::CODE_128), "HRN-0012345", "{module} dots, gained {gained}");
            let code = ean13("4006381333931", &forced(module)).unwrap();
            assert_eq!(read_bars(&code.bitmap, gained, BarcodeFormat::EAN_13), "4006381333931", "{module} dots, gained {gained}");
        }
    }
}

/// ISO/IEC 18004, worked example in its annex (memory): "01234567", version 1, level M.
#[test]
fn the_codewords_of_the_worked_qr_example_stand_in_the_symbol() {
    let symbol = fast_qr::QRBuilder::new("01234567").ecl(fast_qr::ECL::M).version(fast_qr::Version::V01).build().unwrap();
    assert_eq!(symbol.size, 21);
    let dark = |x: usize, y: usize| symbol[y][x].value();
    // The mask's number stands beside the upper left finder, itself masked by 101 (ISO/IEC 18004, format information).
    let mask = [(2, true), (3, false), (4, true)].iter().fold(0, |mask, &(x, invert)| mask << 1 | u8::from(dark(x, 8) != invert));
    let masked = |x: usize, y: usize| match mask {
        0 => (x + y).is_multiple_of(2),
        1 => y.is_multiple_of(2),
        2 => x.is_multiple_of(3),
        3 => (x + y).is_multiple_of(3),
        4 => (y / 2 + x / 3).is_multiple_of(2),
        5 => x * y % 2 + x * y % 3 == 0,
        6 => (x * y % 2 + x * y % 3).is_multiple_of(2),
        _ => ((x + y) % 2 + x * y % 3).is_multiple_of(2),
    };
    let reserved = |x: usize, y: usize| (!(9..13).contains(&x) && y < 9) || (x < 9 && y >= 13) || x == 6 || y == 6;
    let mut bits = Vec::new();
    let mut upwards = true;
    for right in [20, 18, 16, 14, 12, 10, 8, 5, 3, 1] {
        for step in 0..21 {
            let y = if upwards { 20 - step } else { step };
            bits.extend([right, right - 1].into_iter().filter(|&x| !reserved(x, y)).map(|x| dark(x, y) != masked(x, y)));
        }
        upwards = !upwards;
    }
    let words: Vec<u8> = bits.chunks_exact(8).map(|byte| byte.iter().fold(0, |word, &bit| word << 1 | u8::from(bit))).collect();
    let data = [0x10, 0x20, 0x0C, 0x56, 0x61, 0x80, 0xEC, 0x11, 0xEC, 0x11, 0xEC, 0x11, 0xEC, 0x11, 0xEC, 0x11];
    let correction = [0xA5, 0x24, 0xD4, 0xC1, 0xED, 0x36, 0xC7, 0x87, 0x2C, 0x55];
    assert_eq!(words[..16], data);
    assert_eq!(words[16..], correction);
}

#[test]
fn the_quiet_zones_are_white_and_as_wide_as_the_standards_ask() {
    // ISO/IEC 18004: 4 modules all round.
    let code = qr("tea", &room(384)).unwrap();
    let side = code.bitmap.width();
    assert_eq!(code.quiet.count(), 4 * code.module.count());
    let quiet = code.quiet.count();
    for edge in 0..side {
        for deep in 0..quiet {
            for (x, y) in [(edge, deep), (edge, side - 1 - deep), (deep, edge), (side - 1 - deep, edge)] {
                assert!(!code.bitmap.get(x as i32, y as i32));
            }
        }
    }
    assert!(code.bitmap.get(quiet as i32, quiet as i32));
    // ISO/IEC 15417: 10 X. GS1 General Specifications: 11 X left, 7 X right.
    for (code, left, right) in
        [(code128("tea", &room(576)).unwrap(), 10, 10), (ean13("400638133393", &room(576)).unwrap(), 11, 7)]
    {
        let module = code.module.0;
        let wide = code.bitmap.width() as i32;
        assert!((0..left * module).all(|x| !code.bitmap.get(x, 0)) && code.bitmap.get(left * module, 0), "{}", code.about);
        assert!((0..right * module).all(|x| !code.bitmap.get(wide - 1 - x, 0)) && code.bitmap.get(wide - 1 - right * module, 0));
    }
}

#[test]
fn a_qr_code_takes_the_strongest_level_of_its_smallest_version_and_a_sensible_size() {
    let code = qr("https://example.com/heron", &room(576)).unwrap();
    // 25 bytes: version 2 holds 32 at level L, 26 at M and 20 at Q (ISO/IEC 18004, table of capacities, memory).
    assert_eq!(code.about, "QR version 2, level M");
    // 33 modules in 30 mm = 240 dots: 7 dots.
    assert_eq!((code.module, code.bitmap.width()), (Dots(7), 231));
    let narrow = qr("https://example.com/heron", &room(110)).unwrap();
    assert_eq!(narrow.module, Dots(3));
}

#[test]
fn a_qr_code_that_is_too_long_names_the_limit() {
    let long = "x".repeat(2000);
    let error = qr(&long, &room(384)).unwrap_err();
    let Error::QrTooLong { bytes: 2000, limit } = error else { panic!("{error}") };
    assert!(qr(&long[..limit], &room(384)).is_ok());
    assert!(qr(&long[..limit + 1], &room(384)).is_err());
    // 384 dots hold 128 modules of 3, less 8 quiet: version 25 is 117 wide and holds 1273 bytes at level L (memory).
    assert_eq!(limit, 1273);
    assert_eq!(qr("", &room(384)), Err(Error::CodeEmpty));
    assert!(matches!(qr("x", &room(80)), Err(Error::QrTooLong { limit: 0, .. })));
}

/// Common worked example: 103 + 48 + 2*42 + 3*42 + 4*17 + 5*18 + 6*19 + 7*35 = 878, mod 103 = 54; rule in ISO/IEC 15417.
#[test]
fn the_check_character_of_pjj123c_from_start_a_is_54() {
    let bars = code128::bars("ÀPJJ123C").unwrap();
    let check = &bars[bars.len() - 24..bars.len() - 13];
    // The only symbol after start A that stands for value 54 is a V.
    let v = &code128::bars("ÀV").unwrap()[11..22];
    assert_eq!(check, v);
}

#[test]
fn code_128_takes_the_shortest_way_through_its_sets() {
    let symbols = |data: &str| (code128::bars(&code128::plan(data.as_bytes())).unwrap().len() - 13) / 11 - 2;
    // Symbols between start and check, by hand.
    assert_eq!(symbols("123456"), 3, "all in C");
    assert_eq!(symbols("12345"), 4, "two pairs, a change, a digit");
    assert_eq!(symbols("abc"), 3, "all in B");
    assert_eq!(symbols("A12"), 3, "two digits are not worth two changes");
    assert_eq!(symbols("AB1234"), 5, "two letters, a change, two pairs");
    assert_eq!(symbols("AB1234cd"), 8, "and a change back saves nothing: 8 either way");
    assert_eq!(symbols("a\nb"), 4, "one control character among letters is shifted");
    assert_eq!(symbols("a\n\r\tb"), 7, "three are not: two changes");
    assert_eq!(symbols("\u{7F}"), 1, "DEL is in B");
}

#[test]
fn code_128_says_every_ascii_character_back() {
    let all: String = (0..128u8).map(char::from).collect();
    for part in [&all[..32], &all[32..64], &all[64..96], &all[96..]] {
        let code = code128(part, &forced(2)).unwrap();
        assert_eq!(read_bars(&code.bitmap, false, BarcodeFormat::CODE_128), part);
    }
    let mixed = "a\u{1}b1234567C\u{7F}\u{0}z00";
    assert_eq!(read_bars(&code128(mixed, &forced(2)).unwrap().bitmap, false, BarcodeFormat::CODE_128), mixed);
}

#[test]
fn bars_that_do_not_fit_or_do_not_exist_are_refused() {
    assert!(matches!(code128("HRN–1", &room(576)), Err(Error::BarcodeCharacter { character: '–' })));
    let error = code128(&"x".repeat(5000), &room(576)).unwrap_err();
    assert!(matches!(error, Error::BarcodeTooLong { limit: 288, .. }), "{error}");
    assert_eq!(code128("", &room(576)), Err(Error::CodeEmpty));
    assert!(matches!(ean13("400638133393", &room(200)), Err(Error::BarcodeTooLong { modules: 113, limit: 100, module: 2 })));
    // On narrow paper modules shrink to two dots before a code is refused.
    assert_eq!(code128("HRN-0012345", &room(384)).unwrap().module, Dots(2));
    assert_eq!(code128("HRN-0012345", &room(576)).unwrap().module, Dots(3));
}

/// GS1 General Specifications, common worked example: 400638133393 has check digit 1. ISO 2108 rule, common worked example:
/// 978-0-306-40615 has check digit 7.
#[test]
fn an_ean_13_gets_or_keeps_its_check_digit() {
    let human = |data: &str| {
        ean13(data, &room(384)).map(|code| code.human.iter().map(|part| part.text.as_str()).collect::<Vec<_>>().join(" "))
    };
    assert_eq!(human("400638133393").unwrap(), "4 006381 333931");
    assert_eq!(human("978-0-306-40615").unwrap(), "9 780306 406157");
    assert_eq!(human("4006381333931").unwrap(), "4 006381 333931");
    assert_eq!(human("4006381333930"), Err(Error::EanCheck { found: '0', right: '1' }));
    assert_eq!(human("40063813339"), Err(Error::EanLength { count: 11 }));
    assert_eq!(human("40063813339x"), Err(Error::EanCharacter { character: 'x' }));
    assert_eq!(human("４006381333931"), Err(Error::EanCharacter { character: '４' }));
}

#[test]
fn digits_of_an_ean_13_have_their_place_between_the_guards() {
    let code = ean13("4006381333931", &room(384)).unwrap();
    for part in &code.human {
        for y in part.top.0..code.bitmap.height() as i32 {
            for x in part.x.0..part.x.0 + part.width.0 {
                assert!(!code.bitmap.get(x, y), "a bar stands in the place of {}", part.text);
            }
        }
    }
    assert!(code.bitmap.get(11 * code.module.0, code.bitmap.height() as i32 - 1), "the guard reaches down");
}

/// Needs zbarimg, a reader that is not ours: every kind of code at every module size, plain and after dot gain.
#[test]
#[ignore = "needs zbarimg: tests/run"]
fn every_code_is_read_by_zbarimg() {
    let folder = tempfile::tempdir().expect("a folder");
    for module in 2..=5 {
        let codes = [
            (qr("https://example.com/heron?s=HRN-0012345", &forced(module)), "https://example.com/heron?s=HRN-0012345"),
            (code128("HRN-0012345", &forced(module)), "HRN-0012345"),
            (ean13("400638133393", &forced(module)), "4006381333931"),
        ];
        for (code, said) in codes {
            let code = code.expect(said);
            for gained in [false, true] {
                let (luma, width, height) = printed(&code.bitmap, gained);
                let path = folder.path().join("code.png");
                image::GrayImage::from_raw(width, height, luma).expect("a picture").save(&path).expect("a file");
                let seen = std::process::Command::new("zbarimg").args(["--quiet", "--raw"]).arg(&path).output().expect("zbarimg");
                assert_eq!(
                    String::from_utf8_lossy(&seen.stdout).trim(),
                    said,
                    "{} at {module} dots, gained {gained}",
                    code.about
                );
            }
        }
    }
}
