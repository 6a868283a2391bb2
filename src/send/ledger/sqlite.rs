//! The ledger in a file: its marks, its tables, and the refusal of whatever is not one.

use super::Error;
use super::database::{Database, Row, Value};
use rusqlite::types::{ToSql, ToSqlOutput, ValueRef};
use rusqlite::{Connection, ErrorCode, OpenFlags};
use std::path::Path;
use std::time::Duration;

use crate::names::folder_of;

/// One file, one program at a time: a lock beside it sees to that.
pub(super) struct Sqlite {
    connection: Connection,
    shown: String,
}

impl Sqlite {
    pub(super) fn new(connection: Connection, shown: String) -> Sqlite {
        Sqlite { connection, shown }
    }
}

impl ToSql for Value {
    fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
        Ok(ToSqlOutput::Borrowed(match self {
            Value::Text(text) => ValueRef::Text(text.as_bytes()),
            Value::Number(number) => ValueRef::Integer(*number),
            Value::Truth(truth) => ValueRef::Integer(i64::from(*truth)),
            Value::Nothing => ValueRef::Null,
        }))
    }
}

impl Database for Sqlite {
    fn shown(&self) -> &str {
        &self.shown
    }

    fn shared(&self) -> bool {
        false
    }

    fn patience(&self) -> Duration {
        Duration::ZERO
    }

    fn now(&self) -> &'static str {
        NOW
    }

    fn in_time(&self, later: Duration) -> String {
        format!("strftime('%Y-%m-%dT%H:%M:%fZ', 'now', '+{} seconds')", later.as_secs())
    }

    fn since(&self, column: &str) -> String {
        format!("CAST((julianday('now') - julianday({column})) * 86400 AS INTEGER)")
    }

    fn user(&self) -> &'static str {
        "''"
    }

    fn taking(&self) -> &'static str {
        // There is nobody else.
        ""
    }

    fn run(&self, statement: &str, values: &[Value]) -> Result<Vec<Row>, Error> {
        self.answer(statement, values).map_err(|error| explain(&self.shown, error))
    }

    fn begin(&self, _alone: bool) -> Result<(), Error> {
        self.run("BEGIN IMMEDIATE", &[]).map(drop)
    }

    fn end(&self, keep: bool) -> Result<(), Error> {
        self.run(if keep { "COMMIT" } else { "ROLLBACK" }, &[]).map(drop)
    }
}

impl Sqlite {
    fn answer(&self, statement: &str, values: &[Value]) -> rusqlite::Result<Vec<Row>> {
        let mut query = self.connection.prepare_cached(statement)?;
        let columns = query.column_count();
        let mut rows = query.query(rusqlite::params_from_iter(values))?;
        let mut answer = Vec::new();
        while let Some(row) = rows.next()? {
            let value = |place| {
                Ok(match row.get_ref(place)? {
                    ValueRef::Text(text) => Value::Text(String::from_utf8_lossy(text).into_owned()),
                    ValueRef::Integer(number) => Value::Number(number),
                    ValueRef::Null | ValueRef::Real(_) | ValueRef::Blob(_) => Value::Nothing,
                })
            };
            answer.push(Row((0..columns).map(value).collect::<rusqlite::Result<_>>()?));
        }
        Ok(answer)
    }
}

/// `Strp` in the four bytes that SQLite keeps for the owner of a file.
const OWNER: i64 = 0x5374_7270;
/// Raised with every change of the tables, here and in `postgres/tables.rs`.
const VERSION: i64 = 3;

/// A strip is in one of five states:
/// `queued` (not sent), `sending` (under way), `printed` (the printer's word), `unknown` (a person must look), `missing` (certainly
/// not whole: it will be printed again). `history` holds every change, in order, and nothing is ever taken out of it.
/// `line` remembers per destination whether the last strip sent there was finished in order. `place` is a strip's `run.number` less
/// one and never changes. `making` says by name what the strips with its digest were made of; `row` is the unit's row as JSON.
/// `accepted` is what the strip would be made of now, where a person said that the old one may stay; `listed`: its unit stands in
/// the table. `holder` is the bench that has the strip in hand, `attempt` names its last sending, so that a late word about another is
/// never taken for one about this; `boxed` is when its code was scanned: it lies in its box. `bench` holds every program that ever printed.
const TABLES: &str = "
CREATE TABLE run (
    run INTEGER PRIMARY KEY,
    document TEXT NOT NULL,
    revision TEXT NOT NULL,
    manual TEXT NOT NULL,
    rehearsal INTEGER NOT NULL,
    started TEXT NOT NULL,
    file TEXT NOT NULL DEFAULT '',
    language TEXT NOT NULL DEFAULT ''
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
    language TEXT NOT NULL DEFAULT '',
    text TEXT NOT NULL DEFAULT '',
    row TEXT NOT NULL DEFAULT '{}',
    accepted TEXT NOT NULL DEFAULT '',
    listed INTEGER NOT NULL DEFAULT 1,
    holder TEXT NOT NULL DEFAULT '',
    attempt TEXT NOT NULL DEFAULT '',
    boxed TEXT,
    UNIQUE (run, unit, copy)
) STRICT;
CREATE INDEX strip_by_state ON strip (state);
CREATE TABLE history (
    entry INTEGER PRIMARY KEY,
    strip INTEGER NOT NULL REFERENCES strip,
    at TEXT NOT NULL,
    state TEXT NOT NULL,
    note TEXT NOT NULL,
    revision TEXT NOT NULL DEFAULT '',
    destination TEXT NOT NULL DEFAULT '',
    bench TEXT NOT NULL DEFAULT ''
) STRICT;
CREATE TABLE making (
    manual TEXT PRIMARY KEY,
    parts TEXT NOT NULL
) STRICT;
CREATE TABLE line (
    destination TEXT PRIMARY KEY,
    in_order INTEGER NOT NULL
) STRICT;
CREATE TABLE bench (
    bench TEXT PRIMARY KEY,
    name TEXT NOT NULL,
    who TEXT NOT NULL,
    began TEXT NOT NULL,
    until TEXT NOT NULL
) STRICT;
";

/// The time in UTC to the millisecond, as every column of the ledger holds it.
const NOW: &str = "strftime('%Y-%m-%dT%H:%M:%fZ', 'now')";

/// What version 1 lacks. Its notes of strips that were sent are the destination's name.
const FROM_1: &str = "
ALTER TABLE run ADD COLUMN file TEXT NOT NULL DEFAULT '';
ALTER TABLE run ADD COLUMN language TEXT NOT NULL DEFAULT '';
ALTER TABLE strip ADD COLUMN language TEXT NOT NULL DEFAULT '';
ALTER TABLE strip ADD COLUMN text TEXT NOT NULL DEFAULT '';
ALTER TABLE strip ADD COLUMN row TEXT NOT NULL DEFAULT '{}';
ALTER TABLE strip ADD COLUMN accepted TEXT NOT NULL DEFAULT '';
ALTER TABLE strip ADD COLUMN listed INTEGER NOT NULL DEFAULT 1;
ALTER TABLE history ADD COLUMN revision TEXT NOT NULL DEFAULT '';
ALTER TABLE history ADD COLUMN destination TEXT NOT NULL DEFAULT '';
CREATE TABLE making (manual TEXT PRIMARY KEY, parts TEXT NOT NULL) STRICT;
UPDATE history SET destination = note WHERE state = 'sending';
";

/// What version 2 lacks: who has a strip in hand, and what lies in its box.
const FROM_2: &str = "
ALTER TABLE strip ADD COLUMN holder TEXT NOT NULL DEFAULT '';
ALTER TABLE strip ADD COLUMN attempt TEXT NOT NULL DEFAULT '';
ALTER TABLE strip ADD COLUMN boxed TEXT;
ALTER TABLE history ADD COLUMN bench TEXT NOT NULL DEFAULT '';
CREATE TABLE bench (bench TEXT PRIMARY KEY, name TEXT NOT NULL, who TEXT NOT NULL, began TEXT NOT NULL, until TEXT NOT NULL) STRICT;
";

/// Looks at the file before it is opened: one that is empty is never taken for a new ledger, for it may be what is left of one.
pub(super) fn check(path: &Path, create: bool) -> Result<(), Error> {
    let shown = path.display().to_string();
    match std::fs::metadata(path) {
        Ok(found) if !found.is_file() => Err(Error::NoFile { path: shown }),
        Ok(found) if found.len() == 0 => Err(Error::Empty { path: shown }),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound && !create => Err(Error::NotThere { path: shown }),
        Ok(_) | Err(_) => Ok(()),
    }
}

/// Opens the file, or a new one with the tables in it, and refuses one that is no ledger without having changed a byte of it.
pub(super) fn open(path: &Path, create: bool) -> Result<Connection, Error> {
    let shown = path.display().to_string();
    if create && !path.exists() {
        make(path, &shown)?;
    }
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let connection = Connection::open_with_flags(path, flags).map_err(|error| explain(&shown, error))?;
    let connection = prepare(connection, &shown)?;
    // The file beside it is emptied after each change instead of taken away, which is as good a mark that the change was made, and spares
    // two writes of the folder; it goes when the ledger is closed.
    connection.pragma_update(None, "journal_mode", "TRUNCATE").map_err(|error| explain(&shown, error))?;
    Ok(connection)
}

impl Drop for Sqlite {
    fn drop(&mut self) {
        // Where it can't be taken away, an empty file stays that means nothing.
        let _ = self.connection.pragma_update(None, "journal_mode", "DELETE");
    }
}

/// Makes a new ledger whole beside its place and moves it there: whoever ends the program meanwhile leaves no ledger, and none that is
/// empty. An empty one is refused, for it may be what is left of one.
fn make(path: &Path, shown: &str) -> Result<(), Error> {
    let failed = |error: &std::io::Error| Error::File { path: shown.to_owned(), cause: error.to_string() };
    let folder = folder_of(path);
    let mut making = tempfile::Builder::new();
    making.prefix(".ledger-");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        // As SQLite makes its files; the mask of the user takes off what it takes off.
        making.permissions(std::fs::Permissions::from_mode(0o644));
    }
    let file = making.tempfile_in(folder).map_err(|error| failed(&error))?;
    let connection = Connection::open(file.path()).map_err(|error| explain(shown, error))?;
    drop(prepare(connection, shown)?);
    file.as_file().sync_all().map_err(|error| failed(&error))?;
    file.persist_noclobber(path).map_err(|error| failed(&error.error))?;
    #[cfg(unix)]
    std::fs::File::open(folder).and_then(|folder| folder.sync_all()).map_err(|error| failed(&error))?;
    Ok(())
}

pub(super) const IN_MEMORY: &str = "in memory";

/// A ledger that no file holds.
pub(super) fn in_memory() -> Result<Connection, Error> {
    prepare(Connection::open_in_memory().map_err(|error| explain(IN_MEMORY, error))?, IN_MEMORY)
}

/// Opens the file without changing what stands in it; `None` when it is of an earlier version. A change that was cut off half-way is
/// taken back, as SQLite does with every opening, where the file may be written.
pub(super) fn look(path: &Path) -> Result<Option<Connection>, Error> {
    let shown = path.display().to_string();
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let connection = Connection::open_with_flags(path, flags).map_err(|error| explain(&shown, error))?;
    connection.busy_timeout(PATIENCE).map_err(|error| explain(&shown, error))?;
    match recognise(&connection, &shown)? {
        None => Err(Error::Foreign { path: shown }),
        Some(VERSION) => {
            connection.pragma_update(None, "query_only", true).map_err(|error| explain(&shown, error))?;
            Ok(Some(connection))
        }
        Some(_) => Ok(None),
    }
}

/// How long a change of another process is waited for.
const PATIENCE: Duration = Duration::from_secs(5);

/// The version of a ledger that this program can read; `None` for a file with nothing in it.
fn recognise(connection: &Connection, shown: &str) -> Result<Option<i64>, Error> {
    let explain = |error: rusqlite::Error| explain(shown, error);
    let owner: i64 = connection.pragma_query_value(None, "application_id", |row| row.get(0)).map_err(explain)?;
    let version: i64 = connection.pragma_query_value(None, "user_version", |row| row.get(0)).map_err(explain)?;
    let tables: i64 = connection.query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0)).map_err(explain)?;
    match (owner, version) {
        (0, 0) if tables == 0 => Ok(None),
        (OWNER, 1..=VERSION) => Ok(Some(version)),
        (OWNER, found) => Err(Error::OtherVersion { path: shown.to_owned(), found, known: VERSION }),
        _ => Err(Error::Foreign { path: shown.to_owned() }),
    }
}

fn prepare(connection: Connection, shown: &str) -> Result<Connection, Error> {
    let explain = |error: rusqlite::Error| explain(shown, error);
    connection.busy_timeout(PATIENCE).map_err(explain)?;
    let version = recognise(&connection, shown)?;
    // Every change is in this one file when it is made, so that a copy of the file, or a kill, loses nothing: there is no second
    // file that belongs to it but while a change is being written.
    connection.pragma_update(None, "journal_mode", "DELETE").map_err(explain)?;
    connection.pragma_update(None, "synchronous", "EXTRA").map_err(explain)?;
    connection.pragma_update(None, "foreign_keys", true).map_err(explain)?;
    let change = match version {
        None => format!("{TABLES} PRAGMA application_id = {OWNER};"),
        Some(1) => [FROM_1, FROM_2].concat(),
        Some(2) => FROM_2.to_owned(),
        Some(_) => return Ok(connection),
    };
    let all = format!("BEGIN EXCLUSIVE; {change} PRAGMA user_version = {VERSION}; COMMIT;");
    connection.execute_batch(&all).map_err(explain)?;
    Ok(connection)
}

/// Turns SQLite's codes into what a person needs to know.
fn explain(path: &str, error: rusqlite::Error) -> Error {
    let path = path.to_owned();
    match error.sqlite_error_code() {
        Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => Error::InUse { path },
        Some(ErrorCode::NotADatabase) => Error::Foreign { path },
        Some(ErrorCode::DatabaseCorrupt) => Error::Damaged { path, cause: error.to_string() },
        _ => Error::File { path, cause: error.to_string() },
    }
}
