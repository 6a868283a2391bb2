//! What a plan is made of.

use super::columns;

/// A run of rows and the command that carries it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Piece {
    Feed { rows: u32 },
    Band(Band),
    Stripe { top: u32 },
    Slice { top: u32, rows: u32 },
}

impl Piece {
    pub fn rows(self) -> u32 {
        match self {
            Piece::Feed { rows } | Piece::Band(Band { rows, .. }) | Piece::Slice { rows, .. } => rows,
            Piece::Stripe { .. } => columns::ROWS,
        }
    }
}

/// Rows that go as raster, in the profile's way.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Band {
    pub top: u32,
    pub rows: u32,
    /// Bytes of each row that are sent.
    pub stride: u32,
}
