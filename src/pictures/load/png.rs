//! PNG, read row by row, also when it is interlaced: what is held does not grow with the picture.

use std::io::Cursor;

use png::{BitDepth, ColorType, Decoder, DecodingError, Limits, Reader, Transformations};

use super::boxes::{Boxes, Row};
use super::profile::{Bytes, Words};
use super::{BYTE_LIMIT, Head, Kind, Need, Refusal, Stored, on_white};
use crate::geometry::Size;

/// Most bytes of the rows, unpacked: what a reader has to squeeze out of a small file.
const UNPACKED: u64 = 1 << 30;

/// Where each pass of an interlaced picture starts and how far its pixels stand apart: x, y, across, down (PNG, 8.2).
const PASSES: [[u32; 4]; 7] = [[0, 0, 8, 8], [4, 0, 8, 8], [0, 4, 4, 8], [2, 0, 4, 4], [0, 2, 2, 4], [1, 0, 2, 2], [0, 1, 1, 2]];

fn open(bytes: &[u8]) -> Result<Reader<Cursor<&[u8]>>, Refusal> {
    let mut decoder = Decoder::new_with_limits(Cursor::new(bytes), Limits { bytes: BYTE_LIMIT as usize });
    decoder.set_transformations(Transformations::EXPAND);
    decoder.set_ignore_text_chunk(true);
    decoder.read_info().map_err(told)
}

/// The header.
///
/// # Errors
/// In words: no such file, cut short, or too large.
pub fn head(bytes: &[u8]) -> Result<Stored, Refusal> {
    let reader = open(bytes)?;
    let info = reader.info();
    let unpacked = (info.bits_per_pixel() as u64 * u64::from(info.width)).div_ceil(8) * u64::from(info.height);
    if unpacked > UNPACKED {
        return Err(Refusal::TooLarge("unpacked it has more than a gigabyte".into()));
    }
    Ok(Stored {
        kind: Kind::Png,
        width: info.width,
        height: info.height,
        inks: false,
        exif: info.exif_metadata.as_ref().map(|block| block.to_vec()),
        profile: info.icc_profile.as_ref().map(|profile| profile.to_vec()),
        whole: 0,
    })
}

/// Bytes that decoding takes.
pub fn work(head: &Head, need: &Need) -> u64 {
    let least = head.stored(need.least).map(|side| side.saturating_mul(super::SPARE));
    Boxes::bytes(head.file.width, head.file.height, least, need.colour) + u64::from(head.file.width) * 32
}

pub fn decode(bytes: &[u8], head: &Head, need: &Need) -> Result<(Boxes, Size<u32>), Refusal> {
    let mut reader = open(bytes)?;
    let least = head.stored(need.least).map(|side| side.saturating_mul(super::SPARE));
    let mut boxes = Boxes::new(head.file.width, head.file.height, least, need.colour);
    let (kind, depth) = reader.output_color_type();
    let tables = Tables { bytes: head.space.bytes(), words: head.space.words() };
    let mut row = Row::default();
    let interlaced = reader.info().interlaced;
    let passes: &[[u32; 4]] = if interlaced { &PASSES } else { &[[0, 0, 1, 1]] };
    for &[first, top, across, down] in passes {
        if first >= head.file.width {
            continue;
        }
        for y in (top..head.file.height).step_by(down as usize) {
            let Some(samples) = reader.next_row().map_err(told)? else {
                return Err(Refusal::Broken(super::CUT_SHORT.into()));
            };
            let pixels = (head.file.width - first).div_ceil(across) as usize;
            tables.read(kind, depth, samples.data(), pixels, boxes.wants_colour(), &mut row)?;
            boxes.add(y, first, across, &row);
        }
    }
    // What comes after the first frame of a moving picture is not looked at.
    if reader.info().animation_control.is_some() {
        return Ok((boxes, Size::new(1, 1)));
    }
    // The check of the last chunk stands behind the last row. A file that ends after its last row has its whole picture.
    match reader.finish() {
        Err(DecodingError::IoError(_)) | Ok(()) => Ok((boxes, Size::new(1, 1))),
        Err(error) => Err(told(error)),
    }
}

struct Tables {
    bytes: Bytes,
    words: Words,
}

impl Tables {
    /// Samples to light on white.
    fn read(
        &self,
        kind: ColorType,
        depth: BitDepth,
        data: &[u8],
        pixels: usize,
        colour: bool,
        row: &mut Row,
    ) -> Result<(), Refusal> {
        row.light.clear();
        row.clear.clear();
        row.colour.clear();
        let channels = kind.samples();
        let wide = depth == BitDepth::Sixteen;
        if !(wide || depth == BitDepth::Eight) || data.len() < pixels * channels * (1 + usize::from(wide)) {
            return Err(Refusal::Broken("its samples are of a kind that is not read".into()));
        }
        let data = &data[..pixels * channels * (1 + usize::from(wide))];
        let (bytes, words) = (&self.bytes, &self.words);
        let word = |pair: &[u8]| u16::from_be_bytes([pair[0], pair[1]]);
        match (kind, wide) {
            (ColorType::Grayscale, false) => row.light.extend(data.iter().map(|&grey| bytes.grey(grey))),
            (ColorType::Rgb, false) => row.light.extend(data.as_chunks::<3>().0.iter().map(|&rgb| bytes.luma(rgb))),
            (ColorType::GrayscaleAlpha, false) => data.as_chunks::<2>().0.iter().for_each(|&[grey, alpha]| {
                row.light.push(on_white(bytes.grey(grey), alpha.into(), 255));
                row.clear.push(u16::from(255 - alpha) * 257);
            }),
            (ColorType::Rgba, false) => data.as_chunks::<4>().0.iter().for_each(|&[r, g, b, alpha]| {
                row.light.push(on_white(bytes.luma([r, g, b]), alpha.into(), 255));
                row.clear.push(u16::from(255 - alpha) * 257);
            }),
            (ColorType::Grayscale, true) => row.light.extend(data.chunks_exact(2).map(|pair| words.grey(word(pair)))),
            (ColorType::Rgb, true) => {
                row.light.extend(data.chunks_exact(6).map(|rgb| words.luma([word(rgb), word(&rgb[2..]), word(&rgb[4..])])));
            }
            (ColorType::GrayscaleAlpha, true) => data.chunks_exact(4).for_each(|both| {
                let alpha = word(&both[2..]);
                row.light.push(on_white(words.grey(word(both)), alpha.into(), 65535));
                row.clear.push(65535 - alpha);
            }),
            (ColorType::Rgba, true) => data.chunks_exact(8).for_each(|all| {
                let alpha = word(&all[6..]);
                row.light.push(on_white(words.luma([word(all), word(&all[2..]), word(&all[4..])]), alpha.into(), 65535));
                row.clear.push(65535 - alpha);
            }),
            (ColorType::Indexed, _) => return Err(Refusal::Broken("its samples are of a kind that is not read".into())),
        }
        if colour {
            let step = 1 + usize::from(wide);
            row.colour.extend(data.chunks_exact(channels * step).map(|pixel| {
                let at = |index: usize| u32::from(pixel[index * step]);
                let alpha = if channels.is_multiple_of(2) { at(channels - 1) } else { 255 };
                let shown = |value: u32| ((value * alpha + 255 * (255 - alpha) + 127) / 255) as u8;
                if channels < 3 { [shown(at(0)); 3] } else { [0, 1, 2].map(|index| shown(at(index))) }
            }));
        }
        Ok(())
    }
}

fn told(error: DecodingError) -> Refusal {
    match error {
        DecodingError::LimitsExceeded => Refusal::TooLarge(super::too_much("its kind")),
        DecodingError::IoError(_) => Refusal::Broken(super::CUT_SHORT.into()),
        other => Refusal::Broken(super::one_line(&other.to_string())),
    }
}
