//! Inlines to lines of text: every paragraph, heading, caption, cell and note is set here.

use std::borrow::Cow;
use std::sync::Arc;

use super::bench::Bench;
use super::frame::{Lack, frame};
use super::galley::{Boxed, Chunk, Galley, Mark};
use super::signals::Asked;
use crate::bitmap::Ink;
use crate::language::Language;
use crate::manual::document::{Inline, InlineKind, Treatment, plain_text};
use crate::manual::source::{Level, Remark, Span};
use crate::pictures::Request;
use crate::pictures::signals::{Cap, Form, is_signal};
use crate::type_setting::{Content, Family, FragmentInk, Line, Measure, OBJECT, Paragraph, Piece, Type, Vertical};
use crate::units::{Dots, Pt};

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
    /// Lines as even as their number allows: no word alone on the last line of a heading or a caption.
    pub balanced: bool,
    /// Figures all take the same width, so that they stand under each other.
    pub tabular: bool,
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
            balanced: false,
            tabular: false,
            leading: 100,
            span,
        }
    }

    /// Small type: captions, notes, legends, cells.
    pub fn small(bench: &Bench, kind: &'static str, width: Dots, span: Span) -> Setting {
        let balanced = kind == "caption";
        Setting { kind, look: bench.small(), justified: false, balanced, ..Setting::body(bench, width, span) }
    }

    /// Headings and labels: balanced, never justified, hyphenated only where a word fits no line.
    pub fn label(kind: &'static str, look: Type, width: Dots, span: Span) -> Setting {
        Setting {
            kind,
            look,
            width,
            align: Position::Start,
            white: false,
            justified: false,
            hyphenate: false,
            balanced: true,
            tabular: false,
            leading: 92,
            span,
        }
    }

    /// Whether lines stand so near to each other that accents could meet descenders.
    fn is_tight(&self) -> bool {
        self.leading < 100
    }
}

/// Something that stands in a line: its marks relative to its left edge on the baseline.
struct Art {
    marks: Vec<Mark>,
    boxes: Vec<Boxed>,
    /// What it says in the text of its line.
    text: String,
}

/// How the text of an inline is set.
#[derive(Clone, Copy)]
struct Hand {
    look: Type,
    strike: bool,
    /// Over the baseline.
    rise: Dots,
}

impl Hand {
    /// Small and high, or small and low, beside what stands before it. Small type inside small type stays as large as it is.
    fn small(self, bench: &Bench, high: bool) -> Hand {
        let x_height = bench.faces.vertical(&self.look).x_height;
        let shift = if high { x_height * 3 / 5 } else { -x_height / 4 };
        let size = if self.rise == Dots(0) { self.look.size.percent(70) } else { self.look.size };
        Hand { look: Type { size, ..self.look }, rise: self.rise + shift, ..self }
    }
}

/// The pieces of a paragraph as they are gathered from its inlines.
pub struct Gathering<'a> {
    /// Room of the lines: nothing that stands in one is made wider.
    width: Dots,
    pieces: Vec<Piece<'a>>,
    arts: Vec<Art>,
    text: String,
    remarks: Vec<Remark>,
    /// How many pieces there were after the last call of a note.
    called: usize,
}

impl<'a> Gathering<'a> {
    /// For lines of that width.
    pub fn new(width: Dots) -> Gathering<'a> {
        Gathering { width, pieces: Vec::new(), arts: Vec::new(), text: String::new(), remarks: Vec::new(), called: usize::MAX }
    }

    pub fn push_text(&mut self, text: &'a str, look: Type, span: Span) {
        self.push(text, look, false, Dots(0), span);
    }

    fn push(&mut self, text: &'a str, look: Type, strike: bool, rise: Dots, span: Span) {
        self.text.push_str(&unmarked(text));
        self.pieces.push(Piece { content: Content::Text { text, look, strike, rise, verbatim: false }, span });
    }

    pub fn push_inlines(&mut self, bench: &Bench, inlines: &'a [Inline], look: Type, white: bool) {
        self.walk(bench, inlines, Hand { look, strike: false, rise: Dots(0) }, white);
    }

    fn walk(&mut self, bench: &Bench, inlines: &'a [Inline], hand: Hand, white: bool) {
        let Hand { look, strike, rise } = hand;
        let squares = matches!(bench.language, Language::Japanese | Language::SimplifiedChinese | Language::TraditionalChinese);
        for (n, inline) in inlines.iter().enumerate() {
            let after_square = squares && self.text.chars().next_back().is_some_and(is_square);
            match &inline.kind {
                // What Markdown needs beside its stars, and where the writer's line ended, is no space between two squares.
                InlineKind::Text(text) if after_square && text.trim_start().starts_with(is_square) => {
                    self.push(text.trim_start(), look, strike, rise, inline.span);
                }
                InlineKind::SoftBreak if after_square && inlines.get(n + 1).is_some_and(begins_square) => {}
                InlineKind::Text(text) => self.push(text, look, strike, rise, inline.span),
                InlineKind::Strong(inner) => {
                    // Lettering that is bold already leans over.
                    let italic = look.italic || look.family == Family::Lettering && look.bold;
                    self.walk(bench, inner, Hand { look: Type { bold: true, italic, ..stressed(look) }, ..hand }, white)
                }
                InlineKind::Emphasis(inner) => {
                    self.walk(bench, inner, Hand { look: Type { italic: !look.italic, ..stressed(look) }, ..hand }, white)
                }
                InlineKind::Strike(inner) => self.walk(bench, inner, Hand { strike: true, ..hand }, white),
                InlineKind::Subscript(inner) => self.walk(bench, inner, hand.small(bench, false), white),
                InlineKind::Superscript(inner) => self.walk(bench, inner, hand.small(bench, true), white),
                InlineKind::Link { text, note, .. } => {
                    self.walk(bench, text, hand, white);
                    if let Some(number) = note {
                        self.note_call(bench, *number, look, white, inline.span);
                    }
                }
                InlineKind::NoteCall(number) => self.note_call(bench, *number, look, white, inline.span),
                InlineKind::SoftBreak => self.push(" ", look, strike, rise, inline.span),
                InlineKind::HardBreak => {
                    self.text.push(' ');
                    self.pieces.push(Piece { content: Content::Break, span: inline.span });
                }
                InlineKind::Key(label) => {
                    // A point or a bracket after a key stands on its line.
                    let next = inlines.get(n + 1).map(|next| plain_text(std::slice::from_ref(next))).unwrap_or_default();
                    let tail: String = next.chars().take_while(|&c| c.is_ascii_punctuation() && c != '(').collect();
                    let width = match tail.is_empty() {
                        true => Dots(0),
                        false => one_line(bench, &tail, look, inline.span, &mut Vec::new()).width + Dots(1),
                    };
                    self.key(bench, label, self.width - width, look, white, inline.span);
                }
                InlineKind::Picture(picture) => self.picture(bench, &picture.address, &picture.alt, look, white, inline.span),
            }
        }
    }

    /// The raised number of a note. A word joiner keeps it with its word, and a comma apart from a number before it.
    fn note_call(&mut self, bench: &Bench, number: u32, look: Type, white: bool, span: Span) {
        let small = Type { bold: true, italic: false, size: look.size.percent(66), ..look };
        let rise = bench.faces.vertical(&look).x_height * 3 / 5;
        let figure = if self.called == self.pieces.len() { format!(",{number}") } else { number.to_string() };
        self.pieces.push(Piece { content: bare(JOINER, look), span });
        let line = one_line(bench, &figure, small, span, &mut self.remarks);
        let (width, ascent) = (line.width, rise + line.ascent);
        let marks = vec![Mark::Text { x: Dots(1), baseline: -rise, measure: width, line: Arc::new(line), white }];
        // A box of its own: in the line's text the number would be glued to the word before it.
        let boxes = vec![Boxed { kind: "note-call", x: Dots(1), y: -ascent, width, height: ascent, span, text: figure }];
        self.object(Art { marks, boxes, text: String::new() }, width + Dots(1), ascent, Dots(0), span);
        self.called = self.pieces.len();
    }

    fn object(&mut self, art: Art, width: Dots, ascent: Dots, descent: Dots, span: Span) {
        let id = self.arts.len();
        self.arts.push(art);
        self.pieces.push(Piece { content: Content::Object { id, width, ascent, descent }, span });
    }

    /// A keycap: the label in mono inside a frame with a heavier foot. A key is never parted: what fits no line at the size of the
    /// text is set smaller, down to the style's minimum; what does not fit even then is no key any more but code.
    fn key(&mut self, bench: &Bench, label: &'a str, room: Dots, look: Type, white: bool, span: Span) {
        self.text.push_str(label);
        let cap = Type { family: Family::Mono, bold: look.bold, italic: false, size: look.size.percent(88) };
        // Spaces inside a cap are kept as they stand.
        let fixed = label.replace(' ', "\u{a0}");
        let fixed = isolated(bench, &fixed);
        let least = bench.style.type_.minimum.0.min(cap.size);
        let mut size = cap.size;
        loop {
            let set = one_line(bench, &fixed, Type { size, ..cap }, span, &mut Vec::new());
            let high = bench.faces.vertical(&Type { size, ..cap }).cap_height;
            let (above, below) = bench.faces.reach(&set);
            let outline = Cap::new(set.width.0, high.0, bench.line(bench.style.line.medium).0).around(above.0, below.0);
            if outline.width <= room.0 {
                let line = one_line(bench, &fixed, Type { size, ..cap }, span, &mut self.remarks);
                let [width, ascent, descent] = [outline.width, outline.above, outline.below].map(Dots);
                return self.object(keycap(&outline, line, label, white, span), width, ascent, descent, span);
            }
            if size <= least {
                return self.code(bench, label, Type { size: cap.size, ..cap }, span);
            }
            size = Pt::from_thousandths(size.thousandths() - 250).max(least);
        }
    }

    /// Code in a line: mono, broken after spaces and where its parts are joined, never divided with a hyphen.
    fn code(&mut self, bench: &Bench, label: &'a str, look: Type, span: Span) {
        let mut push = |text: &'a str| {
            let content = Content::Text { text, look, strike: false, rise: Dots(0), verbatim: true };
            self.pieces.push(Piece { content, span });
        };
        let rtl = bench.language.is_rtl();
        if rtl {
            push("\u{2068}");
        }
        let mut from = 0;
        let mut joints = joints(label).peekable();
        let options =
            label.match_indices("--").map(|(at, _)| at + 2).filter(|&at| label[at..].starts_with(char::is_alphanumeric));
        let mut options = options.peekable();
        // Both come in order: a place where the code may be broken, a place where UAX #14 would break it and nobody should.
        loop {
            let (at, mark) = match (joints.peek().copied(), options.peek().copied()) {
                (None, None) => break,
                (Some(joint), option) if option.is_none_or(|option| joint < option) => {
                    joints.next();
                    (joint, ZERO_SPACE)
                }
                (_, Some(option)) => {
                    options.next();
                    (option, JOINER)
                }
                (Some(_), None) => break,
            };
            push(&label[from..at]);
            push(mark);
            from = at;
        }
        push(&label[from..]);
        if rtl {
            push("\u{2069}");
        }
    }

    /// A picture in a line: its foot on the baseline, as high as the type.
    fn picture(&mut self, bench: &Bench, address: &str, alt: &str, look: Type, white: bool, span: Span) {
        let mut lacking = None;
        if is_signal(address) {
            match (Asked { address, alt, form: Form::Icon, look, room: self.width, white, span }).draw(bench) {
                Ok(mut drawn) => {
                    self.text.push_str(alt);
                    self.remarks.append(&mut drawn.remarks);
                    let art = Art { marks: drawn.marks, boxes: drawn.boxes, text: String::new() };
                    return self.object(art, drawn.width, drawn.above, drawn.below, span);
                }
                Err(error) => lacking = Some(error),
            }
        }
        let vertical = bench.faces.vertical(&look);
        let tall = vertical.cap_height + vertical.cap_height / 4;
        let drawn = lacking.map_or_else(|| bench.album.look(address), Err).and_then(|info| {
            let (width, height) = within(info.width, info.height, tall, self.width);
            let request =
                Request { crop: None, width, height, screen: None, treatment: Treatment::default(), paper: bench.paper };
            bench.album.screen(address, &request).map(|screened| (width, height, screened))
        });
        match drawn {
            Ok((width, height, screened)) => {
                let bitmap = Arc::new(screened.bitmap.clone());
                let ink = if white { Ink::White } else { Ink::Black };
                let y = -height + vertical.cap_height / 8;
                self.text.push_str(alt);
                let boxes = vec![Boxed { kind: "picture", x: Dots(0), y, width, height, span, text: alt.to_string() }];
                let art = Art { marks: vec![Mark::Picture { x: Dots(0), y, bitmap, ink }], boxes, text: String::new() };
                self.object(art, width, -y, vertical.cap_height / 8, span);
            }
            Err(error) => {
                self.remarks.push(error.remark(span));
                self.text.push_str(alt);
                let height = tall;
                let (frame, _) = frame(bench, height * 4 / 3, height, Lack { name: address, why: &error.why(), span });
                let mut art = Art { marks: frame.marks, boxes: frame.boxes, text: String::new() };
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
            justified: setting.justified,
            hyphenate: setting.hyphenate,
            balanced: setting.balanced,
            tabular: setting.tabular,
            language: bench.language,
        };
        let paragraph = bench.faces.set_paragraph(&self.pieces, &measure);
        let mut remarks = self.remarks;
        note_trouble(&paragraph, &self.pieces, &mut remarks);
        let vertical = bench.faces.vertical(&setting.look);
        let pitch = bench.pitch(setting.look.size.percent(setting.leading));
        let count = paragraph.lines.len();
        let mut foot = None;
        let chunks = paragraph
            .lines
            .into_iter()
            .enumerate()
            .map(|(n, line)| {
                let place = Place::new(bench, &line, setting, pitch, &vertical, &mut foot);
                let mut chunk = line_chunk(bench, line, &self.arts, setting, &place);
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
const ZERO_SPACE: &str = "\u{200b}";

/// First strong isolate and its end (UAX #9): what stands between them runs in its own direction.
const ISOLATE: char = '\u{2068}';
const END_OF_ISOLATE: char = '\u{2069}';

/// A text from elsewhere (an address, a number, a date, the words on a key) that must not be torn apart where it stands among
/// words that run from right to left.
pub fn isolated<'a>(bench: &Bench, text: &'a str) -> Cow<'a, str> {
    if bench.language.is_rtl() { Cow::Owned(format!("{ISOLATE}{text}{END_OF_ISOLATE}")) } else { Cow::Borrowed(text) }
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
    const MARKS: [char; 4] = [ISOLATE, END_OF_ISOLATE, '\u{200b}', '\u{2060}'];
    if text.contains(MARKS) { Cow::Owned(text.replace(MARKS, "")) } else { Cow::Borrowed(text) }
}

/// One line of text that is never broken.
pub fn one_line(bench: &Bench, text: &str, look: Type, span: Span, remarks: &mut Vec<Remark>) -> Line {
    let pieces = [Piece { content: bare(text, look), span }];
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
    let mut gathering = Gathering::new(setting.width);
    gathering.push_text(text, setting.look, setting.span);
    gathering.set(bench, setting)
}

/// Inlines, set.
pub fn inlines(bench: &Bench, inlines: &[Inline], setting: &Setting) -> Galley {
    let mut gathering = Gathering::new(setting.width);
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

/// A keycap around its label, white or black.
fn keycap(cap: &Cap, line: Line, label: &str, white: bool, span: Span) -> Art {
    let [x, y, width, height] = [0, -cap.above, cap.width, cap.above + cap.below].map(Dots);
    let mut marks: Vec<Mark> = cap
        .shapes()
        .into_iter()
        .map(|([x, y, width, height], radius, black)| {
            let [x, y, width, height, radius] = [x, y, width, height, radius].map(Dots);
            Mark::Round { x, y, width, height, radius, border: Dots(0), fill: Some(black != white) }
        })
        .collect();
    marks.push(Mark::Text { x: (width - line.width) / 2, baseline: Dots(0), measure: line.width, line: Arc::new(line), white });
    let boxes = vec![Boxed { kind: "key", x, y, width, height, span, text: label.to_string() }];
    Art { marks, boxes, text: label.to_string() }
}

/// Width and height of a picture that is as tall as asked, and no wider than its room; its sides keep their ratio.
pub fn within(wide: u32, high: u32, tall: Dots, room: Dots) -> (Dots, Dots) {
    let (wide, high) = (i64::from(wide.max(1)), i64::from(high.max(1)));
    let width = (i64::from(tall.0) * wide / high).max(1);
    match width <= i64::from(room.0) {
        true => (Dots(width as i32), tall),
        false => (room.max(Dots(1)), Dots((i64::from(room.0) * high / wide).max(1) as i32)),
    }
}

/// Emphasis beside lettering, which has one cut only: the sans has the cuts that it lacks. Bold lettering is a heading's.
fn stressed(look: Type) -> Type {
    if look.family == Family::Lettering && !look.bold { Type { family: Family::Sans, ..look } } else { look }
}

fn bare(text: &str, look: Type) -> Content<'_> {
    Content::Text { text, look, strike: false, rise: Dots(0), verbatim: false }
}

/// Byte offsets at which code and addresses may be broken: after the signs that join their parts.
pub fn joints(code: &str) -> impl Iterator<Item = usize> + '_ {
    let mut before_that = ' ';
    let joins = |c: char| matches!(c, '/' | '.' | '?' | '&' | '=' | '-' | '_' | '#' | ':' | ',' | ';' | '|' | '>' | '\\');
    let mut before = ' ';
    code.char_indices().filter_map(move |(at, c)| {
        // The hyphens that begin an option belong to it.
        let begins = before == '-' && !before_that.is_alphanumeric();
        let joint = joins(before) && c.is_alphanumeric() && !begins;
        (before_that, before) = (before, c);
        joint.then_some(at)
    })
}

/// Where a line stands in its chunk, in dots from the chunk's top.
struct Place {
    baseline: Dots,
    height: Dots,
}

impl Place {
    /// `foot` is how much of the line before stands above this one: the white between its ink and the end of its chunk.
    fn new(bench: &Bench, line: &Line, setting: &Setting, pitch: Dots, vertical: &Vertical, foot: &mut Option<Dots>) -> Place {
        let lead = (pitch - vertical.ascent - vertical.descent) / 2;
        let above = lead.max(Dots(0)) + vertical.ascent;
        // Something taller than the type pushes its own line apart, and only as far as it must.
        let mut baseline = if line.ascent > above { line.ascent + Dots(1) } else { above };
        let below = pitch - above;
        let under = if line.descent > below { line.descent + Dots(1) } else { below };
        // So do accents that would meet the descenders of the line above, or what stands above a heading.
        let plain = !setting.is_tight() && line.text.is_ascii();
        let (up, down) = if plain { (line.ascent, line.descent) } else { bench.faces.reach(line) };
        match foot {
            Some(white) => baseline = baseline.max(up + Dots(1 + i32::from(setting.is_tight())) - *white),
            None if setting.is_tight() => baseline = baseline.max(up),
            None => {}
        }
        *foot = Some(under - down);
        Place { baseline, height: baseline + under }
    }
}

fn line_chunk(bench: &Bench, line: Line, arts: &[Art], setting: &Setting, place: &Place) -> Chunk {
    let Place { baseline, height } = *place;
    // Set from right to left, a line is flush with the right end of its measure, and all that is spare stands before its ink.
    let rtl = bench.language.is_rtl();
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
