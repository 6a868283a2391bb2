//! A program that is killed at any moment leaves `unknown` at worst.

use super::person::{CALM, capabilities, command, compare, settle};
use super::printer::TestPrinter;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::Duration;
use stripling::send::{Ending, Fence, Ledger};

const UNITS: u16 = 6;
const LEDGER: &str = "STRIPLING_TEST_LEDGER";
const ADDRESS: &str = "STRIPLING_TEST_ADDRESS";

/// Prints `UNITS` units on the printer that the environment names, or on one of its own: this is what the other tests kill.
#[test]
fn a_run_in_a_process_of_its_own() {
    let folder = tempfile::tempdir().expect("a folder of this test");
    let own = TestPrinter::on_network(None);
    let ledger = std::env::var(LEDGER).map_or_else(|_| folder.path().join("run.db"), Into::into);
    let address = std::env::var(ADDRESS).unwrap_or_else(|_| own.address().to_owned());
    let report = command(&ledger, &address, &capabilities(true, Fence::Paper), CALM, UNITS).expect("a run");
    assert!(matches!(report.ending, Ending::Done), "{:?}", report.ending);
    assert_eq!(report.printed + report.printed_before, usize::from(UNITS));
}

fn start(ledger: &Path, address: &str) -> Child {
    Command::new(std::env::current_exe().expect("this program has a path"))
        .args(["--exact", "send::kill::a_run_in_a_process_of_its_own", "--test-threads=1"])
        .env(LEDGER, ledger)
        .env(ADDRESS, address)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .expect("this program can be started")
}

/// Kills until `kills` processes were killed, each at a moment of its own; a job of `UNITS` strips is finished and the next
/// begun as often as it takes.
fn kill(kills: usize, seed: u64) {
    let mut seed = seed;
    let (mut killed, mut jobs, mut asked, mut unscathed) = (0, 0, 0, 0);
    while killed < kills {
        jobs += 1;
        let printer = TestPrinter::on_network(None);
        printer.keeps_half_commands(jobs % 2 == 0);
        let folder = tempfile::tempdir().expect("a folder of this test");
        let path = folder.path().join("run.db");
        loop {
            let mut child = start(&path, printer.address());
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            std::thread::sleep(Duration::from_micros((seed >> 33) % 260_000));
            let ended = child.try_wait().expect("a child of ours").is_some();
            child.kill().expect("a child of ours");
            child.wait().expect("a child of ours");
            killed += usize::from(!ended);
            unscathed += usize::from(ended);
            printer.wait_until_idle();
            let mut ledger = Ledger::open(&path).expect("no lock is left behind");
            compare(&ledger, &printer, "after a kill");
            asked += settle(&mut ledger, &printer);
            let summary = ledger.summary().expect("a summary");
            if summary.runs.first().is_some_and(|run| run.counts.printed == usize::from(UNITS)) {
                break;
            }
            if killed >= kills {
                drop(ledger);
                let report = command(&path, printer.address(), &capabilities(true, Fence::Paper), CALM, UNITS).expect("a run");
                assert!(matches!(report.ending, Ending::Done), "{:?}", report.ending);
                break;
            }
        }
        for unit in 1..=UNITS {
            assert_eq!(printer.whole(unit), 1, "unit {unit} of job {jobs}");
        }
    }
    println!(
        "killed {killed} times over {jobs} jobs of {UNITS} strips; {unscathed} processes ended first; person asked {asked} times"
    );
    assert!(asked > 0 || kills < 50, "with so many kills some must fall into a strip");
}

#[test]
fn killed_15_times() {
    kill(15, 3);
}

#[test]
#[ignore = "takes a minute: tests/run"]
fn killed_200_times() {
    kill(200, 4);
}

#[test]
fn a_second_process_is_refused_while_the_first_prints() {
    let printer = TestPrinter::on_network(None);
    let folder = tempfile::tempdir().expect("a folder of this test");
    let path = folder.path().join("run.db");
    let ledger = Ledger::open(&path).expect("a new ledger");
    let ended = start(&path, printer.address()).wait().expect("a child of ours");
    assert!(!ended.success(), "it should have been refused");
    assert!(printer.everything().is_empty(), "it has sent nothing");
    drop(ledger);
    assert!(start(&path, printer.address()).wait().expect("a child of ours").success());
    assert!((1..=UNITS).all(|unit| printer.whole(unit) == 1));
}
