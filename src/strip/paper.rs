//! A strip as it will lie on the table: warm grey thermal paper with torn ends, folds that catch the light, dots a little
//! larger than they should be. For looking at; what is printed is [`super::png`]'s picture.
//!
//! Integer arithmetic and a fixed grain: the same strip gives the same picture everywhere.

use png::{BitDepth, ColorType, Encoder};

use super::{Strip, png as plain};
use crate::bitmap::Bitmap;
use crate::lengths::Dots;

/// Longest strip that is shown: 25 m at 8 dots/mm, a picture of some 140 million dots.
pub const MOST_ROWS: u32 = 200_000;

/// Table around the paper, in dots.
const TABLE: i32 = 28;
/// Paper past the first and the last row before it is torn.
const LEAD: i32 = 22;
/// How far the torn edge wanders.
const TEAR: i32 = 14;
/// Pitch of the tear bar's teeth.
const TOOTH: i32 = 13;
/// Rows over which a fold shades the paper on either side.
const CREASE: i32 = 26;
/// Tones of paper and print in the palette; the entries behind them are shadow, from none to full.
const TONES: i32 = 224;
/// Entries of shadow.
const SHADES: i32 = 256 - TONES;
/// Tone of flat paper.
const PAPER: i32 = 199;

/// The picture, eight bits deep with a palette, transparent around the paper. `paper_width` in dots, as wide as the strip or wider.
///
/// `None` when the strip is longer than [`MOST_ROWS`].
pub fn write(strip: &Strip, paper_width: Dots) -> Option<Vec<u8>> {
    if strip.bitmap.height() > MOST_ROWS {
        return None;
    }
    let scene = Scene::new(strip, paper_width.0);
    let (width, height) = (scene.width + 2 * TABLE, scene.height + 2 * TABLE);
    let mut bytes = Vec::new();
    let mut encoder = Encoder::new(&mut bytes, width as u32, height as u32);
    encoder.set_color(ColorType::Indexed);
    encoder.set_depth(BitDepth::Eight);
    let (colours, alphas) = palette();
    encoder.set_palette(colours);
    encoder.set_trns(alphas);
    plain::finish(encoder, strip.resolution, plain::BALANCED, 0..height, |y, out| {
        out.extend((0..width).map(|x| scene.pixel(x - TABLE, y - TABLE)));
    });
    Some(bytes)
}

/// From the print's near-black to paper lit from above, then the table's shadow.
fn palette() -> (Vec<u8>, Vec<u8>) {
    let (dark, light) = ([43, 41, 47], [255, 252, 244]);
    let tone = |tone: i32| (0..3).map(move |part| (dark[part] + (light[part] - dark[part]) * tone / (TONES - 1)) as u8);
    let mut colours: Vec<u8> = (0..TONES).flat_map(tone).collect();
    colours.extend([28u8, 26, 34].repeat(SHADES as usize));
    let mut alphas = vec![255; TONES as usize];
    alphas.extend((0..SHADES).map(|shade| (shade * 96 / (SHADES - 1)) as u8));
    (colours, alphas)
}

struct Scene<'a> {
    dots: &'a Bitmap,
    /// Of the paper, without the table.
    width: i32,
    height: i32,
    /// Left edge of the print on the paper.
    left: i32,
    /// Where the paper ends at each column: first row of it and first row past it.
    ends: Vec<(i32, i32)>,
    /// For each row of paper, how much lighter or darker the folds make it.
    light: Vec<i32>,
    /// Rows of the paper that the blade went through.
    cuts: Vec<i32>,
}

impl<'a> Scene<'a> {
    fn new(strip: &'a Strip, paper_width: i32) -> Scene<'a> {
        let (wide, rows) = (strip.bitmap.width() as i32, strip.bitmap.height() as i32);
        let width = paper_width.max(wide);
        let height = rows + 2 * LEAD;
        let torn = |x: i32, edge: u32| {
            // The bar's teeth, torn more or less along, on a slow wander.
            let wander = noise(x, 0, 83, edge) * 6 / 255;
            let tooth = (x.rem_euclid(2 * TOOTH) - TOOTH).abs() * (60 + noise(x, 0, 19, edge + 1) / 4) / 100 * 6 / TOOTH;
            (wander + tooth + noise(x, 0, 3, edge + 2) * 2 / 255).min(TEAR)
        };
        let ends = (0..width).map(|x| (torn(x, 11), height - torn(x, 23))).collect();
        let mut light = vec![0; height as usize];
        for (index, panel) in strip.panels.iter().enumerate() {
            let (top, bottom) = (panel.top as i32 + LEAD, panel.bottom as i32 + LEAD);
            let first = if index == 0 { 0 } else { top };
            let last = if index + 1 == strip.panels.len() { height } else { bottom };
            let leaning = strip.panels.len() > 1;
            for y in first.max(0)..last.min(height) {
                // Panels of a zigzag lean to the light and away from it in turn.
                let lean = if !leaning {
                    0
                } else if index % 2 == 0 {
                    5
                } else {
                    -6
                };
                light[y as usize] += lean;
            }
            if index > 0 {
                crease(&mut light, top, index % 2 == 0);
            }
        }
        let cuts = strip.cuts.iter().map(|&row| row as i32 + LEAD).filter(|&row| row > LEAD && row < height - LEAD).collect();
        Scene { dots: &strip.bitmap, width, height, left: (width - wide) / 2, ends, light, cuts }
    }

    /// The palette entry at a place on the paper or on the table around it.
    fn pixel(&self, x: i32, y: i32) -> u8 {
        let end = usize::try_from(x).ok().and_then(|x| self.ends.get(x));
        let Some(&(top, bottom)) = end.filter(|(top, bottom)| (*top..*bottom).contains(&y)) else {
            return (TONES + self.shadow(x, y)) as u8;
        };
        let mut tone = PAPER + self.light[y as usize];
        // Large soft clouds and a fine grain.
        tone += (noise(x, y, 90, 1) - 128) * 6 / 128 + (hash(x, y, 2) as i32 % 5) - 2;
        // The paper curls a little, so its sides fall away from the light.
        let side = x.min(self.width - 1 - x);
        tone -= (40 - side).max(0) * (40 - side).max(0) / 150;
        // Torn fibres are lighter than the coating.
        let edge = (y - top).min(bottom - 1 - y);
        if edge < 3 {
            tone += 9 - 3 * edge;
        }
        for &cut in &self.cuts {
            tone -= self.blade(x, y - cut);
        }
        self.print(x - self.left, y - LEAD, tone).clamp(0, TONES - 1) as u8
    }

    /// A cut is a hairline with a shadow below it, but for the point that is left standing in the middle.
    fn blade(&self, x: i32, below: i32) -> i32 {
        if (x - self.width / 2).abs() < 8 {
            return 0;
        }
        match below {
            0 => 150,
            1 => 90,
            2..=7 => 28 - 4 * (below - 2),
            -3..=-1 => -12,
            _ => 0,
        }
    }

    /// The tone with the print on it: dots grow into their neighbours, and single dots come out weaker than dense ones.
    fn print(&self, x: i32, y: i32, tone: i32) -> i32 {
        if !(-1..=self.dots.width() as i32).contains(&x) || !(-1..=self.dots.height() as i32).contains(&y) {
            return tone;
        }
        let black = |right: i32, down: i32| i32::from(self.dots.get(x + right, y + down));
        let beside = black(-1, 0) + black(1, 0) + black(0, -1) + black(0, 1);
        if black(0, 0) == 1 {
            16 - 3 * beside + (hash(x, y, 3) as i32 % 9)
        } else if beside > 0 {
            tone - tone * beside * 7 / 100
        } else {
            tone
        }
    }

    /// How deep the paper's shadow lies on the table: it falls down and to the right and fades out.
    fn shadow(&self, x: i32, y: i32) -> i32 {
        const REACH: i32 = 22;
        let beyond = |at: i32, from: i32, to: i32| (from - at).max(at - to).max(0);
        let (across, down) = (beyond(x - 2, 2, self.width - 3), beyond(y - 4, 10, self.height - 10));
        let distance = across.max(down) + across.min(down) / 2;
        let near = (REACH - distance).max(0);
        (SHADES - 1) * near * near / (REACH * REACH)
    }
}

/// Shades a fold: a ridge catches the light above and throws a shadow below, a valley gathers it on both sides.
fn crease(light: &mut [i32], at: i32, ridge: bool) {
    for away in -CREASE..CREASE {
        let Some(row) = usize::try_from(at + away).ok().and_then(|row| light.get_mut(row)) else {
            continue;
        };
        let near = CREASE - away.abs();
        let fall = near * near / CREASE;
        *row += match (ridge, away) {
            (true, -1 | 0) => 16,
            (true, ..-1) => fall * 9 / CREASE,
            (true, _) => -fall * 16 / CREASE,
            (false, -1 | 0) => -44,
            (false, _) => -fall * 20 / CREASE,
        };
    }
}

/// A number that looks random and is always the same for a place.
fn hash(x: i32, y: i32, layer: u32) -> u32 {
    let mut mixed = (x as u32).wrapping_mul(0x9E37_79B1) ^ (y as u32).wrapping_mul(0x85EB_CA77) ^ layer.wrapping_mul(0xC2B2_AE3D);
    mixed ^= mixed >> 15;
    mixed = mixed.wrapping_mul(0x2C1B_3C6D);
    mixed ^= mixed >> 12;
    mixed = mixed.wrapping_mul(0x297A_2D39);
    (mixed ^ mixed >> 15) >> 8
}

/// Random tones 0 to 255 at the corners of squares `step` wide, blended between.
fn noise(x: i32, y: i32, step: i32, layer: u32) -> i32 {
    let (left, top) = (x.div_euclid(step), y.div_euclid(step));
    let (right, down) = (x.rem_euclid(step), y.rem_euclid(step));
    let corner = |across: i32, below: i32| (hash(left + across, top + below, layer) & 255) as i32;
    let blend = |from: i32, to: i32, part: i32| (from * (step - part) + to * part) / step;
    blend(blend(corner(0, 0), corner(1, 0), right), blend(corner(0, 1), corner(1, 1), right), down)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lengths::Resolution;
    use crate::strip::Panel;

    #[test]
    fn the_print_stands_on_the_paper_dot_for_dot() {
        let mut bitmap = Bitmap::new(64, 90);
        bitmap.fill(8, 8, 20, 20, true);
        bitmap.set(50, 60, true);
        let mut strip = Strip::new(bitmap, Resolution::EIGHT);
        strip.panels = vec![Panel { top: 0, bottom: 45 }, Panel { top: 45, bottom: 90 }];
        strip.cuts = vec![70];
        let bytes = write(&strip, Dots(80)).expect("short enough");
        assert_eq!(Some(&bytes), write(&strip, Dots(80)).as_ref(), "the same every time");
        let mut reader = png::Decoder::new(std::io::Cursor::new(&bytes)).read_info().expect("a PNG");
        let mut pixels = vec![0; reader.output_buffer_size().expect("a size")];
        reader.next_frame(&mut pixels).expect("whole");
        let (width, height) = (reader.info().width, reader.info().height);
        assert_eq!((width, height), (80 + 2 * TABLE as u32, 90 + 2 * (LEAD + TABLE) as u32));
        let tone = |x: i32, y: i32| pixels[((y + TABLE + LEAD) * width as i32 + x + TABLE + 8) as usize];
        for y in 0..90 {
            for x in 0..64 {
                if y != 70 && y != 71 {
                    assert_eq!(tone(x, y) < 30, strip.bitmap.get(x, y), "dot {x},{y} is {}", tone(x, y));
                }
            }
        }
        assert_eq!(pixels[0] as i32, TONES, "the corner is clear of shadow");
    }
}
