//! `stripling encode`: the bytes that print the strips, one after the other.

use std::path::PathBuf;

use super::inputs;
use super::options::{Encode, Everywhere};
use super::output::{Output, Writes, Writing};
use super::progress::Progress;
use super::report::{Reporter, Trouble};
use super::{Error, naming};
use crate::manual::Unit;
use crate::printer;

pub fn run(asked: &Encode, everywhere: &Everywhere, reporter: &Reporter) -> Result<(), Error> {
    let output = Output::choose(asked.output.as_deref(), None)?;
    let press = inputs::open(&asked.manual, everywhere, reporter)?;
    let chosen = press.chosen(asked.unit.as_deref())?;
    if chosen.len() > 1 {
        press.without_holes(&chosen)?;
    }
    let files = match &output {
        Output::File(pattern) if pattern.to_string_lossy().contains("{{") => {
            Some(named(&pattern.display().to_string(), &chosen)?)
        }
        _ => None,
    };
    let mut writing: Option<Writing> = None;
    let progress = Progress::new(chosen.len() as u64, "strips", reporter);
    let (mut bytes, mut done) = (0u64, 0);
    press.each::<_, Error>(
        &chosen,
        |unit, number| {
            let made = press.strip(unit, number)?;
            Ok((printer::encode(&made.strip, &press.profile), made))
        },
        |(encoded, made)| {
            if done == 0 {
                inputs::report(&press, &made, reporter);
            }
            match &files {
                Some(files) => naming::put(&files[done], Writes::Bytes, &encoded, &press.inputs())?,
                None => {
                    let writing = match &mut writing {
                        Some(writing) => writing,
                        None => {
                            output.spares(Writes::Bytes, &press.inputs())?;
                            writing.insert(output.begin()?)
                        }
                    };
                    writing.put(&encoded)?;
                }
            }
            bytes += encoded.len() as u64;
            done += 1;
            progress.step(1);
            Ok(())
        },
    )?;
    progress.end();
    if let Some(writing) = writing {
        writing.end()?;
    }
    if let Output::File(path) = &output {
        let (path, name) = (path.display(), &press.profile.name);
        match &files {
            Some(_) => reporter.say(format_args!("{done} files written to {path}, {bytes} bytes for {name}")),
            None => {
                let strips = if done == 1 { "strip" } else { "strips" };
                reporter.say(format_args!("{path}: {done} {strips}, {bytes} bytes for {name}"));
            }
        }
    }
    Ok(())
}

/// A file for every unit, each under its own name.
fn named(pattern: &str, chosen: &[(Option<&Unit>, u64)]) -> Result<Vec<PathBuf>, Error> {
    let units: Vec<&Unit> = chosen.iter().filter_map(|(unit, _)| *unit).collect();
    if units.is_empty() {
        let trouble = Trouble::new(format!("there are no units to name {pattern} after"));
        return Err(Error::Usage(trouble.hint("name the table with --units FILE.csv, or leave the field out")));
    }
    naming::names(pattern, &units)
}
