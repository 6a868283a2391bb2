//! Where proofs are made: one thread that sets the manual anew when a file has changed or a page asks for another view.
//!
//! A proof that fails leaves the last good one lying and puts the trouble beside it.

use std::collections::{BTreeMap, BTreeSet};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError, Weak};
use std::time::{Duration, Instant};

use tokio::sync::watch;

use super::Error;
use super::tiles::{Slip, slips};
use super::watcher::{Stir, Watcher};
use super::workshop::{Proof, Trouble, View, Workshop};
use crate::strip::Strip;

/// Most views that are kept up to date at once.
pub const MOST_VIEWS: usize = 16;
/// After a change that left its file whole: more files of the same save may follow.
const QUIET: Duration = Duration::from_millis(1);
/// After a change in the middle of writing.
const UNSETTLED: Duration = Duration::from_millis(80);
/// However much is being written, the strip is set after this.
const PATIENCE: Duration = Duration::from_millis(500);
/// A manual that cannot be read may be half saved: so long is waited before that is called trouble.
const DOUBT: Duration = Duration::from_millis(60);

/// What a page of one view shows.
#[derive(Clone, Default)]
pub struct Show {
    /// The last good strip.
    pub laid: Option<Arc<Laid>>,
    /// Why there is no newer one, as a page reads it, and the file it names.
    pub trouble: Option<(Arc<str>, Option<String>)>,
}

/// A proof made ready for sending: each part as the JSON that goes out.
pub struct Laid {
    pub strip: Arc<Strip>,
    pub slips: Vec<Slip>,
    pub facts: Arc<str>,
    pub findings: Arc<str>,
    pub boxes: Arc<str>,
    /// Every file that a box or a finding names.
    files: BTreeSet<String>,
}

impl Laid {
    fn new(proof: Proof) -> Laid {
        let panels: Vec<[u32; 2]> = proof.strip.panels.iter().map(|panel| [panel.top, panel.bottom]).collect();
        let facts = serde_json::json!({
            "title": proof.title,
            "estimate": proof.estimate,
            "choices": proof.choices,
            "panels": panels,
            "cuts": proof.strip.cuts,
            "unfinished": proof.unfinished,
        });
        let boxes = serde_json::to_string(&proof.boxes).unwrap_or_else(|_| "[]".into());
        let findings = serde_json::to_string(&proof.findings).unwrap_or_else(|_| "[]".into());
        let found = proof.findings.into_iter().map(|finding| finding.place.file);
        Laid {
            slips: slips(&proof.strip.bitmap),
            files: proof.boxes.into_iter().map(|one| one.file).chain(found).collect(),
            strip: proof.strip,
            facts: facts.to_string().into(),
            findings: findings.into(),
            boxes: boxes.into(),
        }
    }
}

/// What the thread is called for.
enum Errand {
    Stirred(Stir),
    Wanted(View),
}

pub struct Bench {
    workshop: Arc<dyn Workshop>,
    sheets: Mutex<BTreeMap<View, watch::Sender<Show>>>,
    bell: Sender<Errand>,
}

impl Bench {
    /// Starts the thread. It ends when the last clone of the bench is gone.
    ///
    /// # Errors
    /// When changes of files cannot be watched for, or there is no thread to be had.
    pub fn new(workshop: Arc<dyn Workshop>) -> Result<Arc<Bench>, Error> {
        let (bell, errands) = channel();
        let ring = bell.clone();
        let mut watcher = Watcher::new(move |stir| drop(ring.send(Errand::Stirred(stir)))).map_err(Error::Watch)?;
        watcher.watch(&workshop.watch_paths());
        let bench = Arc::new(Bench { workshop, sheets: Mutex::default(), bell });
        let weak = Arc::downgrade(&bench);
        std::thread::Builder::new().name("bench".into()).spawn(move || work(&weak, &errands, watcher)).map_err(Error::Thread)?;
        Ok(bench)
    }

    /// What a page of this view shows, now and from now on.
    ///
    /// # Errors
    /// `None` when too many views are open.
    pub fn look(&self, view: View) -> Option<watch::Receiver<Show>> {
        let mut sheets = self.sheets();
        if let Some(sheet) = sheets.get(&view) {
            let receiver = sheet.subscribe();
            // A sheet that nobody looked at may be out of date.
            if sheet.receiver_count() == 1 {
                let _ = self.bell.send(Errand::Wanted(view));
            }
            return Some(receiver);
        }
        sheets.retain(|_, sheet| sheet.receiver_count() > 0);
        if sheets.len() >= MOST_VIEWS {
            return None;
        }
        let (sender, receiver) = watch::channel(Show::default());
        sheets.insert(view.clone(), sender);
        let _ = self.bell.send(Errand::Wanted(view));
        Some(receiver)
    }

    /// Has every view that is looked at set anew.
    pub fn stir(&self) {
        let _ = self.bell.send(Errand::Stirred(Stir { settled: true }));
    }

    /// Whether anything now shown names this file.
    pub fn names(&self, file: &str) -> bool {
        self.sheets().values().any(|sheet| {
            let show = sheet.borrow();
            show.laid.as_ref().is_some_and(|laid| laid.files.contains(file))
                || show.trouble.as_ref().is_some_and(|(_, named)| named.as_deref() == Some(file))
        })
    }

    fn sheets(&self) -> MutexGuard<'_, BTreeMap<View, watch::Sender<Show>>> {
        self.sheets.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The views that someone looks at.
    fn watched(&self) -> Vec<View> {
        self.sheets().iter().filter(|(_, sheet)| sheet.receiver_count() > 0).map(|(view, _)| view.clone()).collect()
    }

    fn proof(&self, view: &View) -> Result<Proof, Trouble> {
        catch_unwind(AssertUnwindSafe(|| self.workshop.proof(view))).unwrap_or_else(|_| {
            Err(Trouble::new("The program stumbled over this manual; that is a fault of the program, not of the manual.")
                .hint("undo the last change, and send the manual to whoever makes this program"))
        })
    }

    /// What a page is shown first, where the strip takes its time.
    fn sketch(&self, view: &View) {
        let empty = self.sheets().get(view).is_some_and(|sheet| sheet.borrow().laid.is_none());
        if empty && let Ok(Some(sketch)) = catch_unwind(AssertUnwindSafe(|| self.workshop.sketch(view))) {
            self.put(view, Ok(sketch));
        }
    }

    fn put(&self, view: &View, made: Result<Proof, Trouble>) {
        let made = made.map(|proof| Arc::new(Laid::new(proof)));
        if let Some(sheet) = self.sheets().get(view) {
            sheet.send_modify(|show| match made {
                Ok(laid) => *show = Show { laid: Some(laid), trouble: None },
                Err(trouble) => {
                    let json = serde_json::to_string(&trouble).unwrap_or_default();
                    show.trouble = Some((json.into(), trouble.file));
                }
            });
        }
    }
}

/// The thread: waits, gathers what belongs to one save, sets every view that is looked at.
fn work(bench: &Weak<Bench>, errands: &Receiver<Errand>, mut watcher: Watcher) {
    let mut next = errands.recv().ok();
    while let Some(errand) = next.take() {
        let mut wanted = BTreeSet::new();
        let stirred = gather(errand, errands, &mut wanted);
        let Some(bench) = bench.upgrade() else { return };
        if stirred {
            wanted.extend(bench.watched());
        }
        let mut grew = false;
        'views: for view in &wanted {
            bench.sketch(view);
            let made = bench.proof(view);
            if made.is_err() && stirred {
                match errands.recv_timeout(DOUBT) {
                    Ok(Errand::Stirred(stir)) => {
                        next = Some(Errand::Stirred(stir));
                        break 'views;
                    }
                    Ok(Errand::Wanted(view)) => drop(bench.bell.send(Errand::Wanted(view))),
                    Err(_) => {}
                }
            }
            // Whoever hears that a file is lacking may write it at once: it is watched for by then.
            grew |= made.is_err() && watcher.watch(&bench.workshop.watch_paths());
            bench.put(view, made);
        }
        if grew | watcher.watch(&bench.workshop.watch_paths()) {
            let _ = bench.bell.send(Errand::Stirred(Stir { settled: true }));
        }
        drop(bench);
        if next.is_none() {
            next = errands.recv().ok();
        }
    }
}

/// Takes what follows at once into the same round. True when a file has changed.
fn gather(first: Errand, errands: &Receiver<Errand>, wanted: &mut BTreeSet<View>) -> bool {
    let (mut stirred, mut settled) = (false, true);
    let began = Instant::now();
    let mut errand = first;
    loop {
        match errand {
            Errand::Stirred(stir) => (stirred, settled) = (true, stir.settled),
            Errand::Wanted(view) => {
                wanted.insert(view);
            }
        }
        let wait = match (stirred, settled) {
            (false, _) => Duration::ZERO,
            (true, true) => QUIET,
            (true, false) => UNSETTLED,
        };
        if began.elapsed() > PATIENCE {
            return stirred;
        }
        errand = match errands.recv_timeout(wait) {
            Ok(errand) => errand,
            Err(RecvTimeoutError::Timeout | RecvTimeoutError::Disconnected) => return stirred,
        };
    }
}
