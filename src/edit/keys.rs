//! Changes of the TOML inside a fence: the keys that a gesture means, and nothing beside them.

use toml_edit::{Array, ArrayOfTables, DocumentMut, InlineTable, Item, Key, Table, TableLike, Value};

use super::values::{number, numbers, string, tenths};
use super::{Change, Refused, from_field, holds_field};

/// The TOML of a block with a change in it.
///
/// # Errors
/// When the TOML cannot be read, the change means nothing here, or what it would change is a field.
pub(super) fn changed(name: &str, content: &str, change: &Change) -> Result<String, Refused> {
    let mut document = parsed(content)?;
    let is_model = name == "assembly" || document.contains_key("model");
    let wanted = match change {
        Change::BalloonMove { .. } | Change::BalloonTail { .. } | Change::BalloonText { .. } | Change::BalloonKind { .. } => {
            "comic"
        }
        Change::Turn { .. } => "model",
        Change::Width { .. } if is_model && name == "figure" => "model",
        Change::Alt { .. } if name == "comic" => "comic",
        Change::Alt { .. } if is_model => "model",
        _ => "picture",
    };
    let here = match name {
        "comic" => "comic",
        _ if is_model => "model",
        _ => "picture",
    };
    if wanted != here {
        let words = match here {
            "comic" => "this is a comic: it has balloons, and no callouts, crop or screen of its own",
            "model" => "this figure is drawn from a model: its callouts find their own places, and it has no screen",
            _ => "this is a figure of a picture: it has no balloons and cannot be turned",
        };
        return Err(Refused::new(words));
    }
    if made_from_field(&document) {
        return Err(from_field());
    }
    lay(&mut document, change)?;
    Ok(document.to_string())
}

/// # Errors
/// When it is no TOML, or none that would come out as it went in.
pub(super) fn parsed(content: &str) -> Result<DocumentMut, Refused> {
    let document = content.parse::<DocumentMut>().map_err(|error| {
        let why = if holds_field(content) { "it holds fields or conditions" } else { "it is not TOML" };
        let line = error.message().lines().next().unwrap_or_default();
        Refused::new(format!("this block cannot be written into: {why} ({line})")).hint("change it in the file")
    })?;
    if document.to_string() != content {
        return Err(Refused::new("this block is written in a way that would not stay as it is").hint("change it in the file"));
    }
    Ok(document)
}

/// Whether the picture of a figure is another one on every strip.
pub(super) fn made_from_field(document: &DocumentMut) -> bool {
    document.get("picture").is_some_and(|picture| holds_field(&picture.to_string()))
}

fn lay(document: &mut DocumentMut, change: &Change) -> Result<(), Refused> {
    match change {
        Change::CalloutPut { at, label } => put(document, &[("at", numbers(at)), ("label", string(label))]),
        Change::CalloutMove { index, at } => set_numbers(row(document, "callouts", *index, "callout")?, "at", at),
        Change::CalloutRename { index, label } => set_words(row(document, "callouts", *index, "callout")?, "label", label),
        Change::CalloutDrop { index } => {
            row(document, "callouts", *index, "callout")?;
            drop_row(document, *index);
            Ok(())
        }
        Change::BalloonMove { index, at } => set_numbers(balloon(document, *index)?, "at", at),
        Change::BalloonTail { index, to: Some(to) } => set_numbers(balloon(document, *index)?, "tail", to),
        Change::BalloonTail { index, to: None } => {
            remove(balloon(document, *index)?, "tail");
            Ok(())
        }
        Change::BalloonText { index, text } => set_words(balloon(document, *index)?, "text", text),
        Change::BalloonKind { index, kind } => {
            let found = balloon(document, *index)?;
            // What only free lettering has goes with it.
            if kind != "sound" {
                ["size", "rise", "cross"].iter().for_each(|key| remove(found, key));
            }
            let said = kind != "speech" || found.contains_key("kind");
            if said { set_words(found, "kind", kind) } else { Ok(()) }
        }
        Change::Crop { crop } => match crop {
            Some(crop) => set_numbers(document.as_table_mut(), "crop", crop),
            None => {
                remove_at_top(document, "crop");
                Ok(())
            }
        },
        Change::Screen { screen, background } => {
            for (key, word) in [("screen", screen), ("background", background)] {
                match word {
                    Some(word) => set(document.as_table_mut(), key, string(word))?,
                    None => remove_at_top(document, key),
                }
            }
            Ok(())
        }
        Change::Width { mm: Some(mm) } => set(document.as_table_mut(), "width", string(&format!("{} mm", tenths(*mm)))),
        Change::Width { mm: None } => {
            remove_at_top(document, "width");
            Ok(())
        }
        Change::Turn { turn, tilt } => turned(document, *turn, *tilt),
        Change::Alt { text, panel: None } => set_words(document.as_table_mut(), "alt", text),
        Change::Alt { text, panel: Some(panel) } => set_words(row(document, "panel", *panel, "panel")?, "alt", text),
        Change::Header { .. } | Change::Allow { .. } | Change::Spelling { .. } | Change::PicturePut { .. } => {
            Err(Refused::new("this is no change of a block"))
        }
    }
}

fn turned(document: &mut DocumentMut, turn: f64, tilt: f64) -> Result<(), Refused> {
    if let Some(view) = document.get_mut("view").and_then(Item::as_table_like_mut) {
        set(view, "turn", number(turn))?;
        return set(view, "tilt", number(tilt));
    }
    let mut view = InlineTable::new();
    view.insert("turn", number(turn));
    view.insert("tilt", number(tilt));
    set(document.as_table_mut(), "view", Value::InlineTable(view))
}

/// The tables of a list, `key = [{ … }]` or `[[key]]`.
pub(super) fn rows_mut(item: &mut Item) -> Vec<&mut dyn TableLike> {
    match item {
        Item::ArrayOfTables(tables) => tables.iter_mut().map(|table| table as &mut dyn TableLike).collect(),
        Item::Value(Value::Array(items)) => {
            items.iter_mut().filter_map(|item| item.as_inline_table_mut().map(|table| table as &mut dyn TableLike)).collect()
        }
        _ => Vec::new(),
    }
}

fn row<'d>(document: &'d mut DocumentMut, key: &str, index: usize, what: &str) -> Result<&'d mut dyn TableLike, Refused> {
    let found = document.get_mut(key).map(rows_mut).and_then(|rows| rows.into_iter().nth(index));
    found.ok_or_else(|| none_there(what, index))
}

fn none_there(what: &str, index: usize) -> Refused {
    Refused::new(format!("there is no {what} {} here any more", index + 1)).hint("look again: the file has changed")
}

fn balloon(document: &mut DocumentMut, index: usize) -> Result<&mut dyn TableLike, Refused> {
    let panels = document.get_mut("panel").map(rows_mut).unwrap_or_default();
    let balloons = panels.into_iter().filter_map(|panel| panel.get_mut("balloon")).flat_map(rows_mut);
    balloons.into_iter().nth(index).ok_or_else(|| none_there("balloon", index))
}

/// Sets a key; one that is there keeps its place, and what stands around its value.
pub(super) fn set(table: &mut dyn TableLike, key: &str, mut value: Value) -> Result<(), Refused> {
    match table.get_mut(key) {
        Some(Item::Value(there)) => {
            if holds_field(&there.to_string()) {
                return Err(a_field(key));
            }
            *value.decor_mut() = there.decor().clone();
            *there = value;
        }
        Some(_) => return Err(Refused::new(format!("`{key}` is no value here")).hint("change it in the file")),
        None => add(table, key, value),
    }
    Ok(())
}

fn a_field(key: &str) -> Refused {
    Refused::new(format!("`{key}` holds a field, which says something else on every strip")).hint("change it in the file")
}

fn set_words(table: &mut dyn TableLike, key: &str, words: &str) -> Result<(), Refused> {
    set(table, key, string(words))
}

/// Sets a list of numbers; one of as many keeps what stands between them.
fn set_numbers(table: &mut dyn TableLike, key: &str, all: &[f64]) -> Result<(), Refused> {
    let there = table.get_mut(key).and_then(|item| item.as_array_mut()).filter(|there| there.len() == all.len());
    let Some(there) = there else { return set(table, key, numbers(all)) };
    for (n, one) in all.iter().enumerate() {
        let mut value = number(*one);
        if let Some(before) = there.get(n) {
            *value.decor_mut() = before.decor().clone();
        }
        there.replace_formatted(n, value);
    }
    Ok(())
}

/// A key more, its sign of equality under the others where those stand under each other.
fn add(table: &mut dyn TableLike, key: &str, mut value: Value) {
    if let Some(last) = table.iter().last().map(|(name, _)| name.to_owned())
        && let Some(Item::Value(last)) = table.get_mut(&last)
    {
        // In braces the room before the closing one moves on to the new value. On a line of its own a remark stays where it is.
        let room = raw(last.decor().suffix());
        if !room.contains(['#', '\n']) && !room.is_empty() {
            last.decor_mut().set_suffix("");
            value.decor_mut().set_suffix(room);
        }
    }
    if value.decor().prefix().is_none() {
        value.decor_mut().set_prefix(" ");
    }
    let width = |name: &Key| name.display_repr().chars().count() + raw(name.leaf_decor().suffix()).chars().count();
    let widths: Vec<usize> = table.iter().filter_map(|(name, _)| table.key(name)).map(width).collect();
    let aligned = widths
        .first()
        .filter(|first| widths.len() > 1 && widths.iter().filter(|width| width == first).count() > widths.len() / 2);
    let room = aligned.map_or(1, |width| width.saturating_sub(key.len()).max(1));
    let above = table.iter().last().and_then(|(last, _)| table.key(last)).map(|last| raw(last.leaf_decor().prefix()));
    table.insert(key, Item::Value(value));
    if let Some(mut name) = table.key_mut(key) {
        name.leaf_decor_mut().set_suffix(" ".repeat(room));
        // As far from the edge as the key before it.
        if let Some(above) =
            above.as_deref().map(|above| above.rsplit('\n').next().unwrap_or_default()).filter(|above| above.trim().is_empty())
        {
            name.leaf_decor_mut().set_prefix(above);
        }
    }
}

fn raw(text: Option<&toml_edit::RawString>) -> String {
    text.and_then(|text| text.as_str()).unwrap_or_default().to_owned()
}

fn remove(table: &mut dyn TableLike, key: &str) {
    if !table.contains_key(key) {
        return;
    }
    let (said, is_last) = remarks(table, key);
    let after = table.iter().skip_while(|(name, _)| *name != key).nth(1).map(|(name, _)| name.to_owned());
    let room = table.get(key).and_then(Item::as_value).map(|value| raw(value.decor().suffix())).unwrap_or_default();
    table.remove(key);
    let last = table.iter().last().map(|(name, _)| name.to_owned());
    match after {
        Some(after) => prepend(table, &after, &said),
        // A remark stays where it is, below what is the last value now.
        None if !said.is_empty() => {
            if let Some(last) = last.and_then(|last| table.get_mut(&last)).and_then(Item::as_value_mut) {
                let behind = raw(last.decor().suffix());
                last.decor_mut().set_suffix(format!("{behind}\n{}", said.trim_end()));
            }
        }
        None if is_last && !room.contains(['#', '\n']) => {
            // In braces the room before the closing one stays.
            if let Some(last) = last.and_then(|last| table.get_mut(&last)).and_then(Item::as_value_mut)
                && raw(last.decor().suffix()).is_empty()
                && !room.is_empty()
            {
                last.decor_mut().set_suffix(room);
            }
        }
        None => {}
    }
}

/// The same at the top of a block, where a remark at the end goes to the end of the block.
fn remove_at_top(document: &mut DocumentMut, key: &str) {
    let (said, is_last) = remarks(document.as_table(), key);
    let next_is_table = document.iter().skip_while(|(name, _)| *name != key).nth(1).is_some_and(|(_, item)| !item.is_value());
    if (is_last || next_is_table) && !said.is_empty() {
        let rest = raw(Some(document.trailing()));
        if !next_is_table {
            document.set_trailing(format!("{said}{rest}"));
        }
        document.remove(key);
        return;
    }
    remove(document.as_table_mut(), key);
}

/// What was remarked above a key and behind its value, in lines of its own; and whether nothing follows it.
fn remarks(table: &dyn TableLike, key: &str) -> (String, bool) {
    let above = table.key(key).map(|name| raw(name.leaf_decor().prefix())).unwrap_or_default();
    let behind = table.get(key).and_then(Item::as_value).map(|value| raw(value.decor().suffix())).unwrap_or_default();
    let mut said = if above.contains('#') { above } else { String::new() };
    if behind.contains('#') {
        said.push_str(behind.trim_start());
        said.push('\n');
    }
    let is_last = table.iter().last().is_none_or(|(name, _)| name == key);
    (said, is_last)
}

fn prepend(table: &mut dyn TableLike, key: &str, said: &str) {
    if said.is_empty() {
        return;
    }
    if let Some(mut name) = table.key_mut(key) {
        let above = raw(name.leaf_decor().prefix());
        name.leaf_decor_mut().set_prefix(format!("{said}{above}"));
    }
}

/// A callout more, as the last.
fn put(document: &mut DocumentMut, keys: &[(&str, Value)]) -> Result<(), Refused> {
    let as_braces = || {
        let mut row = InlineTable::new();
        for (key, value) in keys {
            row.insert(*key, value.clone());
        }
        Value::InlineTable(row)
    };
    match document.get_mut("callouts") {
        None => {
            let mut list = Array::new();
            let mut first = as_braces();
            first.decor_mut().set_prefix("\n  ");
            list.push_formatted(first);
            list.set_trailing_comma(true);
            list.set_trailing("\n");
            add(document.as_table_mut(), "callouts", Value::Array(list));
            Ok(())
        }
        Some(Item::Value(Value::Array(list))) => {
            append(list, as_braces());
            Ok(())
        }
        Some(Item::ArrayOfTables(tables)) => {
            append_table(tables, keys);
            Ok(())
        }
        Some(_) => Err(Refused::new("`callouts` is no list here").hint("change it in the file")),
    }
}

fn append_table(tables: &mut ArrayOfTables, keys: &[(&str, Value)]) {
    let mut table = Table::new();
    let blank = tables.iter().last().is_some_and(|last| raw(last.decor().prefix()).starts_with('\n')) || tables.len() < 2;
    table.decor_mut().set_prefix(if blank { "\n" } else { "" });
    for (key, value) in keys {
        table.insert(key, Item::Value(value.clone()));
    }
    tables.push(table);
}

/// Puts a value behind the last of a list, on a line of its own where the others have one. What was remarked behind the last stays there.
pub(super) fn append(list: &mut Array, mut value: Value) {
    let indent = list
        .iter()
        .last()
        .map(|last| raw(last.decor().prefix()))
        .and_then(|prefix| prefix.rsplit_once('\n').map(|(_, indent)| indent.to_owned()));
    let comma = list.trailing_comma();
    let tail = match list.len().checked_sub(1).and_then(|last| list.get_mut(last)) {
        Some(last) if !comma => {
            let tail = raw(last.decor().suffix());
            last.decor_mut().set_suffix("");
            tail
        }
        _ => raw(Some(list.trailing())),
    };
    let closing = match (tail.rsplit_once('\n'), indent) {
        (Some((before, after)), indent) => {
            value.decor_mut().set_prefix(format!("{before}\n{}", indent.as_deref().unwrap_or("  ")));
            format!("\n{after}")
        }
        (None, _) => {
            let first = list.is_empty();
            value.decor_mut().set_prefix(if first { tail.clone() } else { " ".into() });
            tail
        }
    };
    if comma {
        list.set_trailing(closing);
    } else if list.is_empty() {
        list.set_trailing("");
        value.decor_mut().set_suffix(closing);
    } else {
        value.decor_mut().set_suffix(closing);
    }
    list.push_formatted(value);
}

/// Takes a callout away, and the key with the last of them.
fn drop_row(document: &mut DocumentMut, index: usize) {
    let mut left_over = String::new();
    let empty = match document.get_mut("callouts") {
        Some(Item::Value(Value::Array(list))) => {
            let at = list.iter().enumerate().filter(|(_, item)| item.is_inline_table()).nth(index).map(|(at, _)| at);
            if let Some(at) = at {
                take(list, at);
            }
            list.is_empty() && !raw(Some(list.trailing())).contains('#')
        }
        Some(Item::ArrayOfTables(tables)) => {
            let gone = tables.get(index).map(|table| {
                let above = raw(table.decor().prefix());
                let inside: String = table.iter().map(|(key, _)| remarks(table, key).0).collect();
                if above.contains('#') || inside.is_empty() { format!("{above}{inside}") } else { format!("\n{inside}") }
            });
            let gone = gone.filter(|said| said.contains('#'));
            tables.remove(index);
            match (gone, tables.get_mut(index)) {
                (Some(gone), Some(next)) => {
                    let above = raw(next.decor().prefix());
                    next.decor_mut().set_prefix(format!("{gone}{}", above.trim_start_matches('\n')));
                }
                (Some(gone), None) => left_over = gone,
                _ => {}
            }
            tables.is_empty()
        }
        _ => false,
    };
    if !left_over.is_empty() {
        let rest = raw(Some(document.trailing()));
        document.set_trailing(format!("{left_over}{rest}"));
    }
    if empty {
        remove_at_top(document, "callouts");
    }
}

/// Takes a value out of a list; what was remarked beside it stays.
fn take(list: &mut Array, at: usize) {
    let is_last = at + 1 == list.len();
    let comma = list.trailing_comma();
    let (before, behind) =
        list.get(at).map(|value| (raw(value.decor().prefix()), raw(value.decor().suffix()))).unwrap_or_default();
    list.remove(at);
    if !is_last {
        if let Some(next) = list.get_mut(at) {
            let own = raw(next.decor().prefix());
            let remarked = own.contains('#') || behind.contains('#');
            next.decor_mut().set_prefix(if remarked { format!("{before}{behind}{own}") } else { before });
        }
        return;
    }
    let tail = if comma { raw(Some(list.trailing())) } else { behind };
    let said = match before.rsplit_once('\n') {
        // The indentation was that of the value.
        Some((remarked, _)) if before.contains('#') && tail.contains('\n') => {
            format!("{remarked}{}{tail}", if tail.starts_with('\n') { "" } else { "\n" })
        }
        _ if before.contains('#') => format!("{before}{tail}"),
        _ => tail,
    };
    match (comma, list.len().checked_sub(1).and_then(|last| list.get_mut(last))) {
        (false, Some(last)) => {
            let own = raw(last.decor().suffix());
            last.decor_mut().set_suffix(if own.contains('#') { format!("{own}{said}") } else { said });
        }
        _ => list.set_trailing(said),
    }
    if list.is_empty() {
        list.set_trailing_comma(false);
    }
}
