//! Rust's words, as far as imports need them.

/// Words, `::` and single marks with their lines; comments, texts and letters in quotes are left out.
pub fn tokens(text: &str) -> Vec<(usize, String)> {
    let letters: Vec<char> = text.chars().collect();
    let is = |at: usize, wanted: char| letters.get(at) == Some(&wanted);
    let (mut tokens, mut line, mut at) = (Vec::new(), 1, 0);
    while at < letters.len() {
        let letter = letters[at];
        let from = at;
        at += 1;
        if letter == '/' && is(at, '/') {
            while at < letters.len() && !is(at, '\n') {
                at += 1;
            }
        } else if letter == '/' && is(at, '*') {
            while at < letters.len() && !(is(at, '*') && is(at + 1, '/')) {
                at += 1;
            }
            at += 2;
        } else if letter == 'r' && (is(at, '"') || is(at, '#')) && !is(at + 1, '_') {
            let hashes = letters[at..].iter().take_while(|letter| **letter == '#').count();
            at += hashes + 1;
            while at < letters.len() && !(is(at, '"') && (1..=hashes).all(|more| is(at + more, '#'))) {
                at += 1;
            }
            at += hashes + 1;
        } else if letter == '"' {
            while at < letters.len() && !is(at, '"') {
                at += if is(at, '\\') { 2 } else { 1 };
            }
            at += 1;
        } else if letter == '\'' && (is(at, '\\') || is(at + 1, '\'')) {
            at += if is(at, '\\') { 2 } else { 1 };
            while at < letters.len() && !is(at, '\'') {
                at += 1;
            }
            at += 1;
        } else if letter.is_alphanumeric() || letter == '_' {
            while letters.get(at).is_some_and(|letter| letter.is_alphanumeric() || *letter == '_') {
                at += 1;
            }
            tokens.push((line, letters[from..at].iter().collect()));
        } else if letter == ':' && is(at, ':') {
            at += 1;
            tokens.push((line, "::".to_string()));
        } else if !letter.is_whitespace() {
            tokens.push((line, letter.to_string()));
        }
        line += letters[from..at.min(letters.len())].iter().filter(|letter| **letter == '\n').count();
    }
    tokens
}
