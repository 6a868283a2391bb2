//! `{{ section("README.md", "Setup") }}`: what stands under one heading of another file, set as if it stood here.
//!
//! The function puts a mark into the text; when the text is put together the section comes in its place, each byte with its origin in
//! the file that holds it. What it brings is Markdown of a guide, never a template: its braces fill nothing.

use std::collections::BTreeSet;
use std::ops::Range;
use std::sync::{Arc, Mutex, PoisonError};

use pulldown_cmark::{Event, Options, Parser, Tag, TagEnd};

use super::error::{FieldError, Nested};
use crate::manual::folder::Folder;
use crate::manual::markdown::html::headings as html;
use crate::manual::source::SourceFile;
use crate::manual::{foreign, header, reading};
use crate::names::nearest;

/// Around the number of a section in the text; noncharacters, as the spelling of values, and none of those.
const MARK: char = '\u{FDE2}';
const MARK_END: char = '\u{FDE3}';

/// Sections that one manual may bring in: a loop that asks for a large one would else never end.
pub(super) const MOST: usize = 500;

/// A section as it was chosen.
#[derive(Debug)]
pub(super) struct Section {
    pub file: Arc<SourceFile>,
    /// Of its heading.
    level: u8,
    /// The first bits are its heading.
    heading: usize,
    bits: Vec<Bit>,
    asked: (String, String, Vec<String>),
}

#[derive(Clone, Debug)]
pub(super) enum Bit {
    /// Bytes of the file.
    Exact(Range<usize>),
    /// Words in place of what stands at a byte of the file.
    Instead(&'static str, usize),
    /// The hashes of a heading of that level, at that byte.
    Hashes(u8, usize),
    /// The digit in the tag of a heading of that level, at that byte.
    Digit(u8, usize),
}

/// Every section that was asked for, by its number.
#[derive(Clone, Debug, Default)]
pub(super) struct Sections(Arc<Mutex<Vec<Arc<Section>>>>);

impl Sections {
    /// The mark that stands for a section until the text is put together.
    ///
    /// # Errors
    /// When the file cannot be read, or has no such heading.
    pub fn ask(&self, folder: &Folder, file: &str, heading: &str, without: &[String]) -> Result<String, minijinja::Error> {
        let asked = (file.to_owned(), heading.to_owned(), without.to_vec());
        let mut known = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let number = match known.iter().position(|section| section.asked == asked) {
            Some(number) => number,
            None => {
                let file = reading::read(folder, file, None).map_err(|error| {
                    minijinja::Error::new(minijinja::ErrorKind::BadInclude, error.to_string()).with_source(Nested(error))
                })?;
                known.push(Arc::new(choose(file, asked)?));
                known.len() - 1
            }
        };
        Ok(format!("{MARK}{number}{MARK_END}"))
    }

    fn numbered(&self, number: &str) -> Option<Arc<Section>> {
        let number: usize = number.parse().ok()?;
        self.0.lock().unwrap_or_else(PoisonError::into_inner).get(number).cloned()
    }
}

/// A text parted at the marks of its sections.
pub(super) fn parted<'t>(text: &'t str, sections: &Sections) -> Vec<(&'t str, Option<Arc<Section>>)> {
    let mut parts = Vec::new();
    let mut rest = text;
    while let Some((before, marked)) = rest.split_once(MARK) {
        let (number, after) = marked.split_once(MARK_END).unwrap_or(("", marked));
        parts.push((before, sections.numbered(number)));
        rest = after;
    }
    parts.push((rest, None));
    parts
}

impl Section {
    /// What to set after the text `before`. The heading stands as high as the last one there; where that one stands right above, it
    /// is the section's own, and the section comes without.
    pub fn after(&self, before: &str) -> Vec<Bit> {
        let last = headings(before, 0).pop().map(|heading| (heading.level, heading.range.end));
        let right_above = last.is_some_and(|(_, end)| before.get(end..).is_some_and(|rest| rest.trim().is_empty()));
        let (base, skipped) = match last {
            Some((level, _)) if right_above => (level, self.heading),
            Some((level, _)) => (level.max(2), 0),
            None => (2, 0),
        };
        let fitted = |level: u8| (i16::from(base) + i16::from(level) - i16::from(self.level)).clamp(2, 6) as u8;
        let bits = self.bits.iter().skip(skipped).cloned();
        bits.map(|bit| match bit {
            Bit::Hashes(level, at) => Bit::Hashes(fitted(level), at),
            Bit::Digit(level, at) => Bit::Digit(fitted(level), at),
            bit => bit,
        })
        .collect()
    }
}

fn options() -> Options {
    crate::manual::markdown::options()
}

/// A heading of a file that stands in no list and no quote.
struct Heading {
    level: u8,
    title: String,
    range: Range<usize>,
    /// Written as a tag.
    html: bool,
}

fn headings(text: &str, body: usize) -> Vec<Heading> {
    let mut headings: Vec<Heading> = Vec::new();
    let (mut depth, mut open) = (0usize, false);
    for (event, range) in Parser::new_ext(text.get(body..).unwrap_or_default(), options()).into_offset_iter() {
        match event {
            Event::Start(Tag::Heading { level, .. }) if depth == 0 => {
                let range = range.start + body..range.end + body;
                headings.push(Heading { level: level as u8, title: String::new(), range, html: false });
                (depth, open) = (1, true);
            }
            Event::Start(_) => depth += 1,
            Event::End(end) => {
                depth = depth.saturating_sub(1);
                open &= !matches!(end, TagEnd::Heading(_));
            }
            Event::Text(words) | Event::Code(words) if open => {
                headings.last_mut().into_iter().for_each(|heading| heading.title.push_str(&words));
            }
            Event::SoftBreak | Event::HardBreak if open => {
                headings.last_mut().into_iter().for_each(|heading| heading.title.push(' '))
            }
            _ => {}
        }
    }
    let tags = html::headings(text, body).into_iter();
    headings.extend(tags.map(|tag| Heading { level: tag.level, title: tag.title, range: tag.range, html: true }));
    headings.sort_by_key(|heading| heading.range.start);
    headings
}

/// The number of the heading that is called so; capitals and white space do not count.
fn called(headings: &[Heading], name: &str) -> Option<usize> {
    let folded = |words: &str| words.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase();
    let exact = headings.iter().position(|heading| heading.title.trim() == name.trim());
    exact.or_else(|| headings.iter().position(|heading| folded(&heading.title) == folded(name)))
}

fn no_heading(file: &SourceFile, name: &str, among: &[Heading]) -> FieldError {
    let titles: Vec<&str> = among.iter().map(|heading| heading.title.trim()).filter(|title| !title.is_empty()).collect();
    let near = nearest(name, titles.iter().copied()).map(|title| format!("did you mean \"{title}\"? "));
    let shown: Vec<String> = titles.iter().take(8).map(|title| format!("\"{title}\"")).collect();
    let all = match (shown.is_empty(), titles.len() > shown.len()) {
        (true, _) => "there is none".to_owned(),
        (false, more) => format!("there are {}{}", shown.join(", "), if more { " …" } else { "" }),
    };
    FieldError {
        message: format!("{} has no heading \"{name}\" here", file.name()),
        hint: Some(format!("{}{all}", near.unwrap_or_default())),
    }
}

/// Where the section of a heading ends: before the next one that is as high.
fn end(headings: &[Heading], of: usize, text: &str) -> usize {
    let level = headings.get(of).map_or(0, |heading| heading.level);
    headings.iter().skip(of + 1).find(|heading| heading.level <= level).map_or(text.len(), |next| next.range.start)
}

fn choose(file: Arc<SourceFile>, asked: (String, String, Vec<String>)) -> Result<Section, FieldError> {
    let text = file.text();
    let fence = header::fence(text).ok().flatten().or_else(|| header::front_matter(text));
    let body = fence.map_or(0, |fence| fence.end);
    let headings = headings(text, body);
    let own = called(&headings, &asked.1).ok_or_else(|| no_heading(&file, &asked.1, &headings))?;
    let range = headings[own].range.start..end(&headings, own, text);
    let inner = headings.iter().filter(|heading| range.contains(&heading.range.start));
    let mut edits: Vec<(Range<usize>, Bit)> = Vec::new();
    for name in &asked.2 {
        let within = &headings[own + 1..own + inner.clone().count()];
        let left = called(within, name).ok_or_else(|| no_heading(&file, name, within))? + own + 1;
        let out = headings[left].range.start..end(&headings, left, text);
        edits.push((out.clone(), Bit::Instead("", out.start)));
    }
    for heading in inner {
        edits.extend(hashes(text, heading));
    }
    let foreign = foreign::edits(text, body, false).into_iter();
    edits.extend(
        foreign
            .filter(|edit| edit.range.start >= range.start && edit.range.end <= range.end)
            .map(|edit| (edit.range.clone(), Bit::Instead(edit.with, edit.range.start))),
    );
    // What is longer at the same place holds what is shorter.
    edits.sort_by_key(|(range, _)| (range.start, std::cmp::Reverse(range.end)));
    let mut bits = Vec::new();
    let mut at = range.start;
    let mut heading = 0;
    let own_end = headings[own].range.end;
    for (edit, bit) in edits.into_iter().filter(|(edit, _)| edit.start <= range.end) {
        if edit.start < at {
            continue;
        }
        split(&mut bits, at..edit.start, own_end, &mut heading);
        bits.push(bit);
        at = edit.end;
        if edit.end <= own_end {
            heading = bits.len();
        }
    }
    split(&mut bits, at..range.end, own_end, &mut heading);
    let called_for = labels(text.get(range.clone()).unwrap_or_default());
    for definition in definitions(text, body, &called_for, &range) {
        bits.push(Bit::Instead("\n\n", definition.start));
        bits.push(Bit::Exact(definition));
    }
    Ok(Section { level: headings[own].level, heading, bits, asked, file: file.clone() })
}

/// Bytes as they stand, cut where the section's own heading ends.
fn split(bits: &mut Vec<Bit>, range: Range<usize>, own_end: usize, heading: &mut usize) {
    let cut = own_end.clamp(range.start, range.end);
    for part in [range.start..cut, cut..range.end] {
        if !part.is_empty() {
            bits.push(Bit::Exact(part.clone()));
            if part.end <= own_end {
                *heading = bits.len();
            }
        }
    }
}

/// A heading's own hashes, or those in place of the line under it, or the digit in its tag.
fn hashes(text: &str, heading: &Heading) -> Vec<(Range<usize>, Bit)> {
    let start = heading.range.start;
    if heading.html {
        // An end tag closes a heading of any level.
        return vec![(start + 2..start + 3, Bit::Digit(heading.level, start + 2))];
    }
    let written = text.get(heading.range.clone()).unwrap_or_default();
    let hashes = written.len() - written.trim_start_matches('#').len();
    let bit = Bit::Hashes(heading.level, start);
    if hashes > 0 {
        return vec![(start..start + hashes, bit)];
    }
    let words = written.trim_end();
    let line = words.rfind('\n').unwrap_or(words.len());
    let mut edits = vec![(start..start, bit), (start..start, Bit::Instead(" ", start))];
    edits.push((start + line..start + words.len(), Bit::Instead("", start + line)));
    // A heading between hashes has one line.
    let breaks = words.get(..line).unwrap_or_default().match_indices('\n');
    edits.extend(breaks.map(|(at, _)| (start + at..start + at + 1, Bit::Instead(" ", start + at))));
    edits
}

/// What stands between brackets: the names that definitions elsewhere in the file may have.
fn labels(text: &str) -> BTreeSet<String> {
    let inside = text.split('[').skip(1).filter_map(|rest| rest.split_once(']'));
    inside.map(|(label, _)| label.to_lowercase()).filter(|label| label.len() < 1000).collect()
}

/// Definitions outside the section of the links and footnotes that it calls.
fn definitions(text: &str, body: usize, called_for: &BTreeSet<String>, section: &Range<usize>) -> Vec<Range<usize>> {
    let parser = Parser::new_ext(text.get(body..).unwrap_or_default(), options());
    let named = |label: &str| called_for.contains(&label.to_lowercase());
    let links = parser.reference_definitions().iter().filter(|(label, _)| named(label)).map(|(_, link)| link.span.clone());
    let mut found: Vec<Range<usize>> = links.collect();
    for (event, range) in parser.into_offset_iter() {
        if let Event::Start(Tag::FootnoteDefinition(label)) = event
            && named(&format!("^{label}"))
        {
            found.push(range);
        }
    }
    found.iter_mut().for_each(|range| *range = range.start + body..range.end + body);
    found.retain(|range| !section.contains(&range.start));
    found.sort_by_key(|range| range.start);
    found
}
