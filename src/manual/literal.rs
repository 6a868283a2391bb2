//! The spelling in which a field's value stands in the assembled text: characters that mean nothing to Markdown, TOML or the
//! template, so that no value can ever become markup, a block, a key or code. It is turned back at the very end, string by string.
//!
//! A value is written as an opening mark, two characters for every byte of its UTF-8, and a closing mark, all of them
//! noncharacters (U+FDD0 to U+FDEF), which Unicode keeps for use inside programs. The writer's files and the units hold none of
//! them: reading refuses or replaces them.

use std::borrow::Cow;
use std::fmt;

const OPEN: char = '\u{FDE0}';
const CLOSE: char = '\u{FDE1}';
/// The sixteen characters that stand for half a byte begin here.
const HALVES: u32 = 0xFDD0;

/// What becomes of line breaks, tabs and other control characters of a value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Breaks {
    /// The data of a code: byte for byte.
    Kept,
    /// Text to be set: each break is a space.
    Spaces,
}

/// Whether a character is one that no text from outside may hold.
pub fn is_noncharacter(character: char) -> bool {
    let code = u32::from(character);
    (0xFDD0..=0xFDEF).contains(&code) || code & 0xFFFE == 0xFFFE
}

/// Writes a value in the spelling of the assembled text.
pub fn spell(value: &str, out: &mut impl fmt::Write) -> fmt::Result {
    out.write_char(OPEN)?;
    for byte in value.bytes() {
        for half in [byte >> 4, byte & 15] {
            out.write_char(char::from_u32(HALVES + u32::from(half)).unwrap_or(OPEN))?;
        }
    }
    out.write_char(CLOSE)
}

/// Whether a text holds anything that [`spell`] writes.
pub fn stands_in(text: &str) -> bool {
    !text.is_ascii() && text.contains(is_noncharacter)
}

/// The text with every value turned back to what it is.
///
/// A template can cut a value that it captured before (`{% set %}`) in two; what no longer makes a byte is dropped.
pub fn turn_back(text: &str, breaks: Breaks) -> Cow<'_, str> {
    if !stands_in(text) {
        return Cow::Borrowed(text);
    }
    let mut turned = String::with_capacity(text.len());
    let mut bytes = Vec::new();
    let mut high = None;
    for character in text.chars() {
        let code = u32::from(character);
        match (code.wrapping_sub(HALVES), high) {
            (half @ 0..16, None) => high = Some(half as u8),
            (half @ 0..16, Some(high_half)) => {
                bytes.push(high_half << 4 | half as u8);
                high = None;
            }
            _ => {
                give(&mut bytes, breaks, &mut turned);
                high = None;
                if !is_noncharacter(character) {
                    turned.push(character);
                }
            }
        }
    }
    give(&mut bytes, breaks, &mut turned);
    Cow::Owned(turned)
}

fn give(bytes: &mut Vec<u8>, breaks: Breaks, turned: &mut String) {
    let value = String::from_utf8_lossy(bytes);
    match breaks {
        Breaks::Kept => turned.push_str(&value),
        Breaks::Spaces => {
            let mut characters = value.chars().peekable();
            while let Some(character) = characters.next() {
                match character {
                    // A carriage return and its line feed are one break.
                    '\r' if characters.peek() == Some(&'\n') => {}
                    '\u{2028}' | '\u{2029}' => turned.push(' '),
                    other if other.is_control() => turned.push(' '),
                    other => turned.push(other),
                }
            }
        }
    }
    bytes.clear();
}

#[cfg(test)]
mod tests {
    use super::*;

    fn spelled(value: &str) -> String {
        let mut text = String::new();
        spell(value, &mut text).unwrap();
        text
    }

    #[test]
    fn a_value_comes_back_letter_for_letter() {
        for value in ["", "HRN-0001", "a`b](c", "+++", "Ünïcödé 漢字 😀", "\"'\\"] {
            assert_eq!(turn_back(&format!("x {} y", spelled(value)), Breaks::Spaces), format!("x {value} y"));
            assert!(!spelled(value).contains(char::is_alphanumeric));
        }
    }

    #[test]
    fn breaks_become_spaces_in_text_and_stay_in_data() {
        let text = spelled("a\r\nb\nc\td");
        assert_eq!(turn_back(&text, Breaks::Spaces), "a b c d");
        assert_eq!(turn_back(&text, Breaks::Kept), "a\r\nb\nc\td");
    }

    #[test]
    fn a_value_cut_in_two_loses_no_neighbour() {
        let text = spelled("ab");
        let cut: String = text.chars().take(4).collect();
        assert_eq!(turn_back(&format!("{cut}, then"), Breaks::Spaces), "a, then");
    }
}
