//! The test strip: what a maker prints once to learn a printer. Smallest readable type, thinnest line, dot gain, density, codes, length.
//!
//! It is a layout like any other, so it falls on paper by the same painter and the same bytes as a manual.

use std::sync::Arc;

use super::blocks::Room;
use super::context::Context;
use super::galley::{Chunk, Galley, Mark};
use super::panels::{Matter, Pitch};
use super::text::{self, Position, Setting, one_line};
use super::{Layout, blocks};
use crate::bitmap::{Bitmap, Ink};
use crate::lengths::{Dots, Mm, Pt};
use crate::manual::document::{Block, Inline, InlineKind, Kind, Screen};
use crate::manual::source::Span;
use crate::pictures::codes::{self, CodeRoom};
use crate::pictures::screens::{self, Ask};
use crate::pictures::tone::Shares;
use crate::type_setting::{Family, Type};

/// Sizes of type shown, thousandths of a point.
const SIZES: [i32; 9] = [5000, 5500, 6000, 6500, 7000, 7500, 8000, 9000, 10000];

/// What the scanner reads from the codes.
const CODE: &str = "STRIPLING-7";

/// Lays the test strip out. `printer` is its name.
pub fn chart(context: &Context, printer: &str) -> Layout {
    let room = Room { width: context.column(), depth: 0, cell: false };
    let resolution = context.paper.resolution;
    let facts = format!(
        "{printer}: {} dots, {} mm wide, {:.2} dots/mm",
        context.paper.width.0,
        resolution.mm(context.paper.width).value(),
        f64::from(resolution.dots_per_metre) / 1000.0
    );
    let mut parts = vec![heading(context, 1, "Test strip", room), small(context, &facts, room)];
    parts.push(heading(context, 2, "Type", room));
    parts.push(small(context, "Which is the smallest line that you read at arm's length? That is the style's `minimum`.", room));
    parts.extend(SIZES.iter().map(|&size| type_line(context, Pt::from_thousandths(size), room)));
    parts.push(reverse(context, room));
    parts.push(heading(context, 2, "Lines", room));
    parts.push(small(
        context,
        "1 to 5 dots, black and white. A black line that breaks: raise `density`. A white one that closes: lower it.",
        room,
    ));
    parts.push(drawn(lines(room.width.0)));
    parts.push(heading(context, 2, "Dot gain", room));
    parts.push(small(
        context,
        "The upper band is half black in single dots. Below are coarse patches; find the one that is as dark as the band. Its number is `dot_gain`.",
        room,
    ));
    parts.extend(gain(context, room));
    parts.push(heading(context, 2, "Grey", room));
    for screen in [Screen::Photo, Screen::Halftone, Screen::Line, Screen::Ink] {
        parts.extend(wedge(context, screen, room));
    }
    parts.push(heading(context, 2, "Codes", room));
    parts.push(small(
        context,
        "Dots a module: 2, 3, 4, 5. The smallest that your scanner reads at once, plus one, is safe.",
        room,
    ));
    parts.push(qr_row(context, room));
    parts.extend((2..=5).filter_map(|module| bars(context, module, room)));
    parts.push(heading(context, 2, "Density", room));
    parts.push(small(context, "Solid black must be even, without streaks or grey. The fine lines in it must stay open.", room));
    parts.push(drawn(solid(room.width.0)));
    parts.push(heading(context, 2, "Length", room));
    parts.push(small(context, "Lay a ruler beside it: if 100 mm are not 100 mm, `dots_per_mm` is wrong.", room));
    parts.push(ruler(context, room));

    let matter: Vec<Matter> = parts
        .into_iter()
        .map(|galley| Matter::Galley { galley: Arc::new(galley), base: 0, span: Span::default(), at_foot: false, leads: false })
        .collect();
    let pitch =
        Pitch { fold: None, top: context.dots(context.style.space.top), bottom: context.dots(context.style.space.bottom) };
    super::place(context, &matter, pitch)
}

fn heading(context: &Context, level: u8, words: &str, room: Room) -> Galley {
    let text = vec![Inline { span: Span::default(), kind: InlineKind::Text(words.into()) }];
    let kind = if level == 1 { Kind::Title(text) } else { Kind::Heading { level, text } };
    blocks::set(context, &Block { span: Span::default(), kind }, room)
}

fn small(context: &Context, words: &str, room: Room) -> Galley {
    let gap = context.dots(context.style.space.item);
    let mut inlines = Vec::new();
    for (n, part) in words.split('`').enumerate() {
        let kind = if n % 2 == 0 { InlineKind::Text(part.into()) } else { InlineKind::Key(part.into()) };
        inlines.push(Inline { span: Span::default(), kind });
    }
    let galley = text::inlines(context, &inlines, &Setting::small(context, "paragraph", room.width, Span::default()));
    Galley { above: gap, below: gap, ..galley }
}

fn type_line(context: &Context, size: Pt, room: Room) -> Galley {
    let mut gathering = text::Gathering::new(room.width);
    let look = |family, bold| Type { family, bold, italic: false, size };
    let label = format!("{} ", size.value());
    gathering.push_text(&label, Type { bold: true, ..context.small() }, Span::default());
    gathering.push_text("Hold the key for 3 s. 0O 1lI 8B ", look(Family::Sans, false), Span::default());
    gathering.push_text("Bold ", look(Family::Sans, true), Span::default());
    gathering.push_text("mono 0O1l", look(Family::Mono, false), Span::default());
    let look = look(Family::Sans, false);
    let galley = gathering.set(context, &Setting::label("paragraph", Type { size, ..look }, room.width, Span::default()));
    Galley { below: Dots(2), ..galley }
}

/// Reverse type in four sizes on one black band.
fn reverse(context: &Context, room: Room) -> Galley {
    let mut gathering = text::Gathering::new(room.width);
    let sizes: Vec<(Pt, String)> =
        [6000, 7000, 8000, 10000].map(|size| (Pt::from_thousandths(size), format!("{} white ", size / 1000))).into();
    for (size, words) in &sizes {
        gathering.push_text(words, Type { family: Family::Sans, bold: true, italic: false, size: *size }, Span::default());
    }
    let look = Type { family: Family::Sans, bold: true, italic: false, size: Pt::new(10.0) };
    let setting =
        Setting { white: true, align: Position::Centre, ..Setting::label("paragraph", look, room.width, Span::default()) };
    let mut galley = gathering.set(context, &setting).solid();
    if let Some(chunk) = galley.chunks.first_mut() {
        let (width, height) = (room.width, chunk.height);
        chunk.marks.insert(0, Mark::Fill { x: Dots(0), y: Dots(0), width, height, black: true });
    }
    Galley { above: Dots(6), ..galley }
}

fn drawn(bitmap: Bitmap) -> Galley {
    let height = Dots(bitmap.height() as i32);
    let mark = Mark::Picture { x: Dots(0), y: Dots(0), bitmap: Arc::new(bitmap), ink: Ink::Black };
    let chunk = Chunk { height, marks: vec![mark], ..Chunk::default() };
    Galley { chunks: vec![chunk], above: Dots(6), below: Dots(6), ..Galley::default() }
}

/// Black lines on white at the left, white lines on black at the right: lying, standing, slanting.
fn lines(width: i32) -> Bitmap {
    let half = width / 2;
    let mut one = Bitmap::new(half as u32, 120);
    let mut y = 4;
    for thick in 1..=5 {
        one.fill(4, y, half / 3, thick, true);
        y += thick + 14;
    }
    let mut x = half / 3 + 20;
    for thick in 1..=5 {
        one.fill(x, 4, thick, 108, true);
        for row in 0..108 {
            one.fill(x + half / 4 + row / 4, 4 + row, thick, 1, true);
        }
        x += thick + 9;
    }
    let mut both = Bitmap::new(width as u32, 120);
    both.put(&one, 0, 0, Ink::Black);
    both.fill(half, 0, width - half, 120, true);
    both.put(&one, half, 0, Ink::White);
    both
}

/// A band of single dots, half black, over patches of coarse dots that are 50 % and more black.
fn gain(context: &Context, room: Room) -> Vec<Galley> {
    let steps = 7;
    let width = room.width.0 / steps * steps;
    let mut band = Bitmap::new(width as u32, 92);
    for y in 0..40 {
        for x in 0..width {
            band.set(x, y, (x + y) % 2 == 0);
        }
    }
    // Coarse patches: discs of 12 dots pitch in reverse, whose edges are few, so they gain little.
    let patch = width / steps;
    for step in 0..steps {
        let black = 50 + step * 5;
        coarse(&mut band, step * patch, 44, patch, 48, black);
    }
    let mut labels = Chunk { height: context.pitch(context.small().size), ..Chunk::default() };
    for step in 0..steps {
        let line = one_line(context, &format!("{}", step * 5), context.small(), Span::default(), &mut Vec::new());
        let x = Dots(step * patch) + (Dots(patch) - line.width) / 2;
        let baseline = context.faces.vertical(&context.small()).ascent;
        labels.marks.push(Mark::Text { x, baseline, measure: line.width, line: Arc::new(line), white: false });
    }
    vec![drawn(band), Galley { chunks: vec![labels], ..Galley::default() }]
}

/// Stripes 16 dots apart whose black share is exactly what is asked for: the coarsest pattern that still averages to the eye.
fn coarse(bitmap: &mut Bitmap, left: i32, top: i32, width: i32, height: i32, black: i32) {
    for y in 0..height {
        for x in 0..width {
            // Thickness alternates between two whole numbers of dots so that the share is met over a hundred stripes.
            let (cell, within) = ((x + y) / 16, (x + y) % 16);
            let thick = (16 * black * (cell + 1) / 100) - (16 * black * cell / 100);
            bitmap.set(left + x, top + y, within < thick);
        }
    }
}

/// Eleven steps from white to black in one screen.
fn wedge(context: &Context, screen: Screen, room: Room) -> Vec<Galley> {
    let method = screens::method(screen);
    let (width, height) = (room.width.0 / 11 * 11, 36);
    let white = (0..width * height).map(|at| (255 - (at % width) * 11 / width * 255 / 10) as u8).collect();
    let shares = Shares { width: width as u32, height: height as u32, white };
    let bitmap = (method.run)(&Ask { shares: &shares, fine: 1, resolution: context.paper.resolution, spread: 0 });
    let label = small(context, &format!("{}, 0 to 100 % in tenths", method.name), room);
    vec![Galley { below: Dots(2), ..label }, Galley { above: Dots(2), ..drawn(bitmap) }]
}

/// Room for a code of modules of that many dots.
fn code_room(context: &Context, module: i32, room: Room) -> CodeRoom {
    CodeRoom { module: Some(Dots(module)), ..CodeRoom::new(room.width, context.paper.resolution) }
}

fn qr_row(context: &Context, room: Room) -> Galley {
    let mut chunk = Chunk::default();
    let mut x = Dots(0);
    for module in 2..=5 {
        let Ok(code) = codes::qr(CODE, &code_room(context, module, room)) else { continue };
        let (width, height) = (Dots(code.bitmap.width() as i32), Dots(code.bitmap.height() as i32));
        if x + width > room.width {
            break;
        }
        chunk.marks.push(Mark::Picture { x, y: Dots(0), bitmap: Arc::new(code.bitmap), ink: Ink::Black });
        chunk.height = chunk.height.max(height);
        x += width + Dots(4);
    }
    Galley { chunks: vec![chunk], above: Dots(6), below: context.dots(context.style.space.item), ..Galley::default() }
}

fn bars(context: &Context, module: i32, room: Room) -> Option<Galley> {
    let code = codes::code128(CODE, &code_room(context, module, room)).ok()?;
    let (chunk, _) = blocks::set_code(context, code, Span::default(), room.width);
    Some(Galley { chunks: vec![chunk], above: Dots(6), below: Dots(6), ..Galley::default() })
}

/// Solid black with white lines of one to three dots, and a foot of even grey.
fn solid(width: i32) -> Bitmap {
    let mut bitmap = Bitmap::new(width as u32, 120);
    bitmap.fill(0, 0, width, 120, true);
    for (n, thick) in [1, 2, 3].into_iter().enumerate() {
        bitmap.fill(12, 20 + n as i32 * 20, width - 24, thick, false);
    }
    for y in 90..120 {
        for x in 0..width {
            bitmap.set(x, y, (x + y) % 2 == 0);
        }
    }
    bitmap
}

/// Millimetres along the strip, 0 to 100, and across its whole width.
fn ruler(context: &Context, room: Room) -> Galley {
    let resolution = context.paper.resolution;
    let at = |mm: i32| resolution.dots(Mm::from_micrometres(i64::from(mm) * 1000));
    let mut chunk = Chunk { height: at(100) + at(6), ..Chunk::default() };
    let tick = |mm: i32| {
        if mm % 10 == 0 {
            at(6)
        } else if mm % 5 == 0 {
            at(4)
        } else {
            at(2)
        }
    };
    let top = at(4);
    for mm in 0..=100 {
        chunk.fill(Dots(0), top + at(mm), tick(mm), Dots(1));
        if mm % 10 == 0 {
            label(context, &mut chunk, &mm.to_string(), at(7), top + at(mm));
        }
    }
    let across = resolution.mm(room.width).micrometres() / 1000;
    for mm in 0..=across as i32 {
        chunk.fill(at(mm).min(room.width - Dots(1)), Dots(0), Dots(1), tick(mm) / 2);
    }
    Galley { chunks: vec![chunk], ..Galley::default() }
}

fn label(context: &Context, chunk: &mut Chunk, words: &str, x: Dots, middle: Dots) {
    let line = one_line(context, words, context.small(), Span::default(), &mut Vec::new());
    let baseline = middle + context.faces.vertical(&context.small()).cap_height / 2;
    chunk.marks.push(Mark::Text { x, baseline, measure: line.width, line: Arc::new(line), white: false });
}
