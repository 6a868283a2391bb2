//! Running text of the page as lines, each a slab of its own: looks, links, keys and pictures in a line; code.

use krilla::tagging::Tag;

use super::flow::{Flow, LEADING, Link};
use super::slab::{Side, Slab};
use super::tags::Leaf;
use super::text::{Align, Look, Manner, Object, Part, Set, clean};
use super::{LINK, SOFT};
use crate::copy::page::{Element, Node, plain};
use crate::language::Language;
use crate::type_setting::Family;

/// Code that is no higher stands together.
const CODE: f32 = 90.0;

impl<'a> Flow<'a> {
    pub fn manner(&self) -> Manner {
        Manner { width: self.width, language: self.language, align: Align::Start, balanced: false, hyphenate: true }
    }

    pub fn paragraph(&mut self, nodes: &'a [Node], look: Look) {
        self.tags.open(Tag::P);
        let (parts, _) = self.parts(nodes, look);
        self.lines(&parts, self.manner(), look.size, LEADING);
        self.tags.close();
        self.gap(look.size * 0.62);
    }

    /// Words as parts of a paragraph, and the first leaf of them.
    pub fn parts(&mut self, nodes: &'a [Node], look: Look) -> (Vec<Part>, Leaf) {
        let leaf = self.tags.leaf();
        let mut parts = Vec::new();
        let kept = std::mem::replace(&mut self.leaf, leaf);
        self.inlines(nodes, look, &mut parts);
        self.leaf = kept;
        // White at both ends is none.
        if let Some(Part::Text(text, _)) = parts.first_mut() {
            *text = text.trim_start().to_owned();
        }
        if let Some(Part::Text(text, _)) = parts.last_mut() {
            *text = text.trim_end().to_owned();
        }
        (parts, leaf)
    }

    fn inlines(&mut self, nodes: &'a [Node], look: Look, parts: &mut Vec<Part>) {
        for node in nodes {
            let element = match node {
                Node::Text(text) => {
                    parts.push(Part::Text(clean(text), Look { leaf: self.leaf, link: self.link, ..look }));
                    continue;
                }
                Node::Element(element) => element,
            };
            match element.name {
                "strong" | "b" => self.inlines(&element.inside, Look { bold: true, ..look }, parts),
                "em" => self.inlines(&element.inside, Look { italic: true, ..look }, parts),
                "s" => self.inlines(&element.inside, Look { strike: true, ..look }, parts),
                "sub" | "sup" => {
                    let rise = look.size * if element.name == "sup" { 0.34 } else { -0.16 };
                    self.inlines(&element.inside, Look { size: look.size * 0.68, rise: look.rise + rise, ..look }, parts);
                }
                "code" => {
                    let look = Look { family: Family::Mono, size: look.size * 0.9, verbatim: true, ..look };
                    self.inlines(&element.inside, look, parts);
                }
                "kbd" => {
                    let own = Look { leaf: self.leaf, link: self.link, ..look };
                    let text = clean(&plain(&element.inside));
                    let key = self.setter.key(&text, &own, self.language);
                    // A key that no line can hold is words like others.
                    match key.width <= self.width {
                        true => parts.push(Part::Object(key)),
                        false => {
                            let look = Look { family: Family::Mono, bold: true, size: look.size * 0.9, verbatim: true, ..own };
                            parts.push(Part::Text(text, look));
                        }
                    }
                }
                "a" => self.linked(element, look, parts),
                "br" => parts.push(Part::Break),
                "img" | "svg" => {
                    let high = if element.is("alone") { 2.3 } else { 1.35 };
                    let object = self.icon(element, look.size * high);
                    parts.extend(
                        object.map(|object| Part::Object(Object { link: self.link.map(|link| (link, self.leaf)), ..object })),
                    );
                }
                "input" => {}
                _ => self.inlines(&element.inside, look, parts),
            }
        }
    }

    fn linked(&mut self, element: &'a Element, look: Look, parts: &mut Vec<Part>) {
        let target = element.get("href").to_owned();
        // A number on a picture stands before the reader's eyes.
        let outer = self.leaf;
        if target.is_empty() || self.link.is_some() {
            return self.inlines(&element.inside, look, parts);
        }
        self.tags.open(Tag::Link);
        self.leaf = self.tags.leaf();
        self.link = Some(self.links.len());
        self.links.push(Link { target, words: clean(&plain(&element.inside)) });
        self.inlines(&element.inside, Look { colour: LINK, ..look }, parts);
        self.tags.close();
        self.link = None;
        // What follows is read after the link.
        self.leaf = if outer == Leaf::NONE { outer } else { self.tags.leaf() };
    }

    /// Sets lines as slabs, so that two stand together at each end of a paragraph.
    pub fn lines(&mut self, parts: &[Part], manner: Manner, size: f32, leading: f32) {
        let lines = self.setter.set(parts, &manner);
        let from = self.slabs.len();
        let (above, below) = self.setter.heights(&Look { size, ..self.look() });
        for line in lines {
            self.push(slab_of(line, size, leading, above, below));
        }
        let count = self.slabs.len() - from;
        if count > 1 {
            self.slabs[from].keep = true;
            self.slabs[from + count - 2].keep = true;
        }
    }

    /// Words of a mark, on its baseline.
    pub fn label(&self, text: &str, look: Look, leaf: Leaf) -> Option<Set> {
        self.setter.one(&[Part::Text(text.to_owned(), Look { leaf, ..look })], self.language)
    }

    pub fn code(&mut self, element: &'a Element) {
        let text = clean(&plain(&element.inside));
        let size = self.size * 0.84;
        self.gap(4.0);
        let begin = self.slabs.len();
        self.tags.open(Tag::P);
        self.tags.open(Tag::Code);
        self.beside(Side { x: 0.0, width: self.width, colour: SOFT, goes_on: false }, |flow| {
            flow.push(Slab { height: 5.0, keep: true, ..Slab::default() });
            flow.inset(8.0, 8.0, |flow| {
                let language = Language::English;
                for line in text.trim_end_matches('\n').split('\n') {
                    let leaf = flow.tags.leaf();
                    let look = Look { family: Family::Mono, size, verbatim: true, leaf, ..flow.look() };
                    // White at the begin of a line counts; what has no room goes on in the next.
                    let white = line.len() - line.trim_start_matches(' ').len();
                    let text = format!("{}{}", "\u{a0}".repeat(white), &line[white..]).replace('\t', "\u{a0}\u{a0}\u{a0}\u{a0}");
                    let manner = Manner { hyphenate: false, language, ..flow.manner() };
                    let from = flow.slabs.len();
                    flow.lines(&[Part::Text(text, look)], manner, size, 1.38);
                    if flow.slabs.len() == from {
                        flow.push(Slab { height: size * 1.38, ..Slab::default() });
                    }
                }
            });
            flow.push(Slab { height: 5.0, ..Slab::default() });
        });
        // Between white above and below: short code stands together, of long code three lines at each end.
        let last = self.slabs.len() - 1;
        let short = self.slabs[begin..].iter().map(|slab| slab.height).sum::<f32>() <= CODE;
        for n in begin..last {
            self.slabs[n].keep |= short || n < begin + 3 || n + 3 >= last;
        }
        self.tags.close();
        self.tags.close();
        self.gap(9.0);
    }
}

/// A line as a slab of its own.
fn slab_of(line: Set, size: f32, leading: f32, above: f32, below: f32) -> Slab {
    let usual = size * leading;
    let white = (usual - above - below).max(0.0);
    // What is higher than letters makes room for itself.
    let top = (line.ascent - above - white / 2.0).max(0.0);
    let base = white / 2.0 + above + top;
    let low = (line.descent - below - white / 2.0).max(0.0);
    let marks = line.marks.iter().map(|mark| mark.moved(0.0, base)).collect();
    Slab { height: usual + top + low, baseline: Some(base), marks, ..Slab::default() }
}
