//! Preflight: what a maker forgets, found before the paper is spent. One rule a thing that can be forgotten.
//!
//! Looks at the document, the layout and the dots, and says what a person should look at. Never says that a manual is lawful
//! or a product safe, never judges the wording of a statement that a law or a laboratory prescribes, and never guesses at words of a
//! language it has no table for.

mod allow;
mod codes;
pub mod comparison;
mod content;
mod craft;
mod evidence;
mod finding;
mod folding;
mod index;
mod indexing;
mod market;
pub mod online;
mod paper;
mod passages;
pub mod pictures;
pub mod registry;
mod remarks;
mod rule;
mod safety;
mod signals;
mod steps;
mod supply;
#[cfg(test)]
mod tests;
mod type_size;
mod wording;
mod words;

use std::collections::BTreeSet;

use crate::layout::PlacedBox;
use crate::manual::source::{Level, Remark, Span};
use crate::manual::units::Noticed;

pub use evidence::{Evidence, PictureFacts, Stock};
pub use finding::{CAUTION, Finding, Report, name_of};
pub use registry::listed;
pub use rule::{Check, Note, Rule};
pub use words::tags as languages;

use index::Index;

/// What reading the table of units noticed, as a finding.
pub fn of_units(noticed: &Noticed) -> Finding {
    Finding {
        rule: noticed.rule,
        level: noticed.level,
        message: noticed.message.clone(),
        hint: noticed.hint.clone().unwrap_or_default(),
        place: noticed.place.clone(),
        panel: None,
        y: None,
        unit: noticed.row.map(|row| row.to_string()),
        span: Span::default(),
    }
}

/// Looks at one strip. Findings that the header allows are left out and counted.
pub fn check(evidence: Evidence) -> Report {
    let document = evidence.document;
    let index = Index::new(evidence);
    let places = Places::new(evidence.boxes);
    let mut findings = Vec::new();
    for rule in registry::rules() {
        let look = match rule.check {
            Check::Looks(look) => Some(look),
            Check::From(day, look) => market::in_force(document.header.issued.as_deref(), day).then_some(look),
            Check::Remarked | Check::OfAllow => None,
        };
        if let Some(look) = look {
            findings.extend(look(&index).into_iter().map(|note| found(&index, &places, rule.name, rule.level, rule.mend, note)));
        }
    }
    let mut seen = BTreeSet::new();
    for remark in document.remarks.iter().chain(&evidence.layout.remarks) {
        // The document and the layout may notice the same thing, and a word in three pieces is broken twice and told once.
        let message = if remark.rule == "broken-word" { "" } else { remark.message.as_str() };
        if !seen.insert((remark.rule, remark.span.start, message)) {
            continue;
        }
        findings.push(of_remark(&index, &places, remark));
    }
    let names: Vec<&str> = registry::rules().map(|rule| rule.name).collect();
    for (rule, note) in allow::remarks(&document.header.allow, &names) {
        findings.push(found(&index, &places, rule.name, rule.level, rule.mend, note));
    }
    let before = findings.len();
    findings.retain(|finding| !allow::allows(&document.header.allow, finding.rule));
    let allowed = before - findings.len();
    Report::new(findings, allowed)
}

/// A remark of a room below. Its own hint knows more than the rule's words.
fn of_remark(index: &Index, places: &Places, remark: &Remark) -> Finding {
    let mend = registry::find(remark.rule).map_or("", |rule| rule.mend);
    let note = Note { span: remark.span, message: remark.message.clone(), hint: remark.hint.clone(), row: None };
    found(index, places, remark.rule, remark.level, mend, note)
}

fn found(index: &Index, places: &Places, rule: &'static str, level: Level, mend: &str, note: Note) -> Finding {
    let layout = index.evidence.layout;
    let placed = places.at(note.span.start);
    let row = note.row.or(placed.map(|placed| placed.y));
    let panel =
        row.map(|row| layout.panels.partition_point(|panel| panel.bottom <= row).min(layout.panels.len().saturating_sub(1)));
    Finding {
        rule,
        level,
        message: note.message,
        hint: note.hint.unwrap_or_else(|| mend.to_string()),
        place: index.evidence.source.locate(note.span.start),
        panel,
        y: row.map(|row| layout.resolution.mm(row)),
        unit: index.evidence.unit.map(str::to_string),
        span: note.span,
    }
}

/// Boxes by where they stand in the text.
struct Places<'a> {
    boxes: Vec<&'a PlacedBox>,
}

/// Boxes looked at before the search gives up: an offset in running text lies in one of the last that began before it.
const REACH: usize = 256;

impl<'a> Places<'a> {
    fn new(boxes: &'a [PlacedBox]) -> Places<'a> {
        let mut boxes: Vec<&PlacedBox> = boxes.iter().filter(|placed| placed.span.end > placed.span.start).collect();
        boxes.sort_by_key(|placed| (placed.span.start, placed.span.end));
        Places { boxes }
    }

    /// The smallest box over an offset of the assembled text.
    fn at(&self, offset: u32) -> Option<&'a PlacedBox> {
        let end = self.boxes.partition_point(|placed| placed.span.start <= offset);
        let near = self.boxes[end.saturating_sub(REACH)..end].iter().filter(|placed| offset < placed.span.end);
        near.min_by_key(|placed| (placed.span.end - placed.span.start, placed.y)).copied()
    }
}
