//! The faces that come with the program, which look is set in which of them, and how each is cut at which size.
//!
//! The choices are measured: see `fonts/README.md` for the table, `examples/measure_type.rs` for the measuring.

use std::sync::Arc;

use super::face::{Face, Manner};
use super::font::Fitting;
use super::glyph::Rasterising;
use super::{FaceId, Family};

const SANS: FaceId = FaceId(0);
const MONO: FaceId = FaceId(4);
const LETTERING: FaceId = FaceId(6);
const HEBREW: FaceId = FaceId(7);
const ARABIC: FaceId = FaceId(9);
const SIGNS: [FaceId; 3] = [FaceId(11), FaceId(12), FaceId(13)];
/// The lettering again, slanted and heavier: for what is stressed.
const SLANTED: FaceId = FaceId(14);

macro_rules! files {
    ($($name:literal $manner:ident,)*) => {
        /// The files of all shipped faces, in the order of the ids above: for drawings that hold text.
        pub static FONT_FILES: &[&[u8]] = &[$(include_bytes!(concat!("../../fonts/", $name)),)*];
        const NAMES: &[&str] = &[$($name,)*];
        const MANNERS: &[Manner] = &[$(Manner::$manner,)*];
    };
}

files! {
    "sans-regular.ttf" Proportional,
    "sans-bold.ttf" Proportional,
    "sans-italic.ttf" Proportional,
    "sans-bold-italic.ttf" Proportional,
    "mono-regular.ttf" Fixed,
    "mono-bold.ttf" Fixed,
    "lettering-bold.otf" Proportional,
    "hebrew-regular.ttf" Proportional,
    "hebrew-bold.ttf" Proportional,
    "arabic-regular.ttf" Proportional,
    "arabic-bold.ttf" Proportional,
    "symbols.ttf" Sign,
    "symbols-two.ttf" Sign,
    "emoji.ttf" Sign,
    "lettering-bold.otf" Proportional,
}

/// The bytes of a shipped face by the name of its file, such as `sans-regular.ttf`.
pub fn font_file(name: &str) -> Option<&'static [u8]> {
    NAMES.iter().position(|shipped| *shipped == name).map(|at| FONT_FILES[at])
}

/// All of them, in the order of the ids above.
pub(super) fn faces() -> Vec<Face> {
    FONT_FILES.iter().zip(MANNERS).map(|(&file, &manner)| Face::new(Arc::new(file), 0, manner)).collect()
}

fn styled(first: FaceId, bold: bool, italic: bool) -> FaceId {
    FaceId(first.0 + u16::from(bold) + 2 * u16::from(italic))
}

/// The face a look is named after.
pub(super) fn primary(family: Family, bold: bool, italic: bool) -> FaceId {
    match family {
        Family::Sans | Family::Title => styled(SANS, bold, italic),
        Family::Mono => styled(MONO, bold, false),
        Family::Lettering if italic => SLANTED,
        Family::Lettering => LETTERING,
    }
}

/// The faces with letters for a look, best first. Beside plain lettering the plain sans stands better than the bold; headings in
/// lettering say that they are bold, and are so in every writing.
pub(super) fn letters(family: Family, bold: bool, italic: bool) -> Vec<FaceId> {
    let mut chain = vec![primary(family, bold, italic)];
    if !matches!(family, Family::Sans | Family::Title) {
        chain.push(styled(SANS, bold, italic));
    }
    chain.extend([styled(HEBREW, bold, false), styled(ARABIC, bold, false)]);
    chain
}

/// The face that a bold one has to stand out from.
pub(super) fn plainer(face: FaceId) -> Option<FaceId> {
    let bold = [SANS, FaceId(SANS.0 + 2), MONO, HEBREW, ARABIC].map(|first| FaceId(first.0 + 1));
    if face == SLANTED {
        return Some(LETTERING);
    }
    bold.contains(&face).then(|| FaceId(face.0 - 1))
}

/// The bold twin of a face that was added: the same outlines, their strokes thickened.
pub(super) fn emboldened(added: FaceId) -> FaceId {
    FaceId(added.0 + 1)
}

fn is_emboldened(face: FaceId) -> bool {
    face > SLANTED && (face.0 - SLANTED.0).is_multiple_of(2)
}

/// The faces with signs and pictures, asked last.
pub(super) fn signs() -> [FaceId; 3] {
    SIGNS
}

/// How a glyph is cut before anything is thickened; `em` in 1/64 dot. What cannot be fitted to columns (slanted strokes, joined
/// letters, pictures, the writing that an added face brings, unless it sets our own in a shipped face's `stead`) is kept from thinning by a lower threshold where it is small.
pub(super) fn rasterising(face: FaceId, manner: Manner, em: i32, stead: bool) -> Rasterising {
    let joined = face == ARABIC || face == FaceId(ARABIC.0 + 1);
    let slanted = face == FaceId(SANS.0 + 2) || face == SLANTED;
    let added = face > SLANTED && !stead;
    let free = manner == Manner::Sign || joined || added;
    let threshold = if (slanted || free) && em < 24 * 64 {
        96
    } else if free {
        104
    } else {
        128
    };
    Rasterising {
        fitting: if free { Fitting::None } else { Fitting::Full },
        threshold,
        // In smaller type the white inside an ideograph is one dot wide, and a thicker stroke would close it.
        thicken: u8::from(is_emboldened(face) && em >= 20 * 64),
        slant: if face == SLANTED { 20 } else { 0 },
    }
}
