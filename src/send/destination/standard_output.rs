//! `-`: standard output, for a pipe. Nothing comes back on it.

use super::{Destination, Kind, Settings};
use crate::send::Error;
use crate::send::connection::Connection;
use crate::send::transport::{Pump, Transport};
use std::io;
use std::time::Duration;

pub(super) const KIND: Kind =
    Kind { form: "-", what: "standard output", claims: |address| address == "-", place: str::to_owned, open, transport: None };

fn open(address: &str, settings: Settings) -> Result<Box<dyn Destination>, Error> {
    let opener = Box::new(|_: &crate::send::Times| Ok(Box::new(Out { pump: Pump::new(io::stdout())? }) as Box<dyn Transport>));
    Ok(Box::new(Connection::new(address, &settings, opener).to("standard output")))
}

struct Out {
    pump: Pump,
}

impl Transport for Out {
    fn put(&mut self, bytes: &[u8], limit: Duration) -> io::Result<usize> {
        self.pump.put(bytes, limit)
    }

    fn hear(&mut self, _into: &mut Vec<u8>, _limit: Duration) -> io::Result<usize> {
        Ok(0)
    }

    fn hears(&self) -> bool {
        false
    }

    fn flush(&mut self, limit: Duration) -> io::Result<bool> {
        self.pump.flush(limit)
    }

    fn close(&mut self, limit: Duration) {
        self.pump.close(limit);
    }
}
