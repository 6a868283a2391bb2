//! Which lines a model has from where the viewer stands: outlines and silhouettes, edges sharper than 30 degrees, borders of open meshes.
//! Asked of the triangles as they are seen, not of which way round their corners go.

use rayon::prelude::*;

use super::geometry::{Vec3, cross, dot, sub};
use super::join::{Mesh, NONE};

/// Cosine of 30 degrees: edges that bend less belong to something round.
const SMOOTH: f64 = 0.866_025_403_784_438_6;

/// Cosine of 50 degrees.
const SHARP: f64 = 0.642_787_609_686_539_3;

/// Cosine of 17 degrees.
const FAINT: f64 = 0.956_304_755_963_035_5;

#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Kind {
    /// All that is seen of the line's faces lies on one side; the other, given as a direction of length 1 on the drawing, is open.
    Edge { open: [f64; 2] },
    /// Two faces that meet at an angle, or a line where parts meet.
    Crease,
    /// Two faces that meet at 30 degrees or a little more: drawn, but for a short bit of it that hangs loose on a surface.
    Slight,
    /// Two faces that meet at less than 30 degrees, but nearly: drawn only where it closes a gap between creases.
    Faint,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line {
    /// Vertices of the scene.
    pub ends: [u32; 2],
    pub kind: Kind,
    /// Faces on the line, of the scene: these never hide it. The first few are enough.
    pub faces: [u32; 4],
    pub part: u16,
}

/// The lines of a mesh whose vertices stand in the scene from `first` on, its faces from `first_face` on. `seen` are all vertices of
/// the scene.
pub fn find(mesh: &Mesh, seen: &[Vec3], first: u32, first_face: u32, part: u16) -> Vec<Line> {
    let chunks: Vec<Vec<Line>> = mesh
        .edges
        .par_chunks(8192)
        .map(|edges| {
            let mut room = [NONE; 2];
            let mut found = Vec::new();
            for edge in edges {
                let faces = mesh.faces_of(edge, &mut room);
                if let Some(kind) = kind(mesh, edge.ends, faces, seen, first) {
                    let mut own = [NONE; 4];
                    own.iter_mut().zip(faces).for_each(|(own, face)| *own = face + first_face);
                    found.push(Line { ends: edge.ends.map(|v| v + first), kind, faces: own, part });
                }
            }
            found
        })
        .collect();
    chunks.into_iter().flatten().collect()
}

/// The face on one side of an edge that is nearest to the viewer.
#[derive(Clone, Copy)]
struct Side {
    slope: f64,
    face: u32,
}

fn kind(mesh: &Mesh, ends: [u32; 2], faces: &[u32], seen: &[Vec3], first: u32) -> Option<Kind> {
    let at = |v: u32| seen[(v + first) as usize];
    let (p, q) = (at(ends[0]), at(ends[1]));
    let along = [q[0] - p[0], q[1] - p[1]];
    let long = (along[0] * along[0] + along[1] * along[1]).sqrt();
    // Seen from its end it is a point.
    if long < 1e-7 {
        return None;
    }
    let (mut left, mut right): (Option<Side>, Option<Side>) = (None, None);
    for &face in faces {
        // The corner farthest from the line, seen on the drawing: of an edge that was cut, the face's other corners may lie on it.
        let mut far: Option<(f64, f64)> = None;
        for corner in mesh.faces[face as usize] {
            if corner == ends[0] || corner == ends[1] {
                continue;
            }
            let w = at(corner);
            let out = [w[0] - p[0], w[1] - p[1]];
            let off = (along[0] * out[1] - along[1] * out[0]) / long;
            let t = (along[0] * out[0] + along[1] * out[1]) / (long * long);
            if far.is_none_or(|(known, _)| off.abs() > known.abs()) {
                far = Some((off, w[2] - (p[2] + (q[2] - p[2]) * t)));
            }
        }
        let Some((off, deeper)) = far else { continue };
        // A face seen edge-on is on no side.
        if off.abs() < 1e-6 * (long + deeper.abs()) {
            continue;
        }
        let side = Side { slope: deeper / off.abs(), face };
        let place = if off > 0.0 { &mut left } else { &mut right };
        if place.is_none_or(|known| side.slope < known.slope) {
            *place = Some(side);
        }
    }
    let across = [-along[1] / long, along[0] / long];
    match (left, right) {
        (Some(one), Some(other)) => {
            // Two faces of one surface bend by the difference of their slopes; normals that look to the viewer tell the angle.
            let (n, m) = (facing(mesh, one.face, seen, first), facing(mesh, other.face, seen, first));
            let (cosine, whole) = (dot(n, m), (dot(n, n) * dot(m, m)).sqrt());
            match () {
                () if cosine < SHARP * whole => Some(Kind::Crease),
                () if cosine < SMOOTH * whole => Some(Kind::Slight),
                () if cosine < FAINT * whole => Some(Kind::Faint),
                () => None,
            }
        }
        (Some(_), None) => Some(Kind::Edge { open: [-across[0], -across[1]] }),
        (None, Some(_)) => Some(Kind::Edge { open: across }),
        // All edge-on: something flat seen from its side.
        (None, None) => Some(Kind::Edge { open: across }),
    }
}

/// The normal that points to the viewer, of any length.
fn facing(mesh: &Mesh, face: u32, seen: &[Vec3], first: u32) -> Vec3 {
    let [a, b, c] = mesh.faces[face as usize].map(|v| seen[(v + first) as usize]);
    let normal = cross(sub(b, a), sub(c, a));
    if normal[2] > 0.0 { normal.map(|side| -side) } else { normal }
}
