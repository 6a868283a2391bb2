//! The packing bench behind the desk's page: one shift at a time, on a thread of its own.

use std::path::{Path, PathBuf};
use std::sync::mpsc::{self, Sender};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use tokio::sync::watch;

use super::Error;
use super::options::{self, Everywhere};
use super::packing::{Packing, Ready};
use super::report::Reporter;
use crate::desk::{PackingBench, Trouble};
use crate::packing::{Message, Wishes};
use crate::send::{Intent, Stop};

/// As `pack` takes it by itself.
const LEASE: Duration = Duration::from_secs(60);

pub(super) struct Counter {
    manual: PathBuf,
    everywhere: Everywhere,
    packing: Packing,
    screens: watch::Sender<Arc<str>>,
    /// Held while a shift is begun; where its lines go while one is under way.
    tell: Arc<Mutex<Option<Sender<Message>>>>,
}

impl Counter {
    pub(super) fn new(manual: &Path, everywhere: &Everywhere, asked: &options::Desk, ledger: &Path) -> Counter {
        let packing = Packing {
            to: asked.to.clone(),
            ledger: ledger.to_owned(),
            intent: Intent::Continue,
            bench: asked.bench.clone(),
            lease: LEASE,
            prefix: asked.prefix.clone().unwrap_or_default(),
            roll: None,
        };
        let screens = watch::Sender::new(Arc::from("null"));
        Counter { manual: manual.to_owned(), everywhere: everywhere.clone(), packing, screens, tell: Arc::default() }
    }
}

fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

impl PackingBench for Counter {
    fn begin(&self) -> Result<(), Trouble> {
        let mut tell = lock(&self.tell);
        if tell.is_some() {
            return Ok(());
        }
        let reporter = Reporter::silent();
        let ready = Ready::new(&self.manual, &self.everywhere, self.packing.clone(), Stop::new(), &reporter);
        let ready = ready.map_err(|error| Trouble::from(&error))?;
        let wishes = Wishes::new();
        let lines = wishes.tell.clone();
        let (begun, whether) = mpsc::channel::<Result<(), Error>>();
        let (screens, place) = (self.screens.clone(), self.tell.clone());
        let shift = move || {
            let played = ready.play(wishes, &mut |screen, _| {
                // A page reads it; what is plain data can be written.
                let json = serde_json::to_string(screen).unwrap_or_else(|_| "null".to_owned());
                screens.send_replace(Arc::from(json));
                // Nobody listens any more after the first time.
                let _ = begun.send(Ok(()));
            });
            // Whoever begins the next one waits until here.
            lock(&place).take();
            if let Err(error) = played {
                let _ = begun.send(Err(error));
            }
        };
        let none = |error: std::io::Error| Trouble::new(format!("The system gives no thread: {error}"));
        std::thread::Builder::new().name("packing".to_owned()).spawn(shift).map_err(none)?;
        // It can't have ended before it is known here: its end waits for this lock.
        *tell = Some(lines);
        drop(tell);
        match whether.recv() {
            Ok(Ok(())) => Ok(()),
            Ok(Err(error)) => Err(Trouble::from(&error)),
            Err(_) => Err(Trouble::new("The packing bench stumbled over its beginning.")),
        }
    }

    fn scan(&self, line: &str) -> Result<(), Trouble> {
        let told = lock(&self.tell).as_ref().is_some_and(|tell| tell.send(Message::Line(line.to_owned())).is_ok());
        let ended = || Trouble::new("This shift has ended, nothing was marked.").hint("Reload the page to begin another.");
        told.then_some(()).ok_or_else(ended)
    }

    fn screens(&self) -> watch::Receiver<Arc<str>> {
        self.screens.subscribe()
    }
}
