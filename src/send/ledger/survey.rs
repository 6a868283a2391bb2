//! What a run would begin with: the one answer that `print` acts on and that a plan shows. It only reads.

use super::facts::{Difference, Made, difference};
use super::{Error, Facts, Intent, Located, State, StripName};
use rusqlite::{Connection, params};
use std::collections::{BTreeMap, BTreeSet};

/// One strip that is asked for, and what is known of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Asked {
    /// Into the facts' units.
    pub(super) unit: usize,
    pub(super) copy: u32,
    /// Its row, if the run has it already.
    pub(super) row: Option<i64>,
    pub(super) state: State,
}

#[derive(Clone, Debug, Default)]
pub(super) struct Survey {
    /// None: one is to be begun.
    pub(super) run: Option<i64>,
    pub(super) asked: Vec<Asked>,
    /// Numbers by unit, of all that the run knows.
    pub(super) numbers: BTreeMap<String, u32>,
    /// Strips of the run whose unit is not in the table any more.
    pub(super) gone: Vec<(StripName, State)>,
    /// Printed strips that would be made otherwise now.
    pub(super) otherwise: Vec<i64>,
}

impl Survey {
    pub(super) fn printed(&self) -> usize {
        self.asked.iter().filter(|asked| asked.state == State::Printed).count()
    }
}

struct Run {
    run: i64,
    file: String,
    document: String,
    language: String,
    revision: String,
    manual: String,
}

/// A strip of a run as it stands in the ledger.
struct Kept {
    row: i64,
    name: StripName,
    number: u32,
    state: State,
    accepted: String,
    listed: bool,
    made: Made,
}

/// Looks for the run that these facts go on with, and what it lacks.
pub(super) fn survey(
    connection: &Connection,
    facts: &Facts,
    rehearsal: bool,
    intent: Intent,
    explain: &dyn Fn(rusqlite::Error) -> Error,
) -> Result<Survey, Error> {
    let mut seen = BTreeSet::new();
    if let Some(repeated) = facts.units.iter().find(|unit| !seen.insert(unit.key.as_str())) {
        return Err(Error::RepeatedUnit(repeated.key.clone()));
    }
    if facts.units.is_empty() || facts.copies == 0 {
        return Err(Error::NoUnit);
    }
    let runs = runs(connection, rehearsal).map_err(explain)?;
    let found = find(&runs, facts);
    let by_number = || {
        let document = facts.document();
        let same = |run: &&Run| !document.is_empty() && run.document == document && run.language == facts.language();
        runs.iter().find(same)
    };
    let found = match (found, intent) {
        (Some(found), _) => Some(found),
        (None, Intent::NewRun) => None,
        (None, Intent::GoOn) => by_number(),
        (None, Intent::Continue) => match by_number() {
            Some(other) => {
                let (file, before) = (facts.file.clone(), other.file.clone());
                return Err(Error::OtherFile { document: facts.document(), file, before });
            }
            None => None,
        },
    };
    let unknown = unknown(connection, facts, rehearsal, found.map(|run| run.run)).map_err(explain)?;
    if !unknown.is_empty() {
        return Err(Error::Unresolved(unknown));
    }
    let new = |unit: usize| move |copy: u32| Asked { unit, copy, row: None, state: State::Queued };
    let (Some(run), false) = (found, intent == Intent::NewRun) else {
        let asked = (0..facts.units.len()).flat_map(|unit| (1..=facts.copies).map(new(unit))).collect();
        return Ok(Survey { asked, ..Survey::default() });
    };
    let kept = kept(connection, run.run).map_err(explain)?;
    let mut survey = Survey { run: Some(run.run), ..Survey::default() };
    survey.numbers = kept.iter().map(|kept| (kept.name.unit.clone(), kept.number)).collect();
    let by_name: BTreeMap<(&str, u32), &Kept> =
        kept.iter().map(|kept| ((kept.name.unit.as_str(), kept.name.copy), kept)).collect();
    let mut differences: Vec<(&Kept, Difference)> = Vec::new();
    for (index, unit) in facts.units.iter().enumerate() {
        for copy in 1..=facts.copies {
            let found = by_name.get(&(unit.key.as_str(), copy));
            survey.asked.push(match found {
                Some(kept) => Asked { unit: index, copy, row: Some(kept.row), state: kept.state },
                None => new(index)(copy),
            });
            if let Some(kept) = found.filter(|kept| kept.state == State::Printed && kept.accepted != as_now(unit)) {
                let difference = difference(&kept.made, unit);
                if !difference.is_empty() {
                    differences.push((kept, difference));
                }
            }
        }
    }
    survey.otherwise = differences.iter().map(|(kept, _)| kept.row).collect();
    let newly_gone = match facts.whole_table {
        true => {
            let gone: Vec<&Kept> = kept.iter().filter(|kept| !seen.contains(kept.name.unit.as_str())).collect();
            survey.gone = gone.iter().map(|kept| (kept.name.clone(), kept.state)).collect();
            gone.into_iter().filter(|kept| kept.listed && kept.state == State::Printed).map(|kept| &kept.name).collect()
        }
        false => Vec::new(),
    };
    if intent == Intent::Continue {
        changed(run, facts, &differences)?;
        renamed(facts, &survey, newly_gone)?;
    }
    Ok(survey)
}

/// What a strip made now would be known by.
pub(super) fn as_now(unit: &super::UnitFacts) -> String {
    format!("{} {}", unit.making.manual, unit.text)
}

/// The last run of this manual: of its file, or of the very same manual under another name, or, in a ledger that an earlier program
/// began, of its document number.
fn find<'a>(runs: &'a [Run], facts: &Facts) -> Option<&'a Run> {
    let of_file = |run: &&Run| !run.file.is_empty() && run.file == facts.file;
    let the_same = |run: &&Run| facts.units.iter().any(|unit| unit.making.manual == run.manual);
    let document = facts.document();
    let old = |run: &&Run| run.file.is_empty() && run.document == document;
    runs.iter().find(of_file).or_else(|| runs.iter().find(the_same)).or_else(|| runs.iter().find(old))
}

fn changed(run: &Run, facts: &Facts, differences: &[(&Kept, Difference)]) -> Result<(), Error> {
    if differences.is_empty() {
        return Ok(());
    }
    let mut what: Vec<String> = Vec::new();
    for name in differences.iter().flat_map(|(_, difference)| &difference.parts) {
        if !what.contains(name) {
            what.push(name.clone());
        }
    }
    if !what.is_empty() {
        let (before, now) = (run.revision.clone(), facts.revision());
        return Err(Error::ManualChanged { before, now, printed: differences.len(), what });
    }
    let told = differences.iter().map(|(kept, difference)| {
        let values: Vec<String> =
            difference.values.iter().map(|(column, then, now)| format!("{column}: {then:?} then, {now:?} now")).collect();
        format!("{} ({})", kept.name, values.join("; "))
    });
    Err(Error::UnitChanged(told.collect()))
}

/// A unit that is printed and gone from the table, while one stands there that the run has never seen: it may have been renamed, and
/// would be printed a second time.
fn renamed(facts: &Facts, survey: &Survey, gone: Vec<&StripName>) -> Result<(), Error> {
    let known = |key: &str| survey.numbers.contains_key(key);
    let same_table = facts.units.iter().any(|unit| known(&unit.key));
    let fresh: Vec<String> = facts.units.iter().filter(|unit| !known(&unit.key)).map(|unit| unit.key.clone()).collect();
    match gone.is_empty() || fresh.is_empty() || !same_table {
        true => Ok(()),
        false => Err(Error::Renamed { gone: gone.into_iter().cloned().collect(), fresh }),
    }
}

fn runs(connection: &Connection, rehearsal: bool) -> rusqlite::Result<Vec<Run>> {
    let mut query = connection
        .prepare("SELECT run, file, document, language, revision, manual FROM run WHERE rehearsal = ?1 ORDER BY run DESC")?;
    let read = |row: &rusqlite::Row<'_>| {
        Ok(Run {
            run: row.get(0)?,
            file: row.get(1)?,
            document: row.get(2)?,
            language: row.get(3)?,
            revision: row.get(4)?,
            manual: row.get(5)?,
        })
    };
    query.query_map([rehearsal], read)?.collect()
}

fn kept(connection: &Connection, run: i64) -> rusqlite::Result<Vec<Kept>> {
    let mut makings: BTreeMap<String, BTreeMap<String, String>> = BTreeMap::new();
    let mut query = connection.prepare(
        "SELECT strip, unit, copy, place, state, accepted, listed, manual, text, row FROM strip WHERE run = ?1 ORDER BY place, copy",
    )?;
    let mut rows = query.query([run])?;
    let mut kept = Vec::new();
    while let Some(row) = rows.next()? {
        let manual: String = row.get(7)?;
        if !makings.contains_key(&manual) {
            makings.insert(manual.clone(), super::entries::parts(connection, &manual)?);
        }
        let place: i64 = row.get(3)?;
        kept.push(Kept {
            row: row.get(0)?,
            name: StripName { unit: row.get(1)?, copy: row.get(2)? },
            number: u32::try_from(place + 1).unwrap_or(u32::MAX),
            state: State::read(&row.get::<_, String>(4)?),
            accepted: row.get(5)?,
            listed: row.get(6)?,
            made: Made {
                parts: makings.get(&manual).cloned().unwrap_or_default(),
                manual,
                text: row.get(8)?,
                values: serde_json::from_str(&row.get::<_, String>(9)?).unwrap_or_default(),
            },
        });
    }
    Ok(kept)
}

/// The strips of a manual that a person must look at, oldest first.
pub(super) fn unknown(
    connection: &Connection,
    facts: &Facts,
    rehearsal: bool,
    run: Option<i64>,
) -> rusqlite::Result<Vec<Located>> {
    let mut query = connection.prepare(&format!(
        "SELECT {} FROM strip JOIN run USING (run) WHERE state IN ('unknown', 'sending') AND rehearsal = ?2
         AND (run.file = ?1 OR run = ?3) ORDER BY run, place, copy",
        Located::COLUMNS
    ))?;
    query.query_map(params![facts.file, rehearsal, run], Located::read)?.collect()
}
