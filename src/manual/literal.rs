//! The spelling in which a field's value stands in the assembled text: characters that mean nothing to Markdown, TOML or the
//! template, so that no value can ever become markup, a block, a key or code. It is turned back at the very end, string by string.
//!
//! A value is written as an opening mark, two characters for every byte of its UTF-8, and a closing mark, all of them
//! noncharacters (U+FDD0 to U+FDEF), which Unicode keeps for use inside programs. The writer's files and the units hold none of
//! them: reading refuses or replaces them.

use std::borrow::Cow;
use std::fmt;

pub use crate::names::is_noncharacter;

const OPEN: char = '\u{FDE0}';
const CLOSE: char = '\u{FDE1}';
/// The sixteen characters that stand for half a byte begin here.
const HALVES: u32 = 0xFDD0;

/// What becomes of line breaks, tabs and other control characters.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Breaks {
    /// The data of a code: byte for byte.
    Kept,
    /// Running text: each break is a space. An entity or an escape of TOML can name a control character as well as a value.
    Spaces,
    /// Words that will be set: as `Spaces`, and where anything in the text runs from right to left each value is isolated (UAX #9, FSI
    /// and PDI), so that it neither turns its neighbours round nor is torn apart by them.
    Isolated,
    /// Code: the writer's own lines and tabs stay, a value is one line.
    Lines,
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
fn stands_in(text: &str) -> bool {
    !text.is_ascii() && text.contains(is_noncharacter)
}

/// The text with every value turned back to what it is, and with no character in it that cannot be set.
///
/// A template can cut a value that it captured before (`{% set %}`) in two; what no longer makes a byte is dropped.
pub fn turn_back(text: &str, breaks: Breaks) -> Cow<'_, str> {
    let as_it_is = match breaks {
        Breaks::Kept => true,
        Breaks::Spaces | Breaks::Isolated => !text.contains(is_break),
        Breaks::Lines => !text.contains(|character| is_break(character) && !matches!(character, '\n' | '\t')),
    };
    if as_it_is && !stands_in(text) {
        return Cow::Borrowed(text);
    }
    let mut turned = String::with_capacity(text.len());
    let mut bytes = Vec::new();
    let mut high = None;
    let mut own = String::new();
    for character in text.chars() {
        match (u32::from(character).wrapping_sub(HALVES), high) {
            (half @ 0..16, None) => high = Some(half as u8),
            (half @ 0..16, Some(high_half)) => {
                bytes.push(high_half << 4 | half as u8);
                high = None;
            }
            _ if is_noncharacter(character) => {
                high = None;
                give_own(&mut own, breaks, &mut turned);
                give_value(&mut bytes, breaks, &mut turned);
            }
            _ => {
                high = None;
                give_value(&mut bytes, breaks, &mut turned);
                own.push(character);
            }
        }
    }
    give_own(&mut own, breaks, &mut turned);
    give_value(&mut bytes, breaks, &mut turned);
    if breaks == Breaks::Isolated && !turned.contains(runs_leftward) {
        turned.retain(|character| !matches!(character, '\u{2068}' | '\u{2069}'));
    }
    Cow::Owned(turned)
}

fn runs_leftward(character: char) -> bool {
    matches!(u32::from(character), 0x590..=0x8FF | 0xFB1D..=0xFDCF | 0xFDF0..=0xFDFF | 0xFE70..=0xFEFC | 0x10800..=0x10FFF | 0x1E800..=0x1EFFF)
}

fn give_own(own: &mut String, breaks: Breaks, turned: &mut String) {
    match breaks {
        Breaks::Kept => turned.push_str(own),
        Breaks::Spaces | Breaks::Isolated => give_spaced(own, |_| false, turned),
        Breaks::Lines => give_spaced(own, |character| matches!(character, '\n' | '\t'), turned),
    }
    own.clear();
}

fn give_value(bytes: &mut Vec<u8>, breaks: Breaks, turned: &mut String) {
    let value = String::from_utf8_lossy(bytes);
    match breaks {
        Breaks::Kept => turned.push_str(&value),
        Breaks::Isolated if !value.is_empty() => {
            turned.push('\u{2068}');
            give_spaced(&value, |_| false, turned);
            turned.push('\u{2069}');
        }
        Breaks::Spaces | Breaks::Isolated | Breaks::Lines => give_spaced(&value, |_| false, turned),
    }
    bytes.clear();
}

fn is_break(character: char) -> bool {
    character.is_control() || matches!(character, '\u{2028}' | '\u{2029}')
}

/// Breaks become spaces; a carriage return and its line feed are one.
fn give_spaced(text: &str, kept: impl Fn(char) -> bool, turned: &mut String) {
    let mut characters = text.chars().peekable();
    while let Some(character) = characters.next() {
        match character {
            '\r' if characters.peek() == Some(&'\n') => {}
            other if is_break(other) && !kept(other) => turned.push(' '),
            other => turned.push(other),
        }
    }
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
    fn no_text_to_be_set_holds_a_control_character() {
        assert_eq!(turn_back("a\u{1b}b\nc\r\nd", Breaks::Spaces), "a b c d");
        assert_eq!(turn_back("a\u{1b}b\n\tc", Breaks::Lines), "a b\n\tc");
        assert_eq!(turn_back(&format!("a\n{}", spelled("b\nc")), Breaks::Lines), "a\nb c");
        assert_eq!(turn_back("x\u{FDE5}y\u{FDD0}z\u{FFFF}", Breaks::Spaces), "xyz");
    }

    #[test]
    fn a_value_among_words_of_the_other_direction_is_isolated() {
        // U+2068, U+2069: UAX #9, explicit directional isolates (CHECKS.md, "Type").
        assert_eq!(turn_back(&format!("For {}.", spelled("שלום")), Breaks::Isolated), "For \u{2068}שלום\u{2069}.");
        assert_eq!(turn_back(&format!("אל {}", spelled("HRN-1")), Breaks::Isolated), "אל \u{2068}HRN-1\u{2069}");
        assert_eq!(turn_back(&format!("For {}.", spelled("Ann")), Breaks::Isolated), "For Ann.");
    }

    #[test]
    fn a_value_cut_in_two_loses_no_neighbour() {
        let text = spelled("ab");
        let cut: String = text.chars().take(4).collect();
        assert_eq!(turn_back(&format!("{cut}, then"), Breaks::Spaces), "a, then");
    }
}
