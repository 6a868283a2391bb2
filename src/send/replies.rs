//! Sorts the bytes that come back from a printer into answers to what was asked, late answers, and rubbish.
//!
//! Pure: no line and no clock. The formats of the answers to `GS r 1` and `GS ( H` are from vendors' command references (memory).

use super::capabilities::Fence;
use super::status::is_status;
use std::collections::VecDeque;
use std::time::{SystemTime, UNIX_EPOCH};

/// What is owed and what has come.
///
/// The answer to `GS r 1` is one byte of which only two bits are fixed, so a byte of line noise passes for it one time in four.
/// That is why it is asked twice in a row and both answers must be the same byte.
pub(crate) struct Replies {
    fence: Fence,
    statuses: VecDeque<u8>,
    status_owed: VecDeque<usize>,
    fence_owed: VecDeque<usize>,
    papers: Vec<u8>,
    names: VecDeque<[u8; 4]>,
    packet: Vec<u8>,
    next_name: u16,
    named: bool,
    answered_to: usize,
    worked_off_to: usize,
    stray: usize,
    unanswered: usize,
    paper_end: bool,
}

impl Replies {
    pub(crate) fn new(fence: Fence) -> Replies {
        // Names only need to differ from those of an earlier run whose answers may still come.
        let moment = SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |age| age.subsec_micros());
        Replies {
            fence,
            statuses: VecDeque::new(),
            status_owed: VecDeque::new(),
            fence_owed: VecDeque::new(),
            papers: Vec::new(),
            names: VecDeque::new(),
            packet: Vec::new(),
            next_name: (moment ^ std::process::id()) as u16,
            named: false,
            answered_to: 0,
            worked_off_to: 0,
            stray: 0,
            unanswered: 0,
            paper_end: false,
        }
    }

    /// A strip begins: positions count from its first byte, and what was odd before it is no longer held against the line.
    pub(crate) fn begin_strip(&mut self) {
        self.answered_to = 0;
        self.worked_off_to = 0;
        self.stray = 0;
        self.unanswered = 0;
        self.paper_end = false;
    }

    /// `position`: bytes of the strip that lie before the question.
    pub(crate) fn owe_status(&mut self, position: usize) {
        self.status_owed.push_back(position);
    }

    /// The bytes that ask for proof of everything up to `position`.
    pub(crate) fn owe_fence(&mut self, position: usize) -> Vec<u8> {
        if self.fence_owed.is_empty() {
            self.papers.clear();
            self.named = false;
        }
        match self.fence {
            Fence::None => Vec::new(),
            Fence::Paper => {
                self.fence_owed.extend([position, position]);
                vec![0x1D, 0x72, 0x01, 0x1D, 0x72, 0x01]
            }
            Fence::Process => {
                let name = self.next_name.to_be_bytes();
                self.next_name = self.next_name.wrapping_add(1);
                // Letters A..P: none of them passes for a status answer.
                let letters = [name[0] >> 4, name[0] & 15, name[1] >> 4, name[1] & 15].map(|nibble| b'A' + nibble);
                self.names.push_back(letters);
                self.fence_owed.push_back(position);
                [&[0x1D, 0x28, 0x48, 0x06, 0x00, 0x30, 0x30][..], &letters[..]].concat()
            }
        }
    }

    /// Sorts what has come. Returns whether any of it was a valid answer.
    pub(crate) fn take_in(&mut self, bytes: &[u8]) -> bool {
        let mut valid = false;
        for &byte in bytes {
            valid |= self.take(byte);
        }
        valid
    }

    fn take(&mut self, byte: u8) -> bool {
        if is_status(byte) {
            let owed = self.status_owed.pop_front();
            if let Some(position) = owed {
                self.answered_to = self.answered_to.max(position);
                self.statuses.push_back(byte);
            }
            return owed.is_some();
        }
        // XON and XOFF of a line without its own handling of them.
        if matches!(byte, 0x11 | 0x13) {
            return false;
        }
        match self.fence {
            Fence::Paper if byte & 0x90 == 0 => match self.fence_owed.pop_front() {
                Some(position) => {
                    self.worked_off_to = self.worked_off_to.max(position);
                    self.paper_end |= byte & 0x0C != 0 && self.papers.last() == Some(&byte);
                    self.papers.push(byte);
                    true
                }
                None => self.odd(1),
            },
            Fence::Process => self.take_packet(byte),
            Fence::None | Fence::Paper => self.odd(1),
        }
    }

    /// The answer to `GS ( H`: 37 22, the four letters, 00.
    fn take_packet(&mut self, byte: u8) -> bool {
        let expected = [Some(0x37), Some(0x22), None, None, None, None, Some(0x00)];
        let fits = expected.get(self.packet.len()).is_some_and(|wanted| wanted.is_none_or(|wanted| wanted == byte));
        if !fits {
            let spoiled = std::mem::take(&mut self.packet).len();
            if byte != 0x37 {
                return self.odd(spoiled + 1);
            }
            self.odd(spoiled);
        }
        self.packet.push(byte);
        let [_, _, a, b, c, d, _] = self.packet[..] else {
            return false;
        };
        self.packet.clear();
        let name = [a, b, c, d];
        let Some(place) = self.names.iter().position(|&owed| owed == name) else {
            return false;
        };
        // Answers come in the order of the questions: one that is skipped was lost on the way.
        self.unanswered += place;
        for _ in 0..=place {
            self.names.pop_front();
            self.worked_off_to = self.worked_off_to.max(self.fence_owed.pop_front().unwrap_or(0));
        }
        self.named = true;
        true
    }

    fn odd(&mut self, count: usize) -> bool {
        self.stray += count;
        false
    }

    /// The next answer to a real-time question.
    pub(crate) fn status(&mut self) -> Option<u8> {
        self.statuses.pop_front()
    }

    pub(crate) fn owed(&self) -> usize {
        self.status_owed.len() + self.fence_owed.len()
    }

    pub(crate) fn owed_status(&self) -> usize {
        self.status_owed.len()
    }

    pub(crate) fn owes_fence(&self) -> bool {
        !self.fence_owed.is_empty()
    }

    /// Whether the last proof asked for on a quiet line has come and is free of doubt.
    pub(crate) fn fence_agrees(&self) -> bool {
        match self.fence {
            Fence::None => false,
            Fence::Paper => matches!(self.papers[..], [first, second] if first == second),
            Fence::Process => self.named && self.names.is_empty(),
        }
    }

    /// Bytes of the strip that are known to have reached the printer.
    pub(crate) fn answered_to(&self) -> usize {
        self.answered_to.max(self.worked_off_to)
    }

    /// Bytes of the strip that are known to be worked off.
    pub(crate) fn worked_off_to(&self) -> usize {
        self.worked_off_to
    }

    /// Bytes since the strip began that were no answer to anything.
    pub(crate) fn stray(&self) -> usize {
        self.stray
    }

    /// Questions since the strip began that were given up.
    pub(crate) fn unanswered(&self) -> usize {
        self.unanswered
    }

    /// Whether two answers to `GS r 1` in a row told of the paper's end since this was last asked.
    pub(crate) fn paper_end(&mut self) -> bool {
        std::mem::take(&mut self.paper_end)
    }

    /// No real-time answer is owed any more: whatever comes belongs to questions asked from now on.
    pub(crate) fn forget_statuses(&mut self) {
        self.unanswered += self.status_owed.len();
        self.statuses.clear();
        self.status_owed.clear();
    }

    /// Nothing is owed any more, not even proof.
    pub(crate) fn forget(&mut self) {
        self.forget_statuses();
        self.unanswered += self.fence_owed.len();
        self.fence_owed.clear();
        self.papers.clear();
        self.names.clear();
        self.packet.clear();
        self.named = false;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_answer_counts_only_while_it_is_owed() {
        let mut replies = Replies::new(Fence::Paper);
        assert!(!replies.take_in(&[0x12]));
        assert_eq!(replies.status(), None);
        replies.owe_status(100);
        assert!(replies.take_in(&[0x1A]));
        assert_eq!((replies.status(), replies.answered_to(), replies.owed()), (Some(0x1A), 100, 0));
    }

    #[test]
    fn one_byte_of_noise_is_no_proof() {
        let mut replies = Replies::new(Fence::Paper);
        assert_eq!(replies.owe_fence(7), [0x1D, 0x72, 0x01, 0x1D, 0x72, 0x01]);
        assert!(replies.take_in(&[0x40]));
        assert!(replies.owes_fence() && !replies.fence_agrees());
        assert!(replies.take_in(&[0x00]));
        assert!(!replies.owes_fence() && !replies.fence_agrees(), "two different answers agree on nothing");
        replies.owe_fence(7);
        assert!(replies.take_in(&[0x12, 0x00, 0x00]));
        assert!(replies.fence_agrees());
        assert!(!replies.paper_end());
    }

    #[test]
    fn a_named_proof_is_known_among_late_ones_status_and_rubbish() {
        let mut replies = Replies::new(Fence::Process);
        let question = replies.owe_fence(9);
        assert_eq!(question[..7], [0x1D, 0x28, 0x48, 0x06, 0x00, 0x30, 0x30]);
        let name = &question[7..];
        replies.owe_status(0);
        let late = [0x37, 0x22, b'Q', b'Q', b'Q', b'Q', 0];
        replies.take_in(&late);
        assert!(!replies.fence_agrees());
        replies.take_in(&[0x99, 0x37, 0x37, 0x22, name[0], name[1], 0x12, name[2]]);
        assert_eq!(replies.stray(), 2);
        assert!(!replies.fence_agrees());
        replies.take_in(&[name[3], 0x00]);
        assert!(replies.fence_agrees() && replies.status() == Some(0x12));
    }

    #[test]
    fn a_skipped_proof_is_missed() {
        let mut replies = Replies::new(Fence::Process);
        replies.owe_fence(1);
        let second = replies.owe_fence(2);
        replies.take_in(&[&[0x37, 0x22][..], &second[7..], &[0][..]].concat());
        assert_eq!(replies.unanswered(), 1);
    }
}
