//! The files that a manual is made with: printer, style, table of units, and the manual itself.

use std::fs::File;
use std::io::{self, Read};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::trouble::{Error, Trouble};
use crate::layout::Style;
use crate::lengths::Mm;
use crate::manual::source::{SourceFile, Spot};
use crate::manual::{self, Folder, Template, Units, Unsaved};
use crate::names::{folder_of, plainly};
use crate::printer::{self, Profile, profile};

/// What names standard input in place of a file.
pub const STANDARD: &str = "-";
/// Largest printer description.
const LARGEST_PROFILE: u64 = 1 << 20;
/// Largest style file and table of units.
const LARGEST_STYLE: u64 = 1 << 20;
const LARGEST_UNITS: u64 = 64 << 20;

/// A manual as a template, the folder it stands in and its name there; `unsaved` is what one of its files is taken to hold.
///
/// # Errors
/// [`Error::Input`].
pub fn template_of(path: &Path, project: Option<&Path>, unsaved: Option<&Unsaved>) -> Result<(Folder, String, Template), Error> {
    let (folder, file) = place_of(path)?;
    let folder = match project {
        Some(project) => Folder::open_in(&folder, project),
        None => Folder::open(&folder),
    };
    let mut folder = folder.map_err(|error| Error::from(&error))?;
    if let Some(unsaved) = unsaved {
        folder = folder.with_unsaved(unsaved.clone());
    }
    let template = match path == Path::new(STANDARD) {
        true => Template::of_bytes(&folder, &file, &read(path, manual::LONGEST)?),
        false => Template::load(&folder, &file),
    };
    Ok((folder, file, template.map_err(|error| Error::from(&error))?))
}

/// The folder of a manual and its name in it.
fn place_of(path: &Path) -> Result<(PathBuf, String), Error> {
    if path == Path::new(STANDARD) {
        return Ok((".".into(), "standard input".into()));
    }
    let name = path.file_name().and_then(|name| name.to_str());
    let Some(name) = name else {
        return Err(Error::Input(
            Trouble::new(format!("{} is no file of a manual", path.display())).hint("name a Markdown file"),
        ));
    };
    if path.is_dir() {
        let trouble = Trouble::new(format!("{} is a folder", path.display()));
        return Err(Error::Input(trouble.hint("name the Markdown file in it")));
    }
    let folder = folder_of(path);
    Ok((folder.to_path_buf(), name.to_string()))
}

pub fn units_of(path: &Path) -> Result<Units, Error> {
    let bytes = read(path, LARGEST_UNITS)?;
    Units::read(&bytes, &path.display().to_string()).map_err(|error| Error::from(&error))
}

pub(super) fn keyed(mut units: Units, key: Option<&str>, spot: Option<Spot>) -> Result<Units, Error> {
    units.key_by(key).map_err(|error| {
        let trouble = Trouble::new(error.to_string()).maybe_hint(error.hint());
        Error::Input(trouble.at_spot(spot.as_ref().or(error.spot())))
    })?;
    Ok(units)
}

/// The printer that is meant: the one named, else the generic one for the manual's `paper`, else the default; and what its file is
/// noticed for.
///
/// # Errors
/// [`Error::Usage`] for a name that no generic printer has, [`Error::Input`] for a file that cannot be used and for a paper no
/// generic printer takes.
pub fn printer(named: Option<&str>, paper: Option<Mm>) -> Result<(Profile, Vec<Trouble>), Error> {
    let alone = |profile: Profile| (profile, Vec::new());
    match (named, paper) {
        (Some(named), _) if is_file(named) => printer_file(Path::new(named)),
        (Some(named), _) => Profile::named(named).map(alone).map_err(|error| Error::Usage(trouble(&error, None))),
        (None, Some(paper)) => Profile::for_paper(paper).map(alone).ok_or_else(|| {
            let message = format!("no generic printer takes paper {paper} wide");
            Error::Input(Trouble::new(message).hint("describe yours in a TOML file: --printer FILE.toml"))
        }),
        (None, None) => Profile::named(profile::DEFAULT).map(alone).map_err(|error| Error::Usage(trouble(&error, None))),
    }
}

/// A name with a dot or a slash is a file; no generic printer has one.
fn is_file(named: &str) -> bool {
    named.contains(['.', '/', '\\'])
}

fn printer_file(path: &Path) -> Result<(Profile, Vec<Trouble>), Error> {
    let bytes = read(path, LARGEST_PROFILE)?;
    let name = path.display().to_string();
    let text = String::from_utf8(bytes).map_err(|_| Error::Input(Trouble::new(format!("{name} is not UTF-8 text"))))?;
    let (profile, notices) = Profile::read_toml(&text, &name).map_err(|error| Error::Input(trouble(&error, Some(&text))))?;
    let told = |notice: profile::Notice| Trouble::new(notice.message).at(Some(notice.place)).text(&text).maybe_hint(notice.hint);
    Ok((profile, notices.into_iter().map(told).collect()))
}

/// An error of the printer's room, ready to be shown. `text` is the printer's file, for the excerpt.
pub fn trouble(error: &printer::Error, text: Option<&str>) -> Trouble {
    let trouble = Trouble::new(error.to_string()).at(error.place()).maybe_hint(error.hint());
    match text {
        Some(text) => trouble.text(text),
        None => trouble,
    }
}

/// A whole file, or standard input for [`STANDARD`], of at most `most` bytes.
///
/// # Errors
/// [`Error::Input`] when it cannot be read or is larger.
pub fn read(path: &Path, most: u64) -> Result<Vec<u8>, Error> {
    let mut bytes = Vec::new();
    let done = if path == Path::new(STANDARD) {
        io::stdin().lock().take(most + 1).read_to_end(&mut bytes)
    } else {
        File::open(path).and_then(|file| file.take(most + 1).read_to_end(&mut bytes))
    };
    let name = if path == Path::new(STANDARD) { "standard input".to_string() } else { path.display().to_string() };
    match done {
        Err(error) => Err(Error::Input(Trouble::new(format!("{name} cannot be read: {}", plainly(&error))))),
        Ok(_) if bytes.len() as u64 > most => {
            let message = format!("{name} is larger than {} MiB", most >> 20);
            Err(Error::Input(Trouble::new(message)))
        }
        Ok(_) => Ok(bytes),
    }
}

/// The style that the command line names: it stands above the manual's. A file counts from where the command was given.
pub(super) fn style_asked_for(named: &str) -> Result<Style, Error> {
    match Style::named(named) {
        Some(style) => Ok(style),
        None if named.contains(['.', '/', '\\']) => read_style(named, read(Path::new(named), LARGEST_STYLE)?, None),
        None => {
            let trouble = Trouble::new(format!("there is no style {named:?}"));
            Err(Error::Usage(trouble.hint("the styles are plain, comic and compact; a file of your own: --style FILE.toml")))
        }
    }
}

pub(super) fn style_of(folder: &Folder, named: Option<&str>, spot: Option<&Spot>) -> Result<Style, Error> {
    let named = named.unwrap_or("plain");
    if let Some(style) = Style::named(named) {
        return Ok(style);
    }
    let bytes = folder.read(named, LARGEST_STYLE).map_err(|error| {
        let trouble = Trouble::new(format!("there is no style {named:?}: {error}"));
        let hint = "style is \"plain\", \"comic\", \"compact\" or a TOML file in the manual's folder";
        Error::Input(trouble.hint(hint).at_spot(spot))
    })?;
    read_style(named, bytes, spot)
}

fn read_style(named: &str, bytes: Vec<u8>, spot: Option<&Spot>) -> Result<Style, Error> {
    let text = String::from_utf8(bytes)
        .map_err(|_| Error::Input(Trouble::new(format!("the style {named:?} is not UTF-8 text")).at_spot(spot)))?;
    Style::read(&text).map_err(|error| {
        let trouble = Trouble::new(&error.message).maybe_hint(error.hint.clone());
        match error.offset {
            Some(offset) => {
                let file = Arc::new(SourceFile::new(named, &text));
                Error::Input(trouble.at_spot(Some(&Spot::new(file, offset, 1))))
            }
            None => Error::Input(trouble.at_spot(spot)),
        }
    })
}

/// The first 26 bytes of a plain file that can be read; all, if there are fewer.
pub fn head_of(path: &Path) -> Option<Vec<u8>> {
    if !std::fs::metadata(path).ok()?.is_file() {
        return None;
    }
    let mut head = Vec::new();
    Read::take(File::open(path).ok()?, 26).read_to_end(&mut head).ok()?;
    Some(head)
}
