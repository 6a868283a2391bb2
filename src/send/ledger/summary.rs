//! What a ledger shows: counts, which units carry which revision, and every strip.

use super::database::{Database, Row, values};
use super::{CUT_OFF, Error, Located, State, StripName, benches, survey};
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
    /// Every program that printed or packed with it, oldest first.
    pub benches: Vec<super::Bench>,
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
    /// Of the printed ones those that lie in their boxes.
    pub boxed: usize,
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
    /// When its code was scanned: it lies in its box. UTC.
    pub boxed: Option<String>,
    /// The bench that printed it last, and the one that boxed it; empty where none did.
    pub printed_by: String,
    pub boxed_by: String,
    /// Where its bytes went last.
    pub destination: String,
}

pub(super) fn read(base: &dyn Database, under_way: bool) -> Result<Summary, Error> {
    let run = |row: Row| RunSummary {
        run: row.number(0),
        document: row.text(1),
        revision: row.text(2),
        manual: row.text(3),
        rehearsal: row.truth(4),
        started: row.text(5),
        file: row.text(6),
        language: row.text(7),
        counts: Counts::default(),
        carried: Vec::new(),
        scrap: Vec::new(),
        strips: Vec::new(),
    };
    let all =
        base.run("SELECT run, document, revision, manual, rehearsal, started, file, language FROM run ORDER BY run", &[])?;
    let mut runs: Vec<RunSummary> = all.into_iter().map(run).collect();
    let benches = benches::all(base)?;
    let named: BTreeMap<&str, &super::Bench> = benches.iter().map(|bench| (bench.bench.as_str(), bench)).collect();
    let name_of = |bench: &str| named.get(bench).map_or_else(|| bench.to_owned(), |bench| bench.name.clone());
    let mut unknown = Vec::new();
    for run in &mut runs {
        let last = |state: &str, what: &str| -> Result<BTreeMap<i64, String>, Error> {
            let statement = format!(
                "SELECT history.strip, history.{what} FROM history JOIN strip ON strip.strip = history.strip WHERE run = ?1 AND history.state = ?2 ORDER BY entry"
            );
            Ok(base.run(&statement, values![run.run, state])?.into_iter().map(|row| (row.number(0), row.text(1))).collect())
        };
        let (sent_by, sent_to, boxed_by) = (last("sending", "bench")?, last("sending", "destination")?, last("boxed", "bench")?);
        let statement = "SELECT unit, copy, state, document, revision, manual, printer, queued, sending, settled, note, language, place, listed,
             boxed, strip, holder FROM strip WHERE run = ?1 ORDER BY place, copy";
        for row in base.run(statement, values![run.run])? {
            let strip = row.number(15);
            let by = |of: &BTreeMap<i64, String>| of.get(&strip).map(|bench| name_of(bench)).unwrap_or_default();
            let mut entry = StripEntry {
                unit: row.text(0),
                copy: row.count(1),
                state: State::read(&row.text(2)),
                document: row.text(3),
                revision: row.text(4),
                manual: row.text(5),
                printer: row.text(6),
                queued: row.text(7),
                sending: row.maybe_text(8),
                settled: row.maybe_text(9),
                note: row.text(10),
                language: row.text(11),
                number: u32::try_from(row.number(12) + 1).unwrap_or(u32::MAX),
                listed: row.truth(13),
                boxed: row.maybe_text(14),
                printed_by: by(&sent_by),
                boxed_by: by(&boxed_by),
                destination: sent_to.get(&strip).cloned().unwrap_or_default(),
            };
            let is_held = match base.shared() {
                true => named.get(row.text(16).as_str()).is_some_and(|bench| bench.alive),
                false => under_way,
            };
            if entry.state == State::Sending && !is_held {
                (entry.state, entry.note) = (State::Unknown, CUT_OFF.to_owned());
            }
            run.strips.push(entry);
        }
        let mut printed: Vec<&StripEntry> = Vec::new();
        for strip in &run.strips {
            run.counts.add(strip.state);
            run.counts.boxed += usize::from(strip.boxed.is_some());
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
        run.carried = carried(base, printed)?;
        run.scrap = scrap(base, run.run)?;
    }
    Ok(Summary { ledger: base.shown().to_owned(), under_way, runs, unknown, benches })
}

/// Strips that were called missing and went out again since.
fn scrap(base: &dyn Database, run: i64) -> Result<Vec<Scrap>, Error> {
    let statement = "SELECT unit, copy, history.revision, at, history.note FROM history JOIN strip USING (strip)
         WHERE run = ?1 AND history.state = 'missing'
         AND EXISTS (SELECT 1 FROM history AS later WHERE later.strip = history.strip AND later.entry > history.entry)
         ORDER BY entry";
    let read = |row: Row| Scrap {
        name: StripName { unit: row.text(0), copy: row.count(1) },
        revision: row.text(2),
        at: row.text(3),
        note: row.text(4),
    };
    Ok(base.run(statement, values![run])?.into_iter().map(read).collect())
}

/// In the order in which the kinds were first printed.
fn carried(base: &dyn Database, mut printed: Vec<&StripEntry>) -> Result<Vec<Carried>, Error> {
    printed.sort_by(|one, other| one.sending.cmp(&other.sending));
    let mut makings: BTreeMap<&str, BTreeMap<String, String>> = BTreeMap::new();
    // With each kind all parts that its strips reach: units of one manual may reach different ones.
    let mut kinds: Vec<(Carried, BTreeMap<String, String>)> = Vec::new();
    for strip in printed {
        let parts = match makings.get(strip.manual.as_str()) {
            Some(parts) => parts,
            None => makings.entry(&strip.manual).or_insert(survey::parts(base, &strip.manual)?),
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
