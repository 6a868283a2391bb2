//! What other tools' guides hold beside Markdown: attribute lists, tags of page generators, boxes between colons or under
//! exclamation marks, names of emoji, steps that are no list for want of a space. Found in the writer's text; what is to stand there instead is Markdown. Never looks into code.

use std::ops::Range;

use super::alerts::{head, titled};
use super::document::is_drawn_by_name;
use super::edits::{Edit, code, in_code};
use super::{emoji, foreign_fences, hashes, numbered, web_page};

/// The edits that make plain Markdown of `text` from `body` on, ascending. A `template` keeps its tags: they are its own.
pub(super) fn edits(text: &str, body: usize, template: bool) -> Vec<Edit> {
    let rest = text.get(body..).unwrap_or_default();
    if web_page::is_page(rest) {
        return Vec::new();
    }
    let (named, mut slips) = (emoji::named(rest), numbered::slips(rest));
    slips.extend(hashes::slips(rest));
    let marked = ["{%", "{:", "{#", "{{", ":::", "!!!", "???", "){", "{.", "![", " markdown", "```{", "~~~{"]
        .iter()
        .any(|mark| rest.contains(mark));
    if !marked && named.is_empty() && slips.is_empty() {
        return Vec::new();
    }
    let code = code(rest);
    let mut edits = boxes(rest, &code);
    edits.extend(spaced_addresses(rest, &code));
    edits.extend(markdown_inside(rest, &code));
    edits.extend(foreign_fences::edits(rest, &code));
    edits.extend(emoji::edits(named, &code));
    edits.extend(numbered::edits(slips, &code));
    if !template {
        edits.extend(lists_and_tags(rest, &code));
    }
    edits.sort_by_key(|edit| (edit.range.start, edit.range.end));
    // What is taken out of a line that is taken out is out already.
    let mut end = 0;
    edits.retain(|edit| {
        let kept = edit.range.start >= end;
        end = end.max(edit.range.end);
        kept
    });
    edits.iter_mut().for_each(|edit| edit.range = edit.range.start + body..edit.range.end + body);
    edits
}

/// `![A cup](IMG 2042.jpg)`: telephones give such names, and Markdown reads a space in an address only between angle brackets.
fn spaced_addresses(text: &str, code: &[Range<usize>]) -> Vec<Edit> {
    let mut edits = Vec::new();
    let mut starts = text.match_indices("![").map(|(at, _)| at).peekable();
    while let Some(at) = starts.next() {
        // Not beyond the next picture, or a pile of them would be read over and over.
        let line = near(&text[..starts.peek().map_or(text.len(), |next| *next)], at);
        let line = line.split(['\n', '\r']).next().unwrap_or_default();
        let Some(start) = line.find("](").map(|found| at + found + 2).filter(|_| !in_code(code, at)) else { continue };
        let rest = &text[start..at + line.len()];
        let lower = rest.to_ascii_lowercase();
        let end = [".jpg", ".jpeg", ".png", ".gif", ".webp", ".svg"]
            .iter()
            .flat_map(|kind| lower.match_indices(kind).map(|(found, kind)| found + kind.len()))
            .filter(|end| matches!(rest[*end..].trim_start().chars().next(), Some(')' | '"' | '\'')))
            .min();
        // `display:E 04`: what a display shows has spaces, and no ending.
        let shown = || rest.find([')', '"', '\'']).filter(|_| is_drawn_by_name(rest)).map(|end| rest[..end].trim_end().len());
        let Some(name) = end.or_else(shown).and_then(|end| rest.get(..end)) else { continue };
        if name.contains(' ') && !name.contains(['<', '>', '(', ')', '"', '`', ']', '{', '}']) {
            edits.push(Edit { range: start..start, with: "<" });
            edits.push(Edit { range: start + name.len()..start + name.len(), with: ">" });
        }
    }
    edits
}

/// `<div markdown="1">`: what stands in it is Markdown for the tools that know the attribute. An empty line after the tag says the same
/// to every reader.
fn markdown_inside(text: &str, code: &[Range<usize>]) -> Vec<Edit> {
    let mut edits = Vec::new();
    let mut start = 0;
    for line in text.split_inclusive('\n') {
        let at = start;
        start += line.len();
        let tag = line.trim().strip_prefix('<').and_then(|tag| tag.strip_suffix('>')).unwrap_or_default();
        let asked = tag.split_whitespace().skip(1).any(|word| word == "markdown" || word.starts_with("markdown="));
        if asked && !tag.contains(['<', '>']) && !tag.contains("=\"0\"") && line.ends_with('\n') && !in_code(code, at) {
            edits.push(Edit { range: start..start, with: "\n" });
        }
    }
    edits
}

/// Attribute lists and tags.
fn lists_and_tags(text: &str, code: &[Range<usize>]) -> Vec<Edit> {
    let mut edits: Vec<Edit> = Vec::new();
    let mut at = 0;
    while let Some(found) = text[at..].find('{') {
        let start = at + found;
        at = start + 1;
        if in_code(code, start) {
            continue;
        }
        let rest = near(text, start);
        let before = text[..start].trim_end_matches(['<', ' ']);
        let address = ["](", "src=\"", "src='", "href=\"", "href='"].iter().any(|mark| before.ends_with(mark));
        let until = |end: &str| rest.find(end).map(|length| start..start + length + end.len());
        let cut = if rest.starts_with("{%") || rest.starts_with("{{%") {
            until("%}").map(|range| if rest.starts_with("{{%") { range.start..range.end + 1 } else { range })
        } else if rest.starts_with("{{<") {
            until(">}}")
        } else if rest.starts_with("{{") && address {
            // `{{ "/img/a.jpg" | relative_url }}`: the address is the words in quotes.
            let whole = until("}}");
            if let Some(whole) = &whole
                && let Some(quoted) = quoted(&text[whole.start + 2..whole.end - 2])
            {
                let quoted = whole.start + 2 + quoted.start..whole.start + 2 + quoted.end;
                edits.push(Edit { range: whole.start..quoted.start, with: "" });
                edits.push(Edit { range: quoted.end..whole.end, with: "" });
                at = whole.end;
                continue;
            }
            whole
        } else {
            attribute_list(text, start)
        };
        if let Some(cut) = cut.filter(|cut| cut.end <= text.len() && text.is_char_boundary(cut.end)) {
            at = cut.end;
            edits.push(Edit { range: whole_line(text, cut), with: "" });
        }
    }
    edits
}

/// No tag, no list, no address is longer, in bytes: looking on to the end of a guide for each brace would take for ever.
const LONGEST: usize = 2_000;

/// The text from `at` on, as far as anything reaches that begins there.
fn near(text: &str, at: usize) -> &str {
    let mut end = text.len().min(at + LONGEST);
    while !text.is_char_boundary(end) {
        end -= 1;
    }
    &text[at..end]
}

/// What stands in the quotation marks a tag begins with.
fn quoted(inside: &str) -> Option<Range<usize>> {
    let start = inside.len() - inside.trim_start().len();
    let quote = inside[start..].chars().next().filter(|first| matches!(first, '"' | '\''))?;
    let length = inside[start + 1..].find(quote)?;
    Some(start + 1..start + 1 + length)
}

/// `{: .class }`, `{#id}`, `{.class}`; after a picture or a link also `{ width="50%" }`.
fn attribute_list(text: &str, start: usize) -> Option<Range<usize>> {
    let line = near(text, start).lines().next()?;
    let end = line.find('}')?;
    let inside = line[1..end].trim();
    let (first, after_picture) = (inside.chars().next()?, text[..start].ends_with(')'));
    // The width of a picture is read where the picture is.
    if after_picture && inside.contains("width") && is_picture(&text[..start]) {
        return None;
    }
    let name = inside.get(1..).and_then(|rest| rest.chars().next()).is_some_and(char::is_alphabetic);
    let is_list = match first {
        ':' => true,
        '#' | '.' => name && !inside.contains('{'),
        _ => after_picture && inside.contains('='),
    };
    is_list.then(|| start..start + end + 1)
}

/// Whether a text ends with a picture.
fn is_picture(before: &str) -> bool {
    let line = before.rsplit('\n').next().unwrap_or_default();
    line.rfind("](").and_then(|at| line[..at].rfind('[')).is_some_and(|at| line[..at].ends_with('!'))
}

/// The cut, or the whole line where it leaves nothing of one.
fn whole_line(text: &str, cut: Range<usize>) -> Range<usize> {
    let start = text[..cut.start].rfind('\n').map_or(0, |at| at + 1);
    let end = text[cut.end..].find('\n').map_or(text.len(), |at| cut.end + at + 1);
    let alone = text[start..cut.start].trim().is_empty() && text[cut.end..end].trim().is_empty();
    if alone { start..end } else { cut }
}

/// An open box: its lines become those of a quote.
enum Open {
    /// `:::`, and how many colons opened it.
    Colons(usize),
    /// `!!!`, and how far it is indented: what belongs to it is indented more.
    Indented(usize),
}

/// `:::warning Title` … `:::` and `!!! warning "Title"` with indented text become quotes.
fn boxes(text: &str, code: &[Range<usize>]) -> Vec<Edit> {
    let mut edits = Vec::new();
    let mut open: Option<Open> = None;
    let mut start = 0;
    for line in text.split_inclusive('\n') {
        let at = start;
        start += line.len();
        let indent = line.len() - line.trim_start_matches(' ').len();
        let words = line.trim();
        // A fence that opens here is still a line of its own.
        let inside_code = in_code(code, at) && in_code(code, at.saturating_sub(1));
        match &open {
            Some(Open::Colons(colons)) => {
                if !inside_code && words.len() >= *colons && words.bytes().all(|byte| byte == b':') {
                    edits.push(Edit { range: at..at + line.trim_end().len(), with: "" });
                    open = None;
                } else {
                    edits.push(Edit { range: at..at, with: "> " });
                }
                continue;
            }
            Some(Open::Indented(outer)) => {
                if words.is_empty() {
                    edits.push(Edit { range: at..at + line.trim_end_matches('\n').len(), with: ">" });
                    continue;
                }
                if indent > *outer {
                    let taken = (indent - outer).min(4);
                    edits.push(Edit { range: at + outer..at + outer + taken, with: "> " });
                    continue;
                }
                // The line after a quote is part of its paragraph, were there no empty one between.
                edits.push(Edit { range: at..at, with: "\n" });
                open = None;
            }
            None => {}
        }
        if inside_code || indent > 3 && !words.starts_with("!!!") {
            continue;
        }
        let colons = words.bytes().take_while(|byte| *byte == b':').count();
        let (kind, rest) = if colons >= 3 {
            (Open::Colons(colons), words[colons..].trim_start())
        } else if let Some(rest) = ["!!!", "???+", "???"].iter().find_map(|mark| words.strip_prefix(mark)) {
            (Open::Indented(indent), rest.trim_start())
        } else {
            continue;
        };
        let rest = rest.trim_start_matches('{').trim_start_matches(['.', ' ']);
        let name =
            &rest[..rest.find(|character: char| !character.is_ascii_alphabetic() && character != '-').unwrap_or(rest.len())];
        if name.is_empty() {
            continue;
        }
        let mut title = rest[name.len()..].trim().trim_end_matches('}').trim();
        title = title.strip_prefix('[').and_then(|title| title.strip_suffix(']')).unwrap_or(title);
        title = title.strip_prefix('"').and_then(|title| title.split('"').next()).unwrap_or(title).trim();
        let written = at + line.find(words).unwrap_or(0);
        let end = written + words.len();
        let head = head(name);
        if title.is_empty() {
            edits.push(Edit { range: written..end, with: if head.is_empty() { ">" } else { head.trim_end() } });
        } else {
            let from = written + words.find(title).unwrap_or(words.len() - title.len());
            edits.push(Edit { range: written..from, with: titled(head) });
            edits.push(Edit { range: from + title.len()..end, with: "**\n>" });
        }
        open = Some(kind);
    }
    edits
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    pub fn edited(text: &str) -> String {
        let mut edited = String::new();
        let mut at = 0;
        for edit in edits(text, 0, false) {
            edited.push_str(&text[at..edit.range.start]);
            edited.push_str(edit.with);
            at = edit.range.end;
        }
        edited.push_str(&text[at..]);
        edited
    }

    #[test]
    fn attribute_lists_and_tags_of_other_tools_are_passed_over() {
        assert_eq!(edited("A\n{: .no_toc }\n\nB {: .b} c"), "A\n\nB  c");
        assert_eq!(edited("## A {#a-b}\n{% include x.html y=\"%\" %}\nB"), "## A \nB");
        assert_eq!(edited("[a](b.png){ target=\"_blank\" } {not a list} {a: 1}"), "[a](b.png) {not a list} {a: 1}");
        assert_eq!(edited("{{ page.title }} {{< tube 1 >}} {{% a %}}b"), "{{ page.title }}  b");
        assert_eq!(edited("![a]({{ site.url }}/b.png) <img src=\"{{ '/c.png' | x }}\">"), "![a](/b.png) <img src=\"/c.png\">");
        for kept in ["`{% a %}` and\n\n```\n{: .b }\n{{ c }}\n```\n", "a {b} c", "set {1, 2}", "{ö", "{%", "{{<"] {
            assert_eq!(edited(kept), kept);
        }
    }

    #[test]
    fn a_space_in_the_name_of_a_picture_is_read() {
        assert_eq!(edited("![A cup](IMG 2042.jpg)"), "![A cup](<IMG 2042.jpg>)");
        assert_eq!(
            edited("![No water](display:E 04), then ![a](key:TEA TIME \"Key\")"),
            "![No water](<display:E 04>), then ![a](<key:TEA TIME> \"Key\")"
        );
        assert_eq!(edited("a ![b](c d/e f.PNG \"T\") g"), "a ![b](<c d/e f.PNG> \"T\") g");
        for kept in ["![a](b.png \"c d.png\")", "![a](<b c.png>)", "`![a](b c.png)`", "![a](b c)", "![a] (b c.png)"] {
            assert_eq!(edited(kept), kept);
        }
    }

    #[test]
    fn markdown_is_asked_for_inside_a_tag() {
        assert_eq!(
            edited("<div class=\"a\" markdown=\"1\">\n**b**\n</div>\n"),
            "<div class=\"a\" markdown=\"1\">\n\n**b**\n</div>\n"
        );
        assert_eq!(edited("  <details markdown>\nb"), "  <details markdown>\n\nb");
        for kept in ["<div>\nmarkdown\n", "<p markdown=\"0\">\na", "<p markdown=\"1\">a</p>\nb", "```\n<div markdown>\na\n```\n"]
        {
            assert_eq!(edited(kept), kept);
        }
    }

    #[test]
    fn boxes_become_quotes() {
        assert_eq!(edited(":::warning Hot\nMind.\n:::\nb"), "> [!WARNING]\n> **Hot**\n>\n> Mind.\n\nb");
        assert_eq!(edited("::: info\na\n\n- b\n:::\n"), ">\n> a\n> \n> - b\n\n");
        assert_eq!(
            edited("!!! danger \"Mains\"\n    One.\n\n    Two.\nb"),
            "> [!DANGER]\n> **Mains**\n>\n> One.\n>\n> Two.\n\nb"
        );
        assert_eq!(edited("!!! note\n    a\n"), "> [!NOTE]\n> a\n");
        assert_eq!(edited("Wait!!! now\n\n::: \n"), "Wait!!! now\n\n::: \n");
    }
}
