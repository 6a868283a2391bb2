//! Tones and the choice between photograph and drawing, on made pictures.

use super::choice::{Nature, Paints, of_outlines, of_pixels};
use super::tone::{Finish, Kernel, Light, WHITE, luma, to_linear};
use super::vector;
use crate::gain::DotGain;
use crate::manual::document::Screen;

fn picture(width: u32, height: u32, srgb: impl Fn(u32, u32) -> f64) -> Light {
    let places = (0..height).flat_map(|y| (0..width).map(move |x| (x, y)));
    Light { width, height, light: places.map(|(x, y)| to_linear(srgb(x, y).clamp(0.0, 1.0))).collect() }
}

/// IEC 61966-2-1: 0.04045 / 12.92; ((v + 0.055) / 1.055)^2.4; 0.5 gives 0.2140.
#[test]
fn srgb_becomes_light_by_the_standard() {
    assert_eq!(to_linear(0.0), 0);
    assert_eq!(to_linear(1.0), WHITE);
    assert_eq!(to_linear(0.5), (0.214_041_14 * 65535.0_f64).round() as u16);
    assert_eq!(to_linear(0.04045), (0.04045 / 12.92 * 65535.0_f64).round() as u16);
}

/// ITU-R BT.709: 0.2126, 0.7152, 0.0722 on linear light.
#[test]
fn luma_has_the_weights_of_bt_709() {
    assert_eq!([luma(WHITE, 0, 0), luma(0, WHITE, 0), luma(0, 0, WHITE)], [13933, 46871, 4732]);
    assert_eq!(luma(WHITE, WHITE, WHITE), WHITE);
}

#[test]
fn scaling_averages_light_not_numbers() {
    // A board of single black and white pixels is half the light, which in sRGB is 188, not 128.
    let board = picture(64, 64, |x, y| f64::from((x + y) % 2));
    for kernel in [Kernel::Area, Kernel::Lanczos] {
        let half = board.scaled(board.window(), 16, 16, kernel);
        let inner = half.light[8 * 16 + 8];
        assert!((i32::from(inner) - 32768).abs() < 700, "{kernel:?}: {inner}");
    }
}

#[test]
fn a_flat_picture_stays_flat_at_any_scale_and_crop() {
    let flat = picture(37, 23, |_, _| 0.6);
    let value = flat.light[0];
    for (width, height) in [(1, 1), (7, 9), (37, 23), (200, 100)] {
        for kernel in [Kernel::Area, Kernel::Lanczos] {
            let mut window = flat.window();
            window.left = 3.3;
            window.width = 20.1;
            let scaled = flat.scaled(window, width, height, kernel);
            assert!(scaled.light.iter().all(|&light| light == value), "{width} x {height}, {kernel:?}");
        }
    }
}

#[test]
fn area_scaling_is_exact_for_whole_steps() {
    let steps = picture(8, 2, |x, _| if x < 4 { 0.0 } else { 1.0 });
    assert_eq!(steps.scaled(steps.window(), 4, 1, Kernel::Area).light, [0, 0, WHITE, WHITE]);
    assert_eq!(steps.scaled(steps.window(), 8, 2, Kernel::Area), steps);
}

#[test]
fn many_thousand_pixels_in_one_dot_are_their_mean() {
    let long = picture(40_000, 2, |x, _| f64::from(x % 2));
    for kernel in [Kernel::Area, Kernel::Lanczos] {
        let dot = long.scaled(long.window(), 1, 1, kernel).light[0];
        assert!((i32::from(dot) - 32768).abs() < 300, "{kernel:?}: {dot}");
    }
}

/// Ink on a share `a` leaves `(1 - a)^n` of the light (the model of Yule and Nielsen without light from the ink); at half ink
/// the paper is darker than half by the gain, so asking for the curve's white gives back the wanted light.
#[test]
fn the_gain_curve_undoes_the_gain() {
    for gain in [0, 60, 120, 250, 400, 999] {
        let power = DotGain::at_half(gain).exponent();
        let paper = libm::pow(0.5, power);
        assert!((paper - (0.5 - f64::from(gain.min(450)) / 1000.0)).abs() < 1e-12);
        let ramp = picture(256, 1, |x, _| f64::from(x) / 255.0);
        let asked = ramp.finished(Finish { sharpen: 0, clarity: 0, stretch: false, dot_gain: gain.into() });
        for (light, white) in ramp.light.iter().zip(&asked.white) {
            let seen = libm::pow(f64::from(*white) / 255.0, power);
            assert!((seen - f64::from(*light) / 65535.0).abs() < 0.012, "gain {gain}: {light} gives {seen}");
        }
        assert_eq!((asked.white[0], asked.white[255]), (0, 255), "black and white stay");
    }
}

#[test]
fn a_curve_is_undone_where_it_was_measured() {
    // FORMAT.md, "Making a printer ready": asked and seen in thousandths.
    let measured = [[100, 160], [250, 380], [500, 640], [750, 860]];
    let curve = DotGain::curve(&measured).expect("a curve");
    for [asked, seen] in measured {
        let light = ((1000 - u32::from(seen)) * u32::from(WHITE) / 1000) as u16;
        let grey = Light { width: 8, height: 1, light: vec![light; 8] };
        let shares = grey.finished(Finish { sharpen: 0, clarity: 0, stretch: false, dot_gain: curve });
        let ink = 1.0 - f64::from(shares.white[0]) / 255.0;
        assert!((ink - f64::from(asked) / 1000.0).abs() < 0.003, "{seen}: {ink} of ink is asked for, not {asked}");
    }
    let ends = picture(2, 1, |x, _| f64::from(x)).finished(Finish { sharpen: 0, clarity: 0, stretch: false, dot_gain: curve });
    assert_eq!(ends.white, [0, 255]);
}

#[test]
fn contrast_is_stretched_but_fog_stays_fog() {
    let finish = Finish { sharpen: 0, clarity: 0, stretch: true, dot_gain: 0.into() };
    let dull = picture(300, 10, |x, _| 0.15 + 0.7 * f64::from(x) / 299.0).finished(finish);
    assert!(dull.white[0] <= 1 && dull.white[299] >= 254);
    let fog = picture(300, 10, |x, _| 0.7 + 0.1 * f64::from(x) / 299.0).finished(finish);
    assert!(fog.white[0] > 80, "{}", fog.white[0]);
    let flat = picture(30, 10, |_, _| 0.5).finished(finish);
    assert!(flat.white.iter().all(|&white| white == flat.white[0]) && (60..180).contains(&flat.white[0]), "{}", flat.white[0]);
}

#[test]
fn a_dark_picture_is_lightened_so_that_it_does_not_clog() {
    let dusk = picture(300, 10, |x, _| 0.02 + 0.4 * f64::from(x) / 299.0);
    let mean = |stretch| {
        let shares = dusk.finished(Finish { sharpen: 0, clarity: 0, stretch, dot_gain: 120.into() });
        shares.white.iter().map(|&white| u32::from(white)).sum::<u32>() / 3000
    };
    assert!(mean(false) < 40 && mean(true) > 70, "{} {}", mean(false), mean(true));
}

#[test]
fn clarity_sets_shapes_off_and_keeps_black_white_and_flat_grounds() {
    let finish = |clarity| Finish { sharpen: 0, clarity, stretch: false, dot_gain: 0.into() };
    let shapes = picture(120, 60, |x, _| if x < 60 { 0.45 } else { 0.55 });
    let (plain, set_off) = (shapes.finished(finish(0)), shapes.finished(finish(600)));
    assert!(set_off.white[59] < plain.white[59] && set_off.white[60] > plain.white[60]);
    assert_eq!((set_off.white[10], set_off.white[110]), (plain.white[10], plain.white[110]));
    let ends = picture(120, 60, |x, _| f64::from(x / 60));
    assert_eq!(ends.finished(finish(600)), ends.finished(finish(0)));
    for (width, height) in [(1, 1), (1, 40), (40, 1), (3, 5)] {
        let small = picture(width, height, |_, _| 0.5);
        assert_eq!(small.finished(finish(600)), small.finished(finish(0)), "{width} x {height}");
    }
}

#[test]
fn sharpening_lifts_edges_and_leaves_flat_grounds_and_faint_grain() {
    let finish = |sharpen| Finish { sharpen, clarity: 0, stretch: false, dot_gain: 0.into() };
    let edge = picture(40, 5, |x, _| if x < 20 { 0.4 } else { 0.6 });
    let (soft, sharp) = (edge.finished(finish(0)), edge.finished(finish(900)));
    assert!(sharp.white[19] < soft.white[19] && sharp.white[20] > soft.white[20]);
    assert_eq!((sharp.white[5], sharp.white[35]), (soft.white[5], soft.white[35]));
    let grain = picture(40, 40, |x, y| 0.5 + 0.004 * f64::from((x * 7 + y * 5) % 3));
    assert_eq!(grain.finished(finish(900)), grain.finished(finish(0)));
}

/// A ball in soft light with grain.
fn photograph(width: u32, height: u32) -> Light {
    picture(width, height, |x, y| {
        let (across, down) = (f64::from(x) / f64::from(width) - 0.5, f64::from(y) / f64::from(height) - 0.5);
        let deep = 0.16 - across * across - down * down;
        let grain = f64::from((x * 31 + y * 57) % 17) / 400.0;
        if deep > 0.0 { 0.2 + 1.5 * libm::sqrt(deep) - across * 0.4 + grain } else { 0.75 - down * 0.3 + grain }
    })
}

#[test]
fn photographs_and_drawings_are_told_apart() {
    let photo = Nature { drawing: false, screen: Screen::Photo };
    let line = Nature { drawing: true, screen: Screen::Line };
    let tones = Nature { drawing: true, screen: Screen::Photo };
    for (width, height) in [(80, 60), (400, 300), (1500, 900)] {
        assert_eq!(of_pixels(&photograph(width, height)), photo, "photograph {width} x {height}");
        let scale = f64::from(width) / 100.0;
        let ring = |x: u32, y: u32| {
            let (across, down) = (f64::from(x) / scale - 50.0, f64::from(y) / scale - 35.0);
            let off = (libm::sqrt(across * across + down * down) - 25.0).abs() - 1.0;
            // Soft edges of one pixel, as drawing programs export them.
            (off * scale + 0.5).clamp(0.0, 1.0)
        };
        assert_eq!(of_pixels(&picture(width, height, ring)), line, "ring {width} x {height}");
        let shaded = picture(width, height, |x, y| if ring(x, y) < 1.0 || y * 3 < height { ring(x, y) } else { 0.62 });
        assert_eq!(of_pixels(&shaded), tones, "shaded ring {width} x {height}");
        // Dark text on paper that is not quite white, as a scanner gives it.
        let scan = picture(width, height, |x, y| {
            if (x / (width / 60).max(1) + y / (width / 40).max(1)) % 4 == 0 {
                0.12
            } else {
                0.95 + f64::from((x * 7 + y * 3) % 3) * 0.003
            }
        });
        assert!(of_pixels(&scan).drawing, "scan {width} x {height}");
    }
    assert_eq!(of_pixels(&picture(1, 1, |_, _| 1.0)), line);
    // A terminal's window: letters of a dark red on black.
    let terminal = picture(400, 300, |x, y| if y % 20 < 9 && x % 7 < 2 { 0.09 } else { 0.0 });
    assert_eq!(of_pixels(&terminal), tones, "letters that a threshold loses");
    assert_eq!(of_pixels(&picture(300, 40, |x, _| f64::from(x) / 300.0)), photo, "a wedge of greys");
}

/// Found by readers: a picture from a CAD program, thin outlines on a light gradient, was taken for a halftone, and an underexposed photograph for a
/// drawing that stayed 94 % black.
#[test]
fn what_could_be_either_is_a_photograph() {
    let photo = Nature { drawing: false, screen: Screen::Photo };
    for (width, height) in [(400, 300), (1000, 700)] {
        let outlines = picture(width, height, |x, y| {
            let ground = 0.72 + 0.25 * f64::from(y) / f64::from(height);
            if x % (width / 5) < 2 || y % (height / 4) < 2 { 0.15 } else { ground }
        });
        assert_eq!(of_pixels(&outlines), photo, "outlines {width} x {height}");
        let bright = photograph(width, height);
        let dusk = Light { light: bright.light.iter().map(|&light| light / 40).collect(), ..bright };
        assert_eq!(of_pixels(&dusk), photo, "dusk {width} x {height}");
    }
}

#[test]
fn drawings_of_ink_and_paper_are_not_rendered_to_choose_their_screen() {
    let faces = vector::Faces::new(&[]);
    let paints = |inside: &str| {
        let svg = format!("<svg xmlns='http://www.w3.org/2000/svg' width='10' height='10'>{inside}</svg>");
        vector::read(svg.as_bytes(), "drawing.svg", &faces).expect(inside).paints
    };
    const PATTERN: &str = "<pattern id='p' width='2' height='2' patternUnits='userSpaceOnUse'><path d='M0 0h1v2H0z'/></pattern>\
         <path d='M0 0h5v5z' fill='url(#p)'/>";
    const MASK: &str = "<mask id='m'><path d='M0 0h9v9z' fill='#888'/></mask><g mask='url(#m)'><path d='M0 0h5v5z'/></g>";
    const GRADIENT: &str = "<linearGradient id='g'><stop stop-color='#000'/><stop offset='1' stop-color='#fff'/></linearGradient>\
         <path d='M0 0h5v5z' fill='url(#g)'/>";
    for (inside, wanted) in [
        ("<path d='M0 0h5v5z'/>", Paints::InkAndPaper),
        ("<g><g><path d='M0 0h5v5z' fill='#fff' stroke='#0a0a0a'/></g></g>", Paints::InkAndPaper),
        ("<path d='M0 0h5v5z' fill='none' stroke='#eee'/>", Paints::InkAndPaper),
        ("<path d='M0 0h5v5z' fill='#888'/>", Paints::Tones),
        ("<g><path d='M0 0h5v5z'/><path d='M0 0h5v5z' stroke='red'/></g>", Paints::Tones),
        ("<path d='M0 0h5v5z' fill-opacity='.5'/>", Paints::Tones),
        ("<g opacity='.5'><path d='M0 0h5v5z'/></g>", Paints::Tones),
        (PATTERN, Paints::Tones),
        (MASK, Paints::Tones),
        (GRADIENT, Paints::Gradient),
    ] {
        assert_eq!(paints(inside), wanted, "{inside}");
    }
    let line = of_outlines(Paints::InkAndPaper, || panic!("it was rendered")).expect("chosen without looking");
    assert_eq!(line, Nature { drawing: true, screen: Screen::Line });
    let grey = of_outlines(Paints::Tones, || Ok(picture(100, 100, |_, _| 0.3))).expect("looked at");
    assert_eq!(grey, Nature { drawing: true, screen: Screen::Halftone });
}
