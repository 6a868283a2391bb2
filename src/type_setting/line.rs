//! One line: which parts of the stretch stand on it, in visual order (UAX #9, L1 and L2), each on its dot.

use std::sync::Arc;

use unicode_bidi::{BidiInfo, Level};

use super::faces::Faces;
use super::optimum::Candidate;
use super::stretch::{Body, Stretch, part_of};
use super::unit::{Part, Placed, edge, whole_dots};
use super::{Content, Fragment, FragmentInk, Glyph, Line, OBJECT, Piece, Strike, Vertical};
use crate::lengths::Dots;
use crate::manual::source::Span;

/// A place where a line ends and the next begins.
#[derive(Clone, Copy, Debug)]
pub(super) struct Spot {
    pub slug: usize,
    /// Byte offset in the slug's text; its length: after the slug.
    pub at: usize,
    pub hyphen: bool,
    pub forced: bool,
    pub candidate: Candidate,
}

impl Spot {
    const NOWHERE: Candidate = Candidate { end: 0, start: 0, give_end: 0, give_start: 0, penalty: 0, hyphen: false, same: 0 };

    /// Where the first line begins.
    pub fn start() -> Spot {
        Spot { slug: 0, at: 0, hyphen: false, forced: false, candidate: Spot::NOWHERE }
    }

    /// The first slug of the line that begins here, and whether it begins inside it.
    fn next(&self, stretch: &Stretch) -> (usize, bool) {
        let inside = self.at > 0 && stretch.slugs.get(self.slug).is_some_and(|slug| self.at < slug.range.len());
        (if self.at == 0 || inside { self.slug } else { self.slug + 1 }, inside)
    }

    /// Where the stretch ends.
    pub fn end(stretch: &Stretch) -> Spot {
        let at = stretch.slugs.last().map_or(0, |slug| slug.range.len());
        Spot { slug: stretch.slugs.len().saturating_sub(1), at, hyphen: false, forced: false, candidate: Spot::NOWHERE }
    }
}

/// The room of a line.
pub(super) struct Room {
    /// `None`: as wide as it comes.
    pub width: Option<Dots>,
    pub justified: bool,
    pub base: Level,
}

/// One thing on the line: ink or white.
struct Item {
    level: Level,
    width: i32,
    /// Width of the spaces in it that give, in 1/64 dot.
    give: i32,
    ink: Option<Ink>,
}

struct Ink {
    piece: usize,
    body: LineBody,
}

enum LineBody {
    /// With the byte of the line's text where that of its unit begins, or would.
    Text(Part, i64),
    Object(usize),
}

/// Sets the line between two spots.
pub(super) fn line(faces: &Faces, pieces: &[Piece<'_>], stretch: &Stretch, from: Spot, to: Spot, room: &Room) -> Line {
    let mut line = Line {
        fragments: Vec::new(),
        width: Dots::ZERO,
        ascent: Dots::ZERO,
        descent: Dots::ZERO,
        text: String::new(),
        span: Span::default(),
        hyphenated: to.hyphen,
        forced: to.forced,
    };
    let items = items(faces, pieces, stretch, from, to, &mut line);
    heights(faces, pieces, stretch, from, to, &mut line);
    let natural: i32 = items.iter().map(|item| item.width).sum();
    let give: i32 = items.iter().map(|item| item.give).sum();
    let least = natural - if room.justified { give / 3 / 64 } else { 0 };
    line.forced |= room.width.is_some_and(|width| least > width.0);
    place(faces, pieces, items, natural, room, &mut line);
    line
}

/// Ink and white of the line in logical order.
fn items(faces: &Faces, pieces: &[Piece<'_>], stretch: &Stretch, from: Spot, to: Spot, line: &mut Line) -> Vec<Item> {
    let mut items: Vec<Item> = Vec::new();
    let (first, begins_inside) = from.next(stretch);
    let mut before_white = if from.at == 0 && from.slug == 0 { stretch.lead } else { 0 };
    if before_white > 0 {
        line.text.extend(std::iter::repeat_n(' ', stretch.lead_spaces));
    }
    for (index, slug) in stretch.slugs.iter().enumerate().take(to.slug + 1).skip(first) {
        let start = if index == from.slug && begins_inside { from.at } else { 0 };
        let end = if index == to.slug { to.at } else { slug.range.len() };
        let span = pieces[slug.piece].span;
        line.span = if items.is_empty() {
            span
        } else {
            Span { start: line.span.start.min(span.start), end: line.span.end.max(span.end) }
        };
        let (body, ink, before, after) = match &slug.body {
            Body::Text { part, look } => {
                let text = stretch.text_of(slug);
                let cut = part_of(faces, part, look, text, start, end);
                // What was shaped anew begins with the part, what was cut out of the whole with the whole.
                let skipped = if Arc::ptr_eq(&cut.unit, &part.unit) { start as i64 } else { 0 };
                let begins = line.text.len() as i64 - skipped;
                line.text.push_str(&text[start..end]);
                let (ink, before, after) = (cut.ink, cut.before, cut.after);
                (LineBody::Text(cut, begins), ink, before, after)
            }
            Body::Object { id, width, .. } => {
                line.text.push(OBJECT);
                (LineBody::Object(*id), *width, 0, 0)
            }
        };
        // The stretch's whites were rounded once, pair by pair; only at the line's begin is there no pair.
        if items.is_empty() {
            items.push(Item { level: slug.level, width: edge(before_white + before), give: 0, ink: None });
        }
        before_white = 0;
        items.push(Item { level: slug.level, width: ink, give: 0, ink: Some(Ink { piece: slug.piece, body }) });
        let stops = index == to.slug;
        if stops
            && to.hyphen
            && let Body::Text { look, .. } = &slug.body
        {
            let mark = faces.kept(look).unit("-").whole();
            let white = whole_dots(after) + whole_dots(mark.before);
            items.push(Item { level: slug.level, width: white, give: 0, ink: None });
            let end_white = edge(mark.after);
            items.push(Item {
                level: slug.level,
                width: mark.ink,
                give: 0,
                ink: Some(Ink { piece: slug.piece, body: LineBody::Text(mark, line.text.len() as i64) }),
            });
            items.push(Item { level: slug.level, width: end_white, give: 0, ink: None });
            line.text.push('-');
        } else if stops {
            items.push(Item { level: slug.level, width: edge(after), give: 0, ink: None });
        } else {
            items.push(Item { level: white_level(stretch, index), width: slug.white, give: slug.space, ink: None });
            line.text.extend(std::iter::repeat_n(' ', slug.spaces));
        }
    }
    items
}

/// The level of the white after a slug: of its spaces, or the lower of its neighbours' where there is none.
pub(super) fn white_level(stretch: &Stretch, index: usize) -> Level {
    let slug = &stretch.slugs[index];
    match stretch.slugs.get(index + 1) {
        Some(next) if slug.spaces == 0 => slug.level.min(next.level),
        _ => slug.white_level,
    }
}

/// Puts the items on their dots, in visual order, and joins what belongs to one piece.
fn place(faces: &Faces, pieces: &[Piece<'_>], items: Vec<Item>, natural: i32, room: &Room, line: &mut Line) {
    let order: Vec<usize> = if items.iter().all(|item| item.level.is_ltr() && room.base.is_ltr()) {
        (0..items.len()).collect()
    } else {
        let levels: Vec<Level> = items.iter().map(|item| item.level).collect();
        BidiInfo::reorder_visual(&levels)
    };
    let width = room.width.map_or(natural, |width| width.0);
    let slack = width - natural;
    let give: i64 = items.iter().map(|item| i64::from(item.give)).sum();
    // Spaces wider than three times themselves look worse than a ragged line.
    let spread = room.justified && give > 0 && i64::from(slack) * 64 <= give * 2;
    let mut x = if room.base.is_rtl() && !spread { slack } else { 0 };
    let (mut given, mut taken) = (0i64, 0i64);
    for index in order {
        let item = &items[index];
        let mut advance = item.width;
        if spread && item.give > 0 {
            given += i64::from(item.give);
            let due = (i64::from(slack) * given).div_euclid(give);
            advance += (due - taken) as i32;
            taken = due;
        }
        if let Some(ink) = &item.ink {
            put(ink, rise_of(&pieces[ink.piece]), x, item.width, line);
            line.width = Dots(x + item.width);
        }
        x += advance;
    }
    for fragment in &mut line.fragments {
        let (piece, width) = (fragment.piece, fragment.width);
        if let (FragmentInk::Glyphs { strike, .. }, Content::Text { look, strike: true, rise, .. }) =
            (&mut fragment.ink, &pieces[piece].content)
            && width > Dots::ZERO
        {
            *strike = Some(struck(faces.vertical(look), look.bold, *rise));
        }
    }
}

/// How far above the baseline a piece stands, in dots.
fn rise_of(piece: &Piece<'_>) -> i32 {
    match piece.content {
        Content::Text { rise, .. } => rise.0,
        Content::Object { .. } | Content::Break => 0,
    }
}

/// Where a struck text has its line: through the middle of the small letters.
fn struck(vertical: Vertical, bold: bool, rise: Dots) -> Strike {
    let thickness = Dots((vertical.ascent.0 / 10 + i32::from(bold)).max(1));
    Strike { top: -(vertical.x_height + thickness) / 2 - rise, thickness }
}

/// Adds ink at `x` to the line, `rise` dots above its baseline: to the last fragment where it belongs to the same piece.
fn put(ink: &Ink, rise: i32, x: i32, width: i32, line: &mut Line) {
    match &ink.body {
        LineBody::Object(id) => {
            line.fragments.push(Fragment {
                x: Dots(x),
                width: Dots(width),
                piece: ink.piece,
                ink: FragmentInk::Object { id: *id },
            });
        }
        LineBody::Text(part, begins) => {
            let new = !line
                .fragments
                .last()
                .is_some_and(|last| last.piece == ink.piece && matches!(last.ink, FragmentInk::Glyphs { .. }));
            if new {
                let glyphs = Vec::with_capacity(part.glyphs.len());
                let ink_of = FragmentInk::Glyphs { glyphs, strike: None };
                line.fragments.push(Fragment { x: Dots(x), width: Dots::ZERO, piece: ink.piece, ink: ink_of });
            }
            let Some(fragment) = line.fragments.last_mut() else { return };
            let shift = x - part.left - fragment.x.0;
            fragment.width = Dots(x + width) - fragment.x;
            if let FragmentInk::Glyphs { glyphs, .. } = &mut fragment.ink {
                let inked = part.unit.glyphs[part.glyphs.clone()].iter().filter(|placed| !placed.is_blank());
                let at = |placed: &Placed| (begins + i64::from(placed.at)).max(0) as u32;
                glyphs.extend(inked.map(|placed| Glyph {
                    key: placed.key,
                    x: placed.x + shift,
                    y: placed.y - rise,
                    at: at(placed),
                }));
            }
        }
    }
}

/// Ascent and descent from everything on the line; an empty line is as high as the pieces around it.
fn heights(faces: &Faces, pieces: &[Piece<'_>], stretch: &Stretch, from: Spot, to: Spot, line: &mut Line) {
    let mut seen = usize::MAX;
    let shown = stretch.slugs.iter().take(to.slug + 1).skip(from.next(stretch).0).map(|slug| slug.piece);
    let all = shown.chain(stretch.pieces.clone().filter(|_| stretch.slugs.is_empty()));
    for index in all {
        if index == seen {
            continue;
        }
        seen = index;
        match &pieces[index].content {
            Content::Text { look, rise, .. } => {
                let vertical = faces.vertical(look);
                line.ascent = line.ascent.max(vertical.ascent + *rise);
                line.descent = line.descent.max(vertical.descent - *rise);
            }
            Content::Object { ascent, descent, .. } => {
                line.ascent = line.ascent.max(*ascent);
                line.descent = line.descent.max(*descent);
            }
            Content::Break => {}
        }
    }
}
