//! Photograph or drawing, and which screen suits it: a rule over the lightness of a picture, never over its name.
//!
//! The rule, in order, on a picture reduced to at most 512 samples a side (so that the size of the file plays no part):
//!
//! 1. A drawing has little between ink and paper: where at least 60 % of the samples are flat (all four neighbours within 3
//!    of 255 in lightness) **and** the ten most frequent of 64 tones hold at least 80 % of all samples, it is a drawing.
//! 2. Anything else is a photograph, and gets the `photo` screen.
//! 3. A drawing whose flat samples are greys for more than 2 % of the picture gets `halftone`; without greys it gets `line`.
//! 4. A vector drawing is a drawing; with a picture of pixels inside it gets `photo`, with a gradient `halftone`.

use crate::manual::document::Screen;

use super::tone::{Kernel, Light, WHITE};

/// What the picture looks like.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Nature {
    pub drawing: bool,
    /// The screen taken when the writer names none.
    pub screen: Screen,
}

/// Longest side looked at, in samples.
const SIDE: u32 = 512;

/// Looks at a picture of pixels.
pub fn of_pixels(light: &Light) -> Nature {
    let look = Look::at(light);
    let drawing = look.flat >= 600 && look.common >= 800;
    let screen = match (drawing, look.grey) {
        (false, _) => Screen::Photo,
        (true, 21..) => Screen::Halftone,
        (true, _) => Screen::Line,
    };
    Nature { drawing, screen }
}

/// Looks at a rendered drawing.
pub fn of_drawing(light: &Light, pixels: bool, gradient: bool) -> Nature {
    let look = Look::at(light);
    let screen = match () {
        () if pixels => Screen::Photo,
        () if gradient || look.grey > 20 => Screen::Halftone,
        () => Screen::Line,
    };
    Nature { drawing: true, screen }
}

/// Shares of a picture in thousandths.
struct Look {
    flat: u64,
    /// Flat and neither near black nor near white.
    grey: u64,
    /// In the ten most frequent of 64 tones.
    common: u64,
}

impl Look {
    fn at(light: &Light) -> Look {
        let longest = light.width.max(light.height);
        let reduced;
        let look = if longest > SIDE {
            let side = |length: u32| (u64::from(length) * u64::from(SIDE) / u64::from(longest)).max(1) as u32;
            reduced = light.scaled(light.window(), side(light.width), side(light.height), Kernel::Area);
            &reduced
        } else {
            light
        };
        let tones: Vec<i32> = look.light.iter().map(|&value| ((f64::from(value) / f64::from(WHITE)).sqrt() * 255.0 + 0.5) as i32).collect();
        let (width, height) = (look.width as usize, look.height as usize);
        let mut counts = [0u64; 64];
        let (mut flat, mut grey) = (0u64, 0u64);
        for (index, &tone) in tones.iter().enumerate() {
            counts[(tone / 4) as usize] += 1;
            let (x, y) = (index % width, index / width);
            let near = [
                if x > 0 { index - 1 } else { index },
                if x + 1 < width { index + 1 } else { index },
                if y > 0 { index - width } else { index },
                if y + 1 < height { index + width } else { index },
            ];
            if near.iter().all(|&other| (tones[other] - tone).abs() <= 3) {
                flat += 1;
                grey += u64::from((26..=236).contains(&tone));
            }
        }
        counts.sort_unstable_by(|one, other| other.cmp(one));
        let all = tones.len() as u64;
        Look { flat: flat * 1000 / all, grey: grey * 1000 / all, common: counts[..10].iter().sum::<u64>() * 1000 / all }
    }
}
