//! The machine of a packing bench: lines and news in, what to do and what to say out. It has no clock, no disk and no thread.
//!
//! Whoever drives it does at once what it asks, and tells it what came of that before the next line.

use std::collections::VecDeque;

use super::codes::{Codes, Meaning};
use super::printers::Printers;
use super::screen::{Counts, Roll, Say, Screen, Tone};
use crate::send::State;
use crate::send::ledger::{Boxed, Claim, Pace, Standing};

/// The same line again so soon is the scanner's doubling, not a person's, in milliseconds.
const DOUBLED: u64 = 700;
/// And where a second scan would settle something.
const DOUBLED_SETTLING: u64 = 1500;

/// What the machine hears.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Input {
    /// A line from the scanner, at a time in milliseconds that only rises.
    Line { text: String, at: u64 },
    /// What came of [`Do::Claim`].
    Claimed { unit: usize, claim: Claim },
    /// What came of [`Do::Box`].
    Boxed { unit: usize, boxed: Boxed },
    /// What came of [`Do::Again`]; the error says why not.
    Settled { unit: usize, done: Result<(), String> },
    /// The ledger did not answer when something was asked of it: nothing was entered. `scanned`: a person waits for its answer.
    Away { why: String, scanned: bool },
    /// It answers again.
    Back,
    /// A printer was ready, and another bench was quicker with the unit.
    Lost { unit: usize, printer: usize },
    /// A printer was ready, and the ledger did not answer: no byte went.
    Held { unit: usize, printer: usize },
    /// A printer can't print now; no byte went.
    NotReady { unit: usize, printer: usize, kind: &'static str, why: String },
    /// The strip can't be made.
    Unmade { unit: usize, printer: usize, why: String },
    /// What became of a strip that was sent, as it stands in the ledger.
    Came { unit: usize, printer: usize, came: Came },
    /// A printer that was in trouble is well again.
    Well { printer: usize },
    /// How all units stand, and how fast it goes.
    Standing { all: Vec<Standing>, pace: Pace },
}

/// What became of a strip.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Came {
    Printed,
    /// `trouble`: something went wrong in it; none where the printer simply can't tell.
    Unknown {
        why: String,
        trouble: bool,
    },
    /// Certainly not whole.
    Missing {
        kind: &'static str,
        why: String,
    },
}

/// What the machine asks for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Do {
    /// Ask the ledger for a unit.
    Claim(usize),
    /// Enter that a strip lies in its box.
    Box(usize),
    /// Enter by hand that an unknown strip is not there, so that it is printed again.
    Again(usize),
    Send {
        unit: usize,
        printer: usize,
    },
    Release(usize),
    /// Something new is to be shown and sounded.
    Say,
    /// A person wishes to end.
    End,
}

#[derive(Clone, Debug)]
struct Unit {
    state: State,
    note: String,
    boxed: bool,
    elsewhere: bool,
    /// It went out to a printer that can't tell.
    untold: bool,
}

pub struct Bench {
    codes: Codes,
    units: Vec<Unit>,
    printers: Printers,
    waiting: VecDeque<usize>,
    in_hand: Option<usize>,
    /// The unit whose unknown strip a person was asked to look at.
    asked: Option<usize>,
    last: Option<(String, u64)>,
    say: Say,
    said: u64,
    away: Option<String>,
    pace: Pace,
    roll: Roll,
    title: String,
    bench: String,
    ended: bool,
}

impl Bench {
    pub fn new(codes: Codes, printers: Vec<String>, roll: Roll, title: &str, bench: &str) -> Bench {
        let unit = || Unit { state: State::Queued, note: String::new(), boxed: false, elsewhere: false, untold: false };
        let units = codes.units().iter().map(|_| unit()).collect();
        let say = Say { headline: "SCAN A UNIT".to_owned(), ..Say::default() };
        Bench {
            codes,
            units,
            printers: Printers::new(printers),
            waiting: VecDeque::new(),
            in_hand: None,
            asked: None,
            last: None,
            say,
            said: 0,
            away: None,
            pace: Pace::default(),
            roll,
            title: title.to_owned(),
            bench: bench.to_owned(),
            ended: false,
        }
    }

    /// Whether strips are on their way or wait for a printer.
    pub fn is_busy(&self) -> bool {
        self.printers.any_printing()
    }

    /// Units that wait for a printer, to be let go of at the end.
    pub fn waiting(&self) -> impl Iterator<Item = usize> {
        self.waiting.iter().copied()
    }

    /// Every unit lies in its box.
    pub fn is_done(&self) -> bool {
        self.units.iter().all(|unit| unit.boxed)
    }

    /// How fast all benches go.
    pub fn pace(&mut self, pace: Pace) {
        self.pace = pace;
    }

    /// Takes in what has happened.
    pub fn take(&mut self, input: Input) -> Vec<Do> {
        let mut doing = match input {
            Input::Line { text, at } => self.line(&text, at),
            Input::Claimed { unit, claim } => self.claimed(unit, claim),
            Input::Boxed { unit, boxed } => self.boxed(unit, boxed),
            Input::Settled { unit, done } => self.settled(unit, done),
            Input::Away { why, scanned } => {
                let fresh = self.away.replace(why).is_none();
                if fresh || scanned { self.no_ledger() } else { Vec::new() }
            }
            Input::Back => match self.away.take() {
                Some(_) => {
                    self.say(Tone::Ask, "GO ON", None, "the ledger answers again: scan once more what was not marked".to_owned())
                }
                None => Vec::new(),
            },
            Input::Lost { unit, printer } => {
                self.printers.free(printer);
                self.drop_hand(unit);
                self.wrong("NOT HERE", unit, "another bench was quicker".to_owned())
            }
            Input::Held { unit, printer } => {
                self.printers.free(printer);
                self.waiting.push_front(unit);
                Vec::new()
            }
            Input::NotReady { unit, printer, kind, why } => {
                self.printers.stop(printer, &why);
                self.waiting.push_front(unit);
                let goes = self.where_to(unit);
                let detail = format!("printer {}: {why}; {goes}", printer + 1);
                self.say(Tone::Wrong, trouble_in_large(kind), Some(unit), detail)
            }
            Input::Unmade { unit, printer, why } => {
                self.printers.free(printer);
                self.drop_hand(unit);
                let mut doing = vec![Do::Release(unit)];
                doing.extend(self.wrong("NO STRIP", unit, why));
                doing
            }
            Input::Came { unit, printer, came } => self.came(unit, printer, came),
            Input::Well { printer } => {
                self.printers.free(printer);
                self.say(Tone::Plain, "GO ON", None, format!("printer {} is well again", printer + 1))
            }
            Input::Standing { all, pace } => {
                self.stand(&all, pace);
                Vec::new()
            }
        };
        doing.extend(self.dispatch());
        doing
    }

    fn line(&mut self, text: &str, at: u64) -> Vec<Do> {
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

    fn no_ledger(&mut self) -> Vec<Do> {
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

    fn claimed(&mut self, unit: usize, claim: Claim) -> Vec<Do> {
        let before = self.in_hand.filter(|before| *before != unit && self.may_box(*before));
        self.asked = None;
        match claim {
            Claim::Yours(_) => {
                if !self.printers.any_works() {
                    let (kind, why) = self.printers.why();
                    self.drop_hand(unit);
                    let mut doing = vec![Do::Release(unit)];
                    doing.extend(self.wrong(trouble_in_large(&kind), unit, format!("{why}; nothing is marked")));
                    return doing;
                }
                self.in_hand = Some(unit);
                self.know(unit, State::Queued);
                self.waiting.push_back(unit);
                let goes = self.where_to(unit);
                self.say(Tone::Plain, "PRINTING", Some(unit), format!("{goes}; then scan the strip"))
            }
            Claim::Sending => {
                self.in_hand = Some(unit);
                self.say(Tone::Plain, "PRINTING", Some(unit), "its strip is coming; then scan the strip".to_owned())
            }
            Claim::Printed { by } => {
                self.in_hand = Some(unit);
                self.know(unit, State::Printed);
                let by = if by.is_empty() { String::new() } else { format!(" by {by}") };
                match before {
                    // The strip carries the bare key: this may be another's strip in the hand.
                    Some(before) => {
                        let detail = format!("{} was in hand; if this is now, scan its strip (printed{by})", self.key(before));
                        self.say(Tone::Wrong, "NOT THE SAME", Some(unit), detail)
                    }
                    None => self.say(
                        Tone::Plain,
                        "SCAN STRIP",
                        Some(unit),
                        format!("its strip was printed{by}: scan it, it is not printed twice"),
                    ),
                }
            }
            Claim::Boxed { by, at } => {
                let at = at.get(11..16).unwrap_or_default().to_owned();
                self.wrong("DONE ALREADY", unit, format!("in its box since {at} UTC, by {by}"))
            }
            Claim::Elsewhere { bench } => self.wrong("NOT HERE", unit, format!("{bench} has it in hand")),
            Claim::Unknown { note } => {
                self.in_hand = Some(unit);
                self.know(unit, State::Unknown);
                if self.may_box(unit) {
                    return self.say(
                        Tone::Plain,
                        "SCAN STRIP",
                        Some(unit),
                        "its strip went to the printer, which can't tell: scan it".to_owned(),
                    );
                }
                self.asked = Some(unit);
                let detail = format!("is its strip there, and whole to its end? Then scan it. If not: /again. ({note})");
                self.say(Tone::Ask, "LOOK FIRST", Some(unit), detail)
            }
            Claim::NotThere => self.wrong("UNKNOWN UNIT", unit, "it is not in this run: was the table changed?".to_owned()),
        }
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

    fn boxed(&mut self, unit: usize, boxed: Boxed) -> Vec<Do> {
        match boxed {
            Boxed::Entered => {
                if let Some(known) = self.units.get_mut(unit) {
                    (known.boxed, known.state) = (true, State::Printed);
                }
                self.drop_hand(unit);
                let counts = self.counts();
                let next = self.next().map_or_else(String::new, |next| format!("; next: {}", self.key(next)));
                let headline = if counts.boxed == counts.all { "ALL DONE" } else { "IN THE BOX" };
                self.say(Tone::Good, headline, Some(unit), format!("{} of {}{next}", counts.boxed, counts.all))
            }
            Boxed::Already { by, at } => {
                self.drop_hand(unit);
                let at = at.get(11..16).unwrap_or_default().to_owned();
                self.wrong("DONE ALREADY", unit, format!("in its box since {at} UTC, by {by}"))
            }
            Boxed::Not(state) => {
                self.wrong("NOT PRINTED", unit, format!("the ledger calls its strip {}: do not pack this one", state.word()))
            }
        }
    }

    fn settled(&mut self, unit: usize, done: Result<(), String>) -> Vec<Do> {
        match done {
            Ok(()) => {
                self.asked = None;
                self.know(unit, State::Missing);
                // As if it had been scanned anew.
                vec![Do::Claim(unit)]
            }
            Err(why) => self.wrong("NOT ALLOWED", unit, why),
        }
    }

    fn came(&mut self, unit: usize, printer: usize, came: Came) -> Vec<Do> {
        match came {
            Came::Printed => {
                self.printers.free(printer);
                self.know(unit, State::Printed);
                self.out(unit, printer)
            }
            Came::Unknown { trouble: false, .. } => {
                self.printers.free(printer);
                self.know(unit, State::Unknown);
                if let Some(known) = self.units.get_mut(unit) {
                    known.untold = true;
                }
                self.out(unit, printer)
            }
            Came::Unknown { why, trouble: true } => {
                self.printers.stop(printer, &why);
                self.know(unit, State::Unknown);
                if let Some(known) = self.units.get_mut(unit) {
                    known.note.clone_from(&why);
                }
                self.asked = (self.in_hand == Some(unit)).then_some(unit).or(self.asked);
                let scan = if self.in_hand == Some(unit) {
                    "scan it if it is whole to its end, else /again"
                } else {
                    "scan its unit, then see"
                };
                self.say(
                    Tone::Ask,
                    "LOOK FIRST",
                    Some(unit),
                    format!("its strip may be at printer {}: {scan}. ({why})", printer + 1),
                )
            }
            Came::Missing { kind, why } => {
                self.printers.stop(printer, &why);
                self.know(unit, State::Missing);
                self.waiting.push_front(unit);
                let goes = self.where_to(unit);
                let detail = format!("what hangs from printer {} is scrap: tear it off; {goes}. ({why})", printer + 1);
                self.say(Tone::Wrong, trouble_in_large(kind), Some(unit), detail)
            }
        }
    }

    /// A strip is out.
    fn out(&mut self, unit: usize, printer: usize) -> Vec<Do> {
        match self.in_hand {
            Some(hand) if hand == unit => {
                self.say(Tone::Plain, "SCAN STRIP", Some(unit), format!("take it from printer {} and scan it", printer + 1))
            }
            // Not to be taken for what is in hand: it is in the list of open ones.
            _ => Vec::new(),
        }
    }

    fn stand(&mut self, all: &[Standing], pace: Pace) {
        for (index, unit) in self.codes.units().iter().enumerate() {
            // What is on its way here is known better here.
            if self.printers.prints(index) {
                continue;
            }
            let standing = all.iter().find(|standing| standing.unit == unit.key);
            if let (Some(standing), Some(known)) = (standing, self.units.get_mut(index)) {
                known.state = standing.state;
                known.note.clone_from(&standing.note);
                known.boxed = standing.boxed.is_some();
                known.elsewhere = standing.elsewhere.is_some();
            }
        }
        self.pace = pace;
    }

    /// Gives waiting strips to free printers.
    fn dispatch(&mut self) -> Vec<Do> {
        let mut doing = Vec::new();
        while self.away.is_none()
            && let (Some(printer), Some(&unit)) = (self.printers.first_free(), self.waiting.front())
        {
            self.waiting.pop_front();
            self.printers.begin(printer, unit);
            doing.push(Do::Send { unit, printer });
        }
        doing
    }

    fn know(&mut self, unit: usize, state: State) {
        if let Some(known) = self.units.get_mut(unit) {
            known.state = state;
        }
    }

    /// A scan of its strip would say that it lies in the box.
    fn may_box(&self, unit: usize) -> bool {
        let known = self.units.get(unit);
        known.is_some_and(|known| {
            !known.boxed
                && (known.state == State::Printed
                    || (known.state == State::Unknown && (known.untold || self.asked == Some(unit))))
        })
    }

    fn drop_hand(&mut self, unit: usize) {
        self.in_hand = self.in_hand.filter(|hand| *hand != unit);
        self.asked = self.asked.filter(|asked| *asked != unit);
    }

    fn key(&self, unit: usize) -> String {
        self.codes.units().get(unit).map(|unit| unit.key.clone()).unwrap_or_default()
    }

    fn where_to(&self, unit: usize) -> String {
        let ahead = self.waiting.iter().take_while(|waiting| **waiting != unit).count();
        match (self.printers.first_free(), self.printers.any_works()) {
            (Some(printer), _) if ahead == 0 => format!("it prints on printer {}", printer + 1),
            (_, true) => {
                format!("it waits for a printer{}", if ahead > 0 { format!(", {ahead} before it") } else { String::new() })
            }
            (_, false) => "it waits until a printer is well".to_owned(),
        }
    }

    fn wrong(&mut self, headline: &str, unit: usize, detail: String) -> Vec<Do> {
        self.say(Tone::Wrong, headline, Some(unit), detail)
    }

    fn say(&mut self, tone: Tone, headline: &str, unit: Option<usize>, detail: String) -> Vec<Do> {
        let unit = unit.map(|unit| self.key(unit)).unwrap_or_default();
        self.say = Say { tone, headline: headline.to_owned(), unit, detail };
        self.said += 1;
        vec![Do::Say]
    }

    fn counts(&self) -> Counts {
        let count = |wanted: fn(&Unit) -> bool| self.units.iter().filter(|unit| wanted(unit)).count();
        Counts {
            all: self.units.len(),
            boxed: count(|unit| unit.boxed),
            open: count(|unit| !unit.boxed && (unit.state == State::Printed || (unit.state == State::Unknown && unit.untold))),
            look: count(|unit| unit.state == State::Unknown && !unit.untold),
        }
    }

    /// The first unit that nobody has begun.
    fn next(&self) -> Option<usize> {
        let fresh = |(index, unit): &(usize, &Unit)| {
            matches!(unit.state, State::Queued | State::Missing)
                && !unit.elsewhere
                && !self.printers.prints(*index)
                && !self.waiting.contains(index)
        };
        self.units.iter().enumerate().find(fresh).map(|(index, _)| index)
    }

    /// All that is shown.
    pub fn screen(&self) -> Screen {
        let counts = self.counts();
        let keys = |wanted: &dyn Fn(&Unit) -> bool| -> Vec<String> {
            let of = |(index, unit): (usize, &Unit)| wanted(unit).then(|| self.key(index));
            self.units.iter().enumerate().filter_map(of).take(40).collect()
        };
        let timed = self.pace.boxed_in_hour > 1 && self.pace.seconds > 0;
        let per_hour =
            timed.then(|| (self.pace.boxed_in_hour - 1).saturating_mul(3600) / self.pace.seconds).filter(|hour| *hour > 0);
        let left = counts.all - counts.boxed;
        let to_print = self.units.iter().filter(|unit| matches!(unit.state, State::Queued | State::Missing)).count() as u64;
        Screen {
            said: self.said,
            say: self.say.clone(),
            title: self.title.clone(),
            bench: self.bench.clone(),
            printers: self.printers.shown(&|unit| self.key(unit)),
            counts,
            in_hand: self.in_hand.map(|unit| self.key(unit)),
            next: self.next().map(|unit| self.key(unit)),
            waiting: self.waiting.iter().map(|unit| self.key(*unit)).collect(),
            open: keys(&|unit| !unit.boxed && (unit.state == State::Printed || (unit.state == State::Unknown && unit.untold))),
            look: keys(&|unit| unit.state == State::Unknown && !unit.untold),
            per_hour,
            minutes_left: per_hour.map(|hour| u32::try_from(left * 60).unwrap_or(u32::MAX).div_ceil(hour)),
            rolls_left: (self.roll.roll > 0)
                .then(|| u32::try_from((to_print * self.roll.strip * 10).div_ceil(self.roll.roll)).unwrap_or(u32::MAX)),
            benches: self.pace.benches,
            ledger: self.away.clone(),
            ended: self.ended,
        }
    }
}

/// A kind of trouble in few large letters.
fn trouble_in_large(kind: &str) -> &'static str {
    match kind {
        "paper end" => "NO PAPER",
        "cover open" => "COVER OPEN",
        "cutter" => "CUTTER JAM",
        "too hot" => "TOO HOT",
        _ => "NO PRINTER",
    }
}
