//! Where lines may end: UAX #14, tailored to the language.

use icu_segmenter::options::{LineBreakOptions, LineBreakStrictness, LineBreakWordOption};
use icu_segmenter::{LineSegmenter, LineSegmenterBorrowed};

use crate::language::Language;

/// One segmenter for each manner of breaking.
pub(super) struct Segmenters {
    plain: LineSegmenterBorrowed<'static>,
    whole_words: LineSegmenterBorrowed<'static>,
}

impl Segmenters {
    pub fn new() -> Segmenters {
        let mut options = LineBreakOptions::default();
        options.strictness = Some(LineBreakStrictness::Strict);
        let plain = LineSegmenter::new_auto(options);
        options.word_option = Some(LineBreakWordOption::KeepAll);
        Segmenters { plain, whole_words: LineSegmenter::new_auto(options) }
    }

    /// Byte offsets at which a line may begin, ascending, without the text's begin but with its end.
    /// Korean is broken between words only, as its readers are used to where it is set ragged.
    pub fn opportunities<'a>(&'a self, text: &'a str, language: Language) -> impl Iterator<Item = usize> + 'a {
        let segmenter = if language == Language::Korean { &self.whole_words } else { &self.plain };
        segmenter.segment_str(text).filter(move |&at| at > 0 && !(keeps_lone_letters(language) && follows_lone_letter(text, at)))
    }
}

/// Polish and Czech leave no word of one letter (w, z, i, k, v …) at the end of a line.
fn keeps_lone_letters(language: Language) -> bool {
    matches!(language, Language::Polish | Language::Czech)
}

fn follows_lone_letter(text: &str, at: usize) -> bool {
    let mut before = text[..at].trim_end_matches(' ').chars().rev();
    before.next().is_some_and(char::is_alphabetic)
        && before.next().is_none_or(|c| c.is_whitespace() || c == '(')
        && text[..at].ends_with(' ')
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parts(text: &str, language: Language) -> Vec<&str> {
        let segmenters = Segmenters::new();
        let mut from = 0;
        segmenters.opportunities(text, language).map(|at| &text[std::mem::replace(&mut from, at)..at]).collect()
    }

    #[test]
    fn words_of_one_letter_stay_with_the_next_one() {
        // Common practice of Polish and Czech typesetters, no source.
        assert_eq!(parts("Herbata w kubku i z mlekiem", Language::Polish), ["Herbata ", "w kubku ", "i z mlekiem"]);
        assert_eq!(parts("K čaji (s medem)", Language::Czech), ["K čaji ", "(s medem)"]);
        assert_eq!(parts("Tea in a mug", Language::English), ["Tea ", "in ", "a ", "mug"]);
    }

    #[test]
    fn no_line_begins_with_what_belongs_to_the_line_before() {
        // Kinsoku: closing brackets, full stops, small kana and the lengthening mark never begin a line (JIS X 4051, memory).
        for text in ["きって", "「茶」。", "ジャーン！", "ティー、"] {
            let begins = parts(text, Language::Japanese).into_iter().skip(1).filter_map(|part| part.chars().next());
            for first in begins {
                assert!(!"」。！、っャィー".contains(first), "{text}: a line begins with {first}");
            }
        }
        // Opening brackets never end one.
        assert_eq!(parts("濃さ「3」", Language::Japanese), ["濃", "さ", "「3」"]);
        assert_eq!(parts("이 설명서", Language::Korean), ["이 ", "설명서"]);
    }
}
