//! Commands that set something which leaves no dots here: their names and lengths, so that what follows is read aright.

use super::{Machine, shown};

/// How many bytes follow the two that name the command.
#[derive(Clone, Copy)]
enum Rest {
    Bytes(usize),
    /// Up to and with a zero byte, at most so many.
    ToZero(usize),
}

/// Lengths from the vendors' command references. Sorted by lead and letter.
const COMMANDS: &[(u8, u8, Rest)] = &[
    (0x1B, b' ', Rest::Bytes(1)),
    (0x1B, b'!', Rest::Bytes(1)),
    (0x1B, b'%', Rest::Bytes(1)),
    (0x1B, b'-', Rest::Bytes(1)),
    (0x1B, b'7', Rest::Bytes(3)),
    (0x1B, b'=', Rest::Bytes(1)),
    (0x1B, b'?', Rest::Bytes(1)),
    (0x1B, b'D', Rest::ToZero(32)),
    (0x1B, b'E', Rest::Bytes(1)),
    (0x1B, b'G', Rest::Bytes(1)),
    (0x1B, b'M', Rest::Bytes(1)),
    (0x1B, b'R', Rest::Bytes(1)),
    (0x1B, b'S', Rest::Bytes(0)),
    (0x1B, b'T', Rest::Bytes(1)),
    (0x1B, b'V', Rest::Bytes(1)),
    (0x1B, b'W', Rest::Bytes(8)),
    (0x1B, b'c', Rest::Bytes(2)),
    (0x1B, b'p', Rest::Bytes(3)),
    (0x1B, b'r', Rest::Bytes(1)),
    (0x1B, b't', Rest::Bytes(1)),
    (0x1B, b'u', Rest::Bytes(1)),
    (0x1B, b'v', Rest::Bytes(0)),
    (0x1B, b'{', Rest::Bytes(1)),
    (0x1C, b'!', Rest::Bytes(1)),
    (0x1C, b'&', Rest::Bytes(0)),
    (0x1C, b'-', Rest::Bytes(1)),
    (0x1C, b'.', Rest::Bytes(0)),
    (0x1C, b'C', Rest::Bytes(1)),
    (0x1C, b'S', Rest::Bytes(2)),
    (0x1C, b'W', Rest::Bytes(1)),
    (0x1D, b'!', Rest::Bytes(1)),
    (0x1D, b'B', Rest::Bytes(1)),
    (0x1D, b'H', Rest::Bytes(1)),
    (0x1D, b'I', Rest::Bytes(1)),
    (0x1D, b'a', Rest::Bytes(1)),
    (0x1D, b'b', Rest::Bytes(1)),
    (0x1D, b'f', Rest::Bytes(1)),
    (0x1D, b'h', Rest::Bytes(1)),
    (0x1D, b'j', Rest::Bytes(1)),
    (0x1D, b'r', Rest::Bytes(1)),
    (0x1D, b'w', Rest::Bytes(1)),
];

impl Machine<'_> {
    /// A command that is known by its length only, or not at all.
    pub(super) fn skip(&mut self, lead: u8, letter: u8) -> Option<()> {
        let family = match lead {
            0x1B => "ESC",
            0x1C => "FS",
            _ => "GS",
        };
        let Some((_, _, rest)) = COMMANDS.iter().find(|(first, second, _)| (*first, *second) == (lead, letter)) else {
            self.fault(format!("{family} {} is no command known here", shown(letter)));
            return Some(());
        };
        self.count(&format!("{family} {}", shown(letter)));
        match *rest {
            Rest::Bytes(count) => {
                self.take(count)?;
            }
            Rest::ToZero(most) => {
                for _ in 0..most {
                    if self.byte()? == 0 {
                        break;
                    }
                }
            }
        }
        Some(())
    }
}
