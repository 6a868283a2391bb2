//! What a finding offers to be mended with: the changes that would remove it, each with the words that only a person can say.

use std::path::Path;

use super::pointed::{Under, under};
use crate::desk::{Field, Found, Mend};
use crate::edit::Change;
use crate::manual::document::Document;
use crate::manual::source::Source;
use crate::manual::{Folder, HEADER_KEYS};

/// Rules that a key of the header answers: its table and its name.
const ANSWERED: &[(&str, &str, &str)] = &[
    ("product-unnamed", "", "title"),
    ("document-number-missing", "", "document"),
    ("revision-missing", "", "revision"),
    ("issue-date-missing", "", "issued"),
    ("language-undeclared", "", "language"),
    ("durable-copy-missing", "", "durable_copy"),
    ("maker-missing", "product", "maker"),
    ("maker-address-missing", "product", "address"),
    ("maker-contact-missing", "product", "contact"),
    ("contact-missing", "product", "contact"),
    ("model-missing", "product", "model"),
    ("purpose-missing", "product", "purpose"),
];

/// Where a change is laid: on the line of the finding, or in the header of the manual.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Where {
    Line,
    Header,
}

/// What would mend a finding, the best first.
pub fn mends(folder: &Folder, source: &Source, document: &Document, found: &Found) -> Vec<(Where, Mend)> {
    let mut all = Vec::new();
    let there = under(source, document, &found.file, found.line);
    match found.rule.as_str() {
        "missing-alt" => {
            let panel = match &there {
                Some(Under::Comic(_, panel)) => *panel,
                _ => None,
            };
            let field = Field::new("text", "What it shows, for a reader who cannot see it", "The lid, opened by the thumb");
            all.push((Where::Line, Mend::with("Say what it shows", Change::Alt { text: String::new(), panel }, field)));
        }
        "unknown-key" => all.extend(respelt(source, found).map(|mend| (Where::Line, mend))),
        "picture-name-case" => all.extend(there.and_then(|there| recased(folder, there, found)).map(|mend| (Where::Line, mend))),
        "picture-enlarged" => {
            let title = "Set it as wide as its pixels allow";
            all.push((Where::Line, Mend::new(title, Change::Width { mm: None })));
            let field = Field::new("mm", "Width in millimetres", "30");
            all.push((Where::Line, Mend::with("Set its width", Change::Width { mm: None }, field)));
        }
        rule => {
            let answered = ANSWERED.iter().find(|(name, ..)| *name == rule);
            if let Some((_, table, key)) = answered
                && let Some(known) = HEADER_KEYS.iter().find(|known| known.table == *table && known.name == *key)
            {
                let field = Field::new("value", known.about, known.example.trim_matches('"'));
                let change = Change::Header { table: (*table).into(), key: (*key).into(), value: String::new() };
                all.push((Where::Header, Mend::with("Write it into the header", change, field)));
            }
        }
    }
    // What is said of `allow` itself cannot be allowed away.
    if !found.rule.starts_with("allow-") {
        let field = Field::new("reason", "Why it is all right here", "Checked on paper.");
        let change = Change::Allow { rule: found.rule.clone(), reason: String::new() };
        all.push((Where::Header, Mend::with("Allow it, with the reason", change, field)));
    }
    all
}

/// A key that is spelt as the nearest known one, which the finding names.
fn respelt(source: &Source, found: &Found) -> Option<Mend> {
    let to = found.hint.strip_prefix("did you mean `")?.strip_suffix("`?")?;
    let line = source.file_text(&found.file)?.lines().nth(found.line.checked_sub(1)? as usize)?;
    let rest: String = line.chars().skip(found.column.saturating_sub(1) as usize).collect();
    let from: String = rest.chars().take_while(|letter| letter.is_alphanumeric() || matches!(letter, '_' | '-')).collect();
    let change = Change::Spelling { column: found.column, from: from.clone(), to: to.to_owned() };
    (!from.is_empty()).then(|| Mend::new(format!("Write {to} for {from}"), change))
}

/// An address with the capitals that its file has.
fn recased(folder: &Folder, there: Under, found: &Found) -> Option<Mend> {
    let addresses = match there {
        Under::Figure(figure) => vec![figure.picture.as_str()],
        Under::Comic(pictures, panel) => match panel {
            Some(panel) => pictures.get(panel).copied().flatten().into_iter().collect(),
            None => pictures.into_iter().flatten().collect(),
        },
        Under::Model(..) => Vec::new(),
    };
    let (from, to) = addresses.into_iter().find_map(|address| {
        let found = folder.find(address).ok().filter(|found| found.other_case)?;
        differing(address, &found.path)
    })?;
    let title = format!("Write {to} for {from}");
    // The address stands somewhere behind where the picture begins.
    Some(Mend::new(title, Change::Spelling { column: found.column.min(1), from, to }))
}

/// The last parts of an address from the first that differs from those of its file, and how the file has them.
fn differing(address: &str, path: &Path) -> Option<(String, String)> {
    let said: Vec<&str> = address.split('/').collect();
    let real: Vec<&str> = path.iter().filter_map(|part| part.to_str()).collect();
    let pairs = said.iter().rev().zip(real.iter().rev());
    let same_but_for_case = |(said, real): &(&&str, &&str)| said.to_lowercase() == real.to_lowercase();
    let pairs: Vec<(&&str, &&str)> = pairs.take_while(same_but_for_case).collect();
    let count = pairs.iter().rposition(|(said, real)| said != real)? + 1;
    let tail = |parts: &[&str]| parts[parts.len() - count..].join("/");
    Some((tail(&said), tail(&real)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_part_of_an_address_that_differs_is_written() {
        let differs = |address: &str, path: &str| differing(address, Path::new(path));
        assert_eq!(differs("img/Front.JPG", "/a/img/front.jpg"), Some(("Front.JPG".into(), "front.jpg".into())));
        assert_eq!(differs("../Img/front.jpg", "/a/img/front.jpg"), Some(("Img/front.jpg".into(), "img/front.jpg".into())));
        assert_eq!(differs("img/front.jpg", "/a/img/front.jpg"), None);
    }

    #[test]
    fn every_rule_that_a_key_answers_is_a_rule_and_its_key_a_key() {
        let rules = crate::preflight::listed();
        for (rule, table, key) in ANSWERED {
            assert!(rules.contains(&format!("**{rule}**")), "{rule}");
            assert!(HEADER_KEYS.iter().any(|known| known.table == *table && known.name == *key), "{table}.{key}");
        }
    }
}
