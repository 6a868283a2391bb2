//! A running box average: rows come in one at a time and in any order, and a picture as small as it needs to be is kept.
//!
//! Light is summed as light and never as numbers of sRGB. Knows no file format; what is kept does not grow with what comes in.

use crate::geometry::Size;
use crate::pictures::tone::{Light, WHITE};

/// Most pixels of one box, so that the sum of their light stays below 2^32.
const MOST: u32 = 1 << 16;

/// One row of pixels in light.
#[derive(Default)]
pub struct Row {
    /// On white paper.
    pub light: Vec<u16>,
    /// How much of the paper is seen through each pixel; empty for opaque pictures.
    pub clear: Vec<u16>,
    /// sRGB on white; filled only where colour is wanted.
    pub colour: Vec<[u8; 3]>,
}

/// What a picture is reduced to: each pixel is the mean of a box of `across` x `down` of its pixels, fewer at the right and bottom edges.
pub struct Boxes {
    width: u32,
    height: u32,
    across: u32,
    down: u32,
    wide: usize,
    light: Vec<u32>,
    clear: Vec<u32>,
    colour: Vec<[u32; 3]>,
}

/// The reduced picture.
#[derive(Debug)]
pub struct Mean {
    pub light: Light,
    pub colour: Option<Vec<[u8; 3]>>,
    /// Pixels of what came in for each pixel.
    pub across: u32,
    pub down: u32,
    /// It is white on nothing: seen on a dark screen, and not on paper. The light is then turned over.
    pub white_on_clear: bool,
}

impl Boxes {
    /// For a picture of `width` x `height` that shall not become smaller than `least` either way.
    pub fn new(width: u32, height: u32, least: Size<u32>, colour: bool) -> Boxes {
        let across = (width / least.width.max(1)).clamp(1, MOST);
        let down = (height / least.height.max(1)).clamp(1, MOST / across);
        let wide = width.div_ceil(across) as usize;
        let all = wide * height.div_ceil(down) as usize;
        let colour = if colour { vec![[0; 3]; all] } else { Vec::new() };
        Boxes { width, height, across, down, wide, light: vec![0; all], clear: Vec::new(), colour }
    }

    /// Bytes that it takes.
    pub fn bytes(width: u32, height: u32, least: Size<u32>, colour: bool) -> u64 {
        let across = u64::from((width / least.width.max(1)).clamp(1, MOST));
        let down = u64::from(height / least.height.max(1)).clamp(1, u64::from(MOST) / across);
        u64::from(width).div_ceil(across) * u64::from(height).div_ceil(down) * if colour { 24 } else { 12 }
    }

    /// Whether [`Row::colour`] is wanted.
    pub fn wants_colour(&self) -> bool {
        !self.colour.is_empty()
    }

    /// Takes the pixels of row `y`: the first stands at `first`, the others `step` apart.
    pub fn add(&mut self, y: u32, first: u32, step: u32, row: &Row) {
        if y >= self.height {
            return;
        }
        let from = (y / self.down) as usize * self.wide;
        let (width, across) = (self.width, self.across);
        if !row.clear.is_empty() && self.clear.is_empty() {
            self.clear = vec![0; self.light.len()];
        }
        if step == 1 && first == 0 {
            let add = |sums: &mut [u32], values: &[u16]| {
                let values = &values[..values.len().min(width as usize)];
                for (sum, values) in sums.iter_mut().zip(values.chunks(across as usize)) {
                    *sum += values.iter().map(|&value| u32::from(value)).sum::<u32>();
                }
            };
            add(&mut self.light[from..][..self.wide], &row.light);
            if !row.clear.is_empty() {
                add(&mut self.clear[from..][..self.wide], &row.clear);
            }
        } else {
            let places = (first..width).step_by(step as usize).map(|x| from + (x / across) as usize);
            places.clone().zip(&row.light).for_each(|(at, &value)| self.light[at] += u32::from(value));
            places.zip(&row.clear).for_each(|(at, &value)| self.clear[at] += u32::from(value));
        }
        if !self.colour.is_empty() {
            let places = (first..width).step_by(step as usize).map(|x| from + (x / across) as usize);
            for (at, colour) in places.zip(&row.colour) {
                self.colour[at].iter_mut().zip(colour).for_each(|(sum, &value)| *sum += u32::from(value));
            }
        }
    }

    /// The means.
    pub fn finish(self) -> Mean {
        let wide = self.wide as u32;
        let high = self.height.div_ceil(self.down);
        let count = |index: usize| {
            let (x, y) = (index as u32 % wide, index as u32 / wide);
            (self.width - x * self.across).min(self.across) * (self.height - y * self.down).min(self.down)
        };
        let single = self.across == 1 && self.down == 1;
        let mean = |sums: Vec<u32>| -> Vec<u16> {
            let divided = |(index, sum): (usize, u32)| {
                if single {
                    return sum as u16;
                }
                let count = u64::from(count(index));
                ((u64::from(sum) + count / 2) / count).min(u64::from(WHITE)) as u16
            };
            sums.into_iter().enumerate().map(divided).collect()
        };
        let mut light = mean(self.light);
        let clear = mean(self.clear);
        let white_on_clear = is_white_on_clear(&light, &clear);
        if white_on_clear {
            light.iter_mut().zip(&clear).for_each(|(light, &clear)| *light = WHITE - light.saturating_sub(clear));
        }
        let colour = (!self.colour.is_empty()).then(|| {
            let divided = |(index, sum): (usize, [u32; 3])| sum.map(|sum| ((sum + count(index) / 2) / count(index)) as u8);
            self.colour.into_iter().enumerate().map(divided).collect()
        });
        Mean { light: Light { width: wide, height: high, light }, colour, across: self.across, down: self.down, white_on_clear }
    }
}

/// Whether a picture has clear parts, and so little ink on white paper that nothing of what it shows is seen: everywhere more than seven
/// tenths of the light are left, though a hundredth of it at least is painted.
fn is_white_on_clear(light: &[u16], clear: &[u16]) -> bool {
    if clear.is_empty() {
        return false;
    }
    let painted = clear.iter().filter(|&&clear| clear < WHITE / 2).count();
    let through = clear.iter().filter(|&&clear| clear > WHITE / 2).count();
    let dark = light.iter().filter(|&&light| light < WHITE / 10 * 7).count();
    painted * 100 >= light.len() && through * 20 >= light.len() && dark * 1000 <= painted
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_box_is_the_mean_of_its_pixels_in_whatever_order_they_come() {
        let value = |x: u32, y: u32| ((x * 7919 + y * 104_729) % 65_536) as u16;
        let (width, height) = (23, 17);
        let mut whole = Boxes::new(width, height, Size::new(5, 4), false);
        let mut passes = Boxes::new(width, height, Size::new(5, 4), false);
        for y in 0..height {
            let row = Row { light: (0..width).map(|x| value(x, y)).collect(), ..Row::default() };
            whole.add(y, 0, 1, &row);
        }
        for (first, step) in [(3, 4), (0, 2), (1, 4)] {
            for y in (0..height).rev() {
                let light = (first..width).step_by(step as usize).map(|x| value(x, y)).collect();
                passes.add(y, first, step, &Row { light, ..Row::default() });
            }
        }
        let (whole, passes) = (whole.finish(), passes.finish());
        assert_eq!(whole.light, passes.light);
        assert_eq!((whole.across, whole.down, whole.light.width, whole.light.height), (4, 4, 6, 5));
        let corner: u32 = (20..23).map(|x| u32::from(value(x, 16))).sum();
        assert_eq!(whole.light.light[29], ((corner + 1) / 3) as u16, "the last box holds three pixels");
    }

    #[test]
    fn the_largest_boxes_do_not_overflow() {
        let mut boxes = Boxes::new(400_000, 3, Size::new(1, 1), false);
        let row = Row { light: vec![WHITE; 400_000], ..Row::default() };
        (0..3).for_each(|y| boxes.add(y, 0, 1, &row));
        assert!(boxes.finish().light.light.iter().all(|&light| light == WHITE));
    }
}
