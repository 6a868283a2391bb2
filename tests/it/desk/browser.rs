//! The page in a real browser: starts a desk and hands its address to the scripts of `tests/desk`.

use std::fs;
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::OnceLock;

use stripling::desk::{Editor, View, Workshop};
use stripling::strip::png;

use super::{lay, scripts};

/// A copy of Heron that a test may write into.
fn heron() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("manuals/heron");
    for entry in fs::read_dir(from).expect("the manual") {
        let entry = entry.expect("an entry");
        if entry.file_type().expect("a type").is_file() {
            fs::copy(entry.path(), folder.path().join(entry.file_name())).expect("copied");
        }
    }
    folder
}

/// The scripts' folder with what they need, installed once however many tests ask for it.
pub fn installed() -> PathBuf {
    static SCRIPTS: OnceLock<PathBuf> = OnceLock::new();
    let install = || {
        let scripts = scripts();
        if !["playwright-core", "axe-core", "vnu-jar"].iter().all(|name| scripts.join("node_modules").join(name).exists()) {
            // What comes with the packages is enough: nothing of theirs is run to install it.
            let arguments = ["ci", "--ignore-scripts", "--no-audit", "--no-fund"];
            let installed = Command::new("npm").args(arguments).current_dir(&scripts).status().expect("npm");
            assert!(installed.success(), "npm ci failed in tests/desk");
        }
        scripts
    };
    SCRIPTS.get_or_init(install).clone()
}

#[test]
#[ignore = "needs chromium, node: tests/run"]
fn the_page_does_what_it_says_in_a_real_browser() {
    let scripts = installed();
    let outside = tempfile::tempdir().expect("a folder");
    let (note, proof) = (outside.path().join("opened"), outside.path().join("proof.png"));
    let command = format!("sh -c 'printf \"%s:%s\" \"$1\" \"$2\" > {}' pen {{file}} {{line}}", note.display());
    let desk = lay(heron(), Some(Editor::read(&command).expect("a command")));
    let made = desk.workshop.proof(&View::default()).expect("a proof");
    fs::write(&proof, png::write(&made.strip.bitmap, made.strip.resolution)).expect("written");
    let status = Command::new("node")
        .arg(scripts.join("page.mjs"))
        .arg(&desk.address)
        .arg(desk.folder.path())
        .env("DESK_OPENED", &note)
        .env("DESK_PROOF", &proof)
        .env("DESK_PRINTS", "yes")
        .status()
        .expect("node");
    assert!(status.success(), "a check of tests/desk/page.mjs failed");
}

/// The program itself, for as long as it is needed.
struct Running(Child);

impl Drop for Running {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// Plays a script against the program's own desk with Heron on it.
fn played(script: &str, options: &[&str], environment: &[(&str, &str)]) {
    let (scripts, folder) = (installed(), heron());
    let mut command = Command::new(env!("CARGO_BIN_EXE_stripling"));
    command.args(["desk", "heron.md", "--units", "units.csv", "--quiet"]).args(options).current_dir(folder.path());
    let mut desk = Running(command.stdout(Stdio::piped()).spawn().expect("the program"));
    let mut address = String::new();
    BufReader::new(desk.0.stdout.take().expect("piped")).read_line(&mut address).expect("an address");
    let mut node = Command::new("node");
    node.arg(scripts.join(script)).arg(address.trim()).arg(folder.path()).envs(environment.iter().copied());
    assert!(node.status().expect("node").success(), "a check of tests/desk/{script} failed");
}

#[test]
#[ignore = "needs chromium, node: tests/run"]
fn what_is_done_on_the_light_table_stands_in_the_manual() {
    played("table.mjs", &[], &[]);
}

#[test]
#[ignore = "needs chromium, node: tests/run"]
fn a_desk_that_only_shows_has_nothing_that_writes() {
    played("table.mjs", &["--read-only"], &[("DESK_READ_ONLY", "yes")]);
}
