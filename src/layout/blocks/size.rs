//! How large pictures are that stand in a column or side by side in one.

use crate::geometry::Size;
use crate::layout::context::Context;
use crate::lengths::Dots;
use crate::manual::document::Figure;

/// A picture is legible with so many dots in its longer direction, or with a dot for each pixel that it has.
pub const LEGIBLE: i64 = 160;

/// A picture that a page gives a place of its own, at least `OWN_PLACE` of its width, has so many dots in its longer direction: 35 mm at
/// 8 dots/mm. Beside it the strip has nothing but white; a photograph of 24 mm in a column of 72 mm helps nobody.
const FULL: i64 = 280;
const OWN_PLACE: i64 = 150;

/// What a picture measures: proportions for outlines and for what cannot be used.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shape {
    pub width: i64,
    pub height: i64,
    /// Made of pixels: it is not set larger than a dot a pixel.
    pub pixels: bool,
}

impl Shape {
    pub fn of(context: &Context, figure: &Figure) -> Shape {
        let (share_w, share_h) = figure.crop.map_or((1000, 1000), |crop| (crop.width.max(1), crop.height.max(1)));
        match context.pictures.look(&figure.picture) {
            Ok(info) => Shape {
                width: (i64::from(info.width) * i64::from(share_w) / 1000).max(1),
                height: (i64::from(info.height) * i64::from(share_h) / 1000).max(1),
                pixels: !info.vector,
            },
            Err(_) => {
                let Size { width, height } =
                    context.pictures.proportions(&figure.picture).unwrap_or(Size::new(4000, 3000)).map(i64::from);
                Shape { width: width.max(1), height: height.max(1), pixels: false }
            }
        }
    }

    /// Whether it is legible in this width.
    pub fn is_legible(&self, width: i64) -> bool {
        let height = width * self.height / self.width;
        width.max(height) >= LEGIBLE || (self.pixels && width + 1 >= self.width)
    }

    /// The width in which its longer direction has so many dots.
    fn width_with(&self, longer: i64) -> i64 {
        if self.width >= self.height { longer } else { (longer * self.width + self.height - 1) / self.height }
    }

    /// The greatest width in a column.
    fn most(&self, column: i64) -> i64 {
        if self.pixels { column.min(self.width) } else { column }
    }

    /// The least width in which it is legible, and its words under it too where they need `floor`.
    fn least(&self, floor: i64) -> i64 {
        let least = self.width_with(LEGIBLE);
        if self.pixels { least.min(self.width).max(floor.min(self.width)) } else { least.max(floor) }
    }

    /// The width of a share of a web page, in permille: raised to what is seen well, and never more than a dot a pixel.
    pub fn on_page(&self, column: i64, share: i64) -> i64 {
        let longer = if share >= OWN_PLACE { FULL } else { LEGIBLE };
        (column * share / 1000).max(self.width_with(longer)).min(self.most(column)).max(1)
    }
}

/// Parts pictures into the fewest rows in which all of them are legible: how many stand in each, in order. As many in each as in
/// the others, or one more in the first, where that takes no more rows. None is narrower than `floor`, which the words under it need.
pub fn rows(shapes: &[Shape], column: i64, gutter: i64, floor: i64) -> Vec<usize> {
    let fits = |row: &[Shape]| {
        let widths = widths(row, column, gutter, floor);
        let taken = widths.iter().sum::<i64>() + gutter * (row.len() as i64 - 1);
        row.len() == 1 || taken <= column && widths.iter().zip(row).all(|(&width, shape)| shape.is_legible(width))
    };
    let mut full = Vec::new();
    let mut from = 0;
    while from < shapes.len() {
        let most = (1..=shapes.len() - from).take_while(|&length| fits(&shapes[from..from + length])).last().unwrap_or(1);
        full.push(most);
        from += most;
    }
    let (count, rows) = (shapes.len(), full.len());
    let even: Vec<usize> = (0..rows).map(|n| count / rows + usize::from(n < count % rows)).collect();
    let mut from = 0;
    let all_fit = even.iter().all(|&length| {
        from += length;
        fits(&shapes[from - length..from])
    });
    if all_fit { even } else { full }
}

/// Widths of pictures that stand side by side, all as high as each other, but none larger than a dot a pixel nor too small to be legible
/// while the others leave it room.
pub fn widths(row: &[Shape], column: i64, gutter: i64, floor: i64) -> Vec<i64> {
    let mut widths = vec![0; row.len()];
    let mut open: Vec<usize> = (0..row.len()).collect();
    let mut room = column - gutter * (row.len() as i64 - 1).max(0);
    // A picture with too few pixels for the common height keeps its own; the others share what it leaves.
    loop {
        let sum: i64 = open.iter().map(|&n| row[n].width * 1000 / row[n].height.max(1)).sum::<i64>().max(1);
        let height = (room * 1000 / sum).min(column * 6 / 5);
        let short: Vec<usize> = open.iter().copied().filter(|&n| row[n].pixels && row[n].height < height).collect();
        for &n in if short.is_empty() { &open } else { &short } {
            let own = row[n].width * height / row[n].height.max(1);
            widths[n] = if short.is_empty() { own } else { row[n].width }.max(1);
        }
        let mut decided = short;
        if decided.is_empty() && open.len() > 1 {
            decided = open.iter().copied().filter(|&n| widths[n] < row[n].least(floor)).collect();
            decided.iter().for_each(|&n| widths[n] = row[n].least(floor));
        }
        if decided.is_empty() || decided.len() == open.len() {
            return widths;
        }
        open.retain(|n| !decided.contains(n));
        room = (room - decided.iter().map(|&n| widths[n]).sum::<i64>()).max(1);
    }
}

/// The height of the highest row of more than one picture; where there is none, half the column.
pub fn highest(shapes: &[Shape], rows: &[usize], column: i64, gutter: i64) -> i64 {
    let mut from = 0;
    let heights = rows.iter().filter_map(|&count| {
        let row = &shapes[from..from + count];
        from += count;
        let tallest =
            widths(row, column, gutter, 0).iter().zip(row).map(|(width, shape)| width * shape.height / shape.width).max();
        tallest.filter(|_| count > 1)
    });
    heights.max().unwrap_or(column * 3 / 4)
}

/// The width of a picture that stands alone under rows so high.
pub fn left_over(shape: Shape, column: i64, highest: i64) -> i64 {
    let wanted = (highest * 5 / 4).max(LEGIBLE) * shape.width / shape.height.max(1);
    wanted.min(shape.most(column)).max(1)
}

/// White between pictures side by side, in dots.
pub fn gutter(context: &Context) -> Dots {
    context.dots(context.style.space.gutter).max(Dots(8))
}

#[cfg(test)]
mod tests {
    use super::*;

    const PHOTO: Shape = Shape { width: 4000, height: 3000, pixels: true };
    const UPRIGHT: Shape = Shape { width: 3000, height: 4000, pixels: true };
    const ICON: Shape = Shape { width: 64, height: 64, pixels: true };

    #[test]
    fn three_stand_side_by_side_on_80_mm_and_two_on_58() {
        assert_eq!(rows(&[PHOTO; 3], 568, 16, 0), [3]);
        assert_eq!(rows(&[PHOTO; 3], 376, 16, 0), [2, 1]);
        assert_eq!(rows(&[PHOTO; 3], 568, 16, 230), [2, 1]);
        assert_eq!(rows(&[PHOTO; 4], 568, 16, 0), [2, 2]);
        assert_eq!(rows(&[UPRIGHT; 4], 568, 16, 0), [4]);
    }

    #[test]
    fn one_row_is_equally_high_and_as_wide_as_the_column() {
        let widths = widths(&[PHOTO, UPRIGHT], 568, 16, 0);
        assert!((548..=552).contains(&widths.iter().sum::<i64>()), "{widths:?}");
        assert!((widths[0] * 3 / 4 - widths[1] * 4 / 3).abs() <= 2, "{widths:?}");
    }

    #[test]
    fn a_wide_one_leaves_its_neighbour_the_room_to_be_legible() {
        let (near, far) = (Shape { width: 1440, height: 1293, pixels: true }, Shape { width: 1373, height: 448, pixels: true });
        assert_eq!(widths(&[near, far], 568, 16, 0), [160, 389]);
        assert_eq!(rows(&[near, far], 568, 16, 0), [2]);
        assert_eq!(rows(&[PHOTO; 3], 200, 16, 0), [1, 1, 1]);
        // One that stands alone does not make all the others stand alone.
        let banner = Shape { width: 4000, height: 400, pixels: true };
        assert_eq!(rows(&[PHOTO, PHOTO, banner, PHOTO, PHOTO], 376, 16, 160), [2, 2, 1]);
        assert_eq!(widths(&[PHOTO, UPRIGHT], 568, 16, 230), [321, 230]);
    }

    #[test]
    fn a_small_picture_keeps_its_pixels_and_is_legible_so() {
        assert_eq!(widths(&[ICON, PHOTO], 568, 16, 0), [64, 488]);
        assert_eq!(rows(&[ICON, ICON, PHOTO], 568, 16, 0), [3]);
    }

    #[test]
    fn a_width_on_a_page_is_a_wish() {
        assert_eq!(PHOTO.on_page(568, 500), 284);
        assert_eq!(PHOTO.on_page(568, 100), 160);
        assert_eq!(PHOTO.on_page(568, 333), 280);
        assert_eq!(UPRIGHT.on_page(568, 333), 210);
        assert_eq!(PHOTO.on_page(240, 333), 240);
        assert_eq!(UPRIGHT.on_page(568, 100), 120);
        assert_eq!(ICON.on_page(568, 500), 64);
    }
}
