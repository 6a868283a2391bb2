//! Which pictures of the ways strip came out right, from telephones' pictures of it.
//!
//! A picture is known by the marks beside it, laid straight by them and compared with what it should be. One that is not there is wrong
//! only where the photograph shows what stands before it and what stands after it, and clean paper or letters between. A picture of
//! which anything else is true (cut off, under a finger, in a shadow, too soft) is not told at all: it remains a question.

use std::collections::BTreeMap;

use super::Refusal;
use super::camera;
use super::find::{self, Found};
use super::likeness::{self, Beside, Levels, Likeness};
use super::picture::Picture;
use crate::geometry::{Point, Size};
use crate::makeready::answers::{self, Answers};
use crate::makeready::marks::{self, BYTE_SIDE};
use crate::makeready::ways::{self, Frame, Mark, Trial};

/// Most softness of an edge, in dots, and fewest pixels a dot.
const SOFT: f64 = 1.6;
const SMALL: f64 = 0.55;
/// A picture whose every tile is off by less than this share of black is right.
const ALIKE: f64 = 0.15;
/// With so many tiles far off it is wrong; they overlap by half each way, so a letter of a printer's own makes more.
const MANY: usize = 6;
/// Two pairs of marks are as far apart as they should be within this share; by more than the other the way between them is wrong.
const NEAR: f64 = 0.045;
const APART: f64 = 0.08;
/// A mark is there, as far as can be told, where cells are as much like it as this.
const GLIMPSE: f64 = 0.55;
/// Rows that the number above a picture takes at least.
const HEADING: f64 = 18.0;

/// What is known of one number.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Verdict {
    Right {
        /// The most by which a place is off, as a share of black.
        worst: f64,
    },
    Wrong(Fault),
    Unsure(Doubt),
}

/// What is wrong with a picture.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Fault {
    /// This share of it is other than it should be.
    Differs(f64),
    /// Its upper and lower marks are too far apart by this share of the way, or too near.
    Apart(f64),
    /// Its right mark is too far from its left one by this share of the way, or too near.
    Beside(f64),
    Mirrored,
    /// It does not stand between those before and after it.
    Missing,
}

/// Why nothing is claimed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Doubt {
    /// It is in no photograph, as far as can be told.
    Unseen,
    /// Some of its marks are not to be seen, and what is there may be it.
    Hidden,
    /// Something lies on it that is neither ink nor paper.
    Veiled,
    /// Its marks fit no camera that looks at smooth paper.
    Bent,
    Cut,
    Small,
    Soft,
    /// A place is off by this share of black: more than it should be, and less than a fault makes.
    Unclear(f64),
    /// Photographs, or numbers that undo each other, contradict it.
    Contradicted,
}

/// Where a picture lies in a photograph: its corners from the left upper one on, as it was printed.
pub type Outline = [Point<f64>; 4];

/// What is known of each number, and how each photograph was read.
pub type Verdicts = BTreeMap<u32, Verdict>;
pub type Looks = Vec<Result<Seen, Refusal>>;

/// How one photograph was read.
pub struct Seen {
    pub found: Vec<Found>,
    pub verdicts: Verdicts,
    pub outlines: BTreeMap<u32, Outline>,
}

/// Whether marks of the ways strip are in a photograph rather than those of the strip with the squares.
pub fn shows_ways(picture: &Picture) -> bool {
    let found = find::marks(picture);
    let ways = found.iter().filter(|mark| mark.number >= marks::SQUARES).count();
    ways * 2 > found.len()
}

/// Reads photographs of one ways strip: what each shows or why it is refused, and what they say together, number by number.
///
/// # Errors
/// [`Refusal::Screen`] if what was photographed is not paper.
pub fn read(pictures: &[Result<Picture, Refusal>], trials: &[Trial], frames: &[Frame; 2]) -> Result<(Looks, Verdicts), Refusal> {
    let look = |picture: &Result<Picture, Refusal>| match picture {
        Ok(picture) => look(picture, trials, frames),
        Err(refusal) => Err(refusal.clone()),
    };
    let seen: Looks = pictures.iter().map(look).collect();
    let mut together = Verdicts::new();
    for trial in trials {
        let verdicts = seen.iter().flatten().filter_map(|seen| seen.verdicts.get(&trial.number).copied());
        let verdict = verdicts.reduce(both).unwrap_or(Verdict::Unsure(Doubt::Unseen));
        together.insert(trial.number, verdict);
    }
    let mut contradictions = 0;
    while let Some(contradiction) = answers::contradiction(&numbers(&together, true), &numbers(&together, false)) {
        contradictions += 1;
        for number in contradiction.numbers {
            together.insert(number, Verdict::Unsure(Doubt::Contradicted));
        }
    }
    // No printer prints all that undoes each other; the picture on the screen shows it.
    if contradictions > 1 {
        return Err(Refusal::Screen);
    }
    Ok((seen, together))
}

/// Numbers that are right, or those that are not sure.
pub fn numbers(verdicts: &Verdicts, right: bool) -> Vec<u32> {
    let wanted =
        |verdict: &Verdict| if right { matches!(verdict, Verdict::Right { .. }) } else { matches!(verdict, Verdict::Unsure(_)) };
    verdicts.iter().filter(|(_, verdict)| wanted(verdict)).map(|(&number, _)| number).collect()
}

/// What two photographs say of one number.
fn both(one: Verdict, other: Verdict) -> Verdict {
    match (one, other) {
        (Verdict::Unsure(Doubt::Contradicted), _) | (_, Verdict::Unsure(Doubt::Contradicted)) => {
            Verdict::Unsure(Doubt::Contradicted)
        }
        (Verdict::Unsure(Doubt::Unseen), sure) | (sure, Verdict::Unsure(Doubt::Unseen)) => sure,
        (Verdict::Unsure(_), sure) | (sure, Verdict::Unsure(_)) => sure,
        (Verdict::Right { worst: one }, Verdict::Right { worst: other }) => Verdict::Right { worst: one.min(other) },
        (Verdict::Wrong(fault), Verdict::Wrong(_)) => Verdict::Wrong(fault),
        _ => Verdict::Unsure(Doubt::Contradicted),
    }
}

/// Two marks of one row of a picture.
struct Pair<'a> {
    quarters: usize,
    /// Rows of its picture above it, and dots from the left edge of the left mark to the right edge of the right one.
    top: i32,
    width: f64,
    marks: [&'a Found; 2],
    /// Corners of the whole pair, as printed.
    corners: Outline,
}

impl Pair<'_> {
    fn mirrored(&self) -> bool {
        self.marks[0].mirrored
    }

    /// Pixels a row, as the way down.
    fn row(&self) -> Point<f64> {
        let down = (self.corners[3] - self.corners[0]) + (self.corners[2] - self.corners[1]);
        down.map(|part| part / 2.0 / f64::from(BYTE_SIDE))
    }

    fn middle(&self) -> Point<f64> {
        likeness::within(&self.corners, 0.5, 0.5)
    }

    /// Fewest pixels a dot.
    fn pixels(&self) -> f64 {
        self.marks.iter().map(|mark| mark.shortest() / f64::from(BYTE_SIDE)).fold(f64::INFINITY, f64::min)
    }

    /// Softness of edges, dots.
    fn blur(&self) -> f64 {
        self.marks.iter().map(|mark| mark.blur / mark.shortest() * f64::from(BYTE_SIDE)).fold(0.0, f64::max)
    }
}

fn look(picture: &Picture, trials: &[Trial], frames: &[Frame; 2]) -> Result<Seen, Refusal> {
    let mut found = find::marks(picture);
    if found.iter().filter(|mark| mark.number < marks::SQUARES).count() > 3 {
        return Err(Refusal::Strips);
    }
    found.retain(|mark| mark.number >= marks::SQUARES);
    let missed = missed(picture, &found, trials)?;
    found.extend(missed);
    let mut places: BTreeMap<usize, Vec<Pair>> = BTreeMap::new();
    for (place, marks) in all_marks(trials, frames) {
        let pairs = pairs(&found, &marks)?;
        if !pairs.is_empty() {
            places.insert(place, pairs);
        }
    }
    if places.len() < 2 {
        return Err(Refusal::Ways(places.len()));
    }
    let all = || places.values().flatten();
    let blur = all().map(Pair::blur).fold(f64::INFINITY, f64::min);
    if blur > SOFT {
        return Err(Refusal::Blurred(blur));
    }
    let pixels = all().map(Pair::pixels).fold(0.0, f64::max);
    if pixels < SMALL {
        return Err(Refusal::SmallWays(pixels));
    }
    // One below the other, as they were printed.
    let down = all().map(Pair::row).fold(Point::default(), |sum, row| sum + row);
    let along: Vec<f64> = all().map(|pair| pair.middle().dot(down)).collect();
    if along.windows(2).any(|pair| pair[0] >= pair[1]) {
        return Err(Refusal::Disordered);
    }
    let (mut verdicts, mut outlines) = (BTreeMap::new(), BTreeMap::new());
    for trial in trials {
        let (verdict, outline) = judged(picture, trial, &found, &places);
        verdicts.insert(trial.number, verdict);
        outlines.extend(outline.map(|outline| (trial.number, outline)));
    }
    Ok(Seen { verdicts, outlines, found })
}

/// Marks that were not found among all shapes but stand where another pair of their picture says: the one outline of many that was not
/// made out to be a square is no reason to ask.
fn missed(photograph: &Picture, found: &[Found], trials: &[Trial]) -> Result<Vec<Found>, Refusal> {
    let mut more: Vec<Found> = Vec::new();
    for trial in trials {
        let there = pairs(found, &trial.marks)?;
        for mark in trial.marks.iter().filter(|mark| there.iter().all(|pair| pair.quarters != mark.quarters)) {
            let nearest = there.iter().filter(|pair| !pair.mirrored()).min_by_key(|pair| (pair.top - mark.at.y).abs());
            let Some(pair) = nearest else { continue };
            let right =
                ((pair.corners[1] - pair.corners[0]) + (pair.corners[2] - pair.corners[3])).map(|part| part / 2.0 / pair.width);
            let at = |x: i32, y: i32| pair.corners[0] + right * f64::from(x) + pair.row() * f64::from(y - pair.top);
            let (left, top, side) = (mark.at.x, mark.at.y, BYTE_SIDE);
            let about = [at(left, top), at(left + side, top), at(left + side, top + side), at(left, top + side)];
            let known = find::mark_at(photograph, about).filter(|found| found.number == mark.number && !found.mirrored);
            more.extend(known.filter(|known| !found.iter().any(|other| other.is(known))));
        }
    }
    Ok(more)
}

/// The marks of each place of the strip.
fn all_marks(trials: &[Trial], frames: &[Frame; 2]) -> BTreeMap<usize, Vec<Mark>> {
    let ends = [0, ways::COUNT + 1].into_iter().zip(frames).map(|(place, frame)| (place, frame.marks.concat()));
    ends.chain(trials.iter().map(|trial| (trial.number as usize, trial.marks.clone()))).collect()
}

/// Pairs of one place from the uppermost down.
fn pairs<'a>(found: &'a [Found], marks: &[Mark]) -> Result<Vec<Pair<'a>>, Refusal> {
    let mut pairs: Vec<Pair> = Vec::new();
    for two in marks.chunks_exact(2) {
        let with = |number: usize| found.iter().filter(move |mark| mark.number == number);
        for left in with(two[0].number) {
            pairs.extend(with(two[1].number).filter_map(|right| pair(left, right, two)));
        }
    }
    if pairs.iter().enumerate().any(|(at, one)| pairs[..at].iter().any(|other| other.quarters == one.quarters)) {
        return Err(Refusal::Twice);
    }
    Ok(pairs)
}

/// Whether two marks stand to each other as they were printed.
fn pair<'a>(left: &'a Found, right: &'a Found, as_printed: &[Mark]) -> Option<Pair<'a>> {
    let [one, other] = as_printed else { return None };
    if left.mirrored != right.mirrored {
        return None;
    }
    let side = f64::from(BYTE_SIDE);
    let corners = |mark: &Found| -> Outline { std::array::from_fn(|at| mark.corners[(at + 4 - one.quarters) % 4]) };
    let (a, b) = (corners(left), corners(right));
    let across = f64::from(other.at.x - one.at.x);
    // Where the left mark says that the right one is, and the right one the left.
    let near = |from: &Outline, dots: f64, to: Point<f64>| {
        let right = ((from[1] - from[0]) + (from[2] - from[3])).map(|part| part / 2.0 / side);
        let off = likeness::within(from, 0.5, 0.5) + right * dots - to;
        libm::hypot(off.x, off.y) < 0.3 * across.abs() * libm::hypot(right.x, right.y)
    };
    let middle = |corners: &Outline| likeness::within(corners, 0.5, 0.5);
    (near(&a, across, middle(&b)) && near(&b, -across, middle(&a))).then(|| Pair {
        quarters: one.quarters,
        top: one.at.y,
        width: across + side,
        marks: [left, right],
        corners: [a[0], b[1], b[2], a[3]],
    })
}

fn judged(
    photograph: &Picture,
    trial: &Trial,
    found: &[Found],
    places: &BTreeMap<usize, Vec<Pair>>,
) -> (Verdict, Option<Outline>) {
    let place = trial.number as usize;
    let pairs: &[Pair] = places.get(&place).map_or(&[], Vec::as_slice);
    let outline = pairs.first().zip(pairs.last()).map(|(first, last)| {
        let [left, right, ..] = first.corners;
        let [.., foot, low] = last.corners;
        [left, right, foot, low]
    });
    if pairs.iter().any(Pair::mirrored) {
        let all = pairs.iter().all(Pair::mirrored);
        return (if all { Verdict::Wrong(Fault::Mirrored) } else { Verdict::Unsure(Doubt::Contradicted) }, outline);
    }
    if pairs.iter().any(|pair| pair.pixels() < SMALL) {
        return (Verdict::Unsure(Doubt::Small), outline);
    }
    if pairs.iter().any(|pair| pair.blur() > SOFT) {
        return (Verdict::Unsure(Doubt::Soft), outline);
    }
    let whole = pairs.len() * 2 == trial.marks.len();
    if whole {
        let apart = pairs
            .windows(2)
            .map(|two| apart(&two[0], &two[1]))
            .fold(0.0, |most: f64, by| if by.abs() > most.abs() { by } else { most });
        match apart.abs() {
            by if by > APART => return (Verdict::Wrong(Fault::Apart(apart)), outline),
            by if by > NEAR => return (Verdict::Unsure(Doubt::Unclear(by)), outline),
            _ => {}
        }
    }
    if let Some(by) = trial.marks.chunks_exact(2).find_map(|two| beside(found, two)).filter(|_| pairs.is_empty()) {
        return (Verdict::Wrong(Fault::Beside(by)), outline);
    }
    let like = (!pairs.is_empty()).then(|| compared(photograph, trial, pairs)).flatten();
    let verdict = match like {
        Some(Likeness { cut: true, .. }) => Verdict::Unsure(Doubt::Cut),
        Some(like) if like.off >= MANY && like.veiled * 4 < like.off => {
            Verdict::Wrong(Fault::Differs(like.off as f64 / like.tiles as f64))
        }
        Some(like) if like.veiled > 0 => Verdict::Unsure(Doubt::Veiled),
        Some(like) if whole && like.worst < ALIKE => Verdict::Right { worst: like.worst },
        Some(like) if whole => Verdict::Unsure(Doubt::Unclear(like.worst)),
        // Marks that were found are not missing.
        None if !pairs.is_empty() => Verdict::Unsure(Doubt::Bent),
        _ => missing(photograph, trial, pairs, places),
    };
    (verdict, outline)
}

/// By what share the way from a left mark to its right one is longer than it should be, where both stand in one row and are no pair.
fn beside(found: &[Found], as_printed: &[Mark]) -> Option<f64> {
    let [one, other] = as_printed else { return None };
    let only = |number: usize| {
        let mut with = found.iter().filter(|mark| mark.number == number && !mark.mirrored);
        with.next().filter(|_| with.next().is_none())
    };
    let (left, right) = (only(one.number)?, only(other.number)?);
    let ways = [left, right].map(|mark| {
        let corner = |at: usize| mark.corners[(at + 4 - one.quarters) % 4];
        ((corner(1) - corner(0)) + (corner(2) - corner(3))).map(|part| part / 2.0 / f64::from(BYTE_SIDE))
    });
    let dot = (ways[0] + ways[1]).map(|part| part / 2.0);
    let square = dot.dot(dot);
    // As large, and turned alike.
    let alike = ways.iter().all(|way| way.dot(dot) > 0.9 * square && way.cross(dot).abs() < 0.2 * square);
    let way = right.middle - left.middle;
    let (across, down) = (way.dot(dot) / square, way.cross(dot).abs() / square);
    let by = across / f64::from(other.at.x - one.at.x) - 1.0;
    (alike && down < f64::from(BYTE_SIDE) / 4.0 && by.abs() > 0.25).then_some(by)
}

/// By what share the way between two pairs is longer than it should be.
fn apart(above: &Pair, below: &Pair) -> f64 {
    let way = below.middle() - above.middle();
    let (one, other) = (above.row(), below.row());
    let row = (libm::hypot(one.x, one.y) + libm::hypot(other.x, other.y)) / 2.0;
    libm::hypot(way.x, way.y) / row / f64::from(below.top - above.top) - 1.0
}

fn compared(photograph: &Picture, trial: &Trial, pairs: &[Pair]) -> Option<Likeness> {
    let half = Size::new(trial.picture.width(), trial.picture.height()).map(|side| f64::from(side) / 2.0);
    let (mut places, mut seen) = (Vec::new(), Vec::new());
    for pair in pairs {
        let side = f64::from(BYTE_SIDE);
        let (top, left) = (f64::from(pair.top) - half.height, -half.width);
        for (mark, x) in pair.marks.into_iter().zip([left, left + pair.width - side]) {
            for at in 0..4 {
                places.push(Point::new(if at == 1 || at == 2 { x + side } else { x }, if at < 2 { top } else { top + side }));
                seen.push(mark.corners[(at + 4 - pair.quarters) % 4]);
            }
        }
    }
    let size = Size::new(photograph.width, photograph.height).map(f64::from);
    let camera = camera::fit(&places, &seen, size, half.height, photograph.focal).ok()?;
    let beside: Vec<Beside> = pairs.iter().map(|pair| Beside { top: pair.top, marks: pair.marks }).collect();
    let blur = pairs.iter().map(Pair::blur).fold(0.0, f64::max);
    Some(likeness::compared(photograph, &camera, &beside, &trial.picture, blur))
}

/// Of a picture some or all of whose marks were not found: whether that is because they are not on the paper.
fn missing(photograph: &Picture, trial: &Trial, own: &[Pair], places: &BTreeMap<usize, Vec<Pair>>) -> Verdict {
    let place = trial.number as usize;
    let before = places.range(..place).next_back();
    let after = places.range(place + 1..).next();
    let hidden = Verdict::Unsure(if own.is_empty() { Doubt::Unseen } else { Doubt::Hidden });
    let (Some((&first, above)), Some((&last, below))) = (before, after) else { return hidden };
    let (Some(above), Some(below)) = (above.last(), below.first()) else { return hidden };
    if above.mirrored() || below.mirrored() {
        return hidden;
    }
    if above.pixels().min(below.pixels()) < SMALL {
        return Verdict::Unsure(Doubt::Small);
    }
    if above.blur().max(below.blur()) > SOFT {
        return Verdict::Unsure(Doubt::Soft);
    }
    let Some(between) = Between::of(photograph, above, below) else { return hidden };
    // What is folded away is not missing.
    if between.rows < HEADING * (last - first) as f64 {
        return hidden;
    }
    if between.is_veiled(photograph) {
        return Verdict::Unsure(Doubt::Veiled);
    }
    let there = |mark: &&Mark| own.iter().any(|pair| pair.quarters == mark.quarters);
    let lost = trial.marks.iter().filter(|mark| !there(mark));
    for mark in lost {
        if between.shows(photograph, mark) {
            return Verdict::Unsure(Doubt::Hidden);
        }
    }
    Verdict::Wrong(Fault::Missing)
}

/// The paper between two pairs of marks.
struct Between {
    /// The left edge of the print, above and below.
    left: [Point<f64>; 2],
    /// Ways of a dot right and of a row down, above and below.
    right: [Point<f64>; 2],
    down: [Point<f64>; 2],
    /// Paper white at the left edge and its change a dot to the right, above and below.
    white: [f64; 2],
    whiter: [f64; 2],
    rows: f64,
    /// Dots that both pairs reach across.
    width: usize,
}

impl Between {
    fn of(photograph: &Picture, above: &Pair, below: &Pair) -> Option<Between> {
        let both = [above, below];
        let left = [above.corners[3], below.corners[0]];
        let edges = [[above.corners[3], above.corners[2]], [below.corners[0], below.corners[1]]];
        let right = [0, 1].map(|at| (edges[at][1] - edges[at][0]).map(|part| part / both[at].width));
        let down = both.map(Pair::row);
        let levels = both.map(|pair| pair.marks.map(|mark| Levels::of(photograph, mark).map(|levels| levels.white)));
        let [[a, b], [c, d]] = levels;
        let (white, other) = ([a?, c?], [b?, d?]);
        let whiter = [0, 1].map(|at| (other[at] - white[at]) / (both[at].width - f64::from(BYTE_SIDE)));
        let way = left[1] - left[0];
        let row = (libm::hypot(down[0].x, down[0].y) + libm::hypot(down[1].x, down[1].y)) / 2.0;
        let rows = libm::hypot(way.x, way.y) / row;
        Some(Between { left, right, down, white, whiter, rows, width: above.width.min(below.width) as usize })
    }

    /// A place so many dots from the left edge and so many rows below what stands above.
    fn at(&self, x: f64, y: f64) -> Point<f64> {
        let part = y / self.rows;
        self.left[0].towards(self.left[1], part) + self.right[0].towards(self.right[1], part) * x
    }

    /// Whether somewhere across the paper there is no paper white.
    fn is_veiled(&self, photograph: &Picture) -> bool {
        const SLAB: usize = 16;
        (0..self.rows as usize).step_by(SLAB).any(|top| {
            let (mut white, mut all) = (0, 0);
            for (x, y) in (0..SLAB).step_by(2).flat_map(|y| (0..self.width).step_by(4).map(move |x| (x, y))) {
                let (x, y) = (x as f64, ((top + y) as f64).min(self.rows));
                let part = y / self.rows;
                let level = |ends: [f64; 2]| ends[0] + (ends[1] - ends[0]) * part;
                let paper = level(self.white) + level(self.whiter) * x;
                let Point { x, y } = self.at(x, y);
                all += 1;
                let value = photograph.at(x, y).map_or(0.0, f64::from);
                white += i32::from((0.8 * paper..1.25 * paper).contains(&value));
            }
            white * 10 < all
        })
    }

    /// Whether something there looks like a mark of a picture.
    fn shows(&self, photograph: &Picture, mark: &Mark) -> bool {
        let side = f64::from(BYTE_SIDE);
        let mut y = -8.0;
        while y + side <= self.rows + 8.0 {
            let part = ((y + side / 2.0) / self.rows).clamp(0.0, 1.0);
            let down = self.down[0].towards(self.down[1], part);
            for aside in -8..=8 {
                let corner = self.at(f64::from(mark.at.x + 3 * aside), y);
                let right = self.right[0].towards(self.right[1], part);
                let place = |x: f64, y: f64| corner + right * (x * side) + down * (y * side);
                if likeness::like_mark(photograph, mark.number, mark.quarters, place) > GLIMPSE {
                    return true;
                }
            }
            y += 3.0;
        }
        false
    }
}

/// Every number in words: right, wrong or not sure, and how sure or why not.
pub fn told(verdicts: &Verdicts, trials: &[Trial]) -> Vec<String> {
    let percent = |share: f64| (share * 100.0).round();
    let line = |(number, verdict): (&u32, &Verdict)| {
        let words = match verdict {
            Verdict::Right { worst } => {
                format!("right; no place of it is off by more than {} % of black", percent(*worst).max(1.0))
            }
            Verdict::Wrong(Fault::Differs(share)) => {
                format!("wrong; {} % of it is other than it should be", percent(*share).max(1.0))
            }
            Verdict::Wrong(Fault::Apart(by)) => {
                format!("wrong; it is {} % too {}", percent(by.abs()), if *by > 0.0 { "long" } else { "short" })
            }
            Verdict::Wrong(Fault::Beside(by)) => {
                format!("wrong; its right end stands {} % too {}", percent(by.abs()), if *by > 0.0 { "far away" } else { "near" })
            }
            Verdict::Wrong(Fault::Mirrored) => "wrong; it is mirrored".to_string(),
            Verdict::Wrong(Fault::Missing) => "wrong; letters or nothing stand in its place".to_string(),
            Verdict::Unsure(doubt) => format!("not sure; {doubt}"),
        };
        let tries = trials.iter().find(|trial| trial.number == *number).map_or("", |trial| trial.tries);
        format!("{number:>2} ({tries}): {words}")
    };
    verdicts.iter().map(line).collect()
}

impl std::fmt::Display for Doubt {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        out.write_str(match self {
            Doubt::Unseen => "it is in no photograph, with what stands before and after it",
            Doubt::Hidden => "one of its squares is covered, creased or not sharp",
            Doubt::Veiled => "a shadow, a finger or a reflection lies on it",
            Doubt::Bent => "it is seen too obliquely, or the paper is creased there",
            Doubt::Cut => "the edge of the photograph cuts it off",
            Doubt::Small => "it is too small in the photograph: go nearer, and take the strip in parts",
            Doubt::Soft => "it is not sharp there: hold still, nearer to the middle",
            Doubt::Unclear(by) => {
                let percent = (by * 100.0).round();
                return write!(out, "a place is off by {percent} % of black, too much for right and too little for wrong");
            }
            Doubt::Contradicted => "photographs, or numbers that undo each other, contradict it",
        })
    }
}

/// What was seen as TOML of answers, over what was known: a number that is not sure stays as it was.
pub fn answers(verdicts: &Verdicts, known: &Answers) -> String {
    let before = |number: &u32| match &known.right {
        Some(right) if !known.unsure.contains(number) => Some(right.contains(number)),
        _ => None,
    };
    let (mut right, mut unsure, mut seen) = (Vec::new(), Vec::new(), 0);
    for (number, verdict) in verdicts {
        let is = match verdict {
            Verdict::Right { .. } => Some(true),
            Verdict::Wrong(_) => Some(false),
            Verdict::Unsure(_) => before(number),
        };
        seen += usize::from(!matches!(verdict, Verdict::Unsure(_)));
        match is {
            Some(true) => right.push(*number),
            Some(false) => {}
            None => unsure.push(*number),
        }
    }
    if seen == 0 {
        return String::new();
    }
    // What a person said of the others stays said by a person.
    let yours = known.right.is_some() && !known.measured.iter().any(|key| key == "right") && seen < verdicts.len();
    let by = if yours { answers::IN_PART } else { "right" };
    format!("right = {right:?}\nunsure = {unsure:?}\nmeasured = [{by:?}]\n")
}
