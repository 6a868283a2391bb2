//! `stripling encode`: the bytes that print the strips, one after the other.

use super::options::{Encode, Everywhere};
use super::output::{Output, Writes, Writing};
use super::press::Press;
use super::progress::Progress;
use super::report::{Reporter, Trouble};
use super::{Error, naming};
use crate::manual::Unit;
use crate::printer;

pub fn run(asked: &Encode, everywhere: &Everywhere, reporter: &Reporter) -> Result<(), Error> {
    let output = Output::choose(asked.output.as_deref(), None)?;
    let press = Press::open(&asked.manual, everywhere, reporter)?;
    let chosen = press.chosen(asked.unit.as_deref())?;
    if chosen.len() > 1 {
        press.without_holes(&chosen)?;
    }
    if let Output::File(pattern) = &output
        && pattern.to_string_lossy().contains("{{")
    {
        return many(&pattern.display().to_string(), &press, &chosen, reporter);
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
                None => {
                    output.spares(Writes::Bytes, &press.inputs())?;
                    writing.insert(output.begin()?)
                }
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

/// A file for every unit, each under its own name.
fn many(pattern: &str, press: &Press, chosen: &[(Option<&Unit>, u64)], reporter: &Reporter) -> Result<(), Error> {
    let units: Vec<&Unit> = chosen.iter().filter_map(|(unit, _)| *unit).collect();
    if units.is_empty() {
        let trouble = Trouble::new(format!("there are no units to name {pattern} after"));
        return Err(Error::Usage(trouble.hint("name the table with --units FILE.csv, or leave the field out")));
    }
    let files = naming::names(pattern, &units)?;
    let progress = Progress::new(chosen.len() as u64, "strips", reporter);
    let (mut bytes, mut done) = (0u64, 0);
    press.each(
        chosen,
        |unit, number| {
            let made = press.strip(unit, number)?;
            Ok((printer::encode(&made.strip, &press.profile), made))
        },
        |(encoded, made)| {
            if done == 0 {
                press.report(&made, reporter);
            }
            naming::put(&files[done], Writes::Bytes, &encoded, &press.inputs())?;
            bytes += encoded.len() as u64;
            done += 1;
            progress.step(1);
            Ok(())
        },
    )?;
    progress.end();
    reporter.say(format_args!("{done} files written to {pattern}, {bytes} bytes for {}", press.profile.name));
    Ok(())
}
