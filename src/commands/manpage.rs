//! `stripling manpage`: one page for the program and all its commands, made from the options themselves.

use clap::CommandFactory;
use clap_mangen::Man;

use super::Error;
use super::options::Options;
use super::output::Output;
use super::report::Trouble;

pub fn run() -> Result<(), Error> {
    let mut page = Vec::new();
    let mut program = Options::command();
    program.build();
    let written = Man::new(program.clone()).render(&mut page).and_then(|()| {
        program.get_subcommands().filter(|command| command.get_name() != "help").try_for_each(|command| {
            let heading = format!(".SH STRIPLING {}\n", command.get_name().to_uppercase());
            page.extend(heading.as_bytes());
            let man = Man::new(command.clone());
            man.render_description_section(&mut page)?;
            man.render_synopsis_section(&mut page)?;
            man.render_options_section(&mut page)
        })
    });
    written.map_err(|error| Error::Input(Trouble::new(format!("the manual page cannot be made: {error}"))))?;
    Output::Standard.write(&page)
}
