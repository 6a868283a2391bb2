//! The desk's server, spoken to without a browser: who is refused, in what words, and that it lives on. And, where a browser is
//! installed, the page itself (`tests/desk`).

pub mod browser;
mod hand;
mod run;
mod workshop;

use std::fs;
use std::io::{self, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::Ordering;
use std::time::{Duration, Instant};

use stripling::desk::{Desk, Editor, Setup};
use tempfile::TempDir;

use workshop::TestWorkshop;

/// A desk with a manual of its own, listening until the tests end.
pub struct Laid {
    pub folder: TempDir,
    pub workshop: Arc<TestWorkshop>,
    pub port: u16,
    /// What one browser comes in by.
    pub address: String,
    cookie: String,
    key: String,
}

/// A small manual, quickly set.
const SMALL: &str =
    "+++\ntitle = \"Heron\"\nlanguage = \"en\"\n+++\n\n# Heron\n\nFor {{ unit.serial }}.\n\n## In the box\n\nOne bird.\n";

fn laid(manual: &str, editor: Option<Editor>) -> Laid {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("heron.md"), manual).expect("written");
    fs::write(folder.path().join("units.csv"), "serial,plug\nA-1,UK\nA-2,EU\n").expect("written");
    lay(folder, editor)
}

pub fn lay(folder: TempDir, editor: Option<Editor>) -> Laid {
    let workshop = Arc::new(TestWorkshop::new(folder.path()));
    let mut desk = Desk::open(workshop.clone(), Setup { port: 0, editor, ..Setup::default() }).expect("a desk");
    let (address, path) = (desk.address(), desk.address());
    let (port, path) = path.trim_start_matches("http://127.0.0.1:").split_once('/').expect("an address");
    let (port, path): (u16, String) = (port.parse().expect("a port"), format!("/{path}"));
    // The second secret is for whoever comes after this.
    let (tell, told) = std::sync::mpsc::channel();
    desk.on_new_address(move |address| drop(tell.send(address.to_owned())));
    std::thread::spawn(move || desk.serve());
    let get = |path: &str, headers: &str| {
        ask(port, format!("GET {path} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nConnection: close\r\n{headers}\r\n"))
    };
    let let_in = get(&path, "");
    assert_status(&let_in, 303, "HttpOnly; SameSite=Strict");
    let cookie = let_in.split("set-cookie: ").nth(1).and_then(|rest| rest.split(';').next()).expect("a cookie");
    let cookie = format!("Cookie: {cookie}\r\n");
    let page = get("/", &cookie);
    let key =
        page.split("name=\"desk-key\" content=\"").nth(1).and_then(|rest| rest.split('"').next()).expect("a key").to_string();
    let next = told.recv_timeout(Duration::from_secs(60)).expect("the next address");
    assert_ne!(next, address);
    Laid { folder, workshop, port, address: next, cookie, key }
}

/// Sends bytes, reads until the other side closes or is silent for two seconds.
fn ask(port: u16, request: impl AsRef<[u8]>) -> String {
    let mut stream = TcpStream::connect(("127.0.0.1", port)).expect("connected");
    let _ = stream.write_all(request.as_ref());
    read(&mut stream)
}

fn read(stream: &mut TcpStream) -> String {
    stream.set_read_timeout(Some(Duration::from_secs(2))).expect("a time-out");
    let (mut bytes, mut some) = (Vec::new(), [0u8; 4096]);
    while let Ok(count @ 1..) = stream.read(&mut some) {
        bytes.extend_from_slice(&some[..count]);
    }
    String::from_utf8_lossy(&bytes).into_owned()
}

impl Laid {
    fn get(&self, path: &str, headers: &str) -> String {
        let (port, cookie) = (self.port, &self.cookie);
        ask(port, format!("GET {path} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nConnection: close\r\n{cookie}{headers}\r\n"))
    }

    fn post(&self, path: &str, body: &str) -> String {
        let (port, key, cookie, length) = (self.port, &self.key, &self.cookie, body.len());
        ask(
            port,
            format!(
                "POST {path} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nConnection: close\r\n{cookie}X-Desk-Key: {key}\r\n\
                 Content-Type: application/json\r\nContent-Length: {length}\r\n\r\n{body}"
            ),
        )
    }

    /// Reads the stream until `wanted` has been seen, at most for a minute.
    fn stream(&self, query: &str) -> Stream {
        let mut stream = TcpStream::connect(("127.0.0.1", self.port)).expect("connected");
        let (port, cookie) = (self.port, &self.cookie);
        write!(stream, "GET /live?{query} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\n{cookie}\r\n").expect("sent");
        stream.set_read_timeout(Some(Duration::from_millis(200))).expect("a time-out");
        Stream { stream, seen: String::new() }
    }

    fn assert_lives(&self) {
        assert_status(&self.get("/", ""), 200, "<title>");
    }
}

struct Stream {
    stream: TcpStream,
    seen: String,
}

impl Stream {
    /// What came since the last call, up to and with the first event that holds `wanted`.
    fn until(&mut self, wanted: &str) -> String {
        let began = Instant::now();
        let mut some = [0u8; 65536];
        loop {
            let end = self.seen.find(wanted).and_then(|at| Some(at + self.seen[at..].find("\n\n")?));
            if let Some(end) = end {
                return self.seen.drain(..end + 2).collect();
            }
            assert!(began.elapsed() < Duration::from_secs(60), "{wanted:?} never came, but {:.300}", self.seen);
            match self.stream.read(&mut some) {
                Ok(0) => panic!("the stream ended before {wanted:?}: {:.300}", self.seen),
                Ok(count) => self.seen.push_str(&String::from_utf8_lossy(&some[..count])),
                Err(error) => assert!(matches!(error.kind(), io::ErrorKind::WouldBlock | io::ErrorKind::TimedOut), "{error}"),
            }
        }
    }
}

#[track_caller]
fn assert_status(answer: &str, status: u16, words: &str) {
    assert!(answer.starts_with(&format!("HTTP/1.1 {status} ")), "not {status}: {answer:.400}");
    assert!(answer.contains(words), "no {words:?} in {answer:.600}");
}

/// A wish that was understood and is not granted.
#[track_caller]
fn assert_refused(answer: &str, words: &str) {
    assert_status(answer, 200, "{\"refused\":{");
    assert!(answer.contains(words), "no {words:?} in {answer:.600}");
}

#[test]
fn strangers_are_refused_in_words_and_the_server_lives() {
    let desk = laid(SMALL, None);
    let foreign = format!("GET / HTTP/1.1\r\nHost: desk.example:{}\r\nConnection: close\r\n\r\n", desk.port);
    assert_status(&ask(desk.port, foreign), 421, "desk.example");
    assert_status(&ask(desk.port, "GET / HTTP/1.0\r\n\r\n").replace("HTTP/1.0", "HTTP/1.1"), 421, "must name one host");
    assert_status(&desk.get("/live", "Origin: http://page.example\r\n"), 403, "page.example");
    assert_status(&desk.get("/live", "Sec-Fetch-Site: cross-site\r\n"), 403, "another site");
    assert_status(
        &ask(desk.port, format!("DELETE / HTTP/1.1\r\nHost: 127.0.0.1:{}\r\nConnection: close\r\n\r\n", desk.port)),
        405,
        "GET, HEAD and POST",
    );
    assert_status(&desk.get("/open", ""), 405, "not asked that way");
    let keyless = format!(
        "POST /open HTTP/1.1\r\nHost: 127.0.0.1:{}\r\nConnection: close\r\n{}Content-Type: application/json\r\nContent-Length: 2\r\n\r\n{{}}",
        desk.port, desk.cookie
    );
    assert_status(&ask(desk.port, keyless), 403, "key is missing");
    desk.assert_lives();
}

#[test]
fn only_the_browser_that_was_let_in_is_answered_and_a_secret_is_good_for_one() {
    let desk = laid(SMALL, None);
    let stranger =
        |path: &str| ask(desk.port, format!("GET {path} HTTP/1.1\r\nHost: 127.0.0.1:{}\r\nConnection: close\r\n\r\n", desk.port));
    for path in ["/", "/live", "/desk.css", "/nothing", "/?enter", "/?unit=A-1"] {
        let refused = stranger(path);
        assert_status(&refused, 403, "the person who started it");
        assert!(!refused.contains("desk-key") && !refused.contains("cookie"), "{refused}");
    }
    assert_status(&stranger("/?enter=0123456789abcdef0123456789abcdef"), 403, "was used already");
    let path = desk.address.split_once(&format!(":{}", desk.port)).expect("its port").1;
    assert_status(&stranger(path), 303, "set-cookie: desk-");
    assert_status(&stranger(path), 403, "was used already");
    // Going back in the browser that has been let in is no trouble.
    assert_status(&desk.get(path, ""), 303, "location: /");
}

#[test]
fn no_path_leads_to_a_file_of_the_disk() {
    let desk = laid(SMALL, None);
    for path in [
        "/heron.md",
        "/units.csv",
        "/../heron.md",
        "/page/../../../etc/passwd",
        "/%2e%2e/%2e%2e/etc/passwd",
        "/..%2f..%2fetc/passwd",
        "//etc/passwd",
        "/desk.css/../../heron.md",
        "/src/desk/page/desk.html",
        "/desk.css%00.md",
        "/.git/config",
    ] {
        let answer = desk.get(path, "");
        assert!(answer.starts_with("HTTP/1.1 404 ") && answer.contains("never a file by its path"), "{path}: {answer:.300}");
        assert!(!answer.contains("root:") && !answer.contains("serial"), "{path}");
    }
    // The lasting copy brings its own style, and is let have it; nothing else may be in it.
    let answer = desk.get("/copy.html", "");
    assert_status(&answer, 200, "<!DOCTYPE html><!--copy-->");
    assert!(
        answer.contains("style-src 'unsafe-inline'") && answer.contains("default-src 'none'") && !answer.contains("script-src"),
        "{answer}"
    );
    // Saved, it has the manual's name (RFC 6266, RFC 8187).
    assert!(answer.contains("content-disposition: inline; filename*=UTF-8''h%C3%A9risson%2Ehtml"), "{answer}");
    let answer = desk.get("/copy.pdf", "");
    assert_status(&answer, 200, "%PDF-1.7 of nothing");
    assert!(answer.contains("content-type: application/pdf") && answer.contains("h%C3%A9risson%2Epdf"), "{answer}");
    for copy in ["/copy.html", "/copy.pdf"] {
        assert_status(&desk.get(copy, "Sec-Fetch-Site: cross-site\r\n"), 403, "another site");
    }
    // It is offered where the program can make it, and where it cannot, how to get one that can is said.
    let front = desk.get("/", "");
    assert!(front.contains("href=\"/copy.html\" download"), "{front:.3000}");
    assert_eq!(front.contains("href=\"/copy.pdf\""), cfg!(feature = "pdf"));
    assert_eq!(front.contains("--features pdf"), cfg!(not(feature = "pdf")));
    let answer = desk.get("/desk.css", "");
    assert_status(&answer, 200, "content-security-policy: default-src 'none'");
    assert!(answer.contains("text/css") && answer.contains("nosniff"));
    desk.assert_lives();
}

#[test]
fn what_is_too_large_or_no_request_is_refused_and_the_server_lives() {
    let desk = laid(SMALL, None);
    assert_status(&desk.post("/open", &format!("{{\"file\":\"{}\"}}", "x".repeat(200_000))), 413, "at most 16384 bytes");
    let (port, key, cookie) = (desk.port, &desk.key, &desk.cookie);
    let head = format!(
        "POST /open HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nConnection: close\r\n{cookie}X-Desk-Key: {key}\r\nContent-Type: application/json\r\n\
         Transfer-Encoding: chunked\r\n\r\n"
    );
    let chunk = format!("1000\r\n{}\r\n", "y".repeat(0x1000));
    assert_status(&ask(port, format!("{head}{}0\r\n\r\n", chunk.repeat(16))), 413, "at most 16384 bytes");
    assert_status(&desk.get(&format!("/{}", "a".repeat(5000)), ""), 414, "at most 2048 bytes");
    assert!(desk.get("/", &format!("X-Long: {}\r\n", "b".repeat(40_000))).starts_with("HTTP/1.1 431 "));
    assert_status(&desk.post("/open", "{\"file\":"), 400, "cannot be read");
    assert_status(&desk.post("/open", "{\"file\":\"heron.md\",\"line\":-4}"), 400, "cannot be read");
    assert_status(&desk.get("/live?colour=red", ""), 400, "by unit and printer");
    assert_status(&desk.get("/live?unit=%ff", ""), 400, "not UTF-8");
    for rubbish in [&b"\0\0\0\0\r\n\r\n"[..], b"\x16\x03\x01\x02\x00\x01\x00", b"GET\r\n\r\n", b"POST / HTTP/9.9\r\n\r\n"] {
        ask(desk.port, rubbish);
    }
    desk.assert_lives();
}

#[test]
fn two_hundred_idle_connections_keep_nobody_out() {
    let desk = laid(SMALL, None);
    let idle: Vec<TcpStream> = (0..200).map(|_| TcpStream::connect(("127.0.0.1", desk.port)).expect("connected")).collect();
    let mut page = desk.stream("");
    page.until("event: strip");
    desk.assert_lives();
    drop(idle);

    // More than there is room for: those that were silent longest are told so and make room; the page that is read stays.
    let mut idle: Vec<TcpStream> = (0..450).map(|_| TcpStream::connect(("127.0.0.1", desk.port)).expect("connected")).collect();
    let dismissed = read(&mut idle[0]);
    assert_status(&dismissed, 503, "more connections than it can keep");
    desk.assert_lives();
    fs::write(desk.folder.path().join("heron.md"), SMALL.replace("One bird", "Two birds")).expect("written");
    page.until("Two birds");
}

#[test]
fn only_so_many_pages_and_views_are_kept() {
    let desk = laid(SMALL, None);
    let mut views: Vec<Stream> = (0..16).map(|number| desk.stream(&format!("unit=B-{number}"))).collect();
    views.iter_mut().for_each(|view| drop(view.until("event: trouble")));
    assert_status(&desk.get("/live?unit=B-16", ""), 503, "different strips");
    let mut pages: Vec<Stream> = (0..16).map(|_| desk.stream("unit=B-1")).collect();
    pages.iter_mut().for_each(|page| drop(page.until("event: trouble")));
    assert_status(&desk.get("/live?unit=B-1", ""), 503, "32 pages");
    drop((views, pages));
    desk.assert_lives();
    // Their places are given back as soon as they are found to be gone.
    let began = Instant::now();
    while desk.get("/live?unit=B-1", "").starts_with("HTTP/1.1 503 ") {
        assert!(began.elapsed() < Duration::from_secs(30), "the places of closed pages are never given back");
        fs::write(desk.folder.path().join("heron.md"), SMALL).expect("written");
        std::thread::sleep(Duration::from_millis(100));
    }
}

#[test]
fn a_save_sends_the_new_rows_and_an_error_keeps_the_last_good_strip() {
    let desk = laid(SMALL, None);
    let manual = desk.folder.path().join("heron.md");
    let mut page = desk.stream("unit=A-2");
    let first = page.until("event: boxes");
    assert!(first.contains("event: hello") && first.contains("event: strip") && first.contains("event: facts"), "{first:.300}");
    assert!(first.contains("\"unit\":\"A-2\""));
    let whole = first.len();

    fs::write(&manual, SMALL.replace("One bird", "Two birds")).expect("written");
    let change = page.until("Two birds");
    assert!(change.contains("event: strip") && change.len() < whole, "{} bytes after {whole}", change.len());
    assert!(!change.contains("event: facts"), "what did not change is not sent again: {change:.300}");

    fs::write(&manual, SMALL.replace("{{ unit.serial", "{{ unit.colour")).expect("written");
    let trouble = page.until("event: trouble");
    assert!(trouble.contains("colour") && trouble.contains("\"line\":8"), "{trouble:.400}");
    assert!(!trouble.contains("event: strip"));

    fs::write(&manual, SMALL.replace("One bird", "Two birds")).expect("written");
    assert!(page.until("event: trouble").contains("data: null"));
}

#[test]
fn a_save_in_two_halves_shows_no_trouble() {
    let desk = laid(SMALL, None);
    let manual = desk.folder.path().join("heron.md");
    let mut page = desk.stream("");
    page.until("event: boxes");
    let before = desk.workshop.proofs.load(Ordering::SeqCst);
    for number in 0..10 {
        let mut file = fs::File::create(&manual).expect("made");
        file.write_all(b"+++\ntitle = \"Her").expect("written");
        file.flush().expect("flushed");
        let half = Instant::now();
        std::thread::sleep(Duration::from_millis(40));
        file.write_all(format!("on\"\n+++\n\n# Heron\n\nSave {number}.\n").as_bytes()).expect("written");
        drop(file);
        // On a machine that has too much to do the pause may grow longer than any wait for quiet.
        let apart = half.elapsed();
        let told = page.until(&format!("Save {number}."));
        assert!(!told.contains("event: trouble") || apart > Duration::from_millis(100), "{apart:?} apart: {told:.400}");
    }
    // At most one for each half of each save.
    let made = desk.workshop.proofs.load(Ordering::SeqCst) - before;
    assert!((10..=20).contains(&made), "{made} proofs of ten saves");
}

#[test]
fn only_a_file_that_is_on_the_desk_is_opened() {
    let note = tempfile::NamedTempFile::new().expect("a file");
    let command = format!("sh -c 'printf \"%s %s\" \"$1\" \"$2\" > {}' pen {{file}} {{line}}", note.path().display());
    let desk = laid(SMALL, Some(Editor::read(&command).expect("a command")));
    let mut page = desk.stream("");
    page.until("event: boxes");
    for file in ["/etc/passwd", "../heron.md", "units.csv", "heron.md/../heron.md", ""] {
        assert_status(&desk.post("/open", &format!("{{\"file\":\"{file}\",\"line\":1}}")), 404, "part of the manual");
    }
    assert_status(&desk.post("/open", "{\"file\":\"heron.md\",\"line\":7}"), 200, "{}");
    let wanted = format!("{} 7", desk.folder.path().join("heron.md").display());
    let began = Instant::now();
    while fs::read_to_string(note.path()).expect("read") != wanted {
        assert!(began.elapsed() < Duration::from_secs(5), "the editor was never started");
        std::thread::sleep(Duration::from_millis(10));
    }
    let mute = laid(SMALL, None);
    mute.stream("").until("event: boxes");
    assert_refused(&mute.post("/open", "{\"file\":\"heron.md\",\"line\":7}"), "No editor");
}

#[test]
fn printing_takes_a_yes_to_the_plan_that_was_shown() {
    let desk = laid(SMALL, None);
    let mut page = desk.stream("");
    page.until("event: boxes");
    let plan = |units: &str, copies: u32| {
        desk.post(
            "/print/plan",
            &format!("{{\"view\":{{\"unit\":\"A-1\",\"printer\":null}},\"units\":\"{units}\",\"copies\":{copies}}}"),
        )
    };
    let ticket =
        |plan: &str| plan.split("\"ticket\":\"").nth(1).and_then(|rest| rest.split('"').next()).expect("a ticket").to_string();
    let shown = plan("all", 2);
    assert_status(&shown, 200, "\"units\":[\"A-1\",\"A-2\"]");
    assert!(shown.contains("\"strips\":4"));
    assert_refused(&plan("all", 0), "from 1 to 999");
    assert_status(&plan("some", 1), 400, "cannot be read");

    assert_refused(&desk.post("/print/start", "{\"ticket\":\"00\"}"), "no longer on the desk");
    // The manual changes between the plan and the yes.
    fs::write(desk.folder.path().join("heron.md"), format!("{SMALL}\nMore.\n")).expect("written");
    assert_refused(&desk.post("/print/start", &format!("{{\"ticket\":\"{}\"}}", ticket(&shown))), "has changed");

    let ticket = ticket(&plan("all", 2));
    assert_status(&desk.post("/print/start", &format!("{{\"ticket\":\"{ticket}\"}}")), 200, "{}");
    assert_refused(&desk.post("/print/start", &format!("{{\"ticket\":\"{ticket}\"}}")), "on its way");
    page.until("\"state\":\"sending\"");
    page.until("All 4 strips are printed.");
    assert_refused(&desk.post("/print/start", &format!("{{\"ticket\":\"{ticket}\"}}")), "no longer on the desk");
    assert_refused(&desk.post("/print/stop", "{}"), "No run");
}

/// Whoever reads this folder can use the scripts against another desk.
fn scripts() -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/desk")
}
