//! From a picture's address to dots: loading, tones, screens; and the drawings that the program brings itself: signs, signals, codes.
//!
//! Knows nothing of where a picture stands. Reads files only through the manual's folder, and never lets the clock, the
//! number of threads or the order of requests play a part in a dot.

mod budget;
pub mod choice;
pub mod codes;
pub mod colour;
mod contrast;
pub mod cut_out;
pub mod error;
pub mod foreign;
pub mod ground;
pub mod load;
pub mod numbering;
mod parts;
mod picture_cache;
pub mod picture_set;
pub mod screens;
pub mod signals;
pub mod signs;
pub mod sums;
pub mod tone;
pub mod vector;

#[cfg(test)]
mod photograph_tests;
#[cfg(test)]
mod tests;

pub use error::Error;
pub use load::Remark;
pub use picture_set::{ContentId, PictureInfo, PictureSet, Request, Screened};
