//! The screen for photographs.

use crate::bitmap::Bitmap;

use super::{Ask, reference_a};

pub fn screen(ask: &Ask) -> Bitmap {
    reference_a::screen(ask)
}
