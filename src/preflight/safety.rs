//! Content: safety messages. Whether each declared hazard has one, in time, and whether the words fit the signal word.
//!
//! Words are looked for in the languages that have a table; in any other only signs and structure are judged.

use crate::language::{Language, SignalWord};
use crate::manual::source::Level;
use crate::names;

use super::index::Index;
use super::passages::SafetySeen;
use super::rule::{Check, Note, Rule};
use super::words::{HAZARDS, Hazard, says, sentences};

pub const SIGNAL_WORDS_MIXED: Rule = Rule {
    name: "signal-words-mixed",
    level: Level::Warning,
    what: "two signal words for one grade in one manual, as VORSICHT and CAUTION",
    why: "other houses use such words one grade apart: the reader looks for a difference, and takes one of the two for less than it is",
    mend: "keep to one word for each grade",
    source: "ANSI Z535.6: one word a grade (known); which words other houses part: seen in public manuals",
    check: Check::Looks(|index| {
        let mut notes = Vec::new();
        for grade in SignalWord::ALL {
            let mut of_grade = index.entries.safeties.iter().filter(|safety| safety.word == grade);
            let Some(first) = of_grade.next() else { continue };
            if let Some(other) = of_grade.find(|safety| !Language::same_word(&safety.label, &first.label)) {
                let place = index.evidence.source.locate(first.label_span.start);
                let message = format!("{} and {} (at {place}) are one grade", other.label, first.label);
                notes.push(Note::new(other.label_span, message));
            }
        }
        notes
    }),
};

pub const HAZARD_UNKNOWN: Rule = Rule {
    name: "hazard-unknown",
    level: Level::Warning,
    what: "a hazard in the header that the rules have no words for",
    why: "nothing can be checked for it, so a misspelt hazard would pass unseen",
    mend: "take one of the known names, or see to this hazard yourself and allow the rule with a reason",
    source: "common practice, no source",
    check: Check::Looks(|index| {
        let unknown = index.evidence.document.header.product.hazards.iter().filter(|hazard| known(hazard).is_none());
        let note = |hazard: &String| {
            let known = HAZARDS.iter().map(|known| known.name);
            let note = Note::new(index.key("product.hazards"), format!("the rules do not know the hazard \"{hazard}\""));
            match names::nearest(hazard, known.clone()) {
                Some(near) => note.hint(format!("did you mean \"{near}\"?")),
                None => note.hint(format!("known hazards: {}", known.collect::<Vec<_>>().join(", "))),
            }
        };
        unknown.map(note).collect()
    }),
};

pub const HAZARD_UNANNOUNCED: Rule = Rule {
    name: "hazard-unannounced",
    level: Level::Error,
    what: "a hazard in the header that no safety message covers, by its sign or by its words",
    why: "you know of the hazard and the reader does not",
    mend: "write a safety message: what the hazard is, what it does, how to avoid it",
    source: "ANSI Z535.6, IEC/IEEE 82079-1 (known)",
    check: Check::Looks(|index| {
        let mut notes = Vec::new();
        for hazard in declared(index) {
            if index.entries.safeties.iter().any(|safety| covers(index, safety, hazard)) {
                continue;
            }
            // Without words, messages that carry no sign could be about anything.
            if index.words.is_none() && index.entries.safeties.iter().any(|safety| safety.signs.is_empty()) {
                continue;
            }
            let note = Note::new(
                index.key("product.hazards"),
                format!("no safety message covers the declared hazard \"{}\"", hazard.name),
            );
            notes.push(match hazard.sign {
                Some(sign) => note.hint(format!(
                    "write one: what the hazard is, what it does, how to avoid it. If a message already covers it, put the sign into it: `![{}](sign:{sign})`",
                    sign.replace('-', " ")
                )),
                None => note,
            });
        }
        notes
    }),
};

pub const HAZARD_LATE: Rule = Rule {
    name: "hazard-late",
    level: Level::Warning,
    what: "the safety message for a declared hazard stands after the first step that meets it",
    why: "a warning that is read after the act is a report",
    mend: "move the message before the step",
    source: "IEC/IEEE 82079-1 (known)",
    check: Check::Looks(|index| {
        let Some(words) = index.words else { return Vec::new() };
        let mut notes = Vec::new();
        for hazard in declared(index) {
            let Some(met) = words.hazard(hazard.name).map(|hazard| hazard.met) else {
                continue;
            };
            let Some(step) = index.entries.steps.iter().find(|step| says(&step.lower, met)) else {
                continue;
            };
            let Some(first) = index.entries.safeties.iter().find(|safety| covers(index, safety, hazard)) else {
                continue;
            };
            // A message inside the step stands before what the reader does next, and is in time.
            if first.span.start >= step.span.end {
                let message = format!("this message about \"{}\" stands after the first step that meets it", hazard.name);
                let place = index.evidence.source.locate(step.span.start);
                notes.push(Note::new(first.label_span, message).hint(format!("move it before the step at {place}")));
            }
        }
        notes
    }),
};

pub const CONSEQUENCE_MISSING: Rule = Rule {
    name: "consequence-missing",
    level: Level::Warning,
    what: "a DANGER, WARNING or CAUTION that does not say what happens",
    why: "readers obey what they understand: \"do not open\" is ignored, \"do not open: electric shock\" is not",
    mend: "say what the hazard does to the reader",
    source: "ANSI Z535.6, IEC/IEEE 82079-1 (known)",
    check: Check::Looks(|index| {
        let Some(words) = index.words else { return Vec::new() };
        let silent = people(index).filter(|safety| !says(&safety.lower, words.consequence));
        silent.map(|safety| Note::new(safety.label_span, format!("this {} does not say what happens", safety.label))).collect()
    }),
};

pub const AVOIDANCE_MISSING: Rule = Rule {
    name: "avoidance-missing",
    level: Level::Warning,
    what: "a DANGER, WARNING or CAUTION that does not say how to avoid it",
    why: "a hazard without a way out only frightens",
    mend: "say what to do, or what not to do",
    source: "ANSI Z535.6, IEC/IEEE 82079-1 (known)",
    check: Check::Looks(|index| {
        let Some(words) = index.words else { return Vec::new() };
        let told = |safety: &SafetySeen| says(&safety.lower, words.avoidance) || sentences(&safety.lower).any(words.acts);
        let silent = people(index).filter(|safety| !told(safety));
        silent
            .map(|safety| Note::new(safety.label_span, format!("this {} does not say how to avoid the hazard", safety.label)))
            .collect()
    }),
};

pub const INJURY_UNDER_NOTICE: Rule = Rule {
    name: "injury-under-notice",
    level: Level::Warning,
    what: "a NOTICE that speaks of an injury",
    why: "NOTICE is for damage to things only; whoever skips it for that reason gets hurt",
    mend: "DANGER: will kill or seriously injure; WARNING: could; CAUTION: could injure slightly or moderately",
    source: "ANSI Z535.6, its definitions shortened (known); NOTICE is not in ISO 3864-2 (seen)",
    check: Check::Looks(|index| {
        let Some(words) = index.words else { return Vec::new() };
        let notices = index.entries.safeties.iter().filter(|safety| safety.word == SignalWord::Notice);
        // Toy law has its own word: a toy's "Achtung" warns people.
        let toy = index.evidence.document.header.product.toy == Some(true);
        let of_toy = |safety: &&SafetySeen| toy && Language::same_word(&safety.label, "Achtung");
        let wrong = notices.filter(|safety| words.hurts(&safety.lower) && !of_toy(safety));
        wrong
            .map(|safety| {
                let message = match Language::same_word(&safety.label, "Achtung") {
                    true => format!(
                        "{} is read as HINWEIS, for damage to things; this speaks of an injury: is it a WARNUNG?",
                        safety.label
                    ),
                    false => format!("{} is for damage to things; this speaks of an injury", safety.label),
                };
                Note::new(safety.label_span, message)
            })
            .collect()
    }),
};

pub const DAMAGE_UNDER_WARNING: Rule = Rule {
    name: "damage-under-warning",
    level: Level::Warning,
    what: "a DANGER, WARNING or CAUTION that speaks only of damage to things",
    why: "who reads WARNING over a scratched lid will not believe the next one",
    mend: "make it a NOTICE, or say how a person can be hurt",
    source: "ANSI Z535.6, its definitions shortened (known); NOTICE is not in ISO 3864-2 (seen)",
    check: Check::Looks(|index| {
        let Some(words) = index.words else { return Vec::new() };
        // A consequence that is no damage hurts somebody, or may.
        let bodily: Vec<&str> = words.consequence.iter().copied().filter(|entry| !words.property.contains(entry)).collect();
        let wrong = people(index)
            .filter(|safety| says(&safety.lower, words.property) && !words.hurts(&safety.lower) && !says(&safety.lower, &bodily));
        wrong
            .map(|safety| {
                Note::new(safety.label_span, format!("{} is for injuries; this speaks only of damage to things", safety.label))
            })
            .collect()
    }),
};

fn known(name: &str) -> Option<&'static Hazard> {
    HAZARDS.iter().find(|hazard| hazard.name == name)
}

/// The known hazards that the header declares.
fn declared<'s>(index: &'s Index) -> impl Iterator<Item = &'static Hazard> + use<'s> {
    index.evidence.document.header.product.hazards.iter().filter_map(|name| known(name))
}

/// Messages about people: all but NOTICE.
fn people<'s>(index: &'s Index) -> impl Iterator<Item = &'s SafetySeen> + use<'s> {
    index.entries.safeties.iter().filter(|safety| safety.word != SignalWord::Notice)
}

/// Whether a message is about a hazard: it shows the sign, or says the words. NOTICE covers none.
fn covers(index: &Index, safety: &SafetySeen, hazard: &Hazard) -> bool {
    if safety.word == SignalWord::Notice {
        return false;
    }
    let shown = hazard.sign.is_some_and(|sign| safety.signs.iter().any(|other| other == sign));
    let said = || index.words.and_then(|words| words.hazard(hazard.name)).is_some_and(|words| says(&safety.lower, words.said));
    shown || said()
}
