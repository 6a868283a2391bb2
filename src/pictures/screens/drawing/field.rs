//! Fields of numbers, one a sample, and what is done to all of them alike.

use crate::geometry::Point;

/// A field of numbers, one a sample.
pub(super) struct Field {
    pub width: usize,
    pub height: usize,
    pub values: Vec<f32>,
}

impl Field {
    pub fn like(&self, values: Vec<f32>) -> Field {
        Field { width: self.width, height: self.height, values }
    }

    pub fn at(&self, x: f32, y: f32) -> f32 {
        let x = x.clamp(0.0, (self.width - 1) as f32);
        let y = y.clamp(0.0, (self.height - 1) as f32);
        let (left, top) = (x as usize, y as usize);
        let (right, bottom) = ((left + 1).min(self.width - 1), (top + 1).min(self.height - 1));
        let (far, low) = (x - left as f32, y - top as f32);
        let row = |y: usize| self.values[y * self.width + left] * (1.0 - far) + self.values[y * self.width + right] * far;
        row(top) * (1.0 - low) + row(bottom) * low
    }

    /// The mean over a square of `2 * reach + 1`; edges go on.
    pub fn mean(&self, reach: usize) -> Field {
        let (width, height) = (self.width, self.height);
        let side = (2 * reach + 1) as f32;
        let mut across = vec![0.0; self.values.len()];
        for (row, out) in self.values.chunks(width).zip(across.chunks_mut(width)) {
            let at = |index: usize| row[index.saturating_sub(reach).min(width - 1)];
            let mut sum: f64 = (0..=2 * reach).map(|index| f64::from(at(index))).sum();
            for (x, out) in out.iter_mut().enumerate() {
                *out = (sum as f32) / side;
                sum += f64::from(at(x + 2 * reach + 1)) - f64::from(at(x));
            }
        }
        let mut down = vec![0.0; self.values.len()];
        let row = |index: usize| &across[index.saturating_sub(reach).min(height - 1) * width..][..width];
        let mut sums = vec![0.0f64; width];
        for index in 0..=2 * reach {
            sums.iter_mut().zip(row(index)).for_each(|(sum, &value)| *sum += f64::from(value));
        }
        for y in 0..height {
            for (out, sum) in down[y * width..][..width].iter_mut().zip(&sums) {
                *out = (*sum as f32) / side;
            }
            let (gone, come) = (row(y), row(y + 2 * reach + 1));
            sums.iter_mut()
                .zip(come.iter().zip(gone))
                .for_each(|(sum, (&come, &gone))| *sum += f64::from(come) - f64::from(gone));
        }
        self.like(down)
    }

    /// The steps to the right and down, a sample.
    pub fn slopes(&self) -> Vec<Point<f32>> {
        let (width, height) = (self.width, self.height);
        let value = |x: usize, y: usize| self.values[y * width + x];
        let steep = |x: usize, y: usize| {
            let dx = value((x + 1).min(width - 1), y) - value(x.saturating_sub(1), y);
            let dy = value(x, (y + 1).min(height - 1)) - value(x, y.saturating_sub(1));
            Point::new(dx / 2.0, dy / 2.0)
        };
        (0..self.values.len()).map(|at| steep(at % width, at / width)).collect()
    }

    /// A Gaussian, cut off at three sigmas.
    pub fn soft(&self, sigma: f32) -> Field {
        let kernel = gaussian(sigma);
        let reach = kernel.len() / 2;
        let (width, height) = (self.width, self.height);
        let mut across = vec![0.0; self.values.len()];
        let mut wide = vec![0.0f32; width + 2 * reach];
        for (row, out) in self.values.chunks(width).zip(across.chunks_mut(width)) {
            for (index, value) in wide.iter_mut().enumerate() {
                *value = row[index.saturating_sub(reach).min(width - 1)];
            }
            for (n, &weight) in kernel.iter().enumerate() {
                out.iter_mut().zip(&wide[n..]).for_each(|(out, &value)| *out += weight * value);
            }
        }
        let mut down = vec![0.0; self.values.len()];
        for (y, out) in down.chunks_mut(width).enumerate() {
            for (n, &weight) in kernel.iter().enumerate() {
                let row = &across[(y + n).saturating_sub(reach).min(height - 1) * width..][..width];
                out.iter_mut().zip(row).for_each(|(out, &value)| *out += weight * value);
            }
        }
        self.like(down)
    }
}

/// Weights that sum to 1, the middle one in the middle.
pub(super) fn gaussian(sigma: f32) -> Vec<f32> {
    let reach = libm::ceilf(sigma * 3.0).max(1.0) as i32;
    let raw: Vec<f32> = (-reach..=reach).map(|n| libm::expf(-(n * n) as f32 / (2.0 * sigma * sigma))).collect();
    let sum: f32 = raw.iter().sum();
    raw.into_iter().map(|weight| weight / sum).collect()
}
