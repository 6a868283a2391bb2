//! Names of emoji between colons, as code forges read them (`:rocket:`): the sign itself stands in the text. Names that no forge knows stay as written.

use std::ops::Range;

use super::edits::{Edit, in_code};

/// Where something stands that looks like a name, with the sign of that name.
pub(super) fn named(text: &str) -> Vec<(Range<usize>, &'static str)> {
    let mut found = Vec::new();
    let mut at = 0;
    while let Some(start) = text[at..].find(':').map(|colon| at + colon) {
        let name = &text[start + 1..];
        let length = name.bytes().take_while(|byte| byte.is_ascii_alphanumeric() || b"_+-".contains(byte)).count();
        let end = start + 1 + length;
        at = end.max(start + 1);
        if length < 2 || !text[end..].starts_with(':') {
            continue;
        }
        // Not in an address, a time, a path, nor between other colons.
        let follows = |sign: &char| sign.is_alphanumeric() || "/:.=_-".contains(*sign);
        let before = text[..start].chars().next_back().filter(follows);
        let after = text[end + 1..].chars().next().filter(|sign| sign.is_alphanumeric() || "/=_".contains(*sign));
        let joined = before == Some(':') && found.last().is_some_and(|(range, _): &(Range<usize>, _)| range.end == start);
        if before.is_some() && !joined || after.is_some() {
            continue;
        }
        if let Some(emoji) = emojis::get_by_shortcode(&name[..length]) {
            found.push((start..end + 1, emoji.as_str()));
            at = end + 1;
        }
    }
    found
}

/// The edits for the names that do not stand in code.
pub(super) fn edits(named: Vec<(Range<usize>, &'static str)>, code: &[Range<usize>]) -> impl Iterator<Item = Edit> {
    named.into_iter().filter(|(range, _)| !in_code(code, range.start)).map(|(range, with)| Edit { range, with })
}

#[cfg(test)]
mod tests {
    use super::super::foreign::tests::edited;

    #[test]
    fn a_name_between_colons_is_its_sign() {
        assert_eq!(edited(":star: Star us"), "⭐ Star us");
        assert_eq!(edited("a :+1: (:rocket:) **:warning:** :us::jp:"), "a 👍 (🚀) **⚠️** 🇺🇸🇯🇵");
        for kept in ["at 12:30:45", "a `:star:` b", "http://a.b/:star:/c", "x::star::y", ":none_such:", "Term\n: a: b", ":::"] {
            assert_eq!(edited(kept), kept);
        }
    }
}
