//! A font file, opened: its characters, widths and outlines.
//!
//! A font borrows its file, so what is costly to find out of it is kept beside the file (`Kept`), and a `Font` is put together from the two when
//! it is asked something.

use std::sync::{Arc, OnceLock};

use harfrust::ShaperData;
use skrifa::charmap::MappingIndex;
use skrifa::instance::{LocationRef, Size};
use skrifa::outline::{DrawSettings, Engine, GlyphStyles, HintingInstance, HintingOptions, OutlinePen, SmoothMode, Target};
use skrifa::raw::TableProvider;
use skrifa::{FontRef, GlyphId, MetadataProvider};

use super::memo::Memo;

/// The bytes of a font file, shared.
pub type FontFile = Arc<dyn AsRef<[u8]> + Send + Sync>;

/// How an outline is moved onto the grid of dots before it is covered.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Fitting {
    /// As designed.
    None,
    /// Stems and heights both land on whole dots.
    Full,
    /// Heights land on whole dots, stems stay as designed.
    Heights,
    /// By the instructions that the face brings along.
    Own,
}

/// What is found out of a font file once.
pub(super) struct Kept {
    characters: MappingIndex,
    units_per_em: u16,
    glyphs: u32,
    pub(super) shaping: ShaperData,
    /// Which script a glyph is fitted by; found when the first one is.
    styles: OnceLock<GlyphStyles>,
    /// By em in 1/64 dot.
    hinters: Memo<(i32, Fitting), Option<Arc<HintingInstance>>>,
}

impl Kept {
    /// `None` when it is not a font that says how large its em is.
    pub fn of(file: &FontRef) -> Option<Kept> {
        Some(Kept {
            characters: MappingIndex::new(file),
            units_per_em: file.head().ok()?.units_per_em(),
            glyphs: u32::from(file.maxp().ok()?.num_glyphs()),
            shaping: ShaperData::new(file),
            styles: OnceLock::new(),
            hinters: Memo::new(),
        })
    }
}

/// A font that can be asked.
pub(super) struct Font<'a> {
    pub(super) file: FontRef<'a>,
    pub(super) kept: &'a Kept,
}

impl Font<'_> {
    pub fn units_per_em(&self) -> u16 {
        self.kept.units_per_em
    }

    pub fn num_glyphs(&self) -> u32 {
        self.kept.glyphs
    }

    /// The glyph of a character, if it has one.
    pub fn glyph(&self, character: char) -> Option<u32> {
        self.kept.characters.charmap(&self.file).map(character).filter(|&id| id != GlyphId::NOTDEF).map(GlyphId::to_u32)
    }

    /// How far a glyph moves on, in units of the em.
    pub fn advance(&self, id: u32) -> Option<f32> {
        self.file.glyph_metrics(Size::unscaled(), LocationRef::default()).advance_width(GlyphId::new(id))
    }

    /// Where the ink of a glyph begins and ends, in units of the em from its origin.
    pub fn ink(&self, id: u32) -> Option<(f32, f32)> {
        let metrics = self.file.glyph_metrics(Size::unscaled(), LocationRef::default());
        metrics.bounds(GlyphId::new(id)).map(|bounds| (bounds.x_min, bounds.x_max))
    }

    /// Draws a glyph's outline at an em of `em` / 64 dots; whether it could.
    pub fn draw(&self, id: u32, em: i32, fitting: Fitting, pen: &mut impl OutlinePen) -> bool {
        let outlines = self.file.outline_glyphs();
        let Some(outline) = outlines.get(GlyphId::new(id)) else { return false };
        let size = Size::new(em as f32 / 64.0);
        let plain = || DrawSettings::unhinted(size, LocationRef::default());
        let hinter = self.kept.hinters.get_or_make((em, fitting), || {
            let styles = || Some(self.kept.styles.get_or_init(|| GlyphStyles::new(&outlines)).clone());
            let (engine, target) = match fitting {
                Fitting::None => return None,
                Fitting::Full => (Engine::Auto(styles()), Target::Mono),
                Fitting::Heights => (Engine::Auto(styles()), SmoothMode::Light.into()),
                Fitting::Own => (Engine::Interpreter, Target::Mono),
            };
            HintingInstance::new(&outlines, size, LocationRef::default(), HintingOptions { engine, target }).ok().map(Arc::new)
        });
        match hinter {
            Some(hinter) => outline.draw(DrawSettings::hinted(&hinter, false), pen).is_ok(),
            None => outline.draw(plain(), pen).is_ok(),
        }
    }
}
