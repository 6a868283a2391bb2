//! `stripling copy`: the manual as one lasting page.

use std::path::{Path, PathBuf};

use super::Error;
use super::inputs::{tell, unreadable};
use super::options::{Copy, Everywhere, Sheet, is_standard};
use super::output::{Output, Writes};
use super::report::{Reporter, Trouble};
use crate::copy::{self, HOW_TO_GET_PDF, words_for_units};
use crate::manual::source::{Level, Remark};
use crate::manual::{self, Document, Folder, Source, Template, Units};
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
    let form = if pdf { Form::Pdf(asked.paper) } else { Form::Page };
    can_make(form)?;
    let (folder, file, template) = template_of(&asked.manual, everywhere.project.as_deref(), None)?;
    let units = everywhere.units.as_deref().map(units_of).transpose()?;
    let columns = units.as_ref().map(Units::columns);
    let pictures = PictureSet::open(folder.clone(), type_setting::FONT_FILES);
    let opened = Opened { folder: &folder, file: &file, template: &template, columns, pictures: &pictures };
    let made = make(&opened, form)?;
    made.notices.iter().for_each(|notice| reporter.notice(notice));
    let said = |remark: &&Remark| HOLES.contains(&remark.rule) || remark.level != Level::Advice;
    let remarks = || made.document.remarks.iter().chain(&made.noticed);
    tell(&made.source, remarks().filter(said), reporter);
    let inputs: Vec<PathBuf> = folder.touched().into_iter().chain(everywhere.units.clone()).collect();
    output.spares(if pdf { Writes::Pdf } else { Writes::Page }, &inputs)?;
    output.write(&made.bytes)?;
    if let Output::File(path) = &output {
        reporter.say(format_args!("{}: {} KB", path.display(), made.bytes.len().div_ceil(1000)));
    }
    if remarks().any(|remark| HOLES.contains(&remark.rule)) { Err(Error::Found) } else { Ok(()) }
}

/// What a copy is made as.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    Page,
    /// On this sheet, or on that of the manual's region.
    Pdf(Option<Sheet>),
}

/// What a copy is made of.
pub struct Opened<'a> {
    pub folder: &'a Folder,
    pub file: &'a str,
    pub template: &'a Template,
    /// Those of the table of units, where there is one.
    pub columns: Option<&'a [String]>,
    pub pictures: &'a PictureSet,
}

/// A copy, and all that is said of it.
pub struct Made {
    pub bytes: Vec<u8>,
    source: Source,
    document: Document,
    noticed: Vec<Remark>,
    notices: Vec<Trouble>,
}

/// The copy of a manual, filled for all units.
///
/// # Errors
/// [`Error::Usage`] for a PDF where the program makes none; [`Error::Input`] when the template, the header or a block cannot be
/// understood, or cannot stand in a PDF.
pub fn make(opened: &Opened, form: Form) -> Result<Made, Error> {
    can_make(form)?;
    let source = opened.template.fill_for_all(opened.columns, words_for_units).map_err(|error| unreadable(&error))?;
    let document = manual::parse(&source).map_err(|error| unreadable(&error))?;
    match form {
        #[cfg(feature = "pdf")]
        Form::Pdf(sheet) => paper::make(opened, source, document, sheet),
        _ => {
            let made = copy::html(&document, opened.pictures, stem(opened.file));
            Ok(Made { bytes: made.html.into_bytes(), source, document, noticed: made.remarks, notices: Vec::new() })
        }
    }
}

fn can_make(form: Form) -> Result<(), Error> {
    match (form, HOW_TO_GET_PDF) {
        (Form::Pdf(_), Some(how)) => Err(Error::Usage(Trouble::new("this program was built without PDF").hint(how))),
        _ => Ok(()),
    }
}

#[cfg(feature = "pdf")]
mod paper {
    use super::*;
    use crate::copy::pdf::{self, FINE};
    use crate::prepress::{own_faces, signs, system_faces};
    use crate::type_setting::Faces;

    /// The copy as PDF; faces that the machine has stand in where the program has none.
    pub fn make(opened: &Opened, source: Source, document: Document, asked: Option<Sheet>) -> Result<Made, Error> {
        let header = &document.header;
        let mut faces = Faces::new(FINE);
        for (tag, path, bytes) in own_faces(opened.folder, header, &source)? {
            faces = faces.with_face(&tag, bytes).map_err(|error| {
                Error::Input(Trouble::new(format!("the face {path:?} cannot be used: {error}")).hint(error.hint()))
            })?;
        }
        let text: String = signs(&source, None).into_iter().collect();
        let found = system_faces::complete(&mut faces, &text, header.tongue, &system_faces::folders());
        let notice = |found: system_faces::Found| {
            let trouble = Trouble::new(format!(
                "no shipped face has all characters: {:?} goes into the PDF, {}",
                found.family,
                found.path.display()
            ));
            trouble.hint("its licence is yours to check; or name a face of your own in [faces]")
        };
        let notices = found.into_iter().map(notice).collect();
        let sheet = match asked {
            Some(Sheet::A4) => pdf::Sheet::A4,
            Some(Sheet::Letter) => pdf::Sheet::Letter,
            None => pdf::Sheet::of(header.language.as_deref()),
        };
        let made = pdf::pdf(&document, opened.pictures, pdf::as_designed(faces), stem(opened.file), sheet).map_err(|why| {
            Error::Input(Trouble::new(format!("no PDF: {why}")).hint("the web page has no such limits: -o FILE.html"))
        })?;
        Ok(Made { bytes: made.bytes, source, document, noticed: made.remarks, notices })
    }
}

/// A file's name without folders and ending.
pub fn stem(file: &str) -> &str {
    Path::new(file).file_stem().and_then(|stem| stem.to_str()).unwrap_or(file)
}

fn beside(manual: &Path) -> PathBuf {
    if is_standard(manual) {
        return "manual.html".into();
    }
    let name = manual.file_name().map_or_else(|| "manual".into(), |name| name.to_string_lossy().into_owned());
    format!("{}.html", stem(&name)).into()
}
