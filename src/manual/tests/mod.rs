//! Tests at the door of the room: a writer's text in, a document or words of complaint out.

mod fields;
mod front;
mod habits;
mod header;
mod hostile;
mod html;
mod markdown;
mod own_words;
mod places;
mod section;
mod units;

use super::document::{Block, Inline, InlineKind, Kind};
use super::source::Remark;
use super::{Document, Error, parse, read_text};

fn document(text: &str) -> Document {
    let source = read_text("manual.md", text).unwrap_or_else(|error| panic!("{error}"));
    parse(&source).unwrap_or_else(|error| panic!("{error} at {:?}", error.place()))
}

fn failure(text: &str) -> Error {
    match read_text("manual.md", text).and_then(|source| parse(&source)) {
        Ok(document) => panic!("read without complaint: {document:?}"),
        Err(error) => error,
    }
}

/// An error as a person sees it: `file:line:column message`.
fn told(error: &Error) -> String {
    match error.place() {
        Some(place) => format!("{place} {error}"),
        None => error.to_string(),
    }
}

/// Remarks as `line:column rule`.
fn remarks(text: &str) -> Vec<String> {
    let source = read_text("manual.md", text).unwrap();
    let document = parse(&source).unwrap_or_else(|error| panic!("{}", told(&error)));
    document
        .remarks
        .iter()
        .map(|remark: &Remark| {
            let place = source.locate(remark.span.start);
            format!("{}:{} {}", place.line, place.column, remark.rule)
        })
        .collect()
}

/// Blocks in one line, nested ones in brackets: what kinds there are and what they say.
fn sketch(blocks: &[Block]) -> String {
    blocks.iter().map(sketch_block).collect::<Vec<_>>().join(" ")
}

fn sketch_block(block: &Block) -> String {
    match &block.kind {
        Kind::Title(text) => format!("title({})", inlines(text)),
        Kind::Heading { level, text } => format!("h{level}({})", inlines(text)),
        Kind::Paragraph(text) => format!("p({})", inlines(text)),
        Kind::Procedure { steps } => {
            let steps: Vec<String> = steps.iter().map(|step| format!("{}: {}", step.number, sketch(&step.blocks))).collect();
            format!("steps[{}]", steps.join(" | "))
        }
        Kind::Bullets { items } => {
            let items: Vec<String> = items
                .iter()
                .map(|item| {
                    let tick = item.tick.map_or("", |ticked| if ticked { "[x] " } else { "[ ] " });
                    format!("{tick}{}", sketch(&item.blocks))
                })
                .collect();
            format!("bullets[{}]", items.join(" | "))
        }
        Kind::Safety(safety) => {
            let sign = safety.sign.as_deref().map_or(String::new(), |sign| format!(" sign={sign}"));
            format!("safety({:?} {:?}{sign})[{}]", safety.word, safety.label, sketch(&safety.blocks))
        }
        Kind::Aside(blocks) => format!("aside[{}]", sketch(blocks)),
        Kind::Figure(figure) => sketch_figure(figure),
        Kind::Row(figures) => format!("row[{}]", figures.iter().map(sketch_figure).collect::<Vec<_>>().join(" ")),
        Kind::Comic(comic) => format!("comic({} of {})", comic.panels.len(), comic.columns),
        Kind::Code { text } => format!("code({text:?})"),
        Kind::Table(table) => {
            let row = |row: &[super::document::Cell]| row.iter().map(|cell| inlines(&cell.text)).collect::<Vec<_>>().join(", ");
            let rows: Vec<String> = table.rows.iter().map(|cells| row(cells)).collect();
            format!("table[{} / {}]", row(&table.head), rows.join(" / "))
        }
        Kind::Definitions(definitions) => {
            let all: Vec<String> = definitions
                .iter()
                .map(|definition| {
                    let meanings: Vec<String> = definition.meanings.iter().map(|meaning| sketch(meaning)).collect();
                    format!("{} = {}", inlines(&definition.term), meanings.join(" or "))
                })
                .collect();
            format!("definitions[{}]", all.join(" | "))
        }
        Kind::Notes(notes) => {
            let all: Vec<String> = notes
                .iter()
                .map(|note| match &note.body {
                    super::document::NoteBody::Address(address) => format!("{} {address}", note.number),
                    super::document::NoteBody::Footnote(blocks) => format!("{} {}", note.number, sketch(blocks)),
                })
                .collect();
            format!("notes[{}]", all.join(" | "))
        }
        Kind::Model(figure) => {
            let models: Vec<&str> = figure.models.iter().map(|model| model.name.as_str()).collect();
            format!("model({} {:?} {:?})", models.join("+"), figure.view, figure.alt)
        }
        Kind::Qr { data } => format!("qr({data:?})"),
        Kind::Barcode { symbology, data } => format!("barcode({symbology:?} {data:?})"),
        Kind::WriteIn { height, label } => format!("write-in({height} {label:?})"),
        Kind::Rule => "rule".into(),
        Kind::Fold => "fold".into(),
        Kind::Cut => "cut".into(),
    }
}

fn sketch_figure(figure: &super::document::Figure) -> String {
    let number = figure.number.map_or(String::new(), |number| format!(" {number}"));
    format!("figure({} {:?}{number} {})", figure.picture, figure.alt, inlines(&figure.caption))
}

fn inlines(inlines: &[Inline]) -> String {
    inlines.iter().map(inline).collect()
}

fn inline(inline: &Inline) -> String {
    let inner = |inner: &[Inline]| inlines(inner);
    match &inline.kind {
        InlineKind::Text(text) => text.clone(),
        InlineKind::Strong(text) => format!("*{}*", inner(text)),
        InlineKind::Emphasis(text) => format!("_{}_", inner(text)),
        InlineKind::Strike(text) => format!("~{}~", inner(text)),
        InlineKind::Subscript(text) => format!("_{{{}}}", inner(text)),
        InlineKind::Superscript(text) => format!("^{{{}}}", inner(text)),
        InlineKind::Key(key) => format!("<{key}>"),
        InlineKind::Picture(picture) => format!("!{} {:?}!", picture.address, picture.alt),
        InlineKind::Link { text, note, .. } => {
            format!("{{{}{}}}", inner(text), note.map_or(String::new(), |note| format!("^{note}")))
        }
        InlineKind::NoteCall(note) => format!("^{note}"),
        InlineKind::SoftBreak => "/".into(),
        InlineKind::HardBreak => "//".into(),
    }
}
