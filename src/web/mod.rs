//! One file from a web address: the only room that knows HTTP, and only `gather`, and `preflight --online`, ask it for anything.
//!
//! Politely: it waits where a server says "later", and names the server where waiting did not help. Carefully: no more than was
//! agreed on is read, a redirect is followed a few steps, and never from the public net to a private or loopback address. Knows no
//! manual and no picture; writes no file.

mod public_hosts;
mod url;

use std::io::Read;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{Duration, SystemTime};

use thiserror::Error;
use ureq::Agent;
use ureq::http::{Response, StatusCode, header};
use ureq::unversioned::transport::DefaultConnector;

pub use public_hosts::is_private;
use public_hosts::{Guarded, Private};
pub use url::{host, raw};

/// How much, how long, how often.
#[derive(Clone, Copy, Debug)]
pub struct Limits {
    /// Bytes of one file.
    pub each: u64,
    /// Bytes of all files together.
    pub all: u64,
    pub redirects: u32,
    /// How long a server may keep silent.
    pub silence: Duration,
    /// How long one file may take, however busily it comes.
    pub whole: Duration,
    /// How often a file is asked for.
    pub tries: u32,
    /// The longest wait that a server may ask for between two tries.
    pub pause: Duration,
    /// Which addresses are private.
    pub private: Private,
}

impl Default for Limits {
    fn default() -> Limits {
        Limits {
            each: 64 << 20,
            all: 1 << 30,
            redirects: 5,
            silence: Duration::from_secs(30),
            whole: Duration::from_secs(300),
            tries: 4,
            pause: Duration::from_secs(60),
            private: is_private,
        }
    }
}

/// Why a file did not come.
#[derive(Clone, Debug, Error, PartialEq, Eq)]
pub enum Error {
    #[error("it is no web address that can be asked")]
    Address,
    #[error("no machine of that name is known")]
    UnknownHost,
    #[error("the server cannot be reached: {0}")]
    Unreachable(String),
    #[error("the server's certificate cannot be trusted: {0}")]
    Certificate(String),
    #[error("the server says {0}")]
    Status(String),
    #[error("the server said \"later\" {tries} times ({status})")]
    Later { status: String, tries: u32 },
    #[error("the server asks to wait {0} s, which is too long")]
    TooLongAWait(u64),
    #[error("it was sent on more than {0} times")]
    Redirects(u32),
    #[error("it was sent on to {0}, which is a private address")]
    ToPrivate(String),
    #[error("it was sent on to what is no web address")]
    Nowhere,
    #[error("the server kept silent for {0} s")]
    Silence(u64),
    #[error("it took longer than {0} s")]
    TooSlow(u64),
    #[error("it is larger than the {0} MiB that are allowed")]
    TooLarge(u64),
    #[error("all pictures together are more than the {0} MiB that are allowed")]
    TooMuch(u64),
    #[error("the server stopped in the middle")]
    CutShort,
    #[error("stopped as asked")]
    Stopped,
}

/// Asks for files. Shared by threads; counts what all of them read.
#[derive(Debug)]
pub struct Client {
    limits: Limits,
    /// For addresses that are private to begin with.
    free: Agent,
    /// For all others: never speaks with a private address.
    guarded: Agent,
    read: AtomicU64,
}

impl Client {
    pub fn new(limits: Limits) -> Client {
        let config = Agent::config_builder()
            .max_redirects(0)
            .http_status_as_error(false)
            .user_agent(concat!("stripling/", env!("CARGO_PKG_VERSION")))
            .accept("image/*,*/*;q=0.5")
            .timeout_resolve(Some(limits.silence))
            .timeout_connect(Some(limits.silence))
            .timeout_send_request(Some(limits.silence))
            .timeout_recv_response(Some(limits.silence))
            .timeout_per_read(Some(limits.silence))
            .timeout_recv_body(Some(limits.whole))
            .build();
        let agent =
            |private: Option<Private>| Agent::with_parts(config.clone(), DefaultConnector::default(), Guarded::new(private));
        Client { limits, free: agent(None), guarded: agent(Some(limits.private)), read: AtomicU64::new(0) }
    }

    /// The bytes at an address. `stop` is looked at between two pieces and while waiting.
    ///
    /// # Errors
    /// Whatever kept them from coming, after as many tries as the limits allow.
    pub fn fetch(&self, address: &str, stop: &(dyn Fn() -> bool + Sync)) -> Result<Vec<u8>, Error> {
        let mut tried = 0;
        loop {
            tried += 1;
            let (error, wait) = match self.ask(address, stop) {
                Ok(bytes) => return Ok(bytes),
                Err(Refusal { error, later: None }) => return Err(error),
                Err(Refusal { error, later: Some(wait) }) => (error, wait),
            };
            if tried >= self.limits.tries {
                return Err(error);
            }
            // Longer every time where the server does not say how long.
            let wait = wait.unwrap_or(Duration::from_secs(1 << tried.min(5)).min(self.limits.pause));
            if wait > self.limits.pause {
                return Err(Error::TooLongAWait(wait.as_secs()));
            }
            let until = std::time::Instant::now() + wait;
            while std::time::Instant::now() < until {
                if stop() {
                    return Err(Error::Stopped);
                }
                std::thread::sleep(Duration::from_millis(20).min(wait));
            }
        }
    }

    /// One try, redirects followed.
    fn ask(&self, address: &str, stop: &(dyn Fn() -> bool + Sync)) -> Result<Vec<u8>, Refusal> {
        let mut address = url::asked(address).ok_or(Error::Address)?;
        let agent = if public_hosts::leads_to(&address, self.limits.private) { &self.free } else { &self.guarded };
        for _ in 0..=self.limits.redirects {
            if stop() {
                return Err(Error::Stopped.into());
            }
            let response = agent.get(&address).call().map_err(|error| self.in_words(&error, &address))?;
            let status = response.status();
            if status.is_redirection() && status != StatusCode::NOT_MODIFIED {
                let onward = response.headers().get(header::LOCATION).and_then(|onward| onward.to_str().ok());
                address = url::onward(&address, onward.unwrap_or_default()).ok_or(Error::Nowhere)?;
                continue;
            }
            return match status.as_u16() {
                200 => self.body(response, stop),
                429 | 503 => {
                    let error = Error::Later { status: said(status), tries: self.limits.tries };
                    Err(Refusal { error, later: Some(retry_after(&response)) })
                }
                502 | 504 => Err(Refusal { error: Error::Status(said(status)), later: Some(None) }),
                _ => Err(Error::Status(said(status)).into()),
            };
        }
        Err(Error::Redirects(self.limits.redirects).into())
    }

    fn body(&self, response: Response<ureq::Body>, stop: &(dyn Fn() -> bool + Sync)) -> Result<Vec<u8>, Refusal> {
        let too_large = Error::TooLarge(self.limits.each >> 20);
        let mut body = response.into_body();
        let length = body.content_length();
        if length.is_some_and(|length| length > self.limits.each) {
            return Err(too_large.into());
        }
        let mut reader = body.as_reader();
        let (mut bytes, mut piece) = (Vec::new(), vec![0; 64 << 10]);
        loop {
            if stop() {
                return Err(Error::Stopped.into());
            }
            let count = match reader.read(&mut piece) {
                Ok(0) => break,
                Ok(count) => count,
                Err(error) => return Err(self.broken_off(&error)),
            };
            bytes.extend_from_slice(&piece[..count]);
            if bytes.len() as u64 > self.limits.each {
                return Err(too_large.into());
            }
            if self.read.fetch_add(count as u64, Ordering::Relaxed) + count as u64 > self.limits.all {
                return Err(Error::TooMuch(self.limits.all >> 20).into());
            }
        }
        if length.is_some_and(|length| length != bytes.len() as u64) {
            return Err(Refusal { error: Error::CutShort, later: Some(None) });
        }
        Ok(bytes)
    }

    fn broken_off(&self, error: &std::io::Error) -> Refusal {
        let inner = error.get_ref().and_then(|inner| inner.downcast_ref::<ureq::Error>());
        match inner {
            Some(ureq::Error::Timeout(ureq::Timeout::RecvBody)) => Error::TooSlow(self.limits.whole.as_secs()).into(),
            Some(ureq::Error::Timeout(_)) => Error::Silence(self.limits.silence.as_secs()).into(),
            _ => Refusal { error: Error::CutShort, later: Some(None) },
        }
    }

    fn in_words(&self, error: &ureq::Error, address: &str) -> Refusal {
        let again = |error: Error| Refusal { error, later: Some(None) };
        match error {
            ureq::Error::HostNotFound => Error::UnknownHost.into(),
            ureq::Error::Timeout(_) => again(Error::Silence(self.limits.silence.as_secs())),
            ureq::Error::Rustls(error) => Error::Certificate(one_line(&error.to_string())).into(),
            ureq::Error::Io(error) => match error.get_ref().map(ToString::to_string) {
                Some(inner) if inner == public_hosts::PRIVATE => Error::ToPrivate(host(address).unwrap_or_default()).into(),
                Some(inner) if inner.to_ascii_lowercase().contains("certificate") => Error::Certificate(one_line(&inner)).into(),
                _ if error.kind() == std::io::ErrorKind::TimedOut => again(Error::Silence(self.limits.silence.as_secs())),
                Some(inner) if inner.contains("lookup address") => Error::UnknownHost.into(),
                _ => again(Error::Unreachable(one_line(&error.to_string()))),
            },
            ureq::Error::BadUri(_) | ureq::Error::Http(_) => Error::Address.into(),
            error => Error::Unreachable(one_line(&error.to_string())).into(),
        }
    }
}

/// Why a try failed, and whether another is worth it: after what the server asks for, or after a while.
struct Refusal {
    error: Error,
    later: Option<Option<Duration>>,
}

impl From<Error> for Refusal {
    fn from(error: Error) -> Refusal {
        Refusal { error, later: None }
    }
}

fn said(status: StatusCode) -> String {
    format!("{} {}", status.as_u16(), status.canonical_reason().unwrap_or_default()).trim_end().to_string()
}

fn one_line(words: &str) -> String {
    words.split(" (os error").next().unwrap_or_default().split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase()
}

/// `Retry-After` is a number of seconds or a date (RFC 9110, 10.2.3).
fn retry_after(response: &Response<ureq::Body>) -> Option<Duration> {
    let said = response.headers().get(header::RETRY_AFTER)?.to_str().ok()?.trim();
    if let Ok(seconds) = said.parse::<u64>() {
        return Some(Duration::from_secs(seconds));
    }
    let date = httpdate::parse_http_date(said).ok()?;
    Some(date.duration_since(SystemTime::now()).unwrap_or_default())
}
