//! Which machines may be spoken with: a public address never leads to a private one, whatever names resolve to on the way.

use std::io;
use std::net::{IpAddr, Ipv4Addr, Ipv6Addr, ToSocketAddrs};

use ureq::config::Config;
use ureq::http::Uri;
use ureq::unversioned::resolver::{DefaultResolver, ResolvedSocketAddrs, Resolver};
use ureq::unversioned::transport::NextTimeout;
use url::{Host, Url};

pub type Private = fn(IpAddr) -> bool;

/// The words by which the client knows the guard's refusal.
pub(super) const PRIVATE: &str = "a private address";

/// Finds addresses as the system does, and with a guard leaves the private ones out.
#[derive(Debug)]
pub(super) struct Guarded {
    system: DefaultResolver,
    private: Option<Private>,
}

impl Guarded {
    pub fn new(private: Option<Private>) -> Guarded {
        Guarded { system: DefaultResolver::default(), private }
    }
}

impl Resolver for Guarded {
    fn resolve(&self, uri: &Uri, config: &Config, timeout: NextTimeout) -> Result<ResolvedSocketAddrs, ureq::Error> {
        let found = self.system.resolve(uri, config, timeout)?;
        let Some(private) = self.private else { return Ok(found) };
        let mut open = self.empty();
        for address in found.iter().filter(|address| !private(address.ip())) {
            open.push(*address);
        }
        if open.is_empty() { Err(ureq::Error::Io(io::Error::other(PRIVATE))) } else { Ok(open) }
    }
}

/// Whether an address that a person wrote leads to a private machine from the start. A name that is not known does not.
pub(super) fn leads_to(address: &str, private: Private) -> bool {
    let Ok(url) = Url::parse(address) else { return false };
    let found: Vec<IpAddr> = match url.host() {
        Some(Host::Ipv4(ip)) => vec![ip.into()],
        Some(Host::Ipv6(ip)) => vec![ip.into()],
        Some(Host::Domain(name)) => {
            (name, 80).to_socket_addrs().map(|found| found.map(|found| found.ip()).collect()).unwrap_or_default()
        }
        None => Vec::new(),
    };
    !found.is_empty() && found.iter().all(|ip| private(*ip))
}

/// Loopback, private and link-local networks, and all others that the public net does not route: the special-purpose registries of
/// RFC 6890 for IPv4 and IPv6.
pub fn is_private(ip: IpAddr) -> bool {
    match ip {
        IpAddr::V4(ip) => v4(ip),
        IpAddr::V6(ip) => ip.to_ipv4_mapped().map_or_else(|| v6(ip), v4),
    }
}

fn v4(ip: Ipv4Addr) -> bool {
    let [a, b, ..] = ip.octets();
    ip.is_private()
        || ip.is_loopback()
        || ip.is_link_local()
        || ip.is_multicast()
        || ip.is_broadcast()
        || a == 0
        || a >= 240
        // Shared address space, RFC 6598; benchmarks, RFC 2544; protocol assignments, RFC 6890.
        || (a == 100 && (64..128).contains(&b))
        || (a == 198 && (b == 18 || b == 19))
        || ip.octets()[..3] == [192, 0, 0]
}

fn v6(ip: Ipv6Addr) -> bool {
    let segments = ip.segments();
    ip.is_loopback()
        || ip.is_unspecified()
        || ip.is_multicast()
        // Unique local, RFC 4193; link-local, RFC 4291; the old site-local.
        || segments[0] & 0xFE00 == 0xFC00
        || segments[0] & 0xFFC0 == 0xFE80
        || segments[0] & 0xFFC0 == 0xFEC0
        // What carries an IPv4 address inside: NAT64 (RFC 6052) and 6to4 (RFC 3056).
        || (segments[..6] == [0x64, 0xFF9B, 0, 0, 0, 0] && v4(carried(segments[6], segments[7])))
        || (segments[0] == 0x2002 && v4(carried(segments[1], segments[2])))
}

fn carried(high: u16, low: u16) -> Ipv4Addr {
    let ([a, b], [c, d]) = (high.to_be_bytes(), low.to_be_bytes());
    Ipv4Addr::new(a, b, c, d)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Networks of the IANA special-purpose registries (RFC 6890 and what it was extended by), and public ones beside them.
    #[test]
    fn special_purpose_networks_are_private_and_others_are_not() {
        for private in [
            "127.0.0.1",
            "10.1.2.3",
            "172.16.0.1",
            "172.31.255.255",
            "192.168.1.1",
            "169.254.169.254",
            "100.64.0.1",
            "0.0.0.0",
            "198.18.0.1",
            "192.0.0.8",
            "224.0.0.1",
            "255.255.255.255",
            "::1",
            "::",
            "fe80::1",
            "fc00::1",
            "fd12::1",
            "ff02::1",
            "::ffff:127.0.0.1",
            "64:ff9b::7f00:1",
            "2002:7f00:1::",
        ] {
            assert!(is_private(private.parse().expect(private)), "{private}");
        }
        for public in
            ["1.1.1.1", "172.15.0.1", "172.32.0.1", "100.63.0.1", "100.128.0.1", "198.17.0.1", "2606:4700::1", "64:ff9b::101:101"]
        {
            assert!(!is_private(public.parse().expect(public)), "{public}");
        }
    }
}
