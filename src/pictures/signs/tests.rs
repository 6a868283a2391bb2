//! Signs by name, number and proportion.

use super::*;
use crate::manual::document::Permille;

/// Names of the manual's contract, with the numbers of CHECKS.md: ISO 7010 (looked up), IEC 60417 (5031 and 5032 looked up, the others known).
#[test]
fn the_names_and_their_numbers() {
    let wanted = [
        ("general-warning", Some("ISO 7010-W001")),
        ("electricity", Some("ISO 7010-W012")),
        ("hot-surface", Some("ISO 7010-W017")),
        ("hot-liquid", Some("ISO 7010-W079")),
        ("pinch", Some("ISO 7010-W024")),
        ("lithium-battery", Some("ISO 7010-W026")),
        ("magnet", Some("ISO 7010-W006")),
        ("laser", Some("ISO 7010-W004")),
        ("sharp", Some("ISO 7010-W022")),
        ("choking", None),
        ("read-manual", Some("ISO 7010-M002")),
        ("keep-from-children", Some("ISO 7010-M055")),
        ("no-bin", Some("EN 50419")),
        ("class-iii", Some("IEC 60417-5180")),
        ("dc", Some("IEC 60417-5031")),
        ("ac", Some("IEC 60417-5032")),
        // CHECKS.md, "Signals", and the list: memory. Battery and recycling: memory too.
        ("on", Some("IEC 60417-5007")),
        ("off", Some("IEC 60417-5008")),
        ("stand-by", Some("IEC 60417-5009")),
        ("on-off", Some("IEC 60417-5010")),
        ("earth", Some("IEC 60417-5017")),
        ("fuse", Some("IEC 60417-5016")),
        ("class-ii", Some("IEC 60417-5172")),
        ("caution", Some("ISO 7000-0434")),
        ("battery", Some("IEC 60417-5001")),
        ("recycling", Some("ISO 7000-1135")),
    ];
    assert_eq!(names().map(|name| (name, number(name))).collect::<Vec<_>>(), wanted);
}

#[test]
fn an_unknown_name_is_answered_with_the_nearest() {
    assert!(matches!(find("hot-surfaces"), Err(Error::UnknownSign { nearest: Some("hot-surface"), .. })));
    assert!(matches!(find("zebra-crossing-ahead"), Err(Error::UnknownSign { nearest: None, .. })));
    assert_eq!(draw("zebra", Dots(64)), None);
    assert_eq!(draw("dc", Dots(0)), None);
    assert_eq!(draw("dc", Dots(-3)), None);
}

/// Dots from the left edge in row `y` to each change between white and black.
fn changes(bitmap: &Bitmap, y: i32) -> Vec<i32> {
    (0..=bitmap.width() as i32).filter(|&x| bitmap.get(x, y) != bitmap.get(x - 1, y)).collect()
}

fn permille(part: i32, whole: i32) -> Permille {
    part * 1000 / whole
}

/// ISO 3864-1: an equilateral triangle with rounded corners and a black band along its sides. Values from memory: sides at 60
/// degrees, band 7 % of the side, corner radius 6 % of the width.
#[test]
fn warnings_are_equilateral_triangles_with_an_even_band() {
    for name in names().take(10) {
        let sign = draw(name, Dots(800)).unwrap();
        let (wide, high) = (sign.width() as i32, sign.height() as i32);
        // Rounding takes as much from the height as from the width: 200 to 176.42.
        assert!((permille(high, wide) - 882).abs() <= 1, "{name}: {wide} x {high}");
        // The outer edges lie on lines of 60 degrees: from a quarter to three quarters of the height they part by 2 / sqrt 3 a row.
        let (upper, lower) = (changes(&sign, high / 4), changes(&sign, high * 3 / 4));
        let spread = |row: &[i32]| row[row.len() - 1] - row[0];
        let parted = f64::from(spread(&lower) - spread(&upper)) / f64::from(high * 3 / 4 - high / 4);
        assert!((parted - 2.0 / libm::sqrt(3.0)).abs() < 0.01, "{name}: {parted}");
        // The band: 14 of 200 wide, measured across: along the bottom, and on the slant (where a row cuts it at 60 degrees).
        let middle = wide / 2;
        let bottom = (0..high).rev().take_while(|&y| sign.get(middle, y)).count() as i32;
        assert!((permille(bottom, wide) - 70).abs() <= 3, "{name}: band {bottom} of {wide}");
        let slant = f64::from(upper[1] - upper[0]) * libm::sqrt(3.0) / 2.0;
        assert!((slant * 1000.0 / f64::from(wide) - 70.0).abs() <= 3.0, "{name}: band {slant} on the slant of {wide}");
        assert!(parted_from_band(&draw(name, Dots(200)).unwrap()), "{name}: the symbol comes too close to the band");
        assert!(!sign.get(0, 0) && !sign.get(2, high - 2), "{name}: corners are round");
    }
}

/// Whether the symbol keeps 2.5 % of the width (2 dots at 8 mm) clear of the band: ink that is reached from the outside by
/// steps of that length is the band's alone, and leaves some over.
fn parted_from_band(sign: &Bitmap) -> bool {
    let (wide, high) = (sign.width() as i32, sign.height() as i32);
    let reach = wide / 40;
    let mut reached = Bitmap::new(sign.width(), sign.height());
    let mut open = vec![(wide / 2, high - 1)];
    while let Some((x, y)) = open.pop() {
        for (x, y) in (-reach..=reach).flat_map(|down| (-reach..=reach).map(move |right| (x + right, y + down))) {
            if sign.get(x, y) && !reached.get(x, y) {
                reached.set(x, y, true);
                open.push((x, y));
            }
        }
    }
    // By the drawing's numbers the band alone is 7856 of 17642 square units, half the box.
    let band = reached.black() as i32 * 1000 / (wide * high / 2);
    (430..460).contains(&band) && reached.black() < sign.black()
}

/// ISO 3864-1: a mandatory sign is a disc, its symbol in white; one bit makes its blue black.
#[test]
fn mandatory_signs_are_discs_in_reverse() {
    for name in ["read-manual", "keep-from-children"] {
        let sign = draw(name, Dots(400)).unwrap();
        assert_eq!((sign.width(), sign.height()), (400, 400));
        for step in 0..360 {
            let turn = f64::from(step) * std::f64::consts::PI / 180.0;
            let at = |radius: f64| ((200.0 + radius * libm::cos(turn)) as i32, (200.0 + radius * libm::sin(turn)) as i32);
            let (inner, outer) = (at(197.0), at(202.0));
            assert!(sign.get(inner.0, inner.1) && !sign.get(outer.0, outer.1), "{name} at {step} degrees");
        }
        let white = 1000 - sign.black() * 1000 / 160_000;
        // 215 of them lie outside the disc.
        assert!((300..500).contains(&white), "{name}: {white}");
    }
}

/// EN 50419:2022 (looked up): the bar is at least 1 mm thick. At 7 mm, the least that the trade prints, that holds at each of the printers'
/// resolutions; it is a full bar, and stands apart from the bin.
#[test]
fn the_bin_has_its_bar_and_its_least_height() {
    let sign = find("no-bin").unwrap();
    assert_eq!(sign.lowest, Mm::new(7.0));
    for resolution in [Resolution::EIGHT, Resolution { dots_per_metre: 7087 }, Resolution { dots_per_metre: 11_811 }] {
        let dots = sign.draw(resolution.dots(sign.lowest)).unwrap();
        let high = dots.height() as i32;
        let bar = (0..high).rev().take_while(|&y| changes(&dots, y).len() == 2).count();
        assert!(resolution.mm(Dots(bar as i32)) >= Mm::new(1.0), "at {resolution:?} the bar is {bar} dots high");
        assert!((0..high).rev().skip(bar).take(3).all(|y| dots.row_is_blank(y as u32)), "and stands apart");
        assert!(dots.get(dots.width() as i32 / 2, high * 2 / 5), "the cross passes the middle");
    }
    let dots = sign.draw(Resolution::EIGHT.dots(sign.lowest)).unwrap();
    let bar = (0..56).rev().take_while(|&y| changes(&dots, y).len() == 2).count();
    assert_eq!((dots.height(), bar >= 8), (56, true));
}

/// IEC 60417-5031 and 5032 (memory): a full line over a broken one; one period of a wave.
#[test]
fn supply_marks_are_a_line_over_dashes_and_a_wave() {
    let dc = draw("dc", Dots(50)).unwrap();
    assert_eq!(changes(&dc, 16), [0, 100]);
    assert_eq!(changes(&dc, 36).len(), 6);
    let ac = draw("ac", Dots(50)).unwrap();
    let middle =
        |x: i32| (0..50).filter(|&y| ac.get(x, y)).sum::<i32>() / (0..50).filter(|&y| ac.get(x, y)).count().max(1) as i32;
    assert!(middle(25) < 20 && middle(75) > 30 && (middle(50) - 25).abs() <= 2, "{} {} {}", middle(25), middle(50), middle(75));
}

#[test]
fn every_sign_is_whole_and_filled_at_the_sizes_it_is_printed_at() {
    for sign in &SIGNS {
        for height in [64, 96, 128, 160] {
            let dots = sign.draw(Dots(height)).unwrap();
            let share = dots.black() * 1000 / u64::from(dots.width() * dots.height());
            assert!((120..900).contains(&share), "{} at {height}: {share}", sign.name);
            assert!((0..dots.width() as i32).any(|x| dots.get(x, height - 1) || dots.get(x, height * 3 / 4)), "{}", sign.name);
        }
        assert!(!sign.meaning.is_empty());
        assert!(sign.svg.contains("<title>"), "{} says what it is", sign.name);
    }
}

#[test]
fn the_alert_symbol_is_a_full_triangle_with_its_mark_cut_out() {
    let alert = alert(Dots(176)).unwrap();
    assert_eq!(changes(&alert, 100).len(), 4);
    assert!(alert.get(60, 160) && !alert.get(100, 142) && !alert.get(100, 80));
}
