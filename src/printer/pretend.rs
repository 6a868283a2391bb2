//! A pretend printer with one fault: it takes bytes as a printer does, answers as one does, and puts dots on paper.
//!
//! For rehearsals and for the tests of what finds a printer's faults out. A command that it lacks it does what printers do: the lead
//! and the letter are dropped, and what follows is taken for text or for other commands. Its text is no type, but a pattern for each
//! letter, so that garbage is seen. What is left is executed by [`decode`].

use std::collections::VecDeque;
use std::time::{Duration, Instant};

use super::decode::decode;
use super::profile::{Cut, Profile};
use crate::bitmap::Bitmap;

/// What one is like: as it is called, and in words.
pub const FAULTS: [(&str, &str); 15] = [
    ("sound", "no fault at all"),
    ("no-esc-dollar", "no ESC $: it can't pass over white in a line"),
    ("no-graphics", "no GS ( L"),
    ("only-columns", "no GS v 0 and no GS ( L: only ESC *"),
    ("dots-420", "58 mm paper and 420 dots"),
    ("mute", "answers nothing"),
    ("small-buffer", "2048 bytes of buffer, no flow control: what comes too fast is lost"),
    ("mirrored", "what is sent to the left comes out at the right"),
    ("lowest-first", "the first of eight dots is the lowest bit"),
    ("half-units", "ESC J counts in half dots"),
    ("short-bands", "GS v 0 holds 1024 bytes at most"),
    ("cuts-here", "cuts by GS V 0 and 1 only, and does not feed for it"),
    ("no-cutter", "nothing cuts"),
    ("echo", "no printer: sends back what it gets"),
    ("flood", "sends status bytes without being asked, for ever"),
];

/// Bytes worked off in a millisecond where that matters.
const PACE: u32 = 1000;
/// Buffer of the printer that has a small one.
const SMALL: f64 = 2048.0;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Fault {
    Sound,
    NoEscDollar,
    NoGraphics,
    OnlyColumns,
    Mute,
    SmallBuffer,
    ShortBands,
    CutsHere,
    NoCutter,
    Echo,
    Flood,
}

/// One pretend printer.
pub struct Pretend {
    truth: Profile,
    fault: Fault,
    /// Bytes of the command at work.
    command: Vec<u8>,
    /// What [`decode`] will see.
    stream: Vec<u8>,
    answers: VecDeque<(Instant, Vec<u8>)>,
    /// Bytes in the buffer, and when that was reckoned.
    level: f64,
    since: Instant,
    lost: u64,
    real_time: Vec<u8>,
}

/// A piece of paper, as it was cut off or hangs from the printer.
pub type Piece = Bitmap;

impl Pretend {
    /// `None`: there is no such fault.
    pub fn new(fault: &str) -> Option<Pretend> {
        let mut truth = Profile::named("80mm").ok()?;
        (truth.status, truth.band_rows, truth.band_bytes) = (true, 2000, 1 << 20);
        let fault = match fault {
            "sound" => Fault::Sound,
            "no-esc-dollar" => Fault::NoEscDollar,
            "no-graphics" => Fault::NoGraphics,
            "only-columns" => Fault::OnlyColumns,
            "dots-420" => {
                let narrow = Profile::named("58mm-wide").ok()?;
                truth = Profile { status: true, cut: Cut::Partial, ..narrow };
                Fault::Sound
            }
            "mute" => Fault::Mute,
            "small-buffer" => Fault::SmallBuffer,
            "mirrored" => {
                truth.mirrored = true;
                Fault::Sound
            }
            "lowest-first" => {
                truth.lsb_first = true;
                Fault::Sound
            }
            "half-units" => {
                truth.feed_per_inch *= 2;
                Fault::Sound
            }
            "short-bands" => Fault::ShortBands,
            "cuts-here" => Fault::CutsHere,
            "no-cutter" => {
                truth.cut = Cut::None;
                Fault::NoCutter
            }
            "echo" => Fault::Echo,
            "flood" => Fault::Flood,
            _ => return None,
        };
        Some(Pretend {
            truth,
            fault,
            command: Vec::new(),
            stream: Vec::new(),
            answers: VecDeque::new(),
            level: 0.0,
            since: Instant::now(),
            lost: 0,
            real_time: Vec::new(),
        })
    }

    /// What is true of it.
    pub fn truth(&self) -> &Profile {
        &self.truth
    }

    /// Bytes that it lost because they came too fast.
    pub fn lost(&self) -> u64 {
        self.lost
    }

    /// Bytes come in.
    pub fn take(&mut self, bytes: &[u8]) {
        if self.fault == Fault::Echo {
            self.answers.push_back((Instant::now(), bytes.to_vec()));
            return;
        }
        for &byte in bytes {
            self.drain();
            self.hear_real_time(byte);
            if self.fault == Fault::SmallBuffer && self.level >= SMALL {
                self.lost += 1;
                continue;
            }
            self.level += 1.0;
            self.command.push(byte);
            while self.obey() {}
        }
    }

    /// What it has to say by now.
    pub fn answers(&mut self) -> Vec<u8> {
        let now = Instant::now();
        let mut said = Vec::new();
        while self.answers.front().is_some_and(|(when, _)| *when <= now) {
            said.extend(self.answers.pop_front().map(|(_, bytes)| bytes).unwrap_or_default());
        }
        if self.fault == Fault::Flood && self.since.elapsed() > Duration::from_millis(1) {
            self.since = now;
            said.extend([0x12; 24]);
        }
        if self.fault == Fault::Mute { Vec::new() } else { said }
    }

    /// The paper that came out since this was last asked, piece by piece.
    pub fn paper(&mut self) -> Vec<Piece> {
        self.command.clear();
        let seen = decode(&std::mem::take(&mut self.stream), &self.truth);
        let mut pieces = Vec::new();
        let mut top = 0;
        for end in seen.cuts.iter().copied().chain([seen.bitmap.height()]) {
            if end > top {
                pieces.push(seen.bitmap.part(0, top as i32, seen.bitmap.width(), end - top));
                top = end;
            }
        }
        pieces
    }

    fn drain(&mut self) {
        if self.fault == Fault::SmallBuffer {
            let now = Instant::now();
            self.level = (self.level - (now - self.since).as_secs_f64() * 1000.0 * f64::from(PACE)).max(0.0);
            self.since = now;
        }
    }

    /// Acted upon as it comes, wherever it stands.
    fn hear_real_time(&mut self, byte: u8) {
        self.real_time.push(byte);
        match self.real_time[..] {
            [0x10] | [0x10, 0x04] => {}
            [0x10, 0x04, 1..=4] => {
                self.answers.push_back((Instant::now(), vec![0x12]));
                self.real_time.clear();
            }
            [.., 0x10] => self.real_time = vec![0x10],
            _ => self.real_time.clear(),
        }
    }

    /// Says something when all that came before is worked off.
    fn say(&mut self, bytes: Vec<u8>) {
        let late = if self.fault == Fault::SmallBuffer { self.level / f64::from(PACE) / 1000.0 } else { 0.0 };
        self.answers.push_back((Instant::now() + Duration::from_secs_f64(late), bytes));
    }

    /// Does the first command that came whole. Whether more may be done.
    fn obey(&mut self) -> bool {
        let Some(&first) = self.command.first() else { return false };
        let letter = self.command.get(1).copied();
        let length = match (first, letter) {
            (0x10 | 0x1B | 0x1C | 0x1D, None) => return false,
            (0x10, Some(0x04 | 0x05)) => Some(3),
            (0x1B, Some(b'@' | b'2')) => Some(2),
            (0x1B, Some(b'3' | b'J' | b'd' | b'a')) => Some(3),
            (0x1B, Some(b'$' | b'\\')) => (self.fault != Fault::NoEscDollar || letter == Some(b'\\')).then_some(4),
            (0x1B, Some(b'*')) => {
                let Some([low, high]) = self.at(3) else { return false };
                let deep = if self.command[2] >= 32 { 3 } else { 1 };
                Some(5 + deep * usize::from(u16::from_le_bytes([low, high])))
            }
            (0x1D, Some(b'v')) if self.fault != Fault::OnlyColumns => {
                let (Some(x), Some(y)) = (self.at(4), self.at(6)) else { return false };
                Some(8 + usize::from(u16::from_le_bytes(x)) * usize::from(u16::from_le_bytes(y)))
            }
            (0x1D, Some(b'(')) => match (self.command.get(2), self.at(3)) {
                (Some(b'L'), _) if matches!(self.fault, Fault::NoGraphics | Fault::OnlyColumns) => None,
                (_, None) => return false,
                (_, Some(length)) => Some(5 + usize::from(u16::from_le_bytes(length))),
            },
            (0x1D, Some(b'V')) => match self.command.get(2) {
                None => return false,
                Some(0 | 1 | 48 | 49) => Some(3),
                Some(_) if self.fault == Fault::CutsHere => None,
                Some(_) => Some(4),
            },
            (0x1D, Some(b'I' | b'r' | b'a')) => Some(3),
            (0x1D, Some(b'P' | b'L' | b'W')) => Some(4),
            (0x1B..=0x1D, Some(_)) => None,
            _ => Some(1),
        };
        match length {
            Some(length) if self.command.len() < length => false,
            Some(length) => {
                let command: Vec<u8> = self.command.drain(..length).collect();
                self.act(&command);
                true
            }
            None => {
                // Not known: the lead and its letter are dropped, what follows is taken for something else.
                self.command.drain(..2);
                true
            }
        }
    }

    fn at(&self, from: usize) -> Option<[u8; 2]> {
        Some([*self.command.get(from)?, *self.command.get(from + 1)?])
    }

    fn act(&mut self, command: &[u8]) {
        match *command {
            [0x10, ..] => {}
            [0x1D, b'I', number] => self.identify(number),
            [0x1D, b'r', _] => self.say(vec![0x00]),
            [0x1D, b'a', _] => {}
            [0x1D, b'(', b'H', 6, 0, 0x30, 0x30, a, b, c, d] => self.say(vec![0x37, 0x22, a, b, c, d, 0x00]),
            [0x1D, b'V', ..] if self.fault == Fault::NoCutter => {}
            [0x1D, b'v', _, _, x_low, x_high, ref rest @ ..] if self.fault == Fault::ShortBands && rest.len() > 2 + 1024 => {
                // So many rows as fit are printed; the rest is text.
                let stride = u16::from_le_bytes([x_low, x_high]).max(1);
                let rows = 1024 / stride;
                let [low, high] = rows.to_le_bytes();
                self.stream.extend([0x1D, 0x76, 0x30, 0, x_low, x_high, low, high]);
                let (dots, text) = rest[2..].split_at(usize::from(rows) * usize::from(stride));
                self.stream.extend(dots);
                text.iter().filter(|byte| **byte >= 0x20).for_each(|&byte| self.letter(byte));
            }
            [byte] if byte >= 0x20 => self.letter(byte),
            [0x0A | 0x0D, ..] => self.stream.extend(command),
            [_] => {}
            _ => self.stream.extend(command),
        }
    }

    /// A letter of its own: twelve columns of a pattern that no other has, and that no letter of a type looks like.
    fn letter(&mut self, letter: u8) {
        self.stream.extend([0x1B, 0x2A, 0x21, 12, 0]);
        for column in 0..12u8 {
            let dots = if letter != b' ' && (1..11).contains(&column) { letter.rotate_left(u32::from(column)) | 0x81 } else { 0 };
            self.stream.extend([0, sent(dots, self.truth.lsb_first), 0]);
        }
    }

    /// `GS I`: 1 to 3 are bytes, 65 to 69 are texts between `_` and a zero.
    fn identify(&mut self, number: u8) {
        let text = match number {
            1..=3 => return self.say(vec![number]),
            65 => "1.0",
            66 => "Reedbed Works",
            67 => "Pretend 80",
            68 => "RW-0001",
            69 => "",
            _ => return,
        };
        self.say([b"_", text.as_bytes(), &[0]].concat());
    }
}

fn sent(byte: u8, lsb_first: bool) -> u8 {
    if lsb_first { byte.reverse_bits() } else { byte }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lengths::Resolution;
    use crate::printer::{Thrift, encode};
    use crate::strip::Strip;

    fn drawing() -> Strip {
        let mut bitmap = Bitmap::new(576, 100);
        bitmap.fill(0, 0, 60, 30, true);
        bitmap.fill(500, 0, 76, 30, true);
        bitmap.fill(500, 70, 76, 30, true);
        Strip::new(bitmap, Resolution::EIGHT)
    }

    fn came_out(fault: &str, thrift: Thrift) -> Vec<Bitmap> {
        let mut pretend = Pretend::new(fault).expect("known");
        let profile = Profile { thrift, ..Profile::named("80mm").expect("built in") };
        pretend.take(&encode(&drawing(), &profile));
        pretend.paper()
    }

    #[test]
    fn a_sound_one_prints_and_each_fault_is_one() {
        let strip = vec![drawing().bitmap];
        assert_eq!(came_out("sound", Thrift::None), strip);
        assert_eq!(came_out("sound", Thrift::Stripes), strip);
        assert_eq!(came_out("no-esc-dollar", Thrift::None), strip);
        assert_ne!(came_out("no-esc-dollar", Thrift::Stripes), strip);
        assert_ne!(came_out("only-columns", Thrift::None), strip);
        assert_eq!(came_out("mirrored", Thrift::None), vec![drawing().bitmap.mirrored()]);
        assert_ne!(came_out("half-units", Thrift::Feeds), strip);
        assert_ne!(came_out("short-bands", Thrift::None), strip);
        assert_ne!(came_out("cuts-here", Thrift::None), strip);
        assert_ne!(came_out("small-buffer", Thrift::None), strip);
    }

    #[test]
    fn questions_are_answered_as_the_command_references_say_or_not_at_all() {
        let ask = |fault: &str, question: &[u8]| {
            let mut pretend = Pretend::new(fault).expect("known");
            pretend.take(question);
            pretend.answers()
        };
        // Healthy 12 (CHECKS.md, "Paper, printer, folding"); GS I, GS r, GS ( H: vendors' command references (memory).
        assert_eq!(ask("sound", &[0x10, 0x04, 1]), [0x12]);
        assert_eq!(ask("sound", &[0x1D, 0x49, 66]), b"_Reedbed Works\0");
        assert_eq!(ask("sound", b"\x1D(H\x06\x0000ABCD"), b"\x37\x22ABCD\0");
        assert!(ask("mute", &[0x10, 0x04, 1]).is_empty());
        assert_eq!(ask("echo", &[0x10, 0x04, 1]), [0x10, 0x04, 1]);
    }
}
