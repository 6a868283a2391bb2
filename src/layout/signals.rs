//! Signals in dots: the shapes that `pictures` draws become marks, their letters lines of type.

use std::sync::Arc;

use super::context::Context;
use super::galley::{Boxed, Mark};
use super::text::{isolated, one_line};
use crate::lengths::{Dots, Pt};
use crate::manual::source::{Remark, Span};
use crate::pictures::Error;
use crate::pictures::signals::{self, Form, Hand, Lettering, Reach, Setting, Shape, Signal};
use crate::type_setting::{Family, Type};

/// A signal about its baseline; the left edge is 0.
pub struct Drawn {
    pub marks: Vec<Mark>,
    pub boxes: Vec<Boxed>,
    pub width: Dots,
    pub above: Dots,
    pub below: Dots,
    pub remarks: Vec<Remark>,
}

/// What is to be drawn, and for whom.
pub struct Asked<'a> {
    pub address: &'a str,
    /// What the writer says that it shows.
    pub alt: &'a str,
    pub form: Form,
    /// Of the text it stands in, or of the type that the drawing is to be as large as.
    pub look: Type,
    pub room: Dots,
    pub white: bool,
    pub span: Span,
}

impl Asked<'_> {
    /// Draws it, smaller where it does not fit, down to the style's least type.
    ///
    /// # Errors
    /// When the address says nothing that can be drawn, or what it says is wider than the room in the least type.
    pub fn draw(&self, context: &Context) -> Result<Drawn, Error> {
        let signal = signals::read(self.address)?;
        let least = context.style.type_.minimum.0.min(self.look.size);
        let mut size = self.look.size;
        loop {
            let drawn = self.drawn(context, &signal, size);
            if drawn.width <= self.room {
                return Ok(drawn);
            }
            if size <= least {
                return Err(Error::Signal {
                    address: self.address.into(),
                    reason: "it is wider than its column".into(),
                    hint: "shorten what it says, or part a display's text into rows: `?rows=2`".into(),
                });
            }
            size = Pt::from_thousandths((size.thousandths() * 15 / 16).max(least.thousandths()));
        }
    }

    fn drawn(&self, context: &Context, signal: &Signal, size: Pt) -> Drawn {
        let letters = Letters::new(context, self, size);
        // Lines grow with the type.
        let medium = context.line(context.style.line.medium).max(Dots(1));
        let body = context.body().size.thousandths().max(1);
        let line = Dots((medium.0 * size.thousandths() + body / 2) / body).max(Dots(1));
        let setting = Setting { lettering: &letters, form: self.form, line, room: self.room, wording: context.wording() };
        let scene = signal.scene(&setting);
        let (width, above, below) = (Dots(scene.width), Dots(scene.above), Dots(scene.below));
        // What the writer says comes first; what is printed in the drawing has boxes of its own.
        let alt = self.alt.trim();
        let text = if alt.is_empty() { signal.words() } else { alt.to_owned() };
        let span = self.span;
        let mut drawn = Drawn {
            marks: Vec::new(),
            boxes: vec![Boxed { kind: "picture", x: Dots(0), y: -above, width, height: above + below, span, text }],
            width,
            above,
            below,
            remarks: Vec::new(),
        };
        scene.shapes.into_iter().for_each(|shape| drawn.put(shape, &letters, self.white, span));
        drawn
    }
}

impl Drawn {
    fn put(&mut self, shape: Shape, letters: &Letters, white: bool, span: Span) {
        let mark = match shape {
            Shape::Round { x, y, width, height, radius, black } => {
                let [x, y, width, height, radius] = [x, y, width, height, radius].map(Dots);
                match radius {
                    Dots(0) => Mark::Fill { x, y, width, height, black: black != white },
                    _ => Mark::Round { x, y, width, height, radius, border: Dots(0), fill: Some(black != white) },
                }
            }
            Shape::Polygon { points, black } => Mark::Polygon { points, black: black != white },
            Shape::Stroke { points, thickness } => Mark::Stroke { points, thickness, black: !white },
            Shape::Text { x, baseline, text, hand, .. } => {
                let fixed = isolated(letters.context, &text);
                let line = one_line(letters.context, &fixed, letters.look(hand), span, &mut self.remarks);
                let (x, baseline) = (Dots(x), Dots(baseline));
                let cap = letters.cap(hand);
                let text = text.replace('\u{a0}', " ");
                self.boxes.push(Boxed { kind: "reading", x, y: baseline - cap, width: line.width, height: cap, span, text });
                Mark::Text { x, baseline, measure: line.width, line: Arc::new(line), white }
            }
            Shape::Said { x, y, width, height, text } => {
                let [x, y, width, height] = [x, y, width, height].map(Dots);
                return self.boxes.push(Boxed { kind: "reading", x, y, width, height, span, text });
            }
        };
        self.marks.push(mark);
    }
}

/// The letters in a drawing, set by the same faces as the text around it.
struct Letters<'a> {
    context: &'a Context<'a>,
    label: Type,
    word: Type,
    span: Span,
}

impl<'a> Letters<'a> {
    /// As a keycap's beside type of that size; beside a larger drawing words are smaller than its labels.
    fn new(context: &'a Context<'a>, asked: &Asked, size: Pt) -> Letters<'a> {
        let label = Type { family: Family::Mono, bold: asked.look.bold, italic: false, size: size.percent(88) };
        let least = context.style.type_.minimum.0.min(size);
        let word = match asked.form {
            Form::Icon => size.percent(88),
            Form::Large => size.percent(64).max(context.small().size.min(size)),
        };
        Letters {
            context,
            label,
            word: Type { family: Family::Sans, bold: false, italic: false, size: word.max(least) },
            span: asked.span,
        }
    }

    fn look(&self, hand: Hand) -> Type {
        match hand {
            Hand::Label => self.label,
            Hand::Word => self.word,
        }
    }
}

impl Lettering for Letters<'_> {
    fn width(&self, text: &str, hand: Hand) -> Dots {
        one_line(self.context, &isolated(self.context, text), self.look(hand), self.span, &mut Vec::new()).width
    }

    fn cap(&self, hand: Hand) -> Dots {
        self.context.faces.vertical(&self.look(hand)).cap_height
    }

    fn reach(&self, text: &str, hand: Hand) -> Reach {
        let line = one_line(self.context, &isolated(self.context, text), self.look(hand), self.span, &mut Vec::new());
        let (above, below) = self.context.faces.reach(&line);
        Reach { above, below }
    }
}
