//! The ledger's file: its marks, its tables, and the refusal of whatever is not one.

use super::Error;
use rusqlite::{Connection, ErrorCode, OpenFlags};
use std::path::Path;
use std::time::Duration;

/// `Strp` in the four bytes that SQLite keeps for the owner of a file.
const OWNER: i64 = 0x5374_7270;
/// Raised with every change of the tables.
const VERSION: i64 = 1;

/// A strip is in one of five states:
/// `queued` (not sent), `sending` (under way), `printed` (the printer's word), `unknown` (a person must look), `missing` (certainly
/// not whole: it will be printed again). `history` holds every change, in order, and nothing is ever taken out of it.
/// `line` remembers per destination whether the last strip sent there was finished in order.
const TABLES: &str = "
CREATE TABLE run (
    run INTEGER PRIMARY KEY,
    document TEXT NOT NULL,
    revision TEXT NOT NULL,
    manual TEXT NOT NULL,
    rehearsal INTEGER NOT NULL,
    started TEXT NOT NULL
) STRICT;
CREATE TABLE strip (
    strip INTEGER PRIMARY KEY,
    run INTEGER NOT NULL REFERENCES run,
    place INTEGER NOT NULL,
    unit TEXT NOT NULL,
    copy INTEGER NOT NULL,
    manual TEXT NOT NULL,
    document TEXT NOT NULL,
    revision TEXT NOT NULL,
    printer TEXT NOT NULL,
    state TEXT NOT NULL CHECK (state IN ('queued', 'sending', 'printed', 'unknown', 'missing')),
    note TEXT NOT NULL,
    queued TEXT NOT NULL,
    sending TEXT,
    settled TEXT,
    UNIQUE (run, unit, copy)
) STRICT;
CREATE INDEX strip_by_state ON strip (state);
CREATE TABLE history (
    entry INTEGER PRIMARY KEY,
    strip INTEGER NOT NULL REFERENCES strip,
    at TEXT NOT NULL,
    state TEXT NOT NULL,
    note TEXT NOT NULL
) STRICT;
CREATE TABLE line (
    destination TEXT PRIMARY KEY,
    in_order INTEGER NOT NULL
) STRICT;
";

/// The time in UTC to the millisecond, as every column of the ledger holds it.
pub(super) const NOW: &str = "strftime('%Y-%m-%dT%H:%M:%fZ', 'now')";

/// Opens the file for this process alone, makes the tables in a new one, and refuses one that is no ledger without having
/// changed a byte of it.
pub(super) fn open(path: &Path, create: bool) -> Result<Connection, Error> {
    let shown = path.display().to_string();
    let explain = |error: rusqlite::Error| explain(&shown, error);
    match std::fs::metadata(path) {
        Ok(found) if !found.is_file() => return Err(Error::NoFile { path: shown }),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound && !create => return Err(Error::NotThere { path: shown }),
        Ok(_) | Err(_) => {}
    }
    let mut flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    if create {
        flags |= OpenFlags::SQLITE_OPEN_CREATE;
    }
    let connection = Connection::open_with_flags(path, flags).map_err(explain)?;
    prepare(connection, &shown)
}

pub(super) fn prepare(connection: Connection, shown: &str) -> Result<Connection, Error> {
    let explain = |error: rusqlite::Error| explain(shown, error);
    // A process that was just killed may need a moment to be gone.
    connection.busy_timeout(Duration::from_millis(500)).map_err(explain)?;
    // Whoever has it open first keeps it until the process ends, however it ends: no lock is ever left behind.
    connection.pragma_update(None, "locking_mode", "EXCLUSIVE").map_err(explain)?;
    let owner: i64 = connection.pragma_query_value(None, "application_id", |row| row.get(0)).map_err(explain)?;
    let version: i64 = connection.pragma_query_value(None, "user_version", |row| row.get(0)).map_err(explain)?;
    let tables: i64 = connection.query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0)).map_err(explain)?;
    let new = owner == 0 && version == 0 && tables == 0;
    if !new && owner != OWNER {
        return Err(Error::Foreign { path: shown.to_owned() });
    }
    if !new && version != VERSION {
        return Err(Error::OtherVersion { path: shown.to_owned(), found: version, known: VERSION });
    }
    connection.pragma_update(None, "journal_mode", "WAL").map_err(explain)?;
    connection.pragma_update(None, "synchronous", "FULL").map_err(explain)?;
    connection.pragma_update(None, "foreign_keys", true).map_err(explain)?;
    if new {
        let all = format!("BEGIN EXCLUSIVE; {TABLES} PRAGMA application_id = {OWNER}; PRAGMA user_version = {VERSION}; COMMIT;");
        connection.execute_batch(&all).map_err(explain)?;
    } else {
        // Takes the lock now and not with the first strip.
        connection.execute_batch("BEGIN EXCLUSIVE; COMMIT;").map_err(explain)?;
    }
    Ok(connection)
}

/// Turns SQLite's codes into what a person needs to know.
pub(super) fn explain(path: &str, error: rusqlite::Error) -> Error {
    let path = path.to_owned();
    match error.sqlite_error_code() {
        Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => Error::InUse { path },
        Some(ErrorCode::NotADatabase) => Error::Foreign { path },
        Some(ErrorCode::DatabaseCorrupt) => Error::Damaged { path, cause: error.to_string() },
        _ => Error::File { path, cause: error.to_string() },
    }
}
