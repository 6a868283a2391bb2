//! The manual laid flat: every text, step, safety message, key, link and picture in reading order, each with its absolute span.
//!
//! Made once and read by every rule. Judges nothing.

use std::collections::BTreeSet;

use crate::language::SignalWord;
use crate::manual::document::{Block, Document, Figure, Inline, InlineKind, Kind, NoteBody, Permille, Screen, Symbology};
use crate::manual::source::Span;
use crate::units::Dots;

use super::rule::Evidence;
use super::words::{self, Words};

/// What a passage is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    Title,
    Heading(u8),
    Text,
    Step,
    Item,
    Safety,
    Caption,
    Cell,
    Balloon,
    Note,
}

/// A paragraph, heading, cell, caption …: what one reads in one breath.
#[derive(Clone, Debug)]
pub struct Passage {
    pub role: Role,
    /// Absolute.
    pub span: Span,
    pub text: String,
    /// Lower case, with plain apostrophes and spaces: what words are looked for in.
    pub lower: String,
}

/// One step of a procedure.
#[derive(Clone, Debug)]
pub struct StepSeen {
    pub span: Span,
    /// What its first paragraph says.
    pub text: String,
    /// All that it says, lower case.
    pub lower: String,
    /// Procedures and lists that it is inside of.
    pub depth: u32,
    /// Which list it belongs to, counted from the top.
    pub list: usize,
    /// Which section it stands in: headings before it.
    pub section: usize,
}

/// One list without numbers.
#[derive(Clone, Debug)]
pub struct ListSeen {
    pub span: Span,
    /// What each item says first.
    pub items: Vec<String>,
    pub ticks: bool,
}

#[derive(Clone, Debug)]
pub struct SafetySeen {
    pub span: Span,
    pub label_span: Span,
    pub label: String,
    pub word: SignalWord,
    /// Names of all signs in it.
    pub signs: Vec<String>,
    pub text: String,
    pub lower: String,
}

#[derive(Clone, Debug)]
pub struct PictureSeen {
    pub span: Span,
    pub address: String,
    /// Nothing where the manual has no room to say it.
    pub alt: String,
    /// left, top, width, height of the shown part
    pub crop: Option<[Permille; 4]>,
    /// The one the writer asks for.
    pub screen: Option<Screen>,
}

/// A run of plain text: no key, no code.
#[derive(Clone, Debug)]
pub struct Run {
    pub span: Span,
    pub text: String,
}

/// A QR symbol or a barcode.
#[derive(Clone, Debug)]
pub struct CodeSeen {
    pub span: Span,
    /// The kind of its box on the strip.
    pub kind: &'static str,
    /// Quiet zone that its standard asks for: left and right, in modules.
    pub quiet: [u32; 2],
}

pub struct Sheet<'a> {
    pub evidence: Evidence<'a>,
    /// Of the declared language; nothing when it is not declared or none of those that have a table.
    pub words: Option<&'static Words>,
    pub passages: Vec<Passage>,
    pub steps: Vec<StepSeen>,
    pub lists: Vec<ListSeen>,
    pub safeties: Vec<SafetySeen>,
    pub pictures: Vec<PictureSeen>,
    pub keys: Vec<Run>,
    pub runs: Vec<Run>,
    pub links: Vec<Run>,
    pub codes: Vec<CodeSeen>,
    /// Names of all signs shown anywhere.
    pub signs: BTreeSet<String>,
    /// All that is printed, lower case, the header's part included.
    pub lower: String,
}

impl<'a> Sheet<'a> {
    pub fn new(evidence: Evidence<'a>) -> Sheet<'a> {
        let header = &evidence.document.header;
        let flat = flattened(evidence.document);
        let product = &header.product;
        let printed = [&header.title, &header.subtitle, &product.maker, &product.address, &product.contact, &header.durable_copy];
        let mut lower: Vec<String> = printed.into_iter().flatten().map(|text| folded(text)).collect();
        lower.extend(flat.passages.iter().map(|passage| passage.lower.clone()));
        let signs = flat.pictures.iter().filter_map(|picture| picture.address.strip_prefix("sign:")).map(str::to_string);
        let mut signs: BTreeSet<String> = signs.collect();
        signs.extend(flat.safeties.iter().flat_map(|safety| safety.signs.iter().cloned()));
        Sheet {
            evidence,
            words: header.language.as_deref().and_then(words::of),
            passages: flat.passages,
            steps: flat.steps,
            lists: flat.lists,
            safeties: flat.safeties,
            pictures: flat.pictures,
            keys: flat.keys,
            runs: flat.runs,
            links: flat.links,
            codes: flat.codes,
            signs,
            lower: lower.join("\n"),
        }
    }

    /// Where a key of the header stands; the start of the manual when the writer did not write it.
    pub fn key(&self, name: &str) -> Span {
        self.evidence.document.header.spans.get(name).copied().unwrap_or_default()
    }

    /// Where something that is missing from a table of the header belongs: at the table, or at the start.
    pub fn table(&self, name: &str) -> Span {
        let inside = format!("{name}.");
        let spans = &self.evidence.document.header.spans;
        let first = || spans.iter().filter(|(key, _)| key.starts_with(&inside)).map(|(_, span)| *span).min_by_key(|span| span.start);
        spans.get(name).copied().or_else(first).unwrap_or_default()
    }

    /// What stands at a row of the strip: the smallest box over it, or else nothing in particular.
    pub fn at_row(&self, row: Dots) -> Span {
        let over = self.evidence.boxes.iter().filter(|placed| placed.y <= row && row < placed.y + placed.height);
        over.min_by_key(|placed| (placed.height, placed.width)).map(|placed| placed.span).unwrap_or_default()
    }

    /// The part of a run from `offset` on, `length` bytes: exact where the run stands in the source as it reads, else the whole run.
    pub fn within(&self, run: &Run, offset: usize, length: usize) -> Span {
        let (start, end) = (run.span.start as usize, run.span.end as usize);
        match self.evidence.source.text.get(start..end) {
            Some(written) if written == run.text => Span::new(start + offset, start + offset + length),
            _ => run.span,
        }
    }
}

/// Every picture of a document, in reading order.
pub fn pictures(document: &Document) -> Vec<PictureSeen> {
    flattened(document).pictures
}

fn flattened(document: &Document) -> Flat {
    let mut flat = Flat::default();
    for block in &document.blocks {
        flat.block(block, block.span.start, block.span, Role::Text, 0);
    }
    flat
}

/// Lower case, with one kind of apostrophe and of space.
pub fn folded(text: &str) -> String {
    text.chars()
        .flat_map(char::to_lowercase)
        .map(|character| match character {
            '\u{2019}' => '\'',
            '\u{a0}' | '\u{202f}' | '\u{2009}' | '\n' => ' ',
            other => other,
        })
        .filter(|&character| character != '\u{ad}')
        .collect()
}

/// The text of inlines as it reads.
pub fn reading(inlines: &[Inline]) -> String {
    let mut text = String::new();
    read(inlines, &mut text);
    text
}

fn read(inlines: &[Inline], text: &mut String) {
    for inline in inlines {
        match &inline.kind {
            InlineKind::Text(part) | InlineKind::Key(part) => text.push_str(part),
            InlineKind::Strong(inner) | InlineKind::Emphasis(inner) | InlineKind::Strike(inner) => read(inner, text),
            InlineKind::Link { text: inner, .. } => read(inner, text),
            InlineKind::SoftBreak | InlineKind::HardBreak => text.push(' '),
            InlineKind::Picture { .. } | InlineKind::NoteCall(_) => {}
        }
    }
}

#[derive(Default)]
struct Flat {
    passages: Vec<Passage>,
    steps: Vec<StepSeen>,
    lists: Vec<ListSeen>,
    safeties: Vec<SafetySeen>,
    pictures: Vec<PictureSeen>,
    keys: Vec<Run>,
    runs: Vec<Run>,
    links: Vec<Run>,
    codes: Vec<CodeSeen>,
    procedures: usize,
    sections: usize,
}

impl Flat {
    /// `span` is that of the block, absolute; spans inside it count from `base`.
    fn block(&mut self, block: &Block, base: u32, span: Span, role: Role, depth: u32) {
        match &block.kind {
            Kind::Title(text) => self.passage(text, base, span, Role::Title),
            Kind::Heading { level, text } => {
                self.sections += 1;
                self.passage(text, base, span, Role::Heading(*level));
            }
            Kind::Paragraph(text) => self.passage(text, base, span, role),
            Kind::Procedure { steps } => {
                let list = self.procedures;
                self.procedures += 1;
                for step in steps {
                    let (passages, at) = (self.passages.len(), self.steps.len());
                    let span = step.span.from_base(base);
                    let (text, lower) = (String::new(), String::new());
                    self.steps.push(StepSeen { span, text, lower, depth, list, section: self.sections });
                    self.blocks(&step.blocks, base, Role::Step, depth + 1);
                    self.steps[at].text = self.passages.get(passages).map(|passage| passage.text.clone()).unwrap_or_default();
                    self.steps[at].lower = self.said_since(passages);
                }
            }
            Kind::Bullets { items } => {
                let mut said = Vec::new();
                for item in items {
                    let passages = self.passages.len();
                    self.blocks(&item.blocks, base, Role::Item, depth + 1);
                    said.push(self.passages.get(passages).map(|passage| passage.text.clone()).unwrap_or_default());
                }
                self.lists.push(ListSeen { span, items: said, ticks: items.iter().any(|item| item.tick.is_some()) });
            }
            Kind::Safety(safety) => {
                let (passages, pictures) = (self.passages.len(), self.pictures.len());
                self.blocks(&safety.blocks, base, Role::Safety, depth + 1);
                let mut signs: Vec<String> = safety.sign.iter().cloned().collect();
                signs.extend(self.pictures[pictures..].iter().filter_map(|picture| picture.address.strip_prefix("sign:")).map(str::to_string));
                let text: Vec<&str> = self.passages[passages..].iter().map(|passage| passage.text.as_str()).collect();
                self.safeties.push(SafetySeen {
                    span,
                    label_span: safety.label_span.from_base(base),
                    label: safety.label.clone(),
                    word: safety.word,
                    signs,
                    text: text.join(" "),
                    lower: self.said_since(passages),
                });
            }
            Kind::Aside(blocks) => self.blocks(blocks, base, role, depth + 1),
            Kind::Figure(figure) => self.figure(figure, base, span),
            Kind::Comic(comic) => {
                for panel in &comic.panels {
                    if let Some(address) = &panel.picture {
                        let span = panel.span.from_base(base);
                        let (address, alt, screen) = (address.clone(), panel.alt.clone(), panel.screen);
                        self.pictures.push(PictureSeen { span, address, alt, crop: None, screen });
                    }
                    if let Some(caption) = &panel.caption {
                        self.plain(caption, panel.span.from_base(base), Role::Caption);
                    }
                    for balloon in &panel.balloons {
                        self.plain(&balloon.text, balloon.span.from_base(base), Role::Balloon);
                    }
                }
            }
            Kind::Table(table) => {
                for cell in table.head.iter().chain(table.rows.iter().flatten()) {
                    self.passage(&cell.text, base, cell.span.from_base(base), Role::Cell);
                }
            }
            Kind::Definitions(definitions) => {
                for definition in definitions {
                    self.passage(&definition.term, base, definition.span.from_base(base), Role::Item);
                    for meaning in &definition.meanings {
                        self.blocks(meaning, base, Role::Text, depth + 1);
                    }
                }
            }
            Kind::Notes(notes) => {
                for note in notes {
                    match &note.body {
                        NoteBody::Address(address) => self.say(address.clone(), note.span.from_base(base), Role::Note),
                        NoteBody::Footnote(blocks) => self.blocks(blocks, base, Role::Note, depth + 1),
                    }
                }
            }
            Kind::Qr { .. } => self.codes.push(CodeSeen { span, kind: "qr", quiet: [4, 4] }),
            Kind::Barcode { symbology, .. } => {
                let quiet = match symbology {
                    Symbology::Code128 => [10, 10],
                    Symbology::Ean13 => [11, 7],
                };
                self.codes.push(CodeSeen { span, kind: "barcode", quiet });
            }
            Kind::Code { .. } | Kind::Rule | Kind::Fold | Kind::Cut => {}
        }
    }

    fn blocks(&mut self, blocks: &[Block], base: u32, role: Role, depth: u32) {
        for block in blocks {
            self.block(block, base, block.span.from_base(base), role, depth);
        }
    }

    fn figure(&mut self, figure: &Figure, base: u32, span: Span) {
        let (address, alt) = (figure.picture.clone(), figure.alt.clone());
        self.pictures.push(PictureSeen { span, address, alt, crop: figure.crop, screen: figure.screen });
        if !figure.caption.is_empty() {
            self.passage(&figure.caption, base, span, Role::Caption);
        }
        for callout in &figure.callouts {
            self.plain(&callout.label, callout.span.from_base(base), Role::Caption);
        }
    }

    fn passage(&mut self, inlines: &[Inline], base: u32, span: Span, role: Role) {
        self.inlines(inlines, base);
        self.say(reading(inlines), span, role);
    }

    /// Text that holds no markup.
    fn plain(&mut self, text: &str, span: Span, role: Role) {
        self.runs.push(Run { span, text: text.to_string() });
        self.say(text.to_string(), span, role);
    }

    fn say(&mut self, text: String, span: Span, role: Role) {
        let lower = folded(&text);
        self.passages.push(Passage { role, span, text, lower });
    }

    fn inlines(&mut self, inlines: &[Inline], base: u32) {
        for inline in inlines {
            let span = inline.span.from_base(base);
            match &inline.kind {
                InlineKind::Text(text) => self.runs.push(Run { span, text: text.clone() }),
                InlineKind::Key(label) => self.keys.push(Run { span, text: label.clone() }),
                InlineKind::Strong(inner) | InlineKind::Emphasis(inner) | InlineKind::Strike(inner) => self.inlines(inner, base),
                InlineKind::Link { text, .. } => {
                    let pictures = self.pictures.len();
                    self.inlines(text, base);
                    let alts: Vec<&str> = self.pictures[pictures..].iter().map(|picture| picture.alt.as_str()).collect();
                    let said = format!("{}{}", reading(text), alts.join(" "));
                    self.links.push(Run { span, text: said });
                }
                InlineKind::Picture { picture, alt } => {
                    let (address, alt) = (picture.clone(), alt.clone());
                    self.pictures.push(PictureSeen { span, address, alt, crop: None, screen: None });
                }
                InlineKind::NoteCall(_) | InlineKind::SoftBreak | InlineKind::HardBreak => {}
            }
        }
    }

    fn said_since(&self, passage: usize) -> String {
        let parts: Vec<&str> = self.passages[passage..].iter().map(|passage| passage.lower.as_str()).collect();
        parts.join(" ")
    }
}
