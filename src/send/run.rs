//! A run: strip after strip, each entered in the ledger before and after the fact.

use super::destination::{Destination, Progress};
use super::ledger::{self, Begun, Facts, Intent, Ledger, State, StripName, Todo};
use super::stop::Stop;
use super::strip_bytes::StripBytes;
use super::trouble::{Outcome, Trouble};
use crate::lengths::Mm;
use std::time::{Duration, Instant};

/// How often one strip is begun in one run while someone puts the printer right in between.
const ATTEMPTS: u32 = 3;

/// What to print, and how patiently.
#[derive(Clone, Debug)]
pub struct Order {
    pub facts: Facts,
    pub intent: Intent,
    /// How long to wait at the printer for a person to put it right, each time. Zero ends the run at the first trouble; the
    /// same command goes on where it stopped either way.
    pub patience: Duration,
    /// Between two looks while waiting.
    pub look: Duration,
    pub stop: Stop,
}

impl Order {
    /// Continues what is there, ends at the first trouble.
    pub fn new(facts: Facts) -> Order {
        Order { facts, intent: Intent::Continue, patience: Duration::ZERO, look: Duration::from_millis(500), stop: Stop::new() }
    }
}

/// One strip to be made.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Job {
    /// The `run.number` of its fields: no two units of a run have the same, and a unit keeps the one it was first given.
    pub number: u32,
    /// Into the units of the order's facts.
    pub unit: usize,
    pub name: StripName,
}

/// What happens while it happens: enough for a progress bar.
#[derive(Debug)]
pub enum Event<'a> {
    /// `todo` strips are to be printed, `printed` are already; of `gone` the unit is not in the table any more.
    Began {
        todo: usize,
        printed: usize,
        gone: &'a [(StripName, State)],
    },
    Strip {
        job: &'a Job,
        bytes: usize,
        length: Mm,
    },
    Sent {
        job: &'a Job,
        bytes: usize,
        of: usize,
    },
    /// As it now stands in the ledger.
    Settled {
        job: &'a Job,
        state: State,
        note: &'a str,
        length: Mm,
    },
    PaperLow,
    /// Someone has to put the printer right; `left` is how long it will still be waited for.
    Waiting {
        trouble: &'a Trouble,
        left: Duration,
    },
    /// The printer is well again.
    GoesOn,
}

/// Why a run ended.
#[derive(Debug)]
pub enum Ending {
    /// Every strip has been sent.
    Done,
    /// A person wished it.
    Asked,
    /// Exit code 4.
    Trouble(Trouble),
}

/// What became of a run.
#[derive(Debug)]
pub struct Report {
    pub run: i64,
    pub ending: Ending,
    /// Printed by an earlier command.
    pub printed_before: usize,
    /// Printed now.
    pub printed: usize,
    /// Sent now, outcome not known, and why.
    pub unknown: Vec<(StripName, String)>,
    /// Begun now and certainly not whole: scrap, to be printed again, and why.
    pub missing: Vec<(StripName, String)>,
    /// Not printed and not unknown: what the same command would print now.
    pub left: usize,
    /// Paper of the strips that are printed or may be.
    pub paper: Mm,
}

/// Why a run could not be begun or not go on, other than for the printer's sake.
#[derive(Debug)]
pub enum Halt<E> {
    Ledger(ledger::Error),
    /// A strip could not be made; the strips before it are settled.
    Strip {
        name: StripName,
        error: E,
    },
}

impl<E> From<ledger::Error> for Halt<E> {
    fn from(error: ledger::Error) -> Halt<E> {
        Halt::Ledger(error)
    }
}

/// Prints what is not printed. `make` gives the bytes of one strip when it is its turn; an unchanged manual must give unchanged
/// bytes. `tell` is called on this thread.
///
/// # Errors
/// The ledger refuses or fails, or a strip can't be made. Trouble with the printer is no error but the report's ending.
pub fn run<E>(
    ledger: &mut Ledger,
    destination: &mut dyn Destination,
    order: &Order,
    make: &mut dyn FnMut(&Job) -> Result<StripBytes, E>,
    tell: &mut dyn FnMut(Event<'_>),
) -> Result<Report, Halt<E>> {
    let Begun { run, todo, printed, gone } = ledger.begin(&order.facts, destination.rehearsal(), order.intent)?;
    tell(Event::Began { todo: todo.len(), printed, gone: &gone });
    let report = Report {
        run: run.unwrap_or_default(),
        ending: Ending::Done,
        printed_before: printed,
        printed: 0,
        unknown: Vec::new(),
        missing: Vec::new(),
        left: todo.len(),
        paper: Mm::from_micrometres(0),
    };
    let mut press = Press { ledger, destination, order, tell, report };
    let mut result = Ok(());
    for todo in &todo {
        if order.stop.after_this_strip() {
            press.report.ending = Ending::Asked;
            break;
        }
        let job = Job { number: todo.number, unit: todo.unit, name: todo.name.clone() };
        let goes_on = match make(&job) {
            Ok(strip) => press.print(&job, todo, &strip).map_err(Halt::Ledger),
            Err(error) => Err(Halt::Strip { name: todo.name.clone(), error }),
        };
        match goes_on {
            Ok(true) => {}
            Ok(false) => break,
            Err(halt) => {
                result = Err(halt);
                break;
            }
        }
    }
    press.destination.finish();
    result.map(|()| press.report)
}

struct Press<'a> {
    ledger: &'a mut Ledger,
    destination: &'a mut dyn Destination,
    order: &'a Order,
    tell: &'a mut dyn FnMut(Event<'_>),
    report: Report,
}

impl Press<'_> {
    /// Prints one strip. Returns whether the run goes on.
    fn print(&mut self, job: &Job, todo: &Todo, strip: &StripBytes) -> Result<bool, ledger::Error> {
        (self.tell)(Event::Strip { job, bytes: strip.size(), length: strip.length });
        let mut attempt = 1;
        loop {
            let name = self.destination.place().to_owned();
            if !self.wait_until_ready(strip)? {
                return Ok(false);
            }
            if !self.ledger.sending(todo, &self.order.facts, &name)? {
                // Another bench has it.
                self.report.left -= 1;
                return Ok(true);
            }
            let outcome = {
                let Press { destination, tell, .. } = self;
                let of = strip.size();
                destination.send(&label(job), strip, &mut |progress| match progress {
                    Progress::Sent { bytes } => tell(Event::Sent { job, bytes, of }),
                    Progress::PaperLow => tell(Event::PaperLow),
                })
            };
            match outcome {
                Outcome::Printed => {
                    self.settle(job, todo, strip, State::Printed, "", true)?;
                    self.report.printed += 1;
                    return Ok(true);
                }
                Outcome::Unknown { why, trouble } => {
                    self.settle(job, todo, strip, State::Unknown, &why, trouble.is_none())?;
                    self.report.unknown.push((todo.name.clone(), why));
                    let goes_on = trouble.is_none();
                    if let Some(trouble) = trouble {
                        self.end(trouble);
                    }
                    return Ok(goes_on);
                }
                Outcome::Missing { trouble } => {
                    self.settle(job, todo, strip, State::Missing, &trouble.to_string(), false)?;
                    self.report.missing.push((todo.name.clone(), trouble.to_string()));
                    let again = attempt < ATTEMPTS && !self.order.patience.is_zero() && trouble.can_be_put_right();
                    if !again || self.order.stop.after_this_strip() {
                        self.end(trouble);
                        return Ok(false);
                    }
                    attempt += 1;
                }
            }
        }
    }

    /// Waits for a printer that can be put right, for as long as the order's patience lasts. `false`: the run has ended.
    fn wait_until_ready(&mut self, strip: &StripBytes) -> Result<bool, ledger::Error> {
        let until = Instant::now() + self.order.patience;
        let mut waited = false;
        loop {
            let broken_off = !self.ledger.in_order(self.destination.place())?;
            let result = {
                let Press { destination, tell, .. } = self;
                destination.ready(strip, broken_off, &mut |progress| {
                    if progress == Progress::PaperLow {
                        tell(Event::PaperLow);
                    }
                })
            };
            let left = until.saturating_duration_since(Instant::now());
            match result {
                Ok(()) => {
                    if waited {
                        (self.tell)(Event::GoesOn);
                    }
                    return Ok(true);
                }
                Err(trouble) if left.is_zero() || !trouble.can_be_put_right() => {
                    self.end(trouble);
                    return Ok(false);
                }
                Err(trouble) => (self.tell)(Event::Waiting { trouble: &trouble, left }),
            }
            waited = true;
            self.ledger.keep()?;
            let rest = Instant::now() + self.order.look.min(left);
            while Instant::now() < rest {
                if self.order.stop.after_this_strip() {
                    self.report.ending = Ending::Asked;
                    return Ok(false);
                }
                std::thread::sleep(Duration::from_millis(10).min(self.order.look));
            }
        }
    }

    fn settle(
        &mut self,
        job: &Job,
        todo: &Todo,
        strip: &StripBytes,
        state: State,
        note: &str,
        in_order: bool,
    ) -> Result<(), ledger::Error> {
        self.ledger.settle(todo, state, note, self.destination.place(), in_order)?;
        if state != State::Missing {
            self.report.left -= 1;
            self.report.paper = Mm::from_micrometres(self.report.paper.micrometres() + strip.length.micrometres());
        }
        (self.tell)(Event::Settled { job, state, note, length: strip.length });
        Ok(())
    }

    fn end(&mut self, trouble: Trouble) {
        self.report.ending = match trouble {
            Trouble::Interrupted => Ending::Asked,
            trouble => Ending::Trouble(trouble),
        };
    }
}

/// What a file or a job of the queue is called.
fn label(job: &Job) -> String {
    match job.name.copy {
        1 => job.name.unit.clone(),
        copy => format!("{}-{copy}", job.name.unit),
    }
}
