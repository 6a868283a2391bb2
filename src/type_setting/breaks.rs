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
        Segmenters {
            plain,
            whole_words: LineSegmenter::new_auto(options),
        }
    }

    /// Byte offsets at which a line may begin, ascending, without the text's begin but with its end.
    /// Korean is broken between words only, as its readers are used to where it is set ragged.
    pub fn opportunities<'a>(&'a self, text: &'a str, language: Language) -> impl Iterator<Item = usize> + 'a {
        let segmenter = if language == Language::Korean {
            &self.whole_words
        } else {
            &self.plain
        };
        segmenter.segment_str(text).filter(|&at| at > 0)
    }
}
