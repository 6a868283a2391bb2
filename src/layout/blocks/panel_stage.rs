//! The stage of a panel: where its picture lies on it, where its balloons are wanted, and how much it must grow for all that is said.
//!
//! Knows what was drawn and written, and nothing of how it is painted.

use std::sync::Arc;

use super::ground::{Above, CLEARANCE, Care, Ground};
use super::lettering::Way;
use super::staging::{self, Place, Stage, Wanted};
use crate::bitmap::Bitmap;
use crate::geometry::{Point, Rect, Sides, Size};
use crate::lengths::Dots;
use crate::manual::document::{BalloonKind, ComicPanel, Permille};

/// What comes onto the stage of a panel.
pub struct Cast<'a> {
    pub picture: Option<&'a Shown>,
    /// What balloons may stand on.
    pub ground: Option<&'a Ground>,
    /// The ways in which each balloon can be set.
    pub balloons: &'a [Vec<Way>],
    /// Whether a caption stands above.
    pub captioned: bool,
}

/// A picture on the stage of its panel: its dots, where its left edge stands, and the part of it that is shown, in thousandths.
pub struct Shown {
    pub bitmap: Arc<Bitmap>,
    pub x: i32,
    pub crop: Rect<i32>,
}

impl Shown {
    /// Whether it ends above in something that it shows.
    pub fn is_cut_off(&self) -> bool {
        Above::of(&self.bitmap) == Above::Shown
    }
}

/// The white between a balloon and the frame of its panel, dots.
const INSET: i32 = 4;

/// From thousandths of the picture, or of the stage where there is none, to dots on the stage.
pub fn on_stage(picture: Option<&Shown>, natural: Size<i32>, grown: i32, at: Point<i32>) -> Point<i32> {
    let Some(picture) = picture else {
        let part = |side: i32, share: Permille| (i64::from(side) * i64::from(share) / 1000) as i32;
        return Point::new(part(natural.width, at.x), part(natural.height, at.y) + grown);
    };
    let (width, height) = (picture.bitmap.width() as i32, picture.bitmap.height() as i32);
    let Rect { x: left, y: top, width: share_w, height: share_h } = picture.crop;
    let x = (at.x - left).clamp(0, share_w) * width / share_w.max(1);
    let y = (at.y - top).clamp(0, share_h) * height / share_h.max(1);
    Point::new(picture.x + x, grown + natural.height - height + y)
}

/// A way to place all balloons of a panel.
type Placing<'a> = dyn Fn(&[Wanted], &Stage) -> Option<Vec<Place>> + 'a;

/// Where balloons are wanted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Wish {
    /// Where the writer put them.
    Written,
    /// Under each other from the top.
    Top,
    /// From the top too, each over who speaks.
    Over,
}

pub struct Staged {
    /// How far above the picture the stage begins: room to speak in, dots.
    pub grown: i32,
    pub places: Vec<Place>,
    /// Of the least clean of them.
    pub care: Care,
    wish: Wish,
}

/// More text than room: the panel grows until every balloon has its place, off what is drawn if a panel that is as much higher as all its
/// balloons together allows it, else anywhere. `border` is how
/// thick the frame is: what crosses it covers it at the sides, and stands half out of it above and below; `free` is by how much it may grow
/// at no cost.
pub fn stage_all(cast: &Cast, panel: &ComicPanel, natural: Size<i32>, border: Dots, free: Dots) -> Staged {
    let ground = cast.ground;
    let on = |grown: i32, wish: Wish, budget: i64, places: &Placing| {
        let on_stage = |at| on_stage(cast.picture, natural, grown, at);
        let mut taken = INSET;
        let wanted: Vec<Wanted> = panel
            .balloons
            .iter()
            .zip(cast.balloons)
            .map(|(balloon, ways)| {
                let at = on_stage(balloon.at);
                // In a panel that grew the balloons go up into the new room; raised ones stand under each other from the top.
                let half = ways.iter().map(|way| way.shape.half.height).min().unwrap_or(0);
                let high = (at.y - grown).max(0);
                let high = if wish == Wish::Written { high } else { high.min(taken + half) };
                taken += half * 2 + CLEARANCE;
                let out = ways.iter().map(|way| way.shape.half.height).min().unwrap_or(0) + border.0;
                // A caption stands at the top: nothing covers it.
                let above = if cast.captioned { 0 } else { out };
                let speaker = balloon.tail.filter(|_| balloon.kind != BalloonKind::Sound).map(on_stage);
                let across = speaker.filter(|_| wish == Wish::Over).map_or(at.x, |speaker| speaker.x);
                Wanted {
                    kind: balloon.kind,
                    beyond: if balloon.sound.cross {
                        Sides { left: border.0 + INSET, top: above, right: border.0 + INSET, bottom: out }
                    } else {
                        Sides::default()
                    },
                    shapes: ways.iter().map(|way| way.shape).collect(),
                    at: Point::new(across, high),
                    written: at,
                    speaker,
                }
            })
            .collect();
        let origin = |picture: &Shown| Point::new(picture.x, grown + natural.height - picture.bitmap.height() as i32);
        let ground = ground.map(|ground| (ground, cast.picture.map_or(Point::new(0, grown), origin)));
        let stage = Stage { width: natural.width, height: natural.height + grown, inset: INSET, ground, budget };
        let places = places(&wanted, &stage)?;
        if wish == Wish::Over && !keep_sides(panel, cast.balloons, &places) {
            return None;
        }
        let care = places.iter().map(|place| place.care).max().unwrap_or(Care::Clear);
        Some(Staged { grown, places, care, wish })
    };
    let place_from = |grown: i32, care: Care, wish: Wish| {
        on(grown, wish, staging::BUDGET, &|wanted, stage| staging::place(wanted, stage, care))
    };
    let place = |grown: i32, care: Care| place_from(grown, care, Wish::Written);
    let spoken: i32 =
        cast.balloons.iter().map(|ways| ways.iter().map(|way| way.shape.half.height).max().unwrap_or(0) * 2 + 12).sum();
    let clean = |most: i32| [Care::Clear, Care::Free].into_iter().find_map(|care| grow(most, |grown| place(grown, care)));
    // Where one that is read first stands low, those after it have no place: then all begin at the top; and where the tail of one parts the
    // room that the next needs, above who speaks.
    let raised = |most: i32, care: Care| {
        [Wish::Top, Wish::Over].into_iter().find_map(|wish| grow(most, |grown| place_from(grown, care, wish)))
    };
    // Rather a little of what is drawn is hidden, or tails meet, than a panel is half as high again for nothing but that.
    let most = ground.map_or(0, |ground| ground.all() * LITTLE / 100);
    let little = |staged: &Staged| staged.places.iter().map(|place| place.covered).sum::<i64>() <= most;
    // As high as its row: above a picture that is cut off, or where that keeps tails and bubbles off what is drawn.
    let tidy = |staged: &Staged| staged.places.iter().all(Place::is_tidy);
    let room = free.0;
    let first = (if room > 0 && cast.picture.is_some_and(Shown::is_cut_off) { place(room, Care::Clear) } else { None })
        .or_else(|| place(0, Care::Clear).filter(tidy))
        .or_else(|| grow(room, |grown| place(grown, Care::Clear).filter(tidy)))
        .or_else(|| place(0, Care::Free));
    let staged = first
        .or_else(|| clean(free.0))
        .or_else(|| clean(spoken.min(natural.height / 2)))
        .or_else(|| raised(spoken.min(natural.height / 2), Care::Clear))
        .or_else(|| grow(natural.height / 4, |grown| place(grown, Care::Hiding).filter(little)))
        .or_else(|| clean(spoken))
        .or_else(|| raised(spoken, Care::Free))
        .or_else(|| grow(spoken + natural.height / 4, |grown| place(grown, Care::Hiding)))
        .or_else(|| raised(spoken + natural.height / 4, Care::Hiding))
        .or_else(|| grow(spoken, |grown| place(grown, Care::Crowded)))
        .or_else(|| grow(natural.height + spoken * 2 + 200, |grown| place(grown, Care::Hiding)))
        .or_else(|| grow(natural.height + spoken * 4 + 2000, |grown| place(grown, Care::Crowded)))
        .unwrap_or_else(|| stacked(cast, natural.width));
    // Where it is not as it should be, once more with time to look everywhere.
    let tidied = |staged: &Staged| {
        let places = |wanted: &[Wanted], stage: &Stage| Some(staging::tidied(wanted, stage, &staged.places));
        on(staged.grown, staged.wish, staging::LAST_BUDGET, &places)
    };
    if tidy(&staged) { staged } else { tidied(&staged).unwrap_or(staged) }
}

/// Whether of two balloons beside each other that one is at the left which the writer put there: what is read first stays so.
fn keep_sides(panel: &ComicPanel, ways: &[Vec<Way>], places: &[Place]) -> bool {
    let stand = || panel.balloons.iter().zip(ways).zip(places);
    stand().enumerate().all(|(n, ((balloon, ways), place))| {
        stand().take(n).all(|((before, their_ways), other)| {
            let reach = ways[place.shape].shape.half.height + their_ways[other.shape].shape.half.height;
            let beside = (place.middle.y - other.middle.y).abs() < reach;
            let (written, set) = (balloon.at.x - before.at.x, place.middle.x - other.middle.x);
            !beside || (written < 0) == (set < 0)
        })
    })
}

/// So much of a drawing, in hundredths of its dots, may be hidden before a panel grows for it.
const LITTLE: i64 = 4;

/// When nothing else helps, as where a single letter is wider than its panel: one under the other, above the picture. Nothing that is said
/// is ever lost.
fn stacked(cast: &Cast, width: i32) -> Staged {
    let mut grown = INSET;
    let mut places = Vec::new();
    for shape in cast.balloons.iter().filter_map(|ways| ways.first()).map(|way| way.shape) {
        let middle = Point::new(width / 2, grown + shape.half.height);
        places.push(Place { shape: 0, middle, aim: None, care: Care::Crowded, covered: 0, crossed: false });
        grown += shape.half.height * 2 + CLEARANCE;
    }
    Staged { grown, places, care: Care::Crowded, wish: Wish::Written }
}

/// The least growth, in steps of eight dots, for which there is a place for all: found by ever longer steps, and then halfway back.
fn grow(most: i32, place: impl Fn(i32) -> Option<Staged>) -> Option<Staged> {
    // What no height is enough for is not tried at every height.
    let mut found = place(most / 8 * 8)?;
    let (mut failed, mut step) = (-8, 8);
    while failed + step < found.grown {
        match place(failed + step) {
            Some(staged) => found = staged,
            None => (failed, step) = (failed + step, step * 2),
        }
    }
    while found.grown - failed > 8 {
        let middle = failed + (found.grown - failed) / 16 * 8;
        match place(middle) {
            Some(staged) => found = staged,
            None => failed = middle.max(failed + 8),
        }
    }
    Some(found)
}
