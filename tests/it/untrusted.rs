//! A web server behind a certificate that nobody signed, by openssl.

use std::net::{TcpListener, TcpStream};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::thread;
use std::time::Duration;

/// Answers until it is dropped.
pub struct Untrusted {
    pub port: u16,
    server: Child,
}

impl Untrusted {
    /// Serves what lies in a folder; its key and certificate are put there.
    pub fn serving(folder: &Path) -> Untrusted {
        let key = "req -x509 -newkey rsa:2048 -nodes -keyout key.pem -out cert.pem -days 2 -subj /CN=localhost";
        let made = Command::new("openssl").args(key.split(' ')).current_dir(folder).output().expect("openssl");
        assert!(made.status.success());
        let port = TcpListener::bind("127.0.0.1:0").expect("a port").local_addr().expect("an address").port();
        let server = Command::new("openssl")
            .args(["s_server", "-quiet", "-accept", &port.to_string(), "-cert", "cert.pem", "-key", "key.pem", "-www"])
            .current_dir(folder)
            .stdin(Stdio::null())
            .spawn()
            .expect("openssl");
        for _ in 0..400 {
            if TcpStream::connect(("127.0.0.1", port)).is_ok() {
                break;
            }
            thread::sleep(Duration::from_millis(50));
        }
        Untrusted { port, server }
    }
}

impl Drop for Untrusted {
    fn drop(&mut self) {
        let _ = self.server.kill().and_then(|()| self.server.wait());
    }
}
