//! The one place from which errors and notices reach a person: message, file:line:column, the line itself with a caret, a hint.

use std::fmt;
use std::io::{self, IsTerminal, Write};
use std::ops::Range;

use miette::{
    Diagnostic, GraphicalReportHandler, GraphicalTheme, LabeledSpan, MietteError, MietteSpanContents, Severity, SourceCode,
    SourceSpan, SpanContents,
};

use super::Error;
use crate::desk;
use crate::manual::source::{Level, Place};
use crate::names;
pub use crate::prepress::Trouble;

/// A trouble as miette wants it.
#[derive(Debug)]
struct Shown<'a> {
    trouble: &'a Trouble,
    severity: Severity,
    source: Option<Excerpt>,
}

impl fmt::Display for Shown<'_> {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        // With an excerpt the place stands above it; without one it leads the sentence.
        match self.source {
            Some(_) => out.write_str(&self.trouble.message),
            None => self.trouble.fmt(out),
        }
    }
}

impl std::error::Error for Shown<'_> {}

impl Diagnostic for Shown<'_> {
    fn severity(&self) -> Option<Severity> {
        Some(self.severity)
    }

    fn help<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        self.trouble.hint.as_ref().map(|hint| Box::new(hint) as Box<dyn fmt::Display>)
    }

    fn source_code(&self) -> Option<&dyn SourceCode> {
        self.source.as_ref().map(|excerpt| excerpt as &dyn SourceCode)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        let excerpt = self.source.as_ref()?;
        Some(Box::new(std::iter::once(LabeledSpan::new_primary_with_span(None, excerpt.span.clone()))))
    }
}

/// The file's text, calmed, under its name. Says the place as the library does: miette alone would count the column in bytes.
#[derive(Debug)]
struct Excerpt {
    text: String,
    place: Place,
    span: Range<usize>,
}

impl SourceCode for Excerpt {
    fn read_span<'a>(
        &'a self,
        span: &SourceSpan,
        before: usize,
        after: usize,
    ) -> Result<Box<dyn SpanContents<'a> + 'a>, MietteError> {
        let found = self.text.read_span(span, before, after)?;
        let column = if *span == SourceSpan::from(self.span.clone()) && before == 0 {
            self.place.column as usize - 1
        } else {
            found.column()
        };
        let name = self.place.file.clone();
        Ok(Box::new(MietteSpanContents::new_named(name, found.data(), *found.span(), found.line(), column, found.line_count())))
    }
}

/// Longest line that an excerpt is shown of, in bytes.
const LONGEST_LINE: usize = 400;

/// Shows troubles on standard error.
#[derive(Clone, Copy, Debug)]
pub struct Reporter {
    quiet: bool,
    colour: bool,
    every: bool,
}

impl Reporter {
    /// With colour only on a terminal that has it (TERM is not "dumb"), and only if NO_COLOR is unset or empty.
    pub fn new(quiet: bool) -> Reporter {
        Reporter { quiet, colour: coloured(io::stderr().is_terminal(), |name| std::env::var_os(name)), every: false }
    }

    /// One that shows errors only, without colour.
    pub const fn silent() -> Reporter {
        Reporter { quiet: true, colour: false, every: false }
    }

    /// One that says every finding in full, or those of one rule together.
    pub fn saying_every(self, every: bool) -> Reporter {
        Reporter { every, ..self }
    }

    /// Says many findings. Those of one rule are said together where the first of them stands: its full message, then the lines of the
    /// others.
    pub fn findings(&self, findings: Vec<(Level, &'static str, Trouble)>) {
        let mut groups: Vec<(Level, &'static str, Vec<Trouble>)> = Vec::new();
        for (level, rule, trouble) in findings {
            match groups.iter_mut().find(|group| (group.0, group.1) == (level, rule)).filter(|_| !self.every) {
                Some((_, _, group)) => group.push(trouble),
                None => groups.push((level, rule, vec![trouble])),
            }
        }
        for (level, _, mut group) in groups {
            let others = group.split_off(1);
            for mut trouble in group {
                if !others.is_empty() {
                    trouble.message = format!("{}\nand {} more: {}", trouble.message, others.len(), lines_of(&others));
                }
                match level {
                    Level::Error => self.error(&trouble),
                    Level::Warning => self.notice(&trouble),
                    Level::Advice => self.advice(&trouble),
                }
            }
        }
    }

    /// Whether notices and progress are wanted.
    pub fn is_quiet(&self) -> bool {
        self.quiet
    }

    /// What ends a command, or makes it fail: always shown.
    pub fn error(&self, trouble: &Trouble) {
        self.put(&self.render(trouble, Severity::Error));
    }

    /// What a person should know but nothing fails for: not shown when quiet.
    pub fn notice(&self, trouble: &Trouble) {
        if !self.quiet {
            self.put(&self.render(trouble, Severity::Warning));
        }
    }

    /// What a person may think about: not shown when quiet.
    pub fn advice(&self, trouble: &Trouble) {
        if !self.quiet {
            self.put(&self.render(trouble, Severity::Advice));
        }
    }

    /// One plain line of news: not shown when quiet.
    pub fn say(&self, line: impl fmt::Display) {
        if !self.quiet {
            self.put(&format!("{}\n", spelled(&line.to_string())));
        }
    }

    /// A closed standard error is nobody's fault.
    fn put(&self, text: &str) {
        let _ = io::stderr().lock().write_all(text.as_bytes());
    }

    fn render(&self, trouble: &Trouble, severity: Severity) -> String {
        let source = trouble.place.as_ref().zip(trouble.text.as_deref()).and_then(|(place, text)| {
            let span = span(text, place)?;
            // Control characters would act on the terminal; each byte of one is shown as a question mark, so offsets stay true.
            let calm: String = text.chars().map(|letter| if shows(letter) { letter } else { '?' }).collect();
            let place = Place { file: spelled(&place.file), ..place.clone() };
            (calm.len() == text.len()).then_some(Excerpt { text: calm, place, span })
        });
        let trouble = &Trouble {
            message: spelled(&trouble.message),
            hint: trouble.hint.as_deref().map(spelled),
            place: trouble.place.clone().map(|place| Place { file: spelled(&place.file), ..place }),
            ..Trouble::default()
        };
        let shown = Shown { trouble, severity, source };
        let theme = if self.colour { GraphicalTheme::unicode() } else { GraphicalTheme::unicode_nocolor() };
        let handler = GraphicalReportHandler::new_themed(theme).with_width(100).with_context_lines(1).with_links(false);
        let mut text = String::new();
        match handler.render_report(&mut text, &shown) {
            Ok(()) => text,
            Err(_) => format!("{trouble}\n"),
        }
    }
}

fn coloured(terminal: bool, variable: impl Fn(&str) -> Option<std::ffi::OsString>) -> bool {
    let refused = variable("NO_COLOR").is_some_and(|value| !value.is_empty());
    let dumb = variable("TERM").is_some_and(|value| value == "dumb");
    terminal && !refused && !dumb
}

/// Where the others stand: `heron.md:12, 15, 20; warranty.md:3`.
fn lines_of(troubles: &[Trouble]) -> String {
    let mut files: Vec<(String, Vec<u32>)> = Vec::new();
    for place in troubles.iter().filter_map(Trouble::place) {
        match files.iter_mut().find(|(file, _)| *file == place.file) {
            Some((_, lines)) => lines.push(place.line),
            None => files.push((place.file.clone(), vec![place.line])),
        }
    }
    let listed = |(file, mut lines): (String, Vec<u32>)| {
        lines.sort_unstable();
        lines.dedup();
        format!("{file}:{}", lines.iter().map(u32::to_string).collect::<Vec<_>>().join(", "))
    };
    files.into_iter().map(listed).collect::<Vec<_>>().join("; ")
}

/// As [`names::spelled_out`]; lines stay lines.
fn spelled(words: &str) -> String {
    names::spelled_out(words, &['\n', '\t'])
}

/// Whether a letter may be sent to a terminal. All that may not are one byte long but for the C1 controls.
fn shows(letter: char) -> bool {
    !letter.is_ascii_control() || matches!(letter, '\n' | '\t' | '\r')
}

/// The bytes of the letter at a place. `None` when there is no such line, or it or a neighbour is endless.
fn span(text: &str, place: &Place) -> Option<Range<usize>> {
    let line = place.line.checked_sub(1)? as usize;
    let mut start = 0;
    for _ in 0..line {
        start += text.get(start..)?.find('\n')? + 1;
    }
    let rest = text.get(start..)?;
    let written = rest.split('\n').next()?.trim_end_matches('\r');
    let before = text[..start.saturating_sub(1)].rsplit('\n').next()?;
    let after = rest.split('\n').nth(1).unwrap_or("");
    if [written, before, after]
        .iter()
        .any(|line| line.len() > LONGEST_LINE || line.contains(|letter: char| ('\u{80}'..'\u{A0}').contains(&letter)))
    {
        return None;
    }
    let column = place.column.checked_sub(1)? as usize;
    Some(match written.char_indices().nth(column) {
        Some((offset, letter)) => start + offset..start + offset + letter.len_utf8(),
        None => start + written.len()..start + written.len(),
    })
}

/// An error as the desk shows it.
impl From<&Error> for desk::Trouble {
    fn from(error: &Error) -> desk::Trouble {
        match error.trouble() {
            Some(told) => {
                let place = told.place();
                desk::Trouble {
                    message: told.message().to_string(),
                    hint: told.hint_text().map(str::to_string),
                    file: place.map(|place| place.file.clone()),
                    line: place.map(|place| place.line),
                    column: place.map(|place| place.column),
                    excerpt: told.line().map(str::to_string),
                    ..desk::Trouble::default()
                }
            }
            None => desk::Trouble::new(error.to_string()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rendered(trouble: &Trouble) -> String {
        Reporter { quiet: false, colour: false, every: false }.render(trouble, Severity::Error)
    }

    #[test]
    fn an_error_shows_its_line_with_a_caret_and_a_hint() {
        let place = Place { file: "heron.md".into(), line: 2, column: 9 };
        let text = "+++\ntitlé = \"H\x07ron\nmore";
        let shown = rendered(&Trouble::new("the text never ends").at(Some(place)).text(text).hint("close it with a quote"));
        for part in ["× the text never ends", "heron.md:2:9", "2 │ titlé = \"H?ron", "help: close it with a quote"] {
            assert!(shown.contains(part), "no {part:?} in\n{shown}");
        }
        let lines: Vec<&str> = shown.lines().collect();
        let line = lines.iter().position(|line| line.contains("titl")).expect("the excerpt");
        let under = |line: &str, letter: char| line.chars().position(|found| found == letter);
        assert_eq!(under(lines[line], '"'), under(lines[line + 1], '▲').or(under(lines[line + 1], '─')), "{shown}");
        assert!(!shown.contains('\u{1B}'), "no colour");
    }

    #[test]
    fn colour_is_for_terminals_that_have_it_and_people_who_want_it() {
        // NO_COLOR: no-color.org, "present and not an empty string"; "dumb": the terminfo name of a terminal that can do nothing.
        let with = |terminal, set: &'static [(&str, &str)]| {
            coloured(terminal, |name| set.iter().find(|(known, _)| *known == name).map(|(_, value)| value.into()))
        };
        assert!(with(true, &[("TERM", "xterm")]) && with(true, &[("NO_COLOR", "")]) && with(true, &[]));
        assert!(!with(true, &[("NO_COLOR", "1")]) && !with(true, &[("TERM", "dumb")]) && !with(false, &[]));
    }

    #[test]
    fn a_place_without_text_leads_the_sentence() {
        let place = Place { file: "heron.md".into(), line: 2, column: 9 };
        assert!(rendered(&Trouble::new("no such picture").at(Some(place))).contains("heron.md:2:9: no such picture"));
    }
}
