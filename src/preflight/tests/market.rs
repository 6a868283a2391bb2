//! What laws ask in a market: for each rule a manual that makes it fire, and its neighbour on which it is silent though it asks.

use super::{Given, checked, told};

type Edits = &'static [(&'static str, &'static str)];

const HERON: &str = super::SOUND;
const SPOON: &str = include_str!("spoon.md");
const REIHER: &str = include_str!("reiher.md");

/// A rule, a sound manual, what makes it fire, and what else makes it silent again.
struct Case {
    rule: &'static str,
    sound: &'static str,
    fires: Edits,
    silent: Edits,
}

const fn case(rule: &'static str, sound: &'static str, fires: Edits, silent: Edits) -> Case {
    Case { rule, sound, fires, silent }
}

const MARKETS: &str = "markets = [\"IE\", \"US\"]";
const END: &str = "## At its end";
const US_TEXT: &str = "Changes or modifications that Reedbed Works did not approve could void your authority to operate it. Heron is a Class B\ndigital device. If it causes harmful interference to a radio, move it away. It works under two conditions: it may not\ndisturb, and it must bear being disturbed.";
const END_TEXT: &str = "The battery can be removed with a screwdriver. Bring both to a collection point for recycling.\n\nThe crossed-out bin means: not into household waste. What Heron is made of is used again; what is harmful in it stays out of the\nsoil.";
const BUTTON: &str = "battery = \"button-cell\"\nmarkets =";
const SOFTWARE: &str = "software = true\nradio   = true";

const CASES: &[Case] = &[
    case("market-unknown", HERON, &[(MARKETS, "markets = [\"IE\", \"US\", \"Europe\"]")], &[("\"Europe\"", "\"JP\"")]),
    case(
        "market-language-missing",
        HERON,
        &[(MARKETS, "markets = [\"IE\", \"US\", \"AT\"]")],
        &[("[product]", "translations = [\"de-AT\"]\n\n[product]")],
    ),
    case(
        "market-languages-unsaid",
        HERON,
        &[(MARKETS, "markets = [\"EU\", \"US\"]")],
        &[("[product]", "translations = [\"de\"]\n\n[product]")],
    ),
    case(
        "maker-contact-missing",
        SPOON,
        &[
            ("contact = \"help@reedbed.example\"\n", ""),
            ("durable_copy = \"https://example.com/spoon\"\n", ""),
            ("## Care", "```qr\nabc\n```\n\n## Care"),
        ],
        &[("## Care", "Write to help@reedbed.example.\n\n## Care")],
    ),
    case("model-missing", SPOON, &[("model   = \"SPN-1\"\n", "")], &[("[product]", "[units]\nkey = \"serial\"\n\n[product]")]),
    case(
        "eu-responsible-missing",
        SPOON,
        &[("Fenton, Ireland", "Taipei, Taiwan")],
        &[("[product]", "[product]\neu_responsible = \"Marsh Agents, 2 Quay, Cork, Ireland\"")],
    ),
    case(
        "eu-responsible-missing",
        HERON,
        &[("Fenton, Ireland", "Salem, OR 97301")],
        &[("[product]", "[product]\nimporter = \"Marsh Imports, 3 Quay, Cork, Ireland\"")],
    ),
    case(
        "uk-importer-missing",
        HERON,
        &[(MARKETS, "markets = [\"IE\", \"UK\", \"US\"]\nsoftware = false")],
        &[("[product]", "[product]\nuk_importer = \"Fen Imports, 4 Fen Road, Ely, UK\"")],
    ),
    case("disposal-missing", HERON, &[(END_TEXT, "The battery can be removed.")], &[("The battery can be removed.", END_TEXT)]),
    case(
        "disposal-incomplete",
        HERON,
        &[("; what is harmful in it stays out of the\nsoil", "")],
        &[("is used again.", "is used again, and spares the environment.")],
    ),
    case(
        "bin-missing",
        HERON,
        &[("![separate collection](sign:no-bin)", "Goodbye.")],
        &[("markets = [\"IE\", \"US\"]", "markets = [\"US\"]")],
    ),
    case(
        "bin-small",
        HERON,
        &[("\n\n![separate collection](sign:no-bin)", " ![separate collection](sign:no-bin)")],
        &[(" ![separate collection](sign:no-bin)", "\n\n![separate collection](sign:no-bin)")],
    ),
    case(
        "disposal-de-incomplete",
        REIHER,
        &[
            ("Sammelstellen und Händler nehmen", "Sammelstellen nehmen"),
            ("Entnehmen Sie vorher die Batterien und geben Sie sie getrennt ab.", "Die Batterien werden recycelt."),
        ],
        &[("Die Batterien werden recycelt.", "Nehmen Sie die Batterien vorher heraus. Ihr Händler nimmt sie zurück.")],
    ),
    case(
        "sorting-fr-missing",
        HERON,
        &[(MARKETS, "markets = [\"IE\", \"US\", \"FR\"]"), ("[product]", "translations = [\"fr\"]\n\n[product]")],
        &[(END, "The Triman stands on the box.\n\n## At its end")],
    ),
    case(
        "battery-note-missing",
        HERON,
        &[("The battery can be removed with a screwdriver. Bring both", "Bring it"), ("empty battery", "hungry bird")],
        &[(END, "The battery stays in it.\n\n## At its end"), ("hungry bird", "empty battery")],
    ),
    case("battery-removal-missing", HERON, &[("2026-11-20", "2027-02-18")], &[("2027-02-18", "2027-02-17")]),
    case(
        "battery-removal-missing",
        HERON,
        &[("2026-11-20", "2027-02-18")],
        &[("with a screwdriver.", "with a screwdriver. Put a new battery in with its plus to the tail.")],
    ),
    case(
        "button-cell-undeclared",
        HERON,
        &[(MARKETS, "markets = [\"JP\"]"), ("markets =", BUTTON)],
        &[("\"pinch\"", "\"pinch\", \"button-cell\"")],
    ),
    case(
        "button-cell-us-note-missing",
        HERON,
        &[(MARKETS, "markets = [\"US\"]"), ("markets =", BUTTON), ("\"pinch\"", "\"pinch\", \"button-cell\"")],
        &[("crushed. Never", "crushed. Swallowed: call a poison control center. The cell is a CR2032, 3 V. Never")],
    ),
    case(
        "button-cell-signs-missing",
        HERON,
        &[(MARKETS, "markets = [\"IE\"]"), ("markets =", BUTTON), ("\"pinch\"", "\"pinch\", \"button-cell\"")],
        &[("crushed. Never", "crushed. ![general warning](sign:general-warning) ![out of reach](sign:keep-from-children) Never")],
    ),
    case(
        "radio-undeclared",
        HERON,
        &[
            ("radio   = true\n", ""),
            ("Heron listens on", "Heron’s Bluetooth listens on"),
            ("[product]", "[product]\nus_responsible = \"Creek Imports, Salem, OR 97301\""),
        ],
        &[("[product]", "[product]\nradio = false")],
    ),
    case("radio-eu-note-missing", HERON, &[("on 2402 to 2480 MHz", "to you")], &[("to you", "on 2.4 GHz")]),
    case("radio-eu-note-missing", HERON, &[(" with at most 4 dBm", "")], &[("2480 MHz", "2480 MHz (2.5 mW)")]),
    case(
        "radio-declaration-missing",
        HERON,
        &[("The declaration of conformity is at", "More is at")],
        &[("More is at", "Its declaration under 2014/53/EU is at")],
    ),
    case(
        "radio-declaration-missing",
        HERON,
        &[("is at\n[the maker’s page](https://example.com/heron/declaration)", "is with us")],
        &[("is with us", "is at www.example.com/declaration")],
    ),
    case(
        "radio-restriction-unsaid",
        HERON,
        &[("radio   = true", "radio   = true\nrestricted = [\"NO\", \"IT\"]")],
        &[("## Radio", "## Radio\n\nIn NO and IT only indoors.")],
    ),
    case("charging-undeclared", HERON, &[("charging  = false\n", "")], &[("[product]", "[product]\nbattery = \"cells\"")]),
    case(
        "charging-note-missing",
        HERON,
        &[("charging  = false", "charging = { least_watts = 2.5, most_watts = 10, usb_pd = true }")],
        &[("(5 V, 2 A)", "(5 V, 2 A; 2.5–10 W, USB PD)")],
    ),
    case(
        "class-a-warning-missing",
        HERON,
        &[("emissions = \"B\"", "emissions = \"A\""), ("a Class B", "a Class A")],
        &[("If it causes", "In residential areas it may disturb. If it causes")],
    ),
    case(
        "us-emissions-undeclared",
        HERON,
        &[("radio   = true", "radio   = false"), (US_TEXT, ""), ("emissions = \"B\"\n", "")],
        &[("[product]", "[product]\nemissions = \"exempt\"")],
    ),
    case("us-changes-note-missing", HERON, &[("could void", "do not touch")], &[("do not touch", "may void")]),
    case(
        "us-interference-note-missing",
        HERON,
        &[("a Class B\ndigital device", "a thing")],
        &[("a thing", "a Class B digital device")],
    ),
    case("us-interference-note-missing", HERON, &[("a Class B", "a Class A")], &[("emissions = \"B\"\n", "")]),
    case("us-conditions-missing", HERON, &[("under two conditions", "so")], &[("emissions = \"B\"", "emissions = \"exempt\"")]),
    case(
        "us-supplier-missing",
        HERON,
        &[("radio   = true", "radio   = false")],
        &[("[product]", "[product]\nus_responsible = \"Creek Imports, 5 Creek Road, Salem, OR 97301\"")],
    ),
    // Nothing of all that is asked of what is exempt.
    case(
        "us-supplier-missing",
        HERON,
        &[("radio   = true", "radio   = false")],
        &[("emissions = \"B\"", "emissions = \"exempt\""), (US_TEXT, "")],
    ),
    case(
        "software-undeclared",
        HERON,
        &[(MARKETS, "markets = [\"IE\", \"UK\", \"US\"]\nuk_importer = \"Fen Imports, 4 Fen Road, Ely, UK\"")],
        &[("[product]", "[product]\nsoftware = false")],
    ),
    case(
        "software-eu-note-missing",
        HERON,
        &[
            ("2026-11-20", "2027-12-11"),
            ("radio   = true", SOFTWARE),
            ("with a screwdriver.", "with a screwdriver. Put a new battery in."),
        ],
        &[(
            END,
            "Updates come over the air. It is supported until May 2032. Tell us of a vulnerability: security@reedbed.example. A factory reset\nerases your data.\n\n## At its end",
        )],
    ),
    case(
        "software-eu-note-missing",
        HERON,
        &[
            ("2026-11-20", "2027-12-11"),
            ("radio   = true", SOFTWARE),
            ("with a screwdriver.", "with a screwdriver. Put a new battery in."),
        ],
        &[("2027-12-11", "2027-12-10")],
    ),
    case(
        "software-uk-note-missing",
        HERON,
        &[
            (MARKETS, "markets = [\"UK\", \"US\"]\nuk_importer = \"Fen Imports, 4 Fen Road, Ely, UK\""),
            ("radio   = true", SOFTWARE),
        ],
        &[(END, "The statement of compliance lies in the box. Support ends in May 2032.\n\n## At its end")],
    ),
    case(
        "toy-age-missing",
        HERON,
        &[("[product]", "[product]\ntoy = true")],
        &[("It is made for one cup", "It is a toy for ages 8 and up, made for one cup")],
    ),
    case(
        "toy-word-missing",
        REIHER,
        &[("[product]", "[product]\ntoy = true"), ("eintaucht.", "eintaucht. Ab 3 Jahren.")],
        &[("## Am Ende", "> **Achtung:** Nicht für Kinder unter 36 Monaten. Sie können an Kleinteilen ersticken.\n\n## Am Ende")],
    ),
    case(
        "toy-small-parts-us-missing",
        HERON,
        &[
            (MARKETS, "markets = [\"US\"]"),
            ("[product]", "[product]\ntoy = true"),
            ("\"pinch\"", "\"pinch\", \"choking\""),
            ("> **NOTICE**", "> **WARNING** Small parts: a child can choke. Keep them away from small children.\n\n> **NOTICE**"),
        ],
        &[("Small parts: a child can choke.", "CHOKING HAZARD: small parts. Not for children under 3 years.")],
    ),
    case(
        "toy-passport-unsaid",
        SPOON,
        &[
            ("2026-11-20", "2030-08-01"),
            ("[product]", "translations = [\"de\"]\n\n[product]\ntoy = true"),
            ("It is made", "It is for ages 3 and up, made"),
        ],
        &[("## Care", "Its product passport is on the box.\n\n## Care")],
    ),
    case("paper-phenol-unsaid", HERON, &[("phenol_free = true", "")], &[("markets = [\"IE\", \"US\"]", "markets = [\"IE\"]")]),
    case(
        "paper-phenol-unsaid",
        HERON,
        &[("phenol_free = true", "phenol_free = false")],
        &[("phenol_free = false", "phenol_free = true")],
    ),
];

fn edited(text: &str, edits: &[(&str, &str)]) -> String {
    edits.iter().fold(text.to_string(), |text, (from, to)| {
        assert!(text.contains(from), "the manual does not hold {from:?}");
        text.replacen(from, to, 1)
    })
}

/// Runs every case; the names of the rules that fired.
pub fn all() -> Vec<&'static str> {
    let mut wrong = Vec::new();
    for case in CASES {
        let fired = edited(case.sound, case.fires);
        let report = checked(&fired, &Given::default());
        if report.findings.len() != 1 || report.findings[0].rule != case.rule {
            wrong.push(format!("{} should fire alone: {:#?}", case.rule, told(&report)));
        }
        let report = checked(&edited(&fired, case.silent), &Given::default());
        if !report.findings.is_empty() {
            wrong.push(format!("{} with {:?} should be silent: {:#?}", case.rule, case.silent, told(&report)));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    CASES.iter().map(|case| case.rule).collect()
}

#[test]
fn the_sound_manuals_are_sound() {
    for text in [HERON, SPOON, REIHER] {
        assert_eq!(told(&checked(text, &Given::default())), Vec::<String>::new());
    }
}

#[test]
fn what_is_missing_is_named_all_at_once() {
    let report = checked(&edited(HERON, &[(END_TEXT, "The battery can be removed. Recycle it.")]), &Given::default());
    assert_eq!(
        report.findings.iter().map(|finding| finding.message.as_str()).collect::<Vec<_>>(),
        [
            "about its end nothing says that it does not belong into household waste, where it is taken back, that it is used again or \
          recycled, what harmful substances in it can do and what the crossed-out bin means"
        ]
    );
}

/// Without a date of issue a manual is taken for one of the day to which the rules were looked up.
#[test]
fn a_manual_without_a_date_hears_nothing_of_laws_to_come() {
    let undated = edited(HERON, &[("issued       = 2026-11-20\n", "")]);
    let report = checked(&undated, &Given::default());
    assert_eq!(report.findings.iter().map(|finding| finding.rule).collect::<Vec<_>>(), ["issue-date-missing"]);
}

#[test]
fn the_manual_beside_counts_as_its_language_and_the_printers_paper_as_the_manuals() {
    let text = edited(HERON, &[(MARKETS, "markets = [\"IE\", \"US\", \"NO\"]"), ("phenol_free = true", "")]);
    let rules = |given: &Given| checked(&text, given).findings.iter().map(|finding| finding.rule).collect::<Vec<_>>();
    assert_eq!(rules(&Given::default()), ["market-language-missing", "paper-phenol-unsaid"]);
    let sound = Given::default();
    let given = Given { beside: Some("nn"), stock: super::Stock { phenol_free: Some(true), ..sound.stock }, ..sound };
    assert_eq!(rules(&given), Vec::<&str>::new());
}
