//! Error diffusion with the weights of Floyd and Steinberg 1976, rounding as the reference library A of CHECKS.md does, dot
//! for dot: left to right, truncating division, white above 128.

use crate::bitmap::Bitmap;

use super::Ask;

/// The variant `floyd_steinberg_reference_a`.
pub fn screen(ask: &Ask) -> Bitmap {
    let width = ask.shares.width as usize;
    let mut bitmap = Bitmap::new(ask.shares.width, ask.shares.height);
    let mut errors = vec![0i32; width + 1];
    for (y, row) in ask.shares.white.chunks_exact(width.max(1)).enumerate() {
        diffuse(row, &mut errors, bitmap.row_mut(y as u32));
    }
    bitmap
}

/// One row. `errors[x + 1]` holds sixteenths for the dot at `x`, and afterwards those for the dot below it.
fn diffuse(row: &[u8], errors: &mut [i32], out: &mut [u8]) {
    let (mut carried, mut below_left, mut below) = (0i32, 0i32, 0i32);
    let mut byte = 0u8;
    for (x, &white) in row.iter().enumerate() {
        let value = (i32::from(white) + (carried + errors[x + 1]) / 16).clamp(0, 255);
        let is_white = value > 128;
        let error = value - if is_white { 255 } else { 0 };
        byte = byte << 1 | u8::from(!is_white);
        if x % 8 == 7 {
            out[x / 8] = byte;
        }
        errors[x] = error * 3 + below_left;
        below_left = error * 5 + below;
        below = error;
        carried = error * 7;
    }
    errors[row.len()] = below_left;
    let spare = row.len() % 8;
    if spare != 0 {
        out[row.len() / 8] = byte << (8 - spare);
    }
}
