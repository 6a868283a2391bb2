//! A paragraph as one endless line: its text put together from the pieces, shaped unit by unit, with the white between.
//!
//! Knows where lines may end, never where they do.

use std::ops::Range;
use std::sync::Arc;

use unicode_bidi::{BidiInfo, Level};

use super::breaks::{parts_a_number, precedes_spaced_dash};
use super::faces::{Faces, Kept, Look};
use super::unit::{Part, Unit, edge, whole_dots};
use super::{Content, Family, OBJECT, Piece};
use crate::language::Language;

/// Line breaking sees an ideographic character where an object stands.
const IDEOGRAPH: char = '\u{4E00}';
const SOFT_HYPHEN: char = '\u{AD}';

/// One thing in the line: a unit of text or an object.
#[derive(Debug)]
pub(super) struct Slug {
    /// Index of its piece.
    pub piece: usize,
    /// Its bytes in the stretch's text.
    pub range: Range<usize>,
    pub body: Body,
    /// The spaces that follow: width in 1/64 dot, number.
    pub space: i32,
    pub spaces: usize,
    /// Whether a line may end after it.
    pub breakable: bool,
    /// A line may end after it by UAX #14, and shall not: a number stands here, and what it counts stands next.
    pub held: bool,
    pub level: Level,
    /// Level of the white after it.
    pub white_level: Level,
    /// Dots from the paragraph's begin to its ink, in logical order.
    pub at: i32,
    /// White between its ink and the next slug's, in dots.
    pub white: i32,
    /// Width of all spaces in front of it, in 1/64 dot.
    pub give: i32,
}

#[derive(Debug)]
pub(super) enum Body {
    Text { part: Part, look: Look },
    Object { id: usize, width: i32 },
}

impl Body {
    pub fn ink(&self) -> i32 {
        match self {
            Body::Text { part, .. } => part.ink,
            Body::Object { width, .. } => *width,
        }
    }

    pub fn before(&self) -> i32 {
        match self {
            Body::Text { part, .. } => part.before,
            Body::Object { .. } => 0,
        }
    }

    pub fn after(&self) -> i32 {
        match self {
            Body::Text { part, .. } => part.after,
            Body::Object { .. } => 0,
        }
    }
}

/// Text between two forced line ends, ready to be broken.
#[derive(Debug, Default)]
pub(super) struct Stretch {
    pub text: String,
    pub slugs: Vec<Slug>,
    /// White in front of the first slug where spaces at the begin are kept, in 1/64 dot, and their number.
    pub lead: i32,
    pub lead_spaces: usize,
    /// Byte offsets of the writer's soft hyphens, which are not in the text.
    pub soft: Vec<usize>,
    /// The pieces it is made of: first and one past the last, for an empty stretch too.
    pub pieces: Range<usize>,
}

/// Whether a space of the writer's that a line may break at and that runs together with its neighbours.
fn is_space(c: char) -> bool {
    matches!(c, ' ' | '\t' | '\n' | '\r' | '\u{C}' | '\u{B}' | '\u{85}' | '\u{2028}' | '\u{2029}')
}

/// The text of one stretch, before shaping.
#[derive(Default)]
struct Copy {
    text: String,
    /// Where each piece begins in the text.
    starts: Vec<(usize, usize)>,
    soft: Vec<usize>,
    objects: bool,
    pieces: Range<usize>,
}

/// How the pieces of a paragraph become stretches.
#[derive(Clone, Copy, Debug)]
pub(super) struct Manner {
    pub language: Language,
    /// Runs of spaces count as one.
    pub collapse: bool,
    /// Figures all take the same width.
    pub tabular: bool,
}

/// Sets the pieces as stretches, one between each two forced line ends. A paragraph runs as its language does (UAX #9, HL1):
/// a value in another writing never turns it round.
pub(super) fn stretches(faces: &Faces, pieces: &[Piece<'_>], manner: Manner) -> (Vec<Stretch>, Level) {
    let collapse = manner.collapse;
    let mut copies = vec![Copy::default()];
    for (index, piece) in pieces.iter().enumerate() {
        let Some(copy) = copies.last_mut() else { break };
        copy.pieces.end = index + 1;
        match &piece.content {
            Content::Break => copies.push(Copy { pieces: index + 1..index + 1, ..Copy::default() }),
            Content::Object { .. } => {
                copy.starts.push((copy.text.len(), index));
                copy.text.push(OBJECT);
                copy.objects = true;
            }
            Content::Text { text, .. } => {
                copy.starts.push((copy.text.len(), index));
                for c in text.chars() {
                    match c {
                        SOFT_HYPHEN => copy.soft.push(copy.text.len()),
                        OBJECT => copy.text.push('\u{FFFD}'),
                        c if is_space(c) => {
                            if !(collapse && (copy.text.is_empty() || copy.text.ends_with(' '))) {
                                copy.text.push(' ');
                            }
                        }
                        c => copy.text.push(c),
                    }
                }
            }
        }
    }
    // A forced end of line at the very end ends nothing.
    if copies.len() > 1 && copies.last().is_some_and(|copy| copy.text.is_empty()) {
        copies.pop();
    }
    let base = if manner.language.is_rtl() { Level::rtl() } else { Level::ltr() };
    let stretches = copies.into_iter().map(|copy| copy.set(faces, pieces, manner, base)).collect();
    (stretches, base)
}

/// Whether a text may hold anything that runs from right to left.
fn may_turn(text: &str) -> bool {
    text.chars().any(|c| matches!(c, '\u{590}'..='\u{8FF}' | '\u{200F}' | '\u{202B}' | '\u{202E}' | '\u{2067}' | '\u{FB1D}'..='\u{FDFF}' | '\u{FE70}'..='\u{FEFC}' | '\u{10800}'..='\u{10FFF}' | '\u{1E800}'..='\u{1EFFF}'))
}

impl Copy {
    fn set(self, faces: &Faces, pieces: &[Piece<'_>], manner: Manner, base: Level) -> Stretch {
        let language = manner.language;
        let levels = (base.is_rtl() || may_turn(&self.text)).then(|| BidiInfo::new(&self.text, Some(base)).levels);
        let seen = self.objects.then(|| self.text.replace(OBJECT, IDEOGRAPH.encode_utf8(&mut [0; 4])));
        let mut opportunities = faces.segmenters().opportunities(seen.as_deref().unwrap_or(&self.text), language).peekable();
        let mut stretch = Stretch { pieces: self.pieces.clone(), ..Stretch::default() };
        let mut setter = Looks { faces, manner, kept: Vec::new() };
        let level_at = |at: usize| levels.as_ref().and_then(|levels| levels.get(at)).copied().unwrap_or(Level::ltr());
        let bytes = self.text.as_bytes();
        let mut at = 0;
        let mut owner = 0;
        while at < self.text.len() {
            while self.starts.get(owner + 1).is_some_and(|(start, _)| *start <= at) {
                owner += 1;
            }
            let piece = self.starts[owner].1;
            while opportunities.peek().is_some_and(|&next| next <= at) {
                opportunities.next();
            }
            let limit = opportunities.peek().copied().unwrap_or(self.text.len());
            let limit = self.starts.get(owner + 1).map_or(limit, |(start, _)| limit.min(*start));
            let level = level_at(at);
            let mut end = at;
            while end < limit && bytes[end] != b' ' && (levels.is_none() || level_at(end) == level) {
                end += 1;
            }
            let Some(body) = setter.body(&pieces[piece], &self.text[at..end], level.is_rtl()) else {
                break;
            };
            if end > at {
                stretch.slugs.push(Slug {
                    piece,
                    range: at..end,
                    body,
                    space: 0,
                    spaces: 0,
                    breakable: false,
                    held: false,
                    level,
                    white_level: level,
                    at: 0,
                    white: 0,
                    give: 0,
                });
            }
            at = end;
            while at < bytes.len() && bytes[at] == b' ' {
                while self.starts.get(owner + 1).is_some_and(|(start, _)| *start <= at) {
                    owner += 1;
                }
                let width = setter.space(&pieces[self.starts[owner].1]);
                match stretch.slugs.last_mut() {
                    Some(slug) => {
                        (slug.space, slug.spaces) = (slug.space + width, slug.spaces + 1);
                        slug.white_level = level_at(at);
                    }
                    None => (stretch.lead, stretch.lead_spaces) = (stretch.lead + width, stretch.lead_spaces + 1),
                }
                at += 1;
            }
            while opportunities.peek().is_some_and(|&next| next < at) {
                opportunities.next();
            }
            if let Some(slug) = stretch.slugs.last_mut() {
                let may = opportunities.peek() == Some(&at) && at < bytes.len();
                slug.held = may && (parts_a_number(&self.text, at) || precedes_spaced_dash(&self.text, at));
                slug.breakable = may && !slug.held;
            }
        }
        drop(opportunities);
        stretch.text = self.text;
        stretch.soft = self.soft;
        stretch.measure();
        stretch
    }
}

impl Stretch {
    /// Fills in where each slug stands on the endless line.
    fn measure(&mut self) {
        let mut give = 0;
        let mut at = self.slugs.first().map_or(0, |slug| edge(self.lead + slug.body.before()));
        for index in 0..self.slugs.len() {
            let before = self.slugs.get(index + 1).map(|next| next.body.before());
            let slug = &mut self.slugs[index];
            slug.at = at;
            slug.give = give;
            slug.white = before.map_or(0, |before| whole_dots(slug.body.after() + slug.space + before));
            give += slug.space;
            at += slug.body.ink() + slug.white;
        }
    }

    /// The bytes of a slug.
    pub fn text_of(&self, slug: &Slug) -> &str {
        &self.text[slug.range.clone()]
    }
}

/// The looks of a paragraph, each looked up once.
struct Looks<'a> {
    faces: &'a Faces,
    manner: Manner,
    kept: Vec<Kept<'a>>,
}

impl Looks<'_> {
    /// A piece's text shaped, or its object. `None` never happens to a piece that put something into the text.
    fn body(&mut self, piece: &Piece<'_>, text: &str, right_to_left: bool) -> Option<Body> {
        match &piece.content {
            Content::Object { id, width, .. } => Some(Body::Object { id: *id, width: width.0.max(0) }),
            Content::Text { look, .. } => {
                let look = Look {
                    family: look.family,
                    bold: look.bold,
                    italic: look.italic && look.family != Family::Mono,
                    em: self.faces.resolution().em(look.size),
                    language: self.manner.language,
                    right_to_left,
                    tabular: self.manner.tabular,
                };
                let unit = self.kept(look).unit(text);
                Some(Body::Text { part: unit.whole(), look })
            }
            Content::Break => None,
        }
    }

    fn kept(&mut self, look: Look) -> &Kept<'_> {
        let index = self.kept.iter().position(|kept| kept.look == look).unwrap_or_else(|| {
            self.kept.push(self.faces.kept(&look));
            self.kept.len() - 1
        });
        &self.kept[index]
    }

    fn space(&mut self, piece: &Piece<'_>) -> i32 {
        match &piece.content {
            Content::Text { look, .. } => {
                let em = self.faces.resolution().em(look.size);
                self.faces.space(&Look {
                    family: look.family,
                    bold: look.bold,
                    italic: look.italic,
                    em,
                    language: self.manner.language,
                    right_to_left: false,
                    tabular: false,
                })
            }
            _ => 0,
        }
    }
}

/// The part of a slug's text between two byte offsets, shaped anew where a ligature crosses a cut.
pub(super) fn part_of(faces: &Faces, part: &Part, look: &Look, text: &str, from: usize, to: usize) -> Part {
    if from == 0 && to == text.len() {
        return part.clone();
    }
    part.unit.part(from as u32, to as u32).unwrap_or_else(|| {
        let unit: Arc<Unit> = faces.kept(look).unit(&text[from..to]);
        unit.whole()
    })
}
