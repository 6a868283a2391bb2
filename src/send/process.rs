//! Runs a program of the system with bytes to read and a limit to its time.

use super::stop::Stop;
use std::io::{self, Read, Write};
use std::process::{Command, Stdio};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread;
use std::time::{Duration, Instant};

/// What came of it.
#[derive(Debug)]
pub(crate) struct Errand {
    pub(crate) success: bool,
    /// It was ended because its time was up; what it had done by then is not known.
    pub(crate) timed_out: bool,
    pub(crate) output: String,
    pub(crate) errors: String,
}

/// How long the words of a program that has ended are waited for: a child of its own may hold its pipes open for ever.
const LAST_WORDS: Duration = Duration::from_millis(300);

/// Its words are asked for in English, because they are read by this program. Whatever happens after it was started is told by the
/// errand, not by an error. `stop` ends it as the limit does.
///
/// # Errors
/// The program is not there or can't be started.
pub(crate) fn run(program: &str, arguments: &[&str], input: Vec<u8>, limit: Duration, stop: &Stop) -> io::Result<Errand> {
    let mut child = Command::new(program)
        .args(arguments)
        .env("LC_ALL", "C")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()?;
    let feeder = child.stdin.take().map(|mut stdin| thread::spawn(move || stdin.write_all(&input)));
    let mut output = child.stdout.take().map(Words::of);
    let mut errors = child.stderr.take().map(Words::of);
    let until = Instant::now() + limit;
    let mut timed_out = false;
    let success = loop {
        match child.try_wait() {
            Ok(Some(status)) => break status.success(),
            Ok(None) if Instant::now() < until && !stop.at_once() => thread::sleep(Duration::from_millis(5)),
            // Its time is up, or the system does not say how it is.
            Ok(None) | Err(_) => {
                timed_out = true;
                // One that can't be killed any more has ended by itself; one that does not end is not waited for.
                let _ = child.kill();
                let _ = child.try_wait();
                break false;
            }
        }
    };
    let last = Instant::now() + LAST_WORDS;
    let text = |words: &mut Option<Words>| words.as_mut().map(|words| words.until(last)).unwrap_or_default();
    let (output, errors) = (text(&mut output), text(&mut errors));
    let fed = feeder.is_none_or(|feeder| {
        // A program may end before the system has let the thread say that all was written.
        while !feeder.is_finished() && Instant::now() < last {
            thread::sleep(Duration::from_millis(1));
        }
        feeder.is_finished() && matches!(feeder.join(), Ok(Ok(())))
    });
    Ok(Errand { success: success && fed, timed_out, output, errors })
}

/// What a program says, as far as it has come.
struct Words {
    said: Arc<Mutex<Vec<u8>>>,
    reader: thread::JoinHandle<()>,
}

impl Words {
    fn of(mut from: impl Read + Send + 'static) -> Words {
        let said = Arc::new(Mutex::new(Vec::new()));
        let heard = said.clone();
        let reader = thread::spawn(move || {
            let mut room = [0u8; 4096];
            // What came before an error is all there is to read.
            while let Ok(count @ 1..) = from.read(&mut room) {
                let mut heard = heard.lock().unwrap_or_else(PoisonError::into_inner);
                if heard.len() > MOST {
                    return;
                }
                heard.extend_from_slice(room.get(..count).unwrap_or_default());
            }
        });
        Words { said, reader }
    }

    fn until(&mut self, last: Instant) -> String {
        while !self.reader.is_finished() && Instant::now() < last {
            thread::sleep(Duration::from_millis(2));
        }
        String::from_utf8_lossy(&self.said.lock().unwrap_or_else(PoisonError::into_inner)).into_owned()
    }
}

/// Most bytes that are listened to.
const MOST: usize = 1 << 20;

#[cfg(all(test, unix))]
mod tests {
    use super::*;

    #[test]
    fn a_program_that_never_ends_is_ended() {
        let errand = run("sleep", &["60"], Vec::new(), Duration::from_millis(100), &Stop::new()).expect("every system has sleep");
        assert!(errand.timed_out && !errand.success);
    }

    #[test]
    fn bytes_go_through_unchanged() {
        let errand =
            run("cat", &[], b"strip".repeat(50_000), Duration::from_secs(20), &Stop::new()).expect("every system has cat");
        assert_eq!((errand.success, errand.output.len()), (true, 250_000));
    }

    #[test]
    fn a_child_that_keeps_the_pipe_is_not_waited_for_and_a_person_can_end_it() {
        let began = Instant::now();
        let errand = run("sh", &["-c", "echo taken; sleep 60 & exit 0"], Vec::new(), Duration::from_secs(50), &Stop::new());
        assert_eq!(errand.expect("every system has sh").output, "taken\n");
        let stop = Stop::new();
        stop.ask();
        stop.ask();
        let errand =
            run("sh", &["-c", "sleep 60; true"], Vec::new(), Duration::from_secs(50), &stop).expect("every system has sh");
        assert!(errand.timed_out);
        assert!(began.elapsed() < Duration::from_secs(40), "{:?}", began.elapsed());
    }
}
