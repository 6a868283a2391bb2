//! The strip that is photographed: what stands where on it, in dots.

use std::ops::Range;

use fast_qr::QRBuilder;

use crate::bitmap::{Bitmap, Ink};
use crate::geometry::{Point, Rect, Size};
use crate::lengths::Resolution;
use crate::makeready::marks;
use crate::manual::document::Screen;
use crate::pictures::screens::{self, Ask};
use crate::pictures::tone::Shares;
use crate::printer::Profile;

/// A flat grey.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Patch {
    /// Percent that its name says.
    pub percent: u32,
    /// Where to look: a margin is left at its edges.
    pub area: Rect<i32>,
}

/// Thin lines, black on white or white in black.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Thin {
    /// Dots.
    pub width: i32,
    pub black: bool,
    /// It runs along the paper.
    pub along: bool,
    pub area: Rect<i32>,
}

/// A code of so many dots a module.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Code {
    pub module: i32,
    pub area: Rect<i32>,
}

/// The strip and a list of what is on it.
#[derive(Clone, Debug)]
pub struct Sheet {
    pub bitmap: Bitmap,
    /// Number and middle of each mark.
    pub marks: Vec<(usize, Point<f64>)>,
    pub patches: Vec<Patch>,
    /// First row of each of [`COMBS`] combs; in the `n`th every eighth column from the `n`th on is black.
    pub combs: Vec<i32>,
    pub band: Rect<i32>,
    pub thin: Vec<Thin>,
    pub codes: Vec<Code>,
    /// Rows of the two long lines that a ruler is laid between, their upper edges.
    pub lines: [i32; 2],
}

/// Columns from one tooth of a comb to the next, and so many combs.
pub const COMBS: i32 = 8;
/// Rows of a comb.
pub const TOOTH: i32 = 14;
/// Greys, in percent.
pub const GREYS: [u32; 9] = [10, 20, 30, 40, 50, 60, 70, 80, 90];
/// Narrowest print that all of it fits on.
pub const LEAST: u32 = 320;

const EDGE: i32 = 6;
const LEFT: i32 = EDGE + marks::SIDE + 12;
const PATCH: Size<i32> = Size::new(40, 48);
const PITCH: i32 = 100;
/// Rows between the two long lines.
pub const BETWEEN: i32 = 1040;

impl Sheet {
    /// The strip of a printer. `None`: it prints too narrow.
    pub fn of(profile: &Profile) -> Option<Sheet> {
        let width = i32::try_from(profile.dots).ok()?;
        if profile.dots < LEAST {
            return None;
        }
        let lines = [16, 16 + BETWEEN];
        let height = lines[1] + 18;
        let mut sheet = Sheet {
            bitmap: Bitmap::new(profile.dots, height as u32),
            marks: Vec::new(),
            patches: Vec::new(),
            combs: Vec::new(),
            band: Rect { x: 0, y: 0, width, height: 40 },
            thin: Vec::new(),
            codes: Vec::new(),
            lines,
        };
        for y in lines {
            sheet.bitmap.fill(LEFT, y, width - 2 * LEFT, 3, true);
        }
        let mut y = sheet.greys(36, GREYS.into_iter());
        let mut whole = [0..0, 0..0];
        sheet.combs = (0..COMBS).map(|comb| y + comb * (TOOTH + 4)).collect();
        for (comb, &top) in sheet.combs.clone().iter().enumerate() {
            for x in (comb as i32..width).step_by(COMBS as usize) {
                sheet.bitmap.fill(x, top, 1, TOOTH, true);
            }
        }
        whole[0] = y - 12..y + COMBS * (TOOTH + 4) + 8;
        y = whole[0].end + 12;
        sheet.band.y = y;
        sheet.bitmap.fill(0, y, width, sheet.band.height, true);
        whole[1] = y - 12..y + sheet.band.height + 12;
        y = sheet.thin(whole[1].end + 4);
        y = sheet.codes(y);
        sheet.greys(y, GREYS.into_iter().rev());
        sheet.place_marks(&whole);
        Some(sheet)
    }

    /// Patches from left to right with solid black among them, as many lines as it takes; the row below.
    fn greys(&mut self, mut y: i32, greys: impl Iterator<Item = u32>) -> i32 {
        let right = self.bitmap.width() as i32 - LEFT;
        let mut row = Vec::new();
        for (index, grey) in greys.enumerate() {
            if index % 3 == 0 {
                row.push(100);
            }
            row.push(grey);
        }
        row.push(100);
        let mut x = LEFT;
        for percent in row {
            if x + PATCH.width > right {
                (x, y) = (LEFT, y + PATCH.height + 14);
            }
            let patch = flat(percent);
            self.bitmap.put(&patch, x, y, Ink::Black);
            if percent < 100 {
                // What lies next to white is mixed with it by any lens.
                let area = Rect { x: x + 6, y: y + 6, width: PATCH.width - 12, height: PATCH.height - 12 };
                self.patches.push(Patch { percent, area });
            }
            x += PATCH.width + 14;
        }
        y + PATCH.height + 18
    }

    fn thin(&mut self, y: i32) -> i32 {
        for (step, width) in [1, 2, 3].into_iter().enumerate() {
            let step = step as i32;
            let along = Rect { x: LEFT + 8 + step * 24, y, width, height: 48 };
            self.bitmap.fill(along.x, along.y, along.width, along.height, true);
            self.thin.push(Thin { width, black: true, along: true, area: along });
            let across = Rect { x: LEFT + 76, y: y + 4 + step * 18, width: 48, height: width };
            self.bitmap.fill(across.x, across.y, across.width, across.height, true);
            self.thin.push(Thin { width, black: true, along: false, area: across });
        }
        let x = LEFT + 140;
        self.bitmap.fill(x, y, 84, 48, true);
        let low = y + 66;
        self.bitmap.fill(LEFT, low, 64, 72, true);
        for (step, width) in [1, 2, 3].into_iter().enumerate() {
            let step = step as i32;
            let along = Rect { x: x + 18 + step * 24, y, width, height: 48 };
            self.bitmap.fill(along.x, along.y, along.width, along.height, false);
            self.thin.push(Thin { width, black: false, along: true, area: along });
            let across = Rect { x: LEFT, y: low + 16 + step * 20, width: 64, height: width };
            self.bitmap.fill(across.x, across.y, across.width, across.height, false);
            self.thin.push(Thin { width, black: false, along: false, area: across });
        }
        low
    }

    /// Codes beside the block with the gaps.
    fn codes(&mut self, y: i32) -> i32 {
        let right = self.bitmap.width() as i32 - LEFT;
        let (mut x, mut y, mut low) = (LEFT + 80, y, y + 72);
        for module in [2, 3, 4] {
            let Ok(code) = QRBuilder::new(said(module).as_bytes()).build() else { continue };
            let side = code.size as i32 * module;
            if x + side > right {
                (x, y) = (LEFT + 80, low + 4 * module);
            }
            for (row, column) in (0..code.size).flat_map(|row| (0..code.size).map(move |column| (row, column))) {
                if code[row][column].value() {
                    self.bitmap.fill(x + column as i32 * module, y + row as i32 * module, module, module, true);
                }
            }
            self.codes.push(Code { module, area: Rect { x, y, width: side, height: side } });
            low = low.max(y + side);
            x += side + 6 * module;
        }
        low + 20
    }

    /// Two marks in each line, but for those that something stands on from edge to edge.
    fn place_marks(&mut self, whole: &[Range<i32>]) {
        let (width, height) = (self.bitmap.width() as i32, self.bitmap.height() as i32);
        let rows = (height - 2 * EDGE - marks::SIDE) / PITCH;
        for row in 0..=rows {
            let y = EDGE + row * (height - 2 * EDGE - marks::SIDE) / rows;
            if whole.iter().any(|rows| y < rows.end && y + marks::SIDE > rows.start) {
                continue;
            }
            for (side, x) in [EDGE, width - EDGE - marks::SIDE].into_iter().enumerate() {
                let number = row as usize * 2 + side;
                marks::draw(&mut self.bitmap, number, x, y);
                let middle = f64::from(marks::SIDE) / 2.0;
                self.marks.push((number, Point::new(f64::from(x) + middle, f64::from(y) + middle)));
            }
        }
    }
}

/// What the code of so many dots a module says.
pub fn said(module: i32) -> String {
    format!("HERON {module}")
}

/// A flat grey as photographs are screened.
fn flat(percent: u32) -> Bitmap {
    let Size { width, height } = PATCH.map(|side| side as u32);
    let white = ((100 - percent) * 255 + 50) / 100;
    let shares = Shares { width, height, white: vec![white as u8; (width * height) as usize] };
    (screens::method(Screen::Photo).run)(&Ask { shares: &shares, fine: 1, resolution: Resolution::EIGHT, spread: 0 })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn everything_fits_on_every_generic_printer_and_nothing_lies_on_another() {
        for name in ["58mm", "58mm-wide", "80mm", "80mm-180", "112mm"] {
            let sheet = Sheet::of(&Profile::named(name).expect("built in")).expect("wide enough");
            let (width, height) = (sheet.bitmap.width() as i32, sheet.bitmap.height() as i32);
            assert_eq!((sheet.patches.len(), sheet.thin.len(), sheet.codes.len()), (18, 12, 3), "{name}");
            assert!(sheet.marks.len() >= 14 && sheet.marks.iter().all(|(number, _)| *number < marks::COUNT), "{name}");
            let areas: Vec<Rect<i32>> = (sheet.patches.iter().map(|patch| patch.area))
                .chain(sheet.codes.iter().map(|code| code.area))
                .chain([sheet.band])
                .chain(sheet.combs.iter().map(|&y| Rect { x: 0, y, width, height: TOOTH }))
                .chain(sheet.marks.iter().map(|(_, at)| Rect { x: at.x as i32 - 15, y: at.y as i32 - 15, width: 30, height: 30 }))
                .collect();
            for (index, one) in areas.iter().enumerate() {
                assert!(
                    one.x >= 0 && one.y >= 0 && one.x + one.width <= width && one.y + one.height <= height,
                    "{name}: {one:?}"
                );
                for other in &areas[..index] {
                    let apart = one.x + one.width <= other.x
                        || other.x + other.width <= one.x
                        || one.y + one.height <= other.y
                        || other.y + other.height <= one.y;
                    assert!(apart, "{name}: {one:?} lies on {other:?}");
                }
            }
            for Patch { percent, area } in &sheet.patches {
                let black = sheet.bitmap.part(area.x, area.y, area.width as u32, area.height as u32).black();
                let asked = black as f64 / f64::from(area.width * area.height) * 100.0;
                assert!((asked - f64::from(*percent)).abs() < 3.0, "{name}: {percent} is {asked}");
            }
        }
        let narrow = Profile { dots: 256, ..Profile::named("58mm").expect("built in") };
        assert!(Sheet::of(&narrow).is_none());
    }
}
