//! A line that bytes go out on and may come back on, never waiting longer than it is told to.
//!
//! This file knows no command and no printer.

use std::io::{self, Read, Write};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{self, Receiver, RecvTimeoutError, SyncSender};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

/// One open line.
pub trait Transport: Send {
    /// Hands over the first of `bytes` and says how many; waits up to `limit` for room. `Ok(0)`: there was none.
    ///
    /// # Errors
    /// The link is broken or closed; none of these bytes went out then.
    fn put(&mut self, bytes: &[u8], limit: Duration) -> io::Result<usize>;

    /// Adds what has come back to `into` and says how much; waits up to `limit` for the first byte. `Ok(0)`: nothing came.
    ///
    /// # Errors
    /// The link is broken; `UnexpectedEof` when the other end closed it.
    fn hear(&mut self, into: &mut Vec<u8>, limit: Duration) -> io::Result<usize>;

    /// Whether anything can come back at all.
    fn hears(&self) -> bool;

    /// What the device says of itself, where the way to it knows.
    fn device_id(&self) -> Option<&str> {
        None
    }

    /// What the port says of the printer, whether that answers or not: the three lines of a parallel port, for paper, selected, error.
    fn port(&mut self) -> Option<u8> {
        None
    }

    /// Bytes a second, where the line is slow enough to matter.
    fn pace(&self) -> Option<u32> {
        None
    }

    /// Bytes that were put and that the other end has not taken, where that can be seen.
    fn unsent(&self) -> Option<u64> {
        None
    }

    /// Waits until all that was put has left this program, for `limit` at most. `false`: some of it has not.
    ///
    /// # Errors
    /// The link is broken or closed.
    fn flush(&mut self, limit: Duration) -> io::Result<bool>;

    /// Lets go of the line so that what is on its way still arrives. Called once, last.
    fn close(&mut self, limit: Duration);
}

/// The most bytes handed over in one piece: small enough that a wish to stop is heard soon.
pub(crate) const PIECE: usize = 2048;

/// Writes on a thread of its own, for files and devices whose writing may block for ever. One piece is under way at a time.
pub(crate) struct Pump {
    pieces: Option<SyncSender<Vec<u8>>>,
    written: Receiver<io::Result<()>>,
    under_way: bool,
    given_up: Arc<AtomicBool>,
    thread: JoinHandle<()>,
}

impl Pump {
    /// # Errors
    /// The system gives no thread.
    pub(crate) fn new(mut out: impl Write + Send + 'static) -> io::Result<Pump> {
        let (pieces, to_write) = mpsc::sync_channel::<Vec<u8>>(1);
        let (tell, written) = mpsc::channel();
        let given_up = Arc::new(AtomicBool::new(false));
        let until = Arc::clone(&given_up);
        let thread = std::thread::Builder::new().name("line out".to_owned()).spawn(move || {
            for piece in to_write {
                let result = write_patiently(&mut out, &piece, &until);
                let broken = result.is_err();
                if tell.send(result).is_err() || broken {
                    return;
                }
            }
        })?;
        Ok(Pump { pieces: Some(pieces), written, under_way: false, given_up, thread })
    }

    pub(crate) fn put(&mut self, bytes: &[u8], limit: Duration) -> io::Result<usize> {
        if !self.flush(limit)? {
            return Ok(0);
        }
        let piece = bytes.get(..bytes.len().min(PIECE)).unwrap_or_default();
        let gone = || io::Error::from(io::ErrorKind::BrokenPipe);
        self.pieces.as_ref().ok_or_else(gone)?.send(piece.to_vec()).map_err(|_| gone())?;
        self.under_way = true;
        Ok(piece.len())
    }

    pub(crate) fn flush(&mut self, limit: Duration) -> io::Result<bool> {
        if self.under_way {
            match self.written.recv_timeout(limit) {
                Ok(result) => {
                    self.under_way = false;
                    result?;
                }
                Err(RecvTimeoutError::Timeout) => return Ok(false),
                Err(RecvTimeoutError::Disconnected) => return Err(io::ErrorKind::BrokenPipe.into()),
            }
        }
        Ok(true)
    }

    /// Ends the thread as soon as it has written what it holds, and waits for that, so that the device is free again.
    pub(crate) fn close(&mut self, limit: Duration) {
        self.pieces = None;
        wait_for(&self.thread, limit);
        self.given_up.store(true, Ordering::SeqCst);
    }
}

/// A device that gives up after a while is asked again, until nobody wants its answer any more.
fn write_patiently(out: &mut impl Write, piece: &[u8], given_up: &AtomicBool) -> io::Result<()> {
    let mut rest = piece;
    while !rest.is_empty() {
        match out.write(rest) {
            Ok(0) => return Err(io::ErrorKind::WriteZero.into()),
            Ok(count) => rest = rest.get(count..).unwrap_or_default(),
            Err(error) if waits(&error) && !given_up.load(Ordering::SeqCst) => {}
            Err(error) => return Err(error),
        }
    }
    loop {
        match out.flush() {
            Err(error) if waits(&error) && !given_up.load(Ordering::SeqCst) => {}
            done => return done,
        }
    }
}

/// Reads on a thread of its own, for devices whose reading may block for ever.
pub(crate) struct Ear {
    heard: Option<Receiver<io::Result<Vec<u8>>>>,
    thread: JoinHandle<()>,
}

impl Ear {
    /// `end_is_pause`: a device that has nothing to say reads as ended, and may speak later.
    ///
    /// # Errors
    /// The system gives no thread.
    pub(crate) fn new(mut from: impl Read + Send + 'static, end_is_pause: bool) -> io::Result<Ear> {
        let (tell, heard) = mpsc::sync_channel(16);
        let thread = std::thread::Builder::new().name("line in".to_owned()).spawn(move || {
            let mut room = [0u8; 256];
            loop {
                let result = match from.read(&mut room) {
                    Ok(0) if end_is_pause => {
                        std::thread::sleep(Duration::from_millis(20));
                        Ok(Vec::new())
                    }
                    Ok(0) => Err(io::ErrorKind::UnexpectedEof.into()),
                    Ok(count) => Ok(room.get(..count).unwrap_or_default().to_vec()),
                    Err(error) if waits(&error) => Ok(Vec::new()),
                    Err(error) => Err(error),
                };
                let broken = result.is_err();
                if tell.send(result).is_err() || broken {
                    return;
                }
            }
        })?;
        Ok(Ear { heard: Some(heard), thread })
    }

    pub(crate) fn hear(&mut self, into: &mut Vec<u8>, limit: Duration) -> io::Result<usize> {
        let until = Instant::now() + limit;
        let Some(heard) = &self.heard else {
            return Err(io::ErrorKind::UnexpectedEof.into());
        };
        loop {
            match heard.recv_timeout(until.saturating_duration_since(Instant::now())) {
                Ok(Ok(bytes)) if bytes.is_empty() => {}
                Ok(Ok(bytes)) => {
                    into.extend_from_slice(&bytes);
                    return Ok(bytes.len());
                }
                Ok(Err(error)) => return Err(error),
                Err(RecvTimeoutError::Timeout) => return Ok(0),
                Err(RecvTimeoutError::Disconnected) => return Err(io::ErrorKind::UnexpectedEof.into()),
            }
        }
    }
}

impl Ear {
    /// Ends the thread at its next byte or pause, and waits for that if it does not take long.
    pub(crate) fn close(&mut self, limit: Duration) {
        self.heard = None;
        wait_for(&self.thread, limit);
    }
}

fn wait_for(thread: &JoinHandle<()>, limit: Duration) {
    let until = Instant::now() + limit;
    while !thread.is_finished() && Instant::now() < until {
        std::thread::sleep(Duration::from_millis(2));
    }
}

/// An error that only means "not yet".
pub(crate) fn waits(error: &io::Error) -> bool {
    matches!(error.kind(), io::ErrorKind::WouldBlock | io::ErrorKind::TimedOut | io::ErrorKind::Interrupted)
}
