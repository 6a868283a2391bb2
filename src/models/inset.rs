//! A part of a drawing, enlarged in a circle.

use super::strokes::{Pen, Stroke, fine};
use crate::geometry::{Point, Size};

/// What is enlarged and where it is shown, in dots of the drawing.
#[derive(Clone, Debug, PartialEq)]
pub struct Inset {
    pub source: Point<f64>,
    pub source_radius: f64,
    pub centre: Point<f64>,
    pub radius: f64,
    pub strokes: Vec<Stroke>,
}

/// The corner of a drawing in which a circle hides least and does not touch what it enlarges.
pub fn corner(size: Size<f64>, radius: f64, source: Point<f64>, source_radius: f64, strokes: &[Stroke]) -> Option<Point<f64>> {
    let ends = |side: f64| [radius + 2.0, side - radius - 2.0];
    let mut best: Option<(usize, Point<f64>)> = None;
    for x in ends(size.width) {
        for y in ends(size.height) {
            let centre = Point::new(x, y);
            if centre.distance(source) < radius + source_radius + 8.0 {
                continue;
            }
            let inside = |stroke: &Stroke| places(stroke).into_iter().filter(|place| place.distance(centre) < radius).count();
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
fn places(stroke: &Stroke) -> Vec<Point<f64>> {
    let points: Vec<Point<f64>> = stroke.points.iter().map(|point| point.map(|side| f64::from(side) / 16.0)).collect();
    let mut all = Vec::new();
    for pair in points.windows(2) {
        let count = pair[0].distance(pair[1]).ceil().clamp(1.0, 4000.0) as usize;
        let at = |from: f64, to: f64, n: usize| from + (to - from) * n as f64 / count as f64;
        all.extend((0..count).map(|n| Point::new(at(pair[0].x, pair[1].x, n), at(pair[0].y, pair[1].y, n))));
    }
    all.extend(points.last());
    all
}

/// What of the strokes lies in a circle.
pub fn clipped(strokes: &[Stroke], centre: Point<f64>, radius: f64) -> Vec<Stroke> {
    let mut kept = Vec::new();
    for stroke in strokes {
        let mut run: Vec<Point<i32>> = Vec::new();
        for place in places(stroke) {
            if place.distance(centre) < radius {
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
pub fn circle(centre: Point<f64>, radius: f64) -> Vec<Point<i32>> {
    let at = |n: i32| {
        let angle = f64::from(n % 96) * std::f64::consts::PI / 48.0;
        fine(Point::new(centre.x + radius * libm::cos(angle), centre.y + radius * libm::sin(angle)))
    };
    (0..=96).map(at).collect()
}
