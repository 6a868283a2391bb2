//! The house stands as DEVELOPERS.md draws it: a room imports only rooms below it, and the top level holds only what belongs there.

mod circles;
mod pairs;
mod tokens;

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use tokens::tokens;

/// From the roof to the ground. A room may import those that stand behind it.
const ROOMS: [&str; 23] = [
    "commands",
    "desk",
    "makeready",
    "packing",
    "edit",
    "prepress",
    "send",
    "web",
    "printer",
    "preflight",
    "copy",
    "strip",
    "layout",
    "type_setting",
    "pictures",
    "models",
    "manual",
    "bitmap",
    "language",
    "names",
    "lengths",
    "gain",
    "geometry",
];

/// Rooms that import less than stands below them: `manual` knows no dots, the lasting copy no layout. The copy's lines on paper are set
/// by the strip's own hands, so that words break and turn alike; it takes glyphs and places from there, and no dots.
const ONLY: [(&str, &[&str]); 3] = [
    ("edit", &["manual", "language", "names", "lengths"]),
    ("manual", &["language", "names", "lengths", "geometry"]),
    ("copy", &["type_setting", "pictures", "models", "manual", "language", "names", "lengths", "geometry"]),
];

/// What may stand at the top of the project.
const TOP: [&str; 13] = [
    ".ci",
    ".git",
    ".gitignore",
    "Cargo.lock",
    "Cargo.toml",
    "DEVELOPERS.md",
    "LICENSE",
    "README.md",
    "examples",
    "fonts",
    "manuals",
    "src",
    "tests",
];

fn project() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

#[test]
fn rooms_import_only_rooms_below_them() {
    let mut wrong = Vec::new();
    let mut seen = 0;
    for path in sources(&project().join("src")) {
        let inside = path.strip_prefix(project().join("src")).expect("below src").to_path_buf();
        let modules = modules(&inside);
        // lib.rs names all rooms, main.rs calls the roof: neither is a room.
        let Some(room) = modules.first().cloned().filter(|room| room != "lib" && room != "main") else {
            continue;
        };
        assert!(ROOMS.contains(&room.as_str()), "src/{} is in no room that is known", inside.display());
        seen += 1;
        let text = fs::read_to_string(&path).expect("a source file");
        for (line, import) in imports(&text, &modules) {
            if !may_import(&room, &import) {
                wrong.push(format!("src/{}:{line}: {room} imports {import}", inside.display()));
            }
        }
    }
    assert!(seen > 10, "only {seen} files were looked at");
    assert!(wrong.is_empty(), "upward imports:\n{}", wrong.join("\n"));
}

#[test]
fn a_bad_import_is_caught() {
    let caught = |file: &str, text: &str| {
        let modules = modules(Path::new(file));
        let room = modules[0].clone();
        let wrong = |(line, import): (usize, String)| (!may_import(&room, &import)).then_some((line, import));
        imports(text, &modules).into_iter().filter_map(wrong).collect::<Vec<_>>()
    };
    let layout = |line: usize| vec![(line, "layout".to_string())];
    assert_eq!(caught("pictures/mod.rs", "use crate::layout::Layout;"), layout(1));
    assert_eq!(caught("pictures/mod.rs", "\n\nuse crate::{bitmap::Bitmap, layout::{Layout, Place}};"), layout(3));
    assert_eq!(caught("pictures/mod.rs", "use crate::{\n    lengths::{self, Dots},\n    layout,\n};"), layout(3));
    assert_eq!(caught("pictures/screen/line.rs", "use super::super::super::layout::Layout;"), layout(1));
    assert_eq!(caught("pictures.rs", "fn f() -> crate::layout::Layout { super::layout::g() }"), [layout(1), layout(1)].concat());
    assert_eq!(caught("pictures.rs", "mod tests {\n use super::super::layout;\n}"), layout(2));
    assert_eq!(caught("manual/mod.rs", "use crate::bitmap::Bitmap;"), [(1, "bitmap".to_string())]);
    assert_eq!(caught("lengths.rs", "pub use crate::language as l;"), [(1, "language".to_string())]);
    assert_eq!(caught("desk/mod.rs", "use stripling::commands;"), [(1, "commands".to_string())]);
    // And what is good passes.
    assert_eq!(
        caught("layout/mod.rs", "use crate::{pictures::Album, lengths::Dots};\nuse super::style;\nuse super::lengths;"),
        []
    );
    assert_eq!(caught("layout/list.rs", "use super::{style, super::lengths};"), []);
    assert_eq!(caught("pictures.rs", "// crate::layout\n/* use crate::layout; */\nfn f() { g(\"crate::layout\", '\"'); }"), []);
    assert_eq!(caught("pictures.rs", "mod tests {\n use super::*;\n}\nuse self::layout;"), []);
}

#[test]
fn the_top_level_holds_what_belongs_there() {
    // What git keeps, and not what a person has lying there; in a package without git, the folder.
    let kept = Command::new("git").args(["ls-files", "-z"]).current_dir(project()).output().ok();
    let kept = kept.filter(|kept| kept.status.success() && !kept.stdout.is_empty());
    let names: BTreeSet<String> = match kept {
        Some(kept) => {
            let files = String::from_utf8(kept.stdout).expect("names");
            files
                .split('\0')
                .filter_map(|file| file.split('/').next())
                .filter(|name| !name.is_empty())
                .map(str::to_string)
                .collect()
        }
        None => {
            let entries = fs::read_dir(project()).expect("the project's folder");
            let names = entries.map(|entry| entry.expect("an entry").file_name().to_string_lossy().into_owned());
            // Cargo's own folder is no part of the project.
            names.filter(|name| name != "target").collect()
        }
    };
    assert!(names.contains("src"), "{names:?}");
    let strange: Vec<&String> = names.iter().filter(|name| !TOP.contains(&name.as_str())).collect();
    assert!(strange.is_empty(), "at the top level: {strange:?}");
}

/// What `cargo install` of the package needs and a person can use: no tests, no scripts that draw.
#[test]
fn a_package_holds_what_a_user_needs_and_nothing_else() {
    let cargo = std::env::var("CARGO").unwrap_or_else(|_| "cargo".into());
    let listed = Command::new(cargo).args(["package", "--list", "--allow-dirty", "--offline"]).current_dir(project()).output();
    let listed = listed.expect("cargo");
    assert!(listed.status.success(), "{}", String::from_utf8_lossy(&listed.stderr));
    let listed = String::from_utf8(listed.stdout).expect("names");
    for needed in
        ["src/main.rs", "fonts/sans-regular.ttf", "fonts/LICENSE-OFL.txt", "manuals/heron/heron.md", "LICENSE", "README.md"]
    {
        assert!(listed.lines().any(|file| file == needed), "{needed} is not in the package");
    }
    let strange = |file: &&str| ["tests/", ".ci/"].iter().any(|start| file.starts_with(start)) || file.ends_with(".py");
    assert_eq!(listed.lines().find(strange), None);
}

fn may_import(room: &str, import: &str) -> bool {
    if room == import {
        return true;
    }
    if let Some((_, only)) = ONLY.iter().find(|(name, _)| *name == room) {
        return only.contains(&import);
    }
    let floor = |name: &str| ROOMS.iter().position(|known| *known == name);
    match (floor(room), floor(import)) {
        (Some(from), Some(to)) => from < to,
        // What is no room is the room's own, or a name of another crate.
        (_, None) => true,
        (None, Some(_)) => false,
    }
}

fn sources(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            found.extend(sources(&path));
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            found.push(path);
        }
    }
    found.sort();
    found
}

/// The module that a file below src is.
fn modules(inside: &Path) -> Vec<String> {
    let mut modules: Vec<String> =
        inside.with_extension("").components().map(|part| part.as_os_str().to_string_lossy().into_owned()).collect();
    modules.pop_if(|last| last == "mod");
    modules
}

/// Names directly below the crate's root that the text reaches by `crate::`, `stripling::` or enough `super::`, with their line.
fn imports(text: &str, modules: &[String]) -> Vec<(usize, String)> {
    let tokens = tokens(text);
    let word = |at: usize| tokens.get(at).map_or("", |(_, token)| token.as_str());
    let mut found = Vec::new();
    // Depth of braces at which each inline module began.
    let mut inline: Vec<usize> = Vec::new();
    let mut depth = 0;
    let mut at = 0;
    while at < tokens.len() {
        match word(at) {
            "{" => {
                if at >= 2 && word(at - 2) == "mod" {
                    inline.push(depth);
                }
                depth += 1;
            }
            "}" => {
                depth = depth.saturating_sub(1);
                inline.pop_if(|began| *began == depth);
            }
            start @ ("crate" | "super" | "stripling") if word(at + 1) == "::" && (at == 0 || word(at - 1) != "::") => {
                let mut above = modules.len() + inline.len();
                above = if start == "super" { above.saturating_sub(1) } else { 0 };
                at += 2;
                at = path(&tokens, at, above, &mut found);
                continue;
            }
            _ => {}
        }
        at += 1;
    }
    found
}

/// Follows one path from the token after `::`, `above` modules below the root; groups in braces branch.
fn path(tokens: &[(usize, String)], mut at: usize, mut above: usize, found: &mut Vec<(usize, String)>) -> usize {
    while let Some((line, token)) = tokens.get(at) {
        match token.as_str() {
            "super" => above = above.saturating_sub(1),
            "self" => {}
            "{" => {
                let mut deep = 0;
                let mut next = at;
                while let Some((_, token)) = tokens.get(next) {
                    match token.as_str() {
                        "{" => deep += 1,
                        "}" => deep -= 1,
                        _ => {}
                    }
                    let begins = deep == 1 && (token == "{" || token == ",");
                    next += 1;
                    if begins {
                        path(tokens, next, above, found);
                    }
                    if deep == 0 {
                        break;
                    }
                }
                return next;
            }
            name if above == 0 && name.starts_with(|letter: char| letter.is_alphabetic() || letter == '_') => {
                found.push((*line, name.to_string()));
                return at + 1;
            }
            _ => return at,
        }
        if tokens.get(at + 1).is_none_or(|(_, token)| token != "::") {
            return at + 1;
        }
        at += 2;
    }
    at
}
