//! Procedures with step badges, bullets, boxes to tick.

use super::{Room, set_all};
use crate::layout::bench::Bench;
use crate::layout::galley::{Boxed, Chunk, Galley, Mark, SUBDOTS, stroke};
use crate::layout::style::Badge;
use crate::layout::text::one_line;
use crate::manual::document::{Block, Item, Kind, Step};
use crate::manual::source::Remark;
use crate::type_setting::Type;
use crate::units::Dots;

/// Numbered steps. A step is one piece: nothing folds it.
pub fn procedure(bench: &Bench, steps: &[Step], room: Room) -> Galley {
    let most = steps.iter().map(|step| step.number).max().unwrap_or(0);
    let gap = bench.dots(bench.style.space.step);
    let parts = steps
        .iter()
        .map(|step| {
            let mut remarks = Vec::new();
            let badge = badge(bench, step, most, room, &mut remarks);
            let indent =
                bench.indent(badge.width + bench.dots(bench.style.space.indent) / 2, room.width).max(badge.width + Dots(9));
            let mut galley = hung(bench, set_all(bench, "step", &step.blocks, room.within(indent)), indent, badge).solid();
            if let Some(chunk) = galley.chunks.first_mut() {
                let text = format!("{} {}", step.number, galley.text);
                let whole = Boxed {
                    kind: "step",
                    x: Dots(0),
                    y: Dots(0),
                    width: room.width,
                    height: chunk.height,
                    span: step.span,
                    text,
                };
                chunk.boxes.insert(0, whole);
            }
            galley.text = format!("{} {}", step.number, galley.text);
            galley.remarks.extend(remarks);
            Galley { above: gap, below: gap, ..galley }
        })
        .collect();
    let mut whole = Galley::stack("procedure", parts);
    whole.above = gap.max(bench.dots(bench.style.space.paragraph));
    whole.below = whole.above;
    whole
}

pub fn bullets(bench: &Bench, items: &[Item], room: Room) -> Galley {
    let gap = bench.dots(bench.style.space.item);
    let parts = items
        .iter()
        .map(|item| {
            let sign = match item.tick {
                Some(ticked) => tick_box(bench, ticked),
                None => bullet(bench, room.depth),
            };
            let wanted = bench.dots(bench.style.space.indent).max(sign.width + Dots(10));
            let indent = bench.indent(wanted, room.width).max(sign.width + Dots(9));
            let galley = hung(bench, item_text(bench, &item.blocks, room.within(indent), gap), indent, sign);
            Galley { above: gap, below: gap, ..galley }
        })
        .collect();
    let mut whole = Galley::stack("bullets", parts);
    let outer = if room.depth == 0 { bench.dots(bench.style.space.paragraph) } else { gap };
    whole.above = outer;
    whole.below = outer;
    whole
}

/// The blocks of an item. A list inside it stands as near to the words it belongs to as one item to the next.
fn item_text(bench: &Bench, blocks: &[Block], room: Room, gap: Dots) -> Galley {
    let parts = blocks.iter().enumerate().map(|(n, block)| {
        let galley = super::set(bench, block, room);
        let leads = matches!(block.kind, Kind::Paragraph(_))
            && matches!(blocks.get(n + 1).map(|next| &next.kind), Some(Kind::Bullets { .. }));
        if leads { Galley { below: gap, ..galley } } else { galley }
    });
    Galley::stack("item", parts.collect())
}

/// What hangs at the side of the text: marks relative to its left edge and to the middle of the capitals of the first line.
struct Hanging {
    width: Dots,
    /// Half its height.
    reach: Dots,
    marks: Vec<Mark>,
    text: String,
}

/// Puts a badge or a bullet beside the first line of the text.
fn hung(bench: &Bench, mut text: Galley, indent: Dots, sign: Hanging) -> Galley {
    text.shift(indent);
    let look = bench.body();
    let vertical = bench.faces.vertical(&look);
    if text.chunks.is_empty() {
        text.chunks.push(Chunk { height: bench.pitch(look.size), ..Chunk::default() });
    }
    let first = &mut text.chunks[0];
    let baseline = first.marks.iter().find_map(|mark| match mark {
        Mark::Text { baseline, .. } => Some(*baseline),
        _ => None,
    });
    let middle = match baseline {
        Some(baseline) => baseline - vertical.cap_height / 2,
        None => sign.reach,
    };
    let lower = (sign.reach - middle).max(Dots(0));
    first.shift(Dots(0), lower);
    first.height += lower;
    for mut mark in sign.marks {
        mark.shift(Dots(0), middle + lower);
        first.marks.push(mark);
    }
    let short = middle + lower + sign.reach - first.height;
    if short > Dots(0) {
        // A badge taller than its line: the lines below move closer to it rather than away from each other.
        match text.chunks.len() {
            1 => text.chunks[0].height += short,
            _ => text.chunks[0].keep = true,
        }
    }
    if !sign.text.is_empty() {
        text.text = format!("{} {}", sign.text, text.text).trim().to_string();
    }
    text
}

fn badge(bench: &Bench, step: &Step, most: u64, room: Room, remarks: &mut Vec<Remark>) -> Hanging {
    let digits = most.to_string().len() as i32;
    let small = room.depth > 0;
    let size = if small { bench.body().size } else { bench.body().size.percent(115) };
    let number = step.number.to_string();
    let look = Type { bold: true, italic: false, size, ..bench.heading(bench.style.type_.body) };
    let line = one_line(bench, &number, look, step.span, remarks);
    let cap = bench.faces.vertical(&look).cap_height;
    if small {
        // Steps inside steps: the number alone, in bold with a point.
        let line = one_line(bench, &format!("{number}."), look, step.span, remarks);
        let width = line.width;
        let marks = vec![Mark::line(Dots(0), cap / 2, line, false)];
        return Hanging { width, reach: cap / 2, marks, text: String::new() };
    }
    let narrow = if bench.is_narrow() { 88 } else { 100 };
    let height = bench.dots(bench.style.step.size) * narrow / 100;
    let digit = one_line(bench, "0", look, step.span, &mut Vec::new()).width;
    let width = height.max(digit * digits + height / 2);
    let shape = match bench.style.step.badge {
        Badge::Disc => {
            Mark::Round { x: Dots(0), y: -height / 2, width, height, radius: height / 2, border: Dots(0), fill: Some(true) }
        }
        Badge::Box => {
            Mark::Round { x: Dots(0), y: -height / 2, width, height, radius: Dots(3), border: Dots(0), fill: Some(true) }
        }
        Badge::Burst => Mark::Polygon { points: burst(width, height), black: true },
    };
    let left = line.fragments.iter().map(|fragment| fragment.x).min().unwrap_or_default();
    let x = (width - (line.width - left)) / 2 - left;
    let text = Mark::line(x, cap / 2, line, true);
    Hanging { width, reach: height / 2, marks: vec![shape, text], text: String::new() }
}

/// A star of sixteen points around the middle, in sixteenths of a dot.
fn burst(width: Dots, height: Dots) -> Vec<[i32; 2]> {
    let (cx, cy) = (width.0 * SUBDOTS / 2, 0);
    (0..32)
        .map(|n| {
            let angle = f64::from(n) * std::f64::consts::PI / 16.0;
            let reach = if n % 2 == 0 { 1.0 } else { 0.80 };
            let x = libm::round(libm::sin(angle) * reach * f64::from(width.0 * SUBDOTS / 2)) as i32;
            let y = libm::round(-libm::cos(angle) * reach * f64::from(height.0 * SUBDOTS / 2)) as i32;
            [cx + x, cy + y]
        })
        .collect()
}

/// Disc, ring, square by turns, so that levels can be told apart.
fn bullet(bench: &Bench, depth: u32) -> Hanging {
    let size = (bench.faces.vertical(&bench.body()).x_height * 3 / 5).max(Dots(5));
    let radius = if depth % 3 == 2 { Dots(0) } else { size / 2 };
    let fill = Some(depth % 3 != 1);
    let border = if depth % 3 == 1 { Dots(2) } else { Dots(0) };
    let marks = vec![Mark::Round { x: Dots(1), y: -size / 2 + Dots(2), width: size, height: size, radius, border, fill }];
    Hanging { width: size + Dots(1), reach: size / 2, marks, text: String::new() }
}

/// A box to tick, and the tick.
fn tick_box(bench: &Bench, ticked: bool) -> Hanging {
    let cap = bench.faces.vertical(&bench.body()).cap_height;
    let size = cap + Dots(3);
    let border = bench.line(bench.style.line.medium).max(Dots(2));
    let (x, y) = (Dots(0), -size / 2);
    let mut marks = vec![Mark::Round { x, y, width: size, height: size, radius: Dots(2), border, fill: Some(false) }];
    if ticked {
        let at = |px: i32, py: i32| [size.0 * SUBDOTS * px / 100, (y.0 * 100 + size.0 * py) * SUBDOTS / 100];
        let thick = (size.0 * SUBDOTS / 7).max(3 * SUBDOTS);
        marks.push(Mark::Polygon { points: stroke(at(18, 46), at(46, 78), thick), black: true });
        marks.push(Mark::Polygon { points: stroke(at(40, 80), at(98, 2), thick), black: true });
        if bench.language.is_rtl() {
            // The list will be mirrored; a tick is not.
            marks.iter_mut().for_each(|mark| mark.mirror(size));
        }
    }
    let text = String::new();
    Hanging { width: size, reach: size / 2 + Dots(1), marks, text }
}
