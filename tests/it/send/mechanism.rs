//! The inside of the test printer: what it takes in, answers, works off and puts on paper, a little a turn.

use super::printer::{BUFFER, Fault, Mark, When, band};
use serialport::{SerialPort, TTYPort};
use std::collections::VecDeque;
use std::io::{self, Read, Write};
use std::net::{TcpListener, TcpStream};
use std::time::{Duration, Instant};

/// Bytes that the mechanism works off in a millisecond: slower than any line, so that it is always behind.
const SPEED: usize = 40;
const SLOW: usize = 4;
/// A letter among the dots of 384 in a row: no strip of a test looks so.
const TEXT: [u8; 48] = [0x55; 48];

#[derive(Default)]
pub(super) struct State {
    pub(super) fault: Option<(Fault, When)>,
    pub(super) paper_end: bool,
    pub(super) cover_open: bool,
    pub(super) cutter_jam: bool,
    pub(super) jam_next_cut: bool,
    pub(super) hung: bool,
    pub(super) mute: bool,
    pub(super) rubbish: bool,
    pub(super) slow: bool,
    pub(super) late_once: bool,
    pub(super) deaf_until: Option<Instant>,
    pub(super) worked_at: Option<Instant>,
    pub(super) close_now: bool,
    pub(super) unplugged: bool,
    pub(super) on_network: bool,
    pub(super) received: usize,
    pub(super) bands: usize,
    pub(super) real_time: Vec<u8>,
    pub(super) buffer: VecDeque<u8>,
    pub(super) command: Vec<u8>,
    pub(super) out: VecDeque<(Instant, u8)>,
    pub(super) pieces: Vec<Vec<Mark>>,
    pub(super) paper: Vec<Mark>,
    /// The rows of dots of each piece, and of what hangs from the printer, as wide as the pictures that came.
    pub(super) cut_rows: Vec<Vec<u8>>,
    pub(super) rows: Vec<u8>,
    pub(super) noise: u64,
    pub(super) busy: bool,
    /// Bytes in the buffer that came over a connection that has ended.
    pub(super) forget_after: Option<usize>,
    pub(super) everything: Vec<u8>,
}

pub(super) enum Link {
    Net { listener: TcpListener, stream: Option<TcpStream> },
    Terminal { master: TTYPort, _slave: TTYPort },
}

impl State {
    pub(super) fn turn(&mut self, link: &mut Link, keeps_half: bool) -> bool {
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
            Link::Net { stream: Some(stream), .. } => stream.read(&mut bytes),
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
    pub(super) fn restart(&mut self) {
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
                Link::Net { stream: Some(stream), .. } => stream.write(&[byte]),
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
        if self.worked_at.is_some_and(|at| at.elapsed() < Duration::from_millis(1)) {
            return false;
        }
        self.worked_at = Some(Instant::now());
        for _ in 0..if self.slow { SLOW } else { SPEED } {
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
                        self.rows.extend(&data[..size]);
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
                self.rows.extend(TEXT);
                true
            }
        };
        if complete {
            self.command.clear();
        }
    }

    pub(super) fn tear(&mut self) {
        self.pieces.push(std::mem::take(&mut self.paper));
        self.cut_rows.push(std::mem::take(&mut self.rows));
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
    if command == band(unit, number) { Mark::Band { unit, band: number } } else { Mark::Garbage }
}
