//! The talk with one printer over one open line: questions, answers, and the bytes of strips between them.
//!
//! Invariants: no wait without a limit; no real-time question inside a chunk; an answer counts only while one is owed, and a
//! strip counts as worked off only when every question asked during it was answered.

use super::capabilities::{Capabilities, Fence, Times};
use super::replies::Replies;
use super::status::{self, Status};
use super::stop::Stop;
use super::strip_bytes::StripBytes;
use super::transport::{PIECE, Transport, waits};
use super::trouble::Trouble;
use std::io;
use std::time::{Duration, Instant};

/// How often a wait looks up to see whether it should end.
const SLICE: Duration = Duration::from_millis(20);

/// How far a strip got before it ended or broke off.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Reached {
    /// Bytes handed over.
    pub(crate) bytes: usize,
    /// The first byte of the last chunk with dots was handed over: from here on the strip may be whole.
    pub(crate) may_be_whole: bool,
}

pub(crate) struct Session {
    at: String,
    transport: Box<dyn Transport>,
    capabilities: Capabilities,
    times: Times,
    stop: Stop,
    replies: Replies,
    heard: Vec<u8>,
    /// When the printer last gave a sign of life, or was first asked for one.
    alive: Instant,
    /// Bytes handed over since the oldest question that is still open.
    ahead: usize,
    paper_low: bool,
}

impl Session {
    pub(crate) fn new(
        at: String,
        transport: Box<dyn Transport>,
        mut capabilities: Capabilities,
        times: Times,
        stop: Stop,
    ) -> Session {
        if !transport.hears() {
            capabilities.status = false;
            capabilities.fence = Fence::None;
        }
        let replies = Replies::new(capabilities.fence);
        Session {
            at,
            transport,
            capabilities,
            times,
            stop,
            replies,
            heard: Vec::new(),
            alive: Instant::now(),
            ahead: 0,
            paper_low: false,
        }
    }

    /// Whether a fence can prove anything on this line.
    pub(crate) fn proves(&self) -> bool {
        self.capabilities.fence != Fence::None
    }

    pub(crate) fn paper_low(&self) -> bool {
        self.paper_low
    }

    /// Brings the line into order before a strip: late answers are let through, the printer is asked how it is, and, when the
    /// line was just opened or the strip before was broken off (`broken_off`), it is made sure that it stands between two
    /// commands. `longest` is how many bytes a printer that lost its place may still be waiting for.
    pub(crate) fn prepare(&mut self, fresh: bool, broken_off: bool, longest: usize) -> Result<(), Trouble> {
        self.port_must_be_well()?;
        if !self.transport.hears() || !(self.capabilities.status || self.proves()) {
            if broken_off {
                self.give(&vec![0; longest])?;
                self.eject()?;
            }
            return Ok(());
        }
        if fresh || broken_off {
            self.quieten(true)?;
        }
        if self.capabilities.status {
            self.must_be_well()?;
        }
        let mut lost = false;
        if (fresh || broken_off) && self.proves() {
            // A printer in the middle of a command takes the question for picture data. Zeros end that command with white
            // rows; between commands they mean nothing.
            match self.fence(self.times.answer) {
                Ok(()) => {}
                Err(Trouble::NotWorkedOff { .. }) => {
                    lost = true;
                    self.give(&vec![0; longest])?;
                    self.fence(self.times.work_off.min(self.times.answer * 5))?;
                }
                Err(trouble) => return Err(trouble),
            }
            self.quieten(true)?;
        } else if broken_off {
            self.give(&vec![0; longest])?;
        }
        if broken_off || lost {
            self.eject()?;
        }
        Ok(())
    }

    /// Sends a strip, looking out for faults between its chunks, and waits until it is worked off where that can be proved.
    pub(crate) fn send(&mut self, strip: &StripBytes, reached: &mut Reached, sent: &mut dyn FnMut(usize)) -> Result<(), Trouble> {
        let mut since_fence = 0;
        self.ahead = 0;
        self.replies.begin_strip();
        for (index, chunk) in strip.chunks().iter().enumerate() {
            let mut rest = chunk.as_slice();
            while !rest.is_empty() {
                let count = self.give_some(rest)?;
                rest = rest.get(count..).unwrap_or_default();
                reached.bytes += count;
                reached.may_be_whole |= index >= strip.last_with_dots();
                self.ahead += count;
            }
            sent(reached.bytes);
            since_fence += chunk.len();
            let last = index + 1 == strip.chunks().len();
            if last {
                break;
            }
            self.rest(self.capabilities.pace)?;
            if self.capabilities.status {
                self.ask_now(1)?;
            }
            if self.proves() && since_fence >= self.capabilities.buffer / 4 {
                self.ask_fence()?;
                since_fence = 0;
            }
            self.keep_within(strip.longest())?;
        }
        self.wait_until(self.times.work_off, |session| session.replies.owed() == 0)?;
        if self.proves() {
            self.fence(self.times.work_off)?;
        } else if !self.wait_flushed()? {
            self.port_must_be_well()?;
            return Err(self.stalled());
        }
        if self.capabilities.status {
            self.must_be_well()?;
        }
        self.port_must_be_well()?;
        if self.replies.stray() > 0 && self.capabilities.fence == Fence::Paper {
            return Err(self.rubbish());
        }
        if self.replies.unanswered() > 0 {
            return Err(Trouble::Mute { at: self.at.clone() });
        }
        Ok(())
    }

    /// Lets go of the line.
    pub(crate) fn close(&mut self) {
        self.transport.close(self.times.answer);
    }

    fn eject(&mut self) -> Result<(), Trouble> {
        let eject = self.capabilities.eject.clone();
        self.give(&eject)
    }

    /// Asks how the printer is; an ailment must be seen twice before it counts, so that a late answer to another question is
    /// never taken for one.
    fn must_be_well(&mut self) -> Result<(), Trouble> {
        let until = Instant::now() + self.times.work_off;
        loop {
            let mut status = self.round()?;
            if !status.ailments().is_empty() {
                self.quieten(false)?;
                status = self.round()?;
            }
            self.paper_low |= status.paper_low();
            if status.ailments().is_empty() {
                return Ok(());
            }
            let trouble = Trouble::Printer(status);
            if !trouble.passes_by_itself() || Instant::now() >= until {
                return Err(trouble);
            }
            self.rest(self.times.look)?;
        }
    }

    /// Where no status comes from the printer, its port may know of a fault. That it knows of none proves nothing.
    fn port_must_be_well(&mut self) -> Result<(), Trouble> {
        if self.capabilities.status {
            return Ok(());
        }
        match self.transport.port().map(Status::of_port) {
            Some(status) if !status.ailments().is_empty() => Err(Trouble::Printer(status)),
            _ => Ok(()),
        }
    }

    /// One round of the four questions, one at a time.
    fn round(&mut self) -> Result<Status, Trouble> {
        if self.replies.owed_status() > 0 {
            self.quieten(false)?;
        }
        let mut answers = [0u8; 4];
        for (number, place) in (1..=4u8).zip(answers.iter_mut()) {
            *place = self.question(number)?;
        }
        Ok(Status { answers })
    }

    /// One real-time question and its answer; asked twice before silence counts, because one answer may have come late.
    fn question(&mut self, number: u8) -> Result<u8, Trouble> {
        for attempt in 0..2 {
            if attempt > 0 {
                self.quieten(false)?;
            }
            self.ask_now(number)?;
            let until = Instant::now() + self.times.answer + self.on_the_way();
            loop {
                self.listen(SLICE)?;
                if let Some(answer) = self.replies.status() {
                    return Ok(answer);
                }
                if Instant::now() >= until {
                    break;
                }
            }
        }
        Err(self.silent())
    }

    fn ask_now(&mut self, number: u8) -> Result<(), Trouble> {
        self.give(&status::question(number))?;
        if self.replies.owed_status() == 0 {
            self.alive = Instant::now();
        }
        self.replies.owe_status(self.ahead);
        Ok(())
    }

    fn ask_fence(&mut self) -> Result<(), Trouble> {
        let question = self.replies.owe_fence(self.ahead);
        self.give(&question)
    }

    /// Keeps the printer's buffer from filling up: a full one takes no question, and a fault in it is told by silence only.
    fn keep_within(&mut self, chunk: usize) -> Result<(), Trouble> {
        let unanswered = chunk.max(self.capabilities.buffer / 4);
        let unworked = chunk.max(self.capabilities.buffer / 2);
        let proves = self.proves();
        self.wait_until(self.times.work_off, |session| {
            let ahead = |position: usize| session.ahead.saturating_sub(position);
            (session.replies.owed_status() == 0 || ahead(session.replies.answered_to()) <= unanswered)
                && (!proves || !session.replies.owes_fence() || ahead(session.replies.worked_off_to()) <= unworked)
        })
    }

    /// Listens until `done`, for `limit` at most. While it waits it keeps asking how the printer is, so that a fault is told
    /// as what it is.
    fn wait_until(&mut self, limit: Duration, done: impl Fn(&Session) -> bool) -> Result<(), Trouble> {
        let until = Instant::now() + limit + self.on_the_way();
        let mut look = Instant::now() + self.times.look;
        self.listen(Duration::ZERO)?;
        self.mind_answers()?;
        while !done(self) {
            self.listen(SLICE)?;
            self.mind_answers()?;
            let now = Instant::now();
            if now >= until {
                self.quieten(true)?;
                let late = Trouble::NotWorkedOff { at: self.at.clone(), after: limit };
                return Err(if self.replies.stray() > 0 { self.rubbish() } else { late });
            }
            if self.capabilities.status && self.replies.owed_status() == 0 && now >= look {
                self.ask_now(1)?;
                look = now + self.times.look;
            }
            if self.replies.owed_status() > 0 && self.alive.elapsed() > self.times.answer + self.on_the_way() {
                return Err(self.silent());
            }
        }
        Ok(())
    }

    /// Looks at the answers to the questions between chunks: one that says "off line" is followed up.
    fn mind_answers(&mut self) -> Result<(), Trouble> {
        while let Some(answer) = self.replies.status() {
            if status::says_off_line(answer) {
                self.quieten(false)?;
                self.must_be_well().map_err(|trouble| match trouble {
                    // Too full to take another question: then this is all that is known.
                    Trouble::Mute { .. } => Trouble::Printer(Status { answers: [answer, 0x12, 0x12, 0x12] }),
                    trouble => trouble,
                })?;
            }
        }
        match self.replies.paper_end() {
            true => Err(Trouble::Printer(Status { answers: [0x1A, 0x32, 0x12, 0x7E] })),
            false => Ok(()),
        }
    }

    /// Asks for proof that everything sent so far is worked off, and waits for it.
    fn fence(&mut self, limit: Duration) -> Result<(), Trouble> {
        for _ in 0..3 {
            self.ask_fence()?;
            self.wait_until(limit, |session| session.replies.owed() == 0)?;
            if self.replies.fence_agrees() {
                return Ok(());
            }
            self.quieten(true)?;
        }
        Err(self.rubbish())
    }

    /// Listens until the real-time answers that are owed have come (or their time is up) and nothing more has come for a
    /// while, then forgets what was owed: what comes after this belongs to new questions. `proof` too is forgotten if told so.
    fn quieten(&mut self, proof: bool) -> Result<(), Trouble> {
        let until = Instant::now() + self.times.answer + self.times.settle;
        let mut quiet_since = Instant::now();
        while Instant::now() < until && (self.replies.owed_status() > 0 || quiet_since.elapsed() < self.times.settle) {
            if self.listen(SLICE.min(self.times.settle))? > 0 {
                quiet_since = Instant::now();
            }
        }
        if proof {
            self.replies.forget();
        } else {
            self.replies.forget_statuses();
        }
        Ok(())
    }

    fn rest(&mut self, time: Duration) -> Result<(), Trouble> {
        let until = Instant::now() + time;
        loop {
            let left = until.saturating_duration_since(Instant::now());
            if left.is_zero() {
                return Ok(());
            }
            self.listen(SLICE.min(left))?;
        }
    }

    fn wait_flushed(&mut self) -> Result<bool, Trouble> {
        let mut until = Instant::now() + self.times.write + self.on_the_way();
        let mut left = self.transport.unsent();
        loop {
            // A slow printer takes its time; one that takes nothing at all does not.
            let now = self.transport.unsent();
            if now < left {
                (left, until) = (now, Instant::now() + self.times.write);
            }
            match self.transport.flush(SLICE) {
                Ok(true) => return Ok(true),
                Ok(false) if Instant::now() >= until => return Ok(false),
                Ok(false) => {
                    self.listen(Duration::ZERO)?;
                }
                Err(error) => return Err(self.broken(error)),
            }
        }
    }

    fn give(&mut self, bytes: &[u8]) -> Result<(), Trouble> {
        let mut rest = bytes;
        while !rest.is_empty() {
            let count = self.give_some(rest)?;
            rest = rest.get(count..).unwrap_or_default();
        }
        Ok(())
    }

    /// Hands over at least one byte, or says why that can't be done.
    fn give_some(&mut self, bytes: &[u8]) -> Result<usize, Trouble> {
        let piece = bytes.get(..bytes.len().min(PIECE)).unwrap_or_default();
        let started = Instant::now();
        loop {
            if self.stop.at_once() {
                return Err(Trouble::Interrupted);
            }
            match self.transport.put(piece, SLICE) {
                Ok(0) => {
                    // A full line may still say why it is full.
                    self.listen(Duration::ZERO)?;
                    if started.elapsed() >= self.times.write {
                        self.port_must_be_well()?;
                        return Err(self.stalled());
                    }
                }
                Ok(count) => return Ok(count.min(piece.len())),
                Err(error) if waits(&error) => {}
                Err(error) => return Err(self.broken(error)),
            }
        }
    }

    /// Takes in what has come back. Returns the number of bytes.
    fn listen(&mut self, limit: Duration) -> Result<usize, Trouble> {
        if self.stop.at_once() {
            return Err(Trouble::Interrupted);
        }
        if !self.transport.hears() {
            std::thread::sleep(limit);
            return Ok(0);
        }
        self.heard.clear();
        match self.transport.hear(&mut self.heard, limit) {
            Ok(count) => {
                if self.replies.take_in(&self.heard) {
                    self.alive = Instant::now();
                }
                Ok(count)
            }
            Err(error) if waits(&error) => Ok(0),
            Err(error) => Err(self.broken(error)),
        }
    }

    /// How long what was handed over may still be on its way on a slow line.
    fn on_the_way(&self) -> Duration {
        let bytes = self.ahead.saturating_sub(self.replies.answered_to()).min(self.capabilities.buffer.max(PIECE) * 4);
        self.transport
            .pace()
            .filter(|&pace| pace > 0)
            .map_or(Duration::ZERO, |pace| Duration::from_millis((bytes as u64 * 1000).div_ceil(u64::from(pace))))
    }

    fn silent(&self) -> Trouble {
        if self.replies.stray() > 0 { self.rubbish() } else { Trouble::Mute { at: self.at.clone() } }
    }

    fn rubbish(&self) -> Trouble {
        Trouble::Rubbish { at: self.at.clone(), bytes: self.replies.stray() }
    }

    fn stalled(&self) -> Trouble {
        Trouble::Stalled { at: self.at.clone(), after: self.times.write }
    }

    fn broken(&self, cause: io::Error) -> Trouble {
        use io::ErrorKind::{BrokenPipe, ConnectionAborted, ConnectionReset, UnexpectedEof};
        match cause.kind() {
            BrokenPipe | ConnectionAborted | ConnectionReset | UnexpectedEof => Trouble::Closed { at: self.at.clone() },
            _ => Trouble::Link { at: self.at.clone(), cause },
        }
    }
}
