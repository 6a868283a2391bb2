//! The machine of a packing bench: lines and news in, what to do and what to say out. It has no clock, no disk and no thread.
//!
//! Whoever drives it does at once what it asks, and tells it what came of that before the next line. What it hears stands by who says it: a
//! person's scanner (`scans.rs`), the ledger (`answers.rs`), the printers (`news.rs`); what it shows is in `shown.rs`.

mod answers;
mod news;
mod scans;
mod shown;

use std::collections::VecDeque;

use super::codes::Codes;
use super::printers::Printers;
use super::screen::{Roll, Say, Tone};
use crate::send::State;
use crate::send::ledger::{Boxed, Claim, Pace, Standing};

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

    /// The ledger does not answer.
    pub fn is_away(&self) -> bool {
        self.away.is_some()
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
            Input::Away { why, scanned } => self.went_away(why, scanned),
            Input::Back => self.came_back(),
            Input::Standing { all, pace } => self.stand(&all, pace),
            Input::Lost { unit, printer } => self.lost(unit, printer),
            Input::Held { unit, printer } => self.held(unit, printer),
            Input::NotReady { unit, printer, kind, why } => self.not_ready(unit, printer, kind, &why),
            Input::Unmade { unit, printer, why } => self.unmade(unit, printer, why),
            Input::Came { unit, printer, came } => self.came(unit, printer, came),
            Input::Well { printer } => self.well(printer),
        };
        doing.extend(self.dispatch());
        doing
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
