//! The faces that strips are set in: the writer's own, and what texts in each language need besides.

use std::collections::{BTreeMap, BTreeSet};

use rayon::prelude::*;

use super::system_faces::LARGEST_FACE;
use super::trouble::{Error, Trouble};
use crate::language::Language;
use crate::manual::document::Header;
use crate::manual::{self, Folder, Run, Source, Template, Unit, Units};
use crate::type_setting::Faces;

/// A face that the writer names: tag, path, file.
pub type OwnFace = (String, String, Vec<u8>);

pub fn own_faces(folder: &Folder, header: &Header, source: &Source) -> Result<Vec<OwnFace>, Error> {
    let mut faces = Vec::new();
    for (tag, path) in &header.faces {
        let bytes = folder.read(path, LARGEST_FACE).map_err(|error| {
            let trouble = Trouble::new(format!("the face {path:?} cannot be read: {error}"));
            let spot = header.spans.get(&format!("faces.{tag}")).map(|&span| source.spot(span));
            Error::Input(trouble.hint("name an OpenType or TrueType file in the manual's folder").at_spot(spot.as_ref()))
        })?;
        faces.push((tag.clone(), path.clone(), bytes));
    }
    Ok(faces)
}

/// The languages that need faces of their own, in the order of their tags, each with everything that a strip in it may hold. Only one
/// where the shipped faces have every writing.
pub(super) fn wanted_faces(
    template: &Template,
    source: &Source,
    units: Option<&Units>,
    header: &Header,
    date: &str,
    shipped: &Faces,
) -> Vec<(Language, String)> {
    let all: Vec<&Unit> = units.into_iter().flat_map(Units::iter).filter(|_| template.has_fields()).collect();
    // What cannot be read is told when its strip is made.
    let fill = |unit: &Unit| template.fill(Some(unit), &Run { date: date.to_string(), number: u64::from(unit.row) }).ok();
    let own = signs(source, None);
    let every = all.par_iter().filter_map(|unit| Some(signs(&fill(unit)?, Some(unit))));
    let every: String = every.reduce(BTreeSet::new, |all, more| &all | &more).union(&own).collect();
    if all.is_empty() || shipped.foreign(&every).is_empty() {
        return vec![(header.tongue, every)];
    }
    let read = |unit: &&Unit| {
        let source = fill(unit)?;
        Some((manual::parse(&source).ok()?.header.tongue, signs(&source, Some(unit))))
    };
    let mut wanted: BTreeMap<&str, (Language, BTreeSet<char>)> = BTreeMap::new();
    for (language, mut signs) in all.par_iter().filter_map(read).collect::<Vec<_>>() {
        wanted.entry(language.tag()).or_insert_with(|| (language, BTreeSet::new())).1.append(&mut signs);
    }
    let wanted = wanted.into_values().map(|(language, signs)| (language, signs.into_iter().collect()));
    let wanted: Vec<(Language, String)> = wanted.collect();
    if wanted.is_empty() { vec![(header.tongue, every)] } else { wanted }
}

/// The characters beyond ASCII of what was written, and of a unit's values.
pub fn signs(source: &Source, unit: Option<&Unit>) -> BTreeSet<char> {
    let values = unit.into_iter().flat_map(|unit| unit.columns().iter().filter_map(|column| unit.value(column)));
    let texts = source.files.iter().map(|file| file.text()).chain(values).chain([source.text.as_str()]);
    texts.flat_map(str::chars).filter(|c| !c.is_ascii()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn faces_are_looked_for_by_a_units_own_language_whatever_the_order_of_the_table() {
        let folder = tempfile::tempdir().unwrap();
        let write = |name: &str, text: &str| std::fs::write(folder.path().join(name), text).unwrap();
        write(
            "manual.md",
            "+++\nlanguage = \"{{ unit.language }}\"\n+++\n{% if unit.language == \"en\" %}{% include \"en.md\" %}{% elif unit.language == \"ja\" %}{% include \"ja.md\" %}{% else %}{% include \"zh-Hans.md\" %}{% endif %}\n\n{{ unit.word }}\n",
        );
        write("en.md", "Tea\n");
        write("ja.md", "\u{8336}\u{3092}\u{76F4}\n");
        write("zh-Hans.md", "\u{8336}\u{76F4}\n");
        let wanted = |rows: [&str; 3]| {
            let table = format!("serial,language,word\n{}\n", rows.join("\n"));
            let units = Units::read(table.as_bytes(), "units.csv").unwrap();
            let template = Template::load(&Folder::open(folder.path()).unwrap(), "manual.md").unwrap();
            let run = Run { date: "2026-11-25".into(), number: 1 };
            let source = template.fill(units.iter().next(), &run).unwrap();
            let header = manual::parse(&source).unwrap().header;
            wanted_faces(&template, &source, Some(&units), &header, &run.date, &Faces::new(crate::lengths::Resolution::EIGHT))
        };
        let rows = ["A1,en,\u{E9}", "A2,ja,\u{6E6F}", "A3,zh-Hans,\u{676F}"];
        let known = wanted(rows);
        let has = |tag: &str, sign: char| known.iter().any(|(language, signs)| language.tag() == tag && signs.contains(sign));
        assert_eq!(known.len(), 3);
        assert!(has("ja", '\u{3092}') && has("ja", '\u{6E6F}'), "{known:?}");
        assert!(!has("ja", '\u{676F}') && !has("zh-Hans", '\u{6E6F}') && !has("en", '\u{8336}'), "{known:?}");
        for order in [[2, 1, 0], [1, 0, 2], [0, 2, 1]] {
            assert_eq!(wanted(order.map(|row| rows[row])), known);
        }
    }
}
