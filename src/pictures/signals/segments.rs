//! Seven segments: which of them make which letter, and where they lie. Letters as far as they exist; what has no form has none.

use crate::geometry::Rect;

/// The letters and their segments, a = 1, b = 2, c = 4, d = 8, e = 16, f = 32, g = 64: top, upper right, lower right, bottom, lower
/// left, upper left, middle. Digits are CHECKS.md's (common practice); of letters the forms that are told from each other.
const FORMS: [(char, u8); 41] = [
    ('0', 0x3F),
    ('1', 0x06),
    ('2', 0x5B),
    ('3', 0x4F),
    ('4', 0x66),
    ('5', 0x6D),
    ('6', 0x7D),
    ('7', 0x07),
    ('8', 0x7F),
    ('9', 0x6F),
    ('A', 0x77),
    ('b', 0x7C),
    ('C', 0x39),
    ('c', 0x58),
    ('d', 0x5E),
    ('E', 0x79),
    ('F', 0x71),
    ('G', 0x3D),
    ('H', 0x76),
    ('h', 0x74),
    ('I', 0x30),
    ('J', 0x1E),
    ('L', 0x38),
    ('n', 0x54),
    ('O', 0x3F),
    ('o', 0x5C),
    ('P', 0x73),
    ('q', 0x67),
    ('r', 0x50),
    ('S', 0x6D),
    ('t', 0x78),
    ('U', 0x3E),
    ('u', 0x1C),
    ('y', 0x6E),
    ('-', 0x40),
    ('_', 0x08),
    ('=', 0x48),
    ('°', 0x63),
    (' ', 0x00),
    ('−', 0x40),
    ('\u{a0}', 0x00),
];

/// The segments of a letter: as it is written, else in its other case. `None` where seven segments cannot show it.
pub fn of(letter: char) -> Option<u8> {
    let form = |wanted: char| FORMS.iter().find(|(known, _)| *known == wanted).map(|(_, lit)| *lit);
    form(letter).or_else(|| {
        let other = if letter.is_ascii_uppercase() { letter.to_ascii_lowercase() } else { letter.to_ascii_uppercase() };
        form(other)
    })
}

/// Whether a text is one that seven segments show: its letters are written as they show them, or it is a short word in capitals. "Tea" would
/// come out as "tEA", which the reader does not find on the display of a product that says so.
pub fn shows(text: &str) -> bool {
    let letters = |wanted: &dyn Fn(char) -> bool| text.chars().filter(|letter| letter.is_alphabetic()).all(wanted);
    let as_written = letters(&|letter| FORMS.iter().any(|(known, _)| *known == letter));
    let word = text.chars().count() <= LONGEST_WORD && letters(&char::is_uppercase);
    (as_written || word) && places(text).is_some()
}

/// Longest word in capitals that is written for a display of segments.
const LONGEST_WORD: usize = 5;

/// One place of a display.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// A digit; `true`: with a point at its foot.
    Digit(u8, bool),
    Colon,
}

/// The places of a text; `None` when it cannot be shown. A point belongs to the digit before it; one without a digit stands at an empty place.
pub fn places(text: &str) -> Option<Vec<Place>> {
    let mut places: Vec<Place> = Vec::new();
    for letter in text.chars() {
        match letter {
            '.' | ',' => match places.last_mut() {
                Some(Place::Digit(_, point @ false)) => *point = true,
                _ => places.push(Place::Digit(0, true)),
            },
            ':' => places.push(Place::Colon),
            _ => places.push(Place::Digit(of(letter)?, false)),
        }
    }
    Some(places)
}

/// The size of a digit and its parts, in dots.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Digit {
    pub width: i32,
    pub height: i32,
    /// Of a lit segment.
    pub thick: i32,
}

impl Digit {
    /// A digit of that height; odd, so that the middle segment lies in the middle.
    pub fn new(height: i32) -> Digit {
        let height = height.max(9) - (height.max(9) + 1) % 2;
        let thick = ((height + 2) / 7).max(1) | 1;
        Digit { width: (height * 3 / 5).max(thick * 3 + 1) | 1, height, thick }
    }

    /// From one place to the next, without a point.
    pub fn gap(&self) -> i32 {
        self.thick + 1
    }

    /// Where each segment lies, a to g, from the top left of the digit, ends and corners left free.
    pub fn segments(&self) -> [Rect<i32>; 7] {
        let Digit { width, height, thick } = *self;
        let middle = (height - thick) / 2;
        let free = if thick > 2 { 1 } else { 0 };
        let across = |y: i32| Rect::new(thick / 2 + 1 + free, y, width - (thick / 2 + 1 + free) * 2, thick);
        // Along a side from the middle of one cross stroke to that of the next.
        let (upper, lower) = (thick / 2 + 1, middle + thick / 2 + 1 + free);
        let up = |x: i32| Rect::new(x, upper + free, thick, middle + thick / 2 - upper - free * 2);
        let down = |x: i32| Rect::new(x, lower, thick, height - thick / 2 - 1 - lower - free);
        [across(0), up(width - thick), down(width - thick), across(height - thick), down(0), up(0), across(middle)]
    }
}
