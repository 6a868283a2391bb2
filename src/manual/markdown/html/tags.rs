//! The tags that mean something on a strip. What stands in no list here is dropped with a finding; its text stays.

/// What a tag is to the reader of a guide.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Sort {
    /// Part of the tree.
    Known,
    /// It and all it holds is nothing on a strip. The text in it is no markup.
    Nothing,
    /// Nobody needs to know that it was dropped.
    Silent,
    Unknown,
}

const KNOWN: &[&str] = &[
    "a",
    "address",
    "article",
    "aside",
    "audio",
    "b",
    "blockquote",
    "br",
    "caption",
    "center",
    "code",
    "col",
    "colgroup",
    "dd",
    "del",
    "details",
    "div",
    "dl",
    "dt",
    "em",
    "embed",
    "figcaption",
    "figure",
    "footer",
    "h1",
    "h2",
    "h3",
    "h4",
    "h5",
    "h6",
    "header",
    "hgroup",
    "hr",
    "i",
    "iframe",
    "img",
    "input",
    "ins",
    "kbd",
    "li",
    "main",
    "nav",
    "ol",
    "p",
    "picture",
    "pre",
    "s",
    "samp",
    "search",
    "section",
    "small",
    "source",
    "span",
    "strike",
    "strong",
    "sub",
    "summary",
    "sup",
    "table",
    "tbody",
    "td",
    "tfoot",
    "th",
    "thead",
    "tr",
    "tt",
    "u",
    "ul",
    "var",
    "video",
];

/// Page furniture that says nothing about the words in it.
const SILENT: &[&str] = &[
    "abbr", "base", "bdi", "bdo", "big", "body", "cite", "data", "dfn", "font", "form", "head", "html", "label", "link", "mark",
    "meta", "noscript", "time", "wbr",
];

pub(super) fn sort(name: &str) -> Sort {
    match name {
        "script" | "style" => Sort::Nothing,
        _ if KNOWN.contains(&name) => Sort::Known,
        _ if SILENT.contains(&name) => Sort::Silent,
        _ => Sort::Unknown,
    }
}

pub(super) fn is_void(name: &str) -> bool {
    matches!(name, "br" | "col" | "embed" | "hr" | "img" | "input" | "source")
}
