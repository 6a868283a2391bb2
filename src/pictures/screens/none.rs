//! No screen: the picture is dots already, one a pixel.

use crate::bitmap::Bitmap;

use super::Ask;

/// A pixel whose sRGB value is below the middle becomes ink. In light, which is what shares are in, that is 55 of 255
/// (IEC 61966-2-1: 0.5 gives 0.2140).
pub fn screen(ask: &Ask) -> Bitmap {
    let width = ask.shares.width as usize;
    super::packed(ask.shares.width, ask.shares.height, |x, y| ask.shares.white[y * width + x] < 55)
}
