//! Which callout is number 1, and which comes next.
//!
//! Decided from where the points stand on the picture and from nothing else, so that "callout 2" is the same part on every paper.

use crate::geometry::{Point, Size};

/// A point on a picture: x, y.
type At = Point<i32>;

/// Points no farther from a straight line than this part of its length stand on a line.
const FLAT: i128 = 4;

/// The order of points that are thousandths of a picture of this size, or of these proportions: on the picture itself, so that no paper,
/// width or screen has a say.
pub fn on_picture(size: Size<u32>, points: &[At], rtl: bool) -> Vec<usize> {
    let longest = i64::from(size.width.max(size.height).max(1));
    let part = |at: i32, side: u32| (i64::from(at) * 1000 * i64::from(side) / longest) as i32;
    let on_source = |at: &At| Point::new(part(at.x, size.width), part(at.y, size.height));
    placed(&points.iter().map(on_source).collect::<Vec<_>>(), rtl)
}

/// The points in the order of their numbers, by index: clockwise around their middle from the top left; where they nearly stand on a line,
/// along it. `rtl`: a line that lies is followed from the right.
pub fn placed(points: &[At], rtl: bool) -> Vec<usize> {
    let mut order: Vec<usize> = (0..points.len()).collect();
    if let Some((from, to)) = line(points) {
        let mut way = (to - from).wide();
        let forwards = if way.x.abs() >= way.y.abs() { (way.x > 0) != rtl } else { way.y > 0 };
        if !forwards {
            way = way * -1;
        }
        order.sort_by_key(|&n| (points[n].wide().dot(way), n));
        return order;
    }
    // Everything times the number of points, so that the middle is exact.
    let count = points.len() as i64;
    let sum = points.iter().fold(Point::new(0, 0), |sum, at| sum + at.wide());
    let from_middle = |n: usize| points[n].wide() * count - sum;
    order.sort_by(|&a, &b| clockwise(from_middle(a), from_middle(b)).then(a.cmp(&b)));
    order
}

/// The two points farthest apart, when all others stand near the line between them.
fn line(points: &[At]) -> Option<(At, At)> {
    let pairs = points.iter().enumerate().flat_map(|(n, &a)| points[n + 1..].iter().map(move |&b| (a, b)));
    let length = |a: At, b: At| {
        let way = (b - a).map(i128::from);
        way.dot(way)
    };
    // The first of equally long ones.
    let (from, to) = pairs.reduce(|best, pair| if length(pair.0, pair.1) > length(best.0, best.1) { pair } else { best })?;
    let square = length(from, to);
    let near = |at: &At| {
        let cross = (to - from).map(i128::from).cross((*at - from).map(i128::from));
        // The distance from the line is cross / length.
        cross.abs() * FLAT <= square
    };
    points.iter().all(near).then_some((from, to))
}

/// Order around the origin, clockwise, beginning at the left a little above it, so that what stands in the top left corner is first.
fn clockwise(a: Point<i64>, b: Point<i64>) -> std::cmp::Ordering {
    // Turned so that the direction (-2, -1) becomes straight up.
    let turned = |at: Point<i64>| Point::new(at.x - 2 * at.y, 2 * at.x + at.y).map(i128::from);
    let (pa, pb) = (turned(a), turned(b));
    // Right half first (from straight up, clockwise), then the left half.
    let half = |at: Point<i128>| u8::from(at.x < 0 || (at.x == 0 && at.y > 0));
    half(pa).cmp(&half(pb)).then_with(|| pb.cross(pa).cmp(&0))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn order(points: &[[i32; 2]], rtl: bool) -> Vec<usize> {
        placed(&points.iter().copied().map(Point::from).collect::<Vec<_>>(), rtl)
    }

    #[test]
    fn numbers_run_clockwise_from_the_top_left() {
        assert_eq!(order(&[[500, 400], [60, 60], [500, 60], [60, 400]], false), [1, 2, 0, 3]);
    }

    #[test]
    fn what_stands_on_a_line_is_numbered_along_it() {
        let row = [[650, 300], [50, 310], [350, 290], [150, 320], [250, 305], [550, 280], [450, 300]];
        assert_eq!(order(&row, false), [1, 3, 4, 2, 6, 5, 0]);
        let mut back = order(&row, false);
        back.reverse();
        assert_eq!(order(&row, true), back);
        assert_eq!(order(&[[300, 650], [310, 50], [290, 350]], false), [1, 2, 0], "from the top");
    }

    #[test]
    fn one_point_and_points_that_fall_together_keep_their_order() {
        assert_eq!(order(&[], false), [0; 0]);
        assert_eq!(order(&[[5, 5]], false), [0]);
        assert_eq!(order(&[[5, 5], [5, 5], [5, 5]], false), [0, 1, 2]);
    }
}
