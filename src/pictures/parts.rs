//! Parts of a field that hang together.

use crate::geometry::Point;

/// The place so many steps across and down from another, if it is on the field.
pub fn next(at: usize, step: Point<i32>, width: usize, height: usize) -> Option<usize> {
    let (x, y) = ((at % width) as i32 + step.x, (at / width) as i32 + step.y);
    (x >= 0 && y >= 0 && x < width as i32 && y < height as i32).then(|| y as usize * width + x as usize)
}

/// The neighbours to the left, the right, above and below.
pub fn beside(at: usize, width: usize, height: usize) -> impl Iterator<Item = usize> {
    let (x, y) = (at % width, at / width);
    let sides = [
        (x > 0).then(|| at - 1),
        (x + 1 < width).then(|| at + 1),
        (y > 0).then(|| at - width),
        (y + 1 < height).then(|| at + width),
    ];
    sides.into_iter().flatten()
}

/// The neighbours at the corners.
pub fn aslant(at: usize, width: usize, height: usize) -> impl Iterator<Item = usize> {
    let (x, y) = (at % width, at / width);
    let (left, right, above, below) = (x > 0, x + 1 < width, y > 0, y + 1 < height);
    let corners = [
        (left && above).then(|| at - width - 1),
        (right && above).then(|| at - width + 1),
        (left && below).then(|| at + width - 1),
        (right && below).then(|| at + width + 1),
    ];
    corners.into_iter().flatten()
}

/// The parts that hang together by their sides.
pub fn parts(is: &[bool], width: usize, height: usize) -> Vec<Vec<usize>> {
    parts_by(is, width, height, false)
}

/// The parts that hang together by their sides, or by their corners too.
pub fn parts_by(is: &[bool], width: usize, height: usize, corners: bool) -> Vec<Vec<usize>> {
    let mut seen = vec![false; is.len()];
    let mut found = Vec::new();
    for start in (0..is.len()).filter(|&at| is[at]) {
        if std::mem::replace(&mut seen[start], true) {
            continue;
        }
        let (mut part, mut next) = (vec![start], 0);
        while let Some(&at) = part.get(next) {
            next += 1;
            let around = beside(at, width, height).chain(aslant(at, width, height).filter(|_| corners));
            for near in around {
                if is[near] && !std::mem::replace(&mut seen[near], true) {
                    part.push(near);
                }
            }
        }
        found.push(part);
    }
    found
}

/// The longer side of the box around a part.
pub fn extent(part: &[usize], width: usize) -> usize {
    let side = |along: &dyn Fn(usize) -> usize| {
        let (low, high) = part.iter().fold((usize::MAX, 0), |(low, high), &at| (low.min(along(at)), high.max(along(at))));
        high - low + 1
    };
    side(&|at| at % width).max(side(&|at| at / width))
}
