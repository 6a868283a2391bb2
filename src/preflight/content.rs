//! Content: what every manual says of itself: the product, its maker, its number and date, its language, what is in the box.

use crate::manual::document::Kind;
use crate::manual::source::Level;

use super::passages::Role;
use super::rule::{Check, Note, Rule};
use super::words::says;

pub const PRODUCT_UNNAMED: Rule = Rule {
    name: "product-unnamed",
    level: Level::Error,
    what: "neither a title in the header nor a `#` heading",
    why: "a strip that fell out of its box cannot be matched to anything",
    mend: "write `title = \"…\"` in the header, or begin with `# Name`",
    source: "IEC/IEEE 82079-1 (known)",
    check: Check::Looks(|index| {
        let said = |text: &Option<String>| text.as_ref().is_some_and(|text| !text.trim().is_empty());
        let header = &index.evidence.document.header;
        let titled = index.entries.passages.iter().any(|passage| passage.role == Role::Title && !passage.text.trim().is_empty());
        let named = said(&header.title) || titled;
        unless(named, || Note::new(index.key("title"), "the manual names no product"))
    }),
};

pub const PURPOSE_MISSING: Rule = Rule {
    name: "purpose-missing",
    level: Level::Warning,
    what: "no intended use: neither `purpose` under `[product]` nor a sentence that says what the product is for",
    why: "a reader who does not know what it is for will use it for something else, and what you answer for is the use you named",
    mend: "say in a sentence what it is for, or write `purpose = \"…\"` under `[product]`",
    source: "IEC/IEEE 82079-1; (EU) 2023/988 (known)",
    check: Check::Looks(|index| {
        let Some(words) = index.words else { return Vec::new() };
        // What is said after the first step is about using it, not about what it is.
        let first = index.entries.steps.first().map_or(u32::MAX, |step| step.span.start);
        let before = index.entries.passages.iter().filter(|passage| passage.span.start < first && passage.role != Role::Safety);
        let header = &index.evidence.document.header;
        let told = header.product.purpose.is_some() || before.into_iter().any(|passage| says(&passage.lower, words.purpose));
        unless(told, || Note::new(index.table("product"), "nothing says what the product is for"))
    }),
};

pub const DOCUMENT_NUMBER_MISSING: Rule = Rule {
    name: "document-number-missing",
    level: Level::Warning,
    what: "no `document` in the header",
    why: "a number tells two manuals of the same product apart, on the phone and in the file of a recall",
    mend: "write `document = \"…\"` in the header; it is printed on the last panel",
    source: "IEC/IEEE 82079-1 (known)",
    check: Check::Looks(|index| {
        let header = &index.evidence.document.header;
        unless(header.document.is_some(), || Note::new(index.key("title"), "the manual has no document number"))
    }),
};

pub const REVISION_MISSING: Rule = Rule {
    name: "revision-missing",
    level: Level::Warning,
    what: "no `revision` in the header",
    why: "small batches change often; the revision says which manual went with which batch",
    mend: "write `revision = \"A\"` in the header and raise it with every change",
    source: "IEC/IEEE 82079-1 (known)",
    check: Check::Looks(|index| {
        let header = &index.evidence.document.header;
        unless(header.revision.is_some(), || Note::new(index.key("document"), "the manual has no revision"))
    }),
};

pub const ISSUE_DATE_MISSING: Rule = Rule {
    name: "issue-date-missing",
    level: Level::Warning,
    what: "no `issued` in the header",
    why: "a date tells the reader how old the advice is",
    mend: "write `issued = 2026-11-20` in the header",
    source: "IEC/IEEE 82079-1 (known)",
    check: Check::Looks(|index| {
        let header = &index.evidence.document.header;
        unless(header.issued.is_some(), || Note::new(index.key("document"), "the manual has no date of issue"))
    }),
};

pub const LANGUAGE_UNDECLARED: Rule = Rule {
    name: "language-undeclared",
    level: Level::Warning,
    what: "no `language` in the header",
    why: "it chooses hyphenation and fixed words; without it the rules that look for words stay silent (they know English, German and French)",
    mend: "write `language = \"en\"` (a BCP 47 tag) in the header",
    source: "BCP 47; common practice, no source",
    check: Check::Looks(|index| {
        let header = &index.evidence.document.header;
        unless(header.language.is_some(), || Note::new(index.key("title"), "the manual does not say which language it is in"))
    }),
};

pub const CONTENTS_MISSING: Rule = Rule {
    name: "contents-missing",
    level: Level::Warning,
    what: "nothing says what is in the box: no list of boxes to tick, no words to that effect",
    why: "the first thing a reader does is see whether anything is missing",
    mend: "list what is in the box, best as boxes to tick: `- [ ] 1 Heron`",
    source: "IEC/IEEE 82079-1; common practice, no source",
    check: Check::Looks(|index| {
        let Some(words) = index.words else { return Vec::new() };
        let listed = index.entries.lists.iter().any(|list| list.ticks) || says(&index.lower, words.contents);
        unless(listed, || Note::new(index.key("title"), "nothing says what is in the box"))
    }),
};

pub const DURABLE_COPY_MISSING: Rule = Rule {
    name: "durable-copy-missing",
    level: Level::Warning,
    what: "no `durable_copy` in the header and no QR code on the strip",
    why: "thermal print fades with heat, light, oils and plasticisers: the reader needs to know where the lasting copy is. It stands beside the printed safety words, never in their stead",
    mend: "write `durable_copy = \"https://…\"` in the header; it is printed on the last panel",
    source: "fading: common practice, no source; safety words on paper as well: seen, its clause known",
    check: Check::Looks(|index| {
        let document = index.evidence.document;
        let coded = document.blocks.iter().any(|block| matches!(block.kind, Kind::Qr { .. }));
        let named = document.header.durable_copy.is_some() || coded;
        unless(named, || Note::new(index.key("title"), "nothing says where a lasting copy is"))
    }),
};

/// The one note of a rule that asks whether something is there.
pub fn unless(there: bool, note: impl FnOnce() -> Note) -> Vec<Note> {
    if there { Vec::new() } else { vec![note()] }
}
