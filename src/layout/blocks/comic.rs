//! A comic: panels in one or two columns, captions in boxes, balloons.
//!
//! Read left to right, then down (right to left in languages written so). Too much text makes a panel higher, never its type smaller.
//! A row of panels is one piece: nothing folds it.

use std::sync::Arc;

use rayon::prelude::*;

use super::Room;
use super::balloons::{self, Outline, Wanted};
use crate::bitmap::{Bitmap, Ink};
use crate::layout::bench::Bench;
use crate::layout::frame::{Lack, frame};
use crate::layout::galley::{Boxed, Chunk, Galley, Mark, SUBDOTS, stroke};
use crate::layout::picture_remark;
use crate::layout::text::{self, Setting};
use crate::manual::document::{Balloon, BalloonKind, Comic, ComicPanel, Ground, Treatment};
use crate::manual::source::{Level, Remark, Span};
use crate::pictures::Request;
use crate::type_setting::{Family, Line, Type};
use crate::units::Dots;

pub fn comic(bench: &Bench, comic: &Comic, room: Room) -> Galley {
    let gutter = bench.dots(bench.style.space.gutter) * 3 / 5;
    let columns = i32::from(comic.columns.clamp(1, 2));
    let single = (room.width - gutter * (columns - 1)) / columns;
    let width_of = |panel: &ComicPanel| if i32::from(panel.columns) >= columns { room.width } else { single };
    let drafted: Vec<(Draft, Vec<Remark>)> = comic.panels.par_iter().map(|panel| draft(bench, panel, width_of(panel))).collect();
    let mut drafted = drafted.into_iter();
    let mut parts = Vec::new();
    for row in rows(&comic.panels, columns) {
        let (mut drafts, remarks): (Vec<Draft>, Vec<Vec<Remark>>) = drafted.by_ref().take(row.len()).unzip();
        let height = drafts.iter().map(|draft| draft.height).max().unwrap_or_default();
        let mut chunk = Chunk { height, ..Chunk::default() };
        let (mut x, mut said) = (Dots(0), Vec::new());
        for (draft, panel) in drafts.iter_mut().zip(&row) {
            let mut part = finish(bench, draft, panel, height);
            if bench.language.is_rtl() {
                // The row will be mirrored; what a panel shows is not.
                part.mirror(draft.width);
            }
            part.shift(x, Dots(0));
            chunk.marks.append(&mut part.marks);
            chunk.boxes.append(&mut part.boxes);
            said.push(draft.said.join("\n"));
            x += draft.width + gutter;
        }
        parts.push(Galley {
            text: said.join("\n"),
            chunks: vec![chunk],
            above: gutter,
            below: gutter,
            remarks: remarks.concat(),
            ..Galley::default()
        });
    }
    let space = bench.dots(bench.style.space.block);
    Galley { above: space, below: space, ..Galley::stack("comic", parts) }
}

/// Panels row by row.
fn rows(panels: &[ComicPanel], columns: i32) -> Vec<Vec<&ComicPanel>> {
    let mut rows: Vec<Vec<&ComicPanel>> = Vec::new();
    let mut free = 0;
    for panel in panels {
        let takes = i32::from(panel.columns).clamp(1, columns);
        match rows.last_mut() {
            Some(row) if takes <= free => row.push(panel),
            _ => {
                rows.push(vec![panel]);
                free = columns;
            }
        }
        free -= takes;
    }
    rows
}

/// A panel whose parts are known, before it is as high as its row.
struct Draft {
    width: Dots,
    height: Dots,
    caption: Option<Chunk>,
    picture: Option<Arc<Bitmap>>,
    /// The frame that stands for a picture that cannot be used.
    lacking: Option<Chunk>,
    ground: Option<balloons::Ground>,
    balloons: Vec<Lettered>,
    /// Whether balloons may hide what is drawn.
    hiding: bool,
    said: Vec<String>,
}

/// A balloon with its lines set.
struct Lettered {
    kind: BalloonKind,
    lines: Vec<Line>,
    half: [i32; 2],
    pitch: Dots,
    span: Span,
    text: String,
}

fn border(bench: &Bench) -> Dots {
    bench.line(bench.style.comic.border).max(Dots(2))
}

fn lettering(bench: &Bench) -> Type {
    Type { family: Family::Lettering, bold: true, italic: false, size: bench.size(bench.style.type_.lettering) }
}

fn draft(bench: &Bench, panel: &ComicPanel, width: Dots) -> (Draft, Vec<Remark>) {
    let mut remarks = Vec::new();
    let border = border(bench);
    let inside = width - border * 2;
    let mut said = Vec::new();
    let caption = panel.caption.as_ref().map(|words| {
        let padding = Dots(5);
        let setting = Setting::label("caption", lettering(bench), inside - padding * 2, panel.span);
        let mut set = text::plain(bench, words, &setting).solid().padded(Dots(3), Dots(3));
        if bench.language.is_rtl() {
            // Inside a panel everything stands as it will be seen.
            set.mirror(setting.width);
        }
        set.shift(border + padding);
        remarks.append(&mut set.remarks);
        said.push(set.text);
        set.chunks.pop().unwrap_or_default()
    });
    if !panel.alt.is_empty() {
        said.push(panel.alt.clone());
    }
    let mut lacking = None;
    let picture = panel.picture.as_ref().and_then(|address| {
        let drawn = bench.album.look(address).and_then(|info| {
            let height = i64::from(inside.0) * i64::from(info.height.max(1)) / i64::from(info.width.max(1));
            let height = Dots(height.clamp(1, i64::from(inside.0) * 4) as i32);
            let request = Request {
                crop: None,
                width: inside,
                height,
                screen: panel.screen,
                treatment: Treatment::default(),
                paper: bench.paper,
            };
            bench.album.screen(address, &request)
        });
        match drawn {
            Ok(screened) => Some(Arc::new(screened.bitmap.clone())),
            Err(error) => {
                let lack = Lack { name: address, why: &error.why(), span: panel.picture_span };
                let (frame, more) = frame(bench, inside, inside * 3 / 4, lack);
                remarks.extend(more);
                remarks.push(picture_remark(&error, panel.picture_span));
                lacking = Some(frame);
                None
            }
        }
    });
    let balloons: Vec<Lettered> = panel.balloons.iter().map(|balloon| lettered(bench, balloon, inside, &mut remarks)).collect();
    said.extend(balloons.iter().map(|balloon| balloon.text.clone()));
    out_of_order(bench, panel, &mut remarks);
    let natural = match (&picture, &lacking) {
        (Some(picture), _) => Dots(picture.height() as i32),
        (None, Some(frame)) => frame.height,
        (None, None) => inside * 3 / 5,
    };
    let caption_height = caption.as_ref().map_or(Dots(0), |caption| caption.height + border);
    let height = natural + caption_height + border * 2;
    let ground = picture.as_ref().filter(|_| !balloons.is_empty()).map(|picture| balloons::Ground::new(picture));
    let mut draft = Draft { width, height, caption, picture, lacking, ground, balloons, hiding: false, said };
    // More text than room: the panel grows until every balloon has its place, off what is drawn if a panel as high as all its
    // balloons together allows it, else anywhere.
    let least = draft.height;
    let spoken: i32 = draft.balloons.iter().map(|lettered| lettered.half[1] * 2 + 12).sum();
    for (hiding, most) in [(false, least + Dots(spoken)), (true, least * 6 + Dots(2000))] {
        draft.height = least;
        draft.hiding = hiding;
        while draft.height < most && placed(bench, &draft, panel, draft.height).is_none() {
            draft.height += Dots(8);
        }
        if placed(bench, &draft, panel, draft.height).is_some() {
            break;
        }
    }
    (draft, remarks)
}

fn lettered(bench: &Bench, balloon: &Balloon, inside: Dots, remarks: &mut Vec<Remark>) -> Lettered {
    let look = match balloon.kind {
        BalloonKind::Sound => Type { size: lettering(bench).size.percent(150), ..lettering(bench) },
        BalloonKind::Shout => Type { size: lettering(bench).size.percent(112), ..lettering(bench) },
        BalloonKind::Whisper => {
            Type { size: lettering(bench).size.percent(90).max(bench.style.type_.minimum.0), ..lettering(bench) }
        }
        BalloonKind::Speech | BalloonKind::Thought => lettering(bench),
    };
    let pitch = bench.pitch(look.size.percent(93));
    let padding = bench.faces.vertical(&look).x_height.0 * 3 / 4;
    let most = inside - Dots(12);
    // Of all widths the one whose balloon takes the least room, wider rather than taller.
    let mut best: Option<(i64, Galley, Vec<Line>, [i32; 2])> = None;
    let whole = text::one_line(bench, &balloon.text, look, balloon.span, &mut Vec::new()).width;
    for parts in 1..=7 {
        let width = (whole.0 / parts + bench.faces.vertical(&look).x_height.0 * if parts == 1 { 1 } else { 2 }).min(most.0);
        let setting = Setting::label("balloon", look, Dots(width), balloon.span);
        let set = text::plain(bench, &balloon.text, &setting);
        let lines: Vec<Line> = set.chunks.iter().filter_map(line_of).collect();
        let widths: Vec<i32> = lines.iter().map(|line| line.width.0).collect();
        let half = balloons::half_axes(balloon.kind, &widths, pitch.0, padding);
        let forced = lines.iter().any(|line| line.forced);
        let wide = half[0] * 2 > inside.0 - 8;
        let area = i64::from(half[0]) * i64::from(half[1]);
        let shape = i64::from((half[0] * 10 / half[1].max(1) - 15).abs());
        let cost = area * (20 + shape) + if wide { 1 << 40 } else { 0 } + if forced { 1 << 44 } else { 0 };
        if best.as_ref().is_none_or(|(least, ..)| cost < *least) {
            best = Some((cost, set, lines, half));
        }
    }
    let (set, lines, half) = best.map(|(_, set, lines, half)| (set, lines, half)).unwrap_or_default();
    remarks.extend(set.remarks);
    let half = [half[0].min(inside.0 / 2 - 4), half[1]];
    Lettered { kind: balloon.kind, lines, half, pitch, span: balloon.span, text: balloon.text.clone() }
}

fn line_of(chunk: &Chunk) -> Option<Line> {
    chunk.marks.iter().find_map(|mark| match mark {
        Mark::Text { line, .. } => Some(Line::clone(line)),
        _ => None,
    })
}

/// The part of a panel in which pictures and balloons stand: left, top, width, height.
fn stage(bench: &Bench, draft: &Draft, height: Dots) -> [i32; 4] {
    let border = border(bench);
    let caption = draft.caption.as_ref().map_or(Dots(0), |caption| caption.height + border);
    let top = border + caption;
    [border.0, top.0, (draft.width - border * 2).0, (height - top - border).0]
}

/// Where on the stage the picture stands: at the foot, so that what a panel grows by is room to speak in.
fn picture_top(draft: &Draft, stage: [i32; 4]) -> i32 {
    draft.picture.as_ref().map_or(0, |picture| (stage[3] - picture.height() as i32).max(0))
}

/// From percentages of the picture to dots on the stage.
fn on_stage(draft: &Draft, stage: [i32; 4], at: [i32; 2]) -> [i32; 2] {
    let (top, height) = match &draft.picture {
        Some(picture) => (picture_top(draft, stage), picture.height() as i32),
        None => (0, stage[3]),
    };
    [(i64::from(stage[2]) * i64::from(at[0]) / 1000) as i32, top + (i64::from(height) * i64::from(at[1]) / 1000) as i32]
}

fn placed(bench: &Bench, draft: &Draft, panel: &ComicPanel, height: Dots) -> Option<Vec<[i32; 2]>> {
    let stage = stage(bench, draft, height);
    let grown = picture_top(draft, stage);
    let wanted: Vec<Wanted> = draft
        .balloons
        .iter()
        .zip(&panel.balloons)
        .map(|(lettered, balloon)| {
            let at = on_stage(draft, stage, balloon.at);
            // In a panel that grew the balloons go up into the new room.
            let at = [at[0], (at[1] - grown).max(0)];
            let speaker = balloon.tail.filter(|_| balloon.kind != BalloonKind::Sound).map(|tail| on_stage(draft, stage, tail));
            Wanted { half: lettered.half, at, speaker, hides: balloon.kind != BalloonKind::Sound }
        })
        .collect();
    let ground = draft.ground.as_ref().filter(|_| !draft.hiding);
    balloons::place(&wanted, stage[2], stage[3], 4, ground.map(|ground| (ground, grown)))
}

fn finish(bench: &Bench, draft: &mut Draft, panel: &ComicPanel, height: Dots) -> Chunk {
    let border = border(bench);
    let stage = stage(bench, draft, height);
    let mut chunk = Chunk { height, ..Chunk::default() };
    let top = picture_top(draft, stage);
    let middles = placed(bench, draft, panel, height)
        .unwrap_or_else(|| panel.balloons.iter().map(|balloon| on_stage(draft, stage, balloon.at)).collect());
    match &draft.picture {
        Some(bitmap) => {
            let (x, y) = (Dots(stage[0]), Dots(stage[1] + top));
            chunk.marks.push(Mark::Picture { x, y, bitmap: bitmap.clone(), ink: Ink::Black });
            let (width, height) = (Dots(bitmap.width() as i32), Dots(bitmap.height() as i32));
            chunk.boxes.push(Boxed { kind: "picture", x, y, width, height, span: panel.span, text: panel.alt.clone() });
        }
        None => match draft.lacking.take() {
            Some(mut frame) => {
                frame.shift(Dots(stage[0]), Dots(stage[1]));
                chunk.marks.append(&mut frame.marks);
                chunk.boxes.append(&mut frame.boxes);
            }
            None => ground(&mut chunk, panel.ground, stage),
        },
    }
    for ((lettered, balloon), middle) in draft.balloons.iter().zip(&panel.balloons).zip(middles) {
        let speaker = balloon.tail.map(|tail| on_stage(draft, stage, tail));
        speak(&mut chunk, lettered, middle, speaker, [stage[0], stage[1]]);
    }
    let frame = Mark::Round { x: Dots(0), y: Dots(0), width: draft.width, height, radius: Dots(0), border, fill: None };
    if let Some(mut caption) = draft.caption.take() {
        let high = caption.height;
        caption.shift(Dots(0), border);
        let white = Mark::Fill { x: border, y: border, width: draft.width - border * 2, height: high, black: false };
        chunk.marks.push(white);
        chunk.marks.append(&mut caption.marks);
        chunk.boxes.append(&mut caption.boxes);
        chunk.fill(Dots(0), border + high, draft.width, border);
    }
    chunk.marks.push(frame);
    let text = draft.said.join("\n");
    chunk.boxes.insert(0, Boxed { kind: "panel", x: Dots(0), y: Dots(0), width: draft.width, height, span: panel.span, text });
    chunk
}

/// Thickness of a balloon's line, dots.
const LINE: i32 = 3;

fn speak(chunk: &mut Chunk, lettered: &Lettered, middle: [i32; 2], speaker: Option<[i32; 2]>, origin: [i32; 2]) {
    let moved = |points: &Outline| -> Outline {
        points.iter().map(|p| [p[0] + (origin[0] + middle[0]) * SUBDOTS, p[1] + (origin[1] + middle[1]) * SUBDOTS]).collect()
    };
    let plain = balloons::outline(lettered.kind, lettered.half);
    let tip = speaker.and_then(|speaker| balloons::tip(middle, lettered.half, speaker));
    let shape = match (lettered.kind, tip) {
        (BalloonKind::Thought, _) | (_, None) => plain,
        (_, Some(tip)) => balloons::with_tail(&plain, [tip[0] * SUBDOTS, tip[1] * SUBDOTS], 20.min(lettered.half[0])),
    };
    if lettered.kind == BalloonKind::Thought
        && let Some(speaker) = speaker
    {
        for (at, radius) in balloons::bubbles(middle, lettered.half, speaker) {
            let (x, y) = (Dots(origin[0] + at[0] - radius), Dots(origin[1] + at[1] - radius));
            let size = Dots(radius * 2);
            let (radius, border) = (Dots(radius), Dots(LINE));
            chunk.marks.push(Mark::Round { x, y, width: size, height: size, radius, border, fill: Some(false) });
        }
    }
    let shape = moved(&shape);
    if !shape.is_empty() {
        chunk.marks.push(Mark::Polygon { points: shape.clone(), black: false });
        edge(chunk, &shape, lettered.kind == BalloonKind::Whisper);
    }
    let rows = lettered.lines.len() as i32;
    let top = origin[1] + middle[1] - rows * lettered.pitch.0 / 2;
    for (n, line) in lettered.lines.iter().enumerate() {
        let left = line.fragments.iter().map(|fragment| fragment.x).min().unwrap_or_default();
        let width = line.width - left;
        let x = Dots(origin[0] + middle[0]) - width / 2 - left;
        let height = line.ascent + line.descent;
        let baseline = Dots(top + n as i32 * lettered.pitch.0) + (lettered.pitch - height) / 2 + line.ascent;
        let shared = Arc::new(line.clone());
        if lettered.kind == BalloonKind::Sound {
            // Free lettering stands on the picture: white around it keeps it readable.
            for (dx, dy) in HALO {
                let (x, baseline) = (x + Dots(dx), baseline + Dots(dy));
                chunk.marks.push(Mark::Text { x, baseline, measure: line.width, line: shared.clone(), white: true });
            }
        }
        chunk.marks.push(Mark::Text { x, baseline, measure: line.width, line: shared, white: false });
        let y = baseline - line.ascent;
        chunk.boxes.push(Boxed { kind: "line", x: x + left, y, width, height, span: lettered.span, text: line.text.clone() });
    }
    let [a, b] = lettered.half;
    let (x, y) = (Dots(origin[0] + middle[0] - a), Dots(origin[1] + middle[1] - b));
    let text = lettered.text.clone();
    chunk.boxes.push(Boxed { kind: "balloon", x, y, width: Dots(a * 2), height: Dots(b * 2), span: lettered.span, text });
}

/// Steps by which white is spread around free lettering, dots.
const HALO: [(i32, i32); 12] =
    [(-3, 0), (3, 0), (0, -3), (0, 3), (-2, -2), (2, -2), (-2, 2), (2, 2), (-4, -1), (4, 1), (-1, 4), (1, -4)];

/// Draws the line around a shape; `broken` leaves gaps, as for what is whispered.
fn edge(chunk: &mut Chunk, shape: &Outline, broken: bool) {
    for (n, &from) in shape.iter().enumerate() {
        if broken && n % 4 > 1 {
            continue;
        }
        let to = shape[(n + 1) % shape.len()];
        chunk.marks.push(Mark::Polygon { points: stroke(from, to, LINE * SUBDOTS), black: true });
        let half = LINE * SUBDOTS / 2;
        let joint =
            vec![[from[0] - half, from[1]], [from[0], from[1] - half], [from[0] + half, from[1]], [from[0], from[1] + half]];
        chunk.marks.push(Mark::Polygon { points: joint, black: true });
    }
}

/// What is drawn behind a panel without a picture.
fn ground(chunk: &mut Chunk, ground: Ground, stage: [i32; 4]) {
    let [left, top, width, height] = stage;
    let mut drawn = Bitmap::new(width.max(0) as u32, height.max(0) as u32);
    match ground {
        Ground::Plain => return,
        Ground::Dots => {
            for (row, y) in (4..height).step_by(9).enumerate() {
                for x in ((if row % 2 == 0 { 4 } else { 9 })..width).step_by(10) {
                    drawn.fill(x, y, 2, 2, true);
                }
            }
        }
        Ground::Hatch => {
            for y in 0..height {
                for x in 0..width {
                    drawn.set(x, y, (x + y) % 11 < 2);
                }
            }
        }
        Ground::Rays => {
            let (cx, cy) = (i64::from(width) / 2, i64::from(height) * 3 / 5);
            for y in 0..height {
                for x in 0..width {
                    let (dx, dy) = (i64::from(x) - cx, i64::from(y) - cy);
                    let ring = dx * dx + dy * dy;
                    let turn = libm::atan2(dy as f64, dx as f64) / std::f64::consts::TAU * 36.0;
                    let part = turn - libm::floor(turn);
                    drawn.set(x, y, part < 0.16 && ring > (cx * cx + cy * cy) / 6);
                }
            }
        }
    }
    let (x, y) = (Dots(left), Dots(top));
    chunk.marks.push(Mark::Picture { x, y, bitmap: Arc::new(drawn), ink: Ink::Black });
}

/// Balloons are read left to right, then down. One that stands wholly before the one written before it is read too early.
fn out_of_order(bench: &Bench, panel: &ComicPanel, remarks: &mut Vec<Remark>) {
    let across = |balloon: &Balloon| if bench.language.is_rtl() { 1000 - balloon.at[0] } else { balloon.at[0] };
    for pair in panel.balloons.windows(2).filter(|pair| pair.iter().all(|balloon| balloon.kind != BalloonKind::Sound)) {
        let (first, second) = (&pair[0], &pair[1]);
        let above = second.at[1] + 120 < first.at[1];
        let beside = (second.at[1] - first.at[1]).abs() <= 120 && across(second) < across(first);
        if above || beside {
            remarks.push(Remark {
                rule: "balloons-out-of-order",
                level: Level::Warning,
                message: format!("{:?} will be read before {:?}, which is written before it", second.text, first.text),
                hint: Some("balloons are read in the direction of the text, then down: move them, or change their order".into()),
                span: second.span,
            });
        }
    }
}
