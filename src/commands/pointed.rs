//! Which picture, figure or comic of a manual stands on a line of its file.

use super::turning::lines;
use crate::manual::document::{Block, Document, Figure, Kind, Width};
use crate::manual::models::View as Side;
use crate::manual::source::{Source, Span};

/// What the manual sets on a line.
#[derive(Clone)]
pub enum Under<'d> {
    Figure(&'d Figure),
    Model(Side, Option<Width>),
    /// The pictures of its panels, and the panel of the line.
    Comic(Vec<Option<&'d str>>, Option<usize>),
}

pub fn under<'d>(source: &Source, document: &'d Document, file: &str, line: u32) -> Option<Under<'d>> {
    let holds = |span: Span| lines(source, span).hold(file, line);
    let mut found = None;
    for block in &document.blocks {
        look_in(block, block.span, block.span.start, &holds, &mut found);
    }
    found
}

fn look_in<'d>(block: &'d Block, span: Span, base: u32, holds: &dyn Fn(Span) -> bool, found: &mut Option<Under<'d>>) {
    if found.is_none() && holds(span) {
        match &block.kind {
            Kind::Figure(figure) => *found = Some(Under::Figure(figure)),
            Kind::Row(figures) => {
                let here = figures.iter().find(|figure| holds(figure.picture_span.from_base(base)));
                *found = here.or(figures.first()).map(Under::Figure);
            }
            Kind::Model(figure) => *found = Some(Under::Model(figure.view, figure.width)),
            Kind::Comic(comic) => {
                let pictures = comic.panels.iter().map(|panel| panel.picture.as_deref()).collect();
                *found = Some(Under::Comic(pictures, comic.panels.iter().position(|panel| holds(panel.span.from_base(base)))));
            }
            _ => {}
        }
    }
    block.children(&mut |inner| look_in(inner, inner.span.from_base(base), base, holds, found));
}
