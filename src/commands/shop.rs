//! What nearly every command opens first: the printer, and any file a command is given.

use std::fs::File;
use std::io::{self, Read};
use std::path::Path;

use super::Error;
use super::options::Everywhere;
use super::output::plainly;
use super::report::{Reporter, Trouble};
use crate::printer::{self, Profile, profile};
use crate::units::Mm;

/// Largest printer description.
const LARGEST_PROFILE: u64 = 1 << 20;

/// The printer that is meant: `--printer`, else the generic one for the manual's `paper`, else the default.
///
/// # Errors
/// [`Error::Usage`] for a name that no generic printer has, [`Error::Input`] for a file that cannot be used and for a paper no
/// generic printer takes.
pub fn printer(everywhere: &Everywhere, paper: Option<Mm>, reporter: &Reporter) -> Result<Profile, Error> {
    match (&everywhere.printer, paper) {
        (Some(named), _) if is_file(named) => printer_file(Path::new(named), reporter),
        (Some(named), _) => Profile::named(named).map_err(|error| Error::Usage(trouble(&error, None))),
        (None, Some(paper)) => Profile::for_paper(paper).ok_or_else(|| {
            let message = format!("no generic printer takes paper {paper} wide");
            Error::Input(Trouble::new(message).hint("describe yours in a TOML file: --printer FILE.toml"))
        }),
        (None, None) => Profile::named(profile::DEFAULT).map_err(|error| Error::Usage(trouble(&error, None))),
    }
}

/// A name with a dot or a slash is a file; no generic printer has one.
fn is_file(named: &str) -> bool {
    named.contains(['.', '/', '\\'])
}

fn printer_file(path: &Path, reporter: &Reporter) -> Result<Profile, Error> {
    let bytes = read(path, LARGEST_PROFILE)?;
    let name = path.display().to_string();
    let text = String::from_utf8(bytes).map_err(|_| Error::Input(Trouble::new(format!("{name} is not UTF-8 text"))))?;
    let (profile, notices) = Profile::read_toml(&text, &name).map_err(|error| Error::Input(trouble(&error, Some(&text))))?;
    for notice in notices {
        reporter.notice(&Trouble::new(notice.message).at(Some(notice.place)).text(&text).maybe_hint(notice.hint));
    }
    Ok(profile)
}

/// An error of the printer's room, ready to be shown. `text` is the printer's file, for the excerpt.
pub fn trouble(error: &printer::Error, text: Option<&str>) -> Trouble {
    let trouble = Trouble::new(error.to_string()).at(error.place()).maybe_hint(error.hint());
    match text {
        Some(text) => trouble.text(text),
        None => trouble,
    }
}

/// A whole file, or standard input for "-", of at most `most` bytes.
///
/// # Errors
/// [`Error::Input`] when it cannot be read or is larger.
pub fn read(path: &Path, most: u64) -> Result<Vec<u8>, Error> {
    let mut bytes = Vec::new();
    let done = if path == Path::new("-") {
        io::stdin().lock().take(most + 1).read_to_end(&mut bytes)
    } else {
        File::open(path).and_then(|file| file.take(most + 1).read_to_end(&mut bytes))
    };
    let name = if path == Path::new("-") { "standard input".to_string() } else { path.display().to_string() };
    match done {
        Err(error) => Err(Error::Input(Trouble::new(format!("{name} cannot be read: {}", plainly(&error))))),
        Ok(_) if bytes.len() as u64 > most => {
            let message = format!("{name} is larger than {} MiB", most >> 20);
            Err(Error::Input(Trouble::new(message)))
        }
        Ok(_) => Ok(bytes),
    }
}
