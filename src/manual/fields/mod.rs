//! Fields: the manual is a template before it is Markdown. A value is literal text for ever (see the module `literal`).
//!
//! The header is filled first, with `unit` and `run`; then it is read; then the body is filled with `document`, which is that
//! header, as well. A line that holds nothing but `{% … %}` or `{# … #}` leaves no line behind. An included file's own header is
//! left out (its language holds, see the module `included`), and so is its last line break.
//!
//! Text that a template captures (`{% set x %}…{% endset %}`, a macro, `{% filter %}`) is markup of the writer's own with the
//! values in it already spelled: a filter or a comparison that is to see a value takes the field itself.

mod assembly;
mod compared;
mod error;
mod failure;
mod formats;
mod scan;
mod section;
mod values;

use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use minijinja::syntax::SyntaxConfig;
use minijinja::value::{Kwargs, Value, ValueKind};
use minijinja::{AutoEscape, Environment, ErrorKind, State, UndefinedBehavior, context};

use super::document::Header;
use super::edits::Edit;
use super::folder::{Folder, said_in};
use super::foreign;
use super::source::{Source, SourceFile, Span};
use super::units::Unit;
use super::{Error, header, literal, reading};
use assembly::{Assembly, Piece};
use error::FieldError;
use section::Sections;

/// Work a template may do for one unit: an instruction or 64 bytes of text each. Endless ones stop within a fraction of a second.
const FUEL: u64 = 1_000_000;

/// Files that include one another this deep; an include costs the template engine ten of its levels.
const INCLUDES_DEEP: usize = 25;

/// What holds for the whole run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Run {
    /// ISO 8601, `2026-11-20`.
    pub date: String,
    /// Number of the strip in the run, from 1.
    pub number: u64,
}

impl Default for Run {
    fn default() -> Run {
        Run { date: String::new(), number: 1 }
    }
}

/// A manual read once, to be filled for every unit.
#[derive(Debug)]
pub struct Template {
    file: Arc<SourceFile>,
    fence: Option<header::Fence>,
    /// `None` when there is nothing to fill.
    filling: Option<Filling>,
    /// Front matter of another tool.
    front: Option<header::Fence>,
    /// What is read in place of some of the text, when it is no template.
    edits: Vec<Edit>,
    /// A guide without a header of ours is a template only when there are units. Made when the first one comes.
    late: OnceLock<Result<Option<Filling>, Error>>,
    folder: Folder,
}

#[derive(Debug)]
struct Filling {
    environment: Environment<'static>,
    pieces: Pieces,
    sections: Sections,
    /// The header holds fields of its own, so that `document` is not the same for every unit.
    header_varies: bool,
    /// `document`, when it is the same for every unit.
    document: Option<Value>,
}

/// Every file that was made a template, by the name the engine knows it by. Includes join when they are first asked for.
type Pieces = Arc<Mutex<Vec<(Arc<str>, Arc<Piece>)>>>;

const HEADER: &str = "\u{1}header";
const BODY: &str = "\u{1}body";

impl Template {
    /// Reads a manual of the folder.
    ///
    /// # Errors
    /// When it cannot be read, is not text, or is no well-formed template.
    pub fn load(folder: &Folder, file: &str) -> Result<Template, Error> {
        Template::of(folder, reading::read(folder, file, None)?)
    }

    /// A manual that is no file of the folder, but counts its names from there.
    ///
    /// # Errors
    /// As [`Template::load`].
    pub fn of_bytes(folder: &Folder, name: &str, bytes: &[u8]) -> Result<Template, Error> {
        Template::of(folder, reading::text(name, bytes)?)
    }

    fn of(folder: &Folder, file: Arc<SourceFile>) -> Result<Template, Error> {
        let fence = header::fence(file.text()).map_err(|()| Error::UnclosedHeader { at: Error::at(&file, 0, 3) })?;
        let front = header::front_matter(file.text());
        let body = fence.as_ref().or(front.as_ref()).map_or(0, |fence| fence.end);
        let filling = match &fence {
            Some(_) if scan::has_tags(file.text()) => Some(Filling::new(folder, &file, fence.as_ref(), body)?),
            _ => None,
        };
        let edits = foreign::edits(file.text(), body, fence.is_some());
        let mut template = Template { file, fence, filling, front, edits, late: OnceLock::new(), folder: folder.clone() };
        template.keep_document()?;
        Ok(template)
    }

    /// Whether the strip can differ from unit to unit.
    pub fn has_fields(&self) -> bool {
        self.filling.is_some() || (self.fence.is_none() && scan::has_tags(self.file.text()))
    }

    /// The manual for one unit.
    ///
    /// # Errors
    /// When a field is unknown, an include cannot be read, the template does not end, or the header cannot be understood.
    pub fn fill(&self, unit: Option<&Unit>, run: &Run) -> Result<Source, Error> {
        let filling = self.filling(unit.is_some())?;
        let given = filling.map(|_| Given { unit: values::unit(unit), run: values::run(run) });
        self.filled(filling, given, unit)
    }

    /// The manual for all units together: whatever a unit or the run would say is said by `words`, which are given the header; a
    /// condition on the unit itself is false. `columns` are those of the table of units, if there is one.
    ///
    /// # Errors
    /// As [`Template::fill`].
    pub fn fill_for_all(&self, columns: Option<&[String]>, words: impl Fn(&Header) -> String) -> Result<Source, Error> {
        let filling = self.filling(columns.is_some())?;
        let given = |words: String| Given { unit: values::any_unit(columns, &words), run: values::no_run(&words) };
        let Some(_) = filling else { return self.filled(None, None, None) };
        // The header says in which language the words are, and may hold fields of its own.
        let mut head = Assembly::new(self.file.clone());
        self.head(&mut head, Some(&given(words(&Header::default()))), None)?;
        let header = header::read(&head.head_source(), &mut Vec::new())?;
        self.filled(filling, Some(given(words(&header))), None)
    }

    fn filled(&self, filling: Option<&Filling>, given: Option<Given>, unit: Option<&Unit>) -> Result<Source, Error> {
        let mut assembly = Assembly::new(self.file.clone());
        self.head(&mut assembly, given.as_ref(), unit)?;
        let body = self.fence.as_ref().or(self.front.as_ref()).map_or(0, |fence| fence.end);
        match (filling, given) {
            (Some(filling), Some(given)) => {
                let document = match &filling.document {
                    Some(document) => document.clone(),
                    None => values::document(&header::read(&assembly.head_source(), &mut Vec::new())?),
                };
                let context = context! { document => document, ..given.context() };
                assembly.start_body();
                filling.render(BODY, context, &mut assembly, unit)?;
            }
            _ => {
                assembly.start_body();
                let mut at = body;
                for edit in &self.edits {
                    assembly.push_exact(at, edit.range.start);
                    assembly.push_in_place(edit.with, edit.range.start);
                    at = edit.range.end;
                }
                assembly.push_exact(at, self.file.text().len());
            }
        }
        assembly.finish()
    }

    /// What fills the manual, if anything does. A guide that was written for something else has braces of its own.
    fn filling(&self, units: bool) -> Result<Option<&Filling>, Error> {
        if self.fence.is_some() || !units || !scan::has_tags(self.file.text()) {
            return Ok(self.filling.as_ref());
        }
        let make = || {
            let mut filling = Filling::new(&self.folder, &self.file, None, self.front.as_ref().map_or(0, |front| front.end))?;
            filling.document = Some(values::document(&Header::default()));
            Ok(Some(filling))
        };
        match self.late.get_or_init(make) {
            Ok(filling) => Ok(filling.as_ref()),
            Err(error) => Err(error.clone()),
        }
    }

    /// The part above the body, its fields filled.
    fn head(&self, assembly: &mut Assembly, given: Option<&Given>, unit: Option<&Unit>) -> Result<(), Error> {
        let Some(fence) = &self.fence else {
            if let Some(front) = &self.front {
                assembly.push_exact(0, front.end);
                assembly.set_front(Span::new(front.toml.start, front.toml.end));
            }
            return Ok(());
        };
        assembly.push_exact(0, fence.toml.start);
        let start = assembly.length();
        match (&self.filling, given) {
            (Some(filling), Some(given)) if filling.header_varies => {
                filling.render(HEADER, given.context(), assembly, unit)?;
            }
            _ => assembly.push_exact(fence.toml.start, fence.toml.end),
        }
        assembly.set_header(Span { start, end: assembly.length() });
        assembly.push_exact(fence.toml.end, fence.end);
        Ok(())
    }

    /// Reads the header once when no field stands in it.
    fn keep_document(&mut self) -> Result<(), Error> {
        if self.filling.as_ref().is_none_or(|filling| filling.header_varies) {
            return Ok(());
        }
        let mut assembly = Assembly::new(self.file.clone());
        self.head(&mut assembly, None, None)?;
        let document = values::document(&header::read(&assembly.head_source(), &mut Vec::new())?);
        self.filling.iter_mut().for_each(|filling| filling.document = Some(document.clone()));
        Ok(())
    }
}

/// What fields can name, but for the document itself.
struct Given {
    unit: Value,
    run: Value,
}

impl Given {
    fn context(&self) -> Value {
        context! { unit => self.unit.clone(), run => self.run.clone() }
    }
}

impl Filling {
    fn new(folder: &Folder, file: &Arc<SourceFile>, fence: Option<&header::Fence>, body: usize) -> Result<Filling, Error> {
        let (pieces, sections) = (Pieces::default(), Sections::default());
        let mut environment = environment(folder, &pieces, &sections);
        let mut header_varies = false;
        let toml = fence
            .map(|fence| fence.toml.clone())
            .filter(|toml| scan::has_tags(file.text().get(toml.clone()).unwrap_or_default()));
        let parts = toml.map(|toml| (HEADER, toml)).into_iter().chain([(BODY, body..file.text().len())]);
        for (name, range) in parts {
            header_varies |= name == HEADER;
            let (piece, text) = Piece::prepare(file, range, false)?;
            keep(&pieces, name, piece);
            environment.add_template_owned(name, text).map_err(|error| failure::in_words(&error, &known(&pieces), None))?;
        }
        Ok(Filling { environment, pieces, sections, header_varies, document: None })
    }

    fn render(&self, name: &str, context: Value, assembly: &mut Assembly, unit: Option<&Unit>) -> Result<(), Error> {
        let rendered = self.environment.get_template(name).and_then(|template| template.render_with_spans(context));
        let (text, spans) = rendered.map_err(|error| failure::in_words(&error, &known(&self.pieces), unit))?;
        assembly.push_rendered(&text, &spans, &known(&self.pieces), &self.sections)
    }
}

fn keep(pieces: &Pieces, name: &str, piece: Piece) {
    let mut pieces = pieces.lock().unwrap_or_else(PoisonError::into_inner);
    pieces.retain(|(known, _)| **known != *name);
    pieces.push((name.into(), Arc::new(piece)));
}

/// The pieces there are by now.
fn known(pieces: &Pieces) -> Vec<(Arc<str>, Arc<Piece>)> {
    pieces.lock().unwrap_or_else(PoisonError::into_inner).clone()
}

/// A name counts from the file that says it; what does not lie there, from the manual's folder.
fn counted_from(folder: &Folder, parent: &str, name: &str) -> String {
    if matches!(parent, HEADER | BODY) {
        return name.into();
    }
    let beside = said_in(parent, name);
    if folder.stamp(&beside).is_err() && folder.stamp(name).is_ok() { name.into() } else { beside }
}

fn environment(folder: &Folder, pieces: &Pieces, sections: &Sections) -> Environment<'static> {
    let mut environment = Environment::new();
    environment.set_debug(false);
    environment.set_fuel(Some(FUEL));
    environment.set_recursion_limit(INCLUDES_DEEP * 10);
    environment.set_undefined_behavior(UndefinedBehavior::Strict);
    environment.set_auto_reload(false);
    // With escaping on, text that a template captured (`{% set %}`, macros) is told from values: it is markup of the writer's own,
    // its values already spelled. No filter may make a value pass for it.
    environment.set_auto_escape_callback(|_| AutoEscape::Custom("literal".into()));
    environment.remove_filter("safe");
    environment.remove_global("debug");
    if let Ok(syntax) = SyntaxConfig::builder().keep_trailing_newline(true).build() {
        environment.set_syntax(syntax);
    }
    environment.set_formatter(|out, _, value| {
        match value.kind() {
            _ if value.is_safe() => out.write_str(value.as_str().unwrap_or_default())?,
            ValueKind::String => literal::spell(value.as_str().unwrap_or_default(), out)?,
            ValueKind::None | ValueKind::Undefined => literal::spell("", out)?,
            ValueKind::Number | ValueKind::Bool => literal::spell(&value.to_string(), out)?,
            kind => return Err(FieldError::not_text(kind).into()),
        }
        Ok(())
    });
    formats::add_to(&mut environment);
    let lies = folder.clone();
    environment.set_path_join_callback(move |name, parent| counted_from(&lies, parent, name).into());
    let (lies, sections) = (folder.clone(), sections.clone());
    environment.add_function("section", move |state: &State, file: &str, heading: &str, more: Kwargs| {
        let without: Option<Vec<String>> = more.get("without")?;
        more.assert_all_used()?;
        let file = counted_from(&lies, state.name(), file);
        sections.ask(&lies, &file, heading, &without.unwrap_or_default()).map(Value::from_safe_string)
    });
    let (folder, pieces) = (folder.clone(), pieces.clone());
    environment.set_loader(move |name| {
        let load = || {
            let file = reading::read(&folder, name, None)?;
            let start = header::fence(file.text()).ok().flatten().map_or(0, |fence| fence.end);
            Piece::prepare(&file, start..file.text().len(), true)
        };
        let (piece, text) = load()
            .map_err(|error| minijinja::Error::new(ErrorKind::BadInclude, error.to_string()).with_source(error::Nested(error)))?;
        keep(&pieces, name, piece);
        Ok(Some(text))
    });
    environment
}
