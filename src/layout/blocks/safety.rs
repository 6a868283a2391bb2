//! Safety messages: the signal word in reverse type with the alert symbol, the sign at the left, the words.
//!
//! DANGER, WARNING and CAUTION carry the alert symbol, NOTICE never does (ANSI Z535.6). A message is one piece: nothing folds it.

use std::sync::Arc;

use super::{Room, set_all};
use crate::bitmap::{Bitmap, Ink};
use crate::language::SignalWord;
use crate::layout::context::Context;
use crate::layout::galley::{Boxed, Chunk, Galley, Mark};
use crate::layout::lacking::{Lack, frame};
use crate::layout::text::one_line;
use crate::lengths::{Dots, Pt};
use crate::manual::document::Safety;
use crate::manual::source::{Level, Remark, Span};
use crate::pictures::signs;
use crate::type_setting::Type;

pub fn safety(context: &Context, safety: &Safety, span: Span, room: Room) -> Galley {
    let border = context.line(context.style.line.safety).max(Dots(3));
    let padding = context.dots(context.style.space.padding);
    let mut remarks = Vec::new();
    let band = band(context, safety, room.width, &mut remarks);

    let inner = room.width - (border + padding) * 2;
    let sign = safety.sign.as_deref().map(|name| sign(context, name, inner, safety.label_span, &mut remarks));
    let indent = sign.as_ref().map_or(Dots(0), |sign| sign.width() + padding);
    let mut words = set_all(context, "safety", &safety.blocks, room.within(indent).narrowed(inner - indent)).solid();
    words.shift(border + padding + indent);
    remarks.append(&mut words.remarks);

    let mut chunk = Chunk { height: band.height, ..Chunk::default() };
    let top = band.height + padding;
    let mut text = words.chunks.pop().unwrap_or_default();
    let mut content = text.height;
    if let Some(sign) = sign {
        let height = sign.height();
        // A short message stands in the middle beside its sign; a long one begins at its top.
        if text.height < height {
            text.shift(Dots(0), (height - text.height) / 2);
        }
        content = content.max(height);
        let (x, y, width) = (border + padding, top, sign.width());
        let text = if safety.sign_alt.is_empty() { safety.sign.clone().unwrap_or_default() } else { safety.sign_alt.clone() };
        chunk.boxes.push(Boxed { kind: "sign", x, y, width, height, span: safety.label_span, text });
        match sign {
            Sign::Drawn(bitmap) => chunk.marks.push(Mark::Picture { x, y, bitmap: Arc::new(bitmap), ink: Ink::Black }),
            Sign::Framed(mut frame) => {
                frame.shift(x, y);
                chunk.marks.append(&mut frame.marks);
                chunk.boxes.append(&mut frame.boxes);
            }
        }
    }
    text.shift(Dots(0), top);
    chunk.height = top + content + padding + border;
    let frame =
        Mark::Round { x: Dots(0), y: Dots(0), width: room.width, height: chunk.height, radius: Dots(0), border, fill: None };
    chunk.marks.insert(0, frame);
    chunk.marks.extend(band.marks);
    chunk.marks.append(&mut text.marks);
    let said = format!("{} {}", safety.label, words.text);
    let (width, height) = (room.width, chunk.height);
    chunk.boxes.insert(0, Boxed { kind: "safety", x: Dots(0), y: Dots(0), width, height, span, text: said.clone() });
    chunk.boxes.extend(band.boxes);
    chunk.boxes.append(&mut text.boxes);
    let space = context.dots(context.style.space.block);
    Galley { kind: "safety", text: said, chunks: vec![chunk], above: space, below: space, remarks, ..Galley::default() }
}

impl Room {
    fn narrowed(self, width: Dots) -> Room {
        Room { width, ..self }
    }
}

/// The signal word panel. NOTICE has no alert symbol and is white with a line under it.
fn band(context: &Context, safety: &Safety, width: Dots, remarks: &mut Vec<Remark>) -> Chunk {
    let look = Type { bold: true, ..context.heading(context.style.type_.signal) };
    let label = context.language.capitals(&safety.label);
    let white = safety.word != SignalWord::Notice;
    let border = context.line(context.style.line.safety).max(Dots(3));
    // In a narrow room the word is set smaller, down to the style's minimum, and never cut.
    let room = width - (border + Dots(4)) * 2;
    let wanted = |look: Type| {
        let cap = context.faces.vertical(&look).cap_height;
        let sign = if white {
            signs::alert(cap * 135 / 100).map_or(Dots(0), |alert| Dots(alert.width() as i32) + cap / 2)
        } else {
            Dots(0)
        };
        one_line(context, &label, look, safety.label_span, &mut Vec::new()).width + sign
    };
    let mut look = look;
    while wanted(look) > room && look.size > context.style.type_.minimum.0 {
        look.size = Pt::from_thousandths(look.size.thousandths() - 250).max(context.style.type_.minimum.0);
    }
    let line = one_line(context, &label, look, safety.label_span, remarks);
    let cap = context.faces.vertical(&look).cap_height;
    // White that a word keeps from the edge, or from the lines at it; accents and descenders make the panel higher.
    let air = if white { Dots(5) } else { border + Dots(4) };
    let (above, below) = context.faces.reach(&line);
    let over = (cap * 45 / 100).max(above - cap + air);
    let height = cap + over + (cap * 45 / 100).max(below + air);
    let alert = signs::alert(cap * 135 / 100).filter(|_| white).map(Arc::new);
    let taken = alert.as_ref().map_or(Dots(0), |alert| Dots(alert.width() as i32) + cap / 2);
    let left = line.indent();
    let x = ((width - taken - line.width) / 2).max(border + Dots(4));
    let mut chunk = Chunk { height, ..Chunk::default() };
    match white {
        true => chunk.fill(Dots(0), Dots(0), width, height),
        false => chunk.fill(Dots(0), height - border, width, border),
    }
    if let Some(bitmap) = alert {
        let y = (over * 2 + cap - Dots(bitmap.height() as i32)) / 2;
        chunk.marks.push(Mark::Picture { x, y, bitmap, ink: Ink::White });
    }
    let (baseline, measure) = (over + cap, line.width);
    let boxed =
        Boxed { kind: "signal-word", x: x + taken, y: Dots(0), width: measure, height, span: safety.label_span, text: label };
    chunk.boxes.push(boxed);
    chunk.marks.push(Mark::line(x + taken - left, baseline, line, white));
    chunk
}

/// What stands at the left of a message.
enum Sign {
    Drawn(Bitmap),
    /// There is no such sign: a frame as high as one.
    Framed(Chunk),
}

impl Sign {
    fn width(&self) -> Dots {
        match self {
            Sign::Drawn(bitmap) => Dots(bitmap.width() as i32),
            // Square, as most signs are.
            Sign::Framed(frame) => frame.height,
        }
    }

    fn height(&self) -> Dots {
        match self {
            Sign::Drawn(bitmap) => Dots(bitmap.height() as i32),
            Sign::Framed(frame) => frame.height,
        }
    }
}

fn sign(context: &Context, name: &str, room: Dots, span: Span, remarks: &mut Vec<Remark>) -> Sign {
    let wanted = context.dots(context.style.safety.sign);
    let height = wanted.min(room / 4).max(context.paper.resolution.dots(crate::lengths::Mm::from_micrometres(8_000)).min(wanted));
    if let Some(bitmap) = signs::draw(name, height) {
        return Sign::Drawn(bitmap);
    }
    remarks.push(Remark {
        rule: "unknown-sign",
        level: Level::Error,
        message: format!("there is no sign {name:?}"),
        hint: Some(format!("the signs are {}", signs::names().collect::<Vec<_>>().join(", "))),
        span,
    });
    let (frame, more) = frame(context, height, height, Lack { name, why: "no such sign", span });
    remarks.extend(more);
    Sign::Framed(frame)
}
