//! Balloons: the shape around what is said, the tail to who says it, and a place for each where it hides nobody.
//!
//! Knows nothing of pictures and panels but their size in dots. Outlines are in sixteenths of a dot.

use std::f64::consts::TAU;

use crate::bitmap::Bitmap;
use crate::layout::galley::SUBDOTS;
use crate::manual::document::BalloonKind;

/// Points of an outline, each with how far it may be moved by what stands beside it: none.
pub type Outline = Vec<[i32; 2]>;

/// Half the width and half the height that a balloon needs for its lines, dots. `lines` are their widths, `pitch` their distance.
///
/// The shape is a superellipse, the bulging one that letterers draw: |x/a|^2.5 + |y/b|^2.5 = 1. Every corner of every line lies
/// inside it with `padding` to spare.
pub fn half_axes(kind: BalloonKind, lines: &[i32], pitch: i32, padding: i32) -> [i32; 2] {
    let rows = lines.len().max(1) as i32;
    let widest = lines.iter().copied().max().unwrap_or(0);
    if kind == BalloonKind::Sound {
        return [widest / 2 + padding / 2, rows * pitch / 2 + padding / 4];
    }
    let (half_w, half_h) =
        (f64::from(widest) / 2.0 + f64::from(padding), f64::from(rows * pitch) / 2.0 + f64::from(padding) * 0.6);
    // The smallest stretch of the plain rectangle that holds all corners.
    let mut stretch = 1.0f64;
    loop {
        let (a, b) = (half_w * stretch, half_h * stretch);
        let holds = lines.iter().enumerate().all(|(n, &width)| {
            let top = f64::from(n as i32 * pitch - rows * pitch / 2);
            let edge = libm::fabs(top).max(libm::fabs(top + f64::from(pitch)));
            let x = (f64::from(width) / 2.0 + f64::from(padding) * 0.5) / a;
            libm::pow(x, 2.5) + libm::pow(edge / b, 2.5) <= 1.0
        });
        if holds || stretch > 2.0 {
            let room = match kind {
                // Spikes and scallops take from the inside.
                BalloonKind::Shout => 1.28,
                BalloonKind::Thought => 1.14,
                BalloonKind::Speech | BalloonKind::Whisper | BalloonKind::Sound => 1.0,
            };
            return [libm::ceil(a * room) as i32, libm::ceil(b * room) as i32];
        }
        stretch += 0.02;
    }
}

/// The outline around the origin, clockwise from the right, without its tail.
pub fn outline(kind: BalloonKind, half: [i32; 2]) -> Outline {
    let (a, b) = (f64::from(half[0] * SUBDOTS), f64::from(half[1] * SUBDOTS));
    let round = |x: f64, y: f64| [libm::round(x) as i32, libm::round(y) as i32];
    let superellipse = |turn: f64, share: f64| {
        let (sin, cos) = (libm::sin(turn * TAU), libm::cos(turn * TAU));
        let bulge = |part: f64| libm::copysign(libm::pow(libm::fabs(part), 0.8), part);
        round(a * share * bulge(cos), b * share * bulge(sin))
    };
    match kind {
        BalloonKind::Sound => Vec::new(),
        BalloonKind::Speech | BalloonKind::Whisper => (0..96).map(|n| superellipse(f64::from(n) / 96.0, 1.0)).collect(),
        BalloonKind::Shout => {
            let spikes = ((half[0] + half[1]) / 11).clamp(12, 30) * 2;
            (0..spikes)
                .map(|n| {
                    // Long and short spikes by turns, as a brush would set them.
                    let share = match n % 4 {
                        0 => 1.0,
                        2 => 0.94,
                        _ => 0.82,
                    };
                    superellipse(f64::from(n) / f64::from(spikes), share)
                })
                .collect()
        }
        BalloonKind::Thought => {
            let scallops = ((half[0] + half[1]) / 15).clamp(8, 22);
            let steps = 10;
            (0..scallops * steps)
                .map(|n| {
                    let within = f64::from(n % steps) / f64::from(steps);
                    let share = 0.90 + 0.10 * libm::sin(within * TAU / 2.0);
                    superellipse(f64::from(n) / f64::from(scallops * steps), share)
                })
                .collect()
        }
    }
}

/// The outline with a tail that points from the origin at `tip` (sixteenths, relative to the middle of the balloon).
/// `base` is the width of the tail where it leaves the balloon, dots.
pub fn with_tail(outline: &Outline, tip: [i32; 2], base: i32) -> Outline {
    let count = outline.len();
    if count < 8 {
        return outline.clone();
    }
    // The point of the outline that lies in the direction of the tip, and its neighbours up to half the base away.
    let aim = |p: [i32; 2]| {
        let (px, py, tx, ty) = (i64::from(p[0]), i64::from(p[1]), i64::from(tip[0]), i64::from(tip[1]));
        let (dot, cross) = (px * tx + py * ty, px * ty - py * tx);
        if dot <= 0 { i64::MAX } else { cross.abs() * 1000 / dot.max(1) }
    };
    let Some(nearest) = (0..count).min_by_key(|&n| (aim(outline[n]), n)) else { return outline.clone() };
    let half = i64::from(base * SUBDOTS) / 2;
    let far = |n: usize| {
        let (dx, dy) = (i64::from(outline[n][0] - outline[nearest][0]), i64::from(outline[n][1] - outline[nearest][1]));
        dx * dx + dy * dy >= half * half
    };
    let after = (1..count / 3).find(|&step| far((nearest + step) % count)).unwrap_or(count / 3);
    let before = (1..count / 3).find(|&step| far((nearest + count - step) % count)).unwrap_or(count / 3);
    let mut points = Vec::with_capacity(count + 1);
    let mut n = (nearest + after) % count;
    let end = (nearest + count - before) % count;
    loop {
        points.push(outline[n]);
        if n == end {
            break;
        }
        n = (n + 1) % count;
    }
    points.push(tip);
    points
}

/// Where the tail of a thought goes: bubbles from the balloon to who thinks, each a middle and a radius, dots.
pub fn bubbles(middle: [i32; 2], half: [i32; 2], tip: [i32; 2]) -> Vec<([i32; 2], i32)> {
    let (dx, dy) = (f64::from(tip[0] - middle[0]), f64::from(tip[1] - middle[1]));
    let reach =
        libm::sqrt((dx / f64::from(half[0])) * (dx / f64::from(half[0])) + (dy / f64::from(half[1])) * (dy / f64::from(half[1])));
    if reach <= 1.05 {
        return Vec::new();
    }
    let start = 1.0 / reach;
    [(0.24, 8), (0.58, 6), (0.90, 4)]
        .iter()
        .map(|&(along, radius)| {
            let at = start + (1.0 - start) * along;
            ([middle[0] + libm::round(dx * at) as i32, middle[1] + libm::round(dy * at) as i32], radius)
        })
        .collect()
}

/// The end of a tail: on the way from the balloon to the speaker, a little before it, so that the speaker stays whole.
pub fn tip(middle: [i32; 2], half: [i32; 2], speaker: [i32; 2]) -> Option<[i32; 2]> {
    let (dx, dy) = (f64::from(speaker[0] - middle[0]), f64::from(speaker[1] - middle[1]));
    let (x, y) = (libm::fabs(dx) / f64::from(half[0]), libm::fabs(dy) / f64::from(half[1]));
    let reach = libm::pow(libm::pow(x, 2.5) + libm::pow(y, 2.5), 0.4);
    let length = libm::sqrt(dx * dx + dy * dy);
    if reach <= 1.0 || length * (1.0 - 1.0 / reach) < 8.0 {
        return None;
    }
    let short = 1.0 - 5.0 / length;
    Some([libm::round(dx * short) as i32, libm::round(dy * short) as i32])
}

/// A balloon to be placed.
#[derive(Clone, Copy, Debug)]
pub struct Wanted {
    pub half: [i32; 2],
    /// Where the writer wants its middle, dots in the panel.
    pub at: [i32; 2],
    pub speaker: Option<[i32; 2]>,
    /// Whether it hides what it stands on; free lettering does not.
    pub hides: bool,
}

/// How much of what is drawn a balloon may cover, in thousandths of its own size.
const COVERED: i64 = 4;

/// A straight line as long as this many hundredths of the picture and no thicker than so many dots is a horizon or the edge of a
/// wall: a balloon may stand on it.
const LONG: usize = 60;
const THIN: usize = 6;

/// Black dots of what a picture shows, counted over any rectangle at once. Horizons are not counted.
pub struct Ground {
    width: usize,
    height: usize,
    /// Black dots above and to the left of each corner.
    sums: Vec<u32>,
}

impl Ground {
    pub fn new(picture: &Bitmap) -> Ground {
        let (width, height) = (picture.width() as usize, picture.height() as usize);
        let black: Vec<bool> = (0..height).flat_map(|y| (0..width).map(move |x| picture.get(x as i32, y as i32))).collect();
        let (across, down) = (runs(&black, width, 1), runs(&black, height, width));
        let straight = |at: usize| {
            let (across, down) = (across[at] as usize, down[at] as usize);
            across * 100 >= width * LONG && down <= THIN || down * 100 >= height * LONG && across <= THIN
        };
        let mut sums = vec![0u32; (width + 1) * (height + 1)];
        for y in 0..height {
            let mut along = 0;
            for x in 0..width {
                along += u32::from(black[y * width + x] && !straight(y * width + x));
                sums[(y + 1) * (width + 1) + x + 1] = sums[y * (width + 1) + x + 1] + along;
            }
        }
        Ground { width, height, sums }
    }

    /// Thousandths of a rectangle that are black, in dots of the picture.
    fn share(&self, left: i32, top: i32, right: i32, bottom: i32) -> i64 {
        let area = i64::from(right - left) * i64::from(bottom - top);
        let clamp = |at: i32, most: usize| (at.max(0) as usize).min(most);
        let (left, right) = (clamp(left, self.width), clamp(right, self.width));
        let (top, bottom) = (clamp(top, self.height), clamp(bottom, self.height));
        let at = |x: usize, y: usize| i64::from(self.sums[y * (self.width + 1) + x]);
        let black = at(right, bottom) - at(left, bottom) - at(right, top) + at(left, top);
        black * 1000 / area.max(1)
    }
}

/// For every black dot the length of the straight run it stands in. A line of dots has `length`, its dots `step` places apart.
fn runs(black: &[bool], length: usize, step: usize) -> Vec<u16> {
    let mut runs = vec![0u16; black.len()];
    for line in 0..black.len() / length.max(1) {
        let begin = if step == 1 { line * length } else { line };
        let mut at = 0;
        while at < length {
            let run = (at..length).take_while(|&n| black[begin + n * step]).count();
            (at..at + run).for_each(|n| runs[begin + n * step] = run.min(usize::from(u16::MAX)) as u16);
            at += run.max(1);
        }
    }
    runs
}

/// A middle for every balloon: as near as can be to where it is wanted, inside the panel, off the other balloons, off every
/// speaker and, where a ground is given with the row it begins at, off what is drawn; none when the panel is too small for that.
pub fn place(wanted: &[Wanted], width: i32, height: i32, inset: i32, ground: Option<(&Ground, i32)>) -> Option<Vec<[i32; 2]>> {
    let mut placed: Vec<[i32; 2]> = Vec::new();
    for (n, balloon) in wanted.iter().enumerate() {
        let [a, b] = balloon.half;
        let (left, right) = (inset + a, width - inset - a);
        let (top, bottom) = (inset + b, height - inset - b);
        if left > right || top > bottom {
            return None;
        }
        let fits = |middle: [i32; 2]| {
            let apart = placed.iter().zip(wanted).all(|(other, of)| {
                let gap = 5;
                (middle[0] - other[0]).abs() >= a + of.half[0] + gap || (middle[1] - other[1]).abs() >= b + of.half[1] + gap
            });
            let clear = wanted.iter().filter_map(|other| other.speaker).all(|speaker| {
                let own = 12;
                (speaker[0] - middle[0]).abs() >= a + own || (speaker[1] - middle[1]).abs() >= b + own
            });
            let covers = |(ground, down): (&Ground, i32)| {
                // The corners of its rectangle are not the balloon's.
                let (a, b) = (a * 9 / 10, b * 9 / 10);
                balloon.hides && ground.share(middle[0] - a, middle[1] - b - down, middle[0] + a, middle[1] + b - down) > COVERED
            };
            apart && clear && !ground.is_some_and(covers)
        };
        let first = [balloon.at[0].clamp(left, right), balloon.at[1].clamp(top, bottom)];
        let step = 6;
        let mut best: Option<(i64, [i32; 2])> = None;
        let columns = (left..=right).step_by(step).chain([first[0]]);
        for x in columns {
            for y in (top..=bottom).step_by(step).chain([first[1]]) {
                let away = i64::from(x - first[0]).pow(2) + i64::from(y - first[1]).pow(2);
                // What is read later must not come to stand before what is read earlier.
                let in_order = placed.iter().take(n).all(|other| y + b >= other[1] - a / 2);
                if in_order && best.is_none_or(|(least, _)| away < least) && fits([x, y]) {
                    best = Some((away, [x, y]));
                }
            }
        }
        placed.push(best?.1);
    }
    Some(placed)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn balloons_stay_inside_and_off_each_other_and_off_the_speakers(
            many in prop::collection::vec((20..70i32, 15..40i32, 0..280i32, 0..400i32, prop::option::of((0..280i32, 0..400i32))), 1..5)
        ) {
            let wanted: Vec<Wanted> = many
                .iter()
                .map(|&(a, b, x, y, speaker)| Wanted { half: [a, b], at: [x, y], speaker: speaker.map(|(x, y)| [x, y]), hides: true })
                .collect();
            // A panel grows until all have room, as the comic does.
            let mut height = 200;
            let placed = loop {
                match place(&wanted, 280, height, 6, None) {
                    Some(placed) => break placed,
                    None => height += 40,
                }
                prop_assert!(height < 4000, "no room is ever enough");
            };
            for (n, (middle, of)) in placed.iter().zip(&wanted).enumerate() {
                let [a, b] = of.half;
                prop_assert!(middle[0] - a >= 6 && middle[0] + a <= 274 && middle[1] - b >= 6 && middle[1] + b <= height - 6);
                for (other, also) in placed.iter().zip(&wanted).skip(n + 1) {
                    let apart = (middle[0] - other[0]).abs() >= a + also.half[0] || (middle[1] - other[1]).abs() >= b + also.half[1];
                    prop_assert!(apart, "balloons overlap");
                }
                for speaker in wanted.iter().filter_map(|wanted| wanted.speaker) {
                    prop_assert!((speaker[0] - middle[0]).abs() > a || (speaker[1] - middle[1]).abs() > b, "a speaker is hidden");
                }
            }
        }

        #[test]
        fn every_line_lies_inside_its_balloon(lines in prop::collection::vec(10..200i32, 1..6), pitch in 20..40i32) {
            for kind in [BalloonKind::Speech, BalloonKind::Whisper, BalloonKind::Thought, BalloonKind::Shout] {
                let half = half_axes(kind, &lines, pitch, 8);
                let points = outline(kind, half);
                let top = -(lines.len() as i32 * pitch / 2);
                for (n, width) in lines.iter().enumerate() {
                    for y in [top + n as i32 * pitch, top + (n as i32 + 1) * pitch] {
                        for x in [-width / 2, width / 2] {
                            prop_assert!(holds(&points, [x * SUBDOTS, y * SUBDOTS]), "{kind:?}: a corner of line {n} sticks out");
                        }
                    }
                }
            }
        }
    }

    /// Whether an outline around the origin holds a point: even-odd rule, written apart from the painter's.
    fn holds(points: &Outline, at: [i32; 2]) -> bool {
        let mut inside = false;
        for (n, p) in points.iter().enumerate() {
            let q = points[(n + 1) % points.len()];
            if (p[1] > at[1]) != (q[1] > at[1]) {
                let x = f64::from(p[0]) + f64::from(q[0] - p[0]) * f64::from(at[1] - p[1]) / f64::from(q[1] - p[1]);
                inside ^= f64::from(at[0]) < x;
            }
        }
        inside
    }

    #[test]
    fn a_balloon_may_stand_on_a_horizon_but_not_on_what_is_shown() {
        let mut picture = Bitmap::new(200, 100);
        picture.fill(0, 60, 200, 3, true);
        picture.fill(150, 0, 4, 100, true);
        let plain = Ground::new(&picture);
        assert_eq!(plain.share(0, 0, 100, 100), 0, "a horizon");
        // Where the edge of the window crosses the horizon a few dots are counted.
        assert!(plain.share(100, 0, 200, 100) < COVERED);
        picture.fill(60, 20, 10, 10, true);
        assert_eq!(Ground::new(&picture).share(0, 0, 100, 100), 10, "100 dots of 10,000");
        // A black sky is long both ways: it is shown.
        picture.fill(0, 0, 200, 100, true);
        assert_eq!(Ground::new(&picture).share(0, 0, 100, 100), 1000);
    }

    #[test]
    fn a_tail_ends_before_its_speaker() {
        let tip = tip([100, 50], [60, 30], [100, 200]).unwrap();
        assert_eq!(tip, [0, 145]);
        assert_eq!(super::tip([100, 50], [60, 30], [110, 60]), None);
    }
}
