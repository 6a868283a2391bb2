//! `print`: a run on a terminal, with a progress bar, Ctrl-C, and closing words. What a strip is comes from the caller.

use crate::lengths::Mm;
use crate::send::{
    self, Capabilities, Destination, Ending, Event, Facts, Halt, Intent, Job, Ledger, Order, PretendPrinter, Report, Settings,
    State, StripBytes, StripName, Times,
};
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::io::Write;
use std::path::Path;
use std::time::{Duration, Instant};

/// What was asked for, from options and profile.
pub struct Asked<'a> {
    pub to: &'a str,
    /// None: nothing is kept, and nothing can be resumed.
    pub ledger: Option<&'a Path>,
    pub facts: Facts,
    pub intent: Intent,
    /// How long to wait at the printer for someone to put it right.
    pub patience: Duration,
    pub capabilities: Capabilities,
    pub times: Times,
    pub pretend: Option<PretendPrinter>,
    pub quiet: bool,
}

/// Why there is no report.
#[derive(Debug)]
pub enum Error<E> {
    /// Exit code 2.
    Address(send::Error),
    /// Exit code 5 for the ledger, the caller's own for a strip.
    Halt(Halt<E>),
    /// The system gives no signal handler.
    Signals(std::io::Error),
}

impl<E> From<send::ledger::Error> for Error<E> {
    fn from(error: send::ledger::Error) -> Error<E> {
        Error::Halt(Halt::Ledger(error))
    }
}

/// Prints, telling standard error how it goes.
///
/// # Errors
/// The destination can't be one, the ledger refuses, or a strip can't be made.
pub fn run<E>(asked: Asked<'_>, make: &mut dyn FnMut(&Job) -> Result<StripBytes, E>) -> Result<Report, Error<E>> {
    let ledger = match asked.ledger {
        Some(path) => Ledger::open(path),
        None => Ledger::in_memory(),
    };
    let mut ledger = ledger?;
    let order = Order { intent: asked.intent, patience: asked.patience, ..Order::new(asked.facts) };
    let settings = Settings {
        capabilities: asked.capabilities,
        times: asked.times,
        stop: order.stop.clone(),
        continuing: ledger.has_sent_to(&send::place(asked.to))?,
        pretend: asked.pretend,
        devices: Some(super::pretend_printers::devices()),
        usb: None,
        ports: None,
    };
    let mut destination: Box<dyn Destination> = send::open(asked.to, settings).map_err(Error::Address)?;
    let bar = bar(asked.quiet);
    let answer = bar.clone();
    order
        .stop
        .listen(move |times| {
            answer.suspend(|| {
                tell(match times {
                    1 => "stopping when this strip is out; Ctrl-C again stops at once",
                    _ => "stopping at once",
                });
            });
        })
        .map_err(Error::Signals)?;
    let mut progress = Progress::new(bar, asked.quiet);
    let result = send::run(&mut ledger, destination.as_mut(), &order, make, &mut |event| progress.show(&event));
    progress.bar.finish_and_clear();
    result.map_err(Error::Halt)
}

/// A line on standard error. The terminal may be gone, which is no reason to end in the middle of a strip.
fn tell(words: &str) {
    let _ = writeln!(std::io::stderr(), "{words}");
}

fn bar(quiet: bool) -> ProgressBar {
    let target = if quiet { ProgressDrawTarget::hidden() } else { ProgressDrawTarget::stderr() };
    let bar = ProgressBar::with_draw_target(None, target);
    if let Ok(style) = ProgressStyle::with_template("{bar:24} {pos}/{len} strips, {msg}") {
        bar.set_style(style.progress_chars("██░"));
    }
    bar
}

struct Progress {
    bar: ProgressBar,
    quiet: bool,
    began: Instant,
    paper: Mm,
    todo: usize,
    done: usize,
    waiting: bool,
}

impl Progress {
    fn new(bar: ProgressBar, quiet: bool) -> Progress {
        Progress { bar, quiet, began: Instant::now(), paper: Mm::default(), todo: 0, done: 0, waiting: false }
    }

    fn say(&self, words: &str) {
        if !self.quiet {
            self.bar.suspend(|| tell(words));
        }
    }

    fn show(&mut self, event: &Event<'_>) {
        match event {
            Event::Began { todo, printed, gone } => {
                self.todo = *todo;
                self.bar.set_length(*todo as u64);
                if *printed > 0 {
                    self.say(&format!("{} printed already, {todo} to go", strips(*printed)));
                }
                if let Some(words) = gone_in_words(gone) {
                    self.say(&words);
                }
            }
            Event::Strip { job, .. } => self.bar.set_message(format!("{}, {}", job.name, self.how_far())),
            Event::Sent { .. } => self.bar.tick(),
            Event::Settled { job, state, note, length } => match state {
                State::Printed | State::Unknown => {
                    self.done += 1;
                    self.paper = Mm::from_micrometres(self.paper.micrometres() + length.micrometres());
                    self.bar.set_position(self.done as u64);
                    self.bar.set_message(self.how_far());
                }
                State::Missing => self.say(&format!("{}: not whole, it will be printed again ({note})", job.name)),
                State::Queued | State::Sending => {}
            },
            Event::PaperLow => self.say("the roll is nearly at its end: have a new one ready"),
            Event::Waiting { trouble, left } => {
                if !std::mem::replace(&mut self.waiting, true) {
                    self.say(&format!("{trouble}; waiting {} for it", duration(*left)));
                }
            }
            Event::GoesOn => {
                self.waiting = false;
                self.say("the printer is well again, going on");
            }
        }
    }

    /// `3.4 m of paper, 2 min left`.
    fn how_far(&self) -> String {
        let metres = self.paper.value() / 1000.0;
        let left = self.todo.saturating_sub(self.done);
        let mut words = format!("{metres:.1} m of paper");
        if self.done > 0 && left > 0 {
            let each = self.began.elapsed() / u32::try_from(self.done).unwrap_or(u32::MAX);
            words += &format!(", {} left", duration(each * u32::try_from(left).unwrap_or(u32::MAX)));
        }
        words
    }
}

/// Of which strips the unit is not in the table any more.
pub fn gone_in_words(gone: &[(StripName, State)]) -> Option<String> {
    let named: Vec<String> = gone.iter().take(8).map(|(name, state)| format!("{name} ({})", state.word())).collect();
    let more = gone.len() - named.len();
    let more = if more > 0 { format!(" and {more} more") } else { String::new() };
    (!gone.is_empty()).then(|| format!("not in the table of units any more: {}{more}", named.join(", ")))
}

fn strips(count: usize) -> String {
    if count == 1 { "1 strip".to_owned() } else { format!("{count} strips") }
}

/// What goes on with a run that was told as a command.
pub const COMMAND: &str = "the same command";

/// Whole minutes from one and a half on, seconds below.
fn duration(time: Duration) -> String {
    match time.as_secs() {
        seconds @ 0..90 => format!("{seconds} s"),
        seconds => format!("{} min", (seconds + 30) / 60),
    }
}

/// The words that close a run, one line each, begun in lower case as on standard error. `ledger`: as the person wrote it; `again`:
/// what a person does to go on.
pub fn closing(report: &Report, ledger: Option<&str>, again: &str) -> Vec<String> {
    let mut lines = Vec::new();
    match &report.ending {
        Ending::Done => {}
        Ending::Asked => lines.push("stopped as asked".to_owned()),
        Ending::Trouble(trouble) => lines.push(trouble.to_string()),
    }
    let mut parts = Vec::new();
    if report.printed_before > 0 {
        parts.push(format!("{} printed before", report.printed_before));
    }
    parts.push(format!("{} printed now", report.printed));
    if !report.unknown.is_empty() {
        parts.push(format!("{} not confirmed", report.unknown.len()));
    }
    if report.left > 0 {
        parts.push(format!("{} still to print", report.left));
    }
    let metres = report.paper.value() / 1000.0;
    lines.push(format!("{}; {metres:.1} m of paper", parts.join(", ")));
    // One note for strips that all went the same way.
    if !report.unknown.is_empty() {
        let mut notes: Vec<(&str, Vec<StripName>)> = Vec::new();
        for (name, why) in &report.unknown {
            match notes.iter_mut().find(|(known, _)| known == why) {
                Some((_, names)) => names.push(name.clone()),
                None => notes.push((why, vec![name.clone()])),
            }
        }
        lines.extend(notes.iter().map(|(why, names)| format!("{}: {why}", super::ledger::ranges(names))));
        match ledger {
            Some(ledger) => lines.push(format!(
                "look which of them lie on the table, then: stripling ledger {ledger} --resolve KEY=printed (or KEY=missing; `*` for all)"
            )),
            None => lines.push("there is no ledger that could remember them: --ledger FILE keeps one".to_owned()),
        }
    }
    if report.left > 0 && report.unknown.is_empty() {
        match ledger {
            Some(_) => lines.push(format!("{again} goes on where it stopped")),
            None => lines.push(format!("{again} begins anew: with --ledger FILE it would go on where it stopped")),
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::send::{CameOut, Making};
    use std::convert::Infallible;

    fn asked<'a>(to: &'a str, ledger: &'a Path) -> Asked<'a> {
        let units = (1..=25).map(|number| format!("HRN-{number:04}"));
        let making =
            Making { manual: "5f3a".to_owned(), document: "HRN-QS".to_owned(), revision: "C".to_owned(), ..Making::default() };
        Asked {
            to,
            ledger: Some(ledger),
            facts: Facts::alike("heron/heron.md", "80mm", making, units),
            intent: Intent::Continue,
            patience: Duration::ZERO,
            capabilities: Capabilities::default(),
            times: Times::default(),
            pretend: Some(Box::new(|bytes| Ok(CameOut { png: bytes.to_vec(), length: Mm::new(432.0) }))),
            quiet: true,
        }
    }

    #[test]
    fn a_rehearsal_tells_of_the_paper_end_and_of_its_resumption() {
        let folder = tempfile::tempdir().expect("a folder of this test");
        let to = format!("rehearse:{}?roll=7m", folder.path().join("out").display());
        let ledger = folder.path().join("run.db");
        let make = &mut |job: &Job| Ok::<_, Infallible>(StripBytes::whole(vec![job.number as u8]).with_length(Mm::new(432.0)));
        let words = |report: &Report| closing(report, Some("run.db"), COMMAND).join("\n");
        let report = run(asked(&to, &ledger), make).expect("a run");
        assert_eq!(
            words(&report),
            "the pretend printer's roll is at its end: going on puts in a new one\n\
             16 printed now, 9 still to print; 6.9 m of paper\n\
             the same command goes on where it stopped"
        );
        let report = run(asked(&to, &ledger), make).expect("a run");
        assert_eq!(words(&report), "16 printed before, 9 printed now; 3.9 m of paper");
    }

    #[test]
    fn strips_that_are_not_confirmed_are_named() {
        let name = |number: u32| StripName { unit: format!("HRN-{number:04}"), copy: 1 };
        let why = "the printer took it and can't answer".to_owned();
        let mut report = Report {
            run: 1,
            ending: Ending::Done,
            printed_before: 0,
            printed: 0,
            unknown: (1..=3).map(|number| (name(number), why.clone())).collect(),
            missing: Vec::new(),
            left: 0,
            paper: Mm::new(1300.0),
        };
        let words = closing(&report, Some("run.db"), COMMAND).join("\n");
        assert!(
            words.contains("0 printed now, 3 not confirmed; 1.3 m of paper\nHRN-0001 to HRN-0003: the printer took it"),
            "{words}"
        );
        assert!(words.contains("stripling ledger run.db --resolve"), "{words}");
        // What lies between two of them need not be one of them.
        report.unknown.remove(1);
        let words = closing(&report, Some("run.db"), COMMAND).join("\n");
        assert!(words.contains("HRN-0001, HRN-0003: the printer took it"), "{words}");
        report.unknown.truncate(1);
        assert!(closing(&report, None, COMMAND).join("\n").contains("HRN-0001: the printer took it"));
    }

    #[test]
    fn times_are_told_in_the_unit_that_fits() {
        assert_eq!(duration(Duration::from_secs(40)), "40 s");
        assert_eq!(duration(Duration::from_secs(100)), "2 min");
    }
}
