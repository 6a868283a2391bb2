//! What a printer would do with these bytes: executes them one command after the other and paints the paper.
//!
//! Written from the vendors' command references alone and never from what [`super::encode()`] happens to send, so that the two
//! can be held against each other. Any bytes at all may come in: what is cut short, unknown or out of place becomes a
//! [`Fault`] with its offset, and the work goes on behind it. Text in the printer's own letters is counted, not painted.
//!
//! # What is on the paper
//! The picture holds what was fed under the head, first row first. What a cut (or, on a printer without a cutter, the last
//! feed) moves from the head to the blade or tear bar is no part of it: it is counted in [`Seen::gap_rows`].

mod commands;
mod paper;
mod raster;
mod skip;

use std::collections::BTreeMap;

use super::profile::{Cut, Profile};
use crate::bitmap::Bitmap;
use paper::Paper;

/// Something in the bytes that a printer would not do, or not as it was meant.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// Bytes from the start of the stream.
    pub offset: usize,
    pub message: String,
}

/// What came out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Seen {
    /// The paper, as wide as the profile prints; its beginning only, if there is too much of it to be painted.
    pub bitmap: Bitmap,
    /// Rows fed in all: the bitmap's height, and more if the paper runs on unpainted.
    pub rows: u32,
    /// Rows above which the paper was cut; a cut at the end stands at the bitmap's height.
    pub cuts: Vec<u32>,
    /// How often each command stood in the bytes, by its name in the command references.
    pub commands: BTreeMap<String, u64>,
    pub bytes: usize,
    /// At most [`MOST_FAULTS`]; `fault_count` counts on.
    pub errors: Vec<Fault>,
    pub fault_count: u64,
    /// Rows fed from the head to the blade or tear bar.
    pub gap_rows: u64,
    /// Real-time commands (10 04, 10 05, 10 14) that stand inside another command's bytes, where a printer acts on them too.
    pub hidden_real_time: u64,
    /// Bytes of text outside any command.
    pub text_bytes: u64,
}

/// Faults that are told one by one.
pub const MOST_FAULTS: usize = 200;

/// Bytes of dots that are painted: beyond it the paper runs on unpainted. 96 MiB are 174 m, 72 mm wide.
pub const MOST_DOTS: usize = 96 << 20;

/// Executes `bytes` as the printer of `profile` would. Never fails: see [`Seen::errors`].
pub fn decode(bytes: &[u8], profile: &Profile) -> Seen {
    decode_within(bytes, profile, MOST_DOTS)
}

/// As [`decode`], painting at most `most` bytes of dots.
pub fn decode_within(bytes: &[u8], profile: &Profile, most: usize) -> Seen {
    let mut machine = Machine {
        profile,
        bytes,
        at: 0,
        start: 0,
        paper: Paper::new(profile, most),
        stored: None,
        cuts: Vec::new(),
        commands: BTreeMap::new(),
        errors: Vec::new(),
        fault_count: 0,
        gap_rows: 0,
        hidden_real_time: 0,
        text_bytes: 0,
    };
    while machine.at < bytes.len() {
        machine.start = machine.at;
        if machine.command().is_none() {
            machine.fault("the bytes end inside a command");
            machine.at = bytes.len();
        }
        machine.look_for_real_time();
    }
    machine.finish()
}

/// Graphics that wait for function 50.
struct Stored {
    picture: Bitmap,
    scale: (u32, u32),
}

struct Machine<'a> {
    profile: &'a Profile,
    bytes: &'a [u8],
    /// The next byte to read.
    at: usize,
    /// Where the command at work began.
    start: usize,
    paper: Paper,
    stored: Option<Stored>,
    cuts: Vec<u32>,
    commands: BTreeMap<String, u64>,
    errors: Vec<Fault>,
    fault_count: u64,
    gap_rows: u64,
    hidden_real_time: u64,
    text_bytes: u64,
}

impl<'a> Machine<'a> {
    fn byte(&mut self) -> Option<u8> {
        let byte = self.bytes.get(self.at).copied()?;
        self.at += 1;
        Some(byte)
    }

    /// Two bytes, low first.
    fn word(&mut self) -> Option<u16> {
        Some(u16::from_le_bytes([self.byte()?, self.byte()?]))
    }

    fn take(&mut self, count: usize) -> Option<&'a [u8]> {
        let taken = self.bytes.get(self.at..self.at.checked_add(count)?)?;
        self.at += count;
        Some(taken)
    }

    fn count(&mut self, name: &str) {
        match self.commands.get_mut(name) {
            Some(count) => *count += 1,
            None => {
                self.commands.insert(name.to_string(), 1);
            }
        }
    }

    fn fault(&mut self, message: impl Into<String>) {
        self.fault_count += 1;
        if self.errors.len() < MOST_FAULTS {
            self.errors.push(Fault { offset: self.start, message: message.into() });
        }
    }

    /// `GS V`: function A cuts where the blade stands; B, C and D feed the present row to the blade first, and n units more.
    fn cut(&mut self) -> Option<()> {
        self.count("GS V");
        match self.byte()? {
            0 | 1 | 48 | 49 => self.cut_here(),
            65 | 66 | 97 | 98 | 103 | 104 => {
                let units = self.byte()?;
                self.paper.finish_line();
                self.paper.feed(u32::from(units));
                self.gap_rows += u64::from(self.profile.gap_rows());
                let row = self.paper.rows();
                self.record_cut(row);
            }
            mode => self.fault(format!("GS V {mode} is no way to cut")),
        }
        Some(())
    }

    /// A cut without a feed falls as far above the head as the blade stands.
    /// White that was fed for it since the last cut, as far as from head to blade, is no part of the strip: as where the printer
    /// feeds by itself.
    fn cut_here(&mut self) {
        self.paper.finish_line();
        let gap = self.profile.gap_rows();
        let since = self.paper.rows() - self.cuts.last().copied().unwrap_or(0).min(self.paper.rows());
        if self.profile.cut != Cut::None && since >= gap && self.paper.ends_blank(gap) {
            self.paper.drop_last(gap);
            self.gap_rows += u64::from(gap);
            let row = self.paper.rows();
            return self.record_cut(row);
        }
        let row = self.paper.rows().saturating_sub(self.profile.gap_rows());
        self.record_cut(row.max(self.cuts.last().copied().unwrap_or(0)));
    }

    fn record_cut(&mut self, row: u32) {
        if self.profile.cut == Cut::None {
            self.fault(format!("a cut at row {row}, but this printer has no cutter"));
        }
        self.cuts.push(row);
    }

    /// A printer looks for real-time commands in every byte that comes in, inside other commands as well.
    fn look_for_real_time(&mut self) {
        let inside = match self.bytes.get(self.start..self.at) {
            Some([0x10, ..]) | None => return,
            Some(inside) => inside,
        };
        let found = inside.windows(2).filter(|pair| matches!(pair, [0x10, 0x04 | 0x05 | 0x14])).count();
        let across = matches!((inside.last(), self.bytes.get(self.at)), (Some(0x10), Some(0x04 | 0x05 | 0x14)));
        let found = found as u64 + u64::from(across);
        if found > 0 {
            self.hidden_real_time += found;
            self.fault(format!("{found} real-time commands (10 04, 10 05, 10 14) are hidden in this command's bytes"));
        }
    }

    fn finish(mut self) -> Seen {
        self.start = self.bytes.len();
        if self.paper.finish_line() {
            self.fault("the last line is never printed: no line feed follows it");
        }
        if self.stored.is_some() {
            self.fault("stored graphics are never printed");
        }
        let gap = self.profile.gap_rows();
        if self.profile.cut == Cut::None && self.cuts.is_empty() && self.paper.ends_blank(gap) {
            self.paper.drop_last(gap);
            self.gap_rows += u64::from(gap);
        }
        Seen {
            rows: self.paper.rows(),
            bitmap: {
                let bitmap = self.paper.into_bitmap();
                if self.profile.mirrored { bitmap.mirrored() } else { bitmap }
            },
            cuts: self.cuts,
            commands: self.commands,
            bytes: self.bytes.len(),
            errors: self.errors,
            fault_count: self.fault_count,
            gap_rows: self.gap_rows,
            hidden_real_time: self.hidden_real_time,
            text_bytes: self.text_bytes,
        }
    }
}

/// A byte as the command references write it: its letter, or hexadecimal.
fn shown(byte: u8) -> String {
    if byte.is_ascii_graphic() { (byte as char).to_string() } else { format!("{byte:02X}") }
}
