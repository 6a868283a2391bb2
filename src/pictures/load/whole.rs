//! WebP and GIF (its first frame): their decoders hand over whole pictures, so these are bounded by what they need in memory.

use std::io::Cursor;

use image::codecs::gif::GifDecoder;
use image::codecs::webp::WebPDecoder;
use image::{DynamicImage, ImageDecoder, ImageError, Limits};

use super::boxes::{Boxes, Row};
use super::{BYTE_LIMIT, Head, Kind, Need, Refusal, Stored, on_white};
use crate::geometry::Size;

/// The header.
///
/// # Errors
/// In words: no such file, cut short, or too large.
pub fn head(bytes: &[u8], kind: Kind) -> Result<Stored, Refusal> {
    match kind {
        // Planes of which the two of colour are halved both ways; without loss, four bytes a pixel. A GIF's frame has one.
        Kind::WebP => headed(WebPDecoder::new(Cursor::new(bytes)).map_err(told)?, kind, if is_lossless(bytes) { 8 } else { 3 }),
        _ => headed(GifDecoder::new(Cursor::new(bytes)).map_err(told)?, kind, 2),
    }
}

/// Whether a WebP's first picture is without loss: its chunks are walked (RFC 9649, 2.3).
fn is_lossless(bytes: &[u8]) -> bool {
    let mut at = 12;
    while let Some(head) = bytes.get(at..at + 8) {
        if head.starts_with(b"VP8L") || head.starts_with(b"VP8 ") {
            return head[3] == b'L';
        }
        let length = u32::from_le_bytes([head[4], head[5], head[6], head[7]]) as usize;
        // A moving picture's first frame holds chunks of its own behind 16 bytes.
        at += 8 + if head.starts_with(b"ANMF") { 16 } else { length.saturating_add(length % 2) };
    }
    false
}

/// `halves` of a byte a pixel are what the picture that is handed over is made of.
fn headed(mut decoder: impl ImageDecoder, kind: Kind, halves: u64) -> Result<Stored, Refusal> {
    let (width, height) = decoder.dimensions();
    let whole = decoder.total_bytes().saturating_add(u64::from(width) * u64::from(height) * halves / 2);
    if whole > BYTE_LIMIT {
        return Err(Refusal::TooLarge(super::too_much(if kind == Kind::WebP { "a WebP" } else { "a GIF" })));
    }
    let exif = decoder.exif_metadata().ok().flatten();
    Ok(Stored { kind, width, height, inks: false, exif, profile: decoder.icc_profile().ok().flatten(), whole })
}

pub fn decode(bytes: &[u8], head: &Head, need: &Need) -> Result<(Boxes, Size<u32>), Refusal> {
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
    Ok((boxes, Size::new(1, 1)))
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

#[cfg(test)]
mod tests {
    use super::is_lossless;

    #[test]
    fn a_webp_says_how_it_is_packed() {
        let chunk = |name: &[u8; 4], length: u32| [name.as_slice(), &length.to_le_bytes(), &vec![0; length as usize]].concat();
        let file = |chunks: &[Vec<u8>]| [b"RIFF\0\0\0\0WEBP".to_vec(), chunks.concat()].concat();
        assert!(is_lossless(&file(&[chunk(b"VP8L", 9)])));
        assert!(!is_lossless(&file(&[chunk(b"VP8 ", 9)])));
        let telephone = [chunk(b"VP8X", 10), chunk(b"ICCP", 6), chunk(b"VP8L", 4)];
        assert!(is_lossless(&file(&telephone)), "behind a profile");
        let moving = [[b"ANMF".as_slice(), &40u32.to_le_bytes(), &[0; 16]].concat(), chunk(b"VP8L", 4)];
        assert!(is_lossless(&file(&moving)), "in a first frame");
        assert!(!is_lossless(&file(&[])) && !is_lossless(b"") && !is_lossless(b"RIFF\0\0\0\0WEBPVP8X\xff\xff\xff\xff"));
    }
}
