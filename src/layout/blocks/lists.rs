//! Procedures with step badges, bullets, boxes to tick.

use super::{Room, set_all};
use crate::geometry::Point;
use crate::layout::context::Context;
use crate::layout::galley::{Boxed, Galley, Hanging, Mark, SUBDOTS, stroke};
use crate::layout::style::{Badge, Bullet};
use crate::layout::text::one_line;
use crate::lengths::{Dots, Pt};
use crate::manual::document::{Block, Item, Kind, Step};
use crate::manual::source::Remark;
use crate::type_setting::Type;

/// Numbered steps. A step is one piece: nothing folds it where a panel has room for it, and a picture without a width of its own gives
/// way to make that so.
pub fn procedure(context: &Context, steps: &[Step], room: Room) -> Galley {
    let most = steps.iter().map(|step| step.number).max().unwrap_or(0);
    let gap = context.dots(context.style.space.step);
    let parts = steps
        .iter()
        .map(|step| {
            let mut remarks = Vec::new();
            let badge = badge(context, step, most, room, &mut remarks);
            let indent =
                context.indent(badge.width + context.dots(context.style.space.indent) / 2, room.width).max(badge.width + Dots(9));
            let mut galley =
                in_a_panel(context, room.depth == 0, |context| set_all(context, "step", &step.blocks, room.within(indent)));
            galley.shift(indent);
            galley.hang(badge, context.pitch(context.body().size));
            let mut galley = galley.whole(context.panel_room);
            let text = format!("{} {}", step.number, galley.text);
            for (n, chunk) in galley.chunks.iter_mut().enumerate() {
                // A step that had to be parted says itself once.
                let text = if n == 0 { text.clone() } else { String::new() };
                let height = chunk.height;
                let whole = Boxed { kind: "step", x: Dots(0), y: Dots(0), width: room.width, height, span: step.span, text };
                chunk.boxes.insert(0, whole);
            }
            galley.text = format!("{} {}", step.number, galley.text);
            galley.remarks.extend(remarks);
            Galley { above: gap, below: gap, ..galley }
        })
        .collect();
    let mut whole = Galley::stack("procedure", parts);
    whole.above = gap.max(context.dots(context.style.space.paragraph));
    whole.below = whole.above;
    whole
}

/// Sets something so that it fits into one panel, if drawing its pictures down to half their size is enough for that.
fn in_a_panel(context: &Context, top: bool, set: impl Fn(&Context) -> Galley) -> Galley {
    let galley = set(context);
    // Steps inside steps are as small as those that hold them.
    let Some(room) = context.panel_room.filter(|_| top) else { return galley };
    if galley.height() <= room {
        return galley;
    }
    let full = if context.shrink < 100 { &set(&Context { shrink: 100, ..*context }) } else { &galley };
    let (over, gives) = (full.height() - room, full.gives());
    if over * 2 > gives {
        return galley;
    }
    // Three rows more than their share, for pictures end on whole dots.
    let percent = 100 - ((over + Dots(3)).0 * 100 / gives.0.max(1) + 1).min(50);
    let smaller = set(&Context { shrink: percent as u8, ..*context });
    if smaller.height() <= room { smaller } else { galley }
}

pub fn bullets(context: &Context, items: &[Item], room: Room) -> Galley {
    let gap = context.dots(context.style.space.item);
    let count = items.len();
    let parts = items
        .iter()
        .enumerate()
        .map(|(n, item)| {
            let sign = match item.tick {
                Some(ticked) => tick_box(context, ticked),
                None => bullet(context, room.depth),
            };
            let wanted = context.dots(context.style.space.indent).max(sign.width + Dots(10));
            let indent = context.indent(wanted, room.width).max(sign.width + Dots(9));
            let mut galley = item_text(context, &item.blocks, room.within(indent), gap);
            galley.shift(indent);
            galley.hang(sign, context.pitch(context.body().size));
            // No item of a list is left alone: the first two stay together, and the last two.
            if let Some(last) = galley.chunks.last_mut().filter(|_| (n == 0 && count > 1) || n + 2 == count) {
                (last.keep, last.loose) = (true, true);
            }
            Galley { above: gap, below: gap, ..galley }
        })
        .collect();
    let mut whole = Galley::stack("bullets", parts);
    let outer = if room.depth == 0 { context.dots(context.style.space.paragraph) } else { gap };
    whole.above = outer;
    whole.below = outer;
    whole
}

/// The blocks of an item. A list inside it stands as near to the words it belongs to as one item to the next.
fn item_text(context: &Context, blocks: &[Block], room: Room, gap: Dots) -> Galley {
    let parts = super::in_groups(context, blocks).into_iter().map(|(range, gaps)| {
        let next = blocks.get(range.end).map(|next| &next.kind);
        let leads = matches!(blocks[range.end - 1].kind, Kind::Paragraph(_)) && matches!(next, Some(Kind::Bullets { .. }));
        let galley = super::set_some(context, &blocks[range], gaps, room);
        if leads { Galley { below: gap, ..galley } } else { galley }
    });
    Galley::stack("item", parts.collect())
}

fn badge(context: &Context, step: &Step, most: u64, room: Room, remarks: &mut Vec<Remark>) -> Hanging {
    let digits = most.to_string().len() as i32;
    let number = step.number.to_string();
    let look = Type { bold: true, italic: false, ..context.heading(context.style.type_.body) };
    if room.depth > 0 {
        // Steps inside steps: the number alone, in bold with a point; the points stand under each other.
        let cap = context.faces.vertical(&look).cap_height;
        let line = one_line(context, &format!("{number}."), look, step.span, remarks);
        let widest = one_line(context, &format!("{}.", "0".repeat(digits as usize)), look, step.span, &mut Vec::new());
        let width = widest.width.max(line.width);
        let marks = vec![Mark::line(width - line.width, Dots(0), line, false)];
        return Hanging { width, above: cap, marks, ..Hanging::default() };
    }
    let narrow = if context.is_narrow() { 88 } else { 100 };
    let height = context.dots(context.style.step.size) * narrow / 100;
    let look = Type { size: number_size(context, narrow), ..look };
    let line = one_line(context, &number, look, step.span, remarks);
    let cap = context.faces.vertical(&look).cap_height;
    let digit = one_line(context, "0", look, step.span, &mut Vec::new()).width;
    let width = match context.style.step.badge {
        Badge::Burst => burst_width(digit * digits, cap, height),
        _ => height.max(digit * digits + height / 2),
    };
    let shape = match context.style.step.badge {
        Badge::Disc => {
            Mark::Round { x: Dots(0), y: -height / 2, width, height, radius: height / 2, border: Dots(0), fill: Some(true) }
        }
        Badge::Box => {
            Mark::Round { x: Dots(0), y: -height / 2, width, height, radius: Dots(3), border: Dots(0), fill: Some(true) }
        }
        Badge::Burst => Mark::Polygon { points: burst(width, height), black: true },
    };
    let left = line.indent();
    let x = (width - (line.width - left)) / 2 - left;
    let text = Mark::line(x, cap / 2, line, true);
    centred(context, width, height / 2, vec![shape, text])
}

/// Size of the number in a badge: a seventh larger than the text in a badge of 5.25 mm, and as much larger or smaller as the badge is.
fn number_size(context: &Context, narrow: i32) -> Pt {
    const USUAL: i64 = 5_250;
    let asked = context.style.step.size.0.micrometres() * i64::from(narrow) / if context.is_narrow() { 88 } else { 100 };
    let size = i64::from(context.body().size.percent(115).thousandths()) * asked / USUAL;
    Pt::from_thousandths(size.clamp(1, 96_000) as i32).max(context.style.type_.minimum.0)
}

/// Marks around the middle of the capitals of the line that they hang beside, `reach` dots up and down.
fn centred(context: &Context, width: Dots, reach: Dots, mut marks: Vec<Mark>) -> Hanging {
    let middle = context.faces.vertical(&context.body()).cap_height / 2;
    marks.iter_mut().for_each(|mark| mark.shift(Dots(0), -middle));
    Hanging { width, above: reach + middle, below: reach - middle, marks, boxes: Vec::new() }
}

/// How wide a burst has to be so that a number of that size lies within its inner points.
fn burst_width(number: Dots, cap: Dots, height: Dots) -> Dots {
    let high = f64::from(cap.0) / (BURST * f64::from(height.0.max(1)));
    // The corners of the number lie on the ellipse of the inner points.
    let share = libm::sqrt((1.0 - high * high).max(0.1));
    height.max(Dots(libm::ceil((f64::from(number.0) + 2.0) / (BURST * share)) as i32))
}

/// How far the inner points of a burst are out, in parts of the outer ones.
const BURST: f64 = 0.80;

/// A star of sixteen points around the middle, in sixteenths of a dot.
fn burst(width: Dots, height: Dots) -> Vec<Point<i32>> {
    let (cx, cy) = (width.0 * SUBDOTS / 2, 0);
    (0..32)
        .map(|n| {
            let angle = f64::from(n) * std::f64::consts::PI / 16.0;
            let reach = if n % 2 == 0 { 1.0 } else { BURST };
            let x = libm::round(libm::sin(angle) * reach * f64::from(width.0 * SUBDOTS / 2)) as i32;
            let y = libm::round(-libm::cos(angle) * reach * f64::from(height.0 * SUBDOTS / 2)) as i32;
            Point::new(cx + x, cy + y)
        })
        .collect()
}

/// What the style has; by turns disc, ring and square, so that levels can be told apart.
fn bullet(context: &Context, depth: u32) -> Hanging {
    let size = (context.faces.vertical(&context.body()).x_height * 3 / 5).max(Dots(5));
    let form = match context.style.list.bullet {
        Bullet::Turns => [Bullet::Disc, Bullet::Ring, Bullet::Square][depth as usize % 3],
        one => one,
    };
    if form == Bullet::Dash {
        let (width, height) = (size * 3 / 2, (size / 4).max(Dots(2)));
        let marks = vec![Mark::Fill { x: Dots(1), y: Dots(2) - height / 2, width, height, black: true }];
        return centred(context, width + Dots(1), size / 2, marks);
    }
    let radius = if form == Bullet::Square { Dots(0) } else { size / 2 };
    let fill = Some(form != Bullet::Ring);
    let border = if form == Bullet::Ring { Dots(2) } else { Dots(0) };
    let marks = vec![Mark::Round { x: Dots(1), y: -size / 2 + Dots(2), width: size, height: size, radius, border, fill }];
    centred(context, size + Dots(1), size / 2, marks)
}

/// A box to tick, and the tick.
fn tick_box(context: &Context, ticked: bool) -> Hanging {
    let cap = context.faces.vertical(&context.body()).cap_height;
    let size = cap + Dots(3);
    let border = context.line(context.style.line.medium).max(Dots(2));
    let (x, y) = (Dots(0), -size / 2);
    let mut marks = vec![Mark::Round { x, y, width: size, height: size, radius: Dots(2), border, fill: Some(false) }];
    if ticked {
        let at = |px: i32, py: i32| Point::new(size.0 * SUBDOTS * px / 100, (y.0 * 100 + size.0 * py) * SUBDOTS / 100);
        let thick = (size.0 * SUBDOTS / 7).max(3 * SUBDOTS);
        marks.push(Mark::Polygon { points: stroke(at(18, 46), at(46, 78), thick), black: true });
        marks.push(Mark::Polygon { points: stroke(at(40, 80), at(98, 2), thick), black: true });
        if context.language.is_rtl() {
            // The list will be mirrored; a tick is not.
            marks.iter_mut().for_each(|mark| mark.mirror(size));
        }
    }
    centred(context, size, size / 2 + Dots(1), marks)
}
