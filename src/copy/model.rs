//! Figures drawn from models: the strokes of the drawing, at any size sharp.

use std::fmt::Write as _;

use super::callouts::{self, Called};
use super::figures::spoken;
use super::{COLUMN, STRIP, Writing};
use crate::geometry::{Point, Size};
use crate::manual::document::ModelFigure;
use crate::manual::document::Width;
use crate::models::arrow;
use crate::models::draw::Pens;
use crate::models::inset::Inset;
use crate::models::strokes::{Pen, SUBDOTS, Stroke};
use crate::models::{Drawing, Picture, Trouble};
use crate::pictures::numbering;

/// Dots of a drawing to a CSS pixel.
const FINE: u32 = 2;
/// ISO 128: thick twice as wide as thin.
const PENS: Pens = Pens { thick: 4.0, thin: 2.0, gap: 2.0 };

impl Writing<'_> {
    pub(super) fn model(&mut self, figure: &ModelFigure) {
        let class = if figure.callouts.is_empty() && !figure.parts { "figure" } else { "figure called" };
        self.page.open("figure", &[("class", class)]);
        match Picture::open(self.pictures.models(), figure) {
            Ok(picture) => self.drawn(figure, &picture),
            Err(trouble) => {
                if !figure.alt.is_empty() {
                    self.page.element("p", &[("class", "alt")], &figure.alt);
                }
                let name = figure.models.iter().find(|model| model.span == trouble.span).or(figure.models.first());
                self.lack(name.map_or("", |model| model.name.as_str()), &trouble.error.why());
                self.note(trouble.remark());
                self.caption(figure.number, &figure.caption, &[]);
            }
        }
        self.page.close();
    }

    fn drawn(&mut self, figure: &ModelFigure, picture: &Picture) {
        let width = match figure.width {
            Some(Width::Length(length)) => (length.value() * f64::from(COLUMN) / f64::from(STRIP)) as u32,
            Some(Width::Share(share) | Width::Page(share)) => COLUMN * share.max(1) as u32 / 1000,
            None => COLUMN,
        };
        let width = width.clamp(16, COLUMN) * FINE;
        let height = if figure.width.is_some() { 20_000 } else { width * 6 / 5 };
        let drawing = picture.draw(width, height, &PENS);
        let size = Size::new(drawing.width, drawing.height).map(|side| side.div_ceil(FINE));
        let called = self.parts(figure, picture, &drawing);
        let placed = callouts::placed(&called, size);
        self.plate(&placed.sides);
        let view = format!("0 0 {} {}", drawing.width, drawing.height);
        let Size { width: wide, height: high } = size.map(|side| side.to_string());
        let mut attributes = vec![("class", "picture strokes"), ("viewBox", view.as_str()), ("width", &wide), ("height", &high)];
        attributes.extend(spoken(&figure.alt));
        self.page.open("svg", &attributes);
        self.strokes(&drawing.strokes);
        for [from, to] in &drawing.arrows {
            if let Some(outline) = arrow::outline(*from, *to, &PENS) {
                self.page.element("path", &[("class", "arrow"), ("d", &closed(&outline))], "");
            }
        }
        if let Some(inset) = &drawing.inset {
            self.inset(inset);
        }
        self.page.close();
        self.marks(&called, &placed);
        self.page.close();
        self.caption(figure.number, &figure.caption, &called);
    }

    /// One path a pen.
    fn strokes(&mut self, strokes: &[Stroke]) {
        let of = |thick: bool| -> String {
            strokes.iter().filter(|stroke| (stroke.pen == Pen::Thick) == thick).fold(String::new(), |mut path, stroke| {
                line(&stroke.points, &mut path);
                path
            })
        };
        for (class, path) in [("thin", of(false)), ("thick", of(true))] {
            if !path.is_empty() {
                self.page.element("path", &[("class", class), ("d", &path)], "");
            }
        }
    }

    fn inset(&mut self, inset: &Inset) {
        let circle = |class: &'static str, at: Point<f64>, radius: f64| {
            let Point { x, y } = at.map(whole);
            (class, x, y, whole(radius))
        };
        let way = inset.centre - inset.source;
        let long = libm::hypot(way.x, way.y).max(1.0);
        let on_way = |along: f64| (inset.source + way.map(|side| side / long) * along).map(whole);
        let (Point { x: x1, y: y1 }, Point { x: x2, y: y2 }) = (on_way(inset.source_radius), on_way(long - inset.radius));
        let ends = [("class", "thin"), ("x1", &*x1), ("y1", &*y1), ("x2", &*x2), ("y2", &*y2)];
        self.page.element("line", &ends, "");
        for (class, x, y, r) in [circle("thin", inset.source, inset.source_radius), circle("ring", inset.centre, inset.radius)] {
            self.page.element("circle", &[("class", class), ("cx", &x), ("cy", &y), ("r", &r)], "");
        }
        self.strokes(&inset.strokes);
    }

    /// Callouts and parts, each with its place in thousandths of the drawing, in the order of their numbers.
    fn parts(&mut self, figure: &ModelFigure, picture: &Picture, drawing: &Drawing) -> Vec<Called> {
        let share = |at: i32, whole: u32| (i64::from(at) * 1000 / i64::from(whole.max(1))).clamp(0, 1000) as i32;
        let place = |at: Point<i32>| Point::new(share(at.x, drawing.width), share(at.y, drawing.height));
        let mut called = Vec::new();
        for callout in &figure.callouts {
            match picture.spot(drawing, &callout.part.name) {
                Ok(Some(at)) => called.push(Called { at: place(at), label: callout.label.clone() }),
                // That it is not seen from here is said where the strip is laid out.
                Ok(None) => {}
                Err(error) => self.note(Trouble { error, span: callout.part.span }.remark()),
            }
        }
        if figure.parts {
            for item in picture.items() {
                let label = if item.count > 1 { format!("{} × {}", item.count, item.name) } else { item.name.clone() };
                called.extend(picture.item_spot(drawing, &item).map(|at| Called { at: place(at), label }));
            }
        }
        let points: Vec<Point<i32>> = called.iter().map(|called| called.at).collect();
        let order = numbering::on_picture(Size::new(1, 1), &points, self.language.is_rtl());
        let mut called: Vec<Option<Called>> = called.into_iter().map(Some).collect();
        order.into_iter().filter_map(|n| called[n].take()).collect()
    }
}

fn whole(value: f64) -> String {
    (libm::round(value) as i64).to_string()
}

/// A polyline, in whole dots.
fn line(points: &[Point<i32>], path: &mut String) {
    let dots = |point: Point<i32>| point.map(|side| (side + SUBDOTS / 2).div_euclid(SUBDOTS));
    let Some(&first) = points.first() else { return };
    let mut at = dots(first);
    let _ = write!(path, "M{} {}", at.x, at.y);
    let mut moved = false;
    for &point in &points[1..] {
        let next = dots(point);
        let Point { x, y } = next - at;
        if (x, y) == (0, 0) {
            continue;
        }
        // After the first point, and after a line, more lines are meant.
        let _ = write!(
            path,
            "{}{x}{}{y}",
            if moved && x >= 0 {
                " "
            } else if moved {
                ""
            } else {
                "l"
            },
            if y >= 0 { " " } else { "" }
        );
        (at, moved) = (next, true);
    }
    if !moved {
        path.push_str("h0");
    }
}

fn closed(outline: &[Point<f64>]) -> String {
    let points: Vec<Point<i32>> =
        outline.iter().map(|point| point.map(|side| libm::round(side * f64::from(SUBDOTS)) as i32)).collect();
    let mut path = String::new();
    line(&points, &mut path);
    path.push('z');
    path
}
