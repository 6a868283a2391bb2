//! Unicode's own samples. `tests/fetch/unicode-data` brings them; `tests/run` runs them.

use std::fs;

use unicode_bidi::{BidiInfo, Level};

use super::breaks::Segmenters;
use super::line::white_level;
use super::stretch::{Manner, stretches};
use super::*;
use crate::lengths::Resolution;

fn samples(name: &str) -> String {
    let path = format!("{}/target/unicode/{name}", env!("CARGO_MANIFEST_DIR"));
    fs::read_to_string(&path).unwrap_or_else(|error| panic!("{path}: {error}: run tests/fetch/unicode-data"))
}

fn character(hexadecimal: &str) -> char {
    u32::from_str_radix(hexadecimal, 16).ok().and_then(char::from_u32).expect("a scalar value")
}

#[test]
#[ignore = "needs Unicode's files: tests/run"]
fn lines_end_where_uax_14_lets_them() {
    // Every sample of LineBreakTest.txt: Unicode UAX #14 test file (CHECKS.md, "Type").
    let segmenters = Segmenters::new();
    let mut checked = 0;
    for (number, line) in samples("LineBreakTest.txt").lines().enumerate() {
        let sample = line.split('#').next().unwrap_or_default().trim();
        if sample.is_empty() {
            continue;
        }
        let (mut text, mut expected) = (String::new(), Vec::new());
        for word in sample.split_whitespace() {
            match word {
                "÷" if !text.is_empty() => expected.push(text.len()),
                "÷" | "×" => {}
                code => text.push(character(code)),
            }
        }
        let found: Vec<usize> = segmenters.opportunities(&text, Language::English).collect();
        assert_eq!(found, expected, "line {}: {line}", number + 1);
        checked += 1;
    }
    assert!(checked > 7000, "only {checked} samples");
}

/// Indices of the characters in visual order, as a stretch's slugs and their levels put them; spaces and what shows nothing
/// are left out.
fn visual(faces: &Faces, text: &str, right: bool) -> Vec<usize> {
    let piece = [Piece {
        content: Content::Text {
            text,
            look: Type { size: Pt::new(8.0), ..Type::default() },
            strike: false,
            rise: Dots(0),
            verbatim: false,
        },
        span: Span::default(),
    }];
    let language = if right { Language::Hebrew } else { Language::English };
    let (stretches, _) = stretches(faces, &piece, Manner { language, collapse: false, tabular: false });
    let stretch = &stretches[0];
    let index_at = |at: usize| stretch.text[..at].chars().count();
    let levels: Vec<Level> =
        stretch.slugs.iter().enumerate().flat_map(|(index, slug)| [slug.level, white_level(stretch, index)]).collect();
    let mut order = Vec::new();
    for item in BidiInfo::reorder_visual(&levels).into_iter().filter(|item| item % 2 == 0) {
        let slug = &stretch.slugs[item / 2];
        let mut inside: Vec<usize> = slug.range.clone().filter(|&at| stretch.text.is_char_boundary(at)).map(index_at).collect();
        if slug.level.is_rtl() {
            inside.reverse();
        }
        order.extend(inside);
    }
    order
}

#[test]
#[ignore = "needs Unicode's files: tests/run"]
fn characters_are_ordered_as_uax_9_orders_them() {
    // BidiCharacterTest.txt: Unicode UAX #9 test file (CHECKS.md, "Type").
    let faces = Faces::new(Resolution::EIGHT);
    let mut checked = 0;
    for (number, line) in samples("BidiCharacterTest.txt").lines().enumerate() {
        let fields: Vec<&str> = line.split(';').collect();
        let [codes, _, base, _, order] = fields.as_slice() else {
            continue;
        };
        if line.starts_with('#') {
            continue;
        }
        let text: String = codes.split_whitespace().map(character).collect();
        // The room takes the direction of a paragraph from its language: here a language of the level that the sample names.
        let right = *base == "1";
        let shows = |index: &usize| {
            let c = text.chars().nth(*index).unwrap_or(' ');
            !matches!(
                c,
                ' ' | '\t' | '\n' | '\r' | '\u{B}' | '\u{C}' | '\u{1C}'
                    ..='\u{1F}' | '\u{85}' | '\u{AD}' | '\u{2028}' | '\u{2029}' | '\u{FFFC}'
            ) && !super::fallback::ignorable(c)
        };
        // Separators are spaces like any other in a paragraph of Markdown, and soft hyphens are not kept in the text.
        if text.trim_end_matches('\u{2029}').contains([
            '\u{9}', '\u{A}', '\u{B}', '\u{D}', '\u{1C}', '\u{1D}', '\u{1E}', '\u{1F}', '\u{85}', '\u{2029}', '\u{AD}',
        ]) {
            continue;
        }
        let expected: Vec<usize> = order.split_whitespace().filter_map(|index| index.parse().ok()).filter(shows).collect();
        let found: Vec<usize> = visual(&faces, &text, right).into_iter().filter(shows).collect();
        assert_eq!(found, expected, "line {}: {line}", number + 1);
        checked += 1;
    }
    assert!(checked > 60_000, "only {checked} samples");
}
