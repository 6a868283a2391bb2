//! What is written into the ledger's tables, inside a change that is made whole or not at all.

use super::schema::NOW;
use super::{Begun, Facts, State, StripName, Todo};
use rusqlite::{Transaction, params};

/// Makes the run where there is none, puts every strip that it lacks in the queue, and lists what is not printed.
pub(super) fn enter(change: &Transaction<'_>, facts: &Facts, rehearsal: bool, run: Option<i64>) -> rusqlite::Result<Begun> {
    let run = match run {
        Some(run) => {
            change.execute(
                "UPDATE run SET manual = ?2, revision = ?3 WHERE run = ?1",
                params![run, facts.manual, facts.revision],
            )?;
            run
        }
        None => {
            change.execute(
                &format!("INSERT INTO run (document, revision, manual, rehearsal, started) VALUES (?1, ?2, ?3, ?4, {NOW})"),
                params![facts.document, facts.revision, facts.manual, rehearsal],
            )?;
            change.last_insert_rowid()
        }
    };
    let mut insert = change.prepare(&format!(
        "INSERT INTO strip (run, place, unit, copy, manual, document, revision, printer, state, note, queued)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, 'queued', '', {NOW}) ON CONFLICT (run, unit, copy) DO UPDATE SET place = ?2"
    ))?;
    let mut find = change.prepare("SELECT strip, state FROM strip WHERE run = ?1 AND unit = ?2 AND copy = ?3")?;
    let mut begun = Begun { run, todo: Vec::new(), printed: 0 };
    for (place, unit) in (0i64..).zip(&facts.units) {
        for copy in 1..=facts.copies {
            insert.execute(params![run, place, unit, copy, facts.manual, facts.document, facts.revision, facts.printer])?;
            let (row, state): (i64, String) = find.query_row(params![run, unit, copy], |row| Ok((row.get(0)?, row.get(1)?)))?;
            match State::read(&state) {
                State::Printed => begun.printed += 1,
                State::Queued | State::Missing => begun.todo.push(Todo { row, name: StripName { unit: unit.clone(), copy } }),
                // `begin` has refused the run while there are any.
                State::Sending | State::Unknown => {}
            }
        }
    }
    Ok(begun)
}

pub(super) fn mark_line(change: &Transaction<'_>, destination: &str, in_order: bool) -> rusqlite::Result<()> {
    change.execute(
        "INSERT INTO line (destination, in_order) VALUES (?1, ?2) ON CONFLICT (destination) DO UPDATE SET in_order = ?2",
        params![destination, in_order],
    )?;
    Ok(())
}

pub(super) fn set_state(change: &Transaction<'_>, row: i64, state: State, note: &str) -> rusqlite::Result<()> {
    let column = if state == State::Sending { "sending" } else { "settled" };
    change.execute(
        &format!("UPDATE strip SET state = ?2, note = ?3, {column} = {NOW} WHERE strip = ?1"),
        params![row, state.word(), note],
    )?;
    change.execute(
        &format!("INSERT INTO history (strip, at, state, note) VALUES (?1, {NOW}, ?2, ?3)"),
        params![row, state.word(), note],
    )?;
    Ok(())
}

pub(super) type Found = Vec<(i64, StripName)>;

pub(super) fn find(change: &Transaction<'_>, condition: &str, unit: Option<(&str, Option<u32>)>) -> rusqlite::Result<Found> {
    let mut query = change.prepare(&format!(
        "SELECT strip, unit, copy FROM strip WHERE {condition} AND (?1 IS NULL OR unit = ?1) AND (?2 IS NULL OR copy = ?2)
         ORDER BY run, place, copy"
    ))?;
    let (unit, copy) = unit.map_or((None, None), |(unit, copy)| (Some(unit), copy));
    query.query_map(params![unit, copy], |row| Ok((row.get(0)?, StripName { unit: row.get(1)?, copy: row.get(2)? })))?.collect()
}

/// The strips that a person means by a key: a unit of exactly this name goes before a copy of another, and what is unknown, under
/// either name, before what is settled.
pub(super) fn find_key(change: &Transaction<'_>, key: &str) -> rusqlite::Result<Found> {
    const LAST: &str = "run = (SELECT max(run) FROM strip JOIN run USING (run) WHERE unit = ?1 AND NOT rehearsal)";
    let as_copy = key.rsplit_once('/').and_then(|(unit, copy)| Some((unit, Some(copy.parse().ok()?))));
    for condition in ["state = 'unknown'", LAST] {
        for wanted in [Some((key, None)), as_copy].into_iter().flatten() {
            let found = find(change, condition, Some(wanted))?;
            if !found.is_empty() {
                return Ok(found);
            }
        }
    }
    Ok(Vec::new())
}
