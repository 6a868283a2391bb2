//! What balloons may stand on: what a picture shows is told from its ground, which is white, solid black, an even tone, a horizon or the
//! edge of a wall.
//!
//! Knows nothing of pictures but their dots, and of balloons but their size.

use std::cell::LazyCell;

use super::balloons::{self, Disc};
use crate::bitmap::Bitmap;
use crate::geometry::{Point, Size};
use crate::pictures::sums::Sums;

/// How clean the ground under a balloon must be.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Care {
    /// Nothing drawn under it nor within the clearance, no straight line along its edge.
    Clear,
    /// Hardly anything drawn under it.
    Free,
    /// It may hide what is drawn.
    Hiding,
    /// And tails may run under balloons: only then can a panel so crowded be set at all.
    Crowded,
}

impl Care {
    pub const ALL: [Care; 4] = [Care::Clear, Care::Free, Care::Hiding, Care::Crowded];
}

/// White between a balloon and another, its tail or something drawn, dots.
pub const CLEARANCE: i32 = 4;

/// How much of what is drawn a balloon may cover where nothing is clear: thousandths of its own size, and dots.
const COVERED: i64 = 4;
const COVERED_DOTS: i64 = 60;

/// Dots of dust, and of where lines cross that are none of the picture's things.
pub const DUST: i64 = 6;

/// A straight line as long as this many hundredths of the picture and no thicker than so many dots is a horizon or the edge of a
/// wall: a balloon may stand on it.
const LONG: usize = 60;
const THIN: usize = 6;

/// A night or a cupboard: black all over in squares of so many dots, and so many hundredths of the picture.
const SOLID: usize = 24;
const SOLID_SHARE: usize = 25;

/// A sky, a wall or a table under a screen: as much ink in every part of a square of so many dots, to so many thousandths, and no stroke
/// longer than so many dots in it; over so many hundredths of the picture.
const TONE: usize = 24;
const TONE_EVEN: i64 = 70;
const TONE_STROKE: u16 = 8;
const TONE_SHARE: usize = 10;

/// Counts dots of a picture `width` wide.
fn counted(width: usize, height: usize, counts: impl Fn(usize) -> bool) -> Sums {
    Sums::new(width, (0..width * height).map(|at| i64::from(counts(at))))
}

/// Thousandths of a rectangle that are counted.
fn share(sums: &Sums, left: i32, top: i32, right: i32, bottom: i32) -> i64 {
    let area = i64::from(right - left) * i64::from(bottom - top);
    sums.sum(left, top, right, bottom) * 1000 / area.max(1)
}

/// What a picture shows: its dots without horizons, the edges of walls, nights and even tones, and what is white amid these.
pub struct Ground {
    shown: Sums,
    /// Horizons, and the edges of walls, where there are any.
    level: Option<Sums>,
    upright: Option<Sums>,
}

impl Ground {
    pub fn new(picture: &Bitmap) -> Ground {
        let (width, height) = (picture.width() as usize, picture.height() as usize);
        let bits = |row: &[u8]| (0..width).map(|x| row[x / 8] >> (7 - x % 8) & 1 == 1).collect::<Vec<_>>();
        let black: Vec<bool> = (0..height).flat_map(|y| bits(picture.row(y as u32))).collect();
        let (across, down) = (runs(&black, width, 1), runs(&black, height, width));
        let level = |at: usize| across[at] as usize * 100 >= width * LONG && down[at] as usize <= THIN;
        let upright = |at: usize| down[at] as usize * 100 >= height * LONG && across[at] as usize <= THIN;
        let mut ground = solid(&black, width, height);
        ground.iter_mut().zip(toned(&black, [&across, &down], width, height)).for_each(|(ground, toned)| *ground |= toned);
        let within = amid(&ground, width, height);
        let shows = |at: usize| !ground[at] && if black[at] { !level(at) && !upright(at) } else { within[at] };
        let straight = |line: &dyn Fn(usize) -> bool| (0..black.len()).any(line).then(|| counted(width, height, line));
        Ground { level: straight(&level), upright: straight(&upright), shown: counted(width, height, shows) }
    }

    /// Whether a balloon may stand here, in dots of the picture.
    pub fn bears(&self, care: Care, middle: Point<i32>, half: Size<i32>) -> bool {
        let Point { x, y } = middle;
        match care {
            Care::Hiding | Care::Crowded => true,
            Care::Free => {
                // The corners of its rectangle are not the balloon's.
                let (a, b) = (half.width * 9 / 10, half.height * 9 / 10);
                let most = (i64::from(a) * i64::from(b) * 4 * COVERED / 1000).min(COVERED_DOTS);
                self.shown.sum(x - a, y - b, x + a, y + b) <= most
            }
            Care::Clear => {
                let Size { width: a, height: b } = half;
                let (near, inner_a, inner_b) = (CLEARANCE, a * 6 / 10, b * 6 / 10);
                let along = |sums: &Option<Sums>, left, top, right, bottom| {
                    sums.as_ref().is_some_and(|sums| share(sums, left, top, right, bottom) >= 100)
                };
                self.under(middle, half) <= DUST
                    && ![y - b, y + b].iter().any(|edge| along(&self.level, x - inner_a, edge - near, x + inner_a, edge + near))
                    && ![x - a, x + a].iter().any(|edge| along(&self.upright, edge - near, y - inner_b, edge + near, y + inner_b))
            }
        }
    }

    /// How many dots are drawn under a balloon and in the clearance around it.
    pub fn under(&self, middle: Point<i32>, half: Size<i32>) -> i64 {
        /// Rows that are counted at once.
        const BAND: i32 = 6;
        let Point { x, y } = middle;
        let (a, b) = (half.width + CLEARANCE, half.height + CLEARANCE);
        if self.shown.sum(x - a, y - b, x + a, y + b) <= DUST {
            return 0;
        }
        let mut found = 0;
        for top in (-b..b).step_by(BAND as usize) {
            let bottom = (top + BAND).min(b);
            // Where the curve is widest in this band.
            let nearest = if top <= 0 && bottom >= 0 { 0 } else { top.abs().min(bottom.abs()) };
            let wide = balloons::half_width(Size::new(a, b), nearest);
            found += self.shown.sum(x - wide, y + top, x + wide, y + bottom);
            if found > DUST {
                break;
            }
        }
        found
    }

    /// How many dots are shown at all.
    pub fn all(&self) -> i64 {
        self.shown.all()
    }

    /// How many are under a balloon or beside its line.
    pub fn covered(&self, middle: Point<i32>, half: Size<i32>) -> i64 {
        // The corners of its rectangle are not the balloon's.
        let Size { width: a, height: b } = half.map(|side| (side + CLEARANCE) * 19 / 20);
        self.shown.sum(middle.x - a, middle.y - b, middle.x + a, middle.y + b)
    }

    /// Whether something is drawn under a disc or in the clearance around it.
    pub fn touches(&self, disc: Disc) -> bool {
        self.beside(disc) > DUST
    }

    /// How many dots are drawn there.
    pub fn beside(&self, disc: Disc) -> i64 {
        let (at, reach) = (disc.middle, disc.radius + CLEARANCE);
        self.shown.sum(at.x - reach, at.y - reach, at.x + reach, at.y + reach)
    }
}

/// What a picture has along its upper edge.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Above {
    /// Nothing, or ends of lines.
    White,
    Black,
    /// Something that the edge cuts off.
    Shown,
}

impl Above {
    pub fn of(picture: &Bitmap) -> Above {
        /// Black dots among the uppermost, in hundredths, from which something is there, and from which nothing else is.
        const SOME: u64 = 5;
        const NOTHING_ELSE: u64 = 98;
        let edge = picture.part(0, 0, picture.width(), picture.height().min(4));
        match edge.black() * 100 / (u64::from(edge.width()) * u64::from(edge.height())).max(1) {
            NOTHING_ELSE.. => Above::Black,
            SOME.. => Above::Shown,
            _ => Above::White,
        }
    }
}

/// The dots of a large stretch of solid black, when there is one.
fn solid(black: &[bool], width: usize, height: usize) -> Vec<bool> {
    if black.iter().filter(|&&black| black).count() * 100 < black.len() * SOLID_SHARE {
        return vec![false; black.len()];
    }
    let side = SOLID as i32;
    let full = counted(width, height, |at| black[at]);
    swept(width, height, SOLID, SOLID_SHARE, |x, y| full.sum(x, y, x + side, y + side) == i64::from(side * side))
}

/// The dots of an even tone, when there is much of it; `runs` are those of black dots across and down.
fn toned(black: &[bool], runs: [&[u16]; 2], width: usize, height: usize) -> Vec<bool> {
    let ink = counted(width, height, |at| black[at]);
    let long = |runs: [&[u16]; 2]| counted(width, height, |at| runs.iter().any(|runs| runs[at] > TONE_STROKE));
    // What is drawn in a light tone is black, in a dark one white.
    let strokes = LazyCell::new(|| long(runs));
    let gaps = LazyCell::new(|| {
        let white: Vec<bool> = black.iter().map(|black| !black).collect();
        long([&self::runs(&white, width, 1), &self::runs(&white, height, width)])
    });
    let (side, half) = (TONE as i32, TONE as i32 / 2);
    let square = i64::from(side * side);
    swept(width, height, TONE, TONE_SHARE, |x, y| {
        let dots = ink.sum(x, y, x + side, y + side);
        if dots * 100 < square * 3 || dots * 100 > square * 97 {
            return false;
        }
        // Most of what is no tone is known by its strokes.
        let drawn: &Sums = if dots * 2 <= square { &strokes } else { &gaps };
        if drawn.sum(x, y, x + side, y + side) > 0 {
            return false;
        }
        let part = |dx: i32, dy: i32| ink.sum(x + dx, y + dy, x + dx + half, y + dy + half);
        let parts = [part(0, 0), part(half, 0), part(0, half), part(half, half), part(half / 2, half / 2)];
        let (least, most) = parts.iter().fold((square, 0), |(least, most), &dots| (least.min(dots), most.max(dots)));
        (most - least) * 1000 <= i64::from(half * half) * TONE_EVEN
    })
}

/// All that a square of `side` dots can be moved over, its upper left corner where it `fits`; nothing when that is a smaller part of the
/// picture than `least` hundredths.
fn swept(width: usize, height: usize, side: usize, least: usize, fits: impl Fn(i32, i32) -> bool) -> Vec<bool> {
    let none = || vec![false; width * height];
    if width < side || height < side {
        return none();
    }
    let place = |at: usize| ((at % width) as i32, (at / width) as i32);
    let reach = side as i32 - 1;
    let corners = counted(width, height, |at| {
        let (x, y) = place(at);
        x + reach < width as i32 && y + reach < height as i32 && fits(x, y)
    });
    if corners.all() == 0 {
        return none();
    }
    let found: Vec<bool> = (0..width * height)
        .map(|at| {
            let (x, y) = place(at);
            corners.sum(x - reach, y - reach, x + 1, y + 1) > 0
        })
        .collect();
    if found.iter().filter(|&&found| found).count() * 100 < found.len() * least { none() } else { found }
}

/// What has a ground of black or tone on all four sides: what glows in the night, or is light before a wall.
fn amid(ground: &[bool], width: usize, height: usize) -> Vec<bool> {
    if !ground.contains(&true) {
        return vec![false; ground.len()];
    }
    let mut rows = vec![(width, 0); height];
    let mut columns = vec![(height, 0); width];
    for (at, _) in ground.iter().enumerate().filter(|(_, ground)| **ground) {
        let (x, y) = (at % width, at / width);
        rows[y] = (x.min(rows[y].0), x.max(rows[y].1));
        columns[x] = (y.min(columns[x].0), y.max(columns[x].1));
    }
    let between = |at: usize, (first, last): (usize, usize)| first < at && at < last;
    (0..ground.len()).map(|at| between(at % width, rows[at / width]) && between(at / width, columns[at % width])).collect()
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_balloon_may_stand_on_a_horizon_but_not_on_what_is_shown() {
        let mut picture = Bitmap::new(200, 100);
        picture.fill(0, 60, 200, 3, true);
        picture.fill(150, 0, 4, 100, true);
        let plain = Ground::new(&picture);
        assert_eq!(share(&plain.shown, 0, 0, 100, 100), 0, "a horizon");
        // Where the edge of the window crosses the horizon a few dots are counted.
        assert!(share(&plain.shown, 100, 0, 200, 100) < COVERED);
        assert!(plain.bears(Care::Clear, Point::new(70, 60), Size::new(30, 20)), "across the horizon");
        assert!(
            !plain.bears(Care::Clear, Point::new(70, 42), Size::new(30, 20))
                && plain.bears(Care::Free, Point::new(70, 42), Size::new(30, 20)),
            "along the horizon"
        );
        picture.fill(60, 20, 10, 10, true);
        assert_eq!(share(&Ground::new(&picture).shown, 0, 0, 100, 100), 10, "100 dots of 10,000");
    }

    #[test]
    fn a_night_is_a_ground_and_what_glows_in_it_is_shown() {
        let mut picture = Bitmap::new(200, 200);
        picture.fill(0, 0, 200, 140, true);
        picture.fill(140, 40, 30, 30, false);
        let night = Ground::new(&picture);
        assert!(night.bears(Care::Clear, Point::new(60, 60), Size::new(50, 30)));
        assert!(!night.bears(Care::Free, Point::new(150, 60), Size::new(40, 30)), "over the lit window");
        picture.fill(0, 0, 200, 200, false);
        picture.fill(40, 40, 30, 30, true);
        assert!(
            !Ground::new(&picture).bears(Care::Free, Point::new(55, 55), Size::new(30, 30)),
            "a small black thing is a thing"
        );
    }

    #[test]
    fn an_even_tone_is_a_ground_and_what_stands_before_it_is_shown() {
        // Half-tone points of three dots, six apart; before them a white mug within a line, and a black bag.
        let mut picture = Bitmap::new(200, 200);
        for (row, y) in (0..200).step_by(6).enumerate() {
            for x in ((row as i32 % 2 * 3)..200).step_by(6) {
                picture.fill(x, y, 3, 3, true);
            }
        }
        picture.fill(50, 110, 50, 60, true);
        picture.fill(53, 113, 44, 54, false);
        picture.fill(140, 130, 40, 40, true);
        let wall = Ground::new(&picture);
        let bears = |x, y| wall.bears(Care::Clear, Point::new(x, y), Size::new(40, 25));
        assert!(bears(100, 50), "before the wall");
        assert!(!bears(75, 140) && !bears(75, 110), "over the mug");
        assert!(!wall.bears(Care::Free, Point::new(75, 140), Size::new(18, 20)), "in the white of the mug");
        assert!(!wall.bears(Care::Free, Point::new(160, 150), Size::new(40, 25)), "over the bag");
        assert!(wall.all() < 50 * 60 + 40 * 40 + 1200, "{}", wall.all());
    }
}
