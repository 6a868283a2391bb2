//! Letters of 5 x 7 points, as panels of characters show them: drawn for this project, one beside the other, in `matrix.txt`.

use std::collections::HashMap;
use std::sync::OnceLock;

/// Seven rows from the top, the leftmost of five points in bit 4.
pub type Points = [u8; 7];

const SHEET: &str = include_str!("matrix.txt");

/// The points of a letter; `None` where the sheet has none.
pub fn glyph(letter: char) -> Option<Points> {
    static GLYPHS: OnceLock<HashMap<char, Points>> = OnceLock::new();
    match letter {
        ' ' | '\u{a0}' => Some([0; 7]),
        _ => GLYPHS.get_or_init(read).get(&letter).copied(),
    }
}

fn read() -> HashMap<char, Points> {
    let mut glyphs = HashMap::new();
    for block in SHEET.split("\n\n") {
        let mut lines = block.lines();
        let letters: Vec<char> =
            lines.next().unwrap_or_default().split_whitespace().filter_map(|name| name.chars().next()).collect();
        let mut points = vec![[0u8; 7]; letters.len()];
        for (row, line) in lines.enumerate().take(7) {
            for (glyph, bits) in points.iter_mut().zip(line.split_whitespace()) {
                glyph[row] = bits.bytes().fold(0, |all, point| all << 1 | u8::from(point == b'#'));
            }
        }
        glyphs.extend(letters.into_iter().zip(points));
    }
    glyphs
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_printable_letter_of_ascii_has_points_of_its_own() {
        let all: Vec<(char, Points)> =
            ('!'..='~').map(|letter| (letter, glyph(letter).unwrap_or_else(|| panic!("{letter}")))).collect();
        for (n, (letter, points)) in all.iter().enumerate() {
            assert!(points.iter().any(|row| *row != 0), "{letter} is empty");
            assert!(all[..n].iter().all(|(other, same)| same != points || panic!("{letter} looks as {other}")));
        }
        assert_eq!(glyph('T'), Some([0x1F, 4, 4, 4, 4, 4, 4]));
        assert_eq!(glyph('é'), None);
        assert_eq!(
            SHEET.lines().filter(|line| line.len() == 59 && !line.contains(|c| c != '.' && c != '#' && c != ' ')).count(),
            70
        );
    }
}
