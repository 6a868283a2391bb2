//! Tests at the room's door: a sound manual, changed in one place, has one thing to be found.

mod content;
mod craft;
mod languages;
mod market;
mod paper;
mod report;

use std::sync::LazyLock;

use super::*;
use crate::layout::{Context, GalleyCache, Layout, Style, lay_out};
use crate::lengths::{Dots, Mm, Paper, Resolution};
use crate::manual::{self, folder::Folder};
use crate::pictures::PictureSet;
use crate::strip::Strip;
use crate::strip::painter::paint;
use crate::type_setting::Faces;

/// A manual with nothing to find in it.
pub const SOUND: &str = include_str!("sound.md");

static FACES: LazyLock<Faces> = LazyLock::new(|| Faces::new(Resolution::EIGHT));

/// What a manual is checked with.
pub struct Given<'a> {
    pub files: Vec<(&'a str, &'a [u8])>,
    pub style: Style,
    pub paper: Paper,
    pub stock: Stock,
    pub unit: Option<&'a str>,
    pub beside: Option<&'a str>,
    /// What goes wrong between laying out and looking.
    pub spoil: Option<fn(&mut Layout, &mut Strip)>,
}

impl Default for Given<'_> {
    fn default() -> Self {
        Given {
            files: Vec::new(),
            // Lines that no rule minds.
            style: Style::read("[line]\nthin = 0.25\n").unwrap(),
            paper: Paper { width: Dots(576), resolution: Resolution::EIGHT, dot_gain: 120.into() },
            stock: Stock {
                width: Mm::new(79.5),
                thickness: Mm::new(0.06),
                roll: Some(Mm::new(81_900.0)),
                stretch: Mm::new(20.0),
                duty: 70,
                phenol_free: None,
            },
            unit: None,
            beside: None,
            spoil: None,
        }
    }
}

/// Checks a manual as a command would: read, laid out, painted, looked at.
pub fn checked(text: &str, given: &Given) -> Report {
    let source = manual::read_text("heron.md", text).unwrap();
    let document = manual::parse(&source).unwrap();
    let pictures = PictureSet::open(Folder::of_files(given.files.iter().copied()), &[]);
    let bench = Context {
        faces: &FACES,
        pictures: &pictures,
        style: &given.style,
        paper: given.paper,
        language: document.header.tongue,
        own_words: &document.header.own_words,
        panel_room: None,
        shrink: 100,
    };
    let mut layout = lay_out(&document, &bench, &GalleyCache::new());
    let mut strip = paint(&layout, &FACES);
    if let Some(spoil) = given.spoil {
        spoil(&mut layout, &mut strip);
    }
    let boxes = layout.boxes();
    let facts = pictures::facts(&document, &boxes, &pictures, given.paper);
    let folder: Vec<String> = given.files.iter().map(|(name, _)| name.to_string()).collect();
    let evidence = Evidence {
        document: &document,
        source: &source,
        layout: &layout,
        boxes: &boxes,
        paper: given.paper,
        strip: &strip,
        pictures: &facts,
        folder: &folder,
        stock: given.stock,
        unit: given.unit,
        beside: given.beside,
    };
    check(evidence)
}

/// The sound manual with parts changed. Each part must be there.
pub fn changed(edits: &[(&str, &str)]) -> String {
    edits.iter().fold(SOUND.to_string(), |text, (from, to)| {
        assert!(text.contains(from), "the sound manual does not hold {from:?}");
        text.replace(from, to)
    })
}

/// Lines as `rule level line:column message`, for comparing at a glance.
pub fn told(report: &Report) -> Vec<String> {
    let line = |finding: &Finding| {
        let (place, level) = (&finding.place, name_of(finding.level));
        format!("{} {level} {}:{} {}", finding.rule, place.line, place.column, finding.message)
    };
    report.findings.iter().map(line).collect()
}

/// The sound manual changed so: does exactly this rule fire, and is it the only one?
#[track_caller]
pub fn fires(rule: &str, edits: &[(&str, &str)]) -> Finding {
    fires_given(rule, edits, &Given::default())
}

#[track_caller]
pub fn fires_given(rule: &str, edits: &[(&str, &str)], given: &Given) -> Finding {
    tried(rule, edits, given).unwrap_or_else(|told| panic!("{told}"))
}

/// As [`fires`], with what came instead.
pub fn tried(rule: &str, edits: &[(&str, &str)], given: &Given) -> Result<Finding, String> {
    let report = checked(&changed(edits), given);
    match report.findings.first() {
        Some(first) if report.findings.iter().all(|finding| finding.rule == rule) => Ok(first.clone()),
        _ => Err(format!("{rule} with {edits:?}: {:#?}", told(&report))),
    }
}

/// The rules of the cases; every case that does something else is told.
pub fn fire_all(cases: &[(&'static str, &[(&str, &str)])]) -> Vec<&'static str> {
    let wrong: Vec<String> = cases.iter().filter_map(|(rule, edits)| tried(rule, edits, &Given::default()).err()).collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    cases.iter().map(|(rule, _)| *rule).collect()
}

/// The sound manual changed so: does nothing fire?
#[track_caller]
pub fn silent(edits: &[(&str, &str)]) {
    silent_given(edits, &Given::default());
}

#[track_caller]
pub fn silent_given(edits: &[(&str, &str)], given: &Given) {
    let report = checked(&changed(edits), given);
    assert!(report.findings.is_empty(), "{edits:?}: {:#?}", told(&report));
}

/// Every rule must have been shown to fire; each of them is silent on the sound manual.
#[test]
fn every_rule_fires_somewhere_and_is_silent_on_a_sound_manual() {
    silent(&[]);
    let fired: BTreeSet<&str> = content::all().into_iter().chain(market::all()).chain(craft::all()).chain(paper::all()).collect();
    // What two manuals beside each other show, and what a machine's faces do, is tested where it is found: in `beside.rs` and, on
    // real pages, in `tests/it/tongues.rs`.
    // What stands at a web address is compared in `online.rs`, with a server in `tests/it/online.rs`.
    // A manual with a header of ours has no other, and one file includes none: `front-matter` and `included-header` are tested in the room `manual`.
    let elsewhere = |name: &str| {
        name.starts_with("beside-")
            || matches!(
                name,
                "system-face" | "front-matter" | "included-header" | "durable-copy-unreachable" | "durable-copy-other"
            )
    };
    let names = registry::rules().map(|rule| rule.name).filter(|name| !elsewhere(name));
    let never: Vec<&str> = names.filter(|name| !fired.contains(*name)).collect();
    assert!(never.is_empty(), "no case makes these fire: {never:?}; each needs a line in FIRES of a file in src/preflight/tests");
}

#[test]
fn names_are_kebab_case_once_each_and_every_rule_explains_itself() {
    let mut names: Vec<&str> = registry::rules().map(|rule| rule.name).collect();
    let count = names.len();
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), count, "a name is used twice");
    for rule in registry::rules() {
        assert!(rule.name.chars().all(|c| c.is_ascii_lowercase() || c == '-'), "{}", rule.name);
        let known = ["seen", "known", "practice"].iter().any(|how| rule.source.contains(how));
        assert!(known && !rule.source.contains("memory"), "{}: how is it known? {:?}", rule.name, rule.source);
        if let Check::From(day, _) = rule.check {
            assert!(day.parse::<toml::value::Datetime>().is_ok_and(|day| day.time.is_none()), "{}: {day}", rule.name);
        }
        for words in [rule.what, rule.why, rule.mend, rule.source] {
            assert!(
                words.len() > 5 && !words.contains('\n') && !words.to_lowercase().contains("compliant"),
                "{}: {words:?}",
                rule.name
            );
        }
    }
}

/// The rooms below name their rules in the source: each of those must have its words here.
#[test]
fn every_remark_of_a_room_below_has_its_rule() {
    let mut found = 0;
    let mut folders = vec![std::path::PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("src")];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
                continue;
            }
            let text = std::fs::read_to_string(&path).unwrap_or_default();
            for (at, key) in text.match_indices("rule: \"") {
                let name = text[at + key.len()..].split('"').next().unwrap_or_default();
                found += 1;
                assert!(registry::find(name).is_some(), "{}: the rule {name:?} has no entry in the registry", path.display());
            }
        }
    }
    assert!(found > 12, "only {found} remarks were seen: is the source still written so?");
}
