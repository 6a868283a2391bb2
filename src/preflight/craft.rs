//! Craft: links, headings, spaces and quotation marks.

use crate::language::Language;
use crate::manual::source::Level;

use super::index::Index;
use super::passages::{Role, Run};
use super::rule::{Check, Note, Rule};

pub const LINK_WITHOUT_TEXT: Rule = Rule {
    name: "link-without-text",
    level: Level::Warning,
    what: "a link with nothing to read in it",
    why: "on paper only its number would be printed",
    mend: "write the words: `[the lasting copy](https://…)`",
    source: "WCAG 2.2, 2.4.4 (known)",
    check: Check::Looks(|index| {
        let empty = index.entries.links.iter().filter(|link| link.text.trim().is_empty());
        empty.map(|link| Note::new(link.span, "this link has no text")).collect()
    }),
};

pub const HEADING_SKIPPED: Rule = Rule {
    name: "heading-skipped",
    level: Level::Advice,
    what: "a heading more than one level below the one before it",
    why: "the reader looks for the section in between",
    mend: "raise the heading, or write the one that is missing",
    source: "common practice, no source; WCAG 2.2, 1.3.1 does not forbid it, its technique G141 advises against (known)",
    check: Check::Looks(|index| {
        let mut notes = Vec::new();
        let mut before = 1;
        for passage in &index.entries.passages {
            let level = match passage.role {
                Role::Title => 1,
                Role::Heading(level) => level,
                _ => continue,
            };
            if level > before + 1 {
                let (was, is) = ("#".repeat(before.into()), "#".repeat(level.into()));
                notes.push(Note::new(passage.span, format!("this `{is}` follows a `{was}`: a level is skipped")));
            }
            before = level;
        }
        notes
    }),
};

pub const DOUBLE_SPACE: Rule = Rule {
    name: "double-space",
    level: Level::Advice,
    what: "two spaces between words",
    why: "they tear a hole into a narrow column",
    mend: "one space, also after a full stop",
    source: "common practice, no source",
    check: Check::Looks(|index| {
        let places = index.entries.runs.iter().flat_map(|run| run.text.match_indices("  ").map(move |(at, _)| (run, at)));
        once(index, places.collect(), 2, |count| match count {
            1 => "two spaces stand between words".to_string(),
            _ => format!("two spaces stand between words in {count} places, first here"),
        })
    }),
};

pub const STRAIGHT_QUOTES: Rule = Rule {
    name: "straight-quotes",
    level: Level::Advice,
    what: "straight quotation marks and apostrophes in running text",
    why: "they are left over from the typewriter; at small sizes the curved ones are told apart more easily",
    mend: "write the curved ones of your language",
    source: "common practice, no source",
    check: Check::Looks(|index| {
        let mut places = Vec::new();
        for run in &index.entries.runs {
            let marks = run.text.char_indices().filter(|&(_, character)| character == '"' || character == '\'');
            // After a number they are inches, feet, minutes, seconds.
            let inch = |at: usize| run.text[..at].ends_with(|c: char| c.is_ascii_digit());
            places.extend(marks.filter(|&(at, _)| !inch(at)).map(|(at, _)| (run, at)));
        }
        let notes = once(index, places, 1, |count| match count {
            1 => "a straight quotation mark or apostrophe".to_string(),
            _ => format!("{count} straight quotation marks or apostrophes, the first of them here"),
        });
        // Without a declared language nobody knows which are meant.
        if index.evidence.document.header.language.is_none() {
            return notes;
        }
        let language = index.evidence.document.header.tongue;
        let hint = straight_marks_hint(language);
        notes.into_iter().map(|note| note.hint(hint.clone())).collect()
    }),
};

/// What to write in place of straight marks. The no-break spaces inside French ones are shown, and Hebrew shortens words with marks of its
/// own.
fn straight_marks_hint(language: Language) -> String {
    let (open, close) = language.quotes();
    match language {
        Language::French => {
            format!(
                "write {open}\u{2423}and \u{2423}{close}, where \u{2423} is a no-break space (U+00A0), and \u{2019} for the apostrophe"
            )
        }
        Language::Hebrew => format!("write {open} and {close}; in abbreviations \u{5f4} and \u{5f3}"),
        _ => format!("write {open} and {close}, and \u{2019} for the apostrophe"),
    }
}

/// One note for all places, at the first of them: what is only advice must not bury what matters.
fn once(index: &Index, places: Vec<(&Run, usize)>, length: usize, message: impl FnOnce(usize) -> String) -> Vec<Note> {
    let Some(&(run, at)) = places.first() else { return Vec::new() };
    vec![Note::new(index.within(run, at, length), message(places.len()))]
}
