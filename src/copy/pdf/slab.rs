//! What the flow of a copy is cut into: pieces that no page parts, each with everything that is drawn on it.

use std::rc::Rc;

use krilla::geom::Path;
use krilla::image::Image;
use krilla::text::Font;

use super::drawing::Drawing;
use super::tags::Leaf;

pub type Colour = [u8; 3];

/// A piece of the flow. Lengths in points, from its left and top.
#[derive(Default)]
pub struct Slab {
    /// White before it; none at the head of a column.
    pub gap: f32,
    pub height: f32,
    /// Of its first line, if it has one.
    pub baseline: Option<f32>,
    pub marks: Vec<Mark>,
    /// The next one stands in the same column.
    pub keep: bool,
    /// It takes the whole width of the page.
    pub wide: bool,
    /// Names of places, and how far down they are.
    pub anchors: Vec<(String, f32)>,
    /// Of a section that begins here: level and words.
    pub bookmark: Option<(usize, String)>,
    /// The head of the table that it is a row of: set again where a column begins with it.
    pub head: Option<usize>,
    /// What stands beside and behind it, through the gap before it too.
    pub sides: Vec<Side>,
}

/// Something that goes down the whole slab.
#[derive(Clone, Copy)]
pub struct Side {
    pub x: f32,
    pub width: f32,
    pub colour: Colour,
    /// It began with a slab before this one.
    pub goes_on: bool,
}

pub struct Mark {
    pub leaf: Leaf,
    pub x: f32,
    pub y: f32,
    pub ink: Ink,
}

#[derive(Clone)]
pub enum Ink {
    Text(Run),
    Path {
        path: Rc<Path>,
        fill: Option<Colour>,
        stroke: Option<(Colour, f32)>,
    },
    Drawing {
        drawing: Drawing,
        width: f32,
        height: f32,
    },
    Pixels {
        image: Image,
        width: f32,
        height: f32,
        round: f32,
    },
    /// A box to tick.
    Tick {
        ticked: bool,
        size: f32,
    },
    /// A place that leads elsewhere: number of the link, width, height.
    Link {
        link: usize,
        width: f32,
        height: f32,
    },
    /// The number of the page that a place is on, flush at this x; set when that is known.
    PageOf {
        place: String,
        right: bool,
        size: f32,
    },
}

/// Glyphs of one face on one baseline, in visual order, and the words they show.
#[derive(Clone)]
pub struct Run {
    pub font: Font,
    pub size: f32,
    pub colour: Colour,
    pub text: String,
    pub glyphs: Vec<Placed>,
    /// Where the last glyph's room ends.
    pub end: f32,
    /// In percent of the height.
    pub slant: u8,
    pub heavier: bool,
    /// What it says, where its glyphs do not: characters that no face has.
    pub instead: bool,
    /// A line around its letters.
    pub edge: Option<(Colour, f32)>,
    /// Degrees by which it is turned, around a place on the slab.
    pub turn: Option<(f32, [f32; 2])>,
}

#[derive(Clone)]
pub struct Placed {
    pub id: u32,
    pub x: f32,
    pub y: f32,
    pub bytes: std::ops::Range<usize>,
}

impl Slab {
    pub fn path(&mut self, leaf: Leaf, path: Option<Path>, fill: Option<Colour>, stroke: Option<(Colour, f32)>) {
        if let Some(path) = path {
            self.marks.push(Mark { leaf, x: 0.0, y: 0.0, ink: Ink::Path { path: Rc::new(path), fill, stroke } });
        }
    }

    /// Takes over all of another one, so far to the right and down.
    pub fn take(&mut self, other: Slab, x: f32, y: f32) {
        for side in other.sides {
            let rect = [x + side.x, y, side.width, other.height];
            self.path(Leaf::NONE, super::drawing::rounded(rect, 0.0), Some(side.colour), None);
        }
        self.marks.extend(other.marks.iter().map(|mark| mark.moved(x, y)));
        self.anchors.extend(other.anchors.into_iter().map(|(name, down)| (name, down + y)));
        if self.bookmark.is_none() {
            self.bookmark = other.bookmark;
        }
    }
}

impl Mark {
    /// The same elsewhere.
    pub fn moved(&self, x: f32, y: f32) -> Mark {
        let mut ink = self.ink.clone();
        if let Ink::Text(Run { turn: Some((_, around)), .. }) = &mut ink {
            *around = [around[0] + x, around[1] + y];
        }
        Mark { leaf: self.leaf, x: self.x + x, y: self.y + y, ink }
    }
}
