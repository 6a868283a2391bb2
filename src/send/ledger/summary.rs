//! What a ledger shows: counts, which units carry which revision, and every strip.

use super::{CUT_OFF, Located, State, StripName, entries};
use rusqlite::Connection;
use serde::Serialize;
use std::collections::BTreeMap;

/// The whole ledger; the object of `ledger --json`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Summary {
    pub ledger: String,
    /// Some process is printing with it now.
    pub under_way: bool,
    /// Oldest first.
    pub runs: Vec<RunSummary>,
    /// Strips of real runs that a person must look at.
    pub unknown: Vec<Located>,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct RunSummary {
    pub run: i64,
    /// The manual's file, with its folder's name.
    pub file: String,
    /// What the strips' headers say; several are separated by commas.
    pub document: String,
    /// Of the manual as it was when the run was last taken up.
    pub revision: String,
    pub language: String,
    pub manual: String,
    pub rehearsal: bool,
    pub started: String,
    pub counts: Counts,
    /// Which units carry which revision, in the order in which the revisions were first printed.
    pub carried: Vec<Carried>,
    /// Oldest first.
    pub scrap: Vec<Scrap>,
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

/// Units whose printed strip is of one manual: the same number, revision and language, and no part that both reach differs.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Carried {
    pub document: String,
    pub revision: String,
    pub language: String,
    /// Of the first of them.
    pub manual: String,
    /// What differs from strips named above that say the same revision; empty where there are none.
    pub changed: Vec<String>,
    pub strips: Vec<StripName>,
}

/// A strip that came out spoiled once, whatever became of it later.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Scrap {
    #[serde(flatten)]
    pub name: StripName,
    pub revision: String,
    /// UTC.
    pub at: String,
    pub note: String,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct StripEntry {
    pub unit: String,
    pub copy: u32,
    /// The `run.number` of its fields.
    pub number: u32,
    pub state: State,
    /// Its unit stands in the table of units that was last printed from.
    pub listed: bool,
    pub document: String,
    pub revision: String,
    pub language: String,
    pub manual: String,
    pub printer: String,
    /// UTC.
    pub queued: String,
    pub sending: Option<String>,
    pub settled: Option<String>,
    pub note: String,
}

pub(super) fn read(connection: &Connection, path: &str, under_way: bool) -> rusqlite::Result<Summary> {
    let mut query =
        connection.prepare("SELECT run, document, revision, manual, rehearsal, started, file, language FROM run ORDER BY run")?;
    let mut runs: Vec<RunSummary> = query
        .query_map([], |row| {
            Ok(RunSummary {
                run: row.get(0)?,
                document: row.get(1)?,
                revision: row.get(2)?,
                manual: row.get(3)?,
                rehearsal: row.get(4)?,
                started: row.get(5)?,
                file: row.get(6)?,
                language: row.get(7)?,
                counts: Counts::default(),
                carried: Vec::new(),
                scrap: Vec::new(),
                strips: Vec::new(),
            })
        })?
        .collect::<Result<_, _>>()?;
    let mut unknown = Vec::new();
    let mut query = connection.prepare(
        "SELECT unit, copy, state, document, revision, manual, printer, queued, sending, settled, note, language, place, listed
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
                language: row.get(11)?,
                number: u32::try_from(row.get::<_, i64>(12)? + 1).unwrap_or(u32::MAX),
                listed: row.get(13)?,
            })
        })?;
        run.strips = strips.collect::<Result<_, _>>()?;
        let mut printed: Vec<&StripEntry> = Vec::new();
        for strip in &mut run.strips {
            if strip.state == State::Sending && !under_way {
                (strip.state, strip.note) = (State::Unknown, CUT_OFF.to_owned());
            }
            run.counts.add(strip.state);
        }
        for strip in &run.strips {
            match strip.state {
                State::Printed => printed.push(strip),
                State::Unknown if !run.rehearsal => unknown.push(Located {
                    name: StripName { unit: strip.unit.clone(), copy: strip.copy },
                    run: run.run,
                    file: run.file.clone(),
                    document: strip.document.clone(),
                    revision: strip.revision.clone(),
                    language: strip.language.clone(),
                }),
                State::Queued | State::Sending | State::Unknown | State::Missing => {}
            }
        }
        run.carried = carried(connection, printed)?;
        run.scrap = scrap(connection, run.run)?;
    }
    Ok(Summary { ledger: path.to_owned(), under_way, runs, unknown })
}

/// Strips that were called missing and went out again since.
fn scrap(connection: &Connection, run: i64) -> rusqlite::Result<Vec<Scrap>> {
    let mut query = connection.prepare(
        "SELECT unit, copy, history.revision, at, history.note FROM history JOIN strip USING (strip)
         WHERE run = ?1 AND history.state = 'missing'
         AND EXISTS (SELECT 1 FROM history AS later WHERE later.strip = history.strip AND later.entry > history.entry)
         ORDER BY entry",
    )?;
    let read = |row: &rusqlite::Row<'_>| {
        let name = StripName { unit: row.get(0)?, copy: row.get(1)? };
        Ok(Scrap { name, revision: row.get(2)?, at: row.get(3)?, note: row.get(4)? })
    };
    query.query_map([run], read)?.collect()
}

/// In the order in which the kinds were first printed.
fn carried(connection: &Connection, mut printed: Vec<&StripEntry>) -> rusqlite::Result<Vec<Carried>> {
    printed.sort_by(|one, other| one.sending.cmp(&other.sending));
    let mut makings: BTreeMap<&str, BTreeMap<String, String>> = BTreeMap::new();
    // With each kind all parts that its strips reach: units of one manual may reach different ones.
    let mut kinds: Vec<(Carried, BTreeMap<String, String>)> = Vec::new();
    for strip in printed {
        let parts = match makings.get(strip.manual.as_str()) {
            Some(parts) => parts,
            None => makings.entry(&strip.manual).or_insert(entries::parts(connection, &strip.manual)?),
        };
        let says = |kind: &Carried| {
            (&kind.document, &kind.revision, &kind.language) == (&strip.document, &strip.revision, &strip.language)
        };
        let differs = |known: &BTreeMap<String, String>| -> Vec<String> {
            let other = |(name, digest): (&String, &String)| {
                let differs = known.get(name).is_some_and(|known| known != digest);
                differs.then(|| name.clone())
            };
            parts.iter().filter_map(other).collect()
        };
        let agrees = |(kind, known): &(Carried, BTreeMap<String, String>)| {
            says(kind) && (kind.manual == strip.manual || (!parts.is_empty() && !known.is_empty() && differs(known).is_empty()))
        };
        let name = StripName { unit: strip.unit.clone(), copy: strip.copy };
        match kinds.iter().position(agrees).and_then(|at| kinds.get_mut(at)) {
            Some((kind, known)) => {
                kind.strips.push(name);
                known.extend(parts.iter().map(|(name, digest)| (name.clone(), digest.clone())));
            }
            None => {
                let before = kinds.iter().rfind(|(kind, _)| says(kind));
                let changed = before.map(|(_, known)| differs(known)).unwrap_or_default();
                let kind = Carried {
                    document: strip.document.clone(),
                    revision: strip.revision.clone(),
                    language: strip.language.clone(),
                    manual: strip.manual.clone(),
                    changed,
                    strips: vec![name],
                };
                kinds.push((kind, parts.clone()));
            }
        }
    }
    Ok(kinds.into_iter().map(|(kind, _)| kind).collect())
}
