//! Blocks that hold no blocks: paragraphs, headings, terms, cells, figures, and code.

use std::ops::Range;

use super::inlines::{self, Inlines, Part};
use super::{Frame, Leaf, LeafKind, Reading, Verbatim, badges, fence, fences, missing_alt};
use crate::manual::Error;
use crate::manual::document::{Cell, Definition, Figure, Inline, InlineKind, Kind, Picture};
use crate::manual::source::{Level, Remark, Span};

impl Reading<'_> {
    pub(super) fn start_leaf(&mut self, kind: LeafKind, range: &Range<usize>) {
        self.end_implied();
        self.leaf = Some(Leaf { kind, span: self.span(range), inlines: Inlines::default() });
    }

    /// Ends the paragraph of a tight list item, if one is open: a block follows or the item ends.
    pub(super) fn end_implied(&mut self) {
        if matches!(self.leaf, Some(Leaf { kind: LeafKind::Paragraph { implied: true }, .. })) {
            self.end_leaf();
        }
    }

    pub(super) fn end_leaf(&mut self) {
        let Some(leaf) = self.leaf.take() else { return };
        let span = self.span(&(leaf.span.start as usize..leaf.span.end as usize));
        let text = leaf.inlines.finish(&mut self.notes);
        if matches!(leaf.kind, LeafKind::Paragraph { .. }) && badges::are(&text) {
            return self.badges.note(&text);
        }
        let text = self.badges.left_out_of(text);
        self.check_alts(&text);
        match leaf.kind {
            // Nothing but a comment or dropped tags.
            LeafKind::Paragraph { .. } | LeafKind::Heading(_) if text.is_empty() => {}
            LeafKind::Paragraph { .. } => self.paragraph(text, span),
            LeafKind::Heading(_) if inlines::pictures_alone(&text) => self.paragraph(text, span),
            LeafKind::Heading(level) => {
                let kind = self.heading(level, text, span);
                self.push(kind, span);
            }
            LeafKind::Term => match self.frames.last_mut() {
                Some((Frame::Definitions { list }, _)) => list.push(Definition { span, term: text, meanings: Vec::new() }),
                _ => self.push(Kind::Paragraph(text), span),
            },
            LeafKind::Cell => {
                if let Some(rows) = &mut self.rows {
                    rows.row.push(Cell { span, text });
                }
            }
        }
    }

    /// The first `#` of the manual itself is its title.
    pub(super) fn heading(&mut self, level: u8, text: Vec<Inline>, span: Span) -> Kind {
        if level > 1 {
            return Kind::Heading { level, text };
        }
        if !self.titled && self.frames.is_empty() {
            self.titled = true;
            return Kind::Title(text);
        }
        self.remarks.push(Remark {
            rule: "second-title",
            level: Level::Warning,
            message: "a manual has one title; this `#` is set as a section".into(),
            hint: Some("write `##` for a section".into()),
            span,
        });
        Kind::Heading { level: 2, text }
    }

    /// A paragraph; pictures that stand alone in it, or on a source line of their own, are figures where they stand.
    fn paragraph(&mut self, text: Vec<Inline>, span: Span) {
        let mut parts = inlines::parts(text);
        if let [Part::Words(words)] = parts.as_mut_slice() {
            let words = std::mem::take(words);
            return self.push(Kind::Paragraph(words), span);
        }
        for part in parts {
            match part {
                Part::Words(words) => {
                    let span = Span {
                        start: words.first().map_or(span.start, |inline| inline.span.start),
                        ..words.last().map_or(span, |inline| inline.span)
                    };
                    self.push(Kind::Paragraph(words), span);
                }
                Part::Pictures(pictures) => self.figures(pictures),
            }
        }
    }

    /// One figure, or a row of them.
    fn figures(&mut self, pictures: Vec<(Picture, Span)>) {
        let mut figures: Vec<Figure> = pictures
            .into_iter()
            .map(|(picture, span)| {
                let mut figure = picture.into_figure(span);
                figure.number = self.number_figure(&figure.caption);
                figure
            })
            .collect();
        let span = match (figures.first(), figures.last()) {
            (Some(first), Some(last)) => Span { start: first.picture_span.start, end: last.picture_span.end },
            _ => return,
        };
        match figures.len() {
            1 => self.push(Kind::Figure(figures.remove(0)), span),
            _ => self.push(Kind::Row(figures), span),
        }
    }

    pub(super) fn number_figure(&mut self, caption: &[Inline]) -> Option<u32> {
        (!caption.is_empty()).then(|| {
            self.figures += 1;
            self.figures
        })
    }

    pub(super) fn check_alts(&mut self, inlines: &[Inline]) {
        let mut bare = Vec::new();
        inlines::each(inlines, &mut |inline| {
            if let InlineKind::Picture(picture) = &inline.kind {
                bare.push((picture.address.clone(), picture.alt.clone(), inline.span));
            }
        });
        for (picture, alt, span) in bare {
            self.check_alt(&picture, &alt, span);
        }
    }

    /// A built-in sign says what it is by its name; every other picture needs words.
    pub(super) fn check_alt(&mut self, picture: &str, alt: &str, span: Span) {
        if alt.trim().is_empty() && !picture.starts_with("sign:") {
            self.remarks.push(missing_alt(picture, span));
        }
    }

    pub(super) fn start_verbatim(&mut self, info: String) {
        self.end_implied();
        self.verbatim = Some(Verbatim { info, text: String::new(), offsets: Vec::new() });
    }

    pub(super) fn end_code(&mut self, span: Span) {
        let Some(Verbatim { info, text, offsets }) = self.verbatim.take() else {
            return;
        };
        let fence = fence::Fence { source: self.source, text: &text, offsets: &offsets, span };
        let read = match fences::read(&info, &fence, &mut self.remarks) {
            Ok(read) => read,
            // One block that cannot be read hides no other: all are told together.
            Err(error) => {
                self.errors.push(if self.is_closed(span) { error } else { self.unclosed(&info, span) });
                return;
            }
        };
        let Some(mut kind) = read else {
            let text = text.strip_suffix('\n').unwrap_or(&text).to_owned();
            self.push(Kind::Code { text }, span);
            return;
        };
        if matches!(kind, Kind::Fold | Kind::Cut) && !self.frames.is_empty() {
            self.remarks.push(Remark {
                rule: "misplaced-fold",
                level: Level::Error,
                message: format!("a `{info}` cannot stand inside a list or a quote"),
                hint: Some("end the list first: begin the fence at the left margin".into()),
                span,
            });
            return;
        }
        if let Kind::Figure(figure) = &mut kind {
            figure.number = self.number_figure(&figure.caption);
        }
        if let Kind::Model(figure) = &mut kind {
            figure.number = self.number_figure(&figure.caption);
        }
        self.push(kind, span);
    }

    /// Whether the last line of a fenced block is a fence. Where the text ends before one, all the rest of the manual is in the block.
    fn is_closed(&self, span: Span) -> bool {
        let text = self.source.text.get(span.start as usize..span.end as usize).unwrap_or_default();
        let mut lines = text.trim_end().lines();
        let bare = |line: &str| {
            let line = line.trim_start_matches(['>', ' ', '\t']);
            line.starts_with("```") || line.starts_with("~~~")
        };
        lines.next().is_some() && lines.next_back().is_some_and(bare)
    }

    fn unclosed(&self, info: &str, span: Span) -> Error {
        let line = Span { start: span.start, end: span.start + 3 + info.len() as u32 };
        Error::Toml {
            message: format!("the block `{info}` that begins here is never closed"),
            hint: Some("put a line of ``` after its last key".into()),
            at: Box::new(self.source.spot(line)),
        }
    }
}
