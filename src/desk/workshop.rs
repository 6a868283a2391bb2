//! What the desk needs of whoever sets and prints the manual, and the plain things that pass between them.
//!
//! The desk itself knows neither Markdown nor printers: it shows what a [`Workshop`] hands it and passes wishes back.

use std::path::PathBuf;
use std::sync::Arc;

use serde::{Deserialize, Serialize};
use tokio::sync::watch;

use crate::edit::{Balloon, Callout, Change, Way as Turn};
use crate::lengths::Mm;
use crate::preflight::Finding;
use crate::send::{Stop, Verdict};
use crate::strip::Strip;
use crate::strip::map::MapBox;

/// Sets the manual, prints it, and knows which files it was made of. Called from threads of the desk, one call of
/// [`Workshop::proof`] at a time.
pub trait Workshop: Send + Sync + 'static {
    /// The manual as it stands on disk now, set for one unit and one printer.
    ///
    /// # Errors
    /// In words, with the place where there is one: the desk keeps the last good strip and lays the words over it.
    fn proof(&self, view: &View) -> Result<Proof, Trouble>;

    /// The same at once, with frames where pictures will be; nothing where [`Workshop::proof`] does not take long.
    fn sketch(&self, _view: &View) -> Option<Proof> {
        None
    }

    /// The lasting copy of the manual as it stands on disk now.
    ///
    /// # Errors
    /// As [`Workshop::proof`]; and where the program makes no PDF.
    fn copy(&self, _form: Form) -> Result<CopyFile, Trouble> {
        Err(Trouble::new("This workshop makes no copies."))
    }

    /// Every file whose change could change a proof: the manual, its pictures and includes, the units, the style, the printer's
    /// file. Those that are missing too, so that their coming is noticed. Asked anew after every proof.
    fn watch_paths(&self) -> Vec<PathBuf>;

    /// Where a file that a box, a finding or a trouble names lies on disk; nothing for a name of no such file.
    fn path_of(&self, file: &str) -> Option<PathBuf>;

    /// The picture whose box names this file and line, small, in the screens that can be chosen.
    ///
    /// # Errors
    /// In words, when there is none or it cannot be used.
    fn samples(&self, _view: &View, _file: &str, _line: u32) -> Result<Vec<Sample>, Trouble> {
        Err(Trouble::new("No picture stands there that has a screen."))
    }

    /// The figure from a model whose box names this file and line, small, seen from `turn` and `tilt`, degrees; without them as the
    /// manual has it.
    ///
    /// # Errors
    /// In words, when there is none or it cannot be used.
    fn turned(&self, _view: &View, _file: &str, _line: u32, _at: Option<[f64; 2]>) -> Result<Turned, Trouble> {
        Err(Trouble::new("No model stands there."))
    }

    /// Begins with a manual, on a desk that was opened without one.
    ///
    /// # Errors
    /// In words, when it is none of those that were offered, or one lies there already.
    fn begin(&self, _what: &str) -> Result<(), Trouble> {
        Err(Trouble::new("A manual is on the desk already."))
    }

    /// What stands on this line that a hand can be laid on, as the file says it.
    ///
    /// # Errors
    /// In words, when nothing does.
    fn look(&self, _view: &View, _file: &str, _line: u32) -> Result<Looked, Trouble> {
        Err(Trouble::new("This workshop writes nothing."))
    }

    /// What a gesture on a file of the manual names as the text that the page saw: the text as it is now.
    ///
    /// # Errors
    /// In words, when the manual is not read from it.
    fn revision(&self, _view: &View, _file: &str) -> Result<String, Trouble> {
        Err(Trouble::new("This workshop writes nothing."))
    }

    /// The whole picture of the block on this line, or of one panel of it, upright and in colour.
    ///
    /// # Errors
    /// In words, when there is none or it cannot be used.
    fn coloured(&self, _view: &View, _file: &str, _line: u32, _panel: usize) -> Result<Coloured, Trouble> {
        Err(Trouble::new("No picture stands there."))
    }

    /// Writes one gesture into the manual's own text, whatever the file says by now.
    ///
    /// # Errors
    /// In words, with the lines to paste where there are any; nothing is written then.
    fn change(&self, _hold: &Hold, _change: &Change) -> Result<Written, Trouble> {
        Err(Trouble::new("This workshop writes nothing."))
    }

    /// Lets proofs show a gesture that is not written, until there is another, or none. Nothing else sees it.
    ///
    /// # Errors
    /// As [`Workshop::change`]; proofs show what is written then.
    fn try_out(&self, _tried: Option<(&Hold, &Change)>) -> Result<(), Trouble> {
        Err(Trouble::new("This workshop writes nothing."))
    }

    /// What [`Workshop::change`] would write, without writing it.
    ///
    /// # Errors
    /// As [`Workshop::change`].
    fn difference(&self, _hold: &Hold, _change: &Change) -> Result<Difference, Trouble> {
        Err(Trouble::new("This workshop writes nothing."))
    }

    /// What a finding can be mended with.
    ///
    /// # Errors
    /// In words, when the manual cannot be read.
    fn mends(&self, _view: &View, _found: &Found) -> Result<Vec<Mend>, Trouble> {
        Ok(Vec::new())
    }

    /// Puts a picture file into the manual's folder and sets it behind what is held.
    ///
    /// # Errors
    /// In words, when it is no picture that can be set, or as [`Workshop::change`]; then nothing is left behind.
    fn put_picture(&self, _hold: &Hold, _name: &str, _bytes: &[u8]) -> Result<Written, Trouble> {
        Err(Trouble::new("This workshop writes nothing."))
    }

    /// Takes the last gesture on a file back, or does it again.
    ///
    /// # Errors
    /// As [`Workshop::change`].
    fn turn_back(&self, _file: &str, _way: Turn) -> Result<Written, Trouble> {
        Err(Trouble::new("This workshop writes nothing."))
    }

    /// What [`Workshop::gather`] would ask for, without asking.
    ///
    /// # Errors
    /// In words, when the manual cannot be read.
    fn lacking(&self, _view: &View) -> Result<Lacking, Trouble> {
        Ok(Lacking::default())
    }

    /// Brings in the pictures at web addresses that were told under this ticket. May take long.
    ///
    /// # Errors
    /// In words, when others are lacking by now, or not all of them came.
    fn gather(&self, _view: &View, _ticket: &str) -> Result<Ending, Trouble> {
        Err(Trouble::new("this desk brings no pictures in"))
    }

    /// What printing would do now, without doing it.
    ///
    /// # Errors
    /// In words, when it could not be printed.
    fn plan(&self, wish: &Wish) -> Result<Plan, Trouble>;

    /// Enters what a person found of strips of unknown fate, or that a printed one is to come again (`Verdict::Missing`).
    ///
    /// # Errors
    /// In words; nothing is entered then.
    fn settle(&self, _strips: &[NamedStrip], _verdict: Verdict) -> Result<(), Trouble> {
        Err(Trouble::new("this desk keeps no ledger, so that there is nothing to settle"))
    }

    /// Prints what `plan` says. `tell` hears of each step; `stop` is asked by a person.
    ///
    /// # Errors
    /// In words: what to look at, and that the same run goes on afterwards.
    fn print(&self, wish: &Wish, plan: &Plan, stop: &Stop, tell: &mut dyn FnMut(Step)) -> Result<Ending, Trouble>;
}

/// What a lasting copy is made as.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    Page,
    Pdf,
}

/// A lasting copy as a file.
#[derive(Debug)]
pub struct CopyFile {
    /// The manual's name with the form's ending.
    pub name: String,
    pub bytes: Vec<u8>,
}

/// Which strip a page looks at. Nothing means the manual's own choice: the first unit, the printer of its paper.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
pub struct View {
    /// Key of the unit.
    pub unit: Option<String>,
    /// Name of a generic printer, or the one the desk was started with.
    pub printer: Option<String>,
}

/// One strip and all that is said of it.
#[derive(Debug)]
pub struct Proof {
    pub title: Title,
    pub strip: Arc<Strip>,
    pub boxes: Vec<MapBox>,
    pub findings: Vec<Finding>,
    pub estimate: Estimate,
    pub choices: Choices,
    /// Pictures are frames still; they are on their way.
    pub unfinished: bool,
}

/// What the docket is headed with.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Title {
    pub title: String,
    /// Document number and revision, as the strip's last panel says them; may be empty.
    pub document: String,
    pub revision: String,
    /// File name of the manual.
    pub file: String,
}

/// A picture in one screen, small.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Sample {
    pub name: String,
    /// As the manual spells them.
    pub screen: String,
    pub background: String,
    /// The lines that choose it, as a writer pastes them.
    pub words: String,
    /// What a person should know of it; may be empty.
    pub note: String,
    /// In dots.
    pub width: u32,
    pub height: u32,
    /// Rows from the top, each of whole bytes, the leftmost dot first, black set; base64.
    pub rows: String,
}

/// A model seen from a side, small.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Turned {
    /// Degrees the viewer walked to the right, and above the horizon.
    pub turn: f64,
    pub tilt: f64,
    /// The line that says so, as a writer pastes it.
    pub words: String,
    /// In dots.
    pub width: u32,
    pub height: u32,
    /// Rows from the top, each of whole bytes, the leftmost dot first, black set; base64.
    pub rows: String,
}

/// A block that a hand can be laid on.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Looked {
    /// `picture` of Markdown or HTML, `figure`, `comic`, `model`.
    pub kind: &'static str,
    /// The lines that the block begins and ends on.
    pub line: u32,
    pub last: u32,
    /// Of the file's text: a gesture says it, so that it is laid on what the page saw.
    pub revision: String,
    pub shown: Option<Shown>,
    /// Width that the file asks for.
    pub mm: Option<f64>,
    /// Width that is printed on.
    pub column_mm: f64,
    pub screen: Option<String>,
    pub background: Option<String>,
    /// Left, top, width, height, per cent of the whole picture.
    pub crop: Option<[f64; 4]>,
    /// Degrees of a model: turn and tilt.
    pub view: Option<[f64; 2]>,
    pub callouts: Vec<Callout>,
    /// The panel that the line is of.
    pub panel: Option<usize>,
    pub panels: Vec<LookedPanel>,
    pub balloons: Vec<Balloon>,
    /// Why nothing can be written here.
    pub fixed: Option<String>,
    /// The lines that would say the same as a block.
    pub paste: Option<String>,
    /// Gestures on this file that can be taken back, and done again.
    pub undo: usize,
    pub redo: usize,
}

#[derive(Clone, Debug, Default, PartialEq)]
pub struct LookedPanel {
    pub line: u32,
    pub columns: u8,
    pub shown: Option<Shown>,
}

/// A picture that can be asked for in colour: its size, or its proportions.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Shown {
    pub width: u32,
    pub height: u32,
    /// Changes with the picture's bytes.
    pub content: String,
}

/// A picture as a browser shows it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Coloured {
    /// Its media type.
    pub kind: &'static str,
    pub bytes: Vec<u8>,
}

/// What a page has under its hand.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Hold {
    pub file: String,
    /// A line of the block, in the text that the page saw.
    pub line: u32,
    pub revision: String,
}

/// A gesture that is in the file.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Written {
    pub revision: String,
    /// The line that the changed block begins on, and the one that its last words stand on.
    pub line: u32,
    pub last: u32,
    /// Gestures on this file that can be taken back, and done again.
    pub undo: usize,
    pub redo: usize,
}

/// Lines of a file that would be others.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Difference {
    pub file: String,
    /// The first that differs, from 1.
    pub line: u32,
    /// The lines above, that stay.
    pub above: Vec<String>,
    pub was: Vec<String>,
    pub is: Vec<String>,
    /// The lines below, that stay.
    pub below: Vec<String>,
}

/// A finding, as a page names it.
#[derive(Clone, Debug, Default, PartialEq, Eq, Deserialize)]
pub struct Found {
    pub rule: String,
    pub file: String,
    pub line: u32,
    /// From 1, in letters.
    pub column: u32,
    pub hint: String,
}

/// A change that would remove a finding.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Mend {
    /// What a button says.
    pub title: String,
    /// Where it is laid.
    pub file: String,
    pub line: u32,
    pub revision: String,
    pub change: Change,
    /// What a person has to say first.
    pub field: Option<Field>,
}

/// One thing that only a person can say: a key of the change, with words for it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Field {
    pub name: &'static str,
    pub label: String,
    pub example: String,
}

impl Field {
    pub fn new(name: &'static str, label: &str, example: &str) -> Field {
        Field { name, label: label.to_owned(), example: example.to_owned() }
    }
}

impl Mend {
    /// One that needs no more words. Where it is laid is for the workshop to say.
    pub fn new(title: impl Into<String>, change: Change) -> Mend {
        Mend { title: title.into(), file: String::new(), line: 1, revision: String::new(), change, field: None }
    }

    /// One with something to be said first.
    pub fn with(title: impl Into<String>, change: Change, field: Field) -> Mend {
        Mend { field: Some(field), ..Mend::new(title, change) }
    }
}

/// What one strip takes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Estimate {
    pub length_mm: f64,
    pub seconds: f64,
}

/// What can be chosen, and what is.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Choices {
    pub units: Vec<UnitName>,
    /// Key of the unit shown; nothing when the manual has no units.
    pub unit: Option<String>,
    pub printers: Vec<String>,
    /// Name of the printer shown.
    pub printer: String,
    /// Width of the paper, of which the dots take the middle.
    #[serde(rename = "paper_mm", serialize_with = "millimetres")]
    pub paper: Mm,
}

fn millimetres<S: serde::Serializer>(length: &Mm, out: S) -> Result<S::Ok, S::Error> {
    out.serialize_f64(length.value())
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct UnitName {
    pub key: String,
    /// What a person reads in the list: the key, or key and variant.
    pub label: String,
}

/// Pictures at web addresses that are not here.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Lacking {
    pub pictures: usize,
    /// Whom they would be asked of, by name.
    pub hosts: Vec<Host>,
    /// Changes with what is lacking.
    pub ticket: String,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Host {
    pub host: String,
    pub pictures: usize,
}

/// Why something cannot be done, in words.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Trouble {
    pub message: String,
    pub hint: Option<String>,
    pub file: Option<String>,
    /// From 1.
    pub line: Option<u32>,
    /// From 1, in characters.
    pub column: Option<u32>,
    /// The line itself, for showing.
    pub excerpt: Option<String>,
    /// Lines that a person pastes, to say by hand what was not written.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub paste: Option<String>,
    /// What a desk without a manual can begin with.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub begin: Vec<Beginning>,
    /// Ways of printing in which this would be no trouble.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub ways: Vec<Way>,
    /// Strips that a person must look at first.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub unsettled: Vec<NamedStrip>,
}

impl Trouble {
    pub fn new(message: impl Into<String>) -> Trouble {
        Trouble { message: message.into(), ..Trouble::default() }
    }

    pub fn hint(mut self, hint: impl Into<String>) -> Trouble {
        self.hint = Some(hint.into());
        self
    }
}

/// A manual that a desk without one can begin with.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Beginning {
    /// What is asked for.
    pub what: String,
    /// What a button says.
    pub title: String,
}

/// What a person would like printed.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
pub struct Wish {
    pub view: View,
    pub units: Which,
    /// Strips of each unit.
    pub copies: u32,
    #[serde(default)]
    pub way: Way,
}

/// What to do about strips that were printed before.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Way {
    /// They are left out; refused when they would be others now.
    #[default]
    Continue,
    /// They are left out, whatever has changed since.
    GoOn,
    /// All are printed again, in a run of their own.
    NewRun,
}

/// A strip of a run in the ledger.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct NamedStrip {
    pub run: i64,
    pub unit: String,
    pub copy: u32,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Which {
    /// The unit in view.
    This,
    All,
}

/// What printing would do: the desk shows it and asks for a yes. A plan that is not equal when the yes comes is not carried out.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Plan {
    pub strips: u32,
    /// Keys of the units in the order they come out, without those already printed; one name for a manual without units.
    pub units: Vec<String>,
    /// Strips of this run that the ledger already holds as printed.
    pub printed: u32,
    /// Those of them that a person may ask for again, when nothing is left to print.
    pub again: Vec<NamedStrip>,
    /// What a person should know of units that are gone from the table.
    pub gone: Option<String>,
    /// The destination in words.
    pub to: String,
    pub metres: f64,
    pub seconds: f64,
    /// What a person should know before saying yes, such as errors that preflight found.
    pub warning: Option<String>,
    /// Changes whenever the manual, its pictures or its units do.
    pub fingerprint: String,
}

/// One thing that happened to one strip.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Step {
    /// Strips settled so far.
    pub done: u32,
    pub of: u32,
    pub unit: String,
    /// The ledger's word: `queued`, `sending`, `printed`, `unknown`, `missing`; or `waiting` for a person.
    pub state: String,
    pub note: String,
}

/// How a run ended that met no trouble.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Ending {
    /// One sentence that a person reads.
    pub words: String,
}

/// The packing bench behind the page.
pub trait PackingBench: Send + Sync {
    /// Begins a shift, if none is under way.
    ///
    /// # Errors
    /// Why there can be none.
    fn begin(&self) -> Result<(), Trouble>;

    /// One line from the scanner, without its end.
    ///
    /// # Errors
    /// No shift is under way.
    fn scan(&self, line: &str) -> Result<(), Trouble>;

    /// What is shown, as JSON, and every change of it; `null` while no shift is under way.
    fn screens(&self) -> watch::Receiver<Arc<str>>;
}
