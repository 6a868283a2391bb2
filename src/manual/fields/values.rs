//! What a field can name: the unit, the document, the run. A name that is not there is an error that tells the ones that are.

use std::sync::Arc;

use minijinja::State;
use minijinja::value::{Enumerator, Object, Value};

use super::Run;
use super::error::{FieldError, spelled};
use crate::manual::document::{Battery, Charging, Emissions, Header};
use crate::manual::header::KEYS;
use crate::manual::units::Unit;
use crate::names::nearest;

/// A set of named values.
#[derive(Debug)]
struct Named {
    /// As the writer writes it: `unit`, `document.product`.
    name: &'static str,
    keys: Arc<Vec<String>>,
    values: Vec<Value>,
}

impl Object for Named {
    fn get_value(self: &Arc<Self>, key: &Value) -> Option<Value> {
        let Some(key) = key.as_str() else {
            return Some(self.unknown(&key.to_string()));
        };
        self.get_value_by_str(key)
    }

    fn get_value_by_str(self: &Arc<Self>, key: &str) -> Option<Value> {
        let at = self.keys.iter().position(|known| known == key);
        Some(at.and_then(|at| self.values.get(at).cloned()).unwrap_or_else(|| self.unknown(key)))
    }

    fn enumerate(self: &Arc<Self>) -> Enumerator {
        Enumerator::Values(self.keys.iter().map(|key| Value::from(key.as_str())).collect())
    }
}

impl Named {
    /// A value that is an error as soon as it is used.
    fn unknown(&self, key: &str) -> Value {
        let name = self.name;
        let error = if self.keys.is_empty() {
            FieldError {
                message: format!("`{}` has no value: no units were given", spelled(name, key)),
                hint: Some("name the table of units: --units FILE.csv".into()),
            }
        } else {
            let near = nearest(key, self.keys.iter().map(String::as_str));
            let near = near.map(|near| format!("did you mean `{}`? ", spelled(name, near))).unwrap_or_default();
            let known: Vec<String> = self.keys.iter().map(|key| spelled(name, key)).collect();
            FieldError {
                message: format!("there is no field `{}`", spelled(name, key)),
                hint: Some(format!("{near}there are {}", known.join(", "))),
            }
        };
        Value::from(minijinja::Error::from(error))
    }
}

fn named(name: &'static str, pairs: Vec<(&str, Value)>) -> Value {
    let (keys, values): (Vec<String>, Vec<Value>) = pairs.into_iter().map(|(key, value)| (key.to_owned(), value)).unzip();
    Value::from_object(Named { name, keys: Arc::new(keys), values })
}

/// Without units every field of `unit` is an error, and `unit` itself counts as false.
pub(super) fn unit(unit: Option<&Unit>) -> Value {
    let (keys, values) = match unit {
        Some(unit) => (unit.columns.clone(), unit.values.iter().map(|value| Value::from(value.as_str())).collect()),
        None => (Arc::default(), Vec::new()),
    };
    Value::from_object(Named { name: "unit", keys, values })
}

/// What a unit or a run is to the copy for all of them: whatever is asked of it is these words, and as a condition it is false.
#[derive(Debug)]
struct Unsaid {
    words: Value,
    /// Of the table of units, when one was given.
    known: Option<Named>,
}

impl Object for Unsaid {
    fn get_value(self: &Arc<Self>, key: &Value) -> Option<Value> {
        let key = key.as_str().map_or_else(|| key.to_string(), str::to_owned);
        Some(match &self.known {
            Some(known) if !known.keys.contains(&key) => known.unknown(&key),
            _ => self.words.clone(),
        })
    }

    fn enumerate(self: &Arc<Self>) -> Enumerator {
        Enumerator::Values(Vec::new())
    }
}

/// Whether a filter is given what stands in place of a value that nobody has: it stays as it is.
pub(super) fn is_unsaid(state: &State, value: &Value) -> bool {
    let said_by = |name: &str| {
        let all = state.lookup(name)?;
        Some(all.downcast_object_ref::<Unsaid>()?.words == *value)
    };
    ["unit", "run"].into_iter().any(|name| said_by(name) == Some(true))
}

/// The unit of the copy for all units; with the columns of their table a field that none of them has is an error.
pub(super) fn any_unit(columns: Option<&[String]>, words: &str) -> Value {
    let known = columns.map(|columns| Named { name: "unit", keys: Arc::new(columns.to_vec()), values: Vec::new() });
    Value::from_object(Unsaid { words: Value::from(words), known })
}

/// The run of the copy, which is printed in none.
pub(super) fn no_run(words: &str) -> Value {
    let keys = ["date", "number"].map(str::to_owned).to_vec();
    Value::from_object(Unsaid {
        words: Value::from(words),
        known: Some(Named { name: "run", keys: Arc::new(keys), values: Vec::new() }),
    })
}

pub(super) fn run(run: &Run) -> Value {
    named("run", vec![("date", Value::from(run.date.as_str())), ("number", Value::from(run.number))])
}

/// Every key of the header by its name; one that the writer left out is empty text.
pub(super) fn document(header: &Header) -> Value {
    let text = |value: &Option<String>| Value::from(value.as_deref().unwrap_or_default());
    let texts = |values: &[String]| values.iter().map(|value| Value::from(value.as_str())).collect::<Value>();
    let number = |value: Option<f64>| value.map_or_else(|| Value::from(""), number);
    let product = &header.product;
    let flag = |value: Option<bool>| value.map_or_else(|| Value::from(""), Value::from);
    let supply = product.supply.clone().unwrap_or_default();
    let (least, most, usb_pd) = match &product.charging {
        Some(Charging::Common { least_watts, most_watts, usb_pd }) => (*least_watts, *most_watts, *usb_pd),
        Some(Charging::Other) | None => (None, None, None),
    };
    let value = |table: &str, name: &str| match (table, name) {
        ("", "title") => text(&header.title),
        ("", "subtitle") => text(&header.subtitle),
        ("", "document") => text(&header.document),
        ("", "revision") => text(&header.revision),
        ("", "issued") => text(&header.issued),
        ("", "language") => text(&header.language),
        ("", "paper") => text(&header.paper),
        ("", "fold") => header.fold.map_or_else(|| Value::from(""), |fold| Value::from(fold.to_string())),
        ("", "style") => text(&header.style),
        ("", "durable_copy") => text(&header.durable_copy),
        ("", "translations") => texts(&header.translations),
        ("product", "maker") => text(&product.maker),
        ("product", "address") => text(&product.address),
        ("product", "contact") => text(&product.contact),
        ("product", "model") => text(&product.model),
        ("product", "purpose") => text(&product.purpose),
        ("product", "hazards") => texts(&product.hazards),
        ("product", "markets") => texts(&product.markets),
        ("product", "radio") => flag(product.radio),
        ("product", "restricted") => texts(&product.restricted),
        ("product", "battery") => Value::from(product.battery.map_or("", Battery::name)),
        ("product", "emissions") => Value::from(product.emissions.map_or("", Emissions::name)),
        ("product", "software") => flag(product.software),
        ("product", "toy") => flag(product.toy),
        ("product", "eu_responsible") => text(&product.eu_responsible),
        ("product", "importer") => text(&product.importer),
        ("product", "uk_importer") => text(&product.uk_importer),
        ("product", "us_responsible") => text(&product.us_responsible),
        ("charging", "least_watts") => number(least),
        ("charging", "most_watts") => number(most),
        ("charging", "usb_pd") => flag(usb_pd),
        ("supply", "volts") => number(supply.volts),
        ("supply", "amps") => number(supply.amps),
        ("supply", "kind") => text(&supply.kind),
        _ => Value::from(""),
    };
    let table = |table: &'static str| -> Vec<(&str, Value)> {
        KEYS.iter().filter(|key| key.table == table).map(|key| (key.name, value(table, key.name))).collect()
    };
    let mut inner = table("product");
    inner.retain(|(key, _)| !matches!(*key, "supply" | "charging"));
    inner.push(("supply", named("document.product.supply", table("supply"))));
    inner.push(("charging", named("document.product.charging", table("charging"))));
    let mut outer = table("");
    outer.push(("product", named("document.product", inner)));
    named("document", outer)
}

/// 5.0 is said as 5.
fn number(value: f64) -> Value {
    if value.fract() == 0.0 && value.abs() < 1e15 { Value::from(value as i64) } else { Value::from(value) }
}
