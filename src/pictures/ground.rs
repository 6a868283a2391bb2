//! Light on a bench: the even ground that a thing lies on is found, its uneven light taken out, and it is lifted to paper.
//!
//! Most photographs of makers show a thing on a sheet or a table, brighter in the middle than in the corners. The ground is what most of the
//! border belongs to, is smooth, and lies on one soft surface (of second degree) of brightness. Where there is no such ground, as in a room or in a
//! hand, only the very large differences of light are lessened a little. Works on the square root of light; decides by sums and products only,
//! which every machine computes alike.

use crate::geometry::Point;

/// Side of the cells that the ground is looked for in, as a share of the longer side.
const CELLS: usize = 96;
/// How far off the surface the light of the ground may lie, in thousandths of it.
const NEAR: f64 = 0.075;
/// The largest step inside of a cell of ground, as a share of its light.
const SMOOTH: f64 = 0.10;

/// The largest step between cells that belong to one ground, and how dim a shadow on it may be, as shares of its light.
const SOFT: f64 = 0.035;
const DIMMEST: f64 = 0.55;
/// From how much above the light of the ground something is lighter than it.
const LIGHTER: f64 = 1.06;
/// The share of the picture from which on what is lighter than the ground is shown in full.
const ENOUGH: f64 = 0.03;

/// Means and roughness of cells.
struct Cells {
    across: usize,
    down: usize,
    side: usize,
    mean: Vec<f64>,
    rough: Vec<f64>,
}

/// What each value is multiplied by, in 1024ths, cell by cell; interpolated between.
pub struct Lift {
    across: usize,
    side: usize,
    gain: Vec<f64>,
    down: usize,
    /// Whether a ground was found.
    pub ground: bool,
    /// Whether the ground becomes paper, and so its grain too.
    bare: bool,
    /// Share of the picture that is ground, in thousandths.
    pub share: u32,
}

impl Cells {
    fn of(values: &[u16], width: usize) -> Cells {
        let height = values.len() / width;
        let side = width.max(height).div_ceil(CELLS).max(1);
        let (across, down) = (width.div_ceil(side), height.div_ceil(side));
        let (mut mean, mut rough) = (Vec::with_capacity(across * down), Vec::with_capacity(across * down));
        for top in (0..height).step_by(side) {
            for left in (0..width).step_by(side) {
                let (right, bottom) = ((left + side).min(width), (top + side).min(height));
                let (mut sum, mut square) = (0u64, 0u64);
                for y in top..bottom {
                    for &value in &values[y * width + left..y * width + right] {
                        sum += u64::from(value);
                        square += u64::from(value) * u64::from(value);
                    }
                }
                let count = ((right - left) * (bottom - top)) as f64;
                let middle = sum as f64 / count;
                mean.push(middle);
                rough.push((square as f64 / count - middle * middle).max(0.0).sqrt());
            }
        }
        Cells { across, down, side, mean, rough }
    }

    fn place(&self, index: usize) -> Point<f64> {
        let (x, y) = (index % self.across, index / self.across);
        Point::new((x as f64 + 0.5) / self.across as f64 * 2.0 - 1.0, (y as f64 + 0.5) / self.down as f64 * 2.0 - 1.0)
    }

    fn is_border(&self, index: usize) -> bool {
        let (x, y) = (index % self.across, index / self.across);
        let edge = (self.across.min(self.down) / 16).max(1);
        x < edge || y < edge || x >= self.across - edge || y >= self.down - edge
    }
}

fn terms(place: Point<f64>) -> [f64; 6] {
    let Point { x, y } = place;
    [1.0, x, y, x * x, x * y, y * y]
}

/// The surface of second degree with the least squares through some cells.
fn surface(cells: &Cells, chosen: &[bool]) -> Option<[f64; 6]> {
    let mut matrix = [[0.0f64; 7]; 6];
    for index in (0..chosen.len()).filter(|&index| chosen[index]) {
        let terms = terms(cells.place(index));
        for (row, factor) in matrix.iter_mut().zip(terms) {
            for (cell, term) in row.iter_mut().zip(terms) {
                *cell += factor * term;
            }
            row[6] += factor * cells.mean[index];
        }
    }
    // A little pull towards a flat surface, so that cells on one side alone do not bend the other.
    let count = matrix[0][0];
    for (n, row) in matrix.iter_mut().enumerate().skip(1) {
        row[n] += count * 0.002;
    }
    for column in 0..6 {
        let pivot = (column..6).max_by(|&a, &b| matrix[a][column].abs().total_cmp(&matrix[b][column].abs()))?;
        matrix.swap(column, pivot);
        if matrix[column][column].abs() < 1e-9 {
            return None;
        }
        let pivot = matrix[column];
        for (_, row) in matrix.iter_mut().enumerate().filter(|(n, _)| *n != column) {
            let factor = row[column] / pivot[column];
            row.iter_mut().zip(pivot).skip(column).for_each(|(cell, value)| *cell -= factor * value);
        }
    }
    Some(std::array::from_fn(|n| matrix[n][6] / matrix[n][n]))
}

fn height(surface: &[f64; 6], place: Point<f64>) -> f64 {
    surface.iter().zip(terms(place)).map(|(factor, term)| factor * term).sum()
}

/// Finds the ground and what to multiply by. Values are roots of light, `full` white.
pub fn lift(values: &[u16], width: usize, full: u16) -> Lift {
    let cells = Cells::of(values, width);
    let full = f64::from(full);
    let count = cells.mean.len();
    let ground = found(&cells, full);
    let share = ground.as_ref().map_or(0, |(chosen, _)| chosen.iter().filter(|&&is| is).count() * 1000 / count) as u32;
    let mut bare = false;
    let gain = match &ground {
        Some((chosen, surface)) => {
            let spread = spread(&cells, chosen, surface);
            let local = local(&cells, &spread, surface);
            // What lies on the surface becomes a little more than white, so that grain becomes paper too. Where things are lighter than the
            // ground, white paper on a wooden table, the ground stays so much under white as they need.
            let mut over: Vec<f64> = (0..count).filter(|&n| !spread[n]).map(|n| cells.mean[n] / local[n].max(1.0)).collect();
            over.retain(|&ratio| ratio > LIGHTER);
            over.sort_by(f64::total_cmp);
            let most = over.get(over.len() * 7 / 10).map_or(1.0, |most| most.clamp(1.0, 1.35));
            let share = (over.len() as f64 / count as f64 / ENOUGH).min(1.0);
            bare = share * (most - 1.0) < 0.02;
            let paper = full * 1.05 / (1.0 + (most - 1.0) * share);
            local.into_iter().map(|light| (paper / light.max(full * 0.12)).clamp(1.0, 5.0)).collect()
        }
        None => evened(&cells, full),
    };
    Lift { across: cells.across, side: cells.side, gain, down: cells.down, ground: ground.is_some(), bare, share }
}

/// The cells of the ground and the surface they lie on.
fn found(cells: &Cells, full: f64) -> Option<(Vec<bool>, [f64; 6])> {
    let count = cells.mean.len();
    if cells.across < 8 || cells.down < 8 {
        return None;
    }
    let smooth: Vec<bool> = (0..count).map(|n| cells.rough[n] < cells.mean[n] * SMOOTH + full * 0.008).collect();
    let border: Vec<usize> = (0..count).filter(|&n| cells.is_border(n)).collect();
    let mut lights: Vec<f64> = border.iter().filter(|&&n| smooth[n]).map(|&n| cells.mean[n]).collect();
    if lights.len() * 5 < border.len() * 2 {
        return None;
    }
    lights.sort_by(f64::total_cmp);
    let middle = lights[lights.len() * 3 / 5];
    if middle < full * 0.3 {
        return None;
    }
    let mut chosen: Vec<bool> =
        (0..count).map(|n| smooth[n] && cells.is_border(n) && (cells.mean[n] - middle).abs() < middle * 0.25).collect();
    let mut fitted = surface(cells, &chosen)?;
    for round in 0..6 {
        let near = if round < 2 { NEAR * 1.6 } else { NEAR };
        let next: Vec<bool> = (0..count)
            .map(|n| {
                let here = height(&fitted, cells.place(n));
                smooth[n] && here > full * 0.2 && (cells.mean[n] - here).abs() < here * near
            })
            .collect();
        if next == chosen {
            break;
        }
        chosen = next;
        if chosen.iter().filter(|&&is| is).count() * 20 < count {
            return None;
        }
        fitted = surface(cells, &chosen)?;
    }
    let inside = chosen.iter().filter(|&&is| is).count();
    let at_border = border.iter().filter(|&&n| chosen[n]).count();
    // Things are darker than the ground, mostly: else it is a wall behind, and the light is what matters.
    let (mut darker, mut lighter) = (0usize, 0usize);
    for n in (0..count).filter(|&n| !chosen[n]) {
        let here = height(&fitted, cells.place(n));
        if cells.mean[n] < here {
            darker += 1
        } else if cells.mean[n] > here * 1.15 {
            lighter += 1
        }
    }
    (inside * 4 >= count && at_border * 2 >= border.len() && lighter * 3 <= darker.max(1) * 2).then_some((chosen, fitted))
}

/// The ground as far as its light changes softly: shadows without an edge are ground too.
fn spread(cells: &Cells, chosen: &[bool], surface: &[f64; 6]) -> Vec<bool> {
    let mut grain: Vec<f64> = (0..chosen.len()).filter(|&n| chosen[n]).map(|n| cells.rough[n] / cells.mean[n].max(1.0)).collect();
    grain.sort_by(f64::total_cmp);
    let grain = grain.get(grain.len() / 2).map_or(0.0, |grain| grain * 1.6).clamp(0.01, SMOOTH);
    let mut spread = chosen.to_vec();
    let mut stack: Vec<usize> = (0..chosen.len()).filter(|&n| chosen[n]).collect();
    while let Some(at) = stack.pop() {
        let (x, y) = ((at % cells.across) as i32, (at / cells.across) as i32);
        for (dx, dy) in [(-1, 0), (1, 0), (0, -1), (0, 1)] {
            let (x, y) = (x + dx, y + dy);
            if x < 0 || y < 0 || x >= cells.across as i32 || y >= cells.down as i32 {
                continue;
            }
            let next = y as usize * cells.across + x as usize;
            let (here, there) = (cells.mean[at], cells.mean[next]);
            let even = cells.rough[next] < there * grain && (here - there).abs() < here * SOFT;
            let share = there / height(surface, cells.place(next)).max(1.0);
            if !spread[next] && even && (DIMMEST..LIGHTER).contains(&share) {
                spread[next] = true;
                stack.push(next);
            }
        }
    }
    spread
}

/// The light of the ground everywhere: the surface, bent to what the cells of the ground nearby are.
fn local(cells: &Cells, ground: &[bool], surface: &[f64; 6]) -> Vec<f64> {
    let count = cells.mean.len();
    let base: Vec<f64> = (0..count).map(|n| height(surface, cells.place(n)).max(1.0)).collect();
    // From near to far: the more cells of ground are near, the less those further off have a say.
    let mut off = vec![0.0; count];
    for reach in [24, 12, 6, 3, 1].map(|share| (cells.across.max(cells.down) * share / CELLS).max(1)) {
        let weight: Vec<f64> = ground.iter().map(|&is| f64::from(u8::from(is))).collect();
        let own: Vec<f64> = (0..count).map(|n| if ground[n] { cells.mean[n] / base[n] - 1.0 } else { 0.0 }).collect();
        let (weight, own) = (soft(&weight, cells.across, reach), soft(&own, cells.across, reach));
        off.iter_mut().zip(weight.iter().zip(own)).for_each(|(off, (weight, own))| *off = (own + 0.15 * *off) / (weight + 0.15));
    }
    (0..count).map(|n| base[n] * (1.0 + off[n])).collect()
}

/// Where there is no ground: very large differences of light are lessened by a third, no more.
fn evened(cells: &Cells, full: f64) -> Vec<f64> {
    let reach = (cells.across.max(cells.down) / 5).max(1);
    let wide = soft(&cells.mean, cells.across, reach);
    let mean = cells.mean.iter().sum::<f64>() / cells.mean.len() as f64;
    wide.iter().map(|light| 1.0 + ((mean - light) / (light + full * 0.15) * 0.33).clamp(-0.15, 0.4)).collect()
}

/// Three means over squares, close to a Gaussian; edges go on.
fn soft(values: &[f64], width: usize, reach: usize) -> Vec<f64> {
    let mut values = values.to_vec();
    let height = values.len() / width;
    for _ in 0..3 {
        let mut across = vec![0.0; values.len()];
        for y in 0..height {
            for x in 0..width {
                let sum: f64 = (0..=2 * reach).map(|n| values[y * width + (x + n).saturating_sub(reach).min(width - 1)]).sum();
                across[y * width + x] = sum / (2 * reach + 1) as f64;
            }
        }
        for y in 0..height {
            for x in 0..width {
                let sum: f64 = (0..=2 * reach).map(|n| across[(y + n).saturating_sub(reach).min(height - 1) * width + x]).sum();
                values[y * width + x] = sum / (2 * reach + 1) as f64;
            }
        }
    }
    values
}

impl Lift {
    /// Does it: values near white become white by a soft knee.
    pub fn apply(&self, values: &mut [u16], width: usize, full: u16) {
        let side = self.side as f64;
        let most = f64::from(full);
        for (y, row) in values.chunks_mut(width).enumerate() {
            let down = ((y as f64 + 0.5) / side - 0.5).clamp(0.0, (self.down - 1) as f64);
            let (top, low) = (down as usize, down - (down as usize) as f64);
            let below = (top + 1).min(self.down - 1);
            for (x, value) in row.iter_mut().enumerate() {
                let right = ((x as f64 + 0.5) / side - 0.5).clamp(0.0, (self.across - 1) as f64);
                let (left, far) = (right as usize, right - (right as usize) as f64);
                let next = (left + 1).min(self.across - 1);
                let at = |y: usize, x: usize| self.gain[y * self.across + x];
                let gain = (at(top, left) * (1.0 - far) + at(top, next) * far) * (1.0 - low)
                    + (at(below, left) * (1.0 - far) + at(below, next) * far) * low;
                let lifted = f64::from(*value) * gain;
                // From nine tenths on, the last steps to white are taken faster: the grain of the ground is no tone.
                let knee = if self.bare && lifted > most * 0.88 { most * 0.88 + (lifted - most * 0.88) * 1.5 } else { lifted };
                *value = (knee + 0.5).clamp(0.0, most) as u16;
            }
        }
    }
}
