//! The page in a real browser: starts a desk and hands its address to the scripts of `tests/desk`.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
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
