//! A finding, and the report that holds all of a manual. Knows how they are written as JSON; a person's view is made elsewhere.

use std::collections::BTreeMap;

use serde::ser::{Serialize, SerializeStruct, Serializer};

use crate::lengths::Mm;
use crate::manual::source::{Level, Place, Span};

/// Ends every report that a person reads.
pub const CAUTION: &str =
    "Preflight only advises. It does not make a manual lawful or a product safe: local law and a licensed person decide.";

/// Something that the writer should look at.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// Name of the rule, as `allow` spells it.
    pub rule: &'static str,
    pub level: Level,
    pub message: String,
    pub hint: String,
    pub place: Place,
    /// Index into the panels, as in the layout map; nothing where the finding has no place on the strip.
    pub panel: Option<usize>,
    /// From the top of the strip to what the finding is about.
    pub y: Option<Mm>,
    /// The unit whose strip it was found on; nothing when the manual has no units, or when every unit has it.
    pub unit: Option<String>,
    /// Absolute, in the assembled text: for an excerpt with a caret.
    pub span: Span,
}

impl Serialize for Finding {
    fn serialize<S: Serializer>(&self, out: S) -> Result<S::Ok, S::Error> {
        let mut object = out.serialize_struct("Finding", 10)?;
        object.serialize_field("rule", self.rule)?;
        object.serialize_field("level", name_of(self.level))?;
        object.serialize_field("message", &self.message)?;
        object.serialize_field("hint", &self.hint)?;
        object.serialize_field("file", &self.place.file)?;
        object.serialize_field("line", &self.place.line)?;
        object.serialize_field("column", &self.place.column)?;
        object.serialize_field("panel", &self.panel)?;
        object.serialize_field("y_mm", &self.y.map(Mm::value))?;
        object.serialize_field("unit", &self.unit)?;
        object.end()
    }
}

/// All findings of a manual, in the order of file, line, column, rule.
#[derive(Clone, Debug, Default, PartialEq, Eq, serde::Serialize)]
pub struct Report {
    pub findings: Vec<Finding>,
    pub errors: usize,
    pub warnings: usize,
    /// Findings left out because the header allows them.
    #[serde(skip)]
    pub allowed: usize,
}

/// The first few units by their keys, and how many more there are.
fn listed(units: &[String]) -> Option<String> {
    const NAMED: usize = 6;
    let named = units.iter().take(NAMED).filter(|unit| !unit.is_empty()).cloned().collect::<Vec<_>>().join(", ");
    match units.len().saturating_sub(NAMED) {
        _ if named.is_empty() => None,
        0 => Some(named),
        more => Some(format!("{named} and {more} more")),
    }
}

impl Report {
    pub fn new(mut findings: Vec<Finding>, allowed: usize) -> Report {
        findings.sort_by(|a, b| (&a.place, a.rule, &a.message, &a.unit).cmp(&(&b.place, b.rule, &b.message, &b.unit)));
        findings.dedup_by(|a, b| (&a.place, a.rule, &a.message, &a.unit) == (&b.place, b.rule, &b.message, &b.unit));
        let count = |level: Level| findings.iter().filter(|finding| finding.level == level).count();
        Report { errors: count(Level::Error), warnings: count(Level::Warning), allowed, findings }
    }

    /// One report from those of all units. What is found on every strip is said once and of no unit in particular; what is found on
    /// some, once, and of which.
    pub fn join(reports: Vec<Report>) -> Report {
        let (strips, allowed) = (reports.len(), reports.iter().map(|report| report.allowed).max().unwrap_or(0));
        let mut seen: BTreeMap<(Place, &'static str, String), (Finding, Vec<String>)> = BTreeMap::new();
        for mut finding in reports.into_iter().flat_map(|report| report.findings) {
            let key = (finding.place.clone(), finding.rule, finding.message.clone());
            let unit = finding.unit.take().unwrap_or_default();
            seen.entry(key).or_insert((finding, Vec::new())).1.push(unit);
        }
        let everywhere = |(finding, units): (Finding, Vec<String>)| match units.len() {
            count if count == strips && strips > 1 => finding,
            _ => Finding { unit: listed(&units), ..finding },
        };
        Report::new(seen.into_values().map(everywhere).collect(), allowed)
    }

    pub fn advice(&self) -> usize {
        self.findings.len() - self.errors - self.warnings
    }

    /// One object: `findings`, `errors`, `warnings`. Ends with a line feed.
    pub fn to_json(&self) -> String {
        // Strings, numbers and lists: nothing that JSON could not hold.
        let mut json = serde_json::to_string_pretty(self).unwrap_or_default();
        json.push('\n');
        json
    }

    /// The last lines of what a person reads: how many of each, and the caution.
    pub fn closing(&self) -> String {
        let of = |count: usize, one: &str, many: &str| format!("{count} {}", if count == 1 { one } else { many });
        let mut line = match self.findings.is_empty() {
            true => "nothing found".to_string(),
            false => format!(
                "{}, {}, {}",
                of(self.errors, "error", "errors"),
                of(self.warnings, "warning", "warnings"),
                of(self.advice(), "piece of advice", "pieces of advice")
            ),
        };
        if self.allowed > 0 {
            line.push_str(&format!("; {} allowed by the header", of(self.allowed, "finding", "findings")));
        }
        format!("{line}\n{CAUTION}\n")
    }
}

/// As the outside spells a level.
pub fn name_of(level: Level) -> &'static str {
    match level {
        Level::Error => "error",
        Level::Warning => "warning",
        Level::Advice => "advice",
    }
}
