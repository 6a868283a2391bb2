//! A strip: the dots that will stand on the paper, and where it is folded and cut. Knows nothing of how the dots came to be.

pub mod map;
pub mod painter;
pub mod paper;
pub mod png;

pub use painter::paint;

use crate::bitmap::Bitmap;
use crate::lengths::Resolution;

/// From one fold to the next, in rows: `top` belongs to the panel, `bottom` to the one below.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Panel {
    pub top: u32,
    pub bottom: u32,
}

/// A whole strip in dots.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Strip {
    pub bitmap: Bitmap,
    pub resolution: Resolution,
    pub panels: Vec<Panel>,
    /// Rows, rising, above which the strip is cut. The cut at its end is not listed.
    pub cuts: Vec<u32>,
}

impl Strip {
    /// A strip of one panel, without a cut inside.
    pub fn new(bitmap: Bitmap, resolution: Resolution) -> Strip {
        let panels = vec![Panel { top: 0, bottom: bitmap.height() }];
        Strip { bitmap, resolution, panels, cuts: Vec::new() }
    }
}
