//! What nearly every command opens first, and what is said of it.

use std::path::Path;

use super::Error;
use super::options::Everywhere;
use super::report::{Reporter, Trouble};
use crate::manual::source::{Level, Remark};
use crate::manual::{self, Source};
use crate::prepress::{self, HOLES, Made, Prepress};
use crate::printer::Profile;

/// A manual with all that was chosen for it.
///
/// # Errors
/// As [`Prepress::open`].
pub fn open(manual: &Path, everywhere: &Everywhere, reporter: &Reporter) -> Result<Prepress, Error> {
    let press = Prepress::open(manual, &everywhere.choices())?;
    press.notices().iter().for_each(|notice| reporter.notice(notice));
    Ok(press)
}

/// The printer that is meant, where no manual says its paper.
///
/// # Errors
/// As [`prepress::printer`].
pub fn printer(everywhere: &Everywhere, reporter: &Reporter) -> Result<Profile, Error> {
    let (profile, notices) = prepress::printer(everywhere.printer.as_deref(), None)?;
    notices.iter().for_each(|notice| reporter.notice(notice));
    Ok(profile)
}

/// An error of the manual's room, ready to be shown.
pub fn unreadable(error: &manual::Error) -> Error {
    prepress::Error::from(error).into()
}

/// Says what reading and laying out noticed, each thing once.
pub fn report(press: &Prepress, made: &Made, reporter: &Reporter) {
    for noticed in press.units.iter().flat_map(|units| units.noticed()) {
        reporter.notice(&Trouble::new(&noticed.message).at(Some(noticed.place.clone())).maybe_hint(noticed.hint.clone()));
    }
    tell(&made.source, made.remarks().filter(|remark| remark.level != Level::Advice), reporter);
}

/// Says what has a frame in its place: as errors, also when quiet.
pub fn report_holes(made: &Made, reporter: &Reporter) {
    tell(&made.source, made.remarks().filter(|remark| HOLES.contains(&remark.rule)), reporter);
}

/// Says remarks, each once; what leaves a frame is an error, for everything else is made all the same.
pub fn tell<'r>(source: &Source, remarks: impl Iterator<Item = &'r Remark>, reporter: &Reporter) {
    let mut told: Vec<(Level, &'static str, Trouble)> = Vec::new();
    for remark in remarks {
        let trouble = Trouble::new(&remark.message).maybe_hint(remark.hint.clone());
        let trouble = trouble.at_spot(Some(&source.spot(remark.span)));
        let level = if HOLES.contains(&remark.rule) { Level::Error } else { Level::Warning };
        if !told.iter().any(|(_, rule, known)| *rule == remark.rule && *known == trouble) {
            told.push((level, remark.rule, trouble));
        }
    }
    told.sort_by(|a, b| (a.0 != Level::Error, a.2.place()).cmp(&(b.0 != Level::Error, b.2.place())));
    reporter.findings(told);
}
