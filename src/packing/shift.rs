//! Plays a bench with real printers and a ledger: one thread for the ledger and the machine, one for each printer (`attendant.rs`).
//!
//! Invariants: `sending` is in the ledger before the first byte goes; what came of a strip is kept until the ledger has taken it; while the
//! ledger does not answer, nothing new begins; a printer that is in trouble holds no strip.

use std::collections::BTreeMap;
use std::sync::mpsc::{self, Receiver, RecvTimeoutError, Sender};
use std::time::{Duration, Instant};

use super::attendant::{News, Order, attend};
use super::bench::{Bench, Came, Do, Input};
use super::codes::Codes;
use super::screen::{Roll, Screen};
use crate::send::ledger::{self, Claim, Todo};
use crate::send::{Destination, Facts, Intent, Job, Ledger, Outcome, State, Stop, StripBytes, StripName, Verdict};

/// What a shift is about.
pub struct Plan {
    pub facts: Facts,
    pub intent: Intent,
    /// Of the facts' units, in their order.
    pub codes: Codes,
    pub roll: Roll,
    pub title: String,
    /// What a person calls this bench.
    pub bench: String,
    /// How long a lease of this bench holds; it is renewed three times as often.
    pub lease: Duration,
    /// Between two looks at a printer that is in trouble.
    pub look: Duration,
    pub stop: Stop,
}

/// What the shift hears; whoever reads the scanner sends [`Message::Line`].
pub enum Message {
    Line(String),
    /// No more lines will come.
    End,
    /// From a printer's thread.
    Printer {
        printer: usize,
        news: News,
    },
}

/// The two ends of a shift's ear.
pub struct Wishes {
    pub tell: Sender<Message>,
    pub hear: Receiver<Message>,
}

impl Wishes {
    pub fn new() -> Wishes {
        let (tell, hear) = mpsc::channel();
        Wishes { tell, hear }
    }
}

impl Default for Wishes {
    fn default() -> Wishes {
        Wishes::new()
    }
}

/// How a shift ended.
#[derive(Clone, Debug)]
pub struct Ended {
    pub screen: Screen,
    /// Every unit lies in its box.
    pub done: bool,
    /// Words of printers that came and could not be entered: their strips will be called unknown.
    pub untold: Vec<String>,
}

/// A word of a printer that the ledger has not taken yet.
struct Word {
    unit: usize,
    printer: usize,
    state: State,
    note: String,
    in_order: bool,
    came: Came,
}

/// How long the ledger is waited for at the end, with words that it has not taken.
const LAST: Duration = Duration::from_secs(15);
/// Between two looks at what other benches do.
const REFRESH: Duration = Duration::from_secs(2);

/// Plays a shift until a person ends it. `make` gives the bytes of a strip, on the thread of its printer; `show` is called on this thread
/// with all that is to be shown, and whether it is to be sounded.
///
/// # Errors
/// The ledger refuses the run, or the system gives no thread.
pub fn shift(
    ledger: &mut Ledger,
    destinations: Vec<Box<dyn Destination>>,
    plan: &Plan,
    make: &(dyn Fn(&Job) -> Result<StripBytes, String> + Sync),
    wishes: Wishes,
    show: &mut dyn FnMut(&Screen, bool),
) -> Result<Ended, ledger::Error> {
    let rehearsal = destinations.iter().any(|destination| destination.rehearsal());
    let begun = ledger.begin_packing(&plan.facts, rehearsal, plan.intent)?;
    let places: Vec<String> = destinations.iter().map(|destination| destination.place().to_owned()).collect();
    let names: Vec<String> = destinations.iter().map(|destination| destination.name().to_owned()).collect();
    let bench = Bench::new(plan.codes.clone(), names, plan.roll, &plan.title, &plan.bench);
    std::thread::scope(|scope| {
        let mut orders = Vec::new();
        for (printer, destination) in destinations.into_iter().enumerate() {
            let (order, ordered) = mpsc::channel();
            orders.push(order);
            let (tell, look, stop) = (wishes.tell.clone(), plan.look, plan.stop.clone());
            scope.spawn(move || {
                let tell = |news| tell.send(Message::Printer { printer, news }).is_ok();
                attend(destination, &ordered, &tell, make, look, &stop);
            });
        }
        // Only printers' threads and the caller's scanner can still speak.
        let Wishes { tell, hear } = wishes;
        drop(tell);
        let mut shift = Shift {
            ledger,
            plan,
            run: begun.run.unwrap_or_default(),
            bench,
            places,
            orders,
            todos: BTreeMap::new(),
            words: Vec::new(),
            refreshed: None,
            renewed: Instant::now(),
            began: Instant::now(),
            ending: None,
            quit: false,
            show,
        };
        shift.play(&hear)
    })
}

struct Shift<'a> {
    ledger: &'a mut Ledger,
    plan: &'a Plan,
    run: i64,
    bench: Bench,
    places: Vec<String>,
    orders: Vec<Sender<Order>>,
    todos: BTreeMap<usize, Todo>,
    words: Vec<Word>,
    refreshed: Option<Instant>,
    renewed: Instant,
    began: Instant,
    ending: Option<Instant>,
    /// Strips that only wait are let go of.
    quit: bool,
    show: &'a mut dyn FnMut(&Screen, bool),
}

impl Shift<'_> {
    fn play(&mut self, hear: &Receiver<Message>) -> Result<Ended, ledger::Error> {
        self.refresh();
        (self.show)(&self.bench.screen(), true);
        loop {
            let message = match hear.recv_timeout(Duration::from_millis(100)) {
                Ok(message) => Some(message),
                Err(RecvTimeoutError::Timeout) => None,
                Err(RecvTimeoutError::Disconnected) => Some(Message::End),
            };
            match message {
                Some(Message::Line(text)) if self.ending.is_none() => {
                    let at = u64::try_from(self.began.elapsed().as_millis()).unwrap_or(u64::MAX);
                    self.take(Input::Line { text, at });
                }
                Some(Message::Printer { printer, news }) => self.news(printer, news),
                Some(Message::End) => self.end(false),
                Some(Message::Line(_)) | None => {}
            }
            if self.plan.stop.after_this_strip() {
                self.end(true);
            }
            self.minutes();
            if self.is_over() {
                break;
            }
        }
        for unit in self.bench.waiting().collect::<Vec<_>>() {
            self.perform(&Do::Release(unit));
        }
        self.refresh();
        let untold = self.words.iter().map(|word| self.key(word.unit)).collect();
        // Without orders the printers' threads end.
        self.orders.clear();
        let screen = Screen { ended: true, ..self.bench.screen() };
        (self.show)(&screen, false);
        Ok(Ended { done: self.bench.is_done(), screen, untold })
    }

    fn end(&mut self, quit: bool) {
        self.quit |= quit;
        self.ending.get_or_insert_with(Instant::now);
    }

    fn is_over(&self) -> bool {
        let Some(since) = self.ending else { return false };
        let waiting = !self.quit
            && self.bench.waiting().next().is_some()
            && self.bench.screen().printers.iter().any(|one| one.state != "stopped");
        let unheard = !self.words.is_empty() && since.elapsed() < LAST;
        let printing = self.bench.is_busy() && self.words.is_empty();
        !(waiting || unheard || printing)
    }

    /// What is done whether anything happens or not.
    fn minutes(&mut self) {
        self.enter_words();
        let away = self.bench.is_away();
        if self.renewed.elapsed() >= if away { Duration::from_secs(1) } else { self.plan.lease / 3 } {
            let renewed = if away { self.ledger.touch() } else { self.ledger.renew() };
            self.renewed = Instant::now();
            match renewed {
                Ok(()) if away => {
                    self.take(Input::Back);
                    self.refresh();
                }
                Ok(()) => {}
                Err(error) => self.away(&error, false),
            }
        }
        if self.ledger.is_shared() && !away && self.refreshed.is_none_or(|at| at.elapsed() >= REFRESH) {
            self.refresh();
            (self.show)(&self.bench.screen(), false);
        }
    }

    fn refresh(&mut self) {
        self.refreshed = Some(Instant::now());
        let looked = self.ledger.standing(self.run).and_then(|all| Ok((all, self.ledger.pace(self.run)?)));
        match looked {
            Ok((all, pace)) => self.take(Input::Standing { all, pace }),
            Err(error) => self.away(&error, false),
        }
    }

    fn away(&mut self, error: &ledger::Error, scanned: bool) {
        // The next look is soon.
        self.take(Input::Away { why: error.to_string(), scanned });
    }

    fn take(&mut self, input: Input) {
        let doing = self.bench.take(input);
        for one in &doing {
            self.perform(one);
        }
    }

    fn perform(&mut self, one: &Do) {
        match *one {
            Do::Claim(unit) => match self.ledger.claim(self.run, &self.key(unit), unit) {
                Ok(claim) => {
                    if let Claim::Yours(todo) = &claim {
                        self.todos.insert(unit, todo.clone());
                    }
                    self.take(Input::Claimed { unit, claim });
                }
                Err(error) => self.away(&error, true),
            },
            Do::Box(unit) => match self.ledger.box_up(self.run, &self.key(unit)) {
                Ok(boxed) => {
                    if let Ok(pace) = self.ledger.pace(self.run) {
                        self.bench.pace(pace);
                    }
                    self.take(Input::Boxed { unit, boxed });
                }
                Err(error) => self.away(&error, true),
            },
            Do::Again(unit) => {
                let name = StripName { unit: self.key(unit), copy: 1 };
                match self.ledger.resolve_strips(&[(self.run, name)], Verdict::Missing) {
                    Ok(()) => self.take(Input::Settled { unit, done: Ok(()) }),
                    Err(error @ ledger::Error::NotAllowed { .. }) => {
                        let why = format!("only someone who may settle strips can say that it is printed again ({error})");
                        self.take(Input::Settled { unit, done: Err(why) });
                    }
                    Err(error) => self.away(&error, true),
                }
            }
            Do::Send { unit, printer } => {
                let broken_off = self.places.get(printer).map(|place| self.ledger.in_order(place));
                match (self.todos.get(&unit), broken_off, self.orders.get(printer)) {
                    (Some(todo), Some(Ok(in_order)), Some(order)) => {
                        let job = Job { number: todo.number, unit, name: todo.name.clone() };
                        // A thread that is gone has ended with the program.
                        let _ = order.send(Order::Print { job, broken_off: !in_order });
                    }
                    (_, Some(Err(error)), _) => {
                        self.take(Input::Away { why: error.to_string(), scanned: false });
                        self.take(Input::Held { unit, printer });
                    }
                    _ => self.take(Input::Lost { unit, printer }),
                }
            }
            Do::Release(unit) => {
                if let Some(todo) = self.todos.get(&unit).cloned()
                    && let Err(error) = self.ledger.release(&todo)
                {
                    self.away(&error, false);
                }
            }
            Do::Say => (self.show)(&self.bench.screen(), true),
            Do::End => self.end(false),
        }
    }

    fn news(&mut self, printer: usize, news: News) {
        match news {
            News::Ready { unit } => {
                let place = self.places.get(printer).cloned().unwrap_or_default();
                let entered = match self.todos.get(&unit) {
                    Some(todo) => self.ledger.sending(todo, &self.plan.facts, &place),
                    None => Ok(false),
                };
                let answer = if matches!(entered, Ok(true)) { Order::Go } else { Order::Leave };
                let _ = self.orders.get(printer).map(|order| order.send(answer));
                match entered {
                    Ok(true) => (self.show)(&self.bench.screen(), false),
                    Ok(false) => self.take(Input::Lost { unit, printer }),
                    Err(error) => {
                        self.away(&error, false);
                        self.take(Input::Held { unit, printer });
                    }
                }
            }
            News::NotReady { unit, trouble } => {
                self.take(Input::NotReady { unit, printer, kind: trouble.kind(), why: trouble.to_string() });
            }
            News::Unmade { unit, why } => self.take(Input::Unmade { unit, printer, why }),
            News::Well => self.take(Input::Well { printer }),
            News::Came { unit, outcome } => {
                let (state, note, in_order, came) = match outcome {
                    Outcome::Printed => (State::Printed, String::new(), true, Came::Printed),
                    Outcome::Unknown { why, trouble } => {
                        let came = Came::Unknown { why: why.clone(), trouble: trouble.is_some() };
                        (State::Unknown, why, trouble.is_none(), came)
                    }
                    Outcome::Missing { trouble } => {
                        let came = Came::Missing { kind: trouble.kind(), why: trouble.to_string() };
                        (State::Missing, trouble.to_string(), false, came)
                    }
                };
                self.words.push(Word { unit, printer, state, note, in_order, came });
                self.enter_words();
            }
        }
    }

    /// Gives the ledger the printers' words, in their order, until it does not answer.
    fn enter_words(&mut self) {
        while let Some(word) = self.words.first() {
            let place = self.places.get(word.printer).cloned().unwrap_or_default();
            let Some(todo) = self.todos.get(&word.unit) else {
                self.words.remove(0);
                continue;
            };
            match self.ledger.settle(todo, word.state, &word.note, &place, word.in_order) {
                Ok(now) => {
                    let word = self.words.remove(0);
                    // Said first, so that what is to be done with the strip stays on the screen.
                    if self.bench.is_away() {
                        self.take(Input::Back);
                    }
                    let came = match now == word.state {
                        true => word.came,
                        // Its lease had run out, or a person has looked meanwhile: what stands in the ledger holds.
                        false => {
                            let why = format!(
                                "the printer says {}, and the ledger called it {} meanwhile",
                                word.state.word(),
                                now.word()
                            );
                            Came::Unknown { why, trouble: true }
                        }
                    };
                    self.take(Input::Came { unit: word.unit, printer: word.printer, came });
                }
                Err(error) => {
                    if !self.bench.is_away() {
                        self.away(&error, false);
                    }
                    return;
                }
            }
        }
    }

    fn key(&self, unit: usize) -> String {
        self.plan.facts.units.get(unit).map(|unit| unit.key.clone()).unwrap_or_default()
    }
}
