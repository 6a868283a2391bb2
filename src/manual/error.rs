//! What can stop a manual from being read: every way, in words, with its place and what to do.

use std::io::ErrorKind;
use std::sync::Arc;

use thiserror::Error;

use super::gathered::{self, LOCK};
use super::source::{Place, SourceFile, Spot};
use crate::names::plainly;

#[derive(Clone, Debug, Error, PartialEq)]
pub enum Error {
    #[error("the folder {path:?} cannot be opened: {reason}")]
    Folder { path: String, reason: String },
    /// `at` is the include that asked for the file; `None` for the manual itself.
    #[error("{file:?} cannot be read: {reason}")]
    Unreadable { file: String, reason: FolderError, at: Option<Box<Spot>> },
    #[error("this is not UTF-8 text: byte 0x{byte:02X}")]
    NotUtf8 { byte: u8, wide: bool, at: Box<Spot> },
    #[error("the character U+{code:04X} cannot stand in a manual")]
    ForbiddenCharacter { code: u32, at: Box<Spot> },
    #[error("the header that begins here has no closing line of +++")]
    UnclosedHeader { at: Box<Spot> },
    /// TOML of the header or of a fenced block: not well formed, or a value of the wrong kind.
    #[error("{message}")]
    Toml { message: String, hint: Option<String>, at: Box<Spot> },
    /// A field, a condition, a loop or an include.
    #[error("{message}")]
    Template { message: String, hint: Option<String>, at: Option<Box<Spot>> },
    /// More than one block that cannot be read; they stand in the order of the text.
    #[error("{first}{}", told(.more))]
    Several { first: Box<Error>, more: Vec<Error> },
    /// The table of units.
    #[error("{message}")]
    Units { message: String, hint: Option<String>, at: Option<Box<Spot>> },
}

impl Error {
    /// Where in the writer's files it is.
    pub fn place(&self) -> Option<Place> {
        self.spot().map(|spot| spot.place.clone())
    }

    /// The same with the file's text and the bytes to underline.
    pub fn spot(&self) -> Option<&Spot> {
        match self {
            Error::Folder { .. } => None,
            Error::NotUtf8 { at, .. }
            | Error::ForbiddenCharacter { at, .. }
            | Error::UnclosedHeader { at }
            | Error::Toml { at, .. } => Some(at),
            Error::Several { first, .. } => first.spot(),
            Error::Unreadable { at, .. } | Error::Template { at, .. } | Error::Units { at, .. } => at.as_deref(),
        }
    }

    /// What to do about it.
    pub fn hint(&self) -> Option<String> {
        match self {
            Error::Folder { .. } => None,
            Error::Unreadable { reason: FolderError::NotFound, at: None, .. } => {
                Some("name a Markdown file that is there".into())
            }
            Error::Unreadable { reason, .. } => reason.hint(),
            Error::NotUtf8 { wide: true, .. } => Some("the file looks like UTF-16; save it as UTF-8".into()),
            Error::NotUtf8 { .. } => Some("save the file as UTF-8".into()),
            Error::ForbiddenCharacter { code: 0xFDD0.., .. } => Some("Unicode keeps this code for programs: delete it".into()),
            Error::ForbiddenCharacter { .. } => Some("this is no text, or it is UTF-16: save it as UTF-8".into()),
            Error::UnclosedHeader { .. } => Some("put a line of +++ after the last key of the header".into()),
            Error::Several { first, .. } => first.hint(),
            Error::Toml { hint, .. } | Error::Template { hint, .. } | Error::Units { hint, .. } => hint.clone(),
        }
    }

    /// One error for all; `None` for none.
    pub(super) fn together(errors: Vec<Error>) -> Option<Error> {
        let mut errors = errors.into_iter();
        let first = errors.next()?;
        let more: Vec<Error> = errors.collect();
        Some(if more.is_empty() { first } else { Error::Several { first: Box::new(first), more } })
    }

    pub(super) fn at(file: &Arc<SourceFile>, offset: usize, length: usize) -> Box<Spot> {
        Box::new(Spot::new(file.clone(), offset, length))
    }
}

/// The errors after the first, a line each with its place.
fn told(more: &[Error]) -> String {
    let line = |error: &Error| match error.place() {
        Some(place) => format!("\n{place}: {error}"),
        None => format!("\n{error}"),
    };
    more.iter().map(line).collect()
}

/// Why a file of the folder cannot be had.
#[derive(Clone, Debug, Error, PartialEq, Eq)]
pub enum FolderError {
    #[error("there is no such file")]
    NotFound,
    #[error("it has no name")]
    NoName,
    #[error("its path climbs out of the project")]
    Climbs,
    #[error("it is a link that leads out of the project")]
    LeadsOut,
    #[error("it has not been gathered")]
    NotGathered,
    #[error("{file}, which was gathered for it, {what}", file = gathered::FOLDER)]
    NotAsGathered { what: &'static str },
    #[error("{LOCK} cannot be read: {0}")]
    Lock(String),
    #[error("it is {0}, not a file")]
    NotAFile(&'static str),
    #[error("it has {length} bytes, more than the {limit} that are allowed")]
    TooLarge { length: u64, limit: u64 },
    #[error("{0}")]
    Unreadable(String),
}

impl FolderError {
    pub fn hint(&self) -> Option<String> {
        let hint = match self {
            FolderError::NotFound => {
                "names count from the file that says them; `/a.png` is looked for from there up to the project"
            }
            FolderError::Climbs | FolderError::LeadsOut => {
                "put the file into the project: the nearest folder above the manual that holds a `.git`, else its own; or --project"
            }
            FolderError::NotGathered | FolderError::NotAsGathered { .. } => "`stripling gather MANUAL` brings it in",
            FolderError::Lock(_) => "delete the file and gather again",
            FolderError::NoName | FolderError::NotAFile(_) | FolderError::TooLarge { .. } | FolderError::Unreadable(_) => {
                return None;
            }
        };
        Some(hint.into())
    }
}

impl From<std::io::Error> for FolderError {
    fn from(error: std::io::Error) -> FolderError {
        match error.kind() {
            ErrorKind::NotFound | ErrorKind::NotADirectory => FolderError::NotFound,
            _ => FolderError::Unreadable(plainly(&error)),
        }
    }
}
