//! Printing from the desk as the program does it: what the page is told is what the ledger says and what is then printed.

use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use serde_json::Value;
use stripling::send::Ledger;

use super::ask;
use crate::gather::Server;

pub struct Running {
    child: Child,
    port: u16,
    cookie: String,
    key: String,
}

impl Drop for Running {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn stripling(folder: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_stripling"));
    command.args(arguments).args(["--units", "units.csv", "--quiet"]).current_dir(folder);
    command
}

impl Running {
    fn start(folder: &Path, to: &str) -> Running {
        Running::open(stripling(folder, &["desk", "heron.md", "--to", to, "--ledger", "run.db"]))
    }

    /// A desk as this command opens it.
    pub fn open(mut command: Command) -> Running {
        let mut child = command.stdout(Stdio::piped()).spawn().expect("the program");
        let mut address = String::new();
        BufReader::new(child.stdout.take().expect("piped")).read_line(&mut address).expect("an address");
        let rest = address.trim().strip_prefix("http://127.0.0.1:").expect("an address");
        let (port, path) = rest.split_once('/').expect("an address");
        let mut running = Running { child, port: port.parse().expect("a port"), cookie: String::new(), key: String::new() };
        let let_in = running.get(&format!("/{path}"));
        let cookie = let_in.split("set-cookie: ").nth(1).and_then(|rest| rest.split(';').next()).expect("a cookie");
        running.cookie = cookie.to_owned();
        let page = running.get("/");
        let key = page.split("name=\"desk-key\" content=\"").nth(1).and_then(|rest| rest.split('"').next()).expect("a key");
        running.key = key.to_owned();
        running
    }

    pub fn get(&self, path: &str) -> String {
        let (port, cookie) = (self.port, &self.cookie);
        ask(port, format!("GET {path} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nCookie: {cookie}\r\nConnection: close\r\n\r\n"))
    }

    /// What came of a wish, and whether it was granted. A desk that sets a manual may take its time.
    pub fn wish(&self, path: &str, body: &str) -> (bool, Value) {
        let (port, cookie, key, length) = (self.port, &self.cookie, &self.key, body.len());
        let request = format!(
            "POST {path} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nConnection: close\r\nCookie: {cookie}\r\nX-Desk-Key: {key}\r\n\
             Content-Type: application/json\r\nContent-Length: {length}\r\n\r\n{body}"
        );
        let mut stream = std::net::TcpStream::connect(("127.0.0.1", port)).expect("connected");
        std::io::Write::write_all(&mut stream, request.as_bytes()).expect("sent");
        stream.set_read_timeout(Some(Duration::from_secs(60))).expect("a time-out");
        let mut answer = String::new();
        std::io::Read::read_to_string(&mut stream, &mut answer).expect("an answer");
        let (head, body) = answer.split_once("\r\n\r\n").expect("an answer");
        let mut value: Value = serde_json::from_str(body).unwrap_or_else(|_| panic!("{answer}"));
        assert!(head.starts_with("HTTP/1.1 200 "), "{answer}");
        match value.get_mut("refused").map(Value::take) {
            Some(refused) => (false, refused),
            None => (true, value),
        }
    }

    fn plan(&self, way: &str) -> (bool, Value) {
        let wish = format!(r#"{{"view":{{"unit":null,"printer":null}},"units":"all","copies":1,"way":"{way}"}}"#);
        self.wish("/print/plan", &wish)
    }
}

#[test]
fn the_plan_is_what_the_ledger_says_and_each_way_out_is_offered() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = |name: &str| folder.path().join(name);
    let manual = "+++\ntitle = \"Heron\"\nrevision = \"C\"\n+++\n\n# Heron\n\nFor {{ unit.serial }}.\n";
    std::fs::write(at("heron.md"), manual).expect("written");
    std::fs::write(at("units.csv"), "serial\nA-1\nA-2\n").expect("written");
    // A rehearsal counts for nothing real.
    let mut rehearsal = stripling(folder.path(), &["print", "heron.md", "--to", "rehearse:out", "--ledger", "run.db"]);
    assert!(rehearsal.status().expect("the program").success());
    let desk = Running::start(folder.path(), "strips.bin");
    let (granted, plan) = desk.plan("continue");
    assert!(granted, "{plan}");
    assert_eq!((&plan["strips"], &plan["printed"], &plan["units"]), (&2.into(), &0.into(), &serde_json::json!(["A-1", "A-2"])));
    let yes = serde_json::json!({ "ticket": plan["ticket"] }).to_string();
    assert!(desk.wish("/print/start", &yes).0);
    let unknown = || Ledger::look(&at("run.db")).and_then(|ledger| ledger.summary()).expect("a summary").unknown;
    let until = Instant::now() + Duration::from_secs(60);
    let mut refused = desk.plan("continue");
    while unknown().len() < 2 || refused.1["message"].as_str().is_some_and(|words| words.contains("is printing")) {
        assert!(Instant::now() < until, "the run does not end: {}", refused.1);
        std::thread::sleep(Duration::from_millis(50));
        refused = desk.plan("continue");
    }
    // No file can say what came out: the plan asks for each, and takes the answer.
    let (granted, plan) = refused;
    assert!(!granted);
    assert_eq!(
        plan["unsettled"],
        serde_json::json!([{"run": 2, "unit": "A-1", "copy": 1}, {"run": 2, "unit": "A-2", "copy": 1}])
    );
    let found = serde_json::json!({ "strips": plan["unsettled"], "printed": true }).to_string();
    assert!(desk.wish("/print/settle", &found).0);
    let (granted, plan) = desk.plan("continue");
    assert!(granted, "{plan}");
    assert_eq!((&plan["strips"], &plan["printed"]), (&0.into(), &2.into()));
    assert_eq!(plan["again"].as_array().map(Vec::len), Some(2));
    // This one again.
    let one = serde_json::json!({ "strips": [plan["again"][0]], "printed": false }).to_string();
    assert!(desk.wish("/print/settle", &one).0);
    assert_eq!(desk.plan("continue").1["units"], serde_json::json!(["A-1"]));
    // A changed manual is told in the plan, with the ways there are, and not after the yes.
    std::fs::write(at("heron.md"), manual.replace("For", "Made for")).expect("written");
    let (granted, plan) = desk.plan("continue");
    assert!(!granted);
    assert!(plan["message"].as_str().is_some_and(|words| words.contains("heron.md would be another")), "{plan}");
    assert_eq!(plan["ways"], serde_json::json!(["go-on", "new-run"]));
    assert_eq!(desk.plan("go-on").1["strips"], 1);
    let this = r#"{"view":{"unit":"A-2","printer":null},"units":"this","copies":1}"#;
    assert_eq!(
        desk.wish("/print/plan", this).1["ways"],
        serde_json::json!(["go-on"]),
        "a run of one strip would leave the others"
    );
    assert_eq!(desk.plan("new-run").1["strips"], 2);
}

/// Until the stream of a page has told `wanted`.
fn told_live(desk: &Running, query: &str, wanted: &str, after: impl FnOnce()) {
    let mut stream = std::net::TcpStream::connect(("127.0.0.1", desk.port)).expect("connected");
    let (port, cookie) = (desk.port, &desk.cookie);
    let request = format!("GET /live?{query} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nCookie: {cookie}\r\n\r\n");
    std::io::Write::write_all(&mut stream, request.as_bytes()).expect("sent");
    stream.set_read_timeout(Some(Duration::from_secs(60))).expect("a time-out");
    let (mut seen, mut some, mut after) = (String::new(), [0u8; 65536], Some(after));
    while !seen.contains(wanted) {
        let count = std::io::Read::read(&mut stream, &mut some).unwrap_or(0);
        assert!(count > 0, "{wanted:?} never came: {seen:.600}");
        seen.push_str(&String::from_utf8_lossy(&some[..count]));
        if seen.contains("event: trouble")
            && let Some(after) = after.take()
        {
            after();
        }
    }
}

#[test]
fn an_include_that_comes_is_noticed_and_what_is_not_there_is_said() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = |name: &str| folder.path().join(name);
    std::fs::write(at("heron.md"), "# Heron\n\n{% include \"later.md\" %}\n").expect("written");
    std::fs::write(at("units.csv"), "serial\nA-1\n").expect("written");
    let desk = Running::start(folder.path(), "rehearse:strips");
    // The file that was lacking comes, and nobody reloads anything.
    told_live(&desk, "", "Words that came later", || {
        std::fs::write(at("later.md"), "Words that came later.\n").expect("written");
    });
    told_live(&desk, "unit=B-9", "there is no unit", || {});
    told_live(&desk, "printer=typewriter", "there is no printer", || {});
}

#[test]
fn a_desk_that_prints_needs_a_ledger() {
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(folder.path().join("heron.md"), "# Heron\n").expect("written");
    let mut command = Command::new(env!("CARGO_BIN_EXE_stripling"));
    let told = command.args(["desk", "heron.md", "--to", "x.bin"]).current_dir(folder.path()).output().expect("the program");
    assert_eq!(told.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&told.stderr).contains("add --ledger run.db"));
}

#[test]
fn pictures_are_gathered_after_their_hosts_were_named() {
    let server = Server::start();
    let folder = tempfile::tempdir().expect("a folder");
    let at = |name: &str| folder.path().join(name);
    let manual = |gone: &str| format!("# Heron\n\n![a]({})\n\n![b]({})\n{gone}", server.at("/a.svg"), server.at("/b.svg"));
    std::fs::write(at("heron.md"), manual("")).expect("written");
    std::fs::write(at("units.csv"), "serial\nA1\n").expect("written");
    let desk = Running::start(folder.path(), "rehearse:strips");
    let view = r#""view":{"unit":null,"printer":null}"#;
    let (granted, plan) = desk.wish("/gather/plan", &format!("{{{view}}}"));
    let host = server.at("/").replace("http://", "").replace('/', "");
    assert!(granted && plan["pictures"] == 2, "{plan}");
    assert_eq!(plan["hosts"], serde_json::json!([{ "host": host, "pictures": 2 }]));
    assert_eq!((server.asked("/a.svg"), at("gathered").exists()), (0, false), "nothing is asked for before a yes");
    let (granted, told) = desk.wish("/gather/start", &format!("{{{view},\"ticket\":\"of another\"}}"));
    assert!(!granted && told["message"].as_str().is_some_and(|words| words.contains("other pictures")), "{told}");
    assert_eq!(server.asked("/a.svg"), 0);
    let ticket = plan["ticket"].as_str().expect("a ticket");
    let (granted, told) = desk.wish("/gather/start", &format!("{{{view},\"ticket\":\"{ticket}\"}}"));
    assert!(granted && told["words"].as_str().is_some_and(|words| words.contains("2 pictures gathered")), "{told}");
    assert!(at("gathered.toml").exists() && server.asked("/a.svg") == 1 && server.asked("/b.svg") == 1);
    assert_eq!(desk.wish("/gather/plan", &format!("{{{view}}}")).1["pictures"], 0);

    // What does not come is named, and what came stays.
    std::fs::write(at("heron.md"), manual(&format!("\n![c]({})\n", server.at("/gone.png")))).expect("written");
    let (_, plan) = desk.wish("/gather/plan", &format!("{{{view}}}"));
    let ticket = plan["ticket"].as_str().expect("a ticket");
    let (granted, told) = desk.wish("/gather/start", &format!("{{{view},\"ticket\":\"{ticket}\"}}"));
    assert!(!granted && told["message"].as_str().is_some_and(|words| words.contains("404 Not Found")), "{told}");
    assert_eq!(server.asked("/a.svg"), 1, "asked again");
}
