//! Where lines may end: UAX #14, tailored to the language.

use icu_segmenter::options::{LineBreakOptions, LineBreakStrictness, LineBreakWordOption};
use icu_segmenter::{LineSegmenter, LineSegmenterBorrowed};

use crate::language::Language;

/// One segmenter for each manner of breaking.
pub(super) struct Segmenters {
    plain: LineSegmenterBorrowed<'static>,
    whole_words: LineSegmenterBorrowed<'static>,
}

impl Segmenters {
    pub fn new() -> Segmenters {
        let mut options = LineBreakOptions::default();
        options.strictness = Some(LineBreakStrictness::Strict);
        let plain = LineSegmenter::new_auto(options);
        options.word_option = Some(LineBreakWordOption::KeepAll);
        Segmenters { plain, whole_words: LineSegmenter::new_auto(options) }
    }

    /// Byte offsets at which a line may begin, ascending, without the text's begin but with its end.
    /// Korean is broken between words only, as its readers are used to where it is set ragged.
    pub fn opportunities<'a>(&'a self, text: &'a str, language: Language) -> impl Iterator<Item = usize> + 'a {
        let segmenter = if language == Language::Korean { &self.whole_words } else { &self.plain };
        segmenter.segment_str(text).filter(move |&at| at > 0 && !(keeps_lone_letters(language) && follows_lone_letter(text, at)))
    }
}

/// A dash between two spaces ends its line: at the beginning of one it looks like the bullet of a list. Common practice, no source; the
/// Unicode algorithm allows it, so that such a place is avoided and not forbidden.
pub(super) fn precedes_spaced_dash(text: &str, at: usize) -> bool {
    let mut after = text[at..].chars();
    let is_dash = matches!(after.next(), Some('-' | '\u{2013}' | '\u{2014}' | '\u{2212}'));
    is_dash && after.next() == Some(' ') && text[..at].ends_with(' ')
}

/// Polish and Czech leave no word of one letter (w, z, i, k, v …) at the end of a line.
fn keeps_lone_letters(language: Language) -> bool {
    matches!(language, Language::Polish | Language::Czech | Language::Slovak)
}

fn follows_lone_letter(text: &str, at: usize) -> bool {
    let mut before = text[..at].trim_end_matches(' ').chars().rev();
    before.next().is_some_and(char::is_alphabetic)
        && before.next().is_none_or(|c| c.is_whitespace() || c == '(')
        && text[..at].ends_with(' ')
}

/// Whether a number and what it counts would be parted by a break at `at`: "3 | seconds", "10 | mm", "10 | 000", "3 | 秒".
/// Common practice of all typesetters (no source); UAX #14 leaves it to the writer's no-break spaces.
pub(super) fn parts_a_number(text: &str, at: usize) -> bool {
    /// Letters of the longest word that is held to a number before it.
    const LONGEST: usize = 9;
    let before = text[..at].trim_end_matches(' ');
    let spaced = before.len() < at;
    let after = &text[at..];
    let Some(first) = after.chars().next() else { return false };
    if !spaced {
        // What is counted stands beside its number without a space in Chinese and Japanese.
        return before.ends_with(|c: char| c.is_ascii_digit() || ('\u{FF10}'..='\u{FF19}').contains(&c)) && is_counted(first);
    }
    let token = before.rsplit([' ', '\u{FFFC}']).next().unwrap_or_default();
    let token = token.trim_start_matches(['(', '[', '\u{201C}', '\u{201E}', '\u{2068}']).trim_end_matches('\u{2069}');
    let token =
        token.trim_start_matches(['+', '-', '\u{2212}', '\u{B1}', '~', '\u{2248}', '<', '>', '\u{2264}', '\u{2265}', '\u{D7}']);
    let is_number = token.ends_with(char::is_numeric)
        && token.starts_with(char::is_numeric)
        && token.chars().all(|c| {
            c.is_numeric()
                || matches!(c, '.' | ',' | ':' | '/' | '-' | '\u{2013}' | '\u{D7}' | 'x' | '\u{2019}' | '\'' | '\u{2044}')
        });
    if !is_number {
        return false;
    }
    let word = after.split(' ').next().unwrap_or_default();
    let letters = word.chars().take_while(|c| c.is_alphabetic()).count();
    // Groups of three figures: 10 000.
    let figures = word.chars().take_while(char::is_ascii_digit).count();
    let counted = matches!(
        first,
        '%' | '\u{2030}' | '\u{B0}' | '\u{2032}' | '\u{2033}' | '\u{2126}' | '\u{D7}' | '\u{20AC}' | '\u{A3}' | '$'
    );
    counted || (1..=LONGEST).contains(&letters) || (letters == 0 && figures == 3)
}

/// An ideograph or a sign of kana that can count what a number says.
fn is_counted(c: char) -> bool {
    matches!(u32::from(c), 0x3005 | 0x3041..=0x309F | 0x30A0..=0x30FF | 0x3400..=0x4DBF | 0x4E00..=0x9FFF | 0x3300..=0x33FF)
}

/// Whether a break at `at` goes through a word of katakana, which reads as torn though UAX #14 allows it.
pub(super) fn parts_katakana(text: &str, at: usize) -> bool {
    let is_katakana = |c: char| matches!(c, '\u{30A1}'..='\u{30FA}' | '\u{30FC}'..='\u{30FE}' | '\u{31F0}'..='\u{31FF}');
    text[..at].ends_with(is_katakana) && text[at..].starts_with(is_katakana)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_stays_with_what_it_counts_in_every_language() {
        // Common practice, no source.
        let held = [
            ("Hold for 3 |seconds", true),
            ("10 |mm wide", true),
            ("(4,5 |V)", true),
            ("3 |Sekunden", true),
            ("10 |000", true),
            ("25 |°C", true),
            ("±2 |%", true),
            ("3|秒", true),
            ("5|カップ", true),
            ("2–3 |минуты", true),
            ("model A17 |lies", false),
            ("Press it |3 times", false),
            ("for 3 |characteristically", false),
            ("3 |4", false),
            ("茶|を", false),
        ];
        for (marked, expected) in held {
            let at = marked.find('|').unwrap();
            assert_eq!(parts_a_number(&marked.replace('|', ""), at), expected, "{marked}");
        }
    }

    fn parts(text: &str, language: Language) -> Vec<&str> {
        let segmenters = Segmenters::new();
        let mut from = 0;
        segmenters.opportunities(text, language).map(|at| &text[std::mem::replace(&mut from, at)..at]).collect()
    }

    #[test]
    fn words_of_one_letter_stay_with_the_next_one() {
        // Common practice of Polish and Czech typesetters, no source.
        assert_eq!(parts("Herbata w kubku i z mlekiem", Language::Polish), ["Herbata ", "w kubku ", "i z mlekiem"]);
        assert_eq!(parts("K čaji (s medem)", Language::Czech), ["K čaji ", "(s medem)"]);
        assert_eq!(parts("Tea in a mug", Language::English), ["Tea ", "in ", "a ", "mug"]);
    }

    #[test]
    fn thai_ends_lines_between_words_that_no_space_parts() {
        // "Press the button and hold it." Word by word as any dictionary of Thai has them (from memory): กด, ปุ่ม, ค้าง, ไว้.
        let text = "กดปุ่มค้างไว้";
        assert_eq!(parts(text, Language::Thai).concat(), text);
        let words = parts(text, Language::Thai);
        assert!(words.len() >= 3 && words[..2] == ["กด", "ปุ่ม"], "{words:?}");
        // No line begins with a vowel or tone that belongs to the letter before.
        let hangs = |c: char| matches!(c, '\u{e31}' | '\u{e33}'..='\u{e3a}' | '\u{e47}'..='\u{e4e}');
        assert!(words.iter().all(|word| !word.starts_with(hangs)), "{words:?}");
    }

    #[test]
    fn no_line_begins_with_a_dash_between_two_spaces() {
        // Common practice, no source.
        for (marked, expected) in [
            ("Heron |- build guide", true),
            ("Heron - |build guide", false),
            ("Strom |– 5 V", true),
            ("set |-x", false),
            ("or |- y", true),
        ] {
            let at = marked.find('|').unwrap();
            assert_eq!(precedes_spaced_dash(&marked.replace('|', ""), at), expected, "{marked}");
        }
    }

    #[test]
    fn no_line_begins_with_what_belongs_to_the_line_before() {
        // Kinsoku: closing brackets, full stops, small kana and the lengthening mark never begin a line (JIS X 4051, memory).
        for text in ["きって", "「茶」。", "ジャーン！", "ティー、"] {
            let begins = parts(text, Language::Japanese).into_iter().skip(1).filter_map(|part| part.chars().next());
            for first in begins {
                assert!(!"」。！、っャィー".contains(first), "{text}: a line begins with {first}");
            }
        }
        // Opening brackets never end one.
        assert_eq!(parts("濃さ「3」", Language::Japanese), ["濃", "さ", "「3」"]);
        assert_eq!(parts("이 설명서", Language::Korean), ["이 ", "설명서"]);
    }
}
