//! What a packing bench asks of the ledger: a unit to have in hand, its strip in its box, and how all of them stand.
//!
//! A unit is in hand at one bench at a time; a strip is boxed once. Every answer is of the moment in which it was given.

use super::benches::{is_alive, name_of, sweep};
use super::database::{Database, values};
use super::entries::{Entry, remember, set_state};
use super::{Error, Ledger, State, StripName, Todo};

/// What came of asking for a unit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Claim {
    /// It is this bench's to print.
    Yours(Todo),
    /// Another bench has it in hand, or is sending its strip.
    Elsewhere { bench: String },
    /// This bench is sending its strip.
    Sending,
    /// Its strip is printed and not yet boxed.
    Printed { by: String },
    /// Done.
    Boxed { by: String, at: String },
    /// A person must look.
    Unknown { note: String },
    /// The run has no such strip.
    NotThere,
}

/// What came of scanning a strip's code.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Boxed {
    Entered,
    Already {
        by: String,
        at: String,
    },
    /// It is not printed, as far as the ledger knows.
    Not(State),
}

/// How one unit's first strip stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Standing {
    pub unit: String,
    /// The `run.number` of its fields.
    pub number: u32,
    pub state: State,
    pub note: String,
    pub boxed: Option<String>,
    /// The bench that has it in hand or sends it now, where that is another.
    pub elsewhere: Option<String>,
}

/// How a run goes on all benches together.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Pace {
    /// Boxed within the last hour, by all benches.
    pub boxed_in_hour: u32,
    /// Seconds since the first of those.
    pub seconds: u32,
    /// Benches whose lease holds.
    pub benches: u32,
}

impl Ledger {
    /// Takes a unit in hand: until this bench's lease runs out, no other bench gets it.
    ///
    /// # Errors
    /// The ledger can't be read or written.
    pub fn claim(&mut self, run: i64, unit: &str, index: usize) -> Result<Claim, Error> {
        let me = self.me.clone();
        let work = |base: &dyn Database| {
            if base.shared() {
                sweep(base, &me.bench)?;
                me.renew(base)?;
            }
            let statement = format!(
                "SELECT strip, state, note, boxed, holder, place FROM strip WHERE run = ?1 AND unit = ?2 AND copy = 1 {}",
                base.taking()
            );
            let Some(row) = base.first(&statement, values![run, unit])? else {
                // Passed over because another is changing it just now, or not there at all.
                let there =
                    base.first("SELECT holder FROM strip WHERE run = ?1 AND unit = ?2 AND copy = 1", values![run, unit])?;
                return Ok(there.map_or(Claim::NotThere, |row| Claim::Elsewhere { bench: name_of(&row.text(0)).to_owned() }));
            };
            let (strip, holder) = (row.number(0), row.text(4));
            let by = |state: &str| -> Result<String, Error> {
                let last = "SELECT bench FROM history WHERE strip = ?1 AND state = ?2 ORDER BY entry DESC LIMIT 1";
                Ok(base.first(last, values![strip, state])?.map(|row| name_of(&row.text(0)).to_owned()).unwrap_or_default())
            };
            if let Some(at) = row.maybe_text(3) {
                return Ok(Claim::Boxed { by: by("boxed")?, at });
            }
            let elsewhere = holder != me.bench && is_alive(base, &holder)?;
            match State::read(&row.text(1)) {
                State::Printed => Ok(Claim::Printed { by: by("sending")? }),
                State::Unknown => Ok(Claim::Unknown { note: row.text(2) }),
                _ if elsewhere => Ok(Claim::Elsewhere { bench: name_of(&holder).to_owned() }),
                State::Sending => Ok(Claim::Sending),
                State::Queued | State::Missing => {
                    if base.shared() {
                        base.run("UPDATE strip SET holder = ?2 WHERE strip = ?1", values![strip, &me.bench])?;
                    }
                    Ok(Claim::Yours(Todo {
                        row: Some(strip),
                        name: StripName { unit: unit.to_owned(), copy: 1 },
                        unit: index,
                        number: u32::try_from(row.number(5) + 1).unwrap_or(u32::MAX),
                    }))
                }
            }
        };
        // In a file there is nobody from whom it would have to be kept: it is only looked at.
        if self.base.shared() { self.change(work) } else { work(self.base.as_ref()) }
    }

    /// Lets go of a unit whose strip was not sent.
    ///
    /// # Errors
    /// The ledger can't be written.
    pub fn release(&mut self, todo: &Todo) -> Result<(), Error> {
        let me = self.me.bench.clone();
        self.change(|base| {
            let statement = "UPDATE strip SET holder = '' WHERE strip = ?1 AND holder = ?2 AND state IN ('queued', 'missing')";
            base.run(statement, values![todo.row, &me]).map(drop)
        })
    }

    /// The code of a unit's strip was scanned: it is there, and lies in its box. That makes one printed of which it was not known: a person
    /// holds it.
    ///
    /// # Errors
    /// The ledger can't be read or written.
    pub fn box_up(&mut self, run: i64, unit: &str) -> Result<Boxed, Error> {
        let me = self.me.bench.clone();
        let mut tried = false;
        self.change(|base| {
            let again = std::mem::replace(&mut tried, true);
            let lock = if base.shared() { "FOR UPDATE" } else { "" };
            let statement = format!("SELECT strip, state, boxed FROM strip WHERE run = ?1 AND unit = ?2 AND copy = 1 {lock}");
            let Some(row) = base.first(&statement, values![run, unit])? else { return Ok(Boxed::Not(State::Queued)) };
            let strip = row.number(0);
            if let Some(at) = row.maybe_text(2) {
                let last = "SELECT bench FROM history WHERE strip = ?1 AND state = 'boxed' ORDER BY entry DESC LIMIT 1";
                let by = base.first(last, values![strip])?.map(|row| row.text(0)).unwrap_or_default();
                // The word of our own change was lost, not the change.
                let ours = again && by == me;
                return Ok(if ours { Boxed::Entered } else { Boxed::Already { by: name_of(&by).to_owned(), at } });
            }
            let mark = format!("boxed = {}, holder = ?2", base.now());
            match State::read(&row.text(1)) {
                State::Printed => {
                    base.run(&format!("UPDATE strip SET {mark} WHERE strip = ?1"), values![strip, &me])?;
                }
                State::Unknown => {
                    base.run(&format!("UPDATE strip SET state = 'printed', {mark} WHERE strip = ?1"), values![strip, &me])?;
                    set_state(base, strip, &Entry::new(State::Printed, "its code was scanned", &me))?;
                }
                state => return Ok(Boxed::Not(state)),
            }
            remember(base, strip, "boxed", &Entry::new(State::Printed, "", &me))?;
            Ok(Boxed::Entered)
        })
    }

    /// Keeps the lease of this bench, and calls unknown what lost benches were sending.
    ///
    /// # Errors
    /// The ledger can't be written.
    pub fn renew(&mut self) -> Result<(), Error> {
        if !self.base.shared() {
            return Ok(());
        }
        let me = self.me.clone();
        self.change(|base| {
            me.renew(base)?;
            sweep(base, &me.bench)
        })
    }

    /// The same, as often as is needed and no oftener, however often it is called.
    pub(crate) fn keep(&mut self) -> Result<(), Error> {
        let due = self.kept.is_none_or(|at| at.elapsed() >= self.me.lease / 3);
        if due && self.base.shared() {
            self.renew()?;
            self.kept = Some(std::time::Instant::now());
        }
        Ok(())
    }

    /// Writes something, so that it is known whether anything can be written.
    ///
    /// # Errors
    /// It can't.
    pub fn touch(&mut self) -> Result<(), Error> {
        let me = self.me.clone();
        self.change(|base| me.renew(base))
    }

    /// How all units of a run stand, in the order of their numbers.
    ///
    /// # Errors
    /// The ledger can't be read.
    pub fn standing(&self, run: i64) -> Result<Vec<Standing>, Error> {
        let base: &dyn Database = self.base.as_ref();
        let statement = format!(
            "SELECT unit, place, state, note, boxed, holder,
             EXISTS (SELECT 1 FROM bench WHERE bench.bench = strip.holder AND until > {}) FROM strip
             WHERE run = ?1 AND copy = 1 ORDER BY place",
            base.now()
        );
        let rows = base.run(&statement, values![run])?;
        let standing = rows.into_iter().map(|row| {
            let holder = row.text(5);
            let in_hand = base.shared() && row.truth(6) && holder != self.me.bench;
            let state = State::read(&row.text(2));
            Standing {
                unit: row.text(0),
                number: u32::try_from(row.number(1) + 1).unwrap_or(u32::MAX),
                state,
                note: row.text(3),
                boxed: row.maybe_text(4),
                elsewhere: (in_hand && state != State::Printed && state != State::Unknown).then(|| name_of(&holder).to_owned()),
            }
        });
        Ok(standing.collect())
    }

    /// How fast a run goes.
    ///
    /// # Errors
    /// The ledger can't be read.
    pub fn pace(&self, run: i64) -> Result<Pace, Error> {
        let base: &dyn Database = self.base.as_ref();
        let since = base.since("boxed");
        let statement =
            format!("SELECT count(*), max({since}) FROM strip WHERE run = ?1 AND boxed IS NOT NULL AND {since} <= 3600");
        let row = base.first(&statement, values![run])?;
        let benches = format!("SELECT count(*) FROM bench WHERE until > {}", base.now());
        let benches = base.first(&benches, &[])?.map_or(1, |row| row.count(0));
        let (boxed_in_hour, seconds) = row.map_or((0, 0), |row| (row.count(0), row.count(1)));
        Ok(Pace { boxed_in_hour, seconds, benches: if base.shared() { benches } else { 1 } })
    }
}
