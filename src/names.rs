//! Names that a person misspelt, and the known ones they most likely meant.

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

#[cfg(test)]
mod tests {
    use super::nearest;

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
