//! What is left of HTML when its tags are taken away: the words. Understands no HTML beyond where a tag begins and ends.

use pulldown_cmark::{Event, Parser};

/// The words of a block of HTML.
#[derive(Debug, Default, PartialEq, Eq)]
pub(super) struct Words {
    /// One entry for each stretch between empty lines.
    pub paragraphs: Vec<String>,
    /// Something was dropped that is no comment.
    pub tags: bool,
}

/// The name of a tag in lower case: `kbd` of `</kbd>`, `!--` of a comment.
pub(super) fn tag_name(tag: &str) -> String {
    let rest = tag.trim_start_matches('<').trim_start_matches('/');
    if rest.starts_with("!--") {
        return "!--".into();
    }
    rest.chars().take_while(char::is_ascii_alphanumeric).collect::<String>().to_ascii_lowercase()
}

/// What a `<![CDATA[ … ]]>` holds.
pub(super) fn character_data(tag: &str) -> Option<&str> {
    tag.strip_prefix("<![CDATA[")?.strip_suffix("]]>")
}

pub(super) fn words(html: &str) -> Words {
    let mut words = Words::default();
    let mut text = String::new();
    let mut rest = html;
    while let Some(at) = rest.find(['<', '&']) {
        let (before, from) = rest.split_at(at);
        text.push_str(before);
        let length = if from.starts_with('&') { entity(from, &mut text) } else { tag(from, &mut text, &mut words.tags) };
        rest = from.get(length..).unwrap_or_default();
    }
    text.push_str(rest);
    for stretch in stretches(&text) {
        let stretch = stretch.split_whitespace().collect::<Vec<_>>().join(" ");
        if !stretch.is_empty() {
            words.paragraphs.push(stretch);
        }
    }
    words
}

/// The text between empty lines.
fn stretches(text: &str) -> Vec<String> {
    let mut all = vec![String::new()];
    for line in text.lines() {
        match (line.trim().is_empty(), all.last_mut()) {
            (false, Some(last)) => {
                last.push_str(line);
                last.push('\n');
            }
            _ => all.push(String::new()),
        }
    }
    all
}

/// Takes one tag; what is none stays text. Gives the number of bytes taken.
fn tag(from: &str, text: &mut String, tags: &mut bool) -> usize {
    let closed = |mark: &str, after: usize| from.get(after..).and_then(|rest| rest.find(mark)).map(|at| after + at + mark.len());
    if from.starts_with("<!--") {
        // A comment that never ends takes the rest with it, as a browser would have it.
        return closed("-->", 2).unwrap_or(from.len());
    }
    if from.starts_with("<![CDATA[") {
        *tags = true;
        let end = closed("]]>", 9).unwrap_or(from.len());
        let held = from.get(9..end).unwrap_or_default();
        text.push_str(held.strip_suffix("]]>").unwrap_or(held));
        return end;
    }
    let second = from.chars().nth(1);
    let end = match second {
        Some('?') => closed("?>", 2),
        Some('!') => closed(">", 2),
        Some('/') => closed(">", 2),
        Some(letter) if letter.is_ascii_alphabetic() => end_of_tag(from),
        _ => None,
    };
    match end {
        Some(end) => {
            *tags = true;
            // Where a tag stood, words do not grow together, unless it is one that stands inside words.
            if !INSIDE_WORDS.contains(&tag_name(from).as_str()) {
                text.push(' ');
            }
            end
        }
        None => {
            text.push('<');
            1
        }
    }
}

/// Elements that may begin or end in the middle of a word.
const INSIDE_WORDS: &[&str] =
    &["a", "abbr", "b", "code", "em", "font", "i", "kbd", "mark", "s", "small", "span", "strong", "sub", "sup", "u", "wbr"];

/// Where a tag ends; a `>` between quotation marks does not end it.
fn end_of_tag(from: &str) -> Option<usize> {
    let mut quote = None;
    for (at, byte) in from.bytes().enumerate() {
        match (byte, quote) {
            (b'"' | b'\'', None) => quote = Some(byte),
            (byte, Some(open)) if byte == open => quote = None,
            (b'>', None) => return Some(at + 1),
            _ => {}
        }
    }
    None
}

/// Takes one entity; an ampersand that begins none stays text. Gives the number of bytes taken.
fn entity(from: &str, text: &mut String) -> usize {
    let end = from.bytes().take(40).position(|byte| byte == b';');
    let coded = end.and_then(|end| from.get(..=end));
    if let Some(coded) = coded
        && let Some(character) = decoded(coded)
    {
        text.push_str(&character);
        return coded.len();
    }
    text.push('&');
    1
}

/// Markdown knows every entity of HTML: one alone reads as the character it stands for.
fn decoded(entity: &str) -> Option<String> {
    if !entity.bytes().all(|byte| byte.is_ascii_alphanumeric() || matches!(byte, b'&' | b';' | b'#')) {
        return None;
    }
    let mut read = String::new();
    for event in Parser::new(entity) {
        if let Event::Text(text) = event {
            read.push_str(&text);
        }
    }
    (read != entity).then_some(read)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn text(html: &str) -> String {
        words(html).paragraphs.join("|")
    }

    #[test]
    fn words_stay_and_tags_go() {
        assert_eq!(text("<div align=\"center\">\n<b>Mind</b> the <i>gap</i>s\n</div>"), "Mind the gaps");
        assert_eq!(text("<p>one</p><p>two</p>"), "one two");
        assert_eq!(text("<details>\n<summary>More</summary>\n\nText\n</details>"), "More|Text");
    }

    #[test]
    fn comments_go_without_a_word() {
        assert_eq!(words("<!-- note to self: <b>x</b> -->"), Words::default());
        assert_eq!(words("<!-->"), Words::default());
    }

    #[test]
    fn entities_are_characters_and_what_is_no_tag_stays() {
        assert_eq!(text("a &lt; b &amp; c &copy; &#169; &nonsense; & d <3"), "a < b & c © © &nonsense; & d <3");
        assert_eq!(text("<div\nnever closed"), "<div never closed");
        assert_eq!(text("<a title='a > b'>x</a>"), "x");
    }
}
