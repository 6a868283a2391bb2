//! What stands before what: triangles as the viewer sees them, sorted into cells of the drawing, and questions about single points of it.
//! Points are answered exactly, not from a picture of depths, so that no line breaks for want of a pixel.

use std::ops::Range;

use rayon::prelude::*;

use super::geometry::{Extent, Vec3};

/// Triangles in view coordinates: dots to the right, down, away from the viewer.
pub struct Scene {
    pub vertices: Vec<Vec3>,
    pub triangles: Vec<[u32; 3]>,
    /// The part each triangle belongs to.
    pub part: Vec<u16>,
    left: f64,
    top: f64,
    nearest: f64,
    cell: f64,
    across: usize,
    down: usize,
    starts: Vec<u32>,
    /// Triangles of each cell, those that reach nearest first, and how near.
    entries: Vec<(f32, u32)>,
}

/// What is met at a point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hit {
    pub triangle: u32,
    pub depth: f64,
}

/// How many triangles each cell of some rows holds, and these.
type Band = (Vec<u32>, Vec<(f32, u32)>);

/// How many bands of rows are sorted at the same time.
const BANDS: usize = 16;

impl Scene {
    pub fn new(vertices: Vec<Vec3>, triangles: Vec<[u32; 3]>, part: Vec<u16>) -> Scene {
        let mut extent = Extent::default();
        vertices.iter().for_each(|&place| extent.hold(place));
        if extent.is_empty() {
            extent = Extent { least: [0.0; 3], most: [0.0; 3] };
        }
        let (wide, high) = (extent.most[0] - extent.least[0], extent.most[1] - extent.least[1]);
        // Cells of some dots; of fewer where triangles are many.
        let mut cell: f64 = if triangles.len() > 200_000 { 2.0 } else { 4.0 };
        while wide / cell * (high / cell) > 1_000_000.0 {
            cell *= 2.0;
        }
        let (across, down) = ((wide / cell) as usize + 1, (high / cell) as usize + 1);
        let mut scene = Scene {
            vertices,
            triangles,
            part,
            left: extent.least[0],
            top: extent.least[1],
            nearest: extent.least[2],
            cell,
            across,
            down,
            starts: Vec::new(),
            entries: Vec::new(),
        };
        scene.sort_into_cells();
        scene
    }

    fn sort_into_cells(&mut self) {
        let rows: Vec<[u32; 2]> = self
            .triangles
            .par_iter()
            .map(|triangle| {
                let y = triangle.map(|v| self.vertices[v as usize][1]);
                let row = |y: f64| (((y - self.top) / self.cell) as usize).min(self.down - 1) as u32;
                [row(y[0].min(y[1]).min(y[2])), row(y[0].max(y[1]).max(y[2]))]
            })
            .collect();
        let tall = self.down.div_ceil(BANDS).max(1);
        let bands: Vec<Band> = (0..self.down.div_ceil(tall))
            .into_par_iter()
            .map(|band| self.band(&rows, band * tall, ((band + 1) * tall).min(self.down)))
            .collect();
        self.starts = Vec::with_capacity(self.across * self.down + 1);
        self.starts.push(0);
        for (counts, entries) in bands {
            for count in counts {
                self.starts.push(self.starts.last().copied().unwrap_or(0) + count);
            }
            self.entries.extend(entries);
        }
    }

    /// The cells of rows `first..end`: how many triangles each holds, and these.
    fn band(&self, rows: &[[u32; 2]], first: usize, end: usize) -> Band {
        let mut found: Vec<(u32, f32, u32)> = Vec::new();
        for (n, [low, high]) in rows.iter().enumerate() {
            if (*high as usize) < first || *low as usize >= end {
                continue;
            }
            let corners = self.corners(n as u32);
            let nearest = corners.iter().map(|corner| corner[2]).fold(f64::INFINITY, f64::min) as f32;
            for row in (*low as usize).max(first)..(*high as usize + 1).min(end) {
                let top = self.top + row as f64 * self.cell;
                let Some(reach) = stretch(&corners, top - 1e-6, top + self.cell + 1e-6) else { continue };
                let column = |x: f64| (((x - self.left) / self.cell) as usize).min(self.across - 1);
                for column in column(reach.start - 1e-6)..=column(reach.end + 1e-6) {
                    found.push((((row - first) * self.across + column) as u32, nearest, n as u32));
                }
            }
        }
        let mut starts = vec![0u32; (end - first) * self.across + 1];
        found.iter().for_each(|entry| starts[entry.0 as usize + 1] += 1);
        let counts: Vec<u32> = starts[1..].to_vec();
        for n in 1..starts.len() {
            starts[n] += starts[n - 1];
        }
        let mut entries = vec![(0f32, 0u32); found.len()];
        let mut next = starts.clone();
        for (cell, nearest, n) in found {
            entries[next[cell as usize] as usize] = (nearest, n);
            next[cell as usize] += 1;
        }
        for range in starts.windows(2) {
            entries[range[0] as usize..range[1] as usize]
                .sort_unstable_by(|one, other| one.0.total_cmp(&other.0).then(one.1.cmp(&other.1)));
        }
        (counts, entries)
    }

    #[inline]
    pub fn corners(&self, triangle: u32) -> [Vec3; 3] {
        let [a, b, c] = self.triangles[triangle as usize];
        [self.vertices[a as usize], self.vertices[b as usize], self.vertices[c as usize]]
    }

    fn cell_at(&self, x: f64, y: f64) -> &[(f32, u32)] {
        let (column, row) = ((x - self.left) / self.cell, (y - self.top) / self.cell);
        // A point on the right or lower edge belongs to the last cell.
        if !(column >= -1e-9 && row >= -1e-9 && column <= self.across as f64 && row <= self.down as f64) {
            return &[];
        }
        let at = self.cell_of(x, y);
        &self.entries[self.starts[at] as usize..self.starts[at + 1] as usize]
    }

    /// Pairs of triangles that may run into each other, some more than once, for at most so many looked at.
    pub fn neighbours(&self, most: usize, mut visit: impl FnMut(u32, u32)) {
        let reach = |triangle: u32| {
            let mut extent = Extent::default();
            self.corners(triangle).iter().for_each(|&corner| extent.hold(corner));
            extent
        };
        let mut looked = 0;
        for range in self.starts.windows(2) {
            let entries = &self.entries[range[0] as usize..range[1] as usize];
            let reaches: Vec<Extent> = entries.iter().map(|entry| reach(entry.1)).collect();
            for (n, one) in reaches.iter().enumerate() {
                for (m, other) in reaches.iter().enumerate().skip(n + 1) {
                    looked += 1;
                    if other.least[2] > one.most[2] || looked > most {
                        break;
                    }
                    let corner = [one.least[0].max(other.least[0]), one.least[1].max(other.least[1])];
                    let apart = corner[0] > one.most[0].min(other.most[0]) || corner[1] > one.most[1].min(other.most[1]);
                    if !apart {
                        visit(entries[n].1, entries[m].1);
                    }
                }
            }
        }
    }

    fn cell_of(&self, x: f64, y: f64) -> usize {
        let (column, row) = ((x - self.left) / self.cell, (y - self.top) / self.cell);
        (row as usize).min(self.down - 1) * self.across + (column as usize).min(self.across - 1)
    }

    /// Whether a point is behind the nearest of all, and not beside all.
    pub fn may_hide(&self, at: Vec3) -> bool {
        let (column, row) = ((at[0] - self.left) / self.cell, (at[1] - self.top) / self.cell);
        let beside = column < 0.0 || row < 0.0 || column > self.across as f64 || row > self.down as f64;
        at[2] > self.nearest && !beside
    }

    /// Whether something stands nearer than the point, by more than `slack`; the nearest that is looked at first answers.
    pub fn hides(&self, at: Vec3, slack: f64, own: &[u32]) -> Option<Hit> {
        let limit = at[2] - slack;
        for &(nearest, triangle) in self.cell_at(at[0], at[1]) {
            // Rounding to f32 must not hide what is nearer.
            if f64::from(nearest) > limit + 1e-3 {
                return None;
            }
            if let Some(depth) = self.depth(triangle, at[0], at[1])
                && depth < limit
                && !own.contains(&triangle)
            {
                return Some(Hit { triangle, depth });
            }
        }
        None
    }

    /// The first surface at a point that is not nearer than `from`.
    pub fn first(&self, x: f64, y: f64, from: f64) -> Option<Hit> {
        let mut best: Option<Hit> = None;
        for &(nearest, triangle) in self.cell_at(x, y) {
            if best.is_some_and(|best| f64::from(nearest) > best.depth + 1e-3) {
                break;
            }
            if let Some(depth) = self.depth(triangle, x, y)
                && depth >= from
                && best.is_none_or(|best| depth < best.depth)
            {
                best = Some(Hit { triangle, depth });
            }
        }
        best
    }

    /// Of the triangle at a point, its borders included; none beside it.
    fn depth(&self, triangle: u32, x: f64, y: f64) -> Option<f64> {
        let [a, b, c] = self.corners(triangle);
        let side = |p: Vec3, q: Vec3| (q[0] - p[0]) * (y - p[1]) - (q[1] - p[1]) * (x - p[0]);
        let (u, v, w) = (side(b, c), side(c, a), side(a, b));
        let area = u + v + w;
        // A hair more than the triangle, so that no point falls between two.
        let hair = 1e-9 * ((b[0] - a[0]).abs() + (c[0] - a[0]).abs() + (b[1] - a[1]).abs() + (c[1] - a[1]).abs() + 1.0);
        let inside = (u >= -hair && v >= -hair && w >= -hair) || (u <= hair && v <= hair && w <= hair);
        // Seen edge-on it hides nothing.
        if !inside || area.abs() <= 1e-9 {
            return None;
        }
        let near = a[2].min(b[2]).min(c[2]);
        Some(((u * a[2] + v * b[2] + w * c[2]) / area).max(near))
    }
}

/// From where to where a triangle reaches between two heights.
fn stretch(corners: &[Vec3; 3], top: f64, bottom: f64) -> Option<Range<f64>> {
    let (mut from, mut to) = (f64::INFINITY, f64::NEG_INFINITY);
    let mut hold = |x: f64| {
        from = from.min(x);
        to = to.max(x);
    };
    for n in 0..3 {
        let (a, b) = (corners[n], corners[(n + 1) % 3]);
        if a[1] >= top && a[1] <= bottom {
            hold(a[0]);
        }
        for line in [top, bottom] {
            if (a[1] < line) != (b[1] < line) {
                hold(a[0] + (b[0] - a[0]) * ((line - a[1]) / (b[1] - a[1])));
            }
        }
    }
    (from <= to).then_some(from..to)
}
