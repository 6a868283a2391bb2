//! A strip as PNG, one bit deep, its resolution written in. The same dots give the same bytes, always.

use std::io::Write;

use flate2::Compression;
use flate2::write::ZlibEncoder;
use png::{BitDepth, ColorType, Encoder, PixelDimensions, Unit};

use crate::bitmap::Bitmap;
use crate::lengths::Resolution;

/// The picture as a grey PNG of depth 1 (0 black, 1 white), exactly as wide as the bitmap, with pHYs.
///
/// An empty bitmap becomes one white dot's row, because PNG knows no picture without rows.
pub fn write(bitmap: &Bitmap, resolution: Resolution) -> Vec<u8> {
    let (width, height) = (bitmap.width().max(1), bitmap.height().max(1));
    let spare = width.next_multiple_of(8) - width;
    let stride = width.div_ceil(8) as usize;
    let blank = vec![0; stride];
    let mut bytes = Vec::with_capacity(stride * height as usize / 8 + 1024);
    let mut encoder = Encoder::new(&mut bytes, width, height);
    encoder.set_color(ColorType::Grayscale);
    encoder.set_depth(BitDepth::One);
    finish(
        encoder,
        resolution,
        FAST,
        (0..height).map(|y| if y < bitmap.height() { bitmap.row(y) } else { &blank }),
        |row, out| {
            // Inverted, because PNG's 1 is white; the bits past the width stay 0.
            out.extend(row.iter().map(|byte| !byte));
            if let (true, Some(last)) = (spare > 0, out.last_mut()) {
                *last &= 0xFF << spare;
            }
        },
    );
    bytes
}

/// How hard [`finish`] squeezes, of 9. On the 12,480 rows of the demo strip FAST takes 3 ms and BALANCED 18.
pub(super) const FAST: u32 = 1;
pub(super) const BALANCED: u32 = 6;

/// Writes header and picture, unfiltered: `put` adds the bytes of a row. Writing to memory has no way to fail, and the sizes are ours.
///
/// Squeezed in pieces of about a megabyte: handed over row by row, as the encoder would, most of the time goes into clearing buffers, and
/// handed over whole the strip would stand in memory twice more.
pub(super) fn finish<W: Write, R>(
    mut encoder: Encoder<'_, W>,
    resolution: Resolution,
    level: u32,
    rows: impl Iterator<Item = R>,
    mut put: impl FnMut(R, &mut Vec<u8>),
) {
    let mut squeezed = ZlibEncoder::new(Vec::new(), Compression::new(level));
    let mut piece = Vec::with_capacity(PIECE + PIECE / 8);
    for row in rows {
        piece.push(UNFILTERED);
        put(row, &mut piece);
        if piece.len() >= PIECE {
            squeezed.write_all(&piece).expect("written to memory");
            piece.clear();
        }
    }
    squeezed.write_all(&piece).expect("written to memory");
    let squeezed = squeezed.finish().expect("written to memory");
    let per_metre = resolution.dots_per_metre;
    encoder.set_pixel_dims(Some(PixelDimensions { xppu: per_metre, yppu: per_metre, unit: Unit::Meter }));
    let mut writer = encoder.write_header().expect("a picture of at least one dot, written to memory");
    for part in squeezed.chunks(LARGEST_CHUNK) {
        writer.write_chunk(png::chunk::IDAT, part).expect("a chunk of a sayable size, written to memory");
    }
    writer.finish().expect("written to memory");
}

/// Bytes that are squeezed at one go.
const PIECE: usize = 1 << 20;
/// Filter type 0 (PNG, third edition, 9.2): the bytes as they are.
const UNFILTERED: u8 = 0;
/// Most bytes of one `IDAT` chunk; a picture may have many, and their limit is 2^31 - 1.
const LARGEST_CHUNK: usize = 1 << 30;

/// Depth in bits and kind of colour of a PNG, by its first 26 bytes: after signature, length and name of IHDR come width and height,
/// then those two (PNG, third edition, 11.2.1).
pub fn kind(head: &[u8]) -> Option<[u8; 2]> {
    let is_header = head.get(12..16) == Some(b"IHDR");
    is_header.then(|| head.get(24..26)?.try_into().ok()).flatten()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(bytes: &[u8]) -> (png::Info<'static>, Vec<u8>) {
        let mut decoder = png::Decoder::new(std::io::Cursor::new(bytes));
        decoder.set_transformations(png::Transformations::IDENTITY);
        let mut reader = decoder.read_info().expect("a PNG");
        let mut rows = vec![0; reader.output_buffer_size().expect("a size")];
        reader.next_frame(&mut rows).expect("whole");
        (reader.info().clone(), rows)
    }

    #[test]
    fn a_png_is_one_bit_deep_exactly_as_wide_and_black_is_black() {
        for width in [1, 7, 8, 9, 420, 576] {
            let mut bitmap = Bitmap::new(width, 5);
            bitmap.set(0, 0, true);
            bitmap.set(width as i32 - 1, 4, true);
            let (info, rows) = read(&write(&bitmap, Resolution { dots_per_metre: 7087 }));
            assert_eq!(
                (info.width, info.height, info.bit_depth, info.color_type),
                (width, 5, BitDepth::One, ColorType::Grayscale)
            );
            let dims = info.pixel_dims.expect("pHYs");
            assert_eq!((dims.xppu, dims.yppu, dims.unit), (7087, 7087, Unit::Meter));
            let stride = bitmap.stride();
            for y in 0..5usize {
                for x in 0..width as usize {
                    let white = rows[y * stride + x / 8] & (0x80 >> (x % 8)) != 0;
                    assert_eq!(white, !bitmap.get(x as i32, y as i32), "dot {x},{y} of {width}");
                }
            }
        }
    }

    #[test]
    fn an_empty_strip_is_still_a_picture() {
        assert_eq!(read(&write(&Bitmap::new(576, 0), Resolution::EIGHT)).0.height, 1);
    }
}
