//! What cannot be read or used, in words, with its place where there is one.

use std::fmt;

use crate::manual;
use crate::manual::source::{Place, Spot};

/// Why there is no strip.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum Error {
    /// What was asked for is nothing that there is: a printer or a style of that name.
    #[error("{0}")]
    Usage(Trouble),
    /// A file cannot be read or used.
    #[error("{0}")]
    Input(Trouble),
}

impl Error {
    pub fn trouble(&self) -> &Trouble {
        match self {
            Error::Usage(trouble) | Error::Input(trouble) => trouble,
        }
    }
}

/// An error of the manual's room, ready to be shown.
impl From<&manual::Error> for Error {
    fn from(error: &manual::Error) -> Error {
        let wanting = match error {
            manual::Error::Unreadable { file, .. } => Some(file.clone()),
            _ => None,
        };
        Error::Input(Trouble { wanting, ..Trouble::new(error.to_string()).maybe_hint(error.hint()).at_spot(error.spot()) })
    }
}

/// Something to tell: one clear sentence, and what is known besides.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Trouble {
    pub message: String,
    pub hint: Option<String>,
    pub place: Option<Place>,
    /// The text of the file that `place` points into, for the excerpt.
    pub text: Option<String>,
    /// A file that was asked for and cannot be read, by its name in the manual's folder: its coming would mend this.
    pub wanting: Option<String>,
}

impl Trouble {
    pub fn new(message: impl Into<String>) -> Trouble {
        Trouble { message: message.into(), ..Trouble::default() }
    }

    pub fn hint(mut self, hint: impl Into<String>) -> Trouble {
        self.hint = Some(hint.into());
        self
    }

    pub fn maybe_hint(mut self, hint: Option<String>) -> Trouble {
        self.hint = hint;
        self
    }

    pub fn at(mut self, place: Option<Place>) -> Trouble {
        self.place = place;
        self
    }

    pub fn message(&self) -> &str {
        &self.message
    }

    pub fn hint_text(&self) -> Option<&str> {
        self.hint.as_deref()
    }

    pub fn place(&self) -> Option<&Place> {
        self.place.as_ref()
    }

    /// The line that the place points into.
    pub fn line(&self) -> Option<&str> {
        let line = self.place.as_ref()?.line.checked_sub(1)? as usize;
        self.text.as_ref()?.lines().nth(line)
    }

    /// The place, and the text around it for the excerpt.
    pub fn at_spot(self, spot: Option<&Spot>) -> Trouble {
        match spot {
            Some(spot) => self.at(Some(spot.place.clone())).text(spot.file.text()),
            None => self,
        }
    }

    /// The text of the file that the place points into.
    pub fn text(mut self, text: impl Into<String>) -> Trouble {
        self.text = Some(text.into());
        self
    }
}

impl fmt::Display for Trouble {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.place {
            Some(place) => write!(out, "{place}: {}", self.message),
            None => out.write_str(&self.message),
        }
    }
}

impl std::error::Error for Trouble {}
