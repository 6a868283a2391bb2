//! The pictures of a copy, each encoded once: photographs as JPEG, pictures of few tones as PNG, drawings as outlines.

use std::collections::BTreeMap;

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use image::codecs::jpeg::JpegEncoder;
use image::{ExtendedColorType, ImageEncoder};
use rayon::prelude::*;

use super::page::Page;
use crate::geometry::{Rect, Size};
use crate::language::Wording;
use crate::manual::document::{Document, InlineKind, Kind, Permille};
use crate::pictures::colour::{Element, InColour, Look, Outlines, Pixels};
use crate::pictures::{Error, PictureSet};

/// Most pixels across.
const MOST: u32 = 1600;
/// Of what is shown half as wide.
const SMALLER: u32 = 800;
/// Most bytes of outlines that are kept as such.
const LARGEST: usize = 120_000;
/// Of JPEG, 1 to 100; chosen by eye between 70 (rings around letters) and 90 (twice the bytes).
const QUALITY: u8 = 77;

pub type Crop = Option<Rect<Permille>>;

pub enum Embedded {
    /// As a `data:` address, with its size in pixels.
    Pixels {
        address: String,
        width: u32,
        height: u32,
    },
    Outlines(Outlines),
}

impl Embedded {
    /// Its size, or its proportions.
    pub fn size(&self) -> Size<u32> {
        match self {
            Embedded::Pixels { width, height, .. } => Size::new(*width, *height),
            Embedded::Outlines(outlines) => Size::new(outlines.width, outlines.height),
        }
    }
}

/// Every picture that the manual calls, by address and crop.
pub struct Gallery {
    pictures: BTreeMap<(String, Crop), Picture>,
}

struct Picture {
    embedded: Result<Embedded, Error>,
    /// What it is called inside the page.
    number: usize,
    /// How often it is shown: what is shown twice is written once.
    shown: usize,
}

impl Gallery {
    pub fn of(document: &Document, pictures: &PictureSet) -> Gallery {
        let mut asked: BTreeMap<(String, Crop), (usize, u32)> = BTreeMap::new();
        let mut ask = |address: &str, crop: Crop, most: u32| {
            let entry = asked.entry((address.to_owned(), crop)).or_insert((0, most));
            *entry = (entry.0 + 1, entry.1.max(most));
        };
        document.walk(&mut |_, block| match &block.kind {
            Kind::Figure(figure) => ask(&figure.picture, figure.crop, MOST),
            Kind::Row(figures) => figures.iter().for_each(|figure| ask(&figure.picture, figure.crop, MOST)),
            Kind::Comic(comic) => {
                for panel in &comic.panels {
                    let most = if panel.columns >= comic.columns { MOST } else { SMALLER };
                    panel.picture.iter().for_each(|address| ask(address, None, most));
                }
            }
            Kind::Safety(safety) => safety.sign.iter().for_each(|sign| ask(&format!("sign:{sign}"), None, SMALLER)),
            _ => {}
        });
        document.walk_inlines(&mut |_, inline| {
            if let InlineKind::Picture(picture) = &inline.kind {
                ask(&picture.address, None, MOST);
            }
        });
        let asked: Vec<_> = asked.into_iter().collect();
        let make = |((address, crop), (_, most)): &((String, Crop), (usize, u32))| {
            embedded(pictures, address, *crop, *most, document.header.wording())
        };
        let made: Vec<Result<Embedded, Error>> = asked.par_iter().map(make).collect();
        let pictures = asked.into_iter().zip(made).enumerate();
        let pictures =
            pictures.map(|(number, ((key, (shown, _)), embedded))| (key, Picture { embedded, number, shown })).collect();
        Gallery { pictures }
    }

    /// # Errors
    /// When it cannot be used.
    pub fn get(&self, address: &str, crop: Crop) -> Result<&Embedded, &Error> {
        match self.pictures.get(&(address.to_owned(), crop)) {
            Some(picture) => picture.embedded.as_ref(),
            None => Err(&Error::CodeEmpty),
        }
    }

    /// Drawings that are shown more than once.
    pub fn store(&self, page: &mut Page) {
        let often = self.pictures.values().filter(|picture| picture.shown > 1);
        let often: Vec<(usize, &Outlines)> = often
            .filter_map(|picture| match &picture.embedded {
                Ok(Embedded::Outlines(outlines)) => Some((picture.number, outlines)),
                _ => None,
            })
            .collect();
        if often.is_empty() {
            return;
        }
        page.open("svg", &[("class", "store"), ("width", "0"), ("height", "0"), ("aria-hidden", "true"), ("focusable", "false")]);
        for (number, outlines) in often {
            page.open("symbol", &[("id", &format!("p{number}")), ("viewBox", &outlines.shown.join(" "))]);
            parts(page, &outlines.parts, number);
            page.close();
        }
        page.close();
    }

    /// What stands inside an `svg` whose view is [`Outlines::shown`].
    pub fn draw(&self, page: &mut Page, address: &str, crop: Crop, outlines: &Outlines) {
        let Some(picture) = self.pictures.get(&(address.to_owned(), crop)) else { return };
        if picture.shown > 1 {
            let [x, y, width, height] = outlines.shown.each_ref();
            let name = format!("#p{}", picture.number);
            page.element("use", &[("href", &name), ("x", x), ("y", y), ("width", width), ("height", height)], "");
        } else {
            parts(page, &outlines.parts, picture.number);
        }
    }
}

/// Parts of a drawing, their names made those of this one.
fn parts(page: &mut Page, elements: &[Element], number: usize) {
    for element in elements {
        let attributes: Vec<(&'static str, String)> = element
            .attributes
            .iter()
            .map(|(name, value)| match (*name, value.as_str()) {
                ("id", own) => (*name, format!("p{number}-{own}")),
                (_, value) => (*name, value.replace("url(#", &format!("url(#p{number}-"))),
            })
            .collect();
        let attributes: Vec<(&'static str, &str)> = attributes.iter().map(|(name, value)| (*name, value.as_str())).collect();
        if element.inside.is_empty() {
            page.element(element.name, &attributes, "");
        } else {
            page.open(element.name, &attributes);
            parts(page, &element.inside, number);
            page.close();
        }
    }
}

fn embedded(pictures: &PictureSet, address: &str, crop: Crop, most: u32, wording: Wording) -> Result<Embedded, Error> {
    match pictures.in_colour(address, crop, Look { most, largest: LARGEST, wording })? {
        InColour::Outlines(outlines) => Ok(Embedded::Outlines(outlines)),
        InColour::Pixels(pixels) => {
            let (width, height) = (pixels.width, pixels.height);
            let (kind, bytes) = encoded(&pixels);
            Ok(Embedded::Pixels { address: format!("data:image/{kind};base64,{}", STANDARD.encode(bytes)), width, height })
        }
    }
}

/// The kind and the bytes of a picture file. A photograph as JPEG. What has few tones as PNG, which keeps its edges, unless that takes three times the bytes.
pub fn encoded(pixels: &Pixels) -> (&'static str, Vec<u8>) {
    if pixels.drawing {
        let drawing = png(pixels);
        // Small ones are icons and screens: their pixels count.
        if drawing.len() < 20_000 {
            return ("png", drawing);
        }
        let photograph = jpeg(pixels);
        return if drawing.len() > photograph.len() * 3 { ("jpeg", photograph) } else { ("png", drawing) };
    }
    ("jpeg", jpeg(pixels))
}

fn is_grey(pixels: &Pixels) -> bool {
    pixels.rgb.iter().all(|[r, g, b]| r == g && g == b)
}

fn jpeg(pixels: &Pixels) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut encoder = JpegEncoder::new_with_quality(&mut bytes, QUALITY);
    let (data, kind): (Vec<u8>, _) = match is_grey(pixels) {
        true => (pixels.rgb.iter().map(|[grey, ..]| *grey).collect(), ExtendedColorType::L8),
        false => (pixels.rgb.as_flattened().to_vec(), ExtendedColorType::Rgb8),
    };
    if let (Some(profile), ExtendedColorType::Rgb8) = (&pixels.profile, kind) {
        // Without it colours are a little paler, and nothing worse.
        let _ = encoder.set_icc_profile(profile.clone());
    }
    // Writing into memory does not fail, and the sizes are those of the data.
    let _ = encoder.write_image(&data, pixels.width, pixels.height, kind);
    bytes
}

/// With a palette where it has at most 256 colours.
fn png(pixels: &Pixels) -> Vec<u8> {
    let mut colours: BTreeMap<[u8; 3], u8> = BTreeMap::new();
    for &rgb in &pixels.rgb {
        if !colours.contains_key(&rgb) {
            if colours.len() == 256 {
                colours.clear();
                break;
            }
            colours.insert(rgb, 0);
        }
    }
    colours.values_mut().enumerate().for_each(|(n, index)| *index = n as u8);
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, pixels.width, pixels.height);
    encoder.set_compression(png::Compression::High);
    let data: Vec<u8> = if colours.is_empty() {
        encoder.set_color(png::ColorType::Rgb);
        pixels.rgb.as_flattened().to_vec()
    } else {
        let depth = [1u8, 2, 4, 8].into_iter().find(|depth| colours.len() <= 1 << depth).unwrap_or(8);
        encoder.set_color(png::ColorType::Indexed);
        encoder.set_depth(png::BitDepth::from_u8(depth).unwrap_or(png::BitDepth::Eight));
        encoder.set_palette(colours.keys().flatten().copied().collect::<Vec<u8>>());
        encoder.set_filter(png::Filter::NoFilter);
        let rows = pixels.rgb.chunks(pixels.width as usize);
        rows.flat_map(|row| packed(row.iter().map(|rgb| colours.get(rgb).copied().unwrap_or(0)), depth)).collect()
    };
    if let Ok(mut writer) = encoder.write_header() {
        let _ = writer.write_image_data(&data);
    }
    bytes
}

/// One row of indices, several to a byte, the first in its high bits.
fn packed(row: impl Iterator<Item = u8>, depth: u8) -> Vec<u8> {
    let in_a_byte = 8 / depth;
    let mut bytes = Vec::new();
    for (n, index) in row.enumerate() {
        let place = n as u8 % in_a_byte;
        if place == 0 {
            bytes.push(0);
        }
        if let Some(last) = bytes.last_mut() {
            *last |= index << (8 - depth * (place + 1));
        }
    }
    bytes
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_palette_is_read_back_as_it_was() {
        // Read back by crate `image`.
        for (count, width) in [(2u32, 9u32), (3, 7), (16, 5), (200, 33), (300, 20)] {
            let colour = |n: u32| [(n % count) as u8, (n % count / 7) as u8, 200];
            let rgb: Vec<[u8; 3]> = (0..width * 31).map(colour).collect();
            let pixels = Pixels { width, height: 31, rgb: rgb.clone(), drawing: true, profile: None };
            let read = image::load_from_memory(&png(&pixels)).unwrap().to_rgb8();
            assert_eq!(read.as_raw().as_slice(), rgb.as_flattened(), "{count} colours");
        }
    }
}
