//! Where text came from. A span points into the assembled text; the source leads it back to file, line and column.
//!
//! The assembled text is what Markdown is read from: the writer's files with fields filled and includes put in. Every byte of
//! it has an origin. Reads no files and knows no Markdown.

use std::fmt;
use std::sync::{Arc, OnceLock};

/// One file as the writer wrote it.
pub struct SourceFile {
    name: String,
    text: String,
    /// Byte offset of the start of every line.
    lines: OnceLock<Vec<u32>>,
    /// Characters that no printer shows, with their bytes: each is read as a space. The first of them, and how many there are.
    controls: Vec<(u32, char)>,
    control_count: usize,
}

/// Control characters of a file whose places are kept: one finding tells of all.
const CONTROLS_KEPT: usize = 100;

impl SourceFile {
    pub fn new(name: impl Into<String>, text: impl Into<String>) -> SourceFile {
        SourceFile { name: name.into(), text: text.into(), lines: OnceLock::new(), controls: Vec::new(), control_count: 0 }
    }

    /// A file in which each control character but tabs and line breaks stands as a space of the same length, so that no byte moves.
    pub(super) fn of_writer(name: impl Into<String>, text: &str) -> SourceFile {
        let is_one = |character: char| character.is_control() && !matches!(character, '\t' | '\n' | '\r');
        if !text.contains(is_one) {
            return SourceFile::new(name, text);
        }
        let mut file = SourceFile::new(name, "");
        file.text = String::with_capacity(text.len());
        for character in text.chars() {
            if is_one(character) {
                file.control_count += 1;
                if file.controls.len() < CONTROLS_KEPT {
                    file.controls.push((file.text.len() as u32, character));
                }
            }
            file.text.push(match (is_one(character), character.len_utf8()) {
                (false, _) => character,
                (true, 1) => ' ',
                (true, _) => '\u{A0}',
            });
        }
        file
    }

    /// Its path inside the manual's folder.
    pub fn name(&self) -> &str {
        &self.name
    }

    pub fn text(&self) -> &str {
        &self.text
    }

    /// Line and column of a byte of this file. An offset past the end is the end.
    pub fn place(&self, offset: usize) -> Place {
        let lines = self.lines.get_or_init(|| {
            let breaks = self.text.bytes().enumerate().filter(|(_, byte)| *byte == b'\n');
            std::iter::once(0).chain(breaks.map(|(at, _)| at as u32 + 1)).collect()
        });
        let offset = offset.min(self.text.len());
        let line = lines.partition_point(|start| *start as usize <= offset).max(1);
        let start = lines.get(line - 1).copied().unwrap_or(0) as usize;
        // An offset inside a character counts as that character's own.
        let column = self.text.as_bytes()[start..offset].iter().filter(|byte| !is_continuation(**byte)).count() + 1;
        let column = if self.text.is_char_boundary(offset) { column } else { column - 1 };
        Place { file: self.name.clone(), line: line as u32, column: column as u32 }
    }
}

fn is_continuation(byte: u8) -> bool {
    byte & 0b1100_0000 == 0b1000_0000
}

impl fmt::Debug for SourceFile {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "SourceFile({}, {} bytes)", self.name, self.text.len())
    }
}

/// From this byte of the assembled text on, until the next origin.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Origin {
    pub at: u32,
    /// Index into the files.
    pub file: u16,
    /// Byte of that file.
    pub offset: u32,
    /// Bytes follow one another there as they do here; else all of them come from that one place (a field's value).
    pub exact: bool,
}

/// A manual's text with its fields filled, and where each byte of it came from.
#[derive(Clone, Debug)]
pub struct Source {
    pub files: Vec<Arc<SourceFile>>,
    /// What spans point into. Values of fields stand in it in a spelling of their own (see the module `literal`).
    pub text: String,
    pub(super) origins: Vec<Origin>,
    /// The TOML between the two lines of `+++`.
    pub(super) header: Option<Span>,
    /// Front matter of another tool: the YAML between two lines of `---`.
    pub(super) front: Option<Span>,
    /// Where the Markdown begins.
    pub(super) body: u32,
}

impl Source {
    /// The place of a byte of the assembled text. An offset past the end is the end.
    pub fn locate(&self, at: u32) -> Place {
        self.spot(Span { start: at, end: at }).place
    }

    /// The place of a span with the file and bytes that an excerpt is drawn from. It begins where the span begins; when the span
    /// runs over a seam (the edge of a field or an include) it ends at the end of what comes from the same file in one piece.
    pub fn spot(&self, span: Span) -> Spot {
        let next = self.origins.partition_point(|origin| origin.at <= span.start);
        let origin = next.checked_sub(1).and_then(|n| self.origins.get(n)).copied();
        let origin = origin.unwrap_or(Origin { at: 0, file: 0, offset: 0, exact: true });
        let file = match self.files.get(usize::from(origin.file)) {
            Some(file) => file.clone(),
            None => Arc::new(SourceFile::new("", "")),
        };
        let piece_end = self.origins.get(next).map_or(self.text.len() as u32, |origin| origin.at);
        let (offset, length) = match origin.exact {
            true => (origin.offset + (span.start - origin.at), span.end.min(piece_end).saturating_sub(span.start)),
            false => (origin.offset, 0),
        };
        Spot::new(file, offset as usize, length as usize)
    }

    /// One remark a file that holds control characters, at the first of them that is printed.
    pub(super) fn controls(&self) -> Vec<Remark> {
        let mut remarks = Vec::new();
        for (n, file) in self.files.iter().enumerate() {
            let first = file.controls.iter().find_map(|(offset, character)| Some((self.assembled(n, *offset)?, *character)));
            let Some((at, character)) = first else { continue };
            let hint = match u32::from(character) {
                0x80..=0x9F => "the text was probably converted from Windows-1252 the wrong way; type the character anew",
                _ => "delete it, or write what it was meant to be",
            };
            let more = match file.control_count {
                1 => String::new(),
                count => format!(", the first of {count} such in this file"),
            };
            remarks.push(Remark {
                rule: "control-character",
                level: Level::Warning,
                message: format!("U+{:04X} is a control character and is read as a space{more}", u32::from(character)),
                hint: Some(hint.into()),
                span: Span { start: at, end: at + character.len_utf8() as u32 },
            });
        }
        remarks
    }

    /// Where a byte of a file stands in the assembled text, if it does.
    fn assembled(&self, file: usize, offset: u32) -> Option<u32> {
        let ends = self.origins.iter().skip(1).map(|next| next.at).chain([self.text.len() as u32]);
        self.origins.iter().zip(ends).find_map(|(origin, end)| {
            let here = origin.exact && usize::from(origin.file) == file && offset >= origin.offset;
            let at = here.then(|| origin.at + (offset - origin.offset))?;
            (at < end).then_some(at)
        })
    }

    /// What an included file brought, one span each time that it was included: with what was put into it in turn.
    pub(super) fn stretches(&self, file: usize) -> Vec<Span> {
        let ends = self.origins.iter().skip(1).map(|next| next.at).chain([self.text.len() as u32]);
        let mut stretches: Vec<Span> = Vec::new();
        let mut reached = 0;
        for (origin, end) in self.origins.iter().zip(ends).filter(|(origin, _)| usize::from(origin.file) == file) {
            match stretches.last_mut() {
                // The file goes on behind a field or an include of its own.
                Some(last) if origin.offset >= reached => last.end = end,
                _ => stretches.push(Span { start: origin.at, end }),
            }
            reached = origin.offset + if origin.exact { end - origin.at } else { 0 };
        }
        stretches
    }

    /// The text of a file by its name, as the writer wrote it.
    pub fn file_text(&self, name: &str) -> Option<&str> {
        self.files.iter().find(|file| file.name() == name).map(|file| file.text())
    }
}

/// A stretch of one of the writer's files: what a reporter draws an excerpt from.
#[derive(Clone, Debug)]
pub struct Spot {
    pub place: Place,
    pub file: Arc<SourceFile>,
    /// Bytes of the file's text.
    pub offset: usize,
    pub length: usize,
}

impl Spot {
    pub fn new(file: Arc<SourceFile>, offset: usize, length: usize) -> Spot {
        let offset = offset.min(file.text().len());
        let length = length.min(file.text().len() - offset);
        Spot { place: file.place(offset), file, offset, length }
    }
}

impl PartialEq for Spot {
    fn eq(&self, other: &Spot) -> bool {
        self.place == other.place && self.offset == other.offset && self.length == other.length
    }
}

/// A range of bytes.
///
/// The span of a top-level block is absolute: it points into [`Source::text`]. Every span *inside* a block (its inlines, its
/// nested blocks) is relative to the start of the top-level block that holds it, so that a block which did not change is
/// equal, and hashes alike, wherever an edit above has moved it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Span {
    pub start: u32,
    pub end: u32,
}

impl Span {
    pub fn new(start: usize, end: usize) -> Span {
        Span { start: start as u32, end: end as u32 }
    }

    /// This span moved right by `base` bytes: from relative to absolute.
    pub fn from_base(self, base: u32) -> Span {
        Span { start: self.start + base, end: self.end + base }
    }

    /// This span as seen from `base`: from absolute to relative.
    pub fn relative_to(self, base: u32) -> Span {
        Span { start: self.start.saturating_sub(base), end: self.end.saturating_sub(base) }
    }
}

/// A place a person can go to: file as the writer names it, line and column from 1 (columns count characters).
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Place {
    pub file: String,
    pub line: u32,
    pub column: u32,
}

impl fmt::Display for Place {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{}:{}:{}", self.file, self.line, self.column)
    }
}

/// How much a remark weighs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Level {
    Advice,
    Warning,
    Error,
}

/// Something noticed while reading, laying out or screening: what preflight later calls a finding.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Remark {
    /// Name of the rule it belongs to, as `allow` in the header spells it: `unknown-key`, `missing-glyph`.
    pub rule: &'static str,
    pub level: Level,
    /// One sentence that says what is wrong here.
    pub message: String,
    /// What to do about it.
    pub hint: Option<String>,
    /// Absolute.
    pub span: Span,
}
