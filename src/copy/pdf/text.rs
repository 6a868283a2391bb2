//! Words of the copy as lines of glyphs, set by the same hands as those of the strip, in steps of a twentieth of a point.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;

use krilla::text::Font;

use super::drawing::{line, rounded};
use super::slab::{Colour, Ink, Mark, Placed, Run};
use super::tags::Leaf;
use crate::language::Language;
use crate::lengths::{Dots, Pt, Resolution};
use crate::manual::source::Span;
use crate::names::is_noncharacter;
use crate::type_setting::{
    Content, FaceId, Faces, Family, Fitting, FragmentInk, Glyph, Line, Measure, OBJECT, Piece, Rasterising, Type,
};

/// Twenty steps to a point: finer than an office printer's dots.
pub const FINE: Resolution = Resolution { dots_per_metre: 56_693 };
/// Points to a step; a point is 25.4/72 mm.
const STEP: f32 = 72_000.0 / 25.4 / 56_693.0;

/// The look of a run of text.
#[derive(Clone, Copy)]
pub struct Look {
    pub family: Family,
    pub bold: bool,
    pub italic: bool,
    /// Points.
    pub size: f32,
    pub colour: Colour,
    pub strike: bool,
    /// Above the baseline, points.
    pub rise: f32,
    pub verbatim: bool,
    pub link: Option<usize>,
    pub leaf: Leaf,
}

/// A part of a paragraph.
pub enum Part {
    Text(String, Look),
    Object(Object),
    Break,
}

/// What stands in a line and is no text; its marks from its left end on the baseline.
pub struct Object {
    pub width: f32,
    pub ascent: f32,
    pub descent: f32,
    pub marks: Vec<Mark>,
    pub link: Option<(usize, Leaf)>,
}

/// How a paragraph is set.
#[derive(Clone, Copy)]
pub struct Manner {
    pub width: f32,
    pub language: Language,
    pub align: Align,
    pub balanced: bool,
    pub hyphenate: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Align {
    Start,
    Centre,
    End,
}

/// A set line; its marks from the left of the measure on the baseline.
pub struct Set {
    pub ascent: f32,
    pub descent: f32,
    pub width: f32,
    pub marks: Vec<Mark>,
}

/// A face as it is drawn with.
#[derive(Clone)]
struct Own {
    font: Font,
    slant: u8,
    heavier: bool,
    space: Option<u32>,
}

/// Sets text, and keeps the faces that were drawn with.
pub struct Setter {
    faces: Faces,
    own: RefCell<BTreeMap<FaceId, Option<Own>>>,
}

/// Letters as they were designed: nothing is fitted to dots that small.
pub fn as_designed(faces: Faces) -> Faces {
    faces.cut_as(Rasterising { fitting: Fitting::None, threshold: 128, thicken: 0, slant: 0 })
}

impl Setter {
    pub fn new(faces: Faces) -> Setter {
        Setter { faces, own: RefCell::default() }
    }

    /// Ascent and descent of a look, points.
    pub fn heights(&self, look: &Look) -> (f32, f32) {
        let vertical = self.faces.vertical(&kind(look));
        (points(vertical.ascent), points(vertical.descent))
    }

    /// Width of a text in one line.
    pub fn width(&self, text: &str, look: &Look, language: Language) -> f32 {
        self.one(&[Part::Text(text.to_owned(), *look)], language).map_or(0.0, |line| line.width)
    }

    /// One line that is never broken.
    pub fn one(&self, parts: &[Part], language: Language) -> Option<Set> {
        let paragraph = self.faces.set_line(&pieces(parts), language);
        paragraph.lines.first().map(|line| self.line(line, parts, None))
    }

    pub fn set(&self, parts: &[Part], manner: &Manner) -> Vec<Set> {
        let measure = Measure {
            width: steps(manner.width),
            justified: false,
            hyphenate: manner.hyphenate,
            balanced: manner.balanced,
            tabular: false,
            language: manner.language,
        };
        let lines = self.faces.set_paragraph(&pieces(parts), &measure).lines;
        let set = |(n, line): (usize, &Line)| {
            let mut set = self.line(line, parts, lines.get(n + 1));
            let indent = if manner.language.is_rtl() { points(line.indent()) } else { manner.width - points(line.width) };
            let shift = match manner.align {
                Align::Start => 0.0,
                Align::Centre => indent / 2.0,
                Align::End => indent,
            };
            let shift = if manner.language.is_rtl() { -shift } else { shift };
            set.marks.iter_mut().for_each(|mark| mark.x += shift);
            set
        };
        lines.iter().enumerate().map(set).collect()
    }

    fn line(&self, line: &Line, parts: &[Part], next: Option<&Line>) -> Set {
        let mut set =
            Set { ascent: points(line.ascent), descent: points(line.descent), width: points(line.width), marks: Vec::new() };
        // Where each cluster's words end: where those of the next begin.
        let mut starts: Vec<usize> =
            line.fragments.iter().flat_map(|fragment| glyphs(&fragment.ink)).map(|glyph| glyph.at as usize).collect();
        starts.retain(|&at| !is_mark(&line.text, at));
        starts.extend(line.text.match_indices(OBJECT).map(|(at, _)| at));
        starts.sort_unstable();
        starts.dedup();
        let joined = next.is_some_and(|next| parts_words(line, next));
        let letters = line.fragments.iter().flat_map(|fragment| glyphs(&fragment.ink)).map(|glyph| glyph.at);
        let last = letters.filter(|&at| !is_mark(&line.text, at as usize)).max();
        // In the order they are read.
        let mut order: Vec<usize> = (0..line.fragments.len()).collect();
        let objects = |ink: &FragmentInk| matches!(ink, FragmentInk::Object { .. });
        order.sort_by_key(|&n| {
            let fragment = &line.fragments[n];
            let first = glyphs(&fragment.ink).iter().map(|glyph| glyph.at).min();
            let seen = line.fragments.iter().filter(|other| objects(&other.ink) && other.piece < fragment.piece).count();
            first.unwrap_or_else(|| line.text.match_indices(OBJECT).nth(seen).map_or(u32::MAX, |(at, _)| at as u32))
        });
        for n in order {
            let fragment = &line.fragments[n];
            let x = points(fragment.x);
            match (&fragment.ink, &parts[fragment.piece]) {
                (FragmentInk::Glyphs { glyphs, strike }, Part::Text(_, look)) => {
                    let space_after = |at: u32| joined && Some(at) == last;
                    for run in self.runs(glyphs, look, line, &starts, points(fragment.width), space_after) {
                        set.marks.push(Mark { leaf: look.leaf, x, y: 0.0, ink: Ink::Text(run) });
                    }
                    if let Some(strike) = strike {
                        let down = points(strike.top) + points(strike.thickness) / 2.0;
                        let path = line_of(x, down, points(fragment.width));
                        let stroke = Some((look.colour, points(strike.thickness).max(0.5)));
                        set.marks.extend(path.map(|path| Mark {
                            leaf: Leaf::NONE,
                            x: 0.0,
                            y: 0.0,
                            ink: Ink::Path { path: Rc::new(path), fill: None, stroke },
                        }));
                    }
                    if let Some(link) = look.link {
                        let (above, below) = self.heights(look);
                        let ink = Ink::Link { link, width: points(fragment.width), height: above + below };
                        set.marks.push(Mark { leaf: look.leaf, x, y: -above - look.rise, ink });
                    }
                }
                (FragmentInk::Object { .. }, Part::Object(object)) => {
                    set.marks.extend(object.marks.iter().map(|mark| mark.moved(x, 0.0)));
                    if let Some((link, leaf)) = object.link {
                        let ink = Ink::Link { link, width: object.width, height: object.ascent + object.descent };
                        set.marks.push(Mark { leaf, x, y: -object.ascent, ink });
                    }
                }
                _ => {}
            }
        }
        set
    }

    /// Glyphs of a fragment, face by face.
    fn runs(
        &self,
        glyphs: &[Glyph],
        look: &Look,
        line: &Line,
        starts: &[usize],
        width: f32,
        space_after: impl Fn(u32) -> bool,
    ) -> Vec<Run> {
        let mut runs: Vec<(FaceId, Run)> = Vec::new();
        let turned = glyphs.first().zip(glyphs.last()).is_some_and(|(first, last)| first.at > last.at);
        for (n, glyph) in glyphs.iter().enumerate() {
            let at = glyph.at as usize;
            if is_mark(&line.text, at) {
                continue;
            }
            let end = starts.get(starts.partition_point(|&start| start <= at)).copied().unwrap_or(line.text.len());
            let words: String = line
                .text
                .get(at..end)
                .unwrap_or_default()
                .chars()
                .filter(|&letter| letter != OBJECT && !is_isolate(letter))
                .collect();
            let seen = words.trim_end_matches(char::is_whitespace);
            // The hyphen that ends a line belongs to the word no more than the end does.
            let parting = line.hyphenated && at + 1 == line.text.len() && seen == "-";
            let seen = if parting { "\u{ad}" } else { seen };
            let white = words.len() > words.trim_end().len() || space_after(glyph.at);
            let (face, own) = match self.own(glyph.key.face) {
                Some(own) => (glyph.key.face, own),
                None => match self.own(FaceId(0)) {
                    Some(own) => (FaceId(0), Own { space: own.space, ..own }),
                    None => continue,
                },
            };
            let lacking = self.own(glyph.key.face).is_none() || glyph.key.id == 0;
            if runs.last().is_none_or(|(last, run)| *last != face || run.instead != lacking) {
                let run = Run {
                    font: own.font.clone(),
                    size: glyph.key.em as f32 / 64.0 * STEP,
                    colour: look.colour,
                    text: String::new(),
                    glyphs: Vec::new(),
                    end: width,
                    slant: own.slant,
                    heavier: own.heavier,
                    instead: lacking,
                    edge: None,
                    turn: None,
                };
                runs.push((face, run));
            }
            let Some((_, run)) = runs.last_mut() else { continue };
            let (x, y) = (glyph.x as f32 * STEP, glyph.y as f32 * STEP);
            let after = glyphs.get(n + 1).map_or(width, |next| next.x as f32 * STEP);
            let put = |run: &mut Run, id: u32, x: f32, words: &str| {
                let from = run.text.len();
                // Glyphs of one cluster show the same words once.
                let same = run.glyphs.last().is_some_and(|last| {
                    n > 0
                        && glyphs[n - 1].at == glyph.at
                        && id != own.space.unwrap_or(u32::MAX)
                        && run.text[last.bytes.clone()] == *words
                });
                let bytes = match (same, run.glyphs.last()) {
                    (true, Some(last)) => last.bytes.clone(),
                    _ => {
                        run.text.push_str(words);
                        from..run.text.len()
                    }
                };
                run.glyphs.push(Placed { id, x, y, bytes });
            };
            let seen = if seen.is_empty() { "\u{fffd}" } else { seen };
            let more = n + 1 < glyphs.len() && glyphs[n + 1].at == glyph.at;
            // White stands where it is read: before the word that runs to the left.
            match own.space.filter(|_| white && !more) {
                Some(space) if turned => {
                    put(run, space, x - look.size * 0.2, " ");
                    put(run, glyph.key.id, x, seen);
                }
                Some(space) => {
                    put(run, glyph.key.id, x, seen);
                    put(run, space, after.max(x + look.size * 0.3) - look.size * 0.2, " ");
                }
                None => put(run, glyph.key.id, x, seen),
            }
        }
        let ends: Vec<f32> = runs.iter().skip(1).map(|(_, run)| run.glyphs.first().map_or(width, |glyph| glyph.x)).collect();
        for ((_, run), end) in runs.iter_mut().zip(ends) {
            run.end = end;
        }
        runs.into_iter().map(|(_, run)| run).collect()
    }

    fn own(&self, face: FaceId) -> Option<Own> {
        let make = || {
            let drawn = self.faces.drawn(face)?;
            let font = Font::new(drawn.file.into(), drawn.index)?;
            Some(Own { font, slant: drawn.slant, heavier: drawn.heavier, space: drawn.space })
        };
        self.own.borrow_mut().entry(face).or_insert_with(make).clone()
    }

    /// A key or a reading: its words in a frame.
    pub fn key(&self, text: &str, look: &Look, language: Language) -> Object {
        let own = Look { family: Family::Mono, bold: true, size: look.size * 0.88, verbatim: true, ..*look };
        let side = look.size * 0.28;
        let (above, below) = self.heights(look);
        let (ascent, descent) = (above + 1.4, below + 0.6);
        let mut object =
            Object { width: side * 2.0, ascent, descent, marks: Vec::new(), link: look.link.map(|link| (link, look.leaf)) };
        if let Some(line) = self.one(&[Part::Text(text.to_owned(), Look { link: None, ..own })], language) {
            object.width += line.width;
            let frame = rounded([0.4, -ascent + 0.6, object.width - 0.8, ascent + descent - 1.2], 2.2);
            let ink =
                frame.map(|path| Ink::Path { path: Rc::new(path), fill: Some(super::SOFT), stroke: Some((super::QUIET, 0.6)) });
            object.marks.extend(ink.map(|ink| Mark { leaf: Leaf::NONE, x: 0.0, y: 0.0, ink }));
            object.marks.extend(line.marks.iter().map(|mark| mark.moved(side, 0.0)));
        }
        object
    }
}

/// Marks that only say which way words run are no words: whoever copies the text or looks for one finds none inside it.
fn is_isolate(letter: char) -> bool {
    matches!(letter, '\u{2066}'..='\u{2069}')
}

/// Whether such a mark stands at a place of a text.
fn is_mark(text: &str, at: usize) -> bool {
    text.get(at..).is_some_and(|rest| rest.starts_with(is_isolate))
}

fn glyphs(ink: &FragmentInk) -> &[Glyph] {
    match ink {
        FragmentInk::Glyphs { glyphs, .. } => glyphs,
        FragmentInk::Object { .. } => &[],
    }
}

fn line_of(x: f32, y: f32, width: f32) -> Option<krilla::geom::Path> {
    line([x, y], [x + width, y])
}

/// Whether there was white where the line ends. Ideographs and their like follow one another without.
fn parts_words(line: &Line, next: &Line) -> bool {
    let without = |letter: char| matches!(u32::from(letter), 0x0E00..=0x0EFF | 0x1000..=0x109F | 0x1780..=0x17FF | 0x2E80..=0xA4CF | 0xF900..=0xFAFF | 0xFF00..=0xFFEF);
    let ends = line.text.chars().next_back();
    let begins = next.text.chars().next();
    let held = line.hyphenated || line.forced || matches!(ends, Some('-' | '/' | '\u{2010}'));
    !held && !ends.is_some_and(without) && !begins.is_some_and(without)
}

fn pieces(parts: &[Part]) -> Vec<Piece<'_>> {
    let content = |(id, part)| match part {
        &Part::Break => Content::Break,
        Part::Object(object) => {
            Content::Object { id, width: steps(object.width), ascent: steps(object.ascent), descent: steps(object.descent) }
        }
        Part::Text(text, look) => Content::Text {
            text: text.as_str(),
            look: kind(look),
            strike: look.strike,
            rise: steps(look.rise),
            verbatim: look.verbatim,
        },
    };
    parts.iter().enumerate().map(|part| Piece { content: content(part), span: Span::default() }).collect()
}

fn kind(look: &Look) -> Type {
    Type { family: look.family, bold: look.bold, italic: look.italic, size: Pt::from_thousandths((look.size * 1000.0) as i32) }
}

fn points(length: Dots) -> f32 {
    length.0 as f32 * STEP
}

fn steps(points: f32) -> Dots {
    Dots((points / STEP) as i32)
}

/// Text without what a PDF may not map a glyph to: control characters, marks of byte order, noncharacters.
pub fn clean(text: &str) -> String {
    let kept = |letter: &char| {
        (!letter.is_control() || matches!(letter, '\n' | '\t')) && *letter != '\u{feff}' && !is_noncharacter(*letter)
    };
    text.chars().filter(kept).collect()
}
