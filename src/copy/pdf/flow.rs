//! From the elements of the page to slabs, one below the other: what the style sheet is to a browser.

use std::collections::BTreeMap;
use std::num::NonZeroU16;
use std::rc::Rc;

use krilla::tagging::{ListNumbering, Tag};

use super::drawing::{circle, rounded};
use super::slab::{Colour, Ink, Mark, Side, Slab};
use super::tags::{Leaf, Tags};
use super::text::{Align, Look, Manner, Object, Part, Set, Setter, clean};
use super::{Body, INK, LINE, LINK, PAPER, QUIET, SOFT};
use crate::copy::page::{Element, Node};
use crate::language::Language;
use crate::type_setting::Family;

/// From baseline to baseline, of the size of type.
const LEADING: f32 = 1.4;
/// What hangs a list's text from its marks.
const HANG: f32 = 12.0;
const STEP: f32 = 22.0;
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
    gap: f32,
    pub colour: Colour,
    pub size: f32,
    sides: Vec<Side>,
    /// Inside a link, which one.
    link: Option<usize>,
    leaf: Leaf,
    /// The paragraph is pictures only.
    alone: bool,
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
            alone: false,
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

    pub fn blocks(&mut self, nodes: &'a [Node]) {
        self.mixed(nodes, self.look());
    }

    /// Blocks, and words between them as paragraphs.
    pub fn mixed(&mut self, nodes: &'a [Node], look: Look) {
        let mut from = 0;
        for (n, node) in nodes.iter().enumerate() {
            if let Node::Element(element) = node
                && is_block(element)
            {
                self.words_between(&nodes[from..n], look);
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
                self.paragraph(&element.inside, look);
                self.slabs[from..].iter_mut().for_each(|slab| slab.wide = true);
                self.gap(16.0);
            }
            "p" if element.is("alt") => {
                let look = Look { italic: true, colour: QUIET, ..self.look() };
                self.paragraph(&element.inside, look);
            }
            "p" if element.is("maker") => self.paragraph(&element.inside, Look { bold: true, colour: INK, ..self.look() }),
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

    /// Where something of this width stands at the side that lines begin at.
    fn start_side(&self, width: f32) -> f32 {
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
            rule.path(Leaf::NONE, rounded([0.0, 0.0, self.width, 1.4], 0.0), Some(INK), None);
            self.push(rule);
        }
        self.tags.open(Tag::Hn(NonZeroU16::new(level as u16).unwrap_or(NonZeroU16::MIN), Some(words.clone())));
        let (parts, _) = self.parts(&element.inside, look);
        self.lines(&parts, Manner { balanced: true, hyphenate: false, ..self.manner() }, look.size, 1.18);
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
        self.alone = plain(nodes).trim().is_empty();
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
                    // What stands without words is looked at by itself.
                    let high = if self.alone { 2.3 } else { 1.35 };
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

    /// A mark hangs before what is set inside; `mark` is given the room's width and makes it from its leaf.
    pub fn hung(&mut self, hang: f32, mark: impl FnOnce(&mut Self, Leaf) -> Vec<Mark>, inside: impl FnOnce(&mut Self)) {
        self.tags.open(Tag::Lbl);
        let leaf = self.tags.leaf();
        let marks = mark(self, leaf);
        self.tags.close();
        let from = self.slabs.len();
        self.tags.open(Tag::LBody);
        self.inset(hang, 0.0, inside);
        self.tags.close();
        let (above, _) = self.setter.heights(&self.look());
        if self.slabs.len() == from {
            self.push(Slab { height: self.size * LEADING, ..Slab::default() });
        }
        let rtl = self.language.is_rtl();
        let x = if rtl { self.x + self.width - hang } else { self.x };
        if let Some(slab) = self.slabs.get_mut(from) {
            let base = slab.baseline.unwrap_or(above + 2.0);
            slab.marks.splice(0..0, marks.into_iter().map(|mark| mark.moved(x, base)));
        }
    }

    /// Words of a mark, on its baseline.
    pub fn label(&self, text: &str, look: Look, leaf: Leaf) -> Option<Set> {
        self.setter.one(&[Part::Text(text.to_owned(), Look { leaf, ..look })], self.language)
    }

    fn steps(&mut self, element: &'a Element) {
        self.tags.open(Tag::L(ListNumbering::Decimal));
        let mut number: u64 = element.get("start").parse().unwrap_or(1);
        for item in element.elements() {
            number = item.get("value").parse().unwrap_or(number);
            self.gap(6.0);
            self.tags.open(Tag::LI);
            let from = self.slabs.len();
            let rtl = self.language.is_rtl();
            let badge = |flow: &mut Self, leaf: Leaf| {
                let size = flow.size;
                let look = Look { bold: true, colour: PAPER, size: size * 0.95, ..flow.look() };
                let mut marks = Vec::new();
                let Some(words) = flow.label(&number.to_string(), look, leaf) else { return marks };
                let high = size * 1.62;
                let wide = (words.width + size * 0.7).max(high);
                let left = if rtl { STEP - wide } else { 0.0 };
                let ball = rounded([left, -size * 0.36 - high / 2.0, wide, high], high / 2.0);
                marks.extend(ball.map(|path| Mark {
                    leaf: Leaf::NONE,
                    x: 0.0,
                    y: 0.0,
                    ink: Ink::Path { path: Rc::new(path), fill: Some(INK), stroke: None },
                }));
                marks.extend(words.marks.iter().map(|mark| mark.moved(left + (wide - words.width) / 2.0, 0.0)));
                marks
            };
            self.hung(STEP.max(self.size * (number.to_string().len() as f32 * 0.6 + 1.6)), badge, |flow| {
                flow.blocks(&item.inside)
            });
            if self.slabs.len() - from <= 3 {
                self.together(from);
            }
            self.tags.close();
            self.gap(6.0);
            number = number.saturating_add(1);
        }
        self.tags.close();
        self.gap(8.0);
    }

    fn bullets(&mut self, element: &'a Element) {
        let ticks = element.is("ticks");
        self.tags.open(Tag::L(if ticks { ListNumbering::None } else { ListNumbering::Disc }));
        for item in element.elements() {
            self.tags.open(Tag::LI);
            let ticked = tick_of(&item.inside);
            let rtl = self.language.is_rtl();
            let hang = if ticks { HANG + 5.0 } else { HANG };
            let mark = |flow: &mut Self, leaf: Leaf| match ticked {
                Some(ticked) => {
                    let x = if rtl { hang - flow.size } else { 0.0 };
                    vec![Mark { leaf, x, y: 0.0, ink: Ink::Tick { ticked, size: flow.size } }]
                }
                None => {
                    let at = if rtl { hang - 5.0 } else { 2.0 };
                    let words = flow.label("•", flow.look(), leaf);
                    words.into_iter().flat_map(|set| set.marks).map(|mark| mark.moved(at, 0.0)).collect()
                }
            };
            self.hung(hang, mark, |flow| {
                let inside: &'a [Node] = match item.inside.as_slice() {
                    [Node::Element(label), ..] if label.name == "label" && item.inside.len() == 1 => &label.inside,
                    inside => inside,
                };
                flow.blocks(inside);
            });
            self.tags.close();
            self.gap = self.size * 0.32;
        }
        self.tags.close();
        self.gap(self.size * 0.7);
    }

    fn definitions(&mut self, element: &'a Element) {
        self.tags.open(Tag::L(ListNumbering::None));
        let mut open = false;
        for part in element.elements() {
            if part.name == "dt" {
                if open {
                    self.tags.close();
                }
                self.tags.open(Tag::LI);
                open = true;
                self.gap(4.0);
                self.tags.open(Tag::Lbl);
                let look = Look { bold: true, ..self.look() };
                let (parts, _) = self.parts(&part.inside, look);
                self.lines(&parts, self.manner(), look.size, LEADING);
                self.tags.close();
                self.keep();
                self.gap(1.0);
            } else {
                self.tags.open(Tag::LBody);
                self.beside(Side { x: self.start_side(1.2), width: 1.2, colour: LINE, goes_on: false }, |flow| {
                    flow.inset(9.0, 0.0, |flow| flow.blocks(&part.inside));
                });
                self.tags.close();
                self.gap(4.0);
            }
        }
        if open {
            self.tags.close();
        }
        self.tags.close();
        self.gap(8.0);
    }

    fn code(&mut self, element: &'a Element) {
        let text = clean(&plain(&element.inside));
        let size = self.size * 0.84;
        self.gap(4.0);
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
            flow.keep();
            flow.push(Slab { height: 5.0, ..Slab::default() });
        });
        self.tags.close();
        self.tags.close();
        self.gap(9.0);
    }

    fn notes(&mut self, element: &'a Element) {
        self.gap(8.0);
        let mut rule = Slab { height: 0.6, keep: true, ..Slab::default() };
        let third = self.width / 3.0;
        rule.path(Leaf::NONE, rounded([self.start_side(third), 0.0, third, 0.6], 0.0), Some(LINE), None);
        self.push(rule);
        self.gap(4.0);
        self.tags.open(Tag::L(ListNumbering::Decimal));
        self.smaller(0.85, QUIET, |flow| {
            for item in element.elements() {
                let from = flow.slabs.len();
                let number = item.get("value").to_owned();
                flow.tags.open(Tag::LI);
                let wide = flow.size * (1.0 + 0.6 * number.len() as f32);
                let label = |flow: &mut Self, leaf: Leaf| {
                    let Some(set) = flow.label(&number, Look { bold: true, ..flow.look() }, leaf) else { return Vec::new() };
                    let at = if flow.language.is_rtl() { wide - set.width } else { 0.0 };
                    set.marks.iter().map(|mark| mark.moved(at, 0.0)).collect()
                };
                flow.hung(wide, label, |flow| {
                    flow.tags.open(Tag::Note);
                    flow.blocks(&item.inside);
                    flow.tags.close();
                });
                flow.tags.close();
                flow.gap = 1.5;
                if let Some(first) = flow.slabs.get_mut(from).filter(|_| !item.get("id").is_empty()) {
                    first.anchors.push((item.get("id").to_owned(), 0.0));
                }
            }
        });
        self.tags.close();
        self.gap(10.0);
    }

    /// The sections, each with its page.
    fn contents(&mut self, element: &'a Element) {
        for part in element.elements() {
            if part.name != "ol" {
                let look = Look { bold: true, colour: QUIET, size: self.body.size * 0.9, ..self.look() };
                self.tags.open(Tag::Hn(NonZeroU16::new(2).unwrap_or(NonZeroU16::MIN), Some(clean(&plain(&part.inside)))));
                let (parts, _) = self.parts(&part.inside, look);
                self.lines(&parts, self.manner(), look.size, LEADING);
                self.tags.close();
                self.keep();
                self.gap(2.0);
                continue;
            }
            self.tags.open(Tag::TOC);
            for item in part.elements() {
                self.tags.open(Tag::TOCI);
                let from = self.slabs.len();
                self.smaller(0.95, INK, |flow| {
                    let (parts, _) = flow.parts(&item.inside, flow.look());
                    flow.inset(0.0, 26.0, |flow| flow.lines(&parts, flow.manner(), flow.size, 1.5));
                });
                self.tags.close();
                let place =
                    item.elements().next().map(|link| link.get("href").trim_start_matches('#').to_owned()).unwrap_or_default();
                let size = self.body.size * 0.95;
                let right = !self.language.is_rtl();
                let x = if right { self.x + self.width } else { self.x };
                if self.slabs.len() > from
                    && let Some(last) = self.slabs.last_mut()
                {
                    let y = last.baseline.unwrap_or(size);
                    last.marks.push(Mark { leaf: Leaf::NONE, x, y, ink: Ink::PageOf { place, right, size } });
                }
            }
            self.tags.close();
        }
        self.gap(14.0);
    }

    /// A safety message: band with its word, its sign beside what it says, a frame around both.
    fn safety(&mut self, element: &'a Element) {
        let (signal, word): (Colour, Colour) = match element.get("class").rsplit(' ').next() {
            Some("danger") => ([0xc1, 0x12, 0x1f], PAPER),
            Some("warning") => ([0xf0, 0x7b, 0x05], [0, 0, 0]),
            Some("caution") => ([0xff, 0xd1, 0x00], [0, 0, 0]),
            _ => ([0x0a, 0x58, 0xa6], PAPER),
        };
        self.gap(7.0);
        let from = self.slabs.len();
        self.tags.open(Tag::Div);
        let width = self.width;
        let side = |x: f32| Side { x, width: 1.8, colour: signal, goes_on: false };
        for part in element.elements() {
            if part.is("word") {
                self.tags.open(Tag::P);
                let mut band = Slab { height: self.size * 2.0, ..Slab::default() };
                band.path(Leaf::NONE, rounded([0.0, 0.0, width, band.height], 0.0), Some(signal), None);
                let rtl = self.language.is_rtl();
                let mut x = 9.0;
                let triangle = part.elements().find(|inner| inner.name == "svg");
                let high = self.size * 1.3;
                if let Some(triangle) = triangle {
                    let left = if rtl { width - x - high * 1.1 } else { x };
                    let colours = format!(
                        ".solid{{fill:{0};stroke:{0};stroke-width:1.5;stroke-linejoin:round}}.hollow{{fill:none;stroke:{1};stroke-width:2.2;stroke-linecap:round}}",
                        hex(word),
                        hex(signal)
                    );
                    if let Some(drawing) = self.drawing(triangle, high * 1.1, high, &colours) {
                        let ink = Ink::Drawing { drawing, width: high * 1.1, height: high };
                        band.marks.push(Mark { leaf: Leaf::NONE, x: left, y: (band.height - high) / 2.0, ink });
                    }
                    x += high * 1.1 + 5.0;
                }
                let look = Look { bold: true, size: self.size * 1.15, colour: word, ..self.look() };
                let strong = part
                    .elements()
                    .find(|inner| inner.name == "strong")
                    .map(|strong| strong.inside.as_slice())
                    .unwrap_or_default();
                let (parts, _) = self.parts(strong, look);
                if let Some(set) = self.setter.one(&parts, self.language) {
                    let left = if rtl { width - x - set.width } else { x };
                    let down = band.height / 2.0 + look.size * 0.36;
                    band.marks.extend(set.marks.iter().map(|mark| mark.moved(left, down)));
                    band.baseline = Some(down);
                }
                self.push(band);
                self.keep();
                self.tags.close();
            } else {
                self.beside(side(0.0), |flow| {
                    flow.beside(side(width - 1.8), |flow| {
                        flow.push(Slab { height: 6.0, keep: true, ..Slab::default() });
                        flow.inset(10.0, 10.0, |flow| flow.said(part));
                        flow.keep();
                        flow.gap = 0.0;
                        flow.push(Slab { height: 7.0, keep: true, ..Slab::default() });
                    });
                });
            }
        }
        let mut low = Slab { height: 1.8, ..Slab::default() };
        low.path(Leaf::NONE, rounded([0.0, 0.0, width, 1.8], 0.0), Some(signal), None);
        self.gap = 0.0;
        self.push(low);
        self.tags.close();
        self.together(from);
        self.gap(9.0);
    }

    /// What a safety message says, beside its sign.
    fn said(&mut self, element: &'a Element) {
        let sign = element.elements().find(|part| matches!(part.name, "svg" | "img"));
        let rest = element.elements().filter(|part| part.name == "div" && !part.is("frame"));
        let object = sign.and_then(|sign| self.icon(sign, self.size * 4.2));
        let Some(object) = object else { return self.blocks(&element.inside) };
        let room = object.width + 9.0;
        let inside: Vec<&Element> = rest.collect();
        let width = self.width;
        let mut slab = self.stack(width - room, |flow| inside.into_iter().for_each(|part| flow.blocks(&part.inside)));
        let rtl = self.language.is_rtl();
        let (own, text) = if rtl { (width - object.width, 0.0) } else { (0.0, room) };
        slab.marks = slab.marks.iter().map(|mark| mark.moved(text, 0.0)).collect();
        let height = object.ascent + object.descent;
        let down = object.ascent;
        // The sign is read first.
        slab.marks.splice(0..0, object.marks.iter().map(|mark| mark.moved(own, down)));
        slab.height = slab.height.max(height);
        self.push(slab);
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

/// The words of elements, without pictures.
pub fn plain(nodes: &[Node]) -> String {
    let words = |node: &Node| match node {
        Node::Text(text) => text.clone(),
        Node::Element(element) if element.name == "br" => " ".to_owned(),
        Node::Element(element) => plain(&element.inside),
    };
    nodes.iter().map(words).collect()
}

fn is_block(element: &Element) -> bool {
    matches!(
        element.name,
        "div" | "p" | "ul" | "ol" | "dl" | "pre" | "table" | "figure" | "hr" | "nav" | "section" | "header" | "main" | "footer"
    ) || element.name.len() == 2 && element.name.starts_with('h') && element.name != "hr"
}

/// The state of the box that an item begins with.
fn tick_of(nodes: &[Node]) -> Option<bool> {
    nodes.iter().find_map(|node| match node {
        Node::Element(input) if input.name == "input" => Some(input.attributes.iter().any(|(name, _)| *name == "checked")),
        Node::Element(label) if label.name == "label" => tick_of(&label.inside),
        _ => None,
    })
}

pub fn hex([r, g, b]: Colour) -> String {
    format!("#{r:02x}{g:02x}{b:02x}")
}

/// A ball with a number, its middle at a place.
pub fn ball(flow: &Flow, number: usize, [x, y]: [f32; 2], leaf: Leaf) -> Vec<Mark> {
    let look = Look { bold: true, size: 7.4, colour: PAPER, ..flow.look() };
    let path = circle([x, y], 6.0);
    let ink = path.map(|path| Ink::Path { path: Rc::new(path), fill: Some(INK), stroke: None });
    let mut marks: Vec<Mark> = ink
        .map(|ink| Mark { leaf: if leaf == Leaf::NONE { leaf } else { Leaf::NONE }, x: 0.0, y: 0.0, ink })
        .into_iter()
        .collect();
    if let Some(set) = flow.label(&number.to_string(), look, leaf) {
        marks.extend(set.marks.iter().map(|mark| mark.moved(x - set.width / 2.0, y + 2.7)));
    }
    marks
}
