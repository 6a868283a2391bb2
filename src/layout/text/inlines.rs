//! Inlines to the pieces of a paragraph: emphasis, keys, code, pictures in the line, calls of notes.

use std::sync::Arc;

use super::gathering::{Art, Gathering, JOINER, ZERO_SPACE, bare, isolated, one_line};
use super::setting::Setting;
use crate::bitmap::Ink;
use crate::geometry::{Rect, Size};
use crate::language::{END_OF_ISOLATE, ISOLATE, Language, by_quantity};
use crate::layout::context::Context;
use crate::layout::galley::{Boxed, Galley, Mark};
use crate::layout::lacking::{Lack, frame};
use crate::layout::signals::Asked;
use crate::lengths::{Dots, Pt};
use crate::manual::document::{Inline, InlineKind, Treatment, plain_text};
use crate::manual::source::Span;
use crate::pictures::Request;
use crate::pictures::signals::{Cap, Form, is_signal};
use crate::type_setting::{Content, Family, Line, Piece, Type};

/// Inlines, set.
pub fn inlines(context: &Context, inlines: &[Inline], setting: &Setting) -> Galley {
    let mut gathering = Gathering::new(setting.width);
    gathering.push_inlines(context, inlines, setting.look, setting.white);
    gathering.set(context, setting)
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
    fn small(self, context: &Context, high: bool) -> Hand {
        let x_height = context.faces.vertical(&self.look).x_height;
        let shift = if high { x_height * 3 / 5 } else { -x_height / 4 };
        let size = if self.rise == Dots(0) { self.look.size.percent(70) } else { self.look.size };
        Hand { look: Type { size, ..self.look }, rise: self.rise + shift, ..self }
    }
}

impl<'a> Gathering<'a> {
    pub fn push_inlines(&mut self, context: &Context, inlines: &'a [Inline], look: Type, white: bool) {
        self.walk(context, inlines, Hand { look, strike: false, rise: Dots(0) }, white);
    }

    fn walk(&mut self, context: &Context, inlines: &'a [Inline], hand: Hand, white: bool) {
        let Hand { look, strike, rise } = hand;
        let squares = matches!(context.language, Language::Japanese | Language::SimplifiedChinese | Language::TraditionalChinese);
        for (n, inline) in inlines.iter().enumerate() {
            let after_square = squares && self.text.chars().next_back().is_some_and(is_square);
            match &inline.kind {
                // What Markdown needs beside its stars, and where the writer's line ended, is no space between two squares.
                InlineKind::Text(text) if after_square && text.trim_start().starts_with(is_square) => {
                    self.push(text.trim_start(), look, strike, rise, inline.span);
                }
                InlineKind::SoftBreak if after_square && inlines.get(n + 1).is_some_and(begins_square) => {}
                InlineKind::Text(text) => self.words(context, text, hand, inline.span),
                InlineKind::Strong(inner) => {
                    // Lettering that is bold already leans over.
                    let italic = look.italic || look.family == Family::Lettering && look.bold;
                    self.walk(context, inner, Hand { look: Type { bold: true, italic, ..stressed(look) }, ..hand }, white)
                }
                InlineKind::Emphasis(inner) => {
                    self.walk(context, inner, Hand { look: Type { italic: !look.italic, ..stressed(look) }, ..hand }, white)
                }
                InlineKind::Strike(inner) => self.walk(context, inner, Hand { strike: true, ..hand }, white),
                InlineKind::Subscript(inner) => self.walk(context, inner, hand.small(context, false), white),
                InlineKind::Superscript(inner) => self.walk(context, inner, hand.small(context, true), white),
                InlineKind::Link { text, note, .. } => {
                    self.walk(context, text, hand, white);
                    if let Some(number) = note {
                        self.note_call(context, *number, look, white, inline.span);
                    }
                }
                InlineKind::NoteCall(number) => self.note_call(context, *number, look, white, inline.span),
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
                        false => one_line(context, &tail, look, inline.span, &mut Vec::new()).width + Dots(1),
                    };
                    self.key(context, label, self.width - width, look, white, inline.span);
                }
                InlineKind::Picture(picture) => self.picture(context, &picture.address, &picture.alt, look, white, inline.span),
            }
        }
    }

    /// A text; of one that runs from right to left each quantity keeps its own direction.
    fn words(&mut self, context: &Context, text: &'a str, Hand { look, strike, rise }: Hand, span: Span) {
        let mut push = |part| self.push(part, look, strike, rise, span);
        if !context.language.is_rtl() {
            return push(text);
        }
        for (piece, is_quantity) in by_quantity(text) {
            match is_quantity {
                true => [ISOLATE, piece, END_OF_ISOLATE].into_iter().for_each(&mut push),
                false => push(piece),
            }
        }
    }

    /// The raised number of a note. A word joiner keeps it with its word, and a comma apart from a number before it.
    fn note_call(&mut self, context: &Context, number: u32, look: Type, white: bool, span: Span) {
        let small = Type { bold: true, italic: false, size: look.size.percent(66), ..look };
        let rise = context.faces.vertical(&look).x_height * 3 / 5;
        let figure = if self.called == self.pieces.len() { format!(",{number}") } else { number.to_string() };
        self.pieces.push(Piece { content: bare(JOINER, look), span });
        let line = one_line(context, &figure, small, span, &mut self.remarks);
        let (width, ascent) = (line.width, rise + line.ascent);
        let marks = vec![Mark::Text { x: Dots(1), baseline: -rise, measure: width, line: Arc::new(line), white }];
        // A box of its own: in the line's text the number would be glued to the word before it.
        let boxes = vec![Boxed { kind: "note-call", x: Dots(1), y: -ascent, width, height: ascent, span, text: figure }];
        self.object(Art { marks, boxes, text: String::new() }, width + Dots(1), ascent, Dots(0), span);
        self.called = self.pieces.len();
    }

    /// A keycap: the label in mono inside a frame with a heavier foot. A key is never parted: what fits no line at the size of the
    /// text is set smaller, down to the style's minimum; what does not fit even then is no key any more but code.
    fn key(&mut self, context: &Context, label: &'a str, room: Dots, look: Type, white: bool, span: Span) {
        self.text.push_str(label);
        let cap = Type { family: Family::Mono, bold: look.bold, italic: false, size: look.size.percent(88) };
        // Spaces inside a cap are kept as they stand.
        let fixed = label.replace(' ', "\u{a0}");
        let fixed = isolated(context, &fixed);
        let least = context.style.type_.minimum.0.min(cap.size);
        let mut size = cap.size;
        loop {
            let set = one_line(context, &fixed, Type { size, ..cap }, span, &mut Vec::new());
            let high = context.faces.vertical(&Type { size, ..cap }).cap_height;
            let (above, below) = context.faces.reach(&set);
            let outline = Cap::new(set.width.0, high.0, context.line(context.style.line.medium).0).around(above.0, below.0);
            if outline.width <= room.0 {
                let line = one_line(context, &fixed, Type { size, ..cap }, span, &mut self.remarks);
                let [width, ascent, descent] = [outline.width, outline.above, outline.below].map(Dots);
                return self.object(keycap(&outline, line, label, white, span), width, ascent, descent, span);
            }
            if size <= least {
                return self.code(context, label, Type { size: cap.size, ..cap }, span);
            }
            size = Pt::from_thousandths(size.thousandths() - 250).max(least);
        }
    }

    /// Code in a line: mono, broken after spaces and where its parts are joined, never divided with a hyphen.
    fn code(&mut self, context: &Context, label: &'a str, look: Type, span: Span) {
        let mut push = |text: &'a str| {
            let content = Content::Text { text, look, strike: false, rise: Dots(0), verbatim: true };
            self.pieces.push(Piece { content, span });
        };
        let rtl = context.language.is_rtl();
        if rtl {
            push(ISOLATE);
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
            push(END_OF_ISOLATE);
        }
    }

    /// A picture in a line: its foot on the baseline, as high as the type.
    fn picture(&mut self, context: &Context, address: &str, alt: &str, look: Type, white: bool, span: Span) {
        let mut lacking = None;
        if is_signal(address) {
            match (Asked { address, alt, form: Form::Icon, look, room: self.width, white, span }).draw(context) {
                Ok(mut drawn) => {
                    self.text.push_str(alt);
                    self.remarks.append(&mut drawn.remarks);
                    let art = Art { marks: drawn.marks, boxes: drawn.boxes, text: String::new() };
                    return self.object(art, drawn.width, drawn.above, drawn.below, span);
                }
                Err(error) => lacking = Some(error),
            }
        }
        let vertical = context.faces.vertical(&look);
        let tall = vertical.cap_height + vertical.cap_height / 4;
        let drawn = lacking.map_or_else(|| context.pictures.look(address), Err).and_then(|info| {
            let Size { width, height } = within(info.width, info.height, tall, self.width);
            let request =
                Request { crop: None, width, height, screen: None, treatment: Treatment::default(), paper: context.paper };
            context.pictures.screen(address, &request).map(|screened| (width, height, screened))
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
                let (frame, _) = frame(context, height * 4 / 3, height, Lack { name: address, why: &error.why(), span });
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
}

/// Whether a character takes a square of its own in Chinese and Japanese.
fn is_square(character: char) -> bool {
    matches!(u32::from(character), 0x2E80..=0x303E | 0x3041..=0x30FF | 0x31F0..=0x31FF | 0x3400..=0x4DBF | 0x4E00..=0x9FFF
        | 0xF900..=0xFAFF | 0xFF01..=0xFF60 | 0xFFE0..=0xFFE6 | 0x20000..=0x3FFFF)
}

fn begins_square(inline: &Inline) -> bool {
    plain_text(std::slice::from_ref(inline)).starts_with(is_square)
}

/// A keycap around its label, white or black.
fn keycap(cap: &Cap, line: Line, label: &str, white: bool, span: Span) -> Art {
    let [x, y, width, height] = [0, -cap.above, cap.width, cap.above + cap.below].map(Dots);
    let mut marks: Vec<Mark> = cap
        .shapes()
        .into_iter()
        .map(|(part, radius, black)| {
            let Rect { x, y, width, height } = part.map(Dots);
            Mark::Round { x, y, width, height, radius: Dots(radius), border: Dots(0), fill: Some(black != white) }
        })
        .collect();
    marks.push(Mark::Text { x: (width - line.width) / 2, baseline: Dots(0), measure: line.width, line: Arc::new(line), white });
    let boxes = vec![Boxed { kind: "key", x, y, width, height, span, text: label.to_string() }];
    Art { marks, boxes, text: label.to_string() }
}

/// Width and height of a picture that is as tall as asked, and no wider than its room; its sides keep their ratio.
pub fn within(wide: u32, high: u32, tall: Dots, room: Dots) -> Size<Dots> {
    let (wide, high) = (i64::from(wide.max(1)), i64::from(high.max(1)));
    let width = (i64::from(tall.0) * wide / high).max(1);
    match width <= i64::from(room.0) {
        true => Size::new(Dots(width as i32), tall),
        false => Size::new(room.max(Dots(1)), Dots((i64::from(room.0) * high / wide).max(1) as i32)),
    }
}

/// Emphasis beside lettering, which has one cut only: the sans has the cuts that it lacks. Bold lettering is a heading's.
fn stressed(look: Type) -> Type {
    if look.family == Family::Lettering && !look.bold { Type { family: Family::Sans, ..look } } else { look }
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
