//! `stripling copy`: the manual as one lasting page.

use std::path::{Path, PathBuf};

use super::Error;
use super::options::{Copy, Everywhere};
use super::output::{Output, Writes};
use super::press::{HOLES, is_standard, tell, template_of, units_of, unreadable};
use super::report::{Reporter, Trouble};
use crate::copy::{self, words_for_units};
use crate::manual::source::{Level, Remark};
use crate::manual::{self, Document, Source, Template, Units};
use crate::pictures::Album;
use crate::type_setting;

pub fn run(asked: &Copy, everywhere: &Everywhere, reporter: &Reporter) -> Result<(), Error> {
    let output = Output::choose(asked.output.as_deref(), Some(beside(&asked.manual)))?;
    if let Output::File(path) = &output
        && path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("pdf"))
    {
        let trouble = Trouble::new("a copy as PDF is not made yet");
        return Err(Error::Usage(trouble.hint("write the page with -o FILE.html; a browser prints it as PDF")));
    }
    let (folder, file, template) = template_of(&asked.manual, everywhere)?;
    let units = everywhere.units.as_deref().map(units_of).transpose()?;
    let album = Album::open(folder.clone(), type_setting::FONT_FILES);
    let (source, document, made) = make(&template, units.as_ref().map(Units::columns), &album, &file)?;
    let said = |remark: &&Remark| HOLES.contains(&remark.rule) || remark.level != Level::Advice;
    let remarks = || document.remarks.iter().chain(&made.remarks);
    tell(&source, remarks().filter(said), reporter);
    let inputs: Vec<PathBuf> = folder.touched().into_iter().chain(everywhere.units.clone()).collect();
    output.spares(Writes::Page, &inputs)?;
    output.write(made.html.as_bytes())?;
    if let Output::File(path) = &output {
        reporter.say(format_args!("{}: {} KB", path.display(), made.html.len().div_ceil(1000)));
    }
    if remarks().any(|remark| HOLES.contains(&remark.rule)) { Err(Error::Found) } else { Ok(()) }
}

/// The copy of a manual, with what it was made of. `columns` are those of the table of units.
///
/// # Errors
/// [`Error::Input`] when the template, the header or a block cannot be understood.
pub fn make(
    template: &Template,
    columns: Option<&[String]>,
    album: &Album,
    file: &str,
) -> Result<(Source, Document, copy::Copy), Error> {
    let source = template.fill_for_all(columns, words_for_units).map_err(|error| unreadable(&error))?;
    let document = manual::parse(&source).map_err(|error| unreadable(&error))?;
    let made = copy::html(&document, album, stem(file));
    Ok((source, document, made))
}

fn stem(file: &str) -> &str {
    Path::new(file).file_stem().and_then(|stem| stem.to_str()).unwrap_or(file)
}

fn beside(manual: &Path) -> PathBuf {
    if is_standard(manual) {
        return "manual.html".into();
    }
    let name = manual.file_name().map_or_else(|| "manual".into(), |name| name.to_string_lossy().into_owned());
    format!("{}.html", stem(&name)).into()
}
