//! What a port itself says of the printer at it, where the printer says nothing: three lines, for paper, selected and error.
//!
//! A device file is looked at through [`DevicePorts`] only, so that a pretend port can stand in the system's place.

use crate::send::Error;
use std::fs::File;

/// Asks the port; none where it can't say. Bits as in [`crate::send::status::Status::of_port`].
pub type AskPort = Box<dyn FnMut() -> Option<u8> + Send>;

/// What is asked of the system about a device file.
pub trait DevicePorts: Send + Sync {
    /// # Errors
    /// It is no printer's.
    fn check(&self, address: &str) -> Result<(), Error>;

    /// The port's own status byte.
    fn status(&self, device: &File) -> Option<u8>;
}

#[cfg(target_os = "linux")]
pub(super) fn status(device: &File) -> Option<u8> {
    use std::os::fd::AsRawFd;
    // LPGETSTATUS of linux/lp.h, which the drivers `lp` and `usblp` answer with an int (memory).
    nix::ioctl_read_bad!(ask, 0x060B, std::ffi::c_int);
    let mut answer: std::ffi::c_int = 0;
    // SAFETY: the descriptor is open for as long as `device` lives, and the drivers write one int. Another driver that took the
    // number for something else would be no printer's, and `check` lets none in.
    unsafe { ask(device.as_raw_fd(), &raw mut answer) }.ok()?;
    u8::try_from(answer & 0xFF).ok()
}

#[cfg(not(target_os = "linux"))]
pub(super) fn status(_: &File) -> Option<u8> {
    None
}
