//! A printer that misbehaves when it is told to, on a network socket or a pseudo-terminal. It keeps the truth: what it put on
//! paper, piece by piece.
//!
//! It works off `ESC @`, `GS v 0`, `GS V B n`, `GS r 1` and `GS ( H`, answers `DLE EOT n` the moment it is received (wherever it
//! stands), and takes anything else for text, that is for garbage. Source: CHECKS.md, "Paper, printer, folding"; the rest vendors'
//! command references (memory).

use super::mechanism::{Link, State};
use serialport::{SerialPort, TTYPort};
use std::net::TcpListener;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};
use stripling::send::StripBytes;

/// Bytes that it takes in ahead of its mechanism.
pub const BUFFER: usize = 256;
pub const BANDS: usize = 12;
const WIDTH: usize = 8;
const ROWS: usize = 8;

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Fault {
    PaperEnd,
    CoverOpen,
    CutterJam,
    Reset,
    Close,
    HalfWritten,
    Mute,
    Rubbish,
    Late,
    Slow,
    Hang,
}

pub const FAULTS: [Fault; 11] = [
    Fault::PaperEnd,
    Fault::CoverOpen,
    Fault::CutterJam,
    Fault::Reset,
    Fault::Close,
    Fault::HalfWritten,
    Fault::Mute,
    Fault::Rubbish,
    Fault::Late,
    Fault::Slow,
    Fault::Hang,
];

/// When a fault begins.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum When {
    /// So many bytes have been received.
    Byte(usize),
    /// So many bands have been put on paper.
    Band(usize),
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Mark {
    Band { unit: u16, band: u8 },
    Blank,
    Garbage,
}

pub struct TestPrinter {
    state: Arc<Mutex<State>>,
    end: Arc<AtomicBool>,
    thread: Option<JoinHandle<()>>,
    address: String,
    keeps_half: Arc<AtomicBool>,
}

/// The bytes of one band of a unit's strip: letters that say which, then a pattern of theirs alone.
pub fn band(unit: u16, band: u8) -> Vec<u8> {
    let nibbles = [unit >> 12, unit >> 8, unit >> 4, unit, u16::from(band >> 4), u16::from(band)];
    let mut bytes = vec![0x1D, 0x76, 0x30, 0x00, WIDTH as u8, 0x00, ROWS as u8, 0x00];
    bytes.extend(nibbles.map(|nibble| 0x80 | (nibble & 15) as u8));
    let mut pattern = u32::from(unit) * 977 + u32::from(band) * 31 + 1;
    while bytes.len() < 8 + WIDTH * ROWS {
        pattern = pattern.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        bytes.push(0x80 | (pattern >> 24) as u8);
    }
    bytes
}

/// A strip of `BANDS` bands, then feed and cut.
pub fn strip(unit: u16) -> StripBytes {
    let mut bands: Vec<Vec<u8>> = (0..BANDS).map(|index| band(unit, index as u8)).collect();
    bands[0].splice(0..0, [0x1B, 0x40]);
    StripBytes::of_bands(bands, vec![0x1D, 0x56, 0x42, 0x00])
}

impl TestPrinter {
    pub fn on_network(fault: Option<(Fault, When)>) -> TestPrinter {
        let listener = TcpListener::bind("127.0.0.1:0").expect("a port of the loopback");
        listener.set_nonblocking(true).expect("sockets can wait");
        let address = format!("tcp://{}", listener.local_addr().expect("a bound socket has an address"));
        TestPrinter::start(Link::Net { listener, stream: None }, address, fault)
    }

    pub fn on_terminal(fault: Option<(Fault, When)>) -> TestPrinter {
        let (mut master, slave) = TTYPort::pair().expect("a pseudo-terminal");
        master.set_timeout(Duration::from_millis(1)).expect("a time-out can be set");
        let address = format!("serial:{}?flow=none", slave.name().expect("the slave has a name"));
        TestPrinter::start(Link::Terminal { master, _slave: slave }, address, fault)
    }

    /// The same as a USB device: its serial number says where the test's bus finds it.
    pub fn on_usb(fault: Option<(Fault, When)>) -> TestPrinter {
        let mut printer = TestPrinter::on_network(fault);
        let port = printer.address.rsplit(':').next().expect("a port").to_owned();
        printer.address = format!("usb:S{port}");
        printer
    }

    /// The same as a device file that can be read: the end of a pseudo-terminal, whose port says what the test has it say.
    pub fn on_device(fault: Option<(Fault, When)>) -> TestPrinter {
        let mut printer = TestPrinter::on_terminal(fault);
        let path = printer.address.trim_start_matches("serial:").split('?').next().unwrap_or_default().to_owned();
        printer.address = path;
        printer
    }

    fn start(mut link: Link, address: String, fault: Option<(Fault, When)>) -> TestPrinter {
        let state = Arc::new(Mutex::new(State {
            fault,
            noise: 0x9E37_79B9,
            on_network: matches!(link, Link::Net { .. }),
            ..State::default()
        }));
        let end = Arc::new(AtomicBool::new(false));
        let keeps_half = Arc::new(AtomicBool::new(false));
        let thread = {
            let (state, end, keeps_half) = (Arc::clone(&state), Arc::clone(&end), Arc::clone(&keeps_half));
            std::thread::spawn(move || {
                while !end.load(Ordering::SeqCst) {
                    let mut state = state.lock().expect("the printer's own thread");
                    let moved = state.turn(&mut link, keeps_half.load(Ordering::SeqCst));
                    drop(state);
                    if !moved {
                        std::thread::sleep(Duration::from_micros(700));
                    }
                }
            })
        };
        TestPrinter { state, end, thread: Some(thread), address, keeps_half }
    }

    pub fn address(&self) -> &str {
        &self.address
    }

    /// It forgets half a command when the connection ends, or does not.
    pub fn keeps_half_commands(&self, keeps: bool) {
        self.keeps_half.store(keeps, Ordering::SeqCst);
    }

    /// A fault begins when so many more bytes have come.
    pub fn fail(&self, fault: Fault, after: usize) {
        let mut state = self.look();
        state.fault = Some((fault, When::Byte(state.received + after)));
    }

    /// Something is wrong with it that a person has to put right.
    #[cfg(feature = "postgres")]
    pub fn is_ill(&self) -> bool {
        let state = self.look();
        state.paper_end || state.cover_open || state.cutter_jam || state.hung || state.mute || state.rubbish || state.unplugged
    }

    /// The rows of dots of the pieces that were cut off, from the `first` on, and of what hangs from the printer.
    pub fn rows(&self, first: usize) -> (Vec<Vec<u8>>, Vec<u8>) {
        let state = self.look();
        (state.cut_rows.iter().skip(first).cloned().collect(), state.rows.clone())
    }

    /// How many bytes have come.
    pub fn received(&self) -> usize {
        self.look().received
    }

    fn look(&self) -> MutexGuard<'_, State> {
        self.state.lock().expect("the printer's thread is well")
    }

    /// A person puts in paper, closes the cover, frees the cutter, and so on.
    pub fn repair(&self) {
        let mut state = self.look();
        state.fault = None;
        if state.paper_end {
            // The old paper's end comes out with what is on it; printing goes on at the head of the new roll.
            state.tear();
        }
        if state.hung || (state.unplugged && !self.keeps_half.load(Ordering::SeqCst)) {
            state.restart();
        }
        (state.paper_end, state.cover_open, state.cutter_jam, state.jam_next_cut) = (false, false, false, false);
        (state.hung, state.mute, state.rubbish, state.slow) = (false, false, false, false);
        (state.late_once, state.unplugged) = (false, false);
    }

    /// A person switches it off and on.
    pub fn switch_off_and_on(&self) {
        self.look().restart();
    }

    /// Waits until nothing moves any more.
    pub fn wait_until_idle(&self) {
        let until = Instant::now() + Duration::from_secs(5);
        let mut still = 0;
        while still < 10 && Instant::now() < until {
            let mut state = self.look();
            let starting = state.deaf_until.is_some_and(|until| Instant::now() < until);
            still = if state.busy || starting { 0 } else { still + 1 };
            state.busy = false;
            drop(state);
            std::thread::sleep(Duration::from_millis(3));
        }
    }

    /// How often a unit's whole strip stands on paper, cut or still hanging from the printer.
    pub fn whole(&self, unit: u16) -> usize {
        let whole: Vec<Mark> = (0..BANDS).map(|band| Mark::Band { unit, band: band as u8 }).collect();
        let state = self.look();
        state.pieces.iter().chain([&state.paper]).map(|piece| piece.windows(BANDS).filter(|run| *run == whole).count()).sum()
    }

    /// Pieces of paper that were cut off with something on them.
    pub fn pieces(&self) -> usize {
        self.look().pieces.iter().filter(|piece| piece.iter().any(|mark| *mark != Mark::Blank)).count()
    }

    /// Pieces that hold one whole strip and nothing else.
    pub fn clean_pieces(&self) -> usize {
        self.look().pieces.iter().filter(|piece| piece.len() == BANDS && !piece.contains(&Mark::Garbage)).count()
    }

    pub fn garbage(&self) -> usize {
        let state = self.look();
        state.pieces.iter().chain([&state.paper]).flatten().filter(|mark| **mark == Mark::Garbage).count()
    }

    /// Every byte that was received.
    pub fn everything(&self) -> Vec<u8> {
        self.look().everything.clone()
    }
}

impl Drop for TestPrinter {
    fn drop(&mut self) {
        self.end.store(true, Ordering::SeqCst);
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}
