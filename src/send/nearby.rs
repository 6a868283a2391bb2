//! Printers that announce themselves on the local network: one question by multicast DNS, and what comes back in a moment.
//!
//! The question goes out from a port of its own, so that whoever knows an answer sends it back to that port alone (RFC 6762, 6.7); the
//! services that are asked for and their records are those of DNS-SD (RFC 6763). Nothing of what comes back is trusted but to be shown to
//! a person who chooses: names lose what is no letter, and every length is checked.

use std::collections::BTreeMap;
use std::io::{self, ErrorKind};
use std::net::{IpAddr, Ipv4Addr, Ipv6Addr, SocketAddr, UdpSocket};
use std::time::{Duration, Instant};

use simple_dns::rdata::{A, AAAA, RData, SRV};
use simple_dns::{CLASS, Name, Packet, PacketFlag, Question, ResourceRecord, TYPE};

/// Where questions go (RFC 6762, 3).
const EVERYBODY: SocketAddr = SocketAddr::new(IpAddr::V4(Ipv4Addr::new(224, 0, 0, 251)), 5353);
/// What this program speaks, bytes to a port, and what it does not: jobs to a queue (RFC 1179).
const RAW: &str = "_pdl-datastream._tcp.local";
const QUEUED: &str = "_printer._tcp.local";

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
    let services = [RAW, QUEUED].map(|service| (service.to_string(), TYPE::PTR));
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

/// One message that asks for all of these.
fn question(asked: &[(String, TYPE)]) -> Vec<u8> {
    let mut message = Packet::new_query(0);
    let about = |(name, kind): &(String, TYPE)| {
        Some(Question::new(Name::new(name).ok()?.into_owned(), (*kind).into(), CLASS::IN.into(), false))
    };
    message.questions = asked.iter().take(40).filter_map(about).collect();
    message.build_bytes_vec().unwrap_or_default()
}

/// A name as it is kept: two are alike whichever case their letters have (RFC 1035, 2.3.3).
fn plain(name: &Name) -> String {
    name.to_string().to_ascii_lowercase()
}

/// What came back, put together.
#[derive(Clone, Debug, Default)]
pub struct Heard {
    /// Each printer's name as it is shown, by its own and whether it takes bytes as such.
    instances: BTreeMap<(String, bool), String>,
    /// Ports and hosts.
    services: BTreeMap<String, (u16, String)>,
    makes: BTreeMap<String, String>,
    hosts: BTreeMap<String, IpAddr>,
}

impl Heard {
    /// Takes a message. What is none, or is cut short, or is a question, tells nothing.
    pub fn take(&mut self, message: &[u8]) {
        let Ok(message) = Packet::parse(message) else { return };
        if !message.has_flags(PacketFlag::RESPONSE) {
            return;
        }
        let all = message.answers.iter().chain(&message.name_servers).chain(&message.additional_records);
        all.take(RECORDS).filter(|record| record.class == CLASS::IN).for_each(|record| self.record(record));
    }

    fn record(&mut self, record: &ResourceRecord) {
        let name = plain(&record.name);
        match &record.rdata {
            RData::PTR(instance) if self.instances.len() < MOST && [RAW, QUEUED].contains(&&*name) => {
                let as_shown = instance.0.as_bytes().next().map_or(String::new(), shown);
                self.instances.insert((plain(&instance.0), name == RAW), as_shown);
            }
            RData::SRV(SRV { port, target, .. }) if self.services.len() < RECORDS => {
                self.services.insert(name, (*port, plain(target)));
            }
            RData::TXT(txt) if self.makes.len() < RECORDS => {
                if let Some((_, Some(make))) = txt.iter_raw().find(|(key, _)| key.eq_ignore_ascii_case(b"ty")) {
                    self.makes.insert(name, shown(make));
                }
            }
            RData::A(A { address }) if self.hosts.len() < RECORDS => {
                self.hosts.insert(name, Ipv4Addr::from(*address).into());
            }
            // A printer with both is found by the shorter one.
            RData::AAAA(AAAA { address }) if self.hosts.len() < RECORDS => {
                self.hosts.entry(name).or_insert(Ipv6Addr::from(*address).into());
            }
            _ => {}
        }
    }

    /// What must still be asked for.
    fn lacks(&self) -> Vec<(String, TYPE)> {
        let mut lacks = Vec::new();
        for (name, _) in self.instances.keys() {
            match self.services.get(name) {
                None => lacks.push((name.clone(), TYPE::SRV)),
                Some((_, host)) if !self.hosts.contains_key(host) => lacks.push((host.clone(), TYPE::A)),
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
                name: as_shown.clone(),
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
        assert_eq!(question(&[(RAW.to_string(), TYPE::PTR)]), bytes(asked));
    }

    /// RFC 1035, 4.1.4: a name may end in the place of an earlier one; in none that is its own or later.
    #[test]
    fn a_name_that_goes_in_a_circle_ends() {
        let head = [0, 0, 0x84, 0, 0, 0, 0, 1, 0, 0, 0, 0];
        for name in [&b"\xC0\x0C"[..], b"\x01a\xC0\x0C", b"\xC0\x0E\xC0\x0C", b"\xC0\xFF"] {
            let mut heard = Heard::default();
            heard.take(&[&head[..], name, &[0, 12, 0, 1, 0, 0, 0, 1, 0, 2, 0xC0, 0x0C]].concat());
            assert!(heard.printers().is_empty());
        }
    }

    #[test]
    fn a_name_with_dots_in_a_label_is_asked_for_as_it_is() {
        let name = Name::new_with_labels(&[
            simple_dns::Label::new_unchecked(&b"Heron 2.0"[..]),
            simple_dns::Label::new_unchecked(&b"local"[..]),
        ]);
        let asked = question(&[(plain(&name), TYPE::SRV)]);
        assert!(asked.windows(11).any(|part| part == b"\x09heron 2.0\x05"), "{asked:?}");
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
                // PTR is 12, A is 1 (RFC 1035, 3.2.2), SRV is 33 (RFC 2782).
                let kind = u16::from_be_bytes([room[count - 4], room[count - 3]]);
                // The first question is lost. Then the pointers alone, then all.
                let answer = match (asked, kind) {
                    (1, _) => continue,
                    (_, 1 | 33) => whole.clone(),
                    _ => [&[0, 0, 0x84, 0, 0, 0, 0, 2, 0, 0, 0, 0], &whole[12..100]].concat(),
                };
                socket.send_to(&answer, from).expect("sent");
                if kind != 12 {
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
    fn what_comes_back_cut_short_or_strange_tells_nothing() {
        let whole = bytes(ANSWER);
        for end in 0..whole.len() {
            let mut heard = Heard::default();
            heard.take(&whole[..end]);
            assert!(heard.printers().is_empty());
        }
        // Nobody is found by a question that comes back.
        let mut heard = Heard::default();
        heard.take(&[&whole[..2], &[0x04], &whole[3..]].concat());
        assert!(heard.printers().is_empty());
        // A name that would move the cursor is shown without what moves it.
        assert_eq!(shown(b"a\x1B[2Jb\n"), "a[2Jb");
    }
}
