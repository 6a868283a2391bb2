//! Who prints with a ledger, and for how long each may be relied on: leases.
//!
//! A bench is one start of the program. Its lease holds all strips that it has in hand, and is renewed while it lives. When it has run out,
//! what the bench was sending is `unknown`, and what it had only taken in hand is free again. All clocks are the database's.

use super::database::{Database, Row, values};
use super::entries::{Entry, set_state};
use super::{Error, State};
use serde::Serialize;
use std::time::Duration;

/// One start of the program with this ledger.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Bench {
    /// Its name and some letters, that no other start has.
    pub bench: String,
    /// As a person calls it.
    pub name: String,
    /// Whom the database took it for; empty in a file.
    pub who: String,
    /// UTC.
    pub began: String,
    /// Until when its lease holds. UTC.
    pub until: String,
    /// Its lease holds now.
    pub alive: bool,
    /// Strips that it printed, by the printer's word or a scan.
    pub printed: u32,
    /// Strips whose code it scanned.
    pub boxed: u32,
    /// Boxed strips an hour, from its first to its last; none with fewer than two.
    pub per_hour: Option<u32>,
}

/// This start of the program.
#[derive(Clone, Debug)]
pub(super) struct Me {
    pub(super) bench: String,
    name: String,
    pub(super) lease: Duration,
    pub(super) registered: bool,
}

/// How long a bench is relied on that does not say how long: longer than the longest strip takes.
pub(super) const LEASE: Duration = Duration::from_secs(300);

impl Me {
    pub(super) fn new(name: Option<&str>, lease: Duration) -> Me {
        let name = name.map_or_else(host, str::to_owned);
        let mut bits = [0u8; 6];
        if getrandom::fill(&mut bits).is_err() {
            // Without it: the process and the moment.
            let moment = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH).map_or(0, |since| since.as_nanos());
            let mixed = moment as u64 ^ u64::from(std::process::id()) << 32;
            bits.copy_from_slice(mixed.to_le_bytes().get(..6).unwrap_or(&[0; 6]));
        }
        let letters: String = bits.iter().map(|byte| format!("{byte:02x}")).collect();
        Me { bench: format!("{name}#{letters}"), name, lease, registered: false }
    }

    /// Enters this bench, or renews its lease.
    pub(super) fn renew(&self, base: &dyn Database) -> Result<(), Error> {
        let (now, until, who) = (base.now(), base.in_time(self.lease), base.user());
        let statement = format!(
            "INSERT INTO bench (bench, name, who, began, until) VALUES (?1, ?2, {who}, {now}, {until})
             ON CONFLICT (bench) DO UPDATE SET until = {until}"
        );
        base.run(&statement, values![&self.bench, &self.name]).map(drop)
    }

    /// Gives the lease back.
    pub(super) fn leave(&self, base: &dyn Database) -> Result<(), Error> {
        base.run(&format!("UPDATE bench SET until = {} WHERE bench = ?1", base.now()), values![&self.bench]).map(drop)
    }
}

/// The machine's name.
fn host() -> String {
    let file = std::fs::read_to_string("/etc/hostname").ok();
    let name = file.or_else(|| std::env::var("HOSTNAME").ok()).or_else(|| std::env::var("COMPUTERNAME").ok());
    name.map(|name| name.trim().to_owned()).filter(|name| !name.is_empty()).unwrap_or_else(|| "bench".to_owned())
}

/// Strips that were under way at a bench whose lease has run out become `unknown`. In a ledger of one program there is no other bench.
pub(super) fn sweep(base: &dyn Database, me: &str) -> Result<(), Error> {
    let lost = match base.shared() {
        true => format!(
            "SELECT strip, holder FROM strip WHERE state = 'sending'
             AND NOT EXISTS (SELECT 1 FROM bench WHERE bench.bench = strip.holder AND until > {}) ORDER BY strip {}",
            base.now(),
            base.taking()
        ),
        false => "SELECT strip, holder FROM strip WHERE state = 'sending' ORDER BY strip".to_owned(),
    };
    for row in base.run(&lost, &[])? {
        let note = match base.shared() {
            true => format!("{} was lost while this strip was under way", name_of(&row.text(1))),
            false => super::CUT_OFF.to_owned(),
        };
        set_state(base, row.number(0), &Entry::new(State::Unknown, &note, me))?;
    }
    Ok(())
}

/// Whether a bench's lease holds.
pub(super) fn is_alive(base: &dyn Database, bench: &str) -> Result<bool, Error> {
    let statement = format!("SELECT 1 FROM bench WHERE bench = ?1 AND until > {}", base.now());
    Ok(base.shared() && base.first(&statement, values![bench])?.is_some())
}

/// What a person calls a bench.
pub(super) fn name_of(bench: &str) -> &str {
    bench.rsplit_once('#').map_or(bench, |(name, _)| name)
}

/// All of them, oldest first.
pub(super) fn all(base: &dyn Database) -> Result<Vec<Bench>, Error> {
    let (since, now) = (base.since("at"), base.now());
    let hours = format!(
        "SELECT bench, count(*), max({since}) - min({since}) FROM history WHERE state = 'boxed' AND bench <> '' GROUP BY bench"
    );
    let boxed: Vec<(String, u32, u32)> =
        base.run(&hours, &[])?.iter().map(|row| (row.text(0), row.count(1), row.count(2))).collect();
    let printed = "SELECT bench, count(DISTINCT strip) FROM history WHERE state = 'printed' AND bench <> '' GROUP BY bench";
    let printed: Vec<(String, u32)> = base.run(printed, &[])?.iter().map(|row| (row.text(0), row.count(1))).collect();
    let read = |row: Row| {
        let bench = row.text(0);
        let (count, seconds) =
            boxed.iter().find(|(known, ..)| *known == bench).map_or((0, 0), |(_, count, seconds)| (*count, *seconds));
        let per_hour = (count > 1).then(|| (u64::from(count - 1) * 3600).checked_div(u64::from(seconds)));
        Bench {
            name: row.text(1),
            who: row.text(2),
            began: row.text(3),
            until: row.text(4),
            alive: base.shared() && row.truth(5),
            printed: printed.iter().find(|(known, _)| *known == bench).map_or(0, |(_, count)| *count),
            boxed: count,
            per_hour: per_hour.flatten().map(|hour| u32::try_from(hour).unwrap_or(u32::MAX)),
            bench,
        }
    };
    let statement = format!("SELECT bench, name, who, began, until, until > {now} FROM bench ORDER BY began, bench");
    Ok(base.run(&statement, &[])?.into_iter().map(read).collect())
}
