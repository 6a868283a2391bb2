//! Badges: small pictures of words that a page shows about itself (whether its tests pass, how often it was fetched). They say
//! nothing to one who holds the thing in hand.

use crate::manual::document::{Inline, InlineKind, Picture};
use crate::manual::source::{Level, Remark, Span};

/// No badge is higher, in pixels.
const HIGHEST: u32 = 40;

#[derive(Default)]
pub(super) struct Badges {
    count: usize,
    first: Option<Span>,
}

impl Badges {
    /// Takes note of a paragraph of badges that is left out.
    pub fn note(&mut self, inlines: &[Inline]) {
        let mut pictures = inlines.iter().filter(|inline| matches!(inline.kind, InlineKind::Picture(_)));
        self.first = self.first.or(pictures.clone().next().map(|inline| inline.span));
        self.count += pictures.by_ref().count();
    }

    /// Words without the badges that stand among them; what calls itself one is left out there, and nothing else.
    pub fn left_out_of(&mut self, mut inlines: Vec<Inline>) -> Vec<Inline> {
        let is_badge = |inline: &Inline| match &inline.kind {
            InlineKind::Picture(picture) => picture.linked && kind(picture) == Some(Kind::Sure) && calls_itself(&picture.address),
            _ => false,
        };
        let found: Vec<Inline> = inlines.iter().filter(|inline| is_badge(inline)).cloned().collect();
        if !found.is_empty() {
            self.note(&found);
            inlines.retain(|inline| !is_badge(inline));
            while inlines.last().is_some_and(is_room) {
                inlines.pop();
            }
            if let Some(Inline { kind: InlineKind::Text(text), .. }) = inlines.last_mut() {
                text.truncate(text.trim_end().len());
            }
        }
        inlines
    }

    /// All of them in one finding.
    pub fn remark(self) -> Option<Remark> {
        let Badges { count, first } = self;
        first.map(|span| Remark {
            rule: "badges-left-out",
            level: Level::Advice,
            message: match count {
                1 => "a badge is left out".into(),
                _ => format!("{count} badges are left out"),
            },
            hint: Some(
                "they tell about a page, not about the product; a picture you want stands in a paragraph of its own".into(),
            ),
            span,
        })
    }
}

/// Whether a paragraph holds nothing but badges. How high a picture at a web address is nobody knows before it was fetched: what it
/// is called and what the writer says of it decide.
pub(super) fn are(inlines: &[Inline]) -> bool {
    let (mut linked, mut sure, mut all) = (0, 0, 0);
    for inline in inlines {
        match &inline.kind {
            InlineKind::Picture(picture) => {
                let Some(kind) = kind(picture) else { return false };
                all += 1;
                linked += usize::from(picture.linked);
                sure += usize::from(kind == Kind::Sure);
            }
            _ if is_room(inline) => {}
            _ => return false,
        }
    }
    // A PNG may be a photograph: beside others it is a badge.
    linked > 0 && sure > 0 && all > 0
}

fn is_room(inline: &Inline) -> bool {
    match &inline.kind {
        InlineKind::SoftBreak | InlineKind::HardBreak => true,
        InlineKind::Text(text) => text.trim().is_empty(),
        _ => false,
    }
}

fn calls_itself(address: &str) -> bool {
    let address = address.to_ascii_lowercase();
    ["badge", "shield"].iter().any(|name| address.contains(name))
}

#[derive(PartialEq, Eq)]
enum Kind {
    /// A drawing, or what a service makes as it is asked.
    Sure,
    Perhaps,
}

fn kind(picture: &Picture) -> Option<Kind> {
    let (_, rest) = picture.address.split_once("://").or(picture.address.split_once("//"))?;
    if picture.height.is_some_and(|height| height > HIGHEST) || picture.width.is_some_and(|width| width > 300) {
        return None;
    }
    let path = rest.split(['?', '#']).next().unwrap_or_default();
    let name = path.rsplit('/').next().unwrap_or_default().to_ascii_lowercase();
    let photograph = [".jpg", ".jpeg", ".gif", ".webp", ".bmp", ".mp4"].iter().any(|kind| name.ends_with(kind));
    match name.ends_with(".png") {
        _ if photograph => None,
        true => Some(Kind::Perhaps),
        false => Some(Kind::Sure),
    }
}
