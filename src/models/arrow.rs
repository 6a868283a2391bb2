//! The arrow that shows the way of a part into its place.

use super::draw::Pens;
use crate::geometry::Point;

/// Its outline in dots, from where a part is to where it goes: a shaft and a head, as large as the way allows; none for a way that is too
/// short to be shown.
pub fn outline(from: Point<f64>, to: Point<f64>, pens: &Pens) -> Option<[Point<f64>; 7]> {
    let way = to - from;
    let long = way.length();
    if long < pens.thick * 8.0 {
        return None;
    }
    let (ux, uy) = (way.x / long, way.y / long);
    // It begins and ends a little inside the way.
    let (start, end) = (long * 0.12, long * 0.92);
    let head = ((end - start) * 0.38).min(pens.thick * 7.0);
    let (shaft, wing) = (head * 0.22, head * 0.52);
    let at = |along: f64, aside: f64| Point::new(from.x + ux * along - uy * aside, from.y + uy * along + ux * aside);
    let neck = end - head;
    Some([at(start, shaft), at(neck, shaft), at(neck, wing), at(end, 0.0), at(neck, -wing), at(neck, -shaft), at(start, -shaft)])
}
