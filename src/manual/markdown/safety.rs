//! Which block quotes are safety messages: those that open with a signal word in bold type or before a colon, and alerts.

use pulldown_cmark::BlockQuoteKind;

use crate::language::{AsideWord, SignalWord, Wording};
use crate::manual::document::{Block, Inline, InlineKind, Kind, Safety, plain_text};
use crate::manual::source::{Level, Remark, Span};

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

/// A block quote is a safety message or an aside. `span` is the quote's own. An aside whose first word looks like a signal word and is
/// none is told.
pub(super) fn of_quote(
    mut blocks: Vec<Block>,
    alert: Option<BlockQuoteKind>,
    span: Span,
    wording: Wording,
    remarks: &mut Vec<Remark>,
) -> Kind {
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
        Some((Alert::Safety(word), at)) => Some((*word, wording.signal_words()[*word as usize].to_owned(), label_span(at))),
        Some((Alert::Aside(word), at)) => {
            head(&mut blocks, wording.aside(*word), label_span(at));
            return Kind::Aside(blocks);
        }
        None => take_signal(&mut blocks, wording),
    };
    match taken {
        None => {
            remarks.extend(lookalike(&blocks, wording));
            Kind::Aside(blocks)
        }
        Some((word, label, label_span)) => {
            drop_alerts(&mut blocks);
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
fn take_signal(blocks: &mut [Block], wording: Wording) -> Option<(SignalWord, String, Span)> {
    let first = blocks.iter_mut().find(|block| !is_sign_figure(block))?;
    let Kind::Paragraph(inlines) = &mut first.kind else {
        return None;
    };
    let at = inlines.iter().position(|inline| !stands_before(inline))?;
    let bold = inlines.get(at)?;
    let InlineKind::Strong(inner) = &bold.kind else {
        // `WARNING: hot water`: without stars only a colon makes it one, marks around it, or a cry in capitals.
        let InlineKind::Text(text) = &bold.kind else { return None };
        let (label, rest) = text.split_at(end_of_plain_label(text)?);
        let named = bare(label);
        let word = wording.signal(named)?;
        let start = bold.span.start + (named.as_ptr() as usize - text.as_ptr() as usize) as u32;
        let label_span = Span { start, end: start + named.len() as u32 };
        let (label, rest) = (named.to_owned(), after_label(rest).to_owned());
        if let Some(Inline { kind: InlineKind::Text(text), span }) = inlines.get_mut(at) {
            span.start += (text.len() - rest.len()) as u32;
            *text = rest;
        }
        trim_start(inlines, at);
        return Some((word, label, label_span));
    };
    let said = plain_text(inner);
    let label_span = bold.span;

    if let Some(word) = wording.signal(bare(&said)) {
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
    let word = wording.signal(bare(label))?;
    let label = bare(label).to_owned();
    let rest = after_label(rest).to_owned();
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
    matches!(
        character,
        ':' | '!' | '.' | ',' | ';' | '-' | '–' | '—' | '：' | '！' | '。' | '、' | '，' | '،' | '؛' | '】' | '］' | '」'
    )
}

/// A word without the marks that its country puts around it: `¡PELIGRO!`, `【警告】`, `تحذير،`.
fn bare(label: &str) -> &str {
    label.trim_matches(|character: char| !character.is_alphanumeric())
}

fn after_label(rest: &str) -> &str {
    rest.trim_start_matches(|character: char| is_stop(character) || character.is_whitespace())
}

/// Where a label without stars ends: at its colon, at the mark that closes it, or at the `!` after words in capitals.
fn end_of_plain_label(text: &str) -> Option<usize> {
    let marked = text.trim_start_matches(|character: char| is_alert(character) || character.is_whitespace());
    let opens = marked.starts_with(['【', '［', '「']);
    text.char_indices().find_map(|(at, character)| {
        let cry = matches!(character, '!' | '！') && capitals(&text[..at]);
        (matches!(character, ':' | '：') || cry || opens && matches!(character, '】' | '］' | '」')).then_some(at)
    })
}

/// Whether all letters are capitals, and there are some.
fn capitals(text: &str) -> bool {
    text.chars().any(char::is_uppercase) && !text.chars().any(char::is_lowercase)
}

/// Whether it is written with letters that have capitals.
fn cased(text: &str) -> bool {
    text.chars().any(|letter| letter.is_uppercase() || letter.is_lowercase())
}

/// The mark of an alert, as text or as an emoji.
fn is_alert(character: char) -> bool {
    matches!(character, '\u{26a0}' | '\u{fe0f}' | '\u{fe0e}')
}

/// Headings of asides that writers cry out.
const NO_SIGNALS: [&str; 9] = ["info", "hint", "todo", "update", "edit", "faq", "example", "tl", "ps"];

/// Most letters of what is taken for a signal word.
const LONGEST_WORD: usize = 24;

/// Says of a quote that is no safety message that its first word looks like a signal word: because it is one in another language, because a
/// mark of an alert stands before it, or because it is cried out in capitals.
fn lookalike(blocks: &[Block], wording: Wording) -> Option<Remark> {
    let first = blocks.iter().find(|block| !is_sign_figure(block))?;
    let Kind::Paragraph(inlines) = &first.kind else { return None };
    let at = inlines.iter().position(|inline| !stands_before(inline))?;
    let warned = inlines[..at].iter().any(|inline| matches!(&inline.kind, InlineKind::Text(text) if text.contains(is_alert)))
        || inlines[..at].iter().any(|inline| sign(inline).is_some());
    let opening = inlines.get(at)?;
    let (text, bold) = match &opening.kind {
        InlineKind::Strong(inner) => (plain_text(inner), true),
        InlineKind::Text(text) => (text.clone(), false),
        _ => return None,
    };
    let next = inlines.get(at + 1).map(|next| plain_text(std::slice::from_ref(next))).unwrap_or_default();
    let (label, ends) = match end_of_label(&text) {
        // `¡ATENCIÓN!` opens with no stop.
        Some(end) => (&text[..end], text[end..].starts_with([':', '!', '：', '！', '】'])),
        None => (text.as_str(), next.trim_start().starts_with([':', '!', '：', '！'])),
    };
    let warned = warned || label.contains(is_alert);
    let named = |word: &str| NO_SIGNALS.iter().any(|known| known.eq_ignore_ascii_case(word));
    let word = bare(label);
    if word.is_empty()
        || word.chars().count() > LONGEST_WORD
        || wording.heads_an_aside(word)
        || named(word)
        || !bold && !ends && !warned
    {
        return None;
    }
    let letters = word.chars().filter(|character| character.is_alphabetic()).count();
    let single = !word.contains(char::is_whitespace);
    let cried = capitals(word) && (ends && letters >= 3 || bold && single && letters >= 5);
    let message = match wording.signal_elsewhere(word).filter(|_| ends || capitals(word) || !cased(word)) {
        Some((other, _)) => format!(
            "\"{word}\" is a signal word in another language ({}), and none in this one ({})",
            other.tag(),
            wording.language.tag()
        ),
        None if warned && bold => {
            format!("\"{word}\" stands where a signal word belongs, and is none in this language ({})", wording.language.tag())
        }
        None if cried => {
            format!("\"{word}\" looks like a signal word, and is none in this language ({})", wording.language.tag())
        }
        None => return None,
    };
    Some(Remark {
        rule: "signal-word-unknown",
        level: Level::Warning,
        message,
        hint: Some(format!("the message has no alert symbol so; the words are {}", wording.signal_words().join(", "))),
        span: opening.span,
    })
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

/// Takes the writer's own alert mark off the beginning: the message has one by its grade.
fn drop_alerts(blocks: &mut [Block]) {
    let Some(Block { kind: Kind::Paragraph(inlines), .. }) = blocks.iter_mut().find(|block| !is_sign_figure(block)) else {
        return;
    };
    let before = inlines.iter().take_while(|inline| stands_before(inline)).count();
    let mut at = 0;
    inlines.retain(|inline| {
        at += 1;
        at > before || !matches!(&inline.kind, InlineKind::Text(text) if text.contains(is_alert))
    });
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
        InlineKind::Text(text) => text.chars().all(|character| character.is_whitespace() || is_alert(character)),
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
