//! QR codes (ISO/IEC 18004): the smallest version that holds the text, then the strongest level that still fits in it.

use std::cmp::Reverse;

use fast_qr::{ECL, QRBuilder, QRCode};

use crate::bitmap::Bitmap;
use crate::lengths::{Dots, Mm};

use super::super::error::Error;
use super::{Code, CodeRoom, QR_LEAST};

/// Quiet zone in modules, on all sides (ISO/IEC 18004).
const QUIET: u32 = 4;
/// A code is not made larger than this, quiet zone included, unless its modules would get too small.
const WISH: Mm = Mm::from_micrometres(30_000);
/// Most dots a module: beyond 1 mm a code gains nothing.
const MODULE_WISH: Mm = Mm::from_micrometres(1_000);

/// A QR code that says `data`.
///
/// # Errors
/// When there is nothing to say, or more than fits into the room at three dots a module.
pub fn qr(data: &str, room: &CodeRoom) -> Result<Code, Error> {
    if data.is_empty() {
        return Err(Error::CodeEmpty);
    }
    let bytes = data.as_bytes();
    let fits = |bytes: &[u8]| symbol(bytes).filter(|symbol| module(symbol.size as u32, room).is_some());
    let Some(symbol) = fits(bytes) else {
        let limit = longest(bytes.len(), |length| bytes.get(..length).is_some_and(|part| fits(part).is_some()));
        return Err(Error::QrTooLong { bytes: bytes.len(), limit });
    };
    let modules = symbol.size as u32;
    let module = module(modules, room).unwrap_or(QR_LEAST as u32);
    let mut bitmap = Bitmap::new((modules + 2 * QUIET) * module, (modules + 2 * QUIET) * module);
    for y in 0..modules {
        for x in 0..modules {
            if symbol[y as usize][x as usize].value() {
                let at = |step: u32| ((QUIET + step) * module) as i32;
                bitmap.fill(at(x), at(y), module as i32, module as i32, true);
            }
        }
    }
    let level = symbol.ecl.map_or("?", letter);
    Ok(Code {
        bitmap,
        module: Dots(module as i32),
        quiet: Dots((QUIET * module) as i32),
        human: Vec::new(),
        about: format!("QR version {}, level {level}", (modules - 17) / 4),
    })
}

fn letter(level: ECL) -> &'static str {
    match level {
        ECL::L => "L",
        ECL::M => "M",
        ECL::Q => "Q",
        ECL::H => "H",
    }
}

/// The smallest symbol, at the strongest level that does not make it larger.
fn symbol(bytes: &[u8]) -> Option<QRCode> {
    let at = |level: ECL| QRBuilder::new(bytes).ecl(level).build().ok();
    let built = [ECL::H, ECL::Q, ECL::M, ECL::L].into_iter().filter_map(at);
    // Of equally small ones `max_by_key` would take the last: the strongest comes last.
    built.collect::<Vec<_>>().into_iter().rev().max_by_key(|symbol| Reverse(symbol.size))
}

/// Dots a module: as many as keep the code within the wish, at least three, as long as the room holds them.
fn module(modules: u32, room: &CodeRoom) -> Option<u32> {
    let all = modules + 2 * QUIET;
    let width = room.width.count();
    let wish = room.resolution.dots(WISH).count().min(width) / all;
    let most = room.resolution.dots(MODULE_WISH).count().max(QR_LEAST as u32);
    let module = room.module.map_or(wish.clamp(QR_LEAST as u32, most), |module| module.count().max(1));
    (all.checked_mul(module)? <= width).then_some(module)
}

/// The largest length for which `fits` holds, when it holds for all shorter ones.
fn longest(length: usize, fits: impl Fn(usize) -> bool) -> usize {
    // No symbol holds more than 7089 characters (ISO/IEC 18004, version 40-L, digits).
    let (mut good, mut bad) = (0, length.min(7090));
    while bad - good > 1 {
        let middle = (good + bad) / 2;
        if fits(middle) { good = middle } else { bad = middle }
    }
    good
}
