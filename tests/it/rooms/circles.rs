//! No files of a room import each other in a loop: each can be read, and changed, with those below it in mind alone.
//!
//! An import is a name that a file takes from another: by `use`, or by a path in its text. What a `mod.rs` hands on (`pub use`) is taken
//! from the file that makes it. What a part takes from the very module that holds it is Rust's own way, and no arrow; tests do not count.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use super::tokens::tokens;
use super::{modules, project, sources};

type Module = Vec<String>;

#[test]
fn no_files_of_a_room_import_each_other_in_a_loop() {
    let source = project().join("src");
    let files: Vec<(Module, String)> = sources(&source)
        .into_iter()
        .map(|path| (modules(path.strip_prefix(&source).expect("below src")), fs::read_to_string(&path).expect("a source file")))
        .collect();
    let circles = circles(&files);
    assert!(circles.is_empty(), "{} circles:\n{}", circles.len(), circles.join("\n"));
}

#[test]
fn a_circle_is_caught() {
    let found = |files: &[(&str, &str)]| {
        let files: Vec<(Module, String)> =
            files.iter().map(|(path, text)| (modules(Path::new(path)), (*text).to_string())).collect();
        circles(&files).len()
    };
    // By `use`, by a path in the text, through what the room's face hands on, by an alias.
    assert_eq!(found(&[("a/b.rs", "use super::c::C;\npub struct B;"), ("a/c.rs", "use super::b::B;\npub struct C;")]), 1);
    assert_eq!(found(&[("a/b.rs", "fn f() { super::c::g() }"), ("a/c.rs", "use crate::a::b::f;")]), 1);
    let face = ("a/mod.rs", "mod b;\nmod c;\npub use b::B;\npub use c::{C, D as E};");
    assert_eq!(found(&[face, ("a/b.rs", "use super::E;\npub struct B;"), ("a/c.rs", "use super::B;")]), 1);
    let parted = [
        ("a/b/mod.rs", "mod c;\npub struct B;\nfn f() { c::g() }"),
        ("a/b/c.rs", "use super::B;\nuse super::super::d::D;\npub fn g() {}"),
    ];
    assert_eq!(found(&[&parted[..], &[("a/d.rs", "use super::b::B;")]].concat()), 1);
    assert_eq!(
        found(&[
            ("a/b.rs", "use super::d;\nfn f() { d::e::g() }"),
            ("a/d/mod.rs", "pub mod e;"),
            ("a/d/e.rs", "use crate::a::b;")
        ]),
        1
    );
    assert_eq!(
        found(&[
            ("a/mod.rs", "mod b;\nmod c;\npub use c::*;"),
            ("a/b.rs", "use super::C;"),
            ("a/c.rs", "use super::b::f;\npub enum C {}")
        ]),
        1
    );
    // No circle: a module and its own parts, a face that only hands on, tests, one way.
    assert_eq!(found(&parted), 0);
    assert_eq!(found(&[face, ("a/b.rs", "pub struct B;"), ("a/c.rs", "use super::B;")]), 0);
    assert_eq!(
        found(&[("a/b.rs", "#[cfg(test)]\nmod tests {\n    use super::super::c::C;\n}"), ("a/c.rs", "use super::b::B;")]),
        0
    );
    assert_eq!(
        found(&[("a/b.rs", "use super::c::C;"), ("a/c.rs", "use std::fmt;\nuse super::d::D;"), ("a/d.rs", "struct D;")]),
        0
    );
}

/// What a file names of others, and what it has to give.
#[derive(Default)]
struct File {
    /// Whole paths from the root of the crate.
    names: Vec<Module>,
    /// The names that it hands on, with where they come from; `*` for all of a module.
    handed_on: Vec<(String, Module)>,
    defined: BTreeSet<String>,
}

/// The circles among files of one room, each as a line that names what ties it.
fn circles(files: &[(Module, String)]) -> Vec<String> {
    let read: BTreeMap<Module, File> =
        files.iter().filter(|(name, _)| !is_test(name)).map(|(name, text)| (name.clone(), file(name, text))).collect();
    let mut arrows: BTreeMap<&Module, BTreeMap<Module, BTreeSet<String>>> = BTreeMap::new();
    for (name, file) in &read {
        for path in &file.names {
            let Some(to) = owner(&read, path, 0) else { continue };
            if !name.starts_with(&to) && to.first() == name.first() {
                arrows.entry(name).or_default().entry(to).or_default().insert(path.last().cloned().unwrap_or_default());
            }
        }
    }
    let reached = |from: &Module| {
        let mut seen: BTreeSet<&Module> = BTreeSet::new();
        let mut open: Vec<&Module> = vec![from];
        while let Some(next) = open.pop() {
            for to in arrows.get(next).into_iter().flat_map(BTreeMap::keys) {
                if seen.insert(to) {
                    open.push(to);
                }
            }
        }
        seen
    };
    let reach: BTreeMap<&Module, BTreeSet<&Module>> = read.keys().map(|name| (name, reached(name))).collect();
    let mut done: BTreeSet<&Module> = BTreeSet::new();
    let mut told = Vec::new();
    for name in read.keys().filter(|name| reach[*name].contains(*name)) {
        if done.contains(name) {
            continue;
        }
        let circle: Vec<&Module> = reach[name].iter().copied().filter(|other| reach[*other].contains(name)).collect();
        done.extend(&circle);
        let mut line = format!("{} files:", circle.len());
        for from in &circle {
            for (to, names) in arrows.get(*from).into_iter().flatten().filter(|(to, _)| circle.contains(to)) {
                let names: Vec<&str> = names.iter().map(String::as_str).collect();
                line += &format!("\n  {} -> {}: {}", from.join("::"), to.join("::"), names.join(", "));
            }
        }
        told.push(line);
    }
    told
}

fn is_test(name: &Module) -> bool {
    name.iter().any(|part| part == "tests")
}

/// The file that makes what a path names.
fn owner(files: &BTreeMap<Module, File>, path: &[String], deep: usize) -> Option<Module> {
    let known = (1..=path.len()).rev().find(|length| files.contains_key(&path[..*length]))?;
    let (module, rest) = path.split_at(known);
    let file = &files[module];
    let Some(name) = rest.first().filter(|_| deep < 8) else { return Some(module.to_vec()) };
    if !file.defined.contains(name) {
        for (handed, from) in &file.handed_on {
            if handed == name {
                return owner(files, from, deep + 1);
            }
            if handed == "*" && files.get(from).is_some_and(|from| from.defined.contains(name)) {
                return Some(from.clone());
            }
        }
    }
    Some(module.to_vec())
}

fn file(name: &Module, text: &str) -> File {
    let tokens = without_tests(tokens(text));
    let word = |at: usize| tokens.get(at).map_or("", |(_, token)| token.as_str());
    let mut file = File::default();
    let mut children = BTreeSet::new();
    for at in 0..tokens.len() {
        if matches!(word(at), "struct" | "enum" | "trait" | "fn" | "const" | "static" | "type" | "union") {
            file.defined.insert(word(at + 1).to_string());
        }
        if word(at) == "mod" && word(at + 2) == ";" {
            children.insert(word(at + 1).to_string());
        }
    }
    // What a word at the beginning of a path stands for here.
    let mut local: BTreeMap<String, Module> =
        children.iter().map(|child| (child.clone(), [name.clone(), vec![child.clone()]].concat())).collect();
    let mut paths: Vec<(usize, bool)> = Vec::new();
    for at in 0..tokens.len() {
        if word(at) == "use" && (at == 0 || matches!(word(at - 1), ";" | "}" | "{" | ")" | "pub" | "]")) {
            paths.push((at + 1, at > 0 && matches!(word(at - 1), "pub" | ")")));
        }
    }
    let mut used = BTreeSet::new();
    for (at, hands_on) in paths {
        let mut found = Vec::new();
        let end = tree(&tokens, at, &[], &mut found);
        used.extend(at..end);
        for (path, alias) in found {
            let Some(whole) = absolute(name, &local, &path) else { continue };
            local.insert(alias.clone(), whole.clone());
            if hands_on {
                file.handed_on.push((alias, whole));
            } else {
                file.names.push(whole);
            }
        }
    }
    for at in 0..tokens.len() {
        let begins = word(at + 1) == "::" && (at == 0 || word(at - 1) != "::") && !used.contains(&at);
        if begins {
            let mut path = vec![word(at).to_string()];
            let mut next = at + 1;
            while word(next) == "::" && word(next + 1).starts_with(|letter: char| letter.is_alphabetic() || letter == '_') {
                path.push(word(next + 1).to_string());
                next += 2;
            }
            file.names.extend(absolute(name, &local, &path));
        }
    }
    file
}

/// A path as it stands in a file, from the root of the crate; nothing where it leads out of it.
fn absolute(name: &Module, local: &BTreeMap<String, Module>, path: &[String]) -> Option<Module> {
    let mut whole: Module = match path.first().map(String::as_str) {
        Some("crate" | "stripling") => Vec::new(),
        Some("self") => name.clone(),
        Some("super") => name[..name.len().saturating_sub(1)].to_vec(),
        Some(first) => local.get(first)?.clone(),
        None => return None,
    };
    for part in &path[1..] {
        match part.as_str() {
            "super" => drop(whole.pop()),
            "self" => {}
            part => whole.push(part.to_string()),
        }
    }
    Some(whole)
}

/// All paths of one `use` from a token on, with the word that each is called by here. Gives the token after it.
fn tree(tokens: &[(usize, String)], mut at: usize, before: &[String], found: &mut Vec<(Module, String)>) -> usize {
    let word = |at: usize| tokens.get(at).map_or("", |(_, token)| token.as_str());
    let mut path = before.to_vec();
    loop {
        match word(at) {
            "{" => {
                at += 1;
                while !matches!(word(at), "}" | "") {
                    at = tree(tokens, at, &path, found);
                    if word(at) == "," {
                        at += 1;
                    }
                }
                return at + 1;
            }
            part => path.push(part.to_string()),
        }
        at += 1;
        if word(at) != "::" {
            break;
        }
        at += 1;
    }
    let mut alias = path.iter().rev().find(|part| *part != "self").cloned().unwrap_or_default();
    if word(at) == "as" {
        alias = word(at + 1).to_string();
        at += 2;
    }
    if path.last().is_some_and(|last| last == "*") {
        path.pop();
    }
    found.push((path, alias));
    at
}

/// What stands outside of inline modules for tests.
fn without_tests(tokens: Vec<(usize, String)>) -> Vec<(usize, String)> {
    let mut kept = Vec::new();
    let mut deep = None;
    for (at, (line, token)) in tokens.iter().enumerate() {
        let is = |back: usize, wanted: &str| at >= back && tokens[at - back].1 == wanted;
        if let Some(depth) = &mut deep {
            match token.as_str() {
                "{" => *depth += 1,
                "}" => *depth -= 1,
                _ => {}
            }
            if *depth == 0 {
                deep = None;
            }
        } else if token == "{" && is(1, "tests") && is(2, "mod") {
            deep = Some(1);
        } else {
            kept.push((*line, token.clone()));
        }
    }
    kept
}
