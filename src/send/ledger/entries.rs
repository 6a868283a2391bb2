//! What is written into the ledger's tables, inside a change that is made whole or not at all.

use super::schema::NOW;
use super::survey::{Survey, as_now};
use super::{Begun, Facts, Located, State, StripName, Todo, UnitFacts};
use rusqlite::{Connection, OptionalExtension, Transaction, params};
use std::collections::{BTreeMap, BTreeSet};

/// Makes the run where there is none, puts every strip that it lacks in the queue, and lists what is not printed.
pub(super) fn enter(change: &Transaction<'_>, facts: &Facts, rehearsal: bool, survey: &Survey) -> rusqlite::Result<Begun> {
    let manual = facts.units.first().map_or("", |unit| unit.making.manual.as_str());
    let (document, revision, language) = (facts.document(), facts.revision(), facts.language());
    let run = match survey.run {
        Some(run) => {
            change.execute(
                "UPDATE run SET manual = ?2, revision = ?3, document = ?4, language = ?5, file = ?6 WHERE run = ?1",
                params![run, manual, revision, document, language, facts.file],
            )?;
            run
        }
        None => {
            change.execute(
                &format!(
                    "INSERT INTO run (document, revision, manual, rehearsal, started, file, language)
                     VALUES (?1, ?2, ?3, ?4, {NOW}, ?5, ?6)"
                ),
                params![document, revision, manual, rehearsal, facts.file, language],
            )?;
            change.last_insert_rowid()
        }
    };
    if facts.whole_table {
        change.execute("UPDATE strip SET listed = 0 WHERE run = ?1", [run])?;
    }
    let numbers = numbers(facts, survey);
    let mut insert = change.prepare(&format!(
        "INSERT INTO strip (run, place, unit, copy, manual, document, revision, printer, state, note, queued, language)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, 'queued', '', {NOW}, ?9)"
    ))?;
    let mut listed = change.prepare("UPDATE strip SET listed = 1 WHERE strip = ?1")?;
    let mut begun = begun(facts, survey, &numbers);
    begun.run = Some(run);
    let mut todo = begun.todo.iter_mut();
    for asked in &survey.asked {
        if let Some(row) = asked.row {
            listed.execute([row])?;
        }
        if !is_to_do(asked.state) {
            continue;
        }
        let Some(todo) = todo.next() else { break };
        if todo.row.is_none()
            && let Some(unit) = facts.units.get(asked.unit)
        {
            let place = i64::from(todo.number) - 1;
            let making = &unit.making;
            insert.execute(params![
                run,
                place,
                unit.key,
                asked.copy,
                making.manual,
                making.document,
                making.revision,
                facts.printer,
                making.language
            ])?;
            todo.row = Some(change.last_insert_rowid());
        }
    }
    // The person has been told and said to go on: these may stay as they are.
    let mut accept = change.prepare("UPDATE strip SET accepted = ?2 WHERE strip = ?1")?;
    for asked in &survey.asked {
        if let (Some(row), Some(unit)) = (asked.row.filter(|row| survey.otherwise.contains(row)), facts.units.get(asked.unit)) {
            accept.execute(params![row, as_now(unit)])?;
        }
    }
    Ok(begun)
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
pub(super) fn describe(change: &Transaction<'_>, row: i64, unit: &UnitFacts, printer: &str) -> rusqlite::Result<()> {
    let making = &unit.making;
    let json = |map: &BTreeMap<String, String>| serde_json::to_string(map).unwrap_or_else(|_| "{}".to_owned());
    change.execute(
        "INSERT INTO making (manual, parts) VALUES (?1, ?2) ON CONFLICT (manual) DO NOTHING",
        params![making.manual, json(&making.parts)],
    )?;
    change.execute(
        "UPDATE strip SET manual = ?2, document = ?3, revision = ?4, printer = ?5, language = ?6, text = ?7, row = ?8, accepted = ''
         WHERE strip = ?1",
        params![
            row,
            making.manual,
            making.document,
            making.revision,
            printer,
            making.language,
            unit.text,
            json(&unit.values)
        ],
    )?;
    Ok(())
}

/// What strips of this digest were made of.
pub(super) fn parts(connection: &Connection, manual: &str) -> rusqlite::Result<BTreeMap<String, String>> {
    let text: Option<String> =
        connection.query_row("SELECT parts FROM making WHERE manual = ?1", [manual], |row| row.get(0)).optional()?;
    Ok(text.and_then(|text| serde_json::from_str(&text).ok()).unwrap_or_default())
}

pub(super) fn mark_line(change: &Transaction<'_>, destination: &str, in_order: bool) -> rusqlite::Result<()> {
    change.execute(
        "INSERT INTO line (destination, in_order) VALUES (?1, ?2) ON CONFLICT (destination) DO UPDATE SET in_order = ?2",
        params![destination, in_order],
    )?;
    Ok(())
}

/// One line of the history.
pub(super) struct Entry<'a> {
    pub(super) state: State,
    pub(super) note: &'a str,
    pub(super) destination: Option<&'a str>,
}

impl<'a> Entry<'a> {
    pub(super) fn new(state: State, note: &'a str) -> Entry<'a> {
        Entry { state, note, destination: None }
    }
}

pub(super) fn set_state(change: &Transaction<'_>, row: i64, entry: &Entry<'_>) -> rusqlite::Result<()> {
    let column = if entry.state == State::Sending { "sending" } else { "settled" };
    change.execute(
        &format!("UPDATE strip SET state = ?2, note = ?3, {column} = {NOW} WHERE strip = ?1"),
        params![row, entry.state.word(), entry.note],
    )?;
    change.execute(
        &format!(
            "INSERT INTO history (strip, at, state, note, revision, destination)
             VALUES (?1, {NOW}, ?2, ?3, (SELECT revision FROM strip WHERE strip = ?1), ?4)"
        ),
        params![row, entry.state.word(), entry.note, entry.destination.unwrap_or_default()],
    )?;
    Ok(())
}

pub(super) type Found = Vec<(i64, Located)>;

pub(super) const UNKNOWN: &str = "state = 'unknown'";

pub(super) fn find(
    connection: &Connection,
    condition: &str,
    unit: Option<(&str, Option<u32>)>,
    run: Option<i64>,
) -> rusqlite::Result<Found> {
    let mut query = connection.prepare(&format!(
        "SELECT {}, strip FROM strip JOIN run USING (run)
         WHERE {condition} AND (?1 IS NULL OR unit = ?1) AND (?2 IS NULL OR copy = ?2) AND (?3 IS NULL OR run = ?3)
         ORDER BY run, place, copy",
        Located::COLUMNS
    ))?;
    let (unit, copy) = unit.map_or((None, None), |(unit, copy)| (Some(unit), copy));
    query.query_map(params![unit, copy, run], |row| Ok((row.get(7)?, Located::read(row)?)))?.collect()
}

/// The strips that a person means by a key: a unit of exactly this name goes before a copy of another, and what is unknown, under
/// either name, before what is settled.
pub(super) fn find_key(connection: &Connection, key: &str, run: Option<i64>) -> rusqlite::Result<Found> {
    // Of each manual the last real run that has the unit; of the run that is named, whatever it is.
    const LAST: &str = "(?3 IS NOT NULL OR run IN (SELECT max(strip.run) FROM strip JOIN run ON strip.run = run.run
         WHERE unit = ?1 AND NOT rehearsal GROUP BY file, CASE file WHEN '' THEN run.document END))";
    let as_copy = key.rsplit_once('/').and_then(|(unit, copy)| Some((unit, Some(copy.parse().ok()?))));
    for condition in [UNKNOWN, LAST] {
        for wanted in [Some((key, None)), as_copy].into_iter().flatten() {
            let found = find(connection, condition, Some(wanted), run)?;
            if !found.is_empty() {
                return Ok(found);
            }
        }
    }
    Ok(Vec::new())
}
