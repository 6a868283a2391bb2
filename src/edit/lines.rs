//! Changes that know no block: a word of a line spelt otherwise, a picture behind what stands there.

use std::ops::Range;

use pulldown_cmark::{Event, Parser, Tag};

use super::{Edited, Laid, Refused, block, follow, lead_of, line_of};
use crate::manual;

/// The bytes of a line, from 1, without its end.
fn line_range(text: &str, line: u32) -> Option<Range<usize>> {
    let mut at = 0;
    for (number, whole) in text.split_inclusive('\n').enumerate() {
        if number + 1 == line as usize {
            return Some(at..at + whole.trim_end_matches(['\n', '\r']).len());
        }
        at += whole.len();
    }
    None
}

fn gone() -> Refused {
    Refused::new("this line was changed in the file meanwhile, so that nothing was written").hint("look at it again")
}

/// The text with a word of the line spelt otherwise, and the bytes of the line in `now`.
///
/// # Errors
/// When the line is another by now, or the word does not stand there.
pub(super) fn spelt(seen: &str, (line, column): (u32, u32), now: &str, from: &str, to: &str) -> Result<Laid, Refused> {
    let range = line_range(seen, line).and_then(|range| follow(seen, range, now)).ok_or_else(gone)?;
    let words = now.get(range.clone()).unwrap_or_default();
    let first = words.char_indices().nth(column.saturating_sub(1) as usize).map_or(words.len(), |(at, _)| at);
    let inside = |letter: char| letter.is_alphanumeric() || matches!(letter, '_' | '-');
    let is_word = |at: usize| {
        let (before, after) = (&words[..at], &words[at + from.len()..]);
        !before.chars().next_back().is_some_and(inside) && !after.chars().next().is_some_and(inside)
    };
    let at = words[first..].match_indices(from).map(|(at, _)| first + at).find(|at| is_word(*at));
    let at = at.ok_or_else(|| Refused::new(format!("{from:?} does not stand on this line")).hint("change it in the file"))?;
    let changed = format!("{}{to}{}", &words[..at], &words[at + from.len()..]);
    let text = format!("{}{changed}{}", &now[..range.start], &now[range.end..]);
    Ok((Edited { text, range: range.start..range.start + changed.len() }, range))
}

/// The text with a picture in a paragraph of its own behind the block on a line, and the bytes of that block in `now`.
///
/// # Errors
/// When the block is another by now, or nothing can stand behind it.
pub(super) fn put(seen: &str, line: u32, now: &str, address: &str) -> Result<Laid, Refused> {
    let picture = format!("![]({})", if address.contains(' ') { format!("<{address}>") } else { address.to_owned() });
    let paste = |refused: Refused| refused.paste(format!("{picture}\n"));
    let leaf =
        leaf(seen, line).ok_or_else(|| paste(Refused::new("nothing stands on this line that a picture could stand behind")))?;
    let range = follow(seen, leaf, now).ok_or_else(|| paste(gone()))?;
    let words = now.get(range.clone()).unwrap_or_default();
    let lead = lead_of(now, range.start);
    let end = if now[..range.end].contains("\r\n") || now[range.end..].starts_with("\r\n") { "\r\n" } else { "\n" };
    let bare = lead.trim_end();
    let mut written = format!("{words}{end}{bare}{end}{lead}{picture}");
    // What follows without an empty line would be drawn into its paragraph.
    let rest = now.get(range.end..).unwrap_or_default().trim_start_matches('\r');
    let next = rest.strip_prefix('\n').map(|rest| rest.lines().next().unwrap_or_default());
    if next.is_some_and(|next| !next.trim_matches(['>', ' ', '\t', '\r']).is_empty()) {
        written.push_str(end);
        written.push_str(bare);
    }
    let text = format!("{}{written}{}", &now[..range.start], &now[range.end..]);
    let edited = Edited { range: range.start..range.start + written.len(), text };
    let whole = block::frames(now, &range) == block::frames(&edited.text, &edited.range);
    if whole {
        Ok((edited, range))
    } else {
        Err(paste(Refused::new("a picture cannot stand there").hint("put this line where it may stand")))
    }
}

/// The innermost block of words, code or a table on a line, whole lines of it without the end of the last.
fn leaf(text: &str, line: u32) -> Option<Range<usize>> {
    let body = manual::body_of(text);
    let holds = |range: &Range<usize>| {
        let words = text.get(range.clone()).unwrap_or_default().trim_end();
        (line_of(text, range.start)..=line_of(text, range.start + words.len().saturating_sub(1))).contains(&line)
    };
    let mut found: Option<Range<usize>> = None;
    for (event, range) in Parser::new_ext(text.get(body..).unwrap_or_default(), manual::markdown_options()).into_offset_iter() {
        let range = range.start + body..range.end + body;
        let is_leaf = matches!(
            event,
            Event::Start(Tag::Paragraph | Tag::Heading { .. } | Tag::CodeBlock(_) | Tag::HtmlBlock | Tag::Table(_)) | Event::Rule
        );
        // The words of a tight item stand in no paragraph.
        let is_words =
            matches!(event, Event::Text(_) | Event::Code(_) | Event::Start(Tag::Image { .. } | Tag::Emphasis | Tag::Strong));
        if holds(&range) && (is_leaf || (is_words && found.is_none())) {
            found = Some(range);
        }
    }
    let found = found?;
    let end = found.start + text.get(found.clone())?.trim_end().len();
    let end = end + text.get(end..)?.find('\n').unwrap_or(text.len() - end);
    let end = if text[..end].ends_with('\r') { end - 1 } else { end };
    Some(found.start..end)
}
