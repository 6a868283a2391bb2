//! Addresses of signals, read. Every part that is not known is answered with the nearest that is.

use crate::names;

use super::super::error::{Error, one_line};

pub(super) const SCHEMES: [&str; 3] = ["light:", "key:", "display:"];

/// Most letters of a key's label: what is longer is a sentence.
const LONGEST_LABEL: usize = 24;
/// Longest hold: nobody counts for more than ten minutes with a finger on a key.
const LONGEST_HOLD: u32 = 600;
/// Most flashes between two pauses that a reader counts.
const MOST_FLASHES: u32 = 9;
/// Most short and long flashes of a code.
const LONGEST_CODE: usize = 8;
/// A panel of characters has at most so many in a row; and so many rows.
const LONGEST_ROW: usize = 40;
pub const MAX_ROWS: usize = 4;

#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum Signal {
    Light(Light),
    Key(Key),
    Display(Display),
}

/// A lamp, or two that shine at once.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Light {
    /// One or two.
    pub colours: Vec<Colour>,
    pub pattern: Option<Pattern>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Colour {
    Red,
    /// Yellow, by custom also called amber.
    Yellow,
    Amber,
    Green,
    Blue,
    White,
}

impl Colour {
    pub const ALL: [Colour; 6] = [Colour::Red, Colour::Yellow, Colour::Amber, Colour::Green, Colour::Blue, Colour::White];

    pub fn name(self) -> &'static str {
        match self {
            Colour::Red => "red",
            Colour::Yellow => "yellow",
            Colour::Amber => "amber",
            Colour::Green => "green",
            Colour::Blue => "blue",
            Colour::White => "white",
        }
    }
}

#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum Pattern {
    Off,
    On,
    Slow,
    Fast,
    /// So many short flashes and a pause.
    Blink(u32),
    /// Rises and falls.
    Pulse,
    /// Short (`false`) and long flashes, and a pause.
    Code(Vec<bool>),
    /// Even flashes, in thousandths of a hertz.
    Rate(u32),
}

#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Key {
    pub label: String,
    /// The other key that is pressed with it.
    pub with: Option<String>,
    pub gesture: Option<Gesture>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Gesture {
    Press,
    Twice,
    /// So many tenths of a second.
    HoldFor(u32),
    /// Until something happens.
    Hold,
    /// Held while switching on.
    While,
    /// A knob.
    Left,
    Right,
    /// A slider.
    Up,
    Down,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Display {
    /// At least one, none longer than a panel's row; not all of them blank.
    pub rows: Vec<String>,
}

const GESTURES: [(&str, Gesture); 8] = [
    ("press", Gesture::Press),
    ("twice", Gesture::Twice),
    ("hold", Gesture::Hold),
    ("while", Gesture::While),
    ("left", Gesture::Left),
    ("right", Gesture::Right),
    ("up", Gesture::Up),
    ("down", Gesture::Down),
];

/// What is wrong with a part of an address, and what may be meant.
type Fault = (String, String);

pub(super) fn read(address: &str) -> Result<Signal, Error> {
    let fault = |(reason, hint): Fault| Error::Signal { address: shown(address), reason, hint };
    if let Some(hidden) = address.chars().find(|c| c.is_control()) {
        let reason = format!("it holds a control character (U+{:04X})", u32::from(hidden));
        return Err(fault((reason, "take it out".into())));
    }
    if let Some(rest) = address.strip_prefix("light:") {
        return light(rest).map(Signal::Light).map_err(fault);
    }
    if let Some(rest) = address.strip_prefix("key:") {
        return key(rest).map(Signal::Key).map_err(fault);
    }
    if let Some(rest) = address.strip_prefix("display:") {
        return display(rest).map(Signal::Display).map_err(fault);
    }
    Err(fault(("it names no light, key or display".into(), "`light:red-slow`, `key:MODE-hold-3s`, `display:E 04`".into())))
}

/// An address is named in findings and frames: no longer than a line.
fn shown(address: &str) -> String {
    let calm = one_line(address);
    match calm.char_indices().nth(48) {
        Some((at, _)) => format!("{}…", &calm[..at]),
        None => calm,
    }
}

/// "did you mean …", else all that are known.
fn instead(written: &str, known: &[&str], what: &str) -> String {
    match names::nearest(written, known.iter().copied()) {
        Some(nearest) => format!("did you mean `{nearest}`?"),
        None => format!("known {what}: {}", known.join(", ")),
    }
}

fn light(text: &str) -> Result<Light, Fault> {
    let (colours, pattern) = match text.split_once('-') {
        Some((colours, pattern)) => (colours, Some(pattern)),
        None => (text, None),
    };
    let all = colours.split('/').map(colour).collect::<Result<Vec<_>, _>>()?;
    if all.len() > 2 {
        return Err((
            format!("{} lamps at once are more than two", all.len()),
            "name the one or two that matter: `light:red/green`".into(),
        ));
    }
    Ok(Light { colours: all, pattern: pattern.map(self::pattern).transpose()? })
}

fn colour(name: &str) -> Result<Colour, Fault> {
    let known = Colour::ALL.map(Colour::name);
    Colour::ALL.into_iter().find(|colour| colour.name() == name).ok_or_else(|| match name.trim() {
        "" => ("it names no colour".into(), format!("a lamp is {}, or two of them: `light:red/green`", known.join(", "))),
        _ => (format!("no lamp is `{}`", shown(name)), instead(name, &known, "colours")),
    })
}

fn pattern(text: &str) -> Result<Pattern, Fault> {
    const KNOWN: [&str; 8] = ["off", "on", "slow", "fast", "blink-3", "pulse", "code-SLL", "1hz"];
    match text {
        "off" => return Ok(Pattern::Off),
        "on" => return Ok(Pattern::On),
        "slow" => return Ok(Pattern::Slow),
        "fast" => return Ok(Pattern::Fast),
        "pulse" => return Ok(Pattern::Pulse),
        _ => {}
    }
    if let Some(count) = text.strip_prefix("blink-") {
        let flashes = count.parse().ok().filter(|count| (1..=MOST_FLASHES).contains(count));
        return flashes.map(Pattern::Blink).ok_or_else(|| {
            let hint = format!("`blink-1` to `blink-{MOST_FLASHES}`: so many flashes, then a pause");
            (format!("`blink-{}` is no number of flashes that a reader counts", shown(count)), hint)
        });
    }
    if let Some(letters) = text.strip_prefix("code-") {
        let code: Option<Vec<bool>> = letters
            .chars()
            .map(|letter| match letter {
                'S' | 's' => Some(false),
                'L' | 'l' => Some(true),
                _ => None,
            })
            .collect();
        return code.filter(|code| (1..=LONGEST_CODE).contains(&code.len())).map(Pattern::Code).ok_or_else(|| {
            let hint = format!("S for a short flash, L for a long one, at most {LONGEST_CODE} of them: `code-SLL`");
            (format!("`code-{}` is no code of short and long flashes", shown(letters)), hint)
        });
    }
    if let Some(rate) = text.strip_suffix("hz").or_else(|| text.strip_suffix("Hz")).and_then(|rate| decimal(rate, 3)) {
        return match (100..=10_000).contains(&rate) {
            true => Ok(Pattern::Rate(rate)),
            false => Err((
                format!("`{}` cannot be told by eye", shown(text)),
                "a lamp that is seen to flash does so 0.1 to 10 times a second".into(),
            )),
        };
    }
    let hint = match names::nearest(text, KNOWN) {
        Some(near) => format!("did you mean `{near}`?"),
        None if text.starts_with("blink") => "`blink-3` is three flashes and a pause; even flashes are `slow` or `fast`".into(),
        None => "known patterns: off, on, slow, fast, blink-N, pulse, code-SLL, or a rate as 1hz".into(),
    };
    Err((format!("no lamp shines `{}`", shown(text)), hint))
}

/// A number with at most so many places behind its point, times that power of ten.
fn decimal(text: &str, places: usize) -> Option<u32> {
    let (whole, part) = text.split_once('.').unwrap_or((text, ""));
    let digits = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
    if whole.is_empty() || !digits(whole) || !digits(part) || part.len() > places || text.ends_with('.') {
        return None;
    }
    format!("{whole}{part}{}", "0".repeat(places - part.len())).parse().ok()
}

fn key(text: &str) -> Result<Key, Fault> {
    let (rest, mut gesture) = gesture(text)?;
    let (label, with) = match rest.split_once("-with:") {
        Some((label, with)) => (label, Some(with)),
        None => (rest, None),
    };
    for label in std::iter::once(label).chain(with) {
        if label.trim().is_empty() {
            return Err(("it names no key".into(), "what is printed on it comes first: `key:MODE-press`".into()));
        }
        let letters = label.chars().count();
        if letters > LONGEST_LABEL {
            let hint = format!("a label has at most {LONGEST_LABEL} letters: write what is printed on the key");
            return Err((format!("a label of {letters} letters stands on no key"), hint));
        }
    }
    if with.is_some() && matches!(gesture, Some(Gesture::Left | Gesture::Right | Gesture::Up | Gesture::Down)) {
        return Err((
            "two keys are not turned or slid".into(),
            "`key:A-with:B`, or with `-hold-3s`, `-hold`, `-while`, `-twice`".into(),
        ));
    }
    if with.is_some() && gesture.is_none() {
        gesture = Some(Gesture::Press);
    }
    Ok(Key { label: label.trim().into(), with: with.map(|with| with.trim().into()), gesture })
}

/// The gesture at the end of a key's address, and what stands before it. What follows the last hyphen and resembles no gesture is
/// part of the label: `key:ON-OFF`, `key:VOL-`.
fn gesture(text: &str) -> Result<(&str, Option<Gesture>), Fault> {
    let all = || GESTURES.map(|(name, _)| name);
    let Some((before, last)) = text.rsplit_once('-') else { return Ok((text, None)) };
    if let Some((_, gesture)) = GESTURES.iter().find(|(name, _)| *name == last) {
        return Ok((before, Some(*gesture)));
    }
    if let Some(label) = before.strip_suffix("-hold") {
        let tenths = last.strip_suffix('s').and_then(|seconds| decimal(seconds, 1));
        return match tenths {
            Some(tenths) if (1..=LONGEST_HOLD * 10).contains(&tenths) => Ok((label, Some(Gesture::HoldFor(tenths)))),
            Some(_) => Err((
                format!("nobody holds a key for {}", shown(last)),
                format!("0.1 to {LONGEST_HOLD} seconds: `hold-3s`; `hold` alone is: until something happens"),
            )),
            None => Err((format!("`hold-{}` says no time", shown(last)), "in seconds: `hold-3s`, `hold-0.5s`".into())),
        };
    }
    // A word in small letters that is nearly a gesture is a slip; anything else belongs to the label.
    let word = last.len() > 2 && last.bytes().all(|byte| byte.is_ascii_lowercase());
    if word
        && !before.contains("-with:")
        && let Some(near) =
            names::nearest(last, all()).filter(|near| strsim::damerau_levenshtein(near, last) * 2 < near.len().max(3))
    {
        return Err((
            format!("no finger does `{last}`"),
            format!("did you mean `{near}`? If it is on the key: `key:{text}-press`"),
        ));
    }
    Ok((text, None))
}

fn display(text: &str) -> Result<Display, Fault> {
    let (text, rows) = match text.rsplit_once('?') {
        Some((before, query))
            if query.split_once('=').is_some_and(|(name, _)| name.bytes().all(|byte| byte.is_ascii_lowercase())) =>
        {
            (before, Some(rows(query)?))
        }
        _ => (text, None),
    };
    let length = text.chars().count();
    let count = rows.unwrap_or_else(|| text.split('|').count());
    if count > MAX_ROWS {
        return Err((format!("a display of {count} rows"), format!("at most {MAX_ROWS} rows are drawn")));
    }
    if text.trim_matches([' ', '|']).is_empty() {
        return Err(("it shows nothing".into(), "write the reading: `display:E 04`".into()));
    }
    let rows = if text.contains('|') { text.split('|').map(str::to_owned).collect() } else { wrapped(text, count) };
    if let Some(row) = rows.iter().find(|row| row.chars().count() > LONGEST_ROW) {
        let long = row.chars().count().max(if rows.len() == 1 { length } else { 0 });
        return Err((
            format!("no display shows {long} letters in a row"),
            format!("at most {LONGEST_ROW}: part them with `|`, or write `?rows=2`"),
        ));
    }
    if rows.len() > count {
        return Err((format!("it has {} rows, not {count}", rows.len()), "leave `?rows=` out: each `|` begins a row".into()));
    }
    Ok(Display { rows })
}

fn rows(query: &str) -> Result<usize, Fault> {
    let (name, value) = query.split_once('=').unwrap_or((query, ""));
    if name != "rows" {
        return Err((
            format!("a display has no `{name}`"),
            "did you mean `rows`? A question mark that is shown is written before `?rows=1`".into(),
        ));
    }
    value
        .parse()
        .ok()
        .filter(|rows| (1..=MAX_ROWS).contains(rows))
        .ok_or_else(|| (format!("a display has no {} rows", shown(value)), format!("`?rows=1` to `?rows={MAX_ROWS}`")))
}

/// Words on so many rows, as even as they are.
fn wrapped(text: &str, rows: usize) -> Vec<String> {
    if rows < 2 {
        return vec![text.to_owned()];
    }
    let words: Vec<&str> = text.split_whitespace().collect();
    let length = |word: &str| word.chars().count();
    let least = words.iter().map(|word| length(word)).max().unwrap_or(1);
    let set = |width: usize| {
        let mut lines: Vec<String> = Vec::new();
        for word in &words {
            match lines.last_mut() {
                Some(line) if length(line) + 1 + length(word) <= width => {
                    line.push(' ');
                    line.push_str(word);
                }
                _ => lines.push((*word).to_owned()),
            }
        }
        lines
    };
    (least..=length(text).max(least)).map(set).find(|lines| lines.len() <= rows).unwrap_or_else(|| vec![text.to_owned()])
}

impl Signal {
    /// What it says, in plain English: for a writer who has not said it, and for readers who cannot see it.
    pub fn words(&self) -> String {
        match self {
            Signal::Light(light) => light.words(),
            Signal::Key(key) => key.words(),
            Signal::Display(display) => format!("display: {}", display.rows.join(" / ")),
        }
    }
}

impl Light {
    fn words(&self) -> String {
        let names: Vec<&str> = self.colours.iter().map(|colour| colour.name()).collect();
        let lamp = match names[..] {
            [one] => format!("{one} light"),
            _ => format!("{} lights at once", names.join(" and ")),
        };
        let Some(pattern) = &self.pattern else { return lamp };
        let does = match pattern {
            Pattern::Off => "off".into(),
            Pattern::On => "on".into(),
            Pattern::Slow => "blinks slowly".into(),
            Pattern::Fast => "blinks fast".into(),
            Pattern::Blink(1) => "blinks once, then pauses".into(),
            Pattern::Blink(2) => "blinks twice, then pauses".into(),
            Pattern::Blink(count) => format!("blinks {count} times, then pauses"),
            Pattern::Pulse => "swells and fades".into(),
            Pattern::Code(code) => {
                let parts: Vec<&str> = code.iter().map(|long| if *long { "long" } else { "short" }).collect();
                format!("blinks {}", parts.join(", "))
            }
            Pattern::Rate(rate) => format!("blinks {} times a second", spoken(*rate, 3)),
        };
        format!("{lamp}, {does}")
    }
}

impl Key {
    fn words(&self) -> String {
        let keys = match &self.with {
            Some(with) => format!("{} and {} together", self.label, with),
            None => self.label.clone(),
        };
        match self.gesture {
            None => format!("key {keys}"),
            Some(Gesture::Press) => format!("press {keys}"),
            Some(Gesture::Twice) => format!("press {keys} twice"),
            Some(Gesture::HoldFor(tenths)) => format!("hold {keys} for {} s", spoken(tenths, 1)),
            Some(Gesture::Hold) => format!("hold {keys}"),
            Some(Gesture::While) => format!("hold {keys} while switching on"),
            Some(Gesture::Left) => format!("turn {keys} left"),
            Some(Gesture::Right) => format!("turn {keys} right"),
            Some(Gesture::Up) => format!("slide {keys} up"),
            Some(Gesture::Down) => format!("slide {keys} down"),
        }
    }
}

/// A number of so many places behind its point.
pub(super) fn spoken(number: u32, places: u32) -> String {
    let all = 10u32.pow(places);
    let part = format!("{:0width$}", number % all, width = places as usize);
    match part.trim_end_matches('0') {
        "" => (number / all).to_string(),
        part => format!("{}.{part}", number / all),
    }
}
