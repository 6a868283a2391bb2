//! Why a model cannot be drawn, in words that a maker can act on.

use thiserror::Error;

#[derive(Clone, Debug, Error, PartialEq, Eq)]
pub enum Error {
    #[error("the model {address:?} cannot be read: {reason}")]
    Unreadable { address: String, reason: String },
    #[error("{address:?} is no model that can be read here: {reason}")]
    Kind { address: String, reason: String },
    #[error("{address:?} is STEP: exact surfaces, which are not read here")]
    Exact { address: String },
    #[error("the model {address:?} is damaged: {reason}")]
    Damaged { address: String, reason: String },
    #[error("the model {address:?} refers to {other:?}, which cannot be used: {reason}")]
    Outside { address: String, other: String, reason: String },
    #[error("the model {address:?} is too large: {reason}")]
    TooLarge { address: String, reason: String },
    #[error("the model {address:?} holds nothing to draw: {reason}")]
    Empty { address: String, reason: String },
    #[error("the model has no part {name:?}")]
    NoPart { name: String, nearest: Option<String>, known: String },
    #[error("nothing is left to draw: {reason}")]
    Nothing { reason: String },
}

impl Error {
    /// In a few words, for the frame in its place.
    pub fn why(&self) -> String {
        match self {
            Error::Unreadable { reason, .. }
            | Error::Kind { reason, .. }
            | Error::Damaged { reason, .. }
            | Error::Outside { reason, .. }
            | Error::TooLarge { reason, .. }
            | Error::Empty { reason, .. }
            | Error::Nothing { reason } => reason.clone(),
            Error::NoPart { name, .. } => format!("it has no part {name:?}"),
            Error::Exact { .. } => "it is STEP, which is not read here".into(),
        }
    }

    pub fn hint(&self) -> Option<String> {
        Some(match self {
            Error::Unreadable { .. } => return None,
            Error::Kind { .. } => {
                "export it from your CAD program as STL, 3MF, OBJ or glTF (3MF keeps names and millimetres)".into()
            }
            Error::Exact { .. } => {
                "open it in your CAD program and export its bodies as 3MF, which keeps names, places and millimetres, or each as STL in \
                 millimetres, with a deviation of 0.05 mm or less; then name that file here"
                    .into()
            }
            Error::Damaged { .. } | Error::Empty { .. } => "export it again from the program that made it".into(),
            Error::Outside { .. } => "put the file into the project, or export the model as one file (3MF or GLB)".into(),
            Error::TooLarge { .. } => "export it with a coarser tolerance; 0.05 mm is finer than the paper can show".into(),
            Error::NoPart { nearest: Some(nearest), .. } => format!("did you mean {nearest:?}?"),
            Error::NoPart { known, .. } => format!("its parts are {known}"),
            Error::Nothing { .. } => "leave at least one part that is not hidden".into(),
        })
    }
}
