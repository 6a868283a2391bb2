//! A file of the writer's own, written anew: whole or not at all, with its mode and its owner, and only over what it was known to hold.

use std::fs;
use std::io::{self, Write};
use std::path::Path;

use crate::names::folder_of;

/// How it went.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rewritten {
    Done,
    /// Somebody else wrote it meanwhile: nothing was done.
    Changed,
}

/// Writes `after` over a file that holds `before`. `path` is the file itself and no link.
///
/// # Errors
/// When it cannot be written, or could be only under another owner; nothing is changed then.
pub fn rewrite(path: &Path, before: &[u8], after: &[u8]) -> io::Result<Rewritten> {
    let metadata = fs::symlink_metadata(path)?;
    let refused = |words: &str| Err(io::Error::new(io::ErrorKind::PermissionDenied, words));
    if !metadata.is_file() {
        return refused("it is no plain file");
    }
    if metadata.permissions().readonly() {
        return refused("it is read-only");
    }
    let folder = folder_of(path);
    let mut file = tempfile::Builder::new().prefix(".stripling-").tempfile_in(folder)?;
    keep_owner(file.as_file(), &metadata)?;
    file.as_file().set_permissions(metadata.permissions())?;
    file.write_all(after)?;
    file.as_file().sync_all()?;
    // As late as can be: from here to the new name nothing is waited for.
    if fs::read(path)? != before {
        return Ok(Rewritten::Changed);
    }
    file.persist(path).map_err(|failed| failed.error)?;
    Ok(Rewritten::Done)
}

/// Gives a new file the owner of the old one.
#[cfg(unix)]
fn keep_owner(file: &fs::File, old: &fs::Metadata) -> io::Result<()> {
    use std::os::unix::fs::{MetadataExt, fchown};
    if old.nlink() > 1 {
        let words = "it has another name besides (a hard link), which would go on holding the old text";
        return Err(io::Error::new(io::ErrorKind::PermissionDenied, words));
    }
    let new = file.metadata()?;
    if (new.uid(), new.gid()) == (old.uid(), old.gid()) {
        return Ok(());
    }
    let words = "it belongs to somebody else, and would not any more";
    fchown(file, Some(old.uid()), Some(old.gid())).map_err(|_| io::Error::new(io::ErrorKind::PermissionDenied, words))
}

#[cfg(not(unix))]
fn keep_owner(_: &fs::File, _: &fs::Metadata) -> io::Result<()> {
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_written_whole_with_its_mode_or_left_alone() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("heron.md");
        fs::write(&path, "before").expect("written");
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            fs::set_permissions(&path, fs::Permissions::from_mode(0o664)).expect("a mode");
        }
        let mode = |path: &Path| fs::metadata(path).expect("there").permissions();
        let was = mode(&path);
        assert_eq!(rewrite(&path, b"before", b"after").expect("written"), Rewritten::Done);
        assert_eq!(fs::read(&path).expect("there"), b"after");
        assert_eq!(mode(&path), was);
        assert_eq!(rewrite(&path, b"before", b"other").expect("looked at"), Rewritten::Changed);
        assert_eq!(fs::read(&path).expect("there"), b"after");
        let mut still = was.clone();
        still.set_readonly(true);
        fs::set_permissions(&path, still).expect("a mode");
        assert!(rewrite(&path, b"after", b"other").expect_err("refused").to_string().contains("read-only"));
        fs::set_permissions(&path, was).expect("a mode");
        fs::hard_link(&path, folder.path().join("second.md")).expect("a second name");
        assert!(rewrite(&path, b"after", b"other").expect_err("refused").to_string().contains("hard link"));
        assert_eq!(fs::read(&path).expect("there"), b"after");
        assert_eq!(fs::read_dir(folder.path()).expect("a folder").count(), 2, "nothing half-written is left");
    }
}
