//! The packing bench: a scan of a unit prints its strip, a scan of the strip says that it lies in the box.
//!
//! What is held to: nothing is marked that was not scanned; a unit is looked for by its whole key and never guessed; a strip is boxed only
//! while its own unit is in hand; whatever a person has to know is said at once, large, by word and shape and sound.
//!
//! [`Bench`] is a machine without clock, disk or thread: lines from the scanner and news of printers and ledger go in, what to do and what
//! to say come out. [`Codes`] knows which line means which unit. [`shift`](fn@shift) plays the machine with real printers and a ledger; terminal and desk only
//! show its [`Screen`].

mod attendant;
mod bench;
mod codes;
mod lettering;
mod printers;
mod screen;
mod shift;

pub use bench::{Bench, Came, Do, Input};
pub use codes::{Codes, Meaning, Trap, UnitCodes};
pub use lettering::{Size, large};
pub use screen::{Counts, PrinterShown, Roll, Say, Screen, Tone};
pub use shift::{Ended, Message, Plan, Wishes, shift};
