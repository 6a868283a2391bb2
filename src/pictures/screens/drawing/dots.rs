//! From samples to dots.

use super::FINE;
use crate::pictures::parts::parts_by;

/// From samples to dots: specks and pinholes dropped, each dot what most of its samples are, nothing thinner than two dots either way.
pub fn dots(ink: &[bool], width: usize) -> (Vec<bool>, usize) {
    let mut ink = ink.to_vec();
    drop_small(&mut ink, width, true, 20);
    drop_small(&mut ink, width, false, 20);
    let (across, down) = (width / FINE, ink.len() / width / FINE);
    let mut dots = vec![false; across * down];
    for y in 0..down {
        for x in 0..across {
            let count: u32 = (0..FINE * FINE).map(|n| u32::from(ink[(y * FINE + n / FINE) * width + x * FINE + n % FINE])).sum();
            dots[y * across + x] = count * 2 >= (FINE * FINE) as u32;
        }
    }
    drop_small(&mut dots, across, true, 5);
    drop_small(&mut dots, across, false, 4);
    thicken(&mut dots, across);
    (dots, across)
}

/// Turns parts of fewer than `least` samples over, black ones or white ones. White parts hang together by their sides, black ones by
/// their corners too.
fn drop_small(ink: &mut [bool], width: usize, black: bool, least: usize) {
    let height = ink.len() / width;
    let own: Vec<bool> = ink.iter().map(|&ink| ink == black).collect();
    for part in parts_by(&own, width, height, black).iter().filter(|part| part.len() < least) {
        part.iter().for_each(|&at| ink[at] = !black);
    }
}

/// Every black dot becomes part of a black square of two by two, and then every white dot that is part of no white one is filled. Both only add
/// black, so a few rounds end it.
pub fn thicken(dots: &mut [bool], width: usize) {
    let height = dots.len() / width;
    if width < 2 || height < 2 {
        return;
    }
    loop {
        let covered = |dots: &[bool], x: usize, y: usize, black: bool| {
            (0..4).any(|corner| {
                let (left, top) = (x as i32 - (corner % 2), y as i32 - (corner / 2));
                (0..4).all(|n| {
                    let (x, y) = (left + n % 2, top + n / 2);
                    let outside = x < 0 || y < 0 || x >= width as i32 || y >= height as i32;
                    if outside { !black } else { dots[y as usize * width + x as usize] == black }
                })
            })
        };
        let mut changed = false;
        for y in 0..height {
            for x in 0..width {
                if dots[y * width + x] && !covered(dots, x, y, true) {
                    // The square that has the most ink already.
                    let squares = (0..4).filter_map(|corner| {
                        let (left, top) = (x as i32 - corner % 2, y as i32 - corner / 2);
                        let fits = left >= 0 && top >= 0 && left + 1 < width as i32 && top + 1 < height as i32;
                        fits.then_some((left as usize, top as usize))
                    });
                    let ink =
                        |&(left, top): &(usize, usize)| (0..4).filter(|n| dots[(top + n / 2) * width + left + n % 2]).count();
                    if let Some((left, top)) = squares.max_by_key(ink) {
                        (0..4).for_each(|n| dots[(top + n / 2) * width + left + n % 2] = true);
                        changed = true;
                    }
                }
            }
        }
        for y in 0..height {
            for x in 0..width {
                if !dots[y * width + x] && !covered(dots, x, y, false) {
                    dots[y * width + x] = true;
                    changed = true;
                }
            }
        }
        if !changed {
            return;
        }
    }
}
