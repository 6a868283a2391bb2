//! The program's commands, one file each: they read options, call the library, print. Everything that decides a dot is elsewhere.
//!
//! Standard output carries what was asked for and nothing else; findings and errors go to standard error through [`report`].

mod beginning;
pub mod chart;
pub mod completions;
pub mod copy;
pub mod decode;
pub mod desk;
mod dropping;
mod editing;
pub mod encode;
pub mod estimate;
pub mod gather;
mod inputs;
pub mod ledger;
pub mod licences;
pub mod makeready;
pub mod manpage;
mod mending;
pub mod naming;
pub mod options;
pub mod output;
pub mod pack;
pub mod packing;
mod packing_page;
mod pointed;
pub mod preflight;
pub mod pretend_printers;
pub mod print;
pub mod printers;
pub mod printing;
pub mod progress;
pub mod proof;
pub mod report;
mod rewriting;
pub mod samples;
mod savings;
pub mod start;
pub mod turning;

use std::ffi::OsString;
use std::process::ExitCode;

use clap::Parser;

use crate::prepress;
use options::{Command, Options};
use report::{Reporter, Trouble};

/// Why a command ends early, as the exit codes of FORMAT.md tell them apart.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// The manual has errors, or bytes are wrong; what they are was shown already.
    #[error("errors were found")]
    Found,
    /// The command line asks for what cannot be.
    #[error("{0}")]
    Usage(Trouble),
    /// An input cannot be read or used, or an output cannot be written.
    #[error("{0}")]
    Input(Trouble),
    /// The printer or the way to it failed; or the way to a picture.
    #[error("{0}")]
    Printer(Trouble),
    /// The ledger refuses.
    #[error("{0}")]
    Ledger(Trouble),
    /// A person ended a run that still had strips to print; how it stands was told already.
    #[error("stopped as asked")]
    Stopped,
    /// Whoever read our standard output has left: nothing to say, nobody to say it to.
    #[error("standard output was closed")]
    Closed,
}

impl From<prepress::Error> for Error {
    fn from(error: prepress::Error) -> Error {
        match error {
            prepress::Error::Usage(trouble) => Error::Usage(trouble),
            prepress::Error::Input(trouble) => Error::Input(trouble),
        }
    }
}

impl Error {
    /// The exit code.
    pub fn code(&self) -> u8 {
        match self {
            Error::Closed => 0,
            Error::Found => 1,
            Error::Usage(_) => 2,
            Error::Input(_) => 3,
            Error::Printer(_) => 4,
            Error::Ledger(_) => 5,
            Error::Stopped => 6,
        }
    }

    fn trouble(&self) -> Option<&Trouble> {
        match self {
            Error::Found | Error::Stopped | Error::Closed => None,
            Error::Usage(trouble) | Error::Input(trouble) | Error::Printer(trouble) | Error::Ledger(trouble) => Some(trouble),
        }
    }
}

/// Runs the program: arguments in, exit code out.
pub fn run(arguments: impl IntoIterator<Item = OsString>) -> ExitCode {
    let options = match Options::try_parse_from(arguments) {
        Ok(options) => options,
        Err(usage) => {
            // Help and version go to standard output and are no error; a closed pipe is nobody's fault.
            let code = usage.exit_code();
            return match usage.print() {
                Ok(()) => ExitCode::from(code as u8),
                Err(_) => ExitCode::from(if code == 0 { 0 } else { 2 }),
            };
        }
    };
    let reporter = Reporter::new(options.everywhere.quiet).saying_every(options.everywhere.every);
    match dispatch(&options, &reporter) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            if let Some(trouble) = error.trouble() {
                reporter.error(trouble);
            }
            ExitCode::from(error.code())
        }
    }
}

fn dispatch(options: &Options, reporter: &Reporter) -> Result<(), Error> {
    options.heed()?;
    match &options.command {
        Command::Copy(asked) => copy::run(asked, &options.everywhere, reporter),
        Command::Gather(asked) => gather::run(asked, &options.everywhere, reporter),
        Command::Decode(asked) => decode::run(asked, &options.everywhere, reporter),
        Command::Printers(asked) => printers::run(asked),
        Command::Licences => licences::run(),
        Command::Completions(asked) => completions::run(asked),
        Command::Manpage => manpage::run(),
        Command::Proof(asked) => proof::run(asked, &options.everywhere, reporter),
        Command::Encode(asked) => encode::run(asked, &options.everywhere, reporter),
        Command::Estimate(asked) => estimate::run(asked, &options.everywhere, reporter),
        Command::Chart(asked) => chart::run(asked, &options.everywhere, reporter),
        Command::Makeready(asked) => makeready::run(asked, reporter),
        Command::Print(asked) => printing::run(asked, &options.everywhere, reporter),
        Command::Pack(asked) => pack::run(asked, &options.everywhere, reporter),
        Command::Ledger(asked) => printing::ledger(asked, reporter),
        Command::Start(asked) => start::run(asked, reporter),
        Command::Preflight(asked) => preflight::run(asked, &options.everywhere, reporter),
        Command::Desk(asked) => desk::run(asked, &options.everywhere, reporter),
    }
}
