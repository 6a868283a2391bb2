//! The reading drawn over the photograph, so that a person sees what was taken for what.

use image::imageops::{self, FilterType};
use image::{Rgb, RgbImage};
use imageproc::drawing::draw_line_segment_mut;

use super::measure::{Reading, Seen};
use super::picture::Picture;
use super::sheet::Sheet;
use super::trials::{self, Verdict};
use crate::bitmap::Bitmap;
use crate::geometry::{Point, Rect, Size};
use crate::makeready::ways;

/// Longer side of what is drawn, pixels.
const LONG: u32 = 1600;

const MARK: Rgb<u8> = Rgb([0, 150, 60]);
const PATCH: Rgb<u8> = Rgb([0, 90, 220]);
const GOOD: Rgb<u8> = Rgb([0, 150, 60]);
const BAD: Rgb<u8> = Rgb([220, 0, 0]);
const WEAK: Rgb<u8> = Rgb([230, 130, 0]);

/// The photograph with marks and read codes in green, greys in blue, dead columns and unread codes in red, weak columns in orange.
pub fn over(picture: &Picture, seen: &Seen, reading: &Reading, sheet: &Sheet) -> RgbImage {
    let (mut shown, shrink) = shrunk(picture);
    let half = Size::new(sheet.bitmap.width(), sheet.bitmap.height()).map(|side| f64::from(side) / 2.0);
    let mut around = |corners: [Point<f64>; 4], colour: Rgb<u8>| outlined(&mut shown, corners, shrink, 1, colour);
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

/// The photograph of a ways strip: pictures that are right in green, wrong ones in red, those of which nothing is claimed in orange, each
/// with its number.
pub fn over_ways(picture: &Picture, seen: &trials::Seen) -> RgbImage {
    let (mut shown, shrink) = shrunk(picture);
    for (number, corners) in &seen.outlines {
        let colour = match seen.verdicts.get(number) {
            Some(Verdict::Right { .. }) => GOOD,
            Some(Verdict::Wrong(_)) => BAD,
            _ => WEAK,
        };
        outlined(&mut shown, *corners, shrink, 3, colour);
        labelled(&mut shown, *number, *corners, shrink, colour);
    }
    shown
}

/// As large as it is shown, and by what share.
fn shrunk(picture: &Picture) -> (RgbImage, f64) {
    let shrink = (f64::from(LONG) / f64::from(picture.width.max(picture.height))).min(1.0);
    let size = |side: u32| (f64::from(side) * shrink) as u32;
    (imageops::resize(&picture.shown, size(picture.width), size(picture.height), FilterType::Triangle), shrink)
}

/// Lines about four corners, a pixel thicker than so many.
fn outlined(shown: &mut RgbImage, corners: [Point<f64>; 4], shrink: f64, thick: i32, colour: Rgb<u8>) {
    for side in 0..4 {
        let [from, to] = [corners[side], corners[(side + 1) % 4]].map(|point| point.map(|part| (part * shrink) as f32));
        for step in (0..=thick).map(|step| step as f32) {
            draw_line_segment_mut(shown, (from.x + step, from.y), (to.x + step, to.y), colour);
            draw_line_segment_mut(shown, (from.x, from.y + step), (to.x, to.y + step), colour);
        }
    }
}

/// The number of a picture right of it, or where there is no room, on it; upright whichever way the strip lies.
fn labelled(shown: &mut RgbImage, number: u32, corners: [Point<f64>; 4], shrink: f64, colour: Rgb<u8>) {
    const HEIGHT: u32 = 26;
    let digits = number.to_string().len() as u32;
    let mut label = Bitmap::new(digits * (HEIGHT * 5 / 8 + 5) + 3, HEIGHT + 8);
    ways::number_at(&mut label, number, 4, 4, HEIGHT as i32);
    let middle = corners.iter().fold(Point::default(), |sum, corner| sum + corner.map(|part| part / 4.0));
    let right = corners.iter().map(|corner| corner.x).fold(f64::MIN, f64::max);
    let room = shown.width() as i32 - label.width() as i32;
    let x = ((right * shrink) as i32 + 8).clamp(0, room.max(0));
    let y =
        ((middle.y * shrink) as i32 - label.height() as i32 / 2).clamp(0, (shown.height() as i32 - label.height() as i32).max(0));
    for (dx, dy) in (0..label.height() as i32).flat_map(|dy| (0..label.width() as i32).map(move |dx| (dx, dy))) {
        if let Some(pixel) = shown.get_pixel_mut_checked((x + dx) as u32, (y + dy) as u32) {
            *pixel = if label.get(dx, dy) { Rgb([255; 3]) } else { colour };
        }
    }
}
