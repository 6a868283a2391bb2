//! Taking apart: an order and directions in which each part is free, and how far each goes so that all are seen.
//!
//! After Agrawala et al. 2003, "Designing effective step-by-step assembly instructions", and Li et al. 2008, "Automated generation of
//! interactive 3D exploded view diagrams": parts leave one after the other along the main axes, the one with the shortest way first;
//! put together in the opposite order, each stands clear of what it rests on and moves along with it.

use rayon::prelude::*;

use super::geometry::{Extent, Vec3, cross, dot, sub};
use super::join::Mesh;

#[derive(Clone, Copy)]
pub struct Piece<'m> {
    pub mesh: &'m Mesh,
    pub extent: Extent,
}

/// Cells a side of the field in which it is felt what is in a part's way.
const FIELD: usize = 48;
/// A part is free when no more than this share of it, in percent, would touch: threads and press fits overlap a little.
const TOUCH: usize = 10;
/// Parts beyond these are left where they are.
const MOST: usize = 120;

/// Up first: things are put together from above.
const WAYS: [(usize, f64); 6] = [(2, 1.0), (1, -1.0), (0, 1.0), (0, -1.0), (1, 1.0), (2, -1.0)];

/// How far each part moves, mm. The largest stays.
pub fn explode(pieces: &[Piece]) -> Vec<Vec3> {
    let mut moves = vec![[0.0; 3]; pieces.len()];
    if pieces.len() < 2 || pieces.len() > MOST {
        return moves;
    }
    let volume = |piece: &Piece| (0..3).map(|axis| piece.extent.most[axis] - piece.extent.least[axis] + 1e-9).product::<f64>();
    let base = (0..pieces.len()).fold(0, |best, n| if volume(&pieces[n]) > volume(&pieces[best]) { n } else { best });
    let ways: Vec<Vec<[Vec<bool>; 2]>> = blocking(pieces);
    let mut left: Vec<usize> = (0..pieces.len()).collect();
    let mut order: Vec<(usize, usize)> = Vec::new();
    while left.len() > 1 {
        let mut best: Option<(usize, f64, usize, usize)> = None;
        for &n in left.iter().filter(|n| **n != base) {
            for (way, &(axis, side)) in WAYS.iter().enumerate() {
                let blocked = left.iter().filter(|&&other| other != n && ways[n][axis][usize::from(side < 0.0)][other]).count();
                // The way it goes until it is clear of all that is left.
                let reach = left
                    .iter()
                    .filter(|&&other| other != n)
                    .map(|&other| clear(&pieces[n].extent, &pieces[other].extent, axis, side))
                    .fold(0.0, f64::max);
                let key = (blocked, reach + way as f64 * 1e-6, n, way);
                if best.is_none_or(|best| (key.0, key.1, key.2) < (best.0, best.1, best.2)) {
                    best = Some(key);
                }
            }
        }
        let Some((_, _, n, way)) = best else { break };
        order.push((n, way));
        left.retain(|other| *other != n);
    }
    let whole = pieces.iter().fold(Extent::default(), |whole, piece| whole.join(piece.extent));
    let gap = whole.size() * 0.09;
    let mut placed = left;
    for &(n, way) in order.iter().rev() {
        let (axis, side) = WAYS[way];
        let under = |other: usize| {
            let (a, b) = (&pieces[n].extent, &pieces[other].extent);
            (0..3).all(|across| across == axis || (a.least[across] < b.most[across] && b.least[across] < a.most[across]))
        };
        let rests = |other: usize| if side > 0.0 { pieces[other].extent.most[axis] } else { -pieces[other].extent.least[axis] };
        // It moves along with what it rests on.
        let parent = placed.iter().copied().filter(|&other| under(other)).max_by(|&a, &b| {
            let own = if side > 0.0 { pieces[n].extent.least[axis] } else { -pieces[n].extent.most[axis] };
            let far = |other: usize| -(rests(other) - own).abs();
            far(a).total_cmp(&far(b)).then(b.cmp(&a))
        });
        let mut by = parent.map_or([0.0; 3], |parent| moves[parent]);
        let mut out = gap;
        for &other in placed.iter().filter(|other| under(**other)) {
            let ahead = moves[other][axis] * side - by[axis] * side;
            out = out.max(clear(&pieces[n].extent, &pieces[other].extent, axis, side) + ahead + gap);
        }
        by[axis] += out * side;
        moves[n] = by;
        placed.push(n);
    }
    moves
}

/// The way one box goes along an axis until it is clear of another.
fn clear(one: &Extent, other: &Extent, axis: usize, side: f64) -> f64 {
    let way = if side > 0.0 { other.most[axis] - one.least[axis] } else { one.most[axis] - other.least[axis] };
    way.max(0.0)
}

/// The direction, of the six along the axes, in which a part is freest of the others, shortest way first.
pub fn free_way(pieces: &[Piece], part: usize) -> Vec3 {
    let ways = &blocking(pieces)[part];
    let mut best: Option<(usize, f64, Vec3)> = None;
    for (way, &(axis, side)) in WAYS.iter().enumerate() {
        let blocked = ways[axis][usize::from(side < 0.0)].iter().filter(|blocked| **blocked).count();
        let others = (0..pieces.len()).filter(|other| *other != part);
        let reach = others.map(|other| clear(&pieces[part].extent, &pieces[other].extent, axis, side)).fold(0.0, f64::max);
        let mut direction = [0.0; 3];
        direction[axis] = side;
        let key = (blocked, reach + way as f64 * 1e-6);
        if best.is_none_or(|(known, far, _)| key < (known, far)) {
            best = Some((key.0, key.1, direction));
        }
    }
    best.map_or([0.0, 0.0, 1.0], |(_, _, direction)| direction)
}

/// For each part, axis and side (up, down): which others are in its way.
fn blocking(pieces: &[Piece]) -> Vec<Vec<[Vec<bool>; 2]>> {
    (0..pieces.len())
        .into_par_iter()
        .map(|n| {
            (0..3)
                .map(|axis| {
                    let field = |mesh: &Mesh| Field::new(&pieces[n].extent, axis, mesh);
                    let own = field(pieces[n].mesh);
                    let cells = own.filled().max(1);
                    let mut blocked = [vec![false; pieces.len()], vec![false; pieces.len()]];
                    for (other, piece) in pieces.iter().enumerate().filter(|(other, _)| *other != n) {
                        let (a, b) = (&pieces[n].extent, &piece.extent);
                        let apart = (0..3).any(|across| {
                            across != axis && (a.least[across] >= b.most[across] || b.least[across] >= a.most[across])
                        });
                        if apart {
                            continue;
                        }
                        let theirs = field(piece.mesh);
                        let slack = (a.most[axis] - a.least[axis]).min(b.most[axis] - b.least[axis]) * 0.05 + 1e-6;
                        let hits = |test: &dyn Fn(&[f64; 2], &[f64; 2]) -> bool| {
                            own.cells
                                .iter()
                                .zip(&theirs.cells)
                                .filter(|(own, theirs)| own[0] <= own[1] && theirs[0] <= theirs[1] && test(own, theirs))
                                .count()
                        };
                        blocked[0][other] = hits(&|own, theirs| theirs[1] > own[0] + slack) * 100 > cells * TOUCH;
                        blocked[1][other] = hits(&|own, theirs| theirs[0] < own[1] - slack) * 100 > cells * TOUCH;
                    }
                    blocked
                })
                .collect()
        })
        .collect()
}

/// How low and how high a mesh reaches along an axis, in cells of a rectangle across it.
struct Field {
    cells: Vec<[f64; 2]>,
}

impl Field {
    fn new(over: &Extent, axis: usize, mesh: &Mesh) -> Field {
        let (u, v) = ((axis + 1) % 3, (axis + 2) % 3);
        let mut cells = vec![[f64::INFINITY, f64::NEG_INFINITY]; FIELD * FIELD];
        let pitch = |side: usize| (over.most[side] - over.least[side]).max(1e-9) / FIELD as f64;
        let (du, dv) = (pitch(u), pitch(v));
        for face in &mesh.faces {
            let corners = face.map(|corner| mesh.vertices[corner as usize]);
            let range = |side: usize, pitch: f64| {
                let low = corners.iter().map(|corner| corner[side]).fold(f64::INFINITY, f64::min);
                let high = corners.iter().map(|corner| corner[side]).fold(f64::NEG_INFINITY, f64::max);
                let cell = |place: f64| ((place - over.least[side]) / pitch - 0.5).clamp(-1.0, FIELD as f64);
                (cell(low).ceil().max(0.0) as usize, (cell(high).floor() + 1.0).max(0.0) as usize)
            };
            let normal = cross(sub(corners[1], corners[0]), sub(corners[2], corners[0]));
            if normal[axis].abs() < 1e-12 {
                continue;
            }
            let ((u0, u1), (v0, v1)) = (range(u, du), range(v, dv));
            for row in v0..v1.min(FIELD) {
                for column in u0..u1.min(FIELD) {
                    let mut at = corners[0];
                    at[u] = over.least[u] + (column as f64 + 0.5) * du;
                    at[v] = over.least[v] + (row as f64 + 0.5) * dv;
                    let out = sub(at, corners[0]);
                    at[axis] -= dot(out, normal) / normal[axis];
                    let inside = (0..3).all(|n| {
                        let (a, b) = (corners[n], corners[(n + 1) % 3]);
                        dot(cross(sub(b, a), sub(at, a)), normal) >= -1e-12
                    });
                    if inside {
                        let cell = &mut cells[row * FIELD + column];
                        cell[0] = cell[0].min(at[axis]);
                        cell[1] = cell[1].max(at[axis]);
                    }
                }
            }
        }
        Field { cells }
    }

    fn filled(&self) -> usize {
        self.cells.iter().filter(|cell| cell[0] <= cell[1]).count()
    }
}
