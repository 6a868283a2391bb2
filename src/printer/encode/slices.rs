//! `GS ( L`, function 113: graphics in column order, at most three rows high.
//!
//! Each column is then one byte of which only the top three bits (the lowest three, for printers that want them first) can be
//! set: E0 masks 10, and 07 does too. Whatever the dots are, a slice spells no real-time command.

use super::{Stream, graphics, sent};
use crate::bitmap::Bitmap;
use crate::printer::profile::Profile;

/// Most rows of one slice.
pub const ROWS: u32 = 3;

/// What function 113's length counts besides the dots.
pub const HEAD: u32 = 10;

/// Writes `rows` rows, one to three.
pub fn write(stream: &mut Stream, bitmap: &Bitmap, profile: &Profile, top: u32, rows: u32) {
    let width = bitmap.width();
    stream.bytes.extend(graphics::store(width, 0x71, width, rows));
    for x in 0..width as i32 {
        let mut column = 0;
        for down in 0..rows {
            column |= u8::from(bitmap.get(x, (top + down) as i32)) << (7 - down);
        }
        stream.bytes.push(sent(column, profile.lsb_first));
    }
    stream.bytes.extend(graphics::PRINT);
    stream.end();
}
