//! Every fault at every band and at 200 places among the bytes: each unit comes out exactly once, or the person was asked.

use super::person::{TIMES, capabilities, print_all};
use super::printer::{BANDS, FAULTS, Fault, TestPrinter, When};
use std::collections::BTreeMap;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use stripling::send::Fence;

const UNITS: u16 = 3;
/// Bytes of a whole run, questions included, at the least.
const BYTES: usize = 3 * 12 * 72;
/// Cases under way at once; they mostly wait.
const AT_ONCE: usize = 10;

/// Printers that answer everything, one of the two, or nothing.
const MANNERS: [(bool, Fence); 5] =
    [(true, Fence::Paper), (true, Fence::Process), (false, Fence::Paper), (true, Fence::None), (false, Fence::None)];

#[derive(Clone, Copy, Debug)]
struct Case {
    fault: Fault,
    when: When,
    capabilities: (bool, Fence),
    plugged: fn(Option<(Fault, When)>) -> TestPrinter,
}

/// One line of the table.
#[derive(Default)]
struct Tally {
    cases: usize,
    resumed: usize,
    again: usize,
    asked: usize,
    words: BTreeMap<&'static str, usize>,
}

/// The same numbers in every run of the tests.
fn numbers(mut seed: u64) -> impl FnMut(usize) -> usize {
    move |below| {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (seed >> 33) as usize % below
    }
}

fn at_every_band(plugged: fn(Option<(Fault, When)>) -> TestPrinter) -> Vec<Case> {
    let mut cases = Vec::new();
    for (number, fault) in FAULTS.into_iter().enumerate() {
        for band in 1..=2 * BANDS {
            let capabilities = MANNERS[(band + number) % MANNERS.len()];
            cases.push(Case { fault, when: When::Band(band), capabilities, plugged });
        }
    }
    cases
}

fn at_bytes(count: usize, seed: u64, plugged: fn(Option<(Fault, When)>) -> TestPrinter) -> Vec<Case> {
    let mut number = numbers(seed);
    let case = |index: usize| Case {
        fault: FAULTS[index % FAULTS.len()],
        when: When::Byte(1 + number(BYTES)),
        capabilities: MANNERS[number(MANNERS.len())],
        plugged,
    };
    (0..count).map(case).collect()
}

fn play(case: Case, table: &Mutex<BTreeMap<Fault, Tally>>) {
    let fault = Some((case.fault, case.when));
    let printer = (case.plugged)(fault);
    printer.keeps_half_commands(case.fault == Fault::HalfWritten);
    let folder = tempfile::tempdir().expect("a folder of this test");
    let (status, fence) = case.capabilities;
    let story =
        print_all(&printer, &folder.path().join("run.db"), &capabilities(status, fence), TIMES, UNITS, &format!("{case:?}"));
    let mut table = table.lock().expect("no case has panicked");
    let tally = table.entry(case.fault).or_default();
    tally.cases += 1;
    tally.resumed += usize::from(!story.troubles.is_empty());
    tally.again += story.again;
    tally.asked += story.asked;
    for word in story.troubles {
        *tally.words.entry(word).or_default() += 1;
    }
}

fn play_all(title: &str, cases: &[Case]) -> BTreeMap<Fault, Tally> {
    let next = AtomicUsize::new(0);
    let table = Mutex::new(BTreeMap::new());
    std::thread::scope(|scope| {
        for _ in 0..AT_ONCE {
            scope.spawn(|| {
                while let Some(case) = cases.get(next.fetch_add(1, Ordering::SeqCst)) {
                    play(*case, &table);
                }
            });
        }
    });
    let table = table.into_inner().expect("no case has panicked");
    println!("\n{title}: {UNITS} units each, every unit out exactly once");
    println!("{:<12} {:>5} {:>8} {:>12} {:>12}  told as", "fault", "cases", "stopped", "scrap again", "person asked");
    for (fault, tally) in &table {
        let words: Vec<String> = tally.words.iter().map(|(word, count)| format!("{word} {count}")).collect();
        println!(
            "{:<12} {:>5} {:>8} {:>12} {:>12}  {}",
            format!("{fault:?}"),
            tally.cases,
            tally.resumed,
            tally.again,
            tally.asked,
            words.join(", ")
        );
    }
    table
}

/// What every table must show besides the checks of each case.
fn check(table: &BTreeMap<Fault, Tally>, cases: usize) {
    assert_eq!(table.values().map(|tally| tally.cases).sum::<usize>(), cases);
    let told = |fault: Fault, word: &str| table[&fault].words.get(word).copied().unwrap_or(0);
    assert!(told(Fault::PaperEnd, "paper end") > 0);
    assert!(told(Fault::CoverOpen, "cover open") > 0);
    assert!(told(Fault::CutterJam, "cutter") > 0);
    assert!(told(Fault::Rubbish, "rubbish") > 0);
    assert!(table[&Fault::Mute].resumed > 0 && table[&Fault::Hang].resumed > 0 && table[&Fault::Reset].resumed > 0);
    assert!(table[&Fault::PaperEnd].again > 0, "a paper end in the middle of a strip is no question for the person");
}

#[test]
fn on_the_network_at_every_band() {
    let cases = at_every_band(TestPrinter::on_network);
    check(&play_all("network, at every band of two strips", &cases), cases.len());
}

#[test]
fn on_the_network_at_200_places() {
    let cases = at_bytes(200, 17, TestPrinter::on_network);
    let table = play_all("network, at 200 places among the bytes", &cases);
    check(&table, cases.len());
    assert!(table[&Fault::Close].words.get("closed").copied().unwrap_or(0) > 0);
}

#[test]
fn on_a_terminal_at_every_band() {
    let cases = at_every_band(TestPrinter::on_terminal);
    check(&play_all("pseudo-terminal, at every band of two strips", &cases), cases.len());
}

#[test]
fn on_a_terminal_at_200_places() {
    let cases = at_bytes(200, 18, TestPrinter::on_terminal);
    check(&play_all("pseudo-terminal, at 200 places among the bytes", &cases), cases.len());
}

/// Over a device file that is read, on a real pseudo-terminal: what `/dev/usb/lp0` is, save for its driver.
#[test]
fn on_a_device_file_at_every_band() {
    let cases = at_every_band(TestPrinter::on_device);
    check(&play_all("device file, at every band of two strips", &cases), cases.len());
}

/// Over `usb:` against a pretend device behind the crate's border.
#[test]
fn on_usb_at_every_band() {
    let cases = at_every_band(TestPrinter::on_usb);
    let table = play_all("USB, at every band of two strips", &cases);
    check(&table, cases.len());
    assert!(table[&Fault::Close].words.get("link").copied().unwrap_or(0) > 0, "unplugged: {:?}", table[&Fault::Close].words);
}
