//! Which command carries which rows: the cheapest cover of a region, found from its last row up.
//!
//! A region is what stands between two cuts. Blank rows are fed, rows free of real-time pairs go into bands of the profile's
//! raster way, and the rest takes the detours that the module above describes, each with a price that keeps it for need.

use super::{columns, graphics, rows, slices};
use crate::bitmap::Bitmap;
use crate::printer::profile::{Profile, Raster};

/// A run of rows and the command that carries it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Piece {
    Feed { rows: u32 },
    Rows { top: u32, rows: u32 },
    Graphics { top: u32, rows: u32 },
    Stripe { top: u32 },
    Slice { top: u32, rows: u32 },
}

/// Price of starting a feed, in bytes: shorter blank runs ride along in a band, because a stop and start costs smoothness.
const FEED: u64 = 400;
/// Price of leaving the profile's raster way for another that every printer of the kind is likely to know.
const DETOUR: u64 = 4_000;
/// Price of printing one column twice over.
const TWICE: u64 = 40_000;
/// Price of leaving stripes for rows: a printer that is told in stripes may know no other way, so only rows that fill no
/// stripe go by it.
const FOREIGN: u64 = 4_000_000;
/// Price of a command that the profile's printer may not know.
const STRANGE: u64 = 1_000_000_000;
/// No way.
const NEVER: u64 = u64::MAX / 2;

/// What happens at a row, given what is open there.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Step {
    Feed,
    Band,
    Stripe,
    Slice(u8),
    /// What was open ends; the row is asked anew.
    Close,
}

/// Covers rows `top..bottom`, in order, each exactly once.
pub fn plan(bitmap: &Bitmap, profile: &Profile, top: u32, bottom: u32) -> Vec<Piece> {
    let height = (bottom - top) as usize;
    let blank: Vec<bool> = (top..bottom).map(|y| bitmap.row_is_blank(y)).collect();
    let clean: Vec<bool> =
        (top..bottom).zip(&blank).map(|(y, &blank)| blank || !rows::holds_pair(bitmap.row(y), profile.lsb_first)).collect();
    let (width, stride) = (u64::from(bitmap.width()), bitmap.stride() as u64);
    let (band_start, band_row) = match profile.raster {
        Raster::Rows => (u64::from(rows::HEAD), stride),
        Raster::Graphics => (u64::from(graphics::FRAME), stride),
        Raster::Columns => (FOREIGN, stride + DETOUR),
    };
    let stripe_start = if profile.raster == Raster::Columns { 0 } else { DETOUR };
    let slice_start = if profile.raster == Raster::Graphics { DETOUR } else { STRANGE };

    // Cheapest cover from each row down: with nothing open, with a feed open, with a band open.
    let (mut closed, mut feeding, mut banding) = (vec![0u64; height + 1], vec![0u64; height + 1], vec![0u64; height + 1]);
    let mut steps = vec![Step::Close; height];
    let mut next_dirty = usize::MAX;
    for y in (0..height).rev() {
        let mut best = (NEVER, Step::Close);
        let mut offer = |price: u64, step: Step| {
            if price < best.0 {
                best = (price, step);
            }
        };
        if blank[y] {
            offer(FEED + feeding[y + 1], Step::Feed);
        }
        if clean[y] {
            offer(band_start + band_row + banding[y + 1], Step::Band);
        }
        if !clean[y] {
            next_dirty = y;
            for rows in 1..=(slices::ROWS as usize).min(height - y) {
                offer(slice_start + width + closed[y + rows], Step::Slice(rows as u8));
            }
        }
        let wanted = match profile.raster {
            Raster::Rows => next_dirty < y + columns::ROWS as usize,
            Raster::Graphics => false,
            Raster::Columns => true,
        };
        if wanted && y + columns::ROWS as usize <= height {
            let twice = columns::hazards(bitmap, profile.lsb_first, top + y as u32);
            let price = stripe_start + 6 + 3 * width + TWICE * u64::from(twice);
            offer(price + closed[y + columns::ROWS as usize], Step::Stripe);
        }
        (closed[y], steps[y]) = best;
        feeding[y] = if blank[y] { feeding[y + 1].min(closed[y]) } else { closed[y] };
        banding[y] = if clean[y] { (band_row + banding[y + 1]).min(closed[y]) } else { closed[y] };
    }
    pieces(
        profile,
        top,
        &steps,
        |y| blank[y] && feeding[y + 1] <= closed[y],
        |y| clean[y] && band_row + banding[y + 1] <= closed[y],
    )
}

/// Follows the steps from the first row down. `feeds_on` and `bands_on` say whether an open feed or band takes the row in.
fn pieces(
    profile: &Profile,
    top: u32,
    steps: &[Step],
    feeds_on: impl Fn(usize) -> bool,
    bands_on: impl Fn(usize) -> bool,
) -> Vec<Piece> {
    let mut pieces = Vec::new();
    let mut y = 0;
    while y < steps.len() {
        let at = top + y as u32;
        let run = |goes_on: &dyn Fn(usize) -> bool| 1 + (y + 1..steps.len()).take_while(|&y| goes_on(y)).count() as u32;
        let (piece, rows) = match steps[y] {
            Step::Feed => {
                let rows = run(&feeds_on);
                (Piece::Feed { rows }, rows)
            }
            Step::Band => {
                let rows = run(&bands_on);
                match profile.raster {
                    Raster::Graphics => (Piece::Graphics { top: at, rows }, rows),
                    Raster::Rows | Raster::Columns => (Piece::Rows { top: at, rows }, rows),
                }
            }
            Step::Stripe => (Piece::Stripe { top: at }, columns::ROWS),
            Step::Slice(rows) => (Piece::Slice { top: at, rows: u32::from(rows) }, u32::from(rows)),
            Step::Close => unreachable!("a row is clean and may be in a band, or it may be in a slice"),
        };
        pieces.push(piece);
        y += rows as usize;
    }
    pieces
}
