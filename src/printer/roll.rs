//! Rolls of paper: how much is on one, and what it costs.

use std::f64::consts::PI;

use super::Error;
use crate::lengths::Mm;

/// A roll of paper. Only the diameters and the thickness decide its length; the width says which printer it is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Roll {
    pub width: Mm,
    /// Outer diameter.
    pub diameter: Mm,
    /// Outer diameter of the core.
    pub core: Mm,
    /// Thickness of the paper.
    pub thickness: Mm,
}

impl Default for Roll {
    /// 80 x 80 mm on a 12 mm core, paper 0.06 mm thick.
    fn default() -> Roll {
        let mm = |millimetres: i64| Mm::from_micrometres(millimetres * 1000);
        Roll { width: mm(80), diameter: mm(80), core: mm(12), thickness: Mm::from_micrometres(60) }
    }
}

impl Roll {
    /// Reads `"80x80"` or `"80x80x12"`: paper width, roll diameter and, if given, core diameter, in mm.
    ///
    /// # Errors
    /// [`Error::Roll`] when it is not that, or when no roll can measure so.
    pub fn parse(text: &str) -> Result<Roll, Error> {
        let wrong = || Error::Roll { text: text.to_string() };
        let measures = text.trim().trim_end_matches("mm").split(['x', 'X', '×', '*']);
        let numbers: Option<Vec<f64>> =
            measures.map(|number| number.trim().parse().ok().filter(|mm| (1.0..=1000.0).contains(mm))).collect();
        let mut roll = Roll::default();
        match numbers.as_deref() {
            Some([width, diameter]) => (roll.width, roll.diameter) = (Mm::new(*width), Mm::new(*diameter)),
            Some([width, diameter, core]) => {
                (roll.width, roll.diameter, roll.core) = (Mm::new(*width), Mm::new(*diameter), Mm::new(*core));
            }
            _ => return Err(wrong()),
        }
        if roll.core >= roll.diameter { Err(wrong()) } else { Ok(roll) }
    }

    /// Metres of paper on it: the area of the ring over the thickness, pi (D² - d²) / (4 t).
    pub fn metres(&self) -> f64 {
        let (outer, inner) = (self.diameter.value(), self.core.value());
        PI * (outer * outer - inner * inner) / (4.0 * self.thickness.value()) / 1000.0
    }
}

/// Price of a roll, in whatever the maker counts in.
#[derive(Clone, Debug, PartialEq)]
pub struct Price {
    pub amount: f64,
    pub currency: String,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn metres_on_a_roll_are_the_ring_over_the_thickness() {
        // pi (D² - d²) / (4 t): D 80 mm, d 12 mm, t 0.06 mm gives 81.9 m (geometry: annulus over thickness).
        let roll = Roll::parse("80x80").expect("a roll");
        assert_eq!(format!("{:.1}", roll.metres()), "81.9");
        assert_eq!(Roll::parse("57 × 40 x 13 mm").map(|roll| roll.core), Ok(Mm::new(13.0)));
        for wrong in ["80", "80x", "x80", "80x80x80", "80x80x12x1", "80xinf", "-80x80", ""] {
            assert_eq!(Roll::parse(wrong), Err(Error::Roll { text: wrong.into() }));
        }
    }
}
