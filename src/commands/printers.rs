//! `stripling printers`: the generic printers, as a table.

use super::Error;
use super::output::Output;
use crate::printer::BUILT_IN;
use crate::printer::profile::Cut;

pub fn run() -> Result<(), Error> {
    Output::Standard.write(table().as_bytes())
}

fn table() -> String {
    let head = ["name", "paper", "dots", "dots/mm", "cut", "speed", "notes"].map(String::from);
    let rows: Vec<[String; 7]> = std::iter::once(head)
        .chain(BUILT_IN.iter().map(|generic| {
            let cut = match generic.cut {
                Cut::None => "none",
                Cut::Partial => "partial",
                Cut::Full => "full",
            };
            [
                generic.name.to_string(),
                format!("{} mm", generic.paper_um as f64 / 1000.0),
                generic.dots.to_string(),
                // 8 is exact; 180 dpi is 7.09.
                format!("{:.2}", f64::from(generic.dots_per_metre) / 1000.0).trim_end_matches(".00").to_string(),
                cut.to_string(),
                format!("{} mm/s", generic.speed_mm_s),
                generic.notes.to_string(),
            ]
        }))
        .collect();
    let width = |column: usize| rows.iter().map(|row| row[column].chars().count()).max().unwrap_or(0);
    let widths: Vec<usize> = (0..7).map(width).collect();
    let lines = rows.iter().map(|row| {
        let cells = row.iter().zip(&widths).map(|(cell, width)| format!("{cell:<width$}")).collect::<Vec<_>>();
        cells.join("  ").trim_end().to_string() + "\n"
    });
    lines.collect()
}

#[cfg(test)]
mod tests {
    #[test]
    fn the_table_is_formats() {
        let table = super::table();
        let cells: Vec<Vec<&str>> = table.lines().map(|line| line.split_whitespace().collect()).collect();
        assert_eq!(cells[0][..4], ["name", "paper", "dots", "dots/mm"]);
        // FORMAT.md, "Printers".
        assert_eq!(cells[1][..5], ["58mm", "57.5", "mm", "384", "8"]);
        assert_eq!(cells[2][..5], ["58mm-wide", "57.5", "mm", "420", "8"]);
        assert_eq!(cells[3][..5], ["80mm", "79.5", "mm", "576", "8"]);
        assert_eq!(cells[4][..5], ["80mm-180", "79.5", "mm", "512", "7.09"]);
        assert_eq!(cells[5][..5], ["112mm", "111.5", "mm", "832", "8"]);
    }
}
