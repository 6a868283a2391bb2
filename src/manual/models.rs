//! What a manual says of figures that are drawn from models: which parts, from where, how taken apart. Knows no dot and no triangle.

use super::source::Span;

/// A word of the writer and where it stands.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Named {
    pub name: String,
    pub span: Span,
}

/// Where the viewer stands, in thousandths of a degree: walked to the right from the front, above the horizon.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct View {
    pub turn: i32,
    pub tilt: i32,
}

/// asin(1/sqrt(3)): ISO 5456-3's isometric view.
const CORNER: i32 = 35_264;

impl Default for View {
    /// `front-right-above`
    fn default() -> View {
        View { turn: 45_000, tilt: CORNER }
    }
}

impl View {
    /// A view in words: one, two or three of front, back, left, right, above, below, none with its opposite.
    pub fn named(words: &str) -> Option<View> {
        let mut toward = [0i32; 3];
        for word in words.split('-') {
            let (axis, side) = match word {
                "front" => (1, -1),
                "back" => (1, 1),
                "left" => (0, -1),
                "right" => (0, 1),
                "above" => (2, 1),
                "below" => (2, -1),
                _ => return None,
            };
            if toward[axis] != 0 {
                return None;
            }
            toward[axis] = side;
        }
        let turn = match (toward[0], toward[1]) {
            (0, 0 | -1) => 0,
            (1, -1) => 45_000,
            (1, 0) => 90_000,
            (1, 1) => 135_000,
            (0, _) => 180_000,
            (_, 1) => -135_000,
            (_, 0) => -90_000,
            _ => -45_000,
        };
        let level = toward[0].abs() + toward[1].abs();
        let tilt = toward[2] * [90_000, 45_000, CORNER][level as usize];
        Some(View { turn, tilt: if toward[2] == 0 { 0 } else { tilt } })
    }
}

/// Thousandths of a millimetre.
pub type Move = [i64; 3];

#[derive(Clone, Debug, Default, PartialEq, Eq, Hash)]
pub enum Explode {
    #[default]
    Together,
    Auto,
    ByHand(Vec<(Named, Move)>),
}

#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct PartCallout {
    pub part: Named,
    pub label: String,
}

/// A step of an assembly, with all steps of it: the view and the scale are those of the whole.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Stage {
    pub steps: Vec<StageStep>,
    /// Which of them is shown, from 0.
    pub at: usize,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct StageStep {
    pub add: Vec<Named>,
    /// Where the parts come from, relative to their places; `None`: the way that is free.
    pub from: Option<Move>,
    pub zoom: Option<Named>,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn views_have_words() {
        assert_eq!(View::named("front"), Some(View { turn: 0, tilt: 0 }));
        assert_eq!(View::named("front-right-above"), Some(View::default()));
        assert_eq!(View::named("above-right-front"), Some(View::default()));
        assert_eq!(View::named("above"), Some(View { turn: 0, tilt: 90_000 }));
        assert_eq!(View::named("back-left"), Some(View { turn: -135_000, tilt: 0 }));
        assert_eq!(View::named("front-below"), Some(View { turn: 0, tilt: -45_000 }));
        for wrong in ["", "front-back", "front-front", "top", "left-right-above"] {
            assert_eq!(View::named(wrong), None, "{wrong}");
        }
    }
}
