//! Honest printing: strips to a destination, the talk with the printer, the run, the ledger.
//!
//! What is held to, whatever goes wrong:
//!
//! - No strip is called `printed` that was not confirmed: by the printer's answer to a fence behind the strip's last byte (and
//!   a clean status after it, where the printer gives one), or by a person.
//! - A strip is `missing`, that is to be printed again without asking, only while it is certain that it is not whole: the last
//!   chunk that puts dots on paper was not begun. From its first byte on, only a fence or a person can tell: `unknown`.
//!   That holds for a paper end too. One that is heard of in the middle of a strip leaves scrap, and the same command prints
//!   that strip again; one that is heard of when everything was sent may leave a strip whole, whole in two pieces, or not, and
//!   some printers go on with what they hold when a new roll is in: a person looks.
//! - A strip that was under way when the program was killed is `unknown`. Unknown strips stop the next run until they are settled.
//! - Nothing waits without a limit. `DLE` questions stand between whole commands only.
//! - Before the next strip, a printer that may stand in the middle of a broken-off one is brought back into step, and the
//!   scrap is cut off by itself.
//!
//! This room knows no manual and no dots: bytes and names come in from the caller.

mod capabilities;
mod connection;
pub mod destination;
pub mod ledger;
pub mod nearby;
mod process;
mod replies;
mod run;
mod session;
pub mod status;
mod stop;
mod strip_bytes;
#[cfg(test)]
mod tests;
mod transport;
mod trouble;

pub use capabilities::{Capabilities, Fence, Times};
pub use destination::{
    AskPort, CameOut, Destination, DevicePorts, KINDS, Pipes, Plugged, PretendDevice, PretendDevices, PretendPrinter, Settings,
    UsbBus, line_to, open, place, queue_names, usb_printers,
};
pub use ledger::{Facts, Intent, Ledger, Located, Making, State, StripName, Summary, UnitFacts, Verdict};
pub use run::{Ending, Event, Halt, Job, Order, Report, run};
pub use stop::Stop;
pub use strip_bytes::StripBytes;
pub use transport::Transport;
pub use trouble::{Outcome, Trouble};

/// Why a destination can't be used at all (exit code 2 for an address that can't be one).
#[derive(Debug, thiserror::Error)]
pub enum Error {
    #[error("`{address}` can't be printed to: {why}")]
    Address { address: String, why: String, hint: String },
}

impl Error {
    /// What to write instead.
    pub fn hint(&self) -> Option<String> {
        let Error::Address { hint, .. } = self;
        Some(hint.clone())
    }
}
