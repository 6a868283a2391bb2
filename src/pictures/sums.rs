//! Sums over any rectangle of a picture at once (summed-area table, Crow 1984).

/// What was counted above and to the left of each corner between pixels.
pub struct Sums {
    width: usize,
    height: usize,
    sums: Vec<i64>,
}

impl Sums {
    /// Of values row by row, `width` to a row.
    pub fn new(width: usize, values: impl Iterator<Item = i64>) -> Sums {
        let mut sums = vec![0; width + 1];
        let (mut row, mut across) = (0, 0);
        for value in values {
            if across == 0 {
                sums.push(0);
                row = 0;
            }
            row += value;
            let above = sums[sums.len() - width - 1];
            sums.push(above + row);
            across = (across + 1) % width;
        }
        Sums { width, height: sums.len() / (width + 1) - 1, sums }
    }

    /// From `left` and `top` to before `right` and `bottom`, as far as that is on the picture.
    #[inline]
    pub fn sum(&self, left: i32, top: i32, right: i32, bottom: i32) -> i64 {
        let clamp = |at: i32, most: usize| (at.max(0) as usize).min(most);
        let (left, right) = (clamp(left, self.width), clamp(right, self.width));
        let (top, bottom) = (clamp(top, self.height), clamp(bottom, self.height));
        if right <= left || bottom <= top {
            return 0;
        }
        let at = |x: usize, y: usize| self.sums[y * (self.width + 1) + x];
        at(right, bottom) - at(left, bottom) - at(right, top) + at(left, top)
    }

    /// Over a square: a pixel and `reach` more to all sides.
    #[inline]
    pub fn around(&self, x: usize, y: usize, reach: usize) -> i64 {
        let (x, y, reach) = (x as i32, y as i32, reach as i32);
        self.sum(x - reach, y - reach, x + reach + 1, y + reach + 1)
    }

    /// Over all of it.
    pub fn all(&self) -> i64 {
        self.sums.last().copied().unwrap_or(0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn a_rectangle_holds_what_is_added_up_in_it(
            width in 1..9usize, values in prop::collection::vec(-50..50i64, 0..60), [left, top] in [-3..9i32, -3..9i32], [wide, high] in [-2..9i32, -2..9i32]
        ) {
            let values = &values[..values.len() / width * width];
            let sums = Sums::new(width, values.iter().copied());
            let inside = |at: usize| {
                let (x, y) = ((at % width) as i32, (at / width) as i32);
                (left..left + wide).contains(&x) && (top..top + high).contains(&y)
            };
            let wanted: i64 = (0..values.len()).filter(|&at| inside(at)).map(|at| values[at]).sum();
            prop_assert_eq!(sums.sum(left, top, left + wide, top + high), wanted);
            prop_assert_eq!(sums.all(), values.iter().sum::<i64>());
        }
    }
}
