//! Bytes to the desk as they come over the line. `@PORT@`, `@PASS@` and `@KEY@` in them become the desk's own port, cookie and key.
//!
//! What must hold: no panic, no server error, nothing is done without the key, nothing is told without the cookie or to a host that is
//! not ours, and the key stands in the page alone. The clock is wound on whenever nothing moves, so that the desk's patience costs no time.
#![no_main]

use std::path::PathBuf;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, OnceLock};
use std::time::Duration;

use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use libfuzzer_sys::fuzz_target;
use stripling::bitmap::Bitmap;
use stripling::desk::{Choices, Desk, Ending, Estimate, Plan, Proof, Setup, Step, Title, Trouble, View, Wish, Workshop};
use stripling::lengths::Resolution;
use stripling::send::Stop;
use stripling::strip::Strip;
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::runtime::Runtime;

/// Most bytes of answers that are read.
const MOST: usize = 1 << 20;

/// Counts what it is asked to do.
#[derive(Default)]
struct Counting {
    acts: AtomicU64,
}

impl Workshop for Counting {
    fn proof(&self, view: &View) -> Result<Proof, Trouble> {
        if view.unit.as_deref() == Some("none") {
            return Err(Trouble::new("There is no such unit."));
        }
        Ok(Proof {
            unfinished: false,
            title: Title::default(),
            strip: Arc::new(Strip::new(Bitmap::new(16, 32), Resolution::EIGHT)),
            boxes: Vec::new(),
            findings: Vec::new(),
            estimate: Estimate::default(),
            choices: Choices::default(),
        })
    }

    fn watch_paths(&self) -> Vec<PathBuf> {
        Vec::new()
    }

    fn path_of(&self, _: &str) -> Option<PathBuf> {
        self.acts.fetch_add(1, Ordering::SeqCst);
        None
    }

    fn plan(&self, _: &Wish) -> Result<Plan, Trouble> {
        self.acts.fetch_add(1, Ordering::SeqCst);
        let (to, fingerprint) = ("nowhere".to_string(), "same".to_string());
        Ok(Plan {
            strips: 1,
            units: Vec::new(),
            printed: 0,
            to,
            metres: 1.0,
            seconds: 1.0,
            warning: None,
            fingerprint,
            again: Vec::new(),
            gone: None,
        })
    }

    fn print(&self, _: &Wish, _: &Plan, _: &Stop, _: &mut dyn FnMut(Step)) -> Result<Ending, Trouble> {
        // On a thread of its own, some time after the plan was asked for again and counted.
        Ok(Ending { words: "Printed.".into() })
    }
}

struct House {
    runtime: Runtime,
    workshop: Arc<Counting>,
    desk: Desk,
    port: String,
    pass: String,
    key: String,
}

fn house() -> &'static House {
    static HOUSE: OnceLock<House> = OnceLock::new();
    HOUSE.get_or_init(|| {
        let runtime = tokio::runtime::Builder::new_current_thread().enable_time().start_paused(true).build().expect("a runtime");
        let workshop = Arc::new(Counting::default());
        let desk = Desk::open(workshop.clone(), Setup::default()).expect("a desk");
        let address = desk.address();
        let (port, path) = address.trim_start_matches("http://127.0.0.1:").split_once('/').expect("an address");
        let house = House { runtime, workshop, desk, port: port.to_string(), pass: String::new(), key: String::new() };
        let get = |path: &str, pass: &str| {
            let request = format!("GET /{path} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nCookie: {pass}\r\n\r\n");
            String::from_utf8_lossy(&answers(&house, request.as_bytes())).into_owned()
        };
        let let_in = get(path, "");
        let pass = let_in.split("set-cookie: ").nth(1).and_then(|rest| rest.split(';').next()).expect("a cookie").to_string();
        let page = get("", &pass);
        let key = page.split("name=\"desk-key\" content=\"").nth(1).and_then(|rest| rest.split('"').next());
        let key = key.expect("the page holds the key").to_string();
        House { pass, key, ..house }
    })
}

/// Everything that comes back until the desk hangs up or says nothing for a minute.
fn answers(house: &House, request: &[u8]) -> Vec<u8> {
    house.runtime.block_on(async {
        let (mut near, far) = tokio::io::duplex(1 << 16);
        let service = TowerToHyperService::new(house.desk.router());
        let mut http = http1::Builder::new();
        http.timer(TokioTimer::new()).header_read_timeout(Duration::from_secs(10));
        let served = http.serve_connection(TokioIo::new(far), service);
        let asking = async {
            let mut came = Vec::new();
            // A desk that has hung up takes no more.
            let _ = tokio::time::timeout(Duration::from_secs(60), near.write_all(request)).await;
            let mut some = [0u8; 4096];
            let quiet = Duration::from_secs(14);
            while let Ok(Ok(count @ 1..)) = tokio::time::timeout(quiet, near.read(&mut some)).await {
                came.extend_from_slice(&some[..count]);
                if came.len() > MOST {
                    break;
                }
            }
            came
        };
        tokio::select! {
            biased;
            came = asking => came,
            _ = async { let _ = served.await; std::future::pending::<()>().await } => Vec::new(),
        }
    })
}

fn replaced(bytes: &[u8], mark: &[u8], by: &[u8]) -> Vec<u8> {
    let mut out = Vec::with_capacity(bytes.len());
    let mut rest = bytes;
    while let Some(at) = rest.windows(mark.len()).position(|window| window == mark) {
        out.extend_from_slice(&rest[..at]);
        out.extend_from_slice(by);
        rest = &rest[at + mark.len()..];
    }
    out.extend_from_slice(rest);
    out
}

fn holds(bytes: &[u8], part: &str) -> bool {
    bytes.windows(part.len()).any(|window| window == part.as_bytes())
}

/// The status of every answer. What an answer says may look like another answer's head, so each is passed over by its length.
fn statuses(mut came: &[u8]) -> Vec<u16> {
    let mut found = Vec::new();
    while came.starts_with(b"HTTP/1.") {
        let status = came.get(9..12).and_then(|digits| std::str::from_utf8(digits).ok()?.parse().ok());
        found.push(status.expect("a status of three digits"));
        let Some(end) = came.windows(4).position(|four| four == b"\r\n\r\n") else { break };
        let (head, rest) = came.split_at(end + 4);
        let head = String::from_utf8_lossy(head).to_lowercase();
        let length = head.split("content-length: ").nth(1).and_then(|rest| rest.split("\r\n").next()?.parse().ok());
        // The answer to HEAD tells a length and brings nothing.
        let length = if rest.starts_with(b"HTTP/1.") { 0 } else { length.unwrap_or(0) };
        came = rest.get(length..).unwrap_or_default();
    }
    found
}

fuzz_target!(|bytes: &[u8]| {
    let house = house();
    let request = replaced(&replaced(bytes, b"@PORT@", house.port.as_bytes()), b"@KEY@", house.key.as_bytes());
    let request = replaced(&request, b"@PASS@", house.pass.as_bytes());
    let before = house.workshop.acts.load(Ordering::SeqCst);
    let came = answers(house, &request);
    let acted = house.workshop.acts.load(Ordering::SeqCst) > before;
    assert!(!acted || holds(&request, &house.key), "something was done without the key");
    if !came.is_empty() {
        assert!(came.starts_with(b"HTTP/1."), "{:?}", String::from_utf8_lossy(&came[..came.len().min(80)]));
    }
    let statuses = statuses(&came);
    assert!(
        statuses.iter().all(|&status| status < 500 || status == 503),
        "the desk stumbled: {}",
        String::from_utf8_lossy(&came)
    );
    if !holds(&request, &format!(":{}", house.port)) || !holds(&request, &house.pass) {
        assert!(!statuses.contains(&200), "a stranger was answered");
    }
    // A refusal may repeat the host that was asked for, whatever stands in it.
    if holds(&came, &house.key) && !holds(&request, &house.key) {
        assert!(holds(&came, "name=\"desk-key\""), "the key stands outside of the page");
    }
});
