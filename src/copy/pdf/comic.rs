//! Comics: panels row by row, each a drawing with its lettering as text over it.

use krilla::tagging::Tag;

use super::drawing::{line, rounded};
use super::figures::BETWEEN;
use super::flow::Flow;
use super::slab::{Ink, Mark, Slab};
use super::tags::Leaf;
use super::text::{Look, Manner, Part, clean};
use super::{INK, PAPER};
use crate::copy::page::{Element, Node};
use crate::type_setting::Family;

impl<'a> Flow<'a> {
    /// Panels, row by row; those of a row are as high as the highest.
    pub fn comic(&mut self, element: &'a Element) {
        let two = element.is("two");
        let panels: Vec<&Element> = element.elements().collect();
        self.gap(6.0);
        let mut at = 0;
        while at < panels.len() {
            let pair = two && !panels[at].is("all") && panels.get(at + 1).is_some_and(|next| !next.is("all"));
            let row = &panels[at..at + if pair { 2 } else { 1 }];
            let half = two && !panels[at].is("all");
            let width = if half { (self.width - BETWEEN) / 2.0 } else { self.width };
            let made: Vec<Slab> = row.iter().map(|panel| self.panel(panel, width)).collect();
            let height = made.iter().map(|slab| slab.height).fold(0.0, f32::max);
            let mut whole = Slab { height, ..Slab::default() };
            let count = made.len();
            for (n, slab) in made.into_iter().enumerate() {
                let place = if self.language.is_rtl() { count - 1 - n } else { n };
                let x = place as f32 * (width + BETWEEN);
                whole.take(slab, x, 0.0);
                whole.path(Leaf::NONE, rounded([x, 0.0, width, height], 0.0), None, Some((INK, 1.2)));
            }
            self.push(whole);
            self.gap(BETWEEN);
            at += row.len();
        }
        self.gap(10.0);
    }

    fn panel(&mut self, panel: &'a Element, width: f32) -> Slab {
        self.tags.open(Tag::Div);
        let mut whole = Slab::default();
        for part in panel.elements() {
            match part.name {
                "figcaption" => {
                    let inner = self.stack(width - 9.0, |flow| {
                        flow.tags.open(Tag::Caption);
                        let look = Look { bold: true, size: flow.body.size * 0.9, ..flow.look() };
                        let (parts, _) = flow.parts(&part.inside, look);
                        flow.lines(&parts, Manner { hyphenate: true, ..flow.manner() }, look.size, 1.3);
                        flow.tags.close();
                    });
                    let height = inner.height + 5.0;
                    whole.take(inner, 4.5, whole.height + 2.5);
                    whole.height += height;
                    whole.path(Leaf::NONE, line([0.0, whole.height], [width, whole.height]), None, Some((INK, 1.2)));
                }
                "svg" => {
                    let slab = self.scene(part, width);
                    let top = whole.height;
                    whole.height += slab.height;
                    whole.take(slab, 0.0, top);
                }
                _ => {
                    let inner = self.stack(width - 9.0, |flow| flow.block(part));
                    let height = inner.height + 8.0;
                    whole.take(inner, 4.5, whole.height + 4.0);
                    whole.height += height;
                }
            }
        }
        self.tags.close();
        whole
    }

    /// The drawing of a panel, then its lettering as text.
    fn scene(&mut self, element: &'a Element, width: f32) -> Slab {
        let view: Vec<f32> = element.get("viewBox").split(' ').filter_map(|side| side.parse().ok()).collect();
        let [.., wide, high] = view.as_slice() else { return Slab::default() };
        let scale = width / wide.max(1.0);
        let mut slab = Slab { height: high * scale, ..Slab::default() };
        let leaf = self.picture_leaf(element);
        if let Some(drawing) = self.drawing(element, width, slab.height, "") {
            slab.marks.push(Mark { leaf, x: 0.0, y: 0.0, ink: Ink::Drawing { drawing, width, height: high * scale } });
        }
        for balloon in element.elements().filter(|part| part.name == "g") {
            for text in balloon.elements().filter(|part| part.name == "text") {
                self.lettering(balloon, text, scale, &mut slab);
            }
        }
        slab
    }

    fn lettering(&mut self, balloon: &'a Element, text: &'a Element, scale: f32, slab: &mut Slab) {
        self.tags.open(Tag::P);
        let leaf = self.tags.leaf();
        self.tags.close();
        let (white, outline) = (balloon.is("reverse"), balloon.is("outline"));
        let sound = balloon.is("sound");
        let (letters, edge) = match (white, outline) {
            (_, true) => (PAPER, Some(INK)),
            (true, _) => (PAPER, sound.then_some(INK)),
            (false, _) => (INK, sound.then_some(PAPER)),
        };
        let size = text.get("font-size").parse::<f32>().unwrap_or(72.0) * scale;
        let turn = turn_of(text.get("transform"));
        let lines: Vec<&Element> = text.elements().collect();
        for (n, part) in lines.iter().enumerate() {
            let [x, y] = ["x", "y"].map(|side| part.get(side).parse::<f32>().unwrap_or(0.0) * scale);
            let look = Look { family: Family::Lettering, bold: true, size, colour: letters, leaf, ..self.look() };
            let mut parts = Vec::new();
            stressed(&part.inside, look, &mut parts);
            if n + 1 < lines.len() {
                parts.push(Part::Text(" ".to_owned(), look));
            }
            let Some(set) = self.setter.one(&parts, self.language) else { continue };
            let mut marks: Vec<Mark> = set.marks.iter().map(|mark| mark.moved(x - set.width / 2.0, y)).collect();
            for mark in &mut marks {
                if let Ink::Text(run) = &mut mark.ink {
                    run.edge = edge.map(|colour| (colour, size * 0.22));
                    run.turn = turn.map(|(degrees, at)| (degrees, at.map(|side| side * scale)));
                }
            }
            slab.marks.extend(marks);
        }
    }
}

/// Lettering with its stress.
fn stressed(nodes: &[Node], look: Look, parts: &mut Vec<Part>) {
    for node in nodes {
        match node {
            Node::Text(text) => parts.push(Part::Text(clean(text), look)),
            Node::Element(inner) => stressed(&inner.inside, Look { italic: look.italic || inner.is("stress"), ..look }, parts),
        }
    }
}

/// `rotate(-4.6 500 300)`: degrees and around what.
fn turn_of(transform: &str) -> Option<(f32, [f32; 2])> {
    let inside = transform.strip_prefix("rotate(")?.strip_suffix(')')?;
    let numbers: Vec<f32> = inside.split(' ').filter_map(|number| number.parse().ok()).collect();
    match numbers.as_slice() {
        [degrees, x, y] => Some((*degrees, [*x, *y])),
        _ => None,
    }
}
