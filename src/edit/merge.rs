//! Where a block of an earlier text stands in a later one that somebody else has changed.

use std::ops::Range;

/// The bytes of `now` that are the bytes `range` of `before`: the same words, perhaps moved. Nothing where they were changed, or where it
/// cannot be told which of several alike they are.
pub fn follow(before: &str, range: Range<usize>, now: &str) -> Option<Range<usize>> {
    let words = before.get(range.clone())?;
    let (head, tail) = alike(before, now);
    if range.end <= head {
        return Some(range);
    }
    if range.start >= before.len() - tail {
        let moved = now.len() as isize - before.len() as isize;
        return Some(range.start.checked_add_signed(moved)?..range.end.checked_add_signed(moved)?);
    }
    if words.is_empty() {
        return None;
    }
    // Something changed on both sides of it: as many blocks of these words as before, in the same order, are the same blocks.
    let places = |text: &str| text.match_indices(words).map(|(at, _)| at).collect::<Vec<usize>>();
    let (were, are) = (places(before), places(now));
    let which = were.iter().position(|at| *at == range.start)?;
    let start = *are.get(which).filter(|_| were.len() == are.len())?;
    Some(start..start + words.len())
}

/// How many bytes two texts have in common at their beginnings and, beyond those, at their ends; whole characters.
pub(super) fn alike(before: &str, now: &str) -> (usize, usize) {
    let mut head = before.bytes().zip(now.bytes()).take_while(|(a, b)| a == b).count();
    while !before.is_char_boundary(head) {
        head -= 1;
    }
    let most = before.len().min(now.len()) - head;
    let mut tail = before.bytes().rev().zip(now.bytes().rev()).take(most).take_while(|(a, b)| a == b).count();
    while !before.is_char_boundary(before.len() - tail) || !now.is_char_boundary(now.len() - tail) {
        tail -= 1;
    }
    (head, tail)
}
