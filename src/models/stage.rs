//! A step of putting together: which parts are there, which come, and on which way.

use super::apart::{self, Piece};
use super::draw::Way;
use super::geometry::{Vec3, add};
use crate::manual::models::StageStep;

/// Of all steps, by part.
pub struct Staging {
    /// The step that adds it; none when it is there from the start.
    pub since: Vec<Option<usize>>,
    /// How far from its place it comes, mm.
    pub from: Vec<Vec3>,
    /// Where the arrow points that shows it, if it has one.
    to: Vec<Option<Vec3>>,
}

/// `added` are the parts that each step adds; `pieces` all parts, of which some are `shown`.
pub fn staging(steps: &[StageStep], added: &[Vec<usize>], pieces: &[Piece], shown: &[bool]) -> Staging {
    let count = pieces.len();
    let (mut since, mut from, mut to) = (vec![None; count], vec![[0.0; 3]; count], vec![None; count]);
    for (at, parts) in added.iter().enumerate() {
        parts.iter().for_each(|&n| since[n] = Some(at));
    }
    for (at, step) in steps.iter().enumerate() {
        let new: Vec<usize> = (0..count).filter(|&n| shown[n] && since[n] == Some(at)).collect();
        let there: Vec<usize> = (0..count).filter(|&n| shown[n] && since[n].is_none_or(|since| since < at)).collect();
        // What comes in one step comes on one way.
        let by = step.from.map_or_else(|| apart::free_way(pieces, &new, &there), |by| by.map(|side| side as f64 / 1000.0));
        for &n in &new {
            from[n] = by;
            // What lies on another new part goes with it: one arrow shows both.
            let others: Vec<usize> = new.iter().copied().filter(|&other| other != n).collect();
            let own = apart::touch(pieces, n, &others, by).map_or(f64::INFINITY, |(near, _)| near);
            to[n] = apart::touch(pieces, n, &there, by).filter(|(near, _)| *near < own).map(|(_, place)| place);
        }
        if new.iter().all(|&n| to[n].is_none()) {
            let size = |n: &usize| pieces[*n].extent.size();
            if let Some(largest) = new.iter().copied().max_by(|a, b| size(a).total_cmp(&size(b)).then(b.cmp(a))) {
                to[largest] = Some(pieces[largest].extent.middle());
            }
        }
    }
    Staging { since, from, to }
}

impl Staging {
    /// The arrows of a step: from the parts that come to where they will touch.
    pub fn arrows(&self, at: usize) -> Vec<Way> {
        let new = (0..self.to.len()).filter(|&n| self.since[n] == Some(at));
        new.filter_map(|n| self.to[n].map(|to| Way { from: add(to, self.from[n]), to })).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::models::geometry::Extent;
    use crate::models::join::Mesh;
    use crate::models::tests::block;

    /// A table of base, gasket and lid, put together in one step: they come from above as one, and the arrow ends on the base.
    #[test]
    fn what_comes_together_has_one_way_and_one_arrow() {
        let sides =
            [[[0.0; 3], [60.0, 40.0, 20.0]], [[0.0, 0.0, 20.0], [60.0, 40.0, 22.0]], [[0.0, 0.0, 22.0], [60.0, 40.0, 30.0]]];
        let meshes = sides.map(|[least, most]| Mesh::join(&block(least, most)));
        let mut pieces = Vec::new();
        for mesh in &meshes {
            let mut extent = Extent::default();
            mesh.vertices.iter().for_each(|&place| extent.hold(place));
            pieces.push(Piece { mesh, extent });
        }
        let steps = [StageStep { add: Vec::new(), from: None, zoom: None }];
        let staging = staging(&steps, &[vec![1, 2]], &pieces, &[true; 3]);
        assert_eq!(staging.from[1], staging.from[2]);
        assert!(staging.from[1][2] > 10.0 && staging.from[1][..2] == [0.0, 0.0]);
        let arrows = staging.arrows(0);
        assert_eq!(arrows.len(), 1);
        assert!((arrows[0].to[2] - 20.0).abs() < 1e-6, "{arrows:?}");
        assert!((arrows[0].from[2] - 20.0 - staging.from[1][2]).abs() < 1e-6);
    }
}
