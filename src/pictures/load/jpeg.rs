//! JPEG, decoded straight to a half, a quarter or an eighth of its size by the low frequencies of its blocks (ITU-T T.81).

use jpeg_decoder::{CodingProcess, Decoder, PixelFormat};

use super::boxes::{Boxes, Row};
use super::{BYTE_LIMIT, Head, Kind, Need, Stored};
use crate::geometry::Size;

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
    // A progressive file keeps every coefficient, two bytes each, until the end. The decoder takes no notice of the point transform of one without loss
    // (ITU-T T.81, H.1.2.1) and makes noise of it.
    let whole = match info.coding_process {
        CodingProcess::DctSequential => 0,
        CodingProcess::DctProgressive => pixels * 2 * sampled(bytes, components) / 100,
        CodingProcess::Lossless => {
            return Err(super::Refusal::Broken("it is a JPEG without loss, a kind that is not read".into()));
        }
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

/// Samples for each hundred pixels of a frame of so many components: colours often have fewer than light (ITU-T T.81, B.2.2).
fn sampled(bytes: &[u8], components: u64) -> u64 {
    let mut at = 2;
    while let Some(&[0xFF, marker, high, low]) = bytes.get(at..at + 4) {
        // SOF2; its header: length, precision, height, width, number of components, then name, sampling and table of each.
        if marker == 0xC2 {
            let all = bytes.get(at + 9).map_or(0, |&count| usize::from(count));
            let Some(parts) = bytes.get(at + 10..at + 10 + all * 3) else { break };
            let sizes: Vec<u64> = parts.chunks(3).map(|part| u64::from(part[1] >> 4) * u64::from(part[1] & 15)).collect();
            let largest = sizes.iter().copied().max().unwrap_or(0);
            return (sizes.iter().sum::<u64>() * 100).checked_div(largest).unwrap_or(components * 100);
        }
        at += 2 + usize::from(u16::from_be_bytes([high, low]));
    }
    components * 100
}

/// Whether an end-of-image marker follows the first scan.
fn ends(bytes: &[u8]) -> bool {
    let scan = bytes.windows(2).position(|pair| pair == [0xFF, 0xDA]).unwrap_or(bytes.len());
    bytes[scan..].windows(2).rev().any(|pair| pair == [0xFF, 0xD9])
}

/// By how much each side is divided: 1, 2, 4 or 8.
fn divisor(head: &Head, need: &Need) -> u32 {
    let Size { width, height } = head.stored(need.least);
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

pub fn decode(bytes: &[u8], head: &Head, need: &Need) -> Result<(Boxes, Size<u32>), super::Refusal> {
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
    Ok((boxes, Size::new(by, by)))
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

#[cfg(test)]
mod tests {
    use super::sampled;

    /// ITU-T T.81, B.2.2: a frame header of three components, names 1 to 3, behind an APP0 of four bytes.
    fn frame(marker: u8, light: u8) -> Vec<u8> {
        let mut bytes = vec![0xFF, 0xD8, 0xFF, 0xE0, 0, 4, 0, 0, 0xFF, marker, 0, 17, 8, 0, 16, 0, 16, 3];
        bytes.extend([1, light, 0, 2, 0x11, 1, 3, 0x11, 1]);
        bytes
    }

    #[test]
    fn samples_are_counted_as_the_frame_has_them() {
        assert_eq!(sampled(&frame(0xC2, 0x22), 3), 150, "colours halved both ways");
        assert_eq!(sampled(&frame(0xC2, 0x21), 3), 200, "colours halved across");
        assert_eq!(sampled(&frame(0xC2, 0x11), 3), 300);
        assert_eq!(sampled(&frame(0xC2, 0x22)[..20], 3), 300, "cut short: as many as there could be");
        assert_eq!(sampled(&[], 1), 100);
    }
}
