//! `stripling gather`: pictures at web addresses come into the folder beside the manual, and the lock file says which is which.
//!
//! The only command that asks the network for pictures. Files are written whole or not at all, the lock file last.

use std::collections::{BTreeMap, BTreeSet};
use std::io::IsTerminal;
use std::path::Path;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, PoisonError, mpsc};
use std::time::Duration;

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use serde::Serialize;

use super::Error;
use super::inputs;
use super::options::{Everywhere, Gather};
use super::output::Output;
use super::report::{Reporter, Trouble};
use crate::lengths::{Dots, Paper, Resolution};
use crate::manual::document::Treatment;
use crate::manual::folder::Folder;
use crate::manual::gathered::{self, Entry, FOLDER, LOCK, Lock};
use crate::pictures::{self, PictureSet, Request};
use crate::prepress::Prepress;
use crate::send::Stop;
use crate::type_setting::FONT_FILES;
use crate::web::{self, Client, Limits};

/// Files asked for at the same time.
const AT_ONCE: usize = 6;

/// What became of one address.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum State {
    /// It came, and was not here before; with `--check`, it has not been gathered yet.
    New,
    /// It is here already; with `--check`, the server still gives the same.
    Kept,
    /// The server gives something else than the lock file says.
    Changed,
    /// The server says that there is no such file any more.
    Gone,
    /// It did not come, or is no picture that can be used.
    Refused,
}

/// One address and what became of it, as `--json` says it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Picture {
    pub address: String,
    pub file: Option<String>,
    pub sha256: Option<String>,
    pub kind: Option<String>,
    pub state: State,
    pub message: Option<String>,
}

impl Picture {
    fn of(address: &str, entry: Option<&Entry>, state: State, message: Option<String>) -> Picture {
        Picture {
            address: address.to_string(),
            file: entry.map(|entry| format!("{FOLDER}/{}", entry.file)),
            sha256: entry.map(|entry| entry.sha256.clone()),
            kind: entry.map(|entry| entry.kind.clone()),
            state,
            message,
        }
    }
}

pub fn run(asked: &Gather, everywhere: &Everywhere, reporter: &Reporter) -> Result<(), Error> {
    let press = inputs::open(&asked.manual, everywhere, reporter)?;
    let wanted = wanted(&press)?;
    let stop = Stop::new();
    stop.listen(|times| {
        if times == 1 {
            eprintln!("stopping; what came stays");
        }
    })
    .map_err(|error| Error::Input(Trouble::new(format!("Ctrl-C cannot be listened for: {error}"))))?;
    let bar = ProgressBar::new(wanted.len() as u64);
    let shown = !reporter.is_quiet() && !wanted.is_empty() && std::io::stderr().is_terminal();
    bar.set_draw_target(if shown { ProgressDrawTarget::stderr() } else { ProgressDrawTarget::hidden() });
    if let Ok(style) = ProgressStyle::with_template("{bar:24} {pos}/{len} pictures, {wide_msg}") {
        bar.set_style(style.progress_chars("██░"));
    }
    let pictures = bring(&press.folder, &wanted, Limits::default(), asked.check, &stop, &mut |address, done| {
        bar.set_position(done as u64);
        bar.set_message(address.to_string());
    });
    bar.finish_and_clear();
    let pictures = pictures?;
    if asked.json {
        let mut told = serde_json::to_string_pretty(&serde_json::json!({ "pictures": pictures })).unwrap_or_default();
        told.push('\n');
        Output::Standard.write(told.as_bytes())?;
    } else {
        said(&pictures, asked.check).iter().for_each(|line| reporter.say(line));
    }
    all_came(&pictures)?;
    match asked.check && pictures.iter().any(|picture| picture.state != State::Kept) {
        true => Err(Error::Found),
        false => Ok(()),
    }
}

/// # Errors
/// With each address that did not come, and why.
pub fn all_came(pictures: &[Picture]) -> Result<(), Error> {
    let lost: Vec<&Picture> = pictures.iter().filter(|picture| matches!(picture.state, State::Gone | State::Refused)).collect();
    if !lost.is_empty() {
        let lines: Vec<String> = lost.iter().map(|p| format!("{}: {}", p.address, p.message.as_deref().unwrap_or(""))).collect();
        let message = format!("{} of {} did not come:\n{}", lost.len(), count(pictures.len()), lines.join("\n"));
        let hint = "what came stays; the same command asks for the rest. On the proof each of these is a frame";
        return Err(Error::Printer(Trouble::new(message).hint(hint)));
    }
    Ok(())
}

fn count(pictures: usize) -> String {
    if pictures == 1 { "1 picture".into() } else { format!("{pictures} pictures") }
}

/// For people: what came, by host.
pub fn said(pictures: &[Picture], check: bool) -> Vec<String> {
    let of = |state: State| pictures.iter().filter(move |picture| picture.state == state);
    let mut lines = Vec::new();
    if pictures.is_empty() {
        lines.push("no picture at a web address: nothing to gather".to_string());
    }
    let mut hosts: BTreeMap<String, usize> = BTreeMap::new();
    for picture in of(State::New).chain(of(State::Changed)) {
        *hosts.entry(web::host(&picture.address).unwrap_or_default()).or_default() += 1;
    }
    if check {
        lines.extend(of(State::New).map(|picture| format!("{}: not gathered yet", picture.address)));
        lines.extend(of(State::Changed).map(|picture| format!("{}: changed", picture.address)));
    } else if !hosts.is_empty() {
        let hosts: Vec<String> = hosts.iter().map(|(host, count)| format!("{count} from {host}")).collect();
        lines.push(format!("{} gathered: {}", count(of(State::New).count() + of(State::Changed).count()), hosts.join(", ")));
    }
    let kept = of(State::Kept).count();
    if kept > 0 {
        lines.push(match (check, kept == pictures.len()) {
            (true, true) => format!("{} as they were gathered", count(kept)),
            (false, true) => format!("nothing new: {} here already", count(kept)),
            (true, false) => format!("{} as gathered", count(kept)),
            (false, false) => format!("{} here already", count(kept)),
        });
    }
    lines
}

/// The web addresses of all pictures that any unit's strip shows.
///
/// # Errors
/// As [`Prepress::read`].
pub fn wanted(press: &Prepress) -> Result<BTreeSet<String>, Error> {
    let mut wanted = BTreeSet::new();
    for (unit, number) in press.chosen(None)? {
        let (_, document) = press.read(unit, number)?;
        let pictures = document.blocks.iter().flat_map(|block| block.pictures()).filter(|address| gathered::is_web(address));
        wanted.extend(pictures.map(str::to_string));
        if !press.template.has_fields() {
            break;
        }
    }
    Ok(wanted)
}

/// Brings in what is not here, in files beside the manual; or, with `check`, only compares. `tell` hears which address was answered
/// and how many have been. What came stays whatever happens after it.
///
/// # Errors
/// When the lock file cannot be read, or a file cannot be written.
pub fn bring(
    folder: &Folder,
    wanted: &BTreeSet<String>,
    limits: Limits,
    check: bool,
    stop: &Stop,
    tell: &mut dyn FnMut(&str, usize),
) -> Result<Vec<Picture>, Error> {
    let home = folder.path().ok_or_else(|| Error::Input(Trouble::new("the manual lies in no folder")))?;
    let lock = folder.lock().map_err(|error| Error::Input(Trouble::new(error.to_string()).maybe_hint(error.hint())))?;
    let mut lock = Lock::clone(&lock);
    let mut told: BTreeMap<String, Picture> = BTreeMap::new();
    let mut asked = Vec::new();
    for address in wanted {
        let entry = lock.pictures.get(address);
        let here = entry.is_some() && folder.read(address, limits.each).is_ok();
        match (check, entry, here) {
            (false, Some(entry), true) => {
                drop(told.insert(address.clone(), Picture::of(address, Some(entry), State::Kept, None)))
            }
            (true, None, _) => drop(told.insert(address.clone(), Picture::of(address, None, State::New, None))),
            _ => asked.push(address.clone()),
        }
    }
    let mut done = told.len();
    let answers = ask(asked.clone(), limits, stop);
    let mut failed = None;
    for (address, answer) in answers {
        done += 1;
        tell(&address, done);
        let before = lock.pictures.get(&address);
        let picture = match answer {
            Ok((bytes, kind)) => {
                let sha256 = gathered::digest(&bytes);
                let ending = if kind == "jpeg" { "jpg" } else { kind };
                let entry = Entry { file: format!("{}.{ending}", &sha256[..16]), sha256, kind: kind.to_string() };
                let state = match before {
                    Some(before) if before.sha256 == entry.sha256 && check => State::Kept,
                    Some(before) if before.sha256 != entry.sha256 => State::Changed,
                    _ => State::New,
                };
                let picture = Picture::of(&address, Some(&entry), state, None);
                if !check {
                    if let Err(error) = keep(&home, &entry.file, &bytes) {
                        failed = Some(error);
                        break;
                    }
                    lock.pictures.insert(address.clone(), entry);
                }
                picture
            }
            Err((state, message)) => Picture::of(&address, before, state, Some(message)),
        };
        told.insert(address, picture);
        if asked.iter().all(|address| told.contains_key(address)) {
            break;
        }
        if stop.after_this_strip() {
            break;
        }
    }
    for address in asked.iter().filter(|address| !told.contains_key(*address)).cloned().collect::<Vec<_>>() {
        let picture = Picture::of(&address, lock.pictures.get(&address), State::Refused, Some("stopped as asked".into()));
        told.insert(address, picture);
    }
    let came = told.values().any(|picture| matches!(picture.state, State::New | State::Changed));
    if !check && came {
        Output::File(home.join(LOCK)).write(lock.write().as_bytes())?;
    }
    match failed {
        Some(error) => Err(error),
        None => Ok(told.into_values().collect()),
    }
}

fn keep(home: &Path, file: &str, bytes: &[u8]) -> Result<(), Error> {
    let folder = home.join(FOLDER);
    std::fs::create_dir_all(&folder)
        .map_err(|error| Error::Input(Trouble::new(format!("{} cannot be made: {error}", folder.display()))))?;
    if !folder.canonicalize().is_ok_and(|real| real.starts_with(home)) {
        let trouble = Trouble::new(format!("{} is a link that leads elsewhere", folder.display()));
        return Err(Error::Input(trouble.hint("pictures are written beside the manual only; take the link away")));
    }
    Output::File(folder.join(file)).write(bytes)
}

type Answer = Result<(Vec<u8>, &'static str), (State, String)>;

/// Asks for all addresses, a few at a time; answers come as they come. A thread that a silent server holds up is not waited for once a
/// person has asked to stop.
fn ask(addresses: Vec<String>, limits: Limits, stop: &Stop) -> impl Iterator<Item = (String, Answer)> {
    let client = Arc::new(Client::new(limits));
    let next = Arc::new(AtomicUsize::new(0));
    let addresses = Arc::new(addresses);
    let judging = Arc::new(Mutex::new(()));
    let (send, answers) = mpsc::sync_channel(AT_ONCE);
    for _ in 0..AT_ONCE.min(addresses.len()) {
        let (client, next, addresses) = (client.clone(), next.clone(), addresses.clone());
        let (judging, send, stop) = (judging.clone(), send.clone(), stop.clone());
        std::thread::spawn(move || {
            while let Some(address) = addresses.get(next.fetch_add(1, Ordering::SeqCst)) {
                let answer = client.fetch(&web::raw(address), &|| stop.after_this_strip()).map_err(|error| {
                    let gone =
                        matches!(&error, web::Error::Status(status) if status.starts_with("404") || status.starts_with("410"));
                    (if gone { State::Gone } else { State::Refused }, error.to_string())
                });
                let answer = answer.and_then(|bytes| {
                    // One at a time: a large picture takes much memory while it is looked at.
                    let _one = judging.lock().unwrap_or_else(PoisonError::into_inner);
                    let kind = judge(&bytes).map_err(|why| (State::Refused, why))?;
                    Ok((bytes, kind))
                });
                if send.send((address.clone(), answer)).is_err() || stop.after_this_strip() {
                    break;
                }
            }
        });
    }
    drop(send);
    let stop = stop.clone();
    std::iter::from_fn(move || {
        loop {
            match answers.recv_timeout(Duration::from_millis(50)) {
                Ok(answer) => return Some(answer),
                Err(mpsc::RecvTimeoutError::Disconnected) => return None,
                Err(mpsc::RecvTimeoutError::Timeout) if stop.after_this_strip() => return None,
                Err(mpsc::RecvTimeoutError::Timeout) => {}
            }
        }
    })
}

/// What the bytes are, whatever they are called: a picture that can be set, or why not.
fn judge(bytes: &[u8]) -> Result<&'static str, String> {
    let Some(kind) = pictures::load::kind(bytes) else {
        let head = String::from_utf8_lossy(&bytes[..bytes.len().min(1024)]).to_ascii_lowercase();
        let page = head.contains("<html") || head.contains("<!doctype html");
        return Err(match pictures::foreign::kind(bytes) {
            _ if page => "a page came instead of a picture".into(),
            Some(other) => format!("what came is {}, which is not read", other.name),
            None => "what came is no picture of a known kind".into(),
        });
    };
    let pictures = PictureSet::open(Folder::of_files([("it", bytes)]), FONT_FILES);
    // Looked at whole, as it will be set: what is cut short is not seen from its head.
    let side = Dots(64);
    let paper = Paper { width: side, resolution: Resolution::EIGHT, dot_gain: 0.into() };
    let request = Request { crop: None, width: side, height: side, screen: None, treatment: Treatment::default(), paper };
    pictures.screen("it", &request).map(|_| kind).map_err(|error| format!("what came cannot be used: {}", error.why()))
}
