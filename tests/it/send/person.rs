//! The person at the printer: starts runs, puts the printer right, looks at the paper, tells the ledger.

use super::printer::{TestPrinter, strip};
use std::collections::BTreeMap;
use std::convert::Infallible;
use std::fs::File;
use std::io::{self, Read};
use std::net::TcpStream;
use std::path::Path;
use std::sync::Arc;
use std::time::Duration;
use stripling::send::{
    self, Capabilities, DevicePorts, Ending, Facts, Fence, Halt, Ledger, Making, Order, Pipes, Plugged, Report, Settings, State,
    Stop, Times, UsbBus, Verdict,
};

/// Small enough for many tests, large enough for a busy machine.
pub const TIMES: Times = Times {
    connect: Duration::from_millis(1500),
    write: Duration::from_millis(500),
    answer: Duration::from_millis(180),
    work_off: Duration::from_millis(1500),
    settle: Duration::from_millis(40),
    look: Duration::from_millis(30),
    queue: Duration::from_secs(20),
};

/// For tests in which a time-out would be a failure.
pub const CALM: Times =
    Times { write: Duration::from_secs(5), answer: Duration::from_secs(3), work_off: Duration::from_secs(20), ..TIMES };

/// How the test printer is brought back to its start and its paper out: `ESC @`, `GS V B 0`.
pub const EJECT: [u8; 6] = [0x1B, 0x40, 0x1D, 0x56, 0x42, 0x00];

pub fn capabilities(status: bool, fence: Fence) -> Capabilities {
    Capabilities { status, fence, buffer: super::printer::BUFFER, eject: EJECT.to_vec(), ..Capabilities::default() }
}

pub fn facts(units: u16) -> Facts {
    Facts::alike("heron/heron.md", "80mm", making("5f3a", "C"), (1..=units).map(|unit| unit.to_string()))
}

pub fn making(manual: &str, revision: &str) -> Making {
    Making {
        manual: manual.to_owned(),
        document: "HRN-QS".to_owned(),
        revision: revision.to_owned(),
        language: "en".to_owned(),
        ..Making::default()
    }
}

pub fn settings(capabilities: &Capabilities, times: Times, stop: &Stop) -> Settings {
    Settings { capabilities: capabilities.clone(), times, stop: stop.clone(), ..Settings::default() }
}

/// A bus with one printer, whose pipes lead to a test printer's socket.
struct Bus {
    serial: String,
}

/// The bus that such an address leads to.
fn usb(address: &str) -> Option<Arc<dyn UsbBus>> {
    address.strip_prefix("usb:").map(|serial| Arc::new(Bus { serial: serial.to_owned() }) as Arc<dyn UsbBus>)
}

impl UsbBus for Bus {
    fn printers(&self) -> io::Result<Vec<Plugged>> {
        let name = "Reedbed Works".to_owned();
        Ok(vec![Plugged { vendor: 0x1209, product: 1, serial: Some(self.serial.clone()), name, port: "1-1".to_owned() }])
    }

    fn open(&self, printer: &Plugged) -> io::Result<Pipes> {
        let port = printer.serial.as_deref().and_then(|serial| serial.strip_prefix('S')).and_then(|port| port.parse().ok());
        let stream = TcpStream::connect(("127.0.0.1", port.unwrap_or(0)))?;
        stream.set_nodelay(true)?;
        // As a pipe that is asked again and again.
        stream.set_read_timeout(Some(Duration::from_millis(10)))?;
        let back = Back(stream.try_clone()?);
        Ok(Pipes {
            out: Box::new(stream),
            back: Some(Box::new(back)),
            device_id: "MFG:Reedbed Works;CLS:PRINTER;".to_owned(),
            port: None,
        })
    }
}

/// Ports of device files that say this of every printer.
pub struct Ports(pub Option<u8>);

impl DevicePorts for Ports {
    fn check(&self, address: &str) -> Result<(), send::Error> {
        assert!(address.starts_with("/dev/pts/"), "{address} is no pseudo-terminal of this test");
        Ok(())
    }

    fn status(&self, device: &File) -> Option<u8> {
        assert!(device.metadata().is_ok(), "it is open");
        self.0
    }
}

/// A socket that has ended is a device that is gone.
struct Back(TcpStream);

impl Read for Back {
    fn read(&mut self, room: &mut [u8]) -> io::Result<usize> {
        match self.0.read(room) {
            Ok(0) => Err(io::ErrorKind::ConnectionAborted.into()),
            done => done,
        }
    }
}

/// One command: opens the ledger and the destination, prints what is not printed.
pub fn command(
    ledger: &Path,
    address: &str,
    capabilities: &Capabilities,
    times: Times,
    units: u16,
) -> Result<Report, Halt<Infallible>> {
    let mut ledger = Ledger::open(ledger)?;
    let order = Order { look: Duration::from_millis(20), ..Order::new(facts(units)) };
    // Only device files look at it.
    let ports = Some(Arc::new(Ports(None)) as Arc<dyn DevicePorts>);
    let settings = Settings { usb: usb(address), ports, ..settings(capabilities, times, &order.stop) };
    let mut destination = send::open(address, settings).expect("an address of this test");
    send::run(&mut ledger, destination.as_mut(), &order, &mut |job| Ok(strip(job.number as u16)), &mut |_| {})
}

/// What a whole story came to.
#[derive(Debug, Default)]
pub struct Story {
    pub commands: usize,
    /// Strips that the person was asked about.
    pub asked: usize,
    /// Strips printed again without asking, because they were certainly not whole.
    pub again: usize,
    /// The words in which trouble was told.
    pub troubles: Vec<&'static str>,
    pub words: Vec<String>,
}

/// Runs the same command until everything is printed, putting the printer right and looking at the paper after each, and checks
/// after every step that the ledger says nothing that the paper does not bear out.
pub fn print_all(
    printer: &TestPrinter,
    ledger: &Path,
    capabilities: &Capabilities,
    times: Times,
    units: u16,
    case: &str,
) -> Story {
    let mut story = Story::default();
    loop {
        story.commands += 1;
        assert!(story.commands < 9, "{case}: no end to it: {story:?}");
        match command(ledger, printer.address(), capabilities, times, units) {
            Ok(report) => {
                story.again += report.missing.len();
                if let Ending::Trouble(trouble) = &report.ending {
                    story.troubles.push(trouble.kind());
                    story.words.push(trouble.to_string());
                }
                let done = matches!(report.ending, Ending::Done) && report.unknown.is_empty();
                printer.wait_until_idle();
                printer.repair();
                if story.commands > 2 {
                    // Nothing has helped so far.
                    printer.switch_off_and_on();
                }
                printer.wait_until_idle();
                let mut ledger = Ledger::open(ledger).expect("the run has let go of it");
                compare(&ledger, printer, case);
                story.asked += settle(&mut ledger, printer);
                if done {
                    assert_eq!(report.left, 0, "{case}");
                    break;
                }
            }
            Err(Halt::Ledger(send::ledger::Error::Unresolved(names))) => {
                panic!("{case}: {names:?} were settled, yet stop the run")
            }
            Err(halt) => panic!("{case}: {halt:?}"),
        }
    }
    for unit in 1..=units {
        assert_eq!(printer.whole(unit), 1, "{case}: strips of unit {unit}; {story:?}");
    }
    story
}

/// The ledger against the paper: `printed` stands there once, `missing` and `queued` not at all.
pub fn compare(ledger: &Ledger, printer: &TestPrinter, case: &str) {
    for (unit, state) in states(ledger) {
        match state {
            State::Printed => assert_eq!(printer.whole(unit), 1, "{case}: unit {unit} is called printed"),
            State::Missing | State::Queued => assert_eq!(printer.whole(unit), 0, "{case}: unit {unit} is called {state:?}"),
            State::Unknown => assert!(printer.whole(unit) <= 1, "{case}: unit {unit} was printed twice in silence"),
            State::Sending => panic!("{case}: unit {unit} is still being sent"),
        }
    }
}

pub fn states(ledger: &Ledger) -> BTreeMap<u16, State> {
    let summary = ledger.summary().expect("a ledger of this test");
    let strips = summary.runs.iter().flat_map(|run| &run.strips);
    strips.map(|strip| (strip.unit.parse().expect("units of this test are numbers"), strip.state)).collect()
}

/// Looks at the paper for every strip that is unknown, and enters what is found. Returns how many there were.
pub fn settle(ledger: &mut Ledger, printer: &TestPrinter) -> usize {
    let mut asked = 0;
    for (unit, state) in states(ledger) {
        if state == State::Unknown {
            asked += 1;
            let verdict = if printer.whole(unit) > 0 { Verdict::Printed } else { Verdict::Missing };
            ledger.resolve(&unit.to_string(), verdict, None).expect("an unknown strip can be settled");
        }
    }
    asked
}
