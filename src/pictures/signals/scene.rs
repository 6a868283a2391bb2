//! Shapes of a signal in whole dots and sixteenths: what the layout makes marks of, and SVG for whoever has no dots.

use std::fmt::Write;

use quick_xml::escape::escape;

use crate::geometry::{Point, Rect};
use crate::language::Wording;
use crate::lengths::Dots;

/// Positions of outlines count in sixteenths of a dot.
pub(super) const SUB: i32 = 16;

/// Which letters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Hand {
    /// What is printed on a key or shown by a display that sets type: mono.
    Label,
    /// Colours and seconds beside a drawing.
    Word,
}

/// What a drawing must know of the letters in it. Whoever puts them down sets them just so.
pub trait Lettering {
    fn width(&self, text: &str, hand: Hand) -> Dots;
    /// Height of its capitals.
    fn cap(&self, hand: Hand) -> Dots;
    /// How far a text reaches from its baseline: its accents too.
    fn reach(&self, _text: &str, hand: Hand) -> Reach {
        Reach { above: self.cap(hand), below: Dots(0) }
    }
}

/// How far letters reach above and below their baseline.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Reach {
    pub above: Dots,
    pub below: Dots,
}

/// How much room there is beside and above.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// In a line of type.
    Icon,
    /// Alone, or as the term of a list.
    Large,
}

/// For what a signal is drawn. All of it follows from the size of the letters.
#[derive(Clone, Copy)]
pub struct Setting<'a> {
    pub lettering: &'a dyn Lettering,
    pub form: Form,
    /// A line of the style, at least 2.
    pub line: Dots,
    /// Time lines are shortened to fit into it; anything else may be wider.
    pub room: Dots,
    /// Of the words beside lamps.
    pub wording: Wording<'a>,
}

impl Setting<'_> {
    pub(super) fn label(&self) -> i32 {
        self.lettering.cap(Hand::Label).0.max(4)
    }

    pub(super) fn word(&self) -> i32 {
        self.lettering.cap(Hand::Word).0.max(4)
    }

    /// Width of a stroke of a drawing.
    pub(super) fn stroke(&self) -> i32 {
        (self.label() / 8).max(2)
    }
}

/// Later shapes cover earlier ones.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Shape {
    /// A filled rectangle with corners of that radius.
    Round {
        x: i32,
        y: i32,
        width: i32,
        height: i32,
        radius: i32,
        black: bool,
    },
    /// A filled outline, in sixteenths.
    Polygon {
        points: Vec<Point<i32>>,
        black: bool,
    },
    /// A line with round ends and joins, in sixteenths.
    Stroke {
        points: Vec<Point<i32>>,
        thickness: i32,
    },
    Text {
        x: i32,
        baseline: i32,
        width: i32,
        text: String,
        hand: Hand,
    },
    /// What shapes say as a whole that are no letters: the reading of a display.
    Said {
        x: i32,
        y: i32,
        width: i32,
        height: i32,
        text: String,
    },
}

/// A drawing about its baseline.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Scene {
    pub width: i32,
    pub above: i32,
    pub below: i32,
    pub shapes: Vec<Shape>,
}

impl Scene {
    pub(super) fn fill(&mut self, x: i32, y: i32, width: i32, height: i32) {
        self.round(x, y, width, height, 0, true);
    }

    pub(super) fn round(&mut self, x: i32, y: i32, width: i32, height: i32, radius: i32, black: bool) {
        if width > 0 && height > 0 {
            self.shapes.push(Shape::Round { x, y, width, height, radius, black });
        }
    }

    /// A ring or a frame: its line lies inside.
    pub(super) fn frame(&mut self, outer: Rect<i32>, radius: i32, line: i32) {
        let Rect { x, y, width, height } = outer;
        self.round(x, y, width, height, radius, true);
        self.round(x + line, y + line, width - line * 2, height - line * 2, (radius - line).max(0), false);
    }

    /// A stroke through points in sixteenths, `thickness` in dots.
    pub(super) fn stroke(&mut self, points: Vec<Point<i32>>, thickness: i32) {
        self.shapes.push(Shape::Stroke { points, thickness: thickness * SUB });
    }

    pub(super) fn polygon(&mut self, points: Vec<Point<i32>>) {
        self.shapes.push(Shape::Polygon { points, black: true });
    }

    /// Text with its left end at `x`; gives its width.
    pub(super) fn text(&mut self, setting: &Setting, x: i32, baseline: i32, text: &str, hand: Hand) -> i32 {
        let width = setting.lettering.width(text, hand).0;
        self.shapes.push(Shape::Text { x, baseline, width, text: text.to_owned(), hand });
        width
    }

    /// Other shapes, moved.
    pub(super) fn add(&mut self, other: Scene, dx: i32, dy: i32) {
        self.shapes.extend(other.shapes.into_iter().map(|shape| shape.moved(dx, dy)));
    }

    /// Whether every shape lies inside the room that the drawing says it takes, and there is one.
    pub fn is_whole(&self) -> bool {
        let (left, right, top, bottom) = (0, self.width, -self.above, self.below);
        let holds = |x: i32, y: i32, width: i32, height: i32| x >= left && x + width <= right && y >= top && y + height <= bottom;
        let around = |points: &[Point<i32>], reach: i32| {
            points.iter().all(|Point { x, y }| {
                holds((x - reach).div_euclid(SUB), (y - reach).div_euclid(SUB), 0, 0)
                    && holds((x + reach + SUB - 1).div_euclid(SUB), (y + reach + SUB - 1).div_euclid(SUB), 0, 0)
            })
        };
        let inside = self.shapes.iter().all(|shape| match shape {
            Shape::Round { x, y, width, height, .. } | Shape::Said { x, y, width, height, .. } => holds(*x, *y, *width, *height),
            Shape::Polygon { points, .. } => around(points, 0),
            Shape::Stroke { points, thickness } => around(points, thickness / 2),
            // Letters reach where they reach.
            Shape::Text { x, width, .. } => *x >= left && x + width <= right,
        });
        inside && !self.shapes.is_empty() && self.width > 0 && self.above + self.below > 0
    }

    /// As an SVG of its own. Letters are text of a monospaced face, `em` high, stretched to the room they were drawn for.
    pub(super) fn svg(&self, title: &str, em: i32) -> String {
        let (width, height) = (self.width.max(1), (self.above + self.below).max(1));
        let mut svg = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 {} {width} {height}\" width=\"{width}\" height=\"{height}\"><title>{}</title>",
            -self.above,
            escape(title)
        );
        let sixteenths = |points: &[Point<i32>]| {
            let all = points.iter().map(|at| format!("{},{}", in_dots(at.x), in_dots(at.y)));
            all.collect::<Vec<_>>().join(" ")
        };
        let ink = |black: bool| if black { "#000" } else { "#fff" };
        for shape in &self.shapes {
            let _ = match shape {
                Shape::Round { x, y, width, height, radius, black } => write!(
                    svg,
                    "<rect x=\"{x}\" y=\"{y}\" width=\"{width}\" height=\"{height}\" rx=\"{radius}\" fill=\"{}\"/>",
                    ink(*black)
                ),
                Shape::Polygon { points, black } => {
                    write!(svg, "<polygon points=\"{}\" fill=\"{}\"/>", sixteenths(points), ink(*black))
                }
                Shape::Stroke { points, thickness } => write!(
                    svg,
                    "<polyline points=\"{}\" fill=\"none\" stroke=\"#000\" stroke-width=\"{}\" stroke-linecap=\"round\" stroke-linejoin=\"round\"/>",
                    sixteenths(points),
                    in_dots(*thickness)
                ),
                Shape::Text { x, baseline, width, text, hand } => write!(
                    svg,
                    "<text x=\"{x}\" y=\"{baseline}\" font-family=\"{}\" font-size=\"{em}\" textLength=\"{width}\" lengthAdjust=\"spacingAndGlyphs\">{}</text>",
                    match hand {
                        Hand::Label => "monospace",
                        Hand::Word => "sans-serif",
                    },
                    escape(text)
                ),
                Shape::Said { .. } => Ok(()),
            };
        }
        svg.push_str("</svg>");
        svg
    }
}

impl Shape {
    fn moved(mut self, dx: i32, dy: i32) -> Shape {
        match &mut self {
            Shape::Round { x, y, .. } | Shape::Said { x, y, .. } | Shape::Text { x, baseline: y, .. } => {
                *x += dx;
                *y += dy;
            }
            Shape::Polygon { points, .. } | Shape::Stroke { points, .. } => {
                points.iter_mut().for_each(|point| *point += Point::new(dx, dy) * SUB);
            }
        }
        self
    }
}

/// Sixteenths as a decimal.
fn in_dots(sixteenths: i32) -> String {
    let (sign, all) = (if sixteenths < 0 { "-" } else { "" }, sixteenths.unsigned_abs());
    match all % 16 {
        0 => format!("{sign}{}", all / 16),
        part => format!("{sign}{}.{:04}", all / 16, part * 625),
    }
}

/// Points of a circle in sixteenths from one direction to another, in twenty-fourths of a turn, clockwise from the right.
pub(super) fn arc(centre: Point<i32>, radius: i32, from: i32, to: i32) -> Vec<Point<i32>> {
    let step = if to < from { -1 } else { 1 };
    (0..=(to - from).abs()).map(|n| at(centre, radius, from + n * step)).collect()
}

/// A point on a circle, the direction in twenty-fourths of a turn, clockwise from the right; in the units of its radius.
pub(super) fn at(centre: Point<i32>, radius: i32, direction: i32) -> Point<i32> {
    // Sines of 0 to 90 degrees in steps of 15, in 1/1024.
    const SINES: [i32; 7] = [0, 265, 512, 724, 887, 989, 1024];
    let sine = |n: i32| {
        let n = n.rem_euclid(24);
        let quarter = if n % 12 <= 6 { n % 12 } else { 12 - n % 12 };
        SINES[quarter as usize] * if n < 12 { 1 } else { -1 }
    };
    let part = |sine: i32| (i64::from(radius) * i64::from(sine) / 1024) as i32;
    centre + Point::new(part(sine(direction + 6)), part(sine(direction)))
}
