//! Blocks, one after the other.

use super::Writing;
use super::figures::Place;
use super::inlines::is_key;
use crate::language::SignalWord;
use crate::manual::document::{Align, Block, Cell, Inline, InlineKind, Item, Kind, Note, NoteBody, Safety, Table, plain_text};
use crate::manual::source::Span;

/// Letters that a row has room for on a telephone 360 pixels wide.
const NARROW: usize = 30;

impl Writing<'_> {
    pub(super) fn blocks(&mut self, blocks: &[Block]) {
        blocks.iter().for_each(|block| self.block(block));
    }

    pub(super) fn block(&mut self, block: &Block) {
        match &block.kind {
            Kind::Title(text) => self.heading(2, text),
            Kind::Heading { level, text } => self.heading((*level).max(2), text),
            Kind::Paragraph(text) => self.paragraph(text),
            Kind::Procedure { steps } => {
                let start = steps.first().map_or(1, |step| step.number);
                self.page.open("ol", &[("class", "steps"), ("role", "list"), ("start", &start.to_string())]);
                let mut next = start;
                for step in steps {
                    let number = step.number.to_string();
                    let odd = (step.number != next).then_some(("value", number.as_str()));
                    self.page.open("li", odd.as_slice());
                    next = step.number.saturating_add(1);
                    self.blocks(&step.blocks);
                    self.page.close();
                }
                self.page.close();
            }
            Kind::Bullets { items } => self.bullets(items),
            Kind::Safety(message) => self.safety(message, block.span),
            Kind::Aside(blocks) => {
                self.page.open("div", &[("class", "aside"), ("role", "note")]);
                self.blocks(blocks);
                self.page.close();
            }
            Kind::Figure(figure) => self.figure(figure, true),
            Kind::Row(figures) => self.row(figures),
            Kind::Model(figure) => self.model(figure),
            Kind::Comic(comic) => self.comic(comic),
            Kind::Code { text } => {
                // Code runs from left to right in any language.
                self.page.open("pre", if self.language.is_rtl() { &[("dir", "ltr")] } else { &[] });
                self.page.element("code", &[], text);
                self.page.close();
            }
            Kind::Table(table) => self.table(table),
            Kind::Definitions(definitions) => {
                self.page.open("dl", &[]);
                for definition in definitions {
                    self.page.open("dt", &[]);
                    self.words(&definition.term);
                    self.page.close();
                    for meaning in &definition.meanings {
                        self.page.open("dd", &[]);
                        self.large_pictures(&definition.term);
                        self.blocks(meaning);
                        self.page.close();
                    }
                }
                self.page.close();
            }
            Kind::Notes(notes) => self.notes(notes),
            Kind::Qr { data } => self.qr(data, block.span),
            Kind::Barcode { symbology, data } => self.barcode(*symbology, data, block.span),
            Kind::WriteIn { label, .. } => self.page.element("p", &[("class", "write-in")], label),
            Kind::Rule | Kind::Cut => self.page.open("hr", &[]),
            Kind::Fold => {}
        }
    }

    /// No level is left out on the way down.
    fn heading(&mut self, level: u8, text: &[Inline]) {
        let id = self.links.heading(self.headings).to_owned();
        self.headings += 1;
        if !self.has_words(text) {
            return self.large_pictures(text);
        }
        self.level = level.min(self.level + 1).min(6);
        let name = ["h1", "h2", "h3", "h4", "h5", "h6"][usize::from(self.level) - 1];
        self.page.open(name, &[("id", &id)]);
        self.words(text);
        self.page.close();
        self.large_pictures(text);
    }

    fn paragraph(&mut self, text: &[Inline]) {
        if self.has_words(text) {
            self.page.open("p", &[]);
            self.words(text);
            self.page.close();
        }
        self.large_pictures(text);
    }

    fn bullets(&mut self, items: &[Item]) {
        let ticks = items.iter().any(|item| item.tick.is_some());
        self.page.open("ul", if ticks { &[("class", "ticks"), ("role", "list")] } else { &[] });
        for item in items {
            self.page.open("li", &[]);
            match (item.tick, item.blocks.as_slice()) {
                (Some(ticked), [Block { kind: Kind::Paragraph(text), .. }, rest @ ..]) if self.has_words(text) => {
                    self.page.open("label", &[]);
                    self.tick(ticked, &[]);
                    self.words(text);
                    self.page.close();
                    self.large_pictures(text);
                    self.blocks(rest);
                }
                (Some(ticked), blocks) => {
                    let words: Vec<String> = blocks.iter().map(Block::plain_text).collect();
                    self.tick(ticked, &[("aria-label", words.join(" ").trim())]);
                    self.blocks(blocks);
                }
                // A short item needs no paragraph.
                (None, [Block { kind: Kind::Paragraph(text), .. }, rest @ ..]) => {
                    self.words(text);
                    self.large_pictures(text);
                    self.blocks(rest);
                }
                (None, blocks) => self.blocks(blocks),
            }
            self.page.close();
        }
        self.page.close();
    }

    fn tick(&mut self, ticked: bool, more: &[(&'static str, &str)]) {
        let mut attributes = vec![("type", "checkbox")];
        attributes.extend(more);
        if ticked {
            attributes.push(("checked", ""));
        }
        self.page.open("input", &attributes);
    }

    fn table(&mut self, table: &Table) {
        let wide = table.head.len() > 2 || least(table) > NARROW;
        let words = |cell: &Cell| plain_text(&cell.text);
        let named: Vec<String> = table.head.iter().map(words).filter(|words| !words.trim().is_empty()).collect();
        let name = if named.is_empty() { "\u{2026}".to_owned() } else { named.join(", ") };
        if wide {
            // On a narrow screen it is moved sideways, also by keys.
            self.page.open("div", &[("class", "wide"), ("role", "group"), ("tabindex", "0"), ("aria-label", &name)]);
        }
        self.page.open("table", &[]);
        let headed = table.head.iter().any(|cell| self.has_words(&cell.text));
        if headed || table.head.iter().any(|cell| !cell.text.is_empty()) {
            self.page.open(if headed { "thead" } else { "tbody" }, &[]);
            self.table_row(&table.head, &table.align, headed);
            self.page.close();
        }
        if !table.rows.is_empty() {
            self.page.open("tbody", &[]);
            for row in &table.rows {
                self.table_row(row, &table.align, false);
            }
            self.page.close();
        }
        self.page.close();
        if wide {
            self.page.close();
        }
    }

    fn table_row(&mut self, cells: &[Cell], align: &[Align], head: bool) {
        self.page.open("tr", &[]);
        for (n, cell) in cells.iter().enumerate() {
            let class = match align.get(n) {
                Some(Align::Centre) => Some("centre"),
                Some(Align::Right) => Some("end"),
                _ => None,
            };
            let mut attributes: Vec<(&'static str, &str)> = class.map(|class| ("class", class)).into_iter().collect();
            let head = head && self.has_words(&cell.text);
            if head {
                attributes.push(("scope", "col"));
            }
            self.page.open(if head { "th" } else { "td" }, &attributes);
            self.words(&cell.text);
            self.large_pictures(&cell.text);
            self.page.close();
        }
        self.page.close();
    }

    fn notes(&mut self, notes: &[Note]) {
        let addresses = notes.iter().all(|note| matches!(note.body, NoteBody::Address(_)));
        let class = if addresses { "notes on-paper" } else { "notes" };
        self.page.open("ol", &[("class", class), ("role", "list")]);
        for note in notes {
            let (id, number) = (format!("n{}", note.number), note.number.to_string());
            match &note.body {
                NoteBody::Address(address) => {
                    self.page.open("li", &[("value", &number), ("class", "on-paper")]);
                    self.page.text(address);
                }
                NoteBody::Footnote(blocks) => {
                    self.page.open("li", &[("value", &number), ("id", &id)]);
                    self.blocks(blocks);
                }
            }
            self.page.close();
        }
        self.page.close();
    }

    /// A safety message: its word first, with the alert symbol but for NOTICE (ANSI Z535.6), then its sign, then what it says.
    fn safety(&mut self, message: &Safety, span: Span) {
        let class = match message.word {
            SignalWord::Danger => "safety danger",
            SignalWord::Warning => "safety warning",
            SignalWord::Caution => "safety caution",
            SignalWord::Notice => "safety notice",
        };
        self.page.open("div", &[("class", class), ("role", "note")]);
        self.page.open("p", &[("class", "word")]);
        if message.word != SignalWord::Notice {
            let attributes = [("class", "alert"), ("viewBox", "0 0 20 18"), ("aria-hidden", "true"), ("focusable", "false")];
            self.page.open("svg", &attributes);
            self.page.element("path", &[("d", "M10 1 19 16.5H1Z"), ("class", "solid")], "");
            self.page.element("path", &[("d", "M10 6v5.4M10 13v1.6"), ("class", "hollow")], "");
            self.page.close();
        }
        self.page.element("strong", &[], &self.language.capitals(&message.label));
        self.page.close();
        self.page.open("div", &[("class", "said")]);
        if let Some(sign) = &message.sign {
            let alt = if message.sign_alt.is_empty() { sign } else { &message.sign_alt };
            self.picture(&format!("sign:{sign}"), None, alt, span, Place::Sign);
        }
        self.page.open("div", &[]);
        self.blocks(&message.blocks);
        self.page.close();
        self.page.close();
        self.page.close();
    }
}

/// Letters in a row of a table when every column is as narrow as its words let it be.
fn least(table: &Table) -> usize {
    let cells = |n: usize| [&table.head].into_iter().chain(&table.rows).filter_map(move |row| row.get(n));
    (0..table.head.len()).map(|n| cells(n).map(|cell| longest(&cell.text)).max().unwrap_or(0)).sum()
}

/// Letters of the longest piece that no line parts.
fn longest(inlines: &[Inline]) -> usize {
    // Ideographs, kana and syllables part anywhere; a browser does not part an address at its strokes.
    let parts = |letter: char| letter.is_whitespace() || letter == '-' || letter >= '\u{2E80}';
    let of = |inline: &Inline| match &inline.kind {
        InlineKind::Text(text) => text.split(parts).map(|word| word.chars().count()).max().unwrap_or(0),
        InlineKind::Key(text) if is_key(text) => text.chars().count(),
        _ => inline.inner().map_or(0, longest),
    };
    inlines.iter().map(of).max().unwrap_or(0)
}
