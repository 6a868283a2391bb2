//! What a printer's four real-time answers mean, bit by bit, in words that say what to look at.
//!
//! Source of the bits: vendors' command references (memory), save the answers that CHECKS.md lists ("Paper, printer,
//! folding": healthy 12; paper end 1A 32 7E for n = 1, 2, 4; cover open 1A 16 for n = 1, 2). This file asks nothing and
//! waits for nothing: bytes in, meaning out.

use std::fmt;

/// The question `DLE EOT n`, n = 1..4. A printer acts on it the moment it is received, ahead of everything that waits in
/// its buffer, and inside picture data too: it is only ever sent between two whole commands.
pub(crate) fn question(number: u8) -> [u8; 3] {
    [0x10, 0x04, number]
}

/// Bits 0, 1, 4 and 7 of every answer are fixed at 0, 1, 1, 0; a byte that differs there is no status.
pub fn is_status(byte: u8) -> bool {
    byte & 0x93 == 0x12
}

/// The four answers of one round of questions.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Status {
    /// The answers to n = 1, 2, 3, 4.
    pub answers: [u8; 4],
}

/// One thing that keeps a printer from printing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Ailment {
    PaperEnd,
    CoverOpen,
    Cutter,
    Mechanism,
    Unrecoverable,
    TooHot,
    Feeding,
    OtherError,
    OffLine,
}

impl Ailment {
    /// What the person reads: the fault, then what to do.
    fn words(self) -> &'static str {
        match self {
            Ailment::PaperEnd => "paper end: put in a new roll",
            Ailment::CoverOpen => "cover open: close it until it clicks",
            Ailment::Cutter => {
                "cutter jammed: switch the printer off, free the blade and the paper before it, switch it on again"
            }
            Ailment::Mechanism => "the paper path is blocked: open the cover and take out what is caught",
            Ailment::Unrecoverable => {
                "the printer reports an error that it can't clear itself: switch it off and on; if it comes back, it needs service"
            }
            Ailment::TooHot => "the print head is too hot: it goes on by itself when it has cooled",
            Ailment::Feeding => "the feed button is pressed: let it go",
            Ailment::OtherError => "the printer reports an error: look at its lights",
            Ailment::OffLine => {
                "the printer is off line: look at its paper, its cover and its lights, then press its feed or on-line button"
            }
        }
    }
}

impl fmt::Display for Ailment {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(self.words())
    }
}

impl Status {
    /// All four answers 12: nothing wrong.
    pub const HEALTHY: Status = Status { answers: [0x12; 4] };

    /// What a port says: bit 5 paper end, bit 4 selected, bit 3 no error (USB printer class 1.1, `GET_PORT_STATUS`; linux/lp.h; both
    /// from memory). None of the three set is what a port says that knows nothing.
    pub fn of_port(byte: u8) -> Status {
        let answers = match byte & 0x38 {
            lines if lines & 0x20 != 0 => [0x1A, 0x32, 0x12, 0x7E],
            0x18 | 0 => [0x12; 4],
            lines if lines & 0x08 == 0 => [0x1A, 0x52, 0x12, 0x12],
            _ => [0x1A, 0x12, 0x12, 0x12],
        };
        Status { answers }
    }

    /// Everything that keeps the printer from printing, the gravest cause first, consequences of it left out:
    /// off line because the paper is at its end is one ailment, not two.
    pub fn ailments(self) -> Vec<Ailment> {
        let [printer, off_line, error, paper] = self.answers;
        let mut found = Vec::new();
        let mut note = |set: bool, ailment: Ailment| {
            if set {
                found.push(ailment);
            }
        };
        note(off_line & 0x20 != 0 || paper & 0x60 != 0, Ailment::PaperEnd);
        note(off_line & 0x04 != 0, Ailment::CoverOpen);
        note(error & 0x08 != 0, Ailment::Cutter);
        note(error & 0x04 != 0, Ailment::Mechanism);
        note(error & 0x20 != 0, Ailment::Unrecoverable);
        note(error & 0x40 != 0, Ailment::TooHot);
        note(off_line & 0x08 != 0, Ailment::Feeding);
        if found.is_empty() {
            if off_line & 0x40 != 0 {
                found.push(Ailment::OtherError);
            } else if says_off_line(printer) {
                found.push(Ailment::OffLine);
            }
        }
        found
    }

    /// The roll is nearly at its end: no fault, but worth a word.
    pub fn paper_low(self) -> bool {
        self.answers[3] & 0x0C != 0 && self.answers[3] & 0x60 == 0
    }
}

/// The bit of the answer to n = 1 that any ailment sets.
pub(crate) fn says_off_line(answer: u8) -> bool {
    answer & 0x08 != 0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ailments(answers: [u8; 4]) -> Vec<Ailment> {
        assert!(answers.iter().all(|&byte| is_status(byte)), "{answers:02X?} are no answers");
        Status { answers }.ailments()
    }

    #[test]
    fn the_answers_of_the_command_references_are_read() {
        // CHECKS.md, "Paper, printer, folding": vendors' command references.
        assert_eq!(ailments([0x12, 0x12, 0x12, 0x12]), []);
        assert_eq!(ailments([0x1A, 0x32, 0x12, 0x7E]), [Ailment::PaperEnd]);
        assert_eq!(ailments([0x1A, 0x16, 0x12, 0x12]), [Ailment::CoverOpen]);
    }

    #[test]
    fn every_other_bit_has_its_word() {
        // Bits of n = 2, 3: vendors' command references (memory).
        assert_eq!(ailments([0x1A, 0x52, 0x1A, 0x12]), [Ailment::Cutter]);
        assert_eq!(ailments([0x1A, 0x52, 0x16, 0x12]), [Ailment::Mechanism]);
        assert_eq!(ailments([0x1A, 0x52, 0x32, 0x12]), [Ailment::Unrecoverable]);
        assert_eq!(ailments([0x1A, 0x52, 0x52, 0x12]), [Ailment::TooHot]);
        assert_eq!(ailments([0x1A, 0x52, 0x12, 0x12]), [Ailment::OtherError]);
        assert_eq!(ailments([0x1A, 0x1A, 0x12, 0x12]), [Ailment::Feeding]);
        assert_eq!(ailments([0x1A, 0x12, 0x12, 0x12]), [Ailment::OffLine]);
        assert_eq!(ailments([0x1A, 0x36, 0x1A, 0x7E]), [Ailment::PaperEnd, Ailment::CoverOpen, Ailment::Cutter]);
    }

    #[test]
    fn a_port_that_knows_nothing_is_no_ailment() {
        // The class's benign status is 18.
        let of = |byte| ailments(Status::of_port(byte).answers);
        assert_eq!([of(0x18), of(0x00), of(0xDF)], [vec![], vec![], vec![]]);
        assert_eq!([of(0x38), of(0x20)], [vec![Ailment::PaperEnd], vec![Ailment::PaperEnd]]);
        assert_eq!([of(0x08), of(0x10)], [vec![Ailment::OffLine], vec![Ailment::OtherError]]);
    }

    #[test]
    fn a_roll_near_its_end_is_a_word_and_no_ailment() {
        let low = Status { answers: [0x12, 0x12, 0x12, 0x1E] };
        assert!(low.paper_low() && low.ailments().is_empty());
        assert!(!Status { answers: [0x1A, 0x32, 0x12, 0x7E] }.paper_low());
    }

    #[test]
    fn a_byte_in_sixteen_looks_like_a_status_and_no_more() {
        assert_eq!((0..=255u8).filter(|&byte| is_status(byte)).count(), 16);
    }
}
