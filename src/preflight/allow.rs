//! What the writer has decided: `[preflight] allow`. A finding that is allowed is left out and counted.

use crate::manual::document::Allowed;
use crate::manual::source::Level;
use crate::names::nearest;

use super::rule::{Check, Note, Rule};

pub const ALLOW_WITHOUT_REASON: Rule = Rule {
    name: "allow-without-reason",
    level: Level::Advice,
    what: "a rule that is allowed without a reason",
    why: "in a year nobody knows whether it was a decision or a shrug",
    mend: "write it: `allow = [{ rule = \"…\", reason = \"…\" }]`",
    source: "common practice, no source",
    check: Check::OfAllow,
};

pub const ALLOW_UNKNOWN_RULE: Rule = Rule {
    name: "allow-unknown-rule",
    level: Level::Warning,
    what: "a name in `allow` that is no rule",
    why: "it allows nothing, and what it was meant to allow is still found",
    mend: "take the name from a finding, or from the table of rules",
    source: "common practice, no source",
    check: Check::OfAllow,
};

/// What is to be said about the entries themselves; `rules` are the names of all there are.
pub fn remarks(allow: &[Allowed], rules: &[&'static str]) -> Vec<(&'static Rule, Note)> {
    let mut notes = Vec::new();
    for entry in allow {
        if !rules.contains(&entry.rule.as_str()) {
            let note = Note::new(entry.span, format!("there is no rule \"{}\" to allow", entry.rule));
            notes.push((
                &ALLOW_UNKNOWN_RULE,
                match nearest(&entry.rule, rules.iter().copied()) {
                    Some(near) => note.hint(format!("did you mean \"{near}\"?")),
                    None => note,
                },
            ));
        }
        if entry.reason.as_ref().is_none_or(|reason| reason.trim().is_empty()) {
            notes.push((&ALLOW_WITHOUT_REASON, Note::new(entry.span, format!("\"{}\" is allowed without a reason", entry.rule))));
        }
    }
    notes
}

/// Whether findings of a rule are left out. What is said of `allow` itself cannot be allowed away.
pub fn allows(allow: &[Allowed], rule: &str) -> bool {
    !matches!(rule, "allow-unknown-rule" | "allow-without-reason") && allow.iter().any(|entry| entry.rule == rule)
}
