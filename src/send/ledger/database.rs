//! The border behind which a ledger stands: a database that takes a few statements, all or none of a change, and has a clock.
//!
//! What a ledger means stands once, above this border; which database it is stands below it, in `sqlite.rs` and `postgres/`. Statements
//! are written with `?1`, `?2` for their values, in the SQL that both understand; where they differ, the database gives the words.

use super::Error;
use std::time::Duration;

/// What stands in a column, or is bound to one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Value {
    Text(String),
    Number(i64),
    Truth(bool),
    Nothing,
}

impl From<&str> for Value {
    fn from(text: &str) -> Value {
        Value::Text(text.to_owned())
    }
}

impl From<&String> for Value {
    fn from(text: &String) -> Value {
        Value::Text(text.clone())
    }
}

impl From<String> for Value {
    fn from(text: String) -> Value {
        Value::Text(text)
    }
}

impl From<i64> for Value {
    fn from(number: i64) -> Value {
        Value::Number(number)
    }
}

impl From<u32> for Value {
    fn from(number: u32) -> Value {
        Value::Number(i64::from(number))
    }
}

impl From<bool> for Value {
    fn from(truth: bool) -> Value {
        Value::Truth(truth)
    }
}

impl<T: Into<Value>> From<Option<T>> for Value {
    fn from(value: Option<T>) -> Value {
        value.map_or(Value::Nothing, Into::into)
    }
}

/// `values!["HRN-0017", 1_i64]`
macro_rules! values {
    ($($value:expr),* $(,)?) => { &[$($crate::send::ledger::database::Value::from($value)),*] };
}
pub(super) use values;

/// One row of an answer, by the place of its columns from 0. The tables' own checks see to it that each holds what is asked for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Row(pub(super) Vec<Value>);

impl Row {
    pub(super) fn text(&self, place: usize) -> String {
        self.maybe_text(place).unwrap_or_default()
    }

    pub(super) fn maybe_text(&self, place: usize) -> Option<String> {
        match self.0.get(place) {
            Some(Value::Text(text)) => Some(text.clone()),
            _ => None,
        }
    }

    pub(super) fn number(&self, place: usize) -> i64 {
        match self.0.get(place) {
            Some(Value::Number(number)) => *number,
            Some(Value::Truth(truth)) => i64::from(*truth),
            _ => 0,
        }
    }

    /// A number that the tables keep small: copies, places.
    pub(super) fn count(&self, place: usize) -> u32 {
        u32::try_from(self.number(place)).unwrap_or(u32::MAX)
    }

    pub(super) fn truth(&self, place: usize) -> bool {
        self.number(place) != 0
    }
}

/// What a ledger is opened for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum For {
    /// To print with it; there may be none yet.
    Printing,
    /// To change what is there.
    Changing,
    /// Nothing is changed.
    Looking,
}

/// A database that a ledger stands in. One thread speaks with it.
pub(super) trait Database: Send {
    /// What a person knows it by; never a password.
    fn shown(&self) -> &str;

    /// Several programs may write to it at a time: strips are leased, and begun runs are begun one after another.
    fn shared(&self) -> bool;

    /// How long a change is tried again when the way to the database fails in it.
    fn patience(&self) -> Duration;

    /// The time in UTC to the millisecond, by the database's own clock, as every column of a ledger holds it: text that sorts as time does.
    fn now(&self) -> &'static str;

    /// The same, so much later.
    fn in_time(&self, later: Duration) -> String;

    /// Whole seconds from what a column holds until now.
    fn since(&self, column: &str) -> String;

    /// Who is speaking with the database, in its own words.
    fn user(&self) -> &'static str;

    /// Behind a query whose rows are going to be changed: others pass over them until this change has ended.
    fn taking(&self) -> &'static str;

    /// Runs one statement and gives what it answers.
    fn run(&self, statement: &str, values: &[Value]) -> Result<Vec<Row>, Error>;

    /// Begins a change. `alone`: no other change of this kind is under way at the same time.
    fn begin(&self, alone: bool) -> Result<(), Error>;

    /// Ends it: on the disk when this returns (`keep`), or as if it had never begun.
    fn end(&self, keep: bool) -> Result<(), Error>;

    /// The first row of an answer.
    fn first(&self, statement: &str, values: &[Value]) -> Result<Option<Row>, Error> {
        Ok(self.run(statement, values)?.into_iter().next())
    }
}

/// All or nothing, and on the disk when it returns. `work` may be called again when the way to the database failed in it, also when it had
/// been done and only the word of that was lost: it must look before it acts.
pub(super) fn change<T>(
    base: &dyn Database,
    alone: bool,
    mut work: impl FnMut(&dyn Database) -> Result<T, Error>,
) -> Result<T, Error> {
    let until = std::time::Instant::now() + base.patience();
    loop {
        let result = base.begin(alone).and_then(|()| work(base)).and_then(|done| base.end(true).map(|()| done));
        match result {
            Ok(done) => return Ok(done),
            Err(error) => {
                // What could not be ended is not kept either way; the error that matters is the first.
                let _ = base.end(false);
                if !error.passes() || std::time::Instant::now() >= until {
                    return Err(error);
                }
            }
        }
        std::thread::sleep(Duration::from_millis(100));
    }
}
