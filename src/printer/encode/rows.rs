//! `GS v 0`: `1D 76 30 m xL xH yL yH d…`, x in bytes, y in rows, printed as it comes.

use super::{Stream, is_pair, sent, spells_real_time};
use crate::bitmap::Bitmap;
use crate::printer::profile::Profile;

/// Bytes before the dots.
pub const HEAD: u32 = 8;

/// Writes rows that each hold no real-time pair, in as few bands as the profile and the pairs at row ends allow.
pub fn write(stream: &mut Stream, bitmap: &Bitmap, profile: &Profile, top: u32, rows: u32) {
    let stride = bitmap.stride() as u16;
    in_bands(bitmap, profile, top, rows, |rows| header(stride, rows as u16).to_vec(), stream);
}

fn header(stride: u16, rows: u16) -> [u8; 8] {
    let ([x_low, x_high], [y_low, y_high]) = (stride.to_le_bytes(), rows.to_le_bytes());
    [0x1D, 0x76, 0x30, 0x00, x_low, x_high, y_low, y_high]
}

/// Cuts rows into bands whose header, as `head` makes it for a number of rows, spells no real-time pair, and writes
/// header and dots of each.
pub fn in_bands(bitmap: &Bitmap, profile: &Profile, top: u32, rows: u32, head: impl Fn(u32) -> Vec<u8>, stream: &mut Stream) {
    let bottom = top + rows;
    let mut top = top;
    while top < bottom {
        let most = profile.band_rows.clamp(1, bottom - top);
        let joined = |y: &u32| !ends_in_pair(bitmap, profile.lsb_first, *y);
        let mut band = 1 + (top..top + most - 1).take_while(joined).count() as u32;
        let mut bytes = head(band);
        while band > 1 && spells_real_time(&bytes) {
            band -= 1;
            bytes = head(band);
        }
        stream.bytes.extend(bytes);
        let stride = bitmap.stride();
        let dots = &bitmap.data()[top as usize * stride..][..band as usize * stride];
        if profile.lsb_first {
            stream.bytes.extend(dots.iter().map(|&byte| sent(byte, true)));
        } else {
            stream.bytes.extend(dots);
        }
        stream.end();
        top += band;
    }
}

/// Whether the last byte of row `y` and the first of the next spell a real-time pair.
fn ends_in_pair(bitmap: &Bitmap, lsb_first: bool, y: u32) -> bool {
    match (bitmap.row(y).last(), bitmap.row(y + 1).first()) {
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
