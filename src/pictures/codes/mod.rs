//! Codes for machines: QR, Code 128 and EAN-13, a whole number of dots for each module, quiet zones kept.
//!
//! The symbols come from libraries; this room chooses version, level, character sets and module size. It sets no type: what a
//! person shall read beside a barcode is handed on as text with its place.

use crate::bitmap::Bitmap;
use crate::lengths::{Dots, Mm, Resolution};

pub mod code128;
pub mod ean13;
pub mod qr;

pub use code128::code128;
pub use ean13::ean13;
pub use qr::qr;

/// The room a code has.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct CodeRoom {
    /// Widest the code may be, quiet zones included.
    pub width: Dots,
    pub resolution: Resolution,
    /// Dots a module, when that is not to be chosen (test charts); at least 1.
    pub module: Option<Dots>,
}

impl CodeRoom {
    /// Room of that width, the module size to be chosen.
    pub fn new(width: Dots, resolution: Resolution) -> CodeRoom {
        CodeRoom { width, resolution, module: None }
    }
}

/// A code in dots.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Code {
    /// The symbol with its quiet zones.
    pub bitmap: Bitmap,
    /// Dots a module.
    pub module: Dots,
    /// Width of the quiet zone at the left, in dots (the right one of an EAN-13 is narrower).
    pub quiet: Dots,
    /// What a person reads: each part is to be centred on its place. None for QR.
    pub human: Vec<HumanPart>,
    /// What kind it is, for findings: "QR version 3, level Q".
    pub about: String,
}

/// A part of the human-readable line under a barcode.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HumanPart {
    pub text: String,
    /// Left edge and width of its place in the bitmap; the text is centred there.
    pub x: Dots,
    pub width: Dots,
    /// Top of the type: the row under the bars. An EAN-13's guard bars reach further down between the parts.
    pub top: Dots,
}

/// Fewest dots a module of a QR code (common practice: 0.375 mm at 8 dots/mm).
pub const QR_LEAST: i32 = 3;
/// Bars are wanted this wide a module (common practice); where that does not fit, one dot less is taken, down to two.
const BAR_WISH: Mm = Mm::from_micrometres(375);
const BAR_LEAST: i32 = 2;
/// How high bars stand.
const BAR_HEIGHT: Mm = Mm::from_micrometres(12_000);

/// Dots a module for bars of `modules` in all, quiet zones included; `Err` is how many modules would fit.
fn bar_module(modules: u32, room: &CodeRoom) -> Result<u32, u32> {
    let wish = room.resolution.dots(BAR_WISH).0.max(BAR_LEAST);
    let (least, most) = room.module.map_or((BAR_LEAST, wish), |module| (module.0.max(1), module.0.max(1)));
    let width = room.width.count();
    let fitting = (least..=most)
        .rev()
        .map(|module| module as u32)
        .find(|module| modules.checked_mul(*module).is_some_and(|all| all <= width));
    fitting.ok_or(width / least as u32)
}

/// Paints bars: `bars` are modules, true is black, `left` modules of quiet before and `right` after.
fn paint_bars(bars: &[bool], left: u32, right: u32, module: u32, height: u32) -> Bitmap {
    let mut bitmap = Bitmap::new((bars.len() as u32 + left + right) * module, height);
    for (index, _) in bars.iter().enumerate().filter(|(_, black)| **black) {
        bitmap.fill(((left + index as u32) * module) as i32, 0, module as i32, height as i32, true);
    }
    bitmap
}

#[cfg(test)]
mod tests;
