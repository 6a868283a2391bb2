//! From styled text to lines of placed glyphs: faces, shaping, breaking, hyphenation, and each glyph's own dots.
//!
//! Never decides where a paragraph stands on the strip, and knows nothing of what its text means.
//!
//! The way of a paragraph: its pieces become one text (`stretch`), cut into units that are shaped (`fallback`, `face`) and set on
//! whole dots (`unit`); the places where lines may end (`breaks`, `hyphenation`) are weighed as a whole (`optimum`); the lines
//! are put together in visual order (`line`). Glyphs become dots in `glyph`, by choices in `shipped` that were measured.

mod breaks;
mod face;
mod faces;
mod fallback;
mod fitness;
mod font;
mod glyph;
mod hyphenation;
mod line;
mod memo;
mod missing;
mod optimum;
mod paragraph;
mod shipped;
mod stretch;
#[cfg(test)]
mod tests;
#[cfg(test)]
mod unicode_tests;
mod unit;

use std::sync::Arc;

pub use faces::{FaceSource, Faces};
pub use fitness::{Facts, facts};
pub use font::{Fitting, FontFile};
pub use glyph::Rasterising;
pub use shipped::{FONT_FILES, font_file};

use crate::bitmap::Bitmap;
use crate::language::Language;
use crate::lengths::{Dots, Pt};
use crate::manual::source::Span;

/// Stands for an object in the text of a line (UAX #9: neutral).
pub const OBJECT: char = '\u{FFFC}';

/// Which of the faces a text is set in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Family {
    #[default]
    Sans,
    Mono,
    /// Comic lettering; bold whatever the look says, for its plain strokes are too thin.
    Lettering,
    /// Titles and headings where the writer brings a face for them; the sans where not.
    Title,
}

/// Everything that chooses the look of a run of text.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Type {
    pub family: Family,
    pub bold: bool,
    pub italic: bool,
    pub size: Pt,
}

/// One run of a paragraph.
#[derive(Clone, Debug)]
pub struct Piece<'a> {
    pub content: Content<'a>,
    pub span: Span,
}

#[derive(Clone, Debug)]
pub enum Content<'a> {
    Text {
        text: &'a str,
        look: Type,
        strike: bool,
        /// How far above the baseline it stands (note calls); 0 for running text.
        rise: Dots,
        /// To be typed or found as it stands (code, an address): never divided with a hyphen.
        verbatim: bool,
    },
    /// Something of a given size that stands in the line: a keycap, a picture. Breaks like an ideographic character (UAX #14
    /// class ID) unless glued by neighbouring text.
    Object { id: usize, width: Dots, ascent: Dots, descent: Dots },
    /// A forced end of line.
    Break,
}

/// The room a paragraph has, and how it is to be filled.
#[derive(Clone, Debug)]
pub struct Measure {
    /// Width of every line.
    pub width: Dots,
    pub justified: bool,
    /// Words may be divided to even the lines. A word that no line can hold is divided all the same.
    pub hyphenate: bool,
    /// Lines as even as their number allows: headings, captions.
    pub balanced: bool,
    /// Figures all take the same width, so that they stand under each other.
    pub tabular: bool,
    pub language: Language,
}

impl Measure {
    /// Lines of this width as running text has them, neither justified nor hyphenated.
    pub fn new(width: Dots, language: Language) -> Measure {
        Measure { width, justified: false, hyphenate: false, balanced: false, tabular: false, language }
    }
}

/// One line, set. x of its fragments runs from 0 at the left edge of the measure, in visual order. Where the paragraph runs from
/// right to left the line ends flush with the measure's right edge.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    pub fragments: Vec<Fragment>,
    /// From the left edge to the end of the last fragment (trailing space excluded).
    pub width: Dots,
    pub ascent: Dots,
    pub descent: Dots,
    /// Logical text of the line as printed, a hyphen at the end included. [`OBJECT`] stands for each object.
    pub text: String,
    /// From the first to the last run of the line.
    pub span: Span,
    /// Ends with a hyphen that the writer did not type.
    pub hyphenated: bool,
    /// A word had to be broken where no break is allowed.
    pub forced: bool,
}

impl Line {
    /// White before its first ink.
    pub fn indent(&self) -> Dots {
        self.fragments.iter().map(|fragment| fragment.x).min().unwrap_or_default()
    }
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fragment {
    pub x: Dots,
    pub width: Dots,
    /// Index into the paragraph's pieces.
    pub piece: usize,
    pub ink: FragmentInk,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum FragmentInk {
    Glyphs { glyphs: Vec<Glyph>, strike: Option<Strike> },
    Object { id: usize },
}

/// A line struck through text: top relative to the baseline (negative is above), thickness.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Strike {
    pub top: Dots,
    pub thickness: Dots,
}

/// A glyph at its whole-dot position relative to the fragment's x and the line's baseline (y down).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Glyph {
    pub key: GlyphKey,
    pub x: i32,
    pub y: i32,
    /// Byte of the line's text at which its character begins; that of several glyphs may be one.
    pub at: u32,
}

/// What a glyph's dots depend on, and nothing else.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct GlyphKey {
    pub face: FaceId,
    pub id: u32,
    /// Size of the em in 1/64 dot.
    pub em: i32,
}

/// Index of a loaded face.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct FaceId(pub u16);

/// The dots of a glyph; `left` and `top` place them relative to the origin on the baseline (top negative above it).
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct GlyphDots {
    pub bitmap: Bitmap,
    pub left: i32,
    pub top: i32,
}

/// Vertical measures of a look.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Vertical {
    pub ascent: Dots,
    pub descent: Dots,
    pub cap_height: Dots,
    pub x_height: Dots,
}

/// A set paragraph.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Paragraph {
    pub lines: Vec<Line>,
    /// Characters for which no face has a glyph, each with the piece it stands in.
    pub missing: Vec<(char, usize)>,
}

/// What draws the glyphs of a face outside of dots.
#[derive(Clone)]
pub struct Drawn {
    /// Its file.
    pub file: FontFile,
    /// Which face of the file.
    pub index: u32,
    /// How far strokes lean over beyond their design, in percent of their height.
    pub slant: u8,
    /// Its strokes are heavier than the file has them.
    pub heavier: bool,
    /// The glyph that stands between words.
    pub space: Option<u32>,
}

/// Dots that are kept and shared.
pub type Dotted = Arc<GlyphDots>;

/// What can go wrong with a face that the writer brings.
#[derive(Debug, thiserror::Error, PartialEq, Eq)]
pub enum Error {
    #[error("the face for \"{tag}\" is not a font that can be used")]
    NotAFont { tag: String },
}

impl Error {
    /// What to do about it.
    pub fn hint(&self) -> &'static str {
        match self {
            Error::NotAFont { .. } => "give an OpenType or TrueType file (.ttf, .otf) with outlines",
        }
    }
}
