//! Marks that a camera finds: a black square with sixteen cells in it, each pattern a number, told apart however it is turned.

use std::sync::LazyLock;

use crate::bitmap::Bitmap;

/// Cells along a side: a border of one around four by four.
pub const CELLS: i32 = 6;
/// Dots of a cell, and of the whole mark, on the strip with the squares.
pub const CELL: i32 = 5;
pub const SIDE: i32 = CELLS * CELL;
/// The same on the ways strip. A cell is a byte wide and a byte high, so that a printer that takes the lowest bit first prints it all the same.
pub const BYTE_CELL: i32 = 8;
pub const BYTE_SIDE: i32 = CELLS * BYTE_CELL;

/// How many there are on the strip with the squares; the rest are of the ways strip, two for each number and each end.
pub const SQUARES: usize = 22;
pub const COUNT: usize = SQUARES + 38;

/// Least cells in which two differ, in any of the four turns; of one, from itself turned. Those of the ways strip, which a printer may
/// print mirrored, differ as much from all mirrored ones.
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
        let mut views: Vec<u16> = turns(pattern).collect();
        if chosen.len() >= SQUARES {
            views.extend(turns(mirrored(pattern)));
        }
        let apart = |one: u16, other: u16| (one ^ other).count_ones() >= APART;
        let own = views[1..].iter().all(|&view| apart(view, pattern));
        if own && chosen.iter().all(|&other| views.iter().all(|&view| apart(view, other))) {
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

/// The same as a mirror shows it, left and right exchanged.
fn mirrored(pattern: u16) -> u16 {
    (0..16).fold(0, |all, cell| all | (pattern >> (15 - (cell / 4 * 4 + 3 - cell % 4)) & 1) << (15 - cell))
}

/// A pattern in its four turns, each a quarter clockwise of the one before.
fn turns(pattern: u16) -> impl Iterator<Item = u16> {
    std::iter::successors(Some(pattern), |&last| Some(turned(last))).take(4)
}

/// A mark, and by how many quarter turns clockwise it is turned; a mirrored one after it was mirrored.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Recognised {
    pub number: usize,
    pub turn: usize,
    pub mirrored: bool,
}

/// Which mark shows these cells.
pub fn recognised(cells: u16) -> Option<Recognised> {
    let turn = |pattern: u16| turns(pattern).position(|view| view == cells);
    let straight = |(number, &pattern): (usize, &u16)| Some(Recognised { number, turn: turn(pattern)?, mirrored: false });
    let mirror = |(number, &pattern): (usize, &u16)| Some(Recognised { number, turn: turn(mirrored(pattern))?, mirrored: true });
    let all = || PATTERNS.iter().enumerate();
    all().find_map(straight).or_else(|| all().skip(SQUARES).find_map(mirror))
}

/// Draws one of the strip with the squares with its left upper corner there.
pub fn draw(into: &mut Bitmap, number: usize, x: i32, y: i32) {
    draw_turned(into, number, 0, CELL, x, y);
}

/// Draws one turned clockwise by so many quarters, in cells of so many dots.
pub fn draw_turned(into: &mut Bitmap, number: usize, quarters: usize, cell: i32, x: i32, y: i32) {
    into.fill(x, y, CELLS * cell, CELLS * cell, true);
    for (place, white) in cells(number, quarters).into_iter().enumerate() {
        if white {
            let place = place as i32;
            into.fill(x + (place % 4 + 1) * cell, y + (place / 4 + 1) * cell, cell, cell, false);
        }
    }
}

/// Which of the sixteen cells of a mark are white, row by row, where it is turned clockwise by so many quarters.
pub fn cells(number: usize, quarters: usize) -> [bool; 16] {
    let pattern = PATTERNS.get(number).and_then(|&pattern| turns(pattern).nth(quarters)).unwrap_or(0);
    std::array::from_fn(|cell| pattern >> (15 - cell) & 1 == 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn there_are_enough_and_each_is_known_in_every_turn_and_no_other_is_taken_for_it() {
        assert_eq!(PATTERNS.len(), COUNT);
        for (number, &pattern) in PATTERNS.iter().enumerate() {
            for (turn, view) in turns(pattern).enumerate() {
                assert_eq!(recognised(view), Some(Recognised { number, turn, mirrored: false }));
                // One cell that is misread is no other mark.
                assert!((0..16).all(|cell| recognised(view ^ 1 << cell).is_none()));
            }
            assert_eq!(turns(pattern).last().map(turned), Some(pattern));
            if number >= SQUARES {
                for (turn, view) in turns(mirrored(pattern)).enumerate() {
                    assert_eq!(recognised(view), Some(Recognised { number, turn, mirrored: true }));
                    assert!((0..16).all(|cell| recognised(view ^ 1 << cell).is_none()));
                }
            }
        }
    }

    #[test]
    fn a_mark_is_drawn_as_it_is_known_and_its_mirror_is_the_mirrored_picture() {
        let read = |drawn: &Bitmap| {
            let white = |cell: i32| !drawn.get((cell % 4 + 1) * BYTE_CELL, (cell / 4 + 1) * BYTE_CELL);
            recognised((0..16).fold(0, |all, cell| all << 1 | u16::from(white(cell))))
        };
        for (number, turn) in (SQUARES..COUNT).flat_map(|number| (0..4).map(move |turn| (number, turn))) {
            let mut drawn = Bitmap::new(BYTE_SIDE as u32, BYTE_SIDE as u32);
            draw_turned(&mut drawn, number, turn, BYTE_CELL, 0, 0);
            assert_eq!(read(&drawn), Some(Recognised { number, turn, mirrored: false }));
            // Mirrored, a quarter clockwise is a quarter back.
            assert_eq!(read(&drawn.mirrored()), Some(Recognised { number, turn: (4 - turn) % 4, mirrored: true }));
        }
    }
}
