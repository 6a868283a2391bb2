//! How the camera stood, how the paper is bent, and how long a row is beside a column: what the marks' places tell together.
//!
//! A pinhole with square pixels and a little radial distortion looks at paper that is bent along its length only, as paper from a
//! roll is. All unknowns are fitted at once by damped least squares (Levenberg 1944, Marquardt 1963); the spread of what is fitted
//! says how sure it is. What is usual (focal length, a middle that is the middle) is used as a weak measurement.

use super::Refusal;
use crate::geometry::{Point, Size};

/// A place on the strip, in dots from its middle: across, and along in rows.
pub type Place = Point<f64>;

/// Unknowns: log of focal length, middle of the lens (2), distortion, rotation (3), where it stands (3), log of a row beside a
/// column, bending (3).
const MANY: usize = 14;
const RATIO: usize = 10;
/// Unknowns of which something is known beforehand.
const USUAL: usize = 8;

/// What the camera saw, and how sure the ratio is.
#[derive(Clone, Debug)]
pub struct Camera {
    unknown: [f64; MANY],
    turn: [[f64; 3]; 3],
    size: Size<f64>,
    /// Half the strip's length in rows.
    half: f64,
    /// Standard deviation of the marks' middles, pixels.
    pub off: f64,
    /// Length of a row beside a column's width.
    pub ratio: f64,
    /// Its standard deviation, as a share.
    pub ratio_spread: f64,
    /// Marks that were used.
    pub used: usize,
    /// Pixels a dot in the strip's middle.
    pub pixels: f64,
}

/// Fits a camera to places on the strip and where they are in a picture of `size` pixels. `half`: half the strip's rows.
///
/// # Errors
/// The places fit no camera, or the ratio cannot be known.
pub fn fit(places: &[Place], seen: &[Point<f64>], size: Size<f64>, half: f64, focal: Option<f64>) -> Result<Camera, Refusal> {
    let mut keep: Vec<usize> = (0..places.len()).collect();
    loop {
        let pick = |all: &[Point<f64>]| keep.iter().map(|&at| all[at]).collect::<Vec<_>>();
        let (on_strip, in_picture) = (pick(places), pick(seen));
        let fit = Fit { places: &on_strip, seen: &in_picture, size, half, focal };
        let best = fit.best().ok_or(Refusal::Bent)?;
        // One that was misread is far off, and is left out.
        let off: Vec<f64> = (0..keep.len()).map(|at| fit.distance(&best, at)).collect();
        let mut sorted = off.clone();
        sorted.sort_by(f64::total_cmp);
        let (median, worst) = (sorted[sorted.len() / 2], sorted[sorted.len() - 1]);
        if worst > (8.0 * median).max(2.5) && keep.len() > 7 {
            let at = off.iter().position(|&off| off == worst).unwrap_or(0);
            keep.remove(at);
            if keep.len() * 5 < places.len() * 4 {
                return Err(Refusal::Bent);
            }
            continue;
        }
        return fit.camera(best);
    }
}

impl Camera {
    /// Where a place of the strip is in the picture, in pixels.
    pub fn project(&self, place: Place) -> Point<f64> {
        self.row(place.y).project(place.x)
    }

    /// The same for a whole row of the strip.
    pub fn row(&self, along: f64) -> Row<'_> {
        Row { camera: self, paper: paper(&self.unknown, self.half, along) }
    }
}

/// How far along a row of bent paper lies, and how high.
#[derive(Clone, Copy)]
struct Bent {
    way: f64,
    height: f64,
}

/// A row of the strip.
pub struct Row<'a> {
    camera: &'a Camera,
    paper: Bent,
}

impl Row<'_> {
    pub fn project(&self, across: f64) -> Point<f64> {
        let Camera { unknown, turn, size, half, .. } = self.camera;
        through_lens(unknown, turn, *size, [across / half, self.paper.way, self.paper.height])
    }
}

#[derive(Clone)]
struct State {
    unknown: [f64; MANY],
    turn: [[f64; 3]; 3],
    cost: f64,
}

struct Fit<'a> {
    places: &'a [Place],
    seen: &'a [Point<f64>],
    size: Size<f64>,
    half: f64,
    focal: Option<f64>,
}

impl Fit<'_> {
    fn longest(&self) -> f64 {
        self.size.width.max(self.size.height)
    }

    /// How far unknowns are from what is usual, in standard deviations.
    fn usual(&self, unknown: &[f64; MANY]) -> [f64; USUAL] {
        // Telephones: 24 to 28 mm on a full frame, 50 and more for their second lens (common practice, no source).
        let (focal, spread) = self.focal.map_or((0.85 * self.longest(), 0.35), |focal| (focal, 0.03));
        let middle = 0.01 * self.longest();
        [
            (unknown[0] - libm::log(focal)) / spread,
            unknown[1] / middle,
            unknown[2] / middle,
            unknown[3] / 0.03,
            unknown[RATIO] / 0.05,
            unknown[11] / 0.8,
            unknown[12] / 0.5,
            unknown[13] / 0.5,
        ]
    }

    fn errors(&self, unknown: &[f64; MANY], turn: &[[f64; 3]; 3]) -> Vec<f64> {
        let mut errors = Vec::with_capacity(self.places.len() * 2 + USUAL);
        for (place, seen) in self.places.iter().zip(self.seen) {
            let Point { x, y } = project(unknown, turn, self.size, self.half, *place);
            errors.extend([(x - seen.x) * 4.0, (y - seen.y) * 4.0]);
        }
        errors.extend(self.usual(unknown));
        errors
    }

    fn distance(&self, state: &State, at: usize) -> f64 {
        let Point { x, y } = project(&state.unknown, &state.turn, self.size, self.half, self.places[at]);
        libm::hypot(x - self.seen[at].x, y - self.seen[at].y)
    }

    fn best(&self) -> Option<State> {
        let flat = self.plane()?;
        let mut best: Option<State> = None;
        let focals = self.focal.map_or(vec![0.75 * self.longest(), 1.3 * self.longest()], |focal| vec![focal]);
        for focal in focals {
            for bend in [0.0, 0.25, -0.25] {
                let Some(state) = self.start(&flat, focal, bend).and_then(|start| self.settle(start)) else { continue };
                if best.as_ref().is_none_or(|best| state.cost < best.cost) {
                    best = Some(state);
                }
            }
        }
        best
    }

    /// The projection of a plane that fits best, by its eight numbers.
    fn plane(&self) -> Option<[f64; 9]> {
        let (near, wide) = (self.half, self.longest());
        let mut normal = vec![vec![0.0; 9]; 8];
        for (place, seen) in self.places.iter().zip(self.seen) {
            let Point { x: u, y: v } = place.map(|part| part / near);
            let [x, y] = [(seen.x - self.size.width / 2.0) / wide, (seen.y - self.size.height / 2.0) / wide];
            for row in [[u, v, 1.0, 0.0, 0.0, 0.0, -u * x, -v * x, x], [0.0, 0.0, 0.0, u, v, 1.0, -u * y, -v * y, y]] {
                for (one, two) in (0..8).flat_map(|one| (0..9).map(move |two| (one, two))) {
                    normal[one][two] += row[one] * row[two];
                }
            }
        }
        let solved = solve(&mut normal)?;
        let mut all = [1.0; 9];
        all[..8].copy_from_slice(&solved);
        Some(all)
    }

    fn start(&self, plane: &[f64; 9], focal: f64, bend: f64) -> Option<State> {
        let scale = focal / self.longest();
        let column = |at: usize| [plane[at] / scale, plane[at + 3] / scale, plane[at + 6]];
        let (one, two, three) = (column(0), column(1), column(2));
        let length = norm(one);
        if length.is_nan() || length < 1e-9 {
            return None;
        }
        let one_way = one.map(|part| part / length);
        let along = dot(one_way, two);
        let two = [0, 1, 2].map(|at| two[at] - along * one_way[at]);
        let long = norm(two);
        if long.is_nan() || long < 1e-9 {
            return None;
        }
        let two_way = two.map(|part| part / long);
        let normal = cross(one_way, two_way);
        let turn = [0, 1, 2].map(|at| [one_way[at], two_way[at], normal[at]]);
        let stands = three.map(|part| part / length * self.half);
        let mut unknown = [0.0; MANY];
        unknown[0] = libm::log(focal);
        unknown[7..10].copy_from_slice(&[
            stands[0] / self.half,
            stands[1] / self.half,
            libm::log((stands[2] / self.half).max(0.05)),
        ]);
        unknown[11] = bend;
        Some(State { unknown, turn, cost: f64::INFINITY })
    }

    fn settle(&self, mut state: State) -> Option<State> {
        let square = |errors: &[f64]| errors.iter().map(|error| error * error).sum::<f64>();
        let mut errors = self.errors(&state.unknown, &state.turn);
        state.cost = square(&errors);
        let mut damping = 1e-3;
        for _ in 0..60 {
            let slopes = self.slopes(&state, &errors);
            let mut improved = false;
            for _ in 0..8 {
                let mut normal = normal_of(&slopes, &errors);
                for (at, row) in normal.iter_mut().enumerate() {
                    row[at] += damping * (row[at] + 1e-9);
                }
                let Some(step) = solve(&mut normal) else {
                    damping *= 10.0;
                    continue;
                };
                let (unknown, turn) = moved(&state, &step);
                let new = self.errors(&unknown, &turn);
                let cost = square(&new);
                if cost < state.cost {
                    let gained = state.cost - cost;
                    state = State { unknown, turn, cost };
                    errors = new;
                    damping = (damping * 0.3).max(1e-12);
                    improved = gained > 1e-9 * cost;
                    break;
                }
                damping *= 5.0;
            }
            if !improved {
                break;
            }
        }
        state.cost.is_finite().then_some(state)
    }

    /// How each error changes with each unknown.
    fn slopes(&self, state: &State, errors: &[f64]) -> Vec<Vec<f64>> {
        let mut slopes = vec![vec![0.0; MANY]; errors.len()];
        for at in 0..MANY {
            let mut step = [0.0; MANY];
            // A pixel for the middle of the lens, a millionth of all else.
            step[at] = if at == 1 || at == 2 { 1e-3 } else { 1e-6 };
            let (unknown, turn) = moved(state, &step);
            for (row, error) in self.errors(&unknown, &turn).into_iter().enumerate() {
                slopes[row][at] = (error - errors[row]) / step[at];
            }
        }
        slopes
    }

    fn camera(&self, state: State) -> Result<Camera, Refusal> {
        let errors = self.errors(&state.unknown, &state.turn);
        let count = self.places.len();
        let square: f64 = errors[..2 * count].iter().map(|error| error * error).sum();
        // Weighted by a quarter of a pixel; not less than a twentieth, whatever the residuals say.
        let free = (2 * count).saturating_sub(MANY - USUAL).max(1) as f64;
        let off = (libm::sqrt(square / free) / 4.0).max(0.05);
        let slopes = self.slopes(&state, &errors);
        let mut normal = normal_of(&slopes, &errors);
        for row in &slopes[2 * count..] {
            // What is usual is as sure as it was said to be; marks are as sure as they fit.
            let factor = (off * 4.0) * (off * 4.0) - 1.0;
            for (one, two) in (0..MANY).flat_map(|one| (0..MANY).map(move |two| (one, two))) {
                normal[one][two] += factor * row[one] * row[two];
            }
        }
        for (at, row) in normal.iter_mut().enumerate() {
            row[MANY] = if at == RATIO { 1.0 } else { 0.0 };
        }
        let spread = solve(&mut normal).map(|column| column[RATIO]).filter(|spread| *spread > 0.0).ok_or(Refusal::Oblique)?;
        let mut camera = Camera {
            ratio: libm::exp(state.unknown[RATIO]),
            ratio_spread: libm::sqrt(spread) * off * 4.0,
            unknown: state.unknown,
            turn: state.turn,
            size: self.size,
            half: self.half,
            off,
            used: count,
            pixels: 0.0,
        };
        let length = |one: Place, two: Place| {
            let way = camera.project(one) - camera.project(two);
            libm::hypot(way.x, way.y)
        };
        let middle = self.places.iter().fold(Point::default(), |sum, place| sum + *place).map(|sum| sum / count as f64);
        let (across, along) = (
            length(Point::new(-20.0, middle.y), Point::new(20.0, middle.y)) / 40.0,
            length(Point::new(0.0, middle.y - 20.0), Point::new(0.0, middle.y + 20.0)) / 40.0,
        );
        camera.pixels = across.min(along);
        // Seen at more than about 40 degrees.
        if across.min(along) < 0.75 * across.max(along) || camera.turn[2][2].abs() < 0.77 {
            return Err(Refusal::Oblique);
        }
        if off > (0.35 * camera.pixels).max(0.5) || (camera.ratio - 1.0).abs() > 0.06 {
            return Err(Refusal::Bent);
        }
        Ok(camera)
    }
}

fn moved(state: &State, step: &[f64]) -> ([f64; MANY], [[f64; 3]; 3]) {
    let mut unknown = state.unknown;
    for (value, change) in unknown.iter_mut().zip(step) {
        *value += change;
    }
    // The rotation is kept as it is, and only its change is an unknown.
    unknown[4..7].fill(0.0);
    let small = rotation([step[4], step[5], step[6]]);
    let turn = [0, 1, 2].map(|row| [0, 1, 2].map(|column| (0..3).map(|at| small[row][at] * state.turn[at][column]).sum()));
    (unknown, turn)
}

/// About an axis, by its length (Rodrigues).
fn rotation(axis: [f64; 3]) -> [[f64; 3]; 3] {
    let angle = norm(axis);
    if angle < 1e-12 {
        return [[1.0, -axis[2], axis[1]], [axis[2], 1.0, -axis[0]], [-axis[1], axis[0], 1.0]];
    }
    let [x, y, z] = axis.map(|part| part / angle);
    let (sine, cosine) = (libm::sin(angle), libm::cos(angle));
    let rest = 1.0 - cosine;
    [
        [cosine + x * x * rest, x * y * rest - z * sine, x * z * rest + y * sine],
        [y * x * rest + z * sine, cosine + y * y * rest, y * z * rest - x * sine],
        [z * x * rest - y * sine, z * y * rest + x * sine, cosine + z * z * rest],
    ]
}

/// A place on bent paper, seen.
fn project(unknown: &[f64; MANY], turn: &[[f64; 3]; 3], size: Size<f64>, half: f64, place: Place) -> Point<f64> {
    let Bent { way, height } = paper(unknown, half, place.y);
    through_lens(unknown, turn, size, [place.x / half, way, height])
}

/// Way and height of a row of bent paper.
fn paper(unknown: &[f64; MANY], half: f64, along: f64) -> Bent {
    let ratio = libm::exp(unknown[RATIO]);
    let t = along / half;
    // The paper's slope along its length is the integral of its bending; height and way are integrals of its sine and cosine
    // (Simpson's rule).
    let slope = |t: f64| unknown[11] * t + unknown[12] * t * t / 2.0 + unknown[13] * t * t * t / 3.0;
    let (mut way, mut height) = (0.0, 0.0);
    const PARTS: usize = 6;
    for step in 0..=PARTS {
        let angle = slope(t * step as f64 / PARTS as f64);
        let weight = if step == 0 || step == PARTS {
            1.0
        } else if step % 2 == 1 {
            4.0
        } else {
            2.0
        };
        way += weight * libm::cos(angle);
        height += weight * libm::sin(angle);
    }
    let share = t * ratio / (3.0 * PARTS as f64);
    Bent { way: way * share, height: height * share }
}

fn through_lens(unknown: &[f64; MANY], turn: &[[f64; 3]; 3], size: Size<f64>, paper: [f64; 3]) -> Point<f64> {
    let stands = [unknown[7], unknown[8], libm::exp(unknown[9])];
    let [x, y, z] = [0, 1, 2].map(|row| (0..3).map(|at| turn[row][at] * paper[at]).sum::<f64>() + stands[row]);
    let z = z.max(1e-6);
    let (x, y) = (x / z, y / z);
    let bulge = 1.0 + unknown[3] * (x * x + y * y);
    let focal = libm::exp(unknown[0]);
    Point::new(size.width / 2.0 + unknown[1] + focal * x * bulge, size.height / 2.0 + unknown[2] + focal * y * bulge)
}

fn normal_of(slopes: &[Vec<f64>], errors: &[f64]) -> Vec<Vec<f64>> {
    let mut normal = vec![vec![0.0; MANY + 1]; MANY];
    for (row, error) in slopes.iter().zip(errors) {
        for one in 0..MANY {
            if row[one] == 0.0 {
                continue;
            }
            for two in 0..MANY {
                normal[one][two] += row[one] * row[two];
            }
            normal[one][MANY] -= row[one] * error;
        }
    }
    normal
}

/// Solves rows of coefficients with their right side last, by elimination with pivots.
fn solve(rows: &mut [Vec<f64>]) -> Option<Vec<f64>> {
    let count = rows.len();
    for at in 0..count {
        let pivot = (at..count).max_by(|&one, &two| rows[one][at].abs().total_cmp(&rows[two][at].abs()))?;
        if rows[pivot][at].is_nan() || rows[pivot][at].abs() < 1e-15 {
            return None;
        }
        rows.swap(at, pivot);
        let (above, below) = rows.split_at_mut(at + 1);
        let lead = &above[at];
        for row in below {
            let factor = row[at] / lead[at];
            for (value, other) in row[at..].iter_mut().zip(&lead[at..]) {
                *value -= factor * other;
            }
        }
    }
    let mut solved = vec![0.0; count];
    for at in (0..count).rev() {
        let rest: f64 = (at + 1..count).map(|other| rows[at][other] * solved[other]).sum();
        solved[at] = (rows[at][count] - rest) / rows[at][at];
    }
    solved.iter().all(|value| value.is_finite()).then_some(solved)
}

fn dot(one: [f64; 3], two: [f64; 3]) -> f64 {
    one[0] * two[0] + one[1] * two[1] + one[2] * two[2]
}

fn norm(one: [f64; 3]) -> f64 {
    libm::sqrt(dot(one, one))
}

fn cross(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}
