//! How much what came out is like what should have: the paper beside the picture, tile by tile.
//!
//! Light is evened by the picture's own marks, whose cells are known. Ink spreads, a lens softens, marks are placed no better than to a dot:
//! each tile's darkness may lie between the least that the picture has within a dot of it and what strokes a dot thicker give, and what lies
//! outside is off.

use super::camera::{Camera, Row};
use super::find::Found;
use super::picture::Picture;
use crate::bitmap::Bitmap;
use crate::geometry::{Point, Size};
use crate::makeready::marks::{self, BYTE_CELL, BYTE_SIDE, CELLS};

/// Side of a tile and the way from one to the next, dots.
const TILE: i32 = 8;
const STEP: i32 = 4;
/// Paper to the right that is looked at too: letters would stand there.
const MARGIN: i32 = 8;
/// Rows that are placed together, and how far they may lie from where the marks say, dots.
const BAND: i32 = 24;
const SHIFT: i32 = 3;
/// Dots around a picture that are kept too: a tile may be shifted beyond its edge.
const ROOM: i32 = TILE + SHIFT;
/// A tile that is off by more than this is other than it should be.
const OFF: f64 = 0.3;
/// Darkness between which an even tile is neither ink nor paper, and how uneven it may be.
const GREY: std::ops::Range<f64> = 0.15..0.85;
const EVEN: f64 = 0.12;

/// Paper around a tile is as light as the marks say within this share of black, or else light is not what they say it is; solid ink is
/// darker than any shadow.
const LIT: std::ops::Range<f64> = -0.2..0.2;
const INK: f64 = 0.85;
/// Dots around a tile that are looked at for that, and the share of them that is paper wherever something is printed, in hundredths.
const AROUND: i32 = 8;
const PAPER: usize = 20;

/// Two marks of one row, left and right, as they are in the photograph, and their upper edge in rows of the picture.
pub struct Beside<'a> {
    pub top: i32,
    pub marks: [&'a Found; 2],
}

/// What was compared.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Likeness {
    /// The most by which a tile is off, as a share of black.
    pub worst: f64,
    /// How many tiles there are, how many are far off, and how many are an even grey that no printer makes or lie in another light: a shadow, a
    /// finger, a reflection.
    pub tiles: usize,
    pub off: usize,
    pub veiled: usize,
    /// Some of it is not in the photograph.
    pub cut: bool,
}

/// Compares a picture with the photograph that a camera took of it. `blur`: softness of edges, dots.
pub fn compared(photograph: &Picture, camera: &Camera, beside: &[Beside], picture: &Bitmap, blur: f64) -> Likeness {
    let size = Size::new(picture.width() as i32, picture.height() as i32);
    let Some(light) = Light::of(photograph, beside, size.width) else { return Likeness { cut: true, ..Likeness::default() } };
    let seen = seen(photograph, camera, &light, size);
    let cut = (0..size.height).any(|y| (0..size.width).any(|x| seen.at(x, y).is_nan()));
    if cut {
        return Likeness { cut, ..Likeness::default() };
    }
    let passes = (blur * blur * 2.0).round().clamp(0.0, 6.0) as u32;
    let [plain, thick] = [false, true].map(|thick| Sums::of(&strokes(picture, thick).softened(passes), |value| value));
    // Not thinner strokes: a line of two rows that is not there would be right.
    let least = |x: i32, y: i32| (0..9).map(|at| plain.mean(x + at % 3 - 1, y + at / 3 - 1)).fold(f64::INFINITY, f64::min);
    let dark = Sums::of(&seen, |value| if value.is_nan() { 0.0 } else { value });
    let squares = Sums::of(&seen, |value| if value.is_nan() { 0.0 } else { value * value });
    let off = |x: i32, y: i32, shift: Point<i32>| {
        let mean = dark.mean(x + shift.x, y + shift.y);
        (least(x, y) - mean).max(mean - thick.mean(x, y)).max(0.0)
    };
    let columns = || (0..=size.width + MARGIN - TILE).step_by(STEP as usize);
    let mut likeness = Likeness::default();
    // The last tile ends where the picture does.
    let last = size.height - TILE;
    let all_rows: Vec<i32> = (0..last).step_by(STEP as usize).chain([last]).collect();
    for rows in all_rows.chunks((BAND / STEP) as usize) {
        let rows = || rows.iter().copied();
        let all = |shift: Point<i32>| -> f64 {
            rows().flat_map(|y| columns().map(move |x| (x, y))).map(|(x, y)| off(x, y, shift) * off(x, y, shift)).sum()
        };
        let shifts = (-SHIFT..=SHIFT).flat_map(|y| (-SHIFT..=SHIFT).map(move |x| Point::new(x, y)));
        let best = shifts.map(|shift| (all(shift) + 1e-6 * f64::from(shift.dot(shift)), shift));
        let Some((_, shift)) = best.min_by(|one, other| one.0.total_cmp(&other.0)) else { continue };
        for (x, y) in rows().flat_map(|y| columns().map(move |x| (x, y))) {
            let by = off(x, y, shift);
            likeness.tiles += 1;
            likeness.worst = likeness.worst.max(by);
            let mean = dark.mean(x + shift.x, y + shift.y);
            let spread = libm::sqrt((squares.mean(x + shift.x, y + shift.y) - mean * mean).max(0.0));
            let grey = GREY.contains(&mean) && spread < EVEN;
            if by > OFF / 2.0 && (grey || !seen.is_lit(x + shift.x, y + shift.y)) {
                likeness.veiled += 1;
            } else if by > OFF {
                likeness.off += 1;
            }
        }
    }
    likeness
}

/// Light on paper and on solid black.
#[derive(Clone, Copy)]
pub struct Levels {
    pub white: f64,
    pub black: f64,
}

impl Levels {
    /// As a mark's own cells show them; none if they cannot be told apart.
    pub fn of(photograph: &Picture, mark: &Found) -> Option<Levels> {
        let white = marks::cells(mark.number, 0);
        let (mut sums, mut counts) = ([0.0; 2], [0.0; 2]);
        for cell in 0..CELLS * CELLS {
            let (x, y) = (cell % CELLS, cell / CELLS);
            let inner = (1..CELLS - 1).contains(&x) && (1..CELLS - 1).contains(&y);
            let kind = usize::from(!(inner && white[((y - 1) * (CELLS - 2) + x - 1) as usize]));
            for part in 0..9 {
                let inside = |at: i32, step: i32| (f64::from(at) + 0.3 + 0.2 * f64::from(step)) / f64::from(CELLS);
                let at = within(&mark.corners, inside(x, part % 3), inside(y, part / 3));
                sums[kind] += f64::from(photograph.at(at.x, at.y)?);
                counts[kind] += 1.0;
            }
        }
        let levels = Levels { white: sums[0] / counts[0], black: sums[1] / counts[1] };
        (levels.white > 1.25 * levels.black + 0.01).then_some(levels)
    }

    fn between(self, other: Levels, part: f64) -> Levels {
        let at = |one: f64, other: f64| one + (other - one) * part;
        Levels { white: at(self.white, other.white), black: at(self.black, other.black) }
    }
}

/// A place between four corners, as shares of the way right and down.
pub fn within(corners: &[Point<f64>; 4], right: f64, down: f64) -> Point<f64> {
    corners[0].towards(corners[1], right).towards(corners[3].towards(corners[2], right), down)
}

/// Levels everywhere: straight from the left marks to the right ones, and from one pair to the next below.
struct Light {
    /// Middle row of each pair, and its levels left and right.
    pairs: Vec<(f64, [Levels; 2])>,
    width: f64,
}

impl Light {
    fn of(photograph: &Picture, beside: &[Beside], width: i32) -> Option<Light> {
        let half = f64::from(BYTE_SIDE) / 2.0;
        let pairs = beside.iter().map(|pair| {
            let [left, right] = pair.marks.map(|mark| Levels::of(photograph, mark));
            Some((f64::from(pair.top) + half, [left?, right?]))
        });
        let pairs: Vec<_> = pairs.collect::<Option<_>>()?;
        (!pairs.is_empty()).then_some(Light { pairs, width: f64::from(width) })
    }

    fn at(&self, x: f64, y: f64) -> Levels {
        let half = f64::from(BYTE_SIDE) / 2.0;
        let below = self.pairs.iter().position(|(row, _)| *row >= y).unwrap_or(self.pairs.len() - 1);
        let above = below.saturating_sub(1);
        let ((top, one), (foot, other)) = (self.pairs[above], self.pairs[below]);
        let down = if foot > top { ((y - top) / (foot - top)).clamp(0.0, 1.0) } else { 0.0 };
        let [left, right] = [0, 1].map(|side| one[side].between(other[side], down));
        left.between(right, (x - half) / (self.width - 2.0 * half))
    }
}

/// Values dot by dot, with room around them.
struct Grid {
    width: i32,
    height: i32,
    values: Vec<f64>,
}

impl Grid {
    /// Of a picture of this size, with what shifts and softness reach.
    fn around(size: Size<i32>, value: impl Fn(i32, i32) -> f64) -> Grid {
        let (width, height) = (size.width + MARGIN + 2 * ROOM, size.height + 2 * ROOM);
        let values = (0..width * height).map(|at| value(at % width - ROOM, at / width - ROOM)).collect();
        Grid { width, height, values }
    }

    fn at(&self, x: i32, y: i32) -> f64 {
        self.values[((y + ROOM) * self.width + x + ROOM) as usize]
    }

    /// Whether the paper at a tile is as light as it should be, or solid ink is there.
    fn is_lit(&self, x: i32, y: i32) -> bool {
        let span = |from: i32, most: i32| (from - AROUND).max(-ROOM)..(from + TILE + AROUND).min(most - ROOM);
        let (rows, columns) = (span(y, self.height), span(x, self.width));
        let mut values: Vec<f64> =
            rows.flat_map(|y| columns.clone().map(move |x| self.at(x, y))).filter(|value| !value.is_nan()).collect();
        let at = values.len() * PAPER / 100;
        let (_, &mut paper, _) = values.select_nth_unstable_by(at, f64::total_cmp);
        LIT.contains(&paper) || paper > INK
    }

    /// Each pass is one, two and one quarters, along and across: half a dot's square of variance.
    fn softened(mut self, passes: u32) -> Grid {
        let (wide, high) = (self.width as usize, self.height as usize);
        for step in [1, wide].into_iter().cycle().take(2 * passes as usize) {
            let before = self.values.clone();
            let (last_x, last_y) = if step == 1 { (wide - 1, high) } else { (wide, high - 1) };
            let first = usize::from(step == 1);
            let from_y = usize::from(step != 1);
            for (x, y) in (from_y..last_y).flat_map(|y| (first..last_x).map(move |x| (x, y))) {
                let at = y * wide + x;
                self.values[at] = (before[at - step] + 2.0 * before[at] + before[at + step]) / 4.0;
            }
        }
        self
    }
}

/// The picture as it is, or with strokes a dot thicker at each edge.
fn strokes(picture: &Bitmap, thick: bool) -> Grid {
    let size = Size::new(picture.width() as i32, picture.height() as i32);
    let near = |x: i32, y: i32| (0..9).any(|at| picture.get(x + at % 3 - 1, y + at / 3 - 1));
    Grid::around(size, |x, y| f64::from(u8::from(if thick { near(x, y) } else { picture.get(x, y) })))
}

/// Darkness of each dot, 0 paper and 1 solid black; no number where the photograph does not reach.
fn seen(photograph: &Picture, camera: &Camera, light: &Light, size: Size<i32>) -> Grid {
    let half = size.map(|side| f64::from(side) / 2.0);
    // Half a dot at a time, over as many pixels as that is.
    const HALVES: [f64; 2] = [0.25, 0.75];
    let wide = (camera.pixels / 2.0 + 0.5) as i32;
    let rows = -ROOM..size.height + ROOM;
    let lines: Vec<[Row; 2]> = rows.map(|y| HALVES.map(|part| camera.row(f64::from(y) + part - half.height))).collect();
    Grid::around(size, |x, y| {
        let mut sum = 0.0;
        for part in 0..4 {
            let at = Point::new(f64::from(x) + HALVES[part % 2], f64::from(y) + HALVES[part / 2]);
            let Point { x: column, y: row } = lines[(y + ROOM) as usize][part / 2].project(at.x - half.width);
            let Some(value) = photograph.around(column, row, wide) else { return f64::NAN };
            let Levels { white, black } = light.at(at.x, at.y);
            sum += (white - f64::from(value)) / (white - black).max(1e-6);
        }
        sum / 4.0
    })
}

/// Sums from the left upper corner on, so that any tile's mean is four look-ups.
struct Sums {
    width: usize,
    sums: Vec<f64>,
}

impl Sums {
    fn of(grid: &Grid, value: impl Fn(f64) -> f64) -> Sums {
        let width = grid.width as usize + 1;
        let mut sums = vec![0.0; width * (grid.height as usize + 1)];
        for (at, &from) in grid.values.iter().enumerate() {
            let (x, y) = (at % grid.width as usize + 1, at / grid.width as usize + 1);
            sums[y * width + x] =
                value(from) + sums[y * width + x - 1] + sums[(y - 1) * width + x] - sums[(y - 1) * width + x - 1];
        }
        Sums { width, sums }
    }

    /// The mean of the tile from there on.
    fn mean(&self, x: i32, y: i32) -> f64 {
        let at = |x: i32, y: i32| self.sums[(y + ROOM) as usize * self.width + (x + ROOM) as usize];
        let (right, foot) = (x + TILE, y + TILE);
        (at(right, foot) - at(x, foot) - at(right, y) + at(x, y)) / f64::from(TILE * TILE)
    }
}

/// How like a mark's cells are to what is seen there: 1 is alike, 0 is chance. `place`: from shares of the mark's width and height to
/// pixels.
pub fn like_mark(photograph: &Picture, number: usize, quarters: usize, place: impl Fn(f64, f64) -> Point<f64>) -> f64 {
    let white = marks::cells(number, quarters);
    let (mut sum, mut square, mut both, mut whites) = (0.0, 0.0, 0.0, 0.0);
    let count = f64::from(CELLS * CELLS);
    for cell in 0..CELLS * CELLS {
        let (x, y) = (cell % CELLS, cell / CELLS);
        let inner = (1..CELLS - 1).contains(&x) && (1..CELLS - 1).contains(&y);
        let mut value = 0.0;
        for part in [0.35, 0.65] {
            let at = place((f64::from(x) + part) / f64::from(CELLS), (f64::from(y) + part) / f64::from(CELLS));
            value += f64::from(photograph.at(at.x, at.y).unwrap_or(0.0)) / 2.0;
        }
        (sum, square) = (sum + value, square + value * value);
        if inner && white[((y - 1) * (CELLS - 2) + x - 1) as usize] {
            (both, whites) = (both + value, whites + 1.0);
        }
    }
    // Correlation of what is seen with 1 at white cells and 0 at black ones.
    let spread = (square / count - sum * sum / count / count) * (whites / count) * (1.0 - whites / count);
    if spread <= 1e-12 { 0.0 } else { (both / count - sum / count * whites / count) / libm::sqrt(spread) }
}

const _: () = assert!(BYTE_CELL == TILE, "a tile is a cell of a mark");
