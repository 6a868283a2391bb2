//! Containers of blocks: quotes, lists, footnotes, definition lists. What is too deep is opened flat.

use std::ops::Range;

use super::notes::Footnote;
use super::{DEEPEST, Frame, Reading, safety};
use crate::language::Wording;
use crate::manual::document::{Block, Definition, Item, Kind, Step, tongue_at};
use crate::manual::source::{Level, Remark, Span};

impl Reading<'_> {
    /// Opens a container, unless it would be too deep.
    pub(super) fn open(&mut self, frame: Frame, range: &Range<usize>) {
        self.end_implied();
        let depth = self.frames.iter().filter(|(frame, _)| !matches!(frame, Frame::Item { .. } | Frame::Meaning { .. })).count();
        let room = depth < DEEPEST;
        if !room && !self.deep {
            self.deep = true;
            self.remarks.push(Remark {
                rule: "nested-too-deep",
                level: Level::Warning,
                message: format!("lists and quotes stand more than {DEEPEST} deep in one another here"),
                hint: Some(format!("they are set as if they were {DEEPEST} deep; nobody reads that on a strip")),
                span: self.span(range),
            });
        }
        self.framed.push(room);
        if room {
            self.frames.push((frame, self.span(range)));
        }
    }

    /// Opens an item of the innermost container, unless that one was too deep.
    pub(super) fn open_part(&mut self, frame: Frame, range: &Range<usize>) {
        self.end_implied();
        let room = self.framed.last().copied().unwrap_or(false);
        self.framed.push(room);
        if room {
            self.frames.push((frame, self.span(range)));
        }
    }

    pub(super) fn close(&mut self) {
        let Some((frame, span)) = self.frames.pop() else { return };
        match frame {
            Frame::Quote { alert, blocks } => {
                let wording = Wording::new(tongue_at(self.tongues, self.header.tongue, span.start), &self.header.own_words);
                let kind = safety::of_quote(blocks, alert, span, wording, &mut self.remarks);
                self.push(kind, span);
            }
            Frame::List { start: Some(start), items } => {
                let steps = (start..).zip(items).map(|(number, item)| Step { span: item.span, number, blocks: item.blocks });
                let steps = steps.collect();
                self.push(Kind::Procedure { steps }, span);
            }
            Frame::List { start: None, items } => self.push(Kind::Bullets { items }, span),
            Frame::Item { tick, blocks } => {
                if let Some((Frame::List { items, .. }, _)) = self.frames.last_mut() {
                    items.push(Item { span, tick, blocks });
                }
            }
            Frame::Footnote { label, blocks } => self.notes.define(Footnote::new(label, span, blocks)),
            Frame::Definitions { list } => self.push(Kind::Definitions(list), span),
            Frame::Meaning { blocks } => {
                if let Some((Frame::Definitions { list }, _)) = self.frames.last_mut() {
                    match list.last_mut() {
                        Some(definition) => {
                            definition.span.end = definition.span.end.max(span.end);
                            definition.meanings.push(blocks);
                        }
                        None => list.push(Definition { span, term: Vec::new(), meanings: vec![blocks] }),
                    }
                }
            }
        }
    }

    /// Puts a block into the innermost container.
    pub(super) fn push(&mut self, kind: Kind, span: Span) {
        let block = Block { span, kind };
        match self.frames.last_mut() {
            Some((
                Frame::Quote { blocks, .. }
                | Frame::Item { blocks, .. }
                | Frame::Footnote { blocks, .. }
                | Frame::Meaning { blocks },
                _,
            )) => blocks.push(block),
            // A list takes items only; what was too deep for an item of its own becomes one.
            Some((Frame::List { items, .. }, _)) => items.push(Item { span, tick: None, blocks: vec![block] }),
            Some((Frame::Definitions { list }, _)) => {
                list.push(Definition { span, term: Vec::new(), meanings: vec![vec![block]] });
            }
            None => self.top.push(block),
        }
    }

    pub(super) fn tick(&mut self, ticked: bool, range: &Range<usize>) {
        let ordered = match self.frames.len().checked_sub(2).and_then(|n| self.frames.get(n)) {
            Some((Frame::List { start, .. }, _)) => start.is_some(),
            _ => true,
        };
        match self.frames.last_mut() {
            Some((Frame::Item { tick, .. }, _)) if !ordered => *tick = Some(ticked),
            // A numbered step has its number in the margin: its box stands in the text.
            _ => {
                let span = Span::new(range.start, range.end);
                self.leaf_at(range).text(if ticked { "\u{2611}\u{a0}" } else { "\u{2610}\u{a0}" }, span);
            }
        }
    }
}
