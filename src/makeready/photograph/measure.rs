//! What the flat strip shows, in numbers; of several photographs together.

use super::Refusal;
use super::camera::{self, Camera};
use super::find::{self, Found};
use super::flat::{FINE, Flat};
use super::picture::Picture;
use super::sheet::{self, COMBS, Sheet, TOOTH};
use crate::geometry::{Point, Rect, Size};
use crate::makeready::marks;

/// Most softness of an edge, in dots, and fewest pixels a dot.
const SOFT: f64 = 1.6;
const SMALL: f64 = 0.7;
/// Patches of one grey that lie further from their mean than this, in points, are no measurement of a tone within two points.
const AGREE: f64 = 0.85;
/// A column whose line has less than this of its neighbours' darkness is dead; with less than this it is weak; between the first two
/// nothing is claimed.
const DEAD: f64 = 0.30;
const ALIVE: f64 = 0.45;
const WEAK: f64 = 0.72;
/// With fewer pixels a dot none is called weak: a line's neighbours take too much of its darkness.
const TELLING: f64 = 1.2;

/// How one photograph was read.
pub struct Seen {
    pub camera: Camera,
    pub found: Vec<Found>,
    /// Softness of edges, dots.
    pub blur: f64,
    flat: Flat,
}

/// A grey: share of dots that are black, darkness on paper, and how far its patches lie apart.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tone {
    pub percent: u32,
    pub asked: f64,
    pub seen: f64,
    pub spread: f64,
}

/// A thin line: as wide as it was printed, and as it came out at its thinnest, in dots.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line {
    pub width: i32,
    pub black: bool,
    pub along: bool,
    pub came_out: f64,
    pub thinnest: f64,
}

/// Length of a row beside a column's width, and its standard deviation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ratio {
    pub value: f64,
    pub spread: f64,
}

/// What was measured. What is `None` or missing was in no photograph, or not sure.
#[derive(Clone, Debug, Default)]
pub struct Reading {
    pub ratio: Option<Ratio>,
    pub tones: Vec<Tone>,
    /// Why there are no tones.
    pub no_tones: Option<String>,
    /// Columns that print nothing, and that print less; none if not all could be seen.
    pub dead: Option<Vec<u32>>,
    pub weak: Vec<u32>,
    /// Columns of which nothing is claimed.
    pub unsure: Vec<u32>,
    /// Darkness of solid black in twelve parts from left to right, as a share of the darkest.
    pub density: Vec<f64>,
    pub lines: Vec<Line>,
    /// Dots a module of the codes that were read, and that were not.
    pub codes: Vec<(i32, bool)>,
}

/// Reads photographs of one strip. What refuses one of them refuses it alone; the rest are read.
///
/// # Errors
/// Why none of them can be read: one refusal each.
pub fn read(pictures: &[Result<Picture, Refusal>], sheet: &Sheet) -> (Vec<Result<Seen, Refusal>>, Option<Reading>) {
    let seen: Vec<Result<Seen, Refusal>> = pictures
        .iter()
        .map(|picture| match picture {
            Ok(picture) => look(picture, sheet),
            Err(refusal) => Err(refusal.clone()),
        })
        .collect();
    let good: Vec<&Seen> = seen.iter().flatten().collect();
    let reading = (!good.is_empty()).then(|| together(&good, sheet));
    (seen, reading)
}

fn look(picture: &Picture, sheet: &Sheet) -> Result<Seen, Refusal> {
    let mut found = find::marks(picture);
    if found.iter().filter(|mark| mark.number >= marks::SQUARES).count() > 3 {
        return Err(Refusal::Strips);
    }
    found.retain(|mark| mark.number < marks::SQUARES);
    if found.windows(2).any(|pair| pair[0].number == pair[1].number) {
        return Err(Refusal::Twice);
    }
    let half = Size::new(sheet.bitmap.width(), sheet.bitmap.height()).map(|side| f64::from(side) / 2.0);
    let place = |number: usize| {
        let (_, at) = sheet.marks.iter().find(|(known, _)| *known == number)?;
        Some(*at - Point::new(half.width, half.height))
    };
    found.retain(|mark| place(mark.number).is_some());
    let places: Vec<Point<f64>> = found.iter().filter_map(|mark| place(mark.number)).collect();
    let sides = [places.iter().filter(|place| place.x < 0.0).count(), places.iter().filter(|place| place.x > 0.0).count()];
    if found.len() < 6 || sides.iter().any(|&side| side < 2) {
        return Err(Refusal::Marks(found.len()));
    }
    let middles: Vec<Point<f64>> = found.iter().map(|mark| mark.middle).collect();
    let size = Size::new(picture.width, picture.height).map(f64::from);
    let camera = camera::fit(&places, &middles, size, half.height, picture.focal)?;
    let least = found.iter().map(|mark| mark.shortest() / f64::from(marks::SIDE)).fold(f64::INFINITY, f64::min);
    if least < SMALL {
        return Err(Refusal::Small(least));
    }
    let blur = found.iter().map(|mark| mark.blur / mark.shortest() * f64::from(marks::SIDE)).fold(0.0, f64::max);
    if blur > SOFT {
        return Err(Refusal::Blurred(blur));
    }
    let flat = Flat::of(picture, &camera, sheet)?;
    Ok(Seen { camera, found, blur, flat })
}

fn together(seen: &[&Seen], sheet: &Sheet) -> Reading {
    let mut reading = Reading { ratio: ratio(seen), ..Reading::default() };
    columns(seen, sheet, &mut reading);
    match tones(seen, sheet, &reading) {
        Ok(tones) => reading.tones = tones,
        Err(why) => reading.no_tones = Some(why),
    }
    reading.density = density(seen, sheet);
    reading.lines = sheet.thin.iter().filter_map(|thin| seen.iter().find_map(|seen| line(&seen.flat, *thin))).collect();
    reading.codes = codes(seen, sheet);
    reading
}

/// Each photograph counts by how sure it is; if they contradict each other, or all together are not sure, nothing is said.
fn ratio(seen: &[&Seen]) -> Option<Ratio> {
    // A camera whose marks lie on a short piece knows little; 0.3 % in all is wanted, and twice its deviation is given.
    let all: Vec<(f64, f64)> = seen.iter().map(|seen| (seen.camera.ratio, seen.camera.ratio_spread.max(0.000_3))).collect();
    let weight: f64 = all.iter().map(|(_, spread)| 1.0 / (spread * spread)).sum();
    let mean = all.iter().map(|(ratio, spread)| ratio / (spread * spread)).sum::<f64>() / weight;
    let spread = libm::sqrt(1.0 / weight);
    let agree = all.iter().all(|(ratio, own)| (ratio - mean).abs() < 3.0 * own + 0.001);
    (agree && spread < 0.001).then_some(Ratio { value: mean, spread })
}

/// The columns of an area that lie apart from those that print nothing or less.
pub fn sound_columns(area: Rect<i32>, reading: &Reading) -> Vec<i32> {
    let faulty: Vec<i32> =
        reading.dead.iter().flatten().chain(&reading.weak).chain(&reading.unsure).map(|&column| column as i32).collect();
    (area.x..area.x + area.width).filter(|x| faulty.iter().all(|other| (other - x).abs() > 4)).collect()
}

fn tones(seen: &[&Seen], sheet: &Sheet, reading: &Reading) -> Result<Vec<Tone>, String> {
    // A column that prints nothing makes a patch lighter, and is no gain.
    if reading.dead.is_none() {
        return Err("it is not known which columns print".to_string());
    }
    let mut tones = Vec::new();
    for percent in sheet::GREYS {
        let mut all = Vec::new();
        for patch in sheet.patches.iter().filter(|patch| patch.percent == percent) {
            let area = patch.area;
            let columns = sound_columns(area, reading);
            if columns.len() < 8 {
                continue;
            }
            let count = columns.len() as f64;
            let black = |&x: &i32| (area.y..area.y + area.height).filter(|&y| sheet.bitmap.get(x, y)).count() as f64;
            let asked = columns.iter().map(black).sum::<f64>() / (count * f64::from(area.height));
            for seen in seen {
                let dark: Option<f64> =
                    columns.iter().map(|&x| seen.flat.mean(Rect { x, width: 1, ..area })).sum::<Option<f64>>();
                all.extend(dark.map(|dark| (asked, dark / count)));
            }
        }
        if all.is_empty() {
            continue;
        }
        let count = all.len() as f64;
        let mean = |part: fn(&(f64, f64)) -> f64| all.iter().map(part).sum::<f64>() / count;
        let (asked, dark) = (mean(|pair| pair.0), mean(|pair| pair.1));
        let spread = all.iter().map(|(_, other)| (other - dark).abs()).fold(0.0, f64::max);
        if spread * 100.0 > AGREE {
            return Err(format!("the patches of {percent} percent differ by {:.1} points from place to place", spread * 200.0));
        }
        tones.push(Tone { percent, asked, seen: dark, spread });
    }
    if tones.len() < sheet::GREYS.len() {
        return Err("not all grey patches are in the photographs".to_string());
    }
    if tones.windows(2).any(|pair| pair[1].seen < pair[0].seen - if pair[0].seen > 0.95 { 0.03 } else { 0.0 }) {
        return Err("greys do not get darker one by one".to_string());
    }
    Ok(tones)
}

/// Darkness of each column's own line beside those of its comb's neighbours.
fn columns(seen: &[&Seen], sheet: &Sheet, reading: &mut Reading) {
    let width = sheet.bitmap.width() as i32;
    let mut values: Vec<Option<f64>> = vec![None; width as usize];
    for seen in seen {
        for (comb, &top) in sheet.combs.iter().enumerate() {
            let shift = comb_shift(&seen.flat, comb as i32, top);
            for x in (comb as i32..width).step_by(COMBS as usize) {
                let Some(shift) = shift else { continue };
                // Half a pitch to each side.
                let left = x * FINE + FINE / 2 - COMBS * FINE / 2 + shift;
                let right = left + COMBS * FINE;
                if let Some(mean) = seen.flat.mean_of(left, (top + 2) * FINE, right - left, (TOOTH - 4) * FINE) {
                    let dark = mean * f64::from(right - left) / f64::from(FINE);
                    let value = &mut values[x as usize];
                    *value = Some(value.map_or(dark, |other| (other + dark) / 2.0));
                }
            }
        }
    }
    if values.iter().any(Option::is_none) {
        return;
    }
    let values: Vec<f64> = values.into_iter().flatten().collect();
    let mut dead = Vec::new();
    let telling = seen.iter().all(|seen| seen.camera.pixels >= TELLING);
    for (x, value) in values.iter().enumerate() {
        // Around it in its own comb, and in all others.
        let mut near: Vec<f64> = values[x.saturating_sub(28)..(x + 29).min(values.len())].to_vec();
        near.sort_by(f64::total_cmp);
        let usual = near[near.len() * 6 / 10].max(0.2);
        match value / usual {
            share if share < DEAD => dead.push(x as u32),
            share if share < ALIVE => reading.unsure.push(x as u32),
            share if share < WEAK && telling => reading.weak.push(x as u32),
            _ => {}
        }
    }
    // One doubtful column, and nothing is claimed of any.
    reading.dead = reading.unsure.is_empty().then_some(dead);
}

/// By how many samples a whole comb lies to the right of where it should, or to the left.
fn comb_shift(flat: &Flat, comb: i32, top: i32) -> Option<i32> {
    let strength = |shift: i32| {
        let (mut sum, mut count) = (0.0, 0.0);
        for x in (comb + COMBS..(flat.width / FINE - 2 * super::flat::MARGIN - COMBS)).step_by(COMBS as usize) {
            let mean = flat.mean_of(x * FINE + shift, (top + 2) * FINE, FINE, (TOOTH - 4) * FINE)?;
            (sum, count) = (sum + mean, count + 1.0);
        }
        Some(sum / f64::max(count, 1.0))
    };
    let all: Option<Vec<(i32, f64)>> = (-FINE..=FINE).map(|shift| Some((shift, strength(shift)?))).collect();
    all?.into_iter().max_by(|one, two| one.1.total_cmp(&two.1)).map(|(shift, _)| shift)
}

fn density(seen: &[&Seen], sheet: &Sheet) -> Vec<f64> {
    const PARTS: i32 = 12;
    let band = sheet.band;
    let part = |at: i32| {
        let (left, right) = (band.width * at / PARTS, band.width * (at + 1) / PARTS);
        let area =
            Rect { x: left.max(8), y: band.y + 8, width: right.min(band.width - 8) - left.max(8), height: band.height - 16 };
        seen.iter().find_map(|seen| seen.flat.mean(area))
    };
    let all: Option<Vec<f64>> = (0..PARTS).map(part).collect();
    let all = all.unwrap_or_default();
    let most = all.iter().copied().fold(f64::MIN_POSITIVE, f64::max);
    all.iter().map(|value| value / most).collect()
}

/// How wide a line came out: its darkness, or whiteness, added up across it, piece by piece along it.
fn line(flat: &Flat, thin: sheet::Thin) -> Option<Line> {
    let reach = 7;
    let area = thin.area;
    let length = if thin.along { area.height } else { area.width };
    let pieces = (length - 12) / 4;
    let mut widths = Vec::new();
    for piece in 0..pieces {
        let at = 6 + piece * 4;
        let across = if thin.along {
            Rect { x: area.x - reach, y: area.y + at, width: area.width + 2 * reach, height: 4 }
        } else {
            Rect { x: area.x + at, y: area.y - reach, width: 4, height: area.height + 2 * reach }
        };
        let size = f64::from(thin.width + 2 * reach);
        let mean = flat.mean(across)?;
        widths.push(if thin.black { mean * size } else { (1.0 - mean) * size });
    }
    let came_out = widths.iter().sum::<f64>() / widths.len() as f64;
    let thinnest = widths.iter().copied().fold(f64::INFINITY, f64::min);
    Some(Line { width: thin.width, black: thin.black, along: thin.along, came_out, thinnest })
}

fn codes(seen: &[&Seen], sheet: &Sheet) -> Vec<(i32, bool)> {
    let mut codes = Vec::new();
    for code in &sheet.codes {
        let (mut shown, mut read) = (false, false);
        for seen in seen {
            let module = code.module * FINE;
            // The middle half of a module, as a scanner looks at it; where it lies is known from the marks.
            let black = |x: usize, y: usize| {
                let at = |dots: i32, step: usize| dots * FINE + step as i32 * module + module / 4;
                seen.flat.mean_of(at(code.area.x, x), at(code.area.y, y), module / 2, module / 2)
            };
            let side = (code.area.width / code.module) as usize;
            if (0..side * side).any(|cell| black(cell % side, cell / side).is_none()) {
                continue;
            }
            // Fewer than two pixels a module are no fault of the printer.
            shown |= seen.camera.pixels * f64::from(code.module) > 2.0;
            let grid = rqrr::SimpleGrid::from_func(side, |x, y| black(x, y).is_some_and(|dark| dark > 0.5));
            read |= rqrr::Grid::new(grid).decode().is_ok_and(|(_, text)| text == sheet::said(code.module));
        }
        if shown || read {
            codes.push((code.module, read));
        }
    }
    codes
}
