//! The rules of a comparison.

use crate::manual::source::Level;
use crate::preflight::rule::{Check, Rule};

const fn rule(name: &'static str, level: Level, what: &'static str, why: &'static str, mend: &'static str) -> Rule {
    Rule { name, level, what, why, mend, source: "common practice, no source", check: Check::Remarked }
}

pub const MISSING_SAFETY: Rule = rule(
    "beside-missing-safety",
    Level::Error,
    "a safety message of the manual beside this one that is not here",
    "readers of this language are not warned",
    "translate it, and put it before the same step",
);

pub const MISSING_STEP: Rule = rule(
    "beside-missing-step",
    Level::Error,
    "a step of the manual beside this one that is not here",
    "readers of this language do something else than the others",
    "translate it into the same procedure",
);

pub const MISSING_FIGURE: Rule = rule(
    "beside-missing-figure",
    Level::Warning,
    "a figure, callout or panel of the manual beside this one that is not here",
    "readers of this language see less than the others",
    "take it over, with its words translated",
);

pub const MISSING_BLOCK: Rule = rule(
    "beside-missing-block",
    Level::Warning,
    "any other part of the manual beside this one that is not here: a heading, a paragraph, a row",
    "readers of this language are told less than the others",
    "translate it, or delete it there",
);

pub const ONLY_HERE: Rule = rule(
    "beside-only-here",
    Level::Warning,
    "something that the manual beside this one does not have",
    "readers of the other language are told less",
    "add it there, or delete it here",
);

pub const OUT_OF_ORDER: Rule = rule(
    "beside-out-of-order",
    Level::Warning,
    "something that stands elsewhere in the manual beside this one",
    "two orders of one procedure cannot both be right",
    "bring both manuals into one order",
);

pub const OTHER_GRADE: Rule = rule(
    "beside-other-grade",
    Level::Error,
    "a safety message of another grade than in the manual beside this one",
    "one danger has one grade, whatever the language",
    "decide which grade is right, and use its signal word in both",
);

pub const OTHER_REVISION: Rule = rule(
    "beside-other-revision",
    Level::Warning,
    "a revision that is not that of the manual beside this one",
    "one of the two is out of date",
    "bring both to one state, then to one revision",
);

pub const OTHER_VALUE: Rule = rule(
    "beside-other-value",
    Level::Error,
    "a sign, a barcode or a number with its unit that is another one in the manual beside this one",
    "45 W and 4.5 W, or two warnings, cannot both be right",
    "find out which is right, and write it in both",
);

pub const OTHER_DETAIL: Rule = rule(
    "beside-other-detail",
    Level::Warning,
    "a number, a key or a QR symbol's content that is another one in the manual beside this one",
    "one minute and ten, or two keys, cannot both be right",
    "find out which is right, and write it in both",
);
