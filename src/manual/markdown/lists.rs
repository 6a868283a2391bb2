//! Attribute lists of other tools behind a picture: `![a](b.png){width=50%}`. Only the width means something on paper.

use super::html::measures;
use crate::manual::document::{Inline, InlineKind, Permille};

/// Takes the lists out of a run, and gives their widths to the pictures before them.
pub(super) fn take_in(inlines: &mut Vec<Inline>) {
    for at in 1..inlines.len() {
        let (before, after) = inlines.split_at_mut(at);
        let (Some(Inline { kind: InlineKind::Picture(picture), .. }), Some(Inline { kind: InlineKind::Text(text), span })) =
            (before.last_mut(), after.first_mut())
        else {
            continue;
        };
        let Some((list, rest)) = text.strip_prefix('{').and_then(|list| list.split_once('}')) else { continue };
        if !list.contains('=') {
            continue;
        }
        picture.width = width(list).or(picture.width);
        span.start = span.end.min(span.start + (list.len() + 2) as u32);
        *text = rest.to_owned();
    }
    inlines.retain(|inline| !matches!(&inline.kind, InlineKind::Text(text) if text.is_empty()));
}

/// The width in a list, as a share of the page.
fn width(list: &str) -> Option<Permille> {
    let mut rest = list;
    while let Some((before, after)) = rest.split_once("width") {
        let value = after.trim_start().strip_prefix('=').map(str::trim_start);
        match value {
            Some(value) if !before.ends_with(|letter: char| letter.is_alphanumeric() || letter == '-') => {
                let quoted = value.strip_prefix(['"', '\'']);
                let value = quoted.unwrap_or(value);
                return measures::share(value.split(['"', '\'', ' ']).next().unwrap_or_default());
            }
            _ => rest = after,
        }
    }
    None
}
