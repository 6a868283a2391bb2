//! Content: what the product is supplied by. Only whether it is there is looked at; the wording is the writer's.

use crate::manual::document::Battery;
use crate::manual::source::Level;

use super::content::unless;
use super::rule::{Check, Note, Rule};
use super::words::says;

/// A current, in ampere, that every supply and battery gives: nobody has to choose by it.
const LITTLE: f64 = 0.1;

pub const SUPPLY_UNSAID: Rule = Rule {
    name: "supply-unsaid",
    level: Level::Warning,
    what: "the header declares a supply, and the manual does not print its volts, or its amps from 0.1 A on",
    why: "the reader will take the next best adapter from the drawer. The ratings stand on the product; the instructions name the supply unit that belongs to it",
    mend: "print the supply where it is connected: \"5 V, 2 A\"; with a supply unit of its own, name its type",
    source: "IEC 60335-1 cl. 7.1 (on the product), 7.12 (in the instructions) (known)",
    check: Check::Looks(|index| {
        let Some(supply) = &index.evidence.document.header.product.supply else {
            return Vec::new();
        };
        let text = closed_up(&index.lower);
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
            Note::new(index.key("product.supply"), message)
        })
    }),
};

pub const SUPPLY_MARK_MISSING: Rule = Rule {
    name: "supply-mark-missing",
    level: Level::Advice,
    what: "the header declares a supply, and neither its mark (`sign:dc`, `sign:ac`) nor the letters DC or AC are printed",
    why: "the right voltage of the wrong kind destroys the product, or worse",
    mend: "put the mark beside the volts: `5 V ![direct current](sign:dc) 2 A`",
    source: "IEC 60417: DC 5031, AC 5032 (known)",
    check: Check::Looks(|index| {
        let Some(supply) = &index.evidence.document.header.product.supply else {
            return Vec::new();
        };
        let (sign, marks): (&str, &[&str]) = match supply.kind.as_deref().map(str::to_lowercase).as_deref() {
            Some("dc") => ("dc", &["dc.", "*\u{2393}", "*⎓", "usb"]),
            Some("ac") => ("ac", &["ac.", "*~", "*\u{223f}"]),
            _ => return Vec::new(),
        };
        let marked = index.signs.contains(sign) || says(&index.lower, marks);
        unless(marked, || {
            let message = format!("the supply is {}, and its mark is printed nowhere", sign.to_uppercase());
            Note::new(index.key("product.supply"), message)
        })
    }),
};

pub const SUPPLY_UNDECLARED: Rule = Rule {
    name: "supply-undeclared",
    level: Level::Advice,
    what: "the text speaks of a supply, and neither the header nor the text says how many volts",
    why: "\"connect the power supply\" helps nobody who has three of them",
    mend: "write `supply = { volts = 5.0, amps = 2.0, kind = \"dc\" }` under `[product]`, and print it",
    source: "IEC/IEEE 82079-1 (known)",
    check: Check::Looks(|index| {
        let Some(words) = index.words else { return Vec::new() };
        let product = &index.evidence.document.header.product;
        // Cells are known by their size.
        let cells = matches!(product.battery, Some(Battery::Cells | Battery::ButtonCell));
        let declared = product.supply.is_some() || cells || prints_volts(&index.lower);
        if declared {
            return Vec::new();
        }
        let speaks = index.entries.passages.iter().find(|passage| says(&passage.lower, words.supply));
        speaks
            .map(|passage| Note::new(passage.span, "this speaks of a supply, and nothing says how many volts"))
            .into_iter()
            .collect()
    }),
};

/// Units as other writings spell them, and as they are looked for. Cyrillic letters look the same and are others.
const SPELLINGS: [(&str, &str); 14] = [
    ("вольт", "v"),
    ("ампер", "a"),
    ("мв", "mv"),
    ("ма", "ma"),
    ("в", "v"),
    ("а", "a"),
    ("فولت", "v"),
    ("أمبير", "a"),
    ("امبير", "a"),
    ("ボルト", "v"),
    ("アンペア", "a"),
    ("볼트", "v"),
    ("암페어", "a"),
    ("וולט", "v"),
];

/// A text in lower case with plain figures, Latin letters for full-width ones, and units that follow a figure in Latin letters.
fn plainly(lower: &str) -> String {
    let mut text = String::with_capacity(lower.len());
    for character in lower.chars() {
        text.push(match character {
            '\u{660}'..='\u{669}' => char::from(b'0' + (character as u32 - 0x660) as u8),
            '\u{6f0}'..='\u{6f9}' => char::from(b'0' + (character as u32 - 0x6f0) as u8),
            '\u{ff10}'..='\u{ff19}' | '\u{ff41}'..='\u{ff5a}' | '\u{ff0e}' => char::from((character as u32 - 0xfee0) as u8),
            '\u{66b}' => '.',
            '\u{3000}' => ' ',
            other => other,
        });
    }
    let mut plain = String::with_capacity(text.len());
    let mut rest = text.as_str();
    while let Some(first) = rest.chars().next() {
        let figure = plain.trim_end().ends_with(|character: char| character.is_ascii_digit());
        let spelt = SPELLINGS.iter().filter(|_| figure).find_map(|(spelling, unit)| {
            let after = rest.strip_prefix(spelling)?;
            (!after.starts_with(char::is_alphanumeric)).then_some((unit, after))
        });
        match spelt {
            Some((unit, after)) => {
                plain.push_str(unit);
                rest = after;
            }
            None => {
                plain.push(first);
                rest = &rest[first.len_utf8()..];
            }
        }
    }
    plain
}

/// The text without its spaces, decimal commas made points, in plain figures and units.
pub fn closed_up(lower: &str) -> String {
    let lower = plainly(lower);
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
pub fn prints(text: &str, value: f64, unit: &str) -> bool {
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
pub fn prints_volts(lower: &str) -> bool {
    let lower = plainly(lower);
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
        for text in
            ["5 в, 0,5 а", "5вольт 500 ма", "５ｖ、０．５ａ", "٥ فولت، ٠٫٥ أمبير", "5ボルト 0.5アンペア", "5볼트 0.5암페어"]
        {
            let text = closed_up(text);
            assert!(prints(&text, 5.0, "v") && prints(&text, 0.5, "a"), "{text}");
        }
        // No unit is made of a word that begins as one.
        assert!(!prints(&closed_up("5 ваз и 2 автомобиля"), 5.0, "v"));
    }

    #[test]
    fn volts_are_told_from_other_words_with_a_v() {
        assert!(prints_volts("takes 12 v dc") && prints_volts("3 volts") && !prints_volts("2 vases, 4 vents, version"));
    }
}
