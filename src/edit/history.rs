//! What was done to one file, gesture by gesture, to be undone and done again on whatever the file says by then.

use std::collections::VecDeque;
use std::ops::Range;
use std::sync::Arc;

use super::{Edited, Laid, Refused, merge};

/// Gestures that are kept.
const MOST: usize = 200;
/// Bytes of texts that are kept.
const LARGEST: usize = 32 << 20;

/// Back, or forth again.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    Undo,
    Redo,
}

/// A way from one text to another: what stands in `range` of `text` was, or will be again, `other`.
#[derive(Clone, Debug)]
struct Step {
    text: Arc<str>,
    /// The changed block.
    block: Range<usize>,
    other: String,
}

/// The gestures of one file.
#[derive(Debug, Default)]
pub struct History {
    past: VecDeque<Step>,
    ahead: Vec<Step>,
}

impl History {
    /// Keeps what a gesture changed: `block` of the text before became `edited`.
    pub fn keep(&mut self, before: &str, block: Range<usize>, edited: &Edited) {
        let other = before.get(block).unwrap_or_default().to_owned();
        self.past.push_back(Step { text: edited.text.as_str().into(), block: edited.range.clone(), other });
        self.ahead.clear();
        while self.past.len() > MOST || self.past.iter().map(|step| step.text.len()).sum::<usize>() > LARGEST {
            self.past.pop_front();
        }
    }

    /// How many gestures can be undone and done again.
    pub fn len(&self) -> [usize; 2] {
        [self.past.len(), self.ahead.len()]
    }

    /// Whether there is neither.
    pub fn is_empty(&self) -> bool {
        self.len() == [0, 0]
    }

    /// The present text with the last gesture taken back, or the last taken back done again. Nothing counts as done before
    /// [`History::turned`].
    ///
    /// # Errors
    /// When there is none, or its block was changed since; that gesture is forgotten then.
    pub fn turn(&mut self, way: Way, now: &str) -> Result<Laid, Refused> {
        let step = match way {
            Way::Undo => self.past.back(),
            Way::Redo => self.ahead.last(),
        };
        let word = if way == Way::Undo { "undo" } else { "do again" };
        let step = step.ok_or_else(|| Refused::new(format!("there is nothing to {word}")))?;
        let Some((range, other)) = step.in_text(now) else {
            let refused = Refused::new("this block was changed in the file since: the gesture stays as it is")
                .hint("the gesture before it can be taken back")
                .paste(step.other.clone());
            match way {
                Way::Undo => drop(self.past.pop_back()),
                Way::Redo => self.ahead.clear(),
            }
            return Err(refused);
        };
        let mut text = String::with_capacity(now.len() + other.len());
        text.push_str(&now[..range.start]);
        text.push_str(other);
        text.push_str(&now[range.end..]);
        Ok((Edited { range: range.start..range.start + other.len(), text }, range))
    }

    /// What [`History::turn`] gave was written: it can be turned the other way.
    pub fn turned(&mut self, way: Way, before: &str, range: Range<usize>, edited: &Edited) {
        let back = Step {
            text: edited.text.as_str().into(),
            block: edited.range.clone(),
            other: before.get(range).unwrap_or_default().to_owned(),
        };
        match way {
            Way::Undo => {
                self.past.pop_back();
                self.ahead.push(back);
            }
            Way::Redo => {
                self.ahead.pop();
                self.past.push_back(back);
            }
        }
    }
}

impl Step {
    /// Where the change stands in a text, and what would stand there instead: the block as a whole, or, where an editor changed other
    /// lines of it, what the gesture changed.
    fn in_text(&self, now: &str) -> Option<(Range<usize>, &str)> {
        if let Some(range) = merge::follow(&self.text, self.block.clone(), now) {
            return Some((range, &self.other));
        }
        let block = self.text.get(self.block.clone())?;
        let (head, tail) = merge::alike(&self.other, block);
        // Whole lines: of a few letters nobody could tell where they went. Where lines only went away, with the line above.
        let line_start = |at: usize| block[..at].rfind('\n').map_or(0, |end| end + 1);
        let mut start = line_start(head);
        let end = block.len() - tail;
        let end = end + block[end..].find('\n').unwrap_or(tail);
        if block[start..end].trim().is_empty() {
            start = line_start(start.checked_sub(1)?);
        }
        let range = merge::follow(&self.text, self.block.start + start..self.block.start + end, now)?;
        Some((range, self.other.get(start..self.other.len() - (block.len() - end))?))
    }
}
