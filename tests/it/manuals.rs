//! The manuals that come with the program, and small ones written in a test, made into strips the way every command does it.

use std::fs;
use std::path::{Path, PathBuf};

use stripling::layout::Style;
use stripling::prepress::{Choices, Made, Prepress};
use stripling::strip::map::Map;

/// The five generic printers, by name and dots.
pub const PRINTERS: [(&str, u32); 5] = [("58mm", 384), ("58mm-wide", 420), ("80mm", 576), ("80mm-180", 512), ("112mm", 832)];

/// A manual that comes with the program.
pub struct Demo {
    pub name: String,
    pub manual: PathBuf,
    pub units: Option<PathBuf>,
}

/// All of them: those to show, the starter, those to test with.
pub fn demos() -> Vec<Demo> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut demos = Vec::new();
    for folder in [root.join("manuals"), root.join("tests/manuals"), root.join("src/commands")] {
        for inside in list(&folder).into_iter().filter(|path| path.is_dir()) {
            let name = inside.file_name().and_then(|name| name.to_str()).expect("a name").to_string();
            let manual = inside.join(if name == "start" { "manual.md".into() } else { format!("{name}.md") });
            // The handbook is as long as ten demos: its own test looks at it.
            if !manual.exists() || name == "handbook" {
                continue;
            }
            let units = Some(inside.join("units.csv")).filter(|units| units.exists());
            demos.push(Demo { name, manual, units });
        }
    }
    assert!(demos.len() >= 13, "{} manuals are fewer than came with the program", demos.len());
    demos
}

fn list(folder: &Path) -> Vec<PathBuf> {
    let inside = fs::read_dir(folder).unwrap_or_else(|error| panic!("{}: {error}", folder.display()));
    let mut paths: Vec<PathBuf> = inside.map(|entry| entry.expect("an entry").path()).collect();
    paths.sort();
    paths
}

/// Opens a manual for a printer.
pub fn press(manual: &Path, printer: Option<&str>, units: Option<&Path>) -> Prepress {
    let choices = Choices { printer: printer.map(str::to_string), units: units.map(Path::to_path_buf), ..Choices::default() };
    Prepress::open(manual, &choices).unwrap_or_else(|error| panic!("{}: {error}", manual.display()))
}

/// The same in one of the built-in styles.
pub fn press_in_style(manual: &Path, printer: &str, style: &str) -> Prepress {
    let mut press = press(manual, Some(printer), None);
    press.style = Style::named(style).expect("a built-in style");
    press
}

/// The strip of the manual alone, holes and all.
pub fn drafted(press: &Prepress) -> Made {
    press.draft(None, 1).unwrap_or_else(|error| panic!("{}: {error}", press.file))
}

/// The strip of one unit, or of the manual alone where there are none.
pub fn first(press: &Prepress) -> Made {
    let unit = press.units.as_ref().and_then(|units| units.iter().next());
    press.strip(unit, 1).unwrap_or_else(|error| panic!("{}: {error}", press.file))
}

pub fn map(made: &Made) -> Map {
    Map::new(&made.layout, &made.source)
}

/// A folder with one manual in it, gone when it is dropped.
pub struct Written {
    pub folder: tempfile::TempDir,
    pub manual: PathBuf,
}

impl Written {
    pub fn new(text: impl AsRef<[u8]>) -> Written {
        let folder = tempfile::tempdir().expect("a folder");
        let manual = folder.path().join("manual.md");
        fs::write(&manual, text).expect("written");
        Written { folder, manual }
    }

    /// Puts another file beside the manual.
    pub fn with(self, name: &str, bytes: impl AsRef<[u8]>) -> Written {
        fs::write(self.folder.path().join(name), bytes).expect("written");
        self
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }
}
