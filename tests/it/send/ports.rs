//! A device file whose printer says nothing, and whose port knows of paper, of off line and of errors.

use super::person::{CALM, Ports, capabilities, facts, settings};
use super::printer::{TestPrinter, strip};
use std::convert::Infallible;
use std::io;
use std::sync::Arc;
use std::sync::atomic::{AtomicU8, Ordering};
use stripling::send::{self, DevicePorts, Ending, Fence, Ledger, Order, Pipes, Plugged, Report, Settings, StripBytes, UsbBus};

fn print(printer: &TestPrinter, ports: Arc<dyn DevicePorts>, units: u16) -> Report {
    let mut ledger = Ledger::in_memory().expect("memory");
    let order = Order::new(facts(units));
    let settings = Settings { ports: Some(ports), ..settings(&capabilities(false, Fence::None), CALM, &order.stop) };
    let mut destination = send::open(printer.address(), settings).expect("an address");
    let make = &mut |job: &send::Job| Ok::<StripBytes, Infallible>(strip(job.number as u16));
    send::run(&mut ledger, destination.as_mut(), &order, make, &mut |_| {}).expect("a run")
}

/// Bits: USB printer class 1.1, GET_PORT_STATUS (memory).
#[test]
fn a_port_that_knows_of_a_fault_holds_the_strip_back() {
    for (byte, kind, words) in [
        (0x38, "paper end", "put in a new roll"),
        (0x08, "printer error", "off line"),
        (0x10, "printer error", "reports an error"),
    ] {
        let printer = TestPrinter::on_device(None);
        let report = print(&printer, Arc::new(Ports(Some(byte))), 1);
        let Ending::Trouble(trouble) = &report.ending else { panic!("{byte:02X}: {:?}", report.ending) };
        assert!(trouble.kind() == kind && trouble.to_string().contains(words), "{byte:02X}: {trouble}");
        assert_eq!((report.printed, report.left), (0, 1), "{byte:02X}");
        printer.wait_until_idle();
        assert!(printer.everything().is_empty(), "{byte:02X}: nothing was sent");
    }
}

/// What a port knows of no fault, it proves nothing: the strips are out, and unknown.
#[test]
fn a_port_that_knows_of_none_proves_nothing() {
    for byte in [None, Some(0x18), Some(0)] {
        let printer = TestPrinter::on_device(None);
        let report = print(&printer, Arc::new(Ports(byte)), 2);
        assert!(matches!(report.ending, Ending::Done), "{byte:02X?}: {:?}", report.ending);
        assert_eq!((report.printed, report.unknown.len()), (0, 2), "{byte:02X?}");
        printer.wait_until_idle();
        assert_eq!(printer.clean_pieces(), 2, "{byte:02X?}");
    }
}

/// Well before the strip, and out of paper after it.
struct Runs(AtomicU8);

impl DevicePorts for Runs {
    fn check(&self, _: &str) -> Result<(), send::Error> {
        Ok(())
    }

    fn status(&self, _: &std::fs::File) -> Option<u8> {
        Some(self.0.swap(0x38, Ordering::SeqCst))
    }
}

#[test]
fn a_roll_that_ends_under_a_strip_is_told_and_the_strip_is_unknown() {
    let printer = TestPrinter::on_device(None);
    let report = print(&printer, Arc::new(Runs(AtomicU8::new(0x18))), 2);
    let Ending::Trouble(trouble) = &report.ending else { panic!("{:?}", report.ending) };
    assert_eq!(trouble.kind(), "paper end");
    assert_eq!((report.printed, report.unknown.len()), (0, 1));
    assert!(report.unknown[0].1.contains("put in a new roll"), "{}", report.unknown[0].1);
}

/// Two printers that both say the serial number RW1, as makers of cheap ones do: neither is opened.
struct Twins;

impl UsbBus for Twins {
    fn printers(&self) -> io::Result<Vec<Plugged>> {
        let one = |port: &str| Plugged {
            vendor: 0x1209,
            product: 1,
            serial: Some("RW1".to_owned()),
            name: "Reedbed Works".to_owned(),
            port: port.to_owned(),
        };
        Ok(vec![one("1-2"), one("1-4")])
    }

    fn open(&self, printer: &Plugged) -> io::Result<Pipes> {
        panic!("{printer:?} was not chosen");
    }
}

#[test]
fn of_two_printers_with_the_same_serial_number_none_is_printed_on() {
    for address in ["usb:", "usb:RW1", "usb:1209:0001"] {
        let mut ledger = Ledger::in_memory().expect("memory");
        let order = Order::new(facts(1));
        let usb: Arc<dyn UsbBus> = Arc::new(Twins);
        let settings = Settings { usb: Some(usb), ..settings(&capabilities(true, Fence::Process), CALM, &order.stop) };
        let mut destination = send::open(address, settings).expect("an address");
        let make = &mut |job: &send::Job| Ok::<StripBytes, Infallible>(strip(job.number as u16));
        let report = send::run(&mut ledger, destination.as_mut(), &order, make, &mut |_| {}).expect("a run");
        let Ending::Trouble(trouble) = &report.ending else { panic!("{address}: {:?}", report.ending) };
        let words = trouble.to_string();
        assert!(words.contains("several are meant") && words.contains("port 1-2") && words.contains("port 1-4"), "{words}");
        assert_eq!((report.printed, report.unknown.len(), report.left), (0, 0, 1), "{address}");
    }
}
