//! `queue:NAME`: the system's own print queue, raw, by its own `lp` and `lpstat`: one job a strip.
//!
//! A job that has left the queue was handed to the printer, or taken out by someone; nothing comes back from the paper, and
//! `lpstat` of CUPS 2.4.2 shows a completed job and a cancelled one alike, and a raw queue of it on a `file:` device calls jobs
//! completed of which it has not written one byte (both measured). So every strip that went to a queue is
//! `unknown` until a person has looked: the queue suits runs that are looked through at the end.

use super::{Destination, Kind, Progress, Settings, options, unknown_option};
use crate::send::Error;
use crate::send::capabilities::Times;
use crate::send::process::{self, Errand};
use crate::send::stop::Stop;
use crate::send::strip_bytes::StripBytes;
use crate::send::trouble::{Outcome, Trouble};
use std::collections::BTreeSet;
use std::time::Instant;

pub(super) const KIND: Kind = Kind {
    form: "queue:NAME",
    what: "the system's print queue, raw; queue:NAME?server=HOST:PORT asks another computer's",
    claims: |address| address.starts_with("queue:"),
    place: str::to_owned,
    open,
    transport: None,
};

/// The names of the system's queues, one a line.
///
/// # Errors
/// The program that lists them is not there or can't be run.
pub fn names() -> std::io::Result<String> {
    let errand = process::run("lpstat", &["-e"], Vec::new(), Times::default().connect, &Stop::new())?;
    // Without a queue it says so, and fails.
    Ok(if errand.success { errand.output } else { String::new() })
}

struct Queue {
    address: String,
    queue: String,
    server: Option<String>,
    times: Times,
    stop: Stop,
    /// The queue's jobs before the strip, where they could be asked for.
    before: Option<BTreeSet<String>>,
}

fn open(address: &str, settings: Settings) -> Result<Box<dyn Destination>, Error> {
    let (name, options) = options(address.strip_prefix("queue:").unwrap_or(address));
    let sound =
        |name: &str| !name.is_empty() && !name.starts_with('-') && !name.contains(|c: char| c.is_whitespace() || c.is_control());
    if !sound(name) {
        return Err(Error::Address {
            address: address.to_owned(),
            why: "it names no queue".to_owned(),
            hint: "write queue:NAME; `lpstat -e` lists the names".to_owned(),
        });
    }
    let mut server = None;
    for (key, value) in options {
        match key {
            "server" if sound(value) => server = Some(value.to_owned()),
            _ => return Err(unknown_option(address, key, &["server=HOST:PORT"])),
        }
    }
    Ok(Box::new(Queue {
        address: address.to_owned(),
        queue: name.to_owned(),
        server,
        times: settings.times,
        stop: settings.stop,
        before: None,
    }))
}

/// Where a job is.
#[derive(Debug, PartialEq, Eq)]
enum Job {
    Waiting,
    Left,
    /// The queue says that it was not completed, in its own word.
    Ended(String),
}

impl Queue {
    fn errand(&self, program: &str, arguments: &[&str], input: Vec<u8>) -> Result<Errand, Trouble> {
        let mut all = Vec::new();
        if let Some(server) = &self.server {
            all.extend(["-h", server]);
        }
        all.extend(arguments);
        process::run(program, &all, input, self.times.write, &self.stop).map_err(|error| {
            Trouble::Queue(if error.kind() == std::io::ErrorKind::NotFound {
                format!("the program `{program}` is not there: install the system's print queue (CUPS), or print to the printer itself")
            } else {
                format!("`{program}` did not work ({error})")
            })
        })
    }

    /// The queue exists and is at work.
    fn look(&self) -> Result<(), Trouble> {
        let told = self.errand("lpstat", &["-p", &self.queue], Vec::new())?;
        if !told.timed_out && !told.success {
            let why = told.errors.trim();
            return Err(Trouble::Queue(format!(
                "the print queue `{}` is not known ({why}): `lpstat -e` lists the names",
                self.queue
            )));
        }
        if told.timed_out {
            return Err(Trouble::Queue("the system's print queue does not answer: is it started?".to_owned()));
        }
        let words = told.output.trim();
        if words.contains(" disabled since ") {
            let reason = words.lines().nth(1).map_or("no reason given", str::trim);
            return Err(Trouble::Queue(format!(
                "the print queue `{0}` is stopped ({reason}): look at its printer, then `cupsenable {0}`",
                self.queue
            )));
        }
        Ok(())
    }

    /// Names of all jobs of the queue, waiting and ended; `None` where it does not say.
    fn jobs(&self) -> Option<BTreeSet<String>> {
        let mut jobs = BTreeSet::new();
        for which in ["not-completed", "completed"] {
            let told = self.errand("lpstat", &["-W", which, "-o", &self.queue], Vec::new()).ok()?;
            if told.timed_out || !told.success {
                return None;
            }
            let names = told.output.lines().filter(|line| !line.starts_with(char::is_whitespace));
            jobs.extend(names.filter_map(|line| line.split_whitespace().next()).map(str::to_owned));
        }
        Some(jobs)
    }

    /// What became of a strip of which the queue named no job. Missing only where it is certain that there is none: `lp` itself says
    /// that it failed, and no job is there that was not there before.
    fn without_a_name(&self, told: &Errand) -> Outcome {
        let said = [told.output.trim(), told.errors.trim()].into_iter().filter(|words| !words.is_empty()).collect::<Vec<_>>();
        let said = if said.is_empty() { "it said nothing".to_owned() } else { said.join("; ") };
        let failed = !told.timed_out && !told.success;
        let now = if failed { self.jobs() } else { None };
        let none = matches!((&self.before, now), (Some(before), Some(now)) if now.is_subset(before));
        if none {
            let trouble = Trouble::Queue(format!("the print queue `{}` did not take the strip ({said})", self.queue));
            return Outcome::Missing { trouble };
        }
        let trouble =
            Trouble::Queue(format!("the print queue did not say whether it took the strip ({said}): `lpstat -o` lists its jobs"));
        Outcome::Unknown { why: trouble.to_string(), trouble: Some(trouble) }
    }

    fn state_of(&self, job: &str) -> Result<Job, Trouble> {
        let waiting = self.errand("lpstat", &["-W", "not-completed", "-o", &self.queue], Vec::new())?;
        if waiting.timed_out || !waiting.success || lists(&waiting.output, job) {
            return Ok(Job::Waiting);
        }
        let ended = self.errand("lpstat", &["-l", "-W", "completed", "-o", &self.queue], Vec::new())?;
        Ok(ending(&ended.output, job))
    }

    fn follow(&self, job: &str) -> Outcome {
        let until = Instant::now() + self.times.queue;
        loop {
            let unknown = |trouble: Trouble| Outcome::Unknown { why: format!("job {job}: {trouble}"), trouble: Some(trouble) };
            if self.stop.at_once() {
                return unknown(Trouble::Interrupted);
            }
            match self.state_of(job) {
                Err(trouble) => return unknown(trouble),
                Ok(Job::Left) => {
                    let why = format!("job {job} has left the queue, which can't say that it came out");
                    return Outcome::Unknown { why, trouble: None };
                }
                Ok(Job::Ended(word)) => {
                    return unknown(Trouble::Queue(format!("the print queue ended the job without completing it ({word})")));
                }
                Ok(Job::Waiting) => {}
            }
            if let Err(trouble) = self.look() {
                return unknown(trouble);
            }
            if Instant::now() >= until {
                let seconds = self.times.queue.as_secs();
                return unknown(Trouble::Queue(format!(
                    "the job is still in the queue after {seconds} s: look at the printer; `cancel {job}` takes it out"
                )));
            }
            std::thread::sleep(self.times.look);
        }
    }
}

fn lists(output: &str, job: &str) -> bool {
    output.lines().any(|line| line.split_whitespace().next() == Some(job))
}

/// Reads the list of ended jobs: a line that begins with the job's name, then indented ones, of which `Alerts:` says how it
/// ended, where the queue says it at all.
fn ending(output: &str, job: &str) -> Job {
    let lines = output.lines().skip_while(|line| line.split_whitespace().next() != Some(job)).skip(1);
    let details = lines.take_while(|line| line.starts_with(char::is_whitespace));
    let mut words = details.filter_map(|line| line.trim().strip_prefix("Alerts:")).flat_map(str::split_whitespace);
    let bad = words.find(|word| ["canceled", "aborted", "with-errors"].iter().any(|end| word.contains(end)));
    bad.map_or(Job::Left, |word| Job::Ended(word.to_owned()))
}

/// `request id is NAME-12 (0 file(s))`.
fn request(output: &str) -> Option<&str> {
    output.trim().strip_prefix("request id is ")?.split_whitespace().next()
}

impl Destination for Queue {
    fn name(&self) -> &str {
        &self.address
    }

    fn ready(&mut self, _strip: &StripBytes, _broken_off: bool, _progress: &mut dyn FnMut(Progress)) -> Result<(), Trouble> {
        self.look()?;
        self.before = self.jobs();
        Ok(())
    }

    fn send(&mut self, label: &str, strip: &StripBytes, progress: &mut dyn FnMut(Progress)) -> Outcome {
        let told = match self.errand("lp", &["-d", &self.queue, "-o", "raw", "-t", label], strip.joined()) {
            Ok(told) => told,
            Err(trouble) => return Outcome::Missing { trouble },
        };
        match request(&told.output) {
            Some(job) => {
                progress(Progress::Sent { bytes: strip.size() });
                self.follow(job)
            }
            None => self.without_a_name(&told),
        }
    }

    fn finish(&mut self) {}
}

#[cfg(test)]
mod tests {
    use super::*;

    // The first as Debian's cups 2.4.2 writes it, the second as later ones do.
    const ENDED: &str = concat!(
        "strips-2                root              1024   Wed Nov 25 13:06:17 2026\n",
        "\tStatus: \n\tAlerts: processing-to-stop-point\n\tqueued for strips\n",
        "strips-1                root               512   Wed Nov 25 13:06:15 2026\n",
        "\tStatus: \n\tAlerts: job-canceled-by-user\n\tqueued for strips\n",
    );

    #[test]
    fn the_queue_s_own_words_are_read() {
        assert_eq!(request("request id is strips-12 (0 file(s))\n"), Some("strips-12"));
        assert_eq!(request("lp: Error - unknown destination\n"), None);
        assert_eq!(ending(ENDED, "strips-1"), Job::Ended("job-canceled-by-user".to_owned()));
        assert_eq!(ending(ENDED, "strips-2"), Job::Left);
        assert_eq!(ending(ENDED, "strips-3"), Job::Left);
        assert!(lists(ENDED, "strips-2") && !lists(ENDED, "strips"));
    }
}
