//! A part of a drawing, enlarged in a circle.

use super::strokes::{Pen, Stroke, distance, fine};

/// What is enlarged and where it is shown, in dots of the drawing.
#[derive(Clone, Debug, PartialEq)]
pub struct Inset {
    pub source: [f64; 2],
    pub source_radius: f64,
    pub centre: [f64; 2],
    pub radius: f64,
    pub strokes: Vec<Stroke>,
}

/// The corner of a drawing in which a circle hides least and does not touch what it enlarges.
pub fn corner(size: [f64; 2], radius: f64, source: [f64; 2], source_radius: f64, strokes: &[Stroke]) -> Option<[f64; 2]> {
    let ends = |side: usize| [radius + 2.0, size[side] - radius - 2.0];
    let mut best: Option<(usize, [f64; 2])> = None;
    for x in ends(0) {
        for y in ends(1) {
            let centre = [x, y];
            if distance(centre, source) < radius + source_radius + 8.0 {
                continue;
            }
            let inside = |stroke: &Stroke| places(stroke).into_iter().filter(|place| distance(*place, centre) < radius).count();
            // What is new in a step is thick, and must not be hidden.
            let weight = |stroke: &Stroke| if stroke.pen == Pen::Thick { 8 } else { 1 };
            let hidden: usize = strokes.iter().map(|stroke| inside(stroke) * weight(stroke)).sum();
            if best.is_none_or(|(known, _)| hidden < known) {
                best = Some((hidden, centre));
            }
        }
    }
    best.map(|(_, centre)| centre)
}

/// Points along a stroke, about a dot apart.
fn places(stroke: &Stroke) -> Vec<[f64; 2]> {
    let points: Vec<[f64; 2]> = stroke.points.iter().map(|point| point.map(|side| f64::from(side) / 16.0)).collect();
    let mut all = Vec::new();
    for pair in points.windows(2) {
        let count = distance(pair[0], pair[1]).ceil().clamp(1.0, 4000.0) as usize;
        let at = |n: usize, side: usize| pair[0][side] + (pair[1][side] - pair[0][side]) * n as f64 / count as f64;
        all.extend((0..count).map(|n| [at(n, 0), at(n, 1)]));
    }
    all.extend(points.last());
    all
}

/// What of the strokes lies in a circle.
pub fn clipped(strokes: &[Stroke], centre: [f64; 2], radius: f64) -> Vec<Stroke> {
    let mut kept = Vec::new();
    for stroke in strokes {
        let mut run: Vec<[i32; 2]> = Vec::new();
        for place in places(stroke) {
            if distance(place, centre) < radius {
                run.push(fine(place));
                continue;
            }
            if run.len() > 1 {
                kept.push(Stroke { pen: stroke.pen, points: std::mem::take(&mut run) });
            }
            run.clear();
        }
        if run.len() > 1 {
            kept.push(Stroke { pen: stroke.pen, points: run });
        }
    }
    kept
}

/// A circle as a polyline.
pub fn circle(centre: [f64; 2], radius: f64) -> Vec<[i32; 2]> {
    let at = |n: i32| {
        let angle = f64::from(n % 96) * std::f64::consts::PI / 48.0;
        fine([centre[0] + radius * libm::cos(angle), centre[1] + radius * libm::sin(angle)])
    };
    (0..=96).map(at).collect()
}
