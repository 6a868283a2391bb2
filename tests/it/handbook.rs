//! The handbook names everything that a person may write, and is itself a manual without a finding.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use clap::CommandFactory;
use pulldown_cmark::{Event, Options as Markdown, Parser};

use crate::manuals;
use stripling::commands::options::Options;
use stripling::layout::STYLES;
use stripling::lengths::Dots;
use stripling::manual::document::{Background, Screen, Treatment};
use stripling::manual::folder::Folder;
use stripling::manual::{HEADER_KEYS, fence_names};
use stripling::pictures::{PictureSet, Request, signs};
use stripling::printer::profile::{KEYS, PAPER_KEYS};
use stripling::printer::{BUILT_IN, Profile};

/// The keys of the fences, from `fences.rs` and `model_fences.rs`.
const FENCE_KEYS: [&str; 45] = [
    "picture",
    "alt",
    "caption",
    "width",
    "crop",
    "screen",
    "tone",
    "background",
    "drawing",
    "strength",
    "line",
    "black",
    "numbers",
    "callouts",
    "at",
    "label",
    "model",
    "view",
    "turn",
    "tilt",
    "hide",
    "ghost",
    "hatch",
    "explode",
    "part",
    "parts",
    "step",
    "add",
    "from",
    "text",
    "zoom",
    "columns",
    "panel",
    "height",
    "aspect",
    "fit",
    "span",
    "ground",
    "balloon",
    "tail",
    "reverse",
    "rise",
    "outline",
    "cross",
    "size",
];

/// What `screen` may be.
const SCREENS: [&str; 6] = ["photo", "halftone", "line", "ink", "drawing", "none"];

fn handbook() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("manuals/handbook/handbook.md")
}

/// Everything that stands between backticks in a line.
fn between_backticks() -> BTreeSet<String> {
    let text = fs::read_to_string(handbook()).expect("the handbook");
    let body = text.strip_prefix("+++\n").and_then(|rest| rest.split_once("\n+++\n")).expect("a header").1;
    let codes = Parser::new_ext(body, Markdown::ENABLE_TABLES).filter_map(|event| match event {
        Event::Code(code) => Some(code.to_string()),
        _ => None,
    });
    codes.collect()
}

#[test]
fn every_key_and_name_stands_in_the_handbook() {
    let said = between_backticks();
    assert!(said.len() > 200, "only {} words between backticks", said.len());
    let mut wanted: Vec<String> = Vec::new();
    wanted.extend(HEADER_KEYS.iter().map(|key| key.name.to_string()));
    wanted.extend(HEADER_KEYS.iter().filter(|key| !key.table.is_empty()).map(|key| key.table.to_string()));
    wanted.extend(KEYS.iter().chain(&PAPER_KEYS).chain(&FENCE_KEYS).chain(&SCREENS).map(ToString::to_string));
    wanted.extend(fence_names().map(String::from));
    wanted.extend(["kind", "data", "faces", "key", "rule", "reason"].map(String::from));
    wanted.extend(signs::names().map(String::from));
    wanted.extend(BUILT_IN.iter().map(|generic| generic.name.to_string()));
    let missing: Vec<&String> = wanted.iter().filter(|name| !said.contains(*name)).collect();
    assert!(missing.is_empty(), "not between backticks in {}: {missing:?}", handbook().display());
}

/// What no manual that comes with the program holds is looked at by none of the tests of words, copies and bytes.
#[test]
fn every_fence_stands_in_a_manual_that_comes_with_the_program() {
    let manuals: Vec<String> = manuals::demos().iter().map(|demo| fs::read_to_string(&demo.manual).expect("a manual")).collect();
    let shown = |name: &str| manuals.iter().any(|text| text.lines().any(|line| line.trim() == format!("```{name}")));
    assert_eq!(fence_names().find(|name| !shown(name)), None);
}

#[test]
fn every_key_of_a_style_stands_in_the_handbook() {
    let said = between_backticks();
    let (_, plain) = STYLES.iter().find(|(name, _)| *name == "plain").expect("the style that has all keys");
    let mut seen = 0;
    for (table, value) in plain.parse::<toml::Table>().expect("TOML") {
        assert!(said.contains(&table), "the table `{table}` of a style is not in the handbook");
        for key in value.as_table().into_iter().flat_map(toml::Table::keys) {
            assert!(said.contains(key), "the key `{key}` under [{table}] of a style is not in the handbook");
            seen += 1;
        }
    }
    assert!(seen > 40, "{seen} keys");
}

#[test]
fn every_command_and_option_stands_in_the_handbook() {
    let said = between_backticks();
    let program = Options::command();
    let mut missing = Vec::new();
    for command in program.get_subcommands() {
        if !said.contains(command.get_name()) {
            missing.push(command.get_name().to_string());
        }
    }
    for argument in program.get_arguments().chain(program.get_subcommands().flat_map(|command| command.get_arguments())) {
        let long = argument.get_long().filter(|long| !matches!(*long, "help" | "version")).map(|long| format!("--{long}"));
        let short = argument.get_short().map(|short| format!("-{short}"));
        let named = long.iter().chain(&short).any(|name| said.contains(name));
        if let Some(name) = long.filter(|_| !named) {
            missing.push(name);
        }
    }
    assert!(missing.is_empty(), "not between backticks in the handbook: {missing:?}");
}

#[test]
fn the_handbook_is_a_manual_without_a_finding() {
    let press = manuals::press(&handbook(), None, None);
    let made = press.strip(None, 1).expect("nothing is missing in it");
    assert!(made.strip.bitmap.height() > 10_000, "{} rows", made.strip.bitmap.height());
    let mut command = Command::new(env!("CARGO_BIN_EXE_stripling"));
    command.args(["preflight", "handbook.md", "--json"]).current_dir(handbook().parent().expect("a folder"));
    let ran = command.stdin(Stdio::null()).output().expect("the program runs");
    let told: serde_json::Value = serde_json::from_slice(&ran.stdout).expect("JSON");
    assert_eq!(told["errors"], 0, "{told:#}");
    assert_eq!(told["findings"].as_array().map(Vec::len), Some(0), "{told:#}");
    assert_eq!(ran.status.code(), Some(0));
}

/// The tea bag hangs on two pixels of string, and its paper is nearly as light as the sheet: it was lost once, while its bird was kept.
#[test]
fn the_photograph_of_the_handbook_on_white_keeps_its_tea_bag_and_nothing_of_its_sheet() {
    let folder = Folder::open(handbook().parent().expect("a folder")).expect("the manual's folder");
    let pictures = PictureSet::open(folder, &[]);
    let paper = Profile::named("80mm").expect("a printer").paper();
    let treatment = Treatment { background: Background::White, ..Treatment::default() };
    let request = Request { crop: None, width: Dots(560), height: Dots(560), screen: Some(Screen::Photo), treatment, paper };
    let screened = pictures.screen("heron.jpg", &request).expect("dots");
    assert_eq!(screened.remarks, []);
    // Places in thousandths, read off the photograph by eye: left, top, right, bottom.
    let black = |[left, top, right, bottom]: [i32; 4]| {
        let dots = |permille: i32| permille * 560 / 1000;
        let places = || (dots(top)..dots(bottom)).flat_map(|y| (dots(left)..dots(right)).map(move |x| (x, y)));
        places().filter(|&(x, y)| screened.bitmap.get(x, y)).count() * 100 / places().count()
    };
    assert!(black([670, 446, 718, 468]) > 70, "{} % of the tea is black", black([670, 446, 718, 468]));
    let string = (320..390).step_by(10).filter(|&y| black([680, y, 720, y + 10]) > 0).count();
    assert!(string >= 6, "{string} of 7 pieces of the string");
    for sheet in [[0, 0, 1000, 90], [0, 850, 1000, 1000], [0, 0, 130, 1000], [840, 0, 1000, 1000], [740, 100, 1000, 450]] {
        assert_eq!(black(sheet), 0, "of the sheet {sheet:?}");
    }
}
