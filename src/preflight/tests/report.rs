//! The report: order, JSON, several units.

use super::{Given, changed, checked};
use crate::lengths::Mm;
use crate::manual::source::{Level, Place, Span};
use crate::preflight::{CAUTION, Finding, Report};

fn finding(rule: &'static str, level: Level, line: u32, unit: Option<&str>) -> Finding {
    Finding {
        rule,
        level,
        message: "a message".into(),
        hint: "a hint".into(),
        place: Place { file: "heron.md".into(), line, column: 2 },
        panel: Some(1),
        y: Some(Mm::new(12.5)),
        unit: unit.map(str::to_string),
        span: Span::new(3, 4),
    }
}

#[test]
fn json_has_exactly_the_keys_of_the_contract() {
    let report = Report::new(
        vec![
            finding("b", Level::Warning, 9, Some("0042")),
            finding("a", Level::Error, 9, None),
            finding("c", Level::Advice, 2, None),
        ],
        3,
    );
    let json: serde_json::Value = serde_json::from_str(&report.to_json()).unwrap();
    let keys = |value: &serde_json::Value| value.as_object().unwrap().keys().cloned().collect::<std::collections::BTreeSet<_>>();
    assert_eq!(keys(&json), ["errors", "findings", "warnings"].map(String::from).into());
    let wanted = ["column", "file", "hint", "level", "line", "message", "panel", "rule", "unit", "y_mm"].map(String::from).into();
    let findings = json["findings"].as_array().unwrap();
    assert!(findings.iter().all(|finding| keys(finding) == wanted));
    assert_eq!((json["errors"].as_u64(), json["warnings"].as_u64()), (Some(1), Some(1)));
    // By file, line, column, rule.
    assert_eq!(findings.iter().map(|finding| finding["rule"].as_str().unwrap()).collect::<Vec<_>>(), ["c", "a", "b"]);
    assert_eq!(findings[2]["level"], "warning");
    assert_eq!(
        (findings[2]["y_mm"].as_f64(), findings[2]["panel"].as_u64(), findings[2]["unit"].as_str()),
        (Some(12.5), Some(1), Some("0042"))
    );
    assert!(findings[0]["unit"].is_null());
}

#[test]
fn what_is_found_on_every_strip_is_said_once_and_of_no_unit() {
    let of = |unit| Report::new(vec![finding("a", Level::Error, 1, Some(unit))], 0);
    let only = Report::new(vec![finding("a", Level::Error, 1, Some("3")), finding("b", Level::Warning, 4, Some("3"))], 1);
    let joined = Report::join(vec![of("1"), of("2"), only]);
    let told: Vec<(&str, Option<&str>)> = joined.findings.iter().map(|finding| (finding.rule, finding.unit.as_deref())).collect();
    assert_eq!(told, [("a", None), ("b", Some("3"))]);
    assert_eq!((joined.errors, joined.warnings, joined.allowed), (1, 1, 1));
}

#[test]
fn a_report_ends_with_the_caution_and_never_promises() {
    for report in [Report::default(), Report::new(vec![finding("a", Level::Error, 1, None)], 0)] {
        let closing = report.closing();
        assert!(closing.trim_end().ends_with(CAUTION));
        assert!(!closing.to_lowercase().contains("compliant"));
    }
    assert!(CAUTION.contains("local law") && CAUTION.contains("licensed person"));
}

#[test]
fn the_unit_of_the_strip_is_named() {
    let given = Given { unit: Some("0042"), ..Given::default() };
    let report = checked(&changed(&[("## Radio", "#### Radio")]), &given);
    assert_eq!(report.findings[0].unit.as_deref(), Some("0042"));
}
