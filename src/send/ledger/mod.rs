//! The ledger: one row a strip, written before and after the fact, so that whatever happens it never says more than is known.
//!
//! Invariants: a strip is `printed` only by the printer's word or a person's; a strip that was under way when the program
//! ended is `unknown`; one process prints with a file at a time, and in a database that others run one bench has a strip in hand at a
//! time; no entry of the history is ever changed; what a plan shows is what a run begins with. It opens no printer.
//!
//! `opening.rs` opens one, `fates.rs` enters what becomes of a strip, `packing.rs` is what a packing bench asks. `database.rs` is the border:
//! above it stands what a ledger means, below it the file (`sqlite.rs`) and PostgreSQL (`postgres/`).

pub mod address;
mod benches;
mod database;
mod entries;
mod error;
mod facts;
mod fates;
mod lock;
mod opening;
mod packing;
#[cfg(feature = "postgres")]
mod postgres;
mod sqlite;
mod strip;
mod summary;
mod survey;

pub use benches::Bench;
pub use error::Error;
pub use facts::{Facts, Making, UnitFacts};
pub use opening::{Opening, make_roles};
pub use packing::{Boxed, Claim, Pace, Standing};
pub use strip::{Located, State, StripName};
pub use summary::{Carried, Counts, RunSummary, Scrap, StripEntry, Summary};

use benches::Me;
use database::{Database, values};
use entries::enter;
use lock::Lock;
use std::collections::BTreeMap;

/// What to do when a ledger holds an earlier run.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Intent {
    /// Print what is not printed; refuse when the manual has changed.
    #[default]
    Continue,
    /// Print what is not printed, with the manual as it is now.
    GoOn,
    /// Print every unit again.
    NewRun,
}

/// One strip that is to be printed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Todo {
    /// None where nothing was entered yet.
    pub(crate) row: Option<i64>,
    pub name: StripName,
    /// Into the facts' units.
    pub unit: usize,
    /// The `run.number` of its fields: the row's, or the next that is free.
    pub number: u32,
}

/// Where a run stands before its first strip.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Begun {
    /// None for a run that is not entered yet.
    pub run: Option<i64>,
    /// In the order of printing.
    pub todo: Vec<Todo>,
    /// Strips of this run that are printed already.
    pub printed: usize,
    /// Strips of this run whose unit is not in the table any more, and what became of them.
    pub gone: Vec<(StripName, State)>,
}

/// What a person found on the table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    Printed,
    Missing,
}

/// Why a strip is unknown that nobody has looked at.
const CUT_OFF: &str = "the program ended while this strip was under way";

pub struct Ledger {
    base: Box<dyn Database>,
    /// None in memory, where it is only looked at, and in a database that others run.
    _lock: Option<Lock>,
    /// It is looked at while another process prints with it.
    under_way: bool,
    me: Me,
    /// The last sending of a row by this process.
    attempts: BTreeMap<i64, String>,
    /// When the lease was last renewed by `keep`.
    kept: Option<std::time::Instant>,
}

impl Ledger {
    /// Whether another process was printing with this ledger when it was opened to be looked at.
    pub fn is_under_way(&self) -> bool {
        self.under_way
    }

    /// Whether other benches may print with it at the same time.
    pub fn is_shared(&self) -> bool {
        self.base.shared()
    }

    /// All or nothing, and on the disk when it returns.
    fn change<T>(&mut self, work: impl FnMut(&dyn Database) -> Result<T, Error>) -> Result<T, Error> {
        database::change(self.base.as_ref(), false, work)
    }

    /// Begins a run or takes up the last one of this manual, and says what is to be printed. Rehearsals and real runs know
    /// nothing of each other.
    ///
    /// # Errors
    /// Strips of this manual are `unknown`; printed strips would be made otherwise now and `intent` does not say what to do; a key
    /// stands twice, or may have been renamed.
    pub fn begin(&mut self, facts: &Facts, rehearsal: bool, intent: Intent) -> Result<Begun, Error> {
        self.begun(facts, rehearsal, intent, true)
    }

    /// The same for a packing bench: strips that are unknown are looked at one by one there, when their unit is in hand.
    ///
    /// # Errors
    /// As `begin`, but for unknown strips.
    pub fn begin_packing(&mut self, facts: &Facts, rehearsal: bool, intent: Intent) -> Result<Begun, Error> {
        self.begun(facts, rehearsal, intent, false)
    }

    fn begun(&mut self, facts: &Facts, rehearsal: bool, intent: Intent, unknown_stop: bool) -> Result<Begun, Error> {
        let me = self.me.clone();
        let begun = database::change(self.base.as_ref(), true, |base| {
            benches::sweep(base, &me.bench)?;
            let survey = survey::survey(base, facts, rehearsal, intent, unknown_stop)?;
            me.renew(base)?;
            enter(base, facts, rehearsal, &survey)
        })?;
        self.me.registered = true;
        Ok(begun)
    }

    /// What [`Ledger::begin`] would say, by the same code, with nothing entered.
    ///
    /// # Errors
    /// As [`Ledger::begin`].
    pub fn would_begin(&self, facts: &Facts, rehearsal: bool, intent: Intent) -> Result<Begun, Error> {
        let survey = survey::survey(self.base.as_ref(), facts, rehearsal, intent, true)?;
        Ok(entries::begun(facts, &survey, &entries::numbers(facts, &survey)))
    }

    /// The strips of a manual that a person must look at, oldest first.
    ///
    /// # Errors
    /// The file can't be read.
    pub fn unknown(&self, facts: &Facts, rehearsal: bool) -> Result<Vec<Located>, Error> {
        survey::unknown(self.base.as_ref(), facts, rehearsal, None)
    }

    /// Whether the last strip sent to this destination was finished in order. One never used is in order.
    ///
    /// # Errors
    /// The file can't be read.
    pub fn in_order(&self, destination: &str) -> Result<bool, Error> {
        let found = self.base.first("SELECT in_order FROM line WHERE destination = ?1", values![destination])?;
        Ok(found.is_none_or(|row| row.truth(0)))
    }

    /// Whether anything was ever sent to this destination.
    ///
    /// # Errors
    /// The file can't be read.
    pub fn has_sent_to(&self, destination: &str) -> Result<bool, Error> {
        Ok(self.base.first("SELECT 1 FROM line WHERE destination = ?1", values![destination])?.is_some())
    }

    /// Everything that the ledger knows, for showing and for JSON.
    ///
    /// # Errors
    /// The file can't be read.
    pub fn summary(&self) -> Result<Summary, Error> {
        summary::read(self.base.as_ref(), self.under_way)
    }
}

impl Drop for Ledger {
    fn drop(&mut self) {
        if self.base.shared() && self.me.registered {
            // Where it can't be given back, it runs out.
            let _ = self.me.leave(self.base.as_ref());
        }
    }
}
