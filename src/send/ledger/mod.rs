//! The ledger: one row a strip, written before and after the fact, so that whatever happens it never says more than is known.
//!
//! Invariants: a strip is `printed` only by the printer's word or a person's; a strip that was under way when the program
//! ended is `unknown`; one process has the ledger at a time; no entry of the history is ever changed. It opens no printer.

mod entries;
mod error;
mod schema;
mod summary;

pub use error::Error;
pub use summary::{Carried, Counts, RunSummary, StripEntry, Summary};

use entries::{enter, find, find_key, mark_line, set_state};
use rusqlite::{Connection, OptionalExtension, Transaction, params};
use serde::Serialize;
use std::collections::BTreeSet;
use std::fmt;
use std::path::Path;

/// A strip as a person names it: `KEY`, or `KEY/2` for its second copy.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct StripName {
    pub unit: String,
    pub copy: u32,
}

impl fmt::Display for StripName {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.copy {
            1 => out.write_str(&self.unit),
            copy => write!(out, "{}/{copy}", self.unit),
        }
    }
}

/// What is known of a strip.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum State {
    Queued,
    Sending,
    Printed,
    Unknown,
    Missing,
}

impl State {
    pub fn word(self) -> &'static str {
        match self {
            State::Queued => "queued",
            State::Sending => "sending",
            State::Printed => "printed",
            State::Unknown => "unknown",
            State::Missing => "missing",
        }
    }

    fn read(word: &str) -> State {
        match word {
            "queued" => State::Queued,
            "sending" => State::Sending,
            "printed" => State::Printed,
            "missing" => State::Missing,
            // The table's own check lets nothing else in.
            _ => State::Unknown,
        }
    }
}

/// What a run is about. `manual` must change with everything that changes the strips: the manual's files, the style, the
/// printer's profile. It must not change when only units are added.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Facts {
    /// A digest, as text.
    pub manual: String,
    pub document: String,
    pub revision: String,
    pub printer: String,
    /// One key a unit, in the order of printing.
    pub units: Vec<String>,
    /// Strips of each unit.
    pub copies: u32,
}

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
    pub(crate) row: i64,
    pub name: StripName,
}

/// Where a run stands before its first strip.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Begun {
    pub run: i64,
    /// In the order of printing.
    pub todo: Vec<Todo>,
    /// Strips of this run that are printed already.
    pub printed: usize,
}

/// What a person found on the table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    Printed,
    Missing,
}

pub struct Ledger {
    connection: Connection,
    path: String,
}

impl Ledger {
    /// Opens a ledger or begins a new one. Strips that were under way when the last program ended become `unknown`.
    ///
    /// # Errors
    /// The file is in use, is no ledger, or can't be read or written.
    pub fn open(path: &Path) -> Result<Ledger, Error> {
        Ledger::settled(schema::open(path, true)?, path.display().to_string())
    }

    /// The same, but there must be one already.
    ///
    /// # Errors
    /// As `open`, and when there is no such file.
    pub fn open_existing(path: &Path) -> Result<Ledger, Error> {
        Ledger::settled(schema::open(path, false)?, path.display().to_string())
    }

    /// A ledger that is gone when the program ends: for a run without one.
    ///
    /// # Errors
    /// When memory is short.
    pub fn in_memory() -> Result<Ledger, Error> {
        let shown = "in memory";
        let connection = Connection::open_in_memory().map_err(|error| schema::explain(shown, error))?;
        Ledger::settled(schema::prepare(connection, shown)?, shown.to_owned())
    }

    fn settled(connection: Connection, path: String) -> Result<Ledger, Error> {
        let mut ledger = Ledger { connection, path };
        ledger.change(|change| {
            let note = "the program ended while this strip was under way";
            let rows: Vec<i64> = {
                let mut query = change.prepare("SELECT strip FROM strip WHERE state = 'sending' ORDER BY strip")?;
                query.query_map([], |row| row.get(0))?.collect::<Result<_, _>>()?
            };
            rows.into_iter().try_for_each(|row| set_state(change, row, State::Unknown, note))
        })?;
        Ok(ledger)
    }

    /// All or nothing, and on the disk when it returns.
    fn change<T>(&mut self, work: impl FnOnce(&Transaction<'_>) -> rusqlite::Result<T>) -> Result<T, Error> {
        let path = &self.path;
        let explain = |error| schema::explain(path, error);
        let transaction = self.connection.transaction().map_err(explain)?;
        let result = work(&transaction).map_err(explain)?;
        transaction.commit().map_err(explain)?;
        Ok(result)
    }

    /// Begins a run or takes up the last one of this document, and says what is to be printed. Rehearsals and real runs know
    /// nothing of each other.
    ///
    /// # Errors
    /// Strips of this document are `unknown`; the manual has changed and `intent` does not say what to do; a key stands twice.
    pub fn begin(&mut self, facts: &Facts, rehearsal: bool, intent: Intent) -> Result<Begun, Error> {
        let mut seen = BTreeSet::new();
        if let Some(repeated) = facts.units.iter().find(|unit| !seen.insert(unit.as_str())) {
            return Err(Error::RepeatedUnit(repeated.clone()));
        }
        if facts.units.is_empty() || facts.copies == 0 {
            return Err(Error::NoUnit);
        }
        let unknown = self.unknown(&facts.document, rehearsal)?;
        if !unknown.is_empty() {
            return Err(Error::Unresolved(unknown));
        }
        let last = self.last_run(&facts.document, rehearsal)?;
        let run = match (last, intent) {
            (Some((run, manual, before)), Intent::Continue) if manual != facts.manual => {
                let printed = self.printed(run)?;
                return Err(Error::ManualChanged { before, now: facts.revision.clone(), printed });
            }
            (Some((run, ..)), Intent::Continue | Intent::GoOn) => Some(run),
            (None, _) | (_, Intent::NewRun) => None,
        };
        self.change(|change| enter(change, facts, rehearsal, run))
    }

    fn last_run(&self, document: &str, rehearsal: bool) -> Result<Option<(i64, String, String)>, Error> {
        let query = "SELECT run, manual, revision FROM run WHERE document = ?1 AND rehearsal = ?2 ORDER BY run DESC LIMIT 1";
        self.connection
            .query_row(query, params![document, rehearsal], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))
            .optional()
            .map_err(|error| schema::explain(&self.path, error))
    }

    fn printed(&self, run: i64) -> Result<usize, Error> {
        self.connection
            .query_row("SELECT count(*) FROM strip WHERE run = ?1 AND state = 'printed'", [run], |row| row.get::<_, i64>(0))
            .map(|count| usize::try_from(count).unwrap_or(0))
            .map_err(|error| schema::explain(&self.path, error))
    }

    /// The strips of a document that a person must look at, oldest first.
    ///
    /// # Errors
    /// The file can't be read.
    pub fn unknown(&self, document: &str, rehearsal: bool) -> Result<Vec<StripName>, Error> {
        let read = || -> rusqlite::Result<Vec<StripName>> {
            let mut query = self.connection.prepare(
                "SELECT unit, copy FROM strip JOIN run USING (run)
                 WHERE state = 'unknown' AND run.document = ?1 AND rehearsal = ?2 ORDER BY run, place, copy",
            )?;
            query.query_map(params![document, rehearsal], |row| Ok(StripName { unit: row.get(0)?, copy: row.get(1)? }))?.collect()
        };
        read().map_err(|error| schema::explain(&self.path, error))
    }

    /// Whether the last strip sent to this destination was finished in order. One never used is in order.
    ///
    /// # Errors
    /// The file can't be read.
    pub fn in_order(&self, destination: &str) -> Result<bool, Error> {
        let found =
            self.connection.query_row("SELECT in_order FROM line WHERE destination = ?1", [destination], |row| row.get(0));
        found.optional().map(|found| found.unwrap_or(true)).map_err(|error| schema::explain(&self.path, error))
    }

    /// Whether anything was ever sent to this destination.
    ///
    /// # Errors
    /// The file can't be read.
    pub fn has_sent_to(&self, destination: &str) -> Result<bool, Error> {
        let found = self.connection.query_row("SELECT 1 FROM line WHERE destination = ?1", [destination], |_| Ok(()));
        found.optional().map(|found| found.is_some()).map_err(|error| schema::explain(&self.path, error))
    }

    /// Before the first byte of a strip goes out.
    pub(crate) fn sending(&mut self, todo: &Todo, facts: &Facts, destination: &str) -> Result<(), Error> {
        self.change(|change| {
            mark_line(change, destination, false)?;
            change.execute(
                "UPDATE strip SET manual = ?2, document = ?3, revision = ?4, printer = ?5 WHERE strip = ?1",
                params![todo.row, facts.manual, facts.document, facts.revision, facts.printer],
            )?;
            set_state(change, todo.row, State::Sending, destination)
        })
    }

    /// After the fact. `in_order`: nothing of the strip is left in the printer or half-way on the line.
    pub(crate) fn settle(
        &mut self,
        todo: &Todo,
        state: State,
        note: &str,
        destination: &str,
        in_order: bool,
    ) -> Result<(), Error> {
        self.change(|change| {
            mark_line(change, destination, in_order)?;
            set_state(change, todo.row, state, note)
        })
    }

    /// Enters what a person found: for `KEY` (all its copies that are unknown, or else all its copies), `KEY/2` (one copy), or
    /// `*` (every unknown strip). Strips that are unknown go first, whichever run they are of; where there are none, those of the
    /// last real run that has the key. Returns what was entered.
    ///
    /// # Errors
    /// No strip is called so, or none is unknown.
    pub fn resolve(&mut self, key: &str, verdict: Verdict) -> Result<Vec<StripName>, Error> {
        let state = match verdict {
            Verdict::Printed => State::Printed,
            Verdict::Missing => State::Missing,
        };
        let chosen = self.change(|change| {
            let chosen = if key == "*" { find(change, "state = 'unknown'", None)? } else { find_key(change, key)? };
            for (row, _) in &chosen {
                if state == State::Missing {
                    // What did not come out may have left the printer in the middle of a command.
                    change.execute(
                        "UPDATE line SET in_order = 0 WHERE destination =
                         (SELECT note FROM history WHERE strip = ?1 AND state = 'sending' ORDER BY entry DESC LIMIT 1)",
                        [row],
                    )?;
                }
                set_state(change, *row, state, "entered by hand")?;
            }
            Ok(chosen)
        })?;
        match chosen.is_empty() {
            true if key == "*" => Err(Error::NothingUnknown),
            true => Err(Error::NoSuchStrip(key.to_owned())),
            false => Ok(chosen.into_iter().map(|(_, name)| name).collect()),
        }
    }

    /// Everything that the ledger knows, for showing and for JSON.
    ///
    /// # Errors
    /// The file can't be read.
    pub fn summary(&self) -> Result<Summary, Error> {
        summary::read(&self.connection, &self.path).map_err(|error| schema::explain(&self.path, error))
    }
}
