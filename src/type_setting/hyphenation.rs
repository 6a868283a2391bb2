//! Where a word may be divided: the writer's soft hyphens, else the patterns of its language.
//!
//! Never divides: it only tells where.

use hypher::Lang;

use crate::language::Language;

/// A place where a unit may end a line with a hyphen: byte offset into its text.
pub(super) type Point = u32;

/// Shortest word that is divided, in letters.
const SHORTEST: usize = 7;

/// Longest run of letters that is taken for a word: German and Finnish have words of eighty.
const LONGEST: usize = 160;

/// The patterns for a language that has them.
fn patterns(language: Language) -> Option<Lang> {
    Some(match language {
        Language::English => Lang::English,
        Language::German | Language::SwissGerman => Lang::German,
        Language::French => Lang::French,
        Language::Spanish => Lang::Spanish,
        Language::Italian => Lang::Italian,
        Language::Dutch => Lang::Dutch,
        Language::Portuguese | Language::BrazilianPortuguese => Lang::Portuguese,
        Language::Polish => Lang::Polish,
        Language::Czech => Lang::Czech,
        Language::Swedish => Lang::Swedish,
        Language::Danish => Lang::Danish,
        Language::Finnish => Lang::Finnish,
        Language::NorwegianBokmal | Language::NorwegianNynorsk => Lang::Norwegian,
        Language::Hungarian => Lang::Hungarian,
        Language::Greek => Lang::Greek,
        Language::Russian => Lang::Russian,
        Language::Ukrainian => Lang::Ukrainian,
        Language::Turkish => Lang::Turkish,
        Language::Bulgarian => Lang::Bulgarian,
        Language::Slovak => Lang::Slovak,
        Language::Croatian | Language::SerbianLatin => Lang::Croatian,
        Language::Slovenian => Lang::Slovenian,
        Language::Estonian => Lang::Estonian,
        Language::Lithuanian => Lang::Lithuanian,
        Language::Serbian => Lang::Serbian,
        Language::Icelandic => Lang::Icelandic,
        // There are no patterns for Latvian, Irish, Maltese, Romanian, Vietnamese and Indonesian; the others divide no words.
        _ => return None,
    })
}

/// Fewest letters that stay before and after a hyphen. The patterns' own bounds, but never a single letter left alone: on a
/// narrow strip it reads like a word of its own.
fn bounds(lang: Lang) -> (usize, usize) {
    let (left, right) = lang.bounds();
    (left.max(2), right.max(2))
}

/// All points of a unit of text, ascending. Only whole words of letters are divided: nothing with a digit in it, no address,
/// nothing in capitals throughout.
pub(super) fn points(text: &str, language: Language) -> Box<[Point]> {
    points_of(text, language, false)
}

/// The points of a unit that no line can hold: words in capitals have some too.
pub(super) fn points_in_need(text: &str, language: Language) -> Box<[Point]> {
    points_of(text, language, true)
}

/// Whether a text is made of words: neither an address nor a number, where a hyphen would be read as part of them.
pub(super) fn is_wordy(text: &str) -> bool {
    // The point after the last word of a sentence makes no address of it.
    let text = text.trim_end_matches(|c: char| !c.is_alphanumeric());
    !text.chars().any(|c| c.is_numeric() || matches!(c, '/' | '@' | '_' | '\\' | '=' | '&' | '.' | ':'))
}

/// Whether a hyphen may stand at `at` where words must be parted and no point is near: between two letters of a writing that has
/// hyphens.
pub(super) fn takes_hyphen(text: &str, at: usize) -> bool {
    let hyphened = |c: char| is_letter(c) && u32::from(c) < 0x590;
    text[..at].ends_with(hyphened) && text[at..].starts_with(hyphened)
}

fn points_of(text: &str, language: Language, capitals: bool) -> Box<[Point]> {
    let Some(lang) = patterns(language) else {
        return Box::default();
    };
    let (left, right) = bounds(lang);
    let mut found = Vec::new();
    if text.chars().any(|c| c.is_numeric() || matches!(c, '/' | '@' | '_' | '\\' | '=' | '&')) {
        return Box::default();
    }
    let mut start = None;
    let ends = text.char_indices().map(|(at, c)| (at, Some(c))).chain([(text.len(), None)]);
    for (at, character) in ends {
        match (start, character.is_some_and(is_letter)) {
            (None, true) => start = Some(at),
            (Some(from), false) => {
                start = None;
                let inner = character.is_some_and(|c| matches!(c, '.' | ':') && text[at + c.len_utf8()..].starts_with(is_letter));
                if inner {
                    return Box::default();
                }
                let whole = &text[from..at];
                if capitals && !whole.chars().any(char::is_lowercase) {
                    let lower: String = whole.chars().flat_map(char::to_lowercase).collect();
                    // Places are bytes: they hold only where small letters take as many as capitals.
                    if whole.chars().zip(lower.chars()).all(|(big, small)| big.len_utf8() == small.len_utf8())
                        && lower.len() == whole.len()
                    {
                        word(&lower, from, lang, left, right, &mut found);
                    }
                } else {
                    word(whole, from, lang, left, right, &mut found);
                }
            }
            _ => {}
        }
    }
    found.into_boxed_slice()
}

fn is_letter(c: char) -> bool {
    c.is_alphabetic() || ('\u{300}'..='\u{36F}').contains(&c)
}

fn word(word: &str, offset: usize, lang: Lang, left: usize, right: usize, found: &mut Vec<Point>) {
    let letters = word.chars().take(LONGEST + 1).count();
    if !(SHORTEST..=LONGEST).contains(&letters) || !word.chars().any(char::is_lowercase) {
        return;
    }
    let mut at = offset;
    for syllable in hypher::hyphenate_bounded(word, lang, left, right) {
        at += syllable.len();
        if at < offset + word.len() {
            found.push(at as Point);
        }
    }
}
