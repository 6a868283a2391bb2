//! From Markdown events to blocks: every row of the table "Plain Markdown, read as a manual".
//!
//! The events are pulled one by one onto a stack of open containers; nothing here calls itself for nested text, and containers
//! deeper than [`DEEPEST`] are opened flat, so no input can exhaust the stack. Spans are absolute in here; [`settle`] makes those
//! inside a block relative and turns fields' values back into what they are.

mod fences;
mod html;
mod inlines;
mod notes;
mod safety;
mod settle;

use std::ops::Range;

use pulldown_cmark::{Alignment, CodeBlockKind, Event, Options, Parser, Tag, TagEnd};

use super::Error;
use super::document::{Align, Block, Cell, Definition, Document, Figure, Header, Inline, InlineKind, Item, Kind, Step, Table};
use super::source::{Level, Remark, Source, Span};
use crate::language::Language;
use inlines::Inlines;
use notes::{Footnote, Notes};

/// Lists and quotes inside one another that are kept; what is deeper is set as if it stood at this depth.
pub const DEEPEST: usize = 32;

/// Reads the body of a source.
///
/// # Errors
/// When a fenced block of ours cannot be understood.
pub(super) fn read(source: &Source, header: Header, mut remarks: Vec<Remark>) -> Result<Document, Error> {
    let body = source.text.get(source.body as usize..).unwrap_or_default();
    let options = Options::ENABLE_TABLES
        | Options::ENABLE_FOOTNOTES
        | Options::ENABLE_STRIKETHROUGH
        | Options::ENABLE_TASKLISTS
        | Options::ENABLE_DEFINITION_LIST;
    let mut reading = Reading::new(source, &header);
    for (event, range) in Parser::new_ext(body, options).into_offset_iter() {
        let range = range.start + source.body as usize..range.end + source.body as usize;
        reading.take(event, range)?;
    }
    reading.end_leaf();
    let Reading { top, notes, remarks: noticed, .. } = reading;
    remarks.extend(noticed);
    let mut blocks = notes.number(top, &mut remarks);
    for block in &mut blocks {
        settle::block(block);
    }
    settle::remarks(&mut remarks);
    remarks.sort_by_key(|remark| (remark.span.start, remark.span.end));
    Ok(Document { header, blocks, remarks })
}

/// An open container of blocks.
enum Frame {
    Quote {
        blocks: Vec<Block>,
    },
    /// `start` is the first number of an ordered list.
    List {
        start: Option<u64>,
        items: Vec<Item>,
    },
    Item {
        tick: Option<bool>,
        blocks: Vec<Block>,
    },
    Footnote {
        label: String,
        blocks: Vec<Block>,
    },
    Definitions {
        list: Vec<Definition>,
    },
    Meaning {
        blocks: Vec<Block>,
    },
}

/// An open run of inlines.
struct Leaf {
    kind: LeafKind,
    span: Span,
    inlines: Inlines,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum LeafKind {
    /// `implied`: the text of a tight list item, which Markdown gives without a paragraph of its own.
    Paragraph {
        implied: bool,
    },
    Heading(u8),
    Term,
    Cell,
}

/// Text that is gathered as it stands: a code block or a block of HTML.
struct Verbatim {
    /// The word after the fence; `None` for HTML.
    info: Option<String>,
    text: String,
    /// From byte of `text` to byte of the source, one pair a line.
    offsets: Vec<(u32, u32)>,
}

struct Rows {
    span: Span,
    table: Table,
    row: Vec<Cell>,
}

struct Reading<'s> {
    source: &'s Source,
    tongue: Language,
    top: Vec<Block>,
    frames: Vec<(Frame, Span)>,
    /// Whether each open container got a frame, or was too deep for one.
    framed: Vec<bool>,
    leaf: Option<Leaf>,
    verbatim: Option<Verbatim>,
    rows: Option<Rows>,
    notes: Notes,
    remarks: Vec<Remark>,
    titled: bool,
    figures: u32,
    deep: bool,
}

impl<'s> Reading<'s> {
    fn new(source: &'s Source, header: &Header) -> Reading<'s> {
        Reading {
            source,
            tongue: header.tongue,
            top: Vec::new(),
            frames: Vec::new(),
            framed: Vec::new(),
            leaf: None,
            verbatim: None,
            rows: None,
            notes: Notes::default(),
            remarks: Vec::new(),
            titled: false,
            figures: 0,
            deep: false,
        }
    }

    fn take(&mut self, event: Event, range: Range<usize>) -> Result<(), Error> {
        if let Some(verbatim) = &mut self.verbatim {
            match event {
                Event::Text(text) | Event::Html(text) => {
                    verbatim.offsets.push((verbatim.text.len() as u32, range.start as u32));
                    verbatim.text.push_str(&text);
                    return Ok(());
                }
                Event::End(TagEnd::CodeBlock) => return self.end_code(self.span(&range)),
                Event::End(TagEnd::HtmlBlock) => {
                    self.end_html(self.span(&range));
                    return Ok(());
                }
                _ => return Ok(()),
            }
        }
        match event {
            Event::Start(tag) => self.start(tag, range),
            Event::End(tag) => self.end(tag, range),
            Event::Rule => {
                self.end_implied();
                self.push(Kind::Rule, self.span(&range));
            }
            Event::TaskListMarker(ticked) => self.tick(ticked, &range),
            Event::Html(text) => {
                self.start_verbatim(None);
                self.verbatim.iter_mut().for_each(|verbatim| verbatim.text.push_str(&text));
                self.end_html(self.span(&range));
            }
            Event::FootnoteReference(label) => {
                let span = self.span(&range);
                let call = self.notes.call(&label);
                self.leaf_at(&range).note_call(call, span);
            }
            inline => {
                let span = Span::new(range.start, range.end);
                let mut remarks = std::mem::take(&mut self.remarks);
                self.leaf_at(&range).take(inline, span, &mut remarks);
                self.remarks = remarks;
            }
        }
        Ok(())
    }

    /// The range without the white space at its end.
    fn span(&self, range: &Range<usize>) -> Span {
        let text = self.source.text.get(range.clone()).unwrap_or_default();
        Span::new(range.start, range.start + text.trim_end().len())
    }

    /// The open run of inlines; opens a paragraph where Markdown gives text without one.
    fn leaf_at(&mut self, range: &Range<usize>) -> &mut Inlines {
        let leaf = self.leaf.get_or_insert_with(|| Leaf {
            kind: LeafKind::Paragraph { implied: true },
            span: Span::new(range.start, range.start),
            inlines: Inlines::default(),
        });
        leaf.span.end = leaf.span.end.max(range.end as u32);
        &mut leaf.inlines
    }

    fn start(&mut self, tag: Tag, range: Range<usize>) {
        match tag {
            Tag::Paragraph => self.start_leaf(LeafKind::Paragraph { implied: false }, &range),
            Tag::Heading { level, .. } => self.start_leaf(LeafKind::Heading(level as u8), &range),
            Tag::DefinitionListTitle => self.start_leaf(LeafKind::Term, &range),
            Tag::TableCell => self.start_leaf(LeafKind::Cell, &range),
            Tag::BlockQuote(_) => self.open(Frame::Quote { blocks: Vec::new() }, &range),
            Tag::List(start) => self.open(Frame::List { start, items: Vec::new() }, &range),
            Tag::Item => self.open_part(Frame::Item { tick: None, blocks: Vec::new() }, &range),
            Tag::FootnoteDefinition(label) => {
                self.open(Frame::Footnote { label: label.into_string(), blocks: Vec::new() }, &range);
            }
            Tag::DefinitionList => self.open(Frame::Definitions { list: Vec::new() }, &range),
            Tag::DefinitionListDefinition => self.open_part(Frame::Meaning { blocks: Vec::new() }, &range),
            Tag::Table(align) => {
                self.end_implied();
                let align = align.into_iter().map(alignment).collect();
                let table = Table { align, head: Vec::new(), rows: Vec::new() };
                self.rows = Some(Rows { span: self.span(&range), table, row: Vec::new() });
            }
            Tag::CodeBlock(kind) => {
                let info = match kind {
                    CodeBlockKind::Fenced(info) => info.split_whitespace().next().unwrap_or_default().to_owned(),
                    CodeBlockKind::Indented => String::new(),
                };
                self.start_verbatim(Some(info));
            }
            Tag::HtmlBlock => self.start_verbatim(None),
            Tag::TableHead | Tag::TableRow | Tag::MetadataBlock(_) => {}
            inline => {
                let span = Span::new(range.start, range.end);
                self.leaf_at(&range).open(inline, span);
            }
        }
    }

    fn end(&mut self, tag: TagEnd, range: Range<usize>) {
        match tag {
            TagEnd::Paragraph | TagEnd::Heading(_) | TagEnd::DefinitionListTitle | TagEnd::TableCell => self.end_leaf(),
            TagEnd::TableHead => {
                if let Some(rows) = &mut self.rows {
                    rows.table.head = std::mem::take(&mut rows.row);
                }
            }
            TagEnd::TableRow => {
                if let Some(rows) = &mut self.rows {
                    let row = std::mem::take(&mut rows.row);
                    rows.table.rows.push(row);
                }
            }
            TagEnd::Table => {
                if let Some(rows) = self.rows.take() {
                    self.push(Kind::Table(rows.table), rows.span);
                }
            }
            TagEnd::BlockQuote(_)
            | TagEnd::List(_)
            | TagEnd::Item
            | TagEnd::FootnoteDefinition
            | TagEnd::DefinitionList
            | TagEnd::DefinitionListDefinition => {
                self.end_implied();
                if self.framed.pop() == Some(true) {
                    self.close();
                }
            }
            TagEnd::CodeBlock | TagEnd::HtmlBlock | TagEnd::MetadataBlock(_) => {}
            _ => {
                self.leaf_at(&range);
                if let Some(leaf) = &mut self.leaf {
                    self.remarks.extend(leaf.inlines.close(&mut self.notes));
                }
            }
        }
    }

    /// Opens a container, unless it would be too deep.
    fn open(&mut self, frame: Frame, range: &Range<usize>) {
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
    fn open_part(&mut self, frame: Frame, range: &Range<usize>) {
        self.end_implied();
        let room = self.framed.last().copied().unwrap_or(false);
        self.framed.push(room);
        if room {
            self.frames.push((frame, self.span(range)));
        }
    }

    fn close(&mut self) {
        let Some((frame, span)) = self.frames.pop() else { return };
        match frame {
            Frame::Quote { blocks } => {
                let kind = safety::of_quote(blocks, self.tongue);
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
    fn push(&mut self, kind: Kind, span: Span) {
        let block = Block { span, kind };
        match self.frames.last_mut() {
            Some((
                Frame::Quote { blocks } | Frame::Item { blocks, .. } | Frame::Footnote { blocks, .. } | Frame::Meaning { blocks },
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

    fn tick(&mut self, ticked: bool, range: &Range<usize>) {
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

    fn start_leaf(&mut self, kind: LeafKind, range: &Range<usize>) {
        self.end_implied();
        self.leaf = Some(Leaf { kind, span: self.span(range), inlines: Inlines::default() });
    }

    /// Ends the paragraph of a tight list item, if one is open: a block follows or the item ends.
    fn end_implied(&mut self) {
        if matches!(self.leaf, Some(Leaf { kind: LeafKind::Paragraph { implied: true }, .. })) {
            self.end_leaf();
        }
    }

    fn end_leaf(&mut self) {
        let Some(leaf) = self.leaf.take() else { return };
        let span = self.span(&(leaf.span.start as usize..leaf.span.end as usize));
        let (text, mut titles) = leaf.inlines.finish(&mut self.notes, &mut self.remarks);
        match leaf.kind {
            LeafKind::Paragraph { .. } => match inlines::pictures_alone(&text) {
                true => {
                    for picture in text {
                        self.picture(picture, &mut titles);
                    }
                }
                false => {
                    self.check_alts(&text);
                    self.push(Kind::Paragraph(text), span);
                }
            },
            LeafKind::Heading(level) => {
                self.check_alts(&text);
                let kind = self.heading(level, text, span);
                self.push(kind, span);
            }
            LeafKind::Term => {
                self.check_alts(&text);
                match self.frames.last_mut() {
                    Some((Frame::Definitions { list }, _)) => list.push(Definition { span, term: text, meanings: Vec::new() }),
                    _ => self.push(Kind::Paragraph(text), span),
                }
            }
            LeafKind::Cell => {
                self.check_alts(&text);
                if let Some(rows) = &mut self.rows {
                    rows.row.push(Cell { span, text });
                }
            }
        }
    }

    /// The first `#` of the manual itself is its title.
    fn heading(&mut self, level: u8, text: Vec<Inline>, span: Span) -> Kind {
        if level > 1 {
            return Kind::Heading { level, text };
        }
        if !self.titled && self.frames.is_empty() {
            self.titled = true;
            return Kind::Title(text);
        }
        self.remarks.push(Remark {
            rule: "second-title",
            level: Level::Warning,
            message: "a manual has one title; this `#` is set as a section".into(),
            hint: Some("write `##` for a section".into()),
            span,
        });
        Kind::Heading { level: 2, text }
    }

    /// A picture that stands alone is a figure; its title is the caption.
    fn picture(&mut self, picture: Inline, titles: &mut inlines::Titles) {
        let span = picture.span;
        let InlineKind::Picture { picture: address, alt } = picture.kind else {
            return;
        };
        self.check_alt(&address, &alt, span);
        let caption = match titles.remove(&span.start) {
            Some(title) => vec![Inline { span, kind: InlineKind::Text(title) }],
            None => Vec::new(),
        };
        let number = self.number_figure(&caption);
        let figure = Figure {
            picture: address,
            picture_span: span,
            alt,
            caption,
            number,
            width: None,
            crop: None,
            screen: None,
            callouts: Vec::new(),
        };
        self.push(Kind::Figure(figure), span);
    }

    fn number_figure(&mut self, caption: &[Inline]) -> Option<u32> {
        (!caption.is_empty()).then(|| {
            self.figures += 1;
            self.figures
        })
    }

    fn check_alts(&mut self, inlines: &[Inline]) {
        let mut bare = Vec::new();
        inlines::each(inlines, &mut |inline| {
            if let InlineKind::Picture { picture, alt } = &inline.kind {
                bare.push((picture.clone(), alt.clone(), inline.span));
            }
        });
        for (picture, alt, span) in bare {
            self.check_alt(&picture, &alt, span);
        }
    }

    /// A built-in sign says what it is by its name; every other picture needs words.
    fn check_alt(&mut self, picture: &str, alt: &str, span: Span) {
        if alt.trim().is_empty() && !picture.starts_with("sign:") {
            self.remarks.push(missing_alt(picture, span));
        }
    }

    fn start_verbatim(&mut self, info: Option<String>) {
        self.end_implied();
        self.verbatim = Some(Verbatim { info, text: String::new(), offsets: Vec::new() });
    }

    fn end_code(&mut self, span: Span) -> Result<(), Error> {
        let Some(Verbatim { info, text, offsets }) = self.verbatim.take() else {
            return Ok(());
        };
        let info = info.unwrap_or_default();
        let fence = fences::Fence { source: self.source, text: &text, offsets: &offsets, span };
        let Some(mut kind) = fences::read(&info, &fence, &mut self.remarks)? else {
            let text = text.strip_suffix('\n').unwrap_or(&text).to_owned();
            self.push(Kind::Code { text }, span);
            return Ok(());
        };
        if matches!(kind, Kind::Fold | Kind::Cut) && !self.frames.is_empty() {
            self.remarks.push(Remark {
                rule: "misplaced-fold",
                level: Level::Error,
                message: format!("a `{info}` cannot stand inside a list or a quote"),
                hint: Some("end the list first: begin the fence at the left margin".into()),
                span,
            });
            return Ok(());
        }
        if let Kind::Figure(figure) = &mut kind {
            figure.number = self.number_figure(&figure.caption);
        }
        self.push(kind, span);
        Ok(())
    }

    fn end_html(&mut self, span: Span) {
        let Some(verbatim) = self.verbatim.take() else { return };
        let found = html::words(&verbatim.text);
        if found.tags {
            self.remarks.push(html_dropped(span));
        }
        for text in found.paragraphs {
            let kind = InlineKind::Text(text);
            self.push(Kind::Paragraph(vec![Inline { span, kind }]), span);
        }
    }
}

fn alignment(alignment: Alignment) -> Align {
    match alignment {
        Alignment::None => Align::None,
        Alignment::Left => Align::Left,
        Alignment::Center => Align::Centre,
        Alignment::Right => Align::Right,
    }
}

fn missing_alt(picture: &str, span: Span) -> Remark {
    Remark {
        rule: "missing-alt",
        level: Level::Error,
        message: format!("the picture {picture:?} has no words that say what it shows"),
        hint: Some("write them where a reader who cannot see it would want them: ![what it shows](picture)".into()),
        span,
    }
}

fn html_dropped(span: Span) -> Remark {
    Remark {
        rule: "html-dropped",
        level: Level::Warning,
        message: "HTML tags mean nothing on paper; the text between them is kept".into(),
        hint: Some("write it in Markdown; of HTML only <kbd> and <br> are understood".into()),
        span,
    }
}
