//! Plain threshold: what is darker than half becomes ink. For drawings that have no greys and for lettering.

use crate::bitmap::Bitmap;

use super::{Ask, packed};

/// Black below half of the light, which at the edge of a drawn shape is half of the dot covered.
pub fn screen(ask: &Ask) -> Bitmap {
    let width = ask.shares.width as usize;
    packed(ask.shares.width, ask.shares.height, |x, y| ask.shares.white[y * width + x] < 128)
}
