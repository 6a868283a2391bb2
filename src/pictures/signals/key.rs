//! A keycap and what the finger does; a knob and which way it turns; a slider and which way it goes.

use super::address::{Gesture, Key, spoken};
use super::scene::{Hand, Reach, SUB, Scene, Setting, arc, at};
use crate::geometry::{Point, Rect};

/// A keycap in dots: a frame with a heavier foot around its label, which stands on the baseline.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Cap {
    pub width: i32,
    /// Above and below the baseline of its label.
    pub above: i32,
    pub below: i32,
    pub radius: i32,
    pub border: i32,
}

impl Cap {
    /// For a label of that width, capitals of that height and a line of the style.
    pub fn new(label: i32, cap: i32, line: i32) -> Cap {
        let border = (line.max(1) / 2).max(1);
        let side = (cap * 3 / 10).max(3);
        Cap { width: label.max(cap / 2) + side * 2 + border * 2, above: cap + side, below: side + border, radius: side, border }
    }

    /// The same cap, high and deep enough for what reaches so far above and below the baseline: an accent on a capital is lost where it
    /// stands on the frame.
    pub fn around(self, above: i32, below: i32) -> Cap {
        let air = self.border + 2;
        Cap { above: self.above.max(above + air), below: self.below.max(below + air + self.border), ..self }
    }

    /// Its frame: rectangles with the radius of their corners, and whether it is the black that lies under the white.
    pub fn shapes(&self) -> [(Rect<i32>, i32, bool); 2] {
        let Cap { width, above, below, radius, border } = *self;
        [
            (Rect::new(0, -above, width, above + below), radius, true),
            (Rect::new(border, border - above, width - border * 2, above + below - border * 3), radius - border, false),
        ]
    }
}

pub(super) fn scene(key: &Key, setting: &Setting) -> Scene {
    let cap = setting.label();
    let gap = (cap * 3 / 10).max(3);
    let mut scene = Scene { above: cap + gap, below: gap + (setting.line.0 / 2).max(1), ..Scene::default() };
    let height = scene.above + scene.below;
    if let Some(Gesture::Left | Gesture::Right | Gesture::Up | Gesture::Down) = key.gesture {
        // A knob or slider has its name beside it, on no cap.
        let control = match key.gesture {
            Some(Gesture::Left) => knob(height, false, setting),
            Some(Gesture::Right) => knob(height, true, setting),
            Some(Gesture::Up) => slider(height, true, setting),
            _ => slider(height, false, setting),
        };
        let wide = control.width;
        scene.add(control, 0, scene.below);
        scene.width = wide + gap + scene.text(setting, wide + gap, 0, &fixed(&key.label), Hand::Label);
        return scene;
    }
    let mut x = keycap(&mut scene, &key.label, 0, setting);
    if let Some(with) = &key.with {
        x += gap;
        x += plus(&mut scene, x, setting) + gap;
        x = keycap(&mut scene, with, x, setting);
    }
    let Some(gesture) = key.gesture else { return Scene { width: x, ..scene } };
    x += gap + 1;
    let hand = hand(height, key.with.is_some(), setting);
    let (left, wide) = (x, hand.width);
    scene.add(hand, x, scene.below);
    x += wide;
    let after = |scene: &mut Scene, text: &str| x + gap + scene.text(setting, x + gap, 0, text, Hand::Word);
    let stroke = setting.stroke();
    let foot = scene.below - stroke;
    match gesture {
        Gesture::Twice => x = after(&mut scene, "2×"),
        Gesture::HoldFor(tenths) => {
            // What is pressed stays down as long as the line runs.
            x = after(&mut scene, &format!("{}\u{a0}s", spoken(tenths, 1)));
            scene.fill(left + wide - stroke, foot, x - left - wide + stroke, stroke);
            scene.fill(x - stroke, foot - stroke, stroke, stroke);
        }
        Gesture::Hold => {
            let long = cap * 3 / 2;
            x += long;
            scene.fill(left + wide - stroke, foot, long, stroke);
            let (tip, middle) = (x * SUB, foot * SUB + stroke * SUB / 2);
            let back = tip - stroke * 5 * SUB / 2;
            scene.polygon(vec![
                Point::new(tip, middle),
                Point::new(back, middle - stroke * 2 * SUB),
                Point::new(back, middle + stroke * 2 * SUB),
            ]);
            scene.below += stroke * 2;
        }
        Gesture::While => {
            x += gap;
            x += plus(&mut scene, x, setting) + gap;
            x += power(&mut scene, x, height, setting);
        }
        _ => {}
    }
    Scene { width: x, ..scene }
}

/// Spaces inside a cap are kept as they stand.
fn fixed(label: &str) -> String {
    label.replace(' ', "\u{a0}")
}

/// A key; gives where it ends.
fn keycap(scene: &mut Scene, label: &str, x: i32, setting: &Setting) -> i32 {
    let label = fixed(label);
    let width = setting.lettering.width(&label, Hand::Label).0;
    let Reach { above, below } = setting.lettering.reach(&label, Hand::Label);
    let cap = Cap::new(width, setting.label(), setting.line.0).around(above.0, below.0);
    (scene.above, scene.below) = (scene.above.max(cap.above), scene.below.max(cap.below));
    for (part, radius, black) in cap.shapes() {
        scene.round(x + part.x, part.y, part.width, part.height, radius, black);
    }
    scene.text(setting, x + (cap.width - width) / 2, 0, &label, Hand::Label);
    x + cap.width
}

/// A plus sign in the middle of the capitals; gives its width.
fn plus(scene: &mut Scene, x: i32, setting: &Setting) -> i32 {
    let (cap, stroke) = (setting.label(), setting.stroke());
    let size = (cap * 2 / 3 - stroke) / 2 * 2 + stroke;
    let middle = -cap / 2;
    scene.fill(x, middle - stroke / 2, size, stroke);
    scene.fill(x + (size - stroke) / 2, middle - stroke / 2 - (size - stroke) / 2, stroke, size);
    size
}

/// A hand with one finger, or two, on what it presses; its foot is 0. The outline is drawn on a grid 20 wide and 24 high, in tenths.
fn hand(height: i32, two: bool, setting: &Setting) -> Scene {
    const ONE: [[i32; 2]; 23] = [
        [60, 0],
        [58, 30],
        [40, 55],
        [20, 80],
        [14, 100],
        [22, 114],
        [34, 110],
        [50, 96],
        [50, 205],
        [55, 222],
        [70, 230],
        [85, 222],
        [90, 205],
        [90, 120],
        [100, 135],
        [118, 135],
        [126, 118],
        [136, 130],
        [152, 126],
        [158, 108],
        [172, 104],
        [178, 60],
        [165, 0],
    ];
    const TWO: [[i32; 2]; 25] = [
        [60, 0],
        [58, 30],
        [40, 55],
        [20, 80],
        [12, 100],
        [20, 114],
        [32, 110],
        [42, 98],
        [42, 208],
        [46, 222],
        [58, 230],
        [70, 222],
        [74, 208],
        [74, 140],
        [102, 140],
        [102, 208],
        [106, 222],
        [118, 230],
        [130, 222],
        [134, 208],
        [134, 126],
        [150, 126],
        [162, 108],
        [178, 60],
        [165, 0],
    ];
    let stroke = setting.stroke();
    let outline: &[[i32; 2]] = if two { &TWO } else { &ONE };
    // The stroke is half outside its line.
    let scale = |part: i32| part * (height - stroke - 1) * SUB / 240;
    let inset = stroke * SUB / 2;
    let top = -height * SUB;
    let mut scene = Scene { above: height, ..Scene::default() };
    let points: Vec<Point<i32>> = outline.iter().map(|[x, y]| Point::new(inset + scale(*x), top + inset + scale(*y))).collect();
    if setting.label() < 22 {
        // A line around a hand so small would close: it is a silhouette.
        scene.polygon(points.clone());
        scene.stroke(points, 1);
    } else {
        scene.stroke(points, stroke);
    }
    let wide = (scale(180) + SUB - 1) / SUB + stroke;
    scene.fill(0, -stroke, wide, stroke);
    Scene { width: wide, ..scene }
}

/// A circle with its pointer, an arrow around it.
fn knob(height: i32, right: bool, setting: &Setting) -> Scene {
    let stroke = setting.stroke();
    let disc = height * 9 / 16 / 2 * 2;
    // The arrow's head stands out at the sides.
    let width = height / 2 * 2 + stroke * 4;
    let mut scene = Scene { width, above: height, ..Scene::default() };
    scene.frame(Rect::new((width - disc) / 2, -disc, disc, disc), disc / 2, stroke);
    let centre = Point::new(width * SUB / 2, -disc * SUB / 2);
    scene.stroke(vec![at(centre, disc * SUB / 8, 18), at(centre, disc * SUB / 2 - stroke * SUB, 18)], stroke);
    // From a quarter below the horizontal on one side over the top to the other.
    let radius = ((height - disc / 2) * SUB).min(height * SUB / 2) - stroke * SUB / 2;
    let (from, to) = if right { (13, 22) } else { (23, 14) };
    scene.stroke(arc(centre, radius, from, to), stroke);
    let turn = if right { 1 } else { -1 };
    let size = stroke * SUB * 5 / 2;
    let end = at(centre, radius, to);
    scene.polygon(vec![at(end, size, to), at(end, size * 5 / 4, to + turn * 6), at(end, size, to + 12)]);
    scene
}

/// A slot with its thumb, an arrow beside it.
fn slider(height: i32, up: bool, setting: &Setting) -> Scene {
    let stroke = setting.stroke();
    let (thumb, high) = (height / 2 / 2 * 2 + stroke % 2, (height / 5).max(4));
    let mut scene = Scene { above: height, ..Scene::default() };
    let middle = (thumb - stroke) / 2;
    scene.fill(middle, -height, stroke, height);
    let lower = height / 2 - high / 2;
    scene.round(0, -lower - high, thumb, high, stroke, true);
    let x = thumb + stroke * 2 + stroke;
    let head = stroke * 2;
    let (tip, tail) = if up { (-height * SUB, -head * SUB) } else { (0, (head - height) * SUB) };
    let back = if up { tip + head * SUB } else { tip - head * SUB };
    let axis = x * SUB + stroke * SUB / 2;
    scene.polygon(vec![Point::new(axis, tip), Point::new(axis + head * SUB, back), Point::new(axis - head * SUB, back)]);
    let (top, bottom) = (back.min(tail) / SUB, back.max(tail) / SUB);
    scene.fill(x, top, stroke, bottom - top);
    Scene { width: x + stroke + head, ..scene }
}

/// The symbol on the switch that is on and off by turns: a broken circle with a bar (IEC 60417-5009); gives its width.
fn power(scene: &mut Scene, x: i32, height: i32, setting: &Setting) -> i32 {
    let stroke = setting.stroke();
    let size = (height - stroke * 2) / 2 * 2;
    let radius = (size - stroke) * SUB / 2;
    let middle = (scene.below - scene.above) * SUB / 2;
    let centre = Point::new(x * SUB + size * SUB / 2, middle + stroke * SUB / 2);
    scene.stroke(arc(centre, radius, 20, 40), stroke);
    let up = |dots: i32| centre - Point::new(0, dots);
    scene.stroke(vec![up(radius + stroke * SUB / 2), up(stroke * SUB / 2)], stroke);
    size
}
