//! `stripling encode`: the bytes that print the strips, one after the other.

use super::Error;
use super::options::{Encode, Everywhere};
use super::output::{Output, Writing};
use super::press::Press;
use super::progress::Progress;
use super::report::Reporter;
use crate::printer;

pub fn run(asked: &Encode, everywhere: &Everywhere, reporter: &Reporter) -> Result<(), Error> {
    let output = Output::choose(asked.output.as_deref(), None)?;
    let press = Press::open(&asked.manual, everywhere, reporter)?;
    let chosen = press.chosen(asked.unit.as_deref())?;
    if chosen.len() > 1 {
        press.without_holes(&chosen)?;
    }
    let mut writing: Option<Writing> = None;
    let progress = Progress::new(chosen.len() as u64, "strips", reporter);
    let (mut bytes, mut first) = (0u64, true);
    press.each(
        &chosen,
        |unit, number| {
            let made = press.strip(unit, number)?;
            Ok((printer::encode(&made.strip, &press.profile), made))
        },
        |(encoded, made)| {
            if first {
                press.report(&made, reporter);
                first = false;
            }
            let writing = match &mut writing {
                Some(writing) => writing,
                None => writing.insert(output.begin()?),
            };
            writing.put(&encoded)?;
            bytes += encoded.len() as u64;
            progress.step(1);
            Ok(())
        },
    )?;
    progress.end();
    if let Some(writing) = writing {
        writing.end()?;
    }
    if let Output::File(path) = &output {
        let count = chosen.len();
        reporter.say(format_args!(
            "{}: {count} {}, {bytes} bytes for {}",
            path.display(),
            if count == 1 { "strip" } else { "strips" },
            press.profile.name
        ));
    }
    Ok(())
}
