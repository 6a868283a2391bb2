//! Photographs of things on a bench, made here so that what is thing and what is ground is known: light, drawing, the thing alone.

use super::contrast;
use super::cut_out::cut_out;
use super::screens::drawing;
use super::tone::{FULL, LINEAR, Light, WHITE, luma};
use crate::bitmap::Bitmap;
use crate::manual::document::Pen;

const SIDE: u32 = 240;

/// Light of brightness (the root of light) 0 to 1.
fn lit(bright: impl Fn(f64, f64) -> f64) -> Light {
    let places = (0..SIDE * SIDE).map(|at| (f64::from(at % SIDE) / f64::from(SIDE), f64::from(at / SIDE) / f64::from(SIDE)));
    let light = places.map(|(x, y)| (bright(x, y).clamp(0.0, 1.0).powi(2) * f64::from(WHITE)) as u16).collect();
    Light { width: SIDE, height: SIDE, light }
}

fn bright(light: &Light, x: f64, y: f64) -> f64 {
    let at = (y * f64::from(SIDE)) as usize * SIDE as usize + (x * f64::from(SIDE)) as usize;
    (f64::from(light.light[at]) / f64::from(WHITE)).sqrt()
}

/// Grain between -0.5 and 0.5 from a place.
fn grain(x: f64, y: f64) -> f64 {
    let mixed = ((x * 1009.0) as u32).wrapping_mul(0x9E37_79B1) ^ ((y * 1013.0) as u32).wrapping_mul(0x85EB_CA77);
    f64::from(mixed.wrapping_mul(0x2C1B_3C6D) >> 16) / 65535.0 - 0.5
}

fn far(x: f64, y: f64) -> f64 {
    ((x - 0.5) * (x - 0.5) + (y - 0.5) * (y - 0.5)).sqrt()
}

#[test]
fn paper_lit_unevenly_becomes_paper_and_the_thing_stays() {
    // Bright at the left above, half as bright at the right below, a soft shadow at the thing's foot, a little grain.
    let seen = |x: f64, y: f64| {
        let paper = 0.9 - 0.22 * x - 0.2 * y + 0.02 * grain(x, y);
        let shadow = 1.0 - 0.25 * (1.0 - ((y - 0.72) / 0.2).abs()).max(0.0) * (1.0 - ((x - 0.5) / 0.4).abs()).max(0.0);
        if (x - 0.5).abs() < 0.2 && (y - 0.45).abs() < 0.2 { 0.25 } else { paper * shadow }
    };
    let even = lit(seen).evened();
    let ground: Vec<f64> = (0..SIDE * SIDE)
        .map(|at| (f64::from(at % SIDE) / f64::from(SIDE), f64::from(at / SIDE) / f64::from(SIDE)))
        .filter(|&(x, y)| (x - 0.5).abs() > 0.23 || (y - 0.45).abs() > 0.23)
        .map(|(x, y)| bright(&even, x, y))
        .collect();
    let white = ground.iter().filter(|&&tone| tone > 0.97).count() * 100 / ground.len();
    assert!(white >= 92, "{white} % of the ground is paper");
    assert!(bright(&even, 0.5, 0.45) < 0.5, "the thing is {}", bright(&even, 0.5, 0.45));
}

#[test]
fn a_picture_of_nothing_but_ground_keeps_its_tones() {
    let cloth = lit(|x, y| 0.6 + 0.08 * grain(x, y));
    assert_eq!(cloth.evened(), cloth);
}

#[test]
fn a_white_thing_on_a_darker_table_does_not_vanish() {
    let even = lit(|x, y| if far(x, y) < 0.25 { 0.95 } else { 0.68 - 0.1 * y + 0.02 * grain(x, y) }).evened();
    let (thing, table) = (bright(&even, 0.5, 0.5), bright(&even, 0.1, 0.5));
    assert!(thing - table > 0.1, "thing {thing}, table {table}");
}

/// Yellow on white and red on green of one lightness: BT.709 hardly tells them apart, the mixture does. Grey pictures keep their lightness.
#[test]
fn colours_of_one_lightness_are_kept_apart() {
    let step = |left: [u8; 3], right: [u8; 3]| {
        let colour: Vec<[u8; 3]> = (0..64 * 64).map(|at| if at % 64 < 32 { left } else { right }).collect();
        let root = |light: u16| (f64::from(light) / f64::from(WHITE)).sqrt();
        let plain = |[r, g, b]: [u8; 3]| root(luma(LINEAR[usize::from(r)], LINEAR[usize::from(g)], LINEAR[usize::from(b)]));
        let tenths = contrast::mixture(&colour, 64);
        let mixed = tenths
            .map(|tenths| contrast::mixed(&colour, 64, 64, tenths).light)
            .map(|light| (root(light[0]) - root(light[40])).abs());
        ((plain(left) - plain(right)).abs(), mixed)
    };
    for (left, right) in [([250, 240, 40], [250, 250, 250]), ([200, 60, 60], [40, 122, 60])] {
        let (plain, mixed) = step(left, right);
        assert!(mixed.is_some_and(|mixed| mixed > plain + 0.1), "{left:?} beside {right:?}: {plain}, {mixed:?}");
    }
    assert_eq!(step([40, 40, 40], [200, 200, 200]).1, None);
}

fn drawn(bright: impl Fn(f64, f64) -> f64) -> Bitmap {
    drawing::screen(&lit(bright).roots(), SIDE as usize, FULL, Pen::default(), None)
}

#[test]
fn black_is_solid_where_it_ends_at_an_edge_and_not_where_light_fades() {
    // A dark disc on a table that grows dark towards a corner.
    let dots = drawn(|x, y| if far(x, y) < 0.22 { 0.12 } else { (0.95 - 0.8 * (x * x + y * y) / 2.0).max(0.2) });
    let (mut inside, mut corner) = ((0, 0), (0, 0));
    for y in 0..SIDE as i32 / 2 {
        for x in 0..SIDE as i32 / 2 {
            let (across, down) = (f64::from(x) * 2.0 / f64::from(SIDE), f64::from(y) * 2.0 / f64::from(SIDE));
            let count = if far(across, down) < 0.2 {
                &mut inside
            } else if across > 0.8 && down > 0.8 {
                &mut corner
            } else {
                continue;
            };
            count.0 += u32::from(dots.get(x, y));
            count.1 += 1;
        }
    }
    assert!(inside.0 * 100 > inside.1 * 97, "the disc is {inside:?}");
    assert!(corner.0 * 100 < corner.1 * 3, "the corner is {corner:?}");
}

#[test]
fn a_line_goes_on_where_it_grows_faint_and_rough_ground_stays_paper() {
    // A groove that grows fainter to the right; below it grain as of concrete.
    let groove = |x: f64, y: f64| if (y - 0.3).abs() < 0.012 { 0.3 - 0.2 * x } else { 0.0 };
    let rough = |x: f64, y: f64| if y > 0.5 { 0.12 * grain(x * 0.4, y * 0.4) } else { 0.0 };
    let dots = drawn(|x, y| 0.8 - groove(x, y) + rough(x, y));
    let half = SIDE as i32 / 2;
    let row = (f64::from(half) * 0.3) as i32;
    let drawn = (4..half - 4).filter(|&x| (row - 2..row + 3).any(|y| dots.get(x, y))).count() as i32;
    assert!(drawn * 100 > (half - 8) * 95, "{drawn} of {} columns of the groove", half - 8);
    let specks =
        (half * 6 / 10..half).flat_map(|y| (0..half).map(move |x| (x, y))).filter(|&(x, y)| dots.get(x, y)).count() as i32;
    assert!(specks * 100 < half * half * 4 / 10 * 4, "{specks} black dots on rough ground");
}

#[test]
fn nothing_drawn_is_thinner_than_two_dots() {
    let dots = drawn(|x, y| 0.5 + grain(x * 0.3, y * 0.3) * 0.9 + 0.2 * (40.0 * x).sin());
    let half = SIDE as i32 / 2;
    let square = |x: i32, y: i32, black: bool| {
        (0..4).any(|corner| {
            (0..4).all(|n| {
                let (x, y) = (x - corner % 2 + n % 2, y - corner / 2 + n / 2);
                let outside = x < 0 || y < 0 || x >= half || y >= half;
                if outside { !black } else { dots.get(x, y) == black }
            })
        })
    };
    assert!(dots.black() > 500);
    assert!((0..half).all(|y| (0..half).all(|x| square(x, y, dots.get(x, y)))));
}

/// Colours of a disc of two tones on a ground lit unevenly.
fn disc(ground: impl Fn(f64, f64) -> [f64; 3]) -> Vec<[u8; 3]> {
    let places = (0..SIDE * SIDE).map(|at| (f64::from(at % SIDE) / f64::from(SIDE), f64::from(at / SIDE) / f64::from(SIDE)));
    let pixel = |(x, y): (f64, f64)| {
        let thing = if x < 0.5 { [190.0, 60.0, 40.0] } else { [40.0, 44.0, 52.0] };
        let colour = if far(x, y) < 0.3 { thing } else { ground(x, y) };
        colour.map(|value| (value + 14.0 * grain(x, y)).clamp(0.0, 255.0) as u8)
    };
    places.map(pixel).collect()
}

#[test]
fn the_thing_is_told_from_its_ground_to_two_dots() {
    let mask =
        cut_out(&disc(|x, y| [210.0 - 60.0 * x, 205.0 - 50.0 * y, 195.0 - 50.0 * x]), SIDE as usize).expect("it is plain to see");
    for (at, &is) in mask.iter().enumerate() {
        let (x, y) = ((at as u32 % SIDE) as f64 / f64::from(SIDE), (at as u32 / SIDE) as f64 / f64::from(SIDE));
        let off = (far(x, y) - 0.3) * f64::from(SIDE);
        assert!(is == (off < 0.0) || off.abs() < 2.0, "{off:.1} dots off at {x:.2}, {y:.2}");
    }
}

#[test]
fn what_cannot_be_told_apart_is_left_alone() {
    let patches = |x: f64, y: f64| {
        let field = ((x * 12.0) as u32 * 7 + (y * 12.0) as u32 * 13) % 5;
        [[190.0, 60.0, 40.0], [40.0, 44.0, 52.0], [120.0, 120.0, 90.0], [220.0, 210.0, 180.0], [90.0, 140.0, 60.0]]
            [field as usize]
    };
    assert!(cut_out(&disc(patches), SIDE as usize).is_err(), "patches of the thing's own colours");
    assert!(cut_out(&vec![[128; 3]; (SIDE * SIDE) as usize], SIDE as usize).is_err(), "nothing but grey");
}

#[test]
fn a_wire_thinner_than_a_cell_stays_on_its_thing() {
    // A loop of wire, two pixels thick, hangs on the disc, on a grey table with a soft shadow.
    let side = f64::from(SIDE) * 2.0;
    let loop_off = |x: f64, y: f64| (((x - 0.5) * (x - 0.5) + (y - 0.78) * (y - 0.78)).sqrt() - 0.12).abs() * side;
    let places: Vec<(f64, f64)> =
        (0..SIDE * SIDE * 4).map(|at| (f64::from(at % (SIDE * 2)) / side, f64::from(at / (SIDE * 2)) / side)).collect();
    let pixel = |&(x, y): &(f64, f64)| {
        let table = 150.0 - 30.0 * x - 25.0 * (1.0 - (y - 0.7).abs() / 0.3).max(0.0) * (1.0 - (x - 0.5).abs() / 0.3).max(0.0);
        let thing = if x < 0.5 { [190.0, 60.0, 40.0] } else { [40.0, 44.0, 52.0] };
        let colour = match () {
            () if far(x, y + 0.1) < 0.27 => thing,
            () if loop_off(x, y) < 1.0 => [225.0; 3],
            () => [table; 3],
        };
        colour.map(|value| (value + 8.0 * grain(x, y)).clamp(0.0, 255.0) as u8)
    };
    let colour: Vec<[u8; 3]> = places.iter().map(pixel).collect();
    let mask = cut_out(&colour, SIDE as usize * 2).expect("it is plain to see");
    let wire: Vec<bool> = (0..mask.len())
        .filter(|&at| loop_off(places[at].0, places[at].1) < 0.6 && far(places[at].0, places[at].1 + 0.1) > 0.28)
        .map(|at| mask[at])
        .collect();
    let kept = wire.iter().filter(|&&is| is).count();
    assert!(wire.len() > 300 && kept * 100 >= wire.len() * 95, "{kept} of {} pixels of the wire", wire.len());
    let (middle, beyond) = (mask[at_place(0.5, 0.8)], mask[at_place(0.2, 0.9)]);
    assert!(!middle && !beyond, "the table within the loop and beside it is no thing");
}

#[test]
fn veins_of_the_ground_are_no_part_of_the_thing_that_lies_on_them() {
    // A black box on marble with grey veins, some of which end at it; each is broken off before the picture's border.
    let is_box = |x: f64, y: f64| (0.2..0.8).contains(&x) && (0.35..0.65).contains(&y);
    let is_vein = |x: f64, y: f64| {
        let along = (x * 9.0 + 0.8 * y).fract();
        (0.46..0.54).contains(&along)
            && ((y * 7.0 + x * 2.0).fract() < 0.6)
            && (0.05..0.95).contains(&x)
            && (0.05..0.95).contains(&y)
    };
    let side = f64::from(SIDE) * 2.0;
    let places: Vec<(f64, f64)> =
        (0..SIDE * SIDE * 4).map(|at| (f64::from(at % (SIDE * 2)) / side, f64::from(at / (SIDE * 2)) / side)).collect();
    let pixel = |&(x, y): &(f64, f64)| {
        let value = if is_box(x, y) { 30.0 } else { 222.0 - if is_vein(x, y) { 30.0 } else { 0.0 } };
        [0.0, 1.0, -1.0].map(|tint| (value + tint + 4.0 * grain(x, y)).clamp(0.0, 255.0) as u8)
    };
    let colour: Vec<[u8; 3]> = places.iter().map(pixel).collect();
    let mask = cut_out(&colour, SIDE as usize * 2).expect("it is plain to see");
    let near = |&(x, y): &(f64, f64)| (0.19..0.81).contains(&x) && (0.34..0.66).contains(&y);
    let beyond = places.iter().zip(&mask).filter(|(place, is)| **is && !near(place)).count();
    let inside = places.iter().zip(&mask).filter(|((x, y), is)| **is && is_box(*x, *y)).count();
    assert!(inside * 100 >= places.iter().filter(|(x, y)| is_box(*x, *y)).count() * 98, "{inside} pixels of the box");
    assert_eq!(beyond, 0, "pixels of the marble");
}

fn at_place(x: f64, y: f64) -> usize {
    (y * f64::from(SIDE) * 2.0) as usize * SIDE as usize * 2 + (x * f64::from(SIDE) * 2.0) as usize
}

#[test]
fn a_white_end_on_white_paper_is_never_cut_off() {
    // A box whose right part is as white as the paper, with nothing but a thin dark edge around it; grain of two steps.
    let is_box = |x: f64, y: f64| (0.2..0.8).contains(&x) && (0.35..0.65).contains(&y);
    let pixel = |(x, y): (f64, f64)| {
        let rim = is_box(x, y) && !((0.208..0.792).contains(&x) && (0.358..0.642).contains(&y));
        let value = if is_box(x, y) && x < 0.55 {
            60.0
        } else if rim {
            205.0
        } else if is_box(x, y) {
            243.0
        } else {
            240.0
        };
        [0.0, 1.0, -1.0].map(|tint| (value + tint + 4.0 * grain(x, y)).clamp(0.0, 255.0) as u8)
    };
    let places = || (0..SIDE * SIDE).map(|at| (f64::from(at % SIDE) / f64::from(SIDE), f64::from(at / SIDE) / f64::from(SIDE)));
    let colour: Vec<[u8; 3]> = places().map(pixel).collect();
    if let Ok(mask) = cut_out(&colour, SIDE as usize) {
        let inside: Vec<bool> = places().zip(mask).filter(|&((x, y), _)| is_box(x, y)).map(|(_, is)| is).collect();
        let kept = inside.iter().filter(|&&is| is).count();
        assert!(kept * 100 >= inside.len() * 95, "{kept} of {} pixels of the box", inside.len());
    }
}
