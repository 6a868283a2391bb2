//! `stripling completions SHELL`: a script for the shell, made from the options themselves.

use clap::CommandFactory;

use super::Error;
use super::options::{Completions, Options};
use super::output::Output;

pub fn run(asked: &Completions) -> Result<(), Error> {
    let mut script = Vec::new();
    clap_complete::generate(asked.shell, &mut Options::command(), "stripling", &mut script);
    Output::Standard.write(&script)
}
