//! Opens a ledger: a file, a database that others run, or memory; to print with it, to change it, or only to look.

use super::benches::{self, LEASE, Me};
use super::database::{Database, For};
use super::lock::Lock;
#[cfg(feature = "postgres")]
use super::postgres;
use super::sqlite::{self, Sqlite};
use super::{Error, Ledger, address};
use std::collections::BTreeMap;
use std::path::Path;
use std::time::Duration;

/// Where a ledger stands and who asks for it.
#[derive(Clone, Debug, Default)]
pub struct Opening<'a> {
    /// What a person calls this bench; left out, the machine's name.
    pub bench: Option<&'a str>,
    /// How long it is relied on after it was last heard of, in a database that others run.
    pub lease: Option<Duration>,
}

impl Ledger {
    /// Opens a ledger or begins a new one. Strips that were under way when the last program ended become `unknown`. `path` is a file, or
    /// the address of a database: `postgres://USER@HOST/DATABASE`.
    ///
    /// # Errors
    /// The file is in use, is no ledger, or can't be read or written.
    pub fn open(path: &Path) -> Result<Ledger, Error> {
        Ledger::open_as(path, &Opening::default())
    }

    /// The same, for a bench with a name and a lease.
    ///
    /// # Errors
    /// As `open`.
    pub fn open_as(path: &Path, opening: &Opening<'_>) -> Result<Ledger, Error> {
        Ledger::opened(path, For::Printing, opening)
    }

    /// The same, but there must be one already.
    ///
    /// # Errors
    /// As `open`, and when there is no such file.
    pub fn open_existing(path: &Path) -> Result<Ledger, Error> {
        Ledger::opened(path, For::Changing, &Opening::default())
    }

    fn opened(path: &Path, what_for: For, opening: &Opening<'_>) -> Result<Ledger, Error> {
        let me = Me::new(opening.bench, opening.lease.unwrap_or(LEASE));
        if let Some(address) = address::of(path) {
            return Ledger::in_database(address, what_for, me);
        }
        let create = what_for == For::Printing;
        sqlite::check(path, create)?;
        let lock = Lock::of(path)?;
        let base = Sqlite::new(sqlite::open(path, create)?, path.display().to_string());
        Ledger::settled(Box::new(base), Some(lock), me)
    }

    #[cfg(feature = "postgres")]
    fn in_database(address: &str, what_for: For, me: Me) -> Result<Ledger, Error> {
        let address = address::Address::read(address, &address::System)?;
        let base = postgres::open(address, &me.bench, what_for)?;
        if what_for == For::Looking {
            let under_way = benches::all(&base)?.iter().any(|bench| bench.alive);
            return Ok(Ledger { base: Box::new(base), _lock: None, under_way, me, attempts: BTreeMap::new(), kept: None });
        }
        Ledger::settled(Box::new(base), None, me)
    }

    #[cfg(feature = "postgres")]
    fn roles(address: &str) -> Result<(), Error> {
        let address = address::Address::read(address, &address::System)?;
        postgres::make_roles(&postgres::open(address, "", For::Printing)?)
    }

    #[cfg(not(feature = "postgres"))]
    fn roles(address: &str) -> Result<(), Error> {
        Err(Error::NotBuilt(address::Address::read(address, &address::System)?.shown))
    }

    #[cfg(not(feature = "postgres"))]
    fn in_database(address: &str, _: For, _: Me) -> Result<Ledger, Error> {
        // What is wrong with the address is said first: a password in it, above all.
        let address = address::Address::read(address, &address::System)?;
        Err(Error::NotBuilt(address.shown))
    }

    /// For looking only: nothing is changed, and a run that is under way is not disturbed.
    ///
    /// # Errors
    /// There is no such file, it is no ledger, or it can't be read.
    pub fn look(path: &Path) -> Result<Ledger, Error> {
        if address::of(path).is_some() {
            return Ledger::opened(path, For::Looking, &Opening::default());
        }
        sqlite::check(path, false)?;
        match sqlite::look(path)? {
            Some(connection) => {
                let under_way = Lock::is_held(path);
                let base = Box::new(Sqlite::new(connection, path.display().to_string()));
                Ok(Ledger { base, _lock: None, under_way, me: Me::new(None, LEASE), attempts: BTreeMap::new(), kept: None })
            }
            // Of an earlier program: its tables are brought up to date first.
            None => Ledger::open_existing(path),
        }
    }

    /// A ledger that is gone when the program ends: for a run without one.
    ///
    /// # Errors
    /// When memory is short.
    pub fn in_memory() -> Result<Ledger, Error> {
        Ledger::settled(Box::new(Sqlite::new(sqlite::in_memory()?, sqlite::IN_MEMORY.to_owned())), None, Me::new(None, LEASE))
    }

    fn settled(base: Box<dyn Database>, lock: Option<Lock>, me: Me) -> Result<Ledger, Error> {
        let mut ledger = Ledger { base, _lock: lock, under_way: false, me, attempts: BTreeMap::new(), kept: None };
        let me = ledger.me.bench.clone();
        ledger.change(|base| benches::sweep(base, &me))?;
        Ok(ledger)
    }
}

/// Makes the roles of a ledger that others run, and the ledger where there is none: `stripling_bench` prints and confirms,
/// `stripling_settler` may settle by hand too. A file has none: whoever may write it may do everything.
///
/// # Errors
/// It is a file, or whoever asks may not make roles.
pub fn make_roles(path: &Path) -> Result<(), Error> {
    let Some(address) = address::of(path) else {
        return Err(Error::Address { shown: path.display().to_string(), why: "a file has no roles".to_owned() });
    };
    Ledger::roles(address)
}
