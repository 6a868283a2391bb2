//! The ledger: one row a strip, written before and after the fact, so that whatever happens it never says more than is known.
//!
//! Invariants: a strip is `printed` only by the printer's word or a person's; a strip that was under way when the program
//! ended is `unknown`; one process prints with a ledger at a time; no entry of the history is ever changed; what a plan shows is
//! what a run begins with. It opens no printer.

mod entries;
mod error;
mod facts;
mod lock;
mod schema;
mod summary;
mod survey;

pub use error::Error;
pub use facts::{Facts, Making, UnitFacts};
pub use summary::{Carried, Counts, RunSummary, Scrap, StripEntry, Summary};

use entries::{Entry, enter, find, find_key, mark_line, set_state};
use lock::Lock;
use rusqlite::{Connection, OptionalExtension, Transaction};
use serde::Serialize;
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

/// A strip with the run that it belongs to, so that a person knows which is meant.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Located {
    #[serde(flatten)]
    pub name: StripName,
    pub run: i64,
    pub file: String,
    pub document: String,
    pub revision: String,
    pub language: String,
}

impl Located {
    const COLUMNS: &str = "unit, copy, run, run.file, strip.document, strip.revision, strip.language";

    fn read(row: &rusqlite::Row<'_>) -> rusqlite::Result<Located> {
        Ok(Located {
            name: StripName { unit: row.get(0)?, copy: row.get(1)? },
            run: row.get(2)?,
            file: row.get(3)?,
            document: row.get(4)?,
            revision: row.get(5)?,
            language: row.get(6)?,
        })
    }

    /// `run 3, HRN-QS revision C (heron/heron.md, en)`.
    pub fn run_in_words(&self) -> String {
        let in_brackets: Vec<&str> = [self.file.as_str(), &self.language].into_iter().filter(|word| !word.is_empty()).collect();
        let mut words = format!("run {}", self.run);
        if !self.document.is_empty() {
            words += &format!(", {}", self.document);
        }
        if !self.revision.is_empty() {
            words += &format!(" revision {}", self.revision);
        }
        if !in_brackets.is_empty() {
            words += &format!(" ({})", in_brackets.join(", "));
        }
        words
    }
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
    connection: Connection,
    path: String,
    /// None in memory, and where it is only looked at.
    _lock: Option<Lock>,
    /// It is looked at while another process prints with it.
    under_way: bool,
}

impl Ledger {
    /// Opens a ledger or begins a new one. Strips that were under way when the last program ended become `unknown`.
    ///
    /// # Errors
    /// The file is in use, is no ledger, or can't be read or written.
    pub fn open(path: &Path) -> Result<Ledger, Error> {
        Ledger::opened(path, true)
    }

    /// The same, but there must be one already.
    ///
    /// # Errors
    /// As `open`, and when there is no such file.
    pub fn open_existing(path: &Path) -> Result<Ledger, Error> {
        Ledger::opened(path, false)
    }

    fn opened(path: &Path, create: bool) -> Result<Ledger, Error> {
        schema::check(path, create)?;
        let lock = Lock::of(path)?;
        let connection = schema::open(path, create)?;
        Ledger::settled(connection, path.display().to_string(), Some(lock))
    }

    /// For looking only: nothing is changed, and a run that is under way is not disturbed.
    ///
    /// # Errors
    /// There is no such file, it is no ledger, or it can't be read.
    pub fn look(path: &Path) -> Result<Ledger, Error> {
        schema::check(path, false)?;
        match schema::look(path)? {
            Some(connection) => {
                let under_way = Lock::is_held(path);
                Ok(Ledger { connection, path: path.display().to_string(), _lock: None, under_way })
            }
            // Of an earlier program: its tables are brought up to date first.
            None => Ledger::open_existing(path),
        }
    }

    /// A ledger that is gone when the program ends: for a run without one.
    ///
    /// # Errors
    /// When memory is short.
    pub fn in_memory() -> Result<Ledger, Error> {
        let shown = "in memory";
        let connection = Connection::open_in_memory().map_err(|error| schema::explain(shown, error))?;
        Ledger::settled(schema::prepare(connection, shown)?, shown.to_owned(), None)
    }

    fn settled(connection: Connection, path: String, lock: Option<Lock>) -> Result<Ledger, Error> {
        let mut ledger = Ledger { connection, path, _lock: lock, under_way: false };
        ledger.change(|change| {
            let rows: Vec<i64> = {
                let mut query = change.prepare("SELECT strip FROM strip WHERE state = 'sending' ORDER BY strip")?;
                query.query_map([], |row| row.get(0))?.collect::<Result<_, _>>()?
            };
            rows.into_iter().try_for_each(|row| set_state(change, row, &Entry::new(State::Unknown, CUT_OFF)))
        })?;
        Ok(ledger)
    }

    /// Whether another process was printing with this ledger when it was opened to be looked at.
    pub fn is_under_way(&self) -> bool {
        self.under_way
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

    /// Begins a run or takes up the last one of this manual, and says what is to be printed. Rehearsals and real runs know
    /// nothing of each other.
    ///
    /// # Errors
    /// Strips of this manual are `unknown`; printed strips would be made otherwise now and `intent` does not say what to do; a key
    /// stands twice, or may have been renamed.
    pub fn begin(&mut self, facts: &Facts, rehearsal: bool, intent: Intent) -> Result<Begun, Error> {
        let survey = self.survey(facts, rehearsal, intent)?;
        self.change(|change| enter(change, facts, rehearsal, &survey))
    }

    /// What [`Ledger::begin`] would say, by the same code, with nothing entered.
    ///
    /// # Errors
    /// As [`Ledger::begin`].
    pub fn would_begin(&self, facts: &Facts, rehearsal: bool, intent: Intent) -> Result<Begun, Error> {
        let survey = self.survey(facts, rehearsal, intent)?;
        Ok(entries::begun(facts, &survey, &entries::numbers(facts, &survey)))
    }

    fn survey(&self, facts: &Facts, rehearsal: bool, intent: Intent) -> Result<survey::Survey, Error> {
        survey::survey(&self.connection, facts, rehearsal, intent, &|error| schema::explain(&self.path, error))
    }

    /// The strips of a manual that a person must look at, oldest first.
    ///
    /// # Errors
    /// The file can't be read.
    pub fn unknown(&self, facts: &Facts, rehearsal: bool) -> Result<Vec<Located>, Error> {
        survey::unknown(&self.connection, facts, rehearsal, None).map_err(|error| schema::explain(&self.path, error))
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
            let row = todo.row.ok_or(rusqlite::Error::QueryReturnedNoRows)?;
            let unit = facts.units.get(todo.unit).ok_or(rusqlite::Error::QueryReturnedNoRows)?;
            entries::describe(change, row, unit, &facts.printer)?;
            set_state(change, row, &Entry { destination: Some(destination), ..Entry::new(State::Sending, destination) })
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
            let row = todo.row.ok_or(rusqlite::Error::QueryReturnedNoRows)?;
            set_state(change, row, &Entry { destination: Some(destination), ..Entry::new(state, note) })
        })
    }

    /// Enters what a person found: for `KEY` (all its copies that are unknown, or else all its copies), `KEY/2` (one copy), or
    /// `*` (every unknown strip), of one run. Strips that are unknown go first; where there are none, those of the last real run of
    /// each manual that has the key. Returns what was entered.
    ///
    /// # Errors
    /// No strip is called so, none is unknown, or strips of several runs are meant and `run` does not say which.
    pub fn resolve(&mut self, key: &str, verdict: Verdict, run: Option<i64>) -> Result<Vec<Located>, Error> {
        let state = match verdict {
            Verdict::Printed => State::Printed,
            Verdict::Missing => State::Missing,
        };
        let meant = {
            let found = if key == "*" {
                find(&self.connection, entries::UNKNOWN, None, run)
            } else {
                find_key(&self.connection, key, run)
            };
            found.map_err(|error| schema::explain(&self.path, error))?
        };
        if meant.is_empty() {
            return Err(if key == "*" { Error::NothingUnknown } else { Error::NoSuchStrip(key.to_owned()) });
        }
        let mut runs: Vec<&Located> = meant.iter().map(|(_, located)| located).collect();
        runs.dedup_by_key(|located| located.run);
        if runs.len() > 1 {
            return Err(Error::SeveralRuns { key: key.to_owned(), runs: runs.into_iter().map(Located::run_in_words).collect() });
        }
        self.settle_rows(&meant.iter().map(|(row, _)| *row).collect::<Vec<_>>(), state)?;
        Ok(meant.into_iter().map(|(_, located)| located).collect())
    }

    /// The same for strips by run and name. All or none.
    ///
    /// # Errors
    /// One of them is not there.
    pub fn resolve_strips(&mut self, strips: &[(i64, StripName)], verdict: Verdict) -> Result<(), Error> {
        let state = match verdict {
            Verdict::Printed => State::Printed,
            Verdict::Missing => State::Missing,
        };
        let mut rows = Vec::with_capacity(strips.len());
        for (run, name) in strips {
            let found = find(&self.connection, "1", Some((&name.unit, Some(name.copy))), Some(*run));
            let found = found.map_err(|error| schema::explain(&self.path, error))?;
            rows.push(found.first().map(|(row, _)| *row).ok_or_else(|| Error::NoSuchStrip(name.to_string()))?);
        }
        self.settle_rows(&rows, state)
    }

    fn settle_rows(&mut self, rows: &[i64], state: State) -> Result<(), Error> {
        self.change(|change| {
            for row in rows {
                if state == State::Missing {
                    // What did not come out may have left the printer in the middle of a command.
                    change.execute(
                        "UPDATE line SET in_order = 0 WHERE destination =
                         (SELECT destination FROM history WHERE strip = ?1 AND state = 'sending' ORDER BY entry DESC LIMIT 1)",
                        [row],
                    )?;
                }
                set_state(change, *row, &Entry::new(state, "entered by hand"))?;
            }
            Ok(())
        })
    }

    /// Everything that the ledger knows, for showing and for JSON.
    ///
    /// # Errors
    /// The file can't be read.
    pub fn summary(&self) -> Result<Summary, Error> {
        summary::read(&self.connection, &self.path, self.under_way).map_err(|error| schema::explain(&self.path, error))
    }
}
