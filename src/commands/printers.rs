//! `stripling printers`: the generic printers, as a table.

use std::io::{self, IsTerminal};

use serde_json::json;

use super::Error;
use super::options::Printers;
use super::output::Output;
use crate::printer::BUILT_IN;
use crate::printer::profile::Cut;

pub fn run(asked: &Printers) -> Result<(), Error> {
    if asked.json {
        return Output::Standard.write(as_json().as_bytes());
    }
    // On a terminal that is narrower than the table the notes go under their rows; into a pipe always goes the table.
    let columns = if io::stdout().is_terminal() { console_width() } else { usize::MAX };
    Output::Standard.write(table(columns).as_bytes())
}

fn console_width() -> usize {
    usize::from(console::Term::stdout().size().1)
}

fn cut_of(cut: Cut) -> &'static str {
    match cut {
        Cut::None => "none",
        Cut::Partial => "partial",
        Cut::Full => "full",
    }
}

fn as_json() -> String {
    let printers: Vec<_> = BUILT_IN
        .iter()
        .map(|generic| {
            json!({
                "name": generic.name,
                "paper_mm": generic.paper_um as f64 / 1000.0,
                "dots": generic.dots,
                "dots_per_mm": f64::from(generic.dots_per_metre) / 1000.0,
                "cut": cut_of(generic.cut),
                "speed_mm_s": generic.speed_mm_s,
                "notes": generic.notes,
            })
        })
        .collect();
    format!("{:#}\n", json!({ "printers": printers }))
}

/// The table, at most `columns` wide.
fn table(columns: usize) -> String {
    let head = ["name", "paper", "dots", "dots/mm", "cut", "speed", "notes"].map(String::from);
    let rows: Vec<[String; 7]> = std::iter::once(head)
        .chain(BUILT_IN.iter().map(|generic| {
            let cut = cut_of(generic.cut);
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
    let whole = widths.iter().sum::<usize>() + 2 * (widths.len() - 1);
    let shown = if whole <= columns { 7 } else { 6 };
    let lines = rows.iter().map(|row| {
        let cells = row.iter().zip(&widths).take(shown).map(|(cell, width)| format!("{cell:<width$}")).collect::<Vec<_>>();
        let note = if shown < 7 && row[6] != "notes" && !row[6].is_empty() { format!("    {}\n", row[6]) } else { String::new() };
        cells.join("  ").trim_end().to_string() + "\n" + &note
    });
    lines.collect()
}

#[cfg(test)]
mod tests {
    #[test]
    fn the_table_is_formats() {
        let table = super::table(usize::MAX);
        let cells: Vec<Vec<&str>> = table.lines().map(|line| line.split_whitespace().collect()).collect();
        assert_eq!(cells[0][..4], ["name", "paper", "dots", "dots/mm"]);
        // FORMAT.md, "Printers".
        assert_eq!(cells[1][..5], ["58mm", "57.5", "mm", "384", "8"]);
        assert_eq!(cells[2][..5], ["58mm-wide", "57.5", "mm", "420", "8"]);
        assert_eq!(cells[3][..5], ["80mm", "79.5", "mm", "576", "8"]);
        assert_eq!(cells[4][..5], ["80mm-180", "79.5", "mm", "512", "7.09"]);
        assert_eq!(cells[5][..5], ["112mm", "111.5", "mm", "832", "8"]);
    }

    #[test]
    fn a_narrow_terminal_gets_no_line_that_it_must_break() {
        let wide = super::table(usize::MAX);
        let narrow = super::table(60);
        assert!(wide.lines().any(|line| line.chars().count() > 60), "else there is nothing to show");
        assert!(narrow.lines().all(|line| line.chars().count() <= 60), "{narrow}");
        for note in crate::printer::BUILT_IN.iter().map(|generic| generic.notes) {
            assert!(narrow.contains(note), "{note:?} is lost in\n{narrow}");
        }
    }

    #[test]
    fn the_json_says_the_same() {
        let told: serde_json::Value = serde_json::from_str(&super::as_json()).expect("JSON");
        assert_eq!(told["printers"][1]["dots"], 420);
        assert_eq!(told["printers"][3]["dots_per_mm"], 7.087);
    }
}
