//! `ledger`: shows what a ledger knows, and enters what a person found.

use crate::send::ledger::{Error, Ledger, RunSummary, State, StripName, Summary, Verdict};
use std::fmt::Write;
use std::path::Path;

/// Reads `KEY=printed` or `KEY=missing`; a key may hold `=` itself.
///
/// # Errors
/// What is wrong with it, and what to write.
pub fn verdict(text: &str) -> Result<(String, Verdict), String> {
    let wrong = || format!("`{text}` settles nothing: write KEY=printed or KEY=missing, `*` for every unknown strip");
    let (key, word) = text.rsplit_once('=').filter(|(key, _)| !key.is_empty()).ok_or_else(wrong)?;
    match word {
        "printed" => Ok((key.to_owned(), Verdict::Printed)),
        "missing" => Ok((key.to_owned(), Verdict::Missing)),
        _ => Err(wrong()),
    }
}

/// What goes to standard output: the ledger as it is after all of `verdicts` are entered.
///
/// # Errors
/// The ledger refuses (exit code 5); verdicts before the refused one stay entered.
pub fn run(path: &Path, verdicts: &[(String, Verdict)], json: bool) -> Result<String, Error> {
    let mut ledger = Ledger::open_existing(path)?;
    for (key, verdict) in verdicts {
        ledger.resolve(key, *verdict)?;
    }
    let summary = ledger.summary()?;
    if json {
        let cause = |error: serde_json::Error| Error::File { path: path.display().to_string(), cause: error.to_string() };
        return serde_json::to_string_pretty(&summary).map(|text| text + "\n").map_err(cause);
    }
    Ok(table(&summary))
}

/// The ledger for people.
pub fn table(summary: &Summary) -> String {
    let mut text = String::new();
    for run in &summary.runs {
        if !text.is_empty() {
            text.push('\n');
        }
        text.push_str(&describe(run));
    }
    if text.is_empty() {
        text.push_str("nothing was printed with this ledger yet\n");
    }
    if !summary.unknown.is_empty() {
        let count = summary.unknown.len();
        let _ = write!(
            text,
            "\n{count} {} to be looked at: enter what lies on the table with --resolve KEY=printed or KEY=missing\n",
            if count == 1 { "strip is" } else { "strips are" }
        );
    }
    text
}

fn describe(run: &RunSummary) -> String {
    let mut text = String::new();
    let kind = if run.rehearsal { "rehearsal" } else { "run" };
    let begun = run.started.get(..16).unwrap_or(&run.started).replace('T', " ");
    // Writing to a String can't fail.
    let _ = writeln!(text, "{kind} {}: {} revision {}, begun {begun} UTC", run.run, run.document, run.revision);
    let counts = run.counts;
    let parts: Vec<String> = [
        (counts.printed, "printed"),
        (counts.unknown, "unknown"),
        (counts.missing, "missing"),
        (counts.sending, "sending"),
        (counts.queued, "queued"),
    ]
    .into_iter()
    .filter(|(count, _)| *count > 0)
    .map(|(count, word)| format!("{count} {word}"))
    .collect();
    let _ = writeln!(text, "  {} strips: {}", counts.total(), parts.join(", "));
    for carried in &run.carried {
        let order: Vec<StripName> =
            run.strips.iter().map(|strip| StripName { unit: strip.unit.clone(), copy: strip.copy }).collect();
        let _ = writeln!(text, "  revision {} is on {}", carried.revision, stretches(&order, &carried.strips));
    }
    for strip in run.strips.iter().filter(|strip| matches!(strip.state, State::Unknown | State::Missing)) {
        let name = StripName { unit: strip.unit.clone(), copy: strip.copy };
        let _ = writeln!(text, "  {} {name}: {}", strip.state.word(), strip.note);
    }
    text
}

/// Names in the order of printing, neighbours drawn together: `HRN-0001 to HRN-0016, HRN-0018`.
fn stretches(order: &[StripName], names: &[StripName]) -> String {
    let wanted: std::collections::BTreeSet<&StripName> = names.iter().collect();
    let mut parts = Vec::new();
    for stretch in order.split(|name| !wanted.contains(name)).filter(|stretch| !stretch.is_empty()) {
        match stretch {
            [first, .., last] if stretch.len() > 2 => parts.push(format!("{first} to {last}")),
            few => parts.extend(few.iter().map(StripName::to_string)),
        }
    }
    parts.join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::send::{Facts, Intent};

    #[test]
    fn verdicts_are_read_from_the_right() {
        assert_eq!(verdict("HRN-0017=printed"), Ok(("HRN-0017".to_owned(), Verdict::Printed)));
        assert_eq!(verdict("a=b=missing"), Ok(("a=b".to_owned(), Verdict::Missing)));
        for wrong in ["HRN-0017", "=printed", "HRN-0017=lost", ""] {
            assert!(verdict(wrong).is_err_and(|words| words.contains("KEY=printed")), "{wrong}");
        }
    }

    #[test]
    fn the_table_draws_neighbours_together() {
        let mut ledger = Ledger::in_memory().expect("memory");
        let units = (1..=20).map(|number| format!("HRN-{number:04}")).collect();
        let facts = Facts {
            manual: "5f3a".to_owned(),
            document: "HRN-QS".to_owned(),
            revision: "C".to_owned(),
            printer: "80mm".to_owned(),
            units,
            copies: 1,
        };
        ledger.begin(&facts, false, Intent::Continue).expect("a run");
        for number in (1..=16).chain([18, 20]) {
            ledger.resolve(&format!("HRN-{number:04}"), Verdict::Printed).expect("a strip");
        }
        ledger.resolve("HRN-0017", Verdict::Missing).expect("a strip");
        let text = table(&ledger.summary().expect("a summary"));
        assert!(text.contains("20 strips: 18 printed, 1 missing, 1 queued"), "{text}");
        assert!(text.contains("revision C is on HRN-0001 to HRN-0016, HRN-0018, HRN-0020"), "{text}");
        assert!(text.contains("missing HRN-0017: entered by hand"), "{text}");
    }
}
