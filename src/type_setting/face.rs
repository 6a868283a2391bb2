//! One face: a font file, opened when it is first needed, and what is asked of it.
//!
//! Never decides which face a character is set in.

use std::sync::{Arc, OnceLock, RwLock};

use harfrust::{Direction, Feature, ShapeOptions, ShapePlan, ShapePlanKey, Shaper, Tag, UnicodeBuffer};
use skrifa::FontRef;
use unicode_script::Script;

use super::font::{Font, FontFile, Kept};

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
    file: FontFile,
    index: u32,
    pub manner: Manner,
    kept: OnceLock<Option<Kept>>,
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
    pub fn new(file: FontFile, index: u32, manner: Manner) -> Face {
        Face { file, index, manner, kept: OnceLock::new(), plans: RwLock::default() }
    }

    /// Its file.
    pub fn file(&self) -> FontFile {
        self.file.clone()
    }

    /// Which face of the file it is.
    pub fn index(&self) -> u32 {
        self.index
    }

    /// The font, or `None` when the file is none.
    pub fn font(&self) -> Option<Font<'_>> {
        let file = FontRef::from_index((*self.file).as_ref(), self.index).ok()?;
        let kept = self.kept.get_or_init(|| Kept::of(&file)).as_ref()?;
        Some(Font { file, kept })
    }

    /// Whether the file is a font with glyphs.
    pub fn is_usable(&self) -> bool {
        self.font().is_some_and(|font| font.num_glyphs() > 0 && font.units_per_em() > 0)
    }

    pub fn covers(&self, character: char) -> bool {
        self.font().is_some_and(|font| font.glyph(character).is_some())
    }

    /// Shapes one run: one script, one direction. `em` in 1/64 dot. Glyphs come in visual order.
    pub fn shape(&self, text: &str, em: i32, script: Script, right_to_left: bool, language: &str) -> Vec<Shaped> {
        let Some(font) = self.font() else { return Vec::new() };
        let direction = if right_to_left { Direction::RightToLeft } else { Direction::LeftToRight };
        let language = harfrust::Language::new(language);
        let script = short_name(script).and_then(harfrust::Script::from_iso15924_tag);
        let mut buffer = UnicodeBuffer::new();
        buffer.push_str(text);
        buffer.set_direction(direction);
        if let Some(script) = script {
            buffer.set_script(script);
        }
        if let Some(language) = &language {
            buffer.set_language(language.clone());
        }
        let shaper = font.kept.shaping.shaper(&font.file).build();
        let plan = self.plan(&shaper, script, direction, language.as_ref());
        let options = ShapeOptions::new().plan(Some(&plan)).scale(Some(em)).features(self.features());
        let shaped = shaper.shape(buffer, options);
        let glyphs = shaped.glyph_infos().iter().zip(shaped.glyph_positions());
        glyphs
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
    fn plan(
        &self,
        shaper: &Shaper<'_>,
        script: Option<harfrust::Script>,
        direction: Direction,
        language: Option<&harfrust::Language>,
    ) -> Arc<ShapePlan> {
        let key = ShapePlanKey::new(script, direction).language(language).features(self.features());
        let known = |plans: &Vec<Arc<ShapePlan>>| plans.iter().find(|plan| key.matches(plan)).cloned();
        if let Some(plan) = self.plans.read().ok().and_then(|plans| known(&plans)) {
            return plan;
        }
        let plan = Arc::new(ShapePlan::new(shaper, direction, script, language, self.features()));
        if let Ok(mut plans) = self.plans.write()
            && known(&plans).is_none()
        {
            plans.push(plan.clone());
        }
        plan
    }
}

/// The four letters of a script (ISO 15924).
fn short_name(script: Script) -> Option<Tag> {
    script.short_name().as_bytes().first_chunk().map(Tag::new)
}

/// A feature that is switched off throughout.
const fn feature(tag: &[u8; 4]) -> Feature {
    Feature { tag: Tag::new(tag), value: 0, start: 0, end: u32::MAX }
}
