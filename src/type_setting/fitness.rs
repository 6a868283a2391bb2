//! How well a font file would do for characters that no face has: for choosing one among many.
//!
//! Reads bytes that it is given and chooses nothing itself.

use std::collections::BTreeSet;

use skrifa::attribute::{Stretch, Style};
use skrifa::raw::{FileRef, TableProvider};
use skrifa::string::StringId;
use skrifa::{FontRef, GlyphId, MetadataProvider};

use crate::language::Language;

/// One face of a font file, measured against what is wanted. The larger one does better.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Fitness {
    /// How many of the wanted characters it has.
    pub covered: usize,
    /// It is named in the language too: made for its readers. One character can have several forms (Han unification).
    native: bool,
    /// Its maker says that it serves the code page of the language (OS/2 table).
    page: bool,
    /// Upright, of normal width.
    plain: bool,
    /// Without serifs.
    sans: bool,
    /// Nearness of its weight to regular, 400.
    weight: u32,
}

/// A face in a font file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Facts {
    pub family: String,
    /// Which face of a collection.
    pub index: u32,
    pub fitness: Fitness,
}

/// What is known of each face in a font file that has any of the wanted characters, in the order of the file.
pub fn facts(bytes: &[u8], wanted: &BTreeSet<char>, language: Language) -> Vec<Facts> {
    let Ok(file) = FileRef::new(bytes) else { return Vec::new() };
    let fonts = file.fonts().enumerate().filter_map(|(index, font)| Some((index as u32, font.ok()?)));
    fonts.filter_map(|(index, font)| facts_of(&font, index, wanted, language)).collect()
}

fn facts_of(font: &FontRef<'_>, index: u32, wanted: &BTreeSet<char>, language: Language) -> Option<Facts> {
    let charmap = font.charmap();
    let has = |&&character: &&char| charmap.map(character).is_some_and(|id| id != GlyphId::NOTDEF);
    let covered = wanted.iter().filter(has).count();
    // Faces of pictures only have no outlines to cut.
    let outlined = font.glyf().is_ok() || font.cff().is_ok() || font.cff2().is_ok();
    if covered == 0 || !outlined {
        return None;
    }
    let names = || font.localized_strings(StringId::FAMILY_NAME);
    let family = names().english_or_first().map(|name| name.to_string()).filter(|name| !name.trim().is_empty())?;
    let main = |tag: &str| tag.split('-').next().unwrap_or_default().to_ascii_lowercase();
    let own = main(language.tag());
    let native = names().any(|name| name.language().is_some_and(|tag| main(tag) == own));
    let attributes = font.attributes();
    let os2 = font.os2().ok();
    let pages = os2.as_ref().and_then(|os2| os2.ul_code_page_range_1()).unwrap_or(0);
    let panose: [u8; 2] = os2.as_ref().and_then(|os2| os2.panose_10().first_chunk().copied()).unwrap_or_default();
    let fitness = Fitness {
        covered,
        native,
        page: code_page(language).is_some_and(|bit| pages >> bit & 1 == 1),
        plain: attributes.style == Style::Normal && attributes.stretch == Stretch::NORMAL,
        // Family kind 2 is text; serif styles 2 to 10 have serifs (PANOSE, OpenType OS/2).
        sans: panose[0] == 2 && panose[1] > 10,
        weight: 1000 - (attributes.weight.value() as i64 - 400).unsigned_abs().min(1000) as u32,
    };
    Some(Facts { family, index, fitness })
}

/// The bit of a language in ulCodePageRange1 (OpenType OS/2), for writings that no shipped face has.
fn code_page(language: Language) -> Option<u32> {
    match language {
        Language::Thai => Some(16),
        Language::Japanese => Some(17),
        Language::SimplifiedChinese => Some(18),
        Language::Korean => Some(19),
        Language::TraditionalChinese => Some(20),
        _ => None,
    }
}
