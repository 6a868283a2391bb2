//! A reading as the display shows it: seven segments where they can, else a dot matrix, else type, in a frame.

use super::address::Display;
use super::matrix;
use super::scene::{Hand, SUB, Scene, Setting, Shape};
use super::segments::{self, Digit, Place};
use crate::geometry::{Point, Rect};

/// How a reading is shown: as well as all its rows can be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    Segments,
    Matrix,
    /// By a display that sets type: letters that a matrix of 5 x 7 lacks.
    Type,
}

/// The kind that shows a reading.
pub fn kind(display: &Display) -> Kind {
    let all = |shows: &dyn Fn(&str) -> bool| display.rows.iter().all(|row| shows(row));
    if all(&segments::shows) {
        Kind::Segments
    } else if all(&|row| row.chars().all(|letter| matrix::glyph(letter).is_some())) {
        Kind::Matrix
    } else {
        Kind::Type
    }
}

pub(super) fn scene(display: &Display, setting: &Setting) -> Scene {
    let cap = setting.label();
    let side = (cap * 3 / 10).max(3);
    let border = (setting.line.0.max(1) / 2).max(1);
    let pad = (cap / 4).max(3);
    // Lit segments and points need more dots than letters: a display is somewhat higher than a key.
    let high = cap * 3 / 2;
    let mut rows: Vec<Scene> = display
        .rows
        .iter()
        .map(|row| match kind(display) {
            Kind::Segments => digits(&segments::places(row).unwrap_or_default(), Digit::new(high)),
            Kind::Matrix => letters(row, (high / 7).max(1)),
            Kind::Type => typed(row, setting),
        })
        .collect();
    let between = pad + 1;
    let height: i32 = rows.iter().map(|row| row.above + row.below).sum::<i32>() + between * (rows.len() as i32 - 1);
    let width = rows.iter().map(|row| row.width).max().unwrap_or(0).max(cap / 2);
    let (outer_w, outer_h) = (width + (pad + border + 1) * 2, height + (pad + border) * 2);
    let above = match display.rows.len() {
        // About the middle of the capitals.
        1 => (outer_h + cap) / 2,
        _ => outer_h - side,
    };
    let mut scene = Scene { width: outer_w, above, below: outer_h - above, ..Scene::default() };
    scene.frame(Rect::new(0, -above, outer_w, outer_h), side / 2 + border, border);
    let mut y = pad + border - above;
    for (row, text) in rows.drain(..).zip(&display.rows) {
        let (up, high, wide) = (row.above, row.above + row.below, row.width);
        // A number stands at the right of its display, words at the left.
        let number = text.chars().any(|letter| letter.is_ascii_digit());
        let x = pad + border + 1 + if number { width - wide } else { 0 };
        if !row.shapes.iter().any(|shape| matches!(shape, Shape::Text { .. })) {
            scene.shapes.push(Shape::Said { x, y, width: wide.max(1), height: high, text: text.clone() });
        }
        scene.add(row, x, y + up);
        y += high + between;
    }
    scene
}

/// Digits, their lit segments whole, the others thin; the foot is 0.
fn digits(places: &[Place], digit: Digit) -> Scene {
    let mut scene = Scene { above: digit.height, ..Scene::default() };
    // As even as a lit one, so that it lies in its middle.
    let thin = (digit.thick / 4).max(1) | 1;
    let mut x = 0;
    for (n, place) in places.iter().enumerate() {
        if n > 0 {
            x += digit.gap();
        }
        match *place {
            Place::Colon => {
                for third in [1, 2] {
                    scene.fill(x, -digit.height * third / 3 - digit.thick / 2, digit.thick, digit.thick);
                }
                x += digit.thick;
            }
            Place::Digit(lit, point) => {
                for (n, Rect { x: left, y: top, width: wide, height: high }) in digit.segments().into_iter().enumerate() {
                    let (left, top) = (x + left, top - digit.height);
                    if lit & 1 << n != 0 {
                        segment(&mut scene, Rect::new(left, top, wide, high), digit.thick);
                    } else if wide > high {
                        scene.fill(left, top + (high - thin) / 2, wide, thin);
                    } else {
                        scene.fill(left + (wide - thin) / 2, top, thin, high);
                    }
                }
                x += digit.width;
                if point {
                    scene.fill(x + 1, -digit.thick, digit.thick, digit.thick);
                    x += digit.thick + 1;
                }
            }
        }
    }
    Scene { width: x, ..scene }
}

/// A lit segment: pointed at both ends where it is thick enough.
fn segment(scene: &mut Scene, whole: Rect<i32>, thick: i32) {
    let Rect { x, y, width, height } = whole;
    let reach = thick / 2;
    if thick < 3 {
        return scene.fill(x, y, width, height);
    }
    let (Rect { x, y, width, height }, reach) = (whole.map(|dots| dots * SUB), reach * SUB);
    let (middle_x, middle_y) = (x + width / 2, y + height / 2);
    // Points reach into the corners that were left free.
    let points = match width > height {
        true => vec![
            Point::new(x - reach, middle_y),
            Point::new(x, y),
            Point::new(x + width, y),
            Point::new(x + width + reach, middle_y),
            Point::new(x + width, y + height),
            Point::new(x, y + height),
        ],
        false => vec![
            Point::new(middle_x, y - reach),
            Point::new(x + width, y),
            Point::new(x + width, y + height),
            Point::new(middle_x, y + height + reach),
            Point::new(x, y + height),
            Point::new(x, y),
        ],
    };
    scene.polygon(points);
}

/// Letters of 5 x 7 points, each so many dots wide.
fn letters(row: &str, dots: i32) -> Scene {
    let mut scene = Scene { above: dots * 7, ..Scene::default() };
    // Larger points are parted by a line of white.
    let point = if dots > 3 { dots - 1 } else { dots };
    let mut x = 0;
    for letter in row.chars() {
        for (line, bits) in matrix::glyph(letter).unwrap_or_default().into_iter().enumerate() {
            let mut column = 0;
            while column < 5 {
                let run = (column..5).take_while(|n| bits & 0x10 >> n != 0).count() as i32;
                if run == 0 {
                    column += 1;
                    continue;
                }
                if point < dots {
                    for n in column..column + run {
                        scene.fill(x + n * dots, (line as i32 - 7) * dots, point, point);
                    }
                } else {
                    scene.fill(x + column * dots, (line as i32 - 7) * dots, run * dots, dots);
                }
                column += run;
            }
        }
        x += dots * 6;
    }
    Scene { width: (x - dots).max(0), ..scene }
}

/// Type, for what points cannot show.
fn typed(row: &str, setting: &Setting) -> Scene {
    let cap = setting.label();
    let mut scene = Scene { above: cap, below: cap / 4, ..Scene::default() };
    let width = scene.text(setting, 0, 0, &row.replace(' ', "\u{a0}"), Hand::Label);
    Scene { width, ..scene }
}
