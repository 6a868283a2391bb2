//! Lines: where edges are deep, and where they are soft.

use super::field::Field;
use super::{DEEP, FINE, Pen};
use crate::pictures::parts::{extent, parts, parts_by};

/// How far around texture is looked for, in dots, and how much deeper than its mean an edge must be.
pub(super) const SURROUNDINGS: usize = 14;
const TEXTURE: f32 = 1.6;
/// Shorter strokes, in dots, must be so many times deeper than the mean around.
const STROKE: usize = 20;
const STANDS_OUT: f32 = 5.0;
/// And what is so many times deeper somewhere than the faintest line, and than the mean around it, is a letter, or a pin.
const LETTER: f32 = 4.0;
const AMONG: f32 = 1.0;
/// How much fainter than where it begins a line may go on.
const GOES_ON: f32 = 0.4;

/// Lines where the difference is deep: what is deep enough begins one, and it goes on where it is fainter (hysteresis, Canny 1986). Short strokes
/// that are hardly deeper than the mean around them are texture.
pub(super) fn lines(edges: &Field, faintest: &[f32], around: &Field) -> Vec<bool> {
    let (width, height) = (edges.width, edges.height);
    let needed: Vec<f32> = faintest.iter().zip(&around.values).map(|(needed, around)| needed + TEXTURE * around).collect();
    let goes_on: Vec<bool> = (0..needed.len()).map(|at| edges.values[at] < -needed[at] * GOES_ON).collect();
    let mut ink = vec![false; needed.len()];
    for line in parts(&goes_on, width, height) {
        if !line.iter().any(|&at| edges.values[at] < -needed[at]) {
            continue;
        }
        let mean = |field: &Field| line.iter().map(|&at| field.values[at].abs()).sum::<f32>();
        let short = extent(&line, width) < STROKE * FINE;
        let letter = || line.iter().any(|&at| edges.values[at] < -LETTER * faintest[at] - AMONG * around.values[at]);
        if !short || letter() || mean(edges) > (mean(around) * STANDS_OUT).min(DEEP * line.len() as f32) {
            line.iter().for_each(|&at| ink[at] = true);
        }
    }
    ink
}

/// Strokes shorter than ten dots that stand alone are the texture of wood or cloth, but for deep ones: those are letters.
pub(super) fn drop_strokes(ink: &mut [bool], edges: &Field, needed: &[f32], around: &Field) {
    const SHORT: usize = 10 * FINE;
    for part in parts_by(ink, edges.width, edges.height, true) {
        let long = extent(&part, edges.width);
        let deep = || part.iter().any(|&at| edges.values[at] < -LETTER * needed[at] - AMONG * around.values[at]);
        if long < SHORT && part.len() < long * SHORT / 4 && !deep() {
            part.iter().for_each(|&at| ink[at] = false);
        }
    }
}

/// How soft an edge is that the pen does not see, in dots; how steep it must be, a sample; and how long.
const SOFT: f32 = 2.0;
const STEEP: f32 = 0.011;
const CHAIN: usize = 6;
const SOFT_GOES_ON: f32 = 0.6;
/// How much steeper it must be than when it is softened twice as much.
const BLURRED: f32 = 1.4;

/// Lines along edges that are too soft for the pen: of a lamp in the dark, of a bright patch. They lie where the picture, softened, is steepest
/// (Canny 1986), two dots or more from what is drawn already.
pub(super) fn soft_edges(calm: &Field, around: &Field, pen: Pen, plain: f32, ink: &mut [bool]) {
    let (width, height) = (calm.width, calm.height);
    let soft = calm.soft(SOFT * FINE as f32);
    let slopes = soft.slopes();
    let slope = calm.like(slopes.iter().map(|slope| slope.dot(*slope).sqrt()).collect());
    // An edge of the thing loses half of its slope when it is softened twice as much; the rim of a shadow and what is out of focus lose little.
    let softer = calm.soft(2.0 * SOFT * FINE as f32).slopes();
    let blurred = |at: usize| slope.values[at] < BLURRED * softer[at].dot(softer[at]).sqrt();
    let least = STEEP * (1.5 - f32::from(pen.strength.min(100)) / 100.0) * plain;
    let needed = |at: usize| least + around.values[at];
    let near = FINE * 2;
    let drawn = calm.like(ink.iter().map(|&ink| f32::from(u8::from(ink))).collect()).mean(near);
    let ridge: Vec<bool> = (0..ink.len())
        .map(|at| {
            let (way, here) = (slopes[at], slope.values[at]);
            if here < needed(at) * SOFT_GOES_ON || drawn.values[at] > 1e-4 {
                return false;
            }
            let (x, y) = ((at % width) as f32, (at / width) as f32);
            here >= slope.at(x + way.x / here, y + way.y / here) && here > slope.at(x - way.x / here, y - way.y / here)
        })
        .collect();
    let reach = i32::from(pen.line) * FINE as i32;
    for chain in parts_by(&ridge, width, height, true) {
        let long = extent(&chain, width);
        let sharp = chain.iter().filter(|&&at| !blurred(at)).count();
        if long < CHAIN * FINE || sharp * 2 < chain.len() || !chain.iter().any(|&at| slope.values[at] > needed(at)) {
            continue;
        }
        for &at in &chain {
            let (x, y) = ((at % width) as i32, (at / width) as i32);
            let most = reach / 20 + 1;
            for (dx, dy) in (-most..=most).flat_map(|dy| (-most..=most).map(move |dx| (dx, dy))) {
                let inside = x + dx >= 0 && y + dy >= 0 && x + dx < width as i32 && y + dy < height as i32;
                if inside && (dx * dx + dy * dy) * 400 <= reach * reach {
                    ink[(y + dy) as usize * width + (x + dx) as usize] = true;
                }
            }
        }
    }
}
