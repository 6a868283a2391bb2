//! The screen for line drawings: full lines as they are, thin ones kept.
//!
//! A line thinner than a dot covers no dot by half, so a plain threshold loses it. Here a dot is also black where it is
//! clearly darker than its surroundings (an adaptive threshold) and is the ridge of what is dark there: so thin lines stay,
//! one dot wide, while the soft edges of thick ones are not fattened and flat grounds get no speckle.

use image::{GrayImage, Luma};
use imageproc::contrast::adaptive_threshold;

use crate::bitmap::{Bitmap, Ink};
use crate::pictures::tone::Shares;

use super::{Ask, packed};

/// Half the side of the square a dot is compared with, in dots.
const AROUND: u32 = 5;
/// How much darker than its surroundings a dot of a thin line is, of 255.
const DARKER: i32 = 14;

/// The line screen.
pub fn screen(ask: &Ask) -> Bitmap {
    let (width, height) = (ask.shares.width, ask.shares.height);
    let mut bitmap = ridges(ask.shares);
    let full = packed(width, height, |x, y| ask.shares.white[y * width as usize + x] < 128);
    bitmap.put(&full, 0, 0, Ink::Black);
    bitmap
}

/// The dots of thin lines alone.
pub fn ridges(shares: &Shares) -> Bitmap {
    let (width, height) = (shares.width, shares.height);
    let Some(picture) = GrayImage::from_raw(width, height, shares.white.clone()).filter(|_| width > 0 && height > 0) else {
        return Bitmap::new(width, height);
    };
    let local = adaptive_threshold(&picture, AROUND, DARKER);
    let white = |x: i64, y: i64| -> i32 {
        let x = x.clamp(0, i64::from(width) - 1) as u32;
        let y = y.clamp(0, i64::from(height) - 1) as u32;
        i32::from(picture.get_pixel(x, y)[0])
    };
    // The ridge of a line that runs along (`-dy`, `dx`): darker than what lies across, and continued. Of a line that two dots
    // share, the darker one is the ridge, or the first; what lies across is then behind the other. On the slant a line must
    // go on both ways, else every corner would be one.
    let ridge = |x: i64, y: i64, (dx, dy): (i64, i64)| {
        let (before, here, after) = (white(x - dx, y - dy), white(x, y), white(x + dx, y + dy));
        if here >= before || here > after {
            return false;
        }
        let (before, after) = (before.max(white(x - 2 * dx, y - 2 * dy)), after.max(white(x + 2 * dx, y + 2 * dy)));
        if before.min(after) - here < DARKER {
            return false;
        }
        let goes_on = |x, y| (255 - white(x, y)) * 2 >= 255 - here;
        let (one, other) = (goes_on(x - dy, y + dx), goes_on(x + dy, y - dx));
        if dx != 0 && dy != 0 { one && other } else { one || other }
    };
    packed(width, height, |x, y| {
        let dark = *local.get_pixel(x as u32, y as u32) == Luma([0]);
        dark && [(1, 0), (0, 1), (1, 1), (1, -1)].into_iter().any(|step| ridge(x as i64, y as i64, step))
    })
}
