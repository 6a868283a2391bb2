//! Fixed words of each language: signal words, "Step", "Fig.". Knows nothing of how they are set.

mod fold;
mod tag;
mod words;

pub use words::{Word, WordSource};

use fold::fold;
use words::{Numbered, Words};

/// A language the program knows words for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Language {
    #[default]
    English,
    German,
    SwissGerman,
    French,
    Spanish,
    Italian,
    Dutch,
    Portuguese,
    BrazilianPortuguese,
    Polish,
    Czech,
    Swedish,
    Danish,
    Finnish,
    NorwegianBokmal,
    NorwegianNynorsk,
    Hungarian,
    Greek,
    Russian,
    Ukrainian,
    Turkish,
    Japanese,
    SimplifiedChinese,
    TraditionalChinese,
    Korean,
    Arabic,
    Hebrew,
    Romanian,
    Bulgarian,
    Slovak,
    Croatian,
    Slovenian,
    Estonian,
    Latvian,
    Lithuanian,
    Irish,
    Maltese,
    Serbian,
    SerbianLatin,
    Icelandic,
    Vietnamese,
    Indonesian,
    Persian,
    /// A language that is written from the right and for which there are no words: English ones are used.
    EnglishFromRight,
}

/// The grades of a safety message (ANSI Z535.6, ISO 3864-2).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum SignalWord {
    Danger,
    Warning,
    Caution,
    Notice,
}

/// What an aside calls itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum AsideWord {
    Note,
    Tip,
    Important,
}

impl SignalWord {
    /// From the gravest to the lightest, in the order of every language's list of words.
    pub const ALL: [SignalWord; 4] = [SignalWord::Danger, SignalWord::Warning, SignalWord::Caution, SignalWord::Notice];
}

impl Language {
    /// Those that there are words for.
    pub const ALL: [Language; 43] = [
        Language::English,
        Language::German,
        Language::SwissGerman,
        Language::French,
        Language::Spanish,
        Language::Italian,
        Language::Dutch,
        Language::Portuguese,
        Language::BrazilianPortuguese,
        Language::Polish,
        Language::Czech,
        Language::Swedish,
        Language::Danish,
        Language::Finnish,
        Language::NorwegianBokmal,
        Language::NorwegianNynorsk,
        Language::Hungarian,
        Language::Greek,
        Language::Russian,
        Language::Ukrainian,
        Language::Turkish,
        Language::Japanese,
        Language::SimplifiedChinese,
        Language::TraditionalChinese,
        Language::Korean,
        Language::Arabic,
        Language::Hebrew,
        Language::Romanian,
        Language::Bulgarian,
        Language::Slovak,
        Language::Croatian,
        Language::Slovenian,
        Language::Estonian,
        Language::Latvian,
        Language::Lithuanian,
        Language::Irish,
        Language::Maltese,
        Language::Serbian,
        Language::SerbianLatin,
        Language::Icelandic,
        Language::Vietnamese,
        Language::Indonesian,
        Language::Persian,
    ];

    /// What parts whole numbers from decimals, by Unicode's CLDR: 4.5 or 4,5.
    pub fn decimal_sign(self) -> char {
        let half = fixed_decimal::Decimal::try_from_str("1.5").ok();
        let locale = self.tag().parse::<icu_locale_core::Locale>().ok();
        let written = half.zip(locale).and_then(|(half, locale)| {
            let formatter = icu_decimal::DecimalFormatter::try_new(locale.into(), Default::default()).ok()?;
            Some(formatter.format(&half).to_string())
        });
        written.and_then(|written| written.chars().find(|sign| !sign.is_numeric())).unwrap_or('.')
    }

    /// Its BCP 47 tag.
    pub fn tag(self) -> &'static str {
        self.words().tag
    }

    /// One step of a procedure: "Step".
    pub fn step(self) -> &'static str {
        self.words().step.text
    }

    /// What stands before the number of a figure: "Fig.".
    pub fn fig(self) -> &'static str {
        self.words().fig.text
    }

    /// The name of a figure, never parted by a line's end: "Fig. 1", in Hungarian "1. ábra", in Japanese without a space.
    pub fn figure(self, number: u32) -> String {
        numbered(self.words().figures, self.fig(), &number.to_string())
    }

    /// What stands before and after the revision's own name: "Revision C", in Hungarian "C változat".
    pub fn around_revision(self) -> (String, String) {
        let whole = numbered(self.words().revisions, self.revision(), "\u{0}");
        whole.split_once('\u{0}').map(|(before, after)| (before.to_owned(), after.to_owned())).unwrap_or_default()
    }

    /// The text in capitals, as the language writes them (Unicode's SpecialCasing and CLDR): Turkish keeps the dot of its i, Greek leaves
    /// the tonos away, parts what it parted by a dialytika, and keeps the accent of a lone ή. German has a capital ẞ since 2017, Swiss
    /// German no ß.
    pub fn capitals(self, text: &str) -> String {
        let tag = match self {
            Language::Turkish => icu_locale_core::langid!("tr"),
            Language::Greek => icu_locale_core::langid!("el"),
            Language::Lithuanian => icu_locale_core::langid!("lt"),
            _ => icu_locale_core::LanguageIdentifier::UNKNOWN,
        };
        let sharp = (self == Language::German && text.contains('ß')).then(|| text.replace('ß', "ẞ"));
        icu_casemap::CaseMapper::new().uppercase_to_string(sharp.as_deref().unwrap_or(text), &tag).into_owned()
    }

    pub fn notes(self) -> &'static str {
        self.words().notes.text
    }

    pub fn page(self) -> &'static str {
        self.words().page.text
    }

    pub fn revision(self) -> &'static str {
        self.words().revision.text
    }

    pub fn issued(self) -> &'static str {
        self.words().issued.text
    }

    pub fn document(self) -> &'static str {
        self.words().document.text
    }

    /// What stands before the maker's name.
    pub fn made_by(self) -> &'static str {
        self.words().made_by.text
    }

    /// What stands before the name of who answers for the product in the EU: "Responsible person (EU):".
    pub fn responsible_in_eu(self) -> String {
        self.labelled(self.words().responsible.text, Some(self.words().union))
    }

    /// The same in the US.
    pub fn responsible_in_us(self) -> String {
        self.labelled(self.words().responsible.text, Some("US"))
    }

    /// What stands before the name of who brings the product in: "Importer:", "Importer (UK):".
    pub fn importer(self, market: Option<&str>) -> String {
        self.labelled(self.words().importer.text, market)
    }

    /// A label with its colon and the space after it: a wide colon has its own, and French has one before.
    fn labelled(self, label: &str, market: Option<&str>) -> String {
        let wide = matches!(self, Language::Japanese | Language::SimplifiedChinese | Language::TraditionalChinese);
        let market = match market {
            Some(market) if wide => format!("（{market}）"),
            Some(market) => format!(" ({market})"),
            None => String::new(),
        };
        let colon = match self {
            Language::French => "\u{a0}: ",
            _ if wide => "：",
            _ => ": ",
        };
        format!("{label}{market}{colon}")
    }

    /// What stands before the address of the lasting copy.
    pub fn lasting_copy(self) -> &'static str {
        self.words().lasting_copy.text
    }

    /// Said where something goes on that began before.
    pub fn continued(self) -> &'static str {
        self.words().continued.text
    }

    /// Said where something goes on overleaf.
    pub fn continues(self) -> &'static str {
        self.words().continues.text
    }

    /// What heads a list of the sections.
    pub fn contents(self) -> &'static str {
        self.words().contents.text
    }

    /// A link that leads past the list of the sections.
    pub fn skip(self) -> &'static str {
        self.words().skip.text
    }

    /// Where a unit's own value is found: on the strip that lay in its box.
    pub fn see_your_strip(self) -> &'static str {
        self.words().see_your_strip.text
    }

    /// The word that heads such an aside.
    pub fn aside(self, word: AsideWord) -> &'static str {
        self.words().asides[word as usize].text
    }

    /// Every word that the program writes, by the name it has in the header's `[words]`.
    pub fn written(self) -> Vec<(&'static str, Word)> {
        self.words().written()
    }

    /// The name of a lamp's colour, given in English; amber is yellow where English has two words.
    pub fn colour(self, english: &str) -> &'static str {
        let [red, yellow, green, blue, white] = self.words().colours.map(|word| word.text);
        match english {
            "red" => red,
            "amber" if self == Language::English => "amber",
            "green" => green,
            "blue" => blue,
            "white" => white,
            _ => yellow,
        }
    }

    /// Opening and closing quotation marks.
    pub fn quotes(self) -> (&'static str, &'static str) {
        self.words().quotes
    }

    /// The signal words in the order of [`SignalWord::ALL`], in capitals.
    pub fn signal_words(self) -> [&'static str; 4] {
        self.words().signal.map(|spellings| spellings[0].text)
    }

    /// The grade that a word stands for: in this language, else in English. Case, accents of Greek capitals and the dots of
    /// Turkish capitals make no difference.
    ///
    /// The language of the document decides first, because words collide: AVISO is a WARNING in Portuguese and a NOTICE in
    /// Spanish.
    pub fn signal(self, word: &str) -> Option<SignalWord> {
        let wanted = fold(word);
        [self, Language::English].into_iter().find_map(|language| language.own_signal(&wanted))
    }

    /// The grade of a signal word of this language, folded.
    fn own_signal(self, wanted: &str) -> Option<SignalWord> {
        let mut grades = self.words().signal.into_iter().zip(SignalWord::ALL);
        grades.find(|(spellings, _)| spellings.iter().any(|own| fold(own.text) == wanted)).map(|(_, grade)| grade)
    }

    /// Another language in which a word is a signal word though it is none in this one, with its grade. None for the words that head asides.
    pub fn signal_elsewhere(self, word: &str) -> Option<(Language, SignalWord)> {
        let wanted = fold(word);
        if self.signal(word).is_some() || self.heads_an_aside(word) {
            return None;
        }
        Language::ALL.into_iter().find_map(|language| Some((language, language.own_signal(&wanted)?)))
    }

    /// Whether a word heads an aside in this language or in English: a note, a tip, something important.
    pub fn heads_an_aside(self, word: &str) -> bool {
        let wanted = fold(word);
        let words = [AsideWord::Note, AsideWord::Tip, AsideWord::Important];
        [self, Language::English].into_iter().any(|language| words.into_iter().any(|aside| fold(language.aside(aside)) == wanted))
    }

    /// Whether two words are one when they are compared as signal words are.
    pub fn same_word(one: &str, other: &str) -> bool {
        fold(one) == fold(other)
    }

    fn words(self) -> &'static Words {
        match self {
            Language::English | Language::EnglishFromRight => &words::western::ENGLISH,
            Language::German => &words::western::GERMAN,
            Language::SwissGerman => &words::western::SWISS_GERMAN,
            Language::French => &words::western::FRENCH,
            Language::Spanish => &words::western::SPANISH,
            Language::Italian => &words::western::ITALIAN,
            Language::Dutch => &words::western::DUTCH,
            Language::Portuguese => &words::western::PORTUGUESE,
            Language::BrazilianPortuguese => &words::western::BRAZILIAN_PORTUGUESE,
            Language::Polish => &words::central::POLISH,
            Language::Czech => &words::central::CZECH,
            Language::Swedish => &words::northern::SWEDISH,
            Language::Danish => &words::northern::DANISH,
            Language::Finnish => &words::northern::FINNISH,
            Language::NorwegianBokmal => &words::northern::NORWEGIAN_BOKMAL,
            Language::NorwegianNynorsk => &words::northern::NORWEGIAN_NYNORSK,
            Language::Hungarian => &words::central::HUNGARIAN,
            Language::Greek => &words::eastern::GREEK,
            Language::Russian => &words::eastern::RUSSIAN,
            Language::Ukrainian => &words::eastern::UKRAINIAN,
            Language::Turkish => &words::eastern::TURKISH,
            Language::Japanese => &words::further::JAPANESE,
            Language::SimplifiedChinese => &words::further::SIMPLIFIED_CHINESE,
            Language::TraditionalChinese => &words::further::TRADITIONAL_CHINESE,
            Language::Korean => &words::further::KOREAN,
            Language::Arabic => &words::further::ARABIC,
            Language::Hebrew => &words::further::HEBREW,
            Language::Romanian => &words::western::ROMANIAN,
            Language::Bulgarian => &words::eastern::BULGARIAN,
            Language::Slovak => &words::central::SLOVAK,
            Language::Croatian => &words::central::CROATIAN,
            Language::Slovenian => &words::central::SLOVENIAN,
            Language::Estonian => &words::northern::ESTONIAN,
            Language::Latvian => &words::northern::LATVIAN,
            Language::Lithuanian => &words::northern::LITHUANIAN,
            Language::Irish => &words::western::IRISH,
            Language::Maltese => &words::western::MALTESE,
            Language::Serbian => &words::eastern::SERBIAN,
            Language::SerbianLatin => &words::central::SERBIAN_LATIN,
            Language::Icelandic => &words::northern::ICELANDIC,
            Language::Vietnamese => &words::further::VIETNAMESE,
            Language::Indonesian => &words::further::INDONESIAN,
            Language::Persian => &words::further::PERSIAN,
        }
    }
}

/// A word with its number.
fn numbered(how: Numbered, word: &str, number: &str) -> String {
    match how {
        Numbered::After => format!("{word}\u{a0}{number}"),
        Numbered::Joined => format!("{word}\u{2060}{number}"),
        Numbered::Before => format!("{number}\u{a0}{word}"),
        Numbered::BeforeWithPoint => format!("{number}.\u{a0}{word}"),
    }
}

#[cfg(test)]
mod tests;
