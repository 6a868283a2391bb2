//! French.

use super::{HazardWords, Words, first_word};

#[rustfmt::skip]
pub const WORDS: Words = Words {
    tag: "fr",
    injury: &[
        "bless", "brûlure", "vous brûler", "brûler la peau", "ébouillant", "choc électrique", "chocs électriques", "décharges électriques", "suffo", "asphyx", "décès", "cécité", "saign", "noyade", "électrocut", "électrocution", "décharge électrique", "mort.", "mortel",
        "étouff", "étrangl", "empoisonn", "intoxi", "avaler", "avalé", "ingér", "coupure", "vous couper", "écras", "pincement", "vous pincer", "aveugl",
        "lésion", "convulsi", "irritation de la peau", "allergi",
    ],
    no_injury: &["coupure de courant", "écraser le câble", "sans blessure"],
    property: &["endommag", "dommage", "rayer", "rayure", "casser", "cassé", "garantie", "perte de données", "usé", "usure", "tache", "détrui", "détériore", "panne", "dysfonction", "décolor"],
    consequence: &[
        "bless", "brûl", "ébouillant", "feu.", "flamme", "incendie", "choc", "électrocut", "décharge", "mort", "suffo", "asphyx", "décès", "cécité", "noyade", "noyer", "coup", "saign", "pinc", "coinc", "doigt", "main.", "mains.", "peau",
        "yeux", "œil", "oeil", "audit", "ouïe", "explo", "court-circuit", "danger", "risqu", "poison", "intoxi", "avaler", "avalé", "ingér", "malade", "poumon", "respir", "bascul",
        "tomb", "chut", "endommag", "dommage", "tache", "fuit", "fuite", "aveugl", "toxi", "écras", "allergi", "surchauff", "éclat", "étouff", "étrangl", "convulsi", "irrit", "piqu",
        "gliss", "chaud", "chaleur", "corros", "enfant", "personne", "stimulateur", "lésion",
    ],
    fault: &[
        "défaut", "erreur", "panne", "défaill", "vide", "danger", "bloqu", "coinc", "impossible", "pas.", "trop", "manque", "alarme",
        "avert", "problème", "faible", "chaud", "surchauff", "arrêt", "urgence", "fuite", "aucun", "anomali", "cassé",
    ],
    avoidance: &[
        "ne.", "n'", "pas.", "jamais", "toujours", "gard", "évit", "seulement", "uniquement", "avant", "débranch", "attend", "port", "utilis", "laiss", "assur", "doit", "doivent",
        "arrêt", "éteign", "éteindre", "déconnect", "ten", "rang", "surveill", "portée", "éloign", "loin", "aér", "ventil", "refroid", "plac", "mett", "mettre", "charg", "retir", "aucun",
        "attention", "vérifi", "consult", "appel", "ouvr", "protég", "remplac", "conserv", "sans",
    ],
    hazards: &[
        HazardWords { hazard: "electricity", said: &["électri", "choc", "secteur", "tension", "courant"], met: &["secteur", "prise murale", "branch"] },
        HazardWords { hazard: "hot-surface", said: &["chaud", "brûl", "chaleur"], met: &["soud", "four.", "chauff"] },
        HazardWords { hazard: "hot-liquid", said: &["chaud", "brûl", "ébouillant", "bouill", "vapeur"], met: &["eau chaude", "bouilloire", "bouill"] },
        HazardWords { hazard: "pinch", said: &["pinc", "doigt", "coinc", "écras", "cheveu"], met: &["charnière", "bec."] },
        HazardWords { hazard: "lithium-battery", said: &["batterie", "pile", "accu", "lithium"], met: &["batterie", "charger", "chargez", "rechar"] },
        HazardWords { hazard: "magnet", said: &["aimant", "magnét"], met: &["aimant"] },
        HazardWords { hazard: "laser", said: &["laser", "faisceau"], met: &["laser"] },
        HazardWords {
            hazard: "sharp",
            said: &["coup", "tranch", "lame", "aiguille", "piqu", "pointu", "bord"],
            met: &["lame", "couteau", "couper", "coupez", "ciseaux", "aiguille", "pince coupante"],
        },
        HazardWords { hazard: "choking", said: &["étouff", "suffo", "asphyx", "petites pièces", "petits éléments", "avaler", "avalé", "moins de 3", "moins de trois", "36 mois", "3 ans", "trois ans"], met: &[] },
        HazardWords { hazard: "button-cell", said: &["pile", "avaler", "ingér"], met: &["pile"] },
        HazardWords { hazard: "strangulation", said: &["étrangl", "cordon", "ficelle", "câble", "cou."], met: &[] },
        HazardWords { hazard: "fire", said: &["feu.", "incendie", "flamme", "inflamm", "brûl"], met: &["bougie", "allumette", "flamme", "allumez la mèche"] },
        HazardWords { hazard: "fumes", said: &["fumée", "vapeur", "aér", "ventil", "respir", "inhal"], met: &["soud", "coll", "vernis", "résine"] },
        HazardWords { hazard: "chemical", said: &["chimi", "acide", "irrit", "poison", "toxi", "corros", "avaler", "peau", "yeux"], met: &["acide", "solvant", "engrais", "vernis"] },
        HazardWords { hazard: "bright-light", said: &["lumière", "éblou", "yeux", "œil", "regard", "convulsi", "flash"], met: &["stroboscop"] },
        HazardWords { hazard: "noise", said: &["fort", "audit", "ouïe", "bruit", "volume", "oreille"], met: &["casque", "volume"] },
        HazardWords { hazard: "tip-over", said: &["bascul", "tomb", "chut", "renvers"], met: &[] },
        HazardWords { hazard: "moving-parts", said: &["mouvement", "mobile", "tourn", "rotat", "doigt", "cheveu"], met: &["moteur"] },
        HazardWords { hazard: "eye-injury", said: &["yeux", "œil", "oeil", "lunettes"], met: &["coupez", "perce"] },
        HazardWords { hazard: "allergy", said: &["allerg"], met: &[] },
    ],
    purpose: &["destiné", "est un ", "est une ", "est le ", "est la ", "conçu", "prévu", "sert à", "usage prévu", "utilisation prévue", "permet", "fait pour", "usage."],
    contents: &["dans la boîte", "contenu", "dans le carton", "dans l'emballage", "fourni", "inclus", "liste des pièces", "pièces.", "dans le kit", "compris"],
    disposal: &["élimin", "recycl", "déchet", "ordures", "poubelle", "point de collecte", "tri.", "déchèterie", "déchetterie", "fin de vie", "collecte"],
    battery: &["pile", "batterie", "accumulateur"],
    battery_end: &["élimin", "recycl", "retir", "remplac", "chang", "collecte", "vide", "usag", "déchet", "rapport"],
    radio: &["bluetooth", "wi-fi", "wifi", "radio", "sans fil", "zigbee", "433 mhz", "868 mhz", "2,4 ghz"],
    declaration: &["déclaration de conformité", "déclaration ue de conformité", "directive 2014/53", "2014/53/ue"],
    supply: &["alimentation", "adaptateur", "chargeur usb", "usb-c", "micro-usb", "piles", "secteur"],
    acts,
    then: &["puis", "ensuite"],
    sequence: &["puis", "ensuite", "enfin", "d'abord", "pour finir"],
    law: &super::law::FRENCH,
};

const PASSED: &[&str] = &["puis", "ensuite", "maintenant", "enfin", "et", "d'abord", "délicatement", "doucement", "lentement"];

const QUIET: &[&str] = &[
    "attendez",
    "vérifiez",
    "assurez",
    "évitez",
    "gardez",
    "laissez",
    "lisez",
    "répétez",
    "utilisez",
    "voyez",
    "écoutez",
    "veillez",
    "pouvez",
    "devez",
    "avez",
    "conservez",
    "faites",
];

/// "Appuyez sur …": the imperative of the second person plural. The bare infinitive is not told from a statement.
fn acts(sentence: &str) -> bool {
    let (verb, rest) = first_word(sentence, PASSED);
    let verb = verb.split('-').next().unwrap_or_default();
    let negated = rest.split_whitespace().any(|word| matches!(word, "pas" | "jamais"));
    verb.ends_with("ez") && verb.chars().count() > 4 && !negated && !QUIET.contains(&verb)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_imperative_is_told_from_statements() {
        assert!(acts("appuyez sur la touche") && acts("puis tirez le tiroir"));
        for sentence in [
            "le voyant clignote",
            "attendez dix secondes",
            "ne forcez pas",
            "si vous entendez un bip, appuyez",
            "vous pouvez partir",
        ] {
            assert!(!acts(sentence), "{sentence}");
        }
    }
}
