//! The common charger.

use super::*;
use crate::manual::document::Charging;
use crate::preflight::supply::{closed_up, prints};

pub const CHARGING_UNDECLARED: Rule = Rule {
    name: "charging-undeclared",
    level: Level::Advice,
    what: "a radio with a rechargeable battery for an EU market, and the header does not say `charging`",
    why: "telephones, tablets, cameras, headphones, loudspeakers, readers, keyboards, mice, navigators, consoles and portable computers have the common charger, and their manuals say what it must give; the rules here wait for the header's word",
    mend: "write `charging = { least_watts = 2.5, most_watts = 10, usb_pd = false }` under `[product]`, or `charging = false` if it is none of these",
    source: "2014/53/EU art. 3(4), annex Ia; (EU) 2022/2380 (seen)",
    check: Check::From("2024-12-28", |index| {
        let product = &index.evidence.document.header.product;
        let asked = super::radio::radio(index) && battery(index) == Some(Battery::Rechargeable) && sold_in(index, EEA);
        unless(!asked || product.charging.is_some(), || {
            Note::new(
                index.key("product.radio"),
                "a radio that is charged, and the header does not say whether it has the common charger",
            )
        })
    }),
};

pub const CHARGING_NOTE_MISSING: Rule = Rule {
    name: "charging-note-missing",
    level: Level::Warning,
    what: "a radio with the common charger for an EU market, and the manual does not print the least and the most watts, or \"USB PD\" where it takes that",
    why: "the manual says which charger does, and shows the label with it, at least 7 mm high; the packaging shows the label too",
    mend: "print the label with its figures, as \"2.5–10 W\", and \"USB PD\" beside it; and say them in the text",
    source: "2014/53/EU art. 10(8), annex Ia parts II and IV; (EU) 2022/2380 (seen)",
    check: Check::From("2024-12-28", |index| {
        let Some(Charging::Common { least_watts, most_watts, usb_pd }) = index.evidence.document.header.product.charging else {
            return Vec::new();
        };
        if !super::radio::radio(index) || !sold_in(index, EEA) {
            return Vec::new();
        }
        let text = closed_up(&index.lower);
        let mut missing = Vec::new();
        for (name, watts) in [("the least", least_watts), ("the most", most_watts)] {
            let shown = watts.map_or_else(|| name.to_string(), |watts| format!("{name}, {watts} W,"));
            // "2.5–10 W" has one unit for both.
            let printed =
                |watts: f64| prints(&text, watts, "w") || ['-', '–', '…'].iter().any(|to| text.contains(&format!("{watts}{to}")));
            if !watts.is_some_and(printed) {
                missing.push(shown);
            }
        }
        if usb_pd == Some(true) && !says(&index.lower, &["usb pd", "usb-pd", "power delivery"]) {
            missing.push("\"USB PD\"".to_string());
        }
        let missing: Vec<&str> = missing.iter().map(String::as_str).collect();
        unless(missing.is_empty(), || {
            let message = format!("of what its charger must give, {} is printed nowhere", listed(&missing));
            Note::new(index.key("product.charging"), message)
        })
    }),
};
