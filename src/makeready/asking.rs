//! Who a printer is and how it is, asked over a line that answers.
//!
//! Only what no printer prints is asked first (`DLE EOT`); the rest only of one that answered. Formats: vendors' command references
//! (memory), save the status bytes of CHECKS.md.

use std::io;
use std::time::{Duration, Instant};

use crate::printer::Fence;
use crate::send::Transport;
use crate::send::status::is_status;

/// How long each answer may take.
const ANSWER: Duration = Duration::from_millis(500);
/// Silence after which nothing more is expected.
const SETTLE: Duration = Duration::from_millis(150);
/// Bytes that come without a question in [`SETTLE`] after the printer was told to be silent, beyond which it is a flood.
const FLOOD: usize = 16;

/// What was heard.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Heard {
    /// Whether it could be asked at all.
    pub asked: bool,
    /// All four of `DLE EOT` were answered.
    pub status: bool,
    pub fence: Option<Fence>,
    /// What it says of itself: of what, and the words.
    pub identity: Vec<(&'static str, String)>,
}

/// Why nothing should be printed there.
#[derive(Debug, thiserror::Error)]
pub enum Refusal {
    #[error("it sends back what it gets: that is a loop or a modem, not a printer")]
    Echo,
    #[error("it answers a question about its state with {0}: that is no receipt printer")]
    Stranger(String),
    #[error("it sends bytes without being asked, {0} in a moment, also after it was told not to")]
    Flood(usize),
    #[error("the line broke ({0})")]
    Link(io::Error),
}

/// Asks everything. A line on which nothing comes back is no fault: then nothing is known.
///
/// # Errors
/// What is at the other end is no printer, or can't be talked with.
pub fn ask(wire: &mut dyn Transport) -> Result<Heard, Refusal> {
    if !wire.hears() {
        return Ok(Heard::default());
    }
    let device_id = wire.device_id().map(|id| ("device ID", shown_as(id.as_bytes(), 200)));
    let mut talk = Session { wire };
    talk.quiet()?;
    let mut heard = Heard { asked: true, identity: device_id.into_iter().collect(), ..Heard::default() };
    for number in 1..=4 {
        if !talk.status(number)? {
            return Ok(heard);
        }
    }
    heard.status = true;
    heard.fence = talk.fence()?;
    for (number, what) in [(66, "maker"), (67, "model"), (65, "firmware"), (68, "serial number"), (69, "letters")] {
        if let Some(words) = talk.identity(number)? {
            heard.identity.push((what, words));
        }
    }
    for (number, what) in [(1, "model number"), (2, "kind"), (3, "firmware number")] {
        talk.put(&[0x1D, 0x49, number])?;
        if let [byte] = talk.listen(1)?[..] {
            heard.identity.push((what, byte.to_string()));
        }
    }
    Ok(heard)
}

struct Session<'a> {
    wire: &'a mut dyn Transport,
}

impl Session<'_> {
    fn put(&mut self, mut bytes: &[u8]) -> Result<(), Refusal> {
        let until = Instant::now() + ANSWER * 10;
        while !bytes.is_empty() {
            let count = self.wire.put(bytes, Duration::from_millis(50)).map_err(Refusal::Link)?;
            bytes = &bytes[count..];
            if Instant::now() > until {
                return Err(Refusal::Link(io::ErrorKind::TimedOut.into()));
            }
        }
        Ok(())
    }

    /// What comes until `enough` bytes are there or nothing more comes.
    fn listen(&mut self, enough: usize) -> Result<Vec<u8>, Refusal> {
        let until = Instant::now() + ANSWER;
        let mut heard = Vec::new();
        while heard.len() < enough && Instant::now() < until {
            self.hear(&mut heard)?;
        }
        // What else came with it belongs to it.
        self.hear(&mut heard)?;
        Ok(heard)
    }

    fn hear(&mut self, into: &mut Vec<u8>) -> Result<(), Refusal> {
        match self.wire.hear(into, Duration::from_millis(20)) {
            Ok(_) => Ok(()),
            Err(error)
                if matches!(error.kind(), io::ErrorKind::WouldBlock | io::ErrorKind::TimedOut | io::ErrorKind::Interrupted) =>
            {
                Ok(())
            }
            Err(error) => Err(Refusal::Link(error)),
        }
    }

    fn unasked(&mut self) -> Result<usize, Refusal> {
        let until = Instant::now() + SETTLE;
        let mut heard = Vec::new();
        while Instant::now() < until {
            self.hear(&mut heard)?;
        }
        Ok(heard.len())
    }

    /// A printer that tells every change by itself is told not to (`GS a 0`): its bytes would be taken for answers.
    fn quiet(&mut self) -> Result<(), Refusal> {
        if self.unasked()? == 0 {
            return Ok(());
        }
        self.put(&[0x1D, 0x61, 0])?;
        self.unasked()?;
        match self.unasked()? {
            count if count > FLOOD => Err(Refusal::Flood(count)),
            _ => Ok(()),
        }
    }

    /// Whether `DLE EOT n` is answered. One may be lost while a printer wakes up.
    fn status(&mut self, number: u8) -> Result<bool, Refusal> {
        for _ in 0..2 {
            let question = [0x10, 0x04, number];
            self.put(&question)?;
            let heard = self.listen(1)?;
            match heard[..] {
                [] => continue,
                [byte] if is_status(byte) => return Ok(true),
                _ if heard.starts_with(&question[..2]) => return Err(Refusal::Echo),
                _ if heard.iter().all(|&byte| is_status(byte)) && heard.len() <= FLOOD => return Ok(true),
                _ if heard.iter().all(|&byte| is_status(byte)) => return Err(Refusal::Flood(heard.len())),
                _ => return Err(Refusal::Stranger(shown(&heard))),
            }
        }
        Ok(false)
    }

    /// The question that proves most of those that are answered.
    fn fence(&mut self) -> Result<Option<Fence>, Refusal> {
        self.put(b"\x1D(H\x06\x0000BADE")?;
        if self.listen(7)? == b"\x37\x22BADE\0" {
            return Ok(Some(Fence::Process));
        }
        self.put(&[0x1D, 0x72, 1, 0x1D, 0x72, 1])?;
        match self.listen(2)?[..] {
            [first, second] if first == second && first & 0x90 == 0 => Ok(Some(Fence::Paper)),
            _ => Ok(None),
        }
    }

    /// A text between `_` and a zero.
    fn identity(&mut self, number: u8) -> Result<Option<String>, Refusal> {
        self.put(&[0x1D, 0x49, number])?;
        let heard = self.listen(3)?;
        let text = heard.strip_prefix(b"_").and_then(|rest| rest.split(|byte| *byte == 0).next());
        let words = text.map(|text| shown(text).trim().to_string());
        Ok(words.filter(|words| !words.is_empty()))
    }
}

/// At most forty letters; what is none is a point.
fn shown(bytes: &[u8]) -> String {
    shown_as(bytes, 40)
}

fn shown_as(bytes: &[u8], most: usize) -> String {
    bytes.iter().take(most).map(|&byte| if byte.is_ascii_graphic() || byte == b' ' { char::from(byte) } else { '.' }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::printer::pretend::Pretend;

    struct To(Pretend);

    impl Transport for To {
        fn put(&mut self, bytes: &[u8], _: Duration) -> io::Result<usize> {
            self.0.take(bytes);
            Ok(bytes.len())
        }

        fn hear(&mut self, into: &mut Vec<u8>, limit: Duration) -> io::Result<usize> {
            let heard = self.0.answers();
            if heard.is_empty() {
                std::thread::sleep(limit);
            }
            into.extend(&heard);
            Ok(heard.len())
        }

        fn hears(&self) -> bool {
            true
        }

        fn flush(&mut self, _: Duration) -> io::Result<bool> {
            Ok(true)
        }

        fn close(&mut self, _: Duration) {}
    }

    fn asked(fault: &str) -> Result<Heard, Refusal> {
        ask(&mut To(Pretend::new(fault).expect("known")))
    }

    #[test]
    fn a_printer_that_answers_is_known() {
        let heard = asked("sound").expect("a printer");
        assert_eq!((heard.status, heard.fence), (true, Some(Fence::Process)));
        assert!(heard.identity.contains(&("maker", "Reedbed Works".to_string())), "{:?}", heard.identity);
        assert_eq!(asked("mute").expect("a printer"), Heard { asked: true, ..Heard::default() });
    }

    #[test]
    fn what_is_no_printer_is_told_in_words() {
        assert!(asked("echo").is_err_and(|refusal| refusal.to_string().contains("sends back")));
        assert!(asked("flood").is_err_and(|refusal| refusal.to_string().contains("without being asked")));
    }
}
