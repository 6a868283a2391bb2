//! Printing from the page: a plan is shown, a person says yes to that very plan, and the run tells how it goes.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use serde_json::{Value, json};
use tokio::sync::watch;

use super::workshop::{NamedStrip, Plan, Step, Trouble, Wish, Workshop};
use crate::send::{Stop, Verdict};

/// Plans that may still be said yes to.
const MOST_PLANS: usize = 8;
/// Most copies of a unit that can be wished for.
pub const MOST_COPIES: u32 = 999;

struct Shown {
    ticket: String,
    wish: Wish,
    plan: Plan,
}

#[derive(Default)]
struct State {
    shown: Vec<Shown>,
    running: Option<Running>,
}

struct Running {
    stop: Stop,
    /// Strips settled, and strips in all.
    how_far: (u32, u32),
}

pub struct Press {
    workshop: Arc<dyn Workshop>,
    state: Mutex<State>,
    news: watch::Sender<Arc<str>>,
}

impl Press {
    pub fn new(workshop: Arc<dyn Workshop>) -> Press {
        let (news, _) = watch::channel(json!({ "state": "idle" }).to_string().into());
        Press { workshop, state: Mutex::default(), news }
    }

    /// How the run goes, now and from now on.
    pub fn news(&self) -> watch::Receiver<Arc<str>> {
        self.news.subscribe()
    }

    /// What printing would do, with the ticket that a yes brings back. May take a while: for a thread that may wait.
    ///
    /// # Errors
    /// In words.
    pub fn plan(&self, wish: Wish, ticket: String) -> Result<Value, Trouble> {
        if !(1..=MOST_COPIES).contains(&wish.copies) {
            return Err(Trouble::new(format!("Copies are from 1 to {MOST_COPIES}.")));
        }
        if let Some((done, of)) = self.state().running.as_ref().map(|running| running.how_far) {
            let words = format!("This desk is printing: {done} of {of}.");
            return Err(Trouble::new(words).hint("let the run end, or stop it, then look at what is left"));
        }
        let plan = self.workshop.plan(&wish)?;
        let mut told = serde_json::to_value(&plan).unwrap_or_default();
        told["ticket"] = json!(ticket);
        let mut state = self.state();
        state.shown.push(Shown { ticket, wish, plan });
        let surplus = state.shown.len().saturating_sub(MOST_PLANS);
        state.shown.drain(..surplus);
        Ok(told)
    }

    /// A yes: carries out the plan of this ticket on a thread of its own, if it would still be the same.
    ///
    /// # Errors
    /// In words, when nothing is printed.
    pub fn start(self: &Arc<Self>, ticket: &str) -> Result<(), Trouble> {
        let stop = Stop::new();
        let shown = {
            let mut state = self.state();
            if state.running.is_some() {
                return Err(Trouble::new("A run is on its way.").hint("let it end, or stop it first"));
            }
            let Some(at) = state.shown.iter().position(|shown| shown.ticket == ticket) else {
                return Err(Trouble::new("This plan is no longer on the desk.").hint("look at it again, then say yes"));
            };
            let shown = state.shown.swap_remove(at);
            state.running = Some(Running { stop: stop.clone(), how_far: (0, shown.plan.strips) });
            shown
        };
        let current = self.workshop.plan(&shown.wish);
        if current.as_ref() != Ok(&shown.plan) {
            self.state().running = None;
            return Err(current.err().unwrap_or_else(|| {
                Trouble::new("The manual or the ledger has changed since this plan was made.")
                    .hint("look at it again, then say yes")
            }));
        }
        self.tell(json!({ "state": "running", "step": Step {
            done: 0, of: shown.plan.strips, unit: String::new(), state: "queued".into(), note: String::new(),
        }}));
        let press = self.clone();
        let spawned = std::thread::Builder::new().name("press".into()).spawn(move || press.run(&shown, &stop));
        spawned.map(drop).map_err(|error| {
            self.state().running = None;
            let trouble = Trouble::new(format!("The run cannot be begun: {error}"));
            self.tell(json!({ "state": "failed", "trouble": trouble }));
            trouble
        })
    }

    fn run(&self, shown: &Shown, stop: &Stop) {
        let mut tell = |step: Step| {
            if let Some(running) = &mut self.state().running {
                running.how_far = (step.done, step.of);
            }
            self.tell(json!({ "state": "running", "step": step }));
        };
        let printed = catch_unwind(AssertUnwindSafe(|| self.workshop.print(&shown.wish, &shown.plan, stop, &mut tell)));
        let printed = printed.unwrap_or_else(|_| {
            Err(Trouble::new("The program stumbled while printing.").hint("the ledger says which strips came out"))
        });
        self.state().running = None;
        self.tell(match printed {
            Ok(ending) => json!({ "state": "done", "words": ending.words }),
            Err(trouble) => json!({ "state": "failed", "trouble": trouble }),
        });
    }

    /// Enters what a person found on the table.
    ///
    /// # Errors
    /// In words.
    pub fn settle(&self, strips: &[NamedStrip], verdict: Verdict) -> Result<(), Trouble> {
        if self.state().running.is_some() {
            return Err(Trouble::new("A run is on its way.").hint("let it end, or stop it first"));
        }
        self.workshop.settle(strips, verdict)
    }

    /// The run under way ends after this strip; asked twice, at once. False when there is none.
    pub fn stop(&self) -> bool {
        self.state().running.as_ref().map(|running| running.stop.ask()).is_some()
    }

    fn tell(&self, news: Value) {
        self.news.send_replace(news.to_string().into());
    }

    fn state(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }
}
