//! What can be wrong with a picture, a sign or a code, each with a message and a hint for the writer.

use super::foreign::Foreign;
use crate::manual::source::{Level, Remark, Span};
use crate::names;

/// Errors of the room. The caller adds the place in the manual.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Error {
    #[error("cannot read the picture `{address}`: {reason}")]
    Unreadable { address: String, reason: String, hint: Option<String> },
    #[error("the picture `{address}` has not been gathered")]
    NotGathered { address: String },
    #[error("`{address}` is {}", unread(other.as_ref()))]
    UnknownKind { address: String, other: Option<Foreign> },
    #[error("the picture `{address}` is broken: {reason}")]
    Broken { address: String, reason: String },
    #[error("the picture `{address}` is too large: {reason}")]
    TooLarge { address: String, reason: String },
    #[error("the drawing `{address}` cannot be used: {reason}")]
    Drawing { address: String, reason: String },
    #[error("the crop of `{address}` leaves nothing of the picture")]
    Crop { address: String },
    #[error("the picture `{address}` cannot be set {width} x {height} dots large")]
    Room { address: String, width: i32, height: i32 },
    #[error("there is no sign named `{name}`")]
    UnknownSign { name: String, nearest: Option<&'static str>, known: Vec<&'static str> },
    /// A light, a key or a display that cannot be drawn as its address says.
    #[error("`{address}` cannot be drawn: {reason}")]
    Signal { address: String, reason: String, hint: String },
    #[error("there is nothing to encode")]
    CodeEmpty,
    #[error("the QR code is too long: {bytes} bytes, where {limit} fit")]
    QrTooLong { bytes: usize, limit: usize },
    #[error("the barcode is too long: {modules} modules with its quiet zones, where {limit} fit at {module} dots a module")]
    BarcodeTooLong { modules: u32, limit: u32, module: u32 },
    #[error("Code 128 cannot hold {character:?}")]
    BarcodeCharacter { character: char },
    #[error("an EAN-13 has 13 digits, or 12 without its check digit; here are {count} characters")]
    EanLength { count: usize },
    #[error("an EAN-13 holds digits only; {character:?} is none")]
    EanCharacter { character: char },
    #[error("the check digit of the EAN-13 is wrong: it is {found}, and should be {right}")]
    EanCheck { found: char, right: char },
}

impl Error {
    /// Why it cannot be used, without its name: for a frame that bears the name already.
    pub fn why(&self) -> String {
        match self {
            Error::Unreadable { reason, .. } => reason.clone(),
            Error::NotGathered { .. } => "not gathered yet".into(),
            Error::UnknownKind { other, .. } => unread(other.as_ref()),
            Error::Broken { reason, .. } => format!("broken: {reason}"),
            Error::TooLarge { reason, .. } => format!("too large: {reason}"),
            Error::Drawing { reason, .. } => reason.clone(),
            Error::Crop { .. } => "the crop leaves nothing of it".into(),
            Error::UnknownSign { .. } => "no such sign".into(),
            Error::Signal { reason, .. } => reason.clone(),
            other => other.to_string(),
        }
    }

    /// What is said of a picture, a sign or a code that cannot be used.
    pub fn remark(&self, span: Span) -> Remark {
        let rule = match self {
            Error::UnknownSign { .. } => "unknown-sign",
            Error::Signal { .. } => "unknown-signal",
            Error::NotGathered { .. } => "picture-not-gathered",
            Error::CodeEmpty
            | Error::QrTooLong { .. }
            | Error::BarcodeTooLong { .. }
            | Error::BarcodeCharacter { .. }
            | Error::EanLength { .. }
            | Error::EanCharacter { .. }
            | Error::EanCheck { .. } => "code-unusable",
            _ => "picture-unusable",
        };
        Remark { rule, level: Level::Error, message: self.to_string(), hint: self.hint(), span }
    }

    /// What the writer can do about it.
    pub fn hint(&self) -> Option<String> {
        Some(match self {
            Error::Unreadable { hint, .. } => return hint.clone(),
            Error::NotGathered { .. } => "`stripling gather MANUAL` brings in all pictures at web addresses".into(),
            Error::UnknownKind { other: Some(other), .. } => other.hint.into(),
            Error::UnknownKind { other: None, .. } => {
                "PNG, JPEG, WebP, GIF and SVG can be set; the kind is told from the content, not the name".into()
            }
            Error::Broken { .. } => "export the picture again and see that it opens in a viewer".into(),
            Error::TooLarge { .. } => {
                "a strip is at most 832 dots wide: 2000 pixels are plenty (`magick OLD -resize 2000x2000 NEW.jpg`, or a viewer's \"Export\"); \
                 JPEGs that are not progressive, and PNGs, may be larger"
                    .into()
            }
            Error::Drawing { .. } => "save it as plain SVG, with pictures embedded and no outside references".into(),
            Error::Crop { .. } => "crop = [left, top, width, height] in % of the picture, width and height above 0".into(),
            Error::Room { .. } => "give the figure a width between 1 mm and the column".into(),
            Error::UnknownSign { nearest: Some(nearest), .. } => format!("did you mean `sign:{nearest}`?"),
            Error::UnknownSign { known, .. } => format!("known signs: {}", known.join(", ")),
            Error::Signal { hint, .. } => hint.clone(),
            Error::CodeEmpty => "write what the code shall say".into(),
            Error::QrTooLong { .. } => "shorten the text: a short link reads best, or use a wider paper".into(),
            Error::BarcodeTooLong { .. } => "shorten the data, or use a qr block".into(),
            Error::BarcodeCharacter { .. } => "Code 128 holds the 128 characters of ASCII; use a qr block for others".into(),
            Error::EanLength { .. } | Error::EanCharacter { .. } => "use kind = \"code128\" for anything else".into(),
            Error::EanCheck { right, .. } => format!("check the number for a typing error, or end it with {right}"),
        })
    }
}

/// What a file is that is not read.
fn unread(other: Option<&Foreign>) -> String {
    other.map_or_else(|| "no picture of a known kind".into(), |other| format!("{}, which is not read", other.name))
}

/// A decoder's or a parser's own words as part of a sentence of ours: in one line, with control characters spelled out.
pub(super) fn one_line(words: &str) -> String {
    names::spelled_out(&words.split_whitespace().collect::<Vec<_>>().join(" "), &[])
}
