//! The shapes of balloons: what goes around the lines of a letterer, and the tail to who says it.
//!
//! Knows nothing of pictures and panels. Outlines are around the balloon's middle, in sixteenths of a dot.

use std::f64::consts::TAU;

use crate::geometry::{Point, Size};
use crate::layout::galley::SUBDOTS;
use crate::manual::document::BalloonKind;

pub type Outline = Vec<Point<i32>>;

/// The curve that letterers draw: |x/a|^n + |y/b|^n = 1 with this n, fuller than an ellipse.
const BULGE: f64 = 2.5;

/// Half the width of the curve with these halves, so many dots from its middle up or down.
pub fn half_width(half: Size<i32>, at: i32) -> i32 {
    let part = f64::from(at.abs()) / f64::from(half.height.max(1));
    let share = libm::pow((1.0 - libm::pow(part.min(1.0), BULGE)).max(0.0), 1.0 / BULGE);
    libm::ceil(f64::from(half.width) * share) as i32
}

/// Points of a curve before anything is drawn on it.
const FINE: usize = 256;

/// Half the width and half the height, in dots, of the curve that holds lines of these widths, one `pitch` under the other, with
/// `padding` around every corner. Of all that do, the one that takes the least room without being a stripe; nor a tower, unless it is
/// `narrow` because the panel is.
pub fn inner(lines: &[i32], pitch: i32, padding: i32, narrow: bool) -> Size<i32> {
    let rows = lines.len().max(1) as i32;
    let tall = f64::from(rows * pitch) / 2.0 + f64::from(padding) * 0.2;
    let (mut best, mut least) = (Size::new(1, 1), f64::MAX);
    for stretch in [1.06, 1.12, 1.20, 1.30, 1.42, 1.56] {
        let b = libm::ceil(tall * stretch);
        let a = lines.iter().enumerate().map(|(n, &width)| {
            let top = f64::from(n as i32 * pitch) - f64::from(rows * pitch) / 2.0;
            let edge = libm::fabs(top).max(libm::fabs(top + f64::from(pitch))) + f64::from(padding) * 0.1;
            let share = libm::pow(1.0 - libm::pow((edge / b).min(0.999), BULGE), 1.0 / BULGE);
            (f64::from(width) / 2.0 + f64::from(padding) * 0.5 + 2.0) / share
        });
        let a = libm::ceil(a.fold(f64::from(padding) * 1.5, f64::max)).max(if narrow { 0.0 } else { b * 0.45 });
        if a * b < least {
            (best, least) = (Size::new(a as i32, b as i32), a * b);
        }
    }
    best
}

/// Half the width and half the height of all that is drawn, in dots: of the outline and its line.
pub fn reach(outline: &Outline) -> Size<i32> {
    let most = |side: fn(&Point<i32>) -> i32| outline.iter().map(|point| side(point).abs()).max().unwrap_or(0);
    Size::new(most(|point| point.x), most(|point| point.y)).map(|most| (most + SUBDOTS - 1) / SUBDOTS + LINE / 2 + 1)
}

/// Thickness of a balloon's line, dots.
pub const LINE: i32 = 3;

/// The outline without its tail, clockwise from the right. What is drawn on the curve (spikes, lobes) stands outside of it. `x_height` is
/// that of the lettering, dots: what is drawn follows the hand, not the size of the balloon.
pub fn outline(kind: BalloonKind, inner: Size<i32>, x_height: i32) -> Outline {
    let hand = f64::from(x_height.max(6));
    let even = Even::new(inner);
    match kind {
        BalloonKind::Sound => Vec::new(),
        BalloonKind::Speech | BalloonKind::Whisper => even.points(160),
        BalloonKind::Shout => {
            let spikes = ((even.length / (hand * 1.35)) as usize).clamp(10, 72) / 2 * 2;
            let lengths = [0.95, 0.50, 0.75, 0.45, 0.85, 0.60];
            let mut points = Vec::with_capacity(spikes * 2);
            for n in 0..spikes {
                // A spike stands at the middle of either end, or a balloon of one line is a box with a fringe.
                let at = even.length * (n as f64 - 0.5) / spikes as f64;
                points.push(whole(even.outside(at, 2.0)));
                let aside = if n * 2 % spikes == 0 { 0.0 } else { 0.12 * libm::sin(n as f64 * 2.4) };
                let tip = at + even.length * (0.5 + aside) / spikes as f64;
                points.push(whole(even.outside(tip, 2.0 + hand * lengths[n % lengths.len()])));
            }
            points
        }
        BalloonKind::Thought => {
            // Lobes of unlike width, as a brush sets them; each an arc over its chord.
            let widths = [1.0, 1.35, 0.85, 1.2, 0.95];
            let lobes = ((even.length / (hand * 2.1)) as usize).clamp(7, 40);
            let all: f64 = (0..lobes).map(|n| widths[n % widths.len()]).sum();
            let mut points = Vec::with_capacity(lobes * 9);
            let mut at = 0.0;
            for n in 0..lobes {
                let width = even.length * widths[n % widths.len()] / all;
                for step in 0..9 {
                    let part = f64::from(step) / 9.0;
                    let rise = libm::sqrt((4.0 * part * (1.0 - part)).max(0.0)) * width * 0.30;
                    points.push(whole(even.outside(at + width * part, 1.0 + rise)));
                }
                at += width;
            }
            points
        }
    }
}

fn whole(at: Point<f64>) -> Point<i32> {
    at.map(|side| libm::round(side) as i32)
}

/// The curve, walked along at an even pace.
struct Even {
    /// Sixteenths of a dot; each point with the way to it from the first.
    points: Vec<(Point<f64>, f64)>,
    /// All around, dots.
    length: f64,
}

impl Even {
    fn new(half: Size<i32>) -> Even {
        let Size { width: a, height: b } = half.map(|side| f64::from(side * SUBDOTS));
        let at = |n: usize| {
            let turn = n as f64 / FINE as f64 * TAU;
            let bulge = |part: f64| libm::copysign(libm::pow(libm::fabs(part), 2.0 / BULGE), part);
            Point::new(a * bulge(libm::cos(turn)), b * bulge(libm::sin(turn)))
        };
        let mut points: Vec<(Point<f64>, f64)> = Vec::with_capacity(FINE + 1);
        for n in 0..=FINE {
            let point = at(n % FINE);
            let way = points.last().map_or(0.0, |(last, way)| way + last.distance(point));
            points.push((point, way));
        }
        let length = points.last().map_or(0.0, |(_, way)| way / f64::from(SUBDOTS));
        Even { points, length }
    }

    /// The point so many dots along, moved so many dots outwards.
    fn outside(&self, along: f64, out: f64) -> Point<f64> {
        let wanted = (along - libm::floor(along / self.length) * self.length) * f64::from(SUBDOTS);
        let next = self.points.partition_point(|(_, way)| *way <= wanted).clamp(1, FINE);
        let ((from, begin), (to, end)) = (self.points[next - 1], self.points[next]);
        let part = if end > begin { (wanted - begin) / (end - begin) } else { 0.0 };
        let way = to - from;
        let step = way.length().max(1e-6);
        let out = out * f64::from(SUBDOTS);
        Point::new(from.x + way.x * part + way.y / step * out, from.y + way.y * part - way.x / step * out)
    }

    fn points(&self, count: usize) -> Outline {
        (0..count).map(|n| whole(self.outside(self.length * n as f64 / count as f64, 0.0))).collect()
    }
}

/// What covers a part of a tail: a middle and a radius, dots.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Disc {
    pub middle: Point<i32>,
    pub radius: i32,
}

/// Where a tail ends: on the way from the middle to the speaker, `short` dots before it, so that the speaker stays whole. None where the
/// speaker is so near that there is no room for a tail. Dots, around the middle.
pub fn tip(half: Size<i32>, speaker: Point<i32>, short: i32) -> Option<Point<i32>> {
    let (x, y) = (f64::from(speaker.x), f64::from(speaker.y));
    let power = |side: f64, half: i32| libm::pow(libm::fabs(side) / f64::from(half.max(1)), BULGE);
    let reach = libm::pow(power(x, half.width) + power(y, half.height), 1.0 / BULGE);
    let length = libm::sqrt(x * x + y * y);
    if reach <= 1.0 || length * (1.0 - 1.0 / reach) < f64::from(short) + 4.0 {
        return None;
    }
    Some(whole(Point::new(x, y) * (1.0 - f64::from(short) / length)))
}

/// The discs that cover what leads from a balloon to who speaks: points around the balloon's middle and radii in dots, its line included.
/// `root` is the width of the tail where it leaves the balloon; a whisper's tail is no longer than `most`.
pub fn discs(kind: BalloonKind, half: Size<i32>, speaker: Point<i32>, root: i32, most: i32) -> Vec<Disc> {
    if kind == BalloonKind::Thought {
        return bubbles(half, speaker);
    }
    let Some(tip) = tip(half, speaker, 6) else { return Vec::new() };
    let (x, y) = (f64::from(tip.x), f64::from(tip.y));
    let length = libm::sqrt(x * x + y * y);
    let power = |side: f64, half: i32| libm::pow(libm::fabs(side) / f64::from(half.max(1)), BULGE);
    let reach = libm::pow(power(x, half.width) + power(y, half.height), 1.0 / BULGE);
    let begin = length / reach.max(1.0);
    let end = if kind == BalloonKind::Whisper { length.min(begin + f64::from(most)) } else { length };
    let way = (end - begin).max(0.0);
    let bend = match kind {
        BalloonKind::Shout => 0.0,
        _ if x < 0.0 => BEND,
        _ => -BEND,
    };
    let count = (way / 5.0) as i32 + 1;
    let disc = |n: i32| {
        let part = f64::from(n) / f64::from(count);
        let (at, aside) = (begin + way * part, way * 4.0 * part * (1.0 - part) * bend);
        let point = Point::new(x * at / length - y * aside / length, y * at / length + x * aside / length);
        let wide = f64::from(root) / 2.0;
        let wide = match kind {
            // Its root lies between two spikes, and its knees stand out.
            BalloonKind::Shout => {
                let knee = libm::fabs(part - 0.5) * way < f64::from(root);
                (wide * 2.6 * (1.0 - part) + 3.0).max(if knee { f64::from(root) * WIDEST * KNEE } else { 0.0 })
            }
            _ => wide * (1.0 - part),
        };
        Disc { middle: whole(point), radius: libm::ceil(wide) as i32 + LINE / 2 + 1 }
    };
    (0..=count).map(disc).collect()
}

/// The outline with a tail to `tip` (sixteenths). `root` is its width where it leaves the balloon, dots.
pub fn with_tail(kind: BalloonKind, outline: &Outline, tip: Point<i32>, root: i32) -> Outline {
    let count = outline.len();
    if count < 8 {
        return outline.clone();
    }
    // The point of the outline that lies in the direction of the tip, and its neighbours up to half the root away.
    let aim = |p: Point<i32>| {
        let (dot, cross) = (p.wide().dot(tip.wide()), p.wide().cross(tip.wide()));
        if dot <= 0 { i64::MAX } else { cross.abs() * 1000 / dot.max(1) }
    };
    let Some(nearest) = (0..count).min_by_key(|&n| (aim(outline[n]), n)) else { return outline.clone() };
    let half = i64::from(root * SUBDOTS) / 2;
    let far = |n: usize| {
        let way = (outline[n] - outline[nearest]).wide();
        way.dot(way) >= half * half
    };
    let after = (1..count / 3).find(|&step| far((nearest + step) % count)).unwrap_or(count / 3);
    let before = (1..count / 3).find(|&step| far((nearest + count - step) % count)).unwrap_or(count / 3);
    let (begin, end) = ((nearest + after) % count, (nearest + count - before) % count);
    let mut points: Outline =
        std::iter::successors(Some(begin), |&n| (n != end).then_some((n + 1) % count)).map(|n| outline[n]).collect();
    // On a smooth line the root is as wide as was asked, wherever the outline's points lie; spikes are left as they are.
    let (mut right, mut left) = (outline[begin], outline[end]);
    if matches!(kind, BalloonKind::Speech | BalloonKind::Whisper) {
        let inner = |step: usize| outline[step % count];
        right = at_distance(outline[nearest], half, inner(nearest + after - 1), right);
        left = at_distance(outline[nearest], half, inner(nearest + count - before + 1), left);
        points.insert(0, right);
        points.push(left);
    }
    points.extend(tail(kind, [left, right], tip, root));
    points
}

/// The point between two others that is so far from a third, as near as sixteen steps come to it.
fn at_distance(middle: Point<i32>, far: i64, near: Point<i32>, away: Point<i32>) -> Point<i32> {
    let at = |step: i32| near + ((away - near) * step).map(|side| side / 16);
    let reaches = |point: &Point<i32>| {
        let way = (*point - middle).wide();
        way.dot(way) >= far * far
    };
    (0..=16).map(at).find(reaches).unwrap_or(away)
}

/// How far the knees of a flash stand out, in halves of its root.
const KNEE: f64 = 1.2;

/// The most that a half of its root counts for its knees, in roots as they were asked for.
const WIDEST: f64 = 0.75;

/// How far the middle of a tail bends aside, in shares of its length.
pub const BEND: f64 = 0.07;

/// Length of the pieces of a tail, dots.
const PIECE: i32 = 40;

/// From one side of the root over the tip to the other, without the two points of the root.
/// `width` is what the root was asked to be, dots.
fn tail(kind: BalloonKind, [left, right]: [Point<i32>; 2], tip: Point<i32>, width: i32) -> Outline {
    let [left, right, tip] = [left, right, tip].map(Point::float);
    let root = (left + right).map(|side| side / 2.0);
    let way = tip - root;
    let between = |from: Point<f64>, part: f64, aside: f64| {
        // So far on the way to the tip, and so much of the tail's length to its side.
        from.towards(tip, part) + Point::new(-way.y, way.x) * aside
    };
    match kind {
        BalloonKind::Shout => {
            // A flash: two wedges side by side, joined in the middle by a neck as wide as half the root, on the way from the balloon's middle,
            // wherever its spikes left room for a root.
            let root = tip * (root.dot(tip) / tip.dot(tip).max(1.0));
            let way = tip - root;
            let length = way.length().max(1.0);
            // Between two wide spikes its root is wider than was asked, but not much its knees.
            let half = (left.distance(right) / 2.0).min(f64::from(width * SUBDOTS) * WIDEST);
            if length < half * 7.0 {
                return vec![whole(tip)];
            }
            let (along, aside) = (way.map(|side| side / length), Point::new(-way.y / length, way.x / length));
            // So far along from the middle of the way and so far to its side, in halves of the root.
            let at = |step: f64, side: f64| root + along * (length / 2.0 + step * half) + aside * side * half;
            // Which side of the way the left end of the root is on.
            let to = if (left - root).dot(aside) < 0.0 { -1.0 } else { 1.0 };
            [at(0.5, 0.1 * to), at(-0.6, KNEE * to), tip, at(-0.5, -0.1 * to), at(0.6, -KNEE * to)].map(whole).to_vec()
        }
        _ => {
            // A little bent, as a brush would draw it; both sides bend the same way.
            // To which side is seen from the middle of the balloon: where its root begins is a matter of the outline's points.
            let bend = if tip.x < 0.0 { BEND } else { -BEND };
            let curve = |part: f64| 4.0 * part * (1.0 - part) * bend;
            // In pieces so short that none is seen, nor leaves the way that is kept free for it.
            let count = (way.length() / f64::from(SUBDOTS * PIECE)).ceil().clamp(5.0, 40.0) as i32;
            let parts = (1..count).map(|n| f64::from(n) / f64::from(count));
            let there = parts.clone().map(|part| whole(between(left, part, curve(part))));
            let back = parts.rev().map(|part| whole(between(right, part, curve(part))));
            there.chain([whole(tip)]).chain(back).collect()
        }
    }
}

/// The tail of a thought: bubbles that grow smaller on the way from the cloud to who thinks, with white between them, the last one well
/// before the speaker. Middles around the balloon's, and radii, in dots.
pub fn bubbles(half: Size<i32>, speaker: Point<i32>) -> Vec<Disc> {
    let (x, y) = (f64::from(speaker.x), f64::from(speaker.y));
    let power = |side: f64, half: i32| libm::pow(libm::fabs(side) / f64::from(half.max(1)), BULGE);
    let reach = libm::pow(power(x, half.width) + power(y, half.height), 1.0 / BULGE);
    let length = libm::sqrt(x * x + y * y);
    if reach <= 1.0 {
        return Vec::new();
    }
    let start = length / reach;
    let room = length - start - 10.0;
    // As many as there is room for with four dots of white before each.
    let all: [&[i32]; 3] = [&[9, 6, 4], &[7, 4], &[4]];
    let Some(radii) = all.into_iter().find(|radii| f64::from(radii.iter().map(|radius| radius * 2 + 4).sum::<i32>()) <= room)
    else {
        return Vec::new();
    };
    let taken = f64::from(radii.iter().map(|radius| radius * 2).sum::<i32>());
    let gap = ((room - taken) / radii.len() as f64).min(24.0);
    let mut at = start;
    let placed = radii.iter().map(|&radius| {
        at += gap + f64::from(radius);
        let middle = whole(Point::new(x, y).map(|side| side * at / length));
        at += f64::from(radius);
        Disc { middle, radius }
    });
    placed.collect()
}

/// A broken line: lengths of its strokes and of the gaps between them, about so many dots.
#[derive(Clone, Copy, Debug)]
pub struct Dash {
    pub on: i32,
    pub off: i32,
}

/// The strokes of a line around a shape: their ends, in sixteenths. A dash is measured along the line, so that every part of it is broken
/// alike; the first point lies in the middle of a gap, and no stroke comes out short where the line ends.
pub fn strokes(shape: &Outline, dash: Option<Dash>) -> Vec<[Point<i32>; 2]> {
    let sides = (0..shape.len()).map(|n| [shape[n], shape[(n + 1) % shape.len()]]);
    let Some(dash) = dash else { return sides.collect() };
    let [on, off] = [dash.on, dash.off].map(|length| f64::from(length * SUBDOTS));
    let all: f64 = sides.clone().map(|[from, to]| from.float().distance(to.float())).sum();
    let stretch = all / (on + off) / libm::round(all / (on + off)).max(1.0);
    let [on, off] = [on * stretch, off * stretch];
    let mut found = Vec::new();
    let mut way = on + off / 2.0;
    for [from, to] in sides {
        let (a, b) = (from.float(), to.float());
        let length = a.distance(b);
        let mut at = 0.0;
        while at < length {
            let phase = way - libm::floor(way / (on + off)) * (on + off);
            let drawn = phase < on;
            let step = (if drawn { on - phase } else { on + off - phase }).max(0.5).min(length - at);
            let point = |at: f64| whole(a + ((b - a) * at).map(|side| side / length));
            if drawn {
                found.push([point(at), point(at + step)]);
            }
            at += step;
            way += step;
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const SPOKEN: [BalloonKind; 4] = [BalloonKind::Speech, BalloonKind::Whisper, BalloonKind::Thought, BalloonKind::Shout];

    proptest! {
        #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn every_line_lies_inside_its_balloon(
            lines in prop::collection::vec(4..240i32, 1..12), pitch in 18..44i32, x_height in 9..22i32, narrow in any::<bool>()
        ) {
            let padding = x_height * 3 / 4;
            let half = inner(&lines, pitch, padding, narrow);
            let top = -(lines.len() as i32 * pitch / 2);
            for kind in SPOKEN {
                let points = outline(kind, half, x_height);
                let reach = reach(&points);
                prop_assert!(points.iter().all(|p| p.x.abs() <= reach.width * SUBDOTS && p.y.abs() <= reach.height * SUBDOTS));
                for (n, width) in lines.iter().enumerate() {
                    for y in [top + n as i32 * pitch, top + (n as i32 + 1) * pitch] {
                        // Four dots of clearance: the line is three thick.
                        for x in [-width / 2 - 4, width / 2 + 4] {
                            prop_assert!(holds(&points, Point::new(x, y) * SUBDOTS), "{kind:?}: a corner of line {n} sticks out");
                        }
                    }
                }
            }
        }

        #[test]
        fn bubbles_never_jam_and_end_before_the_speaker(x in -200..200i32, y in -200..200i32) {
            let bubbles = bubbles(Size::new(60, 30), Point::new(x, y));
            for pair in bubbles.windows(2) {
                let gap = pair[0].middle.float().distance(pair[1].middle.float()) - f64::from(pair[0].radius + pair[1].radius);
                prop_assert!(gap >= 2.0 && pair[0].radius > pair[1].radius, "{bubbles:?}");
            }
            if let Some(last) = bubbles.last() {
                prop_assert!(last.middle.float().distance(Point::new(x, y).float()) - f64::from(last.radius) >= 8.0, "{bubbles:?}");
            }
        }
    }

    /// Whether an outline around the origin holds a point: even-odd rule, written apart from the painter's.
    fn holds(points: &Outline, at: Point<i32>) -> bool {
        let mut inside = false;
        for (n, p) in points.iter().enumerate() {
            let q = points[(n + 1) % points.len()];
            if (p.y > at.y) != (q.y > at.y) {
                let x = f64::from(p.x) + f64::from(q.x - p.x) * f64::from(at.y - p.y) / f64::from(q.y - p.y);
                inside ^= f64::from(at.x) < x;
            }
        }
        inside
    }

    #[test]
    fn a_tail_ends_before_its_speaker_and_is_as_wide_as_the_hand() {
        let end = tip(Size::new(60, 30), Point::new(0, 150), 6).unwrap();
        assert_eq!(end, Point::new(0, 144));
        assert_eq!(tip(Size::new(60, 30), Point::new(10, 10), 6), None);
        let round = outline(BalloonKind::Speech, Size::new(120, 40), 14);
        let with = with_tail(BalloonKind::Speech, &round, Point::new(0, 144 * SUBDOTS), 14);
        // Where the tail leaves the balloon it is one and a half times its root at most, however large the balloon.
        let at = with.iter().position(|&p| p == Point::new(0, 144 * SUBDOTS)).unwrap();
        let (left, right) = (with[at - 5], with[(at + 5) % with.len()]);
        assert!(((left.x - right.x).abs() / SUBDOTS) <= 21, "{left:?} {right:?}");
    }

    #[test]
    fn a_whisper_is_broken_alike_on_all_sides() {
        let shape = outline(BalloonKind::Whisper, Size::new(80, 40), 14);
        let drawn = strokes(&shape, Some(Dash { on: 9, off: 6 }));
        let length = |right: bool| -> f64 {
            let on_side = drawn.iter().filter(|[from, _]| (from.x > 0) == right);
            on_side.map(|[from, to]| from.float().distance(to.float())).sum()
        };
        assert!((length(true) / length(false) - 1.0).abs() < 0.1, "{} {}", length(true), length(false));
        let all: f64 = strokes(&shape, None).iter().map(|[from, to]| from.float().distance(to.float())).sum();
        let share = (length(true) + length(false)) / all;
        assert!((share - 0.6).abs() < 0.05, "{share}");
    }
}
