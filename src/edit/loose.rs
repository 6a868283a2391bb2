//! A picture of Markdown or HTML that becomes a figure block with the first gesture that it has no words for.

use std::ops::Range;

use super::values::string;
use super::{Change, Edited, Refused, from_field, holds_field, keys, lead_of};

/// A picture as it stands in a text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Loose {
    pub(super) range: Range<usize>,
    pub(super) picture: String,
    pub(super) alt: String,
    pub(super) caption: String,
    /// As the block would say it.
    pub(super) width: Option<String>,
    /// Why no block can take its place.
    pub(super) fixed: Option<&'static str>,
}

impl Loose {
    /// # Errors
    /// When it is made from a field.
    pub(super) fn new(text: &str, range: Range<usize>, address: &str, alt: &str, title: &str) -> Result<Loose, Refused> {
        if holds_field(text.get(range.clone()).unwrap_or_default()) {
            return Err(from_field());
        }
        let (range, fixed) = standing(text, range);
        let own = |words: &str| words.split_whitespace().collect::<Vec<_>>().join(" ");
        Ok(Loose { range, picture: address.to_owned(), alt: own(alt), caption: own(title), width: None, fixed })
    }

    /// The TOML that says as much as the picture does.
    pub(super) fn content(&self) -> String {
        let mut content = format!("picture = {}\nalt     = {}\n", string(&self.picture), string(&self.alt));
        for (key, value) in [("caption", Some(&self.caption)), ("width  ", self.width.as_ref())] {
            if let Some(value) = value.filter(|value| !value.is_empty()) {
                content.push_str(&format!("{key} = {}\n", string(value)));
            }
        }
        content
    }

    /// Says why not, with the lines of a block to paste.
    pub(super) fn refused(&self, words: &str) -> Refused {
        Refused::new(words)
            .hint("give the picture a paragraph of its own, then do it again; or paste these lines there")
            .paste(format!("```figure\n{}```\n", self.content()))
    }

    /// # Errors
    /// When no block can stand in its place, with the lines to paste.
    pub(super) fn changed(&self, text: &str, change: &Change) -> Result<Edited, Refused> {
        let content = keys::changed("figure", &self.content(), change)?;
        if let Some(words) = self.fixed {
            return Err(Refused { paste: Some(format!("```figure\n{content}```\n")), ..self.refused(words) });
        }
        let (lead, end) = (lead_of(text, self.range.start), line_end(text, self.range.start));
        let mut written = String::from("```figure");
        for line in content.lines().chain(["```"]) {
            written.push_str(end);
            written.push_str(&lead);
            written.push_str(line);
        }
        let mut all = String::with_capacity(text.len() + written.len());
        all.push_str(text.get(..self.range.start).unwrap_or_default());
        all.push_str(&written);
        all.push_str(text.get(self.range.end..).unwrap_or_default());
        Ok(Edited { text: all, range: self.range.start..self.range.start + written.len() })
    }
}

/// How the line of a byte ends; the first of the text where it is the last.
fn line_end(text: &str, at: usize) -> &'static str {
    let end = text.get(at..).and_then(|rest| rest.find('\n')).map(|end| at + end).or_else(|| text.find('\n'));
    let carriage = end.is_some_and(|end| end > 0 && text.as_bytes().get(end - 1) == Some(&b'\r'));
    if carriage { "\r\n" } else { "\n" }
}

/// The bytes that a block would take the place of: with the spaces or the stroke that end the line as a break, which would spoil a fence. And
/// why none can, where words stand beside the picture.
pub(super) fn standing(text: &str, range: Range<usize>) -> (Range<usize>, Option<&'static str>) {
    if !alone(text, &range) {
        return (range, Some("this picture stands among words"));
    }
    let rest = text.get(range.end..).unwrap_or_default();
    let line = rest.split('\n').next().unwrap_or_default().trim_end_matches('\r');
    (range.start..range.end + line.len(), None)
}

/// Whether nothing else stands on its lines but what makes the list or the quote.
fn alone(text: &str, range: &Range<usize>) -> bool {
    let before = text.get(..range.start).unwrap_or_default();
    let line = &before[before.rfind('\n').map_or(0, |end| end + 1)..];
    let rest = text.get(range.end..).unwrap_or_default().split('\n').next().unwrap_or_default();
    let marker = line.trim_start_matches([' ', '\t', '>']);
    let marker = marker.trim_end();
    let numbered = marker
        .strip_suffix(['.', ')'])
        .is_some_and(|number| !number.is_empty() && number.chars().all(|sign| sign.is_ascii_digit()));
    let is_marker = marker.is_empty() || matches!(marker, "-" | "*" | "+") || numbered;
    is_marker && matches!(rest.trim(), "" | "\\")
}
