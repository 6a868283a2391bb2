//! Reads TOML of the header and of fenced blocks: typed values, each error at its file, line and column, unknown keys with the
//! nearest known one. Knows no key by name.

use std::borrow::Cow;
use std::ops::Range;

use toml::Spanned;
use toml::de::{DeArray, DeTable, DeValue};

use super::Error;
use super::document::Permille;
use super::literal::{self, Breaks};
use super::source::{Level, Remark, Source, Span};
use crate::lengths::Mm;
use crate::names::nearest;

/// A piece of TOML that stands in a source, perhaps line by line (inside a list or a quote each line begins elsewhere).
pub(super) struct Toml<'a> {
    source: &'a Source,
    text: &'a str,
    /// From (byte of `text`, byte of the source) on they run side by side. The first begins at 0.
    offsets: &'a [(u32, u32)],
}

/// A value with its range in the TOML, if the key is there.
type Found<T> = Result<Option<(T, Range<usize>)>, Error>;

/// What a line that is no TOML was probably meant to be.
fn habit(text: &str, at: usize) -> Option<String> {
    let start = text.get(..at)?.rfind('\n').map_or(0, |end| end + 1);
    let line = text.get(start..)?.lines().next()?.trim();
    let name =
        |text: &str| !text.is_empty() && text.chars().all(|sign| sign.is_ascii_alphanumeric() || matches!(sign, '_' | '-'));
    if let Some((key, value)) = line.split_once('=') {
        let value = value.trim();
        let bare = value.trim_matches(|sign: char| {
            matches!(sign, '\u{201C}' | '\u{201D}' | '\u{201E}' | '\u{AB}' | '\u{BB}' | '\u{2018}' | '\u{2019}')
        });
        return (name(key.trim()) && bare.len() < value.len())
            .then(|| format!("TOML knows straight quotes only: {} = \"{bare}\"", key.trim()));
    }
    let (key, value) = line.split_once(':')?;
    let value = value.trim().trim_matches(['"', '\'']);
    let value = match value {
        "true" | "false" => value.to_owned(),
        number if number.parse::<f64>().is_ok() => number.to_owned(),
        text => format!("\"{text}\""),
    };
    name(key.trim()).then(|| format!("a key of TOML is written with an equals sign: {} = {value}", key.trim()))
}

/// What a key is called where, and how a value is asked for.
pub(super) struct Keys<'t, 'i> {
    pub table: &'t DeTable<'i>,
    /// How the table is called in messages: "the header", "a figure".
    pub name: &'static str,
}

impl<'t, 'i> Keys<'t, 'i> {
    pub fn entry(&self, key: &str) -> Option<&'t Spanned<DeValue<'i>>> {
        self.table.iter().find(|(name, _)| name.get_ref() == key).map(|(_, value)| value)
    }
}

impl<'a> Toml<'a> {
    pub fn new(source: &'a Source, text: &'a str, offsets: &'a [(u32, u32)]) -> Toml<'a> {
        Toml { source, text, offsets }
    }

    /// # Errors
    /// When the text is not well-formed TOML.
    pub fn parse(&self) -> Result<Spanned<DeTable<'a>>, Error> {
        DeTable::parse(self.text).map_err(|error| {
            let range = error.span().unwrap_or(0..0);
            let unquoted = self.text.get(range.start..).is_some_and(|rest| rest.starts_with(literal::is_noncharacter));
            let hint = match unquoted {
                true => Some("a field's value is always text: put the field in quotes".to_owned()),
                false => habit(self.text, range.start),
            };
            let mut lines = error.message().lines();
            let first = lines.next().unwrap_or_default();
            let rest: Vec<&str> = lines.collect();
            let message = if rest.is_empty() { first.to_owned() } else { format!("{first}, {}", rest.join(", ")) };
            self.error(range, format!("this is not TOML: {message}"), hint)
        })
    }

    /// A range of the text as a span of the source, absolute.
    pub fn span(&self, range: Range<usize>) -> Span {
        let absolute = |at: usize| {
            let at = at as u32;
            let next = self.offsets.partition_point(|(local, _)| *local <= at);
            let (local, there) = next.checked_sub(1).and_then(|n| self.offsets.get(n)).copied().unwrap_or((0, 0));
            there + (at - local)
        };
        // The end of a range at a line's start belongs to the line before it.
        let end = if range.end > range.start { absolute(range.end - 1) + 1 } else { absolute(range.start) };
        Span { start: absolute(range.start), end }
    }

    pub fn error(&self, range: Range<usize>, message: String, hint: Option<String>) -> Error {
        let spot = self.source.spot(self.span(range));
        let told = |text: String| literal::turn_back(&text, Breaks::Spaces).into_owned();
        Error::Toml { message: told(message), hint: hint.map(told), at: Box::new(spot) }
    }

    fn wrong_kind(&self, key: &str, value: &Spanned<DeValue>, wanted: &str, example: &str) -> Error {
        let found = in_words(value.get_ref());
        self.error(
            value.span(),
            format!("`{key}` wants {wanted}, this is {found}"),
            Some(format!("for example: {key} = {example}")),
        )
    }

    /// # Errors
    /// When the key is there and is no text.
    pub fn text<'t>(&self, keys: &Keys<'t, '_>, key: &str) -> Found<&'t str> {
        match keys.entry(key) {
            None => Ok(None),
            Some(value) => match value.get_ref() {
                DeValue::String(text) => Ok(Some((text, value.span()))),
                _ => Err(self.wrong_kind(key, value, "text in quotes", "\"…\"")),
            },
        }
    }

    /// Text with its fields' values turned back: for values that decide something while reading.
    ///
    /// # Errors
    /// When the key is there and is no text.
    pub fn told<'t>(&self, keys: &Keys<'t, '_>, key: &str) -> Found<Cow<'t, str>> {
        Ok(self.text(keys, key)?.map(|(text, range)| (literal::turn_back(text, Breaks::Spaces), range)))
    }

    /// # Errors
    /// When the key is missing or is no text.
    pub fn required<'t>(&self, keys: &Keys<'t, '_>, key: &str, whole: Range<usize>) -> Result<(&'t str, Range<usize>), Error> {
        self.text(keys, key)?.ok_or_else(|| {
            let hint = Some(format!("add a line such as: {key} = \"…\""));
            self.error(whole, format!("{} needs `{key}`", keys.name), hint)
        })
    }

    /// # Errors
    /// When the key is there and is neither `true` nor `false`.
    pub fn flag(&self, keys: &Keys, key: &str) -> Result<Option<bool>, Error> {
        match keys.entry(key) {
            None => Ok(None),
            Some(value) => match value.get_ref() {
                DeValue::Boolean(flag) => Ok(Some(*flag)),
                _ => Err(self.wrong_kind(key, value, "true or false", "false")),
            },
        }
    }

    /// # Errors
    /// When the key is there and is no list of texts.
    pub fn texts(&self, keys: &Keys, key: &str) -> Result<Vec<String>, Error> {
        let Some((items, _)) = self.list(keys, key, "[\"…\", \"…\"]")? else {
            return Ok(Vec::new());
        };
        items
            .iter()
            .map(|item| match item.get_ref() {
                DeValue::String(text) => Ok(text.clone().into_owned()),
                _ => Err(self.wrong_kind(key, item, "texts in quotes", "[\"…\", \"…\"]")),
            })
            .collect()
    }

    /// # Errors
    /// When the key is there and is no list.
    pub fn list<'t, 'i>(&self, keys: &Keys<'t, 'i>, key: &str, example: &str) -> Found<&'t DeArray<'i>> {
        match keys.entry(key) {
            None => Ok(None),
            Some(value) => match value.get_ref() {
                DeValue::Array(items) => Ok(Some((items, value.span()))),
                _ => Err(self.wrong_kind(key, value, "a list", example)),
            },
        }
    }

    /// # Errors
    /// When the key is there and is no table.
    pub fn table<'t, 'i>(&self, keys: &Keys<'t, 'i>, key: &str, name: &'static str) -> Result<Option<Keys<'t, 'i>>, Error> {
        match keys.entry(key) {
            None => Ok(None),
            Some(value) => match value.get_ref() {
                DeValue::Table(table) => Ok(Some(Keys { table, name })),
                _ => Err(self.wrong_kind(key, value, "a table", "{ … }")),
            },
        }
    }

    /// The tables of a list: `key = [{ … }, { … }]` or `[[key]]`.
    ///
    /// # Errors
    /// When the key is there and is no list of tables.
    pub fn tables<'t, 'i>(
        &self,
        keys: &Keys<'t, 'i>,
        key: &str,
        name: &'static str,
    ) -> Result<Vec<(Keys<'t, 'i>, Range<usize>)>, Error> {
        let Some((items, _)) = self.list(keys, key, "[{ … }, { … }]")? else {
            return Ok(Vec::new());
        };
        items
            .iter()
            .map(|item| match item.get_ref() {
                DeValue::Table(table) => Ok((Keys { table, name }, self.extent(item))),
                _ => Err(self.wrong_kind(key, item, "a list of tables", "[{ … }, { … }]")),
            })
            .collect()
    }

    /// A table's range with all its values: that of `[[panel]]` alone is its heading.
    fn extent(&self, item: &Spanned<DeValue>) -> Range<usize> {
        let mut range = item.span();
        if let DeValue::Table(table) = item.get_ref() {
            for value in table.iter().map(|(_, value)| value) {
                let inner = match value.get_ref() {
                    DeValue::Array(items) => items.iter().map(|item| self.extent(item).end).max().unwrap_or(value.span().end),
                    _ => value.span().end,
                };
                range.end = range.end.max(inner);
            }
        }
        range
    }

    /// # Errors
    /// When the key is there and is no finite number.
    pub fn number(&self, keys: &Keys, key: &str, example: &str) -> Found<f64> {
        match keys.entry(key) {
            None => Ok(None),
            Some(value) => Ok(Some((self.finite(key, value, "a number", example)?, value.span()))),
        }
    }

    fn finite(&self, key: &str, value: &Spanned<DeValue>, wanted: &str, example: &str) -> Result<f64, Error> {
        number_of(value.get_ref()).ok_or_else(|| self.wrong_kind(key, value, wanted, example))
    }

    /// A list of exactly `N` finite numbers.
    ///
    /// # Errors
    /// When the key is there and is none.
    pub fn numbers<const N: usize>(&self, keys: &Keys, key: &str, example: &str) -> Found<[f64; N]> {
        let Some((items, range)) = self.list(keys, key, example)? else {
            return Ok(None);
        };
        let wanted = format!("a list of {N} numbers");
        let numbers = items.iter().map(|item| self.finite(key, item, &wanted, example)).collect::<Result<Vec<f64>, Error>>()?;
        match <[f64; N]>::try_from(numbers) {
            Ok(numbers) => Ok(Some((numbers, range))),
            Err(numbers) => {
                let message = format!("`{key}` wants {wanted}, this has {}", numbers.len());
                Err(self.error(range, message, Some(format!("for example: {key} = {example}"))))
            }
        }
    }

    /// A length above 0 with its unit.
    ///
    /// # Errors
    /// When the key is there and is no such length.
    pub fn length(&self, keys: &Keys, key: &str) -> Result<Option<Mm>, Error> {
        let Some(value) = keys.entry(key) else { return Ok(None) };
        let length = match value.get_ref() {
            DeValue::String(text) => Mm::parse(&literal::turn_back(text, Breaks::Spaces)),
            _ => None,
        };
        match length.filter(|length| length.micrometres() > 0) {
            Some(length) => Ok(Some(length)),
            None => Err(self.wrong_kind(key, value, "a length with its unit", "\"100 mm\"")),
        }
    }

    /// One of several words.
    ///
    /// # Errors
    /// When the key is there and is none of them.
    pub fn choice<T: Copy>(&self, keys: &Keys, key: &str, choices: &[(&str, T)]) -> Result<Option<T>, Error> {
        let Some((word, range)) = self.told(keys, key)? else {
            return Ok(None);
        };
        match choices.iter().find(|(name, _)| *name == word) {
            Some((_, choice)) => Ok(Some(*choice)),
            None => {
                let names: Vec<&str> = choices.iter().map(|(name, _)| *name).collect();
                let nearest = nearest(&word, names.iter().copied()).map(|name| format!("did you mean \"{name}\"? "));
                let hint = format!("{}`{key}` is one of {}", nearest.unwrap_or_default(), names.join(", "));
                Err(self.error(range, format!("`{key}` cannot be \"{word}\""), Some(hint)))
            }
        }
    }

    /// Remarks on every key that is not among `known`. `elsewhere` tells where a key of that name belongs instead.
    pub fn check_keys(&self, keys: &Keys, known: &[&str], elsewhere: impl Fn(&str) -> Option<String>, remarks: &mut Vec<Remark>) {
        for (key, _) in keys.table.iter() {
            let name = literal::turn_back(key.get_ref(), Breaks::Spaces);
            if known.contains(&&*name) {
                continue;
            }
            let hint = elsewhere(&name)
                .or_else(|| nearest(&name, known.iter().copied()).map(|known| format!("did you mean `{known}`?")))
                .unwrap_or_else(|| format!("{} knows {}", keys.name, known.join(", ")));
            remarks.push(Remark {
                rule: "unknown-key",
                level: Level::Warning,
                message: format!("{} has no key `{name}`", keys.name),
                hint: Some(hint),
                span: self.span(key.span()),
            });
        }
    }
}

/// A percentage in thousandths.
pub(super) fn permille(percent: f64) -> Permille {
    (percent * 10.0).round().clamp(-1e6, 1e6) as Permille
}

fn number_of(value: &DeValue) -> Option<f64> {
    let number = match value {
        DeValue::Float(float) => float.as_str().parse().ok()?,
        DeValue::Integer(integer) => i64::from_str_radix(integer.as_str(), integer.radix()).ok()? as f64,
        _ => return None,
    };
    f64::is_finite(number).then_some(number)
}

fn in_words(value: &DeValue) -> &'static str {
    match value {
        DeValue::String(_) => "text",
        DeValue::Integer(_) | DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}
