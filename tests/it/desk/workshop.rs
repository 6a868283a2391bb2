//! A workshop for the desk's own tests: sets a real manual by the library's own way, prints to nowhere at a pace that can be
//! watched.

use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU32, Ordering};
use std::sync::{Arc, Mutex};
use std::time::Duration;

use stripling::commands::{samples, turning};
use stripling::desk::{
    Choices, CopyFile, Ending, Estimate, Form, Plan, Proof, Sample, Step, Title, Trouble, Turned, UnitName, View, Which, Wish,
    Workshop,
};
use stripling::layout::{self, Context, GalleyCache, Style};
use stripling::lengths::{Dots, Mm};
use stripling::manual::source::{Level, Place, Source, Span};
use stripling::manual::{self, Document, Folder, Run, Template, Unit, Units};
use stripling::pictures::PictureSet;
use stripling::preflight::Finding;
use stripling::printer::{Profile, profile};
use stripling::send::Stop;
use stripling::strip::map::Map;
use stripling::strip::paint;
use stripling::type_setting::{FONT_FILES, Faces};

/// What a printer's strips are set with.
type Tools = Arc<(Faces, GalleyCache)>;

/// Of a folder with a `heron.md` and a `units.csv`.
pub struct TestWorkshop {
    path: PathBuf,
    folder: Folder,
    pictures: PictureSet,
    /// Faces and galleys of the printer that was used last.
    last: Mutex<Option<(String, Tools)>>,
    pub proofs: AtomicU32,
}

impl TestWorkshop {
    pub fn new(path: &Path) -> TestWorkshop {
        let folder = Folder::open(path).expect("the manual's folder");
        let pictures = PictureSet::open(folder.clone(), FONT_FILES);
        TestWorkshop { path: path.to_path_buf(), folder, pictures, last: Mutex::new(None), proofs: AtomicU32::new(0) }
    }

    fn units(&self) -> Result<Units, Trouble> {
        let bytes = self.folder.read("units.csv", 1 << 20).map_err(|error| Trouble::new(error.to_string()))?;
        Units::read(&bytes, "units.csv").map_err(|error| trouble(&error))
    }

    fn set_with(&self, profile: &Profile) -> Tools {
        let mut last = self.last.lock().expect("never poisoned");
        match &*last {
            Some((name, made)) if *name == profile.name => made.clone(),
            _ => {
                let made = Arc::new((Faces::new(profile.resolution), GalleyCache::new()));
                *last = Some((profile.name.clone(), made.clone()));
                made
            }
        }
    }

    /// The bytes of every file: what a plan's fingerprint stands for.
    fn content(&self) -> String {
        self.watch_paths()
            .iter()
            .map(|path| std::fs::read(path).map_or(0, |bytes| bytes.len()))
            .map(|length| format!("{length}."))
            .collect()
    }
}

fn trouble(error: &manual::Error) -> Trouble {
    let place = error.place();
    let excerpt = error.spot().and_then(|spot| spot.file.text().lines().nth(spot.place.line as usize - 1).map(str::to_string));
    Trouble {
        message: error.to_string(),
        hint: error.hint(),
        file: place.as_ref().map(|place| place.file.clone()),
        line: place.as_ref().map(|place| place.line),
        column: place.as_ref().map(|place| place.column),
        excerpt,
        ..Trouble::default()
    }
}

impl TestWorkshop {
    /// The unit that is looked at, and what the manual says for it.
    fn read(&self, units: &Units, view: &View) -> Result<(Unit, Source, Document), Trouble> {
        let unit = match &view.unit {
            Some(key) => units.find(key).map_err(|error| trouble(&error))?,
            None => units.iter().next().ok_or_else(|| Trouble::new("units.csv holds no unit"))?,
        };
        let template = Template::load(&self.folder, "heron.md").map_err(|error| trouble(&error))?;
        let run = Run { date: "2026-11-25".into(), number: u64::from(unit.row) };
        let source = template.fill(Some(unit), &run).map_err(|error| trouble(&error))?;
        let document = manual::parse(&source).map_err(|error| trouble(&error))?;
        Ok((unit.clone(), source, document))
    }
}

impl Workshop for TestWorkshop {
    fn copy(&self, form: Form) -> Result<CopyFile, Trouble> {
        match form {
            Form::Page => Ok(CopyFile { name: "hérisson.html".into(), bytes: b"<!DOCTYPE html><!--copy-->".to_vec() }),
            Form::Pdf => Ok(CopyFile { name: "hérisson.pdf".into(), bytes: b"%PDF-1.7 of nothing".to_vec() }),
        }
    }

    fn proof(&self, view: &View) -> Result<Proof, Trouble> {
        self.proofs.fetch_add(1, Ordering::SeqCst);
        let profile = Profile::named(view.printer.as_deref().unwrap_or(profile::DEFAULT))
            .map_err(|error| Trouble::new(error.to_string()))?;
        let units = self.units()?;
        let (unit, source, document) = self.read(&units, view)?;
        let tools = self.set_with(&profile);
        let style =
            Style::named(document.header.style.as_deref().unwrap_or("plain")).ok_or_else(|| Trouble::new("no such style"))?;
        let (paper, language) = (profile.paper(), document.header.tongue);
        let bench = Context {
            faces: &tools.0,
            pictures: &self.pictures,
            style: &style,
            paper,
            language,
            own_words: &document.header.own_words,
            panel_room: None,
            shrink: 100,
        };
        let laid = layout::lay_out(&document, &bench, &tools.1);
        let strip = Arc::new(paint(&laid, &tools.0));
        let boxes = Map::new(&laid, &source).boxes;
        let length = strip.resolution.mm(Dots(strip.bitmap.height() as i32));
        // A finding of every level, each at the heading that has its name; and what was noticed on the way.
        let at = |level: Level, word: &str| {
            let place = boxes.iter().find(|one| one.text.contains(word))?;
            Some(Finding {
                rule: "test-rule",
                level,
                message: format!("This is said of “{word}” so that a page has something to mark."),
                hint: "nothing is to be done".into(),
                place: Place { file: place.file.clone(), line: place.line, column: 1 },
                panel: Some(place.panel),
                y: Some(strip.resolution.mm(Dots(place.y))),
                unit: None,
                span: Span::default(),
            })
        };
        let told = [(Level::Error, "Safety"), (Level::Warning, "In the box"), (Level::Advice, "Know your")];
        let findings = told.into_iter().filter_map(|(level, word)| at(level, word)).collect();
        Ok(Proof {
            unfinished: false,
            title: Title {
                title: document.header.title.clone().unwrap_or_default(),
                document: document.header.document.clone().unwrap_or_default(),
                revision: document.header.revision.clone().unwrap_or_default(),
                file: "heron.md".into(),
            },
            boxes,
            findings,
            estimate: Estimate { length_mm: length.value(), seconds: length.value() / profile.speed.value() },
            choices: Choices {
                units: units
                    .iter()
                    .map(|unit| UnitName {
                        key: unit.key().into(),
                        label: format!("{}, {}", unit.key(), unit.value("plug").unwrap_or_default()),
                    })
                    .collect(),
                unit: Some(unit.key().into()),
                printers: profile::BUILT_IN.iter().map(|generic| generic.name.to_string()).collect(),
                printer: profile.name.clone(),
                paper: Mm::new(profile.paper_width.value()),
            },
            strip,
        })
    }

    fn samples(&self, view: &View, file: &str, line: u32) -> Result<Vec<Sample>, Trouble> {
        let (_, source, document) = self.read(&self.units()?, view)?;
        let paper = Profile::named(profile::DEFAULT).map_err(|error| Trouble::new(error.to_string()))?.paper();
        let found = samples::samples(&document, &source, &self.pictures, paper, file, line);
        found.ok_or_else(|| Trouble::new("no picture"))?.map_err(|error| Trouble::new(error.to_string()))
    }

    fn turned(&self, view: &View, file: &str, line: u32, at: Option<[f64; 2]>) -> Result<Turned, Trouble> {
        let (_, source, document) = self.read(&self.units()?, view)?;
        let found = turning::turned(&document, &source, self.pictures.models(), (file, line), at);
        found.ok_or_else(|| Trouble::new("no model"))?.map_err(Trouble::new)
    }

    fn watch_paths(&self) -> Vec<PathBuf> {
        let entries = std::fs::read_dir(&self.path).into_iter().flatten();
        let mut paths: Vec<PathBuf> = entries.filter_map(|entry| entry.ok().map(|entry| entry.path())).collect();
        paths.extend([self.path.join("heron.md"), self.path.join("units.csv")]);
        paths.sort();
        paths.dedup();
        paths
    }

    fn path_of(&self, file: &str) -> Option<PathBuf> {
        Some(self.path.join(file))
    }

    fn plan(&self, wish: &Wish) -> Result<Plan, Trouble> {
        let units = self.units()?;
        let chosen: Vec<String> = match (wish.units, &wish.view.unit) {
            (Which::This, Some(key)) => vec![key.clone()],
            (Which::This, None) => vec!["HRN-C-01041".into()],
            (Which::All, _) => units.iter().map(|unit| unit.key().to_string()).collect(),
        };
        let strips = chosen.len() as u32 * wish.copies;
        Ok(Plan {
            strips,
            units: chosen,
            printed: 2,
            again: Vec::new(),
            gone: None,
            to: "a rehearsal".into(),
            metres: f64::from(strips) * 1.2,
            seconds: f64::from(strips) * 9.0,
            warning: Some("Preflight found 1 error on this strip.".into()),
            fingerprint: self.content(),
        })
    }

    fn print(&self, _: &Wish, plan: &Plan, stop: &Stop, tell: &mut dyn FnMut(Step)) -> Result<Ending, Trouble> {
        for done in 0..plan.strips {
            if stop.after_this_strip() {
                return Ok(Ending { words: format!("Stopped: {done} of {} strips are printed.", plan.strips) });
            }
            let unit = plan.units[(done as usize) % plan.units.len()].clone();
            tell(Step { done, of: plan.strips, unit, state: "sending".into(), note: String::new() });
            std::thread::sleep(Duration::from_millis(200));
        }
        Ok(Ending { words: format!("All {} strips are printed.", plan.strips) })
    }
}
