//! Which stretches of a line are seen, and with which pen.

use super::geometry::{Vec3, mix};
use super::lines::{Kind, Line};
use super::scene::Scene;

/// Nearer by so many dots hides; less is the same surface.
pub const SLACK: f64 = 0.2;
/// Distance of two points of a line that are looked at, dots.
const STEP: f64 = 0.8;
/// How far beside a line it is looked what stands behind, dots.
const BESIDE: f64 = 1.3;
/// Behind an outline there is nothing for at least so many dots.
const STEP_BACK: f64 = 5.0;

/// A stretch of a line that is seen, by shares of its length.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span {
    pub from: f64,
    pub to: f64,
    pub thick: bool,
    /// How far before the line the thing stands that hides it before and after, dots; 0 where the line itself ends.
    pub before: f64,
    pub after: f64,
}

/// What hides a point, looked for in all scenes that may.
pub fn hidden(scenes: &[&Scene], at: Vec3, own: &[u32]) -> Option<f64> {
    // Faces of the line are those of the first scene.
    scenes.iter().enumerate().find_map(|(n, scene)| {
        let own = if n == 0 { own } else { &[] };
        scene.hides(at, SLACK, own).map(|hit| (at[2] - hit.depth).max(SLACK))
    })
}

/// `scenes[0]` is the one the line belongs to.
pub fn spans(line: &Line, scenes: &[&Scene]) -> Vec<Span> {
    let [p, q] = line.ends.map(|v| scenes[0].vertices[v as usize]);
    let long = ((q[0] - p[0]) * (q[0] - p[0]) + (q[1] - p[1]) * (q[1] - p[1])).sqrt();
    let count = ((long / STEP) as usize + 1).min(20_000);
    let share = |n: usize| (n as f64 + 0.5) / count as f64;
    let look = |t: f64| hidden(scenes, mix(p, q, t), &line.faces);
    let mut spans: Vec<Span> = Vec::new();
    let mut open: Option<Span> = None;
    let mut last: Option<(f64, Option<f64>)> = None;
    for n in 0..count {
        let t = share(n);
        let hit = look(t);
        let turns = last.is_none_or(|(_, before)| before.is_some() != hit.is_some());
        if turns {
            let (edge, before) = match last {
                None => (0.0, 0.0),
                Some((from, before)) => (meet(from, t, before.is_some(), &look), before.or(hit).unwrap_or(0.0)),
            };
            match (hit, open.take()) {
                (None, _) => open = Some(Span { from: edge, to: 1.0, thick: false, before, after: 0.0 }),
                (Some(after), Some(span)) => spans.push(Span { to: edge, after, ..span }),
                (Some(_), None) => {}
            }
        }
        last = Some((t, hit));
    }
    spans.extend(open);
    weigh(line, scenes, p, q, long, spans)
}

/// Where between two points the line goes out of sight, by halving.
fn meet(mut from: f64, mut to: f64, hidden_first: bool, look: &impl Fn(f64) -> Option<f64>) -> f64 {
    for _ in 0..7 {
        let middle = (from + to) / 2.0;
        if look(middle).is_some() == hidden_first { from = middle } else { to = middle }
    }
    (from + to) / 2.0
}

/// Cuts the spans of an outline where what is behind it changes.
fn weigh(line: &Line, scenes: &[&Scene], p: Vec3, q: Vec3, long: f64, spans: Vec<Span>) -> Vec<Span> {
    let Kind::Edge { open } = line.kind else { return spans };
    let mut weighed: Vec<Span> = Vec::with_capacity(spans.len());
    for span in spans {
        let count = ((long * (span.to - span.from) / (STEP * 3.0)) as usize + 1).min(4000);
        for n in 0..count {
            let part = |n: usize| span.from + (span.to - span.from) * n as f64 / count as f64;
            let (from, to) = (part(n), part(n + 1));
            let at = mix(p, q, (from + to) / 2.0);
            let (x, y) = (at[0] + open[0] * BESIDE, at[1] + open[1] * BESIDE);
            let behind = scenes
                .iter()
                .filter_map(|scene| scene.first(x, y, at[2] - STEP_BACK))
                .map(|hit| hit.depth)
                .fold(f64::INFINITY, f64::min);
            let thick = behind - at[2] > STEP_BACK;
            let before = if n == 0 { span.before } else { 0.0 };
            let after = if n + 1 == count { span.after } else { 0.0 };
            match weighed.last_mut() {
                Some(last) if n > 0 && last.thick == thick => (last.to, last.after) = (to, after),
                _ => weighed.push(Span { from, to, thick, before, after }),
            }
        }
    }
    weighed
}
