//! `ESC *`, m = 33: stripes of 24 rows, three bytes a column, top dot in the highest bit of the first, at the head's own
//! pitch both ways. `ESC 3` has set the line to 24 rows, so `LF` joins the next stripe without a seam.
//!
//! A plain stripe has all its columns. In others white at the right is not sent, and white at the left and between words is passed over by `ESC $`, where the profile's thrift
//! allows it and its unit is known to be a dot; elsewhere it is sent as white columns.

use std::ops::Range;

use super::{Stream, is_pair, is_plain, passes_white, sent, spells_real_time};
use crate::bitmap::Bitmap;
use crate::printer::profile::Profile;

/// Rows of a stripe.
pub const ROWS: u32 = 24;

/// White columns that are worth passing over. `ESC $` and a new `ESC *` are nine bytes, as many as three columns; a printer
/// has two commands more to work off, so the gaps within a word stay. Chosen here, no source.
pub const GAP: usize = 8;

/// Writes the stripe whose first row is `top`.
pub fn write(stream: &mut Stream, bitmap: &Bitmap, profile: &Profile, top: u32) {
    let columns = columns(bitmap, profile.lsb_first, top);
    let most = (profile.band_bytes as usize / 3).max(2);
    let mut cursor = 0;
    let parts =
        if is_plain(profile) { std::iter::once(0..columns.len()).collect() } else { parts(&columns, passes_white(profile)) };
    for part in parts {
        if part.start != cursor {
            let [low, high] = (part.start as u16).to_le_bytes();
            stream.bytes.extend([0x1B, 0x24, low, high]);
        }
        cursor = part.end;
        joined(&mut stream.bytes, &columns[part], most);
    }
    stream.bytes.push(0x0A);
    stream.end();
}

/// The parts of a stripe that are sent. A blank one sends a column, so that its line is not empty.
fn parts(columns: &[[u8; 3]], passes_white: bool) -> Vec<Range<usize>> {
    let mut parts: Vec<Range<usize>> = Vec::new();
    for (at, _) in columns.iter().enumerate().filter(|(_, column)| **column != [0, 0, 0]) {
        match parts.last_mut() {
            Some(part) if !passes_white || at - part.end < GAP => part.end = at + 1,
            // One white column is shorter than a command; and a place that would spell a real-time pair is come to from the left.
            None if !passes_white || at == 1 => parts.push(0..at + 1),
            _ => parts.push(at - usize::from(spells_real_time(&(at as u16).to_le_bytes()))..at + 1),
        }
    }
    if parts.is_empty() {
        parts.push(0..1);
    }
    parts
}

/// Columns without a gap, `most` at a time, in as few commands as the pairs between and inside them allow.
fn joined(bytes: &mut Vec<u8>, columns: &[[u8; 3]], most: usize) {
    let mut start = 0;
    while start < columns.len() {
        let end = start + 1 + columns[start..].windows(2).take(most - 1).take_while(|pair| joins(pair[0], pair[1])).count();
        let [first, middle, last] = columns[end - 1];
        if is_pair(first, middle) || is_pair(middle, last) {
            // The last column of this run is printed twice over; `joins` let nothing follow it.
            line_part(bytes, &columns[start..end - 1], Some([first, 0, last]));
            bytes.extend([0x1B, 0x5C, 0xFF, 0xFF]);
            line_part(bytes, &[], Some([0, middle, 0]));
        } else {
            line_part(bytes, &columns[start..end], None);
        }
        start = end;
    }
}

/// Whether `right` may follow `left` in one command.
fn joins(left: [u8; 3], right: [u8; 3]) -> bool {
    !is_pair(left[0], left[1]) && !is_pair(left[1], left[2]) && !is_pair(left[2], right[0])
}

/// One `ESC *` of these columns and one more; two where the number of columns would spell a real-time pair.
fn line_part(bytes: &mut Vec<u8>, columns: &[[u8; 3]], more: Option<[u8; 3]>) {
    let count = columns.len() + usize::from(more.is_some());
    let head = |count: usize| {
        let [low, high] = (count as u16).to_le_bytes();
        [0x1B, 0x2A, 0x21, low, high]
    };
    let first = if spells_real_time(&head(count)) { 1 } else { count };
    bytes.extend(head(first));
    for (index, column) in columns.iter().copied().chain(more).enumerate() {
        if index == first {
            bytes.extend(head(count - first));
        }
        bytes.extend(column);
    }
}

/// The 24 rows from `top` as columns, bytes as they are sent.
fn columns(bitmap: &Bitmap, lsb_first: bool, top: u32) -> Vec<[u8; 3]> {
    let mut columns = vec![[0u8; 3]; bitmap.stride() * 8];
    for part in 0..3 {
        let rows: [&[u8]; 8] = std::array::from_fn(|down| bitmap.row(top + part * 8 + down as u32));
        for across in 0..bitmap.stride() {
            let square = u64::from_be_bytes(rows.map(|row| row[across]));
            if square == 0 {
                continue;
            }
            for (column, byte) in columns[across * 8..].iter_mut().zip(turned(square).to_be_bytes()) {
                column[part as usize] = sent(byte, lsb_first);
            }
        }
    }
    columns.truncate(bitmap.width() as usize);
    columns
}

/// Eight rows of eight dots, mirrored at the diagonal: rows become columns.
fn turned(mut square: u64) -> u64 {
    for (shift, mask) in [(7, 0x00AA_00AA_00AA_00AA), (14, 0x0000_CCCC_0000_CCCC), (28, 0x0000_0000_F0F0_F0F0)] {
        let moved = (square ^ (square >> shift)) & mask;
        square ^= moved ^ (moved << shift);
    }
    square
}

/// How many columns of the stripe whose first row is `top` hold a real-time pair inside themselves.
///
/// Looks at 64 columns at once.
pub fn hazards(bitmap: &Bitmap, lsb_first: bool, top: u32) -> u32 {
    let rows: [&[u8]; ROWS as usize] = std::array::from_fn(|down| bitmap.row(top + down as u32));
    let mut count = 0;
    for at in (0..bitmap.stride()).step_by(8) {
        let dots = |part: usize| -> [u64; 8] {
            std::array::from_fn(|down| word(rows[part * 8 + if lsb_first { 7 - down } else { down }], at))
        };
        let (middle, last) = (dots(1), dots(2));
        count += (leads(&dots(0)) & follows(&middle) | leads(&middle) & follows(&last)).count_ones();
    }
    count
}

/// The columns whose byte is 10, from its eight dots, highest bit first.
fn leads(dots: &[u64; 8]) -> u64 {
    let [a, b, c, d, e, f, g, h] = dots;
    d & !(a | b | c | e | f | g | h)
}

/// The columns whose byte is 04 or 05 (the last dot is free) or 14 (the fourth is, if the last is white).
fn follows(dots: &[u64; 8]) -> u64 {
    let [a, b, c, d, e, f, g, h] = dots;
    f & !(a | b | c | e | g | (d & h))
}

/// Eight bytes of a row from `at`, blank past its end.
pub fn word(row: &[u8], at: usize) -> u64 {
    let mut bytes = [0; 8];
    match row.get(at..at + 8) {
        Some(part) => bytes.copy_from_slice(part),
        None => bytes[..row.len() - at].copy_from_slice(&row[at..]),
    }
    u64::from_be_bytes(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn turning_a_square_turns_rows_into_columns() {
        for row in 0..8 {
            for column in 0..8 {
                let dot = |down: u32, right: u32| 1u64 << (63 - down * 8 - right);
                assert_eq!(turned(dot(row, column)), dot(column, row));
            }
        }
    }

    #[test]
    fn eight_dots_are_told_apart_as_bytes() {
        for byte in 0..=255u8 {
            let dots = std::array::from_fn(|down| if byte & (0x80 >> down) != 0 { u64::MAX } else { 0 });
            assert_eq!(leads(&dots) == u64::MAX, byte == 0x10, "{byte:02X}");
            assert_eq!(follows(&dots) == u64::MAX, [0x04, 0x05, 0x14].contains(&byte), "{byte:02X}");
        }
    }

    #[test]
    fn hazards_are_the_columns_that_hold_a_pair() {
        let mut bitmap = Bitmap::new(70, 40);
        // Column 66, from row 5 down: 10, then 14; and half a pair in column 3.
        for (byte, value) in [0x10u8, 0x14].iter().enumerate() {
            for bit in 0..8 {
                bitmap.set(66, 5 + byte as i32 * 8 + bit, value & (0x80 >> bit) != 0);
            }
        }
        bitmap.set(3, 8, true);
        let found: Vec<u32> = (0..=16).filter(|&top| hazards(&bitmap, false, top) == 1).collect();
        assert_eq!(found, [5], "as first and second byte; as second and third the stripe would begin above the strip");
        assert!((0..=16).all(|top| hazards(&bitmap, true, top) == 0));
    }
}
