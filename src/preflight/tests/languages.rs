//! The rules that look for words, in other languages than English.

use super::{Given, checked, told};

const GERMAN: &str = r#"+++
title = "Reiher"
document = "RHR"
revision = "A"
issued = 2026-11-20
language = "de"
durable_copy = "https://example.com/reiher"

[product]
maker = "Reedbed Works"
address = "Schilfweg 1"
contact = "hilfe@reedbed.example"
hazards = ["hot-liquid", "sharp"]
+++

# Reiher

Reiher ist ein kleiner Vogel, der einen Teebeutel eintaucht.

## Lieferumfang

- 1 Reiher

> **WARNUNG** Heißer Tee verbrüht. Halten Sie Kinder fern.

> **VORSICHT** Der Schnabel ist scharf und kann Sie schneiden. Greifen Sie nicht hinein.

## Tee

1. Drücken Sie `AN`. Das Auge leuchtet.
2. Warten Sie eine Minute.
"#;

const FRENCH: &str = r#"+++
title = "Héron"
document = "HRN"
revision = "A"
issued = 2026-11-20
language = "fr"
durable_copy = "https://example.com/heron"

[product]
maker = "Reedbed Works"
address = "1 rue du Roseau"
contact = "aide@reedbed.example"
hazards = ["hot-liquid"]
+++

# Héron

Héron est un petit oiseau qui trempe un sachet de thé.

## Dans la boîte

- 1 Héron

> **AVERTISSEMENT** Le thé chaud brûle. Tenez-le hors de portée des enfants.

## Le thé

1. Appuyez sur `MARCHE`. L’œil s’allume.
2. Attendez une minute.
"#;

#[test]
fn german_and_french_are_judged_by_their_own_words() {
    for (sound, edits) in [
        (
            GERMAN,
            &[
                ("hazard-unannounced", "> **WARNUNG** Heißer Tee verbrüht. Halten Sie Kinder fern.", ""),
                ("avoidance-missing", " Halten Sie Kinder fern.", ""),
                ("injury-under-notice", "## Tee", "> **HINWEIS** Sturz führt zu schweren Verletzungen.\n\n## Tee"),
                (
                    "damage-under-warning",
                    "## Tee",
                    "> **VORSICHT** Wasser kann die Politur beschädigen. Wischen Sie es ab.\n\n## Tee",
                ),
                ("many-actions", "Das Auge leuchtet.", "Drehen Sie den Fuß."),
                ("contents-missing", "Lieferumfang", "Vögel"),
            ][..],
        ),
        (
            FRENCH,
            &[
                ("hazard-unannounced", "> **AVERTISSEMENT** Le thé chaud brûle. Tenez-le hors de portée des enfants.", ""),
                ("avoidance-missing", " Tenez-le hors de portée des enfants.", ""),
                ("injury-under-notice", "## Le thé", "> **AVIS** Une chute provoque des blessures graves.\n\n## Le thé"),
                ("many-actions", "L’œil s’allume.", "Tournez le pied."),
                ("contents-missing", "Dans la boîte", "Oiseaux"),
            ][..],
        ),
    ] {
        assert_eq!(told(&checked(sound, &Given::default())), Vec::<String>::new());
        for (rule, from, to) in edits {
            assert!(sound.contains(from), "{from}");
            let report = checked(&sound.replace(from, to), &Given::default());
            let rules: Vec<&str> = report.findings.iter().map(|finding| finding.rule).collect();
            assert_eq!(rules, [*rule], "{:#?}", told(&report));
        }
    }
}

#[test]
fn unsure_words_are_told_once_a_language_and_only_those_that_are_printed() {
    // Latvian: what is printed of its table stands under 75 %.
    let manual = |own: &str, body: &str| format!("+++\nlanguage = \"lv\"\nrevision = \"C\"\n{own}+++\n\n{body}");
    let unsure = |text: &str| -> Vec<String> {
        let report = checked(text, &Given::default());
        report.findings.into_iter().filter(|finding| finding.rule == "word-unsure").map(|finding| finding.message).collect()
    };
    let body = "> [!NOTICE]\n> Udens.\n\n> [!TIP]\n> Labi.\n\n![zils](light:blue)\n";
    let told = unsure(&manual("", body));
    assert_eq!(told.len(), 1, "{told:?}");
    for name in ["revision \"", "notice \"IEVĒRĪBAI\"", "tip \"", "blue \""] {
        assert!(told[0].contains(name), "{name}: {told:?}");
    }
    for name in ["danger", "warning", "figure", "red", "importer"] {
        assert!(!told[0].contains(name), "{name}: {told:?}");
    }
    // Whoever has put words in their stead, be they the same, hears no more of them.
    let own = "[words]\nnotice = \"IEVĒRĪBAI\"\ntip = \"Padoms\"\nrevision = \"Red.\"\nblue = \"zils\"\n";
    assert_eq!(unsure(&manual(own, body)), Vec::<String>::new());
    // Of English all is known.
    assert_eq!(unsure(&manual("", body).replace("\"lv\"", "\"en\"")), Vec::<String>::new());
}

#[test]
fn a_language_without_a_table_is_judged_by_signs_and_structure_alone() {
    let italian = FRENCH.replace("\"fr\"", "\"it\"").replace("Dans la boîte", "Uccelli").replace("AVERTISSEMENT", "AVVERTENZA");
    assert_eq!(told(&checked(&italian, &Given::default())), Vec::<String>::new(), "words are not guessed at");
    let silent = italian.replace("> **AVVERTENZA** Le thé chaud brûle. Tenez-le hors de portée des enfants.", "");
    let report = checked(&silent, &Given::default());
    assert_eq!(report.findings.iter().map(|finding| finding.rule).collect::<Vec<_>>(), ["hazard-unannounced"]);
    let signed = silent.replace("## Le thé", "> **AVVERTENZA** ![liquido](sign:hot-liquid) Scotta.\n\n## Le thé");
    assert_eq!(told(&checked(&signed, &Given::default())), Vec::<String>::new());
}
