//! Whatever hangs from marks: procedures, lists, terms with their meanings, notes; and the list of the sections.

use std::num::NonZeroU16;

use krilla::tagging::{ListNumbering, Tag};

use super::drawing::rounded;
use super::flow::{Flow, LEADING};
use super::slab::{Ink, Mark, Side, Slab};
use super::tags::Leaf;
use super::text::{Look, clean};
use super::{INK, LINE, PAPER, QUIET};
use crate::copy::page::{Element, Node, plain};

/// What hangs a list's text from its marks.
const HANG: f32 = 12.0;
const STEP: f32 = 22.0;
/// Notes that are no higher stand together.
const FEW: f32 = 60.0;
/// Lines from which on a list of sections may be parted.
const LONG: usize = 9;

impl<'a> Flow<'a> {
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

    pub fn steps(&mut self, element: &'a Element) {
        self.tags.open(Tag::L(ListNumbering::Decimal));
        // The words of all steps begin below one another, however many digits their numbers have.
        let first: u64 = element.get("start").parse().unwrap_or(1);
        let longest = element.elements().filter_map(|item| item.get("value").parse().ok()).max().unwrap_or(first);
        let longest = longest.max(first).saturating_add(element.elements().count() as u64).saturating_sub(1);
        let hang = STEP.max(self.size * (longest.to_string().len() as f32 * 0.6 + 1.6));
        let mut number = first;
        for item in element.elements() {
            number = item.get("value").parse().unwrap_or(number);
            self.gap(6.0);
            self.tags.open(Tag::LI);
            let from = self.slabs.len();
            let rtl = self.language.is_rtl();
            let badge = |flow: &mut Self, leaf: Leaf| {
                let size = flow.size;
                let look = Look { bold: true, colour: PAPER, size: size * 0.95, ..flow.look() };
                let Some(words) = flow.label(&number.to_string(), look, leaf) else { return Vec::new() };
                let high = size * 1.62;
                let wide = (words.width + size * 0.7).max(high);
                let left = if rtl { hang - wide } else { 0.0 };
                let mut ball = Slab::default();
                ball.path(Leaf::NONE, rounded([left, -size * 0.36 - high / 2.0, wide, high], high / 2.0), Some(INK), None);
                let mut marks = ball.marks;
                marks.extend(words.marks.iter().map(|mark| mark.moved(left + (wide - words.width) / 2.0, 0.0)));
                marks
            };
            self.hung(hang, badge, |flow| flow.blocks(&item.inside));
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

    pub fn bullets(&mut self, element: &'a Element) {
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
            // Below a picture or the like, more than between words.
            self.gap = match item.elements().last().map(|last| last.name) {
                Some("figure" | "div" | "pre" | "table" | "ul" | "ol") => self.gap.min(7.0),
                _ => self.size * 0.32,
            };
        }
        self.tags.close();
        self.gap(self.size * 0.7);
    }

    pub fn definitions(&mut self, element: &'a Element) {
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

    pub fn notes(&mut self, element: &'a Element) {
        // The first of them stands with the words that they belong to.
        self.keep();
        self.gap(8.0);
        let begin = self.slabs.len();
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
        let last = self.slabs.len() - 1;
        if self.slabs[begin..].iter().map(|slab| slab.gap + slab.height).sum::<f32>() <= FEW {
            self.slabs[begin..last].iter_mut().for_each(|slab| slab.keep = true);
        }
        self.gap(10.0);
    }

    /// The sections, each with its page.
    pub fn contents(&mut self, element: &'a Element) {
        let all = self.slabs.len();
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
        // A long list is parted where columns are alike in height, and never near its ends.
        let last = self.slabs.len().saturating_sub(1);
        if last - all.min(last) < LONG {
            self.together(all);
        }
        for n in all..last {
            self.slabs[n].keep |= n < all + 3 || n + 3 > last;
        }
        self.gap(14.0);
    }
}

/// The state of the box that an item begins with.
fn tick_of(nodes: &[Node]) -> Option<bool> {
    nodes.iter().find_map(|node| match node {
        Node::Element(input) if input.name == "input" => Some(input.attributes.iter().any(|(name, _)| *name == "checked")),
        Node::Element(label) if label.name == "label" => tick_of(&label.inside),
        _ => None,
    })
}
