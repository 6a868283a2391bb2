//! Words that rules look for, one table a language. A language without a table is judged by signs and structure alone: where
//! a rule would have to guess at words, it stays silent.
//!
//! An entry matches where a word begins with it (`burn` finds "burns" and "burning"); one that begins with `*` matches inside words too,
//! for languages that compound; one that ends with `.` is a whole word. Text is compared in lower case.

mod de;
mod en;
mod fr;
mod law;

pub use law::Law;

/// What a rule may ask about a language.
#[derive(Debug)]
pub struct Words {
    /// Primary subtag of BCP 47.
    pub tag: &'static str,
    /// A person is hurt.
    pub injury: &'static [&'static str],
    /// Looks like an injury and is none ("burn out").
    pub no_injury: &'static [&'static str],
    /// Only a thing suffers.
    pub property: &'static [&'static str],
    /// Something bad happens, to whomever: what a safety message must say.
    pub consequence: &'static [&'static str],
    /// Something is not as it should be: what a red light says.
    pub fault: &'static [&'static str],
    /// What to do or not to do against it.
    pub avoidance: &'static [&'static str],
    pub hazards: &'static [HazardWords],
    /// What the product is for.
    pub purpose: &'static [&'static str],
    /// What is in the box.
    pub contents: &'static [&'static str],
    pub disposal: &'static [&'static str],
    pub battery: &'static [&'static str],
    /// What is to be done with a battery at its end.
    pub battery_end: &'static [&'static str],
    pub radio: &'static [&'static str],
    /// A declaration of conformity is named.
    pub declaration: &'static [&'static str],
    /// The text speaks of a supply.
    pub supply: &'static [&'static str],
    /// Whether a sentence, in lower case, tells the reader to act. Waiting, checking and "do not" are no actions.
    pub acts: fn(&str) -> bool,
    /// Joins a second action to a first.
    pub then: &'static [&'static str],
    /// Says that one thing comes after another.
    pub sequence: &'static [&'static str],
    /// What laws ask for.
    pub law: &'static Law,
}

#[derive(Debug)]
pub struct HazardWords {
    pub hazard: &'static str,
    /// In a safety message that covers it.
    pub said: &'static [&'static str],
    /// In a step that meets it.
    pub met: &'static [&'static str],
}

/// A hazard that the header may declare, and the sign that stands for it.
#[derive(Debug)]
pub struct Hazard {
    pub name: &'static str,
    pub sign: Option<&'static str>,
}

/// Every hazard the rules know. The first are those of the signs.
pub const HAZARDS: &[Hazard] = &[
    Hazard { name: "electricity", sign: Some("electricity") },
    Hazard { name: "hot-surface", sign: Some("hot-surface") },
    Hazard { name: "hot-liquid", sign: Some("hot-liquid") },
    Hazard { name: "pinch", sign: Some("pinch") },
    Hazard { name: "lithium-battery", sign: Some("lithium-battery") },
    Hazard { name: "magnet", sign: Some("magnet") },
    Hazard { name: "laser", sign: Some("laser") },
    Hazard { name: "sharp", sign: Some("sharp") },
    Hazard { name: "choking", sign: Some("choking") },
    Hazard { name: "button-cell", sign: None },
    Hazard { name: "strangulation", sign: None },
    Hazard { name: "fire", sign: None },
    Hazard { name: "fumes", sign: None },
    Hazard { name: "chemical", sign: None },
    Hazard { name: "bright-light", sign: None },
    Hazard { name: "noise", sign: None },
    Hazard { name: "tip-over", sign: None },
    Hazard { name: "moving-parts", sign: None },
    Hazard { name: "eye-injury", sign: None },
    Hazard { name: "allergy", sign: None },
];

const ALL: &[&Words] = &[&en::WORDS, &de::WORDS, &fr::WORDS];

/// The table of a BCP 47 tag, by its primary subtag.
pub fn of(tag: &str) -> Option<&'static Words> {
    let primary = tag.split(['-', '_']).next().unwrap_or_default();
    ALL.iter().copied().find(|words| words.tag.eq_ignore_ascii_case(primary))
}

/// Tags of the languages that have a table.
pub fn tags() -> impl Iterator<Item = &'static str> {
    ALL.iter().map(|words| words.tag)
}

impl Words {
    pub fn hazard(&self, name: &str) -> Option<&HazardWords> {
        self.hazards.iter().find(|hazard| hazard.hazard == name)
    }

    /// A person is hurt by what the text says.
    pub fn hurts(&self, lower: &str) -> bool {
        let mut text = lower.to_string();
        for phrase in self.no_injury {
            text = text.replace(phrase, " ");
        }
        says(&text, self.injury)
    }
}

/// Whether a text in lower case holds one of the entries.
pub fn says(lower: &str, entries: &[&str]) -> bool {
    entries.iter().any(|entry| find(lower, entry).is_some())
}

/// Where an entry first stands in a text in lower case.
pub fn find(lower: &str, entry: &str) -> Option<usize> {
    if let Some(part) = entry.strip_prefix('*') {
        return lower.find(part);
    }
    let (word, whole) = match entry.strip_suffix('.') {
        Some(word) => (word, true),
        None => (entry, false),
    };
    let letter = |character: Option<char>| character.is_some_and(char::is_alphanumeric);
    lower
        .match_indices(word)
        .find(|(at, _)| {
            let (before, after) = (lower[..*at].chars().next_back(), lower[at + word.len()..].chars().next());
            !(letter(before) || whole && letter(after))
        })
        .map(|(at, _)| at)
}

/// Sentences of a text in lower case. A full stop ends one when a space follows it.
pub fn sentences(lower: &str) -> impl Iterator<Item = &str> {
    let ends = |text: &str, at: usize| text[at..].chars().nth(1).is_none_or(char::is_whitespace);
    let mut rest = lower;
    std::iter::from_fn(move || {
        let text = rest.trim_start();
        if text.is_empty() {
            return None;
        }
        let end = text.char_indices().find(|&(at, c)| matches!(c, '.' | '!' | '?' | ';' | '\u{3002}') && ends(text, at));
        let cut = end.map_or(text.len(), |(at, c)| at + c.len_utf8());
        rest = &text[cut..];
        Some(text[..cut].trim_end_matches(['.', '!', '?', ';', '\u{3002}']))
    })
}

/// The first word of a sentence, and the rest; words like "then" and "gently" before it are passed over.
pub fn first_word<'a>(sentence: &'a str, passed: &[&str]) -> (&'a str, &'a str) {
    let mut rest = sentence.trim_start_matches(|c: char| !c.is_alphanumeric());
    loop {
        let end = rest.find(|c: char| !c.is_alphanumeric() && c != '-' && c != '\'').unwrap_or(rest.len());
        let (word, after) = rest.split_at(end);
        if word.is_empty() || !passed.contains(&word) {
            return (word, after);
        }
        rest = after.trim_start_matches(|c: char| !c.is_alphanumeric());
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_entry_matches_where_a_word_begins() {
        assert!(says("it burns you", &["burn"]));
        assert!(!says("a heartburn pill", &["burn"]));
        assert!(says("brandverletzung", &["*verletz"]));
        assert!(says("12 v dc supply", &["dc."]) && !says("12 v dcx", &["dc."]));
        assert_eq!(find("ab écran cd", "écran"), Some(3));
    }

    #[test]
    fn a_full_stop_inside_a_number_ends_no_sentence() {
        assert_eq!(sentences("turn it to 2.5. wait! done").collect::<Vec<_>>(), ["turn it to 2.5", "wait", "done"]);
        assert_eq!(sentences("  ").count(), 0);
    }

    #[test]
    fn words_before_the_verb_are_passed_over() {
        assert_eq!(first_word("then, gently press it", &["then", "gently"]).0, "press");
        assert_eq!(first_word("", &["then"]).0, "");
    }

    #[test]
    fn each_table_knows_every_hazard_and_no_other() {
        for words in ALL {
            let known: Vec<&str> = words.hazards.iter().map(|hazard| hazard.hazard).collect();
            let names: Vec<&str> = HAZARDS.iter().map(|hazard| hazard.name).collect();
            assert_eq!(known, names, "{}", words.tag);
            let entries =
                [words.injury, words.property, words.consequence, words.fault, words.avoidance, words.purpose, words.disposal];
            for entry in entries.into_iter().flatten() {
                assert_eq!(*entry, entry.to_lowercase(), "{}: entries are in lower case", words.tag);
            }
        }
    }

    /// Words for injuries that public manuals use.
    #[test]
    fn an_injury_is_found_however_it_is_told() {
        for (tag, texts) in [
            (
                "en",
                &[
                    "danger of strangulation",
                    "a lethal voltage",
                    "children can drown",
                    "it can fracture a bone",
                    "risk of frostbite",
                ][..],
            ),
            (
                "de",
                &[
                    "es besteht lebensgefahr",
                    "führt zum tode",
                    "stromschläge",
                    "verätzungen der haut",
                    "gehörschaden",
                    "augenschaden",
                ],
            ),
            (
                "fr",
                &["risque de suffocation", "asphyxie", "décès", "cécité", "noyade", "décharges électriques", "chocs électriques"],
            ),
        ] {
            let words = of(tag).unwrap();
            for text in texts {
                assert!(words.hurts(text) && says(text, words.consequence), "{tag}: {text}");
            }
        }
        // Wear is no injury, and a word that begins with "us" is no wear.
        assert!(says("le feutre est usé", of("fr").unwrap().property) && !says("us 220", of("fr").unwrap().property));
    }

    #[test]
    fn a_tag_is_known_by_its_primary_subtag() {
        assert_eq!(of("de-AT").map(|words| words.tag), Some("de"));
        assert!(of("ja").is_none() && of("").is_none());
        assert_eq!(tags().collect::<Vec<_>>(), ["en", "de", "fr"]);
    }
}
