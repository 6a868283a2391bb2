//! Why the ledger says no, and what the person can do about it.

use super::{Located, StripName};

/// Why the ledger says no. All of these are exit code 5.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    #[error("there is no ledger {path}")]
    NotThere { path: String },
    #[error("{path} is no file")]
    NoFile { path: String },
    #[error("{path} is an empty file, no ledger")]
    Empty { path: String },
    #[error("{path} is in use by another run")]
    InUse { path: String },
    #[error("{path} is not a ledger")]
    Foreign { path: String },
    #[error("the ledger {path} is of version {found}; this program knows version {known}")]
    OtherVersion { path: String, found: i64, known: i64 },
    #[error("the ledger {path} is damaged ({cause})")]
    Damaged { path: String, cause: String },
    #[error("the ledger {path} cannot be read or written ({cause})")]
    File { path: String, cause: String },
    #[error("of {} it is not known whether {} printed: {}", strips(.0.len()), if .0.len() == 1 { "it is" } else { "they are" }, few(&names(.0)))]
    Unresolved(Vec<Located>),
    /// `what`: by name, all that is not as it was for strips that are printed.
    #[error(
        "the manual has changed since this run began ({}): {} would be another for {} printed",
        if before == now { format!("revision {now} all the same") } else { format!("revision {before} then, {now} now") },
        few(what), if *printed == 1 { "1 strip that is".to_owned() } else { format!("{printed} strips that are") }
    )]
    ManualChanged { before: String, now: String, printed: usize, what: Vec<String> },
    #[error("the table of units has changed since {} printed: {}", if .0.len() == 1 { "this strip was" } else { "these strips were" }, few(.0))]
    UnitChanged(Vec<String>),
    #[error(
        "{} printed and no longer in the table of units, and {} new there: was a key renamed?",
        is_or_are(&.gone.iter().map(StripName::to_string).collect::<Vec<_>>()), is_or_are(fresh)
    )]
    Renamed { gone: Vec<StripName>, fresh: Vec<String> },
    #[error("the last run of {document} in this ledger was of {before}, and this is {file}")]
    OtherFile { document: String, file: String, before: String },
    #[error("{key} is in {} runs of this ledger: {}", runs.len(), runs.join("; "))]
    SeveralRuns { key: String, runs: Vec<String> },
    #[error("the unit {0} stands twice in the list of units")]
    RepeatedUnit(String),
    #[error("there is no unit to print")]
    NoUnit,
    #[error("no strip of this ledger is called {0}")]
    NoSuchStrip(String),
    #[error("no strip of this ledger is unknown: there is nothing to settle")]
    NothingUnknown,
    /// Exit code 2.
    #[error("{shown} is no address of a ledger: {why}")]
    Address { shown: String, why: String },
    /// Exit code 2.
    #[error("this program was built without PostgreSQL, and {0} is a ledger there")]
    NotBuilt(String),
    /// The way to a database that others run.
    #[error("the ledger {path} does not answer ({cause})")]
    Away { path: String, cause: String },
    #[error("the ledger {path} does not allow it ({cause})")]
    NotAllowed { path: String, cause: String },
    #[error("{path} is of version {found}, and only its owner may bring it to version {known}")]
    OwnerOnly { path: String, found: i64, known: i64 },
}

impl Error {
    /// The way to the ledger failed and may be there again in a moment; nothing was decided.
    pub fn passes(&self) -> bool {
        matches!(self, Error::Away { .. })
    }

    /// What the person can do about it.
    pub fn hint(&self) -> Option<&'static str> {
        Some(match self {
            Error::NotThere { .. } => "`print --ledger FILE` begins one",
            Error::NoFile { .. } => "name a file",
            Error::Empty { .. } => {
                "it may be what is left of one: look for a copy; to begin a new one, remove it or name another file"
            }
            Error::InUse { .. } => "wait until that run has ended, or give this one a ledger of its own",
            Error::Foreign { .. } => "name a ledger, or a file that does not exist yet; this one was left as it is",
            Error::OtherVersion { .. } => "use the program that wrote it, or begin a new ledger",
            Error::Damaged { .. } => "keep it, and begin a new one from what lies on the table",
            Error::File { .. } => "look at the folder's permissions and the room on the disk",
            Error::Unresolved(_) => {
                "look which of them lie on the table, then `ledger FILE --resolve KEY=printed` or `KEY=missing` (it is printed again) for each"
            }
            Error::ManualChanged { .. } => {
                "`--go-on` prints what is left with the manual as it is now, `--new-run` prints every unit again"
            }
            Error::UnitChanged(_) => {
                "`ledger FILE --resolve KEY=missing` prints such a strip again, `--go-on` leaves it as it is, `--new-run` prints every unit again"
            }
            Error::Renamed { .. } => {
                "put the old key back into the table, or `--go-on` prints the new ones (the old strips stay in the ledger)"
            }
            Error::OtherFile { .. } => "`--go-on` goes on with that run, `--new-run` begins one for this manual",
            Error::SeveralRuns { .. } => "say which is meant with `--run N`",
            Error::RepeatedUnit(_) => "every unit needs a key of its own",
            Error::NoUnit => "look at the units file",
            Error::NoSuchStrip(_) => "`ledger FILE` lists them; KEY/2 is the second copy of KEY",
            Error::Address { .. } => {
                "write postgres://USER@HOST/DATABASE; a password goes into PGPASSFILE (~/.pgpass), PGSERVICE or PGPASSWORD"
            }
            Error::NotBuilt(_) => "build one with it: cargo install --locked --path . --features postgres",
            Error::Away { .. } => "look at the network and at the database; nothing is marked until it answers",
            Error::NotAllowed { .. } => {
                "printing and confirming needs the role stripling_bench, settling stripling_settler: `ledger ADDRESS --roles` makes them"
            }
            Error::OwnerOnly { .. } => "let whoever made it run `ledger ADDRESS` once with this program",
            Error::NothingUnknown => "name a KEY to change the state of a strip that is not unknown",
        })
    }
}

fn strips(count: usize) -> String {
    if count == 1 { "1 strip".to_owned() } else { format!("{count} strips") }
}

fn names(found: &[Located]) -> Vec<String> {
    found.iter().map(|located| located.name.to_string()).collect()
}

fn is_or_are(names: &[String]) -> String {
    format!("{} {}", few(names), if names.len() == 1 { "is" } else { "are" })
}

fn few(names: &[String]) -> String {
    let shown = names.get(..names.len().min(8)).unwrap_or_default();
    let more = names.len() - shown.len();
    shown.join(", ") + &if more > 0 { format!(" and {more} more") } else { String::new() }
}
