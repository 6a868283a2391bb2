//! What a destination is, and what it is given.

use super::port::DevicePorts;
use super::usb_bus::UsbBus;
use crate::lengths::Mm;
use crate::send::capabilities::{Capabilities, Times};
use crate::send::stop::Stop;
use crate::send::strip_bytes::StripBytes;
use crate::send::trouble::{Outcome, Trouble};
use std::sync::Arc;

/// One place that strips can be sent to, one after another.
pub trait Destination: Send {
    /// As the person wrote it.
    fn name(&self) -> &str;

    /// What it is, however it was written: the name under which the ledger remembers whether the line was left in order.
    fn place(&self) -> &str {
        self.name()
    }

    /// Nothing that is sent here touches a real printer.
    fn rehearsal(&self) -> bool {
        false
    }

    /// Opens and asks whatever can be asked before a strip. Nothing of the strip goes out. `broken_off`: the strip that was
    /// last sent here was not finished in order.
    ///
    /// # Errors
    /// Why nothing can be printed now.
    fn ready(&mut self, strip: &StripBytes, broken_off: bool, progress: &mut dyn FnMut(Progress)) -> Result<(), Trouble>;

    /// Sends one strip and finds out what became of it. `label` tells it apart from others (for file names, job titles).
    fn send(&mut self, label: &str, strip: &StripBytes, progress: &mut dyn FnMut(Progress)) -> Outcome;

    /// Lets go in such a way that what is on its way still arrives.
    fn finish(&mut self);
}

/// What a destination tells while it works.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Progress {
    /// Bytes of the strip handed over so far.
    Sent { bytes: usize },
    /// The roll is nearly at its end.
    PaperLow,
}

/// What came out of the pretend printer.
#[derive(Clone, Debug)]
pub struct CameOut {
    /// The strip as a PNG file.
    pub png: Vec<u8>,
    /// The paper it took.
    pub length: Mm,
}

/// Turns a strip's bytes into what a printer would put on paper; the error says why it can't.
pub type PretendPrinter = Box<dyn FnMut(&[u8]) -> Result<CameOut, String> + Send>;

/// A pretend printer with a fault, that is sent byte by byte.
pub trait PretendDevice: Send {
    fn take(&mut self, bytes: &[u8]);

    /// What it has said since this was last asked.
    fn answers(&mut self) -> Vec<u8>;

    /// What came out since this was last asked, piece by piece.
    fn paper(&mut self) -> Vec<CameOut>;
}

/// Makes one by the name of its fault; the error says which there are.
pub type PretendDevices = Box<dyn Fn(&str) -> Result<Box<dyn PretendDevice>, String> + Send>;

/// What a destination needs besides its address.
#[derive(Default)]
pub struct Settings {
    pub capabilities: Capabilities,
    pub times: Times,
    pub stop: Stop,
    /// A run goes on: a file is added to instead of being refused because it exists.
    pub continuing: bool,
    /// Only `rehearse:` needs one.
    pub pretend: Option<PretendPrinter>,
    /// And these, where one with a fault is rehearsed with.
    pub devices: Option<PretendDevices>,
    /// What `usb:` asks in place of the system.
    pub usb: Option<Arc<dyn UsbBus>>,
    /// What a device file asks in place of the system.
    pub ports: Option<Arc<dyn DevicePorts>>,
}
