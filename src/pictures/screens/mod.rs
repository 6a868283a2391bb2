//! Screens: from shares of white to dots. One file a screen, one line in the registry below.
//!
//! A screen sees only how much white each dot is asked for, and how far dots spread. It knows no file and no colour, and takes no part in
//! choosing itself. The same shares give the same dots on every machine.

use crate::bitmap::Bitmap;
use crate::gain::DotGain;
use crate::lengths::Resolution;
use crate::manual::document::Screen;

use super::tone::Shares;

pub mod drawing;
pub mod halftone;
pub mod ink;
pub mod line;
pub mod none;
pub mod photo;
pub mod reference_a;
pub mod reference_b;

/// What a screen works on.
#[derive(Debug)]
pub struct Ask<'a> {
    pub shares: &'a Shares,
    /// Samples a dot, each way; the shares are that many times as wide and high as the bitmap asked for.
    pub fine: u32,
    pub resolution: Resolution,
    /// Light that each black dot takes from a white one beside it, in thousandths of its light; 0 where dot gain was paid for before, in the shares.
    /// Only screens that are [`Method::spread`] look at it.
    pub spread: u16,
}

/// One screen.
#[derive(Clone, Copy, Debug)]
pub struct Method {
    /// What the writer calls it; several methods of one screen are its variants, and the first is the one that is used.
    pub screen: Screen,
    pub name: &'static str,
    pub run: fn(&Ask) -> Bitmap,
    /// Whether it can use more than one sample a dot.
    pub fine: bool,
    /// Whether it pays for dot gain by itself.
    pub spread: bool,
}

/// Every screen and its variants.
pub const REGISTRY: &[Method] = &[
    Method { screen: Screen::Photo, name: "photo", run: photo::screen, fine: false, spread: true },
    Method { screen: Screen::Photo, name: "floyd_steinberg_reference_a", run: reference_a::screen, fine: false, spread: false },
    Method { screen: Screen::Photo, name: "floyd_steinberg_reference_b", run: reference_b::screen, fine: false, spread: false },
    Method { screen: Screen::Halftone, name: "halftone", run: halftone::screen, fine: true, spread: false },
    Method { screen: Screen::Line, name: "line", run: line::screen, fine: false, spread: false },
    Method { screen: Screen::Ink, name: "ink", run: ink::screen, fine: false, spread: false },
    Method { screen: Screen::None, name: "none", run: none::screen, fine: false, spread: false },
];

/// The method used for a screen: the first of that screen in the registry.
pub fn method(screen: Screen) -> &'static Method {
    REGISTRY.iter().find(|method| method.screen == screen).unwrap_or(&REGISTRY[0])
}

/// What a black dot takes from a white one beside it, in thousandths: gain is measured on a checkerboard, each white dot of which has four black
/// ones beside it, so half of the paper is darker by four times that.
pub fn spread(gain: DotGain) -> u16 {
    gain.half().min(450) / 2
}

/// A method by its name, variants too.
pub fn named(name: &str) -> Option<&'static Method> {
    REGISTRY.iter().find(|method| method.name == name)
}

/// Packs one decision a dot: `true` is black.
fn packed(width: u32, height: u32, mut black: impl FnMut(usize, usize) -> bool) -> Bitmap {
    let mut bitmap = Bitmap::new(width, height);
    for y in 0..height {
        for (index, byte) in bitmap.row_mut(y).iter_mut().enumerate() {
            let first = index * 8;
            for bit in 0..8.min(width as usize - first) {
                *byte |= u8::from(black(first + bit, y as usize)) << (7 - bit);
            }
        }
    }
    bitmap
}

#[cfg(test)]
mod tests;
