//! Large letters of 5 by 7 points for a terminal.

use crate::pictures::signals;

/// How high a point is: half a line, or a whole one that is two columns wide.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Size {
    /// Four lines high, six columns a letter.
    Large,
    /// Seven lines high, twelve columns a letter.
    Huge,
}

/// A word in large letters, each line without the blanks at its end. None where it does not fit into `columns`, or where one of its letters has no
/// points: what is shown of a key is the whole key.
pub fn large(word: &str, columns: usize, size: Size) -> Option<Vec<String>> {
    let glyphs = word.chars().map(signals::points).collect::<Option<Vec<_>>>()?;
    let is_dark = |glyph: &[u8; 7], row: usize, point: usize| glyph.get(row).is_some_and(|bits| bits >> (4 - point) & 1 == 1);
    let (lines, wide) = match size {
        Size::Large => (4, 6),
        Size::Huge => (7, 12),
    };
    if glyphs.is_empty() || glyphs.len() * wide > columns + wide / 6 {
        return None;
    }
    let cell = |glyph: &[u8; 7], line: usize, point: usize| match size {
        Size::Large => match (is_dark(glyph, line * 2, point), is_dark(glyph, line * 2 + 1, point)) {
            (true, true) => "█",
            (true, false) => "▀",
            (false, true) => "▄",
            (false, false) => " ",
        },
        Size::Huge if is_dark(glyph, line, point) => "██",
        Size::Huge => "  ",
    };
    let line = |line: usize| -> String {
        let letters = glyphs.iter().map(|glyph| (0..5).map(|point| cell(glyph, line, point)).collect::<String>());
        letters.collect::<Vec<_>>().join(&" ".repeat(wide / 6)).trim_end().to_owned()
    };
    Some((0..lines).map(line).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_word_stands_within_its_columns_whole_or_not_at_all() {
        for (size, high, columns) in [(Size::Large, 4, 59), (Size::Huge, 7, 118)] {
            let lines = large("IN THE BOX", columns, size).expect("it fits");
            assert_eq!(lines.len(), high);
            assert_eq!(lines.iter().map(|line| line.chars().count()).max(), Some(columns), "{lines:?}");
            assert!(large("IN THE BOX", columns - 1, size).is_none() && large("", 80, size).is_none());
            assert!(large("HRN-É1", 200, size).is_none(), "a letter without points");
        }
        assert_eq!(large("T", 5, Size::Large).expect("it fits"), ["▀▀█▀▀", "  █", "  █", "  ▀"]);
        assert_eq!(large("-", 10, Size::Huge).expect("it fits")[3], "██████████");
    }
}
