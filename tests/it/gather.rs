//! `gather` against a server on loopback that does all the bad things servers do; and what the lock file makes of it afterwards.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::net::{IpAddr, TcpListener, TcpStream};
use std::process::{Command, Output, Stdio};
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::{Duration, Instant};

use serde_json::Value;
use stripling::commands::gather::{Picture, State, bring};
use stripling::manual::Folder;
use stripling::send::Stop;
use stripling::web::Limits;

use crate::manuals::Written;
use crate::untrusted::Untrusted;

const DRAWING: &str = "<svg xmlns='http://www.w3.org/2000/svg' width='9' height='9'><rect width='5' height='9'/></svg>";
const OTHER: &str = "<svg xmlns='http://www.w3.org/2000/svg' width='9' height='9'><rect width='9' height='5'/></svg>";

/// A server on 127.0.0.1 that answers by the path, and counts.
pub struct Server {
    port: u16,
    asked: Arc<Mutex<BTreeMap<String, usize>>>,
}

impl Server {
    pub fn start() -> Server {
        let listener = TcpListener::bind("127.0.0.1:0").expect("a port");
        let port = listener.local_addr().expect("an address").port();
        let asked: Arc<Mutex<BTreeMap<String, usize>>> = Arc::default();
        let counted = asked.clone();
        thread::spawn(move || {
            for stream in listener.incoming().flatten() {
                let counted = counted.clone();
                thread::spawn(move || drop(answer(stream, &counted, port)));
            }
        });
        Server { port, asked }
    }

    pub fn at(&self, path: &str) -> String {
        format!("http://127.0.0.1:{}{path}", self.port)
    }

    pub fn asked(&self, path: &str) -> usize {
        self.asked.lock().expect("counts").get(path).copied().unwrap_or(0)
    }
}

fn answer(mut stream: TcpStream, counted: &Mutex<BTreeMap<String, usize>>, port: u16) -> std::io::Result<()> {
    let mut reader = BufReader::new(stream.try_clone()?);
    loop {
        let mut line = String::new();
        if reader.read_line(&mut line)? == 0 {
            return Ok(());
        }
        let path = line.split(' ').nth(1).unwrap_or_default().to_string();
        while line.trim_end() != "" {
            line.clear();
            if reader.read_line(&mut line)? == 0 {
                return Ok(());
            }
        }
        let times = {
            let mut counted = counted.lock().expect("counts");
            let times = counted.entry(path.clone()).or_default();
            *times += 1;
            *times
        };
        let whole = |status: &str, more: &str, body: &[u8]| {
            [format!("HTTP/1.1 {status}\r\n{more}Content-Length: {}\r\n\r\n", body.len()).into_bytes(), body.to_vec()].concat()
        };
        let sent_on = |to: &str| whole("302 Found", &format!("Location: {to}\r\n"), b"");
        let bytes = match path.as_str() {
            "/never.png" => {
                thread::sleep(Duration::from_secs(20));
                return Ok(());
            }
            "/huge.png" => b"HTTP/1.1 200 OK\r\nContent-Length: 10000000000\r\n\r\n".to_vec(),
            "/endless.png" => {
                stream.write_all(b"HTTP/1.1 200 OK\r\nConnection: close\r\n\r\n")?;
                // 64 MiB at most: whoever reads must have had enough long before.
                for _ in 0..1024 {
                    stream.write_all(&[7; 65536])?;
                }
                return Ok(());
            }
            "/half.png" => {
                stream.write_all(b"HTTP/1.1 200 OK\r\nContent-Length: 5000\r\n\r\n<svg")?;
                return Ok(());
            }
            "/loop.png" => sent_on("/loop.png"),
            "/private.png" => sent_on(&format!("http://127.0.0.2:{port}/a.svg")),
            "/file.png" => sent_on("file:///etc/passwd"),
            "/moved.svg" => sent_on("/a.svg"),
            "/gone.png" => whole("404 Not Found", "", b"<html>"),
            "/page.png" => whole("200 OK", "Content-Type: image/png\r\n", b"<!DOCTYPE html><html><body>Sign in</body></html>"),
            "/text.png" => whole("200 OK", "", b"no picture"),
            "/bomb.png" => {
                let head = [0, 0, 0xEA, 0x60, 0, 0, 0xEA, 0x60, 1, 0, 0, 0, 0];
                whole("200 OK", "", &[&b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR"[..], &head, &[0x5D, 0x4E, 0x79, 0x25]].concat())
            }
            "/later.svg" if times < 3 => whole("429 Too Many Requests", "Retry-After: 0\r\n", b""),
            "/date.svg" if times < 2 => whole("503 Service Unavailable", "Retry-After: Fri, 20 Nov 2026 08:00:00 GMT\r\n", b""),
            "/never-now.svg" => whole("503 Service Unavailable", "Retry-After: 0\r\n", b""),
            "/wait.svg" => whole("429 Too Many Requests", "Retry-After: 3600\r\n", b""),
            "/changing.svg" if times > 1 => whole("200 OK", "", OTHER.as_bytes()),
            "/reed/heron/blob/main/a.svg" => whole("200 OK", "", b"<!DOCTYPE html><html>a page about it</html>"),
            _ => whole("200 OK", "Content-Type: text/plain\r\n", DRAWING.as_bytes()),
        };
        stream.write_all(&bytes)?;
    }
}

/// Small and quick; 127.0.0.2 plays the private machine, 127.0.0.1 the public one.
fn limits() -> Limits {
    Limits {
        each: 1 << 20,
        silence: Duration::from_millis(700),
        whole: Duration::from_secs(5),
        tries: 3,
        pause: Duration::from_millis(50),
        private: |ip: IpAddr| ip.to_string() == "127.0.0.2",
        ..Limits::default()
    }
}

fn gather(written: &Written, addresses: &[String], check: bool) -> Vec<Picture> {
    let folder = Folder::open(written.folder.path()).expect("a folder");
    let wanted: BTreeSet<String> = addresses.iter().cloned().collect();
    bring(&folder, &wanted, limits(), check, &Stop::new(), &mut |_, _| {}).expect("gathered")
}

fn program(written: &Written, arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_stripling"));
    command.args(arguments).current_dir(written.folder.path()).env("NO_COLOR", "1").stdin(Stdio::null());
    command.output().expect("the program runs")
}

#[test]
fn every_bad_server_is_named_with_its_reason_and_the_good_pictures_come() {
    let server = Server::start();
    let expected: &[(&str, State, &str)] = &[
        ("/a.svg", State::New, ""),
        ("/b.svg", State::New, ""),
        ("/moved.svg", State::New, ""),
        ("/later.svg", State::New, ""),
        ("/date.svg", State::New, ""),
        ("/reed/heron/blob/main/a.svg", State::New, ""),
        ("/never.png", State::Refused, "kept silent"),
        ("/huge.png", State::Refused, "larger than the 1 MiB"),
        ("/endless.png", State::Refused, "larger than the 1 MiB"),
        ("/half.png", State::Refused, "stopped in the middle"),
        ("/loop.png", State::Refused, "sent on more than 5 times"),
        ("/private.png", State::Refused, "sent on to 127.0.0.2"),
        ("/file.png", State::Refused, "no web address"),
        ("/gone.png", State::Gone, "404 Not Found"),
        ("/page.png", State::Refused, "a page came instead of a picture"),
        ("/text.png", State::Refused, "no picture of a known kind"),
        ("/bomb.png", State::Refused, "cannot be used"),
        ("/never-now.svg", State::Refused, "\"later\" 3 times"),
        ("/wait.svg", State::Refused, "3600 s, which is too long"),
    ];
    let written = Written::new("# A\n");
    let mut addresses: Vec<String> = expected.iter().map(|(path, ..)| server.at(path)).collect();
    // A port that nobody listens on, and what is no address at all.
    let closed = TcpListener::bind("127.0.0.1:0").expect("a port").local_addr().expect("an address").port();
    addresses.extend([
        format!("http://127.0.0.1:{closed}/x.png"),
        "http://127.0.0.1/\u{7}.png".into(),
        "http://a b/c.png".into(),
    ]);
    let begun = Instant::now();
    let pictures = gather(&written, &addresses, false);
    assert!(begun.elapsed() < Duration::from_secs(60), "{:?}", begun.elapsed());
    assert_eq!(pictures.len(), addresses.len());
    for (path, state, says) in expected {
        let picture = pictures.iter().find(|picture| picture.address == server.at(path)).expect(path);
        let message = picture.message.as_deref().unwrap_or("");
        assert_eq!(picture.state, *state, "{path}: {message}");
        assert!(message.contains(says) && !message.contains('\n'), "{path}: {message:?}");
    }
    for address in &addresses[expected.len()..] {
        let picture = pictures.iter().find(|picture| picture.address == *address).expect("named");
        assert_eq!(picture.state, State::Refused, "{address:?}");
    }
    assert_eq!((server.asked("/later.svg"), server.asked("/date.svg"), server.asked("/never-now.svg")), (3, 2, 3));
    assert_eq!(server.asked("/reed/heron/blob/main/a.svg"), 0, "the page was asked for");
    assert_eq!(server.asked("/reed/heron/raw/main/a.svg"), 1);
    // All that came has the same content: one file. The lock names each address, in order, without a date.
    let names: Vec<_> = fs::read_dir(written.path("gathered")).expect("a folder").flatten().map(|e| e.file_name()).collect();
    assert_eq!(names.len(), 1, "{names:?}");
    let lock = fs::read_to_string(written.path("gathered.toml")).expect("a lock");
    assert_eq!((lock.matches("[[picture]]").count(), lock.matches("kind = \"svg\"").count()), (6, 6), "{lock}");
    assert!(!lock.contains("2026"), "{lock}");
}

#[test]
fn twice_is_nothing_new_and_another_machine_makes_the_same_strip() {
    let server = Server::start();
    let text = format!("# A\n\n![a]({})\n\n![b]({})\n", server.at("/a.svg"), server.at("/changing.svg"));
    let written = Written::new(&text);
    let before = program(&written, &["proof", "manual.md", "-o", "s.png"]);
    let told = String::from_utf8_lossy(&before.stderr).into_owned();
    assert!(before.status.success() && told.contains("gathered") && told.contains("stripling gather"), "{told}");
    assert_eq!(program(&written, &["encode", "manual.md", "-o", "s.bin"]).status.code(), Some(3));

    let first = program(&written, &["gather", "manual.md", "--json"]);
    let json: Value = serde_json::from_slice(&first.stdout).expect("one object");
    assert_eq!(first.status.code(), Some(0), "{}", String::from_utf8_lossy(&first.stderr));
    assert!(json["pictures"].as_array().is_some_and(|all| all.len() == 2 && all.iter().all(|one| one["state"] == "new")));
    let again = program(&written, &["gather", "manual.md"]);
    assert!(again.status.success() && String::from_utf8_lossy(&again.stderr).contains("nothing new: 2 pictures here already"));
    assert_eq!((server.asked("/a.svg"), server.asked("/changing.svg")), (1, 1), "asked again");

    assert!(program(&written, &["encode", "manual.md", "-o", "s.bin"]).status.success());
    let elsewhere = Written::new(&text);
    fs::create_dir(elsewhere.path("gathered")).expect("made");
    for entry in fs::read_dir(written.path("gathered")).expect("a folder").flatten() {
        fs::copy(entry.path(), elsewhere.path("gathered").join(entry.file_name())).expect("copied");
    }
    fs::copy(written.path("gathered.toml"), elsewhere.path("gathered.toml")).expect("copied");
    assert!(program(&elsewhere, &["encode", "manual.md", "-o", "s.bin"]).status.success());
    assert_eq!(fs::read(written.path("s.bin")).expect("bytes"), fs::read(elsewhere.path("s.bin")).expect("bytes"));

    // The server gives something else by now: said, and nothing is changed.
    let lock = fs::read(written.path("gathered.toml")).expect("a lock");
    let check = program(&written, &["gather", "manual.md", "--check"]);
    assert_eq!(check.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&check.stderr).contains("/changing.svg: changed"));
    assert_eq!(fs::read(written.path("gathered.toml")).expect("a lock"), lock);

    // A gathered file that was edited is no longer what was gathered, and comes anew.
    let entry = fs::read_dir(written.path("gathered")).expect("a folder").flatten().next().expect("a file");
    fs::write(entry.path(), OTHER.replace('5', "7")).expect("written");
    let edited = program(&written, &["encode", "manual.md", "-o", "s.bin"]);
    assert!(edited.status.code() == Some(3) && String::from_utf8_lossy(&edited.stderr).contains("is not what was gathered"));
    assert!(program(&written, &["gather", "manual.md"]).status.success());
    assert!(program(&written, &["encode", "manual.md", "-o", "s.bin"]).status.success());
}

#[test]
fn what_did_not_come_is_named_and_what_came_stays() {
    let server = Server::start();
    let (good, gone) = (server.at("/a.svg"), server.at("/gone.png"));
    let written = Written::new(format!("# A\n\n![a]({good})\n\n![b]({gone})\n"));
    let told = program(&written, &["gather", "manual.md"]);
    let words = String::from_utf8_lossy(&told.stderr).into_owned();
    assert_eq!(told.status.code(), Some(4), "{words}");
    assert!(words.contains("1 of 2 pictures did not come") && words.contains("404 Not Found"), "{words}");
    let lock = fs::read_to_string(written.path("gathered.toml")).expect("a lock");
    assert!(lock.contains(&good) && !lock.contains(&gone), "{lock}");
    // A frame for the one, the other as it is.
    let proof = program(&written, &["proof", "manual.md", "-o", "s.png", "--map", "map.json"]);
    assert!(proof.status.success());
    assert_eq!(fs::read_to_string(written.path("map.json")).expect("a map").matches("\"frame\"").count(), 1);
}

#[test]
fn a_lock_file_that_is_no_lock_stops_gather_and_frames_the_proof() {
    let text = "# A\n\n![a](http://127.0.0.1:9/a.png)\n";
    for (lock, says) in [
        ("version = 9\n", "of version 9"),
        (
            "version = 1\n[[picture]]\naddress = \"http://127.0.0.1:9/a.png\"\nfile = \"../../etc/passwd\"\nsha256 = \"\"\nkind = \"\"\n",
            "`file`",
        ),
        ("nonsense", "line 1"),
    ] {
        let written = Written::new(text).with("gathered.toml", lock);
        let told = program(&written, &["gather", "manual.md"]);
        let words = String::from_utf8_lossy(&told.stderr).into_owned();
        assert!(told.status.code() == Some(3) && words.contains(says), "{words}");
        let proof = program(&written, &["proof", "manual.md", "-o", "s.png"]);
        assert!(proof.status.success() && String::from_utf8_lossy(&proof.stderr).contains("gathered.toml cannot be read"));
        assert_eq!(fs::read_to_string(written.path("gathered.toml")).expect("there"), lock);
    }
}

#[test]
fn all_pictures_together_have_a_limit() {
    let server = Server::start();
    let written = Written::new("# A\n");
    let folder = Folder::open(written.folder.path()).expect("a folder");
    let wanted: BTreeSet<String> = [server.at("/a.svg"), server.at("/b.svg")].into();
    let limits = Limits { all: DRAWING.len() as u64 * 3 / 2, ..limits() };
    let pictures = bring(&folder, &wanted, limits, false, &Stop::new(), &mut |_, _| {}).expect("gathered");
    let count = |state: State| pictures.iter().filter(|picture| picture.state == state).count();
    assert_eq!((count(State::New), count(State::Refused)), (1, 1), "{pictures:?}");
    assert!(
        pictures.iter().any(|picture| picture.message.as_deref().is_some_and(|words| words.contains("all pictures together")))
    );
}

#[test]
#[cfg(unix)]
fn a_link_in_place_of_the_folder_is_not_followed() {
    let server = Server::start();
    let (written, outside) = (Written::new("# A\n"), tempfile::tempdir().expect("a folder"));
    std::os::unix::fs::symlink(outside.path(), written.path("gathered")).expect("a link");
    let folder = Folder::open(written.folder.path()).expect("a folder");
    let brought = bring(&folder, &[server.at("/a.svg")].into(), limits(), false, &Stop::new(), &mut |_, _| {});
    assert!(brought.is_err_and(|error| error.to_string().contains("leads elsewhere")));
    assert_eq!(fs::read_dir(outside.path()).expect("a folder").count(), 0);
    assert!(!written.path("gathered.toml").exists());
}

#[test]
fn one_who_stops_keeps_what_came() {
    let server = Server::start();
    let written = Written::new("# A\n");
    let folder = Folder::open(written.folder.path()).expect("a folder");
    let wanted: BTreeSet<String> = [server.at("/a.svg"), server.at("/never.png")].into();
    let (stop, slow) = (Stop::new(), Limits { silence: Duration::from_secs(15), ..limits() });
    let asked = stop.clone();
    let begun = Instant::now();
    let pictures = bring(&folder, &wanted, slow, false, &stop, &mut |_, _| {
        asked.ask();
    })
    .expect("gathered");
    assert!(begun.elapsed() < Duration::from_secs(10), "a silent server was waited for");
    let states: Vec<State> = pictures.iter().map(|picture| picture.state).collect();
    assert_eq!(states, [State::New, State::Refused]);
    assert!(fs::read_to_string(written.path("gathered.toml")).expect("a lock").contains("/a.svg"));
}

#[test]
#[ignore = "openssl"]
fn a_certificate_of_nobody_is_not_trusted() {
    let written = Written::new("# A\n");
    let server = Untrusted::serving(written.folder.path());
    let pictures = gather(&written, &[format!("https://localhost:{}/a.png", server.port)], false);
    let message = pictures[0].message.clone().unwrap_or_default();
    assert!(pictures[0].state == State::Refused && message.contains("certificate cannot be trusted"), "{message}");
}
