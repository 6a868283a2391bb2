//! The manual by entries: every text, step, safety message, key, link and picture in reading order, each with its absolute span.
//!
//! Made once and read by every rule. Judges nothing.

use std::collections::BTreeSet;

use crate::lengths::Dots;
use crate::manual::source::Span;

use super::evidence::Evidence;
use super::indexing::{Entries, gathered};
use super::passages::{Run, folded};
use super::words::{self, Words};

pub struct Index<'a> {
    pub evidence: Evidence<'a>,
    /// Of the declared language; nothing when it is not declared or none of those that have a table.
    pub words: Option<&'static Words>,
    pub entries: Entries,
    /// Names of all signs shown anywhere.
    pub signs: BTreeSet<String>,
    /// All that is printed, lower case, the header's part included.
    pub lower: String,
}

impl<'a> Index<'a> {
    pub fn new(evidence: Evidence<'a>) -> Index<'a> {
        let header = &evidence.document.header;
        let entries = gathered(evidence.document);
        let product = &header.product;
        let printed = [&header.title, &header.subtitle, &product.model, &product.maker, &product.address, &product.contact];
        let others =
            [&product.eu_responsible, &product.importer, &product.uk_importer, &product.us_responsible, &header.durable_copy];
        let mut lower: Vec<String> = printed.into_iter().chain(others).flatten().map(|text| folded(text)).collect();
        lower.extend(entries.passages.iter().map(|passage| passage.lower.clone()));
        let signs = entries.pictures.iter().filter_map(|picture| picture.address.strip_prefix("sign:")).map(str::to_string);
        let mut signs: BTreeSet<String> = signs.collect();
        signs.extend(entries.safeties.iter().flat_map(|safety| safety.signs.iter().cloned()));
        Index { evidence, words: header.language.as_deref().and_then(words::of), entries, signs, lower: lower.join("\n") }
    }

    /// Where a key of the header stands; the start of the manual when the writer did not write it.
    pub fn key(&self, name: &str) -> Span {
        self.evidence.document.header.spans.get(name).copied().unwrap_or_default()
    }

    /// Where something that is missing from a table of the header belongs: at the table, or at the start.
    pub fn table(&self, name: &str) -> Span {
        let inside = format!("{name}.");
        let spans = &self.evidence.document.header.spans;
        let first =
            || spans.iter().filter(|(key, _)| key.starts_with(&inside)).map(|(_, span)| *span).min_by_key(|span| span.start);
        spans.get(name).copied().or_else(first).unwrap_or_default()
    }

    /// What stands at a row of the strip: the smallest box over it, or else nothing in particular.
    pub fn at_row(&self, row: Dots) -> Span {
        let over = self.evidence.boxes.iter().filter(|placed| placed.y <= row && row < placed.y + placed.height);
        over.min_by_key(|placed| (placed.height, placed.width)).map(|placed| placed.span).unwrap_or_default()
    }

    /// The part of a run from `offset` on, `length` bytes: exact where the run up to there, or from there on, stands in the source as
    /// it reads; else, as with an entity or a field before and behind it, the whole run.
    pub fn within(&self, run: &Run, offset: usize, length: usize) -> Span {
        let (start, end) = (run.span.start as usize, run.span.end as usize);
        let Some(written) = self.evidence.source.text.get(start..end) else {
            return run.span;
        };
        let (read, rest) = (&run.text[..offset], &run.text[offset..]);
        let from = match (written.starts_with(read), written.ends_with(rest)) {
            (_, true) => end - rest.len(),
            (true, false) if written[offset..].starts_with(&run.text[offset..offset + length]) => start + offset,
            _ => return run.span,
        };
        Span::new(from, from + length)
    }
}
