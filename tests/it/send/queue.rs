//! The system's print queue: a private one of CUPS, raw.

use super::person::{TIMES, facts};
use super::printer::{TestPrinter, strip};
use std::convert::Infallible;
use std::net::TcpListener;
use std::path::{Path, PathBuf};
use std::process::Command;
use stripling::send::{self, Ending, Ledger, Order, Report, Settings};

struct Scheduler {
    folder: tempfile::TempDir,
    server: String,
}

impl Scheduler {
    fn start(device: &str) -> Scheduler {
        // In /tmp, where the scheduler's own helpers may read.
        let folder = tempfile::Builder::new().prefix("cups").tempdir_in("/tmp").expect("a folder of this test");
        let port = TcpListener::bind("127.0.0.1:0").and_then(|free| free.local_addr()).expect("a free port").port();
        let arguments = [folder.path().to_str().expect("a plain path"), &port.to_string(), device];
        assert!(Scheduler::script("start", &arguments), "the scheduler does not start");
        Scheduler { folder, server: format!("127.0.0.1:{port}") }
    }

    fn script(what: &str, arguments: &[&str]) -> bool {
        let script: PathBuf = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/cups");
        Command::new(script).arg(what).args(arguments).status().expect("tests/cups can be run").success()
    }

    fn print(&self, queue: &str, units: u16) -> Report {
        let mut ledger = Ledger::in_memory().expect("memory");
        let order = Order::new(facts(units));
        let address = format!("queue:{queue}?server={}", self.server);
        let times = send::Times { write: std::time::Duration::from_secs(20), ..TIMES };
        let mut destination = send::open(&address, Settings { times, ..Settings::default() }).expect("an address");
        let make = &mut |job: &send::Job| Ok::<_, Infallible>(strip(job.number as u16));
        send::run(&mut ledger, destination.as_mut(), &order, make, &mut |_| {}).expect("a run")
    }

    fn tell(&self, program: &str, arguments: &[&str]) {
        let status = Command::new(program).args(["-h", &self.server]).args(arguments).status().expect("a program of CUPS");
        assert!(status.success(), "{program} {arguments:?}");
    }
}

impl Drop for Scheduler {
    fn drop(&mut self) {
        Scheduler::script("stop", &[self.folder.path().to_str().unwrap_or_default()]);
    }
}

#[test]
#[ignore = "needs cups: tests/run"]
fn a_raw_queue_hands_on_the_very_bytes_and_is_told_apart_from_paper() {
    let printer = TestPrinter::on_network(None);
    let device = printer.address().replace("tcp://", "socket://");
    let scheduler = Scheduler::start(&device);
    let report = scheduler.print("strips", 3);
    assert!(matches!(report.ending, Ending::Done), "{:?}", report.ending);
    assert_eq!((report.printed, report.unknown.len()), (0, 3));
    assert!(report.unknown[0].1.contains("job strips-1 has left the queue"), "{}", report.unknown[0].1);
    printer.wait_until_idle();
    assert!(printer.everything() == [strip(1).joined(), strip(2).joined(), strip(3).joined()].concat(), "the bytes differ");
    assert_eq!(printer.clean_pieces(), 3);

    let report = scheduler.print("nowhere", 1);
    let Ending::Trouble(trouble) = &report.ending else { panic!("{:?}", report.ending) };
    assert!(trouble.to_string().contains("`nowhere` is not known"), "{trouble}");
    assert_eq!(report.left, 1);

    scheduler.tell("cupsdisable", &["-r", "no paper", "strips"]);
    let report = scheduler.print("strips", 1);
    let Ending::Trouble(trouble) = &report.ending else { panic!("{:?}", report.ending) };
    assert!(trouble.to_string().contains("`strips` is stopped (no paper)"), "{trouble}");
    assert_eq!(report.left, 1);

    // `makeready` says the same, and its strip is not called printed.
    let bench = tempfile::tempdir().expect("a folder of this test");
    std::fs::write(bench.path().join("a.toml"), "paper = 80\n").expect("written");
    let to = format!("queue:strips?server={}", scheduler.server);
    let mut program = Command::new(env!("CARGO_BIN_EXE_stripling"));
    let told = program.args(["makeready", "--to", &to, "--answers", "a.toml"]).current_dir(bench.path()).output().expect("runs");
    let said = String::from_utf8_lossy(&told.stderr).replace('│', " ").split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(told.status.code() == Some(4) && said.contains("`strips` is stopped (no paper)"), "{said}");
    let kept = std::fs::read_to_string(bench.path().join("bench.answers.toml")).expect("kept");
    assert!(kept.contains("queue:strips") && !kept.contains("printed"), "{kept}");
}
