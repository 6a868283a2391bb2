//! The talk with a printer whose every answer is written down beforehand.

use super::capabilities::{Capabilities, Fence, Times};
use super::ledger::{Facts, Intent, Ledger, Making, State, StripName, Verdict};
use super::session::{Reached, Session};
use super::stop::Stop;
use super::strip_bytes::StripBytes;
use super::transport::Transport;
use super::trouble::Trouble;
use std::collections::VecDeque;
use std::io;
use std::time::Duration;

/// Takes everything; answers real-time questions from a list (None: never), then healthy; answers `GS r 1` at once.
struct Script {
    answers: VecDeque<Option<u8>>,
    out: Vec<u8>,
}

impl Transport for Script {
    fn put(&mut self, bytes: &[u8], _limit: Duration) -> io::Result<usize> {
        for three in bytes.windows(3) {
            match three {
                [0x10, 0x04, _] => self.out.extend(self.answers.pop_front().unwrap_or(Some(0x12))),
                [0x1D, 0x72, _] => self.out.push(0x00),
                _ => {}
            }
        }
        Ok(bytes.len())
    }

    fn hear(&mut self, into: &mut Vec<u8>, limit: Duration) -> io::Result<usize> {
        if self.out.is_empty() {
            std::thread::sleep(limit);
        }
        into.append(&mut self.out);
        Ok(into.len())
    }

    fn hears(&self) -> bool {
        true
    }

    fn flush(&mut self, _limit: Duration) -> io::Result<bool> {
        Ok(true)
    }

    fn close(&mut self, _limit: Duration) {}
}

fn send(answers: &[Option<u8>]) -> (Result<(), Trouble>, Reached) {
    let transport = Box::new(Script { answers: answers.iter().copied().collect(), out: Vec::new() });
    let capabilities = Capabilities { status: true, fence: Fence::Paper, ..Capabilities::default() };
    let times = Times { answer: Duration::from_millis(60), settle: Duration::from_millis(20), ..Times::default() };
    let mut session = Session::new("the printer".to_owned(), transport, capabilities, times, Stop::new());
    let strip = StripBytes::of_bands(vec![vec![1; 100]; 4], vec![2; 4]);
    let mut reached = Reached::default();
    let result = session.send(&strip, &mut reached, &mut |_| {});
    (result, reached)
}

#[test]
fn a_printer_that_needs_its_time_is_given_it_after_each_chunk() {
    let transport = Box::new(Script { answers: VecDeque::new(), out: Vec::new() });
    let capabilities = Capabilities { pace: Duration::from_millis(30), ..Capabilities::default() };
    let mut session = Session::new("the printer".to_owned(), transport, capabilities, Times::default(), Stop::new());
    let strip = StripBytes::of_bands(vec![vec![1; 100]; 4], vec![2; 4]);
    let began = std::time::Instant::now();
    assert!(session.send(&strip, &mut Reached::default(), &mut |_| {}).is_ok());
    // Four chunks before the last; no more is asserted than that it does wait.
    assert!(began.elapsed() >= Duration::from_millis(4 * 30), "{:?}", began.elapsed());
}

#[test]
fn healthy_answers_and_a_proof_are_enough() {
    let (result, reached) = send(&[]);
    assert!(result.is_ok(), "{result:?}");
    assert_eq!(reached, Reached { bytes: 404, may_be_whole: true });
}

#[test]
fn off_line_for_a_moment_is_looked_into_and_passes() {
    let (result, _) = send(&[Some(0x12), Some(0x1A), Some(0x12)]);
    assert!(result.is_ok(), "{result:?}");
}

#[test]
fn a_question_that_was_never_answered_spoils_the_strip_even_if_all_is_well_after() {
    // Off line for a moment and one answer short: it may have been switched off and on.
    let (result, reached) = send(&[None, Some(0x1A)]);
    assert!(matches!(result, Err(Trouble::Mute { .. })), "{result:?}");
    assert!(reached.may_be_whole);
}

#[test]
fn a_paper_end_in_the_middle_is_told_before_the_strip_can_be_whole() {
    // CHECKS.md, "Paper, printer, folding": paper end 1A 32 7E for n = 1, 2, 4; asked twice.
    let round = [Some(0x1A), Some(0x32), Some(0x12), Some(0x7E)];
    let answers = [&[Some(0x1A)][..], &round, &round].concat();
    let (result, reached) = send(&answers);
    assert!(result.is_err_and(|trouble| trouble.to_string() == "paper end: put in a new roll"));
    assert_eq!(reached, Reached { bytes: 100, may_be_whole: false });
}

/// Found by the fuzz target `ledger`: what a person saw of the second copy was entered for a unit that was printed long ago.
#[test]
fn a_copy_that_is_unknown_goes_before_a_settled_unit_of_the_same_name() {
    let mut ledger = Ledger::in_memory().expect("memory");
    let text = |text: &str| text.to_string();
    let making = Making { manual: text("digest"), document: text("HB-1"), ..Making::default() };
    let facts = Facts { copies: 2, ..Facts::alike("hut/heron.md", "80mm", making, [text("A0"), text("A0/2")]) };
    let begun = ledger.begin(&facts, false, Intent::Continue).expect("a run");
    let second = StripName { unit: text("A0"), copy: 2 };
    for todo in &begun.todo {
        let state = if todo.name == second { State::Unknown } else { State::Printed };
        ledger.sending(todo, &facts, "tcp://printer").expect("entered");
        ledger.settle(todo, state, "", "tcp://printer", true).expect("entered");
    }
    let resolve = |ledger: &mut Ledger, verdict| -> Vec<StripName> {
        ledger.resolve("A0/2", verdict, None).expect("it is there").into_iter().map(|located| located.name).collect()
    };
    assert_eq!(resolve(&mut ledger, Verdict::Missing), [second]);
    let states: Vec<State> = ledger.summary().expect("readable").runs[0].strips.iter().map(|strip| strip.state).collect();
    assert_eq!(states, [State::Printed, State::Missing, State::Printed, State::Printed]);
    // With nothing unknown the unit of exactly this name is meant, all its copies.
    let both = [1, 2].map(|copy| StripName { unit: text("A0/2"), copy });
    assert_eq!(resolve(&mut ledger, Verdict::Printed), both);
}
