//! `stripling copy`: the manual as one lasting page.

use std::path::{Path, PathBuf};

use super::Error;
use super::inputs::{tell, unreadable};
use super::options::{Copy, Everywhere, is_standard};
use super::output::{Output, Writes};
use super::report::{Reporter, Trouble};
use crate::copy::{self, words_for_units};
use crate::manual::source::{Level, Remark};
use crate::manual::{self, Document, Source, Template, Units};
use crate::pictures::PictureSet;
use crate::prepress::{HOLES, template_of, units_of};
use crate::type_setting;

pub fn run(asked: &Copy, everywhere: &Everywhere, reporter: &Reporter) -> Result<(), Error> {
    let output = Output::choose(asked.output.as_deref(), Some(beside(&asked.manual)))?;
    let pdf = matches!(&output, Output::File(path) if path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("pdf")));
    if asked.paper.is_some() && !pdf {
        let trouble = Trouble::new("--paper is the sheet of a PDF, and this copy is a web page");
        return Err(Error::Usage(trouble.hint("name the file with .pdf: -o FILE.pdf")));
    }
    if pdf && cfg!(not(feature = "pdf")) {
        let trouble = Trouble::new("this program was built without PDF");
        return Err(Error::Usage(trouble.hint("cargo install --locked --path . --features pdf")));
    }
    let (folder, file, template) = template_of(&asked.manual, everywhere.project.as_deref(), None)?;
    let units = everywhere.units.as_deref().map(units_of).transpose()?;
    let columns = units.as_ref().map(Units::columns);
    let pictures = PictureSet::open(folder.clone(), type_setting::FONT_FILES);
    let (source, document) = read(&template, columns)?;
    let (bytes, noticed) = match pdf {
        #[cfg(feature = "pdf")]
        true => paper::make(asked.paper, &source, &document, &folder, &pictures, stem(&file), reporter)?,
        _ => {
            let made = copy::html(&document, &pictures, stem(&file));
            (made.html.into_bytes(), made.remarks)
        }
    };
    let said = |remark: &&Remark| HOLES.contains(&remark.rule) || remark.level != Level::Advice;
    let remarks = || document.remarks.iter().chain(&noticed);
    tell(&source, remarks().filter(said), reporter);
    let inputs: Vec<PathBuf> = folder.touched().into_iter().chain(everywhere.units.clone()).collect();
    output.spares(if pdf { Writes::Pdf } else { Writes::Page }, &inputs)?;
    output.write(&bytes)?;
    if let Output::File(path) = &output {
        reporter.say(format_args!("{}: {} KB", path.display(), bytes.len().div_ceil(1000)));
    }
    if remarks().any(|remark| HOLES.contains(&remark.rule)) { Err(Error::Found) } else { Ok(()) }
}

/// The manual filled for all units.
fn read(template: &Template, columns: Option<&[String]>) -> Result<(Source, Document), Error> {
    let source = template.fill_for_all(columns, words_for_units).map_err(|error| unreadable(&error))?;
    let document = manual::parse(&source).map_err(|error| unreadable(&error))?;
    Ok((source, document))
}

#[cfg(feature = "pdf")]
mod paper {
    use super::*;
    use crate::commands::options::Sheet as Asked;
    use crate::copy::pdf::{self, FINE, Sheet};
    use crate::manual::Folder;
    use crate::prepress::{own_faces, signs, system_faces};
    use crate::type_setting::Faces;

    /// The copy as PDF, with what was noticed; faces that the machine has stand in where the program has none.
    pub fn make(
        asked: Option<Asked>,
        source: &Source,
        document: &Document,
        folder: &Folder,
        pictures: &PictureSet,
        name: &str,
        reporter: &Reporter,
    ) -> Result<(Vec<u8>, Vec<Remark>), Error> {
        let header = &document.header;
        let mut faces = Faces::new(FINE);
        for (tag, path, bytes) in own_faces(folder, header, source)? {
            faces = faces.with_face(&tag, bytes).map_err(|error| {
                Error::Input(Trouble::new(format!("the face {path:?} cannot be used: {error}")).hint(error.hint()))
            })?;
        }
        let text: String = signs(source, None).into_iter().collect();
        for found in system_faces::complete(&mut faces, &text, header.tongue, &system_faces::folders()) {
            let trouble = Trouble::new(format!(
                "no shipped face has all characters: {:?} goes into the PDF, {}",
                found.family,
                found.path.display()
            ));
            reporter.notice(&trouble.hint("its licence is yours to check; or name a face of your own in [faces]"));
        }
        let sheet = match asked {
            Some(Asked::A4) => Sheet::A4,
            Some(Asked::Letter) => Sheet::Letter,
            None => Sheet::of(header.language.as_deref()),
        };
        let made = pdf::pdf(document, pictures, pdf::as_designed(faces), name, sheet).map_err(|why| {
            Error::Input(Trouble::new(format!("no PDF: {why}")).hint("the web page has no such limits: -o FILE.html"))
        })?;
        Ok((made.bytes, made.remarks))
    }
}

/// The copy of a manual, with what it was made of. `columns` are those of the table of units.
///
/// # Errors
/// [`Error::Input`] when the template, the header or a block cannot be understood.
pub fn make(
    template: &Template,
    columns: Option<&[String]>,
    pictures: &PictureSet,
    file: &str,
) -> Result<(Source, Document, copy::Copy), Error> {
    let (source, document) = read(template, columns)?;
    let made = copy::html(&document, pictures, stem(file));
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
