//! Toys.

use super::*;

pub const TOY_AGE_MISSING: Rule = Rule {
    name: "toy-age-missing",
    level: Level::Advice,
    what: "a toy for an EU or UK market, and no age is named",
    why: "limits of age stand on the toy, its packaging or its papers, with what the danger is; a toy that is not for children under 36 months says so there",
    mend: "say for which age it is; where it is not for the smallest, the warning with its reason",
    source: "2009/48/EC art. 11, annex V (known)",
    check: Check::Looks(|index| {
        let Some(words) = index.words.filter(|_| toy(index) && in_europe(index)) else { return Vec::new() };
        unless(says(&index.lower, words.law.age), || Note::new(index.key("product.toy"), "a toy, and no age is named"))
    }),
};

pub const TOY_WORD_MISSING: Rule = Rule {
    name: "toy-word-missing",
    level: Level::Advice,
    what: "a toy for an EU market whose manual does not say \"Warning\" in the word that toy law has for it: \"Achtung\" in German, \"Attention\" in French",
    why: "the law on toys names the word, and it is not the signal word of other products (WARNUNG, AVERTISSEMENT)",
    mend: "let the toy's warnings begin with that word, beside the signal words of this manual",
    source: "2009/48/EC art. 11(2), by its German and French texts (known)",
    check: Check::Looks(|index| {
        let word = match index.words.map(|words| words.tag) {
            Some("de") => "achtung",
            Some("fr") => "attention",
            _ => return Vec::new(),
        };
        let labelled = || index.entries.safeties.iter().any(|safety| safety.label.to_lowercase() == word);
        unless(!toy(index) || !sold_in(index, EEA) || says(&index.lower, &[word]) || labelled(), || {
            Note::new(index.key("product.toy"), format!("a toy, and nowhere stands the word that toy law asks for: \"{word}\""))
        })
    }),
};

pub const TOY_SMALL_PARTS_US_MISSING: Rule = Rule {
    name: "toy-small-parts-us-missing",
    level: Level::Warning,
    what: "a toy for the US with choking among its hazards, and the English manual does not say \"choking hazard\" and \"under 3\"",
    why: "a toy for children of 3 to 6 with small parts carries that warning on its packaging, and on descriptive papers with it",
    mend: "print the warning that is prescribed, here and on the packaging",
    source: "16 CFR 1500.19(b)(1), (d) (known; the section itself: seen)",
    check: Check::Looks(|index| {
        let choking = index.evidence.document.header.product.hazards.iter().any(|hazard| hazard == "choking");
        if english(index).is_none() || !toy(index) || !choking || !sold_in(index, US) {
            return Vec::new();
        }
        let things = [("\"choking hazard\"", &["choking hazard"][..]), ("\"under 3\"", &["under 3", "under three"])];
        let missing = unsaid(&index.lower, &things);
        unless(missing.is_empty(), || {
            Note::new(
                index.key("product.toy"),
                format!("a toy with small parts for the US, and nothing says {}", listed(&missing)),
            )
        })
    }),
};

pub const TOY_PASSPORT_UNSAID: Rule = Rule {
    name: "toy-passport-unsaid",
    level: Level::Advice,
    what: "a toy for an EU market, and nothing says where its product passport is",
    why: "each toy has a passport on the web; a code on the toy, its packaging or its papers leads to it",
    mend: "if the code stands on the toy or its packaging, say so; else show it in a `qr` block, with the words \"product passport\"",
    source: "(EU) 2025/2509 (seen; its articles known)",
    check: Check::From("2030-08-01", |index| {
        let Some(words) = index.words.filter(|_| toy(index) && sold_in(index, EEA)) else { return Vec::new() };
        unless(says(&index.lower, words.law.passport), || {
            Note::new(index.key("product.toy"), "a toy, and nothing says where its product passport is")
        })
    }),
};

fn toy(index: &Index) -> bool {
    index.evidence.document.header.product.toy == Some(true)
}
