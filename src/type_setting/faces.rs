//! All faces, which of them a character is set in, and what has been shaped and cut so far.
//!
//! Never looks at the system: whoever wants further faces hands their bytes over.

use std::collections::{BTreeMap, HashMap};
use std::sync::{Arc, OnceLock, RwLock};

use super::face::{Face, Manner as Drawn};
use super::font::{Fitting, FontFile};
use super::glyph::{Cut, Rasterising, cut, stroke};
use super::memo::Memo;
use super::unit::{Unit, whole_dots};
use super::{Dotted, Drawn as Drawing, Error, FaceId, Family, FragmentInk, GlyphKey, Line, Type, Vertical};
use super::{hyphenation, missing, shipped};
use crate::language::Language;
use crate::lengths::{Dots, Resolution};

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
    pub(super) faces: Vec<Face>,
    /// Faces that were added: tag and place in `faces`. Each stands there twice, the second time to be cut bold.
    pub(super) added: Vec<(String, FaceId)>,
    /// Added faces that stand in the stead of shipped ones.
    own: BTreeMap<Role, FaceId>,
    cuts: Memo<GlyphKey, Arc<Cut>>,
    units: Memo<Look, Arc<Units>>,
    verticals: Memo<(Family, bool, bool, i32), Vertical>,
    segmenters: OnceLock<super::breaks::Segmenters>,
    /// How much the strokes of each face grow at each em.
    strokes: Memo<(FaceId, i32), u8>,
    /// How every letter is cut, where that is not left to the face and its size.
    cutting: Option<Rasterising>,
}

/// Family, bold, italic.
type Role = (Family, bool, bool);

/// What a writer's face may stand in the stead of, by its name.
const ROLES: [(&str, Role); 9] = [
    ("sans", (Family::Sans, false, false)),
    ("sans-bold", (Family::Sans, true, false)),
    ("sans-italic", (Family::Sans, false, true)),
    ("sans-bold-italic", (Family::Sans, true, true)),
    ("mono", (Family::Mono, false, false)),
    ("mono-bold", (Family::Mono, true, false)),
    ("lettering", (Family::Lettering, false, false)),
    ("lettering-stressed", (Family::Lettering, false, true)),
    ("title", (Family::Title, false, false)),
];

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
    /// Figures all take the same width.
    pub tabular: bool,
}

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
            own: BTreeMap::new(),
            cuts: Memo::new(),
            units: Memo::new(),
            verticals: Memo::new(),
            segmenters: OnceLock::new(),
            strokes: Memo::new(),
            cutting: None,
        }
    }

    /// These faces with every letter cut in one manner, whatever its face and size: for measuring and comparing.
    pub fn cut_as(mut self, cutting: Rasterising) -> Faces {
        self.cutting = Some(cutting);
        self.cuts = Memo::new();
        self.units = Memo::new();
        self.verticals = Memo::new();
        self
    }

    /// These faces with another one in the place of the shipped face of a look.
    ///
    /// # Errors
    /// When the bytes are no font that can be used.
    pub fn instead(mut self, family: Family, bold: bool, italic: bool, bytes: Vec<u8>) -> Result<Faces, Error> {
        let place = shipped::primary(family, bold, italic);
        let manner = if family == Family::Mono { Drawn::Fixed } else { Drawn::Proportional };
        let face = Face::new(Arc::new(bytes), 0, manner);
        if !face.is_usable() {
            return Err(Error::NotAFont { tag: format!("{family:?}") });
        }
        if let Some(slot) = self.faces.get_mut(usize::from(place.0)) {
            *slot = face;
        }
        self.cuts = Memo::new();
        self.units = Memo::new();
        self.verticals = Memo::new();
        Ok(self)
    }

    /// These faces and one more, for what the shipped ones lack.
    ///
    /// # Errors
    /// When the bytes are no font that can be used.
    pub fn with_face(mut self, tag: &str, bytes: Vec<u8>) -> Result<Faces, Error> {
        self.add(FaceSource { tag: tag.to_string(), bytes, index: 0 })?;
        Ok(self)
    }

    /// Adds a face: one called `sans`, `mono`, `lettering` or `title` (or a cut of them, `sans-bold`) stands in the stead of the shipped
    /// one wherever it has the letters; any other is for what the shipped ones lack. Among added ones that have a character, one whose tag fits the text's
    /// language comes first, then the one that was added first.
    ///
    /// # Errors
    /// When the bytes are no font that can be used.
    pub fn add(&mut self, source: FaceSource) -> Result<FaceId, Error> {
        let file: FontFile = Arc::new(source.bytes);
        let role = ROLES.iter().find(|(name, _)| *name == source.tag).map(|(_, role)| *role);
        let manner = if role.is_some_and(|(family, ..)| family == Family::Mono) { Drawn::Fixed } else { Drawn::Proportional };
        let face = Face::new(file.clone(), source.index, manner);
        let usable = face.font().is_some_and(|font| font.num_glyphs() > 0 && font.units_per_em() > 0);
        if !usable || self.faces.len() >= usize::from(u16::MAX - 2) {
            return Err(Error::NotAFont { tag: source.tag });
        }
        let id = FaceId(self.faces.len() as u16);
        self.faces.push(face);
        self.faces.push(Face::new(file, source.index, manner));
        if let Some(role) = role {
            self.own.insert(role, id);
        }
        self.added.push((source.tag, id));
        self.units = Memo::new();
        self.verticals = Memo::new();
        Ok(id)
    }

    /// The face a look is named after: the writer's own, if there is one. Of a family that only its upright cut was given for, what is
    /// bold is the same cut with heavier strokes; what is stressed in lettering too.
    pub(super) fn primary(&self, family: Family, bold: bool, italic: bool) -> FaceId {
        let role = match family {
            Family::Title => (family, false, false),
            Family::Lettering => (family, false, italic),
            Family::Mono => (family, bold, false),
            Family::Sans => (family, bold, italic),
        };
        let own = |role: Role| self.own.get(&role).copied();
        let heavier = bold && family != Family::Title || family == Family::Lettering && italic;
        let plain = || {
            own((family, false, false))
                .map(|id| if heavier && role != (family, false, false) { shipped::emboldened(id) } else { id })
        };
        own(role).or_else(plain).unwrap_or_else(|| shipped::primary(family, bold, italic))
    }

    /// Whether the writer brought a face for titles.
    pub fn has_title(&self) -> bool {
        self.own.contains_key(&(Family::Title, false, false))
    }

    /// The tag of the added face that a glyph is of.
    pub fn tag_of(&self, face: FaceId) -> Option<&str> {
        self.added.iter().find(|(_, id)| *id == face || shipped::emboldened(*id) == face).map(|(tag, _)| tag.as_str())
    }

    fn stands_for(&self, face: FaceId) -> bool {
        self.own.values().any(|&id| id == face || shipped::emboldened(id) == face)
    }

    /// The face that a bold one has to stand out from.
    fn plainer(&self, face: FaceId) -> Option<FaceId> {
        let twin = || self.own.values().find(|&&id| shipped::emboldened(id) == face).copied();
        shipped::plainer(face).or_else(twin)
    }

    pub fn resolution(&self) -> Resolution {
        self.resolution
    }

    /// The parts between which a word is divided where no line can hold it whole.
    pub fn parts<'w>(&self, word: &'w str, language: Language) -> Vec<&'w str> {
        let points = hyphenation::points_in_need(word, language);
        let mut from = 0;
        let ends = points.iter().map(|&at| at as usize).chain([word.len()]);
        ends.map(|at| &word[std::mem::replace(&mut from, at)..at]).collect()
    }

    /// The heights of a look, taken from its letters as they are cut: ascent from the tallest of `b d f h k l` and the
    /// capitals, descent from `g j p q y`. Room between lines is for the caller to add.
    pub fn vertical(&self, look: &Type) -> Vertical {
        let em = self.resolution.em(look.size);
        let key = (look.family, look.bold, look.italic, em);
        self.verticals.get_or_make(key, || {
            let face = self.primary(look.family, look.bold, look.italic);
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

    /// How far the ink of a line reaches above its baseline and below it: accents, descenders, other writings than Latin.
    pub fn reach(&self, line: &Line) -> (Dots, Dots) {
        let glyphs = line.fragments.iter().flat_map(|fragment| match &fragment.ink {
            FragmentInk::Glyphs { glyphs, .. } => glyphs.as_slice(),
            FragmentInk::Object { .. } => &[],
        });
        let reaches = glyphs.map(|glyph| {
            let dots = self.dots(glyph.key);
            let top = glyph.y + dots.top;
            (-top, top + dots.bitmap.height() as i32)
        });
        let (above, below) = reaches.fold((0, 0), |most: (i32, i32), now| (most.0.max(now.0), most.1.max(now.1)));
        (Dots(above), Dots(below))
    }

    fn letter(&self, face: FaceId, letter: char, em: i32) -> Option<Arc<Cut>> {
        let id = self.face(face)?.font()?.glyph(letter)?;
        Some(self.cut(GlyphKey { face, id, em }))
    }

    /// Width of every character of the face of fixed width at that size.
    pub fn cell(&self, look: &Type) -> Dots {
        let face = self.primary(Family::Mono, look.bold, look.italic);
        Dots(self.cell_of(face, self.resolution.em(look.size)))
    }

    /// Width that every figure of a face takes where figures stand under each other.
    pub(super) fn figure_of(&self, face: FaceId, em: i32) -> Option<i32> {
        let found = self.face(face).filter(|face| face.manner == Drawn::Proportional)?;
        let font = found.font()?;
        let widths = ('0'..='9').filter_map(|figure| {
            let id = font.glyph(figure)?;
            Some(scaled(font.advance(id)?, em, font.units_per_em()))
        });
        widths.max().map(whole_dots)
    }

    pub(super) fn cell_of(&self, face: FaceId, em: i32) -> i32 {
        let advance = self.face(face).and_then(Face::font).and_then(|font| {
            let id = font.glyph('0')?;
            Some(scaled(font.advance(id)?, em, font.units_per_em()))
        });
        whole_dots(advance.unwrap_or(em / 2)).max(1)
    }

    /// What draws a face's glyphs; `None` for those that stand for missing characters.
    pub fn drawn(&self, id: FaceId) -> Option<Drawing> {
        let face = self.face(id)?;
        let plain = shipped::rasterising(id, face.manner, i32::MAX, self.stands_for(id));
        let space = face.font().and_then(|font| font.glyph(' '));
        Some(Drawing { file: face.file(), index: face.index(), slant: plain.slant, heavier: plain.thicken > 0, space })
    }

    /// The dots of a glyph.
    pub fn dots(&self, key: GlyphKey) -> Dotted {
        self.cut(key).dots.clone()
    }

    pub(super) fn cut(&self, key: GlyphKey) -> Arc<Cut> {
        self.cuts.get_or_make(key, || {
            let cut = match self.face(key.face) {
                Some(face) => match face.font() {
                    Some(font) => cut(&font, key.id, key.em, self.cutting(key, face.manner)),
                    None => Cut::of_dots(missing::draw(0xFFFD, key.em)),
                },
                None => Cut::of_dots(missing::draw(key.id, key.em)),
            };
            Arc::new(cut)
        })
    }

    fn cutting(&self, key: GlyphKey, manner: Drawn) -> Rasterising {
        match self.cutting {
            Some(cutting) if manner != Drawn::Sign => cutting,
            _ => {
                let plain = shipped::rasterising(key.face, manner, key.em, self.stands_for(key.face));
                let thicken = if plain.fitting == Fitting::None { plain.thicken } else { self.thicken(key.face, key.em, plain) };
                Rasterising { thicken, ..plain }
            }
        }
    }

    /// Dots by which a face's strokes have to grow at a size so that they are not one dot wide, and so that those of a bold
    /// face are wider than those of the plain one beside it.
    fn thicken(&self, id: FaceId, em: i32, plain: Rasterising) -> u8 {
        self.strokes.get_or_make((id, em), || {
            let stroke = |id| self.stroke(id, em, plain);
            let least = match self.plainer(id) {
                Some(plainer) => stroke(plainer).max(THIN) + BOLDER,
                None => THIN,
            };
            let narrow = self.face(id).is_some_and(|face| face.manner == Drawn::Fixed) && self.plainer(id).is_some();
            let roomy = em >= if narrow { 20 * 64 } else { 11 * 64 };
            u8::from(roomy && stroke(id) < least)
        })
    }

    /// Mean width of a face's upright stroke as it is cut without thickening, in 1/64 dot; wide when the face has no letter to
    /// tell by.
    fn stroke(&self, id: FaceId, em: i32, plain: Rasterising) -> i32 {
        let found = self.face(id).and_then(Face::font).and_then(|font| {
            let stem = STEMS.iter().find_map(|&letter| font.glyph(letter))?;
            stroke(&font, stem, em, plain)
        });
        found.unwrap_or(i32::MAX / 2)
    }

    pub(super) fn face(&self, id: FaceId) -> Option<&Face> {
        self.faces.get(usize::from(id.0))
    }

    pub(super) fn segmenters(&self) -> &super::breaks::Segmenters {
        self.segmenters.get_or_init(super::breaks::Segmenters::new)
    }

    /// Width of a space in a look, in 1/64 dot.
    pub(super) fn space(&self, look: &Look) -> i32 {
        let face = self.primary(look.family, look.bold, look.italic);
        if look.family == Family::Mono {
            return self.cell_of(face, look.em) * 64;
        }
        let advance = self.face(face).and_then(Face::font).and_then(|font| {
            let id = font.glyph(' ')?;
            Some(scaled(font.advance(id)?, look.em, font.units_per_em()))
        });
        // White between letters is rounded to at least a dot, so words come out a little wider than designed: spaces follow.
        advance.unwrap_or(look.em / 4) + 32 + look.em / 64
    }

    /// The units of a look that are kept.
    pub(super) fn kept(&self, look: &Look) -> Kept<'_> {
        Kept { faces: self, look: *look, units: self.units.get_or_make(*look, Arc::default) }
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
