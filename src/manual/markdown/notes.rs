//! Notes: addresses of links and footnotes, numbered together through the manual and gathered at the end of each section.

use std::collections::BTreeMap;

use crate::manual::document::{Block, Inline, InlineKind, Kind, Note, NoteBody};
use crate::manual::source::{Level, Remark, Span};

/// A footnote as the writer defined it.
#[derive(Debug)]
pub(super) struct Footnote {
    label: String,
    span: Span,
    /// Empty once the note is set.
    blocks: Vec<Block>,
    number: Option<u32>,
}

impl Footnote {
    pub fn new(label: String, span: Span, blocks: Vec<Block>) -> Footnote {
        Footnote { label, span, blocks, number: None }
    }
}

/// Everything that wants a note. While reading, the number in an inline is an index into `links` or `calls`.
#[derive(Debug, Default)]
pub(super) struct Notes {
    links: Vec<(String, Span)>,
    calls: Vec<String>,
    footnotes: Vec<Footnote>,
    /// Links to headings of the manual: what stands after the `#`.
    pub inward: Vec<(String, Span)>,
    /// What was noticed about links.
    pub remarks: Vec<Remark>,
}

impl Notes {
    /// A link to a file beside the manual: its text is all that is printed.
    pub fn file(&mut self, address: &str, span: Span) {
        self.remarks.push(Remark {
            rule: "link-to-file",
            level: Level::Advice,
            message: format!("the reader of a strip does not have {address:?}"),
            hint: Some("the text is printed without it; say in words what is needed, or give its address on the web".into()),
            span,
        });
    }

    /// An address on paper is one to be typed or dialled: what tells a program how to use it is left out.
    pub fn link(&mut self, address: &str, span: Span) -> u32 {
        let typed = ["mailto:", "tel:"].into_iter().find_map(|scheme| address.strip_prefix(scheme));
        self.links.push((typed.unwrap_or(address).to_owned(), span));
        self.links.len() as u32 - 1
    }

    pub fn call(&mut self, label: &str) -> u32 {
        self.calls.push(label.to_owned());
        self.calls.len() as u32 - 1
    }

    pub fn define(&mut self, footnote: Footnote) {
        self.footnotes.push(footnote);
    }

    /// Gives every note its number and puts the notes of each section where it ends: before the next section, before a cut, at the
    /// end of the manual. Footnotes that nothing calls come last, so that none of their words are lost.
    pub fn number(self, top: Vec<Block>, remarks: &mut Vec<Remark>) -> Vec<Block> {
        let mut labels = BTreeMap::new();
        for (n, footnote) in self.footnotes.iter().enumerate() {
            labels.entry(footnote.label.to_lowercase()).or_insert(n);
        }
        let mut numbering = Numbering { notes: self, labels, last: 0, pending: Vec::new(), addresses: BTreeMap::new() };
        let mut blocks = Vec::with_capacity(top.len() + 4);
        for mut block in top {
            if matches!(block.kind, Kind::Title(_) | Kind::Heading { level: 0..=2, .. } | Kind::Cut) {
                blocks.extend(numbering.gather());
            }
            numbering.block(&mut block);
            blocks.push(block);
        }
        blocks.extend(numbering.gather());
        for n in 0..numbering.notes.footnotes.len() {
            let footnote = &numbering.notes.footnotes[n];
            if footnote.number.is_none() {
                remarks.push(Remark {
                    rule: "footnote-unused",
                    level: Level::Warning,
                    message: format!("nothing calls the footnote [^{}]", footnote.label),
                    hint: Some("it is set at the end of the manual; call it in the text or delete it".into()),
                    span: footnote.span,
                });
                numbering.footnote(n);
            }
        }
        blocks.extend(numbering.gather());
        blocks
    }
}

enum Pending {
    Link(usize),
    Footnote(usize),
}

struct Numbering {
    notes: Notes,
    /// Footnotes by their label in lower case; the first of two with the same one is meant.
    labels: BTreeMap<String, usize>,
    /// The last number given.
    last: u32,
    /// Notes of this section, in the order of their numbers.
    pending: Vec<(u32, Pending)>,
    /// Addresses of this section: the same one is noted once.
    addresses: BTreeMap<String, u32>,
}

impl Numbering {
    fn next(&mut self, pending: Pending) -> u32 {
        self.last += 1;
        self.pending.push((self.last, pending));
        self.last
    }

    fn link(&mut self, n: usize) -> Option<u32> {
        let address = self.notes.links.get(n)?.0.clone();
        if let Some(number) = self.addresses.get(&address) {
            return Some(*number);
        }
        let number = self.next(Pending::Link(n));
        self.addresses.insert(address, number);
        Some(number)
    }

    fn footnote(&mut self, n: usize) -> u32 {
        if let Some(number) = self.notes.footnotes[n].number {
            return number;
        }
        let number = self.next(Pending::Footnote(n));
        self.notes.footnotes[n].number = Some(number);
        number
    }

    fn call(&mut self, n: usize) -> Option<u32> {
        let found = *self.labels.get(&self.notes.calls.get(n)?.to_lowercase())?;
        Some(self.footnote(found))
    }

    fn block(&mut self, block: &mut Block) {
        block.inlines_mut(&mut |inlines| self.inlines(inlines));
    }

    fn inlines(&mut self, inlines: &mut [Inline]) {
        for inline in inlines {
            if let Some(inner) = inline.inner_mut() {
                self.inlines(inner);
            }
            match &mut inline.kind {
                InlineKind::Link { note, .. } => *note = note.and_then(|n| self.link(n as usize)),
                InlineKind::NoteCall(n) => match self.call(*n as usize) {
                    Some(number) => *n = number,
                    None => {
                        let label = self.notes.calls.get(*n as usize).cloned().unwrap_or_default();
                        inline.kind = InlineKind::Text(format!("[^{label}]"));
                    }
                },
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
        }
    }

    /// The notes of the section that ends here. A footnote may call for more notes: they join the end.
    fn gather(&mut self) -> Option<Block> {
        let mut notes = Vec::new();
        let mut n = 0;
        while let Some((number, pending)) = self.pending.get(n) {
            let number = *number;
            let note = match *pending {
                Pending::Link(link) => {
                    let (address, span) = self.notes.links[link].clone();
                    Note { span, number, body: NoteBody::Address(address) }
                }
                Pending::Footnote(footnote) => {
                    let footnote = &mut self.notes.footnotes[footnote];
                    let span = footnote.span;
                    let mut blocks = std::mem::take(&mut footnote.blocks);
                    blocks.iter_mut().for_each(|block| self.block(block));
                    Note { span, number, body: NoteBody::Footnote(blocks) }
                }
            };
            notes.push(note);
            n += 1;
        }
        self.pending.clear();
        self.addresses.clear();
        let start = notes.iter().map(|note| note.span.start).min()?;
        let end = notes.iter().map(|note| note.span.end).max()?;
        Some(Block { span: Span { start, end }, kind: Kind::Notes(notes) })
    }
}
