//! All faces, which of them a character is set in, and what has been shaped and cut so far.
//!
//! Never looks at the system: whoever wants further faces hands their bytes over.

use std::collections::HashMap;
use std::hash::{BuildHasher, Hash, RandomState};
use std::sync::{Arc, OnceLock, RwLock};

use harfrust::Script;
use unicode_segmentation::UnicodeSegmentation;

use super::face::{Face, Manner};
use super::glyph::{Cut, Fitting, Rasterising, cut, stroke};
use super::unit::{Run, Unit, whole_dots};
use super::{Dotted, Error, FaceId, Family, GlyphKey, Measure, Paragraph, Piece, Type, Vertical};
use super::{missing, paragraph, shipped};
use crate::language::Language;
use crate::units::{Dots, Resolution};

/// A face that is not shipped: the bytes of a font file, and the BCP 47 language or ISO 15924 script it is for.
#[derive(Clone, Debug)]
pub struct FaceSource {
    pub tag: String,
    pub bytes: Vec<u8>,
    /// Which face of a collection.
    pub index: u32,
}

/// The faces at one resolution. Shared by all threads; what was shaped or cut once is kept.
pub struct Faces {
    resolution: Resolution,
    faces: Vec<Face>,
    /// Faces that were added: tag and place in `faces`.
    added: Vec<(String, FaceId)>,
    cuts: Shelf<GlyphKey, Arc<Cut>>,
    units: Shelf<Look, Arc<Units>>,
    verticals: Shelf<(Family, bool, bool, i32), Vertical>,
    segmenters: OnceLock<super::breaks::Segmenters>,
    /// How much the strokes of each face grow at each em.
    strokes: Shelf<(FaceId, i32), u8>,
    /// How every letter is cut, where that is not left to the face and its size.
    cutting: Option<Rasterising>,
}

/// Shaped units of one look by their text.
type Units = RwLock<HashMap<Box<str>, Arc<Unit>>>;

/// What shaping depends on besides the text.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) struct Look {
    pub family: Family,
    pub bold: bool,
    pub italic: bool,
    /// Size of the em in 1/64 dot.
    pub em: i32,
    pub language: Language,
    pub right_to_left: bool,
}

/// The face id of the boxes that stand for characters no face has; the glyph id is the character.
const MISSING: FaceId = FaceId(u16::MAX);
/// Letters that are one upright stroke, in the scripts of the shipped faces.
const STEMS: [char; 5] = ['l', 'I', 'ו', 'ا', '|'];
/// A stroke thinner than this, in 1/64 dot, is thickened; a bold one is to be wider than its plain one by so much.
const THIN: i32 = 90;
const BOLDER: i32 = 48;
/// Longest text of a unit that is kept, in bytes, and how many of one look are.
const LONGEST_KEPT: usize = 64;
const MOST_KEPT: usize = 20_000;

impl Faces {
    /// The shipped faces. Opens none of them yet.
    pub fn new(resolution: Resolution) -> Faces {
        Faces {
            resolution,
            faces: shipped::faces(),
            added: Vec::new(),
            cuts: Shelf::new(),
            units: Shelf::new(),
            verticals: Shelf::new(),
            segmenters: OnceLock::new(),
            strokes: Shelf::new(),
            cutting: None,
        }
    }

    /// These faces with every letter cut in one manner, whatever its face and size: for measuring and comparing.
    pub fn cut_as(mut self, cutting: Rasterising) -> Faces {
        self.cutting = Some(cutting);
        self.cuts = Shelf::new();
        self.units = Shelf::new();
        self.verticals = Shelf::new();
        self
    }

    /// These faces with another one in the place of the shipped face of a look.
    ///
    /// # Errors
    /// When the bytes are no font that can be used.
    pub fn instead(mut self, family: Family, bold: bool, italic: bool, bytes: Vec<u8>) -> Result<Faces, Error> {
        let place = shipped::primary(family, bold, italic);
        let manner = if family == Family::Mono {
            Manner::Fixed
        } else {
            Manner::Proportional
        };
        let face = Face::new(bytes, 0, manner);
        if !face.is_usable() {
            return Err(Error::NotAFont {
                tag: format!("{family:?}"),
            });
        }
        if let Some(slot) = self.faces.get_mut(usize::from(place.0)) {
            *slot = face;
        }
        self.cuts = Shelf::new();
        self.units = Shelf::new();
        self.verticals = Shelf::new();
        Ok(self)
    }

    /// These faces and one more, for what the shipped ones lack.
    ///
    /// # Errors
    /// When the bytes are no font that can be used.
    pub fn with_face(mut self, tag: &str, bytes: Vec<u8>) -> Result<Faces, Error> {
        self.add(FaceSource {
            tag: tag.to_string(),
            bytes,
            index: 0,
        })?;
        Ok(self)
    }

    /// Adds a face for what the shipped ones lack; among added ones that have a character, one whose tag fits the text's
    /// language comes first, then the one that was added first.
    ///
    /// # Errors
    /// When the bytes are no font that can be used.
    pub fn add(&mut self, source: FaceSource) -> Result<FaceId, Error> {
        let face = Face::new(source.bytes, source.index, Manner::Proportional);
        let usable = face
            .font()
            .is_some_and(|font| font.num_glyphs() > 0 && font.units_per_em() > 0);
        if !usable || self.faces.len() >= usize::from(u16::MAX - 1) {
            return Err(Error::NotAFont { tag: source.tag });
        }
        let id = FaceId(self.faces.len() as u16);
        self.faces.push(face);
        self.added.push((source.tag, id));
        self.units = Shelf::new();
        Ok(id)
    }

    pub fn resolution(&self) -> Resolution {
        self.resolution
    }

    /// Sets a text in one line that is never broken; spaces stay as they are.
    pub fn set_line(&self, pieces: &[Piece<'_>], language: Language) -> Paragraph {
        paragraph::set(self, pieces, None, language)
    }

    /// Sets a text in lines of a given measure; runs of spaces count as one, at the ends of lines as none.
    pub fn set_paragraph(&self, pieces: &[Piece<'_>], measure: &Measure) -> Paragraph {
        paragraph::set(self, pieces, Some(measure), measure.language)
    }

    /// The heights of a look, taken from its letters as they are cut: ascent from the tallest of `b d f h k l` and the
    /// capitals, descent from `g j p q y`. Room between lines is for the caller to add.
    pub fn vertical(&self, look: &Type) -> Vertical {
        let em = self.resolution.em(look.size);
        let key = (look.family, look.bold, look.italic, em);
        self.verticals.get_or_make(key, || {
            let face = shipped::primary(look.family, look.bold, look.italic);
            let reach = |letters: &str| {
                let heights = letters.chars().filter_map(|letter| self.letter(face, letter, em)).map(|cut| {
                    let top = -cut.dots.top;
                    (top, cut.dots.bitmap.height() as i32 - top)
                });
                heights.fold((0, 0), |most: (i32, i32), now| (most.0.max(now.0), most.1.max(now.1)))
            };
            Vertical {
                ascent: Dots(reach("bdfhklH").0),
                descent: Dots(reach("gjpqy").1),
                cap_height: Dots(reach("HIE").0),
                x_height: Dots(reach("xz").0),
            }
        })
    }

    fn letter(&self, face: FaceId, letter: char, em: i32) -> Option<Arc<Cut>> {
        let id = self.face(face)?.font()?.charmap().map_unicode(letter)?;
        Some(self.cut(GlyphKey {
            face,
            id: id.to_u32(),
            em,
        }))
    }

    /// Width of every character of the face of fixed width at that size.
    pub fn cell(&self, look: &Type) -> Dots {
        let face = shipped::primary(Family::Mono, look.bold, look.italic);
        Dots(self.cell_of(face, self.resolution.em(look.size)))
    }

    fn cell_of(&self, face: FaceId, em: i32) -> i32 {
        let advance = self.face(face).and_then(Face::font).and_then(|font| {
            let id = font.charmap().map_unicode('0')?;
            Some(scaled(font.glyph_metrics().h_advance(id), em, font.units_per_em()))
        });
        whole_dots(advance.unwrap_or(em / 2)).max(1)
    }

    /// The dots of a glyph.
    pub fn dots(&self, key: GlyphKey) -> Dotted {
        self.cut(key).dots.clone()
    }

    pub(super) fn cut(&self, key: GlyphKey) -> Arc<Cut> {
        self.cuts.get_or_make(key, || {
            let cut = match self.face(key.face) {
                Some(face) => match face.font() {
                    Some(font) => cut(font, key.id, key.em, self.cutting(key, face.manner)),
                    None => Cut::of_dots(missing::draw(0xFFFD, key.em)),
                },
                None => Cut::of_dots(missing::draw(key.id, key.em)),
            };
            Arc::new(cut)
        })
    }

    fn cutting(&self, key: GlyphKey, manner: Manner) -> Rasterising {
        match self.cutting {
            Some(cutting) if manner != Manner::Sign => cutting,
            _ => {
                let plain = shipped::rasterising(key.face, manner, key.em);
                let thicken = if plain.fitting == Fitting::None {
                    0
                } else {
                    self.thicken(key.face, key.em, plain)
                };
                Rasterising { thicken, ..plain }
            }
        }
    }

    /// Dots by which a face's strokes have to grow at a size so that they are not one dot wide, and so that those of a bold
    /// face are wider than those of the plain one beside it.
    fn thicken(&self, id: FaceId, em: i32, plain: Rasterising) -> u8 {
        self.strokes.get_or_make((id, em), || {
            let stroke = |id| self.stroke(id, em, plain);
            let least = match shipped::plainer(id) {
                Some(plainer) => stroke(plainer).max(THIN) + BOLDER,
                None => THIN,
            };
            let narrow = self.face(id).is_some_and(|face| face.manner == Manner::Fixed) && shipped::plainer(id).is_some();
            let roomy = em >= if narrow { 20 * 64 } else { 11 * 64 };
            u8::from(roomy && stroke(id) < least)
        })
    }

    /// Mean width of a face's upright stroke as it is cut without thickening, in 1/64 dot; wide when the face has no letter to
    /// tell by.
    fn stroke(&self, id: FaceId, em: i32, plain: Rasterising) -> i32 {
        let found = self.face(id).and_then(Face::font).and_then(|font| {
            let charmap = font.charmap();
            let stem = STEMS.iter().find_map(|&letter| charmap.map_unicode(letter))?;
            stroke(font, stem.to_u32(), em, plain)
        });
        found.unwrap_or(i32::MAX / 2)
    }

    fn face(&self, id: FaceId) -> Option<&Face> {
        self.faces.get(usize::from(id.0))
    }

    pub(super) fn segmenters(&self) -> &super::breaks::Segmenters {
        self.segmenters.get_or_init(super::breaks::Segmenters::new)
    }

    /// Width of a space in a look, in 1/64 dot.
    pub(super) fn space(&self, look: &Look) -> i32 {
        let face = shipped::primary(look.family, look.bold, look.italic);
        if look.family == Family::Mono {
            return self.cell_of(face, look.em) * 64;
        }
        let advance = self.face(face).and_then(Face::font).and_then(|font| {
            let id = font.charmap().map_unicode(' ')?;
            Some(scaled(font.glyph_metrics().h_advance(id), look.em, font.units_per_em()))
        });
        // White between letters is rounded to at least a dot, so words come out a little wider than designed: spaces follow.
        advance.unwrap_or(look.em / 4) + 32 + look.em / 64
    }

    /// The units of a look that are kept.
    pub(super) fn kept(&self, look: &Look) -> Kept<'_> {
        Kept {
            faces: self,
            look: *look,
            units: self.units.get_or_make(*look, Arc::default),
        }
    }

    /// Shapes a text in which no line is broken.
    fn shape(&self, text: &str, look: &Look) -> Unit {
        let chain = self.chain(look);
        let mut absent = Vec::new();
        let mut runs: Vec<Run> = Vec::new();
        let mut stretches: Vec<(FaceId, Script, std::ops::Range<usize>)> = Vec::new();
        for (at, cluster) in text.grapheme_indices(true) {
            let end = at + cluster.len();
            let script = script_of(cluster);
            let before = stretches.last().map(|(face, ..)| *face);
            match self.choose(cluster, &chain, before) {
                Some(face) => match stretches.last_mut() {
                    Some((last, known, range))
                        if *last == face && (script == *known || is_neutral(script) || is_neutral(*known)) =>
                    {
                        range.end = end;
                        if is_neutral(*known) {
                            *known = script;
                        }
                    }
                    _ => stretches.push((face, script, at..end)),
                },
                None => {
                    absent.extend(cluster.chars().filter(|&c| !ignorable(c)));
                    stretches.push((MISSING, script, at..end));
                }
            }
        }
        for (face, script, range) in stretches {
            let part = &text[range.clone()];
            let glyphs = match self.face(face) {
                Some(found) => found.shape(part, look.em, script, look.right_to_left, look.language.tag()),
                None => self.boxes(part, look.em),
            };
            runs.push(Run {
                face,
                script,
                glyphs,
                offset: range.start as u32,
            });
        }
        if look.right_to_left {
            runs.reverse();
        }
        let cell =
            (look.family == Family::Mono).then(|| self.cell_of(shipped::primary(look.family, look.bold, look.italic), look.em));
        Unit::set(&runs, look.em, look.right_to_left, cell, absent, |key| self.cut(key))
    }

    /// Boxes for characters that no face has.
    fn boxes(&self, text: &str, em: i32) -> Vec<super::face::Shaped> {
        let shown = text.char_indices().filter(|&(_, c)| !ignorable(c));
        shown
            .map(|(at, c)| {
                let width = self
                    .cut(GlyphKey {
                        face: MISSING,
                        id: c as u32,
                        em,
                    })
                    .right
                    + 1;
                super::face::Shaped {
                    id: c as u32,
                    cluster: at as u32,
                    advance: width * 64,
                    x: 0,
                    y: 0,
                }
            })
            .collect()
    }

    /// The faces a look is looked up in, best first.
    fn chain(&self, look: &Look) -> Vec<FaceId> {
        let mut chain = shipped::letters(look.family, look.bold, look.italic);
        let tag = look.language.tag();
        let fits = |name: &str| {
            name.eq_ignore_ascii_case(tag) || tag.split('-').next().is_some_and(|main| name.eq_ignore_ascii_case(main))
        };
        chain.extend(self.added.iter().filter(|(name, _)| fits(name)).map(|(_, id)| *id));
        chain.extend(self.added.iter().filter(|(name, _)| !fits(name)).map(|(_, id)| *id));
        chain.extend(shipped::signs());
        chain
    }

    /// The first face that has the whole cluster; one that already sets the text before goes on with what belongs to no
    /// script of its own.
    fn choose(&self, cluster: &str, chain: &[FaceId], before: Option<FaceId>) -> Option<FaceId> {
        let has = |id: &FaceId| {
            self.face(*id)
                .is_some_and(|face| cluster.chars().all(|c| ignorable(c) || is_wide_space(c) || face.covers(c)))
        };
        if let Some(before) = before
            && before != MISSING
            && is_neutral(script_of(cluster))
            && self.face(before).is_some_and(|face| face.manner != Manner::Sign)
            && has(&before)
        {
            return Some(before);
        }
        chain.iter().find(|id| has(id)).copied().or_else(|| {
            // A letter with marks that no face has together: the face of its letter, marks put on by shaping if it has them.
            let base: String = cluster.chars().take(1).collect();
            let only = cluster.chars().skip(1).all(ignorable);
            (only && !base.is_empty())
                .then(|| {
                    chain
                        .iter()
                        .find(|id| self.face(**id).is_some_and(|face| base.chars().all(|c| face.covers(c))))
                        .copied()
                })
                .flatten()
        })
    }
}

/// The kept units of one look.
pub(super) struct Kept<'a> {
    faces: &'a Faces,
    pub look: Look,
    units: Arc<Units>,
}

impl Kept<'_> {
    pub fn unit(&self, text: &str) -> Arc<Unit> {
        if let Ok(units) = self.units.read()
            && let Some(unit) = units.get(text)
        {
            return unit.clone();
        }
        let unit = Arc::new(self.faces.shape(text, &self.look));
        if text.len() <= LONGEST_KEPT
            && let Ok(mut units) = self.units.write()
        {
            if units.len() >= MOST_KEPT {
                units.clear();
            }
            units.insert(text.into(), unit.clone());
        }
        unit
    }
}

/// A length in font units at an em of `em` / 64 dots, in 1/64 dot, the nearest.
fn scaled(units: f32, em: i32, units_per_em: u16) -> i32 {
    let per_em = i64::from(units_per_em.max(1));
    (i64::from(units as i32) * i64::from(em) + per_em / 2).div_euclid(per_em) as i32
}

fn script_of(cluster: &str) -> Script {
    let scripts = cluster.chars().map(|c| harfrust::unicode::script(c as u32));
    scripts
        .into_iter()
        .find(|script| !is_neutral(*script))
        .unwrap_or(Script::COMMON)
}

fn is_neutral(script: Script) -> bool {
    script == Script::COMMON || script == Script::INHERITED || script == Script::UNKNOWN
}

/// Characters that show nothing and need no glyph: joiners, directional marks, variation selectors, soft hyphens.
pub(super) fn ignorable(c: char) -> bool {
    matches!(c, '\u{AD}' | '\u{34F}' | '\u{61C}' | '\u{180B}'..='\u{180F}' | '\u{200B}'..='\u{200F}' | '\u{202A}'..='\u{202E}'
        | '\u{2060}'..='\u{206F}' | '\u{FE00}'..='\u{FE0F}' | '\u{FEFF}' | '\u{E0000}'..='\u{E0FFF}')
}

/// Spaces of a set width, which shaping makes from the plain space when a face lacks them.
fn is_wide_space(c: char) -> bool {
    matches!(c, '\u{A0}' | '\u{2000}'..='\u{200A}' | '\u{202F}' | '\u{205F}' | '\u{3000}')
}

/// A table that many threads read and few write, in parts so that they seldom wait for each other.
struct Shelf<K, V> {
    parts: Vec<RwLock<HashMap<K, V>>>,
    hasher: RandomState,
}

impl<K: Eq + Hash, V: Clone> Shelf<K, V> {
    fn new() -> Shelf<K, V> {
        Shelf {
            parts: (0..16).map(|_| RwLock::default()).collect(),
            hasher: RandomState::new(),
        }
    }

    /// What stands under `key`, made when nothing does. Two threads may make the same thing at once; both get what the first
    /// put down.
    fn get_or_make(&self, key: K, make: impl FnOnce() -> V) -> V {
        let part = &self.parts[self.hasher.hash_one(&key) as usize % self.parts.len()];
        if let Ok(part) = part.read()
            && let Some(value) = part.get(&key)
        {
            return value.clone();
        }
        let value = make();
        match part.write() {
            Ok(mut part) => part.entry(key).or_insert(value).clone(),
            Err(_) => value,
        }
    }
}
