//! JPEG, decoded straight to a half, a quarter or an eighth of its size by the low frequencies of its blocks (ITU-T T.81).

use jpeg_decoder::{CodingProcess, Decoder, PixelFormat};

use super::boxes::{Boxes, Row};
use super::{BYTE_LIMIT, Head, Kind, Need, Stored};

/// Most pixels that are decoded: a crop of a larger picture is taken from its half.
const MOST: u64 = 24_000_000;

/// The header.
///
/// # Errors
/// In words: no such file, cut short, or of a kind that is not read.
pub fn head(bytes: &[u8]) -> Result<Stored, super::Refusal> {
    let mut decoder = Decoder::new(bytes);
    decoder.read_info().map_err(told)?;
    let info = decoder.info().ok_or_else(|| super::Refusal::Broken("it has no frame header".into()))?;
    if !ends(bytes) {
        return Err(super::Refusal::Broken(super::CUT_SHORT.into()));
    }
    let components = match info.pixel_format {
        PixelFormat::L8 => 1,
        PixelFormat::L16 => 2,
        PixelFormat::RGB24 => 3,
        PixelFormat::CMYK32 => 4,
    };
    let pixels = u64::from(info.width) * u64::from(info.height);
    // A progressive file keeps every coefficient, two bytes each, until the end; one without loss all its samples.
    let whole = match info.coding_process {
        CodingProcess::DctSequential => 0,
        CodingProcess::DctProgressive => pixels * 2 * components,
        CodingProcess::Lossless => pixels * 4 * components,
    };
    if whole > BYTE_LIMIT {
        return Err(super::Refusal::TooLarge(super::too_much("a progressive JPEG")));
    }
    Ok(Stored {
        kind: Kind::Jpeg,
        width: info.width.into(),
        height: info.height.into(),
        inks: info.pixel_format == PixelFormat::CMYK32,
        exif: decoder.exif_data().map(<[u8]>::to_vec),
        profile: decoder.icc_profile(),
        whole,
    })
}

/// Whether an end-of-image marker follows the first scan.
fn ends(bytes: &[u8]) -> bool {
    let scan = bytes.windows(2).position(|pair| pair == [0xFF, 0xDA]).unwrap_or(bytes.len());
    bytes[scan..].windows(2).rev().any(|pair| pair == [0xFF, 0xD9])
}

/// By how much each side is divided: 1, 2, 4 or 8.
fn divisor(head: &Head, need: &Need) -> u32 {
    let [width, height] = head.stored(need.least);
    let part = |by: u32| (head.file.width.div_ceil(by), head.file.height.div_ceil(by));
    let enough = |by: &u32| part(*by).0 >= width && part(*by).1 >= height;
    let small = |by: &u32| u64::from(part(*by).0) * u64::from(part(*by).1) <= MOST;
    let by = [8, 4, 2, 1].into_iter().find(enough).unwrap_or(1);
    [by, 2, 4, 8].into_iter().find(|by2| *by2 >= by && small(by2)).unwrap_or(8)
}

/// Bytes that decoding takes.
pub fn work(head: &Head, need: &Need) -> u64 {
    let by = divisor(head, need);
    let pixels = u64::from(head.file.width.div_ceil(by)) * u64::from(head.file.height.div_ceil(by));
    // Planes, the picture made of them, and rows of coefficients under way.
    head.file.whole + pixels * 6 + u64::from(head.file.width) * 8 * 2 * 3 * 8
}

pub fn decode(bytes: &[u8], head: &Head, need: &Need) -> Result<(Boxes, [u32; 2]), super::Refusal> {
    let by = divisor(head, need);
    let (width, height) = (head.file.width.div_ceil(by), head.file.height.div_ceil(by));
    let mut decoder = Decoder::new(bytes);
    if by > 1 {
        decoder.scale(width as u16, height as u16).map_err(told)?;
    }
    let samples = decoder.decode().map_err(told)?;
    let info = decoder.info().ok_or_else(|| super::Refusal::Broken("it has no frame header".into()))?;
    let (width, height) = (u32::from(info.width), u32::from(info.height));
    let mut boxes = Boxes::new(width, height, head.stored(need.least), need.colour);
    let tables = head.space.bytes();
    let words = head.space.words();
    let mut row = Row::default();
    let stride = width as usize * info.pixel_format.pixel_bytes();
    for (y, samples) in samples.chunks_exact(stride.max(1)).enumerate() {
        row.light.clear();
        match info.pixel_format {
            PixelFormat::L8 => row.light.extend(samples.iter().map(|&value| tables.grey(value))),
            PixelFormat::L16 => {
                row.light.extend(samples.as_chunks::<2>().0.iter().map(|&pair| words.grey(u16::from_ne_bytes(pair))));
            }
            PixelFormat::RGB24 => row.light.extend(samples.as_chunks::<3>().0.iter().map(|&rgb| tables.luma(rgb))),
            PixelFormat::CMYK32 => row.light.extend(samples.as_chunks::<4>().0.iter().map(|&inks| tables.luma(on_paper(inks)))),
        }
        if boxes.wants_colour() {
            row.colour.clear();
            match info.pixel_format {
                PixelFormat::L8 => row.colour.extend(samples.iter().map(|&value| [value; 3])),
                PixelFormat::L16 => {
                    row.colour.extend(samples.as_chunks::<2>().0.iter().map(|&pair| [(u16::from_ne_bytes(pair) >> 8) as u8; 3]));
                }
                PixelFormat::RGB24 => row.colour.extend(samples.as_chunks::<3>().0),
                PixelFormat::CMYK32 => row.colour.extend(samples.as_chunks::<4>().0.iter().map(|&inks| on_paper(inks))),
            }
        }
        boxes.add(y as u32, 0, 1, &row);
    }
    Ok((boxes, [by; 2]))
}

/// Inks to light, without a profile: each takes its share. The decoder hands them over as light left, Adobe's way or not.
fn on_paper([cyan, magenta, yellow, black]: [u8; 4]) -> [u8; 3] {
    [cyan, magenta, yellow].map(|ink| ((255 - u32::from(ink)) * (255 - u32::from(black)) / 255) as u8)
}

fn told(error: jpeg_decoder::Error) -> super::Refusal {
    match error {
        jpeg_decoder::Error::Io(_) => super::Refusal::Broken(super::CUT_SHORT.into()),
        jpeg_decoder::Error::Unsupported(feature) => super::Refusal::Broken(format!("{feature:?} is not read")),
        other => super::Refusal::Broken(super::one_line(&other.to_string())),
    }
}
