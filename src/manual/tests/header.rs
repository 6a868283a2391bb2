//! The TOML header.

use super::super::document::{Allowed, Battery, Charging, Emissions, Header, Supply};
use super::super::header::KEYS;
use super::{document, failure, remarks, told};
use crate::language::Language;
use crate::lengths::Mm;

/// The header of FORMAT.md, section 1, and the tables it leaves open.
const WHOLE: &str = r#"+++
title        = "Heron"
subtitle     = "Quick-start guide"
document     = "HRN-QS"            # document number
revision     = "C"
issued       = 2026-11-20
language     = "en"
paper        = "80 mm"
fold         = "100 mm"
style        = "comic"
durable_copy = "https://example.com/heron"

[product]
maker   = "Reedbed Works"
address = "1 Reed Lane"
contact = "help@reedbed.example"
model   = "HRN-1"
purpose = "Dips a tea bag."
hazards = ["hot-liquid", "pinch", "lithium-battery"]
supply  = { volts = 5.0, amps = 2, kind = "dc" }
markets = ["EU", "US"]
radio   = false

[units]
key = "serial"

[box]
size = [90, 60.5, 40]

[preflight]
allow = ["rule-one", { rule = "rule-two", reason = "own" }]
reason = "shared"

[faces]
ja = "NotoSansJP.otf"
+++

# Heron
"#;

#[test]
fn every_key_is_read() {
    let document = document(WHOLE);
    assert_eq!(document.remarks, []);
    let header = document.header;
    assert_eq!(header.title.as_deref(), Some("Heron"));
    assert_eq!(header.issued.as_deref(), Some("2026-11-20"));
    assert_eq!(header.tongue, Language::English);
    assert_eq!(header.fold, Some(Mm::new(100.0)));
    assert_eq!(header.product.supply, Some(Supply { volts: Some(5.0), amps: Some(2.0), kind: Some("dc".into()) }));
    assert_eq!(header.product.hazards, ["hot-liquid", "pinch", "lithium-battery"]);
    assert_eq!(header.product.radio, Some(false));
    assert_eq!(header.unit_key.as_deref(), Some("serial"));
    assert_eq!(header.box_size, Some([Mm::new(90.0), Mm::new(60.5), Mm::new(40.0)]));
    let allow = |allowed: &Allowed| (allowed.rule.clone(), allowed.reason.clone().unwrap_or_default());
    let wanted = [("rule-one".to_owned(), "shared".to_owned()), ("rule-two".to_owned(), "own".to_owned())];
    assert_eq!(header.allow.iter().map(allow).collect::<Vec<_>>(), wanted);
    assert_eq!(header.faces.get("ja").map(String::as_str), Some("NotoSansJP.otf"));
}

#[test]
fn every_key_has_its_place() {
    let source = super::super::read_text("manual.md", WHOLE).unwrap();
    let header = super::super::parse(&source).unwrap().header;
    for (key, place) in
        [("title", "2:1"), ("issued", "6:1"), ("product.maker", "14:1"), ("product.supply", "20:1"), ("units.key", "25:1")]
    {
        let found = source.locate(header.spans[key].start);
        assert_eq!(format!("{}:{}", found.line, found.column), place, "{key}");
    }
    assert_eq!(
        &source.text[header.spans["title"].start as usize..header.spans["title"].end as usize],
        "title        = \"Heron\""
    );
}

#[test]
fn the_table_of_keys_is_whole_and_its_examples_hold() {
    for key in KEYS {
        let line = format!("{} = {}\n", key.name, key.example);
        let text = match key.table {
            "" => format!("+++\n{line}+++\n"),
            inner @ ("supply" | "charging") => format!("+++\n[product.{inner}]\n{line}+++\n"),
            table => format!("+++\n[{table}]\n{line}+++\n"),
        };
        let document = document(&text);
        assert_eq!(document.remarks, [], "{text}");
        if key.table != "preflight" {
            assert_ne!(document.header, Header { spans: document.header.spans.clone(), ..Header::default() }, "{text}");
        }
    }
}

#[test]
fn what_the_rules_of_markets_ask_for_is_read() {
    let text = "+++\ntranslations = [\"de\"]\n[paper]\nwidth = \"58 mm\"\nphenol_free = true\n[product]\nbattery = \"button-cell\"\n\
                charging = { least_watts = 2.5, most_watts = 10, usb_pd = true }\nemissions = \"exempt\"\nrestricted = [\"FR\"]\n+++\n";
    let read = document(text);
    assert_eq!(read.remarks, []);
    let (header, product) = (&read.header, &read.header.product);
    assert_eq!((header.paper.as_deref(), header.phenol_free), (Some("58 mm"), Some(true)));
    assert_eq!(header.translations, ["de"]);
    assert_eq!((product.battery, product.emissions), (Some(Battery::ButtonCell), Some(Emissions::Exempt)));
    let common = Charging::Common { least_watts: Some(2.5), most_watts: Some(10.0), usb_pd: Some(true) };
    assert_eq!(product.charging, Some(common));
    assert_eq!(product.restricted, ["FR"]);
    let other = document("+++\n[product]\ncharging = false\n+++\n").header.product.charging;
    assert_eq!(other, Some(Charging::Other));
}

#[test]
fn unknown_keys_are_noticed_with_the_nearest_known_one() {
    let text = "+++\ntitel = \"Heron\"\nmaker = \"Reedbed\"\n[product]\nvolts = 5\n[fases]\nja = \"x\"\n+++\n";
    assert_eq!(remarks(text), ["2:1 unknown-key", "3:1 unknown-key", "5:1 unknown-key", "6:2 unknown-key"]);
    let hints: Vec<String> = document(text).remarks.into_iter().filter_map(|remark| remark.hint).collect();
    assert_eq!(
        hints,
        [
            "did you mean `title`?",
            "`maker` belongs under [product]",
            "`volts` belongs into `supply` of [product]",
            "did you mean `faces`?"
        ]
    );
}

#[test]
fn wrong_values_are_errors_at_their_place() {
    for (line, complaint) in [
        ("revision = 3", "manual.md:2:12 `revision` wants text in quotes, this is a number"),
        ("fold = 100", "manual.md:2:8 `fold` wants a length with its unit, this is a number"),
        ("fold = \"-5 mm\"", "manual.md:2:8 `fold` wants a length with its unit, this is text"),
        ("issued = \"soon\"", "manual.md:2:10 `issued` wants a date"),
        ("product = 1", "manual.md:2:11 `product` wants a table, this is a number"),
        ("[product]\nradio = \"no\"", "manual.md:3:9 `radio` wants true or false, this is text"),
        ("[product]\nhazards = [\"pinch\", 2]", "manual.md:3:21 `hazards` wants texts in quotes, this is a number"),
        ("[product]\nsupply = { kind = \"mains\" }", "manual.md:3:19 `kind` cannot be \"mains\""),
        ("[product]\nbattery = \"AA\"", "manual.md:3:11 `battery` cannot be \"AA\""),
        ("[product]\ncharging = true", "manual.md:3:12 `charging` wants a table, this is true or false"),
        ("[paper]\nwidth = 80", "manual.md:3:9 `width` wants text in quotes, this is a number"),
        ("[box]\nsize = [1, 2]", "manual.md:3:8 `size` wants a list of 3 numbers, this has 2"),
        ("[box]\nsize = [1, 2, -3]", "manual.md:3:8 `size` wants three lengths in mm"),
        ("title = \"Heron", "manual.md:2:"),
        ("title = \"a\"\ntitle = \"b\"", "manual.md:3:1 this is not TOML: duplicate key"),
        ("title: Heron", "manual.md:2:"),
    ] {
        let error = failure(&format!("+++\n{line}\n+++\n# T\n"));
        assert!(told(&error).starts_with(complaint), "{} is not {complaint}", told(&error));
    }
}

#[test]
fn a_header_is_closed_or_left_out() {
    let error = failure("+++\ntitle = \"Heron\"\n\n# Heron\n");
    assert_eq!(told(&error), "manual.md:1:1 the header that begins here has no closing line of +++");
    assert!(error.hint().is_some());
    assert_eq!(document("# Heron\n\n+++\n").header, Header::default());
    assert_eq!(document("").blocks, []);
    assert_eq!(document("+++\r\ntitle = \"Heron\"\r\n+++\r\n# T\r\n").header.title.as_deref(), Some("Heron"));
    assert_eq!(document("+++\n+++").blocks, []);
}

#[test]
fn a_language_without_words_is_noticed_and_english_is_used() {
    let text = "+++\nlanguage = \"eu\"\n+++\n> **WARNING** x\n";
    assert_eq!(remarks(text), ["2:12 unknown-language"]);
    assert_eq!(document(text).header.tongue, Language::English);
    assert_eq!(document("+++\nlanguage = \"de-CH\"\n+++\n").header.tongue, Language::SwissGerman);
}
