//! The bytes of one strip, cut up at places where nothing of a command is under way.

use crate::lengths::Mm;

/// Pieces are put together up to about this many bytes, where the printer has room: a question after each feed would only cost time.
const ENOUGH: usize = 1024;

/// One strip as it goes over the line.
///
/// Between two chunks no command is under way, so a status question may stand there. The chunks before `tail` put dots on
/// paper; those after it only feed and cut. That is what decides an honest word after a fault: while the last chunk with dots
/// has not been begun, the strip cannot be whole.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StripBytes {
    chunks: Vec<Vec<u8>>,
    last_with_dots: usize,
    /// Paper that the strip takes; zero when the caller does not say. Only told on to progress.
    pub length: Mm,
}

impl StripBytes {
    /// Bytes whose inside is not known: no status question is asked inside them, and once the first is sent nothing short of
    /// the printer's own word says whether the strip is whole.
    pub fn whole(bytes: Vec<u8>) -> StripBytes {
        StripBytes::of_bands(vec![bytes], Vec::new())
    }

    /// `bands` put the dots on paper, one chunk each (settings before the first belong to it; blank rows at the strip's end
    /// belong to `tail`); `tail` feeds and cuts. Empty chunks are left out.
    pub fn of_bands(bands: Vec<Vec<u8>>, tail: Vec<u8>) -> StripBytes {
        let mut chunks: Vec<Vec<u8>> = bands.into_iter().filter(|band| !band.is_empty()).collect();
        let last_with_dots = chunks.len().saturating_sub(1);
        if !tail.is_empty() {
            chunks.push(tail);
        }
        StripBytes { chunks, last_with_dots, length: Mm::from_micrometres(0) }
    }

    /// `bytes` cut up at `ends`, rising offsets after which no command is under way. Small pieces are put together. What begins
    /// at `dots_end` or behind it only feeds and cuts: it is the tail. Zero when no piece is known to hold dots: then any may.
    /// Put together, pieces are no longer than `room`.
    pub fn cut_at(bytes: &[u8], ends: &[usize], dots_end: usize, room: usize) -> StripBytes {
        let mut pieces: Vec<&[u8]> = Vec::new();
        let mut start = 0;
        let mut dotted = 0;
        for &end in ends.iter().chain([&bytes.len()]) {
            if let Some(piece) = bytes.get(start..end).filter(|piece| !piece.is_empty()) {
                pieces.push(piece);
                dotted += usize::from(start < dots_end || dots_end == 0);
                start = end;
            }
        }
        let (with_dots, tail) = pieces.split_at(dotted);
        let mut bands: Vec<Vec<u8>> = Vec::new();
        // The last piece with dots stands alone, so that as much as possible can be known to be missing without it.
        let (last, before) = with_dots.split_last().map_or((None, with_dots), |(last, before)| (Some(*last), before));
        for piece in before {
            match bands.last_mut() {
                Some(band) if band.len() + piece.len() <= ENOUGH.min(room) => band.extend_from_slice(piece),
                Some(_) | None => bands.push(piece.to_vec()),
            }
        }
        bands.extend(last.map(<[u8]>::to_vec));
        StripBytes::of_bands(bands, tail.concat())
    }

    /// The same strip with the paper that it takes.
    pub fn with_length(mut self, length: Mm) -> StripBytes {
        self.length = length;
        self
    }

    pub fn chunks(&self) -> &[Vec<u8>] {
        &self.chunks
    }

    /// The chunk without which the strip cannot be whole.
    pub fn last_with_dots(&self) -> usize {
        self.last_with_dots
    }

    /// Number of bytes in all.
    pub fn size(&self) -> usize {
        self.chunks.iter().map(Vec::len).sum()
    }

    /// The most bytes that one chunk holds: so many may a printer that lost its place still be waiting for.
    pub fn longest(&self) -> usize {
        self.chunks.iter().map(Vec::len).max().unwrap_or(0)
    }

    /// All bytes in one piece.
    pub fn joined(&self) -> Vec<u8> {
        self.chunks.concat()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_tail_is_not_what_makes_a_strip_whole() {
        let strip = StripBytes::of_bands(vec![vec![1; 10], vec![], vec![2; 20]], vec![3; 4]);
        assert_eq!((strip.chunks().len(), strip.last_with_dots(), strip.size(), strip.longest()), (3, 1, 34, 20));
        assert_eq!(StripBytes::whole(vec![7; 5]).last_with_dots(), 0);
        assert_eq!(strip.joined(), [vec![1u8; 10], vec![2; 20], vec![3; 4]].concat());
    }

    #[test]
    fn an_encoded_strip_is_cut_up_only_where_it_may_be() {
        let bytes: Vec<u8> = (0..4000u32).map(|index| index as u8).collect();
        // A head of 6 bytes, bands up to 3900, a feed in between, then feed and cut.
        let ends = [6, 700, 703, 1500, 3000, 3900, 3903, 4000 - 90, 4000 - 4, 4000];
        let strip = StripBytes::cut_at(&bytes, &ends, 4000 - 4, 1 << 16);
        assert_eq!(strip.joined(), bytes);
        let lengths: Vec<usize> = strip.chunks().iter().map(Vec::len).collect();
        assert_eq!(lengths, [703, 797, 1500, 910, 86, 4]);
        assert_eq!(strip.last_with_dots(), 4);
        assert_eq!(StripBytes::cut_at(&bytes, &[], 0, 1024).chunks().len(), 1);
        assert_eq!(StripBytes::cut_at(&[], &[], 0, 1024).size(), 0);
        assert_eq!(StripBytes::cut_at(&bytes, &[5000, 3], 0, 1024).joined(), bytes, "offsets that can't be are passed over");
    }
}
