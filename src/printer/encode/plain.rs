//! What a printer of which nothing is known is sent: rows in the order of the strip, in one way of raster, each as wide as the head.
//!
//! # A dot that would be taken for a question
//! Where every row goes at full width in one command kind, the bytes of a row can't be parted: a row that holds a real-time pair
//! (10 followed by 04, 05 or 14) has no other spelling. The pair's first byte is always a dot with white beside it, so [`as_told`]
//! moves that dot by one: to the side where dots stand above or below, so that a line stays a line. A code's module or a stroke of
//! type, two dots wide or more, never spells one. Heron has 56 such dots among 788 321 on the generic 80 mm printer.
//!
//! It is done to the strip, before it is shown or sent, so the proof shows the dot where the paper has it; done twice it
//! changes nothing more. Pairs between two rows are parted by a band's end, as everywhere.
//!
//! In the way of columns a stripe takes 24 rows and no fewer. Stripes are placed by which rows are blank and by nothing else;
//! where no blank rows make them fit between two cuts, up to 23 rows of white are put before the cut. A dot that makes a pair is moved
//! within its row, and so the stripes stay where they are.

use super::piece::{Band, Piece};
use super::{columns, cut_line, is_pair, is_plain, rows, sent};
use crate::bitmap::Bitmap;
use crate::printer::profile::{Cut, Profile, Raster, Thrift};
use crate::strip::Strip;

/// Bytes of blank rows that are worth a feed. Chosen here, no source.
const WORTH: u64 = 256;

/// The strip as this printer can be told it: the same but for dots moved by one, for rows of white in the way of columns, and for
/// a printed line where there is no cutter.
///
/// What `encode` puts on paper is `as_told` of what it is given, dot for dot.
pub fn as_told(strip: Strip, profile: &Profile) -> Strip {
    let mut strip = cut_line::drawn(strip, profile);
    if !is_plain(profile) {
        return strip;
    }
    if profile.mirrored {
        // What the bytes spell is the strip seen in a mirror.
        strip.bitmap = strip.bitmap.mirrored();
        strip = parted(strip, profile);
        strip.bitmap = strip.bitmap.mirrored();
        return strip;
    }
    parted(strip, profile)
}

/// The strip without what its bytes would spell.
fn parted(mut strip: Strip, profile: &Profile) -> Strip {
    if profile.raster != Raster::Columns {
        (0..strip.bitmap.height()).for_each(|y| part_row(&mut strip.bitmap, y, profile.lsb_first));
        return strip;
    }
    fit_stripes(&mut strip, profile);
    for (top, bottom) in regions(&strip, profile) {
        for piece in cover(&strip.bitmap, profile, top, bottom) {
            if let Piece::Stripe { top } = piece {
                part_stripe(&mut strip.bitmap, top, profile.lsb_first);
            }
        }
    }
    strip
}

/// Whether [`as_told`] would change a strip; never `false` where it would.
pub fn changes(strip: &Strip, profile: &Profile) -> bool {
    let bitmap = &strip.bitmap;
    let surely = profile.raster == Raster::Columns || profile.mirrored;
    if cut_line::draws(strip, profile) {
        return true;
    }
    is_plain(profile) && (surely || (0..bitmap.height()).any(|y| rows::holds_pair(bitmap.row(y), profile.lsb_first)))
}

/// What stands between two cuts, in rows.
pub fn regions(strip: &Strip, profile: &Profile) -> Vec<(u32, u32)> {
    let height = strip.bitmap.height();
    let mut top = 0;
    let mut regions = Vec::new();
    for cut in strip.cuts.iter().copied().filter(|_| profile.cut != Cut::None).chain([height]) {
        if top < cut && cut <= height {
            regions.push((top, cut));
            top = cut;
        }
    }
    regions
}

/// Covers rows `top..bottom` of a strip as [`as_told`] gives it.
pub fn cover(bitmap: &Bitmap, profile: &Profile, top: u32, bottom: u32) -> Vec<Piece> {
    if profile.raster == Raster::Columns {
        return stripes(bitmap, top, bottom).0;
    }
    let stride = bitmap.stride() as u32;
    let band = |top: u32, bottom: u32| Piece::Band(Band { top, rows: bottom - top, stride });
    // Blank rows at the end are a band of their own, so that the last dots' end is known.
    let dotted = (top..bottom).rfind(|&y| !bitmap.row_is_blank(y)).map_or(top, |last| last + 1);
    let mut pieces = Vec::new();
    let mut start = top;
    let mut y = top;
    while y < bottom {
        let blank = (y..bottom).take_while(|&row| bitmap.row_is_blank(row)).count() as u32;
        let fed = profile.thrift == Thrift::Feeds && u64::from(blank) * u64::from(stride) > WORTH;
        if (fed || y == dotted) && start < y {
            pieces.push(band(start, y));
            start = y;
        }
        if fed {
            pieces.push(Piece::Feed { rows: blank });
            start = y + blank;
        }
        y += blank.max(1);
    }
    if start < bottom {
        pieces.push(band(start, bottom));
    }
    pieces
}

/// Moves the dots of a row that spell pairs.
fn part_row(bitmap: &mut Bitmap, y: u32, lsb_first: bool) {
    if !rows::holds_pair(bitmap.row(y), lsb_first) {
        return;
    }
    for at in 0..bitmap.stride() - 1 {
        let row = bitmap.row(y);
        if !is_pair(sent(row[at], lsb_first), sent(row[at + 1], lsb_first)) {
            continue;
        }
        let (x, y) = (at as i32 * 8 + if lsb_first { 4 } else { 3 }, y as i32);
        let beside = |way: i32| {
            [y - 1, y + 1].iter().flat_map(|&row| [(x + way, row), (x + 2 * way, row)]).filter(|&(x, y)| bitmap.get(x, y)).count()
        };
        let way = if beside(-1) > beside(1) { -1 } else { 1 };
        bitmap.set(x, y, false);
        bitmap.set(x + way, y, true);
    }
}

/// The fewest stripes, then the fewest feeds, that cover `top..bottom`; and the rows that the last one reaches further, if no
/// cover ends where it should. Looks only at which rows are blank.
fn stripes(bitmap: &Bitmap, top: u32, bottom: u32) -> (Vec<Piece>, u32) {
    const STRIPE: u64 = 1 << 20;
    const OVER: u64 = 1 << 50;
    let height = (bottom - top) as usize;
    // The cheapest cover from each row down, with nothing open and with a feed open; and whether it begins with a feed.
    let mut closed = vec![0u64; height + 1];
    let mut feeds = vec![false; height];
    let mut feeding = 0;
    for y in (0..height).rev() {
        let below = y + columns::ROWS as usize;
        let stripe = STRIPE + closed.get(below).copied().unwrap_or(OVER + below as u64);
        let fed = if bitmap.row_is_blank(top + y as u32) { feeding + 1 } else { u64::MAX };
        feeds[y] = fed < stripe;
        closed[y] = fed.min(stripe);
        feeding = if fed == u64::MAX { closed[y] } else { feeding.min(closed[y]) };
    }
    let mut pieces: Vec<Piece> = Vec::new();
    let mut y = 0;
    while y < height {
        if !feeds[y] {
            pieces.push(Piece::Stripe { top: top + y as u32 });
            y += columns::ROWS as usize;
            continue;
        }
        let run =
            (y..height).take_while(|&row| bitmap.row_is_blank(top + row as u32)).find(|row| closed[y] == closed[row + 1] + 1);
        let rows = run.map_or(1, |last| (last + 1 - y) as u32);
        pieces.push(Piece::Feed { rows });
        y += rows as usize;
    }
    (pieces, (y - height) as u32)
}

/// Puts rows of white before the cuts that stripes do not fit to.
fn fit_stripes(strip: &mut Strip, profile: &Profile) {
    for (top, bottom) in regions(strip, profile).into_iter().rev() {
        let (_, over) = stripes(&strip.bitmap, top, bottom);
        if over == 0 {
            continue;
        }
        cut_line::insert(strip, bottom, over);
    }
}

/// The row within a stripe of the dot that is the byte 10.
fn lead(part: u32, lsb_first: bool) -> i32 {
    (part * 8 + if lsb_first { 4 } else { 3 }) as i32
}

/// The column as it is sent.
fn column(bitmap: &Bitmap, x: i32, top: u32, lsb_first: bool) -> [u8; 3] {
    std::array::from_fn(|part| {
        let dot = |down: i32| u8::from(bitmap.get(x, top as i32 + part as i32 * 8 + down)) << (7 - down);
        sent((0..8).map(dot).sum(), lsb_first)
    })
}

/// The first byte of a pair inside a column.
fn pair_in([first, middle, last]: [u8; 3]) -> Option<u32> {
    if is_pair(first, middle) { Some(0) } else { is_pair(middle, last).then_some(1) }
}

/// Moves the dots of a stripe that spell pairs inside a column. No row becomes blank by it and none ceases to be.
fn part_stripe(bitmap: &mut Bitmap, top: u32, lsb_first: bool) {
    if columns::hazards(bitmap, lsb_first, top) == 0 {
        return;
    }
    let width = bitmap.width() as i32;
    for x in 0..width {
        let Some(part) = pair_in(column(bitmap, x, top, lsb_first)) else { continue };
        let y = top as i32 + lead(part, lsb_first);
        let mut takes = |to: i32| {
            if !(0..width).contains(&to) || bitmap.get(to, y) || pair_in(column(bitmap, to, top, lsb_first)).is_some() {
                return false;
            }
            bitmap.set(to, y, true);
            let fits = pair_in(column(bitmap, to, top, lsb_first)).is_none();
            bitmap.set(to, y, fits);
            fits
        };
        if (1..width).any(|far| takes(x + far) || takes(x - far)) {
            bitmap.set(x, y, false);
        } else {
            turn_one(bitmap, x, top, lsb_first);
        }
    }
}

/// Where no column takes the dot: one dot of this column is added or taken in a row that has others.
fn turn_one(bitmap: &mut Bitmap, x: i32, top: u32, lsb_first: bool) {
    for y in (0..columns::ROWS as i32).map(|down| top as i32 + down) {
        let others = (0..bitmap.width() as i32).any(|other| other != x && bitmap.get(other, y));
        if !others {
            continue;
        }
        let dot = bitmap.get(x, y);
        bitmap.set(x, y, !dot);
        if pair_in(column(bitmap, x, top, lsb_first)).is_none() {
            return;
        }
        bitmap.set(x, y, dot);
    }
}
