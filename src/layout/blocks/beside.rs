//! A picture and the text it belongs to, side by side: what a style asks for with `beside`.
//!
//! Only where the column leaves the text a measure that can be read, and where it saves paper; else one under the other.

use std::ops::Range;

use super::Room;
use super::row::abreast;
use super::size::{self, Shape};
use crate::layout::bench::Bench;
use crate::layout::galley::Galley;
use crate::layout::text::one_line;
use crate::manual::document::{Block, Figure, Kind, Width};
use crate::manual::source::Span;
use crate::units::Dots;

/// Least measure of the text: 22 characters of running text.
const MEASURE: &str = "the lid and its screws";

/// The picture's share of the column, in percent: from `NARROW` where the text needs the room to `WIDE`.
const NARROW: i32 = 45;
const WIDE: i32 = 50;

/// Blocks of text that may stand beside one picture.
const MOST_TEXTS: usize = 3;

/// Which blocks are set as one, in order: a picture with the text it belongs to, pictures that follow each other, else each alone.
///
/// Between two headings (or whatever is neither text nor picture) either the words lead and their picture follows, or the pictures
/// lead and the words under each are about it: so it is where such a stretch begins with a picture and ends with words.
pub fn groups(blocks: &[Block]) -> Vec<Range<usize>> {
    let mut groups: Vec<Range<usize>> = Vec::new();
    let mut from = 0;
    while from < blocks.len() {
        let length = blocks[from..].iter().take_while(|block| is_text(block) || is_picture(block)).count();
        if length == 0 {
            groups.push(from..from + 1);
            from += 1;
            continue;
        }
        let stretch: Vec<bool> = blocks[from..from + length].iter().map(is_picture).collect();
        let picture_leads = stretch[0] && !stretch[length - 1];
        groups.extend(pairs(&stretch, picture_leads).into_iter().map(|range| from + range.start..from + range.end));
        from += length;
    }
    groups
}

/// Groups of a stretch of words (false) and pictures (true).
fn pairs(stretch: &[bool], picture_leads: bool) -> Vec<Range<usize>> {
    let run = |from: usize, kind: bool| stretch[from..].iter().take_while(|&&picture| picture == kind).count();
    let mut groups = Vec::new();
    let mut from = 0;
    while from < stretch.len() {
        let (texts, pictures) = match picture_leads {
            true => (0, run(from, true)),
            false => (run(from, false), run(from + run(from, false), true)),
        };
        let near = if pictures == 0 { 0 } else { texts.min(MOST_TEXTS) };
        let mut end = from + texts + pictures;
        groups.extend((from..from + texts - near).map(|n| n..n + 1));
        if pictures == 0 {
            // Words that no picture follows.
            from = end.max(from + 1);
            if end < from {
                groups.push(end..from);
            }
            continue;
        }
        let after = if picture_leads { run(end, false) } else { 0 };
        if pictures == 1 {
            end += after.min(MOST_TEXTS);
        }
        groups.push(from + texts - near..end);
        let rest = if picture_leads { from + pictures + after } else { end };
        groups.extend((end..rest).map(|n| n..n + 1));
        from = rest;
    }
    groups
}

/// Words that a picture can belong to.
fn is_text(block: &Block) -> bool {
    match &block.kind {
        Kind::Paragraph(_) => true,
        Kind::Bullets { .. } => block.pictures().is_empty(),
        _ => false,
    }
}

fn is_picture(block: &Block) -> bool {
    match &block.kind {
        Kind::Figure(figure) => {
            figure.callouts.is_empty()
                && matches!(figure.width, None | Some(Width::Page(_)))
                && !figure.picture.starts_with("sign:")
        }
        Kind::Row(_) => true,
        _ => false,
    }
}

/// Sets a group that [`groups`] gave. `one` sets a block by itself in a room;
pub fn group(bench: &Bench, blocks: &[Block], room: Room, one: &dyn Fn(usize, Room) -> Galley) -> Galley {
    let apart = |range: Range<usize>| range.map(|n| one(n, room)).collect::<Vec<_>>();
    let (texts, pictures): (Vec<usize>, Vec<usize>) = (0..blocks.len()).partition(|&n| !is_picture(&blocks[n]));
    let [picture] = pictures[..] else {
        // Several pictures stand in rows under the words before them.
        let mut parts: Vec<Galley> = texts.iter().map(|&n| one(n, room)).collect();
        parts.extend(in_rows(bench, blocks, &pictures, room, one));
        return Galley::stack("group", parts);
    };
    let Kind::Figure(shown) = &blocks[picture].kind else {
        return Galley::stack("group", apart(0..blocks.len()));
    };
    if texts.is_empty() {
        return one(picture, room);
    }
    let under = Galley::stack("group", apart(0..blocks.len()));
    let Some((picture_width, text_width)) = shares(bench, shown, room) else { return under };
    let mut best = under;
    let beside = Room { width: picture_width, cell: true, ..room };
    let space = bench.dots(bench.style.space.paragraph);
    // As many of the words beside it as make the whole the shortest, those next to the picture first.
    let leads = picture < texts[0];
    for count in 1..=texts.len() {
        let (near, far) = match leads {
            true => texts.split_at(count),
            false => {
                let (far, near) = texts.split_at(texts.len() - count);
                (near, far)
            }
        };
        let words = near.iter().map(|&n| one(n, Room { width: text_width, ..room })).collect();
        let words = Galley::stack("group", words);
        let mut pair = abreast("group", vec![(Dots(0), one(picture, beside)), (picture_width + size::gutter(bench), words)]);
        (pair.above, pair.below) = (space, space);
        let mut parts: Vec<Galley> = far.iter().map(|&n| one(n, room)).collect();
        parts.insert(if leads { 0 } else { parts.len() }, pair);
        let whole = Galley::stack("group", parts);
        if whole.height() < best.height() {
            best = whole;
        }
    }
    best
}

/// Pictures that follow each other, side by side.
fn in_rows(bench: &Bench, blocks: &[Block], pictures: &[usize], room: Room, one: &dyn Fn(usize, Room) -> Galley) -> Vec<Galley> {
    let shapes: Option<Vec<Shape>> = pictures
        .iter()
        .map(|&n| match &blocks[n].kind {
            Kind::Figure(figure) => Some(Shape::of(bench, figure)),
            _ => None,
        })
        .collect();
    let Some(shapes) = shapes else { return pictures.iter().map(|&n| one(n, room)).collect() };
    let gutter = size::gutter(bench);
    let (column, between) = (i64::from(room.width.0), i64::from(gutter.0));
    let space = bench.dots(bench.style.space.item);
    let mut from = 0;
    let rows = size::rows(&shapes, column, between).into_iter().map(|count| {
        let here = from..from + count;
        from += count;
        if count == 1 {
            return one(pictures[here.start], room);
        }
        let widths = size::widths(&shapes[here.clone()], column, between);
        let all = widths.iter().sum::<i64>() + between * (count as i64 - 1);
        let mut x = Dots(((column - all) / 2).max(0) as i32);
        let cells = pictures[here].iter().zip(widths).map(|(&n, width)| {
            let (left, width) = (x, Dots(width as i32));
            x += width + gutter;
            (left, one(n, Room { width, cell: true, ..room }))
        });
        let row = abreast("row", cells.collect());
        Galley { above: space, below: space, ..row }
    });
    rows.collect()
}

/// Widths of the picture and of the text; none where the text would have too short a measure.
fn shares(bench: &Bench, figure: &Figure, room: Room) -> Option<(Dots, Dots)> {
    let gutter = size::gutter(bench);
    let least = one_line(bench, MEASURE, bench.body(), Span::default(), &mut Vec::new()).width;
    let most = room.width - gutter - least;
    let shape = Shape::of(bench, figure);
    let mut width = (room.width * WIDE / 100).min(most);
    if width < room.width * NARROW / 100 {
        return None;
    }
    if shape.pixels {
        width = width.min(Dots(shape.width.min(i64::from(i32::MAX)) as i32));
    }
    // An upright picture would stand far out of its text.
    let highest = i64::from(room.width.0) * 2 / 3;
    let narrow = highest * shape.width / shape.height.max(1);
    let width = Dots(i64::from(width.0).min(narrow.max(size::LEGIBLE * 3 / 4)).max(1) as i32);
    shape.is_legible(i64::from(width.0)).then_some((width, room.width - gutter - width))
}

#[cfg(test)]
mod tests {
    use super::pairs;

    /// `p` a picture, `t` words.
    fn grouped(stretch: &str) -> String {
        let kinds: Vec<bool> = stretch.chars().map(|letter| letter == 'p').collect();
        let leads = kinds[0] && !kinds[kinds.len() - 1];
        let groups: Vec<&str> = pairs(&kinds, leads).into_iter().map(|range| &stretch[range]).collect();
        groups.join(" ")
    }

    #[test]
    fn words_lead_to_the_picture_that_follows_them() {
        assert_eq!(grouped("tptp"), "tp tp");
        assert_eq!(grouped("tpt"), "tp t");
        assert_eq!(grouped("tttttp"), "t t tttp");
        assert_eq!(grouped("tppt"), "tpp t");
        assert_eq!(grouped("tt"), "t t");
        assert_eq!(grouped("ptp"), "p tp");
        assert_eq!(grouped("p"), "p");
    }

    #[test]
    fn pictures_lead_where_words_stand_under_each() {
        assert_eq!(grouped("ptpt"), "pt pt");
        assert_eq!(grouped("pttttpt"), "pttt t pt");
        assert_eq!(grouped("pptpt"), "pp t pt");
    }
}
