//! `stripling manpage`: one page for the program and all its commands, made from the options themselves.

use clap::CommandFactory;
use clap_mangen::Man;

use super::Error;
use super::options::Options;
use super::output::Output;
use super::report::Trouble;

pub fn run() -> Result<(), Error> {
    let page = page().map_err(|error| Error::Input(Trouble::new(format!("the manual page cannot be made: {error}"))))?;
    Output::Standard.write(&page)
}

/// One page: it refers to no page of a command, for there are none, and each heading stands once.
fn page() -> std::io::Result<Vec<u8>> {
    let mut page = Vec::new();
    let mut program = Options::command();
    program.build();
    let man = Man::new(program.clone());
    man.render_title(&mut page)?;
    man.render_name_section(&mut page)?;
    man.render_synopsis_section(&mut page)?;
    man.render_description_section(&mut page)?;
    man.render_options_section(&mut page)?;
    page.extend(b".SH COMMANDS\n");
    for command in program.get_subcommands().filter(|command| command.get_name() != "help") {
        let man = Man::new(command.clone());
        let mut parts = Vec::new();
        man.render_synopsis_section(&mut parts)?;
        man.render_description_section(&mut parts)?;
        man.render_options_section(&mut parts)?;
        page.extend(format!(".SS {}\n", command.get_name()).bytes());
        // The sections of a command are paragraphs of ours.
        for line in String::from_utf8_lossy(&parts).lines().filter(|line| !line.starts_with(".SH")) {
            page.extend(line.bytes());
            page.push(b'\n');
        }
    }
    man.render_extra_section(&mut page)?;
    man.render_version_section(&mut page)?;
    Ok(page)
}

#[cfg(test)]
mod tests {
    #[test]
    fn the_page_names_no_page_that_is_not_there_and_no_heading_twice() {
        let page = String::from_utf8(super::page().expect("a page")).expect("text");
        assert!(!page.contains("stripling\\-proof(1)") && !page.contains("stripling-proof(1)"), "{page}");
        let headings: Vec<&str> = page.lines().filter(|line| line.starts_with(".SH") || line.starts_with(".SS")).collect();
        let mut once = headings.clone();
        once.sort_unstable();
        once.dedup();
        assert_eq!(once.len(), headings.len(), "{headings:?}");
        assert!(headings.iter().any(|line| line.starts_with(".SS proof")), "{headings:?}");
        assert!(page.contains("Exit codes"), "what ends a run");
        assert!(page.contains(env!("CARGO_PKG_VERSION")), "the version stands on the page");
    }
}
