//! What is written into the ledger's tables, inside a change that is made whole or not at all.

use super::database::{Database, Row, Value, values};
use super::survey::{LOCATED, Survey, as_now, located};
use super::{Begun, Error, Facts, Located, State, StripName, Todo, UnitFacts};
use std::collections::{BTreeMap, BTreeSet};

/// Makes the run where there is none, puts every strip that it lacks in the queue, and lists what is not printed.
pub(super) fn enter(base: &dyn Database, facts: &Facts, rehearsal: bool, survey: &Survey) -> Result<Begun, Error> {
    let manual = facts.units.first().map_or("", |unit| unit.making.manual.as_str());
    let (document, revision, language) = (facts.document(), facts.revision(), facts.language());
    let now = base.now();
    let run = match survey.run {
        Some(run) => {
            base.run(
                "UPDATE run SET manual = ?2, revision = ?3, document = ?4, language = ?5, file = ?6 WHERE run = ?1",
                values![run, manual, revision, document, language, &facts.file],
            )?;
            run
        }
        None => {
            let statement = format!(
                "INSERT INTO run (document, revision, manual, rehearsal, started, file, language)
                 VALUES (?1, ?2, ?3, ?4, {now}, ?5, ?6) RETURNING run"
            );
            number(base, &statement, values![document, revision, manual, rehearsal, &facts.file, language])?
        }
    };
    for (rows, listed) in [(&survey.delisted, false), (&survey.listed, true)] {
        for row in rows {
            base.run("UPDATE strip SET listed = ?2 WHERE strip = ?1", values![*row, listed])?;
        }
    }
    let numbers = numbers(facts, survey);
    let insert = format!(
        "INSERT INTO strip (run, place, unit, copy, manual, document, revision, printer, state, note, queued, language)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, 'queued', '', {now}, ?9) RETURNING strip"
    );
    let mut begun = begun(facts, survey, &numbers);
    begun.run = Some(run);
    let mut todo = begun.todo.iter_mut();
    for asked in &survey.asked {
        if !is_to_do(asked.state) {
            continue;
        }
        let Some(todo) = todo.next() else { break };
        if todo.row.is_none()
            && let Some(unit) = facts.units.get(asked.unit)
        {
            let place = i64::from(todo.number) - 1;
            let making = &unit.making;
            let made = values![
                run,
                place,
                &unit.key,
                asked.copy,
                &making.manual,
                &making.document,
                &making.revision,
                &facts.printer,
                &making.language
            ];
            todo.row = Some(self::number(base, &insert, made)?);
        }
    }
    // The person has been told and said to go on: these may stay as they are.
    for asked in &survey.asked {
        if let (Some(row), Some(unit)) = (asked.row.filter(|row| survey.otherwise.contains(row)), facts.units.get(asked.unit)) {
            base.run("UPDATE strip SET accepted = ?2 WHERE strip = ?1", values![row, as_now(unit)])?;
        }
    }
    Ok(begun)
}

/// The number that a new row was given.
fn number(base: &dyn Database, statement: &str, values: &[Value]) -> Result<i64, Error> {
    let cause = "a new row has no number".to_owned();
    let row = base.first(statement, values)?;
    row.map(|row| row.number(0)).ok_or_else(|| Error::File { path: base.shown().to_owned(), cause })
}

fn is_to_do(state: State) -> bool {
    matches!(state, State::Queued | State::Missing)
}

/// What is to be printed, in order.
pub(super) fn begun(facts: &Facts, survey: &Survey, numbers: &[u32]) -> Begun {
    let todo = survey.asked.iter().filter(|asked| is_to_do(asked.state)).filter_map(|asked| {
        Some(Todo {
            row: asked.row,
            name: StripName { unit: facts.units.get(asked.unit)?.key.clone(), copy: asked.copy },
            unit: asked.unit,
            number: numbers.get(asked.unit).copied()?,
        })
    });
    Begun { run: survey.run, todo: todo.collect(), printed: survey.printed(), gone: survey.gone.clone() }
}

/// The number of every unit: the one that it has in this run already, else its row's, else the next that is free. No two units of a
/// run have the same.
pub(super) fn numbers(facts: &Facts, survey: &Survey) -> Vec<u32> {
    let mut taken: BTreeSet<u32> = survey.numbers.values().copied().collect();
    let mut next = taken.last().copied().unwrap_or(0).max(facts.units.iter().map(|unit| unit.number).max().unwrap_or(0));
    let mut number = |unit: &UnitFacts| match survey.numbers.get(&unit.key) {
        Some(&number) => number,
        None if unit.number > 0 && taken.insert(unit.number) => unit.number,
        None => {
            next += 1;
            taken.insert(next);
            next
        }
    };
    facts.units.iter().map(&mut number).collect()
}

/// What the strip that is about to be sent is made of.
pub(super) fn describe(base: &dyn Database, row: i64, unit: &UnitFacts, printer: &str) -> Result<(), Error> {
    let making = &unit.making;
    let json = |map: &BTreeMap<String, String>| serde_json::to_string(map).unwrap_or_else(|_| "{}".to_owned());
    base.run(
        "INSERT INTO making (manual, parts) VALUES (?1, ?2) ON CONFLICT (manual) DO NOTHING",
        values![&making.manual, json(&making.parts)],
    )?;
    base.run(
        "UPDATE strip SET manual = ?2, document = ?3, revision = ?4, printer = ?5, language = ?6, text = ?7, row = ?8, accepted = ''
         WHERE strip = ?1",
        values![
            row,
            &making.manual,
            &making.document,
            &making.revision,
            printer,
            &making.language,
            &unit.text,
            json(&unit.values)
        ],
    )?;
    Ok(())
}

pub(super) fn mark_line(base: &dyn Database, destination: &str, in_order: bool) -> Result<(), Error> {
    base.run(
        "INSERT INTO line (destination, in_order) VALUES (?1, ?2) ON CONFLICT (destination) DO UPDATE SET in_order = ?2",
        values![destination, in_order],
    )?;
    Ok(())
}

/// One line of the history.
pub(super) struct Entry<'a> {
    pub(super) state: State,
    pub(super) note: &'a str,
    pub(super) destination: Option<&'a str>,
    /// Who entered it.
    pub(super) bench: &'a str,
}

impl<'a> Entry<'a> {
    pub(super) fn new(state: State, note: &'a str, bench: &'a str) -> Entry<'a> {
        Entry { state, note, destination: None, bench }
    }
}

pub(super) fn set_state(base: &dyn Database, row: i64, entry: &Entry<'_>) -> Result<(), Error> {
    let column = if entry.state == State::Sending { "sending" } else { "settled" };
    base.run(
        &format!("UPDATE strip SET state = ?2, note = ?3, {column} = {} WHERE strip = ?1", base.now()),
        values![row, entry.state.word(), entry.note],
    )?;
    remember(base, row, entry.state.word(), entry)
}

/// A line of the history alone.
pub(super) fn remember(base: &dyn Database, row: i64, word: &str, entry: &Entry<'_>) -> Result<(), Error> {
    base.run(
        &format!(
            "INSERT INTO history (strip, at, state, note, revision, destination, bench)
             VALUES (?1, {}, ?2, ?3, (SELECT revision FROM strip WHERE strip = ?1), ?4, ?5)",
            base.now()
        ),
        values![row, word, entry.note, entry.destination.unwrap_or_default(), entry.bench],
    )?;
    Ok(())
}

pub(super) type Found = Vec<(i64, Located)>;

pub(super) const UNKNOWN: &str = "state = 'unknown'";

pub(super) fn find(
    base: &dyn Database,
    condition: &str,
    unit: Option<(&str, Option<u32>)>,
    run: Option<i64>,
) -> Result<Found, Error> {
    let statement = format!(
        "SELECT {LOCATED}, strip FROM strip JOIN run USING (run)
         WHERE {condition} AND (CAST(?1 AS TEXT) IS NULL OR unit = ?1) AND (CAST(?2 AS BIGINT) IS NULL OR copy = ?2)
         AND (CAST(?3 AS BIGINT) IS NULL OR run = ?3) ORDER BY run, place, copy"
    );
    let (unit, copy) = unit.map_or((None, None), |(unit, copy)| (Some(unit), copy));
    let numbered = |row: Row| (row.number(7), located(&row));
    Ok(base.run(&statement, values![unit, copy, run])?.into_iter().map(numbered).collect())
}

/// The strips that a person means by a key: a unit of exactly this name goes before a copy of another, and what is unknown, under
/// either name, before what is settled.
pub(super) fn find_key(base: &dyn Database, key: &str, run: Option<i64>) -> Result<Found, Error> {
    // Of each manual the last real run that has the unit; of the run that is named, whatever it is.
    const LAST: &str =
        "(CAST(?3 AS BIGINT) IS NOT NULL OR run IN (SELECT max(strip.run) FROM strip JOIN run ON strip.run = run.run
         WHERE unit = ?1 AND NOT rehearsal GROUP BY file, CASE file WHEN '' THEN run.document END))";
    let as_copy = key.rsplit_once('/').and_then(|(unit, copy)| Some((unit, Some(copy.parse().ok()?))));
    for condition in [UNKNOWN, LAST] {
        for wanted in [Some((key, None)), as_copy].into_iter().flatten() {
            let found = find(base, condition, Some(wanted), run)?;
            if !found.is_empty() {
                return Ok(found);
            }
        }
    }
    Ok(Vec::new())
}
