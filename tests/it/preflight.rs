//! Preflight on whole manuals: honest ones have no error, and every finding leads to the line that the writer wrote.

use std::path::{Path, PathBuf};
use std::sync::LazyLock;

use stripling::layout::{Context, GalleyCache, Style, lay_out};
use stripling::lengths::{Mm, Resolution};
use stripling::manual::{self, Folder, Run, Unit, Units};
use stripling::pictures::PictureSet;
use stripling::preflight::{self, Evidence, Report, Stock, name_of, pictures};
use stripling::printer::{Profile, estimate::STRETCH};
use stripling::strip::paint;
use stripling::type_setting::{FONT_FILES, Faces};

static FACES: LazyLock<Faces> = LazyLock::new(|| Faces::new(Resolution::EIGHT));

/// What a printer bears.
fn stock(profile: &Profile) -> Stock {
    Stock {
        width: profile.paper_width,
        thickness: profile.roll.thickness,
        roll: Some(Mm::new(profile.roll.metres() * 1000.0)),
        stretch: STRETCH,
        duty: profile.duty,
        phenol_free: None,
    }
}

/// A built-in style, or a style file of the folder.
fn style_of(folder: &Folder, name: &str) -> Style {
    Style::named(name).unwrap_or_else(|| {
        let bytes = folder.read(name, 1 << 20).unwrap();
        Style::read(&String::from_utf8(bytes).unwrap()).unwrap()
    })
}

fn checked(folder: &Folder, file: &str, unit: Option<&Unit>, listing: &[String]) -> Report {
    let source = manual::read(folder, file, unit, &Run::default()).unwrap();
    let document = manual::parse(&source).unwrap();
    let pictures = PictureSet::open(folder.clone(), FONT_FILES);
    let style = style_of(folder, document.header.style.as_deref().unwrap_or("plain"));
    let wanted = document.header.paper.as_deref().and_then(Mm::parse);
    let profile = wanted.map_or_else(|| Profile::named("80mm").ok(), Profile::for_paper).unwrap();
    let paper = profile.paper();
    let bench = Context {
        faces: &FACES,
        pictures: &pictures,
        style: &style,
        paper,
        language: document.header.tongue,
        own_words: &document.header.own_words,
        panel_room: None,
        shrink: 100,
    };
    let layout = lay_out(&document, &bench, &GalleyCache::new());
    let strip = paint(&layout, &FACES);
    let boxes = layout.boxes();
    let facts = pictures::facts(&document, &boxes, &pictures, paper);
    preflight::check(Evidence {
        document: &document,
        source: &source,
        layout: &layout,
        boxes: &boxes,
        paper,
        strip: &strip,
        pictures: &facts,
        folder: listing,
        stock: stock(&profile),
        unit: unit.map(|unit| unit.key()),
        beside: None,
    })
}

/// `rule level file:line:column message`, a line each.
fn told(report: &Report) -> Vec<String> {
    report
        .findings
        .iter()
        .map(|finding| format!("{} {} {} {}", finding.rule, name_of(finding.level), finding.place, finding.message))
        .collect()
}

fn project(path: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(path)
}

/// Every manual of the project: those that are shown and those that are kept for tests.
fn manuals() -> Vec<PathBuf> {
    let mut found = Vec::new();
    for shelf in ["manuals", "tests/manuals"] {
        let folders = std::fs::read_dir(project(shelf)).into_iter().flatten().map(|entry| entry.unwrap().path());
        for folder in folders.filter(|path| path.is_dir()) {
            let name = format!("{}.md", folder.file_name().unwrap().to_str().unwrap());
            found.extend(Some(folder.join(name)).filter(|manual| manual.is_file()));
        }
    }
    found.sort();
    found
}

/// All units of a manual that has a table of units beside it, in one report.
fn on_disk(manual: &Path) -> Report {
    let folder = Folder::open(manual.parent().unwrap()).unwrap();
    let file = manual.file_name().unwrap().to_str().unwrap();
    let names = std::fs::read_dir(manual.parent().unwrap())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned());
    let mut listing: Vec<String> =
        names.filter(|name| [".png", ".jpg", ".svg", ".webp"].iter().any(|end| name.ends_with(end))).collect();
    listing.sort();
    match std::fs::read(manual.with_file_name("units.csv")) {
        Ok(bytes) => {
            let units = Units::read(&bytes, "units.csv").unwrap();
            Report::join(units.iter().map(|unit| checked(&folder, file, Some(unit), &listing)).collect())
        }
        Err(_) => checked(&folder, file, None, &listing),
    }
}

#[test]
fn honest_manuals_have_no_error() {
    let manuals = manuals();
    assert!(manuals.len() >= 12, "only {manuals:?}");
    let mut wrong = Vec::new();
    for manual in manuals {
        let report = on_disk(&manual);
        if std::env::var_os("STRIPLING_SHOW").is_some() {
            println!("== {}\n{}", manual.display(), told(&report).join("\n"));
        }
        if report.errors > 0 {
            wrong.push(format!("{}: {:#?}", manual.display(), told(&report)));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

const TEMPLATE: &str = "+++\nlanguage = \"en\"\n+++\n\n# {{ unit.name }}\n\n{% if unit.plug == \"UK\" %}\nOnly for the UK.\n{% endif %}\n\n{% include \"warranty.md\" %}\n\nSerial {{ unit.serial }} and a Größe  after it.\n\n> **NOTICE** {{ unit.name }} may be fatal.\n";

#[test]
fn findings_point_right_after_fields_and_includes() {
    let files: [(&str, &[u8]); 2] = [
        ("manual.md", TEMPLATE.as_bytes()),
        ("warranty.md", b"## Warranty\n\n#### Two years\n\nHold `MODE`, or {{ unit.serial }}.\n\nHold `Mode`.\n"),
    ];
    let folder = Folder::of_files(files);
    let table = "serial,name,plug\n0042,A name that is far longer than its field,UK\n7,B,EU\n";
    let units = Units::read(table.as_bytes(), "units.csv").unwrap();
    for unit in units.iter() {
        let report = checked(&folder, "manual.md", Some(unit), &[]);
        let place = |rule: &str| {
            let finding = report.findings.iter().find(|finding| finding.rule == rule);
            finding.map(|finding| finding.place.to_string()).unwrap_or_else(|| format!("no {rule} in {:#?}", told(&report)))
        };
        assert_eq!(place("heading-skipped"), "warranty.md:3:1");
        assert_eq!(place("key-spelt-two-ways"), "warranty.md:7:6");
        assert_eq!(place("double-space"), "manual.md:13:37");
        assert_eq!(place("injury-under-notice"), "manual.md:15:3");
        assert_eq!(place("maker-missing"), "manual.md:1:1");
        assert!(report.findings.iter().all(|finding| finding.unit.as_deref() == Some(unit.key())));
    }
}

#[test]
fn a_fields_value_is_found_where_its_field_stands() {
    let folder = Folder::of_files([(
        "manual.md",
        "+++\nlanguage = \"en\"\n+++\n\n# Heron\n\nFor {{ unit.owner }}, with love.\n".as_bytes(),
    )]);
    let units = Units::read("serial,owner\n1,\"the \"\"best\"\" bird\"\n".as_bytes(), "units.csv").unwrap();
    let report = checked(&folder, "manual.md", units.row(1), &[]);
    let finding = report.findings.iter().find(|finding| finding.rule == "straight-quotes").expect("straight quotes");
    assert_eq!(finding.place.line, 7);
}

const OPENS: &str = "<!-- rules -->";
const CLOSES: &str = "<!-- /rules -->";

#[test]
fn the_handbook_shows_the_rules_as_they_are() {
    let path = project("manuals/handbook/handbook.md");
    let handbook = std::fs::read_to_string(&path).unwrap();
    let (before, rest) = handbook.split_once(OPENS).expect("the handbook has no <!-- rules --> for the list of rules");
    let (shown, after) = rest.split_once(CLOSES).expect("the handbook has no <!-- /rules -->");
    let list = format!("\n{}\n", preflight::listed());
    if shown != list && std::env::var_os("STRIPLING_ACCEPT_GOLDEN").is_some() {
        std::fs::write(&path, format!("{before}{OPENS}{list}{CLOSES}{after}")).unwrap();
        return;
    }
    assert!(
        shown == list,
        "the list of rules in the handbook is not current; STRIPLING_ACCEPT_GOLDEN=1 writes it. New or changed:\n{}",
        list.lines().filter(|line| !shown.lines().any(|old| old == *line)).collect::<Vec<_>>().join("\n")
    );
}

/// Names of the rules about the law of a market.
fn rules_of_markets() -> Vec<&'static str> {
    let (_, rules) = preflight::registry::FAMILIES.iter().find(|(family, _)| *family == "Law of the market").expect("a family");
    rules.iter().map(|rule| rule.name).collect()
}

/// Four invented products and a hair clip, as a maker might write them at the first try: what is told, to the word, and nothing about
/// what does not concern them. A market's law was looked up for each (see the sources of the rules); the products are ours.
#[test]
fn a_market_asks_what_concerns_the_product_and_nothing_else() {
    let told_of = |name: &str| {
        let report = on_disk(&project(&format!("tests/data/markets/{name}.md")));
        let line = |finding: &preflight::Finding| {
            format!("{} {} {}: {}", finding.rule, name_of(finding.level), finding.place.line, finding.message)
        };
        report.findings.iter().map(line).collect::<Vec<_>>()
    };
    let compare = |name: &str, wanted: &[&str]| {
        let told = told_of(name);
        assert!(told == wanted, "{name}: {told:#?}");
    };
    // Made in the UK: somebody in the EEA has to answer for it, and Germans read German. No radio, no US, no charger.
    compare(
        "lamp",
        &[
            "eu-responsible-missing warning 14: sold in the EU; the address is in no country of the EEA, and nobody in it is named",
            "bin-missing advice 16: the separate-collection bin is shown nowhere",
            "disposal-incomplete advice 16: about its end nothing says that it is used again or recycled, what harmful substances in it can \
             do and what the crossed-out bin means",
            "market-language-missing warning 16: sold in DE, and there is no manual in \"de\"",
        ],
    );
    // Sold at home alone: nothing of the EU's.
    compare(
        "sensor",
        &[
            "us-changes-note-missing warning 16: for the US, and nothing says what changes and modifications can void",
            "us-conditions-missing advice 17: the two conditions of the US are not printed",
        ],
    );
    compare(
        "toy",
        &[
            "bin-missing advice 16: the separate-collection bin is shown nowhere",
            "disposal-incomplete advice 16: about its end nothing says that it is used again or recycled, what harmful substances in it can \
             do and what the crossed-out bin means",
            "us-emissions-undeclared warning 16: electrical, for the US, and nothing says what its emissions are",
            "button-cell-signs-missing advice 18: a button cell, and `sign:general-warning` and `sign:keep-from-children` are shown nowhere",
            "button-cell-us-note-missing warning 18: a button cell for the US, and nothing says its volts and the poison control center",
            "toy-small-parts-us-missing warning 19: a toy with small parts for the US, and nothing says \"choking hazard\"",
        ],
    );
    // Nobody needs a manual to use it safely.
    compare("spoon", &[]);
    // A note without a header: what every paper needs, and of the law of markets nothing.
    let general = told_of("clip");
    let law = rules_of_markets();
    assert!(!general.is_empty() && general.iter().all(|line| !law.contains(&line.split(' ').next().unwrap())), "{general:#?}");
}
