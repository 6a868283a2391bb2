//! Edits of a text that keep every byte's origin, and where code stands, in which nobody edits.

use std::ops::Range;

use pulldown_cmark::{CodeBlockKind, Event, Options, Parser, Tag};

/// A stretch of a text, and what is read in its place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Edit {
    pub range: Range<usize>,
    pub with: &'static str,
}

/// Where code stands between fences or backticks.
pub(super) fn code(text: &str) -> Vec<Range<usize>> {
    Parser::new_ext(text, Options::ENABLE_TABLES)
        .into_offset_iter()
        .filter(|(event, _)| matches!(event, Event::Code(_) | Event::Start(Tag::CodeBlock(CodeBlockKind::Fenced(_)))))
        .map(|(_, range)| range)
        .collect()
}

pub(super) fn in_code(code: &[Range<usize>], at: usize) -> bool {
    let next = code.partition_point(|range| range.start <= at);
    next.checked_sub(1).and_then(|n| code.get(n)).is_some_and(|range| range.contains(&at))
}
