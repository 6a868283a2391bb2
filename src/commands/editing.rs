//! The hand of the desk: which block stands under it, and its gestures written into the files that the manual is read from.
//!
//! What a gesture does to a text is the room `edit`'s to say; here are the files, what pages saw of them, and what can be undone.

use std::collections::{BTreeMap, VecDeque};
use std::ops::Range;
use std::path::PathBuf;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use super::dropping;
use super::mending::{self, Where};
use super::pointed::{Under, under};
use super::printing::digest;
use super::rewriting::{Rewritten, rewrite};
use crate::copy;
use crate::desk::{Coloured, Difference, Found, Hold, Looked, LookedPanel, Mend, Shown, Trouble, Written};
use crate::edit::{self, Change, Edited, History, Laid, Refused, Way};
use crate::lengths::Dots;
use crate::manual::document::{self, Document, Width};
use crate::manual::source::Source;
use crate::manual::{Folder, LONGEST, Unsaved};
use crate::names::plainly;
use crate::pictures::PictureSet;
use crate::pictures::colour::{InColour, Look};
use crate::prepress::Prepress;

/// Most pixels across of a picture that a page is shown.
const MOST: u32 = 1600;
/// Texts that pages saw, which are kept: so many, of so many bytes.
const TEXTS: usize = 64;
const LARGEST: usize = 32 << 20;
/// How often a gesture is laid anew on a file that somebody else writes at the same moment.
const TRIES: usize = 5;

/// A text that a page saw.
struct Seen {
    file: String,
    revision: String,
    text: Arc<str>,
}

pub struct Hand {
    /// The manual's folder.
    home: PathBuf,
    project: Option<PathBuf>,
    seen: Mutex<VecDeque<Seen>>,
    /// What is tried and not written.
    tried: Mutex<Option<(Hold, Change)>>,
    /// By file; held while one is written, so that two pages do not write at once.
    histories: Mutex<BTreeMap<String, History>>,
}

/// A file as it is now.
struct Now {
    path: PathBuf,
    bytes: Vec<u8>,
    /// Without the mark that some editors put before a text.
    text: String,
}

const MARK: &[u8] = b"\xEF\xBB\xBF";

fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Words of the room as a page says them.
fn told(refused: Refused) -> Trouble {
    let mut letters = refused.words.chars();
    let first = letters.next().map(char::to_uppercase).into_iter().flatten();
    let message = format!("{}.", first.chain(letters).collect::<String>());
    Trouble { message, hint: refused.hint, paste: refused.paste, ..Trouble::default() }
}

impl Hand {
    pub fn new(home: PathBuf, project: Option<PathBuf>) -> Hand {
        Hand { home, project, seen: Mutex::default(), tried: Mutex::default(), histories: Mutex::default() }
    }

    /// The manual's folder, as it is now.
    fn folder(&self) -> Result<Folder, Trouble> {
        let home = &self.home;
        let folder = match &self.project {
            Some(project) => Folder::open_in(home, project),
            None => Folder::open(home),
        };
        folder.map_err(|error| Trouble::new(format!("The manual's folder cannot be used: {error}.")))
    }

    /// A file of the project by its name in the manual's folder.
    fn file(&self, name: &str) -> Result<Now, Trouble> {
        let cannot = |why: String| Trouble::new(format!("{name} cannot be read: {why}."));
        let folder = self.folder()?;
        // Links are followed, and only inside the project.
        let found = folder.find(name).map_err(|error| cannot(error.to_string()))?;
        let bytes = folder.read(name, LONGEST).map_err(|error| cannot(error.to_string()))?;
        let text = String::from_utf8(bytes.strip_prefix(MARK).unwrap_or(&bytes).to_vec());
        let text = text.map_err(|_| cannot("it is not UTF-8 text".into()))?;
        Ok(Now { path: found.path, bytes, text })
    }

    /// Keeps what a page saw, and gives the name of it.
    fn remember(&self, file: &str, text: &str) -> String {
        let revision = digest(text.as_bytes())[..32].to_owned();
        let mut seen = lock(&self.seen);
        if let Some(at) = seen.iter().position(|one| one.file == file && one.revision == revision)
            && let Some(one) = seen.remove(at)
        {
            seen.push_back(one);
            return revision;
        }
        seen.push_back(Seen { file: file.to_owned(), revision: revision.clone(), text: text.into() });
        while seen.len() > TEXTS || (seen.len() > 1 && seen.iter().map(|one| one.text.len()).sum::<usize>() > LARGEST) {
            seen.pop_front();
        }
        revision
    }

    /// A file that the manual is read from: no other is written.
    fn part(&self, source: &Source, file: &str) -> Result<Now, Trouble> {
        if source.files.iter().all(|known| known.name() != file) {
            return Err(Trouble::new("No file of this name is part of the manual."));
        }
        self.file(file)
    }

    /// The name of a file's text as it is now.
    pub fn revision(&self, source: &Source, file: &str) -> Result<String, Trouble> {
        Ok(self.remember(file, &self.part(source, file)?.text))
    }

    /// What stands on a line of the manual as it is set.
    pub fn look(&self, press: &Prepress, source: &Source, document: &Document, file: &str, line: u32) -> Result<Looked, Trouble> {
        let under = under(source, document, file, line).ok_or_else(|| {
            Trouble::new("No picture, figure or comic stands there.")
                .hint("a hand is laid on a picture, a figure block or a comic")
        })?;
        let now = self.part(source, file)?;
        let paper = press.profile.paper();
        let mut looked = Looked {
            line,
            last: line,
            revision: self.remember(file, &now.text),
            column_mm: paper.resolution.mm(Dots(press.profile.dots as i32)).value(),
            ..Looked::default()
        };
        let shown = |address: &str| shown(press.pictures(), address);
        match under {
            Under::Figure(figure) => {
                looked.shown = shown(&figure.picture);
                looked.mm = match figure.width {
                    Some(Width::Length(length)) => Some(length.value()),
                    _ => None,
                };
            }
            Under::Model(view, width) => {
                looked.view = Some([view.turn, view.tilt].map(|degrees| f64::from(degrees) / 1000.0));
                looked.mm = match width {
                    Some(Width::Length(length)) => Some(length.value()),
                    _ => None,
                };
            }
            Under::Comic(_, panel) => looked.panel = panel,
        }
        let read = edit::at_line(&now.text, line).and_then(|block| Ok((edit::read(&now.text, &block)?, block)));
        match read {
            Ok((read, block)) => {
                looked.kind = read.kind;
                [looked.line, looked.last] = block.lines(&now.text);
                (looked.callouts, looked.balloons) = (read.callouts, read.balloons);
                (looked.crop, looked.screen, looked.background) = (read.crop, read.screen, read.background);
                looked.panels = read
                    .panels
                    .iter()
                    .map(|panel| LookedPanel { line: panel.line, columns: panel.columns, shown: None })
                    .collect();
            }
            Err(refused) => {
                let refused = told(refused);
                looked.kind = match under {
                    Under::Figure(_) => "picture",
                    Under::Model(..) => "model",
                    Under::Comic(..) => "comic",
                };
                if let Under::Figure(figure) = under {
                    looked.callouts = figure.callouts.iter().map(callout).collect();
                    looked.crop = figure.crop.map(|crop| crop.map(|side| f64::from(side) / 10.0).to_array());
                }
                (looked.fixed, looked.paste) = (Some(refused.message), refused.paste);
            }
        }
        if let Under::Comic(pictures, _) = under {
            for (panel, picture) in looked.panels.iter_mut().zip(&pictures) {
                panel.shown = picture.and_then(shown);
            }
        }
        let histories = lock(&self.histories);
        [looked.undo, looked.redo] = histories.get(file).map_or([0, 0], History::len);
        Ok(looked)
    }

    /// The text that a page saw. What no page looked at is not written.
    fn known(&self, hold: &Hold) -> Result<Arc<str>, Trouble> {
        let seen = lock(&self.seen);
        let known = seen.iter().find(|one| one.file == hold.file && one.revision == hold.revision).map(|one| one.text.clone());
        known.ok_or_else(|| {
            Trouble::new("The desk no longer knows what you saw of this file.").hint("close the picture and open it again")
        })
    }

    /// Tries a gesture, or none: see [`Hand::unsaved`].
    pub fn try_out(&self, tried: Option<(&Hold, &Change)>) -> Result<(), Trouble> {
        *lock(&self.tried) = None;
        if let Some((hold, change)) = tried {
            self.laid(hold, change)?;
            *lock(&self.tried) = Some((hold.clone(), change.clone()));
        }
        Ok(())
    }

    /// What a file would hold with the gesture that is tried, whatever it holds by now.
    pub fn unsaved(&self) -> Option<Unsaved> {
        let tried = lock(&self.tried).clone();
        tried.and_then(|(hold, change)| self.laid(&hold, &change).ok())
    }

    fn laid(&self, hold: &Hold, change: &Change) -> Result<Unsaved, Trouble> {
        let (seen, now) = (self.known(hold)?, self.file(&hold.file)?);
        let (edited, _) = edit::lay(&seen, hold.line, &now.text, change).map_err(told)?;
        Ok(Unsaved { path: now.path, text: edited.text })
    }

    /// Writes a gesture.
    pub fn change(&self, hold: &Hold, change: &Change) -> Result<Written, Trouble> {
        *lock(&self.tried) = None;
        let seen = self.known(hold)?;
        self.gesture(&hold.file, &mut |now| edit::lay(&seen, hold.line, now, change))
    }

    fn gesture(&self, file: &str, make: &mut dyn FnMut(&str) -> Result<Laid, Refused>) -> Result<Written, Trouble> {
        let mut histories = lock(&self.histories);
        let (before, edited, range) = self.write(file, make)?;
        let history = histories.entry(file.to_owned()).or_default();
        history.keep(&before, range, &edited);
        Ok(self.written(file, &edited, history))
    }

    /// What a gesture would write.
    pub fn difference(&self, hold: &Hold, change: &Change) -> Result<Difference, Trouble> {
        let now = self.file(&hold.file)?;
        Ok(difference(&hold.file, &now.text, &self.laid(hold, change)?.text))
    }

    /// What would mend a finding, with the places that it is laid on.
    pub fn mends(&self, press: &Prepress, source: &Source, document: &Document, found: &Found) -> Result<Vec<Mend>, Trouble> {
        let mut mends = Vec::new();
        for (place, mend) in mending::mends(&press.folder, source, document, found) {
            let (file, line) = match place {
                Where::Line => (&found.file, found.line),
                Where::Header => (&press.file, 1),
            };
            // Of what stands in a table of units, or in a style, nothing is offered.
            if let Ok(now) = self.part(source, file) {
                mends.push(Mend { file: file.clone(), line, revision: self.remember(file, &now.text), ..mend });
            }
        }
        Ok(mends)
    }

    /// Puts a picture file beside the manual, and a picture behind what is held.
    pub fn put_picture(&self, hold: &Hold, name: &str, bytes: &[u8]) -> Result<Written, Trouble> {
        let seen = self.known(hold)?;
        let now = self.file(&hold.file)?;
        let lay =
            |address: &str, now: &str| edit::lay(&seen, hold.line, now, &Change::PicturePut { address: address.to_owned() });
        if hold.file.starts_with("../") {
            return Err(Trouble::new("This file lies outside of the manual's folder, beside which the pictures are."));
        }
        // Whether it can stand there is known before a file is made.
        lay("a.png", &now.text).map_err(told)?;
        let kept = dropping::keep(&self.folder()?, name, bytes)?;
        // An address counts from the file that says it.
        let up = "../".repeat(hold.file.matches('/').count());
        let written = self.gesture(&hold.file, &mut |now| lay(&format!("{up}{}", kept.address), now));
        if written.is_err() {
            kept.undo();
        }
        written
    }

    /// Takes the last gesture back, or does it again.
    pub fn turn_back(&self, file: &str, way: Way) -> Result<Written, Trouble> {
        *lock(&self.tried) = None;
        let mut histories = lock(&self.histories);
        // Nothing was done to any other file.
        let history = histories.entry(file.to_owned()).or_default();
        if history.is_empty() {
            return Err(Trouble::new("Nothing was done to this file from here."));
        }
        let (before, edited, range) = self.write(file, &mut |now| history.turn(way, now))?;
        history.turned(way, &before, range, &edited);
        Ok(self.written(file, &edited, history))
    }

    fn written(&self, file: &str, edited: &Edited, history: &History) -> Written {
        let [undo, redo] = history.len();
        Written { revision: self.remember(file, &edited.text), line: edited.line(), last: edited.last_line(), undo, redo }
    }

    /// Writes what `make` makes of the file as it is now, again where somebody else was faster. Gives the text that it was laid on.
    fn write(
        &self,
        file: &str,
        make: &mut dyn FnMut(&str) -> Result<Laid, Refused>,
    ) -> Result<(String, Edited, Range<usize>), Trouble> {
        for _ in 0..TRIES {
            let now = self.file(file)?;
            let (edited, range) = make(&now.text).map_err(told)?;
            let marked = if now.bytes.starts_with(MARK) { MARK } else { &[] };
            let after = [marked, edited.text.as_bytes()].concat();
            let done = rewrite(&now.path, &now.bytes, &after).map_err(|error| {
                let block = edited.text.get(edited.range.clone()).unwrap_or_default();
                Trouble {
                    paste: Some(format!("{block}\n")),
                    ..Trouble::new(format!("{file} cannot be written: {}.", plainly(&error)))
                }
            })?;
            if done == Rewritten::Done {
                return Ok((now.text, edited, range));
            }
        }
        Err(Trouble::new(format!("{file} is being written by another program, so that nothing was written.")).hint("try again"))
    }
}

/// Lines that are shown above and below those that differ.
const AROUND: usize = 2;

/// The lines of a file that differ.
fn difference(file: &str, was: &str, is: &str) -> Difference {
    let (old, new): (Vec<&str>, Vec<&str>) = (was.lines().collect(), is.lines().collect());
    let first = old.iter().zip(&new).take_while(|(old, new)| old == new).count();
    let most = old.len().min(new.len()) - first;
    let last = old.iter().rev().zip(new.iter().rev()).take_while(|(old, new)| old == new).count().min(most);
    let some = |lines: &[&str]| lines.iter().map(|line| (*line).to_owned()).collect::<Vec<String>>();
    let (gone, come) = (old.len() - last, new.len() - last);
    Difference {
        file: file.to_owned(),
        line: first as u32 + 1,
        above: some(&new[first.saturating_sub(AROUND)..first]),
        was: some(&old[first..gone]),
        is: some(&new[first..come]),
        below: some(&new[come..new.len().min(come + AROUND)]),
    }
}

fn callout(callout: &document::Callout) -> edit::Callout {
    edit::Callout { at: callout.at.map(|side| f64::from(side) / 10.0).to_array(), label: callout.label.clone() }
}

fn shown(pictures: &PictureSet, address: &str) -> Option<Shown> {
    let info = pictures.look(address).ok()?;
    let content = info.id.0.iter().map(|byte| format!("{byte:02x}")).collect();
    Some(Shown { width: info.width, height: info.height, content })
}

/// The picture of the block on a line, or of one of its panels, upright and whole.
pub fn coloured(
    pictures: &PictureSet,
    source: &Source,
    document: &Document,
    (file, line): (&str, u32),
    panel: usize,
) -> Result<Coloured, Trouble> {
    let address = match under(source, document, file, line) {
        Some(Under::Figure(figure)) => Some(figure.picture.as_str()),
        Some(Under::Comic(pictures, _)) => pictures.get(panel).copied().flatten(),
        _ => None,
    };
    let address = address.ok_or_else(|| Trouble::new("No picture stands there."))?;
    let look = Look { most: MOST, largest: 0, wording: document.header.wording() };
    match pictures.in_colour(address, None, look).map_err(|error| Trouble::new(error.to_string()))? {
        InColour::Pixels(pixels) => {
            let (kind, bytes) = copy::encoded(&pixels);
            Ok(Coloured { kind: if kind == "png" { "image/png" } else { "image/jpeg" }, bytes })
        }
        InColour::Outlines(_) => Err(Trouble::new("This drawing cannot be shown in pixels.")),
    }
}
