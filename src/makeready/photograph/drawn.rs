//! The reading drawn over the photograph, so that a person sees what was taken for what.

use image::imageops::{self, FilterType};
use image::{Rgb, RgbImage};
use imageproc::drawing::draw_line_segment_mut;

use super::measure::{Reading, Seen};
use super::picture::Picture;
use super::sheet::Sheet;
use crate::geometry::{Point, Rect, Size};

/// Longer side of what is drawn, pixels.
const LONG: u32 = 1600;

const MARK: Rgb<u8> = Rgb([0, 150, 60]);
const PATCH: Rgb<u8> = Rgb([0, 90, 220]);
const GOOD: Rgb<u8> = Rgb([0, 150, 60]);
const BAD: Rgb<u8> = Rgb([220, 0, 0]);
const WEAK: Rgb<u8> = Rgb([230, 130, 0]);

/// The photograph with marks and read codes in green, greys in blue, dead columns and unread codes in red, weak columns in orange.
pub fn over(picture: &Picture, seen: &Seen, reading: &Reading, sheet: &Sheet) -> RgbImage {
    let shrink = (f64::from(LONG) / f64::from(picture.width.max(picture.height))).min(1.0);
    let size = |side: u32| (f64::from(side) * shrink) as u32;
    let mut shown = imageops::resize(&picture.shown, size(picture.width), size(picture.height), FilterType::Triangle);
    let half = Size::new(sheet.bitmap.width(), sheet.bitmap.height()).map(|side| f64::from(side) / 2.0);
    let mut around = |corners: [Point<f64>; 4], colour: Rgb<u8>| {
        for side in 0..4 {
            let [from, to] = [corners[side], corners[(side + 1) % 4]].map(|point| point.map(|part| (part * shrink) as f32));
            // Two pixels wide.
            for step in [0.0, 1.0] {
                draw_line_segment_mut(&mut shown, (from.x + step, from.y), (to.x + step, to.y), colour);
                draw_line_segment_mut(&mut shown, (from.x, from.y + step), (to.x, to.y + step), colour);
            }
        }
    };
    let corners = |area: Rect<i32>| {
        let (left, top) = (f64::from(area.x) - half.width, f64::from(area.y) - half.height);
        let (right, foot) = (left + f64::from(area.width), top + f64::from(area.height));
        [(left, top), (right, top), (right, foot), (left, foot)].map(|(x, y)| seen.camera.project(Point::new(x, y)))
    };
    for mark in &seen.found {
        around(mark.corners, MARK);
    }
    for patch in &sheet.patches {
        around(corners(patch.area), PATCH);
    }
    for code in &sheet.codes {
        if let Some((_, read)) = reading.codes.iter().find(|(module, _)| *module == code.module) {
            around(corners(code.area), if *read { GOOD } else { BAD });
        }
    }
    let (top, foot) = (sheet.combs.first().copied().unwrap_or(0), sheet.band.y + sheet.band.height);
    let column = |x: u32| corners(Rect { x: x as i32, y: top, width: 1, height: foot - top });
    for &x in reading.dead.iter().flatten() {
        around(column(x), BAD);
    }
    for &x in &reading.weak {
        around(column(x), WEAK);
    }
    shown
}
