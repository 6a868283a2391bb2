//! The cover: the first panel of a folded strip is left to the title, one picture and the maker's name, for a style that asks for it.

use std::sync::Arc;

use super::blocks::Room;
use super::context::Context;
use super::galley::{Chunk, Galley};
use super::text::{self, Setting};
use crate::lengths::Dots;
use crate::manual::document::{Block, Document, Kind};
use crate::manual::source::Span;
use crate::type_setting::Type;

/// The cover and how many groups of blocks it takes: a title, and a picture without callouts right after it. None where the strip is not
/// folded, the style wants none, or there is no title. `again` sets a group in a panel with so much room.
pub fn cover(
    context: &Context,
    document: &Document,
    groups: &[&[Block]],
    galleys: &[Arc<Galley>],
    room: Room,
    again: impl Fn(&Context, usize) -> Arc<Galley>,
) -> Option<(Galley, usize)> {
    let panel = context.panel_room.filter(|_| context.style.cover.fill)?;
    let title = groups.first().filter(|group| matches!(group[0].kind, Kind::Title(_)))?;
    let maker = maker(context, document, room);
    let foot = maker.as_ref().map_or(Dots(0), |maker| maker.height());
    let gap = context.dots(context.style.space.block);
    let head = (*galleys[0]).clone().solid();
    let left = panel - head.height() - foot - gap * 2;
    if left < Dots(0) {
        return None;
    }
    let shown = groups.get(1).filter(|group| match &group[..] {
        [one] => matches!(&one.kind, Kind::Figure(figure) if figure.callouts.is_empty()),
        _ => false,
    });
    let shown = shown.map(|group| {
        let galley = again(&Context { panel_room: Some(left), ..*context }, 1);
        (*galley).clone().solid().rebased(group[0].span.start - title[0].span.start)
    });
    let shown = shown.filter(|shown| shown.height() <= left);
    let taken = if shown.is_some() { 2 } else { 1 };
    let spare = left - shown.as_ref().map_or(Dots(0), |shown| shown.height());
    // Room above and below the picture; a title alone stands above the middle.
    let above = if shown.is_some() { spare / 2 } else { Dots(0) };
    let blank = |height: Dots| Galley { chunks: vec![Chunk { height, ..Chunk::default() }], ..Galley::default() };
    let flush = |galley: Galley| Galley { above: Dots(0), below: Dots(0), ..galley };
    let mut parts = Vec::new();
    if shown.is_none() {
        parts.push(blank(spare * 2 / 5));
    }
    parts.push(flush(head));
    parts.push(blank(above + gap));
    parts.extend(shown.map(flush));
    let foot_at = panel - foot;
    let reached: Dots = parts.iter().map(Galley::height).sum();
    parts.push(blank((foot_at - reached).max(Dots(0))));
    parts.extend(maker.map(flush));
    let mut whole = Galley::stack("cover", parts).solid();
    // It is as large as its panel already.
    whole.chunks.iter_mut().for_each(|chunk| chunk.gives = Dots(0));
    Some((whole, taken))
}

/// The maker's name, at the foot.
fn maker(context: &Context, document: &Document, room: Room) -> Option<Galley> {
    let name = document.header.product.maker.as_deref()?;
    let look = Type { bold: true, ..context.small() };
    let align = context.style.title.align.into();
    // The header stands before the title that spans are counted from: the imprint says where the name is written.
    let span = Span::default();
    let mut galley = text::plain(context, name, &Setting { align, ..Setting::label("maker", look, room.width, span) });
    if context.language.is_rtl() {
        galley.mirror(room.width);
    }
    Some(galley.solid())
}
