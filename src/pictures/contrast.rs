//! A grey that keeps colours apart: yellow on white, red on green of the same lightness are edges too. For drawings; photographs keep their lightness.
//!
//! Of all mixtures of red, green and blue in tenths the one whose steps in grey come closest to the steps in colour, over pairs of pixels near and
//! far (Lu, Xu, Jia 2012, "Real-time contrast preserving decolorization", doi 10.1145/2407746.2407780). Lightness is kept unless another is clearly better.
//! Whole numbers and square roots only: the same mixture on every machine.

use super::tone::{LINEAR, Light};

/// Pixels looked at, each way.
const SIDE: usize = 72;
/// By how much a mixture must be better than lightness, in percent of its error.
const BETTER: f64 = 75.0;
/// Colours nearer than this, of 255, are one colour.
const SAME: f64 = 24.0;

/// Tenths of red, green and blue; `None` for lightness.
pub fn mixture(colour: &[[u8; 3]], width: usize) -> Option<[u32; 3]> {
    let height = colour.len() / width.max(1);
    let (across, down) = (width.min(SIDE), height.min(SIDE));
    if across < 2 || down < 2 {
        return None;
    }
    let pixels: Vec<[f64; 3]> = (0..across * down)
        .map(|at| colour[(at / across * height / down) * width + at % across * width / across].map(f64::from))
        .collect();
    let far = pixels.len() / 2 + across / 3;
    let pairs: Vec<([f64; 3], f64)> = (0..pixels.len())
        .flat_map(|at| [at + 1, at + across, at + far].map(|other| (at, other % pixels.len())))
        .map(|(at, other)| std::array::from_fn(|n| pixels[at][n] - pixels[other][n]))
        .map(|step: [f64; 3]| {
            // Steps in lightness count whole, in red against green and yellow against blue by half, about as CIELAB weighs them (by eye, no source).
            let [red, green, blue] = step;
            let light = 0.3 * red + 0.59 * green + 0.11 * blue;
            let (warm, yellow) = ((red - green) / 2.0, ((red + green) / 2.0 - blue) / 2.0);
            (step, (light * light + warm * warm + yellow * yellow).sqrt())
        })
        .filter(|(_, step)| *step > SAME)
        .collect();
    let error = |[red, green, blue]: [f64; 3]| -> f64 {
        let off = |&([r, g, b], step): &([f64; 3], f64)| {
            let off = (red * r + green * g + blue * b).abs() - step;
            off * off
        };
        pairs.iter().map(off).sum()
    };
    let plain = error([0.3, 0.59, 0.11]);
    let mixtures = (0..=10u32).flat_map(|red| (0..=10 - red).map(move |green| [red, green, 10 - red - green]));
    let best =
        mixtures.map(|tenths| (error(tenths.map(|tenth| f64::from(tenth) / 10.0)), tenths)).min_by(|a, b| a.0.total_cmp(&b.0))?;
    (best.0 * 100.0 < plain * BETTER).then_some(best.1)
}

/// The light of a mixture.
pub fn mixed(colour: &[[u8; 3]], width: u32, height: u32, tenths: [u32; 3]) -> Light {
    let linear = &*LINEAR;
    let light = |pixel: &[u8; 3]| {
        let sum: u32 = pixel.iter().zip(tenths).map(|(&value, tenth)| u32::from(linear[usize::from(value)]) * tenth).sum();
        ((sum + 5) / 10) as u16
    };
    Light { width, height, light: colour.iter().map(light).collect() }
}
