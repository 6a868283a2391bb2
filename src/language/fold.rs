//! How words are compared.

/// A word as it is compared: lower case, one space between its parts, without accents, the dot of a Turkish İ or a hamza on its letter.
pub fn fold(word: &str) -> String {
    let nfd = icu_normalizer::DecomposingNormalizerBorrowed::new_nfd();
    let mut folded = String::with_capacity(word.len());
    for part in word.split_whitespace() {
        if !folded.is_empty() {
            folded.push(' ');
        }
        let lower: String = part.chars().flat_map(char::to_lowercase).collect();
        folded.extend(nfd.normalize(&lower).chars().filter_map(|character| match character {
            // Combining marks of Latin, Greek, Cyrillic, Hebrew and Arabic, the dot under letters of Hindi, the tones of Thai.
            '\u{300}'..='\u{36f}'
            | '\u{591}'..='\u{5c7}'
            | '\u{64b}'..='\u{65f}'
            | '\u{670}'
            | '\u{93c}'
            | '\u{e48}'..='\u{e4b}' => None,
            'ı' => Some('i'),
            // Letters whose stroke no mark makes.
            'ħ' => Some('h'),
            'ł' => Some('l'),
            'đ' => Some('d'),
            'ς' => Some('σ'),
            other => Some(other),
        }));
    }
    folded
}
