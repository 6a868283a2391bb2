//! A strip of a ledger: its name, what is known of it, and the run that it belongs to.

use serde::Serialize;
use std::fmt;

/// A strip as a person names it: `KEY`, or `KEY/2` for its second copy.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct StripName {
    pub unit: String,
    pub copy: u32,
}

impl fmt::Display for StripName {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.copy {
            1 => out.write_str(&self.unit),
            copy => write!(out, "{}/{copy}", self.unit),
        }
    }
}

/// What is known of a strip.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum State {
    Queued,
    Sending,
    Printed,
    Unknown,
    Missing,
}

impl State {
    pub fn word(self) -> &'static str {
        match self {
            State::Queued => "queued",
            State::Sending => "sending",
            State::Printed => "printed",
            State::Unknown => "unknown",
            State::Missing => "missing",
        }
    }

    pub(super) fn read(word: &str) -> State {
        match word {
            "queued" => State::Queued,
            "sending" => State::Sending,
            "printed" => State::Printed,
            "missing" => State::Missing,
            // The table's own check lets nothing else in.
            _ => State::Unknown,
        }
    }
}

/// A strip with the run that it belongs to, so that a person knows which is meant.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Located {
    #[serde(flatten)]
    pub name: StripName,
    pub run: i64,
    pub file: String,
    pub document: String,
    pub revision: String,
    pub language: String,
}

impl Located {
    /// `run 3, HRN-QS revision C (heron/heron.md, en)`.
    pub fn run_in_words(&self) -> String {
        let in_brackets: Vec<&str> = [self.file.as_str(), &self.language].into_iter().filter(|word| !word.is_empty()).collect();
        let mut words = format!("run {}", self.run);
        if !self.document.is_empty() {
            words += &format!(", {}", self.document);
        }
        if !self.revision.is_empty() {
            words += &format!(" revision {}", self.revision);
        }
        if !in_brackets.is_empty() {
            words += &format!(" ({})", in_brackets.join(", "));
        }
        words
    }
}
