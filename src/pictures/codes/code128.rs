//! Code 128 (ISO/IEC 15417): the shortest way through the three character sets, found by dynamic programming.
//!
//! The library has the bar patterns and the check character, but leaves the choice of sets to its caller.

use barcoders::sym::code128::Code128;

use crate::lengths::Dots;

use super::super::error::Error;
use super::{BAR_HEIGHT, Code, CodeRoom, HumanPart, bar_module, paint_bars};

/// Quiet zone in modules, at both ends (ISO/IEC 15417).
const QUIET: u32 = 10;
/// More characters than any strip has room for.
const MOST: usize = 400;

/// A Code 128 that says `data`, with the data under it.
///
/// # Errors
/// When there is nothing to say, a character is outside of ASCII, or it does not fit at two dots a module.
pub fn code128(data: &str, room: &CodeRoom) -> Result<Code, Error> {
    if data.is_empty() {
        return Err(Error::CodeEmpty);
    }
    if let Some(character) = data.chars().find(|character| !character.is_ascii()) {
        return Err(Error::BarcodeCharacter { character });
    }
    let plan = plan(&data.as_bytes()[..data.len().min(MOST)]);
    let bars = bars(&plan).ok_or(Error::CodeEmpty)?;
    let modules = bars.len() as u32 + 2 * QUIET;
    let too_long =
        |limit| Error::BarcodeTooLong { modules, limit, module: room.module.map_or(2, |module| module.count().max(1)) };
    let module = bar_module(modules, room).map_err(too_long)?;
    let height = room.resolution.dots(BAR_HEIGHT).count().max(1);
    let bitmap = paint_bars(&bars, QUIET, QUIET, module, height);
    let text: String = data.chars().map(|letter| if letter.is_ascii_control() { ' ' } else { letter }).collect();
    let quiet = Dots((QUIET * module) as i32);
    let human = HumanPart { text, x: quiet, width: Dots((bars.len() as u32 * module) as i32), top: Dots(height as i32) };
    Ok(Code { bitmap, module: Dots(module as i32), quiet, human: vec![human], about: "Code 128".into() })
}

/// The modules of a plan, true is black.
pub(super) fn bars(plan: &str) -> Option<Vec<bool>> {
    let code = Code128::new(plan).ok()?;
    Some(code.encode().into_iter().map(|module| module == 1).collect())
}

/// The three character sets.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Set {
    A,
    B,
    C,
}

const SETS: [Set; 3] = [Set::A, Set::B, Set::C];

impl Set {
    /// How the library is told to start in a set or change to it.
    fn mark(self) -> char {
        match self {
            Set::A => 'À',
            Set::B => 'Ɓ',
            Set::C => 'Ć',
        }
    }

    /// Whether one symbol of the set is that character.
    fn holds(self, byte: u8) -> bool {
        match self {
            Set::A => byte < 96,
            Set::B => (32..128).contains(&byte),
            Set::C => false,
        }
    }
}

/// The library's word for the symbol that takes the next character from the other of A and B.
const SHIFT: char = 'Ž';

/// One symbol of a way, and the set one is in after it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Step {
    Start,
    Change,
    Single,
    Shifted,
    Pair,
}

/// The shortest row of symbols for ASCII `data`, in the library's notation.
///
/// `best[i][s]` is the fewest symbols that say the first `i` characters and end in set `s`. Of equally short ways the one
/// that stays in set B, then A, is taken.
pub(super) fn plan(data: &[u8]) -> String {
    const NONE: u32 = u32::MAX;
    let mut best = vec![[(NONE, Step::Start, 0usize); 3]; data.len() + 1];
    best[0] = [(1, Step::Start, 0), (1, Step::Start, 1), (1, Step::Start, 2)];
    for at in 0..=data.len() {
        // A change of set costs one symbol; from the cheapest of the others.
        let before = best[at];
        for (to, there) in best[at].iter_mut().enumerate() {
            for from in [1, 0, 2] {
                if from != to && before[from].0 != NONE && before[from].0 + 1 < there.0 {
                    *there = (before[from].0 + 1, Step::Change, from);
                }
            }
        }
        let Some(&byte) = data.get(at) else { break };
        for (index, set) in SETS.into_iter().enumerate() {
            let cost = best[at][index].0;
            if cost == NONE {
                continue;
            }
            let mut offer = |length: usize, symbols: u32, step: Step| {
                let there = &mut best[at + length][index];
                if cost + symbols < there.0 {
                    *there = (cost + symbols, step, index);
                }
            };
            if set.holds(byte) {
                offer(1, 1, Step::Single);
            } else if set != Set::C {
                offer(1, 2, Step::Shifted);
            }
            if set == Set::C && byte.is_ascii_digit() && data.get(at + 1).is_some_and(u8::is_ascii_digit) {
                offer(2, 1, Step::Pair);
            }
        }
    }
    let cheapest = [1, 0, 2].into_iter().min_by_key(|&index| best[data.len()][index].0).unwrap_or(1);
    spell(data, &best, cheapest)
}

/// Walks back along the best way and writes it down.
fn spell(data: &[u8], best: &[[(u32, Step, usize); 3]], last: usize) -> String {
    let (mut at, mut index) = (data.len(), last);
    let mut words: Vec<String> = Vec::new();
    loop {
        let (_, step, from) = best[at][index];
        let set = SETS[index];
        match step {
            Step::Start => {
                words.push(set.mark().to_string());
                break;
            }
            Step::Change => words.push(set.mark().to_string()),
            Step::Single => {
                at -= 1;
                words.push(letter(data[at]).to_string());
            }
            Step::Shifted => {
                at -= 1;
                words.push(format!("{SHIFT}{}", letter(across(data[at]))));
            }
            Step::Pair => {
                at -= 2;
                words.push(format!("{}{}", char::from(data[at]), char::from(data[at + 1])));
            }
        }
        index = from;
    }
    words.reverse();
    words.concat()
}

/// The library writes DEL, the last symbol of set B, as a division sign.
fn letter(byte: u8) -> char {
    if byte == 127 { '\u{F7}' } else { char::from(byte) }
}

/// The character that has, in the set one is in, the symbol that `byte` has in the other: values 64 to 95 are control
/// characters in A and the row from ` to DEL in B.
fn across(byte: u8) -> u8 {
    if byte < 32 { byte + 96 } else { byte - 96 }
}
