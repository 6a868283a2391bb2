//! The notes of a section: addresses of links and footnotes, numbered, in small type under a short line.

use super::{Room, set_all, symbols};
use crate::layout::context::Context;
use crate::layout::galley::{Chunk, Galley, Hanging, Mark};
use crate::layout::style::{Links, Style};
use crate::layout::text::{self, Setting, one_line};
use crate::lengths::Dots;
use crate::manual::document::{Note, NoteBody};
use crate::type_setting::Type;

pub fn notes(context: &Context, notes: &[Note], room: Room) -> Galley {
    let small = context.small();
    // Notes are running text in the small size.
    let mut style: Style = context.style.clone();
    style.type_.body = context.style.type_.small;
    let context = &Context { style: &style, ..*context };
    let most = notes.iter().map(|note| note.number).max().unwrap_or(0);
    let look = Type { bold: true, ..small };
    let widest = one_line(context, &most.to_string(), look, Default::default(), &mut Vec::new()).width;
    let indent = widest + context.faces.vertical(&small).x_height;
    let mut parts = vec![short_line(context, room.width / 4)];
    let code = in_a_code(context, notes, room);
    for note in notes.iter().filter(|note| code.is_none() || matches!(note.body, NoteBody::Footnote(_))) {
        let mut remarks = Vec::new();
        let number = one_line(context, &note.number.to_string(), look, note.span, &mut remarks);
        let mut body = match &note.body {
            NoteBody::Address(address) => {
                let setting = Setting { hyphenate: false, ..Setting::small(context, "note", room.width - indent, note.span) };
                text::plain(context, &text::isolated(context, &breakable(address)), &setting)
            }
            NoteBody::Footnote(blocks) => set_all(context, "note", blocks, room.within(indent)),
        };
        body.text = format!("{} {}", note.number, body.text.replace('\u{200b}', ""));
        body.shift(indent);
        body.remarks.extend(remarks);
        let (width, above) = (widest, context.faces.vertical(&look).ascent);
        let marks = vec![Mark::line(widest - number.width, Dots(0), number, false)];
        body.hang(Hanging { width, above, marks, ..Hanging::default() }, context.pitch(small.size));
        body.above = context.dots(context.style.space.item) / 2;
        body.below = body.above;
        parts.push(body);
    }
    parts.extend(code);
    let mut galley = Galley::stack("notes", parts);
    galley.above = context.dots(context.style.space.paragraph);
    galley.below = galley.above;
    galley
}

/// Addresses that a section has more of than this go into a code, in a style with `links = "codes"`.
const FEW: usize = 3;

/// The code of a section with many addresses: a line each, with its number before it. None where they go on paper as notes.
fn in_a_code(context: &Context, notes: &[Note], room: Room) -> Option<Galley> {
    let addresses: Vec<(&Note, &str)> = notes
        .iter()
        .filter_map(|note| match &note.body {
            NoteBody::Address(address) => Some((note, address.as_str())),
            NoteBody::Footnote(_) => None,
        })
        .collect();
    if context.style.links != Links::Codes || addresses.len() <= FEW {
        return None;
    }
    let lines: Vec<String> = addresses.iter().map(|(note, address)| format!("{} {address}", note.number)).collect();
    let numbers: Vec<u32> = addresses.iter().map(|(note, _)| note.number).collect();
    symbols::qr_with_words(context, &lines.join("\n"), in_ranges(&numbers), addresses[0].0.span, room)
}

/// Ascending numbers, those that follow one another as a range: "4–7, 9".
fn in_ranges(numbers: &[u32]) -> String {
    let runs = numbers.chunk_by(|one, next| one + 1 == *next).map(|run| match run {
        [alone] => alone.to_string(),
        [first, .., last] => format!("{first}–{last}"),
        [] => String::new(),
    });
    runs.collect::<Vec<_>>().join(", ")
}

fn short_line(context: &Context, width: Dots) -> Galley {
    let height = context.line(context.style.line.thin);
    let mut chunk = Chunk { height, keep: true, ..Chunk::default() };
    chunk.fill(Dots(0), Dots(0), width, height);
    Galley { chunks: vec![chunk], below: context.dots(context.style.space.item) / 2, ..Galley::default() }
}

/// An address may be broken where its parts are joined: a zero-width space stands there, and nothing is printed for it.
fn breakable(address: &str) -> String {
    let mut text = String::with_capacity(address.len() + 8);
    let mut from = 0;
    for at in text::joints(address) {
        text.push_str(&address[from..at]);
        text.push('\u{200b}');
        from = at;
    }
    text + &address[from..]
}
