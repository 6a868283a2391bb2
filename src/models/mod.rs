//! From the model of a thing to the lines of its drawing: reading, joining, projecting, hiding, strokes, taking apart.
//!
//! Ends in strokes; painting them is the strip's work. Reads files only through the manual's folder, and never lets the clock, the number
//! of threads or the order of a hash play a part in a line.

mod apart;
pub mod arrow;
mod chain;
pub mod draw;
mod equal;
pub mod error;
pub mod geometry;
mod hatch;
pub mod inset;
pub mod join;
mod lines;
mod meet;
pub mod model_cache;
mod picture;
pub mod read;
mod scene;
mod seen;
mod stage;
pub mod strokes;
pub mod view;
mod visible;

#[cfg(test)]
mod tests;

pub use error::Error;
pub use model_cache::{ModelId, Models};
pub use picture::{Drawing, Picture, Trouble};
