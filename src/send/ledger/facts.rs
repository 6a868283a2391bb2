//! What a run is about, as the ledger compares it: for every unit what its strip would be made of now.

use std::collections::BTreeMap;
use std::sync::Arc;

/// What the strips of some units share: the manual with all that they reach of it, and what its header says for them.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Making {
    /// A digest of `parts`, as text.
    pub manual: String,
    /// Digests by the name a person knows the thing by: files, pictures, `the style`, `the printer`.
    pub parts: BTreeMap<String, String>,
    /// Of `parts` those that are the manual's own text. Whether a strip differs where only these do is said by its filled text.
    pub texts: Vec<String>,
    pub document: String,
    pub revision: String,
    /// BCP 47, as the header says it.
    pub language: String,
}

/// One unit and what its strip would be made of now.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct UnitFacts {
    pub key: String,
    /// The number of its row, from 1: the `run.number` of its fields, unless another unit of the run has that already.
    pub number: u32,
    pub making: Arc<Making>,
    /// A digest of the text with the unit's fields filled, with no date and no number of the run.
    pub text: String,
    /// The unit's row, by column.
    pub values: BTreeMap<String, String>,
}

/// What a run is about.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Facts {
    /// The manual's file, so that several manuals are told apart in one ledger: its folder's name and its own.
    pub file: String,
    pub printer: String,
    /// In the order of printing.
    pub units: Vec<UnitFacts>,
    /// Strips of each unit.
    pub copies: u32,
    /// These are all units of the table: one that the ledger knows and that is not among them is gone from the table.
    pub whole_table: bool,
}

impl Facts {
    /// All units from one making, numbered in their order, without values of their own.
    pub fn alike(file: &str, printer: &str, making: Making, keys: impl IntoIterator<Item = String>) -> Facts {
        let making = Arc::new(making);
        let unit = |(number, key)| UnitFacts { key, number, making: making.clone(), ..UnitFacts::default() };
        let units = (1..).zip(keys).map(unit).collect();
        Facts { file: file.to_owned(), printer: printer.to_owned(), units, copies: 1, whole_table: true }
    }

    pub(super) fn document(&self) -> String {
        self.said(|making| &making.document)
    }

    pub(super) fn revision(&self) -> String {
        self.said(|making| &making.revision)
    }

    pub(super) fn language(&self) -> String {
        self.said(|making| &making.language)
    }

    /// What the units' headers say, each thing once.
    fn said(&self, what: impl Fn(&Making) -> &String) -> String {
        let mut said: Vec<&str> = Vec::new();
        for unit in &self.units {
            let word = what(&unit.making).as_str();
            if !word.is_empty() && !said.contains(&word) {
                said.push(word);
            }
        }
        said.join(", ")
    }
}

/// What a strip that was made earlier was made of.
#[derive(Clone, Debug, Default)]
pub(super) struct Made {
    pub(super) manual: String,
    pub(super) parts: BTreeMap<String, String>,
    pub(super) text: String,
    pub(super) values: BTreeMap<String, String>,
}

/// In what a strip that was made earlier is not the one that would be made now.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Difference {
    /// Files, pictures, style, printer.
    pub(super) parts: Vec<String>,
    /// Columns: name, value then, value now.
    pub(super) values: Vec<(String, String, String)>,
}

impl Difference {
    pub(super) fn is_empty(&self) -> bool {
        self.parts.is_empty() && self.values.is_empty()
    }
}

/// Compares. A text that changed only where this unit does not reach is no difference.
pub(super) fn difference(then: &Made, now: &UnitFacts) -> Difference {
    let mut difference = Difference::default();
    let same_text = then.text == now.text;
    if then.manual == now.making.manual && same_text {
        return difference;
    }
    if then.parts.is_empty() && then.manual != now.making.manual {
        difference.parts.push("the manual".to_owned());
        return difference;
    }
    let names = then.parts.keys().chain(now.making.parts.keys().filter(|name| !then.parts.contains_key(*name)));
    for name in names {
        let is_text = now.making.texts.contains(name) || name.ends_with(".md");
        if then.parts.get(name) != now.making.parts.get(name) && !(is_text && same_text) {
            difference.parts.push(name.clone());
        }
    }
    if !same_text {
        for (column, value) in &now.values {
            if let Some(before) = then.values.get(column).filter(|before| *before != value) {
                difference.values.push((column.clone(), before.clone(), value.clone()));
            }
        }
        if difference.is_empty() {
            difference.parts.push("its text".to_owned());
        }
    }
    difference
}
