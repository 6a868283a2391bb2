//! Photograph or drawing, and which screen suits it: a rule over the lightness of a picture, never over its name.
//!
//! At most 512 x 512 pixels, evenly spread, are each compared with their four neighbours in lightness (0 to 255):
//!
//! - *inked*: not paper, that is darker than 236;
//! - *shaded*: of middle lightness (40 to 215), and the largest step to a neighbour is 1 to 16: soft light, blur, grain;
//! - *grey*: of middle lightness, and no step is above 1: an even tone;
//! - *common*: in one of the ten most frequent of 64 tones.
//!
//! - *even*: neither black nor white (8 to 250), and no step is above 2: how many tones those have tells a plain ground from a gradient.
//!
//! A picture is a drawing when at most a third of its ink is shaded, at least 70 % of the pixels are common, and its even pixels, if they are more
//! than a tenth, have few tones: four of 64 hold six tenths of them (two, when the picture is dark, where dim shading counts as shading too: an
//! underexposed photograph is no drawing). Anything else, and so whatever is in doubt, is a photograph and gets the screen `photo`. A drawing gets `line`,
//! but `photo` when more than 2 % of it is grey, or less than three tenths are light: spots of a grid would tear the letters of a screen's page
//! and the edges of a CAD picture, and letters that are red or grey on black would go under. A drawing
//! of outlines (SVG) is a drawing whatever it looks like; one that holds a picture of pixels gets `photo`, one that holds a
//! gradient `halftone`, and one painted in nothing but ink and paper `line`: none of these is looked at.

use crate::manual::document::Screen;

use super::error::Error;
use super::tone::{Light, WHITE};

/// What the picture looks like.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Nature {
    pub drawing: bool,
    /// The screen taken when the writer names none.
    pub screen: Screen,
}

/// What a drawing is painted with, the first that holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Paints {
    /// Holds a picture of pixels.
    Pixels,
    /// Holds a gradient.
    Gradient,
    /// Opaque paints as dark as ink or as light as paper, and nothing else.
    InkAndPaper,
    /// Paints of middle lightness, or anything that may mix to one: a pattern, opacity, a mask, a filter.
    Tones,
}

/// Most pixels looked at on each side.
const SIDE: usize = 512;
/// Darker than this is not paper.
const PAPER: i32 = 236;
/// Middle lightness.
const MIDDLE: std::ops::RangeInclusive<i32> = 40..=215;

/// Looks at a picture of pixels.
pub fn of_pixels(light: &Light) -> Nature {
    let look = Look::at(light);
    let dark = look.light * 10 < look.all * 3;
    let shaded = look.shaded + if dark { look.dim } else { 0 };
    let drawing = shaded * 3 <= look.inked && look.common * 10 >= look.all * 7 && !look.is_graded(if dark { 2 } else { 4 });
    Nature { drawing, screen: if drawing && !dark && !look.has_greys() { Screen::Line } else { Screen::Photo } }
}

/// Looks at a drawing of outlines. It is rendered, by `sample`, only when its paints leave a question.
///
/// # Errors
/// That of `sample`.
pub fn of_outlines(paints: Paints, sample: impl FnOnce() -> Result<Light, Error>) -> Result<Nature, Error> {
    let screen = match paints {
        Paints::Pixels => Screen::Photo,
        Paints::Gradient => Screen::Halftone,
        Paints::InkAndPaper => Screen::Line,
        Paints::Tones if Look::at(&sample()?).has_greys() => Screen::Halftone,
        Paints::Tones => Screen::Line,
    };
    Ok(Nature { drawing: true, screen })
}

/// Whether a light of 65535 is of middle lightness: neither ink nor paper.
pub fn is_middle(light: u16) -> bool {
    MIDDLE.contains(&tone(light))
}

/// Lightness, 0 to 255.
fn tone(light: u16) -> i32 {
    ((f64::from(light) / f64::from(WHITE)).sqrt() * 255.0 + 0.5) as i32
}

/// Counts of pixels.
struct Look {
    all: u64,
    inked: u64,
    shaded: u64,
    grey: u64,
    common: u64,
    /// Shaded, and darker than the middle.
    dim: u64,
    /// Lighter than three quarters.
    light: u64,
    /// Even pixels by tone.
    even: [u64; 64],
}

impl Look {
    fn at(light: &Light) -> Look {
        let (width, height) = (light.width as usize, light.height as usize);
        // Every pixel is asked for up to five times.
        let tones: Vec<i32> = light.light.iter().map(|&light| tone(light)).collect();
        let tone = |x: usize, y: usize| tones[y * width + x];
        let (across, down) = (width.div_ceil(SIDE).max(1), height.div_ceil(SIDE).max(1));
        let mut counts = [0u64; 64];
        let mut look = Look { all: 0, inked: 0, shaded: 0, grey: 0, common: 0, dim: 0, light: 0, even: [0; 64] };
        for y in (0..height).step_by(down) {
            for x in (0..width).step_by(across) {
                let here = tone(x, y);
                let near = [(x.max(1) - 1, y), ((x + 1).min(width - 1), y), (x, y.max(1) - 1), (x, (y + 1).min(height - 1))];
                let step = near.into_iter().map(|(x, y)| (tone(x, y) - here).abs()).max().unwrap_or(0);
                counts[(here / 4) as usize] += 1;
                look.all += 1;
                look.inked += u64::from(here < PAPER);
                look.shaded += u64::from(MIDDLE.contains(&here) && (1..=16).contains(&step));
                look.grey += u64::from(MIDDLE.contains(&here) && step <= 1);
                look.dim += u64::from((8..*MIDDLE.start()).contains(&here) && (1..=16).contains(&step));
                look.light += u64::from(here >= 200);
                look.even[(here / 4) as usize] += u64::from((8..=250).contains(&here) && step <= 2);
            }
        }
        counts.sort_unstable_by(|one, other| other.cmp(one));
        look.common = counts[..10].iter().sum();
        look
    }

    /// Whether the even pixels are a gradient: more than a tenth of the picture, and not six tenths of them in so few tones.
    fn is_graded(&self, tones: usize) -> bool {
        let even: u64 = self.even.iter().sum();
        let mut by_count = self.even;
        by_count.sort_unstable_by(|one, other| other.cmp(one));
        even * 10 > self.all && by_count[..tones].iter().sum::<u64>() * 10 < even * 6
    }

    /// Whether even greys are a part of the drawing.
    fn has_greys(&self) -> bool {
        self.grey * 50 > self.all
    }
}
