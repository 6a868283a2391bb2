//! Which language a tag means, and from which side it is written.

use super::Language;

/// Scripts that run from the right (UAX #24 and #9; in living use).
const SCRIPTS_FROM_RIGHT: [&str; 9] = ["adlm", "arab", "aran", "hebr", "mand", "nkoo", "rohg", "syrc", "thaa"];

/// Languages that are written in one of them where the tag names no script (CLDR 48, `characterOrder`).
const LANGUAGES_FROM_RIGHT: [&str; 17] =
    ["ar", "arc", "ckb", "dv", "fa", "he", "iw", "ji", "ks", "lrc", "mzn", "nqo", "ps", "sd", "ug", "ur", "yi"];

impl Language {
    /// The language of a BCP 47 tag. The primary subtag decides (`de-AT` is German); where a language is written in two scripts, the script
    /// subtag, and without one the region: `zh-Hans-HK` is simplified, `zh-HK` is not.
    ///
    /// # Errors
    /// `None` when the program has no words for it, also because it has them in another script only (`ru-Latn`).
    pub fn from_tag(tag: &str) -> Option<Language> {
        let (primary, script, region) = parts(tag)?;
        let (script, region) = (script.as_deref(), region.as_deref());
        let language = match (primary.as_str(), script) {
            ("zh", Some("hans")) => Language::SimplifiedChinese,
            ("zh", Some("hant")) => Language::TraditionalChinese,
            ("zh", None) if matches!(region, Some("tw" | "hk" | "mo")) => Language::TraditionalChinese,
            ("zh", None) => Language::SimplifiedChinese,
            ("sr", Some("latn")) => Language::SerbianLatin,
            ("sr", None) if region == Some("me") => Language::SerbianLatin,
            ("sr", None | Some("cyrl")) => Language::Serbian,
            ("pt", None | Some("latn")) if region == Some("br") => Language::BrazilianPortuguese,
            ("de", None | Some("latn")) if matches!(region, Some("ch" | "li")) => Language::SwissGerman,
            ("no", None | Some("latn")) => Language::NorwegianBokmal,
            // The tag Hebrew had until 1989.
            ("iw", None | Some("hebr")) => Language::Hebrew,
            // Its words are those of Romanian.
            ("mo", None | Some("latn")) => Language::Romanian,
            _ => {
                let language = Language::ALL.into_iter().find(|language| language.tag() == primary)?;
                script.is_none_or(|script| language.scripts().contains(&script)).then_some(language)?
            }
        };
        Some(language)
    }

    /// The language that stands in for a tag: its own, else English ones, from the side that it is written from.
    pub fn standing_in(tag: &str) -> Language {
        Language::from_tag(tag).unwrap_or(match runs_from_right(tag) {
            true => Language::EnglishFromRight,
            false => Language::English,
        })
    }

    /// Whether it is written from right to left.
    pub fn is_rtl(self) -> bool {
        matches!(self, Language::Arabic | Language::Hebrew | Language::Persian | Language::EnglishFromRight)
    }

    /// The scripts that its words are in, as a tag may name them.
    fn scripts(self) -> &'static [&'static str] {
        match self {
            Language::Greek => &["grek"],
            Language::Bulgarian | Language::Russian | Language::Ukrainian | Language::Serbian => &["cyrl"],
            Language::Japanese => &["jpan"],
            Language::Korean => &["kore"],
            Language::Arabic | Language::Persian => &["arab", "aran"],
            Language::Hebrew => &["hebr"],
            Language::Thai => &["thai"],
            Language::Hindi => &["deva"],
            _ => &["latn"],
        }
    }
}

/// Whether a tag, known or not, is of a language written from the right: its script says so, else its language.
fn runs_from_right(tag: &str) -> bool {
    let Some((primary, script, _)) = parts(tag) else { return false };
    match script {
        Some(script) => SCRIPTS_FROM_RIGHT.contains(&script.as_str()),
        None => LANGUAGES_FROM_RIGHT.contains(&primary.as_str()),
    }
}

/// Language, script and region of a tag, in small letters. Subtags behind a single letter are somebody's own.
fn parts(tag: &str) -> Option<(String, Option<String>, Option<String>)> {
    let mut subtags = tag.trim().split(['-', '_']).map(str::to_ascii_lowercase);
    let primary = subtags.next()?;
    let letters = |subtag: &String| subtag.bytes().all(|byte| byte.is_ascii_alphabetic());
    let named: Vec<String> = subtags.take_while(|subtag| subtag.len() > 1).collect();
    let script = named.iter().find(|subtag| subtag.len() == 4 && letters(subtag)).cloned();
    let region = named.iter().find(|subtag| subtag.len() == 2 && letters(subtag)).cloned();
    Some((primary, script, region))
}
