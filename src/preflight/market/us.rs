//! What the US ask of everything that oscillates, radio or not. The manual is looked at where it is in English.
//!
//! "Harmful interference" and "two conditions" are looked for, not the wording: that is prescribed, and a laboratory gives it.

use super::*;

pub const US_EMISSIONS_UNDECLARED: Rule = Rule {
    name: "us-emissions-undeclared",
    level: Level::Warning,
    what: "an electrical product without a radio for the US, and neither `emissions` in the header nor a word about interference in the English manual",
    why: "what oscillates inside, as every processor does, disturbs radios: the US ask its manual for a caution, a statement of its class and somebody in the US who answers for it; the rules here wait for the header's word",
    mend: "write `emissions = \"B\"` under `[product]` (or \"A\"), or `emissions = \"exempt\"` where 47 CFR 15.103 exempts the product, as household appliances, or nothing in it oscillates",
    source: "47 CFR 15.21, 15.105(c) (seen), 15.103(d) (seen in the edition of 2014), 15.3(k) (known)",
    check: Check::Looks(|index| {
        unless(!electrical_for_us(index) || spoken_of(index), || {
            Note::new(at_markets(index), "electrical, for the US, and nothing says what its emissions are")
        })
    }),
};

pub const US_CHANGES_NOTE_MISSING: Rule = Rule {
    name: "us-changes-note-missing",
    level: Level::Warning,
    what: "an electrical product for the US, and nothing says that changes or modifications could void the authority to operate it",
    why: "the manual of a radio, and of all else that radiates without meaning to, cautions the user so",
    mend: "print the caution; or write `emissions = \"exempt\"` where 47 CFR 15.103 exempts the product, or nothing in it oscillates",
    source: "47 CFR 15.21 (seen)",
    check: Check::Looks(|index| {
        let there = !asked(index)
            || says(&index.lower, &["change", "modif"]) && says(&index.lower, &["void"]) && says(&index.lower, &["authori"]);
        unless(there, || Note::new(at_markets(index), "for the US, and nothing says what changes and modifications can void"))
    }),
};

pub const US_INTERFERENCE_NOTE_MISSING: Rule = Rule {
    name: "us-interference-note-missing",
    level: Level::Warning,
    what: "an electrical product for the US, and nothing names its class (A or B digital device) and harmful interference",
    why: "the user of a digital device is told what to do when it disturbs a radio or television",
    mend: "print the statement of your class; or write `emissions = \"exempt\"` where 47 CFR 15.103 exempts the product, or nothing in it oscillates",
    source: "47 CFR 15.105 (a), (b), (c) (seen)",
    check: Check::Looks(|index| {
        let (classes, class): (&[&str], &str) = match index.evidence.document.header.product.emissions {
            Some(Emissions::A) => (&["class a digital"], "Class A"),
            Some(Emissions::B) => (&["class b digital"], "Class B"),
            Some(Emissions::Exempt) | None => (&["class a digital", "class b digital"], "Class A or B"),
        };
        let there = !asked(index) || says(&index.lower, classes) && says(&index.lower, &["harmful interference"]);
        unless(there, || {
            let message = format!("for the US, and no statement says \"{class} digital device\" and \"harmful interference\"");
            Note::new(at_markets(index), message)
        })
    }),
};

pub const US_CONDITIONS_MISSING: Rule = Rule {
    name: "us-conditions-missing",
    level: Level::Advice,
    what: "a radio for the US, and the statement of the two conditions is not printed",
    why: "it stands on the device; where it does not fit there in type of 4 points, it stands in the manual and on the packaging",
    mend: "if it stands on the device, allow this rule and say so; else print it, here and on the packaging",
    source: "47 CFR 15.19(a)(3) (seen), (a)(5) (seen in the edition of 2017; the 4 points known)",
    check: Check::Looks(|index| {
        let there = !asked(index) || !super::radio::radio(index) || says(&index.lower, &["two conditions"]);
        unless(there, || Note::new(index.key("product.radio"), "the two conditions of the US are not printed"))
    }),
};

pub const US_SUPPLIER_MISSING: Rule = Rule {
    name: "us-supplier-missing",
    level: Level::Warning,
    what: "an electrical product without a radio for the US, and the manual lacks the two conditions, or the party in the US that answers for its emissions",
    why: "what is sold by the supplier's own declaration goes with a sheet that says so: which product, the two conditions, and name, address and telephone or web address of somebody in the US",
    mend: "write `us_responsible = \"name, street, town, state and ZIP code, telephone\"` under `[product]`, and print the two conditions",
    source: "47 CFR 2.1077(a) (seen), 15.19(a)(3) (seen)",
    check: Check::Looks(|index| {
        if !asked(index) || super::radio::radio(index) {
            return Vec::new();
        }
        let product = &index.evidence.document.header.product;
        let there = product.us_responsible.is_some() || product.address.as_deref().and_then(home) == Some("US");
        let mut missing = Vec::new();
        if !says(&index.lower, &["two conditions"]) {
            missing.push("the two conditions");
        }
        if !there {
            missing.push("somebody in the US who answers for its emissions");
        }
        unless(missing.is_empty(), || {
            Note::new(at_markets(index), format!("for the US, and the manual lacks {}", listed(&missing)))
        })
    }),
};

/// Whether part 15 asks, of an English manual.
fn asked(index: &Index) -> bool {
    let exempt = index.evidence.document.header.product.emissions == Some(Emissions::Exempt);
    electrical_for_us(index) && spoken_of(index) && !exempt
}

fn electrical_for_us(index: &Index) -> bool {
    english(index).is_some() && sold_in(index, US) && electrical(index)
}

/// Whether the maker knows that the product has emissions: by a radio in it, by the header's word, or by what the text says.
fn spoken_of(index: &Index) -> bool {
    let known = super::radio::radio(index) || index.evidence.document.header.product.emissions.is_some();
    known || says(&index.lower, &["interference", "two conditions", "digital device"])
}
