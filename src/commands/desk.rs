//! `stripling desk`: the live proof in the browser. Here the desk's wishes meet the press, preflight, and the run.

use std::collections::{BTreeMap, BTreeSet};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use super::editing::{self, Hand};
use super::options::{self, Everywhere};
use super::packing_page::Counter;
use super::report::{Reporter, Trouble as Told};
use super::{Error, beginning, copy, gather, preflight, print, printing, samples, turning};
use crate::desk::{
    self, Choices, Coloured, CopyFile, Desk, Difference, Editor, Ending, Estimate, Form, Found, Hold, Host, Lacking, Looked,
    Mend, NamedStrip, PackingBench, Plan, Proof, Sample, Setup, Step, Title, Trouble, Turned, UnitName, View, Way, Which, Wish,
    Workshop, Written,
};
use crate::edit::{Change, Way as Turn};
use crate::manual::gathered::LOCK;
use crate::manual::{Unit, Units, Unsaved};
use crate::names::folder_of;
use crate::preflight::Finding;
use crate::prepress::{self, Made, Prepress};
use crate::printer::{self, BUILT_IN, Job as Asked, Tally};
use crate::send::ledger::Begun;
use crate::send::{self, Event, Facts, Intent, Job, Ledger, Order, Settings, State, Stop, StripName, Times, Verdict};
use crate::strip::map::Map;
use crate::web::{self, Limits};

pub fn run(asked: &options::Desk, everywhere: &Everywhere, reporter: &Reporter) -> Result<(), Error> {
    let editor = asked.editor.as_deref().map(Editor::read).transpose().map_err(|wrong| {
        Error::Usage(Told::new(wrong).hint("write a program and its arguments, {file} and {line} where they belong"))
    })?;
    let shop = Shop {
        manual: Mutex::new(asked.manual.clone()),
        read_only: asked.read_only,
        everywhere: everywhere.clone(),
        to: asked.to.first().cloned(),
        ledger: asked.ledger.clone(),
        presses: Mutex::new(BTreeMap::new()),
        seen: Mutex::new(BTreeSet::new()),
        gathering: Mutex::new(()),
        hand: Hand::new(asked.manual.as_deref().map_or(Path::new("."), folder_of).to_path_buf(), everywhere.project.clone()),
    };
    if asked.ledger.is_none() && asked.to.iter().any(|to| !to.starts_with("rehearse:")) {
        let trouble = Told::new("a desk that prints needs a ledger, or every yes would print all strips again");
        return Err(Error::Usage(trouble.hint("add --ledger run.db")));
    }
    // A manual that cannot be read now can be mended while the desk is open; a file that is not there cannot.
    if let Some(manual) = asked.manual.as_ref().filter(|manual| !manual.is_file()) {
        return Err(Error::Input(Told::new(format!("{} cannot be read", manual.display())).hint("name a Markdown file")));
    }
    let packing = match (&asked.manual, &everywhere.units, &asked.ledger, asked.to.is_empty()) {
        (Some(manual), Some(_), Some(ledger), false) => {
            let counter = Counter::new(manual, everywhere, asked, ledger);
            Some(Arc::new(counter) as Arc<dyn PackingBench>)
        }
        _ => None,
    };
    let packs = packing.is_some();
    let refused = |error: desk::Error| Error::Input(Told::new(error.to_string()).maybe_hint(error.hint()));
    let mut desk =
        Desk::open(Arc::new(shop), Setup { port: asked.port, editor, packing, read_only: asked.read_only }).map_err(refused)?;
    super::output::Output::Standard.write(format!("{}\n", desk.address()).as_bytes())?;
    reporter.say("the desk is open there, for the first browser that comes; Ctrl-C closes it");
    if packs {
        reporter.say("its packing page is /pack there");
    }
    let quiet = reporter.is_quiet();
    desk.on_new_address(move |address| {
        if !quiet {
            let _ = writeln!(std::io::stderr(), "a browser has come in; for another one: {address}");
        }
    });
    desk.serve().map_err(refused)
}

struct Shop {
    /// Nothing until one is begun with, on a desk that was opened without.
    manual: Mutex<Option<PathBuf>>,
    read_only: bool,
    everywhere: Everywhere,
    to: Option<String>,
    ledger: Option<PathBuf>,
    /// One press a printer, kept with all it has set.
    presses: Mutex<BTreeMap<Option<String>, Prepress>>,
    /// Files that proofs were made of.
    seen: Mutex<BTreeSet<PathBuf>>,
    /// Held while pictures are brought in.
    gathering: Mutex<()>,
    /// What writes into the manual.
    hand: Hand,
}

fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Shop {
    /// The manual on the desk.
    fn manual(&self) -> Result<PathBuf, Trouble> {
        lock(&self.manual).clone().ok_or_else(|| beginning::none_yet(Path::new(".")))
    }

    /// The folder that it lies in.
    fn home(&self) -> PathBuf {
        lock(&self.manual).as_deref().map_or(Path::new("."), folder_of).to_path_buf()
    }

    /// Does something with the press of a printer, opened anew from what lies on disk now.
    fn with<T>(&self, view: &View, act: impl FnOnce(&Prepress) -> Result<T, Error>) -> Result<T, Trouble> {
        self.with_unsaved(view, None, act)
    }

    /// The same as if a file held what is not written into it.
    fn with_unsaved<T>(
        &self,
        view: &View,
        unsaved: Option<Unsaved>,
        act: impl FnOnce(&Prepress) -> Result<T, Error>,
    ) -> Result<T, Trouble> {
        let (everywhere, manual) = (self.everywhere_for(view), self.manual()?);
        let choices = prepress::Choices { unsaved, ..everywhere.choices() };
        let mut presses = lock(&self.presses);
        let kept = presses.remove(&everywhere.printer);
        let press = Prepress::open_again(&manual, &choices, kept).map_err(|error| self.told(&Error::from(error)))?;
        let done = act(&press).map_err(|error| self.told(&error));
        presses.insert(everywhere.printer, press);
        done
    }

    /// What is wrong, for a page; a file that is lacking is waited for.
    fn told(&self, error: &Error) -> Trouble {
        let wanting = error.trouble().and_then(|told| told.wanting.as_ref());
        lock(&self.seen).extend(wanting.map(|file| self.home().join(file)));
        Trouble::from(error)
    }

    /// The same with a press of its own, so that the proof stays live however long it takes.
    fn apart<T>(&self, view: &View, act: impl FnOnce(&Prepress) -> Result<T, Error>) -> Result<T, Trouble> {
        let (everywhere, manual) = (self.everywhere_for(view), self.manual()?);
        let press =
            Prepress::open_again(&manual, &everywhere.choices(), None).map_err(|error| Trouble::from(&Error::from(error)))?;
        act(&press).map_err(|error| Trouble::from(&error))
    }

    /// The options with the view's printer. The one that the desk was started with goes by the name its file gives it.
    fn everywhere_for(&self, view: &View) -> Everywhere {
        let mut everywhere = self.everywhere.clone();
        if let Some(named) = view.printer.as_ref().filter(|named| BUILT_IN.iter().any(|generic| generic.name == **named)) {
            everywhere.printer = Some(named.clone());
        }
        everywhere
    }

    fn shown_as(&self, press: &Prepress, unit: Option<&Unit>, made: Made, findings: Vec<Finding>) -> Proof {
        let bytes = printer::encode(&made.strip, &press.profile).len() as u64;
        let mut tally = Tally::new(&press.profile, Asked { copies: 1, roll: None });
        tally.add(&made.strip, bytes);
        let estimate = tally.finish();
        let header = &made.document.header;
        Proof {
            title: Title {
                title: header.title.clone().unwrap_or_default(),
                document: header.document.clone().unwrap_or_default(),
                revision: header.revision.clone().unwrap_or_default(),
                file: press.file.clone(),
            },
            boxes: Map::new(&made.layout, &made.source).boxes,
            findings,
            estimate: Estimate { length_mm: estimate.length.value(), seconds: estimate.seconds },
            choices: choices(press, unit, &self.everywhere),
            strip: Arc::new(made.strip),
            unfinished: false,
        }
    }

    fn chosen<'a>(press: &'a Prepress, wish: &Wish) -> Result<Vec<(Option<&'a Unit>, u64)>, Error> {
        match wish.units {
            Which::This => Ok(vec![shown(press, &wish.view)?]),
            Which::All => Ok(press.chosen(None)?),
        }
    }

    fn facts(&self, press: &Prepress, wish: &Wish) -> Result<Facts, Error> {
        let whole_table = wish.units == Which::All;
        printing::facts(press, &Shop::chosen(press, wish)?, u64::from(wish.copies), whole_table)
    }

    /// The printed strips of units that are asked for, which may be asked for again.
    fn again(&self, ledger: &Ledger, begun: &Begun, facts: &Facts) -> Result<Vec<NamedStrip>, Error> {
        let summary = ledger.summary().map_err(|error| printing::refused(error.into()))?;
        let run = summary.runs.iter().find(|run| Some(run.run) == begun.run);
        let asked: BTreeSet<&str> = facts.units.iter().map(|unit| unit.key.as_str()).collect();
        let strips = run.iter().flat_map(|run| run.strips.iter().map(move |strip| (run.run, strip)));
        let printed = strips.filter(|(_, strip)| {
            strip.state == State::Printed && strip.copy <= facts.copies && asked.contains(strip.unit.as_str())
        });
        Ok(printed.map(|(run, strip)| NamedStrip { run, unit: strip.unit.clone(), copy: strip.copy }).collect())
    }

    /// A rehearsal counts for itself, by the address alone.
    fn rehearsal(&self) -> bool {
        self.to.as_deref().is_some_and(|to| to.starts_with("rehearse:"))
    }

    /// The ledger to be looked at only: one that is not begun yet knows nothing.
    fn look(&self) -> Result<Ledger, Error> {
        let opened = match self.ledger.as_ref().filter(|path| path.exists()) {
            Some(path) => Ledger::look(path),
            None => Ledger::in_memory(),
        };
        opened.map_err(|error| printing::refused(error.into()))
    }

    fn destination(&self) -> Result<&str, Trouble> {
        self.to.as_deref().ok_or_else(|| {
            Trouble::new("the desk was opened without a printer to send to")
                .hint("open it with --to, as in: --to tcp://192.0.2.7:9100 --ledger run.db")
        })
    }

    fn open_ledger(&self) -> Result<Ledger, Error> {
        let opened = match &self.ledger {
            Some(path) => Ledger::open(path),
            None => Ledger::in_memory(),
        };
        opened.map_err(|error| printing::refused(error.into()))
    }
}

impl Workshop for Shop {
    fn proof(&self, view: &View) -> Result<Proof, Trouble> {
        self.with_unsaved(view, self.hand.unsaved(), |press| {
            let (unit, number) = shown(press, view)?;
            let made = press.draft(unit, number)?;
            self.remember(press, &made);
            let findings = preflight::look(press, &made, unit).findings;
            Ok(self.shown_as(press, unit, made, findings))
        })
    }

    fn copy(&self, form: Form) -> Result<CopyFile, Trouble> {
        self.apart(&View::default(), |press| {
            let (form, ending) = match form {
                Form::Page => (copy::Form::Page, "html"),
                Form::Pdf => (copy::Form::Pdf(None), "pdf"),
            };
            let opened = copy::Opened {
                folder: &press.folder,
                file: &press.file,
                template: &press.template,
                columns: press.units.as_ref().map(Units::columns),
                pictures: press.pictures(),
            };
            let made = copy::make(&opened, form)?;
            Ok(CopyFile { name: format!("{}.{ending}", copy::stem(&press.file)), bytes: made.bytes })
        })
    }

    fn sketch(&self, view: &View) -> Option<Proof> {
        let sketched = self.with(view, |press| {
            let (unit, number) = shown(press, view)?;
            let made = press.sketch(unit, number)?;
            Ok(made.map(|made| Proof { unfinished: true, ..self.shown_as(press, unit, made, Vec::new()) }))
        });
        // Whatever is wrong is said of the proof.
        sketched.ok().flatten()
    }

    fn watch_paths(&self) -> Vec<PathBuf> {
        let mut paths = lock(&self.seen).clone();
        paths.extend(lock(&self.manual).clone());
        paths.extend(self.everywhere.units.clone());
        paths.extend(self.everywhere.printer.as_ref().map(PathBuf::from).filter(|path| path.is_file()));
        paths.into_iter().collect()
    }

    fn path_of(&self, file: &str) -> Option<PathBuf> {
        let units = self.everywhere.units.as_ref().filter(|units| units.display().to_string() == file);
        let inside = lock(&self.seen).iter().find(|path| self.home().join(file) == **path).cloned();
        inside.or_else(|| units.cloned())
    }

    fn samples(&self, view: &View, file: &str, line: u32) -> Result<Vec<Sample>, Trouble> {
        let found = self.with(view, |press| {
            let (unit, number) = shown(press, view)?;
            let (source, document) = press.read(unit, number)?;
            Ok(samples::samples(&document, &source, press.pictures(), press.profile.paper(), file, line))
        })?;
        match found {
            Some(made) => made.map_err(|error| Trouble::new(error.to_string())),
            None => Err(Trouble::new("No picture stands there that has a screen.")),
        }
    }

    fn turned(&self, view: &View, file: &str, line: u32, at: Option<[f64; 2]>) -> Result<Turned, Trouble> {
        let found = self.with(view, |press| {
            let (unit, number) = shown(press, view)?;
            let (source, document) = press.read(unit, number)?;
            Ok(turning::turned(&document, &source, press.pictures().models(), (file, line), at))
        })?;
        found.unwrap_or_else(|| Err("No model stands there.".into())).map_err(Trouble::new)
    }

    fn begin(&self, what: &str) -> Result<(), Trouble> {
        let mut manual = lock(&self.manual);
        if manual.is_some() {
            return Err(Trouble::new("A manual is on the desk already."));
        }
        *manual = Some(beginning::begin(Path::new("."), what, self.read_only)?);
        Ok(())
    }

    fn look(&self, view: &View, file: &str, line: u32) -> Result<Looked, Trouble> {
        self.with(view, |press| {
            let (unit, number) = shown(press, view)?;
            let (source, document) = press.read(unit, number)?;
            Ok(self.hand.look(press, &source, &document, file, line))
        })?
    }

    fn revision(&self, view: &View, file: &str) -> Result<String, Trouble> {
        self.with(view, |press| {
            let (unit, number) = shown(press, view)?;
            let (source, _) = press.read(unit, number)?;
            Ok(self.hand.revision(&source, file))
        })?
    }

    fn coloured(&self, view: &View, file: &str, line: u32, panel: usize) -> Result<Coloured, Trouble> {
        self.with(view, |press| {
            let (unit, number) = shown(press, view)?;
            let (source, document) = press.read(unit, number)?;
            Ok(editing::coloured(press.pictures(), &source, &document, (file, line), panel))
        })?
    }

    fn change(&self, hold: &Hold, change: &Change) -> Result<Written, Trouble> {
        self.hand.change(hold, change)
    }

    fn try_out(&self, tried: Option<(&Hold, &Change)>) -> Result<(), Trouble> {
        self.hand.try_out(tried)
    }

    fn difference(&self, hold: &Hold, change: &Change) -> Result<Difference, Trouble> {
        self.hand.difference(hold, change)
    }

    fn mends(&self, view: &View, found: &Found) -> Result<Vec<Mend>, Trouble> {
        self.with(view, |press| {
            let (unit, number) = shown(press, view)?;
            let (source, document) = press.read(unit, number)?;
            Ok(self.hand.mends(press, &source, &document, found))
        })?
    }

    fn put_picture(&self, hold: &Hold, name: &str, bytes: &[u8]) -> Result<Written, Trouble> {
        self.hand.put_picture(hold, name, bytes)
    }

    fn turn_back(&self, file: &str, way: Turn) -> Result<Written, Trouble> {
        self.hand.turn_back(file, way)
    }

    fn lacking(&self, view: &View) -> Result<Lacking, Trouble> {
        self.apart(view, |press| Ok(lacking(&absent(press)?)))
    }

    fn gather(&self, view: &View, ticket: &str) -> Result<Ending, Trouble> {
        let Ok(_one) = self.gathering.try_lock() else {
            return Err(Trouble::new("Pictures are on their way already."));
        };
        self.apart(view, |press| {
            let absent = absent(press)?;
            // What is confirmed is what is asked for.
            if lacking(&absent).ticket != ticket {
                let trouble = Told::new("other pictures are lacking by now").hint("look at the hosts again, then say yes");
                return Err(Error::Usage(trouble));
            }
            let pictures = gather::bring(&press.folder, &absent, Limits::default(), false, &Stop::new(), &mut |_, _| {})?;
            gather::all_came(&pictures)?;
            Ok(Ending { words: sentences(&gather::said(&pictures, false)) })
        })
    }

    fn plan(&self, wish: &Wish) -> Result<Plan, Trouble> {
        let to = self.destination()?.to_string();
        let mut refused = (Vec::new(), Vec::new());
        let plan = self.with(&wish.view, |press| {
            let facts = self.facts(press, wish)?;
            // The very question that the run will ask.
            let ledger = self.look()?;
            let begun = ledger.would_begin(&facts, self.rehearsal(), intent(wish)).map_err(|error| {
                refused = ways_out(&error, wish.units);
                printing::refused(error.into())
            })?;
            let chosen = Shop::chosen(press, wish)?;
            let (unit, number) = *chosen.first().ok_or_else(|| Error::Usage(Told::new("there is no unit to print")))?;
            let made = press.strip(unit, number)?;
            let bytes = printer::encode(&made.strip, &press.profile).len() as u64;
            let mut units: Vec<String> = begun.todo.iter().map(|todo| todo.name.unit.clone()).collect();
            units.dedup();
            let (left, done) = (begun.todo.len() as u32, begun.printed as u32);
            let mut tally = Tally::new(&press.profile, Asked { copies: u64::from(left), roll: None });
            tally.add(&made.strip, bytes);
            let estimate = tally.finish();
            let errors = preflight::look(press, &made, unit).errors;
            Ok(Plan {
                strips: left,
                units,
                printed: done,
                to,
                metres: estimate.paper_m,
                seconds: estimate.seconds,
                warning: (errors > 0).then(|| {
                    format!("Preflight finds {errors} {} in this manual.", if errors == 1 { "error" } else { "errors" })
                }),
                fingerprint: fingerprint(&facts),
                again: if left == 0 { self.again(&ledger, &begun, &facts)? } else { Vec::new() },
                gone: print::gone_in_words(&begun.gone),
            })
        });
        plan.map_err(|trouble| match refused {
            (ways, unsettled) if ways.is_empty() && unsettled.is_empty() => Trouble { ways, unsettled, ..trouble },
            // The page offers what the command line would have to be told.
            (ways, unsettled) => Trouble { ways, unsettled, hint: None, ..trouble },
        })
    }

    fn settle(&self, strips: &[NamedStrip], verdict: Verdict) -> Result<(), Trouble> {
        let strips: Vec<(i64, StripName)> =
            strips.iter().map(|strip| (strip.run, StripName { unit: strip.unit.clone(), copy: strip.copy })).collect();
        let path = self.ledger.as_ref().ok_or_else(|| Trouble::new("This desk keeps no ledger."))?;
        let entered = Ledger::open_existing(path).and_then(|mut ledger| ledger.resolve_strips(&strips, verdict));
        entered.map_err(|error| Trouble::from(&printing::refused(error.into())))
    }

    fn print(&self, wish: &Wish, plan: &Plan, stop: &Stop, tell: &mut dyn FnMut(Step)) -> Result<Ending, Trouble> {
        let to = self.destination()?.to_string();
        self.apart(&wish.view, |press| {
            let chosen = Shop::chosen(press, wish)?;
            let facts = self.facts(press, wish)?;
            // What is confirmed is what is run.
            if fingerprint(&facts) != plan.fingerprint {
                return Err(Error::Usage(
                    Told::new("the manual has changed since this plan was made").hint("look at it again, then say yes"),
                ));
            }
            let mut ledger = self.open_ledger()?;
            let order = Order { intent: intent(wish), stop: stop.clone(), ..Order::new(facts) };
            let settings = Settings {
                capabilities: printing::capabilities(&press.profile),
                times: Times::default(),
                stop: stop.clone(),
                continuing: ledger.has_sent_to(&send::place(&to)).map_err(|error| printing::refused(error.into()))?,
                pretend: Some(printing::pretend(press.profile.clone())),
                devices: Some(super::pretend_printers::devices()),
                usb: None,
                ports: None,
            };
            let mut destination = send::open(&to, settings).map_err(|error| printing::refused(print::Error::Address(error)))?;
            let mut make = |job: &Job| printing::bytes(press, printing::unit_of(&chosen, job)?, u64::from(job.number));
            let mut done = 0;
            let mut step = |unit: String, state: &str, note: String, done: u32| {
                tell(Step { done, of: plan.strips, unit, state: state.to_string(), note });
            };
            let report = send::run(&mut ledger, destination.as_mut(), &order, &mut make, &mut |event| match event {
                Event::Strip { job, .. } => step(job.name.unit.clone(), "sending", String::new(), done),
                Event::Settled { job, state, note, .. } => {
                    done += 1;
                    step(job.name.unit.clone(), word(state), note.to_string(), done);
                }
                Event::Waiting { trouble, .. } => step(String::new(), "waiting", trouble.to_string(), done),
                Event::Began { .. } | Event::Sent { .. } | Event::PaperLow | Event::GoesOn => {}
            })
            .map_err(|halt| printing::refused(print::Error::Halt(halt)))?;
            let kept = self.ledger.as_ref().map(|path| path.display().to_string());
            let words = sentences(&for_the_page(print::closing(&report, kept.as_deref(), "Print strips")));
            match report.ending {
                send::Ending::Trouble(_) => Err(Error::Printer(Told::new(words))),
                send::Ending::Done | send::Ending::Asked => Ok(Ending { words }),
            }
        })
    }
}

impl Shop {
    fn remember(&self, press: &Prepress, made: &Made) {
        let folder = &self.home();
        let pictures = made.document.blocks.iter().flat_map(|block| block.pictures()).filter(|address| !address.contains(':'));
        let mut seen = lock(&self.seen);
        seen.extend(made.source.files.iter().map(|file| folder.join(file.name())));
        let found = |address: &str| press.folder.find(address).map_or_else(|_| folder.join(address), |found| found.path);
        seen.extend(pictures.map(found));
        seen.insert(folder.join(LOCK));
        seen.extend(made.document.header.style.iter().filter(|style| style.contains('.')).map(|style| folder.join(style)));
        seen.insert(folder.join(&press.file));
    }
}

/// The web addresses of pictures that are not here.
fn absent(press: &Prepress) -> Result<BTreeSet<String>, Error> {
    let mut wanted = gather::wanted(press)?;
    wanted.retain(|address| press.folder.read(address, Limits::default().each).is_err());
    Ok(wanted)
}

fn lacking(absent: &BTreeSet<String>) -> Lacking {
    let mut hosts: BTreeMap<String, usize> = BTreeMap::new();
    for address in absent {
        *hosts.entry(web::host(address).unwrap_or_else(|| address.clone())).or_default() += 1;
    }
    let ticket = printing::digest(absent.iter().map(String::as_str).collect::<Vec<_>>().join("\n").as_bytes());
    let hosts = hosts.into_iter().map(|(host, pictures)| Host { host, pictures }).collect();
    Lacking { pictures: absent.len(), hosts, ticket }
}

fn intent(wish: &Wish) -> Intent {
    match wish.way {
        Way::Continue => Intent::Continue,
        Way::GoOn => Intent::GoOn,
        Way::NewRun => Intent::NewRun,
    }
}

/// How a page gets past what the ledger refuses: other ways of printing, or strips to be looked at.
///
/// A run of its own is offered for all units only: one of a single strip would leave the others behind in the run before.
fn ways_out(error: &send::ledger::Error, units: Which) -> (Vec<Way>, Vec<NamedStrip>) {
    use send::ledger::Error::{ManualChanged, OtherFile, Renamed, UnitChanged, Unresolved};
    match error {
        Unresolved(found) => (Vec::new(), found.iter().map(|found| named(found.run, &found.name)).collect()),
        ManualChanged { .. } | UnitChanged(_) | Renamed { .. } | OtherFile { .. } => match units {
            Which::All => (vec![Way::GoOn, Way::NewRun], Vec::new()),
            Which::This => (vec![Way::GoOn], Vec::new()),
        },
        _ => (Vec::new(), Vec::new()),
    }
}

fn named(run: i64, name: &StripName) -> NamedStrip {
    NamedStrip { run, unit: name.unit.clone(), copy: name.copy }
}

/// The page has its own way to say what lies on the table.
fn for_the_page(mut lines: Vec<String>) -> Vec<String> {
    for line in lines.iter_mut().filter(|line| line.starts_with("look which of them")) {
        *line = "look which of them lie on the table: Print strips lists them to be ticked".to_owned();
    }
    lines
}

/// Lines of a terminal as sentences of a page.
fn sentences(lines: &[String]) -> String {
    let sentence = |line: &String| {
        let mut letters = line.chars();
        let first = letters.next().map(char::to_uppercase).into_iter().flatten();
        format!("{}.", first.chain(letters).collect::<String>())
    };
    lines.iter().map(sentence).collect::<Vec<_>>().join(" ")
}

/// The unit in view; the first where none is named. One that is not there is said, never another shown in its stead.
fn shown<'a>(press: &'a Prepress, view: &View) -> Result<(Option<&'a Unit>, u64), Error> {
    if let Some(named) = view.printer.as_ref().filter(|named| **named != press.profile.name) {
        return Err(Error::Usage(Told::new(format!("there is no printer {named:?}")).hint("choose another printer")));
    }
    let units = press.units.as_ref();
    let unit = match &view.unit {
        Some(key) => {
            let lacking = || Error::Usage(Told::new(format!("there is no unit {key:?}")).hint("choose another unit"));
            Some(units.and_then(|units| units.by_key(key)).ok_or_else(lacking)?)
        }
        None => units.and_then(|units| units.iter().next()),
    };
    Ok((unit, unit.map_or(1, |unit| u64::from(unit.row))))
}

fn choices(press: &Prepress, unit: Option<&Unit>, everywhere: &Everywhere) -> Choices {
    let mut printers: Vec<String> = BUILT_IN.iter().map(|generic| generic.name.to_string()).collect();
    if everywhere.printer.is_some() && !printers.contains(&press.profile.name) {
        printers.insert(0, press.profile.name.clone());
    }
    let named = |unit: &Unit| UnitName { key: unit.key().to_string(), label: format!("{} \u{b7} row {}", unit.key(), unit.row) };
    Choices {
        units: press.units.iter().flat_map(Units::iter).map(named).collect(),
        unit: unit.map(|unit| unit.key().to_string()),
        printers,
        printer: press.profile.name.clone(),
        paper: press.profile.paper_width,
    }
}

/// Changes with whatever changes a strip of the run.
fn fingerprint(facts: &Facts) -> String {
    let all: Vec<String> = facts.units.iter().map(|unit| format!("{} {} {}", unit.key, unit.making.manual, unit.text)).collect();
    printing::digest(all.join("\n").as_bytes())
}

fn word(state: State) -> &'static str {
    match state {
        State::Queued => "queued",
        State::Sending => "sending",
        State::Printed => "printed",
        State::Unknown => "unknown",
        State::Missing => "missing",
    }
}
