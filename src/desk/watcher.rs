//! Tells when a file that the strip is made of has changed, however an editor saves it.
//!
//! What is watched are folders, because an editor that writes a new file and renames it over the old one leaves a watch on the
//! file itself pointing at nothing. It never reads a file.

use std::collections::BTreeSet;
use std::ffi::OsStr;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use notify::event::{AccessKind, AccessMode, ModifyKind, RenameMode};
use notify::{Config, Event, EventKind, PollWatcher, RecommendedWatcher, RecursiveMode, Watcher as _};

/// Between two looks where the system cannot tell of changes.
const LOOK: Duration = Duration::from_millis(400);

/// Something happened to a watched file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stir {
    /// The file stands whole: it was closed after writing or renamed into place. Otherwise more is likely to follow at once.
    pub settled: bool,
}

/// What the callback compares events with.
#[derive(Debug, Default)]
struct Wanted {
    files: BTreeSet<PathBuf>,
    folders: BTreeSet<PathBuf>,
    /// A watched folder itself went away: all watches are to be set anew.
    lost: bool,
}

/// Watches a set of files that may change at any time.
pub struct Watcher {
    watcher: Box<dyn notify::Watcher + Send>,
    wanted: Arc<Mutex<Wanted>>,
}

impl Watcher {
    /// `tell` is called on a thread of the watcher's own.
    ///
    /// # Errors
    /// When neither the system's notices nor looking again and again can be set up.
    pub fn new(tell: impl Fn(Stir) + Send + Clone + 'static) -> Result<Watcher, notify::Error> {
        let wanted = Arc::new(Mutex::new(Wanted::default()));
        let hear = |wanted: &Arc<Mutex<Wanted>>, tell: &(dyn Fn(Stir) + Send), event: notify::Result<Event>| {
            // An overflow or error of the system's queue may hide a change: look.
            let stir = match event {
                Ok(event) => wanted.lock().unwrap_or_else(PoisonError::into_inner).hear(&event),
                Err(_) => Some(Stir { settled: false }),
            };
            if let Some(stir) = stir {
                tell(stir);
            }
        };
        let (kept, told) = (wanted.clone(), tell.clone());
        let watcher: Box<dyn notify::Watcher + Send> =
            match RecommendedWatcher::new(move |event| hear(&kept, &told, event), Config::default()) {
                Ok(watcher) => Box::new(watcher),
                Err(_) => {
                    let (kept, told) = (wanted.clone(), tell);
                    let config = Config::default().with_poll_interval(LOOK);
                    Box::new(PollWatcher::new(move |event| hear(&kept, &told, event), config)?)
                }
            };
        Ok(Watcher { watcher, wanted })
    }

    /// From now on these files. True when a folder is watched that was not: what happened in it until now was not seen.
    pub fn watch(&mut self, paths: &[PathBuf]) -> bool {
        let mut files = BTreeSet::new();
        for path in paths {
            files.extend(nearest(path));
            // A picture that is a link changes where it leads to.
            if let Ok(real) = path.canonicalize() {
                files.insert(real);
            }
        }
        let folders: BTreeSet<PathBuf> = files.iter().filter_map(|file| file.parent().map(Path::to_path_buf)).collect();
        let (before, lost) = {
            let mut wanted = self.wanted.lock().unwrap_or_else(PoisonError::into_inner);
            wanted.files = files;
            (wanted.folders.clone(), std::mem::take(&mut wanted.lost))
        };
        for folder in before.iter().filter(|folder| lost || !folders.contains(*folder)) {
            // A folder that is gone is no longer watched anyway.
            let _ = self.watcher.unwatch(folder);
        }
        let mut now = BTreeSet::new();
        let mut grew = false;
        for folder in folders {
            let kept = !lost && before.contains(&folder);
            if kept || self.watcher.watch(&folder, RecursiveMode::NonRecursive).is_ok() {
                grew |= !kept;
                now.insert(folder);
            }
        }
        self.wanted.lock().unwrap_or_else(PoisonError::into_inner).folders = now;
        grew
    }
}

/// The file by the true name of its folder; for a folder that is not there, the topmost missing part of the path, so that its
/// coming is noticed.
fn nearest(path: &Path) -> Option<PathBuf> {
    let absolute = std::path::absolute(path).ok()?;
    let mut missing: &Path = &absolute;
    loop {
        let folder = missing.parent()?;
        if let Ok(folder) = folder.canonicalize() {
            return Some(folder.join(missing.file_name().unwrap_or(OsStr::new(""))));
        }
        missing = folder;
    }
}

impl Wanted {
    fn hear(&mut self, event: &Event) -> Option<Stir> {
        let settled = match event.kind {
            EventKind::Access(AccessKind::Close(AccessMode::Write)) => true,
            EventKind::Access(_) => return None,
            EventKind::Modify(ModifyKind::Name(mode)) => mode != RenameMode::From,
            EventKind::Create(_) | EventKind::Modify(_) | EventKind::Remove(_) | EventKind::Any | EventKind::Other => false,
        };
        let gone = matches!(event.kind, EventKind::Remove(_) | EventKind::Modify(ModifyKind::Name(_)));
        if gone && event.paths.iter().any(|path| self.folders.contains(path)) {
            self.lost = true;
            return Some(Stir { settled: false });
        }
        let ours = event.need_rescan() || event.paths.iter().any(|path| self.files.contains(path));
        ours.then_some(Stir { settled })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fs;
    use std::sync::mpsc::{Receiver, channel};

    fn watching(paths: &[PathBuf]) -> (Watcher, Receiver<Stir>) {
        let (tell, heard) = channel();
        let mut watcher = Watcher::new(move |stir| {
            let _ = tell.send(stir);
        })
        .expect("a watcher");
        watcher.watch(paths);
        (watcher, heard)
    }

    /// Whether a settled change is told of within a second.
    fn settles(heard: &Receiver<Stir>) -> bool {
        std::iter::from_fn(|| heard.recv_timeout(Duration::from_secs(20)).ok()).any(|stir| stir.settled)
    }

    /// Something is noticed, however long a busy machine takes.
    fn comes(heard: &Receiver<Stir>) -> bool {
        heard.recv_timeout(Duration::from_secs(20)).is_ok()
    }

    fn quiet(heard: &Receiver<Stir>) -> bool {
        heard.recv_timeout(Duration::from_millis(120)).is_err()
    }

    #[test]
    fn a_plain_save_a_rename_and_a_backup_are_all_noticed() {
        let folder = tempfile::tempdir().expect("a folder");
        let manual = folder.path().join("manual.md");
        fs::write(&manual, "one").expect("written");
        let (_watcher, heard) = watching(std::slice::from_ref(&manual));

        fs::write(&manual, "two").expect("written");
        assert!(settles(&heard), "written in place");

        let beside = folder.path().join(".manual.md.part");
        fs::write(&beside, "three").expect("written");
        fs::rename(&beside, &manual).expect("renamed");
        assert!(settles(&heard), "renamed over");
        fs::write(&manual, "four").expect("written");
        assert!(settles(&heard), "written in place after it was renamed over");

        fs::rename(&manual, folder.path().join("manual.md~")).expect("renamed");
        fs::write(&manual, "five").expect("written");
        assert!(settles(&heard), "moved away and written anew");
    }

    #[test]
    fn reading_a_file_and_writing_its_neighbour_are_no_change() {
        let folder = tempfile::tempdir().expect("a folder");
        let manual = folder.path().join("manual.md");
        fs::write(&manual, "one").expect("written");
        let (_watcher, heard) = watching(std::slice::from_ref(&manual));
        fs::read(&manual).expect("read");
        fs::write(folder.path().join("other.md"), "two").expect("written");
        assert!(quiet(&heard));
    }

    #[test]
    fn a_folder_that_comes_later_is_noticed_and_then_watched() {
        let folder = tempfile::tempdir().expect("a folder");
        let picture = folder.path().join("pictures").join("front.png");
        let (mut watcher, heard) = watching(std::slice::from_ref(&picture));
        fs::create_dir(folder.path().join("pictures")).expect("made");
        assert!(comes(&heard), "the folder came");
        assert!(watcher.watch(std::slice::from_ref(&picture)), "the new folder is watched");
        fs::write(&picture, "dots").expect("written");
        assert!(settles(&heard), "the picture came");
    }

    #[test]
    fn a_folder_taken_away_and_put_back_is_watched_again() {
        let folder = tempfile::tempdir().expect("a folder");
        let inner = folder.path().join("pictures");
        let picture = inner.join("front.png");
        fs::create_dir(&inner).expect("made");
        fs::write(&picture, "dots").expect("written");
        let (mut watcher, heard) = watching(std::slice::from_ref(&picture));
        fs::remove_dir_all(&inner).expect("removed");
        assert!(comes(&heard), "its going is noticed");
        while !quiet(&heard) {}
        watcher.watch(std::slice::from_ref(&picture));
        fs::create_dir(&inner).expect("made");
        assert!(comes(&heard), "its coming is noticed");
        watcher.watch(std::slice::from_ref(&picture));
        fs::write(&picture, "more").expect("written");
        assert!(settles(&heard));
    }

    #[cfg(unix)]
    #[test]
    fn what_a_link_leads_to_is_watched_too() {
        let folder = tempfile::tempdir().expect("a folder");
        let store = tempfile::tempdir().expect("a folder");
        let (real, link) = (store.path().join("front.png"), folder.path().join("front.png"));
        fs::write(&real, "dots").expect("written");
        std::os::unix::fs::symlink(&real, &link).expect("linked");
        let (_watcher, heard) = watching(std::slice::from_ref(&link));
        fs::write(&real, "more").expect("written");
        assert!(settles(&heard));
    }
}
