//! `stripling chart`: the test strip of a printer, as a picture, as its bytes, or printed.

use std::path::Path;

use super::options::{Chart, Everywhere};
use super::output::{Output, Writes};
use super::report::Reporter;
use super::{Error, inputs, printing};
use crate::language::{Language, NONE_OWN};
use crate::layout::{self, Context, Style};
use crate::manual::Folder;
use crate::pictures::PictureSet;
use crate::printer::{self, Profile};
use crate::strip::{self, Strip, png};
use crate::type_setting::{self, Faces};

pub fn run(asked: &Chart, everywhere: &Everywhere, reporter: &Reporter) -> Result<(), Error> {
    let profile = inputs::printer(everywhere, reporter)?;
    let strip = strip(&profile);
    if asked.output.is_some() || asked.to.is_none() {
        let output = Output::choose(asked.output.as_deref(), Some("chart.png".into()))?;
        let bytes = match asked.output.as_deref().and_then(Path::extension) {
            Some(extension) if extension.eq_ignore_ascii_case("bin") => printer::encode(&strip, &profile),
            _ => png::write(&strip.bitmap, strip.resolution),
        };
        let writes = if bytes.first() == Some(&0x1B) { Writes::Bytes } else { Writes::Picture };
        output.spares(writes, &everywhere.files().collect::<Vec<_>>())?;
        output.write(&bytes)?;
        if let Output::File(path) = &output {
            reporter.say(format_args!("{}: test strip for {}", path.display(), profile.name));
        }
    }
    match &asked.to {
        Some(to) => {
            let bytes = printing::cut_up(&strip, &profile);
            printing::alone(to, "chart", bytes, &profile, printing::capabilities(&profile), reporter)
        }
        None => Ok(()),
    }
}

/// The test strip, as this printer can be told it.
pub fn strip(profile: &Profile) -> Strip {
    let faces = Faces::new(profile.resolution);
    let pictures = PictureSet::open(Folder::of_files([]), type_setting::FONT_FILES);
    let style = Style::named("plain").unwrap_or_else(|| unreachable!("plain is built in"));
    let paper = profile.paper();
    let bench = Context {
        faces: &faces,
        pictures: &pictures,
        style: &style,
        paper,
        language: Language::English,
        own_words: &NONE_OWN,
        panel_room: None,
        shrink: 100,
    };
    printer::as_told(strip::paint(&layout::chart(&bench, &profile.name), &faces), profile)
}
