//! The last pass over a document: spans inside a top-level block become relative to its start, and every string gets the values of
//! its fields back.

use std::borrow::Cow;

use crate::manual::document::{Block, Figure, Inline, InlineKind, Kind, NoteBody};
use crate::manual::folder::said_in;
use crate::manual::literal::{self, Breaks};
use crate::manual::source::{Remark, Source, Span};

/// Settles a top-level block.
pub(super) fn block(block: &mut Block, source: &Source) {
    let settling = Settling { base: block.span.start, source: Some(source) };
    settling.kind(&mut block.kind);
}

pub(super) fn remarks(remarks: &mut [Remark]) {
    let settling = Settling { base: 0, source: None };
    for remark in remarks {
        settling.text(&mut remark.message);
        remark.hint.iter_mut().for_each(|hint| settling.text(hint));
    }
}

struct Settling<'a> {
    base: u32,
    source: Option<&'a Source>,
}

impl Settling<'_> {
    /// A picture's address, said at a relative span: counts from the file that says it, and from the manual's folder ever after.
    fn address(&self, address: &mut String, span: Span) {
        self.text(address);
        // What another tool would put before the address: the site that this is not.
        if let Some((_, rest)) = address.strip_prefix("{{").and_then(|rest| rest.split_once("}}")) {
            *address = rest.to_owned();
        }
        if let Some(source) = self.source.filter(|source| source.files.len() > 1) {
            *address = said_in(&source.locate(span.from_base(self.base).start).file, address);
        }
    }

    fn span(&self, span: &mut Span) {
        *span = span.relative_to(self.base);
    }

    fn text(&self, text: &mut String) {
        self.turn(text, Breaks::Spaces);
    }

    fn turn(&self, text: &mut String, breaks: Breaks) {
        if let Cow::Owned(turned) = literal::turn_back(text, breaks) {
            *text = turned;
        }
    }

    fn blocks(&self, blocks: &mut [Block]) {
        for block in blocks {
            self.span(&mut block.span);
            self.kind(&mut block.kind);
        }
    }

    fn kind(&self, kind: &mut Kind) {
        match kind {
            Kind::Title(text) | Kind::Heading { text, .. } | Kind::Paragraph(text) => self.inlines(text),
            Kind::Procedure { steps } => {
                for step in steps {
                    self.span(&mut step.span);
                    self.blocks(&mut step.blocks);
                }
            }
            Kind::Bullets { items } => {
                for item in items {
                    self.span(&mut item.span);
                    self.blocks(&mut item.blocks);
                }
            }
            Kind::Safety(safety) => {
                self.span(&mut safety.label_span);
                self.text(&mut safety.label);
                safety.sign.iter_mut().for_each(|sign| self.text(sign));
                self.text(&mut safety.sign_alt);
                self.blocks(&mut safety.blocks);
            }
            Kind::Aside(blocks) => self.blocks(blocks),
            Kind::Figure(figure) => self.figure(figure),
            Kind::Row(figures) => figures.iter_mut().for_each(|figure| self.figure(figure)),
            Kind::Model(figure) => {
                self.text(&mut figure.alt);
                self.inlines(&mut figure.caption);
                for named in figure.named_mut() {
                    self.span(&mut named.span);
                    self.text(&mut named.name);
                }
                figure.callouts.iter_mut().for_each(|callout| self.text(&mut callout.label));
            }
            Kind::Comic(comic) => {
                for panel in &mut comic.panels {
                    self.span(&mut panel.span);
                    self.span(&mut panel.picture_span);
                    panel.picture.iter_mut().for_each(|picture| self.address(picture, panel.picture_span));
                    self.text(&mut panel.alt);
                    panel.caption.iter_mut().for_each(|caption| self.text(caption));
                    self.span(&mut panel.caption_span);
                    for balloon in &mut panel.balloons {
                        self.span(&mut balloon.span);
                        self.span(&mut balloon.text_span);
                        self.text(&mut balloon.text);
                        self.inlines(&mut balloon.words);
                    }
                }
            }
            Kind::Code { text } => self.turn(text, Breaks::Lines),
            Kind::Table(table) => {
                for cell in table.head.iter_mut().chain(table.rows.iter_mut().flatten()) {
                    self.span(&mut cell.span);
                    self.inlines(&mut cell.text);
                }
            }
            Kind::Definitions(definitions) => {
                for definition in definitions {
                    self.span(&mut definition.span);
                    self.inlines(&mut definition.term);
                    definition.meanings.iter_mut().for_each(|meaning| self.blocks(meaning));
                }
            }
            Kind::Notes(notes) => {
                for note in notes {
                    self.span(&mut note.span);
                    match &mut note.body {
                        NoteBody::Address(address) => self.text(address),
                        NoteBody::Footnote(blocks) => self.blocks(blocks),
                    }
                }
            }
            Kind::Qr { data } | Kind::Barcode { data, .. } => self.turn(data, Breaks::Kept),
            Kind::WriteIn { label, .. } => self.text(label),
            Kind::Rule | Kind::Fold | Kind::Cut => {}
        }
    }

    fn figure(&self, figure: &mut Figure) {
        self.span(&mut figure.picture_span);
        self.address(&mut figure.picture, figure.picture_span);
        self.text(&mut figure.alt);
        self.inlines(&mut figure.caption);
        for callout in &mut figure.callouts {
            self.span(&mut callout.span);
            self.text(&mut callout.label);
        }
    }

    fn inlines(&self, inlines: &mut [Inline]) {
        for inline in inlines {
            self.span(&mut inline.span);
            match &mut inline.kind {
                InlineKind::Text(text) => self.turn(text, Breaks::Isolated),
                InlineKind::Key(text) => self.text(text),
                InlineKind::Strong(inner)
                | InlineKind::Emphasis(inner)
                | InlineKind::Strike(inner)
                | InlineKind::Subscript(inner)
                | InlineKind::Superscript(inner) => self.inlines(inner),
                InlineKind::Picture(picture) => {
                    self.address(&mut picture.address, inline.span);
                    self.text(&mut picture.alt);
                    self.text(&mut picture.title);
                }
                InlineKind::Link { text, address, .. } => {
                    self.inlines(text);
                    self.text(address);
                }
                InlineKind::NoteCall(_) | InlineKind::SoftBreak | InlineKind::HardBreak => {}
            }
        }
    }
}
