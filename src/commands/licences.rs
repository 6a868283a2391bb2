//! `stripling licences`: under which terms the program, its faces and the crates inside it are given away, with their texts.
//!
//! The crates' texts are gathered when the program is built (`licences/build.rs`); each text is printed once, under the crates it is for.

use std::collections::BTreeMap;
use std::fmt::Write;

use license_fetcher::prelude::*;

use super::Error;
use super::output::Output;
use super::report::Trouble;

/// What stands beside the faces, file by file.
const FACES: [(&str, &str); 2] = [
    (
        "Faces under the SIL Open Font License 1.1 (sans, mono, lettering, arabic, hebrew, symbols, emoji)",
        include_str!("../../fonts/LICENSE-OFL.txt"),
    ),
    ("Outlines derived from DejaVu", include_str!("../../fonts/LICENSE-DejaVu.txt")),
];

pub fn run() -> Result<(), Error> {
    let crates = read_package_list_from_out_dir!()
        .map_err(|error| Error::Input(Trouble::new(format!("the crates' licences in this program cannot be read: {error}"))))?;
    Output::Standard.write(told(&crates).as_bytes())
}

fn told(crates: &[Package]) -> String {
    let mut told = String::new();
    heading(&mut told, "Stripling (MIT)");
    told.push_str(include_str!("../../LICENSE"));
    for (name, text) in FACES {
        heading(&mut told, name);
        told.push_str(text);
    }
    let others: Vec<&Package> = crates.iter().filter(|one| one.name != env!("CARGO_PKG_NAME")).collect();
    heading(&mut told, &format!("{} crates", others.len()));
    if others.is_empty() {
        told.push_str("Their texts were not found when this program was built: see Cargo.lock for their names.\n");
    }
    let mut texts: BTreeMap<&str, Vec<String>> = BTreeMap::new();
    for one in &others {
        let name = format!("{} {}", one.name, one.version);
        // Writing to a String cannot fail.
        let _ = writeln!(told, "{name}: {}", one.license_identifier.as_deref().unwrap_or("see its text"));
        for (_, text) in &one.license_texts {
            texts.entry(text.trim()).or_default().push(name.clone());
        }
    }
    for (text, names) in texts {
        heading(&mut told, &names.join(", "));
        told.push_str(text);
        told.push('\n');
    }
    told
}

fn heading(told: &mut String, name: &str) {
    let _ = write!(told, "{}{}\n\n{name}\n\n", if told.is_empty() { "" } else { "\n" }, "-".repeat(78));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_crate_is_named_with_its_licence_and_texts_stand_once() {
        let one = |name: &str, text: &str| {
            Package::builder(name, "1.0.0").license_identifier("MIT").add_license_text("LICENSE", text).build()
        };
        let told = told(&[one("reed", "Permission.\n"), one("pond", "Permission."), one("stripling", "Ours.")]);
        assert!(
            told.contains("2 crates") && told.contains("reed 1.0.0: MIT") && told.contains("reed 1.0.0, pond 1.0.0"),
            "{told}"
        );
        assert_eq!(told.matches("Permission.").count(), 1, "{told}");
        assert!(told.contains("Open Font License") && told.contains("MIT License"), "the faces' and the program's own");
    }

    /// The list that this very program carries: what the build found.
    #[test]
    fn the_program_carries_the_texts_of_what_it_is_made_of() {
        let crates = read_package_list_from_out_dir!().expect("a list");
        for name in ["image", "imageproc", "pulldown-cmark", "ab_glyph", "clap"] {
            let found = crates.iter().find(|one| one.name == name).unwrap_or_else(|| panic!("{name} is not in the list"));
            assert!(!found.license_texts.is_empty(), "{name} has no text");
        }
    }
}
