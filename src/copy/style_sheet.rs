//! The style sheet: written by hand, small, and with a rule for each number that a callout can have.

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use sha2::{Digest, Sha256};

const SHEET: &str = include_str!("copy.css");

/// The sheet for a copy whose figures have so many callouts: resting on a line of a legend shows its mark.
pub fn of(most_called: usize) -> String {
    let mut sheet = short(SHEET);
    for n in 1..=most_called {
        sheet.push_str(&format!(
            ".called:has(.legend li:nth-child({n}) a:is(:hover,:focus-visible)) .marks>g:nth-child({n}){{--mark:var(--hot);--ball:var(--hot);--on:var(--on-hot)}}"
        ));
    }
    sheet
}

/// As a Content-Security-Policy names it: a page with any other sheet is not styled by it (CSP Level 3, hash sources).
pub fn digest(sheet: &str) -> String {
    format!("sha256-{}", STANDARD.encode(Sha256::digest(sheet.as_bytes())))
}

/// Without comments and the white that only people need.
fn short(sheet: &str) -> String {
    let mut out = String::with_capacity(sheet.len());
    let mut rest = sheet;
    while let Some(at) = rest.find("/*") {
        out.push_str(&rest[..at]);
        rest = rest[at..].find("*/").map_or("", |end| &rest[at + end + 2..]);
    }
    out.push_str(rest);
    let lines: Vec<&str> = out.lines().map(str::trim).filter(|line| !line.is_empty()).collect();
    let white = [
        (" {", "{"),
        ("{ ", "{"),
        (" }", "}"),
        ("; ", ";"),
        (";}", "}"),
        ("{\n", "{"),
        (";\n", ";"),
        (": ", ":"),
        (", ", ","),
        (" > ", ">"),
    ];
    white
        .into_iter()
        .fold(lines.join("\n"), |sheet, (long, short)| sheet.replace(long, short))
        .replace(";}", "}")
        .replace("}\n", "}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_sheet_is_small_and_asks_for_nothing() {
        // The lasting copy's own measure: under 10 KB by hand.
        assert!(of(0).len() < 10_000, "{} bytes", of(0).len());
        for outside in ["url(", "@import", "http", "<"] {
            assert!(!of(3).contains(outside), "{outside}");
        }
        for wanted in ["prefers-color-scheme:dark", "forced-colors:active", "prefers-reduced-motion", "@media print"] {
            assert!(of(0).contains(wanted), "{wanted}");
        }
    }
}
