//! The drawing screen: a photograph becomes an ink drawing, lines where edges are and solid black where the thing is dark.
//!
//! Flow-based difference of Gaussians with a soft threshold (Winnemoeller, Kyprianidis, Olsen 2012, "XDoG"; Kang, Lee, Chui 2007, "Coherent
//! line drawing"), on two samples a dot each way. The flow is the smoothed structure tensor's. Before it, texture is tamed by its scale: a guided
//! filter (He, Sun, Tang 2010) smooths the more, the more evenly rough its wider surroundings are, so that wood and cloth calm down and single edges
//! stay. Lines go on where they grow faint (hysteresis, Canny 1986) and stand out of the texture around them; edges too soft for the pen, as of a lamp
//! in the dark, are traced where they are steepest; letters stay however short their strokes. Black is solid only where it ends at
//! edges, and a large black thing shows its lighter faces open. After it, specks and pinholes go, no line is thinner than two dots and no hole
//! smaller than two.
//!
//! Sums, products, quotients, square roots and libm only: the same dots on every machine.

use crate::bitmap::Bitmap;
use crate::manual::document;

use super::packed;
use dots::{dots, thicken};
use field::Field;
use flow::Flow;

mod dots;
mod field;
mod flow;
mod lines;
mod solids;

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

/// So deep an edge, as a share of the scale, is no texture: lettering is.
const DEEP: f32 = 0.03;

/// How far an edge's bright side must stand out of the black to be left open, as a share of the light there.
const OPEN: f32 = 0.05;

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
    let plain = plainness(&edges);
    let faint = (0.018 - 0.014 * f32::from(pen.strength.min(100)) / 100.0) * plain;
    // Among many edges of one kind, as of cloth or rough stone, only the deepest are lines.
    // The square of the mean of roots: a few deep edges on plain ground, as of a lamp in the dark or of letters, make no texture.
    let mut around = edges.like(edges.values.iter().map(|edge| edge.abs().sqrt()).collect()).mean(lines::SURROUNDINGS * FINE);
    around.values.iter_mut().for_each(|root| *root *= *root);
    let needed: Vec<f32> = soft.values.iter().map(|&tone| faint * (0.35 + 0.65 * tone)).collect();
    let mut ink = lines::lines(&edges, &needed, &around);
    let black = solids::solids(&soft, &edges, &needed, solids::black_level(&calm, pen));
    for (at, ink) in ink.iter_mut().enumerate() {
        // In the black the bright side of an edge is left open.
        *ink |= black[at] && edges.values[at] < needed[at] + OPEN * soft.values[at];
    }
    lines::drop_strokes(&mut ink, &edges, &needed, &around);
    lines::soft_edges(&calm, &around, pen, plain, &mut ink);
    ink
}

/// A picture that is empty for the most part, with little noise, tells faint edges too: of a white thing on white paper. By how much less is enough.
fn plainness(edges: &Field) -> f32 {
    /// So deep is half of a picture that is busy all over, and at least so much is asked for of an empty one.
    const BUSY: f32 = 0.0006;
    const LEAST: f32 = 0.5;
    let mut depths: Vec<f32> = edges.values.iter().map(|edge| edge.abs()).collect();
    let middle = depths.len() / 2;
    let (_, middle, _) = depths.select_nth_unstable_by(middle, f32::total_cmp);
    (*middle / BUSY).clamp(LEAST, 1.0)
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
