//! A comic: panels in one or two columns, captions in boxes, balloons.
//!
//! Read left to right, then down (right to left in languages written so). Too much text makes a panel higher, never its type smaller.
//! A row of panels is one piece: nothing folds it.

use std::sync::Arc;

use rayon::prelude::*;

use super::Room;
use super::balloons::{self, LINE};
use super::exposure::Subject;
use super::lettering::{self, Way};
use super::staging::{self, Care, Place, Stage, Wanted};
use crate::bitmap::{Bitmap, Ink};
use crate::layout::bench::Bench;
use crate::layout::frame::{Lack, frame};
use crate::layout::galley::{Boxed, Chunk, Galley, Mark, SUBDOTS, stroke};
use crate::layout::text::{self, Setting};
use crate::manual::document::{Balloon, BalloonKind, Comic, ComicPanel, Fit, Ground, Sound, Treatment};
use crate::manual::source::{Level, Remark};
use crate::pictures::PictureInfo;
use crate::type_setting::FragmentInk;
use crate::units::Dots;

pub fn comic(bench: &Bench, comic: &Comic, room: Room) -> Galley {
    let gutter = bench.dots(bench.style.space.gutter) * 3 / 5;
    let columns = i32::from(comic.columns.clamp(1, 2));
    let single = (room.width - gutter * (columns - 1)) / columns;
    let rows = rows(&comic.panels, columns);
    // A panel that has a row to itself fills it.
    let width_of = |row: &[&ComicPanel], panel: &ComicPanel| {
        if row.len() == 1 || i32::from(panel.columns) >= columns { room.width } else { single }
    };
    let drafted: Vec<Vec<(Draft, Vec<Remark>)>> = rows
        .par_iter()
        .map(|row| {
            let draft_all = |height: Option<Dots>| -> Vec<(Draft, Vec<Remark>)> {
                row.par_iter()
                    .map(|panel| draft(bench, panel, width_of(row, panel), height.filter(|_| panel.fit == Fit::Cover)))
                    .collect()
            };
            let first = draft_all(None);
            let height = first.iter().map(|(draft, _)| draft.height).max();
            // Pictures that may be cropped are as high as their row.
            if row.len() > 1 && row.iter().any(|panel| panel.fit == Fit::Cover) { draft_all(height) } else { first }
        })
        .collect();
    let mut parts = Vec::new();
    for (row, drafts) in rows.iter().zip(drafted) {
        let height = drafts.iter().map(|(draft, _)| draft.height).max().unwrap_or_default();
        let mut chunk = Chunk { height, ..Chunk::default() };
        let (mut x, mut said, mut remarks) = (Dots(0), Vec::new(), Vec::new());
        for ((draft, noticed), panel) in drafts.into_iter().zip(row) {
            let width = draft.width;
            said.push(draft.said.join("\n"));
            remarks.extend(noticed);
            let mut part = finish(bench, draft, panel, height);
            if bench.language.is_rtl() {
                // The row will be mirrored; what a panel shows is not.
                part.mirror(width);
            }
            part.shift(x, Dots(0));
            chunk.marks.append(&mut part.marks);
            chunk.boxes.append(&mut part.boxes);
            x += width + gutter;
        }
        let text = said.join("\n");
        parts.push(Galley { text, chunks: vec![chunk], above: gutter, below: gutter, remarks, ..Galley::default() });
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

/// A panel whose parts are known and placed, before it is as high as its row.
struct Draft {
    width: Dots,
    height: Dots,
    caption: Option<Chunk>,
    picture: Option<Shown>,
    /// The frame that stands for a picture that cannot be used.
    lacking: Option<Chunk>,
    /// How far above the picture the stage begins: room to speak in.
    grown: i32,
    balloons: Vec<Vec<Way>>,
    places: Vec<Place>,
    said: Vec<String>,
}

/// A picture on the stage of its panel: its dots, where its left edge stands, and the part of it that is shown, in thousandths.
struct Shown {
    bitmap: Arc<Bitmap>,
    x: i32,
    crop: [i32; 4],
}

/// The white between a balloon and the frame of its panel, dots.
const INSET: i32 = 4;

fn border(bench: &Bench) -> Dots {
    let border = bench.line(bench.style.comic.border);
    if border > Dots(0) { border.max(Dots(2)) } else { border }
}

fn draft(bench: &Bench, panel: &ComicPanel, width: Dots, height: Option<Dots>) -> (Draft, Vec<Remark>) {
    let mut remarks = Vec::new();
    let border = border(bench);
    let inside = width - border * 2;
    let mut said = Vec::new();
    let caption = panel.caption.as_ref().map(|words| {
        let mut set = caption(bench, panel, words, inside);
        remarks.append(&mut set.remarks);
        said.push(set.text);
        set.chunks.pop().unwrap_or_default()
    });
    if !panel.alt.is_empty() {
        said.push(panel.alt.clone());
    }
    let taken = caption.as_ref().map_or(Dots(0), |caption| caption.height + border) + border * 2;
    let asked = height.or_else(|| panel.height.map(|height| bench.paper.resolution.dots(height)));
    let asked = asked.map(|height| (height - taken).max(Dots(16)));
    let mut lacking = None;
    let picture = panel.picture.as_ref().and_then(|address| match shown(bench, panel, address, inside, asked, &mut remarks) {
        Ok(shown) => Some(shown),
        Err(error) => {
            let lack = Lack { name: address, why: &error.why(), span: panel.picture_span };
            let (frame, more) = frame(bench, inside, inside * 3 / 4, lack);
            remarks.extend(more);
            remarks.push(error.remark(panel.picture_span));
            lacking = Some(frame);
            None
        }
    });
    let set: Vec<(Vec<Way>, Vec<Remark>)> =
        panel.balloons.par_iter().map(|balloon| lettering::ways(bench, balloon, inside.0)).collect();
    let (balloons, noticed): (Vec<Vec<Way>>, Vec<Vec<Remark>>) = set.into_iter().unzip();
    remarks.extend(noticed.into_iter().flatten());
    said.extend(panel.balloons.iter().map(|balloon| balloon.text.clone()));
    out_of_order(bench, panel, &mut remarks);
    let drawn = picture.as_ref().map(|picture| Dots(picture.bitmap.height() as i32));
    let drawn = drawn.or(lacking.as_ref().map(|frame| frame.height));
    let natural = drawn.unwrap_or(Dots(0)).max(asked.unwrap_or(if drawn.is_some() { Dots(0) } else { inside * 3 / 5 }));
    let ground = picture.as_ref().filter(|_| !balloons.is_empty()).map(|picture| staging::Ground::new(&picture.bitmap));
    let mut draft =
        Draft { width, height: natural + taken, caption, picture, lacking, grown: 0, balloons, places: Vec::new(), said };
    let placed = stage_all(&draft, panel, ground.as_ref(), [inside.0, natural.0]);
    draft.grown = placed.grown;
    draft.height += Dots(placed.grown);
    draft.places = placed.places;
    if placed.care == Care::Crowded && panel.balloons.len() > 1 {
        remarks.push(Remark {
            rule: "balloons-crowded",
            level: Level::Warning,
            message: "this panel has more to say than room: tails run under balloons".into(),
            hint: Some("take a balloon out, or let the panel span both columns".into()),
            span: panel.span,
        });
    }
    // What would be read too early is moved for that, and said already.
    if !remarks.iter().any(|remark| remark.rule == "balloons-out-of-order") {
        moved(bench, &draft, panel, [inside.0, natural.0], &mut remarks);
    }
    (draft, remarks)
}

fn caption(bench: &Bench, panel: &ComicPanel, words: &str, inside: Dots) -> Galley {
    let padding = Dots(5);
    let setting = Setting::label("caption", lettering::hand(bench), inside - padding * 2, panel.caption_span);
    let mut set = text::plain(bench, words, &setting).solid().padded(Dots(3), Dots(3));
    if bench.language.is_rtl() {
        // Inside a panel everything stands as it will be seen.
        set.mirror(setting.width);
    }
    set.shift(border(bench) + padding);
    set
}

/// The picture of a panel in dots. It keeps its proportions; one that must not be so high stands in the middle, or is cropped.
fn shown(
    bench: &Bench,
    panel: &ComicPanel,
    address: &str,
    inside: Dots,
    asked: Option<Dots>,
    remarks: &mut Vec<Remark>,
) -> Result<Shown, crate::pictures::Error> {
    let info = bench.album.look(address)?;
    let crop = asked.filter(|_| panel.fit == Fit::Cover).map(|asked| covering(&info, inside, asked));
    let subject =
        Subject { picture: address, span: panel.picture_span, crop, screen: panel.screen, treatment: Treatment::default() };
    let [across, down] = subject.pixels(&info);
    // One that is much higher than wide would fill a metre of paper.
    let most = asked.map_or(i64::from(inside.0) * 5 / 2, |asked| i64::from(asked.0)).max(1);
    let size = subject.own_dots(&info, Some(inside), inside).filter(|[_, height]| *height <= most).unwrap_or_else(|| {
        let high = (i64::from(inside.0) * down / across).max(1);
        if high > most { [(most * across / down).max(1), most] } else { [i64::from(inside.0), high] }
    });
    let mut exposed = subject.expose(bench, size.map(|side| Dots(side as i32)))?;
    remarks.append(&mut exposed.remarks);
    let x = (inside.0 - exposed.bitmap.width() as i32) / 2;
    Ok(Shown { bitmap: exposed.bitmap, x, crop: crop.unwrap_or([0, 0, 1000, 1000]) })
}

/// The middle of a picture, as much of it as fills a stage.
fn covering(info: &PictureInfo, width: Dots, height: Dots) -> [i32; 4] {
    let (across, down) = (i64::from(info.width.max(1)), i64::from(info.height.max(1)));
    let (wide, high) = (i64::from(width.0.max(1)), i64::from(height.0.max(1)));
    // How much of the picture's width is shown when all of its height is, and the other way round.
    let share_w = (1000 * down * wide / (high * across)).clamp(1, 1000) as i32;
    let share_h = (1000 * across * high / (wide * down)).clamp(1, 1000) as i32;
    [(1000 - share_w) / 2, (1000 - share_h) / 2, share_w, share_h]
}

/// From thousandths of the picture, or of the stage where there is none, to dots on the stage.
fn on_stage(picture: Option<&Shown>, natural: [i32; 2], grown: i32, at: [i32; 2]) -> [i32; 2] {
    let Some(picture) = picture else {
        return [0, 1]
            .map(|axis| (i64::from(natural[axis]) * i64::from(at[axis]) / 1000) as i32 + if axis == 1 { grown } else { 0 });
    };
    let (width, height) = (picture.bitmap.width() as i32, picture.bitmap.height() as i32);
    let [left, top, share_w, share_h] = picture.crop;
    let x = (at[0] - left).clamp(0, share_w) * width / share_w.max(1);
    let y = (at[1] - top).clamp(0, share_h) * height / share_h.max(1);
    [picture.x + x, grown + natural[1] - height + y]
}

struct Staged {
    grown: i32,
    places: Vec<Place>,
    care: Care,
}

/// More text than room: the panel grows until every balloon has its place, off what is drawn if a panel that is as much higher as all its
/// balloons together allows it, else anywhere.
fn stage_all(draft: &Draft, panel: &ComicPanel, ground: Option<&staging::Ground>, natural: [i32; 2]) -> Staged {
    let place = |grown: i32, care: Care| {
        let on_stage = |at| on_stage(draft.picture.as_ref(), natural, grown, at);
        let wanted: Vec<Wanted> = panel
            .balloons
            .iter()
            .zip(&draft.balloons)
            .map(|(balloon, ways)| {
                let at = on_stage(balloon.at);
                Wanted {
                    shapes: ways.iter().map(|way| way.shape).collect(),
                    // In a panel that grew the balloons go up into the new room.
                    at: [at[0], (at[1] - grown).max(0)],
                    speaker: balloon.tail.filter(|_| balloon.kind != BalloonKind::Sound).map(on_stage),
                    hides: balloon.kind != BalloonKind::Sound,
                }
            })
            .collect();
        let origin = |picture: &Shown| [picture.x, grown + natural[1] - picture.bitmap.height() as i32];
        let ground = ground.zip(draft.picture.as_ref()).map(|(ground, picture)| (ground, origin(picture)));
        let stage = Stage { width: natural[0], height: natural[1] + grown, inset: INSET, ground };
        staging::place(&wanted, &stage, care).map(|places| Staged { grown, places, care })
    };
    let spoken: i32 =
        draft.balloons.iter().map(|ways| ways.iter().map(|way| way.shape.half[1]).max().unwrap_or(0) * 2 + 12).sum();
    let first = [Care::Clear, Care::Free].into_iter().find_map(|care| place(0, care));
    first
        .or_else(|| grow(spoken, |grown| place(grown, Care::Clear).or_else(|| place(grown, Care::Free))))
        .or_else(|| grow(natural[1] + spoken * 2 + 200, |grown| place(grown, Care::Hiding)))
        .or_else(|| grow(natural[1] + spoken * 4 + 2000, |grown| place(grown, Care::Crowded)))
        .unwrap_or_else(|| stacked(draft, natural[0]))
}

/// When nothing else helps, as where a single letter is wider than its panel: one under the other, above the picture. Nothing that is said
/// is ever lost.
fn stacked(draft: &Draft, width: i32) -> Staged {
    let mut grown = INSET;
    let mut places = Vec::new();
    for shape in draft.balloons.iter().filter_map(|ways| ways.first()).map(|way| way.shape) {
        places.push(Place { shape: 0, middle: [width / 2, grown + shape.half[1]] });
        grown += shape.half[1] * 2 + staging::CLEARANCE;
    }
    Staged { grown, places, care: Care::Crowded }
}

/// The least growth, in steps of eight dots, for which there is a place for all: found by ever longer steps, and then halfway back.
fn grow(most: i32, place: impl Fn(i32) -> Option<Staged>) -> Option<Staged> {
    // What no height is enough for is not tried at every height.
    let mut found = place(most / 8 * 8)?;
    let (mut failed, mut step) = (-8, 8);
    while failed + step < found.grown {
        match place(failed + step) {
            Some(staged) => found = staged,
            None => (failed, step) = (failed + step, step * 2),
        }
    }
    while found.grown - failed > 8 {
        let middle = failed + (found.grown - failed) / 16 * 8;
        match place(middle) {
            Some(staged) => found = staged,
            None => failed = middle.max(failed + 8),
        }
    }
    Some(found)
}

/// A balloon that stands far from where the writer put it is worth a word.
fn moved(bench: &Bench, draft: &Draft, panel: &ComicPanel, natural: [i32; 2], remarks: &mut Vec<Remark>) {
    for (balloon, place) in panel.balloons.iter().zip(&draft.places) {
        let at = on_stage(draft.picture.as_ref(), natural, draft.grown, balloon.at);
        let (dx, dy) = (i64::from(place.middle[0] - at[0]), i64::from(place.middle[1] - at[1]));
        let away = (dx * dx + dy * dy).isqrt() as i32;
        let beside = balloon.at.iter().any(|side| !(0..=1000).contains(side));
        if !beside && away > natural[0] / 3 && draft.grown < natural[1] / 4 {
            let mm = bench.paper.resolution.mm(Dots(away)).micrometres() / 1000;
            remarks.push(Remark {
                rule: "balloon-moved",
                level: Level::Advice,
                message: format!("{:?} stands {mm} mm from where it was put", balloon.text),
                hint: Some(
                    "there it would hide something drawn, another balloon or its tail: try another `at`, or fewer words".into(),
                ),
                span: balloon.text_span,
            });
        }
    }
}

fn finish(bench: &Bench, draft: Draft, panel: &ComicPanel, height: Dots) -> Chunk {
    let border = border(bench);
    let mut chunk = Chunk { height, ..Chunk::default() };
    let caption_height = draft.caption.as_ref().map_or(Dots(0), |caption| caption.height + border);
    // What a panel is higher than it needs stands above its stage: the picture is at the foot, and the balloons keep their place on it.
    let spare = height - draft.height;
    let inside = draft.width - border * 2;
    let top = border + caption_height;
    let natural = [inside.0, (draft.height - top - border).0 - draft.grown];
    let origin = [border.0, (top + spare).0];
    match &draft.picture {
        Some(picture) => {
            let (width, high) = (Dots(picture.bitmap.width() as i32), Dots(picture.bitmap.height() as i32));
            let (x, y) = (border + Dots(picture.x), height - border - high);
            if is_black_at_the_top(&picture.bitmap) {
                // A night goes on above its picture.
                chunk.fill(x, top, width, y - top);
            }
            chunk.marks.push(Mark::Picture { x, y, bitmap: picture.bitmap.clone(), ink: Ink::Black });
            let span = panel.picture_span;
            chunk.boxes.push(Boxed { kind: "picture", x, y, width, height: high, span, text: panel.alt.clone() });
        }
        None if draft.lacking.is_some() => {
            if let Some(mut frame) = draft.lacking {
                frame.shift(border, height - border - frame.height);
                chunk.marks.append(&mut frame.marks);
                chunk.boxes.append(&mut frame.boxes);
            }
        }
        None => ground(&mut chunk, panel, [border.0, top.0, inside.0, (height - top - border).0], natural),
    }
    for ((balloon, ways), place) in panel.balloons.iter().zip(draft.balloons).zip(&draft.places) {
        let speaker = balloon.tail.map(|tail| on_stage(draft.picture.as_ref(), natural, draft.grown, tail));
        if let Some(way) = ways.into_iter().nth(place.shape) {
            let x_height = bench.faces.vertical(&lettering::look(bench, balloon)).x_height.0;
            speak(&mut chunk, Spoken { balloon, way, middle: place.middle, speaker, x_height }, origin);
        }
    }
    let frame = Mark::Round { x: Dots(0), y: Dots(0), width: draft.width, height, radius: Dots(0), border, fill: None };
    if let Some(mut caption) = draft.caption {
        let high = caption.height;
        caption.shift(Dots(0), border);
        let white = Mark::Fill { x: border, y: border, width: draft.width - border * 2, height: high, black: false };
        chunk.marks.push(white);
        chunk.marks.append(&mut caption.marks);
        chunk.boxes.append(&mut caption.boxes);
        chunk.fill(Dots(0), border + high, draft.width, border);
    }
    if border > Dots(0) {
        chunk.marks.push(frame);
    }
    let text = draft.said.join("\n");
    chunk.boxes.insert(0, Boxed { kind: "panel", x: Dots(0), y: Dots(0), width: draft.width, height, span: panel.span, text });
    chunk
}

fn is_black_at_the_top(bitmap: &Bitmap) -> bool {
    let black = (0..bitmap.width() as i32).filter(|&x| bitmap.get(x, 0) && bitmap.get(x, 1)).count();
    black * 100 >= bitmap.width() as usize * 90
}

/// A balloon with its place.
struct Spoken<'a> {
    balloon: &'a Balloon,
    way: Way,
    middle: [i32; 2],
    speaker: Option<[i32; 2]>,
    x_height: i32,
}

/// On and off along the line of what is whispered, dots.
const DASH: [i32; 2] = [9, 6];

fn speak(chunk: &mut Chunk, spoken: Spoken, origin: [i32; 2]) {
    let Spoken { balloon, way, middle, speaker, x_height } = spoken;
    let ink = !balloon.reverse;
    let at = [origin[0] + middle[0], origin[1] + middle[1]];
    let towards = speaker.map(|speaker| [speaker[0] - middle[0], speaker[1] - middle[1]]);
    let mut shape = way.outline;
    match (balloon.kind, towards) {
        (BalloonKind::Sound, _) | (_, None) => {}
        (BalloonKind::Thought, Some(towards)) => {
            for (bubble, radius) in balloons::bubbles(way.shape.half, towards) {
                let (x, y) = (Dots(at[0] + bubble[0] - radius), Dots(at[1] + bubble[1] - radius));
                let size = Dots(radius * 2);
                let mark = |inset: i32, black: bool| Mark::Round {
                    x: x + Dots(inset),
                    y: y + Dots(inset),
                    width: size - Dots(inset * 2),
                    height: size - Dots(inset * 2),
                    radius: Dots(radius - inset),
                    border: Dots(0),
                    fill: Some(black),
                };
                chunk.marks.extend([mark(0, ink), mark(2, !ink)]);
            }
        }
        (kind, Some(towards)) => {
            if let Some(tip) = balloons::tip(way.inner, towards, 6) {
                // What is whispered does not carry: its tail is short and wipes nothing away.
                let length = tip.iter().map(|side| i64::from(side * side)).sum::<i64>().isqrt() as i32;
                let most = balloons::tip(way.inner, towards, 1).map_or(length, |_| reach_of(way.inner, towards) + x_height * 2);
                let short = if kind == BalloonKind::Whisper { length.min(most) } else { length };
                let tip = tip.map(|side| side * short * SUBDOTS / length.max(1));
                let root = if kind == BalloonKind::Shout { x_height } else { x_height * 5 / 4 };
                shape = balloons::with_tail(kind, &shape, tip, root.clamp(9, 22));
            }
        }
    }
    if !shape.is_empty() {
        shape.iter_mut().for_each(|point| (0..2).for_each(|axis| point[axis] += at[axis] * SUBDOTS));
        chunk.marks.push(Mark::Polygon { points: shape.clone(), black: !ink });
        let dash = (balloon.kind == BalloonKind::Whisper).then_some(DASH);
        balloons::strokes(&shape, dash).into_iter().for_each(|ends| edge(chunk, ends, ink));
    }
    let top = at[1] - way.lines.len() as i32 * way.pitch.0 / 2;
    for (n, line) in way.lines.into_iter().enumerate() {
        let mut set = line.chunk;
        let y = Dots(top + n as i32 * way.pitch.0) + (way.pitch - set.height) / 2;
        set.shift(Dots(at[0]) - line.width / 2 - line.left, y);
        if balloon.kind == BalloonKind::Sound {
            set.marks = set.marks.into_iter().flat_map(|mark| sounded(mark, balloon.sound, line.width.0)).collect();
        }
        chunk.marks.append(&mut set.marks);
        chunk.boxes.append(&mut set.boxes);
    }
    let [a, b] = way.shape.half;
    let (x, y) = (Dots(at[0] - a), Dots(at[1] - b));
    let (span, text) = (balloon.text_span, balloon.text.clone());
    chunk.boxes.push(Boxed { kind: "balloon", x, y, width: Dots(a * 2), height: Dots(b * 2), span, text });
}

/// Free lettering stands on the picture: it rises, and white around it and in the eyes of its letters keeps it readable.
fn sounded(mark: Mark, sound: Sound, width: i32) -> Vec<Mark> {
    let Mark::Text { x, baseline, measure, line, white } = mark else { return vec![mark] };
    let mut risen = (*line).clone();
    let (from, rise) = (risen.indent(), i32::from(sound.rise));
    for fragment in &mut risen.fragments {
        let FragmentInk::Glyphs { glyphs, .. } = &mut fragment.ink else { continue };
        for glyph in glyphs {
            let along = (fragment.x - from).0 + glyph.x - width / 2;
            glyph.y -= along * rise / 100;
        }
    }
    let line = Arc::new(risen);
    let moved = |(dx, dy): (i32, i32), white: bool| Mark::Text {
        x: x + Dots(dx),
        baseline: baseline + Dots(dy),
        measure,
        line: line.clone(),
        white,
    };
    let mut marks: Vec<Mark> = HALO.into_iter().map(|step| moved(step, !white)).collect();
    if sound.outline {
        // A black line two dots wide around white letters; its own white is outside of it.
        let around = (-2..=2).flat_map(|dx| (-2..=2).map(move |dy| (dx, dy))).filter(|(dx, dy)| dx * dx + dy * dy <= 5);
        marks.extend(around.map(|step| moved(step, white)));
        marks.push(moved((0, 0), !white));
    } else {
        marks.push(moved((0, 0), white));
    }
    marks
}

/// From the middle of a balloon to its edge in that direction, dots.
fn reach_of(half: [i32; 2], towards: [i32; 2]) -> i32 {
    let length = towards.iter().map(|side| i64::from(side * side)).sum::<i64>().isqrt().max(1);
    // Of an ellipse; near enough for the length of a tail.
    let part = |axis: usize| {
        let share = i64::from(towards[axis]) * 1000 / i64::from(half[axis].max(1));
        share * share
    };
    (length * 1000 / (part(0) + part(1)).isqrt().max(1)) as i32
}

/// Steps by which white is spread around free lettering, dots.
const HALO: [(i32, i32); 20] = [
    (-3, 0),
    (3, 0),
    (0, -3),
    (0, 3),
    (-2, -2),
    (2, -2),
    (-2, 2),
    (2, 2),
    (-5, 0),
    (5, 0),
    (0, -5),
    (0, 5),
    (-5, -2),
    (5, -2),
    (-5, 2),
    (5, 2),
    (-2, -5),
    (2, -5),
    (-2, 5),
    (2, 5),
];

/// One stroke of a line, round at its end.
fn edge(chunk: &mut Chunk, [from, to]: [[i32; 2]; 2], black: bool) {
    chunk.marks.push(Mark::Polygon { points: stroke(from, to, LINE * SUBDOTS), black });
    let (half, slant) = (LINE * SUBDOTS / 2, LINE * SUBDOTS * 17 / 48);
    let joint =
        [(half, 0), (slant, slant), (0, half), (-slant, slant), (-half, 0), (-slant, -slant), (0, -half), (slant, -slant)];
    chunk.marks.push(Mark::Polygon { points: joint.map(|(x, y)| [from[0] + x, from[1] + y]).to_vec(), black });
}

/// What is drawn behind a panel without a picture.
fn ground(chunk: &mut Chunk, panel: &ComicPanel, stage: [i32; 4], natural: [i32; 2]) {
    let [left, top, width, height] = stage;
    let mut drawn = Bitmap::new(width.max(0) as u32, height.max(0) as u32);
    match panel.ground {
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
            // They come from what is loudest.
            let loud = panel.balloons.iter().find(|balloon| matches!(balloon.kind, BalloonKind::Sound | BalloonKind::Shout));
            let from = loud.map_or([500, 600], |balloon| balloon.at);
            let from = on_stage(None, natural, height - natural[1], from);
            let (cx, cy) = (i64::from(from[0].clamp(0, width)), i64::from(from[1].clamp(0, height)));
            let inner = (i64::from(width) / 2).pow(2) + (i64::from(height) / 2).pow(2);
            for y in 0..height {
                for x in 0..width {
                    let (dx, dy) = (i64::from(x) - cx, i64::from(y) - cy);
                    let ring = dx * dx + dy * dy;
                    let turn = libm::atan2(dy as f64, dx as f64) / std::f64::consts::TAU * 36.0;
                    let part = turn - libm::floor(turn);
                    drawn.set(x, y, part < 0.16 && ring > inner / 6);
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
                span: second.text_span,
            });
        }
    }
}
