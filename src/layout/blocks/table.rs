//! Tables: columns fitted to the width, or stacked records where they cannot fit.

use super::{Room, gallery, places};
use crate::language::Language;
use crate::layout::bench::Bench;
use crate::layout::galley::{Boxed, Chunk, Galley};
use crate::layout::text::{self, Position, Setting, one_line};
use crate::manual::document::{Align, Cell, InlineKind, Table, plain_text};
use crate::manual::source::Span;
use crate::type_setting::Type;
use crate::units::Dots;

pub fn table(bench: &Bench, table: &Table, span: Span, room: Room) -> Galley {
    if let Some(grid) = gallery::gallery(bench, table, room) {
        return grid;
    }
    let columns = table.head.len();
    let mut galley = match columns_that_fit(bench, table, room.width) {
        Some(widths) if columns > 0 => as_columns(bench, table, &widths, span, room),
        _ => as_records(bench, table, span, room),
    };
    galley.above = bench.dots(bench.style.space.block);
    galley.below = galley.above;
    galley
}

/// A table of no more rows than this is not folded; of a longer one no single row is parted from the rest.
const SHORT: usize = 5;

/// What a column gets over its widest line, dots, so that no line is broken for the rounding of a space, nor for the white that
/// an ideograph has beside its ink.
const SLACK: i32 = 4;
const SQUARE_SLACK: i32 = 9;

fn slack(bench: &Bench) -> i32 {
    match bench.language {
        Language::Japanese | Language::SimplifiedChinese | Language::Korean => SQUARE_SLACK,
        _ => SLACK,
    }
}

fn gutter(bench: &Bench) -> Dots {
    bench.dots(bench.style.space.gutter)
}

fn head_look(bench: &Bench) -> Type {
    Type { bold: true, ..bench.small() }
}

/// Width of each column, or none where even the longest words do not stand side by side.
fn columns_that_fit(bench: &Bench, table: &Table, width: Dots) -> Option<Vec<Dots>> {
    let columns = table.head.len() as i32;
    let room = width - gutter(bench) * (columns - 1).max(0);
    let fair = room.0 / columns.max(1);
    if columns > 12 || fair < bench.pitch(bench.small().size).0 {
        return None;
    }
    let (mut least, mut whole) = (vec![1; table.head.len()], vec![1; table.head.len()]);
    let rows = std::iter::once((&table.head, head_look(bench))).chain(table.rows.iter().map(|row| (row, bench.small())));
    for (row, look) in rows {
        for (n, cell) in row.iter().enumerate().take(table.head.len()) {
            let setting = cell_setting(bench, look, Dots(30_000), Align::None, cell.span);
            let (cell, pictured) = gallery::cell(bench, cell, look);
            if let Some((narrowest, widest)) = pictured {
                least[n] = least[n].max(narrowest.min(fair));
                whole[n] = whole[n].max(widest);
            }
            // A key is measured as it will be set where it has the whole column of the page.
            let mut gathering = text::Gathering::new(width);
            gathering.push_inlines(bench, &cell.text, look, false);
            let set = gathering.set(bench, &setting);
            let all =
                set.chunks.iter().flat_map(|chunk| &chunk.boxes).filter(|boxed| boxed.kind == "line").map(|boxed| boxed.width.0);
            whole[n] = whole[n].max(all.max().unwrap_or(1) + slack(bench));
            let keys =
                set.chunks.iter().flat_map(|chunk| &chunk.boxes).filter(|boxed| boxed.kind != "line").map(|boxed| boxed.width.0);
            least[n] = least[n].max(keys.max().unwrap_or(1));
            for word in plain_text(&cell.text).split_whitespace() {
                let mut word_width = one_line(bench, word, look, cell.span, &mut Vec::new()).width.0 + slack(bench);
                // A long word in the body of a table may be hyphenated, one in the head may not, and a number never.
                let divides = || bench.faces.parts(word, bench.language).len() > 1;
                if look == bench.small() && word.chars().count() > 12 && divides() {
                    word_width = word_width * 6 / 10;
                }
                least[n] = least[n].max(word_width.min(whole[n]));
            }
        }
    }
    share_out(&least, &whole, room.0).map(|widths| widths.into_iter().map(Dots).collect())
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

fn cell_setting(bench: &Bench, look: Type, width: Dots, align: Align, span: Span) -> Setting {
    let align = match align {
        Align::Centre => Position::Centre,
        Align::Right => Position::End,
        Align::None | Align::Left => Position::Start,
    };
    let tabular = align == Position::End;
    Setting { look, align, hyphenate: !look.bold, tabular, ..Setting::small(bench, "cell", width, span) }
}

fn as_columns(bench: &Bench, table: &Table, widths: &[Dots], span: Span, room: Room) -> Galley {
    let (thin, thick) = (bench.line(bench.style.line.thin), bench.line(bench.style.line.medium).max(Dots(2)));
    let gap = bench.dots(bench.style.space.item) * 6 / 10;
    let mut galley = Galley { kind: "table", ..Galley::default() };
    let rows =
        std::iter::once((&table.head, head_look(bench), thick)).chain(table.rows.iter().map(|row| (row, bench.small(), thin)));
    let count = table.rows.len();
    // Markdown has no table without a head: writers leave its cells empty.
    let first = usize::from(count > 0 && table.head.iter().all(is_empty));
    for (n, (row, look, under)) in rows.enumerate().skip(first) {
        let mut chunk = Chunk { keep: n < count && (count <= SHORT || n <= 1 || n + 1 == count), ..Chunk::default() };
        let mut x = Dots(0);
        let top = if n == first { thick + gap } else { gap };
        let mut said = String::new();
        for (cell, (&width, align)) in row.iter().zip(widths.iter().zip(&table.align)) {
            let setting = cell_setting(bench, look, width, *align, cell.span);
            let mut set = gallery::words_and_pictures(bench, cell, &setting, Room { width, ..room }).solid();
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
            x += width + gutter(bench);
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
fn as_records(bench: &Bench, table: &Table, span: Span, room: Room) -> Galley {
    let thin = bench.line(bench.style.line.thin);
    let medium = bench.line(bench.style.line.medium).max(Dots(2));
    let gap = bench.dots(bench.style.space.item) * 7 / 10;
    let mut galley = Galley { kind: "table", ..Galley::default() };
    let count = table.rows.len();
    let lines = if count == 0 { vec![&table.head] } else { table.rows.iter().collect() };
    for (n, row) in lines.into_iter().enumerate() {
        let mut parts = Vec::new();
        for (column, cell) in row.iter().enumerate() {
            let mut gathering = text::Gathering::new(room.width);
            let heading = table.head.get(column).filter(|head| count > 0 && !plain_text(&head.text).trim().is_empty());
            if let Some(heading) = heading {
                gathering.push_inlines(bench, &heading.text, head_look(bench), false);
                gathering.push_text(": ", head_look(bench), heading.span);
            }
            let parted = places::parted(bench, &cell.text, bench.small());
            let words = parted.as_ref().map_or(&cell.text, |(words, _)| words);
            gathering.push_inlines(bench, words, bench.small(), false);
            let setting = Setting::small(bench, "cell", room.width, cell.span);
            let part = gathering.set(bench, &setting);
            if heading.is_some() || !part.text.trim().is_empty() {
                parts.push(part);
            }
            parts.extend(parted.as_ref().map(|(_, figures)| places::figures(bench, figures, room)));
        }
        let record = Galley::stack("record", parts).solid();
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

#[cfg(test)]
mod tests {
    use super::share_out;

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
