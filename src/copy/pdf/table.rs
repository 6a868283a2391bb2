//! Tables: columns as wide as their words ask, the head again wherever a table goes on.

use krilla::tagging::{TableHeaderScope, Tag};

use super::drawing::rounded;
use super::flow::Flow;
use super::slab::Slab;
use super::tags::Leaf;
use super::text::{Align, Look};
use super::{INK, LINE};
use crate::copy::page::{Element, Node, plain};
use crate::type_setting::Family;

const CELL: f32 = 9.0;
const ABOVE: f32 = 3.2;

/// Of a line that is set: what is measured in steps is rounded down.
const SPARE: f32 = 0.3;
/// Rows of a table that is no higher stand together.
const TOGETHER: f32 = 150.0;
/// A row that is no higher does not stand alone at a column's head or foot.
const ROW: f32 = 90.0;
/// No word asks for more: a longer one is parted.
const WORD: f32 = 120.0;
/// Usual width of a picture in a line, of the size of type.
const ICON: f32 = 2.5;
/// Least width of a picture that stands by itself.
const PICTURE: f32 = 48.0;

/// How wide a cell would be.
#[derive(Default)]
struct Asks {
    /// Of the line so far, and of the word at its end.
    line: f32,
    word: f32,
    /// With every line as long as it is.
    natural: f32,
    /// Of the longest word.
    least: f32,
}

impl Asks {
    fn piece(&mut self, width: f32) {
        self.line += width;
        self.word += width;
        self.natural = self.natural.max(self.line);
        self.least = self.least.max(self.word.min(WORD));
    }

    fn white(&mut self, width: f32) {
        self.line += width;
        self.word = 0.0;
    }

    fn end(&mut self) {
        (self.line, self.word) = (0.0, 0.0);
    }
}

impl<'a> Flow<'a> {
    pub fn table(&mut self, table: &'a Element) {
        let rows: Vec<(&Element, bool)> =
            table.elements().flat_map(|part| part.elements().map(move |row| (row, part.name == "thead"))).collect();
        let count = rows.iter().map(|(row, _)| row.elements().count()).max().unwrap_or(0);
        if count == 0 {
            return;
        }
        let mut natural = vec![12.0f32; count];
        let mut least = vec![12.0f32; count];
        for (row, head) in &rows {
            for (n, cell) in row.elements().enumerate() {
                let mut asks = Asks::default();
                self.asked(&cell.inside, Look { bold: *head, ..self.look() }, &mut asks);
                natural[n] = natural[n].max(asks.natural + SPARE);
                least[n] = least[n].max(asks.least + SPARE);
            }
        }
        let white = CELL * (count - 1) as f32;
        let asked: f32 = natural.iter().sum::<f32>() + white;
        let needed: f32 = least.iter().sum::<f32>() + white;
        let narrow = self.width;
        let outer = self.x == 0.0 && self.width >= self.body.column - 0.1;
        let wide = outer && (needed > narrow || count > 2 && asked > narrow * 1.9);
        if wide {
            self.widen_what_leads_here();
            self.width = self.body.full;
        }
        let widths = columns(&natural, &least, self.width - white);
        self.gap(6.0);
        self.tags.open(Tag::Table);
        let from = self.slabs.len();
        let mut headed = None;
        let mut part: Option<bool> = None;
        for (row, head) in rows {
            if part != Some(head) {
                if part.is_some() {
                    self.tags.close();
                }
                match head {
                    true => self.tags.open(Tag::THead),
                    false => self.tags.open(Tag::TBody),
                }
                part = Some(head);
            }
            let at = self.slabs.len();
            self.table_row(row, head, &widths);
            if let Some(slab) = self.slabs.get_mut(at) {
                slab.wide = wide;
                slab.keep = head;
                slab.head = headed.filter(|_| !head);
            }
            if head {
                headed = Some(at);
            }
        }
        if part.is_some() {
            self.tags.close();
        }
        self.tags.close();
        self.width = narrow;
        self.rows_together(from);
        self.gap(10.0);
    }

    /// A short table stands together; of a long one no row stands alone.
    fn rows_together(&mut self, from: usize) {
        let rows = &mut self.slabs[from..];
        let high: f32 = rows.iter().map(|row| row.gap + row.height).sum();
        let body = rows.iter().position(|row| row.head.is_some()).unwrap_or(0);
        let last = rows.len().saturating_sub(1);
        for (n, row) in rows.iter_mut().enumerate().take(last) {
            let ends = n == body || n + 1 == last;
            row.keep |= high <= TOGETHER || ends && row.height <= ROW;
        }
    }

    /// What the words and pictures of a cell ask.
    fn asked(&self, nodes: &[Node], look: Look, asks: &mut Asks) {
        // With the white after its last letter, which the width of a line is without and a line needs.
        let width = |text: &str, look: &Look| {
            let bar = self.setter.width("|", look, self.language);
            (self.setter.width(&format!("{text}|"), look, self.language) - bar).max(0.0)
        };
        for node in nodes {
            let element = match node {
                Node::Text(text) => {
                    for (n, word) in text.split(char::is_whitespace).enumerate() {
                        if n > 0 {
                            asks.white(width("\u{a0}", &look));
                        }
                        // An address goes on in the next line where its parts do.
                        for part in word.split_inclusive(['/', '-']) {
                            asks.piece(width(part, &look));
                            if part.ends_with(['/', '-']) {
                                asks.white(0.0);
                            }
                        }
                    }
                    continue;
                }
                Node::Element(element) => element,
            };
            let inside = &element.inside;
            match element.name {
                "strong" | "b" => self.asked(inside, Look { bold: true, ..look }, asks),
                "sub" | "sup" => self.asked(inside, Look { size: look.size * 0.68, ..look }, asks),
                "code" => self.asked(inside, Look { family: Family::Mono, size: look.size * 0.9, verbatim: true, ..look }, asks),
                "kbd" => asks.piece(self.setter.key(&plain(inside), &look, self.language).width),
                "br" => asks.end(),
                "img" | "svg" => asks.piece(look.size * ICON),
                "figure" | "div" => {
                    asks.end();
                    asks.piece(PICTURE);
                    asks.natural = asks.natural.max(PICTURE * 2.0);
                    asks.end();
                }
                _ => self.asked(inside, look, asks),
            }
        }
    }

    fn table_row(&mut self, row: &'a Element, head: bool, widths: &[f32]) {
        self.tags.open(Tag::TR);
        let mut slab = Slab::default();
        let rtl = self.language.is_rtl();
        let total: f32 = widths.iter().sum::<f32>() + CELL * (widths.len() - 1) as f32;
        let mut x = 0.0;
        let mut cells = row.elements();
        for width in widths {
            let cell = cells.next();
            if cell.is_some_and(|cell| cell.name == "th") {
                self.tags.open(Tag::TH(TableHeaderScope::Column));
            } else {
                self.tags.open(Tag::TD);
            }
            let inner = self.stack(*width, |flow| {
                let Some(cell) = cell else { return };
                let look = Look { bold: head, ..flow.look() };
                let align = match (cell.is("centre"), cell.is("end")) {
                    (true, _) => Align::Centre,
                    (_, true) => Align::End,
                    _ => Align::Start,
                };
                let blocks = cell.elements().any(|inner| matches!(inner.name, "figure" | "div"));
                if blocks {
                    flow.mixed(&cell.inside, look);
                } else {
                    let (parts, _) = flow.parts(&cell.inside, look);
                    let manner = super::text::Manner { align, ..flow.manner() };
                    flow.lines(&parts, manner, look.size, 1.3);
                }
            });
            self.tags.close();
            slab.height = slab.height.max(inner.height);
            slab.baseline = slab.baseline.or(inner.baseline.map(|baseline| baseline + ABOVE));
            let left = if rtl { total - x - width } else { x };
            slab.take(inner, left, ABOVE);
            x += width + CELL;
        }
        slab.height += ABOVE * 2.0;
        let (rule, colour) = if head { (1.2, INK) } else { (0.6, LINE) };
        slab.path(Leaf::NONE, rounded([0.0, slab.height - rule, self.width, rule], 0.0), Some(colour), None);
        self.tags.close();
        self.push(slab);
    }
}

/// Widths that fill the room: what each column asks, made to fit by taking from those that ask for more than their longest word.
fn columns(natural: &[f32], least: &[f32], room: f32) -> Vec<f32> {
    let all: f32 = natural.iter().sum();
    if all <= room {
        // What is left goes to all alike, in shares of what they ask.
        let share = ((room - all) / all.max(1.0)).min(0.6);
        return natural.iter().map(|width| width * (1.0 + share)).collect();
    }
    let floor: f32 = least.iter().sum();
    if floor >= room {
        return least.iter().map(|width| width * room / floor.max(1.0)).collect();
    }
    // Long cells are weighed less than in proportion: a column of sentences does not starve one of words.
    let wish: Vec<f32> = natural.iter().zip(least).map(|(natural, least)| libm::sqrtf((natural - least).max(0.0))).collect();
    let wishes: f32 = wish.iter().sum::<f32>().max(0.001);
    let mut widths: Vec<f32> = least.iter().zip(&wish).map(|(least, wish)| least + (room - floor) * wish / wishes).collect();
    // Nobody gets more than was asked for while others have too little.
    let over: f32 = widths.iter().zip(natural).map(|(width, natural)| (width - natural).max(0.0)).sum();
    if over > 0.0 {
        let lacking: f32 = widths.iter().zip(natural).map(|(width, natural)| (natural - width).max(0.0)).sum::<f32>().max(0.001);
        for (width, natural) in widths.iter_mut().zip(natural) {
            *width = if *width > *natural { *natural } else { *width + over * (natural - *width) / lacking };
        }
    }
    widths
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_fill_their_room_and_no_word_is_cut() {
        for (natural, least, room) in [
            (vec![30.0, 500.0, 60.0], vec![20.0, 40.0, 50.0], 230.0),
            (vec![10.0, 12.0], vec![8.0, 8.0], 200.0),
            (vec![400.0, 400.0], vec![100.0, 30.0], 230.0),
        ] {
            let widths = columns(&natural, &least, room);
            assert!(widths.iter().sum::<f32>() <= room + 0.01, "{widths:?}");
            assert!(widths.iter().zip(&least).all(|(width, least)| width + 0.01 >= *least), "{widths:?}");
        }
        let squeezed = columns(&[900.0, 900.0], &[300.0, 100.0], 200.0);
        assert!((squeezed.iter().sum::<f32>() - 200.0).abs() < 0.01, "{squeezed:?}");
    }
}
