//! Nothing lost: every word of the source stands on the strip, every picture is drawn, whatever the paper and the style.
//!
//! What the source says is read here by another way than the program's own: straight from the events of Markdown and from TOML.

use std::collections::BTreeMap;

use pulldown_cmark::{CodeBlockKind, Event, HeadingLevel, LinkType, Options, Parser, Tag, TagEnd};
use rayon::prelude::*;
use stripling::bitmap::Bitmap;
use stripling::language::Language;
use stripling::layout::{Context, GalleyCache, Style, lay_out};
use stripling::manual::{Folder, parse, read_text};
use stripling::pictures::PictureSet;
use stripling::prepress::{Made, Prepress};
use stripling::printer::Profile;
use stripling::strip::map::Map;
use stripling::type_setting::{FONT_FILES, Faces};

use crate::commonmark::{examples, words};
use crate::manuals::{self, PRINTERS, Written, demos};

/// What a manual says and shows.
#[derive(Default)]
struct Said {
    /// Everything that must be printed.
    text: String,
    /// The alt texts of pictures: in the map only.
    alts: String,
    pictures: usize,
    /// The first `#` says the title; without it the header does.
    titled: bool,
}

impl Said {
    fn say(&mut self, text: &str) {
        self.text.push_str(text);
        self.text.push(' ');
    }

    fn from(assembled: &str) -> Said {
        let mut said = Said::default();
        let mut title = String::new();
        let body = match assembled.strip_prefix("+++\n").and_then(|rest| rest.split_once("\n+++\n")) {
            Some((header, body)) => {
                let header: toml::Table = header.parse().expect("TOML");
                title = header.get("title").and_then(toml::Value::as_str).unwrap_or_default().to_string();
                for key in ["subtitle", "document", "revision", "durable_copy"] {
                    said.say(header.get(key).and_then(toml::Value::as_str).unwrap_or_default());
                }
                said.say(&header.get("issued").map(ToString::to_string).unwrap_or_default());
                for key in ["maker", "address", "contact"] {
                    let product = header.get("product").and_then(|product| product.get(key));
                    said.say(product.and_then(toml::Value::as_str).unwrap_or_default());
                }
                body
            }
            None => assembled,
        };
        said.markdown(body);
        if !said.titled {
            said.say(&title);
        }
        said
    }

    fn markdown(&mut self, body: &str) {
        let options = Options::ENABLE_TABLES
            | Options::ENABLE_FOOTNOTES
            | Options::ENABLE_STRIKETHROUGH
            | Options::ENABLE_TASKLISTS
            | Options::ENABLE_DEFINITION_LIST;
        let (mut fence, mut data, mut alt) = (None, String::new(), 0);
        for event in Parser::new_ext(body, options) {
            match event {
                Event::Start(Tag::CodeBlock(kind)) => {
                    fence = Some(match kind {
                        CodeBlockKind::Fenced(info) => info.split_whitespace().next().unwrap_or_default().to_string(),
                        CodeBlockKind::Indented => String::new(),
                    });
                }
                Event::End(TagEnd::CodeBlock) => self.fence(&fence.take().unwrap_or_default(), &std::mem::take(&mut data)),
                Event::Text(text) if fence.is_some() => data.push_str(&text),
                Event::Start(Tag::Image { title, .. }) => {
                    self.pictures += 1;
                    self.say(&title);
                    alt += 1;
                }
                Event::End(TagEnd::Image) => {
                    alt -= 1;
                    self.alts.push(' ');
                }
                Event::Text(text) | Event::Code(text) if alt > 0 => self.alts.push_str(&text),
                // A keycap parts what is written together.
                Event::Code(text) => self.text.push_str(&format!("\u{1}{text}\u{1}")),
                Event::Text(text) => self.text.push_str(&text),
                Event::Start(Tag::Link { dest_url, link_type, .. })
                    if !matches!(link_type, LinkType::Autolink | LinkType::Email) =>
                {
                    let address = dest_url.strip_prefix("mailto:").unwrap_or(&dest_url).to_string();
                    self.text.push(' ');
                    self.say(&address);
                }
                Event::SoftBreak | Event::HardBreak => self.text.push(' '),
                Event::Start(Tag::Heading { level: HeadingLevel::H1, .. }) => self.titled = true,
                Event::Start(tag) if !is_within_a_line(&tag) => self.text.push('\n'),
                Event::End(TagEnd::Strong | TagEnd::Emphasis | TagEnd::Strikethrough | TagEnd::Link) => {}
                Event::End(_) => self.text.push('\n'),
                _ => {}
            }
        }
    }

    /// A fenced block of our own, read as TOML. A name that is missing here is taken for code: all that stands in it would have to be printed.
    fn fence(&mut self, name: &str, data: &str) {
        let table = || -> toml::Table { data.parse().unwrap_or_else(|error| panic!("{data}: {error}")) };
        let text = |table: &toml::Value, key: &str| table.get(key).and_then(toml::Value::as_str).unwrap_or_default().to_string();
        match name {
            "figure" => {
                let figure = toml::Value::Table(table());
                self.pictures += 1;
                self.say(&text(&figure, "caption"));
                self.alts.push_str(&text(&figure, "alt"));
                self.alts.push(' ');
                for callout in figure.get("callouts").and_then(toml::Value::as_array).into_iter().flatten() {
                    self.say(&text(callout, "label"));
                }
            }
            "comic" => {
                for panel in table().get("panel").and_then(toml::Value::as_array).into_iter().flatten() {
                    self.pictures += usize::from(panel.get("picture").is_some());
                    self.say(&text(panel, "caption"));
                    if panel.get("picture").is_some() {
                        self.alts.push_str(&text(panel, "alt"));
                        self.alts.push(' ');
                    }
                    for balloon in panel.get("balloon").and_then(toml::Value::as_array).into_iter().flatten() {
                        self.say(&text(balloon, "text"));
                    }
                }
            }
            "assembly" => {
                for step in table().get("step").and_then(toml::Value::as_array).into_iter().flatten() {
                    self.pictures += 1;
                    self.say(&text(step, "text"));
                }
            }
            "write-in" => self.say(&text(&toml::Value::Table(table()), "label")),
            "barcode" => self.say(&text(&toml::Value::Table(table()), "data")),
            "fold" | "cut" => {}
            _ => self.say(data),
        }
    }
}

fn is_within_a_line(tag: &Tag) -> bool {
    matches!(tag, Tag::Strong | Tag::Emphasis | Tag::Strikethrough | Tag::Link { .. })
}

/// Runs of letters and digits, in small letters: what is left of words when points and hyphens are taken away.
fn runs(text: &str) -> Vec<String> {
    let small: String =
        text.chars().filter(|c| !matches!(c, '\u{ad}' | '\u{200b}' | '\u{2060}')).collect::<String>().to_lowercase();
    let small = small.replace('ß', "ss");
    small.split(|c: char| !c.is_alphanumeric()).filter(|run| !run.is_empty()).map(str::to_owned).collect()
}

fn counted(runs: Vec<String>) -> BTreeMap<String, usize> {
    let mut counts = BTreeMap::new();
    for run in runs {
        *counts.entry(run).or_default() += 1;
    }
    counts
}

/// How often a word stands among others; the number of a note may stand behind it.
fn found(word: &str, among: &BTreeMap<String, usize>) -> usize {
    let called = |other: &str| {
        other.strip_prefix(word).is_some_and(|rest| {
            rest.is_empty() || (word.ends_with(char::is_alphabetic) && rest.bytes().all(|byte| byte.is_ascii_digit()))
        })
    };
    among
        .range(word.to_string()..)
        .take_while(|(other, _)| other.starts_with(word))
        .filter(|(other, _)| called(other))
        .map(|(_, n)| n)
        .sum()
}

/// All that the blocks of a layout say, each block once.
fn blocks_say(made: &stripling::layout::Layout) -> String {
    let mut said = String::new();
    let mut last = None;
    for placed in &made.placed {
        let block = (std::sync::Arc::as_ptr(&placed.galley), placed.base);
        if last.replace(block) != Some(block) {
            said.push_str(&placed.galley.text);
            said.push('\n');
        }
    }
    said
}

const PRINTED: [&str; 5] = ["line", "reading", "signal-word", "key", "callout"];

/// The letters of everything that is printed, with nothing between them: line after line, so that a divided word is whole, then all
/// that stands by itself.
fn printed(map: &Map) -> String {
    let letters = |wanted: &dyn Fn(&str) -> bool| {
        let boxes = map.boxes.iter().filter(|placed| PRINTED.contains(&placed.kind) && wanted(placed.kind));
        boxes.flat_map(|placed| runs(&placed.text)).collect::<String>()
    };
    letters(&|kind| kind == "line") + "\n" + &letters(&|kind| kind != "line")
}

fn nothing_lost(made: &Made, what: &str) -> Vec<String> {
    let said = Said::from(&made.source.text);
    let map = manuals::map(made);
    let mut lost = Vec::new();

    let blocks = counted(runs(&blocks_say(&made.layout)));
    let boxes = counted(map.boxes.iter().flat_map(|placed| runs(&placed.text)).collect());
    let letters = printed(&map);
    for (word, wanted) in counted(runs(&said.text)) {
        let times = found(&word, &blocks);
        if times < wanted {
            lost.push(format!("{what}: {word:?} stands {times} times in the blocks, not {wanted}"));
        }
        if found(&word, &boxes) == 0 {
            lost.push(format!("{what}: {word:?} is in no box"));
        }
        if !letters.contains(&word) {
            lost.push(format!("{what}: {word:?} is in no line"));
        }
    }
    for word in runs(&said.alts) {
        if found(&word, &boxes) == 0 {
            lost.push(format!("{what}: {word:?} of a picture's alt text is in no box"));
        }
    }
    let pictures: Vec<_> = map.boxes.iter().filter(|placed| matches!(placed.kind, "picture" | "sign")).collect();
    if pictures.len() != said.pictures {
        lost.push(format!("{what}: {} pictures are drawn, not {}", pictures.len(), said.pictures));
    }
    for placed in &map.boxes {
        let inside = part(&made.strip.bitmap, placed.x, placed.y, placed.width, placed.height);
        let (black, all) = (inside.black(), u64::from(inside.width()) * u64::from(inside.height()));
        let must = matches!(placed.kind, "picture" | "sign" | "qr" | "barcode" | "balloon")
            || (PRINTED.contains(&placed.kind) && !runs(&placed.text).is_empty());
        if must && (black == 0 || black == all) {
            lost.push(format!(
                "{what}: {} {:?} at {},{} has {black} of {all} dots black",
                placed.kind, placed.text, placed.x, placed.y
            ));
        }
    }
    lost
}

fn part(bitmap: &Bitmap, x: i32, y: i32, width: i32, height: i32) -> Bitmap {
    bitmap.part(x, y, width.max(0) as u32, height.max(0) as u32)
}

#[test]
fn every_word_and_picture_of_every_demo_is_on_every_paper_in_both_styles() {
    let demos = demos();
    let product: Vec<_> = demos.iter().flat_map(|demo| PRINTERS.iter().map(move |(printer, _)| (demo, *printer))).collect();
    let lost: Vec<String> = product
        .par_iter()
        .flat_map(|(demo, printer)| {
            // One press for both styles: its set keeps the pictures.
            let mut press = manuals::press(&demo.manual, Some(printer), None);
            let mut lost = Vec::new();
            for style in ["plain", "comic"] {
                press.style = Style::named(style).expect("built in");
                let made = press.strip(None, 1).unwrap_or_else(|error| panic!("{}: {error}", demo.name));
                lost.extend(nothing_lost(&made, &format!("{}, {printer}, {style}", demo.name)));
            }
            lost
        })
        .collect();
    assert!(lost.is_empty(), "{} things are lost:\n{}", lost.len(), lost.join("\n"));
}

#[test]
fn every_word_is_printed_in_every_language_and_direction() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/tongues");
    let files = std::fs::read_dir(&folder).expect("a folder").map(|entry| entry.expect("an entry").path());
    let manuals: Vec<_> = files.filter(|path| path.extension().is_some_and(|extension| extension == "md")).collect();
    assert!(manuals.len() >= 14, "{} languages", manuals.len());
    let lost: Vec<String> = manuals
        .par_iter()
        .flat_map(|manual| ["58mm", "80mm"].map(|printer| (manual, printer)))
        .flat_map(|(manual, printer)| {
            let made = manuals::drafted(&manuals::press(manual, Some(printer), None));
            let letters = printed(&manuals::map(&made));
            // Where squares stand close a source's line end is no space, so only letters are looked for.
            let lost = runs(&Said::from(&made.source.text).text).into_iter().filter(|word| !letters.contains(word.as_str()));
            lost.map(|word| format!("{}, {printer}: {word:?} is in no line", manual.display())).collect::<Vec<_>>()
        })
        .collect();
    assert!(lost.is_empty(), "{} words are lost:\n{}", lost.len(), lost.join("\n"));
}

#[test]
fn a_reader_of_its_own_sees_what_a_manual_says() {
    let said = Said::from(
        "+++\ntitle = \"T\"\n+++\nA *b*c [d](https://e.f) `g`.[^n]\n\n![h i](j.png \"k\")\n\n```figure\npicture = \"l\"\nalt = \"m\"\ncallouts = [{ at = [1, 2], label = \"n o\" }]\n```\n\n[^n]: p\n",
    );
    let mut all = runs(&said.text);
    all.sort_unstable();
    assert!(!said.titled);
    assert_eq!(all, ["a", "bc", "d", "e", "f", "g", "https", "k", "n", "o", "p", "t"]);
    assert_eq!((runs(&said.alts), said.pictures), (vec!["h".into(), "i".into(), "m".into()], 2));
    let among = counted(runs("Mugs.1 mug 12 1"));
    assert_eq!(["mugs", "mug", "1", "gs"].map(|word| found(word, &among)), [1, 1, 2, 0]);
}

#[test]
fn every_example_of_commonmark_is_laid_out_with_all_its_words() {
    // CommonMark 0.31 spec.txt (CHECKS.md, "Type"): every example's text survives to the layout map, no panic.
    let examples = examples();
    let empty = tempfile::tempdir().expect("a folder");
    let folder = Folder::open(empty.path()).expect("a folder");
    let lost: Vec<String> = ["58mm", "80mm"]
        .par_iter()
        .flat_map(|printer| {
            let profile = Profile::named(printer).expect("built in");
            let faces = Faces::new(profile.resolution);
            let pictures = PictureSet::open(folder.clone(), FONT_FILES);
            let style = Style::named("plain").expect("built in");
            let bench = Context {
                faces: &faces,
                pictures: &pictures,
                style: &style,
                paper: profile.paper(),
                language: Language::default(),
                own_words: &stripling::language::NONE_OWN,
                panel_room: None,
                shrink: 100,
            };
            let store = GalleyCache::new();
            examples
                .iter()
                .filter_map(|example| {
                    let source = read_text("example.md", &example.markdown).expect("a manual");
                    let document = parse(&source).expect("Markdown");
                    let layout = lay_out(&document, &bench, &store);
                    let strip = stripling::strip::paint(&layout, &faces);
                    assert_eq!(strip.bitmap.width(), profile.dots);
                    let map = Map::new(&layout, &source);
                    let boxes = counted(map.boxes.iter().flat_map(|placed| runs(&placed.text)).collect());
                    let letters = printed(&map);
                    let word = runs(&words(&example.html).join(" ")).into_iter().find(|word| {
                        // A keycap's label is a line of its own: what stands right behind it is not glued to it.
                        let in_line = example.html.contains("<code>") || letters.contains(word.as_str());
                        found(word, &boxes) == 0 || !in_line
                    });
                    word.map(|word| format!("{printer}: example {}: {word:?} of {:?}", example.number, example.markdown))
                })
                .collect::<Vec<_>>()
        })
        .collect();
    assert!(lost.is_empty(), "{} examples lose words:\n{}", lost.len(), lost.join("\n"));
}

/// A manual in which two cells stand everywhere a cell can stand.
const EVERYWHERE: &str = r#"+++
title = "Cells"
+++
# Cells {{ unit.first }}

## Head {{ unit.second }}

Text {{ unit.first }} *slanted {{ unit.second }}* **heavy {{ unit.first }}** `{{ unit.second }}` end.

1. Step {{ unit.first }}
2. Press `{{ unit.first }}`

- Item {{ unit.second }}
- [ ] Box {{ unit.first }}

> **NOTICE** Mind {{ unit.second }} always.

> Aside {{ unit.first }}

| A {{ unit.first }} | B |
|---|---|
| {{ unit.second }} | `{{ unit.first }}` |

Term {{ unit.first }}
: Meaning {{ unit.second }}

[Link {{ unit.first }}](https://example.com/x)

Note.[^n]

[^n]: Foot {{ unit.second }}

    Code {{ unit.first }}

```
{{ unit.second }}
```

```figure
picture = "dot.svg"
alt = "Alt {{ unit.first }}"
caption = "Caption {{ unit.second }}"
callouts = [ { at = [50, 50], label = "Label {{ unit.first }}" } ]
```

```comic
columns = 1
[[panel]]
picture = "dot.svg"
alt = "Alt {{ unit.second }}"
caption = '{{ unit.first }}'
[[panel.balloon]]
text = """{{ unit.second }}"""
at = [50, 40]
```

```qr
{{ unit.first }}
```
"#;

const DOT: &str = r#"<svg xmlns="http://www.w3.org/2000/svg" width="40" height="20"><circle cx="20" cy="10" r="8"/></svg>"#;

/// What would be markup, a block, a key, a path or code if a cell were ever read as anything but text.
const HOSTILE: [&str; 40] = [
    "*a*",
    "**b",
    "__c__",
    "`d`",
    "``e",
    "<b>f</b>",
    "<!-- g",
    "](h)",
    "![i](j)",
    "[k]: /l",
    "+++",
    "# m",
    "- n",
    "1. o",
    "> p",
    "> **WARNING**",
    "q\n\nr",
    "s\r\n# t",
    "| u | v |",
    "\"\"\"w",
    "'''x",
    "y\" = 1",
    "\\z\\",
    "{{ 7*7 }}",
    "{% if %}",
    "{# a #}",
    "../../etc",
    "/etc/passwd",
    "sign:pinch",
    "&lt;&#42;",
    "~~b~~",
    "~~~",
    "```cut\n```",
    "```\nc",
    "[^n]",
    "[^n]: d",
    "- [ ] e",
    "$f$ ^g^",
    "http://h.i",
    "<j@k.l>",
];

#[test]
fn two_hundred_units_with_hostile_cells_stay_text() {
    let csv = |cells: &dyn Fn(usize) -> [String; 2]| {
        let mut writer = csv::Writer::from_writer(Vec::new());
        writer.write_record(["serial", "first", "second"]).expect("in memory");
        for n in 0..200 {
            let [first, second] = cells(n);
            writer.write_record([format!("S{n:03}"), first, second]).expect("in memory");
        }
        writer.into_inner().expect("in memory")
    };
    // Two by two in ever other company, so that two cells also meet in one block.
    let hostile = |n: usize| [HOSTILE[n % 40].to_string(), HOSTILE[(n * 7 + n / 40 * 3 + 1) % 40].to_string()];
    let written = Written::new(EVERYWHERE)
        .with("dot.svg", DOT)
        .with("hostile.csv", csv(&hostile))
        .with("tame.csv", csv(&|_| ["abc".into(), "def".into()]));
    let opened = |name: &str| manuals::press(&written.manual, Some("112mm"), Some(&written.path(name)));
    let (wild, tame) = (opened("hostile.csv"), opened("tame.csv"));
    let kinds = |press: &Prepress, n: usize| {
        let unit = press.units.as_ref().and_then(|units| units.iter().nth(n)).expect("a unit");
        let made = press.draft(Some(unit), 1).unwrap_or_else(|error| panic!("unit {n}: {error}"));
        let map = manuals::map(&made);
        let mut kinds: Vec<&str> = map.boxes.iter().map(|placed| placed.kind).collect();
        // Where type is broken into lines depends on its letters, as with any other words; what is set does not.
        kinds.retain(|kind| *kind != "line");
        (kinds, map, made)
    };
    let (harmless, ..) = kinds(&tame, 0);
    let places = EVERYWHERE.matches("unit.first").count();
    (0..200).into_par_iter().for_each(|n| {
        let (found, map, made) = kinds(&wild, n);
        let cells = hostile(n);
        assert_eq!(found, harmless, "unit {n}, {cells:?}");
        let said: String = blocks_say(&made.layout).split_whitespace().collect();
        for (cell, times) in cells.iter().zip([places, EVERYWHERE.matches("unit.second").count()]) {
            let bare: String = cell.split_whitespace().collect();
            assert!(
                said.matches(&bare).count() >= times,
                "unit {n}: {cell:?} stands {} times, not {times}",
                said.matches(&bare).count()
            );
            let printed: String = map
                .boxes
                .iter()
                .filter(|placed| PRINTED.contains(&placed.kind))
                .flat_map(|placed| placed.text.split_whitespace())
                .collect();
            assert!(printed.contains(&bare), "unit {n}: {cell:?} is in no line");
        }
        let wrong: Vec<_> = made.remarks().filter(|remark| remark.level == stripling::manual::source::Level::Error).collect();
        assert!(wrong.is_empty(), "unit {n}: {wrong:?}");
    });
}
