//! The signs that a manual can use by name, drawn by the project: outlines in the geometry of ISO 3864-1 and ISO 7010, each
//! a drawing of its own in this folder.
//!
//! One bit has no yellow and no blue: warnings are a black band and symbol on the paper's white, the mandatory sign is a
//! black disc with its symbol in white. A sign never decides how large it stands; it says how small it may be.

use std::sync::OnceLock;

use crate::bitmap::Bitmap;
use crate::lengths::{Dots, Mm};

use super::error::Error;
use super::screens::{self, Ask};
use super::tone::{Kernel, Window};
use super::vector::{self, Drawing, Faces};
use crate::lengths::Resolution;
use crate::manual::document::Screen;

/// One sign.
#[derive(Debug)]
pub struct Sign {
    /// What stands after `sign:`.
    pub name: &'static str,
    /// The number of the sign it stands for (ISO 7010: looked up; IEC 60417: 5031 and 5032 looked up, the others from memory), or none.
    pub number: Option<&'static str>,
    /// What it says, in plain words.
    pub meaning: &'static str,
    /// The lowest height at which it may be printed.
    pub lowest: Mm,
    /// The drawing.
    pub svg: &'static str,
    drawing: OnceLock<Option<Drawing>>,
}

macro_rules! sign {
    ($name:literal, $number:expr, $lowest:literal, $meaning:literal) => {
        Sign {
            name: $name,
            number: $number,
            meaning: $meaning,
            lowest: Mm::from_micrometres($lowest),
            svg: include_str!(concat!($name, ".svg")),
            drawing: OnceLock::new(),
        }
    };
}

/// Every sign, in the order of the manual's contract, and one more after its kin; then general symbols of
/// IEC 60417 and ISO 7000 (numbers from memory). A mark that somebody owns is nobody's to draw: there is none for radio or for a plug. From 7 mm on the bin's bar has the 1 mm that EN 50419
/// asks for; the 7 mm themselves are common practice. 8 mm for the warnings is where their symbols stay clear at 8 dots/mm, measured by
/// eye. ISO 7010 has no sign for lithium: W026 warns of the charging of batteries.
static SIGNS: [Sign; 26] = [
    sign!("general-warning", Some("ISO 7010-W001"), 6000, "general warning"),
    sign!("electricity", Some("ISO 7010-W012"), 6000, "electricity"),
    sign!("hot-surface", Some("ISO 7010-W017"), 8000, "hot surface"),
    sign!("hot-liquid", Some("ISO 7010-W079"), 8000, "hot content"),
    sign!("pinch", Some("ISO 7010-W024"), 8000, "crushing of hands"),
    sign!("lithium-battery", Some("ISO 7010-W026"), 8000, "battery charging"),
    sign!("magnet", Some("ISO 7010-W006"), 8000, "magnetic field"),
    sign!("laser", Some("ISO 7010-W004"), 8000, "laser beam"),
    sign!("sharp", Some("ISO 7010-W022"), 8000, "sharp element"),
    sign!("choking", None, 8000, "small parts: danger of choking"),
    sign!("read-manual", Some("ISO 7010-M002"), 6000, "refer to the instruction manual"),
    sign!("keep-from-children", Some("ISO 7010-M055"), 8000, "keep out of reach of children"),
    sign!("no-bin", Some("EN 50419"), 7000, "separate collection"),
    sign!("class-iii", Some("IEC 60417-5180"), 4000, "class III equipment"),
    sign!("dc", Some("IEC 60417-5031"), 2000, "direct current"),
    sign!("ac", Some("IEC 60417-5032"), 2000, "alternating current"),
    sign!("on", Some("IEC 60417-5007"), 2000, "on"),
    sign!("off", Some("IEC 60417-5008"), 2000, "off"),
    sign!("stand-by", Some("IEC 60417-5009"), 2500, "stand-by"),
    sign!("on-off", Some("IEC 60417-5010"), 2500, "on and off by turns: push, push"),
    sign!("earth", Some("IEC 60417-5017"), 2500, "earth"),
    sign!("fuse", Some("IEC 60417-5016"), 2000, "fuse"),
    sign!("class-ii", Some("IEC 60417-5172"), 4000, "class II equipment"),
    sign!("caution", Some("ISO 7000-0434"), 3000, "caution"),
    sign!("battery", Some("IEC 60417-5001"), 2500, "battery"),
    sign!("recycling", Some("ISO 7000-1135"), 5000, "can be recycled"),
];

/// The alert symbol of a signal word panel: a full triangle with its exclamation mark cut out. Put down in black on paper, or
/// in white ([`crate::bitmap::Ink::White`]) on a black panel.
static ALERT: Sign = sign!("alert", None, 3000, "alert symbol");

/// All names, in the order of the contract.
pub fn names() -> impl Iterator<Item = &'static str> {
    SIGNS.iter().map(|sign| sign.name)
}

/// The sign of that name.
///
/// # Errors
/// When there is none; the error names the nearest.
pub fn find(name: &str) -> Result<&'static Sign, Error> {
    SIGNS.iter().find(|sign| sign.name == name).ok_or_else(|| {
        let near = names().map(|known| (strsim::damerau_levenshtein(known, name), known)).min();
        let nearest = near.filter(|(distance, known)| *distance <= known.len() / 2).map(|(_, known)| known);
        Error::UnknownSign { name: name.into(), nearest, known: names().collect() }
    })
}

/// The number of the sign it stands for, if there is such a sign and number.
pub fn number(name: &str) -> Option<&'static str> {
    find(name).ok()?.number
}

/// The sign in dots, so high and as wide as that makes it. `None` when there is no such sign or the height is below 1.
pub fn draw(name: &str, height: Dots) -> Option<Bitmap> {
    find(name).ok()?.draw(height)
}

/// The alert symbol in dots, `height` high, at least 1.
pub fn alert(height: Dots) -> Option<Bitmap> {
    ALERT.draw(height)
}

impl Sign {
    fn drawing(&self) -> Option<&Drawing> {
        self.drawing.get_or_init(|| vector::read(self.svg.as_bytes(), self.name, &Faces::new(&[])).ok()).as_ref()
    }

    /// Width for a height, both in dots.
    pub fn width(&self, height: Dots) -> Option<Dots> {
        let drawing = self.drawing()?;
        let (wide, high) = (u64::from(drawing.width), u64::from(drawing.height));
        let dots = (u64::from(height.count()) * wide + high / 2) / high;
        Some(Dots(i32::try_from(dots).ok()?.max(1)))
    }

    /// In dots; `None` below one dot or above 16 million.
    pub fn draw(&self, height: Dots) -> Option<Bitmap> {
        let (width, height) = (self.width(height)?.count(), height.count());
        let drawing = self.drawing().filter(|_| height > 0)?;
        let sample = drawing.render(Window::whole(drawing.width, drawing.height), width, height, self.name).ok()?;
        let dots = sample.light.scaled(sample.light.window(), width, height, Kernel::Area);
        let ask = Ask { shares: &dots.shares(), fine: 1, resolution: Resolution::EIGHT, spread: 0 };
        Some((screens::method(Screen::Line).run)(&ask))
    }
}

#[cfg(test)]
mod tests;
