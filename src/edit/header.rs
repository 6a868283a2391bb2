//! The TOML header of a manual: keys that it lacks, rules that its writer has decided about.

use toml_edit::{Array, DocumentMut, InlineTable, Item, Table, Value};

use super::fence::Fence;
use super::values::string;
use super::{Edited, Laid, Refused, holds_field, keys};
use crate::manual;

/// What is written into a header.
pub(super) enum Entry<'c> {
    /// A key of a table, of the header itself where the table has no name.
    Key { table: &'c str, key: &'c str, value: &'c str },
    /// A rule whose findings are left out, and why.
    Allow { rule: &'c str, reason: &'c str },
}

/// The text with an entry in its header, and the bytes that the header took before.
///
/// # Errors
/// When there is none and none can be made, or it cannot be written into.
pub(super) fn changed(text: &str, entry: &Entry) -> Result<Laid, Refused> {
    let Some(header) = Fence::header(text) else { return made(text, entry) };
    let before = header.content(text);
    let mut document = keys::parsed(&before)?;
    lay(&mut document, entry)?;
    Ok((header.with(text, &before, &document.to_string()), header.range))
}

/// A header before a text that has none.
fn made(text: &str, entry: &Entry) -> Result<Laid, Refused> {
    let mut document = DocumentMut::new();
    lay(&mut document, entry)?;
    let end = if text.split('\n').next().is_some_and(|line| line.ends_with('\r')) { "\r\n" } else { "\n" };
    let header = format!("+++\n{}+++", document.to_string().trim_start()).replace('\n', end);
    let refused = |words: &str| {
        Err(Refused::new(words)
            .hint("put these lines at the very top of the manual, and look at what becomes of the rest")
            .paste(format!("{header}\n")))
    };
    if manual::body_of(text) > 0 {
        return refused("this text begins with front matter, in place of which a header of its own would stand");
    }
    if holds_field(text) {
        return refused("with a header this text would become a template, and its double braces fields");
    }
    let written = format!("{header}{end}{end}");
    Ok((Edited { text: format!("{written}{text}"), range: 0..written.len() }, 0..0))
}

fn lay(document: &mut DocumentMut, entry: &Entry) -> Result<(), Refused> {
    match entry {
        Entry::Key { table: "", key, value } => keys::set(document.as_table_mut(), key, string(value)),
        Entry::Key { table, key, value } => match table_of(document, table)?.as_table_like_mut() {
            Some(table) => keys::set(table, key, string(value)),
            None => Err(no_table(table)),
        },
        Entry::Allow { rule, reason } => allow(table_of(document, "preflight")?, rule, reason),
    }
}

fn no_table(name: &str) -> Refused {
    Refused::new(format!("`{name}` is no table here")).hint("change it in the file")
}

/// A table of the header, made at its end where it is not there.
fn table_of<'d>(document: &'d mut DocumentMut, name: &str) -> Result<&'d mut Item, Refused> {
    if !document.contains_key(name) {
        let mut table = Table::new();
        table.decor_mut().set_prefix(if document.is_empty() { "" } else { "\n" });
        document.insert(name, Item::Table(table));
    }
    document.get_mut(name).filter(|item| item.is_table_like()).ok_or_else(|| no_table(name))
}

fn allow(preflight: &mut Item, rule: &str, reason: &str) -> Result<(), Refused> {
    let mut entry = InlineTable::new();
    entry.insert("rule", string(rule));
    entry.insert("reason", string(reason));
    let entry = Value::InlineTable(entry);
    let Some(table) = preflight.as_table_like_mut() else { return Err(no_table("preflight")) };
    match table.get_mut("allow") {
        None => keys::set(table, "allow", Value::Array([entry].into_iter().collect::<Array>())),
        Some(Item::Value(Value::Array(list))) => {
            let named = |value: &Value| match value {
                Value::String(name) => name.value() == rule,
                Value::InlineTable(table) => table.get("rule").and_then(Value::as_str) == Some(rule),
                _ => false,
            };
            let at = list.iter().position(named);
            match at.and_then(|at| list.get_mut(at)) {
                // It was allowed before, without a reason or with another.
                Some(there) => {
                    let mut entry = entry;
                    *entry.decor_mut() = there.decor().clone();
                    *there = entry;
                }
                None => keys::append(list, entry),
            }
            Ok(())
        }
        Some(_) => Err(Refused::new("`allow` is no list here").hint("change it in the file")),
    }
}
