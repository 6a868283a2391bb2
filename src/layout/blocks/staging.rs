//! Where balloons stand in a panel: as near as can be to where they are wanted, off each other and each other's tails, off every speaker
//! and off what is drawn, in the order in which they are read.
//!
//! Knows nothing of pictures but their dots, and of balloons but their size.

use std::cell::Cell;
use std::ops::Range;

use super::balloons::{self, Disc};
use super::ground::{CLEARANCE, Care, DUST, Ground};
use crate::geometry::{Point, Sides, Size};
use crate::manual::document::BalloonKind;

/// A balloon to be placed.
#[derive(Clone, Debug)]
pub struct Wanted {
    pub kind: BalloonKind,
    /// Ways to set it, at least one.
    pub shapes: Vec<Shape>,
    /// Where its middle is wanted, dots on the stage.
    pub at: Point<i32>,
    /// Where the writer put it on the picture: in a panel that grew it is wanted in the new room, and rather here than untidy.
    pub written: Point<i32>,
    pub speaker: Option<Point<i32>>,
    /// How far it may stand out of the stage.
    pub beyond: Sides<i32>,
}

impl Wanted {
    /// Whether it hides what it stands on; free lettering does not.
    fn hides(&self) -> bool {
        self.kind != BalloonKind::Sound
    }

    /// What leads towards who speaks, in discs on the stage: middles and radii.
    fn tail(&self, shape: &Shape, middle: Point<i32>, aim: Option<Point<i32>>) -> Vec<Disc> {
        let Some(aim) = aim else { return Vec::new() };
        let towards = aim - middle;
        // What is drawn on a thought's curve hides where its bubbles begin.
        let half = if self.kind == BalloonKind::Thought { shape.half } else { shape.inner };
        let mut discs = balloons::discs(self.kind, half, towards, shape.root, shape.root * 2);
        discs.iter_mut().for_each(|disc| disc.middle += middle);
        discs
    }
}

/// One way to set a balloon.
#[derive(Clone, Copy, Debug)]
pub struct Shape {
    /// Half its width and height with all that is drawn.
    pub half: Size<i32>,
    /// Half of the curve around its lines: where tails begin.
    pub inner: Size<i32>,
    /// Width of its tail where it leaves the balloon.
    pub root: i32,
    /// What it costs beside the best way, in squares of the dots that it would rather be moved.
    pub cost: i64,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Place {
    /// Index into the shapes.
    pub shape: usize,
    pub middle: Point<i32>,
    /// What its tail points at: who speaks, or where a thought's bubbles meet who thinks.
    pub aim: Option<Point<i32>>,
    /// How clean its ground is.
    pub care: Care,
    /// How many dots of what is drawn are under it or beside its line.
    pub covered: i64,
    /// Whether its tail runs over something drawn before it comes to who speaks.
    pub crossed: bool,
}

impl Place {
    /// Whether it and its tail keep off what is drawn.
    pub fn is_tidy(&self) -> bool {
        self.care == Care::Clear && !self.crossed
    }
}

/// How near a balloon may come to what another one's tail points at.
const SPEAKER: i32 = 12;

/// Where tails come so near to each other's ends, one mouth says both.
const MOUTH: i32 = 30;

/// Who speaks is drawn around the point that the tail is aimed at: this share of the stage's width to all sides, in hundredths.
const FIGURE: i32 = 20;

/// What hiding one dot of the drawing costs, in squares of the dots that a balloon would rather be moved.
const HIDDEN: i64 = 24;

/// How many pairs of discs are compared before a panel is taken for crowded: a writer waits for no more while many heights are tried, and
/// once for more where a balloon was left untidy.
pub const BUDGET: i64 = 1_500_000;
pub const LAST_BUDGET: i64 = 12_000_000;

/// Distance of the places that are tried.
const STEP: i32 = 6;

/// The stage of a panel: its size, the white kept at its edges, and what is drawn on it with the dots of the stage at which it begins.
pub struct Stage<'a> {
    pub width: i32,
    pub height: i32,
    pub inset: i32,
    pub ground: Option<(&'a Ground, Point<i32>)>,
    /// How many pairs of discs may be compared.
    pub budget: i64,
}

/// A place for every balloon, each as clean as it can be and at least so clean; none when the stage is too small for that.
pub fn place(wanted: &[Wanted], stage: &Stage, care: Care) -> Option<Vec<Place>> {
    let mut search = Search { wanted, stage, standing: Vec::with_capacity(wanted.len()), budget: Cell::new(stage.budget) };
    for (n, balloon) in wanted.iter().enumerate() {
        let place = search.cleanest(n, balloon.at, care)?;
        search.stand(n, place);
    }
    search.tidy_up();
    Some(search.standing.into_iter().map(|one| one.place).collect())
}

/// What stands already, with all that is untidy placed anew where that helps.
pub fn tidied(wanted: &[Wanted], stage: &Stage, places: &[Place]) -> Vec<Place> {
    let mut search = Search { wanted, stage, standing: Vec::with_capacity(places.len()), budget: Cell::new(stage.budget) };
    places.iter().enumerate().for_each(|(n, place)| search.stand(n, *place));
    search.tidy_up();
    search.standing.into_iter().map(|one| one.place).collect()
}

struct Search<'a> {
    wanted: &'a [Wanted],
    stage: &'a Stage<'a>,
    /// In the order in which they are read.
    standing: Vec<Standing<'a>>,
    /// Comparisons of discs that are left.
    budget: Cell<i64>,
}

/// A balloon that stands already.
struct Standing<'a> {
    /// Its place in the order in which they are read.
    number: usize,
    of: &'a Wanted,
    place: Place,
    tail: Vec<Disc>,
}

impl Standing<'_> {
    fn half(&self) -> Size<i32> {
        self.of.shapes[self.place.shape].half
    }
}

impl Search<'_> {
    fn stand(&mut self, number: usize, place: Place) {
        let of = &self.wanted[number];
        let tail = of.tail(&of.shapes[place.shape], place.middle, place.aim);
        let at = self.standing.partition_point(|other| other.number < number);
        self.standing.insert(at, Standing { number, of, place, tail });
    }

    /// Each was placed before those that are read after it: where these moved what would have hidden less or crossed nothing out of its
    /// way, or left it no more than another place would cost, it stands anew among them all, until no other helps.
    fn tidy_up(&mut self) {
        let rank = |place: &Place| (place.care, place.crossed);
        for n in (0..self.wanted.len()).cycle().take(self.wanted.len() * 2) {
            let place = self.standing[n].place;
            if place.is_tidy() || self.budget.get() <= 0 {
                continue;
            }
            self.standing.remove(n);
            let (at, written) = (self.wanted[n].at, self.wanted[n].written);
            let wishes = [Some(at), Some(written).filter(|&written| written != at)];
            let others = wishes.into_iter().flatten().filter_map(|wish| self.cleanest(n, wish, place.care.min(Care::Hiding)));
            let other = others.min_by_key(rank).filter(|other| rank(other) < rank(&place));
            self.stand(n, other.unwrap_or(place));
        }
    }

    /// The best place near where it is wanted, in the cleanest way in which there is one.
    fn cleanest(&self, number: usize, at: Point<i32>, care: Care) -> Option<Place> {
        // Where nothing is drawn, or nothing is hidden, the first three ask the same.
        let bare = self.stage.ground.is_none() || !self.wanted[number].hides();
        let asked = Care::ALL.into_iter().filter(|&clean| clean <= care && !(bare && matches!(clean, Care::Free | Care::Hiding)));
        asked.into_iter().find_map(|clean| self.best(number, at, clean))
    }

    fn best(&self, number: usize, at: Point<i32>, care: Care) -> Option<Place> {
        let (stage, balloon) = (self.stage, &self.wanted[number]);
        // A third of the panel is what it may be moved for a tail that runs over nothing.
        let detour = i64::from(stage.width / 3).pow(2);
        let mut best: Option<(i64, Place)> = None;
        let worse = |best: Option<(i64, Place)>, than: i64| best.is_some_and(|(least, _)| than >= least);
        for (n, shape) in balloon.shapes.iter().enumerate() {
            let (Size { width: a, height: b }, beyond) = (shape.half, balloon.beyond);
            let (left, right) = (stage.inset + a - beyond.left, stage.width - stage.inset - a + beyond.right);
            let (top, bottom) = (stage.inset + b - beyond.top, stage.height - stage.inset - b + beyond.bottom);
            if left > right || top > bottom {
                continue;
            }
            let first = Point::new(at.x.clamp(left, right), at.y.clamp(top, bottom));
            // What is hidden changes slowly from place to place.
            let step = if care == Care::Hiding { STEP * 2 } else { STEP };
            let columns: Vec<i32> = from(first.x, left, right, step);
            for y in from(first.y, top, bottom, step) {
                let down = i64::from(y - first.y).pow(2) + shape.cost;
                if worse(best, down) || (care < Care::Crowded && self.budget.get() <= 0) {
                    // Rows come from near to far.
                    break;
                }
                let blocked = self.blocked(number, y, shape.half);
                for &x in &columns {
                    let away = down + i64::from(x - first.x).pow(2);
                    if worse(best, away) {
                        break;
                    }
                    let middle = Point::new(x, y);
                    let taken = blocked.iter().any(|stretch| stretch.start < x && x < stretch.end);
                    if taken {
                        continue;
                    }
                    // Where something must be hidden, as little of it as can be.
                    let covered = self.covered(care, balloon, middle, shape.half);
                    let away = away + covered * HIDDEN;
                    if worse(best, away) || !self.bears(care, balloon, middle, shape.half) {
                        continue;
                    }
                    let (aim, onto) = self.aim(balloon, shape, middle);
                    let tail = balloon.tail(shape, middle, aim);
                    if care < Care::Crowded && !self.tails_clear(balloon, &tail, middle, shape.half) {
                        continue;
                    }
                    let crossed = onto || self.crosses(balloon, &tail);
                    let away = if crossed { away + detour } else { away };
                    if !worse(best, away) {
                        best = Some((away, Place { shape: n, middle, aim, care, covered, crossed }));
                    }
                }
            }
        }
        best.map(|(_, place)| place)
    }

    /// Stretches of a row in which the middle of a balloon cannot stand: for those that stand already, for all speakers, for the order in
    /// which they are read.
    fn blocked(&self, number: usize, y: i32, half: Size<i32>) -> Vec<Range<i32>> {
        let mut found = Vec::new();
        for other in &self.standing {
            let (middle, theirs) = (other.place.middle, other.half());
            // What is read later must not come to stand wholly above what is read earlier.
            let first = if other.number < number { y + half.height < middle.y } else { middle.y + theirs.height < y };
            if first {
                found.push(i32::MIN..i32::MAX);
                return found;
            }
            if (middle.y - y).abs() < half.height + theirs.height + CLEARANCE {
                let reach = half.width + theirs.width + CLEARANCE;
                found.push(middle.x - reach..middle.x + reach);
            }
        }
        for speaker in self.wanted.iter().filter_map(|other| other.speaker) {
            if (speaker.y - y).abs() < half.height + SPEAKER {
                found.push(speaker.x - half.width - SPEAKER..speaker.x + half.width + SPEAKER);
            }
        }
        found
    }

    fn covered(&self, care: Care, balloon: &Wanted, middle: Point<i32>, half: Size<i32>) -> i64 {
        match self.stage.ground.filter(|_| balloon.hides() && care >= Care::Hiding) {
            Some((ground, origin)) => ground.covered(middle - origin, half),
            None => 0,
        }
    }

    /// What the tail of a balloon points at, and whether it must run onto who speaks. The bubbles of a thought end before they come onto
    /// who thinks, where they have room.
    fn aim(&self, balloon: &Wanted, shape: &Shape, middle: Point<i32>) -> (Option<Point<i32>>, bool) {
        let (Some(speaker), Some((ground, origin))) = (balloon.speaker, self.stage.ground) else {
            return (balloon.speaker, false);
        };
        if balloon.kind != BalloonKind::Thought {
            return (Some(speaker), false);
        }
        let way = speaker - middle;
        let length = way.wide().length() as i32;
        let figure = self.stage.width * FIGURE * 3 / 200;
        let at = |along: i32| middle + (way * along).map(|side| side / length.max(1));
        let met = ((length - figure).max(0)..length)
            .step_by(3)
            .map(at)
            .find(|&at| ground.touches(Disc { middle: at - origin, radius: 0 }));
        let has_room = |met: &Point<i32>| !balloons::bubbles(shape.half, *met - middle).is_empty();
        match met {
            Some(met) if has_room(&met) => (Some(met), false),
            met => (Some(speaker), met.is_some()),
        }
    }

    fn bears(&self, care: Care, balloon: &Wanted, middle: Point<i32>, half: Size<i32>) -> bool {
        match self.stage.ground.filter(|_| balloon.hides()) {
            Some((ground, origin)) => ground.bears(care, middle - origin, half),
            None => true,
        }
    }

    /// Whether no tail runs under a balloon or too near to it, and no two tails cross.
    fn tails_clear(&self, balloon: &Wanted, tail: &[Disc], middle: Point<i32>, half: Size<i32>) -> bool {
        self.standing.iter().all(|standing| {
            let Standing { of, place, tail: other, .. } = standing;
            let near = |disc: &Disc, middle: Point<i32>, half: Size<i32>| {
                let beside = |from: i32, to: i32, half: i32| ((from - to).abs() - half).max(0);
                let (across, down) = (beside(disc.middle.x, middle.x, half.width), beside(disc.middle.y, middle.y, half.height));
                within(Point::new(across, down), disc.radius + CLEARANCE)
            };
            let spent = Cell::new((tail.len() + other.len()) as i64);
            // Where two discs are far from each other, so are the next ones on the way: they stand five dots apart, bent a little.
            let widest = other.iter().map(|disc| disc.radius).max().unwrap_or(0);
            let meets = |own: &Disc| {
                let mut n = 0;
                while let Some(theirs) = other.get(n) {
                    spent.set(spent.get() + 1);
                    let way = own.middle - theirs.middle;
                    if within(way, own.radius + theirs.radius + CLEARANCE) {
                        return true;
                    }
                    let long = way.wide().length() as i32;
                    let ahead = (long - own.radius - widest - CLEARANCE) / 8;
                    n += if of.kind == BalloonKind::Thought { 1 } else { ahead.max(1) as usize };
                }
                false
            };
            let apart = || {
                // Two tails to one mouth meet there.
                let mouth = balloon.speaker.zip(of.speaker).filter(|(own, theirs)| within(*own - *theirs, MOUTH));
                let free = |disc: &&Disc| mouth.is_none_or(|(own, _)| !within(disc.middle - own, MOUTH + 6 - disc.radius));
                !tail.iter().filter(free).any(meets)
            };
            let clear = self.budget.get() > 0
                && !other.iter().any(|disc| near(disc, middle, half))
                && !tail.iter().any(|disc| near(disc, place.middle, standing.half()))
                && apart();
            self.budget.set(self.budget.get() - spent.get());
            clear
        })
    }

    /// Whether a tail runs over something drawn on its way to the figure that speaks.
    fn crosses(&self, balloon: &Wanted, tail: &[Disc]) -> bool {
        let (Some((ground, origin)), Some(speaker)) = (self.stage.ground, balloon.speaker) else { return false };
        let figure = self.stage.width * FIGURE / 100;
        let on_the_way = tail.iter().filter(|disc| !within(disc.middle - speaker, figure));
        // Little by little counts as well.
        let mut met = 0;
        on_the_way.into_iter().any(|&disc| {
            met += ground.beside(Disc { middle: disc.middle - origin, ..disc });
            met > DUST
        })
    }
}

/// Whether a way is shorter than so many dots.
fn within(way: Point<i32>, dots: i32) -> bool {
    way.wide().dot(way.wide()) < i64::from(dots).pow(2)
}

/// Places between two ends, from near the first to far.
fn from(first: i32, least: i32, most: i32, step: i32) -> Vec<i32> {
    let mut places: Vec<i32> = (least..=most).step_by(step as usize).chain([first, most]).collect();
    places.sort_by_key(|&at| ((at - first).abs(), at));
    places.dedup();
    places
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn shape(half: Size<i32>, cost: i64) -> Shape {
        Shape { half, inner: half, root: 14, cost }
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 60, failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn balloons_stay_inside_and_off_each_other_their_tails_and_the_speakers(
            many in prop::collection::vec((20..70i32, 15..40i32, 0..280i32, 0..400i32, prop::option::of((0..280i32, 0..400i32))), 1..5)
        ) {
            let wanted: Vec<Wanted> = many
                .iter()
                .map(|&(a, b, x, y, speaker)| Wanted {
                    kind: BalloonKind::Speech,
                    shapes: vec![shape(Size::new(a, b), 0), shape(Size::new(a * 4 / 5, b * 3 / 2), 100)],
                    at: Point::new(x, y),
                    written: Point::new(x, y),
                    speaker: speaker.map(|(x, y)| Point::new(x, y)),
                    beyond: Sides::default(),
                })
                .collect();
            // A panel grows until all have room, as the comic does.
            let stage = |height: i32| Stage { width: 280, height, inset: 6, ground: None, budget: BUDGET };
            let find = |care: Care, most: i32| (200..most).step_by(40).find_map(|height| Some((height, place(&wanted, &stage(height), care)?)));
            let found = find(Care::Hiding, 1200).map(|found| (found, true)).or_else(|| find(Care::Crowded, 4000).map(|found| (found, false)));
            prop_assert!(found.is_some(), "no room is ever enough");
            let ((height, placed), apart_from_tails) = found.unwrap();
            let half = |n: usize| wanted[n].shapes[placed[n].shape].half;
            for (n, place) in placed.iter().enumerate() {
                let (Size { width: a, height: b }, Point { x, y }) = (half(n), place.middle);
                prop_assert!(x - a >= 6 && x + a <= 274 && y - b >= 6 && y + b <= height - 6);
                for m in n + 1..placed.len() {
                    let (other, Size { width: c, height: d }) = (placed[m].middle, half(m));
                    let apart = (x - other.x).abs() >= a + c + CLEARANCE || (y - other.y).abs() >= b + d + CLEARANCE;
                    prop_assert!(apart, "balloons overlap");
                    // The tails as they are drawn.
                    for (from, to) in [(n, m), (m, n)] {
                        let (shape, Size { width: a, height: b }) = (wanted[from].shapes[placed[from].shape], half(to));
                        for Disc { middle: at, .. } in wanted[from].tail(&shape, placed[from].middle, placed[from].aim) {
                            let middle = placed[to].middle;
                            let inside = (at.x - middle.x).abs() < a && (at.y - middle.y).abs() < b;
                            prop_assert!(!(inside && apart_from_tails), "a tail runs under a balloon");
                        }
                    }
                }
                for speaker in wanted.iter().filter_map(|wanted| wanted.speaker) {
                    prop_assert!((speaker.x - x).abs() > a || (speaker.y - y).abs() > b, "a speaker is hidden");
                }
            }
        }
    }

    #[test]
    fn a_wider_setting_is_taken_where_a_better_one_would_have_to_move_far() {
        let (kind, shapes) = (BalloonKind::Speech, vec![shape(Size::new(40, 40), 0), shape(Size::new(90, 16), 300)]);
        let at = Point::new(140, 30);
        let wanted = [Wanted { kind, shapes, at, written: at, speaker: Some(Point::new(140, 70)), beyond: Sides::default() }];
        let placed =
            place(&wanted, &Stage { width: 280, height: 300, inset: 4, ground: None, budget: BUDGET }, Care::Clear).unwrap();
        let aim = Some(Point::new(140, 70));
        assert_eq!(
            placed[0],
            Place { shape: 1, middle: Point::new(140, 30), aim, care: Care::Clear, covered: 0, crossed: false }
        );
    }
}
