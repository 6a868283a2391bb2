//! Values of a TOML table, each read as the kind it must be or refused where it stands.

use std::ops::Range;

use toml::Spanned;
use toml::de::DeValue;

use super::Error;
use crate::lengths::Mm;
use crate::manual::source::Place;

/// The text that is read, under the name that places give it.
pub struct Reader<'a> {
    pub text: &'a str,
    pub name: &'a str,
}

/// A value with its bytes in the text.
pub type Value<'a, 'i> = &'a Spanned<DeValue<'i>>;

impl Reader<'_> {
    pub fn place(&self, at: usize) -> Place {
        let before = self.text.get(..at).unwrap_or(self.text);
        let line = before.matches('\n').count() as u32 + 1;
        let column = before.rsplit('\n').next().unwrap_or("").chars().count() as u32 + 1;
        Place { file: self.name.to_string(), line, column }
    }

    pub fn wrong(&self, span: &Range<usize>, message: String, hint: Option<String>) -> Error {
        Error::Profile { message, hint, place: self.place(span.start), offset: span.start.min(self.text.len()) }
    }

    pub fn kind(&self, value: Value, key: &str, wanted: &str) -> Error {
        self.wrong(&value.span(), format!("{key} is {wanted}, not {}", article(value.get_ref().type_str())), None)
    }

    pub fn string<'a>(&self, value: &'a Spanned<DeValue<'_>>, key: &str) -> Result<&'a str, Error> {
        value.get_ref().as_str().ok_or_else(|| self.kind(value, key, "a text in quotes"))
    }

    pub fn boolean(&self, value: Value, key: &str) -> Result<bool, Error> {
        value.get_ref().as_bool().ok_or_else(|| self.kind(value, key, "true or false"))
    }

    pub fn integer(&self, value: Value, key: &str, least: i64, most: i64) -> Result<i64, Error> {
        let Some(integer) = value.get_ref().as_integer() else {
            return Err(self.kind(value, key, "a whole number"));
        };
        match i64::from_str_radix(&integer.as_str().replace('_', ""), integer.radix()) {
            Ok(number) if (least..=most).contains(&number) => Ok(number),
            _ => Err(self.wrong(&value.span(), format!("{key} is from {least} to {most}"), None)),
        }
    }

    pub fn number(&self, value: Value, key: &str, least: f64, most: f64) -> Result<f64, Error> {
        let text = match value.get_ref() {
            DeValue::Integer(integer) if integer.radix() == 10 => integer.as_str().to_string(),
            DeValue::Float(float) => float.as_str().to_string(),
            _ => return Err(self.kind(value, key, "a number")),
        };
        match text.replace('_', "").parse::<f64>() {
            Ok(number) if number >= least && number <= most => Ok(number),
            _ => Err(self.wrong(&value.span(), format!("{key} is from {least} to {most}"), None)),
        }
    }

    pub fn length(&self, value: Value, key: &str, least: f64, most: f64) -> Result<Mm, Error> {
        self.number(value, key, least, most).map(Mm::new)
    }

    pub fn choice<T: Copy>(&self, value: Value, key: &str, ways: &[(&str, T)]) -> Result<T, Error> {
        let text = self.string(value, key)?;
        if let Some((_, way)) = ways.iter().find(|(name, _)| *name == text) {
            return Ok(*way);
        }
        let names: Vec<String> = ways.iter().map(|(name, _)| format!("\"{name}\"")).collect();
        Err(self.wrong(&value.span(), format!("{key} = \"{text}\" is none of {}", names.join(", ")), None))
    }
}

fn article(kind: &str) -> String {
    if kind.starts_with(['a', 'e', 'i', 'o', 'u']) { format!("an {kind}") } else { format!("a {kind}") }
}
