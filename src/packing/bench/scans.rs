//! A line from the scanner: a unit, its strip, a word for the bench, or a mistake that is said at once.

use super::super::codes::Meaning;
use super::super::screen::Tone;
use super::{Bench, Do};

/// The same line again so soon is the scanner's doubling, not a person's, in milliseconds.
const DOUBLED: u64 = 700;
/// And where a second scan would settle something.
const DOUBLED_SETTLING: u64 = 1500;

impl Bench {
    pub(super) fn line(&mut self, text: &str, at: u64) -> Vec<Do> {
        let (text, meaning) = self.codes.read(text);
        let settles = matches!(meaning, Meaning::Strip(unit) | Meaning::Either(unit) if self.asked == Some(unit));
        let within = if settles { DOUBLED_SETTLING } else { DOUBLED };
        let doubled = self.last.as_ref().is_some_and(|(last, then)| *last == text && at.saturating_sub(*then) < within);
        self.last = Some((text.clone(), at));
        if doubled {
            return Vec::new();
        }
        match meaning {
            Meaning::Nothing => Vec::new(),
            // Not waited for at every scan: whoever drives this asks for it all the time.
            Meaning::Unit(_) | Meaning::Strip(_) | Meaning::Either(_) if self.away.is_some() => self.no_ledger(),
            Meaning::Word(word) => self.word(&word),
            Meaning::Unit(unit) => self.unit(unit),
            Meaning::Strip(unit) => self.strip(unit),
            Meaning::Either(unit) if self.in_hand == Some(unit) && self.may_box(unit) => self.strip(unit),
            Meaning::Either(unit) => self.unit(unit),
            Meaning::Several => {
                self.say(Tone::Wrong, "TWO CODES", None, format!("“{text}” holds more than one code: scan one at a time"))
            }
            Meaning::Alike(unit) => {
                let key = self.key(unit);
                self.say(Tone::Wrong, "UNKNOWN CODE", None, format!("“{text}” is no key; {key} looks like it: scan it once more"))
            }
            Meaning::Around { unit, before, after } => {
                let key = self.key(unit);
                let detail = match after.is_empty() {
                    true => format!(
                        "“{before}” stands before {key}: if this scanner always writes it, start with --prefix '{before}'"
                    ),
                    false => format!("“{text}” is more than {key}: scan it once more"),
                };
                self.say(Tone::Wrong, "UNKNOWN CODE", None, detail)
            }
            Meaning::Unknown => self.say(
                Tone::Wrong,
                "UNKNOWN CODE",
                None,
                format!("“{text}” is no key of the table of units and no code of a strip"),
            ),
        }
    }

    pub(super) fn no_ledger(&mut self) -> Vec<Do> {
        let why = self.away.clone().unwrap_or_default();
        self.say(Tone::Wrong, "NO LEDGER", None, format!("nothing is marked until it answers: {why}"))
    }

    fn word(&mut self, word: &str) -> Vec<Do> {
        match (word, self.asked) {
            ("again", Some(unit)) => vec![Do::Again(unit)],
            ("again", None) => {
                self.say(Tone::Wrong, "WHICH ONE", None, "scan the unit whose strip is spoiled first, then /again".to_owned())
            }
            ("end", _) => {
                self.ended = true;
                vec![Do::End]
            }
            ("help", _) => {
                let detail =
                    "scan a unit, take its strip, scan the strip; /again: a strip that was to be looked at is spoiled; /end";
                self.say(Tone::Plain, "SCAN A UNIT", None, detail.to_owned())
            }
            _ => self.say(Tone::Wrong, "UNKNOWN WORD", None, format!("“/{word}”: there are /again, /help and /end")),
        }
    }

    /// A product was scanned.
    fn unit(&mut self, unit: usize) -> Vec<Do> {
        if self.printers.prints(unit) {
            self.in_hand = Some(unit);
            return self.say(Tone::Plain, "PRINTING", Some(unit), "its strip is coming; then scan the strip".to_owned());
        }
        if self.waiting.contains(&unit) {
            self.in_hand = Some(unit);
            let goes = self.where_to(unit);
            return self.say(Tone::Plain, "WAITING", Some(unit), goes);
        }
        vec![Do::Claim(unit)]
    }

    /// A strip was scanned.
    fn strip(&mut self, unit: usize) -> Vec<Do> {
        match self.in_hand {
            Some(hand) if hand != unit => {
                let detail = format!("this is the strip of {}, and in hand is {}", self.key(unit), self.key(hand));
                self.say(Tone::Wrong, "WRONG STRIP", Some(hand), detail)
            }
            None => {
                self.wrong("UNIT FIRST", unit, "scan the unit, then its strip: so they are sure to belong together".to_owned())
            }
            Some(_) if self.printers.prints(unit) => self.wrong(
                "NOT YET",
                unit,
                "its strip is still being printed: what was scanned is an older one, or not whole".to_owned(),
            ),
            // What it is in the ledger is looked at there: it may have been printed at another bench.
            Some(_) => vec![Do::Box(unit)],
        }
    }
}
