//! Products with software in them that can be joined to a network or another device.

use super::*;

/// From this day on the EU asks.
const CRA: &str = "2027-12-11";

pub const SOFTWARE_UNDECLARED: Rule = Rule {
    name: "software-undeclared",
    level: Level::Advice,
    what: "a radio for the UK (from 11 December 2027 also for the EU), and the header does not say whether there is `software` in it",
    why: "what holds software and can be joined to a network has its own rules; the rules here wait for the header's word",
    mend: "write `software = true` under `[product]`, or `software = false`",
    source: "SI 2023/1007 (seen); (EU) 2024/2847 art. 2(1) (seen)",
    check: Check::Looks(|index| {
        let header = &index.evidence.document.header;
        let asked = sold_in(index, UK) || sold_in(index, EEA) && in_force(header.issued.as_deref(), CRA);
        unless(!asked || !super::radio::radio(index) || header.product.software.is_some(), || {
            Note::new(index.key("product.radio"), "a radio, and the header does not say whether there is software in the product")
        })
    }),
};

pub const SOFTWARE_EU_NOTE_MISSING: Rule = Rule {
    name: "software-eu-note-missing",
    level: Level::Warning,
    what: "`software = true` for an EU market, and the manual leaves out whom to tell of a vulnerability, the declaration of conformity, the end date of support, how updates come, or how one's data are removed",
    why: "these go with the product, on paper or in a lasting electronic form",
    mend: "a sentence each is enough; name the month and year in which support ends, and an address for vulnerabilities",
    source: "(EU) 2024/2847 art. 13(18), annex II (seen)",
    check: Check::From(CRA, |index| {
        let Some(words) = index.words.filter(|_| software(index) && sold_in(index, EEA)) else { return Vec::new() };
        let law = words.law;
        let things = [
            ("whom to tell of a vulnerability", law.holes),
            ("where the declaration of conformity is", words.declaration),
            ("until when it is supported", law.support),
            ("how updates come", law.updates),
            ("how one's data are removed", law.erase),
        ];
        let missing = unsaid(&index.lower, &things);
        unless(missing.is_empty(), || {
            Note::new(index.key("product.software"), format!("software for the EU, and nothing says {}", listed(&missing)))
        })
    }),
};

pub const SOFTWARE_UK_NOTE_MISSING: Rule = Rule {
    name: "software-uk-note-missing",
    level: Level::Warning,
    what: "`software = true` for the UK, and the English manual names no statement of compliance, or not how long it is supported",
    why: "what can be joined to a network is sold only with that statement, and the statement names the support period",
    mend: "print the statement, or say that it lies beside this manual, with the date until which security updates come",
    source: "Product Security and Telecommunications Infrastructure Act 2022 s. 9, SI 2023/1007 sched. 4 (seen)",
    check: Check::From("2024-04-29", |index| {
        let Some(law) = english(index).filter(|_| software(index) && sold_in(index, UK)) else { return Vec::new() };
        let things = [("a statement of compliance", &["statement of compliance"][..]), ("how long it is supported", law.support)];
        let missing = unsaid(&index.lower, &things);
        unless(missing.is_empty(), || {
            Note::new(index.key("product.software"), format!("software for the UK, and the manual lacks {}", listed(&missing)))
        })
    }),
};

fn software(index: &Index) -> bool {
    index.evidence.document.header.product.software == Some(true)
}
