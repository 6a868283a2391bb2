//! `serial:PATH?baud=…`: a printer on a serial line. 115200 baud, 8 bits, no parity, 1 stop bit and hardware flow control
//! unless the address says otherwise.

use super::{Kind, Settings, on_a_line, options, unknown_option, whole_path, wrong_value};
use crate::send::Error;
use crate::send::connection::Opener;
use crate::send::transport::{Ear, Pump, Transport};
use serialport::{ClearBuffer, DataBits, FlowControl, Parity, SerialPort, StopBits};
use std::io::{self, Write};
use std::time::{Duration, Instant};

pub(super) const KIND: Kind = Kind {
    form: "serial:DEVICE?baud=115200&flow=none|hardware|software",
    what: "a printer on a serial line",
    claims: |address| address.starts_with("serial:"),
    place: |address| format!("serial:{}", whole_path(options(address.trim_start_matches("serial:")).0)),
    open: |address, settings| on_a_line(address, &settings, opener),
    transport: Some(opener),
};

/// How long one look for bytes that come back takes.
const TURN: Duration = Duration::from_millis(50);

#[derive(Clone, Debug)]
struct Port {
    path: String,
    baud: u32,
    flow: FlowControl,
    parity: Parity,
    data: DataBits,
    stop: StopBits,
}

fn opener(address: &str, _: &Settings) -> Result<Opener, Error> {
    let port = read(address)?;
    Ok(Box::new(move |_: &crate::send::Times| Ok(Box::new(SerialWire::open(&port)?) as Box<dyn Transport>)))
}

fn read(address: &str) -> Result<Port, Error> {
    let (path, options) = options(address.strip_prefix("serial:").unwrap_or(address));
    if path.is_empty() {
        return Err(Error::Address {
            address: address.to_owned(),
            why: "it names no device".to_owned(),
            hint: "write serial:/dev/ttyUSB0?baud=115200".to_owned(),
        });
    }
    let mut port = Port {
        path: path.to_owned(),
        baud: 115_200,
        flow: FlowControl::Hardware,
        parity: Parity::None,
        data: DataBits::Eight,
        stop: StopBits::One,
    };
    for (key, value) in options {
        let wrong = |hint: &str| wrong_value(address, key, value, hint);
        match key {
            "baud" => {
                let baud = value.parse().ok().filter(|baud| (300..=4_000_000).contains(baud));
                port.baud =
                    baud.ok_or_else(|| wrong("baud is a number from 300 to 4000000, most often 9600, 19200, 38400 or 115200"))?;
            }
            "flow" => {
                port.flow = match value {
                    "none" => FlowControl::None,
                    "hardware" => FlowControl::Hardware,
                    "software" => FlowControl::Software,
                    _ => return Err(wrong("flow is none, hardware (RTS and CTS) or software (XON and XOFF)")),
                };
            }
            "parity" => {
                port.parity = match value {
                    "none" => Parity::None,
                    "even" => Parity::Even,
                    "odd" => Parity::Odd,
                    _ => return Err(wrong("parity is none, even or odd")),
                };
            }
            "bits" => {
                port.data = match value {
                    "7" => DataBits::Seven,
                    "8" => DataBits::Eight,
                    _ => return Err(wrong("bits is 7 or 8")),
                };
            }
            "stop" => {
                port.stop = match value {
                    "1" => StopBits::One,
                    "2" => StopBits::Two,
                    _ => return Err(wrong("stop is 1 or 2")),
                };
            }
            _ => return Err(unknown_option(address, key, &["baud", "flow", "parity", "bits", "stop"])),
        }
    }
    Ok(port)
}

struct SerialWire {
    port: Box<dyn SerialPort>,
    pump: Pump,
    ear: Ear,
    pace: u32,
}

impl SerialWire {
    fn open(port: &Port) -> io::Result<SerialWire> {
        let line = serialport::new(&port.path, port.baud)
            .flow_control(port.flow)
            .parity(port.parity)
            .data_bits(port.data)
            .stop_bits(port.stop)
            .timeout(TURN)
            .open()?;
        // Writing to a serial device may block for as long as the printer holds up its hand, whatever its time-out.
        let pump = Pump::new(Out(line.try_clone()?))?;
        let ear = Ear::new(line.try_clone()?, true)?;
        Ok(SerialWire { port: line, pump, ear, pace: port.baud / 10 })
    }
}

/// The line without the wait for its last bit, which could last for ever.
struct Out(Box<dyn SerialPort>);

impl Write for Out {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

impl Transport for SerialWire {
    fn put(&mut self, bytes: &[u8], limit: Duration) -> io::Result<usize> {
        self.pump.put(bytes, limit)
    }

    fn hear(&mut self, into: &mut Vec<u8>, limit: Duration) -> io::Result<usize> {
        self.ear.hear(into, limit)
    }

    fn hears(&self) -> bool {
        true
    }

    fn pace(&self) -> Option<u32> {
        Some(self.pace)
    }

    fn flush(&mut self, limit: Duration) -> io::Result<bool> {
        let until = Instant::now() + limit;
        if !self.pump.flush(limit)? {
            return Ok(false);
        }
        while self.port.bytes_to_write()? > 0 {
            if Instant::now() >= until {
                return Ok(false);
            }
            std::thread::sleep(Duration::from_millis(2));
        }
        Ok(true)
    }

    /// What a printer that takes nothing more has not taken is thrown away: the system would wait for it when the device is
    /// closed.
    fn close(&mut self, limit: Duration) {
        if !matches!(self.flush(limit), Ok(true)) {
            // An error here means that the device is gone, and with it what it held.
            let _ = self.port.clear(ClearBuffer::Output);
        }
        self.pump.close(TURN * 2);
        self.ear.close(TURN * 2);
    }
}
