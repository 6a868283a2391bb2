//! From telephones' pictures of one strip to plain numbers: what its printer does, and how sure that is.
//!
//! The strip ([`sheet`]) carries marks; [`find`] finds them, [`camera`] learns from them how the camera stood and how the paper is
//! bent, [`flat`] lays the paper flat and evens its light, [`measure`] reads. What cannot be read is refused in words. A picture knows
//! no millimetres: it knows how long a row is beside a column, and a ruler between the two long lines gives the rest.

pub mod camera;
pub mod drawn;
pub mod find;
pub mod flat;
pub mod marks;
pub mod measure;
pub mod picture;
pub mod sheet;
pub mod told;

pub use measure::{Ratio, Reading, read};
pub use picture::Picture;
pub use told::{answers, told};

/// Why a photograph says nothing.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum Refusal {
    #[error("it is no picture that can be read ({0}): a JPEG or PNG of at most 64 megapixels")]
    Picture(String),
    #[error(
        "{0} of the strip's black squares were found, and six are needed: is the whole width of the strip in the picture, sharp, and not too small?"
    )]
    Marks(usize),
    #[error("one of its squares is there twice: photograph one strip at a time")]
    Twice,
    #[error("the squares do not lie as they were printed: the strip is creased, or was printed for another width")]
    Bent,
    #[error("the picture is cut off: what a square at the edge belongs to is not in it")]
    CutOff,
    #[error("it is too small in the picture: {0:.1} pixels a dot, and 0.7 are needed. Go closer, or take it in parts")]
    Small(f64),
    #[error("it is too blurred: edges are {0:.1} dots soft. Hold still, and wait until it is sharp")]
    Blurred(f64),
    #[error("it is too oblique: hold the telephone straight above the strip")]
    Oblique,
    #[error("its white is too bright to tell tones: turn the brightness down, or leave the sun")]
    Bright,
    #[error("it is too dark, or too pale, to tell black from white")]
    Dark,
    #[error("the light on it is too uneven: a shadow's edge or a reflection lies on it")]
    Uneven,
}
