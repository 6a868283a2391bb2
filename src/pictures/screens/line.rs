//! The screen for line drawings: full lines as they are, thin ones kept.
//!
//! A line thinner than a dot covers no dot by half, so a plain threshold loses it. Here a dot is also black where it is
//! clearly darker than its surroundings (an adaptive threshold) and is the ridge of what is dark there: so thin lines stay,
//! one dot wide, while the soft edges of thick ones are not fattened and flat grounds get no speckle.

use image::GrayImage;
use imageproc::integral_image::{integral_image, sum_image_pixels};

use crate::bitmap::Bitmap;
use crate::pictures::tone::Shares;

use super::{Ask, packed};

/// Half the side of the square a dot is compared with, in dots.
const AROUND: u32 = 5;
/// How much darker than its surroundings a dot of a thin line is, of 255.
const DARKER: i32 = 14;

/// The line screen.
pub fn screen(ask: &Ask) -> Bitmap {
    black_or_ridge(ask.shares, 128)
}

/// The dots of thin lines alone.
pub fn ridges(shares: &Shares) -> Bitmap {
    black_or_ridge(shares, 0)
}

/// As much white as full paper: a page on a screen is seldom quite white, and its last greys would be printed as crumbs.
const NEARLY_PAPER: u8 = 228;

/// What a drawing with even tones asks for, with its thin lines in full ink, those that are light on dark in full white, and grounds that are nearly
/// paper left empty: so letters and rules stay whole when the tones between them are screened.
pub fn drawn_through(shares: &Shares) -> Shares {
    let against = Shares { white: shares.white.iter().map(|white| 255 - white).collect(), ..*shares };
    let (dark, light) = (ridges(shares), ridges(&against));
    let mut white: Vec<u8> = shares.white.iter().map(|&white| if white >= NEARLY_PAPER { 255 } else { white }).collect();
    let places = (0..shares.height as i32).flat_map(|y| (0..shares.width as i32).map(move |x| (x, y)));
    for ((x, y), white) in places.zip(&mut white) {
        if dark.get(x, y) {
            *white = 0;
        } else if light.get(x, y) {
            *white = 255;
        }
    }
    Shares { white, ..*shares }
}

/// The dots of thin lines, and those that are asked for less white than `full`.
fn black_or_ridge(shares: &Shares, full: u8) -> Bitmap {
    let (width, height) = (shares.width, shares.height);
    let Some(picture) = GrayImage::from_raw(width, height, shares.white.clone()).filter(|_| width > 0 && height > 0) else {
        return Bitmap::new(width, height);
    };
    let dark = darkness(&picture);
    let white = |x: i64, y: i64| -> i32 {
        let x = x.clamp(0, i64::from(width) - 1) as usize;
        let y = y.clamp(0, i64::from(height) - 1) as usize;
        i32::from(shares.white[y * width as usize + x])
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
    // Most of a drawing is paper, which is no ridge of anything, or ink, which needs be none.
    const PAPER: u8 = (255 - DARKER) as u8;
    packed(width, height, |x, y| {
        let here = shares.white[y * width as usize + x];
        here < full
            || here <= PAPER
                && dark(x as u32, y as u32)
                && [(1, 0), (0, 1), (1, 1), (1, -1)].into_iter().any(|step| ridge(x as i64, y as i64, step))
    })
}

/// Whether a dot is darker, by [`DARKER`], than the mean of the square around it: the adaptive threshold, asked dot by dot.
fn darkness(picture: &GrayImage) -> impl Fn(u32, u32) -> bool {
    let sums = integral_image::<_, u32>(picture);
    let (right, bottom) = (picture.width() - 1, picture.height() - 1);
    move |x, y| {
        let (left, top) = (x.saturating_sub(AROUND), y.saturating_sub(AROUND));
        let (right, bottom) = ((x + AROUND).min(right), (y + AROUND).min(bottom));
        let mean = sum_image_pixels(&sums, left, top, right, bottom)[0] / ((right - left + 1) * (bottom - top + 1));
        i32::from(picture.get_pixel(x, y)[0]) < mean as i32 - DARKER
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_drawn_through_tones_and_the_last_greys_are_paper() {
        // A page: nearly white, a grey rule on it; a dark bar, a grey rule in that; an even grey.
        let white = |x: u32, y: u32| match (y, x) {
            (10, 4..36) => 170,
            (30, 4..36) => 95,
            (20..40, _) => 30,
            (50.., _) => 150,
            _ => 243,
        };
        let shares = Shares { width: 40, height: 60, white: (0..60 * 40).map(|at| white(at % 40, at / 40)).collect() };
        let drawn = drawn_through(&shares);
        let row = |y: usize| &drawn.white[y * 40..][..40];
        assert!(row(10)[6..34].iter().all(|&white| white == 0), "a grey rule is full ink");
        assert!(row(30)[6..34].iter().all(|&white| white == 255), "a rule that is light on dark is full white");
        assert!(row(5).iter().chain(row(15)).all(|&white| white == 255), "what is nearly paper is paper");
        assert!(row(55).iter().all(|&white| white == 150), "an even tone stays");
    }

    #[test]
    fn darkness_is_the_adaptive_threshold_of_imageproc() {
        // Every size up to a square and a half of what is looked at, so that all edges are met; greys by a fixed rule.
        for (width, height) in [(1, 1), (1, 9), (7, 3), (11, 11), (16, 17), (40, 25)] {
            let picture =
                GrayImage::from_fn(width, height, |x, y| image::Luma([((x * x * 31 + y * 57 + x * y * 13) % 256) as u8]));
            let reference = imageproc::contrast::adaptive_threshold(&picture, AROUND, DARKER);
            let dark = darkness(&picture);
            for (x, y, pixel) in reference.enumerate_pixels() {
                assert_eq!(dark(x, y), pixel[0] == 0, "{x},{y} of {width} x {height}");
            }
        }
    }
}
