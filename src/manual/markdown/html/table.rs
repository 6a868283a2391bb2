//! Tables: of rows and columns, or, where a page used one to lay things out, what stands in its cells one after the other.

use std::ops::Range;

use pulldown_cmark::{Alignment, Tag, TagEnd};

use super::events::Player;
use super::tree::{Handle, Seen};
use crate::manual::Error;

/// What a cell may take of either, as HTML has it.
const WIDEST: usize = 1000;

/// Cells of a table with those that are empty. Where there would be more, what stands in it is set one after the other.
const MOST: usize = 100_000;

/// What cannot stand in a cell on a strip. A table that holds such a thing lays out a page.
const LAYING_OUT: &[&str] = &["table", "pre", "h1", "h2", "h3", "h4", "h5", "h6", "blockquote", "hr", "dl", "details"];

struct Cell {
    node: Handle,
    range: Range<usize>,
    /// `th`
    head: bool,
    /// The column it begins in, and how many it takes.
    column: usize,
    columns: usize,
}

struct Row {
    range: Range<usize>,
    head: bool,
    cells: Vec<Cell>,
}

impl Player<'_, '_, '_, '_> {
    pub(super) fn table(&mut self, node: Handle, piece: Option<usize>, range: &Range<usize>) -> Result<(), Error> {
        self.edge();
        let markdown = self.is_markdown(piece);
        if let Some(caption) = self.find(node, "caption") {
            self.line(caption, Tag::Emphasis, range)?;
        }
        let rows = self.rows(node);
        let columns = rows.iter().flat_map(|row| &row.cells).map(|cell| cell.column + 1).max().unwrap_or(0);
        let headed = rows.iter().flat_map(|row| &row.cells).any(|cell| cell.head);
        let lays_out = !markdown
            && (columns <= 1
                || columns * rows.len() > MOST
                || self.holds(node, LAYING_OUT)
                || (!headed && self.holds(node, &["ul", "ol"])));
        if self.flat > 0 || lays_out {
            return self.one_by_one(&rows);
        }
        let align = self.alignments(piece).unwrap_or_else(|| self.columns_align(&rows, columns));
        let mut open: Option<Range<usize>> = None;
        for row in &rows {
            // A cell that goes all the way across parts the table.
            if let [cell] = row.cells.as_slice()
                && cell.columns >= columns
                && columns > 1
                && !markdown
            {
                self.end_table(open.take());
                let mark = if cell.head { Some(Tag::Strong) } else { None };
                match mark {
                    Some(mark) => self.line(cell.node, mark, &cell.range)?,
                    None => {
                        self.edge();
                        self.children(cell.node)?;
                        self.edge();
                    }
                }
                continue;
            }
            let fresh = open.is_none();
            if fresh {
                let range = if markdown { range.clone() } else { row.range.start..range.end.max(row.range.end) };
                self.reading.start(Tag::Table(align.clone()), range.clone());
                open = Some(range);
            }
            let head = fresh && row.head;
            if fresh && !head {
                for _ in 0..columns {
                    self.cell(None, &(row.range.start..row.range.start), false)?;
                }
                self.reading.end(TagEnd::TableHead, row.range.clone());
            }
            let mut at = 0;
            for cell in &row.cells {
                while at < cell.column {
                    self.cell(None, &(cell.range.start..cell.range.start), false)?;
                    at += 1;
                }
                self.cell(Some(cell.node), &cell.range, cell.head && !head)?;
                at += 1;
            }
            while at < columns {
                self.cell(None, &(row.range.end..row.range.end), false)?;
                at += 1;
            }
            self.reading.end(if head { TagEnd::TableHead } else { TagEnd::TableRow }, row.range.clone());
        }
        self.end_table(open);
        Ok(())
    }

    fn end_table(&mut self, open: Option<Range<usize>>) {
        if let Some(range) = open {
            self.end_leaf();
            self.reading.end(TagEnd::Table, range);
        }
    }

    fn one_by_one(&mut self, rows: &[Row]) -> Result<(), Error> {
        for cell in rows.iter().flat_map(|row| &row.cells) {
            self.edge();
            match cell.head && !self.holds(cell.node, LAYING_OUT) {
                true => self.line(cell.node, Tag::Strong, &cell.range)?,
                false => self.children(cell.node)?,
            }
            self.edge();
        }
        Ok(())
    }

    /// The rows, with cells that take several columns or rows where they begin. Columns in which no cell begins are none.
    fn rows(&self, table: Handle) -> Vec<Row> {
        let mut rows = Vec::new();
        // How many more rows each column is taken for by a cell above.
        let mut taken: Vec<usize> = Vec::new();
        for part in self.tree.children(table) {
            let Seen::Element(part_name, piece) = self.tree.seen(part) else { continue };
            let lines = if &*part_name == "tr" { vec![part] } else { self.tree.children(part) };
            for line in lines {
                let Seen::Element(name, line_piece) = self.tree.seen(line) else { continue };
                if &*name != "tr" || &*part_name == "caption" {
                    continue;
                }
                let mut row =
                    Row { range: self.extent(line, line_piece.or(piece)), head: &*part_name == "thead", cells: Vec::new() };
                self.cells(line, &mut row, &mut taken);
                row.head |= rows.is_empty() && row.cells.len() > 1 && row.cells.iter().all(|cell| cell.head);
                if !row.cells.is_empty() {
                    rows.push(row);
                }
            }
        }
        let mut begun: Vec<usize> = rows.iter().flat_map(|row| &row.cells).map(|cell| cell.column).collect();
        begun.sort_unstable();
        begun.dedup();
        for cell in rows.iter_mut().flat_map(|row| &mut row.cells) {
            let last = cell.column + cell.columns;
            let column = begun.partition_point(|begun| *begun < cell.column);
            cell.columns = begun.partition_point(|begun| *begun < last) - column;
            cell.column = column;
        }
        rows
    }

    fn cells(&self, line: Handle, row: &mut Row, taken: &mut Vec<usize>) {
        let mut column = 0;
        for child in self.tree.children(line) {
            let Seen::Element(name, piece) = self.tree.seen(child) else { continue };
            if !matches!(&*name, "td" | "th") {
                continue;
            }
            while taken.get(column).is_some_and(|rows| *rows > 0) {
                column += 1;
            }
            let spans = |attribute: &str| {
                let told = self.attribute(piece, attribute).and_then(|told| told.trim().parse::<usize>().ok());
                told.unwrap_or(1).clamp(1, WIDEST)
            };
            let (columns, deep) = (spans("colspan"), spans("rowspan"));
            if column + columns > WIDEST * 4 {
                break;
            }
            if deep > 1 {
                taken.resize(taken.len().max(column + columns), 0);
                taken[column..column + columns].iter_mut().for_each(|rows| *rows = deep);
            }
            let range = self.extent(child, piece);
            row.cells.push(Cell { node: child, range, head: &*name == "th", column, columns });
            column += columns;
        }
        taken.iter_mut().for_each(|rows| *rows = rows.saturating_sub(1));
    }

    fn columns_align(&self, rows: &[Row], columns: usize) -> Vec<Alignment> {
        let mut align = vec![Alignment::None; columns];
        for cell in rows.iter().rev().flat_map(|row| &row.cells) {
            if let Seen::Element(_, piece) = self.tree.seen(cell.node) {
                let style = self.attribute(piece, "style").and_then(|style| super::measures::of_style(style, "text-align"));
                let told = self.attribute(piece, "align").or(style).unwrap_or_default().to_ascii_lowercase();
                align[cell.column] = match told.as_str() {
                    "left" => Alignment::Left,
                    "center" => Alignment::Center,
                    "right" => Alignment::Right,
                    _ => align[cell.column],
                };
            }
        }
        align
    }

    /// Whether one of these stands anywhere inside.
    fn holds(&self, node: Handle, names: &[&str]) -> bool {
        self.tree.children(node).into_iter().any(|child| match self.tree.seen(child) {
            Seen::Element(name, _) => names.contains(&&*name) || self.holds(child, names),
            Seen::Text(_) => false,
        })
    }
}
