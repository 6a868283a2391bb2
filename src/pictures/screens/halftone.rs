//! Clustered dots at 45 degrees (common practice for one ink): tones as grown spots, which print evenly on any head.
//!
//! The tile holds eight cells. All cells grow by the same spot order; where one more dot is due, the cells take turns in the
//! dispersed order of Bayer 1973, so that a tile has as many tones as dots, and neighbours never jump together.

use crate::bitmap::{Bitmap, Ink};
use crate::lengths::Resolution;
use crate::pictures::tone::Shares;

use super::{Ask, line, packed};

/// The ordered matrix of Bayer 1973 of side `2^order`, row by row: [[0, 2], [3, 1]] and its recursion.
pub fn bayer(order: u32) -> Vec<u32> {
    let mut matrix = vec![0];
    for step in 0..order {
        let side = 1usize << step;
        let mut larger = vec![0; 4 * side * side];
        for (index, &value) in matrix.iter().enumerate() {
            let (x, y) = (index % side, index / side);
            for (right, down, add) in [(0, 0, 0), (1, 0, 2), (0, 1, 3), (1, 1, 1)] {
                larger[(y + down * side) * 2 * side + x + right * side] = 4 * value + add;
            }
        }
        matrix = larger;
    }
    matrix
}

/// Half the diagonal of a cell in dots: 4 at 8 dots/mm, so spots stand 5.7 dots (0.7 mm) apart.
fn reach(resolution: Resolution) -> i32 {
    ((resolution.dots_per_metre + 1000) / 2000).clamp(2, 8) as i32
}

/// Thresholds of a square tile four reaches wide: a dot is black when its white is below its threshold.
///
/// Cells are squares standing on a corner. With `u = x + y + 1` and `v = x - y`, twice the dot's middle along the diagonals,
/// a cell is the half-open square of side two reaches in `u` and `v`, and so holds exactly `2 * reach^2` dots.
struct Tile {
    side: usize,
    thresholds: Vec<u8>,
}

impl Tile {
    fn new(reach: i32) -> Tile {
        let side = 4 * reach;
        let (ranks, turns) = (spot_ranks(reach), bayer(2));
        let all = (side * side) as u32;
        let mut thresholds = Vec::with_capacity(all as usize);
        for y in 0..side {
            for x in 0..side {
                let (u, v) = (x + y + 1 + reach, x - y + reach);
                let (a, b) = (u.div_euclid(2 * reach), v.div_euclid(2 * reach));
                // Cells stand on the even fields of a 4 x 4 board, where Bayer's matrix holds 0 to 7.
                let turn = turns[((a - b).rem_euclid(4) * 4 + (a + b).rem_euclid(4)) as usize];
                let rank = ranks[(v.rem_euclid(2 * reach) * 2 * reach + u.rem_euclid(2 * reach)) as usize];
                let order = rank * 8 + turn;
                thresholds.push((255 - order * 255 / all) as u8);
            }
        }
        Tile { side: side as usize, thresholds }
    }
}

/// The order in which the dots of a cell turn black, by `v` and `u`: the highest of `cos u + cos v` first; equal ones
/// outward from the top, so that a spot stays as round as it can.
fn spot_ranks(reach: i32) -> Vec<u32> {
    let side = 2 * reach;
    let turn = std::f64::consts::PI / f64::from(reach);
    let mut dots: Vec<(i64, i32)> = (0..side * side)
        .filter(|index| (index % side + index / side) % 2 == 1)
        .map(|index| {
            let (u, v) = (f64::from(index % side - reach), f64::from(index / side - reach));
            let height = libm::cos(turn * u) + libm::cos(turn * v);
            (-libm::round(height * 1e9) as i64, index)
        })
        .collect();
    dots.sort();
    let mut ranks = vec![0; (side * side) as usize];
    for (rank, &(_, index)) in dots.iter().enumerate() {
        ranks[index as usize] = rank as u32;
    }
    ranks
}

/// With several samples a dot, each is screened by the dot's own threshold and the most of them decide: so the edge of a
/// black line stays the edge it is, and only greys become spots. Lines too thin to hold a spot are drawn through, as in the
/// line screen.
pub fn screen(ask: &Ask) -> Bitmap {
    let tile = Tile::new(reach(ask.resolution));
    let fine = ask.fine.max(1) as usize;
    let (width, wide) = (ask.shares.width as usize / fine, ask.shares.width as usize);
    let height = ask.shares.height as usize / fine;
    let threshold = |x: usize, y: usize| tile.thresholds[y % tile.side * tile.side + x % tile.side];
    if fine == 1 {
        return packed(width as u32, height as u32, |x, y| ask.shares.white[y * wide + x] < threshold(x, y));
    }
    let samples = |x: usize, y: usize| {
        let rows = ask.shares.white[y * fine * wide..].chunks(wide).take(fine);
        rows.flat_map(move |row| &row[x * fine..][..fine])
    };
    let mut bitmap = packed(width as u32, height as u32, |x, y| {
        let black = samples(x, y).filter(|&&white| white < threshold(x, y)).count();
        black * 2 >= fine * fine
    });
    let whole = fine * fine;
    let mean = |x: usize, y: usize| (samples(x, y).map(|&white| usize::from(white)).sum::<usize>() / whole) as u8;
    let white = (0..height).flat_map(|y| (0..width).map(move |x| (x, y))).map(|(x, y)| mean(x, y)).collect();
    bitmap.put(&line::ridges(&Shares { width: width as u32, height: height as u32, white }), 0, 0, Ink::Black);
    bitmap
}
