//! What goes wrong with a field, on its way through the template engine.

use std::error::Error as StdError;
use std::fmt;

use minijinja::ErrorKind;
use minijinja::value::ValueKind;

use crate::manual::Error;

/// A field that cannot be put into the text. Travels through the template engine as the source of its error.
#[derive(Clone, Debug)]
pub(super) struct FieldError {
    pub message: String,
    pub hint: Option<String>,
}

/// An error of this room on its way through the template engine.
#[derive(Clone, Debug)]
pub(super) struct Nested(pub Error);

impl fmt::Display for FieldError {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(&self.message)
    }
}

impl fmt::Display for Nested {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(out)
    }
}

impl StdError for FieldError {}
impl StdError for Nested {}

impl FieldError {
    pub fn not_text(kind: ValueKind) -> FieldError {
        FieldError {
            message: format!("this is not one value that could be set as text, it is a {kind}"),
            hint: Some("name one of its fields, or join a list: {{ …|join(\", \") }}".into()),
        }
    }
}

impl From<FieldError> for minijinja::Error {
    fn from(error: FieldError) -> minijinja::Error {
        minijinja::Error::new(ErrorKind::UndefinedError, error.message.clone()).with_source(error)
    }
}

/// A field as a template writes it: `unit.serial`, `unit["serial number"]`.
pub(super) fn spelled(name: &str, key: &str) -> String {
    let mut letters = key.chars();
    let plain = letters.next().is_some_and(|first| first.is_alphabetic() || first == '_')
        && letters.all(|letter| letter.is_alphanumeric() || letter == '_');
    if plain { format!("{name}.{key}") } else { format!("{name}[{key:?}]") }
}
