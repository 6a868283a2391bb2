//! `stripling start`: a starter manual that proofs without a finding.

use std::fs;
use std::io::ErrorKind;

use super::Error;
use super::options::Start;
use super::output::Output;
use super::report::{Reporter, Trouble};
use crate::names::plainly;

/// The starter's files, the manual first.
pub const FILES: [(&str, &str); 3] = [
    ("manual.md", include_str!("start/manual.md")),
    ("box.svg", include_str!("start/box.svg")),
    ("units.csv", include_str!("start/units.csv")),
];

pub fn run(asked: &Start, reporter: &Reporter) -> Result<(), Error> {
    let folder = &asked.folder;
    let shown = folder.display();
    let refused =
        |message: String| Error::Input(Trouble::new(message).hint("name a folder that does not exist yet, or an empty one"));
    match fs::read_dir(folder) {
        Ok(mut inside) => {
            if inside.next().is_some() {
                return Err(refused(format!("{shown} is not empty: nothing is written into it")));
            }
        }
        Err(error) if error.kind() == ErrorKind::NotFound => {
            fs::create_dir_all(folder).map_err(|error| refused(format!("{shown} cannot be made: {}", plainly(&error))))?;
        }
        Err(error) => return Err(refused(format!("{shown} cannot be used: {}", plainly(&error)))),
    }
    for (name, text) in FILES {
        Output::File(folder.join(name)).write(text.as_bytes())?;
    }
    reporter.say(format_args!("{shown}: a manual to begin with. See it: stripling proof {shown}/manual.md"));
    Ok(())
}
