//! What a run would begin with: the one answer that `print` acts on and that a plan shows. It only reads.

use super::database::{Database, Row, values};
use super::facts::{Difference, Made, difference};
use super::{Error, Facts, Intent, Located, State, StripName};
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
    /// Strips whose unit stands in the table again, and those whose unit stands there no more.
    pub(super) listed: Vec<i64>,
    pub(super) delisted: Vec<i64>,
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

/// Looks for the run that these facts go on with, and what it lacks. `unknown_stop`: strips that nobody has looked at refuse it.
pub(super) fn survey(
    base: &dyn Database,
    facts: &Facts,
    rehearsal: bool,
    intent: Intent,
    unknown_stop: bool,
) -> Result<Survey, Error> {
    let mut seen = BTreeSet::new();
    if let Some(repeated) = facts.units.iter().find(|unit| !seen.insert(unit.key.as_str())) {
        return Err(Error::RepeatedUnit(repeated.key.clone()));
    }
    if facts.units.is_empty() || facts.copies == 0 {
        return Err(Error::NoUnit);
    }
    let runs = runs(base, rehearsal)?;
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
    if unknown_stop {
        let unknown = unknown(base, facts, rehearsal, found.map(|run| run.run))?;
        if !unknown.is_empty() {
            return Err(Error::Unresolved(unknown));
        }
    }
    let new = |unit: usize| move |copy: u32| Asked { unit, copy, row: None, state: State::Queued };
    let (Some(run), false) = (found, intent == Intent::NewRun) else {
        let asked = (0..facts.units.len()).flat_map(|unit| (1..=facts.copies).map(new(unit))).collect();
        return Ok(Survey { asked, ..Survey::default() });
    };
    let kept = kept(base, run.run)?;
    let mut survey = Survey { run: Some(run.run), ..Survey::default() };
    survey.numbers = kept.iter().map(|kept| (kept.name.unit.clone(), kept.number)).collect();
    let by_name: BTreeMap<(&str, u32), &Kept> =
        kept.iter().map(|kept| ((kept.name.unit.as_str(), kept.name.copy), kept)).collect();
    let mut differences: Vec<(&Kept, Difference)> = Vec::new();
    for (index, unit) in facts.units.iter().enumerate() {
        for copy in 1..=facts.copies {
            let found = by_name.get(&(unit.key.as_str(), copy));
            survey.listed.extend(found.filter(|kept| !kept.listed).map(|kept| kept.row));
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
    if facts.whole_table {
        // A copy that is asked for no more is not asked for, whatever its unit.
        let asked: BTreeSet<i64> = survey.asked.iter().filter_map(|asked| asked.row).collect();
        survey.delisted = kept.iter().filter(|kept| kept.listed && !asked.contains(&kept.row)).map(|kept| kept.row).collect();
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

fn runs(base: &dyn Database, rehearsal: bool) -> Result<Vec<Run>, Error> {
    let statement = "SELECT run, file, document, language, revision, manual FROM run WHERE rehearsal = ?1 ORDER BY run DESC";
    let read = |row: Row| Run {
        run: row.number(0),
        file: row.text(1),
        document: row.text(2),
        language: row.text(3),
        revision: row.text(4),
        manual: row.text(5),
    };
    Ok(base.run(statement, values![rehearsal])?.into_iter().map(read).collect())
}

fn kept(base: &dyn Database, run: i64) -> Result<Vec<Kept>, Error> {
    let mut makings: BTreeMap<String, BTreeMap<String, String>> = BTreeMap::new();
    let statement = "SELECT strip, unit, copy, place, state, accepted, listed, manual, text, row FROM strip WHERE run = ?1 ORDER BY place, copy";
    let mut kept = Vec::new();
    for row in base.run(statement, values![run])? {
        let manual = row.text(7);
        if !makings.contains_key(&manual) {
            makings.insert(manual.clone(), parts(base, &manual)?);
        }
        kept.push(Kept {
            row: row.number(0),
            name: StripName { unit: row.text(1), copy: row.count(2) },
            number: u32::try_from(row.number(3) + 1).unwrap_or(u32::MAX),
            state: State::read(&row.text(4)),
            accepted: row.text(5),
            listed: row.truth(6),
            made: Made {
                parts: makings.get(&manual).cloned().unwrap_or_default(),
                manual,
                text: row.text(8),
                values: serde_json::from_str(&row.text(9)).unwrap_or_default(),
            },
        });
    }
    Ok(kept)
}

/// The strips of a manual that a person must look at, oldest first. In a ledger of one program, one that is being sent was left so.
pub(super) fn unknown(base: &dyn Database, facts: &Facts, rehearsal: bool, run: Option<i64>) -> Result<Vec<Located>, Error> {
    let states = if base.shared() { "('unknown')" } else { "('unknown', 'sending')" };
    let statement = format!(
        "SELECT {LOCATED} FROM strip JOIN run USING (run) WHERE state IN {states} AND rehearsal = ?2
         AND (run.file = ?1 OR run = ?3) ORDER BY run, place, copy"
    );
    let found = base.run(&statement, values![&facts.file, rehearsal, run])?;
    Ok(found.iter().map(located).collect())
}

/// What strips of this digest were made of.
pub(super) fn parts(base: &dyn Database, manual: &str) -> Result<BTreeMap<String, String>, Error> {
    let row = base.first("SELECT parts FROM making WHERE manual = ?1", values![manual])?;
    Ok(row.and_then(|row| serde_json::from_str(&row.text(0)).ok()).unwrap_or_default())
}

/// The columns of a [`Located`], of strips joined with their runs.
pub(super) const LOCATED: &str = "unit, copy, run, run.file, strip.document, strip.revision, strip.language";

/// Of a row that begins with these columns.
pub(super) fn located(row: &Row) -> Located {
    Located {
        name: StripName { unit: row.text(0), copy: row.count(1) },
        run: row.number(2),
        file: row.text(3),
        document: row.text(4),
        revision: row.text(5),
        language: row.text(6),
    }
}
