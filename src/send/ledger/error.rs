//! Why the ledger says no, and what the person can do about it.

use super::StripName;

/// Why the ledger says no. All of these are exit code 5.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    #[error("there is no ledger {path}")]
    NotThere { path: String },
    #[error("{path} is no file")]
    NoFile { path: String },
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
    #[error("of {} it is not known whether {} printed: {}", strips(.0.len()), if .0.len() == 1 { "it is" } else { "they are" }, few(.0))]
    Unresolved(Vec<StripName>),
    #[error(
        "the manual has changed since this run began (revision {before} then, {now} now); {printed} of its strips are printed"
    )]
    ManualChanged { before: String, now: String, printed: usize },
    #[error("the unit {0} stands twice in the list of units")]
    RepeatedUnit(String),
    #[error("there is no unit to print")]
    NoUnit,
    #[error("no strip of this ledger is called {0}")]
    NoSuchStrip(String),
    #[error("no strip of this ledger is unknown: there is nothing to settle")]
    NothingUnknown,
}

impl Error {
    /// What the person can do about it.
    pub fn hint(&self) -> Option<&'static str> {
        Some(match self {
            Error::NotThere { .. } => "`print --ledger FILE` begins one",
            Error::NoFile { .. } => "name a file",
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
            Error::RepeatedUnit(_) => "every unit needs a key of its own",
            Error::NoUnit => "look at the units file",
            Error::NoSuchStrip(_) => "`ledger FILE` lists them; KEY/2 is the second copy of KEY",
            Error::NothingUnknown => "name a KEY to change the state of a strip that is not unknown",
        })
    }
}

fn strips(count: usize) -> String {
    if count == 1 { "1 strip".to_owned() } else { format!("{count} strips") }
}

fn few(names: &[StripName]) -> String {
    let shown: Vec<String> = names.iter().take(8).map(StripName::to_string).collect();
    let more = names.len().saturating_sub(shown.len());
    shown.join(", ") + &if more > 0 { format!(" and {more} more") } else { String::new() }
}
