//! The way to the database fails, the database fails, two benches want one unit.

use super::network::Network;
use super::program::{LEASE, Running, Shop, code, key};
use super::server::Server;
use crate::send::printer::{Fault, TestPrinter};
use std::collections::BTreeMap;
use std::path::Path;
use std::process::Stdio;
use std::time::{Duration, Instant};
use stripling::send::ledger::{self, Claim, Opening};
use stripling::send::{Facts, Intent, Ledger, Making, State};

const SOON: Duration = Duration::from_secs(20);

fn facts(units: usize) -> Facts {
    let making = Making { manual: "5f3a".into(), document: "HRN-QS".into(), ..Making::default() };
    Facts::alike("heron/heron.md", "80mm", making, (1..=units).map(|unit| format!("U{unit:04}")))
}

fn states(address: &str) -> Vec<State> {
    let summary = Ledger::look(Path::new(address)).and_then(|ledger| ledger.summary()).expect("a summary");
    summary.runs[0].strips.iter().map(|strip| strip.state).collect()
}

/// Scans until the unit is taken: what is not marked is scanned once more.
fn pack(bench: &mut Running, unit: usize) {
    let end = Instant::now() + Duration::from_secs(60);
    bench.scan(&key(unit));
    loop {
        assert!(Instant::now() < end, "{} is never packed", key(unit));
        match bench.until(&["SCAN STRIP", "ALL DONE", "IN THE BOX", "GO ON"], Duration::from_secs(50))[1].as_str() {
            "SCAN STRIP" => {
                bench.scan(&code(unit));
            }
            "GO ON" => {
                std::thread::sleep(Duration::from_millis(800));
                bench.scan(&key(unit));
            }
            _ => return,
        }
    }
}

/// Waits until a strip's own bytes arrive: more than a printer is asked before them.
fn until_it_prints(printer: &TestPrinter) {
    let (before, end) = (printer.received(), Instant::now() + SOON);
    while printer.received() < before + 1000 {
        assert!(Instant::now() < end, "no strip is sent");
        std::thread::sleep(Duration::from_millis(1));
    }
}

#[test]
#[ignore = "needs postgresql: tests/run"]
fn the_network_goes_for_a_second_for_long_and_for_good() {
    let (shop, server) = (Shop::of(6), Server::start());
    let (network, printer) = (Network::to(server.port), TestPrinter::on_network(None));
    let mut bench = Running::start(shop.bench(&server.address(network.port), &[&printer], "far"));
    bench.until(&["SCAN A UNIT"], SOON);
    pack(&mut bench, 1);
    // A second: nobody notices.
    network.cut(true);
    bench.scan(&key(2));
    std::thread::sleep(Duration::from_secs(1));
    network.cut(false);
    assert_eq!(bench.until(&["SCAN STRIP", "NO LEDGER"], SOON)[1], "SCAN STRIP");
    bench.scan(&code(2));
    bench.until(&["IN THE BOX"], SOON);
    // All connections are ended in between: the same.
    network.reset();
    pack(&mut bench, 3);
    // Long: every scan is answered, nothing is marked, and it goes on by itself. The bench's lease runs out meanwhile.
    let long = if std::env::var("STRIPLING_PACKING").as_deref() == Ok("all") { 30 } else { 9 };
    network.cut(true);
    bench.scan(&key(4));
    assert_eq!(bench.until(&["NO LEDGER", "SCAN STRIP"], SOON)[1], "NO LEDGER");
    let began = Instant::now();
    std::thread::sleep(Duration::from_millis(800));
    bench.scan(&key(5));
    bench.until(&["NO LEDGER"], Duration::from_secs(9));
    std::thread::sleep(Duration::from_secs(long).saturating_sub(began.elapsed()));
    let whole = |unit| shop.whole(&[&printer], unit);
    assert_eq!((whole(4), whole(5)), (0, 0), "no byte goes while the ledger does not know of it");
    network.cut(false);
    bench.until(&["GO ON"], SOON);
    pack(&mut bench, 4);
    // For good, in the middle of a strip: it comes out, the ledger cannot be told, and it is unknown after the lease.
    bench.scan(&key(5));
    bench.until(&["PRINTING"], SOON);
    until_it_prints(&printer);
    network.cut(true);
    let ended = bench.end(Duration::from_secs(60));
    assert_eq!(ended.code(), Some(5), "it says that the ledger was not told");
    printer.wait_until_idle();
    let near = server.address(server.port);
    drop(Ledger::open(Path::new(&near)).expect("the database is well"));
    let state = states(&near)[4];
    // It may have been settled before the cut.
    assert!(state == State::Unknown || (state == State::Printed && whole(5) == 1), "{state:?}");
    assert_eq!(states(&near)[5], State::Queued);
}

/// The clocks of two benches an hour before and behind, by libfaketime, which is not ours: leases and times are the database's.
#[test]
#[ignore = "needs postgresql, faketime: tests/run"]
fn clocks_that_are_hours_apart_do_nothing_to_leases_and_times() {
    let (shop, server) = (Shop::of(4), Server::start());
    let address = server.address(server.port);
    let printers = [TestPrinter::on_network(None), TestPrinter::on_network(None)];
    let at = |ledger: &str, printer: &TestPrinter, name: &str, offset: &str| {
        let mut program = shop.bench(ledger, &[printer], name);
        // Waits are by the other clock, which nobody sets.
        program.envs([("LD_PRELOAD", faketime().as_str()), ("FAKETIME", offset), ("FAKETIME_DONT_FAKE_MONOTONIC", "1")]);
        program
    };
    // In a file of its own, where the clock is the bench's, it shows that the bench believes it.
    let mut alone = at("own.db", &printers[0], "anna", "+3600");
    assert_eq!(alone.stdin(Stdio::null()).stdout(Stdio::null()).status().expect("the program").code(), Some(6));
    let began = shop.ledger(shop.folder.path().join("own.db").to_str().expect("a path"), &["--json"]);
    let began: serde_json::Value = serde_json::from_str(&began).expect("JSON");
    let began = began["runs"][0]["started"].as_str().expect("a time");
    let ahead =
        server.sql("packing", &format!("SELECT round(extract(epoch FROM '{began}'::timestamptz - clock_timestamp()) / 600)"));
    assert_eq!(ahead, "6", "the bench's clock is an hour ahead");
    let mut anna = Running::start(at(&address, &printers[0], "anna", "+3600"));
    let mut kim = Running::start(at(&address, &printers[1], "kim", "-3600"));
    anna.until(&["SCAN A UNIT"], SOON);
    kim.until(&["SCAN A UNIT"], SOON);
    // Anna's printer is slow: one of her units is printed, one waits, and neither is Kim's, for longer than a lease.
    printers[0].fail(Fault::Slow, 0);
    anna.scan(&key(1));
    until_it_prints(&printers[0]);
    anna.scan(&key(2));
    anna.until(&["PRINTING"], SOON);
    for unit in [1, 2, 1] {
        kim.scan(&key(unit));
        let said = kim.until(&["NOT HERE", "PRINTING", "SCAN STRIP", "LOOK FIRST"], SOON);
        assert_eq!(said[1], "NOT HERE", "{said:?}");
        std::thread::sleep(LEASE / 2);
    }
    // She is heard of no more: what she sent is to be looked at after her lease, what waited is free. Not before.
    anna.kill();
    let killed = Instant::now();
    loop {
        kim.scan(&key(1));
        match kim.until(&["NOT HERE", "PRINTING", "SCAN STRIP", "LOOK FIRST"], SOON)[1].as_str() {
            "NOT HERE" => assert!(killed.elapsed() < SOON, "her lease never ends"),
            "LOOK FIRST" => break,
            other => panic!("{other}"),
        }
        std::thread::sleep(Duration::from_millis(800));
    }
    let after = killed.elapsed();
    assert!(after + LEASE / 3 + Duration::from_millis(300) > LEASE, "given up after {after:?}");
    pack(&mut kim, 2);
    let odd = "SELECT count(*) FROM stripling.history WHERE abs(extract(epoch FROM clock_timestamp() - at::timestamptz)) > 300";
    assert_eq!(server.sql("packing", odd), "0", "every time is the database's");
    assert_ne!(server.sql("packing", "SELECT count(*) FROM stripling.history"), "0");
}

/// Where Debian has it, by machine.
fn faketime() -> String {
    let folders = std::fs::read_dir("/usr/lib").expect("a system's folder").flatten();
    let library = folders.map(|folder| folder.path().join("faketime/libfaketime.so.1")).find(|library| library.exists());
    library.expect("libfaketime is installed: apt-get install faketime").display().to_string()
}

/// Two persons scan the same units in the same moment: each strip comes out once, at one of them.
#[test]
#[ignore = "needs postgresql: tests/run"]
fn units_that_are_scanned_at_two_benches_at_once_are_printed_at_one() {
    let (shop, server) = (Shop::of(12), Server::start());
    let address = server.address(server.port);
    let printers = [TestPrinter::on_network(None), TestPrinter::on_network(None)];
    let start = |number: usize| Running::start(shop.bench(&address, &[&printers[number]], ["anna", "kim"][number]));
    let mut benches = [start(0), start(1)];
    benches.iter().for_each(|bench| drop(bench.until(&["SCAN A UNIT"], SOON)));
    let mut had: [Vec<usize>; 2] = Default::default();
    for unit in 1..=shop.units {
        benches.iter_mut().for_each(|bench| assert!(bench.scan(&key(unit))));
        let said =
            [0, 1].map(|number| benches[number].until(&["NOT HERE", "PRINTING", "SCAN STRIP", "NOT THE SAME"], SOON)[1].clone());
        // One has it; the other is told so, or that it is printed already.
        let mine: Vec<usize> = (0..2).filter(|number| said[*number] == "PRINTING").collect();
        assert_eq!(mine.len(), 1, "{} {said:?}", key(unit));
        had[mine[0]].push(unit);
        let bench = &mut benches[mine[0]];
        bench.until(&["SCAN STRIP"], SOON);
        bench.scan(&code(unit));
        bench.until(&["IN THE BOX", "ALL DONE"], SOON);
    }
    let all: Vec<&TestPrinter> = printers.iter().collect();
    assert!((1..=shop.units).all(|unit| shop.whole(&all, unit) == 1), "{had:?}");
    assert_eq!(printers.iter().map(TestPrinter::pieces).sum::<usize>(), shop.units);
    // Who printed what, where and when, and who packed it.
    let table = shop.ledger(&address, &["--csv"]);
    let mut rows = csv::Reader::from_reader(table.as_bytes());
    let rows: Vec<BTreeMap<String, String>> = rows.deserialize().map(|row| row.expect("a row")).collect();
    assert_eq!(rows.len(), shop.units);
    for (row, unit) in rows.iter().zip(1..) {
        let who = usize::from(had[1].contains(&unit));
        let (name, key) = (["anna", "kim"][who], key(unit));
        let wanted = [("unit", key.as_str()), ("state", "printed"), ("printed_by", name), ("boxed_by", name)];
        assert!(wanted.iter().all(|(column, value)| row[*column] == *value), "{row:?}");
        assert_eq!(row["destination"], printers[who].address());
        // Its times in their order; text that sorts as time does.
        assert!(row["sending"] < row["settled"] && row["settled"] < row["boxed"] && row["boxed"].ends_with('Z'), "{row:?}");
    }
    // And how fast: over all boxes of a bench, from its first to its last.
    let told: serde_json::Value = serde_json::from_str(&shop.ledger(&address, &["--json"])).expect("JSON");
    for (bench, number) in told["benches"].as_array().expect("benches").iter().zip(0..) {
        let times: Vec<&str> =
            rows.iter().filter(|row| row["boxed_by"] == bench["name"]).map(|row| row["boxed"].as_str()).collect();
        assert_eq!(bench["boxed"].as_u64(), Some(times.len() as u64), "{bench}");
        if let [first, .., last] = times[..] {
            let seconds =
                server.sql("packing", &format!("SELECT extract(epoch FROM '{last}'::timestamptz - '{first}'::timestamptz)"));
            let hour = (times.len() - 1) as f64 * 3600.0 / seconds.parse::<f64>().expect("seconds");
            let told = bench["per_hour"].as_f64().expect("a rate");
            // The ledger counts whole seconds.
            assert!((told / hour - 1.0).abs() < 0.5, "bench {number}: {told} an hour, and {hour}");
        }
    }
}

#[test]
#[ignore = "needs postgresql: tests/run"]
fn one_unit_is_in_hand_at_one_bench() {
    let server = Server::start();
    let address = server.address(server.port);
    let open = |name: &str, lease: u64| {
        let opening = Opening { bench: Some(name), lease: Some(Duration::from_secs(lease)) };
        Ledger::open_as(Path::new(&address), &opening).expect("a ledger")
    };
    let (mut anna, mut kim) = (open("anna", 2), open("kim", 60));
    let run = anna.begin_packing(&facts(300), false, Intent::Continue).expect("a run").run.expect("entered");
    assert_eq!(kim.begin_packing(&facts(300), false, Intent::Continue).expect("the same run").run, Some(run));
    // Both scan all units at the same time.
    let claims = |ledger: &mut Ledger| -> Vec<bool> {
        (0..300).map(|unit| matches!(ledger.claim(run, &format!("U{:04}", unit + 1), unit), Ok(Claim::Yours(_)))).collect()
    };
    let (first, second) = std::thread::scope(|scope| {
        let second = scope.spawn(|| claims(&mut kim));
        (claims(&mut anna), second.join().expect("claims"))
    });
    assert!(first.iter().zip(&second).all(|(one, other)| one != other), "each unit is in one hand");
    let taken = first.iter().position(|taken| *taken).expect("some");
    let key = format!("U{:04}", taken + 1);
    assert_eq!(kim.claim(run, &key, taken).expect("an answer"), Claim::Elsewhere { bench: "anna".into() });
    assert!(kim.standing(run).expect("read").iter().any(|standing| standing.elsewhere.as_deref() == Some("anna")));
    // anna is heard of no more: after her lease the unit is free, by the database's clock and nobody else's.
    std::thread::sleep(Duration::from_millis(2300));
    assert!(matches!(kim.claim(run, &key, taken), Ok(Claim::Yours(_))));
    assert_eq!(kim.pace(run).expect("read").benches, 1);
    // What the database holds to, whoever asks.
    let refused = std::panic::catch_unwind(|| {
        server.sql("packing", "UPDATE stripling.strip SET state = 'printed' WHERE strip = 1; UPDATE stripling.strip SET state = 'sending' WHERE strip = 1")
    });
    assert!(refused.is_err(), "a printed strip is not sent");
}

#[test]
#[ignore = "needs postgresql: tests/run"]
fn a_newer_ledger_and_a_stranger_s_schema_are_refused_and_left() {
    let server = Server::start();
    let address = server.address(server.port);
    let path = Path::new(&address);
    assert!(matches!(Ledger::look(path).err(), Some(ledger::Error::NotThere { .. })));
    drop(Ledger::open(path).expect("a new ledger"));
    server.sql("packing", "UPDATE stripling.version SET version = 9");
    for refused in [Ledger::open(path), Ledger::look(path), Ledger::open_existing(path)] {
        assert!(matches!(refused.err(), Some(ledger::Error::OtherVersion { found: 9, .. })));
    }
    assert_eq!(server.sql("packing", "SELECT version FROM stripling.version"), "9");
    server.sql("packing", "DROP SCHEMA stripling CASCADE; CREATE SCHEMA stripling; CREATE TABLE stripling.tea (cups INTEGER)");
    assert!(matches!(Ledger::open(path).err(), Some(ledger::Error::Foreign { .. })));
    // Nobody answers there: said within a few seconds.
    let began = Instant::now();
    let nobody = Ledger::open(Path::new("postgres://owner@127.0.0.1:9/packing")).err().expect("nobody is there");
    assert!(nobody.passes() && began.elapsed() < Duration::from_secs(20), "{nobody}");
}
