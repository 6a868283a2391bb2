//! A grid of dots, black or white. Knows nothing of what the dots show.
//!
//! Everything that is one bit deep is one of these: a glyph, a screened picture, a sign, a whole strip.

use crate::geometry::Point;

/// One bit a dot, most significant bit leftmost, 1 = black; rows start on whole bytes and the bits past the width are 0.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Default)]
pub struct Bitmap {
    width: u32,
    height: u32,
    data: Vec<u8>,
}

/// How the dots of one bitmap meet those already there.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Ink {
    /// Black dots are added.
    Black,
    /// Black dots of what is put down become white (reverse type).
    White,
    /// What is put down replaces what was there.
    Replace,
}

impl Bitmap {
    /// All white. `width` and `height` in dots.
    pub fn new(width: u32, height: u32) -> Bitmap {
        let stride = width.div_ceil(8) as usize;
        Bitmap { width, height, data: vec![0; stride * height as usize] }
    }

    /// From packed rows of `ceil(width / 8)` bytes; bits past the width are cleared.
    ///
    /// # Panics
    /// When `data` is not exactly that long.
    pub fn from_rows(width: u32, height: u32, data: Vec<u8>) -> Bitmap {
        let mut bitmap = Bitmap { width, height, data };
        assert_eq!(bitmap.data.len(), bitmap.stride() * height as usize, "packed rows do not fit the size");
        let spare = bitmap.stride() as u32 * 8 - width;
        if spare > 0 {
            let (mask, stride) = (0xFFu8 << spare, bitmap.stride());
            bitmap.data.chunks_mut(stride).for_each(|row| row[stride - 1] &= mask);
        }
        bitmap
    }

    pub fn width(&self) -> u32 {
        self.width
    }

    pub fn height(&self) -> u32 {
        self.height
    }

    /// Bytes a row.
    pub fn stride(&self) -> usize {
        self.width.div_ceil(8) as usize
    }

    /// All rows, packed.
    pub fn data(&self) -> &[u8] {
        &self.data
    }

    #[inline]
    pub fn row(&self, y: u32) -> &[u8] {
        let stride = self.stride();
        &self.data[y as usize * stride..][..stride]
    }

    pub fn row_mut(&mut self, y: u32) -> &mut [u8] {
        let stride = self.stride();
        &mut self.data[y as usize * stride..][..stride]
    }

    /// Seen in a mirror: left and right change places.
    pub fn mirrored(&self) -> Bitmap {
        let spare = self.stride() as u32 * 8 - self.width;
        let mut data = vec![0; self.data.len()];
        for (from, to) in self.data.chunks(self.stride().max(1)).zip(data.chunks_mut(self.stride().max(1))) {
            // The spare bits come to stand at the left, and are pushed out by what follows them.
            let mut turned = from.iter().rev().map(|byte| byte.reverse_bits());
            let mut byte = turned.next().unwrap_or(0);
            for out in to {
                let next = turned.next().unwrap_or(0);
                *out = ((u16::from(byte) << 8 | u16::from(next)) << spare >> 8) as u8;
                byte = next;
            }
        }
        Bitmap { width: self.width, height: self.height, data }
    }

    /// Whether the dot is black; outside the grid all is white.
    #[inline]
    pub fn get(&self, x: i32, y: i32) -> bool {
        if x < 0 || y < 0 || x >= self.width as i32 || y >= self.height as i32 {
            return false;
        }
        self.row(y as u32)[x as usize / 8] & (0x80 >> (x % 8)) != 0
    }

    /// Sets one dot; outside the grid nothing happens.
    #[inline]
    pub fn set(&mut self, x: i32, y: i32, black: bool) {
        if x < 0 || y < 0 || x >= self.width as i32 || y >= self.height as i32 {
            return;
        }
        let bit = 0x80 >> (x % 8);
        let byte = &mut self.row_mut(y as u32)[x as usize / 8];
        if black { *byte |= bit } else { *byte &= !bit }
    }

    /// Fills a rectangle, clipped to the grid.
    pub fn fill(&mut self, x: i32, y: i32, width: i32, height: i32, black: bool) {
        let (left, right) = (x.max(0), (x.saturating_add(width)).min(self.width as i32));
        let (top, bottom) = (y.max(0), (y.saturating_add(height)).min(self.height as i32));
        if left >= right {
            return;
        }
        for y in top..bottom {
            let row = self.row_mut(y as u32);
            let (first, last) = (left as usize / 8, (right - 1) as usize / 8);
            for (index, byte) in row.iter_mut().enumerate().take(last + 1).skip(first) {
                let mut mask = 0xFFu8;
                if index == first {
                    mask &= 0xFF >> (left % 8);
                }
                if index == last {
                    mask &= 0xFFu8 << (7 - (right - 1) % 8);
                }
                if black { *byte |= mask } else { *byte &= !mask }
            }
        }
    }

    /// Puts `other` down with its top left at `x`, `y`, clipped to the grid.
    pub fn put(&mut self, other: &Bitmap, x: i32, y: i32, ink: Ink) {
        if ink == Ink::Replace {
            self.fill(x, y, other.width as i32, other.height as i32, false);
        }
        let (shift, first) = (x.rem_euclid(8) as u32, x.div_euclid(8));
        let (stride, spare) = (self.stride() as i32, self.stride() as u32 * 8 - self.width);
        let top = y.max(0);
        let bottom = (y.saturating_add(other.height as i32)).min(self.height as i32);
        for target in top..bottom {
            let from = other.row((target - y) as u32);
            let row = self.row_mut(target as u32);
            for (index, &byte) in from.iter().enumerate() {
                if byte == 0 {
                    continue;
                }
                let wide = u16::from(byte) << (8 - shift);
                for (at, part) in [(first + index as i32, (wide >> 8) as u8), (first + index as i32 + 1, wide as u8)] {
                    if at < 0 || at >= stride {
                        continue;
                    }
                    let kept = if at == stride - 1 { part & (0xFFu16 << spare) as u8 } else { part };
                    match ink {
                        Ink::White => row[at as usize] &= !kept,
                        Ink::Black | Ink::Replace => row[at as usize] |= kept,
                    }
                }
            }
        }
    }

    /// Draws a polyline with round joins and ends, `thickness` wide; all in sixteenths of a dot, the first dot from 0 to 16. A dot belongs to
    /// it when its centre lies within half the thickness of the line.
    pub fn stroke(&mut self, points: &[Point<i32>], thickness: i32, black: bool) {
        const SUBDOTS: i64 = 16;
        let reach = i64::from(thickness) / 2;
        let single = [points.first().copied().unwrap_or_default(); 2];
        let pairs = points.windows(2).chain((points.len() == 1).then_some(&single[..]));
        for pair in pairs {
            let (Point { x: ax, y: ay }, Point { x: bx, y: by }) = (pair[0].wide(), pair[1].wide());
            let (dx, dy) = (bx - ax, by - ay);
            let long = dx * dx + dy * dy;
            let first = (ay.min(by) - reach).div_euclid(SUBDOTS).max(0);
            let last = (ay.max(by) + reach).div_euclid(SUBDOTS).min(i64::from(self.height) - 1);
            for row in first..=last {
                let y = row * SUBDOTS + SUBDOTS / 2;
                // The stretch of the line near enough to this row, then a little beyond on both sides.
                let (mut left, mut right) = (ax.min(bx), ax.max(bx));
                if dy != 0 {
                    let at = |y: i64| ax + dx * (y - ay) / dy;
                    let (one, other) = (at(y - reach), at(y + reach));
                    left = left.max(one.min(other) - 1);
                    right = right.min(one.max(other) + 1);
                }
                let (left, right) = ((left - reach).div_euclid(SUBDOTS).max(0), (right + reach).div_euclid(SUBDOTS));
                for column in left..=right.min(i64::from(self.width) - 1) {
                    let x = column * SUBDOTS + SUBDOTS / 2;
                    let (px, py) = (x - ax, y - ay);
                    let along = (px * dx + py * dy).clamp(0, long);
                    // Distance to the nearest place of the line, times its length, squared: whole numbers to the end.
                    let within = if along == 0 {
                        px * px + py * py <= reach * reach
                    } else if along == long {
                        let (qx, qy) = (x - bx, y - by);
                        qx * qx + qy * qy <= reach * reach
                    } else {
                        let off = i128::from(px * dy - py * dx);
                        off * off <= i128::from(reach * reach) * i128::from(long)
                    };
                    if within {
                        self.set(column as i32, row as i32, black);
                    }
                }
            }
        }
    }

    /// The part with its top left at `x`, `y`; what lies outside is white.
    pub fn part(&self, x: i32, y: i32, width: u32, height: u32) -> Bitmap {
        let mut part = Bitmap::new(width, height);
        part.put(self, -x, -y, Ink::Black);
        part
    }

    /// How many dots are black.
    pub fn black(&self) -> u64 {
        self.data.iter().map(|byte| u64::from(byte.count_ones())).sum()
    }

    /// Whether the row holds no black dot.
    pub fn row_is_blank(&self, y: u32) -> bool {
        self.row(y).iter().all(|&byte| byte == 0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn putting_at_any_offset_moves_each_dot_and_clips() {
        let mut mark = Bitmap::new(11, 3);
        for (x, y) in [(0, 0), (10, 0), (5, 1), (0, 2), (10, 2)] {
            mark.set(x, y, true);
        }
        for x in -13..30 {
            for y in -4..8 {
                let mut grid = Bitmap::new(21, 6);
                grid.put(&mark, x, y, Ink::Black);
                for gy in 0..6 {
                    for gx in 0..21 {
                        assert_eq!(grid.get(gx, gy), mark.get(gx - x, gy - y), "dot {gx},{gy} put at {x},{y}");
                    }
                }
                assert!(grid.data().chunks(3).all(|row| row[2] & 0x07 == 0), "a bit past the width");
            }
        }
    }

    #[test]
    fn white_ink_takes_dots_away_and_replace_clears_first() {
        let mut grid = Bitmap::new(16, 1);
        grid.fill(0, 0, 16, 1, true);
        let mut mark = Bitmap::new(2, 1);
        mark.set(0, 0, true);
        grid.put(&mark, 7, 0, Ink::White);
        assert_eq!(grid.data(), [0xFE, 0xFF]);
        grid.put(&mark, 9, 0, Ink::Replace);
        assert_eq!(grid.data(), [0xFE, 0xDF]);
    }

    #[test]
    fn filling_touches_exactly_the_rectangle() {
        for left in -2..20 {
            for width in 0..22 {
                let mut grid = Bitmap::new(19, 2);
                grid.fill(left, 1, width, 1, true);
                for x in 0..19 {
                    assert_eq!(grid.get(x, 1), x >= left && x < left + width);
                    assert!(!grid.get(x, 0));
                }
            }
        }
    }
}
