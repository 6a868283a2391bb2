//! Fixed words of each language: signal words, "Step", "Fig.". Knows nothing of how they are set.

mod asides;
mod copy;
mod words;

pub use asides::AsideWord;

use words::Words;

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
    BrazilianPortuguese,
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

/// The grades of a safety message (ANSI Z535.6, ISO 3864-2).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum SignalWord {
    Danger,
    Warning,
    Caution,
    Notice,
}

impl SignalWord {
    /// From the gravest to the lightest, in the order of every language's list of words.
    pub const ALL: [SignalWord; 4] = [SignalWord::Danger, SignalWord::Warning, SignalWord::Caution, SignalWord::Notice];
}

impl Language {
    pub const ALL: [Language; 24] = [
        Language::English,
        Language::German,
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
        Language::Hungarian,
        Language::Greek,
        Language::Russian,
        Language::Ukrainian,
        Language::Turkish,
        Language::Japanese,
        Language::SimplifiedChinese,
        Language::Korean,
        Language::Arabic,
        Language::Hebrew,
    ];

    /// The language of a BCP 47 tag: the primary subtag decides (`de-AT` is German). Chinese is known in simplified script only;
    /// both Norwegians get the words of Bokmål.
    ///
    /// # Errors
    /// `None` when the program has no words for it.
    pub fn from_tag(tag: &str) -> Option<Language> {
        let mut subtags = tag.trim().split(['-', '_']).map(str::to_ascii_lowercase);
        let primary = subtags.next()?;
        match primary.as_str() {
            "zh" => {
                let traditional = subtags.any(|subtag| matches!(subtag.as_str(), "hant" | "tw" | "hk" | "mo"));
                (!traditional).then_some(Language::SimplifiedChinese)
            }
            "pt" => Some(match subtags.any(|subtag| subtag == "br") {
                true => Language::BrazilianPortuguese,
                false => Language::Portuguese,
            }),
            "no" | "nn" => Some(Language::NorwegianBokmal),
            // The tag Hebrew had until 1989.
            "iw" => Some(Language::Hebrew),
            _ => Language::ALL.into_iter().find(|language| language.tag() == primary),
        }
    }

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
        match self {
            Language::English => "en",
            Language::German => "de",
            Language::French => "fr",
            Language::Spanish => "es",
            Language::Italian => "it",
            Language::Dutch => "nl",
            Language::Portuguese => "pt",
            Language::BrazilianPortuguese => "pt-BR",
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

    /// Whether it is written from right to left.
    pub fn is_rtl(self) -> bool {
        matches!(self, Language::Arabic | Language::Hebrew)
    }

    /// One step of a procedure: "Step".
    pub fn step(self) -> &'static str {
        self.words().step
    }

    /// What stands before the number of a figure: "Fig.".
    pub fn fig(self) -> &'static str {
        self.words().fig
    }

    /// The name of a figure, never parted by a line's end: "Fig. 1", in Hungarian "1. ábra", in Japanese without a space.
    pub fn figure(self, number: u32) -> String {
        let fig = self.fig();
        match self {
            Language::Hungarian => format!("{number}.\u{a0}{fig}"),
            Language::Japanese => format!("{fig}\u{2060}{number}"),
            _ => format!("{fig}\u{a0}{number}"),
        }
    }

    /// The text in capitals, as the language writes them: Turkish keeps the dot of its i, Greek leaves the tonos away.
    pub fn capitals(self, text: &str) -> String {
        match self {
            Language::Turkish => text.replace('i', "İ").to_uppercase(),
            Language::Greek => text.chars().flat_map(|character| without_tonos(character).to_uppercase()).collect(),
            _ => text.to_uppercase(),
        }
    }

    pub fn notes(self) -> &'static str {
        self.words().notes
    }

    pub fn page(self) -> &'static str {
        self.words().page
    }

    pub fn revision(self) -> &'static str {
        self.words().revision
    }

    pub fn issued(self) -> &'static str {
        self.words().issued
    }

    pub fn document(self) -> &'static str {
        self.words().document
    }

    /// What stands before the maker's name.
    pub fn made_by(self) -> &'static str {
        self.words().made_by
    }

    /// What stands before the name of who answers for the product in the EU: "Responsible person (EU):".
    pub fn responsible_in_eu(self) -> String {
        let union = match self {
            Language::French | Language::Spanish | Language::Italian | Language::Polish => "UE",
            Language::Portuguese | Language::BrazilianPortuguese => "UE",
            Language::Greek => "ΕΕ",
            Language::Russian => "ЕС",
            Language::Ukrainian => "ЄС",
            _ => "EU",
        };
        self.labelled(self.words().responsible, Some(union))
    }

    /// The same in the US.
    pub fn responsible_in_us(self) -> String {
        self.labelled(self.words().responsible, Some("US"))
    }

    /// What stands before the name of who brings the product in: "Importer:", "Importer (UK):".
    pub fn importer(self, market: Option<&str>) -> String {
        self.labelled(self.words().importer, market)
    }

    /// A label with its colon and the space after it: a wide colon has its own, and French has one before.
    fn labelled(self, label: &str, market: Option<&str>) -> String {
        let wide = matches!(self, Language::Japanese | Language::SimplifiedChinese);
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
        self.words().lasting_copy
    }

    /// Said where something goes on in the next panel or after a cut.
    pub fn continued(self) -> &'static str {
        self.words().continued
    }

    /// The name of a lamp's colour, given in English; amber is yellow where English has two words.
    pub fn colour(self, english: &str) -> &'static str {
        let [red, yellow, green, blue, white] = self.words().colours;
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
        self.words().signal.map(|spellings| spellings[0])
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
        grades.find(|(spellings, _)| spellings.iter().any(|own| fold(own) == wanted)).map(|(_, grade)| grade)
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
            Language::English => &words::ENGLISH,
            Language::German => &words::GERMAN,
            Language::French => &words::FRENCH,
            Language::Spanish => &words::SPANISH,
            Language::Italian => &words::ITALIAN,
            Language::Dutch => &words::DUTCH,
            Language::Portuguese => &words::PORTUGUESE,
            Language::BrazilianPortuguese => &words::BRAZILIAN_PORTUGUESE,
            Language::Polish => &words::POLISH,
            Language::Czech => &words::CZECH,
            Language::Swedish => &words::SWEDISH,
            Language::Danish => &words::DANISH,
            Language::Finnish => &words::FINNISH,
            Language::NorwegianBokmal => &words::NORWEGIAN_BOKMAL,
            Language::Hungarian => &words::HUNGARIAN,
            Language::Greek => &words::GREEK,
            Language::Russian => &words::RUSSIAN,
            Language::Ukrainian => &words::UKRAINIAN,
            Language::Turkish => &words::TURKISH,
            Language::Japanese => &words::JAPANESE,
            Language::SimplifiedChinese => &words::SIMPLIFIED_CHINESE,
            Language::Korean => &words::KOREAN,
            Language::Arabic => &words::ARABIC,
            Language::Hebrew => &words::HEBREW,
        }
    }
}

/// A word as it is compared: lower case, one space between its parts, without accents, the dot of a Turkish İ or a hamza on its letter.
fn fold(word: &str) -> String {
    let nfd = icu_normalizer::DecomposingNormalizerBorrowed::new_nfd();
    let mut folded = String::with_capacity(word.len());
    for part in word.split_whitespace() {
        if !folded.is_empty() {
            folded.push(' ');
        }
        let lower: String = part.chars().flat_map(char::to_lowercase).collect();
        folded.extend(nfd.normalize(&lower).chars().filter_map(|character| match character {
            // Combining marks of Latin, Greek, Cyrillic, Hebrew and Arabic.
            '\u{300}'..='\u{36f}' | '\u{591}'..='\u{5c7}' | '\u{64b}'..='\u{65f}' | '\u{670}' => None,
            'ı' => Some('i'),
            'ς' => Some('σ'),
            other => Some(other),
        }));
    }
    folded
}

/// A Greek letter without its stress mark; any other character as it is.
fn without_tonos(character: char) -> char {
    match character {
        'ά' | 'Ά' => 'α',
        'έ' | 'Έ' => 'ε',
        'ή' | 'Ή' => 'η',
        'ί' | 'Ί' => 'ι',
        'ΐ' => 'ϊ',
        'ό' | 'Ό' => 'ο',
        'ύ' | 'Ύ' => 'υ',
        'ΰ' => 'ϋ',
        'ώ' | 'Ώ' => 'ω',
        other => other,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_primary_subtag_decides() {
        for (tag, language) in [
            ("en", Language::English),
            ("de-AT", Language::German),
            ("pt-BR", Language::BrazilianPortuguese),
            ("pt-PT", Language::Portuguese),
            ("NB", Language::NorwegianBokmal),
            ("no", Language::NorwegianBokmal),
            ("zh-Hans-CN", Language::SimplifiedChinese),
            ("zh", Language::SimplifiedChinese),
            ("sr_Latn", Language::English),
        ] {
            assert_eq!(Language::from_tag(tag).unwrap_or_default(), language, "{tag}");
        }
        assert_eq!(Language::from_tag("zh-Hant"), None);
        assert_eq!(Language::from_tag("x-heron"), None);
        assert_eq!(Language::from_tag(""), None);
    }

    #[test]
    fn labels_have_the_colon_of_their_language() {
        assert_eq!(Language::English.responsible_in_eu(), "Responsible person (EU): ");
        assert_eq!(Language::Spanish.responsible_in_eu(), "Persona responsable (UE): ");
        assert_eq!(Language::French.importer(None), "Importateur\u{a0}: ");
        assert_eq!(Language::Japanese.importer(Some("UK")), "輸入者（UK）：");
        let mut seen = std::collections::BTreeSet::new();
        for language in Language::ALL {
            let (responsible, importer) = (language.responsible_in_us(), language.importer(None));
            assert!(responsible.contains("US") && responsible != importer, "{language:?}");
            seen.insert(responsible);
        }
        // Norwegian and Danish say the same, and both kinds of Portuguese, nobody else.
        assert_eq!(seen.len(), Language::ALL.len() - 2);
    }

    #[test]
    fn every_language_is_found_by_its_own_tag() {
        for language in Language::ALL {
            assert_eq!(Language::from_tag(language.tag()), Some(language));
        }
    }

    #[test]
    fn signal_words_stand_for_the_grades_of_the_standard() {
        // CHECKS.md, "Safety messages and signs" (memory; the writer's own words win), but for the words that were judged again since:
        // NOTA and NOTYFIKACJA only mean a note.
        for (tag, words) in [
            ("en", ["DANGER", "WARNING", "CAUTION", "NOTICE"]),
            ("de", ["GEFAHR", "WARNUNG", "VORSICHT", "HINWEIS"]),
            ("fr", ["DANGER", "AVERTISSEMENT", "ATTENTION", "AVIS"]),
            ("es", ["PELIGRO", "ADVERTENCIA", "PRECAUCIÓN", "AVISO"]),
            ("it", ["PERICOLO", "AVVERTENZA", "ATTENZIONE", "AVVISO"]),
            ("nl", ["GEVAAR", "WAARSCHUWING", "VOORZICHTIG", "LET OP"]),
            ("pt", ["PERIGO", "AVISO", "CUIDADO", "INFORMAÇÃO"]),
            ("pt-BR", ["PERIGO", "ADVERTÊNCIA", "CUIDADO", "AVISO"]),
            ("sv", ["FARA", "VARNING", "FÖRSIKTIGHET", "OBSERVERA"]),
            ("da", ["FARE", "ADVARSEL", "FORSIGTIG", "BEMÆRK"]),
            ("pl", ["NIEBEZPIECZEŃSTWO", "OSTRZEŻENIE", "UWAGA", "WAŻNE"]),
        ] {
            let language = Language::from_tag(tag).unwrap();
            assert_eq!(language.signal_words(), words);
        }
        for language in Language::ALL {
            for (word, grade) in language.signal_words().into_iter().zip(SignalWord::ALL) {
                assert_eq!(language.signal(word), Some(grade), "{word}");
                assert_eq!(language.signal(&word.to_lowercase()), Some(grade), "{word}");
            }
        }
    }

    /// Each grade's words are distinct from every other grade's and from the heading of notes, and found again with their country's marks
    /// around them and without accents.
    #[test]
    fn a_signal_word_says_one_grade_and_no_note() {
        for language in Language::ALL {
            let tag = language.tag();
            for (spellings, grade) in language.words().signal.into_iter().zip(SignalWord::ALL) {
                for word in spellings {
                    assert_eq!(language.signal(word), Some(grade), "{tag}: {word}");
                    assert!(!Language::same_word(word, language.notes()), "{tag}: {word} heads the notes");
                }
            }
        }
        for (tag, word, grade) in [
            ("es", "PRECAUCION", SignalWord::Caution),
            ("pl", "NIEBEZPIECZENSTWO", SignalWord::Danger),
            ("ar", "اشعار", SignalWord::Notice),
            ("fr", "Précaution", SignalWord::Caution),
            ("de", "Achtung", SignalWord::Notice),
        ] {
            assert_eq!(Language::from_tag(tag).and_then(|language| language.signal(word)), Some(grade), "{word}");
        }
        for (tag, word) in [
            ("ru", "ПРИМЕЧАНИЕ"),
            ("el", "ΣΗΜΕΙΩΣΗ"),
            ("ar", "ملاحظة"),
            ("ko", "참고"),
            ("tr", "NOT"),
            ("pt", "NOTA"),
            ("hu", "MEGJEGYZÉS"),
            ("uk", "ПРИМІТКА"),
            ("es", "ATENCIÓN"),
        ] {
            assert_eq!(Language::from_tag(tag).and_then(|language| language.signal(word)), None, "{word}");
        }
        assert_eq!(Language::English.signal_elsewhere("Achtung"), Some((Language::German, SignalWord::Notice)));
        assert_eq!(Language::English.signal_elsewhere("Note"), None);
        assert_eq!(Language::Polish.signal_elsewhere("Uwaga"), None);
    }

    #[test]
    fn capitals_follow_the_language() {
        // Unicode's SpecialCasing.txt gives the Turkish ones; that Greek capitals lose the tonos is common practice, no source.
        assert_eq!(Language::Turkish.capitals("Dikkat ışık"), "DİKKAT IŞIK");
        assert_eq!(Language::Greek.capitals("Κίνδυνος Ύδωρ προϊόν"), "ΚΙΝΔΥΝΟΣ ΥΔΩΡ ΠΡΟΪΟΝ");
        assert_eq!(Language::German.capitals("Heiße Flüssigkeit"), "HEISSE FLÜSSIGKEIT");
        assert_eq!(Language::English.capitals("in"), "IN");
    }

    #[test]
    fn a_figure_is_named_as_the_language_does() {
        assert_eq!(Language::English.figure(2), "Fig.\u{a0}2");
        assert_eq!(Language::Hungarian.figure(2), "2.\u{a0}ábra");
        assert_eq!(Language::Japanese.figure(2), "図\u{2060}2");
    }

    #[test]
    fn every_language_has_every_word() {
        for language in Language::ALL {
            let words = language.words();
            let all = [words.step, words.fig, words.notes, words.page, words.revision, words.issued, words.document];
            let more = [words.made_by, words.lasting_copy, words.continued, words.quotes.0, words.quotes.1];
            let more = more.into_iter().chain([language.contents(), language.skip(), language.see_your_strip()]);
            for word in all.into_iter().chain(more).chain(words.signal.into_iter().flatten().copied()) {
                assert!(!word.is_empty() && word == word.trim(), "{}: {word:?}", language.tag());
            }
            // A word stands for one grade only.
            let mut seen: Vec<String> = words.signal.into_iter().flatten().map(|word| fold(word)).collect();
            let count = seen.len();
            seen.sort();
            seen.dedup();
            assert_eq!(seen.len(), count, "{}", language.tag());
        }
    }

    #[test]
    fn the_documents_language_decides_between_words_that_collide() {
        assert_eq!(Language::Portuguese.signal("Aviso"), Some(SignalWord::Warning));
        assert_eq!(Language::Spanish.signal("aviso"), Some(SignalWord::Notice));
        assert_eq!(Language::English.signal("AVISO"), None);
        assert_eq!(Language::Polish.signal("Warning"), Some(SignalWord::Warning));
        assert_eq!(Language::Dutch.signal("Let  op"), Some(SignalWord::Notice));
        assert_eq!(Language::Turkish.signal("Tehlike"), Some(SignalWord::Danger));
        assert_eq!(Language::Greek.signal("Κίνδυνος"), Some(SignalWord::Danger));
    }
}
