//! `stripling print` and `stripling ledger`: from options and a manual to a run, and from its end to an exit code.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::time::Duration;

use sha2::{Digest, Sha256};

use super::inputs::{self, unreadable};
use super::options::{self, Everywhere};
use super::output::Output;
use super::report::{Reporter, Trouble};
use super::{Error, ledger, print};
use crate::lengths::Dots;
use crate::manual::{self, Unit};
use crate::prepress::Prepress;
use crate::printer::{self, Cut, Profile};
use crate::send::{
    self, CameOut, Capabilities, Ending, Facts, Fence, Halt, Intent, Job, Making, PretendPrinter, StripBytes, Times, UnitFacts,
};
use crate::strip::{Strip, png};

pub fn run(asked: &options::Print, everywhere: &Everywhere, reporter: &Reporter) -> Result<(), Error> {
    let press = inputs::open(&asked.manual, everywhere, reporter)?;
    let chosen = press.chosen(None)?;
    let facts = facts(&press, &chosen, asked.copies, true)?;
    press.without_holes(&chosen)?;
    let first = press.strip(chosen[0].0, chosen[0].1)?;
    inputs::report(&press, &first, reporter);
    drop(first);
    let session = print::Asked {
        to: &asked.to,
        ledger: asked.ledger.as_deref(),
        facts,
        intent: match (asked.new_run, asked.go_on) {
            (true, _) => Intent::NewRun,
            (false, true) => Intent::GoOn,
            (false, false) => Intent::Continue,
        },
        patience: Duration::from_secs(asked.wait),
        capabilities: capabilities(&press.profile),
        times: Times::default(),
        pretend: Some(pretend(press.profile.clone())),
        quiet: reporter.is_quiet(),
    };
    let report =
        print::run(session, &mut |job: &Job| bytes(&press, unit_of(&chosen, job)?, u64::from(job.number))).map_err(refused)?;
    let kept = asked.ledger.as_ref().map(|path| path.display().to_string());
    let words = print::closing(&report, kept.as_deref(), print::COMMAND);
    match &report.ending {
        Ending::Trouble(_) => {
            let (trouble, rest) = words.split_first().map_or((String::new(), &[][..]), |(first, rest)| (first.clone(), rest));
            Err(Error::Printer(Trouble::new(trouble).hint(rest.join("\n"))))
        }
        Ending::Done | Ending::Asked => {
            words.iter().for_each(|line| reporter.say(line));
            let stopped = matches!(report.ending, Ending::Asked) && report.left > 0;
            if stopped { Err(Error::Stopped) } else { Ok(()) }
        }
    }
}

/// The unit of a strip, or none for a manual alone.
///
/// # Errors
/// The run asks for a unit that was not chosen: a fault of the program, and no strip is printed in its place.
pub fn unit_of<'a>(chosen: &[(Option<&'a Unit>, u64)], job: &Job) -> Result<Option<&'a Unit>, Error> {
    let unit = chosen.get(job.unit).map(|(unit, _)| *unit);
    let named = |unit: &Option<&Unit>| key_of(*unit) == job.name.unit;
    unit.filter(named).ok_or_else(|| Error::Ledger(Trouble::new(format!("{} is not among the units of this run", job.name))))
}

/// Why a run could not begin or go on, as every command and the desk tell it.
pub fn refused(error: print::Error<Error>) -> Error {
    match error {
        print::Error::Address(error) => Error::Usage(Trouble::new(error.to_string()).maybe_hint(error.hint())),
        print::Error::Halt(Halt::Ledger(error)) => {
            let told = Trouble::new(error.to_string()).maybe_hint(error.hint().map(str::to_string));
            match error {
                // Not the ledger says no, but there is none.
                send::ledger::Error::NotThere { .. } | send::ledger::Error::NoFile { .. } => Error::Input(told),
                send::ledger::Error::Address { .. } | send::ledger::Error::NotBuilt(_) => Error::Usage(told),
                _ => Error::Ledger(told),
            }
        }
        print::Error::Halt(Halt::Strip { error, .. }) => error,
        print::Error::Signals(error) => Error::Printer(Trouble::new(format!("Ctrl-C cannot be listened for: {error}"))),
    }
}

/// `stripling ledger`.
pub fn ledger(asked: &options::Ledger, reporter: &Reporter) -> Result<(), Error> {
    let verdicts: Result<Vec<_>, String> = asked.resolve.iter().map(|text| ledger::verdict(text)).collect();
    let verdicts = verdicts.map_err(|wrong| Error::Usage(Trouble::new(wrong)))?;
    if asked.roles {
        send::ledger::make_roles(&asked.ledger).map_err(|error| refused(error.into()))?;
        reporter.say(
            "the roles are there: GRANT stripling_bench TO anna lets anna print and confirm, GRANT stripling_settler settle too",
        );
        return Ok(());
    }
    let form = match (asked.json, asked.csv) {
        (true, _) => ledger::Form::Json,
        (_, true) => ledger::Form::Csv,
        _ => ledger::Form::Table,
    };
    let told = ledger::run(&asked.ledger, &verdicts, asked.run, form).map_err(|error| refused(error.into()))?;
    told.0.iter().for_each(|line| reporter.say(line));
    Output::Standard.write(told.1.as_bytes())
}

/// What a ledger has to know of a run: of every unit what its strip would be made of. `whole_table`: these are all units there are.
pub fn facts(press: &Prepress, chosen: &[(Option<&Unit>, u64)], copies: u64, whole_table: bool) -> Result<Facts, Error> {
    let shared: BTreeMap<String, String> = [
        ("the style".to_string(), digest(format!("{:?}", press.style).as_bytes())),
        ("the printer".to_string(), digest(format!("{:?}", press.profile).as_bytes())),
    ]
    .into_iter()
    .chain(press.face_files().map(|(name, bytes)| (format!("the face {name}"), digest(&bytes))))
    .collect();
    let mut makings: Vec<Arc<Making>> = Vec::new();
    let mut units = Vec::with_capacity(chosen.len());
    let mut rest = chosen.iter();
    press.each::<_, Error>(
        chosen,
        |unit, _| making(press, unit, &shared),
        |(making, text)| {
            let Some(&(unit, number)) = rest.next() else { return Ok(()) };
            let making = match makings.iter().find(|known| ***known == making) {
                Some(known) => known.clone(),
                None => {
                    let making = Arc::new(making);
                    makings.push(making.clone());
                    making
                }
            };
            let values = unit.map(|unit| unit.columns().iter().cloned().zip(unit.values.iter().cloned()).collect());
            let number = u32::try_from(number).unwrap_or(u32::MAX);
            units.push(UnitFacts { key: key_of(unit), number, making, text, values: values.unwrap_or_default() });
            Ok(())
        },
    )?;
    let folder = press.folder.path().and_then(|path| path.canonicalize().ok());
    let folder = folder.and_then(|path| path.file_name().map(|name| format!("{}/", name.to_string_lossy())));
    Ok(Facts {
        file: format!("{}{}", folder.unwrap_or_default(), press.file),
        printer: press.profile.name.clone(),
        units,
        copies: u32::try_from(copies).unwrap_or(u32::MAX),
        whole_table,
    })
}

/// What one strip would be made of, and a digest of its text, as on one and the same day: the date is no part of what is compared, and of
/// the number the ledger takes care.
fn making(press: &Prepress, unit: Option<&Unit>, shared: &BTreeMap<String, String>) -> Result<(Making, String), Error> {
    let run = manual::Run { date: "1970-01-01".to_string(), number: 1 };
    let source = press.template.fill(unit, &run).map_err(|error| unreadable(&error))?;
    let read = manual::parse(&source).map_err(|error| unreadable(&error))?;
    let mut parts = shared.clone();
    for file in &source.files {
        parts.insert(file.name().to_string(), digest(file.text().as_bytes()));
    }
    for address in read.blocks.iter().flat_map(|block| block.pictures()) {
        if let Ok(info) = press.pictures().look(address) {
            parts.insert(address.to_string(), hex(&info.id.0));
        }
    }
    let mut all = Sha256::new();
    for (name, content) in &parts {
        all.update(format!("{name}\0{content}\0"));
    }
    let making = Making {
        manual: hex(&all.finalize()),
        parts,
        texts: source.files.iter().map(|file| file.name().to_string()).collect(),
        document: read.header.document.unwrap_or_default(),
        revision: read.header.revision.unwrap_or_default(),
        language: read.header.language.unwrap_or_default(),
    };
    Ok((making, digest(source.text.as_bytes())))
}

/// SHA-256 in hexadecimal.
pub fn digest(bytes: &[u8]) -> String {
    hex(&Sha256::digest(bytes))
}

fn key_of(unit: Option<&Unit>) -> String {
    unit.map_or_else(|| MANUAL_ALONE.to_string(), |unit| unit.key().to_string())
}

/// The key under which a strip without a unit is kept.
const MANUAL_ALONE: &str = "manual";

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// The bytes of one strip, with the places where the printer may be asked how it is.
pub fn bytes(press: &Prepress, unit: Option<&Unit>, number: u64) -> Result<StripBytes, Error> {
    Ok(cut_up(&press.strip(unit, number)?.strip, &press.profile))
}

/// A strip's bytes in chunks that the printer has room for.
pub fn cut_up(strip: &Strip, profile: &Profile) -> StripBytes {
    let bands = printer::encode_in_bands(strip, profile);
    let gap = if profile.cut == Cut::None { 0 } else { profile.gap_rows() };
    let length = profile.resolution.mm(Dots((strip.bitmap.height() + gap) as i32));
    StripBytes::cut_at(&bands.bytes, &bands.ends, bands.dots_end, profile.buffer as usize / 4).with_length(length)
}

/// Prints one strip that belongs to no run and no ledger, and says what is known of it.
///
/// # Errors
/// As [`run`].
pub fn alone(
    to: &str,
    name: &str,
    strip: StripBytes,
    profile: &Profile,
    capabilities: Capabilities,
    reporter: &Reporter,
) -> Result<(), Error> {
    let session = print::Asked {
        to,
        ledger: None,
        facts: Facts::alike(name, &profile.name, Making::default(), [name.to_string()]),
        intent: Intent::Continue,
        patience: Duration::ZERO,
        capabilities,
        times: Times::default(),
        pretend: Some(pretend(profile.clone())),
        quiet: reporter.is_quiet(),
    };
    let report = print::run(session, &mut |_: &Job| Ok::<_, Error>(strip.clone())).map_err(refused)?;
    let why = report.unknown.first().map(|(_, why)| why.clone());
    match (&report.ending, why) {
        (Ending::Trouble(trouble), _) => Err(Error::Printer(Trouble::new(trouble.to_string()))),
        (Ending::Asked, _) => Err(Error::Stopped),
        (Ending::Done, None) => {
            reporter.say(format_args!("{name}: printed on {to}"));
            Ok(())
        }
        (Ending::Done, Some(why)) => {
            reporter.say(format_args!("{name}: sent to {to}; {why}"));
            Ok(())
        }
    }
}

/// What to expect of the printer, from its profile.
pub fn capabilities(profile: &Profile) -> Capabilities {
    Capabilities {
        status: profile.status,
        fence: match profile.fence {
            printer::Fence::None => Fence::None,
            printer::Fence::Paper => Fence::Paper,
            printer::Fence::Process => Fence::Process,
        },
        buffer: profile.buffer as usize,
        eject: printer::ejecting(profile),
        pace: Duration::from_millis(u64::from(profile.pace_ms)),
    }
}

/// The built-in pretend printer: what the bytes put on paper, as a picture.
pub fn pretend(profile: Profile) -> PretendPrinter {
    Box::new(move |bytes| {
        let seen = printer::decode(bytes, &profile);
        match seen.errors.first() {
            Some(fault) => Err(format!("byte {}: {}", fault.offset, fault.message)),
            None => Ok(CameOut {
                length: profile.resolution.mm(Dots(seen.bitmap.height() as i32)),
                png: png::write(&seen.bitmap, profile.resolution),
            }),
        }
    })
}
