//! Names and words from outside: the known name that a misspelt one most likely meant, and words made fit to be shown.

use std::path::Path;

/// The known name nearest to what was written, if any is near: at most a third of the letters differ, two at least may. Capitals
/// don't count, nor whether words are joined by `-` or `_`.
pub fn nearest<'n>(written: &str, known: impl IntoIterator<Item = &'n str>) -> Option<&'n str> {
    let folded = |name: &str| name.to_lowercase().replace('-', "_");
    let written = folded(written);
    let allowed = (written.chars().count() / 3).max(2);
    known
        .into_iter()
        .map(|known| (strsim::damerau_levenshtein(&written, &folded(known)), known))
        .filter(|(distance, known)| *distance <= allowed && *distance < known.chars().count())
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, known)| known)
}

/// The words with their control characters spelled out, but for those in `kept`: names of pictures, keys and files come from outside,
/// and a terminal would act on what stands in them.
pub fn spelled_out(words: &str, kept: &[char]) -> String {
    words.chars().fold(String::with_capacity(words.len()), |mut calm, letter| {
        match letter.is_control() && !kept.contains(&letter) {
            true => calm.extend(letter.escape_default()),
            false => calm.push(letter),
        }
        calm
    })
}

/// The folder that a file stands in; `.` for a bare name.
pub fn folder_of(file: &Path) -> &Path {
    file.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

/// Whether a character is one that Unicode keeps for use inside programs: no text from outside may hold it.
pub fn is_noncharacter(character: char) -> bool {
    let code = u32::from(character);
    (0xFDD0..=0xFDEF).contains(&code) || code & 0xFFFE == 0xFFFE
}

/// What the system says, without its number.
pub fn plainly(error: &std::io::Error) -> String {
    let text = error.to_string();
    match text.split_once(" (os error") {
        Some((said, _)) => said.to_lowercase(),
        None => text,
    }
}

#[cfg(test)]
mod tests {
    use super::{nearest, spelled_out};

    #[test]
    fn control_characters_are_spelled_out() {
        assert_eq!(spelled_out("a\x1b[2J\u{9b}b\nc", &['\n']), "a\\u{1b}[2J\\u{9b}b\nc");
        assert_eq!(spelled_out("gr\u{fc}n\n", &[]), "gr\u{fc}n\\n");
    }

    #[test]
    fn a_slip_of_the_fingers_finds_its_name_and_another_word_finds_none() {
        let known = ["body", "head_to_cutter_mm", "80mm-180", "cut"];
        for (written, meant) in [
            ("bodi", Some("body")),
            ("Body", Some("body")),
            ("head-to-cuter-mm", Some("head_to_cutter_mm")),
            ("80mm_180", Some("80mm-180")),
            ("ct", Some("cut")),
            ("xyz", None),
            ("temperature", None),
            ("", None),
        ] {
            assert_eq!(nearest(written, known), meant, "{written}");
        }
    }
}
