//! Pictures in tables: as wide as their column; a table that is mainly pictures is a grid of figures with its texts as captions.

use std::borrow::Cow;

use super::{Room, places, row};
use crate::layout::context::Context;
use crate::layout::galley::Galley;
use crate::layout::text::{self, Setting};
use crate::manual::document::{Cell, Figure, Inline, InlineKind, Table, plain_text};
use crate::type_setting::Type;

/// The grid that a table of pictures is; none when the table says more than it shows.
///
/// Each of its rows holds either pictures or words, and there are at least half as many pictures as words. Words above the first pictures are
/// captions of those, and so are words between rows of pictures captions of what stands below them, if pictures end the table; else they are
/// captions of what stands above them.
pub fn gallery(context: &Context, table: &Table, room: Room) -> Option<Galley> {
    let rows: Vec<Vec<Parted>> = std::iter::once(&table.head)
        .chain(&table.rows)
        .map(|row| row.iter().map(|cell| Parted::of(context, cell)).collect())
        .collect();
    let (mut shown, mut said) = (0, 0);
    for row in &rows {
        let pictures = row.iter().filter(|cell| !cell.figures.is_empty()).count();
        let words = row.iter().filter(|cell| cell.figures.is_empty() && cell.speaks()).count();
        if pictures > 0 && words > 0 {
            return None;
        }
        shown += pictures;
        said += words;
    }
    if shown == 0 || shown * 2 < said {
        return None;
    }
    let shows = |row: &[Parted]| row.iter().any(|cell| !cell.figures.is_empty());
    let first = rows.iter().position(|row| shows(row))?;
    let last = rows.iter().rposition(|row| shows(row))?;
    let speaks = |row: &[Parted]| row.iter().any(Parted::speaks);
    let downwards = rows[..first].iter().any(|row| speaks(row)) && !rows[last..].iter().skip(1).any(|row| speaks(row));
    let captions = |n: usize| -> Vec<&Vec<Parted>> {
        let before = rows[..n].iter().rposition(|row| shows(row)).map_or(0, |at| at + 1);
        let after = rows[n + 1..].iter().position(|row| shows(row)).map_or(rows.len(), |at| n + 1 + at);
        let above = &rows[if downwards || n == first { before } else { n }..n];
        let below = &rows[n + 1..if downwards { n + 1 } else { after }];
        above.iter().chain(below).collect()
    };
    let (mut parts, mut captioned) = (Vec::new(), 0);
    for (n, row) in rows.iter().enumerate().filter(|(_, row)| shows(row)) {
        let captions = captions(n);
        let mut figures: Vec<Figure> = Vec::new();
        for (column, cell) in row.iter().enumerate() {
            let mut words: Vec<Inline> = cell.words.clone();
            for caption in captions.iter().filter_map(|row| row.get(column)).filter(|caption| caption.speaks()) {
                captioned += usize::from(!cell.figures.is_empty());
                if !words.is_empty() {
                    words.push(Inline { span: caption.words[0].span, kind: InlineKind::HardBreak });
                }
                words.extend(caption.words.iter().cloned());
            }
            let last = cell.figures.len();
            for (at, figure) in cell.figures.iter().enumerate() {
                let mut figure = figure.clone();
                figure.width = None;
                if at + 1 == last && !words.is_empty() {
                    figure.caption = std::mem::take(&mut words);
                }
                figures.push(figure);
            }
        }
        parts.push(row::row(context, &figures, room));
    }
    // Words that stand where no picture is are words of a table.
    (captioned == said).then(|| Galley::stack("gallery", parts))
}

/// A cell's words and its pictures that are no icons.
struct Parted {
    words: Vec<Inline>,
    figures: Vec<Figure>,
}

impl Parted {
    fn of(context: &Context, cell: &Cell) -> Parted {
        match places::parted(context, &cell.text, context.small()) {
            Some((words, figures)) => Parted { words, figures },
            None => Parted { words: cell.text.clone(), figures: Vec::new() },
        }
    }

    fn speaks(&self) -> bool {
        !plain_text(&self.words).trim().is_empty()
    }
}

/// A cell without its pictures, and how narrow and how wide those want to be, in dots.
pub fn cell<'c>(context: &Context, cell: &'c Cell, look: Type) -> (Cow<'c, Cell>, Option<places::Reach>) {
    match places::parted(context, &cell.text, look) {
        None => (Cow::Borrowed(cell), None),
        Some((words, figures)) => (Cow::Owned(Cell { span: cell.span, text: words }), Some(places::reach(context, &figures))),
    }
}

/// A cell: its words, and under them its pictures, each as wide as the column.
pub fn words_and_pictures(context: &Context, cell: &Cell, setting: &Setting, room: Room) -> Galley {
    let Some((words, figures)) = places::parted(context, &cell.text, setting.look) else {
        return text::inlines(context, &cell.text, setting);
    };
    let mut parts = Vec::new();
    if !words.is_empty() {
        parts.push(text::inlines(context, &words, setting));
    }
    for mut figure in figures {
        figure.width = None;
        let space = context.dots(context.style.space.item);
        let set = super::figure::figure(context, &figure, figure.picture_span, Room { cell: true, ..room });
        parts.push(Galley { above: space, below: space, ..set });
    }
    Galley::stack("cell", parts)
}
