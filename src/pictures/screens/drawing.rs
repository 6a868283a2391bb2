//! The drawing screen: a photograph becomes an ink drawing, lines where edges are and solid black where the thing is dark.
//!
//! Flow-based difference of Gaussians with a soft threshold (Winnemoeller, Kyprianidis, Olsen 2012, "XDoG"; Kang, Lee, Chui 2007, "Coherent
//! line drawing"), on two samples a dot each way. The flow is the smoothed structure tensor's. Before it, texture is tamed by its scale: a guided
//! filter (He, Sun, Tang 2010) smooths the more, the more evenly rough its wider surroundings are, so that wood and cloth calm down and single edges
//! stay. Lines go on where they grow faint (hysteresis, Canny 1986) and stand out of the texture around them; black is solid only where it ends at
//! edges, and a large black thing shows its lighter faces open. After it, specks and pinholes go, no line is thinner than two dots and no hole
//! smaller than two.
//!
//! Sums, products, quotients, square roots and libm only: the same dots on every machine.

use crate::bitmap::Bitmap;
use crate::manual::document;

use super::packed;

/// How it is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Pen {
    /// How faint an edge is still drawn, 0 to 100.
    pub strength: u8,
    /// Width of a line in tenths of a dot.
    pub line: u8,
    /// The most of the picture that becomes solid black, in percent.
    pub black: u8,
}

impl From<document::Pen> for Pen {
    fn from(said: document::Pen) -> Pen {
        Pen { strength: said.strength.unwrap_or(50), line: said.line.unwrap_or(25), black: said.black.unwrap_or(20) }
    }
}

/// Bytes that drawing takes, a sample.
pub const BYTES: u64 = 44;

/// Samples of a dot, each way.
pub const FINE: usize = 2;
/// The ratio of the two Gaussians, which makes their difference closest to the Laplacian of a Gaussian (Marr and Hildreth 1980).
const RATIO: f32 = 1.6;
/// How far the difference is smoothed along the flow, in samples.
const ALONG: f32 = 6.0;

/// A field of numbers, one a sample.
struct Field {
    width: usize,
    height: usize,
    values: Vec<f32>,
}

impl Field {
    fn like(&self, values: Vec<f32>) -> Field {
        Field { width: self.width, height: self.height, values }
    }

    fn at(&self, x: f32, y: f32) -> f32 {
        let x = x.clamp(0.0, (self.width - 1) as f32);
        let y = y.clamp(0.0, (self.height - 1) as f32);
        let (left, top) = (x as usize, y as usize);
        let (right, bottom) = ((left + 1).min(self.width - 1), (top + 1).min(self.height - 1));
        let (far, low) = (x - left as f32, y - top as f32);
        let row = |y: usize| self.values[y * self.width + left] * (1.0 - far) + self.values[y * self.width + right] * far;
        row(top) * (1.0 - low) + row(bottom) * low
    }

    /// The mean over a square of `2 * reach + 1`; edges go on.
    fn mean(&self, reach: usize) -> Field {
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

    /// A Gaussian, cut off at three sigmas.
    fn soft(&self, sigma: f32) -> Field {
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
fn gaussian(sigma: f32) -> Vec<f32> {
    let reach = libm::ceilf(sigma * 3.0).max(1.0) as i32;
    let raw: Vec<f32> = (-reach..=reach).map(|n| libm::expf(-(n * n) as f32 / (2.0 * sigma * sigma))).collect();
    let sum: f32 = raw.iter().sum();
    raw.into_iter().map(|weight| weight / sum).collect()
}

/// The drawing in dots, of roots of light (0 to `full`) of [`FINE`] samples a dot. With a `thing` told from its surroundings, one flag a dot, a line
/// is drawn round it.
pub fn screen(roots: &[u16], width: usize, full: u16, pen: document::Pen, thing: Option<&[bool]>) -> Bitmap {
    let pen = Pen::from(pen);
    let (mut dots, across) = dots(&draw(roots, width, full, pen), width);
    if let Some(thing) = thing {
        outline(&mut dots, thing, across, (usize::from(pen.line) + 5) / 10);
        thicken(&mut dots, across);
    }
    packed(across as u32, (dots.len() / across.max(1)) as u32, |x, y| dots[y * across + x])
}

/// Black along the inside of the thing's edge, so many dots wide.
fn outline(dots: &mut [bool], thing: &[bool], width: usize, line: usize) {
    let height = dots.len() / width;
    let reach = line as i32;
    for at in (0..dots.len()).filter(|&at| thing[at]) {
        let (x, y) = ((at % width) as i32, (at / width) as i32);
        let outside = |dx: i32, dy: i32| {
            let (x, y) = (x + dx, y + dy);
            let inside = x >= 0 && y >= 0 && x < width as i32 && y < height as i32;
            inside && dx * dx + dy * dy <= reach * reach && !thing[y as usize * width + x as usize]
        };
        if (-reach..=reach).any(|dy| (-reach..=reach).any(|dx| outside(dx, dy))) {
            dots[at] = true;
        }
    }
}

/// Draws roots of light (0 to `full`), two samples a dot each way; `true` is ink, one a sample.
pub fn draw(roots: &[u16], width: usize, full: u16, pen: Pen) -> Vec<bool> {
    let height = roots.len() / width;
    let plain = Field { width, height, values: roots.iter().map(|&root| f32::from(root) / f32::from(full)).collect() };
    let calm = calmed(&plain, pen);
    let flow = Flow::of(&calm);
    let sigma = f32::from(pen.line) / 10.0 * 0.45 * FINE as f32;
    let edges = flow.along(&flow.across(&calm, sigma));
    let soft = calm.soft(sigma);
    // The softest edge that begins a line: a drop of so much of the scale over one line's width. In the dark an edge counts by its share of the
    // light that is there.
    let faint = 0.018 - 0.014 * f32::from(pen.strength.min(100)) / 100.0;
    // Among many edges of one kind, as of cloth or rough stone, only the deepest are lines.
    let around = edges.like(edges.values.iter().map(|edge| edge.abs()).collect()).mean(SURROUNDINGS * FINE);
    let needed: Vec<f32> = soft.values.iter().map(|&tone| faint * (0.35 + 0.65 * tone)).collect();
    let mut ink = lines(&edges, &needed, &around);
    let black = solids(&soft, &edges, &needed, black_level(&calm, pen));
    for (at, ink) in ink.iter_mut().enumerate() {
        // In the black the bright side of an edge is left open.
        *ink |= black[at] && edges.values[at] < needed[at] + OPEN * soft.values[at];
    }
    ink
}

/// How far around texture is looked for, in dots, and how much deeper than its mean an edge must be.
const SURROUNDINGS: usize = 14;
const TEXTURE: f32 = 1.0;
/// Shorter strokes, in dots, must be so many times deeper than the mean around.
const STROKE: usize = 20;
const STANDS_OUT: f32 = 3.5;
/// So deep an edge, as a share of the scale, is no texture: lettering is.
const DEEP: f32 = 0.03;
/// How far an edge's bright side must stand out of the black to be left open, as a share of the light there.
const OPEN: f32 = 0.05;
/// How much fainter than where it begins a line may go on.
const GOES_ON: f32 = 0.4;

/// Lines where the difference is deep: what is deep enough begins one, and it goes on where it is fainter (hysteresis, Canny 1986). Short strokes
/// that are hardly deeper than the mean around them are texture.
fn lines(edges: &Field, needed: &[f32], around: &Field) -> Vec<bool> {
    let (width, height) = (edges.width, edges.height);
    let needed: Vec<f32> = needed.iter().zip(&around.values).map(|(needed, around)| needed + TEXTURE * around).collect();
    let goes_on: Vec<bool> = (0..needed.len()).map(|at| edges.values[at] < -needed[at] * GOES_ON).collect();
    let mut ink = vec![false; needed.len()];
    for line in parts(&goes_on, width, height) {
        if !line.iter().any(|&at| edges.values[at] < -needed[at]) {
            continue;
        }
        let side = |along: &dyn Fn(usize) -> usize| {
            let (low, high) = line.iter().fold((usize::MAX, 0), |(low, high), &at| (low.min(along(at)), high.max(along(at))));
            high - low + 1
        };
        let mean = |field: &Field| line.iter().map(|&at| field.values[at].abs()).sum::<f32>();
        let short = side(&|at| at % width).max(side(&|at| at / width)) < STROKE * FINE;
        if !short || mean(edges) > (mean(around) * STANDS_OUT).min(DEEP * line.len() as f32) {
            line.iter().for_each(|&at| ink[at] = true);
        }
    }
    ink
}

/// The neighbours to the left, the right, above and below.
fn beside(at: usize, width: usize, height: usize) -> impl Iterator<Item = usize> {
    let (x, y) = (at % width, at / width);
    let sides = [
        (x > 0).then(|| at - 1),
        (x + 1 < width).then(|| at + 1),
        (y > 0).then(|| at - width),
        (y + 1 < height).then(|| at + width),
    ];
    sides.into_iter().flatten()
}

/// Solid black: what is darker than `level`, as far as it ends at edges. A shadow that fades out, a table that grows dark towards a corner have
/// none and stay paper. A large dark thing whose own parts differ in tone shows the lighter ones open, by the tone that parts them best (Otsu 1979).
fn solids(soft: &Field, edges: &Field, needed: &[f32], level: f32) -> Vec<bool> {
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

/// The parts that hang together by their sides.
fn parts(is: &[bool], width: usize, height: usize) -> Vec<Vec<usize>> {
    let mut seen = vec![false; is.len()];
    let mut found = Vec::new();
    for start in (0..is.len()).filter(|&at| is[at]) {
        if std::mem::replace(&mut seen[start], true) {
            continue;
        }
        let (mut part, mut next) = (vec![start], 0);
        while let Some(&at) = part.get(next) {
            next += 1;
            for near in beside(at, width, height) {
                if is[near] && !std::mem::replace(&mut seen[near], true) {
                    part.push(near);
                }
            }
        }
        found.push(part);
    }
    found
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

/// The tone below which all is black: at most the share that the pen allows, and never what is lighter than dusk.
fn black_level(calm: &Field, pen: Pen) -> f32 {
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

/// Guided by itself; what is small and everywhere is smoothed, what stands alone stays.
fn calmed(plain: &Field, pen: Pen) -> Field {
    let mut calm = plain.like(plain.values.clone());
    let reach = 2 * FINE;
    for _ in 0..2 {
        let mean = calm.mean(reach);
        let square = calm.like(calm.values.iter().map(|value| value * value).collect()).mean(reach);
        let rough =
            calm.like(square.values.iter().zip(&mean.values).map(|(square, mean)| (square - mean * mean).max(0.0)).collect());
        let around = rough.mean(20 * FINE);
        let floor = 0.0006 * (1.5 - f32::from(pen.strength.min(100)) / 100.0);
        let keep = rough.like(
            rough.values.iter().zip(&around.values).map(|(rough, around)| rough / (rough + floor + around * 0.35)).collect(),
        );
        let offset = keep.like(keep.values.iter().zip(&mean.values).map(|(keep, mean)| (1.0 - keep) * mean).collect());
        let (keep, offset) = (keep.mean(reach), offset.mean(reach));
        calm = calm.like(
            calm.values
                .iter()
                .zip(keep.values.iter().zip(&offset.values))
                .map(|(value, (keep, offset))| value * keep + offset)
                .collect(),
        );
    }
    calm
}

/// The direction along the edges at each sample.
struct Flow {
    x: Field,
    y: Field,
}

impl Flow {
    /// The eigenvector of the smaller eigenvalue of the structure tensor (Sobel's gradient), smoothed over about two dots.
    fn of(calm: &Field) -> Flow {
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
    fn across(&self, calm: &Field, sigma: f32) -> Field {
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
    fn along(&self, field: &Field) -> Field {
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

/// From samples to dots: specks and pinholes dropped, each dot what most of its samples are, nothing thinner than two dots either way.
pub fn dots(ink: &[bool], width: usize) -> (Vec<bool>, usize) {
    let mut ink = ink.to_vec();
    drop_small(&mut ink, width, true, 28, 10 * FINE);
    drop_small(&mut ink, width, false, 20, 0);
    let (across, down) = (width / FINE, ink.len() / width / FINE);
    let mut dots = vec![false; across * down];
    for y in 0..down {
        for x in 0..across {
            let count: u32 = (0..FINE * FINE).map(|n| u32::from(ink[(y * FINE + n / FINE) * width + x * FINE + n % FINE])).sum();
            dots[y * across + x] = count * 2 >= (FINE * FINE) as u32;
        }
    }
    drop_small(&mut dots, across, true, 5, 0);
    drop_small(&mut dots, across, false, 4, 0);
    thicken(&mut dots, across);
    (dots, across)
}

/// Turns parts of fewer than `least` samples over, black ones or white ones; of the black ones strokes shorter than `short` too.
fn drop_small(ink: &mut [bool], width: usize, black: bool, least: usize, short: usize) {
    let height = ink.len() / width;
    let mut seen = vec![false; ink.len()];
    let (mut part, mut stack) = (Vec::new(), Vec::new());
    for start in 0..ink.len() {
        if seen[start] || ink[start] != black {
            continue;
        }
        part.clear();
        stack.push(start);
        seen[start] = true;
        while let Some(at) = stack.pop() {
            part.push(at);
            let (x, y) = (at % width, at / width);
            for (dx, dy) in [(-1i32, 0i32), (1, 0), (0, -1), (0, 1), (-1, -1), (1, -1), (-1, 1), (1, 1)] {
                // White parts hang together by their sides, black ones by their corners too.
                if !black && dx != 0 && dy != 0 {
                    continue;
                }
                let (nx, ny) = (x as i32 + dx, y as i32 + dy);
                if nx < 0 || ny < 0 || nx >= width as i32 || ny >= height as i32 {
                    continue;
                }
                let next = ny as usize * width + nx as usize;
                if !seen[next] && ink[next] == black {
                    seen[next] = true;
                    stack.push(next);
                }
            }
        }
        // Short strokes that stand alone are the texture of wood or cloth.
        let stroke = black && {
            let side = |along: &dyn Fn(usize) -> usize| {
                let (low, high) =
                    part.iter().map(|&at| along(at)).fold((usize::MAX, 0), |(low, high), at| (low.min(at), high.max(at)));
                high - low + 1
            };
            let long = side(&|at| at % width).max(side(&|at| at / width));
            long < short && part.len() < long * short / 4
        };
        if part.len() < least || stroke {
            part.iter().for_each(|&at| ink[at] = !black);
        }
    }
}

/// Every black dot becomes part of a black square of two by two, and then every white dot that is part of no white one is filled. Both only add
/// black, so a few rounds end it.
pub fn thicken(dots: &mut [bool], width: usize) {
    let height = dots.len() / width;
    if width < 2 || height < 2 {
        return;
    }
    loop {
        let covered = |dots: &[bool], x: usize, y: usize, black: bool| {
            (0..4).any(|corner| {
                let (left, top) = (x as i32 - (corner % 2), y as i32 - (corner / 2));
                (0..4).all(|n| {
                    let (x, y) = (left + n % 2, top + n / 2);
                    let outside = x < 0 || y < 0 || x >= width as i32 || y >= height as i32;
                    if outside { !black } else { dots[y as usize * width + x as usize] == black }
                })
            })
        };
        let mut changed = false;
        for y in 0..height {
            for x in 0..width {
                if dots[y * width + x] && !covered(dots, x, y, true) {
                    // The square that has the most ink already.
                    let squares = (0..4).filter_map(|corner| {
                        let (left, top) = (x as i32 - corner % 2, y as i32 - corner / 2);
                        let fits = left >= 0 && top >= 0 && left + 1 < width as i32 && top + 1 < height as i32;
                        fits.then_some((left as usize, top as usize))
                    });
                    let ink =
                        |&(left, top): &(usize, usize)| (0..4).filter(|n| dots[(top + n / 2) * width + left + n % 2]).count();
                    if let Some((left, top)) = squares.max_by_key(ink) {
                        (0..4).for_each(|n| dots[(top + n / 2) * width + left + n % 2] = true);
                        changed = true;
                    }
                }
            }
        }
        for y in 0..height {
            for x in 0..width {
                if !dots[y * width + x] && !covered(dots, x, y, false) {
                    dots[y * width + x] = true;
                    changed = true;
                }
            }
        }
        if !changed {
            return;
        }
    }
}
