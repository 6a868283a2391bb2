//! Printers that announce themselves on the local network: one question by multicast DNS, and what comes back in a moment.
//!
//! The question goes out from a port of its own, so that whoever knows an answer sends it back to that port alone (RFC 6762, 6.7); the
//! services that are asked for and their records are those of DNS-SD (RFC 6763). Nothing of what comes back is trusted but to be shown to
//! a person who chooses: names lose what is no letter, and every length is checked.

use std::collections::BTreeMap;
use std::io::{self, ErrorKind};
use std::net::{IpAddr, Ipv4Addr, Ipv6Addr, SocketAddr, UdpSocket};
use std::time::{Duration, Instant};

/// Where questions go (RFC 6762, 3).
const EVERYBODY: SocketAddr = SocketAddr::new(IpAddr::V4(Ipv4Addr::new(224, 0, 0, 251)), 5353);
/// What this program speaks, bytes to a port, and what it does not: jobs to a queue (RFC 1179).
const RAW: &str = "_pdl-datastream._tcp.local";
const QUEUED: &str = "_printer._tcp.local";

/// Kinds of records (RFC 1035, 3.2.2; RFC 3596; RFC 2782).
const A: u16 = 1;
const PTR: u16 = 12;
const TXT: u16 = 16;
const AAAA: u16 = 28;
const SRV: u16 = 33;
/// The internet's class; the upper bit has other meanings in multicast (RFC 6762, 10.2).
const INTERNET: u16 = 1;

/// Most records of one message, and most printers.
const RECORDS: usize = 256;
const MOST: usize = 64;

/// A printer that announces itself.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Nearby {
    pub name: String,
    /// What it says of its make, or nothing.
    pub what: String,
    /// Where bytes are taken; none if it takes only jobs to a queue, or does not say where it is.
    pub raw: Option<SocketAddr>,
}

/// Asks everybody on the local network and waits so long for answers.
///
/// # Errors
/// No question can be sent there.
pub fn printers(patience: Duration) -> io::Result<Vec<Nearby>> {
    ask(EVERYBODY, patience)
}

/// The same, asked of one address.
///
/// # Errors
/// No question can be sent there.
pub fn ask(to: SocketAddr, patience: Duration) -> io::Result<Vec<Nearby>> {
    let socket =
        UdpSocket::bind((if to.is_ipv4() { IpAddr::V4(Ipv4Addr::UNSPECIFIED) } else { IpAddr::V6(Ipv6Addr::UNSPECIFIED) }, 0))?;
    socket.set_multicast_ttl_v4(255).or_else(|error| if to.is_ipv4() { Err(error) } else { Ok(()) })?;
    let services = [RAW, QUEUED].map(|service| (Name::of(service), PTR));
    socket.send_to(&question(&services), to)?;
    let began = Instant::now();
    let mut heard = Heard::default();
    let (mut again, mut room) = (1, [0; 9000]);
    while let Some(left) = patience.checked_sub(began.elapsed()).filter(|left| !left.is_zero()) {
        // A question may be lost: it is asked three times, with what is still not known.
        if began.elapsed() > patience * again / 3 {
            again += 1;
            socket.send_to(&question(&[&services[..], &heard.lacks()].concat()), to)?;
        }
        socket.set_read_timeout(Some(left.min(patience / 12).max(Duration::from_millis(1))))?;
        match socket.recv_from(&mut room) {
            Ok((count, _)) => {
                let before = heard.lacks();
                heard.take(&room[..count]);
                let lacks = heard.lacks();
                if !lacks.is_empty() && lacks != before {
                    socket.send_to(&question(&lacks), to)?;
                }
            }
            Err(error) if matches!(error.kind(), ErrorKind::WouldBlock | ErrorKind::TimedOut | ErrorKind::Interrupted) => {}
            // Nobody listens at that port of that one machine.
            Err(error) if error.kind() == ErrorKind::ConnectionRefused => {}
            Err(error) => return Err(error),
        }
    }
    Ok(heard.printers())
}

/// A name by its labels. Two are alike whichever case their letters have (RFC 1035, 2.3.3).
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Name(Vec<Vec<u8>>);

impl Name {
    fn of(text: &str) -> Name {
        Name(text.split('.').map(|label| label.as_bytes().to_vec()).collect())
    }

    fn plain(&self) -> Name {
        Name(self.0.iter().map(|label| label.to_ascii_lowercase()).collect())
    }

    /// Of a message, from there on; and where what follows begins. A name may end in the place of an earlier one (RFC 1035, 4.1.4).
    fn read(message: &[u8], mut at: usize) -> Option<(Name, usize)> {
        let (mut labels, mut length, mut end) = (Vec::new(), 0, None);
        loop {
            let first = usize::from(*message.get(at)?);
            match first >> 6 {
                0 if first == 0 => return Some((Name(labels), end.unwrap_or(at + 1))),
                0 => {
                    labels.push(message.get(at + 1..at + 1 + first)?.to_vec());
                    length += first + 1;
                    at += 1 + first;
                }
                3 => {
                    let to = (first & 0x3F) << 8 | usize::from(*message.get(at + 1)?);
                    end.get_or_insert(at + 2);
                    // Earlier only, so that no name goes in a circle.
                    at = Some(to).filter(|&to| to < at)?;
                    length += 1;
                }
                _ => return None,
            }
            if length > 254 {
                return None;
            }
        }
    }

    fn write(&self, into: &mut Vec<u8>) {
        for label in self.0.iter().filter(|label| (1..64).contains(&label.len())) {
            into.push(label.len() as u8);
            into.extend(label);
        }
        into.push(0);
    }
}

/// One message that asks for all of these.
fn question(asked: &[(Name, u16)]) -> Vec<u8> {
    let asked = &asked[..asked.len().min(40)];
    let mut message = vec![0; 12];
    message[5] = asked.len() as u8;
    for (name, kind) in asked {
        name.write(&mut message);
        message.extend(kind.to_be_bytes());
        message.extend(INTERNET.to_be_bytes());
    }
    message
}

/// What came back, put together.
#[derive(Clone, Debug, Default)]
pub struct Heard {
    /// Each printer's name as it is shown, by its own and the service.
    instances: BTreeMap<(Name, bool), Name>,
    services: BTreeMap<Name, (u16, Name)>,
    makes: BTreeMap<Name, String>,
    hosts: BTreeMap<Name, IpAddr>,
}

impl Heard {
    /// Takes a message. What is none, or is cut short, is taken as far as it goes.
    pub fn take(&mut self, message: &[u8]) {
        let _ = self.records(message);
    }

    fn records(&mut self, message: &[u8]) -> Option<()> {
        let word = |at: usize| Some(u16::from_be_bytes([*message.get(at)?, *message.get(at + 1)?]));
        // An answer, and no question (RFC 1035, 4.1.1).
        if word(2)? & 0x8000 == 0 {
            return None;
        }
        let mut at = 12;
        for _ in 0..word(4)? {
            at = Name::read(message, at)?.1 + 4;
        }
        let records = [6, 8, 10].map(|at| word(at).map_or(0, usize::from)).into_iter().sum::<usize>();
        for _ in 0..records.min(RECORDS) {
            let (name, next) = Name::read(message, at)?;
            let (kind, class, length) = (word(next)?, word(next + 2)?, usize::from(word(next + 8)?));
            let data = message.get(next + 10..next + 10 + length)?;
            at = next + 10 + length;
            if class & 0x7FFF == INTERNET {
                self.record(message, name.plain(), kind, data, next + 10);
            }
        }
        Some(())
    }

    fn record(&mut self, message: &[u8], name: Name, kind: u16, data: &[u8], from: usize) {
        let name_at = |skip: usize| (data.len() > skip).then(|| Name::read(message, from + skip)).flatten().map(|(name, _)| name);
        match (kind, data) {
            (PTR, _) => {
                let raw = name == Name::of(RAW);
                let full = self.instances.len() >= MOST;
                if let Some(shown) = name_at(0).filter(|_| !full && (raw || name == Name::of(QUEUED))) {
                    self.instances.insert((shown.plain(), raw), shown);
                }
            }
            (SRV, [_, _, _, _, high, low, ..]) if self.services.len() < RECORDS => {
                if let Some(host) = name_at(6) {
                    self.services.insert(name, (u16::from_be_bytes([*high, *low]), host.plain()));
                }
            }
            (TXT, _) if self.makes.len() < RECORDS => {
                let mut rest = data;
                while let Some((&length, tail)) = rest.split_first() {
                    let (text, next) = tail.split_at(usize::from(length).min(tail.len()));
                    if let Some(make) = text.strip_prefix(b"ty=") {
                        self.makes.insert(name.clone(), shown(make));
                    }
                    rest = next;
                }
            }
            (A, &[a, b, c, d]) if self.hosts.len() < RECORDS => {
                self.hosts.insert(name, Ipv4Addr::new(a, b, c, d).into());
            }
            // A printer with both is found by the shorter one.
            (AAAA, data) if self.hosts.len() < RECORDS => {
                if let Ok(bytes) = <[u8; 16]>::try_from(data) {
                    self.hosts.entry(name).or_insert(Ipv6Addr::from(bytes).into());
                }
            }
            _ => {}
        }
    }

    /// What must still be asked for.
    fn lacks(&self) -> Vec<(Name, u16)> {
        let mut lacks = Vec::new();
        for (name, _) in self.instances.keys() {
            match self.services.get(name) {
                None => lacks.push((name.clone(), SRV)),
                Some((_, host)) if !self.hosts.contains_key(host) => lacks.push((host.clone(), A)),
                Some(_) => {}
            }
        }
        lacks
    }

    /// All printers, each once; one that takes bytes as such, though it takes jobs too.
    pub fn printers(&self) -> Vec<Nearby> {
        let mut found: Vec<Nearby> = Vec::new();
        for ((name, raw), as_shown) in self.instances.iter().rev() {
            let service = self.services.get(name);
            let address = service.and_then(|(port, host)| Some(SocketAddr::new(*self.hosts.get(host)?, *port)));
            let nearby = Nearby {
                name: as_shown.0.first().map_or(String::new(), |label| shown(label)),
                what: self.makes.get(name).cloned().unwrap_or_default(),
                // Port 0: the service is not offered (RFC 6763, flagship names).
                raw: address.filter(|address| *raw && address.port() != 0),
            };
            let known = found.iter().any(|other| other.name == nearby.name && (other.raw.is_some() || nearby.raw.is_none()));
            if !known {
                found.push(nearby);
            }
        }
        found.sort_by(|one, other| (one.raw.is_none(), &one.name).cmp(&(other.raw.is_none(), &other.name)));
        found
    }
}

/// At most sixty letters without anything that a terminal obeys.
fn shown(bytes: &[u8]) -> String {
    let text = String::from_utf8_lossy(bytes);
    text.chars().filter(|letter| !letter.is_control()).take(60).collect::<String>().trim().to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Written by dnspython 2.9.2: two pointers, then SRV, TXT, A of the first and SRV, AAAA of the second, with names that end in others.
    const ANSWER: &str = "0000840000000002000000050f5f70646c2d6461746173747265616d045f746370056c6f63616c00000c0001000011940013104865726f6e7072696e742062656e6368c00c085f7072696e746572c01c000c000100001194000a074f6c64206f6e65c045c0320021000100000078001800000000238c0a6865726f6e7072696e74056c6f63616c00c0320010000100001194003109747874766572733d311b74793d5265656462656420576f726b73204865726f6e7072696e740a6e6f74653d62656e6368c05a00210001000000780011000000000203036f6c64056c6f63616c000a6865726f6e7072696e74c02100010001000000780004c0000207036f6c64c021001c000100000078001020010db8000000000000000000000007";

    fn bytes(hex: &str) -> Vec<u8> {
        (0..hex.len()).step_by(2).map(|at| u8::from_str_radix(&hex[at..at + 2], 16).expect("hex")).collect()
    }

    fn the_two() -> Vec<Nearby> {
        vec![
            Nearby {
                name: "Heronprint bench".into(),
                what: "Reedbed Works Heronprint".into(),
                raw: Some("192.0.2.7:9100".parse().expect("an address")),
            },
            Nearby { name: "Old one".into(), what: String::new(), raw: None },
        ]
    }

    #[test]
    fn what_another_program_writes_is_understood() {
        let mut heard = Heard::default();
        heard.take(&bytes(ANSWER));
        assert_eq!(heard.printers(), the_two());
        assert!(heard.lacks().is_empty(), "{:?}", heard.lacks());
        // The question as dnspython 2.9.2 writes it.
        let asked = "0000000000010000000000000f5f70646c2d6461746173747265616d045f746370056c6f63616c00000c0001";
        assert_eq!(question(&[(Name::of(RAW), PTR)]), bytes(asked));
    }

    /// RFC 1035, 4.1.4: F.ISI.ARPA at 20, FOO.F.ISI.ARPA at 40, ARPA at 64, the root at 92.
    #[test]
    fn names_end_in_earlier_ones_and_never_go_in_a_circle() {
        let mut message = vec![0; 93];
        message[20..32].copy_from_slice(b"\x01F\x03ISI\x04ARPA\0");
        message[40..46].copy_from_slice(b"\x03FOO\xC0\x14");
        message[64..66].copy_from_slice(b"\xC0\x1A");
        let read = |at: usize| Name::read(&message, at).map(|(name, next)| (name.0.join(&b'.'), next));
        assert_eq!(read(20), Some((b"F.ISI.ARPA".to_vec(), 32)));
        assert_eq!(read(40), Some((b"FOO.F.ISI.ARPA".to_vec(), 46)));
        assert_eq!(read(64), Some((b"ARPA".to_vec(), 66)));
        assert_eq!(read(92), Some((Vec::new(), 93)));
        for circle in [&b"\xC0\x00"[..], b"\x01a\xC0\x00", b"\xC0\x02\xC0\x00", b"\x40a\0", b"\x05ab"] {
            assert_eq!(Name::read(circle, 0), None, "{circle:?}");
        }
    }

    #[test]
    fn a_printer_is_found_also_if_it_answers_bit_by_bit_and_questions_are_lost() {
        let socket = UdpSocket::bind("127.0.0.1:0").expect("a port");
        let to = socket.local_addr().expect("bound");
        let whole = bytes(ANSWER);
        let answers = std::thread::spawn(move || {
            let mut room = [0; 2048];
            let mut asked = 0;
            socket.set_read_timeout(Some(Duration::from_secs(3))).expect("set");
            while let Ok((count, from)) = socket.recv_from(&mut room) {
                asked += 1;
                let kind = u16::from_be_bytes([room[count - 4], room[count - 3]]);
                // The first question is lost. Then the pointers alone, then all.
                let answer = match (asked, kind) {
                    (1, _) => continue,
                    (_, SRV | A) => whole.clone(),
                    _ => [&[0, 0, 0x84, 0, 0, 0, 0, 2, 0, 0, 0, 0], &whole[12..100]].concat(),
                };
                socket.send_to(&answer, from).expect("sent");
                if kind != PTR {
                    return asked;
                }
            }
            asked
        });
        let found = ask(to, Duration::from_millis(900)).expect("asked");
        assert_eq!(found, the_two());
        assert!(answers.join().expect("no panic") >= 3);
    }

    #[test]
    fn what_comes_back_cut_short_or_strange_is_taken_as_far_as_it_goes() {
        let whole = bytes(ANSWER);
        for end in 0..whole.len() {
            let mut heard = Heard::default();
            heard.take(&whole[..end]);
            assert!(heard.printers().len() <= 2);
        }
        // Nobody is found by a question that comes back.
        let mut heard = Heard::default();
        heard.take(&[&whole[..2], &[0x04], &whole[3..]].concat());
        assert!(heard.printers().is_empty());
        // A name that would move the cursor is shown without what moves it.
        assert_eq!(shown(b"a\x1B[2Jb\n"), "a[2Jb");
    }
}
