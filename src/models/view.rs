//! Where the viewer stands. Parallel projection, as drawings of instructions have it: what is parallel stays parallel, what is equal stays equal.

use super::geometry::{Vec3, cross, dot};

/// The directions of a drawing in the space of the model, each of length 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Axes {
    pub right: Vec3,
    pub up: Vec3,
    /// From the model to the viewer.
    pub toward: Vec3,
}

impl Axes {
    /// `turn`: degrees the viewer walks to the right, from the front (-y) towards +x. `tilt`: degrees above the horizon.
    pub fn new(turn: f64, tilt: f64) -> Axes {
        let (turn, tilt) = (turn % 360.0, tilt.clamp(-90.0, 90.0));
        let ([st, ct], [sp, cp]) = (sine_cosine(turn), sine_cosine(tilt));
        let (right, toward) = ([ct, st, 0.0], [st * cp, -ct * cp, sp]);
        Axes { right, up: cross(toward, right), toward }
    }

    /// Right, down, away from the viewer, in dots when `scale` is dots a mm.
    pub fn project(&self, place: Vec3, scale: f64) -> Vec3 {
        [dot(place, self.right) * scale, -dot(place, self.up) * scale, -dot(place, self.toward) * scale]
    }
}

/// Exact where a draughtsman's views are, so that what is seen edge-on is edge-on.
fn sine_cosine(degrees: f64) -> [f64; 2] {
    let quarter = degrees / 90.0;
    if quarter == quarter.floor() {
        return [[0.0, 1.0], [1.0, 0.0], [0.0, -1.0], [-1.0, 0.0]][(quarter as i64).rem_euclid(4) as usize];
    }
    let angle = degrees * std::f64::consts::PI / 180.0;
    [libm::sin(angle), libm::cos(angle)]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ISO 5456-3, and geometry: three axes at 120 degrees to each other, each shortened to sqrt(2/3).
    #[test]
    fn the_isometric_view_shortens_all_axes_alike() {
        let axes = Axes::new(45.0, libm::atan(1.0 / 2.0f64.sqrt()) * 180.0 / std::f64::consts::PI);
        let seen = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]].map(|axis| axes.project(axis, 1.0));
        for [x, y, _] in seen {
            assert!((x.hypot(y) - (2.0f64 / 3.0).sqrt()).abs() < 1e-12);
        }
        // x runs to the right and up at 30 degrees from the front right, y too from the front left, z straight up.
        let slope = |[x, y, _]: Vec3| (y / x).atan().to_degrees();
        assert!((slope(seen[0]) - 30.0).abs() < 1e-9 || (slope(seen[0]) + 30.0).abs() < 1e-9, "{}", slope(seen[0]));
        assert!(seen[2][0].abs() < 1e-12 && seen[2][1] < 0.0);
    }

    #[test]
    fn the_viewer_walks_to_the_right() {
        assert_eq!(Axes::new(0.0, 0.0).toward, [0.0, -1.0, 0.0]);
        assert_eq!(Axes::new(90.0, 0.0).toward, [1.0, 0.0, 0.0]);
        assert_eq!(Axes::new(0.0, 90.0), Axes { right: [1.0, 0.0, 0.0], up: [0.0, 1.0, 0.0], toward: [0.0, 0.0, 1.0] });
    }
}
