//! Where the blocks of a text stand that a hand can be laid on: fences of our own, and pictures that could become one.

use std::ops::Range;

use pulldown_cmark::{CodeBlockKind, Event, Parser, Tag, TagEnd};

use super::fence::Fence;
use super::loose::Loose;
use super::{Refused, holds_field, html, line_of};
use crate::manual;

/// A block as it stands in a text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Block {
    Fence(Fence),
    /// A picture of Markdown or HTML.
    Loose(Loose),
}

impl Block {
    /// The bytes it takes.
    pub fn range(&self) -> Range<usize> {
        match self {
            Block::Fence(fence) => fence.range.clone(),
            Block::Loose(loose) => loose.range.clone(),
        }
    }
}

const NAMES: [&str; 3] = ["figure", "comic", "assembly"];

impl Block {
    /// The lines that it begins and ends on, from 1.
    pub fn lines(&self, text: &str) -> [u32; 2] {
        let range = self.range();
        [range.start, range.end].map(|at| line_of(text, at))
    }
}

/// What a picture can stand in that holds no block.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Held {
    Link,
    Cell,
    Heading,
}

/// The block that takes this line, from 1.
///
/// # Errors
/// In words, when nothing stands there that a hand can be laid on.
pub fn at_line(text: &str, line: u32) -> Result<Block, Refused> {
    let mut walk = Walk { text, line, held: Vec::new(), found: None };
    let body = manual::body_of(text);
    let events = Parser::new_ext(text.get(body..).unwrap_or_default(), manual::markdown_options()).into_offset_iter();
    let events: Vec<(Event, Range<usize>)> = events.map(|(event, range)| (event, range.start + body..range.end + body)).collect();
    walk.look(&events);
    walk.found.unwrap_or_else(|| {
        let words = text.lines().nth(line.saturating_sub(1) as usize).unwrap_or_default();
        if holds_field(words) && (words.contains("![") || words.contains("<img")) {
            return Err(super::from_field());
        }
        Err(Refused::new("no picture, figure or comic stands on this line of the file by itself")
            .hint("what a template or another tool makes of other lines is changed there, by hand"))
    })
}

/// In what containers the words of a text stand, in order, but for those of one block: a change of that block leaves them where they were.
pub(super) fn frames(text: &str, but: &Range<usize>) -> Vec<Vec<u8>> {
    let body = manual::body_of(text);
    let mut open: Vec<u8> = Vec::new();
    let mut frames = Vec::new();
    for (event, range) in Parser::new_ext(text.get(body..).unwrap_or_default(), manual::markdown_options()).into_offset_iter() {
        let kind = match &event {
            Event::Start(Tag::BlockQuote(_)) | Event::End(TagEnd::BlockQuote(_)) => 1,
            Event::Start(Tag::List(_)) | Event::End(TagEnd::List(_)) => 2,
            Event::Start(Tag::Item) | Event::End(TagEnd::Item) => 3,
            Event::Start(Tag::FootnoteDefinition(_)) | Event::End(TagEnd::FootnoteDefinition) => 4,
            Event::Start(Tag::Table(_)) | Event::End(TagEnd::Table) => 5,
            Event::Start(Tag::DefinitionList) | Event::End(TagEnd::DefinitionList) => 6,
            Event::Start(Tag::Heading { .. }) | Event::End(TagEnd::Heading(_)) => 7,
            Event::Start(Tag::CodeBlock(_)) | Event::End(TagEnd::CodeBlock) => 8,
            Event::Text(_) | Event::Code(_) | Event::Html(_) | Event::InlineHtml(_) => {
                if !but.contains(&(range.start + body)) {
                    frames.push(open.clone());
                }
                continue;
            }
            _ => continue,
        };
        match event {
            Event::Start(_) => open.push(kind),
            _ => drop(open.pop()),
        }
    }
    frames
}

struct Walk<'t> {
    text: &'t str,
    line: u32,
    held: Vec<Held>,
    found: Option<Result<Block, Refused>>,
}

impl Walk<'_> {
    fn holds(&self, range: &Range<usize>) -> bool {
        let last = range.end.saturating_sub(1).max(range.start);
        (line_of(self.text, range.start)..=line_of(self.text, last)).contains(&self.line)
    }

    fn look(&mut self, events: &[(Event, Range<usize>)]) {
        let mut at = 0;
        while let Some((event, range)) = events.get(at) {
            at += 1;
            match event {
                Event::Start(Tag::CodeBlock(CodeBlockKind::Fenced(info))) => {
                    let name = info.split_whitespace().next().unwrap_or_default();
                    let inside: Vec<Range<usize>> = events[at..]
                        .iter()
                        .take_while(|(event, _)| !matches!(event, Event::End(TagEnd::CodeBlock)))
                        .map(|(_, range)| range.clone())
                        .collect();
                    if NAMES.contains(&name) && self.holds(range) && self.found.is_none() {
                        self.found = Some(Fence::new(self.text, range.clone(), name, &inside).map(Block::Fence));
                    }
                }
                Event::Start(Tag::Link { .. }) => self.held.push(Held::Link),
                Event::Start(Tag::TableHead | Tag::TableRow) => self.held.push(Held::Cell),
                Event::Start(Tag::Heading { .. }) => self.held.push(Held::Heading),
                Event::End(TagEnd::Link | TagEnd::TableHead | TagEnd::TableRow | TagEnd::Heading(_)) => drop(self.held.pop()),
                Event::Start(Tag::Image { dest_url, title, .. }) => {
                    let alt = events[at..].iter().take_while(|(event, _)| !matches!(event, Event::End(TagEnd::Image)));
                    let alt: String = alt.map(|(event, _)| said(event)).collect();
                    if self.holds(range) && self.found.is_none() {
                        let loose = Loose::new(self.text, range.clone(), dest_url, &alt, title);
                        self.found = Some(loose.and_then(|loose| self.stands(loose)));
                    }
                }
                Event::InlineHtml(_) if self.holds(range) && self.found.is_none() => {
                    if let Some(found) = html::picture(self.text, range.clone()) {
                        self.found = Some(found.and_then(|loose| self.stands(loose)));
                    }
                }
                Event::Start(Tag::HtmlBlock) if self.holds(range) && self.found.is_none() => {
                    self.found = html::picture(self.text, range.clone()).map(|found| found.map(Block::Loose));
                }
                _ => {}
            }
        }
        // Which pictures stand in one row is known when the paragraph is.
        if let Some(Ok(Block::Loose(loose))) = &mut self.found
            && in_row(self.text, &loose.range, events)
        {
            loose.fixed = Some("this picture stands in a row with others");
        }
    }

    /// A picture where a block may stand; others say why not, with the lines that would be theirs.
    fn stands(&self, loose: Loose) -> Result<Block, Refused> {
        let fixed = match self.held.last() {
            None => loose.fixed,
            Some(Held::Link) => Some("this picture is a link, which a figure block would lose"),
            Some(Held::Cell) => Some("this picture stands in a table, which holds no blocks"),
            Some(Held::Heading) => Some("this picture stands in a heading, which holds no blocks"),
        };
        Ok(Block::Loose(Loose { fixed, ..loose }))
    }
}

/// What an inline of an alternative text says.
fn said(event: &Event) -> String {
    match event {
        Event::Text(text) | Event::Code(text) => text.to_string(),
        Event::SoftBreak | Event::HardBreak => " ".into(),
        _ => String::new(),
    }
}

/// Whether another picture stands next to this one with nothing but white between them.
fn in_row(text: &str, range: &Range<usize>, events: &[(Event, Range<usize>)]) -> bool {
    let blank = |between: Range<usize>| {
        let between = text.get(between).unwrap_or("x");
        // An empty line parts paragraphs.
        let lines: Vec<&str> = between.split('\n').collect();
        let parted =
            lines.len() > 2 && lines[1..lines.len() - 1].iter().any(|line| line.trim_matches(['>', ' ', '\t', '\r']).is_empty());
        between.chars().all(|sign| sign.is_whitespace() || matches!(sign, '>' | '\\')) && !parted
    };
    events.iter().filter(|(event, _)| matches!(event, Event::Start(Tag::Image { .. }))).any(|(_, other)| {
        (other.end <= range.start && blank(other.end..range.start)) || (range.end <= other.start && blank(range.end..other.start))
    })
}
