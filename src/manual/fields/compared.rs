//! Comparisons that text cannot stand in: every cell of a table is text, and the template engine puts any text above any number.

use std::ops::Range;

use minijinja::machinery::{Span, Token, tokenize};

/// A comparison of a unit's cell, as it is, with a number or, by size, with another cell.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Compared {
    /// Bytes of the template.
    pub range: Range<usize>,
    pub message: String,
    pub hint: String,
}

/// What stands on one side of a comparison.
enum Side {
    /// `unit.count`, with nothing done to it.
    Cell(String),
    Number,
    Other,
}

/// The first such comparison. What the engine cannot read is none: it says so itself.
pub(super) fn first(text: &str) -> Option<Compared> {
    let tokens: Vec<(Token, Span)> = tokenize(text, false, Default::default()).map_while(Result::ok).collect();
    (0..tokens.len()).find_map(|at| {
        let by_size = match tokens[at].0 {
            Token::Gt | Token::Gte | Token::Lt | Token::Lte => true,
            Token::Eq | Token::Ne => false,
            _ => return None,
        };
        let ((left, start), (right, end)) = (before(&tokens, at), after(&tokens, at + 1));
        let (cell, other) = match (left, right) {
            (Side::Cell(cell), Side::Number) | (Side::Number, Side::Cell(cell)) => (cell, "a number"),
            (Side::Cell(cell), Side::Cell(_)) if by_size => (cell, "another text"),
            _ => return None,
        };
        let range = tokens[start].1.start_offset as usize..tokens[end].1.end_offset as usize;
        let written = text.get(range.clone())?;
        let counted = written.replacen(&cell, &format!("{cell}|float"), 1);
        Some(Compared {
            message: format!("`{cell}` is text, as every cell of a table is, and is compared with {other}"),
            hint: format!("write `{counted}` to compare numbers; a key like 0042 stays as it is written"),
            range,
        })
    })
}

/// The side that ends in front of `end`, and its first token.
fn before(tokens: &[(Token, Span)], end: usize) -> (Side, usize) {
    let token = |back: usize| end.checked_sub(back).map(|at| &tokens[at].0);
    match (token(3), token(2), token(1)) {
        (Some(Token::Ident("unit")), Some(Token::Dot), Some(Token::Ident(name))) if !matches!(token(4), Some(Token::Dot)) => {
            (Side::Cell(format!("unit.{name}")), end - 3)
        }
        (_, _, Some(Token::Int(_) | Token::Float(_))) => (Side::Number, end - 1),
        _ => (Side::Other, end.saturating_sub(1)),
    }
}

/// The side that begins at `start`, and its last token.
fn after(tokens: &[(Token, Span)], start: usize) -> (Side, usize) {
    let token = |on: usize| tokens.get(start + on).map(|(token, _)| token);
    match (token(0), token(1), token(2), token(3)) {
        (_, _, _, Some(Token::Pipe | Token::Dot | Token::ParenOpen | Token::BracketOpen)) => (Side::Other, start),
        (Some(Token::Ident("unit")), Some(Token::Dot), Some(Token::Ident(name)), _) => {
            (Side::Cell(format!("unit.{name}")), start + 2)
        }
        (Some(Token::Int(_) | Token::Float(_)), ..) => (Side::Number, start),
        (Some(Token::Minus), Some(Token::Int(_) | Token::Float(_)), ..) => (Side::Number, start + 1),
        _ => (Side::Other, start.min(tokens.len() - 1)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_is_not_compared_with_a_number_in_silence() {
        for (written, hint) in [
            ("{% if unit.num > 1300 %}big{% endif %}", "unit.num|float > 1300"),
            ("{% if 1.5 <= unit.num %}big{% endif %}", "1.5 <= unit.num|float"),
            ("{{ unit.num == 5 }}", "unit.num|float == 5"),
            ("{% if unit.num >= -3 and x %}{% endif %}", "unit.num|float >= -3"),
            ("{% if unit.made < unit.asked %}{% endif %}", "unit.made|float < unit.asked"),
        ] {
            let found = first(written).unwrap_or_else(|| panic!("{written} is taken"));
            assert!(found.hint.contains(hint), "{written}: {}", found.hint);
        }
        for written in [
            "{% if unit.plug == \"UK\" %}{% endif %}",
            "{% if unit.num|int > 1300 %}{% endif %}",
            "{% if 1300 < unit.num|float %}{% endif %}",
            "{% if unit.issued >= \"2026-01-01\" %}{% endif %}",
            "{% if unit.a == unit.b %}{% endif %}",
            "{% if run.number > 3 %}{% endif %}",
            "unit.num > 1300",
            "{{ never ended > 5",
        ] {
            assert_eq!(first(written), None, "{written}");
        }
    }
}
