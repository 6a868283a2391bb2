//! EAN-13 (GS1 General Specifications): thirteen digits, the last of them checked.

use barcoders::sym::ean13::EAN13;

use crate::lengths::Dots;

use super::super::error::Error;
use super::{BAR_HEIGHT, Code, CodeRoom, HumanPart, bar_module, paint_bars};

/// Quiet zones in modules, left and right (GS1 General Specifications).
const QUIET_LEFT: u32 = 11;
const QUIET_RIGHT: u32 = 7;
/// How far guard bars reach below the others, in modules (GS1 General Specifications, from memory).
const GUARD_DROP: u32 = 5;

/// An EAN-13 of 13 digits, or of 12 whose check digit is found; blanks and hyphens between digits are passed over.
///
/// # Errors
/// When it is not that many digits, or the check digit is wrong: the error names the right one.
pub fn ean13(data: &str, room: &CodeRoom) -> Result<Code, Error> {
    let digits: Vec<char> = data.chars().filter(|letter| !matches!(letter, ' ' | '-' | '\u{A0}')).collect();
    if let Some(&character) = digits.iter().find(|letter| !letter.is_ascii_digit()) {
        return Err(Error::EanCharacter { character });
    }
    if digits.is_empty() {
        return Err(Error::CodeEmpty);
    }
    if digits.len() != 12 && digits.len() != 13 {
        return Err(Error::EanLength { count: digits.len() });
    }
    let right = check_digit(&digits[..12]);
    if let Some(&found) = digits.get(12)
        && found != right
    {
        return Err(Error::EanCheck { found, right });
    }
    let number: String = digits[..12].iter().chain([&right]).collect();
    let code = EAN13::new(&number).map_err(|_| Error::EanLength { count: digits.len() })?;
    let bars: Vec<bool> = code.encode().into_iter().map(|module| module == 1).collect();
    let modules = bars.len() as u32 + QUIET_LEFT + QUIET_RIGHT;
    let too_long =
        |limit| Error::BarcodeTooLong { modules, limit, module: room.module.map_or(2, |module| module.count().max(1)) };
    let module = bar_module(modules, room).map_err(too_long)?;
    let height = room.resolution.dots(BAR_HEIGHT).count().max(1);
    let drop = GUARD_DROP * module;
    let mut bitmap = paint_bars(&bars, QUIET_LEFT, QUIET_RIGHT, module, height + drop);
    let at = |step: u32| ((QUIET_LEFT + step) * module) as i32;
    let wide = |steps: u32| (steps * module) as i32;
    // Between the guards (3 modules, 42 of digits, 5, 42, 3) the bars end early: digits stand there.
    for start in [3, 50] {
        bitmap.fill(at(start), height as i32, wide(42), drop as i32, false);
    }
    let part = |text: &str, x: i32, width: i32| HumanPart {
        text: text.into(),
        x: Dots(x),
        width: Dots(width),
        top: Dots(height as i32),
    };
    // The first digit stands in the quiet zone, close to the guard.
    let human = vec![
        part(&number[..1], wide(2), wide(QUIET_LEFT - 3)),
        part(&number[1..7], at(3), wide(42)),
        part(&number[7..], at(50), wide(42)),
    ];
    Ok(Code { bitmap, module: Dots(module as i32), quiet: Dots(wide(QUIET_LEFT)), human, about: "EAN-13".into() })
}

/// Three times the digits in even places plus those in odd places, made up to a ten (GS1 General Specifications).
fn check_digit(digits: &[char]) -> char {
    let sum: u32 = digits
        .iter()
        .enumerate()
        .filter_map(|(index, digit)| Some(digit.to_digit(10)? * if index % 2 == 0 { 1 } else { 3 }))
        .sum();
    char::from_digit((10 - sum % 10) % 10, 10).unwrap_or('0')
}
