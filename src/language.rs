//! Fixed words of each language: signal words, "Step", "Fig.". Knows nothing of how they are set.

/// A language the program knows words for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Language {
    #[default]
    English,
    German,
    French,
    Spanish,
    Italian,
    Dutch,
    Portuguese,
    Polish,
    Czech,
    Swedish,
    Danish,
    Finnish,
    NorwegianBokmal,
    Hungarian,
    Greek,
    Russian,
    Ukrainian,
    Turkish,
    Japanese,
    SimplifiedChinese,
    Korean,
    Arabic,
    Hebrew,
}

impl Language {
    /// Whether it is written from right to left.
    pub fn is_rtl(self) -> bool {
        matches!(self, Language::Arabic | Language::Hebrew)
    }

    /// Its BCP 47 tag.
    pub fn tag(self) -> &'static str {
        match self {
            Language::English => "en",
            Language::German => "de",
            Language::French => "fr",
            Language::Spanish => "es",
            Language::Italian => "it",
            Language::Dutch => "nl",
            Language::Portuguese => "pt",
            Language::Polish => "pl",
            Language::Czech => "cs",
            Language::Swedish => "sv",
            Language::Danish => "da",
            Language::Finnish => "fi",
            Language::NorwegianBokmal => "nb",
            Language::Hungarian => "hu",
            Language::Greek => "el",
            Language::Russian => "ru",
            Language::Ukrainian => "uk",
            Language::Turkish => "tr",
            Language::Japanese => "ja",
            Language::SimplifiedChinese => "zh-Hans",
            Language::Korean => "ko",
            Language::Arabic => "ar",
            Language::Hebrew => "he",
        }
    }
}

/// The grades of a safety message (ANSI Z535.6, ISO 3864-2).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum SignalWord {
    Danger,
    Warning,
    Caution,
    Notice,
}
