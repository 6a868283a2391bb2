//! What a drawing is made of when it leaves this room.

use super::geometry::Vec3;
use crate::geometry::Point;

/// Positions are in sixteenths of a dot, as those of every outline.
pub const SUBDOTS: i32 = 16;

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Pen {
    /// Tone: below everything else.
    Hatch,
    /// A line that shows what is behind (broken).
    Ghost,
    /// The way a part travels: long dashes and points.
    Way,
    Thin,
    Thick,
}

/// A polyline with round joins and ends.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stroke {
    pub pen: Pen,
    pub points: Vec<Point<i32>>,
}

/// Sixteenths of a dot.
pub fn fine(place: Point<f64>) -> Point<i32> {
    place.map(|side| (side * f64::from(SUBDOTS)).round().clamp(-1e8, 1e8) as i32)
}

pub fn flat(place: Vec3) -> Point<f64> {
    Point::new(place[0], place[1])
}

/// A polyline of which parts are on and off by turns: `pattern` gives their lengths, on first. Every dash is a polyline.
pub fn broken(points: &[Point<f64>], pattern: &[f64]) -> Vec<Vec<Point<f64>>> {
    let mut dashes = Vec::new();
    let (mut at, mut left, mut on) = (0, pattern[0], true);
    let Some(&first) = points.first() else { return dashes };
    let mut dash = vec![first];
    for pair in points.windows(2) {
        let long = pair[0].distance(pair[1]);
        let mut done = 0.0;
        while long - done > left {
            done += left;
            let t = done / long;
            let place = pair[0].towards(pair[1], t);
            if on {
                dash.push(place);
                dashes.push(std::mem::take(&mut dash));
            } else {
                dash = vec![place];
            }
            on = !on;
            at = (at + 1) % pattern.len();
            left = pattern[at];
        }
        left -= long - done;
        if on {
            dash.push(pair[1]);
        }
    }
    if on && dash.len() > 1 {
        dashes.push(dash);
    }
    dashes
}
