//! `stripling proof`: a strip becomes a picture.

use super::Error;
use super::options::Look;
use super::report::Trouble;
use crate::printer::Profile;
use crate::strip::{Strip, paper, png};

/// The picture of a strip: its dots and nothing else, or the paper as it will lie on the table.
///
/// # Errors
/// [`Error::Usage`] when the strip is too long to be shown as paper.
pub fn picture(strip: &Strip, look: Look, profile: &Profile) -> Result<Vec<u8>, Error> {
    match look {
        Look::Dots => Ok(png::write(&strip.bitmap, strip.resolution)),
        Look::Paper => paper::write(strip, profile.resolution.dots(profile.paper_width)).ok_or_else(|| {
            let message = format!("{} rows are too long a strip to be shown as paper", strip.bitmap.height());
            Error::Usage(Trouble::new(message).hint(format!("up to {} are; --as dots shows any length", paper::MOST_ROWS)))
        }),
    }
}
