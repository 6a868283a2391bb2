//! Links to headings of the manual itself: whether they lead anywhere. Tools spell the name of a heading in ways of their own, so only
//! its letters and digits are compared.

use std::collections::BTreeSet;

use percent_encoding::percent_decode_str;

use crate::manual::document::{Block, Kind, plain_text};
use crate::manual::literal::is_noncharacter;
use crate::manual::source::{Level, Remark, Source, Span};

/// Remarks on the links, as address after the `#` and place, that lead to no heading and no mark in the files.
pub(super) fn check(links: &[(String, Span)], blocks: &[Block], source: &Source) -> Vec<Remark> {
    if links.is_empty() {
        return Vec::new();
    }
    let mut known: BTreeSet<String> = source.files.iter().flat_map(|file| marks(file.text())).map(folded).collect();
    let mut take = |block: &Block| {
        if let Kind::Title(words) | Kind::Heading { text: words, .. } = &block.kind {
            known.insert(folded(&plain_text(words)));
        }
    };
    for block in blocks {
        take(block);
        block.walk_inside(0, &mut |_, inner| take(inner));
    }
    let leads = |target: &str| {
        let target = folded(&percent_decode_str(target).decode_utf8_lossy());
        // The second heading of a name has a number at its end.
        matches!(target.as_str(), "" | "top")
            || known.contains(&target)
            || known.contains(target.trim_end_matches(|letter: char| letter.is_ascii_digit()))
    };
    links
        .iter()
        .filter(|(target, _)| !target.contains(is_noncharacter) && !leads(target))
        .map(|(target, span)| Remark {
            rule: "link-to-nowhere",
            level: Level::Warning,
            message: format!("no heading of this manual is called \"#{target}\""),
            hint: Some("its text is printed; the reader looks in vain for what it promises".into()),
            span: *span,
        })
        .collect()
}

/// The name of a heading as links are matched to it.
pub fn folded(name: &str) -> String {
    name.chars().filter(|letter| letter.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}

/// Names that the writer gave to places: `id="a"`, `name='a'`, `{#a}`.
fn marks(text: &str) -> impl Iterator<Item = &str> {
    ["id=", "name=", "{#", "{: #", "ID=", "NAME="].into_iter().flat_map(move |before| {
        text.match_indices(before).filter_map(move |(at, _)| {
            let rest = text.get(at + before.len()..)?.trim_start_matches(['"', '\'']);
            rest.split(|letter: char| letter.is_whitespace() || matches!(letter, '"' | '\'' | '>' | '}')).next()
        })
    })
}
