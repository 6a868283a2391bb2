//! A picture with its caption, its callouts and their legend.

use std::sync::Arc;

use super::Room;
use super::callouts::{self, Rules};
use super::exposure::{Exposed, Subject};
use super::size::Shape;
use crate::bitmap::{Bitmap, Ink};
use crate::geometry::{Point, Rect, Size};
use crate::layout::context::Context;
use crate::layout::galley::{Boxed, Chunk, Galley, Mark, SUBDOTS, stroke};
use crate::layout::lacking::{Lack, frame};
use crate::layout::signals::Asked;
use crate::layout::style::{Align, Side};
use crate::layout::text::{self, Gathering, Setting, one_line};
use crate::lengths::{Dots, Mm, Pt};
use crate::manual::document::{Callout, Figure, Numbers, Screen, Width, is_drawn_by_name};
use crate::manual::source::{Level, Remark, Span};
use crate::pictures::signals::{Form, is_signal};
use crate::pictures::{ContentId, Error, PictureInfo, numbering};
use crate::type_setting::Type;

/// A sign that stands alone as a figure is this high.
const SIGN: Mm = Mm::from_micrometres(14_000);

/// A signal that stands alone is so large, in percent of running text.
const SIGNAL: i32 = 180;

/// A picture is not made smaller than this so that its caption and legend stand in the same panel.
const LEAST: Mm = Mm::from_micrometres(10_000);

pub fn figure(context: &Context, figure: &Figure, span: Span, room: Room) -> Galley {
    // A telephone's upright picture is shown whole, but not as tall as a page, unless the writer says how wide.
    let tallest = match figure.width {
        None | Some(Width::Page(_)) if !room.cell => room.width * context.style.figure.largest.percent() / 100 * 6 / 5,
        _ => Dots(i32::from(i16::MAX)),
    };
    let Some(panel) = context.panel_room else { return composed(context, figure, span, room, tallest) };
    // A picture higher than a panel could only be folded; it is set smaller instead, and by as much again as its caption and its
    // legend, known only once they are set, stand out of the panel.
    let mut most = tallest.min(panel * 85 / 100);
    let mut galley = composed(context, figure, span, room, most);
    for _ in 0..6 {
        let over = galley.height() - panel;
        let least = context.paper.resolution.dots(LEAST);
        if over <= Dots(0) || most <= least {
            break;
        }
        most = (most - over).max(least);
        galley = composed(context, figure, span, room, most);
    }
    galley
}

/// The figure with a picture at most so high.
fn composed(context: &Context, figure: &Figure, span: Span, room: Room, most: Dots) -> Galley {
    let space = context.dots(context.style.space.block);
    let mut parts = Vec::new();
    let shown = match is_signal(&figure.picture) {
        true => signal(context, figure, room, most),
        false => {
            drawn(context, figure, room, most).map(|screened| (picture(context, figure, &screened, span, room), screened.bitmap))
        }
    };
    match shown {
        Ok((mut picture, bitmap)) => {
            let legend = called_out(context, figure, &bitmap, &mut picture, span, room);
            if context.language.is_rtl() {
                // The column will be mirrored; a picture and its numbers are not.
                picture.mirror(room.width);
            }
            captioned(context, &mut parts, picture, caption(context, figure, span, room));
            parts.extend(legend);
        }
        Err(error) => {
            let mut picture = framed(context, figure, &error, room, most);
            if context.language.is_rtl() {
                picture.mirror(room.width);
            }
            captioned(context, &mut parts, picture, caption(context, figure, span, room));
            if !figure.callouts.is_empty() {
                // Nothing to point at, but what would be pointed at is still said.
                let labels: Vec<&Callout> = figure.callouts.iter().collect();
                parts.push(legend(context, &labels, &CalloutBall::new(context, labels.len(), span), room));
            }
        }
    }
    // A picture and its caption are one; a legend follows on the next panel where it must.
    let mut galley = Galley::stack("figure", parts);
    if let Some(chunk) = galley.chunks.first_mut().filter(|_| figure.caption.is_empty()) {
        chunk.loose = true;
    }
    Galley { above: space, below: space, ..galley.whole(context.panel_room) }
}

/// A picture and its caption, below it or above as the style has it.
fn captioned(context: &Context, parts: &mut Vec<Galley>, picture: Galley, caption: Option<Galley>) {
    let Some(mut caption) = caption else { return parts.push(picture) };
    match context.style.figure.caption {
        Side::Below => parts.extend([picture, caption]),
        Side::Above => {
            caption.chunks.iter_mut().for_each(|chunk| chunk.keep = true);
            caption.below = context.dots(context.style.space.item);
            parts.extend([caption, picture]);
        }
    }
}

/// Puts the callouts on the picture; gives the legend that goes below it.
pub(super) fn called_out(
    context: &Context,
    figure: &Figure,
    bitmap: &Bitmap,
    picture: &mut Galley,
    span: Span,
    room: Room,
) -> Option<Galley> {
    if figure.callouts.is_empty() {
        return None;
    }
    let (width, height) = (bitmap.width() as i32, bitmap.height() as i32);
    let Rect { x: left, y: top, width: share_w, height: share_h } =
        figure.crop.unwrap_or(Rect::new(0, 0, 1000, 1000)).map(i64::from);
    let on_picture = |at: Point<i32>| {
        let x = (i64::from(at.x) - left) * i64::from(width) / share_w.max(1);
        let y = (i64::from(at.y) - top) * i64::from(height) / share_h.max(1);
        (Point::new(x as i32, y as i32), (0..=i64::from(width)).contains(&x) && (0..=i64::from(height)).contains(&y))
    };
    let mut shown = Vec::new();
    for callout in &figure.callouts {
        match on_picture(callout.at) {
            (at, true) => shown.push((callout, at)),
            // Reading has said so of what lies beside the whole picture.
            (_, false) if callout.is_beside() => {}
            (_, false) => picture.remarks.push(Remark {
                rule: "callout-off-picture",
                level: Level::Error,
                message: format!("the callout {:?} points at nothing that is shown", callout.label),
                hint: Some("`at` is measured on the whole picture, in % of its width and height; what `crop` leaves out cannot be pointed at".into()),
                span: callout.span,
            }),
        }
    }
    if figure.numbers == Numbers::Placed {
        let size = context.pictures.look(&figure.picture).map_or(Size::new(1, 1), |info| Size::new(info.width, info.height));
        let points: Vec<Point<i32>> = shown.iter().map(|(callout, _)| callout.at).collect();
        shown = numbering::on_picture(size, &points, context.language.is_rtl()).into_iter().map(|n| shown[n]).collect();
    }
    let ball = CalloutBall::new(context, shown.len(), span);
    let side = ((room.width.0 - width) / 2).max(0);
    let rules = Rules { radius: ball.radius, halo: HALO, side };
    let targets: Vec<Point<i32>> = shown.iter().map(|(_, at)| *at).collect();
    let placement = callouts::place(bitmap, &targets, rules);
    if placement.conflicts > 0 {
        picture.remarks.push(Remark {
            rule: "callouts-crowded",
            level: Level::Warning,
            message: format!("{} callouts are too many for this picture: some leaders meet", shown.len()),
            hint: Some("make the picture wider, or show it in two figures".into()),
            span,
        });
    }
    let chunk = picture.chunks.first_mut()?;
    let down = Dots(placement.margin.height);
    chunk.shift(Dots(0), down);
    chunk.height += down * 2;
    let origin = Point::new((room.width.0 - width).max(0) / 2, down.0);
    let placed = |at: Point<i32>| (origin + at) * SUBDOTS;
    for black in [false, true] {
        // All halos first, so that none of them eats into a neighbour's leader.
        for (&tip, &centre) in targets.iter().zip(&placement.balls) {
            let (from, to) = (placed(tip), placed(centre));
            let thickness = if black { 2 } else { 2 + HALO * 2 - 2 };
            chunk.marks.push(Mark::Polygon { points: stroke(from, to, thickness * SUBDOTS), black });
            let reach = if black { 3 } else { 5 };
            chunk.marks.push(disc(origin, tip, reach, black));
            chunk.marks.push(disc(origin, centre, ball.radius + if black { 0 } else { HALO }, black));
        }
    }
    for (n, (&ball_at, (callout, _))) in placement.balls.iter().zip(&shown).enumerate() {
        let centre = (origin + ball_at).map(Dots);
        chunk.marks.push(ball.number(context, n + 1, centre, span));
        let size = Dots(ball.radius * 2);
        let (x, y) = (centre.x - Dots(ball.radius), centre.y - Dots(ball.radius));
        chunk.boxes.push(Boxed {
            kind: "callout",
            x,
            y,
            width: size,
            height: size,
            span: callout.span,
            text: (n + 1).to_string(),
        });
    }
    let labels: Vec<&Callout> = shown.iter().map(|(callout, _)| *callout).collect();
    Some(legend(context, &labels, &ball, room))
}

/// White around balls and leaders, dots.
const HALO: i32 = 3;

/// The look of the numbered balls of one figure.
struct CalloutBall {
    radius: i32,
    look: Type,
}

impl CalloutBall {
    fn new(context: &Context, count: usize, span: Span) -> CalloutBall {
        let look = Type { bold: true, ..context.small() };
        let widest = one_line(context, &"0".repeat(count.to_string().len()), look, span, &mut Vec::new()).width;
        let cap = context.faces.vertical(&look).cap_height;
        CalloutBall { radius: (cap.0 * 9 / 10).max(widest.0 / 2 + 5), look }
    }

    /// The number, white, in the middle of its ball.
    fn number(&self, context: &Context, number: usize, centre: Point<Dots>, span: Span) -> Mark {
        let line = one_line(context, &number.to_string(), self.look, span, &mut Vec::new());
        let left = line.fragments.iter().map(|fragment| fragment.x).min().unwrap_or_default();
        let (width, cap) = (line.width - left, context.faces.vertical(&self.look).cap_height);
        let baseline = centre.y + Dots((cap.0 + 1) / 2);
        Mark::line(centre.x - Dots((width.0 + 1) / 2) - left, baseline, line, true)
    }
}

fn disc(origin: Point<i32>, centre: Point<i32>, radius: i32, black: bool) -> Mark {
    let (x, y) = (Dots(origin.x + centre.x - radius), Dots(origin.y + centre.y - radius));
    let size = Dots(radius * 2);
    Mark::Round { x, y, width: size, height: size, radius: Dots(radius), border: Dots(0), fill: Some(black) }
}

/// What the numbers stand for, in their order: two columns when all labels are short, else one.
fn legend(context: &Context, callouts: &[&Callout], ball: &CalloutBall, room: Room) -> Galley {
    let gutter = context.dots(context.style.space.gutter);
    let indent = Dots(ball.radius * 2) + context.faces.vertical(&context.small()).x_height;
    let half = (room.width - gutter) / 2;
    let width_of = |label: &str| one_line(context, label, context.small(), Span::default(), &mut Vec::new()).width;
    let two = callouts.len() > 3 && callouts.iter().all(|callout| width_of(&callout.label) <= half - indent);
    let (columns, width) = if two { (2, half) } else { (1, room.width) };
    let rows = callouts.len().div_ceil(columns);
    let mut parts = Vec::new();
    for row in 0..rows {
        let mut chunk = Chunk::default();
        let (mut said, mut remarks) = (Vec::new(), Vec::new());
        for column in 0..columns {
            let n = column * rows + row;
            let Some(callout) = callouts.get(n) else { continue };
            let left = (width + gutter) * column as i32;
            let setting = Setting::small(context, "legend", width - indent, callout.span);
            let mut label = text::plain(context, &callout.label, &setting).solid();
            remarks.append(&mut label.remarks);
            said.push(format!("{} {}", n + 1, label.text));
            let Some(mut words) = label.chunks.pop() else { continue };
            let size = Dots(ball.radius * 2);
            words.shift(left + indent, Dots(0));
            let baseline = words.marks.iter().find_map(|mark| match mark {
                Mark::Text { baseline, .. } => Some(*baseline),
                _ => None,
            });
            let cap = context.faces.vertical(&context.small()).cap_height;
            let middle = baseline.unwrap_or(size / 2) - cap / 2;
            let lower = (Dots(ball.radius) - middle).max(Dots(0));
            words.shift(Dots(0), lower);
            let centre = Point::new(left + Dots(ball.radius), middle + lower);
            words.marks.push(disc(Point::new(0, 0), centre.map(|side| side.0), ball.radius, true));
            words.marks.push(ball.number(context, n + 1, centre, callout.span));
            chunk.height = chunk.height.max((words.height + lower).max(size));
            chunk.marks.append(&mut words.marks);
            chunk.boxes.append(&mut words.boxes);
        }
        let gap = context.dots(context.style.space.item) / 2;
        parts.push(Galley { text: said.join("\n"), chunks: vec![chunk], above: gap, below: gap, remarks, ..Galley::default() });
    }
    let gap = context.dots(context.style.space.item);
    Galley { above: gap, below: gap, ..Galley::stack("legend", parts) }
}

fn drawn(context: &Context, figure: &Figure, room: Room, most: Dots) -> Result<Exposed, Error> {
    let subject = Subject {
        picture: &figure.picture,
        span: figure.picture_span,
        crop: figure.crop,
        screen: figure.screen,
        treatment: figure.treatment,
    };
    let info = context.pictures.look(&figure.picture)?;
    let size = size(context, figure, &subject, &info, room, most);
    subject.expose(context, size)
}

/// A signal that stands alone, and a bitmap as large as it: nearly twice as large as in a line, or as wide as asked.
fn signal(context: &Context, figure: &Figure, room: Room, most: Dots) -> Result<(Galley, Arc<Bitmap>), Error> {
    let asked = match figure.width {
        Some(Width::Length(length)) => Some(context.paper.resolution.dots(length)),
        Some(Width::Share(share)) => Some(room.width * share / 1000),
        _ => None,
    };
    let width = asked.map_or(room.width, |asked| asked.min(room.width)).max(Dots(1));
    let least = context.style.type_.minimum.0;
    let mut size = context.body().size.percent(if asked.is_some() { 600 } else { SIGNAL });
    let drawn = loop {
        let look = Type { size, ..context.body() };
        let (address, alt, span) = (&figure.picture, &figure.alt, figure.picture_span);
        let drawn = Asked { address, alt, form: Form::Large, look, room: room.width, white: false, span }.draw(context)?;
        if drawn.width <= width && drawn.above + drawn.below <= most || size <= least {
            break drawn;
        }
        size = Pt::from_thousandths(size.thousandths() * 15 / 16).max(least);
    };
    let height = drawn.above + drawn.below;
    let align = if figure.callouts.is_empty() { context.style.figure.align } else { Align::Centre };
    let mut chunk = Chunk { height, keep: true, marks: drawn.marks, boxes: drawn.boxes, ..Chunk::default() };
    chunk.shift(align.left(room.width - drawn.width), drawn.above);
    let galley = Galley {
        kind: "picture",
        text: chunk.boxes.first().map(|boxed| boxed.text.clone()).unwrap_or_default(),
        chunks: vec![chunk],
        below: context.dots(context.style.space.item),
        remarks: drawn.remarks,
        ..Galley::default()
    };
    Ok((galley, Arc::new(Bitmap::new(drawn.width.count(), height.count()))))
}

/// A frame in place of a picture that cannot be used, in the size that it would have had, or 4:3.
fn framed(context: &Context, figure: &Figure, error: &Error, room: Room, most: Dots) -> Galley {
    let sign = is_drawn_by_name(&figure.picture);
    let Size { width, height } = match context.pictures.proportions(&figure.picture) {
        Some(size) if !matches!(error, Error::Crop { .. }) => size,
        _ if is_signal(&figure.picture) => Size::new(2000, 1000),
        _ if sign => Size::new(1000, 1000),
        _ => Size::new(4000, 3000),
    };
    let known = PictureInfo { id: ContentId([0; 16]), width, height, vector: sign };
    let uncropped = Figure { crop: None, screen: None, ..figure.clone() };
    let shown = if matches!(error, Error::Crop { .. }) { &uncropped } else { figure };
    let subject = Subject {
        picture: &shown.picture,
        span: shown.picture_span,
        crop: shown.crop,
        screen: shown.screen,
        treatment: shown.treatment,
    };
    let size = size(context, shown, &subject, &known, room, most);
    let (width, height) = (size.width.min(room.width), size.height.min(room.width * 2).min(most));
    let lack = Lack { name: &figure.picture, why: &error.why(), span: figure.picture_span };
    let (mut chunk, mut remarks) = frame(context, width, height, lack);
    chunk.shift((room.width - width).max(Dots(0)) / 2, Dots(0));
    remarks.push(error.remark(figure.picture_span));
    let text = chunk.boxes.first().map_or_else(String::new, |boxed| boxed.text.clone());
    Galley {
        kind: "picture",
        text: format!("{} {text}", figure.alt).trim().to_string(),
        chunks: vec![chunk],
        below: context.dots(context.style.space.item),
        remarks,
        ..Galley::default()
    }
}

/// The size a figure is drawn in. A picture made of pixels is not enlarged unless the writer asks for a width.
fn size(context: &Context, figure: &Figure, subject: &Subject, info: &PictureInfo, room: Room, most: Dots) -> Size<Dots> {
    let Size { width: source_w, height: source_h } = subject.pixels(info);
    let column = i64::from(room.width.0);
    let asked = figure.width.and_then(|width| match width {
        Width::Length(length) => Some(i64::from(context.paper.resolution.dots(length).0).min(column)),
        Width::Share(share) => Some((column * i64::from(share) / 1000).min(column)),
        Width::Page(_) if room.cell => None,
        Width::Page(share) => {
            Some(Shape { width: source_w, height: source_h, pixels: !info.vector }.on_page(column, i64::from(share)))
        }
    });
    if let Some(own) = subject.own_dots(info, asked.map(|asked| Dots(asked as i32)), room.width)
        && own.height <= i64::from(most.0)
    {
        return own.map(|side| Dots(side as i32));
    }
    let sign = figure.picture.starts_with("sign:");
    // A picture that has the column for itself need not fill it.
    let largest = if room.cell { 100 } else { i64::from(context.style.figure.largest.percent()) };
    let wanted = match asked {
        Some(asked) => asked,
        None if sign => (i64::from(context.paper.resolution.dots(SIGN).0) * source_w / source_h).min(column),
        // Of a signal only its frame is as large as this.
        None if is_signal(&figure.picture) => column / 2,
        _ if info.vector => column * largest / 100,
        _ => (column * largest / 100).min(source_w),
    };
    let (mut width, mut height) = (wanted.max(1), (wanted * source_h / source_w).max(1));
    let most = i64::from(most.0.max(1));
    if height > most {
        (width, height) = ((most * source_w / source_h).max(1), most);
    }
    if is_flexible(figure, room) {
        (width, height) = (width * i64::from(context.shrink) / 100, height * i64::from(context.shrink) / 100);
        (width, height) = (width.max(1), height.max(1));
    }
    Size::new(Dots(width as i32), Dots(height as i32))
}

/// Whether a picture may be drawn smaller so that a panel is filled: the writer has not said how large it is, and it shares no row.
fn is_flexible(figure: &Figure, room: Room) -> bool {
    figure.width.is_none() && !room.cell && !is_drawn_by_name(&figure.picture) && figure.screen != Some(Screen::None)
}

fn picture(context: &Context, figure: &Figure, exposed: &Exposed, span: Span, room: Room) -> Galley {
    let (width, height) = (Dots(exposed.bitmap.width() as i32), Dots(exposed.bitmap.height() as i32));
    // Callouts need the room at both sides.
    let align = if figure.callouts.is_empty() { context.style.figure.align } else { Align::Centre };
    let x = align.left(room.width - width);
    let gives = if is_flexible(figure, room) && context.shrink == 100 { height } else { Dots(0) };
    let mut chunk = Chunk { height, keep: true, gives, ..Chunk::default() };
    chunk.marks.push(Mark::Picture { x, y: Dots(0), bitmap: exposed.bitmap.clone(), ink: Ink::Black });
    let photograph = matches!(exposed.used, Screen::Photo | Screen::Halftone);
    if context.style.figure.frame && photograph {
        let border = context.line(context.style.line.medium);
        chunk.marks.push(Mark::Round { x, y: Dots(0), width, height, radius: Dots(0), border, fill: None });
    }
    chunk.boxes.push(Boxed { kind: "picture", x, y: Dots(0), width, height, span, text: figure.alt.clone() });
    Galley {
        kind: "picture",
        text: figure.alt.clone(),
        chunks: vec![chunk],
        below: context.dots(context.style.space.item),
        remarks: exposed.remarks.clone(),
        ..Galley::default()
    }
}

/// "Fig. 1" in bold, and the caption.
pub(super) fn caption(context: &Context, figure: &Figure, span: Span, room: Room) -> Option<Galley> {
    if figure.caption.is_empty() {
        return None;
    }
    let setting = Setting {
        align: context.style.figure.align.into(),
        hyphenate: false,
        ..Setting::small(context, "caption", room.width, span)
    };
    let label = figure
        .number
        .filter(|_| context.style.figure.number)
        .map(|number| format!("{}\u{2002}", context.wording().figure(number)));
    let mut gathering = Gathering::new(setting.width);
    if let Some(label) = &label {
        gathering.push_text(label, Type { bold: true, ..setting.look }, span);
    }
    gathering.push_inlines(context, &figure.caption, setting.look, false);
    Some(gathering.set(context, &setting))
}
