//! The arrow that shows the way of a part into its place.

use super::draw::Pens;

/// Its outline in dots, from where a part is to where it goes: a shaft and a head, as large as the way allows; none for a way that is too
/// short to be shown.
pub fn outline(from: [f64; 2], to: [f64; 2], pens: &Pens) -> Option<[[f64; 2]; 7]> {
    let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
    let long = (dx * dx + dy * dy).sqrt();
    if long < pens.thick * 8.0 {
        return None;
    }
    let (ux, uy) = (dx / long, dy / long);
    // It begins and ends a little inside the way.
    let (start, end) = (long * 0.12, long * 0.92);
    let head = ((end - start) * 0.38).min(pens.thick * 7.0);
    let (shaft, wing) = (head * 0.22, head * 0.52);
    let at = |along: f64, aside: f64| [from[0] + ux * along - uy * aside, from[1] + uy * along + ux * aside];
    let neck = end - head;
    Some([at(start, shaft), at(neck, shaft), at(neck, wing), at(end, 0.0), at(neck, -wing), at(neck, -shaft), at(start, -shaft)])
}
