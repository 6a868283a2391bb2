//! Fenced code: monospaced, wrapped with a mark at the end of the line that goes on, never clipped.

use std::sync::Arc;

use unicode_segmentation::UnicodeSegmentation;

use super::Room;
use crate::language::Language;
use crate::layout::context::Context;
use crate::layout::galley::{Boxed, Chunk, Galley, Mark};
use crate::layout::text::one_line;
use crate::lengths::Dots;
use crate::manual::source::{Remark, Span};
use crate::type_setting::Type;

/// Stands at the end of a line that goes on in the next.
const GOES_ON: &str = "\u{21a9}";

/// Code runs from left to right in every language: where the column will be mirrored, it is not.
pub fn code(context: &Context, text: &str, span: Span, room: Room) -> Galley {
    if context.language.is_rtl() {
        let context = &Context { language: Language::default(), ..*context };
        let mut galley = code(context, text, span, room);
        galley.mirror(room.width);
        return galley;
    }
    let look = context.code();
    let mut remarks = Vec::new();
    let padding = context.dots(context.style.space.padding) / 2;
    let bar = context.line(context.style.line.medium);
    let indent = bar + padding;
    let mark = one_line(context, GOES_ON, look, span, &mut Vec::new());
    let room_for_text = (room.width - indent - mark.width - Dots(2)).max(Dots(8));
    let (pitch, vertical) = (context.pitch(look.size), context.faces.vertical(&look));
    let baseline = (pitch - vertical.ascent - vertical.descent).max(Dots(0)) / 2 + vertical.ascent;
    let mut chunks = Vec::new();
    for row in text.trim_end_matches('\n').split('\n') {
        let pieces = wrap(context, row, look, room_for_text);
        let last = pieces.len() - 1;
        for (n, piece) in pieces.into_iter().enumerate() {
            let line = one_line(context, &piece.replace(' ', "\u{a0}"), look, span, &mut remarks);
            let mut chunk = Chunk { height: pitch, keep: n < last, ..Chunk::default() };
            let (width, text) = (line.width, piece.clone());
            chunk.boxes.push(Boxed { kind: "line", x: indent, y: Dots(0), width, height: pitch, span, text });
            chunk.fill(Dots(0), Dots(0), bar, pitch);
            if n < last {
                let x = room.width - mark.width;
                let line = Arc::new(mark.clone());
                chunk.marks.push(Mark::Text { x, baseline, measure: mark.width, line, white: false });
            }
            chunk.marks.push(Mark::Text { x: indent, baseline, measure: width, line: Arc::new(line), white: false });
            chunks.push(chunk);
        }
    }
    let space = context.dots(context.style.space.block);
    Galley { kind: "code", text: text.to_string(), chunks, above: space, below: space, remarks, ..Galley::default() }
}

/// The row in parts that fit: after a space where one stands in the last third, else where it must be.
fn wrap(context: &Context, row: &str, look: Type, width: Dots) -> Vec<String> {
    let row = untabbed(row);
    let quiet = &mut Vec::<Remark>::new();
    let advance = one_line(context, "0", look, Span::default(), quiet).width.max(Dots(1));
    let mut parts = Vec::new();
    let (mut part, mut used) = (String::new(), Dots(0));
    // What another face lends takes as many whole cells as it needs.
    let mut wide = |cluster: &str| {
        if cluster.is_ascii() {
            return advance;
        }
        let ink = one_line(context, cluster, look, Span::default(), quiet).width;
        advance * (ink.0 + advance.0 - 1).div_euclid(advance.0).max(1)
    };
    for cluster in row.graphemes(true) {
        let taken = wide(cluster);
        if used + taken > width && !part.is_empty() {
            let least = part.len() * 2 / 3;
            let rest = match part.rfind(' ') {
                Some(space) if space >= least => part.split_off(space + 1),
                _ => String::new(),
            };
            used = rest.graphemes(true).map(&mut wide).sum();
            parts.push(std::mem::replace(&mut part, rest));
        }
        part.push_str(cluster);
        used += taken;
    }
    parts.push(part);
    parts
}

/// Tabs lead to the next of the stops that stand four characters apart.
fn untabbed(row: &str) -> String {
    const STOP: usize = 4;
    let mut text = String::with_capacity(row.len());
    let mut column = 0;
    for cluster in row.graphemes(true) {
        if cluster == "\t" {
            let blank = STOP - column % STOP;
            text.extend(std::iter::repeat_n(' ', blank));
            column += blank;
        } else {
            text.push_str(cluster);
            column += 1;
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::untabbed;

    #[test]
    fn tabs_lead_to_stops() {
        assert_eq!(untabbed("a\tbc\tdefg\th"), "a   bc  defg    h");
        assert_eq!(untabbed("\tx"), "    x");
    }
}
