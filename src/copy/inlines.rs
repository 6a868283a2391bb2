//! Running text.

use std::borrow::Cow;

use super::Writing;
use super::figures::Place;
use crate::language::{END_OF_ISOLATE, ISOLATE, Language, by_quantity};
use crate::manual::document::{Figure, Inline, InlineKind, Picture, plain_text};
use crate::manual::source::Span;
use crate::pictures::PictureSet;

/// A picture at most so high, in its own pixels or those of a page, stands in the line: three times the type on the strip.
const ICON: u32 = 76;
/// Code of more characters than this is no key and no reading.
const KEY: usize = 24;

impl Writing<'_> {
    pub(super) fn words(&mut self, inlines: &[Inline]) {
        self.icons = if plain_text(inlines).trim().is_empty() { Place::Alone } else { Place::Line };
        self.run(inlines, false);
    }

    /// `linked`: inside a link, where no other can stand.
    fn run(&mut self, inlines: &[Inline], linked: bool) {
        for inline in inlines {
            match &inline.kind {
                InlineKind::Text(text) => self.text(text),
                InlineKind::Strong(inner) => self.inside("strong", inner, linked),
                InlineKind::Emphasis(inner) => self.inside("em", inner, linked),
                InlineKind::Strike(inner) => self.inside("s", inner, linked),
                InlineKind::Subscript(inner) => self.inside("sub", inner, linked),
                InlineKind::Superscript(inner) => self.inside("sup", inner, linked),
                InlineKind::Key(text) => {
                    self.page.element(if is_key(text) { "kbd" } else { "code" }, &[], &self.isolated(text));
                }
                InlineKind::Picture(picture) if is_large(self.pictures, picture) => {}
                InlineKind::Picture(picture) => self.icon(picture, inline.span),
                InlineKind::Link { text, note, address } => {
                    let address = self.links.resolved(address).filter(|_| !linked && says_something(self.pictures, text));
                    match address {
                        Some(address) => {
                            self.page.open("a", &[("href", &address)]);
                            self.run(text, true);
                            self.page.close();
                        }
                        None => self.run(text, linked),
                    }
                    if let Some(number) = note {
                        // On paper a link cannot be followed: there it has the number of its address.
                        self.page.element("sup", &[("class", "on-paper")], &number.to_string());
                    }
                }
                InlineKind::NoteCall(number) if linked => self.page.element("sup", &[], &number.to_string()),
                InlineKind::NoteCall(number) => {
                    self.page.open("sup", &[]);
                    let attributes = [("href", &*format!("#n{number}")), ("role", "doc-noteref")];
                    self.page.element("a", &attributes, &number.to_string());
                    self.page.close();
                }
                InlineKind::SoftBreak => self.page.text("\n"),
                InlineKind::HardBreak => self.page.open("br", &[]),
            }
        }
    }

    /// A text; of one that runs from right to left each quantity keeps its own direction.
    fn text(&mut self, text: &str) {
        if !self.language.is_rtl() {
            return self.page.text(text);
        }
        for (piece, is_quantity) in by_quantity(text) {
            self.page.text(&if is_quantity { self.isolated(piece) } else { Cow::Borrowed(piece) });
        }
    }

    /// Words from elsewhere (an address, a number, the name of a key) that must not be torn apart among words that run from right to left
    /// (UAX #9, isolates).
    pub(super) fn isolated<'t>(&self, text: &'t str) -> Cow<'t, str> {
        isolated(self.language, text)
    }

    fn inside(&mut self, name: &'static str, inner: &[Inline], linked: bool) {
        self.page.open(name, &[]);
        self.run(inner, linked);
        self.page.close();
    }

    fn icon(&mut self, picture: &Picture, span: Span) {
        self.picture(&picture.address, None, &picture.alt, span, self.icons);
    }

    /// The figures that were written into words and are too large to stand in a line.
    pub(super) fn large_pictures(&mut self, inlines: &[Inline]) {
        let mut figures: Vec<Figure> = Vec::new();
        collect(self.pictures, inlines, &mut figures);
        match figures.as_slice() {
            [] => {}
            [figure] => self.figure(figure, false),
            several => self.row(several),
        }
    }

    /// Whether anything is left of words without their large pictures.
    pub(super) fn has_words(&self, inlines: &[Inline]) -> bool {
        says_something(self.pictures, inlines)
    }
}

/// See [`Writing::isolated`]. Words that run from the right themselves stand as they are.
pub(super) fn isolated(language: Language, text: &str) -> Cow<'_, str> {
    let turned = |letter: char| matches!(letter, '\u{590}'..='\u{8ff}' | '\u{fb1d}'..='\u{fdff}' | '\u{fe70}'..='\u{fefe}');
    match language.is_rtl() && !text.contains(turned) {
        true => Cow::Owned(format!("{ISOLATE}{text}{END_OF_ISOLATE}")),
        false => Cow::Borrowed(text),
    }
}

/// Whether code is short enough for a key or a reading.
pub(super) fn is_key(text: &str) -> bool {
    text.chars().count() <= KEY
}

fn says_something(pictures: &PictureSet, inlines: &[Inline]) -> bool {
    let small = |inline: &Inline| match &inline.kind {
        InlineKind::Picture(picture) => !is_large(pictures, picture),
        InlineKind::NoteCall(_) => true,
        _ => inline.inner().is_some_and(|inner| says_something(pictures, inner)),
    };
    !plain_text(inlines).trim().is_empty() || inlines.iter().any(small)
}

fn collect(pictures: &PictureSet, inlines: &[Inline], figures: &mut Vec<Figure>) {
    for inline in inlines {
        match &inline.kind {
            InlineKind::Picture(picture) if is_large(pictures, picture) => {
                figures.push(picture.clone().into_figure(inline.span));
            }
            _ => inline.inner().into_iter().for_each(|inner| collect(pictures, inner, figures)),
        }
    }
}

/// Whether a picture in a sentence is a figure of its own.
pub(super) fn is_large(pictures: &PictureSet, picture: &Picture) -> bool {
    if picture.is_drawn_by_name() {
        return false;
    }
    if let Some(height) = picture.height {
        return height > ICON;
    }
    let Ok(info) = pictures.look(&picture.address) else { return true };
    if let Some(width) = picture.width {
        // On a page of 900 pixels.
        return u64::from(width.max(0) as u32) * 900 / 1000 * u64::from(info.height) / u64::from(info.width.max(1))
            > u64::from(ICON);
    }
    match info.vector {
        true => pictures.written_height(&picture.address).is_none_or(|height| height > ICON),
        false => info.height > ICON,
    }
}
