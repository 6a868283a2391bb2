//! The language of each market.

use super::*;
use crate::language::SignalWord;

pub const MARKET_LANGUAGE_MISSING: Rule = Rule {
    name: "market-language-missing",
    level: Level::Warning,
    what: "a market in the header in whose language there is no manual: neither this one, nor one in `translations`, nor the one of `--beside`",
    why: "instructions and safety information go with the product in a language that the country asks for",
    mend: "write the manual in that language, and name what goes into the box: `translations = [\"de\"]`",
    source: "2014/53/EU art. 10(8) (seen), (EU) 2023/988 art. 9(7) (seen); which language: known",
    check: Check::Looks(|index| {
        let Some(known) = known(index) else { return Vec::new() };
        let mut notes = Vec::new();
        for market in &index.evidence.document.header.product.markets {
            let Some(wanted) =
                languages(market).filter(|wanted| !wanted.iter().any(|tag| known.iter().any(|known| known == tag)))
            else {
                continue;
            };
            let note = Note::new(
                at_markets(index),
                format!("sold in {market}, and there is no manual in \"{}\"", wanted.join("\" or \"")),
            );
            notes.push(note.hint(format!("write it, and name what goes into the box: translations = [\"{}\"]", wanted[0])));
        }
        notes
    }),
};

pub const MARKET_LANGUAGES_UNSAID: Rule = Rule {
    name: "market-languages-unsaid",
    level: Level::Advice,
    what: "a product for \"EU\" with a manual in one language only",
    why: "each country asks for its own language; one language is right only for some",
    mend: "name the countries in which you sell, `markets = [\"IE\", \"NL\"]`, or the languages that go into the box, `translations = [\"de\", \"fr\"]`",
    source: "2014/53/EU art. 10(8) (seen), (EU) 2023/988 art. 9(7) (seen)",
    check: Check::Looks(|index| {
        let Some((known, market)) = known(index).zip(first_of(index, &["EU", "EEA"])) else { return Vec::new() };
        unless(known.len() > 1, || {
            Note::new(at_markets(index), format!("sold in the {market}, and the only manual is in \"{}\"", known[0]))
        })
    }),
};

/// Primary subtags of the languages in which there are manuals. Nothing where this one's is not said, or where nobody needs a manual to
/// use the product safely: no hazard, no warning, no electricity, no toy.
fn known(index: &Index) -> Option<Vec<String>> {
    let header = &index.evidence.document.header;
    let own = header.language.as_deref()?;
    let warned = index.entries.safeties.iter().any(|safety| safety.word != SignalWord::Notice);
    if header.product.hazards.is_empty() && !warned && !harmonised(index) {
        return None;
    }
    let mut known: Vec<String> = Vec::new();
    let others = header.translations.iter().map(String::as_str).chain(index.evidence.beside);
    for tag in std::iter::once(own).chain(others) {
        let primary = tag.split(['-', '_']).next().unwrap_or_default().to_lowercase();
        // Both Norwegians are Norway's.
        let primary = if matches!(primary.as_str(), "nb" | "nn") { "no".to_string() } else { primary };
        if !known.contains(&primary) {
            known.push(primary);
        }
    }
    Some(known)
}
