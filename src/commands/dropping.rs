//! A picture file that was dropped on the desk: it goes into the folder `pictures` beside the manual, under a name that is safe everywhere.

use std::fs;
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};

use crate::desk::Trouble;
use crate::manual::Folder;
use crate::names::plainly;
use crate::pictures::load;

/// Where dropped pictures go.
const PICTURES: &str = "pictures";
/// Longest name, without its ending.
const LONGEST: usize = 40;
/// Names that are tried: `lid`, `lid-2`, …
const NAMES: u32 = 1000;

/// A picture that lies where it belongs.
#[derive(Debug)]
pub struct Kept {
    /// As the manual names it.
    pub address: String,
    /// The file, when it was not there before.
    made: Option<PathBuf>,
}

impl Kept {
    /// Takes the file away again.
    pub fn undo(self) {
        if let Some(made) = self.made {
            // What cannot be taken away is found by preflight: it lies there and nobody uses it.
            let _ = fs::remove_file(made);
        }
    }
}

/// Keeps a picture beside the manual. One with the same bytes under the same name is taken as it is.
///
/// # Errors
/// When it is no picture that can be set, or the folder cannot be written into.
pub fn keep(folder: &Folder, name: &str, bytes: &[u8]) -> Result<Kept, Trouble> {
    let kind = load::kind(bytes).ok_or_else(|| {
        Trouble::new("This file is no picture that can be set.").hint("PNG, JPEG, WebP, GIF and SVG are: save it as one of them")
    })?;
    if kind != "svg" && load::size(bytes).is_none() {
        return Err(Trouble::new("This picture is broken: its size cannot be read."));
    }
    let home = folder.path().ok_or_else(|| Trouble::new("The manual lies in no folder."))?;
    let cannot =
        |error: &std::io::Error| Trouble::new(format!("The folder {PICTURES} cannot be written into: {}.", plainly(error)));
    let pictures = home.join(PICTURES);
    match fs::create_dir(&pictures) {
        Err(error) if error.kind() != ErrorKind::AlreadyExists => return Err(cannot(&error)),
        _ => {}
    }
    // A link may lead anywhere.
    if fs::symlink_metadata(&pictures).is_ok_and(|found| !found.is_dir()) {
        return Err(Trouble::new(format!("{PICTURES} is a link or a file: nothing is put there.")));
    }
    let (stem, ending) = (clean(name), if kind == "jpeg" { "jpg" } else { kind });
    for number in 1..=NAMES {
        let file = if number == 1 { format!("{stem}.{ending}") } else { format!("{stem}-{number}.{ending}") };
        let (path, address) = (pictures.join(&file), format!("{PICTURES}/{file}"));
        match put(&path, bytes) {
            Ok(()) => return Ok(Kept { address, made: Some(path) }),
            Err(error) if error.kind() == ErrorKind::AlreadyExists => {
                if fs::read(&path).is_ok_and(|there| there == bytes) {
                    return Ok(Kept { address, made: None });
                }
            }
            Err(error) => return Err(cannot(&error)),
        }
    }
    Err(Trouble::new(format!("There are too many pictures of the name {stem}.")))
}

/// Writes a new file, whole or not at all, and over nothing.
fn put(path: &Path, bytes: &[u8]) -> std::io::Result<()> {
    if path.symlink_metadata().is_ok() {
        return Err(ErrorKind::AlreadyExists.into());
    }
    let mut making = tempfile::Builder::new();
    making.prefix(".stripling-");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        making.permissions(fs::Permissions::from_mode(0o666));
    }
    let mut file = making.tempfile_in(path.parent().unwrap_or(Path::new(".")))?;
    file.write_all(bytes)?;
    file.as_file().sync_all()?;
    file.persist_noclobber(path).map(drop).map_err(|failed| failed.error)
}

/// A name of small letters, figures and strokes.
fn clean(name: &str) -> String {
    let stem = name.rsplit(['/', '\\']).next().unwrap_or_default();
    let stem = stem.rsplit_once('.').map_or(stem, |(stem, _)| stem);
    let mut cleaned = String::new();
    for letter in stem.chars().flat_map(char::to_lowercase) {
        match letter {
            'a'..='z' | '0'..='9' => cleaned.push(letter),
            'ä' => cleaned.push_str("ae"),
            'ö' => cleaned.push_str("oe"),
            'ü' => cleaned.push_str("ue"),
            'ß' => cleaned.push_str("ss"),
            _ if !cleaned.is_empty() && !cleaned.ends_with('-') => cleaned.push('-'),
            _ => {}
        }
        if cleaned.len() >= LONGEST {
            break;
        }
    }
    let cleaned = cleaned.trim_end_matches('-');
    if cleaned.is_empty() { "picture".into() } else { cleaned.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One grey pixel (PNG, ISO/IEC 15948), made by Python's zlib.
    const PNG: &[u8] = b"\x89\x50\x4e\x47\x0d\x0a\x1a\x0a\x00\x00\x00\x0d\x49\x48\x44\x52\x00\x00\x00\x01\x00\x00\x00\x01\x08\x00\x00\x00\x00\x3a\x7e\x9b\x55\x00\x00\x00\x0a\x49\x44\x41\x54\x78\x9c\x63\x68\x00\x00\x00\x82\x00\x81\x77\xcd\x72\xb6\x00\x00\x00\x00\x49\x45\x4e\x44\xae\x42\x60\x82";

    #[test]
    fn names_are_cleaned() {
        for (name, cleaned) in [
            ("IMG_0012.JPG", "img-0012"),
            ("../../etc/passwd", "passwd"),
            ("C:\\Bilder\\Große Übersicht (2).png", "grosse-uebersicht-2"),
            ("..", "picture"),
            ("漢字.png", "picture"),
            (".git", "picture"),
            ("a\0b{{ x }}.png", "a-b-x"),
        ] {
            assert_eq!(clean(name), cleaned, "{name}");
        }
        assert!(clean(&"a".repeat(500)).len() <= LONGEST);
    }

    #[test]
    fn a_picture_is_kept_under_a_name_of_its_own_and_once() {
        let home = tempfile::tempdir().expect("a folder");
        let folder = Folder::open(home.path()).expect("opened");
        let other = [PNG, b"more"].concat();
        assert_eq!(keep(&folder, "Lid.PNG", PNG).expect("kept").address, "pictures/lid.png");
        assert_eq!(keep(&folder, "lid.jpeg", PNG).expect("the same").address, "pictures/lid.png");
        let second = keep(&folder, "lid.png", &other).expect("kept");
        assert_eq!(second.address, "pictures/lid-2.png");
        second.undo();
        assert_eq!(fs::read_dir(home.path().join(PICTURES)).expect("a folder").count(), 1);
        assert!(keep(&folder, "a.png", b"#!/bin/sh\n").expect_err("refused").message.contains("no picture"));
        assert!(keep(&folder, "a.png", &PNG[..20]).expect_err("refused").message.contains("broken"));
    }

    #[test]
    #[cfg(unix)]
    fn a_folder_that_is_a_link_is_not_written_into() {
        let (home, elsewhere) = (tempfile::tempdir().expect("a folder"), tempfile::tempdir().expect("a folder"));
        std::os::unix::fs::symlink(elsewhere.path(), home.path().join(PICTURES)).expect("a link");
        let folder = Folder::open(home.path()).expect("opened");
        assert!(keep(&folder, "a.png", PNG).expect_err("refused").message.contains("link"));
        assert_eq!(fs::read_dir(elsewhere.path()).expect("a folder").count(), 0);
    }
}
