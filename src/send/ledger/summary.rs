//! What a ledger shows: counts, which units carry which revision, and every strip.

use super::{State, StripName};
use rusqlite::Connection;
use serde::Serialize;

/// The whole ledger; the object of `ledger --json`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Summary {
    pub ledger: String,
    /// Oldest first.
    pub runs: Vec<RunSummary>,
    /// Strips of real runs that a person must look at.
    pub unknown: Vec<StripName>,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct RunSummary {
    pub run: i64,
    pub document: String,
    /// Of the manual as it was when the run was last taken up.
    pub revision: String,
    pub manual: String,
    pub rehearsal: bool,
    pub started: String,
    pub counts: Counts,
    /// Which units carry which revision, in the order in which the revisions were first printed.
    pub carried: Vec<Carried>,
    pub strips: Vec<StripEntry>,
}

/// Strips by state.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Counts {
    pub queued: usize,
    pub sending: usize,
    pub printed: usize,
    pub unknown: usize,
    pub missing: usize,
}

impl Counts {
    pub fn total(self) -> usize {
        self.queued + self.sending + self.printed + self.unknown + self.missing
    }

    fn add(&mut self, state: State) {
        let place = match state {
            State::Queued => &mut self.queued,
            State::Sending => &mut self.sending,
            State::Printed => &mut self.printed,
            State::Unknown => &mut self.unknown,
            State::Missing => &mut self.missing,
        };
        *place += 1;
    }
}

/// Units whose printed strip is of one manual.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Carried {
    pub revision: String,
    pub manual: String,
    pub strips: Vec<StripName>,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct StripEntry {
    pub unit: String,
    pub copy: u32,
    pub state: State,
    pub document: String,
    pub revision: String,
    pub manual: String,
    pub printer: String,
    /// UTC.
    pub queued: String,
    pub sending: Option<String>,
    pub settled: Option<String>,
    pub note: String,
}

pub(super) fn read(connection: &Connection, path: &str) -> rusqlite::Result<Summary> {
    let mut query = connection.prepare("SELECT run, document, revision, manual, rehearsal, started FROM run ORDER BY run")?;
    let mut runs: Vec<RunSummary> = query
        .query_map([], |row| {
            Ok(RunSummary {
                run: row.get(0)?,
                document: row.get(1)?,
                revision: row.get(2)?,
                manual: row.get(3)?,
                rehearsal: row.get(4)?,
                started: row.get(5)?,
                counts: Counts::default(),
                carried: Vec::new(),
                strips: Vec::new(),
            })
        })?
        .collect::<Result<_, _>>()?;
    let mut unknown = Vec::new();
    let mut query = connection.prepare(
        "SELECT unit, copy, state, document, revision, manual, printer, queued, sending, settled, note
         FROM strip WHERE run = ?1 ORDER BY place, copy",
    )?;
    for run in &mut runs {
        let strips = query.query_map([run.run], |row| {
            Ok(StripEntry {
                unit: row.get(0)?,
                copy: row.get(1)?,
                state: State::read(&row.get::<_, String>(2)?),
                document: row.get(3)?,
                revision: row.get(4)?,
                manual: row.get(5)?,
                printer: row.get(6)?,
                queued: row.get(7)?,
                sending: row.get(8)?,
                settled: row.get(9)?,
                note: row.get(10)?,
            })
        })?;
        run.strips = strips.collect::<Result<_, _>>()?;
        let mut printed: Vec<&StripEntry> = Vec::new();
        for strip in &run.strips {
            run.counts.add(strip.state);
            match strip.state {
                State::Printed => printed.push(strip),
                State::Unknown if !run.rehearsal => unknown.push(StripName { unit: strip.unit.clone(), copy: strip.copy }),
                State::Queued | State::Sending | State::Unknown | State::Missing => {}
            }
        }
        run.carried = carried(printed);
    }
    Ok(Summary { ledger: path.to_owned(), runs, unknown })
}

fn carried(mut printed: Vec<&StripEntry>) -> Vec<Carried> {
    let order: Vec<(String, String)> = {
        printed.sort_by(|one, other| one.sending.cmp(&other.sending));
        let mut order = Vec::new();
        for strip in &printed {
            let revision = (strip.revision.clone(), strip.manual.clone());
            if !order.contains(&revision) {
                order.push(revision);
            }
        }
        order
    };
    let group = |(revision, manual): (String, String)| {
        let of_it = printed.iter().filter(|strip| strip.revision == revision && strip.manual == manual);
        let strips = of_it.map(|strip| StripName { unit: strip.unit.clone(), copy: strip.copy }).collect();
        Carried { revision, manual, strips }
    };
    order.into_iter().map(group).collect()
}
