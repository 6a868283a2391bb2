//! A strip taken apart into slips: runs of rows that are known by what they hold, so that only those that are new travel.
//!
//! A slip ends where ink begins after a blank row, so an edit moves the slips below it without changing them.

use std::collections::HashSet;
use std::ops::Range;

use base64::Engine;
use base64::engine::general_purpose::{STANDARD, URL_SAFE_NO_PAD};
use serde::Serialize;
use sha2::{Digest, Sha256};

use crate::bitmap::Bitmap;

/// No slip has fewer rows, but the last.
const FEWEST: u32 = 24;
/// No slip has more.
const MOST: u32 = 160;

/// 96 bits of the SHA-256 of the rows, written in 16 characters; the width is part of what is hashed.
pub type Name = [u8; 12];

/// A run of rows.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Slip {
    pub name: Name,
    pub rows: Range<u32>,
}

/// The slips of a strip from top to bottom, without a gap.
pub fn slips(bitmap: &Bitmap) -> Vec<Slip> {
    let mut slips = Vec::new();
    let mut top = 0;
    for row in 1..=bitmap.height() {
        let rows = row - top;
        let ends = row == bitmap.height()
            || rows >= MOST
            || (rows >= FEWEST && bitmap.row_is_blank(row - 1) && !bitmap.row_is_blank(row));
        if ends {
            slips.push(Slip { name: name(bitmap, top..row), rows: top..row });
            top = row;
        }
    }
    slips
}

fn name(bitmap: &Bitmap, rows: Range<u32>) -> Name {
    let mut digest = Sha256::new();
    digest.update(bitmap.width().to_be_bytes());
    digest.update(packed(bitmap, rows));
    let mut name = Name::default();
    name.copy_from_slice(&digest.finalize()[..12]);
    name
}

fn packed(bitmap: &Bitmap, rows: Range<u32>) -> &[u8] {
    &bitmap.data()[rows.start as usize * bitmap.stride()..rows.end as usize * bitmap.stride()]
}

/// The message that brings a page from the slips it has to the strip as it is now.
#[derive(Serialize)]
struct Parcel {
    dots: u32,
    rows: u32,
    dots_per_metre: u32,
    /// Name and number of rows of every slip, from the top.
    slips: Vec<(String, u32)>,
    /// Name and packed rows, in base 64, of those that are new to the page.
    fresh: Vec<(String, String)>,
}

/// JSON for a page that has the slips in `held`.
pub fn parcel(bitmap: &Bitmap, dots_per_metre: u32, slips: &[Slip], held: &HashSet<Name>) -> String {
    let mut sent = HashSet::new();
    let fresh = slips
        .iter()
        .filter(|slip| !held.contains(&slip.name) && sent.insert(slip.name))
        .map(|slip| (URL_SAFE_NO_PAD.encode(slip.name), STANDARD.encode(packed(bitmap, slip.rows.clone()))))
        .collect();
    let slips = slips.iter().map(|slip| (URL_SAFE_NO_PAD.encode(slip.name), slip.rows.end - slip.rows.start)).collect();
    let parcel = Parcel { dots: bitmap.width(), rows: bitmap.height(), dots_per_metre, slips, fresh };
    // Numbers and strings: nothing that JSON could not hold.
    serde_json::to_string(&parcel).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Lines of type: 20 rows of ink that differ from line to line, then 10 blank rows.
    fn page(lines: impl IntoIterator<Item = u8>) -> Bitmap {
        let rows: Vec<u8> = lines.into_iter().flat_map(|line| [vec![line | 1; 40], vec![0; 20]].concat()).collect();
        let height = rows.len() as u32 / 2;
        Bitmap::from_rows(16, height, rows)
    }

    #[test]
    fn slips_cover_the_strip_without_a_gap() {
        for height in [1, 23, 24, 25, 160, 161, 1000] {
            let mut solid = Bitmap::new(9, height);
            solid.fill(0, 0, 9, height as i32, true);
            for bitmap in [Bitmap::new(9, height), solid] {
                let slips = slips(&bitmap);
                assert_eq!(slips.first().map(|slip| slip.rows.start), Some(0));
                assert_eq!(slips.last().map(|slip| slip.rows.end), Some(height));
                assert!(slips.windows(2).all(|pair| pair[0].rows.end == pair[1].rows.start));
                assert!(slips.iter().all(|slip| slip.rows.len() as u32 <= MOST));
            }
        }
        assert!(slips(&Bitmap::new(8, 0)).is_empty());
    }

    #[test]
    fn a_line_put_in_sends_little_more_than_the_line() {
        let (before, after) = (page(2..60), page([2, 4, 200].into_iter().chain(5..60)));
        let held: HashSet<Name> = slips(&before).into_iter().map(|slip| slip.name).collect();
        let fresh: u32 = slips(&after).iter().filter(|slip| !held.contains(&slip.name)).map(|slip| slip.rows.len() as u32).sum();
        assert!(fresh > 0 && fresh <= 90, "{fresh} rows are new after one line of 30 rows was put in");
    }

    #[test]
    fn a_parcel_holds_each_new_slip_once_and_none_that_is_held() {
        let bitmap = page([9; 8]);
        let all = slips(&bitmap);
        let first = parcel(&bitmap, 8000, &all, &HashSet::new());
        let read: serde_json::Value = serde_json::from_str(&first).expect("JSON");
        assert_eq!(read["rows"], 240);
        assert_eq!(read["slips"].as_array().map(Vec::len), Some(all.len()));
        assert_eq!(read["fresh"].as_array().map(Vec::len), Some(1), "eight lines alike are one slip");
        let held = all.iter().map(|slip| slip.name).collect();
        let again: serde_json::Value = serde_json::from_str(&parcel(&bitmap, 8000, &all, &held)).expect("JSON");
        assert_eq!(again["fresh"].as_array().map(Vec::len), Some(0));
    }
}
