//! Which block quotes are safety messages: those that open with a signal word in bold type or before a colon, and alerts.

use pulldown_cmark::BlockQuoteKind;

use crate::language::{AsideWord, Language, SignalWord};
use crate::manual::document::{Block, Inline, InlineKind, Kind, Safety, plain_text};
use crate::manual::source::Span;

const SIGN: &str = "sign:";

/// What an alert is.
enum Alert {
    Safety(SignalWord),
    Aside(AsideWord),
}

/// Alerts by the name that stands between `[!` and `]`. Markdown's reader knows five of them, writers know more.
const ALERTS: &[(&str, Alert)] = &[
    ("danger", Alert::Safety(SignalWord::Danger)),
    ("warning", Alert::Safety(SignalWord::Warning)),
    ("caution", Alert::Safety(SignalWord::Caution)),
    ("notice", Alert::Safety(SignalWord::Notice)),
    ("note", Alert::Aside(AsideWord::Note)),
    ("tip", Alert::Aside(AsideWord::Tip)),
    ("hint", Alert::Aside(AsideWord::Tip)),
    ("important", Alert::Aside(AsideWord::Important)),
];

/// A block quote is a safety message or an aside. `span` is the quote's own.
pub(super) fn of_quote(mut blocks: Vec<Block>, alert: Option<BlockQuoteKind>, span: Span, language: Language) -> Kind {
    let alert = match alert {
        Some(BlockQuoteKind::Note) => Some((&Alert::Aside(AsideWord::Note), span)),
        Some(BlockQuoteKind::Tip) => Some((&Alert::Aside(AsideWord::Tip), span)),
        Some(BlockQuoteKind::Important) => Some((&Alert::Aside(AsideWord::Important), span)),
        Some(BlockQuoteKind::Warning) => Some((&Alert::Safety(SignalWord::Warning), span)),
        Some(BlockQuoteKind::Caution) => Some((&Alert::Safety(SignalWord::Caution), span)),
        None => take_alert(&mut blocks),
    };
    // Where the word stands: a line between brackets at the beginning.
    let label_span = |span: Span| Span { start: span.start, end: span.end.min(span.start + 12) };
    let taken = match alert {
        Some((Alert::Safety(word), at)) => Some((*word, language.signal_words()[*word as usize].to_owned(), label_span(at))),
        Some((Alert::Aside(word), at)) => {
            head(&mut blocks, language.aside(*word), label_span(at));
            return Kind::Aside(blocks);
        }
        None => take_signal(&mut blocks, language),
    };
    match taken {
        None => Kind::Aside(blocks),
        Some((word, label, label_span)) => {
            let (sign, sign_alt) = take_sign(&mut blocks).unzip();
            let sign_alt = sign_alt.unwrap_or_default();
            blocks.retain(|block| !matches!(&block.kind, Kind::Paragraph(inlines) if inlines.is_empty()));
            Kind::Safety(Safety { word, label, label_span, sign, sign_alt, blocks })
        }
    }
}

/// Heads an aside with a word in bold type.
fn head(blocks: &mut Vec<Block>, word: &str, span: Span) {
    let text = |text: String| Inline { span, kind: InlineKind::Text(text) };
    let bold = Inline { span, kind: InlineKind::Strong(vec![text(word.to_owned())]) };
    match blocks.first_mut() {
        Some(Block { kind: Kind::Paragraph(inlines), .. }) => {
            inlines.splice(0..0, [bold, Inline { span, kind: InlineKind::HardBreak }]);
        }
        _ => blocks.insert(0, Block { span, kind: Kind::Paragraph(vec![bold]) }),
    }
}

/// Takes `[!NAME]` off the first paragraph.
fn take_alert(blocks: &mut Vec<Block>) -> Option<(&'static Alert, Span)> {
    let Some(Block { span, kind: Kind::Paragraph(inlines) }) = blocks.first_mut() else { return None };
    let span = *span;
    let Some(Inline { kind: InlineKind::Text(text), .. }) = inlines.first_mut() else { return None };
    let (name, rest) = text.trim_start().strip_prefix("[!")?.split_once(']')?;
    let (_, alert) = ALERTS.iter().find(|(known, _)| known.eq_ignore_ascii_case(name.trim()))?;
    *text = rest.trim_start().to_owned();
    let gone = text.is_empty();
    if gone {
        inlines.remove(0);
        trim_white(inlines);
    }
    if inlines.is_empty() {
        blocks.remove(0);
    }
    Some((alert, span))
}

/// Takes the signal word off the first paragraph. Before it only signs may stand.
fn take_signal(blocks: &mut [Block], language: Language) -> Option<(SignalWord, String, Span)> {
    let first = blocks.iter_mut().find(|block| !is_sign_figure(block))?;
    let Kind::Paragraph(inlines) = &mut first.kind else {
        return None;
    };
    let at = inlines.iter().position(|inline| !stands_before(inline))?;
    let bold = inlines.get(at)?;
    let InlineKind::Strong(inner) = &bold.kind else {
        // `WARNING: hot water`: without stars only a colon makes it one.
        let InlineKind::Text(text) = &bold.kind else { return None };
        let (label, rest) = text.split_once([':', '：'])?;
        let word = language.signal(label.trim())?;
        let start = bold.span.start + (text.len() - text.trim_start().len()) as u32;
        let (label, rest) = (label.trim().to_owned(), rest.trim_start().to_owned());
        let label_span = Span { start, end: start + label.len() as u32 };
        if let Some(Inline { kind: InlineKind::Text(text), span }) = inlines.get_mut(at) {
            span.start += (text.len() - rest.len()) as u32;
            *text = rest;
        }
        trim_start(inlines, at);
        return Some((word, label, label_span));
    };
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
