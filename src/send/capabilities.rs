//! What to expect of a printer, and how long to wait for it.

use std::time::Duration;

/// How a printer behaves on its line. Commands fill this in from the printer's profile (`status`, `fence`, `buffer`).
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Capabilities {
    /// It answers `DLE EOT 1..4`.
    pub status: bool,
    /// What it can be asked to prove that the bytes before were worked off.
    pub fence: Fence,
    /// Bytes that it takes in ahead of its mechanism. Where it can prove what is worked off, no more than half of this (or one
    /// chunk, if that is more) lies in it at any time: a full buffer takes no question, and a paper end would be told by
    /// silence. Not more than a quarter (or one chunk) is left without an answer.
    pub buffer: usize,
    /// Sent before the next strip when the one before was broken off, so that the spoiled piece comes out by itself.
    /// The default sets the printer back to its start (`ESC @`) and no more: how a strip is ended is the printer's own.
    pub eject: Vec<u8>,
    /// To wait after each chunk of a strip: for a printer that takes more than it can work off, and loses it.
    pub pace: Duration,
}

impl Default for Capabilities {
    fn default() -> Capabilities {
        Capabilities { status: false, fence: Fence::None, buffer: 4096, eject: vec![0x1B, 0x40], pace: Duration::ZERO }
    }
}

/// A question that waits in the printer's buffer behind the bytes sent before it: its answer proves them worked off.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Fence {
    /// The printer has no such question: no strip is ever called printed on its word.
    #[default]
    None,
    /// `GS r 1`, answered by one byte about the paper.
    Paper,
    /// `GS ( H`, answered by the four letters that were sent with it.
    Process,
}

/// How long each wait may take. Nothing in this room waits without one of these.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Times {
    /// For a connection to stand.
    pub connect: Duration,
    /// For a line that takes no byte at all.
    pub write: Duration,
    /// For the answer to a real-time question. Shorter than any printer needs to start up, so that one that was switched off
    /// and on in the middle of a strip is heard of as a silence.
    pub answer: Duration,
    /// For everything that waits in the printer's buffer to be worked off, after the last byte of a strip.
    pub work_off: Duration,
    /// A line on which nothing came for so long is quiet: late answers are through.
    pub settle: Duration,
    /// Between two looks at a printer that is busy or being put right.
    pub look: Duration,
    /// For the job to leave the system's print queue.
    pub queue: Duration,
}

impl Default for Times {
    fn default() -> Times {
        Times {
            connect: Duration::from_secs(5),
            write: Duration::from_secs(10),
            answer: Duration::from_secs(2),
            work_off: Duration::from_secs(60),
            settle: Duration::from_millis(150),
            look: Duration::from_millis(200),
            queue: Duration::from_secs(300),
        }
    }
}
