//! The page that `durable_copy` leads to, compared with the manual: only when a person asks for it. Is handed what came, and asks no
//! network.

use super::allow;
use super::finding::{Finding, Report};
use super::rule::{Check, Rule};
use crate::copy::stated::{Stated, stated};
use crate::manual::document::Document;
use crate::manual::source::{Level, Source};

const fn rule(name: &'static str, what: &'static str, why: &'static str, mend: &'static str) -> Rule {
    Rule { name, level: Level::Warning, what, why, mend, source: "common practice, no source", check: Check::Remarked }
}

pub const COPY_UNREACHABLE: Rule = rule(
    "durable-copy-unreachable",
    "a `durable_copy` that does not answer; asked only with `--online`",
    "the strip promises a page that nobody can read",
    "put the copy there, or write the address where it is",
);

pub const COPY_OTHER: Rule = rule(
    "durable-copy-other",
    "a page at `durable_copy` that is another document or another revision; asked only with `--online`",
    "strip and page would tell a reader two things",
    "make the copy anew and put it there: `stripling copy manual.md -o manual.html`",
);

/// What is to be said of the page that came from the manual's address, or of why none came.
pub fn compare(document: &Document, source: &Source, came: Result<&[u8], &str>) -> Report {
    let header = &document.header;
    let Some(address) = header.durable_copy.as_deref() else { return Report::new(Vec::new(), 0) };
    let found = match came {
        Err(why) => Some((&COPY_UNREACHABLE, format!("{address} does not answer: {why}"))),
        Ok(bytes) => {
            stated(bytes).and_then(|stated| other(document, &stated)).map(|how| (&COPY_OTHER, format!("{address} {how}")))
        }
    };
    let Some((rule, message)) = found else { return Report::new(Vec::new(), 0) };
    if allow::allows(&header.allow, rule.name) {
        return Report::new(Vec::new(), 1);
    }
    let span = header.spans.get("durable_copy").copied().unwrap_or_default();
    let finding = Finding {
        rule: rule.name,
        level: rule.level,
        message,
        hint: rule.mend.to_owned(),
        place: source.locate(span.start),
        panel: None,
        y: None,
        unit: None,
        span,
    };
    Report::new(vec![finding], 0)
}

/// How a page is another one than the manual's. A copy of the program's own says what it is; on any other page the document number is
/// looked for, and what stands after the word for a revision.
fn other(document: &Document, page: &Stated) -> Option<String> {
    let header = &document.header;
    let said = |value: &Option<String>| value.as_deref().map(|value| value.trim().to_owned()).filter(|value| !value.is_empty());
    let (number, revision) = (said(&header.document), said(&header.revision));
    if page.ours {
        let differs = |what: &str, own: Option<String>, there: Option<String>| match (own, there) {
            (Some(own), Some(there)) if own != there => Some(format!("is a copy of {what} {there:?}, and this is {own:?}")),
            (Some(own), None) => Some(format!("is a copy without {what}, and this is {own:?}")),
            _ => None,
        };
        return differs("document", number, said(&page.document)).or_else(|| differs("revision", revision, said(&page.revision)));
    }
    let text = page.text.to_lowercase();
    if let Some(number) = &number
        && !text.contains(&number.to_lowercase())
    {
        return Some(format!("is a page that does not name document {number:?}"));
    }
    let revision = revision?;
    let words = [header.wording().revision().to_lowercase(), "revision".to_owned()];
    // Hungarian says it the other way round: "C változat".
    let before = header.wording().around_revision().0.is_empty();
    let part = [' ', '\u{a0}', ',', ';', '.'];
    let there: Vec<&str> = words
        .iter()
        .enumerate()
        .flat_map(|(n, word)| text.match_indices(word.as_str()).map(move |(at, _)| (at, at + word.len(), n == 0 && before)))
        .filter_map(|(start, end, before)| match before {
            true => text[..start].trim_end_matches([' ', '\u{a0}']).rsplit(part).next(),
            false => text[end..].trim_start_matches([' ', '\u{a0}', '\u{2060}', ':']).split(part).next(),
        })
        .filter(|token| !token.is_empty() && token.chars().count() <= 8)
        .collect();
    let same = there.is_empty() || there.contains(&revision.to_lowercase().as_str());
    (!same).then(|| format!("is a page of revision {:?}, and this is {revision:?}", there[0]))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::manual;

    fn found(header: &str, came: Result<&str, &str>) -> Vec<(&'static str, String)> {
        let text = format!(
            "+++\ntitle = \"T\"\ndocument = \"HRN-QS\"\nrevision = \"C\"\ndurable_copy = \"https://example.com/h\"\n{header}+++\n# T\n\nx\n"
        );
        let source = manual::read_text("a.md", &text).unwrap();
        let document = manual::parse(&source).unwrap();
        let report = compare(&document, &source, came.map(str::as_bytes));
        report
            .findings
            .into_iter()
            .map(|finding| (finding.rule, format!("{}: {}", finding.place.line, finding.message)))
            .collect()
    }

    #[test]
    fn another_page_is_told_from_the_manuals_own() {
        let ours = |of: &str| format!("<!DOCTYPE html><!--copy-->\n<p {of}>x</p>");
        for right in [
            ours("data-document=HRN-QS data-revision=C"),
            "<h1>Heron</h1><p>HRN-QS, Revision\u{a0}C".to_owned(),
            "<p>hrn-qs and no word of its state".to_owned(),
            "%PDF-1.4 of somebody".to_owned(),
        ] {
            assert_eq!(found("", Ok(&right)), [], "{right}");
        }
        for (wrong, said) in [
            (ours("data-document=HRN-QS data-revision=B"), "copy of revision \"B\", and this is \"C\""),
            (ours("data-document=OTHER data-revision=C"), "copy of document \"OTHER\", and this is \"HRN-QS\""),
            (ours(""), "copy without document"),
            ("<h1>Sign in</h1>".to_owned(), "does not name document \"HRN-QS\""),
            ("<p>HRN-QS \u{b7} Revision B \u{b7} 2025".to_owned(), "page of revision \"b\", and this is \"C\""),
        ] {
            let found = found("", Ok(&wrong));
            assert_eq!(found.len(), 1, "{wrong}");
            assert!(
                found[0].0 == "durable-copy-other" && found[0].1.starts_with("5: ") && found[0].1.contains(said),
                "{found:?}"
            );
        }
        assert_eq!(found("", Err("the server says 404"))[0].0, "durable-copy-unreachable");
        let allowed = "[preflight]\nallow = [{ rule = \"durable-copy-unreachable\", reason = \"not yet\" }]\n";
        assert_eq!(found(allowed, Err("the server says 404")), []);
    }
}
