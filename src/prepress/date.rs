//! The date of a run.

use icu_calendar::types::RataDie;
use icu_calendar::{Date, Iso};

/// The date of the run, ISO 8601, UTC. SOURCE_DATE_EPOCH, as reproducible builds use it, stands above the clock.
pub(super) fn today() -> String {
    let given = std::env::var("SOURCE_DATE_EPOCH").ok().and_then(|seconds| seconds.parse::<i64>().ok());
    let clock = || std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH).map_or(0, |since| since.as_secs() as i64);
    civil(given.unwrap_or_else(clock).div_euclid(86_400))
}

/// Days since 1970-01-01 to a date of the Gregorian calendar.
fn civil(days: i64) -> String {
    // The day 1970-01-01, counted from the first of January of the year 1 as 1 (Reingold and Dershowitz, "Calendrical Calculations").
    const EPOCH: i64 = 719_163;
    let date = Date::from_rata_die(RataDie::new(EPOCH + days), Iso);
    format!("{:04}-{:02}-{:02}", date.era_year().year, date.month().ordinal, date.day_of_month().0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_become_dates() {
        // 2000-02-29 and 2026-11-25 by GNU date (`date -u -d @N +%F`).
        for (seconds, date) in
            [(0, "1970-01-01"), (951_782_400, "2000-02-29"), (1_795_564_800, "2026-11-25"), (-86_400, "1969-12-31")]
        {
            assert_eq!(civil(seconds / 86_400), date);
        }
    }
}
