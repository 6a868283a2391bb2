//! What a line from the scanner means: whose key it is, whose strip's code, or why it is neither.

use std::collections::{BTreeMap, BTreeSet};

/// Longest line that is looked at, bytes; a code holds less.
const LONGEST: usize = 4096;

/// A unit as scanners see it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UnitCodes {
    pub key: String,
    /// What the codes on its strip say that carry the key.
    pub on_strip: Vec<String>,
}

/// What a line means.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Meaning {
    /// A unit's key, which stands on the product.
    Unit(usize),
    /// A code of a unit's strip.
    Strip(usize),
    /// Both: the strip carries the bare key.
    Either(usize),
    /// Nothing was scanned.
    Nothing,
    /// A word for the bench itself: `/again`.
    Word(String),
    /// Several codes in one line: an Enter was dropped.
    Several,
    /// Not a key, but one of these looks so: another case, O for 0.
    Alike(usize),
    /// A key with other letters around it.
    Around {
        unit: usize,
        before: String,
        after: String,
    },
    Unknown,
}

/// What may go wrong with these keys at a scanner.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Trap {
    /// They differ only in case, or in letters that look alike.
    Alike(String, String),
    /// One is the other with letters left off: a scan that drops some is taken for another unit.
    Shorter { key: String, of: String },
    /// Strip and product carry the same code, so that a second scan of the product is taken for one of the strip.
    BareKey(String),
    /// A code of one strip is a code of another, or another's key.
    Shared(String, String),
}

/// All units of a run, by what a scanner may say of them.
#[derive(Clone, Debug, Default)]
pub struct Codes {
    units: Vec<UnitCodes>,
    meanings: BTreeMap<String, Meaning>,
    folded: BTreeMap<String, usize>,
    prefix: String,
    longest: usize,
}

impl Codes {
    /// `prefix`: what this scanner writes before every code.
    pub fn new(units: Vec<UnitCodes>, prefix: &str) -> Codes {
        let mut codes = Codes { prefix: prefix.to_owned(), ..Codes::default() };
        for (index, unit) in units.iter().enumerate() {
            codes.meanings.insert(unit.key.clone(), Meaning::Unit(index));
            codes.folded.entry(folded(&unit.key)).or_insert(index);
        }
        for (index, unit) in units.iter().enumerate() {
            for code in &unit.on_strip {
                let meaning = if *code == unit.key { Meaning::Either(index) } else { Meaning::Strip(index) };
                // A key goes before a code of another strip: the run was warned of it.
                let place = codes.meanings.entry(code.clone()).or_insert_with(|| meaning.clone());
                if *place == Meaning::Unit(index) {
                    *place = meaning;
                }
            }
        }
        codes.longest = codes.meanings.keys().map(String::len).max().unwrap_or(0);
        codes.units = units;
        codes
    }

    pub fn units(&self) -> &[UnitCodes] {
        &self.units
    }

    /// Reads a line: control letters, white space, the scanner's own prefix and the three letters that say which kind of code it was
    /// (ISO/IEC 15424: `]C0`, `]Q1`; its form from memory) are taken off. Returns it with what it means.
    pub fn read(&self, line: &str) -> (String, Meaning) {
        let kept: String = line.chars().take(LONGEST).filter(|letter| !letter.is_control() && *letter != '\u{feff}').collect();
        let text = kept.trim();
        let text = text.strip_prefix(self.prefix.as_str()).unwrap_or(text).trim();
        let text = if self.meanings.contains_key(text) { text } else { without_symbology(text) };
        (text.to_owned(), self.meaning(text))
    }

    fn meaning(&self, text: &str) -> Meaning {
        if text.is_empty() {
            return Meaning::Nothing;
        }
        if let Some(meaning) = self.meanings.get(text) {
            return meaning.clone();
        }
        if let Some(word) = text.strip_prefix('/').filter(|word| word.bytes().all(|byte| byte.is_ascii_alphabetic())) {
            return Meaning::Word(word.to_ascii_lowercase());
        }
        // Twice the same: the scanner doubled it. Twice another: an Enter was dropped.
        if let Some(half) = half(text)
            && let Some(meaning) = self.meanings.get(half)
        {
            return meaning.clone();
        }
        match self.inside(text) {
            Inside::Several => return Meaning::Several,
            Inside::One(unit, before, after) => return Meaning::Around { unit, before, after },
            Inside::None => {}
        }
        self.folded.get(&folded(text)).map_or(Meaning::Unknown, |unit| Meaning::Alike(*unit))
    }

    /// The codes that stand in a line, each as long as it may be.
    fn inside(&self, text: &str) -> Inside {
        let mut found: Vec<(usize, usize, usize)> = Vec::new();
        let mut at = 0;
        while at < text.len() {
            let longest = (1..=self.longest.min(text.len() - at)).rev().find_map(|length| {
                let part = text.get(at..at + length)?;
                match self.meanings.get(part)? {
                    // One letter or two stand in anything.
                    Meaning::Unit(unit) | Meaning::Strip(unit) | Meaning::Either(unit) if length > 2 => Some((*unit, length)),
                    _ => None,
                }
            });
            match longest {
                Some((unit, length)) => {
                    found.push((unit, at, length));
                    at += length;
                }
                None => at += 1,
            }
        }
        match found.as_slice() {
            [] => Inside::None,
            [(unit, at, length)] => {
                let part = |range: std::ops::Range<usize>| text.get(range).unwrap_or_default().to_owned();
                Inside::One(*unit, part(0..*at), part(at + length..text.len()))
            }
            _ => Inside::Several,
        }
    }

    /// What to warn of before the first scan, at most `most` of them.
    pub fn traps(&self, most: usize) -> Vec<Trap> {
        let mut traps = Vec::new();
        let mut folds: BTreeMap<String, &str> = BTreeMap::new();
        let keys: BTreeSet<&str> = self.units.iter().map(|unit| unit.key.as_str()).collect();
        let mut owners: BTreeMap<&str, &str> = BTreeMap::new();
        for unit in &self.units {
            if let Some(other) = folds.insert(folded(&unit.key), &unit.key) {
                traps.push(Trap::Alike(other.to_owned(), unit.key.clone()));
            }
            let ends = unit.key.char_indices().map(|(at, _)| at).skip(1);
            if let Some(shorter) = ends.filter_map(|at| unit.key.get(..at)).find(|part| keys.contains(part)) {
                traps.push(Trap::Shorter { key: shorter.to_owned(), of: unit.key.clone() });
            }
            for code in &unit.on_strip {
                if *code == unit.key {
                    if !traps.iter().any(|trap| matches!(trap, Trap::BareKey(_))) {
                        traps.push(Trap::BareKey(unit.key.clone()));
                    }
                } else if keys.contains(code.as_str()) {
                    traps.push(Trap::Shared(unit.key.clone(), code.clone()));
                }
                match owners.insert(code, &unit.key) {
                    Some(other) if other != unit.key => traps.push(Trap::Shared(other.to_owned(), unit.key.clone())),
                    _ => {}
                }
            }
            if traps.len() >= most {
                break;
            }
        }
        traps.truncate(most);
        traps
    }
}

enum Inside {
    None,
    One(usize, String, String),
    Several,
}

/// The first half of a text that is the same twice.
fn half(text: &str) -> Option<&str> {
    let (first, second) = (text.get(..text.len() / 2)?, text.get(text.len() / 2..)?);
    (first == second).then_some(first)
}

/// `]C0` and its like stand before what was scanned, where a scanner is set so.
fn without_symbology(text: &str) -> &str {
    let mut letters = text.chars();
    let is_one = letters.next() == Some(']')
        && letters.next().is_some_and(|letter| letter.is_ascii_alphabetic())
        && letters.next().is_some_and(|letter| letter.is_ascii_alphanumeric());
    if is_one { letters.as_str().trim() } else { text }
}

/// Letters that a person or a badly set scanner takes for one another, as one.
fn folded(key: &str) -> String {
    let alike = |letter: char| match letter {
        'o' => '0',
        'i' | 'l' | '|' => '1',
        other => other,
    };
    key.chars().flat_map(char::to_lowercase).map(alike).collect()
}

impl Trap {
    /// A line of warning, and what to do.
    pub fn words(&self) -> (String, &'static str) {
        match self {
            Trap::Alike(one, other) => (
                format!("the keys {one} and {other} look alike to a scanner or to whoever types one"),
                "let keys differ in more than case, O and 0, I, l and 1",
            ),
            Trap::Shorter { key, of } => (
                format!("the key {key} is {of} with its end left off: a scan that drops letters is taken for it"),
                "give all keys the same length",
            ),
            Trap::BareKey(key) => (
                format!(
                    "the strip carries the bare key ({key}), as the product does: a second scan of the product is taken for one of the strip"
                ),
                "let the strip's code say more than the key, as S-{{ unit.serial }} or an address that ends in it",
            ),
            Trap::Shared(one, other) => {
                (format!("a code on the strip of {one} is one of {other} too"), "let each strip's code be its own")
            }
        }
    }
}

/// Whether a code carries a key: as a whole, not as a part of a longer number.
pub fn carries(code: &str, key: &str) -> bool {
    let around = |letter: Option<char>| letter.is_none_or(|letter| !letter.is_alphanumeric());
    !key.is_empty()
        && code.match_indices(key).any(|(at, _)| {
            around(code.get(..at).and_then(|before| before.chars().next_back()))
                && around(code.get(at + key.len()..).and_then(|after| after.chars().next()))
        })
}

impl UnitCodes {
    /// Of all codes on a strip those that carry its unit's key.
    pub fn of(key: &str, on_strip: impl IntoIterator<Item = String>) -> UnitCodes {
        let mut on_strip: Vec<String> =
            on_strip.into_iter().map(|code| code.trim().to_owned()).filter(|code| carries(code, key)).collect();
        on_strip.dedup();
        UnitCodes { key: key.to_owned(), on_strip }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn codes(keys: &[&str], code: fn(&str) -> String) -> Codes {
        Codes::new(keys.iter().map(|key| UnitCodes { key: (*key).to_owned(), on_strip: vec![code(key)] }).collect(), "")
    }

    #[test]
    fn what_a_scanner_adds_doubles_and_drops() {
        let heron = codes(&["HRN-0001", "HRN-0002", "HRN-0010"], |key| format!("S-{key}"));
        let means = |line: &str| heron.read(line).1;
        assert_eq!(means("HRN-0001"), Meaning::Unit(0));
        assert_eq!(means("\u{2}HRN-0001\u{3}\r"), Meaning::Unit(0));
        assert_eq!(means("]C0HRN-0001"), Meaning::Unit(0));
        assert_eq!(means(" S-HRN-0002 "), Meaning::Strip(1));
        assert_eq!(means("HRN-0001HRN-0001"), Meaning::Unit(0));
        assert_eq!(means("HRN-0001HRN-0002"), Meaning::Several);
        assert_eq!(means("HRN-0001S-HRN-0001"), Meaning::Several);
        assert_eq!(means("HRN-000"), Meaning::Unknown);
        assert_eq!(means("hrn-0001"), Meaning::Alike(0));
        assert_eq!(means("HRN-OO01"), Meaning::Alike(0));
        assert_eq!(means("X7HRN-0010"), Meaning::Around { unit: 2, before: "X7".into(), after: String::new() });
        assert_eq!(means(""), Meaning::Nothing);
        assert_eq!(means("/AGAIN"), Meaning::Word("again".into()));
        assert_eq!(Codes::new(heron.units().to_vec(), "X7").read("X7HRN-0010").1, Meaning::Unit(2));
        assert_eq!(codes(&["7"], |key| key.to_owned()).read("7").1, Meaning::Either(0));
    }

    #[test]
    fn keys_that_are_traps_are_named() {
        let traps = codes(&["A0", "AO", "A01"], |key| key.to_owned()).traps(9);
        assert!(traps.contains(&Trap::Alike("A0".into(), "AO".into())), "{traps:?}");
        assert!(traps.contains(&Trap::Shorter { key: "A0".into(), of: "A01".into() }), "{traps:?}");
        assert!(traps.contains(&Trap::BareKey("A0".into())), "{traps:?}");
        assert_eq!(codes(&["HRN-0001", "HRN-0002"], |key| format!("S-{key}")).traps(9), []);
        let shared = codes(&["HRN-0001", "HRN-0002"], |_| "HRN-0001/HRN-0002".into()).traps(9);
        assert!(matches!(shared.as_slice(), [Trap::Shared(..)]), "{shared:?}");
    }

    #[test]
    fn a_code_carries_a_key_as_a_whole() {
        assert!(carries("https://example.com/heron?unit=HRN-1", "HRN-1") && carries("HRN-1", "HRN-1"));
        assert!(!carries("https://example.com/HRN-10", "HRN-1") && !carries("XHRN-1", "HRN-1") && !carries("", ""));
    }

    proptest! {
        #[test]
        fn no_line_is_taken_for_a_unit_that_it_does_not_name(line in "\\PC{0,40}") {
            let heron = codes(&["HRN-0001", "HRN-0002", "7"], |key| format!("S-{key}"));
            let (text, meaning) = heron.read(&line);
            if let Meaning::Unit(unit) | Meaning::Strip(unit) | Meaning::Either(unit) = meaning {
                prop_assert!(text.contains(&heron.units()[unit].key));
            }
        }
    }
}
