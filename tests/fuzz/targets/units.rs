//! A table of units, and what its values do to a manual: a value is text and stays text.
#![no_main]

use libfuzzer_sys::fuzz_target;
use stripling::manual::{self, Folder, Run, Template, Units};

fuzz_target!(|bytes: &[u8]| {
    let lines = bytes.iter().filter(|&&byte| byte == b'\n').count() as u32 + 1;
    let mut units = match Units::read(bytes, "units.csv") {
        Ok(units) => units,
        Err(error) => {
            let place = error.place();
            assert!(place.is_some_and(|place| (1..=lines).contains(&place.line) && place.column >= 1), "{error}");
            return;
        }
    };
    assert!(!units.is_empty() && !units.columns().is_empty());
    for noticed in units.noticed() {
        assert!((1..=lines).contains(&noticed.place.line), "{noticed:?}");
    }
    for (number, unit) in (1..).zip(units.iter()) {
        assert_eq!((unit.row, unit.values.len()), (number, units.columns().len()));
        assert!((1..=lines).contains(&unit.line));
        assert!(unit.values.iter().all(|value| !value.chars().any(|c| c.is_control() && !matches!(c, '\t' | '\n' | '\r'))));
    }
    for unit in units.iter().take(8) {
        let found = units.find(unit.key()).expect("a unit that is there");
        assert_eq!(found.key(), unit.key());
    }
    if let Some(last) = units.columns().last().cloned() {
        units.key_by(Some(&last)).expect("a column that is there");
    }
    // Whatever stands in the cells: one paragraph stays one paragraph, and says each value.
    let folder = Folder::of_files([("a.md", &b"A {{ unit.serial }} *b* {{ unit[\"plug\"] }} c.\n"[..])]);
    let Ok(template) = Template::load(&folder, "a.md") else { panic!("the manual is well formed") };
    for unit in units.iter().take(4) {
        let Ok(source) = template.fill(Some(unit), &Run::default()) else { continue };
        let document = manual::parse(&source).expect("a value cannot break a manual");
        assert_eq!(document.blocks.len(), 1, "{:?} became markup", unit.values);
        assert!(document.remarks.is_empty(), "{:?}: {:?}", unit.values, document.remarks);
    }
});
