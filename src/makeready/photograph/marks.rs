//! Marks that a camera finds: a black square with sixteen cells in it, each pattern a number, told apart however it is turned.

use std::sync::LazyLock;

use crate::bitmap::Bitmap;

/// Dots of a cell, and of the whole mark: a border of one cell around four by four.
pub const CELL: i32 = 5;
pub const SIDE: i32 = 6 * CELL;

/// How many there are.
pub const COUNT: usize = 48;

/// Least cells in which two differ, in any of the four turns; of one, from itself turned.
const APART: u32 = 4;

/// The patterns, 1 is white, first cell highest. Found once by trying numbers in a fixed mixed order.
static PATTERNS: LazyLock<Vec<u16>> = LazyLock::new(|| {
    let mut chosen: Vec<u16> = Vec::new();
    for step in 1..=u16::MAX {
        let pattern = step.wrapping_mul(40_503);
        // Neither too dark nor too light: both tones must be seen.
        if !(5..=11).contains(&pattern.count_ones()) {
            continue;
        }
        let turned: Vec<u16> = std::iter::successors(Some(pattern), |&last| Some(turned(last))).skip(1).take(3).collect();
        let own = turned.iter().all(|other| (other ^ pattern).count_ones() >= APART);
        let far = |other: &u16| turned.iter().chain([&pattern]).all(|turn| (turn ^ other).count_ones() >= APART);
        if own && chosen.iter().all(far) {
            chosen.push(pattern);
        }
        if chosen.len() == COUNT {
            break;
        }
    }
    chosen
});

/// A quarter turn clockwise.
fn turned(pattern: u16) -> u16 {
    (0..16).fold(0, |all, cell| {
        let (x, y) = (cell % 4, cell / 4);
        all | (pattern >> (15 - ((3 - x) * 4 + y)) & 1) << (15 - cell)
    })
}

/// A mark, and by how many quarter turns clockwise it is turned.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Recognised {
    pub number: usize,
    pub turn: usize,
}

/// Which mark shows these cells.
pub fn recognised(cells: u16) -> Option<Recognised> {
    PATTERNS.iter().enumerate().find_map(|(number, &pattern)| {
        let mut turn = pattern;
        for quarter in 0..4 {
            if turn == cells {
                return Some(Recognised { number, turn: quarter });
            }
            turn = turned(turn);
        }
        None
    })
}

/// Draws one with its left upper corner there.
pub fn draw(into: &mut Bitmap, number: usize, x: i32, y: i32) {
    into.fill(x, y, SIDE, SIDE, true);
    let pattern = PATTERNS.get(number).copied().unwrap_or(0);
    for cell in 0..16 {
        if pattern >> (15 - cell) & 1 == 1 {
            into.fill(x + (cell % 4 + 1) * CELL, y + (cell / 4 + 1) * CELL, CELL, CELL, false);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn there_are_enough_and_each_is_known_in_every_turn() {
        assert_eq!(PATTERNS.len(), COUNT);
        for (number, &pattern) in PATTERNS.iter().enumerate() {
            let mut turn = pattern;
            for quarter in 0..4 {
                assert_eq!(recognised(turn), Some(Recognised { number, turn: quarter }));
                // One cell that is misread is no other mark.
                assert!((0..16).all(|cell| recognised(turn ^ 1 << cell).is_none()));
                turn = turned(turn);
            }
            assert_eq!(turn, pattern);
        }
    }
}
