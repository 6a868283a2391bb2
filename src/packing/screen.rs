//! What a packing bench shows, as plain data: terminal and page say the same.

use serde::Serialize;

/// How something is meant. Each has a word, a shape and a sound of its own besides its colour.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Tone {
    /// Done.
    Good,
    /// Under way, nothing to do but to go on.
    #[default]
    Plain,
    /// Something is to be done now.
    Ask,
    /// Stop: nothing was marked.
    Wrong,
}

impl Tone {
    pub fn word(self) -> &'static str {
        match self {
            Tone::Good => "good",
            Tone::Plain => "next",
            Tone::Ask => "look",
            Tone::Wrong => "stop",
        }
    }

    /// How often the bell sounds.
    pub fn bells(self) -> usize {
        match self {
            Tone::Plain => 0,
            Tone::Good => 1,
            Tone::Ask => 2,
            Tone::Wrong => 3,
        }
    }
}

/// What is said at once, in large letters.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Say {
    pub tone: Tone,
    /// Few words in capitals.
    pub headline: String,
    /// The unit that is meant; may be empty.
    pub unit: String,
    /// A sentence in small letters.
    pub detail: String,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct PrinterShown {
    pub name: String,
    /// `free`, `printing`, `stopped`.
    pub state: &'static str,
    /// The unit that is printed, or what is wrong.
    pub words: String,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Counts {
    pub all: usize,
    pub boxed: usize,
    /// Printed and in no box yet.
    pub open: usize,
    /// To be looked at.
    pub look: usize,
}

/// Paper, for the rolls that are left to be used.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Roll {
    /// Of one strip with its cut, micrometres.
    pub strip: u64,
    /// On one roll, micrometres.
    pub roll: u64,
}

/// Everything that is shown.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Screen {
    /// Counts what was said, so that a page sounds each once.
    pub said: u64,
    pub say: Say,
    pub title: String,
    pub bench: String,
    pub printers: Vec<PrinterShown>,
    pub counts: Counts,
    /// The unit in hand.
    pub in_hand: Option<String>,
    /// The first that nobody has begun.
    pub next: Option<String>,
    /// Units that wait for a printer.
    pub waiting: Vec<String>,
    /// Printed, and in no box yet.
    pub open: Vec<String>,
    /// Nobody knows whether they are printed.
    pub look: Vec<String>,
    /// Boxes an hour, all benches together.
    pub per_hour: Option<u32>,
    /// Minutes until all are boxed, at that pace.
    pub minutes_left: Option<u32>,
    /// Tenths of rolls that the strips still need.
    pub rolls_left: Option<u32>,
    /// Benches at work.
    pub benches: u32,
    /// Why the ledger does not answer.
    pub ledger: Option<String>,
    pub ended: bool,
}
