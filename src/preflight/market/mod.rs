//! What the law of a market asks a product's papers to say. A rule here asks the header where the product is sold and what it is, and
//! stays silent about everything that is not so.
//!
//! Only whether something is there is looked at; the wording is the writer's. No clock is read: a manual is judged by the law of the
//! day it was issued.

pub mod batteries;
pub mod charging;
mod countries;
pub mod language;
pub mod operators;
pub mod radio;
pub mod software;
pub mod toys;
pub mod us;
pub mod waste;

use crate::manual::document::{Battery, Emissions};
use crate::manual::source::{Level, Span};

use super::content::unless;
use super::index::Index;
use super::rule::{Check, Note, Rule};
use super::words::{Law, says};

pub use countries::{home, languages};

/// Tags of the EU and its members, and of what follows its law on products: the EEA, and Northern Ireland (XI).
pub const EEA: &[&str] = &[
    "EU", "EEA", "AT", "BE", "BG", "HR", "CY", "CZ", "DK", "EE", "FI", "FR", "DE", "GR", "EL", "HU", "IE", "IT", "LV", "LT",
    "LU", "MT", "NL", "PL", "PT", "RO", "SK", "SI", "ES", "SE", "IS", "LI", "NO", "XI",
];

/// Tags of the United Kingdom.
pub const UK: &[&str] = &["UK", "GB", "XI"];

/// Tags of Great Britain, whose law on products is its own.
pub const GB: &[&str] = &["UK", "GB"];

pub const US: &[&str] = &["US", "USA"];

/// The day to which the rules were looked up: a manual without a date of issue is taken for one of this day.
pub const LOOKED_UP: &str = "2026-11-26";

/// Whether a manual of that date of issue is asked by a law that applies from a day on; both as ISO 8601, which sorts by time.
pub fn in_force(issued: Option<&str>, from: &str) -> bool {
    issued.unwrap_or(LOOKED_UP) >= from
}

pub const MARKET_UNKNOWN: Rule = Rule {
    name: "market-unknown",
    level: Level::Warning,
    what: "a market in the header that is no tag of a place",
    why: "the rules of that market stay silent, as if the product were not sold there",
    mend: "write EU, UK, US or the two letters of a country (ISO 3166-1): `markets = [\"IE\", \"UK\"]`",
    source: "ISO 3166-1 (known); common practice, no source",
    check: Check::Looks(|index| {
        let known = |market: &str| {
            let letters = market.len() == 2 && market.chars().all(|letter| letter.is_ascii_alphabetic());
            letters || ["EEA", "USA"].iter().any(|tag| tag.eq_ignore_ascii_case(market))
        };
        let unknown = index.evidence.document.header.product.markets.iter().filter(|market| !known(market));
        unknown.map(|market| Note::new(index.key("product.markets"), format!("no market has the tag \"{market}\""))).collect()
    }),
};

pub const CLASS_A_WARNING_MISSING: Rule = Rule {
    name: "class-a-warning-missing",
    level: Level::Warning,
    what: "`emissions = \"A\"` for an EU or UK market, and nothing says that it is not for homes",
    why: "in a home it disturbs radios; who is not told cannot know whose fault it is",
    mend: "say that it may disturb radio in residential areas, and what the user does then; also on the packaging",
    source: "2014/30/EU art. 18(2) (known; Switzerland's art. 14 VEMV, its likeness: seen)",
    check: Check::Looks(|index| {
        let product = &index.evidence.document.header.product;
        let Some(words) = index.words.filter(|_| product.emissions == Some(Emissions::A) && in_europe(index)) else {
            return Vec::new();
        };
        unless(says(&index.lower, words.law.homes), || {
            Note::new(index.key("product.emissions"), "class A, and nothing says that it is not for residential areas")
        })
    }),
};

/// Whether it is sold in one of these places.
pub fn sold_in(index: &Index, markets: &[&str]) -> bool {
    first_of(index, markets).is_some()
}

/// The first of its markets that is one of these places, as the writer spells it.
pub fn first_of<'s>(index: &'s Index, markets: &[&str]) -> Option<&'s str> {
    let declared = &index.evidence.document.header.product.markets;
    declared.iter().map(String::as_str).find(|market| markets.iter().any(|known| known.eq_ignore_ascii_case(market)))
}

/// Whether it is sold in the EEA or the United Kingdom.
pub fn in_europe(index: &Index) -> bool {
    sold_in(index, EEA) || sold_in(index, UK)
}

/// The battery that the header names, or that its hazards speak of.
pub fn battery(index: &Index) -> Option<Battery> {
    let product = &index.evidence.document.header.product;
    let hazard = |name: &str| product.hazards.iter().any(|hazard| hazard == name);
    product.battery.or_else(|| {
        let button = hazard("button-cell").then_some(Battery::ButtonCell);
        button.or_else(|| hazard("lithium-battery").then_some(Battery::Rechargeable))
    })
}

/// Whether the header says that there is electricity in the product.
pub fn electrical(index: &Index) -> bool {
    let product = &index.evidence.document.header.product;
    product.supply.is_some()
        || product.radio == Some(true)
        || battery(index).is_some()
        || product.software == Some(true)
        || product.hazards.iter().any(|hazard| hazard == "electricity")
}

/// Whether a law of the EU made for its kind holds for it, in the stead of the one on product safety in general.
pub fn harmonised(index: &Index) -> bool {
    electrical(index) || index.evidence.document.header.product.toy == Some(true)
}

/// Where a note about the market belongs.
fn at_markets(index: &Index) -> Span {
    index.key("product.markets")
}

/// The names of those things that are not told.
fn untold<'n>(things: &[(&'n str, bool)]) -> Vec<&'n str> {
    things.iter().filter(|(_, told)| !told).map(|(name, _)| *name).collect()
}

/// The names of those things that no entry speaks of.
fn unsaid<'n>(lower: &str, things: &[(&'n str, &[&str])]) -> Vec<&'n str> {
    let told: Vec<(&str, bool)> = things.iter().map(|(name, entries)| (*name, says(lower, entries))).collect();
    untold(&told)
}

/// "a, b and c".
fn listed(things: &[&str]) -> String {
    match things {
        [] => String::new(),
        [one] => (*one).to_string(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// The words for what a law asks for, where the manual is in English, in which the US and the UK ask for it.
fn english(index: &Index) -> Option<&'static Law> {
    index.words.filter(|words| words.tag == "en").map(|words| words.law)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_law_holds_from_its_day_on() {
        assert!(in_force(Some("2027-02-18"), "2027-02-18") && !in_force(Some("2027-02-17"), "2027-02-18"));
        assert!(in_force(None, "2025-08-18") && !in_force(None, "2027-02-18"));
    }

    #[test]
    fn things_are_listed_as_in_speech() {
        assert_eq!(
            [listed(&[]), listed(&["a"]), listed(&["a", "b"]), listed(&["a", "b", "c"])],
            ["", "a", "a and b", "a, b and c"]
        );
    }
}
