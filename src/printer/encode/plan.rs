//! Which command carries which rows: the cheapest cover of a region, found from its last row up.
//!
//! A region is what stands between two cuts. Blank rows are fed, rows free of real-time pairs go into bands of the profile's
//! raster way, each only as wide as its dots reach, and in the way of rows a stripe is taken where it is clearly shorter. The
//! rest takes the detours that the module above describes, each with a price that keeps it for need.
//!
//! # Prices
//! Bytes, and for what is not sent but felt a price in bytes. Those are chosen here, no source.

use super::piece::{Band, Piece};
use super::stripe_price::StripePrice;
use super::{columns, graphics, passes_white, rows, slices, spells_real_time};
use crate::bitmap::Bitmap;
use crate::printer::profile::{Profile, Raster, Thrift};

/// Price of starting a feed or a band besides its bytes: many short pieces cost a printer smoothness.
const START: u64 = 80;
/// Bytes of a feed.
const FEED: u64 = 3;
/// Price of a stripe that nothing asks for but thrift: it must save so much.
const THRIFTY: u64 = 250;
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

/// What begins at a row.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Step {
    Feed,
    Band,
    Stripe,
    Slice(u32),
}

/// What a profile's raster way costs.
struct Prices {
    band_start: u64,
    /// On top of the row's bytes.
    band_row: u64,
    slice_start: u64,
    /// Of a stripe that something asks for.
    detour: u64,
    /// Of one that nothing asks for, if it may be sent.
    thrifty: Option<u64>,
    /// Whether stripes are the way.
    stripes_everywhere: bool,
}

impl Prices {
    fn of(profile: &Profile) -> Prices {
        let (band_start, band_row, slice_start) = match profile.raster {
            Raster::Rows => (START + u64::from(rows::HEAD), 0, STRANGE),
            Raster::Graphics => (START + u64::from(graphics::FRAME), 0, DETOUR),
            Raster::Columns => (FOREIGN, DETOUR, STRANGE),
        };
        let (stripes_everywhere, thrifty) = (profile.raster == Raster::Columns, profile.thrift == Thrift::Stripes);
        Prices {
            band_start,
            band_row,
            slice_start,
            detour: if stripes_everywhere { 0 } else { DETOUR },
            thrifty: thrifty.then_some(THRIFTY),
            stripes_everywhere,
        }
    }

    /// Of a stripe besides its bytes, if it holds no hazard.
    fn stripe_start(&self, needed: bool) -> Option<u64> {
        match self.thrifty {
            _ if self.stripes_everywhere => Some(0),
            None if needed => Some(self.detour),
            thrifty => thrifty,
        }
    }

    /// Of a band of this many rows and bytes a row.
    fn band(&self, rows: u64, stride: u32) -> u64 {
        self.band_start + rows * (u64::from(stride) + self.band_row)
    }
}

/// Covers rows `top..bottom`, in order, each exactly once.
pub fn plan(bitmap: &Bitmap, profile: &Profile, top: u32, bottom: u32) -> Vec<Piece> {
    let height = (bottom - top) as usize;
    let prices = Prices::of(profile);
    let used: Vec<usize> =
        (top..bottom).map(|y| bitmap.row(y).iter().rposition(|&byte| byte != 0).map_or(0, |last| last + 1)).collect();
    let clean: Vec<bool> =
        (top..bottom).zip(&used).map(|(y, &used)| !rows::holds_pair(&bitmap.row(y)[..used], profile.lsb_first)).collect();
    let stripes = (profile.raster != Raster::Graphics).then(|| StripePrice::new(bitmap, top, bottom, passes_white(profile)));
    let strides = strides(bitmap, profile);
    let narrowest: Vec<usize> =
        (0..=bitmap.stride()).map(|used| strides.partition_point(|&stride| (stride as usize) < used)).collect();

    // Cheapest cover from each row down: with nothing open, with a feed open; and what it saves to have a band of each stride
    // open, which is never more than a band's start and so fits a short number, many of which are worked on at once.
    let mut closed = vec![0u64; height + 1];
    let mut steps = vec![Step::Feed; height];
    let (mut feeding, mut saved) = (0u64, vec![0i32; strides.len()]);
    let mut next_dirty = usize::MAX;
    for y in (0..height).rev() {
        let mut best = Best { price: NEVER, step: Step::Feed };
        if used[y] == 0 {
            best.offer(START + FEED + feeding, Step::Feed);
        }
        if clean[y] {
            let narrowest = narrowest[used[y]];
            let gains = strides[narrowest..].iter().zip(&saved[narrowest..]).map(|(&stride, &saved)| saved - stride);
            let gain = gains.fold(i32::MIN, i32::max);
            best.offer((prices.band(1, 0) + closed[y + 1]).saturating_add_signed(-i64::from(gain)), Step::Band);
        } else {
            next_dirty = y;
            for rows in 1..=(slices::ROWS as usize).min(height - y) {
                best.offer(prices.slice_start + u64::from(bitmap.width()) + closed[y + rows], Step::Slice(rows as u32));
            }
        }
        let below = y + columns::ROWS as usize;
        if let Some(stripes) = stripes.as_ref().filter(|_| below <= height) {
            let needed = prices.stripes_everywhere || next_dirty < below;
            let price = |start: u64| (start, closed[below] + u64::from(stripes.bytes(y)));
            // Looking for hazards takes longest: only where the stripe would be taken if it had none.
            let wanted = prices.stripe_start(needed).map(price).filter(|(start, bytes)| start + bytes < best.price);
            if let Some((start, bytes)) = wanted {
                match u64::from(columns::hazards(bitmap, profile.lsb_first, top + y as u32)) {
                    0 => best.offer(bytes + start, Step::Stripe),
                    twice if needed => best.offer(bytes + prices.detour + TWICE * twice, Step::Stripe),
                    _ => {}
                }
            }
        }
        (closed[y], steps[y]) = (best.price, best.step);
        feeding = if used[y] == 0 { feeding.min(best.price) } else { best.price };
        let fits = if clean[y] { narrowest[used[y]] } else { strides.len() };
        saved[..fits].fill(0);
        let more = best.price as i64 - (closed[y + 1] + prices.band_row) as i64;
        let more = more.clamp(i64::from(i32::MIN / 2), i64::from(i32::MAX / 2)) as i32;
        for (&stride, saved) in strides.iter().zip(&mut saved).skip(fits) {
            *saved = (*saved + more - stride).max(0);
        }
    }
    let stride = |y: usize| clean[y].then(|| strides[narrowest[used[y].max(1)]] as u32);
    pieces(top, &steps, &closed, &prices, |y| used[y] == 0, stride)
}

/// Strides that a band may have: all that its header can say without spelling a real-time pair, and the whole row's.
fn strides(bitmap: &Bitmap, profile: &Profile) -> Vec<i32> {
    let whole = bitmap.stride() as u32;
    let sayable = |&stride: &u32| {
        let said = if profile.raster == Raster::Graphics { graphics::width(bitmap, stride) } else { stride };
        stride == whole || !spells_real_time(&said.to_le_bytes())
    };
    (1..=whole).filter(sayable).map(|stride| stride as i32).collect()
}

/// The cheapest step found so far.
struct Best {
    price: u64,
    step: Step,
}

impl Best {
    fn offer(&mut self, price: u64, step: Step) {
        if price < self.price {
            *self = Best { price, step };
        }
    }
}

/// Follows the steps from the first row down. A feed or band goes on until its price and that of the rest below it are the
/// price that was found. `blank` says whether a row may be fed, `stride` what a row needs of a band, if it may be in one.
fn pieces(
    top: u32,
    steps: &[Step],
    closed: &[u64],
    prices: &Prices,
    blank: impl Fn(usize) -> bool,
    stride: impl Fn(usize) -> Option<u32>,
) -> Vec<Piece> {
    let mut pieces = Vec::new();
    let mut y = 0;
    while y < steps.len() {
        let at = top + y as u32;
        let piece = match steps[y] {
            Step::Feed => {
                let run = (y..steps.len()).take_while(|&row| blank(row)).find(|row| closed[y] == START + FEED + closed[row + 1]);
                Piece::Feed { rows: run.map_or(1, |last| (last + 1 - y) as u32) }
            }
            Step::Band => {
                let mut band = Band { top: at, rows: 0, stride: 1 };
                for needed in (y..steps.len()).map_while(&stride) {
                    (band.rows, band.stride) = (band.rows + 1, band.stride.max(needed));
                    if closed[y] == prices.band(u64::from(band.rows), band.stride) + closed[y + band.rows as usize] {
                        break;
                    }
                }
                Piece::Band(band)
            }
            Step::Stripe => Piece::Stripe { top: at },
            Step::Slice(rows) => Piece::Slice { top: at, rows },
        };
        y += piece.rows() as usize;
        pieces.push(piece);
    }
    pieces
}
