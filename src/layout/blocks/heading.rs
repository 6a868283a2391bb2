//! The title block, section and sub-section headings.

use super::Room;
use crate::language::Language;
use crate::layout::context::Context;
use crate::layout::galley::{Chunk, Galley, Mark};
use crate::layout::style::SectionLook;
use crate::layout::text::{self, Gathering, Setting};
use crate::lengths::{Dots, Pt};
use crate::manual::document::{Inline, plain_text};
use crate::manual::source::{Level, Remark, Span};
use crate::type_setting::Type;

/// The title, large enough to be found in a drawer, and a rule under it.
pub fn title(context: &Context, inlines: &[Inline], span: Span, room: Room) -> Galley {
    let least = context.heading(context.style.type_.section).size;
    let look = fitting(context, &plain_text(inlines), context.heading(context.style.type_.title), room.width, least);
    let setting = Setting { align: context.style.title.align.into(), ..Setting::label("title", look, room.width, span) };
    let mut name = text::inlines(context, inlines, &setting);
    name.remarks.extend(smaller(look, context.heading(context.style.type_.title), span));
    let thick = context.line(context.style.line.title);
    let gap = context.dots(context.style.space.after_heading);
    let mut galley = Galley::stack("title", vec![name, ruled(room.width, thick, gap / 2)]);
    galley.below = context.dots(context.style.space.block);
    titled(galley)
}

/// The subtitle from the header; the title block holds it between title and rule.
pub fn with_subtitle(context: &Context, mut title: Galley, subtitle: &str, span: Span, room: Room) -> Galley {
    let look = Type { bold: false, ..context.heading(context.style.type_.subtitle) };
    let below = title.below;
    let rule = title.chunks.pop();
    let setting = Setting { align: context.style.title.align.into(), ..Setting::label("subtitle", look, room.width, span) };
    let line = text::plain(context, subtitle, &setting);
    // Small letters stand closer to the rule than the title's capitals do: their descenders need air.
    let air = context.faces.vertical(&look).x_height / 3;
    let mut galley = Galley::stack("title", vec![title, line.padded(Dots(0), air)]);
    galley.chunks.extend(rule);
    galley.below = below;
    titled(galley)
}

pub fn heading(context: &Context, level: u8, inlines: &[Inline], span: Span, room: Room) -> Galley {
    let (style, section) = (context.style, level <= 2);
    let size = if section { style.type_.section } else { style.type_.subsection };
    let look = fitting(context, &plain_text(inlines), context.heading(size), room.width, context.body().size);
    let look = Type { italic: level > 3, ..look };
    let kind = if section { "heading" } else { "sub-heading" };
    let form = if section { style.section.look } else { style.subsection.look };
    let reverse = form == SectionLook::Reverse;
    let padding = if reverse { context.dots(style.space.padding) } else { Dots(0) };
    let setting = Setting { white: reverse, ..Setting::label(kind, look, room.width - padding * 2, span) };
    let raised = if section && style.section.capitals { capitals(context.language, inlines) } else { inlines.to_vec() };
    let mut gathering = Gathering::new(setting.width);
    gathering.push_inlines(context, &raised, look, reverse);
    let mut galley = gathering.set(context, &setting);
    galley.remarks.extend(smaller(look, context.heading(size), span));
    galley.shift(padding);
    let gap = context.dots(style.space.after_heading);
    galley = match form {
        SectionLook::Plain => galley,
        SectionLook::Bar => Galley::stack(kind, vec![ruled(room.width, context.line(style.line.section), gap / 2), galley]),
        SectionLook::Rule => Galley::stack(kind, vec![galley, ruled(room.width, context.line(style.line.medium), Dots(0))]),
        SectionLook::Reverse => {
            reversed(centred(galley.solid(), context.faces.vertical(&look).cap_height, padding / 4), room.width)
        }
    };
    galley.above = context.dots(if section { style.space.section } else { style.space.subsection });
    galley.below = gap;
    keep(galley)
}

/// A section's heading without the line above it.
pub fn without_bar(context: &Context, mut galley: Galley) -> Galley {
    if context.style.section.look == SectionLook::Bar && galley.chunks.len() > 1 {
        galley.chunks.remove(0);
    }
    galley
}

/// A heading is never the last thing in a panel.
fn keep(mut galley: Galley) -> Galley {
    galley.chunks.iter_mut().for_each(|chunk| chunk.keep = true);
    galley
}

/// A title is one piece with its line. Where no panel holds what follows it as well, it has one to itself.
fn titled(galley: Galley) -> Galley {
    let mut galley = keep(galley);
    let count = galley.chunks.len();
    galley.chunks.iter_mut().enumerate().for_each(|(n, chunk)| chunk.loose = n + 1 == count);
    galley
}

/// A line across the column, with space under it.
fn ruled(width: Dots, thickness: Dots, below: Dots) -> Galley {
    let mut chunk = Chunk { height: thickness + below, ..Chunk::default() };
    chunk.fill(Dots(0), Dots(0), width, thickness);
    Galley { chunks: vec![chunk], ..Galley::default() }
}

/// Space above and below, about `padding` each, such that the capitals of the first line are as far from the top as the last baseline
/// is from the foot.
fn centred(galley: Galley, cap_height: Dots, padding: Dots) -> Galley {
    let baselines = galley.chunks.iter().flat_map(|chunk| &chunk.marks).filter_map(|mark| match mark {
        Mark::Text { baseline, .. } => Some(*baseline),
        _ => None,
    });
    let (first, last) = (baselines.clone().min(), baselines.max());
    let (Some(first), Some(last)) = (first, last) else { return galley };
    let lower = (galley.height() - last) - (first - cap_height);
    let bottom = (padding - lower / 2).max(Dots(0));
    galley.padded((bottom + lower).max(Dots(0)), bottom)
}

/// A black band behind what is set in white.
fn reversed(mut galley: Galley, width: Dots) -> Galley {
    for chunk in &mut galley.chunks {
        let band = Mark::Fill { x: Dots(0), y: Dots(0), width, height: chunk.height, black: true };
        chunk.marks.insert(0, band);
    }
    galley
}

/// A heading that is set smaller than the style asks, because a word would not fit, is worth a word itself.
fn smaller(look: Type, asked: Type, span: Span) -> Option<Remark> {
    let points = |size: Pt| format!("{:.1}", f64::from(size.thousandths()) / 1000.0);
    (look.size < asked.size).then(|| Remark {
        rule: "heading-smaller",
        level: Level::Advice,
        message: format!(
            "this is set in {} points, not in {}: a word is wider than the column",
            points(look.size),
            points(asked.size)
        ),
        hint: Some("take a shorter word, or set the size in the style to what fits".into()),
        span,
    })
}

/// How much smaller a heading is set so that no word of it is divided, in percent of its size: no smaller than this.
const UNDIVIDED: i64 = 65;

/// The look in the largest size in which the longest word still fits the width; where that would be too small, the longest part of one
/// that can be divided. Not smaller than `least`.
fn fitting(context: &Context, text: &str, look: Type, width: Dots, least: Pt) -> Type {
    let width_of = |text: &str| text::one_line(context, text, look, Span::default(), &mut Vec::new()).width;
    let part_of = |word: &str| {
        let parts = context.faces.parts(word, context.language);
        let (last, others) = parts.split_last().map_or((word, [].as_slice()), |(last, others)| (*last, others));
        others.iter().map(|part| width_of(&format!("{part}-"))).max().unwrap_or_default().max(width_of(last))
    };
    let scaled = |widest: Dots| i64::from(look.size.thousandths()) * i64::from(width.0) / i64::from(widest.0.max(1));
    let whole = |size: Pt| {
        let look = Type { size, ..look };
        let widths =
            text.split_whitespace().map(|word| text::one_line(context, word, look, Span::default(), &mut Vec::new()).width);
        widths.max().unwrap_or_default()
    };
    let mut size = Pt::from_thousandths(scaled(whole(look.size)).min(i64::from(look.size.thousandths())) as i32);
    // Dots are whole: a word may come out wider than its share.
    while whole(size) > width && size > least {
        size = size.percent(99);
    }
    if size >= least && i64::from(size.thousandths()) * 100 >= i64::from(look.size.thousandths()) * UNDIVIDED {
        return Type { size, ..look };
    }
    let widest = text.split_whitespace().map(|word| if width_of(word) > width { part_of(word) } else { width_of(word) }).max();
    match widest {
        Some(widest) if widest > width => Type { size: Pt::from_thousandths(scaled(widest) as i32).max(least), ..look },
        _ => look,
    }
}

fn capitals(language: Language, inlines: &[Inline]) -> Vec<Inline> {
    use crate::manual::document::InlineKind::*;
    let raise = |inline: &Inline| {
        let kind = match &inline.kind {
            Text(text) => Text(language.capitals(text)),
            Strong(inner) => Strong(capitals(language, inner)),
            Emphasis(inner) => Emphasis(capitals(language, inner)),
            Strike(inner) => Strike(capitals(language, inner)),
            Subscript(inner) => Subscript(capitals(language, inner)),
            Superscript(inner) => Superscript(capitals(language, inner)),
            Link { text, note, address } => Link { text: capitals(language, text), note: *note, address: address.clone() },
            other => other.clone(),
        };
        Inline { span: inline.span, kind }
    };
    inlines.iter().map(raise).collect()
}
