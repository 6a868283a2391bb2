//! The flow: which way edges run at each sample, and sums across and along it.

use super::FINE;
use super::field::{Field, gaussian};

/// The ratio of the two Gaussians, which makes their difference closest to the Laplacian of a Gaussian (Marr and Hildreth 1980).
const RATIO: f32 = 1.6;
/// How far the difference is smoothed along the flow, in samples.
const ALONG: f32 = 6.0;

/// The direction along the edges at each sample.
pub(super) struct Flow {
    x: Field,
    y: Field,
}

impl Flow {
    /// The eigenvector of the smaller eigenvalue of the structure tensor (Sobel's gradient), smoothed over about two dots.
    pub fn of(calm: &Field) -> Flow {
        let (width, height) = (calm.width, calm.height);
        let value = |x: usize, y: usize| calm.values[y * width + x];
        let mut parts = [vec![0.0f32; calm.values.len()], vec![0.0f32; calm.values.len()], vec![0.0f32; calm.values.len()]];
        for y in 0..height {
            let (above, below) = (y.saturating_sub(1), (y + 1).min(height - 1));
            for x in 0..width {
                let (left, right) = (x.saturating_sub(1), (x + 1).min(width - 1));
                let dx =
                    value(right, above) - value(left, above) + 2.0 * (value(right, y) - value(left, y)) + value(right, below)
                        - value(left, below);
                let dy =
                    value(left, below) - value(left, above) + 2.0 * (value(x, below) - value(x, above)) + value(right, below)
                        - value(right, above);
                let at = y * width + x;
                (parts[0][at], parts[1][at], parts[2][at]) = (dx * dx, dx * dy, dy * dy);
            }
        }
        let [xx, xy, yy] = parts.map(|values| calm.like(values).soft(2.0 * FINE as f32));
        let mut flow = Flow { x: calm.like(vec![0.0; calm.values.len()]), y: calm.like(vec![0.0; calm.values.len()]) };
        for at in 0..calm.values.len() {
            let (a, b, c) = (xx.values[at], xy.values[at], yy.values[at]);
            let root = ((a - c) * (a - c) + 4.0 * b * b).sqrt();
            let larger = (a + c + root) / 2.0;
            // Two forms of the same vector; the longer one is the exacter.
            let (first, second) = ((b, larger - a), (larger - c, b));
            let (dx, dy) = if first.0 * first.0 + first.1 * first.1 > second.0 * second.0 + second.1 * second.1 {
                (-first.1, first.0)
            } else {
                (-second.1, second.0)
            };
            let length = (dx * dx + dy * dy).sqrt();
            (flow.x.values[at], flow.y.values[at]) = if length > 1e-9 { (dx / length, dy / length) } else { (0.0, 1.0) };
        }
        flow
    }

    /// The difference of two Gaussians across the flow.
    pub fn across(&self, calm: &Field, sigma: f32) -> Field {
        let (narrow, wide) = (gaussian(sigma), gaussian(sigma * RATIO));
        let reach = (wide.len() / 2) as i32;
        let weights: Vec<(f32, f32)> = (-reach..=reach)
            .map(|n| {
                let near = n + (narrow.len() / 2) as i32;
                let first = if near >= 0 && (near as usize) < narrow.len() { narrow[near as usize] } else { 0.0 };
                (n as f32, first - wide[(n + reach) as usize])
            })
            .collect();
        let mut out = Vec::with_capacity(calm.values.len());
        for y in 0..calm.height {
            for x in 0..calm.width {
                let at = y * calm.width + x;
                let (dx, dy) = (-self.y.values[at], self.x.values[at]);
                let sum = weights.iter().map(|&(n, weight)| weight * calm.at(x as f32 + n * dx, y as f32 + n * dy)).sum();
                out.push(sum);
            }
        }
        calm.like(out)
    }

    /// The mean along the flow, both ways, weighted by a Gaussian.
    pub fn along(&self, field: &Field) -> Field {
        let weights = gaussian(ALONG / 2.0);
        let middle = weights.len() / 2;
        let mut out = Vec::with_capacity(field.values.len());
        for y in 0..field.height {
            for x in 0..field.width {
                let at = y * field.width + x;
                let mut sum = weights[middle] * field.values[at];
                for side in [1.0f32, -1.0] {
                    let (mut dx, mut dy) = (self.x.values[at] * side, self.y.values[at] * side);
                    let (mut px, mut py) = (x as f32, y as f32);
                    for &weight in &weights[middle + 1..] {
                        px += dx;
                        py += dy;
                        let near = (py.clamp(0.0, (field.height - 1) as f32) + 0.5) as usize * field.width
                            + (px.clamp(0.0, (field.width - 1) as f32) + 0.5) as usize;
                        sum += weight * field.values[near];
                        let (nx, ny) = (self.x.values[near], self.y.values[near]);
                        // The flow has no sense of direction: go on the way we came.
                        (dx, dy) = if nx * dx + ny * dy < 0.0 { (-nx, -ny) } else { (nx, ny) };
                    }
                }
                out.push(sum);
            }
        }
        field.like(out)
    }
}
