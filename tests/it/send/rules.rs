//! What holds when nothing goes wrong, and the words when something does.

use super::person::{CALM, TIMES, capabilities, command, facts, making, print_all, settings, states};
use super::printer::{BANDS, Fault, TestPrinter, When, strip};
use std::convert::Infallible;
use std::net::TcpListener;
use std::time::{Duration, Instant};
use stripling::lengths::Mm;
use stripling::send::{
    self, CameOut, Capabilities, Ending, Event, Facts, Fence, Halt, Intent, Ledger, Order, Settings, State, StripBytes, Verdict,
    ledger,
};

fn folder() -> tempfile::TempDir {
    tempfile::tempdir().expect("a folder of this test")
}

fn refusal(result: Result<send::Report, Halt<Infallible>>) -> ledger::Error {
    match result {
        Err(Halt::Ledger(error)) => error,
        other => panic!("the ledger should have refused: {other:?}"),
    }
}

#[test]
fn a_healthy_printer_prints_every_strip_on_a_piece_of_its_own() {
    for (status, fence) in [(true, Fence::Paper), (true, Fence::Process), (false, Fence::Paper), (false, Fence::Process)] {
        let printer = TestPrinter::on_network(None);
        let folder = folder();
        let story = print_all(&printer, &folder.path().join("run.db"), &capabilities(status, fence), CALM, 5, "healthy");
        assert_eq!((story.commands, story.asked, story.again), (1, 0, 0), "{status} {fence:?}: {:?}", story.words);
        assert_eq!((printer.clean_pieces(), printer.garbage()), (5, 0), "{status} {fence:?}");
    }
}

#[test]
fn a_strip_is_called_printed_only_when_it_is_on_paper() {
    for (status, fence) in [(true, Fence::Paper), (true, Fence::Process), (false, Fence::Paper), (false, Fence::Process)] {
        let printer = TestPrinter::on_network(None);
        let mut ledger = Ledger::in_memory().expect("memory");
        let order = Order::new(facts(4));
        let mut destination =
            send::open(printer.address(), settings(&capabilities(status, fence), CALM, &order.stop)).expect("an address");
        let make = &mut |job: &send::Job| Ok::<_, Infallible>(strip(job.number as u16));
        let report = send::run(&mut ledger, destination.as_mut(), &order, make, &mut |event| {
            if let Event::Settled { job, state: State::Printed, .. } = event {
                // Its mechanism is slower than the line: this is so at once only if its answer was waited for.
                assert_eq!(printer.clean_pieces(), job.number as usize, "{status} {fence:?}");
            }
        });
        assert_eq!(report.expect("a run").printed, 4);
    }
}

#[test]
fn status_questions_stand_between_commands_only() {
    let printer = TestPrinter::on_network(None);
    let folder = folder();
    print_all(&printer, &folder.path().join("run.db"), &capabilities(true, Fence::Paper), CALM, 2, "healthy");
    let mut bytes = printer.everything();
    // With the questions taken out, the strips' bytes are there in one piece: none was cut up.
    for question in [&[0x10, 0x04, 1][..], &[0x10, 0x04, 2], &[0x10, 0x04, 3], &[0x10, 0x04, 4], &[0x1D, 0x72, 1]] {
        while let Some(at) = bytes.windows(3).position(|three| three == question) {
            bytes.drain(at..at + 3);
        }
    }
    assert_eq!(bytes, [strip(1).joined(), strip(2).joined()].concat());
    // And none stands inside a chunk.
    let everything = printer.everything();
    for chunk in strip(2).chunks() {
        assert!(everything.windows(chunk.len()).any(|window| window == chunk.as_slice()));
    }
}

#[test]
fn a_printer_that_can_t_answer_is_printed_to_and_never_called_printed() {
    let printer = TestPrinter::on_network(None);
    let folder = folder();
    let path = folder.path().join("run.db");
    let silent = capabilities(false, Fence::None);
    let report = command(&path, printer.address(), &silent, CALM, 3).expect("a run");
    assert!(matches!(report.ending, Ending::Done));
    assert_eq!((report.printed, report.unknown.len()), (0, 3));
    printer.wait_until_idle();
    assert_eq!((1..=3).map(|unit| printer.whole(unit)).collect::<Vec<_>>(), [1, 1, 1]);
    let error = refusal(command(&path, printer.address(), &silent, CALM, 3));
    assert!(matches!(&error, ledger::Error::Unresolved(names) if names.len() == 3), "{error}");
    assert!(error.to_string().contains("1, 2, 3") && error.hint().is_some_and(|hint| hint.contains("--resolve")), "{error}");
    let mut ledger = Ledger::open_existing(&path).expect("the ledger");
    assert_eq!(ledger.resolve("*", Verdict::Printed, None).map(|names| names.len()).ok(), Some(3));
    drop(ledger);
    assert_eq!(command(&path, printer.address(), &silent, CALM, 3).expect("nothing to do").printed_before, 3);
    assert_eq!((1..=3).map(|unit| printer.whole(unit)).collect::<Vec<_>>(), [1, 1, 1]);
}

#[test]
fn a_paper_end_in_number_17_of_40_is_told_and_the_same_command_goes_on() {
    let printer = TestPrinter::on_network(Some((Fault::PaperEnd, When::Band(16 * BANDS + 5))));
    let folder = folder();
    let path = folder.path().join("run.db");
    let capabilities = capabilities(true, Fence::Paper);
    let report = command(&path, printer.address(), &capabilities, CALM, 40).expect("a run");
    let Ending::Trouble(trouble) = &report.ending else { panic!("{:?}", report.ending) };
    assert_eq!(trouble.to_string(), "paper end: put in a new roll");
    assert_eq!((report.printed, report.missing.len(), report.unknown.len(), report.left), (16, 1, 0, 24));
    assert_eq!(report.missing[0].0.unit, "17");
    // Without new paper the same command says so again and touches nothing.
    let report = command(&path, printer.address(), &capabilities, CALM, 40).expect("a run");
    assert!(matches!(&report.ending, Ending::Trouble(trouble) if trouble.kind() == "paper end"));
    assert_eq!((report.printed, report.missing.len()), (0, 0));
    printer.repair();
    let report = command(&path, printer.address(), &capabilities, CALM, 40).expect("a run");
    assert!(matches!(report.ending, Ending::Done), "{:?}", report.ending);
    assert_eq!((report.printed_before, report.printed, report.left), (16, 24, 0));
    assert!((1..=40).all(|unit| printer.whole(unit) == 1));
}

#[test]
fn a_patient_run_waits_at_the_printer_and_goes_on_by_itself() {
    let printer = TestPrinter::on_network(Some((Fault::CoverOpen, When::Band(BANDS + 3))));
    let folder = folder();
    let mut ledger = Ledger::open(&folder.path().join("run.db")).expect("a new ledger");
    let order = Order { patience: Duration::from_secs(20), look: Duration::from_millis(20), ..Order::new(facts(3)) };
    let mut destination =
        send::open(printer.address(), settings(&capabilities(true, Fence::Process), CALM, &order.stop)).expect("an address");
    let mut words = Vec::new();
    let make = &mut |job: &send::Job| Ok::<_, Infallible>(strip(job.number as u16));
    let report = send::run(&mut ledger, destination.as_mut(), &order, make, &mut |event| {
        if let Event::Waiting { trouble, .. } = event {
            words.push(trouble.to_string());
            printer.repair();
        }
    })
    .expect("a run");
    assert!(matches!(report.ending, Ending::Done), "{:?}", report.ending);
    assert_eq!((report.printed, report.missing.len()), (3, 1));
    assert_eq!(words, ["cover open: close it until it clicks"]);
    assert!((1..=3).all(|unit| printer.whole(unit) == 1));
}

#[test]
fn ctrl_c_ends_at_the_strip_s_end_and_twice_at_once() {
    for (times, printed, missing) in [(1, 2, 0), (2, 1, 1)] {
        let printer = TestPrinter::on_network(None);
        let folder = folder();
        let path = folder.path().join("run.db");
        let mut ledger = Ledger::open(&path).expect("a new ledger");
        let order = Order::new(facts(4));
        let capabilities = capabilities(true, Fence::Paper);
        let mut destination = send::open(printer.address(), settings(&capabilities, CALM, &order.stop)).expect("an address");
        let make = &mut |job: &send::Job| Ok::<_, Infallible>(strip(job.number as u16));
        let mut asked = false;
        let report = send::run(&mut ledger, destination.as_mut(), &order, make, &mut |event| {
            if matches!(event, Event::Sent { job, bytes, .. } if job.number == 2 && bytes > 300)
                && !std::mem::replace(&mut asked, true)
            {
                (0..times).for_each(|_| {
                    order.stop.ask();
                });
            }
        })
        .expect("a run");
        assert!(matches!(report.ending, Ending::Asked), "{:?}", report.ending);
        assert_eq!((report.printed, report.missing.len(), report.unknown.len()), (printed, missing, 0), "asked {times} times");
        drop(ledger);
        print_all(&printer, &path, &capabilities, CALM, 4, "after Ctrl-C");
    }
}

#[test]
fn nothing_waits_longer_than_its_limit() {
    // A listener that takes the connection and never reads a byte.
    let listener = TcpListener::bind("127.0.0.1:0").expect("a port of the loopback");
    let address = format!("tcp://{}", listener.local_addr().expect("its address"));
    let folder = folder();
    let started = Instant::now();
    let report = command(&folder.path().join("a.db"), &address, &capabilities(true, Fence::Paper), TIMES, 1).expect("a run");
    assert!(
        matches!(&report.ending, Ending::Trouble(trouble) if trouble.to_string().contains("nothing answers")),
        "{:?}",
        report.ending
    );
    assert_eq!(report.left, 1);
    // One that can't answer gets more than any socket holds.
    let mut ledger = Ledger::open(&folder.path().join("b.db")).expect("a new ledger");
    let order = Order::new(facts(1));
    let mut destination =
        send::open(&address, settings(&capabilities(false, Fence::None), TIMES, &order.stop)).expect("an address");
    let make = &mut |_: &send::Job| Ok::<_, Infallible>(StripBytes::whole(vec![0; 40_000_000]));
    let report = send::run(&mut ledger, destination.as_mut(), &order, make, &mut |_| {}).expect("a run");
    assert!(matches!(&report.ending, Ending::Trouble(trouble) if trouble.kind() == "stalled"), "{:?}", report.ending);
    assert_eq!(states(&ledger)[&1], State::Unknown, "some of it may be on paper");
    // Nobody listens at all.
    drop(listener);
    let report = command(&folder.path().join("c.db"), &address, &capabilities(true, Fence::Paper), TIMES, 1).expect("a run");
    assert!(
        matches!(&report.ending, Ending::Trouble(trouble) if trouble.to_string().contains("cannot be reached")),
        "{:?}",
        report.ending
    );
    assert!(started.elapsed() < Duration::from_secs(20), "{:?}", started.elapsed());
}

#[test]
fn a_second_process_is_refused_in_words() {
    let folder = folder();
    let path = folder.path().join("run.db");
    let first = Ledger::open(&path).expect("a new ledger");
    let error = Ledger::open(&path).err().expect("the ledger is in use");
    assert!(matches!(error, ledger::Error::InUse { .. }) && error.to_string().contains("in use by another run"), "{error}");
    drop(first);
    Ledger::open(&path).expect("it is free again");
}

#[test]
fn files_that_are_no_ledger_are_refused_and_left_as_they_are() {
    let folder = folder();
    let text = folder.path().join("notes.txt");
    std::fs::write(&text, "Heron, 25 units, by Friday. ".repeat(60)).expect("a file of this test");
    let other = folder.path().join("other.db");
    rusqlite::Connection::open(&other).expect("a database").execute_batch("CREATE TABLE tea (cups INTEGER);").expect("a table");
    let newer = folder.path().join("newer.db");
    drop(Ledger::open(&newer).expect("a new ledger"));
    rusqlite::Connection::open(&newer).expect("the ledger").pragma_update(None, "user_version", 9).expect("a number");
    for path in [&text, &other, &newer] {
        let before = std::fs::read(path).expect("a file of this test");
        let error = Ledger::open(path).err().expect("it is no ledger of this version");
        assert!(matches!(error, ledger::Error::Foreign { .. } | ledger::Error::OtherVersion { found: 9, .. }), "{error}");
        assert_eq!(std::fs::read(path).expect("a file of this test"), before, "{}", path.display());
    }
    assert!(matches!(Ledger::open(folder.path()).err(), Some(ledger::Error::NoFile { .. })));
    assert!(matches!(Ledger::open_existing(&folder.path().join("none.db")).err(), Some(ledger::Error::NotThere { .. })));
}

#[test]
fn a_changed_manual_needs_a_word_and_the_ledger_shows_who_carries_what() {
    let printer = TestPrinter::on_network(Some((Fault::PaperEnd, When::Band(2 * BANDS + 3))));
    let folder = folder();
    let path = folder.path().join("run.db");
    let capabilities = capabilities(true, Fence::Paper);
    command(&path, printer.address(), &capabilities, CALM, 4).expect("a run");
    printer.repair();
    let keys = (1..=4).map(|unit| unit.to_string());
    let changed = Facts::alike("heron/heron.md", "80mm", making("77b0", "D"), keys);
    let print = |intent: Intent| {
        let mut ledger = Ledger::open(&path)?;
        let order = Order { intent, ..Order::new(changed.clone()) };
        let mut destination = send::open(printer.address(), settings(&capabilities, CALM, &order.stop)).expect("an address");
        let make = &mut |job: &send::Job| Ok::<_, Infallible>(strip(job.number as u16));
        send::run(&mut ledger, destination.as_mut(), &order, make, &mut |_| {})
    };
    let error = refusal(print(Intent::Continue));
    assert!(
        matches!(&error, ledger::Error::ManualChanged { before, now, printed: 2, .. } if before == "C" && now == "D"),
        "{error}"
    );
    assert_eq!(print(Intent::GoOn).expect("a run").printed, 2);
    let summary = Ledger::open(&path).expect("the ledger").summary().expect("a summary");
    let json = serde_json::to_value(&summary).expect("a summary is plain data");
    let carried: Vec<_> =
        summary.runs[0].carried.iter().map(|carried| (carried.revision.as_str(), carried.strips.len())).collect();
    assert_eq!(carried, [("C", 2), ("D", 2)]);
    assert_eq!(json["runs"][0]["counts"]["printed"], 4);
    assert_eq!(json["runs"][0]["strips"][3]["state"], "printed");
    assert_eq!(print(Intent::NewRun).expect("a run").printed, 4);
    assert!((1..=4).all(|unit| printer.whole(unit) == 2), "told to print every unit again");
}

#[test]
fn a_strip_that_is_printed_can_be_called_missing_by_hand_and_comes_again() {
    let printer = TestPrinter::on_network(None);
    let folder = folder();
    let path = folder.path().join("run.db");
    let capabilities = capabilities(true, Fence::Paper);
    command(&path, printer.address(), &capabilities, CALM, 3).expect("a run");
    let mut ledger = Ledger::open(&path).expect("the ledger");
    assert!(matches!(ledger.resolve("*", Verdict::Missing, None).err(), Some(ledger::Error::NothingUnknown)));
    assert!(matches!(ledger.resolve("9", Verdict::Missing, None).err(), Some(ledger::Error::NoSuchStrip(_))));
    ledger.resolve("2", Verdict::Missing, None).expect("a strip of this ledger");
    drop(ledger);
    assert_eq!(command(&path, printer.address(), &capabilities, CALM, 3).expect("a run").printed, 1);
    assert_eq!((1..=3).map(|unit| printer.whole(unit)).collect::<Vec<_>>(), [1, 2, 1]);
}

#[test]
fn copies_and_units_can_be_added_and_keys_can_t_repeat() {
    let mut ledger = Ledger::in_memory().expect("memory");
    let begun = ledger.begin(&facts(2), false, Intent::Continue).expect("a run");
    assert_eq!(begun.todo.len(), 2);
    let more = Facts { copies: 2, ..facts(3) };
    let names: Vec<String> =
        ledger.begin(&more, false, Intent::Continue).expect("a run").todo.iter().map(|todo| todo.name.to_string()).collect();
    assert_eq!(names, ["1", "1/2", "2", "2/2", "3", "3/2"]);
    let keys = ["A", "B", "A"].map(str::to_owned);
    let twice = Facts::alike("heron/heron.md", "80mm", making("5f3a", "C"), keys);
    assert!(
        matches!(ledger.begin(&twice, false, Intent::Continue).err(), Some(ledger::Error::RepeatedUnit(unit)) if unit == "A")
    );
    assert!(matches!(ledger.begin(&facts(0), false, Intent::Continue).err(), Some(ledger::Error::NoUnit)));
}

fn rehearsal(roll: &str, folder: &std::path::Path, ledger: &mut Ledger) -> send::Report {
    let order = Order::new(facts(25));
    let address = format!("rehearse:{}{roll}", folder.display());
    let printer = |bytes: &[u8]| Ok(CameOut { png: bytes.to_vec(), length: Mm::new(200.0) });
    let settings = Settings { pretend: Some(Box::new(printer)), stop: order.stop.clone(), ..Settings::default() };
    let mut destination = send::open(&address, settings).expect("an address");
    let make = &mut |job: &send::Job| Ok::<_, Infallible>(strip(job.number as u16));
    send::run(ledger, destination.as_mut(), &order, make, &mut |_| {}).expect("a run")
}

#[test]
fn a_rehearsal_with_a_short_roll_ends_goes_on_and_counts_for_nothing_real() {
    let folder = folder();
    let out = folder.path().join("out");
    let mut ledger = Ledger::in_memory().expect("memory");
    let report = rehearsal("?roll=3.3m", &out, &mut ledger);
    assert_eq!((report.printed, report.missing.len(), report.left), (16, 1, 9));
    assert!(matches!(&report.ending, Ending::Trouble(trouble) if trouble.kind() == "paper end"));
    let report = rehearsal("?roll=3.3m", &out, &mut ledger);
    assert_eq!((report.printed_before, report.printed, report.left), (16, 9, 0));
    assert_eq!(std::fs::read_dir(&out).expect("the folder was made").count(), 25);
    assert_eq!(std::fs::read(out.join("17.png")).expect("a strip"), strip(17).joined());
    assert_eq!(ledger.begin(&facts(25), false, Intent::Continue).expect("a real run").todo.len(), 25);
}

#[test]
fn a_file_takes_whole_strips_and_is_never_overwritten() {
    let folder = folder();
    let bytes = folder.path().join("strips.bin");
    let address = bytes.to_str().expect("a plain path").to_owned();
    let path = folder.path().join("run.db");
    let report = command(&path, &address, &Capabilities::default(), CALM, 2).expect("a run");
    assert!(matches!(report.ending, Ending::Done));
    assert_eq!((report.printed, report.unknown.len()), (0, 2));
    assert_eq!(std::fs::read(&bytes).expect("the file"), [strip(1).joined(), strip(2).joined()].concat());
    let refused = send::open(&address, Settings::default()).err().expect("it exists");
    assert!(refused.to_string().contains("exists already"), "{refused}");
    let mut ledger = Ledger::open(&path).expect("the ledger");
    ledger.resolve("*", Verdict::Printed, None).expect("both");
    assert!(ledger.has_sent_to(&send::place(&address)).expect("a question"));
    let order = Order::new(facts(3));
    let mut destination = send::open(&address, Settings { continuing: true, ..Settings::default() }).expect("it is added to");
    let make = &mut |job: &send::Job| Ok::<_, Infallible>(strip(job.number as u16));
    send::run(&mut ledger, destination.as_mut(), &order, make, &mut |_| {}).expect("a run");
    assert_eq!(std::fs::read(&bytes).expect("the file"), [strip(1).joined(), strip(2).joined(), strip(3).joined()].concat());
}

#[test]
fn what_is_no_printer_is_not_waited_at() {
    let folder = folder();
    let address = folder.path().join("none").join("x.bin").display().to_string();
    let mut ledger = Ledger::in_memory().expect("memory");
    let order = Order { patience: Duration::from_secs(600), ..Order::new(facts(1)) };
    let mut destination = send::open(&address, Settings { times: TIMES, ..Settings::default() }).expect("a name of a file");
    let make = &mut |job: &send::Job| Ok::<_, Infallible>(strip(job.number as u16));
    let report = send::run(&mut ledger, destination.as_mut(), &order, make, &mut |event| {
        assert!(!matches!(event, Event::Waiting { .. }), "nobody stands at a file");
    });
    let Ending::Trouble(trouble) = report.expect("a run").ending else { panic!("it was written") };
    assert!(trouble.to_string().contains("x.bin cannot be written (No such file"), "{trouble}");
}

#[cfg(target_os = "linux")]
#[test]
fn what_the_socket_has_not_sent_was_not_taken() {
    // A listener that takes the connection and never reads a byte: less than the system would hold for it.
    let listener = TcpListener::bind("127.0.0.1:0").expect("a port of the loopback");
    let address = format!("tcp://{}", listener.local_addr().expect("its address"));
    let mut ledger = Ledger::in_memory().expect("memory");
    let order = Order::new(facts(60));
    let mut destination =
        send::open(&address, settings(&capabilities(false, Fence::None), TIMES, &order.stop)).expect("an address");
    let make = &mut |_: &send::Job| Ok::<_, Infallible>(StripBytes::whole(vec![0; 42_000]));
    let report = send::run(&mut ledger, destination.as_mut(), &order, make, &mut |_| {}).expect("a run");
    assert!(matches!(&report.ending, Ending::Trouble(trouble) if trouble.kind() == "stalled"), "{:?}", report.ending);
    assert!(report.left > 0, "all of them were \u{201c}taken\u{201d}");
}

#[test]
fn a_strip_that_can_t_be_made_ends_the_run_and_leaves_the_ledger_in_order() {
    let printer = TestPrinter::on_network(None);
    let mut ledger = Ledger::in_memory().expect("memory");
    let order = Order::new(facts(3));
    let mut destination =
        send::open(printer.address(), settings(&capabilities(true, Fence::Paper), CALM, &order.stop)).expect("an address");
    let make = &mut |job: &send::Job| {
        if job.number == 2 { Err("no picture") } else { Ok(strip(job.number as u16)) }
    };
    let halt = send::run(&mut ledger, destination.as_mut(), &order, make, &mut |_| {}).expect_err("the second can't be made");
    assert!(matches!(halt, Halt::Strip { name, error: "no picture" } if name.unit == "2"));
    assert_eq!(states(&ledger).into_values().collect::<Vec<_>>(), [State::Printed, State::Queued, State::Queued]);
}
