//! The manual's folder: the only door through which a manual's files are read.
//!
//! A name in a manual, in an include, in a picture's address or in a unit's field never leads out of the folder, whoever wrote it.
//! Never writes.

use std::collections::BTreeMap;
use std::fs::File;
use std::io::{ErrorKind, Read};
use std::path::{Component, Path, PathBuf};
use std::sync::Arc;
use std::time::SystemTime;

use thiserror::Error;

use super::Error;

/// Why a file of the folder cannot be had.
#[derive(Clone, Debug, Error, PartialEq, Eq)]
pub enum FolderError {
    #[error("there is no such file")]
    NotFound,
    #[error("it has no name")]
    NoName,
    #[error("it is an absolute path")]
    Absolute,
    #[error("its path climbs out of the folder")]
    Climbs,
    #[error("it is a link that leads out of the manual's folder")]
    LeadsOut,
    #[error("it is {0}, not a file")]
    NotAFile(&'static str),
    #[error("it has {length} bytes, more than the {limit} that are allowed")]
    TooLarge { length: u64, limit: u64 },
    #[error("{0}")]
    Unreadable(String),
}

impl FolderError {
    pub fn hint(&self) -> Option<String> {
        let hint = match self {
            FolderError::NotFound => "names are relative to the manual's folder, and capitals count",
            FolderError::Absolute | FolderError::Climbs | FolderError::LeadsOut => "put the file into the manual's folder",
            FolderError::NoName | FolderError::NotAFile(_) | FolderError::TooLarge { .. } | FolderError::Unreadable(_) => {
                return None;
            }
        };
        Some(hint.into())
    }
}

/// What a cache compares to see whether a file may have changed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Stamp {
    pub modified: Option<SystemTime>,
    /// Bytes.
    pub length: u64,
}

/// A folder on disk, or files in memory that stand for one. Cheap to clone.
#[derive(Clone, Debug)]
pub struct Folder {
    keeping: Arc<Keeping>,
}

#[derive(Debug)]
enum Keeping {
    /// The canonical path.
    Disk(PathBuf),
    Memory(BTreeMap<String, Vec<u8>>),
}

impl Folder {
    /// # Errors
    /// [`Error::Folder`] when the path is no folder that can be read.
    pub fn open(path: &Path) -> Result<Folder, Error> {
        let named = if path.as_os_str().is_empty() { Path::new(".") } else { path };
        let failed = |reason: String| Error::Folder { path: named.display().to_string(), reason };
        let root = named.canonicalize().map_err(|error| failed(in_words(&error)))?;
        if !root.is_dir() {
            return Err(failed("it is no folder".into()));
        }
        Ok(Folder { keeping: Arc::new(Keeping::Disk(root)) })
    }

    /// The folder a manual lies in, and the manual's name inside it.
    ///
    /// # Errors
    /// [`Error::Folder`] as [`Folder::open`]; also when the path names no file or the name is not UTF-8.
    pub fn of(manual: &Path) -> Result<(Folder, String), Error> {
        let name = manual.file_name().and_then(|name| name.to_str());
        let name = name.ok_or_else(|| Error::Folder { path: manual.display().to_string(), reason: "it names no file".into() })?;
        Ok((Folder::open(manual.parent().unwrap_or(Path::new(".")))?, name.to_owned()))
    }

    /// Files in memory, by name.
    pub fn of_files<'a>(files: impl IntoIterator<Item = (&'a str, &'a [u8])>) -> Folder {
        let files = files.into_iter().map(|(name, bytes)| (name.to_owned(), bytes.to_vec())).collect();
        Folder { keeping: Arc::new(Keeping::Memory(files)) }
    }

    /// The canonical path, for a folder on disk.
    pub fn path(&self) -> Option<&Path> {
        match &*self.keeping {
            Keeping::Disk(root) => Some(root),
            Keeping::Memory(_) => None,
        }
    }

    /// The whole content of a file.
    ///
    /// # Errors
    /// When the name leads out of the folder, names no plain file, or names one of more than `limit` bytes.
    pub fn read(&self, name: &str, limit: u64) -> Result<Vec<u8>, FolderError> {
        let inside = inside(name)?;
        match &*self.keeping {
            Keeping::Disk(root) => read_file(&resolve(root, &inside)?, limit),
            Keeping::Memory(files) => {
                let bytes = files.get(&plain_name(&inside)).ok_or(FolderError::NotFound)?;
                within(bytes.len() as u64, limit)?;
                Ok(bytes.clone())
            }
        }
    }

    /// Length and time of a file, without reading it.
    ///
    /// # Errors
    /// As [`Folder::read`].
    pub fn stamp(&self, name: &str) -> Result<Stamp, FolderError> {
        let inside = inside(name)?;
        match &*self.keeping {
            Keeping::Disk(root) => {
                let metadata = resolve(root, &inside)?.metadata().map_err(FolderError::from)?;
                Ok(Stamp { modified: metadata.modified().ok(), length: metadata.len() })
            }
            Keeping::Memory(files) => {
                let bytes = files.get(&plain_name(&inside)).ok_or(FolderError::NotFound)?;
                Ok(Stamp { modified: None, length: bytes.len() as u64 })
            }
        }
    }
}

impl From<std::io::Error> for FolderError {
    fn from(error: std::io::Error) -> FolderError {
        match error.kind() {
            ErrorKind::NotFound | ErrorKind::NotADirectory => FolderError::NotFound,
            _ => FolderError::Unreadable(in_words(&error)),
        }
    }
}

/// An error of the system without its number.
fn in_words(error: &std::io::Error) -> String {
    let words = error.to_string();
    let words = words.split(" (os error").next().unwrap_or_default();
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
}

/// A name as a path that stays below where it starts.
fn inside(name: &str) -> Result<PathBuf, FolderError> {
    if name.is_empty() {
        return Err(FolderError::NoName);
    }
    if name.contains('\0') {
        return Err(FolderError::NotFound);
    }
    let mut path = PathBuf::new();
    for component in Path::new(name).components() {
        match component {
            Component::Normal(part) => path.push(part),
            Component::CurDir => {}
            Component::ParentDir => return Err(FolderError::Climbs),
            Component::RootDir | Component::Prefix(_) => return Err(FolderError::Absolute),
        }
    }
    if path.as_os_str().is_empty() { Err(FolderError::NotAFile("a folder")) } else { Ok(path) }
}

fn plain_name(path: &Path) -> String {
    path.iter().map(|part| part.to_string_lossy()).collect::<Vec<_>>().join("/")
}

/// The real path of a plain file inside the folder, links followed.
fn resolve(root: &Path, inside: &Path) -> Result<PathBuf, FolderError> {
    let path = root.join(inside).canonicalize()?;
    if !path.starts_with(root) {
        return Err(FolderError::LeadsOut);
    }
    // Asked before it is opened: opening a pipe would wait for its writer.
    plain(&path.metadata()?)?;
    Ok(path)
}

fn plain(metadata: &std::fs::Metadata) -> Result<(), FolderError> {
    match (metadata.is_file(), metadata.is_dir()) {
        (true, _) => Ok(()),
        (_, true) => Err(FolderError::NotAFile("a folder")),
        _ => Err(FolderError::NotAFile("a device, a pipe or a socket")),
    }
}

fn within(length: u64, limit: u64) -> Result<(), FolderError> {
    if length > limit { Err(FolderError::TooLarge { length, limit }) } else { Ok(()) }
}

fn read_file(path: &Path, limit: u64) -> Result<Vec<u8>, FolderError> {
    let file = File::open(path)?;
    let metadata = file.metadata()?;
    plain(&metadata)?;
    within(metadata.len(), limit)?;
    let mut bytes = Vec::with_capacity(metadata.len() as usize);
    // A file that grows while it is read is still held to the limit.
    file.take(limit.saturating_add(1)).read_to_end(&mut bytes)?;
    within(bytes.len() as u64, limit)?;
    Ok(bytes)
}
