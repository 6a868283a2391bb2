//! The ledger: one row a strip, written before and after the fact, so that whatever happens it never says more than is known.
//!
//! Invariants: a strip is `printed` only by the printer's word or a person's; a strip that was under way when the program
//! ended is `unknown`; one process prints with a file at a time, and in a database that others run one bench has a strip in hand at a
//! time; no entry of the history is ever changed; what a plan shows is what a run begins with. It opens no printer.
//!
//! `database.rs` is the border: above it stands what a ledger means, below it the file (`sqlite.rs`) and PostgreSQL (`postgres/`).

pub mod address;
mod benches;
mod database;
mod entries;
mod error;
mod facts;
mod lock;
mod packing;
#[cfg(feature = "postgres")]
mod postgres;
mod sqlite;
mod summary;
mod survey;

pub use benches::Bench;
pub use error::Error;
pub use facts::{Facts, Making, UnitFacts};
pub use packing::{Boxed, Claim, Pace, Standing};
pub use summary::{Carried, Counts, RunSummary, Scrap, StripEntry, Summary};

use benches::{LEASE, Me};
use database::{Database, Row, values};
use entries::{Entry, enter, find, find_key, mark_line, set_state};
use lock::Lock;
use serde::Serialize;
use sqlite::Sqlite;
use std::collections::BTreeMap;
use std::fmt;
use std::path::Path;
use std::time::Duration;

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

    fn read(row: &Row) -> Located {
        Located {
            name: StripName { unit: row.text(0), copy: row.count(1) },
            run: row.number(2),
            file: row.text(3),
            document: row.text(4),
            revision: row.text(5),
            language: row.text(6),
        }
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

/// Where a ledger stands and who asks for it.
#[derive(Clone, Debug, Default)]
pub struct Opening<'a> {
    /// What a person calls this bench; left out, the machine's name.
    pub bench: Option<&'a str>,
    /// How long it is relied on after it was last heard of, in a database that others run.
    pub lease: Option<Duration>,
}

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

/// What a ledger is opened for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum For {
    /// To print with it; there may be none yet.
    Printing,
    /// To change what is there.
    Changing,
    /// Nothing is changed.
    Looking,
}

impl Ledger {
    /// Opens a ledger or begins a new one. Strips that were under way when the last program ended become `unknown`. `path` is a file, or
    /// the address of a database: `postgres://USER@HOST/DATABASE`.
    ///
    /// # Errors
    /// The file is in use, is no ledger, or can't be read or written.
    pub fn open(path: &Path) -> Result<Ledger, Error> {
        Ledger::open_as(path, &Opening::default())
    }

    /// The same, for a bench with a name and a lease.
    ///
    /// # Errors
    /// As `open`.
    pub fn open_as(path: &Path, opening: &Opening<'_>) -> Result<Ledger, Error> {
        Ledger::opened(path, For::Printing, opening)
    }

    /// The same, but there must be one already.
    ///
    /// # Errors
    /// As `open`, and when there is no such file.
    pub fn open_existing(path: &Path) -> Result<Ledger, Error> {
        Ledger::opened(path, For::Changing, &Opening::default())
    }

    fn opened(path: &Path, what_for: For, opening: &Opening<'_>) -> Result<Ledger, Error> {
        let me = Me::new(opening.bench, opening.lease.unwrap_or(LEASE));
        if let Some(address) = address::of(path) {
            return Ledger::in_database(address, what_for, me);
        }
        let create = what_for == For::Printing;
        sqlite::check(path, create)?;
        let lock = Lock::of(path)?;
        let base = Sqlite::new(sqlite::open(path, create)?, path.display().to_string());
        Ledger::settled(Box::new(base), Some(lock), me)
    }

    #[cfg(feature = "postgres")]
    fn in_database(address: &str, what_for: For, me: Me) -> Result<Ledger, Error> {
        let address = address::Address::read(address, &address::System)?;
        let base = postgres::open(address, &me.bench, what_for)?;
        if what_for == For::Looking {
            let under_way = benches::all(&base)?.iter().any(|bench| bench.alive);
            return Ok(Ledger { base: Box::new(base), _lock: None, under_way, me, attempts: BTreeMap::new(), kept: None });
        }
        Ledger::settled(Box::new(base), None, me)
    }

    #[cfg(feature = "postgres")]
    fn roles(address: &str) -> Result<(), Error> {
        let address = address::Address::read(address, &address::System)?;
        postgres::make_roles(&postgres::open(address, "", For::Printing)?)
    }

    #[cfg(not(feature = "postgres"))]
    fn roles(address: &str) -> Result<(), Error> {
        Err(Error::NotBuilt(address::Address::read(address, &address::System)?.shown))
    }

    #[cfg(not(feature = "postgres"))]
    fn in_database(address: &str, _: For, _: Me) -> Result<Ledger, Error> {
        // What is wrong with the address is said first: a password in it, above all.
        let address = address::Address::read(address, &address::System)?;
        Err(Error::NotBuilt(address.shown))
    }

    /// For looking only: nothing is changed, and a run that is under way is not disturbed.
    ///
    /// # Errors
    /// There is no such file, it is no ledger, or it can't be read.
    pub fn look(path: &Path) -> Result<Ledger, Error> {
        if address::of(path).is_some() {
            return Ledger::opened(path, For::Looking, &Opening::default());
        }
        sqlite::check(path, false)?;
        match sqlite::look(path)? {
            Some(connection) => {
                let under_way = Lock::is_held(path);
                let base = Box::new(Sqlite::new(connection, path.display().to_string()));
                Ok(Ledger { base, _lock: None, under_way, me: Me::new(None, LEASE), attempts: BTreeMap::new(), kept: None })
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
        Ledger::settled(Box::new(Sqlite::new(sqlite::in_memory()?, sqlite::IN_MEMORY.to_owned())), None, Me::new(None, LEASE))
    }

    fn settled(base: Box<dyn Database>, lock: Option<Lock>, me: Me) -> Result<Ledger, Error> {
        let mut ledger = Ledger { base, _lock: lock, under_way: false, me, attempts: BTreeMap::new(), kept: None };
        let me = ledger.me.bench.clone();
        ledger.change(|base| benches::sweep(base, &me))?;
        Ok(ledger)
    }

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

    /// Before the first byte of a strip goes out. `false`: it is not this bench's to send any more, and nothing was entered.
    pub(crate) fn sending(&mut self, todo: &Todo, facts: &Facts, destination: &str) -> Result<bool, Error> {
        let gone = || Error::NoSuchStrip(todo.name.to_string());
        let row = todo.row.ok_or_else(gone)?;
        let unit = facts.units.get(todo.unit).ok_or_else(gone)?;
        let attempt = format!("{}:{}", self.me.bench, self.attempts.get(&row).map_or(1, |last| number_of(last) + 1));
        let me = self.me.clone();
        let entered = self.change(|base| {
            let lock = if base.shared() { "FOR UPDATE" } else { "" };
            let statement = format!("SELECT state, attempt, holder FROM strip WHERE strip = ?1 {lock}");
            let Some(now) = base.first(&statement, values![row])? else { return Ok(false) };
            let (state, holder) = (State::read(&now.text(0)), now.text(2));
            if state == State::Sending && now.text(1) == attempt {
                // It was entered; only the word of it was lost.
                return Ok(true);
            }
            let free = holder == me.bench || !benches::is_alive(base, &holder)?;
            if !matches!(state, State::Queued | State::Missing) || !free {
                return Ok(false);
            }
            if base.shared() {
                me.renew(base)?;
            }
            mark_line(base, destination, false)?;
            entries::describe(base, row, unit, &facts.printer)?;
            base.run("UPDATE strip SET holder = ?2, attempt = ?3 WHERE strip = ?1", values![row, &me.bench, &attempt])?;
            let entry = Entry { destination: Some(destination), ..Entry::new(State::Sending, destination, &me.bench) };
            set_state(base, row, &entry)?;
            Ok(true)
        })?;
        if entered {
            self.attempts.insert(row, attempt);
        }
        Ok(entered)
    }

    /// After the fact: returns the state in which the strip is now. `in_order`: nothing of the strip is left in the printer or half-way on
    /// the line. What a person or another bench has entered meanwhile stands, and the printer's word that comes after it is only remembered:
    /// but one that says "printed" of a strip that nobody has looked at yet is taken.
    pub(crate) fn settle(
        &mut self,
        todo: &Todo,
        state: State,
        note: &str,
        destination: &str,
        in_order: bool,
    ) -> Result<State, Error> {
        let row = todo.row.ok_or_else(|| Error::NoSuchStrip(todo.name.to_string()))?;
        let attempt = self.attempts.get(&row).cloned().unwrap_or_default();
        let me = self.me.bench.clone();
        self.change(|base| {
            mark_line(base, destination, in_order)?;
            let lock = if base.shared() { "FOR UPDATE" } else { "" };
            let statement = format!("SELECT state, attempt FROM strip WHERE strip = ?1 {lock}");
            let now = base.first(&statement, values![row])?;
            let before = now.as_ref().map_or(State::Unknown, |now| State::read(&now.text(0)));
            let ours = now.is_none_or(|now| now.text(1) == attempt);
            let entry = Entry { destination: Some(destination), ..Entry::new(state, note, &me) };
            match before {
                State::Sending if ours => {
                    set_state(base, row, &entry)?;
                    Ok(state)
                }
                State::Unknown if ours && state == State::Printed => {
                    set_state(base, row, &Entry { note: "the printer's word, late", ..entry })?;
                    Ok(state)
                }
                // The word of our own change was lost, not the change.
                before if ours && before == state => Ok(state),
                before => {
                    let note = format!("late, when it was called {} already: {} {note}", before.word(), state.word());
                    entries::remember(base, row, "late", &Entry { note: note.trim_end(), ..entry })?;
                    Ok(before)
                }
            }
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
        let base = self.base.as_ref();
        let meant = if key == "*" { find(base, entries::UNKNOWN, None, run)? } else { find_key(base, key, run)? };
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
            let found = find(self.base.as_ref(), "1 = 1", Some((&name.unit, Some(name.copy))), Some(*run))?;
            rows.push(found.first().map(|(row, _)| *row).ok_or_else(|| Error::NoSuchStrip(name.to_string()))?);
        }
        self.settle_rows(&rows, state)
    }

    fn settle_rows(&mut self, rows: &[i64], state: State) -> Result<(), Error> {
        let me = self.me.bench.clone();
        self.change(|base| {
            for row in rows {
                if state == State::Missing {
                    // What did not come out may have left the printer in the middle of a command.
                    base.run(
                        "UPDATE line SET in_order = ?2 WHERE destination =
                         (SELECT destination FROM history WHERE strip = ?1 AND state = 'sending' ORDER BY entry DESC LIMIT 1)",
                        values![*row, false],
                    )?;
                    // And what is not there lies in no box.
                    base.run("UPDATE strip SET boxed = NULL, holder = '' WHERE strip = ?1 AND boxed IS NOT NULL", values![*row])?;
                }
                set_state(base, *row, &Entry::new(state, "entered by hand", &me))?;
            }
            Ok(())
        })
    }

    /// Everything that the ledger knows, for showing and for JSON.
    ///
    /// # Errors
    /// The file can't be read.
    pub fn summary(&self) -> Result<Summary, Error> {
        summary::read(self.base.as_ref(), self.under_way)
    }
}

/// Makes the roles of a ledger that others run, and the ledger where there is none: `stripling_bench` prints and confirms,
/// `stripling_settler` may settle by hand too. A file has none: whoever may write it may do everything.
///
/// # Errors
/// It is a file, or whoever asks may not make roles.
pub fn make_roles(path: &Path) -> Result<(), Error> {
    let Some(address) = address::of(path) else {
        return Err(Error::Address { shown: path.display().to_string(), why: "a file has no roles".to_owned() });
    };
    Ledger::roles(address)
}

/// The number at the end of an attempt's name.
fn number_of(attempt: &str) -> u64 {
    attempt.rsplit_once(':').and_then(|(_, number)| number.parse().ok()).unwrap_or(0)
}

impl Drop for Ledger {
    fn drop(&mut self) {
        if self.base.shared() && self.me.registered {
            // Where it can't be given back, it runs out.
            let _ = self.me.leave(self.base.as_ref());
        }
    }
}
