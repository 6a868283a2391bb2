//! Where results go: whole into a file or not at all, or to standard output.

use std::fs;
use std::io::{self, ErrorKind, IsTerminal, Write};
use std::path::{Path, PathBuf};

use super::Error;
use super::report::Trouble;
use crate::names::{folder_of, plainly};
use crate::prepress::head_of;
use crate::strip::png;

/// What is written, and so what may be written over: an earlier one of its kind.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Writes {
    /// A strip as PNG.
    Picture,
    /// What a printer is sent.
    Bytes,
    Json,
    /// A lasting copy.
    Page,
    /// A lasting copy as PDF.
    Pdf,
}

impl Writes {
    /// Whether a file may be an earlier result, by how it begins.
    fn has_written(self, head: &[u8]) -> bool {
        match self {
            // One bit of grey for dots, eight bits of a palette for paper. A photograph has neither.
            Writes::Picture => matches!(png::kind(head), Some([1, 0] | [8, 3])),
            Writes::Bytes => head.first() == Some(&0x1B),
            Writes::Json => head.first() == Some(&b'{'),
            Writes::Page => head.starts_with(crate::copy::BEGINNING.as_bytes()),
            // All begin alike: who made it stands further on.
            Writes::Pdf => false,
        }
    }

    fn name(self) -> &'static str {
        match self {
            Writes::Picture => "picture of a strip",
            Writes::Bytes => "file of printer bytes",
            Writes::Json => "JSON object",
            Writes::Page => "lasting copy",
            Writes::Pdf => "lasting copy as PDF",
        }
    }
}

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

    /// Sees that nothing of the writer's own is written over: no file that the strip is made of, and none that is no earlier result.
    ///
    /// # Errors
    /// [`Error::Usage`].
    pub fn spares(&self, writes: Writes, inputs: &[PathBuf]) -> Result<(), Error> {
        let Output::File(path) = self else { return Ok(()) };
        // A place where nothing lies, or nothing that can be read, is told about when it is written to.
        let Ok(target) = fs::canonicalize(path) else { return Ok(()) };
        let refused =
            |message: String| Err(Error::Usage(Trouble::new(message).hint("nothing was written; name another file with -o")));
        if inputs.iter().any(|input| fs::canonicalize(input).is_ok_and(|input| input == target)) {
            return refused(format!("{} is one of the files that this is made of: it is not written over", path.display()));
        }
        let Some(head) = head_of(&target) else { return Ok(()) };
        let earlier = match writes {
            Writes::Pdf => fs::read(&target).is_ok_and(|bytes| crate::copy::is_pdf_of_ours(&bytes)),
            _ => writes.has_written(&head),
        };
        if head.is_empty() || earlier {
            return Ok(());
        }
        refused(format!("{} is there and is no {}: it is not written over", path.display(), writes.name()))
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
    let folder = folder_of(&target);
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
    fn what_a_writer_has_is_not_written_over() {
        let folder = tempfile::tempdir().expect("a folder");
        let at = |name: &str, bytes: &[u8]| {
            let path = folder.path().join(name);
            fs::write(&path, bytes).expect("written");
            path
        };
        let (manual, empty) = (at("heron.md", b"# Heron\n"), at("empty.png", b""));
        let (sent, told) = (at("heron.bin", b"\x1b@"), at("heron.json", b"{}"));
        // Made by Pillow's rule for PNG: IHDR of 8 bits of RGB, and of one bit of grey.
        let head = |depth: u8, colour: u8| {
            [&b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\0\x01\0\0\0\x01"[..], &[depth, colour, 0, 0, 0]].concat()
        };
        let (photograph, strip, paper) = (at("a.png", &head(8, 2)), at("b.png", &head(1, 0)), at("c.png", &head(8, 3)));
        let spared =
            |path: &Path, writes, inputs: &[PathBuf]| Output::File(path.into()).spares(writes, inputs).map_err(|e| e.to_string());
        for path in [&empty, &strip, &paper, &folder.path().join("new.png")] {
            spared(path, Writes::Picture, std::slice::from_ref(&manual)).expect("may be written over");
        }
        spared(&sent, Writes::Bytes, &[]).expect("earlier bytes");
        spared(&told, Writes::Json, &[]).expect("an earlier map");
        for (path, writes) in
            [(&manual, Writes::Picture), (&manual, Writes::Bytes), (&photograph, Writes::Picture), (&strip, Writes::Bytes)]
        {
            let refused = spared(path, writes, &[]).expect_err("of the writer's own");
            assert!(refused.contains("not written over"), "{refused}");
        }
        // The same file by another name.
        let roundabout = folder.path().join(".").join("b.png");
        let refused = spared(&roundabout, Writes::Picture, &[strip]).expect_err("an input");
        assert!(refused.contains("made of"), "{refused}");
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
