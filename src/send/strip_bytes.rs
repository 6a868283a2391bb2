//! The bytes of one strip, cut up at places where nothing of a command is under way.

use crate::units::Mm;

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
}
