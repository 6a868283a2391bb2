//! Photographs of a printed strip, made here with everything known: what `makeready --photo` reads must be true, or it must refuse.
//!
//! The renderer shares nothing with the reader but the strip's own dots. Ink is disks that grow; the paper lies on a cylinder; a
//! pinhole looks at it from the hand; lens, light, sensor and JPEG do their worst.

use std::collections::BTreeMap;
use std::sync::Mutex;

use image::codecs::jpeg::JpegEncoder;
use rayon::prelude::*;
use stripling::bitmap::Bitmap;
use stripling::geometry::Rect;
use stripling::makeready::photograph::sheet::{BETWEEN, GREYS, Sheet};
use stripling::makeready::photograph::{Picture, Ratio, Reading, Refusal, read};
use stripling::printer::Profile;

/// Numbers that are the same in every run.
pub struct Dice(pub u64);

impl Dice {
    pub fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((mixed ^ (mixed >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }

    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.next()
    }

    /// About normal, by twelve dice.
    fn noise(&mut self) -> f64 {
        (0..12).map(|_| self.next()).sum::<f64>() - 6.0
    }
}

/// What lies on the strip, or on its light: a place as shares of the picture from its middle.
#[derive(Clone, Copy, Debug)]
pub enum Veil {
    /// Skin reflects a third of the light (common practice, no source).
    Finger { at: [f64; 2], radius: f64 },
    /// On one side of a line across the picture so much of the light is left.
    Shadow { angle: f64, away: f64, left: f64 },
    /// Light that the paper reflects as a mirror does, added to all else.
    Glare { at: [f64; 2], radius: f64, light: f64 },
}

/// What is true of one photograph.
#[derive(Clone, Debug)]
pub struct Truth {
    pub printer: &'static str,
    /// Pixels of the longer side; the shorter has three quarters.
    pub pixels: u32,
    /// Radius of a dot in pitches: 0.5 touches its neighbour.
    pub radius: f64,
    pub dead: Vec<u32>,
    pub weak: Vec<u32>,
    /// Millimetres from column to column, and from row to row.
    pub pitch: [f64; 2],
    /// Radians: about the strip's two axes, and in the picture.
    pub tilt: [f64; 2],
    pub roll: f64,
    /// Focal length as a share of the longer side.
    pub focal: f64,
    /// Share of the picture that the strip fills; of more than 1 a part is seen, about a place so many mm below its middle.
    pub fills: f64,
    pub looks: f64,
    /// Where the strip's middle is, as a share of the picture from its middle.
    pub aside: [f64; 2],
    /// Radius of the curl in mm, and where along the strip it touches the table.
    pub curl: f64,
    pub touches: f64,
    /// Standard deviation in pixels.
    pub blur: f64,
    pub noise: f64,
    /// Light from one side to the other, by how much it falls.
    pub slope: [f64; 2],
    pub vignette: f64,
    pub exposure: f64,
    pub ink: f64,
    pub table: f64,
    pub warm: f64,
    pub quality: u8,
    pub veils: Vec<Veil>,
}

impl Truth {
    pub fn random(seed: u64) -> Truth {
        let mut dice = Dice(seed.wrapping_mul(7919) + 17);
        let printer = ["58mm", "80mm", "80mm", "80mm-180", "112mm"][(dice.next() * 5.0) as usize];
        let dots = f64::from(Profile::named(printer).expect("built in").dots);
        let columns = |dice: &mut Dice, most: f64| -> Vec<u32> {
            let count = (dice.next() * dice.next() * most) as usize;
            let mut all: Vec<u32> = (0..count).map(|_| (dice.next() * dots) as u32).collect();
            all.sort_unstable();
            all.dedup();
            all
        };
        let mut dead = columns(&mut dice, 8.0);
        if dice.next() < 0.25
            && let Some(&first) = dead.first()
        {
            // Elements die in neighbours, too.
            dead = [dead, vec![(first + 1).min(dots as u32 - 1)]].concat();
            dead.sort_unstable();
            dead.dedup();
        }
        let weak = columns(&mut dice, 5.0).into_iter().filter(|column| !dead.contains(column)).collect();
        let pitch = if printer == "80mm-180" { 25.4 / 180.0 } else { 0.125 };
        let upright = f64::from((dice.next() * 4.0) as u32) * std::f64::consts::FRAC_PI_2;
        let pixels = [1632, 1632, 2048, 3264, 4000][(dice.next() * 5.0) as usize];
        Truth {
            printer,
            pixels,
            radius: dice.between(0.52, 0.74),
            dead,
            weak,
            pitch: [pitch * dice.between(0.995, 1.005), pitch * dice.between(0.985, 1.015)],
            tilt: [dice.between(-0.4, 0.4), dice.between(-0.4, 0.4)],
            roll: upright + dice.between(-0.25, 0.25),
            focal: dice.between(0.68, 1.5),
            fills: dice.between(0.62, 0.95),
            looks: 0.0,
            aside: [dice.between(-0.03, 0.03), dice.between(-0.03, 0.03)],
            curl: 1.0 / dice.between(-0.006, 0.006),
            touches: dice.between(-20.0, 20.0),
            blur: dice.between(0.4, 1.0) + if dice.next() < 0.12 { dice.between(1.0, 6.0) } else { 0.0 },
            noise: dice.between(0.002, 0.012),
            slope: [dice.between(-0.5, 0.5), dice.between(-0.5, 0.5)],
            vignette: dice.between(0.0, 0.5),
            exposure: dice.between(0.35, 0.8),
            ink: dice.between(0.04, 0.16),
            table: dice.between(0.03, 0.6),
            warm: dice.between(0.75, 1.0),
            quality: dice.between(70.0, 95.0) as u8,
            veils: Vec::new(),
        }
    }
}

/// Samples of ink a dot, each way.
const FINE: i32 = 5;

/// Ink as it came out: a share of each little square is not kept, it is ink or paper.
pub struct Ink {
    width: i32,
    height: i32,
    black: Vec<bool>,
}

impl Ink {
    pub fn printed(bitmap: &Bitmap, truth: &Truth) -> Ink {
        let (width, height) = (bitmap.width() as i32 * FINE, bitmap.height() as i32 * FINE);
        let mut ink = Ink { width, height, black: vec![false; (width * height) as usize] };
        for (x, y) in (0..bitmap.height() as i32).flat_map(|y| (0..bitmap.width() as i32).map(move |x| (x, y))) {
            if !bitmap.get(x, y) || truth.dead.contains(&(x as u32)) {
                continue;
            }
            let radius = truth.radius * f64::from(FINE) * if truth.weak.contains(&(x as u32)) { 0.72 } else { 1.0 };
            let middle = [(f64::from(x) + 0.5) * f64::from(FINE), (f64::from(y) + 0.5) * f64::from(FINE)];
            let reach = radius.ceil() as i32 + 1;
            for (column, row) in (-reach..=reach).flat_map(|down| (-reach..=reach).map(move |right| (right, down))) {
                let (column, row) = (middle[0] as i32 + column, middle[1] as i32 + row);
                let away = [f64::from(column) + 0.5 - middle[0], f64::from(row) + 0.5 - middle[1]];
                let inside = away[0] * away[0] + away[1] * away[1] <= radius * radius;
                if inside && (0..width).contains(&column) && (0..height).contains(&row) {
                    ink.black[(row * width + column) as usize] = true;
                }
            }
        }
        ink
    }

    fn share(&self, x: i32, y: i32, width: i32, height: i32) -> f64 {
        let rows = y * FINE..(y + height) * FINE;
        let black: usize = rows
            .map(|row| {
                let from = (row * self.width + x * FINE) as usize;
                self.black[from..from + (width * FINE) as usize].iter().filter(|black| **black).count()
            })
            .sum();
        black as f64 / f64::from(width * height * FINE * FINE)
    }
}

/// What the telephone stores.
pub fn photographed(ink: &Ink, truth: &Truth) -> Vec<u8> {
    let turned = truth.roll.sin().abs() < 0.7;
    // A person holds the telephone along the strip.
    let (wide, high) = if turned { (truth.pixels * 3 / 4, truth.pixels) } else { (truth.pixels, truth.pixels * 3 / 4) };
    let (strip_wide, strip_high) = (f64::from(ink.width / FINE) * truth.pitch[0], f64::from(ink.height / FINE) * truth.pitch[1]);
    let focal = truth.focal * f64::from(truth.pixels);
    let away = (strip_high / f64::from(truth.pixels)).max(strip_wide / f64::from(truth.pixels * 3 / 4)) * focal / truth.fills;
    // Camera to paper: roll, then two tilts.
    let (sr, cr) = truth.roll.sin_cos();
    let ([sx, cx], [sy, cy]) = (truth.tilt.map(f64::sin_cos).map(|(sine, cosine)| [sine, cosine])).into();
    let to_paper = |[x, y, z]: [f64; 3]| {
        let (x, y) = (cr * x + sr * y, -sr * x + cr * y);
        let (y, z) = (cx * y + sx * z, -sx * y + cx * z);
        let (x, z) = (cy * x + sy * z, -sy * x + cy * z);
        [x, y, z]
    };
    let aim = [truth.aside[0] * f64::from(wide) / focal, truth.aside[1] * f64::from(high) / focal, 1.0].map(|part| part * away);
    let mut from = to_paper(aim).map(|part| -part);
    from[1] += truth.looks;
    // The paper's middle lies at height 0 of the cylinder's own frame.
    let lift = truth.curl * (1.0 - (truth.touches / truth.curl).cos());
    let along_at = truth.curl * (truth.touches / truth.curl).sin();
    let mut light = vec![0.0f32; (wide * high) as usize];
    light.par_chunks_mut(wide as usize).enumerate().for_each(|(row, line)| {
        for (column, value) in line.iter_mut().enumerate() {
            let mut sum = 0.0;
            for part in 0..4 {
                let x = (column as f64 + 0.25 + 0.5 * f64::from(part % 2) - f64::from(wide) / 2.0) / focal;
                let y = (row as f64 + 0.25 + 0.5 * f64::from(part / 2) - f64::from(high) / 2.0) / focal;
                let way = to_paper([x, y, 1.0]);
                // Where the ray meets the cylinder y^2 + (z - r)^2 = r^2, its near side.
                let (oy, oz) = (from[1] - along_at, from[2] + lift - truth.curl);
                let a = way[1] * way[1] + way[2] * way[2];
                let b = oy * way[1] + oz * way[2];
                let c = oy * oy + oz * oz - truth.curl * truth.curl;
                let root = b * b - a * c;
                let reflects = if root < 0.0 {
                    truth.table
                } else {
                    // Two crossings: the one near the table.
                    let t = [(-b - root.sqrt()) / a, (-b + root.sqrt()) / a]
                        .into_iter()
                        .min_by(|one, two| (from[2] + way[2] * one).abs().total_cmp(&(from[2] + way[2] * two).abs()))
                        .expect("two");
                    let across = from[0] + way[0] * t;
                    let angle = ((oy + way[1] * t) / truth.curl).clamp(-1.0, 1.0).asin();
                    let along = truth.curl * angle + truth.touches;
                    let (across, along) = (across + strip_wide / 2.0, along + strip_high / 2.0);
                    if across < -3.5 || across > strip_wide + 3.5 || along < -6.0 || along > strip_high + 6.0 {
                        truth.table
                    } else {
                        let place =
                            [across / truth.pitch[0], along / truth.pitch[1]].map(|dots| (dots * f64::from(FINE)).floor() as i32);
                        let on = (0..ink.width).contains(&place[0]) && (0..ink.height).contains(&place[1]);
                        if on && ink.black[(place[1] * ink.width + place[0]) as usize] { truth.ink } else { 0.82 }
                    }
                };
                sum += reflects;
            }
            let (x, y) = (column as f64 / f64::from(wide) - 0.5, row as f64 / f64::from(high) - 0.5);
            let falls = (1.0 + truth.slope[0] * x + truth.slope[1] * y) * (1.0 - truth.vignette * (x * x + y * y));
            let (mut seen, mut mirror) = (sum / 4.0, 0.0);
            let mut light = falls * truth.exposure;
            let away = |at: [f64; 2]| {
                let square = |part: f64| part * part;
                (square((x - at[0]) * f64::from(wide)) + square((y - at[1]) * f64::from(high))).sqrt() / f64::from(truth.pixels)
            };
            for veil in &truth.veils {
                match *veil {
                    Veil::Finger { at, radius } if away(at) < radius => seen = 0.33 - 0.1 * (away(at) / radius).powi(2),
                    Veil::Finger { .. } => {}
                    Veil::Shadow { angle, away, left } => {
                        // A penumbra of a hundredth of the picture.
                        let side = (x * angle.cos() + y * angle.sin() - away) / 0.01;
                        light *= left + (1.0 - left) / (1.0 + side.exp());
                    }
                    Veil::Glare { at, radius, light } => mirror += light * (-(away(at) / radius).powi(2)).exp(),
                }
            }
            *value = (seen * light + mirror) as f32;
        }
    });
    let light = soft(light, wide as usize, truth.blur);
    let mut dice = Dice(truth.pixels.into());
    let mut bytes = Vec::with_capacity(light.len() * 3);
    for value in light {
        for colour in [1.0, 0.5 + truth.warm / 2.0, truth.warm] {
            let value = f64::from(value) * colour;
            let value = (value + dice.noise() * truth.noise * (0.3 + value).sqrt()).clamp(0.0, 1.0);
            let stored = if value <= 0.003_130_8 { value * 12.92 } else { 1.055 * value.powf(1.0 / 2.4) - 0.055 };
            bytes.push((stored * 255.0).round() as u8);
        }
    }
    let mut jpeg = Vec::new();
    JpegEncoder::new_with_quality(&mut jpeg, truth.quality)
        .encode(&bytes, wide, high, image::ExtendedColorType::Rgb8)
        .expect("a JPEG");
    jpeg
}

/// A lens that is not sharp: a Gaussian along rows, then along columns.
fn soft(light: Vec<f32>, wide: usize, deviation: f64) -> Vec<f32> {
    let reach = (deviation * 3.0).ceil() as i64;
    let weights: Vec<f64> = (-reach..=reach).map(|step| (-0.5 * (step as f64 / deviation).powi(2)).exp()).collect();
    let all: f64 = weights.iter().sum();
    let weights: Vec<f32> = weights.iter().map(|weight| (weight / all) as f32).collect();
    let high = light.len() / wide;
    let pass = |from: &[f32], right: bool| {
        let mut to = vec![0.0f32; from.len()];
        to.par_chunks_mut(wide).enumerate().for_each(|(y, line)| {
            for (x, value) in line.iter_mut().enumerate() {
                *value = (-reach..=reach)
                    .zip(&weights)
                    .map(|(step, weight)| {
                        let (x, y) = if right { (x as i64 + step, y as i64) } else { (x as i64, y as i64 + step) };
                        from[y.clamp(0, high as i64 - 1) as usize * wide + x.clamp(0, wide as i64 - 1) as usize] * weight
                    })
                    .sum();
            }
        });
        to
    };
    pass(&pass(&light, true), false)
}

/// What came of one.
#[derive(Debug, Default)]
struct Score {
    refused: Option<String>,
    /// Worst errors: scale in percent, gain in points.
    scale: Option<f64>,
    gain: Option<f64>,
    /// Of solid black in a twelfth of the width, in points of the darkest.
    density: Option<f64>,
    /// Of a line of one to three dots, black or white, in dots.
    lines: Option<f64>,
    columns: bool,
    wrong: Vec<String>,
}

fn judged(truth: &Truth) -> Score {
    let profile = Profile::named(truth.printer).expect("built in");
    let sheet = Sheet::of(&profile).expect("wide enough");
    let ink = Ink::printed(&sheet.bitmap, truth);
    let jpeg = photographed(&ink, truth);
    if let Ok(folder) = std::env::var("STRIPLING_KEEP_PHOTOGRAPHS") {
        std::fs::write(format!("{folder}/{}-{}-{}.jpg", truth.printer, truth.pixels, (truth.radius * 1e6) as u32), &jpeg)
            .expect("kept");
    }
    let began = std::time::Instant::now();
    let (seen, reading) = read(&[Picture::read(&jpeg)], &sheet);
    if std::env::var("STRIPLING_TELL").is_ok() {
        println!("  read in {:?}", began.elapsed());
        match &seen[0] {
            Ok(seen) => println!(
                "  camera {:?} marks {} blur {:.2}",
                (seen.camera.ratio, seen.camera.ratio_spread, seen.camera.off, seen.camera.pixels),
                seen.found.len(),
                seen.blur
            ),
            Err(refusal) => println!("  {refusal}"),
        }
    }
    match reading {
        None => Score { refused: seen[0].as_ref().err().map(Refusal::to_string), ..Score::default() },
        Some(reading) if std::env::var("STRIPLING_TELL").is_ok() => {
            println!("  {reading:?}");
            compared(&reading, truth, &sheet, &ink)
        }
        Some(reading) => compared(&reading, truth, &sheet, &ink),
    }
}

fn compared(reading: &Reading, truth: &Truth, sheet: &Sheet, ink: &Ink) -> Score {
    let mut score = Score::default();
    if let Some(Ratio { value: ratio, .. }) = reading.ratio {
        // A person reads a ruler to half a millimetre.
        let length = (f64::from(BETWEEN) * truth.pitch[1] * 2.0).round() / 2.0;
        let along = f64::from(BETWEEN) / length;
        let off = |found: f64, pitch: f64| (found * pitch - 1.0).abs() * 100.0;
        let worst = off(along, truth.pitch[1]).max(off(along * ratio, truth.pitch[0]));
        score.scale = Some(worst);
        if worst > 0.3 {
            score.wrong.push(format!("scale is off by {worst:.2} %"));
        }
    }
    // Beside elements that are dead there is no tone.
    let sound = |x: &i32| truth.dead.iter().chain(&truth.weak).all(|&other| (other as i32 - x).abs() > 4);
    let share = |area: Rect<i32>| {
        let columns: Vec<i32> = (area.x..area.x + area.width).filter(sound).collect();
        let sum: f64 = columns.iter().map(|&x| ink.share(x, area.y, 1, area.height)).sum();
        (columns.len() >= 8).then_some(sum / columns.len() as f64)
    };
    // A tone is its share of what the printer calls solid, which dots that do not touch leave pale (Murray and Davies 1936).
    let inner = Rect { y: sheet.band.y + 6, height: sheet.band.height - 12, x: sheet.band.x + 6, width: sheet.band.width - 12 };
    let solid = share(inner).expect("sound columns");
    let mut worst = 0.0f64;
    for tone in &reading.tones {
        let shares: Vec<f64> =
            sheet.patches.iter().filter(|patch| patch.percent == tone.percent).filter_map(|patch| share(patch.area)).collect();
        let true_share = shares.iter().sum::<f64>() / shares.len() as f64 / solid;
        worst = worst.max((tone.seen - true_share).abs() * 100.0);
    }
    if reading.no_tones.is_none() {
        assert_eq!(reading.tones.len(), GREYS.len());
        score.gain = Some(worst);
        if worst > 2.0 {
            score.wrong.push(format!("gain is off by {worst:.1} points"));
        }
    }
    // Dead columns are part of what solid black is there.
    if !reading.density.is_empty() {
        let parts = reading.density.len() as i32;
        let (y, height) = (sheet.band.y + 8, sheet.band.height - 16);
        let part = |at: i32| {
            let (left, right) = (sheet.band.width * at / parts, sheet.band.width * (at + 1) / parts);
            ink.share(left.max(8), y, right.min(sheet.band.width - 8) - left.max(8), height)
        };
        let truth: Vec<f64> = (0..parts).map(part).collect();
        let most = truth.iter().copied().fold(f64::MIN_POSITIVE, f64::max);
        let off = truth.iter().zip(&reading.density).map(|(truth, seen)| (truth / most - seen).abs() * 100.0);
        score.density = Some(off.fold(0.0, f64::max));
    }
    for (line, thin) in reading.lines.iter().zip(&sheet.thin).filter(|_| reading.lines.len() == sheet.thin.len()) {
        let Rect { x, y, width, height } = thin.area;
        let (area, across) = match thin.along {
            true => (Rect { x: x - 7, y: y + 6, width: width + 14, height: height - 12 }, width + 14),
            false => (Rect { x: x + 6, y: y - 7, width: width - 12, height: height + 14 }, height + 14),
        };
        if thin.along && !(area.x..area.x + area.width).all(|x| sound(&x)) {
            continue;
        }
        // White in black is what is left of what this printer calls solid.
        let dark = ink.share(area.x, area.y, area.width, area.height) / solid;
        let came_out = if thin.black { dark } else { 1.0 - dark } * f64::from(across);
        let off = (came_out - line.came_out).abs();
        score.lines = Some(score.lines.unwrap_or(0.0).max(off));
    }
    if let Some(dead) = &reading.dead {
        score.columns = true;
        if *dead != truth.dead {
            score.wrong.push(format!("dead {dead:?} and not {:?}", truth.dead));
        }
        let claimed: Vec<u32> = reading.weak.iter().copied().filter(|column| !truth.weak.contains(column)).collect();
        if !claimed.is_empty() {
            score.wrong.push(format!("weak {claimed:?}, which are sound"));
        }
    }
    score
}

fn play(seeds: std::ops::Range<u64>, made: fn(Truth) -> Truth) {
    let count = (seeds.end - seeds.start) as usize;
    let all: Mutex<BTreeMap<u64, Score>> = Mutex::default();
    seeds.into_par_iter().for_each(|seed| {
        let began = std::time::Instant::now();
        let score = judged(&made(Truth::random(seed)));
        if std::env::var("STRIPLING_TELL").is_ok() {
            println!("{seed}: {:?} {score:?}", began.elapsed());
        }
        all.lock().expect("no one panicked").insert(seed, score);
    });
    let all = all.into_inner().expect("no one panicked");
    let mut refusals: BTreeMap<String, usize> = BTreeMap::new();
    for score in all.values() {
        if let Some(words) = &score.refused {
            *refusals.entry(words.split([':', '(']).next().unwrap_or_default().chars().take(60).collect()).or_default() += 1;
        }
    }
    let worst = |part: fn(&Score) -> Option<f64>| all.values().filter_map(part).fold(0.0, f64::max);
    let known = |part: fn(&Score) -> bool| all.values().filter(|score| part(score)).count();
    println!(
        "{count} photographs: scale of {}, worst {:.2} %; gain of {}, worst {:.2} points; columns of {}; density of {}, worst {:.1} points; \
         lines of {}, worst {:.2} dots; refused {refusals:?}",
        known(|score| score.scale.is_some()),
        worst(|score| score.scale),
        known(|score| score.gain.is_some()),
        worst(|score| score.gain),
        known(|score| score.columns),
        known(|score| score.density.is_some()),
        worst(|score| score.density),
        known(|score| score.lines.is_some()),
        worst(|score| score.lines)
    );
    let wrong: Vec<String> = all
        .iter()
        .filter(|(_, score)| !score.wrong.is_empty())
        .map(|(seed, score)| format!("{seed}: {:?}, {:?}", score.wrong, Truth::random(*seed)))
        .collect();
    assert!(wrong.is_empty(), "confident and wrong:\n{}", wrong.join("\n"));
    // Refusing everything is no reading.
    assert!(known(|score| score.gain.is_some() && score.columns) * 2 >= count, "too few were read");
}

/// Few and small: the rest is played by `tests/run`, and two hundred by `STRIPLING_PHOTOGRAPHS=200`, in parts by `STRIPLING_FIRST`.
#[test]
fn photographs_of_two_megapixels_are_read_right_or_refused_in_words() {
    play(0..4, |truth| Truth { pixels: 1632, ..truth });
}

#[test]
#[ignore = "takes minutes: tests/run"]
fn photographs_with_random_truths_are_read_right_or_refused_in_words() {
    let number = |name: &str| std::env::var(name).ok().and_then(|number| number.parse::<u64>().ok());
    match number("STRIPLING_SEED") {
        Some(seed) => play(seed..seed + 1, |truth| truth),
        None => {
            let first = number("STRIPLING_FIRST").unwrap_or(0);
            play(first..first + number("STRIPLING_PHOTOGRAPHS").unwrap_or(8), |truth| truth);
        }
    }
}

#[test]
fn what_is_no_photograph_of_the_strip_is_refused_in_words() {
    let sheet = Sheet::of(&Profile::named("80mm").expect("built in")).expect("wide enough");
    let refused = |bytes: &[u8]| {
        let (seen, reading) = read(&[Picture::read(bytes)], &sheet);
        assert!(reading.is_none());
        seen[0].as_ref().err().map(Refusal::to_string).expect("refused")
    };
    let png = |width: u32, height: u32, grey: &dyn Fn(u32, u32) -> u8| {
        let picture = image::GrayImage::from_fn(width, height, |x, y| image::Luma([grey(x, y)]));
        let mut bytes = std::io::Cursor::new(Vec::new());
        picture.write_to(&mut bytes, image::ImageFormat::Png).expect("a PNG");
        bytes.into_inner()
    };
    assert!(refused(b"").contains("no picture"));
    assert!(refused(b"\x89PNG\r\n\x1A\n").contains("no picture"));
    assert!(refused(&png(20, 20, &|_, _| 0)).contains("20 x 20 pixels"));
    for picture in [
        png(800, 600, &|_, _| 255),
        png(800, 600, &|_, _| 0),
        png(800, 600, &|x, y| ((x / 20 + y / 20) % 2 * 255) as u8),
        png(640, 640, &|x, y| (x.wrapping_mul(2_654_435_761) ^ y.wrapping_mul(40_503) ^ (x * y)) as u8),
    ] {
        assert!(refused(&picture).contains("black squares were found"));
    }
    // Another printer's strip, flat as a scanner sees it.
    let wide = Sheet::of(&Profile::named("112mm").expect("built in")).expect("wide enough");
    let scanned = |sheet: &Sheet| {
        let bitmap = &sheet.bitmap;
        let at = move |x: u32, y: u32| {
            if bitmap.get((x / 2) as i32 - 20, (y / 2) as i32 - 20) { 40 } else { 230 }
        };
        png(bitmap.width() * 2 + 80, bitmap.height() * 2 + 80, &at)
    };
    let words = refused(&scanned(&wide));
    assert!(["another width", "too oblique"].iter().any(|part| words.contains(part)), "{words}");
    // Its own is read: nothing grown, nothing dead.
    let (_, reading) = read(&[Picture::read(&scanned(&sheet))], &sheet);
    let reading = reading.expect("a strip");
    assert_eq!(reading.dead.as_deref(), Some(&[][..]));
    assert!(reading.tones.iter().all(|tone| (tone.seen - tone.asked).abs() < 0.02), "{:?}", reading.tones);
    assert_eq!(reading.codes, [(2, true), (3, true), (4, true)]);
    assert!((reading.ratio.expect("known").value - 1.0).abs() < 0.001);
}

/// Photographs of real things: READMEs' pictures of other people, on machines that have them.
#[test]
#[ignore = "reads /work/guides where it is: tests/run"]
fn pictures_of_other_things_are_refused() {
    let sheet = Sheet::of(&Profile::named("80mm").expect("built in")).expect("wide enough");
    let Ok(folders) = std::fs::read_dir("/work/guides") else { return };
    let mut folders: Vec<_> = folders.flatten().map(|folder| folder.path()).collect();
    let mut pictures = Vec::new();
    while let Some(folder) = folders.pop() {
        for path in std::fs::read_dir(folder).into_iter().flatten().flatten().map(|entry| entry.path()) {
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|extension| extension == "jpg" || extension == "png") {
                pictures.push(path);
            }
        }
    }
    pictures.sort();
    let pictures: Vec<_> = pictures.iter().step_by((pictures.len() / 60).max(1)).collect();
    println!("{} pictures", pictures.len());
    pictures.par_iter().for_each(|path| {
        let (seen, reading) = read(&[Picture::read(&std::fs::read(path).expect("there"))], &sheet);
        assert!(
            reading.is_none() && seen[0].as_ref().is_err_and(|refusal| !refusal.to_string().is_empty()),
            "{}",
            path.display()
        );
    });
}

proptest::proptest! {
    #![proptest_config(proptest::prelude::ProptestConfig::with_cases(48))]

    /// Any bytes, and a true picture with bytes changed: refused in words or read, never a panic.
    #[test]
    fn bytes_at_random_are_refused_in_words(noise in proptest::collection::vec(proptest::num::u8::ANY, 0..300), at in 0usize..4000) {
        let sheet = Sheet::of(&Profile::named("58mm").expect("built in")).expect("wide enough");
        let mut jpeg = Vec::new();
        let picture = vec![200u8; 96 * 96];
        JpegEncoder::new_with_quality(&mut jpeg, 80).encode(&picture, 96, 96, image::ExtendedColorType::L8).expect("a JPEG");
        for bytes in [noise.clone(), [&jpeg[..at.min(jpeg.len())], &noise].concat()] {
            let (seen, reading) = read(&[Picture::read(&bytes)], &sheet);
            proptest::prop_assert!(reading.is_none() && seen[0].is_err());
        }
    }
}

/// The program itself, with a photograph that another program rendered: Pillow, NumPy and scikit-image.
#[test]
#[ignore = "needs Pillow, NumPy and scikit-image: tests/run"]
fn a_photograph_rendered_by_another_program_fills_the_file() {
    let folder = tempfile::tempdir().expect("a folder");
    let here = folder.path();
    let sheet = Sheet::of(&Profile::named("80mm").expect("built in")).expect("wide enough");
    std::fs::write(here.join("squares.png"), stripling::strip::png::write(&sheet.bitmap, stripling::lengths::Resolution::EIGHT))
        .expect("written");
    std::fs::write(here.join("a.toml"), "paper = 80\nwidth = 576\n").expect("written");
    let script = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/photographs/squares.py");
    for seed in ["1", "2", "3"] {
        let made = std::process::Command::new("python3")
            .arg(&script)
            .args(["squares.png", "strip.jpg", seed])
            .current_dir(here)
            .output();
        let made = made.expect("python3");
        assert!(made.status.success(), "{}", String::from_utf8_lossy(&made.stderr));
        let truth: serde_json::Value = serde_json::from_slice(&made.stdout).expect("what is true of it");
        let mut program = std::process::Command::new(env!("CARGO_BIN_EXE_stripling"));
        let told = program
            .args(["makeready", "--answers", "a.toml", "--photo", "strip.jpg", "--again"])
            .current_dir(here)
            .output()
            .expect("runs");
        let said = String::from_utf8_lossy(&told.stderr);
        assert!(told.status.success(), "{said}");
        println!("{said}");
        let kept = std::fs::read_to_string(here.join("bench.answers.toml")).expect("kept");
        let (answers, _) = stripling::makeready::answers::Answers::read(&kept, "bench.answers.toml").expect("answers");
        let dead: Vec<u32> =
            truth["dead"].as_array().expect("a list").iter().map(|column| column.as_u64().expect("a column") as u32).collect();
        assert_eq!(answers.dead, Some(dead), "{seed}: {said}");
        let ratio = truth["ratio"].as_f64().expect("a number");
        // A plane alone may tell too little of the lens: then nothing is said.
        assert!(answers.ratio.is_none_or(|found| (found / ratio - 1.0).abs() < 0.003), "{seed}: {ratio} {said}");
        let Some(stripling::makeready::answers::Gain::Curve(points)) = answers.gain else { panic!("{seed}: no curve: {said}") };
        let tones = truth["tones"].as_array().expect("a list");
        for [asked, seen] in points {
            let near = tones.iter().map(|pair| (pair[0].as_f64().expect("percent"), pair[1].as_f64().expect("percent")));
            let (_, paper) = near.min_by(|one, two| (one.0 - asked).abs().total_cmp(&(two.0 - asked).abs())).expect("a tone");
            assert!((seen - paper).abs() < 2.5, "{seed}: {asked} became {seen} and not {paper}: {said}");
        }
        assert!(here.join("bench.photo-1.png").exists());
        let file = std::fs::read_to_string(here.join("bench.toml")).expect("written");
        assert!(file.contains("dot_gain = [[") && file.contains("# measured in your photograph"), "{file}");
    }
}
