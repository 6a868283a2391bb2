//! A picture and the words it belongs to: nearer to each other than to what stands around them, or side by side where the style asks
//! for it with `beside`, the column leaves the text a measure that can be read, and it saves paper.

use std::ops::Range;

use super::row::abreast;
use super::size::{self, Shape};
use super::{Room, captions, heading};
use crate::layout::context::Context;
use crate::layout::galley::Galley;
use crate::layout::text::one_line;
use crate::lengths::Dots;
use crate::manual::document::{Block, Figure, Kind, Width, is_drawn_by_name};
use crate::manual::source::Span;

/// Least measure of the text: 22 characters of running text.
const MEASURE: &str = "the lid and its screws";

/// The picture's share of the column, in percent: from `NARROW` where the text needs the room to `WIDE`.
const NARROW: i32 = 45;
const WIDE: i32 = 50;

/// Blocks of text that may stand beside one picture.
const MOST_TEXTS: usize = 3;

/// Which blocks are set as one, in order: a picture with the text it belongs to, pictures that follow each other, else each alone. A
/// caption goes where its picture goes.
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
        let units = units(blocks, from..from + length);
        let stretch: Vec<bool> = units.iter().map(|unit| is_picture(&blocks[unit.start])).collect();
        let picture_leads = stretch[0] && !stretch[units.len() - 1];
        let ranges = pairs(&stretch, picture_leads);
        groups.extend(ranges.into_iter().map(|range| units[range.start].start..units[range.end - 1].end));
        from += length;
    }
    groups
}

/// A stretch of words and pictures, each picture with its caption.
fn units(blocks: &[Block], stretch: Range<usize>) -> Vec<Range<usize>> {
    let mut units: Vec<Range<usize>> = Vec::new();
    for n in stretch {
        match units.last_mut() {
            Some(last) if last.len() == 1 && is_picture(&blocks[last.start]) && captions::may_be_caption(&blocks[n]) => {
                last.end = n + 1
            }
            _ => units.push(n..n + 1),
        }
    }
    units
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

fn has_caption(block: &Block) -> bool {
    match &block.kind {
        Kind::Figure(figure) => !figure.caption.is_empty(),
        Kind::Row(figures) => figures.iter().any(|figure| !figure.caption.is_empty()),
        _ => false,
    }
}

fn is_picture(block: &Block) -> bool {
    match &block.kind {
        Kind::Figure(figure) => {
            figure.callouts.is_empty()
                && matches!(figure.width, None | Some(Width::Page(_)))
                && !is_drawn_by_name(&figure.picture)
        }
        Kind::Row(_) => true,
        _ => false,
    }
}

/// The white on one side of a block.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Gap {
    /// As blocks of its kind have it.
    #[default]
    Usual,
    /// Between a picture and its words.
    Within,
    /// Between those and what stands around them.
    Around,
    /// Above a section right under the title, whose rule serves both.
    UnderTitle,
}

/// What is set as one where nothing stands side by side, a block or a picture with its caption, and the white above and below it: a
/// picture is nearer to the words it belongs to than both to what stands around them.
pub fn apart(blocks: &[Block]) -> Vec<(Range<usize>, [Gap; 2])> {
    let mut parts = Vec::new();
    for group in groups(blocks) {
        let own = units(blocks, group);
        let last = own.len() - 1;
        let mut gaps = vec![[Gap::Usual; 2]; own.len()];
        let pictures: Vec<usize> = (0..own.len()).filter(|&n| last > 0 && is_picture(&blocks[own[n].start])).collect();
        for &n in &pictures {
            if n > 0 {
                (gaps[n - 1][1], gaps[n][0]) = (Gap::Within, Gap::Within);
            }
            // A caption stands between a picture and what follows.
            if n < last && own[n].len() == 1 && !has_caption(&blocks[own[n].start]) {
                (gaps[n][1], gaps[n + 1][0]) = (Gap::Within, Gap::Within);
            }
        }
        if !pictures.is_empty() {
            gaps[last][1] = Gap::Around;
        }
        parts.extend(own.into_iter().zip(gaps));
    }
    parts
}

impl Gap {
    /// The white, given what is usual.
    fn dots(self, context: &Context, usual: Dots) -> Dots {
        match self {
            Gap::Usual | Gap::UnderTitle => usual,
            Gap::Within => context.dots(context.style.space.paragraph) * 6 / 10,
            Gap::Around => usual.max(context.dots(context.style.space.block) * 5 / 4),
        }
    }
}

/// A galley with that white above and below it.
pub fn spaced(context: &Context, [above, below]: [Gap; 2], galley: Galley) -> Galley {
    let galley = if above == Gap::UnderTitle { heading::without_bar(context, galley) } else { galley };
    Galley { above: above.dots(context, galley.above), below: below.dots(context, galley.below), ..galley }
}

/// Sets a group that [`groups`] gave, or a part of [`apart`]. `one` sets a block by itself in a room.
pub fn group(
    context: &Context,
    blocks: &[Block],
    room: Room,
    one: &dyn Fn(usize, Room) -> Galley,
    caption: &dyn Fn(usize, Room) -> Galley,
) -> Galley {
    let units = units(blocks, 0..blocks.len());
    // A picture with its caption is set as one.
    let set = |unit: usize, room: Room| {
        let Range { start, end } = units[unit];
        match end - start {
            1 => one(start, room),
            _ => captioned(context, one(start, room), caption(start + 1, room)),
        }
    };
    let (pictures, texts): (Vec<usize>, Vec<usize>) = (0..units.len()).partition(|&n| is_picture(&blocks[units[n].start]));
    let apart = || match units.len() {
        1 => set(0, room),
        count => Galley::stack("group", (0..count).map(|n| set(n, room)).collect()),
    };
    if !context.style.figure.beside {
        return apart();
    }
    let [picture] = pictures[..] else {
        // Several pictures stand in rows under the words before them.
        let mut parts: Vec<Galley> = texts.iter().map(|&n| set(n, room)).collect();
        let shown: Vec<&Block> = pictures.iter().map(|&n| &blocks[units[n].start]).collect();
        let captions = pictures.iter().filter(|&&n| units[n].len() > 1).map(|&n| captions::length(&blocks[units[n].end - 1]));
        let floor = if captions.max().unwrap_or(0) > MEASURE.len() * 2 { measure(context) } else { Dots(0) };
        parts.extend(in_rows(context, &shown, room, floor, &|n, room| set(pictures[n], room)));
        return Galley::stack("group", parts);
    };
    let Kind::Figure(shown) = &blocks[units[picture].start].kind else { return apart() };
    let mut best = apart();
    let Some(Shares { picture: picture_width, text: text_width }) = shares(context, shown, room) else { return best };
    let beside = Room { width: picture_width, cell: true, ..room };
    let space = context.dots(context.style.space.paragraph);
    let pair = |shown: Galley, words: Galley| {
        let pair = abreast("group", vec![(Dots(0), shown), (picture_width + size::gutter(context), words)]);
        Galley { above: space, below: space, ..pair }
    };
    if texts.is_empty() {
        // A caption may be as long as a text.
        let Range { start, end } = units[picture];
        if end - start > 1 && captions::length(&blocks[end - 1]) > MEASURE.len() * 2 {
            let whole = pair(one(start, beside), caption(end - 1, Room { width: text_width, cell: true, ..room }));
            if whole.height() < best.height() {
                best = whole;
            }
        }
        return best;
    }
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
        let words = near.iter().map(|&n| set(n, Room { width: text_width, ..room })).collect();
        let words = Galley::stack("group", words);
        let mut parts: Vec<Galley> = far.iter().map(|&n| set(n, room)).collect();
        parts.insert(if leads { 0 } else { parts.len() }, pair(set(picture, beside), words));
        let whole = Galley::stack("group", parts);
        if whole.height() < best.height() {
            best = whole;
        }
    }
    best
}

/// A picture and its caption, as one piece.
fn captioned(context: &Context, picture: Galley, caption: Galley) -> Galley {
    let (above, below) = (picture.above, picture.below);
    let gap = context.dots(context.style.space.item);
    let parts = vec![Galley { below: gap, ..picture }, Galley { above: gap, ..caption }];
    Galley { above, below, ..Galley::stack("figure", parts).solid() }
}

/// Pictures that follow each other, side by side.
fn in_rows(context: &Context, pictures: &[&Block], room: Room, floor: Dots, one: &dyn Fn(usize, Room) -> Galley) -> Vec<Galley> {
    let shapes: Option<Vec<Shape>> = pictures
        .iter()
        .map(|block| match &block.kind {
            Kind::Figure(figure) => Some(Shape::of(context, figure)),
            _ => None,
        })
        .collect();
    let Some(shapes) = shapes else { return (0..pictures.len()).map(|n| one(n, room)).collect() };
    let gutter = size::gutter(context);
    let (column, between) = (i64::from(room.width.0), i64::from(gutter.0));
    let space = context.dots(context.style.space.item);
    let mut from = 0;
    let floor = i64::from(floor.0);
    let rows = size::rows(&shapes, column, between, floor).into_iter().map(|count| {
        let here = from..from + count;
        from += count;
        if count == 1 {
            return one(here.start, room);
        }
        let widths = size::widths(&shapes[here.clone()], column, between, floor);
        let all = widths.iter().sum::<i64>() + between * (count as i64 - 1);
        let mut x = Dots(((column - all) / 2).max(0) as i32);
        let cells = here.zip(widths).map(|(n, width)| {
            let (left, width) = (x, Dots(width as i32));
            x += width + gutter;
            (left, one(n, Room { width, cell: true, ..room }))
        });
        let row = abreast("row", cells.collect());
        Galley { above: space, below: space, ..row }
    });
    rows.collect()
}

/// Width of the least measure.
fn measure(context: &Context) -> Dots {
    one_line(context, MEASURE, context.body(), Span::default(), &mut Vec::new()).width
}

/// Widths of a picture and of the text beside it.
struct Shares {
    picture: Dots,
    text: Dots,
}

/// None where the text would have too short a measure.
fn shares(context: &Context, figure: &Figure, room: Room) -> Option<Shares> {
    let gutter = size::gutter(context);
    let most = room.width - gutter - measure(context);
    let shape = Shape::of(context, figure);
    let mut width = (room.width * WIDE / 100).min(most);
    if width < room.width * NARROW / 100 {
        return None;
    }
    if shape.pixels {
        width = width.min(Dots(shape.width.min(i64::from(i32::MAX)) as i32));
    }
    // Where a page shows it small it need not be larger here than what is seen well.
    if let Some(Width::Page(share)) = figure.width {
        let small = i64::from(room.width.0) * i64::from(share) / 1000;
        width = width.min(Dots(small.max(size::LEGIBLE * 5 / 4) as i32));
    }
    // An upright picture would stand far out of its text.
    let highest = i64::from(room.width.0) * 2 / 3;
    let narrow = highest * shape.width / shape.height.max(1);
    let width = Dots(i64::from(width.0).min(narrow.max(size::LEGIBLE * 3 / 4)).max(1) as i32);
    shape.is_legible(i64::from(width.0)).then_some(Shares { picture: width, text: room.width - gutter - width })
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
