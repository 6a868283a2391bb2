//! YAML front matter of other tools: what of it fits a header of ours. Never expands an alias: only what stands at the top counts.

use saphyr_parser::{Event, Parser, ScalarStyle, Span as YamlSpan};

use super::document::Header;
use super::header::keys::is_key;
use super::source::{Level, Remark, Source, Span};
use crate::language::Language;

/// Keys that fill a header, the better first: what comes first and is there is taken.
const KEYS: &[(&str, &[&str])] = &[
    ("title", &["title"]),
    ("subtitle", &["subtitle", "description"]),
    ("language", &["lang", "language"]),
    ("revision", &["version", "revision"]),
    ("issued", &["date"]),
];

struct Entry {
    key: String,
    value: String,
    span: Span,
}

/// Fills a header from the front matter of a source.
pub(super) fn read(source: &Source, span: Span, remarks: &mut Vec<Remark>) -> Header {
    let text = source.text.get(span.start as usize..span.end as usize).unwrap_or_default();
    if ours(text) {
        remarks.push(Remark {
            rule: "front-matter",
            level: Level::Warning,
            message: "this header is TOML, but stands between lines of ---: it is passed over".into(),
            hint: Some("put a line of +++ before it and one after it".into()),
            span: Span { start: span.start, end: span.start + text.lines().next().map_or(0, str::len) as u32 },
        });
        return Header::default();
    }
    let entries = match entries(text, span.start) {
        Ok(entries) => entries,
        Err(message) => {
            remarks.push(Remark {
                rule: "front-matter",
                level: Level::Warning,
                message: format!("the front matter cannot be read: {message}"),
                hint: Some("it is passed over; look at its indentation, its colons and its quotation marks".into()),
                span: Span { start: span.start, end: span.start },
            });
            return Header::default();
        }
    };
    let mut header = Header::default();
    for (name, keys) in KEYS {
        let found = keys
            .iter()
            .find_map(|key| entries.iter().find(|entry| entry.key.eq_ignore_ascii_case(key) && !entry.value.trim().is_empty()));
        let Some(entry) = found else { continue };
        let value = entry.value.split_whitespace().collect::<Vec<_>>().join(" ");
        match *name {
            "title" => header.title = Some(value),
            "subtitle" => header.subtitle = Some(value),
            "revision" => header.revision = Some(value),
            "language" => {
                header.tongue = Language::standing_in(&value);
                header.language = Some(value);
            }
            _ => match date(&value) {
                Some(date) => header.issued = Some(date),
                None => continue,
            },
        }
        header.spans.insert((*name).to_owned(), entry.span);
    }
    header
}

/// Whether text is the TOML of a header of ours.
fn ours(text: &str) -> bool {
    toml::from_str::<toml::Table>(text).is_ok_and(|table| table.keys().any(|key| is_key(key)))
}

/// Whether text is the keys and values of front matter: YAML that is a mapping, or is meant as one and cannot be read.
pub(super) fn has_keys(text: &str) -> bool {
    if ours(text) {
        return true;
    }
    for event in Parser::new_from_str(text) {
        match event {
            Ok((Event::StreamStart | Event::DocumentStart(_), _)) => {}
            Ok((Event::MappingStart(..), _)) => return true,
            Ok(_) => return false,
            Err(_) => return text.contains(':'),
        }
    }
    false
}

/// A date as ISO 8601 has it, perhaps with a time behind it.
fn date(value: &str) -> Option<String> {
    let day = value.get(..10)?;
    let date = day.parse::<toml::value::Datetime>().ok()?.date?;
    Some(date.to_string())
}

/// The plain values of the mapping at the top.
fn entries(text: &str, start: u32) -> Result<Vec<Entry>, String> {
    let places: Vec<u32> = text.char_indices().map(|(at, _)| at as u32).chain([text.len() as u32]).collect();
    let place = |span: YamlSpan| {
        let at = |index: usize| start + places.get(index).or(places.last()).copied().unwrap_or_default();
        Span { start: at(span.start.index()), end: at(span.end.index()) }
    };
    let mut entries = Vec::new();
    let mut depth = 0usize;
    let mut key: Option<(String, Span)> = None;
    for read in Parser::new_from_str(text) {
        let (event, span) = read.map_err(|error| error.info().to_owned())?;
        match event {
            Event::MappingStart(..) | Event::SequenceStart(..) => depth += 1,
            Event::MappingEnd | Event::SequenceEnd => {
                depth = depth.saturating_sub(1);
                if depth == 1 {
                    key = None;
                }
            }
            Event::Alias(_) if depth == 1 => key = None,
            Event::Scalar(value, style, ..) if depth == 1 => match key.take() {
                None => key = Some((value.into_owned(), place(span))),
                Some((name, at)) => {
                    let none = style == ScalarStyle::Plain && matches!(&*value, "~" | "null");
                    let value = if none { String::new() } else { value.into_owned() };
                    entries.push(Entry { key: name, value, span: Span { start: at.start, end: place(span).end } });
                }
            },
            _ => {}
        }
    }
    Ok(entries)
}
