//! Who made it, who brings it in, who answers for it, and by which number it is known.

use super::*;

pub const MAKER_MISSING: Rule = Rule {
    name: "maker-missing",
    level: Level::Warning,
    what: "no `maker` under `[product]`",
    why: "the reader must know who answers for the product. By law the name stands on the product; on packaging or papers only where that cannot be",
    mend: "write `maker = \"…\"` under `[product]`; it is printed on the last panel",
    source: "2014/53/EU art. 10(7) (seen), 2014/30/EU art. 7(6), 2014/35/EU art. 6(6), 2011/65/EU art. 7(h) (known); where none of its kind holds, (EU) 2023/988 art. 9(6) (seen)",
    check: Check::Looks(|index| {
        let product = &index.evidence.document.header.product;
        unless(product.maker.is_some(), || Note::new(index.table("product"), "the manual does not say who made the product"))
    }),
};

pub const MAKER_ADDRESS_MISSING: Rule = Rule {
    name: "maker-address-missing",
    level: Level::Warning,
    what: "no postal `address` under `[product]`",
    why: "a complaint must have somewhere to go, also when the web site is gone. By law the address stands on the product; on packaging or papers only where that cannot be",
    mend: "write `address = \"…\"` under `[product]`",
    source: "2014/53/EU art. 10(7) (seen), 2014/30/EU art. 7(6), 2014/35/EU art. 6(6), 2011/65/EU art. 7(h) (known); where none of its kind holds, (EU) 2023/988 art. 9(6) (seen)",
    check: Check::Looks(|index| {
        let product = &index.evidence.document.header.product;
        unless(product.address.is_some(), || Note::new(index.table("product"), "the maker has no postal address"))
    }),
};

pub const MAKER_CONTACT_MISSING: Rule = Rule {
    name: "maker-contact-missing",
    level: Level::Warning,
    what: "a product for the EU that is neither electrical nor a toy, without an electronic address: neither `contact` under `[product]` nor an e-mail or web address that is printed",
    why: "for such a product the law asks for a postal and an electronic address: on the product, or where that cannot be on packaging or papers",
    mend: "write `contact = \"…\"` under `[product]`",
    source: "(EU) 2023/988 art. 9(6), art. 2(1) (seen)",
    check: Check::Looks(|index| unless(reachable(index) || !general(index), || no_contact(index))),
};

pub const CONTACT_MISSING: Rule = Rule {
    name: "contact-missing",
    level: Level::Advice,
    what: "no electronic address, where no law of its kind asks for one: neither `contact` under `[product]` nor an e-mail or web address that is printed",
    why: "most readers will write an e-mail, not a letter",
    mend: "write `contact = \"…\"` under `[product]`",
    source: "common practice, no source",
    check: Check::Looks(|index| unless(reachable(index) || general(index), || no_contact(index))),
};

pub const MODEL_MISSING: Rule = Rule {
    name: "model-missing",
    level: Level::Warning,
    what: "a product for an EU or UK market without `model` under `[product]`, and without a table of units",
    why: "a type, batch or serial number tells which product a recall means. By law it stands on the product; on packaging or papers only where that cannot be",
    mend: "write `model = \"…\"` under `[product]`; it is printed on the last panel. Or print each unit's number: `--units`",
    source: "2014/53/EU art. 10(6), (EU) 2023/988 art. 9(5) (seen), 2014/30/EU art. 7(5), 2011/65/EU art. 7(g) (known)",
    check: Check::Looks(|index| {
        let header = &index.evidence.document.header;
        let numbered = header.product.model.is_some() || header.unit_key.is_some() || index.evidence.unit.is_some();
        unless(numbered || !in_europe(index), || {
            Note::new(index.table("product"), "neither a model nor a serial number tells this product from another")
        })
    }),
};

pub const EU_RESPONSIBLE_MISSING: Rule = Rule {
    name: "eu-responsible-missing",
    level: Level::Warning,
    what: "a product for an EU market whose maker's address names no country of the EEA, and neither `eu_responsible` nor `importer`",
    why: "what comes from outside is sold only when somebody inside answers for it; name and address stand on product, packaging, parcel or papers",
    mend: "name who it is: `eu_responsible = \"name, address\"` under `[product]`, or `importer`. If you are in the EEA, end `address` with the country",
    source: "(EU) 2019/1020 art. 4(1), (2), (4) (seen); where no law of its kind holds, (EU) 2023/988 art. 16 (seen)",
    check: Check::Looks(|index| {
        let product = &index.evidence.document.header.product;
        let Some(address) = &product.address else { return Vec::new() };
        let inside = home(address).is_some_and(|home| EEA.contains(&home));
        let named = product.eu_responsible.is_some() || product.importer.is_some();
        unless(inside || named || !sold_in(index, EEA), || {
            Note::new(
                index.key("product.address"),
                "sold in the EU; the address is in no country of the EEA, and nobody in it is named",
            )
        })
    }),
};

pub const UK_IMPORTER_MISSING: Rule = Rule {
    name: "uk-importer-missing",
    level: Level::Advice,
    what: "an electrical product or a toy for the UK whose maker's address is not in the UK, and no `uk_importer`",
    why: "who brings it in puts name and address on it, or on packaging or papers",
    mend: "name who it is: `uk_importer = \"name, address\"` under `[product]`. Who sells straight to buyers abroad should ask who that is",
    source: "SI 2017/1206, SI 2016/1091, SI 2016/1101, SI 2012/3032: duties of importers (known)",
    check: Check::Looks(|index| {
        let product = &index.evidence.document.header.product;
        let Some(address) = &product.address else { return Vec::new() };
        let inside = home(address).is_some_and(|home| UK.contains(&home));
        unless(inside || product.uk_importer.is_some() || !sold_in(index, GB) || !harmonised(index), || {
            Note::new(index.key("product.address"), "sold in the UK; the address is not in it, and no importer is named")
        })
    }),
};

/// Whether the law on product safety in general holds for all of it.
fn general(index: &Index) -> bool {
    sold_in(index, EEA) && !harmonised(index)
}

fn reachable(index: &Index) -> bool {
    let printed = index.lower.contains("http") || index.lower.contains("www.") || has_mail(&index.lower);
    index.evidence.document.header.product.contact.is_some() || printed
}

fn no_contact(index: &Index) -> Note {
    Note::new(index.table("product"), "the maker has no electronic address")
}

/// Whether the text holds something like an e-mail address.
fn has_mail(lower: &str) -> bool {
    let word = |character: Option<char>| character.is_some_and(char::is_alphanumeric);
    lower.match_indices('@').any(|(at, _)| word(lower[..at].chars().next_back()) && word(lower[at + 1..].chars().next()))
}
