//! Parts in their places, seen from a side, become strokes.

use rayon::prelude::*;

use super::chain::{self, Chain, Piece};
use super::geometry::{Extent, Vec3, add};
use super::join::Mesh;
use super::lines::{self, Line};
use super::meet;
use super::scene::Scene;
use super::strokes::{Pen, Stroke, broken, fine, flat};
use super::view::Axes;
use super::visible::{self, Span};
use crate::geometry::Point;

/// How a part is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Look {
    Usual,
    /// All lines thin: what was there before.
    Thin,
    /// Thin and broken; hides nothing.
    Ghost,
}

#[derive(Clone, Copy)]
pub struct Placed<'m> {
    pub mesh: &'m Mesh,
    pub offset: Vec3,
    pub look: Look,
}

/// A straight way through space, mm, drawn with long dashes and points where it is seen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Way {
    pub from: Vec3,
    pub to: Vec3,
}

/// Widths in dots.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pens {
    pub thick: f64,
    pub thin: f64,
    /// White where a line passes behind an outline.
    pub gap: f64,
}

/// From millimetres to dots.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Frame {
    pub axes: Axes,
    /// Dots a mm.
    pub scale: f64,
    /// Added to what was projected, dots.
    pub shift: Point<f64>,
}

impl Frame {
    pub fn place(&self, place: Vec3) -> Vec3 {
        let [x, y, z] = self.axes.project(place, self.scale);
        [x + self.shift.x, y + self.shift.y, z]
    }
}

/// What is drawn, and what is seen where.
pub struct Drawn {
    pub strokes: Vec<Stroke>,
    pub scene: Scene,
}

/// How much of the drawing plane parts take, mm.
pub fn extent(parts: &[Placed], axes: &Axes) -> Extent {
    let each = parts.par_iter().map(|part| {
        let chunks = part.mesh.vertices.par_chunks(1 << 15).map(|vertices| {
            let mut extent = Extent::default();
            vertices.iter().for_each(|&place| extent.hold(axes.project(add(place, part.offset), 1.0)));
            extent
        });
        chunks.reduce(Extent::default, Extent::join)
    });
    // A least and a most do not depend on who came first.
    each.reduce(Extent::default, Extent::join)
}

pub fn draw(parts: &[Placed], ways: &[Way], frame: &Frame, pens: &Pens) -> Drawn {
    let solid = stage(parts, frame, false);
    let ghosts = stage(parts, frame, true);
    let mut strokes = Vec::new();
    if !ghosts.lines.is_empty() {
        strokes.extend(ink(&ghosts, &[&ghosts.scene, &solid.scene], pens, |_| Look::Ghost));
    }
    strokes.extend(travelled(ways, &solid.scene, frame));
    let looks: Vec<Look> = parts.iter().map(|part| part.look).collect();
    strokes.extend(ink(&solid, &[&solid.scene], pens, |part| looks[part as usize]));
    // Thin before thick, so that what is in front lies on top; else in the order in which they were found.
    strokes.sort_by_key(|stroke| stroke.pen);
    Drawn { strokes, scene: solid.scene }
}

struct Stage {
    scene: Scene,
    lines: Vec<Line>,
}

fn stage(parts: &[Placed], frame: &Frame, ghosts: bool) -> Stage {
    let (mut vertices, mut triangles, mut owners) = (Vec::new(), Vec::new(), Vec::new());
    let mut starts = Vec::new();
    let (mut shells, mut bodies) = (Vec::new(), 0);
    for (n, part) in parts.iter().enumerate().filter(|(_, part)| (part.look == Look::Ghost) == ghosts) {
        let (first, first_face) = (vertices.len() as u32, triangles.len() as u32);
        starts.push((n, first, first_face));
        vertices.par_extend(part.mesh.vertices.par_iter().map(|&place| frame.place(add(place, part.offset))));
        triangles.par_extend(part.mesh.faces.par_iter().map(|face| face.map(|v| v + first)));
        owners.resize(triangles.len(), n as u16);
        shells.extend(part.mesh.shells.iter().map(|shell| shell + bodies));
        bodies += part.mesh.shell_count();
    }
    let mut lines = Vec::new();
    for (n, first, first_face) in starts {
        lines.extend(lines::find(parts[n].mesh, &vertices, first, first_face, n as u16));
    }
    let mut scene = Scene::new(vertices, triangles, owners);
    if bodies > 1 {
        lines.extend(meet::find(&mut scene, &shells));
    }
    Stage { scene, lines }
}

/// Lines to strokes: seen stretches of each, chained, bent and joined.
fn ink(stage: &Stage, scenes: &[&Scene], pens: &Pens, look: impl Fn(u16) -> Look + Sync) -> Vec<Stroke> {
    let chains = chain::chains(&stage.lines, &stage.scene.vertices);
    let drawn = chain::firm(&chains, &stage.lines, &stage.scene.vertices);
    let seen = |(n, line): (usize, &Line)| if drawn[n] { visible::spans(line, scenes) } else { Vec::new() };
    let spans: Vec<Vec<Span>> = stage.lines.par_iter().enumerate().map(seen).collect();
    let inked: Vec<Vec<Stroke>> = chains
        .par_iter()
        .map(|chain| {
            let part = chain.lines.first().map_or(0, |(n, _)| stage.lines[*n as usize].part);
            let look = look(part);
            let pieces = chain::bend(chain, &stage.lines, &stage.scene.vertices);
            let stretches = stretches(chain, &spans, &pieces, look);
            runs(&stretches, &pieces, chain.closed).iter().flat_map(|run| stroke(run, &stretches, &pieces, pens)).collect()
        })
        .collect();
    inked.into_iter().flatten().collect()
}

/// A seen stretch of a piece of a chain, in the direction of the chain.
#[derive(Clone, Copy, Debug)]
struct Stretch {
    piece: usize,
    from: f64,
    to: f64,
    pen: Pen,
    before: f64,
    after: f64,
}

impl Stretch {
    fn long(&self, pieces: &[Piece]) -> f64 {
        pieces[self.piece].length() * (self.to - self.from)
    }
}

fn stretches(chain: &Chain, spans: &[Vec<Span>], pieces: &[Piece], look: Look) -> Vec<Stretch> {
    let mut all: Vec<Stretch> = Vec::new();
    for (piece, &(line, back)) in chain.lines.iter().enumerate() {
        let begin = all.len();
        for span in &spans[line as usize] {
            let pen = match look {
                Look::Ghost => Pen::Ghost,
                Look::Usual if span.thick => Pen::Thick,
                _ => Pen::Thin,
            };
            let Span { from, to, before, after, .. } = *span;
            all.push(match back {
                false => Stretch { piece, from, to, pen, before, after },
                true => Stretch { piece, from: 1.0 - to, to: 1.0 - from, pen, before: after, after: before },
            });
        }
        if back {
            all[begin..].reverse();
        }
    }
    even(&mut all, pieces);
    all
}

/// A short stretch in another pen than its neighbours is drawn as they are.
fn even(all: &mut [Stretch], pieces: &[Piece]) {
    const SHORT: f64 = 12.0;
    let mut start = 0;
    let mut groups: Vec<(usize, usize, f64)> = Vec::new();
    for n in 1..=all.len() {
        let apart = n == all.len() || all[n].pen != all[start].pen || !touch(&all[n - 1], &all[n]);
        if apart {
            groups.push((start, n, all[start..n].iter().map(|stretch| stretch.long(pieces)).sum()));
            start = n;
        }
    }
    for n in 0..groups.len() {
        let (from, to, long) = groups[n];
        if long >= SHORT {
            continue;
        }
        let before = (n > 0 && touch(&all[from - 1], &all[from])).then(|| (groups[n - 1].2, all[from - 1].pen));
        let after = (n + 1 < groups.len() && touch(&all[to - 1], &all[to])).then(|| (groups[n + 1].2, all[to].pen));
        let longer = match (before, after) {
            (Some(one), Some(other)) => Some(if one.0 >= other.0 { one } else { other }),
            (one, other) => one.or(other),
        };
        if let Some((other, pen)) = longer
            && other > long
        {
            all[from..to].iter_mut().for_each(|stretch| stretch.pen = pen);
        }
    }
}

fn touch(one: &Stretch, other: &Stretch) -> bool {
    (one.piece == other.piece && other.from - one.to < 1e-9)
        || (one.piece + 1 == other.piece && one.to == 1.0 && other.from == 0.0)
}

/// Stretches that follow each other in one pen: ranges of them.
fn runs(all: &[Stretch], pieces: &[Piece], closed: bool) -> Vec<Vec<usize>> {
    let mut runs: Vec<Vec<usize>> = Vec::new();
    for n in 0..all.len() {
        match runs.last_mut() {
            Some(run) if joins(&all[n - 1], &all[n], pieces) => run.push(n),
            _ => runs.push(vec![n]),
        }
    }
    // A ring whose end is seen goes on at its beginning.
    if closed
        && let [.., last] = &runs[..]
        && let (Some(&end), Some(first)) = (last.last(), runs.first())
        && all[end].piece + 1 == pieces.len()
        && all[end].to == 1.0
        && all[first[0]].piece == 0
        && all[first[0]].from == 0.0
        && all[end].pen == all[first[0]].pen
        && runs.len() > 1
    {
        let first = runs.remove(0);
        if let Some(last) = runs.last_mut() {
            last.extend(first);
        }
    }
    runs
}

/// Longest hidden bit of a line that is drawn all the same, dots.
const CLOSED: f64 = 2.0;

fn joins(one: &Stretch, other: &Stretch, pieces: &[Piece]) -> bool {
    if one.pen != other.pen {
        return false;
    }
    if touch(one, other) {
        return true;
    }
    let skipped: f64 = pieces[one.piece + 1..other.piece.max(one.piece + 1)].iter().take(40).map(Piece::length).sum();
    let (end, begin) = (pieces[one.piece].at(one.to), pieces[other.piece].at(other.from));
    // What hides it is the surface itself, and it comes back where it went.
    end.distance(begin) < CLOSED && skipped < CLOSED * 3.0
}

/// A point of a run, and whether smoothing may move it.
#[derive(Clone, Copy)]
struct Knot {
    at: Point<f64>,
    firm: bool,
}

fn stroke(run: &[usize], all: &[Stretch], pieces: &[Piece], pens: &Pens) -> Vec<Stroke> {
    let (Some(&first), Some(&last)) = (run.first(), run.last()) else { return Vec::new() };
    let mut knots: Vec<Knot> = Vec::new();
    for &n in run {
        let Stretch { piece, from, to, .. } = all[n];
        let curve = &pieces[piece];
        let long = all[n].long(pieces);
        let steps = if curve.straight() { 1 } else { ((long / 1.5) as usize + 1).min(400) };
        let small = curve.length() < 3.0;
        for step in 0..=steps {
            let t = from + (to - from) * step as f64 / steps as f64;
            let ends = step == 0 || step == steps;
            let firm = !small || (ends && t == 1.0 && curve.corner && curve.length() > 1.5);
            let at = curve.at(t);
            match knots.last_mut() {
                Some(knot) if knot.at.distance(at) < 0.3 => knot.firm |= firm,
                _ => knots.push(Knot { at, firm }),
            }
        }
    }
    let closed = run.len() > 1 && knots.len() > 3 && knots[0].at.distance(knots[knots.len() - 1].at) < 0.31;
    smooth(&mut knots, closed);
    let mut points: Vec<Point<f64>> = knots.iter().map(|knot| knot.at).collect();
    // An end that goes behind something leaves white before its outline.
    let room = |depth: f64| if depth > BEHIND { pens.thick / 2.0 + pens.gap + pens.thin / 2.0 } else { 0.0 };
    let cuts = [room(all[first].before), room(all[last].after)];
    if !closed {
        trim(&mut points, cuts[1]);
        points.reverse();
        trim(&mut points, cuts[0]);
        points.reverse();
    }
    let pen = all[first].pen;
    let long: f64 = points.windows(2).map(|pair| pair[0].distance(pair[1])).sum();
    if points.len() < 2 || long < CRUMB {
        return Vec::new();
    }
    let lines = match pen {
        Pen::Ghost => broken(&points, &[pens.thin * 5.0, pens.thin * 3.0]),
        _ => vec![points],
    };
    lines.into_iter().map(|points| Stroke { pen, points: thinned(&points) }).collect()
}

/// A line hidden by something at least so far before it is given white at its end, dots.
const BEHIND: f64 = 4.0;
/// A stroke shorter than this shows nothing.
const CRUMB: f64 = 2.4;

/// Takes a length off the end.
fn trim(points: &mut Vec<Point<f64>>, mut by: f64) {
    while by > 0.0 && points.len() > 1 {
        let (last, before) = (points[points.len() - 1], points[points.len() - 2]);
        let long = before.distance(last);
        points.pop();
        if long > by {
            let t = 1.0 - by / long;
            points.push(before.towards(last, t));
            return;
        }
        by -= long;
    }
}

/// Points that may move go half way to the middle of their neighbours, a few times, and never farther than most of a dot.
fn smooth(knots: &mut [Knot], closed: bool) {
    let count = knots.len();
    if count < 3 || knots.iter().all(|knot| knot.firm) {
        return;
    }
    let start: Vec<Point<f64>> = knots.iter().map(|knot| knot.at).collect();
    for _ in 0..6 {
        let was: Vec<Point<f64>> = knots.iter().map(|knot| knot.at).collect();
        for n in 0..count {
            let inner = n > 0 && n + 1 < count;
            if knots[n].firm || !(inner || closed) {
                continue;
            }
            // The first and the last point of a ring are one.
            let before = if n == 0 { count - 2 } else { n - 1 };
            let after = if n + 1 == count { 1 } else { n + 1 };
            let moved = |was: f64, before: f64, after: f64, start: f64| {
                let middle = (before + after) / 2.0;
                (was + (middle - was) / 2.0).clamp(start - 0.7, start + 0.7)
            };
            knots[n].at = Point {
                x: moved(was[n].x, was[before].x, was[after].x, start[n].x),
                y: moved(was[n].y, was[before].y, was[after].y, start[n].y),
            };
        }
    }
}

/// Points that a straight line between their neighbours would pass within a twentieth of a dot go.
fn thinned(points: &[Point<f64>]) -> Vec<Point<i32>> {
    let mut kept: Vec<Point<f64>> = vec![points[0]];
    let mut at = 0;
    while at + 1 < points.len() {
        let mut next = at + 1;
        while next + 1 < points.len() && next - at < 24 {
            let (a, b) = (points[at], points[next + 1]);
            let long = a.distance(b);
            let off = |p: &Point<f64>| (b - a).cross(*p - a).abs() / long;
            if long < 1e-9 || points[at + 1..=next].iter().any(|p| off(p) > 0.05) {
                break;
            }
            next += 1;
        }
        kept.push(points[next]);
        at = next;
    }
    kept.into_iter().map(fine).collect()
}

fn travelled(ways: &[Way], scene: &Scene, frame: &Frame) -> Vec<Stroke> {
    let mut strokes = Vec::new();
    for way in ways {
        let (p, q) = (frame.place(way.from), frame.place(way.to));
        let count = (flat(p).distance(flat(q)) * 2.0) as usize + 2;
        let place = |n: usize| super::geometry::mix(p, q, n as f64 / count as f64);
        let mut seen: Vec<Point<f64>> = Vec::new();
        for n in 0..=count + 1 {
            let free = n <= count && visible::hidden(&[scene], place(n), &[]).is_none();
            if free {
                seen.push(flat(place(n)));
            } else if seen.len() > 8 {
                // Long dash, gap, point, gap: the chain line of drawings.
                for points in broken(&std::mem::take(&mut seen), &[14.0, 5.0, 1.0, 5.0]) {
                    strokes.push(Stroke { pen: Pen::Way, points: thinned(&points) });
                }
            } else {
                seen.clear();
            }
        }
    }
    strokes
}
