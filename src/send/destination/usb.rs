//! `usb:`: a printer by USB itself, both ways, so that status and proof hold without a driver. The kernel's own printer driver is
//! detached for the run and given back after it.
//!
//! What the system is asked stands behind [`UsbBus`], so that a pretend device can stand in its place. Numbers: USB printer class 1.1
//! (class 7, `GET_DEVICE_ID` 0, `GET_PORT_STATUS` 1), IEEE 1284 device ID (two bytes of length, then text); both from memory.

use super::port::AskPort;
use super::usb_bus::{Pipes, Plugged, UsbBus};
use super::{Kind, Settings, on_a_line};
use crate::send::Error;
use crate::send::connection::Opener;
use crate::send::transport::{Ear, Pump, Transport};
use nusb::descriptors::TransferType;
use nusb::transfer::{Bulk, ControlIn, ControlType, Direction, In, Out, Recipient};
use nusb::{DeviceInfo, MaybeFuture};
use std::io::{self, Read};
use std::sync::Arc;
use std::time::Duration;

pub(super) const KIND: Kind = Kind {
    form: "usb:",
    what: "a printer by USB, without a driver: the only one, usb:VVVV:PPPP by its numbers, or usb:SERIAL",
    claims: |address| address.starts_with("usb:"),
    place: str::to_owned,
    open: |address, settings| on_a_line(address, &settings, opener),
    transport: Some(opener),
};

/// Interfaces of printers.
const PRINTER: u8 = 7;
/// How long a transfer is waited for before it is looked whether anybody still wants it.
const TURN: Duration = Duration::from_millis(100);
/// Bytes of one transfer out, and in.
const PIECE_OUT: usize = 2048;
const PIECE_IN: usize = 64;

/// The printers that this machine has.
///
/// # Errors
/// The system does not list its devices.
pub fn printers() -> io::Result<Vec<Plugged>> {
    System.printers()
}

/// Which printer an address means.
#[derive(Clone, Debug, PartialEq, Eq)]
enum Wanted {
    Only,
    Numbers(u16, u16),
    Serial(String),
}

impl Wanted {
    fn read(address: &str) -> Wanted {
        let rest = address.strip_prefix("usb:").unwrap_or(address);
        let number = |text: &str| u16::from_str_radix(text, 16).ok().filter(|_| text.len() == 4);
        match rest.split_once(':').and_then(|(vendor, product)| Some((number(vendor)?, number(product)?))) {
            _ if rest.is_empty() => Wanted::Only,
            Some((vendor, product)) => Wanted::Numbers(vendor, product),
            None => Wanted::Serial(rest.to_owned()),
        }
    }

    /// The one printer that is meant. Never one of several.
    fn choose<'a>(&self, plugged: &'a [Plugged]) -> io::Result<&'a Plugged> {
        let means = |printer: &&Plugged| match self {
            Wanted::Only => true,
            Wanted::Numbers(vendor, product) => (printer.vendor, printer.product) == (*vendor, *product),
            Wanted::Serial(serial) => printer.serial.as_deref() == Some(serial),
        };
        let found: Vec<&Plugged> = plugged.iter().filter(means).collect();
        let listed = |printers: &[&Plugged]| {
            let named = printers.iter().map(|printer| format!("{} ({}, port {})", printer.address(), printer.name, printer.port));
            named.collect::<Vec<_>>().join("; ")
        };
        let words = match found[..] {
            [printer] => return Ok(printer),
            [] if plugged.is_empty() => "no USB printer is plugged in or switched on".to_owned(),
            [] => format!("there is no such USB printer, but {}", listed(&plugged.iter().collect::<Vec<_>>())),
            _ => format!("several are meant: {}; name one, or pull the others out", listed(&found)),
        };
        Err(io::Error::new(io::ErrorKind::NotFound, words))
    }
}

fn opener(address: &str, settings: &Settings) -> Result<Opener, Error> {
    let wanted = Wanted::read(address);
    let bus = settings.usb.clone().unwrap_or_else(|| Arc::new(System));
    Ok(Box::new(move |_: &crate::send::Times| {
        let plugged = bus.printers()?;
        let printer = wanted.choose(&plugged)?;
        let pipes = bus.open(printer).map_err(|error| explained(error, printer))?;
        let back = pipes.back.map(|back| Ear::new(back, true)).transpose()?;
        Ok(Box::new(UsbWire { pump: Pump::new(pipes.out)?, ear: back, device_id: pipes.device_id, port: pipes.port })
            as Box<dyn Transport>)
    }))
}

/// What the system says, with what helps.
fn explained(error: io::Error, printer: &Plugged) -> io::Error {
    if error.kind() != io::ErrorKind::PermissionDenied {
        return error;
    }
    let (vendor, product) = (printer.vendor, printer.product);
    let words = format!(
        "no permission. As root write the line SUBSYSTEM==\"usb\", ATTR{{idVendor}}==\"{vendor:04x}\", ATTR{{idProduct}}==\"{product:04x}\", \
         MODE=\"0666\" into /etc/udev/rules.d/60-stripling.rules, then plug the printer out and in"
    );
    io::Error::new(io::ErrorKind::PermissionDenied, words)
}

struct UsbWire {
    pump: Pump,
    ear: Option<Ear>,
    device_id: String,
    port: Option<AskPort>,
}

/// A device that is gone is no connection that somebody closed.
fn unplugged<T>(done: io::Result<T>) -> io::Result<T> {
    use io::ErrorKind::{BrokenPipe, ConnectionAborted, ConnectionReset, NotConnected, UnexpectedEof};
    done.map_err(|error| match error.kind() {
        BrokenPipe | ConnectionAborted | ConnectionReset | NotConnected | UnexpectedEof => {
            io::Error::other("it was unplugged or switched off")
        }
        _ => error,
    })
}

impl Transport for UsbWire {
    fn put(&mut self, bytes: &[u8], limit: Duration) -> io::Result<usize> {
        unplugged(self.pump.put(bytes, limit))
    }

    fn hear(&mut self, into: &mut Vec<u8>, limit: Duration) -> io::Result<usize> {
        match &mut self.ear {
            Some(ear) => unplugged(ear.hear(into, limit)),
            None => Ok(0),
        }
    }

    fn hears(&self) -> bool {
        self.ear.is_some()
    }

    fn device_id(&self) -> Option<&str> {
        Some(self.device_id.as_str()).filter(|id| !id.is_empty())
    }

    fn port(&mut self) -> Option<u8> {
        self.port.as_mut().and_then(|ask| ask())
    }

    fn flush(&mut self, limit: Duration) -> io::Result<bool> {
        unplugged(self.pump.flush(limit))
    }

    fn close(&mut self, limit: Duration) {
        self.pump.close(limit);
        if let Some(ear) = &mut self.ear {
            ear.close(TURN * 3);
        }
    }
}

/// This machine's own.
struct System;

impl UsbBus for System {
    fn printers(&self) -> io::Result<Vec<Plugged>> {
        Ok(listed()?.map(|device| plugged(&device)).collect())
    }

    fn open(&self, printer: &Plugged) -> io::Result<Pipes> {
        let gone = || io::Error::new(io::ErrorKind::NotFound, "it was unplugged");
        let device = listed()?.find(|device| plugged(device) == *printer).ok_or_else(gone)?.open().wait()?;
        let place = {
            let configuration = device.active_configuration().map_err(io::Error::from)?;
            let places =
                configuration.interface_alt_settings().filter(|setting| setting.class() == PRINTER).filter_map(|setting| {
                    let pipe = |direction| {
                        let bulk = setting.endpoints().filter(|pipe| pipe.transfer_type() == TransferType::Bulk);
                        bulk.filter(|pipe| pipe.direction() == direction).map(|pipe| pipe.address()).next()
                    };
                    let place = (setting.interface_number(), setting.alternate_setting());
                    Some((place, pipe(Direction::Out)?, pipe(Direction::In)))
                });
            // One that answers before one that does not.
            places.max_by_key(|(place, _, back)| (back.is_some(), std::cmp::Reverse(*place)))
        };
        let ((number, setting), out, back) = place.ok_or_else(|| io::Error::other("it has no pipe for data"))?;
        let interface = device.detach_and_claim_interface(number).wait()?;
        if setting != 0 {
            interface.set_alt_setting(setting).wait()?;
        }
        let asked = ControlIn {
            control_type: ControlType::Class,
            recipient: Recipient::Interface,
            request: 0,
            value: 0,
            index: u16::from(number) << 8 | u16::from(setting),
            length: 1024,
        };
        // Many say nothing, or say it wrongly: it is only shown.
        let device_id = interface.control_in(asked, Duration::from_millis(500)).wait().unwrap_or_default();
        let device_id = device_id.get(2..).map(|text| String::from_utf8_lossy(text).into_owned()).unwrap_or_default();
        let out = interface.endpoint::<Bulk, Out>(out)?.writer(PIECE_OUT).with_write_timeout(TURN);
        let back = match back {
            Some(address) => {
                let reader = interface.endpoint::<Bulk, In>(address)?.reader(PIECE_IN).with_read_timeout(TURN);
                Some(Box::new(reader) as Box<dyn Read + Send>)
            }
            None => None,
        };
        let asked = ControlIn { request: 1, value: 0, index: u16::from(number), length: 1, ..asked };
        let port = move || interface.control_in(asked, Duration::from_millis(200)).wait().ok()?.first().copied();
        Ok(Pipes { out: Box::new(out), back, device_id, port: Some(Box::new(port)) })
    }
}

/// Devices with an interface of the printer class.
fn listed() -> io::Result<impl Iterator<Item = DeviceInfo>> {
    let devices = nusb::list_devices().wait()?;
    Ok(devices.filter(|device| device.interfaces().any(|interface| interface.class() == PRINTER)))
}

fn plugged(device: &DeviceInfo) -> Plugged {
    let name = [device.manufacturer_string(), device.product_string()].into_iter().flatten().collect::<Vec<_>>().join(" ");
    Plugged {
        vendor: device.vendor_id(),
        product: device.product_id(),
        serial: device.serial_number().map(str::to_owned).filter(|serial| !serial.is_empty()),
        name: if name.is_empty() { "a printer without a name".to_owned() } else { name },
        port: format!("{}-{}", device.bus_id(), device.device_address()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn one(vendor: u16, serial: Option<&str>, port: &str) -> Plugged {
        Plugged { vendor, product: 0x5011, serial: serial.map(str::to_owned), name: "Reedbed".to_owned(), port: port.to_owned() }
    }

    fn chosen(address: &str, plugged: &[Plugged]) -> Result<String, String> {
        let choice = Wanted::read(address).choose(plugged);
        choice.map(|printer| printer.port.clone()).map_err(|error| error.to_string())
    }

    #[test]
    fn never_one_of_several_is_taken() {
        let two = [one(0x0416, Some("RW1"), "1-2"), one(0x0418, None, "1-3")];
        assert_eq!(chosen("usb:", &two[..1]), Ok("1-2".into()));
        assert_eq!(chosen("usb:RW1", &two), Ok("1-2".into()));
        assert_eq!(chosen("usb:0418:5011", &two), Ok("1-3".into()));
        assert!(chosen("usb:", &two).is_err_and(|words| words.contains("usb:RW1") && words.contains("usb:0418:5011")));
        assert!(chosen("usb:", &[]).is_err_and(|words| words.contains("plugged in")));
        assert!(chosen("usb:RW2", &two).is_err_and(|words| words.contains("no such USB printer, but usb:RW1")));
        // Two with the same serial number: the port tells the person which are meant.
        let twins = [one(0x0416, Some("RW1"), "1-2"), one(0x0416, Some("RW1"), "1-4")];
        assert!(chosen("usb:RW1", &twins).is_err_and(|words| words.contains("port 1-2") && words.contains("port 1-4")));
    }

    #[test]
    fn a_refused_permission_says_which_line_helps() {
        let error = explained(io::ErrorKind::PermissionDenied.into(), &one(0x0416, None, "1-2"));
        assert!(error.to_string().contains("ATTR{idVendor}==\"0416\", ATTR{idProduct}==\"5011\""), "{error}");
    }

    #[test]
    fn this_machines_printers_can_be_listed_or_it_is_said_why_not() {
        // Whatever is plugged in: no panic, and each has an address that means it.
        if let Ok(all) = printers() {
            assert!(all.iter().all(|printer| printer.address().starts_with("usb:")));
        }
    }
}
