//! Puts the filled text together and remembers where each byte of it came from.

use std::ops::Range;
use std::sync::Arc;

use minijinja::{OutputSpan, OutputSpanKind};

use super::section::{self, Bit, Section, Sections};
use super::{compared, scan};
use crate::manual::Error;
use crate::manual::reading::LONGEST;
use crate::manual::source::{Origin, Source, SourceFile, Span, Spot};

/// A file, or a part of it, as the template engine sees it: lines that hold only tags are taken together, so its bytes are not
/// quite those of the file.
#[derive(Debug)]
pub(super) struct Piece {
    file: Arc<SourceFile>,
    /// From (byte of the template, byte of the file) on they run side by side.
    seams: Vec<(u32, u32)>,
}

impl Piece {
    /// Makes a template of a range of a file. What is included loses its last line break.
    ///
    /// # Errors
    /// When it includes a file by anything but its name.
    pub fn prepare(file: &Arc<SourceFile>, range: Range<usize>, included: bool) -> Result<(Piece, String), Error> {
        let text = file.text().get(range.clone()).unwrap_or_default();
        let scan = scan::scan(text);
        if let Some(unnamed) = scan.unnamed_include {
            return Err(Error::Template {
                message: "a file is included by its name in quotes and by nothing else".into(),
                hint: Some(
                    "a field's value is text and never chooses a file: write {% if … %}{% include \"a.md\" %}{% else %}… for each one"
                        .into(),
                ),
                at: Some(Error::at(file, range.start + unnamed.start, unnamed.len())),
            });
        }
        if let Some(compared) = compared::first(text) {
            let at = Error::at(file, range.start + compared.range.start, compared.range.len());
            return Err(Error::Template { message: compared.message, hint: Some(compared.hint), at: Some(at) });
        }
        let mut cuts = scan.cuts;
        if included {
            let end = text.strip_suffix('\n').map_or(text.len(), |rest| rest.strip_suffix('\r').unwrap_or(rest).len());
            if cuts.last().is_none_or(|last| last.end <= end) {
                cuts.push(end..text.len());
            }
        }
        let mut kept = String::with_capacity(text.len());
        let mut seams = vec![(0, range.start as u32)];
        let mut at = 0;
        for cut in cuts {
            kept.push_str(text.get(at..cut.start).unwrap_or_default());
            seams.push((kept.len() as u32, (range.start + cut.end) as u32));
            at = cut.end;
        }
        kept.push_str(text.get(at..).unwrap_or_default());
        Ok((Piece { file: file.clone(), seams }, kept))
    }

    fn seam(&self, at: u32) -> usize {
        self.seams.partition_point(|(local, _)| *local <= at).saturating_sub(1)
    }

    /// The byte of the file that a byte of the template is.
    fn offset(&self, at: u32) -> u32 {
        self.seams.get(self.seam(at)).map_or(0, |(local, there)| there + (at - local))
    }

    pub fn spot(&self, range: Range<usize>) -> Spot {
        Spot::new(self.file.clone(), self.offset(range.start as u32) as usize, range.len())
    }

    /// The first byte of a line of the template that is no white space.
    pub fn line_spot(&self, template: &str, line: usize) -> Spot {
        let start: usize = template.split_inclusive('\n').take(line.saturating_sub(1)).map(str::len).sum();
        let rest = template.get(start..).unwrap_or_default();
        let indent = rest.len() - rest.trim_start().len();
        self.spot(start + indent..start + indent)
    }
}

/// A text that grows at its end.
pub(super) struct Assembly {
    files: Vec<Arc<SourceFile>>,
    text: String,
    origins: Vec<Origin>,
    header: Option<Span>,
    front: Option<Span>,
    body: u32,
    /// That came in so far.
    sections: usize,
}

impl Assembly {
    pub fn new(file: Arc<SourceFile>) -> Assembly {
        let text = String::with_capacity(file.text().len() + 256);
        Assembly { files: vec![file], text, origins: Vec::new(), header: None, front: None, body: 0, sections: 0 }
    }

    pub fn length(&self) -> u32 {
        self.text.len() as u32
    }

    pub fn set_header(&mut self, span: Span) {
        self.header = Some(span);
    }

    pub fn set_front(&mut self, span: Span) {
        self.front = Some(span);
    }

    /// Text that stands in for some of the manual's own, from `offset` on.
    pub fn push_in_place(&mut self, text: &str, offset: usize) {
        if !text.is_empty() {
            self.origin(0, offset as u32, false);
            self.text.push_str(text);
        }
    }

    pub fn start_body(&mut self) {
        self.body = self.length();
    }

    fn origin(&mut self, file: u16, offset: u32, exact: bool) {
        let at = self.length();
        if let Some(last) = self.origins.last() {
            let goes_on = exact && last.exact && last.file == file && last.offset + (at - last.at) == offset;
            if goes_on {
                return;
            }
        }
        self.origins.push(Origin { at, file, offset, exact });
    }

    /// Bytes of the manual itself, as they stand.
    pub fn push_exact(&mut self, start: usize, end: usize) {
        let Some(file) = self.files.first().cloned() else { return };
        self.origin(0, start as u32, true);
        self.text.push_str(file.text().get(start..end).unwrap_or_default());
    }

    /// What the template engine made, with its account of where each stretch came from.
    ///
    /// # Errors
    /// When more sections come in than a manual has.
    pub fn push_rendered(
        &mut self,
        text: &str,
        spans: &[OutputSpan],
        pieces: &[(Arc<str>, Arc<Piece>)],
        sections: &Sections,
    ) -> Result<(), Error> {
        let mut done = 0;
        for span in spans {
            let output = span.output_range();
            let Some((_, piece)) = pieces.iter().find(|(name, _)| **name == *span.name()) else {
                continue;
            };
            self.text.push_str(text.get(done..output.start).unwrap_or_default());
            done = output.end;
            let file = self.file(&piece.file);
            let written = text.get(output).unwrap_or_default();
            let from = span.source_range().start as u32;
            match span.kind() {
                OutputSpanKind::Raw => self.push_raw(written, from, piece, file),
                _ => {
                    for (words, section) in section::parted(written, sections) {
                        self.origin(file, piece.offset(from), false);
                        self.text.push_str(words);
                        if let Some(section) = section {
                            self.push_section(&section).map_err(|()| Error::Template {
                                message: format!("more than {} sections come in here", section::MOST),
                                hint: Some("look for a loop that goes round too often".into()),
                                at: Some(Box::new(piece.spot(span.source_range().start..span.source_range().end))),
                            })?;
                        }
                    }
                }
            }
        }
        self.text.push_str(text.get(done..).unwrap_or_default());
        Ok(())
    }

    /// A section of another file, as blocks of its own.
    fn push_section(&mut self, section: &Section) -> Result<(), ()> {
        self.sections += 1;
        let too_long = self.text.len() as u64 > LONGEST;
        if self.sections > section::MOST || too_long {
            return if too_long { Ok(()) } else { Err(()) };
        }
        let bits = section.after(self.text.get(self.body as usize..).unwrap_or_default());
        let file = self.file(&section.file);
        self.text.push_str("\n\n");
        for bit in bits {
            match bit {
                Bit::Exact(range) => {
                    self.origin(file, range.start as u32, true);
                    self.text.push_str(section.file.text().get(range).unwrap_or_default());
                }
                Bit::Instead("", _) => {}
                Bit::Instead(words, at) => {
                    self.origin(file, at as u32, false);
                    self.text.push_str(words);
                }
                Bit::Digit(level, at) => {
                    self.origin(file, at as u32, false);
                    self.text.push(char::from(b'0' + level.min(9)));
                }
                Bit::Hashes(level, at) => {
                    self.origin(file, at as u32, false);
                    self.text.push_str("######".get(..usize::from(level)).unwrap_or_default());
                }
            }
        }
        self.text.push_str("\n\n");
        Ok(())
    }

    /// Text of a piece, cut where lines were taken together.
    fn push_raw(&mut self, written: &str, from: u32, piece: &Piece, file: u16) {
        let mut at = from;
        let mut rest = written;
        while !rest.is_empty() {
            let next = piece.seams.get(piece.seam(at) + 1).map_or(u32::MAX, |(local, _)| *local);
            let (here, after) = rest.split_at_checked((next - at) as usize).unwrap_or((rest, ""));
            self.origin(file, piece.offset(at), true);
            self.text.push_str(here);
            at += here.len() as u32;
            rest = after;
        }
    }

    fn file(&mut self, file: &Arc<SourceFile>) -> u16 {
        let known = self.files.iter().position(|known| Arc::ptr_eq(known, file));
        known.unwrap_or_else(|| {
            self.files.push(file.clone());
            self.files.len() - 1
        }) as u16
    }

    /// What there is so far, for reading the header.
    pub fn head_source(&self) -> Source {
        Source {
            files: self.files.clone(),
            text: self.text.clone(),
            origins: self.origins.clone(),
            header: self.header,
            front: self.front,
            body: self.length(),
        }
    }

    /// # Errors
    /// When the fields made the text too long.
    pub fn finish(self) -> Result<Source, Error> {
        let Assembly { files, text, origins, header, front, body, .. } = self;
        if text.len() as u64 > LONGEST {
            return Err(Error::Template {
                message: format!(
                    "with its fields filled the manual has {} bytes, more than the {LONGEST} that are allowed",
                    text.len()
                ),
                hint: Some("look for a loop that goes round too often".into()),
                at: files.first().map(|file| Error::at(file, 0, 0)),
            });
        }
        let (text, origins) = if files.len() > 1 { indented(&text, &origins, body) } else { (text, origins) };
        Ok(Source { files, text, origins, header, front, body })
    }
}

/// What is included inside a list or a quote stays inside: its further lines begin as far in as the line that it was included on.
fn indented(text: &str, origins: &[Origin], body: u32) -> (String, Vec<Origin>) {
    let mut whole = String::with_capacity(text.len() + 256);
    let mut found: Vec<Origin> = Vec::with_capacity(origins.len());
    // The files that are inside one another here, and how each one's lines begin.
    let mut open: Vec<(u16, String)> = Vec::new();
    whole.push_str(text.get(..origins.first().map_or(text.len(), |origin| origin.at as usize)).unwrap_or_default());
    for (n, origin) in origins.iter().enumerate() {
        let end = origins.get(n + 1).map_or(text.len(), |next| next.at as usize);
        if origin.file == 0 || origin.at < body {
            open.clear();
        } else if let Some(at) = open.iter().position(|(file, _)| *file == origin.file) {
            open.truncate(at + 1);
        } else {
            let line = whole.rsplit('\n').next().unwrap_or_default();
            open.push((origin.file, beginning(line)));
        }
        let begins = open.last().map_or("", |(_, begins)| begins.as_str());
        let mut done = 0;
        for line in text.get(origin.at as usize..end).unwrap_or_default().split_inclusive('\n') {
            let offset = origin.offset + if origin.exact { done } else { 0 };
            // An empty line is one as it is, but in a quote; white before a tag is the beginning of a line.
            let counts = begins.contains('>') || !line.trim().is_empty() || !line.ends_with('\n');
            if whole.ends_with('\n') && counts && !begins.is_empty() {
                found.push(Origin { at: whole.len() as u32, offset, exact: false, ..*origin });
                whole.push_str(begins);
                found.push(Origin { at: whole.len() as u32, offset, ..*origin });
            } else if done == 0 {
                found.push(Origin { at: whole.len() as u32, ..*origin });
            }
            whole.push_str(line);
            done += line.len() as u32;
        }
    }
    (whole, found)
}

/// How a line has to begin to stand in the same list and quote as this one.
fn beginning(line: &str) -> String {
    let mut begins = String::new();
    let mut rest = line;
    while let Some(first) = rest.chars().next() {
        let digits = rest.bytes().take_while(u8::is_ascii_digit).count();
        let marker = match first {
            ' ' | '\t' | '>' => {
                begins.push(first);
                rest = &rest[1..];
                continue;
            }
            '-' | '+' | '*' => 1,
            _ if (1..=9).contains(&digits) && rest[digits..].starts_with(['.', ')']) => digits + 1,
            _ => break,
        };
        if !rest[marker..].starts_with([' ', '\t']) {
            break;
        }
        begins.extend(std::iter::repeat_n(' ', marker));
        rest = &rest[marker..];
    }
    begins
}
