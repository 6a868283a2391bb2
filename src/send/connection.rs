//! A destination that is a line to a printer: opened when it is needed, and afresh after it broke.

use super::capabilities::{Capabilities, Fence, Times};
use super::destination::contract::{Destination, Progress, Settings};
use super::session::{Reached, Session};
use super::stop::Stop;
use super::strip_bytes::StripBytes;
use super::transport::Transport;
use super::trouble::{Outcome, Trouble};
use std::io;

/// Opens the line; called again after the line broke.
pub(crate) type Opener = Box<dyn FnMut(&Times) -> io::Result<Box<dyn Transport>> + Send>;

pub(crate) struct Connection {
    name: String,
    open: Opener,
    session: Option<Session>,
    capabilities: Capabilities,
    times: Times,
    stop: Stop,
    low_told: bool,
    /// What stands at the other end, where it is no printer.
    no_printer: Option<&'static str>,
}

impl Connection {
    pub(crate) fn new(name: &str, settings: &Settings, open: Opener) -> Connection {
        Connection {
            name: name.to_owned(),
            open,
            session: None,
            capabilities: settings.capabilities.clone(),
            times: settings.times,
            stop: settings.stop.clone(),
            low_told: false,
            no_printer: None,
        }
    }

    /// A line to something that is no printer: nobody stands there who could put in paper.
    pub(crate) fn to(self, what: &'static str) -> Connection {
        Connection { no_printer: Some(what), ..self }
    }

    fn told(&self, trouble: Trouble) -> Trouble {
        let cause = match (&trouble, self.no_printer) {
            (_, None) => return trouble,
            (Trouble::Closed { .. }, _) => "whoever read it has left".to_owned(),
            (Trouble::Link { cause, .. } | Trouble::NoConnection { cause, .. }, _) => cause.to_string(),
            _ => return trouble,
        };
        Trouble::Output { at: self.no_printer.unwrap_or_default().to_owned(), cause }
    }

    fn drop_line(&mut self) {
        if let Some(mut session) = self.session.take() {
            session.close();
        }
    }

    /// Why nothing can be known although nothing went wrong.
    fn why_unknown(&self) -> String {
        match (self.capabilities.status, self.capabilities.fence) {
            (_, Fence::Paper | Fence::Process) => "the line brings no answers back".to_owned(),
            (true, Fence::None) => {
                "the printer took it and reports no fault, but has no way to say that it is printed".to_owned()
            }
            (false, Fence::None) if self.no_printer.is_some() => {
                "its bytes were handed over; whether they came out on paper can't be told from here".to_owned()
            }
            (false, Fence::None) => "the printer took it and can't answer".to_owned(),
        }
    }
}

impl Destination for Connection {
    fn name(&self) -> &str {
        &self.name
    }

    fn ready(&mut self, strip: &StripBytes, broken_off: bool, progress: &mut dyn FnMut(Progress)) -> Result<(), Trouble> {
        let fresh = self.session.is_none();
        let session = match &mut self.session {
            Some(session) => session,
            None => {
                let transport =
                    (self.open)(&self.times).map_err(|cause| Trouble::NoConnection { at: self.name.clone(), cause })?;
                self.session.insert(Session::new(
                    self.name.clone(),
                    transport,
                    self.capabilities.clone(),
                    self.times,
                    self.stop.clone(),
                ))
            }
        };
        let result = session.prepare(fresh, broken_off, strip.longest());
        if session.paper_low() && !std::mem::replace(&mut self.low_told, true) {
            progress(Progress::PaperLow);
        }
        let result = result.map_err(|trouble| self.told(trouble));
        if result.is_err() {
            // Also after a mere paper end: whether the line is in order is asked again from the start.
            self.drop_line();
        }
        result
    }

    fn send(&mut self, _label: &str, strip: &StripBytes, progress: &mut dyn FnMut(Progress)) -> Outcome {
        let Some(session) = &mut self.session else {
            return Outcome::Missing { trouble: Trouble::Closed { at: self.name.clone() } };
        };
        let mut reached = Reached::default();
        let result = session.send(strip, &mut reached, &mut |bytes| progress(Progress::Sent { bytes }));
        match result {
            Ok(()) if session.proves() => Outcome::Printed,
            Ok(()) => Outcome::Unknown { why: self.why_unknown(), trouble: None },
            Err(trouble) => {
                let trouble = self.told(trouble);
                self.drop_line();
                if reached.may_be_whole {
                    let why = format!("{} of {} bytes were sent when: {trouble}", reached.bytes, strip.size());
                    Outcome::Unknown { why, trouble: Some(trouble) }
                } else {
                    Outcome::Missing { trouble }
                }
            }
        }
    }

    fn finish(&mut self) {
        self.drop_line();
    }
}
