//! The edges strip: how wide the printer prints, and how its paper is cut.
//!
//! Lines of growing width end in a hook: the last one whose hook is whole says how many dots there are. A ladder of millimetres is
//! cut, or torn, where the blade or bar stands: the lowest number above the edge is the way from the head to it.

use super::ways::number_at;
use crate::bitmap::Bitmap;
use crate::lengths::Mm;
use crate::printer::{self, Cut, CutLine, Profile, Thrift};
use crate::strip::Strip;

/// Millimetres on the ladder.
pub const LADDER: i32 = 40;
/// Rows of a line with its number and hook.
const LINE: u32 = 26;

/// Widths that are tried, for paper of so many millimetres: those that heads are built with and some around (common practice, no
/// source).
pub fn widths(paper_mm: u32) -> Vec<u32> {
    let widths: &[u32] = match paper_mm {
        ..70 => &[320, 352, 360, 372, 384, 392, 400, 408, 416, 420, 424, 432, 448, 464, 480],
        70..95 => &[432, 448, 480, 504, 512, 520, 528, 546, 560, 568, 576, 584, 592, 600, 608, 624, 640],
        _ => &[640, 672, 704, 720, 744, 768, 792, 800, 816, 832, 848, 864, 880, 896],
    };
    widths.iter().copied().filter(|&dots| printer::encode::width_is_sayable(dots)).collect()
}

/// A line of so many dots.
pub fn line(dots: u32) -> Bitmap {
    let mut line = Bitmap::new(dots, LINE);
    let width = dots as i32;
    number_at(&mut line, dots, 8, 2, 18);
    line.fill(0, 22, width, 2, true);
    line.fill(width - 4, 6, 4, 18, true);
    line
}

/// The ladder: a line a millimetre with its number each five, 0 last.
pub fn ladder(profile: &Profile) -> Bitmap {
    let at = |mm: i32| profile.resolution.dots(Mm::from_micrometres(i64::from(mm) * 1000)).0;
    // Whole stripes of ESC *, so that no white is put under rung 0.
    let mut ladder = Bitmap::new(profile.dots, (at(LADDER) as u32 + 2).next_multiple_of(24));
    let foot = ladder.height() as i32 - 2;
    for mm in 0..=LADDER {
        let y = foot - at(mm);
        let long = mm % 5 == 0;
        ladder.fill(0, y, if long { 64 } else { 32 }, 2, true);
        if long {
            number_at(&mut ladder, mm as u32, 72, (y - 14).max(0), 16);
        }
    }
    ladder
}

/// What is sent by the way that is known to come out right, and the offsets after which no command is under way.
pub fn stream(known: &Profile, paper_mm: u32) -> (Vec<u8>, Vec<usize>) {
    let plain =
        Profile { thrift: Thrift::None, cut: Cut::None, cut_line: CutLine::None, head_to_cutter: Mm::default(), ..known.clone() };
    let (mut bytes, mut ends) = (Vec::new(), Vec::new());
    let mut put = |bitmap: Bitmap, then: &[u8]| {
        let profile = Profile { dots: bitmap.width(), ..plain.clone() };
        let bands = printer::encode_in_bands(&Strip::new(bitmap, plain.resolution), &profile);
        ends.extend(bands.ends.iter().map(|end| bytes.len() + end));
        bytes.extend(bands.bytes);
        if !then.is_empty() {
            bytes.extend(then);
            ends.push(bytes.len());
        }
    };
    for dots in widths(paper_mm) {
        put(line(dots), &[]);
    }
    // The second test first: its blade falls into the ladder.
    put(white(&plain, 3), &[]);
    put(ladder(&plain), &[0x1D, 0x56, 0x01]);
    put(white(&plain, 3), &[]);
    put(first(plain.dots), &[0x1D, 0x56, 0x42, 0x00]);
    // So that a hand can reach what no blade has cut.
    put(white(&plain, LADDER), &[]);
    (bytes, ends)
}

/// The large 1 above a line, below which the first test cuts.
pub fn first(dots: u32) -> Bitmap {
    let mut first = Bitmap::new(dots, 60);
    number_at(&mut first, 1, 8, 8, 40);
    first.fill(0, 56, dots as i32, 2, true);
    first
}

fn white(profile: &Profile, mm: i32) -> Bitmap {
    let rows = profile.resolution.dots(Mm::from_micrometres(i64::from(mm) * 1000)).count();
    Bitmap::new(profile.dots, rows)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::printer::decode;

    #[test]
    fn a_blade_leaves_the_rung_that_is_its_way_from_the_head() {
        for name in ["80mm", "58mm-wide"] {
            let profile = Profile::named(name).expect("built in");
            let paper = if name == "80mm" { 80 } else { 58 };
            let (bytes, ends) = stream(&profile, paper);
            assert_eq!(ends.last(), Some(&bytes.len()));
            let seen = decode(&bytes, &profile);
            assert_eq!(seen.cuts.len(), 2);
            let ladder = ladder(&profile);
            let highest = (0..ladder.height()).find(|&y| ladder.get(0, y as i32)).expect("a rung") as i32;
            let head = ladder.part(0, highest, profile.dots, 40);
            let top = (0..seen.cuts[0]).find(|&y| seen.bitmap.part(0, y as i32, profile.dots, 40) == head);
            let left = seen.cuts[0] - top.expect("the ladder's upper end");
            let lowest = (0..=LADDER).find(|mm| profile.resolution.dots(Mm::new(f64::from(LADDER - mm))).count() + 2 <= left);
            assert_eq!(lowest.map(f64::from), Some(profile.head_to_cutter.value().ceil()), "{name}");
        }
    }

    #[test]
    fn the_generic_widths_are_among_those_that_are_tried() {
        for (paper, dots) in [(58, 384), (58, 420), (80, 512), (80, 576), (112, 832)] {
            assert!(widths(paper).contains(&dots), "{paper} mm: {dots}");
        }
    }
}
