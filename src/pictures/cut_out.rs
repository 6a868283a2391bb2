//! The thing alone: which part of a photograph is the thing, and which its surroundings.
//!
//! Iterated graph cuts over colour mixtures (Rother, Kolmogorov, Blake 2004, "GrabCut"; minimum cut by Dinic 1970), seeded by the picture's border:
//! what most of the border is made of is surroundings. Done on a picture of at most 208 cells a side; the edge is then cut once more on the picture as
//! it is set, in a narrow band around the first (Lombaert et al. 2005, "A multilevel banded graph cuts method"). Begun twice, from different
//! guesses: where the two do not meet, or the two mixtures do not come apart, nothing is cut.
//!
//! Capacities are whole numbers, mixtures use sums, products, quotients and libm: the same cut on every machine.

/// Longest side of the picture that is cut.
const SIDE: usize = 208;
/// Colours of a mixture.
const MIXED: usize = 5;
/// Weight of an edge of the picture against colours, as the source has it.
const GAMMA: f64 = 50.0;
/// Capacities in the flow for one unit of energy.
const UNIT: f64 = 64.0;
const ROUNDS: usize = 5;

type Colour = [f64; 3];

/// One Gaussian of a mixture.
#[derive(Clone, Copy)]
struct Part {
    mean: Colour,
    inverse: [[f64; 3]; 3],
    /// Minus the logarithm of its weight and its height.
    cost: f64,
}

struct Mixture(Vec<Part>);

impl Mixture {
    /// Of some colours, by splitting them at the mean of their widest channel until there are enough parts.
    fn of(colours: &[Colour]) -> Option<Mixture> {
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
    fn cost(&self, colour: &Colour) -> f64 {
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

/// Why nothing is cut out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unsure {
    /// Too few pixels.
    Small,
    /// Nothing differs from what the border is made of.
    Plain,
    /// Shares in thousandths: of the picture that is thing, of the border that is, of cells that could be either, of the cut that runs along an edge,
    /// of the picture's edges that would be left outside, of the thing that both beginnings agree on.
    Mixed { thing: usize, border: usize, either: usize, along: usize, outside: usize, alike: usize },
}

const STEPS: [(i32, i32); 8] = [(-1, -1), (0, -1), (1, -1), (-1, 0), (1, 0), (-1, 1), (0, 1), (1, 1)];

/// Cells with their colours.
struct Cells {
    across: usize,
    down: usize,
    colour: Vec<Colour>,
}

impl Cells {
    fn of(colour: &[[u8; 3]], width: usize) -> Cells {
        let height = colour.len() / width;
        let longest = width.max(height);
        let shrunk = |side: usize| (side * SIDE.min(longest) / longest).max(1);
        let (across, down) = (shrunk(width), shrunk(height));
        let mut cells = Vec::with_capacity(across * down);
        for y in 0..down {
            let (top, bottom) = (y * height / down, ((y + 1) * height / down).max(y * height / down + 1));
            for x in 0..across {
                let (left, right) = (x * width / across, ((x + 1) * width / across).max(x * width / across + 1));
                let mut sum = [0u32; 3];
                for row in top..bottom {
                    for pixel in &colour[row * width + left..row * width + right] {
                        sum.iter_mut().zip(pixel).for_each(|(sum, &value)| *sum += u32::from(value));
                    }
                }
                let count = ((bottom - top) * (right - left)) as f64;
                cells.push(sum.map(|sum| f64::from(sum) / count));
            }
        }
        Cells { across, down, colour: cells }
    }

    fn next(&self, at: usize, (dx, dy): (i32, i32)) -> Option<usize> {
        let (x, y) = ((at % self.across) as i32 + dx, (at / self.across) as i32 + dy);
        let inside = x >= 0 && y >= 0 && x < self.across as i32 && y < self.down as i32;
        inside.then(|| y as usize * self.across + x as usize)
    }

    fn off(&self, a: usize, b: usize) -> f64 {
        (0..3).map(|n| (self.colour[a][n] - self.colour[b][n]) * (self.colour[a][n] - self.colour[b][n])).sum()
    }
}

/// Tells the thing (`true`) from its surroundings, pixel by pixel, of sRGB in rows of `width`.
///
/// # Errors
/// When that is not safe.
pub fn cut_out(colour: &[[u8; 3]], width: usize) -> Result<Vec<bool>, Unsure> {
    let cells = Cells::of(colour, width);
    let count = cells.colour.len();
    if cells.across < 24 || cells.down < 24 {
        return Err(Unsure::Small);
    }
    let edge = (cells.across.min(cells.down) / 24).max(2);
    let border: Vec<bool> = (0..count)
        .map(|at| {
            let (x, y) = (at % cells.across, at / cells.across);
            x < edge || y < edge || x + edge >= cells.across || y + edge >= cells.down
        })
        .collect();
    // The border is surroundings, but for colours that only a small part of it has: there the thing leaves the picture.
    let rim: Vec<Colour> = (0..count).filter(|&at| border[at]).map(|at| cells.colour[at]).collect();
    let around = Mixture::of(&rim).ok_or(Unsure::Small)?;
    let mut costs: Vec<f64> = rim.iter().map(|colour| around.cost(colour)).collect();
    costs.sort_by(f64::total_cmp);
    let usual = costs[costs.len() * 9 / 10];
    let seed: Vec<bool> = (0..count).map(|at| border[at] && around.cost(&cells.colour[at]) <= usual).collect();
    let thing: Vec<bool> = (0..count).map(|at| !seed[at] && around.cost(&cells.colour[at]) > usual + 2.0).collect();
    if thing.iter().filter(|&&is| is).count() * 50 < count {
        return Err(Unsure::Plain);
    }
    let mut sum = 0.0;
    let mut pairs = 0.0;
    for at in 0..count {
        for step in &STEPS[4..] {
            if let Some(next) = cells.next(at, *step) {
                sum += cells.off(at, next);
                pairs += 1.0;
            }
        }
    }
    let beta = 1.0 / (2.0 * (sum / pairs).max(1.0));
    let links: Vec<[i64; 8]> = (0..count)
        .map(|at| {
            std::array::from_fn(|n| {
                let Some(next) = cells.next(at, STEPS[n]) else { return 0 };
                let far = if STEPS[n].0 != 0 && STEPS[n].1 != 0 { std::f64::consts::FRAC_1_SQRT_2 } else { 1.0 };
                (UNIT * GAMMA * far * libm::exp(-beta * cells.off(at, next))) as i64
            })
        })
        .collect();
    // Once from what differs from the border, and once from all that is not border: where the two do not meet, nobody can be sure.
    let parts = parted(&cells, &links, &seed, thing)?;
    let thing = &parts.thing;
    let other = parted(&cells, &links, &seed, border.iter().map(|is| !is).collect())?.thing;
    let both = (0..count).filter(|&at| thing[at] && other[at]).count();
    let any = (0..count).filter(|&at| thing[at] || other[at]).count();
    let alike = both * 1000 / any.max(1);
    let share = thing.iter().filter(|&&is| is).count() * 1000 / count;
    let at_border = (0..count).filter(|&at| border[at] && thing[at]).count() * 1000 / rim.len();
    // How much of the edge runs where the picture has one.
    let (mut along, mut real) = (0usize, 0usize);
    for at in (0..count).filter(|&at| thing[at]) {
        for step in STEPS {
            if let Some(next) = cells.next(at, step).filter(|&next| !thing[next]) {
                along += 1;
                real += usize::from(cells.off(at, next) * beta > 0.5);
            }
        }
    }
    let sharp = real * 1000 / along.max(1);
    // How many of the picture's edges are left outside.
    let (mut edges, mut left) = (0usize, 0usize);
    for at in 0..count {
        for step in &STEPS[4..] {
            if let Some(next) = cells.next(at, *step).filter(|&next| cells.off(at, next) * beta > 0.5) {
                edges += 1;
                left += usize::from(!thing[at] && !thing[next]);
            }
        }
    }
    let left = left * 1000 / edges.max(1);
    let either = parts.unsure * 1000 / count;
    // Ground of many edges is left outside only where hardly a cell could be either.
    let clear = either <= 15 && sharp >= 940;
    let doubtful =
        !(25..=880).contains(&share) || at_border > 250 || either > 120 || sharp < 700 || alike < 960 || left > 350 && !clear;
    if doubtful {
        return Err(Unsure::Mixed { thing: share, border: at_border, either, along: sharp, outside: left, alike });
    }
    Ok(laid(&cells, &parts, colour, width))
}

/// A cut, how many cells could be either, and the mixtures of the thing and of what is around it.
struct Parted {
    thing: Vec<bool>,
    unsure: usize,
    within: Mixture,
    without: Mixture,
}

/// Rounds of mixtures and cuts from a first guess.
fn parted(cells: &Cells, links: &[[i64; 8]], seed: &[bool], mut thing: Vec<bool>) -> Result<Parted, Unsure> {
    let count = thing.len();
    let mut round = 0;
    loop {
        let inside: Vec<Colour> = (0..count).filter(|&at| thing[at]).map(|at| cells.colour[at]).collect();
        let outside: Vec<Colour> = (0..count).filter(|&at| !thing[at]).map(|at| cells.colour[at]).collect();
        let (Some(within), Some(without)) = (Mixture::of(&inside), Mixture::of(&outside)) else { return Err(Unsure::Plain) };
        let mut unsure = 0;
        let pull: Vec<i64> = (0..count)
            .map(|at| {
                if seed[at] {
                    return -(1 << 30);
                }
                let lean = without.cost(&cells.colour[at]) - within.cost(&cells.colour[at]);
                unsure += usize::from(lean.abs() < 1.0);
                (lean.clamp(-40.0, 40.0) * UNIT) as i64
            })
            .collect();
        let next = cut(|at, n| cells.next(at, STEPS[n]), links.to_vec(), pull);
        let same = next == thing;
        thing = next;
        round += 1;
        if same || round == ROUNDS {
            tidy(cells, &mut thing);
            return Ok(Parted { thing, unsure, within, without });
        }
    }
}

/// The minimum cut: `true` on the side of the source. A cell's `pull` above 0 comes from the source, below 0 goes to the sink.
fn cut(next_to: impl Fn(usize, usize) -> Option<usize>, mut links: Vec<[i64; 8]>, mut pull: Vec<i64>) -> Vec<bool> {
    let count = pull.len();
    let mut level = vec![u32::MAX; count];
    let mut arc = vec![0u8; count];
    let mut queue: Vec<usize> = Vec::with_capacity(count);
    loop {
        level.fill(u32::MAX);
        queue.clear();
        queue.extend((0..count).filter(|&at| pull[at] > 0));
        queue.iter().for_each(|&at| level[at] = 0);
        let mut reached = false;
        let mut head = 0;
        while head < queue.len() {
            let at = queue[head];
            head += 1;
            reached |= pull[at] < 0;
            for (n, &link) in links[at].iter().enumerate() {
                if link > 0
                    && let Some(next) = next_to(at, n)
                    && level[next] == u32::MAX
                {
                    level[next] = level[at] + 1;
                    queue.push(next);
                }
            }
        }
        if !reached {
            return level.iter().map(|&level| level != u32::MAX).collect();
        }
        arc.fill(0);
        for source in 0..count {
            while pull[source] > 0 {
                // A way down the levels to a cell that the sink takes from.
                let mut way: Vec<(usize, usize)> = Vec::new();
                let mut at = source;
                let found = loop {
                    if pull[at] < 0 {
                        break true;
                    }
                    let mut moved = false;
                    while arc[at] < 8 {
                        let n = usize::from(arc[at]);
                        if links[at][n] > 0
                            && let Some(next) = next_to(at, n)
                            && level[next] == level[at] + 1
                        {
                            way.push((at, n));
                            at = next;
                            moved = true;
                            break;
                        }
                        arc[at] += 1;
                    }
                    if moved {
                        continue;
                    }
                    let Some((before, _)) = way.pop() else { break false };
                    arc[before] += 1;
                    at = before;
                };
                if !found {
                    break;
                }
                let most = way.iter().map(|&(at, n)| links[at][n]).min().unwrap_or(i64::MAX).min(pull[source]).min(-pull[at]);
                pull[source] -= most;
                pull[at] += most;
                for &(from, n) in &way {
                    links[from][n] -= most;
                    if let Some(to) = next_to(from, n) {
                        links[to][7 - n] += most;
                    }
                }
            }
        }
    }
}

/// Small islands go, small holes are filled.
fn tidy(cells: &Cells, thing: &mut [bool]) {
    for inside in [true, false] {
        let mut seen = vec![false; thing.len()];
        let mut parts: Vec<Vec<usize>> = Vec::new();
        for start in 0..thing.len() {
            if seen[start] || thing[start] != inside {
                continue;
            }
            let (mut part, mut stack) = (Vec::new(), vec![start]);
            seen[start] = true;
            while let Some(at) = stack.pop() {
                part.push(at);
                for step in [(-1, 0), (1, 0), (0, -1), (0, 1)] {
                    if let Some(next) = cells.next(at, step).filter(|&next| !seen[next] && thing[next] == inside) {
                        seen[next] = true;
                        stack.push(next);
                    }
                }
            }
            parts.push(part);
        }
        let largest = parts.iter().map(Vec::len).max().unwrap_or(0);
        let least = if inside { largest / 25 } else { thing.len() / 400 };
        for part in parts.iter().filter(|part| part.len() < least) {
            part.iter().for_each(|&at| thing[at] = !inside);
        }
    }
}

/// The edge on the picture as it is set: cut again in a band around the edge of the cells.
fn laid(cells: &Cells, parts: &Parted, colour: &[[u8; 3]], width: usize) -> Vec<bool> {
    let height = colour.len() / width;
    let cell = |at: usize| (at / width * cells.down / height) * cells.across + at % width * cells.across / width;
    let coarse: Vec<f64> = (0..colour.len()).map(|at| f64::from(u8::from(parts.thing[cell(at)]))).collect();
    let reach = (width.max(height) * 3 / SIDE / 2 + 1).max(2);
    let near = mean(&coarse, width, reach);
    let nodes: Vec<usize> = (0..colour.len()).filter(|&at| near[at] > 1e-6 && near[at] < 1.0 - 1e-6).collect();
    let mut name = vec![u32::MAX; colour.len()];
    nodes.iter().enumerate().for_each(|(n, &at)| name[at] = n as u32);
    let step = |at: usize, n: usize| {
        let (x, y) = ((at % width) as i32 + STEPS[n].0, (at / width) as i32 + STEPS[n].1);
        (x >= 0 && y >= 0 && x < width as i32 && y < height as i32).then(|| y as usize * width + x as usize)
    };
    let off = |a: usize, b: usize| -> f64 {
        (0..3).map(|n| f64::from(colour[a][n]) - f64::from(colour[b][n])).map(|off| off * off).sum()
    };
    let pairs = || nodes.iter().flat_map(|&at| (4..8).filter_map(move |n| step(at, n).map(|next| (at, next))));
    let (sum, count) = pairs().fold((0.0, 0.0), |(sum, count), (a, b)| (sum + off(a, b), count + 1.0));
    let beta = 1.0 / (2.0 * (sum / f64::max(count, 1.0)).max(1.0));
    let mut pull = Vec::with_capacity(nodes.len());
    let mut links = vec![[0i64; 8]; nodes.len()];
    for (links, &at) in links.iter_mut().zip(&nodes) {
        let here = colour[at].map(f64::from);
        let mut lean = ((parts.without.cost(&here) - parts.within.cost(&here)).clamp(-40.0, 40.0) * UNIT) as i64;
        for (n, link) in links.iter_mut().enumerate() {
            let Some(next) = step(at, n) else { continue };
            let far = if STEPS[n].0 != 0 && STEPS[n].1 != 0 { std::f64::consts::FRAC_1_SQRT_2 } else { 1.0 };
            let weight = (UNIT * GAMMA * far * libm::exp(-beta * off(at, next))) as i64;
            // What lies beyond the band is decided, and pulls as strongly as it is tied.
            match name[next] {
                u32::MAX => lean += if coarse[next] > 0.5 { weight } else { -weight },
                _ => *link = weight,
            }
        }
        pull.push(lean);
    }
    let next_to = |node: usize, n: usize| {
        step(nodes[node], n).map(|at| name[at]).filter(|&name| name != u32::MAX).map(|name| name as usize)
    };
    let mut level = coarse;
    for (&at, is) in nodes.iter().zip(cut(next_to, links, pull)) {
        level[at] = f64::from(u8::from(is));
    }
    // A last rounding: half of a small square decides.
    mean(&mean(&level, width, 1), width, 1).into_iter().map(|value| value > 0.5).collect()
}

fn mean(values: &[f64], width: usize, reach: usize) -> Vec<f64> {
    let height = values.len() / width;
    let side = (2 * reach + 1) as f64;
    let mut across = vec![0.0; values.len()];
    for (row, out) in values.chunks(width).zip(across.chunks_mut(width)) {
        let at = |index: usize| row[index.saturating_sub(reach).min(width - 1)];
        let mut sum: f64 = (0..=2 * reach).map(at).sum();
        for (x, out) in out.iter_mut().enumerate() {
            *out = sum / side;
            sum += at(x + 2 * reach + 1) - at(x);
        }
    }
    let mut down = vec![0.0; values.len()];
    let row = |index: usize| &across[index.saturating_sub(reach).min(height - 1) * width..][..width];
    let mut sums = vec![0.0; width];
    (0..=2 * reach).for_each(|index| sums.iter_mut().zip(row(index)).for_each(|(sum, value)| *sum += value));
    for y in 0..height {
        down[y * width..][..width].iter_mut().zip(&sums).for_each(|(out, sum)| *out = sum / side);
        let (gone, come) = (row(y), row(y + 2 * reach + 1));
        sums.iter_mut().zip(come.iter().zip(gone)).for_each(|(sum, (come, gone))| *sum += come - gone);
    }
    down
}
