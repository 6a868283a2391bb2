//! From the document to placed boxes in dots: blocks are set to galleys, galleys are made up into panels.
//!
//! Knows no Markdown and no printer. Every box leads back to the line that made it. Blocks are set in parallel and independently,
//! and one that did not change is taken from the cache; neither changes a dot.

mod blocks;
mod chart;
mod context;
mod cover;
mod galley;
mod galley_cache;
mod lacking;
mod panels;
mod signals;
mod style;
mod text;

use std::borrow::Cow;
use std::collections::BTreeSet;
use std::sync::Arc;

use rayon::prelude::*;

pub use chart::chart;
pub use context::Context;
pub use galley::{Boxed, Chunk, ChunkDots, Galley, Mark, SUBDOTS};
pub use galley_cache::GalleyCache;
pub use style::{BUILT_IN as STYLES, Style, StyleError};

use crate::lengths::Dots;
use crate::manual::document::{Block, Document, Inline, InlineKind, Kind, is_drawn_by_name};
use crate::manual::source::{Level, Remark, Span};
use crate::type_setting::{FragmentInk, Type};
use blocks::{Gap, Room};
use panels::{Matter, Pitch};
use style::Links;

/// A stretch of the strip between two folds, in dots from its top.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Panel {
    pub top: Dots,
    pub bottom: Dots,
}

/// A chunk of a galley and the row its top stands in; `x` is where its column begins.
#[derive(Clone, Debug)]
pub struct Placed {
    pub x: Dots,
    pub y: Dots,
    pub galley: Arc<Galley>,
    pub chunk: usize,
    /// Added to a relative span it gives an absolute one.
    pub base: u32,
}

/// A box on the strip, with an absolute span.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PlacedBox {
    pub kind: &'static str,
    pub x: Dots,
    pub y: Dots,
    pub width: Dots,
    pub height: Dots,
    /// Index into the panels.
    pub panel: usize,
    pub span: Span,
    pub text: String,
}

/// Everything placed.
#[derive(Clone, Debug)]
pub struct Layout {
    pub width: Dots,
    pub height: Dots,
    pub resolution: crate::lengths::Resolution,
    pub placed: Vec<Placed>,
    /// Marks that belong to no block: the fold marks. Absolute.
    pub marks: Vec<Mark>,
    pub panels: Vec<Panel>,
    /// Rows above which the strip is cut; its end is not listed.
    pub cuts: Vec<Dots>,
    /// What is left empty at the foot of each panel that ends with a fold, above its margin; of others 0.
    pub white: Vec<Dots>,
    /// Spans are absolute.
    pub remarks: Vec<Remark>,
}

/// Lays a document out with what its context holds. Blocks found in the cache are not set again.
pub fn lay_out(document: &Document, context: &Context, cache: &GalleyCache) -> Layout {
    let style = context.style;
    let document = &*match style.links {
        Links::None => Cow::Owned(document.without_addresses()),
        Links::Notes | Links::Codes => Cow::Borrowed(document),
    };
    let pitch = Pitch {
        fold: document.header.fold.map(|fold| context.paper.resolution.dots(fold)),
        top: context.dots(style.space.top),
        bottom: context.dots(style.space.bottom),
    };
    let context = &Context { panel_room: pitch.room(), ..*context };
    let room = Room { width: context.column(), depth: 0, cell: false };
    let blocks = with_title(document);
    let subtitle = document.header.subtitle.as_deref();
    let galley = |context: &Context, blocks: &[Block], gaps: [Gap; 2]| {
        let context = &Context { language: document.tongue_at(blocks[0].span.start), ..*context };
        cache.galley(context, blocks, gaps, subtitle, || blocks::spaced(context, gaps, set(context, document, blocks, room)))
    };
    let (groups, gaps): (Vec<&[Block]>, Vec<[Gap; 2]>) =
        blocks::in_groups(context, &blocks).into_iter().map(|(range, gaps)| (&blocks[range], gaps)).unzip();
    let mut galleys: Vec<Arc<Galley>> = groups.par_iter().zip(&gaps).map(|(group, gaps)| galley(context, group, *gaps)).collect();
    let mut rooms = vec![context.panel_room; groups.len()];
    for (n, panel_room) in crowded(&groups, &galleys, context.panel_room) {
        rooms[n] = Some(panel_room);
        galleys[n] = galley(&Context { panel_room: rooms[n], ..*context }, groups[n], gaps[n]);
    }
    let imprint = blocks::imprint(context, &document.header, room).map(|mut galley| {
        if context.language.is_rtl() {
            galley.mirror(room.width);
        }
        Arc::new(galley)
    });
    let cover = cover::cover(context, document, &groups, &galleys, room, |context, n| galley(context, groups[n], gaps[n]));
    cache.tidy();

    let mut matter: Vec<Matter> = Vec::with_capacity(groups.len() + 1);
    // Which group each item of matter was set from.
    let mut origins: Vec<usize> = Vec::with_capacity(groups.len());
    let covered = cover.as_ref().map_or(0, |(_, taken)| *taken);
    if let (Some((galley, _)), Some(title)) = (cover, blocks.first()) {
        let span = title.span;
        matter.push(Matter::Galley { galley: Arc::new(galley), base: span.start, span, at_foot: false, leads: false });
        matter.push(Matter::Fold);
        origins.extend([0, 0]);
    }
    for (n, (group, galley)) in groups.iter().zip(galleys).enumerate().skip(covered) {
        let block = &group[0];
        if matches!(block.kind, Kind::Rule) && ruled_already(style, &groups, n) {
            continue;
        }
        origins.push(n);
        matter.push(match block.kind {
            Kind::Fold => Matter::Fold,
            Kind::Cut => Matter::Cut,
            _ => Matter::Galley { galley, base: block.span.start, span: block.span, at_foot: false, leads: leads(&groups, n) },
        });
    }
    if let Some(galley) = imprint {
        matter.push(Matter::Galley { galley, base: 0, span: Span::default(), at_foot: true, leads: false });
    }
    filled(&mut matter, pitch, |item, shrink| {
        let n = origins[item];
        galley(&Context { shrink, panel_room: rooms[n], ..*context }, groups[n], gaps[n])
    });
    let mut layout = place(context, &matter, pitch);
    unused_faces(context, document, &mut layout);
    layout
}

/// A face that the writer named and nothing is set in.
fn unused_faces(context: &Context, document: &Document, layout: &mut Layout) {
    if document.header.faces.is_empty() {
        return;
    }
    let mut used: BTreeSet<&str> = BTreeSet::new();
    let chunks = layout.placed.iter().map(|placed| &placed.galley.chunks[placed.chunk]);
    for mark in chunks.flat_map(|chunk| &chunk.marks) {
        let Mark::Text { line, .. } = mark else { continue };
        for fragment in &line.fragments {
            let FragmentInk::Glyphs { glyphs, .. } = &fragment.ink else { continue };
            used.extend(glyphs.iter().filter_map(|glyph| context.faces.tag_of(glyph.key.face)));
        }
    }
    let unused = document.header.faces.keys().filter(|tag| !used.contains(tag.as_str()));
    let remarks = unused.map(|tag| Remark {
        rule: "face-unused",
        level: Level::Advice,
        message: format!("nothing on this strip is set in the face {tag:?}"),
        hint: Some(
            "a face named after a language or a script sets what the shipped faces lack; name it title, sans, mono or lettering to put it in the stead of one of those"
                .into(),
        ),
        span: document.header.spans.get(&format!("faces.{tag}")).copied().unwrap_or_default(),
    });
    layout.remarks.extend(remarks.collect::<Vec<_>>());
}

/// Whether a writer's rule would stand beside one that the style draws there: under the title, above a section. Guides written for a
/// screen part their sections so; on the strip two lines with nothing between them are a slip.
fn ruled_already(style: &Style, groups: &[&[Block]], n: usize) -> bool {
    let kind = |n: usize| groups.get(n).map(|group| &group[0].kind);
    let under = n.checked_sub(1).and_then(kind);
    let above = (n + 1..groups.len()).map(|n| &groups[n][0].kind).find(|kind| !matches!(kind, Kind::Rule));
    let section_is_ruled = matches!(style.section.look, style::SectionLook::Bar | style::SectionLook::Reverse);
    let heads = matches!(above, Some(Kind::Heading { level, .. }) if *level <= 2);
    matches!(under, Some(Kind::Title(_) | Kind::Rule)) || heads && section_is_ruled
}

/// A figure under a title shares its panel only where it stays as large as this, in percent.
const SMALLEST: i32 = 60;

/// Figures that do not fit into one panel with the headings right above them, and the room that those leave them. They are set
/// again, smaller, so that no heading stands alone.
fn crowded(groups: &[&[Block]], galleys: &[Arc<Galley>], panel_room: Option<Dots>) -> Vec<(usize, Dots)> {
    let Some(whole) = panel_room else { return Vec::new() };
    let figures =
        (0..groups.len()).filter(|&n| groups[n].iter().any(|block| matches!(block.kind, Kind::Figure(_) | Kind::Row(_))));
    let left = figures.filter_map(|n| {
        let above = (0..n).rev().take_while(|&n| matches!(groups[n][0].kind, Kind::Title(_) | Kind::Heading { .. }));
        let taken: Dots = above.map(|n| galleys[n].height() + galleys[n].below.max(galleys[n + 1].above)).sum();
        let crowds = taken > Dots(0) && taken + galleys[n].height() > whole;
        // Where little is left the figure is better off on a panel of its own: always after a heading, which must not stand alone; after a
        // title as soon as the figure would be smaller than figures may become elsewhere.
        let titled = n > 0 && matches!(groups[n - 1][0].kind, Kind::Title(_));
        let least = if titled { galleys[n].height().min(whole) * SMALLEST / 100 } else { whole / 3 };
        (crowds && whole - taken > least).then_some((n, whole - taken))
    });
    left.collect()
}

/// Draws pictures without a width of their own smaller where that fills a panel: as few of them as do, each as little as does.
/// `again` sets the block of an item of matter at so many percent.
fn filled(matter: &mut [Matter], pitch: Pitch, again: impl Fn(usize, u8) -> Arc<Galley>) {
    let sizes = panels::sizes(matter, pitch);
    let smaller: Vec<usize> = (0..matter.len()).filter(|&n| sizes[n] < 100).collect();
    let original: Vec<Option<Arc<Galley>>> = smaller.iter().map(|&n| matter[n].galley().cloned()).collect();
    if smaller.is_empty() {
        return;
    }
    let paper = |matter: &[Matter]| {
        let made = panels::make_up(matter, pitch);
        (made.panels.len(), made.empty)
    };
    let before = paper(matter);
    // A picture comes out a dot higher or lower than its share: a step more is enough for that.
    for less in [0, 2] {
        smaller.iter().for_each(|&n| matter[n].replace(again(n, sizes[n] - less)));
        if paper(matter) < before {
            return;
        }
    }
    for (&n, kept) in smaller.iter().zip(original) {
        kept.into_iter().for_each(|kept| matter[n].replace(kept));
    }
}

/// Whether a block belongs to the one after it: a sign to the sentence that it stands for.
fn leads(groups: &[&[Block]], n: usize) -> bool {
    let kind = |n: usize| groups.get(n).and_then(|group| group.first()).map(|block| &block.kind);
    let words = |n: usize| matches!(kind(n), Some(Kind::Paragraph(_)));
    let sign = |n: usize| match kind(n) {
        Some(Kind::Figure(figure)) => is_drawn_by_name(&figure.picture) && figure.callouts.is_empty(),
        _ => false,
    };
    // Its own sentence comes after it; at the end of a section, before it.
    sign(n) && words(n + 1) || words(n) && sign(n + 1) && !words(n + 2)
}

/// The blocks to be set. A manual without a `#` takes its title from the header.
fn with_title(document: &Document) -> Cow<'_, [Block]> {
    let titled = document.blocks.iter().any(|block| matches!(block.kind, Kind::Title(_)));
    let (false, Some(title)) = (titled, &document.header.title) else { return Cow::Borrowed(&document.blocks) };
    let span = document.header.spans.get("title").copied().unwrap_or_default();
    let inline = Inline { span: span.relative_to(span.start), kind: InlineKind::Text(title.clone()) };
    let block = Block { span, kind: Kind::Title(vec![inline]) };
    Cow::Owned(std::iter::once(block).chain(document.blocks.iter().cloned()).collect())
}

/// One block, or some that belong side by side.
fn set(context: &Context, document: &Document, group: &[Block], room: Room) -> Galley {
    // A block's own span is absolute; inside, everything counts from its start. A group counts from that of its first.
    let set_as = |n: usize, set: &dyn Fn(&Block) -> Galley| {
        let block = &group[n];
        let own = Block { span: block.span.relative_to(block.span.start), kind: block.kind.clone() };
        set(&own).rebased(block.span.start - group[0].span.start)
    };
    let one = |n: usize, room: Room| set_as(n, &|block| blocks::set(context, block, room));
    let mut galley = match group.len() {
        1 => one(0, room),
        _ => {
            let caption = |n: usize, room: Room| set_as(n, &|block| blocks::under_picture(context, block, room));
            blocks::set_group(context, group, room, &one, &caption)
        }
    };
    if let (Kind::Title(_), Some(subtitle)) = (&group[0].kind, &document.header.subtitle) {
        let span = group[0].span.relative_to(group[0].span.start);
        galley = blocks::with_subtitle(context, galley, subtitle, span, room);
    }
    if context.language.is_rtl() {
        galley.mirror(room.width);
    }
    galley
}

fn place(context: &Context, matter: &[Matter], pitch: Pitch) -> Layout {
    let made = panels::make_up(matter, pitch);
    let side = context.dots(context.style.space.side);
    let mut remarks = made.remarks;
    for item in matter {
        if let Matter::Galley { galley, base, .. } = item {
            remarks.extend(galley.remarks.iter().cloned().map(|remark| Remark { span: remark.span.from_base(*base), ..remark }));
        }
    }
    let placed = made
        .placed
        .iter()
        .filter_map(|placed| match &matter[placed.matter] {
            Matter::Galley { galley, base, .. } => {
                Some(Placed { x: side, y: placed.y, galley: galley.clone(), chunk: placed.chunk, base: *base })
            }
            Matter::Fold | Matter::Cut => None,
        })
        .collect();
    let marks = fold_marks(context, &made.panels, &made.cuts);
    Layout {
        width: context.paper.width,
        height: made.height,
        resolution: context.paper.resolution,
        placed,
        marks,
        panels: made.panels,
        cuts: made.cuts,
        white: made.white,
        remarks,
    }
}

/// Short lines at both edges where the strip is folded.
fn fold_marks(context: &Context, panels: &[Panel], cuts: &[Dots]) -> Vec<Mark> {
    let length = context.line(context.style.fold.mark);
    let mut marks = Vec::new();
    for panel in panels.iter().skip(1).filter(|panel| !cuts.contains(&panel.top)) {
        for x in [Dots(0), context.paper.width - length] {
            marks.push(Mark::Fill { x, y: panel.top - Dots(1), width: length, height: Dots(2), black: true });
        }
    }
    if context.style.fold.number {
        marks.extend(panel_numbers(context, panels, cuts));
    }
    marks
}

/// "3/15" in the lower margin of each panel of a strip that is folded, as far as the margin has room for it.
fn panel_numbers(context: &Context, panels: &[Panel], cuts: &[Dots]) -> Vec<Mark> {
    let look = Type { size: context.style.type_.minimum.0, ..context.small() };
    let cap = context.faces.vertical(&look).cap_height;
    let margin = context.dots(context.style.space.bottom);
    let mut marks = Vec::new();
    for strip in panels.chunk_by(|panel, _| !cuts.contains(&panel.bottom)).filter(|strip| strip.len() > 1 && margin >= cap) {
        for (n, panel) in strip.iter().enumerate() {
            let line = text::one_line(context, &format!("{}/{}", n + 1, strip.len()), look, Span::default(), &mut Vec::new());
            let x = (context.paper.width - line.width) / 2;
            // Clear of the fold, which may lie a dot off.
            marks.push(Mark::line(x, panel.bottom - (margin - cap) / 2 - Dots(1), line, false));
        }
    }
    marks
}

impl Layout {
    /// Every box, in the order of the strip: for each block one that holds all it says, and those of its parts.
    pub fn boxes(&self) -> Vec<PlacedBox> {
        let mut boxes = Vec::new();
        let mut n = 0;
        while n < self.placed.len() {
            let first = &self.placed[n];
            let count = self.placed[n..]
                .iter()
                .take_while(|other| Arc::ptr_eq(&other.galley, &first.galley) && other.base == first.base)
                .count();
            self.block_boxes(&self.placed[n..n + count], &mut boxes);
            n += count;
        }
        boxes
    }

    /// The share of the folded panels that is left white at their feet, in percent, and how many of them there are; none without folds.
    pub fn white_at_folds(&self) -> Option<(f64, usize)> {
        let folded = self.panels.iter().zip(self.panels.iter().skip(1)).filter(|(panel, _)| !self.cuts.contains(&panel.bottom));
        let (count, height) =
            folded.fold((0, 0), |(count, height), (panel, _)| (count + 1, height + (panel.bottom - panel.top).0));
        let white: Dots = self.white.iter().copied().sum();
        (count > 0).then(|| (f64::from(white.0) * 100.0 / f64::from(height.max(1)), count))
    }

    fn panel_at(&self, y: Dots) -> usize {
        self.panels.partition_point(|panel| panel.bottom <= y).min(self.panels.len().saturating_sub(1))
    }

    fn block_boxes(&self, chunks: &[Placed], boxes: &mut Vec<PlacedBox>) {
        let mut rest = chunks;
        while let Some(first) = rest.first() {
            let panel = self.panel_at(first.y);
            let here = rest.iter().take_while(|placed| self.panel_at(placed.y) == panel).count();
            let part = &rest[..here];
            let last = &part[here - 1];
            let spans = part.iter().flat_map(|placed| placed.galley.chunks[placed.chunk].boxes.iter().map(|boxed| boxed.span));
            let span = spans.reduce(|a, b| Span { start: a.start.min(b.start), end: a.end.max(b.end) }).unwrap_or_default();
            boxes.push(PlacedBox {
                kind: first.galley.kind,
                x: first.x,
                y: first.y,
                width: self.width - first.x * 2,
                height: last.y + last.galley.chunks[last.chunk].height - first.y,
                panel,
                span: span.from_base(first.base),
                text: first.galley.text.clone(),
            });
            for placed in part {
                boxes.extend(placed.galley.chunks[placed.chunk].boxes.iter().map(|boxed| PlacedBox {
                    kind: boxed.kind,
                    x: placed.x + boxed.x,
                    y: placed.y + boxed.y,
                    width: boxed.width,
                    height: boxed.height,
                    panel,
                    span: boxed.span.from_base(placed.base),
                    text: boxed.text.clone(),
                }));
            }
            rest = &rest[here..];
        }
    }
}
