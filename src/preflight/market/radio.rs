//! Radios: what their instructions name in the EU and the UK.

use super::*;

pub const RADIO_UNDECLARED: Rule = Rule {
    name: "radio-undeclared",
    level: Level::Advice,
    what: "the text speaks of a radio, and the header does not say `radio = true`",
    why: "a radio has its own rules in every market; the rules here wait for the header's word",
    mend: "write `radio = true` under `[product]`, or `radio = false` if the radio is not in this product",
    source: "common practice, no source",
    check: Check::Looks(|index| {
        let Some(words) = index.words else { return Vec::new() };
        if index.evidence.document.header.product.radio.is_some() {
            return Vec::new();
        }
        let speaks = index.entries.passages.iter().find(|passage| says(&passage.lower, words.radio));
        speaks.map(|passage| Note::new(passage.span, "this speaks of a radio, and the header does not")).into_iter().collect()
    }),
};

pub const RADIO_EU_NOTE_MISSING: Rule = Rule {
    name: "radio-eu-note-missing",
    level: Level::Warning,
    what: "a radio for an EU or UK market, and the manual does not print its frequency bands, or the most power it sends in them",
    why: "the instructions of what sends on purpose name both",
    mend: "print each band with its power, as \"2402–2480 MHz, at most 4 dBm\"",
    source: "2014/53/EU art. 10(8) (a), (b) (seen); UK: SI 2017/1206 reg. 13 (known)",
    check: Check::Looks(|index| {
        if !radio(index) || !in_europe(index) {
            return Vec::new();
        }
        let mut missing = Vec::new();
        if !["mhz", "ghz", "khz"].iter().any(|unit| index.lower.contains(unit)) {
            missing.push("the frequency bands");
        }
        if !prints_power(&index.lower) {
            missing.push("the most power sent");
        }
        let verb = if missing.len() == 1 && missing[0].ends_with('t') { "stands" } else { "stand" };
        unless(missing.is_empty(), || {
            Note::new(index.key("product.radio"), format!("a radio, and {} {verb} nowhere", listed(&missing)))
        })
    }),
};

pub const RADIO_DECLARATION_MISSING: Rule = Rule {
    name: "radio-declaration-missing",
    level: Level::Warning,
    what: "a radio for an EU or UK market, and the manual names no declaration of conformity with the web address where it is",
    why: "the declaration goes with every unit: whole, or in its short form, which ends with the exact address of the whole",
    mend: "name the declaration and the exact web address where its whole text is",
    source: "2014/53/EU art. 10(9), annex VII (known); UK: SI 2017/1206 reg. 13 (known)",
    check: Check::Looks(|index| {
        if !radio(index) || !in_europe(index) {
            return Vec::new();
        }
        // In a language without a table only the numbers of the laws can be looked for.
        let named = ["2014/53", "2017/1206"].iter().any(|number| index.lower.contains(number))
            || index.words.is_none_or(|words| says(&index.lower, words.declaration));
        // Not the address of the lasting copy, which the header's part prints.
        let addressed = index.entries.passages.iter().any(|passage| says(&passage.lower, &["*http", "*www."]));
        let message = match (named, addressed) {
            (true, true) => return Vec::new(),
            (false, _) => "a radio, and no declaration of conformity is named",
            (true, false) => "a declaration of conformity is named without the web address where it is",
        };
        vec![Note::new(index.key("product.radio"), message)]
    }),
};

pub const RADIO_RESTRICTION_UNSAID: Rule = Rule {
    name: "radio-restriction-unsaid",
    level: Level::Warning,
    what: "`restricted` names states in which the radio may not be used everywhere, and the manual does not print their codes",
    why: "the buyer must see before use where it is forbidden or needs a licence; the packaging shows the codes too",
    mend: "list the codes of the states, as \"FR, NO\", and say what is restricted there",
    source: "2014/53/EU art. 10(10), (EU) 2017/1354 (seen); UK: SI 2017/1206 reg. 14 (seen)",
    check: Check::Looks(|index| {
        if !radio(index) || !sold_in(index, EEA) {
            return Vec::new();
        }
        let printed = |code: &str| {
            let code = code.to_uppercase();
            let mut words = index.entries.passages.iter().flat_map(|passage| passage.text.split(|c: char| !c.is_alphanumeric()));
            words.any(|word| word == code)
        };
        let codes = &index.evidence.document.header.product.restricted;
        let missing: Vec<&str> = codes.iter().map(String::as_str).filter(|code| !printed(code)).collect();
        unless(missing.is_empty(), || {
            let message = format!("the radio is restricted in {}, and the text does not say so", listed(&missing));
            Note::new(index.key("product.restricted"), message)
        })
    }),
};

pub fn radio(index: &Index) -> bool {
    index.evidence.document.header.product.radio == Some(true)
}

/// Whether a text in lower case holds a power: figures and a unit of it. Watts alone could be those of the supply.
fn prints_power(lower: &str) -> bool {
    let after_figures = |unit: &str| {
        lower.match_indices(unit).any(|(at, _)| {
            let ends = !lower[at + unit.len()..].starts_with(|character: char| character.is_alphanumeric());
            ends && lower[..at].trim_end().ends_with(|character: char| character.is_ascii_digit())
        })
    };
    let radiated = || ["erp", "e.r.p", "eirp", "e.i.r.p", "radiated", "transmit"].iter().any(|word| lower.contains(word));
    ["dbm", "mw", "µw", "μw", "nw", "dbµa", "dbμa", "milliwatt", "milliwatts"].iter().any(|unit| after_figures(unit))
        || after_figures("w") && radiated()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_power_is_told_from_other_watts() {
        for text in ["at most 4 dbm", "10 mw", "25mw e.r.p.", "0.1 w eirp", "-5 dbµa/m at 10 m"] {
            assert!(prints_power(text), "{text}");
        }
        for text in ["5 v, 10 w", "2400 mhz", "dbm", "3 mwh"] {
            assert!(!prints_power(text), "{text}");
        }
    }
}
