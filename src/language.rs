//! Fixed words of each language: signal words, "Step", "Fig.". Knows nothing of how they are set.

mod fold;
mod quantities;
mod tag;
mod wording;
mod words;

pub use quantities::{END_OF_ISOLATE, ISOLATE, by_quantity};
pub use wording::{NONE_OWN, OwnWords, Wording};
pub use words::{WORD_NAMES, Word, WordSource};

use fold::fold;
use words::Words;

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
    Thai,
    Hindi,
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

    /// As the header's `[words]` calls it.
    pub fn name(self) -> &'static str {
        match self {
            SignalWord::Danger => "danger",
            SignalWord::Warning => "warning",
            SignalWord::Caution => "caution",
            SignalWord::Notice => "notice",
        }
    }
}

impl AsideWord {
    pub const ALL: [AsideWord; 3] = [AsideWord::Note, AsideWord::Tip, AsideWord::Important];

    /// As the header's `[words]` calls it.
    pub fn name(self) -> &'static str {
        match self {
            AsideWord::Note => "note",
            AsideWord::Tip => "tip",
            AsideWord::Important => "important",
        }
    }
}

impl Language {
    /// Those that there are words for.
    pub const ALL: [Language; 45] = [
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
        Language::Thai,
        Language::Hindi,
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

    /// Its words where the writer has none of their own.
    pub fn wording(self) -> Wording<'static> {
        Wording::new(self, &NONE_OWN)
    }

    /// Its BCP 47 tag.
    pub fn tag(self) -> &'static str {
        self.words().tag
    }

    /// One step of a procedure: "Step".
    pub fn step(self) -> &'static str {
        self.words().step.text
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

    /// Said where something goes on that began before.
    pub fn continued(self) -> &'static str {
        self.words().continued.text
    }

    /// Said where something goes on overleaf.
    pub fn continues(self) -> &'static str {
        self.words().continues.text
    }

    /// The signal words of a grade; the first is the one that is printed, the others are understood.
    pub fn spellings(self, grade: SignalWord) -> &'static [Word] {
        self.words().signal[grade as usize]
    }

    /// Every word that the program writes, by the name it has in the header's `[words]`.
    pub fn written(self) -> Vec<(&'static str, Word)> {
        self.words().written()
    }

    /// Opening and closing quotation marks.
    pub fn quotes(self) -> (&'static str, &'static str) {
        self.words().quotes
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
            Language::Thai => &words::further::THAI,
            Language::Hindi => &words::further::HINDI,
        }
    }
}

#[cfg(test)]
mod tests;
