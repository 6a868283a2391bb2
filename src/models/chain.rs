//! Lines that meet end to end become chains, and chains of short pieces the curve they were cut from: round where many pieces bend
//! alike, with a corner only where the model has one.

use super::geometry::{Vec3, add, dot, length, scale, sub, unit};
use super::lines::{Kind, Line};
use crate::geometry::Point;

/// Lines one after the other: index, and whether it is walked from its second end.
#[derive(Debug, PartialEq)]
pub struct Chain {
    pub lines: Vec<(u32, bool)>,
    pub closed: bool,
}

/// Cosine of 35 degrees: pieces of a curve bend less.
const BEND: f64 = 0.819_152_044_288_991_8;
/// A piece so many times longer than its neighbour is a straight that the curve runs into.
const STRAIGHT: f64 = 2.5;
/// Bending so little, in dots, is never seen.
const UNSEEN: f64 = 0.4;

pub fn chains(lines: &[Line], seen: &[Vec3]) -> Vec<Chain> {
    let mut ends: Vec<(u32, u32)> = Vec::with_capacity(lines.len() * 2);
    for (n, line) in lines.iter().enumerate() {
        ends.push((line.ends[0], n as u32 * 2));
        ends.push((line.ends[1], n as u32 * 2 + 1));
    }
    ends.sort_unstable();
    // Which end of another line each end goes on to.
    let mut mate = vec![u32::MAX; lines.len() * 2];
    for group in ends.chunk_by(|one, other| one.0 == other.0) {
        pair(lines, seen, group, &mut mate);
    }
    let mut used = vec![false; lines.len()];
    let mut found = Vec::new();
    // First the chains that begin somewhere, then the rings.
    for ring in [false, true] {
        for start in 0..lines.len() as u32 * 2 {
            if used[start as usize / 2] || (!ring && mate[start as usize] != u32::MAX) {
                continue;
            }
            let mut chain = Chain { lines: Vec::new(), closed: false };
            let mut end = start;
            loop {
                used[end as usize / 2] = true;
                chain.lines.push((end / 2, end % 2 == 1));
                let next = mate[(end ^ 1) as usize];
                if next == u32::MAX {
                    break;
                }
                if used[next as usize / 2] {
                    chain.closed = ring && next == start;
                    break;
                }
                end = next;
            }
            found.push(chain);
        }
    }
    found
}

/// Decides which of the lines that meet at a vertex go on in each other: the straightest first.
fn pair(lines: &[Line], seen: &[Vec3], group: &[(u32, u32)], mate: &mut [u32]) {
    if group.len() == 2 {
        mate[group[0].1 as usize] = group[1].1;
        mate[group[1].1 as usize] = group[0].1;
        return;
    }
    if group.len() < 2 || group.len() > 24 {
        return;
    }
    let away = |end: u32| {
        let line = &lines[end as usize / 2];
        let (from, to) = (line.ends[end as usize % 2], line.ends[(end as usize % 2) ^ 1]);
        sub(seen[to as usize], seen[from as usize])
    };
    let mut pairs: Vec<(f64, u32, u32)> = Vec::new();
    for (n, &(_, one)) in group.iter().enumerate() {
        for &(_, other) in &group[n + 1..] {
            let (a, b) = (away(one), away(other));
            let flat = |v: Vec3| [v[0], v[1], 0.0];
            let faint = |end: u32| matches!(lines[end as usize / 2].kind, Kind::Faint);
            let same = faint(one) == faint(other);
            let straight = (-dot(unit(a), unit(b))).max(-dot(unit(flat(a)), unit(flat(b)))) + if same { 0.05 } else { 0.0 };
            if straight > BEND {
                pairs.push((straight, one, other));
            }
        }
    }
    pairs.sort_by(|one, other| other.0.total_cmp(&one.0).then((one.1, one.2).cmp(&(other.1, other.2))));
    for (_, one, other) in pairs {
        if mate[one as usize] == u32::MAX && mate[other as usize] == u32::MAX {
            mate[one as usize] = other;
            mate[other as usize] = one;
        }
    }
}

/// Which lines are drawn: faint ones only as short bits between two lines that are not faint, short slight ones only where they lead
/// from one line to another.
pub fn firm(chains: &[Chain], lines: &[Line], seen: &[Vec3]) -> Vec<bool> {
    let mut drawn: Vec<bool> = lines.iter().map(|line| line.kind != Kind::Faint).collect();
    let long = |n: u32| length(sub(seen[lines[n as usize].ends[0] as usize], seen[lines[n as usize].ends[1] as usize]));
    for chain in chains {
        let groups: Vec<&[(u32, bool)]> = chain
            .lines
            .chunk_by(|one, other| (lines[one.0 as usize].kind == Kind::Faint) == (lines[other.0 as usize].kind == Kind::Faint))
            .collect();
        let sums: Vec<f64> = groups.iter().map(|group| group.iter().map(|(n, _)| long(*n)).sum()).collect();
        for n in 0..groups.len() {
            let inner = n > 0 && n + 1 < groups.len();
            if inner && lines[groups[n][0].0 as usize].kind == Kind::Faint && sums[n] < sums[n - 1] + sums[n + 1] {
                groups[n].iter().for_each(|(line, _)| drawn[*line as usize] = true);
            }
        }
    }
    loosen(chains, lines, seen, &mut drawn);
    drawn
}

/// Surfaces that were lofted or bent coarsely have edges of just over 30 degrees here and there; short ones that end in the middle of
/// the surface are crumbs of the mesh, not of the thing.
fn loosen(chains: &[Chain], lines: &[Line], seen: &[Vec3], drawn: &mut [bool]) {
    /// Dots.
    const LOOSE: f64 = 48.0;
    let mut met = vec![0u8; seen.len()];
    for (line, _) in lines.iter().zip(&*drawn).filter(|(_, drawn)| **drawn) {
        line.ends.iter().for_each(|&v| met[v as usize] = met[v as usize].saturating_add(1));
    }
    for chain in chains.iter().filter(|chain| !chain.closed) {
        let inked = |(n, _): &(u32, bool)| drawn[*n as usize];
        for run in chain
            .lines
            .chunk_by(|one, other| inked(one) == inked(other))
            .filter(|run| inked(&run[0]))
            .map(<[_]>::to_vec)
            .collect::<Vec<_>>()
        {
            let slight = run.iter().all(|(n, _)| matches!(lines[*n as usize].kind, Kind::Slight | Kind::Faint));
            let flat = |v: u32| [seen[v as usize][0], seen[v as usize][1], 0.0];
            let long: f64 =
                run.iter().map(|(n, _)| length(sub(flat(lines[*n as usize].ends[0]), flat(lines[*n as usize].ends[1])))).sum();
            let (Some(&(first, a)), Some(&(last, b))) = (run.first(), run.last()) else { continue };
            let ends = [lines[first as usize].ends[usize::from(a)], lines[last as usize].ends[usize::from(!b)]];
            if slight && long < LOOSE && ends.iter().any(|&v| met[v as usize] < 2) {
                run.iter().for_each(|(n, _)| drawn[*n as usize] = false);
            }
        }
    }
}

/// One piece of a chain as a cubic: where it begins and ends, and its tangents there as Hermite has them.
#[derive(Clone, Copy, Debug)]
pub struct Piece {
    pub from: Vec3,
    pub to: Vec3,
    pub leaves: Vec3,
    pub arrives: Vec3,
    /// Whether the end is a real corner.
    pub corner: bool,
}

impl Piece {
    /// Where the curve is at `t` of its piece, on the drawing.
    pub fn at(&self, t: f64) -> Point<f64> {
        let (s, u) = (t * t * (3.0 - 2.0 * t), 1.0 - t);
        let (b, c) = (t * u * u, -t * t * u);
        let side = |n: usize| self.from[n] * (1.0 - s) + self.to[n] * s + self.leaves[n] * b + self.arrives[n] * c;
        Point::new(side(0), side(1))
    }

    pub fn length(&self) -> f64 {
        let [x, y, _] = sub(self.to, self.from);
        (x * x + y * y).sqrt()
    }

    pub fn straight(&self) -> bool {
        let chord = sub(self.to, self.from);
        self.leaves == chord && self.arrives == chord
    }
}

/// The pieces of a chain, bent where it bends.
pub fn bend(chain: &Chain, lines: &[Line], seen: &[Vec3]) -> Vec<Piece> {
    let walked = chain.lines.iter().map(|&(n, back)| {
        let ends = lines[n as usize].ends.map(|v| seen[v as usize]);
        if back { (ends[1], ends[0]) } else { (ends[0], ends[1]) }
    });
    let mut pieces: Vec<Piece> =
        walked.map(|(from, to)| Piece { from, to, leaves: sub(to, from), arrives: sub(to, from), corner: true }).collect();
    let count = pieces.len();
    let joints = if chain.closed { count } else { count - 1 };
    // How far each joint bends: in space, and on the drawing; the smaller tells a corner.
    let turns: Vec<Turn> = (0..joints).map(|n| Turn::between(&pieces[n], &pieces[(n + 1) % count])).collect();
    let round: Vec<bool> = (0..joints).map(|n| is_round(&turns, &pieces, n, chain.closed)).collect();
    let mut tangents: Vec<[Option<Vec3>; 2]> = vec![[None; 2]; count];
    for n in 0..joints {
        pieces[n].corner = !(round[n] || turns[n].cosine >= BEND && turns[n].sag < UNSEEN);
        if round[n] {
            let tangent = turns[n].tangent;
            tangents[n][1] = Some(tangent);
            tangents[(n + 1) % count][0] = Some(tangent);
        }
    }
    for (piece, [leaves, arrives]) in pieces.iter_mut().zip(tangents) {
        let chord = sub(piece.to, piece.from);
        let flat = [chord[0], chord[1], 0.0];
        let (chord, long) = match leaves.or(arrives) {
            // A tangent of the drawing alone has no depth.
            Some(tangent) if tangent[2] == 0.0 => (unit(flat), length(flat)),
            _ => (unit(chord), length(chord)),
        };
        // An end without a tangent mirrors the other: an arc.
        let mirrored = |tangent: Vec3| sub(scale(chord, 2.0 * dot(chord, tangent)), tangent);
        let (leaves, arrives) = match (leaves, arrives) {
            (None, None) => continue,
            (Some(leaves), None) => (leaves, mirrored(leaves)),
            (None, Some(arrives)) => (mirrored(arrives), arrives),
            (Some(leaves), Some(arrives)) => (leaves, arrives),
        };
        // Handles of an arc: a chord over the square of the cosine of a quarter of its angle.
        let half = ((1.0 + dot(leaves, arrives).clamp(-0.5, 1.0)) / 2.0).sqrt();
        let reach = long * 2.0 / (1.0 + half);
        piece.leaves = scale(leaves, reach);
        piece.arrives = scale(arrives, reach);
    }
    pieces
}

/// How a chain bends at a joint.
#[derive(Clone, Copy)]
struct Turn {
    cosine: f64,
    /// About how far an arc would leave the longer of the two pieces, dots.
    sag: f64,
    /// Of the curve, of length 1.
    tangent: Vec3,
    /// The axis it turns around, as long as the sine.
    axis: Vec3,
}

impl Turn {
    fn between(one: &Piece, other: &Piece) -> Turn {
        let (a, b) = (sub(one.to, one.from), sub(other.to, other.from));
        let flat = |v: Vec3| [v[0], v[1], 0.0];
        let space = dot(unit(a), unit(b));
        let drawn = dot(unit(flat(a)), unit(flat(b)));
        // In space where it is smooth there; a silhouette that goes to and fro in depth is smooth on the drawing alone.
        let (a, b) = if space >= BEND || space >= drawn { (a, b) } else { (flat(a), flat(b)) };
        let (long, short) = (length(a).max(length(b)), length(a).min(length(b)));
        let (u, v) = (unit(a), unit(b));
        let tangent = if long > short * STRAIGHT {
            if length(a) > length(b) { u } else { v }
        } else {
            // That of the circle through the three points.
            unit(add(scale(u, length(b)), scale(v, length(a))))
        };
        let cosine = dot(u, v);
        let axis = super::geometry::cross(u, v);
        Turn { cosine, sag: long * length(axis) / 8.0, tangent, axis }
    }
}

/// Whether a joint is one of several that bend alike: a single bend between two long pieces is a corner, however slight.
fn is_round(turns: &[Turn], pieces: &[Piece], n: usize, closed: bool) -> bool {
    let turn = turns[n];
    if turn.cosine < BEND {
        return false;
    }
    if turn.sag < UNSEEN {
        return length(turn.axis) > 1e-6;
    }
    let count = turns.len();
    let near = |step: isize| {
        let at = n as isize + step;
        let inside = closed || (at >= 0 && at < count as isize);
        inside.then(|| turns[at.rem_euclid(count as isize) as usize])
    };
    let size = |at: usize| length(sub(pieces[at % pieces.len()].to, pieces[at % pieces.len()].from));
    [-1, 1].into_iter().any(|step| {
        let Some(other) = near(step) else { return false };
        let (one, two) = (length(turn.axis), length(other.axis));
        let alike = other.cosine >= BEND && two > one * 0.35 && one > two * 0.35 && dot(turn.axis, other.axis) > 0.6 * one * two;
        // The piece between the two joints, against the one on the far side of this joint.
        let (between, beyond) = if step < 0 { (size(n), size(n + 1)) } else { (size(n + 1), size(n)) };
        alike && between < beyond * 4.0
    })
}
