//! Places, sizes and rectangles go from function to function as `geometry` has them, never as bare pairs of numbers: in a pair nobody sees
//! which is which, nor whether it is a place, a size or two lengths.

use std::fs;

use super::tokens::tokens;
use super::{project, sources};

/// Rooms whose functions, fields and constants are looked at, as far as others see them.
const LOOKED_AT: [&str; 5] = ["layout", "pictures", "strip", "models", "makeready/photograph"];

/// What numbers are measured or counted in. Colours are bytes, and no matter here.
const NUMBERS: [&str; 9] = ["i32", "i64", "u32", "u64", "f32", "f64", "usize", "Dots", "Permille"];

/// Pairs that are no places: by their file, what bears them, and why.
const EXCEPTIONS: [(&str, &str, &str); 5] = [
    ("models/join.rs", "ends", "the numbers of two vertices, of one kind and in no order"),
    ("models/join.rs", "faces_of", "room for the numbers of two faces"),
    ("models/lines.rs", "ends", "the numbers of two vertices"),
    ("models/lines.rs", "faces", "the numbers of four faces at most"),
    ("makeready/photograph/sheet.rs", "lines", "two rows of one strip, one after the other"),
];

#[test]
fn no_bare_pair_of_numbers_crosses_a_border() {
    let source = project().join("src");
    let (mut wrong, mut met) = (Vec::new(), Vec::new());
    for room in LOOKED_AT {
        let files = sources(&source.join(room));
        assert!(!files.is_empty(), "there is no room {room}");
        for path in files {
            let inside = path.strip_prefix(&source).expect("below src").to_string_lossy().replace('\\', "/");
            for (line, bearer, pair) in pairs(&fs::read_to_string(&path).expect("a source file")) {
                match EXCEPTIONS.iter().position(|(file, name, _)| *file == inside && *name == bearer) {
                    Some(known) => met.push(known),
                    None => wrong.push(format!("src/{inside}:{line}: {bearer} has {pair}")),
                }
            }
        }
    }
    assert!(wrong.is_empty(), "bare pairs of numbers (see src/geometry.rs):\n{}", wrong.join("\n"));
    for (n, (file, name, _)) in EXCEPTIONS.iter().enumerate() {
        assert!(met.contains(&n), "{name} of {file} is no exception any more");
    }
}

#[test]
fn a_bare_pair_is_caught() {
    let found = |text: &str| pairs(text).into_iter().map(|(_, bearer, pair)| format!("{bearer} {pair}")).collect::<Vec<_>>();
    assert_eq!(found("pub fn middle(at: [i32; 2]) -> (f64, f64) {"), ["middle [i32;2]", "middle (f64,f64)"]);
    assert_eq!(found("    pub(super) const fn half(&self) -> Option<[Dots; 4]> {"), ["half [Dots;4]"]);
    assert_eq!(found("pub struct A {\n    pub crop: Option<[Permille; 4]>,\n    own: [i32; 2],\n}"), ["crop [Permille;4]"]);
    assert_eq!(found("pub type Way = Vec<[f64; 2]>;\npub const STEP: (i32, i32) = (1, 2);"), ["Way [f64;2]", "STEP (i32,i32)"]);
    assert_eq!(found("pub trait T {\n    fn reach(&self) -> [Dots; 2];\n}"), ["reach [Dots;2]"]);
    // Not a pair of one kind, not numbers, what a function is given, what stays inside.
    assert!(found("pub fn a(share: (f64, usize), rgb: [u8; 4], all: [f64; 3], f: impl Fn(usize, usize) -> bool) {").is_empty());
    assert!(found("fn own(at: [i32; 2]) {}\npub fn out() { let at: [i32; 2] = [0, 0]; }").is_empty());
    assert!(found("#[cfg(test)]\nmod tests {\n    pub fn order(at: [i32; 2]) {}\n}").is_empty());
}

/// Pairs and fours of numbers of one kind in what a text shows to others: with their line and the name that bears them.
fn pairs(text: &str) -> Vec<(usize, String, String)> {
    let tokens = tokens(text);
    let word = |at: usize| tokens.get(at).map_or("", |(_, token)| token.as_str());
    let mut found = Vec::new();
    let mut at = 0;
    while at < tokens.len() {
        if word(at) == "mod" && word(at + 1) == "tests" {
            break;
        }
        let shown = match word(at) {
            "pub" if word(at + 1) == "trait" => {
                // All that a trait asks for.
                at += 3;
                let mut deep = 1;
                while word(at) != "{" && at < tokens.len() {
                    at += 1;
                }
                at += 1;
                while deep > 0 && at < tokens.len() {
                    match word(at) {
                        "{" => deep += 1,
                        "}" => deep -= 1,
                        "fn" => at = look(&tokens, at, &mut found),
                        _ => {}
                    }
                    at += 1;
                }
                continue;
            }
            "pub" => true,
            _ => false,
        };
        at += 1;
        if shown {
            if word(at) == "(" {
                at += 3;
            }
            at = look(&tokens, at, &mut found);
        }
    }
    found
}

/// Looks at what follows `pub`, as far as it is shown: a signature, the type of a field or of a constant. Gives where it ends.
fn look(tokens: &[(usize, String)], mut at: usize, found: &mut Vec<(usize, String, String)>) -> usize {
    let word = |at: usize| tokens.get(at).map_or("", |(_, token)| token.as_str());
    while matches!(word(at), "const" | "async" | "unsafe" | "fn" | "static" | "type") {
        at += 1;
    }
    if matches!(word(at), "use" | "mod" | "struct" | "enum" | "trait") {
        return at;
    }
    let bearer = word(at).to_string();
    let is_type = at > 0 && word(at - 1) == "type";
    let mut deep = 0i32;
    at += 1;
    while at < tokens.len() {
        let ends = match word(at) {
            "{" | "}" => true,
            ";" | "," => deep <= 0,
            "=" => deep <= 0 && !is_type && word(at + 1) != ">",
            _ => false,
        };
        if ends {
            break;
        }
        match word(at) {
            "(" | "[" | "<" => deep += 1,
            // Of an arrow it ends nothing.
            ">" if word(at - 1) == "-" => {}
            ")" | "]" | ">" => deep -= 1,
            _ => {}
        }
        let number = |at: usize| NUMBERS.contains(&word(at));
        let list =
            word(at) == "[" && number(at + 1) && word(at + 2) == ";" && matches!(word(at + 3), "2" | "4") && word(at + 4) == "]";
        let tuple = word(at) == "(" && number(at + 1) && !word(at - 1).starts_with("Fn") && {
            let all: Vec<&str> = (at + 1..at + 9).map(word).collect();
            let [kind, ..] = all[..] else { return at };
            all.starts_with(&[kind, ",", kind, ")"]) || all.starts_with(&[kind, ",", kind, ",", kind, ",", kind, ")"])
        };
        if list || tuple {
            let end = (at..).find(|&end| matches!(word(end), "]" | ")" | "")).unwrap_or(at);
            found.push((tokens[at].0, bearer.clone(), (at..=end).map(word).collect()));
        }
        at += 1;
    }
    at
}
