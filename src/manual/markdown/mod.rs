//! From Markdown events to blocks: every row of the table "Plain Markdown, read as a manual".
//!
//! The events are pulled one by one onto a stack of open containers; nothing here calls itself for nested text, and containers
//! deeper than [`DEEPEST`] are opened flat, so no input can exhaust the stack. Spans are absolute in here; [`settle`] makes those
//! inside a block relative and turns fields' values back into what they are.

mod badges;
mod containers;
mod fence;
mod fences;
mod headings;
pub(super) mod html;
mod inlines;
mod leaves;
mod lettered;
mod lists;
mod model_fences;
mod notes;
mod safety;
mod settle;

use std::ops::Range;

use pulldown_cmark::{Alignment, BlockQuoteKind, CodeBlockKind, Event, Options, Parser, Tag, TagEnd};

use super::document::{Align, Block, Cell, Definition, Document, Header, Inline, Item, Kind, Table};
use super::source::{Level, Remark, Source, Span};
use super::{Error, web_page};
use crate::language::Language;
use badges::Badges;
pub use fences::names as fence_names;
pub use headings::folded as heading_name;
pub use html::measures::share;
use inlines::Inlines;
use notes::Notes;

/// Lists and quotes inside one another that are kept; what is deeper is set as if it stood at this depth.
pub const DEEPEST: usize = 32;

/// The Markdown that is read.
pub fn options() -> Options {
    Options::ENABLE_TABLES
        | Options::ENABLE_FOOTNOTES
        | Options::ENABLE_STRIKETHROUGH
        | Options::ENABLE_TASKLISTS
        | Options::ENABLE_DEFINITION_LIST
        | Options::ENABLE_HEADING_ATTRIBUTES
        | Options::ENABLE_GFM
}

/// Reads the body of a source.
///
/// # Errors
/// When a fenced block of ours cannot be understood.
pub(super) fn read(
    source: &Source,
    header: Header,
    tongues: Vec<(Span, Language)>,
    mut remarks: Vec<Remark>,
) -> Result<Document, Error> {
    let body = source.text.get(source.body as usize..).unwrap_or_default();
    let mut reading = Reading::new(source, &header, &tongues);
    let events = Parser::new_ext(body, options()).into_offset_iter();
    let base = source.body as usize;
    if web_page::is_page(body) {
        html::read_page(body, base, &mut reading)?;
    } else if body.contains('<') {
        let events: Vec<_> = events.collect();
        match events.iter().any(|(event, _)| matches!(event, Event::Html(_) | Event::InlineHtml(_))) {
            true => html::read(events, base, &mut reading)?,
            false => reading.all(events, base)?,
        }
    } else {
        reading.all(events, base)?;
    }
    reading.end_leaf();
    let Reading { top, mut notes, remarks: noticed, badges, errors, .. } = reading;
    if let Some(error) = Error::together(errors) {
        return Err(error);
    }
    remarks.extend(noticed);
    remarks.extend(badges.remark());
    remarks.append(&mut notes.remarks);
    let inward = std::mem::take(&mut notes.inward);
    let mut blocks = notes.number(top, &mut remarks);
    for block in &mut blocks {
        settle::block(block, source);
    }
    remarks.extend(headings::check(&inward, &blocks, source));
    settle::remarks(&mut remarks);
    remarks.sort_by_key(|remark| (remark.span.start, remark.span.end));
    Ok(Document { header, blocks, tongues, remarks })
}

/// Whether an event of Markdown stands in a line of words.
fn in_a_line(event: &Event) -> bool {
    match event {
        Event::Start(tag) => {
            matches!(tag, Tag::Emphasis | Tag::Strong | Tag::Strikethrough | Tag::Link { .. } | Tag::Image { .. })
        }
        Event::End(tag) => {
            matches!(tag, TagEnd::Emphasis | TagEnd::Strong | TagEnd::Strikethrough | TagEnd::Link | TagEnd::Image)
        }
        Event::Text(_) | Event::Code(_) | Event::SoftBreak | Event::HardBreak => true,
        _ => false,
    }
}

/// An open container of blocks.
enum Frame {
    Quote {
        /// The alert that its first line makes it.
        alert: Option<BlockQuoteKind>,
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

/// Code, gathered as it stands.
struct Verbatim {
    /// The word after the fence.
    info: String,
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
    header: &'s Header,
    tongues: &'s [(Span, Language)],
    top: Vec<Block>,
    frames: Vec<(Frame, Span)>,
    /// Whether each open container got a frame, or was too deep for one.
    framed: Vec<bool>,
    leaf: Option<Leaf>,
    verbatim: Option<Verbatim>,
    rows: Option<Rows>,
    notes: Notes,
    remarks: Vec<Remark>,
    /// Blocks of ours that could not be read.
    errors: Vec<Error>,
    titled: bool,
    figures: u32,
    deep: bool,
    badges: Badges,
}

impl<'s> Reading<'s> {
    fn new(source: &'s Source, header: &'s Header, tongues: &'s [(Span, Language)]) -> Reading<'s> {
        Reading {
            source,
            header,
            tongues,
            top: Vec::new(),
            frames: Vec::new(),
            framed: Vec::new(),
            leaf: None,
            verbatim: None,
            rows: None,
            notes: Notes::default(),
            remarks: Vec::new(),
            errors: Vec::new(),
            titled: false,
            figures: 0,
            deep: false,
            badges: Badges::default(),
        }
    }

    fn all<'e>(&mut self, events: impl IntoIterator<Item = (Event<'e>, Range<usize>)>, base: usize) -> Result<(), Error> {
        events.into_iter().try_for_each(|(event, range)| self.take(event, range.start + base..range.end + base))
    }

    fn take(&mut self, event: Event, range: Range<usize>) -> Result<(), Error> {
        if let Some(verbatim) = &mut self.verbatim {
            match event {
                Event::Text(text) => {
                    verbatim.offsets.push((verbatim.text.len() as u32, range.start as u32));
                    verbatim.text.push_str(&text);
                    return Ok(());
                }
                Event::End(TagEnd::CodeBlock) => self.end_code(self.span(&range)),
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
            Event::FootnoteReference(label) => {
                let span = self.span(&range);
                let call = self.notes.call(&label);
                self.leaf_at(&range).note_call(call, span);
            }
            inline => {
                let span = Span::new(range.start, range.end);
                self.leaf_at(&range).take(inline, span);
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
            Tag::BlockQuote(alert) => self.open(Frame::Quote { alert, blocks: Vec::new() }, &range),
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
                self.start_verbatim(info);
            }
            Tag::HtmlBlock | Tag::TableHead | Tag::TableRow | Tag::MetadataBlock(_) => {}
            inline => {
                let span = Span::new(range.start, range.end);
                self.leaf_at(&range).open(inline, span);
            }
        }
    }

    /// Cells of the row that ends here which the head has no column for. Markdown leaves them out; the words in them are the
    /// writer's, so they are set as cells, and said.
    fn extra_cells(&mut self, whole: &Range<usize>) {
        let Some(rows) = &self.rows else { return };
        let Some(last) = rows.row.last().filter(|_| rows.row.len() == rows.table.head.len()) else { return };
        let from = last.span.end as usize;
        let source = self.source;
        // A row with too few cells is filled up with some that stand behind its end: what follows there is the next row.
        let rest = source.text.get(from..whole.end).and_then(|rest| rest.lines().next()).unwrap_or_default();
        let mut cells: Vec<Range<usize>> = Vec::new();
        let mut at = from;
        let mut parts = rest.split('|');
        at += parts.next().map_or(0, |own| own.len() + 1);
        for part in parts {
            let words = part.trim();
            if !words.is_empty() {
                let start = at + part.len() - part.trim_start().len();
                cells.push(start..start + words.len());
            }
            at += part.len() + 1;
        }
        for cell in &cells {
            let words = source.text.get(cell.clone()).unwrap_or_default();
            self.start(Tag::TableCell, cell.clone());
            for (event, range) in Parser::new_ext(words, options()).into_offset_iter() {
                let range = range.start + cell.start..range.end + cell.start;
                match event {
                    event if !in_a_line(&event) => {}
                    Event::Start(tag) => self.start(tag, range),
                    Event::End(tag) => self.end(tag, range),
                    inline => {
                        let span = Span::new(range.start, range.end);
                        self.leaf_at(&range).take(inline, span);
                    }
                }
            }
            self.end_leaf();
        }
        if let Some(first) = cells.first() {
            self.remarks.push(Remark {
                rule: "extra-cell",
                level: Level::Warning,
                message: "this row has more cells than the table has columns".into(),
                hint: Some(
                    "give the head a cell more, or write a bar that is no border as `\\|`; any other program drops the cell"
                        .into(),
                ),
                span: Span::new(first.start, first.end),
            });
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
                self.extra_cells(&range);
                if let Some(rows) = &mut self.rows {
                    let row = std::mem::take(&mut rows.row);
                    rows.table.rows.push(row);
                }
            }
            TagEnd::Table => {
                if let Some(mut rows) = self.rows.take() {
                    let columns = rows.table.rows.iter().map(Vec::len).max().unwrap_or(0);
                    while rows.table.head.len() < columns {
                        rows.table.head.push(Cell { span: rows.span, text: Vec::new() });
                        rows.table.align.push(Align::None);
                    }
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
                self.close_mark();
            }
        }
    }

    /// Closes the innermost mark of the open run.
    fn close_mark(&mut self) {
        if let Some(leaf) = &mut self.leaf {
            leaf.inlines.close(&mut self.notes);
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
