//! German.

use super::{HazardWords, Words, first_word};

#[rustfmt::skip]
pub const WORDS: Words = Words {
    tag: "de",
    injury: &[
        "*verletz", "verbrenn", "verbrüh", "*stromschlag", "*stromschläg", "*lebensgefahr", "zum tod", "verätz", "gehörschad", "augenschad", "elektrischer schlag", "elektrischen schlag", "tod.", "tödlich", "sterben", "erstick", "strangul",
        "vergift", "verschluck", "schneiden sie sich", "schnittwunde", "*quetsch", "einklemm", "erblind", "*augenschäd", "*hörschäd", "gehörschäd", "*hautreiz",
        "allergi", "krampfanf",
    ],
    no_injury: &["keine verletz", "verbrennungsmotor", "kabel quetsch", "kabel nicht quetsch", "kabel einklemm", "kabel nicht einklemm"],
    property: &[
        "*beschädig", "*schaden", "*schäden", "kratz", "zerkratz", "zerbrech", "bricht", "brechen", "*garantie", "*gewährleist", "datenverlust", "verschleiß",
        "fleck", "zerstör", "*störung", "defekt", "verfärb", "verzieh",
    ],
    consequence: &[
        "*lebensgefahr", "zum tod", "*stromschläg", "verätz", "*brände", "gehörschad", "augenschad",
        "*verletz", "verbrenn", "verbrüh", "*brand", "*feuer", "flamme", "*schlag", "tod.", "tödlich", "sterben", "schneid", "*schnitt", "blut", "*quetsch", "klemm",
        "einklemm", "*finger", "hand.", "hände", "*haut", "*auge", "*gehör", "explo", "*kurzschl", "*gefahr", "*gift", "verschluck", "krank", "*lunge", "atem",
        "*atmen", "kipp", "umkipp", "fällt", "stürz", "*schäden", "*beschädig", "*schaden", "auslauf", "läuft aus", "erblind", "quetsch", "allergi", "überhitz", "platz", "erstick",
        "strangul", "*krampf", "*reiz", "stich", "stech", "rutsch", "heiß", "hitze", "*risiko", "ätz", "entzünd", "*kind", "herzschrittmacher", "fleck", "*person",
    ],
    fault: &[
        "*fehler", "*fehl", "*stör", "*defekt", "leer.", "*gefahr", "blockier", "klemm", "falsch", "kein", "nicht.", "kaputt", "versag",
        "warn", "*alarm", "zu.", "schwach", "problem", "heiß", "überhitz", "halt", "stopp", "notfall", "leck",
    ],
    avoidance: &[
        "nicht", "nie.", "niemals", "kein", "immer", "halten", "vermeid", "nur.", "vor.", "bevor", "ziehen", "wart", "trag", "verwend", "benutz", "lass", "muss", "müssen",
        "stopp", "ausschalt", "schalten", "trenn", "aufbewahr", "lager", "aufsicht", "reichweite", "fernhalt", "fern.", "lüft", "abkühl", "stell", "leg", "lad", "entfern",
        "achte", "prüf", "arzt", "öffn", "schütz", "sichern", "ersetz", "darf", "dürfen", "erst.", "ohne",
    ],
    hazards: &[
        HazardWords {
            hazard: "electricity",
            said: &["*strom", "elektr", "*schlag", "*netzspannung", "*spannung"],
            met: &["*netzstecker", "*steckdose", "*netzteil", "stromversorgung"],
        },
        HazardWords { hazard: "hot-surface", said: &["heiß", "verbrenn", "hitze"], met: &["löt", "erhitz", "*ofen", "heiß"] },
        HazardWords {
            hazard: "hot-liquid",
            said: &["heiß", "verbrüh", "koch", "dampf", "verbrenn"],
            met: &["heißes wasser", "heißem wasser", "*wasserkocher", "kochend"],
        },
        HazardWords { hazard: "pinch", said: &["*quetsch", "*klemm", "*finger", "haar"], met: &["scharnier", "*klappe", "schnabel"] },
        HazardWords { hazard: "lithium-battery", said: &["*akku", "*batterie", "lithium", "*zelle"], met: &["*akku", "*batterie", "laden.", "aufladen"] },
        HazardWords { hazard: "magnet", said: &["*magnet"], met: &["*magnet"] },
        HazardWords { hazard: "laser", said: &["laser", "*strahl"], met: &["laser"] },
        HazardWords {
            hazard: "sharp",
            said: &["scharf", "schneid", "*schnitt", "klinge", "kante", "nadel", "spitz", "stich", "stech"],
            met: &["klinge", "messer", "schneiden", "schere", "*nadel", "seitenschneider", "*zange"],
        },
        HazardWords { hazard: "choking", said: &["erstick", "*kleinteil", "kleine teile", "verschluck", "unter 3", "unter drei", "36 monat", "3 jahre", "drei jahre"], met: &[] },
        HazardWords { hazard: "button-cell", said: &["knopfzelle", "*batterie", "verschluck"], met: &["knopfzelle", "*batterie"] },
        HazardWords { hazard: "strangulation", said: &["strangul", "*schnur", "*kabel", "kordel", "*hals"], met: &[] },
        HazardWords { hazard: "fire", said: &["*feuer", "*brand", "*brände", "flamme", "entzünd", "brenn"], met: &["*kerze", "streichholz", "flamme", "anzünd", "entzünd"] },
        HazardWords { hazard: "fumes", said: &["dampf", "dämpf", "rauch", "lüft", "*atmen", "atem"], met: &["löt", "kleb", "lack", "harz"] },
        HazardWords {
            hazard: "chemical",
            said: &["chemi", "säure", "*reiz", "*gift", "ätz", "verschluck", "haut", "augen"],
            met: &["säure", "lösungsmittel", "dünger", "lack"],
        },
        HazardWords { hazard: "bright-light", said: &["hell", "blend", "*auge", "blick", "*krampf", "blitz"], met: &["stroboskop"] },
        HazardWords { hazard: "noise", said: &["laut", "gehör", "lärm", "*lautstärke"], met: &["kopfhörer", "lautstärke"] },
        HazardWords { hazard: "tip-over", said: &["*kipp", "fall", "fällt", "stürz"], met: &[] },
        HazardWords { hazard: "moving-parts", said: &["beweg", "dreh", "rotier", "*finger", "haar"], met: &["motor"] },
        HazardWords { hazard: "eye-injury", said: &["*auge", "schutzbrille"], met: &["schneid", "bohr"] },
        HazardWords { hazard: "allergy", said: &["allerg"], met: &[] },
    ],
    purpose: &[
        "bestimmungsgemäß", "verwendungszweck", "gedacht", "dient", "ist ein ", "ist eine ", "ist der ", "ist die ", "ist das ", "bestimmt für", "geeignet", "zweck",
        "hilft", "vorgesehen", "zum einsatz", "sind ein",
    ],
    contents: &["*lieferumfang", "im karton", "in der schachtel", "in der packung", "inhalt", "packungsinhalt", "enthalten", "beiliegend", "liegt bei", "teile.", "stückliste", "in der dose", "im bausatz", "teileliste"],
    disposal: &["*entsorg", "recycl", "*hausmüll", "restmüll", "*sammelstelle", "wertstoff", "*altgerät", "*abfall", "wiederverwert"],
    battery: &["*batterie", "*akku", "knopfzelle"],
    battery_end: &["*entsorg", "recycl", "entnehm", "entnommen", "*wechsel", "tausch", "ersetz", "*sammel", "leer", "rückgabe", "zurückgeb", "*altbatterie", "entfern"],
    radio: &["bluetooth", "wlan", "wi-fi", "wifi", "*funk", "zigbee", "drahtlos", "433 mhz", "868 mhz", "2,4 ghz"],
    declaration: &["konformitätserklärung", "richtlinie 2014/53", "2014/53/eu"],
    supply: &["*netzteil", "stromversorgung", "usb-c", "micro-usb", "*batterien", "netzstecker"],
    acts,
    then: &["dann", "danach", "anschließend"],
    sequence: &["dann", "danach", "anschließend", "zuletzt", "zuerst", "als nächstes", "schließlich"],
    law: &super::law::GERMAN,
};

const PASSED: &[&str] = &["dann", "nun", "jetzt", "danach", "und", "bitte", "anschließend", "zuletzt", "zuerst", "schließlich"];

/// Verbs after whose form of address nothing is done.
const QUIET: &[&str] = &[
    "achten",
    "beachten",
    "lassen",
    "lesen",
    "prüfen",
    "sehen",
    "stellen sie sicher",
    "vermeiden",
    "verwenden",
    "warten",
    "wiederholen",
    "überprüfen",
    "hören",
    "benutzen",
    "bewahren",
    "können",
    "wenn",
    "denn",
    "müssen",
    "dürfen",
    "sollten",
    "haben",
    "sind",
];

/// "Drücken Sie …": the formal imperative. The bare infinitive ("Taste drücken") is not told from a statement.
fn acts(sentence: &str) -> bool {
    let (verb, rest) = first_word(sentence, PASSED);
    let addressed = first_word(rest, &[]).0 == "sie";
    let negated = rest.split_whitespace().any(|word| matches!(word, "nicht" | "nie" | "niemals" | "keine" | "keinen" | "kein"));
    addressed && verb.ends_with('n') && !negated && !QUIET.contains(&verb) && !sentence.contains("stellen sie sicher")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_formal_imperative_is_told_from_statements() {
        assert!(acts("drücken sie die taste") && acts("dann ziehen sie den stecker"));
        for sentence in [
            "die lampe leuchtet",
            "warten sie zehn sekunden",
            "drücken sie nicht zu fest",
            "wenn sie fertig sind, drücken sie",
            "stellen sie sicher, dass",
        ] {
            assert!(!acts(sentence), "{sentence}");
        }
    }
}
