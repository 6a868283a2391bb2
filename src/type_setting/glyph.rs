//! One-bit glyphs: an outline, fitted to the grid of dots or not, becomes the dots that it covers.
//!
//! Never decides where a glyph stands; only what it looks like, and where its ink ends.

use std::sync::Arc;

use ab_glyph::{GlyphId, Outline, OutlineCurve, OutlinedGlyph, Point, PxScaleFactor, Rect, point};
use skrifa::outline::OutlinePen;

use super::font::{Fitting, Font};
use super::{Dotted, GlyphDots};
use crate::bitmap::Bitmap;

/// How an outline becomes dots.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Rasterising {
    pub fitting: Fitting,
    /// A dot is black from this coverage on, in 1/256.
    pub threshold: u16,
    /// Dots by which every stroke grows to the right.
    pub thicken: u8,
    /// How far strokes lean over, in percent of their height.
    pub slant: u8,
}

/// A glyph as dots, and what spacing needs to know of it.
#[derive(Clone, Debug)]
pub(super) struct Cut {
    pub dots: Dotted,
    /// First column with ink and the one after the last, from the origin; both 0 when there is no ink.
    pub left: i32,
    pub right: i32,
    /// Where the ink of the unfitted outline begins and ends, in 1/64 dot from the origin.
    pub ideal_left: i32,
    pub ideal_right: i32,
}

impl Cut {
    pub fn of_dots(dots: GlyphDots) -> Cut {
        let (left, right) = (dots.left, dots.left + dots.bitmap.width() as i32);
        Cut { dots: Arc::new(dots), left, right, ideal_left: left * 64, ideal_right: right * 64 }
    }

    pub fn is_blank(&self) -> bool {
        self.left == self.right
    }

    /// Mean width of the ink in the rows of its middle third, in 1/64 dot.
    fn stroke(&self) -> i32 {
        let height = self.dots.bitmap.height() as i32;
        let middle = height / 3..height - height / 3;
        let widths: Vec<i32> = middle.filter_map(|row| self.reach(self.dots.top + row)).map(|(start, end)| end - start).collect();
        widths.iter().sum::<i32>() * 64 / (widths.len() as i32).max(1)
    }

    /// First column with ink and the one after the last in the row at `y` (down, from the baseline), if it has ink.
    fn reach(&self, y: i32) -> Option<(i32, i32)> {
        let bitmap = &self.dots.bitmap;
        let row = y - self.dots.top;
        if row < 0 || row >= bitmap.height() as i32 {
            return None;
        }
        let bytes = bitmap.row(row as u32);
        let first = bytes.iter().position(|&byte| byte != 0)?;
        let last = bytes.iter().rposition(|&byte| byte != 0)?;
        let start = first as i32 * 8 + bytes[first].leading_zeros() as i32;
        let end = last as i32 * 8 + 8 - bytes[last].trailing_zeros() as i32;
        Some((self.dots.left + start, self.dots.left + end))
    }

    /// The white between this glyph and `next` when both stand on the same origin: the smallest distance from ink to ink in
    /// neighbouring rows, in dots, negative when `next` has to move right so far only to be clear. `None` when they share no
    /// rows. `rise` is how far `next` stands above this one.
    pub fn clearance(&self, next: &Cut, rise: i32) -> Option<i32> {
        let top = self.dots.top - 1;
        let bottom = self.dots.top + self.dots.bitmap.height() as i32 + 1;
        let mut least: Option<i32> = None;
        for y in top..bottom {
            let Some((start, _)) = next.reach(y + rise) else { continue };
            for near in [y - 1, y, y + 1] {
                if let Some((_, end)) = self.reach(near) {
                    least = Some(least.map_or(start - end, |least| least.min(start - end)));
                }
            }
        }
        least
    }
}

/// Cuts one glyph at an em of `em` / 64 dots. A glyph with no outline has no dots. Where fitting breaks a glyph, a way that
/// moves it less is taken.
pub(super) fn cut(font: &Font, id: u32, em: i32, how: Rasterising) -> Cut {
    let plain = drawn(font, id, em, Rasterising { fitting: Fitting::None, thicken: 0, ..how });
    let ways: &[Fitting] = match how.fitting {
        Fitting::None => &[],
        Fitting::Heights => &[Fitting::Heights],
        Fitting::Full => &[Fitting::Full, Fitting::Heights],
        Fitting::Own => &[Fitting::Own, Fitting::Heights],
    };
    let fitted = ways.iter().map(|&fitting| drawn(font, id, em, Rasterising { fitting, ..how }));
    // A bold twin is bold throughout: a letter that stayed plain would stand out of its word.
    let bold = (how.fitting == Fitting::None && how.thicken > 0).then(|| drawn(font, id, em, how));
    let dots = bold.or_else(|| fitted.into_iter().find(|fitted| is_whole(fitted, &plain)).map(|fitted| dotted(fitted, &plain)));
    let dots = dots.unwrap_or(plain);
    let mut cut = Cut::of_dots(dots);
    // What leans has its ink elsewhere than its outline as designed.
    if !cut.is_blank() && how.slant == 0 {
        let units = i64::from(font.units_per_em().max(1));
        if let Some((left, right)) = font.ink(id) {
            let scaled = |length: f32| (i64::from(length as i32) * i64::from(em)).div_euclid(units) as i32;
            cut.ideal_left = scaled(left);
            cut.ideal_right = scaled(right);
        }
    }
    cut
}

/// Draws one glyph in one way.
fn drawn(font: &Font, id: u32, em: i32, how: Rasterising) -> GlyphDots {
    let mut pen = Pen { slant: f32::from(how.slant) / 100.0, ..Pen::default() };
    if font.draw(id, em, how.fitting, &mut pen) {
        pen.dots(how)
    } else {
        GlyphDots { bitmap: Bitmap::new(0, 0), left: 0, top: 0 }
    }
}

/// Whether fitting, and thickening where it took strokes away, has kept a glyph whole: a dot and its stem still two parts, no
/// rows gone from its dots, not a third of its ink lost nor as much gained as there was. (A hinter can collapse a stroke: the stem of an `i`, say, at one
/// size of one face.)
fn is_whole(fitted: &GlyphDots, plain: &GlyphDots) -> bool {
    let (now, before) = (fitted.bitmap.black(), plain.bitmap.black());
    let rows = |dots: &GlyphDots| (0..dots.bitmap.height()).filter(|&y| !dots.bitmap.row_is_blank(y)).count();
    let ink = now * 3 >= before * 2 && now <= before * 2 + 4;
    ink && rows(fitted) * 4 >= rows(plain) * 3 && parts(&fitted.bitmap) >= parts(&plain.bitmap).min(2)
}

/// Rows of what stands over the rest of a glyph with white between, of that white, and of the rest; where there are just these.
fn storeys(dots: &GlyphDots) -> Option<[u32; 3]> {
    let inked: Vec<bool> = (0..dots.bitmap.height()).map(|y| !dots.bitmap.row_is_blank(y)).collect();
    match inked.chunk_by(|a, b| a == b).map(|rows| rows.len() as u32).collect::<Vec<_>>()[..] {
        [dot, white, stem] => Some([dot, white, stem]),
        _ => None,
    }
}

/// A dot or an accent that fitting has left one row of, though its outline has more, is made as high as that, towards its stem: a stem
/// with a hair over it is read as a capital I.
fn dotted(fitted: GlyphDots, plain: &GlyphDots) -> GlyphDots {
    /// Rows of white that stay.
    const WHITE: u32 = 2;
    let (Some([now, white, stem]), Some([asked, ..])) = (storeys(&fitted), storeys(plain)) else { return fitted };
    let more = asked.saturating_sub(now).min(white.saturating_sub(WHITE));
    if now > 1 || stem < now * 3 || more == 0 {
        return fitted;
    }
    let mut bitmap = fitted.bitmap.clone();
    for y in now..now + more {
        (0..bitmap.width() as i32).for_each(|x| bitmap.set(x, y as i32, fitted.bitmap.get(x, now as i32 - 1)));
    }
    GlyphDots { bitmap, ..fitted }
}

/// Mean width of a glyph's ink in its middle third as fitting leaves it, in 1/64 dot; `None` when it has none.
pub(super) fn stroke(font: &Font, id: u32, em: i32, how: Rasterising) -> Option<i32> {
    let cut = Cut::of_dots(drawn(font, id, em, Rasterising { thicken: 0, ..how }));
    (!cut.is_blank()).then(|| cut.stroke())
}

/// How many separate parts the ink has; dots that touch at a corner belong together.
fn parts(bitmap: &Bitmap) -> usize {
    let mut left = bitmap.clone();
    let mut count = 0;
    let mut heap = Vec::new();
    for y in 0..bitmap.height() as i32 {
        for x in 0..bitmap.width() as i32 {
            if !left.get(x, y) {
                continue;
            }
            count += 1;
            left.set(x, y, false);
            heap.push((x, y));
            while let Some((x, y)) = heap.pop() {
                for (dx, dy) in [(-1, -1), (0, -1), (1, -1), (-1, 0), (1, 0), (-1, 1), (0, 1), (1, 1)] {
                    if left.get(x + dx, y + dy) {
                        left.set(x + dx, y + dy, false);
                        heap.push((x + dx, y + dy));
                    }
                }
            }
        }
    }
    count
}

/// Largest side of a glyph in dots; whatever is larger is a broken font.
const LARGEST: f32 = 4096.0;
/// Largest area of a glyph in dots.
const LARGEST_AREA: f32 = 8_000_000.0;

/// Collects an outline (y up, in dots).
#[derive(Default)]
struct Pen {
    curves: Vec<OutlineCurve>,
    start: Point,
    at: Point,
    bounds: Option<Rect>,
    slant: f32,
}

impl Pen {
    fn point(&self, x: f32, y: f32) -> Point {
        point(x + y * self.slant, y)
    }

    fn reach(&mut self, to: Point) {
        let bounds = self.bounds.get_or_insert(Rect { min: to, max: to });
        bounds.min = point(bounds.min.x.min(to.x), bounds.min.y.min(to.y));
        bounds.max = point(bounds.max.x.max(to.x), bounds.max.y.max(to.y));
    }

    /// The dots that are covered enough, thickened, cropped to the ink.
    fn dots(self, how: Rasterising) -> GlyphDots {
        let blank = GlyphDots { bitmap: Bitmap::new(0, 0), left: 0, top: 0 };
        let Some(bounds) = self.bounds else { return blank };
        let sides = [bounds.min.x, bounds.min.y, bounds.max.x, bounds.max.y];
        if sides.iter().any(|side| !side.is_finite() || side.abs() > LARGEST) {
            return blank;
        }
        // ab_glyph wants the bounds with y upwards: the smaller corner carries the larger y.
        let flipped = Rect { min: point(bounds.min.x, bounds.max.y), max: point(bounds.max.x, bounds.min.y) };
        let outline = Outline { bounds: flipped, curves: self.curves };
        let scale = PxScaleFactor { horizontal: 1.0, vertical: 1.0 };
        let outlined = OutlinedGlyph::new(GlyphId(0).with_scale(1.0), outline, scale);
        let frame = outlined.px_bounds();
        if frame.width() * frame.height() > LARGEST_AREA {
            return blank;
        }
        let mut covered = Bitmap::new(frame.width() as u32 + u32::from(how.thicken), frame.height() as u32);
        outlined.draw(|x, y, coverage| {
            if (coverage * 256.0) as u32 >= u32::from(how.threshold) {
                covered.fill(x as i32, y as i32, 1 + i32::from(how.thicken), 1, true);
            }
        });
        crop(&covered, frame.min.x as i32, frame.min.y as i32)
    }
}

/// Takes away blank rows and columns on all sides.
fn crop(bitmap: &Bitmap, left: i32, top: i32) -> GlyphDots {
    let rows: Vec<u32> = (0..bitmap.height()).filter(|&y| !bitmap.row_is_blank(y)).collect();
    let (Some(&first), Some(&last)) = (rows.first(), rows.last()) else {
        return GlyphDots { bitmap: Bitmap::new(0, 0), left: 0, top: 0 };
    };
    let inked = |x: &i32| (first..=last).any(|y| bitmap.get(*x, y as i32));
    let start = (0..bitmap.width() as i32).find(inked).unwrap_or(0);
    let end = (0..bitmap.width() as i32).rev().find(inked).unwrap_or(0);
    let part = bitmap.part(start, first as i32, (end - start + 1) as u32, last - first + 1);
    GlyphDots { bitmap: part, left: left + start, top: top + first as i32 }
}

impl OutlinePen for Pen {
    fn move_to(&mut self, x: f32, y: f32) {
        self.close();
        self.start = self.point(x, y);
        self.at = self.start;
        self.reach(self.start);
    }

    fn line_to(&mut self, x: f32, y: f32) {
        let to = self.point(x, y);
        self.curves.push(OutlineCurve::Line(self.at, to));
        self.reach(to);
        self.at = to;
    }

    fn quad_to(&mut self, cx0: f32, cy0: f32, x: f32, y: f32) {
        let (control, to) = (self.point(cx0, cy0), self.point(x, y));
        self.curves.push(OutlineCurve::Quad(self.at, control, to));
        self.reach(control);
        self.reach(to);
        self.at = to;
    }

    fn curve_to(&mut self, cx0: f32, cy0: f32, cx1: f32, cy1: f32, x: f32, y: f32) {
        let (first, second, to) = (self.point(cx0, cy0), self.point(cx1, cy1), self.point(x, y));
        self.curves.push(OutlineCurve::Cubic(self.at, first, second, to));
        self.reach(first);
        self.reach(second);
        self.reach(to);
        self.at = to;
    }

    fn close(&mut self) {
        if self.at != self.start {
            self.curves.push(OutlineCurve::Line(self.at, self.start));
            self.at = self.start;
        }
    }
}
