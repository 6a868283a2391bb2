//! `preflight --online` against a server on loopback: the page that `durable_copy` leads to is the manual's, or is said not to be.

use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::net::{TcpListener, TcpStream};
use std::process::{Command, Output, Stdio};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex};
use std::thread;

use serde_json::Value;

use crate::untrusted::Untrusted;

/// A server on 127.0.0.1 that gives out one page, if it has one, and counts how often it is asked.
struct Server {
    port: u16,
    page: Arc<Mutex<Option<Vec<u8>>>>,
    asked: Arc<AtomicUsize>,
}

impl Server {
    fn start() -> Server {
        let listener = TcpListener::bind("127.0.0.1:0").expect("a port");
        let port = listener.local_addr().expect("an address").port();
        let (page, asked) = (Arc::<Mutex<Option<Vec<u8>>>>::default(), Arc::<AtomicUsize>::default());
        let (given, counted) = (page.clone(), asked.clone());
        thread::spawn(move || {
            for stream in listener.incoming().flatten() {
                counted.fetch_add(1, Ordering::SeqCst);
                drop(answer(stream, given.lock().expect("a page").as_deref()));
            }
        });
        Server { port, page, asked }
    }

    fn gives(&self, page: Option<Vec<u8>>) {
        *self.page.lock().expect("a page") = page;
    }
}

fn answer(mut stream: TcpStream, page: Option<&[u8]>) -> std::io::Result<()> {
    let mut reader = BufReader::new(stream.try_clone()?);
    let mut line = String::new();
    while reader.read_line(&mut line)? > 0 && line.trim_end() != "" {
        line.clear();
    }
    let (status, body) = page.map_or(("404 Not Found", &b"<p>gone"[..]), |page| ("200 OK", page));
    stream.write_all(format!("HTTP/1.1 {status}\r\nConnection: close\r\nContent-Length: {}\r\n\r\n", body.len()).as_bytes())?;
    stream.write_all(body)
}

fn manual(address: &str, revision: &str) -> String {
    format!(
        "+++\ntitle = \"Heron\"\ndocument = \"HRN-QS\"\nrevision = \"{revision}\"\nlanguage = \"en\"\ndurable_copy = \"{address}\"\n+++\n# Heron\n\nDips tea.\n"
    )
}

fn program(folder: &std::path::Path, arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_stripling"));
    command.args(arguments).current_dir(folder).env("NO_COLOR", "1").stdin(Stdio::null()).output().expect("the program runs")
}

/// What preflight says of the lasting copy, asked online or not: rule and message.
fn said(folder: &std::path::Path, more: &[&str]) -> Vec<(String, String)> {
    let output = program(folder, &[&["preflight", "a.md", "--json"], more].concat());
    let report: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let text = |value: &Value| value.as_str().unwrap_or_default().to_string();
    let findings = report["findings"].as_array().expect("findings").iter();
    let all = findings.map(|finding| (text(&finding["rule"]), text(&finding["message"])));
    all.filter(|(rule, _)| rule.starts_with("durable-copy")).collect()
}

#[test]
fn the_page_is_asked_for_only_when_a_person_wants_it_and_another_one_is_told() {
    let server = Server::start();
    let folder = tempfile::tempdir().expect("a folder");
    let address = format!("http://127.0.0.1:{}/heron", server.port);
    let write = |revision: &str| fs::write(folder.path().join("a.md"), manual(&address, revision)).expect("written");
    write("C");
    assert_eq!(said(folder.path(), &[]), []);
    assert_eq!(server.asked.load(Ordering::SeqCst), 0, "nobody asked to ask");

    let found = said(folder.path(), &["--online"]);
    assert!(found[0].0 == "durable-copy-unreachable" && found[0].1.contains("404 Not Found"), "{found:?}");

    // The copy itself; then the manual goes on and the page does not.
    let mut endings = vec!["html"];
    if cfg!(feature = "pdf") {
        endings.push("pdf");
    }
    for ending in endings {
        write("C");
        let name = format!("a.{ending}");
        assert!(program(folder.path(), &["copy", "a.md", "-o", &name]).status.success());
        server.gives(Some(fs::read(folder.path().join(&name)).expect("a copy")));
        assert_eq!(said(folder.path(), &["--online"]), [], "{ending}");
        write("D");
        let found = said(folder.path(), &["--online"]);
        assert_eq!(found.len(), 1, "{ending}: {found:?}");
        assert!(found[0].0 == "durable-copy-other" && found[0].1.contains("revision \"C\", and this is \"D\""), "{found:?}");
    }

    // A copy of another manual.
    fs::write(folder.path().join("b.md"), manual(&address, "C").replace("HRN-QS", "MUR-QS")).expect("written");
    assert!(program(folder.path(), &["copy", "b.md", "-o", "b.html"]).status.success());
    server.gives(Some(fs::read(folder.path().join("b.html")).expect("a copy")));
    let found = said(folder.path(), &["--online"]);
    assert!(
        found[0].0 == "durable-copy-other" && found[0].1.contains("document \"MUR-QS\", and this is \"HRN-QS\""),
        "{found:?}"
    );

    // A page of somebody's own is read for the number and the revision.
    write("C");
    for (page, rule) in [
        ("<title>Heron</title><p>HRN-QS, revision C", None),
        ("<p>HRN-QS, revision B", Some("durable-copy-other")),
        ("<p>This domain is for sale", Some("durable-copy-other")),
    ] {
        server.gives(Some(page.as_bytes().to_vec()));
        let found = said(folder.path(), &["--online"]);
        assert_eq!(found.first().map(|(rule, _)| rule.as_str()), rule, "{page}: {found:?}");
    }
}

#[test]
fn many_units_lead_to_one_page_that_is_asked_for_once() {
    let server = Server::start();
    let folder = tempfile::tempdir().expect("a folder");
    let text = manual(&format!("http://127.0.0.1:{}/heron", server.port), "C") + "\nNumber {{ unit.serial }}.\n";
    fs::write(folder.path().join("a.md"), text).expect("written");
    fs::write(folder.path().join("u.csv"), "serial\nA-1\nA-2\nA-3\n").expect("written");
    server.gives(Some(b"<p>HRN-QS".to_vec()));
    assert_eq!(said(folder.path(), &["--online", "--units", "u.csv"]), []);
    assert_eq!(server.asked.load(Ordering::SeqCst), 1);
}

#[test]
#[ignore = "needs openssl: tests/run"]
fn a_page_behind_a_certificate_of_nobody_is_not_trusted() {
    let folder = tempfile::tempdir().expect("a folder");
    let server = Untrusted::serving(folder.path());
    fs::write(folder.path().join("a.md"), manual(&format!("https://localhost:{}/a.html", server.port), "C")).expect("written");
    let found = said(folder.path(), &["--online"]);
    assert!(found[0].0 == "durable-copy-unreachable" && found[0].1.contains("certificate cannot be trusted"), "{found:?}");
}
