//! From a file's bytes to upright linear light, about as large as it is set: PNG, JPEG, WebP, GIF (first frame), told apart by content.
//!
//! Never opens a file, never trusts a size before it is checked, and never keeps more of a picture than it is asked for.

mod boxes;
mod jpeg;
mod png;
mod profile;
mod whole;

use std::io::Cursor;

use image::{ImageFormat, ImageReader};

use super::error::{Error, one_line};
use super::foreign;
use super::tone::{Kernel, Light, WHITE, Window};
use crate::geometry::Size;
use boxes::Boxes;
use profile::Space;

/// Largest file read, in bytes.
pub const FILE_LIMIT: u64 = 64 << 20;
/// Most pixels of a picture: more than the sensor of any telephone has.
const PIXEL_LIMIT: u64 = 300_000_000;
/// Most bytes that a decoder may need for what it cannot do in parts: with the rest of the program it stays under 150 MiB.
const BYTE_LIMIT: u64 = 104 << 20;
/// What is averaged by whole boxes is kept so many times as large as it is set, each way: the rest is left to a better kernel.
const SPARE: u32 = 2;
const CUT_SHORT: &str = "the file ends before the picture does";

/// What the writer should know about a picture that was taken all the same.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Remark {
    /// Inks instead of light: converted without a profile, so tones can be off.
    Cmyk,
    /// Drawn in white on nothing, and so shown in black.
    WhiteOnClear,
    /// Nothing of it is darker than paper.
    Blank,
    /// The thing could not be told from what surrounds it, which is kept.
    BackgroundKept,
    /// The drawing refers to something outside of itself, which is left out.
    OutsideReference,
    /// The drawing holds text in a face that we don't have; another is taken.
    OtherFace,
}

impl Remark {
    /// The rule of preflight that it is a finding of.
    pub fn rule(self) -> &'static str {
        match self {
            Remark::Blank => "picture-blank",
            Remark::BackgroundKept => "background-kept",
            Remark::Cmyk | Remark::WhiteOnClear | Remark::OutsideReference | Remark::OtherFace => "picture-colours",
        }
    }

    /// One sentence for a finding.
    pub fn text(self) -> &'static str {
        match self {
            Remark::Cmyk => "the picture is made for printing inks (CMYK): its greys are converted without a colour profile",
            Remark::WhiteOnClear => {
                "the picture is white on a clear ground, for dark screens: what is white in it is printed black"
            }
            Remark::Blank => "nothing of the picture is darker than paper: it prints as an empty place",
            Remark::BackgroundKept => {
                "the thing cannot be told safely from its background, which is kept: crop closer, or show it on plain paper"
            }
            Remark::OutsideReference => "the drawing refers to another file or address, which is left out: embed it",
            Remark::OtherFace => "the drawing asks for a face that is not built in: another one is taken",
        }
    }
}

/// The kinds that are read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kind {
    Jpeg,
    Png,
    WebP,
    Gif,
}

/// What a file's header says, before it is turned upright.
#[derive(Debug)]
struct Stored {
    kind: Kind,
    width: u32,
    height: u32,
    inks: bool,
    exif: Option<Vec<u8>>,
    profile: Option<Vec<u8>>,
    /// Bytes that its decoder needs for what it cannot do in parts.
    whole: u64,
}

/// Why a file is refused; the address is added by the room's door.
enum Refusal {
    Broken(String),
    TooLarge(String),
}

impl Refusal {
    fn of(self, address: &str) -> Error {
        match self {
            Refusal::Broken(reason) => Error::Broken { address: address.into(), reason },
            Refusal::TooLarge(reason) => Error::TooLarge { address: address.into(), reason },
        }
    }
}

/// Of what is decoded in one piece.
fn too_much(what: &str) -> String {
    format!("{what} is decoded in one piece, and this one would need more than {} MiB", BYTE_LIMIT >> 20)
}

/// What is known of a picture of pixels without decoding it.
#[derive(Debug)]
pub struct Head {
    file: Stored,
    orientation: u32,
    space: Space,
    /// Upright size in pixels.
    pub width: u32,
    pub height: u32,
    pub remarks: Vec<Remark>,
}

/// What a picture is decoded for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Need {
    /// The whole upright picture, in dots, shall not come out smaller than this where it has as many pixels.
    pub least: Size<u32>,
    /// Whether its colours are wanted beside its light.
    pub colour: bool,
}

impl Need {
    /// Every pixel, in light only.
    pub const ALL: Need = Need { least: Size::new(u32::MAX, u32::MAX), colour: false };
}

/// A picture, upright, about as large as it was needed.
#[derive(Debug)]
pub struct Reduced {
    pub light: Light,
    /// sRGB of each pixel, if it was wanted.
    pub colour: Option<Vec<[u8; 3]>>,
    /// Pixels of the file for each pixel here, across and down.
    pub step: Size<u32>,
    pub remarks: Vec<Remark>,
}

impl Reduced {
    /// The colours of a part, scaled to `width` x `height`, if they were wanted.
    pub fn colour_of(&self, part: Window, width: u32, height: u32) -> Option<Vec<[u8; 3]>> {
        let colour = self.colour.as_ref()?;
        let channels: [Vec<u16>; 3] = [0, 1, 2].map(|n| {
            let light = colour.iter().map(|colour| u16::from(colour[n]) * 257).collect();
            let whole = Light { width: self.light.width, height: self.light.height, light };
            whole.scaled(part, width, height, Kernel::Area).light
        });
        let [red, green, blue] = channels;
        let byte = |value: u16| (value >> 8) as u8;
        Some(red.into_iter().zip(green.into_iter().zip(blue)).map(|(r, (g, b))| [byte(r), byte(g), byte(b)]).collect())
    }

    /// A part of the picture of the file in pixels of this one.
    pub fn window(&self, window: Window) -> Window {
        let Size { width: across, height: down } = self.step.map(f64::from);
        Window { left: window.left / across, top: window.top / down, width: window.width / across, height: window.height / down }
    }
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

/// What kind of picture the bytes are, whatever they are called; none of those that can be set when `None`.
pub fn kind(bytes: &[u8]) -> Option<&'static str> {
    match image::guess_format(bytes) {
        Ok(ImageFormat::Png) => Some("png"),
        Ok(ImageFormat::Jpeg) => Some("jpeg"),
        Ok(ImageFormat::WebP) => Some("webp"),
        Ok(ImageFormat::Gif) => Some("gif"),
        _ => is_drawing(bytes).then_some("svg"),
    }
}

/// Width and height as the file's head says them, whatever comes after it.
pub fn size(bytes: &[u8]) -> Option<Size<u32>> {
    let (width, height) = ImageReader::new(Cursor::new(bytes)).with_guessed_format().ok()?.into_dimensions().ok()?;
    Some(Size::new(width, height))
}

/// Reads the header of a PNG, JPEG, WebP or GIF file.
///
/// # Errors
/// When the bytes are of no such kind, broken, or would take more than the limits above.
pub fn head(bytes: &[u8], address: &str) -> Result<Head, Error> {
    let read = match image::guess_format(bytes) {
        Ok(ImageFormat::Png) => png::head(bytes),
        Ok(ImageFormat::Jpeg) => jpeg::head(bytes),
        Ok(ImageFormat::WebP) => whole::head(bytes, Kind::WebP),
        Ok(ImageFormat::Gif) => whole::head(bytes, Kind::Gif),
        _ => return Err(Error::UnknownKind { address: address.into(), other: foreign::kind(bytes) }),
    };
    let file = read.map_err(|refusal| refusal.of(address))?;
    let pixels = u64::from(file.width) * u64::from(file.height);
    if pixels == 0 {
        return Err(Refusal::Broken("it has no pixels".into()).of(address));
    }
    if pixels > PIXEL_LIMIT {
        let most = PIXEL_LIMIT / 1_000_000;
        let reason = format!("{} x {} pixels, where {most} million are the most", file.width, file.height);
        return Err(Refusal::TooLarge(reason).of(address));
    }
    let orientation = file.exif.as_deref().map_or(1, orientation);
    let space = file.profile.as_deref().filter(|_| !file.inks).map_or_else(Space::default, Space::of_profile);
    let remarks = if file.inks { vec![Remark::Cmyk] } else { Vec::new() };
    let (mut width, mut height) = (file.width, file.height);
    if orientation >= 5 {
        (width, height) = (height, width);
    }
    Ok(Head { file, orientation, space, width, height, remarks })
}

impl Head {
    /// The profile that its colours need to be shown right; none when they are sRGB, or their profile is not worth its bytes.
    pub fn wide_profile(&self) -> Option<&[u8]> {
        const MOST: usize = 4096;
        let profile = self.file.profile.as_deref().filter(|profile| !self.file.inks && profile.len() <= MOST)?;
        // ICC.1:2022, 7.2: the space of its colours stands at byte 16.
        (profile.get(16..20) == Some(b"RGB ") && !self.space.is_srgb()).then_some(profile)
    }

    /// A size of the upright picture as the file has it.
    fn stored(&self, size: Size<u32>) -> Size<u32> {
        if self.orientation >= 5 { Size::new(size.height, size.width) } else { size }
    }

    /// Bytes that [`decode`] needs besides those of the file.
    pub fn work(&self, need: &Need) -> u64 {
        match self.file.kind {
            Kind::Jpeg => jpeg::work(self, need),
            Kind::Png => png::work(self, need),
            Kind::WebP | Kind::Gif => self.file.whole + png::work(self, need),
        }
    }
}

/// Decodes the file whose header was read. Takes no thread of the pool, so it may be waited for while something is held.
///
/// # Errors
/// When the bytes are broken or cut short.
pub fn decode(bytes: &[u8], address: &str, head: &Head, need: &Need) -> Result<Reduced, Error> {
    let read = match head.file.kind {
        Kind::Jpeg => jpeg::decode(bytes, head, need),
        Kind::Png => png::decode(bytes, head, need),
        Kind::WebP | Kind::Gif => whole::decode(bytes, head, need),
    };
    let (boxes, by): (Boxes, _) = read.map_err(|refusal| refusal.of(address))?;
    let mean = boxes.finish();
    let mut remarks = head.remarks.clone();
    if mean.white_on_clear {
        remarks.push(Remark::WhiteOnClear);
    }
    let step = head.stored(Size::new(by.width * mean.across, by.height * mean.down));
    let (width, height) = (mean.light.width as usize, mean.light.height as usize);
    let colour = mean.colour.map(|colour| turned(&colour, width, height, head.orientation));
    let light = turned(&mean.light.light, width, height, head.orientation);
    let (width, height) = if head.orientation >= 5 { (height, width) } else { (width, height) };
    Ok(Reduced { light: Light { width: width as u32, height: height as u32, light }, colour, step, remarks })
}

/// Light of which so much of `full` covers white paper.
fn on_white(light: u16, alpha: u32, full: u32) -> u16 {
    let (light, alpha, full) = (u64::from(light), u64::from(alpha), u64::from(full));
    ((light * alpha + u64::from(WHITE) * (full - alpha) + full / 2) / full) as u16
}

/// The orientation tag of an Exif block, 1 when there is none or it makes no sense (Exif 2.3, tag 0x0112).
fn orientation(block: &[u8]) -> u32 {
    let block = block.strip_prefix(b"Exif\0\0").unwrap_or(block).to_vec();
    let read = exif::Reader::new().read_raw(block).ok();
    let value = read.as_ref().and_then(|exif| exif.get_field(exif::Tag::Orientation, exif::In::PRIMARY)?.value.get_uint(0));
    value.filter(|value| (1..=8).contains(value)).unwrap_or(1)
}

/// Turned upright from one of Exif's eight orientations.
fn turned<T: Copy>(pixels: &[T], width: usize, height: usize, orientation: u32) -> Vec<T> {
    if orientation == 1 {
        return pixels.to_vec();
    }
    let swapped = orientation >= 5;
    let (wide, high) = if swapped { (height, width) } else { (width, height) };
    let mut upright = Vec::with_capacity(pixels.len());
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
            upright.push(pixels[from_y * width + from_x]);
        }
    }
    upright
}
