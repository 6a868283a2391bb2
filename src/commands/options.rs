//! Every command and option, as FORMAT.md promises them. The words here are the program's help and its man page.

use std::path::{Path, PathBuf};

use clap::builder::{PossibleValue, StringValueParser, TypedValueParser};
use clap::{Args, Parser, Subcommand, ValueEnum};

use super::Error;
use super::report::Trouble;
use crate::prepress::Choices;
use crate::printer::BUILT_IN;

/// Instructions for a small product, set in dots and printed on a receipt printer, one strip for every box.
#[derive(Debug, Parser)]
#[command(
    name = "stripling",
    version,
    max_term_width = 100,
    after_help = "Exit codes: 0 done; 1 the manual has errors, or bytes are wrong; 2 usage; 3 an input cannot be read or used;\n\
                  4 the printer or the link failed; 5 the ledger refuses; 6 stopped as asked, with strips still to print."
)]
pub struct Options {
    #[command(subcommand)]
    pub command: Command,
    #[command(flatten)]
    pub everywhere: Everywhere,
}

impl Options {
    /// Refuses what the command would pass over in silence or could not do: a printer or units where nothing is laid out for them, a
    /// manual without a file where one is needed.
    ///
    /// # Errors
    /// [`Error::Usage`].
    pub fn heed(&self) -> Result<(), Error> {
        use Command::{Chart, Completions, Decode, Ledger, Licences, Makeready, Manpage, Printers, Start};
        let printer_is_meant =
            !matches!(self.command, Completions(_) | Ledger(_) | Licences | Makeready(_) | Manpage | Printers(_) | Start(_));
        let units_are_meant = printer_is_meant && !matches!(self.command, Chart(_) | Decode(_));
        let passed_over = |option: &str| {
            let trouble = Trouble::new(format!("{option} means nothing to this command"));
            Err(Error::Usage(trouble.hint("leave it out; `stripling COMMAND --help` says what a command takes")))
        };
        match &self.everywhere {
            Everywhere { printer: Some(_), .. } if !printer_is_meant => passed_over("--printer"),
            Everywhere { units: Some(_), .. } if !units_are_meant => passed_over("--units"),
            Everywhere { style: Some(_), .. } if !units_are_meant || matches!(self.command, Command::Gather(_)) => {
                passed_over("--style")
            }
            _ => match &self.command {
                Command::Print(Print { manual, .. })
                | Command::Pack(Pack { manual, .. })
                | Command::Desk(Desk { manual: Some(manual), .. })
                | Command::Gather(Gather { manual, .. })
                    if is_standard(manual) =>
                {
                    let trouble = Trouble::new("this command needs a manual that is a file, not standard input");
                    Err(Error::Usage(
                        trouble.hint("save it first; proof, preflight, estimate and encode read from standard input"),
                    ))
                }
                _ => Ok(()),
            },
        }
    }
}

/// Options that every command takes.
#[derive(Clone, Debug, Args)]
pub struct Everywhere {
    /// Generic printer (see `stripling printers`) or the TOML file of your own. Left out: the manual's paper, else 80mm.
    #[arg(long, global = true, value_name = "NAME|FILE", value_parser = PrinterNamed, hide_possible_values = true)]
    pub printer: Option<String>,
    /// plain, comic, compact, or the TOML file of your own. Left out: the manual's style, else plain.
    #[arg(long, global = true, value_name = "NAME|FILE")]
    pub style: Option<String>,
    /// CSV with one unit a row: one strip is made for each.
    #[arg(long, global = true, value_name = "FILE.csv")]
    pub units: Option<PathBuf>,
    /// The folder that pictures, includes, styles and faces may stand in. Left out: the nearest above the manual with a .git.
    #[arg(long, global = true, value_name = "FOLDER")]
    pub project: Option<PathBuf>,
    /// Say every finding in full; else those of one rule are said together.
    #[arg(long, global = true)]
    pub every: bool,
    /// Say nothing but errors.
    #[arg(short, long, global = true)]
    pub quiet: bool,
}

impl Everywhere {
    /// What of it decides how a manual comes out.
    pub fn choices(&self) -> Choices {
        Choices {
            printer: self.printer.clone(),
            style: self.style.clone(),
            units: self.units.clone(),
            project: self.project.clone(),
            unsaved: None,
        }
    }

    /// The files that it names.
    pub fn files(&self) -> impl Iterator<Item = PathBuf> + use<> {
        self.choices().files()
    }
}

#[derive(Debug, Subcommand)]
pub enum Command {
    /// Show the strip as PNG, exactly as its dots will fall.
    #[command(after_help = "Examples:\n\
        stripling proof heron.md -o heron.strip.png\n\
        stripling proof heron.md --units units.csv --unit HRN-0042 --as paper -o heron.strip.png\n\
        stripling proof heron.md --units units.csv -o 'strips/{{ unit.serial }}.png'")]
    Proof(Proof),
    /// Check the manual as a technical editor would.
    #[command(after_help = "Examples:\n\
        stripling preflight heron.md\n\
        stripling preflight heron.de.md --beside heron.en.md\n\
        stripling preflight heron.md --online\n\
        stripling preflight heron.md --units units.csv --unit HRN-0042")]
    Preflight(Preflight),
    /// Say what a run takes: paper, rolls, bytes, time.
    #[command(after_help = "Example: stripling estimate heron.md --copies 40 --roll 80x80")]
    Estimate(Estimate),
    /// Make the bytes that print the strip.
    #[command(after_help = "Examples:\n\
        stripling encode heron.md -o heron.bin\n\
        stripling encode heron.md --units units.csv -o 'out/{{ unit.serial }}.bin'")]
    Encode(Encode),
    /// Show what a printer would do with bytes.
    #[command(after_help = "Example: stripling decode heron.bin -o seen.png")]
    Decode(Decode),
    /// Make the lasting copy: the manual as one web page, in colour, for all units.
    #[command(
        after_help = "The page holds its pictures and asks for nothing else. Put it where `durable_copy` of the header leads.\n\
        Exit codes: 0 done; 1 something cannot be used and has a frame in its place.\n\n\
        Examples:\n\
        stripling copy heron.md -o heron.html\n\
        stripling copy heron.md -o heron.pdf --paper letter"
    )]
    Copy(Copy),
    /// Bring in the pictures at web addresses: the only command that asks the network for anything.
    #[command(after_help = "Pictures lie in gathered/ beside the manual, gathered.toml says which is which: commit both.\n\
        Exit codes: 0 all are here; 1 with --check, something is not as it was gathered; 4 something did not come.\n\n\
        Example: stripling gather README.md && stripling proof README.md")]
    Gather(Gather),
    /// Print, one strip for every box, and keep count.
    #[command(after_help = "Examples:\n\
        stripling print heron.md --units units.csv --to tcp://192.0.2.7:9100 --ledger run.db\n\
        stripling print heron.md --copies 3 --to rehearse:out")]
    Print(Print),
    /// Pack: scan a unit, its strip comes out; scan the strip: the right one lies in the box.
    #[command(
        after_help = "Waits for lines: a unit's key prints its strip on the first free printer, the code on the strip says that it lies in\n\
        its box. /again prints a spoiled strip that was to be looked at once more, /end ends. On a pipe every answer is a\n\
        line: good, next, look or stop, what is said, the unit, and why, parted by tabs.\n\n\
        Examples:\n\
        stripling pack heron.md --units units.csv --to tcp://192.0.2.7:9100 --to usb: --ledger run.db\n\
        stripling pack heron.md --units units.csv --to usb: --ledger postgres://anna@bench.example/packing --bench anna"
    )]
    Pack(Pack),
    /// Show or settle what a ledger knows of a run.
    #[command(after_help = "Examples:\n\
        stripling ledger run.db\n\
        stripling ledger run.db --resolve HRN-0042=missing\n\
        stripling ledger postgres://anna@bench.example/packing --csv")]
    Ledger(Ledger),
    /// Edit with a live proof in the browser, on this machine only.
    #[command(after_help = "Examples:\n\
        stripling desk heron.md\n\
        stripling desk heron.md --units units.csv --to tcp://192.0.2.7:9100 --ledger run.db")]
    Desk(Desk),
    /// Make or print a test strip: type sizes, grey wedge, lines, codes, ruler.
    #[command(after_help = "Examples:\n\
        stripling chart -o chart.png\n\
        stripling chart --printer bench.toml --to tcp://192.0.2.7:9100")]
    Chart(Chart),
    /// Find a printer, learn what it can do, and write its file.
    #[command(
        after_help = "Four strips are printed: ways, edges, chart, squares, about 0.4, 0.2, 0.5 and 0.15 m; the last is for a photograph, and of the first one answers too. Enter passes over a question, q ends; what is\n\
        known is kept beside the file, and the same command goes on.\n\n\
        Examples:\n\
        stripling makeready --to /dev/usb/lp0 -o bench.toml\n\
        stripling makeready --photo strip.jpg\n\
        stripling makeready --to 'rehearse:out?fault=no-esc-dollar' -o try.toml"
    )]
    Makeready(Makeready),
    /// Begin a manual: a starter that proofs without a finding.
    #[command(after_help = "Example: stripling start kettle && stripling proof kettle/manual.md -o kettle.strip.png")]
    Start(Start),
    /// List the generic printers.
    Printers(Printers),
    /// Print the licences of the program, its faces and the crates in it.
    Licences,
    /// Write a completion script for a shell.
    Completions(Completions),
    /// Write the manual page (roff).
    Manpage,
}

/// Any text; completions offer the generic printers' names.
#[derive(Clone, Debug)]
struct PrinterNamed;

impl TypedValueParser for PrinterNamed {
    type Value = String;

    fn parse_ref(
        &self,
        command: &clap::Command,
        argument: Option<&clap::Arg>,
        value: &std::ffi::OsStr,
    ) -> Result<String, clap::Error> {
        StringValueParser::new().parse_ref(command, argument, value)
    }

    fn possible_values(&self) -> Option<Box<dyn Iterator<Item = PossibleValue> + '_>> {
        Some(Box::new(BUILT_IN.iter().map(|generic| PossibleValue::new(generic.name))))
    }
}

/// How a strip is shown.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub enum Look {
    /// One bit a dot, exactly as wide as the printer prints.
    #[default]
    Dots,
    /// As thermal paper on a table, torn and folded.
    Paper,
}

#[derive(Debug, Args)]
pub struct Copy {
    /// The manual, a Markdown file; "-" is standard input.
    pub manual: PathBuf,
    /// Page to write, or pages where its name ends in .pdf; "-" is standard output. Left out: standard output on a pipe, else
    /// MANUAL.html here.
    #[arg(short, long, value_name = "FILE.html|FILE.pdf")]
    pub output: Option<PathBuf>,
    /// Sheet of a PDF. Left out: by the region of the manual's language, Letter for "en-US", A4 without one.
    #[arg(long, value_enum)]
    pub paper: Option<Sheet>,
}

/// The sheet of a PDF.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Sheet {
    /// 210 mm by 297 mm.
    A4,
    /// 8.5 in by 11 in.
    Letter,
}

#[derive(Debug, Args)]
pub struct Proof {
    /// The manual, a Markdown file; "-" is standard input.
    pub manual: PathBuf,
    /// Picture to write; "-" is standard output. Left out: standard output on a pipe, else MANUAL.strip.png here.
    #[arg(short, long, value_name = "FILE.png")]
    pub output: Option<PathBuf>,
    /// What the picture shows.
    #[arg(long = "as", value_enum, default_value_t = Look::Dots)]
    pub look: Look,
    /// One unit only: its row (from 1) or its key.
    #[arg(long, value_name = "ROW|KEY", requires = "units")]
    pub unit: Option<String>,
    /// Also write where every word and picture stands, as JSON; "-" is standard output.
    #[arg(long, value_name = "FILE.json")]
    pub map: Option<PathBuf>,
}

#[derive(Debug, Args)]
pub struct Preflight {
    /// The manual, a Markdown file; "-" is standard input.
    pub manual: PathBuf,
    /// The same manual in another language: also say what is missing or out of order beside it.
    #[arg(long, value_name = "MANUAL")]
    pub beside: Option<PathBuf>,
    /// Also ask for the page that `durable_copy` leads to, and say when it is another document or revision.
    #[arg(long)]
    pub online: bool,
    /// One unit only: its row (from 1) or its key.
    #[arg(long, value_name = "ROW|KEY", requires = "units")]
    pub unit: Option<String>,
    /// One JSON object instead of text.
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Args)]
pub struct Estimate {
    /// The manual, a Markdown file; "-" is standard input.
    pub manual: PathBuf,
    /// Copies of every strip.
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = clap::value_parser!(u64).range(1..=10_000_000))]
    pub copies: u64,
    /// Paper width x roll diameter in mm, with the core's diameter if it is not 12: 80x80, 57x40x13.
    #[arg(long, value_name = "WxD[xC]")]
    pub roll: Option<String>,
    /// One JSON object instead of a table.
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Args)]
pub struct Encode {
    /// The manual, a Markdown file; "-" is standard input.
    pub manual: PathBuf,
    /// File to write; "-" or, on a pipe, nothing is standard output.
    #[arg(short, long, value_name = "FILE.bin")]
    pub output: Option<PathBuf>,
    /// One unit only: its row (from 1) or its key.
    #[arg(long, value_name = "ROW|KEY", requires = "units")]
    pub unit: Option<String>,
}

#[derive(Debug, Args)]
pub struct Gather {
    /// The manual, a Markdown file.
    pub manual: PathBuf,
    /// Ask for every picture again and say what has changed or gone; change nothing.
    #[arg(long)]
    pub check: bool,
    /// One JSON object instead of text.
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Args)]
pub struct Decode {
    /// File of printer bytes; "-" is standard input.
    pub bytes: PathBuf,
    /// Picture of the paper to write; "-" is standard output. Left out: none.
    #[arg(short, long, value_name = "FILE.png")]
    pub output: Option<PathBuf>,
    /// What the picture shows.
    #[arg(long = "as", value_enum, default_value_t = Look::Dots)]
    pub look: Look,
    /// One JSON object instead of a table.
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Args)]
pub struct Print {
    /// The manual, a Markdown file.
    pub manual: PathBuf,
    /// Where to: a file, a character device, "-", tcp://HOST:9100, serial:/dev/ttyUSB0?baud=115200, usb:, queue:NAME, rehearse:FOLDER.
    #[arg(long, value_name = "DEST")]
    pub to: String,
    /// Copies of every strip.
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = clap::value_parser!(u64).range(1..=100_000))]
    pub copies: u64,
    /// Where each strip's fate is kept, so that a run can stop and go on.
    #[arg(long, value_name = "RUN.db")]
    pub ledger: Option<PathBuf>,
    /// Print every unit again, in a new run: also when the ledger's last run was of another manual.
    #[arg(long, requires = "ledger")]
    pub new_run: bool,
    /// Go on with a run although the manual has changed since it was begun.
    #[arg(long, requires = "ledger", conflicts_with = "new_run")]
    pub go_on: bool,
    /// How long to wait at a printer in trouble for somebody to put it right, in seconds; 0 ends the run at once.
    #[arg(long, value_name = "SECONDS", default_value_t = 600, value_parser = clap::value_parser!(u64).range(0..=86_400))]
    pub wait: u64,
}

#[derive(Debug, Args)]
pub struct Pack {
    /// The manual, a Markdown file.
    pub manual: PathBuf,
    /// A printer, as for `print`; say it again for each: the first that is free gets the next strip.
    #[arg(long, value_name = "DEST", required = true)]
    pub to: Vec<String>,
    /// Where each strip's fate is kept: a file, or a database for several benches: postgres://USER@HOST/DATABASE.
    #[arg(long, value_name = "LEDGER")]
    pub ledger: PathBuf,
    /// What this bench is called; left out, the machine's name.
    #[arg(long, value_name = "NAME")]
    pub bench: Option<String>,
    /// How long other benches wait for this one, in seconds, before what it had under way is called unknown.
    #[arg(long, value_name = "SECONDS", default_value_t = 60, value_parser = clap::value_parser!(u64).range(2..=3600))]
    pub lease: u64,
    /// What this scanner writes before every code; it is taken off.
    #[arg(long, value_name = "TEXT", default_value = "", allow_hyphen_values = true)]
    pub prefix: String,
    /// Paper width x roll diameter in mm, for the rolls that are still needed: 80x80, 57x40x13.
    #[arg(long, value_name = "WxD[xC]")]
    pub roll: Option<String>,
    /// Pack every unit again, in a new run.
    #[arg(long)]
    pub new_run: bool,
    /// Go on with a run although the manual has changed since it was begun.
    #[arg(long, conflicts_with = "new_run")]
    pub go_on: bool,
}

#[derive(Debug, Args)]
pub struct Ledger {
    /// The ledger: a file, or postgres://USER@HOST/DATABASE.
    pub ledger: PathBuf,
    /// Say what became of a unit whose fate is unknown: KEY=printed or KEY=missing.
    #[arg(long, value_name = "KEY=FATE", allow_hyphen_values = true)]
    pub resolve: Vec<String>,
    /// The run whose strips are meant, where a key is in several.
    #[arg(long, value_name = "N", requires = "resolve", value_parser = clap::value_parser!(i64).range(1..))]
    pub run: Option<i64>,
    /// One JSON object instead of a table.
    #[arg(long)]
    pub json: bool,
    /// CSV instead of a table: one strip a row, with who printed and who packed it and when.
    #[arg(long, conflicts_with = "json")]
    pub csv: bool,
    /// In a database: make the roles stripling_bench (prints and confirms) and stripling_settler (settles too).
    #[arg(long, conflicts_with_all = ["json", "csv", "resolve"])]
    pub roles: bool,
}

#[derive(Debug, Args)]
pub struct Desk {
    /// The manual, a Markdown file. Left out: the page offers what lies in this folder, and a small one to begin with.
    pub manual: Option<PathBuf>,
    /// Port on 127.0.0.1; 0 or nothing takes a free one.
    #[arg(long, value_name = "N", default_value_t = 0)]
    pub port: u16,
    /// What opens a file at a line when something on the strip is clicked: 'my-editor {file}:{line}'.
    #[arg(long, value_name = "COMMAND")]
    pub editor: Option<String>,
    /// Where the page prints to, as for `print`; left out, it shows only. The packing page takes several, as `pack` does.
    #[arg(long, value_name = "DEST")]
    pub to: Vec<String>,
    /// Where each strip's fate is kept, as for `print`. With units and a ledger there is a packing page: /pack.
    #[arg(long, value_name = "RUN.db", requires = "to")]
    pub ledger: Option<PathBuf>,
    /// What the bench of the packing page is called; left out, the machine's name.
    #[arg(long, value_name = "NAME", requires = "ledger")]
    pub bench: Option<String>,
    /// What the scanner at the packing page writes before every code; it is taken off.
    #[arg(long, value_name = "TEXT", requires = "ledger", allow_hyphen_values = true)]
    pub prefix: Option<String>,
    /// Write nothing: the page shows the manual, and no hand can be laid on it.
    #[arg(long)]
    pub read_only: bool,
}

#[derive(Debug, Args)]
pub struct Chart {
    /// PNG, or bytes for the printer if the name ends in .bin; "-" is standard output, as PNG.
    #[arg(short, long, value_name = "FILE")]
    pub output: Option<PathBuf>,
    /// Print it: any destination that `print` takes.
    #[arg(long, value_name = "DEST")]
    pub to: Option<String>,
}

#[derive(Debug, Args)]
pub struct Makeready {
    /// Where the printer is: any destination of `print`. Left out: printers are looked for, and you choose one.
    #[arg(long, value_name = "DEST")]
    pub to: Option<String>,
    /// The printer's file to write.
    #[arg(short, long, value_name = "FILE.toml", default_value = "bench.toml")]
    pub output: PathBuf,
    /// Take the answers from a file instead of asking: the keys are those of FILE.answers.toml.
    #[arg(long, value_name = "FILE.toml")]
    pub answers: Option<PathBuf>,
    /// Read photographs of the ways strip and of the one with the black squares, and answer from them what they show.
    #[arg(long, value_name = "FILE.jpg", num_args = 1..)]
    pub photo: Vec<PathBuf>,
    /// Begin anew: print every strip again and forget the answers that are kept.
    #[arg(long)]
    pub again: bool,
}

#[derive(Debug, Args)]
pub struct Start {
    /// Folder to make; it must not hold anything yet.
    pub folder: PathBuf,
}

#[derive(Debug, Args)]
pub struct Printers {
    /// One JSON object instead of a table.
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Args)]
pub struct Completions {
    /// bash, zsh, fish, elvish or powershell.
    pub shell: clap_complete::Shell,
}

/// Whether a manual is read from standard input. Its pictures are looked for from here.
pub fn is_standard(manual: &Path) -> bool {
    manual == Path::new("-")
}

#[cfg(test)]
mod tests {
    use clap::CommandFactory;

    use super::*;

    /// A command line as a shell takes it apart, without variables and patterns.
    fn words(line: &str) -> Vec<String> {
        let mut words = Vec::new();
        for (n, piece) in line.split('\'').enumerate() {
            match n % 2 {
                0 => words.extend(piece.split_whitespace().map(str::to_string)),
                _ => words.push(piece.to_string()),
            }
        }
        words
    }

    #[test]
    fn every_example_of_the_help_is_understood() {
        let mut seen = 0;
        for command in Options::command().get_subcommands() {
            let help = command.get_after_help().map(ToString::to_string).unwrap_or_default();
            let lines = help.lines().filter_map(|line| line.find("stripling ").map(|at| &line[at..]));
            for line in lines.flat_map(|line| line.split(" && ")) {
                let options = Options::try_parse_from(words(line)).unwrap_or_else(|error| panic!("{line}: {error}"));
                options.heed().unwrap_or_else(|error| panic!("{line}: {error}"));
                seen += 1;
            }
        }
        assert!(seen > 14, "{seen} examples");
    }
}
