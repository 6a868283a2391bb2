//! Solid black.

use super::field::Field;
use super::{DEEP, FINE, Pen};
use crate::pictures::parts::{beside, parts};

/// The tone below which all is black: at most the share that the pen allows, and never what is lighter than dusk.
pub(super) fn black_level(calm: &Field, pen: Pen) -> f32 {
    let mut counts = [0usize; 256];
    calm.values.iter().for_each(|&value| counts[(value.clamp(0.0, 1.0) * 255.0) as usize] += 1);
    let most = calm.values.len() * usize::from(pen.black.min(100)) / 100;
    let mut seen = 0;
    for (tone, count) in counts.iter().enumerate() {
        seen += count;
        if seen > most {
            return (tone as f32 / 255.0).min(0.36);
        }
    }
    0.36
}

/// Solid black: what is darker than `level`, as far as it ends at edges. A shadow that fades out, a table that grows dark towards a corner have
/// none and stay paper. A large dark thing whose own parts differ in tone shows the lighter ones open, by the tone that parts them best (Otsu 1979).
pub(super) fn solids(soft: &Field, edges: &Field, needed: &[f32], level: f32) -> Vec<bool> {
    let (width, height) = (soft.width, soft.height);
    let dark: Vec<bool> = soft.values.iter().map(|&tone| tone < level).collect();
    let mut solid = vec![false; dark.len()];
    for part in parts(&dark, width, height) {
        if edged(&part, &dark, None, edges, needed) < 70 {
            continue;
        }
        part.iter().for_each(|&at| solid[at] = true);
        if part.len() * 50 < dark.len() {
            continue;
        }
        if let Some(tone) = parting(part.iter().map(|&at| soft.values[at])) {
            let mut lighter = vec![false; dark.len()];
            part.iter().filter(|&&at| soft.values[at] > tone).for_each(|&at| lighter[at] = true);
            for open in parts(&lighter, width, height) {
                let lined = open.iter().filter(|&&at| edges.values[at].abs() > DEEP).count();
                if open.len() * 400 > dark.len()
                    && lined * 10 < open.len()
                    && edged(&open, &lighter, Some(&solid), edges, needed) > 65
                {
                    open.iter().for_each(|&at| solid[at] = false);
                }
            }
        }
    }
    solid
}

/// Whether most of the rim of a part lies where the picture has an edge: the rim towards what `within` says, if it says, and never the border of
/// the picture. A part without such a rim ends nowhere.
fn edged(part: &[usize], is: &[bool], within: Option<&[bool]>, edges: &Field, needed: &[f32]) -> usize {
    let (mut rim, mut sharp) = (0usize, 0usize);
    for &at in part {
        let mut ends = false;
        for near in beside(at, edges.width, edges.height) {
            ends |= !is[near] && within.is_none_or(|within| within[near]);
        }
        if ends {
            rim += 1;
            let (x, y) = (at % edges.width, at / edges.width);
            let reach = 2 * FINE;
            let (left, right) = (x.saturating_sub(reach), (x + reach).min(edges.width - 1));
            let (top, bottom) = (y.saturating_sub(reach), (y + reach).min(edges.height - 1));
            let near = |x: usize, y: usize| edges.values[y * edges.width + x] < -needed[y * edges.width + x];
            sharp += usize::from((left..=right).any(|x| near(x, y)) || (top..=bottom).any(|y| near(x, y)));
        }
    }
    sharp * 100 / rim.max(1)
}

/// The tone that parts some tones best into two groups, if they come apart and differ by a third.
fn parting(tones: impl Iterator<Item = f32>) -> Option<f32> {
    let mut counts = [0u64; 128];
    tones.for_each(|tone| counts[(tone.clamp(0.0, 0.999) * 128.0) as usize] += 1);
    let all: u64 = counts.iter().sum();
    let sum: u64 = counts.iter().enumerate().map(|(tone, count)| tone as u64 * count).sum();
    let mean = sum as f64 / all as f64;
    let spread: f64 =
        counts.iter().enumerate().map(|(tone, &count)| (tone as f64 - mean) * (tone as f64 - mean) * count as f64).sum();
    let (mut below, mut weight) = (0u64, 0u64);
    let mut best = (0.0, 0, 0.0, 0.0);
    for (tone, &count) in counts.iter().enumerate() {
        below += count;
        weight += tone as u64 * count;
        if below == 0 || below == all {
            continue;
        }
        let (low, high) = (weight as f64 / below as f64, (sum - weight) as f64 / (all - below) as f64);
        let between = below as f64 * (low - mean) * (low - mean) + (all - below) as f64 * (high - mean) * (high - mean);
        if between > best.0 {
            best = (between, tone, low, high);
        }
    }
    let (between, tone, low, high) = best;
    (between > spread * 0.6 && high + 0.5 > (low + 0.5) * 1.3).then(|| (tone + 1) as f32 / 128.0)
}
