//! From a file's bytes to upright linear light: PNG, JPEG, WebP, GIF (first frame), told apart by content.
//!
//! Never opens a file and never trusts a size before it is checked: the largest picture taken needs less than 400 MiB.

use std::io::Cursor;
use std::sync::{Mutex, PoisonError};

use image::{DynamicImage, ImageDecoder, ImageError, ImageFormat, ImageReader, Limits};

use super::error::{Error, one_line};
use super::tone::{LINEAR, Light, WHITE, luma, to_linear};

/// Largest file read, in bytes.
pub const FILE_LIMIT: u64 = 64 << 20;
/// Most pixels of a picture: the sensors of most telephones and cameras.
const PIXEL_LIMIT: u64 = 64_000_000;
/// Most bytes that a decoder may need for its result and its own work.
const BYTE_LIMIT: u64 = 256 << 20;
/// A picture that needs more bytes than this is decoded while no other such is.
const TURNS: u64 = 32 << 20;

/// What the writer should know about a picture that was taken all the same.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Remark {
    /// Inks instead of light: converted without a profile, so tones can be off.
    Cmyk,
    /// The profile's primaries or tone curve are far from sRGB's; it is ignored, so tones can be off.
    Profile,
    /// The drawing refers to something outside of itself, which is left out.
    OutsideReference,
    /// The drawing holds text in a face that we don't have; another is taken.
    OtherFace,
}

impl Remark {
    /// One sentence for a finding.
    pub fn text(self) -> &'static str {
        match self {
            Remark::Cmyk => "the picture is made for printing inks (CMYK): its greys are converted without a colour profile",
            Remark::Profile => {
                "the picture's colour profile is ignored: its greys can come out lighter or darker; save it as sRGB"
            }
            Remark::OutsideReference => "the drawing refers to another file or address, which is left out: embed it",
            Remark::OtherFace => "the drawing asks for a face that is not built in: another one is taken",
        }
    }
}

/// A decoded picture.
#[derive(Debug)]
pub struct Loaded {
    pub light: Light,
    pub remarks: Vec<Remark>,
}

/// Whether the bytes are an SVG drawing: text whose first element is `svg`.
pub fn is_drawing(bytes: &[u8]) -> bool {
    let head = &bytes[..bytes.len().min(64 << 10)];
    let text = String::from_utf8_lossy(head);
    let mut rest = text.trim_start_matches('\u{FEFF}').trim_start();
    loop {
        let end = if rest.starts_with("<!--") {
            rest.find("-->").map(|at| at + 3)
        } else if rest.starts_with("<?") {
            rest.find("?>").map(|at| at + 2)
        } else if rest.starts_with("<!DOCTYPE") {
            let inner = rest.find('[').filter(|&open| rest.find('>').is_some_and(|close| open < close));
            match inner {
                Some(_) => rest.find("]").and_then(|at| rest[at..].find('>').map(|close| at + close + 1)),
                None => rest.find('>').map(|at| at + 1),
            }
        } else {
            return rest.strip_prefix('<').is_some_and(|tag| {
                let name =
                    tag.split(|letter: char| letter.is_whitespace() || letter == '>' || letter == '/').next().unwrap_or("");
                name == "svg" || name.ends_with(":svg")
            });
        };
        match end {
            Some(end) => rest = rest[end..].trim_start(),
            None => return false,
        }
    }
}

/// Width and height as the file's head says them, whatever comes after it.
pub fn size(bytes: &[u8]) -> Option<[u32; 2]> {
    let (width, height) = ImageReader::new(Cursor::new(bytes)).with_guessed_format().ok()?.into_dimensions().ok()?;
    Some([width, height])
}

/// Decodes a PNG, JPEG, WebP or GIF file. Pictures that need much memory hold `large` meanwhile, so that they take turns.
///
/// # Errors
/// When the bytes are of no such kind, broken, cut short, or would take more than the limits above.
pub fn decode(bytes: &[u8], address: &str, large: &Mutex<()>) -> Result<Loaded, Error> {
    let format = match image::guess_format(bytes) {
        Ok(format @ (ImageFormat::Png | ImageFormat::Jpeg | ImageFormat::WebP | ImageFormat::Gif)) => format,
        _ => return Err(Error::UnknownKind { address: address.into() }),
    };
    let broken = |reason: &str| Error::Broken { address: address.into(), reason: reason.into() };
    let mut remarks = Vec::new();
    let mut work = 0;
    if format == ImageFormat::Jpeg {
        let frame = JpegFrame::find(bytes).ok_or_else(|| broken("it has no frame header"))?;
        if !frame.complete {
            return Err(broken("the file ends before the picture does"));
        }
        if frame.components == 4 {
            remarks.push(Remark::Cmyk);
        }
        // A progressive file keeps every coefficient, two bytes each, until the end.
        let pixels = u64::from(frame.width) * u64::from(frame.height);
        work = if frame.progressive { pixels * 2 * u64::from(frame.components) } else { pixels };
    }
    let mut limits = Limits::default();
    limits.max_alloc = Some(BYTE_LIMIT);
    let mut reader = image::ImageReader::with_format(Cursor::new(bytes), format);
    reader.limits(limits);
    let told = |error: ImageError| match error {
        ImageError::Limits(_) => {
            Error::TooLarge { address: address.into(), reason: "decoding it would need more than 256 MiB".into() }
        }
        ImageError::IoError(_) => broken("the file ends before the picture does"),
        other => broken(&plain(&other)),
    };
    let mut decoder = reader.into_decoder().map_err(told)?;
    let (width, height) = decoder.dimensions();
    let pixels = u64::from(width) * u64::from(height);
    if pixels == 0 {
        return Err(broken("it has no pixels"));
    }
    if pixels > PIXEL_LIMIT {
        let reason = format!("{width} x {height} pixels, where {} million are the most", PIXEL_LIMIT / 1_000_000);
        return Err(Error::TooLarge { address: address.into(), reason });
    }
    if decoder.total_bytes() + work > BYTE_LIMIT {
        return Err(Error::TooLarge { address: address.into(), reason: "decoding it would need more than 256 MiB".into() });
    }
    let alone = decoder.total_bytes() + work > TURNS;
    let _alone = alone.then(|| large.lock().unwrap_or_else(PoisonError::into_inner));
    let turn = decoder.exif_metadata().ok().flatten().map_or(1, orientation);
    if remarks.is_empty() && decoder.icc_profile().ok().flatten().is_some_and(|profile| far_from_srgb(&profile)) {
        remarks.push(Remark::Profile);
    }
    let picture = DynamicImage::from_decoder(decoder).map_err(told)?;
    let light = to_light(&picture).ok_or_else(|| broken("its samples are of a kind that is not read"))?;
    drop(picture);
    Ok(Loaded { light: turned(light, turn), remarks })
}

/// The decoder's own words in one line, without the lead-in that names the format twice.
fn plain(error: &ImageError) -> String {
    let text = error.to_string();
    let reason = text.split_once(": ").map_or(text.as_str(), |(_, reason)| reason);
    one_line(reason)
}

/// What the frame header of a JPEG file says (ITU-T T.81, annex B).
struct JpegFrame {
    width: u16,
    height: u16,
    components: u8,
    progressive: bool,
    /// Whether an end-of-image marker follows the first scan.
    complete: bool,
}

impl JpegFrame {
    fn find(bytes: &[u8]) -> Option<JpegFrame> {
        let mut at = 2;
        let mut frame: Option<JpegFrame> = None;
        loop {
            let marker = *bytes.get(at + 1)?;
            if *bytes.get(at)? != 0xFF {
                return None;
            }
            if marker == 0xFF {
                at += 1;
                continue;
            }
            let length = usize::from(u16::from_be_bytes([*bytes.get(at + 2)?, *bytes.get(at + 3)?]));
            match marker {
                0xC4 | 0xC8 | 0xCC => {}
                0xC0..=0xCF => {
                    let word = |offset: usize| Some(u16::from_be_bytes([*bytes.get(at + offset)?, *bytes.get(at + offset + 1)?]));
                    frame = Some(JpegFrame {
                        height: word(5)?,
                        width: word(7)?,
                        components: *bytes.get(at + 9)?,
                        progressive: marker & 3 == 2,
                        complete: false,
                    });
                }
                0xDA => {
                    let mut frame = frame?;
                    frame.complete = bytes[at..].windows(2).any(|pair| pair == [0xFF, 0xD9]);
                    return Some(frame);
                }
                _ => {}
            }
            at += 2 + length;
        }
    }
}

/// The orientation tag of an Exif block, 1 when there is none or it makes no sense (Exif 2.3, tag 0x0112).
fn orientation(block: Vec<u8>) -> u32 {
    let block = block.strip_prefix(b"Exif\0\0").map(<[u8]>::to_vec).unwrap_or(block);
    let read = exif::Reader::new().read_raw(block).ok();
    let value = read.as_ref().and_then(|exif| exif.get_field(exif::Tag::Orientation, exif::In::PRIMARY)?.value.get_uint(0));
    value.filter(|value| (1..=8).contains(value)).unwrap_or(1)
}

/// Whether an ICC profile is for inks, or its primaries or tone curve make greys come out clearly different from sRGB's.
///
/// Compared are the luminances of the three primaries (0.2225, 0.7169, 0.0606 for sRGB under D50: IEC 61966-2-1 and ICC.1,
/// from memory); 0.05 off is far. Display P3 is near, Adobe RGB and ProPhoto are far.
fn far_from_srgb(profile: &[u8]) -> bool {
    let word = |at: usize| Some(u32::from_be_bytes(profile.get(at..at + 4)?.try_into().ok()?));
    match profile.get(16..20) {
        Some(b"CMYK") => return true,
        Some(b"RGB ") => {}
        _ => return false,
    }
    let count = word(128).unwrap_or(0).min(100) as usize;
    let luminance = |tag: &[u8; 4]| {
        let entry = (0..count).map(|index| 132 + 12 * index).find(|&at| profile.get(at..at + 4) == Some(tag))?;
        Some(f64::from(word(word(entry + 4)? as usize + 12)? as i32) / 65536.0)
    };
    [(b"rXYZ", 0.2225), (b"gXYZ", 0.7169), (b"bXYZ", 0.0606)]
        .into_iter()
        .any(|(tag, srgb)| luminance(tag).is_some_and(|value| (value - srgb).abs() > 0.05))
}

/// Grey in linear light (BT.709), alpha laid on white.
fn to_light(picture: &DynamicImage) -> Option<Light> {
    let (width, height) = (picture.width(), picture.height());
    let lut = &*LINEAR;
    let byte = |value: u8| lut[usize::from(value)];
    let on_white = |light: u16, alpha: u32, full: u32| {
        ((u64::from(light) * u64::from(alpha) + u64::from(WHITE) * u64::from(full - alpha) + u64::from(full) / 2)
            / u64::from(full)) as u16
    };
    let light = match picture {
        DynamicImage::ImageLuma8(grey) => grey.iter().map(|&value| byte(value)).collect(),
        DynamicImage::ImageLumaA8(grey) => {
            grey.as_chunks::<2>().0.iter().map(|&[value, alpha]| on_white(byte(value), alpha.into(), 255)).collect()
        }
        DynamicImage::ImageRgb8(rgb) => rgb.as_chunks::<3>().0.iter().map(|&[r, g, b]| luma(byte(r), byte(g), byte(b))).collect(),
        DynamicImage::ImageRgba8(rgba) => rgba
            .as_chunks::<4>()
            .0
            .iter()
            .map(|&[r, g, b, alpha]| on_white(luma(byte(r), byte(g), byte(b)), alpha.into(), 255))
            .collect(),
        DynamicImage::ImageLuma16(grey) => {
            let wide = wide_table();
            grey.iter().map(|&value| wide(value)).collect()
        }
        DynamicImage::ImageLumaA16(grey) => {
            let wide = wide_table();
            grey.as_chunks::<2>().0.iter().map(|&[value, alpha]| on_white(wide(value), alpha.into(), 65535)).collect()
        }
        DynamicImage::ImageRgb16(rgb) => {
            let wide = wide_table();
            rgb.as_chunks::<3>().0.iter().map(|&[r, g, b]| luma(wide(r), wide(g), wide(b))).collect()
        }
        DynamicImage::ImageRgba16(rgba) => {
            let wide = wide_table();
            let grey = |r, g, b| luma(wide(r), wide(g), wide(b));
            rgba.as_chunks::<4>().0.iter().map(|&[r, g, b, alpha]| on_white(grey(r, g, b), alpha.into(), 65535)).collect()
        }
        _ => return None,
    };
    Some(Light { width, height, light })
}

/// sRGB value to linear light for 16-bit samples.
fn wide_table() -> impl Fn(u16) -> u16 {
    let table: Vec<u16> = (0..=u32::from(u16::MAX)).map(|value| to_linear(f64::from(value) / 65535.0)).collect();
    move |value| table[usize::from(value)]
}

/// Turned upright from one of Exif's eight orientations.
fn turned(light: Light, orientation: u32) -> Light {
    let (width, height) = (light.width as usize, light.height as usize);
    if orientation == 1 {
        return light;
    }
    let swapped = orientation >= 5;
    let (wide, high) = if swapped { (height, width) } else { (width, height) };
    let mut upright = Vec::with_capacity(light.light.len());
    for y in 0..high {
        for x in 0..wide {
            let (from_x, from_y) = match orientation {
                2 => (width - 1 - x, y),
                3 => (width - 1 - x, height - 1 - y),
                4 => (x, height - 1 - y),
                5 => (y, x),
                6 => (y, height - 1 - x),
                7 => (width - 1 - y, height - 1 - x),
                _ => (width - 1 - y, x),
            };
            upright.push(light.light[from_y * width + from_x]);
        }
    }
    Light { width: wide as u32, height: high as u32, light: upright }
}
