//! Quantities among words that run from right to left: "95 °C" is read as one, from left to right (SI brochure, 5.4.3: the number
//! comes before the unit, a space between). By itself the algorithm of UAX #9 sets the unit's letters on the number's other side.

use std::ops::Range;

/// Units that are written in Latin letters, or begin with a sign that has no direction.
const UNITS: [&str; 45] = [
    "°C", "°F", "°", "%", "V", "mV", "kV", "A", "mA", "W", "mW", "kW", "Wh", "kWh", "Ah", "mAh", "Hz", "kHz", "MHz", "GHz", "K",
    "g", "kg", "mg", "mm", "cm", "m", "km", "µm", "μm", "l", "L", "ml", "mL", "s", "ms", "min", "h", "Ω", "kΩ", "dB", "lx", "lm",
    "Pa", "bar",
];

/// First strong isolate and its end (UAX #9): what stands between them runs in its own direction.
pub const ISOLATE: &str = "\u{2068}";
pub const END_OF_ISOLATE: &str = "\u{2069}";

/// A text in pieces, in their order: quantities (true), and what stands before, between and behind them.
pub fn by_quantity(text: &str) -> Vec<(&str, bool)> {
    let mut pieces = Vec::new();
    let mut from = 0;
    for quantity in quantities(text) {
        pieces.push((&text[from..quantity.start], false));
        from = quantity.end;
        pieces.push((&text[quantity], true));
    }
    if from == 0 || from < text.len() {
        pieces.push((&text[from..], false));
    }
    pieces
}

/// Where numbers stand with such a unit, at most a space between; with what a number begins and a range goes on with.
fn quantities(text: &str) -> Vec<Range<usize>> {
    let mut found = Vec::new();
    let mut at = 0;
    while let Some(digit) = text[at..].find(|character: char| character.is_ascii_digit()).map(|found| at + found) {
        let number =
            |character: char| character.is_ascii_digit() || matches!(character, '.' | ',' | '\u{202F}' | '–' | '-' | '/' | '×');
        let end = text[digit..].find(|character| !number(character)).map_or(text.len(), |length| digit + length);
        at = end;
        let spaced = text[end..].strip_prefix([' ', '\u{A0}', '\u{202F}']).unwrap_or(&text[end..]);
        let unit =
            spaced.find(|character: char| !character.is_ascii_alphabetic() && !matches!(character, '°' | '%' | 'µ' | 'μ' | 'Ω'));
        let unit = &spaced[..unit.unwrap_or(spaced.len())];
        if UNITS.contains(&unit) {
            let sign = text[..digit]
                .char_indices()
                .next_back()
                .filter(|(_, sign)| matches!(sign, '-' | '−' | '+' | '±' | '<' | '>' | '≤' | '≥'));
            at = text.len() - spaced.len() + unit.len();
            found.push(sign.map_or(digit, |(start, _)| start)..at);
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::{by_quantity, quantities};

    #[test]
    fn a_number_and_its_unit_are_one() {
        let told = |text: &'static str| quantities(text).into_iter().map(|range| &text[range]).collect::<Vec<_>>();
        assert_eq!(told("עד 95 °C, −5 °C, 5–10 mm, 0.5A ו-20 % בלבד"), ["95 °C", "−5 °C", "5–10 mm", "0.5A", "-20 %"]);
        assert_eq!(by_quantity("עד 95 °C"), [("עד ", false), ("95 °C", true)]);
        assert_eq!((by_quantity(""), by_quantity("עד")), (vec![("", false)], vec![("עד", false)]));
        assert_eq!(told("2 USB, 3 Heron, 4 כבלים, 12, 5 Vx"), Vec::<&str>::new());
    }
}
