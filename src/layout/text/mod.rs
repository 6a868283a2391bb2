//! Inlines to lines of text: every paragraph, heading, caption, cell and note is set here.

mod gathering;
mod inlines;
mod setting;

pub use gathering::{Gathering, isolated, one_line, plain};
pub use inlines::{inlines, joints};
pub use setting::{Position, Setting};
