//! `rehearse:FOLDER`: a pretend printer. It reads the very bytes that a printer would get and writes what would come out, one
//! PNG a strip. With `?roll=3.4m` its roll has an end: a rehearsal of what happens then.

use super::{
    CameOut, Destination, Kind, PretendDevice, PretendPrinter, Progress, Settings, options, unknown_option, whole_path,
    wrong_value,
};
use crate::lengths::Mm;
use crate::send::Error;
use crate::send::connection::{Connection, Opener};
use crate::send::stop::Stop;
use crate::send::strip_bytes::StripBytes;
use crate::send::transport::Transport;
use crate::send::trouble::{Outcome, Trouble};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

pub(super) const KIND: Kind = Kind {
    form: "rehearse:FOLDER",
    what: "a pretend printer that writes what came out as PNG; rehearse:FOLDER?roll=3.4m gives it a short roll, ?fault=NAME a fault",
    claims: |address| address.starts_with("rehearse:"),
    place: |address| format!("rehearse:{}", whole_path(options(address.trim_start_matches("rehearse:")).0)),
    open,
    transport: Some(opener),
};

struct Rehearsal {
    name: String,
    folder: PathBuf,
    printer: PretendPrinter,
    roll: Option<Mm>,
    stop: Stop,
}

fn open(address: &str, settings: Settings) -> Result<Box<dyn Destination>, Error> {
    let (folder, options) = options(address.strip_prefix("rehearse:").unwrap_or(address));
    if folder.is_empty() {
        return Err(Error::Address {
            address: address.to_owned(),
            why: "it names no folder".to_owned(),
            hint: "write rehearse:FOLDER".to_owned(),
        });
    }
    let (mut roll, mut faulty) = (None, false);
    for (key, value) in options {
        match key {
            "fault" => faulty = true,
            "roll" => {
                roll = Some(metres(value).ok_or_else(|| wrong_value(address, key, value, "a length such as 3.4m or 900mm"))?)
            }
            _ => return Err(unknown_option(address, key, &["roll", "fault"])),
        }
    }
    if faulty {
        if roll.is_some() {
            return Err(wrong_value(address, "roll", "…", "a printer with a fault has a roll without end"));
        }
        let (name, device) = (format!("rehearse:{folder}"), device(address, &settings)?);
        let line = Connection::new(&name, &settings, opener_of(device.clone()));
        return Ok(Box::new(Faulty { name, folder: PathBuf::from(folder), device, line }));
    }
    let Some(printer) = settings.pretend else {
        return Err(Error::Address {
            address: address.to_owned(),
            why: "there is no pretend printer here that could read the bytes".to_owned(),
            hint: "rehearse with `print`".to_owned(),
        });
    };
    Ok(Box::new(Rehearsal {
        name: format!("rehearse:{folder}"),
        folder: PathBuf::from(folder),
        printer,
        roll,
        stop: settings.stop,
    }))
}

/// A pretend printer that both the line and the look at its paper reach.
type Shared = Arc<Mutex<Box<dyn PretendDevice>>>;

fn locked(device: &Shared) -> MutexGuard<'_, Box<dyn PretendDevice>> {
    device.lock().unwrap_or_else(PoisonError::into_inner)
}

/// The one with the fault that the address names; without one, a sound one.
fn device(address: &str, settings: &Settings) -> Result<Shared, Error> {
    let (_, options) = options(address);
    let fault = options.iter().find(|(key, _)| *key == "fault").map_or("sound", |(_, value)| *value);
    match &settings.devices {
        Some(devices) => {
            let device = devices(fault).map_err(|known| wrong_value(address, "fault", fault, &known))?;
            Ok(Arc::new(Mutex::new(device)))
        }
        None => Err(wrong_value(address, "fault", fault, "there is no pretend printer with a fault here; rehearse with `print`")),
    }
}

fn opener(address: &str, settings: &Settings) -> Result<Opener, Error> {
    Ok(opener_of(device(address, settings)?))
}

fn opener_of(device: Shared) -> Opener {
    Box::new(move |_| Ok(Box::new(PretendLine { device: device.clone() }) as Box<dyn Transport>))
}

struct PretendLine {
    device: Shared,
}

impl Transport for PretendLine {
    fn put(&mut self, bytes: &[u8], _: Duration) -> io::Result<usize> {
        locked(&self.device).take(bytes);
        Ok(bytes.len())
    }

    fn hear(&mut self, into: &mut Vec<u8>, limit: Duration) -> io::Result<usize> {
        let until = Instant::now() + limit;
        loop {
            let said = locked(&self.device).answers();
            if !said.is_empty() || Instant::now() >= until {
                into.extend(&said);
                return Ok(said.len());
            }
            std::thread::sleep(Duration::from_micros(200));
        }
    }

    fn hears(&self) -> bool {
        true
    }

    fn flush(&mut self, _: Duration) -> io::Result<bool> {
        Ok(true)
    }

    fn close(&mut self, _: Duration) {}
}

/// The talk with a pretend printer that has a fault, and the pictures of what came out of it.
struct Faulty {
    name: String,
    folder: PathBuf,
    device: Shared,
    line: Connection,
}

impl Destination for Faulty {
    fn name(&self) -> &str {
        &self.name
    }

    fn rehearsal(&self) -> bool {
        true
    }

    fn ready(&mut self, strip: &StripBytes, broken_off: bool, progress: &mut dyn FnMut(Progress)) -> Result<(), Trouble> {
        std::fs::create_dir_all(&self.folder)
            .map_err(|cause| Trouble::Output { at: self.name.clone(), cause: cause.to_string() })?;
        self.line.ready(strip, broken_off, progress)
    }

    fn send(&mut self, label: &str, strip: &StripBytes, progress: &mut dyn FnMut(Progress)) -> Outcome {
        let outcome = self.line.send(label, strip, progress);
        let pieces = locked(&self.device).paper();
        for (index, piece) in pieces.iter().enumerate() {
            let label = if pieces.len() == 1 { label.to_owned() } else { format!("{label}-{}", index + 1) };
            if let Err(cause) = write_whole(&self.folder.join(file_name(&label)), &piece.png) {
                return Outcome::Missing { trouble: Trouble::Output { at: self.name.clone(), cause: cause.to_string() } };
            }
        }
        outcome
    }

    fn finish(&mut self) {
        self.line.finish();
    }
}

/// `3.4m` and every length that the manual knows.
fn metres(text: &str) -> Option<Mm> {
    let length = match text.trim().strip_suffix('m') {
        Some(number) if !number.ends_with(['m', 'c']) => {
            let value: f64 = number.trim().parse().ok()?;
            (value.is_finite() && value <= 1000.0).then(|| Mm::new(value * 1000.0))?
        }
        _ => Mm::parse(text)?,
    };
    (length.micrometres() > 0).then_some(length)
}

/// A name for a file that any system takes and that no other label gets: other letters than these stand as `%` and their code.
pub(super) fn file_name(label: &str) -> String {
    let mut name = String::new();
    for byte in label.bytes() {
        match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'_' => name.push(char::from(byte)),
            b'.' if !name.is_empty() => name.push('.'),
            _ => name.push_str(&format!("%{byte:02X}")),
        }
    }
    if name.len() > 120 {
        use sha2::Digest;
        let digest = sha2::Sha256::digest(label.as_bytes());
        name.truncate(100);
        name.extend(digest.iter().take(8).map(|byte| format!("{byte:02x}")));
    }
    if name.is_empty() {
        name.push('%');
    }
    name + ".png"
}

/// Written whole or not at all.
fn write_whole(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let folder = path.parent().unwrap_or(Path::new("."));
    let mut file = tempfile::NamedTempFile::new_in(folder)?;
    file.write_all(bytes)?;
    file.as_file().sync_all()?;
    file.persist(path).map(|_| ()).map_err(|failed| failed.error)
}

impl Destination for Rehearsal {
    fn name(&self) -> &str {
        &self.name
    }

    fn rehearsal(&self) -> bool {
        true
    }

    fn ready(&mut self, _strip: &StripBytes, _broken_off: bool, _progress: &mut dyn FnMut(Progress)) -> Result<(), Trouble> {
        std::fs::create_dir_all(&self.folder).map_err(|cause| Trouble::Output { at: self.name.clone(), cause: cause.to_string() })
    }

    fn send(&mut self, label: &str, strip: &StripBytes, progress: &mut dyn FnMut(Progress)) -> Outcome {
        if self.stop.at_once() {
            return Outcome::Missing { trouble: Trouble::Interrupted };
        }
        let CameOut { png, length } = match (self.printer)(&strip.joined()) {
            Ok(came_out) => came_out,
            Err(why) => {
                return Outcome::Missing { trouble: Trouble::Unreadable(why) };
            }
        };
        if let Some(left) = &mut self.roll {
            let rest = left.micrometres() - length.micrometres();
            *left = Mm::from_micrometres(rest.max(0));
            if rest < 0 {
                return Outcome::Missing { trouble: Trouble::PretendRollEnd };
            }
        }
        match write_whole(&self.folder.join(file_name(label)), &png) {
            Ok(()) => {
                progress(Progress::Sent { bytes: strip.size() });
                Outcome::Printed
            }
            Err(cause) => Outcome::Missing { trouble: Trouble::Output { at: self.name.clone(), cause: cause.to_string() } },
        }
    }

    fn finish(&mut self) {}
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_label_leads_out_of_the_folder_or_meets_another() {
        assert_eq!(file_name("HRN-0017"), "HRN-0017.png");
        assert_eq!(file_name("../../etc/passwd"), "%2E.%2F..%2Fetc%2Fpasswd.png");
        assert_eq!(file_name("a/b"), "a%2Fb.png");
        assert_ne!(file_name("a%2Fb"), file_name("a/b"));
        assert_ne!(file_name(&"x".repeat(300)), file_name(&"x".repeat(301)));
        assert!(file_name(&"é".repeat(300)).len() < 130);
    }

    #[test]
    fn the_roll_is_read_in_metres_too() {
        assert_eq!(metres("3.4m"), Some(Mm::new(3400.0)));
        assert_eq!(metres("900mm"), Some(Mm::new(900.0)));
        assert_eq!(metres("90 cm"), Some(Mm::new(900.0)));
        assert_eq!(metres("0m"), None);
        assert_eq!(metres("long"), None);
    }
}
