//! Batteries: their end, taking them out, and button cells, which kill children.

use super::*;

pub const BATTERY_NOTE_MISSING: Rule = Rule {
    name: "battery-note-missing",
    level: Level::Warning,
    what: "the product has a battery, and nothing says what becomes of it at its end",
    why: "batteries start fires in household waste; in the EU the battery itself has the crossed-out bin since 18 August 2025, and the reader is told what to do with it",
    mend: "say where the battery goes when it is spent, and whether it stays in the product",
    source: "(EU) 2023/1542 art. 74 (known), art. 13(4) (seen); elsewhere common practice, no source",
    check: Check::Looks(|index| {
        let Some(words) = index.words.filter(|_| battery(index).is_some()) else { return Vec::new() };
        let told = about_batteries(index).any(|lower| says(lower, words.battery_end));
        unless(told, || Note::new(at_battery(index), "nothing says what becomes of the battery"))
    }),
};

pub const BATTERY_REMOVAL_MISSING: Rule = Rule {
    name: "battery-removal-missing",
    level: Level::Warning,
    what: "the product has a battery and an EU market, and the manual does not say how to take it out, how to put another in, or where the lasting copy of that is",
    why: "who buys it must be able to change the battery, and to read how as long as the product lives: on paper, and for ever on a public web page",
    mend: "say how the battery is taken out and another put in (or that it is left to a professional, where the law lets it), and name the page: `durable_copy = \"https://…\"`",
    source: "(EU) 2023/1542 art. 11(1) (seen)",
    check: Check::From("2027-02-18", |index| {
        let Some(words) = index.words.filter(|_| battery(index).is_some() && sold_in(index, EEA)) else { return Vec::new() };
        let said = |entries| about_batteries(index).any(|lower| says(lower, entries));
        let copy = index.evidence.document.header.durable_copy.is_some();
        let things = [
            ("how the battery is taken out", said(words.law.take_out)),
            ("how another is put in", said(words.law.replace)),
            ("where the lasting copy on the web is", copy),
        ];
        let missing = untold(&things);
        unless(missing.is_empty(), || Note::new(at_battery(index), format!("nothing says {}", listed(&missing))))
    }),
};

pub const BUTTON_CELL_UNDECLARED: Rule = Rule {
    name: "button-cell-undeclared",
    level: Level::Warning,
    what: "`battery = \"button-cell\"`, and button-cell is not among the hazards",
    why: "a swallowed button cell burns through a child's gullet within two hours; the rules that look for a warning wait for the hazard",
    mend: "write `hazards = [\"button-cell\"]` under `[product]`, and warn of it",
    source: "16 CFR 1263 (seen); common practice, no source",
    check: Check::Looks(|index| {
        let product = &index.evidence.document.header.product;
        let declared = product.hazards.iter().any(|hazard| hazard == "button-cell");
        unless(product.battery != Some(Battery::ButtonCell) || declared, || {
            Note::new(index.key("product.battery"), "a button cell, and \"button-cell\" is not among the hazards")
        })
    }),
};

pub const BUTTON_CELL_US_NOTE_MISSING: Rule = Rule {
    name: "button-cell-us-note-missing",
    level: Level::Warning,
    what: "a button cell and a US market, and the English manual leaves out its type, its volts, the poison control centre, or that it does not go into household trash",
    why: "these stand in the instructions of such a product, beside the warning itself",
    mend: "take the statements of the standard that your laboratory tests by",
    source: "16 CFR 1263 with UL 4200A (seen; its clauses known)",
    check: Check::Looks(|index| {
        let Some(law) = english(index).filter(|_| button_cell(index) && sold_in(index, US)) else { return Vec::new() };
        let things = [
            ("its type (as CR2032)", names_a_cell(&index.lower)),
            ("its volts", super::super::supply::prints_volts(&index.lower)),
            ("the poison control center", says(&index.lower, &["poison control", "poison center"])),
            ("that it does not go into household trash", says(&index.lower, law.household)),
        ];
        let missing = untold(&things);
        unless(missing.is_empty(), || {
            Note::new(at_battery(index), format!("a button cell for the US, and nothing says {}", listed(&missing)))
        })
    }),
};

pub const BUTTON_CELL_SIGNS_MISSING: Rule = Rule {
    name: "button-cell-signs-missing",
    level: Level::Advice,
    what: "a button cell and an EU or UK market, and not both signs are shown: general warning (W001), keep out of reach of children (M055)",
    why: "who does not read sees them; standards for equipment with such cells ask for both",
    mend: "put them into the warning: `![general warning](sign:general-warning)` `![keep out of reach of children](sign:keep-from-children)`",
    source: "ISO 7010 W001, M055 (seen); which product standard asks for them: known",
    check: Check::Looks(|index| {
        if !button_cell(index) || !in_europe(index) {
            return Vec::new();
        }
        let signs = [("general-warning", "`sign:general-warning`"), ("keep-from-children", "`sign:keep-from-children`")];
        let missing: Vec<&str> = signs.iter().filter(|(sign, _)| !index.signs.contains(*sign)).map(|(_, name)| *name).collect();
        unless(missing.is_empty(), || {
            let verb = if missing.len() == 1 { "is" } else { "are" };
            Note::new(at_battery(index), format!("a button cell, and {} {verb} shown nowhere", listed(&missing)))
        })
    }),
};

fn button_cell(index: &Index) -> bool {
    battery(index) == Some(Battery::ButtonCell)
}

/// Where the header speaks of the battery.
fn at_battery(index: &Index) -> Span {
    match index.evidence.document.header.product.battery {
        Some(_) => index.key("product.battery"),
        None => index.key("product.hazards"),
    }
}

/// Passages that speak of a battery.
fn about_batteries<'s>(index: &'s Index) -> impl Iterator<Item = &'s str> {
    let words = index.words.map_or(&[][..], |words| words.battery);
    index.entries.passages.iter().map(|passage| passage.lower.as_str()).filter(move |lower| says(lower, words))
}

/// Whether a text in lower case names a button cell as IEC 60086 does: two letters or one, and two to four figures.
fn names_a_cell(lower: &str) -> bool {
    let words = lower.split(|character: char| !character.is_alphanumeric());
    words.into_iter().any(|word| {
        let figures = ["cr", "br", "lr", "sr", "pr", "ag"].iter().find_map(|letters| word.strip_prefix(letters));
        figures.is_some_and(|figures| (1..=5).contains(&figures.len()) && figures.starts_with(|c: char| c.is_ascii_digit()))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// IEC 60086-3 (known): letters for the chemistry and the round shape, figures for the size.
    #[test]
    fn a_cell_is_known_by_its_name() {
        assert!(names_a_cell("two cr2032 cells") && names_a_cell("lr44") && names_a_cell("sr626sw") && names_a_cell("ag3"));
        assert!(!names_a_cell("crane, 2032, break, lrx") && !names_a_cell("the 100 cr"));
    }
}
