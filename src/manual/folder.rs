//! The manual's folder: the only way any room reads a manual's files.

use std::fs::File;
use std::io::Read;
use std::path::{Component, Path, PathBuf};
use std::sync::Arc;
use std::time::SystemTime;

/// Why a file of the folder was not read.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{reason}")]
pub struct FolderError {
    pub reason: String,
}

/// Changes when a file changes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stamp {
    modified: Option<SystemTime>,
    length: u64,
}

/// A folder whose files may be read.
#[derive(Clone, Debug)]
pub struct Folder {
    root: Arc<PathBuf>,
}

impl Folder {
    /// # Errors
    /// When there is no such folder.
    pub fn open(path: &Path) -> Result<Folder, FolderError> {
        let root = path.canonicalize().map_err(|error| FolderError {
            reason: error.to_string(),
        })?;
        Ok(Folder { root: Arc::new(root) })
    }

    fn path(&self, rel: &str) -> Result<PathBuf, FolderError> {
        if !Path::new(rel)
            .components()
            .all(|part| matches!(part, Component::Normal(_) | Component::CurDir))
        {
            return Err(FolderError {
                reason: "the path leads out of the manual's folder".into(),
            });
        }
        Ok(self.root.join(rel))
    }

    /// The whole file, at most `limit` bytes.
    ///
    /// # Errors
    /// Which rule of the folder was broken, or what the system said.
    pub fn read(&self, rel: &str, limit: u64) -> Result<Vec<u8>, FolderError> {
        let mut bytes = Vec::new();
        let file = File::open(self.path(rel)?).map_err(|error| FolderError {
            reason: error.to_string(),
        })?;
        file.take(limit + 1).read_to_end(&mut bytes).map_err(|error| FolderError {
            reason: error.to_string(),
        })?;
        if bytes.len() as u64 > limit {
            return Err(FolderError {
                reason: format!("the file is larger than {limit} bytes"),
            });
        }
        Ok(bytes)
    }

    /// What changes when the file does.
    ///
    /// # Errors
    /// When the file cannot be seen.
    pub fn stamp(&self, rel: &str) -> Result<Stamp, FolderError> {
        let data = self.path(rel)?.metadata().map_err(|error| FolderError {
            reason: error.to_string(),
        })?;
        Ok(Stamp {
            modified: data.modified().ok(),
            length: data.len(),
        })
    }
}
