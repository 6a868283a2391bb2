//! A lamp with rays where it shines, its colour as a word, and the time line of its pattern.

use super::address::{Light, Pattern};
use super::scene::{Form, Hand, SUB, Scene, Setting, at};
use crate::geometry::{Point, Rect};

/// Least width of a flash, in dots: a narrower one runs together.
const LEAST_FLASH: i32 = 3;
/// What a time line shows at least, in milliseconds: even flashes that are faster are repeated until they fill it, so that fast
/// looks faster than slow.
const WINDOW: u32 = 2000;
/// A short flash, the dark between two, a long one, the pause at the end of a group: three times the dark and more, so that groups part.
const SHORT: u32 = 250;
const DARK: u32 = 250;
const LONG: u32 = 750;
const PAUSE: u32 = 1250;

/// One flash, in milliseconds from the beginning of its period.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Flash {
    pub from: u32,
    pub long: u32,
}

/// A lamp in time.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Timeline {
    /// In milliseconds.
    pub period: u32,
    pub flashes: Vec<Flash>,
    /// Swells and fades rather than switches.
    pub swells: bool,
}

impl Pattern {
    /// One period. Slow is 0.5 Hz, fast 2 Hz, and short flashes of groups come at 2 Hz: inside IEC 60073's 0.4 to 0.8 and 1.4 to 2.8.
    pub fn timeline(&self) -> Timeline {
        let even = |period: u32| Timeline { period, flashes: vec![Flash { from: 0, long: period / 2 }], swells: false };
        match self {
            Pattern::Off => Timeline { period: WINDOW, flashes: Vec::new(), swells: false },
            Pattern::On => Timeline { period: WINDOW, flashes: vec![Flash { from: 0, long: WINDOW }], swells: false },
            Pattern::Slow => even(2000),
            Pattern::Fast => even(500),
            Pattern::Pulse => Timeline { period: 2000, flashes: vec![Flash { from: 0, long: 2000 }], swells: true },
            Pattern::Rate(rate) => even(1_000_000 / (*rate).max(1)),
            Pattern::Blink(count) => group(&vec![false; *count as usize]),
            Pattern::Code(code) => group(code),
        }
    }

    /// Even flashes: how many in a second, in thousandths. None for groups and for what does not flash.
    pub fn rate(&self) -> Option<u32> {
        match self {
            Pattern::Slow | Pattern::Fast | Pattern::Rate(_) => Some(1_000_000 / self.timeline().period),
            _ => None,
        }
    }
}

fn group(longs: &[bool]) -> Timeline {
    let mut flashes = Vec::new();
    let mut from = 0;
    for &is_long in longs {
        let long = if is_long { LONG } else { SHORT };
        flashes.push(Flash { from, long });
        from += long + DARK;
    }
    Timeline { period: from - DARK + PAUSE, flashes, swells: false }
}

impl Timeline {
    /// How many periods are shown.
    pub fn shown(&self) -> u32 {
        (WINDOW / self.period.max(1)).max(1)
    }
}

pub(super) fn scene(light: &Light, setting: &Setting) -> Scene {
    match setting.form {
        Form::Icon => icon(light, setting),
        Form::Large => large(light, setting),
    }
}

/// The word of a lamp, or of two.
fn word(light: &Light, setting: &Setting) -> String {
    let words: Vec<&str> = light.colours.iter().map(|colour| setting.wording.colour(colour.name())).collect();
    words.join("\u{a0}+\u{a0}")
}

/// Lamp, word and time line side by side, as high as a key.
fn icon(light: &Light, setting: &Setting) -> Scene {
    let cap = setting.label();
    let side = (cap * 3 / 10).max(3);
    let size = cap + side * 2;
    let mut scene = Scene { above: cap + side, below: side, ..Scene::default() };
    let mut x = lamps(&mut scene, light, 0, -cap - side, size, setting);
    x += side;
    x += scene.text(setting, x, 0, &word(light, setting), Hand::Word);
    if let Some(pattern) = &light.pattern {
        x += side * 3 / 2 + 1;
        let line = pattern.timeline();
        let seconds = seconds(&line);
        let after = setting.lettering.width(&seconds, Hand::Word).0 + side;
        let axis = Axis::new(&line, cap * 5 / 3, setting.room.0 - x - after, cap, 2);
        x += axis.draw(&mut scene, &line, x, 0);
        for second in 0..=line.period * line.shown() / 1000 {
            scene.fill(axis.x(second * 1000).min(axis.width(&line) - 1) + x - axis.width(&line), 2, 1, (side - 2).max(1));
        }
        x += side;
        x += scene.text(setting, x, 0, &seconds, Hand::Word);
    }
    Scene { width: x, ..scene }
}

/// The lamp at the left, as high as the word over its time line.
fn large(light: &Light, setting: &Setting) -> Scene {
    let (label, cap) = (setting.label(), setting.word());
    let gap = (cap * 2 / 3).max(4);
    let line = light.pattern.as_ref().map(Pattern::timeline);
    let wave = label;
    let tick = (cap / 4).max(3);
    let under = (cap / 5).max(3);
    let height = match &line {
        Some(_) => cap + gap + wave + tick + under + cap,
        None => (cap * 5 / 2).max(label * 2),
    };
    let lamp = (label * 5 / 2).min(height);
    let mut scene = Scene { above: height.max(lamp), ..Scene::default() };
    let left = lamps(&mut scene, light, 0, -(height + lamp) / 2, lamp, setting) + gap;
    let baseline = if line.is_some() { cap - height } else { (cap - height) / 2 };
    let mut width = left + scene.text(setting, left, baseline, &word(light, setting), Hand::Word);
    if let Some(line) = &line {
        let stroke = setting.stroke();
        let arrow = stroke * 3;
        let unit = "\u{a0}s";
        let after = arrow.max(setting.lettering.width(unit, Hand::Word).0);
        let axis = Axis::new(line, label * 5 / 2, setting.room.0 - left - after, wave, stroke);
        let foot = -(cap + under + tick);
        let long = axis.draw(&mut scene, line, left, foot);
        // Time goes on.
        scene.fill(left + long, foot, arrow - stroke, stroke);
        let (tip, middle) = ((left + long + arrow) * SUB, foot * SUB + stroke * SUB / 2);
        let back = tip - stroke * 2 * SUB;
        scene.polygon(vec![
            Point::new(tip, middle),
            Point::new(back, middle - stroke * 3 * SUB / 2),
            Point::new(back, middle + stroke * 3 * SUB / 2),
        ]);
        let last = line.period * line.shown() / 1000;
        let mut free = i32::MIN;
        for second in 0..=last {
            let x = left + axis.x(second * 1000);
            scene.fill((x - stroke / 2).max(left), foot, stroke, stroke + tick);
            let number = match second == last {
                true => format!("{second}{unit}"),
                false => second.to_string(),
            };
            let digits = setting.lettering.width(&second.to_string(), Hand::Word).0;
            let at = (x - digits / 2).max(left);
            if at >= free || second == last {
                let wide = scene.text(setting, at, 0, &number, Hand::Word);
                free = at + wide + cap / 2;
                width = width.max(at + wide);
            }
        }
        width = width.max(left + long + arrow);
    }
    Scene { width, ..scene }
}

/// How long all that is shown takes.
fn seconds(line: &Timeline) -> String {
    format!("{}\u{a0}s", super::address::spoken(line.period * line.shown(), 3))
}

/// One lamp or two side by side; gives where they end.
fn lamps(scene: &mut Scene, light: &Light, x: i32, y: i32, size: i32, setting: &Setting) -> i32 {
    let shines = light.pattern != Some(Pattern::Off);
    let stroke = setting.stroke();
    let mut left = x;
    for n in 0..light.colours.len() as i32 {
        // Rays of two lamps stay apart.
        left = x + n * (size + stroke + size / 8);
        lamp(scene, left, y, size, stroke, shines);
    }
    left + size
}

/// A disc, and eight rays where it shines. `size` is the room that the rays take.
fn lamp(scene: &mut Scene, x: i32, y: i32, size: i32, stroke: i32, shines: bool) {
    // As even as the room, so that the disc stands in its middle.
    let disc = size * 9 / 16 / 2 * 2 + size % 2;
    let inset = (size - disc) / 2;
    let line = if shines { stroke } else { (stroke / 2).max(1) };
    scene.frame(Rect::new(x + inset, y + inset, disc, disc), disc / 2, line);
    if !shines {
        return;
    }
    let centre = Point::new(x * SUB + size * SUB / 2, y * SUB + size * SUB / 2);
    let to = size * SUB / 2 - stroke * SUB / 2;
    let from = (disc * SUB / 2 + stroke * SUB * 3 / 2).min(to);
    for direction in (0..24).step_by(3) {
        scene.stroke(vec![at(centre, from, direction), at(centre, to, direction)], stroke);
    }
}

/// Where moments stand on a time line.
struct Axis {
    /// Dots a second.
    second: i32,
    wave: i32,
    stroke: i32,
}

impl Axis {
    /// Wanted dots a second, fewer where the room is narrow; a multiple of four, so that quarters of a second are whole dots.
    fn new(line: &Timeline, wanted: i32, room: i32, wave: i32, stroke: i32) -> Axis {
        let all = (line.period * line.shown()).max(1);
        let fits = (i64::from(room.max(0)) * 1000 / i64::from(all)) as i32;
        let shortest = line.flashes.iter().map(|flash| flash.long).min().unwrap_or(1000).max(1);
        let least = (LEAST_FLASH as u32 * 1000).div_ceil(shortest) as i32;
        let second = wanted.min(fits).max(least);
        Axis { second: second.div_euclid(4).max((least + 3) / 4) * 4, wave, stroke }
    }

    fn x(&self, moment: u32) -> i32 {
        ((i64::from(moment) * i64::from(self.second) + 500) / 1000) as i32
    }

    fn width(&self, line: &Timeline) -> i32 {
        self.x(line.period * line.shown())
    }

    /// The axis with its top at `foot`, flashes standing on it; gives its length.
    fn draw(&self, scene: &mut Scene, line: &Timeline, x: i32, foot: i32) -> i32 {
        let long = self.width(line);
        scene.fill(x, foot, long, self.stroke);
        for period in 0..line.shown() {
            for flash in &line.flashes {
                let from = self.x(period * line.period + flash.from);
                let to = self.x(period * line.period + flash.from + flash.long);
                if line.swells {
                    self.swell(scene, x + from, to - from, foot);
                } else {
                    scene.fill(x + from, foot - self.wave, to - from, self.wave);
                }
            }
        }
        long
    }

    /// A hump: half of it a parabola upwards, half one that bends over.
    fn swell(&self, scene: &mut Scene, x: i32, width: i32, foot: i32) {
        let half = i64::from(width.max(2)) * SUB as i64 / 2;
        for column in 0..width {
            let centre = i64::from(column * SUB + SUB / 2);
            let up = if centre > half { half * 2 - centre } else { centre };
            let wave = i64::from(self.wave);
            let height = match up * 2 < half {
                true => wave * 2 * up * up / (half * half),
                false => wave - wave * 2 * (half - up) * (half - up) / (half * half),
            } as i32;
            scene.fill(x + column, foot - height, 1, height);
        }
    }
}
