//! `stripling print` and `stripling ledger`: from options and a manual to a run, and from its end to an exit code.

use std::collections::BTreeMap;
use std::time::Duration;

use sha2::{Digest, Sha256};

use super::options::{self, Everywhere};
use super::output::Output;
use super::press::{Press, unreadable};
use super::report::{Reporter, Trouble};
use super::{Error, ledger, print};
use crate::manual::{self, Unit};
use crate::printer::{self, Cut, Profile};
use crate::send::{CameOut, Ending, Facts, Fence, Halt, Intent, Job, Manners, PretendPrinter, StripBytes, Times};
use crate::strip::png;
use crate::units::Dots;

pub fn run(asked: &options::Print, everywhere: &Everywhere, reporter: &Reporter) -> Result<(), Error> {
    let press = Press::open(&asked.manual, everywhere, reporter)?;
    let chosen = press.chosen(None)?;
    let facts = facts(&press, &chosen, asked.copies)?;
    press.without_holes(&chosen)?;
    let first = press.strip(chosen[0].0, chosen[0].1)?;
    press.report(&first, reporter);
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
        manners: manners(&press.profile),
        times: Times::default(),
        pretend: Some(pretend(press.profile.clone())),
        quiet: reporter.is_quiet(),
    };
    let report = print::run(session, &mut |job: &Job| {
        let (unit, number) = chosen[(job.number as usize).saturating_sub(1).min(chosen.len() - 1)];
        bytes(&press, unit, number)
    })
    .map_err(refused)?;
    let kept = asked.ledger.as_ref().map(|path| path.display().to_string());
    let words = print::closing(&report, kept.as_deref(), print::COMMAND);
    match &report.ending {
        Ending::Trouble(_) => {
            let (trouble, rest) = words.split_first().map_or((String::new(), &[][..]), |(first, rest)| (first.clone(), rest));
            Err(Error::Printer(Trouble::new(trouble).hint(rest.join("\n"))))
        }
        Ending::Done | Ending::Asked => {
            words.iter().for_each(|line| reporter.say(line));
            Ok(())
        }
    }
}

/// Why a run could not begin or go on, as every command and the desk tell it.
pub fn refused(error: print::Error<Error>) -> Error {
    match error {
        print::Error::Address(error) => Error::Usage(Trouble::new(error.to_string()).maybe_hint(error.hint())),
        print::Error::Halt(Halt::Ledger(error)) => {
            Error::Ledger(Trouble::new(error.to_string()).maybe_hint(error.hint().map(str::to_string)))
        }
        print::Error::Halt(Halt::Strip { error, .. }) => error,
        print::Error::Signals(error) => Error::Printer(Trouble::new(format!("Ctrl-C cannot be listened for: {error}"))),
    }
}

/// `stripling ledger`.
pub fn ledger(asked: &options::Ledger) -> Result<(), Error> {
    let verdicts: Result<Vec<_>, String> = asked.resolve.iter().map(|text| ledger::verdict(text)).collect();
    let verdicts = verdicts.map_err(|wrong| Error::Usage(Trouble::new(wrong)))?;
    let told = ledger::run(&asked.ledger, &verdicts, asked.json).map_err(|error| refused(error.into()))?;
    Output::Standard.write(told.as_bytes())
}

/// What a ledger has to know of a run. The digest covers the manual with all it includes and shows, its style and the printer, but
/// not the table of units: a unit may be added to a run.
pub fn facts(press: &Press, chosen: &[(Option<&Unit>, u64)], copies: u64) -> Result<Facts, Error> {
    let mut parts: BTreeMap<String, String> = BTreeMap::new();
    let (mut document, mut revision) = (String::new(), String::new());
    for &(unit, number) in chosen {
        let run = manual::Run { date: press.date.clone(), number };
        let source = press.template.fill(unit, &run).map_err(|error| unreadable(&error))?;
        let read = manual::parse(&source).map_err(|error| unreadable(&error))?;
        for file in &source.files {
            if !parts.contains_key(file.name()) {
                parts.insert(file.name().to_string(), hex(&Sha256::digest(file.text().as_bytes())));
            }
        }
        for address in read.blocks.iter().flat_map(|block| block.pictures()) {
            if !parts.contains_key(address)
                && let Ok(info) = press.album().look(address)
            {
                parts.insert(address.to_string(), hex(&info.id.0));
            }
        }
        document = read.header.document.unwrap_or_default();
        revision = read.header.revision.unwrap_or_default();
        if !press.template.has_fields() {
            break;
        }
    }
    parts.insert("style".into(), format!("{:?}", press.style));
    parts.insert("printer".into(), format!("{:?}", press.profile));
    let mut digest = Sha256::new();
    for (name, content) in &parts {
        digest.update(format!("{name}\0{content}\0"));
    }
    let named = |(unit, _): &(Option<&Unit>, u64)| unit.map_or_else(|| MANUAL_ALONE.to_string(), |unit| unit.key().to_string());
    Ok(Facts {
        manual: hex(&digest.finalize()),
        document,
        revision,
        printer: press.profile.name.clone(),
        units: chosen.iter().map(named).collect(),
        copies: u32::try_from(copies).unwrap_or(u32::MAX),
    })
}

/// The key under which a strip without a unit is kept.
const MANUAL_ALONE: &str = "manual";

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// The bytes of one strip, with the places where the printer may be asked how it is.
pub fn bytes(press: &Press, unit: Option<&Unit>, number: u64) -> Result<StripBytes, Error> {
    let made = press.strip(unit, number)?;
    let bands = printer::encode_in_bands(&made.strip, &press.profile);
    let gap = if press.profile.cut == Cut::None { 0 } else { press.profile.gap_rows() };
    let length = press.profile.resolution.mm(Dots((made.strip.bitmap.height() + gap) as i32));
    Ok(StripBytes::cut_at(&bands.bytes, &bands.ends, bands.dots_end).with_length(length))
}

/// What to expect of the printer, from its profile.
pub fn manners(profile: &Profile) -> Manners {
    Manners {
        status: profile.status,
        fence: match profile.fence {
            printer::Fence::None => Fence::None,
            printer::Fence::Paper => Fence::Paper,
            printer::Fence::Process => Fence::Process,
        },
        buffer: profile.buffer as usize,
        ..Manners::default()
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
