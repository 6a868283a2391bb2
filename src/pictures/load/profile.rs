//! From a picture's own colours to light: which numbers are how bright, by the profile that the file carries.
//!
//! Only luminance is wanted, so a profile is read for two things: how much light each primary gives, and the curve from number to light.

use std::sync::{Arc, LazyLock};

use moxcms::{ColorProfile, DataColorSpace, ToneReprCurve};

use crate::pictures::tone::{LINEAR, WHITE, to_linear};

/// How bright colours are.
#[derive(Clone, Debug)]
pub struct Space {
    /// Shares of the primaries in the luminance of white, in 10000ths.
    weights: [u32; 3],
    curve: Curve,
}

#[derive(Clone, Debug)]
enum Curve {
    Srgb,
    /// Linear light of 256 evenly spaced values, 65535 white.
    Table(Arc<[u16; 256]>),
}

/// sRGB (IEC 61966-2-1, luminance by ITU-R BT.709), Display P3 (SMPTE EG 432-1) and Adobe RGB (1998): luminance of the primaries in 10000ths,
/// as a profile holds it, under D50, and as it is, under D65. Computed from the primaries; sRGB is the first.
const KNOWN: [([f64; 3], [u32; 3]); 3] = [
    ([0.2225, 0.7169, 0.0606], [2126, 7152, 722]),
    ([0.2412, 0.6922, 0.0666], [2290, 6917, 793]),
    ([0.3111, 0.6257, 0.0632], [2973, 6274, 753]),
];

impl Default for Space {
    fn default() -> Space {
        Space { weights: KNOWN[0].1, curve: Curve::Srgb }
    }
}

impl Space {
    /// Whether numbers mean what they mean in sRGB.
    pub fn is_srgb(&self) -> bool {
        self.weights == KNOWN[0].1 && matches!(self.curve, Curve::Srgb)
    }

    /// That of an ICC profile. Of one that cannot be read, or is not of three primaries and curves, sRGB.
    pub fn of_profile(profile: &[u8]) -> Space {
        let Ok(profile) = ColorProfile::new_from_slice(profile) else { return Space::default() };
        if profile.color_space != DataColorSpace::Rgb {
            return Space::default();
        }
        let light = [profile.red_colorant.y, profile.green_colorant.y, profile.blue_colorant.y].map(|y| y.clamp(0.0, 1.0));
        let sum: f64 = light.iter().sum();
        if !(0.5..=1.5).contains(&sum) {
            return Space::default();
        }
        let light = light.map(|y| y / sum);
        let near = |known: &[f64; 3]| known.iter().zip(light).all(|(known, here)| (known - here).abs() < 0.01);
        let weights = KNOWN.iter().find(|(known, _)| near(known)).map_or_else(
            || {
                let [red, _, blue] = light.map(|y| libm::round(y * 10_000.0) as u32);
                [red, 10_000 - red - blue, blue]
            },
            |(_, weights)| *weights,
        );
        Space { weights, curve: profile.green_trc.as_ref().map_or(Curve::Srgb, Curve::of) }
    }

    /// Linear light of a number from 0 to 1.
    fn linear(&self, value: f64) -> u16 {
        match &self.curve {
            Curve::Srgb => to_linear(value),
            Curve::Table(table) => {
                let at = value.clamp(0.0, 1.0) * 255.0;
                let below = (at as usize).min(254);
                let (low, high) = (f64::from(table[below]), f64::from(table[below + 1]));
                (low + (high - low) * (at - below as f64) + 0.5) as u16
            }
        }
    }

    /// Tables for 8-bit samples.
    pub fn bytes(&self) -> Bytes {
        let grey = match &self.curve {
            Curve::Srgb => *LINEAR,
            Curve::Table(table) => **table,
        };
        Bytes { grey, parts: self.weights.map(|weight| grey.map(|light| u32::from(light) * weight)) }
    }

    /// Tables for 16-bit samples.
    pub fn words(&self) -> Words {
        static SRGB: LazyLock<Arc<Vec<u16>>> = LazyLock::new(|| {
            let of = |value: u32| to_linear(f64::from(value) / 65535.0);
            Arc::new((0..=u32::from(u16::MAX)).map(of).collect())
        });
        let grey = match self.curve {
            Curve::Srgb => Arc::clone(&SRGB),
            Curve::Table(_) => Arc::new((0..=u32::from(u16::MAX)).map(|value| self.linear(f64::from(value) / 65535.0)).collect()),
        };
        Words { grey, weights: self.weights }
    }
}

/// Light of 8-bit samples.
pub struct Bytes {
    grey: [u16; 256],
    parts: [[u32; 256]; 3],
}

impl Bytes {
    pub fn grey(&self, value: u8) -> u16 {
        self.grey[usize::from(value)]
    }

    pub fn luma(&self, [red, green, blue]: [u8; 3]) -> u16 {
        let [reds, greens, blues] = &self.parts;
        ((reds[usize::from(red)] + greens[usize::from(green)] + blues[usize::from(blue)] + 5000) / 10_000) as u16
    }
}

/// Light of 16-bit samples.
pub struct Words {
    grey: Arc<Vec<u16>>,
    weights: [u32; 3],
}

impl Words {
    pub fn grey(&self, value: u16) -> u16 {
        self.grey[usize::from(value)]
    }

    pub fn luma(&self, colour: [u16; 3]) -> u16 {
        let sum: u32 = colour.iter().zip(self.weights).map(|(&value, weight)| u32::from(self.grey(value)) * weight).sum();
        ((sum + 5000) / 10_000) as u16
    }
}

impl Curve {
    /// A curve within half a hundredth of sRGB's is taken for it.
    fn of(curve: &ToneReprCurve) -> Curve {
        let table: [u16; 256] = std::array::from_fn(|step| {
            let light = evaluated(curve, step as f64 / 255.0);
            (light.clamp(0.0, 1.0) * f64::from(WHITE) + 0.5) as u16
        });
        let alike = table.iter().zip(LINEAR.iter()).all(|(&here, &srgb)| here.abs_diff(srgb) < WHITE / 200);
        if alike { Curve::Srgb } else { Curve::Table(Arc::new(table)) }
    }
}

/// ICC.1, `curveType` and `parametricCurveType`.
fn evaluated(curve: &ToneReprCurve, x: f64) -> f64 {
    match curve {
        ToneReprCurve::Lut(table) => match table.as_slice() {
            [] => x,
            [gamma] => libm::pow(x, f64::from(*gamma) / 256.0),
            table => {
                let at = x * (table.len() - 1) as f64;
                let below = (at as usize).min(table.len() - 2);
                let (low, high) = (f64::from(table[below]), f64::from(table[below + 1]));
                (low + (high - low) * (at - below as f64)) / 65535.0
            }
        },
        ToneReprCurve::Parametric(numbers) => {
            let n = |index: usize| numbers.get(index).copied().map_or(0.0, f64::from);
            let raised = |base: f64| libm::pow(base.max(0.0), n(0));
            match numbers.len() {
                1 => raised(x),
                3 if n(1) != 0.0 && x < -n(2) / n(1) => 0.0,
                3 => raised(n(1) * x + n(2)),
                4 if n(1) != 0.0 && x < -n(2) / n(1) => n(3),
                4 => raised(n(1) * x + n(2)) + n(3),
                5 | 7 if x < n(4) => n(3) * x + n(6),
                5 | 7 => raised(n(1) * x + n(2)) + n(5),
                _ => x,
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// IEC 61966-2-1 as an ICC parametric curve of type 3; and the same as what it is.
    #[test]
    fn the_curve_of_srgb_is_known_in_every_form() {
        let parametric = ToneReprCurve::Parametric(vec![2.4, 1.0 / 1.055, 0.055 / 1.055, 1.0 / 12.92, 0.04045]);
        let table = ToneReprCurve::Lut((0..1024).map(|step| to_linear(f64::from(step) / 1023.0)).collect());
        for curve in [parametric, table] {
            assert!(matches!(Curve::of(&curve), Curve::Srgb), "{curve:?}");
        }
        // Adobe RGB (1998): 2 + 51/256.
        let Curve::Table(adobe) = Curve::of(&ToneReprCurve::Lut(vec![563])) else { panic!("taken for sRGB") };
        assert_eq!(adobe[128], (libm::pow(128.0 / 255.0, 2.199_218_75) * 65535.0 + 0.5) as u16);
    }

    #[test]
    fn white_is_white_in_every_space_and_depth() {
        for (_, weights) in KNOWN {
            assert_eq!(weights.iter().sum::<u32>(), 10_000);
            let space = Space { weights, curve: Curve::Srgb };
            assert_eq!((space.bytes().luma([255; 3]), space.words().luma([u16::MAX; 3])), (WHITE, WHITE));
            assert_eq!((space.bytes().luma([0; 3]), space.words().luma([0; 3])), (0, 0));
        }
    }
}
