//! WebP and GIF (its first frame): their decoders hand over whole pictures, so these are bounded by what they need in memory.

use std::io::Cursor;

use image::codecs::gif::GifDecoder;
use image::codecs::webp::WebPDecoder;
use image::{DynamicImage, ImageDecoder, ImageError, Limits};

use super::boxes::{Boxes, Row};
use super::{BYTE_LIMIT, Head, Kind, Need, Refusal, Stored, on_white};

/// The header.
///
/// # Errors
/// In words: no such file, cut short, or too large.
pub fn head(bytes: &[u8], kind: Kind) -> Result<Stored, Refusal> {
    match kind {
        Kind::WebP => headed(WebPDecoder::new(Cursor::new(bytes)).map_err(told)?, kind),
        _ => headed(GifDecoder::new(Cursor::new(bytes)).map_err(told)?, kind),
    }
}

fn headed(mut decoder: impl ImageDecoder, kind: Kind) -> Result<Stored, Refusal> {
    let (width, height) = decoder.dimensions();
    // What is handed over, and the frame or the planes it is made of.
    let whole = decoder.total_bytes().saturating_mul(2);
    if whole > BYTE_LIMIT {
        return Err(Refusal::TooLarge(super::too_much(if kind == Kind::WebP { "a WebP" } else { "a GIF" })));
    }
    let exif = decoder.exif_metadata().ok().flatten();
    Ok(Stored { kind, width, height, inks: false, exif, profile: decoder.icc_profile().ok().flatten(), whole })
}

pub fn decode(bytes: &[u8], head: &Head, need: &Need) -> Result<(Boxes, [u32; 2]), Refusal> {
    let picture = match head.file.kind {
        Kind::WebP => decoded(WebPDecoder::new(Cursor::new(bytes)).map_err(told)?),
        _ => decoded(GifDecoder::new(Cursor::new(bytes)).map_err(told)?),
    }?;
    let least = head.stored(need.least).map(|side| side.saturating_mul(super::SPARE));
    let mut boxes = Boxes::new(picture.width(), picture.height(), least, need.colour);
    let tables = head.space.bytes();
    let mut row = Row::default();
    let (samples, channels) = match &picture {
        DynamicImage::ImageRgb8(rgb) => (rgb.as_raw().as_slice(), 3),
        DynamicImage::ImageRgba8(rgba) => (rgba.as_raw().as_slice(), 4),
        _ => return Err(Refusal::Broken("its samples are of a kind that is not read".into())),
    };
    for (y, samples) in samples.chunks_exact(picture.width() as usize * channels).enumerate() {
        row.light.clear();
        row.clear.clear();
        row.colour.clear();
        if channels == 3 {
            row.light.extend(samples.as_chunks::<3>().0.iter().map(|&rgb| tables.luma(rgb)));
        } else {
            samples.as_chunks::<4>().0.iter().for_each(|&[r, g, b, alpha]| {
                row.light.push(on_white(tables.luma([r, g, b]), alpha.into(), 255));
                row.clear.push(u16::from(255 - alpha) * 257);
            });
        }
        if boxes.wants_colour() {
            row.colour.extend(samples.chunks_exact(channels).map(|pixel| {
                let alpha = u32::from(pixel.get(3).copied().unwrap_or(255));
                [0, 1, 2].map(|index| ((u32::from(pixel[index]) * alpha + 255 * (255 - alpha) + 127) / 255) as u8)
            }));
        }
        boxes.add(y as u32, 0, 1, &row);
    }
    Ok((boxes, [1, 1]))
}

fn decoded(mut decoder: impl ImageDecoder) -> Result<DynamicImage, Refusal> {
    let mut limits = Limits::default();
    limits.max_alloc = Some(BYTE_LIMIT);
    decoder.set_limits(limits).map_err(told)?;
    DynamicImage::from_decoder(decoder).map_err(told)
}

fn told(error: ImageError) -> Refusal {
    match error {
        ImageError::Limits(_) => Refusal::TooLarge(super::too_much("its kind")),
        ImageError::IoError(_) => Refusal::Broken(super::CUT_SHORT.into()),
        // The decoder's own words, without the lead-in that names the format twice.
        other => {
            let text = other.to_string();
            Refusal::Broken(super::one_line(text.split_once(": ").map_or(text.as_str(), |(_, reason)| reason)))
        }
    }
}
