//! The paper under the head, the line that is being filled, and how far things move.

use crate::bitmap::{Bitmap, Ink};
use crate::printer::profile::Profile;

/// Dots of a line of bit image or of the printer's own letters.
const LINE: u32 = 24;

/// One line being filled by `ESC *`.
struct Line {
    dots: Bitmap,
    /// Where the next column goes, from the left edge of the printable width.
    cursor: i64,
    /// Whether something stands in it.
    filled: bool,
    /// Whether any of it is bit image (letters alone are not painted).
    image: bool,
}

pub struct Paper {
    width: u32,
    stride: usize,
    data: Vec<u8>,
    /// Rows that are painted.
    rows: u32,
    most_rows: u32,
    /// Rows that ran on unpainted.
    unpainted: u32,
    line: Line,
    dots_per_inch: u32,
    /// Motion units in an inch.
    horizontal: u32,
    vertical: u32,
    /// Line spacing, in vertical units; `None` is the default sixth of an inch.
    spacing: Option<u8>,
    left: u32,
    area: u32,
    justified: u8,
}

impl Paper {
    pub fn new(profile: &Profile, most: usize) -> Paper {
        let stride = profile.stride();
        Paper {
            width: profile.dots,
            stride,
            data: Vec::new(),
            rows: 0,
            most_rows: (most / stride.max(1)).min(i32::MAX as usize) as u32,
            unpainted: 0,
            line: Line { dots: Bitmap::new(profile.dots, LINE), cursor: 0, filled: false, image: false },
            dots_per_inch: profile.dots_per_inch(),
            horizontal: profile.dots_per_inch(),
            vertical: profile.feed_per_inch,
            spacing: None,
            left: 0,
            area: profile.dots,
            justified: 0,
        }
    }

    /// `ESC @`: everything as after switching on; the paper stays where it is.
    pub fn initialise(&mut self, profile: &Profile) {
        self.clear_line();
        self.horizontal = profile.dots_per_inch();
        self.vertical = profile.feed_per_inch;
        self.spacing = None;
        self.left = 0;
        self.area = self.width;
        self.justified = 0;
        self.line.cursor = 0;
    }

    /// Rows fed so far, painted or not.
    pub fn rows(&self) -> u32 {
        self.rows.saturating_add(self.unpainted)
    }

    /// `GS P`: zero means the printer's own unit.
    pub fn motion_units(&mut self, profile: &Profile, horizontal: u8, vertical: u8) {
        self.horizontal = if horizontal == 0 { profile.dots_per_inch() } else { u32::from(horizontal) };
        self.vertical = if vertical == 0 { profile.feed_per_inch } else { u32::from(vertical) };
    }

    pub fn spacing(&mut self, units: u8) {
        self.spacing = Some(units);
    }

    pub fn default_spacing(&mut self) {
        self.spacing = None;
    }

    pub fn left_margin(&mut self, units: u16) {
        self.left = self.across(i64::from(units)).clamp(0, i64::from(self.width)) as u32;
        self.line.cursor = i64::from(self.left);
    }

    pub fn area_width(&mut self, units: u16) {
        self.area = self.across(i64::from(units)).clamp(0, i64::from(self.width)) as u32;
    }

    /// `ESC a`: left, centre, right.
    pub fn justify(&mut self, place: u8) {
        self.justified = if place >= 48 { place - 48 } else { place };
    }

    /// `ESC $`, from the left margin.
    pub fn move_to(&mut self, units: i64) {
        self.set_cursor(i64::from(self.left) + self.across(units));
    }

    /// `ESC \`, from where the line is.
    pub fn move_by(&mut self, units: i64) {
        self.set_cursor(self.line.cursor + self.across(units));
    }

    /// A place off the printable area is ignored.
    fn set_cursor(&mut self, to: i64) {
        if (i64::from(self.left)..=i64::from(self.right())).contains(&to) {
            self.line.cursor = to;
        }
    }

    /// Where the printable area ends.
    fn right(&self) -> u32 {
        self.width.min(self.left.saturating_add(self.area))
    }

    /// One column of bit image; dots are added to those already there. `false` when it falls past the width.
    pub fn column(&mut self, down: &[bool; LINE as usize]) -> bool {
        self.line.filled = true;
        self.line.image = true;
        let x = self.line.cursor;
        if x >= i64::from(self.right()) {
            return false;
        }
        self.line.cursor += 1;
        for (y, _) in down.iter().enumerate().filter(|(_, dot)| **dot) {
            self.line.dots.set(x as i32, y as i32, true);
        }
        true
    }

    /// The printer's own letters stand in the line; their dots are not known here.
    pub fn letters(&mut self) {
        self.line.filled = true;
    }

    /// Prints what is in the line and feeds `units`, or the line spacing; never less than the line is high, for the head
    /// is one row of dots and the paper cannot go back.
    pub fn print_line(&mut self, units: Option<u32>) {
        let feed = match units {
            Some(units) => self.down(units),
            None => self.line_rows(),
        };
        if !self.line.filled {
            // An empty line ends too: the next one begins at the left margin.
            self.clear_line();
            self.advance(feed);
            return;
        }
        self.take_line();
        self.advance(feed.saturating_sub(LINE));
    }

    /// `ESC d`: as many lines.
    pub fn print_lines(&mut self, lines: u8) {
        let feed = self.line_rows() * u32::from(lines);
        if self.line.filled {
            self.take_line();
            self.advance(feed.saturating_sub(LINE));
        } else {
            self.clear_line();
            self.advance(feed);
        }
    }

    /// Prints a line that was left half filled, if there is one.
    pub fn finish_line(&mut self) -> bool {
        let filled = self.line.filled;
        if filled {
            self.take_line();
        }
        filled
    }

    /// Feeds without looking at the line.
    pub fn feed(&mut self, units: u32) {
        let rows = self.down(units);
        self.advance(rows);
    }

    /// Prints a picture, row for row, at the left margin or where `ESC a` wants it.
    pub fn lay(&mut self, picture: &Bitmap, (across, down): (u32, u32)) {
        let wide = picture.width() * across;
        let room = self.area.min(self.width - self.left);
        let spare = room.saturating_sub(wide);
        let x = self.left + [0, spare / 2, spare][usize::from(self.justified).min(2)];
        if (x, across, down) == (0, 1, 1) && picture.stride() == self.stride {
            let rows = self.room_for(picture.height());
            let start = self.data.len();
            self.data.extend(&picture.data()[..rows as usize * self.stride]);
            let spill = self.stride as u32 * 8 - self.width;
            if spill > 0 {
                let last = 0xFFu8 << spill;
                self.data[start..].chunks_exact_mut(self.stride).for_each(|row| row[row.len() - 1] &= last);
            }
            return;
        }
        for y in 0..picture.height() {
            let mut row = Bitmap::new(self.width, 1);
            let line = picture.part(0, y as i32, picture.width(), 1);
            if across == 1 {
                row.put(&line, x as i32, 0, Ink::Black);
            } else {
                for dot in (0..picture.width()).filter(|&dot| line.get(dot as i32, 0)) {
                    row.fill((x + dot * across) as i32, 0, across as i32, 1, true);
                }
            }
            for _ in 0..down {
                if self.room_for(1) == 1 {
                    self.data.extend(row.data());
                }
            }
        }
    }

    /// Whether the last `rows` rows are white.
    pub fn ends_blank(&self, rows: u32) -> bool {
        let bytes = rows as usize * self.stride;
        self.unpainted == 0 && self.data.len() >= bytes && self.data[self.data.len() - bytes..].iter().all(|&byte| byte == 0)
    }

    pub fn drop_last(&mut self, rows: u32) {
        self.rows -= rows;
        self.data.truncate(self.rows as usize * self.stride);
    }

    pub fn into_bitmap(self) -> Bitmap {
        Bitmap::from_rows(self.width, self.rows, self.data)
    }

    fn take_line(&mut self) {
        if self.line.image {
            let rows = self.room_for(LINE);
            self.data.extend(&self.line.dots.data()[..rows as usize * self.stride]);
        } else {
            self.advance(LINE);
        }
        self.clear_line();
    }

    fn clear_line(&mut self) {
        if self.line.image {
            self.line.dots = Bitmap::new(self.width, LINE);
        }
        self.line.filled = false;
        self.line.image = false;
        self.line.cursor = i64::from(self.left);
    }

    fn advance(&mut self, rows: u32) {
        let rows = self.room_for(rows);
        self.data.resize(self.data.len() + rows as usize * self.stride, 0);
    }

    /// How many of `rows` rows can still be painted; counts them as fed.
    fn room_for(&mut self, rows: u32) -> u32 {
        let painted = rows.min(self.most_rows - self.rows);
        self.unpainted = self.unpainted.saturating_add(rows - painted);
        self.rows += painted;
        painted
    }

    /// Rows that so many vertical units move, to the nearest.
    fn down(&self, units: u32) -> u32 {
        (units * self.dots_per_inch + self.vertical / 2) / self.vertical
    }

    /// Dots that so many horizontal units move, to the nearest.
    fn across(&self, units: i64) -> i64 {
        let (dots, inch) = (i64::from(self.dots_per_inch), i64::from(self.horizontal));
        (units * dots * 2 + inch).div_euclid(inch * 2)
    }

    fn line_rows(&self) -> u32 {
        match self.spacing {
            Some(units) => self.down(u32::from(units)),
            // The default of a sixth of an inch, rounded as vendors do: 30 rows at 180 dpi, 34 (here 33.8) at 203.
            None => (self.dots_per_inch + 3) / 6,
        }
    }
}
