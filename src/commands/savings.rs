//! Where the paper goes: the tallest blocks of a strip, and what another style or leaving a section out would save.

use std::fmt::Write;
use std::sync::Arc;

use serde_json::{Value, json};

use crate::layout::{Galley, Style};
use crate::lengths::{Dots, Mm};
use crate::manual::document::{Kind, plain_text};
use crate::manual::source::Span;
use crate::prepress::{Made, Prepress};

/// Blocks that are named.
const NAMED: usize = 3;

/// A stretch of the strip and where it was written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stretch {
    pub kind: String,
    /// How it begins.
    pub text: String,
    pub file: String,
    pub line: u32,
    pub length: Mm,
}

/// Where the paper of one strip goes.
#[derive(Clone, Debug, PartialEq)]
pub struct Savings {
    /// The tallest blocks, tallest first; of a procedure its steps.
    pub tallest: Vec<Stretch>,
    /// What the style `compact` would save; none where it would not.
    pub compact: Option<Mm>,
    /// The longest section: leaving it out saves as much.
    pub section: Option<Stretch>,
    /// What of the panels that end with a fold is left white there, in percent, and how many they are; none without folds.
    pub white: Option<(f64, usize)>,
}

impl Savings {
    pub fn of(made: &Made, press: &Prepress) -> Savings {
        let mm = |dots: Dots| made.layout.resolution.mm(dots);
        let stretch = |kind: &str, text: &str, span: Span, length: Dots| {
            let place = made.source.locate(span.start);
            Stretch { kind: kind.into(), text: beginning(text), file: place.file, line: place.line, length: mm(length) }
        };
        let mut blocks: Vec<(Dots, Stretch)> = Vec::new();
        let mut before: Option<(&Arc<Galley>, u32)> = None;
        for placed in &made.layout.placed {
            let (galley, base) = (&placed.galley, placed.base);
            if galley.kind == "procedure" {
                let chunk = &galley.chunks[placed.chunk];
                let step = chunk.boxes.iter().find(|boxed| boxed.kind == "step");
                let span = step.map_or(Span::default(), |step| step.span).from_base(base);
                let text = step.map_or("", |step| &step.text);
                blocks.push((chunk.height, stretch("step", text, span, chunk.height)));
            } else if !before.is_some_and(|(known, at)| Arc::ptr_eq(known, galley) && at == base) {
                let span = Span { start: base, end: base };
                blocks.push((galley.height(), stretch(galley.kind, &galley.text, span, galley.height())));
            }
            before = Some((galley, base));
        }
        blocks.sort_by_key(|(height, _)| std::cmp::Reverse(*height));
        blocks.truncate(NAMED);
        let length = made.layout.height;
        let compact = Style::named("compact").filter(|style| *style != press.style).and_then(|style| {
            let shorter = press.laid_out_in(&style, &made.document).height;
            (shorter < length).then(|| mm(length - shorter))
        });
        let mut sections: Vec<(Dots, &str, Span, String)> = Vec::new();
        for block in &made.document.blocks {
            if let Kind::Heading { level: 0..=2, text } = &block.kind {
                let top = made.layout.placed.iter().find(|placed| placed.base == block.span.start).map(|placed| placed.y);
                sections.extend(top.map(|top| (top, "section", block.span, plain_text(text))));
            }
        }
        let ends = sections.iter().skip(1).map(|section| section.0).chain([length]).collect::<Vec<_>>();
        let longest = sections.iter().zip(ends).max_by_key(|(section, end)| *end - section.0);
        let section = longest.map(|((top, kind, span, text), end)| stretch(kind, text, *span, end - *top));
        Savings {
            tallest: blocks.into_iter().map(|(_, stretch)| stretch).collect(),
            compact,
            section,
            white: made.layout.white_at_folds(),
        }
    }

    /// Adds `tallest`, `compact_saves_mm`, `longest_section` and `white_percent`, which is null without folds.
    pub fn tell(&self, told: &mut Value) {
        let stretch = |stretch: &Stretch| {
            let Stretch { kind, text, file, line, length } = stretch;
            json!({ "kind": kind, "text": text, "file": file, "line": line, "length_mm": length.value() })
        };
        told["tallest"] = self.tallest.iter().map(stretch).collect();
        told["compact_saves_mm"] = json!(self.compact.map_or(0.0, Mm::value));
        told["longest_section"] = self.section.as_ref().map_or(Value::Null, stretch);
        told["white_percent"] = json!(self.white.map(|(white, _)| (white * 10.0).round() / 10.0));
    }

    /// The same as lines of the table.
    pub fn lines(&self) -> String {
        let mut told = String::new();
        let mut line = |name: &str, value: String| {
            // Writing to a String cannot fail.
            let _ = writeln!(told, "{name:<12} {value}");
        };
        if let Some((white, folds)) = self.white {
            line("white", format!("{white:.1} % of the panels, at {folds} fold{}", if folds == 1 { "" } else { "s" }));
        }
        for (n, Stretch { kind, text, file, line: at, length }) in self.tallest.iter().enumerate() {
            line(if n == 0 { "tallest" } else { "" }, format!("{length}, {kind} \"{text}\", {file}:{at}"));
        }
        if let Some(saved) = self.compact {
            line("to save", format!("{saved} with --style compact"));
        }
        if let Some(Stretch { text, file, line: at, length, .. }) = &self.section {
            let name = if self.compact.is_some() { "" } else { "to save" };
            line(name, format!("{length} without the section \"{text}\", {file}:{at}"));
        }
        told
    }
}

/// The first words, enough to know it again.
fn beginning(text: &str) -> String {
    const LONGEST: usize = 40;
    let words = text.split_whitespace().collect::<Vec<_>>().join(" ");
    match words.char_indices().nth(LONGEST) {
        None => words,
        Some((at, _)) => format!("{}\u{2026}", words[..at].trim_end()),
    }
}
