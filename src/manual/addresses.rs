//! Which pictures a block shows.

use super::document::ModelFigure;
use super::document::{Block, Inline, InlineKind, Kind};

impl Block {
    /// Addresses of all pictures in this block and the blocks it holds, in reading order.
    pub fn pictures(&self) -> Vec<&str> {
        let mut found = Vec::new();
        gather(self, &mut found);
        found
    }

    /// The figures drawn from models in this block and the blocks it holds, in reading order.
    pub fn models<'b>(&'b self) -> Vec<&'b ModelFigure> {
        let mut found: Vec<&'b ModelFigure> = Vec::new();
        if let Kind::Model(figure) = &self.kind {
            found.push(&**figure);
        }
        self.children(&mut |block: &'b Block| found.extend(block.models()));
        found
    }
}

fn gather<'a>(block: &'a Block, found: &mut Vec<&'a str>) {
    match &block.kind {
        Kind::Figure(figure) => found.push(&figure.picture),
        Kind::Row(figures) => found.extend(figures.iter().map(|figure| figure.picture.as_str())),
        Kind::Comic(comic) => {
            for panel in &comic.panels {
                found.extend(panel.picture.as_deref());
                panel.balloons.iter().for_each(|balloon| in_line(&balloon.words, found));
            }
        }
        _ => {}
    }
    block.inlines(&mut |inlines: &'a [Inline]| in_line(inlines, found));
    block.children(&mut |block: &'a Block| gather(block, found));
}

fn in_line<'a>(inlines: &'a [Inline], found: &mut Vec<&'a str>) {
    for inline in inlines {
        match &inline.kind {
            InlineKind::Picture(picture) => found.push(&picture.address),
            _ => inline.inner().into_iter().for_each(|inner| in_line(inner, found)),
        }
    }
}
