//! Tone where it explains: the insides of holes and hollows, and undersides, in thin lines at 45 degrees; parts next to each other by
//! turns to one side and the other, as sections are hatched (ISO 128-3, common practice).

use rayon::prelude::*;

use super::geometry::{Vec3, add, cross, dot, scale, sub, unit};
use super::scene::Scene;
use super::strokes::{Pen, Stroke, fine};
use super::view::Axes;
use crate::geometry::{Point, Size};

/// White and line together, in widths of the line; every further pair of parts has wider ones.
const PITCHES: [f64; 3] = [3.5, 5.0, 7.0];
/// Distance of two points that are looked at, dots.
const STEP: f64 = 2.0;
/// On its way out of a surface a point is looked at after every so many dots: walls are thicker.
const REACH: f64 = 4.0;
const FARTHEST: f64 = 1000.0;
/// A surface that looks down more steeply than this sine is an underside.
const DOWN: f64 = 0.5;
/// Shorter hatching says nothing, dots.
const SHORT: f64 = 7.0;

/// Which of the hatched parts a part is, from 0; none when it is not hatched.
pub type Turn<'a> = dyn Fn(u16) -> Option<usize> + Sync + 'a;

/// `turns` is the number of hatched parts, `turn` says which of them a part is; `size` is that of the drawing, dots; `thin` the width of the line.
pub fn hatch(scene: &Scene, axes: &Axes, (turns, turn): (usize, &Turn), size: Size<f64>, thin: f64) -> Vec<Stroke> {
    let mut strokes = Vec::new();
    for (own, tone) in (0..turns).flat_map(|own| [(own, Tone::Under), (own, Tone::Inside)]) {
        let pitch = thin * PITCHES[own / 2 % 3] * std::f64::consts::SQRT_2;
        // A hole in an underside is told from it.
        let rising = own.is_multiple_of(2) == (tone == Tone::Inside);
        let count = ((size.width + size.height) / pitch) as usize + 1;
        let lines: Vec<Vec<Stroke>> = (0..count)
            .into_par_iter()
            .map(|n| {
                // Rising lines keep x + y, falling ones x - y.
                let whole = (n as f64 + 0.5) * pitch;
                let first = (whole - size.height).max(0.0);
                let last = whole.min(size.width);
                let place = |x: f64| Point::new(x, if rising { whole - x } else { size.height - whole + x });
                line(scene, axes, turn, (own, tone), first, last, &place)
            })
            .collect();
        strokes.extend(lines.into_iter().flatten());
    }
    strokes
}

/// The hatched stretches of one line, which goes from `first` to `last` across.
fn line(
    scene: &Scene,
    axes: &Axes,
    turn: &Turn,
    own: (usize, Tone),
    first: f64,
    last: f64,
    place: &dyn Fn(f64) -> Point<f64>,
) -> Vec<Stroke> {
    let step = STEP / std::f64::consts::SQRT_2;
    let mut strokes = Vec::new();
    let mut from: Option<f64> = None;
    let count = ((last - first).max(0.0) / step) as usize;
    for n in 0..=count + 1 {
        let x = first + n as f64 * step;
        let dark = n <= count && is_dark(scene, axes, turn, own, place(x));
        match (dark, from) {
            (true, None) => from = Some(x),
            (false, Some(begun)) => {
                from = None;
                let end = x - step;
                if (end - begun) * std::f64::consts::SQRT_2 >= SHORT {
                    strokes.push(Stroke { pen: Pen::Hatch, points: vec![fine(place(begun)), fine(place(end))] });
                }
            }
            _ => {}
        }
    }
    strokes
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Tone {
    /// Of a hole or a hollow: whoever leaves it straight out goes behind the same part.
    Inside,
    Under,
}

/// Whether what is seen at a point belongs to the part and is of a tone.
fn is_dark(scene: &Scene, axes: &Axes, turn: &Turn, own: (usize, Tone), at: Point<f64>) -> bool {
    let (own, of) = own;
    let Some(hit) = scene.first(at.x, at.y, f64::NEG_INFINITY) else { return false };
    if turn(scene.part[hit.triangle as usize]) != Some(own) {
        return false;
    }
    let [a, b, c] = scene.corners(hit.triangle);
    let normal = unit(cross(sub(b, a), sub(c, a)));
    // To the viewer, whichever way round the corners go.
    let out = if normal[2] > 0.0 { scale(normal, -1.0) } else { normal };
    // Up in the model is down the axes of the drawing.
    let up: Vec3 = [axes.right[2], -axes.up[2], -axes.toward[2]];
    if dot(out, up) < -DOWN {
        return of == Tone::Under;
    }
    if of == Tone::Under {
        return false;
    }
    let start = [at.x, at.y, hit.depth];
    let mut far = 3.0;
    while far < FARTHEST {
        let place = add(start, scale(out, far));
        if !scene.may_hide(place) {
            return false;
        }
        let hides = scene.hides(place, 1.0, &[hit.triangle]);
        if hides.is_some_and(|hit| turn(scene.part[hit.triangle as usize]) == Some(own)) {
            return true;
        }
        far += (far * 0.3).min(REACH);
    }
    false
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::models::draw::{self, Frame, Look, Pens, Placed};
    use crate::models::join::Mesh;
    use crate::models::tests::block;

    /// A pocket of 40 by 40 mm, 20 deep, from the corner above: of its two far walls that is seen which the near rim does not hide.
    /// The opening is a rhombus, 40 sqrt 2 wide and 40 sqrt 2 sin t high; the floor seen in it is one half as large, for the walls are
    /// 20 cos t high, half the height of the rhombus at t = 35.264 degrees.
    #[test]
    fn the_walls_of_a_pocket_are_hatched_and_nothing_else() {
        let walls = [
            ([0.0, 0.0, 0.0], [60.0, 60.0, 10.0]),
            ([0.0, 0.0, 10.0], [60.0, 10.0, 30.0]),
            ([0.0, 50.0, 10.0], [60.0, 60.0, 30.0]),
            ([0.0, 10.0, 10.0], [10.0, 50.0, 30.0]),
            ([50.0, 10.0, 10.0], [60.0, 50.0, 30.0]),
        ];
        let soup: Vec<[f32; 3]> = walls.iter().flat_map(|(least, most)| block(*least, *most)).collect();
        let mesh = Mesh::join(&soup);
        let axes = Axes::new(45.0, 35.264_389_682_754_654);
        let placed = [Placed { mesh: &mesh, offset: [0.0; 3], look: Look::Usual }];
        let extent = draw::extent(&placed, &axes);
        let dots = 6.0;
        let frame = Frame { axes, scale: dots, shift: Point::new(4.0 - extent.least[0] * dots, 4.0 - extent.least[1] * dots) };
        let pens = Pens { thick: 4.0, thin: 2.0, gap: 2.0 };
        let drawn = draw::draw(&placed, &[], &frame, &pens);
        let size = Size::from([0, 1].map(|side| (extent.most[side] - extent.least[side]) * dots + 8.0));
        let strokes = hatch(&drawn.scene, &axes, (1, &|part| (part == 0).then_some(0)), size, pens.thin);
        let flat = |at: Point<i32>| at.map(|side| f64::from(side) / 16.0);
        let (mut long, middle) = (0.0, frame.place([30.0, 30.0, 30.0]));
        let (wide, high) = (20.0 * 2.0f64.sqrt() * dots, 20.0 * 2.0f64.sqrt() * dots / 3.0f64.sqrt());
        for stroke in &strokes {
            let (from, to) = (flat(stroke.points[0]), flat(stroke.points[1]));
            long += ((to.x - from.x).powi(2) + (to.y - from.y).powi(2)).sqrt();
            for at in [from, to] {
                let off = (at.x - middle[0]).abs() / wide + (at.y - middle[1]).abs() / high;
                assert!(off < 1.03, "{at:?} is beside the opening");
            }
        }
        let area = 2.0 * wide * high * 0.75;
        let pitch = pens.thin * PITCHES[0];
        assert!((long * pitch / area - 1.0).abs() < 0.08, "{} of {area} square dots", long * pitch);
    }
}
