//! Blocks of other tools that stand between the fences of code: ```` ```{note} ````, ```` ```{image} a.png ````. Found in the writer's
//! text; what is to stand there instead is Markdown, or HTML.

use std::ops::Range;

use super::alerts::{alert, head, titled};
use super::edits::Edit;

/// Names that are no alert's.
const OTHERS: &[&str] =
    &["image", "figure", "toctree", "contents", "tableofcontents", "admonition", "seealso", "attention", "error"];

/// The edits for the fences among `code`, in any order.
pub(super) fn edits(text: &str, code: &[Range<usize>]) -> Vec<Edit> {
    let mut edits = Vec::new();
    for range in code {
        if let Some(block) = Block::read(text, range) {
            match block.name {
                "image" | "figure" => block.picture(&mut edits),
                // The page's own list of pages.
                "toctree" | "contents" | "tableofcontents" => edits.push(Edit { range: range.clone(), with: "" }),
                _ => block.quote(&mut edits),
            }
        }
    }
    edits
}

struct Block<'t> {
    text: &'t str,
    name: &'t str,
    /// From the first mark to after the last one.
    whole: Range<usize>,
    /// What stands behind the name.
    argument: Range<usize>,
    /// How far the fence is indented, in bytes.
    indent: usize,
    /// Its lines, without their ends; that of the closing fence is none of them.
    lines: Vec<Range<usize>>,
    /// Where the closing fence's line begins, or the end.
    end: usize,
}

impl<'t> Block<'t> {
    fn read(text: &'t str, range: &Range<usize>) -> Option<Block<'t>> {
        let written = text.get(range.clone())?;
        let mark = written.chars().next().filter(|mark| matches!(mark, '`' | '~'))?;
        let marks = written.len() - written.trim_start_matches(mark).len();
        let start = text[..range.start].rfind('\n').map_or(0, |at| at + 1);
        if marks < 3 || !text[start..range.start].trim().is_empty() {
            return None;
        }
        let head_end = range.start + written.find('\n')?;
        let info = text[range.start + marks..head_end].trim_end();
        let (name, argument) = info.trim_start().strip_prefix('{')?.split_once('}')?;
        if !OTHERS.contains(&name) && alert(name).is_none() {
            return None;
        }
        let argument_end = range.start + marks + info.len();
        let argument = argument_end - argument.trim_start().len()..argument_end;
        let mut lines = Vec::new();
        let (mut at, mut end) = (head_end + 1, range.end);
        for line in text[head_end + 1..range.end].split_inclusive('\n') {
            let words = line.trim();
            if words.len() >= marks && words.chars().all(|sign| sign == mark) {
                end = at;
                break;
            }
            lines.push(at..at + line.trim_end().len());
            at += line.len();
        }
        Some(Block { text, name, whole: range.clone(), argument, indent: range.start - start, lines, end })
    }

    /// `:name: value`, at the head of a block; the place of the value.
    fn option(&self, line: &Range<usize>) -> Option<(&'t str, Range<usize>)> {
        let (name, value) = self.text[line.clone()].trim_start().strip_prefix(':')?.split_once(':')?;
        let plain = !name.is_empty() && name.chars().all(|sign| sign.is_ascii_alphanumeric() || sign == '-');
        plain.then(|| (name, line.end - value.trim_start().len()..line.end))
    }

    /// How many lines at the head are options.
    fn options(&self) -> usize {
        self.lines.iter().take_while(|line| self.option(line).is_some()).count()
    }

    fn quote(&self, edits: &mut Vec<Edit>) {
        let head = head(self.name);
        let Range { start, end } = self.argument;
        match (self.argument.is_empty(), self.indent > 0) {
            (true, _) => {
                edits.push(Edit { range: self.whole.start..end, with: if head.is_empty() { ">" } else { head.trim_end() } })
            }
            (false, true) => edits.push(Edit { range: self.whole.start..start, with: "> " }),
            (false, false) => {
                edits.push(Edit { range: self.whole.start..start, with: titled(head) });
                edits.push(Edit { range: end..end, with: "**\n>" });
            }
        }
        let options = self.options();
        for (n, line) in self.lines.iter().enumerate() {
            let own = line.len() - self.text[line.clone()].trim_start().len();
            let at = line.start + own.min(self.indent);
            // An option goes, and leaves the quote whole.
            edits.push(Edit { range: at..if n < options { line.end } else { at }, with: "> " });
        }
        edits.push(Edit { range: self.end..self.whole.end, with: "" });
    }

    fn picture(&self, edits: &mut Vec<Edit>) {
        let figure = self.name == "figure";
        if self.argument.is_empty() || self.text[self.argument.clone()].contains(['"', '<']) {
            return;
        }
        let head = if figure { "<figure><img src=\"" } else { "<img src=\"" };
        edits.push(Edit { range: self.whole.start..self.argument.start, with: head });
        let mut at = self.argument.end;
        edits.push(Edit { range: at..at, with: "\"" });
        let options = self.options();
        for line in &self.lines[..options] {
            let Some((name, value)) = self.option(line) else { continue };
            let name = match name {
                "alt" => " alt=\"",
                "width" => " width=\"",
                "height" => " height=\"",
                _ => "",
            };
            if name.is_empty() || self.text[value.clone()].contains('"') {
                edits.push(Edit { range: at..line.end, with: "" });
            } else {
                edits.push(Edit { range: at..value.start, with: name });
                edits.push(Edit { range: line.end..line.end, with: "\"" });
            }
            at = line.end;
        }
        let mut first = true;
        for line in self.lines[options..].iter().filter(|line| figure && !self.text[(*line).clone()].trim().is_empty()) {
            let start = line.end - self.text[line.clone()].trim_start().len();
            edits.push(Edit { range: at..start, with: if first { "><figcaption>" } else { " " } });
            (at, first) = (line.end, false);
        }
        let with = match (figure, first) {
            (false, _) => ">",
            (true, true) => "></figure>",
            (true, false) => "</figcaption></figure>",
        };
        edits.push(Edit { range: at..self.whole.end, with });
    }
}

#[cfg(test)]
mod tests {
    use super::super::foreign::tests::edited;

    #[test]
    fn fences_with_a_name_in_braces_are_what_the_name_says() {
        assert_eq!(edited("```{note}\nMind.\n\n- a\n```\nb"), "> [!NOTE]\n> Mind.\n> \n> - a\n\nb");
        assert_eq!(edited("```{warning} Hot\n:class: x\nMind.\n```\n"), "> [!WARNING]\n> **Hot**\n>\n> \n> Mind.\n\n");
        assert_eq!(edited("1. a\n   ```{tip}\n   b\n   ```\n2. c\n"), "1. a\n   > [!TIP]\n   > b\n\n2. c\n");
        assert_eq!(edited("~~~{admonition} Hint\na\n~~~\n"), "> **Hint**\n>\n> a\n\n");
        assert_eq!(edited("```{toctree}\n:maxdepth: 1\na\n```\nb"), "\nb");
    }

    #[test]
    fn pictures_between_fences_are_pictures() {
        assert_eq!(
            edited("```{image} img/a b.png\n:name: x\n:alt: A cup\n:width: 50%\n:align: center\n```\nb"),
            "<img src=\"img/a b.png\" alt=\"A cup\" width=\"50%\">\nb"
        );
        assert_eq!(edited("```{image} a.png\n```"), "<img src=\"a.png\">");
        assert_eq!(
            edited("```{figure} a.png\n:alt: A\n\nTwo *lines*\nof words\n```\n"),
            "<figure><img src=\"a.png\" alt=\"A\"><figcaption>Two *lines* of words</figcaption></figure>\n"
        );
    }

    #[test]
    fn other_fences_are_code() {
        for kept in [
            "```{code-block} c\na\n```\n",
            "```{}\na\n```",
            "```{image}\n```",
            "```rust\n{note}\n```\n",
            "- ```{note}\n  a\n  ```\n",
        ] {
            assert_eq!(edited(kept), kept);
        }
    }
}
