//! A pair of pseudo-terminals that another program made: the very bytes arrive.

use super::person::{TIMES, facts};
use super::printer::strip;
use std::convert::Infallible;
use std::io::Read;
use std::process::{Command, Stdio};
use std::sync::mpsc;
use std::time::{Duration, Instant};
use stripling::send::{self, Ending, Ledger, Order, Settings};

#[test]
#[ignore = "needs socat: tests/run"]
fn socat_s_pair_of_terminals_gets_the_very_bytes() {
    let folder = tempfile::tempdir().expect("a folder of this test");
    let [ours, theirs] = ["ours", "theirs"].map(|name| folder.path().join(name));
    let ends = [&ours, &theirs].map(|path| format!("pty,rawer,link={}", path.display()));
    let mut socat = Command::new("socat").args(&ends).stdin(Stdio::null()).spawn().expect("socat is installed");
    let until = Instant::now() + Duration::from_secs(10);
    while !(ours.exists() && theirs.exists()) {
        assert!(Instant::now() < until, "socat makes no terminals");
        std::thread::sleep(Duration::from_millis(10));
    }
    // Every byte there is, flow-control letters too, and more than a terminal holds.
    let all: Vec<u8> = (0..60_000u32).map(|index| (index % 256) as u8).collect();
    let expected: Vec<u8> = [strip(1).joined(), all.clone()].concat();
    let (tell, heard) = mpsc::channel();
    let mut line = std::fs::File::open(&theirs).expect("the other end");
    let size = expected.len();
    std::thread::spawn(move || {
        let mut bytes = vec![0; size];
        let result = line.read_exact(&mut bytes).map(|()| bytes);
        let _ = tell.send(result);
    });
    let mut ledger = Ledger::in_memory().expect("memory");
    let order = Order::new(facts(2));
    let address = format!("serial:{}?baud=115200&flow=none", ours.display());
    let mut destination = send::open(&address, Settings { times: TIMES, ..Settings::default() }).expect("an address");
    let make = &mut |job: &send::Job| {
        Ok::<_, Infallible>(match job.number {
            1 => strip(1),
            _ => send::StripBytes::whole(all.clone()),
        })
    };
    let report = send::run(&mut ledger, destination.as_mut(), &order, make, &mut |_| {}).expect("a run");
    let got = heard.recv_timeout(Duration::from_secs(20)).expect("as many bytes as were sent");
    socat.kill().expect("a child of ours");
    socat.wait().expect("a child of ours");
    assert!(matches!(report.ending, Ending::Done), "{:?}", report.ending);
    assert_eq!(report.unknown.len(), 2, "a line without answers confirms nothing");
    assert!(got.expect("a terminal can be read") == expected, "the bytes differ");
}
