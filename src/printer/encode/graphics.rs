//! `GS ( L` and, beyond 65,535 bytes, `GS 8 L`: function 112 stores rows of dots, function 50 prints them.

use super::piece::Band;
use super::{Stream, rows};
use crate::bitmap::Bitmap;
use crate::printer::profile::Profile;

/// Bytes before the dots and after them: store, then print.
pub const FRAME: u32 = 15 + PRINT.len() as u32;

/// Prints what is stored: `GS ( L`, function 50.
pub const PRINT: [u8; 7] = [0x1D, 0x28, 0x4C, 0x02, 0x00, 0x30, 0x32];

/// Writes the first `stride` bytes of rows that each hold no real-time pair.
pub fn write(stream: &mut Stream, bitmap: &Bitmap, profile: &Profile, band: Band) {
    let first = stream.ends.len();
    let start = stream.bytes.len();
    let head = |rows: u32, stride: u32| store(stride * rows, 0x70, width(bitmap, stride), rows);
    rows::in_bands(bitmap, profile, band, head, stream);
    print_after_each(stream, first, start);
}

/// Dots that so many bytes of a row hold.
pub fn width(bitmap: &Bitmap, stride: u32) -> u32 {
    (stride * 8).min(bitmap.width())
}

/// `GS ( L` or `GS 8 L` up to the first byte of dots. `length` counts the bytes of dots; `function` is 112 (70, rows) or
/// 113 (71, columns).
pub fn store(length: u32, function: u8, width: u32, rows: u32) -> Vec<u8> {
    let length = length + 10;
    let mut bytes = match u16::try_from(length) {
        Ok(short) => {
            let [low, high] = short.to_le_bytes();
            vec![0x1D, 0x28, 0x4C, low, high]
        }
        Err(_) => {
            let mut bytes = vec![0x1D, 0x38, 0x4C];
            bytes.extend(length.to_le_bytes());
            bytes
        }
    };
    // m, function, tone 48, single size both ways, colour 49.
    bytes.extend([0x30, function, 0x30, 0x01, 0x01, 0x31]);
    bytes.extend((width as u16).to_le_bytes());
    bytes.extend((rows as u16).to_le_bytes());
    bytes
}

/// Puts the print command behind every band that was written since `start` (the `first`th end).
fn print_after_each(stream: &mut Stream, first: usize, start: usize) {
    let ends: Vec<usize> = stream.ends.drain(first..).collect();
    let stored = stream.bytes.split_off(start);
    let mut from = 0;
    for end in ends {
        stream.bytes.extend(&stored[from..end - start]);
        stream.bytes.extend(PRINT);
        stream.end();
        from = end - start;
    }
}
