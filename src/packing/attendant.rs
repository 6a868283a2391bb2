//! The thread of one printer at a bench: it asks the printer, waits for leave, sends, and looks at it again when it was in trouble.
//!
//! It knows no ledger and no unit but by number: what it may send is said to it, what came of it it tells.

use std::sync::mpsc::{Receiver, RecvTimeoutError};
use std::time::Duration;

use crate::send::{Destination, Job, Outcome, Stop, StripBytes, Trouble};

/// News of a printer.
pub enum News {
    Ready { unit: usize },
    NotReady { unit: usize, trouble: Trouble },
    Unmade { unit: usize, why: String },
    Came { unit: usize, outcome: Outcome },
    Well,
}

/// What the shift tells a printer's thread.
pub(super) enum Order {
    /// Ask the printer, and say whether it is ready.
    Print { job: Job, broken_off: bool },
    /// The ledger knows of it: send.
    Go,
    /// It is not this bench's to send.
    Leave,
}

/// Serves one printer until nobody orders any more. `make` gives the bytes of a strip; `tell` is `false` when nobody listens; `look` is the
/// time between two looks at a printer in trouble.
pub(super) fn attend(
    mut destination: Box<dyn Destination>,
    orders: &Receiver<Order>,
    tell: &dyn Fn(News) -> bool,
    make: &dyn Fn(&Job) -> Result<StripBytes, String>,
    look: Duration,
    stop: &Stop,
) {
    // What it is asked with while it is in trouble: the strip that it could not take, and whether one was broken off.
    let mut ill: Option<(StripBytes, bool)> = None;
    let mut failures = 0;
    // It was brought back into step since the last strip.
    let mut in_step = false;
    loop {
        let wait = look * 2u32.saturating_pow(u32::min(failures, 5));
        let order = match (orders.recv_timeout(if ill.is_some() { wait } else { Duration::from_secs(3600) }), &ill) {
            (Ok(order), _) => order,
            (Err(RecvTimeoutError::Disconnected), _) => break,
            (Err(RecvTimeoutError::Timeout), None) => continue,
            (Err(RecvTimeoutError::Timeout), Some((strip, broken_off))) => {
                if !stop.after_this_strip() && destination.ready(strip, *broken_off, &mut |_| {}).is_ok() {
                    (ill, in_step) = (None, true);
                    tell(News::Well);
                }
                continue;
            }
        };
        let Order::Print { job, broken_off } = order else { continue };
        let unit = job.unit;
        let strip = match make(&job) {
            Ok(strip) => strip,
            Err(why) => {
                tell(News::Unmade { unit, why });
                continue;
            }
        };
        let broken_off = broken_off && !std::mem::take(&mut in_step);
        if let Err(trouble) = destination.ready(&strip, broken_off, &mut |_| {}) {
            ill = trouble.can_be_put_right().then_some((strip, broken_off));
            failures = 0;
            tell(News::NotReady { unit, trouble });
            continue;
        }
        if !tell(News::Ready { unit }) || !matches!(orders.recv(), Ok(Order::Go)) {
            in_step = true;
            continue;
        }
        let label = job.name.to_string().replace('/', "-");
        let outcome = destination.send(&label, &strip, &mut |_| {});
        let trouble = match &outcome {
            Outcome::Printed | Outcome::Unknown { trouble: None, .. } => None,
            Outcome::Unknown { trouble: Some(trouble), .. } | Outcome::Missing { trouble } => Some(trouble),
        };
        failures = if trouble.is_some() { failures + 1 } else { 0 };
        ill = trouble.filter(|trouble| trouble.can_be_put_right()).map(|_| (strip, true));
        tell(News::Came { unit, outcome });
    }
    destination.finish();
}
