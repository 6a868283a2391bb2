//! Headings that are written as HTML, for one who looks for a section: `<h2>Setup</h2>`.

use std::ops::Range;

use pulldown_cmark::{Event, Parser};

use super::tags;
use super::tokens::{self, Events, MARK, MARK_END, Piece, Woven};
use super::tree::{Handle, Seen};

/// A heading of HTML that stands in no list, no quote and no table.
pub(in crate::manual) struct Heading {
    /// 1 to 6.
    pub level: u8,
    pub title: String,
    /// From its start tag to after its end tag, in bytes.
    pub range: Range<usize>,
}

/// The headings of HTML in a text, from byte `body` on.
pub(in crate::manual) fn headings(text: &str, body: usize) -> Vec<Heading> {
    let rest = text.get(body..).unwrap_or_default();
    if !rest.contains("<h") && !rest.contains("<H") {
        return Vec::new();
    }
    let events: Vec<_> = Parser::new_ext(rest, crate::manual::markdown::options()).into_offset_iter().collect();
    let woven = tokens::weave(&events, body, tags::sort);
    let mut found = Vec::new();
    look(&woven, &events, 0, &mut found);
    found.sort_by_key(|heading| heading.range.start);
    found
}

fn look(woven: &Woven, events: &Events, node: Handle, found: &mut Vec<Heading>) {
    for child in woven.tree.children(node) {
        let Seen::Element(name, piece) = woven.tree.seen(child) else { continue };
        let level = name.strip_prefix('h').and_then(|digit| digit.parse::<u8>().ok()).filter(|level| (1..=6).contains(level));
        match (level, piece.and_then(|piece| woven.pieces.get(piece))) {
            (Some(level), Some(Piece::Tag { span, .. })) => {
                let mut title = String::new();
                let mut end = span.end as usize;
                words(woven, events, child, &mut title, &mut end);
                // Left unclosed, it ends with its words.
                let next = woven.heading_ends.partition_point(|closed| *closed < end);
                let end = woven.heading_ends.get(next).copied().unwrap_or(end);
                let title = title.split_whitespace().collect::<Vec<_>>().join(" ");
                found.push(Heading { level, title, range: span.start as usize..end });
            }
            _ if matches!(&*name, "ul" | "ol" | "li" | "blockquote" | "table" | "dl") => {}
            _ => look(woven, events, child, found),
        }
    }
}

/// What is said in an element, and where the last of it ends.
fn words(woven: &Woven, events: &Events, node: Handle, title: &mut String, end: &mut usize) {
    for child in woven.tree.children(node) {
        let text = match woven.tree.seen(child) {
            Seen::Element(..) => {
                words(woven, events, child, title, end);
                continue;
            }
            Seen::Text(text) => text,
        };
        let mut rest = text.as_str();
        while let Some((white, marked)) = rest.split_once(MARK) {
            title.push_str(white);
            let (number, after) = marked.split_once(MARK_END).unwrap_or((marked, ""));
            match number.parse().ok().and_then(|number: usize| woven.pieces.get(number)) {
                Some(Piece::Text { text, span }) => {
                    title.push_str(text);
                    *end = (*end).max(span.end as usize);
                }
                Some(Piece::Events(which)) => {
                    for (event, _) in events.get(which.clone()).unwrap_or_default() {
                        if let Event::Code(code) = event {
                            title.push_str(code);
                        }
                    }
                }
                _ => {}
            }
            rest = after;
        }
        title.push_str(rest);
    }
}
