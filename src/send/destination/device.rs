//! A character device such as `/dev/usb/lp0`: bytes go in, and answers come out where the device can be read.

use super::port::{self, AskPort, DevicePorts};
use super::{Kind, Settings, on_a_line, whole_path};
use crate::send::Error;
use crate::send::connection::Opener;
use crate::send::transport::{Ear, Pump, Transport};
use std::fs::{File, OpenOptions};
use std::io::{self, Read};
use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

pub(super) const KIND: Kind = Kind {
    form: "/dev/DEVICE",
    what: "a printer as a device",
    claims: is_device,
    place: whole_path,
    open: |address, settings| on_a_line(address, &settings, opener),
    transport: Some(opener),
};

#[cfg(unix)]
fn is_device(address: &str) -> bool {
    use std::os::unix::fs::FileTypeExt;
    std::fs::metadata(address).is_ok_and(|found| found.file_type().is_char_device())
}

#[cfg(not(unix))]
fn is_device(address: &str) -> bool {
    // The names that such systems keep for printers.
    let name = address.to_ascii_uppercase();
    name.strip_prefix("LPT").or(name.strip_prefix(r"\\.\")).is_some_and(|rest| !rest.is_empty()) && !Path::new(address).is_dir()
}

fn opener(address: &str, settings: &Settings) -> Result<Opener, Error> {
    let ports = settings.ports.clone().unwrap_or_else(|| Arc::new(SystemPorts));
    ports.check(address)?;
    let path = address.to_owned();
    Ok(Box::new(move |_: &crate::send::Times| Ok(Box::new(Device::open(Path::new(&path), &ports)?) as Box<dyn Transport>)))
}

/// This machine's own.
struct SystemPorts;

impl DevicePorts for SystemPorts {
    fn check(&self, address: &str) -> Result<(), Error> {
        refuse_what_is_no_printer(address)
    }

    fn status(&self, device: &File) -> Option<u8> {
        port::status(device)
    }
}

/// Serial lines and terminals change bytes that are merely written to them (a 0A becomes 0D 0A, at whatever speed was set before),
/// and what is written to the devices of memory is gone.
#[cfg(unix)]
fn refuse_what_is_no_printer(address: &str) -> Result<(), Error> {
    use std::os::unix::fs::MetadataExt;
    let path = std::fs::canonicalize(address).unwrap_or_else(|_| address.into());
    // The kernel says of what kind a device is; terminals of other programs are not listed there.
    let numbers = std::fs::metadata(&path).map(|found| found.rdev()).unwrap_or(0);
    let (major, minor) = ((numbers >> 8) & 0xFFF, (numbers & 0xFF) | ((numbers >> 12) & 0xFFF00));
    let kind = std::fs::read_link(format!("/sys/dev/char/{major}:{minor}/subsystem")).ok();
    let kind = kind.as_deref().and_then(Path::file_name).and_then(|name| name.to_str()).unwrap_or_default();
    let name = path.file_name().and_then(|name| name.to_str()).unwrap_or_default();
    let refused = |why: &str, hint: String| Err(Error::Address { address: address.to_owned(), why: why.to_owned(), hint });
    if kind == "tty" || path.starts_with("/dev/pts") || ["tty", "cu.", "console"].iter().any(|begins| name.starts_with(begins)) {
        let hint = format!("write serial:{address}?baud=115200, with the speed that the printer is set to");
        return refused("it is a serial line or a terminal, which changes bytes that are merely written to it", hint);
    }
    if kind == "mem" || ["null", "zero", "full", "random", "urandom"].contains(&name) {
        return refused("it is no printer", "to try a run out without a printer, write rehearse:FOLDER".to_owned());
    }
    Ok(())
}

#[cfg(not(unix))]
fn refuse_what_is_no_printer(_: &str) -> Result<(), Error> {
    Ok(())
}

struct Device {
    pump: Pump,
    ear: Option<Ear>,
    port: AskPort,
}

/// Reads when there is something to read, and gives up at once when there is not: a thread that waits in `read` would hold the
/// device open after the line was let go of, and the driver of USB printers lets only one in at a time.
struct Patient(File);

/// How long is waited for something to read before it is looked whether anybody still wants it.
#[cfg(unix)]
const TURN_MS: i32 = 20;

impl Read for Patient {
    fn read(&mut self, room: &mut [u8]) -> io::Result<usize> {
        #[cfg(unix)]
        {
            use nix::poll::{PollFd, PollFlags, poll};
            use std::os::fd::AsRawFd;
            let mut waited = [PollFd::new(self.0.as_raw_fd(), PollFlags::POLLIN)];
            if poll(&mut waited, TURN_MS).map_err(io::Error::from)? == 0 {
                return Err(io::ErrorKind::WouldBlock.into());
            }
        }
        self.0.read(room)
    }
}

impl Device {
    fn open(path: &Path, ports: &Arc<dyn DevicePorts>) -> io::Result<Device> {
        let (out, back): (File, Option<File>) = match OpenOptions::new().read(true).write(true).open(path) {
            Ok(both) => {
                let back = both.try_clone()?;
                (both, Some(back))
            }
            Err(_) => (OpenOptions::new().write(true).open(path)?, None),
        };
        let ear = back.map(|back| Ear::new(Patient(back), true)).transpose()?;
        let (ports, asked) = (Arc::clone(ports), out.try_clone()?);
        let port = Box::new(move || ports.status(&asked));
        Ok(Device { pump: Pump::new(out)?, ear, port })
    }
}

impl Transport for Device {
    fn put(&mut self, bytes: &[u8], limit: Duration) -> io::Result<usize> {
        self.pump.put(bytes, limit)
    }

    fn hear(&mut self, into: &mut Vec<u8>, limit: Duration) -> io::Result<usize> {
        match &mut self.ear {
            Some(ear) => ear.hear(into, limit),
            None => Ok(0),
        }
    }

    fn hears(&self) -> bool {
        self.ear.is_some()
    }

    fn port(&mut self) -> Option<u8> {
        (self.port)()
    }

    fn flush(&mut self, limit: Duration) -> io::Result<bool> {
        self.pump.flush(limit)
    }

    fn close(&mut self, limit: Duration) {
        self.pump.close(limit);
        if let Some(ear) = &mut self.ear {
            // Where reading can't be waited for, its thread ends with the program.
            ear.close(limit.min(Duration::from_millis(200)));
        }
    }
}
