//! Headings that Markdown does not see as such for want of a space: `##Wiring`, and a first line `#Bench lamp`.

/// Where a space is to stand; code is not known yet.
pub(super) fn slips(text: &str) -> Vec<(usize, &'static str)> {
    if !text.contains('#') {
        return Vec::new();
    }
    let titled = text.lines().any(|line| line.starts_with("# "));
    let mut slips = Vec::new();
    let (mut start, mut first) = (0, true);
    for line in text.split_inclusive('\n') {
        let level = line.bytes().take_while(|byte| *byte == b'#').count();
        let words = line[level..].trim_end();
        // `#tea #bird` are words to search by, and a `#5 bolt` is a bolt.
        let heads = words.starts_with(char::is_alphanumeric) && !words.contains(" #");
        let title = first && !titled && words.starts_with(char::is_alphabetic);
        if heads && ((2..=6).contains(&level) || level == 1 && title) {
            slips.push((start + level, " "));
        }
        first &= line.trim().is_empty();
        start += line.len();
    }
    slips
}

#[cfg(test)]
mod tests {
    use super::super::foreign::tests::edited;

    #[test]
    fn a_heading_without_its_space_gets_one() {
        assert_eq!(
            edited("#Bench lamp\nA lamp.\n\n##1 - Wiring\nSolder it.\n"),
            "# Bench lamp\nA lamp.\n\n## 1 - Wiring\nSolder it.\n"
        );
        for kept in [
            "# Lamp\n\n#1 is the screw\n",
            "#tea #bird\n",
            "#5 bolt\n",
            "a\n#b\n",
            "```\n##define\n```\n",
            "#######seven\n",
            "##\n",
            "##!x\n",
        ] {
            assert_eq!(edited(kept), kept);
        }
    }
}
