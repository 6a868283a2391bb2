//! Inlines to lines of text: every paragraph, heading, caption, cell and note is set here.

use std::borrow::Cow;
use std::sync::Arc;

use super::bench::Bench;
use super::frame::{Lack, frame};
use super::galley::{Boxed, Chunk, Galley, Mark};
use crate::bitmap::Ink;
use crate::language::Language;
use crate::manual::document::{Inline, InlineKind, plain_text};
use crate::manual::source::{Level, Remark, Span};
use crate::pictures::Request;
use crate::type_setting::{Content, Family, FragmentInk, Line, Measure, Paragraph, Piece, Type};
use crate::units::Dots;

/// How a run of inlines is to be set.
#[derive(Clone, Debug)]
pub struct Setting {
    pub kind: &'static str,
    pub look: Type,
    pub width: Dots,
    pub align: Position,
    /// Reverse type.
    pub white: bool,
    pub justified: bool,
    pub hyphenate: bool,
    /// Distance of two baselines, in % of what the style gives running text.
    pub leading: i32,
    /// Of the block, relative.
    pub span: Span,
}

/// Where a line stands in its measure. Start and end follow the direction of the language.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Position {
    #[default]
    Start,
    Centre,
    End,
}

impl Setting {
    /// Running text of the style.
    pub fn body(bench: &Bench, width: Dots, span: Span) -> Setting {
        Setting {
            kind: "paragraph",
            look: bench.body(),
            width,
            align: Position::Start,
            white: false,
            justified: bench.style.type_.justified,
            hyphenate: bench.style.type_.hyphenate,
            leading: 100,
            span,
        }
    }

    /// Small type: captions, notes, legends, cells.
    pub fn small(bench: &Bench, kind: &'static str, width: Dots, span: Span) -> Setting {
        Setting { kind, look: bench.small(), justified: false, ..Setting::body(bench, width, span) }
    }

    /// Headings and labels: never hyphenated, never justified.
    pub fn label(kind: &'static str, look: Type, width: Dots, span: Span) -> Setting {
        Setting { kind, look, width, align: Position::Start, white: false, justified: false, hyphenate: false, leading: 92, span }
    }
}

/// Something that stands in a line: its marks relative to its left edge on the baseline.
struct Art {
    marks: Vec<Mark>,
    boxes: Vec<Boxed>,
}

/// The pieces of a paragraph as they are gathered from its inlines.
pub struct Gathering<'a> {
    pieces: Vec<Piece<'a>>,
    arts: Vec<Art>,
    text: String,
    remarks: Vec<Remark>,
}

impl<'a> Gathering<'a> {
    pub fn new() -> Gathering<'a> {
        Gathering { pieces: Vec::new(), arts: Vec::new(), text: String::new(), remarks: Vec::new() }
    }

    pub fn push_text(&mut self, text: &'a str, look: Type, span: Span) {
        self.push(text, look, false, Dots(0), span);
    }

    fn push(&mut self, text: &'a str, look: Type, strike: bool, rise: Dots, span: Span) {
        self.text.push_str(&unmarked(text));
        self.pieces.push(Piece { content: Content::Text { text, look, strike, rise }, span });
    }

    pub fn push_inlines(&mut self, bench: &Bench, inlines: &'a [Inline], look: Type, white: bool) {
        self.walk(bench, inlines, look, false, white);
    }

    fn walk(&mut self, bench: &Bench, inlines: &'a [Inline], look: Type, strike: bool, white: bool) {
        let squares = matches!(bench.language, Language::Japanese | Language::SimplifiedChinese);
        for (n, inline) in inlines.iter().enumerate() {
            let after_square = squares && self.text.chars().next_back().is_some_and(is_square);
            match &inline.kind {
                // What Markdown needs beside its stars, and where the writer's line ended, is no space between two squares.
                InlineKind::Text(text) if after_square && text.trim_start().starts_with(is_square) => {
                    self.push(text.trim_start(), look, strike, Dots(0), inline.span);
                }
                InlineKind::SoftBreak if after_square && inlines.get(n + 1).is_some_and(begins_square) => {}
                InlineKind::Text(text) => self.push(text, look, strike, Dots(0), inline.span),
                InlineKind::Strong(inner) => self.walk(bench, inner, Type { bold: true, ..look }, strike, white),
                InlineKind::Emphasis(inner) => self.walk(bench, inner, Type { italic: !look.italic, ..look }, strike, white),
                InlineKind::Strike(inner) => self.walk(bench, inner, look, true, white),
                InlineKind::Link { text, note } => {
                    self.walk(bench, text, look, strike, white);
                    if let Some(number) = note {
                        self.note_call(bench, *number, look, white, inline.span);
                    }
                }
                InlineKind::NoteCall(number) => self.note_call(bench, *number, look, white, inline.span),
                InlineKind::SoftBreak => self.push(" ", look, strike, Dots(0), inline.span),
                InlineKind::HardBreak => {
                    self.text.push(' ');
                    self.pieces.push(Piece { content: Content::Break, span: inline.span });
                }
                InlineKind::Key(label) => self.key(bench, label, look, white, inline.span),
                InlineKind::Picture(picture) => self.picture(bench, &picture.address, &picture.alt, look, white, inline.span),
            }
        }
    }

    /// The raised number of a note. A word joiner keeps it with its word.
    fn note_call(&mut self, bench: &Bench, number: u32, look: Type, white: bool, span: Span) {
        let small = Type { bold: true, italic: false, size: look.size.percent(66), ..look };
        let rise = bench.faces.vertical(&look).x_height * 3 / 5;
        self.pieces.push(Piece { content: Content::Text { text: JOINER, look, strike: false, rise: Dots(0) }, span });
        let figure = number.to_string();
        let line = one_line(bench, &figure, small, span, &mut self.remarks);
        self.text.push_str(&figure);
        let (width, ascent) = (line.width, rise + line.ascent);
        let marks = vec![Mark::Text { x: Dots(1), baseline: -rise, measure: width, line: Arc::new(line), white }];
        self.object(Art { marks, boxes: Vec::new() }, width + Dots(1), ascent, Dots(0), span);
    }

    fn object(&mut self, art: Art, width: Dots, ascent: Dots, descent: Dots, span: Span) {
        let id = self.arts.len();
        self.arts.push(art);
        self.pieces.push(Piece { content: Content::Object { id, width, ascent, descent }, span });
    }

    /// A keycap: the label in mono inside a frame with a heavier foot. A label too long for a cap is set as several.
    fn key(&mut self, bench: &Bench, label: &str, look: Type, white: bool, span: Span) {
        self.text.push_str(label);
        let cap = Type { family: Family::Mono, bold: look.bold, italic: false, size: look.size.percent(88) };
        let vertical = bench.faces.vertical(&cap);
        let unit = bench.line(bench.style.line.medium).max(Dots(1)) / 2;
        let border = unit.max(Dots(1));
        let side = Dots((vertical.cap_height.0 * 3 / 10).max(3));
        let (above, below) = (side.max(Dots(3)), side.max(Dots(3)) + border);
        let most = bench.column() * 2 / 5;
        for (n, part) in key_parts(bench, label, cap, most - side * 2).into_iter().enumerate() {
            if n > 0 {
                self.pieces.push(Piece { content: Content::Text { text: " ", look, strike: false, rise: Dots(0) }, span });
            }
            let line = one_line(bench, &isolated(bench, &part), cap, span, &mut self.remarks);
            let width = line.width.max(vertical.cap_height / 2) + side * 2 + border * 2;
            let (top, height) = (-vertical.cap_height - above, vertical.cap_height + above + below);
            let radius = side;
            let marks = vec![
                Mark::Round { x: Dots(0), y: top, width, height, radius, border: Dots(0), fill: Some(!white) },
                Mark::Round {
                    x: border,
                    y: top + border,
                    width: width - border * 2,
                    height: height - border * 3,
                    radius: radius - border,
                    border: Dots(0),
                    fill: Some(white),
                },
                Mark::Text { x: (width - line.width) / 2, baseline: Dots(0), measure: line.width, line: Arc::new(line), white },
            ];
            let boxes = vec![Boxed { kind: "key", x: Dots(0), y: top, width, height, span, text: part }];
            self.object(Art { marks, boxes }, width, -top, below, span);
        }
    }

    /// A picture in a line: its foot on the baseline, as high as the type.
    fn picture(&mut self, bench: &Bench, address: &str, alt: &str, look: Type, white: bool, span: Span) {
        let vertical = bench.faces.vertical(&look);
        let height = vertical.cap_height + vertical.cap_height / 4;
        let drawn = bench.album.look(address).and_then(|info| {
            let width = Dots(
                (i64::from(height.0) * i64::from(info.width) / i64::from(info.height.max(1)))
                    .clamp(1, i64::from(bench.column().0)) as i32,
            );
            let request = Request { crop: None, width, height, screen: None, paper: bench.paper };
            bench.album.screen(address, &request).map(|screened| (width, screened))
        });
        match drawn {
            Ok((width, screened)) => {
                let bitmap = Arc::new(screened.bitmap.clone());
                let ink = if white { Ink::White } else { Ink::Black };
                let y = -height + vertical.cap_height / 8;
                self.text.push_str(alt);
                let boxes = vec![Boxed { kind: "picture", x: Dots(0), y, width, height, span, text: alt.to_string() }];
                let art = Art { marks: vec![Mark::Picture { x: Dots(0), y, bitmap, ink }], boxes };
                self.object(art, width, -y, vertical.cap_height / 8, span);
            }
            Err(error) => {
                self.remarks.push(super::picture_remark(&error, span));
                self.text.push_str(alt);
                let (frame, _) = frame(bench, height * 4 / 3, height, Lack { name: address, why: &error.why(), span });
                let mut art = Art { marks: frame.marks, boxes: frame.boxes };
                let foot = vertical.cap_height / 8;
                art.marks.iter_mut().for_each(|mark| mark.shift(Dots(0), foot - height));
                art.boxes.iter_mut().for_each(|boxed| {
                    boxed.y += foot - height;
                    boxed.text = alt.to_string();
                });
                self.object(art, height * 4 / 3, height - foot, foot, span);
            }
        }
    }

    /// Sets what was gathered.
    pub fn set(self, bench: &Bench, setting: &Setting) -> Galley {
        let measure = Measure {
            width: setting.width,
            first: None,
            justified: setting.justified,
            hyphenate: setting.hyphenate,
            language: bench.language,
        };
        let paragraph = bench.faces.set_paragraph(&self.pieces, &measure);
        let mut remarks = self.remarks;
        note_trouble(&paragraph, &self.pieces, &mut remarks);
        let vertical = bench.faces.vertical(&setting.look);
        let pitch = bench.pitch(setting.look.size.percent(setting.leading));
        let count = paragraph.lines.len();
        let chunks = paragraph
            .lines
            .into_iter()
            .enumerate()
            .map(|(n, line)| {
                let mut chunk = line_chunk(bench, line, &self.arts, setting, pitch, vertical.ascent, vertical.descent);
                // No widow, no orphan: the first two lines stay together, and the last two.
                chunk.keep = (n == 0 && count > 1) || n + 2 == count;
                chunk
            })
            .collect();
        Galley { kind: setting.kind, text: self.text, chunks, remarks, ..Galley::default() }
    }
}

/// Whether a character takes a square of its own in Chinese and Japanese.
fn is_square(character: char) -> bool {
    matches!(u32::from(character), 0x2E80..=0x303E | 0x3041..=0x30FF | 0x31F0..=0x31FF | 0x3400..=0x4DBF | 0x4E00..=0x9FFF
        | 0xF900..=0xFAFF | 0xFF01..=0xFF60 | 0xFFE0..=0xFFE6 | 0x20000..=0x3FFFF)
}

fn begins_square(inline: &Inline) -> bool {
    plain_text(std::slice::from_ref(inline)).starts_with(is_square)
}

const JOINER: &str = "\u{2060}";

/// First strong isolate and its end (UAX #9): what stands between them runs in its own direction.
const ISOLATE: char = '\u{2068}';
const END_OF_ISOLATE: char = '\u{2069}';

/// A text from elsewhere (an address, a number, a date, the words on a key) that must not be torn apart where it stands among
/// words that run from right to left.
pub fn isolated<'a>(bench: &Bench, text: &'a str) -> Cow<'a, str> {
    if bench.language.is_rtl() { Cow::Owned(format!("{ISOLATE}{text}{END_OF_ISOLATE}")) } else { Cow::Borrowed(text) }
}

/// The text without the marks that [`isolated`] puts around it, and without places to break that show nothing.
pub fn unmarked(text: &str) -> Cow<'_, str> {
    const MARKS: [char; 3] = [ISOLATE, END_OF_ISOLATE, '\u{200b}'];
    if text.contains(MARKS) { Cow::Owned(text.replace(MARKS, "")) } else { Cow::Borrowed(text) }
}

/// One line of text that is never broken.
pub fn one_line(bench: &Bench, text: &str, look: Type, span: Span, remarks: &mut Vec<Remark>) -> Line {
    let pieces = [Piece { content: Content::Text { text, look, strike: false, rise: Dots(0) }, span }];
    let mut paragraph = bench.faces.set_line(&pieces, bench.language);
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
pub fn plain(bench: &Bench, text: &str, setting: &Setting) -> Galley {
    let mut gathering = Gathering::new();
    gathering.push_text(text, setting.look, setting.span);
    gathering.set(bench, setting)
}

/// Inlines, set.
pub fn inlines(bench: &Bench, inlines: &[Inline], setting: &Setting) -> Galley {
    let mut gathering = Gathering::new();
    gathering.push_inlines(bench, inlines, setting.look, setting.white);
    gathering.set(bench, setting)
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

/// The parts that a key's label is set in: whole when it fits, else by words, else by as many characters as fit.
fn key_parts(bench: &Bench, label: &str, cap: Type, most: Dots) -> Vec<String> {
    let width = |text: &str| one_line(bench, text, cap, Span::default(), &mut Vec::new()).width;
    // Spaces inside a cap are kept as they stand.
    let fixed = |text: &str| text.replace(' ', "\u{a0}");
    if width(&fixed(label)) <= most {
        return vec![fixed(label)];
    }
    let mut parts = Vec::new();
    for word in label.split_whitespace() {
        if width(word) <= most {
            parts.push(word.to_string());
            continue;
        }
        let each = (width(word).0 / word.chars().count().max(1) as i32).max(1);
        let fitting = (most.0 / each).max(1) as usize;
        let characters: Vec<char> = word.chars().collect();
        parts.extend(characters.chunks(fitting).map(|part| part.iter().collect::<String>()));
    }
    parts
}

fn line_chunk(bench: &Bench, line: Line, arts: &[Art], setting: &Setting, pitch: Dots, ascent: Dots, descent: Dots) -> Chunk {
    let lead = (pitch - ascent - descent) / 2;
    let above = lead.max(Dots(0)) + ascent;
    // Something taller than the type pushes its own line apart, and only as far as it must.
    let baseline = if line.ascent > above { line.ascent + Dots(1) } else { above };
    let below = pitch - above;
    let height = baseline + if line.descent > below { line.descent + Dots(1) } else { below };
    // Set from right to left, a line is flush with the right end of its measure, and all that is spare stands before its ink.
    let rtl = bench.language.is_rtl();
    let first = line.fragments.iter().map(|fragment| fragment.x).min().unwrap_or_default();
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
        text: unmarked(&line.text).into_owned(),
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
