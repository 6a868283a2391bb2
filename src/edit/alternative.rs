//! What a picture shows, in words: the alternative text of a picture of Markdown or HTML, which stays what it is.

use std::ops::Range;

use super::loose::Loose;
use super::{Edited, Refused, holds_field};

/// The text with other words for what a picture shows.
///
/// # Errors
/// When the picture has words already that cannot be told from the rest.
pub(super) fn changed(text: &str, loose: &Loose, words: &str) -> Result<Edited, Refused> {
    let own = text.get(loose.range.clone()).unwrap_or_default();
    let words = words.split_whitespace().collect::<Vec<_>>().join(" ");
    if loose.fixed.is_some() && !loose.alt.is_empty() {
        return Err(Refused::new("the first picture on this line has words already").hint("change the others in the file"));
    }
    let refused = || Refused::new("the words of this picture cannot be told from the rest").hint("change them in the file");
    let (place, written) = match own.starts_with("![") {
        true => (markdown(own).ok_or_else(refused)?, escaped(&words)),
        false => html(own, &words).ok_or_else(refused)?,
    };
    if holds_field(own) {
        return Err(Refused::new("the words of this picture hold a field").hint("change them in the file"));
    }
    let (start, end) = (loose.range.start + place.start, loose.range.start + place.end);
    let all = format!("{}{written}{}", &text[..start], &text[end..]);
    Ok(Edited { text: all, range: loose.range.start..loose.range.end - place.len() + written.len() })
}

/// Where the words stand between the brackets.
fn markdown(own: &str) -> Option<Range<usize>> {
    let mut depth = 0;
    let mut letters = own.char_indices().skip(2);
    while let Some((at, letter)) = letters.next() {
        match letter {
            '\\' => drop(letters.next()),
            '[' => depth += 1,
            ']' if depth == 0 => return Some(2..at),
            ']' => depth -= 1,
            _ => {}
        }
    }
    None
}

/// Words of which Markdown and the template make nothing else.
fn escaped(words: &str) -> String {
    let mut escaped = String::new();
    for letter in words.chars() {
        if matches!(letter, '\\' | '[' | ']' | '*' | '_' | '`' | '<' | '&' | '{' | '%' | '#' | '~') {
            escaped.push('\\');
        }
        escaped.push(letter);
    }
    escaped
}

/// Where the attribute stands in the tag, or would, and as what.
fn html(own: &str, words: &str) -> Option<(Range<usize>, String)> {
    let tag = own.to_ascii_lowercase().find("<img")? + 4;
    let value = words.replace('&', "&amp;").replace('"', "&quot;").replace('<', "&lt;").replace('{', "&#123;");
    let end = tag + own[tag..].find('>')?;
    let attributes = own[tag..end].to_ascii_lowercase();
    // Only an empty one is written over: where another's value ends is a parser's to say.
    for empty in [" alt=\"\"", " alt=''"] {
        if let Some(at) = attributes.find(empty) {
            return Some((tag + at..tag + at + empty.len(), format!(" alt=\"{value}\"")));
        }
    }
    let has = attributes.split_ascii_whitespace().any(|attribute| attribute == "alt" || attribute.starts_with("alt="));
    (!has).then(|| (tag..tag, format!(" alt=\"{value}\"")))
}
