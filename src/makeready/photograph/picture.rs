//! A photograph as light.

use std::io::Cursor;

use image::metadata::Orientation;
use image::{DynamicImage, GrayImage, ImageDecoder, ImageReader, Limits, RgbImage};

use super::Refusal;

/// Most pixels.
const MOST: u32 = 64_000_000;

/// Light at each pixel, upright as the camera says.
pub struct Picture {
    pub width: u32,
    pub height: u32,
    /// Linear light, 0 to 1 (IEC 61966-2-1 and ITU-R BT.709).
    pub light: Vec<f32>,
    /// Its lightness as it is stored, for what only looks for shapes.
    pub grey: GrayImage,
    /// As it is shown.
    pub shown: RgbImage,
    /// Focal length in pixels, where the camera says it.
    pub focal: Option<f64>,
    /// The most of red, green and blue at each pixel: where it is 255 light was lost.
    pub brightest: Vec<u8>,
}

impl Picture {
    /// # Errors
    /// [`Refusal::Picture`] for what is no picture or too large.
    pub fn read(bytes: &[u8]) -> Result<Picture, Refusal> {
        let wrong = |error: &dyn std::fmt::Display| Refusal::Picture(error.to_string());
        let mut reader = ImageReader::new(Cursor::new(bytes)).with_guessed_format().map_err(|error| wrong(&error))?;
        let mut limits = Limits::default();
        limits.max_alloc = Some(1 << 30);
        reader.limits(limits);
        let mut decoder = reader.into_decoder().map_err(|error| wrong(&error))?;
        let (width, height) = decoder.dimensions();
        if width.checked_mul(height).is_none_or(|pixels| pixels > MOST) || width.min(height) < 64 {
            return Err(Refusal::Picture(format!("{width} x {height} pixels")));
        }
        let turn = decoder.orientation().unwrap_or(Orientation::NoTransforms);
        let exif = decoder.exif_metadata().ok().flatten();
        let mut image = DynamicImage::from_decoder(decoder).map_err(|error| wrong(&error))?;
        image.apply_orientation(turn);
        let shown = image.to_rgb8();
        let (width, height) = shown.dimensions();
        let linear: [f32; 256] = std::array::from_fn(|value| {
            let value = value as f64 / 255.0;
            (if value <= 0.04045 { value / 12.92 } else { libm::pow((value + 0.055) / 1.055, 2.4) }) as f32
        });
        let at = |channel: u8| linear[usize::from(channel)];
        let light = shown.pixels().map(|pixel| {
            let [red, green, blue] = pixel.0;
            0.2126 * at(red) + 0.7152 * at(green) + 0.0722 * at(blue)
        });
        let diagonal = libm::hypot(f64::from(width), f64::from(height));
        // A full frame's diagonal is 43.27 mm (36 x 24).
        let focal = exif.and_then(|exif| focal_35(&exif)).map(|focal| focal / 43.27 * diagonal);
        Ok(Picture {
            light: light.collect(),
            brightest: shown.pixels().map(|pixel| pixel.0.into_iter().max().unwrap_or(0)).collect(),
            grey: image.to_luma8(),
            width,
            height,
            focal,
            shown,
        })
    }

    /// Light between pixels, whose middles lie at halves; none outside.
    pub fn at(&self, x: f64, y: f64) -> Option<f32> {
        let (x, y) = (x - 0.5, y - 0.5);
        if !(x >= 0.0 && y >= 0.0 && x < f64::from(self.width - 1) && y < f64::from(self.height - 1)) {
            return None;
        }
        let (column, row) = (x as usize, y as usize);
        let (right, down) = ((x - column as f64) as f32, (y - row as f64) as f32);
        let from = row * self.width as usize + column;
        let [a, b] = [self.light[from], self.light[from + 1]];
        let [c, d] = [self.light[from + self.width as usize], self.light[from + self.width as usize + 1]];
        let (above, below) = (a + (b - a) * right, c + (d - c) * right);
        Some(above + (below - above) * down)
    }

    /// The mean light about a place, over so many pixels each way; one is the light there.
    pub fn around(&self, column: f64, row: f64, wide: i32) -> Option<f32> {
        let wide = wide.clamp(1, 4);
        let mut sum = 0.0;
        for part in 0..wide * wide {
            let aside = |step: i32| f64::from(step) - f64::from(wide - 1) / 2.0;
            sum += self.at(column + aside(part % wide), row + aside(part / wide))?;
        }
        Some(sum / (wide * wide) as f32)
    }
}

/// The focal length of a full frame's camera that sees as much, in mm (Exif 2.32, tag A405).
fn focal_35(exif: &[u8]) -> Option<f64> {
    let read = exif::Reader::new().read_raw(exif.to_vec()).ok()?;
    let field = read.get_field(exif::Tag::FocalLengthIn35mmFilm, exif::In::PRIMARY)?;
    field.value.get_uint(0).map(f64::from).filter(|focal| (10.0..=200.0).contains(focal))
}
