//! The way through a document: block by block, every text, step, key, link and picture is put into its list with its absolute span.

use crate::manual::document::{Block, Document, Figure, Inline, InlineKind, Kind, NoteBody, Symbology, Treatment, plain_text};
use crate::manual::source::Span;
use crate::pictures::signals::is_signal;

use super::passages::{CodeSeen, ListSeen, Meaning, Passage, PictureSeen, Role, Run, SafetySeen, StepSeen, WriteInSeen, folded};

/// All entries of a document.
pub fn gathered(document: &Document) -> Entries {
    let mut entries = Entries::default();
    for block in &document.blocks {
        entries.block(block, block.span.start, block.span, Role::Text, 0);
    }
    entries
}

/// What is found on the way through the blocks.
#[derive(Default)]
pub struct Entries {
    pub passages: Vec<Passage>,
    pub steps: Vec<StepSeen>,
    pub lists: Vec<ListSeen>,
    pub safeties: Vec<SafetySeen>,
    pub pictures: Vec<PictureSeen>,
    pub keys: Vec<Run>,
    pub runs: Vec<Run>,
    pub links: Vec<Run>,
    pub codes: Vec<CodeSeen>,
    pub write_ins: Vec<WriteInSeen>,
    pub meanings: Vec<Meaning>,
    /// A figure names parts by callouts.
    pub called_out: bool,
    tables: usize,
    procedures: usize,
    sections: usize,
}

impl Entries {
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
                signs.extend(
                    self.pictures[pictures..]
                        .iter()
                        .filter_map(|picture| picture.address.strip_prefix("sign:"))
                        .map(str::to_string),
                );
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
            Kind::Row(figures) => {
                figures.iter().for_each(|figure| self.figure(figure, base, figure.picture_span.from_base(base)));
            }
            Kind::Model(figure) => {
                if !figure.caption.is_empty() {
                    self.passage(&figure.caption, base, span, Role::Caption);
                }
                self.called_out |= !figure.callouts.is_empty();
                for callout in &figure.callouts {
                    self.plain(&callout.label, callout.part.span.from_base(base), Role::Caption);
                }
            }
            Kind::Comic(comic) => {
                for panel in &comic.panels {
                    if let Some(address) = &panel.picture {
                        let span = panel.picture_span.from_base(base);
                        let (address, alt, screen) = (address.clone(), panel.alt.clone(), panel.screen);
                        self.pictures.push(PictureSeen {
                            span,
                            address,
                            alt,
                            crop: None,
                            screen,
                            treatment: Treatment::default(),
                        });
                    }
                    if let Some(caption) = &panel.caption {
                        self.plain(caption, panel.caption_span.from_base(base), Role::Caption);
                    }
                    for balloon in &panel.balloons {
                        self.passage(&balloon.words, base, balloon.text_span.from_base(base), Role::Balloon);
                    }
                }
            }
            Kind::Table(table) => {
                self.tables += 1;
                for row in std::iter::once(&table.head).chain(&table.rows) {
                    let (pictures, passages) = (self.pictures.len(), self.passages.len());
                    for cell in row {
                        self.passage(&cell.text, base, cell.span.from_base(base), Role::Cell);
                    }
                    self.means(pictures..self.pictures.len(), passages);
                }
            }
            Kind::Definitions(definitions) => {
                self.tables += 1;
                for definition in definitions {
                    let pictures = self.pictures.len();
                    self.passage(&definition.term, base, definition.span.from_base(base), Role::Item);
                    let (pictures, passages) = (pictures..self.pictures.len(), self.passages.len());
                    for meaning in &definition.meanings {
                        self.blocks(meaning, base, Role::Text, depth + 1);
                    }
                    self.means(pictures, passages);
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
            Kind::WriteIn { height, label } => {
                self.write_ins.push(WriteInSeen { span, height: *height });
                self.plain(label, span, Role::Caption);
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
        self.pictures.push(PictureSeen {
            span,
            address,
            alt,
            crop: figure.crop,
            screen: figure.screen,
            treatment: figure.treatment,
        });
        if !figure.caption.is_empty() {
            self.passage(&figure.caption, base, span, Role::Caption);
        }
        self.called_out |= !figure.callouts.is_empty();
        for callout in &figure.callouts {
            self.plain(&callout.label, callout.span.from_base(base), Role::Caption);
        }
    }

    fn passage(&mut self, inlines: &[Inline], base: u32, span: Span, role: Role) {
        self.inlines(inlines, base);
        self.say(plain_text(inlines), span, role);
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
                InlineKind::Strong(inner)
                | InlineKind::Emphasis(inner)
                | InlineKind::Strike(inner)
                | InlineKind::Subscript(inner)
                | InlineKind::Superscript(inner) => self.inlines(inner, base),
                InlineKind::Link { text, .. } => {
                    let pictures = self.pictures.len();
                    self.inlines(text, base);
                    let alts: Vec<&str> = self.pictures[pictures..].iter().map(|picture| picture.alt.as_str()).collect();
                    let said = format!("{}{}", plain_text(text), alts.join(" "));
                    self.links.push(Run { span, text: said });
                }
                InlineKind::Picture(picture) => {
                    let (address, alt) = (picture.address.clone(), picture.alt.clone());
                    self.pictures.push(PictureSeen {
                        span,
                        address,
                        alt,
                        crop: None,
                        screen: None,
                        treatment: Treatment::default(),
                    });
                }
                InlineKind::NoteCall(_) | InlineKind::SoftBreak | InlineKind::HardBreak => {}
            }
        }
    }

    /// Signals among those pictures mean what was said since that passage.
    fn means(&mut self, pictures: std::ops::Range<usize>, passage: usize) {
        let lower = self.said_since(passage);
        let signals = self.pictures[pictures].iter().filter(|picture| is_signal(&picture.address));
        let meanings = signals.map(|picture| {
            let (list, span, address) = (self.tables, picture.span, picture.address.clone());
            Meaning { list, span, address, lower: lower.clone() }
        });
        self.meanings.extend(meanings.collect::<Vec<_>>());
    }

    fn said_since(&self, passage: usize) -> String {
        let parts: Vec<&str> = self.passages[passage..].iter().map(|passage| passage.lower.as_str()).collect();
        parts.join(" ")
    }
}
