//! Names of many files from one pattern: `strips/{{ unit.serial }}.png`.
//!
//! A value never leads out of the pattern's folder: whatever is not a letter, a digit, a point, a hyphen or an underscore becomes an
//! underscore, and a name never begins with a point.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use super::Error;
use super::output::{Output, Writes};
use super::report::Trouble;
use crate::manual::Unit;
use crate::names::plainly;

/// The file of every unit.
///
/// # Errors
/// [`Error::Usage`] for a pattern without a field, with a field that the table does not have, or one that gives two units the same name.
pub fn names(pattern: &str, units: &[&Unit]) -> Result<Vec<PathBuf>, Error> {
    if units.len() > 1 && !pattern.contains("{{") {
        let trouble = Trouble::new(format!("{} strips cannot all be written to {pattern}", units.len()));
        return Err(Error::Usage(
            trouble.hint("put a field in the name: strips/{{ unit.serial }}.png; or choose one with --unit"),
        ));
    }
    let mut seen: BTreeMap<String, &Unit> = BTreeMap::new();
    let mut names = Vec::with_capacity(units.len());
    for unit in units {
        let name = fill(pattern, unit)?;
        // Two names that differ in case only are one file on many disks.
        if let Some(other) = seen.insert(name.to_lowercase(), unit) {
            let trouble = Trouble::new(format!("rows {} and {} would both be written to {name}", other.row, unit.row));
            return Err(Error::Usage(trouble.hint("use a field that differs from unit to unit, or add {{ unit.row }}")));
        }
        names.push(PathBuf::from(name));
    }
    Ok(names)
}

/// Writes the file of one unit, in a folder that is made when it is not there.
///
/// # Errors
/// As [`Output::spares`] and [`Output::write`]; [`Error::Input`] when the folder cannot be made.
pub fn put(file: &Path, writes: Writes, bytes: &[u8], inputs: &[PathBuf]) -> Result<(), Error> {
    let output = Output::File(file.to_path_buf());
    output.spares(writes, inputs)?;
    if let Some(folder) = file.parent() {
        std::fs::create_dir_all(folder)
            .map_err(|error| Error::Input(Trouble::new(format!("{} cannot be made: {}", folder.display(), plainly(&error)))))?;
    }
    output.write(bytes)
}

fn fill(pattern: &str, unit: &Unit) -> Result<String, Error> {
    let mut name = String::new();
    let mut rest = pattern;
    while let Some((before, after)) = rest.split_once("{{") {
        let Some((field, after)) = after.split_once("}}") else {
            return Err(Error::Usage(
                Trouble::new(format!("in {pattern} a field is not closed")).hint("a field is {{ unit.COLUMN }}"),
            ));
        };
        name.push_str(before);
        let field = field.trim();
        let column = field.strip_prefix("unit.").unwrap_or_default();
        let value = match (column, unit.value(column)) {
            (_, Some(value)) => value.to_string(),
            ("row", None) => unit.row.to_string(),
            ("key", None) => unit.key().to_string(),
            _ => {
                let known: Vec<String> = unit.columns().iter().map(|column| format!("unit.{column}")).collect();
                let trouble = Trouble::new(format!("{field:?} in {pattern} is no field of the units"));
                return Err(Error::Usage(trouble.hint(format!("known are {}, unit.row and unit.key", known.join(", ")))));
            }
        };
        let begins = name.is_empty() || name.ends_with(['/', std::path::MAIN_SEPARATOR]);
        name.push_str(&safe(&value, begins));
        rest = after;
    }
    name.push_str(rest);
    Ok(name)
}

/// A value as a part of a file name.
fn safe(value: &str, begins: bool) -> String {
    let kept = |letter: char| letter.is_alphanumeric() || matches!(letter, '.' | '-' | '_');
    let mut name: String = value.trim().chars().take(100).map(|letter| if kept(letter) { letter } else { '_' }).collect();
    if name.is_empty() {
        name.push('_');
    }
    if begins && name.starts_with('.') {
        name.replace_range(0..1, "_");
    }
    name
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::manual::Units;

    fn named(csv: &str, pattern: &str) -> Result<Vec<String>, String> {
        let units = Units::read(csv.as_bytes(), "units.csv").expect("a table");
        let all: Vec<&Unit> = units.iter().collect();
        let names = names(pattern, &all).map_err(|error| error.to_string())?;
        Ok(names.into_iter().map(|name| name.display().to_string()).collect())
    }

    #[test]
    fn a_value_never_leads_out_of_the_folder() {
        let csv = "serial\n../../etc/passwd\n/root\n.hidden\n\"a b:c\"\n";
        let names = named(csv, "strips/{{ unit.serial }}.png").unwrap();
        assert_eq!(names, ["strips/_._.._etc_passwd.png", "strips/_root.png", "strips/_hidden.png", "strips/a_b_c.png"]);
    }

    #[test]
    fn two_units_never_share_a_file() {
        let refused = named("serial\nA/1\na_1\n", "{{ unit.serial }}.png").unwrap_err();
        assert!(refused.contains("rows 1 and 2"), "{refused}");
        assert!(named("serial\n1\n2\n", "strip.png").unwrap_err().contains("2 strips"));
        assert_eq!(named("serial\nx\nx\n", "{{ unit.serial }}-{{unit.row}}.png").unwrap(), ["x-1.png", "x-2.png"]);
    }

    #[test]
    fn an_unknown_field_names_the_known() {
        assert!(named("serial\n1\n", "{{ unit.seriel }}.png").unwrap_err().contains("unit.seriel"));
    }
}
