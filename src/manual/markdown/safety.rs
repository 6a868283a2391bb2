//! Which block quotes are safety messages: those that open with a signal word in bold type.

use crate::language::{Language, SignalWord};
use crate::manual::document::{Block, Inline, InlineKind, Kind, Safety, plain_text};
use crate::manual::source::Span;

const SIGN: &str = "sign:";

/// A block quote is a safety message or an aside.
pub(super) fn of_quote(mut blocks: Vec<Block>, language: Language) -> Kind {
    match take_signal(&mut blocks, language) {
        None => Kind::Aside(blocks),
        Some((word, label, label_span)) => {
            let (sign, sign_alt) = take_sign(&mut blocks).unzip();
            let sign_alt = sign_alt.unwrap_or_default();
            blocks.retain(|block| !matches!(&block.kind, Kind::Paragraph(inlines) if inlines.is_empty()));
            Kind::Safety(Safety { word, label, label_span, sign, sign_alt, blocks })
        }
    }
}

/// Takes the signal word off the first paragraph. Before it only signs may stand.
fn take_signal(blocks: &mut [Block], language: Language) -> Option<(SignalWord, String, Span)> {
    let first = blocks.iter_mut().find(|block| !is_sign_figure(block))?;
    let Kind::Paragraph(inlines) = &mut first.kind else {
        return None;
    };
    let at = inlines.iter().position(|inline| !stands_before(inline))?;
    let bold = inlines.get(at)?;
    let InlineKind::Strong(inner) = &bold.kind else { return None };
    let said = plain_text(inner);
    let label_span = bold.span;

    if let Some(word) = language.signal(bare(&said)) {
        let label = bare(&said).to_owned();
        inlines.remove(at);
        trim_start(inlines, at);
        return Some((word, label, label_span));
    }
    // `**WARNING: hot water!**`: the word ends at a colon, a dash or a stop, the rest of the bold type stays.
    let InlineKind::Text(text) = &inner.first()?.kind else {
        return None;
    };
    let (label, rest) = text.split_at(end_of_label(text)?);
    let word = language.signal(bare(label))?;
    let label = bare(label).to_owned();
    let rest = rest.trim_start_matches(|character: char| is_stop(character) || character.is_whitespace()).to_owned();
    if let Some(Inline { kind: InlineKind::Strong(inner), .. }) = inlines.get_mut(at)
        && let Some(Inline { kind: InlineKind::Text(text), .. }) = inner.first_mut()
    {
        *text = rest;
    }
    Some((word, label, label_span))
}

/// Where the first stop is; a hyphen inside a word is none.
fn end_of_label(text: &str) -> Option<usize> {
    let mut before = ' ';
    text.char_indices().find_map(|(at, character)| {
        let hyphen = character == '-' && !before.is_whitespace();
        before = character;
        (is_stop(character) && !hyphen).then_some(at)
    })
}

fn is_stop(character: char) -> bool {
    matches!(character, ':' | '!' | '.' | ',' | ';' | '-' | '–' | '—' | '：' | '！' | '。' | '、' | '，')
}

fn bare(label: &str) -> &str {
    label.trim_matches(|character: char| is_stop(character) || character.is_whitespace())
}

/// Takes stops and white space off what follows the signal word.
fn trim_start(inlines: &mut Vec<Inline>, at: usize) {
    while let Some(inline) = inlines.get_mut(at) {
        match &mut inline.kind {
            InlineKind::SoftBreak | InlineKind::HardBreak => {}
            InlineKind::Text(text) => {
                let trimmed = text.trim_start_matches(|character: char| is_stop(character) || character.is_whitespace());
                if !trimmed.is_empty() {
                    inline.span.start += (text.len() - trimmed.len()) as u32;
                    *text = trimmed.to_owned();
                    return;
                }
            }
            _ => return,
        }
        inlines.remove(at);
    }
}

/// Name and alt text of a sign.
fn sign(inline: &Inline) -> Option<(&str, &str)> {
    match &inline.kind {
        InlineKind::Picture(picture) => Some((picture.address.strip_prefix(SIGN)?, &picture.alt)),
        _ => None,
    }
}

fn stands_before(inline: &Inline) -> bool {
    match &inline.kind {
        InlineKind::SoftBreak | InlineKind::HardBreak => true,
        InlineKind::Text(text) => text.trim().is_empty(),
        _ => sign(inline).is_some(),
    }
}

fn is_sign_figure(block: &Block) -> bool {
    matches!(&block.kind, Kind::Figure(figure) if figure.picture.starts_with(SIGN) && figure.caption.is_empty())
}

/// Takes the first sign out of the message, with its alt text: one that stands alone, or one in the first paragraph.
fn take_sign(blocks: &mut Vec<Block>) -> Option<(String, String)> {
    if let Some(at) = blocks.iter().position(is_sign_figure)
        && let Kind::Figure(figure) = blocks.remove(at).kind
    {
        return figure.picture.strip_prefix(SIGN).map(|name| (name.to_owned(), figure.alt));
    }
    let first = blocks.iter_mut().find_map(|block| match &mut block.kind {
        Kind::Paragraph(inlines) => Some(inlines),
        _ => None,
    })?;
    let at = first.iter().position(|inline| sign(inline).is_some())?;
    let (name, alt) = sign(&first.remove(at)).map(|(name, alt)| (name.to_owned(), alt.to_owned()))?;
    // At the beginning the sign leaves its space behind; in the middle, two.
    if at == 0 {
        trim_white(first);
    } else if let Some(Inline { kind: InlineKind::Text(text), .. }) = first.get_mut(at)
        && text.starts_with(' ')
    {
        *text = text.trim_start().to_owned();
    }
    Some((name, alt))
}

fn trim_white(inlines: &mut Vec<Inline>) {
    while let Some(first) = inlines.first_mut() {
        match &mut first.kind {
            InlineKind::SoftBreak | InlineKind::HardBreak => {}
            InlineKind::Text(text) if text.trim().is_empty() => {}
            InlineKind::Text(text) => {
                *text = text.trim_start().to_owned();
                return;
            }
            _ => return,
        }
        inlines.remove(0);
    }
}
