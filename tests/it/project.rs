//! The project: how far a manual's names reach, from whose folder they count, and that nothing leads out.

use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};

const DRAWING: &str = "<svg xmlns='http://www.w3.org/2000/svg' width='9' height='9'><rect width='5' height='9'/></svg>";

fn program(folder: &Path, arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_stripling"));
    command.args(arguments).current_dir(folder).env("NO_COLOR", "1").stdin(Stdio::null()).output().expect("the program runs")
}

fn write(root: &Path, name: &str, text: &str) {
    let path = root.join(name);
    fs::create_dir_all(path.parent().expect("a folder")).expect("made");
    fs::write(path, text).expect("written");
}

/// A repository with a manual in `docs/build`, and a file beside it that is none of its business.
fn repository(git_file: bool, manual: &str) -> tempfile::TempDir {
    let outside = tempfile::tempdir().expect("a folder");
    let root = outside.path().join("heron");
    match git_file {
        // A worktree or a submodule has a file there.
        true => write(&root, ".git", "gitdir: ../elsewhere\n"),
        false => fs::create_dir_all(root.join(".git")).expect("made"),
    }
    write(&root, "docs/build/manual.md", manual);
    for picture in ["docs/build/a.svg", "img/top.svg", "docs/img/sub dir/b.svg", "docs/img/Case.SVG"] {
        write(&root, picture, DRAWING);
    }
    write(outside.path(), "secret.svg", DRAWING);
    write(outside.path(), "img/beside.svg", DRAWING);
    outside
}

fn proof(outside: &Path, more: &[&str]) -> (i32, String) {
    let arguments = [&["proof", "heron/docs/build/manual.md", "-o", "s.png", "--every"], more].concat();
    let told = program(outside, &arguments);
    (told.status.code().unwrap_or(-1), String::from_utf8_lossy(&told.stderr).replace(['│', '\n'], " "))
}

#[test]
fn names_count_from_the_file_that_says_them_and_reach_through_the_project() {
    for git_file in [false, true] {
        let outside = repository(
            git_file,
            "# A\n\n![a](a.svg)\n\n![b](../../img/top.svg)\n\n![c](/img/top.svg)\n\n![d](../img/sub%20dir/b.svg?raw=true)\n\n\
             {% include \"../parts/part.md\" %}\n",
        );
        let root = outside.path().join("heron");
        write(&root, "docs/parts/part.md", "![e](../img/sub%20dir/b.svg)\n\n![f](here.svg)\n\n![g](/img/top.svg)\n");
        write(&root, "docs/parts/here.svg", DRAWING);
        let (code, told) = proof(outside.path(), &[]);
        assert_eq!(code, 0, "{told}");
        assert!(!told.contains('×'), "{told}");
        assert!(program(outside.path(), &["encode", "heron/docs/build/manual.md", "-o", "s.bin"]).status.success());
    }
}

#[test]
fn a_name_that_differs_in_capitals_is_found_with_a_finding() {
    let outside = repository(false, "# A\n\n![a](../IMG/case.svg)\n");
    let (code, told) = proof(outside.path(), &[]);
    assert!(code == 0 && told.contains("other capitals") && !told.contains('×'), "{told}");
    let check = program(outside.path(), &["preflight", "heron/docs/build/manual.md", "--json"]);
    assert!(String::from_utf8_lossy(&check.stdout).contains("picture-name-case"));
}

#[test]
fn nothing_leads_out_of_the_project() {
    let outside = repository(
        false,
        "# A\n\n![a](../../../secret.svg)\n\n![b](/img/beside.svg)\n\n![c](link.svg)\n\n![d](dir/secret.svg)\n\n![e](..%2f..%2f..%2fsecret.svg)\n",
    );
    let build = outside.path().join("heron/docs/build");
    std::os::unix::fs::symlink(outside.path().join("secret.svg"), build.join("link.svg")).expect("a link");
    std::os::unix::fs::symlink(outside.path(), build.join("dir")).expect("a link");
    let (code, told) = proof(outside.path(), &[]);
    assert_eq!((code, told.matches('×').count()), (0, 5), "{told}");
    assert_eq!(told.matches("climbs out of the project").count(), 2, "{told}");
    assert_eq!(told.matches("a link that leads out of the project").count(), 2, "{told}");
    // Unless the writer says that the project is larger.
    let (code, told) = proof(outside.path(), &["--project", "."]);
    assert_eq!((code, told.matches('×').count()), (0, 0), "{told}");
    let (code, told) = proof(outside.path(), &["--project", "heron/img"]);
    assert!(code == 3 && told.contains("does not lie in it"), "{told}");
}

#[test]
fn without_a_repository_the_project_is_the_manuals_own_folder() {
    let outside = repository(false, "# A\n\n![a](a.svg)\n\n![b](../../img/top.svg)\n");
    fs::remove_dir(outside.path().join("heron/.git")).expect("removed");
    let (code, told) = proof(outside.path(), &[]);
    assert!(code == 0 && told.matches('×').count() == 1 && told.contains("climbs out"), "{told}");
}
