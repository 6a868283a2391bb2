//! Pictures of one paragraph with nothing between them.

use super::{Room, figure};
use crate::layout::bench::Bench;
use crate::layout::galley::Galley;
use crate::manual::document::Figure;

/// One under the other.
pub fn row(bench: &Bench, figures: &[Figure], room: Room) -> Galley {
    let parts = figures.iter().map(|figure| figure::figure(bench, figure, figure.picture_span, room)).collect();
    Galley::stack("row", parts)
}
