//! A manual made ready: folder, template, units, printer, style, faces, pictures opened once, then a strip for any unit.
//!
//! The one way from a manual to its strip that every command takes, so that what is proofed is what is printed.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use icu_calendar::types::RataDie;
use icu_calendar::{Date, Iso};
use rayon::prelude::*;

use super::options::{Everywhere, is_standard};
use super::report::{Reporter, Trouble};
use super::system_faces::{self, Found, LARGEST_FACE};
use super::{Error, output, shop};
use crate::language::Language;
use crate::layout::{self, Bench, Layout, Store, Style};
use crate::manual::document::Header;
use crate::manual::gathered::FOLDER;
use crate::manual::source::{Level, Remark, Spot};
use crate::manual::{self, Document, Folder, Run, Source, Template, Unit, Units};
use crate::pictures::Album;
use crate::printer::{self, Profile};
use crate::strip::{self, Strip};
use crate::type_setting::{self, Faces};
use crate::units::Mm;

/// Pixels of a manual's pictures from which on a strip of frames is worth its while: half a second of decoding.
const LONG: u64 = 40_000_000;
/// Largest style file and table of units.
const LARGEST_STYLE: u64 = 1 << 20;
const LARGEST_UNITS: u64 = 64 << 20;

/// Remarks that leave a hole in the strip, a frame on its proof: it cannot be printed until they are mended.
pub(super) const HOLES: [&str; 6] =
    ["picture-unusable", "picture-not-gathered", "model-unusable", "code-unusable", "unknown-sign", "unknown-signal"];

pub struct Press {
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
    /// Files named on the command line.
    named: Vec<PathBuf>,
    /// One for each language that strips are written in, where that makes a difference; never none.
    cases: Vec<Case>,
    album: Album,
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
    store: Store,
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

impl Press {
    /// Opens everything that a manual needs.
    ///
    /// # Errors
    /// [`Error::Input`] for whatever cannot be read or used, [`Error::Usage`] for a printer that nobody knows.
    pub fn open(path: &Path, everywhere: &Everywhere, reporter: &Reporter) -> Result<Press, Error> {
        Press::open_again(path, everywhere, reporter, None)
    }

    /// As [`Press::open`], keeping what `earlier`, a press of the same manual, has opened and set. Nothing that is kept can differ from
    /// what would be made anew: pictures are kept by content, blocks by all they are made of.
    ///
    /// # Errors
    /// As [`Press::open`].
    pub fn open_again(path: &Path, everywhere: &Everywhere, reporter: &Reporter, earlier: Option<Press>) -> Result<Press, Error> {
        let (folder, file, template) = template_of(path, everywhere)?;
        let date = today();
        let units = everywhere.units.as_deref().map(units_of).transpose()?;
        // The header decides on paper, style and faces. Where fields stand in it, those of the first unit hold.
        let first = units.as_ref().and_then(|units| units.iter().next());
        let source = template.fill(first, &Run { date: date.clone(), number: 1 }).map_err(|error| unreadable(&error))?;
        let header = manual::parse(&source).map_err(|error| unreadable(&error))?.header;
        let spot_of = |key: &str| header.spans.get(key).map(|&span| source.spot(span));
        let units = units.map(|units| keyed(units, header.unit_key.as_deref(), spot_of("units.key"))).transpose()?;
        let paper = match &header.paper {
            None => None,
            Some(written) => Some(Mm::parse(written).ok_or_else(|| {
                let trouble =
                    Trouble::new(format!("{written:?} is no width of paper")).hint("write it with its unit: paper = \"80 mm\"");
                Error::Input(at_spot(trouble, spot_of("paper").as_ref()))
            })?),
        };
        let profile = shop::printer(everywhere, paper, reporter).map_err(|error| match error {
            Error::Input(trouble) if everywhere.printer.is_none() => Error::Input(at_spot(trouble, spot_of("paper").as_ref())),
            other => other,
        })?;
        let style = match &everywhere.style {
            Some(named) => style_asked_for(named)?,
            None => style_of(&folder, header.style.as_deref(), spot_of("style").as_ref())?,
        };
        let own_faces = own_faces(&folder, &header, &source)?;
        let picture_files = folder.path().map(|home| pictures_in(&home, &file)).unwrap_or_default();
        let wanted = wanted_faces(&template, &source, units.as_ref(), &header, &date, &Faces::new(profile.resolution));
        let kept = earlier.filter(|earlier| {
            let alike = earlier.profile.resolution == profile.resolution && earlier.own_faces == own_faces;
            let has = |(language, text): &(Language, String)| {
                let case = earlier.cases.iter().find(|case| case.language == *language);
                case.is_some_and(|case| case.faces.foreign(text).is_subset(&case.lacking))
            };
            alike && wanted.iter().all(has)
        });
        let (cases, album) = match kept {
            Some(earlier) => (earlier.cases, earlier.album),
            None => {
                let case = |(language, text): &(Language, String)| {
                    let mut faces = Faces::new(profile.resolution);
                    for (tag, path, bytes) in &own_faces {
                        faces = faces.with_face(tag, bytes.clone()).map_err(|error| {
                            let trouble = Trouble::new(format!("the face {path:?} cannot be used: {error}")).hint(error.hint());
                            Error::Input(at_spot(trouble, spot_of(&format!("faces.{tag}")).as_ref()))
                        })?;
                    }
                    let found = system_faces::complete(&mut faces, text, *language, &system_faces::folders());
                    let lacking = faces.foreign(text);
                    Ok(Case { language: *language, faces, found, lacking, store: Store::new() })
                };
                let cases = wanted.iter().map(case).collect::<Result<Vec<Case>, Error>>()?;
                (cases, Album::open(folder.clone(), type_setting::FONT_FILES))
            }
        };
        let named = everywhere.files().collect();
        Ok(Press { folder, file, template, units, profile, style, date, picture_files, own_faces, named, cases, album })
    }

    /// What the manual says for one unit (or alone), not laid out.
    ///
    /// # Errors
    /// [`Error::Input`] when the template, the header or a block cannot be understood.
    pub fn read(&self, unit: Option<&Unit>, number: u64) -> Result<(Source, Document), Error> {
        let run = Run { date: self.date.clone(), number };
        let source = self.template.fill(unit, &run).map_err(|error| unreadable(&error))?;
        let document = manual::parse(&source).map_err(|error| unreadable(&error))?;
        Ok((source, document))
    }

    /// The strip of one unit (or of the manual alone). `number` counts strips of the run from 1. Holes are left as they are.
    ///
    /// # Errors
    /// [`Error::Input`] when the template, the header or a block cannot be understood.
    pub fn draft(&self, unit: Option<&Unit>, number: u64) -> Result<Made, Error> {
        let (source, document) = self.read(unit, number)?;
        let store = &self.case(&document).store;
        Ok(self.made(source, document, store))
    }

    /// As [`Press::draft`], with frames where large pictures will be, which takes no time. None where the whole strip does not take long.
    ///
    /// # Errors
    /// As [`Press::draft`].
    pub fn sketch(&self, unit: Option<&Unit>, number: u64) -> Result<Option<Made>, Error> {
        let (source, document) = self.read(unit, number)?;
        let addresses: Vec<&str> = document.blocks.iter().flat_map(|block| block.pictures()).collect();
        let looked = self.album.look_all(&addresses);
        let pixels: u64 =
            looked.iter().flatten().filter(|info| !info.vector).map(|info| u64::from(info.width) * u64::from(info.height)).sum();
        if pixels < LONG {
            return Ok(None);
        }
        self.album.hurry(true);
        // What is set of frames is not kept.
        let made = self.made(source, document, &Store::new());
        self.album.hurry(false);
        Ok(Some(made))
    }

    fn made(&self, source: Source, document: Document, store: &Store) -> Made {
        let (bench, case) = (self.bench(&document), self.case(&document));
        let mut layout = layout::lay_out(&document, &bench, store);
        if !case.found.is_empty() {
            let boxes = layout.boxes();
            layout.remarks.extend(case.found.iter().filter_map(|found| found.remark(&boxes)));
        }
        let strip = printer::as_told(strip::paint(&layout, &case.faces), &self.profile);
        Made { source, document, layout, strip }
    }

    /// As [`Press::draft`], but a picture, sign or code that cannot be used is an error: what is printed has no frames.
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
        let look = |unit: Option<&Unit>, number| {
            let (source, document) = self.read(unit, number)?;
            let layout = layout::lay_out(&document, &self.bench(&document), &self.case(&document).store);
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
        layout::lay_out(document, &Bench { style, ..self.bench(document) }, &Store::new())
    }

    /// The faces of a document's language; where only one case is there, they are alike for all.
    fn case(&self, document: &Document) -> &Case {
        let own = self.cases.iter().find(|case| case.language == document.header.tongue);
        own.unwrap_or(&self.cases[0])
    }

    fn bench(&self, document: &Document) -> Bench<'_> {
        Bench {
            faces: &self.case(document).faces,
            album: &self.album,
            style: &self.style,
            paper: self.profile.paper(),
            language: document.header.tongue,
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

    /// Every file that strips were made of until now: none of them is ever an output.
    pub fn inputs(&self) -> Vec<PathBuf> {
        self.folder.touched().into_iter().chain(self.named.iter().cloned()).collect()
    }

    pub fn album(&self) -> &Album {
        &self.album
    }

    /// The units that are asked for: the one named, else all, else none but the manual itself. With each its number in the run.
    ///
    /// # Errors
    /// [`Error::Input`] when no unit has that row or key.
    pub fn chosen(&self, wanted: Option<&str>) -> Result<Vec<(Option<&Unit>, u64)>, Error> {
        match (&self.units, wanted) {
            (Some(units), Some(wanted)) => {
                let unit = units.find(wanted).map_err(|error| unreadable(&error))?;
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
    pub fn each<T: Send>(
        &self,
        chosen: &[(Option<&Unit>, u64)],
        make: impl Fn(Option<&Unit>, u64) -> Result<T, Error> + Sync,
        mut take: impl FnMut(T) -> Result<(), Error>,
    ) -> Result<(), Error> {
        let at_once = rayon::current_num_threads() * 4;
        for some in chosen.chunks(at_once.max(1)) {
            let made: Vec<Result<T, Error>> = some.par_iter().map(|&(unit, number)| make(unit, number)).collect();
            made.into_iter().try_for_each(|made| take(made?))?;
        }
        Ok(())
    }

    /// Says what reading and laying out noticed, each thing once.
    pub fn report(&self, made: &Made, reporter: &Reporter) {
        if let Some(units) = &self.units {
            for noticed in units.noticed() {
                reporter.notice(&Trouble::new(&noticed.message).at(Some(noticed.place.clone())).maybe_hint(noticed.hint.clone()));
            }
        }
        self.tell(made, reporter, |remark| remark.level != Level::Advice);
    }

    /// Says what has a frame in its place: as errors, also when quiet.
    pub fn report_holes(&self, made: &Made, reporter: &Reporter) {
        self.tell(made, reporter, |remark| HOLES.contains(&remark.rule));
    }

    fn tell(&self, made: &Made, reporter: &Reporter, wanted: impl Fn(&Remark) -> bool) {
        tell(&made.source, made.remarks().filter(|remark| wanted(remark)), reporter);
    }
}

/// Says remarks, each once; what leaves a frame is an error, for everything else is made all the same.
pub(super) fn tell<'r>(source: &Source, remarks: impl Iterator<Item = &'r Remark>, reporter: &Reporter) {
    let mut told: Vec<(Level, &'static str, Trouble)> = Vec::new();
    for remark in remarks {
        let trouble = Trouble::new(&remark.message).maybe_hint(remark.hint.clone());
        let trouble = at_spot(trouble, Some(&source.spot(remark.span)));
        let level = if HOLES.contains(&remark.rule) { Level::Error } else { Level::Warning };
        if !told.iter().any(|(_, rule, known)| *rule == remark.rule && *known == trouble) {
            told.push((level, remark.rule, trouble));
        }
    }
    told.sort_by(|a, b| (a.0 != Level::Error, a.2.place()).cmp(&(b.0 != Level::Error, b.2.place())));
    reporter.findings(told);
}

/// A picture, sign or code that cannot be used.
struct Hole {
    message: String,
    hint: Option<String>,
    spot: Spot,
    /// The first unit that asks for it, where it is not the same for all.
    unit: Option<String>,
}

/// One error for all of them.
fn refused(mut holes: Vec<Hole>) -> Error {
    let named = |hole: &Hole| match &hole.unit {
        Some(unit) => format!("{} (unit {unit})", hole.message),
        None => hole.message.clone(),
    };
    let first = holes.remove(0);
    let mut message = named(&first);
    for hole in &holes {
        message.push_str(&format!("\n{}: {}", hole.spot.place, named(hole)));
    }
    if !holes.is_empty() {
        let count = holes.len() + 1;
        message =
            format!("{count} pictures, signs or codes cannot be used, so nothing is printed:\n{}: {message}", first.spot.place);
    }
    let trouble = Trouble::new(message).maybe_hint(first.hint);
    Error::Input(at_spot(trouble, Some(&first.spot)))
}

/// The languages that need faces of their own, in the order of their tags, each with everything that a strip in it may hold. Only one
/// where the shipped faces have every writing.
fn wanted_faces(
    template: &Template,
    source: &Source,
    units: Option<&Units>,
    header: &Header,
    date: &str,
    shipped: &Faces,
) -> Vec<(Language, String)> {
    let all: Vec<&Unit> = units.into_iter().flat_map(Units::iter).filter(|_| template.has_fields()).collect();
    // What cannot be read is told when its strip is made.
    let fill = |unit: &Unit| template.fill(Some(unit), &Run { date: date.to_string(), number: u64::from(unit.row) }).ok();
    let own = signs(source, None);
    let every = all.par_iter().filter_map(|unit| Some(signs(&fill(unit)?, Some(unit))));
    let every: String = every.reduce(BTreeSet::new, |all, more| &all | &more).union(&own).collect();
    if all.is_empty() || shipped.foreign(&every).is_empty() {
        return vec![(header.tongue, every)];
    }
    let read = |unit: &&Unit| {
        let source = fill(unit)?;
        Some((manual::parse(&source).ok()?.header.tongue, signs(&source, Some(unit))))
    };
    let mut wanted: BTreeMap<&str, (Language, BTreeSet<char>)> = BTreeMap::new();
    for (language, mut signs) in all.par_iter().filter_map(read).collect::<Vec<_>>() {
        wanted.entry(language.tag()).or_insert_with(|| (language, BTreeSet::new())).1.append(&mut signs);
    }
    let wanted = wanted.into_values().map(|(language, signs)| (language, signs.into_iter().collect()));
    let wanted: Vec<(Language, String)> = wanted.collect();
    if wanted.is_empty() { vec![(header.tongue, every)] } else { wanted }
}

/// The characters beyond ASCII of what was written, and of a unit's values.
pub(super) fn signs(source: &Source, unit: Option<&Unit>) -> BTreeSet<char> {
    let values = unit.into_iter().flat_map(|unit| unit.columns().iter().filter_map(|column| unit.value(column)));
    let texts = source.files.iter().map(|file| file.text()).chain(values).chain([source.text.as_str()]);
    texts.flat_map(str::chars).filter(|c| !c.is_ascii()).collect()
}

/// An error of the manual's room, ready to be shown.
pub fn unreadable(error: &manual::Error) -> Error {
    Error::Input(at_spot(Trouble::new(error.to_string()).maybe_hint(error.hint()), error.spot()))
}

/// A trouble with its place and the text for the excerpt.
pub fn at_spot(trouble: Trouble, spot: Option<&Spot>) -> Trouble {
    match spot {
        Some(spot) => trouble.at(Some(spot.place.clone())).text(spot.file.text()),
        None => trouble,
    }
}

/// A manual as a template, the folder it stands in and its name there.
///
/// # Errors
/// [`Error::Input`].
pub(super) fn template_of(path: &Path, everywhere: &Everywhere) -> Result<(Folder, String, Template), Error> {
    let (folder, file) = place_of(path)?;
    let folder = match &everywhere.project {
        Some(project) => Folder::open_in(&folder, project),
        None => Folder::open(&folder),
    };
    let folder = folder.map_err(|error| unreadable(&error))?;
    let template = match is_standard(path) {
        true => Template::of_bytes(&folder, &file, &shop::read(path, manual::LONGEST)?),
        false => Template::load(&folder, &file),
    };
    Ok((folder, file, template.map_err(|error| unreadable(&error))?))
}

/// The folder of a manual and its name in it.
fn place_of(path: &Path) -> Result<(PathBuf, String), Error> {
    if is_standard(path) {
        return Ok((".".into(), "standard input".into()));
    }
    let name = path.file_name().and_then(|name| name.to_str());
    let Some(name) = name else {
        return Err(Error::Input(
            Trouble::new(format!("{} is no file of a manual", path.display())).hint("name a Markdown file"),
        ));
    };
    if path.is_dir() {
        let trouble = Trouble::new(format!("{} is a folder", path.display()));
        return Err(Error::Input(trouble.hint("name the Markdown file in it")));
    }
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    Ok((folder.to_path_buf(), name.to_string()))
}

/// Picture files by their endings, in a folder and two folders deep, as a manual would name them; without what this program wrote:
/// strips, and what was gathered.
fn pictures_in(root: &Path, manual: &str) -> Vec<String> {
    const ENDINGS: [&str; 6] = ["png", "jpg", "jpeg", "webp", "gif", "svg"];
    const MOST: usize = 2000;
    let mut found = Vec::new();
    let mut folders = vec![(root.to_path_buf(), 0)];
    while let Some((folder, depth)) = folders.pop() {
        for entry in std::fs::read_dir(&folder).into_iter().flatten().flatten().take(MOST) {
            let path = entry.path();
            let Ok(kind) = entry.file_type() else { continue };
            if kind.is_dir() && depth < 2 && entry.file_name() != FOLDER && entry.file_name() != ".git" {
                folders.push((path, depth + 1));
            } else if kind.is_file()
                && path
                    .extension()
                    .and_then(|ending| ending.to_str())
                    .is_some_and(|ending| ENDINGS.contains(&ending.to_ascii_lowercase().as_str()))
                && !is_strip(&path, manual)
                && let Ok(inside) = path.strip_prefix(root)
            {
                found.push(inside.to_string_lossy().replace('\\', "/"));
            }
        }
    }
    found.sort();
    found.truncate(MOST);
    found
}

/// Whether a picture file is a strip of ours: named after the manual, or one bit deep as only strips are.
fn is_strip(path: &Path, manual: &str) -> bool {
    let stem = |path: &Path| path.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default();
    if path.extension().is_none_or(|ending| ending != "png") {
        return false;
    }
    let one_bit = output::head_of(path).is_some_and(|head| output::png_kind(&head) == Some([1, 0]));
    one_bit || stem(path).strip_suffix(".strip").is_some_and(|name| name.starts_with(&stem(Path::new(manual))))
}

pub(super) fn units_of(path: &Path) -> Result<Units, Error> {
    let bytes = shop::read(path, LARGEST_UNITS)?;
    Units::read(&bytes, &path.display().to_string()).map_err(|error| unreadable(&error))
}

fn keyed(mut units: Units, key: Option<&str>, spot: Option<Spot>) -> Result<Units, Error> {
    units.key_by(key).map_err(|error| {
        let trouble = Trouble::new(error.to_string()).maybe_hint(error.hint());
        Error::Input(at_spot(trouble, spot.as_ref().or(error.spot())))
    })?;
    Ok(units)
}

/// A face that the writer names: tag, path, file.
type OwnFace = (String, String, Vec<u8>);

pub(super) fn own_faces(folder: &Folder, header: &Header, source: &Source) -> Result<Vec<OwnFace>, Error> {
    let mut faces = Vec::new();
    for (tag, path) in &header.faces {
        let bytes = folder.read(path, LARGEST_FACE).map_err(|error| {
            let trouble = Trouble::new(format!("the face {path:?} cannot be read: {error}"));
            let spot = header.spans.get(&format!("faces.{tag}")).map(|&span| source.spot(span));
            Error::Input(at_spot(trouble.hint("name an OpenType or TrueType file in the manual's folder"), spot.as_ref()))
        })?;
        faces.push((tag.clone(), path.clone(), bytes));
    }
    Ok(faces)
}

/// The style that the command line names: it stands above the manual's. A file counts from where the command was given.
fn style_asked_for(named: &str) -> Result<Style, Error> {
    match Style::named(named) {
        Some(style) => Ok(style),
        None if named.contains(['.', '/', '\\']) => read_style(named, shop::read(Path::new(named), LARGEST_STYLE)?, None),
        None => {
            let trouble = Trouble::new(format!("there is no style {named:?}"));
            Err(Error::Usage(trouble.hint("the styles are plain, comic and compact; a file of your own: --style FILE.toml")))
        }
    }
}

fn style_of(folder: &Folder, named: Option<&str>, spot: Option<&Spot>) -> Result<Style, Error> {
    let named = named.unwrap_or("plain");
    if let Some(style) = Style::named(named) {
        return Ok(style);
    }
    let bytes = folder.read(named, LARGEST_STYLE).map_err(|error| {
        let trouble = Trouble::new(format!("there is no style {named:?}: {error}"));
        Error::Input(at_spot(
            trouble.hint("style is \"plain\", \"comic\", \"compact\" or a TOML file in the manual's folder"),
            spot,
        ))
    })?;
    read_style(named, bytes, spot)
}

fn read_style(named: &str, bytes: Vec<u8>, spot: Option<&Spot>) -> Result<Style, Error> {
    let text = String::from_utf8(bytes)
        .map_err(|_| Error::Input(at_spot(Trouble::new(format!("the style {named:?} is not UTF-8 text")), spot)))?;
    Style::read(&text).map_err(|error| {
        let trouble = Trouble::new(&error.message).maybe_hint(error.hint.clone());
        match error.offset {
            Some(offset) => {
                let file = std::sync::Arc::new(manual::source::SourceFile::new(named, &text));
                Error::Input(at_spot(trouble, Some(&Spot::new(file, offset, 1))))
            }
            None => Error::Input(at_spot(trouble, spot)),
        }
    })
}

/// The date of the run, ISO 8601, UTC. SOURCE_DATE_EPOCH, as reproducible builds use it, stands above the clock.
fn today() -> String {
    let given = std::env::var("SOURCE_DATE_EPOCH").ok().and_then(|seconds| seconds.parse::<i64>().ok());
    let clock = || std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH).map_or(0, |since| since.as_secs() as i64);
    civil(given.unwrap_or_else(clock).div_euclid(86_400))
}

/// Days since 1970-01-01 to a date of the Gregorian calendar.
fn civil(days: i64) -> String {
    // The day 1970-01-01, counted from the first of January of the year 1 as 1 (Reingold and Dershowitz, "Calendrical Calculations").
    const EPOCH: i64 = 719_163;
    let date = Date::from_rata_die(RataDie::new(EPOCH + days), Iso);
    format!("{:04}-{:02}-{:02}", date.era_year().year, date.month().ordinal, date.day_of_month().0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn faces_are_looked_for_by_a_units_own_language_whatever_the_order_of_the_table() {
        let folder = tempfile::tempdir().unwrap();
        let write = |name: &str, text: &str| std::fs::write(folder.path().join(name), text).unwrap();
        write(
            "manual.md",
            "+++\nlanguage = \"{{ unit.language }}\"\n+++\n{% if unit.language == \"en\" %}{% include \"en.md\" %}{% elif unit.language == \"ja\" %}{% include \"ja.md\" %}{% else %}{% include \"zh-Hans.md\" %}{% endif %}\n\n{{ unit.word }}\n",
        );
        write("en.md", "Tea\n");
        write("ja.md", "\u{8336}\u{3092}\u{76F4}\n");
        write("zh-Hans.md", "\u{8336}\u{76F4}\n");
        let wanted = |rows: [&str; 3]| {
            let table = format!("serial,language,word\n{}\n", rows.join("\n"));
            let units = Units::read(table.as_bytes(), "units.csv").unwrap();
            let template = Template::load(&Folder::open(folder.path()).unwrap(), "manual.md").unwrap();
            let run = Run { date: "2026-11-25".into(), number: 1 };
            let source = template.fill(units.iter().next(), &run).unwrap();
            let header = manual::parse(&source).unwrap().header;
            wanted_faces(&template, &source, Some(&units), &header, &run.date, &Faces::new(crate::units::Resolution::EIGHT))
        };
        let rows = ["A1,en,\u{E9}", "A2,ja,\u{6E6F}", "A3,zh-Hans,\u{676F}"];
        let known = wanted(rows);
        let has = |tag: &str, sign: char| known.iter().any(|(language, signs)| language.tag() == tag && signs.contains(sign));
        assert_eq!(known.len(), 3);
        assert!(has("ja", '\u{3092}') && has("ja", '\u{6E6F}'), "{known:?}");
        assert!(!has("ja", '\u{676F}') && !has("zh-Hans", '\u{6E6F}') && !has("en", '\u{8336}'), "{known:?}");
        for order in [[2, 1, 0], [1, 0, 2], [0, 2, 1]] {
            assert_eq!(wanted(order.map(|row| rows[row])), known);
        }
    }

    #[test]
    fn days_become_dates() {
        // 2000-02-29 and 2026-11-25 by GNU date (`date -u -d @N +%F`).
        for (seconds, date) in
            [(0, "1970-01-01"), (951_782_400, "2000-02-29"), (1_795_564_800, "2026-11-25"), (-86_400, "1969-12-31")]
        {
            assert_eq!(civil(seconds / 86_400), date);
        }
    }
}
