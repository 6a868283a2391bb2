//! What a block says, as its file says it: fields stay fields, and indices count as a [`Change`](super::Change) counts them.

use toml_edit::{DocumentMut, Item, TableLike, Value};

use super::block::Block;
use super::{Refused, keys, line_of};

/// A block's own words for the page.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Read {
    /// `figure`, `model`, `comic`, or `picture` for one of Markdown or HTML.
    pub kind: &'static str,
    pub callouts: Vec<Callout>,
    pub crop: Option<[f64; 4]>,
    pub screen: Option<String>,
    pub background: Option<String>,
    pub width: Option<String>,
    pub panels: Vec<Panel>,
    pub balloons: Vec<Balloon>,
}

#[derive(Clone, Debug, Default, PartialEq)]
pub struct Callout {
    pub at: [f64; 2],
    pub label: String,
}

#[derive(Clone, Debug, Default, PartialEq)]
pub struct Panel {
    /// From 1.
    pub line: u32,
    pub columns: u8,
}

#[derive(Clone, Debug, Default, PartialEq)]
pub struct Balloon {
    /// Which panel, from 0.
    pub panel: usize,
    pub kind: String,
    pub text: String,
    pub at: [f64; 2],
    pub tail: Option<[f64; 2]>,
}

/// Reads a block that [`at_line`](super::at_line) found in this text.
///
/// # Errors
/// When it cannot be written into: nothing could be done with it then.
pub fn read(text: &str, block: &Block) -> Result<Read, Refused> {
    let fence = match block {
        Block::Fence(fence) => fence,
        Block::Loose(loose) => {
            return match loose.fixed {
                Some(words) => Err(loose.refused(words)),
                None => Ok(Read { kind: "picture", width: loose.width.clone(), ..Read::default() }),
            };
        }
    };
    let content = fence.content(text);
    let mut document = keys::parsed(&content)?;
    let mut read = Read {
        kind: match fence.name.as_str() {
            "comic" => "comic",
            "assembly" => "model",
            _ if document.contains_key("model") => "model",
            _ => "figure",
        },
        crop: numbers(document.get("crop")),
        screen: words(document.get("screen")),
        background: words(document.get("background")),
        width: words(document.get("width")),
        ..Read::default()
    };
    if keys::made_from_field(&document) {
        return Err(super::from_field());
    }
    if read.kind == "figure" {
        let rows = document.get_mut("callouts").map(keys::rows_mut).unwrap_or_default();
        read.callouts = rows
            .iter()
            .map(|row| Callout { at: pair(row.get("at")), label: words(row.get("label")).unwrap_or_default() })
            .collect();
    }
    if read.kind == "comic" {
        let lines = panel_lines(&content, document.get("panel"));
        panels(&mut document, &mut read);
        for (panel, line) in read.panels.iter_mut().zip(lines) {
            panel.line = fence.lines.get(line).map_or(0, |line| line_of(text, line.whole.start));
        }
    }
    Ok(read)
}

fn panels(document: &mut DocumentMut, read: &mut Read) {
    let rows = document.get_mut("panel").map(keys::rows_mut).unwrap_or_default();
    for (number, row) in rows.into_iter().enumerate() {
        let columns = row.get("span").and_then(Item::as_integer).map_or(1, |columns| columns.clamp(1, 2) as u8);
        read.panels.push(Panel { line: 0, columns });
        let balloons = row.get_mut("balloon").map(keys::rows_mut).unwrap_or_default();
        read.balloons.extend(balloons.iter().map(|row| balloon(number, &**row)));
    }
}

fn balloon(panel: usize, row: &dyn TableLike) -> Balloon {
    Balloon {
        panel,
        kind: words(row.get("kind")).unwrap_or_else(|| "speech".into()),
        text: words(row.get("text")).unwrap_or_default(),
        at: pair(row.get("at")),
        tail: numbers(row.get("tail")),
    }
}

/// The lines of the content, from 0, on which panels begin.
fn panel_lines(content: &str, panels: Option<&Item>) -> Vec<usize> {
    let line = |at: usize| content.get(..at).unwrap_or_default().matches('\n').count();
    // Spans are those of a text that was only read.
    let Ok(read) = toml_edit::Document::parse(content) else { return Vec::new() };
    match (panels, read.get("panel")) {
        (Some(Item::ArrayOfTables(_)), Some(Item::ArrayOfTables(tables))) => {
            tables.iter().map(|table| table.span().map_or(0, |span| line(span.start))).collect()
        }
        (Some(_), Some(Item::Value(Value::Array(items)))) => {
            items.iter().map(|item| item.span().map_or(0, |span| line(span.start))).collect()
        }
        _ => Vec::new(),
    }
}

fn words(item: Option<&Item>) -> Option<String> {
    item.and_then(Item::as_str).map(str::to_owned)
}

fn numbers<const N: usize>(item: Option<&Item>) -> Option<[f64; N]> {
    let all: Vec<f64> =
        item?.as_array()?.iter().filter_map(|one| one.as_float().or(one.as_integer().map(|one| one as f64))).collect();
    all.try_into().ok()
}

fn pair(item: Option<&Item>) -> [f64; 2] {
    numbers(item).unwrap_or([50.0, 50.0])
}
