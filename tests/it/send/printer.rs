//! A printer that misbehaves when it is told to, on a network socket or a pseudo-terminal. It keeps the truth: what it put on
//! paper, piece by piece.
//!
//! It works off `ESC @`, `GS v 0`, `GS V B n`, `GS r 1` and `GS ( H`, answers `DLE EOT n` the moment it is received (wherever it
//! stands), and takes anything else for text, that is for garbage. Source: CHECKS.md, "Paper, printer, folding"; the rest vendors'
//! command references (memory).

use serialport::{SerialPort, TTYPort};
use std::collections::VecDeque;
use std::io::{self, Read, Write};
use std::net::{TcpListener, TcpStream};
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

#[derive(Default)]
struct State {
    fault: Option<(Fault, When)>,
    paper_end: bool,
    cover_open: bool,
    cutter_jam: bool,
    jam_next_cut: bool,
    hung: bool,
    mute: bool,
    rubbish: bool,
    slow: bool,
    late_once: bool,
    deaf_until: Option<Instant>,
    worked_at: Option<Instant>,
    close_now: bool,
    unplugged: bool,
    on_network: bool,
    received: usize,
    bands: usize,
    real_time: Vec<u8>,
    buffer: VecDeque<u8>,
    command: Vec<u8>,
    out: VecDeque<(Instant, u8)>,
    pieces: Vec<Vec<Mark>>,
    paper: Vec<Mark>,
    noise: u64,
    busy: bool,
    /// Bytes in the buffer that came over a connection that has ended.
    forget_after: Option<usize>,
    everything: Vec<u8>,
}

enum Link {
    Net {
        listener: TcpListener,
        stream: Option<TcpStream>,
    },
    Terminal {
        master: TTYPort,
        _slave: TTYPort,
    },
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
        TestPrinter {
            state,
            end,
            thread: Some(thread),
            address,
            keeps_half,
        }
    }

    pub fn address(&self) -> &str {
        &self.address
    }

    /// It forgets half a command when the connection ends, or does not.
    pub fn keeps_half_commands(&self, keeps: bool) {
        self.keeps_half.store(keeps, Ordering::SeqCst);
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
        state
            .pieces
            .iter()
            .chain([&state.paper])
            .map(|piece| piece.windows(BANDS).filter(|run| *run == whole).count())
            .sum()
    }

    /// Pieces that hold one whole strip and nothing else.
    pub fn clean_pieces(&self) -> usize {
        self.look()
            .pieces
            .iter()
            .filter(|piece| piece.len() == BANDS && !piece.contains(&Mark::Garbage))
            .count()
    }

    pub fn garbage(&self) -> usize {
        let state = self.look();
        state
            .pieces
            .iter()
            .chain([&state.paper])
            .flatten()
            .filter(|mark| **mark == Mark::Garbage)
            .count()
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

impl State {
    fn turn(&mut self, link: &mut Link, keeps_half: bool) -> bool {
        if let Link::Net { listener, stream } = link {
            if stream.is_none()
                && let Ok((fresh, _)) = listener.accept()
            {
                fresh.set_nonblocking(true).expect("sockets can wait");
                fresh.set_nodelay(true).expect("sockets can hurry");
                *stream = Some(fresh);
            }
            if std::mem::take(&mut self.close_now) {
                *stream = None;
                self.connection_ended(keeps_half);
            }
        }
        // A terminal has no connection to close: the cable is out until someone puts it in again.
        self.unplugged |= std::mem::take(&mut self.close_now);
        let moved = self.take_in(link, keeps_half) | self.work() | self.give_out(link);
        self.busy |= moved;
        moved
    }

    fn connection_ended(&mut self, keeps_half: bool) {
        self.out.clear();
        self.real_time.clear();
        if !keeps_half {
            // What came whole is still printed; half a command at its end is then forgotten.
            self.forget_after = Some(self.buffer.len());
        }
    }

    fn take_in(&mut self, link: &mut Link, keeps_half: bool) -> bool {
        // Off line it keeps a little more room, so that it can still be asked why.
        let size = if self.off_line() { BUFFER + 100 } else { BUFFER };
        let room = size.saturating_sub(self.buffer.len());
        if room == 0 || self.hung {
            return false;
        }
        let mut bytes = vec![0; room];
        let result = match link {
            Link::Net {
                stream: Some(stream), ..
            } => stream.read(&mut bytes),
            Link::Net { stream: None, .. } => return false,
            Link::Terminal { master, .. } => match master.bytes_to_read() {
                Ok(0) => return false,
                _ => master.read(&mut bytes),
            },
        };
        match result {
            Ok(0) => {
                if let Link::Net { stream, .. } = link {
                    *stream = None;
                }
                self.connection_ended(keeps_half);
                true
            }
            Ok(count) => {
                for &byte in &bytes[..count] {
                    self.receive(byte);
                }
                true
            }
            Err(error) if matches!(error.kind(), io::ErrorKind::WouldBlock | io::ErrorKind::TimedOut) => false,
            Err(_) => {
                if let Link::Net { stream, .. } = link {
                    *stream = None;
                    self.connection_ended(keeps_half);
                }
                false
            }
        }
    }

    fn receive(&mut self, byte: u8) {
        if self.deaf_until.is_some_and(|until| Instant::now() < until) || self.close_now || self.unplugged || self.hung {
            return;
        }
        self.received += 1;
        self.everything.push(byte);
        // Acted upon as it comes, wherever it stands.
        self.real_time.push(byte);
        match self.real_time[..] {
            [0x10] | [0x10, 0x04] => {}
            [0x10, 0x04, number @ 1..=4] => {
                self.real_time.clear();
                let answer = self.status(number);
                self.answer(&[answer]);
            }
            [.., 0x10] => self.real_time = vec![0x10],
            _ => self.real_time.clear(),
        }
        self.buffer.push_back(byte);
        self.maybe_fail();
    }

    fn maybe_fail(&mut self) {
        let Some((fault, when)) = self.fault else { return };
        let now = match when {
            When::Byte(position) => self.received >= position,
            When::Band(band) => self.bands >= band,
        };
        if !now {
            return;
        }
        self.fault = None;
        match fault {
            Fault::PaperEnd => self.paper_end = true,
            Fault::CoverOpen => self.cover_open = true,
            Fault::CutterJam => self.jam_next_cut = true,
            Fault::Reset => {
                self.restart();
                self.deaf_until = Some(Instant::now() + Duration::from_millis(600));
                self.close_now = self.on_network;
            }
            Fault::Close | Fault::HalfWritten => self.close_now = true,
            Fault::Mute => self.mute = true,
            Fault::Rubbish => self.rubbish = true,
            Fault::Late => self.late_once = true,
            Fault::Slow => self.slow = true,
            Fault::Hang => self.hung = true,
        }
    }

    /// Switched off and on: everything not yet on paper is lost.
    fn restart(&mut self) {
        self.buffer.clear();
        self.command.clear();
        self.forget_after = None;
        self.real_time.clear();
        self.out.clear();
    }

    fn off_line(&self) -> bool {
        self.paper_end || self.cover_open || self.cutter_jam
    }

    fn status(&self, number: u8) -> u8 {
        let healthy = 0x12;
        match number {
            1 if self.off_line() => 0x1A,
            2 => {
                healthy
                    | if self.paper_end { 0x20 } else { 0 }
                    | if self.cover_open { 0x04 } else { 0 }
                    | if self.cutter_jam { 0x40 } else { 0 }
            }
            3 if self.cutter_jam => healthy | 0x08,
            4 if self.paper_end => 0x7E,
            _ => healthy,
        }
    }

    fn answer(&mut self, bytes: &[u8]) {
        let mut when = Instant::now();
        if std::mem::take(&mut self.late_once) {
            when += Duration::from_millis(220);
        }
        for &byte in bytes {
            if self.mute || self.unplugged {
                continue;
            }
            let byte = if self.rubbish { self.random() } else { byte };
            self.out.push_back((when, byte));
        }
    }

    fn random(&mut self) -> u8 {
        self.noise ^= self.noise << 13;
        self.noise ^= self.noise >> 7;
        self.noise ^= self.noise << 17;
        (self.noise >> 24) as u8
    }

    fn give_out(&mut self, link: &mut Link) -> bool {
        let mut moved = false;
        while let Some(&(when, byte)) = self.out.front() {
            if when > Instant::now() || self.hung {
                break;
            }
            let result = match link {
                Link::Net {
                    stream: Some(stream), ..
                } => stream.write(&[byte]),
                Link::Net { stream: None, .. } => Ok(1),
                Link::Terminal { master, .. } => master.write(&[byte]),
            };
            if !matches!(result, Ok(1)) {
                break;
            }
            self.out.pop_front();
            moved = true;
        }
        moved
    }

    /// Works off what is in the buffer, a few bytes a turn.
    fn work(&mut self) -> bool {
        let mut moved = false;
        if self.slow && self.worked_at.is_some_and(|at| at.elapsed() < Duration::from_millis(1)) {
            return false;
        }
        self.worked_at = Some(Instant::now());
        for _ in 0..if self.slow { 4 } else { 160 } {
            if self.off_line() || self.hung {
                break;
            }
            match &mut self.forget_after {
                Some(0) => {
                    self.forget_after = None;
                    self.command.clear();
                }
                Some(left) => *left -= 1,
                None => {}
            }
            let Some(byte) = self.buffer.pop_front() else { break };
            moved = true;
            self.command.push(byte);
            self.obey();
        }
        moved
    }

    fn obey(&mut self) {
        let complete = match self.command[..] {
            [0x00] => true,
            [0x1B] | [0x1D] | [0x10] | [0x10, 0x04] | [0x1D, 0x72] | [0x1D, 0x56] | [0x1D, 0x56, 0x42] => false,
            [0x10, 0x04, _] => true,
            [0x1B, 0x40] => true,
            [0x1D, 0x56, 0x42, _] => {
                if self.jam_next_cut {
                    (self.jam_next_cut, self.cutter_jam) = (false, true);
                } else {
                    self.tear();
                }
                true
            }
            [0x1D, 0x72, _] => {
                self.answer(&[0x00]);
                true
            }
            [0x1D, 0x28] | [0x1D, 0x28, 0x48] => false,
            [0x1D, 0x28, 0x48, ref rest @ ..] => match *rest {
                [6, 0, 0x30, 0x30, a, b, c, d] => {
                    self.answer(&[0x37, 0x22, a, b, c, d, 0x00]);
                    true
                }
                _ => rest.len() >= 8,
            },
            [0x1D, 0x76] | [0x1D, 0x76, 0x30] => false,
            [0x1D, 0x76, 0x30, ref rest @ ..] => match *rest {
                [_, xl, xh, yl, yh, ref data @ ..] => {
                    let size = usize::from(u16::from_le_bytes([xl, xh])) * usize::from(u16::from_le_bytes([yl, yh]));
                    let done = data.len() >= size;
                    if done {
                        let mark = read_band(&self.command);
                        self.paper.push(mark);
                        self.bands += 1;
                        self.maybe_fail();
                    }
                    done
                }
                _ => false,
            },
            _ => {
                self.paper.push(Mark::Garbage);
                true
            }
        };
        if complete {
            self.command.clear();
        }
    }

    fn tear(&mut self) {
        let piece = std::mem::take(&mut self.paper);
        self.pieces.push(piece);
    }
}

/// Which band these bytes are; anything else in a picture is white or garbage.
fn read_band(command: &[u8]) -> Mark {
    let data = &command[8..];
    if data.iter().all(|&byte| byte == 0) {
        return Mark::Blank;
    }
    let nibble = |index: usize| u16::from(data.get(index).copied().unwrap_or(0) & 15);
    let unit = nibble(0) << 12 | nibble(1) << 8 | nibble(2) << 4 | nibble(3);
    let number = (nibble(4) << 4 | nibble(5)) as u8;
    if command == band(unit, number) {
        Mark::Band { unit, band: number }
    } else {
        Mark::Garbage
    }
}
