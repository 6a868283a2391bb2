//! Pictures, their callouts and captions, codes.

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use krilla::image::Image;
use krilla::tagging::{ListNumbering, Tag};

use super::drawing::{Drawing, circle, line, pixels, rounded};
use super::flow::Flow;
use super::slab::{Ink, Mark, Slab};
use super::tags::Leaf;
use super::text::{Look, Object, clean};
use super::{INK, LINE, PAPER, QUIET};
use crate::copy::COLUMN;
use crate::copy::page::{Element, Node, written};

/// White at a side of a picture where numbers stand.
const BESIDE: f32 = 16.0;
/// How far a number's middle is from the picture.
const OUT: f32 = 8.5;
/// Between pictures that stand side by side, and panels.
pub const BETWEEN: f32 = 7.0;
/// The most of a page's height that a picture takes.
const TALLEST: f32 = 0.62;

/// What is shown: pixels or outlines, with its proportions.
enum Shown {
    Pixels(Image),
    Outlines,
}

impl<'a> Flow<'a> {
    pub fn figure(&mut self, element: &'a Element) {
        self.gap(6.0);
        let from = self.slabs.len();
        self.tags.open(Tag::Div);
        for part in element.elements() {
            match part.name {
                "div" if part.is("plate") => self.plate(part),
                "figcaption" => self.caption(part),
                "svg" => self.machine_code(part, element.is("bars")),
                _ => self.block(part),
            }
        }
        self.tags.close();
        self.together(from);
        self.gap(10.0);
    }

    /// A picture with its numbers.
    fn plate(&mut self, element: &'a Element) {
        let pads = ["at-left", "at-top", "at-right", "at-bottom"].map(|side| if element.is(side) { BESIDE } else { 0.0 });
        let [left, top, right, bottom] = pads;
        let Some(picture) = element.elements().find(|part| matches!(part.name, "img" | "svg") && !part.is("marks")) else {
            return self.blocks(&element.inside);
        };
        if picture.is("sign") {
            let alone = self.icon(picture, self.body.size * 5.0);
            if let Some(object) = alone {
                let x = if self.language.is_rtl() { self.width - object.width } else { 0.0 };
                let marks = object.marks.iter().map(|mark| mark.moved(x, object.ascent)).collect();
                self.push(Slab { height: object.ascent + object.descent, marks, keep: true, ..Slab::default() });
            }
            return;
        }
        let [wide, high] = ["width", "height"].map(|side| picture.get(side).parse::<f32>().unwrap_or(COLUMN as f32).max(1.0));
        let room = self.width - left - right;
        let share = self.body.column / COLUMN as f32;
        let mut width = (wide * share).min(room);
        let tallest = self.body.height * TALLEST;
        if width * high / wide > tallest {
            width = tallest * wide / high;
        }
        let height = width * high / wide;
        let x = left + if self.language.is_rtl() { room - width } else { 0.0 };
        let mut slab = Slab { height: height + top + bottom, ..Slab::default() };
        let leaf = self.picture_leaf(picture);
        self.shown(picture, [x, top, width, height], leaf, &mut slab);
        if let Some(marks) = element.elements().find(|part| part.is("marks")) {
            self.marks(marks, [x, top, width, height], leaf, &mut slab);
        }
        self.push(slab);
    }

    /// Where the content of a picture belongs: to a figure with its words, or to nothing where it has none.
    pub fn picture_leaf(&mut self, picture: &Element) -> Leaf {
        let alt = [picture.get("alt"), picture.get("aria-label")].concat();
        let alt = clean(alt.trim());
        if alt.is_empty() {
            return Leaf::NONE;
        }
        self.tags.open(Tag::Figure(Some(alt)));
        let leaf = self.tags.leaf();
        self.tags.close();
        leaf
    }

    fn shown(&mut self, picture: &Element, [x, y, width, height]: [f32; 4], leaf: Leaf, slab: &mut Slab) {
        match shown(picture) {
            Some(Shown::Pixels(image)) => {
                slab.marks.push(Mark { leaf, x, y, ink: Ink::Pixels { image, width, height, round: 2.0 } });
            }
            Some(Shown::Outlines) => {
                if let Some(drawing) = self.drawing(picture, width, height, "") {
                    slab.marks.push(Mark { leaf, x, y, ink: Ink::Drawing { drawing, width, height } });
                }
            }
            None => slab.path(Leaf::NONE, rounded([x, y, width, height], 0.0), None, Some((LINE, 0.8))),
        }
    }

    /// Lines, ends and numbers over a picture; each stands at an edge.
    fn marks(&mut self, marks: &'a Element, [x, y, width, height]: [f32; 4], leaf: Leaf, slab: &mut Slab) {
        let across = |percent: &str| x + width * share(percent);
        let down = |percent: &str| y + height * share(percent);
        for (n, group) in marks.elements().enumerate() {
            let Some(leader) = group.elements().find(|part| part.is("leader")) else { continue };
            let from = [across(leader.get("x1")), down(leader.get("y1"))];
            let tip = [across(leader.get("x2")), down(leader.get("y2"))];
            let number =
                group.elements().find(|part| part.is("ball")).and_then(|own| own.elements().find(|part| part.name == "circle"));
            let out = number
                .map_or([0.0, 0.0], |circle| ["cx", "cy"].map(|side| circle.get(side).parse::<f32>().unwrap_or(0.0).signum()));
            let side = |n: usize, given: &str| if given == "0" { 0.0 } else { out[n] * OUT };
            let given = number.map_or(["0", "0"], |circle| ["cx", "cy"].map(|side| circle.get(side)));
            let middle = [from[0] + side(0, given[0]), from[1] + side(1, given[1])];
            slab.path(leaf, line(middle, tip), None, Some((PAPER, 2.8)));
            slab.path(leaf, line(middle, tip), None, Some((INK, 0.9)));
            slab.path(leaf, circle(tip, 1.9), Some(INK), Some((PAPER, 0.9)));
            let leaf = if leaf == Leaf::NONE { self.tags.leaf() } else { leaf };
            slab.marks.extend(ball(self, n + 1, middle, leaf));
        }
    }

    fn caption(&mut self, element: &'a Element) {
        self.keep();
        self.gap(5.0);
        self.tags.open(Tag::Caption);
        let from = self.slabs.len();
        self.smaller(0.9, QUIET, |flow| {
            for node in &element.inside {
                match node {
                    Node::Element(legend) if legend.is("legend") => flow.legend(legend),
                    Node::Element(part) if part.name == "p" => flow.block(part),
                    _ => flow.mixed(std::slice::from_ref(node), flow.look()),
                }
            }
        });
        self.tags.close();
        self.together(from);
    }

    /// What the numbers stand for.
    fn legend(&mut self, element: &'a Element) {
        self.keep();
        self.tags.open(Tag::L(ListNumbering::Decimal));
        self.smaller(0.95, INK, |flow| {
            for (n, item) in element.elements().enumerate() {
                flow.tags.open(Tag::LI);
                let rtl = flow.language.is_rtl();
                let label = |flow: &mut Self, leaf: Leaf| ball(flow, n + 1, [if rtl { 11.0 } else { 6.0 }, -3.1], leaf);
                flow.hung(17.0, label, |flow| {
                    // Its mark stands before the reader's eyes: what leads there on a screen is words.
                    let inside = item.elements().next().map_or(item.inside.as_slice(), |link| link.inside.as_slice());
                    flow.tags.open(Tag::P);
                    let (parts, _) = flow.parts(inside, flow.look());
                    let (manner, size) = (flow.manner(), flow.size);
                    flow.lines(&parts, manner, size, 1.45);
                    flow.tags.close();
                });
                flow.tags.close();
                flow.gap(1.2);
            }
        });
        self.tags.close();
    }

    /// A code for machines: dark modules, as large as a hand-held reader wants them.
    fn machine_code(&mut self, element: &'a Element, bars: bool) {
        let (width, height) = if bars { (self.width.min(170.0), 42.0) } else { (78.0, 78.0) };
        let x = if self.language.is_rtl() { self.width - width } else { 0.0 };
        let mut slab = Slab { height, ..Slab::default() };
        let leaf = self.picture_leaf(element);
        if let Some(drawing) = self.drawing(element, width, height, "") {
            slab.marks.push(Mark { leaf, x, y: 0.0, ink: Ink::Drawing { drawing, width, height } });
        }
        self.push(slab);
    }

    /// A picture that stands in a line, no higher than so much.
    pub fn icon(&mut self, element: &'a Element, high: f32) -> Option<Object> {
        if element.name == "span" {
            return None;
        }
        let [wide, tall] = proportions(element)?;
        let mut height = high;
        let mut width = height * wide / tall;
        if width > self.width {
            (width, height) = (self.width, self.width * tall / wide);
        }
        let descent = if high > self.size * 2.0 { 0.0 } else { height * 0.22 };
        let mut slab = Slab::default();
        let leaf = self.picture_leaf(element);
        self.shown(element, [0.0, descent - height, width, height], leaf, &mut slab);
        Some(Object { width, ascent: height - descent, descent, marks: slab.marks, link: None })
    }

    /// An `svg` of the page, read so large.
    pub fn drawing(&self, element: &Element, width: f32, height: f32, more: &str) -> Option<Drawing> {
        let mut own = element.clone();
        own.attributes.retain(|(name, _)| !matches!(*name, "width" | "height"));
        own.attributes.push(("width", width.to_string()));
        own.attributes.push(("height", height.to_string()));
        own.inside.retain(|node| !matches!(node, Node::Element(text) if text.name == "text"));
        self.whole(&mut own);
        let text = written(&own).replacen("<svg", "<svg xmlns=\"http://www.w3.org/2000/svg\"", 1);
        Drawing::read(&text, more)
    }

    /// Puts what was stored where it is called.
    fn whole(&self, element: &mut Element) {
        element.inside.retain(|node| !matches!(node, Node::Element(text) if text.name == "text"));
        for node in &mut element.inside {
            let Node::Element(inner) = node else { continue };
            if inner.name == "use" {
                let stored = self.store.get(inner.get("href").trim_start_matches('#'));
                if let Some(symbol) = stored {
                    inner.name = "svg";
                    inner.attributes.retain(|(name, _)| *name != "href");
                    inner.attributes.push(("viewBox", symbol.get("viewBox").to_owned()));
                    inner.inside.clone_from(&symbol.inside);
                }
            }
            self.whole(inner);
        }
    }

    /// Pictures side by side, as many as stay legible.
    pub fn row(&mut self, element: &'a Element) {
        let figures: Vec<&Element> = element.elements().collect();
        let most = ((self.width + BETWEEN) / (70.0 + BETWEEN)).floor().max(1.0) as usize;
        // All alike in width, the last of many no larger than the others.
        let rows = figures.len().div_ceil(most).max(1);
        let beside = figures.len().div_ceil(rows).max(1);
        let width = (self.width - BETWEEN * (beside - 1) as f32) / beside as f32;
        for row in figures.chunks(beside) {
            self.gap(6.0);
            let mut whole = Slab::default();
            for (n, figure) in row.iter().enumerate() {
                let slab = self.stack(width, |flow| flow.block(figure));
                let place = if self.language.is_rtl() { beside - 1 - n } else { n };
                whole.height = whole.height.max(slab.height);
                whole.take(slab, place as f32 * (width + BETWEEN), 0.0);
            }
            self.push(whole);
            self.gap(8.0);
        }
    }
}

/// A ball with a number, its middle at a place.
fn ball(flow: &Flow, number: usize, [x, y]: [f32; 2], leaf: Leaf) -> Vec<Mark> {
    let look = Look { bold: true, size: 7.4, colour: PAPER, ..flow.look() };
    let mut ball = Slab::default();
    ball.path(Leaf::NONE, circle([x, y], 6.0), Some(INK), None);
    let mut marks = ball.marks;
    if let Some(set) = flow.label(&number.to_string(), look, leaf) {
        marks.extend(set.marks.iter().map(|mark| mark.moved(x - set.width / 2.0, y + 2.7)));
    }
    marks
}

fn share(percent: &str) -> f32 {
    percent.trim_end_matches('%').parse::<f32>().unwrap_or(0.0) / 100.0
}

fn shown(picture: &Element) -> Option<Shown> {
    if picture.name == "svg" {
        return Some(Shown::Outlines);
    }
    let (kind, data) = picture.get("src").strip_prefix("data:image/")?.split_once(";base64,")?;
    pixels(STANDARD.decode(data).ok()?, kind).map(Shown::Pixels)
}

fn proportions(picture: &Element) -> Option<[f32; 2]> {
    let sides: Vec<f32> = match picture.name {
        "svg" => picture.get("viewBox").split(' ').skip(2).filter_map(|side| side.parse().ok()).collect(),
        _ => ["width", "height"].iter().filter_map(|side| picture.get(side).parse().ok()).collect(),
    };
    match sides.as_slice() {
        [wide, high] if *wide > 0.0 && *high > 0.0 => Some([*wide, *high]),
        _ => None,
    }
}
