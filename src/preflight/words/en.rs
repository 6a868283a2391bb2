//! English.

use super::{HazardWords, Words, first_word};

pub const WORDS: Words = Words {
    tag: "en",
    injury: &[
        "injur", "burns.", "burn you", "burn your", "burned", "burnt skin", "serious burn", "scald", "electric shock", "electrocut", "death",
        "die.", "fatal", "kill you", "kill a person", "kill people", "chok", "suffocat", "strangl", "poison", "swallow", "cut you", "cut your",
        "cuts.", "crush your", "crushed finger", "pinch your", "pinched finger", "trapped finger", "trap your finger", "blind", "eye damage",
        "damage your eye", "damage to your eye", "damage your hearing", "hearing loss", "hurt you", "hurt your", "bleed", "seizure",
        "skin irritation", "allergic",
    ],
    no_injury: &["burns out", "burn out", "burns in", "no injur", "burned out", "cuts off", "cuts out", "cuts power", "cuts the"],
    property: &[
        "damage", "scratch", "break", "broke", "crack", "warranty", "guarantee", "lose data", "loss of data", "data loss", "wear out", "wears out",
        "stain", "destroy", "ruin", "shorten the life", "shorten its life", "malfunction", "fade", "warp",
    ],
    consequence: &[
        "injur", "burn", "fire", "flame", "shock", "kill", "death", "die.", "fatal", "cut", "bleed", "pinch", "nip", "trap", "squeeze", "finger", "hand",
        "skin", "eye", "hearing", "ear.", "ears.", "explo", "short circuit", "hurt", "harm", "poison", "swallow", "sick", "ill.", "lung", "breath",
        "tip", "fall", "scald", "damage", "stain", "leak", "blind", "toxic", "crush", "allerg", "overheat", "burst", "chok", "suffocat", "strangl",
        "seizure", "irritat", "entangl", "prick", "stab", "slip", "perforat", "pacemaker", "implant", "heat", "hot.", "danger", "risk", "electrocut",
        "dizz", "headache", "ignite", "corro", "child", "person", "people",
    ],
    avoidance: &[
        "do not", "don't", "never", "always", "keep", "avoid", "only", "before", "unplug", "wait", "wear", "use.", "let.", "make sure", "ensure", "must",
        "stop", "switch off", "switch it off", "turn off", "turn it off", "disconnect", "hold", "store", "supervis", "out of reach", "away from", "ventilat",
        "cool", "place", "put", "charge", "remove", "no.", "not.", "take care", "be careful", "check", "see a doctor", "seek", "call", "open a window",
        "clamp", "work", "point", "pick up", "cover", "fit.", "set", "cut away", "hang", "lift", "wash", "stand", "replace", "carry",
    ],
    hazards: &[
        HazardWords { hazard: "electricity", said: &["electri", "shock", "mains", "live", "voltage"], met: &["mains", "wall socket", "plug it in", "plug the", "wire."] },
        HazardWords { hazard: "hot-surface", said: &["hot", "burn", "heat"], met: &["solder", "heat up", "oven", "hot plate"] },
        HazardWords {
            hazard: "hot-liquid",
            said: &["hot", "scald", "boil", "steam", "burn"],
            met: &["hot water", "kettle", "boil", "hot tea", "pour the tea", "hot drink"],
        },
        HazardWords {
            hazard: "pinch",
            said: &["pinch", "finger", "trap", "squeeze", "nip", "caught", "hair", "crush your", "crushing"],
            met: &["hinge", "beak", "clamp", "snap shut"],
        },
        HazardWords { hazard: "lithium-battery", said: &["batter", "lithium", "cell"], met: &["batter", "charge.", "charging", "recharge"] },
        HazardWords { hazard: "magnet", said: &["magnet"], met: &["magnet"] },
        HazardWords { hazard: "laser", said: &["laser", "beam"], met: &["laser"] },
        HazardWords {
            hazard: "sharp",
            said: &["sharp", "cut", "blade", "edge", "needle", "prick", "stab", "point"],
            met: &["blade", "knife", "cut.", "trim", "needle", "cutter", "snip", "scissors"],
        },
        HazardWords {
            hazard: "choking",
            said: &["chok", "small part", "swallow", "suffocat", "under 3", "under three", "36 months", "3 years", "three years", "small child"],
            met: &[],
        },
        HazardWords { hazard: "button-cell", said: &["button cell", "coin cell", "button batter", "coin batter", "batter", "swallow"], met: &["batter", "cell."] },
        HazardWords { hazard: "strangulation", said: &["strangl", "cord", "string", "cable", "neck"], met: &[] },
        HazardWords { hazard: "fire", said: &["fire", "flame", "ignit", "burn", "flammable"], met: &["candle", "match.", "flame", "ignite", "light the"] },
        HazardWords { hazard: "fumes", said: &["fume", "vapo", "smoke", "ventilat", "breath", "open a window", "open window"], met: &["solder", "glue", "varnish", "resin"] },
        HazardWords {
            hazard: "chemical",
            said: &["chemical", "acid", "irritat", "poison", "toxic", "corro", "swallow", "skin", "eyes"],
            met: &["acid", "solvent", "fertili", "varnish"],
        },
        HazardWords { hazard: "bright-light", said: &["bright", "glare", "eye", "look into", "stare", "seizure", "flash", "strobe"], met: &["strobe"] },
        HazardWords { hazard: "noise", said: &["loud", "hearing", "noise", "volume", "ear"], met: &["headphone", "volume"] },
        HazardWords { hazard: "tip-over", said: &["tip", "topple", "fall", "overturn"], met: &[] },
        HazardWords {
            hazard: "moving-parts",
            said: &["moving", "moves", "rotat", "spin", "entangl", "finger", "hair", "turning"],
            met: &["motor", "spin"],
        },
        HazardWords { hazard: "eye-injury", said: &["eye", "goggles", "safety glasses"], met: &["snip", "cut.", "drill"] },
        HazardWords { hazard: "allergy", said: &["allerg"], met: &[] },
    ],
    purpose: &[
        "intended", "is for ", "are for ", "is a ", "is an ", "is the ", "are a ", "designed for", "designed to", "made for", "made to", "for use", "purpose",
        "meant for", "meant to", "helps you", "lets you", "suitable for", "what it does", "what it is", "use it to", "use it for",
    ],
    contents: &[
        "in the box", "in this box", "in your box", "box contents", "contents", "what you get", "what is inside", "what's inside", "included", "the box holds",
        "the kit contains", "kit contains", "parts list", "parts.", "supplied", "in the tin", "in the pack", "in the bag", "in this kit", "in the kit", "you received",
    ],
    disposal: &["dispos", "recycl", "household waste", "household rubbish", "waste", "collection point", "end of life", "end of its life", "throw away"],
    battery: &["batter", "button cell", "coin cell", "lithium cell"],
    battery_end: &["dispos", "recycl", "remov", "replac", "swap", "change", "collection", "empty", "spent", "used batter", "waste", "return"],
    radio: &["bluetooth", "wi-fi", "wifi", "wlan", "radio link", "zigbee", "lorawan", "wireless", "433 mhz", "868 mhz", "2.4 ghz"],
    declaration: &["declaration of conformity", "directive 2014/53", "2014/53/eu"],
    supply: &["power supply", "mains adapter", "power adapter", "wall adapter", "usb charger", "usb-c", "micro-usb", "batteries", "mains"],
    acts,
    then: &["then", "and then", "after that", "afterwards"],
    sequence: &["then", "next.", "after that", "afterwards", "finally", "first.", "second.", "lastly"],
};

const PASSED: &[&str] = &[
    "then", "now", "next", "gently", "carefully", "slowly", "finally", "first", "again", "firmly", "lightly", "briefly", "please", "and", "lastly", "afterwards",
    "quickly",
];

const ACTIONS: &[&str] = &[
    "add", "adjust", "align", "apply", "assemble", "attach", "bend", "bring", "build", "choose", "clamp", "clean", "click", "clip", "close", "connect", "cover",
    "cut", "detach", "dip", "disconnect", "draw", "drill", "drop", "empty", "enter", "feed", "fill", "fit", "fix", "flip", "fold", "glue", "grip", "hang", "hold",
    "hook", "insert", "join", "lay", "lift", "load", "loosen", "lower", "mark", "mix", "mount", "move", "open", "paint", "peel", "pick", "pin", "place", "plant",
    "plug", "point", "pour", "press", "pull", "push", "put", "raise", "release", "remove", "rinse", "roll", "rotate", "rub", "scatter", "screw", "select", "set",
    "sew", "shake", "slide", "slip", "slot", "snap", "snip", "solder", "sow", "spread", "sprinkle", "squeeze", "stand", "stick", "stir", "strip", "swing",
    "switch", "take", "tap", "thread", "tie", "tighten", "tilt", "tin", "touch", "trim", "turn", "twist", "unclip", "unfold", "unplug", "unscrew", "unwrap", "wash",
    "water", "wind", "wipe", "wrap",
];

fn acts(sentence: &str) -> bool {
    let (verb, _) = first_word(sentence, PASSED);
    ACTIONS.binary_search(&verb).is_ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn imperatives_are_told_from_statements() {
        assert!(ACTIONS.is_sorted());
        for sentence in ["press mode", "then, gently push the tray in", "now turn it over"] {
            assert!(acts(sentence), "{sentence}");
        }
        for sentence in ["the light turns green", "wait ten seconds", "do not force it", "if it is dark, press mode", "heron presses on"] {
            assert!(!acts(sentence), "{sentence}");
        }
    }
}
