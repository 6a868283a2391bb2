//! Runs a program of the system with bytes to read and a limit to its time.

use std::io::{self, Read, Write};
use std::process::{Command, Stdio};
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

/// Its words are asked for in English, because they are read by this program.
///
/// # Errors
/// The program is not there or can't be started.
pub(crate) fn run(program: &str, arguments: &[&str], input: Vec<u8>, limit: Duration) -> io::Result<Errand> {
    let mut child = Command::new(program)
        .args(arguments)
        .env("LC_ALL", "C")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()?;
    let feeder = child.stdin.take().map(|mut stdin| thread::spawn(move || stdin.write_all(&input)));
    let output = child.stdout.take().map(read_all);
    let errors = child.stderr.take().map(read_all);
    let until = Instant::now() + limit;
    let mut timed_out = false;
    let status = loop {
        if let Some(status) = child.try_wait()? {
            break status;
        }
        if Instant::now() >= until {
            timed_out = true;
            child.kill()?;
            break child.wait()?;
        }
        thread::sleep(Duration::from_millis(5));
    };
    let fed = feeder.is_none_or(|feeder| matches!(feeder.join(), Ok(Ok(()))));
    let text = |reader: Option<thread::JoinHandle<String>>| reader.and_then(|reader| reader.join().ok()).unwrap_or_default();
    Ok(Errand { success: status.success() && fed, timed_out, output: text(output), errors: text(errors) })
}

fn read_all(mut from: impl Read + Send + 'static) -> thread::JoinHandle<String> {
    thread::spawn(move || {
        let mut bytes = Vec::new();
        // What came before an error is all there is to read.
        let _ = from.by_ref().take(1 << 20).read_to_end(&mut bytes);
        String::from_utf8_lossy(&bytes).into_owned()
    })
}

#[cfg(all(test, unix))]
mod tests {
    use super::*;

    #[test]
    fn a_program_that_never_ends_is_ended() {
        let errand = run("sleep", &["60"], Vec::new(), Duration::from_millis(100)).expect("every system has sleep");
        assert!(errand.timed_out && !errand.success);
    }

    #[test]
    fn bytes_go_through_unchanged() {
        let errand = run("cat", &[], b"strip".repeat(50_000), Duration::from_secs(20)).expect("every system has cat");
        assert_eq!((errand.success, errand.output.len()), (true, 250_000));
    }
}
