//! What keys, lights and displays say, drawn by their address: `light:red-blink-3`, `key:MODE-hold-3s`, `display:E 04`.
//!
//! An address is read into a [`Signal`]; a signal is drawn as a [`Scene`], plain shapes in whole dots and sixteenths of one, for a
//! size of type. The layout makes marks of them, and [`svg`] outlines for whoever has no dots. No colour is told by tint: the
//! word stands beside the lamp. Never decides where a signal stands.

mod address;
mod display;
mod key;
mod light;
mod matrix;
mod scene;
pub mod segments;

pub use address::{Colour, Display, Gesture, Key, Light, MAX_ROWS, Pattern, Signal};
pub use display::{Kind as DisplayKind, kind as display_kind};
pub use key::Cap;
pub use light::{Flash, Timeline};
pub use matrix::glyph as points;
pub use scene::{Form, Hand, Lettering, Reach, Scene, Setting, Shape};

use crate::language::Wording;
use crate::lengths::Dots;

use super::error::Error;

/// Whether an address names a signal.
pub fn is_signal(address: &str) -> bool {
    address::SCHEMES.iter().any(|scheme| address.starts_with(scheme))
}

/// The signal of an address.
///
/// # Errors
/// When a part of it is not known or makes no sense; the error names the part, and the nearest that is known.
pub fn read(address: &str) -> Result<Signal, Error> {
    address::read(address)
}

impl Signal {
    /// Drawn for a size of type. The left edge is 0, the baseline of the type 0, downwards positive.
    pub fn scene(&self, setting: &Setting) -> Scene {
        match self {
            Signal::Light(light) => light::scene(light, setting),
            Signal::Key(key) => key::scene(key, setting),
            Signal::Display(display) => display::scene(display, setting),
        }
    }
}

/// Letters of an even pitch, for outlines whose letters another program sets: 0.6 em wide, capitals 0.73 em high, as those of most
/// monospaced faces.
struct Typewriter {
    em: i32,
}

impl Lettering for Typewriter {
    fn width(&self, text: &str, _: Hand) -> Dots {
        Dots(text.chars().count() as i32 * self.em * 3 / 5)
    }

    fn cap(&self, _: Hand) -> Dots {
        Dots(self.em * 73 / 100)
    }
}

/// The signal as SVG, in the larger of its two forms; its letters are text.
///
/// # Errors
/// As [`read`].
pub fn svg(address: &str, wording: Wording) -> Result<String, Error> {
    let signal = read(address)?;
    let letters = Typewriter { em: 40 };
    let setting = Setting { lettering: &letters, form: Form::Large, line: Dots(2), room: Dots(10_000), wording };
    Ok(signal.scene(&setting).svg(&signal.words(), letters.em))
}

#[cfg(test)]
mod tests;
