//! Taking apart: an order and directions in which each part is free, and how far each goes so that all are seen.
//!
//! After Agrawala et al. 2003, "Designing effective step-by-step assembly instructions", and Li et al. 2008, "Automated generation of
//! interactive 3D exploded view diagrams": parts leave one after the other along the main axes, the one with the shortest way first;
//! put together in the opposite order, each stands clear of what it rests on and moves along with it.

use rayon::prelude::*;

use super::geometry::{Extent, Vec3, add, cross, dot, length, scale, sub};
use super::join::Mesh;
use super::seen;
use super::view::Axes;

#[derive(Clone, Copy)]
pub struct Piece<'m> {
    pub mesh: &'m Mesh,
    pub extent: Extent,
}

/// Cells a side of the field in which it is felt what is in a part's way.
const FIELD: usize = 48;
/// The field is larger than the part by so much of its sides, and what stands so many cells beside it counts as its surroundings.
const AROUND: f64 = 0.12;
const BESIDE: usize = 4;
/// A part is free when no more than this share of it, in percent, would touch: threads and press fits overlap a little.
const TOUCH: usize = 10;
/// Parts beyond these are left where they are.
const MOST: usize = 120;

/// Up first: things are put together from above.
const WAYS: [(usize, f64); 6] = [(2, 1.0), (1, -1.0), (0, 1.0), (0, -1.0), (1, 1.0), (2, -1.0)];

/// White between parts that were taken apart, in shares of the whole thing's size: the first at which enough of each part is seen.
const GAPS: [f64; 4] = [0.07, 0.1, 0.14, 0.2];
/// Of the whole thing's size: how far beyond what is there a part comes from in a step.
const COMING: f64 = 0.2;
/// So much of a part is enough.
const ENOUGH: f64 = 0.5;

/// Where a part went, mm from its place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Moved {
    pub by: Vec3,
    /// How far what it came out of moved: there its own way begins.
    pub from: Vec3,
    /// A point of it, in its place, where it touches that.
    pub touch: Vec3,
}

/// How far each part moves so that all are seen by a viewer. The largest stays.
pub fn explode(pieces: &[Piece], axes: &Axes) -> Vec<Moved> {
    if pieces.len() < 2 || pieces.len() > MOST {
        return pieces.iter().map(unmoved).collect();
    }
    let against = surroundings(pieces);
    let (left, order) = order(pieces, &against);
    let size = pieces.iter().fold(Extent::default(), |whole, piece| whole.join(piece.extent)).size();
    let mut best: Option<(usize, Vec<Moved>)> = None;
    for gap in GAPS {
        let moved = placed(pieces, &against, left.clone(), &order, gap * size);
        let hidden = seen::shares(&as_moved(pieces, &moved), axes).into_iter().filter(|share| *share < ENOUGH).count();
        if best.as_ref().is_none_or(|(known, _)| hidden < *known) {
            best = Some((hidden, moved));
        }
        if hidden == 0 {
            break;
        }
    }
    best.map_or_else(Vec::new, |(_, moved)| moved)
}

/// Each part and how far it was moved.
fn as_moved<'m>(pieces: &[Piece<'m>], moved: &[Moved]) -> Vec<(&'m Mesh, Vec3)> {
    pieces.iter().zip(moved).map(|(piece, moved)| (piece.mesh, moved.by)).collect()
}

fn unmoved(piece: &Piece) -> Moved {
    Moved { by: [0.0; 3], from: [0.0; 3], touch: piece.extent.middle() }
}

/// What stays, and what leaves, by number and way, the first first.
fn order(pieces: &[Piece], against: &[Vec<Around>]) -> (Vec<usize>, Vec<(usize, usize)>) {
    let volume = |piece: &Piece| (0..3).map(|axis| piece.extent.most[axis] - piece.extent.least[axis] + 1e-9).product::<f64>();
    let base = (0..pieces.len()).fold(0, |best, n| if volume(&pieces[n]) > volume(&pieces[best]) { n } else { best });
    let mut left: Vec<usize> = (0..pieces.len()).collect();
    let mut order: Vec<(usize, usize)> = Vec::new();
    while left.len() > 1 {
        let mut best: Option<(usize, f64, usize, usize)> = None;
        for &n in left.iter().filter(|n| **n != base) {
            for way in 0..WAYS.len() {
                let others = || left.iter().filter(|&&other| other != n).map(|&other| against[n][other].by(way));
                let blocked = others().filter(|met| met.blocked).count();
                // The way it goes until it is clear of all that is left.
                let reach = others().map(|met| met.clear).fold(0.0, f64::max);
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
    (left, order)
}

/// Puts the parts back in the opposite order, each clear of what is there by a gap.
fn placed(pieces: &[Piece], against: &[Vec<Around>], mut placed: Vec<usize>, order: &[(usize, usize)], gap: f64) -> Vec<Moved> {
    let mut moved: Vec<Moved> = pieces.iter().map(unmoved).collect();
    for &(n, way) in order.iter().rev() {
        let (axis, side) = WAYS[way];
        let met = |other: usize| against[n][other].by(way);
        // It moves along with what it rests on, or else stands next to.
        let beside = |other: usize| apart(&pieces[n].extent, &pieces[other].extent);
        let parent = placed.iter().copied().min_by(|&a, &b| {
            let near = |other: usize| (met(other).rests.min(gap), beside(other));
            let (a_near, b_near) = (near(a), near(b));
            a_near.0.total_cmp(&b_near.0).then(a_near.1.total_cmp(&b_near.1)).then(a.cmp(&b))
        });
        let from = parent.map_or([0.0; 3], |parent| moved[parent].by);
        let touch = parent.map(met).filter(|met| met.rests.is_finite()).map_or(moved[n].touch, |met| met.touch);
        let mut out = 0.0f64;
        for &other in &placed {
            let ahead = (moved[other].by[axis] - from[axis]) * side;
            out = out.max(met(other).clear + ahead + gap);
        }
        let mut by = from;
        by[axis] += out * side;
        moved[n] = Moved { by, from, touch };
        placed.push(n);
    }
    moved
}

/// Between two boxes, mm.
fn apart(one: &Extent, other: &Extent) -> f64 {
    let between = |axis: usize| (one.least[axis] - other.most[axis]).max(other.least[axis] - one.most[axis]).max(0.0);
    (0..3).map(|axis| between(axis) * between(axis)).sum::<f64>().sqrt()
}

/// The way, of the six along the axes, on which some parts together are freest of others, the shortest first, until they are clear of
/// them by a share of the whole thing's size.
pub fn free_way(pieces: &[Piece], parts: &[usize], others: &[usize]) -> Vec3 {
    let mut met: Vec<Around> = Vec::new();
    for &n in parts {
        let own = Own::all(&pieces[n]);
        met.extend(others.iter().map(|&other| around(&own, &pieces[other])));
    }
    let size = parts.iter().chain(others).fold(Extent::default(), |whole, &n| whole.join(pieces[n].extent)).size();
    let mut best: Option<(usize, f64, Vec3)> = None;
    for (way, &(axis, side)) in WAYS.iter().enumerate() {
        let blocked = met.iter().filter(|met| met.by(way).blocked).count();
        let reach = met.iter().map(|met| met.by(way).clear).fold(0.0, f64::max);
        let mut by = [0.0; 3];
        by[axis] = side * (reach + size * COMING);
        let key = (blocked, reach + way as f64 * 1e-6);
        if best.is_none_or(|(known, far, _)| key < (known, far)) {
            best = Some((key.0, key.1, by));
        }
    }
    best.map_or([0.0, 0.0, 1.0], |(_, _, by)| by)
}

/// Where a part, in its place, touches the nearest of others when it leaves on a way, and how near that is, mm; none when it leaves
/// nothing behind on that side.
pub fn touch(pieces: &[Piece], part: usize, others: &[usize], by: Vec3) -> Option<(f64, Vec3)> {
    let axis = (0..3).fold(0, |most, axis| if by[axis].abs() > by[most].abs() { axis } else { most });
    let own = Own::new(&pieces[part], axis);
    let met = others.iter().map(|&other| own.meets(&pieces[other])[usize::from(by[axis] < 0.0)]);
    let near = met.filter(|met| met.rests.is_finite()).min_by(|one, other| one.rests.total_cmp(&other.rests));
    near.map(|met| (met.rests, met.touch))
}

/// Moves that the writer chose. The way of each begins at what it lies against and that moved less.
pub fn by_hand(pieces: &[Piece], moves: &[Vec3]) -> Vec<Moved> {
    let size = pieces.iter().fold(Extent::default(), |whole, piece| whole.join(piece.extent)).size();
    let way = |n: usize, other: usize| sub(moves[n], moves[other]);
    let of = |n: usize| {
        let less = |other: usize| length(moves[other]) < length(moves[n]);
        let beside = |other: usize| other != n && apart(&pieces[n].extent, &pieces[other].extent) < size * 0.01;
        let nearest = (0..pieces.len())
            .filter(|&other| beside(other) && less(other))
            .min_by(|&a, &b| length(way(n, a)).total_cmp(&length(way(n, b))).then(a.cmp(&b)));
        let touch = nearest.and_then(|other| touch(pieces, n, &[other], way(n, other)));
        Moved {
            by: moves[n],
            from: nearest.map_or([0.0; 3], |other| moves[other]),
            touch: touch.map_or(pieces[n].extent.middle(), |(_, place)| place),
        }
    };
    (0..pieces.len()).map(of).collect()
}

/// What another part is to one that leaves along an axis, to one side.
#[derive(Clone, Copy, Debug)]
struct Met {
    /// In its way.
    blocked: bool,
    /// How far it goes until it is clear of it, mm; less than nothing when it is clear already.
    clear: f64,
    /// How far it stands above it, mm, and the middle of where that is least.
    rests: f64,
    touch: Vec3,
}

impl Met {
    const NOT: Met = Met { blocked: false, clear: f64::NEG_INFINITY, rests: f64::INFINITY, touch: [0.0; 3] };
}

/// By axis and side.
#[derive(Clone, Copy, Debug)]
struct Around([[Met; 2]; 3]);

impl Around {
    fn by(&self, way: usize) -> Met {
        let (axis, side) = WAYS[way];
        self.0[axis][usize::from(side < 0.0)]
    }
}

/// For each part and each other: what that is to it.
fn surroundings(pieces: &[Piece]) -> Vec<Vec<Around>> {
    let around = |n: usize| {
        let own = Own::all(&pieces[n]);
        let met = |other: usize| if other == n { Around([[Met::NOT; 2]; 3]) } else { around(&own, &pieces[other]) };
        (0..pieces.len()).map(met).collect()
    };
    (0..pieces.len()).into_par_iter().map(around).collect()
}

fn around(own: &[Own; 3], other: &Piece) -> Around {
    Around(own.each_ref().map(|own| own.meets(other)))
}

/// A part and its field along an axis, with what stands around it.
struct Own {
    extent: Extent,
    field: Field,
}

impl Own {
    fn new(piece: &Piece, axis: usize) -> Own {
        let extent = piece.extent;
        let margin: Vec3 = std::array::from_fn(|axis| (extent.most[axis] - extent.least[axis]) * AROUND);
        let over = Extent { least: sub(extent.least, margin), most: add(extent.most, margin) };
        Own { extent, field: Field::new(&over, axis, piece.mesh) }
    }

    fn all(piece: &Piece) -> [Own; 3] {
        std::array::from_fn(|axis| Own::new(piece, axis))
    }

    /// What another part is to this one, to both sides.
    fn meets(&self, other: &Piece) -> [Met; 2] {
        let Own { extent, field } = self;
        let (axis, over) = (field.axis, &field.over);
        let beside =
            |across: usize| over.least[across] >= other.extent.most[across] || other.extent.least[across] >= over.most[across];
        let mut met = [Met::NOT; 2];
        if (0..3).any(|across| across != axis && beside(across)) {
            return met;
        }
        let theirs = Field::new(over, axis, other.mesh);
        let (cells, near) = (field.filled().max(1), theirs.spread());
        let length = |extent: &Extent| extent.most[axis] - extent.least[axis];
        let slack = length(extent).min(length(&other.extent)) * 0.05 + 1e-6;
        let mut hits = [0, 0];
        let [up, down] = &mut met;
        let mut stands = [Vec::new(), Vec::new()];
        for n in (0..field.cells.len()).filter(|n| field.cells[*n][0] <= field.cells[*n][1]) {
            let (own, theirs, near) = (field.cells[n], theirs.cells[n], near.cells[n]);
            hits[0] += usize::from(theirs[0] <= theirs[1] && theirs[1] > own[0] + slack);
            hits[1] += usize::from(theirs[0] <= theirs[1] && theirs[0] < own[1] - slack);
            if near[0] <= near[1] {
                up.clear = up.clear.max(near[1] - own[0]);
                down.clear = down.clear.max(own[1] - near[0]);
                stands[0].push(((own[0] - near[1]).abs(), n, own[0]));
                stands[1].push(((near[0] - own[1]).abs(), n, own[1]));
            }
        }
        for (met, (stands, hits)) in met.iter_mut().zip(stands.iter().zip(hits)) {
            met.rests = stands.iter().map(|stand| stand.0).fold(f64::INFINITY, f64::min);
            let nearest = stands.iter().filter(|stand| stand.0 <= met.rests + slack);
            let (sum, count) =
                nearest.fold(([0.0; 3], 0.0), |(sum, count), stand| (add(sum, field.place(stand.1, stand.2)), count + 1.0));
            met.touch = scale(sum, 1.0 / f64::max(count, 1.0));
            met.blocked = hits * 100 > cells * TOUCH;
        }
        met
    }
}

/// How low and how high a mesh reaches along an axis, in cells of a rectangle across it.
struct Field {
    over: Extent,
    axis: usize,
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
        Field { over: *over, axis, cells }
    }

    /// The middle of a cell, at a height.
    fn place(&self, cell: usize, height: f64) -> Vec3 {
        let (u, v) = ((self.axis + 1) % 3, (self.axis + 2) % 3);
        let pitch = |side: usize| (self.over.most[side] - self.over.least[side]).max(1e-9) / FIELD as f64;
        let mut at = [height; 3];
        at[u] = self.over.least[u] + ((cell % FIELD) as f64 + 0.5) * pitch(u);
        at[v] = self.over.least[v] + ((cell / FIELD) as f64 + 0.5) * pitch(v);
        at
    }

    /// The lowest and the highest of each cell and those beside it.
    fn spread(&self) -> Field {
        let along = |cells: &[[f64; 2]], step: usize, count: usize| -> Vec<[f64; 2]> {
            let at = |n: usize| {
                let place = n / step % count;
                let (from, to) = (place.min(BESIDE), (count - 1 - place).min(BESIDE));
                let near = (0..=from + to).map(|k| cells[n + k * step - from * step]);
                near.fold([f64::INFINITY, f64::NEG_INFINITY], |sum, cell| [sum[0].min(cell[0]), sum[1].max(cell[1])])
            };
            (0..cells.len()).map(at).collect()
        };
        Field { cells: along(&along(&self.cells, 1, FIELD), FIELD, FIELD), ..*self }
    }

    fn filled(&self) -> usize {
        self.cells.iter().filter(|cell| cell[0] <= cell[1]).count()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::models::tests::block;

    fn meshes(soups: &[Vec<[[f32; 3]; 2]>]) -> Vec<Mesh> {
        let soup = |blocks: &Vec<[[f32; 3]; 2]>| blocks.iter().flat_map(|[least, most]| block(*least, *most)).collect::<Vec<_>>();
        soups.iter().map(|blocks| Mesh::join(&soup(blocks))).collect()
    }

    fn pieces(meshes: &[Mesh]) -> Vec<Piece<'_>> {
        let extent = |mesh: &Mesh| {
            let mut extent = Extent::default();
            mesh.vertices.iter().for_each(|&place| extent.hold(place));
            extent
        };
        meshes.iter().map(|mesh| Piece { mesh, extent: extent(mesh) }).collect()
    }

    fn corner() -> Axes {
        Axes::new(45.0, 35.264)
    }

    /// Agrawala et al. 2003, Li et al. 2008: what lies on top leaves first, and is drawn beyond what it lay on.
    #[test]
    fn a_stack_comes_apart_upwards_in_its_order() {
        let meshes = meshes(&[
            vec![[[0.0, 0.0, 22.0], [60.0, 40.0, 30.0]]],
            vec![[[0.0, 0.0, 0.0], [60.0, 40.0, 20.0]]],
            vec![[[0.0, 0.0, 20.0], [60.0, 40.0, 22.0]]],
        ]);
        let moved = explode(&pieces(&meshes), &corner());
        let [lid, base, gasket] = moved[..] else { panic!("three parts") };
        assert_eq!(base.by, [0.0; 3]);
        assert!(gasket.by[2] > 2.0 && gasket.by[..2] == [0.0, 0.0], "{gasket:?}");
        assert!(lid.by[2] > gasket.by[2] + 2.0 && lid.by[..2] == [0.0, 0.0], "{lid:?}");
        // The way of the lid begins at the gasket where that stands now.
        assert_eq!(lid.from, gasket.by);
        assert!((lid.touch[2] - 22.0).abs() < 1e-6 && (lid.touch[0] - 30.0).abs() < 2.0, "{lid:?}");
        let shares = seen::shares(&as_moved(&pieces(&meshes), &moved), &corner());
        assert!(shares.iter().all(|share| *share >= ENOUGH), "{shares:?}");
    }

    #[test]
    fn a_peg_goes_all_the_way_out_of_its_hole() {
        let around = [
            [[0.0, 0.0, 0.0], [60.0, 20.0, 30.0]],
            [[0.0, 30.0, 0.0], [60.0, 50.0, 30.0]],
            [[0.0, 20.0, 0.0], [25.0, 30.0, 30.0]],
            [[35.0, 20.0, 0.0], [60.0, 30.0, 30.0]],
        ];
        let meshes = meshes(&[around.to_vec(), vec![[[25.5, 20.5, 0.0], [34.5, 29.5, 30.0]]]]);
        let moved = explode(&pieces(&meshes), &corner());
        assert!(moved[1].by[2] > 30.0, "{moved:?}");
    }

    #[test]
    fn a_drawer_leaves_by_its_open_side() {
        let chest = [
            [[0.0, 0.0, 0.0], [60.0, 80.0, 5.0]],
            [[0.0, 0.0, 35.0], [60.0, 80.0, 40.0]],
            [[0.0, 0.0, 5.0], [5.0, 80.0, 35.0]],
            [[55.0, 0.0, 5.0], [60.0, 80.0, 35.0]],
            [[5.0, 75.0, 5.0], [55.0, 80.0, 35.0]],
        ];
        let meshes = meshes(&[chest.to_vec(), vec![[[6.0, 0.0, 6.0], [54.0, 74.0, 34.0]]]]);
        let pieces = pieces(&meshes);
        let way = free_way(&pieces, &[1], &[0]);
        assert!(way[0] == 0.0 && way[1] < -74.0 && way[2] == 0.0, "{way:?}");
        let moved = explode(&pieces, &corner());
        assert!(moved[1].by[1] < -74.0 && moved[1].by[0] == 0.0 && moved[1].by[2] == 0.0, "{moved:?}");
    }

    #[test]
    fn a_way_by_hand_begins_at_what_the_part_lay_on() {
        let meshes = meshes(&[
            vec![[[0.0, 0.0, 0.0], [60.0, 40.0, 20.0]]],
            vec![[[0.0, 0.0, 20.0], [60.0, 40.0, 22.0]]],
            vec![[[0.0, 0.0, 22.0], [60.0, 40.0, 30.0]]],
        ]);
        let moved = by_hand(&pieces(&meshes), &[[0.0; 3], [30.0, 0.0, 20.0], [30.0, 0.0, 40.0]]);
        assert_eq!((moved[1].from, moved[2].from), ([0.0; 3], [30.0, 0.0, 20.0]));
        assert!((moved[2].touch[2] - 22.0).abs() < 1e-6, "{moved:?}");
    }

    #[test]
    fn what_lies_apart_stays_where_it_is() {
        let meshes = meshes(&[vec![[[0.0; 3], [20.0; 3]]], vec![[[60.0, 60.0, 0.0], [75.0, 75.0, 15.0]]]]);
        assert!(explode(&pieces(&meshes), &corner()).iter().all(|moved| moved.by == [0.0; 3]));
    }
}
