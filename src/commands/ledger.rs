//! `ledger`: shows what a ledger knows, and enters what a person found.

use crate::send::ledger::{Bench, Carried, Error, Ledger, Located, RunSummary, State, StripName, Summary, Verdict};
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

/// What was settled, a line each, and what goes to standard output: the ledger as it is after all of `verdicts` are entered. Without
/// verdicts it is only looked at. `run`: the run whose strips are meant, where a key is in several.
///
/// # Errors
/// The ledger refuses; verdicts before the refused one stay entered.
pub fn run(path: &Path, verdicts: &[(String, Verdict)], run: Option<i64>, form: Form) -> Result<(Vec<String>, String), Error> {
    let mut said = Vec::new();
    let summary = match verdicts {
        [] => Ledger::look(path)?.summary()?,
        verdicts => {
            let mut ledger = Ledger::open_existing(path)?;
            for (key, verdict) in verdicts {
                said.extend(entered(&ledger.resolve(key, *verdict, run)?, *verdict));
            }
            ledger.summary()?
        }
    };
    let cause = |cause: String| Error::File { path: summary.ledger.clone(), cause };
    let text = match form {
        Form::Table => table(&summary),
        Form::Json => serde_json::to_string_pretty(&summary).map_err(|error| cause(error.to_string()))? + "\n",
        Form::Csv => csv(&summary).map_err(|error| cause(error.to_string()))?,
    };
    Ok((said, text))
}

/// How a ledger is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    Table,
    Json,
    Csv,
}

/// One strip a row: who printed what when, and who packed it. Times are UTC.
fn csv(summary: &Summary) -> Result<String, csv::Error> {
    let mut out = csv::Writer::from_writer(Vec::new());
    out.write_record([
        "run",
        "rehearsal",
        "unit",
        "copy",
        "state",
        "document",
        "revision",
        "language",
        "printed_by",
        "destination",
        "sending",
        "settled",
        "boxed_by",
        "boxed",
        "note",
    ])?;
    for run in &summary.runs {
        for strip in &run.strips {
            let (number, copy) = (run.run.to_string(), strip.copy.to_string());
            let maybe = |time: &Option<String>| time.clone().unwrap_or_default();
            out.write_record([
                number.as_str(),
                if run.rehearsal { "yes" } else { "no" },
                &strip.unit,
                &copy,
                strip.state.word(),
                &strip.document,
                &strip.revision,
                &strip.language,
                &strip.printed_by,
                &strip.destination,
                &maybe(&strip.sending),
                &maybe(&strip.settled),
                &strip.boxed_by,
                &maybe(&strip.boxed),
                &strip.note,
            ])?;
        }
    }
    let bytes = out.into_inner().map_err(csv::IntoInnerError::into_error)?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

/// A line for all that one verdict settled: they are of one run.
fn entered(settled: &[Located], verdict: Verdict) -> Option<String> {
    let word = match verdict {
        Verdict::Printed => "printed",
        Verdict::Missing => "missing: printed again by the next run",
    };
    let names: Vec<StripName> = settled.iter().map(|located| located.name.clone()).collect();
    let first = settled.first()?;
    Some(format!("entered as {word}: {} of {}", ranges(&names), first.run_in_words()))
}

/// The ledger for people.
pub fn table(summary: &Summary) -> String {
    let mut text = String::new();
    if summary.under_way {
        text.push_str("a run is under way\n");
    }
    for run in &summary.runs {
        if !text.is_empty() {
            text.push('\n');
        }
        text.push_str(&describe(run));
    }
    if text.is_empty() {
        text.push_str("nothing was printed with this ledger yet\n");
    }
    text.push_str(&benches(&summary.benches));
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

/// Who printed and packed, and how fast. Starts of one name are drawn together; a file that one machine alone printed with needs none.
fn benches(all: &[Bench]) -> String {
    let mut names: Vec<&str> = Vec::new();
    for bench in all {
        if !names.contains(&bench.name.as_str()) {
            names.push(&bench.name);
        }
    }
    if names.len() < 2 && all.iter().all(|bench| bench.boxed == 0) {
        return String::new();
    }
    let mut text = "\nbenches:\n".to_owned();
    for name in names {
        let of: Vec<&Bench> = all.iter().filter(|bench| bench.name == name).collect();
        let sum = |what: fn(&Bench) -> u32| of.iter().map(|bench| what(bench)).sum::<u32>();
        let who: Vec<&str> = of.last().map(|bench| bench.who.as_str()).filter(|who| !who.is_empty()).into_iter().collect();
        let who = who.first().map_or_else(String::new, |who| format!(" ({who})"));
        let pace = of.iter().rev().find_map(|bench| bench.per_hour).map_or_else(String::new, |hour| format!(", {hour} an hour"));
        let alive = if of.iter().any(|bench| bench.alive) { ", at work now" } else { "" };
        // Writing to a String can't fail.
        let _ = writeln!(
            text,
            "  {name}{who}: {} printed, {} in their boxes{pace}{alive}",
            sum(|bench| bench.printed),
            sum(|bench| bench.boxed)
        );
    }
    text
}

fn describe(run: &RunSummary) -> String {
    let mut text = String::new();
    let kind = if run.rehearsal { "rehearsal" } else { "run" };
    let begun = run.started.get(..16).unwrap_or(&run.started).replace('T', " ");
    // Writing to a String can't fail.
    let mut about = Vec::new();
    if !run.document.is_empty() {
        about.push(format!("{} ", run.document));
    }
    if !run.revision.is_empty() {
        about.push(format!("revision {} ", run.revision));
    }
    let named: Vec<&str> = [run.file.as_str(), &run.language].into_iter().filter(|word| !word.is_empty()).collect();
    let named = if named.is_empty() { String::new() } else { format!("({})", named.join(", ")) };
    let about = format!("{}{named}", about.concat());
    let _ = writeln!(text, "{kind} {}: {}, begun {begun} UTC", run.run, about.trim_end());
    let counts = run.counts;
    let parts: Vec<String> = [
        (counts.printed, "printed"),
        (counts.boxed, "in their boxes"),
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
        let _ = writeln!(text, "  {} is on {}", kind_of(carried, run), ranges(&carried.strips));
    }
    let name = |unit: &String, copy: u32| StripName { unit: unit.clone(), copy };
    for strip in run.strips.iter().filter(|strip| matches!(strip.state, State::Unknown | State::Missing)) {
        let _ = writeln!(text, "  {} {}: {}", strip.state.word(), name(&strip.unit, strip.copy), strip.note);
    }
    for scrap in &run.scrap {
        let revision = if scrap.revision.is_empty() { String::new() } else { format!(" revision {}", scrap.revision) };
        let _ = writeln!(text, "  scrap of {}{revision}: {}", scrap.name, scrap.note);
    }
    let gone: Vec<String> = run
        .strips
        .iter()
        .filter(|strip| !strip.listed)
        .map(|strip| format!("{} ({})", name(&strip.unit, strip.copy), strip.state.word()))
        .collect();
    if !gone.is_empty() {
        let _ = writeln!(text, "  not in the table of units any more: {}", gone.join(", "));
    }
    text
}

/// `revision C`, with what else tells the kinds of this run apart.
fn kind_of(carried: &Carried, run: &RunSummary) -> String {
    let mut words = String::new();
    if run.carried.iter().any(|other| other.document != carried.document) {
        words += &format!("{} ", carried.document);
    }
    words += &match carried.revision.as_str() {
        "" => "the manual".to_owned(),
        revision => format!("revision {revision}"),
    };
    if run.carried.iter().any(|other| other.language != carried.language) {
        words += &format!(" in {}", carried.language);
    }
    if !carried.changed.is_empty() {
        words += &format!(", with {} changed,", carried.changed.join(", "));
    }
    words
}

/// Copy; what stands before a key's number, the number, in how many digits; the name itself.
type Numbered<'a> = (u32, (&'a str, Option<u64>, usize), &'a StripName);

/// Names, drawn together only where the keys are consecutive by number: `HRN-0001 to HRN-0016, HRN-0018`.
pub fn ranges(names: &[StripName]) -> String {
    let mut sorted: Vec<Numbered<'_>> = names.iter().map(|name| (name.copy, numbered(&name.unit), name)).collect();
    sorted.sort_by(|one, other| (one.0, one.1, &one.2.unit).cmp(&(other.0, other.1, &other.2.unit)));
    let follows = |one: &Numbered<'_>, other: &Numbered<'_>| {
        let ((before, one_number, one_width), (text, number, width)) = (one.1, other.1);
        let next = one_number.and_then(|number| number.checked_add(1));
        // As wide, or both written without leading noughts: 099 and 100, 9 and 10.
        let plain = |number: Option<u64>, width| number.is_some_and(|number| number.to_string().len() == width);
        let alike = one_width == width || (plain(one_number, one_width) && plain(number, width));
        one.0 == other.0 && before == text && next.is_some() && next == number && alike
    };
    let mut parts = Vec::new();
    for stretch in sorted.chunk_by(follows) {
        match stretch {
            [first, .., last] if stretch.len() > 2 => parts.push(format!("{} to {}", first.2, last.2)),
            few => parts.extend(few.iter().map(|(_, _, name)| name.to_string())),
        }
    }
    parts.join(", ")
}

/// What stands before the number at the end of a key, the number, and in how many digits it is written.
fn numbered(key: &str) -> (&str, Option<u64>, usize) {
    let digits = key.bytes().rev().take_while(u8::is_ascii_digit).count();
    let (before, number) = key.split_at(key.len() - digits);
    match number.parse() {
        Ok(number) => (before, Some(number), digits),
        Err(_) => (key, None, 0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::send::{Facts, Intent, Making};

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
        let units = (1..=20).map(|number| format!("HRN-{number:04}"));
        let making =
            Making { manual: "5f3a".to_owned(), document: "HRN-QS".to_owned(), revision: "C".to_owned(), ..Making::default() };
        let facts = Facts::alike("heron/heron.md", "80mm", making, units);
        ledger.begin(&facts, false, Intent::Continue).expect("a run");
        for number in (1..=16).chain([18, 20]) {
            ledger.resolve(&format!("HRN-{number:04}"), Verdict::Printed, None).expect("a strip");
        }
        ledger.resolve("HRN-0017", Verdict::Missing, None).expect("a strip");
        let text = table(&ledger.summary().expect("a summary"));
        assert!(text.contains("20 strips: 18 printed, 1 missing, 1 queued"), "{text}");
        assert!(text.contains("revision C is on HRN-0001 to HRN-0016, HRN-0018, HRN-0020"), "{text}");
        assert!(text.contains("missing HRN-0017: entered by hand"), "{text}");
        assert!(text.starts_with("run 1: HRN-QS revision C (heron/heron.md), begun "), "{text}");
    }

    #[test]
    fn only_keys_that_follow_one_another_by_number_are_drawn_together() {
        let shown = |keys: &[&str]| {
            let names: Vec<StripName> = keys.iter().map(|key| StripName { unit: (*key).to_owned(), copy: 1 }).collect();
            ranges(&names)
        };
        // In the table's order these looked like one stretch.
        assert_eq!(shown(&["GL-0038", "GL-0101", "GL-0040", "GL-0039"]), "GL-0038 to GL-0040, GL-0101");
        assert_eq!(shown(&["9", "10", "11"]), "9 to 11");
        assert_eq!(shown(&["A09", "A10", "A11"]), "A09 to A11");
        assert_eq!(shown(&["red", "blue", "green"]), "blue, green, red");
        assert_eq!(shown(&["X-1", "Y-2", "X-3"]), "X-1, X-3, Y-2");
    }
}
