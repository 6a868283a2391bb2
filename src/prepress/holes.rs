//! Pictures, signs and codes that cannot be used: a proof has frames for them, and nothing with a frame is printed.

use super::trouble::{Error, Trouble};
use crate::manual::source::Spot;

/// Remarks that leave a hole in the strip, a frame on its proof: it cannot be printed until they are mended.
pub const HOLES: [&str; 6] =
    ["picture-unusable", "picture-not-gathered", "model-unusable", "code-unusable", "unknown-sign", "unknown-signal"];

/// A picture, sign or code that cannot be used.
pub(super) struct Hole {
    pub message: String,
    pub hint: Option<String>,
    pub spot: Spot,
    /// The first unit that asks for it, where it is not the same for all.
    pub unit: Option<String>,
}

/// One error for all of them.
pub(super) fn refused(mut holes: Vec<Hole>) -> Error {
    let named = |hole: &Hole| match &hole.unit {
        Some(unit) => format!("{} (unit {unit})", hole.message),
        None => hole.message.clone(),
    };
    let first = holes.remove(0);
    let mut message = named(&first);
    for hole in &holes {
        message.push_str(&format!("\n{}: {}", hole.spot.place, named(hole)));
    }
    if !holes.is_empty() {
        let count = holes.len() + 1;
        message =
            format!("{count} pictures, signs or codes cannot be used, so nothing is printed:\n{}: {message}", first.spot.place);
    }
    let trouble = Trouble::new(message).maybe_hint(first.hint);
    Error::Input(trouble.at_spot(Some(&first.spot)))
}
