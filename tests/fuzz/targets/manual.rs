//! A whole manual: fields, Markdown, blocks, layout, dots, findings. The first byte chooses style, printer and whether there are units.
#![no_main]

use std::sync::OnceLock;

use libfuzzer_sys::{Corpus, fuzz_target};
use stripling::layout::{self, Context, GalleyCache, Layout, Style};
use stripling::lengths::Mm;
use stripling::manual::{self, Document, Folder, Run, Source, Template, Units};
use stripling::pictures::PictureSet;
use stripling::preflight::{self, Evidence, Stock};
use stripling::printer::{self, BUILT_IN, Profile};
use stripling::strip::map::Map;
use stripling::strip::{self, Strip};
use stripling::type_setting::{FONT_FILES, Faces};

/// The pictures that a manual here can name.
const DOT: &[u8] = br##"<svg xmlns="http://www.w3.org/2000/svg" width="40" height="20"><circle cx="20" cy="10" r="9"/></svg>"##;
const PHOTO: &[u8] = include_bytes!("../../data/pictures/colour.png");
const PART: &[u8] = b"A part with {{ unit.serial }}.\n\n- One\n";
const UNITS: &[u8] = b"serial,plug,note\nA-1,UK,# no *heading*\nA-2,EU,{{ x }}\n";

struct House {
    /// For 8 and for 7.09 dots/mm.
    faces: Vec<(Profile, Faces)>,
    pictures: PictureSet,
    styles: [Style; 2],
    units: Units,
}

fn house() -> &'static House {
    static HOUSE: OnceLock<House> = OnceLock::new();
    HOUSE.get_or_init(|| {
        let pictures = Folder::of_files([("dot.svg", DOT), ("photo.png", PHOTO)]);
        let profiles = BUILT_IN.iter().map(|generic| Profile::named(generic.name).expect("built in"));
        let style = |name| Style::named(name).expect("built in");
        House {
            faces: profiles.map(|profile| (profile.clone(), Faces::new(profile.resolution))).collect(),
            pictures: PictureSet::open(pictures, FONT_FILES),
            styles: [style("plain"), style("comic")],
            units: Units::read(UNITS, "units.csv").expect("a table"),
        }
    })
}

fn read(text: &str, with_unit: bool) -> Result<(Source, Document), manual::Error> {
    let folder = Folder::of_files([("a.md", text.as_bytes()), ("part.md", PART)]);
    let unit = house().units.iter().next().filter(|_| with_unit);
    let source = Template::load(&folder, "a.md")?.fill(unit, &Run { date: "2026-11-25".into(), number: 1 })?;
    let document = manual::parse(&source)?;
    Ok((source, document))
}

/// Whatever points into the text points into it.
fn check_places(source: &Source, document: &Document, layout: &Layout) {
    let length = source.text.len() as u32;
    for block in &document.blocks {
        assert!(block.span.start <= block.span.end && block.span.end <= length, "{:?} of {length}", block.span);
    }
    for remark in document.remarks.iter().chain(&layout.remarks) {
        let spot = source.spot(remark.span);
        assert!(spot.offset + spot.length <= spot.file.text().len() && !remark.message.is_empty(), "{remark:?}");
    }
    let map = Map::new(layout, source);
    for boxed in &map.boxes {
        let lines = source.file_text(&boxed.file).map_or(0, |text| text.matches('\n').count() as u32 + 1);
        assert!((1..=lines).contains(&boxed.line), "{} {}:{} of {lines}", boxed.kind, boxed.file, boxed.line);
        assert!(boxed.panel < map.panels.len(), "panel {} of {}", boxed.panel, map.panels.len());
    }
    for pair in layout.panels.windows(2) {
        assert_eq!(pair[0].bottom, pair[1].top, "panels leave a gap");
    }
}

fn look(source: &Source, document: &Document, layout: &Layout, strip: &Strip, profile: &Profile) {
    let boxes = layout.boxes();
    let pictures = preflight::pictures::facts(document, &boxes, &house().pictures, profile.paper());
    let roll = Some(Mm::new(profile.roll.metres() * 1000.0));
    let width = profile.paper_width;
    let stock = Stock {
        width,
        thickness: profile.roll.thickness,
        roll,
        stretch: printer::estimate::STRETCH,
        duty: profile.duty,
        phenol_free: None,
    };
    let report = preflight::check(Evidence {
        document,
        source,
        layout,
        boxes: &boxes,
        paper: profile.paper(),
        strip,
        pictures: &pictures,
        folder: &[],
        stock,
        beside: None,
        unit: None,
    });
    for finding in &report.findings {
        assert!(!finding.message.is_empty() && finding.place.line >= 1, "{finding:?}");
    }
}

fuzz_target!(|bytes: &[u8]| -> Corpus {
    let Some((&choice, bytes)) = bytes.split_first() else { return Corpus::Reject };
    let Ok(text) = std::str::from_utf8(bytes) else { return Corpus::Reject };
    let house = house();
    let (source, document) = match read(text, choice & 8 == 0) {
        Ok(read) => read,
        Err(error) => {
            if let Some(spot) = error.spot() {
                assert!(spot.offset + spot.length <= spot.file.text().len(), "{error}");
            }
            assert!(!error.to_string().is_empty());
            return Corpus::Keep;
        }
    };
    let (profile, faces) = &house.faces[usize::from(choice >> 4) % house.faces.len()];
    let style = match document.header.style.as_deref() {
        Some(name) => Style::named(name).unwrap_or_else(|| house.styles[0].clone()),
        None => house.styles[usize::from(choice & 1)].clone(),
    };
    let language = document.header.tongue;
    let bench = Context {
        faces,
        pictures: &house.pictures,
        style: &style,
        paper: profile.paper(),
        language,
        own_words: &document.header.own_words,
        panel_room: None,
        shrink: 100,
    };
    let store = GalleyCache::new();
    let layout = layout::lay_out(&document, &bench, &store);
    check_places(&source, &document, &layout);
    let strip = strip::paint(&layout, faces);
    assert_eq!(strip.bitmap.width(), profile.dots);
    // Galleys taken from the store give the same dots as galleys set.
    assert_eq!(strip::paint(&layout::lay_out(&document, &bench, &store), faces), strip, "the store changes dots");
    look(&source, &document, &layout, &strip, profile);
    // What is proofed is what is printed.
    let strip = printer::as_told(strip, profile);
    let seen = printer::decode(&printer::encode(&strip, profile), profile);
    assert!(seen.errors.is_empty() && seen.hidden_real_time == 0, "{:?}", seen.errors);
    assert_eq!(seen.bitmap, strip.bitmap, "the paper is not the proof");
    Corpus::Keep
});
