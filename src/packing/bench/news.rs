//! News of the printers: ready or not, what became of a strip, well again.

use super::super::screen::Tone;
use super::{Bench, Came, Do, trouble_in_large};
use crate::send::State;

impl Bench {
    pub(super) fn lost(&mut self, unit: usize, printer: usize) -> Vec<Do> {
        self.printers.free(printer);
        self.drop_hand(unit);
        self.wrong("NOT HERE", unit, "another bench was quicker".to_owned())
    }

    pub(super) fn held(&mut self, unit: usize, printer: usize) -> Vec<Do> {
        self.printers.free(printer);
        self.waiting.push_front(unit);
        Vec::new()
    }

    pub(super) fn not_ready(&mut self, unit: usize, printer: usize, kind: &str, why: &str) -> Vec<Do> {
        self.printers.stop(printer, why);
        self.waiting.push_front(unit);
        let goes = self.where_to(unit);
        let detail = format!("printer {}: {why}; {goes}", printer + 1);
        self.say(Tone::Wrong, trouble_in_large(kind), Some(unit), detail)
    }

    pub(super) fn unmade(&mut self, unit: usize, printer: usize, why: String) -> Vec<Do> {
        self.printers.free(printer);
        self.drop_hand(unit);
        let mut doing = vec![Do::Release(unit)];
        doing.extend(self.wrong("NO STRIP", unit, why));
        doing
    }

    pub(super) fn came(&mut self, unit: usize, printer: usize, came: Came) -> Vec<Do> {
        match came {
            Came::Printed => {
                self.printers.free(printer);
                self.know(unit, State::Printed);
                self.out(unit, printer)
            }
            Came::Unknown { trouble: false, .. } => {
                self.printers.free(printer);
                self.know(unit, State::Unknown);
                if let Some(known) = self.units.get_mut(unit) {
                    known.untold = true;
                }
                self.out(unit, printer)
            }
            Came::Unknown { why, trouble: true } => {
                self.printers.stop(printer, &why);
                self.know(unit, State::Unknown);
                if let Some(known) = self.units.get_mut(unit) {
                    known.note.clone_from(&why);
                }
                self.asked = (self.in_hand == Some(unit)).then_some(unit).or(self.asked);
                let scan = if self.in_hand == Some(unit) {
                    "scan it if it is whole to its end, else /again"
                } else {
                    "scan its unit, then see"
                };
                self.say(
                    Tone::Ask,
                    "LOOK FIRST",
                    Some(unit),
                    format!("its strip may be at printer {}: {scan}. ({why})", printer + 1),
                )
            }
            Came::Missing { kind, why } => {
                self.printers.stop(printer, &why);
                self.know(unit, State::Missing);
                self.waiting.push_front(unit);
                let goes = self.where_to(unit);
                let detail = format!("what hangs from printer {} is scrap: tear it off; {goes}. ({why})", printer + 1);
                self.say(Tone::Wrong, trouble_in_large(kind), Some(unit), detail)
            }
        }
    }

    /// A strip is out.
    fn out(&mut self, unit: usize, printer: usize) -> Vec<Do> {
        match self.in_hand {
            Some(hand) if hand == unit => {
                self.say(Tone::Plain, "SCAN STRIP", Some(unit), format!("take it from printer {} and scan it", printer + 1))
            }
            // Not to be taken for what is in hand: it is in the list of open ones.
            _ => Vec::new(),
        }
    }

    pub(super) fn well(&mut self, printer: usize) -> Vec<Do> {
        self.printers.free(printer);
        self.say(Tone::Plain, "GO ON", None, format!("printer {} is well again", printer + 1))
    }
}
