//! Tables: columns fitted to the width, or stacked records where they cannot fit.

use std::borrow::Cow;

use super::{Room, gallery, places};
use crate::language::Language;
use crate::layout::context::Context;
use crate::layout::galley::{Boxed, Chunk, Galley};
use crate::layout::text::{self, Position, Setting, one_line};
use crate::lengths::Dots;
use crate::manual::document::{Align, Cell, Figure, Inline, InlineKind, Table, plain_text};
use crate::manual::source::Span;
use crate::type_setting::Type;

pub fn table(context: &Context, table: &Table, span: Span, room: Room) -> Galley {
    let table = &*without_stray_row(table);
    if let Some(grid) = gallery::gallery(context, table, room) {
        return grid;
    }
    let columns = table.head.len();
    let mut galley = match columns_that_fit(context, table, room.width) {
        Some(widths) if columns > 0 => as_columns(context, table, &widths, span, room),
        _ => as_records(context, table, span, room),
    };
    galley.above = context.dots(context.style.space.block);
    galley.below = galley.above;
    galley
}

/// A table without the empty row at its end that a slip left there. Several empty rows, or nothing but empty ones, are a form to be
/// filled in by hand.
fn without_stray_row(table: &Table) -> Cow<'_, Table> {
    let is_empty = |row: &Vec<Cell>| row.iter().all(|cell| cell.text.is_empty());
    match table.rows.as_slice() {
        [.., before, last] if is_empty(last) && !is_empty(before) => {
            let rows = table.rows[..table.rows.len() - 1].to_vec();
            Cow::Owned(Table { align: table.align.clone(), head: table.head.clone(), rows })
        }
        _ => Cow::Borrowed(table),
    }
}

/// A table of no more rows than this is not folded; of a longer one no single row is parted from the rest.
const SHORT: usize = 5;

/// What a column gets over its widest line, dots, so that no line is broken for the rounding of a space, nor for the white that
/// an ideograph has beside its ink.
const SLACK: i32 = 4;
const SQUARE_SLACK: i32 = 9;

fn slack(context: &Context) -> i32 {
    match context.language {
        Language::Japanese | Language::SimplifiedChinese | Language::TraditionalChinese | Language::Korean => SQUARE_SLACK,
        _ => SLACK,
    }
}

fn gutter(context: &Context) -> Dots {
    context.dots(context.style.space.gutter)
}

fn head_look(context: &Context) -> Type {
    Type { bold: true, ..context.small() }
}

/// Width of each column, or none where even the longest words do not stand side by side.
fn columns_that_fit(context: &Context, table: &Table, width: Dots) -> Option<Vec<Dots>> {
    let columns = table.head.len() as i32;
    let room = width - gutter(context) * (columns - 1).max(0);
    let fair = room.0 / columns.max(1);
    if columns > 12 || fair < context.pitch(context.small().size).0 {
        return None;
    }
    let (mut least, mut whole) = (vec![1; table.head.len()], vec![1; table.head.len()]);
    let mut wanted: Vec<Vec<i32>> = Vec::new();
    let mut has_pictures = vec![false; table.head.len()];
    let rows = std::iter::once((&table.head, head_look(context))).chain(table.rows.iter().map(|row| (row, context.small())));
    for (row, look) in rows {
        wanted.push(vec![0; table.head.len()]);
        for (n, cell) in row.iter().enumerate().take(table.head.len()) {
            let setting = cell_setting(context, look, Dots(30_000), Align::None, cell.span);
            let (cell, pictured) = gallery::cell(context, cell, look);
            if let Some(reach) = pictured {
                has_pictures[n] = true;
                least[n] = least[n].max(reach.narrow.min(fair));
                whole[n] = whole[n].max(reach.wide);
            }
            // A key is measured as it will be set where it has the whole column of the page.
            let mut gathering = text::Gathering::new(width);
            gathering.push_inlines(context, &cell.text, look, false);
            let set = gathering.set(context, &setting);
            let all =
                set.chunks.iter().flat_map(|chunk| &chunk.boxes).filter(|boxed| boxed.kind == "line").map(|boxed| boxed.width.0);
            let all = all.max().unwrap_or(1) + slack(context);
            whole[n] = whole[n].max(all);
            if let Some(row) = wanted.last_mut() {
                row[n] = all;
            }
            let keys =
                set.chunks.iter().flat_map(|chunk| &chunk.boxes).filter(|boxed| boxed.kind != "line").map(|boxed| boxed.width.0);
            least[n] = least[n].max(keys.max().unwrap_or(1));
            for word in plain_text(&cell.text).split_whitespace() {
                let mut word_width = one_line(context, word, look, cell.span, &mut Vec::new()).width.0 + slack(context);
                // A long word in the body of a table may be hyphenated, one in the head may not, and a number never.
                let divides = || context.faces.parts(word, context.language).len() > 1;
                if look == context.small() && word.chars().count() > 12 && divides() {
                    word_width = word_width * 6 / 10;
                }
                least[n] = least[n].max(word_width.min(whole[n]));
            }
        }
    }
    let widths = share_out(&least, &whole, room.0)?;
    // Pictures are not made smaller for that.
    (0..least.len()).filter(|&n| has_pictures[n]).for_each(|n| least[n] = widths[n]);
    Some(shortest(widths, &least, &wanted).into_iter().map(Dots).collect())
}

/// Widths that make a table of long cells short: room goes from the columns that lose nothing by it to those that gain lines, until
/// none is gained. `wanted` is the width of each cell on one line. Of a long table the first rows decide.
fn shortest(mut widths: Vec<i32>, least: &[i32], wanted: &[Vec<i32>]) -> Vec<i32> {
    const STEP: i32 = 8;
    const ROWS: usize = 100;
    let wanted = &wanted[..wanted.len().min(ROWS)];
    let lines = |widths: &[i32]| -> i32 {
        // Words do not fill their lines: a ninth is lost at the ends.
        let lines =
            |&(&wanted, &width): &(&i32, &i32)| if wanted <= width { 1 } else { (wanted * 9 / 8 + width - 1) / width.max(1) };
        wanted.iter().map(|row| row.iter().zip(widths).map(|pair| lines(&pair)).max().unwrap_or(1)).sum()
    };
    let mut fewest = lines(&widths);
    loop {
        let mut best = None;
        // A line may be gained only by several steps at once.
        for step in (1..=12).map(|steps| steps * STEP) {
            for from in (0..widths.len()).filter(|&from| widths[from] - step >= least[from]) {
                for to in (0..widths.len()).filter(|&to| to != from) {
                    let mut tried = widths.clone();
                    (tried[from], tried[to]) = (tried[from] - step, tried[to] + step);
                    let now = lines(&tried);
                    if now < fewest {
                        (fewest, best) = (now, Some(tried));
                    }
                }
            }
            if best.is_some() {
                break;
            }
        }
        match best {
            Some(better) => widths = better,
            None => return widths,
        }
    }
}

/// Every column gets its least; what is left is shared alike, and what one column does not want goes to those that do. So short
/// cells stay on one line and the long ones are broken.
fn share_out(least: &[i32], whole: &[i32], room: i32) -> Option<Vec<i32>> {
    let mut spare = room - least.iter().sum::<i32>();
    if spare < 0 {
        return None;
    }
    let mut widths = least.to_vec();
    let wanted = |n: usize| (whole[n] - least[n]).max(0);
    let mut columns: Vec<usize> = (0..least.len()).collect();
    columns.sort_by_key(|&n| wanted(n));
    for (served, &n) in columns.iter().enumerate() {
        let given = wanted(n).min(spare / (columns.len() - served) as i32);
        widths[n] += given;
        spare -= given;
    }
    // What nobody wants goes to all in proportion: short columns are not bunched under rules as wide as the page.
    let taken = widths.iter().map(|&width| i64::from(width)).sum::<i64>().max(1);
    widths.iter_mut().for_each(|width| *width += (i64::from(*width) * i64::from(spare) / taken) as i32);
    Some(widths)
}

fn cell_setting(context: &Context, look: Type, width: Dots, align: Align, span: Span) -> Setting {
    let align = match align {
        Align::Centre => Position::Centre,
        Align::Right => Position::End,
        Align::None | Align::Left => Position::Start,
    };
    let tabular = align == Position::End;
    Setting { look, align, hyphenate: !look.bold, tabular, ..Setting::small(context, "cell", width, span) }
}

fn as_columns(context: &Context, table: &Table, widths: &[Dots], span: Span, room: Room) -> Galley {
    let (thin, thick) = (context.line(context.style.line.thin), context.line(context.style.line.medium).max(Dots(2)));
    let gap = context.dots(context.style.space.item) * 6 / 10;
    let mut galley = Galley { kind: "table", ..Galley::default() };
    let rows = std::iter::once((&table.head, head_look(context), thick))
        .chain(table.rows.iter().map(|row| (row, context.small(), thin)));
    let count = table.rows.len();
    // Markdown has no table without a head: writers leave its cells empty.
    let first = usize::from(count > 0 && table.head.iter().all(is_empty));
    for (n, (row, look, under)) in rows.enumerate().skip(first) {
        let mut chunk = Chunk { keep: n < count && (count <= SHORT || n <= 1 || n + 1 == count), ..Chunk::default() };
        let mut x = Dots(0);
        let top = if n == first { thick + gap } else { gap };
        let mut said = String::new();
        for (cell, (&width, align)) in row.iter().zip(widths.iter().zip(&table.align)) {
            let setting = cell_setting(context, look, width, *align, cell.span);
            let mut set = gallery::words_and_pictures(context, cell, &setting, Room { width, ..room }).solid();
            if !said.is_empty() {
                said.push(' ');
            }
            said.push_str(&set.text);
            galley.remarks.append(&mut set.remarks);
            if let Some(mut part) = set.chunks.pop() {
                part.shift(x, top);
                chunk.height = chunk.height.max(part.height);
                chunk.marks.append(&mut part.marks);
                chunk.boxes.append(&mut part.boxes);
            }
            x += width + gutter(context);
        }
        if n == first {
            chunk.fill(Dots(0), Dots(0), room.width, thick);
        }
        let under = if n == count { thick } else { under };
        chunk.height += top + gap;
        chunk.fill(Dots(0), chunk.height, room.width, under);
        chunk.height += under;
        let (span, height) = (row_span(row, span), chunk.height);
        chunk.boxes.push(Boxed { kind: "row", x: Dots(0), y: Dots(0), width: room.width, height, span, text: said.clone() });
        if !galley.text.is_empty() {
            galley.text.push('\n');
        }
        galley.text.push_str(&said);
        galley.chunks.push(chunk);
    }
    galley
}

fn is_empty(cell: &Cell) -> bool {
    cell.text.iter().all(|inline| match &inline.kind {
        InlineKind::Text(text) => text.trim().is_empty(),
        InlineKind::SoftBreak | InlineKind::HardBreak => true,
        _ => false,
    })
}

fn row_span(row: &[Cell], table: Span) -> Span {
    match (row.first(), row.last()) {
        (Some(first), Some(last)) => Span { start: first.span.start, end: last.span.end },
        _ => table,
    }
}

/// Each row as a record: heading and value, line under line, a thin rule between records.
fn as_records(context: &Context, table: &Table, span: Span, room: Room) -> Galley {
    let thin = context.line(context.style.line.thin);
    let medium = context.line(context.style.line.medium).max(Dots(2));
    let gap = context.dots(context.style.space.item) * 7 / 10;
    let mut galley = Galley { kind: "table", ..Galley::default() };
    let count = table.rows.len();
    let lines = if count == 0 { vec![&table.head] } else { table.rows.iter().collect() };
    // Columns in which nothing stands at all: a place to write in by hand.
    let idle: Vec<bool> = (0..table.head.len())
        .map(|column| table.rows.iter().all(|row| row.get(column).is_none_or(|cell| cell.text.is_empty())))
        .collect();
    for (n, row) in lines.into_iter().enumerate() {
        let record = Galley::stack("record", record(context, table, row, &idle, room)).solid();
        let record = record.padded(gap + if n == 0 { medium } else { Dots(0) }, gap);
        galley.remarks.extend(record.remarks);
        let Some(mut chunk) = record.chunks.into_iter().next() else { continue };
        if n == 0 {
            chunk.fill(Dots(0), Dots(0), room.width, medium);
        }
        let under = if n + 1 >= count { medium } else { thin };
        chunk.fill(Dots(0), chunk.height, room.width, under);
        chunk.height += under;
        let (span, height) = (row_span(row, span), chunk.height);
        let text = record.text.clone();
        chunk.boxes.push(Boxed { kind: "row", x: Dots(0), y: Dots(0), width: room.width, height, span, text });
        if !galley.text.is_empty() {
            galley.text.push('\n');
        }
        galley.text.push_str(&record.text);
        galley.chunks.push(chunk);
    }
    galley
}

/// A value with its heading, as it stands in a record.
struct Pair<'t> {
    heading: Option<&'t Cell>,
    cell: &'t Cell,
    words: Cow<'t, [Inline]>,
    figures: Vec<Figure>,
}

impl<'t> Pair<'t> {
    fn gather<'g>(&'g self, context: &Context, gathering: &mut text::Gathering<'g>) {
        if let Some(heading) = self.heading {
            gathering.push_inlines(context, &heading.text, head_look(context), false);
            gathering.push_text(": ", head_look(context), heading.span);
        }
        gathering.push_inlines(context, &self.words, context.small(), false);
    }

    /// Its width where it is one line and nothing else.
    fn width(&self, context: &Context, room: Room) -> Option<Dots> {
        let mut gathering = text::Gathering::new(room.width);
        self.gather(context, &mut gathering);
        let set = gathering.set(context, &Setting::small(context, "cell", Dots(30_000), self.cell.span));
        let [chunk] = &set.chunks[..] else { return None };
        let line = chunk.boxes.iter().find(|boxed| boxed.kind == "line")?;
        (self.figures.is_empty() && line.width <= room.width).then_some(line.width)
    }
}

/// The lines of a record: what it is about, then as many short values side by side as a line holds. A value that is not there is not
/// named, unless it is there nowhere: `idle`.
fn record(context: &Context, table: &Table, row: &[Cell], idle: &[bool], room: Room) -> Vec<Galley> {
    const BETWEEN: &str = "\u{2003}";
    let pairs = row.iter().enumerate().filter_map(|(column, cell)| {
        let headed = |head: &&Cell| !table.rows.is_empty() && !plain_text(&head.text).trim().is_empty();
        let heading = table.head.get(column).filter(headed);
        let (words, figures) = match places::parted(context, &cell.text, context.small()) {
            Some((words, figures)) => (Cow::Owned(words), figures),
            None => (Cow::Borrowed(&cell.text[..]), Vec::new()),
        };
        let is_empty = words.is_empty() && figures.is_empty();
        let is_named = heading.is_some() && idle.get(column).copied().unwrap_or(false);
        (!is_empty || is_named).then_some(Pair { heading, cell, words, figures })
    });
    let pairs: Vec<Pair> = pairs.collect();
    let between = one_line(context, BETWEEN, context.small(), Span::default(), &mut Vec::new()).width + Dots(slack(context));
    let mut lines: Vec<(Vec<&Pair>, Dots)> = Vec::new();
    for (n, pair) in pairs.iter().enumerate() {
        // What no line holds whole stands by itself; so does the first, which says what the record is about.
        let width = pair.width(context, room).filter(|_| n > 0 && pair.heading.is_some());
        let taken = width.unwrap_or(room.width);
        match lines.last_mut() {
            Some((line, used)) if width.is_some() && *used + between + taken <= room.width => {
                line.push(pair);
                *used += between + taken;
            }
            _ => lines.push((vec![pair], taken)),
        }
    }
    let mut parts = Vec::new();
    for (line, _) in &lines {
        let mut gathering = text::Gathering::new(room.width);
        for (n, pair) in line.iter().enumerate() {
            if n > 0 {
                gathering.push_text(BETWEEN, context.small(), pair.cell.span);
            }
            pair.gather(context, &mut gathering);
        }
        let setting = Setting::small(context, "cell", room.width, line[0].cell.span);
        let part = gathering.set(context, &setting);
        if line.iter().any(|pair| pair.heading.is_some()) || !part.text.trim().is_empty() {
            parts.push(part);
        }
        parts.extend(
            line.iter().filter(|pair| !pair.figures.is_empty()).map(|pair| places::figures(context, &pair.figures, room)),
        );
    }
    parts
}

#[cfg(test)]
mod tests {
    use super::{share_out, shortest};

    #[test]
    fn the_column_that_says_most_gets_the_room_that_others_do_not_need() {
        // A name, a count that is long once, and a remark of 1600 dots: 1 + 1 + 12 lines become 1 + 2 + 9.
        let wanted = vec![vec![60, 60, 60], vec![60, 160, 60], vec![60, 60, 1600]];
        let widths = shortest(vec![70, 160, 160], &[60, 60, 60], &wanted);
        assert_eq!(widths.iter().sum::<i32>(), 390);
        assert!(widths[2] >= 200 && widths[1] >= 90, "{widths:?}");
        // Nothing to be gained, nothing moved.
        assert_eq!(shortest(vec![70, 160, 160], &[60, 60, 60], &[vec![60, 160, 160]]), [70, 160, 160]);
    }

    #[test]
    fn columns_get_what_they_want_when_there_is_room() {
        assert_eq!(share_out(&[10, 20], &[30, 40], 70), Some(vec![30, 40]));
    }

    #[test]
    fn what_nobody_wants_keeps_the_columns_apart() {
        assert_eq!(share_out(&[10, 20], &[30, 40], 170), Some(vec![72, 97]));
    }

    #[test]
    fn spare_room_goes_where_it_is_wanted() {
        let widths = share_out(&[10, 20], &[10, 200], 100).unwrap();
        assert_eq!(widths, vec![10, 90]);
    }

    #[test]
    fn short_cells_stay_on_one_line_and_long_ones_share_alike() {
        assert_eq!(share_out(&[50, 45, 60], &[50, 70, 250], 340), Some(vec![50, 70, 220]));
        assert_eq!(share_out(&[10, 10, 10], &[20, 400, 300], 130), Some(vec![20, 55, 55]));
    }

    #[test]
    fn words_that_do_not_stand_side_by_side_make_no_columns() {
        assert_eq!(share_out(&[60, 60], &[60, 60], 100), None);
    }
}
