//! What is drawn for a character that no face has: a box with the character's number in it, so that nothing is missing in
//! silence.

use super::GlyphDots;
use crate::bitmap::Bitmap;
use crate::bitmap::Ink;

/// The hexadecimal digits, three dots wide and five high, one row an octal digit.
const DIGITS: [[u8; 5]; 16] = [
    [7, 5, 5, 5, 7],
    [2, 6, 2, 2, 7],
    [7, 1, 7, 4, 7],
    [7, 1, 3, 1, 7],
    [5, 5, 7, 1, 1],
    [7, 4, 7, 1, 7],
    [7, 4, 7, 5, 7],
    [7, 1, 2, 2, 2],
    [7, 5, 7, 5, 7],
    [7, 5, 7, 1, 7],
    [7, 5, 7, 5, 5],
    [6, 5, 6, 5, 6],
    [7, 4, 4, 4, 7],
    [6, 5, 5, 5, 6],
    [7, 4, 7, 4, 7],
    [7, 4, 7, 4, 4],
];

/// The box for a character at an em of `em` / 64 dots, standing on the baseline: two rows of digits where they are legible
/// (a digit at least three dots by five), else empty. One dot of white on each side belongs to it.
pub(super) fn draw(character: u32, em: i32) -> GlyphDots {
    let digits: Vec<usize> = if character > 0xFFFF {
        (0..6).rev().map(|place| (character >> (4 * place)) as usize & 15).collect()
    } else {
        (0..4).rev().map(|place| (character >> (4 * place)) as usize & 15).collect()
    };
    let columns = digits.len() as i32 / 2;
    // Box height about that of a capital; 5 + 5 dots of digits, one between, one of white and one of line above and below.
    let height = (em * 3 / 4 / 64).max(5);
    let scale = (height - 4) / 11;
    let stroke = (height / 16).max(1);
    let (width, height) = if scale >= 1 {
        (columns * 4 * scale - scale + 2 * stroke + 2, 11 * scale + 2 * stroke + 2)
    } else {
        (height * 2 / 3, height)
    };
    let mut bitmap = Bitmap::new(width as u32, height as u32);
    bitmap.fill(0, 0, width, height, true);
    bitmap.fill(stroke, stroke, width - 2 * stroke, height - 2 * stroke, false);
    if scale >= 1 {
        for (place, &digit) in digits.iter().enumerate() {
            let (column, row) = (place as i32 % columns, place as i32 / columns);
            let corner = (stroke + 1 + column * 4 * scale, stroke + 1 + row * 6 * scale);
            let mark = digit_dots(digit, scale);
            bitmap.put(&mark, corner.0, corner.1, Ink::Black);
        }
    }
    GlyphDots { bitmap, left: 1, top: -height }
}

fn digit_dots(digit: usize, scale: i32) -> Bitmap {
    let mut mark = Bitmap::new(3 * scale as u32, 5 * scale as u32);
    for (y, row) in DIGITS[digit].iter().enumerate() {
        for x in 0..3 {
            if row & (4 >> x) != 0 {
                mark.fill(x * scale, y as i32 * scale, scale, scale, true);
            }
        }
    }
    mark
}
