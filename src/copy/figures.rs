//! Pictures with their captions and callouts.

use super::callouts::{self, Called};
use super::embedded::{Crop, Embedded};
use super::{COLUMN, STRIP, Writing};
use crate::geometry::{Point, Rect, Size};
use crate::manual::document::{Figure, Inline, InlineKind, Numbers, Width, is_drawn_by_name};
use crate::manual::source::Span;
use crate::pictures::{numbering, signals};

/// A picture is no higher than this unless the writer says how wide it is.
const TALLEST: u32 = 620;

/// What a picture is there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// An icon among words.
    Line,
    /// One that stands in the words' stead, so that it is looked at by itself.
    Alone,
    /// The sign of a safety message, or one that stands alone.
    Sign,
    /// So many CSS pixels wide and high.
    Room(Size<u32>),
}

impl Writing<'_> {
    pub(super) fn figure(&mut self, figure: &Figure, alone: bool) {
        let sign = is_drawn_by_name(&figure.picture);
        let class = if figure.callouts.is_empty() { "figure" } else { "figure called" };
        self.page.open("figure", &[("class", class)]);
        let called = self.called(figure);
        let size = match self.gallery.get(&figure.picture, figure.crop) {
            Ok(embedded) => shown(embedded, figure.width, alone),
            Err(_) => Size::new(COLUMN, COLUMN * 3 / 4),
        };
        let place = if sign && figure.width.is_none() { Place::Sign } else { Place::Room(size) };
        let placed = callouts::placed(&called, size);
        self.plate(&placed.sides);
        self.picture(&figure.picture, figure.crop, &figure.alt, figure.picture_span, place);
        self.marks(&called, &placed);
        self.page.close();
        self.caption(figure.number, &figure.caption, &called);
        self.page.close();
    }

    /// What a picture and its numbers stand on.
    pub(super) fn plate(&mut self, sides: &str) {
        let class = format!("plate{sides}");
        self.page.open("div", &[("class", &class)]);
    }

    pub(super) fn row(&mut self, figures: &[Figure]) {
        self.page.open("div", &[("class", "row")]);
        figures.iter().for_each(|figure| self.figure(figure, false));
        self.page.close();
    }

    /// "Fig. 1" and the caption, then what the numbers stand for.
    pub(super) fn caption(&mut self, number: Option<u32>, caption: &[Inline], called: &[Called]) {
        if caption.is_empty() && called.is_empty() {
            return;
        }
        self.page.open("figcaption", &[]);
        if !caption.is_empty() {
            self.page.open("p", &[]);
            if let Some(number) = number {
                let name = self.wording().figure(number);
                self.page.element("b", &[], &name);
                self.page.text("\u{2002}");
            }
            self.words(caption);
            self.page.close();
        }
        self.legend(called);
        self.page.close();
        self.large_pictures(caption);
    }

    /// What is pointed at, in the order of its numbers.
    fn called(&mut self, figure: &Figure) -> Vec<Called> {
        let Rect { x: left, y: top, width: wide, height: high } = figure.crop.unwrap_or(Rect::new(0, 0, 1000, 1000));
        let inside = |at: Point<i32>| {
            let share = |at: i32, from: i32, all: i32| (i64::from(at) - i64::from(from)) * 1000 / i64::from(all.max(1));
            let at = Point::new(share(at.x, left, wide), share(at.y, top, high));
            at.to_array().iter().all(|side| (0..=1000).contains(side)).then_some(at.map(|side| side as i32))
        };
        let shown: Vec<_> = figure.callouts.iter().filter_map(|callout| Some((callout, inside(callout.at)?))).collect();
        let order: Vec<usize> = match figure.numbers {
            Numbers::Written => (0..shown.len()).collect(),
            Numbers::Placed => {
                let size = self.pictures.look(&figure.picture).map_or(Size::new(1, 1), |info| Size::new(info.width, info.height));
                let points: Vec<Point<i32>> = shown.iter().map(|(callout, _)| callout.at).collect();
                numbering::on_picture(size, &points, self.language.is_rtl())
            }
        };
        order.into_iter().map(|n| Called { at: shown[n].1, label: shown[n].0.label.clone() }).collect()
    }

    /// The picture itself; or the frame that stands for one that cannot be used.
    pub(super) fn picture(&mut self, address: &str, crop: Crop, alt: &str, span: Span, place: Place) {
        // A unit's own picture is on the unit's own strip.
        if address.contains(&self.units) {
            return self.page.element("span", &[("class", "unit")], alt);
        }
        // A signal says in words what it shows, where the writer does not.
        let words = match alt.trim().is_empty() {
            true => signals::read(address).map(|signal| signal.words()).unwrap_or_default(),
            false => String::new(),
        };
        let alt = if words.is_empty() { alt } else { &words };
        let class = match place {
            Place::Line => "icon",
            Place::Alone => "icon alone",
            Place::Sign => "sign",
            Place::Room(_) => "picture",
        };
        let (width, height) = match place {
            Place::Room(size) => (Some(size.width.to_string()), Some(size.height.to_string())),
            _ => (None, None),
        };
        match self.gallery.get(address, crop) {
            Ok(Embedded::Pixels { address, width: own_width, height: own_height }) => {
                let width = width.unwrap_or_else(|| own_width.to_string());
                let height = height.unwrap_or_else(|| own_height.to_string());
                let attributes = [
                    ("class", class),
                    ("src", address.as_str()),
                    ("alt", alt),
                    ("width", &*width),
                    ("height", &*height),
                    ("loading", "lazy"),
                    ("decoding", "async"),
                ];
                self.page.open("img", &attributes);
            }
            Ok(Embedded::Outlines(outlines)) => {
                let view = outlines.shown.join(" ");
                let mut attributes = vec![("class", class), ("viewBox", view.as_str())];
                attributes.extend(spoken(alt));
                if let (Some(width), Some(height)) = (&width, &height) {
                    attributes.extend([("width", width.as_str()), ("height", height.as_str())]);
                }
                self.page.open("svg", &attributes);
                self.gallery.draw(&mut self.page, address, crop, outlines);
                self.page.close();
            }
            Err(error) => {
                let (why, remark) = (error.why(), error.remark(span));
                match place {
                    Place::Line | Place::Alone => {
                        self.page.element("span", &[("class", "lack")], &format!("{alt} ({address}: {why})"))
                    }
                    _ => {
                        if !alt.is_empty() && alt != address {
                            self.page.element("p", &[("class", "alt")], alt);
                        }
                        self.lack(address, &why);
                    }
                }
                self.note(remark);
            }
        }
    }
}

/// What says a drawing of outlines to who does not see it; one of no words says nothing.
pub(super) fn spoken(alt: &str) -> Vec<(&'static str, &str)> {
    match alt.trim().is_empty() {
        true => vec![("aria-hidden", "true")],
        false => vec![("role", "img"), ("aria-label", alt)],
    }
}

/// How large a picture stands in the column, in CSS pixels.
fn shown(embedded: &Embedded, asked: Option<Width>, alone: bool) -> Size<u32> {
    let Size { width: wide, height: high } = embedded.size().map(|side| u64::from(side.max(1)));
    let column = u64::from(COLUMN);
    let own = match embedded {
        Embedded::Pixels { .. } => wide,
        Embedded::Outlines(_) => column,
    };
    let asked = match asked {
        Some(Width::Length(length)) => Some((length.value().max(1.0) * f64::from(COLUMN) / f64::from(STRIP)) as u64),
        Some(Width::Share(share)) => Some(column * share.max(1) as u64 / 1000),
        Some(Width::Page(share)) if alone => Some((column * share.max(1) as u64 / 1000).min(own.max(160))),
        _ => None,
    };
    let mut width = asked.unwrap_or(own).clamp(1, column);
    let tallest = u64::from(TALLEST);
    if asked.is_none() && width * high / wide > tallest {
        width = (tallest * wide / high).max(1);
    }
    Size::new(width as u32, (width * high / wide).clamp(1, 20_000) as u32)
}

/// Words as they stand in a picture: nothing but letters and line ends.
pub(super) fn lettering(inlines: &[Inline], out: &mut Vec<String>) {
    if out.is_empty() {
        out.push(String::new());
    }
    for inline in inlines {
        match &inline.kind {
            InlineKind::HardBreak => out.push(String::new()),
            kind => {
                let more = match kind {
                    InlineKind::Text(text) | InlineKind::Key(text) => text.as_str(),
                    InlineKind::SoftBreak => " ",
                    InlineKind::Picture(picture) => picture.alt.as_str(),
                    _ => "",
                };
                if let Some(last) = out.last_mut() {
                    last.push_str(more);
                }
                inline.inner().into_iter().for_each(|inner| lettering(inner, out));
            }
        }
    }
}
