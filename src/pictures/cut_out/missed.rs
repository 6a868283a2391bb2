//! What a cut by colours leaves outside though it belongs to the thing: wires and pins thinner than a cell, white ends on white paper, screws beside.
//!
//! Ground changes softly; things do not. The ground's colour is guessed at each pixel from the ground around it, so that soft shadows are ground. What is
//! off that guess and ends at crisp edges is something: it is added where it is small or thin, and counted where it is so large that the cut itself
//! is in doubt.

use crate::geometry::Point;
use crate::pictures::parts::{aslant, beside, next, parts_by};
use crate::pictures::sums::Sums;

/// How far a pixel is off the ground, at least, to be something: in steps of 255.
const LEAST: i64 = 10;
/// And how many times as far as the ground around it is on the average.
const TIMES: i64 = 4;
/// Share of a part's own contrast, in thousandths, that its outline falls over four pixels, from which on it is crisp and no shadow.
const CRISP: i64 = 550;
/// As far off the ground as this, at least, are wires and pins; veins of marble and the print of a cloth are less.
const WIRE: i64 = 70;

/// The square of how far two pixels are from each other.
fn far_apart(colour: &[[u8; 3]], one: usize, two: usize) -> i64 {
    (0..3).map(|n| (i64::from(colour[one][n]) - i64::from(colour[two][n])).pow(2)).sum()
}

/// How far a pixel is off the ground around it, and how far the ground is on the average.
struct Off {
    own: i64,
    grain: i64,
}

/// One for each pixel.
fn off(colour: &[[u8; 3]], width: usize, thing: &[bool], ground: &[bool], reach: usize) -> Vec<Off> {
    let weight = Sums::new(width, ground.iter().map(|&is| i64::from(is)));
    let channels: [Sums; 3] = [0, 1, 2]
        .map(|n| Sums::new(width, colour.iter().zip(ground).map(|(colour, &is)| if is { i64::from(colour[n]) } else { 0 })));
    let off: Vec<i64> = (0..colour.len())
        .map(|at| {
            if thing[at] {
                return 0;
            }
            let (x, y) = (at % width, at / width);
            let mut reach = reach;
            let count = loop {
                let count = weight.around(x, y, reach);
                if count as usize * 8 >= reach * reach || reach > width.max(colour.len() / width) {
                    break count.max(1);
                }
                reach *= 2;
            };
            // Four times as fine as the colours, so that even ground is no step.
            let square: i64 =
                (0..3).map(|n| (i64::from(colour[at][n]) * 4 - channels[n].around(x, y, reach) * 4 / count).pow(2)).sum();
            ((square as f64).sqrt() / 4.0 + 0.5) as i64
        })
        .collect();
    let grain = Sums::new(width, off.iter().zip(ground).map(|(&off, &is)| if is { off } else { 0 }));
    (0..colour.len())
        .map(|at| {
            let (x, y) = (at % width, at / width);
            let wide = reach * 2;
            Off { own: off[at], grain: grain.around(x, y, wide) / weight.around(x, y, wide).max(1) }
        })
        .collect()
}

/// The longest run of the thing's outline along which the picture has no edge, in thousandths of its longer side.
pub fn faint(colour: &[[u8; 3]], width: usize, thing: &[bool]) -> usize {
    let height = colour.len() / width;
    let at = |x: i32, y: i32| y.clamp(0, height as i32 - 1) as usize * width + x.clamp(0, width as i32 - 1) as usize;
    let far = |one: usize, two: usize| far_apart(colour, one, two);
    // The outline: pixels of the thing beside the ground; the picture's own border is none of it.
    let mut left = vec![false; colour.len()];
    for y in 1..height as i32 - 1 {
        for x in 1..width as i32 - 1 {
            let here = at(x, y);
            let outline = thing[here] && [(1, 0), (0, 1), (-1, 0), (0, -1)].iter().any(|(dx, dy)| !thing[at(x + dx, y + dy)]);
            let step = [(2, 0), (0, 2), (2, 2), (2, -2), (3, 0), (0, 3)]
                .iter()
                .map(|(dx, dy)| (at(x + dx, y + dy), at(x - dx, y - dy)))
                // A wire is alike on both sides.
                .map(|(one, two)| far(one, two).max(far(here, one)).max(far(here, two)))
                .max();
            left[here] = outline && step.unwrap_or(0) < 14 * 14;
        }
    }
    let mut longest = 0;
    for start in 0..left.len() {
        if !left[start] {
            continue;
        }
        let (mut run, mut stack) = (0, vec![start]);
        left[start] = false;
        while let Some(here) = stack.pop() {
            run += 1;
            let (x, y) = ((here % width) as i32, (here / width) as i32);
            for dy in -2..=2 {
                for dx in -2..=2 {
                    let next = at(x + dx, y + dy);
                    if left[next] {
                        left[next] = false;
                        stack.push(next);
                    }
                }
            }
        }
        longest = longest.max(run);
    }
    longest * 1000 / width.max(height)
}

/// Adds to the thing what the cut missed of it. What hangs on it and is too much to be added, in thousandths of the thing.
pub fn complete(colour: &[[u8; 3]], width: usize, thing: &mut [bool]) -> usize {
    let count = colour.len();
    let height = count / width;
    let longest = width.max(height);
    let reach = (longest / 28).max(4);
    let next = |at: usize, dx: i32, dy: i32| next(at, Point::new(dx, dy), width, height);
    // The edge of the thing is mixed with it.
    let inside = Sums::new(width, thing.iter().map(|&is| i64::from(is)));
    let fringe = (longest / 150).max(2);
    let free = |at: usize| inside.around(at % width, at / width, fringe) == 0;
    let fringe_wide = fringe as i32 + 2;
    // Bays of the thing may be ground or a part that is as light as the ground: what the ground is like is asked further out.
    let wide = longest / 22 + 1;
    let reached = Sums::new(width, (0..count).map(|at| i64::from(inside.around(at % width, at / width, wide) > 0)));
    let bay = |at: usize| {
        let (x, y) = (at % width, at / width);
        let (across, down) =
            ((x + wide + 1).min(width) - x.saturating_sub(wide), (y + wide + 1).min(height) - y.saturating_sub(wide));
        reached.around(x, y, wide) as usize == across * down
    };
    let bays: Vec<bool> = (0..count).map(bay).collect();
    let mut ground: Vec<bool> = (0..count).map(|at| free(at) && !bays[at]).collect();
    let mut far = off(colour, width, thing, &ground, reach);
    for _ in 0..2 {
        ground.iter_mut().zip(&far).for_each(|(is, off)| *is &= off.own <= LEAST.max(off.grain * 3));
        far = off(colour, width, thing, &ground, reach);
    }
    let is_off = |at: usize| !thing[at] && far[at].own >= LEAST.max(far[at].grain * TIMES);
    let size = thing.iter().filter(|&&is| is).count().max(1);
    let mut hanging = 0;
    let mut more: Vec<usize> = Vec::new();
    // What hangs on the thing, and what lies about apart from it, with how far it is off the ground.
    let mut hung: Vec<(Vec<usize>, i64)> = Vec::new();
    let mut strewn: Vec<(usize, i64)> = Vec::new();
    let missed: Vec<bool> = (0..count).map(is_off).collect();
    for part in parts_by(&missed, width, height, true) {
        // Nothing but the fringe of the thing.
        let beyond = part.iter().filter(|&&at| free(at)).count();
        if beyond < 6 {
            continue;
        }
        let mut contrast: Vec<i64> = part.iter().map(|&at| far[at].own).collect();
        contrast.sort_unstable();
        let contrast = contrast[contrast.len() * 9 / 10];
        let step = |at: usize| {
            let across = |dx: i32, dy: i32| {
                let (Some(one), Some(two)) = (next(at, dx, dy), next(at, -dx, -dy)) else { return 0 };
                (far_apart(colour, one, two) as f64).sqrt() as i64
            };
            [(2, 0), (0, 2), (2, 2), (2, -2)].into_iter().map(|(dx, dy)| across(dx, dy)).max().unwrap_or(0)
        };
        // The steps at its edges are held against the whole part, so that a soft shadow is none; where it has light and dark places, as a bag on a
        // dark string, against what lies close behind each.
        let behind = |at: usize| {
            let around = (-fringe_wide..=fringe_wide).flat_map(|dy| (-fringe_wide..=fringe_wide).map(move |dx| (dx, dy)));
            around.filter_map(|(dx, dy)| next(at, dx, dy)).filter(|&at| is_off(at)).map(|at| far[at].own).max().unwrap_or(1)
        };
        let edge = |at: usize| beside(at, width, height).chain(aslant(at, width, height)).any(|at| !is_off(at) && !thing[at]);
        let edges: Vec<usize> = part.iter().copied().filter(|&at| free(at) && edge(at)).collect();
        let middle = |against: &dyn Fn(usize) -> i64| {
            let mut steps: Vec<i64> = edges.iter().map(|&at| step(at) * 1000 / against(at).max(1)).collect();
            steps.sort_unstable();
            steps.get(steps.len() / 2).copied().unwrap_or(0)
        };
        let mut crisp = middle(&|_| contrast);
        if crisp < CRISP && contrast >= WIRE {
            crisp = middle(&behind);
        }
        if crisp < CRISP {
            continue;
        }
        let attached = part.iter().any(|&at| !free(at));
        let at_border = part.iter().any(|&at| {
            let (x, y) = (at % width, at / width);
            x == 0 || y == 0 || x + 1 == width || y + 1 == height
        });
        // How far it reaches out: what hugs the thing is its rim, or the shadow at its foot.
        let reach = longest / 64 + 2;
        let out = part.iter().filter(|&&at| inside.around(at % width, at / width, reach) == 0 || bays[at] && free(at)).count();
        let small = part.len() * 8 <= size;
        if attached && (out * 20 >= part.len() || crisp > 750 && beyond * 5 >= part.len() * 2) {
            // What goes on to the picture's border is the edge of a table as often as a cable.
            match (small, at_border) {
                (true, false) => hung.push((part, contrast)),
                (false, false) => hanging += part.len(),
                _ => {}
            }
        } else if !attached && !at_border && part.len() * 400 >= count && contrast >= 40 {
            more.extend(part);
        } else if !attached {
            strewn.push((part.len(), contrast));
        }
    }
    for (part, contrast) in hung {
        // Where as much and more of the same kind lies all about, it is the ground's own pattern, which the thing happens to lie on.
        let is_like = |other: i64| other * 3 >= contrast * 2 && contrast * 3 >= other * 2;
        let like: usize = strewn.iter().filter(|(_, other)| is_like(*other)).map(|(size, _)| size).sum();
        if contrast >= WIRE || like < part.len() * 2 {
            more.extend(part);
        }
    }
    if !more.is_empty() {
        more.into_iter().for_each(|at| thing[at] = true);
        // The middle of a part that is as light as the ground is part of it; a loop of wire is larger.
        let outside: Vec<bool> = thing.iter().map(|is| !is).collect();
        for hole in parts_by(&outside, width, height, false).into_iter().filter(|hole| hole.len() * 1600 < count) {
            hole.into_iter().for_each(|at| thing[at] = true);
        }
    }
    hanging * 1000 / size
}

/// How much more of the ground close to the thing is edges than of all other ground, in thousandths: pins and white ends that were left outside.
pub fn near(colour: &[[u8; 3]], width: usize, thing: &[bool]) -> usize {
    let height = colour.len() / width;
    let longest = width.max(height);
    let inside = Sums::new(width, thing.iter().map(|&is| i64::from(is)));
    let far = |one: usize, two: usize| far_apart(colour, one, two);
    let mut counts = [[0usize; 2]; 2];
    for y in 2..height.saturating_sub(2) {
        for x in 2..width.saturating_sub(2) {
            if inside.around(x, y, longest / 100 + 2) > 0 {
                continue;
            }
            let near = inside.around(x, y, longest / 16) > 0;
            let at = y * width + x;
            let step = far(at + 2, at - 2).max(far(at + 2 * width, at - 2 * width));
            let counts = &mut counts[usize::from(!near)];
            counts[0] += usize::from(step >= 28 * 28);
            counts[1] += 1;
        }
    }
    let share = |[edges, all]: [usize; 2]| edges * 1000 / all.max(1);
    share(counts[0]).saturating_sub(share(counts[1]))
}
