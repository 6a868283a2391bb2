//! A manual without the addresses of its links: for a paper where no one is to type any.

use std::collections::BTreeMap;

use super::document::{Block, Document, Inline, InlineKind, Kind, NoteBody};

impl Document {
    /// The same without notes that are addresses; those that stay are numbered anew, from 1.
    pub fn without_addresses(&self) -> Document {
        let mut document = self.clone();
        let mut numbers = BTreeMap::new();
        for block in &mut document.blocks {
            if let Kind::Notes(notes) = &mut block.kind {
                notes.retain(|note| !matches!(note.body, NoteBody::Address(_)));
                for note in notes {
                    let number = numbers.len() as u32 + 1;
                    numbers.insert(note.number, number);
                    note.number = number;
                }
            }
        }
        document.blocks.retain(|block| !matches!(&block.kind, Kind::Notes(notes) if notes.is_empty()));
        document.blocks.iter_mut().for_each(|block| renumber(block, &numbers));
        document
    }
}

fn renumber(block: &mut Block, numbers: &BTreeMap<u32, u32>) {
    if let Kind::Notes(notes) = &mut block.kind {
        for note in notes {
            if let NoteBody::Footnote(blocks) = &mut note.body {
                blocks.iter_mut().for_each(|block| renumber(block, numbers));
            }
        }
    }
    block.inlines_mut(&mut |inlines| inlines.iter_mut().for_each(|inline| call(inline, numbers)));
}

fn call(inline: &mut Inline, numbers: &BTreeMap<u32, u32>) {
    match &mut inline.kind {
        InlineKind::Link { note, .. } => *note = None,
        InlineKind::NoteCall(number) => *number = numbers.get(number).copied().unwrap_or(*number),
        InlineKind::Text(_)
        | InlineKind::Key(_)
        | InlineKind::Picture(_)
        | InlineKind::SoftBreak
        | InlineKind::HardBreak
        | InlineKind::Strong(_)
        | InlineKind::Emphasis(_)
        | InlineKind::Strike(_)
        | InlineKind::Subscript(_)
        | InlineKind::Superscript(_) => {}
    }
    inline.inner_mut().into_iter().flatten().for_each(|inner| call(inner, numbers));
}
