//! `stripling proof`: a strip becomes a picture.

use std::path::{Path, PathBuf};

use super::inputs;
use super::options::{Everywhere, Look, Proof, is_standard};
use super::output::{Output, Writes};
use super::progress::Progress;
use super::report::{Reporter, Trouble};
use super::{Error, naming};
use crate::manual::Unit;
use crate::prepress::{Made, Prepress};
use crate::printer::Profile;
use crate::strip::map::Map;
use crate::strip::{Strip, paper, png};

pub fn run(asked: &Proof, everywhere: &Everywhere, reporter: &Reporter) -> Result<(), Error> {
    let to_standard = |path: &Option<PathBuf>| path.as_deref() == Some(Path::new("-"));
    if to_standard(&asked.output) && to_standard(&asked.map) {
        let trouble = Trouble::new("the picture and the map cannot both go to standard output");
        return Err(Error::Usage(trouble.hint("name a file with -o FILE.png or --map FILE.json")));
    }
    let press = inputs::open(&asked.manual, everywhere, reporter)?;
    let chosen = press.chosen(asked.unit.as_deref())?;
    if let [(unit, number)] = chosen.as_slice() {
        let made = press.draft(*unit, *number)?;
        inputs::report(&press, &made, reporter);
        // A map that goes to standard output leaves the picture out unless a file is named for it.
        let output = match (&asked.output, to_standard(&asked.map)) {
            (None, true) => None,
            (named, _) => Some(Output::choose(named.as_deref(), Some(beside(&asked.manual, *unit)))?),
        };
        let map = asked.map.as_ref().map(|map| Ok::<_, Error>((Output::choose(Some(map), None)?, map_of(&made)?))).transpose()?;
        let inputs = press.inputs();
        output.iter().try_for_each(|output| output.spares(Writes::Picture, &inputs))?;
        map.iter().try_for_each(|(output, _)| output.spares(Writes::Json, &inputs))?;
        if let Some(output) = output {
            output.write(&picture(&made.strip, asked.look, &press.profile)?)?;
            said(&output, &made, reporter);
        }
        if let Some((output, map)) = map {
            output.write(&map)?;
        }
        return Ok(());
    }
    many(asked, &press, &chosen, reporter)
}

/// A picture for every unit, each under its own name.
fn many(asked: &Proof, press: &Prepress, chosen: &[(Option<&Unit>, u64)], reporter: &Reporter) -> Result<(), Error> {
    let units: Vec<&Unit> = chosen.iter().filter_map(|(unit, _)| *unit).collect();
    let standard = match &asked.output {
        Some(path) => path == Path::new("-"),
        None => Output::choose(None, Some(PathBuf::new()))? == Output::Standard,
    };
    if standard {
        let trouble = Trouble::new(format!("{} pictures cannot all go to standard output", units.len()));
        return Err(Error::Usage(trouble.hint("write them with -o 'strips/{{ unit.serial }}.png', or choose one with --unit")));
    }
    let pattern = match &asked.output {
        Some(pattern) => pattern.display().to_string(),
        None => pattern_beside(&asked.manual),
    };
    let pictures = naming::names(&pattern, &units)?;
    let maps = asked.map.as_ref().map(|map| naming::names(&map.display().to_string(), &units)).transpose()?;
    let replaced = pictures.iter().chain(maps.iter().flatten()).filter(|path| path.exists()).count();
    let progress = Progress::new(chosen.len() as u64, "strips", reporter);
    let mut done = 0;
    let make = |unit: Option<&Unit>, number| {
        let made = press.draft(unit, number)?;
        let map = maps.as_ref().map(|_| map_of(&made)).transpose()?;
        Ok((picture(&made.strip, asked.look, &press.profile)?, map, made))
    };
    press.each::<_, Error>(chosen, make, |(picture, map, made)| {
        if done == 0 {
            inputs::report(press, &made, reporter);
        }
        let inputs = press.inputs();
        naming::put(&pictures[done], Writes::Picture, &picture, &inputs)?;
        if let (Some(maps), Some(map)) = (&maps, map) {
            naming::put(&maps[done], Writes::Json, &map, &inputs)?;
        }
        done += 1;
        progress.step(1);
        Ok(())
    })?;
    progress.end();
    reporter.say(format_args!(
        "{done} strips written to {pattern}{}",
        if replaced > 0 { format!(", {replaced} files replaced") } else { String::new() }
    ));
    Ok(())
}

fn map_of(made: &Made) -> Result<Vec<u8>, Error> {
    let map = Map::new(&made.layout, &made.source);
    serde_json::to_vec_pretty(&map).map_err(|error| Error::Input(Trouble::new(format!("the map cannot be written: {error}"))))
}

fn stem(manual: &Path) -> String {
    if is_standard(manual) {
        return "manual".into();
    }
    manual.file_stem().map_or_else(|| "strip".into(), |stem| stem.to_string_lossy().into_owned())
}

fn pattern_beside(manual: &Path) -> String {
    format!("{}-{{{{ unit.key }}}}.strip.png", stem(manual))
}

/// The name taken when none is given: that of the manual, here, and that it is its strip, for `heron.png` may be Heron's photograph.
fn beside(manual: &Path, unit: Option<&Unit>) -> PathBuf {
    match unit {
        Some(unit) => {
            let names = naming::names(&pattern_beside(manual), &[unit]).ok();
            names.and_then(|mut names| names.pop()).unwrap_or_else(|| "unit.strip.png".into())
        }
        None => format!("{}.strip.png", stem(manual)).into(),
    }
}

fn said(output: &Output, made: &Made, reporter: &Reporter) {
    if let Output::File(path) = output {
        let bitmap = &made.strip.bitmap;
        let length = made.strip.resolution.mm(crate::lengths::Dots(bitmap.height() as i32)).value();
        let panels = made.strip.panels.len();
        reporter.say(format_args!(
            "{}: {} x {} dots, {length:.0} mm, {panels} {}",
            path.display(),
            bitmap.width(),
            bitmap.height(),
            if panels == 1 { "panel" } else { "panels" }
        ));
    }
}

/// The picture of a strip: its dots and nothing else, or the paper as it will lie on the table.
///
/// # Errors
/// [`Error::Input`] for paper too long to be shown lying on a table.
pub fn picture(strip: &Strip, look: Look, profile: &Profile) -> Result<Vec<u8>, Error> {
    match look {
        Look::Dots => Ok(png::write(&strip.bitmap, strip.resolution)),
        Look::Paper => paper::write(strip, profile.resolution.dots(profile.paper_width)).ok_or_else(|| {
            let rows = strip.bitmap.height();
            let trouble = Trouble::new(format!("{rows} rows are too many to show as paper"));
            Error::Input(trouble.hint("look at them as dots"))
        }),
    }
}
