//! Codes for machines as outlines, and what they say as text.

use super::{Writing, links};
use crate::lengths::{Dots, Resolution};
use crate::manual::document::Symbology;
use crate::manual::source::Span;
use crate::pictures::Error;
use crate::pictures::codes::{self, Code, CodeRoom};

/// A screen has room for any code: as many modules as a symbol of the largest version has with its quiet zone (ISO/IEC 18004).
const ROOM: i32 = 177 + 8;
/// Of bars, modules.
const LONGEST: i32 = 2000;

impl Writing<'_> {
    pub(super) fn qr(&mut self, data: &str, span: Span) {
        self.code("QR", "code qr", data, |room| codes::qr(data, &CodeRoom { width: Dots(ROOM), ..room }), span);
    }

    pub(super) fn barcode(&mut self, symbology: Symbology, data: &str, span: Span) {
        let room = |room: CodeRoom| CodeRoom { width: Dots(LONGEST), ..room };
        match symbology {
            Symbology::Code128 => self.code("Code 128", "code bars", data, |own| codes::code128(data, &room(own)), span),
            Symbology::Ean13 => self.code("EAN-13", "code bars", data, |own| codes::ean13(data, &room(own)), span),
        }
    }

    fn code(&mut self, kind: &str, class: &'static str, data: &str, make: impl Fn(CodeRoom) -> Result<Code, Error>, span: Span) {
        // A code that holds a value of a unit's is on the unit's own strip.
        if data.contains(&self.units) {
            return self.page.element("p", &[("class", "unit")], data);
        }
        let room = CodeRoom { width: Dots(0), resolution: Resolution::EIGHT, module: Some(Dots(1)) };
        self.page.open("figure", &[("class", class)]);
        match make(room) {
            Ok(code) => {
                let view = format!("0 0 {} {}", code.bitmap.width(), code.bitmap.height());
                let attributes = [
                    ("viewBox", view.as_str()),
                    ("role", "img"),
                    ("aria-label", kind),
                    ("shape-rendering", "crispEdges"),
                    ("preserveAspectRatio", if class == "code qr" { "xMidYMid" } else { "none" }),
                ];
                self.page.open("svg", &attributes);
                self.page.element("path", &[("d", &dark(&code))], "");
                self.page.close();
                self.page.open("figcaption", &[]);
                match links::followed(data.trim()) {
                    Some(address) => self.page.element("a", &[("href", &address)], data),
                    None => self.page.text(data),
                }
                self.page.close();
            }
            Err(error) => {
                self.lack(if data.is_empty() { kind } else { data }, &error.to_string());
                self.note(error.remark(span));
            }
        }
        self.page.close();
    }
}

/// Its dark modules, row by row; rows that are alike are one.
fn dark(code: &Code) -> String {
    let (width, height) = (code.bitmap.width() as i32, code.bitmap.height() as i32);
    let row = |y: i32| -> Vec<bool> { (0..width).map(|x| code.bitmap.get(x, y)).collect() };
    let mut path = String::new();
    let mut y = 0;
    while y < height {
        let this = row(y);
        let high = (y..height).take_while(|&below| row(below) == this).count() as i32;
        let mut x = 0;
        while x < width {
            let wide = (x..width).take_while(|&at| this[at as usize]).count() as i32;
            if wide > 0 {
                path.push_str(&format!("M{x} {y}h{wide}v{high}h-{wide}z"));
            }
            x += wide.max(1);
        }
        y += high;
    }
    path
}
