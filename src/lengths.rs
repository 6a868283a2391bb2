//! Lengths of the trade as types, and every conversion between them.
//!
//! Whatever decides where a dot falls is an integer: micrometres, thousandths of a point, dots per metre. Floating point
//! enters only where an outline is scaled, and then by one division that every machine does alike.

use std::fmt;
use std::iter::Sum;
use std::ops::{Add, AddAssign, Div, Mul, Neg, Sub, SubAssign};

use crate::gain::DotGain;

/// A distance or a position in printer dots. The origin is the top left of the strip, x runs right, y runs down.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Dots(pub i32);

impl Dots {
    pub const ZERO: Dots = Dots(0);

    /// The same number of dots as an unsigned length; a negative distance counts as none.
    pub fn count(self) -> u32 {
        self.0.max(0) as u32
    }
}

impl Add for Dots {
    type Output = Dots;
    fn add(self, other: Dots) -> Dots {
        Dots(self.0 + other.0)
    }
}

impl Sub for Dots {
    type Output = Dots;
    fn sub(self, other: Dots) -> Dots {
        Dots(self.0 - other.0)
    }
}

impl AddAssign for Dots {
    fn add_assign(&mut self, other: Dots) {
        self.0 += other.0;
    }
}

impl SubAssign for Dots {
    fn sub_assign(&mut self, other: Dots) {
        self.0 -= other.0;
    }
}

impl Neg for Dots {
    type Output = Dots;
    fn neg(self) -> Dots {
        Dots(-self.0)
    }
}

impl Mul<i32> for Dots {
    type Output = Dots;
    fn mul(self, factor: i32) -> Dots {
        Dots(self.0 * factor)
    }
}

impl Div<i32> for Dots {
    type Output = Dots;
    fn div(self, divisor: i32) -> Dots {
        Dots(self.0.div_euclid(divisor))
    }
}

impl Sum for Dots {
    fn sum<I: Iterator<Item = Dots>>(all: I) -> Dots {
        Dots(all.map(|dots| dots.0).sum())
    }
}

/// A length in whole micrometres, read and shown as millimetres.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Mm {
    micrometres: i64,
}

impl Mm {
    pub const fn from_micrometres(micrometres: i64) -> Mm {
        Mm { micrometres }
    }

    /// Rounds to whole micrometres.
    pub fn new(millimetres: f64) -> Mm {
        Mm { micrometres: (millimetres * 1000.0).round() as i64 }
    }

    pub fn micrometres(self) -> i64 {
        self.micrometres
    }

    /// Millimetres as a number for showing and for JSON.
    pub fn value(self) -> f64 {
        self.micrometres as f64 / 1000.0
    }

    /// Reads `"60 mm"`, `"60mm"`, `"6 cm"` or `"2 in"`.
    ///
    /// # Errors
    /// `None` when the text is no number with a unit of length, or is out of the range of ±100 m.
    pub fn parse(text: &str) -> Option<Mm> {
        let text = text.trim();
        let (number, scale) = if let Some(rest) = text.strip_suffix("mm") {
            (rest, 1.0)
        } else if let Some(rest) = text.strip_suffix("cm") {
            (rest, 10.0)
        } else {
            (text.strip_suffix("in")?, 25.4)
        };
        let value: f64 = number.trim().parse().ok()?;
        (value.is_finite() && value.abs() <= 100_000.0).then(|| Mm::new(value * scale))
    }
}

impl fmt::Display for Mm {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{} mm", self.value())
    }
}

/// A size of type in thousandths of a desktop point (1 pt = 1/72 in = 0.352 777… mm).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Pt {
    thousandths: i32,
}

impl Pt {
    pub const fn from_thousandths(thousandths: i32) -> Pt {
        Pt { thousandths }
    }

    pub fn new(points: f64) -> Pt {
        Pt { thousandths: (points * 1000.0).round() as i32 }
    }

    pub fn thousandths(self) -> i32 {
        self.thousandths
    }

    pub fn value(self) -> f64 {
        f64::from(self.thousandths) / 1000.0
    }

    /// This size times `percent` / 100.
    pub fn percent(self, percent: i32) -> Pt {
        Pt { thousandths: self.thousandths * percent / 100 }
    }
}

impl fmt::Display for Pt {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{} pt", self.value())
    }
}

/// How close the dots stand: whole dots per metre, the unit in which PNG's pHYs chunk writes it too.
/// 8 dots/mm (203.2 dpi) is 8000, 180 dpi is 7087.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Resolution {
    pub dots_per_metre: u32,
}

impl Resolution {
    pub const EIGHT: Resolution = Resolution { dots_per_metre: 8000 };

    /// The nearest whole dot.
    pub fn dots(self, length: Mm) -> Dots {
        let scaled = length.micrometres * i64::from(self.dots_per_metre);
        Dots((scaled + 500_000).div_euclid(1_000_000) as i32)
    }

    /// The length that so many dots take on paper, to the micrometre.
    pub fn mm(self, dots: Dots) -> Mm {
        let scaled = i64::from(dots.0) * 1_000_000;
        let per_metre = i64::from(self.dots_per_metre);
        Mm { micrometres: (scaled + per_metre / 2).div_euclid(per_metre) }
    }

    /// The size of the em in dots, in 1/64 dot. 9 pt at 8 dots/mm is 25.4 dots = 1626/64.
    pub fn em(self, size: Pt) -> i32 {
        // 1 pt = 25.4/72 mm, so dots = thousandths / 1000 * 25.4/72 * dots_per_metre / 1000.
        let top = i64::from(size.thousandths) * i64::from(self.dots_per_metre) * 254 * 64;
        let bottom = 10i64 * 72 * 1_000_000;
        ((top + bottom / 2) / bottom) as i32
    }

    /// The nearest whole dot to a measure of type.
    pub fn type_dots(self, size: Pt) -> Dots {
        Dots((self.em(size) + 32) >> 6)
    }
}

/// What layout and pictures need to know of the printer: how wide it prints, how close its dots stand, how much they grow.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Paper {
    /// Printable width.
    pub width: Dots,
    pub resolution: Resolution,
    /// How much darker than asked tones come out on it.
    pub dot_gain: DotGain,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nine_points_at_203_2_dpi_are_25_4_dots() {
        // Definition of the desktop point, 1/72 in (CHECKS.md, "Type").
        assert_eq!(Resolution::EIGHT.em(Pt::new(9.0)), (25.4f64 * 64.0).round() as i32);
    }

    #[test]
    fn eight_dots_a_millimetre_are_exact_both_ways() {
        // Arithmetic: 203.2 dpi / 25.4 (CHECKS.md, "Paper, printer, folding"); 576 dots = 72 mm, 384 = 48 mm.
        for (dots, mm) in [(576, 72.0), (384, 48.0), (420, 52.5), (832, 104.0)] {
            assert_eq!(Resolution::EIGHT.dots(Mm::new(mm)), Dots(dots));
            assert_eq!(Resolution::EIGHT.mm(Dots(dots)), Mm::new(mm));
        }
    }

    #[test]
    fn lengths_are_read_with_their_unit_only() {
        assert_eq!(Mm::parse("60 mm"), Some(Mm::new(60.0)));
        assert_eq!(Mm::parse(" 6cm "), Some(Mm::new(60.0)));
        assert_eq!(Mm::parse("1 in"), Some(Mm::new(25.4)));
        assert_eq!(Mm::parse("60"), None);
        assert_eq!(Mm::parse("NaN mm"), None);
        assert_eq!(Mm::parse("1e30 mm"), None);
    }
}
