//! What a bench shows: counts, the next unit, the pace and what is still needed.

use super::super::screen::{Counts, Screen};
use super::{Bench, Unit};
use crate::send::State;

impl Bench {
    pub(super) fn counts(&self) -> Counts {
        let count = |wanted: fn(&Unit) -> bool| self.units.iter().filter(|unit| wanted(unit)).count();
        Counts {
            all: self.units.len(),
            boxed: count(|unit| unit.boxed),
            open: count(|unit| !unit.boxed && (unit.state == State::Printed || (unit.state == State::Unknown && unit.untold))),
            look: count(|unit| unit.state == State::Unknown && !unit.untold),
        }
    }

    /// The first unit that nobody has begun.
    pub(super) fn next(&self) -> Option<usize> {
        let fresh = |(index, unit): &(usize, &Unit)| {
            matches!(unit.state, State::Queued | State::Missing)
                && !unit.elsewhere
                && !self.printers.prints(*index)
                && !self.waiting.contains(index)
        };
        self.units.iter().enumerate().find(fresh).map(|(index, _)| index)
    }

    /// All that is shown.
    pub fn screen(&self) -> Screen {
        let counts = self.counts();
        let keys = |wanted: &dyn Fn(&Unit) -> bool| -> Vec<String> {
            let of = |(index, unit): (usize, &Unit)| wanted(unit).then(|| self.key(index));
            self.units.iter().enumerate().filter_map(of).take(40).collect()
        };
        let timed = self.pace.boxed_in_hour > 1 && self.pace.seconds > 0;
        let per_hour =
            timed.then(|| (self.pace.boxed_in_hour - 1).saturating_mul(3600) / self.pace.seconds).filter(|hour| *hour > 0);
        let left = counts.all - counts.boxed;
        let to_print = self.units.iter().filter(|unit| matches!(unit.state, State::Queued | State::Missing)).count() as u64;
        Screen {
            said: self.said,
            say: self.say.clone(),
            title: self.title.clone(),
            bench: self.bench.clone(),
            printers: self.printers.shown(&|unit| self.key(unit)),
            counts,
            in_hand: self.in_hand.map(|unit| self.key(unit)),
            next: self.next().map(|unit| self.key(unit)),
            waiting: self.waiting.iter().map(|unit| self.key(*unit)).collect(),
            open: keys(&|unit| !unit.boxed && (unit.state == State::Printed || (unit.state == State::Unknown && unit.untold))),
            look: keys(&|unit| unit.state == State::Unknown && !unit.untold),
            per_hour,
            minutes_left: per_hour.map(|hour| u32::try_from(left * 60).unwrap_or(u32::MAX).div_ceil(hour)),
            rolls_left: (self.roll.roll > 0)
                .then(|| u32::try_from((to_print * self.roll.strip * 10).div_ceil(self.roll.roll)).unwrap_or(u32::MAX)),
            benches: self.pace.benches,
            ledger: self.away.clone(),
            ended: self.ended,
        }
    }
}
