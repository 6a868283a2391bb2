//! The words that are printed: the writer's own where there are some, else those of the language's table.

use std::collections::BTreeMap;

use super::fold::fold;
use super::words::{Numbered, WORD_NAMES, Word};
use super::{AsideWord, Language, SignalWord};

/// Words of the writer's own, by the language they stand in and the name of the word they are written in the stead of.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash)]
pub struct OwnWords(BTreeMap<(Language, &'static str), String>);

/// Where the writer has none.
pub static NONE_OWN: OwnWords = OwnWords(BTreeMap::new());

impl OwnWords {
    /// # Errors
    /// `None` when no word has that name.
    pub fn insert(&mut self, language: Language, name: &str, word: String) -> Option<()> {
        let name = WORD_NAMES.into_iter().find(|known| *known == name)?;
        self.0.insert((language, name), word);
        Some(())
    }

    pub fn get(&self, language: Language, name: &'static str) -> Option<&str> {
        self.0.get(&(language, name)).map(String::as_str)
    }

    /// All of them, by language.
    pub fn iter(&self) -> impl Iterator<Item = (Language, &'static str, &str)> {
        self.0.iter().map(|((language, name), word)| (*language, *name, word.as_str()))
    }
}

/// A language, as a manual speaks it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Wording<'a> {
    pub language: Language,
    own: &'a OwnWords,
}

/// Where a word of the writer's own takes its number.
const NUMBER: &str = "{n}";

impl<'a> Wording<'a> {
    pub fn new(language: Language, own: &'a OwnWords) -> Wording<'a> {
        Wording { language, own }
    }

    /// The word of a name: the writer's, else the table's.
    fn word(self, name: &'static str, table: Word) -> &'a str {
        self.own.get(self.language, name).unwrap_or(table.text)
    }

    /// The name of a figure, never parted by a line's end: "Fig. 1", in Hungarian "1. ábra", in Japanese without a space.
    pub fn figure(self, number: u32) -> String {
        let words = self.language.words();
        numbered(words.figures, self.word("figure", words.fig), &number.to_string())
    }

    /// The word alone.
    pub fn revision(self) -> String {
        self.word("revision", self.language.words().revision).replace(NUMBER, "").trim().to_owned()
    }

    /// What stands before and after the revision's own name: "Revision C", in Hungarian "C változat".
    pub fn around_revision(self) -> (String, String) {
        let words = self.language.words();
        let whole = numbered(words.revisions, self.word("revision", words.revision), "\u{0}");
        whole.split_once('\u{0}').map(|(before, after)| (before.to_owned(), after.to_owned())).unwrap_or_default()
    }

    /// What stands before the name of who answers for the product in the EU: "Responsible person (EU):".
    pub fn responsible_in_eu(self) -> String {
        self.labelled("responsible", self.language.words().responsible, Some(self.language.words().union))
    }

    /// The same in the US.
    pub fn responsible_in_us(self) -> String {
        self.labelled("responsible", self.language.words().responsible, Some("US"))
    }

    /// What stands before the name of who brings the product in: "Importer:", "Importer (UK):".
    pub fn importer(self, market: Option<&str>) -> String {
        self.labelled("importer", self.language.words().importer, market)
    }

    /// A label with its colon and the space after it: a wide colon has its own, and French has one before.
    fn labelled(self, name: &'static str, table: Word, market: Option<&str>) -> String {
        let label = self.word(name, table).trim_end_matches([':', '：', ' ', '\u{a0}', '\u{202f}']);
        let wide = matches!(self.language, Language::Japanese | Language::SimplifiedChinese | Language::TraditionalChinese);
        let market = match market {
            Some(market) if wide => format!("（{market}）"),
            Some(market) => format!(" ({market})"),
            None => String::new(),
        };
        let colon = match self.language {
            Language::French => "\u{a0}: ",
            _ if wide => "：",
            _ => ": ",
        };
        format!("{label}{market}{colon}")
    }

    /// What stands before the address of the lasting copy.
    pub fn lasting_copy(self) -> &'a str {
        self.word("durable_copy", self.language.words().lasting_copy)
    }

    /// What heads a list of the sections.
    pub fn contents(self) -> &'a str {
        self.word("contents", self.language.words().contents)
    }

    /// A link that leads past the list of the sections.
    pub fn skip(self) -> &'a str {
        self.word("skip", self.language.words().skip)
    }

    /// Where a unit's own value is found: on the strip that lay in its box.
    pub fn see_your_strip(self) -> &'a str {
        self.word("strip", self.language.words().see_your_strip)
    }

    /// The word that heads such an aside.
    pub fn aside(self, word: AsideWord) -> &'a str {
        self.word(word.name(), self.language.words().asides[word as usize])
    }

    /// The name of a lamp's colour, given in English; amber is yellow where English has two words.
    pub fn colour(self, english: &str) -> &'a str {
        let [red, yellow, green, blue, white] = self.language.words().colours;
        match english {
            "red" => self.word("red", red),
            "amber" if self.language == Language::English => "amber",
            "green" => self.word("green", green),
            "blue" => self.word("blue", blue),
            "white" => self.word("white", white),
            _ => self.word("yellow", yellow),
        }
    }

    /// The signal words in the order of [`SignalWord::ALL`], in capitals where the writer has none of their own.
    pub fn signal_words(self) -> [&'a str; 4] {
        SignalWord::ALL.map(|grade| self.word(grade.name(), self.language.words().signal[grade as usize][0]))
    }

    /// The grade that a word stands for: the writer's own words decide first, then this language's, then English. Case, accents of Greek
    /// capitals and the dots of Turkish capitals make no difference.
    ///
    /// The language of the document decides before English, because words collide: AVISO is a WARNING in Portuguese and a NOTICE in
    /// Spanish.
    pub fn signal(self, word: &str) -> Option<SignalWord> {
        let wanted = fold(word);
        let own = SignalWord::ALL.into_iter().find(|grade| self.owns(grade.name(), &wanted));
        // A word that the writer heads notes with warns of nothing any more.
        if own.is_none() && AsideWord::ALL.into_iter().any(|aside| self.owns(aside.name(), &wanted)) {
            return None;
        }
        own.or_else(|| [self.language, Language::English].into_iter().find_map(|language| signal_of(language, &wanted)))
    }

    /// Whether the writer's own word of that name is this one, folded.
    fn owns(self, name: &'static str, wanted: &str) -> bool {
        self.own.get(self.language, name).is_some_and(|own| fold(own) == wanted)
    }

    /// Another language in which a word is a signal word though it is none in this one, with its grade. None for the words that head asides.
    pub fn signal_elsewhere(self, word: &str) -> Option<(Language, SignalWord)> {
        let wanted = fold(word);
        if self.signal(word).is_some() || self.heads_an_aside(word) {
            return None;
        }
        Language::ALL.into_iter().find_map(|language| Some((language, signal_of(language, &wanted)?)))
    }

    /// Whether a word heads an aside in this language or in English: a note, a tip, something important.
    pub fn heads_an_aside(self, word: &str) -> bool {
        let wanted = fold(word);
        [self, Language::English.wording()]
            .into_iter()
            .any(|wording| AsideWord::ALL.into_iter().any(|aside| fold(wording.aside(aside)) == wanted))
    }
}

/// The grade of a signal word of a language, folded.
fn signal_of(language: Language, wanted: &str) -> Option<SignalWord> {
    let mut grades = language.words().signal.into_iter().zip(SignalWord::ALL);
    grades.find(|(spellings, _)| spellings.iter().any(|own| fold(own.text) == wanted)).map(|(_, grade)| grade)
}

/// A word with its number. A word of the writer's own may say itself where its number stands.
fn numbered(how: Numbered, word: &str, number: &str) -> String {
    if word.contains(NUMBER) {
        return word.replacen(NUMBER, number, 1).replace(' ', "\u{a0}");
    }
    match how {
        Numbered::After => format!("{word}\u{a0}{number}"),
        Numbered::Joined => format!("{word}\u{2060}{number}"),
        Numbered::Before => format!("{number}\u{a0}{word}"),
        Numbered::BeforeWithPoint => format!("{number}.\u{a0}{word}"),
    }
}
