//! How much of each part a viewer sees, roughly: from a small picture of depths. Decides how far parts are moved apart, never a line.

use rayon::prelude::*;

use super::geometry::{Extent, Vec3, add};
use super::join::Mesh;
use super::view::Axes;

/// The longer side of the picture, cells.
const CELLS: f64 = 240.0;
/// Of what is so small, in cells, nothing can be said.
const LEAST: usize = 6;

/// The depths of one part, nothing where it is not, and where its upper left corner stands in the picture.
struct Shadow {
    left: usize,
    top: usize,
    wide: usize,
    depth: Vec<f64>,
}

/// The share of each part that is seen, from 0 to 1, when each is moved by so much.
pub fn shares(parts: &[(&Mesh, Vec3)], axes: &Axes) -> Vec<f64> {
    let each: Vec<Vec<Vec3>> = parts
        .par_iter()
        .map(|(mesh, by)| mesh.vertices.iter().map(|&place| axes.project(add(place, *by), 1.0)).collect())
        .collect();
    let mut whole = Extent::default();
    each.iter().flatten().for_each(|&place| whole.hold(place));
    let scale = CELLS / (whole.most[0] - whole.least[0]).max(whole.most[1] - whole.least[1]).max(1e-9);
    let place = |at: Vec3| [(at[0] - whole.least[0]) * scale, (at[1] - whole.least[1]) * scale, at[2]];
    let shadows: Vec<Shadow> = each
        .par_iter()
        .zip(parts)
        .map(|(seen, (mesh, _))| {
            let seen: Vec<Vec3> = seen.iter().map(|&at| place(at)).collect();
            shadow(&seen, &mesh.faces)
        })
        .collect();
    let across = CELLS as usize + 2;
    let mut nearest = vec![f64::INFINITY; across * across];
    let cells = |shadow: &Shadow, n: usize| (shadow.top + n / shadow.wide) * across + shadow.left + n % shadow.wide;
    for shadow in &shadows {
        for (n, depth) in shadow.depth.iter().enumerate() {
            let known = &mut nearest[cells(shadow, n)];
            *known = known.min(*depth);
        }
    }
    let share = |shadow: &Shadow| {
        let own = shadow.depth.iter().enumerate().filter(|(_, depth)| depth.is_finite());
        let (mut all, mut seen) = (0, 0);
        own.for_each(|(n, depth)| {
            all += 1;
            seen += usize::from(*depth <= nearest[cells(shadow, n)]);
        });
        if all < LEAST { 1.0 } else { seen as f64 / all as f64 }
    };
    shadows.iter().map(share).collect()
}

fn shadow(seen: &[Vec3], faces: &[[u32; 3]]) -> Shadow {
    let mut extent = Extent::default();
    seen.iter().for_each(|&place| extent.hold(place));
    if extent.is_empty() {
        return Shadow { left: 0, top: 0, wide: 1, depth: Vec::new() };
    }
    let (left, top) = (extent.least[0] as usize, extent.least[1] as usize);
    let (wide, high) = (extent.most[0] as usize + 1 - left, extent.most[1] as usize + 1 - top);
    let mut depth = vec![f64::INFINITY; wide * high];
    for face in faces {
        let [a, b, c] = face.map(|corner| seen[corner as usize]);
        let area = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
        if area.abs() < 1e-9 {
            continue;
        }
        let range = |side: usize, first: usize, count: usize| {
            let low = (a[side].min(b[side]).min(c[side]) - 0.5).ceil().max(0.0) as usize;
            let high = (a[side].max(b[side]).max(c[side]) + 0.5).floor().max(0.0) as usize;
            low.max(first)..high.min(first + count)
        };
        for row in range(1, top, high) {
            for column in range(0, left, wide) {
                let (x, y) = (column as f64 + 0.5, row as f64 + 0.5);
                let part = |p: Vec3, q: Vec3| ((q[0] - p[0]) * (y - p[1]) - (q[1] - p[1]) * (x - p[0])) / area;
                let (u, v, w) = (part(b, c), part(c, a), part(a, b));
                if u >= 0.0 && v >= 0.0 && w >= 0.0 {
                    let known = &mut depth[(row - top) * wide + column - left];
                    *known = known.min(u * a[2] + v * b[2] + w * c[2]);
                }
            }
        }
    }
    Shadow { left, top, wide, depth }
}
