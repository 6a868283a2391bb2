//! Content: procedures. One action a step, steps that are numbered, not too many at once, and keys that keep their names.

use std::collections::BTreeMap;

use crate::manual::source::Level;

use super::passages::{Role, Run, folded};
use super::rule::{Check, Note, Rule};
use super::words::{Words, sentences};

/// Steps that a reader keeps in sight at once.
const MANY: usize = 9;

pub const MANY_ACTIONS: Rule = Rule {
    name: "many-actions",
    level: Level::Advice,
    what: "a step that tells the reader to do several things",
    why: "who looks up after the first action finds the wrong place again",
    mend: "make each action a step of its own",
    source: "IEC/IEEE 82079-1 (known)",
    check: Check::Looks(|index| {
        let Some(words) = index.words else { return Vec::new() };
        let note = |step: &super::passages::StepSeen| {
            let actions = actions(words, &folded(&step.text));
            (actions > 1).then(|| Note::new(step.span, format!("this step holds {actions} actions")))
        };
        index.entries.steps.iter().filter_map(note).collect()
    }),
};

pub const STEPS_UNNUMBERED: Rule = Rule {
    name: "steps-unnumbered",
    level: Level::Warning,
    what: "a list without numbers, or paragraphs, that are a procedure by their words: \"then …\", \"after that …\", \"Step 2\"",
    why: "numbers say that the order matters, and let the reader find the place again",
    mend: "number them: `1.`, `2.`, `3.`",
    source: "IEC/IEEE 82079-1 (known)",
    check: Check::Looks(|index| {
        let Some(words) = index.words else { return Vec::new() };
        let mut notes = Vec::new();
        for list in index.entries.lists.iter().filter(|list| !list.ticks && list.items.len() > 1) {
            let items: Vec<String> = list.items.iter().map(|item| folded(item)).collect();
            let acting = items.iter().filter(|item| sentences(item).next().is_some_and(words.acts)).count();
            let ordered = items.iter().skip(1).any(|item| opens_with(item, words.sequence));
            if ordered && acting * 2 > items.len() {
                notes.push(Note::new(list.span, "these bullets are steps: their order matters"));
            }
        }
        let spelt: Vec<_> =
            index.entries.passages.iter().filter(|passage| passage.role == Role::Text && spells_number(&passage.lower)).collect();
        if let (true, Some(first)) = (spelt.len() > 1, spelt.first()) {
            notes.push(Note::new(first.span, format!("{} paragraphs are numbered by hand", spelt.len())));
        }
        notes
    }),
};

pub const LONG_PROCEDURE: Rule = Rule {
    name: "long-procedure",
    level: Level::Warning,
    what: "more than 9 steps before the next heading",
    why: "a long list is where readers lose their place, and where they stop",
    mend: "part it with a heading (`###`) where something has been reached",
    source: "common practice, no source",
    check: Check::Looks(|index| {
        let mut sections: BTreeMap<usize, (usize, usize)> = BTreeMap::new();
        for (n, step) in index.entries.steps.iter().enumerate().filter(|(_, step)| step.depth == 0) {
            let (count, tenth) = sections.entry(step.section).or_default();
            *count += 1;
            if *count == MANY + 1 {
                *tenth = n;
            }
        }
        let long = sections.values().filter(|(count, _)| *count > MANY);
        long.map(|(count, tenth)| {
            Note::new(index.entries.steps[*tenth].span, format!("{count} steps without a heading between them"))
        })
        .collect()
    }),
};

pub const KEY_SPELT_TWO_WAYS: Rule = Rule {
    name: "key-spelt-two-ways",
    level: Level::Warning,
    what: "a key or display reading (inline code) in two spellings that differ in case, hyphen, space, or one letter",
    why: "the reader looks for two keys",
    mend: "write it everywhere as it stands on the product",
    source: "IEC/IEEE 82079-1: consistent terms (known)",
    check: Check::Looks(|index| {
        let mut spellings: BTreeMap<&str, (usize, &Run)> = BTreeMap::new();
        for key in &index.entries.keys {
            spellings.entry(key.text.as_str()).or_insert((0, key)).0 += 1;
        }
        // In order of appearance, so that the same pair is always told in the same way.
        let mut known: Vec<(&str, usize, &Run)> = spellings.into_iter().map(|(text, (count, run))| (text, count, run)).collect();
        known.sort_by_key(|(_, _, run)| run.span.start);
        let normal: Vec<String> = known.iter().map(|(text, ..)| normalised(text)).collect();
        let mut notes = Vec::new();
        for second in 0..known.len() {
            for first in 0..second {
                if !same_key(&normal[first], &normal[second]) {
                    continue;
                }
                // The rarer spelling is the slip; of two that are equally common, the later.
                let (slip, usual) = if known[first].1 < known[second].1 { (first, second) } else { (second, first) };
                let message = format!("`{}` is elsewhere spelt `{}`", known[slip].0, known[usual].0);
                let place = index.evidence.source.locate(known[usual].2.span.start);
                notes.push(
                    Note::new(known[slip].2.span, message)
                        .hint(format!("the other stands at {place}; write it everywhere as it stands on the product")),
                );
                break;
            }
        }
        notes
    }),
};

/// How many actions a text in lower case asks for.
fn actions(words: &Words, lower: &str) -> usize {
    let mut count = 0;
    for sentence in sentences(lower).filter(|sentence| (words.acts)(sentence)) {
        count += 1;
        let mut rest = sentence;
        while let Some((at, word)) = words.then.iter().filter_map(|word| joined(rest, word).map(|at| (at, *word))).min() {
            let (before, after) = (&rest[..at], &rest[at + word.len()..]);
            count += usize::from((words.acts)(before) && (words.acts)(after));
            rest = after;
        }
    }
    count
}

/// Where a joining word stands inside a sentence, not at its beginning.
fn joined(sentence: &str, word: &str) -> Option<usize> {
    sentence.match_indices(word).map(|(at, _)| at).find(|&at| {
        let after = sentence[at + word.len()..].chars().next();
        at > 0 && sentence[..at].ends_with(' ') && after.is_none_or(|character| !character.is_alphanumeric())
    })
}

fn opens_with(lower: &str, entries: &[&str]) -> bool {
    entries.iter().any(|entry| {
        let word = entry.trim_end_matches('.');
        lower.strip_prefix(word).is_some_and(|rest| !rest.starts_with(char::is_alphanumeric))
    })
}

/// "step 2", "2)", in words that a person would write instead of a list.
fn spells_number(lower: &str) -> bool {
    let rest = ["step ", "schritt ", "étape "].iter().find_map(|word| lower.strip_prefix(word));
    rest.is_some_and(|rest| rest.starts_with(|c: char| c.is_ascii_digit()))
}

/// Lower case, without hyphens, spaces and low lines.
fn normalised(key: &str) -> String {
    folded(key).chars().filter(|c| !matches!(c, '-' | ' ' | '_' | '\u{2011}' | '\u{2010}')).collect()
}

/// Whether two keys, written differently, are one: alike but for case and hyphens, or long words that differ in one letter.
fn same_key(a: &str, b: &str) -> bool {
    // A sign that is no letter ("+", "-") tells two keys apart by itself.
    if a.is_empty() || b.is_empty() {
        return false;
    }
    if a == b {
        return true;
    }
    let wordy = |key: &str| key.chars().count() >= 6 && key.chars().all(char::is_alphabetic);
    wordy(a) && wordy(b) && strsim::osa_distance(a, b) == 1
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::preflight::words;

    #[test]
    fn actions_are_counted_by_sentence_and_by_then() {
        let en = words::of("en").unwrap();
        for (text, count) in [
            ("press mode. the light turns green.", 1),
            ("press mode, then hold it for three seconds.", 2),
            ("open the lid. put the battery in. close the lid.", 3),
            ("wait until the light is green, then press mode.", 0),
            ("do not force it. push the tray in.", 1),
            ("turn it. and then turn it back", 2),
            ("press mode if the light is lit and then goes out", 1),
        ] {
            assert_eq!(actions(en, text), count, "{text}");
        }
    }

    #[test]
    fn keys_that_differ_in_a_number_are_two_keys() {
        for (a, b, same) in [
            ("MODE", "Mode", true),
            ("re-set", "reset", true),
            ("START", "STRAT", false),
            ("BRIGHTNESS", "BRIGHTNES", true),
            ("F1", "F2", false),
            ("CH 1", "ch1", true),
            ("+", "-", false),
            ("LEFT", "LEFTY", false),
        ] {
            assert_eq!(same_key(&normalised(a), &normalised(b)), same, "{a} {b}");
        }
    }
}
