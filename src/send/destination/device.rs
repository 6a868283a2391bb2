//! A character device such as `/dev/usb/lp0`: bytes go in, and answers come out where the device can be read.

use super::{Destination, Kind, Settings};
use crate::send::Error;
use crate::send::line::Line;
use crate::send::wire::{Ear, Pump, Wire};
use std::fs::{File, OpenOptions};
use std::io;
use std::path::Path;
use std::time::Duration;

pub(super) const KIND: Kind = Kind { form: "/dev/DEVICE", what: "a printer as a device", claims: is_device, open };

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

fn open(address: &str, settings: Settings) -> Result<Box<dyn Destination>, Error> {
    let path = address.to_owned();
    let opener = Box::new(move |_: &crate::send::Times| Ok(Box::new(Device::open(Path::new(&path))?) as Box<dyn Wire>));
    Ok(Box::new(Line::new(address, &settings, opener)))
}

struct Device {
    pump: Pump,
    ear: Option<Ear>,
}

impl Device {
    fn open(path: &Path) -> io::Result<Device> {
        let (out, back): (File, Option<File>) = match OpenOptions::new().read(true).write(true).open(path) {
            Ok(both) => {
                let back = both.try_clone()?;
                (both, Some(back))
            }
            Err(_) => (OpenOptions::new().write(true).open(path)?, None),
        };
        let ear = back.map(|back| Ear::new(back, true)).transpose()?;
        Ok(Device { pump: Pump::new(out)?, ear })
    }
}

impl Wire for Device {
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

    fn flush(&mut self, limit: Duration) -> io::Result<bool> {
        self.pump.flush(limit)
    }

    fn close(&mut self, limit: Duration) {
        self.pump.close(limit);
        if let Some(ear) = &mut self.ear {
            // A device whose reading blocks gives no sign; its thread ends with the program.
            ear.close(limit.min(Duration::from_millis(50)));
        }
    }
}
