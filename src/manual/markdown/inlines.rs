//! Runs of inlines: text, emphasis, keys, links, pictures. Nested marks deeper than [`DEEPEST`] are dropped, their text kept.

use pulldown_cmark::{Event, LinkType, Tag};

use super::lists;
use super::notes::Notes;
use crate::manual::document::{Inline, InlineKind, Picture, plain_text};
use crate::manual::gathered::is_web;
use crate::manual::source::Span;

/// Marks inside one another that are kept.
const DEEPEST: usize = 16;

/// An open mark.
enum Mark {
    Strong,
    Emphasis,
    Strike,
    Subscript,
    Superscript,
    Link { address: String, shown: bool },
    Picture { address: String, title: String },
    Key,
}

struct Open {
    mark: Mark,
    span: Span,
    inlines: Vec<Inline>,
}

/// A run of inlines as it is gathered.
#[derive(Default)]
pub(super) struct Inlines {
    done: Vec<Inline>,
    open: Vec<Open>,
    /// Whether each open tag of Markdown got a mark, or was too deep for one.
    marked: Vec<bool>,
}

impl Inlines {
    pub fn push(&mut self, kind: InlineKind, span: Span) {
        let inlines = self.open.last_mut().map_or(&mut self.done, |open| &mut open.inlines);
        // The reader of Markdown gives text in pieces: after an escape, an entity, a bracket that opens nothing.
        if let (InlineKind::Text(more), Some(Inline { span: before, kind: InlineKind::Text(text) })) = (&kind, inlines.last_mut())
        {
            text.push_str(more);
            before.end = before.end.max(span.end);
            return;
        }
        inlines.push(Inline { span, kind });
    }

    /// Takes off the ideographic spaces at the end of a line: Markdown takes off only those of ASCII, and many end a line so.
    fn trim(&mut self) {
        let inlines = self.open.last_mut().map_or(&mut self.done, |open| &mut open.inlines);
        let Some(Inline { span, kind: InlineKind::Text(text) }) = inlines.last_mut() else { return };
        let kept = text.trim_end_matches('\u{3000}').len();
        if kept < text.len() && (span.end - span.start) as usize == text.len() {
            span.end -= (text.len() - kept) as u32;
        }
        text.truncate(kept);
        if text.is_empty() {
            inlines.pop();
        }
    }

    pub fn text(&mut self, text: &str, span: Span) {
        self.push(InlineKind::Text(text.to_owned()), span);
    }

    /// Every picture, whoever's markup it was written in, comes into the run here.
    pub fn picture(&mut self, picture: Picture, span: Span) {
        self.push(InlineKind::Picture(picture), span);
    }

    pub fn note_call(&mut self, call: u32, span: Span) {
        self.push(InlineKind::NoteCall(call), span);
    }

    /// Takes an event that is neither the start nor the end of anything.
    pub fn take(&mut self, event: Event, span: Span) {
        match event {
            Event::Text(text) => self.text(&text, span),
            Event::Code(code) => self.push(InlineKind::Key(code.into_string()), span),
            Event::InlineMath(text) | Event::DisplayMath(text) => self.text(&text, span),
            Event::SoftBreak => {
                self.trim();
                self.push(InlineKind::SoftBreak, span);
            }
            Event::HardBreak => self.push(InlineKind::HardBreak, span),
            _ => {}
        }
    }

    /// A key that holds a picture or a link stays what it holds.
    fn key(&mut self, inlines: Vec<Inline>, span: Span) {
        let mut plain = true;
        each(&inlines, &mut |inline| {
            plain &= !matches!(inline.kind, InlineKind::Picture(_) | InlineKind::Link { .. } | InlineKind::NoteCall(_));
        });
        match plain {
            true => self.push(InlineKind::Key(plain_text(&inlines)), span),
            false => self.unwrap(inlines),
        }
    }

    fn unwrap(&mut self, inlines: Vec<Inline>) {
        for inline in inlines {
            self.push(inline.kind, inline.span);
        }
    }

    /// Opens a mark.
    pub fn open(&mut self, tag: Tag, span: Span) {
        let mark = match tag {
            Tag::Strong => Some(Mark::Strong),
            Tag::Emphasis => Some(Mark::Emphasis),
            Tag::Strikethrough => Some(Mark::Strike),
            Tag::Subscript => Some(Mark::Subscript),
            Tag::Superscript => Some(Mark::Superscript),
            Tag::Link { link_type, dest_url, .. } => {
                let shown = matches!(link_type, LinkType::Autolink | LinkType::Email);
                Some(Mark::Link { address: dest_url.into_string(), shown })
            }
            Tag::Image { dest_url, title, .. } => Some(Mark::Picture { address: path_of(&dest_url), title: title.into_string() }),
            _ => None,
        };
        // A link or a picture is never dropped: what it points to would be lost. It does not nest deeply by itself.
        let mark = mark.filter(|mark| self.open.len() < DEEPEST || matches!(mark, Mark::Link { .. } | Mark::Picture { .. }));
        self.marked.push(mark.is_some());
        if let Some(mark) = mark {
            self.open.push(Open { mark, span, inlines: Vec::new() });
        }
    }

    /// Opens a key: `<kbd>`, `<code>`.
    pub fn open_key(&mut self, span: Span) {
        self.marked.push(true);
        self.open.push(Open { mark: Mark::Key, span, inlines: Vec::new() });
    }

    /// Closes the innermost mark.
    pub fn close(&mut self, notes: &mut Notes) {
        if self.marked.pop() != Some(true) {
            return;
        }
        let Some(Open { mark, span, mut inlines }) = self.open.pop() else { return };
        lists::take_in(&mut inlines);
        let kind = match mark {
            Mark::Key => return self.key(inlines, span),
            // Paper cannot be clicked, and a picture cannot be bold.
            Mark::Strong | Mark::Emphasis | Mark::Strike if pictures_alone(&inlines) => return self.unwrap(inlines),
            Mark::Strong => InlineKind::Strong(inlines),
            Mark::Emphasis => InlineKind::Emphasis(inlines),
            Mark::Strike => InlineKind::Strike(inlines),
            Mark::Subscript => InlineKind::Subscript(inlines),
            Mark::Superscript => InlineKind::Superscript(inlines),
            // A picture that is itself a link: paper can't be clicked, and nobody would know what the number stands for.
            Mark::Link { .. } if pictures_alone(&inlines) => {
                return self.unwrap(inlines.into_iter().map(linked).collect());
            }
            Mark::Link { address, shown } if is_file(&address) && !shown => {
                notes.file(&address, span);
                InlineKind::Link { text: inlines, note: None, address: String::new() }
            }
            Mark::Link { address, shown } => {
                if let Some(heading) = address.strip_prefix('#') {
                    notes.inward.push((path_of(heading), span));
                }
                let shown = shown || says_itself(&plain_text(&inlines), &address);
                let note = (!shown && leads_somewhere(&address)).then(|| notes.link(&address, span));
                InlineKind::Link { text: inlines, note, address }
            }
            Mark::Picture { address, title } => {
                let alt = plain_text_and_alts(&inlines);
                return self.picture(Picture { address, alt, title, ..Picture::default() }, span);
            }
        };
        self.push(kind, span);
    }

    /// The finished run.
    pub fn finish(mut self, notes: &mut Notes) -> Vec<Inline> {
        self.marked = self.open.iter().map(|_| true).collect();
        while !self.marked.is_empty() {
            self.close(notes);
        }
        lists::take_in(&mut self.done);
        self.done
    }
}

fn linked(mut inline: Inline) -> Inline {
    if let InlineKind::Picture(picture) = &mut inline.kind {
        picture.linked = true;
    }
    inline
}

/// Whether an address names a file beside the manual, and not a place on the web, a person or a heading.
fn is_file(address: &str) -> bool {
    let scheme = address.split_once(':').is_some_and(|(scheme, _)| {
        scheme.len() > 1 && scheme.bytes().all(|byte| byte.is_ascii_alphanumeric() || matches!(byte, b'+' | b'-' | b'.'))
    });
    let host = address.split('/').next().is_some_and(|first| first.starts_with("www."));
    // A field's value: nobody knows yet what it will be.
    let field = address.contains(crate::manual::literal::is_noncharacter);
    !(scheme || host || field || address.trim().is_empty() || address.starts_with('#') || address.starts_with("//"))
}

/// The alt text of a picture may hold pictures of its own.
fn plain_text_and_alts(inlines: &[Inline]) -> String {
    let mut text = String::new();
    each(inlines, &mut |inline| match &inline.kind {
        InlineKind::Text(more) | InlineKind::Key(more) => text.push_str(more),
        InlineKind::Picture(picture) => text.push_str(&picture.alt),
        InlineKind::SoftBreak | InlineKind::HardBreak => text.push(' '),
        _ => {}
    });
    text
}

/// Whether the text of a link is its address, so that a note would only repeat it.
fn says_itself(text: &str, address: &str) -> bool {
    let bare = |address: &str| {
        let rest = ["https://", "http://", "mailto:", "tel:"].into_iter().find_map(|scheme| address.strip_prefix(scheme));
        rest.unwrap_or(address).trim_end_matches('/').to_owned()
    };
    bare(text.trim()) == bare(address)
}

/// An address inside the manual itself, or none, is worth no note.
fn leads_somewhere(address: &str) -> bool {
    !address.trim().is_empty() && !address.starts_with('#')
}

/// The path of a picture as it is called on disk: `%20` in an address is a space.
/// At a web address it is part of the address.
pub(super) fn path_of(address: &str) -> String {
    if !address.contains('%') || is_web(address) {
        return address.to_owned();
    }
    let mut bytes = Vec::with_capacity(address.len());
    let mut rest = address.as_bytes();
    while let [first, tail @ ..] = rest {
        let coded = match (first, tail) {
            (b'%', [high, low, ..]) => hexadecimal(*high).zip(hexadecimal(*low)).map(|(high, low)| high << 4 | low),
            _ => None,
        };
        bytes.push(coded.unwrap_or(*first));
        rest = if coded.is_some() { &tail[2..] } else { tail };
    }
    String::from_utf8(bytes).unwrap_or_else(|_| address.to_owned())
}

fn hexadecimal(digit: u8) -> Option<u8> {
    char::from(digit).to_digit(16).map(|value| value as u8)
}

/// Whether a run holds nothing but pictures, at least one.
pub(super) fn pictures_alone(inlines: &[Inline]) -> bool {
    let mut pictures = 0;
    let alone = inlines.iter().all(|inline| match &inline.kind {
        InlineKind::Picture(_) => {
            pictures += 1;
            true
        }
        _ => is_white(inline),
    });
    alone && pictures > 0
}

/// Shows nothing: a break, or white space.
fn is_white(inline: &Inline) -> bool {
    match &inline.kind {
        InlineKind::SoftBreak | InlineKind::HardBreak => true,
        InlineKind::Text(text) => text.trim().is_empty(),
        _ => false,
    }
}

/// What stands in a paragraph from top to bottom.
pub(super) enum Part {
    Words(Vec<Inline>),
    /// Pictures that stand by themselves: alone in the paragraph, or on source lines that hold nothing else.
    Pictures(Vec<(Picture, Span)>),
}

/// Parts a paragraph at the source lines that hold pictures only. A picture among words stays with them, and so does a sign.
pub(super) fn parts(inlines: Vec<Inline>) -> Vec<Part> {
    let alone = pictures_alone(&inlines);
    let mut parts: Vec<Part> = Vec::new();
    let mut lines: Vec<Vec<Inline>> = vec![Vec::new()];
    for inline in inlines {
        let ends = matches!(inline.kind, InlineKind::SoftBreak | InlineKind::HardBreak);
        if let Some(line) = lines.last_mut() {
            line.push(inline);
        }
        if ends {
            lines.push(Vec::new());
        }
    }
    for line in lines {
        if pictures_alone(&line) && (alone || !line.iter().any(is_drawn_by_name)) {
            let mut shown: Vec<(Picture, Span)> = Vec::new();
            for inline in line {
                if let InlineKind::Picture(picture) = inline.kind {
                    shown.push((picture, inline.span));
                }
            }
            match parts.last_mut() {
                Some(Part::Pictures(before)) => before.append(&mut shown),
                _ => parts.push(Part::Pictures(shown)),
            }
            continue;
        }
        match parts.last_mut() {
            Some(Part::Words(words)) => words.extend(line),
            _ => parts.push(Part::Words(line)),
        }
    }
    for part in &mut parts {
        if let Part::Words(words) = part {
            let first = words.iter().take_while(|inline| is_white(inline)).count();
            words.drain(..first);
            while words.last().is_some_and(is_white) {
                words.pop();
            }
        }
    }
    parts.retain(|part| !matches!(part, Part::Words(words) if words.is_empty()));
    parts
}

/// A sign: it belongs among words, wherever the writer's line ended.
fn is_drawn_by_name(inline: &Inline) -> bool {
    matches!(&inline.kind, InlineKind::Picture(picture) if picture.is_drawn_by_name())
}

/// Visits every inline at every depth.
pub(super) fn each<'i>(inlines: &'i [Inline], visit: &mut dyn FnMut(&'i Inline)) {
    for inline in inlines {
        visit(inline);
        if let Some(inner) = inline.inner() {
            each(inner, visit);
        }
    }
}
