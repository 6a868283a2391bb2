//! Two manuals side by side, as two languages of one: what the one has and the other lacks, and what stands in another order.
//!
//! Compares structure, never words: kinds of blocks, and what reads alike in every language (keys, numbers and their units, figures,
//! signs, codes, addresses of pictures). A translation that is wrong but whole is not noticed.

mod details;
pub mod rules;

use std::collections::BTreeSet;

use details::Details;
use rules::*;

use super::allow;
use super::finding::Finding;
use super::rule::Rule;
use crate::language::SignalWord;
use crate::manual::document::{Block, Document, Inline, InlineKind, Kind, plain_text};
use crate::manual::source::{Source, Span};

/// What kind of part it is. Parts of one kind can stand for each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Sort {
    Title,
    Heading,
    Paragraph,
    Procedure,
    Step(u64),
    Bullets,
    Item,
    Safety(SignalWord),
    Aside,
    Figure,
    Callout,
    Comic,
    Panel,
    Code,
    Table,
    Row,
    Definitions,
    Definition,
    Qr,
    Barcode,
    WriteIn,
    Rule,
    Fold,
    Cut,
}

impl Sort {
    fn is_like(self, other: Sort) -> bool {
        matches!((self, other), (Sort::Step(_), Sort::Step(_)) | (Sort::Safety(_), Sort::Safety(_))) || self == other
    }

    fn name(self) -> String {
        let plain = match self {
            Sort::Step(number) => return format!("step {number}"),
            Sort::Title => "title",
            Sort::Heading => "heading",
            Sort::Paragraph => "paragraph",
            Sort::Procedure => "procedure",
            Sort::Bullets => "list",
            Sort::Item => "item",
            Sort::Safety(_) => "safety message",
            Sort::Aside => "aside",
            Sort::Figure => "figure",
            Sort::Callout => "callout",
            Sort::Comic => "comic",
            Sort::Panel => "panel",
            Sort::Code => "code",
            Sort::Table => "table",
            Sort::Row => "row",
            Sort::Definitions => "list of terms",
            Sort::Definition => "term",
            Sort::Qr => "QR symbol",
            Sort::Barcode => "barcode",
            Sort::WriteIn => "box to write in",
            Sort::Rule => "rule",
            Sort::Fold => "fold",
            Sort::Cut => "cut",
        };
        plain.to_string()
    }

    fn missing(self) -> &'static Rule {
        match self {
            Sort::Safety(_) => &MISSING_SAFETY,
            Sort::Step(_) | Sort::Procedure => &MISSING_STEP,
            Sort::Figure | Sort::Callout | Sort::Comic | Sort::Panel => &MISSING_FIGURE,
            _ => &MISSING_BLOCK,
        }
    }
}

/// A part of a manual and the parts in it.
struct Part {
    sort: Sort,
    /// Absolute.
    span: Span,
    /// Its first words.
    words: String,
    /// What it holds that is the same in every language.
    marks: BTreeSet<String>,
    /// What its own text holds of it, its inner parts left out.
    details: Details,
    inner: Vec<Part>,
}

/// What a manual has otherwise than the one beside it, in the order of its text. `here` is the manual at hand: every finding has
/// its place there and names the one beside.
pub fn compare(document: &Document, source: &Source, beside: &Document, beside_source: &Source) -> Vec<Finding> {
    let (here, there) = (Reader::of(document).parts(&document.blocks), Reader::of(beside).parts(&beside.blocks));
    let mut looked = Looked::default();
    looked.align(&here, &there, Span::default());
    let mut findings = Findings { source, beside_source, found: Vec::new() };
    if let (Some(a), Some(b)) = (&document.header.revision, &beside.header.revision)
        && a != b
    {
        let span_of = |document: &Document| document.header.spans.get("revision").copied().unwrap_or_default();
        let at = findings.beside(span_of(beside));
        findings.add(&OTHER_REVISION, span_of(document), format!("revision {a:?} here, {b:?} in {at}"));
    }
    looked.report(&mut findings);
    let mut found = findings.found;
    found.retain(|finding| !allow::allows(&document.header.allow, finding.rule));
    found.sort_by(|a, b| (a.span.start, a.rule, &a.message).cmp(&(b.span.start, b.rule, &b.message)));
    found
}

/// What aligning two manuals has shown.
#[derive(Default)]
struct Looked<'a> {
    /// Parts of the manual beside, each with the place here after which it is expected.
    missing: Vec<(&'a Part, Span)>,
    extra: Vec<&'a Part>,
    /// Safety messages of two grades: here and beside.
    grades: Vec<(&'a Part, &'a Part)>,
    /// Parts that stand for each other, in the order of the manual at hand.
    pairs: Vec<(&'a Part, &'a Part)>,
}

impl<'a> Looked<'a> {
    /// Pairs parts with parts; `around` is the part here that holds them.
    fn align(&mut self, here: &'a [Part], there: &'a [Part], around: Span) {
        let mut last = around;
        for pair in pairs(here, there) {
            match pair {
                (Some(a), Some(b)) => {
                    last = a.span;
                    if a.sort != b.sort && matches!(a.sort, Sort::Safety(_)) {
                        self.grades.push((a, b));
                    }
                    self.pairs.push((a, b));
                    self.align(&a.inner, &b.inner, a.span);
                }
                (Some(a), None) => {
                    last = a.span;
                    self.extra.push(a);
                }
                (None, Some(b)) => self.missing.push((b, last)),
                (None, None) => {}
            }
        }
    }

    fn report(self, findings: &mut Findings) {
        let mut extra: Vec<Option<&Part>> = self.extra.into_iter().map(Some).collect();
        for (part, after) in self.missing {
            // The same thing, told by what is the same in every language, stands elsewhere.
            let twin = extra.iter_mut().find(|other| other.is_some_and(|other| is_twin(other, part)));
            let at = findings.beside(part.span);
            match twin.and_then(Option::take) {
                Some(twin) => {
                    findings.add(&OUT_OF_ORDER, twin.span, format!("{} stands elsewhere in the other manual: {at}", named(twin)))
                }
                None => {
                    findings.add(part.sort.missing(), after, format!("{} of {at} is missing; expected after this", named(part)))
                }
            }
        }
        for part in extra.into_iter().flatten() {
            let other = findings.beside_source.locate(0).file;
            findings.add(&ONLY_HERE, part.span, format!("{} is not in {other}", named(part)));
        }
        for (a, b) in self.pairs {
            let at = findings.beside(b.span);
            for (rule, told) in a.details.against(&b.details) {
                findings.add(rule, a.span, format!("in {}: {told} in {at}", named(a)));
            }
        }
        for (a, b) in self.grades {
            let at = findings.beside(b.span);
            findings.add(&OTHER_GRADE, a.span, format!("{} has another grade than {} in {at}", named(a), named(b)));
        }
    }
}

fn is_twin(a: &Part, b: &Part) -> bool {
    a.sort.is_like(b.sort) && !a.marks.is_empty() && a.marks == b.marks
}

fn named(part: &Part) -> String {
    match part.words.is_empty() {
        true => part.sort.name(),
        false => format!("{} {:?}", part.sort.name(), part.words),
    }
}

struct Findings<'a> {
    source: &'a Source,
    beside_source: &'a Source,
    found: Vec<Finding>,
}

impl Findings<'_> {
    fn add(&mut self, rule: &'static Rule, span: Span, message: String) {
        let place = self.source.locate(span.start);
        let hint = rule.mend.to_string();
        self.found.push(Finding {
            rule: rule.name,
            level: rule.level,
            message,
            hint,
            place,
            panel: None,
            y: None,
            unit: None,
            span,
        });
    }

    /// File and line in the manual beside.
    fn beside(&self, span: Span) -> String {
        let place = self.beside_source.locate(span.start);
        format!("{}:{}", place.file, place.line)
    }
}

/// Longest lists that are weighed as a whole; longer ones are taken in stretches of this length.
const LONGEST: usize = 1500;

/// The pairing of two lists that keeps both orders and fits best, gaps included, from the first part to the last.
fn pairs<'a>(here: &'a [Part], there: &'a [Part]) -> Vec<(Option<&'a Part>, Option<&'a Part>)> {
    let count = here.len().max(there.len()).div_ceil(LONGEST);
    let stretch = |list: &'a [Part], n: usize| -> &'a [Part] {
        let at = |n: usize| (n * LONGEST).min(list.len());
        &list[at(n)..at(n + 1)]
    };
    (0..count).flat_map(|n| best_pairs(stretch(here, n), stretch(there, n))).collect()
}

fn best_pairs<'a>(here: &'a [Part], there: &'a [Part]) -> Vec<(Option<&'a Part>, Option<&'a Part>)> {
    let (rows, columns) = (here.len() + 1, there.len() + 1);
    let at = |row: usize, column: usize| row * columns + column;
    // The best worth of all that follows from each place on.
    let mut worth = vec![0i32; rows * columns];
    for row in (0..here.len()).rev() {
        for column in (0..there.len()).rev() {
            let apart = worth[at(row + 1, column)].max(worth[at(row, column + 1)]);
            let together = likeness(&here[row], &there[column]).map(|like| like + worth[at(row + 1, column + 1)]);
            worth[at(row, column)] = together.unwrap_or(0).max(apart);
        }
    }
    let mut found = Vec::with_capacity(rows.max(columns));
    let (mut row, mut column) = (0, 0);
    while row < here.len() && column < there.len() {
        let now = worth[at(row, column)];
        if likeness(&here[row], &there[column]).is_some_and(|like| like + worth[at(row + 1, column + 1)] == now) {
            found.push((Some(&here[row]), Some(&there[column])));
            (row, column) = (row + 1, column + 1);
        } else if worth[at(row + 1, column)] == now {
            found.push((Some(&here[row]), None));
            row += 1;
        } else {
            found.push((None, Some(&there[column])));
            column += 1;
        }
    }
    found.extend(here[row..].iter().map(|part| (Some(part), None)));
    found.extend(there[column..].iter().map(|part| (None, Some(part))));
    found
}

/// How well one part stands for another; nothing when it cannot.
fn likeness(a: &Part, b: &Part) -> Option<i32> {
    if !a.sort.is_like(b.sort) {
        return None;
    }
    let (shared, all) = (a.marks.intersection(&b.marks).count(), a.marks.union(&b.marks).count());
    let marks = if all == 0 { 6 } else { 12 * shared as i32 / all as i32 };
    // What contradicts each other in everything that reads alike in every language is rather a part that has no pair.
    let contradicts =
        !a.marks.is_empty() && !b.marks.is_empty() && shared == 0 && !matches!(a.sort, Sort::Heading | Sort::Paragraph);
    let same = if a.sort == b.sort { 2 } else { 0 };
    let sizes = if a.inner.len() == b.inner.len() { 1 } else { 0 };
    Some(if contradicts { 1 } else { 8 + marks + same + sizes })
}

/// Reads one manual, whose language says what a point in a number is.
struct Reader {
    decimal_sign: char,
}

impl Reader {
    fn of(document: &Document) -> Reader {
        Reader { decimal_sign: document.header.tongue.decimal_sign() }
    }

    fn parts(&self, blocks: &[Block]) -> Vec<Part> {
        blocks.iter().filter_map(|block| self.part_of(block, block.span.start, block.span)).collect()
    }

    /// Parts inside a top-level block that begins at `base`.
    fn inner_parts(&self, blocks: &[Block], base: u32) -> Vec<Part> {
        blocks.iter().filter_map(|block| self.part_of(block, base, block.span.from_base(base))).collect()
    }

    /// The part that a block is; nothing for the notes, which the program gathers itself.
    fn part_of(&self, block: &Block, base: u32, span: Span) -> Option<Part> {
        let mut part = Part {
            sort: Sort::Rule,
            span,
            words: String::new(),
            marks: BTreeSet::new(),
            details: Details::default(),
            inner: Vec::new(),
        };
        let of = |sort: Sort, span: Span, words: &str, inner: Vec<Part>| Part {
            sort,
            span: span.from_base(base),
            words: first_words(words),
            marks: inner.iter().flat_map(|part| part.marks.iter().cloned()).collect(),
            details: Details::default(),
            inner,
        };
        let inlines = |part: &mut Part, text: &[Inline]| {
            part.words = first_words(&plain_text(text));
            self.mark(text, part);
        };
        match &block.kind {
            Kind::Notes(_) => return None,
            Kind::Title(text) => (part.sort, part.words) = (Sort::Title, first_words(&plain_text(text))),
            Kind::Heading { level, text } => {
                part.sort = Sort::Heading;
                inlines(&mut part, text);
                part.marks.insert(format!("level {level}"));
            }
            Kind::Paragraph(text) => {
                part.sort = Sort::Paragraph;
                inlines(&mut part, text);
            }
            Kind::Procedure { steps } => {
                part.sort = Sort::Procedure;
                let inner = steps.iter().map(|step| {
                    let blocks = self.inner_parts(&step.blocks, base);
                    let words = blocks.first().map_or(String::new(), |block| block.words.clone());
                    of(Sort::Step(step.number), step.span, &words, blocks)
                });
                part.inner = inner.collect();
            }
            Kind::Bullets { items } => {
                part.sort = Sort::Bullets;
                let inner = items.iter().map(|item| {
                    let blocks = self.inner_parts(&item.blocks, base);
                    let words = blocks.first().map_or(String::new(), |block| block.words.clone());
                    of(Sort::Item, item.span, &words, blocks)
                });
                part.inner = inner.collect();
            }
            Kind::Safety(safety) => {
                part.sort = Sort::Safety(safety.word);
                part.inner = self.inner_parts(&safety.blocks, base);
                part.words = first_words(&safety.label);
                part.marks.extend(safety.sign.iter().map(|sign| format!("sign {sign}")));
                part.details.signs.extend(safety.sign.iter().map(ToString::to_string));
            }
            Kind::Aside(blocks) => {
                part.sort = Sort::Aside;
                part.inner = self.inner_parts(blocks, base);
                part.words = part.inner.first().map_or(String::new(), |block| block.words.clone());
            }
            Kind::Figure(figure) => {
                part.sort = Sort::Figure;
                part.words = first_words(&figure.alt);
                part.marks.insert(format!("picture {}", figure.picture));
                let callouts = figure.callouts.iter().map(|callout| {
                    let mut part = of(Sort::Callout, callout.span, &callout.label, Vec::new());
                    part.marks.insert(format!("at {:?}", callout.at));
                    part
                });
                part.inner = callouts.collect();
            }
            Kind::Row(figures) => {
                part.sort = Sort::Figure;
                part.words = figures.first().map_or(String::new(), |figure| first_words(&figure.alt));
                part.marks.extend(figures.iter().map(|figure| format!("picture {}", figure.picture)));
            }
            Kind::Model(figure) => {
                part.sort = Sort::Figure;
                part.words = first_words(&figure.alt);
                part.marks.extend(figure.models.iter().map(|model| format!("model {}", model.name)));
            }
            Kind::Comic(comic) => {
                part.sort = Sort::Comic;
                let panels = comic.panels.iter().map(|panel| {
                    let mut part = of(Sort::Panel, panel.span, &panel.alt, Vec::new());
                    part.marks.extend(panel.picture.iter().map(|picture| format!("picture {picture}")));
                    part
                });
                part.inner = panels.collect();
            }
            Kind::Code { .. } => part.sort = Sort::Code,
            Kind::Table(table) => {
                part.sort = Sort::Table;
                let rows = table.rows.iter().map(|row| {
                    let span = row
                        .first()
                        .zip(row.last())
                        .map_or(block.span, |(first, last)| Span { start: first.span.start, end: last.span.end });
                    let words = row.first().map_or(String::new(), |cell| plain_text(&cell.text));
                    let mut part = of(Sort::Row, span, &words, Vec::new());
                    row.iter().for_each(|cell| self.mark(&cell.text, &mut part));
                    part
                });
                part.inner = rows.collect();
            }
            Kind::Definitions(definitions) => {
                part.sort = Sort::Definitions;
                let terms = definitions.iter().map(|definition| {
                    let meanings = definition.meanings.iter().flat_map(|blocks| self.inner_parts(blocks, base)).collect();
                    let mut part = of(Sort::Definition, definition.span, &plain_text(&definition.term), meanings);
                    self.mark(&definition.term, &mut part);
                    part
                });
                part.inner = terms.collect();
            }
            Kind::Qr { data } => {
                part.sort = Sort::Qr;
                part.details.addresses.insert(data.clone());
            }
            Kind::Barcode { data, .. } => {
                part.sort = Sort::Barcode;
                part.details.codes.insert(data.clone());
            }
            Kind::WriteIn { label, .. } => {
                part.sort = Sort::WriteIn;
                part.words = first_words(label);
            }
            Kind::Rule => {}
            Kind::Fold => part.sort = Sort::Fold,
            Kind::Cut => part.sort = Sort::Cut,
        }
        let of_inner: Vec<String> = part.inner.iter().flat_map(|part| part.marks.iter().cloned()).collect();
        part.marks.extend(of_inner);
        Some(part)
    }

    /// Keys, pictures and numbers of a text.
    fn mark(&self, text: &[Inline], part: &mut Part) {
        for inline in text {
            match &inline.kind {
                InlineKind::Key(label) => {
                    part.marks.insert(format!("key {label}"));
                    part.details.keys.insert(label.to_string());
                }
                InlineKind::Picture(picture) => {
                    part.marks.insert(format!("picture {}", picture.address));
                    part.details.signs.extend(picture.address.strip_prefix("sign:").map(str::to_string));
                }
                InlineKind::Text(text) => {
                    for quantity in details::quantities(text, self.decimal_sign) {
                        part.marks.insert(format!("number {}", quantity.value));
                        part.details.quantities.push(quantity);
                    }
                }
                InlineKind::Strong(inner)
                | InlineKind::Emphasis(inner)
                | InlineKind::Strike(inner)
                | InlineKind::Subscript(inner)
                | InlineKind::Superscript(inner) => self.mark(inner, part),
                InlineKind::Link { text, .. } => self.mark(text, part),
                InlineKind::NoteCall(_) | InlineKind::SoftBreak | InlineKind::HardBreak => {}
            }
        }
    }
}

/// The beginning of a text, enough to know it again.
fn first_words(text: &str) -> String {
    const LONGEST: usize = 32;
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    if text.chars().count() <= LONGEST {
        return text;
    }
    let cut: String = text.chars().take(LONGEST).collect();
    format!("{}…", cut.trim_end())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::manual;

    const EN: &str = "+++\ntitle = \"Heron\"\nlanguage = \"en\"\nrevision = \"C\"\n+++\n\n# Heron\n\nA bird.\n\n## Tea\n\n\
        > **WARNING** ![hot](sign:hot-liquid) Tea scalds.\n\n1. Press `WAKE`.\n2. Lay the string in the peg.\n3. Press `DIP`.\n\n\
        ![keys](keys.svg \"Keys\")\n\n- a\n- b\n\n| Dial | Time |\n|---|---|\n| 1 | 1 min |\n| 3 | 3 min |\n";
    const DE: &str = "+++\ntitle = \"Heron\"\nlanguage = \"de\"\nrevision = \"C\"\n+++\n\n# Heron\n\nEin Vogel.\n\n## Tee\n\n\
        > **WARNUNG** ![heiß](sign:hot-liquid) Tee verbrüht.\n\n1. `WAKE` drücken.\n2. Faden in die Klammer legen.\n3. `DIP` drücken.\n\n\
        ![Tasten](keys.svg \"Tasten\")\n\n- a\n- b\n\n| Stufe | Zeit |\n|---|---|\n| 1 | 1 min |\n| 3 | 3 min |\n";

    fn found(here: &str, there: &str) -> Vec<(&'static str, u32, String)> {
        let here_source = manual::read_text("a.de.md", here).unwrap();
        let there_source = manual::read_text("a.en.md", there).unwrap();
        let (here, there) = (manual::parse(&here_source).unwrap(), manual::parse(&there_source).unwrap());
        let findings = compare(&here, &here_source, &there, &there_source);
        findings.into_iter().map(|finding| (finding.rule, finding.place.line, finding.message)).collect()
    }

    /// The one thing found, with the line of the manual at hand.
    fn one(here: &str, there: &str) -> (&'static str, u32, String) {
        let found = found(here, there);
        assert_eq!(found.len(), 1, "{found:?}");
        found.into_iter().next().unwrap()
    }

    #[test]
    fn a_whole_translation_has_nothing_to_be_found() {
        assert_eq!(found(DE, EN), []);
        assert_eq!(found(EN, DE), []);
    }

    #[test]
    fn a_missing_step_is_named_and_found_where_it_should_stand() {
        let here = DE.replace("2. Faden in die Klammer legen.\n3. `DIP` drücken.", "2. `DIP` drücken.");
        let (rule, line, message) = one(&here, EN);
        assert_eq!((rule, line), ("beside-missing-step", 15));
        assert_eq!(message, "step 2 \"Lay the string in the peg.\" of a.en.md:16 is missing; expected after this");
        // Seen from the other side it is too much.
        let (rule, line, message) = one(EN, &here);
        assert_eq!((rule, line), ("beside-only-here", 16));
        assert!(message.contains("step 2"), "{message}");
    }

    #[test]
    fn a_missing_safety_message_and_one_of_another_grade() {
        let without = DE.replace("> **WARNUNG** ![heiß](sign:hot-liquid) Tee verbrüht.\n\n", "");
        assert_eq!(one(&without, EN).0, "beside-missing-safety");
        let (rule, line, message) = one(&DE.replace("WARNUNG", "VORSICHT"), EN);
        assert_eq!((rule, line), ("beside-other-grade", 13));
        assert!(message.contains("VORSICHT") && message.contains("WARNING") && message.contains("a.en.md:13"), "{message}");
    }

    #[test]
    fn a_safety_message_after_its_step_is_out_of_order() {
        let message = "> **WARNUNG** ![heiß](sign:hot-liquid) Tee verbrüht.\n\n";
        let moved = DE.replace(message, "").replace("- a\n", &format!("{message}- a\n"));
        let (rule, line, told) = one(&moved, EN);
        assert_eq!((rule, line), ("beside-out-of-order", 19));
        assert!(told.contains("a.en.md:13"), "{told}");
    }

    #[test]
    fn missing_figures_rows_paragraphs_and_items() {
        assert_eq!(one(&DE.replace("![Tasten](keys.svg \"Tasten\")\n\n", ""), EN).0, "beside-missing-figure");
        assert_eq!(one(&DE.replace("| 3 | 3 min |\n", ""), EN).0, "beside-missing-block");
        assert_eq!(one(&DE.replace("Ein Vogel.\n\n", ""), EN).0, "beside-missing-block");
        assert_eq!(one(&DE.replace("- b\n", ""), EN).0, "beside-missing-block");
    }

    #[test]
    fn what_reads_alike_in_every_language_is_the_same_in_both() {
        let here = |from: &str, to: &str| {
            assert!(DE.contains(from), "{from}");
            one(&DE.replace(from, to), EN)
        };
        let (rule, line, told) = here("sign:hot-liquid", "sign:pinch");
        assert_eq!((rule, line), ("beside-other-value", 13));
        assert!(told.contains("sign pinch here, hot-liquid in a.en.md:13"), "{told}");
        let (rule, _, told) = here("| 3 | 3 min |", "| 3 | 30 min |");
        assert_eq!(rule, "beside-other-value");
        assert!(told.contains("30 min here, 3 min"), "{told}");
        let (rule, line, told) = here("`DIP` drücken", "`WAKE` drücken");
        assert_eq!((rule, line), ("beside-other-detail", 17), "{told}");
        let english = EN.replace("A bird.", "A bird. Wait 10 minutes at 4.5 W.");
        let german = |text: &str| DE.replace("Ein Vogel.", &format!("Ein Vogel. {text}"));
        assert_eq!(found(&german("10 Minuten warten, 4,5 W."), &english), []);
        assert_eq!(found(&german("Zehn Minuten warten, 4,5 Watt."), &english), []);
        assert_eq!(one(&german("10 Minuten warten, 45 W."), &english).0, "beside-other-value");
        assert_eq!(one(&german("1 Minute warten, 4,5 W."), &english).0, "beside-other-detail");
    }

    #[test]
    fn two_revisions_are_told_once_and_may_be_allowed() {
        let here = DE.replace("revision = \"C\"", "revision = \"B\"");
        assert_eq!(one(&here, EN).0, "beside-other-revision");
        let reason = "[preflight]\nallow = [{ rule = \"beside-other-revision\", reason = \"on purpose\" }]\n+++\n\n#";
        assert_eq!(found(&here.replacen("+++\n\n#", reason, 1), EN), []);
    }

    #[test]
    fn swapped_steps_are_out_of_order() {
        let here = DE.replace("1. `WAKE` drücken.", "1. `STOP` drücken.").replace("3. `DIP` drücken.", "3. `WAKE` drücken.");
        let there = EN.replace("3. Press `DIP`.", "3. Press `STOP`.");
        let rules: Vec<_> = found(&here, &there).into_iter().map(|(rule, ..)| rule).collect();
        assert!(rules.contains(&"beside-out-of-order"), "{rules:?}");
    }

    #[test]
    fn empty_manuals_and_long_ones_are_compared_too() {
        assert_eq!(found("", ""), []);
        assert!(!found("", EN).is_empty());
        let long: String = (0..4000).map(|n| format!("Line {n}.\n\n")).collect();
        assert_eq!(found(&long, &long), []);
    }
}
