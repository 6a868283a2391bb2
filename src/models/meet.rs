//! Lines where bodies run into each other without sharing an edge: a peg through a plate, parts exported side by side into one file.

use std::collections::HashMap;

use super::geometry::{Vec3, cross, dot, length, mix, sub};
use super::join::NONE;
use super::lines::{Kind, Line};
use super::scene::Scene;

/// Corners nearer to the other face's plane than so many dots do not run through it: bodies that touch have edges there already.
const TOUCH: f64 = 0.02;
/// Faces that meet at less than this sine do so by chance.
const GRAZE: f64 = 0.2;
/// Beyond so many pairs looked at, what is left is not drawn: a model of a million loose pieces.
const PAIRS: usize = 40_000_000;

/// Finds the lines and puts their ends into the scene. `shell` tells the body each triangle belongs to.
pub fn find(scene: &mut Scene, shell: &[u32]) -> Vec<Line> {
    let mut pairs = Vec::new();
    scene.neighbours(PAIRS, |one, other| {
        if shell[one as usize] != shell[other as usize] {
            pairs.push((one.min(other), one.max(other)));
        }
    });
    pairs.sort_unstable();
    pairs.dedup();
    let mut known: HashMap<(u32, u32, u32), u32> = HashMap::new();
    let mut lines = Vec::new();
    for (one, other) in pairs {
        let mut ends: Vec<((u32, u32, u32), Vec3)> = Vec::new();
        if !crossing(scene, one, other, &mut ends) {
            continue;
        }
        let Some(((from, a), (to, b))) = farthest(&ends) else { continue };
        let mut vertex = |key: (u32, u32, u32), place: Vec3| {
            *known.entry(key).or_insert_with(|| {
                scene.vertices.push(place);
                scene.vertices.len() as u32 - 1
            })
        };
        let ends = [vertex(from, a), vertex(to, b)];
        let part = scene.part[one as usize];
        lines.push(Line { ends, kind: Kind::Crease, faces: [one, other, NONE, NONE], part });
    }
    lines
}

/// An end of a line by the edge that runs through a triangle.
type End = ((u32, u32, u32), Vec3);

fn farthest(ends: &[End]) -> Option<(End, End)> {
    let mut best: Option<(f64, End, End)> = None;
    for (n, &one) in ends.iter().enumerate() {
        for &other in &ends[n + 1..] {
            let apart = length(sub(one.1, other.1));
            if apart > 1e-6 && best.is_none_or(|(known, ..)| apart > known) {
                best = Some((apart, one, other));
            }
        }
    }
    best.map(|(_, one, other)| (one, other))
}

/// Where the edges of each triangle run through the other.
fn crossing(scene: &Scene, one: u32, other: u32, ends: &mut Vec<End>) -> bool {
    let normal = |triangle: u32| {
        let [a, b, c] = scene.corners(triangle);
        let normal = cross(sub(b, a), sub(c, a));
        let long = length(normal);
        (a, normal.map(|side| side / long))
    };
    let ((a, n), (b, m)) = (normal(one), normal(other));
    if length(cross(n, m)) < GRAZE || !n.iter().chain(&m).all(|side| side.is_finite()) {
        return false;
    }
    for (edges, target, place, normal) in [(one, other, b, m), (other, one, a, n)] {
        let corners = scene.triangles[edges as usize];
        for n in 0..3 {
            // Always from the lower vertex, so that both triangles of an edge find the same place.
            let (p, q) = (corners[n].min(corners[(n + 1) % 3]), corners[n].max(corners[(n + 1) % 3]));
            let (from, to) = (scene.vertices[p as usize], scene.vertices[q as usize]);
            let (above, below) = (dot(sub(from, place), normal), dot(sub(to, place), normal));
            if above * below >= 0.0 || above.abs() < TOUCH || below.abs() < TOUCH {
                continue;
            }
            let at = mix(from, to, above / (above - below));
            if inside(scene.corners(target), normal, at) {
                ends.push(((p, q, target), at));
            }
        }
    }
    ends.len() >= 2
}

fn inside(corners: [Vec3; 3], normal: Vec3, at: Vec3) -> bool {
    let side = |n: usize| {
        let (a, b) = (corners[n], corners[(n + 1) % 3]);
        dot(cross(sub(b, a), sub(at, a)), normal) / length(sub(b, a)).max(1e-12)
    };
    let sides = [side(0), side(1), side(2)];
    sides.iter().all(|side| *side >= -1e-6)
}
