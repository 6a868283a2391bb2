//! Tones: light, its scaling, and how much white the paper is asked for. Knows no file format and decides no dot.
//!
//! A picture's light is linear (IEC 61966-2-1 undone), since light is what an eye averages over dots. Scaling, alpha and grey
//! are worked out there. Sharpening and contrast work on the square root of light, which is close to how bright it looks and
//! which every machine computes alike (IEEE 754 rounds square roots exactly).

use std::sync::LazyLock;

use rayon::prelude::*;

use super::ground;
use crate::gain::DotGain;

/// White in linear light.
pub const WHITE: u16 = u16::MAX;

/// Linear light, one value a pixel, 0 black to 65535 white, rows from the top.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Light {
    pub width: u32,
    pub height: u32,
    pub light: Vec<u16>,
}

/// The share of white asked for at each dot: 0 all ink, 255 bare paper.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Shares {
    pub width: u32,
    pub height: u32,
    pub white: Vec<u8>,
}

/// The part of a picture that is shown, in pixels; fractions are kept.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Window {
    pub left: f64,
    pub top: f64,
    pub width: f64,
    pub height: f64,
}

/// How values between and among pixels are found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kernel {
    /// The mean of what a dot covers: no ringing, so a flat ground stays flat and edges of drawings stay clean.
    Area,
    /// Three-lobed windowed sinc: keeps more of the fine detail of a photograph.
    Lanczos,
}

/// sRGB value to linear light (IEC 61966-2-1), for 8-bit samples.
pub static LINEAR: LazyLock<[u16; 256]> = LazyLock::new(|| std::array::from_fn(|value| to_linear(value as f64 / 255.0)));

/// One sRGB value (0 to 1) to linear light in 65535ths (IEC 61966-2-1).
pub fn to_linear(value: f64) -> u16 {
    let light = if value <= 0.04045 { value / 12.92 } else { libm::pow((value + 0.055) / 1.055, 2.4) };
    (light * f64::from(WHITE) + 0.5) as u16
}

/// ITU-R BT.709 luma of linear light.
pub fn luma(red: u16, green: u16, blue: u16) -> u16 {
    ((u32::from(red) * 2126 + u32::from(green) * 7152 + u32::from(blue) * 722 + 5000) / 10000) as u16
}

impl Window {
    /// All of a picture.
    pub fn whole(width: u32, height: u32) -> Window {
        Window { left: 0.0, top: 0.0, width: f64::from(width), height: f64::from(height) }
    }
}

impl Light {
    /// The whole picture.
    pub fn window(&self) -> Window {
        Window::whole(self.width, self.height)
    }

    /// The pixels of `window` as they are, its corner and size rounded to whole pixels, at least one.
    pub fn cut(&self, window: Window) -> Light {
        let edge = |value: f64, most: u32| (libm::round(value).max(0.0) as u32).min(most);
        let (width, height) = (edge(window.width, self.width).max(1), edge(window.height, self.height).max(1));
        let (left, top) = (edge(window.left, self.width - width), edge(window.top, self.height - height));
        let rows = self.light.chunks(self.width as usize).skip(top as usize).take(height as usize);
        let light = rows.flat_map(|row| &row[left as usize..][..width as usize]).copied().collect();
        Light { width, height, light }
    }

    /// Scales `window` to `width` x `height` in linear light. Both at least 1.
    pub fn scaled(&self, window: Window, width: u32, height: u32, kernel: Kernel) -> Light {
        let across = weights(self.width, window.left, window.width, width, kernel);
        let down = weights(self.height, window.top, window.height, height, kernel);
        let first = down.iter().map(|taps| taps.first).min().unwrap_or(0);
        let last = down.iter().map(|taps| taps.first + taps.weights.len()).max().unwrap_or(0);
        let stride = self.width as usize;
        let mut narrow = vec![0u16; width as usize * (last - first)];
        narrow.par_chunks_mut(width as usize).enumerate().for_each(|(y, row)| {
            let source = &self.light[(first + y) * stride..][..stride];
            for (out, taps) in row.iter_mut().zip(&across) {
                let sum: i32 = taps.weights.iter().zip(&source[taps.first..]).map(|(&w, &v)| w * i32::from(v)).sum();
                *out = settle(sum);
            }
        });
        let mut light = vec![0u16; width as usize * height as usize];
        light.par_chunks_mut(width as usize).zip(&down).for_each(|(row, taps)| {
            let mut sums = vec![0i32; width as usize];
            for (index, &weight) in taps.weights.iter().enumerate() {
                let source = &narrow[(taps.first + index - first) * width as usize..][..width as usize];
                sums.iter_mut().zip(source).for_each(|(sum, &value)| *sum += weight * i32::from(value));
            }
            row.iter_mut().zip(sums).for_each(|(out, sum)| *out = settle(sum));
        });
        Light { width, height, light }
    }
}

/// Weights are in 16384ths, and those of one dot sum to exactly 1. The positive lobes of a sinc sum to less than 1.4, so a sum of
/// weighted light stays below 2^31.
const ONE: i32 = 1 << SHIFT;
const SHIFT: u32 = 14;

fn settle(sum: i32) -> u16 {
    ((sum + ONE / 2) >> SHIFT).clamp(0, i32::from(WHITE)) as u16
}

/// The pixels one dot is made of: the first, and a weight for each.
struct Taps {
    first: usize,
    weights: Vec<i32>,
}

fn weights(pixels: u32, start: f64, length: f64, dots: u32, kernel: Kernel) -> Vec<Taps> {
    let step = length / f64::from(dots);
    // Enlarging by area would show the pixels as blocks, so Lanczos takes over there.
    let area = kernel == Kernel::Area && step >= 1.0;
    let reach = if area { step / 2.0 } else { 3.0 * step.max(1.0) };
    let most = pixels.saturating_sub(1) as usize;
    (0..dots)
        .map(|dot| {
            let middle = start + (f64::from(dot) + 0.5) * step;
            let first = libm::floor(middle - reach).max(0.0) as usize;
            let first = first.min(most);
            let last = (libm::ceil(middle + reach).max(1.0) as usize - 1).clamp(first, most);
            let raw: Vec<f64> = (first..=last)
                .map(|pixel| {
                    let pixel = pixel as f64;
                    if area {
                        ((pixel + 1.0).min(middle + reach) - pixel.max(middle - reach)).max(0.0)
                    } else {
                        lanczos((pixel + 0.5 - middle) / step.max(1.0))
                    }
                })
                .collect();
            Taps { first, weights: whole(&raw) }
        })
        .collect()
}

fn lanczos(x: f64) -> f64 {
    if x.abs() < 1e-9 {
        return 1.0;
    }
    if x.abs() >= 3.0 {
        return 0.0;
    }
    let turn = std::f64::consts::PI * x;
    3.0 * libm::sin(turn) * libm::sin(turn / 3.0) / (turn * turn)
}

/// Whole weights that sum to exactly `ONE`: each is the step between two rounded running sums, so that even thousands of
/// small weights lose nothing.
fn whole(raw: &[f64]) -> Vec<i32> {
    let sum: f64 = raw.iter().sum();
    let scale = if sum.abs() < 1e-12 { 0.0 } else { f64::from(ONE) / sum };
    let (mut running, mut before) = (0.0, 0);
    let mut whole: Vec<i32> = raw
        .iter()
        .map(|weight| {
            running += weight;
            let now = libm::round(running * scale) as i32;
            now - std::mem::replace(&mut before, now)
        })
        .collect();
    if let Some(last) = whole.last_mut() {
        *last += ONE - before;
    }
    whole
}

/// What is done to the tones of a photograph before it is screened.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Finish {
    /// How far an edge is raised over its blurred self, in thousandths (unsharp mask, Gaussian of one dot). One bit a dot
    /// blurs: error diffusion hands a tone on over about one dot, so detail of that size needs the lift.
    pub sharpen: u16,
    /// How far the parts of the picture are set off from their surroundings, in thousandths (unsharp mask over about 2 mm). One
    /// bit has few tones to tell shapes apart by; this gives them back some of what scaling and paper take.
    pub clarity: u16,
    /// Whether the darkest and lightest tones are drawn to ink and paper.
    pub stretch: bool,
    /// How much darker than asked tones come out on paper.
    pub dot_gain: DotGain,
}

/// The square root of light in 4095ths.
pub const FULL: u16 = 4095;

impl Light {
    /// Light as asked-for white, nothing done to it.
    pub fn shares(&self) -> Shares {
        let white = self.light.iter().map(|&light| ((u32::from(light) * 255 + 32767) / 65535) as u8).collect();
        Shares { width: self.width, height: self.height, white }
    }

    /// Makes white paper of everything that is not the thing; `thing` has `width` dots a row, and each is `fine` samples a side here.
    pub fn whiten(&mut self, thing: &[bool], width: u32, fine: u32) {
        for (y, row) in self.light.chunks_mut(self.width as usize).enumerate() {
            let dots = &thing[(y as u32 / fine * width) as usize..][..width as usize];
            for (x, light) in row.iter_mut().enumerate() {
                if !dots[(x as u32 / fine) as usize] {
                    *light = WHITE;
                }
            }
        }
    }

    /// The square root of light, in 4095ths: close to how bright it looks.
    pub fn roots(&self) -> Vec<u16> {
        self.light.iter().map(|&light| root(light)).collect()
    }

    /// With its uneven light evened and an even ground lifted to paper (see [`ground`]). A picture of nothing but ground, as of a sample of cloth, keeps
    /// its tones: it would be an empty place.
    pub fn evened(&self) -> Light {
        let mut roots = self.roots();
        let lift = ground::lift(&roots, self.width as usize, FULL);
        lift.apply(&mut roots, self.width as usize, FULL);
        let dark = roots.iter().filter(|&&root| root < FULL / 20 * 18).count();
        if lift.ground && dark * 1000 < roots.len() {
            return self.clone();
        }
        let full = u64::from(FULL) * u64::from(FULL);
        let light = |root: u16| ((u64::from(root) * u64::from(root) * u64::from(WHITE) + full / 2) / full) as u16;
        Light { light: roots.into_iter().map(light).collect(), ..*self }
    }

    /// Stretches, sharpens, and asks for so much more white as the paper will lose to dot gain.
    pub fn finished(&self, finish: Finish) -> Shares {
        let mut roots = self.roots();
        if finish.stretch {
            stretch(&mut roots);
        }
        if finish.clarity > 0 {
            roots = clarified(&roots, self.width as usize, finish.clarity);
        }
        if finish.sharpen > 0 {
            roots = sharpened(&roots, self.width as usize, finish.sharpen);
        }
        let curve = gain_curve(finish.dot_gain);
        Shares { width: self.width, height: self.height, white: roots.iter().map(|&value| curve[usize::from(value)]).collect() }
    }
}

fn root(light: u16) -> u16 {
    ((f64::from(light) / f64::from(WHITE)).sqrt() * f64::from(FULL) + 0.5) as u16
}

/// Draws the tone below which 0.2 % of the dots lie to black and that above which 0.2 % lie to white; but never starts higher
/// than 15 % or ends lower than 60 % of the scale, so that fog stays fog. Then lightens a picture whose mean is under 42 %
/// towards that by a power, 0.6 at most: what is dark on a screen is only black on paper.
fn stretch(roots: &mut [u16]) {
    let full = usize::from(FULL);
    let mut count = vec![0u32; full + 1];
    roots.iter().for_each(|&value| count[usize::from(value)] += 1);
    let few = roots.len() as u32 / 500;
    let reached = |values: &mut dyn Iterator<Item = usize>| {
        let mut seen = 0;
        for value in values {
            seen += count[value];
            if seen > few {
                return value;
            }
        }
        0
    };
    let low = reached(&mut (0..=full)).min(full * 15 / 100);
    let high = reached(&mut (0..=full).rev()).max(full * 60 / 100);
    let drawn = |value: usize| (value.clamp(low, high) - low) * full / (high - low);
    let sum: u64 = count.iter().enumerate().map(|(value, &count)| drawn(value) as u64 * u64::from(count)).sum();
    let mean = sum as f64 / roots.len().max(1) as f64 / full as f64;
    let power = if mean < MEAN { (libm::log(MEAN) / libm::log(mean.max(1e-6))).max(0.6) } else { 1.0 };
    let lifted = |value: usize| (libm::pow(drawn(value) as f64 / full as f64, power) * full as f64 + 0.5) as u16;
    let curve: Vec<u16> = (0..=full).map(lifted).collect();
    roots.iter_mut().for_each(|value| *value = curve[usize::from(*value)]);
}

/// Mean of the scale under which a photograph is lightened.
const MEAN: f64 = 0.42;

/// Unsharp mask with the 5-tap binomial [1 4 6 4 1]/16 both ways, a Gaussian of one dot. Differences under 1/128 of the scale
/// are left alone, so that noise in a flat sky stays flat.
fn sharpened(roots: &[u16], width: usize, amount: u16) -> Vec<u16> {
    let blur = |at: &dyn Fn(isize) -> u32| (at(-2) + at(2) + 4 * (at(-1) + at(1)) + 6 * at(0) + 8) / 16;
    let mut across = vec![0u16; roots.len()];
    for (row, out) in roots.chunks(width).zip(across.chunks_mut(width)) {
        for (x, value) in out.iter_mut().enumerate() {
            *value = blur(&|step| u32::from(row[x.saturating_add_signed(step).min(width - 1)])) as u16;
        }
    }
    let rows = roots.len() / width;
    let mut sharp = vec![0u16; roots.len()];
    for (y, out) in sharp.chunks_mut(width).enumerate() {
        let row = |step: isize| &across[y.saturating_add_signed(step).min(rows - 1) * width..][..width];
        let near = [row(-2), row(-1), row(0), row(1), row(2)];
        for (x, value) in out.iter_mut().enumerate() {
            let blurred = blur(&|step| u32::from(near[(step + 2) as usize][x])) as i32;
            let plain = i32::from(roots[y * width + x]);
            let over = plain - blurred;
            let kept = over - over.clamp(-i32::from(FULL) / 128, i32::from(FULL) / 128);
            *value = (plain + kept * i32::from(amount) / 1000).clamp(0, i32::from(FULL)) as u16;
        }
    }
    sharp
}

/// Half the side of the square that [`clarified`] averages over, in dots.
const AROUND: usize = 8;

/// Unsharp mask with two means over squares, which are close to a Gaussian of about 7 dots.
fn clarified(roots: &[u16], width: usize, amount: u16) -> Vec<u16> {
    let soft = mean_around(&mean_around(roots, width), width);
    let full = i32::from(FULL);
    let lift = |(&plain, &soft): (&u16, &u16)| {
        let plain = i32::from(plain);
        // Black and white keep their place: what lies near them is moved less.
        let room = plain.min(full - plain) * 2;
        let over = (plain - i32::from(soft)) * i32::from(amount) / 1000;
        (plain + over.clamp(-room / 2, room / 2)).clamp(0, full) as u16
    };
    roots.iter().zip(&soft).map(lift).collect()
}

/// The mean over a square around each value, by running sums; beyond the edges the edge goes on.
fn mean_around(values: &[u16], width: usize) -> Vec<u16> {
    let side = 2 * AROUND + 1;
    let mean = |values: &mut dyn FnMut(usize) -> u32, length: usize, put: &mut dyn FnMut(usize, u16)| {
        let at = |index: usize| index.saturating_sub(AROUND).min(length - 1);
        let mut sum: u32 = (0..side).map(|index| values(at(index))).sum();
        for index in 0..length {
            put(index, ((sum + side as u32 / 2) / side as u32) as u16);
            sum = sum + values(at(index + side)) - values(at(index));
        }
    };
    let height = values.len() / width;
    let mut across = vec![0; values.len()];
    for (row, out) in values.chunks(width).zip(across.chunks_mut(width)) {
        mean(&mut |index| u32::from(row[index]), width, &mut |index, value| out[index] = value);
    }
    let mut down = vec![0; values.len()];
    for x in 0..width {
        mean(&mut |index| u32::from(across[index * width + x]), height, &mut |index, value| down[index * width + x] = value);
    }
    down
}

/// From the root of light in 4095ths to the white to ask for, so that the paper, gain included, gives that light.
fn gain_curve(dot_gain: DotGain) -> Vec<u8> {
    let power = 2.0 / dot_gain.exponent();
    let white = |root: f64| match dot_gain.points() {
        [] => libm::pow(root, power),
        _ => 1.0 - dot_gain.asked(1.0 - root * root),
    };
    (0..=FULL).map(|value| (white(f64::from(value) / f64::from(FULL)) * 255.0 + 0.5) as u8).collect()
}
