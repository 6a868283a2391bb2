//! A network between a bench and the database that can be cut.

use std::io::{Read, Write};
use std::net::{Shutdown, TcpListener, TcpStream};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};
use std::time::Duration;

/// While it is cut, bytes stop, and no connection is refused or ended.
pub struct Network {
    pub port: u16,
    cut: Arc<AtomicBool>,
    streams: Arc<Mutex<Vec<TcpStream>>>,
}

impl Network {
    pub fn to(port: u16) -> Network {
        let listener = TcpListener::bind("127.0.0.1:0").expect("a port");
        let own = listener.local_addr().expect("bound").port();
        let cut = Arc::new(AtomicBool::new(false));
        let streams = Arc::new(Mutex::new(Vec::new()));
        let (is_cut, kept) = (cut.clone(), streams.clone());
        std::thread::spawn(move || {
            for stream in listener.incoming().flatten() {
                let Ok(far) = TcpStream::connect(("127.0.0.1", port)) else { continue };
                for (from, to) in [(&stream, &far), (&far, &stream)] {
                    let (from, to) = (from.try_clone().expect("a socket"), to.try_clone().expect("a socket"));
                    let is_cut = is_cut.clone();
                    std::thread::spawn(move || carry(from, to, &is_cut));
                }
                kept.lock().expect("kept").extend([stream, far]);
            }
        });
        Network { port: own, cut, streams }
    }

    /// Bytes neither come nor go.
    pub fn cut(&self, is: bool) {
        self.cut.store(is, Ordering::SeqCst);
    }

    /// Ends all connections, as a machine in between does that was restarted.
    pub fn reset(&self) {
        for stream in self.streams.lock().expect("kept").drain(..) {
            let _ = stream.shutdown(Shutdown::Both);
        }
    }
}

fn carry(mut from: TcpStream, mut to: TcpStream, cut: &AtomicBool) {
    let mut room = [0u8; 8192];
    while let Ok(count @ 1..) = from.read(&mut room) {
        while cut.load(Ordering::SeqCst) {
            std::thread::sleep(Duration::from_millis(5));
        }
        if to.write_all(&room[..count]).is_err() {
            return;
        }
    }
    let _ = to.shutdown(Shutdown::Write);
}
