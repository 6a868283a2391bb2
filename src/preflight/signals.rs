//! What lamps, keys and displays say: whether a reader can tell them from each other, finds them on the product, and is not misled.

use std::collections::BTreeMap;

use crate::manual::source::{Level, Span};
use crate::pictures::signals::{self, Colour, Light, Pattern, Signal};

use super::index::Index;
use super::passages::Role;
use super::rule::{Check, Note, Rule};

/// Flash rates of IEC 60073, in thousandths of a hertz: slow and normal.
const SLOW: std::ops::RangeInclusive<u32> = 400..=800;
const NORMAL: std::ops::RangeInclusive<u32> = 1400..=2800;

/// Two even flashes at least so far apart in rate, in percent, are told from each other. Chosen here, no source.
const APART: u32 = 150;

/// A signal of a list and what stands beside it.
struct Said<'a> {
    /// Which list or table.
    list: usize,
    span: Span,
    address: &'a str,
    signal: Signal,
    /// Lower case.
    meaning: &'a str,
}

fn said<'a>(index: &'a Index) -> Vec<Said<'a>> {
    let all = index.entries.meanings.iter().filter_map(|meaning| {
        let signal = signals::read(&meaning.address).ok()?;
        Some(Said { list: meaning.list, span: meaning.span, address: &meaning.address, signal, meaning: &meaning.lower })
    });
    all.collect()
}

/// Every signal wherever it stands, in reading order.
fn shown<'a>(index: &'a Index) -> impl Iterator<Item = (Signal, Span, &'a str)> {
    let pictures = index.entries.pictures.iter().filter(|picture| signals::is_signal(&picture.address));
    pictures.filter_map(|picture| Some((signals::read(&picture.address).ok()?, picture.span, picture.address.as_str())))
}

pub const SIGNAL_TWO_MEANINGS: Rule = Rule {
    name: "signal-two-meanings",
    level: Level::Warning,
    what: "a light, key or reading that stands twice in lists, with different meanings",
    why: "the reader cannot know which of them holds",
    mend: "say both meanings at one place, or what tells them apart: another colour, another pattern",
    source: "common practice, no source",
    check: Check::Looks(|index| {
        let mut first: BTreeMap<String, Said> = BTreeMap::new();
        let mut notes = Vec::new();
        for said in said(index) {
            let plain = letters(said.meaning);
            if plain.is_empty() {
                continue;
            }
            // Amber is yellow, and what shines is on.
            let name = format!("{:?}", same(&said.signal));
            match first.get(&name) {
                None => {
                    first.insert(name, said);
                }
                Some(before) if letters(before.meaning) == plain => {}
                Some(before) => {
                    let line = index.evidence.source.locate(before.span.start).line;
                    notes.push(Note::new(said.span, format!("`{}` means something else in line {line}", said.address)));
                }
            }
        }
        notes
    }),
};

fn letters(text: &str) -> String {
    text.chars().filter(|letter| letter.is_alphanumeric()).collect()
}

/// As a reader sees it: yellow and amber are one colour, a lamp that shines is on.
fn same(signal: &Signal) -> Signal {
    match signal {
        Signal::Light(light) => {
            let mut colours: Vec<Colour> = light.colours.iter().map(|colour| plain(*colour)).collect();
            colours.sort_unstable();
            Signal::Light(Light { colours, pattern: Some(light.pattern.clone().unwrap_or(Pattern::On)) })
        }
        other => other.clone(),
    }
}

fn plain(colour: Colour) -> Colour {
    if colour == Colour::Amber { Colour::Yellow } else { colour }
}

pub const PATTERNS_ALIKE: Rule = Rule {
    name: "patterns-alike",
    level: Level::Warning,
    what: "two patterns of one colour in one list that a reader cannot tell from each other: even fast flashes beside many short ones, rates too near",
    why: "who looks at the lamp does not count beyond four, nor measure time",
    mend: "take patterns that differ at a glance: on, slow, fast, one to three flashes and a pause; or another colour",
    source: "rates: IEC 60073, seen on secondary pages; counting: common practice, no source",
    check: Check::Looks(|index| {
        let all = said(index);
        let mut notes = Vec::new();
        for (n, later) in all.iter().enumerate() {
            let Signal::Light(light) = same(&later.signal) else { continue };
            let alike = all[..n].iter().filter(|before| before.list == later.list).find(|before| match same(&before.signal) {
                Signal::Light(other) => {
                    other.colours == light.colours
                        && other.pattern != light.pattern
                        && cannot_tell(&other.pattern, &light.pattern)
                }
                _ => false,
            });
            if let Some(before) = alike {
                notes.push(Note::new(later.span, format!("`{}` is not told from `{}` by eye", later.address, before.address)));
            }
        }
        notes
    }),
};

fn cannot_tell(one: &Option<Pattern>, other: &Option<Pattern>) -> bool {
    let (Some(one), Some(other)) = (one, other) else { return false };
    if let (Some(a), Some(b)) = (one.rate(), other.rate()) {
        return a.max(b) * 100 < a.min(b) * APART;
    }
    // A group of many flashes looks even until its pause comes; two large numbers are not counted.
    let many = |pattern: &Pattern| match pattern {
        Pattern::Blink(count) => *count >= 4,
        Pattern::Code(code) => code.len() >= 4 && code.iter().all(|long| !long),
        _ => false,
    };
    let fast = |pattern: &Pattern| pattern.rate().is_some_and(|rate| rate >= *NORMAL.start());
    let either = |a: &dyn Fn(&Pattern) -> bool, b: &dyn Fn(&Pattern) -> bool| a(one) && b(other) || b(one) && a(other);
    either(&fast, &many) || many(one) && many(other)
}

pub const FLASH_RATE: Rule = Rule {
    name: "flash-rate",
    level: Level::Advice,
    what: "a lamp that flashes at a rate outside of 0.4 to 0.8 Hz and 1.4 to 2.8 Hz",
    why: "those two are told from each other, and from a lamp that is on, without counting",
    mend: "let it flash slowly (about 0.5 Hz) or fast (about 2 Hz), if the product can still be changed",
    source: "IEC 60073, seen on secondary pages",
    check: Check::Looks(|index| {
        let odd = shown(index).filter_map(|(signal, span, address)| {
            let Signal::Light(Light { pattern: Some(pattern), .. }) = signal else { return None };
            let rate = pattern.rate().filter(|rate| !SLOW.contains(rate) && !NORMAL.contains(rate))?;
            let (whole, part) = (rate / 1000, rate % 1000 / 10);
            Some(Note::new(span, format!("`{address}` flashes at {whole}.{part:02} Hz")))
        });
        odd.collect()
    }),
};

pub const KEY_UNPLACED: Rule = Rule {
    name: "key-unplaced",
    level: Level::Advice,
    what: "a `key:` that no callout, caption or alternative text of a figure names, where figures name parts by callouts",
    why: "the reader looks for it on the product",
    mend: "give it a callout in the figure that shows the parts",
    source: "IEC/IEEE 82079-1, known: parts that are named are shown",
    check: Check::Looks(|index| {
        if !index.entries.called_out {
            return Vec::new();
        }
        let figures = index.entries.pictures.iter().filter(|picture| !signals::is_signal(&picture.address));
        let captions = index.entries.passages.iter().filter(|passage| passage.role == Role::Caption);
        let named: Vec<String> = figures
            .map(|picture| super::passages::folded(&picture.alt))
            .chain(captions.map(|caption| caption.lower.clone()))
            .collect();
        let mut told: Vec<String> = Vec::new();
        let mut notes = Vec::new();
        for (signal, span, _) in shown(index) {
            let Signal::Key(key) = signal else { continue };
            for label in std::iter::once(&key.label).chain(&key.with) {
                let lower = super::passages::folded(label);
                if told.contains(&lower) || named.iter().any(|text| holds(text, &lower)) {
                    continue;
                }
                notes.push(Note::new(span, format!("no figure says where the key {label:?} is")));
                told.push(lower);
            }
        }
        notes
    }),
};

/// Whether a text holds the words, not as a part of longer ones.
fn holds(text: &str, words: &str) -> bool {
    text.match_indices(words).any(|(at, found)| {
        let letter = |c: Option<char>| c.is_some_and(char::is_alphanumeric);
        !letter(text[..at].chars().next_back()) && !letter(text[at + found.len()..].chars().next())
    })
}

pub const RED_WITHOUT_FAULT: Rule = Rule {
    name: "red-without-fault",
    level: Level::Advice,
    what: "a red light in a list whose meaning speaks of no danger and no fault",
    why: "red is read as danger or fault; yellow says warning or abnormal, green normal, blue that one must act, white nothing in particular",
    mend: "say what is wrong, or let the lamp shine in another colour, if the product can still be changed",
    source: "IEC 60073, seen on secondary pages",
    check: Check::Looks(|index| {
        let Some(words) = index.words else { return Vec::new() };
        let harmless = said(index).into_iter().filter(|said| match &said.signal {
            Signal::Light(light) => light.colours == [Colour::Red] && light.pattern != Some(Pattern::Off),
            _ => false,
        });
        let harmless = harmless.filter(|said| {
            !said.meaning.trim().is_empty() && !super::words::says(said.meaning, words.fault) && !words.hurts(said.meaning)
        });
        harmless
            .map(|said| Note::new(said.span, format!("`{}` is red, and its meaning names no danger and no fault", said.address)))
            .collect()
    }),
};
