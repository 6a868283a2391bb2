//! What a gesture may say: places inside their picture, words that stay words.

use toml_edit::{Array, Value};

use super::{Change, Refused};
use crate::manual::HEADER_KEYS;
use crate::names::is_noncharacter;

/// Longest words of a callout or balloon, characters.
const LONGEST: usize = 500;

pub(super) const SCREENS: [&str; 6] = ["photo", "halftone", "line", "ink", "drawing", "none"];
pub(super) const BACKGROUNDS: [&str; 2] = ["keep", "white"];
pub(super) const KINDS: [&str; 5] = ["speech", "thought", "shout", "whisper", "sound"];

/// # Errors
/// When a value of a change means nothing.
pub(super) fn check(change: &Change) -> Result<(), Refused> {
    match change {
        Change::CalloutPut { at, label } => inside(at).and(words(label)),
        Change::CalloutMove { at, .. } | Change::BalloonMove { at, .. } => inside(at),
        Change::CalloutRename { label, .. } => words(label),
        Change::BalloonText { text, .. } => words(text),
        Change::BalloonTail { to, .. } => to.as_ref().map_or(Ok(()), |to| inside(to)),
        Change::BalloonKind { kind, .. } => one_of("kind", kind, &KINDS),
        Change::Crop { crop: Some(crop) } => {
            let [left, top, width, height] = crop.map(tenths);
            let fits = inside(crop).is_ok() && width > 0.0 && height > 0.0 && left + width <= 100.0 && top + height <= 100.0;
            fits.then_some(()).ok_or_else(|| Refused::new("the crop leaves the picture"))
        }
        Change::Screen { screen, background } => {
            screen.iter().try_for_each(|screen| one_of("screen", screen, &SCREENS))?;
            background.iter().try_for_each(|background| one_of("background", background, &BACKGROUNDS))
        }
        Change::Width { mm: Some(mm) } => {
            let meant = mm.is_finite() && (1.0..=1000.0).contains(mm);
            meant.then_some(()).ok_or_else(|| Refused::new("a figure is between 1 and 1000 mm wide"))
        }
        Change::Turn { turn, tilt } => {
            let meant = turn.is_finite() && tilt.is_finite() && turn.abs() <= 360.0 && tilt.abs() <= 90.0;
            meant.then_some(()).ok_or_else(|| Refused::new("a view is turned by at most 360 degrees and tilted by at most 90"))
        }
        Change::Alt { text, .. } => one_line(text),
        Change::Header { table, key, value } => {
            let known = HEADER_KEYS.iter().any(|one| one.table == table && one.name == key);
            known.then_some(()).ok_or_else(|| Refused::new(format!("a header has no key `{key}` there"))).and(one_line(value))
        }
        Change::Allow { rule, reason } => one_line(rule).and(one_line(reason)),
        Change::Spelling { from, to, .. } => one_line(from).and(one_line(to)).and(plain(to)),
        Change::PicturePut { address } => one_line(address).and(plain(address)),
        Change::CalloutDrop { .. } | Change::Crop { crop: None } | Change::Width { mm: None } => Ok(()),
    }
}

fn inside(numbers: &[f64]) -> Result<(), Refused> {
    let all = numbers.iter().all(|number| (0.0..=100.0).contains(number));
    all.then_some(()).ok_or_else(|| Refused::new("the place lies beside the picture"))
}

fn words(words: &str) -> Result<(), Refused> {
    if words.trim().is_empty() {
        return Err(Refused::new("there are no words").hint("write what it is called, or take it away"));
    }
    if words.chars().count() > LONGEST {
        return Err(Refused::new(format!("the words are longer than {LONGEST} letters")));
    }
    match words.chars().find(|sign| is_noncharacter(*sign) || (sign.is_control() && *sign != '\n')) {
        Some(sign) => Err(Refused::new(format!("U+{:04X} is no letter that can be printed", u32::from(sign)))),
        None => Ok(()),
    }
}

fn one_line(text: &str) -> Result<(), Refused> {
    words(text).and(if text.contains('\n') { Err(Refused::new("the words stand on one line")) } else { Ok(()) })
}

/// A name or a path, of which nothing can be made but that.
fn plain(text: &str) -> Result<(), Refused> {
    let odd =
        text.chars().find(|sign| !sign.is_alphanumeric() && !matches!(sign, '-' | '_' | '.' | '/' | ' ' | '%' | '+' | ',' | '~'));
    odd.map_or(Ok(()), |sign| Err(Refused::new(format!("{sign:?} cannot stand in a name that is written from here"))))
}

fn one_of(key: &str, word: &str, known: &[&str]) -> Result<(), Refused> {
    let refused = || Refused::new(format!("`{key}` cannot be {word:?}")).hint(format!("it is one of {}", known.join(", ")));
    known.contains(&word).then_some(()).ok_or_else(refused)
}

/// Rounded to what the program tells apart.
pub(super) fn tenths(number: f64) -> f64 {
    (number * 10.0).round() / 10.0
}

pub(super) fn number(number: f64) -> Value {
    let rounded = tenths(number);
    if rounded.fract() == 0.0 { Value::from(rounded as i64) } else { Value::from(rounded) }
}

pub(super) fn numbers(all: &[f64]) -> Value {
    Value::Array(all.iter().map(|one| number(*one)).collect::<Array>())
}

/// Words as a string of TOML on one line. Nothing in them is a field: a template reads the file before TOML does, and sees no two braces.
pub(super) fn string(words: &str) -> Value {
    let mut quoted = String::from("\"");
    let mut after_brace = false;
    for sign in words.trim().chars() {
        match sign {
            '"' | '\\' => quoted.extend(['\\', sign]),
            '\n' => quoted.push_str("\\n"),
            '{' | '%' | '#' if after_brace => quoted.push_str(&format!("\\u{:04X}", u32::from(sign))),
            sign if sign.is_control() => quoted.push_str(&format!("\\u{:04X}", u32::from(sign))),
            sign => quoted.push(sign),
        }
        after_brace = sign == '{';
    }
    quoted.push('"');
    quoted.parse().unwrap_or_else(|_| Value::from(words))
}
