//! One run at a time: a lock beside the ledger that the system lets go of when the process ends, however it ends.
//!
//! Beside and not on the ledger itself, so that what is being printed can be looked at meanwhile.

use super::Error;
use std::fs::{File, OpenOptions, TryLockError};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// A process that was just killed may need a moment to be gone.
const MOMENT: Duration = Duration::from_millis(500);

/// Held for as long as it lives; takes its file away when it goes.
pub(super) struct Lock {
    file: File,
    path: PathBuf,
}

impl Lock {
    /// # Errors
    /// Another process (or another part of this one) holds it, or its file can't be made.
    pub(super) fn of(ledger: &Path) -> Result<Lock, Error> {
        let path = beside(ledger);
        let failed = |error: std::io::Error| Error::File {
            path: ledger.display().to_string(),
            cause: format!("{}: {error}", path.display()),
        };
        let until = Instant::now() + MOMENT;
        loop {
            let file = OpenOptions::new().create(true).truncate(false).read(true).write(true).open(&path).map_err(failed)?;
            match file.try_lock() {
                // Whoever had it may have taken the file away between our opening it and our having it.
                Ok(()) if is_still(&file, &path) => return Ok(Lock { file, path }),
                Ok(()) => {}
                Err(TryLockError::WouldBlock) if Instant::now() < until => std::thread::sleep(Duration::from_millis(10)),
                Err(TryLockError::WouldBlock) => return Err(Error::InUse { path: ledger.display().to_string() }),
                Err(TryLockError::Error(error)) => return Err(failed(error)),
            }
        }
    }

    /// Whether some process is printing with this ledger now.
    pub(super) fn is_held(ledger: &Path) -> bool {
        let held = |file: File| matches!(file.try_lock_shared(), Err(TryLockError::WouldBlock));
        File::open(beside(ledger)).is_ok_and(held)
    }
}

fn beside(ledger: &Path) -> PathBuf {
    let mut name = ledger.as_os_str().to_owned();
    name.push(".lock");
    PathBuf::from(name)
}

#[cfg(unix)]
fn is_still(file: &File, path: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    match (file.metadata(), std::fs::metadata(path)) {
        (Ok(had), Ok(there)) => (had.dev(), had.ino()) == (there.dev(), there.ino()),
        _ => false,
    }
}

#[cfg(not(unix))]
fn is_still(_: &File, _: &Path) -> bool {
    // There an open file is not taken away.
    true
}

impl Drop for Lock {
    fn drop(&mut self) {
        // Where it can't be taken away it is an empty file that keeps nobody out.
        let _ = std::fs::remove_file(&self.path);
        let _ = self.file.unlock();
    }
}
