//! From the elements of the page to slabs, one below the other: what the style sheet is to a browser.

use std::collections::BTreeMap;
use std::num::NonZeroU16;

use krilla::tagging::Tag;

use super::drawing::rounded;
use super::slab::{Colour, Side, Slab};
use super::tags::{Leaf, Tags};
use super::text::{Look, Manner, Setter, clean};
use super::{Body, INK, LINE, QUIET};
use crate::copy::page::{Element, Node, plain};
use crate::language::Language;
use crate::type_setting::Family;

/// From baseline to baseline, of the size of type.
pub const LEADING: f32 = 1.4;
/// Thickness of the rule over a section.
const RULE: f32 = 1.4;
/// Height of a box to write in: 15 mm.
const BOX: f32 = 42.5;
/// What is kept together on a page where it is no higher.
const TOGETHER: f32 = 330.0;

/// A flow under way.
pub struct Flow<'a> {
    pub setter: &'a Setter,
    pub body: Body,
    pub tags: Tags,
    pub slabs: Vec<Slab>,
    /// Where each link leads.
    pub links: Vec<Link>,
    /// Drawings that are shown more than once, by name.
    pub store: BTreeMap<String, &'a Element>,
    pub language: Language,
    /// Room of what is set now: its left end and width in the column.
    pub x: f32,
    pub width: f32,
    /// White before what comes next.
    pub gap: f32,
    pub colour: Colour,
    pub size: f32,
    sides: Vec<Side>,
    /// Inside a link, which one.
    pub link: Option<usize>,
    pub leaf: Leaf,
}

pub struct Link {
    pub target: String,
    pub words: String,
}

impl<'a> Flow<'a> {
    pub fn new(setter: &'a Setter, body: Body, language: Language) -> Flow<'a> {
        Flow {
            setter,
            body,
            tags: Tags::default(),
            slabs: Vec::new(),
            links: Vec::new(),
            store: BTreeMap::new(),
            language,
            x: 0.0,
            width: body.column,
            gap: 0.0,
            colour: INK,
            size: body.size,
            sides: Vec::new(),
            link: None,
            leaf: Leaf::NONE,
        }
    }

    pub fn look(&self) -> Look {
        Look {
            family: Family::Sans,
            bold: false,
            italic: false,
            size: self.size,
            colour: self.colour,
            strike: false,
            rise: 0.0,
            verbatim: false,
            link: None,
            leaf: Leaf::NONE,
        }
    }

    pub fn gap(&mut self, gap: f32) {
        self.gap = self.gap.max(gap);
    }

    /// Puts a slab below those before; its marks count from the left of the room.
    pub fn push(&mut self, mut slab: Slab) {
        slab.gap = slab.gap.max(std::mem::take(&mut self.gap)) * self.body.white;
        if self.x != 0.0 {
            let x = self.x;
            slab.marks = slab.marks.iter().map(|mark| mark.moved(x, 0.0)).collect();
        }
        slab.sides.iter_mut().for_each(|side| side.x += self.x);
        let mut sides = self.sides.clone();
        sides.append(&mut slab.sides);
        slab.sides = sides;
        self.sides.iter_mut().for_each(|side| side.goes_on = true);
        self.slabs.push(slab);
    }

    /// Everything that is set inside, with something going down beside it.
    pub fn beside(&mut self, side: Side, inside: impl FnOnce(&mut Self)) {
        self.sides.push(Side { x: self.x + side.x, ..side });
        inside(self);
        self.sides.pop();
    }

    /// Everything that is set inside, narrower.
    pub fn inset(&mut self, start: f32, end: f32, inside: impl FnOnce(&mut Self)) {
        let (x, width) = (self.x, self.width);
        let start_side = if self.language.is_rtl() { end } else { start };
        self.x += start_side;
        self.width = (self.width - start - end).max(24.0);
        inside(self);
        (self.x, self.width) = (x, width);
    }

    /// Everything that is set inside, as one slab.
    pub fn stack(&mut self, width: f32, inside: impl FnOnce(&mut Self)) -> Slab {
        let kept = (
            std::mem::take(&mut self.slabs),
            std::mem::replace(&mut self.x, 0.0),
            std::mem::replace(&mut self.width, width.max(12.0)),
            std::mem::take(&mut self.gap),
            std::mem::take(&mut self.sides),
        );
        inside(self);
        let parts = std::mem::replace(&mut self.slabs, kept.0);
        (self.x, self.width, self.gap, self.sides) = (kept.1, kept.2, kept.3, kept.4);
        let mut whole = Slab::default();
        for (n, part) in parts.into_iter().enumerate() {
            let gap = if n == 0 { 0.0 } else { part.gap };
            whole.baseline = whole.baseline.or(part.baseline.map(|baseline| baseline + whole.height + gap));
            let (top, height) = (whole.height + gap, part.height);
            whole.take(part, 0.0, top);
            whole.height = top + height;
        }
        whole
    }

    /// What leads to a table that takes the page takes it too: a heading over one column would seem to belong to that alone.
    pub fn widen_what_leads_here(&mut self) {
        let end = self.slabs.len();
        let from = self.slabs.iter().rposition(|slab| !slab.keep).map_or(0, |last| last + 1);
        let shift = if self.language.is_rtl() { self.body.full - self.body.column } else { 0.0 };
        for slab in self.slabs[from..end].iter_mut().filter(|slab| !slab.wide) {
            slab.wide = true;
            slab.marks = slab.marks.iter().map(|mark| mark.moved(shift, 0.0)).collect();
            // The slab of a section's rule holds nothing else.
            if matches!(slab.bookmark, Some((2, _))) {
                slab.marks.clear();
                slab.path(Leaf::NONE, rounded([0.0, 0.0, self.body.full, RULE], 0.0), Some(INK), None);
            }
        }
    }

    /// Slabs from here on stand in one column, unless they are too high for that.
    pub fn together(&mut self, from: usize) {
        let height: f32 = self.slabs[from.min(self.slabs.len())..].iter().map(|slab| slab.gap + slab.height).sum();
        if height <= TOGETHER && self.slabs.len() > from + 1 {
            let last = self.slabs.len() - 1;
            self.slabs[from..last].iter_mut().for_each(|slab| slab.keep = true);
        }
    }

    pub fn keep(&mut self) {
        if let Some(last) = self.slabs.last_mut() {
            last.keep = true;
        }
    }

    /// Words that lead to what comes next stand with it: the last two of their lines.
    fn lead(&mut self, from: usize, to: &Element) {
        let lines = self.slabs.len() - from;
        let leads = match to.name {
            "ul" | "ol" => !to.is("notes"),
            "dl" | "pre" | "figure" => true,
            // A table that takes the page takes what is kept with it, and no half of a paragraph.
            "table" => lines <= 3,
            "div" if to.is("wide") => lines <= 3,
            "div" => to.is("row") || to.is("comic"),
            _ => false,
        };
        if leads && lines > 0 {
            self.keep();
        }
    }

    pub fn blocks(&mut self, nodes: &'a [Node]) {
        self.mixed(nodes, self.look());
    }

    /// Blocks, and words between them as paragraphs.
    pub fn mixed(&mut self, nodes: &'a [Node], look: Look) {
        let mut from = 0;
        // Where the paragraph began that was set last.
        let mut words = None;
        for (n, node) in nodes.iter().enumerate() {
            if let Node::Element(element) = node
                && is_block(element)
            {
                let between = self.slabs.len();
                self.words_between(&nodes[from..n], look);
                if self.slabs.len() > between {
                    words = Some(between);
                }
                if let Some(words) = words {
                    self.lead(words, element);
                }
                words = (element.name == "p").then_some(self.slabs.len());
                self.block(element);
                from = n + 1;
            }
        }
        self.words_between(&nodes[from..], look);
    }

    fn words_between(&mut self, nodes: &'a [Node], look: Look) {
        let says = |node: &Node| match node {
            Node::Text(text) => !text.trim().is_empty(),
            Node::Element(element) => element.name != "input",
        };
        if nodes.iter().any(says) {
            self.paragraph(nodes, look);
        }
    }

    pub fn block(&mut self, element: &'a Element) {
        if element.name.starts_with("h") && element.name.len() == 2 && element.name != "hr" {
            return self.heading(element);
        }
        match element.name {
            "p" if element.is("word") => {}
            "p" if element.is("sub") => {
                let look = Look { size: self.body.size * 1.35, colour: QUIET, ..self.look() };
                let from = self.slabs.len();
                self.gap(4.0);
                let column = std::mem::replace(&mut self.width, self.body.full);
                self.paragraph(&element.inside, look);
                self.width = column;
                self.slabs[from..].iter_mut().for_each(|slab| slab.wide = true);
                self.gap(16.0);
            }
            "p" if element.is("alt") => {
                let look = Look { italic: true, colour: QUIET, ..self.look() };
                self.paragraph(&element.inside, look);
            }
            "p" if element.is("maker") => self.paragraph(&element.inside, Look { bold: true, colour: INK, ..self.look() }),
            "p" if element.is("write-in") => self.write_in(element),
            "p" => self.paragraph(&element.inside, self.look()),
            "section" => self.grouped(Tag::Section, element),
            "header" | "main" | "div" if element.attributes.is_empty() => self.blocks(&element.inside),
            "div" if element.is("safety") => self.safety(element),
            "div" if element.is("aside") => {
                self.gap(5.0);
                self.tags.open(Tag::BlockQuote);
                self.beside(Side { x: self.start_side(2.0), width: 2.0, colour: LINE, goes_on: false }, |flow| {
                    flow.inset(11.0, 0.0, |flow| flow.blocks(&element.inside));
                });
                self.tags.close();
                self.gap(7.0);
            }
            "div" if element.is("frame") => {
                self.gap(5.0);
                self.beside(Side { x: self.start_side(2.0), width: 2.0, colour: super::HOT, goes_on: false }, |flow| {
                    flow.inset(11.0, 0.0, |flow| flow.blocks(&element.inside));
                });
                self.gap(7.0);
            }
            "div" if element.is("row") => self.row(element),
            "div" if element.is("comic") => self.comic(element),
            "div" => self.spoken(element),
            "nav" => self.contents(element),
            "ol" if element.is("legend") => {}
            "ol" if element.is("notes") => self.notes(element),
            "ol" if element.is("steps") => self.steps(element),
            "ul" | "ol" => self.bullets(element),
            "dl" => self.definitions(element),
            "pre" => self.code(element),
            "table" => self.table(element),
            "figure" => self.figure(element),
            "hr" => {
                self.gap(10.0);
                let mut slab = Slab { height: 0.6, ..Slab::default() };
                slab.path(Leaf::NONE, rounded([0.0, 0.0, self.width, 0.6], 0.0), Some(LINE), None);
                self.push(slab);
                self.gap(10.0);
            }
            "footer" => {
                self.gap(20.0);
                let from = self.slabs.len();
                let mut slab = Slab { height: 1.4, ..Slab::default() };
                slab.path(Leaf::NONE, rounded([0.0, 0.0, self.width, 1.4], 0.0), Some(INK), None);
                self.push(slab);
                self.gap(6.0);
                self.smaller(0.92, QUIET, |flow| {
                    for line in element.elements() {
                        flow.block(line);
                        flow.gap = 0.0;
                    }
                });
                self.together(from);
            }
            _ => self.blocks(&element.inside),
        }
    }

    /// An empty box and its label under it.
    fn write_in(&mut self, element: &'a Element) {
        let from = self.slabs.len();
        self.gap(6.0);
        let mut slab = Slab { height: BOX, ..Slab::default() };
        slab.path(Leaf::NONE, rounded([0.0, 0.0, self.width, BOX], 0.0), None, Some((QUIET, 0.8)));
        self.push(slab);
        self.gap(2.0);
        self.smaller(0.9, QUIET, |flow| flow.paragraph(&element.inside, flow.look()));
        self.together(from);
        self.gap(10.0);
    }

    /// Where something of this width stands at the side that lines begin at.
    pub fn start_side(&self, width: f32) -> f32 {
        if self.language.is_rtl() { self.width - width } else { 0.0 }
    }

    pub fn smaller(&mut self, share: f32, colour: Colour, inside: impl FnOnce(&mut Self)) {
        let kept = (self.size, self.colour);
        (self.size, self.colour) = (self.body.size * share, colour);
        inside(self);
        (self.size, self.colour) = kept;
    }

    fn grouped(&mut self, tag: impl Into<krilla::tagging::TagKind>, element: &'a Element) {
        self.tags.open(tag);
        self.blocks(&element.inside);
        self.tags.close();
    }

    /// Blocks in a language of their own.
    fn spoken(&mut self, element: &'a Element) {
        let own = element.get("lang");
        match Language::from_tag(own).filter(|_| !own.is_empty()) {
            Some(language) => {
                let usual = std::mem::replace(&mut self.language, language);
                let mut tag = Tag::Div;
                tag.set_lang(Some(own.to_owned()));
                self.grouped(tag, element);
                self.language = usual;
            }
            None => self.blocks(&element.inside),
        }
    }

    fn heading(&mut self, element: &'a Element) {
        let level = usize::from(element.name.as_bytes()[1] - b'0');
        let share = [3.0, 1.5, 1.18, 1.0, 1.0, 1.0][level - 1];
        let look = Look { size: self.body.size * share, bold: true, family: Family::Title, ..self.look() };
        let ruled = level == 2;
        self.gap([0.0, 22.0, 15.0, 11.0, 11.0, 11.0][level - 1]);
        let words = clean(&plain(&element.inside));
        let words = words.split_whitespace().collect::<Vec<_>>().join(" ");
        let from = self.slabs.len();
        if ruled {
            let mut rule = Slab { height: 6.0, ..Slab::default() };
            rule.path(Leaf::NONE, rounded([0.0, 0.0, self.width, RULE], 0.0), Some(INK), None);
            self.push(rule);
        }
        self.tags.open(Tag::Hn(NonZeroU16::new(level as u16).unwrap_or(NonZeroU16::MIN), Some(words.clone())));
        let (parts, _) = self.parts(&element.inside, look);
        let width = if level == 1 { self.body.full } else { self.width };
        self.lines(&parts, Manner { width, balanced: true, hyphenate: false, ..self.manner() }, look.size, 1.18);
        self.tags.close();
        let ends = self.slabs.len();
        for slab in &mut self.slabs[from..ends] {
            slab.keep = level > 1;
            slab.wide |= level == 1;
        }
        if let Some(first) = self.slabs.get_mut(from) {
            first.bookmark = Some((level, words));
            first.anchors.push((element.get("id").to_owned(), 0.0));
        }
        self.gap(if level == 1 { 8.0 } else { 5.0 });
    }
}

fn is_block(element: &Element) -> bool {
    matches!(
        element.name,
        "div" | "p" | "ul" | "ol" | "dl" | "pre" | "table" | "figure" | "hr" | "nav" | "section" | "header" | "main" | "footer"
    ) || element.name.len() == 2 && element.name.starts_with('h') && element.name != "hr"
}
