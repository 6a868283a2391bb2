//! One fenced block, and what several kinds of them have in common.

use std::ops::Range;

use crate::lengths::Mm;
use crate::manual::Error;
use crate::manual::document::Width;
use crate::manual::source::{Remark, Source, Span};
use crate::manual::tables::{Keys, Toml, permille};

/// A fenced block as it was gathered.
pub(super) struct Fence<'a> {
    pub source: &'a Source,
    pub text: &'a str,
    /// From byte of `text` to byte of the source, one pair a line.
    pub offsets: &'a [(u32, u32)],
    /// Absolute, from fence to fence.
    pub span: Span,
}

impl Fence<'_> {
    pub(super) fn toml(&self) -> Toml<'_> {
        Toml::new(self.source, self.text, self.offsets)
    }

    /// An error on the whole block: its opening line.
    pub(super) fn error(&self, message: &str, hint: &str) -> Error {
        let line = self.source.text.get(self.span.start as usize..).and_then(|rest| rest.lines().next()).unwrap_or_default();
        let span = Span { start: self.span.start, end: self.span.start + line.len() as u32 };
        Error::Toml { message: message.into(), hint: Some(hint.into()), at: Box::new(self.source.spot(span)) }
    }

    pub(super) fn required<'t>(&self, toml: &Toml, keys: &Keys<'t, '_>, key: &str) -> Result<(&'t str, Range<usize>), Error> {
        match toml.text(keys, key)? {
            Some(found) => Ok(found),
            None => Err(self.error(&format!("{} needs `{key}`", keys.name), &format!("add a line such as: {key} = \"…\""))),
        }
    }
}

pub(super) fn width(toml: &Toml, keys: &Keys) -> Result<Option<Width>, Error> {
    let Some((text, range)) = toml.told(keys, "width")? else {
        return Ok(None);
    };
    let share = text.trim().strip_suffix('%').and_then(|number| number.trim().parse::<f64>().ok());
    let width = match share {
        Some(share) if (1.0..=100.0).contains(&share) => Some(Width::Share(permille(share))),
        Some(_) => None,
        None => Mm::parse(&text).filter(|length| length.micrometres() > 0).map(Width::Length),
    };
    width.map(Some).ok_or_else(|| {
        let hint = "for example: width = \"60 mm\", or \"100%\" of the column".to_owned();
        toml.error(range, format!("`width` cannot be \"{text}\""), Some(hint))
    })
}

/// In TOML the words stand under a key of their own.
pub(super) fn missing_alt(picture: &str, span: Span) -> Remark {
    Remark { hint: Some("say what it shows in a line such as: alt = \"…\"".into()), ..super::missing_alt(picture, span) }
}
