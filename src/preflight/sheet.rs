//! The manual laid flat: every text, step, safety message, key, link and picture in reading order, each with its absolute span.
//!
//! Made once and read by every rule. Judges nothing.

use std::collections::BTreeSet;

use crate::language::SignalWord;
use crate::manual::document::{Permille, Screen, Treatment};
use crate::manual::source::Span;
use crate::units::Dots;

use super::flat::{Flat, flattened};
use super::rule::Evidence;
use super::words::{self, Words};

/// What a passage is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    Title,
    Heading(u8),
    Text,
    Step,
    Item,
    Safety,
    Caption,
    Cell,
    Balloon,
    Note,
}

/// A paragraph, heading, cell, caption …: what one reads in one breath.
#[derive(Clone, Debug)]
pub struct Passage {
    pub role: Role,
    /// Absolute.
    pub span: Span,
    pub text: String,
    /// Lower case, with plain apostrophes and spaces: what words are looked for in.
    pub lower: String,
}

/// One step of a procedure.
#[derive(Clone, Debug)]
pub struct StepSeen {
    pub span: Span,
    /// What its first paragraph says.
    pub text: String,
    /// All that it says, lower case.
    pub lower: String,
    /// Procedures and lists that it is inside of.
    pub depth: u32,
    /// Which list it belongs to, counted from the top.
    pub list: usize,
    /// Which section it stands in: headings before it.
    pub section: usize,
}

/// One list without numbers.
#[derive(Clone, Debug)]
pub struct ListSeen {
    pub span: Span,
    /// What each item says first.
    pub items: Vec<String>,
    pub ticks: bool,
}

#[derive(Clone, Debug)]
pub struct SafetySeen {
    pub span: Span,
    pub label_span: Span,
    pub label: String,
    pub word: SignalWord,
    /// Names of all signs in it.
    pub signs: Vec<String>,
    pub text: String,
    pub lower: String,
}

#[derive(Clone, Debug)]
pub struct PictureSeen {
    pub span: Span,
    pub address: String,
    /// Nothing where the manual has no room to say it.
    pub alt: String,
    /// left, top, width, height of the shown part
    pub crop: Option<[Permille; 4]>,
    /// The one the writer asks for.
    pub screen: Option<Screen>,
    pub treatment: Treatment,
}

/// A light, key or reading in a list or table, and what stands beside it.
#[derive(Clone, Debug)]
pub struct Meaning {
    /// Lists and tables are counted from the top.
    pub list: usize,
    pub span: Span,
    pub address: String,
    /// Lower case.
    pub lower: String,
}

/// A run of plain text: no key, no code.
#[derive(Clone, Debug)]
pub struct Run {
    pub span: Span,
    pub text: String,
}

/// A QR symbol or a barcode.
#[derive(Clone, Debug)]
pub struct CodeSeen {
    pub span: Span,
    /// The kind of its box on the strip.
    pub kind: &'static str,
    /// Quiet zone that its standard asks for: left and right, in modules.
    pub quiet: [u32; 2],
}

pub struct Sheet<'a> {
    pub evidence: Evidence<'a>,
    /// Of the declared language; nothing when it is not declared or none of those that have a table.
    pub words: Option<&'static Words>,
    pub flat: Flat,
    /// Names of all signs shown anywhere.
    pub signs: BTreeSet<String>,
    /// All that is printed, lower case, the header's part included.
    pub lower: String,
}

impl<'a> Sheet<'a> {
    pub fn new(evidence: Evidence<'a>) -> Sheet<'a> {
        let header = &evidence.document.header;
        let flat = flattened(evidence.document);
        let product = &header.product;
        let printed = [&header.title, &header.subtitle, &product.model, &product.maker, &product.address, &product.contact];
        let others =
            [&product.eu_responsible, &product.importer, &product.uk_importer, &product.us_responsible, &header.durable_copy];
        let mut lower: Vec<String> = printed.into_iter().chain(others).flatten().map(|text| folded(text)).collect();
        lower.extend(flat.passages.iter().map(|passage| passage.lower.clone()));
        let signs = flat.pictures.iter().filter_map(|picture| picture.address.strip_prefix("sign:")).map(str::to_string);
        let mut signs: BTreeSet<String> = signs.collect();
        signs.extend(flat.safeties.iter().flat_map(|safety| safety.signs.iter().cloned()));
        Sheet { evidence, words: header.language.as_deref().and_then(words::of), flat, signs, lower: lower.join("\n") }
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

/// Lower case, with one kind of apostrophe and of space.
pub fn folded(text: &str) -> String {
    text.chars()
        .flat_map(char::to_lowercase)
        .map(|character| match character {
            '\u{2019}' => '\'',
            '\u{a0}' | '\u{202f}' | '\u{2009}' | '\n' => ' ',
            other => other,
        })
        .filter(|&character| character != '\u{ad}')
        .collect()
}
