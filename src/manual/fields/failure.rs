//! The template engine's errors in the writer's words, at the writer's place.

use std::error::Error as StdError;
use std::sync::Arc;

use minijinja::ErrorKind;

use super::HEADER;
use super::assembly::Piece;
use super::error::{FieldError, Nested, spelled};
use crate::manual::Error;
use crate::manual::source::Spot;
use crate::manual::units::Unit;
use crate::names::nearest;

/// Everything the error went through, from the outermost to its cause.
struct Chain<'e> {
    /// The innermost error of the engine that knows its place.
    placed: &'e minijinja::Error,
    /// The innermost error of the engine.
    last: &'e minijinja::Error,
    field: Option<&'e FieldError>,
    nested: Option<&'e Nested>,
}

impl<'e> Chain<'e> {
    fn new(error: &'e minijinja::Error) -> Chain<'e> {
        let mut chain = Chain { placed: error, last: error, field: None, nested: None };
        let mut cause: Option<&(dyn StdError + 'static)> = Some(error);
        while let Some(current) = cause {
            if let Some(engine) = current.downcast_ref::<minijinja::Error>() {
                chain.last = engine;
                if engine.name().is_some() {
                    chain.placed = engine;
                }
            }
            chain.field = current.downcast_ref().or(chain.field);
            chain.nested = current.downcast_ref().or(chain.nested);
            cause = current.source();
        }
        chain
    }
}

/// What can be done to a value, as far as a manual may want it.
const FILTERS: [&str; 18] = [
    "abs",
    "capitalize",
    "date",
    "default",
    "first",
    "float",
    "int",
    "join",
    "last",
    "length",
    "lower",
    "number",
    "replace",
    "round",
    "split",
    "title",
    "trim",
    "upper",
];

pub(super) fn in_words(error: &minijinja::Error, pieces: &[(Arc<str>, Arc<Piece>)], unit: Option<&Unit>) -> Error {
    let chain = Chain::new(error);
    let at = spot(chain.placed, pieces);
    let at = if chain.last.kind() == ErrorKind::OutOfFuel { at.map(|at| loop_spot(&at).unwrap_or(at)) } else { at };
    if let Some(Nested(nested)) = chain.nested {
        // A file that cannot be read is shown where it is asked for; what is wrong inside it, there.
        return match nested.clone() {
            Error::Unreadable { file, reason, at: None } => Error::Unreadable { file, reason, at: at.map(Box::new) },
            other => other,
        };
    }
    let (message, hint) = match chain.field {
        Some(field) => (field.message.clone(), field.hint.clone()),
        None => words(chain.last, at.as_ref(), chain.placed.name() == Some(HEADER), unit),
    };
    Error::Template { message, hint, at: at.map(Box::new) }
}

fn spot(error: &minijinja::Error, pieces: &[(Arc<str>, Arc<Piece>)]) -> Option<Spot> {
    let name = error.name()?;
    let (_, piece) = pieces.iter().find(|(known, _)| **known == *name)?;
    Some(match error.range() {
        Some(range) => piece.spot(range),
        None => piece.line_spot(error.template_source().unwrap_or_default(), error.line().unwrap_or(1)),
    })
}

/// The tag that goes round: the last before the place where time ran out, else the first after it. What a loop repeats may be bare
/// text, of whose place the engine knows nothing.
fn loop_spot(at: &Spot) -> Option<Spot> {
    let text = at.file.text();
    let tags = text.match_indices("{%").filter(|(start, _)| {
        let inside = text[start + 2..].trim_start_matches(['-', '+']).trim_start();
        ["for ", "macro ", "call ", "include "].iter().any(|word| inside.starts_with(word))
    });
    let starts: Vec<usize> = tags.map(|(start, _)| start).collect();
    let start = starts.iter().rev().find(|start| **start <= at.offset).or(starts.first()).copied()?;
    let length = text[start..].find("%}").map_or(2, |end| end + 2);
    Some(Spot::new(at.file.clone(), start, length))
}

fn words(error: &minijinja::Error, at: Option<&Spot>, in_header: bool, unit: Option<&Unit>) -> (String, Option<String>) {
    let detail = error.detail().unwrap_or_default();
    match error.kind() {
        ErrorKind::UndefinedError => undefined(at, in_header, unit),
        ErrorKind::OutOfFuel => {
            let hint = "look for a loop that never ends, or that goes round too often";
            ("filling the fields takes too long".into(), Some(hint.into()))
        }
        ErrorKind::SyntaxError => {
            let hint = "literal {{ or {% is written between {% raw %} and {% endraw %}";
            (format!("this cannot be read as a field or a condition: {detail}"), Some(hint.into()))
        }
        ErrorKind::UnknownFilter => {
            let written = at.and_then(|at| at.file.text().get(at.offset..at.offset + at.length)).unwrap_or_default();
            let near = nearest(written.trim(), FILTERS).map(|near| format!("did you mean `{near}`? ")).unwrap_or_default();
            (format!("{detail} is unknown"), Some(format!("{near}there are {}", FILTERS.join(", "))))
        }
        ErrorKind::UnknownMethod => {
            let hint = "a value has no methods; a filter does it: `{{ unit.name|upper }}`, `{{ unit.name|split(\"-\")|first }}`";
            (format!("this field does not work: {detail}"), Some(hint.into()))
        }
        _ if detail.contains("recursion limit") => {
            let hint = "look for a file that includes itself";
            ("files include one another too deeply here".into(), Some(hint.into()))
        }
        kind if detail.is_empty() => (format!("this field or condition does not work: {kind}"), None),
        _ => (format!("this field or condition does not work: {detail}"), None),
    }
}

/// A name that is not there at all.
fn undefined(at: Option<&Spot>, in_header: bool, unit: Option<&Unit>) -> (String, Option<String>) {
    let written = at.and_then(|at| at.file.text().get(at.offset..at.offset + at.length)).unwrap_or_default().trim();
    if in_header && written.starts_with("document") {
        let hint = "the header is filled before it is read: it can use unit and run, not document";
        return ("`document` is not known yet in the header".into(), Some(hint.into()));
    }
    let columns: Vec<&str> = unit.iter().flat_map(|unit| unit.columns()).map(String::as_str).collect();
    let near = nearest(written, columns.iter().copied())
        .map(|column| format!("did you mean `{}`? ", spelled("unit", column)))
        .or_else(|| nearest(written, ["unit", "document", "run"]).map(|name| format!("did you mean `{name}`? ")));
    let known = if columns.is_empty() { String::new() } else { format!("; the units have {}", columns.join(", ")) };
    let hint = format!("{}a field begins with unit, document or run{known}", near.unwrap_or_default());
    let message = match written {
        "" => "something here has no value".to_owned(),
        written => format!("`{written}` has no value"),
    };
    (message, Some(hint))
}
