//! `GS v 0`: `1D 76 30 m xL xH yL yH d…`, x in bytes, y in rows, printed as it comes.

use super::piece::Band;
use super::{Stream, is_pair, sent, spells_real_time};
use crate::bitmap::Bitmap;
use crate::printer::profile::Profile;

/// Bytes before the dots.
pub const HEAD: u32 = 8;

/// Writes the first `stride` bytes of rows that each hold no real-time pair, in as few bands as the profile and the pairs at
/// row ends allow. What stands to the right of them is white.
pub fn write(stream: &mut Stream, bitmap: &Bitmap, profile: &Profile, band: Band) {
    in_bands(bitmap, profile, band, |rows, stride| header(stride as u16, rows as u16).to_vec(), stream);
}

fn header(stride: u16, rows: u16) -> [u8; 8] {
    let ([x_low, x_high], [y_low, y_high]) = (stride.to_le_bytes(), rows.to_le_bytes());
    [0x1D, 0x76, 0x30, 0x00, x_low, x_high, y_low, y_high]
}

/// Cuts rows into bands whose header, as `head` makes it for a number of rows and the bytes of each, spells no real-time pair,
/// and writes header and dots of each.
pub fn in_bands(bitmap: &Bitmap, profile: &Profile, band: Band, head: impl Fn(u32, u32) -> Vec<u8>, stream: &mut Stream) {
    let bottom = band.top + band.rows;
    let (stride, lsb_first) = (band.stride as usize, profile.lsb_first);
    let mut top = band.top;
    while top < bottom {
        let most = profile.rows_of(band.stride).min(bottom - top);
        let joined = |&y: &u32| !ends_in_pair(&bitmap.row(y)[..stride], bitmap.row(y + 1), lsb_first);
        let mut rows = 1 + (top..top + most - 1).take_while(joined).count() as u32;
        let mut bytes = head(rows, band.stride);
        while rows > 1 && spells_real_time(&bytes) {
            rows -= 1;
            bytes = head(rows, band.stride);
        }
        stream.bytes.extend(bytes);
        for y in top..top + rows {
            let dots = &bitmap.row(y)[..stride];
            if lsb_first {
                stream.bytes.extend(dots.iter().map(|&byte| sent(byte, true)));
            } else {
                stream.bytes.extend(dots);
            }
        }
        stream.end();
        top += rows;
    }
}

/// Whether the last byte of a row and the first of the next spell a real-time pair.
fn ends_in_pair(row: &[u8], next: &[u8], lsb_first: bool) -> bool {
    match (row.last(), next.first()) {
        (Some(&last), Some(&first)) => is_pair(sent(last, lsb_first), sent(first, lsb_first)),
        _ => false,
    }
}

/// Whether a row holds a real-time pair inside itself.
pub fn holds_pair(row: &[u8], lsb_first: bool) -> bool {
    if !lsb_first {
        return spells_real_time(row);
    }
    row.iter().zip(row.iter().skip(1)).fold(false, |found, (&a, &b)| found | is_pair(sent(a, true), sent(b, true)))
}
