//! HTML in a guide: tags around, between and inside Markdown.
//!
//! A guide with HTML in it is read as a browser reads the page that Markdown was turned into: [`tokens`] gives html5ever the tags
//! of the writer and those that Markdown stands for, in the order of the source; [`events`] walks the tree that comes of it and
//! tells the reader of Markdown what it would have heard, had all of it been Markdown. A guide without HTML never comes here.

mod events;
pub(in crate::manual) mod headings;
pub(super) mod measures;
mod page;
mod table;
mod tags;
mod tokens;
mod tree;

use std::ops::Range;

use pulldown_cmark::{Event, Tag, TagEnd};

use super::Reading;
use crate::manual::Error;
use crate::manual::source::{Level, Remark, Span};

/// Reads events among which there may be HTML. `base` is added to every place.
///
/// # Errors
/// When a fenced block of ours cannot be understood.
pub(super) fn read(events: Vec<(Event, Range<usize>)>, base: usize, reading: &mut Reading) -> Result<(), Error> {
    let woven = tokens::weave(&events, base, tags::sort);
    events::play(&woven, &events, base, reading, false)?;
    reading.remarks.extend(woven.remarks);
    Ok(())
}

/// Reads a whole page of HTML: all of it is HTML, whatever Markdown would make of its indentation; what is there to lead about a
/// site is left out, and said.
///
/// # Errors
/// Never, as nothing in a page is a block of ours.
pub(super) fn read_page(body: &str, base: usize, reading: &mut Reading) -> Result<(), Error> {
    let whole = 0..body.len();
    let events = [Event::Start(Tag::HtmlBlock), Event::Html(body.into()), Event::End(TagEnd::HtmlBlock)];
    let events = events.map(|event| (event, whole.clone()));
    let woven = tokens::weave(&events, base, page::sort);
    let left_out = events::play(&woven, &events, base, reading, true)?;
    reading.remarks.extend(woven.remarks);
    reading.remarks.extend(page::remark(&left_out));
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

fn drawing_dropped(span: Span) -> Remark {
    Remark {
        hint: Some("save the drawing as a file of its own, and show it by <img src=\"drawing.svg\">".into()),
        message: "a drawing that stands in the page itself is not printed".into(),
        ..html_dropped("svg", span)
    }
}
