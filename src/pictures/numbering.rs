//! Which callout is number 1, and which comes next.
//!
//! Decided from where the points stand on the picture and from nothing else, so that "callout 2" is the same part on every paper.

/// A point on a picture: x, y.
type At = [i32; 2];

/// Points no farther from a straight line than this part of its length stand on a line.
const FLAT: i128 = 4;

/// The order of points that are thousandths of a picture of this size, or of these proportions: on the picture itself, so that no paper,
/// width or screen has a say.
pub fn on_picture(size: [u32; 2], points: &[At], rtl: bool) -> Vec<usize> {
    let longest = i64::from(size[0].max(size[1]).max(1));
    let on_source = |at: &At| [0, 1].map(|axis: usize| (i64::from(at[axis]) * 1000 * i64::from(size[axis]) / longest) as i32);
    placed(&points.iter().map(on_source).collect::<Vec<_>>(), rtl)
}

/// The points in the order of their numbers, by index: clockwise around their middle from the top left; where they nearly stand on a line,
/// along it. `rtl`: a line that lies is followed from the right.
pub fn placed(points: &[At], rtl: bool) -> Vec<usize> {
    let mut order: Vec<usize> = (0..points.len()).collect();
    if let Some((from, to)) = line(points) {
        let (mut dx, mut dy) = (i64::from(to[0] - from[0]), i64::from(to[1] - from[1]));
        let forwards = if dx.abs() >= dy.abs() { (dx > 0) != rtl } else { dy > 0 };
        if !forwards {
            (dx, dy) = (-dx, -dy);
        }
        order.sort_by_key(|&n| (i64::from(points[n][0]) * dx + i64::from(points[n][1]) * dy, n));
        return order;
    }
    // Everything times the number of points, so that the middle is exact.
    let count = points.len() as i64;
    let sum = points.iter().fold([0, 0], |sum, at| [sum[0] + i64::from(at[0]), sum[1] + i64::from(at[1])]);
    let from_middle = |n: usize| [i64::from(points[n][0]) * count - sum[0], i64::from(points[n][1]) * count - sum[1]];
    order.sort_by(|&a, &b| clockwise(from_middle(a), from_middle(b)).then(a.cmp(&b)));
    order
}

/// The two points farthest apart, when all others stand near the line between them.
fn line(points: &[At]) -> Option<(At, At)> {
    let pairs = points.iter().enumerate().flat_map(|(n, &a)| points[n + 1..].iter().map(move |&b| (a, b)));
    let length = |a: At, b: At| {
        let (dx, dy) = (i128::from(b[0] - a[0]), i128::from(b[1] - a[1]));
        dx * dx + dy * dy
    };
    // The first of equally long ones.
    let (from, to) = pairs.reduce(|best, pair| if length(pair.0, pair.1) > length(best.0, best.1) { pair } else { best })?;
    let square = length(from, to);
    let near = |at: &At| {
        let cross =
            i128::from(to[0] - from[0]) * i128::from(at[1] - from[1]) - i128::from(to[1] - from[1]) * i128::from(at[0] - from[0]);
        // The distance from the line is cross / length.
        cross.abs() * FLAT <= square
    };
    points.iter().all(near).then_some((from, to))
}

/// Order around the origin, clockwise, beginning at the left a little above it, so that what stands in the top left corner is first.
fn clockwise(a: [i64; 2], b: [i64; 2]) -> std::cmp::Ordering {
    // Turned so that the direction (-2, -1) becomes straight up.
    let turned = |[x, y]: [i64; 2]| (i128::from(x - 2 * y), i128::from(2 * x + y));
    let (pa, pb) = (turned(a), turned(b));
    // Right half first (from straight up, clockwise), then the left half.
    let half = |(x, y): (i128, i128)| u8::from(x < 0 || (x == 0 && y > 0));
    half(pa).cmp(&half(pb)).then_with(|| (pb.0 * pa.1 - pb.1 * pa.0).cmp(&0))
}

#[cfg(test)]
mod tests {
    use super::placed;

    #[test]
    fn numbers_run_clockwise_from_the_top_left() {
        assert_eq!(placed(&[[500, 400], [60, 60], [500, 60], [60, 400]], false), [1, 2, 0, 3]);
    }

    #[test]
    fn what_stands_on_a_line_is_numbered_along_it() {
        let row = [[650, 300], [50, 310], [350, 290], [150, 320], [250, 305], [550, 280], [450, 300]];
        assert_eq!(placed(&row, false), [1, 3, 4, 2, 6, 5, 0]);
        let mut back = placed(&row, false);
        back.reverse();
        assert_eq!(placed(&row, true), back);
        assert_eq!(placed(&[[300, 650], [310, 50], [290, 350]], false), [1, 2, 0], "from the top");
    }

    #[test]
    fn one_point_and_points_that_fall_together_keep_their_order() {
        assert_eq!(placed(&[], false), [0; 0]);
        assert_eq!(placed(&[[5, 5]], false), [0]);
        assert_eq!(placed(&[[5, 5], [5, 5], [5, 5]], false), [0, 1, 2]);
    }
}
