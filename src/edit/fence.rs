//! A fenced block of ours: where its lines stand, and how other lines take the place of those that differ.

use std::ops::Range;

use super::{Change, Edited, Refused, keys};
use crate::manual;

/// A fenced block with TOML in it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fence {
    /// From the opening fence to the end of the closing one.
    pub(super) range: Range<usize>,
    /// `figure`, `comic`, `assembly`.
    pub(super) name: String,
    pub(super) lines: Vec<Line>,
}

/// One line inside a fence.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Line {
    /// With what stands before it in a list or a quote, and with its end.
    pub whole: Range<usize>,
    pub content: Range<usize>,
}

impl Fence {
    /// # Errors
    /// When it is not closed.
    pub(super) fn new(text: &str, range: Range<usize>, name: &str, inside: &[Range<usize>]) -> Result<Fence, Refused> {
        let whole = text.get(range.clone()).unwrap_or_default();
        let sign = whole.chars().next().unwrap_or('`');
        let last = whole.lines().last().unwrap_or_default();
        let closing = last.trim_matches([' ', '\t', '>', '\r']);
        let closed = whole.lines().count() > 1 && closing.len() >= 3 && closing.chars().all(|other| other == sign);
        if !closed {
            return Err(Refused::new(format!("this {name} block is never closed")).hint("end it with a line of its own: ```"));
        }
        let mut lines = Vec::new();
        let mut at = range.start + whole.find('\n').map_or(whole.len(), |end| end + 1);
        let closes = range.start + whole.rfind('\n').map_or(0, |end| end + 1);
        while at < closes {
            let rest = text.get(at..closes).unwrap_or_default();
            let end = at + rest.find('\n').map_or(rest.len(), |end| end + 1);
            let ended = text.get(at..end).unwrap_or_default();
            let shown = at + ended.trim_end_matches(['\n', '\r']).len();
            let touching = inside.iter().filter(|piece| piece.start < shown.max(at + 1) && piece.end > at);
            let start = touching.map(|piece| piece.start.max(at)).min().unwrap_or(shown).min(shown);
            lines.push(Line { whole: at..end, content: start..shown });
            at = end;
        }
        Ok(Fence { range, name: name.to_owned(), lines })
    }

    /// The header of a manual, between its two lines of `+++`.
    pub(super) fn header(text: &str) -> Option<Fence> {
        let whole = text.get(..manual::body_of(text)).filter(|whole| whole.starts_with("+++"))?.trim_end_matches(['\n', '\r']);
        let (mut lines, mut at) = (Vec::new(), whole.find('\n')? + 1);
        while let Some(end) = whole.get(at..).and_then(|rest| rest.find('\n')).map(|end| at + end + 1) {
            let shown = at + text.get(at..end).unwrap_or_default().trim_end_matches(['\n', '\r']).len();
            lines.push(Line { whole: at..end, content: at..shown });
            at = end;
        }
        Some(Fence { range: 0..whole.len(), name: "header".into(), lines })
    }

    /// The TOML, each line ended by a line feed.
    pub(super) fn content(&self, text: &str) -> String {
        let mut content = String::new();
        for line in &self.lines {
            content.push_str(text.get(line.content.clone()).unwrap_or_default());
            content.push('\n');
        }
        content
    }

    /// # Errors
    /// When the TOML cannot be read, the change means nothing here, or what it would change is a field.
    pub(super) fn changed(&self, text: &str, change: &Change) -> Result<Edited, Refused> {
        let before = self.content(text);
        let after = keys::changed(&self.name, &before, change)?;
        Ok(self.with(text, &before, &after))
    }

    /// The text with other TOML in the fence: only the lines that differ are written.
    pub(super) fn with(&self, text: &str, before: &str, after: &str) -> Edited {
        let (old, new): (Vec<&str>, Vec<&str>) = (before.lines().collect(), after.lines().collect());
        let first = old.iter().zip(&new).take_while(|(old, new)| old == new).count();
        let most = old.len().min(new.len()) - first;
        let last = old.iter().rev().zip(new.iter().rev()).take_while(|(old, new)| old == new).count().min(most);
        let (gone, come) = (first..old.len() - last, first..new.len() - last);
        let range = self.lines_range(text, gone.clone());
        let mut written = String::new();
        for (n, line) in new[come].iter().enumerate() {
            // A line that takes the place of another keeps what stands before and after it.
            let like = gone.clone().nth(n).or(gone.clone().last()).or(first.checked_sub(1)).and_then(|n| self.lines.get(n));
            let (lead, end) = self.around(text, like.or(self.lines.first()));
            written.push_str(&lead);
            written.push_str(line);
            written.push_str(&end);
        }
        let grown = written.len() as isize - range.len() as isize;
        let mut all = String::with_capacity(text.len() + written.len());
        all.push_str(text.get(..range.start).unwrap_or_default());
        all.push_str(&written);
        all.push_str(text.get(range.end..).unwrap_or_default());
        Edited { text: all, range: self.range.start..self.range.end.saturating_add_signed(grown) }
    }

    /// The bytes of some lines of the content.
    fn lines_range(&self, text: &str, lines: Range<usize>) -> Range<usize> {
        let whole = text.get(self.range.clone()).unwrap_or_default();
        let closes = self.range.start + whole.rfind('\n').map_or(whole.len(), |end| end + 1);
        let start = |n: usize| self.lines.get(n).map_or(closes, |line| line.whole.start);
        start(lines.start)..start(lines.end)
    }

    /// What stands before and after a line like this one.
    fn around(&self, text: &str, like: Option<&Line>) -> (String, String) {
        let opening = text.get(self.range.clone()).unwrap_or_default();
        let first = opening.split_inclusive('\n').next().unwrap_or_default();
        match like {
            Some(line) => {
                let lead = text.get(line.whole.start..line.content.start).unwrap_or_default();
                let end = text.get(line.content.end..line.whole.end).unwrap_or_default();
                (lead.to_owned(), end.to_owned())
            }
            None => {
                let closing = opening.lines().last().unwrap_or_default();
                let lead = &closing[..closing.len() - closing.trim_start_matches([' ', '\t', '>']).len()];
                let end = if first.ends_with("\r\n") { "\r\n" } else { "\n" };
                (lead.to_owned(), end.to_owned())
            }
        }
    }
}
