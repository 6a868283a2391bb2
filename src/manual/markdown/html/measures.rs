//! Widths and heights of pictures, as pages say them.

use crate::manual::document::Permille;

/// A page is read as so many pixels wide: a picture of half of them is half a column wide.
const PAGE: f64 = 900.0;

/// A share of the column: `50%`, `450`, `450px`.
pub fn share(text: &str) -> Option<Permille> {
    let text = text.trim();
    let share = match text.strip_suffix('%') {
        Some(percent) => number(percent)? * 10.0,
        None => number(text)? * 1000.0 / PAGE,
    };
    (share > 0.0).then(|| (share.round().clamp(1.0, 1000.0)) as Permille)
}

/// Pixels of a page: `20`, `20px`.
pub(super) fn pixels(text: &str) -> Option<u32> {
    let pixels = number(text)?;
    (pixels > 0.0).then(|| pixels.round().clamp(1.0, 1e6) as u32)
}

fn number(text: &str) -> Option<f64> {
    let text = text.trim();
    let text = text.strip_suffix("px").unwrap_or(text).trim();
    text.parse().ok().filter(|number: &f64| number.is_finite())
}

/// The value of a property in the declarations of a `style`.
pub(super) fn of_style<'s>(style: &'s str, property: &str) -> Option<&'s str> {
    style
        .split(';')
        .filter_map(|declaration| declaration.split_once(':'))
        .find_map(|(name, value)| name.trim().eq_ignore_ascii_case(property).then(|| value.trim()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_width_is_a_share_of_the_column() {
        assert_eq!(share("50%"), Some(500));
        assert_eq!(share(" 450 "), Some(500));
        assert_eq!(share("450px"), Some(500));
        assert_eq!(share("1800"), Some(1000));
        for none in ["", "auto", "0", "-3", "NaN", "inf", "12em"] {
            assert_eq!(share(none), None, "{none}");
        }
        assert_eq!(of_style("border: 0; WIDTH : 30% ", "width").and_then(share), Some(300));
    }
}
