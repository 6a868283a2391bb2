//! Where balloons stand in a panel: as near as can be to where they are wanted, off each other and each other's tails, off every speaker
//! and off what is drawn, in the order in which they are read.
//!
//! Knows nothing of pictures but their dots, and of balloons but their size.

use crate::bitmap::Bitmap;

/// A balloon to be placed.
#[derive(Clone, Debug)]
pub struct Wanted {
    /// Ways to set it, at least one.
    pub shapes: Vec<Shape>,
    /// Where the writer wants its middle, dots on the stage.
    pub at: [i32; 2],
    pub speaker: Option<[i32; 2]>,
    /// Whether it hides what it stands on; free lettering does not.
    pub hides: bool,
}

/// One way to set a balloon: half its width and height with all that is drawn, and what that costs beside the best way, in squares of
/// the dots that it would rather be moved.
#[derive(Clone, Copy, Debug)]
pub struct Shape {
    pub half: [i32; 2],
    pub cost: i64,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Place {
    /// Index into the shapes.
    pub shape: usize,
    pub middle: [i32; 2],
}

/// How clean the ground under a balloon must be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Care {
    /// Nothing drawn within the clearance, no straight line along its edge.
    Clear,
    /// Hardly anything drawn under it.
    Free,
    /// It may hide what is drawn.
    Hiding,
    /// And tails may run under balloons: only then can a panel so crowded be set at all.
    Crowded,
}

/// White between a balloon and another, its tail or something drawn, dots.
pub const CLEARANCE: i32 = 4;

/// How near a balloon may come to what another one's tail points at.
const SPEAKER: i32 = 12;

/// Half of what a tail and its line take on both sides of its middle.
const TAIL: i32 = 6;

/// Distance of the places that are tried.
const STEP: i32 = 6;

/// How much of what is drawn a balloon may cover, in thousandths of its own size.
const COVERED: i64 = 4;

/// A straight line as long as this many hundredths of the picture and no thicker than so many dots is a horizon or the edge of a
/// wall: a balloon may stand on it.
const LONG: usize = 60;
const THIN: usize = 6;

/// A night or a cupboard: black all over in squares of so many dots, and so many hundredths of the picture.
const SOLID: usize = 24;
const SOLID_SHARE: usize = 25;

/// Dots counted over any rectangle at once.
struct Sums {
    width: usize,
    height: usize,
    /// Counted above and to the left of each corner.
    sums: Vec<u32>,
}

impl Sums {
    fn new(width: usize, height: usize, counts: impl Fn(usize) -> bool) -> Sums {
        let mut sums = vec![0u32; (width + 1) * (height + 1)];
        for y in 0..height {
            let mut along = 0;
            for x in 0..width {
                along += u32::from(counts(y * width + x));
                sums[(y + 1) * (width + 1) + x + 1] = sums[y * (width + 1) + x + 1] + along;
            }
        }
        Sums { width, height, sums }
    }

    fn count(&self, left: i32, top: i32, right: i32, bottom: i32) -> i64 {
        let clamp = |at: i32, most: usize| (at.max(0) as usize).min(most);
        let (left, right) = (clamp(left, self.width), clamp(right, self.width));
        let (top, bottom) = (clamp(top, self.height), clamp(bottom, self.height));
        if right <= left || bottom <= top {
            return 0;
        }
        let at = |x: usize, y: usize| i64::from(self.sums[y * (self.width + 1) + x]);
        at(right, bottom) - at(left, bottom) - at(right, top) + at(left, top)
    }

    /// Thousandths of a rectangle that are counted.
    fn share(&self, left: i32, top: i32, right: i32, bottom: i32) -> i64 {
        let area = i64::from(right - left) * i64::from(bottom - top);
        self.count(left, top, right, bottom) * 1000 / area.max(1)
    }
}

/// What a picture shows: its black dots without horizons, the edges of walls, and nights.
pub struct Ground {
    shown: Sums,
    /// Horizons, and the edges of walls.
    level: Sums,
    upright: Sums,
}

impl Ground {
    pub fn new(picture: &Bitmap) -> Ground {
        let (width, height) = (picture.width() as usize, picture.height() as usize);
        let black: Vec<bool> = (0..height).flat_map(|y| (0..width).map(move |x| picture.get(x as i32, y as i32))).collect();
        let (across, down) = (runs(&black, width, 1), runs(&black, height, width));
        let level = |at: usize| across[at] as usize * 100 >= width * LONG && down[at] as usize <= THIN;
        let upright = |at: usize| down[at] as usize * 100 >= height * LONG && across[at] as usize <= THIN;
        let solid = solid(&black, width, height);
        let within = amid(&solid, width, height);
        Ground {
            shown: Sums::new(width, height, |at| if black[at] { !level(at) && !upright(at) && !solid[at] } else { within[at] }),
            level: Sums::new(width, height, level),
            upright: Sums::new(width, height, upright),
        }
    }

    /// Whether a balloon may stand here, in dots of the picture.
    fn bears(&self, care: Care, middle: [i32; 2], half: [i32; 2]) -> bool {
        let [x, y] = middle;
        // The corners of its rectangle are not the balloon's.
        let free = |a: i32, b: i32| self.shown.share(x - a, y - b, x + a, y + b) <= COVERED;
        match care {
            Care::Hiding | Care::Crowded => true,
            Care::Free => free(half[0] * 9 / 10, half[1] * 9 / 10),
            Care::Clear => {
                let (a, b) = (half[0], half[1]);
                let (near, inner_a, inner_b) = (CLEARANCE, a * 6 / 10, b * 6 / 10);
                let along = |sums: &Sums, left, top, right, bottom| sums.share(left, top, right, bottom) >= 100;
                free(a + near, b * 7 / 10 + near)
                    && free(a * 7 / 10 + near, b + near)
                    && ![y - b, y + b].iter().any(|edge| along(&self.level, x - inner_a, edge - near, x + inner_a, edge + near))
                    && ![x - a, x + a].iter().any(|edge| along(&self.upright, edge - near, y - inner_b, edge + near, y + inner_b))
            }
        }
    }
}

/// The dots of a large stretch of solid black, when there is one: all that a square of black can be moved over.
fn solid(black: &[bool], width: usize, height: usize) -> Vec<bool> {
    let none = || vec![false; black.len()];
    if width < SOLID || height < SOLID || black.iter().filter(|&&black| black).count() * 100 < black.len() * SOLID_SHARE {
        return none();
    }
    let side = SOLID as i32;
    let full = Sums::new(width, height, |at| black[at]);
    let corners = Sums::new(width, height, |at| {
        let (x, y) = ((at % width) as i32, (at / width) as i32);
        full.count(x, y, x + side, y + side) == i64::from(side * side)
    });
    let found: Vec<bool> = (0..black.len())
        .map(|at| {
            let (x, y) = ((at % width) as i32, (at / width) as i32);
            corners.count(x - side + 1, y - side + 1, x + 1, y + 1) > 0
        })
        .collect();
    if found.iter().filter(|&&found| found).count() * 100 < black.len() * SOLID_SHARE { none() } else { found }
}

/// What has solid black on all four sides: what glows in the night.
fn amid(solid: &[bool], width: usize, height: usize) -> Vec<bool> {
    let mut rows = vec![(width, 0); height];
    let mut columns = vec![(height, 0); width];
    for (at, _) in solid.iter().enumerate().filter(|(_, solid)| **solid) {
        let (x, y) = (at % width, at / width);
        rows[y] = (x.min(rows[y].0), x.max(rows[y].1));
        columns[x] = (y.min(columns[x].0), y.max(columns[x].1));
    }
    let between = |at: usize, (first, last): (usize, usize)| first < at && at < last;
    (0..solid.len()).map(|at| between(at % width, rows[at / width]) && between(at / width, columns[at % width])).collect()
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

/// The stage of a panel: its size, the white kept at its edges, and what is drawn on it with the dots of the stage at which it begins.
pub struct Stage<'a> {
    pub width: i32,
    pub height: i32,
    pub inset: i32,
    pub ground: Option<(&'a Ground, [i32; 2])>,
}

/// A place for every balloon; none when the stage is too small for that.
pub fn place(wanted: &[Wanted], stage: &Stage, care: Care) -> Option<Vec<Place>> {
    let mut placed: Vec<Place> = Vec::with_capacity(wanted.len());
    for balloon in wanted {
        let next = best(wanted, &placed, balloon, stage, care)?;
        placed.push(next);
    }
    Some(placed)
}

fn best(wanted: &[Wanted], placed: &[Place], balloon: &Wanted, stage: &Stage, care: Care) -> Option<Place> {
    let mut best: Option<(i64, Place)> = None;
    for (shape, &Shape { half, cost }) in balloon.shapes.iter().enumerate() {
        let [a, b] = half;
        let (left, right) = (stage.inset + a, stage.width - stage.inset - a);
        let (top, bottom) = (stage.inset + b, stage.height - stage.inset - b);
        if left > right || top > bottom {
            continue;
        }
        let first = [balloon.at[0].clamp(left, right), balloon.at[1].clamp(top, bottom)];
        let columns: Vec<i32> = from(first[0], left, right);
        for y in from(first[1], top, bottom) {
            let down = i64::from(y - first[1]).pow(2) + cost;
            if best.is_some_and(|(least, _)| down >= least) {
                // Rows come from near to far.
                break;
            }
            let blocked = blocked(wanted, placed, y, half);
            for &x in &columns {
                let away = down + i64::from(x - first[0]).pow(2);
                if best.is_some_and(|(least, _)| away >= least) {
                    break;
                }
                let taken = blocked.iter().any(|&(from, to)| from < x && x < to);
                if !taken && bears(stage, care, balloon, [x, y], half) && tails_clear(wanted, placed, balloon, [x, y], half, care)
                {
                    best = Some((away, Place { shape, middle: [x, y] }));
                    break;
                }
            }
        }
    }
    best.map(|(_, place)| place)
}

/// Places between two ends, from near the first to far.
fn from(first: i32, least: i32, most: i32) -> Vec<i32> {
    let mut places: Vec<i32> = (least..=most).step_by(STEP as usize).chain([first, most]).collect();
    places.sort_by_key(|&at| ((at - first).abs(), at));
    places.dedup();
    places
}

/// Stretches of a row in which the middle of a balloon cannot stand: for those that stand already, for all speakers, for what is read
/// before it.
fn blocked(wanted: &[Wanted], placed: &[Place], y: i32, half: [i32; 2]) -> Vec<(i32, i32)> {
    let mut found = Vec::new();
    for (place, of) in placed.iter().zip(wanted) {
        let other = of.shapes[place.shape].half;
        // What is read later must not come to stand wholly above what is read earlier.
        if y + half[1] < place.middle[1] {
            return vec![(i32::MIN, i32::MAX)];
        }
        if (place.middle[1] - y).abs() < half[1] + other[1] + CLEARANCE {
            let reach = half[0] + other[0] + CLEARANCE;
            found.push((place.middle[0] - reach, place.middle[0] + reach));
        }
    }
    for speaker in wanted.iter().filter_map(|other| other.speaker) {
        if (speaker[1] - y).abs() < half[1] + SPEAKER {
            found.push((speaker[0] - half[0] - SPEAKER, speaker[0] + half[0] + SPEAKER));
        }
    }
    found
}

fn bears(stage: &Stage, care: Care, balloon: &Wanted, middle: [i32; 2], half: [i32; 2]) -> bool {
    match stage.ground.filter(|_| balloon.hides) {
        Some((ground, origin)) => ground.bears(care, [middle[0] - origin[0], middle[1] - origin[1]], half),
        None => true,
    }
}

/// Whether no tail runs under a balloon, and no two tails cross.
fn tails_clear(wanted: &[Wanted], placed: &[Place], balloon: &Wanted, middle: [i32; 2], half: [i32; 2], care: Care) -> bool {
    care == Care::Crowded
        || placed.iter().zip(wanted).all(|(place, of)| {
            let other = of.shapes[place.shape].half;
            let wide = |half: [i32; 2]| half.map(|side| side + CLEARANCE + TAIL);
            let theirs = of.speaker.is_none_or(|speaker| !runs_through(place.middle, speaker, middle, wide(half)));
            let own = balloon.speaker.is_none_or(|speaker| !runs_through(middle, speaker, place.middle, wide(other)));
            let crossing = balloon
                .speaker
                .zip(of.speaker)
                .is_some_and(|(own, theirs)| own != theirs && super::callouts::crosses(middle, own, place.middle, theirs));
            theirs && own && !crossing
        })
}

/// Whether a straight line from one point to another comes into a rectangle.
fn runs_through(from: [i32; 2], to: [i32; 2], middle: [i32; 2], half: [i32; 2]) -> bool {
    // The stretch of the way, in parts of its whole, that lies within the rectangle one way and the other.
    let (mut enter, mut leave) = (0.0f64, 1.0f64);
    for axis in 0..2 {
        let (begin, step) = (f64::from(from[axis] - middle[axis]), f64::from(to[axis] - from[axis]));
        let half = f64::from(half[axis]);
        if step == 0.0 {
            if begin.abs() >= half {
                return false;
            }
            continue;
        }
        let (one, other) = ((-half - begin) / step, (half - begin) / step);
        (enter, leave) = (enter.max(one.min(other)), leave.min(one.max(other)));
    }
    enter < leave
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn balloons_stay_inside_and_off_each_other_their_tails_and_the_speakers(
            many in prop::collection::vec((20..70i32, 15..40i32, 0..280i32, 0..400i32, prop::option::of((0..280i32, 0..400i32))), 1..5)
        ) {
            let wanted: Vec<Wanted> = many
                .iter()
                .map(|&(a, b, x, y, speaker)| Wanted {
                    shapes: vec![Shape { half: [a, b], cost: 0 }, Shape { half: [a * 4 / 5, b * 3 / 2], cost: 100 }],
                    at: [x, y],
                    speaker: speaker.map(|(x, y)| [x, y]),
                    hides: true,
                })
                .collect();
            // A panel grows until all have room, as the comic does.
            let stage = |height: i32| Stage { width: 280, height, inset: 6, ground: None };
            let find = |care: Care, most: i32| (200..most).step_by(40).find_map(|height| Some((height, place(&wanted, &stage(height), care)?)));
            let found = find(Care::Hiding, 1200).map(|found| (found, true)).or_else(|| find(Care::Crowded, 4000).map(|found| (found, false)));
            prop_assert!(found.is_some(), "no room is ever enough");
            let ((height, placed), apart_from_tails) = found.unwrap();
            let half = |n: usize| wanted[n].shapes[placed[n].shape].half;
            for (n, place) in placed.iter().enumerate() {
                let ([a, b], [x, y]) = (half(n), place.middle);
                prop_assert!(x - a >= 6 && x + a <= 274 && y - b >= 6 && y + b <= height - 6);
                for m in n + 1..placed.len() {
                    let (other, [c, d]) = (placed[m].middle, half(m));
                    let apart = (x - other[0]).abs() >= a + c + CLEARANCE || (y - other[1]).abs() >= b + d + CLEARANCE;
                    prop_assert!(apart, "balloons overlap");
                    // Walked along in small steps, written apart from the search.
                    for (from, to, middle, [a, b]) in [
                        (place.middle, wanted[n].speaker, other, [c, d]),
                        (other, wanted[m].speaker, place.middle, [a, b]),
                    ] {
                        let Some(to) = to.filter(|_| apart_from_tails) else { continue };
                        for step in 0..=400 {
                            let at = [0, 1].map(|axis| from[axis] + (to[axis] - from[axis]) * step / 400);
                            let inside = (at[0] - middle[0]).abs() < a && (at[1] - middle[1]).abs() < b;
                            prop_assert!(!inside, "a tail runs under a balloon");
                        }
                    }
                }
                for speaker in wanted.iter().filter_map(|wanted| wanted.speaker) {
                    prop_assert!((speaker[0] - x).abs() > a || (speaker[1] - y).abs() > b, "a speaker is hidden");
                }
            }
        }
    }

    #[test]
    fn a_balloon_may_stand_on_a_horizon_but_not_on_what_is_shown() {
        let mut picture = Bitmap::new(200, 100);
        picture.fill(0, 60, 200, 3, true);
        picture.fill(150, 0, 4, 100, true);
        let plain = Ground::new(&picture);
        assert_eq!(plain.shown.share(0, 0, 100, 100), 0, "a horizon");
        // Where the edge of the window crosses the horizon a few dots are counted.
        assert!(plain.shown.share(100, 0, 200, 100) < COVERED);
        assert!(plain.bears(Care::Clear, [70, 60], [30, 20]), "across the horizon");
        assert!(
            !plain.bears(Care::Clear, [70, 42], [30, 20]) && plain.bears(Care::Free, [70, 42], [30, 20]),
            "along the horizon"
        );
        picture.fill(60, 20, 10, 10, true);
        assert_eq!(Ground::new(&picture).shown.share(0, 0, 100, 100), 10, "100 dots of 10,000");
    }

    #[test]
    fn a_night_is_a_ground_and_what_glows_in_it_is_shown() {
        let mut picture = Bitmap::new(200, 200);
        picture.fill(0, 0, 200, 140, true);
        picture.fill(140, 40, 30, 30, false);
        let night = Ground::new(&picture);
        assert!(night.bears(Care::Clear, [60, 60], [50, 30]));
        assert!(!night.bears(Care::Free, [150, 60], [40, 30]), "over the lit window");
        picture.fill(0, 0, 200, 200, false);
        picture.fill(40, 40, 30, 30, true);
        assert!(!Ground::new(&picture).bears(Care::Free, [55, 55], [30, 30]), "a small black thing is a thing");
    }

    #[test]
    fn a_wider_setting_is_taken_where_a_better_one_would_have_to_move_far() {
        let shapes = vec![Shape { half: [40, 40], cost: 0 }, Shape { half: [90, 16], cost: 300 }];
        let wanted = [Wanted { shapes, at: [140, 30], speaker: Some([140, 70]), hides: true }];
        let placed = place(&wanted, &Stage { width: 280, height: 300, inset: 4, ground: None }, Care::Clear).unwrap();
        assert_eq!(placed[0], Place { shape: 1, middle: [140, 30] });
    }
}
