//! A file: the strips' bytes one after another, to be sent some other day.
//!
//! A strip stands in the file whole or not at all, save after a kill in the middle of one; what follows such a strip begins
//! with the bytes that bring a printer back into step. Nothing in a file was printed: every strip in it is `unknown`.

use super::{Destination, Kind, Progress, Settings, whole_path};
use crate::send::Error;
use crate::send::capabilities::Capabilities;
use crate::send::stop::Stop;
use crate::send::strip_bytes::StripBytes;
use crate::send::trouble::{Outcome, Trouble};
use std::fs::{File, OpenOptions};
use std::io::{self, Seek, SeekFrom, Write};
use std::path::Path;

pub(super) const KIND: Kind = Kind {
    form: "FILE",
    what: "a file of bytes",
    // `http://…` and the like are addresses of something else.
    claims: |address| !address.is_empty() && !address.contains("://"),
    place: whole_path,
    open,
    transport: None,
};

struct ByteFile {
    path: String,
    file: Option<File>,
    capabilities: Capabilities,
    stop: Stop,
    continuing: bool,
}

fn open(address: &str, settings: Settings) -> Result<Box<dyn Destination>, Error> {
    let refuse =
        |why: &str, hint: &str| Error::Address { address: address.to_owned(), why: why.to_owned(), hint: hint.to_owned() };
    let path = Path::new(address);
    match std::fs::metadata(path) {
        Ok(found) if found.is_dir() => {
            return Err(refuse("it is a folder", "name a file in it, or write rehearse:FOLDER for pictures of the strips"));
        }
        Ok(found) if !found.is_file() => return Err(refuse("it is neither a file nor a character device", "write to a file")),
        Ok(found) if found.len() > 0 && !settings.continuing => {
            return Err(refuse("the file exists already", "remove it or name another; it is never overwritten"));
        }
        Ok(_) | Err(_) => {}
    }
    Ok(Box::new(ByteFile {
        path: address.to_owned(),
        file: None,
        capabilities: settings.capabilities,
        stop: settings.stop,
        continuing: settings.continuing,
    }))
}

impl ByteFile {
    fn append(&mut self, strip: &StripBytes, progress: &mut dyn FnMut(Progress)) -> Outcome {
        let link = |cause: io::Error| Trouble::Output { at: self.path.clone(), cause: cause.to_string() };
        let Some(file) = &mut self.file else {
            return Outcome::Missing { trouble: link(io::Error::from(io::ErrorKind::NotFound)) };
        };
        let start = match file.seek(SeekFrom::End(0)) {
            Ok(start) => start,
            Err(cause) => return Outcome::Missing { trouble: link(cause) },
        };
        let mut bytes = 0;
        let mut result = Ok(());
        for chunk in strip.chunks() {
            result = if self.stop.at_once() { Err(Trouble::Interrupted) } else { file.write_all(chunk).map_err(link) };
            if result.is_err() {
                break;
            }
            bytes += chunk.len();
            progress(Progress::Sent { bytes });
        }
        let result = result.and_then(|()| file.sync_all().map_err(link));
        let Err(trouble) = result else {
            let why = format!("its bytes are in {}; no file can say that they came out on paper", self.path);
            return Outcome::Unknown { why, trouble: None };
        };
        match file.set_len(start).and_then(|()| file.sync_all()) {
            Ok(()) => Outcome::Missing { trouble },
            Err(cause) => Outcome::Unknown {
                why: format!("{trouble}; and a piece of the strip could not be taken out of {} again ({cause})", self.path),
                trouble: Some(trouble),
            },
        }
    }
}

impl Destination for ByteFile {
    fn name(&self) -> &str {
        &self.path
    }

    fn ready(&mut self, strip: &StripBytes, broken_off: bool, _progress: &mut dyn FnMut(Progress)) -> Result<(), Trouble> {
        let link = |cause: io::Error| Trouble::Output { at: self.path.clone(), cause: cause.to_string() };
        if self.file.is_none() {
            let mut how = OpenOptions::new();
            how.write(true);
            if self.continuing || Path::new(&self.path).exists() {
                how.create(true).truncate(false);
            } else {
                how.create_new(true);
            }
            self.file = Some(how.open(&self.path).map_err(link)?);
        }
        if let (true, Some(file)) = (broken_off, &mut self.file) {
            let step = [vec![0; strip.longest()], self.capabilities.eject.clone()].concat();
            file.seek(SeekFrom::End(0)).and_then(|_| file.write_all(&step)).map_err(link)?;
        }
        Ok(())
    }

    fn send(&mut self, _label: &str, strip: &StripBytes, progress: &mut dyn FnMut(Progress)) -> Outcome {
        self.append(strip, progress)
    }

    fn finish(&mut self) {
        self.file = None;
    }
}
