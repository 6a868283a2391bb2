//! What reads alike in every language: keys, signs, codes, and numbers with their units, the decimal sign being the language's own.

use std::collections::BTreeSet;

use super::rules::{OTHER_DETAIL, OTHER_VALUE};
use crate::preflight::rule::Rule;

/// A number, and the symbol of its unit if it has one.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Quantity {
    /// In figures with a point, no zeros at its ends: `4.5`, `1000`.
    pub value: String,
    /// The symbol of the International System, or another that is the same in every language: `W`, `°C`, `%`.
    pub unit: Option<&'static str>,
}

/// What one part's own text holds.
#[derive(Debug, Default, PartialEq, Eq)]
pub(super) struct Details {
    pub keys: BTreeSet<String>,
    pub signs: BTreeSet<String>,
    /// Data of barcodes.
    pub codes: BTreeSet<String>,
    /// Contents of QR symbols, which may lead to a page in the language.
    pub addresses: BTreeSet<String>,
    pub quantities: Vec<Quantity>,
}

impl Details {
    /// What differs, in words that end with "Y": "X here, Y".
    pub fn against(&self, there: &Details) -> Vec<(&'static Rule, String)> {
        let mut told = Vec::new();
        let mut sets = |rule, name: &str, here: &BTreeSet<String>, there: &BTreeSet<String>| {
            let only = |one: &BTreeSet<String>, other: &BTreeSet<String>| {
                let only: Vec<&str> = one.difference(other).map(String::as_str).collect();
                (!only.is_empty()).then(|| only.join(", "))
            };
            match (only(here, there), only(there, here)) {
                (None, None) => {}
                (here, there) => {
                    let (here, there) = (here.unwrap_or_else(|| "none".into()), there.unwrap_or_else(|| "none".into()));
                    told.push((rule, format!("{name} {here} here, {there}")));
                }
            }
        };
        sets(&OTHER_VALUE, "sign", &self.signs, &there.signs);
        sets(&OTHER_VALUE, "barcode", &self.codes, &there.codes);
        sets(&OTHER_DETAIL, "key", &self.keys, &there.keys);
        sets(&OTHER_DETAIL, "QR symbol", &self.addresses, &there.addresses);
        told.extend(quantities_apart(&self.quantities, &there.quantities));
        told
    }
}

/// Numbers of one side that the other has not. A number without a unit may be a word in the other language: it is told only
/// where both sides have one that the other lacks.
fn quantities_apart(here: &[Quantity], there: &[Quantity]) -> Vec<(&'static Rule, String)> {
    let mut left: Vec<&Quantity> = here.iter().collect();
    let mut right: Vec<&Quantity> = there.iter().collect();
    cancel(&mut left, &mut right, |one, other| one == other);
    // "45 Watt" may stand for "45 W", but "10 min" not for "10 s".
    cancel(&mut left, &mut right, |one, other| one.value == other.value && (one.unit.is_none() || other.unit.is_none()));
    // What is said twice there and once here is the same.
    left.retain(|one| !there.contains(one));
    right.retain(|one| !here.contains(one));
    let (here, there) = (left, right);
    let written = |some: &[&Quantity]| match some {
        [] => "none".to_string(),
        some => some.iter().map(|quantity| quantity.written()).collect::<Vec<_>>().join(", "),
    };
    let counted = here.iter().chain(&there).any(|quantity| quantity.unit.is_some());
    let both = !here.is_empty() && !there.is_empty();
    let alone = here.iter().chain(&there).any(|quantity| quantity.unit.is_some() && !quantity.may_be_a_word());
    let told = || format!("{} here, {}", written(&here), written(&there));
    match (both, counted) {
        (true, true) => vec![(&OTHER_VALUE, told())],
        (true, false) => vec![(&OTHER_DETAIL, told())],
        (false, _) if alone => vec![(&OTHER_DETAIL, told())],
        (false, _) => Vec::new(),
    }
}

/// Takes out of both lists what stands for each other, one for one.
fn cancel(left: &mut Vec<&Quantity>, right: &mut Vec<&Quantity>, alike: impl Fn(&Quantity, &Quantity) -> bool) {
    left.retain(|one| match right.iter().position(|other| alike(one, other)) {
        Some(at) => {
            right.remove(at);
            false
        }
        None => true,
    });
}

impl Quantity {
    /// Whole numbers up to twelve are written as words in many house styles, one and two in some languages' grammar.
    fn may_be_a_word(&self) -> bool {
        self.value.parse::<u32>().is_ok_and(|value| value <= 12)
    }

    fn written(&self) -> String {
        match self.unit {
            Some(unit) => format!("{} {unit}", self.value),
            None => self.value.clone(),
        }
    }
}

/// Symbols of units as they are written, and the one that they count as. The Cyrillic ones are those of GOST 8.417 (from memory).
const UNITS: [(&str, &str); 68] = [
    ("V", "V"),
    ("mV", "mV"),
    ("kV", "kV"),
    ("A", "A"),
    ("mA", "mA"),
    ("Ah", "Ah"),
    ("mAh", "mAh"),
    ("W", "W"),
    ("mW", "mW"),
    ("kW", "kW"),
    ("Wh", "Wh"),
    ("kWh", "kWh"),
    ("Hz", "Hz"),
    ("kHz", "kHz"),
    ("MHz", "MHz"),
    ("GHz", "GHz"),
    ("mm", "mm"),
    ("cm", "cm"),
    ("m", "m"),
    ("km", "km"),
    ("µm", "µm"),
    ("μm", "µm"),
    ("in", "in"),
    ("g", "g"),
    ("mg", "mg"),
    ("kg", "kg"),
    ("l", "l"),
    ("L", "l"),
    ("ml", "ml"),
    ("mL", "ml"),
    ("cl", "cl"),
    ("s", "s"),
    ("ms", "ms"),
    ("min", "min"),
    ("h", "h"),
    ("°C", "°C"),
    ("℃", "°C"),
    ("°F", "°F"),
    ("K", "K"),
    ("°", "°"),
    ("%", "%"),
    ("N", "N"),
    ("Nm", "N·m"),
    ("N·m", "N·m"),
    ("bar", "bar"),
    ("Pa", "Pa"),
    ("kPa", "kPa"),
    ("hPa", "hPa"),
    ("dB", "dB"),
    ("dBm", "dBm"),
    ("Ω", "Ω"),
    ("kΩ", "kΩ"),
    ("lm", "lm"),
    ("lx", "lx"),
    ("В", "V"),
    ("А", "A"),
    ("мА", "mA"),
    ("Вт", "W"),
    ("Гц", "Hz"),
    ("мм", "mm"),
    ("см", "cm"),
    ("м", "m"),
    ("г", "g"),
    ("кг", "kg"),
    ("л", "l"),
    ("мл", "ml"),
    ("с", "s"),
    ("мин", "min"),
];

/// Every number of a text, in its order.
pub(super) fn quantities(text: &str, decimal_sign: char) -> Vec<Quantity> {
    let letters: Vec<char> = text.chars().collect();
    let mut found = Vec::new();
    let mut at = 0;
    while at < letters.len() {
        if figure(letters[at]).is_none() {
            at += 1;
            continue;
        }
        let start = at;
        while at < letters.len()
            && (figure(letters[at]).is_some()
                || (is_joint(letters[at]) && letters.get(at + 1).is_some_and(|&next| figure(next).is_some())))
        {
            at += 1;
        }
        // Figures in a word are a name: M3, USB2, X-1a.
        let named = start > 0
            && (letters[start - 1].is_alphabetic()
                || (start > 1 && matches!(letters[start - 1], '_' | '-') && letters[start - 2].is_alphabetic()));
        if !named {
            found.push(Quantity { value: value(&letters[start..at], decimal_sign), unit: unit(&letters[at..]) });
        }
    }
    found
}

/// The worth of a decimal figure of the writings that the program sets.
fn figure(letter: char) -> Option<u32> {
    let zeros = ['0', '\u{660}', '\u{6F0}', '\u{966}', '\u{FF10}'];
    zeros.iter().find_map(|&zero| (letter as u32).checked_sub(zero as u32).filter(|figure| *figure < 10))
}

/// What stands between the figures of one number: points, commas, the apostrophe, spaces that do not break, the Arabic signs.
fn is_joint(letter: char) -> bool {
    matches!(letter, '.' | ',' | '\'' | '\u{2019}' | '\u{A0}' | '\u{202F}' | '\u{66B}' | '\u{66C}' | '\u{FF0E}' | '\u{FF0C}')
}

fn value(letters: &[char], decimal_sign: char) -> String {
    let point = |letter: char| matches!(letter, '.' | ',' | '\u{66B}' | '\u{FF0E}' | '\u{FF0C}');
    // The last point or comma parts the decimals, unless it stands before groups of three: then only the language's own sign does.
    let last = letters.iter().rposition(|&letter| point(letter));
    let parts = last.filter(|&last| {
        let (behind, sign) = (letters.len() - last - 1, letters[last]);
        let single = letters.iter().filter(|&&letter| letter == sign).count() == 1;
        single && (behind != 3 || sign == decimal_sign || sign == '\u{66B}')
    });
    let figures = |some: &[char]| -> String {
        some.iter().filter_map(|&letter| figure(letter)).filter_map(|figure| char::from_digit(figure, 10)).collect()
    };
    let whole = figures(&letters[..parts.unwrap_or(letters.len())]);
    let whole = whole.trim_start_matches('0');
    let whole = if whole.is_empty() { "0" } else { whole };
    let behind = parts.map(|parts| figures(&letters[parts + 1..])).unwrap_or_default();
    match behind.trim_end_matches('0') {
        "" => whole.to_string(),
        behind => format!("{whole}.{behind}"),
    }
}

/// The unit that stands behind a number, with or without a space between.
fn unit(rest: &[char]) -> Option<&'static str> {
    let space = rest.iter().take_while(|letter| matches!(letter, ' ' | '\u{A0}' | '\u{202F}' | '\u{2009}')).count();
    if space > 1 {
        return None;
    }
    let word: String =
        rest[space..].iter().take_while(|&&letter| letter.is_alphabetic() || matches!(letter, '°' | '%' | '·' | '℃')).collect();
    UNITS.iter().find(|(written, _)| *written == word).map(|(_, unit)| *unit)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str, decimal_sign: char) -> Vec<String> {
        quantities(text, decimal_sign).iter().map(Quantity::written).collect()
    }

    #[test]
    fn numbers_are_read_as_the_language_writes_them() {
        assert_eq!(read("5 V, 4.5 W and 1,000 mAh", '.'), ["5 V", "4.5 W", "1000 mAh"]);
        assert_eq!(read("5 V, 4,5 W und 1.000 mAh", ','), ["5 V", "4.5 W", "1000 mAh"]);
        assert_eq!(read("1\u{202F}000 mAh, 4,50 W", ','), ["1000 mAh", "4.5 W"]);
        assert_eq!(read("12'345.60", '.'), ["12345.6"]);
        // A point in German that parts no thousands.
        assert_eq!(read("4.5 W", ','), ["4.5 W"]);
        assert_eq!(read("0.250 l", '.'), ["0.25 l"]);
        assert_eq!(read("5 В, 0,5 А", ','), ["5 V", "0.5 A"]);
        assert_eq!(read("\u{665} V, \u{FF11}\u{FF10}mm", '.'), ["5 V", "10 mm"]);
        assert_eq!(read("M3 screws, X-12, 4 of 10, 3-5 s. End", '.'), ["4", "10", "3", "5 s"]);
        assert_eq!(read("20°C, 45 %, 10 minutes", '.'), ["20 °C", "45 %", "10"]);
    }

    #[test]
    fn a_number_that_may_be_a_word_is_passed_over() {
        let of = |text: &str| Details { quantities: quantities(text, '.'), ..Details::default() };
        let apart = |here: &str, there: &str| {
            of(here).against(&of(there)).into_iter().map(|(rule, told)| (rule.name, told)).collect::<Vec<_>>()
        };
        assert_eq!(apart("Press 1 key", "Press one key"), []);
        assert_eq!(apart("10 minutes", "1 minute"), [("beside-other-detail", "10 here, 1".to_string())]);
        assert_eq!(apart("45 W", "4.5 W"), [("beside-other-value", "45 W here, 4.5 W".to_string())]);
        assert_eq!(apart("10 min", "10 s"), [("beside-other-value", "10 min here, 10 s".to_string())]);
        assert_eq!(apart("5 V", "five volts"), []);
        assert_eq!(apart("230 V", "from the mains"), [("beside-other-detail", "230 V here, none".to_string())]);
        assert_eq!(apart("45 Watt", "45 W"), []);
    }
}
