//! A comic: panels in one or two columns, captions in boxes, balloons.
//!
//! Read left to right, then down (right to left in languages written so). Too much text makes a panel higher, never its type smaller.
//! A row of panels is one piece: nothing folds it.

use std::sync::Arc;

use rayon::prelude::*;

use super::Room;
use super::balloons::{self, Dash, Disc, LINE};
use super::exposure::Subject;
use super::ground::{Above, Care, Ground as Drawn};
use super::lettering::{self, Way};
use super::panel_stage::{Cast, Shown, on_stage, stage_all};
use super::staging::Place;
use crate::bitmap::{Bitmap, Ink};
use crate::geometry::{Point, Rect, Size};
use crate::layout::context::Context;
use crate::layout::galley::{Boxed, Chunk, Galley, Mark, SUBDOTS, stroke};
use crate::layout::lacking::{Lack, frame};
use crate::layout::text::{self, Setting};
use crate::lengths::Dots;
use crate::manual::document::{
    Balloon, BalloonKind, Comic, ComicPanel, Fit, Ground, PanelHeight, Permille, Screen, Sound, Treatment,
};
use crate::manual::source::{Level, Remark, Span};
use crate::pictures::PictureInfo;
use crate::type_setting::{FragmentInk, Type};

pub fn comic(context: &Context, comic: &Comic, room: Room) -> Galley {
    let gutter = context.dots(context.style.space.gutter) * 3 / 5;
    let columns = i32::from(comic.columns.clamp(1, 2));
    let single = (room.width - gutter * (columns - 1)) / columns;
    let rows = rows(&comic.panels, columns);
    let number_of = |panel: &ComicPanel| {
        let at = comic.panels.iter().position(|other| std::ptr::eq(other, panel));
        at.filter(|_| context.style.comic.number && comic.panels.len() > 1).map(|at| at + 1)
    };
    let drafted: Vec<Vec<Draft>> = rows
        .par_iter()
        .map(|row| {
            // A panel that has a row to itself fills it.
            let widths = match row[..] {
                [left, right] => shared(context, [left, right], single),
                _ => vec![room.width; row.len()],
            };
            let draft_all = |height: Option<Dots>, most: &[Option<Dots>]| -> Vec<Draft> {
                row.par_iter()
                    .zip(&widths)
                    .zip(most)
                    .map(|((panel, &width), &most)| {
                        let row = height.filter(|_| panel.fit == Fit::Cover || panel.picture.is_none());
                        draft(context, panel, width, Stature { row, most }, gutter)
                    })
                    .collect()
            };
            let open = vec![None; row.len()];
            let mut drafts = draft_all(None, &open);
            let height = |drafts: &[Draft]| drafts.iter().map(Draft::takes).max();
            // Pictures that may be cropped are as high as their row, and so is a stage without a picture.
            if row.len() > 1 && row.iter().any(|panel| panel.fit == Fit::Cover || panel.picture.is_none()) {
                drafts = draft_all(height(&drafts), &open);
            }
            // A row that no panel of the strip can hold has its pictures smaller; its words stay as they are.
            let whole = context.panel_room.filter(|room| height(&drafts).is_some_and(|height| height > *room));
            for _ in 0..2 {
                let Some(whole) = whole.filter(|room| height(&drafts).is_some_and(|height| height > *room)) else { break };
                let most: Vec<Option<Dots>> = drafts
                    .iter()
                    .map(|draft| {
                        let over = draft.takes() - whole;
                        let left = draft.natural - over;
                        (over > Dots(0)).then_some(left.max(draft.natural * SMALLEST / 100))
                    })
                    .collect();
                drafts = draft_all(None, &most);
            }
            // Where a neighbour makes the row higher, what has no clean place may go up into that; and all that is said goes up where
            // else there would be nothing above a picture.
            if let Some(height) = height(&drafts).filter(|_| row.len() > 1) {
                for (draft, panel) in drafts.iter_mut().zip(row) {
                    let free = height - draft.takes();
                    let is_tidy = draft.places.iter().all(Place::is_tidy);
                    let cut_off = !draft.places.is_empty() && draft.picture.as_ref().is_some_and(Shown::is_cut_off);
                    if free > Dots(0) && (!is_tidy || cut_off) {
                        draft.place(context, panel, free + Dots(draft.grown), gutter);
                    }
                }
            }
            drafts
        })
        .collect();
    let mut parts = Vec::new();
    for (row, drafts) in rows.iter().zip(drafted) {
        let height = drafts.iter().map(|draft| draft.height).max().unwrap_or_default();
        // Room for what stands out of the panels above and below.
        let most = |side: fn(Out) -> Dots| drafts.iter().map(|draft| side(draft.out)).max().unwrap_or_default();
        let (head, foot) = (most(|out| out.above), most(|out| out.below));
        let mut chunk = Chunk { height: head + height + foot, ..Chunk::default() };
        let (mut x, mut said, mut remarks, mut over) = (Dots(0), Vec::new(), Vec::new(), Vec::new());
        for (mut draft, panel) in drafts.into_iter().zip(row) {
            let width = draft.width;
            said.push(draft.said.join("\n"));
            remarks.append(&mut draft.noticed);
            remarks.append(&mut draft.placed);
            let (mut part, mut crossing) = finish(context, draft, panel, height);
            if let Some(number) = number_of(panel) {
                numbered(context, &mut part, number, width, panel.span);
            }
            if context.language.is_rtl() {
                // The row will be mirrored; what a panel shows is not.
                part.mirror(width);
                crossing.iter_mut().for_each(|mark| mark.mirror(width));
            }
            part.shift(x, head);
            crossing.iter_mut().for_each(|mark| mark.shift(x, head));
            chunk.marks.append(&mut part.marks);
            chunk.boxes.append(&mut part.boxes);
            over.append(&mut crossing);
            x += width + gutter;
        }
        // What crosses a frame covers it.
        chunk.marks.append(&mut over);
        let text = said.join("\n");
        parts.push(Galley { text, chunks: vec![chunk], above: gutter, below: gutter, remarks, ..Galley::default() });
    }
    let space = context.dots(context.style.space.block);
    Galley { above: space, below: space, ..Galley::stack("comic", parts) }
}

/// A picture of a row that is higher than a panel of the strip is drawn no smaller than this, in percent.
const SMALLEST: i32 = 50;

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

/// The widths of two panels beside each other, of `single` dots each on average. Where nothing is said of their heights, the gutter stands
/// where both pictures are as high, so that neither stands under a white sky that only its neighbour needs. Captions do not count: what is
/// drawn alike is shown alike.
fn shared(context: &Context, pair: [&ComicPanel; 2], single: Dots) -> Vec<Dots> {
    let free = |panel: &ComicPanel| panel.height.is_none() && panel.fit == Fit::Whole && panel.screen != Some(Screen::None);
    let info = |panel: &ComicPanel| panel.picture.as_ref().and_then(|address| context.pictures.look(address).ok());
    let even = vec![single; 2];
    if !pair.into_iter().all(free) {
        return even;
    }
    let [Some(left), Some(right)] = pair.map(info) else { return even };
    let frame = border(context) * 2;
    let high = |info: &PictureInfo, width: Dots| natural_height(info, width - frame);
    let least = |panel: &ComicPanel| single * if panel.balloons.is_empty() { NARROW } else { NARROW_SPOKEN } / 100;
    let (mut narrow, mut wide) = (least(pair[0]), single * 2 - least(pair[1]));
    while wide - narrow > Dots(1) {
        let middle = (narrow + wide) / 2;
        if high(&left, middle) > high(&right, single * 2 - middle) { wide = middle } else { narrow = middle }
    }
    if (narrow - single).0.abs() * 100 < single.0 * EVEN { even } else { vec![narrow, single * 2 - narrow] }
}

/// The narrowest of two panels in percent of their mean: without a word in it, and with one.
const NARROW: i32 = 66;
const NARROW_SPOKEN: i32 = 76;

/// Gutters that would stand as near to the middle of their row as this, in percent of a panel, stand in the middle: a straight line down
/// the page.
const EVEN: i32 = 3;

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
    /// Height of the stage before it grew.
    natural: Dots,
    /// How much of its height is no stage: caption and frame.
    taken: Dots,
    /// What balloons may stand on.
    ground: Option<Drawn>,
    /// How far lettering stands out of the frame.
    out: Out,
    /// What was noticed of its parts, and of their places.
    noticed: Vec<Remark>,
    placed: Vec<Remark>,
}

#[derive(Clone, Copy, Default)]
struct Out {
    above: Dots,
    below: Dots,
}

impl Draft {
    fn takes(&self) -> Dots {
        self.height + self.out.above + self.out.below
    }

    /// Places its balloons, anew where it was done before. By `free` it may grow at no cost.
    fn place(&mut self, context: &Context, panel: &ComicPanel, free: Dots, gutter: Dots) {
        let border = border(context);
        let natural = Size::new((self.width - border * 2).0, self.natural.0);
        let (picture, ground) = (self.picture.as_ref(), self.ground.as_ref());
        let cast = Cast { picture, ground, balloons: &self.balloons, captioned: self.caption.is_some() };
        let staged = stage_all(&cast, panel, natural, border, free);
        self.grown = staged.grown;
        self.height = self.natural + self.taken + Dots(staged.grown);
        self.places = staged.places;
        self.out = Out::default();
        for ((_, ways), place) in
            panel.balloons.iter().zip(&self.balloons).zip(&self.places).filter(|((balloon, _), _)| balloon.sound.cross)
        {
            let half = ways[place.shape].shape.half.height;
            let stage = Dots(self.grown) + self.natural;
            let (above, below) = (Dots(half - place.middle.y), Dots(place.middle.y + half) - stage);
            self.out.above = self.out.above.max(above - border - gutter / 2);
            self.out.below = self.out.below.max(below - border - gutter / 2);
        }
        let mut remarks = Vec::new();
        hidden(self, panel, &mut remarks);
        if staged.care == Care::Crowded && panel.balloons.len() > 1 {
            remarks.push(Remark {
                rule: "balloons-crowded",
                level: Level::Warning,
                message: "this panel has more to say than room: tails run under balloons, or meet".into(),
                hint: Some("take a balloon out, or let the panel span both columns".into()),
                span: panel.span,
            });
        }
        // What would be read too early is moved for that, and said already.
        if !self.noticed.iter().any(|remark| remark.rule == "balloons-out-of-order") {
            moved(context, self, panel, natural, &mut remarks);
        }
        self.placed = remarks;
    }
}

fn border(context: &Context) -> Dots {
    let border = context.line(context.style.comic.border);
    if border > Dots(0) { border.max(Dots(2)) } else { border }
}

/// What is known of a panel's height before it is drafted.
#[derive(Clone, Copy, Default)]
struct Stature {
    /// Of its row, where it is as high as that.
    row: Option<Dots>,
    /// The height that its stage may have before it grows.
    most: Option<Dots>,
}

/// `gutter` is the white beside it.
fn draft(context: &Context, panel: &ComicPanel, width: Dots, stature: Stature, gutter: Dots) -> Draft {
    let mut remarks = Vec::new();
    let border = border(context);
    let inside = width - border * 2;
    let mut said = Vec::new();
    let caption = panel.caption.as_ref().map(|words| {
        let mut set = caption(context, panel, words, inside);
        remarks.append(&mut set.remarks);
        said.push(set.text);
        set.chunks.pop().unwrap_or_default()
    });
    if !panel.alt.is_empty() {
        said.push(panel.alt.clone());
    }
    let taken = caption.as_ref().map_or(Dots(0), |caption| caption.height + border) + border * 2;
    let asked = stature.row.or_else(|| match panel.height? {
        PanelHeight::Length(height) => Some(context.paper.resolution.dots(height)),
        PanelHeight::Aspect([wide, high]) => Some(width * i32::from(high) / i32::from(wide.max(1))),
    });
    let asked = asked.map(|height| (height - taken).max(Dots(16)));
    let asked = stature.most.map_or(asked, |most| Some(asked.map_or(most, |asked| asked.min(most))));
    let mut lacking = None;
    let picture = panel.picture.as_ref().and_then(|address| match shown(context, panel, address, inside, asked, &mut remarks) {
        Ok(shown) => Some(shown),
        Err(error) => {
            let lack = Lack { name: address, why: &error.why(), span: panel.picture_span };
            let (frame, more) = frame(context, inside, inside * 3 / 4, lack);
            remarks.extend(more);
            remarks.push(error.remark(panel.picture_span));
            lacking = Some(frame);
            None
        }
    });
    let set: Vec<(Vec<Way>, Vec<Remark>)> =
        panel.balloons.par_iter().map(|balloon| lettering::ways(context, balloon, inside.0)).collect();
    let (balloons, noticed): (Vec<Vec<Way>>, Vec<Vec<Remark>>) = set.into_iter().unzip();
    remarks.extend(noticed.into_iter().flatten());
    said.extend(panel.balloons.iter().map(|balloon| balloon.text.clone()));
    out_of_order(context, panel, &mut remarks);
    let drawn = picture.as_ref().map(|picture| Dots(picture.bitmap.height() as i32));
    let drawn = drawn.or(lacking.as_ref().map(|frame| frame.height));
    let natural = drawn.unwrap_or(Dots(0)).max(asked.unwrap_or(if drawn.is_some() { Dots(0) } else { inside * 3 / 5 }));
    let ground = (!balloons.is_empty()).then(|| picture.as_ref().map(|picture| picture.bitmap.as_ref())).flatten();
    let ground = match context.style.comic.number && !balloons.is_empty() {
        true => Some(Drawn::new(&with_number(context, ground, Size::new(inside, natural)))),
        false => ground.map(Drawn::new),
    };
    let mut draft = Draft {
        width,
        height: natural + taken,
        caption,
        picture,
        lacking,
        grown: 0,
        balloons,
        places: Vec::new(),
        said,
        natural,
        taken,
        ground,
        out: Out::default(),
        noticed: remarks,
        placed: Vec::new(),
    };
    draft.place(context, panel, Dots(0), gutter);
    draft
}

fn caption(context: &Context, panel: &ComicPanel, words: &str, inside: Dots) -> Galley {
    let padding = Dots(5);
    let setting = Setting::label("caption", lettering::hand(context), inside - padding * 2, panel.caption_span);
    let mut set = text::plain(context, words, &setting).solid().padded(Dots(3), Dots(3));
    if context.language.is_rtl() {
        // Inside a panel everything stands as it will be seen.
        set.mirror(setting.width);
    }
    set.shift(border(context) + padding);
    set
}

/// A picture that is higher than this many hundredths of its width would fill a metre of paper.
const HIGHEST: i64 = 250;

/// How high a picture is that fills a panel whose frame is `inside` dots apart, dots.
fn natural_height(info: &PictureInfo, inside: Dots) -> i64 {
    let inside = i64::from(inside.0);
    (inside * i64::from(info.height) / i64::from(info.width.max(1))).clamp(1, inside.max(1) * HIGHEST / 100)
}

/// The picture of a panel in dots. It keeps its proportions; one that must not be so high stands in the middle, or is cropped.
fn shown(
    context: &Context,
    panel: &ComicPanel,
    address: &str,
    inside: Dots,
    asked: Option<Dots>,
    remarks: &mut Vec<Remark>,
) -> Result<Shown, crate::pictures::Error> {
    let info = context.pictures.look(address)?;
    let crop = asked.filter(|_| panel.fit == Fit::Cover).map(|asked| covering(&info, inside, asked));
    let subject =
        Subject { picture: address, span: panel.picture_span, crop, screen: panel.screen, treatment: Treatment::default() };
    let Size { width: across, height: down } = subject.pixels(&info);
    let most = asked.map_or(i64::from(inside.0) * HIGHEST / 100, |asked| i64::from(asked.0)).max(1);
    let size = subject.own_dots(&info, Some(inside), inside).filter(|size| size.height <= most).unwrap_or_else(|| {
        let high = (i64::from(inside.0) * down / across).max(1);
        if high > most { Size::new((most * across / down).max(1), most) } else { Size::new(i64::from(inside.0), high) }
    });
    let mut exposed = subject.expose(context, size.map(|side| Dots(side as i32)))?;
    remarks.append(&mut exposed.remarks);
    let x = (inside.0 - exposed.bitmap.width() as i32) / 2;
    Ok(Shown { bitmap: exposed.bitmap, x, crop: crop.unwrap_or(Rect::new(0, 0, 1000, 1000)) })
}

/// The middle of a picture, as much of it as fills a stage.
fn covering(info: &PictureInfo, width: Dots, height: Dots) -> Rect<Permille> {
    let (across, down) = (i64::from(info.width.max(1)), i64::from(info.height.max(1)));
    let (wide, high) = (i64::from(width.0.max(1)), i64::from(height.0.max(1)));
    // How much of the picture's width is shown when all of its height is, and the other way round.
    let share_w = (1000 * down * wide / (high * across)).clamp(1, 1000) as i32;
    let share_h = (1000 * across * high / (wide * down)).clamp(1, 1000) as i32;
    Rect::new((1000 - share_w) / 2, (1000 - share_h) / 2, share_w, share_h)
}

/// A balloon that hides something drawn, or comes too near to it, though every place was tried: with the tail, or without.
fn hidden(draft: &Draft, panel: &ComicPanel, remarks: &mut Vec<Remark>) {
    // A panel without a picture has nothing to hide.
    let shown = panel.balloons.iter().zip(&draft.places).filter(|_| draft.picture.is_some());
    for (balloon, place) in shown {
        let what = match (place.care > Care::Clear, place.crossed) {
            (true, _) => "stands on or too near to something drawn",
            (false, true) => "has a tail that runs over something drawn",
            (false, false) => continue,
        };
        remarks.push(Remark {
            rule: "balloon-over-drawing",
            level: Level::Advice,
            message: format!("{:?} {what}", balloon.text),
            hint: Some("no place near it is free: try another `at`, fewer words, or leave room for it in the drawing".into()),
            span: balloon.text_span,
        });
    }
}

/// A balloon that stands far from where the writer put it is worth a word.
fn moved(context: &Context, draft: &Draft, panel: &ComicPanel, natural: Size<i32>, remarks: &mut Vec<Remark>) {
    for (balloon, place) in panel.balloons.iter().zip(&draft.places) {
        let at = on_stage(draft.picture.as_ref(), natural, draft.grown, balloon.at);
        let away = (place.middle - at).wide().length() as i32;
        let beside = balloon.at.to_array().iter().any(|side| !(0..=1000).contains(side));
        if !beside && away > natural.width / 3 && draft.grown < natural.height / 4 {
            let mm = context.paper.resolution.mm(Dots(away)).micrometres() / 1000;
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

/// The panel as high as its row; and the marks that cross its frame.
fn finish(context: &Context, draft: Draft, panel: &ComicPanel, height: Dots) -> (Chunk, Vec<Mark>) {
    let border = border(context);
    let (mut chunk, mut over) = (Chunk { height, ..Chunk::default() }, Vec::new());
    let caption_height = draft.caption.as_ref().map_or(Dots(0), |caption| caption.height + border);
    // What a panel is higher than it needs stands above its stage: the picture is at the foot, and the balloons keep their place on it.
    let spare = height - draft.height;
    let inside = draft.width - border * 2;
    let top = border + caption_height;
    let natural = Size::new(inside.0, (draft.height - top - border).0 - draft.grown);
    let origin = Point::new(border.0, (top + spare).0);
    match &draft.picture {
        Some(picture) => {
            let (width, high) = (Dots(picture.bitmap.width() as i32), Dots(picture.bitmap.height() as i32));
            let (x, y) = (border + Dots(picture.x), height - border - high);
            match Above::of(&picture.bitmap) {
                _ if y <= top => {}
                Above::White => {}
                // A night goes on above its picture.
                Above::Black => chunk.fill(x, top, width, y - top),
                // What is cut off there has an edge.
                Above::Shown => chunk.fill(x, y - border, width, border),
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
        None => ground(&mut chunk, panel, Rect::new(border.0, top.0, inside.0, (height - top - border).0), natural),
    }
    let crowded = draft.places.iter().any(|place| place.care == Care::Crowded);
    let spoken: Vec<Spoken> = panel
        .balloons
        .iter()
        .zip(draft.balloons)
        .zip(&draft.places)
        .filter_map(|((balloon, ways), place)| {
            let speaker =
                place.aim.or_else(|| balloon.tail.map(|tail| on_stage(draft.picture.as_ref(), natural, draft.grown, tail)));
            let at = origin + place.middle;
            Some(Spoken { balloon, way: ways.into_iter().nth(place.shape)?, at, towards: speaker.map(|to| to - place.middle) })
        })
        .collect();
    // All outlines first: nothing covers what is said.
    spoken.iter().for_each(|spoken| outlined(&mut chunk, spoken));
    if crowded {
        spoken.iter().for_each(|spoken| cleared(&mut chunk, spoken));
    }
    for spoken in spoken {
        let (before, cross) = (chunk.marks.len(), spoken.balloon.sound.cross);
        lettered(&mut chunk, spoken);
        if cross {
            over.extend(chunk.marks.drain(before..));
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
    (chunk, over)
}

/// What is drawn on a stage, with the corner that its number will take.
fn with_number(context: &Context, drawn: Option<&Bitmap>, stage: Size<Dots>) -> Bitmap {
    let mut seen = drawn.cloned().unwrap_or_else(|| Bitmap::new(stage.width.count(), stage.height.count()));
    let cap = context.faces.vertical(&Type { size: context.style.type_.minimum.0, ..lettering::hand(context) }).cap_height.0;
    let side = cap * 2 + 12;
    let (width, height) = (seen.width() as i32, seen.height() as i32);
    seen.fill(width - side, height - side, side, side, true);
    seen
}

/// The number of a panel, on white in its lower corner where reading ends.
fn numbered(context: &Context, panel: &mut Chunk, number: usize, width: Dots, span: Span) {
    let look = Type { size: context.style.type_.minimum.0, ..lettering::hand(context) };
    let text = number.to_string();
    let line = text::one_line(context, &text, look, span, &mut Vec::new());
    let cap = context.faces.vertical(&look).cap_height;
    let (air, thick) = (Dots(4), Dots(2));
    let (wide, high) = (line.width.max(cap) + air * 2 + thick * 2, cap + air * 2 + thick * 2);
    let (x, y) = (width - wide, panel.height - high);
    let (radius, fill) = (Dots(0), Some(false));
    panel.marks.push(Mark::Round { x, y, width: wide, height: high, radius, border: thick, fill });
    panel.boxes.push(Boxed { kind: "panel-number", x, y, width: wide, height: high, span, text });
    let (at, left) = (x + (wide - line.width) / 2, line.indent());
    panel.marks.push(Mark::line(at - left, y + thick + air + cap, line, false));
}

/// A balloon with its place.
struct Spoken<'a> {
    balloon: &'a Balloon,
    way: Way,
    /// Its middle in the panel.
    at: Point<i32>,
    /// From there to who speaks.
    towards: Option<Point<i32>>,
}

/// On and off along the line of what is whispered, dots.
const DASH: Dash = Dash { on: 9, off: 6 };

/// The outline of a balloon with its tail.
fn outlined(chunk: &mut Chunk, spoken: &Spoken) {
    let Spoken { balloon, way, at, towards } = spoken;
    let x_height = way.x_height;
    let ink = !balloon.reverse;
    let mut shape = way.outline.clone();
    match (balloon.kind, *towards) {
        (BalloonKind::Sound, _) | (_, None) => {}
        (BalloonKind::Thought, Some(towards)) => {
            for Disc { middle, radius } in balloons::bubbles(way.shape.half, towards) {
                let (x, y) = (Dots(at.x + middle.x - radius), Dots(at.y + middle.y - radius));
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
                let length = tip.wide().length() as i32;
                let most = balloons::tip(way.inner, towards, 1).map_or(length, |_| reach_of(way.inner, towards) + x_height * 2);
                let short = if kind == BalloonKind::Whisper { length.min(most) } else { length };
                let tip = tip.map(|side| side * short * SUBDOTS / length.max(1));
                shape = balloons::with_tail(kind, &shape, tip, way.shape.root);
                // A broken line is the same on both sides of the tip.
                let first = shape.iter().position(|&point| point == tip).unwrap_or(0);
                shape.rotate_left(if kind == BalloonKind::Whisper { first } else { 0 });
            }
        }
    }
    if !shape.is_empty() {
        shape.iter_mut().for_each(|point| *point += *at * SUBDOTS);
        chunk.marks.push(Mark::Polygon { points: shape.clone(), black: !ink });
        let dash = (balloon.kind == BalloonKind::Whisper).then_some(DASH);
        balloons::strokes(&shape, dash).into_iter().for_each(|ends| edge(chunk, ends, ink));
    }
}

/// The ground of a balloon within its line: other balloons' tails run under it.
fn cleared(chunk: &mut Chunk, spoken: &Spoken) {
    let Spoken { balloon, way, at, .. } = spoken;
    let half = way.inner.map(|side| (side - LINE).max(1));
    let mut points = if way.outline.is_empty() { Vec::new() } else { balloons::outline(BalloonKind::Speech, half, way.x_height) };
    points.iter_mut().for_each(|point| *point += *at * SUBDOTS);
    if !points.is_empty() {
        chunk.marks.push(Mark::Polygon { points, black: balloon.reverse });
    }
}

/// What is said, within its outline.
fn lettered(chunk: &mut Chunk, spoken: Spoken) {
    let Spoken { balloon, way, at, .. } = spoken;
    let top = at.y - way.lines.len() as i32 * way.pitch.0 / 2;
    for (n, line) in way.lines.into_iter().enumerate() {
        let mut set = line.chunk;
        let y = Dots(top + n as i32 * way.pitch.0) + (way.pitch - set.height) / 2;
        set.shift(Dots(at.x) - line.width / 2 - line.left, y);
        if balloon.kind == BalloonKind::Sound {
            let reach = lettering::halo(way.x_height);
            set.marks = set.marks.into_iter().flat_map(|mark| sounded(mark, balloon.sound, line.width.0, reach)).collect();
        }
        chunk.marks.append(&mut set.marks);
        chunk.boxes.append(&mut set.boxes);
    }
    let Size { width: a, height: b } = way.shape.half;
    let (x, y) = (Dots(at.x - a), Dots(at.y - b));
    let (span, text) = (balloon.text_span, balloon.text.clone());
    chunk.boxes.push(Boxed { kind: "balloon", x, y, width: Dots(a * 2), height: Dots(b * 2), span, text });
}

/// Free lettering stands on the picture: it rises, and white `reach` dots around it and in the eyes of its letters keeps it readable.
fn sounded(mark: Mark, sound: Sound, width: i32, reach: i32) -> Vec<Mark> {
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
    let moved = |step: Point<i32>, white: bool| Mark::Text {
        x: x + Dots(step.x),
        baseline: baseline + Dots(step.y),
        measure,
        line: line.clone(),
        white,
    };
    let mut marks: Vec<Mark> = around(reach).into_iter().map(|step| moved(step, !white)).collect();
    if sound.outline {
        // A black line two dots wide around white letters; its own white is outside of it.
        let around = (-2..=2).flat_map(|dx| (-2..=2).map(move |dy| Point::new(dx, dy))).filter(|step| step.dot(*step) <= 5);
        marks.extend(around.map(|step| moved(step, white)));
        marks.push(moved(Point::new(0, 0), !white));
    } else {
        marks.push(moved(Point::new(0, 0), white));
    }
    marks
}

/// From the middle of a balloon to its edge in that direction, dots.
fn reach_of(half: Size<i32>, towards: Point<i32>) -> i32 {
    let length = towards.wide().length().max(1);
    // Of an ellipse; near enough for the length of a tail.
    let share = |towards: i32, half: i32| i64::from(towards) * 1000 / i64::from(half.max(1));
    let part = Point::new(share(towards.x, half.width), share(towards.y, half.height));
    (length * 1000 / part.length().max(1)) as i32
}

/// Steps by which white is spread around free lettering, dots: rings three dots apart, no wider than a thin stroke between two steps.
fn around(reach: i32) -> Vec<Point<i32>> {
    let ring = |radius: i32| {
        let far = i64::from(radius);
        let inside = move |x: i64, y: i64| x * x + y * y <= far * far + far;
        // The dots of a disc's edge, every other one.
        let edge = (-far..=far)
            .flat_map(move |y| (-far..=far).map(move |x| (x, y)))
            .filter(move |&(x, y)| inside(x, y) && !(inside(x + x.signum(), y) && inside(x, y + y.signum())) && (x + y) % 2 == 0);
        edge.map(|(x, y)| Point::new(x as i32, y as i32))
    };
    (1..=reach).rev().step_by(3).flat_map(ring).collect()
}

/// One stroke of a line, round at its end.
fn edge(chunk: &mut Chunk, [from, to]: [Point<i32>; 2], black: bool) {
    chunk.marks.push(Mark::Polygon { points: stroke(from, to, LINE * SUBDOTS), black });
    let (half, slant) = (LINE * SUBDOTS / 2, LINE * SUBDOTS * 17 / 48);
    let joint =
        [(half, 0), (slant, slant), (0, half), (-slant, slant), (-half, 0), (-slant, -slant), (0, -half), (slant, -slant)];
    chunk.marks.push(Mark::Polygon { points: joint.map(|(x, y)| from + Point::new(x, y)).to_vec(), black });
}

/// What is drawn behind a panel without a picture.
fn ground(chunk: &mut Chunk, panel: &ComicPanel, stage: Rect<i32>, natural: Size<i32>) {
    let Rect { x: left, y: top, width, height } = stage;
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
            let from = loud.map_or(Point::new(500, 600), |balloon| balloon.at);
            let from = on_stage(None, natural, height - natural.height, from);
            let (cx, cy) = (i64::from(from.x.clamp(0, width)), i64::from(from.y.clamp(0, height)));
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
fn out_of_order(context: &Context, panel: &ComicPanel, remarks: &mut Vec<Remark>) {
    let across = |balloon: &Balloon| if context.language.is_rtl() { 1000 - balloon.at.x } else { balloon.at.x };
    for pair in panel.balloons.windows(2).filter(|pair| pair.iter().all(|balloon| balloon.kind != BalloonKind::Sound)) {
        let (first, second) = (&pair[0], &pair[1]);
        let above = second.at.y + 120 < first.at.y;
        let beside = (second.at.y - first.at.y).abs() <= 120 && across(second) < across(first);
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
