//! Countries: their tags, the names that an address may end with, and the languages that their law asks for.

/// One country of the EEA, or the United Kingdom.
struct Country {
    /// ISO 3166-1, but for EL and UK, which the EU and the trade write; and XI, Northern Ireland.
    tags: &'static [&'static str],
    /// Primary subtags of the languages of which one, at least, is asked for. Where more than one stands, the region decides.
    languages: &'static [&'static str],
    /// In lower case: in English, German, French and its own languages.
    names: &'static [&'static str],
}

const fn country(tags: &'static [&'static str], languages: &'static [&'static str], names: &'static [&'static str]) -> Country {
    Country { tags, languages, names }
}

/// Languages by the laws that turn 2014/53/EU art. 10(8) and (EU) 2023/988 art. 9(7) into a country's own (known).
#[rustfmt::skip]
const COUNTRIES: &[Country] = &[
    country(&["AT"], &["de"], &["austria", "österreich", "autriche"]),
    country(&["BE"], &["nl", "fr", "de"], &["belgium", "belgien", "belgique", "belgië"]),
    country(&["BG"], &["bg"], &["bulgaria", "bulgarien", "bulgarie", "българия"]),
    country(&["HR"], &["hr"], &["croatia", "kroatien", "croatie", "hrvatska"]),
    country(&["CY"], &["el", "tr"], &["cyprus", "zypern", "chypre", "κύπρος"]),
    country(&["CZ"], &["cs"], &["czechia", "czech republic", "tschechien", "tchéquie", "česko", "česká republika"]),
    country(&["DK"], &["da"], &["denmark", "dänemark", "danemark", "danmark"]),
    country(&["EE"], &["et"], &["estonia", "estland", "estonie", "eesti"]),
    country(&["FI"], &["fi", "sv"], &["finland", "finnland", "finlande", "suomi"]),
    country(&["FR"], &["fr"], &["france", "frankreich"]),
    country(&["DE"], &["de"], &["germany", "deutschland", "allemagne"]),
    country(&["GR", "EL"], &["el"], &["greece", "griechenland", "grèce", "ελλάδα"]),
    country(&["HU"], &["hu"], &["hungary", "ungarn", "hongrie", "magyarország"]),
    country(&["IE"], &["en", "ga"], &["ireland", "republic of ireland", "irland", "irlande", "éire"]),
    country(&["IT"], &["it"], &["italy", "italien", "italie", "italia"]),
    country(&["LV"], &["lv"], &["latvia", "lettland", "lettonie", "latvija"]),
    country(&["LT"], &["lt"], &["lithuania", "litauen", "lituanie", "lietuva"]),
    country(&["LU"], &["fr", "de", "lb"], &["luxembourg", "luxemburg", "lëtzebuerg"]),
    country(&["MT"], &["mt", "en"], &["malta", "malte"]),
    country(&["NL"], &["nl"], &["netherlands", "the netherlands", "niederlande", "pays-bas", "nederland"]),
    country(&["PL"], &["pl"], &["poland", "polen", "pologne", "polska"]),
    country(&["PT"], &["pt"], &["portugal"]),
    country(&["RO"], &["ro"], &["romania", "rumänien", "roumanie", "românia"]),
    country(&["SK"], &["sk"], &["slovakia", "slowakei", "slovaquie", "slovensko"]),
    country(&["SI"], &["sl"], &["slovenia", "slowenien", "slovénie", "slovenija"]),
    country(&["ES"], &["es"], &["spain", "spanien", "espagne", "españa"]),
    country(&["SE"], &["sv"], &["sweden", "schweden", "suède", "sverige"]),
    country(&["IS"], &["is"], &["iceland", "island", "islande", "ísland"]),
    country(&["LI"], &["de"], &["liechtenstein"]),
    country(&["NO"], &["no"], &["norway", "norwegen", "norvège", "norge", "noreg"]),
    country(&["XI"], &["en"], &["northern ireland", "nordirland", "irlande du nord"]),
    country(&["GB", "UK"], &["en"], &[
        "united kingdom", "uk", "u.k.", "great britain", "gb", "england", "scotland", "wales", "vereinigtes königreich", "großbritannien",
        "royaume-uni", "grande-bretagne",
    ]),
    country(&["US", "USA"], &["en"], &["usa", "u.s.a.", "us", "united states", "united states of america", "vereinigte staaten", "états-unis"]),
];

/// Languages of which the law of a market asks for one; nothing where none is known, as for the EU as a whole.
pub fn languages(market: &str) -> Option<&'static [&'static str]> {
    let known = |country: &&Country| country.tags.iter().any(|tag| tag.eq_ignore_ascii_case(market));
    COUNTRIES.iter().find(known).map(|country| country.languages)
}

/// The tag of the country that a postal address ends with or names in a part of its own, or that its postal code begins with; nothing
/// where it is none of those above. An address in the US may end with state and ZIP code.
pub fn home(address: &str) -> Option<&'static str> {
    let lower = address.to_lowercase();
    let parts: Vec<&str> = lower.split([',', '\n', ';', '·']).map(|part| part.trim().trim_end_matches('.')).collect();
    let named = |part: &str| {
        let named = |country: &&Country| country.names.iter().any(|name| name.trim_end_matches('.') == part);
        COUNTRIES.iter().find(named).map(|country| country.tags[0])
    };
    let coded = |part: &str| {
        let (code, rest) = part.split_once('-')?;
        let tag = |country: &&Country| country.tags.iter().any(|tag| tag.eq_ignore_ascii_case(code));
        let digit = rest.starts_with(|character: char| character.is_ascii_digit());
        COUNTRIES.iter().find(tag).filter(|_| digit).map(|country| country.tags[0])
    };
    parts.iter().rev().find_map(|part| named(part)).or_else(|| parts.iter().find_map(|part| coded(part))).or_else(|| {
        // "Salem, OR 97301".
        let last: Vec<&str> = parts.last()?.split_whitespace().collect();
        let [.., state, zip] = last[..] else { return None };
        let five = zip.split('-').next().is_some_and(|zip| zip.len() == 5 && zip.chars().all(|digit| digit.is_ascii_digit()));
        (five && state.len() == 2 && state.chars().all(|letter| letter.is_ascii_alphabetic())).then_some("US")
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_tells_its_country() {
        for (address, tag) in [
            ("4 Sluice Lane, Marsh Ferry, County Offaly, Ireland", Some("IE")),
            ("Schilfweg 1, 12345 Moor, Deutschland", Some("DE")),
            ("Schilfweg 1, DE-12345 Moor", Some("DE")),
            ("1 rue du Roseau, 75001 Paris, France.", Some("FR")),
            ("2 Fen Road, Ely CB7 4AA, UK", Some("GB")),
            ("9 Lough Street, Derry, Northern Ireland", Some("XI")),
            ("5 Creek Road, Salem, OR 97301", Some("US")),
            ("5 Creek Road, Salem, Oregon 97301, U.S.A.", Some("US")),
            // Nothing is guessed from a town, nor from a word inside another.
            ("12 New Ireland Road, Taipei, Taiwan", None),
            ("1 Reed Lane, Fenton", None),
        ] {
            assert_eq!(home(address), tag, "{address}");
        }
    }

    #[test]
    fn every_country_of_the_eea_has_its_language_and_no_tag_stands_twice() {
        let mut seen = std::collections::BTreeSet::new();
        for country in COUNTRIES {
            assert!(!country.languages.is_empty() && !country.names.is_empty());
            for tag in country.tags {
                assert!(seen.insert(*tag), "{tag} stands twice");
            }
            assert!(country.names.iter().all(|name| *name == name.to_lowercase()), "{:?}", country.names);
        }
        for tag in super::super::EEA.iter().filter(|tag| !matches!(**tag, "EU" | "EEA")) {
            assert!(languages(tag).is_some(), "{tag}");
        }
        assert_eq!((languages("el"), languages("EU"), languages("JP")), (Some(&["el"][..]), None, None));
    }
}
