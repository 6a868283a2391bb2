//! Mixtures of Gaussians over colours: how likely a colour is in a heap of others.

/// Colours of a mixture.
const MIXED: usize = 5;

/// sRGB, 0 to 255.
pub type Colour = [f64; 3];

/// One Gaussian of a mixture.
#[derive(Clone, Copy)]
struct Part {
    mean: Colour,
    inverse: [[f64; 3]; 3],
    /// Minus the logarithm of its weight and its height.
    cost: f64,
}

pub struct Mixture(Vec<Part>);

impl Mixture {
    /// Of some colours, by splitting them at the mean of their widest channel until there are enough parts.
    pub fn of(colours: &[Colour]) -> Option<Mixture> {
        if colours.len() < 20 {
            return None;
        }
        let mut heaps: Vec<Vec<Colour>> = vec![colours.to_vec()];
        while heaps.len() < MIXED {
            let spread = |heap: &Vec<Colour>| {
                let (mean, square) = moments(heap);
                let widths: Colour = std::array::from_fn(|n| square[n][n] - mean[n] * mean[n]);
                let channel = (0..3).max_by(|&a, &b| widths[a].total_cmp(&widths[b])).unwrap_or(0);
                (widths[channel] * heap.len() as f64, channel, mean[channel])
            };
            let spreads: Vec<_> = heaps.iter().map(spread).collect();
            let Some(widest) = (0..heaps.len()).max_by(|&a, &b| spreads[a].0.total_cmp(&spreads[b].0)) else { break };
            let (_, channel, middle) = spreads[widest];
            let (low, high): (Vec<Colour>, Vec<Colour>) = heaps[widest].iter().partition(|colour| colour[channel] < middle);
            if low.len() < 4 || high.len() < 4 {
                break;
            }
            heaps[widest] = low;
            heaps.push(high);
        }
        // A few rounds towards the nearest mean.
        for _ in 0..4 {
            let means: Vec<Colour> = heaps.iter().map(|heap| moments(heap).0).collect();
            let mut next: Vec<Vec<Colour>> = vec![Vec::new(); means.len()];
            for &colour in colours {
                let off = |n: usize| (0..3).map(|c| (colour[c] - means[n][c]) * (colour[c] - means[n][c])).sum::<f64>();
                let nearest = (0..means.len()).min_by(|&a, &b| off(a).total_cmp(&off(b))).unwrap_or(0);
                next[nearest].push(colour);
            }
            next.retain(|heap| heap.len() >= 4);
            heaps = next;
        }
        let parts = heaps.iter().map(|heap| Part::of(heap, colours.len())).collect();
        Some(Mixture(parts))
    }

    /// Minus the logarithm of how likely the colour is.
    pub fn cost(&self, colour: &Colour) -> f64 {
        self.0.iter().map(|part| part.cost(colour)).fold(f64::MAX, f64::min)
    }
}

fn moments(heap: &[Colour]) -> (Colour, [[f64; 3]; 3]) {
    let (mut mean, mut square) = ([0.0; 3], [[0.0; 3]; 3]);
    for colour in heap {
        for a in 0..3 {
            mean[a] += colour[a];
            for b in 0..3 {
                square[a][b] += colour[a] * colour[b];
            }
        }
    }
    let count = heap.len().max(1) as f64;
    (mean.map(|sum| sum / count), square.map(|row| row.map(|sum| sum / count)))
}

impl Part {
    fn of(heap: &[Colour], all: usize) -> Part {
        let (mean, square) = moments(heap);
        let mut m = [[0.0; 3]; 3];
        for a in 0..3 {
            for b in 0..3 {
                m[a][b] = square[a][b] - mean[a] * mean[b];
            }
            // Nothing that a camera sees is evener than this: two steps of 255.
            m[a][a] += 4.0;
        }
        let minor = |a: usize, b: usize, c: usize, d: usize| m[a][c] * m[b][d] - m[a][d] * m[b][c];
        let det = m[0][0] * minor(1, 2, 1, 2) - m[0][1] * minor(1, 2, 0, 2) + m[0][2] * minor(1, 2, 0, 1);
        let det = det.max(1e-6);
        let adjugate = [
            [minor(1, 2, 1, 2), -minor(0, 2, 1, 2), minor(0, 1, 1, 2)],
            [-minor(1, 2, 0, 2), minor(0, 2, 0, 2), -minor(0, 1, 0, 2)],
            [minor(1, 2, 0, 1), -minor(0, 2, 0, 1), minor(0, 1, 0, 1)],
        ];
        let inverse = adjugate.map(|row| row.map(|value| value / det));
        let cost = -libm::log(heap.len() as f64 / all as f64) + 0.5 * libm::log(det);
        Part { mean, inverse, cost }
    }

    fn cost(&self, colour: &Colour) -> f64 {
        let off: Colour = std::array::from_fn(|n| colour[n] - self.mean[n]);
        let along: Colour = std::array::from_fn(|n| (0..3).map(|k| self.inverse[n][k] * off[k]).sum());
        self.cost + 0.5 * (0..3).map(|n| off[n] * along[n]).sum::<f64>()
    }
}
