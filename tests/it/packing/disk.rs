//! A disk that is full in the middle of a shift: a file system of its own, which nobody else writes to, and which the test fills.

use super::program::{Running, Shop, code, key};
use crate::send::printer::{Fault, TestPrinter};
use std::fs::{self, File};
use std::io::Write;
use std::path::PathBuf;
use std::process::Command;
use std::time::{Duration, Instant};

const SOON: Duration = Duration::from_secs(20);

/// Bytes of the disk.
const DISK: usize = 512 * 1024;

/// The program in a name space of its own, in which `disk` is a small file system.
fn on_small_disk(program: &Command) -> Command {
    let mut inside = Command::new("unshare");
    // Whoever is not root becomes so in there.
    inside.args(["--map-root-user", "--mount", "sh", "-c"]);
    inside.arg(format!("mount -t tmpfs -o size={DISK} none disk && exec \"$0\" \"$@\""));
    inside.arg(program.get_program()).args(program.get_args());
    inside.current_dir(program.get_current_dir().expect("its folder"));
    inside
}

#[test]
#[ignore = "needs unshare: tests/run"]
fn a_disk_that_fills_up_in_a_shift_stops_it_and_room_lets_it_go_on() {
    let (shop, printer) = (Shop::of(4), TestPrinter::on_network(None));
    fs::create_dir(shop.folder.path().join("disk")).expect("a folder");
    let mut bench = Running::start(on_small_disk(&shop.bench("disk/run.db", &[&printer], "anna")));
    bench.until(&["SCAN A UNIT"], SOON);
    let pack = |bench: &mut Running, unit: usize| {
        bench.scan(&key(unit));
        bench.until(&["SCAN STRIP"], SOON);
        bench.scan(&code(unit));
        bench.until(&["IN THE BOX", "ALL DONE"], SOON);
    };
    pack(&mut bench, 1);
    // The process's own view of the folder, from outside.
    let root = PathBuf::from(format!("/proc/{}/root", bench.child.lock().expect("a child of ours").id()));
    let inside = root.join(shop.folder.path().strip_prefix("/").expect("a whole path")).join("disk");
    assert!(inside.join("run.db").exists(), "the ledger is on the small disk");
    let filler = inside.join("filler");
    let fill = || {
        let mut file = File::create(&filler).expect("a file");
        while file.write_all(&[0; 512]).is_ok() {}
    };
    // Before a strip: nothing is marked, no byte goes, and every scan says so.
    fill();
    let before = printer.pieces();
    bench.scan(&key(2));
    let said = bench.until(&["NO LEDGER"], SOON);
    assert!(said[3].contains("full"), "{said:?}");
    std::thread::sleep(Duration::from_millis(800));
    bench.scan(&key(3));
    bench.until(&["NO LEDGER"], SOON);
    assert_eq!(printer.pieces(), before);
    // With room again the strip that waited comes by itself.
    fs::remove_file(&filler).expect("removed");
    bench.until(&["SCAN STRIP"], SOON);
    bench.scan(&code(2));
    bench.until(&["IN THE BOX"], SOON);
    // While a strip is under way: it comes out, and what the printer said of it is kept until there is room for it.
    printer.fail(Fault::Slow, 0);
    let received = printer.received();
    bench.scan(&key(3));
    let end = Instant::now() + SOON;
    while printer.received() < received + 1000 {
        assert!(Instant::now() < end, "no strip is sent");
        std::thread::sleep(Duration::from_millis(1));
    }
    fill();
    bench.until(&["NO LEDGER"], SOON);
    bench.scan(&code(3));
    std::thread::sleep(Duration::from_millis(1500));
    assert_eq!(shop.whole(&[&printer], 3), 1, "it came out");
    fs::remove_file(&filler).expect("removed");
    bench.until(&["SCAN STRIP"], SOON);
    printer.repair();
    bench.scan(&code(3));
    bench.until(&["IN THE BOX"], SOON);
    pack(&mut bench, 4);
    assert!((1..=shop.units).all(|unit| shop.whole(&[&printer], unit) == 1) && printer.pieces() == shop.units);
    assert!(bench.end(SOON).success());
}
