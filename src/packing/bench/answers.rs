//! What the ledger answers: to a unit that was asked for, a strip that was boxed or called spoiled, and that it does not answer.

use std::collections::HashMap;

use super::super::screen::Tone;
use super::{Bench, Do, trouble_in_large};
use crate::send::State;
use crate::send::ledger::{Boxed, Claim, Pace, Standing};

impl Bench {
    pub(super) fn claimed(&mut self, unit: usize, claim: Claim) -> Vec<Do> {
        let before = self.in_hand.filter(|before| *before != unit && self.may_box(*before));
        self.asked = None;
        match claim {
            Claim::Yours(_) => {
                if !self.printers.any_works() {
                    let (kind, why) = self.printers.why();
                    self.drop_hand(unit);
                    let mut doing = vec![Do::Release(unit)];
                    doing.extend(self.wrong(trouble_in_large(&kind), unit, format!("{why}; nothing is marked")));
                    return doing;
                }
                self.in_hand = Some(unit);
                self.know(unit, State::Queued);
                self.waiting.push_back(unit);
                let goes = self.where_to(unit);
                self.say(Tone::Plain, "PRINTING", Some(unit), format!("{goes}; then scan the strip"))
            }
            Claim::Sending => {
                self.in_hand = Some(unit);
                self.say(Tone::Plain, "PRINTING", Some(unit), "its strip is coming; then scan the strip".to_owned())
            }
            Claim::Printed { by } => {
                self.in_hand = Some(unit);
                self.know(unit, State::Printed);
                let by = if by.is_empty() { String::new() } else { format!(" by {by}") };
                match before {
                    // The strip carries the bare key: this may be another's strip in the hand.
                    Some(before) => {
                        let detail = format!("{} was in hand; if this is now, scan its strip (printed{by})", self.key(before));
                        self.say(Tone::Wrong, "NOT THE SAME", Some(unit), detail)
                    }
                    None => self.say(
                        Tone::Plain,
                        "SCAN STRIP",
                        Some(unit),
                        format!("its strip was printed{by}: scan it, it is not printed twice"),
                    ),
                }
            }
            Claim::Boxed { by, at } => {
                let at = at.get(11..16).unwrap_or_default().to_owned();
                self.wrong("DONE ALREADY", unit, format!("in its box since {at} UTC, by {by}"))
            }
            Claim::Elsewhere { bench } => self.wrong("NOT HERE", unit, format!("{bench} has it in hand")),
            Claim::Unknown { note } => {
                self.in_hand = Some(unit);
                self.know(unit, State::Unknown);
                if self.may_box(unit) {
                    return self.say(
                        Tone::Plain,
                        "SCAN STRIP",
                        Some(unit),
                        "its strip went to the printer, which can't tell: scan it".to_owned(),
                    );
                }
                self.asked = Some(unit);
                let detail = format!("is its strip there, and whole to its end? Then scan it. If not: /again. ({note})");
                self.say(Tone::Ask, "LOOK FIRST", Some(unit), detail)
            }
            Claim::NotThere => self.wrong("UNKNOWN UNIT", unit, "it is not in this run: was the table changed?".to_owned()),
        }
    }

    pub(super) fn boxed(&mut self, unit: usize, boxed: Boxed) -> Vec<Do> {
        match boxed {
            Boxed::Entered => {
                if let Some(known) = self.units.get_mut(unit) {
                    (known.boxed, known.state) = (true, State::Printed);
                }
                self.drop_hand(unit);
                let counts = self.counts();
                let next = self.next().map_or_else(String::new, |next| format!("; next: {}", self.key(next)));
                let headline = if counts.boxed == counts.all { "ALL DONE" } else { "IN THE BOX" };
                self.say(Tone::Good, headline, Some(unit), format!("{} of {}{next}", counts.boxed, counts.all))
            }
            Boxed::Already { by, at } => {
                self.drop_hand(unit);
                let at = at.get(11..16).unwrap_or_default().to_owned();
                self.wrong("DONE ALREADY", unit, format!("in its box since {at} UTC, by {by}"))
            }
            Boxed::Not(state) => {
                self.wrong("NOT PRINTED", unit, format!("the ledger calls its strip {}: do not pack this one", state.word()))
            }
        }
    }

    pub(super) fn settled(&mut self, unit: usize, done: Result<(), String>) -> Vec<Do> {
        match done {
            Ok(()) => {
                self.asked = None;
                self.know(unit, State::Missing);
                // As if it had been scanned anew.
                vec![Do::Claim(unit)]
            }
            Err(why) => self.wrong("NOT ALLOWED", unit, why),
        }
    }

    /// How all units stand in the ledger now.
    pub(super) fn stand(&mut self, all: &[Standing], pace: Pace) -> Vec<Do> {
        let standing: HashMap<&str, &Standing> = all.iter().map(|standing| (standing.unit.as_str(), standing)).collect();
        for (index, unit) in self.codes.units().iter().enumerate() {
            // What is on its way here is known better here.
            if self.printers.prints(index) {
                continue;
            }
            if let (Some(standing), Some(known)) = (standing.get(unit.key.as_str()), self.units.get_mut(index)) {
                known.state = standing.state;
                known.note.clone_from(&standing.note);
                known.boxed = standing.boxed.is_some();
                known.elsewhere = standing.elsewhere.is_some();
            }
        }
        self.pace = pace;
        Vec::new()
    }

    pub(super) fn went_away(&mut self, why: String, scanned: bool) -> Vec<Do> {
        let fresh = self.away.replace(why).is_none();
        if fresh || scanned { self.no_ledger() } else { Vec::new() }
    }

    pub(super) fn came_back(&mut self) -> Vec<Do> {
        match self.away.take() {
            Some(_) => {
                self.say(Tone::Ask, "GO ON", None, "the ledger answers again: scan once more what was not marked".to_owned())
            }
            None => Vec::new(),
        }
    }
}
