//! What can go wrong on the way to the paper, in words, and what became of a strip.

use super::status::{Ailment, Status};
use std::io;
use std::time::Duration;

/// Why a strip did not go out as it should. Shown to the person: each says what to look at.
#[derive(Debug, thiserror::Error)]
pub enum Trouble {
    #[error("{}", list(&.0.ailments()))]
    Printer(Status),
    #[error(
        "nothing answers at {at}: is it a printer, is it switched on, has it paper, is its cover closed? (If it can't answer at all, say so in its profile: status = false, fence = \"none\".)"
    )]
    Mute { at: String },
    #[error(
        "what comes back from {at} is no answer of a printer ({bytes} stray bytes): is it a printer, and are the speed and the cable right?"
    )]
    Rubbish { at: String, bytes: usize },
    #[error("{at} has closed the connection: was the printer switched off, or is another computer printing on it?")]
    Closed { at: String },
    #[error("{at} has taken no more bytes for {} s: look at its paper, its cover and its lights", .after.as_secs_f32())]
    Stalled { at: String, after: Duration },
    #[error("{at} has not said within {} s that it worked off what it got: look at its paper, its cover, its lights, and at what came out", .after.as_secs_f32())]
    NotWorkedOff { at: String, after: Duration },
    #[error("{at} cannot be reached ({cause}): is it switched on, is the cable in, is the address right?")]
    NoConnection { at: String, cause: io::Error },
    #[error("the link to {at} broke ({cause}): look at the cable and the printer")]
    Link { at: String, cause: io::Error },
    /// What is written to is no printer, and nobody at a printer can put it right.
    #[error("{at} cannot be written ({cause})")]
    Output { at: String, cause: String },
    #[error("{0}")]
    Queue(String),
    #[error("the pretend printer's roll is at its end: going on puts in a new one")]
    PretendRollEnd,
    #[error("the pretend printer could not read the bytes: {0}")]
    Unreadable(String),
    #[error("stopped in the middle of a strip, as asked")]
    Interrupted,
}

impl Trouble {
    /// A person at the printer can put it right, so that waiting is worth it.
    pub fn can_be_put_right(&self) -> bool {
        !matches!(self, Trouble::Interrupted | Trouble::PretendRollEnd | Trouble::Unreadable(_) | Trouble::Output { .. })
    }

    /// Hot heads cool by themselves.
    pub(crate) fn passes_by_itself(&self) -> bool {
        matches!(self, Trouble::Printer(status) if status.ailments() == [Ailment::TooHot])
    }

    /// The kind in one word: for counting and for the ledger's notes.
    pub fn kind(&self) -> &'static str {
        match self {
            Trouble::Printer(status) => match status.ailments().first() {
                Some(Ailment::PaperEnd) => "paper end",
                Some(Ailment::CoverOpen) => "cover open",
                Some(Ailment::Cutter) => "cutter",
                Some(Ailment::TooHot) => "too hot",
                _ => "printer error",
            },
            Trouble::Mute { .. } => "mute",
            Trouble::Rubbish { .. } => "rubbish",
            Trouble::Closed { .. } => "closed",
            Trouble::Stalled { .. } => "stalled",
            Trouble::NotWorkedOff { .. } => "not worked off",
            Trouble::NoConnection { .. } => "no connection",
            Trouble::Link { .. } => "link",
            Trouble::Output { .. } => "output",
            Trouble::Queue(_) => "queue",
            Trouble::PretendRollEnd => "paper end",
            Trouble::Unreadable(_) => "unreadable",
            Trouble::Interrupted => "interrupted",
        }
    }
}

/// What became of a strip, as far as it can be known.
#[derive(Debug)]
pub enum Outcome {
    /// The printer's own word says that it is out and whole.
    Printed,
    /// It may be out, whole or in part. `trouble` is `None` where nothing went wrong and the printer simply can't tell.
    Unknown { why: String, trouble: Option<Trouble> },
    /// It is certainly not whole: bytes without which it can't be were never sent.
    Missing { trouble: Trouble },
}

fn list(ailments: &[Ailment]) -> String {
    if ailments.is_empty() {
        return "the printer reports no fault any more".to_owned();
    }
    ailments.iter().map(|ailment| ailment.to_string()).collect::<Vec<_>>().join("; also ")
}
