//! A printed line with scissors, for the hand, where a printer has no cutter.
//!
//! It is drawn into the strip before it is shown or sent, so the proof shows it. Where a manual asks for a cut it goes into the white
//! around that place, if there is enough, so that nothing else moves; else rows are put in. At a strip's end rows are always put
//! in, and white below it, so that the line comes well out of the printer.

use crate::bitmap::{Bitmap, Ink};
use crate::geometry::Point;
use crate::lengths::Mm;
use crate::printer::profile::{Cut, CutLine, Profile};
use crate::strip::Strip;

/// Rows of the drawing, white above and below it included. So much white above that no column holds half a real-time pair of what
/// stands over it and half of the line.
const ROWS: u32 = WHITE + SCISSORS + 10;
const WHITE: u32 = 12;
const SCISSORS: u32 = 16;

/// White below the line at a strip's end, to hold the paper by.
const HOLD: Mm = Mm::from_micrometres(6_000);

/// Whether [`drawn`] would change a strip; never `false` where it would.
pub fn draws(strip: &Strip, profile: &Profile) -> bool {
    let inside = strip.cuts.iter().any(|&cut| cut > 0 && cut < strip.bitmap.height());
    profile.cut == Cut::None && (profile.cut_line == CutLine::Every || profile.cut_line == CutLine::Inside && inside)
}

/// The strip with its lines. Done twice it changes nothing more: a cut that is drawn is no cut any more.
pub fn drawn(mut strip: Strip, profile: &Profile) -> Strip {
    if !draws(&strip, profile) {
        return strip;
    }
    let line = line(strip.bitmap.width());
    let height = strip.bitmap.height();
    let cuts = std::mem::take(&mut strip.cuts);
    for cut in cuts.into_iter().filter(|&cut| cut > 0 && cut < height).rev() {
        // In the middle of the white around it.
        let blank = |y: &u32| strip.bitmap.row_is_blank(*y);
        let above = (0..cut).rev().take_while(blank).count() as u32;
        let below = (cut..strip.bitmap.height()).take_while(blank).count() as u32;
        let spare = (above + below).checked_sub(ROWS);
        let top = match spare {
            Some(spare) => cut - above + spare / 2,
            None => insert(&mut strip, cut, ROWS),
        };
        strip.bitmap.put(&line, 0, top as i32, Ink::Black);
    }
    if profile.cut_line == CutLine::Every && !ends_with(&strip.bitmap, &line) {
        let end = strip.bitmap.height();
        let top = insert(&mut strip, end, ROWS + profile.resolution.dots(HOLD).count());
        strip.bitmap.put(&line, 0, top as i32, Ink::Black);
    }
    strip
}

/// Puts white rows in above row `at` and moves cuts and panels; returns `at`.
pub fn insert(strip: &mut Strip, at: u32, rows: u32) -> u32 {
    let bitmap = &strip.bitmap;
    let stride = bitmap.stride();
    let (before, after) = bitmap.data().split_at(at as usize * stride);
    let data = [before, &vec![0; rows as usize * stride], after].concat();
    strip.bitmap = Bitmap::from_rows(bitmap.width(), bitmap.height() + rows, data);
    strip.cuts.iter_mut().filter(|cut| **cut >= at).for_each(|cut| *cut += rows);
    for panel in &mut strip.panels {
        panel.top += if panel.top >= at { rows } else { 0 };
        panel.bottom += if panel.bottom >= at { rows } else { 0 };
    }
    at
}

/// Whether the last dots of a strip are this line's.
fn ends_with(bitmap: &Bitmap, line: &Bitmap) -> bool {
    let last = |bitmap: &Bitmap| (0..bitmap.height()).rfind(|&y| !bitmap.row_is_blank(y));
    let (Some(here), Some(there)) = (last(bitmap), last(line)) else { return false };
    here >= there && (0..=there).all(|up| bitmap.row(here - up) == line.row(there - up))
}

/// Scissors at the left, dashes from there on. Every stroke is two dots thick and whole bytes long or round, so that no row and
/// no column of it spells a real-time pair, wherever a stripe begins.
fn line(width: u32) -> Bitmap {
    let mut bitmap = Bitmap::new(width, ROWS);
    let middle = (WHITE + SCISSORS / 2) as i32;
    if width >= 64 {
        // In sixteenths of a dot, from the left of the drawing and from the line: two rings, and from each a blade across the other.
        let dot = |x: i32, y: i32| Point::new(x + 8, middle + y) * 16;
        for side in [-1, 1] {
            let ring = [[4, 2], [7, 3], [8, 5], [7, 7], [4, 8], [1, 7], [0, 5], [1, 3], [4, 2]].map(|[x, y]| dot(x, side * y));
            bitmap.stroke(&ring, 32, true);
            bitmap.stroke(&[dot(7, side * 4), dot(16, 0), dot(28, side * -5), dot(17, -side)], 36, true);
        }
    }
    let mut x = if width >= 64 { 48 } else { 0 };
    while x < width as i32 {
        bitmap.fill(x, middle - 1, 12, 2, true);
        x += 16;
    }
    bitmap
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lengths::Resolution;
    use crate::printer::encode::{plain, rows};
    use crate::printer::{decode, encode};

    fn torn(cut_line: CutLine) -> Profile {
        Profile { cut_line, ..Profile::named("58mm").expect("built in") }
    }

    #[test]
    fn the_line_spells_nothing_a_printer_would_act_on_wherever_a_stripe_begins() {
        for width in [8, 64, 384, 420, 576, 832] {
            let line = line(width);
            for lsb_first in [false, true] {
                assert!((0..line.height()).all(|y| !rows::holds_pair(line.row(y), lsb_first)), "{width}");
                let mut tall = Bitmap::new(width, 96);
                tall.put(&line, 0, 40, Ink::Black);
                assert!((0..=72).all(|top| super::super::columns::hazards(&tall, lsb_first, top) == 0), "{width}");
            }
        }
    }

    #[test]
    fn a_cut_that_no_blade_makes_is_drawn_in_the_white_that_is_there() {
        let mut bitmap = Bitmap::new(384, 200);
        bitmap.fill(0, 0, 384, 60, true);
        bitmap.fill(0, 140, 384, 60, true);
        let strip = Strip { cuts: vec![100], ..Strip::new(bitmap, Resolution::EIGHT) };
        let told = plain::as_told(strip.clone(), &torn(CutLine::Inside));
        assert_eq!((told.bitmap.height(), told.cuts.len()), (200, 0), "nothing moves");
        assert!(told.bitmap.black() > strip.bitmap.black());
        assert_eq!(plain::as_told(told.clone(), &torn(CutLine::Inside)), told);
        let seen = decode(&encode(&strip, &torn(CutLine::Inside)), &torn(CutLine::Inside));
        assert_eq!((seen.bitmap, seen.errors), (told.bitmap, vec![]));
        let unmarked = plain::as_told(strip.clone(), &torn(CutLine::None));
        assert_eq!(unmarked.bitmap, strip.bitmap);
    }

    #[test]
    fn where_there_is_no_white_rows_are_put_in_and_at_the_end_always() {
        let mut bitmap = Bitmap::new(384, 200);
        bitmap.fill(0, 0, 384, 200, true);
        let strip = Strip { cuts: vec![100], ..Strip::new(bitmap, Resolution::EIGHT) };
        for raster in [crate::printer::Raster::Rows, crate::printer::Raster::Columns] {
            let profile = Profile { raster, ..torn(CutLine::Every) };
            let told = plain::as_told(strip.clone(), &profile);
            assert!(told.bitmap.height() >= 200 + 2 * ROWS + 48);
            assert_eq!(told.panels.last().map(|panel| panel.bottom), Some(told.bitmap.height()));
            assert_eq!(plain::as_told(told.clone(), &profile), told, "{raster:?}");
            assert_eq!(decode(&encode(&strip, &profile), &profile).bitmap, told.bitmap, "{raster:?}");
        }
    }
}
