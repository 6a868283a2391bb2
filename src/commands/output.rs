//! Where results go: whole into a file or not at all, or to standard output.

use std::fs;
use std::io::{self, ErrorKind, IsTerminal, Write};
use std::path::{Path, PathBuf};

use super::Error;
use super::report::Trouble;

/// A place to write to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Output {
    Standard,
    File(PathBuf),
}

impl Output {
    /// What `-o` means: "-" is standard output; nothing is standard output too if that is a pipe or a file.
    ///
    /// On a terminal nothing means `otherwise`, and if there is none it is refused: bytes would garble the terminal.
    ///
    /// # Errors
    /// [`Error::Usage`].
    pub fn choose(asked: Option<&Path>, otherwise: Option<PathBuf>) -> Result<Output, Error> {
        match asked {
            Some(path) if path == Path::new("-") => Ok(Output::Standard),
            Some(path) => Ok(Output::File(path.to_path_buf())),
            None if !io::stdout().is_terminal() => Ok(Output::Standard),
            None => match otherwise {
                Some(path) => Ok(Output::File(path)),
                None => {
                    let trouble = Trouble::new("printer bytes would garble this terminal");
                    Err(Error::Usage(trouble.hint("write them to a file with -o FILE, or to a pipe")))
                }
            },
        }
    }

    /// Writes everything.
    ///
    /// A file is written beside its place and moved there when it is whole, so that a failure leaves what was there before.
    /// A device or a pipe is written to as it is.
    ///
    /// # Errors
    /// [`Error::Closed`] when nobody reads standard output any more; [`Error::Input`] when the file cannot be written.
    pub fn write(&self, bytes: &[u8]) -> Result<(), Error> {
        match self {
            Output::Standard => {
                let mut out = io::stdout().lock();
                out.write_all(bytes).and_then(|()| out.flush()).map_err(|error| match error.kind() {
                    ErrorKind::BrokenPipe => Error::Closed,
                    _ => Error::Input(Trouble::new(format!("standard output cannot be written: {error}"))),
                })
            }
            Output::File(_) => {
                let mut writing = self.begin()?;
                writing.put(bytes)?;
                writing.end()
            }
        }
    }
}

/// An output that is written piece by piece and counts only when it is ended.
pub enum Writing {
    Standard,
    /// A device or a pipe: what was written is gone.
    Through(fs::File),
    File {
        file: Box<tempfile::NamedTempFile>,
        target: PathBuf,
    },
}

impl Output {
    /// Opens the output for many pieces.
    ///
    /// # Errors
    /// As [`Output::write`].
    pub fn begin(&self) -> Result<Writing, Error> {
        match self {
            Output::Standard => Ok(Writing::Standard),
            Output::File(path) => open(path).map_err(|error| unwritable(path, &error)),
        }
    }
}

impl Writing {
    /// # Errors
    /// As [`Output::write`].
    pub fn put(&mut self, bytes: &[u8]) -> Result<(), Error> {
        let (done, path) = match self {
            Writing::Standard => return Output::Standard.write(bytes),
            Writing::Through(file) => (file.write_all(bytes), PathBuf::from("the device")),
            Writing::File { file, target } => (file.write_all(bytes), target.clone()),
        };
        done.map_err(|error| unwritable(&path, &error))
    }

    /// Moves a file to its place.
    ///
    /// # Errors
    /// As [`Output::write`].
    pub fn end(self) -> Result<(), Error> {
        match self {
            Writing::File { file, target } => {
                file.persist(&target).map(drop).map_err(|failed| unwritable(&target, &failed.error))
            }
            Writing::Standard | Writing::Through(_) => Ok(()),
        }
    }
}

fn unwritable(path: &Path, error: &io::Error) -> Error {
    let trouble = Trouble::new(format!("{} cannot be written: {}", path.display(), plainly(error)));
    Error::Input(match error.kind() {
        ErrorKind::NotFound => trouble.hint("make the folder first"),
        _ => trouble,
    })
}

/// What the system says, without its number.
pub fn plainly(error: &io::Error) -> String {
    let text = error.to_string();
    match text.split_once(" (os error") {
        Some((said, _)) => said.to_lowercase(),
        None => text,
    }
}

fn open(path: &Path) -> io::Result<Writing> {
    // A link keeps being a link: what it leads to is replaced.
    let target = fs::canonicalize(path).unwrap_or_else(|_| path.to_path_buf());
    let before = fs::metadata(&target).ok();
    if let Some(before) = &before {
        if before.is_dir() {
            return Err(io::Error::new(ErrorKind::IsADirectory, "it is a folder"));
        }
        if !before.is_file() {
            return Ok(Writing::Through(fs::OpenOptions::new().write(true).open(&target)?));
        }
        if before.permissions().readonly() {
            return Err(io::Error::new(ErrorKind::PermissionDenied, "it is read-only"));
        }
    }
    let folder = target.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut making = tempfile::Builder::new();
    making.prefix(".stripling-");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        making.permissions(before.as_ref().map_or_else(|| fs::Permissions::from_mode(0o666), fs::Metadata::permissions));
    }
    let file = Box::new(making.tempfile_in(folder)?);
    Ok(Writing::File { file, target })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_replaced_whole_and_a_folder_is_refused() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("strip.png");
        Output::File(path.clone()).write(b"first").expect("written");
        Output::File(path.clone()).write(b"second").expect("written over");
        assert_eq!(fs::read(&path).expect("there"), b"second");
        let refused = Output::File(folder.path().to_path_buf()).write(b"x").expect_err("a folder");
        assert_eq!(refused.code(), 3);
        assert!(refused.to_string().contains("it is a folder"), "{refused}");
        let nowhere = Output::File(folder.path().join("no/strip.png")).write(b"x").expect_err("no folder");
        assert!(nowhere.to_string().contains("no such file"), "{nowhere}");
        assert_eq!(fs::read_dir(folder.path()).expect("a folder").count(), 1, "nothing half-written is left");
    }

    #[test]
    #[cfg(unix)]
    fn a_link_keeps_leading_where_it_led_and_a_device_is_written_to() {
        let folder = tempfile::tempdir().expect("a folder");
        let (real, link) = (folder.path().join("real.bin"), folder.path().join("link.bin"));
        fs::write(&real, b"old").expect("written");
        std::os::unix::fs::symlink(&real, &link).expect("a link");
        Output::File(link.clone()).write(b"new").expect("written");
        assert_eq!(fs::read(&real).expect("there"), b"new");
        assert!(fs::symlink_metadata(&link).expect("there").is_symlink());
        Output::File("/dev/null".into()).write(b"new").expect("a device");
    }
}
