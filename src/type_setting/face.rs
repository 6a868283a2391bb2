//! One face: a font file, opened when it is first needed, and what is asked of it.
//!
//! Never decides which face a character is set in.

use std::sync::{Arc, OnceLock, RwLock};

use harfrust::{Buffer, Direction, Feature, Font, Script, ShapeOptions, ShapePlan, ShapePlanKey, ShaperFont, Tag};
use skrifa::GlyphId;
use skrifa::font::Blob;

/// How a face is drawn and spaced, apart from its outlines.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Manner {
    /// Letters stand as far apart as their white asks.
    Proportional,
    /// Every character takes the same number of whole dots.
    Fixed,
    /// Pictures and signs: drawn as designed, never fitted to stems.
    Sign,
}

/// A font file that is opened on first use.
pub(super) struct Face {
    bytes: Blob,
    index: u32,
    pub manner: Manner,
    font: OnceLock<Option<Font>>,
    plans: RwLock<Vec<Arc<ShapePlan>>>,
}

/// A shaped glyph, still at its ideal place; lengths in 1/64 dot.
#[derive(Clone, Copy, Debug)]
pub(super) struct Shaped {
    pub id: u32,
    /// Byte offset into the text that was shaped.
    pub cluster: u32,
    pub advance: i32,
    pub x: i32,
    pub y: i32,
}

impl Face {
    pub fn new(bytes: impl Into<Blob>, index: u32, manner: Manner) -> Face {
        Face { bytes: bytes.into(), index, manner, font: OnceLock::new(), plans: RwLock::default() }
    }

    /// Its file.
    pub fn file(&self) -> Blob {
        self.bytes.clone()
    }

    /// Which face of the file it is.
    pub fn index(&self) -> u32 {
        self.index
    }

    /// The font, or `None` when the file is none.
    pub fn font(&self) -> Option<&Font> {
        self.font.get_or_init(|| Font::new(self.bytes.clone(), self.index)).as_ref()
    }

    /// Whether the file is a font with glyphs.
    pub fn is_usable(&self) -> bool {
        self.font().is_some_and(|font| font.num_glyphs() > 0 && font.units_per_em() > 0)
    }

    pub fn covers(&self, character: char) -> bool {
        self.font().is_some_and(|font| font.charmap().map_unicode(character).is_some_and(|id| id != GlyphId::NOTDEF))
    }

    /// Shapes one run: one script, one direction. `em` in 1/64 dot. Glyphs come in visual order.
    pub fn shape(&self, text: &str, em: i32, script: Script, right_to_left: bool, language: &str) -> Vec<Shaped> {
        let Some(font) = self.font() else { return Vec::new() };
        let mut buffer = Buffer::new();
        buffer.push_str(text);
        let direction = if right_to_left { Direction::RightToLeft } else { Direction::LeftToRight };
        buffer.set_direction(direction);
        buffer.set_script(Some(script));
        buffer.set_language(harfrust::Language::new(language));
        let plan = self.plan(font, script, direction, language);
        let shaper = ShaperFont::new(font).with_scale(em);
        if harfrust::shape(&shaper, &mut buffer, ShapeOptions::new().plan(Some(&plan)).features(self.features())).is_err() {
            return Vec::new();
        }
        buffer
            .glyph_infos()
            .iter()
            .zip(buffer.glyph_positions())
            .map(|(info, position)| Shaped {
                id: info.glyph_id,
                cluster: info.cluster,
                advance: position.x_advance,
                x: position.x_offset,
                y: position.y_offset,
            })
            .collect()
    }

    /// In a face of fixed width every character stands for itself: `!=` is two signs, not one.
    fn features(&self) -> &'static [Feature] {
        const EACH_FOR_ITSELF: [Feature; 2] = [feature(b"calt"), feature(b"liga")];
        if self.manner == Manner::Fixed { &EACH_FOR_ITSELF } else { &[] }
    }

    /// The plan for such runs, made once.
    fn plan(&self, font: &Font, script: Script, direction: Direction, language: &str) -> Arc<ShapePlan> {
        let language = harfrust::Language::new(language);
        let key = ShapePlanKey::new(font, Some(script), direction).language(language.as_ref()).features(self.features());
        let known = |plans: &Vec<Arc<ShapePlan>>| plans.iter().find(|plan| key.matches(plan)).cloned();
        if let Some(plan) = self.plans.read().ok().and_then(|plans| known(&plans)) {
            return plan;
        }
        let plan = Arc::new(ShapePlan::new(font, direction, Some(script), language.as_ref(), self.features()));
        if let Ok(mut plans) = self.plans.write()
            && known(&plans).is_none()
        {
            plans.push(plan.clone());
        }
        plan
    }
}

/// A feature that is switched off throughout.
const fn feature(tag: &[u8; 4]) -> Feature {
    Feature { tag: Tag::new(tag), value: 0, start: Feature::GLOBAL_START, end: Feature::GLOBAL_END }
}
