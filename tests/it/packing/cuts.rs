//! The way to the database fails, the database fails, two benches want one unit.

use super::benches::Running;
use super::network::Network;
use super::server::Server;
use crate::send::printer::TestPrinter;
use std::path::Path;
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
fn pack(bench: &mut Running, key: &str) {
    let end = Instant::now() + Duration::from_secs(60);
    bench.scan(key);
    loop {
        assert!(Instant::now() < end, "{key} is never packed");
        match bench.until(&["SCAN STRIP", "ALL DONE", "IN THE BOX", "GO ON"], Duration::from_secs(50))[1].as_str() {
            "SCAN STRIP" => {
                bench.scan(&format!("S-{key}"));
            }
            "GO ON" => {
                std::thread::sleep(Duration::from_millis(800));
                bench.scan(key);
            }
            _ => return,
        }
    }
}

#[test]
#[ignore = "needs postgresql: tests/run"]
fn the_network_goes_for_a_second_for_long_and_for_good() {
    let server = Server::start();
    let (network, printer) = (Network::to(server.port), TestPrinter::on_network(None));
    let mut bench = Running::start(&server.address(network.port), &[&printer], 6, "far");
    bench.until(&["SCAN A UNIT"], SOON);
    pack(&mut bench, "U0001");
    // A second: nobody notices.
    network.cut(true);
    bench.scan("U0002");
    std::thread::sleep(Duration::from_secs(1));
    network.cut(false);
    assert_eq!(bench.until(&["SCAN STRIP", "NO LEDGER"], SOON)[1], "SCAN STRIP");
    bench.scan("S-U0002");
    bench.until(&["IN THE BOX"], SOON);
    // All connections are ended in between: the same.
    network.reset();
    pack(&mut bench, "U0003");
    // Long: every scan is answered, nothing is marked, and it goes on by itself. The bench's lease runs out meanwhile.
    let long = if std::env::var("STRIPLING_PACKING").as_deref() == Ok("all") { 30 } else { 9 };
    network.cut(true);
    bench.scan("U0004");
    assert_eq!(bench.until(&["NO LEDGER", "SCAN STRIP"], SOON)[1], "NO LEDGER");
    let began = Instant::now();
    std::thread::sleep(Duration::from_millis(800));
    bench.scan("U0005");
    bench.until(&["NO LEDGER"], Duration::from_secs(9));
    std::thread::sleep(Duration::from_secs(long).saturating_sub(began.elapsed()));
    assert_eq!((printer.whole(4), printer.whole(5)), (0, 0), "no byte goes while the ledger does not know of it");
    network.cut(false);
    bench.until(&["GO ON"], SOON);
    pack(&mut bench, "U0004");
    // For good, in the middle of a strip: it comes out, the ledger cannot be told, and it is unknown after the lease.
    bench.scan("U0005");
    bench.until(&["PRINTING"], SOON);
    while !printer.has_begun(5) {
        std::thread::sleep(Duration::from_millis(1));
    }
    network.cut(true);
    bench.scan("/end");
    std::thread::sleep(Duration::from_secs(3));
    bench.kill();
    printer.wait_until_idle();
    let near = server.address(server.port);
    drop(Ledger::open(Path::new(&near)).expect("the database is well"));
    let state = states(&near)[4];
    // It may have been settled before the cut.
    assert!(state == State::Unknown || (state == State::Printed && printer.whole(5) == 1), "{state:?}");
    assert_eq!(states(&near)[5], State::Queued);
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
