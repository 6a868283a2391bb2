//! Pictures among words: an icon stays on the line, anything larger is a figure after the words it stands in.

use super::size::{self, Shape};
use super::{Room, figure, row};
use crate::layout::context::Context;
use crate::layout::galley::Galley;
use crate::manual::document::{Figure, Inline, InlineKind, Picture};
use crate::type_setting::Type;

/// A picture at most this many times as high as the type stands in its line.
const ICON: i64 = 3;

/// The words without the pictures that are too large for a line, and those as figures; `None` where there is no such picture.
pub fn parted(context: &Context, inlines: &[Inline], look: Type) -> Option<(Vec<Inline>, Vec<Figure>)> {
    let mut figures = Vec::new();
    collect(context, inlines, look, &mut figures);
    if figures.is_empty() {
        return None;
    }
    let mut words = without(context, inlines, look);
    while words.last().is_some_and(is_white) {
        words.pop();
    }
    let leading = words.iter().take_while(|inline| is_white(inline)).count();
    words.drain(..leading);
    Some((words, figures))
}

/// The figures that follow words: one, or a row.
pub fn figures(context: &Context, figures: &[Figure], room: Room) -> Galley {
    match figures {
        [figure] => figure::figure(context, figure, figure.picture_span, room),
        several => row::row(context, several, room),
    }
}

fn is_white(inline: &Inline) -> bool {
    match &inline.kind {
        InlineKind::SoftBreak | InlineKind::HardBreak => true,
        InlineKind::Text(text) => text.trim().is_empty(),
        _ => false,
    }
}

fn collect(context: &Context, inlines: &[Inline], look: Type, figures: &mut Vec<Figure>) {
    for inline in inlines {
        match &inline.kind {
            InlineKind::Picture(picture) if !is_icon(context, picture, look) => {
                figures.push(picture.clone().into_figure(inline.span));
            }
            _ => inline.inner().into_iter().for_each(|inner| collect(context, inner, look, figures)),
        }
    }
}

fn without(context: &Context, inlines: &[Inline], look: Type) -> Vec<Inline> {
    let mut words: Vec<Inline> = Vec::with_capacity(inlines.len());
    for inline in inlines {
        let inside = |inner: &[Inline]| without(context, inner, look);
        let kind = match &inline.kind {
            InlineKind::Picture(picture) if !is_icon(context, picture, look) => continue,
            // Two spaces would be left where the picture stood.
            InlineKind::Text(text) if text.starts_with(' ') && words.last().is_some_and(ends_white) => {
                InlineKind::Text(text.trim_start().to_owned())
            }
            InlineKind::Strong(inner) => InlineKind::Strong(inside(inner)),
            InlineKind::Emphasis(inner) => InlineKind::Emphasis(inside(inner)),
            InlineKind::Strike(inner) => InlineKind::Strike(inside(inner)),
            InlineKind::Link { text, note, address } => {
                InlineKind::Link { text: inside(text), note: *note, address: address.clone() }
            }
            other => other.clone(),
        };
        words.push(Inline { span: inline.span, kind });
    }
    words
}

fn ends_white(inline: &Inline) -> bool {
    match &inline.kind {
        InlineKind::Text(text) => text.ends_with(char::is_whitespace),
        InlineKind::SoftBreak | InlineKind::HardBreak => true,
        _ => false,
    }
}

/// Whether a picture stands on the line: one drawn by its name, or one that is low in its own pixels or as the writer wants it.
pub fn is_icon(context: &Context, picture: &Picture, look: Type) -> bool {
    if picture.is_drawn_by_name() {
        return true;
    }
    let most = i64::from(context.paper.resolution.type_dots(look.size).0) * ICON;
    if let Some(height) = picture.height {
        return i64::from(height) <= most;
    }
    let Ok(info) = context.pictures.look(&picture.address) else { return false };
    let shape = Shape { width: i64::from(info.width), height: i64::from(info.height).max(1), pixels: !info.vector };
    if let Some(width) = picture.width {
        // On a page of 900 pixels.
        return i64::from(width) * 900 / 1000 * shape.height / shape.width.max(1) <= most;
    }
    match info.vector {
        true => context.pictures.written_height(&picture.address).is_some_and(|height| i64::from(height) <= most),
        false => shape.height <= most,
    }
}

/// How narrow and how wide a cell with pictures wants to be, in dots: legible, and a dot a pixel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Reach {
    pub narrow: i32,
    pub wide: i32,
}

/// Of a cell with these pictures.
pub fn reach(context: &Context, figures: &[Figure]) -> Reach {
    let mut reach = Reach { narrow: 1, wide: 1 };
    for figure in figures {
        let shape = Shape::of(context, figure);
        let own = if shape.pixels { shape.width } else { size::LEGIBLE * 4 };
        reach.narrow = reach.narrow.max(shape.on_page(size::LEGIBLE * 4, 0).min(own) as i32);
        reach.wide = reach.wide.max(own.min(4000) as i32);
    }
    reach
}
