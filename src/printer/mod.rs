//! What a receipt printer is, what it is told, and what it does with that. Knows dots and bytes; never sees a manual.
//!
//! [`encode()`] turns a strip into the bytes that print it, [`decode()`] executes bytes as a printer would and paints the paper,
//! and neither looks at the other: that they agree, dot for dot, is what the tests of this room are about.
//! [`estimate`] says what a run costs in paper, time and money before it is printed.

pub mod decode;
pub mod encode;
pub mod estimate;
pub mod pretend;
pub mod profile;
pub mod roll;

pub use decode::{Fault, Seen, decode};
pub use encode::plain::as_told;
pub use encode::{Bands, ejecting, encode, encode_in_bands};
pub use estimate::{Estimate, Job, Tally};
pub use profile::{BUILT_IN, Cut, CutCommand, CutLine, Fence, Profile, Raster, Thrift};
pub use roll::{Price, Roll};

use crate::manual::source::Place;

/// What can be wrong with a printer's description or with what is asked about paper.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Error {
    /// `--printer` or `paper` names none of the generic printers.
    #[error("no printer is called \"{name}\"")]
    UnknownPrinter { name: String, nearest: Option<&'static str> },
    /// A printer's TOML holds something that cannot be. `offset` counts bytes from the start of the file.
    #[error("{message}")]
    Profile { message: String, hint: Option<String>, place: Place, offset: usize },
    /// `--roll` or `roll` is no roll.
    #[error("\"{text}\" is no roll of paper")]
    Roll { text: String },
}

impl Error {
    /// The file, line and column a person can go to.
    pub fn place(&self) -> Option<Place> {
        match self {
            Error::Profile { place, .. } => Some(place.clone()),
            Error::UnknownPrinter { .. } | Error::Roll { .. } => None,
        }
    }

    /// Where in the printer's file, in bytes.
    pub fn offset(&self) -> Option<usize> {
        match self {
            Error::Profile { offset, .. } => Some(*offset),
            Error::UnknownPrinter { .. } | Error::Roll { .. } => None,
        }
    }

    /// What to do about it.
    pub fn hint(&self) -> Option<String> {
        match self {
            Error::UnknownPrinter { nearest: Some(nearest), .. } => Some(format!("did you mean \"{nearest}\"?")),
            Error::UnknownPrinter { nearest: None, .. } => {
                let names: Vec<&str> = BUILT_IN.iter().map(|generic| generic.name).collect();
                Some(format!("the generic printers are {}; a file of your own ends in .toml", names.join(", ")))
            }
            Error::Profile { hint, .. } => hint.clone(),
            Error::Roll { .. } => {
                Some("write paper width x roll diameter in mm, such as \"80x80\", or with the core, \"80x80x12\"".into())
            }
        }
    }
}

#[cfg(test)]
mod tests;
