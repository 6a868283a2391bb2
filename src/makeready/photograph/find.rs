//! Finds the marks in a photograph: dark shapes with four corners, whose cells are a number.

use image::GrayImage;
use image::imageops::{self, FilterType};
use imageproc::contours::{BorderType, find_contours};
use imageproc::contrast::adaptive_threshold;
use imageproc::distance_transform::Norm;
use imageproc::geometric_transformations::Projection;
use imageproc::geometry::{approximate_polygon_dp, arc_length, contour_area};
use imageproc::morphology;
use imageproc::point;

use super::picture::Picture;
use crate::geometry::{Point, Size};
use crate::makeready::marks::{self, Recognised};

/// Longer side of the picture that shapes are looked for in: first where noise is small, then where what lies near a small mark is apart
/// from it.
const SEARCH: f64 = 1800.0;
const FINE_SEARCH: f64 = 3600.0;

/// A mark that was found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Found {
    pub number: usize,
    /// It was printed mirrored; only marks of the ways strip are known then.
    pub mirrored: bool,
    /// Its middle, in pixels; gain moves its edges, but not this.
    pub middle: Point<f64>,
    /// Corners from the left upper one clockwise, as its pattern has them before it is turned or mirrored.
    pub corners: [Point<f64>; 4],
    /// How soft its edges are: standard deviation in pixels, the most of its sides.
    pub blur: f64,
}

/// All marks, in the order of their numbers.
pub fn marks(picture: &Picture) -> Vec<Found> {
    let longest = f64::from(picture.width.max(picture.height));
    let mut found: Vec<Found> = Vec::new();
    for side in [SEARCH, FINE_SEARCH] {
        search(picture, (longest / side).max(1.0), &mut found);
        // There is no more to see.
        if longest < side * 1.1 {
            break;
        }
    }
    found.sort_by_key(|mark| (mark.number, mark.middle.x as i64, mark.middle.y as i64));
    found
}

/// A mark about there, as where one beside it says that it must be: corners in any order around it, pixels.
pub fn mark_at(picture: &Picture, about: [Point<f64>; 4]) -> Option<Found> {
    known(picture, clockwise(about))
}

/// Looks for marks in the picture made smaller by so much.
fn search(picture: &Picture, shrink: f64, found: &mut Vec<Found>) {
    let small: GrayImage = if shrink > 1.0 {
        let size = |side: u32| (f64::from(side) / shrink) as u32;
        imageops::resize(&picture.grey, size(picture.width), size(picture.height), FilterType::Triangle)
    } else {
        picture.grey.clone()
    };
    let scale =
        Size::new(f64::from(picture.width) / f64::from(small.width()), f64::from(picture.height) / f64::from(small.height()));
    let side = small.width().max(small.height());
    // A wide neighbourhood for large squares, a narrow one for small; and squares that a dead column parts are closed again.
    for (radius, gap) in [(side / 30, 0), (side / 90, 0), (side / 30, 1), (side / 30, 2)] {
        let mut dark = adaptive_threshold(&small, radius.max(3), 12);
        imageops::invert(&mut dark);
        if gap > 0 {
            morphology::close_mut(&mut dark, Norm::LInf, gap);
        }
        for contour in find_contours::<i32>(&dark) {
            if contour.border_type != BorderType::Outer || contour.points.len() < 32 {
                continue;
            }
            let around = arc_length(&contour.points, true);
            let corners = four(approximate_polygon_dp(&contour.points, around * 0.04, true));
            let [a, b, c, d] = corners[..] else { continue };
            let area = contour_area(&corners);
            // A square holds a sixteenth of its outline's square.
            if area < 64.0 || area * 16.0 < around * around * 0.35 {
                continue;
            }
            let quad = [a, b, c, d]
                .map(|corner| Point::new((f64::from(corner.x) + 0.5) * scale.width, (f64::from(corner.y) + 0.5) * scale.height));
            if let Some(mark) = known(picture, clockwise(quad))
                && !found.iter().any(|other| other.is(&mark))
            {
                found.push(mark);
            }
        }
    }
}

/// Where a contour begins stays a corner, also in the middle of a side: the flattest of five goes.
fn four(mut corners: Vec<point::Point<i32>>) -> Vec<point::Point<i32>> {
    if corners.len() == 5 {
        let flat = |at: usize| {
            let [a, b, c] = [corners[(at + 4) % 5], corners[at], corners[(at + 1) % 5]];
            ((b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x)).abs()
        };
        let flattest = (0..5).min_by_key(|&at| flat(at)).unwrap_or(0);
        corners.remove(flattest);
    }
    corners
}

impl Found {
    /// Whether it is the same one, found once more.
    pub fn is(&self, other: &Found) -> bool {
        self.number == other.number && apart(self.middle, other.middle) < 8.0
    }

    /// Its shortest side, pixels.
    pub fn shortest(&self) -> f64 {
        (0..4).map(|at| apart(self.corners[at], self.corners[(at + 1) % 4])).fold(f64::INFINITY, f64::min)
    }
}

fn apart(one: Point<f64>, other: Point<f64>) -> f64 {
    let way = one - other;
    libm::hypot(way.x, way.y)
}

fn clockwise(quad: [Point<f64>; 4]) -> [Point<f64>; 4] {
    let twice: f64 = (0..4).map(|at| quad[at].x * quad[(at + 1) % 4].y - quad[(at + 1) % 4].x * quad[at].y).sum();
    if twice > 0.0 { quad } else { [quad[0], quad[3], quad[2], quad[1]] }
}

/// Its corners found exactly and its cells read.
fn known(picture: &Picture, rough: [Point<f64>; 4]) -> Option<Found> {
    let (corners, _) = sharpened(picture, rough)?;
    let (corners, blur) = sharpened(picture, corners)?;
    let unit = [(0.0, 0.0), (6.0, 0.0), (6.0, 6.0), (0.0, 6.0)];
    let to = Projection::from_control_points(unit, corners.map(|at| (at.x as f32, at.y as f32)))?;
    let at = |x: f32, y: f32| {
        let (x, y) = to * (x, y);
        picture.at(f64::from(x), f64::from(y))
    };
    let cell = |x: i32, y: i32| {
        let mut sum = 0.0;
        for step in 0..9 {
            let part = |step: i32| 0.3 + 0.2 * step as f32;
            sum += at(x as f32 + part(step % 3), y as f32 + part(step / 3))?;
        }
        Some(sum / 9.0)
    };
    let mut values = [[0.0f32; 6]; 6];
    for (x, y) in (0..36).map(|cell| (cell % 6, cell / 6)) {
        values[y as usize][x as usize] = cell(x, y)?;
    }
    let inner = |at: usize| (1..5).contains(&at);
    let all = || (0..36).map(|cell| (cell % 6, cell / 6));
    let rim: Vec<f32> = all().filter(|&(x, y)| !(inner(x) && inner(y))).map(|(x, y)| values[y][x]).collect();
    let cells: Vec<f32> = all().filter(|&(x, y)| inner(x) && inner(y)).map(|(x, y)| values[y][x]).collect();
    let dark = rim.iter().sum::<f32>() / rim.len() as f32;
    let white = cells.iter().copied().fold(0.0, f32::max);
    if white < dark * 1.4 + 0.01 {
        return None;
    }
    let middle = (dark + white) / 2.0;
    if rim.iter().any(|&value| value > middle) {
        return None;
    }
    let bits = cells.iter().fold(0u16, |bits, &value| bits << 1 | u16::from(value > middle));
    let Recognised { number, turn, mirrored } = marks::recognised(bits)?;
    let corner = |at: usize| corners[(at + turn) % 4];
    let corners = (if mirrored { [1, 0, 3, 2] } else { [0, 1, 2, 3] }).map(corner);
    let middle = crossing(corners[0], corners[2], corners[1], corners[3])?;
    Some(Found { number, mirrored, middle, corners, blur })
}

/// The crossing of two lines, each through two points.
fn crossing(a: Point<f64>, b: Point<f64>, c: Point<f64>, d: Point<f64>) -> Option<Point<f64>> {
    let (p, q) = (b - a, d - c);
    let across = p.cross(q);
    if across.abs() < 1e-9 {
        return None;
    }
    let t = (c - a).cross(q) / across;
    Some(a + p * t)
}

/// Each side as a line through where light is half-way between black and white; where lines cross are corners. And how soft sides are.
fn sharpened(picture: &Picture, corners: [Point<f64>; 4]) -> Option<([Point<f64>; 4], f64)> {
    let mut sides = [(Point::default(), Point::default()); 4];
    let mut softest = 0.0f64;
    for side in 0..4 {
        let (from, to) = (corners[side], corners[(side + 1) % 4]);
        let Point { x, y } = to - from;
        let length = libm::hypot(x, y);
        if length < 8.0 {
            return None;
        }
        // Clockwise with y downwards: outwards is to the left of the way.
        let out = Point::new(y / length, -x / length);
        let reach = length / 6.0 * 0.85;
        let steps = (reach / 0.25) as i32;
        let (mut points, mut soft) = (Vec::new(), Vec::new());
        // Dots that barely touch leave holes between them: light is the mean over a dot, across the side and along it.
        let dot = length / f64::from(marks::SIDE);
        let half = (dot / 2.0 / 0.25) as i32;
        let width = f64::from(2 * half + 1) * 0.25;
        for place in 0..12 {
            let along = 0.14 + 0.72 * f64::from(place) / 11.0;
            let base = Point::new(from.x + x * along, from.y + y * along);
            let mut fine = Vec::new();
            for step in -steps - half..=steps + half {
                let away = f64::from(step) * 0.25;
                let mut sum = 0.0;
                for part in -2..=2 {
                    let aside = f64::from(part) * dot / 5.0 / length;
                    let (right, down) = (out.x * away + x * aside, out.y * away + y * aside);
                    sum += f64::from(picture.at(base.x + right, base.y + down)?);
                }
                fine.push(sum / 5.0);
            }
            let profile: Vec<f64> = fine.windows(2 * half as usize + 1).map(mean).collect();
            let (inside, outside) = (mean(&profile[..4]), mean(&profile[profile.len() - 4..]));
            if outside < inside * 1.3 + 0.005 {
                continue;
            }
            let shares: Vec<f64> = profile.iter().map(|value| (value - inside) / (outside - inside)).collect();
            let Some(step) = (1..shares.len()).find(|&step| shares[step - 1] < 0.5 && shares[step] >= 0.5) else { continue };
            let part = (0.5 - shares[step - 1]) / (shares[step] - shares[step - 1]);
            let away = (step as f64 - 1.0 + part) * 0.25 - reach_of(steps);
            points.push(base + out * away);
            // Second moment of the slope about the crossing.
            let (mut weight, mut square) = (0.0, 0.0);
            for pair in 1..shares.len() {
                let slope = (shares[pair] - shares[pair - 1]).max(0.0);
                let from_crossing = (pair as f64 - 0.5) * 0.25 - reach_of(steps) - away;
                weight += slope;
                square += slope * from_crossing * from_crossing;
            }
            // The mean softens by its own width.
            soft.push(libm::sqrt((square / weight.max(1e-9) - width * width / 12.0).max(0.0)));
        }
        if points.len() < 6 {
            return None;
        }
        soft.sort_by(f64::total_cmp);
        softest = softest.max(soft[soft.len() / 2]);
        sides[side] = line(points)?;
    }
    let corner = |at: usize| {
        let ((a, p), (c, q)) = (sides[(at + 3) % 4], sides[at]);
        crossing(a, a + p, c, c + q)
    };
    Some(([corner(0)?, corner(1)?, corner(2)?, corner(3)?], softest))
}

fn reach_of(steps: i32) -> f64 {
    f64::from(steps) * 0.25
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len().max(1) as f64
}

/// The line nearest to points: one on it, and its way. The farthest third is left out, once.
fn line(points: Vec<Point<f64>>) -> Option<(Point<f64>, Point<f64>)> {
    let fit = |points: &[Point<f64>]| {
        let count = points.len() as f64;
        let middle = points.iter().fold(Point::default(), |sum, point| sum + point.map(|side| side / count));
        let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
        for point in points {
            let Point { x, y } = *point - middle;
            (xx, xy, yy) = (xx + x * x, xy + x * y, yy + y * y);
        }
        let angle = libm::atan2(2.0 * xy, xx - yy) / 2.0;
        (middle, Point::new(libm::cos(angle), libm::sin(angle)))
    };
    let (middle, way) = fit(&points);
    let off = |point: &Point<f64>| (*point - middle).cross(way).abs();
    let mut near = points;
    near.sort_by(|one, other| off(one).total_cmp(&off(other)));
    near.truncate((near.len() * 2).div_ceil(3).max(4));
    (near.len() >= 4).then(|| fit(&near))
}
