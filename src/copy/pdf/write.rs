//! The pages as a file: slabs are drawn where they were placed, and what belongs to the structure is said to.

use std::collections::BTreeMap;

use krilla::action::{Action, LinkAction};
use krilla::annotation::{Annotation, LinkAnnotation, Target};
use krilla::color::rgb;
use krilla::configure::validate::Accessibility;
use krilla::configure::{ConfigurationBuilder, PdfVersion};
use krilla::destination::XyzDestination;
use krilla::error::KrillaError;
use krilla::geom::{Point, Rect, Size, Transform};
use krilla::metadata::{Metadata, TextDirection};
use krilla::outline::{Outline, OutlineNode};
use krilla::page::{Page, PageSettings};
use krilla::paint::{Fill, FillRule, LineJoin, Stroke};
use krilla::surface::Surface;
use krilla::tagging::{Artifact, ArtifactType, ContentTag, SpanTag};
use krilla::text::{GlyphId, KrillaGlyph};
use krilla::{Document, SerializeSettings};

use super::drawing::{rounded, tick};
use super::flow::{Flow, Link};
use super::sheets::Placed;
use super::slab::{Colour, Ink, Mark, Run, Slab};
use super::tags::{Leaf, Tags};
use super::text::{Align, Look, Manner, Part, Setter};
use super::{Body, INK, LINE, QUIET};
use crate::language::Language;

/// What a reader's program is told of the whole.
pub struct Facts {
    pub title: String,
    pub purpose: Option<String>,
    pub maker: Option<String>,
    pub language: String,
    /// What stands at the foot of every page.
    pub foot: String,
    /// By which the file is known again.
    pub keywords: Vec<String>,
}

/// Strokes of a heavier twin grow by so much of the size.
const HEAVIER: f32 = 0.028;
/// From the foot of the page to the baseline of what stands there.
const FOOT: f32 = 32.0;

/// Where each named place is: page, and point on it.
type Places = BTreeMap<String, (usize, f32, f32)>;

struct Drawing<'a> {
    body: Body,
    setter: &'a Setter,
    language: Language,
    tags: Tags,
    links: Vec<Link>,
    places: Places,
}

/// A link on the page under way.
struct Led {
    leaf: Leaf,
    rect: [f32; 4],
    link: usize,
}

/// # Errors
/// In words, what cannot stand in such a PDF.
pub fn write(flow: Flow, placed: &[Placed], facts: &Facts) -> Result<Vec<u8>, String> {
    let Flow { slabs, links, tags, body, setter, language, .. } = flow;
    let configuration = ConfigurationBuilder::new()
        .with_version(PdfVersion::Pdf17)
        .with_accessibility_validator(Accessibility::UA1)
        .finish()
        .map_err(|_| "this version of PDF has no such structure".to_owned())?;
    let mut document =
        Document::new_with(SerializeSettings { configuration, enable_tagging: true, ..SerializeSettings::default() });
    let mut drawing = Drawing { body, setter, language, tags, links, places: places(&slabs, placed, &body) };
    let count = placed.iter().map(|placed| placed.page + 1).max().unwrap_or(1);
    let mut next = placed.iter().peekable();
    for page in 0..count {
        let settings = PageSettings::from_wh(body.width, body.page_height).ok_or("no such page")?;
        let mut sheet = document.start_page_with(settings);
        let mut led = Vec::new();
        let mut surface = sheet.surface();
        while let Some(placed) = next.next_if(|placed| placed.page == page) {
            drawing.slab(&mut surface, &slabs[placed.slab], placed, &mut led);
        }
        drawing.foot(&mut surface, page, count, &facts.foot);
        surface.finish();
        drawing.lead(&mut sheet, led);
        sheet.finish();
    }
    document.set_outline(outline(&slabs, placed, &body, &facts.title));
    let direction = if language.is_rtl() { TextDirection::RightToLeft } else { TextDirection::LeftToRight };
    let mut metadata = Metadata::new().title(facts.title.clone()).language(facts.language.clone()).text_direction(direction);
    metadata = metadata.creator(crate::copy::MAKER.to_owned()).producer("Stripling".to_owned());
    metadata = metadata.keywords(facts.keywords.clone());
    if let Some(purpose) = &facts.purpose {
        metadata = metadata.description(purpose.clone());
    }
    if let Some(maker) = &facts.maker {
        metadata = metadata.authors(vec![maker.clone()]);
    }
    document.set_metadata(metadata);
    document.set_tag_tree(drawing.tags.tree(facts.language.clone()));
    document.finish().map_err(|error| words(&error))
}

/// Where a slab's top is on its page.
fn corner(placed: &Placed, body: &Body) -> (f32, f32) {
    (body.left + placed.x, body.top + placed.y)
}

fn places(slabs: &[Slab], placed: &[Placed], body: &Body) -> Places {
    let mut places = Places::new();
    for placed in placed.iter().filter(|placed| !placed.again) {
        let (x, y) = corner(placed, body);
        for (name, down) in &slabs[placed.slab].anchors {
            places.entry(name.clone()).or_insert((placed.page, x, y + down * placed.scale));
        }
    }
    places
}

/// Sections as bookmarks, those below others inside them.
fn outline(slabs: &[Slab], placed: &[Placed], body: &Body, title: &str) -> Outline {
    let mut found: Vec<(usize, String, XyzDestination)> = Vec::new();
    for placed in placed.iter().filter(|placed| !placed.again) {
        if let Some((level, words)) = &slabs[placed.slab].bookmark {
            let (_, y) = corner(placed, body);
            let words = if words.trim().is_empty() { "\u{2026}" } else { words };
            let place = XyzDestination::new(placed.page, Point::from_xy(0.0, (y - 12.0).max(0.0)));
            found.push((*level, words.to_owned(), place));
        }
    }
    if found.is_empty() {
        found.push((1, title.to_owned(), XyzDestination::new(0, Point::from_xy(0.0, 0.0))));
    }
    let mut outline = Outline::new();
    // The title is the document itself: its sections stand at the top.
    let mut at = 0;
    while at < found.len() {
        let node = branch(&found, &mut at);
        outline.push_child(node);
    }
    outline
}

fn branch(found: &[(usize, String, XyzDestination)], at: &mut usize) -> OutlineNode {
    let (level, words, place) = &found[*at];
    let mut node = OutlineNode::new(words.clone(), place.clone());
    *at += 1;
    while *at < found.len() && found[*at].0 > (*level).max(2) {
        let inner = branch(found, at);
        node.push_child(inner);
    }
    node
}

impl Drawing<'_> {
    fn slab(&mut self, surface: &mut Surface, slab: &Slab, placed: &Placed, led: &mut Vec<Led>) {
        let (x, y) = corner(placed, &self.body);
        let scaled = placed.scale < 1.0;
        if scaled {
            let (scale, rest) = (placed.scale, 1.0 - placed.scale);
            surface.push_transform(&Transform::from_row(scale, 0.0, 0.0, scale, x * rest, y * rest));
        }
        if !slab.sides.is_empty() {
            surface.start_tagged(layout());
            for side in &slab.sides {
                let gap = if side.goes_on { placed.gap } else { 0.0 };
                let rect = [x + side.x, y - gap - 0.05, side.width, slab.height + gap + 0.1];
                fill(surface, rounded(rect, 0.0), side.colour);
            }
            surface.end_tagged();
        }
        // What stands together in one element and on one line is one piece of content.
        let mut at = 0;
        while at < slab.marks.len() {
            let leaf = slab.marks[at].leaf;
            let instead = |mark: &Mark| matches!(&mark.ink, Ink::Text(run) if run.instead);
            let line = |mark: &Mark| matches!(mark.ink, Ink::Text(_)).then_some(mark.y);
            let apart = |mark: &Mark| {
                let another = line(&slab.marks[at]).zip(line(mark)).is_some_and(|(one, other)| one != other);
                mark.leaf != leaf || another || instead(mark) || instead(&slab.marks[at])
            };
            let end = (at + 1..slab.marks.len()).find(|&n| apart(&slab.marks[n])).unwrap_or(slab.marks.len());
            let marks = &slab.marks[at..end];
            at = end;
            let inked = marks.iter().any(|mark| !matches!(mark.ink, Ink::Link { .. }));
            if inked {
                let tag = match &marks[0].ink {
                    _ if leaf == Leaf::NONE || placed.again => layout(),
                    Ink::Tick { ticked, .. } => {
                        ContentTag::Span(SpanTag::empty().with_actual_text(Some(if *ticked { "\u{2611}" } else { "\u{2610}" })))
                    }
                    Ink::Text(run) if run.instead => ContentTag::Span(SpanTag::empty().with_actual_text(Some(&run.text))),
                    _ => ContentTag::Other,
                };
                let identifier = surface.start_tagged(tag);
                marks.iter().for_each(|mark| self.mark(surface, mark, x, y));
                surface.end_tagged();
                if leaf != Leaf::NONE && !placed.again {
                    self.tags.drawn(leaf, identifier);
                }
            }
            if !placed.again {
                for mark in marks {
                    if let Ink::Link { link, width, height } = mark.ink {
                        let [dx, dy, width, height] = [mark.x, mark.y, width, height].map(|side| side * placed.scale);
                        led.push(Led { leaf, rect: [x + dx, y + dy, width, height], link });
                    }
                }
            }
        }
        if scaled {
            surface.pop();
        }
    }

    fn mark(&self, surface: &mut Surface, mark: &Mark, x: f32, y: f32) {
        let (x, y) = (x + mark.x, y + mark.y);
        match &mark.ink {
            Ink::Text(run) => text(surface, run, x, y, [x - mark.x, y - mark.y]),
            Ink::Path { path, fill, stroke } => {
                surface.push_transform(&Transform::from_translate(x, y));
                surface.set_fill(fill.map(filled));
                surface.set_stroke(stroke.map(|(colour, width)| Stroke {
                    paint: rgb_of(colour).into(),
                    width,
                    ..Stroke::default()
                }));
                surface.draw_path(path);
                surface.pop();
            }
            Ink::Drawing { drawing, width, height } => drawing.draw(surface, [x, y, *width, *height]),
            Ink::Pixels { image, width, height, round } => {
                let Some(size) = Size::from_wh(*width, *height) else { return };
                surface.push_transform(&Transform::from_translate(x, y));
                let clip = rounded([0.0, 0.0, *width, *height], *round);
                if let Some(clip) = &clip {
                    surface.push_clip_path(clip, &FillRule::NonZero);
                }
                surface.draw_image(image.clone(), size);
                if clip.is_some() {
                    surface.pop();
                }
                surface.pop();
            }
            Ink::PageOf { place, right, size } => {
                let Some((page, ..)) = self.places.get(place) else { return };
                let look = Look { size: *size, colour: QUIET, ..plain() };
                if let Some(set) = self.setter.one(&[Part::Text((page + 1).to_string(), look)], Language::English) {
                    let left = if *right { x - set.width } else { x };
                    set.marks.iter().for_each(|mark| self.mark(surface, mark, left, y));
                }
            }
            Ink::Tick { ticked, size } => {
                surface.push_transform(&Transform::from_translate(x, y));
                for (path, width) in tick(*ticked, *size).into_iter().zip([0.9, 1.4]) {
                    if let Some(path) = path {
                        surface.set_fill(None);
                        surface.set_stroke(Some(Stroke { paint: rgb_of(INK).into(), width, ..Stroke::default() }));
                        surface.draw_path(&path);
                    }
                }
                surface.pop();
            }
            Ink::Link { .. } => {}
        }
    }

    /// The line at the foot of a page, and its number.
    fn foot(&self, surface: &mut Surface, page: usize, count: usize, said: &str) {
        let body = &self.body;
        let y = body.page_height - FOOT;
        surface.start_tagged(layout());
        fill(surface, rounded([body.left, y - 13.0, body.full, 0.6], 0.0), LINE);
        surface.end_tagged();
        let look = Look { size: 7.6, colour: QUIET, ..plain() };
        let rtl = self.language.is_rtl();
        let number = self.setter.one(&[Part::Text(format!("{}/{count}", page + 1), look)], Language::English);
        let number = number.filter(|_| count > 1);
        let room = body.full - number.as_ref().map_or(0.0, |number| number.width + 12.0);
        let manner = Manner { width: room, language: self.language, align: Align::Start, balanced: false, hyphenate: false };
        if let Some(line) = self.setter.set(&[Part::Text(said.to_owned(), look)], &manner).first() {
            surface.start_tagged(ContentTag::Artifact(Artifact::with_kind(ArtifactType::Footer)));
            let x = if rtl { body.left + body.full - room } else { body.left };
            line.marks.iter().for_each(|mark| self.mark(surface, mark, x, y));
            surface.end_tagged();
        }
        if let Some(number) = number {
            surface.start_tagged(ContentTag::Artifact(Artifact::with_kind(ArtifactType::PageNumber)));
            let x = if rtl { body.left } else { body.left + body.full - number.width };
            number.marks.iter().for_each(|mark| self.mark(surface, mark, x, y));
            surface.end_tagged();
        }
    }

    /// Makes live what leads elsewhere.
    fn lead(&mut self, page: &mut Page, led: Vec<Led>) {
        for Led { leaf, rect: [x, y, width, height], link } in led {
            let Link { target, words } = &self.links[link];
            let target_of = match target.strip_prefix('#') {
                Some(place) => {
                    let Some(&(page, _, y)) = self.places.get(place) else { continue };
                    let point = Point::from_xy(0.0, (y - 12.0).max(0.0));
                    Target::Destination(XyzDestination::new(page, point).into())
                }
                None => Target::Action(Action::Link(LinkAction::new(target.clone()))),
            };
            let Some(rect) = Rect::from_xywh(x, y, width.max(1.0), height.max(1.0)) else { continue };
            let words = words.split_whitespace().collect::<Vec<_>>().join(" ");
            let said = match (words.is_empty(), target.starts_with('#')) {
                (true, _) => target.clone(),
                (false, true) => words,
                (false, false) if words == *target => words,
                (false, false) => format!("{words} ({target})"),
            };
            let annotation = Annotation::new_link(LinkAnnotation::new(rect, target_of), Some(said));
            let identifier = page.add_tagged_annotation(annotation);
            self.tags.drawn(leaf, identifier);
        }
    }
}

/// What is only to be seen.
fn layout() -> ContentTag<'static> {
    ContentTag::Artifact(Artifact::with_kind(ArtifactType::Layout))
}

fn plain() -> Look {
    Look {
        family: crate::type_setting::Family::Sans,
        bold: false,
        italic: false,
        size: 9.0,
        colour: QUIET,
        strike: false,
        rise: 0.0,
        verbatim: false,
        link: None,
        leaf: Leaf::NONE,
    }
}

fn rgb_of([r, g, b]: Colour) -> rgb::Color {
    rgb::Color::new(r, g, b)
}

fn filled(colour: Colour) -> Fill {
    Fill { paint: rgb_of(colour).into(), ..Fill::default() }
}

fn fill(surface: &mut Surface, path: Option<krilla::geom::Path>, colour: Colour) {
    if let Some(path) = path {
        surface.set_fill(Some(filled(colour)));
        surface.set_stroke(None);
        surface.draw_path(&path);
    }
}

/// Glyphs from a point on the baseline; `slab` is the corner that turns are counted from.
fn text(surface: &mut Surface, run: &Run, x: f32, y: f32, slab: [f32; 2]) {
    if run.glyphs.is_empty() || run.size <= 0.0 {
        return;
    }
    let mut pushed = 0;
    if let Some((degrees, around)) = run.turn {
        surface.push_transform(&Transform::from_rotate_at(degrees, slab[0] + around[0], slab[1] + around[1]));
        pushed += 1;
    }
    if run.slant > 0 {
        let lean = f32::from(run.slant) / 100.0;
        surface.push_transform(&Transform::from_row(1.0, 0.0, -lean, 1.0, lean * y, 0.0));
        pushed += 1;
    }
    let first = run.glyphs[0].x;
    let ends = run.glyphs.iter().skip(1).map(|glyph| glyph.x).chain([run.end]);
    let glyphs: Vec<KrillaGlyph> = run
        .glyphs
        .iter()
        .zip(ends)
        .map(|(glyph, end)| KrillaGlyph {
            glyph_id: GlyphId::new(glyph.id),
            text_range: glyph.bytes.clone(),
            x_advance: (end - glyph.x) / run.size,
            x_offset: 0.0,
            y_offset: -glyph.y / run.size,
            y_advance: 0.0,
            location: None,
        })
        .collect();
    let start = Point::from_xy(x + first, y);
    let draw = |surface: &mut Surface, fill: Option<Fill>, stroke: Option<Stroke>, outlined: bool| {
        surface.set_fill(fill);
        surface.set_stroke(stroke);
        surface.draw_glyphs(start, &glyphs, run.font.clone(), &run.text, run.size, outlined);
    };
    let line = |colour: Colour, width: f32| Stroke {
        paint: rgb_of(colour).into(),
        width,
        line_join: LineJoin::Round,
        ..Stroke::default()
    };
    if run.instead {
        // No face has it: a frame stands there, and what it stands for is said.
        for glyph in &run.glyphs {
            let frame = rounded([x + glyph.x + run.size * 0.06, y - run.size * 0.7, run.size * 0.5, run.size * 0.7], 0.5);
            if let Some(frame) = frame {
                surface.set_fill(None);
                surface.set_stroke(Some(line(run.colour, 0.6)));
                surface.draw_path(&frame);
            }
        }
    } else {
        if let Some((colour, width)) = run.edge {
            draw(surface, None, Some(line(colour, width)), true);
        }
        let heavier = run.heavier.then(|| line(run.colour, run.size * HEAVIER));
        draw(surface, Some(filled(run.colour)), heavier, false);
    }
    (0..pushed).for_each(|_| surface.pop());
}

/// Why there is no PDF.
fn words(error: &KrillaError) -> String {
    match error {
        KrillaError::Validation(errors) => {
            let all: Vec<String> = errors.iter().map(|(error, _)| format!("{error:?}")).collect();
            format!("not everybody could read it (PDF/UA-1): {}", all.join(", ").chars().take(400).collect::<String>())
        }
        KrillaError::Font(_, message) => format!("a face cannot be put into it: {message}"),
        KrillaError::Image(_, _, message) => format!("a picture cannot be put into it: {message}"),
        _ => "it is larger than a PDF can be".to_owned(),
    }
}
