//! A desk without a manual: what lies in the folder that could be one, and a small manual to begin with.

use std::fs;
use std::path::{Path, PathBuf};

use super::output::Output;
use super::start::FILES;
use crate::desk::{Beginning, Trouble};
use crate::manual;
use crate::prepress::head_of;

/// Manuals that are offered besides the folder's README.
const MOST: usize = 8;
/// What the starter goes by.
const STARTER: &str = "starter";

/// What can be begun with in a folder, the best first.
pub fn offers(folder: &Path) -> Vec<Beginning> {
    let mut names: Vec<String> = fs::read_dir(folder)
        .into_iter()
        .flatten()
        .flatten()
        .filter(|entry| entry.path().is_file())
        .filter_map(|entry| entry.file_name().into_string().ok())
        .filter(|name| name.to_lowercase().ends_with(".md"))
        .collect();
    names.sort();
    let is_readme = |name: &&String| name.to_lowercase() == "readme.md";
    let has_header = |name: &&String| {
        head_of(&folder.join(name))
            .is_some_and(|head| manual::body_of(&String::from_utf8_lossy(&head)) > 0 || head.starts_with(b"+++"))
    };
    let manuals = names.iter().filter(|name| !is_readme(name)).filter(has_header).take(MOST);
    let mut offers: Vec<Beginning> = manuals.chain(names.iter().filter(is_readme)).map(|name| open(name)).collect();
    if FILES.iter().all(|(name, _)| folder.join(name).symlink_metadata().is_err()) {
        offers
            .push(Beginning { what: STARTER.into(), title: "Begin with a small manual (manual.md, box.svg, units.csv)".into() });
    }
    offers
}

fn open(name: &str) -> Beginning {
    Beginning { what: name.to_owned(), title: format!("Open {name}") }
}

/// No manual yet, and what it could be.
pub fn none_yet(folder: &Path) -> Trouble {
    let begin = offers(folder);
    let hint = if begin.is_empty() { "name one: stripling desk MANUAL.md" } else { "choose what to begin with" };
    Trouble { begin, ..Trouble::new("No manual is on the desk yet.").hint(hint) }
}

/// The manual to begin with; the starter's files are written for it.
///
/// # Errors
/// When it is none of what is offered, or cannot be written.
pub fn begin(folder: &Path, what: &str, read_only: bool) -> Result<PathBuf, Trouble> {
    if offers(folder).iter().all(|offer| offer.what != what) {
        return Err(Trouble::new("That is not offered here any more.").hint("look at the folder"));
    }
    if what != STARTER {
        return Ok(folder.join(what));
    }
    if read_only {
        return Err(Trouble::new("This desk was opened with --read-only: it writes nothing."));
    }
    for (name, text) in FILES {
        Output::File(folder.join(name)).write(text.as_bytes()).map_err(|error| Trouble::from(&error))?;
    }
    Ok(folder.join(FILES[0].0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_lies_there_is_offered_and_nothing_else_is_opened() {
        let folder = tempfile::tempdir().expect("a folder");
        let whats = || offers(folder.path()).into_iter().map(|offer| offer.what).collect::<Vec<_>>();
        assert_eq!(whats(), ["starter"]);
        fs::write(folder.path().join("README.md"), "# Heron\n").expect("written");
        fs::write(folder.path().join("notes.md"), "Notes.\n").expect("written");
        fs::write(folder.path().join("heron.md"), "+++\ntitle = \"H\"\n+++\n").expect("written");
        assert_eq!(whats(), ["heron.md", "README.md", "starter"]);
        for other in ["notes.md", "../README.md", "/etc/passwd", ""] {
            assert!(begin(folder.path(), other, false).is_err(), "{other}");
        }
        assert!(begin(folder.path(), "starter", true).is_err());
        assert_eq!(begin(folder.path(), "starter", false).expect("begun"), folder.path().join("manual.md"));
        assert_eq!(whats(), ["heron.md", "manual.md", "README.md"]);
    }
}
