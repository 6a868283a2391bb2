//! What a packing bench needs before its first scan, for the terminal and for the desk: a manual whose strips carry their units' keys.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::time::Duration;

use super::inputs;
use super::options::Everywhere;
use super::report::{Reporter, Trouble};
use super::{Error, preflight, print, printing};
use crate::manual::document::{Block, Kind, Symbology};
use crate::manual::{Document, Unit};
use crate::packing::{Codes, Ended, Plan, Roll, Screen, UnitCodes, Wishes, shift};
use crate::prepress::Prepress;
use crate::printer::{self, Job as Asked, Tally};
use crate::send::ledger::Opening;
use crate::send::{self, Destination, Intent, Job, Ledger, Settings, Stop, Times};

/// Warnings of keys that are told at most.
const TRAPS: usize = 5;

/// What was asked for.
#[derive(Clone)]
pub struct Packing {
    pub to: Vec<String>,
    pub ledger: PathBuf,
    pub intent: Intent,
    /// What a person calls this bench.
    pub bench: Option<String>,
    pub lease: Duration,
    pub prefix: String,
    pub roll: Option<printer::Roll>,
}

/// A manual that is ready to be packed.
pub struct Ready {
    press: Prepress,
    plan: Plan,
    asked: Packing,
}

impl Ready {
    /// Reads every unit's strip, sees that each carries its key and none has a hole, and says what may go wrong at the scanner.
    ///
    /// # Errors
    /// There are no units, a strip does not carry its key, or nothing can be made of the manual.
    pub fn new(manual: &Path, everywhere: &Everywhere, asked: Packing, stop: Stop, reporter: &Reporter) -> Result<Ready, Error> {
        let press = inputs::open(manual, everywhere, reporter)?;
        if press.units.is_none() {
            let trouble = Trouble::new("a packing bench needs a table of units: it is their keys that are scanned");
            return Err(Error::Usage(trouble.hint("add --units units.csv")));
        }
        let chosen = press.chosen(None)?;
        let facts = printing::facts(&press, &chosen, 1, true)?;
        press.without_holes(&chosen)?;
        let codes = codes(&press, &chosen, &asked.prefix)?;
        for trap in codes.traps(TRAPS) {
            let (words, hint) = trap.words();
            reporter.notice(&Trouble::new(words).hint(hint));
        }
        let (unit, number) = *chosen.first().ok_or_else(|| Error::Usage(Trouble::new("there is no unit to pack")))?;
        let first = press.strip(unit, number)?;
        inputs::report(&press, &first, reporter);
        let errors = preflight::look(&press, &first, unit).errors;
        if errors > 0 {
            let count = if errors == 1 { "1 error".to_owned() } else { format!("{errors} errors") };
            reporter.notice(
                &Trouble::new(format!("preflight finds {count} in this manual"))
                    .hint("look at them before you pack: stripling preflight"),
            );
        }
        let bytes = printer::encode(&first.strip, &press.profile).len() as u64;
        let mut tally = Tally::new(&press.profile, Asked { copies: 1, roll: asked.roll });
        tally.add(&first.strip, bytes);
        let estimate = tally.finish();
        let micrometres = |metres: f64| (metres * 1e6) as u64;
        let header = &first.document.header;
        let title = [header.document.as_deref().or(header.title.as_deref()), header.revision.as_deref()];
        let plan = Plan {
            facts,
            intent: asked.intent,
            codes,
            roll: Roll { strip: micrometres(estimate.paper_m), roll: micrometres(estimate.roll_m) },
            title: title.into_iter().flatten().collect::<Vec<_>>().join(" "),
            bench: asked.bench.clone().unwrap_or_default(),
            lease: asked.lease,
            look: Duration::from_secs(1),
            stop,
        };
        Ok(Ready { press, plan, asked })
    }

    /// Plays the shift.
    ///
    /// # Errors
    /// The ledger refuses, or an address can't be one.
    pub fn play(&self, wishes: Wishes, show: &mut dyn FnMut(&Screen, bool)) -> Result<Ended, Error> {
        let refused = |error: send::ledger::Error| printing::refused(error.into());
        let opening = Opening { bench: self.asked.bench.as_deref(), lease: Some(self.asked.lease) };
        let mut ledger = Ledger::open_as(&self.asked.ledger, &opening).map_err(refused)?;
        let mut destinations: Vec<Box<dyn Destination>> = Vec::new();
        for to in &self.asked.to {
            let settings = Settings {
                capabilities: printing::capabilities(&self.press.profile),
                times: Times::default(),
                stop: self.plan.stop.clone(),
                continuing: ledger.has_sent_to(&send::place(to)).map_err(refused)?,
                pretend: Some(printing::pretend(self.press.profile.clone())),
                devices: Some(super::pretend_printers::devices()),
                usb: None,
                ports: None,
            };
            destinations.push(send::open(to, settings).map_err(|error| printing::refused(print::Error::Address(error)))?);
        }
        let places: BTreeSet<&str> = destinations.iter().map(|destination| destination.place()).collect();
        if places.len() < destinations.len() {
            return Err(Error::Usage(Trouble::new("two of these printers are one").hint("name each printer once with --to")));
        }
        if destinations.iter().any(|one| one.rehearsal()) && !destinations.iter().all(|one| one.rehearsal()) {
            let trouble = Trouble::new("some of these printers are pretend ones and some are not");
            return Err(Error::Usage(trouble.hint("rehearse with rehearse: alone: what it prints counts for nothing real")));
        }
        let chosen = self.press.chosen(None)?;
        let make = |job: &Job| {
            let made = printing::unit_of(&chosen, job).and_then(|unit| printing::bytes(&self.press, unit, u64::from(job.number)));
            made.map_err(|error| error.to_string())
        };
        shift(&mut ledger, destinations, &self.plan, &make, wishes, show).map_err(refused)
    }
}

/// The codes that each unit's strip carries.
///
/// # Errors
/// [`Error::Input`] for a strip that does not carry its key, with what to write.
fn codes(press: &Prepress, chosen: &[(Option<&Unit>, u64)], prefix: &str) -> Result<Codes, Error> {
    let column = press.units.as_ref().map(|units| units.key_column().to_owned()).unwrap_or_default();
    let mut units = Vec::with_capacity(chosen.len());
    press.each::<_, Error>(
        chosen,
        |unit, number| {
            let (source, document) = press.read(unit, number)?;
            let key = unit.map(|unit| unit.key().to_owned()).unwrap_or_default();
            let found = UnitCodes::of(&key, scannable(&document));
            let end = source.locate(u32::try_from(source.text.len()).unwrap_or(u32::MAX));
            Ok((found, end))
        },
        |(found, end)| {
            if found.on_strip.is_empty() {
                let trouble = Trouble::new(format!(
                    "the strip of {} carries no code with its key, so nobody could tell whose strip it is",
                    found.key
                ));
                return Err(Error::Input(trouble.at(Some(end)).hint(format!(
                    "write it into the manual, best at its end:\n```barcode\nkind = \"code128\"\ndata = \"S-{{{{ unit.{column} }}}}\"\n```\nor a ```qr block with an address that holds {{{{ unit.{column} }}}}"
                ))));
            }
            units.push(found);
            Ok(())
        },
    )?;
    Ok(Codes::new(units, prefix))
}

/// What the QR symbols and Code 128 barcodes of a strip say.
fn scannable(document: &Document) -> Vec<String> {
    let mut found = Vec::new();
    let mut visit = |_, block: &Block| match &block.kind {
        Kind::Qr { data } | Kind::Barcode { symbology: Symbology::Code128, data } => found.push(data.clone()),
        _ => {}
    };
    document.walk(&mut visit);
    found
}
