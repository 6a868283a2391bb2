//! Ways through a document: every block, every inline, all its words. What is printed, in the order it is printed in.

use super::document::{Block, Document, Figure, Inline, InlineKind, Kind, NoteBody};
use super::source::Span;

impl Document {
    /// Every block at every depth, outer before inner, with its absolute span.
    pub fn walk(&self, visit: &mut impl FnMut(Span, &Block)) {
        for block in &self.blocks {
            visit(block.span, block);
            block.walk_inside(block.span.start, visit);
        }
    }

    /// Every inline at every depth, outer before inner, with its absolute span.
    pub fn walk_inlines(&self, visit: &mut impl FnMut(Span, &Inline)) {
        for block in &self.blocks {
            let base = block.span.start;
            block.inlines(&mut |inlines| walk_inlines(inlines, base, visit));
            block.walk_inside(base, &mut |_, inner| inner.inlines(&mut |inlines| walk_inlines(inlines, base, visit)));
        }
    }

    /// All that the manual says, block after block with a line break between them.
    pub fn text(&self) -> String {
        let mut text = String::new();
        for block in &self.blocks {
            block.say(&mut text);
        }
        text
    }

    /// Every word the manual says, in order. A word is what stands between white space.
    pub fn words(&self) -> Vec<String> {
        self.text().split_whitespace().map(str::to_owned).collect()
    }
}

impl Block {
    /// Visits every block inside this one, at every depth. `base` is the start of the top-level block that holds it.
    pub fn walk_inside(&self, base: u32, visit: &mut impl FnMut(Span, &Block)) {
        self.children(&mut |block| {
            visit(block.span.from_base(base), block);
            block.walk_inside(base, visit);
        });
    }

    /// All that the block says.
    pub fn plain_text(&self) -> String {
        let mut text = String::new();
        self.say(&mut text);
        text.truncate(text.trim_end().len());
        text
    }

    /// The blocks directly inside this one.
    pub fn children<'b>(&'b self, visit: &mut dyn FnMut(&'b Block)) {
        match &self.kind {
            Kind::Procedure { steps } => steps.iter().flat_map(|step| &step.blocks).for_each(visit),
            Kind::Bullets { items } => items.iter().flat_map(|item| &item.blocks).for_each(visit),
            Kind::Safety(safety) => safety.blocks.iter().for_each(visit),
            Kind::Aside(blocks) => blocks.iter().for_each(visit),
            Kind::Definitions(definitions) => {
                definitions.iter().flat_map(|definition| definition.meanings.iter().flatten()).for_each(visit);
            }
            Kind::Notes(notes) => {
                for note in notes {
                    if let NoteBody::Footnote(blocks) = &note.body {
                        blocks.iter().for_each(&mut *visit);
                    }
                }
            }
            Kind::Title(_)
            | Kind::Heading { .. }
            | Kind::Paragraph(_)
            | Kind::Figure(_)
            | Kind::Row(_)
            | Kind::Model(_)
            | Kind::Comic(_)
            | Kind::Code { .. }
            | Kind::Table(_)
            | Kind::Qr { .. }
            | Kind::Barcode { .. }
            | Kind::WriteIn { .. }
            | Kind::Rule
            | Kind::Fold
            | Kind::Cut => {}
        }
    }

    /// The runs of inlines of this block itself.
    pub fn inlines<'b>(&'b self, visit: &mut dyn FnMut(&'b [Inline])) {
        match &self.kind {
            Kind::Title(text) | Kind::Heading { text, .. } | Kind::Paragraph(text) => visit(text),
            Kind::Figure(figure) => visit(&figure.caption),
            Kind::Row(figures) => figures.iter().for_each(|figure| visit(&figure.caption)),
            Kind::Model(figure) => visit(&figure.caption),
            Kind::Table(table) => {
                for cell in table.head.iter().chain(table.rows.iter().flatten()) {
                    visit(&cell.text);
                }
            }
            Kind::Definitions(definitions) => {
                for definition in definitions {
                    visit(&definition.term);
                }
            }
            Kind::Procedure { .. }
            | Kind::Bullets { .. }
            | Kind::Safety(_)
            | Kind::Aside(_)
            | Kind::Notes(_)
            | Kind::Comic(_)
            | Kind::Code { .. }
            | Kind::Qr { .. }
            | Kind::Barcode { .. }
            | Kind::WriteIn { .. }
            | Kind::Rule
            | Kind::Fold
            | Kind::Cut => {}
        }
    }

    /// Visits the runs of inlines of this block and of every block inside it, in the order they are read in, to change them. What stands in notes
    /// is not among them.
    pub(super) fn inlines_mut(&mut self, visit: &mut dyn FnMut(&mut Vec<Inline>)) {
        let mut all = |blocks: &mut [Block]| blocks.iter_mut().for_each(|block| block.inlines_mut(visit));
        match &mut self.kind {
            Kind::Procedure { steps } => steps.iter_mut().for_each(|step| all(&mut step.blocks)),
            Kind::Bullets { items } => items.iter_mut().for_each(|item| all(&mut item.blocks)),
            Kind::Safety(safety) => all(&mut safety.blocks),
            Kind::Aside(blocks) => all(blocks),
            Kind::Title(text) | Kind::Heading { text, .. } | Kind::Paragraph(text) => visit(text),
            Kind::Figure(figure) => visit(&mut figure.caption),
            Kind::Row(figures) => figures.iter_mut().for_each(|figure| visit(&mut figure.caption)),
            Kind::Model(figure) => visit(&mut figure.caption),
            Kind::Table(table) => {
                table.head.iter_mut().chain(table.rows.iter_mut().flatten()).for_each(|cell| visit(&mut cell.text));
            }
            Kind::Definitions(definitions) => {
                for definition in definitions {
                    visit(&mut definition.term);
                    definition.meanings.iter_mut().flatten().for_each(|block| block.inlines_mut(visit));
                }
            }
            Kind::Notes(_)
            | Kind::Comic(_)
            | Kind::Code { .. }
            | Kind::Qr { .. }
            | Kind::Barcode { .. }
            | Kind::WriteIn { .. }
            | Kind::Rule
            | Kind::Fold
            | Kind::Cut => {}
        }
    }

    fn say(&self, out: &mut String) {
        match &self.kind {
            Kind::Title(text) | Kind::Heading { text, .. } | Kind::Paragraph(text) => {
                say_inlines(text, out);
                out.push('\n');
            }
            Kind::Safety(safety) => {
                line(&safety.label, out);
                safety.blocks.iter().for_each(|block| block.say(out));
            }
            Kind::Figure(figure) => figure.say(out),
            Kind::Row(figures) => figures.iter().for_each(|figure| figure.say(out)),
            Kind::Model(figure) => {
                if !figure.caption.is_empty() {
                    say_inlines(&figure.caption, out);
                    out.push('\n');
                }
                figure.callouts.iter().for_each(|callout| line(&callout.label, out));
            }
            Kind::Comic(comic) => {
                for panel in &comic.panels {
                    panel.caption.iter().for_each(|caption| line(caption, out));
                    panel.balloons.iter().for_each(|balloon| line(&balloon.text, out));
                }
            }
            Kind::Code { text } => line(text, out),
            Kind::Table(table) => {
                for cell in table.head.iter().chain(table.rows.iter().flatten()) {
                    say_inlines(&cell.text, out);
                    out.push('\n');
                }
            }
            Kind::Definitions(definitions) => {
                for definition in definitions {
                    say_inlines(&definition.term, out);
                    out.push('\n');
                    definition.meanings.iter().flatten().for_each(|block| block.say(out));
                }
            }
            Kind::Notes(notes) => {
                for note in notes {
                    match &note.body {
                        NoteBody::Address(address) => line(address, out),
                        NoteBody::Footnote(blocks) => blocks.iter().for_each(|block| block.say(out)),
                    }
                }
            }
            Kind::Barcode { data, .. } | Kind::Qr { data } => line(data, out),
            Kind::WriteIn { label, .. } => line(label, out),
            Kind::Procedure { .. } | Kind::Bullets { .. } | Kind::Aside(_) => self.children(&mut |block| block.say(out)),
            Kind::Rule | Kind::Fold | Kind::Cut => {}
        }
    }
}

impl Figure {
    fn say(&self, out: &mut String) {
        if !self.caption.is_empty() {
            say_inlines(&self.caption, out);
            out.push('\n');
        }
        self.callouts.iter().for_each(|callout| line(&callout.label, out));
    }
}

fn line(text: &str, out: &mut String) {
    out.push_str(text);
    out.push('\n');
}

fn walk_inlines(inlines: &[Inline], base: u32, visit: &mut impl FnMut(Span, &Inline)) {
    for inline in inlines {
        visit(inline.span.from_base(base), inline);
        if let Some(inner) = inline.inner() {
            walk_inlines(inner, base, visit);
        }
    }
}

impl Inline {
    /// The inlines inside this one.
    pub fn inner(&self) -> Option<&[Inline]> {
        match &self.kind {
            InlineKind::Strong(inner)
            | InlineKind::Emphasis(inner)
            | InlineKind::Strike(inner)
            | InlineKind::Subscript(inner)
            | InlineKind::Superscript(inner) => Some(inner),
            InlineKind::Link { text, .. } => Some(text),
            _ => None,
        }
    }

    /// The inlines inside this one, to change them.
    pub(super) fn inner_mut(&mut self) -> Option<&mut Vec<Inline>> {
        match &mut self.kind {
            InlineKind::Strong(inner)
            | InlineKind::Emphasis(inner)
            | InlineKind::Strike(inner)
            | InlineKind::Subscript(inner)
            | InlineKind::Superscript(inner) => Some(inner),
            InlineKind::Link { text, .. } => Some(text),
            InlineKind::Text(_)
            | InlineKind::Key(_)
            | InlineKind::Picture(_)
            | InlineKind::NoteCall(_)
            | InlineKind::SoftBreak
            | InlineKind::HardBreak => None,
        }
    }
}

/// What inlines say: text, keys; a break is a space; pictures and calls of notes say nothing.
pub fn plain_text(inlines: &[Inline]) -> String {
    let mut text = String::new();
    say_inlines(inlines, &mut text);
    text
}

fn say_inlines(inlines: &[Inline], out: &mut String) {
    for inline in inlines {
        match &inline.kind {
            InlineKind::Text(text) | InlineKind::Key(text) => out.push_str(text),
            InlineKind::SoftBreak | InlineKind::HardBreak => out.push(' '),
            InlineKind::Picture(_) | InlineKind::NoteCall(_) => {}
            InlineKind::Strong(inner)
            | InlineKind::Emphasis(inner)
            | InlineKind::Strike(inner)
            | InlineKind::Subscript(inner)
            | InlineKind::Superscript(inner) => say_inlines(inner, out),
            InlineKind::Link { text, .. } => say_inlines(text, out),
        }
    }
}
