//! What a stripe of 24 rows would be in bytes, at every row it could begin at, without making it.

use super::columns::{GAP, ROWS, word};
use crate::bitmap::Bitmap;

/// The columns that hold a dot somewhere in eight rows, for every eight rows of a region.
pub struct StripePrice {
    /// Words of 64 columns in a row, the first column in the highest bit, and a blank one at the end.
    words: usize,
    /// For each row, what it and the seven below it hold.
    eights: Vec<u64>,
    passes_white: bool,
}

impl StripePrice {
    /// Of rows `top..bottom`. `passes_white`: whether gaps are passed over or sent.
    pub fn new(bitmap: &Bitmap, top: u32, bottom: u32, passes_white: bool) -> StripePrice {
        let words = bitmap.stride().div_ceil(8) + 1;
        let mut eights = vec![0; words * (bottom - top) as usize];
        for (row, y) in eights.chunks_exact_mut(words).zip(top..bottom) {
            for (index, columns) in row[..words - 1].iter_mut().enumerate() {
                *columns = word(bitmap.row(y), index * 8);
            }
        }
        for below in [words, words * 2, words * 4] {
            for at in below..eights.len() {
                eights[at - below] |= eights[at];
            }
        }
        StripePrice { words, eights, passes_white }
    }

    /// Bytes of the stripe that begins `row` rows below the region's top and ends in it; less those that part pairs.
    pub fn bytes(&self, row: usize) -> u32 {
        let eight = |down: usize| &self.eights[(row + down) * self.words..][..self.words];
        let columns = eight(0).iter().zip(eight(8)).zip(eight(ROWS as usize - 8)).map(|((a, b), c)| a | b | c);
        if !self.passes_white {
            let used = columns.enumerate().rfind(|&(_, word)| word != 0);
            return 6 + 3 * used.map_or(1, |(index, word)| index as u32 * 64 + 64 - word.trailing_zeros());
        }
        // Each dot is drawn out to the right, so that gaps too short to be passed over close; then the pieces are counted.
        let (mut before, mut parts, mut drawn, mut touches) = ([0u64; 2], 0, 0, 0);
        for (index, word) in columns.enumerate() {
            let mut wide = u128::from(before[0]) << 64 | u128::from(word);
            let mut reach = 1;
            while reach < GAP {
                let step = reach.min(GAP - reach);
                wide |= wide >> step;
                reach += step;
            }
            let wide = wide as u64;
            parts += (wide & !(wide >> 1 | before[1] << 63)).count_ones();
            drawn += wide.count_ones();
            touches |= if index == 0 { word >> 62 } else { 0 };
            before = [word, wide];
        }
        let columns = drawn - parts * (GAP as u32 - 1);
        match (parts, touches) {
            (0, _) => 9,
            (_, 0) => parts * 9 + columns * 3 + 1,
            // From the left edge there is nothing to pass over.
            (_, 1) => parts * 9 + columns * 3,
            _ => parts * 9 + columns * 3 - 3,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::printer::encode::{Stream, columns};
    use crate::printer::profile::{Profile, Raster, Thrift};

    /// What a stripe is priced at and what it is, for a stripe whose dots stand in these columns.
    #[track_caller]
    fn compare(width: u32, dots: &[i32]) {
        let mut bitmap = Bitmap::new(width, 40);
        dots.iter().enumerate().for_each(|(index, &x)| bitmap.set(x, 9 + (index as i32 * 7) % 24, true));
        let mut profile = Profile::named("80mm").expect("built in");
        (profile.dots, profile.raster) = (width, Raster::Columns);
        for thrift in [Thrift::Stripes, Thrift::Bands] {
            profile.thrift = thrift;
            let mut stream = Stream { bytes: Vec::new(), ends: Vec::new(), dots_end: 0 };
            columns::write(&mut stream, &bitmap, &profile, 9);
            let price = StripePrice::new(&bitmap, 2, 40, thrift == Thrift::Stripes).bytes(7);
            assert_eq!(price as usize, stream.bytes.len(), "{width} wide, {dots:?}, {thrift:?}");
        }
    }

    #[test]
    fn the_price_is_what_the_stripe_is() {
        compare(576, &[]);
        for edge in [0, 1, 2, 55, 56, 57, 62, 63, 64, 65, 127, 128, 568, 575] {
            compare(576, &[edge]);
            for gap in 1..=12 {
                compare(600, &[edge, edge + gap]);
            }
        }
        compare(420, &[5, 13, 22, 60, 68, 77, 200, 330, 331, 419]);
        compare(8, &[0, 7]);
    }
}
