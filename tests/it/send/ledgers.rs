//! What the ledger's file holds, who may look at it, and what it answers when manuals, units and runs change.

use super::person::{facts, making};
use std::collections::BTreeMap;
use std::process::{Command, Stdio};
use std::sync::Arc;
use std::time::{Duration, Instant};
use stripling::send::destination::Progress;
use stripling::send::{
    self, Destination, Facts, Intent, Ledger, Making, Order, Outcome, Report, State, StripBytes, StripName, Trouble, UnitFacts,
    Verdict, ledger,
};

/// Takes every strip and says that it is printed, but breaks off at the one named.
struct Willing {
    breaks_at: Option<&'static str>,
}

impl Destination for Willing {
    fn name(&self) -> &str {
        "tcp://willing"
    }

    fn ready(&mut self, _: &StripBytes, _: bool, _: &mut dyn FnMut(Progress)) -> Result<(), Trouble> {
        Ok(())
    }

    fn send(&mut self, label: &str, _: &StripBytes, _: &mut dyn FnMut(Progress)) -> Outcome {
        match self.breaks_at == Some(label) {
            true => Outcome::Missing { trouble: Trouble::Closed { at: "tcp://willing".to_owned() } },
            false => Outcome::Printed,
        }
    }

    fn finish(&mut self) {}
}

type Halt = send::Halt<std::convert::Infallible>;

fn print(ledger: &mut Ledger, facts: &Facts, intent: Intent, breaks_at: Option<&'static str>) -> Result<Report, Halt> {
    let order = Order { intent, ..Order::new(facts.clone()) };
    let mut make = |_: &send::Job| Ok(StripBytes::whole(vec![1]));
    send::run(ledger, &mut Willing { breaks_at }, &order, &mut make, &mut |_| {})
}

fn refusal(result: Result<Report, Halt>) -> ledger::Error {
    match result {
        Err(send::Halt::Ledger(error)) => error,
        other => panic!("the ledger should have refused: {other:?}"),
    }
}

fn named(parts: &[(&str, &str)]) -> BTreeMap<String, String> {
    parts.iter().map(|(name, value)| ((*name).to_owned(), (*value).to_owned())).collect()
}

/// A manual of two parts; its digest is what they hold.
fn made(revision: &str, text: &str, picture: &str) -> Arc<Making> {
    let parts = named(&[("heron.md", text), ("front.jpg", picture)]);
    Arc::new(Making { parts, texts: vec!["heron.md".to_owned()], ..making(&format!("{text} {picture}"), revision) })
}

fn unit(number: u32, key: &str, making: &Arc<Making>, text: &str, plug: &str) -> UnitFacts {
    UnitFacts { key: key.to_owned(), number, making: making.clone(), text: text.to_owned(), values: named(&[("plug", plug)]) }
}

fn table(units: Vec<UnitFacts>) -> Facts {
    Facts { units, ..facts(0) }
}

#[test]
fn a_copy_of_the_file_holds_all_that_was_entered_while_the_run_goes_on() {
    let folder = tempfile::tempdir().expect("a folder of this test");
    let (path, copy) = (folder.path().join("run.db"), folder.path().join("copy.db"));
    let mut open = Ledger::open(&path).expect("a new ledger");
    print(&mut open, &facts(25), Intent::Continue, None).expect("a run");
    // No more than what a kill, a backup or a `git add` takes along.
    std::fs::copy(&path, &copy).expect("copied");
    let summary = Ledger::open(&copy).expect("a ledger").summary().expect("a summary");
    assert_eq!(summary.runs.first().map(|run| run.counts.printed), Some(25));
    drop(open);
    let left: Vec<_> = std::fs::read_dir(folder.path()).expect("read").flatten().map(|entry| entry.file_name()).collect();
    assert_eq!(left.len(), 2, "{left:?}");
}

#[test]
fn a_ledger_is_looked_at_without_a_change_and_while_it_is_printed_with() {
    let folder = tempfile::tempdir().expect("a folder of this test");
    let path = folder.path().join("run.db");
    let mut open = Ledger::open(&path).expect("a new ledger");
    print(&mut open, &facts(2), Intent::Continue, None).expect("a run");
    let before = std::fs::read(&path).expect("read");
    let looked = Ledger::look(&path).expect("it can be looked at");
    assert!(looked.is_under_way());
    assert_eq!(looked.summary().expect("a summary").runs[0].counts.printed, 2);
    drop((looked, open));
    assert_eq!(std::fs::read(&path).expect("read"), before);
    assert!(!Ledger::look(&path).expect("it can be looked at").is_under_way());
    // An empty file may be what is left of a ledger: it is not taken for a new one, nor written to.
    let empty = folder.path().join("empty.db");
    std::fs::write(&empty, "").expect("written");
    for refused in [Ledger::open(&empty), Ledger::look(&empty)] {
        assert!(matches!(refused.err(), Some(ledger::Error::Empty { .. })));
    }
    assert_eq!(std::fs::metadata(&empty).expect("there").len(), 0);
}

#[test]
fn a_key_in_several_runs_is_settled_in_the_one_that_is_named() {
    let mut ledger = Ledger::in_memory().expect("memory");
    let other = Facts { file: "wren/wren.md".to_owned(), ..Facts::alike("", "80mm", making("77", "A"), ["1".to_owned()]) };
    let other = Facts {
        units: vec![UnitFacts {
            making: Arc::new(Making { document: "WRN".to_owned(), ..making("77", "A") }),
            ..other.units[0].clone()
        }],
        ..other
    };
    print(&mut ledger, &facts(1), Intent::Continue, None).expect("a run");
    print(&mut ledger, &other, Intent::Continue, None).expect("another manual in the same ledger is another run");
    let error = ledger.resolve("1", Verdict::Missing, None).expect_err("it is in two runs");
    assert!(error.to_string().contains("run 1, HRN-QS revision C (heron/heron.md, en); run 2, WRN revision A"), "{error}");
    assert!(error.hint().is_some_and(|hint| hint.contains("--run")));
    let settled = ledger.resolve("1", Verdict::Missing, Some(2)).expect("one is named");
    assert_eq!(settled.iter().map(|located| (located.run, located.document.as_str())).collect::<Vec<_>>(), [(2, "WRN")]);
    let states: Vec<State> = ledger.summary().expect("a summary").runs.iter().map(|run| run.strips[0].state).collect();
    assert_eq!(states, [State::Printed, State::Missing]);
}

#[test]
fn a_row_that_changed_after_its_strip_was_printed_is_named() {
    let mut ledger = Ledger::in_memory().expect("memory");
    let making = made("C", "text", "picture");
    let before = table(vec![unit(1, "X-1", &making, "for EU", "EU"), unit(2, "X-2", &making, "for EU", "EU")]);
    print(&mut ledger, &before, Intent::Continue, Some("X-2")).expect("a run");
    let after = table(vec![unit(1, "X-1", &making, "for UK", "UK"), unit(2, "X-2", &making, "for UK", "UK")]);
    let error = refusal(print(&mut ledger, &after, Intent::Continue, None));
    assert!(error.to_string().contains(r#"this strip was printed: X-1 (plug: "EU" then, "UK" now)"#), "{error}");
    // Once the person has said that it may stay, it is not asked about again.
    assert_eq!(print(&mut ledger, &after, Intent::GoOn, None).expect("a run").printed, 1);
    assert_eq!(print(&mut ledger, &after, Intent::Continue, None).expect("a run").printed_before, 2);
    // A column that the manual does not show is nobody's business.
    let shelf = table(vec![unit(1, "X-1", &making, "for UK", "shelf"), unit(2, "X-2", &making, "for UK", "shelf")]);
    assert_eq!(print(&mut ledger, &shelf, Intent::Continue, None).expect("a run").printed_before, 2);
}

#[test]
fn a_change_is_told_by_name_and_only_where_it_reaches() {
    let mut ledger = Ledger::in_memory().expect("memory");
    let before = made("C", "text", "picture");
    print(&mut ledger, &table(vec![unit(1, "X-1", &before, "for EU", "EU")]), Intent::Continue, None).expect("a run");
    // A unit is added that is the first to reach an include; the text of the first one is what it was.
    let parts = named(&[("heron.md", "text"), ("front.jpg", "picture"), ("uk.md", "warranty")]);
    let wider = Arc::new(Making { parts, manual: "wider".to_owned(), ..(*before).clone() });
    let added = table(vec![unit(1, "X-1", &before, "for EU", "EU"), unit(2, "X-2", &wider, "for UK", "UK")]);
    assert_eq!(print(&mut ledger, &added, Intent::Continue, None).expect("the manual has not changed").printed, 1);
    let replaced = made("C", "text", "another picture");
    let error = refusal(print(&mut ledger, &table(vec![unit(1, "X-1", &replaced, "for EU", "EU")]), Intent::Continue, None));
    assert!(error.to_string().contains("front.jpg would be another for 1 strip"), "{error}");
}

#[test]
fn keys_that_vanish_or_are_renamed_are_named_and_numbers_are_kept() {
    let mut ledger = Ledger::in_memory().expect("memory");
    let making = made("C", "text", "picture");
    let row = |number, key| unit(number, key, &making, key, "EU");
    print(&mut ledger, &table(vec![row(1, "X-1"), row(2, "X-2"), row(3, "X-3")]), Intent::Continue, Some("X-3")).expect("a run");
    let renamed = table(vec![row(1, "X-1"), row(2, "X-02"), row(3, "X-3")]);
    let error = refusal(print(&mut ledger, &renamed, Intent::Continue, None));
    assert!(error.to_string().contains("X-2 is printed and no longer in the table of units, and X-02 is new"), "{error}");
    // Rows above the printed ones: nobody gets a number that another unit has.
    let inserted = table(vec![row(1, "X-0"), row(2, "X-1"), row(3, "X-2")]);
    let begun = ledger.would_begin(&inserted, false, Intent::Continue).expect("nothing is in its way");
    assert_eq!(begun.todo.iter().map(|todo| (todo.name.unit.as_str(), todo.number)).collect::<Vec<_>>(), [("X-0", 4)]);
    let x3 = StripName { unit: "X-3".to_owned(), copy: 1 };
    assert_eq!(begun.gone, [(x3.clone(), State::Missing)]);
    assert_eq!(print(&mut ledger, &inserted, Intent::Continue, None).expect("a run").printed, 1);
    let summary = ledger.summary().expect("a summary");
    let gone: Vec<&str> = summary.runs[0].strips.iter().filter(|strip| !strip.listed).map(|strip| strip.unit.as_str()).collect();
    assert_eq!(gone, ["X-3"]);
}

#[test]
fn every_strip_carries_its_own_header_and_scrap_leaves_a_trace() {
    let mut ledger = Ledger::in_memory().expect("memory");
    let (a, b) = (made("A", "text", "picture"), made("B", "text", "picture"));
    let of = |number, key, making| unit(number, key, making, key, "EU");
    let run = table(vec![of(1, "X-1", &a), of(2, "X-2", &a), of(3, "X-3", &b), of(4, "X-4", &b)]);
    print(&mut ledger, &run, Intent::Continue, Some("X-4")).expect("a run");
    let c = made("C", "text", "picture");
    let later = table(vec![of(1, "X-1", &a), of(2, "X-2", &a), of(3, "X-3", &b), of(4, "X-4", &c)]);
    print(&mut ledger, &later, Intent::Continue, None).expect("a run");
    let summary = ledger.summary().expect("a summary");
    let carried = summary.runs[0]
        .carried
        .iter()
        .map(|kind| (kind.revision.as_str(), kind.strips.iter().map(|name| name.unit.as_str()).collect::<Vec<_>>().join(" ")));
    let wanted = [("A", "X-1 X-2"), ("B", "X-3"), ("C", "X-4")].map(|(revision, keys)| (revision, keys.to_owned()));
    assert_eq!(carried.collect::<Vec<_>>(), wanted);
    let scrap: Vec<String> = summary.runs[0].scrap.iter().map(|scrap| format!("{} {}", scrap.name, scrap.revision)).collect();
    assert_eq!(scrap, ["X-4 B"]);
}

#[cfg(unix)]
#[test]
fn a_wish_of_the_system_ends_the_run_in_order_with_its_own_exit_code() {
    let folder = tempfile::tempdir().expect("a folder of this test");
    let manual = folder.path().join("heron.md");
    std::fs::write(&manual, "+++\ntitle = \"Heron\"\n+++\n\n# Heron\n\nOne bird.\n").expect("written");
    for signal in ["TERM", "HUP", "INT"] {
        // Nobody listens there: the run waits for a printer.
        let mut child = Command::new(env!("CARGO_BIN_EXE_stripling"))
            .args(["print", "heron.md", "--to", "tcp://127.0.0.1:9", "--ledger", "run.db"])
            .current_dir(folder.path())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the program");
        let mut heard = std::io::BufReader::new(child.stderr.take().expect("piped"));
        let mut told = String::new();
        while !told.contains("waiting") {
            assert!(std::io::BufRead::read_line(&mut heard, &mut told).expect("read") > 0, "it ended: {told}");
        }
        let id = child.id().to_string();
        assert!(Command::new("kill").args([&format!("-{signal}"), &id]).status().expect("kill").success());
        let until = Instant::now() + Duration::from_secs(20);
        let status = loop {
            if let Some(status) = child.try_wait().expect("a child of ours") {
                break status;
            }
            assert!(Instant::now() < until, "{signal} is not heard");
            std::thread::sleep(Duration::from_millis(10));
        };
        assert_eq!(status.code(), Some(6), "{signal}");
    }
}

#[test]
fn a_ledger_that_is_not_there_is_an_input_and_a_key_may_begin_with_a_hyphen() {
    let folder = tempfile::tempdir().expect("a folder of this test");
    drop(Ledger::open(&folder.path().join("run.db")).expect("a new ledger"));
    let code = |arguments: &[&str]| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_stripling"));
        let told = command.arg("ledger").args(arguments).current_dir(folder.path()).output().expect("the program");
        (told.status.code(), String::from_utf8_lossy(&told.stderr).into_owned())
    };
    let (missing, words) = code(&["none.db"]);
    assert_eq!(missing, Some(3), "{words}");
    let (refused, words) = code(&["run.db", "--resolve", "-x=printed"]);
    assert_eq!(refused, Some(5), "{words}");
    assert!(words.contains("no strip of this ledger is called -x"), "{words}");
}

/// A print queue whose `lp` says this and ends so; how often it was called, and what the ledger says then.
#[cfg(unix)]
fn queue_that_says(words: &str, code: u8) -> (usize, State) {
    use std::os::unix::fs::PermissionsExt;
    let folder = tempfile::tempdir().expect("a folder of this test");
    let calls = folder.path().join("calls");
    let programs = [
        ("lp", format!("cat >/dev/null; echo once >> '{}'; echo '{words}'; exit {code}", calls.display())),
        ("lpstat", "exit 0".to_owned()),
    ];
    for (name, script) in programs {
        let path = folder.path().join(name);
        std::fs::write(&path, format!("#!/bin/sh\n{script}\n")).expect("written");
        std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o755)).expect("made a program");
    }
    std::fs::write(folder.path().join("heron.md"), "# Heron\n\nOne bird.\n").expect("written");
    let path = std::env::join_paths(
        std::iter::once(folder.path().to_path_buf()).chain(std::env::split_paths(&std::env::var_os("PATH").unwrap_or_default())),
    );
    let told = Command::new(env!("CARGO_BIN_EXE_stripling"))
        .args(["print", "heron.md", "--to", "queue:strips", "--ledger", "run.db", "--wait", "2"])
        .env("PATH", path.expect("a path"))
        .current_dir(folder.path())
        .output()
        .expect("the program");
    assert_eq!(told.status.code(), Some(4), "{}", String::from_utf8_lossy(&told.stderr));
    let summary = Ledger::look(&folder.path().join("run.db")).and_then(|ledger| ledger.summary()).expect("a summary");
    (std::fs::read_to_string(&calls).unwrap_or_default().lines().count(), summary.runs[0].strips[0].state)
}

#[cfg(unix)]
#[test]
fn a_queue_that_speaks_otherwise_gets_no_strip_twice() {
    assert_eq!(queue_that_says("Auftrag ist strips-12", 0), (1, State::Unknown));
    assert_eq!(queue_that_says("", 0), (1, State::Unknown));
    // It says itself that it failed, and no job is there: certain, and tried again.
    let (calls, state) = queue_that_says("lp: Error - The printer or class does not exist.", 1);
    assert!(calls > 1, "{calls}");
    assert_eq!(state, State::Missing);
}

#[test]
fn a_ledger_of_the_version_before_is_brought_up_to_date_with_all_that_it_knows() {
    let folder = tempfile::tempdir().expect("a folder of this test");
    let path = folder.path().join("run.db");
    print(&mut Ledger::open(&path).expect("a new ledger"), &facts(3), Intent::Continue, Some("3")).expect("a run");
    // Version 2 knew no benches and no boxes.
    let older =
        "ALTER TABLE strip DROP COLUMN holder; ALTER TABLE strip DROP COLUMN attempt; ALTER TABLE strip DROP COLUMN boxed;
         ALTER TABLE history DROP COLUMN bench; DROP TABLE bench; PRAGMA user_version = 2;";
    rusqlite::Connection::open(&path).expect("the ledger").execute_batch(older).expect("as it was");
    let summary = Ledger::look(&path).and_then(|ledger| ledger.summary()).expect("it is brought up to date");
    let states: Vec<State> = summary.runs[0].strips.iter().map(|strip| strip.state).collect();
    assert_eq!(states, [State::Printed, State::Printed, State::Missing]);
    assert!(summary.benches.is_empty() && summary.runs[0].strips.iter().all(|strip| strip.boxed.is_none()));
    let mut ledger = Ledger::open(&path).expect("the ledger");
    let run = ledger.begin_packing(&facts(3), false, Intent::Continue).expect("the same run").run.expect("entered");
    assert_eq!(run, 1);
    assert_eq!(ledger.box_up(run, "1").expect("boxed"), ledger::Boxed::Entered);
    assert!(matches!(ledger.box_up(run, "1").expect("looked"), ledger::Boxed::Already { .. }));
    assert_eq!(ledger.box_up(run, "3").expect("looked"), ledger::Boxed::Not(State::Missing));
    // And what is called missing by hand lies in no box any more.
    ledger.resolve("1", Verdict::Missing, None).expect("a strip");
    assert!(ledger.standing(run).expect("read").iter().all(|standing| standing.boxed.is_none()));
}
