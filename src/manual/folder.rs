//! The manual's folder and its project: the only door through which a manual's files are read.
//!
//! A name in a manual, in an include, in a picture's address or in a unit's field never leads out of the project, whoever wrote it.
//! Names count from the manual's folder; `..` climbs as far as the project reaches. A web address leads to what `gather` brought in.
//! Never writes, and never asks the network.

use std::collections::{BTreeMap, BTreeSet};
use std::fs::File;
use std::io::Read;
use std::path::{Component, Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::SystemTime;

use super::error::{Error, FolderError};
use super::gathered::{self, LARGEST_LOCK, LOCK, Lock, is_web};
use crate::names::plainly;
use percent_encoding::percent_decode_str;

/// What a cache compares to see whether a file may have changed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Stamp {
    pub modified: Option<SystemTime>,
    /// Bytes.
    pub length: u64,
}

/// A file as it was found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Found {
    /// Where it lies: the real path on disk, or a name in memory.
    pub path: PathBuf,
    /// Its name on disk differs from what was written in capitals only.
    pub other_case: bool,
    /// What its bytes must come to, when it was gathered.
    sha256: Option<String>,
}

/// A folder on disk, or files in memory that stand for one. Cheap to clone.
#[derive(Clone, Debug)]
pub struct Folder {
    keeping: Arc<Keeping>,
    /// The manual's folder inside the project, from which names count.
    home: PathBuf,
    /// What one file on disk is taken to hold.
    unsaved: Option<Arc<Unsaved>>,
}

/// A text that is not on disk yet, and the canonical path of the file that it is meant for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unsaved {
    pub path: PathBuf,
    pub text: String,
}

/// A lock file as it was, and what was read from it or why it cannot be.
type LockRead = (Stamp, Result<Arc<Lock>, String>);

#[derive(Debug)]
enum Keeping {
    Disk {
        /// The canonical path of the project.
        root: PathBuf,
        /// The lock file as it was last read.
        lock: Mutex<Option<LockRead>>,
        /// Every file that was found: what a strip is made of.
        touched: Mutex<BTreeSet<PathBuf>>,
    },
    Memory(BTreeMap<String, Vec<u8>>),
}

impl Folder {
    /// A manual's folder. Its project is the nearest folder above that holds a `.git`, else the folder itself.
    ///
    /// # Errors
    /// [`Error::Folder`] when the path is no folder that can be read.
    pub fn open(path: &Path) -> Result<Folder, Error> {
        let home = folder_at(path)?;
        let project = home.ancestors().find(|above| above.join(".git").symlink_metadata().is_ok()).unwrap_or(&home).to_path_buf();
        Ok(Folder::within(project, &home))
    }

    /// A manual's folder in a project that is named.
    ///
    /// # Errors
    /// As [`Folder::open`]; and when the manual's folder is not inside the project.
    pub fn open_in(path: &Path, project: &Path) -> Result<Folder, Error> {
        let (home, root) = (folder_at(path)?, folder_at(project)?);
        if !home.starts_with(&root) {
            let reason = format!("the manual does not lie in it, but in {}", home.display());
            return Err(Error::Folder { path: project.display().to_string(), reason });
        }
        Ok(Folder::within(root, &home))
    }

    fn within(root: PathBuf, home: &Path) -> Folder {
        let home = home.strip_prefix(&root).unwrap_or(Path::new("")).to_path_buf();
        Folder {
            keeping: Arc::new(Keeping::Disk { root, lock: Mutex::new(None), touched: Mutex::default() }),
            home,
            unsaved: None,
        }
    }

    /// The same folder, in which one file holds what is to be written into it.
    pub fn with_unsaved(self, unsaved: Unsaved) -> Folder {
        Folder { unsaved: Some(Arc::new(unsaved)), ..self }
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
        Folder { keeping: Arc::new(Keeping::Memory(files)), home: PathBuf::new(), unsaved: None }
    }

    /// The canonical path of the manual's folder, for one on disk.
    pub fn path(&self) -> Option<PathBuf> {
        match &*self.keeping {
            Keeping::Disk { root, .. } => Some(root.join(&self.home)),
            Keeping::Memory(_) => None,
        }
    }

    /// The canonical paths of all files on disk that were asked for and found until now, through this folder or a clone of it.
    pub fn touched(&self) -> Vec<PathBuf> {
        match &*self.keeping {
            Keeping::Disk { touched, .. } => touched.lock().unwrap_or_else(PoisonError::into_inner).iter().cloned().collect(),
            Keeping::Memory(_) => Vec::new(),
        }
    }

    /// The whole content of a file.
    ///
    /// # Errors
    /// When the name leads out of the project, names no plain file, or names one of more than `limit` bytes; when a web address was
    /// not gathered, or its file is no longer what was gathered.
    pub fn read(&self, name: &str, limit: u64) -> Result<Vec<u8>, FolderError> {
        let found = self.find(name)?;
        let bytes = match &*self.keeping {
            Keeping::Disk { .. } => match self.unsaved.as_deref().filter(|unsaved| unsaved.path == found.path) {
                Some(unsaved) => unsaved.text.clone().into_bytes(),
                None => read_file(&found.path, limit)?,
            },
            Keeping::Memory(files) => {
                let bytes = files.get(&plain_name(&found.path)).ok_or(FolderError::NotFound)?;
                within(bytes.len() as u64, limit)?;
                bytes.clone()
            }
        };
        match found.sha256 {
            Some(sha256) if sha256 != gathered::digest(&bytes) => {
                Err(FolderError::NotAsGathered { what: "is not what was gathered" })
            }
            _ => Ok(bytes),
        }
    }

    /// Length and time of a file, without reading it.
    ///
    /// # Errors
    /// As [`Folder::read`].
    pub fn stamp(&self, name: &str) -> Result<Stamp, FolderError> {
        let found = self.find(name)?;
        match &*self.keeping {
            Keeping::Disk { .. } => stamp_of(&found.path),
            Keeping::Memory(files) => {
                let bytes = files.get(&plain_name(&found.path)).ok_or(FolderError::NotFound)?;
                Ok(Stamp { modified: None, length: bytes.len() as u64 })
            }
        }
    }

    /// Where a file is. Looked for as it is written, then as an address of the web would mean it (`%20`, `?raw=true`, `\\`), then
    /// without regard to capitals.
    ///
    /// # Errors
    /// As [`Folder::read`].
    pub fn find(&self, name: &str) -> Result<Found, FolderError> {
        let found = self.find_any(name)?;
        if let Keeping::Disk { touched, .. } = &*self.keeping {
            touched.lock().unwrap_or_else(PoisonError::into_inner).insert(found.path.clone());
        }
        Ok(found)
    }

    fn find_any(&self, name: &str) -> Result<Found, FolderError> {
        if is_web(name) {
            return self.find_gathered(name);
        }
        if name.is_empty() {
            return Err(FolderError::NoName);
        }
        let mut first = None;
        for other_case in [false, true] {
            for spelling in spellings(name) {
                let candidates = match self.candidates(&spelling) {
                    Ok(candidates) => candidates,
                    Err(error) => {
                        first.get_or_insert(error);
                        continue;
                    }
                };
                for candidate in candidates {
                    match self.look(&candidate, other_case) {
                        Ok(path) => return Ok(Found { path, other_case, sha256: None }),
                        Err(FolderError::NotFound) => {}
                        Err(error) => {
                            first.get_or_insert(error);
                        }
                    }
                }
            }
        }
        Err(first.unwrap_or(FolderError::NotFound))
    }

    /// Paths inside the project that a name may mean, best first. In `a//b`, b is looked for from a upwards; `/b` from the manual's
    /// folder upwards.
    fn candidates(&self, name: &str) -> Result<Vec<PathBuf>, FolderError> {
        if name.contains('\0') {
            return Err(FolderError::NotFound);
        }
        let (from, rest) = match name.split_once("//") {
            Some((from, rest)) => (Some(from), rest),
            None => match name.strip_prefix('/') {
                Some(rest) => (Some(""), rest),
                None => (None, name),
            },
        };
        let Some(from) = from else { return Ok(vec![inside(&self.home, rest)?]) };
        let from = if from.is_empty() { self.home.clone() } else { inside(&self.home, from)? };
        Ok(from.ancestors().filter_map(|folder| inside(folder, rest.trim_start_matches('/')).ok()).collect())
    }

    fn look(&self, inside: &Path, other_case: bool) -> Result<PathBuf, FolderError> {
        match &*self.keeping {
            Keeping::Disk { root, .. } if other_case => resolve(root, &in_other_case(root, inside).ok_or(FolderError::NotFound)?),
            Keeping::Disk { root, .. } => resolve(root, inside),
            Keeping::Memory(_) if inside.as_os_str().is_empty() => Err(FolderError::NotAFile("a folder")),
            Keeping::Memory(files) => {
                let name = plain_name(inside);
                let same =
                    |known: &&String| if other_case { known.to_lowercase() == name.to_lowercase() } else { **known == name };
                files.keys().find(same).map(PathBuf::from).ok_or(FolderError::NotFound)
            }
        }
    }

    fn find_gathered(&self, address: &str) -> Result<Found, FolderError> {
        let lock = self.lock()?;
        let entry = lock.pictures.get(address).ok_or(FolderError::NotGathered)?;
        let path = self.look(&self.home.join(gathered::FOLDER).join(&entry.file), false).map_err(|error| match error {
            FolderError::NotFound => FolderError::NotAsGathered { what: "no longer holds its file" },
            other => other,
        })?;
        Ok(Found { path, other_case: false, sha256: Some(entry.sha256.clone()) })
    }

    /// The lock file of what was gathered for the manuals of this folder; an empty one when there is none.
    ///
    /// # Errors
    /// [`FolderError::Lock`], in words with the line.
    pub fn lock(&self) -> Result<Arc<Lock>, FolderError> {
        let broken = FolderError::Lock;
        match &*self.keeping {
            Keeping::Disk { root, lock, .. } => {
                let path = match resolve(root, &self.home.join(LOCK)) {
                    Ok(path) => path,
                    Err(FolderError::NotFound) => return Ok(Arc::default()),
                    Err(error) => return Err(broken(error.to_string())),
                };
                let stamp = stamp_of(&path).map_err(|error| broken(error.to_string()))?;
                let mut kept = lock.lock().unwrap_or_else(PoisonError::into_inner);
                if let Some((known, read)) = &*kept
                    && *known == stamp
                {
                    return read.clone().map_err(broken);
                }
                let read = read_file(&path, LARGEST_LOCK).map_err(|error| error.to_string()).and_then(|bytes| lock_of(&bytes));
                *kept = Some((stamp, read.clone()));
                read.map_err(broken)
            }
            Keeping::Memory(files) => match files.get(LOCK) {
                Some(bytes) => lock_of(bytes).map_err(broken),
                None => Ok(Arc::default()),
            },
        }
    }
}

fn lock_of(bytes: &[u8]) -> Result<Arc<Lock>, String> {
    let text = std::str::from_utf8(bytes).map_err(|_| "it is not UTF-8 text".to_string())?;
    Lock::read(text).map(Arc::new)
}

fn folder_at(path: &Path) -> Result<PathBuf, Error> {
    let named = if path.as_os_str().is_empty() { Path::new(".") } else { path };
    let failed = |reason: String| Error::Folder { path: named.display().to_string(), reason };
    let root = named.canonicalize().map_err(|error| failed(plainly(&error)))?;
    if root.is_dir() { Ok(root) } else { Err(failed("it is no folder".into())) }
}

fn stamp_of(path: &Path) -> Result<Stamp, FolderError> {
    let metadata = path.metadata()?;
    Ok(Stamp { modified: metadata.modified().ok(), length: metadata.len() })
}

/// A name that `file`, a name in the folder, says, as a name in the folder: `../img/a.jpg` counts from the file that says it. What is
/// no path (a web address, `sign:pinch`) stays as it is.
pub fn said_in(file: &str, name: &str) -> String {
    let folder = file.rsplit_once('/').map_or("", |(folder, _)| folder);
    let scheme = name.split('/').next().is_some_and(|head| head.contains(':'));
    if folder.is_empty() || name.is_empty() || is_web(name) || scheme {
        return name.to_owned();
    }
    if name.starts_with('/') {
        return format!("{folder}/{name}");
    }
    let mut parts: Vec<&str> = Vec::new();
    for part in folder.split('/').chain(name.split('/')) {
        match part {
            "" | "." => {}
            ".." if parts.last().is_some_and(|last| *last != "..") => {
                parts.pop();
            }
            part => parts.push(part),
        }
    }
    parts.join("/")
}

/// What a name may mean, as it is written first.
fn spellings(name: &str) -> Vec<String> {
    let mut all = vec![name.to_owned()];
    if name.contains('%')
        && let Ok(decoded) = percent_decode_str(name).decode_utf8()
    {
        all.push(decoded.into_owned());
    }
    if let Some(at) = name.find(['?', '#']).filter(|&at| at > 0) {
        let path = &name[..at];
        all.push(path.to_owned());
        if let Ok(decoded) = percent_decode_str(path).decode_utf8() {
            all.push(decoded.into_owned());
        }
    }
    if name.contains('\\') {
        all.push(name.replace('\\', "/"));
    }
    all.dedup();
    all
}

/// A name that counts from a folder of the project, as a path from the project's root, which it does not leave.
fn inside(folder: &Path, name: &str) -> Result<PathBuf, FolderError> {
    let mut path = folder.to_path_buf();
    for component in Path::new(name).components() {
        match component {
            Component::Normal(part) => path.push(part),
            Component::CurDir => {}
            Component::ParentDir => {
                if !path.pop() {
                    return Err(FolderError::Climbs);
                }
            }
            Component::RootDir | Component::Prefix(_) => return Err(FolderError::Climbs),
        }
    }
    Ok(path)
}

/// The path with the capitals that it has on disk, when there is one.
fn in_other_case(root: &Path, inside: &Path) -> Option<PathBuf> {
    const MOST: usize = 10_000;
    let mut path = PathBuf::new();
    for part in inside {
        let exact = path.join(part);
        if root.join(&exact).symlink_metadata().is_ok() {
            path = exact;
            continue;
        }
        let wanted = part.to_str()?.to_lowercase();
        let names = std::fs::read_dir(root.join(&path)).ok()?.take(MOST).flatten().map(|entry| entry.file_name());
        let alike = names.filter(|name| name.to_str().is_some_and(|name| name.to_lowercase() == wanted));
        path.push(alike.min()?);
    }
    Some(path)
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
