//! The three ways in which dots come: `GS v 0`, `GS ( L` / `GS 8 L`, `ESC *`.

use super::{Machine, Stored};
use crate::bitmap::Bitmap;

impl Machine<'_> {
    /// `GS v 0 m xL xH yL yH d…`: x bytes wide, y rows high; m bit 0 doubles the width, bit 1 the height.
    pub(super) fn raster(&mut self) -> Option<()> {
        if self.byte()? != b'0' {
            self.fault("GS v is followed by 0 only");
            return Some(());
        }
        self.count("GS v 0");
        let (mode, across, rows) = (self.byte()?, self.word()?, self.word()?);
        let scale = match mode {
            0..=3 => mode,
            48..=51 => mode - 48,
            _ => {
                self.fault(format!("GS v 0 has no mode {mode}"));
                0
            }
        };
        if across == 0 || rows == 0 {
            self.fault("GS v 0 with no width or no height");
            return Some(());
        }
        let dots = self.take(usize::from(across) * usize::from(rows))?;
        let picture = self.picture(u32::from(across) * 8, u32::from(rows), dots);
        self.lay(&picture, (1 + u32::from(scale & 1), 1 + u32::from(scale >> 1)));
        Some(())
    }

    /// The body of `GS ( L` or `GS 8 L`: m, function, parameters.
    pub(super) fn graphics(&mut self, body: &[u8]) {
        match body {
            [_, 2 | 50, ..] => match self.stored.take() {
                Some(stored) => self.lay(&stored.picture, stored.scale),
                None => self.fault("nothing is stored that could be printed"),
            },
            [_, function @ (112 | 113), tone, x_scale, y_scale, _colour, x_low, x_high, y_low, y_high, dots @ ..] => {
                let (width, height) = (u16::from_le_bytes([*x_low, *x_high]), u16::from_le_bytes([*y_low, *y_high]));
                let (width, height) = (u32::from(width), u32::from(height));
                let scale = (u32::from(*x_scale), u32::from(*y_scale));
                if !(1..=2).contains(&scale.0) || !(1..=2).contains(&scale.1) || *tone != 48 || width == 0 || height == 0 {
                    self.fault("graphics of no size, or in a scale or tone that is not followed here");
                    return;
                }
                let by_rows = *function == 112;
                let needed = if by_rows { width.div_ceil(8) * height } else { width * height.div_ceil(8) };
                if dots.len() != needed as usize {
                    self.fault(format!("{width} x {height} dots of graphics need {needed} bytes, not {}", dots.len()));
                    return;
                }
                let picture = if by_rows { self.picture(width, height, dots) } else { self.standing(width, height, dots) };
                if self.stored.replace(Stored { picture, scale }).is_some() {
                    self.fault("the graphics stored before were never printed");
                }
            }
            [_, 48 | 51 | 64 | 65 | 67 | 69 | 80 | 81 | 83 | 85, ..] => {
                self.fault("graphics in the printer's memory are not followed here")
            }
            _ => self.fault("graphics function unknown or cut short"),
        }
    }

    /// `ESC * m nL nH d…`: columns of 8 or 24 dots into the line.
    pub(super) fn bit_image(&mut self) -> Option<()> {
        self.count("ESC *");
        let (mode, columns) = (self.byte()?, usize::from(self.word()?));
        let (deep, wide) = match mode {
            0 => (1, 2),
            1 => (1, 1),
            32 => (3, 2),
            33 => (3, 1),
            _ => {
                self.fault(format!("ESC * has no mode {mode}"));
                return Some(());
            }
        };
        let dots = self.take(columns * deep)?;
        let mut lost = 0u32;
        for column in dots.chunks_exact(deep) {
            let mut down = [false; 24];
            for (index, dot) in down.iter_mut().enumerate() {
                // Eight dots stand as high as twenty-four.
                let index = if deep == 3 { index } else { index / 3 };
                let bit = if self.profile.lsb_first { index % 8 } else { 7 - index % 8 };
                *dot = column.get(index / 8).is_some_and(|byte| byte >> bit & 1 == 1);
            }
            for _ in 0..wide {
                if !self.paper.column(&down) {
                    lost += 1;
                }
            }
        }
        if lost > 0 {
            self.fault(format!("{lost} columns reach past the printable width"));
        }
        Some(())
    }

    /// Rows as they came, a whole number of bytes each.
    fn picture(&self, width: u32, height: u32, dots: &[u8]) -> Bitmap {
        let data = if self.profile.lsb_first { dots.iter().map(|byte| byte.reverse_bits()).collect() } else { dots.to_vec() };
        Bitmap::from_rows(width, height, data)
    }

    /// Columns as they came, a whole number of bytes each, the first dot on top.
    fn standing(&self, width: u32, height: u32, dots: &[u8]) -> Bitmap {
        let deep = height.div_ceil(8) as usize;
        let mut picture = Bitmap::new(width, height);
        for (x, column) in dots.chunks_exact(deep).enumerate() {
            for y in 0..height as usize {
                let bit = if self.profile.lsb_first { y % 8 } else { 7 - y % 8 };
                if column.get(y / 8).is_some_and(|byte| byte >> bit & 1 == 1) {
                    picture.set(x as i32, y as i32, true);
                }
            }
        }
        picture
    }

    fn lay(&mut self, picture: &Bitmap, scale: (u32, u32)) {
        if self.paper.finish_line() {
            self.fault("a half-filled line stands before a raster picture");
        }
        let room = self.profile.dots.next_multiple_of(8);
        if picture.width() * scale.0 > room {
            self.fault(format!("{} dots of raster on a printer of {}", picture.width() * scale.0, self.profile.dots));
        }
        self.paper.lay(picture, scale);
    }
}
