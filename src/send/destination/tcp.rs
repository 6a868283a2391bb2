//! `tcp://HOST:PORT`: a printer on the network, raw bytes both ways. Port 9100 when none is given (common practice).

use super::{Kind, Settings, on_a_line};
use crate::send::Error;
use crate::send::connection::Opener;
use crate::send::transport::{Transport, waits};
use std::io::{self, Read, Write};
use std::net::{IpAddr, Shutdown, SocketAddr, TcpStream, ToSocketAddrs};
use std::time::{Duration, Instant};

pub(super) const KIND: Kind = Kind {
    form: "tcp://HOST:PORT",
    what: "a printer on the network",
    claims: |address| address.starts_with("tcp://"),
    place: |address| {
        host_and_port(address).map_or_else(
            |_| address.to_owned(),
            |(host, port)| {
                let host = host.to_ascii_lowercase();
                if host.contains(':') { format!("tcp://[{host}]:{port}") } else { format!("tcp://{host}:{port}") }
            },
        )
    },
    open: |address, settings| on_a_line(address, &settings, opener),
    transport: Some(opener),
};

fn opener(address: &str, _: &Settings) -> Result<Opener, Error> {
    let (host, port) = host_and_port(address)?;
    Ok(Box::new(move |times: &crate::send::Times| {
        let transport = connect(&host, port, times.connect)?;
        Ok(Box::new(transport) as Box<dyn Transport>)
    }))
}

fn host_and_port(address: &str) -> Result<(String, u16), Error> {
    let wrong = |why: &str| Error::Address {
        address: address.to_owned(),
        why: why.to_owned(),
        hint: "write tcp://HOST:PORT, an IPv6 address in brackets: tcp://[fe80::1]:9100".to_owned(),
    };
    let rest = address.strip_prefix("tcp://").unwrap_or(address).trim_end_matches('/');
    let (host, port) = match rest.strip_prefix('[') {
        Some(inside) => {
            let (host, after) = inside.split_once(']').ok_or_else(|| wrong("the bracket around the host is not closed"))?;
            (host, after.strip_prefix(':').or(if after.is_empty() { Some("9100") } else { None }))
        }
        None if rest.matches(':').count() > 1 => return Err(wrong("the host looks like an IPv6 address without brackets")),
        None => rest.split_once(':').map_or((rest, Some("9100")), |(host, port)| (host, Some(port))),
    };
    if host.is_empty() || host.contains(['/', ' ', '@', '?']) {
        return Err(wrong("there is no host in it"));
    }
    let port = port
        .and_then(|port| port.parse().ok())
        .filter(|&port: &u16| port > 0)
        .ok_or_else(|| wrong("the port is no number from 1 to 65535"))?;
    Ok((host.to_owned(), port))
}

/// Tries every address of the host until one answers or the time is up.
fn connect(host: &str, port: u16, limit: Duration) -> io::Result<TcpWire> {
    let until = Instant::now() + limit;
    let mut last = io::Error::new(io::ErrorKind::NotFound, "no address is known for this host");
    for place in (host, port).to_socket_addrs()? {
        let left = until.saturating_duration_since(Instant::now());
        if left.is_zero() {
            break;
        }
        match TcpStream::connect_timeout(&place, left) {
            Ok(stream) => {
                stream.set_nodelay(true)?;
                return Ok(TcpWire { stream });
            }
            Err(error) => last = error,
        }
    }
    Err(last)
}

struct TcpWire {
    stream: TcpStream,
}

/// Bytes of a connection that the other end has not acknowledged, as Linux lists them (proc(5), `/proc/net/tcp`: `tx_queue`); other
/// systems do not say.
fn unsent(stream: &TcpStream) -> Option<u64> {
    let (ours, theirs) = (stream.local_addr().ok()?, stream.peer_addr().ok()?);
    let list = if ours.is_ipv4() { "/proc/net/tcp" } else { "/proc/net/tcp6" };
    let (ours, theirs) = (listed(ours), listed(theirs));
    let list = std::fs::read_to_string(list).ok()?;
    let line = list.lines().find_map(|line| {
        let mut words = line.split_whitespace().skip(1);
        (words.next() == Some(ours.as_str()) && words.next() == Some(theirs.as_str())).then(|| words.nth(1))?
    });
    u64::from_str_radix(line?.split_once(':')?.0, 16).ok()
}

/// An address as it stands in that list: the machine's own words of four bytes in hexadecimal.
fn listed(address: SocketAddr) -> String {
    let octets: Vec<u8> = match address.ip() {
        IpAddr::V4(ip) => ip.octets().to_vec(),
        IpAddr::V6(ip) => ip.octets().to_vec(),
    };
    let words = octets.chunks_exact(4).map(|four| {
        let four: [u8; 4] = four.try_into().unwrap_or_default();
        format!("{:08X}", u32::from_ne_bytes(four))
    });
    format!("{}:{:04X}", words.collect::<String>(), address.port())
}

/// A time-out of zero would mean none at all.
fn some(limit: Duration) -> Option<Duration> {
    Some(limit.max(Duration::from_millis(1)))
}

impl Transport for TcpWire {
    fn put(&mut self, bytes: &[u8], limit: Duration) -> io::Result<usize> {
        self.stream.set_write_timeout(some(limit))?;
        match self.stream.write(bytes) {
            Err(error) if waits(&error) => Ok(0),
            result => result,
        }
    }

    fn hear(&mut self, into: &mut Vec<u8>, limit: Duration) -> io::Result<usize> {
        let mut room = [0u8; 512];
        let result = if limit.is_zero() {
            self.stream.set_nonblocking(true)?;
            let result = self.stream.read(&mut room);
            self.stream.set_nonblocking(false)?;
            result
        } else {
            self.stream.set_read_timeout(some(limit))?;
            self.stream.read(&mut room)
        };
        match result {
            Ok(0) => Err(io::ErrorKind::UnexpectedEof.into()),
            Ok(count) => {
                into.extend_from_slice(room.get(..count).unwrap_or_default());
                Ok(count)
            }
            Err(error) if waits(&error) => Ok(0),
            Err(error) => Err(error),
        }
    }

    fn hears(&self) -> bool {
        true
    }

    /// What the system still holds was not taken by the printer.
    fn flush(&mut self, limit: Duration) -> io::Result<bool> {
        let until = Instant::now() + limit;
        while self.unsent().is_some_and(|left| left > 0) {
            if Instant::now() >= until {
                return Ok(false);
            }
            std::thread::sleep(Duration::from_millis(5));
        }
        Ok(true)
    }

    fn unsent(&self) -> Option<u64> {
        unsent(&self.stream)
    }

    /// Closing a socket on which unread bytes lie makes the system throw away what it has not sent yet, so what still comes is
    /// read until the printer closes too.
    fn close(&mut self, limit: Duration) {
        let until = Instant::now() + limit;
        if self.stream.shutdown(Shutdown::Write).is_err() {
            return;
        }
        let mut late = Vec::new();
        while Instant::now() < until && self.hear(&mut late, Duration::from_millis(20)).is_ok() {
            late.clear();
        }
    }
}
