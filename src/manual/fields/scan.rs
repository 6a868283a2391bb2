//! Where the tags of a template stand. Understands nothing of what is in them, but for one thing: which file is included.

use std::ops::Range;

#[derive(Debug, Default, PartialEq, Eq)]
pub(super) struct Scan {
    /// White space around tags that have a line to themselves, ascending.
    pub cuts: Vec<Range<usize>>,
    /// An include whose file is not named in quotes.
    pub unnamed_include: Option<Range<usize>>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kind {
    /// `{{ … }}`, and every tag that puts text where it stands.
    Text,
    /// `{% … %}` and `{# … #}`
    Silent,
}

#[derive(Clone, Debug)]
struct Tag {
    kind: Kind,
    range: Range<usize>,
}

/// Whether there is anything to fill.
pub(super) fn has_tags(text: &str) -> bool {
    text.contains("{{") || text.contains("{%") || text.contains("{#")
}

pub(super) fn scan(text: &str) -> Scan {
    let mut scan = Scan::default();
    let mut tags = Vec::new();
    let mut at = 0;
    while let Some(tag) = next_tag(text, at) {
        at = tag.range.end;
        let inside = inner(text, &tag.range);
        let name: &str = inside.split(|character: char| !character.is_alphanumeric()).next().unwrap_or_default();
        let mut kind = tag.kind;
        let statement = text[tag.range.start..].starts_with("{%");
        if statement && matches!(name, "include" | "import" | "from" | "extends") {
            kind = Kind::Text;
            if !names_its_file(inside.get(name.len()..).unwrap_or_default()) {
                scan.unnamed_include.get_or_insert(tag.range.clone());
            }
        }
        if inside.match_indices("section(").any(|(at, call)| {
            let called = !inside[..at].ends_with(|before: char| before.is_alphanumeric() || matches!(before, '_' | '.'));
            called
                && after_string(inside[at + call.len()..].trim_start()).is_none_or(|after| !after.trim_start().starts_with(','))
        }) {
            scan.unnamed_include.get_or_insert(tag.range.clone());
        }
        let raw = statement && inside == "raw";
        tags.push(Tag { kind, range: tag.range });
        if raw && let Some(end) = end_of_raw(text, at) {
            at = end.end;
            tags.push(Tag { kind: Kind::Silent, range: end });
        }
    }
    scan.cuts = cuts(text, &tags);
    scan
}

/// What stands between the delimiters, without white space control.
fn inner<'t>(text: &'t str, range: &Range<usize>) -> &'t str {
    let inside = text.get(range.start + 2..range.end - 2).unwrap_or_default();
    let inside = inside.strip_prefix(['-', '+']).unwrap_or(inside);
    inside.strip_suffix(['-', '+']).unwrap_or(inside).trim()
}

/// The next whole tag from `at` on. One that never ends is none: the template engine will say so.
fn next_tag(text: &str, at: usize) -> Option<Tag> {
    let bytes = text.as_bytes();
    let mut start = at;
    loop {
        start += text.get(start..)?.find('{')?;
        let kind = match bytes.get(start + 1) {
            Some(b'{') => Kind::Text,
            Some(b'%' | b'#') => Kind::Silent,
            _ => {
                start += 1;
                continue;
            }
        };
        let end = match bytes[start + 1] {
            b'#' => start + 2 + text.get(start + 2..)?.find("#}")? + 2,
            b'%' => end_of_tag(bytes, start + 2, b"%}")?,
            _ => end_of_tag(bytes, start + 2, b"}}")?,
        };
        return Some(Tag { kind, range: start..end });
    }
}

/// Where a tag ends: not inside quotes, nor inside brackets of its own.
fn end_of_tag(bytes: &[u8], mut at: usize, end: &[u8; 2]) -> Option<usize> {
    let mut depth = 0usize;
    while let Some(byte) = bytes.get(at) {
        if depth == 0 && bytes[at..].starts_with(end) {
            return Some(at + 2);
        }
        match byte {
            b'"' | b'\'' => {
                at += 1;
                while bytes.get(at)? != byte {
                    at += if bytes[at] == b'\\' { 2 } else { 1 };
                }
            }
            b'{' | b'[' | b'(' => depth += 1,
            b'}' | b']' | b')' => depth = depth.saturating_sub(1),
            _ => {}
        }
        at += 1;
    }
    None
}

fn end_of_raw(text: &str, mut at: usize) -> Option<Range<usize>> {
    loop {
        let start = at + text.get(at..)?.find("{%")?;
        let end = start + text.get(start..)?.find("%}")? + 2;
        if inner(text, &(start..end)) == "endraw" {
            return Some(start..end);
        }
        at = start + 2;
    }
}

/// Whether an include names its file, or its files, in quotes.
fn names_its_file(rest: &str) -> bool {
    let rest = rest.trim_start();
    let after = match rest.strip_prefix('[') {
        None => after_string(rest),
        Some(list) => after_list(list),
    };
    const MAY_FOLLOW: &[&str] = &["", "as", "import", "ignore", "with", "without"];
    after.is_some_and(|after| {
        let word: String = after.trim_start().chars().take_while(|character| !character.is_whitespace()).collect();
        MAY_FOLLOW.contains(&word.as_str())
    })
}

fn after_string(text: &str) -> Option<&str> {
    let quote = text.chars().next().filter(|first| matches!(first, '"' | '\''))?;
    let inside = &text[1..];
    inside.get(inside.find(quote)? + 1..)
}

fn after_list(mut list: &str) -> Option<&str> {
    loop {
        list = list.trim_start_matches([' ', '\t', '\n', '\r', ',']);
        if let Some(after) = list.strip_prefix(']') {
            return Some(after);
        }
        list = after_string(list)?;
    }
}

/// The white space to take away so that a line which holds only silent tags leaves no line.
fn cuts(text: &str, tags: &[Tag]) -> Vec<Range<usize>> {
    let mut cuts = Vec::new();
    let mut n = 0;
    while let Some(tag) = tags.get(n) {
        let (taken, lone) = lone_line(text, &tags[n..], tag);
        if let Some(line) = lone {
            cuts.extend(line.into_iter().filter(|cut| !cut.is_empty()));
        }
        n += taken;
    }
    cuts
}

/// The tags that share the line with the first one, and what to cut when nothing else stands there.
fn lone_line(text: &str, tags: &[Tag], first: &Tag) -> (usize, Option<Vec<Range<usize>>>) {
    let before = &text[..first.range.start];
    let line_start = before.rfind('\n').map_or(0, |at| at + 1);
    if !is_blank(&before[line_start..]) || first.kind == Kind::Text {
        return (1, None);
    }
    let indent = line_start..first.range.start;
    let mut cuts = Vec::from([indent]);
    for (n, tag) in tags.iter().enumerate() {
        if tag.kind == Kind::Text {
            return (n + 1, None);
        }
        let rest = &text[tag.range.end..];
        let blank = rest.len() - rest.trim_start_matches([' ', '\t', '\r']).len();
        let next = &rest[blank..];
        if next.is_empty() || next.starts_with('\n') {
            let end = tag.range.end + blank + usize::from(!next.is_empty());
            cuts.push(tag.range.end..end);
            return (n + 1, Some(cuts));
        }
        match tags.get(n + 1) {
            Some(following) if following.range.start == tag.range.end + blank => cuts.push(tag.range.end..following.range.start),
            _ => return (n + 1, None),
        }
    }
    (tags.len(), None)
}

fn is_blank(text: &str) -> bool {
    text.trim_matches([' ', '\t']).is_empty()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The text with its cuts taken out.
    fn kept(text: &str) -> String {
        let mut kept = String::new();
        let mut at = 0;
        for cut in scan(text).cuts {
            kept.push_str(&text[at..cut.start]);
            at = cut.end;
        }
        kept + &text[at..]
    }

    #[test]
    fn a_line_of_tags_leaves_no_line() {
        assert_eq!(kept("a\n  {% if x %}\nb\n{% endif %}\nc"), "a\n{% if x %}b\n{% endif %}c");
        assert_eq!(kept("{# note #}\r\na"), "{# note #}a");
        assert_eq!(kept("{% if x %} {% set y = 1 %} \nb"), "{% if x %}{% set y = 1 %}b");
        assert_eq!(kept("a\n{% endif %}"), "a\n{% endif %}");
    }

    #[test]
    fn a_line_with_text_of_its_own_keeps_all_of_it() {
        for text in
            ["  {% if x %}a{% endif %}\nb", "{% if x %}\u{a0}\nb", "a {% if x %}\nb", "{{ x }}\n", "{% include \"a\" %}\nb"]
        {
            assert_eq!(kept(text), text);
        }
    }

    #[test]
    fn tags_are_not_looked_for_in_quotes_and_raw_text() {
        assert_eq!(kept("{{ \"%}\" }}{% raw %}\n{% if %}\n{% endraw %}"), "{{ \"%}\" }}{% raw %}\n{% if %}\n{% endraw %}");
        assert_eq!(kept("{% raw %}\n{% if %}\n{% endraw %}\nx"), "{% raw %}{% if %}\n{% endraw %}x");
        assert_eq!(kept("{{ {'a': 1}['a'] }}\n{% never"), "{{ {'a': 1}['a'] }}\n{% never");
    }

    #[test]
    fn only_names_in_quotes_are_included() {
        for named in [
            "{% include \"a.md\" %}",
            "{%- include 'a.md' ignore missing -%}",
            "{% include [\"a.md\", \"b.md\"] %}",
            "{% import \"m.md\" as m %}",
            "{% from \"m.md\" import x %}",
        ] {
            assert_eq!(scan(named).unnamed_include, None, "{named}");
        }
        for unnamed in [
            "{% include unit.file %}",
            "{% include \"a\" ~ unit.file %}",
            "{% include \"a\"|replace(\"a\", unit.file) %}",
            "{% include [\"a\", unit.file] %}",
            "{% include (unit.file) %}",
            "{%- extends unit.file %}",
            "{% import unit.file as m %}",
            "{% include \"a\" if x else unit.file %}",
        ] {
            assert!(scan(unnamed).unnamed_include.is_some(), "{unnamed}");
        }
    }
}
