//! The strip laid flat, its light evened: darkness at each place of the strip, 0 paper and 1 solid black.

use super::Refusal;
use super::camera::Camera;
use super::picture::Picture;
use super::sheet::Sheet;
use crate::geometry::{Point, Rect, Size};

/// Samples a dot, each way.
pub const FINE: i32 = 2;
/// Paper beside the print that is looked at too, dots: what the outermost columns spread to.
pub const MARGIN: i32 = 6;
/// Dots between places at which the light is known.
const GRID: i32 = 16;
/// How far light is looked for, dots.
const REACH: f64 = 44.0;
/// From ink, or from white, as far as this what is seen is the thing itself.
const CLEAR: i32 = 5;

pub struct Flat {
    pub width: i32,
    pub height: i32,
    /// Darkness, `FINE` samples a dot; NaN where the picture does not reach.
    pub dark: Vec<f32>,
}

impl Flat {
    /// # Errors
    /// The light cannot be evened.
    pub fn of(picture: &Picture, camera: &Camera, sheet: &Sheet) -> Result<Flat, Refusal> {
        let (width, height) =
            ((sheet.bitmap.width() as i32 + 2 * MARGIN) * FINE, (sheet.bitmap.height() as i32 + 2 * MARGIN) * FINE);
        let half = Size::new(sheet.bitmap.width(), sheet.bitmap.height()).map(|side| f64::from(side) / 2.0);
        let place = |sample: i32, half: f64| (f64::from(sample) + 0.5) / f64::from(FINE) - f64::from(MARGIN) - half;
        // Pixels of a sample: all of them count, for in a large picture there are holes between the dots.
        let reach = (camera.pixels / f64::from(FINE) + 0.5) as i32;
        let mut light = Vec::with_capacity((width * height) as usize);
        let (mut lost, mut all) = (0u32, 0u32);
        for (y, line) in (0..height).map(|y| (y, camera.row(place(y, half.height)))) {
            for x in 0..width {
                let Point { x: column, y: row } = line.project(place(x, half.width));
                let value = picture.around(column, row, reach);
                light.push(value.unwrap_or(f32::NAN));
                if value.is_some() && x % 8 == 0 && y % 8 == 0 {
                    all += 1;
                    let at = row as usize * picture.width as usize + column as usize;
                    lost += u32::from(picture.brightest[at] >= 254);
                }
            }
        }
        if lost * 12 > all {
            return Err(Refusal::Bright);
        }
        let mut flat = Flat { width, height, dark: light };
        flat.even(sheet)?;
        Ok(flat)
    }

    fn even(&mut self, sheet: &Sheet) -> Result<(), Refusal> {
        let white = self.samples(sheet, false);
        let black = self.samples(sheet, true);
        if white.len() < 60 || black.len() < 20 {
            return Err(Refusal::CutOff);
        }
        // Black is a share of white plus what the lens scatters: both change slowly.
        let whites = Surface::of(&white, self.width, self.height, REACH);
        let (mut square, mut count) = (0.0, 0.0);
        for sample in &white {
            let off = sample.value / whites.at(sample.x, sample.y) - 1.0;
            (square, count) = (square + off * off, count + 1.0);
        }
        if libm::sqrt(square / count) > 0.035 {
            return Err(Refusal::Uneven);
        }
        let shares: Vec<Sample> =
            black.iter().map(|sample| Sample { value: sample.value / whites.at(sample.x, sample.y), ..*sample }).collect();
        // A dead column parts a solid block: what is lighter than its surroundings is no black.
        let mut shares = shares;
        let mut blacks = Surface::of(&shares, self.width, self.height, 3.0 * REACH);
        for _ in 0..3 {
            let before = shares.len();
            shares.retain(|sample| sample.value < blacks.at(sample.x, sample.y) + 0.012);
            if shares.len() < 20 {
                return Err(Refusal::Uneven);
            }
            if shares.len() == before {
                break;
            }
            blacks = Surface::of(&shares, self.width, self.height, 3.0 * REACH);
        }
        let mut sorted: Vec<f64> = shares.iter().map(|sample| sample.value).collect();
        sorted.sort_by(f64::total_cmp);
        if sorted[sorted.len() / 2] > 0.6 || white.iter().map(|sample| sample.value).sum::<f64>() / count < 0.03 {
            return Err(Refusal::Dark);
        }
        let dots = |sample: i32| f64::from(sample) / f64::from(FINE) - f64::from(MARGIN);
        for (x, y) in (0..self.height).flat_map(|y| (0..self.width).map(move |x| (x, y))) {
            let (column, row) = (dots(x), dots(y));
            let at = (y * self.width + x) as usize;
            let share = f64::from(self.dark[at]) / whites.at(column, row);
            self.dark[at] = ((1.0 - share) / (1.0 - blacks.at(column, row))) as f32;
        }
        Ok(())
    }

    /// Light where nothing but paper, or nothing but ink, is near.
    fn samples(&self, sheet: &Sheet, ink: bool) -> Vec<Sample> {
        let bitmap = &sheet.bitmap;
        let clear =
            |x: i32, y: i32| (-CLEAR..=CLEAR).all(|down| (-CLEAR..=CLEAR).all(|right| bitmap.get(x + right, y + down) == ink));
        let (wide, high) = (bitmap.width() as i32, bitmap.height() as i32);
        let mut samples = Vec::new();
        let step = if ink { 3 } else { 6 };
        for y in (CLEAR..high - CLEAR).step_by(step) {
            for x in (CLEAR..wide - CLEAR).step_by(step) {
                // The band from edge to edge is measured, and is no measure.
                let in_band = ink && (sheet.band.y..sheet.band.y + sheet.band.height).contains(&y);
                if in_band || !clear(x, y) {
                    continue;
                }
                let value = self.mean(Rect { x: x - 1, y: y - 1, width: 3, height: 3 });
                if let Some(value) = value {
                    samples.push(Sample { x: f64::from(x) + 0.5, y: f64::from(y) + 0.5, value });
                }
            }
        }
        samples
    }

    /// The mean over an area of dots; none if some of it is not in the picture.
    pub fn mean(&self, area: Rect<i32>) -> Option<f64> {
        self.mean_of(area.x * FINE, area.y * FINE, area.width * FINE, area.height * FINE)
    }

    /// One sample, counted from the first dot's first.
    pub fn sample(&self, x: i32, y: i32) -> Option<f32> {
        let (x, y) = (x + MARGIN * FINE, y + MARGIN * FINE);
        let inside = (0..self.width).contains(&x) && (0..self.height).contains(&y);
        inside.then(|| self.dark[(y * self.width + x) as usize])
    }

    /// The same in samples.
    pub fn mean_of(&self, x: i32, y: i32, width: i32, height: i32) -> Option<f64> {
        let (x, y) = (x + MARGIN * FINE, y + MARGIN * FINE);
        if x < 0 || y < 0 || x + width > self.width || y + height > self.height {
            return None;
        }
        let mut sum = 0.0;
        for row in y..y + height {
            let from = (row * self.width + x) as usize;
            sum += self.dark[from..from + width as usize].iter().map(|&value| f64::from(value)).sum::<f64>();
        }
        let mean = sum / f64::from(width * height);
        mean.is_finite().then_some(mean)
    }
}

#[derive(Clone, Copy)]
struct Sample {
    x: f64,
    y: f64,
    value: f64,
}

/// A value that changes slowly, on a grid: at each place a plane through the samples around it, the near ones counting most.
struct Surface {
    columns: usize,
    rows: usize,
    values: Vec<f64>,
}

impl Surface {
    fn of(samples: &[Sample], width: i32, height: i32, reach: f64) -> Surface {
        let (columns, rows) = ((width / FINE / GRID + 2) as usize, (height / FINE / GRID + 2) as usize);
        let mut values = Vec::with_capacity(columns * rows);
        for (column, row) in (0..rows).flat_map(|row| (0..columns).map(move |column| (column, row))) {
            values.push(plane(samples, (column as i32 * GRID).into(), (row as i32 * GRID).into(), reach));
        }
        Surface { columns, rows, values }
    }

    fn at(&self, x: f64, y: f64) -> f64 {
        let (x, y) = ((x / f64::from(GRID)).max(0.0), (y / f64::from(GRID)).max(0.0));
        let (column, row) = ((x as usize).min(self.columns - 2), (y as usize).min(self.rows - 2));
        let (right, down) = (x - column as f64, y - row as f64);
        let at = |column: usize, row: usize| self.values[row * self.columns + column];
        let above = at(column, row) * (1.0 - right) + at(column + 1, row) * right;
        let below = at(column, row + 1) * (1.0 - right) + at(column + 1, row + 1) * right;
        above * (1.0 - down) + below * down
    }
}

/// The value at a place of the plane that is nearest to samples, weighted by how near they are.
fn plane(samples: &[Sample], x: f64, y: f64, reach: f64) -> f64 {
    let mut reach = reach;
    loop {
        let mut sums = [0.0f64; 9];
        let mut count = 0;
        for sample in samples {
            let (right, down) = ((sample.x - x) / reach, (sample.y - y) / reach);
            let far = right * right + down * down;
            if far > 6.0 {
                continue;
            }
            count += 1;
            let weight = libm::exp(-far);
            let parts = [
                1.0,
                right,
                down,
                right * right,
                right * down,
                down * down,
                sample.value,
                right * sample.value,
                down * sample.value,
            ];
            for (sum, part) in sums.iter_mut().zip(parts) {
                *sum += weight * part;
            }
        }
        if count < 12 && reach < 4000.0 {
            reach *= 1.6;
            continue;
        }
        let [w, u, v, uu, uv, vv, z, uz, vz] = sums;
        // A little is added to the squares, so that samples on a line give a plane too.
        let (uu, vv) = (uu + 0.02 * w, vv + 0.02 * w);
        let whole = w * (uu * vv - uv * uv) - u * (u * vv - uv * v) + v * (u * uv - uu * v);
        return (z * (uu * vv - uv * uv) - u * (uz * vv - uv * vz) + v * (uz * uv - uu * vz)) / whole;
    }
}
