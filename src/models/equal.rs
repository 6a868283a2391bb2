//! Whether two parts are the same thing placed differently. Copies of one body keep the order of their triangles in every export that
//! was seen; what was cut into triangles anew counts as another thing.

use super::geometry::{Vec3, cross, dot, length, sub};
use super::join::Mesh;

/// Lengths that differ by less than this share of the part's size are equal: files keep six or seven figures.
const NEAR: f64 = 2e-4;

/// Turned and moved, but neither mirrored nor scaled: a left bracket is no right one.
pub fn equal(one: &Mesh, other: &Mesh) -> bool {
    if one.vertices.len() != other.vertices.len() || one.faces != other.faces {
        return false;
    }
    let Some(frame) = frame(&one.vertices) else { return false };
    let (a, b) = (&one.vertices, &other.vertices);
    let near = length(sub(a[frame[1]], a[frame[0]])) * NEAR;
    // Places are known by how far they are from four that do not lie in a plane.
    let alike = |n: usize| frame.iter().all(|&fixed| (length(sub(a[n], a[fixed])) - length(sub(b[n], b[fixed]))).abs() <= near);
    let side = |places: &[Vec3]| {
        let [o, p, q, r] = frame.map(|n| places[n]);
        dot(cross(sub(p, o), sub(q, o)), sub(r, o))
    };
    (0..a.len()).all(alike) && (frame[3] == frame[0] || side(a) * side(b) > 0.0)
}

/// Four places far from each other; the fourth is the first again when all lie in a plane.
fn frame(places: &[Vec3]) -> Option<[usize; 4]> {
    let farthest = |from: &dyn Fn(Vec3) -> f64| {
        let far = (0..places.len()).map(|n| (from(places[n]), n));
        far.fold((0.0, 0), |best, far| if far.0 > best.0 { far } else { best })
    };
    let first = *places.first()?;
    let (long, p) = farthest(&|at| length(sub(at, first)));
    let along = sub(places[p], first);
    let (wide, q) = farthest(&|at| length(cross(along, sub(at, first))));
    if long <= 0.0 || wide <= 0.0 {
        return None;
    }
    let across = cross(along, sub(places[q], first));
    let (deep, r) = farthest(&|at| dot(across, sub(at, first)).abs());
    Some([0, p, q, if deep > length(across) * long * 1e-3 { r } else { 0 }])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::models::tests::block;

    #[test]
    fn a_part_is_itself_turned_and_moved_but_not_mirrored() {
        let mut soup = block([0.0; 3], [10.0, 20.0, 30.0]);
        soup.extend(block([1.0, 2.0, 30.0], [4.0, 5.0, 33.0]));
        let mesh = Mesh::join(&soup);
        let (sine, cosine) = (0.6f32, 0.8f32);
        let turned: Vec<_> =
            soup.iter().map(|[x, y, z]| [cosine * x - sine * z + 5.0, *y - 40.0, sine * x + cosine * z]).collect();
        let mirrored: Vec<_> = soup.iter().map(|[x, y, z]| [-x, *y, *z]).collect();
        let longer: Vec<_> = soup.iter().map(|[x, y, z]| [*x, *y, z * 1.01]).collect();
        assert!(equal(&mesh, &Mesh::join(&soup)));
        assert!(equal(&mesh, &Mesh::join(&turned)));
        assert!(!equal(&mesh, &Mesh::join(&mirrored)));
        assert!(!equal(&mesh, &Mesh::join(&longer)));
    }
}
