//! Large letters of 5 by 7 points for a terminal, two points a line.

use crate::pictures::signals;

/// How many letters stand beside each other in so many columns.
pub fn fits(columns: usize) -> usize {
    (columns + 1) / 6
}

/// A word in large letters, four lines high. Letters that the sheet lacks are left out; none where it does not fit into `columns`.
pub fn large(word: &str, columns: usize) -> Option<Vec<String>> {
    let glyphs: Vec<_> = word.chars().filter_map(signals::points).collect();
    if glyphs.is_empty() || glyphs.len() > fits(columns) {
        return None;
    }
    let is_dark = |glyph: &[u8; 7], row: usize, point: usize| glyph.get(row).is_some_and(|bits| bits >> (4 - point) & 1 == 1);
    let line = |pair: usize| -> String {
        let letter = |glyph: &[u8; 7]| -> String {
            let cell = |point: usize| match (is_dark(glyph, pair * 2, point), is_dark(glyph, pair * 2 + 1, point)) {
                (true, true) => '█',
                (true, false) => '▀',
                (false, true) => '▄',
                (false, false) => ' ',
            };
            (0..5).map(cell).collect()
        };
        glyphs.iter().map(letter).collect::<Vec<_>>().join(" ").trim_end().to_owned()
    };
    Some((0..4).map(line).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_word_stands_four_lines_high_and_within_its_columns() {
        let lines = large("IN THE BOX", 80).expect("it fits");
        assert_eq!(lines.len(), 4);
        assert!(lines.iter().all(|line| line.chars().count() <= 80));
        assert_eq!(large("T", 5).expect("it fits"), ["▀▀█▀▀", "  █", "  █", "  ▀"]);
        assert!(large("FOURTEEN LONG!", 80).is_none() && large("", 80).is_none());
    }
}
