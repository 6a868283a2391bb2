//! The ledger in PostgreSQL 13 or later, which others run and many benches share.
//!
//! One connection, opened again when it broke; no wait without a limit. A change that was cut off is known to be cut off, or is found again
//! by what it wrote: nothing is guessed. Never shows a password.

mod tables;
mod tls;

use super::Error;
use super::address::{Address, Tls};
use super::database::{Database, For, Row, Value};
use std::cell::RefCell;
use std::collections::HashMap;
use std::error::Error as _;
use std::time::Duration;
use tables::{ROLES, SCHEMA, TABLES, VERSION};
use tokio::runtime::Runtime;
use tokio_postgres::config::SslMode;
use tokio_postgres::error::SqlState;
use tokio_postgres::types::{IsNull, ToSql, Type, private::BytesMut};
use tokio_postgres::{Client, Config, Statement};

/// For a connection to stand.
const CONNECT: Duration = Duration::from_secs(3);
/// For one statement.
const ANSWER: Duration = Duration::from_secs(5);
/// How long a change is tried again: a cut of a second is not noticed.
const PATIENCE: Duration = Duration::from_secs(4);
/// Any number: all ledgers of a database take the same.
const ADVICE: i64 = 0x5374_7270;

pub(super) struct Postgres {
    address: Address,
    bench: String,
    looking: bool,
    runtime: Runtime,
    open: RefCell<State>,
}

#[derive(Default)]
struct State {
    connected: Option<Connected>,
    /// Between `begin` and `end`: a connection that breaks in it is not opened again before it has ended.
    in_change: bool,
}

struct Connected {
    client: Client,
    statements: HashMap<String, Statement>,
}

/// Opens the ledger at an address; a new one is made where there is none and `what_for` allows it.
pub(super) fn open(address: Address, bench: &str, what_for: For) -> Result<Postgres, Error> {
    let cause = |error: std::io::Error| Error::File { path: address.shown.clone(), cause: error.to_string() };
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().map_err(cause)?;
    let base = Postgres { address, bench: bench.to_owned(), looking: false, runtime, open: RefCell::default() };
    let found = version(&base)?;
    let shown = base.shown().to_owned();
    match found {
        Some(VERSION) => {}
        Some(found) if found > VERSION => return Err(Error::OtherVersion { path: shown, found, known: VERSION }),
        None if what_for != For::Printing => return Err(Error::NotThere { path: shown }),
        Some(_) | None => super::database::change(&base, true, |base| match version(base)? {
            // Another bench was quicker.
            Some(VERSION) => Ok(()),
            Some(found) => Err(Error::OtherVersion { path: base.shown().to_owned(), found, known: VERSION }),
            None => make(base),
        })
        .map_err(|error| match error {
            Error::NotAllowed { path, .. } if found.is_some() => {
                Error::OwnerOnly { path, found: found.unwrap_or_default(), known: VERSION }
            }
            error => error,
        })?,
    }
    if what_for == For::Looking {
        base.run("SET default_transaction_read_only = on", &[])?;
    }
    Ok(Postgres { looking: what_for == For::Looking, ..base })
}

/// The version of the ledger that is there.
fn version(base: &dyn Database) -> Result<Option<i64>, Error> {
    let there = base.first("SELECT 1 FROM pg_catalog.pg_class JOIN pg_catalog.pg_namespace ON pg_namespace.oid = relnamespace WHERE nspname = ?1 AND relname = 'version'", &[SCHEMA.into()])?;
    if there.is_none() {
        let schema = base.first("SELECT 1 FROM pg_catalog.pg_namespace JOIN pg_catalog.pg_class ON pg_namespace.oid = relnamespace WHERE nspname = ?1", &[SCHEMA.into()])?;
        return if schema.is_none() {
            Ok(None)
        } else {
            Err(Error::Foreign { path: format!("{} (its schema {SCHEMA})", base.shown()) })
        };
    }
    Ok(base.first("SELECT version FROM stripling.version", &[])?.map(|row| row.number(0)))
}

/// Makes the two roles with their rights.
pub(super) fn make_roles(base: &Postgres) -> Result<(), Error> {
    super::database::change(base, true, |base| all_of(base, ROLES))
}

/// Makes the tables, within a change.
fn make(base: &dyn Database) -> Result<(), Error> {
    all_of(base, TABLES)
}

/// Runs one statement after the other; what stands between `$$` is part of one.
fn all_of(base: &dyn Database, statements: &str) -> Result<(), Error> {
    let mut statement = String::new();
    let mut in_body = false;
    for line in statements.lines() {
        statement.push_str(line);
        statement.push('\n');
        in_body ^= line.matches("$$").count() % 2 == 1;
        if line.ends_with(';') && !in_body {
            base.run(&std::mem::take(&mut statement), &[])?;
        }
    }
    Ok(())
}

impl Postgres {
    /// Does something with the connection, which is opened first where there is none.
    fn with<T>(&self, act: impl AsyncFnOnce(&mut Connected) -> Result<T, tokio_postgres::Error>) -> Result<T, Error> {
        let mut state = self.open.borrow_mut();
        let away = |cause: &str| Error::Away { path: self.address.shown.clone(), cause: cause.to_owned() };
        if state.connected.as_ref().is_some_and(|connected| connected.client.is_closed()) {
            state.connected = None;
        }
        if state.connected.is_none() {
            if state.in_change {
                return Err(away("the connection broke"));
            }
            state.connected = Some(self.connect()?);
        }
        let Some(connected) = state.connected.as_mut() else { return Err(away("there is no connection")) };
        let done = self.runtime.block_on(async { tokio::time::timeout(ANSWER, act(connected)).await });
        match done {
            Ok(Ok(done)) => Ok(done),
            Ok(Err(error)) => {
                let error = self.explain(&error);
                if error.passes() {
                    state.connected = None;
                }
                Err(error)
            }
            Err(_) => {
                state.connected = None;
                Err(away(&format!("no answer within {} s", ANSWER.as_secs())))
            }
        }
    }

    fn connect(&self) -> Result<Connected, Error> {
        let address = &self.address;
        let mut config = Config::new();
        config.host(&address.host).port(address.port).user(&address.user).dbname(&address.database);
        config.application_name("stripling").connect_timeout(CONNECT).keepalives_idle(Duration::from_secs(10));
        config.ssl_mode(match address.tls {
            Tls::Disable => SslMode::Disable,
            Tls::Prefer => SslMode::Prefer,
            Tls::Require | Tls::VerifyAuthority | Tls::VerifyFull => SslMode::Require,
        });
        if let Some(password) = &address.password {
            config.password(password);
        }
        let tls = tls::connector(address)?;
        let away = |cause: String| Error::Away { path: address.shown.clone(), cause };
        let client = self.runtime.block_on(async {
            match tokio::time::timeout(CONNECT * 2, config.connect(tls)).await {
                Ok(Ok((client, connection))) => {
                    tokio::spawn(async move {
                        // What broke it is heard by whoever asks next.
                        let _ = connection.await;
                    });
                    Ok(client)
                }
                Ok(Err(error)) => Err(self.explain_connecting(&error)),
                Err(_) => Err(away("no connection within 6 s".to_owned())),
            }
        })?;
        // Durable before a byte goes; a bench that is cut off lets go of what it held.
        let read_only = if self.looking { "SET default_transaction_read_only = on;" } else { "" };
        let capabilities = format!(
            "SET synchronous_commit = on; SET statement_timeout = '4s'; SET lock_timeout = '3s';
             SET idle_in_transaction_session_timeout = '8s'; SET search_path = {SCHEMA}, pg_catalog; {read_only}
             SET stripling.bench = '{}';",
            self.bench.replace('\'', "''")
        );
        let set = self.runtime.block_on(async { tokio::time::timeout(ANSWER, client.batch_execute(&capabilities)).await });
        match set {
            Ok(Ok(())) => Ok(Connected { client, statements: HashMap::new() }),
            Ok(Err(error)) => Err(self.explain(&error)),
            Err(_) => Err(away("no answer to the first question".to_owned())),
        }
    }

    fn explain_connecting(&self, error: &tokio_postgres::Error) -> Error {
        match self.explain(error) {
            // Also a name that is not known and a port where nobody listens: a person may mend it while the program waits.
            Error::File { path, cause } => Error::Away { path, cause },
            other => other,
        }
    }

    fn explain(&self, error: &tokio_postgres::Error) -> Error {
        let path = self.address.shown.clone();
        let Some(told) = error.as_db_error() else {
            let cause = error.source().map_or_else(|| error.to_string(), ToString::to_string);
            return if error.is_closed() || error.source().is_some_and(|source| source.is::<std::io::Error>()) {
                Error::Away { path, cause }
            } else {
                Error::File { path, cause }
            };
        };
        let cause = told.message().to_owned();
        let code = told.code();
        let passing = [
            SqlState::ADMIN_SHUTDOWN,
            SqlState::CRASH_SHUTDOWN,
            SqlState::CANNOT_CONNECT_NOW,
            SqlState::TOO_MANY_CONNECTIONS,
            SqlState::T_R_SERIALIZATION_FAILURE,
            SqlState::T_R_DEADLOCK_DETECTED,
            SqlState::LOCK_NOT_AVAILABLE,
            SqlState::QUERY_CANCELED,
            SqlState::IDLE_IN_TRANSACTION_SESSION_TIMEOUT,
        ];
        // Class 08: the connection.
        if passing.contains(code) || code.code().starts_with("08") {
            return Error::Away { path, cause };
        }
        // Class 28: who one is.
        if *code == SqlState::INSUFFICIENT_PRIVILEGE || code.code().starts_with("28") {
            return Error::NotAllowed { path, cause };
        }
        Error::File { path, cause }
    }
}

impl Database for Postgres {
    fn shown(&self) -> &str {
        &self.address.shown
    }

    fn shared(&self) -> bool {
        true
    }

    fn patience(&self) -> Duration {
        PATIENCE
    }

    fn now(&self) -> &'static str {
        "to_char(clock_timestamp() AT TIME ZONE 'UTC', 'YYYY-MM-DD\"T\"HH24:MI:SS.MS\"Z\"')"
    }

    fn in_time(&self, later: Duration) -> String {
        format!(
            "to_char((clock_timestamp() + interval '{} milliseconds') AT TIME ZONE 'UTC', 'YYYY-MM-DD\"T\"HH24:MI:SS.MS\"Z\"')",
            later.as_millis()
        )
    }

    fn since(&self, column: &str) -> String {
        format!("CAST(EXTRACT(EPOCH FROM clock_timestamp() - CAST({column} AS TIMESTAMPTZ)) AS BIGINT)")
    }

    fn user(&self) -> &'static str {
        "session_user"
    }

    fn taking(&self) -> &'static str {
        "FOR UPDATE SKIP LOCKED"
    }

    fn run(&self, statement: &str, values: &[Value]) -> Result<Vec<Row>, Error> {
        // `?1` is `$1` here; no statement of the ledger holds another question mark.
        let statement = statement.replace('?', "$");
        let rows = self.with(async |connected| {
            let prepared = match connected.statements.get(&statement) {
                Some(prepared) => prepared.clone(),
                None => {
                    let prepared = connected.client.prepare(&statement).await?;
                    connected.statements.insert(statement.clone(), prepared.clone());
                    prepared
                }
            };
            let values: Vec<&(dyn ToSql + Sync)> = values.iter().map(|value| value as &(dyn ToSql + Sync)).collect();
            connected.client.query(&prepared, &values).await
        })?;
        let read = |row: tokio_postgres::Row| {
            let column = |(place, column): (usize, &tokio_postgres::Column)| match *column.type_() {
                Type::BOOL => row.try_get::<_, Option<bool>>(place).ok().flatten().map_or(Value::Nothing, Value::Truth),
                Type::INT8 => row.try_get::<_, Option<i64>>(place).ok().flatten().map_or(Value::Nothing, Value::Number),
                Type::INT4 => row
                    .try_get::<_, Option<i32>>(place)
                    .ok()
                    .flatten()
                    .map_or(Value::Nothing, |number| Value::Number(number.into())),
                _ => row.try_get::<_, Option<String>>(place).ok().flatten().map_or(Value::Nothing, Value::Text),
            };
            Row(row.columns().iter().enumerate().map(column).collect())
        };
        Ok(rows.into_iter().map(read).collect())
    }

    fn begin(&self, alone: bool) -> Result<(), Error> {
        self.with(async |connected| {
            connected.client.batch_execute("BEGIN").await?;
            if alone {
                connected.client.batch_execute(&format!("SELECT pg_advisory_xact_lock({ADVICE})")).await?;
            }
            Ok(())
        })?;
        self.open.borrow_mut().in_change = true;
        Ok(())
    }

    fn end(&self, keep: bool) -> Result<(), Error> {
        let in_change = self.open.borrow().in_change;
        let broken = self.open.borrow().connected.is_none();
        if !in_change || (broken && !keep) {
            self.open.borrow_mut().in_change = false;
            // A transaction that `begin` left half-way ends with its connection.
            if !keep {
                self.open.borrow_mut().connected = None;
            }
            return Ok(());
        }
        let ended = self.with(async |connected| connected.client.batch_execute(if keep { "COMMIT" } else { "ROLLBACK" }).await);
        if ended.is_err() && keep {
            // Whether it was kept is not known: the next try looks.
            self.open.borrow_mut().connected = None;
        }
        self.open.borrow_mut().in_change = false;
        ended
    }
}

impl ToSql for Value {
    fn to_sql(&self, kind: &Type, out: &mut BytesMut) -> Result<IsNull, Box<dyn std::error::Error + Sync + Send>> {
        match self {
            Value::Text(text) => text.to_sql(kind, out),
            Value::Number(number) if *kind == Type::INT4 => i32::try_from(*number)?.to_sql(kind, out),
            Value::Number(number) => number.to_sql(kind, out),
            Value::Truth(truth) => truth.to_sql(kind, out),
            Value::Nothing => Ok(IsNull::Yes),
        }
    }

    fn accepts(_: &Type) -> bool {
        true
    }

    tokio_postgres::types::to_sql_checked!();
}
