//! Where strips go. A destination is one file here and one line in `KINDS`.
//!
//! Nothing here keeps a ledger or knows what a unit is.

pub(super) mod contract;
mod device;
mod file;
mod port;
mod queue;
mod rehearse;
mod serial;
mod standard_output;
mod tcp;
mod usb;
mod usb_bus;

use super::Error;
use super::connection::{Connection, Opener};
use super::strip_bytes::StripBytes;
use super::transport::Transport;
use super::trouble::{Outcome, Trouble};

pub use contract::{CameOut, Destination, PretendDevice, PretendDevices, PretendPrinter, Progress, Settings};
pub use port::{AskPort, DevicePorts};
pub use queue::names as queue_names;
pub use usb::printers as usb_printers;
pub use usb_bus::{Pipes, Plugged, UsbBus};

/// How a kind reads its address.
type Opening = fn(&str, Settings) -> Result<Box<dyn Destination>, Error>;

/// How a kind that is a line to a printer opens that line.
type Wiring = fn(&str, &Settings) -> Result<Opener, Error>;

/// One kind of destination.
pub struct Kind {
    /// How its address is written.
    pub form: &'static str,
    /// What it is, for help texts.
    pub what: &'static str,
    claims: fn(&str) -> bool,
    /// One spelling for all that mean the same.
    place: fn(&str) -> String,
    open: Opening,
    /// None where no line leads to the printer itself.
    transport: Option<Wiring>,
}

/// The line to what stands at an address, to ask it something before it is printed on; none where nothing can come back. The inner
/// error is the line's: it can't be opened now.
///
/// # Errors
/// The address can't be one, or what it names can't be used.
pub fn line_to(address: &str, settings: &Settings) -> Result<Option<std::io::Result<Box<dyn Transport>>>, Error> {
    let wiring = KINDS.iter().find(|kind| (kind.claims)(address)).and_then(|kind| kind.transport);
    match wiring {
        Some(wiring) => wiring(address, settings).map(|mut open| Some(open(&settings.times))),
        None => Ok(None),
    }
}

/// A destination that is talked with over such a line.
fn on_a_line(address: &str, settings: &Settings, wiring: Wiring) -> Result<Box<dyn Destination>, Error> {
    let opener = wiring(address, settings)?;
    Ok(Box::new(Connection::new(address, settings, opener)))
}

/// What an address means, however it is spelled: what a ledger knows a destination by.
pub fn place(address: &str) -> String {
    let kind = KINDS.iter().find(|kind| (kind.claims)(address));
    kind.map_or_else(|| address.to_owned(), |kind| (kind.place)(address))
}

/// A destination with its place.
struct Placed {
    place: String,
    inner: Box<dyn Destination>,
}

impl Destination for Placed {
    fn name(&self) -> &str {
        self.inner.name()
    }

    fn place(&self) -> &str {
        &self.place
    }

    fn rehearsal(&self) -> bool {
        self.inner.rehearsal()
    }

    fn ready(&mut self, strip: &StripBytes, broken_off: bool, progress: &mut dyn FnMut(Progress)) -> Result<(), Trouble> {
        self.inner.ready(strip, broken_off, progress)
    }

    fn send(&mut self, label: &str, strip: &StripBytes, progress: &mut dyn FnMut(Progress)) -> Outcome {
        self.inner.send(label, strip, progress)
    }

    fn finish(&mut self) {
        self.inner.finish();
    }
}

/// A path as the disk knows it, whatever folder the program was started in; what is not there yet by its folder.
fn whole_path(path: &str) -> String {
    let absolute = std::path::absolute(path).unwrap_or_else(|_| path.into());
    let real = absolute.canonicalize().ok().or_else(|| {
        let folder = absolute.parent()?.canonicalize().ok()?;
        Some(folder.join(absolute.file_name()?))
    });
    real.unwrap_or(absolute).display().to_string()
}

/// All kinds; the first that claims an address has it.
pub const KINDS: &[Kind] =
    &[tcp::KIND, serial::KIND, usb::KIND, queue::KIND, rehearse::KIND, standard_output::KIND, device::KIND, file::KIND];

/// Reads an address. Most destinations touch nothing before the first strip.
///
/// # Errors
/// The address can't be one, or what it names can't be used.
pub fn open(address: &str, settings: Settings) -> Result<Box<dyn Destination>, Error> {
    let kind = KINDS.iter().find(|kind| (kind.claims)(address));
    match kind {
        Some(kind) => {
            let inner = (kind.open)(address, settings)?;
            Ok(Box::new(Placed { place: (kind.place)(address), inner }))
        }
        None => Err(Error::Address {
            address: address.to_owned(),
            why: "no kind of destination is written like this".to_owned(),
            hint: format!("write one of: {}", KINDS.iter().map(|kind| kind.form).collect::<Vec<_>>().join(", ")),
        }),
    }
}

/// Splits `NAME?key=value&key=value`.
fn options(text: &str) -> (&str, Vec<(&str, &str)>) {
    let (name, rest) = text.split_once('?').unwrap_or((text, ""));
    let pairs = rest.split('&').filter(|pair| !pair.is_empty()).map(|pair| pair.split_once('=').unwrap_or((pair, "")));
    (name, pairs.collect())
}

/// The error for an option that the kind does not have.
fn unknown_option(address: &str, key: &str, known: &[&str]) -> Error {
    Error::Address {
        address: address.to_owned(),
        why: format!("`{key}` is no option of it"),
        hint: format!("it knows {}", known.join(", ")),
    }
}

fn wrong_value(address: &str, key: &str, value: &str, hint: &str) -> Error {
    Error::Address { address: address.to_owned(), why: format!("`{value}` is no value for `{key}`"), hint: hint.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refusal(address: &str) -> String {
        match open(address, Settings::default()) {
            Ok(destination) => format!("opened {}", destination.name()),
            Err(error) => error.to_string() + " / " + error.hint().unwrap_or_default().as_str(),
        }
    }

    #[test]
    fn addresses_that_name_nothing_are_refused_with_a_hint() {
        assert!(refusal("http://printer/").contains("tcp://HOST"), "{}", refusal("http://printer/"));
        assert!(refusal("tcp://").contains("host"), "{}", refusal("tcp://"));
        assert!(refusal("tcp://printer:port").contains("port"), "{}", refusal("tcp://printer:port"));
        assert!(refusal("serial:").contains("device"), "{}", refusal("serial:"));
        assert!(refusal("serial:/dev/ttyUSB0?speed=9600").contains("baud"), "{}", refusal("serial:/dev/ttyUSB0?speed=9600"));
        assert!(refusal("serial:/dev/ttyUSB0?baud=fast").contains("fast"), "{}", refusal("serial:/dev/ttyUSB0?baud=fast"));
        assert!(refusal("queue:").contains("queue"), "{}", refusal("queue:"));
        assert!(refusal("queue:-rf").contains("queue"), "{}", refusal("queue:-rf"));
        assert!(refusal("rehearse:out").contains("pretend"), "{}", refusal("rehearse:out"));
        assert!(refusal("/").contains("folder"), "{}", refusal("/"));
    }

    #[test]
    fn one_place_has_one_name_however_it_is_spelled() {
        assert_eq!(place("tcp://Printer"), "tcp://printer:9100");
        assert_eq!(place("tcp://printer:9100/"), "tcp://printer:9100");
        assert_eq!(place("tcp://[FE80::1]"), "tcp://[fe80::1]:9100");
        let here = std::env::current_dir().expect("a folder").canonicalize().expect("a folder");
        assert_eq!(place("strips.bin"), here.join("strips.bin").display().to_string());
        assert_eq!(place("./strips.bin"), place("strips.bin"));
        assert_eq!(place("rehearse:out?roll=3m"), format!("rehearse:{}", here.join("out").display()));
        assert_eq!(place("serial:/dev/null?baud=9600"), "serial:/dev/null");
        assert_eq!(place("queue:strips"), "queue:strips");
        assert_eq!(place("-"), "-");
    }

    #[cfg(unix)]
    #[test]
    fn devices_that_are_no_printers_are_refused_with_what_to_write_instead() {
        assert!(refusal("/dev/null").contains("it is no printer / to try a run out"), "{}", refusal("/dev/null"));
        let (_master, slave) = serialport::TTYPort::pair().expect("a pseudo-terminal");
        let name = serialport::SerialPort::name(&slave).expect("a name");
        assert!(refusal(&name).contains(&format!("write serial:{name}?baud=115200")), "{}", refusal(&name));
    }

    #[test]
    fn addresses_of_printers_open_without_touching_them() {
        for address in
            ["tcp://localhost:9100", "tcp://[::1]:9100", "tcp://192.0.2.7", "serial:/dev/ttyUSB0?baud=115200&flow=hardware"]
        {
            assert_eq!(refusal(address), format!("opened {address}"));
        }
    }
}
