//! A soup of triangles to a joined mesh: corners that are one place become one vertex, edges know their faces, and what real files
//! have wrong is mended: corners that nearly meet, edges that others end on, triangles without area or there twice.
//!
//! Nothing here trusts the order of a triangle's corners: many files have it wrong.

use super::geometry::{Vec3, cross, dot, length, scale, sub};

/// No vertex, no face.
pub const NONE: u32 = u32::MAX;

/// Border corners nearer than this share of the part's size are one place.
const NEAR: f64 = 1e-4;

#[derive(Debug, Default)]
pub struct Mesh {
    pub vertices: Vec<Vec3>,
    pub faces: Vec<[u32; 3]>,
    pub edges: Vec<Edge>,
    /// Faces of edges at which more than two meet.
    pub crowded: Vec<Vec<u32>>,
    /// The body each face belongs to: faces that hang together by edges. Counted from 0.
    pub shells: Vec<u32>,
    pub mended: Mended,
}

/// A straight piece of edge between two vertices and the faces on it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Edge {
    pub ends: [u32; 2],
    pub faces: Faces,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Faces {
    One(u32),
    Two(u32, u32),
    /// Index into [`Mesh::crowded`].
    More(u32),
}

/// What was wrong with a part.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Mended {
    /// Triangles without area.
    pub flat: u32,
    /// Triangles that were there twice.
    pub twice: u32,
    /// Corners moved to one that was near.
    pub pulled: u32,
    /// Edges that others ended on.
    pub split: u32,
    /// Edges at which only one triangle is, after mending.
    pub open: u32,
}

impl Mesh {
    pub fn faces_of<'m>(&'m self, edge: &'m Edge, room: &'m mut [u32; 2]) -> &'m [u32] {
        match edge.faces {
            Faces::One(a) => {
                room[0] = a;
                &room[..1]
            }
            Faces::Two(a, b) => {
                *room = [a, b];
                &room[..]
            }
            Faces::More(at) => &self.crowded[at as usize],
        }
    }

    /// Joins a soup, three corners a triangle.
    pub fn join(corners: &[[f32; 3]]) -> Mesh {
        let (mut vertices, index) = weld(corners);
        let mut mesh = Mesh::default();
        mesh.faces.reserve(index.len() / 3);
        for face in index.chunks_exact(3) {
            push_face(&mut mesh, [face[0], face[1], face[2]], &vertices);
        }
        drop(index);
        let mut found = edges(vertices.len(), &mesh.faces);
        if found.iter().any(|(_, faces)| faces.len() > 2) && drop_twins(&mut mesh) {
            found = edges(vertices.len(), &mesh.faces);
        }
        if found.iter().any(|(_, faces)| faces.len() == 1) && pull_borders(&mut mesh, &mut vertices, &found) {
            drop_twins(&mut mesh);
            found = edges(vertices.len(), &mesh.faces);
        }
        mesh.vertices = vertices;
        mesh.edges.reserve(found.count());
        for (ends, faces) in found.iter() {
            mesh.push_edge(ends, faces);
        }
        drop(found);
        mesh.split_borders();
        mesh.find_shells();
        mesh.mended.open = mesh.edges.iter().filter(|edge| matches!(edge.faces, Faces::One(_))).count() as u32;
        mesh
    }

    fn push_edge(&mut self, ends: [u32; 2], faces: &[u32]) {
        let faces = match *faces {
            [one] => Faces::One(one),
            [one, other] => Faces::Two(one, other),
            _ => {
                self.crowded.push(faces.to_vec());
                Faces::More(self.crowded.len() as u32 - 1)
            }
        };
        self.edges.push(Edge { ends, faces });
    }

    /// Border edges that other border vertices lie on are cut there, so that both sides of a T-joint find each other.
    fn split_borders(&mut self) {
        let border: Vec<usize> = (0..self.edges.len()).filter(|&n| matches!(self.edges[n].faces, Faces::One(_))).collect();
        if border.is_empty() {
            return;
        }
        let near = self.near();
        let mut ends: Vec<u32> = border.iter().flat_map(|&n| self.edges[n].ends).collect();
        ends.sort_unstable();
        ends.dedup();
        // Vertices in order along the axis the part is longest in: those near an edge are a short stretch of them.
        let axis = self.longest_axis(&ends);
        ends.sort_by(|&a, &b| self.vertices[a as usize][axis].total_cmp(&self.vertices[b as usize][axis]).then(a.cmp(&b)));
        let mut pieces: Vec<([u32; 2], u32)> = Vec::with_capacity(border.len());
        let mut looked = 0usize;
        for &n in &border {
            let Edge { ends: [a, b], faces: Faces::One(face) } = self.edges[n] else { continue };
            let (from, to) = (self.vertices[a as usize], self.vertices[b as usize]);
            let (low, high) = (from[axis].min(to[axis]) - near, from[axis].max(to[axis]) + near);
            let first = ends.partition_point(|&v| self.vertices[v as usize][axis] < low);
            let along = sub(to, from);
            let long = dot(along, along);
            let mut cuts: Vec<(f64, u32)> = Vec::new();
            for &v in ends[first..].iter().take_while(|&&v| self.vertices[v as usize][axis] <= high) {
                looked += 1;
                let out = sub(self.vertices[v as usize], from);
                let t = dot(out, along) / long;
                let off = sub(out, scale(along, t));
                let inside = t * long.sqrt() > near && (1.0 - t) * long.sqrt() > near;
                if v != a && v != b && inside && dot(off, off) <= near * near {
                    cuts.push((t, v));
                }
            }
            cuts.sort_by(|one, other| one.0.total_cmp(&other.0).then(one.1.cmp(&other.1)));
            let mut last = a;
            for (_, v) in cuts.into_iter().chain([(1.0, b)]) {
                if v != last {
                    pieces.push(([last.min(v), last.max(v)], face));
                    last = v;
                }
            }
            if looked > 60_000_000 {
                // A cloud of loose triangles is drawn as it is: mending it would take for ever and help nothing.
                return;
            }
        }
        pieces.sort_unstable();
        let before = border.len();
        self.edges.retain(|edge| !matches!(edge.faces, Faces::One(_)));
        let mut joined = 0;
        for group in pieces.chunk_by(|one, other| one.0 == other.0) {
            let faces: Vec<u32> = group.iter().map(|(_, face)| *face).collect();
            joined += u32::from(faces.len() > 1);
            self.push_edge(group[0].0, &faces);
        }
        if joined > 0 {
            self.mended.split += (pieces.len() - before) as u32;
        }
    }

    fn find_shells(&mut self) {
        let mut above: Vec<u32> = (0..self.faces.len() as u32).collect();
        fn top(above: &mut [u32], mut n: u32) -> u32 {
            while above[n as usize] != n {
                above[n as usize] = above[above[n as usize] as usize];
                n = above[n as usize];
            }
            n
        }
        let mut room = [NONE; 2];
        for edge in &self.edges {
            let faces = self.faces_of(edge, &mut room);
            for pair in faces.windows(2) {
                let (one, other) = (top(&mut above, pair[0]), top(&mut above, pair[1]));
                above[one.max(other) as usize] = one.min(other);
            }
        }
        let mut number = 0;
        self.shells = vec![0; self.faces.len()];
        for n in 0..self.faces.len() as u32 {
            let first = top(&mut above, n);
            // The first of a body stands before all others of it.
            self.shells[n as usize] = if first == n {
                number += 1;
                number - 1
            } else {
                self.shells[first as usize]
            };
        }
    }

    pub fn shell_count(&self) -> u32 {
        self.shells.iter().max().map_or(0, |most| most + 1)
    }

    fn longest_axis(&self, of: &[u32]) -> usize {
        let mut extent = super::geometry::Extent::default();
        of.iter().for_each(|&v| extent.hold(self.vertices[v as usize]));
        let side = |axis: usize| extent.most[axis] - extent.least[axis];
        (0..3).fold(0, |best, axis| if side(axis) > side(best) { axis } else { best })
    }

    fn near(&self) -> f64 {
        size(&self.vertices) * NEAR
    }

    /// Not of length 1, and on no side for certain.
    pub fn normal(&self, face: u32) -> Vec3 {
        normal(self.faces[face as usize], &self.vertices)
    }
}

fn size(vertices: &[Vec3]) -> f64 {
    let mut extent = super::geometry::Extent::default();
    vertices.iter().for_each(|&place| extent.hold(place));
    extent.size()
}

fn normal(face: [u32; 3], vertices: &[Vec3]) -> Vec3 {
    let [a, b, c] = face.map(|v| vertices[v as usize]);
    cross(sub(b, a), sub(c, a))
}

fn push_face(mesh: &mut Mesh, face: [u32; 3], vertices: &[Vec3]) {
    let [a, b, c] = face;
    if a == b || b == c || c == a || is_flat(face, vertices) {
        mesh.mended.flat += 1;
    } else {
        mesh.faces.push(face);
    }
}

/// So thin that its corners lie on a line, as far as the numbers can tell.
fn is_flat(face: [u32; 3], vertices: &[Vec3]) -> bool {
    let [a, b, c] = face.map(|v| vertices[v as usize]);
    let longest = [sub(b, a), sub(c, b), sub(a, c)].iter().map(|side| dot(*side, *side)).fold(0.0, f64::max);
    length(normal(face, vertices)) <= longest * 1e-7
}

/// Equal places get equal numbers, in the order in which they first stand. Sorted into bins by a hash first, so that each bin is small.
fn weld(corners: &[[f32; 3]]) -> (Vec<Vec3>, Vec<u32>) {
    const BINS: usize = 256;
    // Minus zero is zero.
    let bits = |corner: &[f32; 3]| corner.map(|side| (side + 0.0).to_bits());
    let hash = |key: [u32; 3]| {
        let mut h = u64::from(key[0]).wrapping_mul(0x9E37_79B9_7F4A_7C15);
        h = (h ^ (h >> 29) ^ u64::from(key[1])).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        h = (h ^ (h >> 32) ^ u64::from(key[2])).wrapping_mul(0x94D0_49BB_1331_11EB);
        h ^ (h >> 31)
    };
    let mut starts = vec![0u32; BINS + 1];
    let bins: Vec<u8> = corners.iter().map(|corner| (hash(bits(corner)) >> 56) as u8).collect();
    bins.iter().for_each(|bin| starts[*bin as usize + 1] += 1);
    for n in 0..BINS {
        starts[n + 1] += starts[n];
    }
    let mut order = vec![0u32; corners.len()];
    let mut next = starts.clone();
    for (n, bin) in bins.iter().enumerate() {
        order[next[*bin as usize] as usize] = n as u32;
        next[*bin as usize] += 1;
    }
    drop(bins);
    // Within a bin each corner learns which was the first of its place.
    let mut slices = Vec::with_capacity(BINS);
    let mut rest = &mut order[..];
    for n in 0..BINS {
        let (head, tail) = rest.split_at_mut((starts[n + 1] - starts[n]) as usize);
        slices.push(head);
        rest = tail;
    }
    use rayon::prelude::*;
    let firsts: Vec<Vec<u32>> = slices
        .into_par_iter()
        .map(|members| {
            let room = (members.len() * 2).next_power_of_two().max(16);
            let mut table = vec![NONE; room];
            let mut firsts = Vec::with_capacity(members.len());
            for &n in members.iter() {
                let key = bits(&corners[n as usize]);
                let mut slot = hash(key) as usize & (room - 1);
                loop {
                    match table[slot] {
                        NONE => {
                            table[slot] = n;
                            firsts.push(n);
                            break;
                        }
                        first if bits(&corners[first as usize]) == key => {
                            firsts.push(first);
                            break;
                        }
                        _ => slot = (slot + 1) & (room - 1),
                    }
                }
            }
            firsts
        })
        .collect();
    let mut first_of = vec![0u32; corners.len()];
    for (n, first) in order.iter().zip(firsts.iter().flatten()) {
        first_of[*n as usize] = *first;
    }
    drop((firsts, order));
    let mut vertices: Vec<Vec3> = Vec::with_capacity(corners.len() / 5);
    for n in 0..corners.len() {
        let first = first_of[n] as usize;
        first_of[n] = if first == n {
            vertices.push(corners[n].map(|side| f64::from(side + 0.0)));
            vertices.len() as u32 - 1
        } else {
            // The first of a place stands earlier and already has its number.
            first_of[first]
        };
    }
    (vertices, first_of)
}

/// Edges with their faces, in the order of their vertices.
struct Found {
    /// Where the edges of each vertex, as their lower one, begin.
    starts: Vec<u32>,
    higher: Vec<u32>,
    faces: Vec<u32>,
}

impl Found {
    fn iter(&self) -> impl Iterator<Item = ([u32; 2], &[u32])> {
        self.starts.windows(2).enumerate().flat_map(move |(low, range)| {
            let (mut at, end) = (range[0] as usize, range[1] as usize);
            std::iter::from_fn(move || {
                let high = *self.higher[at..end].first()?;
                let count = self.higher[at..end].iter().take_while(|&&other| other == high).count();
                at += count;
                Some(([low as u32, high], &self.faces[at - count..at]))
            })
        })
    }

    fn count(&self) -> usize {
        self.faces.len() / 2 + 1
    }
}

fn edges(vertices: usize, faces: &[[u32; 3]]) -> Found {
    let mut starts = vec![0u32; vertices + 1];
    let sides = |face: &[u32; 3]| [[face[0], face[1]], [face[1], face[2]], [face[2], face[0]]];
    for [a, b] in faces.iter().flat_map(sides) {
        starts[a.min(b) as usize + 1] += 1;
    }
    for n in 0..vertices {
        starts[n + 1] += starts[n];
    }
    let mut halves = vec![0u64; faces.len() * 3];
    let mut next = starts.clone();
    for (n, face) in faces.iter().enumerate() {
        for [a, b] in sides(face) {
            let slot = &mut next[a.min(b) as usize];
            halves[*slot as usize] = u64::from(a.max(b)) << 32 | n as u64;
            *slot += 1;
        }
    }
    for range in starts.windows(2) {
        halves[range[0] as usize..range[1] as usize].sort_unstable();
    }
    let higher = halves.iter().map(|half| (half >> 32) as u32).collect();
    let faces = halves.iter().map(|half| *half as u32).collect();
    Found { starts, higher, faces }
}

/// Triangles that are there twice, whichever way round, are there once.
fn drop_twins(mesh: &mut Mesh) -> bool {
    let mut keys: Vec<([u32; 3], u32)> = Vec::with_capacity(mesh.faces.len());
    for (n, face) in mesh.faces.iter().enumerate() {
        let mut key = *face;
        key.sort_unstable();
        keys.push((key, n as u32));
    }
    keys.sort_unstable();
    let mut gone = vec![false; mesh.faces.len()];
    for group in keys.chunk_by(|one, other| one.0 == other.0) {
        group[1..].iter().for_each(|(_, n)| gone[*n as usize] = true);
    }
    let before = mesh.faces.len();
    let mut n = 0;
    mesh.faces.retain(|_| {
        n += 1;
        !gone[n - 1]
    });
    mesh.mended.twice += (before - mesh.faces.len()) as u32;
    before != mesh.faces.len()
}

/// Border vertices that nearly meet become one. Only borders: elsewhere what is small is meant.
fn pull_borders(mesh: &mut Mesh, vertices: &mut [Vec3], found: &Found) -> bool {
    let mut border: Vec<u32> = found.iter().filter(|(_, faces)| faces.len() == 1).flat_map(|(ends, _)| ends).collect();
    border.sort_unstable();
    border.dedup();
    let near = size(vertices) * NEAR;
    if near <= 0.0 {
        return false;
    }
    let cell = |place: Vec3| place.map(|side| (side / near).floor() as i64);
    let mut cells: Vec<([i64; 3], u32)> = border.iter().map(|&v| (cell(vertices[v as usize]), v)).collect();
    cells.sort_unstable();
    let mut to: Vec<u32> = (0..vertices.len() as u32).collect();
    let mut pulled = 0;
    for &v in &border {
        let place = vertices[v as usize];
        let [x, y, z] = cell(place);
        let mut best: Option<u32> = None;
        for (dx, dy) in (-1..=1).flat_map(|dx| (-1..=1).map(move |dy| (dx, dy))) {
            let (low, high) = ([x + dx, y + dy, z - 1], [x + dx, y + dy, z + 1]);
            let first = cells.partition_point(|(key, _)| *key < low);
            for &(_, other) in cells[first..].iter().take_while(|(key, _)| *key <= high).take(64) {
                let out = sub(vertices[other as usize], place);
                // To the earliest, and only to one that stays where it is.
                if other < v
                    && to[other as usize] == other
                    && dot(out, out) <= near * near
                    && best.is_none_or(|best| other < best)
                {
                    best = Some(other);
                }
            }
        }
        if let Some(best) = best {
            to[v as usize] = best;
            pulled += 1;
        }
    }
    if pulled == 0 {
        return false;
    }
    let faces = std::mem::take(&mut mesh.faces);
    for face in faces {
        push_face(mesh, face.map(|v| to[v as usize]), vertices);
    }
    mesh.mended.pulled += pulled;
    true
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A box from its least to its most corner, as a soup.
    pub(crate) fn block(least: [f32; 3], most: [f32; 3]) -> Vec<[f32; 3]> {
        let corner = |n: usize| std::array::from_fn(|axis| if n >> axis & 1 == 0 { least[axis] } else { most[axis] });
        let sides = [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
        sides.iter().flat_map(|[a, b, c, d]| [*a, *b, *c, *a, *c, *d]).map(corner).collect()
    }

    fn euler(mesh: &Mesh) -> i64 {
        let mut used: Vec<u32> = mesh.faces.iter().flatten().copied().collect();
        used.sort_unstable();
        used.dedup();
        used.len() as i64 - mesh.edges.len() as i64 + mesh.faces.len() as i64
    }

    /// Euler: V - E + F = 2 for whatever a ball can be bent into.
    #[test]
    fn a_box_is_joined() {
        let mesh = Mesh::join(&block([0.0; 3], [10.0, 20.0, 30.0]));
        assert_eq!((mesh.vertices.len(), mesh.edges.len(), mesh.faces.len()), (8, 18, 12));
        assert_eq!(euler(&mesh), 2);
        assert_eq!(mesh.mended, Mended::default());
    }

    /// Poincare: 0 for a ring.
    #[test]
    fn a_ring_is_joined() {
        let (around, across) = (48, 24);
        let at = |u: usize, v: usize| {
            let (u, v) = (
                (u % around) as f64 * std::f64::consts::TAU / around as f64,
                (v % across) as f64 * std::f64::consts::TAU / across as f64,
            );
            [
                (libm::cos(u) * (30.0 + 8.0 * libm::cos(v))) as f32,
                (libm::sin(u) * (30.0 + 8.0 * libm::cos(v))) as f32,
                (8.0 * libm::sin(v)) as f32,
            ]
        };
        let mut soup = Vec::new();
        for (u, v) in (0..around).flat_map(|u| (0..across).map(move |v| (u, v))) {
            soup.extend([at(u, v), at(u + 1, v), at(u + 1, v + 1), at(u, v), at(u + 1, v + 1), at(u, v + 1)]);
        }
        let mesh = Mesh::join(&soup);
        assert_eq!(euler(&mesh), 0);
        assert_eq!(mesh.mended.open, 0);
    }

    #[test]
    fn what_is_badly_joined_is_mended() {
        let mut soup = block([0.0; 3], [10.0; 3]);
        // A corner a little off, a triangle twice and the other way round, one without area.
        soup[0][0] += 0.0005;
        let twin = [soup[8], soup[7], soup[6]];
        soup.extend(twin);
        soup.extend([soup[3], soup[3], soup[5]]);
        let mesh = Mesh::join(&soup);
        assert_eq!(euler(&mesh), 2);
        assert_eq!((mesh.mended.flat, mesh.mended.twice, mesh.mended.pulled, mesh.mended.open), (1, 1, 1, 0));
    }

    #[test]
    fn an_edge_that_others_end_on_is_cut() {
        // One square of two triangles against one of four halves: a T-joint in the middle of the common side.
        let flat = |points: &[[f32; 2]]| points.iter().map(|p| [p[0], p[1], 0.0]).collect::<Vec<_>>();
        let mut soup = flat(&[[0.0, 0.0], [10.0, 0.0], [0.0, 10.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]]);
        soup.extend(flat(&[
            [10.0, 0.0],
            [20.0, 0.0],
            [10.0, 5.0],
            [10.0, 5.0],
            [20.0, 0.0],
            [20.0, 10.0],
            [10.0, 5.0],
            [20.0, 10.0],
            [10.0, 10.0],
        ]));
        let mesh = Mesh::join(&soup);
        let inner = mesh.edges.iter().filter(|edge| matches!(edge.faces, Faces::Two(..)));
        assert_eq!(inner.count(), 1 + 2 + 2, "a diagonal, two inside the other square, two halves of the common side");
        assert_eq!(mesh.mended.split, 1);
    }
}
