//! HTML in a guide: tags around, between and inside Markdown.
//!
//! A guide with HTML in it is read as a browser reads the page that Markdown was turned into: [`tokens`] gives html5ever the tags
//! of the writer and those that Markdown stands for, in the order of the source; [`events`] walks the tree that comes of it and
//! tells the reader of Markdown what it would have heard, had all of it been Markdown. A guide without HTML never comes here.

mod events;
pub(in crate::manual) mod headings;
pub(super) mod measures;
mod table;
mod tags;
mod tokens;
mod tree;

use std::ops::Range;

use pulldown_cmark::Event;

use super::Reading;
use crate::manual::Error;
use crate::manual::source::{Level, Remark, Span};

/// Reads events among which there may be HTML. `base` is added to every place.
///
/// # Errors
/// When a fenced block of ours cannot be understood.
pub(super) fn read(events: Vec<(Event, Range<usize>)>, base: usize, reading: &mut Reading) -> Result<(), Error> {
    let woven = tokens::weave(&events, base);
    events::play(&woven, &events, base, reading)?;
    reading.remarks.extend(woven.remarks);
    Ok(())
}

fn html_dropped(name: &str, span: Span) -> Remark {
    Remark {
        rule: "html-dropped",
        level: Level::Warning,
        message: format!("<{name}> means nothing on paper; the text in it is kept"),
        hint: Some("if it is a word of your own, write \\< before it, or `…` around it; else take it out".into()),
        span,
    }
}
