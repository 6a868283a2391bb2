//! Steps that a writer numbered and Markdown does not see as a list: `1.Plug it in` without a space, and `5. Go on` in the line after a picture.

use std::ops::Range;

use super::edits::{Edit, in_code};

/// Where such steps may be, with what is to stand there in addition; code is not known yet.
pub(super) fn slips(text: &str) -> Vec<(usize, &'static str)> {
    let mut slips = Vec::new();
    // The number of the last step of a list, and whether the line before is nothing but a picture.
    let (mut last, mut after_picture) = (None, false);
    let mut paragraph: Vec<Line> = Vec::new();
    let mut start = 0;
    for written in text.split_inclusive('\n') {
        let line = Line::read(written, start);
        start += written.len();
        let words = written.trim();
        if let Some(number) = line.number {
            if line.spaced && after_picture && last.is_some_and(|last| number == last + 1) && number > 1 {
                slips.push((line.start, "\n"));
            }
            last = Some(number);
        } else if words.starts_with('#') {
            last = None;
        }
        after_picture = (words.starts_with("![") && words.ends_with(')') || words.starts_with("<img") && words.ends_with('>'))
            && written.starts_with(['!', '<']);
        if words.is_empty() {
            unspaced(&mut paragraph, &mut slips);
        } else {
            paragraph.push(line);
        }
    }
    unspaced(&mut paragraph, &mut slips);
    slips.sort_unstable();
    slips
}

/// A line, and the number it begins with.
struct Line {
    start: usize,
    number: Option<u32>,
    /// Where the words begin, behind the number.
    words: usize,
    /// Whether a space stands before them.
    spaced: bool,
}

impl Line {
    fn read(line: &str, start: usize) -> Line {
        let none = Line { start, number: None, words: start, spaced: false };
        let indent = line.bytes().take_while(|byte| *byte == b' ').count();
        let digits = line[indent..].bytes().take_while(u8::is_ascii_digit).count();
        let rest = &line[indent + digits..];
        if indent > 3 || !(1..=2).contains(&digits) || !rest.starts_with(['.', ')']) {
            return none;
        }
        let next = rest[1..].chars().next();
        let spaced = next.is_some_and(|next| next == ' ' || next == '\t');
        if !spaced && !next.is_some_and(char::is_alphabetic) {
            return none;
        }
        Line { number: line[indent..indent + digits].parse().ok(), words: start + indent + digits + 1, spaced, ..none }
    }
}

/// The lines of a paragraph of which one begins with 1 and a later one with 2 are steps: each gets its space.
fn unspaced(paragraph: &mut Vec<Line>, slips: &mut Vec<(usize, &'static str)>) {
    let mut awaited = 1;
    let steps: Vec<&Line> = paragraph
        .iter()
        .filter(|line| {
            let is_next = line.number == Some(awaited);
            awaited += u32::from(is_next);
            is_next
        })
        .collect();
    if steps.len() > 1 {
        slips.extend(steps.into_iter().filter(|line| !line.spaced).map(|line| (line.words, " ")));
    }
    paragraph.clear();
}

/// The edits for those that do not stand in code.
pub(super) fn edits(slips: Vec<(usize, &'static str)>, code: &[Range<usize>]) -> impl Iterator<Item = Edit> {
    slips.into_iter().filter(|(at, _)| !in_code(code, *at)).map(|(at, with)| Edit { range: at..at, with })
}

#[cfg(test)]
mod tests {
    use super::super::foreign::tests::edited;

    #[test]
    fn steps_without_a_space_get_one() {
        assert_eq!(edited("1.Load it\n2. Open it\n3.Go\n"), "1. Load it\n2. Open it\n3. Go\n");
        for kept in ["1.Load it\nand go\n", "1.5 V\n2.5 A\n", "v1.a\n2. b\n", "```\n1.Load\n2.Open\n```\n", "2.Load\n3.Open\n"] {
            assert_eq!(edited(kept), kept);
        }
    }

    #[test]
    fn a_step_goes_on_after_a_picture() {
        assert_eq!(edited("4. Press\n\n![a](b.png)\n5. Name it\n"), "4. Press\n\n![a](b.png)\n\n5. Name it\n");
        assert_eq!(edited("1. a\n\n<img src=\"b.png\">\n2. b\n"), "1. a\n\n<img src=\"b.png\">\n\n2. b\n");
        for kept in ["4. Press\n\n![a](b.png)\n7. Name\n", "![a](b.png)\n2. b\n", "1. a\n   ![a](b.png)\n2. b\n"] {
            assert_eq!(edited(kept), kept);
        }
    }
}
