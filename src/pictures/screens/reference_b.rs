//! Error diffusion as the crate `image` does it (reference B of CHECKS.md): left to right, each pixel clamped after each error.

use image::GrayImage;
use image::imageops::{BiLevel, dither};

use crate::bitmap::Bitmap;

use super::{Ask, packed, reference_a};

/// The variant `floyd_steinberg_reference_b`. The crate cannot do pictures one dot wide: those go to reference A.
pub fn screen(ask: &Ask) -> Bitmap {
    let (width, height) = (ask.shares.width, ask.shares.height);
    let picture = (width >= 2).then(|| GrayImage::from_raw(width, height, ask.shares.white.clone())).flatten();
    let Some(mut picture) = picture else {
        return reference_a::screen(ask);
    };
    dither(&mut picture, &BiLevel);
    let white = picture.into_raw();
    packed(width, height, |x, y| white[y * width as usize + x] == 0)
}
