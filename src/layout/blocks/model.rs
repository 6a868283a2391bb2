//! A figure drawn from models: strokes, the arrows of a step, callouts that find their part, a parts list.

use super::Room;
use super::figure;
use crate::bitmap::Bitmap;
use crate::geometry::{Point, Size};
use crate::layout::context::Context;
use crate::layout::galley::{Boxed, Chunk, Galley, Mark, SUBDOTS};
use crate::layout::lacking::{Lack, frame};
use crate::lengths::Dots;
use crate::manual::document::ModelFigure;
use crate::manual::document::{Callout, Figure, Numbers, Treatment, Width};
use crate::manual::source::{Level, Remark, Span};
use crate::models::arrow;
use crate::models::draw::Pens;
use crate::models::inset::{Inset, circle};
use crate::models::strokes::{Pen, fine};
use crate::models::{Drawing, Picture, Trouble};

/// Of the column's width: a drawing is not set higher, unless a width is asked for.
const HIGHEST: i32 = 120;

pub fn model(context: &Context, asked: &ModelFigure, span: Span, room: Room) -> Galley {
    let space = context.dots(context.style.space.block);
    let picture = match Picture::open(context.pictures.models(), asked) {
        Ok(picture) => picture,
        Err(trouble) => return framed(context, asked, &trouble, span, room),
    };
    let mut remarks: Vec<Remark> = picture
        .remarks()
        .map(|(n, message)| Remark {
            rule: "model-mended",
            level: Level::Advice,
            message: format!("the model {:?}: {message}", asked.models[n].name),
            hint: Some(
                "look at the drawing; if a line is missing or too many, repair the mesh in the program that made it".into(),
            ),
            span: asked.models[n].span,
        })
        .collect();
    let pens = pens(context);
    let Size { width, height } = size(context, asked, room);
    let drawing = picture.draw(width, height, &pens);
    let mut called = Vec::new();
    for callout in &asked.callouts {
        match picture.spot(&drawing, &callout.part.name) {
            Ok(Some(at)) => called.push((at, callout.label.clone(), callout.part.span)),
            Ok(None) => remarks.push(Remark {
                rule: "callout-off-picture",
                level: Level::Error,
                message: format!("the part {:?} is not seen from here", callout.part.name),
                hint: Some("turn the view, or take the thing apart with `explode`".into()),
                span: callout.part.span,
            }),
            Err(error) => remarks.push(Trouble { error, span: callout.part.span }.remark()),
        }
    }
    if asked.parts {
        for item in picture.items() {
            let label = if item.count > 1 { format!("{} × {}", item.count, item.name) } else { item.name.clone() };
            match picture.item_spot(&drawing, &item) {
                Some(at) => called.push((at, label, span)),
                None => remarks.push(Remark {
                    rule: "part-hidden",
                    level: Level::Warning,
                    message: format!("the part {:?} is nowhere seen in this figure and has no item number", item.name),
                    hint: Some("turn the view, take the thing apart with `explode`, or `hide` what is before it".into()),
                    span,
                }),
            }
        }
    }
    let figure = plain(asked, callouts(&drawing, &called), span);
    let mut drawn = drawn(asked, &drawing, &pens, span, room);
    drawn.below = context.dots(context.style.space.item);
    if let Some(chunk) = drawn.chunks.first_mut().filter(|_| is_flexible(asked, room) && context.shrink == 100) {
        chunk.gives = chunk.height;
    }
    let bitmap = ground(&drawing, &pens);
    let legend = figure::called_out(context, &figure, &bitmap, &mut drawn, span, room);
    if context.language.is_rtl() {
        // The column will be mirrored; a drawing and its numbers are not.
        drawn.mirror(room.width);
    }
    let mut parts = vec![drawn];
    parts.extend(figure::caption(context, &figure, span, room));
    parts.extend(legend);
    let mut galley = Galley::stack("figure", parts).solid();
    galley.remarks.extend(remarks);
    Galley { above: space, below: space, ..galley }
}

/// A frame in place of a model that cannot be used, 4:3, as wide as the drawing would have been, with the caption.
fn framed(context: &Context, asked: &ModelFigure, trouble: &Trouble, span: Span, room: Room) -> Galley {
    let space = context.dots(context.style.space.block);
    let Size { width, height } = size(context, asked, room);
    let width = Dots(width as i32).min(room.width);
    let height = (width * 3 / 4).min(Dots(height as i32));
    let name = asked.models.iter().find(|model| model.span == trouble.span).or(asked.models.first());
    let lack = Lack { name: name.map_or("", |model| model.name.as_str()), why: &trouble.error.why(), span: trouble.span };
    let (mut chunk, mut remarks) = frame(context, width, height, lack);
    chunk.shift((room.width - width).max(Dots(0)) / 2, Dots(0));
    remarks.push(trouble.remark());
    let text = chunk.boxes.first().map_or_else(String::new, |boxed| boxed.text.clone());
    let text = format!("{} {text}", asked.alt).trim().to_string();
    let below = context.dots(context.style.space.item);
    let mut parts = vec![Galley { kind: "picture", text, chunks: vec![chunk], below, ..Galley::default() }];
    parts.extend(figure::caption(context, &plain(asked, Vec::new(), span), span, room));
    let mut galley = Galley::stack("figure", parts).solid();
    galley.remarks.extend(remarks);
    Galley { above: space, below: space, ..galley }
}

/// ISO 128: thick twice as wide as thin.
fn pens(context: &Context) -> Pens {
    let thick = context.line(context.style.figure.outline).0.max(2);
    let thin = context.line(context.style.figure.edge).0.max(1);
    Pens { thick: f64::from(thick), thin: f64::from(thin), gap: f64::from(thin) }
}

fn size(context: &Context, asked: &ModelFigure, room: Room) -> Size<u32> {
    let column = room.width.0;
    let width = match asked.width {
        Some(Width::Length(length)) => context.paper.resolution.dots(length).0.min(column),
        Some(Width::Share(share) | Width::Page(share)) => (i64::from(column) * i64::from(share) / 1000) as i32,
        None => column,
    };
    let mut height = if asked.width.is_some() { i32::MAX / 4 } else { column * HIGHEST / 100 };
    if let Some(panel) = context.panel_room {
        height = height.min((panel * 70 / 100).0);
    }
    // What the writer gave no width may be drawn smaller so that a panel is filled.
    let (width, height) = match is_flexible(asked, room) {
        true => (width * i32::from(context.shrink) / 100, height.min(20_000) * i32::from(context.shrink) / 100),
        false => (width, height),
    };
    Size::new(width.max(16) as u32, height.clamp(16, 20_000) as u32)
}

fn is_flexible(asked: &ModelFigure, room: Room) -> bool {
    asked.width.is_none() && !room.cell
}

/// What the callouts need of a figure: where they point, in thousandths of the drawing.
fn callouts(drawing: &Drawing, called: &[(Point<i32>, String, Span)]) -> Vec<Callout> {
    let share = |at: i32, whole: u32| (i64::from(at) * 1000 / i64::from(whole.max(1))).clamp(0, 1000) as i32;
    let callout = |(at, label, span): &(Point<i32>, String, Span)| Callout {
        span: *span,
        at: Point::new(share(at.x, drawing.width), share(at.y, drawing.height)),
        label: label.clone(),
    };
    called.iter().map(callout).collect()
}

/// The figure as one with a picture would be.
fn plain(asked: &ModelFigure, callouts: Vec<Callout>, span: Span) -> Figure {
    Figure {
        picture: String::new(),
        picture_span: span,
        alt: asked.alt.clone(),
        caption: asked.caption.clone(),
        number: asked.number,
        width: None,
        crop: None,
        screen: None,
        treatment: Treatment::default(),
        numbers: Numbers::default(),
        callouts,
    }
}

fn drawn(asked: &ModelFigure, drawing: &Drawing, pens: &Pens, span: Span, room: Room) -> Galley {
    let (width, height) = (Dots(drawing.width as i32), Dots(drawing.height as i32));
    let x = (room.width - width).max(Dots(0)) / 2;
    let mut chunk = Chunk { height, keep: true, ..Chunk::default() };
    for stroke in &drawing.strokes {
        chunk.marks.push(Mark::Stroke { points: stroke.points.clone(), thickness: thickness(stroke.pen, pens), black: true });
    }
    for [from, to] in &drawing.arrows {
        chunk.marks.extend(arrow(*from, *to, pens));
    }
    if let Some(inset) = &drawing.inset {
        chunk.marks.extend(enlarged(inset, pens));
    }
    chunk.shift(x, Dots(0));
    chunk.boxes.push(Boxed { kind: "picture", x, y: Dots(0), width, height, span, text: asked.alt.clone() });
    Galley { kind: "picture", text: asked.alt.clone(), chunks: vec![chunk], ..Galley::default() }
}

/// The circle at the source, a line to the larger one, and what stands in that.
fn enlarged(inset: &Inset, pens: &Pens) -> Vec<Mark> {
    let thin = (pens.thin * f64::from(SUBDOTS)) as i32;
    let way = inset.centre - inset.source;
    let long = way.length().max(1.0);
    let on_way = |along: f64| fine(inset.source + way.map(|side| side / long) * along);
    let line = |points: Vec<Point<i32>>, thickness: i32, black: bool| Mark::Stroke { points, thickness, black };
    let leader = vec![on_way(inset.source_radius), on_way(long - inset.radius)];
    let ring = circle(inset.centre, inset.radius);
    let mut marks = vec![
        line(circle(inset.source, inset.source_radius), thin, true),
        line(leader.clone(), thin * 3, false),
        line(leader, thin, true),
        line(ring.clone(), thin * 4, false),
        Mark::Polygon { points: ring.clone(), black: false },
    ];
    let strokes = inset.strokes.iter();
    marks.extend(strokes.map(|stroke| line(stroke.points.clone(), thickness(stroke.pen, pens), true)));
    marks.push(line(ring, thin, true));
    marks
}

/// Sixteenths of a dot.
fn thickness(pen: Pen, pens: &Pens) -> i32 {
    let dots = if pen == Pen::Thick { pens.thick } else { pens.thin };
    (dots * f64::from(SUBDOTS)) as i32
}

/// What the numbers will stand on.
fn ground(drawing: &Drawing, pens: &Pens) -> Bitmap {
    let mut bitmap = Bitmap::new(drawing.width, drawing.height);
    drawing.strokes.iter().for_each(|stroke| bitmap.stroke(&stroke.points, thickness(stroke.pen, pens), true));
    bitmap
}

/// A white arrow with a black outline, in front of everything.
fn arrow(from: Point<f64>, to: Point<f64>, pens: &Pens) -> Vec<Mark> {
    let Some(outline) = arrow::outline(from, to, pens) else { return Vec::new() };
    let outline: Vec<Point<i32>> =
        outline.iter().map(|place| place.map(|side| (side * f64::from(SUBDOTS)).round() as i32)).collect();
    let closed: Vec<Point<i32>> = outline.iter().chain(&outline[..1]).copied().collect();
    let thin = (pens.thin * f64::from(SUBDOTS)) as i32;
    vec![
        Mark::Stroke { points: closed.clone(), thickness: thin * 3, black: false },
        Mark::Polygon { points: outline, black: false },
        Mark::Stroke { points: closed, thickness: thin, black: true },
    ]
}
