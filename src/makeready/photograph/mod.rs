//! From telephones' pictures of one strip to plain numbers: what its printer does, and how sure that is.
//!
//! Two strips carry marks. [`find`] finds them, [`camera`] learns from them how the camera stood and how the paper is bent. Of the strip
//! with the squares ([`sheet`]) [`flat`] lays the paper flat and evens its light, and [`measure`] reads. Of the ways strip [`trials`]
//! tells which pictures came out right, by their [`likeness`] to what they should be. What cannot be read is refused in words. A picture
//! knows no millimetres: it knows how long a row is beside a column, and a ruler between the two long lines gives the rest.

pub mod camera;
pub mod drawn;
pub mod find;
pub mod flat;
pub mod likeness;
pub mod measure;
pub mod picture;
pub mod sheet;
pub mod told;
pub mod trials;

pub use measure::{Ratio, Reading, read};
pub use picture::Picture;
pub use told::{answers, told};

/// Why a photograph says nothing, and what to do.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum Refusal {
    #[error("it is no picture that can be read ({0}): give a JPEG or PNG of at most 64 megapixels, as the telephone took it")]
    Picture(String),
    #[error(
        "{0} of the strip's black squares were found, and six are needed, two at each side: lay the strip flat on a table, go so near that it fills the picture, with all four corners in it, and wait until it is sharp"
    )]
    Marks(usize),
    #[error("one of its squares is there twice: photograph one strip alone")]
    Twice,
    #[error("squares of two strips are in it: photograph one strip alone, with nothing printed beside it")]
    Strips,
    #[error(
        "the squares do not lie as they were printed: smooth the strip out flat on a table; or it was printed for another width: print it again with --again"
    )]
    Bent,
    #[error(
        "the picture is cut off: step back until all four corners of the strip are in it, or take the strip in parts that overlap"
    )]
    CutOff,
    #[error(
        "it is too small in the picture, {0:.1} pixels a dot, and 0.7 are needed: go nearer until the strip fills the picture, or take it in parts"
    )]
    Small(f64),
    #[error(
        "it is too blurred, edges are {0:.1} dots soft: hold still with both hands, no nearer than the telephone can focus, and wait until it is sharp"
    )]
    Blurred(f64),
    #[error("it is too oblique: lay the strip flat on a table and hold the telephone straight above its middle")]
    Oblique,
    #[error(
        "its white is too bright to tell tones: turn the brightness of the picture down, switch the flash off, or leave the sun"
    )]
    Bright,
    #[error(
        "it is too dark, or too pale, to tell black from white: photograph it by daylight or under a lamp, and not against the light"
    )]
    Dark,
    #[error(
        "the light on it is too uneven: a shadow's edge or a reflection lies on it. Turn so that neither your shadow nor a lamp's reflection falls on the strip"
    )]
    Uneven,
    #[error(
        "black squares beside {0} of the pictures of ways were found, and two are needed: lay the strip flat on a table, go so near that its width fills half the picture, and wait until it is sharp; a long strip is taken in parts"
    )]
    Ways(usize),
    #[error(
        "the ways strip is too small in it, {0:.1} pixels a dot, and 0.55 are needed: go nearer, and take the strip in parts that overlap"
    )]
    SmallWays(f64),
    #[error(
        "the pictures of ways do not stand in their order: smooth the strip out flat on a table, and photograph it in one piece or in parts, each by itself"
    )]
    Disordered,
    #[error(
        "numbers that undo each other all look right in it: that is the picture on the screen, not paper. Photograph the strip that the printer printed"
    )]
    Screen,
}
