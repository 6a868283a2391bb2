//! `stripling proof`: a strip becomes a picture.

use super::options::Look;
use crate::printer::Profile;
use crate::strip::{Strip, paper, png};

/// The picture of a strip: its dots and nothing else, or the paper as it will lie on the table.
pub fn picture(strip: &Strip, look: Look, profile: &Profile) -> Vec<u8> {
    match look {
        Look::Dots => png::write(&strip.bitmap, strip.resolution),
        Look::Paper => paper::write(strip, profile.resolution.dots(profile.paper_width)),
    }
}
