//! Every rule, one line each; and the list that the handbook shows, made from them.

use super::finding::name_of;
use super::market::{self, batteries, charging, language, operators, radio, software, toys, us, waste};
use super::rule::{Check, Rule};
use super::{
    allow, codes, comparison, content, craft, folding, online, paper, pictures, remarks, safety, signals, steps, supply,
    type_size, wording,
};

/// All rules by family, as the table shows them.
pub static FAMILIES: &[(&str, &[&Rule])] = &[
    (
        "Content",
        &[
            &content::PRODUCT_UNNAMED,
            &content::PURPOSE_MISSING,
            &content::DOCUMENT_NUMBER_MISSING,
            &content::REVISION_MISSING,
            &content::ISSUE_DATE_MISSING,
            &content::LANGUAGE_UNDECLARED,
            &remarks::UNKNOWN_LANGUAGE,
            &operators::MAKER_MISSING,
            &operators::MAKER_ADDRESS_MISSING,
            &operators::CONTACT_MISSING,
            &content::CONTENTS_MISSING,
            &content::DURABLE_COPY_MISSING,
            &online::COPY_UNREACHABLE,
            &online::COPY_OTHER,
            &supply::SUPPLY_UNSAID,
            &supply::SUPPLY_MARK_MISSING,
            &supply::SUPPLY_UNDECLARED,
            &remarks::SIGNAL_WORD_UNKNOWN,
            &safety::SIGNAL_WORDS_MIXED,
            &wording::WORD_UNSURE,
            &wording::WORDS_OWN,
            &wording::WORDS_COLLIDE,
            &safety::HAZARD_UNKNOWN,
            &safety::HAZARD_UNANNOUNCED,
            &safety::HAZARD_LATE,
            &safety::CONSEQUENCE_MISSING,
            &safety::AVOIDANCE_MISSING,
            &safety::INJURY_UNDER_NOTICE,
            &safety::DAMAGE_UNDER_WARNING,
            &steps::MANY_ACTIONS,
            &steps::STEPS_UNNUMBERED,
            &steps::LONG_PROCEDURE,
            &steps::KEY_SPELT_TWO_WAYS,
            &signals::SIGNAL_TWO_MEANINGS,
            &signals::PATTERNS_ALIKE,
            &signals::FLASH_RATE,
            &signals::KEY_UNPLACED,
            &signals::RED_WITHOUT_FAULT,
        ],
    ),
    (
        "Law of the market",
        &[
            &market::MARKET_UNKNOWN,
            &language::MARKET_LANGUAGE_MISSING,
            &language::MARKET_LANGUAGES_UNSAID,
            &operators::MAKER_CONTACT_MISSING,
            &operators::MODEL_MISSING,
            &operators::EU_RESPONSIBLE_MISSING,
            &operators::UK_IMPORTER_MISSING,
            &waste::DISPOSAL_MISSING,
            &waste::DISPOSAL_INCOMPLETE,
            &waste::BIN_MISSING,
            &waste::BIN_SMALL,
            &waste::DISPOSAL_DE_INCOMPLETE,
            &waste::SORTING_FR_MISSING,
            &batteries::BATTERY_NOTE_MISSING,
            &batteries::BATTERY_REMOVAL_MISSING,
            &batteries::BUTTON_CELL_UNDECLARED,
            &batteries::BUTTON_CELL_US_NOTE_MISSING,
            &batteries::BUTTON_CELL_SIGNS_MISSING,
            &radio::RADIO_UNDECLARED,
            &radio::RADIO_EU_NOTE_MISSING,
            &radio::RADIO_DECLARATION_MISSING,
            &radio::RADIO_RESTRICTION_UNSAID,
            &charging::CHARGING_UNDECLARED,
            &charging::CHARGING_NOTE_MISSING,
            &market::CLASS_A_WARNING_MISSING,
            &us::US_EMISSIONS_UNDECLARED,
            &us::US_CHANGES_NOTE_MISSING,
            &us::US_INTERFERENCE_NOTE_MISSING,
            &us::US_CONDITIONS_MISSING,
            &us::US_SUPPLIER_MISSING,
            &software::SOFTWARE_UNDECLARED,
            &software::SOFTWARE_EU_NOTE_MISSING,
            &software::SOFTWARE_UK_NOTE_MISSING,
            &toys::TOY_AGE_MISSING,
            &toys::TOY_WORD_MISSING,
            &toys::TOY_SMALL_PARTS_US_MISSING,
            &toys::TOY_PASSPORT_UNSAID,
            &paper::PAPER_PHENOL_UNSAID,
        ],
    ),
    (
        "Paper",
        &[
            &type_size::TYPE_SMALL,
            &type_size::REVERSE_SMALL,
            &type_size::LINE_THIN,
            &remarks::MISSING_GLYPH,
            &remarks::SYSTEM_FACE,
            &remarks::BROKEN_WORD,
            &pictures::PICTURE_ENLARGED,
            &pictures::PICTURE_CLOGGED,
            &pictures::PICTURE_WASHED_OUT,
            &remarks::PICTURE_UNUSABLE,
            &remarks::PICTURE_NOT_GATHERED,
            &remarks::PICTURE_NAME_CASE,
            &remarks::PICTURE_COLOURS,
            &remarks::PICTURE_BLANK,
            &remarks::BACKGROUND_KEPT,
            &remarks::MODEL_UNUSABLE,
            &remarks::MODEL_MENDED,
            &remarks::PART_HIDDEN,
            &remarks::MISSING_ALT,
            &remarks::UNKNOWN_SIGN,
            &remarks::UNKNOWN_SIGNAL,
            &remarks::OWN_DOTS_TOO_WIDE,
            &remarks::SHARE_FOR_PERCENT,
            &remarks::CALLOUT_OFF_PICTURE,
            &remarks::CALLOUTS_CROWDED,
            &remarks::BALLOON_OFF_PANEL,
            &remarks::FACE_UNUSED,
            &remarks::HEADING_SMALLER,
            &remarks::BALLOON_EMPTY,
            &remarks::BALLOON_MOVED,
            &remarks::BALLOON_OVER_DRAWING,
            &remarks::BALLOONS_CROWDED,
            &remarks::BALLOONS_OUT_OF_ORDER,
            &codes::CODE_MODULE_SMALL,
            &codes::CODE_QUIET_ZONE,
            &remarks::CODE_UNUSABLE,
            &paper::WRITE_IN_LOW,
            &paper::BLACK_OVER_DUTY,
            &paper::STRIP_OVER_ROLL,
            &folding::FOLDED_THROUGH,
            &remarks::PANEL_TOO_SMALL,
            &remarks::MISPLACED_FOLD,
            &folding::STACK_OVER_BOX,
        ],
    ),
    (
        "Craft",
        &[
            &remarks::UNKNOWN_KEY,
            &remarks::HTML_DROPPED,
            &remarks::PAGE_FURNITURE,
            &remarks::CONTROL_CHARACTER,
            &remarks::LINK_TO_NOWHERE,
            &remarks::FRONT_MATTER,
            &remarks::INCLUDED_HEADER,
            &remarks::LINK_TO_FILE,
            &remarks::BADGES_LEFT_OUT,
            &remarks::SECOND_TITLE,
            &remarks::NESTED_TOO_DEEP,
            &craft::HEADING_SKIPPED,
            &craft::LINK_WITHOUT_TEXT,
            &remarks::EXTRA_CELL,
            &remarks::FOOTNOTE_UNUSED,
            &pictures::PICTURE_UNUSED,
            &craft::DOUBLE_SPACE,
            &craft::STRAIGHT_QUOTES,
            &allow::ALLOW_UNKNOWN_RULE,
            &allow::ALLOW_WITHOUT_REASON,
        ],
    ),
    (
        "Beside another language",
        &[
            &comparison::rules::MISSING_SAFETY,
            &comparison::rules::MISSING_STEP,
            &comparison::rules::MISSING_FIGURE,
            &comparison::rules::MISSING_BLOCK,
            &comparison::rules::ONLY_HERE,
            &comparison::rules::OUT_OF_ORDER,
            &comparison::rules::OTHER_GRADE,
            &comparison::rules::OTHER_REVISION,
            &comparison::rules::OTHER_VALUE,
            &comparison::rules::OTHER_DETAIL,
        ],
    ),
];

/// All rules.
pub fn rules() -> impl Iterator<Item = &'static Rule> {
    FAMILIES.iter().flat_map(|(_, rules)| rules.iter().copied())
}

/// The rule of a name.
pub fn find(name: &str) -> Option<&'static Rule> {
    rules().find(|rule| rule.name == name)
}

/// The rules as a Markdown list a family: what the handbook shows between its two marks.
pub fn listed() -> String {
    let mut list = String::new();
    for (family, rules) in FAMILIES {
        list.push_str(&format!("\n### {family}\n\n"));
        for rule in *rules {
            let source = match rule.check {
                Check::From(day, _) => format!("{}; in force from {day}", rule.source),
                Check::Looks(_) | Check::Remarked | Check::OfAllow => rule.source.to_string(),
            };
            let (name, level) = (rule.name, name_of(rule.level));
            let [what, why, mend, source] = [rule.what, rule.why, rule.mend, &source].map(typeset);
            list.push_str(&format!("- **{name}**, {level}: {what}. *Because* {why}. *Mend it:* {mend}. *Source:* {source}.\n"));
        }
    }
    list
}

/// Words with the quotation marks of print; code keeps its own.
fn typeset(words: &str) -> String {
    let (mut code, mut open) = (false, false);
    let set = words.chars().map(|letter| match letter {
        '`' => {
            code = !code;
            letter
        }
        '\'' if !code => '\u{2019}',
        '"' if !code => {
            open = !open;
            if open { '\u{201c}' } else { '\u{201d}' }
        }
        letter => letter,
    });
    set.collect()
}
