//! Content: what a product with electricity, a battery or a radio in it has to say. Only whether something is there is looked
//! at; the wording is the writer's.

use crate::manual::source::Level;
use crate::units::Mm;

use super::content::unless;
use super::rule::{Check, Note, Rule};
use super::sheet::Sheet;
use super::words::says;

/// Markets that ask for the crossed-out bin.
const BIN: &[&str] = &["EU", "EEA", "UK", "GB"];

/// Tags of the EU and its members.
const EU: &[&str] = &[
    "EU", "EEA", "AT", "BE", "BG", "HR", "CY", "CZ", "DK", "EE", "FI", "FR", "DE", "GR", "HU", "IE", "IT", "LV", "LT", "LU",
    "MT", "NL", "PL", "PT", "RO", "SK", "SI", "ES", "SE",
];

/// EN 50419 (memory): at least so high, with the bar.
const BIN_HEIGHT: Mm = Mm::from_micrometres(7_000);

/// A current, in ampere, that every supply and battery gives: nobody has to choose by it.
const LITTLE: f64 = 0.1;

pub const SUPPLY_UNSAID: Rule = Rule {
    name: "supply-unsaid",
    level: Level::Warning,
    what: "the header declares a supply, and the manual does not print its volts, or its amps from 0.1 A on",
    why: "the reader will take the next best adapter from the drawer",
    mend: "print the supply where it is connected: \"5 V, 2 A\"",
    source: "IEC 62368-1, IEC 60335-1: rated supply in the instructions (memory)",
    check: Check::Looks(|sheet| {
        let Some(supply) = &sheet.evidence.document.header.product.supply else {
            return Vec::new();
        };
        let text = closed_up(&sheet.lower);
        let mut missing = Vec::new();
        for (value, unit) in [(supply.volts, "V"), (supply.amps.filter(|amps| *amps >= LITTLE), "A")] {
            if let Some(value) = value
                && !prints(&text, value, &unit.to_lowercase())
            {
                missing.push(format!("{value} {unit}"));
            }
        }
        unless(missing.is_empty(), || {
            let message = format!("the supply is declared, and {} is printed nowhere", missing.join(" and "));
            Note::new(sheet.key("product.supply"), message)
        })
    }),
};

pub const SUPPLY_MARK_MISSING: Rule = Rule {
    name: "supply-mark-missing",
    level: Level::Advice,
    what: "the header declares a supply, and neither its mark (`sign:dc`, `sign:ac`) nor the letters DC or AC are printed",
    why: "the right voltage of the wrong kind destroys the product, or worse",
    mend: "put the mark beside the volts: `5 V ![direct current](sign:dc) 2 A`",
    source: "IEC 60417: DC 5031, AC 5032 (memory)",
    check: Check::Looks(|sheet| {
        let Some(supply) = &sheet.evidence.document.header.product.supply else {
            return Vec::new();
        };
        let (sign, marks): (&str, &[&str]) = match supply.kind.as_deref().map(str::to_lowercase).as_deref() {
            Some("dc") => ("dc", &["dc.", "*\u{2393}", "*⎓", "usb"]),
            Some("ac") => ("ac", &["ac.", "*~", "*\u{223f}"]),
            _ => return Vec::new(),
        };
        let marked = sheet.signs.contains(sign) || says(&sheet.lower, marks);
        unless(marked, || {
            let message = format!("the supply is {}, and its mark is printed nowhere", sign.to_uppercase());
            Note::new(sheet.key("product.supply"), message)
        })
    }),
};

pub const SUPPLY_UNDECLARED: Rule = Rule {
    name: "supply-undeclared",
    level: Level::Advice,
    what: "the text speaks of a supply, and neither the header nor the text says how many volts",
    why: "\"connect the power supply\" helps nobody who has three of them",
    mend: "write `supply = { volts = 5.0, amps = 2.0, kind = \"dc\" }` under `[product]`, and print it",
    source: "IEC/IEEE 82079-1 (memory)",
    check: Check::Looks(|sheet| {
        let Some(words) = sheet.words else { return Vec::new() };
        let declared = sheet.evidence.document.header.product.supply.is_some() || prints_volts(&sheet.lower);
        if declared {
            return Vec::new();
        }
        let speaks = sheet.flat.passages.iter().find(|passage| says(&passage.lower, words.supply));
        speaks
            .map(|passage| Note::new(passage.span, "this speaks of a supply, and nothing says how many volts"))
            .into_iter()
            .collect()
    }),
};

pub const DISPOSAL_MISSING: Rule = Rule {
    name: "disposal-missing",
    level: Level::Warning,
    what: "an electrical product for an EU or UK market, and nothing says what to do with it at its end",
    why: "it must not go into household waste, and the reader has to be told so",
    mend: "say where to bring it, and show `sign:no-bin`",
    source: "Directive 2012/19/EU (waste electrical equipment) art. 14 (memory)",
    check: Check::Looks(|sheet| {
        let Some(words) = sheet.words else { return Vec::new() };
        if !sold_in(sheet, BIN) && !sold_in(sheet, EU) || !electrical(sheet) {
            return Vec::new();
        }
        unless(says(&sheet.lower, words.disposal), || {
            Note::new(sheet.key("product.markets"), "nothing says how to dispose of the product")
        })
    }),
};

pub const BIN_MISSING: Rule = Rule {
    name: "bin-missing",
    level: Level::Warning,
    what: "an electrical product for an EU or UK market without the crossed-out bin",
    why: "the sign stands on the product and, where that is too small, in its instructions",
    mend: "show `![separate collection](sign:no-bin)`, at least 7 mm high",
    source: "Directive 2012/19/EU; EN 50419 (memory)",
    check: Check::Looks(|sheet| {
        if !sold_in(sheet, BIN) && !sold_in(sheet, EU) || !electrical(sheet) {
            return Vec::new();
        }
        unless(sheet.signs.contains("no-bin"), || {
            Note::new(sheet.key("product.markets"), "the separate-collection bin is shown nowhere")
        })
    }),
};

pub const BIN_SMALL: Rule = Rule {
    name: "bin-small",
    level: Level::Warning,
    what: "the separate-collection bin is shown, and nowhere as high as 7 mm",
    why: "the sign has a least size",
    mend: "let it stand alone in a paragraph: `![separate collection](sign:no-bin)`, without a small `width`",
    source: "EN 50419 (memory)",
    check: Check::Looks(|sheet| {
        let bins: Vec<_> = sheet.flat.pictures.iter().filter(|picture| picture.address == "sign:no-bin").collect();
        let resolution = sheet.evidence.paper.resolution;
        let height = |span| {
            let boxes = sheet.evidence.boxes.iter().filter(|placed| placed.kind == "picture" && placed.span == span);
            boxes.map(|placed| resolution.mm(placed.height)).max()
        };
        let highest =
            bins.iter().filter_map(|bin| height(bin.span).map(|height| (height, bin.span))).max_by_key(|(height, _)| *height);
        match highest {
            Some((height, span)) if height < BIN_HEIGHT => {
                vec![Note::new(span, format!("the bin is {height} high; it has to be at least {BIN_HEIGHT}"))]
            }
            _ => Vec::new(),
        }
    }),
};

pub const BATTERY_NOTE_MISSING: Rule = Rule {
    name: "battery-note-missing",
    level: Level::Warning,
    what: "a battery is among the hazards, and nothing says how it is removed, replaced or disposed of",
    why: "batteries start fires in household waste, and the reader must know whether this one can be taken out",
    mend: "say whether the battery can be removed, how, and where it goes when it is spent",
    source: "Regulation (EU) 2023/1542 (batteries) (memory)",
    check: Check::Looks(|sheet| {
        let Some(words) = sheet.words else { return Vec::new() };
        let hazards = &sheet.evidence.document.header.product.hazards;
        if !hazards.iter().any(|hazard| hazard == "lithium-battery" || hazard == "button-cell") {
            return Vec::new();
        }
        let told = sheet
            .flat
            .passages
            .iter()
            .any(|passage| says(&passage.lower, words.battery) && says(&passage.lower, words.battery_end));
        unless(told, || Note::new(sheet.key("product.hazards"), "nothing says what becomes of the battery"))
    }),
};

pub const RADIO_UNDECLARED: Rule = Rule {
    name: "radio-undeclared",
    level: Level::Advice,
    what: "the text speaks of a radio, and the header does not say `radio = true`",
    why: "a radio has its own rules in every market; the rules here wait for the header's word",
    mend: "write `radio = true` under `[product]`, or `radio = false` if the radio is not in this product",
    source: "common practice, no source",
    check: Check::Looks(|sheet| {
        let Some(words) = sheet.words else { return Vec::new() };
        if sheet.evidence.document.header.product.radio.is_some() {
            return Vec::new();
        }
        let speaks = sheet.flat.passages.iter().find(|passage| says(&passage.lower, words.radio));
        speaks.map(|passage| Note::new(passage.span, "this speaks of a radio, and the header does not")).into_iter().collect()
    }),
};

pub const RADIO_EU_NOTE_MISSING: Rule = Rule {
    name: "radio-eu-note-missing",
    level: Level::Warning,
    what: "a radio for an EU market without a declaration of conformity named, or without its frequencies",
    why: "the instructions of a radio name the declaration, the frequency bands and the power",
    mend: "name the declaration of conformity (or where it is), the bands in MHz or GHz, and the most power sent",
    source: "Directive 2014/53/EU art. 10 (memory)",
    check: Check::Looks(|sheet| {
        if sheet.evidence.document.header.product.radio != Some(true) || !sold_in(sheet, EU) {
            return Vec::new();
        }
        let frequency = ["mhz", "ghz", "khz"].iter().any(|unit| sheet.lower.contains(unit));
        // In a language without a table only the number of the directive and the units can be looked for.
        let declared = ["2014/53"].iter().any(|number| sheet.lower.contains(number))
            || sheet.words.is_none_or(|words| says(&sheet.lower, words.declaration));
        let mut missing = Vec::new();
        if !declared {
            missing.push("a declaration of conformity");
        }
        if !frequency {
            missing.push("the frequency bands");
        }
        unless(missing.is_empty(), || {
            Note::new(sheet.key("product.radio"), format!("a radio for the EU, and {} stands nowhere", missing.join(" and ")))
        })
    }),
};

pub const RADIO_US_NOTE_MISSING: Rule = Rule {
    name: "radio-us-note-missing",
    level: Level::Warning,
    what: "a radio for the US market without a note that names FCC part 15 or an FCC ID",
    why: "the user of a radio is told about interference, and that changes may end the right to use it",
    mend: "print the notes of your test report; the wording is yours and your laboratory's",
    source: "47 CFR part 15 (memory)",
    check: Check::Looks(|sheet| {
        if sheet.evidence.document.header.product.radio != Some(true) || !sold_in(sheet, &["US", "USA"]) {
            return Vec::new();
        }
        let noted = says(&sheet.lower, &["fcc.", "part 15", "47 cfr"]);
        unless(noted, || Note::new(sheet.key("product.radio"), "a radio for the US, and no FCC note stands anywhere"))
    }),
};

fn sold_in(sheet: &Sheet, markets: &[&str]) -> bool {
    let declared = &sheet.evidence.document.header.product.markets;
    declared.iter().any(|market| markets.iter().any(|known| known.eq_ignore_ascii_case(market)))
}

/// Whether the header says that there is electricity in the product.
fn electrical(sheet: &Sheet) -> bool {
    let product = &sheet.evidence.document.header.product;
    let of_electricity = ["electricity", "lithium-battery", "button-cell"];
    product.supply.is_some()
        || product.radio == Some(true)
        || product.hazards.iter().any(|hazard| of_electricity.contains(&hazard.as_str()))
}

/// The text without its spaces, decimal commas made points.
fn closed_up(lower: &str) -> String {
    let mut text = String::with_capacity(lower.len());
    let mut characters = lower.chars().peekable();
    let mut after_digit = false;
    while let Some(character) = characters.next() {
        let decimal = character == ',' && after_digit && characters.peek().is_some_and(char::is_ascii_digit);
        after_digit = character.is_ascii_digit();
        if !character.is_whitespace() {
            text.push(if decimal { '.' } else { character });
        }
    }
    text
}

/// Whether a text that is closed up holds a value with its unit: `5v`, `5.0v`, `2000ma`.
fn prints(text: &str, value: f64, unit: &str) -> bool {
    let holds = |number: &str, unit: &str| {
        let wanted = format!("{number}{unit}");
        text.match_indices(&wanted).any(|(at, _)| !text[..at].ends_with(|c: char| c.is_ascii_digit() || c == '.'))
    };
    let plain = format!("{value}");
    holds(&plain, unit)
        || holds(&format!("{value:.1}"), unit)
        || holds(&format!("{value:.2}"), unit)
        || holds(&format!("{}", value * 1000.0), &format!("m{unit}"))
}

/// Whether any number of volts is printed.
fn prints_volts(lower: &str) -> bool {
    lower.match_indices('v').any(|(at, _)| {
        let digit = lower[..at].trim_end().ends_with(|c: char| c.is_ascii_digit());
        digit && (!lower[at + 1..].starts_with(|c: char| c.is_alphanumeric()) || lower[at..].starts_with("volt"))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_value_is_found_in_all_its_spellings() {
        for text in ["5 v, 2 a", "input: 5.0 v", "5,00 v", "in 2024, 5 v"] {
            assert!(prints(&closed_up(text), 5.0, "v"), "{text}");
        }
        assert!(prints(&closed_up("5 v, 2 a"), 2.0, "a") && !prints(&closed_up("1,5 v"), 5.0, "v"));
        assert!(!prints("15v", 5.0, "v") && !prints("1.5v", 5.0, "v"));
        assert!(prints("500ma", 0.5, "a"));
        assert!(prints("100-240v", 240.0, "v"));
    }

    #[test]
    fn volts_are_told_from_other_words_with_a_v() {
        assert!(prints_volts("takes 12 v dc") && prints_volts("3 volts") && !prints_volts("2 vases, 4 vents, version"));
    }
}
