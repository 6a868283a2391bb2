//! The built-in pretend printers as destinations take them.

use crate::lengths::Dots;
use crate::printer;
use crate::printer::pretend::{FAULTS, Pretend};
use crate::send::{CameOut, PretendDevice, PretendDevices};
use crate::strip::png;

struct Device(Pretend);

impl PretendDevice for Device {
    fn take(&mut self, bytes: &[u8]) {
        self.0.take(bytes);
    }

    fn answers(&mut self) -> Vec<u8> {
        self.0.answers()
    }

    fn paper(&mut self) -> Vec<CameOut> {
        let pieces = self.0.paper();
        let printer::Profile { resolution, .. } = *self.0.truth();
        let came_out = |piece: printer::pretend::Piece| CameOut {
            length: resolution.mm(Dots(piece.height() as i32)),
            png: png::write(&piece, resolution),
        };
        pieces.into_iter().map(came_out).collect()
    }
}

/// Pretend printers by the name of their fault.
pub fn devices() -> PretendDevices {
    Box::new(|fault| match Pretend::new(fault) {
        Some(pretend) => Ok(Box::new(Device(pretend))),
        None => Err(format!("the faults are {}", FAULTS.map(|(name, _)| name).join(", "))),
    })
}
