//! Bytes written by hand, against `encode` and against `decode`, which must each agree with them on their own.

use super::*;
use crate::bitmap::Bitmap;
use crate::lengths::Resolution;
use crate::strip::Strip;

fn profile(raster: Raster) -> Profile {
    let mut profile = Profile::named("80mm").expect("built in");
    (profile.dots, profile.band_rows) = (16, 128);
    (profile.raster, profile.thrift) = (raster, Thrift::Stripes);
    profile
}

fn hex(text: &str) -> Vec<u8> {
    text.split_whitespace().map(|byte| u8::from_str_radix(byte, 16).expect("hexadecimal")).collect()
}

fn dots(rows: &[&str]) -> Bitmap {
    let mut bitmap = Bitmap::new(rows.first().map_or(0, |row| row.len()) as u32, rows.len() as u32);
    for (y, row) in rows.iter().enumerate() {
        for (x, dot) in row.bytes().enumerate() {
            bitmap.set(x as i32, y as i32, dot == b'#');
        }
    }
    bitmap
}

fn two_rows() -> Strip {
    Strip::new(dots(&["#..............#", "########........"]), Resolution::EIGHT)
}

/// GS v 0 sample and feed-and-cut 1D 56 42 00: vendors' command references (CHECKS.md, "Paper, printer, folding").
#[test]
fn rows_are_the_command_references_bytes() {
    let bytes = encode(&two_rows(), &profile(Raster::Rows));
    assert_eq!(bytes, hex("1B 40  1D 50 CB CB  1D 76 30 00 02 00 02 00 80 01 FF 00  1D 56 42 00"));
}

#[test]
fn the_command_references_bytes_set_the_dots_they_say() {
    // `1D763000020002008001FF00` sets dots 0, 15 of row 0 and 0..7 of row 1 (vendors' command references).
    let seen = decode(&hex("1D 76 30 00 02 00 02 00 80 01 FF 00 1D 56 42 00"), &profile(Raster::Rows));
    assert_eq!(seen.bitmap, two_rows().bitmap);
    assert_eq!((seen.cuts, seen.errors, seen.gap_rows), (vec![2], vec![], 120));
}

#[test]
fn graphics_are_stored_then_printed() {
    let bytes = encode(&two_rows(), &profile(Raster::Graphics));
    let expected =
        "1B 40  1D 50 CB CB  1D 28 4C 0E 00 30 70 30 01 01 31 10 00 02 00 80 01 FF 00  1D 28 4C 02 00 30 32  1D 56 42 00";
    assert_eq!(bytes, hex(expected));
    let long = hex("1D 38 4C 0E 00 00 00 30 70 30 01 01 31 10 00 02 00 80 01 FF 00 1D 28 4C 02 00 30 32");
    assert_eq!(decode(&long, &profile(Raster::Rows)).bitmap, two_rows().bitmap);
}

#[test]
fn columns_are_stripes_of_24_rows() {
    let mut bitmap = Bitmap::new(16, 24);
    bitmap.set(0, 0, true);
    bitmap.set(1, 23, true);
    let bytes = encode(&Strip::new(bitmap.clone(), Resolution::EIGHT), &profile(Raster::Columns));
    let expected = hex("1B 40 1D 50 CB CB 1B 33 18 1B 2A 21 02 00 80 00 00 00 00 01 0A 1D 56 42 00");
    assert_eq!(bytes, expected);
    assert_eq!(decode(&expected, &profile(Raster::Rows)).bitmap, bitmap);
}

#[test]
fn blank_rows_are_fed_in_the_printers_own_units() {
    let mut strip = Strip::new(Bitmap::new(16, 300), Resolution::EIGHT);
    assert_eq!(encode(&strip, &profile(Raster::Rows)), hex("1B 40 1D 50 CB CB 1B 4A FF 1B 4A 2D 1D 56 42 00"));
    // At 180 dpi the unit is half a dot (FORMAT.md: motion unit 1/360 in), and no byte of GS P can say 360.
    let mut coarse = Profile::named("80mm-180").expect("built in");
    (coarse.dots, coarse.thrift) = (16, Thrift::Stripes);
    strip.resolution = coarse.resolution;
    let bytes = hex("1B 40 1B 4A FE 1B 4A FE 1B 4A 5C 1D 56 42 00");
    assert_eq!(encode(&strip, &coarse), bytes);
    assert_eq!(decode(&bytes, &coarse).bitmap.height(), 300);
}

#[test]
fn every_way_to_end_a_strip() {
    let strip = Strip { cuts: vec![0, 1, 2], ..two_rows() };
    let mut printer = profile(Raster::Rows);
    let head = "1B 40 1D 50 CB CB 1D 76 30 00 02 00 01 00 80 01";
    let rest = "1D 76 30 00 01 00 01 00 FF";
    for (cut, blade) in [(Cut::Partial, "1D 56 42 00"), (Cut::Full, "1D 56 41 00")] {
        printer.cut = cut;
        let bytes = hex(&format!("{head} {blade} {rest} {blade}"));
        assert_eq!(encode(&strip, &printer), bytes);
        let seen = decode(&bytes, &printer);
        assert_eq!((seen.cuts, seen.gap_rows), (vec![1, 2], 240));
    }
    // Without a cutter: 15 mm to the tear bar, 120 rows, which are no part of the strip.
    (printer.cut, printer.cut_line) = (Cut::None, CutLine::None);
    let bytes = hex("1B 40 1D 50 CB CB 1D 76 30 00 02 00 02 00 80 01 FF 00 1B 4A 78");
    assert_eq!(encode(&strip, &printer), bytes);
    let seen = decode(&bytes, &printer);
    assert_eq!((seen.bitmap, seen.cuts, seen.gap_rows), (strip.bitmap, vec![], 120));
}

#[test]
fn settings_and_density_are_sent_only_when_given_and_the_lowest_bit_first_when_asked() {
    let mut printer = profile(Raster::Rows);
    printer.settings = hex("1B 37 09 78 02");
    printer.density = Some(-2);
    printer.lsb_first = true;
    let bytes = hex("1B 40 1B 37 09 78 02 1D 28 4B 02 00 31 FE 1D 50 CB CB 1D 76 30 00 02 00 02 00 01 80 FF 00 1D 56 42 00");
    assert_eq!(encode(&two_rows(), &printer), bytes);
    let seen = decode(&bytes, &printer);
    assert_eq!((seen.bitmap, seen.errors), (two_rows().bitmap, vec![]));
}

#[test]
fn a_pair_across_row_ends_parts_the_band() {
    let rows = Bitmap::from_rows(16, 2, vec![0xAA, 0x10, 0x04, 0xAA]);
    let bytes = encode(&Strip::new(rows, Resolution::EIGHT), &profile(Raster::Rows));
    let expected = "1B 40 1D 50 CB CB 1D 76 30 00 02 00 01 00 AA 10 1D 76 30 00 02 00 01 00 04 AA 1D 56 42 00";
    assert_eq!(bytes, hex(expected));
}

#[test]
fn a_height_that_would_spell_the_pair_in_a_header_is_lowered() {
    // 1040 rows are 10 04; 103 rows of ten bytes and the ten of the header are 1040 bytes.
    for (raster, dots, height, commands) in
        [(Raster::Rows, 16, 1040, 2), (Raster::Graphics, 80, 103, 4), (Raster::Rows, 16, 1039, 1)]
    {
        let mut printer = profile(raster);
        (printer.dots, printer.band_rows) = (dots, 2000);
        let stride = dots.div_ceil(8) as usize;
        let strip = Strip::new(Bitmap::from_rows(dots, height, vec![0xAA; stride * height as usize]), Resolution::EIGHT);
        let bytes = encode(&strip, &printer);
        assert!(!encode::spells_real_time(&bytes));
        let seen = decode(&bytes, &printer);
        assert_eq!((seen.bitmap, seen.errors), (strip.bitmap, vec![]));
        assert_eq!(seen.commands.get("GS v 0").or(seen.commands.get("GS ( L")), Some(&commands));
    }
}

#[test]
fn a_number_of_columns_that_would_spell_the_pair_is_parted() {
    let mut printer = profile(Raster::Columns);
    printer.dots = 1200;
    printer.thrift = Thrift::Bands;
    let mut bitmap = Bitmap::new(1200, 24);
    bitmap.fill(1039, 0, 1, 24, true);
    let strip = Strip::new(bitmap, Resolution::EIGHT);
    let bytes = encode(&strip, &printer);
    assert!(!encode::spells_real_time(&bytes));
    let seen = decode(&bytes, &printer);
    assert_eq!((seen.bitmap, seen.commands.get("ESC *")), (strip.bitmap, Some(&2)));
}

#[test]
fn white_at_the_right_of_a_band_is_not_sent() {
    let strip =
        Strip::new(dots(&["##.............", "#........#.....", "...............", "####..........."]), Resolution::EIGHT);
    let mut printer = profile(Raster::Rows);
    printer.dots = 15;
    let bytes = hex("1B 40 1D 50 CB CB 1D 76 30 00 02 00 04 00 C0 00 80 40 00 00 F0 00 1D 56 42 00");
    assert_eq!(encode(&strip, &printer), bytes, "two bytes because of the second row");
    let short = Strip::new(dots(&["##.............", "....#.........."]), Resolution::EIGHT);
    assert_eq!(encode(&short, &printer), hex("1B 40 1D 50 CB CB 1D 76 30 00 01 00 02 00 C0 08 1D 56 42 00"));
    // Graphics say their width in dots.
    printer.raster = Raster::Graphics;
    let graphics = |width: &str, length: &str, dots: &str| {
        hex(&format!("1B 40 1D 50 CB CB 1D 28 4C {length} 30 70 30 01 01 31 {width} {dots} 1D 28 4C 02 00 30 32 1D 56 42 00"))
    };
    assert_eq!(encode(&short, &printer), graphics("08 00 02 00", "0C 00", "C0 08"));
    assert_eq!(encode(&strip, &printer), graphics("0F 00 04 00", "12 00", "C0 00 80 40 00 00 F0 00"));
}

#[test]
fn a_band_is_parted_where_that_saves_more_than_a_start() {
    let narrow_then_wide = |rows: u32| {
        let mut bitmap = Bitmap::new(80, rows * 2);
        bitmap.fill(0, 0, 1, rows as i32, true);
        bitmap.fill(79, rows as i32, 1, rows as i32, true);
        let mut printer = profile(Raster::Rows);
        (printer.dots, printer.band_rows, printer.thrift) = (80, 2000, Thrift::Bands);
        let bytes = encode(&Strip::new(bitmap.clone(), Resolution::EIGHT), &printer);
        assert_eq!(decode(&bytes, &printer).bitmap, bitmap);
        bytes
    };
    // Nine bytes less in each of the first rows: 9 are 81 bytes, 20 are 180; a start is 88.
    assert_eq!(narrow_then_wide(9)[6..14], hex("1D 76 30 00 0A 00 12 00"));
    let parted = narrow_then_wide(20);
    assert_eq!((&parted[6..14], &parted[34..42]), (&hex("1D 76 30 00 01 00 14 00")[..], &hex("1D 76 30 00 0A 00 14 00")[..]));
}

/// Two thin posts far apart, 24 rows high.
fn posts(width: u32, at: [i32; 2]) -> Strip {
    let mut bitmap = Bitmap::new(width, 24);
    at.into_iter().for_each(|x| bitmap.fill(x, 0, 1, 24, true));
    Strip::new(bitmap, Resolution::EIGHT)
}

#[test]
fn a_stripe_passes_over_white_where_that_is_clearly_shorter() {
    let mut printer = profile(Raster::Rows);
    printer.dots = 576;
    let strip = posts(576, [3, 500]);
    let striped = "1B 33 18 1B 24 03 00 1B 2A 21 01 00 FF FF FF 1B 24 F4 01 1B 2A 21 01 00 FF FF FF 0A";
    let bytes = hex(&format!("1B 40 1D 50 CB CB {striped} 1D 56 42 00"));
    for raster in [Raster::Rows, Raster::Columns] {
        printer.raster = raster;
        assert_eq!(encode(&strip, &printer), bytes);
    }
    let seen = decode(&bytes, &printer);
    assert_eq!((seen.bitmap, seen.errors), (strip.bitmap.clone(), vec![]));
    // Seven white columns are sent, eight are passed over; one at the left edge is sent.
    assert_eq!(
        encode(&posts(576, [1, 9]), &printer)[9..],
        hex(&format!("1B 2A 21 0A 00 00 00 00 FF FF FF {} FF FF FF 0A 1D 56 42 00", "00 ".repeat(21)))
    );
    assert_eq!(
        encode(&posts(576, [0, 9]), &printer)[9..],
        hex("1B 2A 21 01 00 FF FF FF 1B 24 09 00 1B 2A 21 01 00 FF FF FF 0A 1D 56 42 00")
    );
}

#[test]
fn no_stripe_without_thrift_and_no_skip_without_its_unit() {
    let strip = posts(576, [3, 500]);
    let mut printer = profile(Raster::Rows);
    (printer.dots, printer.thrift) = (576, Thrift::Bands);
    let band = hex("1D 76 30 00 3F 00 18 00");
    assert_eq!(encode(&strip, &printer)[6..14], band);
    printer.raster = Raster::Columns;
    assert_eq!(encode(&strip, &printer)[6..14], hex("1B 33 18 1B 2A 21 F5 01"), "501 columns");
    // 360 units an inch fit no byte of GS P: 501 columns are no shorter than a band.
    let mut coarse = Profile::named("80mm-180").expect("built in");
    (coarse.dots, coarse.thrift) = (576, Thrift::Stripes);
    assert_eq!(encode(&Strip { resolution: coarse.resolution, ..strip }, &coarse)[2..10], band);
}

#[test]
fn a_place_that_would_spell_the_pair_is_come_to_from_the_left() {
    let mut printer = profile(Raster::Rows);
    printer.dots = 1400;
    for (place, passed) in [(1040, "0F 04"), (1296, "0F 05")] {
        let strip = posts(1400, [0, place]);
        let bytes = encode(&strip, &printer);
        assert!(!encode::spells_real_time(&bytes));
        let stripe = format!("1B 2A 21 01 00 FF FF FF 1B 24 {passed} 1B 2A 21 02 00 00 00 00 FF FF FF 0A 1D 56 42 00");
        assert_eq!(bytes[9..], hex(&stripe));
        assert_eq!(decode(&bytes, &printer).bitmap, strip.bitmap);
    }
}

#[test]
fn a_stripe_with_a_pair_inside_a_column_is_not_taken_for_thrift() {
    let mut strip = posts(576, [3, 500]);
    // Column 3 holds 10 04; no row holds a pair.
    strip.bitmap.fill(3, 0, 1, 24, false);
    [3, 13].into_iter().for_each(|y| strip.bitmap.set(3, y, true));
    let mut printer = profile(Raster::Rows);
    printer.dots = 576;
    assert_eq!(encode(&strip, &printer)[6..14], hex("1D 76 30 00 3F 00 18 00"));
}

#[test]
fn where_the_last_dots_end_is_known() {
    let mut bitmap = Bitmap::new(16, 300);
    bitmap.set(0, 150, true);
    for raster in [Raster::Rows, Raster::Graphics, Raster::Columns] {
        let bands = encode_in_bands(&Strip::new(bitmap.clone(), Resolution::EIGHT), &profile(raster));
        assert!(bands.ends.contains(&bands.dots_end));
        let before = decode(&bands.bytes[..bands.dots_end], &profile(raster));
        assert_eq!((before.bitmap.black(), before.errors), (1, vec![]));
        let tail = decode(&bands.bytes[bands.dots_end..], &profile(raster));
        assert!(tail.commands.keys().all(|name| ["ESC J", "GS V"].contains(&name.as_str())), "{:?}", tail.commands);
    }
    assert_eq!(encode_in_bands(&Strip::new(Bitmap::new(16, 300), Resolution::EIGHT), &profile(Raster::Rows)).dots_end, 0);
}

#[test]
fn a_width_that_spells_the_pair_is_known() {
    let unsaid: Vec<u32> = (8..4000).filter(|&dots| !encode::width_is_sayable(dots)).collect();
    assert_eq!(unsaid, [1030, 1040, 1286, 1296]);
}

#[test]
fn a_pair_inside_a_row_goes_by_column() {
    // Rows 0 to 29, with the pair in row 29: a stripe of the last 24 rows holds it, rows 0 to 5 stay a band.
    let mut data = vec![0xAA; 60];
    data[58..].copy_from_slice(&[0x10, 0x04]);
    let strip = Strip::new(Bitmap::from_rows(16, 30, data), Resolution::EIGHT);
    let bytes = encode(&strip, &profile(Raster::Rows));
    assert!(!encode::spells_real_time(&bytes));
    let seen = decode(&bytes, &profile(Raster::Rows));
    assert_eq!(seen.bitmap, strip.bitmap);
    assert_eq!((seen.commands.get("GS v 0"), seen.commands.get("ESC *")), (Some(&1), Some(&1)));
}

#[test]
fn a_column_with_the_pair_at_every_offset_is_printed_twice_over() {
    // 24 rows and no more, so no other offset: column 3 holds 10 04, and row 0 holds 10 04 as well.
    let mut bitmap = Bitmap::from_rows(16, 24, [vec![0x10, 0x04], vec![0; 46]].concat());
    for (byte, value) in [0x10u8, 0x04].iter().enumerate() {
        for bit in 0..8 {
            bitmap.set(2, byte as i32 * 8 + bit, value & (0x80 >> bit) != 0);
        }
    }
    bitmap.set(2, 0, false);
    let bytes = encode(&Strip::new(bitmap.clone(), Resolution::EIGHT), &profile(Raster::Rows));
    let text: Vec<String> = bytes.iter().map(|byte| format!("{byte:02X}")).collect();
    let twice = "1B 33 18 1B 24 02 00 1B 2A 21 01 00 10 00 00 1B 5C FF FF 1B 2A 21 01 00 00 04 00 1B 2A 21";
    assert!(text.join(" ").contains(twice), "{text:?}");
    assert!(!encode::spells_real_time(&bytes));
    let seen = decode(&bytes, &profile(Raster::Rows));
    assert_eq!((seen.bitmap, seen.errors), (bitmap, vec![]));
}

#[test]
fn a_row_alone_with_the_pair_goes_as_a_slice() {
    let strip = Strip::new(Bitmap::from_rows(16, 1, vec![0x10, 0x05]), Resolution::EIGHT);
    let bytes = encode(&strip, &profile(Raster::Columns));
    let expected = "1B 40 1D 50 CB CB 1D 28 4C 1A 00 30 71 30 01 01 31 10 00 01 00 \
                    00 00 00 80 00 00 00 00 00 00 00 00 00 80 00 80 1D 28 4C 02 00 30 32 1D 56 42 00";
    assert_eq!(bytes, hex(expected));
    assert_eq!(decode(&bytes, &profile(Raster::Rows)).bitmap, strip.bitmap);
}

/// FORMAT.md, "What an unknown printer is sent": `ESC @`, one way of raster in bands of full width, feeds, the cut.
#[test]
fn an_unknown_printer_is_sent_rows_at_full_width_and_nothing_else() {
    let mut bitmap = Bitmap::new(16, 70);
    bitmap.set(0, 40, true);
    let mut printer = profile(Raster::Rows);
    (printer.thrift, printer.band_rows, printer.cut) = (Thrift::None, 32, Cut::None);
    let strip = Strip::new(bitmap, Resolution::EIGHT);
    let bands = encode_in_bands(&strip, &printer);
    let band = |rows: &str, dots: Vec<u8>| [hex(&format!("1D 76 30 00 02 00 {rows} 00")), dots].concat();
    let mut second = vec![0; 18];
    second[16] = 0x80;
    let dots = [hex("1B 40"), band("20", vec![0; 64]), band("09", second), band("1D", vec![0; 58])].concat();
    // 15 mm to the tear bar are 120 rows: blank rows too, for nothing says in which unit it feeds.
    let gap = [vec![band("20", vec![0; 64]); 3].concat(), band("18", vec![0; 48])].concat();
    assert_eq!(bands.bytes, [dots.clone(), gap].concat());
    assert_eq!(bands.dots_end, 2 + 72 + 26, "the row with the dot ends a band");
    let seen = decode(&bands.bytes, &printer);
    assert_eq!((seen.bitmap, seen.errors, seen.gap_rows), (strip.bitmap.clone(), vec![], 120));
    // Fed where that is worth a command, by the unit that the printer starts with; 40 rows of two bytes are not.
    printer.thrift = Thrift::Feeds;
    assert_eq!(encode(&strip, &printer), [dots, hex("1B 4A 78")].concat());
    (printer.dots, printer.cut) = (80, Cut::Full);
    let mut bitmap = Bitmap::new(80, 70);
    bitmap.set(0, 40, true);
    let row = format!("1D 76 30 00 0A 00 01 00 80 {}", "00 ".repeat(9));
    assert_eq!(
        encode(&Strip::new(bitmap, Resolution::EIGHT), &printer),
        hex(&format!("1B 40 1B 4A 28 {row} 1B 4A 1D 1D 56 41 00"))
    );
}

#[test]
fn a_dot_that_spells_a_pair_is_moved_by_one_to_the_side_where_dots_stand() {
    for (lsb_first, pair, right, left) in
        [(false, [0x10, 0x04], [0x08, 0x04], [0x20, 0x04]), (true, [0x08, 0x20], [0x04, 0x20], [0x10, 0x20])]
    {
        let mut printer = profile(Raster::Rows);
        (printer.thrift, printer.lsb_first) = (Thrift::None, lsb_first);
        let told = |rows: &[[u8; 2]]| {
            let strip = Strip::new(Bitmap::from_rows(16, rows.len() as u32, rows.concat()), Resolution::EIGHT);
            let told = as_told(strip.clone(), &printer);
            let bytes = encode(&strip, &printer);
            assert!(!encode::spells_real_time(&bytes));
            let seen = decode(&bytes, &printer);
            assert_eq!((&seen.bitmap, seen.errors), (&told.bitmap, vec![]));
            assert_eq!(seen.commands.keys().map(String::as_str).collect::<Vec<_>>(), ["ESC @", "GS V", "GS v 0"]);
            assert_eq!(bytes, encode(&told, &printer));
            told.bitmap.data().to_vec()
        };
        assert_eq!(told(&[pair]), right);
        assert_eq!(told(&[left, pair]), [left, left].concat(), "a line that comes from the left goes on");
        assert_eq!(told(&[pair, right]), [right, right].concat());
        // Nothing else moves: the same dots in other bytes, and the pair across two rows.
        let quiet = [[0xFF, pair[0]], [pair[1], 0]];
        assert_eq!(told(&quiet), quiet.concat());
    }
}

#[test]
fn plain_stripes_are_whole_and_fit_by_feeds_or_by_white() {
    let mut printer = profile(Raster::Columns);
    printer.thrift = Thrift::None;
    // 30 rows with dots in rows 3 to 29: three rows at the top are fed, 24 are a stripe; the last three fill none.
    let mut bitmap = Bitmap::new(16, 30);
    bitmap.fill(0, 3, 16, 27, true);
    let strip = Strip { cuts: vec![27], ..Strip::new(bitmap, Resolution::EIGHT) };
    let bytes = encode(&strip, &printer);
    let (full, last) = ("FF ".repeat(48), "E0 00 00 ".repeat(16));
    let stripe = "1B 33 18 1B 2A 21 10 00";
    assert_eq!(bytes, hex(&format!("1B 40 1B 4A 03 {stripe} {full} 0A 1D 56 42 00 {stripe} {last} 0A 1D 56 42 00")));
    let told = as_told(strip, &printer);
    assert_eq!((told.bitmap.height(), &told.cuts, told.panels[0].bottom), (51, &vec![27], 51));
    let seen = decode(&bytes, &printer);
    assert_eq!((seen.bitmap, seen.cuts, seen.errors), (told.bitmap, vec![27, 51], vec![]));
}

#[test]
fn a_plain_column_that_holds_a_pair_gives_its_dot_to_the_next() {
    let mut printer = profile(Raster::Columns);
    printer.thrift = Thrift::None;
    let mut bitmap = Bitmap::new(16, 24);
    [3, 13].into_iter().for_each(|y| bitmap.set(5, y, true));
    let strip = Strip::new(bitmap.clone(), Resolution::EIGHT);
    bitmap.set(5, 3, false);
    bitmap.set(6, 3, true);
    let bytes = encode(&strip, &printer);
    let seen = decode(&bytes, &printer);
    assert_eq!((seen.bitmap, seen.errors), (bitmap, vec![]));
    assert_eq!(seen.commands.get("ESC *"), Some(&1));
}

/// Paper after a few bytes, as text.
fn seen(bytes: &str) -> (Vec<String>, Vec<String>) {
    let seen = decode(&hex(bytes), &profile(Raster::Rows));
    let row = |y: u32| (0..16).map(|x| if seen.bitmap.get(x, y as i32) { '#' } else { '.' }).collect();
    let rows = (0..seen.bitmap.height()).map(row).collect();
    (rows, seen.errors.iter().map(|fault| format!("{}: {}", fault.offset, fault.message)).collect())
}

#[test]
fn double_width_and_double_height() {
    assert_eq!(seen("1D 76 30 01 01 00 01 00 A0").0, ["##..##.........."]);
    assert_eq!(seen("1D 76 30 02 01 00 01 00 A0").0, ["#.#.............", "#.#............."]);
    assert_eq!(seen("1D 76 30 33 01 00 01 00 A0").0, ["##..##..........", "##..##.........."]);
}

#[test]
fn margins_and_places() {
    assert_eq!(seen("1D 4C 03 00 1D 76 30 00 01 00 01 00 FF").0, ["...########....."]);
    assert_eq!(seen("1B 61 01 1D 76 30 00 01 00 01 00 FF").0, ["....########...."]);
    assert_eq!(seen("1B 61 02 1D 76 30 00 01 00 01 00 FF").0, ["........########"]);
    let (rows, _) = seen("1B 24 05 00 1B 2A 21 01 00 80 00 01 1B 5C FE FF 1B 2A 01 01 00 01 0A");
    assert_eq!(rows.len(), 34, "a line of a sixth of an inch");
    assert_eq!(
        (rows[0].as_str(), rows[21].as_str(), rows[23].as_str()),
        (".....#..........", "....#...........", "....##..........")
    );
}

/// `ESC $ nL nH`: the print position is so many horizontal motion units from the beginning of the line, which is the left
/// margin; a place outside the printable area is ignored (vendors' command references).
#[test]
fn an_absolute_place_is_counted_from_the_left_margin() {
    let first = |bytes: &str| seen(bytes).0[0].clone();
    assert_eq!(first("1B 24 05 00 1B 2A 21 01 00 80 00 00 0A"), ".....#..........");
    assert_eq!(first("1D 4C 03 00 1B 24 02 00 1B 2A 21 01 00 80 00 00 0A"), ".....#..........");
    // 102 units an inch: two are four dots of 203.
    assert_eq!(first("1D 50 66 CB 1B 24 02 00 1B 2A 21 01 00 80 00 00 0A"), "....#...........");
    // The last of two counts; a place to the left goes back, and dots are added.
    assert_eq!(first("1B 24 09 00 1B 24 05 00 1B 2A 21 01 00 80 00 00 0A"), ".....#..........");
    assert_eq!(first("1B 24 09 00 1B 2A 21 01 00 80 00 00 1B 24 08 00 1B 2A 21 02 00 80 00 00 00 00 00 0A"), "........##......");
    // Past the paper, past the area that GS W leaves: ignored, the line goes on where it was.
    assert_eq!(first("1B 2A 21 01 00 80 00 00 1B 24 20 00 1B 2A 21 01 00 80 00 00 0A"), "##..............");
    assert_eq!(first("1D 57 08 00 1B 24 0C 00 1B 2A 21 01 00 80 00 00 0A"), "#...............");
    // It holds for one line, even an empty one; and dots of raster are not moved by it once the line has ended.
    let (rows, errors) = seen("1B 33 18 1B 24 05 00 0A 1B 2A 21 01 00 80 00 00 0A");
    assert_eq!((rows[24].as_str(), errors), ("#...............", vec![]));
    let (rows, errors) = seen("1B 24 05 00 1B 4A 01 1B 2A 21 01 00 80 00 00 0A");
    assert_eq!((rows[1].as_str(), errors), ("#...............", vec![]));
    let (rows, errors) = seen("1B 33 18 1B 24 05 00 1B 64 01 1B 2A 21 01 00 80 00 00 0A");
    assert_eq!((rows[24].as_str(), errors), ("#...............", vec![]));
}

#[test]
fn eight_dot_columns_stand_three_rows_to_the_dot() {
    let (rows, errors) = seen("1B 33 18 1B 2A 00 01 00 81 0A");
    assert_eq!(errors, Vec::<String>::new());
    let lines: Vec<usize> = (0..24).filter(|&y| rows[y] == "##..............").collect();
    assert_eq!(lines, [0, 1, 2, 21, 22, 23]);
}

#[test]
fn feeds_count_in_the_units_set() {
    assert_eq!(seen("1B 4A 0A").0.len(), 10);
    assert_eq!(seen("1D 50 00 66 1B 4A 0A").0.len(), 20, "102 units an inch");
    assert_eq!(seen("1B 33 05 1B 64 03 0A").0.len(), 20);
    assert_eq!(seen("1B 33 05 1B 32 0A").0.len(), 34);
    assert_eq!(seen("1D 56 42 07").0.len(), 7);
}

#[test]
fn what_is_wrong_is_said_with_its_offset() {
    for (bytes, expected) in [
        ("1B 40 1D 76 30 00 02 00 FF FF 00", "2: the bytes end inside a command"),
        ("1D 38 4C FF FF FF FF 30", "0: the bytes end inside a command"),
        ("1B 99 1B 40", "0: ESC 99 is no command known here"),
        ("1B 40 48 69 0A", "2: 2 bytes of text in the printer's own letters are not painted"),
        ("1D 76 30 00 03 00 01 00 00 00 01", "0: 24 dots of raster on a printer of 16"),
        ("1D 76 30 00 02 00 01 00 10 04", "0: 1 real-time commands (10 04, 10 05, 10 14) are hidden in this command's bytes"),
        ("1B 2A 21 01 00 00 00 80", "8: the last line is never printed: no line feed follows it"),
        ("1D 28 4C 02 00 30 32", "0: nothing is stored that could be printed"),
    ] {
        assert_eq!(seen(bytes).1, [expected], "{bytes}");
    }
    assert_eq!(seen("10 04 01 10 05 01 10 14 01 00 01 1D 72 01").1, Vec::<String>::new());
}

#[test]
fn endless_paper_stops_being_painted() {
    let bomb = [0x1B, 0x33, 0xFF].into_iter().chain([0x1B, 0x64, 0xFF].repeat(10_000)).collect::<Vec<u8>>();
    let seen = decode::decode_within(&bomb, &profile(Raster::Rows), 1 << 20);
    assert_eq!((seen.bitmap.height(), seen.errors), (1 << 19, vec![]));
    assert_eq!(seen.rows, 255 * 255 * 10_000);
}

/// GS V 0, 1 (function A): vendors' command references (memory). 15 mm from head to blade are 120 rows.
#[test]
fn a_blade_that_feeds_nothing_is_fed_to() {
    let strip = Strip { cuts: vec![1], ..two_rows() };
    let mut printer = profile(Raster::Rows);
    printer.cut_command = CutCommand::Cut;
    let bytes =
        hex("1B 40 1D 50 CB CB 1D 76 30 00 02 00 01 00 80 01 1B 4A 78 1D 56 01 1D 76 30 00 01 00 01 00 FF 1B 4A 78 1D 56 01");
    assert_eq!(encode(&strip, &printer), bytes);
    let seen = decode(&bytes, &printer);
    assert_eq!((seen.bitmap, seen.cuts, seen.gap_rows), (strip.bitmap.clone(), vec![1, 2], 240));
    // Of an unknown unit of feed: white rows.
    (printer.thrift, printer.cut, printer.head_to_cutter) = (Thrift::None, Cut::Full, crate::lengths::Mm::new(0.25));
    let white = "1D 76 30 00 02 00 02 00 00 00 00 00 1D 56 00";
    let dots = ["1D 76 30 00 02 00 01 00 80 01", "1D 76 30 00 02 00 01 00 FF 00"];
    let bytes = hex(&format!("1B 40 {} {white} {} {white}", dots[0], dots[1]));
    assert_eq!(encode(&strip, &printer), bytes);
    assert_eq!(decode(&bytes, &printer).bitmap, strip.bitmap);
    // A broken-off strip comes out by the printer's own ending.
    assert_eq!(ejecting(&printer), hex(&format!("1B 40 {white}")));
    (printer.cut, printer.thrift) = (Cut::None, Thrift::Feeds);
    assert_eq!(ejecting(&printer), hex("1B 40 1B 4A 02"), "no cut for a printer without a cutter");
}

#[test]
fn no_raster_command_holds_more_bytes_than_the_printer_takes() {
    for raster in [Raster::Rows, Raster::Graphics, Raster::Columns] {
        for thrift in [Thrift::None, Thrift::Stripes] {
            let mut printer = Profile::named("80mm").expect("built in");
            (printer.raster, printer.thrift, printer.band_rows, printer.band_bytes) = (raster, thrift, 2000, 1024);
            let mut bitmap = Bitmap::new(576, 240);
            bitmap.fill(0, 0, 576, 240, true);
            let strip = Strip::new(bitmap, printer.resolution);
            let bands = encode_in_bands(&strip, &printer);
            assert_eq!(decode(&bands.bytes, &printer).bitmap, strip.bitmap);
            // 14 rows of 72 bytes; 341 columns of 3: 1008 and 1023 bytes (arithmetic).
            let most = match raster {
                Raster::Rows => vec![hex("1D 76 30 00 48 00 0E 00")],
                Raster::Graphics => vec![hex("1D 28 4C FA 03 30 70 30 01 01 31 40 02 0E 00")],
                Raster::Columns => vec![hex("1B 2A 21 55 01"), hex("1B 2A 21 EB 00")],
            };
            for head in most {
                assert!(bands.bytes.windows(head.len()).any(|part| part == head), "{raster:?} {thrift:?}: no {head:02X?}");
            }
        }
    }
}

#[test]
fn a_mirrored_printer_is_sent_what_stands_right_in_its_mirror() {
    let mut printer = profile(Raster::Rows);
    (printer.thrift, printer.mirrored, printer.dots) = (Thrift::None, true, 12);
    let strip = Strip::new(dots(&["#..........#", "########....", "#..........."]), Resolution::EIGHT);
    let bytes = hex("1B 40 1D 76 30 00 02 00 03 00 80 10 0F F0 00 10 1D 56 42 00");
    assert_eq!(encode(&strip, &printer), bytes);
    assert_eq!(decode(&bytes, &printer).bitmap, strip.bitmap);
    printer.mirrored = false;
    assert_eq!(decode(&bytes, &printer).bitmap, dots(&["#..........#", "....########", "...........#"]));
    // A pair counts where it stands in the bytes: 20 08 is 04 10 in the mirror and harmless, 20 08 at 16 dots is 10 04.
    (printer.mirrored, printer.dots) = (true, 16);
    let pair = Strip::new(Bitmap::from_rows(16, 1, vec![0x20, 0x08]), Resolution::EIGHT);
    let told = as_told(pair.clone(), &printer);
    assert_ne!(told, pair);
    assert_eq!(decode(&encode(&pair, &printer), &printer).bitmap, told.bitmap);
    printer.mirrored = false;
    assert_eq!(as_told(pair.clone(), &printer), pair);
}
