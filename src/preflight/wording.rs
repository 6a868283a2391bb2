//! The fixed words that the program prints: which are the writer's own, which nobody is sure of, which say two things.

use std::collections::{BTreeMap, BTreeSet};

use crate::language::{AsideWord, Language, SignalWord, WORD_NAMES, Word, Wording};
use crate::manual::document::{InlineKind, Kind, plain_text};
use crate::manual::source::{Level, Span};
use crate::pictures::signals::{self, Colour, Signal};

use super::index::Index;
use super::rule::{Check, Note, Rule};

/// Below so much, in percent, a word is to be read by somebody who writes in the language. The issue that asked for the words chose it.
const SURE: u8 = 75;

/// The words that stand on this strip, by language, each with a place that uses it; not those of the writer's own.
fn printed(index: &Index) -> BTreeMap<Language, BTreeMap<&'static str, (Word, Span)>> {
    let document = index.evidence.document;
    let header = &document.header;
    let mut printed: BTreeMap<Language, BTreeMap<&'static str, (Word, Span)>> = BTreeMap::new();
    let mut uses = |language: Language, name: &'static str, word: Option<Word>, span: Span| {
        let table = || language.written().into_iter().find(|(known, _)| *known == name).map(|(_, word)| word);
        if let Some(word) = word.or_else(table).filter(|_| header.own_words.get(language, name).is_none()) {
            printed.entry(language).or_default().entry(name).or_insert((word, span));
        }
    };
    for (name, key, said) in [
        ("revision", "revision", header.revision.is_some()),
        ("durable_copy", "durable_copy", header.durable_copy.is_some()),
        ("importer", "product.importer", header.product.importer.is_some()),
        ("importer", "product.uk_importer", header.product.uk_importer.is_some()),
        ("responsible", "product.eu_responsible", header.product.eu_responsible.is_some()),
        ("responsible", "product.us_responsible", header.product.us_responsible.is_some()),
    ] {
        if said {
            uses(header.tongue, name, None, index.key(key));
        }
    }
    for safety in &index.entries.safeties {
        let language = document.tongue_at(safety.span.start);
        let spelling = language.spellings(safety.word).iter().find(|word| Language::same_word(word.text, &safety.label));
        if let Some(word) = spelling {
            uses(language, safety.word.name(), Some(*word), safety.label_span);
        }
    }
    for picture in &index.entries.pictures {
        let Ok(Signal::Light(light)) = signals::read(&picture.address) else { continue };
        let language = document.tongue_at(picture.span.start);
        for colour in light.colours {
            let colour = if colour == Colour::Amber { Colour::Yellow } else { colour };
            let name = WORD_NAMES.into_iter().find(|name| *name == colour.name());
            name.into_iter().for_each(|name| uses(language, name, None, picture.span));
        }
    }
    for placed in index.evidence.boxes.iter().filter(|placed| placed.kind == "caption") {
        let language = document.tongue_at(placed.span.start);
        let wording = Wording::new(language, &header.own_words);
        // Of a caption's first line the number stands in front.
        let number: String = placed.text.chars().filter(char::is_ascii_digit).take(4).collect();
        let named = (1..=number.len()).filter_map(|end| number[..end].parse().ok());
        if named.into_iter().any(|number| same_words(&placed.text, &wording.figure(number))) {
            uses(language, "figure", None, placed.span);
        }
    }
    document.walk(&mut |span, block| {
        let Kind::Aside(blocks) = &block.kind else { return };
        let Some(Kind::Paragraph(inlines)) = blocks.first().map(|block| &block.kind) else { return };
        let Some(InlineKind::Strong(head)) = inlines.first().map(|inline| &inline.kind) else { return };
        let language = document.tongue_at(span.start);
        let head = plain_text(head);
        let aside = AsideWord::ALL.into_iter().find(|aside| language.wording().aside(*aside) == head);
        aside.into_iter().for_each(|aside| uses(language, aside.name(), None, span));
    });
    printed
}

/// Whether a line begins with some words, whatever its spaces.
fn same_words(line: &str, begins: &str) -> bool {
    let plain = |text: &str| text.chars().filter(|c| !c.is_whitespace() && *c != '\u{2060}').collect::<String>();
    plain(line).starts_with(&plain(begins))
}

pub const WORD_UNSURE: Rule = Rule {
    name: "word-unsure",
    level: Level::Advice,
    what: "a fixed word on the strip of which the program is less than 75 % sure",
    why: "it was written down from memory, and a signal word that nobody in the market uses warns nobody",
    mend: "have a native technical writer read it, and put what she would write into `[words]` of the header",
    source: "common practice, no source",
    check: Check::Looks(|index| {
        let mut notes = Vec::new();
        for (language, words) in printed(index) {
            let unsure: Vec<_> = words.into_iter().filter(|(_, (word, _))| word.sure < SURE).collect();
            let Some((_, (_, first))) = unsure.first() else { continue };
            let own = language == index.evidence.document.header.tongue && index.key("language") != Span::default();
            let place = if own { index.key("language") } else { *first };
            let named: Vec<String> =
                unsure.iter().map(|(name, (word, _))| format!("{name} \"{}\" ({} %)", word.text, word.sure)).collect();
            let message = format!("have a native technical writer read these words of {}: {}", language.tag(), named.join(", "));
            let (name, (word, _)) = unsure[0];
            let table = if language == index.evidence.document.header.tongue {
                "[words]".to_owned()
            } else {
                format!("[words.{}]", language.tag())
            };
            notes.push(
                Note::new(place, message)
                    .hint(format!("what she writes goes into {table} of the header, be it the same: {name} = \"{}\"", word.text)),
            );
        }
        notes
    }),
};

pub const WORDS_OWN: Rule = Rule {
    name: "words-own",
    level: Level::Advice,
    what: "fixed words that the writer has put words of their own in the stead of",
    why: "who reads the findings should know which words are not the program's",
    mend: "nothing, if a person who writes in the language chose them; allow the rule and say who",
    source: "common practice, no source",
    check: Check::Looks(|index| {
        let header = &index.evidence.document.header;
        let mut by_language: BTreeMap<Language, Vec<String>> = BTreeMap::new();
        for (language, name, own) in header.own_words.iter() {
            let table = language.written().into_iter().find(|(known, _)| *known == name).map_or("", |(_, word)| word.text);
            let told =
                if table == own { format!("{name} \"{own}\", as before") } else { format!("{name} \"{own}\" for \"{table}\"") };
            by_language.entry(language).or_default().push(told);
        }
        let told = by_language.into_iter().map(|(language, words)| {
            Note::new(place(index, language), format!("words of your own in {}: {}", language.tag(), words.join("; ")))
        });
        told.collect()
    }),
};

pub const WORDS_COLLIDE: Rule = Rule {
    name: "words-collide",
    level: Level::Warning,
    what: "a signal word of the writer's own that stands for two grades, or also heads asides",
    why: "who reads it cannot know how grave it is",
    mend: "give each grade a word that no other grade and no note has",
    source: "ANSI Z535.6, known: a grade has its own signal word",
    check: Check::Looks(|index| {
        let header = &index.evidence.document.header;
        let languages: BTreeSet<Language> = header.own_words.iter().map(|(language, ..)| language).collect();
        let mut notes = Vec::new();
        for language in languages {
            let wording = Wording::new(language, &header.own_words);
            let grades = SignalWord::ALL.into_iter().zip(wording.signal_words()).map(|(grade, word)| (grade.name(), word));
            let asides = AsideWord::ALL.into_iter().map(|aside| (aside.name(), wording.aside(aside)));
            let words: Vec<(&'static str, &str)> = grades.chain(asides).collect();
            for (n, (later, word)) in words.iter().enumerate() {
                let first = words[..n.min(SignalWord::ALL.len())].iter().find(|(_, before)| Language::same_word(before, word));
                if let Some((first, _)) = first
                    .filter(|(first, _)| [*first, *later].into_iter().any(|name| header.own_words.get(language, name).is_some()))
                {
                    let message = format!("\"{word}\" stands for `{first}` and for `{later}` in {}", language.tag());
                    notes.push(Note::new(place(index, language), message));
                }
            }
        }
        notes
    }),
};

/// Where the header has words of the writer's own for a language.
fn place(index: &Index, language: Language) -> Span {
    let header = &index.evidence.document.header;
    let own = |key: &str| match key.strip_prefix("words.") {
        Some(key) => match key.split_once('.') {
            Some((tag, _)) => Language::from_tag(tag) == Some(language),
            None => WORD_NAMES.contains(&key) && language == header.tongue,
        },
        None => false,
    };
    header.spans.iter().filter(|(key, _)| own(key)).map(|(_, span)| *span).min_by_key(|span| span.start).unwrap_or_default()
}
