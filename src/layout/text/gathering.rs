//! The pieces of a paragraph as they are gathered, and the lines that are made of them.

use std::borrow::Cow;
use std::sync::Arc;

use super::setting::{Position, Setting};
use crate::language::{END_OF_ISOLATE, ISOLATE};
use crate::layout::context::Context;
use crate::layout::galley::{Boxed, Chunk, Galley, Mark};
use crate::lengths::Dots;
use crate::manual::source::{Level, Remark, Span};
use crate::type_setting::{Content, FragmentInk, Line, Measure, OBJECT, Paragraph, Piece, Type, Vertical};

/// Something that stands in a line: its marks relative to its left edge on the baseline.
pub(super) struct Art {
    pub marks: Vec<Mark>,
    pub boxes: Vec<Boxed>,
    /// What it says in the text of its line.
    pub text: String,
}

/// The pieces of a paragraph as they are gathered from its inlines.
pub struct Gathering<'a> {
    /// Room of the lines: nothing that stands in one is made wider.
    pub(super) width: Dots,
    pub(super) pieces: Vec<Piece<'a>>,
    arts: Vec<Art>,
    pub(super) text: String,
    pub(super) remarks: Vec<Remark>,
    /// How many pieces there were after the last call of a note.
    pub(super) called: usize,
}

impl<'a> Gathering<'a> {
    /// For lines of that width.
    pub fn new(width: Dots) -> Gathering<'a> {
        Gathering { width, pieces: Vec::new(), arts: Vec::new(), text: String::new(), remarks: Vec::new(), called: usize::MAX }
    }

    pub fn push_text(&mut self, text: &'a str, look: Type, span: Span) {
        self.push(text, look, false, Dots(0), span);
    }

    pub(super) fn push(&mut self, text: &'a str, look: Type, strike: bool, rise: Dots, span: Span) {
        self.text.push_str(&unmarked(text));
        self.pieces.push(Piece { content: Content::Text { text, look, strike, rise, verbatim: false }, span });
    }

    pub(super) fn object(&mut self, art: Art, width: Dots, ascent: Dots, descent: Dots, span: Span) {
        let id = self.arts.len();
        self.arts.push(art);
        self.pieces.push(Piece { content: Content::Object { id, width, ascent, descent }, span });
    }

    /// Sets what was gathered.
    pub fn set(self, context: &Context, setting: &Setting) -> Galley {
        let measure = Measure {
            width: setting.width,
            justified: setting.justified,
            hyphenate: setting.hyphenate,
            balanced: setting.balanced,
            tabular: setting.tabular,
            language: context.language,
        };
        let paragraph = context.faces.set_paragraph(&self.pieces, &measure);
        let mut remarks = self.remarks;
        note_trouble(&paragraph, &self.pieces, &mut remarks);
        let vertical = context.faces.vertical(&setting.look);
        let pitch = context.pitch(setting.look.size.percent(setting.leading));
        let count = paragraph.lines.len();
        let mut foot = None;
        let chunks = paragraph
            .lines
            .into_iter()
            .enumerate()
            .map(|(n, line)| {
                let place = Place::new(context, &line, setting, pitch, &vertical, &mut foot);
                let mut chunk = line_chunk(context, line, &self.arts, setting, &place);
                // No widow, no orphan: the first two lines stay together, and the last two.
                chunk.keep = (n == 0 && count > 1) || n + 2 == count;
                chunk
            })
            .collect();
        Galley { kind: setting.kind, text: self.text, chunks, remarks, ..Galley::default() }
    }
}

pub(super) const JOINER: &str = "\u{2060}";
pub(super) const ZERO_SPACE: &str = "\u{200b}";

/// A text from elsewhere (an address, a number, a date, the words on a key) that must not be torn apart where it stands among
/// words that run from right to left.
pub fn isolated<'a>(context: &Context, text: &'a str) -> Cow<'a, str> {
    if context.language.is_rtl() { Cow::Owned(format!("{ISOLATE}{text}{END_OF_ISOLATE}")) } else { Cow::Borrowed(text) }
}

/// What a line says: what stands in it for its objects is put in their places.
fn said(line: &Line, arts: &[Art]) -> String {
    let text = unmarked(&line.text);
    if !text.contains(OBJECT) {
        return text.into_owned();
    }
    let ids = line.fragments.iter().filter_map(|fragment| match fragment.ink {
        FragmentInk::Object { id } => Some(id),
        FragmentInk::Glyphs { .. } => None,
    });
    // Objects are numbered as they are written; on the line they stand as they are read.
    let mut ids: Vec<usize> = ids.collect();
    ids.sort_unstable();
    let mut said = String::with_capacity(text.len());
    let mut ids = ids.into_iter();
    for c in text.chars() {
        match (c == OBJECT).then(|| ids.next()).flatten().and_then(|id| arts.get(id)) {
            Some(art) => said.push_str(&art.text),
            None => said.push(c),
        }
    }
    said
}

/// The text without the marks that [`isolated`] puts around it, and without places to break that show nothing.
pub fn unmarked(text: &str) -> Cow<'_, str> {
    const MARKS: [char; 4] = ['\u{2068}', '\u{2069}', '\u{200b}', '\u{2060}'];
    if text.contains(MARKS) { Cow::Owned(text.replace(MARKS, "")) } else { Cow::Borrowed(text) }
}

/// One line of text that is never broken.
pub fn one_line(context: &Context, text: &str, look: Type, span: Span, remarks: &mut Vec<Remark>) -> Line {
    let pieces = [Piece { content: bare(text, look), span }];
    let mut paragraph = context.faces.set_line(&pieces, context.language);
    note_trouble(&paragraph, &pieces, remarks);
    match paragraph.lines.len() {
        0 => Line {
            fragments: Vec::new(),
            width: Dots(0),
            ascent: Dots(0),
            descent: Dots(0),
            text: String::new(),
            span,
            hyphenated: false,
            forced: false,
        },
        _ => paragraph.lines.swap_remove(0),
    }
}

/// A text with no markup, set.
pub fn plain(context: &Context, text: &str, setting: &Setting) -> Galley {
    let mut gathering = Gathering::new(setting.width);
    gathering.push_text(text, setting.look, setting.span);
    gathering.set(context, setting)
}

/// Characters that no face has, and words that had to be broken where no break is allowed.
fn note_trouble(paragraph: &Paragraph, pieces: &[Piece], remarks: &mut Vec<Remark>) {
    for &(character, piece) in &paragraph.missing {
        remarks.push(Remark {
            rule: "missing-glyph",
            level: Level::Error,
            message: format!("no face has a glyph for {character:?} (U+{:04X})", u32::from(character)),
            hint: Some("write it in another way, or name a face that has it under [faces] in the header".into()),
            span: pieces.get(piece).map(|piece| piece.span).unwrap_or_default(),
        });
    }
    for line in paragraph.lines.iter().filter(|line| line.forced) {
        let word = line.text.split_whitespace().last().unwrap_or_default();
        let shown: String = word.chars().take(24).collect();
        remarks.push(Remark {
            rule: "broken-word",
            level: Level::Warning,
            message: format!("{shown:?} does not fit the column and is broken where no hyphenation point stands"),
            hint: Some("shorten it, or put a soft hyphen (U+00AD) where it may be broken".into()),
            span: line.span,
        });
    }
}

pub(super) fn bare(text: &str, look: Type) -> Content<'_> {
    Content::Text { text, look, strike: false, rise: Dots(0), verbatim: false }
}

/// Where a line stands in its chunk, in dots from the chunk's top.
struct Place {
    baseline: Dots,
    height: Dots,
}

impl Place {
    /// `foot` is how much of the line before stands above this one: the white between its ink and the end of its chunk.
    fn new(
        context: &Context,
        line: &Line,
        setting: &Setting,
        pitch: Dots,
        vertical: &Vertical,
        foot: &mut Option<Dots>,
    ) -> Place {
        let lead = (pitch - vertical.ascent - vertical.descent) / 2;
        let above = lead.max(Dots(0)) + vertical.ascent;
        // Something taller than the type pushes its own line apart, and only as far as it must.
        let mut baseline = if line.ascent > above { line.ascent + Dots(1) } else { above };
        let below = pitch - above;
        let under = if line.descent > below { line.descent + Dots(1) } else { below };
        // So do accents that would meet the descenders of the line above, or what stands above a heading.
        let plain = !setting.is_tight() && line.text.is_ascii();
        let (up, down) = if plain { (line.ascent, line.descent) } else { context.faces.reach(line) };
        match foot {
            Some(white) => baseline = baseline.max(up + Dots(1 + i32::from(setting.is_tight())) - *white),
            None if setting.is_tight() => baseline = baseline.max(up),
            None => {}
        }
        *foot = Some(under - down);
        Place { baseline, height: baseline + under }
    }
}

fn line_chunk(context: &Context, line: Line, arts: &[Art], setting: &Setting, place: &Place) -> Chunk {
    let Place { baseline, height } = *place;
    // Set from right to left, a line is flush with the right end of its measure, and all that is spare stands before its ink.
    let rtl = context.language.is_rtl();
    let first = line.indent();
    let spare = if rtl { first } else { (setting.width - (line.width - first)).max(Dots(0)) };
    let x = match (setting.align, rtl) {
        (Position::Start, _) => Dots(0),
        (Position::Centre, false) => spare / 2,
        (Position::Centre, true) => -spare / 2,
        (Position::End, false) => spare,
        (Position::End, true) => -spare,
    };
    let mut chunk = Chunk { height, ..Chunk::default() };
    chunk.boxes.push(Boxed {
        kind: "line",
        x: x + first,
        y: Dots(0),
        width: if rtl { line.width - first } else { line.width }.max(Dots(1)),
        height,
        span: line.span,
        text: said(&line, arts),
    });
    let mut objects = Vec::new();
    for fragment in &line.fragments {
        if let FragmentInk::Object { id } = fragment.ink
            && let Some(art) = arts.get(id)
        {
            for mark in &art.marks {
                let mut mark = mark.clone();
                mark.shift(x + fragment.x, baseline);
                objects.push(mark);
            }
            chunk.boxes.extend(art.boxes.iter().cloned().map(|mut boxed| {
                boxed.x += x + fragment.x;
                boxed.y += baseline;
                boxed
            }));
        }
    }
    chunk.marks.push(Mark::Text { x, baseline, measure: setting.width, line: Arc::new(line), white: setting.white });
    chunk.marks.extend(objects);
    if rtl {
        // The galley will be mirrored as a whole; inside a line everything stands where shaping put it.
        chunk.mirror(setting.width);
    }
    chunk
}
