//! Prepress: a manual with its units, printer, style, faces and pictures, all opened once; then a strip for any unit.
//!
//! The one way from a manual to its strip, for every command and for the desk, so that what is proofed is what is printed:
//!
//! ```text
//! Prepress::open(manual, choices) -> chosen(unit) -> strip(unit, number): Made { source, document, layout, strip }
//! ```
//!
//! Opens files, and asks no network. Says nothing to anybody: what there is to say is in what it gives.

mod date;
mod faces;
mod found_pictures;
mod holes;
mod inputs;
pub mod system_faces;
mod trouble;

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use rayon::prelude::*;

use crate::language::Language;
use crate::layout::{self, Context, GalleyCache, Layout, Style};
use crate::lengths::Mm;
use crate::manual::source::Remark;
use crate::manual::{self, Document, Folder, Run, Source, Template, Unit, Units, Unsaved};
use crate::pictures::PictureSet;
use crate::printer::{self, Profile};
use crate::strip::{self, Strip};
use crate::type_setting::{self, Faces};
use faces::{OwnFace, wanted_faces};
use holes::{Hole, refused};
use system_faces::Found;

pub use faces::{own_faces, signs};
pub use holes::HOLES;
pub use inputs::{STANDARD, head_of, printer, read, template_of, trouble, units_of};
pub use trouble::{Error, Trouble};

/// Pixels of a manual's pictures from which on a strip of frames is worth its while: half a second of decoding.
const LONG: u64 = 40_000_000;
/// What a person chose besides the manual.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Choices {
    /// A generic printer's name, or the TOML file of one; else the manual's paper decides.
    pub printer: Option<String>,
    /// `plain`, `comic`, `compact`, or a TOML file; else the manual's.
    pub style: Option<String>,
    /// A table of units, CSV.
    pub units: Option<PathBuf>,
    /// The folder that files may be read from; else the manual's project.
    pub project: Option<PathBuf>,
    /// What one of the manual's files is taken to hold, for a look at it before it is written.
    pub unsaved: Option<Unsaved>,
}

impl Choices {
    /// The files that it names. A generic printer or a built-in style is none, and harmless among them.
    pub fn files(&self) -> impl Iterator<Item = PathBuf> + use<> {
        let named = [&self.printer, &self.style].into_iter().flatten().map(PathBuf::from);
        named.chain(self.units.clone()).collect::<Vec<_>>().into_iter()
    }
}

/// A manual that is ready for the press.
pub struct Prepress {
    pub folder: Folder,
    pub file: String,
    pub template: Template,
    pub units: Option<Units>,
    pub profile: Profile,
    pub style: Style,
    pub date: String,
    /// Picture files in the manual's folder and the folders in it.
    picture_files: Vec<String>,
    own_faces: Vec<OwnFace>,
    /// Files that were chosen by name.
    named: Vec<PathBuf>,
    /// What the printer's file is noticed for.
    notices: Vec<Trouble>,
    /// One for each language that strips are written in, where that makes a difference; never none.
    cases: Vec<Case>,
    pictures: PictureSet,
}

/// The faces that strips in one language are set in, and what was set with them. They depend on what is written in that language and
/// on nothing that other units say, nor on the order of the table.
struct Case {
    language: Language,
    faces: Faces,
    /// Faces that are not the program's and not the writer's.
    found: Vec<Found>,
    /// Characters that belong to writings for which there is no face on this machine either.
    lacking: BTreeSet<char>,
    cache: GalleyCache,
}

/// One strip and all that is known of it.
pub struct Made {
    pub source: Source,
    pub document: Document,
    pub layout: Layout,
    pub strip: Strip,
}

impl Made {
    /// What reading and laying out noticed.
    pub fn remarks(&self) -> impl Iterator<Item = &Remark> {
        self.document.remarks.iter().chain(&self.layout.remarks)
    }
}

impl Prepress {
    /// Opens everything that a manual needs.
    ///
    /// # Errors
    /// [`Error::Input`] for whatever cannot be read or used, [`Error::Usage`] for a printer that nobody knows.
    pub fn open(path: &Path, choices: &Choices) -> Result<Prepress, Error> {
        Prepress::open_again(path, choices, None)
    }

    /// As [`Prepress::open`], keeping what `earlier`, a press of the same manual, has opened and set. Nothing that is kept can differ from
    /// what would be made anew: pictures are kept by content, blocks by all they are made of.
    ///
    /// # Errors
    /// As [`Prepress::open`].
    pub fn open_again(path: &Path, choices: &Choices, earlier: Option<Prepress>) -> Result<Prepress, Error> {
        let (folder, file, template) = template_of(path, choices.project.as_deref(), choices.unsaved.as_ref())?;
        let date = date::today();
        let units = choices.units.as_deref().map(units_of).transpose()?;
        // The header decides on paper, style and faces. Where fields stand in it, those of the first unit hold.
        let first = units.as_ref().and_then(|units| units.iter().next());
        let source = template.fill(first, &Run { date: date.clone(), number: 1 }).map_err(|error| Error::from(&error))?;
        let header = manual::parse(&source).map_err(|error| Error::from(&error))?.header;
        let spot_of = |key: &str| header.spans.get(key).map(|&span| source.spot(span));
        let units = units.map(|units| inputs::keyed(units, header.unit_key.as_deref(), spot_of("units.key"))).transpose()?;
        let paper = match &header.paper {
            None => None,
            Some(written) => Some(Mm::parse(written).ok_or_else(|| {
                let trouble =
                    Trouble::new(format!("{written:?} is no width of paper")).hint("write it with its unit: paper = \"80 mm\"");
                Error::Input(trouble.at_spot(spot_of("paper").as_ref()))
            })?),
        };
        let (profile, notices) = inputs::printer(choices.printer.as_deref(), paper).map_err(|error| match error {
            Error::Input(trouble) if choices.printer.is_none() => Error::Input(trouble.at_spot(spot_of("paper").as_ref())),
            other => other,
        })?;
        let style = match &choices.style {
            Some(named) => inputs::style_asked_for(named)?,
            None => inputs::style_of(&folder, header.style.as_deref(), spot_of("style").as_ref())?,
        };
        let own_faces = own_faces(&folder, &header, &source)?;
        let picture_files = folder.path().map(|home| found_pictures::pictures_in(&home, &file)).unwrap_or_default();
        let wanted = wanted_faces(&template, &source, units.as_ref(), &header, &date, &Faces::new(profile.resolution));
        let kept = earlier.filter(|earlier| {
            let alike = earlier.profile.resolution == profile.resolution && earlier.own_faces == own_faces;
            let has = |(language, text): &(Language, String)| {
                let case = earlier.cases.iter().find(|case| case.language == *language);
                case.is_some_and(|case| case.faces.foreign(text).is_subset(&case.lacking))
            };
            alike && wanted.iter().all(has)
        });
        let (cases, pictures) = match kept {
            Some(earlier) => (earlier.cases, earlier.pictures),
            None => {
                let case = |(language, text): &(Language, String)| {
                    let mut faces = Faces::new(profile.resolution);
                    for (tag, path, bytes) in &own_faces {
                        faces = faces.with_face(tag, bytes.clone()).map_err(|error| {
                            let trouble = Trouble::new(format!("the face {path:?} cannot be used: {error}")).hint(error.hint());
                            Error::Input(trouble.at_spot(spot_of(&format!("faces.{tag}")).as_ref()))
                        })?;
                    }
                    let found = system_faces::complete(&mut faces, text, *language, &system_faces::folders());
                    let lacking = faces.foreign(text);
                    Ok(Case { language: *language, faces, found, lacking, cache: GalleyCache::new() })
                };
                let cases = wanted.iter().map(case).collect::<Result<Vec<Case>, Error>>()?;
                (cases, PictureSet::open(folder.clone(), type_setting::FONT_FILES))
            }
        };
        let named = choices.files().collect();
        Ok(Prepress {
            folder,
            file,
            template,
            units,
            profile,
            style,
            date,
            picture_files,
            own_faces,
            named,
            notices,
            cases,
            pictures,
        })
    }

    /// What the manual says for one unit (or alone), not laid out.
    ///
    /// # Errors
    /// [`Error::Input`] when the template, the header or a block cannot be understood.
    pub fn read(&self, unit: Option<&Unit>, number: u64) -> Result<(Source, Document), Error> {
        let run = Run { date: self.date.clone(), number };
        let source = self.template.fill(unit, &run).map_err(|error| Error::from(&error))?;
        let document = manual::parse(&source).map_err(|error| Error::from(&error))?;
        Ok((source, document))
    }

    /// The strip of one unit (or of the manual alone). `number` counts strips of the run from 1. Holes are left as they are.
    ///
    /// # Errors
    /// [`Error::Input`] when the template, the header or a block cannot be understood.
    pub fn draft(&self, unit: Option<&Unit>, number: u64) -> Result<Made, Error> {
        let (source, document) = self.read(unit, number)?;
        let cache = &self.case(&document).cache;
        Ok(self.made(source, document, cache))
    }

    /// As [`Prepress::draft`], with frames where large pictures will be, which takes no time. None where the whole strip does not take long.
    ///
    /// # Errors
    /// As [`Prepress::draft`].
    pub fn sketch(&self, unit: Option<&Unit>, number: u64) -> Result<Option<Made>, Error> {
        let (source, document) = self.read(unit, number)?;
        let addresses: Vec<&str> = document.blocks.iter().flat_map(|block| block.pictures()).collect();
        let looked = self.pictures.look_all(&addresses);
        let pixels: u64 =
            looked.iter().flatten().filter(|info| !info.vector).map(|info| u64::from(info.width) * u64::from(info.height)).sum();
        if pixels < LONG {
            return Ok(None);
        }
        self.pictures.hurry(true);
        // What is set of frames is not kept.
        let made = self.made(source, document, &GalleyCache::new());
        self.pictures.hurry(false);
        Ok(Some(made))
    }

    fn made(&self, source: Source, document: Document, cache: &GalleyCache) -> Made {
        let (context, case) = (self.context(&document), self.case(&document));
        let mut layout = layout::lay_out(&document, &context, cache);
        if !case.found.is_empty() {
            let boxes = layout.boxes();
            layout.remarks.extend(case.found.iter().filter_map(|found| found.remark(&boxes)));
        }
        let strip = printer::as_told(strip::paint(&layout, &case.faces), &self.profile);
        Made { source, document, layout, strip }
    }

    /// As [`Prepress::draft`], but a picture, sign or code that cannot be used is an error: what is printed has no frames.
    ///
    /// # Errors
    /// [`Error::Input`], which names all of them.
    pub fn strip(&self, unit: Option<&Unit>, number: u64) -> Result<Made, Error> {
        let made = self.draft(unit, number)?;
        let holes = self.holes(&made.source, &made.document, &made.layout, unit);
        if holes.is_empty() { Ok(made) } else { Err(refused(holes)) }
    }

    /// Sees that none of these strips has a hole, before the first of them is printed.
    ///
    /// # Errors
    /// [`Error::Input`], which names all pictures, signs and codes that cannot be used, and the first unit that asks for each.
    pub fn without_holes(&self, chosen: &[(Option<&Unit>, u64)]) -> Result<(), Error> {
        let mut holes: Vec<Hole> = Vec::new();
        let look = |unit: Option<&Unit>, number| -> Result<Vec<Hole>, Error> {
            let (source, document) = self.read(unit, number)?;
            let layout = layout::lay_out(&document, &self.context(&document), &self.case(&document).cache);
            Ok(self.holes(&source, &document, &layout, unit))
        };
        // Without fields all units get the same strip.
        let chosen = if self.template.has_fields() { chosen } else { &chosen[..chosen.len().min(1)] };
        self.each(chosen, look, |more| {
            for hole in more {
                if !holes.iter().any(|known| known.spot.place == hole.spot.place && known.message == hole.message) {
                    holes.push(hole);
                }
            }
            Ok(())
        })?;
        if holes.is_empty() { Ok(()) } else { Err(refused(holes)) }
    }

    fn holes(&self, source: &Source, document: &Document, layout: &Layout, unit: Option<&Unit>) -> Vec<Hole> {
        let mut holes: Vec<Hole> = Vec::new();
        for remark in document.remarks.iter().chain(&layout.remarks).filter(|remark| HOLES.contains(&remark.rule)) {
            let hole = Hole {
                message: remark.message.clone(),
                hint: remark.hint.clone(),
                spot: source.spot(remark.span),
                unit: unit.filter(|_| self.template.has_fields()).map(|unit| unit.key().to_string()),
            };
            if !holes.iter().any(|known| known.spot.place == hole.spot.place && known.message == hole.message) {
                holes.push(hole);
            }
        }
        holes.sort_by(|a, b| a.spot.place.cmp(&b.spot.place));
        holes
    }

    /// The manual laid out as another style would have it.
    pub fn laid_out_in(&self, style: &Style, document: &Document) -> Layout {
        layout::lay_out(document, &Context { style, ..self.context(document) }, &GalleyCache::new())
    }

    /// The faces of a document's language; where only one case is there, they are alike for all.
    fn case(&self, document: &Document) -> &Case {
        let own = self.cases.iter().find(|case| case.language == document.header.tongue);
        own.unwrap_or(&self.cases[0])
    }

    fn context<'a>(&'a self, document: &'a Document) -> Context<'a> {
        Context {
            faces: &self.case(document).faces,
            pictures: &self.pictures,
            style: &self.style,
            paper: self.profile.paper(),
            language: document.header.tongue,
            own_words: &document.header.own_words,
            panel_room: None,
            shrink: 100,
        }
    }

    pub fn picture_files(&self) -> &[String] {
        &self.picture_files
    }

    /// Every face that is not the program's own, by the name a person knows it by, with what its file holds.
    pub fn face_files(&self) -> impl Iterator<Item = (String, Vec<u8>)> {
        let own = self.own_faces.iter().map(|(_, path, bytes)| (path.clone(), bytes.clone()));
        let mut found: Vec<&Found> = Vec::new();
        for face in self.cases.iter().flat_map(|case| &case.found) {
            if !found.iter().any(|known| known.path == face.path) {
                found.push(face);
            }
        }
        let found = found.into_iter().map(|found| (found.family.clone(), std::fs::read(&found.path).unwrap_or_default()));
        own.chain(found)
    }

    /// What there is to say of the printer's file.
    pub fn notices(&self) -> &[Trouble] {
        &self.notices
    }

    /// Every file that strips were made of until now: none of them is ever an output.
    pub fn inputs(&self) -> Vec<PathBuf> {
        self.folder.touched().into_iter().chain(self.named.iter().cloned()).collect()
    }

    pub fn pictures(&self) -> &PictureSet {
        &self.pictures
    }

    /// The units that are asked for: the one named, else all, else none but the manual itself. With each its number in the run.
    ///
    /// # Errors
    /// [`Error::Input`] when no unit has that row or key.
    pub fn chosen(&self, wanted: Option<&str>) -> Result<Vec<(Option<&Unit>, u64)>, Error> {
        match (&self.units, wanted) {
            (Some(units), Some(wanted)) => {
                let unit = units.find(wanted).map_err(|error| Error::from(&error))?;
                Ok(vec![(Some(unit), u64::from(unit.row))])
            }
            (Some(units), None) => Ok(units.iter().map(|unit| (Some(unit), u64::from(unit.row))).collect()),
            (None, _) => Ok(vec![(None, 1)]),
        }
    }

    /// Makes something for every unit, in parallel, and hands the results over in the order of the units. Only a few are held at a
    /// time, however many units there are.
    ///
    /// # Errors
    /// The first that `make` or `take` gives, in the order of the units.
    pub fn each<T: Send, E: Send>(
        &self,
        chosen: &[(Option<&Unit>, u64)],
        make: impl Fn(Option<&Unit>, u64) -> Result<T, E> + Sync,
        mut take: impl FnMut(T) -> Result<(), E>,
    ) -> Result<(), E> {
        let at_once = rayon::current_num_threads() * 4;
        for some in chosen.chunks(at_once.max(1)) {
            let made: Vec<Result<T, E>> = some.par_iter().map(|&(unit, number)| make(unit, number)).collect();
            made.into_iter().try_for_each(|made| take(made?))?;
        }
        Ok(())
    }
}
