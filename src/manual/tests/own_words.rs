//! `[words]`: fixed words of the writer's own.

use super::{document, failure};
use crate::language::{Language, SignalWord};
use crate::manual::document::Kind;
use crate::manual::imprint;

#[test]
fn a_word_of_the_writers_own_wins_where_it_is_read_and_where_it_is_printed() {
    let document = document(
        "+++\nlanguage = \"de\"\nrevision = \"C\"\n[product]\nimporter = \"Marsh\"\n[words]\nnotice = \"BEACHTEN\"\nnote = \"Merke\"\nrevision = \"Stand {n} neu\"\nimporter = \"Einführer:\"\nred = \"hellrot\"\nfigure = \"Abb.\"\n+++\n\n> [!NOTICE]\n> Nass.\n\n> **Beachten!** Nass.\n\n> **HINWEIS** Nass.\n\n> [!NOTE]\n> Gut.\n\n> MERKE: Gut.\n",
    );
    let labels: Vec<(SignalWord, &str)> = document
        .blocks
        .iter()
        .filter_map(|block| match &block.kind {
            Kind::Safety(safety) => Some((safety.word, safety.label.as_str())),
            _ => None,
        })
        .collect();
    assert_eq!(labels, [(SignalWord::Notice, "BEACHTEN"), (SignalWord::Notice, "Beachten"), (SignalWord::Notice, "HINWEIS")]);
    let texts: Vec<String> = document.blocks.iter().map(|block| block.plain_text()).collect();
    assert!(texts.iter().any(|text| text.starts_with("Merke")), "{texts:?}");
    assert_eq!(document.remarks, []);

    let wording = document.header.wording();
    assert_eq!((wording.figure(2), wording.colour("red"), wording.colour("green")), ("Abb.\u{a0}2".into(), "hellrot", "grün"));
    assert_eq!(wording.around_revision(), ("Stand\u{a0}".into(), "\u{a0}neu".into()));
    let printed: Vec<String> = imprint::lines(&document.header)
        .into_iter()
        .map(|line| {
            let words = line.words.iter().map(|words| match words {
                imprint::Words::Fixed(text) => text.as_str(),
                imprint::Words::Own(text) => text,
            });
            words.collect()
        })
        .collect();
    assert_eq!(printed, ["Einführer: Marsh", "Stand\u{a0}C\u{a0}neu"]);
}

#[test]
fn own_words_take_a_grade_from_the_table_and_no_other_language_has_them() {
    let document = document(
        "+++\nlanguage = \"pl\"\n[words]\nnotice = \"UWAGA\"\ncaution = \"OSTROŻNIE\"\n[words.de]\nnotice = \"ACHTUNG\"\n+++\n\n> **UWAGA** Woda.\n",
    );
    let Kind::Safety(safety) = &document.blocks[0].kind else { panic!() };
    assert_eq!(safety.word, SignalWord::Notice);
    let words = &document.header.own_words;
    assert_eq!(words.get(Language::German, "notice"), Some("ACHTUNG"));
    assert_eq!(words.get(Language::German, "caution"), None);
    assert_eq!(document.header.wording().signal("ostrożnie"), Some(SignalWord::Caution));
}

#[test]
fn a_misspelt_word_is_told_with_the_nearest_and_an_empty_one_is_refused() {
    let remarks =
        document("+++\nlanguage = \"de\"\n[words]\nnotise = \"X\"\n[words.dee]\nnote = \"Y\"\n[words.fr]\nwarnin = \"Z\"\n+++\n")
            .remarks;
    let told: Vec<(&str, Option<&str>)> = remarks.iter().map(|remark| (remark.rule, remark.hint.as_deref())).collect();
    assert_eq!(told[0], ("unknown-key", Some("did you mean `notice`?")));
    assert_eq!(told[1].0, "unknown-key");
    assert_eq!(told[2], ("unknown-key", Some("did you mean `warning`?")));
    assert_eq!(told.len(), 3);
    let error = failure("+++\nlanguage = \"de\"\n[words]\nnotice = \" ! \"\n+++\n");
    assert!(error.to_string().contains("`notice` of [words] says nothing"), "{error}");
}
