//! The program itself at a bench: `stripling pack` as a process, with a person's ends of it, what it packs, and what came out.

use super::shift;
use super::table::Table;
use crate::send::printer::TestPrinter;
use std::fs::File;
use std::io::{BufRead, BufReader, Write};
use std::path::PathBuf;
use std::process::{Child, ChildStdin, Command, ExitStatus, Stdio};
use std::sync::mpsc::{self, Receiver};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

/// The shortest that there is.
#[cfg(feature = "postgres")]
pub const LEASE: Duration = Duration::from_secs(2);

pub use super::shift::key;

pub fn code(unit: usize) -> String {
    format!("S-{}", key(unit))
}

/// A manual, its table of units and a printer's file.
pub struct Shop {
    pub folder: tempfile::TempDir,
    pub units: usize,
    table: Table,
}

impl Shop {
    pub fn of(units: usize) -> Shop {
        let folder = shift::bench(units);
        let arguments =
            ["encode", "heron.md", "--units", "units.csv", "--printer", "bench.toml", "-o", "wanted/{{ unit.serial }}.bin"];
        let made = Command::new(env!("CARGO_BIN_EXE_stripling")).args(arguments).current_dir(folder.path()).output();
        let made = made.expect("the program");
        assert!(made.status.success(), "{}", String::from_utf8_lossy(&made.stderr));
        let wanted = |unit| {
            let file = folder.path().join("wanted").join(format!("{}.bin", key(unit)));
            (key(unit), std::fs::read(file).expect("encoded"))
        };
        let table = Table::of((1..=units).map(wanted));
        Shop { folder, units, table }
    }

    /// What starts a bench here.
    pub fn bench(&self, ledger: &str, printers: &[&TestPrinter], name: &str) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_stripling"));
        command.args(["pack", "heron.md", "--units", "units.csv", "--printer", "bench.toml", "--lease", "2"]);
        command.args(["--ledger", ledger, "--bench", name]);
        for printer in printers {
            command.args(["--to", printer.address()]);
        }
        let errors = File::options().append(true).create(true).open(self.errors()).expect("a file");
        command.current_dir(self.folder.path()).stderr(errors);
        command
    }

    /// Another command about a ledger: what it wrote.
    #[cfg(feature = "postgres")]
    pub fn ledger(&self, ledger: &str, more: &[&str]) -> String {
        let told =
            Command::new(env!("CARGO_BIN_EXE_stripling")).arg("ledger").arg(ledger).args(more).output().expect("the program");
        assert!(told.status.success(), "{}", String::from_utf8_lossy(&told.stderr));
        String::from_utf8(told.stdout).expect("UTF-8")
    }

    fn errors(&self) -> PathBuf {
        self.folder.path().join("errors")
    }

    /// How often a unit's whole strip lies on the table.
    pub fn whole(&self, printers: &[&TestPrinter], unit: usize) -> usize {
        printers.iter().map(|printer| self.table.whole(printer, &key(unit))).sum()
    }
}

/// A bench that runs, and the person's ends of it.
pub struct Running {
    pub child: Arc<Mutex<Child>>,
    stdin: Option<ChildStdin>,
    lines: Receiver<[String; 4]>,
}

impl Running {
    pub fn start(mut program: Command) -> Running {
        let mut child = program.stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().expect("the program");
        let (stdin, stdout) = (child.stdin.take(), child.stdout.take().expect("piped"));
        let (tell, lines) = mpsc::channel();
        std::thread::spawn(move || {
            for line in BufReader::new(stdout).lines().map_while(Result::ok) {
                let words: Vec<String> = line.split('\t').map(str::to_owned).collect();
                let words = <[String; 4]>::try_from(words).expect("four fields a line");
                if tell.send(words).is_err() {
                    return;
                }
            }
        });
        Running { child: Arc::new(Mutex::new(child)), stdin, lines }
    }

    pub fn scan(&mut self, line: &str) -> bool {
        self.stdin.as_mut().is_some_and(|stdin| writeln!(stdin, "{line}").and_then(|()| stdin.flush()).is_ok())
    }

    /// The next thing said: none when it says nothing for so long, an error when it has ended.
    pub fn hear(&self, limit: Duration) -> Result<Option<[String; 4]>, ()> {
        match self.lines.recv_timeout(limit) {
            Ok(words) => Ok(Some(words)),
            Err(mpsc::RecvTimeoutError::Timeout) => Ok(None),
            Err(mpsc::RecvTimeoutError::Disconnected) => Err(()),
        }
    }

    /// Hears until one of these headlines is said.
    pub fn until(&self, wanted: &[&str], limit: Duration) -> [String; 4] {
        let end = Instant::now() + limit;
        let mut heard = Vec::new();
        while Instant::now() < end {
            match self.hear(Duration::from_millis(100)) {
                Ok(Some(words)) if wanted.contains(&words[1].as_str()) => return words,
                Ok(Some(words)) => heard.push(words),
                Ok(None) => {}
                Err(()) => break,
            }
        }
        panic!("none of {wanted:?} was said, but {heard:?}");
    }

    pub fn kill(&self) {
        let mut child = self.child.lock().expect("a child of ours");
        let _ = child.kill();
        let _ = child.wait();
    }

    /// The person goes home: how it ended.
    pub fn end(&mut self, limit: Duration) -> ExitStatus {
        self.scan("/end");
        self.stdin.take();
        let end = Instant::now() + limit;
        loop {
            if let Some(status) = self.child.lock().expect("a child of ours").try_wait().expect("it can be asked") {
                return status;
            }
            assert!(Instant::now() < end, "it does not end");
            std::thread::sleep(Duration::from_millis(20));
        }
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        self.kill();
    }
}
