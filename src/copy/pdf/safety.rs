//! Safety messages: band with the signal word, sign and words in a frame, in the colours of ANSI Z535.1.

use krilla::tagging::Tag;

use super::PAPER;
use super::drawing::rounded;
use super::flow::Flow;
use super::slab::{Colour, Ink, Mark, Side, Slab};
use super::tags::Leaf;
use super::text::Look;
use crate::copy::page::Element;

impl<'a> Flow<'a> {
    /// A safety message: band with its word, its sign beside what it says, a frame around both.
    pub fn safety(&mut self, element: &'a Element) {
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

fn hex([r, g, b]: Colour) -> String {
    format!("#{r:02x}{g:02x}{b:02x}")
}
