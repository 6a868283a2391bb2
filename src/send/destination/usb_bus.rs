//! What `usb:` asks of the system, or of what stands in its place.

use super::port::AskPort;
use std::io::{self, Read, Write};

/// One printer that is plugged in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Plugged {
    pub vendor: u16,
    pub product: u16,
    pub serial: Option<String>,
    /// Maker and product, as it says itself.
    pub name: String,
    /// Where it is plugged in: what the bus knows it by.
    pub port: String,
}

impl Plugged {
    /// How `--to` names it, as far as its own numbers tell it apart.
    pub fn address(&self) -> String {
        match &self.serial {
            Some(serial) => format!("usb:{serial}"),
            None => format!("usb:{:04x}:{:04x}", self.vendor, self.product),
        }
    }
}

/// Both pipes of an open printer.
pub struct Pipes {
    pub out: Box<dyn Write + Send>,
    /// None where it has no pipe back.
    pub back: Option<Box<dyn Read + Send>>,
    /// What it says of itself (IEEE 1284), or nothing.
    pub device_id: String,
    /// The port's own status, where it can be asked.
    pub port: Option<AskPort>,
}

/// What is asked of the system.
pub trait UsbBus: Send + Sync {
    /// # Errors
    /// The system does not list its devices.
    fn printers(&self) -> io::Result<Vec<Plugged>>;

    /// # Errors
    /// It is gone, or there is no permission.
    fn open(&self, printer: &Plugged) -> io::Result<Pipes>;
}
