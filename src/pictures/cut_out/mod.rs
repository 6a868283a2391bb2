//! The thing alone: which part of a photograph is the thing, and which its surroundings.
//!
//! Iterated graph cuts over colour mixtures (Rother, Kolmogorov, Blake 2004, "GrabCut"; minimum cut by Dinic 1970), seeded by the picture's border:
//! what most of the border is made of is surroundings. Done on a picture of at most 208 cells a side; the edge is then cut once more on the picture as
//! it is set, in a narrow band around the first (Lombaert et al. 2005, "A multilevel banded graph cuts method"), and what is thinner than a cell or
//! as light as the ground is looked for outside (`missed`). Begun twice, from different guesses: where the two do not meet, the two mixtures do not
//! come apart, the outline has no edge, or edges hang on it outside, nothing is cut: half a thing misleads more than its surroundings do.
//!
//! Capacities are whole numbers, mixtures use sums, products, quotients and libm: the same cut on every machine.

mod flow;
mod missed;
mod mixture;

use crate::geometry::Point;
use crate::pictures::parts;
use flow::cut;
use mixture::{Colour, Mixture};

/// Longest side of the picture that is cut.
const SIDE: usize = 208;
/// Weight of an edge of the picture against colours, as the source has it.
const GAMMA: f64 = 50.0;
/// Capacities in the flow for one unit of energy.
const UNIT: f64 = 64.0;
const ROUNDS: usize = 5;

/// Why nothing is cut out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unsure {
    /// Too few pixels.
    Small,
    /// Nothing differs from what the border is made of.
    Plain,
    /// Thing and ground are not told apart well enough.
    Mixed(Doubts),
}

/// Shares in thousandths that say how far a cut can be relied on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Doubts {
    /// Of the picture that is thing.
    pub thing: usize,
    /// Of its border that is.
    pub border: usize,
    /// Of cells that could be either.
    pub either: usize,
    /// Of the cut that runs along an edge.
    pub along: usize,
    /// Of the picture's edges that are left outside.
    pub outside: usize,
    /// Of the thing that is its largest part.
    pub largest: usize,
    /// Of the thing that both beginnings agree on.
    pub alike: usize,
    /// Of the picture's longer side: the longest piece of the outline where the picture has no edge.
    pub faint: usize,
    /// Of the thing: what hangs on it outside, and is too much to be added.
    pub hanging: usize,
    /// Of the ground close to the thing, how much more of it than of other ground is edges.
    pub near: usize,
}

impl Doubts {
    /// Found on the cells, before the outline is. The bounds are chosen on photographs of makers and of public sets with masks.
    fn are_early(&self) -> bool {
        // Ground of many edges is left outside only where hardly a cell could be either; several things only where little else is about.
        let clear = self.either <= 25 && self.along >= 940;
        let scene = self.largest < 600 && self.outside > 200;
        !(25..=880).contains(&self.thing)
            || self.border > 250
            || self.either > 120
            || self.along < 700
            || self.outside > 350 && !clear
            || scene
    }

    fn are_late(&self) -> bool {
        // On ground of many edges both beginnings meet nearly everywhere, or the thing is one part of a larger one.
        let torn = self.outside > 350 && (self.alike < 990 || self.near > 60);
        // Several things are things only when each has a clear edge all round; else they are the light parts of a dark one.
        let pieces = self.largest < 700 && (self.along < 950 || self.near > 60 || self.faint > 20);
        torn || pieces || self.faint > 35 || self.hanging > 100 || self.near > 100
    }
}

const STEPS: [Point<i32>; 8] = [
    Point::new(-1, -1),
    Point::new(0, -1),
    Point::new(1, -1),
    Point::new(-1, 0),
    Point::new(1, 0),
    Point::new(-1, 1),
    Point::new(0, 1),
    Point::new(1, 1),
];

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

    fn next(&self, at: usize, step: Point<i32>) -> Option<usize> {
        parts::next(at, step, self.across, self.down)
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
                let far = if STEPS[n].x != 0 && STEPS[n].y != 0 { std::f64::consts::FRAC_1_SQRT_2 } else { 1.0 };
                (UNIT * GAMMA * far * libm::exp(-beta * cells.off(at, next))) as i64
            })
        })
        .collect();
    let parts = parted(&cells, &links, &seed, thing)?;
    let thing = &parts.thing;
    let inside = thing.iter().filter(|&&is| is).count();
    let mut doubts = Doubts {
        thing: inside * 1000 / count,
        border: (0..count).filter(|&at| border[at] && thing[at]).count() * 1000 / rim.len(),
        either: parts.unsure * 1000 / count,
        largest: parts.largest * 1000 / inside.max(1),
        ..edges(&cells, thing, beta)
    };
    if doubts.are_early() {
        return Err(Unsure::Mixed(doubts));
    }
    // Begun once from what differs from the border, and once from all that is not border: where the two do not meet, nobody can be sure.
    let other = parted(&cells, &links, &seed, border.iter().map(|is| !is).collect())?.thing;
    let both = (0..count).filter(|&at| thing[at] && other[at]).count();
    let any = (0..count).filter(|&at| thing[at] || other[at]).count();
    doubts.alike = both * 1000 / any.max(1);
    if doubts.alike < 960 {
        return Err(Unsure::Mixed(doubts));
    }
    let mut whole = laid(&cells, &parts, colour, width);
    doubts.hanging = missed::complete(colour, width, &mut whole);
    doubts.faint = missed::faint(colour, width, &whole);
    doubts.near = missed::near(colour, width, &whole);
    if doubts.are_late() { Err(Unsure::Mixed(doubts)) } else { Ok(whole) }
}

/// How much of the cut runs where the picture has an edge, and how many of the picture's edges are left outside.
fn edges(cells: &Cells, thing: &[bool], beta: f64) -> Doubts {
    let is_edge = |one: usize, two: usize| cells.off(one, two) * beta > 0.5;
    let (mut along, mut real, mut edges, mut left) = (0, 0, 0, 0);
    for at in 0..thing.len() {
        for step in &STEPS[4..] {
            let Some(next) = cells.next(at, *step) else { continue };
            let edge = usize::from(is_edge(at, next));
            edges += edge;
            if thing[at] != thing[next] {
                along += 1;
                real += edge;
            } else if !thing[at] {
                left += edge;
            }
        }
    }
    Doubts { along: real * 1000 / along.max(1), outside: left * 1000 / edges.max(1), ..Doubts::default() }
}

/// A cut, how many cells could be either, and the mixtures of the thing and of what is around it.
struct Parted {
    thing: Vec<bool>,
    /// Cells of its largest part.
    largest: usize,
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
            let largest = tidy(cells, &mut thing);
            return Ok(Parted { thing, largest, unsure, within, without });
        }
    }
}

/// Small islands go, small holes are filled. The largest part's cells.
fn tidy(cells: &Cells, thing: &mut [bool]) -> usize {
    let mut most = 0;
    for inside in [true, false] {
        let own: Vec<bool> = thing.iter().map(|&is| is == inside).collect();
        let parts = parts::parts(&own, cells.across, cells.down);
        let largest = parts.iter().map(Vec::len).max().unwrap_or(0);
        if inside {
            most = largest;
        }
        let least = if inside { largest / 25 } else { thing.len() / 400 };
        for part in parts.iter().filter(|part| part.len() < least) {
            part.iter().for_each(|&at| thing[at] = !inside);
        }
    }
    most
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
    let step = |at: usize, n: usize| parts::next(at, STEPS[n], width, height);
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
            let far = if STEPS[n].x != 0 && STEPS[n].y != 0 { std::f64::consts::FRAC_1_SQRT_2 } else { 1.0 };
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
