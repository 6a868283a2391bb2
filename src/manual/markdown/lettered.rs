//! What a letterer writes into a balloon: `**stress**`, an end of line of their own, a key in back quotes, a sign or another small picture.
//!
//! A few marks and no more: a balloon is no paragraph, and a star alone is a star.

use crate::manual::document::{Inline, InlineKind, Picture};
use crate::manual::source::Span;

/// The text of a balloon as inlines, each with the span of the whole. A field's value holds no marks: its letters are spelled otherwise.
pub(super) fn inlines(text: &str, span: Span) -> Vec<Inline> {
    let mut found = Vec::new();
    let mut push = |kind: InlineKind| found.push(Inline { span, kind });
    let mut plain = String::new();
    let mut rest = text.trim();
    while let Some(first) = rest.chars().next() {
        let (kind, length) = match marked(rest, span) {
            Some(found) => found,
            None => {
                plain.push(first);
                rest = &rest[first.len_utf8()..];
                continue;
            }
        };
        if !plain.is_empty() {
            push(InlineKind::Text(std::mem::take(&mut plain)));
        }
        push(kind);
        rest = &rest[length..];
    }
    if !plain.is_empty() {
        push(InlineKind::Text(plain));
    }
    found
}

/// What a mark at the front says, and how many bytes that takes.
fn marked(text: &str, span: Span) -> Option<(InlineKind, usize)> {
    let between = |open: &str, close: &str| {
        let inner = text.strip_prefix(open)?;
        let end = inner.find(close).filter(|&end| end > 0)?;
        Some((&inner[..end], open.len() + end + close.len()))
    };
    if text.starts_with('\n') {
        let blank = text.len() - text.trim_start().len();
        return Some((InlineKind::HardBreak, blank));
    }
    if let Some((inner, length)) = between("**", "**") {
        return Some((InlineKind::Strong(inlines(inner, span)), length));
    }
    if let Some((label, length)) = between("`", "`") {
        return Some((InlineKind::Key(label.to_owned()), length));
    }
    let (alt, opened) = between("![", "](")?;
    let address = &text[opened..];
    let end = address.find(')').filter(|&end| end > 0)?;
    Some((
        InlineKind::Picture(Picture { address: address[..end].to_owned(), alt: alt.to_owned(), ..Picture::default() }),
        opened + end + 1,
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::manual::document::plain_text;

    #[test]
    fn stress_keys_signs_and_ends_of_lines() {
        let found = inlines("Now **that** is\n hot! ![hot](sign:hot-liquid) `ON`", Span::default());
        let kinds: Vec<&str> = found
            .iter()
            .map(|inline| match &inline.kind {
                InlineKind::Text(_) => "text",
                InlineKind::Strong(_) => "strong",
                InlineKind::HardBreak => "break",
                InlineKind::Picture(_) => "picture",
                InlineKind::Key(_) => "key",
                _ => "?",
            })
            .collect();
        assert_eq!(kinds, ["text", "strong", "text", "break", "text", "picture", "text", "key"]);
        assert_eq!(plain_text(&found), "Now that is hot!  ON");
    }

    #[test]
    fn a_mark_that_is_not_closed_is_a_letter() {
        for text in ["2 ** 3", "5 * 5", "****", "``", "![x", "![x](", "a_b_c"] {
            assert_eq!(plain_text(&inlines(text, Span::default())), text);
        }
    }
}
